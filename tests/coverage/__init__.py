"""How often the bands hold the truth, by floors whose truth is known: ``python -m tests.coverage``."""

import os

# Read when numpy is first imported; the workers share the cores already.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
