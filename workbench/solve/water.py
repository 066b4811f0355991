"""Water in the pipe: how much condenses where, where it would stand, and where it would freeze."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from workbench.design.pipework import Run
from workbench.design.record import Address
from workbench.physics.air import humidity_ratio, moist_density
from workbench.physics.constants import SECONDS_PER_DAY
from workbench.physics.heat import (
    PVC_CONDUCTIVITY,
    inside_coefficient,
    outer_conductance,
    outside_coefficient,
    shell_resistance,
)
from workbench.physics.water import PipeAir, cool_along
from workbench.solve.outcome import Outcome, RunState
from workbench.solve.prepare import Prepared
from workbench.solve.yearly import Hours

Array = NDArray[np.float64]

WALL = 0.005
"""Wall of plastic pipe where none is entered, near that of 3 in. schedule 40 (ASTM D1785, from memory). [m]"""

INSULATION_CONDUCTIVITY = 0.035
"""Of foamed insulation (handbook value, from memory). [W/(m K)]"""

UNHEATED_SHARE = 0.5
"""How far an unheated space lies towards the outdoors from the house; a judgement."""

_LEAST_SLOPE = 1e-6


@dataclass(frozen=True)
class RunWater:
    """A run: water that forms in it [kg/day], air leaving it [K], coldest wall [K], and whether ice forms there."""

    name: str
    address: Address
    water: float
    leaving: float
    coldest_wall: float
    freezes: bool


@dataclass(frozen=True)
class WaterAt:
    """Water at one outdoor temperature [K], run by run in the order of the air; `total` in kg a day."""

    outdoor: float
    runs: tuple[RunWater, ...]

    @property
    def total(self) -> float:
        """Water formed in all runs. [kg/day]"""
        return sum(run.water for run in self.runs)

    @property
    def freezes(self) -> bool:
        """Whether ice forms anywhere."""
        return any(run.freezes for run in self.runs)


@dataclass(frozen=True)
class LowPoint:
    """A place where water would stand, and why."""

    name: str
    address: Address
    reason: str


def water_at(ready: Prepared, outcome: Outcome, outdoor: float, wind: float) -> WaterAt | None:
    """March the air from the pits to the outlet at an outdoor temperature [K] and wind [m/s].

    None without an operating point.
    """
    if outcome.operating is None:
        return None
    place, pressure = ready.design.place, ready.assembly.air.pressure
    states = {state.address: state for state in outcome.runs}
    left: dict[Address, _Air] = {}
    found = []
    for address, run in ready.assembly.runs:
        state = states[address]
        entering = _entering(ready, address, left)
        passed = _pass(run, state, entering, pressure, _around(run, outdoor, place.indoor_temperature), wind)
        left[address] = _Air(max(state.flow, 0.0), float(passed.temperature), float(passed.humidity_ratio))
        found.append(
            RunWater(
                name=run.name,
                address=address,
                water=float(passed.water) * SECONDS_PER_DAY,
                leaving=float(passed.temperature),
                coldest_wall=float(np.min(passed.wall_temperature)),
                freezes=bool(np.any(passed.freezing)),
            )
        )
    return WaterAt(outdoor, tuple(found))


class _Air(NamedTuple):
    """Air on its way: flow [m3/s], temperature [K], humidity ratio."""

    flow: float
    temperature: float
    humidity_ratio: float


def _entering(ready: Prepared, address: Address, left: dict[Address, _Air]) -> _Air:
    """The air that enters a run: from the ground, from the run before, or mixed where two legs meet."""
    before = [air for other, air in left.items() if _feeds(ready, other, address)]
    total = sum(air.flow for air in before)
    if total <= 0.0:
        ground = ready.assembly.air
        return _Air(0.0, ground.temperature, ground.humidity_ratio)
    return _Air(
        total,
        sum(air.flow * air.temperature for air in before) / total,
        sum(air.flow * air.humidity_ratio for air in before) / total,
    )


def _feeds(ready: Prepared, upstream: Address, run: Address) -> bool:
    """Whether a run ends where another begins."""
    group, position = run[:-1], int(run[-1])
    if position > 0:
        return upstream == (*group, position - 1)
    last = {(*leg, "runs", len(record.runs) - 1): leg for leg, record in ready.design.legs()}
    leg = last.get(upstream)
    if run[0] == "discharge":
        return leg == ("intake",)
    return leg is not None and leg[:-2] == run[:-2] and leg[-1] in ("straight", "side")


def _around(run: Run, outdoor: float, indoor: float) -> float:
    if run.surroundings == "outdoors":
        return outdoor
    if run.surroundings == "unheated":
        return indoor + UNHEATED_SHARE * (outdoor - indoor)
    return indoor


def _pass(run: Run, state: RunState, entering: _Air, pressure: float, around: float, wind: float) -> PipeAir:
    bore = run.pipe.inside_diameter
    wall = bore + 2.0 * WALL
    over_all = wall + 2.0 * run.insulation
    shells = float(shell_resistance(bore, wall, PVC_CONDUCTIVITY))
    if run.insulation > 0.0:
        shells += float(shell_resistance(wall, over_all, INSULATION_CONDUCTIVITY))
    flow = max(state.flow, 1e-6)
    temperature, humidity = (
        entering.temperature,
        min(entering.humidity_ratio, saturated(entering.temperature, pressure)),
    )
    density = float(moist_density(temperature, pressure, humidity))
    outside = outside_coefficient(wind if run.surroundings == "outdoors" else 0.0, over_all, around, pressure)
    return cool_along(
        flow,
        temperature,
        humidity,
        pressure,
        run.length,
        bore,
        inside_coefficient(flow, bore, temperature, density),
        outer_conductance(shells, over_all, outside),
        around,
    )


def saturated(temperature: float, pressure: float) -> float:
    """Humidity ratio of saturated air."""
    return float(humidity_ratio(temperature, 1.0, pressure))


def months(ready: Prepared, outcome: Outcome, hours: Hours) -> tuple[WaterAt, ...]:
    """Water at the mean outdoor temperature of each month of a year of weather; empty without an answer."""
    found = []
    for month in range(1, 13):
        chosen = hours.month == month
        if not np.any(chosen):
            continue
        at = water_at(ready, outcome, float(hours.temperature[chosen].mean()), ready.design.place.wind)
        if at is not None:
            found.append(at)
    return tuple(found)


def low_points(ready: Prepared) -> tuple[LowPoint, ...]:
    """Where water cannot run back to a pit by the rises and slopes as entered."""
    found = []
    runs = ready.assembly.runs
    for address, run in runs:
        if run.rise < 0.0:
            found.append(
                LowPoint(run.name, address, "the air falls on its way, so water runs on and stands at its foot")
            )
        elif run.rise <= 0.02 * run.length and run.slope < _LEAST_SLOPE and address[0] != "discharge":
            words = "it lies level" if run.slope > -_LEAST_SLOPE else "it falls away from the pit"
            found.append(LowPoint(run.name, address, f"{words}, so water stands in it"))
    return tuple(found)
