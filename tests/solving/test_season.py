"""What winter and exhausts take, and the year by the hour."""

from __future__ import annotations

import numpy as np
import pytest

from tests.floors import hole, job, read, slab, three, unplaced
from workbench.design import Place
from workbench.design.slab import WorstDay
from workbench.solving import prepare
from workbench.solving.report.year_round import Turning, turning, year_held
from workbench.solving.site.season import season_at, stack_at

JUNE, JANUARY = 291.15, 265.15


def test_no_stack_without_a_difference_of_temperature_and_more_with_more_cold() -> None:
    design = job(three())
    indoor = design.place.indoor_temperature
    stacks = [float(stack_at(design, t)) for t in (indoor, 283.15, 273.15, 263.15)]
    assert stacks[0] == pytest.approx(0.0, abs=1e-12)
    assert np.all(np.diff(stacks) > 0.0)


def test_the_day_of_the_readings_has_had_its_stack_already() -> None:
    design = job(unplaced(three()))
    prepared = prepare(design)
    today = season_at(design, prepared.assembly, design.place.outdoor_temperature, 0.0)
    assert today.stack > 0.0
    assert today.beyond_the_day == 0.0
    felt = prepared.assembly.floor.rest_holes
    assert today.change_at_holes(design, felt) == pytest.approx(np.zeros(3))
    # warmer than then: nothing is given back
    june = season_at(design, prepared.assembly, design.place.outdoor_temperature + 10.0, 0.0)
    assert june.change_at_holes(design, felt) == pytest.approx(np.zeros(3))


@pytest.mark.parametrize("floor", [None, slab()], ids=["no plan", "plan"])
def test_january_takes_from_every_hole_what_june_leaves(floor: object) -> None:
    prepared = prepare(job(three(), floor=floor))  # type: ignore[arg-type]
    turned = turning(prepared, 0.7, JANUARY, JUNE)
    assert turned is not None
    assert np.all(turned.at(JANUARY, exhausts=False) < turned.at(JUNE, exhausts=False))
    assert np.all(turned.exhausts < turned.quiet)


@pytest.mark.parametrize("floor", [None, slab()], ids=["no plan", "plan"])
def test_winter_takes_no_more_than_there_is(floor: object) -> None:
    prepared = prepare(job(three(), floor=floor))  # type: ignore[arg-type]
    season = prepared.worst_day
    for felt in (prepared.assembly.floor.rest_holes, prepared.assembly.floor.draws(512).rest_holes):
        change = season.change_at_holes(prepared.design, felt)
        assert np.all(change <= 0.0)
        assert np.all(change >= -(season.exhausts + season.stack) - 1e-9)


@pytest.mark.parametrize("floor", [None, slab()], ids=["no plan", "plan"])
def test_what_was_measured_with_all_exhausts_on_is_what_they_take_there(floor: object) -> None:
    """2.5 Pa in the house and 1 Pa at the hole, read in one test: two fifths reach it, whatever was thought before."""
    holes = [hole("A", read(20.0), at=(3.0, 1.5), exhausts=-1.0), hole("B", read(20.0), at=(5.0, 3.5))]
    warm = WorstDay(exhausts=None, tested_draw_down=2.5, outdoor_temperature=283.15)
    prepared = prepare(job(holes, floor=floor, worst_day=warm))  # type: ignore[arg-type]
    # at the temperature of the day of the readings nothing but the exhausts is new
    change = prepared.worst_day.change_at_holes(prepared.design, prepared.assembly.floor.rest_holes)
    assert change[0] == pytest.approx(-1.0, abs=0.1)
    # one floor: what was learnt at one hole is worth something at the next, and less than there
    unread = job([hole("A", read(20.0), at=(3.0, 1.5)), holes[1]], floor=floor, worst_day=warm)  # type: ignore[arg-type]
    felt, thought = (each.assembly.floor.draws(2048).rest_holes for each in (prepared, prepare(unread)))
    one, other = (float(np.subtract(*np.quantile(felt[:, h], (0.95, 0.05)))) for h in (0, 1))
    assert one < other < float(np.subtract(*np.quantile(thought[:, 1], (0.95, 0.05))))


def test_a_year_of_hours_is_counted_as_a_plain_loop_counts_it() -> None:
    turned = Turning(
        np.array([260.0, 300.0]),
        np.array([[0.5, 2.0, np.nan], [2.5, 4.0, np.nan]]),
        np.array([[-0.5, 1.0, np.nan], [1.5, 3.0, np.nan]]),
    )
    rng = np.random.default_rng(3)
    hours = rng.uniform(255.0, 305.0, 600)
    month = np.repeat(np.arange(1, 13), 50)
    for exhausts, shift in ((False, 0.0), (True, -1.0)):
        held = year_held(turned, hours, month, 1.0, exhausts=exhausts)
        below, kept = [0, 0], [0] * 12
        for t, m in zip(hours, month, strict=True):
            rise = 2.0 * (min(max(t, 260.0), 300.0) - 260.0) / 40.0 + shift
            both = (0.5 + rise, 2.0 + rise)
            below = [n + (s < 1.0) for n, s in zip(below, both, strict=True)]
            kept[m - 1] += min(both) >= 1.0
        assert held.below[:2].tolist() == below
        assert np.isnan(held.below[2])
        assert held.months == pytest.approx(np.array(kept) / 50.0)
        assert held.share == pytest.approx(sum(kept) / 600.0)


def test_the_season_has_no_answer_without_a_hole_or_a_fan() -> None:
    assert turning(prepare(job([])), 0.7, JANUARY, JUNE) is None
    assert turning(prepare(job(three(), fan=None)), 0.7, JANUARY, JUNE) is None


def test_a_house_as_warm_as_the_outdoors_loses_nothing_to_winter() -> None:
    warm = Place(outdoor_temperature=294.15, indoor_temperature=294.15)
    design = job(unplaced(three()), place=warm, worst_day=WorstDay(outdoor_temperature=294.15, exhausts=0.0))
    holding = prepare(design).holding(0.7)
    assert holding is not None
    for state in holding.holes:
        assert state.worst == pytest.approx(state.suction, rel=1e-6)
