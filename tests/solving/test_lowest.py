"""The lowest speeds that hold."""

from __future__ import annotations

import pytest

from tests.floors import FAN, job, point, read, slab, three, unplaced
from tests.floors import hole as a_hole
from workbench.design.slab import Slab, Target
from workbench.solving import prepare
from workbench.solving.run.needed import SPEED_STEP


@pytest.mark.parametrize("floor", [None, slab()], ids=["no plan", "plan"])
def test_at_the_lowest_speed_the_margin_is_about_nothing_and_just_below_it_fails(floor: Slab | None) -> None:
    prepared = prepare(job(three(), floor=floor, target=Target(suction=5.0)))
    plain = prepared.lowest.best_estimate
    assert plain is not None
    at, below = prepared.holding(plain), prepared.holding(plain - SPEED_STEP)
    assert at is not None
    assert below is not None
    # rounded up to the next step that can be set: never below the target, and not a step above it
    assert at.margin >= 0.0
    assert below.margin < 0.0


@pytest.mark.parametrize("chance", [0.5, 0.8, 0.9, 0.95, 0.99])
@pytest.mark.parametrize("floor", [None, slab()], ids=["no plan", "plan"])
def test_at_the_sure_speed_it_holds_at_the_chance_asked_and_just_below_it_does_not(
    floor: Slab | None, chance: float
) -> None:
    prepared = prepare(job(three(), floor=floor, target=Target(suction=5.0, chance=chance)))
    lowest = prepared.lowest
    assert lowest.confident is not None
    assert lowest.best_estimate is not None
    assert lowest.confident >= lowest.best_estimate
    at = prepared.rested(lowest.confident).holding
    assert at is not None
    assert at.verdict == "holds"
    assert at.chance is not None
    assert at.chance >= chance
    for steps in (1, 2):
        below = prepared.rested(lowest.confident - steps * SPEED_STEP).holding
        assert below is not None
        assert below.verdict in ("unsure", "fails")


def test_a_higher_chance_asks_more_speed() -> None:
    found = [
        prepare(job(unplaced(three()), target=Target(suction=5.0, chance=chance))).lowest.confident
        for chance in (0.6, 0.8, 0.95)
    ]
    assert all(speed is not None for speed in found)
    assert found == sorted(found)  # type: ignore[type-var]
    assert found[0] != found[-1]


def test_none_where_even_full_speed_is_not_enough() -> None:
    lowest = prepare(job(unplaced(three(far=0.4)), target=Target(suction=20.0))).lowest
    assert lowest.best_estimate is None
    assert lowest.confident is None


def test_the_fans_least_speed_where_that_holds_already() -> None:
    lowest = prepare(job([a_hole("A", read(119.0))], point(), target=Target(suction=0.1))).lowest
    assert lowest.best_estimate == pytest.approx(FAN.least_speed)
    assert lowest.confident == pytest.approx(FAN.least_speed)


def test_no_lowest_speed_without_holes_or_without_a_fan() -> None:
    for design in (job([]), job(three(), fan=None)):
        lowest = prepare(design).lowest
        assert (lowest.best_estimate, lowest.confident) == (None, None)
