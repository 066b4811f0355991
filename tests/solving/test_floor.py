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
from workbench.solving import prepare
from workbench.solving.site.floor import Floor
from workbench.solving.site.ground import ground_of

LAMINAR = Resistance(linear=6000.0, tested_volume=0.028)
BENT = Resistance(linear=2000.0, quadratic=2.0e5, tested_volume=0.028)
MET = 0.01
"""What was thought before pulls at the best fit by a small part of a reading's error."""


def spread_of(floor: Floor, h: int) -> float:
    """Standard deviation of the logarithm of a hole's response to the first point."""
    return float(np.std(np.log(floor.draws(2048).holes[:, h, 0])))


@given(st.floats(5.0, 100.0), st.floats(0.005, 0.05), st.floats(0.1, 1.0))
def test_over_laminar_ground_a_hole_follows_its_reading_in_proportion(suction: float, flow: float, part: float) -> None:
    prepared = prepare(job([hole("A", read(suction, flow=flow, applied=6000.0 * flow, at_rest=0.5))]))
    response = float(prepared.assembly.floor.holes[0, 0])
    assert response * flow * part == pytest.approx((suction - 0.5) * part, rel=MET)


def test_one_reading_one_flow_and_one_hole_are_enough_for_an_answer_with_a_band() -> None:
    holding = prepare(job([hole("A", read(20.0))])).holding(0.6)
    assert holding is not None
    (state,) = holding.holes
    assert state.known
    assert state.band[0] < state.suction < state.band[1]
    assert holding.chance is not None


@pytest.mark.parametrize("share", [0.02, 0.2])
@pytest.mark.parametrize("part", [0.5, 0.7])
def test_where_the_ground_bends_a_hole_follows_the_flow(share: float, part: float) -> None:
    """Inertia lies close to the pit and a hole far off feels the flow, so that it keeps more of the pit's suction when
    the fan is slowed. Common practice scales by the suction in the pit, which is the careful side of it."""
    ground = ground_of(point(ground=BENT))
    flow = 0.02
    applied = float(ground.suction(np.array(flow)))
    prepared = prepare(job([hole("A", read(share * applied, flow=flow, applied=applied))], point(ground=BENT)))
    by_flow = float(prepared.assembly.floor.holes[0, 0]) * part * flow
    assert by_flow == pytest.approx(share * applied * part, rel=MET)
    assert by_flow > share * float(ground.suction(np.array(part * flow)))


def test_the_error_of_a_reading_is_that_of_its_instrument() -> None:
    """5 % and 1 Pa at 20 Pa, with a flow and a suction in the pit that were noted to some per cent beside."""
    coarse = prepare(job([hole("A", read(20.0, accuracy=0.05, resolution=1.0))])).assembly.floor
    fine = prepare(job([hole("A", read(20.0, accuracy=0.005, resolution=0.05))])).assembly.floor
    own = math.hypot(0.05, 1.0 / 20.0)
    assert own < spread_of(coarse, 0) < 1.4 * own
    # the flow noted with it is good to 5 %, whatever the gauge
    assert spread_of(fine, 0) == pytest.approx(0.05, rel=0.1)


def test_a_reading_without_a_flow_takes_that_at_which_the_ground_holds_its_suction() -> None:
    for resistance in (LAMINAR, BENT):
        design = job([hole("A", read(10.0, flow=None, applied=90.0))], point(ground=resistance))
        flow = prepare(design).assembly.floor.flow_of(0, 0)
        assert float(ground_of(point(ground=resistance)).suction(np.array(flow))) == pytest.approx(90.0, rel=MET)


def test_more_readings_narrow_the_band_and_readings_that_disagree_leave_it_between() -> None:
    one = prepare(job([hole("A", read(20.0))])).assembly.floor
    three_alike = prepare(job([hole("A", read(20.0), read(20.0), read(20.0))])).assembly.floor
    apart = prepare(job([hole("A", read(12.0), read(33.0))])).assembly.floor
    assert spread_of(three_alike, 0) < spread_of(one, 0)
    assert 12.0 < float(apart.holes[0, 0]) * 0.02 < 33.0


def test_a_hole_nobody_read_is_unknown_and_said_to_be() -> None:
    design = job([hole("A", read(20.0)), hole("B")])
    outcome = prepare(design).at(0.8)
    assert outcome.holding is not None
    assert [state.known for state in outcome.holding.holes] == [True, False]
    assert outcome.holding.weakest == "A"
    assert outcome.holding.holes[1].verdict(0.0) == "not measured"
    assert outcome.holding.verdict != "holds"
    assert "unknown-hole" in [notice.code for notice in outcome.notices]


def test_two_points_act_together_at_a_hole_without_a_plan() -> None:
    points = (point("Pit"), point("Other", (7.0, 4.0)))
    both = hole("A", read(20.0), read(6.0, point="Other"))
    prepared = prepare(job([both], *points))
    assert prepared.assembly.floor.holes[0] * 0.02 == pytest.approx([20.0, 6.0], rel=MET)
    outcome = prepared.at(0.7)
    assert outcome.holding is not None
    felt = dict(zip(("Pit", "Other"), prepared.assembly.floor.holes[0], strict=True))
    expected = sum(felt[state.name] * state.flow for state in outcome.points)
    assert outcome.holding.holes[0].suction == pytest.approx(expected)


def test_on_a_plan_points_hinder_one_another_and_equally() -> None:
    points = (untested("Pit"), untested("Other", (7.0, 4.0)))
    coupling = prepare(job(three(), *points, floor=slab())).assembly.floor.coupling
    assert coupling[0, 1] == pytest.approx(coupling[1, 0], rel=1e-9)
    assert np.all(coupling > 0.0)
    assert coupling[0, 1] < coupling[0, 0]


def test_on_a_plan_without_a_reading_the_nearer_hole_feels_more() -> None:
    holes = [hole(name, at=at) for name, at in PLACES.items()]
    floor = prepare(job(holes, untested(), floor=slab())).assembly.floor
    near, middle, far = floor.holes[:, 0]
    assert near > middle > far > 0.0
    assert np.all((floor.rest_holes >= 0.0) & (floor.rest_holes <= 1.0))


@pytest.mark.parametrize("floor", [None, slab()], ids=["no plan", "plan"])
def test_a_measured_resistance_stays_what_was_measured(floor: object) -> None:
    tested = point(ground=Resistance(linear=6000.0, tested_volume=0.028, band=0.02))
    prepared = prepare(job(three(), tested, floor=floor))  # type: ignore[arg-type]
    assert prepared.assembly.floor.coupling[0, 0] == pytest.approx(6000.0, rel=0.02)


def test_a_hole_that_does_not_fit_follows_its_own_reading() -> None:
    """A reading is what is known of a hole; what its neighbours say of it is not."""
    floor = prepare(job(three(near=60.0, middle=20.0, far=60.0), floor=slab())).assembly.floor
    assert float(floor.holes[2, 0]) * 0.02 == pytest.approx(60.0, rel=0.1)


@pytest.mark.parametrize("floor", [None, slab()], ids=["no plan", "plan"])
@pytest.mark.parametrize("value", [0.0, -1.5])
def test_a_reading_of_nothing_or_above_the_room_is_taken_and_pulls_down(floor: object, value: float) -> None:
    before = prepare(job(three(), floor=floor)).assembly.floor  # type: ignore[arg-type]
    after = prepare(job(three(far=value), floor=floor)).assembly.floor  # type: ignore[arg-type]
    assert np.all(np.isfinite(after.holes))
    assert after.holes[2, 0] < 0.2 * before.holes[2, 0]
    low = np.quantile(after.draws(2048).holes[:, 2, 0], 0.05)
    assert low * 0.02 < 0.2


def test_without_a_plan_no_field_is_claimed() -> None:
    floor = prepare(job(unplaced(three()))).assembly.floor
    assert floor.field is None
    assert floor.fits == ()
    assert floor.factors == ()


@pytest.mark.parametrize("floor", [None, slab()], ids=["no plan", "plan"])
def test_every_draw_has_the_shape_of_the_floor(floor: object) -> None:
    points = (point("Pit"), point("Other", (7.0, 4.0)))
    draws = prepare(job(three(), *points, floor=floor)).assembly.floor.draws(256)  # type: ignore[arg-type]
    assert draws.coupling.shape == (256, 2, 2)
    assert draws.holes.shape == (256, 3, 2)
    assert draws.inertial.shape == (256, 2)
    assert draws.rest_points.shape == (256, 2)
    assert draws.rest_holes.shape == (256, 3)
    assert draws.varied.shape == (256, len(draws.names))
