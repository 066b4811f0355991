"""What a floor follows from, and what is told of its fit."""

from __future__ import annotations

import math
from typing import NamedTuple

from msgspec import Struct

from workbench.design.ground import SuctionPoint
from workbench.design.slab import Slab, TestHole


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


class Factor(Struct, frozen=True):
    """A calibrated factor on an entered value, and the factor it may still be off (one standard deviation)."""

    title: str
    value: float
    spread: float
