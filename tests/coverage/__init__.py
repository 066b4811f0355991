"""How often the bands hold the truth, by floors whose truth is known: ``python -m tests.coverage``."""
