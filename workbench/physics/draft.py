"""Lift of warm gas in a standing pipe or a house."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from workbench.physics.arrays import Array
from workbench.physics.constants import GRAVITY


def stack_draft(height: ArrayLike, inside_density: ArrayLike, outside_density: ArrayLike) -> Array:
    """Draft of a column, g h (rho_outside - rho_inside); positive when the inside air is the lighter [Pa].

    Parameters
    ----------
    height : array_like
        Of the column. [m]
    inside_density, outside_density : array_like
        [kg/m3]

    References
    ----------
    ASHRAE Handbook, Fundamentals, ch. Ventilation and Infiltration (stack pressure).
    """
    difference = np.asarray(outside_density, dtype=np.float64) - np.asarray(inside_density, dtype=np.float64)
    return np.asarray(GRAVITY * np.asarray(height, dtype=np.float64) * difference)[()]
