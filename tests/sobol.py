"""Makes the directions that everything uncertain is drawn with: `python -m tests.sobol`.

A library makes and scrambles the sequence. What it takes long to import for, the program reads from a table: every row
of a digital net is the shift and those directions whose bit the row has, added without carrying. Of many dimensions
those are taken that hang together with none before them: in some pairs the first rows lie along lines.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri
from scipy.stats import qmc

from workbench.solving.site import draws

SEED, DIMENSIONS, BITS = 20260217, 128, 12
OFFERED = 2400
_MOST = {draws.DRAG_SAMPLES: 0.13, draws.REST_SAMPLES: 0.04}
"""Correlation of two columns by their first rows, which independent ones reach as well."""


def points(seed: int = SEED, most: int = DIMENSIONS, offered: int = OFFERED) -> NDArray[np.int64]:
    """The sequence as places among as many quantiles, shape (4096, up to `most`), in the library's own order."""
    made = qmc.Sobol(offered, scramble=True, seed=seed).random(2**BITS)
    z = ndtri(made)
    # the worse of the two, over what is allowed
    alike = np.max([np.abs(np.corrcoef(z[:rows].T)) / most for rows, most in _MOST.items()], axis=0)
    chosen: list[int] = []
    for column in range(offered):
        if alike[column, chosen].max(initial=0.0) < 1.0 and len(chosen) < most:
            chosen.append(column)
    return (made[:, chosen] * 2**BITS).astype(np.int64)


def directions(seed: int = SEED, dimensions: int = DIMENSIONS, offered: int = OFFERED) -> NDArray[np.int64]:
    """A row for each dimension: 12 directions and the shift."""
    found = points(seed, dimensions, offered)
    rows = np.arange(2**BITS)
    # the library goes through the rows by Gray's code, each one bit from the one before
    gray = rows ^ (rows >> 1)
    each = [found[np.flatnonzero(gray == 1 << bit)[0]] ^ found[0] for bit in range(BITS)]
    return np.stack([*each, found[0]], axis=1)


def lower_quantiles() -> NDArray[np.float64]:
    """The lower half of the quantiles that the places of the sequence stand for."""
    return np.asarray(ndtri((np.arange(draws.REST_SAMPLES // 2) + 0.5) / draws.REST_SAMPLES))


if __name__ == "__main__":
    folder = Path(draws.__file__).parent
    np.savetxt(folder / "sobol.csv", directions(), fmt="%d", delimiter=",")
    np.savetxt(folder / "quantiles.csv", lower_quantiles(), fmt="%.17g")
