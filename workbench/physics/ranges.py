"""Refusal of inputs outside the range an equation holds for."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from workbench.physics.arrays import Array


def within(value: ArrayLike, low: float, high: float, name: str, unit: str = "") -> Array:
    """Array of `value`, every element from `low` to `high` inclusive.

    Raises
    ------
    ValueError
        If an element lies outside or is not a number.
    """
    x = np.asarray(value, dtype=np.float64)
    if not np.all((x >= low) & (x <= high)):
        raise ValueError(f"{name} must lie between {low:g} and {high:g} {unit}".rstrip())
    return x


def positive(value: ArrayLike, name: str) -> Array:
    """Array of `value`, every element above 0 and finite.

    Raises
    ------
    ValueError
        If an element is not.
    """
    x = np.asarray(value, dtype=np.float64)
    if not np.all((x > 0.0) & (x < np.inf)):
        raise ValueError(f"{name} must be above 0")
    return x
