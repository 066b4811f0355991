"""Readings as states: what was drawn on, by what, with which hollow; and the form in which their error is even."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.floors import PIT, PLACES, hole, job, point, read, slab
from workbench.design import Resistance
from workbench.design.ground import StepReading, StepTest, SuctionPoint
from workbench.design.slab import Slab, WorstDay
from workbench.physics.ground import fit_step_test
from workbench.solving import prepare
from workbench.solving.outcome import HoleState
from workbench.solving.site.ground_state import (
    DUG,
    TESTED,
    FlowReading,
    GroundState,
    Readings,
    ShareReading,
    SuctionReading,
)
from workbench.solving.site.readings import readings_of


def state(near: float = 4000.0, inertial: float = 1e5) -> GroundState:
    """One point and two holes by hand: 2000 Pa s/m3 in the layer, the near part by hollow."""
    return GroundState(
        layer=np.array([[2000.0]]),
        near=np.array([[near], [0.5 * near], [near]]),
        inertial=np.array([[inertial], [0.25 * inertial], [inertial]]),
        holes=np.array([[1000.0], [10.0]]),
        rest_points=np.array([0.4]),
        rest_holes=np.array([0.3, 0.2]),
        mean_rest=np.array(0.25),
    )


def suction(**fields: object) -> SuctionReading:
    given = {"hole": 0, "reading": 0, "point": 0, "hollow": TESTED, "applied": 200.0, "suction": 20.0}
    return SuctionReading(**(given | {"accuracy": 0.03, "floor": 0.2} | fields))  # type: ignore[arg-type]


@pytest.mark.parametrize(("hollow", "linear", "quadratic"), [(TESTED, 6000.0, 1e5), (DUG, 4000.0, 2.5e4)])
def test_a_flow_is_what_the_ground_gives_at_the_suction_in_the_hollow_it_was_read_with(
    hollow: int, linear: float, quadratic: float
) -> None:
    flow = float(state().flow_alone(np.array(0), np.array(hollow), np.array(200.0)))
    assert linear * flow + quadratic * flow**2 == pytest.approx(200.0, rel=1e-12)


def test_points_drawn_on_together_each_hold_the_suction() -> None:
    pair = GroundState(
        layer=np.array([[2000.0, 500.0], [500.0, 3000.0]]),
        near=np.full((3, 2), 1000.0),
        inertial=np.full((3, 2), 4e4),
        holes=np.zeros((0, 2)),
        rest_points=np.zeros(2),
        rest_holes=np.zeros(0),
        mean_rest=np.array(0.2),
    )
    (flows,) = pair.flows_together(np.array([150.0]))
    assert pair.coupling() @ flows + 4e4 * flows**2 == pytest.approx([150.0, 150.0], rel=1e-9)
    # each draws less than it would alone
    alone = pair.flow_alone(np.arange(2), np.array([DUG, DUG]), np.array([150.0, 150.0]))
    assert np.all(flows < alone)


def test_readings_are_predicted_in_the_state_they_were_taken_in() -> None:
    flows = [FlowReading(0, TESTED, 200.0, 0.02, 0.05, metered=True)]
    holes = [suction(), suction(hollow=DUG), suction(point=-1, hollow=DUG), suction(hole=1, flow=0.03)]
    readings = Readings(flows, holes, [ShareReading(1, 0.3, 0.1)], (math.log(0.25 / 0.75), 1.0))
    ground = state()
    tested, dug = (float(ground.flow_alone(np.array(0), np.array(hollow), np.array(200.0))) for hollow in (TESTED, DUG))
    told = readings.predict(ground, np.array(0.1))
    assert told[0] == pytest.approx(math.log(tested) + 0.1)
    expected = [1000.0 * tested, 1000.0 * dug, 1000.0 * dug, 10.0 * 0.03]
    assert np.sinh(told[1:5]) * 0.4 == pytest.approx(expected)
    assert told[5:] == pytest.approx([0.2, math.log(0.25 / 0.75)])
    assert readings.values[5:] == pytest.approx([0.3, math.log(0.25 / 0.75)])


@pytest.mark.parametrize("value", [-1.0, 0.0, 0.1, 0.5, 5.0, 300.0])
def test_the_error_of_a_reading_is_that_of_its_instrument_at_any_size(value: float) -> None:
    """A step of one standard error in Pa is a step of one in the form that is compared, to second order."""
    readings = Readings([], [suction(suction=value)], [], None)
    error = math.hypot(0.2, 0.03 * value)
    step = (math.asinh((value + 0.5 * error) / 0.4) - math.asinh((value - 0.5 * error) / 0.4)) / readings.errors[0]
    assert step == pytest.approx(1.0, rel=0.05)


def stepped(*pairs: tuple[float, float], **fields: object) -> SuctionPoint:
    steps = tuple(StepReading(flow=q, suction=p, **fields) for q, p in pairs)  # type: ignore[arg-type]
    return point(ground=StepTest(readings=steps, tested_volume=PIT))


def test_a_step_noted_again_with_a_hole_counts_once() -> None:
    """The flow under which a hole was read is often a step of the step test: the same figure, no second one."""
    steps = stepped((0.01, 60.0), (0.02, 130.0), (0.03, 210.0))
    again = (hole("A", read(20.0, flow=0.02, applied=130.0)), hole("B", read(9.0, flow=0.0201, applied=130.5)))
    other = (hole("A", read(20.0, flow=0.025, applied=170.0)), hole("B", read(9.0, flow=0.025, applied=170.0)))
    assert len(readings_of((steps,), again, None, planned=True).flows) == 3
    # neither does a figure that was noted at two holes
    assert len(readings_of((steps,), other, None, planned=True).flows) == 4


def test_the_baseline_is_taken_off_what_a_step_and_a_hole_read() -> None:
    steps = stepped((0.01, 62.0), (0.02, 132.0), baseline=2.0)
    readings = readings_of((steps,), (hole("A", read(20.0, flow=None, at_rest=1.5)),), None, planned=True)
    assert [flow.suction for flow in readings.flows] == pytest.approx([60.0, 130.0])
    assert readings.holes[0].suction == pytest.approx(18.5)


def test_a_step_test_that_scatters_is_so_much_less_sure() -> None:
    """R. T. Birge, Physical Review 40 (1932) 207: errors widened by the root of chi-square over what is left."""
    pairs = ((0.01, 60.0), (0.02, 150.0), (0.03, 195.0), (0.04, 330.0))
    readings = readings_of((stepped(*pairs),), (), None, planned=True)
    fit = fit_step_test(np.array([q for q, _ in pairs]), np.array([p for _, p in pairs]))
    chi = float(np.sum((fit.residuals / (0.05 * np.array([p for _, p in pairs]))) ** 2))
    assert chi > 2.0
    assert [flow.error for flow in readings.flows] == pytest.approx([0.05 * math.sqrt(chi / 2.0)] * 4, rel=1e-6)
    straight = readings_of((stepped((0.01, 60.0), (0.02, 130.0), (0.03, 210.0)),), (), None, planned=True)
    assert [flow.error for flow in straight.flows] == pytest.approx([0.05] * 3)


def test_an_exhaust_test_is_a_reading_only_with_the_draw_down_of_the_house() -> None:
    holes = (hole("A", read(20.0), exhausts=-1.0), hole("B", read(20.0)))
    assert readings_of((point(),), holes, None, planned=True).shares == []
    (share,) = readings_of((point(),), holes, 4.0, planned=True).shares
    assert (share.hole, share.share) == (0, pytest.approx(0.25))
    # two readings of 0.2 Pa each and 3 % of the change; 5 % or 0.3 Pa of the draw-down
    own = math.hypot(math.sqrt(2.0) * 0.2, 0.03) / 4.0
    assert share.error == pytest.approx(math.hypot(own, 0.25 * math.hypot(0.05, 0.3 / 4.0)))


@pytest.mark.parametrize("floor", [None, slab()], ids=["no plan", "plan"])
def test_a_hole_read_with_the_installed_system_takes_its_flow_from_the_pit_as_dug(floor: object) -> None:
    """And one read under a vacuum from the hollow of the test: a bigger hollow gives more air for a suction."""
    ground = Resistance(linear=6000.0, quadratic=1e5, tested_volume=0.002)
    pit = point(ground=ground).model_copy(update={"pit_volume": 0.05})
    flows = []
    for how in ("test vacuum", "installed system"):
        design = job([hole("A", read(20.0, flow=None, made_with=how), at=(4.0, 3.0))], pit, floor=floor)  # type: ignore[arg-type]
        flows.append(prepare(design).assembly.floor.flow_of(0, 0))
    assert flows[1] > 1.05 * flows[0]


def test_no_reading_is_looked_for_in_vain() -> None:
    with pytest.raises(LookupError):
        Readings([], [suction()], [], None).flow_of(state(), 1, 0)


def test_a_draw_down_without_a_change_measures_no_share() -> None:
    prepared = prepare(job([hole("A", read(20.0))], worst_day=WorstDay(tested_draw_down=3.0)))
    assert not prepared.assembly.floor.exhausts_read
    holding = prepared.holding(0.7)
    assert holding is not None
    assert "share at holes" in {each.kind for each in holding.unmeasured}


@pytest.mark.parametrize("floor", [None, slab()], ids=["no plan", "plan"])
def test_of_two_readings_that_contradict_each_other_the_lower_is_taken(floor: Slab | None) -> None:
    """Which is true nobody knows; with the higher in the fit a hole would be called safe that was seen to fail."""

    def remaining(*suctions: float) -> HoleState:
        holding = prepare(job([hole("A", *map(read, suctions), at=PLACES["Middle"])], floor=floor)).rested(0.8).holding
        assert holding is not None
        return holding.holes[0]

    low, both, near = remaining(4.0), remaining(20.0, 4.0), remaining(4.1, 4.0)
    assert both.worst == pytest.approx(low.worst, rel=1e-6)
    assert both.worst_band == pytest.approx(low.worst_band, rel=1e-6)
    # two that agree within the gauge's error both count
    assert near.suction > low.suction
    prepared = prepare(job([hole("A", read(20.0), read(4.0), at=PLACES["Middle"])], floor=floor))
    (told,) = (n for n in prepared.at(0.8).notices if n.code == "contradicted")
    assert told.address == ("holes", 0, "readings", 0)
