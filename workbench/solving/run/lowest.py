"""The lowest speed that holds: by the middle of the bands, and at the chance the user asks for."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from msgspec import Struct

from workbench.physics.fan import Fan
from workbench.physics.network import NoConvergence
from workbench.solving.outcome import Holding
from workbench.solving.run.fans_on_site import FansOnSite
from workbench.solving.run.holes import holding_of
from workbench.solving.run.needed import SPEED_STEP, at_chance, met_first, needed, rounded_up, settable, speeds_for
from workbench.solving.site.chance import middle
from workbench.solving.site.draws import DRAG_SAMPLES, REST_SAMPLES

_FULL = round(1.0 / SPEED_STEP)


class Lowest(Struct, frozen=True):
    """Lowest speeds that hold, in whole steps, None where the fan does not hold even at full speed.

    `best_estimate` by the middle of the bands; `confident` at the user's chance: at this speed the rested answer holds.
    Where no suction was read at a hole there is none; `by_estimate` is what would then suffice by the
    estimate with its whole band.
    """

    best_estimate: float | None
    confident: float | None
    by_estimate: float | None


def lowest_speeds(on_site: FansOnSite) -> Lowest:
    """Lowest speeds between the fan's least and full speed; more speed never takes suction from a hole.

    Found from what the site needs where the fan meets it once. Where a rising curve meets it more often, the fan
    settles at the first stable crossing, and the speed is found by halving.
    """
    record, fan = on_site.design.chosen_fan, on_site.fans.get(on_site.design.fan or "")
    if record is None or fan is None or not on_site.design.holes:
        return Lowest(None, None, None)
    try:
        return _by_need(on_site, fan, record.lowest_speed)
    except NoConvergence:
        return _by_halving(on_site, record.lowest_speed)


def _by_need(on_site: FansOnSite, fan: Fan, least: float) -> Lowest:
    design, assembly, season = on_site.design, on_site.assembly, on_site.worst_day
    known = tuple(int(h) for h in np.flatnonzero(~np.isnan(assembly.floor.holes).any(axis=1)))
    if not known:
        return Lowest(None, None, None)
    state = middle(design, assembly, season)
    plainly = needed(state, design.target.suction)
    assert plainly is not None
    plain = speeds_for(fan, plainly.flow, plainly.pressure, on_site.density)
    needs = on_site.needs(REST_SAMPLES, known)
    if needs is None or not met_first(state, plainly, fan, plain, on_site.density).all():
        raise NoConvergence("what the samples need was not found")
    sure = np.maximum(plain, at_chance(needs, design.target.chance, on_site.fan_spread))
    estimate = _answered(on_site, fan, float(settable(sure, least)))
    read = all(assembly.floor.borne_out)
    return Lowest(_answered(on_site, fan, float(settable(plain, least))), estimate if read else None, estimate)


def _answered(on_site: FansOnSite, fan: Fan, speed: float) -> float | None:
    """The speed, if the fan's measured points speak of it both on the day and on the worst one."""
    if math.isnan(speed):
        return None
    solved = on_site.stable_crossing(speed)
    if solved is None or on_site.flows_in(on_site.worst_day, fan, speed, solved.flows) is None:
        return None
    return speed


def _by_halving(on_site: FansOnSite, least: float) -> Lowest:
    kept: dict[tuple[int, int], Holding | None] = {}

    def holding(step: int, samples: int = DRAG_SAMPLES) -> Holding | None:
        if (step, samples) not in kept:
            kept[step, samples] = holding_of(on_site, min(step * SPEED_STEP, 1.0), samples)
        return kept[step, samples]

    def plainly(step: int) -> bool:
        found = holding(step)
        return found is not None and found.weakest is not None and found.margin >= 0.0

    def surely(step: int, samples: int = DRAG_SAMPLES) -> bool:
        found = holding(step, samples)
        return found is not None and found.verdict == "holds"

    plain, sure = _least(plainly, least), _least(surely, least)
    # few samples find the neighbourhood, all of them decide
    while sure is not None and not surely(sure, REST_SAMPLES):
        sure = sure + 1 if sure < _FULL else None
    return Lowest(_speed(plain), _speed(sure), _speed(sure))


def _speed(step: int | None) -> float | None:
    return None if step is None else float(rounded_up(step * SPEED_STEP))


def _least(holds: Callable[[int], bool], lowest: float) -> int | None:
    """Least step that holds, by halving between a fan's least speed and full speed."""
    low, high = math.ceil(lowest / SPEED_STEP - 1e-9), _FULL
    if not holds(high):
        return None
    if holds(low):
        return low
    while high - low > 1:
        middle = (low + high) // 2
        if holds(middle):
            high = middle
        else:
            low = middle
    return high
