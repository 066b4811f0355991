"""Geometry of a floor seen from above that its drawings share, on the screen and on paper; no painter, no unit.

Places are in metres, x east and y north. A drawing turns y down.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

Place = tuple[float, float]
Side = tuple[Place, Place]


def out_of(sides: Iterable[Side]) -> float:
    """Which hand lies outside a line of sides: 1 the right one (it turns anticlockwise), -1 the left one."""
    return -1.0 if sum(a[0] * b[1] - b[0] * a[1] for a, b in sides) < 0.0 else 1.0


def across(side: Side, outside: float) -> Place:
    """The way out over a side in a drawing, y down; of length 1, or 0 for a side without length."""
    (ax, ay), (bx, by) = side
    length = math.dist(*side)
    return (outside * (by - ay) / length, outside * (bx - ax) / length) if length else (0.0, 0.0)


def turn_of(side: Side) -> float:
    """How far words along a side are turned in a drawing, clockwise, to be read from below or from the right. [°]

    As dimensions are written (ISO 129-1).
    """
    (ax, ay), (bx, by) = side
    turn = math.degrees(math.atan2(ay - by, bx - ax))
    # a wall that is upright but for a rounding is read as the others are
    return turn - 180.0 if turn > 89.0 else turn + 180.0 if turn < -91.0 else turn


def round_length(least: float, unit: float) -> float:
    """The shortest of 1, 2, 5 and 10 by powers of ten, in a unit [m], that is no less than a length. [m]"""
    power = 10.0 ** math.floor(math.log10(least / unit))
    return unit * next(factor * power for factor in (1.0, 2.0, 5.0, 10.0) if factor * power * unit >= least * 0.999)
