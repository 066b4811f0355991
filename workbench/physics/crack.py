"""Flow of air through joints and cracks in a slab.

The pressure that drives air through a crack of depth z (the slab's thickness) and width d is

    dp = A Q + B Q|Q|,   A = 12 mu z / (L d^3),   B = rho Cz / (2 d^2 L^2):

viscous friction between parallel faces and the loss at mouth and bends.
P. H. Baker, S. Sharples, I. C. Ward, Building and Environment 22 (1987) 293.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from workbench.physics.arrays import Array
from workbench.physics.ground import Coefficients
from workbench.physics.ranges import positive, within

_STRAIGHT_LOSS = 1.5
_MOST_BENDS = 10


def crack_coefficients(
    width: ArrayLike,
    depth: ArrayLike,
    length: ArrayLike,
    viscosity: ArrayLike,
    density: ArrayLike,
    bends: ArrayLike = 0,
) -> Coefficients:
    """A [Pa s/m3] and B [Pa s2/m6] of a crack.

    Parameters
    ----------
    width, depth, length : array_like
        Opening between the faces, way of the air through the slab, run of the crack along the slab. [m]
    viscosity, density : array_like
        [Pa s], [kg/m3]
    bends : array_like
        Right-angle bends on the way through, 0 to 10; Cz = 1.5 + bends.

    Raises
    ------
    ValueError
        If a dimension is not above 0 or the number of bends is out of range.

    References
    ----------
    Baker, Sharples & Ward (1987).
    """
    d, z, run = positive(width, "the width of a crack"), positive(depth, "its depth"), positive(length, "its length")
    loss = _STRAIGHT_LOSS + within(bends, 0, _MOST_BENDS, "the number of bends")
    mu, rho = np.asarray(viscosity, dtype=np.float64), np.asarray(density, dtype=np.float64)
    return Coefficients(np.asarray(12.0 * mu * z / (run * d**3)), np.asarray(rho * loss / (2.0 * (d * run) ** 2)))


def crack_flow(pressure: ArrayLike, coefficients: Coefficients) -> Array:
    """Flow that a pressure of either sign drives through a crack, shape by broadcasting [m3/s].

    Parameters
    ----------
    pressure : array_like
        Across the slab. [Pa]
    coefficients
        As from `crack_coefficients`.
    """
    p = np.asarray(pressure, dtype=np.float64)
    a, b = coefficients
    # the root in the form that loses no digits when b is small
    return np.asarray(2.0 * p / (a + np.sqrt(a * a + 4.0 * b * np.abs(p))))[()]


def joint_conductance(width: ArrayLike, depth: ArrayLike, viscosity: ArrayLike) -> Array:
    """Conductance of a joint per length by the cubic law, d^3 / (12 mu z) [m2/(s Pa)].

    A width of 0 is a sealed joint.

    Parameters
    ----------
    width, depth : array_like
        Opening, and thickness of the slab. [m]
    viscosity : array_like
        [Pa s]

    Raises
    ------
    ValueError
        If the width is negative or the depth not above 0.

    References
    ----------
    Plane Poiseuille flow; the viscous part of Baker, Sharples & Ward (1987).
    """
    d = within(width, 0.0, 0.1, "the width of a joint", "m")
    z = positive(depth, "the depth of a joint")
    return np.asarray(d**3 / (12.0 * np.asarray(viscosity, dtype=np.float64) * z))[()]
