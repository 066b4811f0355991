"""A suction point on a square grid: how its flow enters the cells, and what the grid makes of its singular field.

Flow Q drawn at a point of a layer of transmissivity T gives s = -(Q / T) ln(r) / (2 pi) + a smooth part. The grid's own
answer to the same flow is -(Q / T) a(i, j), with a the potential kernel of the square lattice; the two differ near the
point by a known amount. Adding that difference makes the suction at the pit and in the cells around it independent of
the cell size. For a point on a centre it is Peaceman's equivalent radius of 0.1985 cells.

D. W. Peaceman, SPE Journal 18 (1978) 183. Kernel: F. Spitzer, Principles of Random Walk (1976), section 15.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from workbench.physics.arrays import Array, Ints

KERNEL_REACH = 10
"""Cells from a suction point within which the grid's field is corrected."""

_TABLE = KERNEL_REACH + 4
_EULER = 0.5772156649015329
FAR_CONSTANT = (_EULER + 1.5 * math.log(2.0)) / (2.0 * math.pi)
"""Far from the origin the kernel is ln(r / cell) / (2 pi) plus this."""


@lru_cache(maxsize=1)
def lattice_kernel() -> Array:
    """Potential kernel a(i, j) of the square lattice, 0 at the origin, for i, j from 0; its Laplacian is 1 there.

    a(i, j) = 1/(2 pi) integral over 0..pi of (1 - exp(-i u) cos(j v)) / sinh u dv, with cosh u = 2 - cos v.
    """
    node, weight = np.polynomial.legendre.leggauss(120)
    v = 0.5 * math.pi * (node + 1.0)
    # sinh u and u itself without cancellation at small v
    half = np.sin(0.5 * v)
    sinh = 2.0 * half * np.sqrt(1.0 + half**2)
    u = 2.0 * np.arcsinh(half)
    i, j = np.arange(_TABLE)[:, None, None], np.arange(_TABLE)[None, :, None]
    integrand = (1.0 - np.exp(-i * u) * np.cos(j * v)) / sinh
    kernel = np.asarray(np.sum(integrand * (0.5 * math.pi * weight), axis=-1) / (2.0 * math.pi))
    kernel.flags.writeable = False
    return kernel


def far_kernel(distance: Array) -> Array:
    """The continuous counterpart of the lattice's kernel at a distance in cells."""
    return np.asarray(np.log(distance) / (2.0 * math.pi) + FAR_CONSTANT)


def lattice_response(nodes: Ints, weights: Array, at: Ints) -> Array:
    """Kernel at lattice places `at`, shape (k, 2), of a source shared by `weights` (w,) among `nodes` (w, 2).

    Places must lie within `KERNEL_REACH` of the source.
    """
    apart = np.abs(at[:, None, :] - nodes[None, :, :])
    return np.asarray(lattice_kernel()[apart[..., 0], apart[..., 1]] @ weights)


def pit_term(nodes: Ints, weights: Array, radius: float) -> float:
    """Suction at a pit above that of the grid's own average over the same cells, per flow and 1/T.

    Parameters
    ----------
    nodes : array, shape (w, 2)
        Cells that share the flow.
    weights : array, shape (w,)
        Their shares.
    radius : float
        Of the pit, in cells; may be smaller or larger than a cell.

    Notes
    -----
    Negative for pits larger than the equivalent radius of the cells. ln r is harmonic, so the field outside a pit is
    that of a point at its centre and no cell need follow its rim.
    """
    own = float(weights @ lattice_response(nodes, weights, nodes))
    return own - float(far_kernel(np.asarray(radius)))
