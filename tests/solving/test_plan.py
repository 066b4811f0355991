"""The field over the floor at an answer."""

from __future__ import annotations

import numpy as np
import pytest

from tests.floors import hole, job, read, slab, three, untested
from workbench.design.slab import Position, Target, WorstDay
from workbench.solving import prepare
from workbench.solving.report.floor_map import FloorMap, air_paths, house_share, plan_at


def plan_for(suction: float) -> FloorMap:
    prepared = prepare(job(three(), untested(), floor=slab(), target=Target(suction=suction)))
    plan = plan_at(prepared, prepared.at(0.7))
    assert plan is not None
    return plan


def test_coverage_lies_between_none_and_all_and_falls_with_the_target() -> None:
    shares = [plan_for(target).worst_coverage.share for target in (0.0, 1.0, 5.0, 10.0, 20.0, 100.0)]
    assert all(0.0 <= share <= 1.0 for share in shares)
    assert np.all(np.diff(shares) <= 0.0)
    assert shares[-1] < 0.2 < shares[0]


def test_the_weakest_place_is_where_least_is_left() -> None:
    plan = plan_for(1.0)
    for values, coverage in ((plan.day, plan.day_coverage), (plan.worst, plan.worst_coverage)):
        assert coverage.least == pytest.approx(float(values.min()))
        nearest = np.hypot(*(plan.field.centres - np.array(coverage.place)).T).argmin()
        assert values[nearest] == pytest.approx(coverage.least)


def test_the_worst_day_leaves_no_place_more() -> None:
    plan = plan_for(1.0)
    assert np.all(plan.worst <= plan.day + 0.05)


def test_winter_stack_takes_from_the_whole_floor_in_a_house_without_exhausts() -> None:
    """Published: ASHRAE Handbook, HVAC Applications 2011, ch. 53, 3461.6 h (1 / To - 1 / Ti) at sea level. A place of
    the floor loses the part that it feels, and no place more than all of it and what the fan then draws less."""
    cold, height = 258.15, 4.0
    winter = WorstDay(exhausts=0.0, outdoor_temperature=cold, neutral_height=height)
    prepared = prepare(job([], untested(), floor=slab(), worst_day=winter))
    place = prepared.design.place
    plan = plan_at(prepared, prepared.at(0.7))
    assert plan is not None
    warm = place.indoor_temperature
    stack = 3461.6 * height * (1.0 / cold - 1.0 / warm)
    felt = plan.field.cells.rest
    assert 0.0 < felt.min() < felt.max() < 1.0
    assert np.all(plan.day - plan.worst >= 0.999 * stack * felt)
    assert np.all(plan.day - plan.worst < stack * felt + 0.1 * plan.day + 1e-9)


def test_all_the_air_is_accounted_for() -> None:
    prepared = prepare(job(three(), untested(), floor=slab()))
    outcome = prepared.at(0.7)
    paths = air_paths(prepared, outcome)
    assert sum(path.flow for path in paths) == pytest.approx(sum(point.flow for point in outcome.points), rel=1e-6)
    assert [path.flow for path in paths] == sorted((path.flow for path in paths), reverse=True)
    share = house_share(prepared, outcome)
    assert share is not None
    assert 0.0 < share < 1.0
    # what is drawn of the house on the map is what the year is billed for
    assert sum(path.flow for path in paths if path.house) == pytest.approx(share * outcome.points[0].flow, rel=1e-6)
    assert abs(share - 0.5) > 0.05
    # a way has a title of its own, and is told by what it is, not by its title
    assert len({path.title for path in paths}) == len(paths)
    for path in paths:
        assert (path.way == "side") == (path.side is not None) == (f"side {(path.side or 0) + 1}," in path.title)


def test_what_is_thought_of_the_leak_moves_the_share_and_settles_nothing() -> None:
    """Where a slab's leak leads is a prior until something measures it: 0 and 1 are entered, neither is known."""
    shares = []
    for outdoors in (0.0, 0.5, 1.0):
        prepared = prepare(job(three(), untested(), floor=slab(edges=(), outdoor_share=outdoors)))
        flows = np.array([point.flow for point in prepared.at(0.7).points])
        value, low, high = prepared.assembly.floor.house_share(flows, 2048)
        assert 0.0 <= low < value < high <= 1.0
        assert high - low > 0.2
        shares.append(value)
    assert shares == sorted(shares, reverse=True)
    assert shares[0] - shares[-1] > 0.2


def test_no_plan_no_field() -> None:
    prepared = prepare(job(three()))
    outcome = prepared.at(0.7)
    assert plan_at(prepared, outcome) is None
    assert air_paths(prepared, outcome) == ()
    assert house_share(prepared, outcome) is None


def test_how_much_holds_is_an_area_and_no_number_of_cells() -> None:
    """Else a slanting wall, along which the cells are cut, counts for more floor than there is."""
    corners = tuple(Position(x=x, y=y) for x, y in ((0.0, 0.0), (9.0, 0.0), (0.0, 6.0)))
    holes = (hole("A", read(30.0), at=(3.0, 1.5)), hole("B", read(20.0), at=(1.5, 3.5)))
    floor = slab(outline=corners, edges=(), cell=0.6)
    for target in (4.0, 8.0, 12.0, 16.0):
        prepared = prepare(job(holes, untested(), floor=floor, target=Target(suction=target)))
        plan = plan_at(prepared, prepared.at(0.7))
        assert plan is not None
        # half of base times height
        holding = float(plan.field.areas[plan.day >= target].sum()) / 27.0
        assert plan.day_coverage.share == pytest.approx(holding, rel=1e-6)
        if 0.1 < holding < 0.9:
            assert holding != pytest.approx(float(np.mean(plan.day >= target)), rel=2e-3)
