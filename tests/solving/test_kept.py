"""What a hole beside a pit keeps once the pit is dug: all that the pit has and not a whit more, the right pit's."""

from __future__ import annotations

import numpy as np
import pytest

from tests.floors import FAN, PIT, hole, job, point, read
from tests.jobs import open_run
from workbench.design import Design, Pipe, Resistance
from workbench.design.record import with_value
from workbench.design.slab import Target, TestHole, WorstDay
from workbench.solving import Outcome, prepare
from workbench.solving.run.needed import SPEED_STEP

LINEAR, QUADRATIC, SMALL = 3000.0, 2e5, 0.004
TESTED = Resistance(linear=LINEAR, quadratic=QUADRATIC, tested_volume=SMALL)
"""At a hollow of 4 L, where the hole read all but what was held; the pit is then dug to 28 L."""


def dug(flow: float) -> float:
    """Suction in the dug pit: half balls in even ground, a as 1 / r and b as 1 / r^3 (M. J. Hvorslev, Time lag and soil
    permeability, 1951, for the viscous part; the other derived likewise)."""
    shrunk = (SMALL / PIT) ** (1.0 / 3.0)
    return LINEAR * shrunk * flow + QUADRATIC * shrunk**3 * flow * abs(flow)


def by_the_pit(*others: str) -> TestHole:
    """Read at 119 Pa with 120 Pa held at the first point, and with each other one."""
    return hole("By the pit", read(119.0, flow=None), *(read(119.0, flow=None, point=name) for name in others))


def throttled(*holes: TestHole) -> Design:
    """Two points of one ground; the first draws through three metres of narrow pipe."""
    design = job(holes, point(ground=TESTED), point("Other", ground=TESTED))
    run = ("intake", "source", "straight", "runs", 0)
    narrow = open_run("In", pipe=Pipe(name="narrow", inside_diameter=0.03), length=3.0)
    return with_value(design, run, narrow)


def suctions(outcome: Outcome) -> tuple[float, ...]:
    return tuple(state.suction for state in outcome.points)


def told(outcome: Outcome) -> float:
    assert outcome.holding is not None
    return outcome.holding.holes[0].suction


@pytest.mark.parametrize("speed", [0.4, 1.0])
def test_a_hole_by_a_dug_pit_keeps_what_the_pit_has(speed: float) -> None:
    outcome = prepare(job([by_the_pit()], point(ground=TESTED))).rested(speed)
    # the reading, brought to the flow, would have it keep two or three times as much: 120 Pa were held at 18.1 L/s
    assert 119.0 / 0.0181 * outcome.points[0].flow > 1.9 * told(outcome)
    assert told(outcome) == pytest.approx(dug(outcome.points[0].flow), rel=0.01)
    assert told(outcome) == pytest.approx(suctions(outcome)[0], rel=1e-9)


@pytest.mark.parametrize("speed", [0.4, 1.0])
def test_a_hole_is_not_saved_by_a_pit_that_does_not_reach_it(speed: float) -> None:
    outcome = prepare(throttled(by_the_pit())).rested(speed)
    own, other = suctions(outcome)
    assert other > 5.0 * own
    assert told(outcome) == pytest.approx(own, rel=1e-9)
    assert told(outcome) == pytest.approx(dug(outcome.points[0].flow), rel=0.02)


@pytest.mark.parametrize("speed", [0.4, 1.0])
def test_a_hole_that_two_pits_reach_keeps_what_the_stronger_has(speed: float) -> None:
    outcome = prepare(throttled(by_the_pit("Other"))).rested(speed)
    own, other = suctions(outcome)
    assert other > 5.0 * own
    assert told(outcome) == pytest.approx(other, rel=1e-9)


@pytest.mark.parametrize("target", [30.0, 60.0])
def test_the_lowest_speed_is_that_at_which_the_dug_pit_has_what_the_hole_is_to_keep(target: float) -> None:
    """With nothing that winter or exhausts take, the pit has to have just the target."""
    calm = WorstDay(exhausts=0.0, neutral_height=0.0)
    prepared = prepare(job([by_the_pit()], point(ground=TESTED), target=Target(suction=target), worst_day=calm))
    speed = prepared.lowest.best_estimate
    assert speed is not None
    assert speed > FAN.least_speed
    at, below = (prepared.rested(v).points[0].flow for v in (speed, speed - SPEED_STEP))
    # entered ground is met to half a percent
    assert dug(below) < 1.005 * target
    assert dug(at) >= 0.995 * target


def test_a_hole_by_a_point_that_air_is_driven_into_feels_its_own_part_of_that() -> None:
    floor = prepare(job([hole("Off", read(12.0, flow=None))], point(ground=TESTED))).assembly.floor
    # 120 Pa were held at 18.12 L/s: the root of 3000 Q + 2e5 Q^2
    assert floor.remaining_at(np.array([-0.002]))[0] == pytest.approx(-12.0 * 0.002 / 0.01812, rel=0.02)


def test_a_pit_that_air_is_driven_into_lends_a_hole_no_suction() -> None:
    both = hole("By the other", read(119.0, flow=None, point="Other"), read(1.0, flow=None))
    floor = prepare(job([both], point(ground=TESTED), point("Other", ground=TESTED))).assembly.floor
    assert floor.remaining_at(np.array([-0.1, 0.01]))[0] == pytest.approx(dug(0.01), rel=0.02)
