"""Numbers that everything uncertain is drawn with: one fixed set, the same for every speed and every design.

Everything that varies has a dimension of one scrambled Sobol sequence (I. M. Sobol, USSR Comput. Math. Math. Phys. 7
(1967) 86; directions of S. Joe, F. Y. Kuo, SIAM J. Sci. Comput. 30 (2008) 2635; scrambled after J. Matousek,
J. Complexity 14 (1998) 527), so that the rows fill what may be evenly together and a chance hangs little on the
scrambling. The first rows serve while a hand moves, all of them at rest. Either way a column is a row of evenly spread
quantiles, with mean 0.
"""

from __future__ import annotations

import math
from functools import lru_cache
from pathlib import Path

import numpy as np

from workbench.physics.arrays import Array, Ints

DRAG_SAMPLES = 512
REST_SAMPLES = 4096

_ALONE = {"season": 0, "fan": 3, "unevenness": 4}
_IN_TURN = {"unknowns": 5, "readings": 6, "pipe": 7}
"""First dimension of what is drawn: a few of their own, then the lists that have no end, each in its turn."""

_EDGES = (0.05, 0.95)
_SEED = 20260217
"""Of the columns past the last dimension, which are shuffled by themselves."""


@lru_cache(maxsize=1)
def directions() -> Ints:
    """Directions of every dimension and its shift, shape (dimensions, 13): 12-bit numbers, made once by a library."""
    lines = Path(__file__).with_name("sobol.csv").read_text(encoding="ascii").splitlines()
    # the reader of tables that the library has takes longer to be imported than to read
    return np.array([[int(number) for number in line.split(",")] for line in lines])


@lru_cache(maxsize=1)
def quantiles() -> Array:
    """As many evenly spread quantiles of the standard normal distribution, rising, as there are samples."""
    text = Path(__file__).with_name("quantiles.csv").read_text(encoding="ascii")
    lower = np.array(text.split(), dtype=float)
    return np.concatenate((lower, -lower[::-1]))


def _dimension(name: str, index: int) -> int:
    return _ALONE[name] + index if name in _ALONE else _IN_TURN[name] + len(_IN_TURN) * index


@lru_cache(maxsize=512)
def column(name: str, index: int) -> Array:
    """One column of `REST_SAMPLES` numbers; each name and index has its own, whatever else is drawn."""
    at = _dimension(name, index)
    if at < len(directions()):
        *ways, shift = directions()[at]
        place = np.full(REST_SAMPLES, shift)
        for bit, way in enumerate(ways):
            # the rows with this bit are those before it, each turned once more
            place[1 << bit : 2 << bit] = place[: 1 << bit] ^ way
    else:
        place = np.random.default_rng([_SEED, at]).permutation(REST_SAMPLES)
    numbers: Array = quantiles()[place]
    numbers.flags.writeable = False
    return numbers


def normal(name: str, samples: int, columns: int) -> Array:
    """Standard normal numbers, shape (samples, columns)."""
    if columns == 0:
        return np.zeros((samples, 0))
    return np.stack([column(name, index)[:samples] for index in range(columns)], axis=1)


def band(values: Array, axis: int = 0) -> tuple[Array, Array]:
    """The 5 and 95 % quantiles along an axis, as the library has them, in a fraction of its time."""
    ordered = np.sort(values, axis=axis)
    last = ordered.shape[axis] - 1
    found = []
    for share in _EDGES:
        below = math.floor(share * last)
        low, high = (ordered.take(min(at, last), axis=axis) for at in (below, below + 1))
        found.append(np.asarray(low + (share * last - below) * (high - low)))
    return found[0], found[1]
