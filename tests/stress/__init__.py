"""The attack: seeded trials of all that the program must bear, counted, with a file kept of each distinct failure."""

import os

# as the program has it, and before anything imports numpy; see `workbench.__main__`
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
