"""What a season takes: how far the house is drawn down, and what the fan has to lift against it.

On the day, the house is taken to lie at outdoor pressure. On the worst day it lies below, by its exhausts as measured
and by winter stack. Suction being told against the room, what is drawn off the room is drawn off every reading, as far
as the ground there follows the outdoors; and the fan lifts from the room to the outdoors.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from workbench.design.design import Design
from workbench.physics.air import air_at
from workbench.physics.house import stack_pressure
from workbench.physics.network import Network
from workbench.solve.assemble import Assembly

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Season:
    """A state of house and weather.

    Attributes
    ----------
    exhausts, stack : float
        What exhausts and stack draw the house down by, beyond the day of the readings for the holes. [Pa]
    draw_down : float
        How far the room lies below outdoors at the slab, all told. [Pa]
    draft : array, shape (n,)
        Lift by the air in the pipe on the way of each point, that of the day in every season. [Pa]
    """

    exhausts: float
    stack: float
    draw_down: float
    draft: Array

    def network(self, assembly: Assembly, part: float | Array = 1.0) -> Network:
        """The pipe tree in this season; `part` scales the draw-down, of batch shape (s, 1) for samples."""
        lifted = self.draft - part * self.draw_down * (1.0 - assembly.floor.rest_points)
        return replace(assembly.network, draft=lifted)

    def change_at_holes(self, design: Design, assembly: Assembly, part: float | Array = 1.0) -> Array:
        """What the season adds to the reading at each hole, shape (k,) or (s, k); negative where it takes. [Pa]"""
        rest = assembly.floor.rest_holes
        measured = np.array([np.nan if hole.exhausts is None else hole.exhausts for hole in design.holes])
        with np.errstate(divide="ignore", invalid="ignore"):
            felt = np.clip(-measured / design.worst_day.exhausts, 0.0, 1.0) if design.worst_day.exhausts else measured
        follows = np.where(np.isnan(felt), rest, felt)
        exhausts = np.where(np.isnan(measured) | (self.exhausts == 0.0), -rest * self.exhausts, measured)
        return np.asarray(part * (exhausts - follows * self.stack))


def stack_at(design: Design, outdoor_temperature: float | Array) -> Array:
    """Pressure by which winter stack draws the house down at its slab. [Pa]"""
    pressure = air_at(design.place.indoor_temperature, 0.4, design.place.altitude).pressure
    return np.asarray(
        stack_pressure(design.worst_day.neutral_height, outdoor_temperature, design.place.indoor_temperature, pressure)
    )


def season_at(design: Design, assembly: Assembly, outdoor_temperature: float, exhausts: float) -> Season:
    """The season of an outdoor temperature [K] with exhausts that draw the house down by so much. [Pa]"""
    stack = max(float(stack_at(design, outdoor_temperature)), 0.0)
    on_the_day = max(float(stack_at(design, design.place.outdoor_temperature)), 0.0)
    return Season(
        exhausts=exhausts,
        stack=stack - on_the_day,
        draw_down=exhausts + stack,
        # colder air outdoors would draw harder; that is not counted on, so that winter never adds suction
        draft=assembly.network.draft,
    )


def worst_day(design: Design, assembly: Assembly) -> Season:
    """The coldest design temperature with every exhaust on."""
    return season_at(design, assembly, design.worst_day.outdoor_temperature, design.worst_day.exhausts)
