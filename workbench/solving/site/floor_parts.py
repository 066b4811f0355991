"""What a floor follows from, and what is told of its fit."""

from __future__ import annotations

import math
from typing import Literal, NamedTuple

import numpy as np
from msgspec import Struct

from workbench.design.capacity import CAPACITIES
from workbench.design.ground import SuctionPoint
from workbench.design.slab import Slab, TestHole, corners
from workbench.physics.polygon import signed_area

_FEWEST_DRAWN = 400
"""Cells of a drawn field that are enough to be looked at."""


class Underfloor(NamedTuple):
    """All that a floor follows from; `draw_down` of the house in the exhaust test, None when not measured [Pa]."""

    slab: Slab | None
    points: tuple[SuctionPoint, ...]
    holes: tuple[TestHole, ...]
    slab_thickness: float
    viscosity: float
    draw_down: float | None


class HoleFit(Struct, frozen=True, eq=False):
    """One reading at a hole beside what the fitted even floor says; `reading` is its place among the hole's. [Pa]

    `standard_error` is that of a reading where `predicted` is expected, `least` the instrument's own.
    """

    hole: str
    point: str
    read: float
    predicted: float
    standard_error: float
    least: float
    reading: int = 0

    @property
    def misfit(self) -> float:
        """How many standard errors the reading lies off."""
        return self.misfit_of(self.read)

    def misfit_of(self, read: float) -> float:
        """How many standard errors a reading would lie off here. [Pa]

        In the form in which their error is even, so that one three times too high is as odd as one three times too low.
        """
        bend = 2.0 * self.least
        error = self.standard_error / math.hypot(self.predicted, bend)
        return (math.asinh(read / bend) - math.asinh(self.predicted / bend)) / error


class AtOdds(Struct, frozen=True):
    """A reading that the best fit of all of them misses, with the floor's unevenness and the instrument's errors.

    `kind` tells whether the suction at a hole, the flow of a point or what a hole lost in the exhaust test was read;
    `place` counts the hole or the point, `reading` is its place among the hole's; `read` and `predicted` are in the
    units of their kind, [Pa], [m3/s] or [1]; `errors` how many standard errors it lies off.
    """

    kind: Literal["suction", "flow", "share"]
    place: int
    reading: int
    read: float
    predicted: float
    errors: float


class Factor(Struct, frozen=True):
    """A calibrated factor on an entered value, and the factor it may still be off (one standard deviation)."""

    title: str
    value: float
    spread: float


def drawn_cell(slab: Slab) -> float:
    """Side of the cells on which a field is drawn: as asked for, unless the floor then holds too many or too few. [m]

    No verdict rests on it: points and holes are solved on cells of their own (`physics/slab/network.py`).
    """
    outline = np.array(corners(slab.outline))
    wide, deep = np.ptp(outline, axis=0)
    least, most = (
        math.sqrt(wide * deep / CAPACITIES["cells"].most),
        math.sqrt(abs(signed_area(outline)) / _FEWEST_DRAWN),
    )
    return float(max(min(slab.cell, most), least))
