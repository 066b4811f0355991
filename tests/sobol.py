"""Makes the directions that everything uncertain is drawn with: `python -m tests.sobol`.

A library makes and scrambles the sequence. What it takes long to import for, the program reads from a table: every row
of a digital net is the shift and those directions whose bit the row has, added without carrying.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.stats import qmc

from workbench.solving.site import draws

SEED, DIMENSIONS, BITS = 20260217, 320, 12


def points(seed: int = SEED, dimensions: int = DIMENSIONS) -> NDArray[np.int64]:
    """The sequence as places among as many quantiles, shape (4096, dimensions), in the library's own order."""
    made = qmc.Sobol(dimensions, scramble=True, seed=seed).random(2**BITS)
    return (made * 2**BITS).astype(np.int64)


def directions(seed: int = SEED, dimensions: int = DIMENSIONS) -> NDArray[np.int64]:
    """A row for each dimension: 12 directions and the shift."""
    found = points(seed, dimensions)
    rows = np.arange(2**BITS)
    # the library goes through the rows by Gray's code, each one bit from the one before
    gray = rows ^ (rows >> 1)
    each = [found[np.flatnonzero(gray == 1 << bit)[0]] ^ found[0] for bit in range(BITS)]
    return np.stack([*each, found[0]], axis=1)


if __name__ == "__main__":
    table = Path(draws.__file__).with_name("sobol.csv")
    np.savetxt(table, directions(), fmt="%d", delimiter=",")
