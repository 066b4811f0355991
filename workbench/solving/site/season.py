"""What season and exhausts take: the house drawn below outdoors, and how much of it reaches each hole.

The room lies below outdoors by winter stack, by exhausts, and by wind, which blows either way; of that the worst day
has what it takes. A hole loses the share
of it that is felt there. Winter never adds suction: the draft of warm air in a cold riser is counted as on the day.
"""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from workbench.design.design import Design
from workbench.physics.air import air_at
from workbench.physics.arrays import Array
from workbench.physics.house import stack_pressure
from workbench.physics.network import Network
from workbench.solving.site.assemble import Assembly
from workbench.solving.site.readings import most_lost

ALLOWANCE, ALLOWANCE_SPREAD = 2.5, 0.6
"""Draw-down by exhausts where nobody measured it [Pa], EPA/625/R-93/011 (from memory), and the spread of its logarithm,
a judgement: 5 to 95 % are 0.9 to 6.7 Pa."""

_ENTERED_SPREAD = 0.1
"""Spread of the logarithm of a draw-down that is entered; a judgement."""

_WIND_SHARE = 0.15
"""Of the wind's dynamic pressure, one standard deviation of the draw-down; fitted to the scatter of single readings
about the winter stack in the US EPA's duplex in Indianapolis, some 0.8 Pa at a usual 3 m/s."""

_AIR = 1.2


class Season(Struct, frozen=True, eq=False):
    """A state of house and weather.

    Attributes
    ----------
    exhausts : float
        What exhausts draw the house down by; `exhausts_spread` of its logarithm. [Pa]
    stack, stack_on_the_day : float
        What winter stack draws it down by in this season, and on the day of the readings, 0 or more. [Pa]
    wind : float
        One standard deviation of what wind adds or takes. [Pa]
    draft : array, shape (n,)
        Lift by the air in the pipe on the way of each point, that of the day in every season. [Pa]
    """

    exhausts: float
    exhausts_spread: float
    stack: float
    stack_on_the_day: float
    wind: float
    draft: Array

    @property
    def draw_down(self) -> float:
        """How far the room lies below outdoors at the slab, all told. [Pa]"""
        return self.exhausts + self.stack

    @property
    def beyond_the_day(self) -> float:
        """Stack that the readings did not have in them yet; a milder day gives nothing back. [Pa]"""
        return max(self.stack - self.stack_on_the_day, 0.0)

    def network(self, assembly: Assembly, draw_down: float | Array | None = None) -> Network:
        """The pipe tree in this season by the middle of the bands, or with a draw-down of its own. [Pa]"""
        down = self.draw_down if draw_down is None else draw_down
        return replace(assembly.network, draft=self.lifted(assembly.floor.rest_points, np.asarray(down)))

    def lifted(self, rest_points: Array, draw_down: Array) -> Array:
        """Lift on the way of each point, shape (..., n): what the room is drawn down by has to be lifted too. [Pa]"""
        return np.asarray(self.draft - draw_down[..., None] * (1.0 - rest_points))

    def change_at_holes(
        self, design: Design, felt: Array, exhausts: float | Array | None = None, stack: float | Array | None = None
    ) -> Array:
        """What the season adds to the reading at each hole, shape (..., k), 0 or less. [Pa]

        Parameters
        ----------
        felt : array, shape (..., k)
            Part of the house's draw-down that is felt at each hole.
        exhausts, stack : array, shape (...)
            Draw-downs beyond the day of the readings; by default those of the middle. [Pa]

        Notes
        -----
        A change read in an exhaust test is lost at least, whatever share the house is thought to let through. Suction
        read with nothing running, as by a warmer outdoors, a gust or a gauge off its zero, is not counted upon.
        """
        e = np.asarray(self.exhausts if exhausts is None else exhausts, dtype=np.float64)
        s = np.asarray(self.beyond_the_day if stack is None else stack, dtype=np.float64)
        read = np.array([0.0 if hole.exhausts is None else -hole.exhausts for hole in design.holes])
        by_exhausts = np.maximum(np.where(e[..., None] > 0.0, read, 0.0), felt * e[..., None])
        return np.asarray(-(by_exhausts + felt * s[..., None] + np.maximum(rest_on_the_day(design), 0.0)))


def stack_at(design: Design, outdoor_temperature: float | Array) -> Array:
    """Pressure by which winter stack draws the house down at its slab. [Pa]"""
    pressure = air_at(design.place.indoor_temperature, 0.4, design.place.altitude).pressure
    return np.asarray(
        stack_pressure(design.worst_day.neutral_height, outdoor_temperature, design.place.indoor_temperature, pressure)
    )


def rest_on_the_day(design: Design) -> Array:
    """Mean reading at rest of each hole, shape (k,) [Pa]; nothing where none was read."""
    return np.array(
        [sum(r.at_rest for r in hole.readings) / len(hole.readings) if hole.readings else 0.0 for hole in design.holes]
    )


def season_at(
    design: Design, assembly: Assembly, outdoor_temperature: float, exhausts: float, exhausts_spread: float = 0.0
) -> Season:
    """The season of an outdoor temperature [K] with exhausts that draw the house down by so much. [Pa]"""
    return Season(
        exhausts=exhausts,
        exhausts_spread=exhausts_spread,
        stack=max(float(stack_at(design, outdoor_temperature)), 0.0),
        stack_on_the_day=max(float(stack_at(design, design.place.outdoor_temperature)), 0.0),
        wind=_WIND_SHARE * 0.5 * _AIR * design.place.wind**2,
        draft=assembly.network.draft,
    )


def exhausts_of(design: Design) -> tuple[float, float]:
    """Draw-down by exhausts on the worst day [Pa] and the spread of its logarithm: entered, tested, or allowed for.

    What is not entered for that day is no less than what a hole lost in the test: no hole loses more than the house.
    """
    worst = design.worst_day
    if worst.exhausts is not None:
        return worst.exhausts, _ENTERED_SPREAD
    lost = most_lost(design.holes)
    if worst.tested_draw_down is not None:
        return max(worst.tested_draw_down, lost), _ENTERED_SPREAD
    return max(ALLOWANCE, lost), ALLOWANCE_SPREAD


def worst_day(design: Design, assembly: Assembly) -> Season:
    """The coldest design temperature with every exhaust on."""
    return season_at(design, assembly, design.worst_day.outdoor_temperature, *exhausts_of(design))
