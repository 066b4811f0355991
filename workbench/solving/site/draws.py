"""Numbers that everything uncertain is drawn with: one fixed set, the same for every speed and every design.

Each column is a Latin hypercube of standard normal numbers (M. D. McKay, R. J. Beckman, W. J. Conover, Technometrics 21
(1979) 239): the same quantiles in another order, so that its mean is 0 and its spread 1. The first rows serve while a
hand moves, all of them at rest.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

DRAG_SAMPLES = 512
REST_SAMPLES = 4096
_SEED = 20260217


@lru_cache(maxsize=1)
def _quantiles() -> Array:
    from statistics import NormalDist

    normal = NormalDist()
    return np.array([normal.inv_cdf((row + 0.5) / REST_SAMPLES) for row in range(REST_SAMPLES)])


@lru_cache(maxsize=256)
def column(name: str, index: int) -> Array:
    """One column of `REST_SAMPLES` numbers; each name and index has its own, whatever else is drawn."""
    seed = np.random.SeedSequence([_SEED, index, *name.encode()])
    numbers = np.random.default_rng(seed).permutation(_quantiles())
    numbers.flags.writeable = False
    return numbers


def normal(name: str, samples: int, columns: int) -> Array:
    """Standard normal numbers, shape (samples, columns)."""
    if columns == 0:
        return np.zeros((samples, 0))
    return np.stack([column(name, index)[:samples] for index in range(columns)], axis=1)
