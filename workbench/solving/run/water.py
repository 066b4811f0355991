"""Water in the pipe: how much condenses where, where it would stand, and where it would freeze."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from msgspec import Struct

from workbench.design.record import Address
from workbench.design.wording import name
from workbench.physics.arrays import Array
from workbench.physics.constants import SECONDS_PER_DAY
from workbench.solving.outcome import Notice, Outcome
from workbench.solving.run.fans_on_site import FansOnSite
from workbench.solving.run.yearly import Hours
from workbench.solving.site.cooling import Carried, around, mixed, through

LEVEL = 0.02
"""Rise over length up to which a run counts as level, so that its entered slope tells how water runs; a judgement."""

_LEAST_SLOPE = 1e-6
_LEAST_FLOW = 1e-6


class RunWater(Struct, frozen=True):
    """A run: water that forms in it [kg/day], air leaving it [K], coldest wall [K], and whether ice forms there.

    `entering` is the air that comes in [K], `wall` the inner face at even steps along the run [K].
    """

    name: str
    address: Address
    water: float
    leaving: float
    coldest_wall: float
    freezes: bool
    entering: float
    wall: tuple[float, ...]


class WaterAt(Struct, frozen=True):
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


class LowPoint(Struct, frozen=True):
    """A place where water would stand, and why."""

    name: str
    address: Address
    reason: str


def water_at(on_site: FansOnSite, outcome: Outcome, outdoor: float, wind: float) -> WaterAt | None:
    """Water at one outdoor temperature [K] and wind [m/s]; None without an operating point."""
    return next(iter(waters_at(on_site, outcome, [outdoor], wind)), None)


def waters_told(on_site: FansOnSite, outcome: Outcome) -> tuple[WaterAt, ...]:
    """Water on the day and on the coldest one, in this order; empty without an operating point."""
    place, coldest = on_site.design.place, on_site.design.worst_day.outdoor_temperature
    return waters_at(on_site, outcome, (place.outdoor_temperature, coldest), place.wind)


def waters_at(on_site: FansOnSite, outcome: Outcome, outdoor: Sequence[float], wind: float) -> tuple[WaterAt, ...]:
    """March the air from the pits to the outlet, at each of several outdoor temperatures [K] in a wind [m/s].

    The warmth of the fan is left out, which errs towards more water and ice after it. Empty without an operating point.
    """
    if outcome.operating is None:
        return ()
    return _marched(on_site, tuple((state.address, state.flow) for state in outcome.runs), tuple(outdoor), wind)


@lru_cache(maxsize=8)
def _marched(
    on_site: FansOnSite, run_flows: tuple[tuple[Address, float], ...], outdoor: tuple[float, ...], wind: float
) -> tuple[WaterAt, ...]:
    """Kept, since one answer is told in several ways."""
    place, ground, pressure = on_site.design.place, on_site.assembly.air, on_site.assembly.air.pressure
    flows = dict(run_flows)
    cold = np.asarray(outdoor, dtype=np.float64)
    left: dict[Address, Carried] = {}
    last = {(*leg, "runs", len(record.runs) - 1): leg for leg, record in on_site.design.legs()}
    found: list[list[RunWater]] = [[] for _ in outdoor]
    for address, run in on_site.assembly.runs:
        carried = max(flows[address], _LEAST_FLOW) * ground.density / (1.0 + ground.humidity_ratio)
        entering = _entering(on_site, address, left, last, carried, cold.shape)
        mist, passed = through(run, entering, pressure, around(run, cold, place.indoor_temperature), wind)
        left[address] = Carried(carried, passed.temperature, passed.humidity_ratio)
        for i, runs in enumerate(found):
            runs.append(
                RunWater(
                    name=run.name,
                    address=address,
                    water=float(passed.water[i] + mist[i]) * SECONDS_PER_DAY,
                    leaving=float(passed.temperature[i]),
                    coldest_wall=float(np.min(passed.wall_temperature[i])),
                    freezes=bool(np.any(passed.freezing[i])),
                    entering=float(entering.temperature[i]),
                    wall=tuple(float(t) for t in passed.wall_temperature[i]),
                )
            )
    return tuple(WaterAt(t, tuple(runs)) for t, runs in zip(outdoor, found, strict=True))


def freezing_notice(water: WaterAt) -> Notice | None:
    """That ice forms, where and at which outdoor temperature; None where none does. Too dear to ask during a drag."""
    frozen = [run for run in water.runs if run.freezes]
    if not frozen:
        return None
    return Notice(
        "freezing",
        "At {0} outdoors the wall of {2} falls to {1} and its water freezes; insulate it or raise the flow.",
        frozen[0].address,
        (
            (water.outdoor, "temperature"),
            (min(run.coldest_wall for run in frozen), "temperature"),
            name(frozen[0].name),
        ),
    )


def _entering(
    on_site: FansOnSite,
    address: Address,
    left: dict[Address, Carried],
    last: dict[Address, Address],
    carried: float,
    shape: tuple[int, ...],
) -> Carried:
    """The air that enters a run: from the ground, from the run before, or mixed where two legs meet."""
    before = [air for other, air in left.items() if _feeds(last, other, address)]
    if not before:
        ground = on_site.assembly.air
        return Carried(carried, np.full(shape, ground.temperature), np.full(shape, ground.humidity_ratio))
    return mixed(before, carried)


def _feeds(last: dict[Address, Address], upstream: Address, run: Address) -> bool:
    """Whether a run ends where another begins; `last` tells of the last run of each leg which leg it is of."""
    group, position = run[:-1], int(run[-1])
    if position > 0:
        return upstream == (*group, position - 1)
    leg = last.get(upstream)
    if run[0] == "discharge":
        return leg == ("intake",)
    return leg is not None and leg[:-2] == run[:-2] and leg[-1] in ("straight", "side")


def monthly_means(hours: Hours) -> Array:
    """Mean outdoor temperature of each month of a year of weather, shape (12,). [K]"""
    counted = np.bincount(hours.month - 1, minlength=12)
    return np.asarray(np.bincount(hours.month - 1, weights=hours.temperature, minlength=12) / counted)


def low_points(on_site: FansOnSite) -> tuple[LowPoint, ...]:
    """Where water cannot run back to a pit by the rises and slopes as entered."""
    found = []
    for address, run in on_site.assembly.runs:
        # past the last rise water that runs on leaves by the outlet
        after = on_site.design.discharge[int(address[-1]) + 1 :] if address[0] == "discharge" else None
        leaves = after is not None and all(other.rise <= 0.0 for other in after)
        if run.rise < 0.0:
            if not leaves:
                words = "the pipe drops in the direction of flow, so water collects at the low end"
                found.append(LowPoint(run.name, address, words))
        elif run.rise <= LEVEL * run.length:
            if abs(run.slope) < _LEAST_SLOPE:
                found.append(LowPoint(run.name, address, "it lies level, so water stands in it"))
            elif run.slope < 0.0 and not leaves:
                found.append(LowPoint(run.name, address, "it falls away from the pit, so water stands in it"))
    return tuple(found)
