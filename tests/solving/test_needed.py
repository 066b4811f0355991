"""What a site needs, and the lowest speed that brings it, against sums by hand and against plain halving."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from msgspec.structs import replace
from scipy.optimize import brentq

from tests.jobs import floor_job, ground_only, measured, open_run, record
from workbench.design import Design, Pipe
from workbench.design.design import Uncertainty
from workbench.design.edit import choose_fan
from workbench.design.record import with_value
from workbench.design.slab import HoleReading, Target, TestHole, WorstDay
from workbench.physics.network import AS_CALCULATED, Flows, Network, NoConvergence
from workbench.solving import prepare
from workbench.solving.run.lowest import Lowest, lowest_speeds
from workbench.solving.run.needed import FASTEST, SPEED_STEP, at_chance, chance_at, needed, settable, speeds_for
from workbench.solving.run.prepare import Prepared
from workbench.solving.site.chance import State, middle

CALM = WorstDay(exhausts=0.0, neutral_height=0.0, uncertainty=0.0)


def hole(name: str, suction: float, flow: float, at_rest: float = 0.0) -> TestHole:
    reading = HoleReading(point="Pit", applied=100.0, flow=flow, suction=suction, at_rest=at_rest)
    return TestHole(name=name, readings=(reading,))


def job(*holes: TestHole, target: float = 2.0, chance: float = 0.9, **fields: Any) -> Design:
    fan = record([0.0, 0.1], [400.0, 0.0], [40.0, 40.0])
    return ground_only(
        fan, 4000.0, 2e4, holes=holes, target=Target(suction=target, chance=chance), worst_day=CALM, **fields
    )


def test_one_point_by_hand() -> None:
    # the first hole feels 500 Pa per m3/s and reads 0.5 Pa at rest, the second 100 Pa per m3/s and 0.2 Pa against it
    prepared = prepare(job(hole("near", 10.5, 0.02, 0.5), hole("far", 1.8, 0.02, -0.2)))
    found = needed(middle(prepared.design, prepared.assembly, prepared.worst_day), 2.0)
    assert found is not None
    # what pulls at rest is of that day, what pushes may come again
    flow = max(2.0 / 500.0, (2.0 + 0.2) / 100.0)
    # readings are met to a small part of their error: what was thought of ground and hole before pulls a little
    assert float(found.flow) == pytest.approx(flow, rel=5e-3)
    flow = float(found.flow)
    # the open pipe costs next to nothing
    assert float(found.pressure) == pytest.approx(4000.0 * flow + 2e4 * flow**2, rel=5e-3)


def test_a_straight_curve_passes_through_the_point_at_the_root_of_a_quadratic() -> None:
    fan = measured([0.0, 0.05, 0.1], [400.0, 200.0, 0.0], 1.2)
    flow, asked = np.array([0.022, 0.05, 0.0]), np.array([97.0, 150.0, 36.0])
    # r^2 (400 - 4000 Q / r) = P
    exact = (4000.0 * flow + np.sqrt((4000.0 * flow) ** 2 + 4.0 * 400.0 * asked)) / 800.0
    assert speeds_for(fan, flow, asked, 1.2, 0.05) == pytest.approx(exact, rel=1e-7)


def test_speeds_end_at_the_least_and_beyond_reach() -> None:
    fan = measured([0.0, 0.1], [400.0, 0.0], 1.2)
    flow, asked = np.array([0.001, 0.01, 0.01]), np.array([1.0, 1e6, math.inf])
    assert list(speeds_for(fan, flow, asked, 1.2, 0.3)) == [0.3, math.inf, math.inf]
    lacking = speeds_for(fan, np.array([0.0]), np.array([625.0]), 1.2, 0.3)
    assert lacking == pytest.approx(1.25)
    assert lacking[0] < FASTEST
    assert np.isnan(settable(lacking, 0.3)[0])
    assert settable(np.array([0.3]), 0.3)[0] == 0.3


def test_with_a_fan_that_keeps_its_speed_the_chance_is_a_place_in_the_order() -> None:
    speeds = np.random.default_rng(3).permutation(np.arange(1.0, 501.0))[:, None] / 500.0
    for chance in (0.5, 0.9):
        found = float(at_chance(speeds, chance, 0.0)[0])
        assert found == pytest.approx(chance, abs=1e-6)
        assert chance_at(found, speeds, 0.0)[0] >= chance


@pytest.mark.parametrize("speed", [0.55, 0.7, 0.9])
def test_a_fan_that_is_off_its_speed_is_summed_as_drawing_it_would(speed: float) -> None:
    # drawn outright: a fan set to v turns at v (1 + s z), z standard normal
    rng = np.random.default_rng(7)
    needs, spread = rng.lognormal(math.log(0.7), 0.1, 200), 0.04
    drawn = np.mean(needs[None] <= speed * (1.0 + spread * rng.standard_normal((20_000, 1))))
    assert float(chance_at(speed, needs, spread)) == pytest.approx(drawn, abs=2e-3)
    assert float(chance_at(at_chance(needs, 0.9, spread), needs, spread)) == pytest.approx(0.9, abs=1e-5)


def test_holes_that_hold_by_themselves_need_no_flow() -> None:
    prepared = prepare(job(hole("A", 10.0, 0.02, 3.0)))
    found = needed(middle(prepared.design, prepared.assembly, prepared.worst_day), 0.0)
    assert found is not None
    assert float(found.flow) == 0.0
    assert float(found.pressure) == pytest.approx(0.0, abs=1e-9)


def test_no_known_hole_gives_no_need() -> None:
    prepared = prepare(job(TestHole(name="not read")))
    assert needed(middle(prepared.design, prepared.assembly, prepared.worst_day), 2.0) is None
    assert prepared.lowest == Lowest(None, None, None)


def test_a_hole_that_no_flow_reaches_asks_infinitely_much() -> None:
    prepared = prepare(job(hole("A", 10.0, 0.02)))
    state = middle(prepared.design, prepared.assembly, prepared.worst_day)
    deaf = State(state.network, AS_CALCULATED, np.zeros((1, 1)), state.rest, state.change)
    found = needed(deaf, 2.0)
    assert found is not None
    assert math.isinf(float(found.pressure))
    assert math.isinf(float(speeds_for(prepared.fans["Any"], found.flow, found.pressure, 1.2, 0.1)))


def test_two_points_share_the_flow_as_their_ways_ask() -> None:
    prepared = prepare(choose_fan(floor_job(2), "Medium suction, electronic"))
    state = middle(prepared.design, prepared.assembly, prepared.worst_day)
    found = needed(state, 5.0)
    assert found is not None
    # independently: share first, for a total flow; then the total at which the weakest hole has its target
    network = state.network

    def remaining(total: float) -> tuple[float, np.ndarray]:
        def uneven(part: float) -> float:
            asked = network.required(np.array([part, total - part]))
            return float(asked[0] - asked[1])

        part = brentq(uneven, -5.0 * total, 5.0 * total, xtol=1e-16)
        flows = np.array([part, total - part])
        return float((state.holes @ flows + state.rest + state.change).min()) - 5.0, flows

    total = brentq(lambda q: remaining(q)[0], 1e-4, 0.2, xtol=1e-16)
    assert float(found.flow) == pytest.approx(total, rel=1e-7)
    assert found.flows == pytest.approx(remaining(total)[1], rel=1e-6)


@pytest.mark.parametrize("points", [1, 2])
@pytest.mark.parametrize(
    "fan",
    [
        "Medium suction, electronic",
        "Everyday in-line, electronic",
        "Strong in-line, electronic, measured at three speeds",
        "Wide wheel, rising start, electronic",
        "Small in-line, one speed",
    ],
)
def test_the_lowest_speed_just_holds(points: int, fan: str) -> None:
    prepared = prepare(choose_fan(floor_job(points, target=12.0), fan))
    lowest = lowest_speeds(prepared)
    record = prepared.design.chosen_fan
    assert record is not None
    if lowest.confident is None:
        full = prepared.holding(1.0)
        assert full is None or full.verdict != "holds"
        return
    at = prepared.holding(lowest.confident)
    assert at is not None
    assert at.verdict == "holds"
    if lowest.confident > record.lowest_speed:
        below = prepared.holding(lowest.confident - SPEED_STEP)
        assert below is not None
        assert below.verdict != "holds"
    assert lowest.best_estimate is not None
    if lowest.best_estimate > record.lowest_speed:
        below = prepared.holding(lowest.best_estimate - SPEED_STEP)
        assert below is not None
        assert below.margin < 0.0


def test_a_fan_that_is_met_often_settles_at_its_first_crossing() -> None:
    # a dip below the laminar ground's line: three crossings at full speed
    rows = [(0.0, 300.0), (0.02, 160.0), (0.03, 100.0), (0.04, 180.0), (0.06, 190.0), (0.08, 0.0)]
    fan = record([q for q, _ in rows], [p for _, p in rows], [30.0] * 6, control="none")
    design = ground_only(fan, 4000.0, holes=(hole("A", 2.0, 0.05),), target=Target(suction=1.7), worst_day=CALM)
    prepared = prepare(design)
    assert len(prepared.crossings(1.0)) == 3
    # the second stable crossing would keep the target, the first one, where the fan settles, does not
    state = middle(design, prepared.assembly, prepared.worst_day)
    found = needed(state, 1.7)
    assert found is not None
    assert float(speeds_for(prepared.fans["Any"], found.flow, found.pressure, prepared.density, 0.01)) < 1.0
    solved = prepared.stable_crossing(1.0)
    assert solved is not None
    assert solved.crossing.flow < float(found.flow)
    assert prepared.lowest == Lowest(None, None, None)


@pytest.mark.parametrize("chance", [0.5, 0.7])
def test_no_speed_is_sure_at_which_the_best_estimate_falls_short(chance: float) -> None:
    """Pipe that as a rule loses less than the textbook has it, as measured mitigation pipe does (Brodhead and Saum,
    AARST 1996): most of what may be holds earlier than the middle, and a speed told sure is then called not sure."""
    narrow = open_run("In", pipe=Pipe(name="narrow", inside_diameter=0.05), length=8.0)
    less = Uncertainty(friction_low=0.3, friction_high=1.0, fan_speed=0.0)
    design = job(hole("A", 10.0, 0.02), target=8.0, chance=chance, uncertainty=less)
    prepared = prepare(with_value(design, ("intake", "runs", 0), narrow))
    lowest = prepared.lowest
    assert lowest.best_estimate is not None
    assert lowest.confident == lowest.best_estimate
    below, at = (prepared.holding(speed) for speed in (lowest.best_estimate - SPEED_STEP, lowest.best_estimate))
    assert below is not None
    assert at is not None
    # likely enough one step earlier already, and yet no pass
    assert below.chance is not None
    assert below.chance > chance
    assert (below.verdict, at.verdict) == ("unsure", "holds")


def test_what_lies_beyond_the_crossing_where_a_fan_settles_is_neither_offered_nor_likely() -> None:
    """The same dip, all well known: at full speed the hole has two thirds of the target and no chance of it."""
    rows = [(0.0, 300.0), (0.02, 160.0), (0.03, 100.0), (0.04, 180.0), (0.06, 190.0), (0.08, 0.0)]
    fan = record([q for q, _ in rows], [p for _, p in rows], [30.0] * 6, control="none")
    fine = HoleReading(point="Pit", applied=200.0, flow=0.05, suction=2.0, accuracy=0.001, resolution=0.001)
    design = ground_only(
        fan,
        4000.0,
        holes=(TestHole(name="A", readings=(fine,)),),
        target=Target(suction=1.8),
        worst_day=CALM,
        uncertainty=Uncertainty(fan_speed=0.0),
    )
    prepared = prepare(with_value(design, ("intake", "source", "ground", "band"), 0.0))
    assert prepared.lowest == Lowest(None, None, None)
    holding = prepared.rested(1.0).holding
    assert holding is not None
    # 2 Pa were read at 50 L/s, and it settles at 27.1
    assert holding.holes[0].worst == pytest.approx(2.0 * 27.1 / 50.0, rel=0.01)
    assert holding.verdict == "fails"
    assert holding.chance == 0.0


def test_a_speed_of_which_the_points_say_nothing_is_no_answer() -> None:
    # the curve ends at 20 L/s with most of its pressure left, the hole needs 30
    fan = record([0.0, 0.02], [400.0, 390.0], [40.0, 40.0])
    design = ground_only(fan, 1000.0, holes=(hole("A", 1.0, 0.015),), target=Target(suction=2.0), worst_day=CALM)
    assert prepare(design).lowest == Lowest(None, None, None)


def test_air_that_will_not_settle_is_found_by_halving(monkeypatch: pytest.MonkeyPatch) -> None:
    prepared = prepare(job(hole("near", 10.5, 0.02), hole("far", 1.8, 0.02)))
    quick = lowest_speeds(prepared)

    def lost(*_: object) -> None:
        raise NoConvergence

    monkeypatch.setattr("workbench.solving.run.lowest.needed", lost)
    slow = lowest_speeds(prepared)
    assert quick.best_estimate is not None
    assert quick.confident is not None
    # what is read off the chance and what is tried step by step are the same step
    assert slow.best_estimate == pytest.approx(quick.best_estimate, abs=1e-9)
    assert slow.confident == pytest.approx(quick.confident, abs=SPEED_STEP + 1e-9)


def _by_trying(design: Design, monkeypatch: pytest.MonkeyPatch) -> tuple[Prepared, Lowest]:
    def lost(*_: object) -> None:
        raise NoConvergence

    monkeypatch.setattr("workbench.solving.run.lowest.needed", lost)
    prepared = prepare(design)
    return prepared, lowest_speeds(prepared)


@pytest.mark.parametrize("chance", [0.6, 0.75, 0.9])
def test_what_is_found_by_trying_few_samples_holds_by_all_of_them(
    chance: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Else a speed is offered as sure that the answer at rest then calls not sure."""
    prepared, found = _by_trying(job(hole("near", 10.5, 0.02), hole("far", 1.8, 0.02), chance=chance), monkeypatch)
    assert found.confident is not None
    at = prepared.holding(found.confident)
    assert at is not None
    assert at.verdict == "holds"
    assert found.confident < 0.8


def test_what_is_found_by_trying_is_no_slower_than_the_fan_can_run(monkeypatch: pytest.MonkeyPatch) -> None:
    """A least speed that lies between two steps: a fan set to the step below it may not start."""
    design = job(hole("A", 10.0, 0.02), target=0.1, chance=0.6)
    slow = design.fans[0].model_copy(update={"least_speed": 0.333})
    prepared, found = _by_trying(with_value(design, ("fans",), (slow,)), monkeypatch)
    assert prepared.design.fans[0].lowest_speed == 0.333
    assert found.best_estimate == pytest.approx(0.335)
    assert found.confident == pytest.approx(0.335)


def test_open_pipe_is_open() -> None:
    """The runs these checks treat as costing nothing cost less than a thousandth of the ground."""
    prepared = prepare(job(hole("A", 10.0, 0.02)))
    asked = float(prepared.assembly.network.required(np.array([0.022]))[0])
    assert asked == pytest.approx(4000.0 * 0.022 + 2e4 * 0.022**2, rel=1e-3)
    assert open_run("x").length < 0.01


def test_a_draw_whose_flows_are_not_found_asks_infinitely_much_and_leaves_the_others_theirs(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    prepared = prepare(choose_fan(floor_job(2), "Medium suction, electronic"))
    state = middle(prepared.design, prepared.assembly, prepared.worst_day)
    alone = needed(state, 5.0)
    assert alone is not None
    coupling = np.stack([state.network.coupling, np.full((2, 2), np.nan), state.network.coupling])
    batch = replace(
        state,
        network=replace(state.network, coupling=coupling),
        holes=np.broadcast_to(state.holes, (3, *state.holes.shape)),
    )
    found = needed(batch, 5.0)
    assert found is not None
    assert list(np.isinf(found.pressure)) == [False, True, False]
    assert found.pressure[[0, 2]] == pytest.approx([float(alone.pressure)] * 2, rel=1e-7)
    with pytest.raises(NoConvergence):
        needed(replace(state, network=replace(state.network, coupling=coupling[1])), 5.0)

    def one_lost(self: Network, *given: Any) -> Flows:
        flows, settled = balance(self, *given)
        lost = np.array([True, False, False])
        return Flows(np.where(lost[:, None], np.nan, flows), settled & ~lost)

    balance = Network.balance
    monkeypatch.setattr(Network, "balance", one_lost)
    again = needed(batch, 5.0)
    assert again is not None
    assert list(np.isinf(again.pressure)) == [True, True, False]
