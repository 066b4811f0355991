"""A verdict rests on readings: none, bad ones and few never make it surer."""

from __future__ import annotations

from itertools import pairwise
from statistics import NormalDist

import numpy as np
import pytest

from tests import sobol
from tests.floors import PIT, PLACES, hole, job, point, read, slab, three, untested
from workbench.design import Design, Resistance
from workbench.design.ground import StepReading, StepTest
from workbench.design.search import Search
from workbench.design.slab import Slab, Target, TestHole
from workbench.solving import prepare, solve
from workbench.solving.choices.search import search
from workbench.solving.site import draws
from workbench.solving.site.chance import cloud
from workbench.solving.site.draws import DRAG_SAMPLES, REST_SAMPLES

FLOORS = pytest.mark.parametrize("floor", [None, slab()], ids=["no plan", "plan"])
FACTORS = (1.0, 0.8, 0.6, 0.4, 0.2, 0.1)


def blind(*points: object, floor: Slab | None = None, **fields: object) -> Design:
    holes = [hole(name, at=at) for name, at in PLACES.items()]
    return job(holes, *points, floor=floor or slab(), **fields)  # type: ignore[arg-type]


def test_a_design_with_no_reading_at_any_hole_has_no_verdict_but_that() -> None:
    prepared = prepare(blind(target=Target(suction=0.01)))
    holding = prepared.rested(1.0).holding
    assert holding is not None
    assert holding.verdict == "not measured"
    assert holding.chance is None
    assert prepared.lowest.confident is None
    # the field stays visible as an estimate
    assert all(state.known and state.verdict(0.01) == "not measured" for state in holding.holes)


def test_by_classes_alone_the_band_goes_over_decades() -> None:
    """Permeability by a factor of 5 and leakage by as much, one standard deviation (Nazaroff and Nero 1988; Olson and
    Corsi 2001): three of them either way are four decades, of which a far hole shows more than one."""
    holding = prepare(blind(untested())).rested(0.8).holding
    assert holding is not None
    far = holding.holes[2]
    assert far.band[1] > 30.0 * max(far.band[0], 1e-9)


def test_one_hole_unread_is_named_and_stands_between_a_design_and_holding() -> None:
    holes = [*three(), hole("New", at=(4.0, 2.0))]
    prepared = prepare(job(holes, floor=slab(), target=Target(suction=0.5)))
    holding = prepared.rested(1.0).holding
    assert holding is not None
    assert holding.verdict == "not measured"
    assert ("hole", "New") in holding.unmeasured
    assert prepared.lowest.confident is None


def test_holes_that_were_read_hold_by_their_own_chance_whatever_is_thought_of_one_that_was_not() -> None:
    """Else the hole that nobody read is no more named as what stands between: the house is called not sure."""
    holes = [*three()[:2], hole("New", at=(8.9, 5.8))]
    holding = prepare(job(holes, floor=slab(), target=Target(suction=28.0))).rested(1.0).holding
    assert holding is not None
    assert holding.chance is not None
    assert holding.chance_read is not None
    assert holding.chance < 0.7
    assert holding.chance_read > 0.9
    assert holding.verdict == "not measured"


def dialled_back(times: float, floor: Slab | None) -> Design:
    """Read with the installed system, its flow left blank; the pit was dug since its test."""
    tested = Resistance(linear=6000.0, quadratic=6e4, tested_volume=0.004)
    pit = point(ground=tested).model_copy(update={"pit_volume": 0.03})
    holes = [
        hole(name, read(value, flow=None, applied=100.0, made_with="installed system"), at=at)
        for (name, at), value in zip(PLACES.items(), (40.0, 20.0, 10.0 * times), strict=True)
    ]
    return job(holes, pit, floor=floor, target=Target(suction=2.0))


@FLOORS
def test_a_worse_reading_never_raises_confidence(floor: Slab | None) -> None:
    sure, chances, worst = [], [], []
    others = []
    for times in FACTORS:
        prepared = prepare(dialled_back(times, floor))
        holding = prepared.rested(0.6).holding
        assert holding is not None
        assert holding.chance is not None
        sure.append(2.0 if prepared.lowest.confident is None else prepared.lowest.confident)
        chances.append(holding.chance)
        worst.append(holding.holes[2].worst)
        others.append([state.suction for state in holding.holes[:2]])
    assert all(b >= a for a, b in pairwise(sure))
    assert all(b <= a + 1e-3 for a, b in pairwise(chances))
    assert all(b < a for a, b in pairwise(worst))
    assert np.ptp(np.array(others), axis=0) == pytest.approx(0.0, abs=0.06 * max(others[0]))


@FLOORS
def test_at_a_reading_without_a_flow_tighter_ground_goes_with_more_suction_for_the_flow(floor: Slab | None) -> None:
    """The hole followed the pit's suction; the tighter the ground, the less air that took, the more each litre does."""
    answers = []
    for linear in (5500.0, 6000.0, 6500.0):
        ground = Resistance(linear=linear, tested_volume=PIT, band=0.3)
        holes = [hole("A", read(20.0, flow=None, applied=120.0, made_with="installed system"), at=PLACES["Middle"])]
        floor_ = prepare(job(holes, point(ground=ground), floor=floor)).assembly.floor
        answers.append(float(floor_.holes[0, 0]))
        draws = floor_.draws(2048)
        moved = np.corrcoef(np.log(draws.coupling[:, 0, 0]), np.log(draws.holes[:, 0, 0]))[0, 1]
        assert moved > 0.5
    assert answers == sorted(answers)


UNTESTED = [(1.0, 1.0), (4.5, 1.0), (8.0, 1.0), (1.0, 5.0), (4.5, 5.0), (8.0, 5.0), (2.7, 3.0), (6.2, 3.0)]
UNTESTED += [(2.7, 1.0), (6.2, 5.0), (4.5, 3.0), (8.0, 3.0)]


@pytest.mark.parametrize("count", [3, 6, 12])
def test_any_number_of_untested_points_has_a_chance_and_bands(count: int) -> None:
    points = [untested("Pit" if i == 0 else f"P{i}", at) for i, at in enumerate(UNTESTED[:count])]
    prepared = prepare(job(three(), *points, floor=slab()))
    draws = prepared.assembly.floor.draws(DRAG_SAMPLES)
    assert draws.missed < 0.005
    for speed in (0.4, 0.9):
        holding = prepared.at(speed).holding
        assert holding is not None
        assert holding.chance is not None
        for state in holding.holes:
            assert state.band[0] < state.suction < state.band[1]
    assert np.linalg.eigvalsh(draws.coupling)[:, 0].min() > 0.0


CLASSES = ("clean stone, drain tile", "sand and gravel", "fine sand, silt", "tight clay")


@FLOORS
def test_a_tighter_class_never_brings_more_flow(floor: Slab | None) -> None:
    holes = [
        hole(name, read(value, flow=None), at=at)
        for (name, at), value in zip(PLACES.items(), (60.0, 20.0, 8.0), strict=True)
    ]
    flows = []
    for kind in CLASSES:
        pit = point().model_copy(update={"ground": untested().ground.model_copy(update={"kind": kind})})
        design = job(holes, pit, floor=floor)
        outcome = prepare(design).at(0.8)
        assert outcome.operating is not None
        flows.append(outcome.operating.flow)
    assert all(b < a for a, b in pairwise(flows))


@pytest.mark.parametrize(
    "holes", [three(), tuple(hole(name, at=at) for name, at in PLACES.items())], ids=["read", "not"]
)
@pytest.mark.parametrize("points", [1, 2])
def test_nothing_reaches_beyond_what_drives_it(holes: tuple[TestHole, ...], points: int) -> None:
    """No hole above the pits, in the middle and in every sample; no band beyond the fan."""
    where = [point(), untested("Other", (7.0, 4.0))][:points]
    prepared = prepare(job(holes, *where, floor=slab(fill="fine sand")))
    fan = prepared.fans[prepared.design.fan or ""]
    for speed in (0.3, 1.0):
        outcome = prepared.rested(speed)
        assert outcome.holding is not None
        strongest = max(state.suction for state in outcome.points)
        most = float(np.max(fan.pressure(np.linspace(*fan.flow_range(speed), 50), speed * 1.15, prepared.density)))
        assert outcome.gauge <= most
        for state in outcome.holding.holes:
            assert state.suction <= strongest + 1e-9
            assert state.band[1] <= most + 5.0
        flows = np.array([state.flow for state in outcome.points])
        seen = cloud(prepared.sampled(REST_SAMPLES), fan, speed, flows)
        assert seen is not None
        network = prepared.sampled(REST_SAMPLES).state.network
        pits = np.matmul(network.coupling, seen.flows[..., None])[..., 0]
        pits += network.inertial * seen.flows * np.abs(seen.flows)
        assert np.all(seen.day.max(axis=1) <= pits.max(axis=1) * (1.0 + 1e-6) + 1e-6)


@pytest.mark.parametrize("points", [1, 2])
@pytest.mark.parametrize("value", [110.0, 119.0, 180.0])
def test_without_a_plan_no_hole_keeps_more_than_the_pits_it_was_read_at(points: int, value: float) -> None:
    """A reading near or above the suction it was made with; the pit was dug since, which lowers its own suction."""
    tested = Resistance(linear=6000.0, quadratic=5e4, tested_volume=0.004)
    where = [point(ground=tested), point("Other", ground=Resistance(linear=9000.0, tested_volume=PIT))][:points]
    holes = [hole("By the pit", read(value, flow=None)), hole("Off", read(20.0, flow=None))]
    design = job(holes, *where, target=Target(suction=40.0, chance=0.5))
    prepared = prepare(design)
    fan = prepared.fans[design.fan or ""]
    for speed in (0.3, 0.6, 1.0):
        outcome = prepared.rested(speed)
        assert outcome.holding is not None
        pit = outcome.points[0].suction
        assert all(state.suction <= pit + 1e-9 for state in outcome.holding.holes)
        assert all(state.suction < 0.5 * pit for state in outcome.holding.holes[1:])
        flows = np.array([state.flow for state in outcome.points])
        seen = cloud(prepared.sampled(REST_SAMPLES), fan, speed, flows)
        assert seen is not None
        network = prepared.sampled(REST_SAMPLES).state.network
        pits = network.parts(seen.flows, prepared.sampled(REST_SAMPLES).state.scatter).ground
        assert np.all(seen.day <= pits[:, :1] + 1e-9)
        # what the samples need and what they keep are one rule
        needs = prepared.needs(REST_SAMPLES, (0,))
        assert needs is not None
        enough = seen.worst[:, 0] >= 40.0
        assert np.mean(enough != (needs <= speed * prepared.sampled(REST_SAMPLES).fan)) < 2e-3


def test_a_clean_turbulent_step_test_on_a_drawn_floor_answers() -> None:
    """Suction as the square of the flow and nothing else: 250 kPa s2/m6."""
    steps = tuple(StepReading(flow=q, suction=p) for q, p in ((0.008, 16.0), (0.016, 64.0), (0.026, 169.0)))
    pit = point(ground=StepTest(readings=steps, tested_volume=PIT))
    holes = [hole("A", read(4.0, flow=0.026, applied=169.0), at=PLACES["Middle"])]
    prepared = prepare(job(holes, pit, floor=slab(fill="gravel"), target=Target(suction=1.0)))
    outcome = prepared.rested(0.7)
    assert outcome.operating is not None
    assert outcome.holding is not None
    assert outcome.holding.chance is not None
    assert prepared.assembly.floor.draws(REST_SAMPLES).missed < 0.01
    (state,) = outcome.points
    assert state.suction == pytest.approx(2.5e5 * state.flow**2, rel=0.1)


@pytest.mark.parametrize("fill", ["gravel", "coarse sand", "medium sand", "fine sand"])
def test_every_fill_answers(fill: str) -> None:
    """Down to leakage lengths below the pit's radius."""
    prepared = prepare(job(three(near=20.0, middle=1.0, far=0.1), floor=slab(fill=fill), target=Target(suction=0.05)))
    holding = prepared.rested(0.8).holding
    assert holding is not None
    assert holding.chance is not None
    assert all(np.isfinite(state.band).all() for state in holding.holes)


# --- the samples ------------------------------------------------------------------------------------------------------


@FLOORS
def test_other_scramblings_move_the_chance_by_less_than_half_a_percent(
    floor: Slab | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Near 0.9 a share of 4,096 independent draws deviates by 0.0047; a low-discrepancy sequence does far better."""
    from workbench.solving.run.prepare import Prepared
    from workbench.solving.site import floor as floors
    from workbench.solving.site.assemble import assemble

    design = job(three(), floor=floor, target=Target(suction=5.0))
    speed = prepare(design).lowest.confident
    assert speed is not None
    chances = []

    def forget() -> None:
        for kept in (draws.column, floors.floor_of, floors._shared_fit, floors._planned_fit, assemble):
            kept.cache_clear()

    try:
        for seed in (1, 2, 3, 4, 5):
            other = sobol.directions(seed, 100, 400)
            monkeypatch.setattr(draws, "directions", lambda other=other: other)
            forget()
            holding = Prepared(design).rested(speed).holding
            assert holding is not None
            assert holding.chance is not None
            chances.append(holding.chance)
    finally:
        monkeypatch.undo()
        forget()
    assert len(set(chances)) == len(chances)
    assert np.ptp(chances) < 0.005


def test_the_table_of_quantiles_is_the_librarys() -> None:
    lower = sobol.lower_quantiles()
    assert draws.quantiles() == pytest.approx(np.concatenate((lower, -lower[::-1])), rel=1e-12)


def test_the_numbers_drawn_are_the_librarys_own() -> None:
    """SciPy's scrambled Sobol sequence, row by row in another order; past its end columns stand by themselves."""
    found = sobol.points()
    rows = np.arange(REST_SAMPLES)
    gray = rows ^ (rows >> 1)
    z = NormalDist().inv_cdf
    for name, index, dimension in (("season", 2, 2), ("unknowns", 0, 5), ("readings", 3, 15), ("pipe", 20, 67)):
        expected = [z((place + 0.5) / REST_SAMPLES) for place in found[:, dimension]]
        assert draws.column(name, index)[gray] == pytest.approx(expected, abs=1e-12)
    beyond = [draws.column("unknowns", index) for index in (104, 105, 106, 400)]
    assert np.abs(np.corrcoef(beyond) - np.eye(4)).max() < 0.06
    assert all(np.unique(one).size == REST_SAMPLES and abs(one.mean()) < 1e-12 for one in beyond)


@pytest.mark.parametrize("axis", [0, 1])
@pytest.mark.parametrize("rows", [1, 2, 21, 512])
def test_a_band_is_the_librarys_quantiles(rows: int, axis: int) -> None:
    values = np.random.default_rng(rows).normal(size=(rows, 3, 4)).swapaxes(0, axis)
    values[(0,) * 3] = np.nan if rows == 2 else 0.5
    assert np.array(draws.band(values, axis)) == pytest.approx(
        np.quantile(values, (0.05, 0.95), axis=axis), rel=1e-12, nan_ok=True
    )


def test_no_two_things_that_vary_are_drawn_with_the_same_numbers() -> None:
    """Else a fan that turns fast would go with a windy day, or a gauge that reads high with tight ground."""
    counts = {"season": 3, "fan": 1, "unevenness": 1, "unknowns": 40, "readings": 30, "pipe": 20}
    columns = [draws.column(name, index) for name, count in counts.items() for index in range(count)]
    # far along the sequence two dimensions agree by up to 0.08 in so few rows
    assert np.abs(np.corrcoef(columns) - np.eye(len(columns))).max() < 0.1


@FLOORS
def test_a_longer_draw_begins_with_the_rows_of_a_shorter_one(floor: Slab | None) -> None:
    found = prepare(job(three(), floor=floor)).assembly.floor
    short, long = found.draws(512), found.draws(REST_SAMPLES)
    assert long.holes[:512] == pytest.approx(short.holes, rel=1e-6)
    assert long.coupling[:512] == pytest.approx(short.coupling, rel=1e-6)
    assert long.rest_holes[:512] == pytest.approx(short.rest_holes, rel=1e-6)


@FLOORS
def test_renaming_a_hole_changes_nothing(floor: Slab | None) -> None:
    before = job(three(), floor=floor)
    after = job([h.model_copy(update={"name": f"Hole {i}"}) for i, h in enumerate(three())], floor=floor)
    one, other = solve(before, 0.6), solve(after, 0.6)
    assert one.holding is not None
    assert other.holding is not None
    assert one.holding.chance == other.holding.chance
    assert [(s.worst, s.worst_band) for s in one.holding.holes] == [
        (s.worst, s.worst_band) for s in other.holding.holes
    ]
    assert prepare(before).lowest == prepare(after).lowest


@FLOORS
@pytest.mark.parametrize("least", [0.2, 8.0], ids=["a fine gauge", "a coarse one"])
def test_a_reading_that_does_not_stand_out_from_nothing_lets_no_house_hold(least: float, floor: Slab | None) -> None:
    """A gauge that tells no less than 8 Pa shows no suction by a reading of 10 Pa, at the two standard errors that are
    usual for a limit of detection (from memory of JCGM and IUPAC practice): the rest is what was thought before."""
    holes = [
        hole(name, read(value, resolution=least), at=PLACES[name])
        for name, value in (("Near", 60.0), ("Middle", 20.0), ("Far", 10.0))
    ]
    prepared = prepare(job(holes, floor=floor, target=Target(suction=0.1, chance=0.5)))
    holding = prepared.rested(1.0).holding
    assert holding is not None
    assert holding.chance is not None
    assert holding.chance > 0.5
    fine = least < 1.0
    assert holding.verdict == ("holds" if fine else "not measured")
    assert (prepared.lowest.confident is not None) == fine
    assert (("suction", "Far") in holding.unmeasured) != fine
    assert ("too-faint" in [notice.code for notice in prepared.rested(1.0).notices]) != fine


def test_a_hole_that_reads_nothing_is_not_held_by_a_point_that_nobody_tested() -> None:
    """The tested point does not reach the hole; that the other does is known from its class alone."""
    holes = [*three()[:2], hole("Far", read(0.0), at=PLACES["Far"])]
    prepared = prepare(job(holes, point(), untested("Other", (8.0, 5.0)), floor=slab(), target=Target(suction=0.5)))
    holding = prepared.rested(1.0).holding
    assert holding is not None
    assert holding.chance_read is not None
    assert holding.chance_read > holding.wanted_chance
    assert holding.verdict == "not measured"
    assert prepared.lowest.confident is None


@FLOORS
def test_a_hole_that_reads_nothing_still_shows_that_a_house_fails(floor: Slab | None) -> None:
    holes = [*three()[:2], hole("Far", read(0.0), at=PLACES["Far"])]
    holding = prepare(job(holes, floor=floor)).rested(1.0).holding
    assert holding is not None
    assert holding.verdict == "fails"
    assert holding.holes[2].verdict(holding.target) == "fails"


@pytest.mark.parametrize("away", [0.05, 0.3, 0.6])
def test_a_hole_beside_the_pit_follows_its_own_reading(away: float) -> None:
    """A hole that does not reach the fill, or stands the other side of a rib, may lie in the pit's own disc and read
    next to nothing: what its reading says of it does not hang on a few inches of the drawing."""
    others = three()[1:]
    beside = hole("Near", read(2.0), at=(1.0 + away, 1.0))
    floor = prepare(job([beside, *others], floor=slab())).assembly.floor
    response = floor.holes[:, 0] * 0.02
    assert response == pytest.approx([2.0, 20.0, 8.0], rel=0.1)


@pytest.mark.parametrize("points", [1, 2])
@FLOORS
def test_what_a_moving_hand_is_told_lies_close_to_the_solved_answer(points: int, floor: Slab | None) -> None:
    """Between two solved speeds flows are read off a straight line; at rest nothing is."""
    where = [point(), point("Other", (7.0, 4.0), Resistance(linear=9000.0, tested_volume=PIT))][:points]
    prepared = prepare(job(three(), *where, floor=floor, target=Target(suction=5.0)))
    fan = prepared.fans[prepared.design.fan or ""]
    for speed in (0.33, 0.55, 0.67, 0.95):
        moving = prepared.at(speed).holding
        assert moving is not None
        day = prepared.stable_crossing(speed)
        assert day is not None
        flows = prepared.worst_flows(fan, speed, day.flows)
        assert flows is not None
        exact = prepared.holding(speed, DRAG_SAMPLES)
        assert exact is not None
        seen = cloud(prepared.sampled(DRAG_SAMPLES), fan, speed, flows)
        assert seen is not None
        for h, state in enumerate(moving.holes):
            pull = abs(state.suction)
            assert state.worst == pytest.approx(exact.holes[h].worst, abs=0.003 * pull)
            low, high = np.quantile(seen.worst[:, h], (0.05, 0.95))
            assert state.worst_band == pytest.approx(
                (min(low, state.worst), max(high, state.worst)), abs=0.01 * pull + 0.01
            )
        # which is told of a chance hangs on no such line
        assert moving.chance == exact.chance


@FLOORS
@pytest.mark.parametrize("times", [1.0, 6.0])
def test_readings_that_no_floor_brings_together_bear_out_no_pass(floor: Slab | None, times: float) -> None:
    """By half the suction at the point a linear ground shows half at the hole; six times that contradicts it."""
    holes = [
        hole("A", read(20.0), read(10.0 * times, flow=0.01, applied=60.0), at=PLACES["Near"]),
        hole("B", read(20.0), at=PLACES["Middle"]),
    ]
    prepared = prepare(job(holes, floor=floor, target=Target(suction=0.5)))
    outcome = prepared.rested(1.0)
    told = [notice for notice in outcome.notices if notice.code == "at-odds"]
    assert outcome.verdict == ("holds" if times == 1.0 else "not measured")
    assert (prepared.lowest.confident is None) == bool(told) == (times != 1.0)
    if told:
        assert outcome.holding is not None
        assert ("agreement", "A") in outcome.holding.unmeasured
        assert prepared.lowest.by_estimate is not None
        best = search(prepared.design.model_copy(update={"search": Search(sound_limit=None)}))
        assert {row.verdict for row in best.rows if row.keeps} == {"not measured"}


def test_a_flow_that_contradicts_the_other_flows_of_its_point_bears_out_nothing() -> None:
    """A linear ground draws twice as much at twice the suction; here thirty times as much was entered."""
    ground = StepTest(
        readings=(StepReading(flow=0.02, suction=120.0), StepReading(flow=0.01, suction=60.0)), tested_volume=PIT
    )
    holes = [
        hole("A", read(60.0), at=PLACES["Near"]),
        hole("B", read(20.0), read(20.0, flow=0.0007, applied=120.0), at=PLACES["Middle"]),
    ]
    agreeing = prepare(job([holes[0], hole("B", read(20.0), at=PLACES["Middle"])], point(ground=ground), floor=slab()))
    assert agreeing.assembly.floor.at_odds == ()
    prepared = prepare(job(holes, point(ground=ground), floor=slab(), target=Target(suction=0.5)))
    outcome = prepared.rested(1.0)
    assert outcome.verdict != "holds"
    assert "at-odds" in [notice.code for notice in outcome.notices]
