"""What holes feel of the points without a plan, and how points feel one another with one.

Properties of the model and readings invented for it; no measured floor is claimed.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.floors import PLACES, hole, job, point, read, slab, three, unplaced, untested
from workbench.design import Resistance
from workbench.solve import prepare
from workbench.solve.floor import READING_ERROR, READING_FLOOR, Direction, reading_flow
from workbench.solve.ground import ground_of
from workbench.solve.prepare import Prepared

LAMINAR = Resistance(linear=6000.0, tested_volume=0.028)
BENT = Resistance(linear=2000.0, quadratic=2.0e5, tested_volume=0.028)


def spread_of(ready: Prepared, h: int) -> float:
    """Standard deviation of the logarithm of a hole's response."""
    return math.sqrt(sum(float(d.holes[h, 0]) ** 2 for d in ready.assembly.floor.directions))


@given(st.floats(2.0, 200.0), st.floats(0.002, 0.05), st.floats(0.1, 1.0))
def test_over_laminar_ground_a_hole_follows_its_reading_in_proportion(suction: float, flow: float, part: float) -> None:
    ready = prepare(job([hole("A", read(suction, flow=flow, at_rest=0.5))]))
    response = float(ready.assembly.floor.holes[0, 0])
    assert response * flow * part == pytest.approx((suction - 0.5) * part)


def test_one_reading_one_flow_and_one_hole_are_enough_for_an_answer_with_a_band() -> None:
    holding = prepare(job([hole("A", read(20.0))])).holding(0.6)
    assert holding is not None
    (state,) = holding.holes
    assert state.known
    assert state.band[0] < state.suction < state.band[1]
    assert holding.chance is not None


@pytest.mark.parametrize("share", [0.02, 0.2])
@pytest.mark.parametrize("part", [0.5, 0.7])
def test_where_the_ground_bends_both_ways_of_scaling_lie_in_the_band(share: float, part: float) -> None:
    """A hole keeps in step with the flow, or with the suction in the pit: common practice takes either."""
    ground = ground_of(point(ground=BENT))
    flow = 0.02
    applied = float(ground.suction(np.array(flow)))
    ready = prepare(job([hole("A", read(share * applied, flow=flow, applied=applied))], point(ground=BENT)))
    by_flow = float(ready.assembly.floor.holes[0, 0]) * part * flow
    by_suction = share * float(ground.suction(np.array(part * flow)))
    assert by_suction < by_flow
    assert abs(math.log(by_suction / by_flow)) <= 2.0 * spread_of(ready, 0)


def test_laminar_ground_leaves_only_the_error_of_the_reading() -> None:
    ready = prepare(job([hole("A", read(20.0))]))
    assert spread_of(ready, 0) == pytest.approx(math.hypot(READING_ERROR, READING_FLOOR / 20.0))


def test_a_reading_without_a_flow_takes_that_at_which_the_ground_holds_its_suction() -> None:
    for resistance in (LAMINAR, BENT):
        ground = ground_of(point(ground=resistance))
        flow = reading_flow(read(10.0, flow=None, applied=90.0), ground)
        assert float(ground.suction(np.array(flow))) == pytest.approx(90.0)


def test_more_readings_narrow_the_band_and_readings_that_disagree_widen_it() -> None:
    one = spread_of(prepare(job([hole("A", read(20.0))])), 0)
    three_alike = prepare(job([hole("A", read(20.0), read(20.0), read(20.0))]))
    apart = prepare(job([hole("A", read(12.0), read(33.0))]))
    assert spread_of(three_alike, 0) < one < spread_of(apart, 0)


def test_a_hole_nobody_read_is_unknown_and_said_to_be() -> None:
    design = job([hole("A", read(20.0)), hole("B")])
    outcome = prepare(design).at(0.8)
    assert outcome.holding is not None
    assert [state.known for state in outcome.holding.holes] == [True, False]
    assert outcome.holding.weakest == "A"
    assert outcome.holding.holes[1].verdict(0.0) == "unsure"
    assert "unknown-hole" in [notice.code for notice in outcome.notices]


def test_two_points_act_together_at_a_hole_without_a_plan() -> None:
    points = (point("Pit"), point("Other", (7.0, 4.0)))
    both = hole("A", read(20.0), read(6.0, point="Other"))
    ready = prepare(job([both], *points))
    assert ready.assembly.floor.holes[0] * 0.02 == pytest.approx([20.0, 6.0])
    outcome = ready.at(0.7)
    assert outcome.holding is not None
    flows = [state.flow for state in outcome.points]
    named = dict(zip([state.name for state in outcome.points], flows, strict=True))
    expected = 20.0 * named["Pit"] / 0.02 + 6.0 * named["Other"] / 0.02
    assert outcome.holding.holes[0].suction == pytest.approx(expected)


def test_on_a_plan_points_hinder_one_another_and_equally() -> None:
    points = (untested("Pit"), untested("Other", (7.0, 4.0)))
    coupling = prepare(job(three(), *points, floor=slab())).assembly.floor.coupling
    assert coupling[0, 1] == pytest.approx(coupling[1, 0], rel=1e-6)
    assert np.all(coupling > 0.0)
    assert coupling[0, 1] < coupling[0, 0]


def test_on_a_plan_without_a_reading_the_nearer_hole_feels_more() -> None:
    holes = [hole(name, at=at) for name, at in PLACES.items()]
    floor = prepare(job(holes, untested(), floor=slab())).assembly.floor
    near, middle, far = floor.holes[:, 0]
    assert near > middle > far > 0.0
    assert np.all((floor.rest_holes >= 0.0) & (floor.rest_holes <= 1.0))


def test_without_a_plan_every_hole_follows_the_outdoors_in_full() -> None:
    floor = prepare(job(unplaced(three()))).assembly.floor
    assert floor.field is None
    assert np.all(floor.rest_holes == 1.0)


def test_every_direction_has_the_shape_of_the_floor() -> None:
    points = (point("Pit"), point("Other", (7.0, 4.0)))
    for floor in (None, slab()):
        found = prepare(job(three(), *points, floor=floor)).assembly.floor
        for direction in found.directions:
            assert isinstance(direction, Direction)
            assert direction.coupling.shape == (2, 2)
            assert direction.holes.shape == (3, 2)
            assert direction.inertial.shape == (2,)
