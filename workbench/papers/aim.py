"""Which gauge reading may be told as one to leave the fan at, and which is the least."""

from __future__ import annotations

import math

from msgspec import Struct

from workbench.design.visits import MARK, Visit, in_order
from workbench.solving.outcome import Outcome, Verdict
from workbench.solving.run.gauges import GaugeAt, gauge_at
from workbench.solving.run.prepare import Prepared

CLOSE = 0.1
"""How near to the reading aimed at is near enough; a judgment, what a U-tube on a pipe can be read to."""


class Aim(Struct, frozen=True):
    """The reading to turn down to, and what bounds it. Suctions just before the fan [Pa].

    Attributes
    ----------
    reading : float or None
        What to turn down to; None where no reading may be told as one to leave the fan at: nothing was measured, the
        target is missed, or by the best estimate it would be.
    low, high : float
        Between these a reading is near enough; `low` is never below `floor`. NaN without a reading.
    floor : GaugeAt or None
        The least reading: of the speed at which the chance asked for is kept where the verdict is that it is, else of
        the speed at which the weakest hole has just its target by the best estimate.
    sure, plain, full : GaugeAt or None
        At the lowest speed that meets the target at the chance asked for, at the lowest by the best estimate, and at
        full speed.
    """

    verdict: Verdict
    reading: float | None
    low: float
    high: float
    floor: GaugeAt | None
    sure: GaugeAt | None
    plain: GaugeAt | None
    full: GaugeAt | None


class Mark(Struct, frozen=True):
    """The monitor's mark. `left` is the start-up that it was left at, None where it is calculated.

    `enough` tells whether nothing speaks against the fan being left there: it is not below the least reading, nor
    farther from the predicted one than a gauge may move from its mark.
    """

    reading: float
    left: Visit | None
    enough: bool


def mark_of(prepared: Prepared, outcome: Outcome, aim: Aim, moves: float = MARK) -> Mark:
    """What the gauge was left at by the last start-up that read it, else what is predicted; `moves` as `MARK`."""
    left = left_at(prepared.design.visits)
    told = outcome.verdict in ("holds", "unsure")
    if left is None or left.gauge is None:
        return Mark(outcome.gauge, None, told)
    read = left.gauge.pressure
    floor = aim.floor
    near = abs(read - outcome.gauge) <= moves * outcome.gauge
    return Mark(read, left, told and near and (floor is None or read >= floor.suction))


def left_at(visits: tuple[Visit, ...]) -> Visit | None:
    """The last start-up that read the gauge on the suction side of a running fan."""
    found = [
        visit
        for visit in in_order(visits)
        if visit.kind == "start-up"
        and visit.conditions.fan == "running"
        and visit.gauge is not None
        and visit.gauge.side == "suction"
        and visit.gauge.pressure > 0.0
    ]
    return found[-1] if found else None


def aim_of(prepared: Prepared, outcome: Outcome) -> Aim:
    """What a dial-back may be told at an answer."""
    sure, plain, full = (_read(prepared, each) for each in (*_lowest(prepared), 1.0))
    floor = {"holds": sure, "unsure": plain}.get(outcome.verdict)
    steady = floor is not None and outcome.speed >= floor.speed - 1e-9
    if outcome.operating is None or not steady or floor is None:
        return Aim(outcome.verdict, None, math.nan, math.nan, None, sure, plain, full)
    low = min(max((1.0 - CLOSE) * outcome.gauge, floor.suction), outcome.gauge)
    high = (1.0 + CLOSE) * outcome.gauge
    high = high if full is None else max(min(high, full.suction), outcome.gauge)
    return Aim(outcome.verdict, outcome.gauge, low, high, floor, sure, plain, full)


def _lowest(prepared: Prepared) -> tuple[float | None, float | None]:
    return prepared.lowest.confident, prepared.lowest.best_estimate


def _read(prepared: Prepared, speed: float | None) -> GaugeAt | None:
    if speed is None or prepared.design.chosen_fan is None:
        return None
    at = gauge_at(prepared, speed)
    return None if math.isnan(at.suction) else at


def table_speeds(prepared: Prepared, outcome: Outcome) -> list[float]:
    """Speeds that a table of readings tells: full and four fifths, the one saved, and the lowest ones; falling."""
    record = prepared.design.chosen_fan
    if record is None:
        return []
    wanted = [1.0, 0.8, outcome.speed, *(each for each in _lowest(prepared) if each is not None)]
    found: list[float] = []
    for speed in sorted((s for s in wanted if s >= record.lowest_speed - 1e-9), reverse=True):
        if not found or found[-1] - speed > 1e-6:
            found.append(speed)
    return found
