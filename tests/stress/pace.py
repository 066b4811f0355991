"""How slow the machine is beside the one that limits of time are told for."""

from __future__ import annotations

import time

import numpy as np

_USUAL = 0.015
"""What the sum below takes on a machine that opens an empty window in a third of a second. [s]"""


_MOST = 3.0


def slowness() -> float:
    """Times that this machine takes longer just now, 1 where it does not, and no more than 3.

    Machines that are shared change their pace within minutes: it is measured where a limit of time was passed.
    """
    return min(max(float(np.median([_sum() for _ in range(9)])) / _USUAL, 1.0), _MOST)


def _sum() -> float:
    begun = time.perf_counter()
    total, values = 0, {}
    for i in range(100_000):
        total += i * i % 7
        values[i % 512] = total
    square = np.outer(np.arange(200.0), np.arange(200.0))
    for _ in range(20):
        square = np.sqrt(square * square + 1.0)
    return time.perf_counter() - begun
