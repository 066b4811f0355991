"""The lowest speed that holds: by the middle of the bands, and at the chance the user asks for."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from workbench.physics.fan import Fan
from workbench.physics.network import NoConvergence
from workbench.solve.chance import DRAG_SAMPLES, middle
from workbench.solve.holes import worst_flows
from workbench.solve.needed import at_chance, needed, settable, speeds_for
from workbench.solve.outcome import Holding

if TYPE_CHECKING:
    from workbench.solve.prepare import Prepared

_FINENESS = 5e-4


@dataclass(frozen=True)
class Lowest:
    """Lowest speeds that hold, None where the fan does not hold even at full speed.

    `plain` by the middle of the bands; `sure` at the user's chance.
    """

    plain: float | None
    sure: float | None


def lowest_speeds(ready: Prepared) -> Lowest:
    """Lowest speeds between the fan's least and full speed; more speed never takes suction from a hole.

    Found from what the site needs where the fan meets it once. Where a rising curve meets it more often, the fan
    settles at the first stable crossing, and the speed is found by halving.
    """
    record, fan = ready.design.chosen_fan, ready.fans.get(ready.design.fan or "")
    if record is None or fan is None or not ready.design.holes:
        return Lowest(None, None)
    try:
        return _by_need(ready, fan, record.lowest_speed)
    except (_MeetsOften, NoConvergence):
        return _by_halving(ready, record.lowest_speed)


class _MeetsOften(Exception):
    """Fan and system meet more than once."""


def _by_need(ready: Prepared, fan: Fan, least: float) -> Lowest:
    design, assembly, season = ready.design, ready.assembly, ready.worst_day
    target = design.target.suction
    plainly = needed(middle(design, assembly, season), target)
    if plainly is None:
        return Lowest(None, None)
    plain = speeds_for(fan, plainly.flow, plainly.pressure, ready.density, least)
    state = ready.sampled(DRAG_SAMPLES).state
    surely = needed(state, target)
    assert surely is not None
    speeds = speeds_for(fan, surely.flow, surely.pressure, ready.density, least, state.fan)
    sure = np.maximum(plain, at_chance(speeds, design.target.chance))
    return Lowest(
        _answered(ready, fan, float(settable(plain, least))), _answered(ready, fan, float(settable(sure, least)))
    )


def _answered(ready: Prepared, fan: Fan, speed: float) -> float | None:
    """The speed, if the fan's measured points speak of it both on the day and on the worst one."""
    if math.isnan(speed):
        return None
    found = ready.crossings(speed)
    if fan.rises and len(found) > 1:
        raise _MeetsOften
    met = ready.settled(speed)
    if met is None or worst_flows(ready, fan, speed, ready.worst_day, met.flows) is None:
        return None
    return speed


def _by_halving(ready: Prepared, least: float) -> Lowest:
    kept: dict[float, Holding | None] = {}

    def holding(speed: float) -> Holding | None:
        if speed not in kept:
            kept[speed] = ready.holding(speed, DRAG_SAMPLES)
        return kept[speed]

    def plainly(speed: float) -> bool:
        found = holding(speed)
        return found is not None and found.weakest is not None and found.margin >= 0.0

    def surely(speed: float) -> bool:
        found = holding(speed)
        return found is not None and found.verdict == "holds"

    return Lowest(_least(plainly, least), _least(surely, least))


def _least(holds: Callable[[float], bool], lowest: float) -> float | None:
    if not holds(1.0):
        return None
    if holds(lowest):
        return lowest
    low, high = lowest, 1.0
    while high - low > _FINENESS:
        middle = 0.5 * (low + high)
        if holds(middle):
            high = middle
        else:
            low = middle
    return high
