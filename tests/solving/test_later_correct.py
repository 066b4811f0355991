"""The model corrected by the readings of a running system: how far it moves, what is left open, what is refused."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
import pytest
from msgspec.structs import replace
from pydantic import ValidationError

from tests.visited import visit, visited
from workbench.design import Design
from workbench.design.edit import choose_fan
from workbench.design.record import with_value
from workbench.design.visit_edit import correct_by, correction_words, take_back_correction
from workbench.design.visits import Conditions, Correction, GaugeReading, RoomReading, Visit
from workbench.files.project import project_text, read_project
from workbench.files.scenes import load_scene
from workbench.physics.arrays import Array
from workbench.physics.network import Scatter
from workbench.solving import prepare
from workbench.solving.choices.search import search
from workbench.solving.choices.variants import Base
from workbench.solving.later.correct import NotCorrected, _bare, _joined, corrected_by, correction_of, learned_from
from workbench.solving.later.expected import MAKER
from workbench.solving.later.items import readings_of
from workbench.solving.later.joint import JointModel, system_of
from workbench.solving.later.model import Model, Told, as_possible, as_solved, flows_of, told
from workbench.solving.later.moment import moment_of
from workbench.solving.later.ranking import diagnose
from workbench.solving.outcome import write_si
from workbench.solving.report.helps import helps
from workbench.solving.run.prepare import Prepared, made_ready
from workbench.solving.site.chance import cloud
from workbench.solving.site.draws import DRAG_SAMPLES, REST_SAMPLES, band
from workbench.solving.site.learned import Learned

STUDIO, READING_ROOM, CLUBHOUSES = (load_scene(name) for name in ("studio", "reading-room", "clubhouses"))
NO_PLAN = with_value(STUDIO, ("slab",), None)
FEW = ("gauge", "power")
MANY = ("gauge", "power", "flow", "risers", "holes")
AIR = STUDIO.place.outdoor_temperature


def start_up(design: Design, what: tuple[str, ...] = FEW) -> Visit:
    """A start-up that reads what is expected, without error."""
    there = Conditions(speed=design.speed, outdoor_temperature=design.place.outdoor_temperature)
    return visit(design, kind="start-up", date="2026-11-30", what=what, conditions=there)


def scaled(one: Visit, factor: float) -> Visit:
    """A visit whose gauge and holes read so many times as much."""
    assert one.gauge is not None
    one = with_value(one, ("gauge", "pressure"), factor * one.gauge.pressure)
    for h, hole in enumerate(one.holes):
        one = with_value(one, ("holes", h, "suction"), factor * hole.suction)
    return one


# --- sites whose truth is known ---------------------------------------------------------------------------------------


class Seen(NamedTuple):
    """Gauge, flow, watts, risers and holes in possible sites, each (s, ...), side by side."""

    values: Array

    @classmethod
    def of(cls, read: Told, gauge: int) -> Seen:
        alone = np.stack((read.runs[..., gauge], read.flow, read.power), axis=-1)
        return cls(np.concatenate((alone, read.risers, read.holes), axis=-1))


def possible(site: Prepared, speed: float, samples: int, rows: slice = slice(None)) -> tuple[Model, Told]:
    """Possible sites at a speed in the air of the design."""
    moment = moment_of(site, Conditions(speed=speed, outdoor_temperature=AIR), speed)
    assert moment is not None
    model = taken(as_possible(moment, samples), rows)
    return model, told(moment, model, flows_of(moment, model)[0])


def taken(model: Model, rows: slice) -> Model:
    """Some of the states of a model."""
    parts = ("coupling", "inertial", "draft")
    network = replace(model.network, **{part: getattr(model.network, part)[rows] for part in parts})
    scatter = Scatter(*(np.asarray(part)[rows] for part in model.scatter))
    rest = {part: getattr(model, part)[rows] for part in _BY_ROW}
    return replace(model, network=network, scatter=scatter, **rest)


_BY_ROW = (
    "holes", "rest_points", "rest_holes", "speed", "pressure", "power", "house", "exhausts", "wind",
)  # fmt: skip


def with_errors(one: Visit, truth: Told, rng: np.random.Generator) -> Visit:
    """A visit that reads a truth with the errors of its instruments."""

    def off(record: Any, name: str, value: float) -> Any:
        error = np.hypot(record.resolution, record.accuracy * value)
        return record.model_copy(update={name: float(value + error * rng.normal())})

    before = truth.runs.shape[-1] - len(STUDIO.discharge) - 1
    found: dict[str, Any] = {}
    if one.gauge is not None:
        found["gauge"] = off(one.gauge, "pressure", float(truth.runs[0, before]))
    if one.power is not None:
        found["power"] = off(one.power, "power", float(truth.power[0]))
    if one.flow is not None:
        found["flow"] = off(one.flow, "flow", float(truth.flow[0]))
    found["risers"] = tuple(off(r, "suction", float(truth.risers[0, i])) for i, r in enumerate(one.risers))
    found["holes"] = tuple(off(h, "suction", float(truth.holes[0, i])) for i, h in enumerate(one.holes))
    return one.model_copy(update=found)


class Score(NamedTuple):
    """Of truths corrected for: shares inside the bands, widths after over before, and how far off before and after."""

    inside: float
    narrower: float
    before: float
    after: float
    refused: int


def score(design: Design, what: tuple[str, ...], truths: int, seed: int) -> Score:
    """Truths drawn as the chance draws them, read at a start-up and corrected for, judged at full speed."""
    site, usual = made_ready(design), start_up(design, what)
    gauge = len(list(design.runs())) - len(design.discharge) - 1
    rng = np.random.default_rng(seed)
    prior = Seen.of(possible(site, 1.0, DRAG_SAMPLES)[1], gauge).values
    low, high = band(prior)
    middle = np.median(prior, axis=0)
    inside, width, before, after, refused = [], [], [], [], 0
    for number in range(truths):
        row = slice(2000 + number, 2001 + number)
        model, _ = possible(site, design.speed, REST_SAMPLES, row)
        power = np.exp(MAKER * rng.normal())
        model = replace(
            model, power=model.power * power, house=model.house + rng.normal(), wind=2.0 * rng.normal(size=1)
        )
        moment = moment_of(site, usual.conditions, 1.0)
        assert moment is not None
        read = with_errors(usual, told(moment, model, flows_of(moment, model)[0]), rng)
        try:
            learned = learned_from(visited(design, read), read)
        except NotCorrected:
            refused += 1
            continue
        truth = Seen.of(possible(site, 1.0, REST_SAMPLES, row)[1], gauge).values[0].copy()
        truth[2] *= power
        left = Seen.of(possible(made_ready(design, learned=learned), 1.0, DRAG_SAMPLES)[1], gauge).values
        # the site before has no watts that vary but with its flow
        lower, upper = band(left)
        inside.append((truth >= lower) & (truth <= upper))
        width.append((upper - lower) / (high - low))
        error = np.abs(left - truth).mean(axis=0), np.abs(prior - truth).mean(axis=0)
        after.append(error[0] / middle)
        before.append(error[1] / middle)
    keep = [0, 1, *range(3, len(middle))]
    return Score(
        float(np.mean(inside)),
        float(np.median(np.array(width)[:, keep])),
        float(np.mean(np.array(before)[:, keep])),
        float(np.mean(np.array(after)[:, keep])),
        refused,
    )


@pytest.mark.parametrize(("what", "most"), [(FEW, 0.95), (MANY, 0.75)], ids=["gauge and watts", "all"])
def test_bands_hold_the_truth_as_often_as_before_and_are_narrower(what: tuple[str, ...], most: float) -> None:
    """90 % bands on forty truths drawn as the chance draws them."""
    found = score(NO_PLAN, what, 40, 2)
    assert 0.85 <= found.inside <= 0.95
    assert found.narrower < most
    assert found.after < 0.92 * found.before
    # the gate lets nineteen in twenty pass
    assert found.refused <= 5


def test_on_a_drawn_floor_the_estimate_moves_towards_the_truth() -> None:
    """A fan that turns 3 % faster than it is set to and draws 5 % more than its table."""
    usual = start_up(STUDIO, ("gauge", "power", "flow"))
    moment = moment_of(made_ready(STUDIO), usual.conditions, 1.0)
    assert moment is not None
    model = as_solved(moment)
    model = replace(model, speed=1.03 * model.speed, power=1.05 * model.power)
    truth = told(moment, model, flows_of(moment, model)[0])
    read = with_value(usual, ("gauge", "pressure"), float(truth.runs[0, 1]))
    read = with_value(read, ("power", "power"), float(truth.power[0]))
    read = with_value(read, ("flow", "flow"), float(truth.flow[0]))
    moved = {each.kind: each for each in correction_of(visited(STUDIO, read), read).moved}
    assert 1.01 < moved["fan speed"].after.middle < 1.03
    assert moved["fan power"].after.middle > 1.0
    for kind in ("fan speed", "fan power"):
        before, after = moved[kind].before, moved[kind].after
        assert after.high - after.low < before.high - before.low
        assert before.low < before.middle == 1.0 < before.high
    assert moved["fan speed"].after.low < 1.03 < moved["fan speed"].after.high


# --- what a correction does and does not ------------------------------------------------------------------------------


@pytest.mark.parametrize("design", [STUDIO, NO_PLAN, READING_ROOM], ids=["one point", "no plan", "two points"])
def test_a_reading_that_was_expected_leaves_the_estimate_and_narrows_the_band(design: Design) -> None:
    read = start_up(design, MANY)
    found = correction_of(visited(design, read), read)
    assert found.chi2 < 0.5 < found.gate
    for each in found.moved:
        # a pipe's estimate is of the textbook, its band of what was measured: it goes to the middle of that
        assert each.after.middle == pytest.approx(1.0, abs=0.05 if each.kind == "pipe" else 0.015)
        if each.kind in ("ground", "fan speed", "fan power"):
            assert each.after.high - each.after.low < 0.95 * (each.before.high - each.before.low)
    before, after = (
        site.rested(design.speed) for site in (prepare(design), prepare(corrected_by(visited(design, read), read)))
    )
    assert before.operating is not None
    assert after.operating is not None
    assert after.operating.flow == pytest.approx(before.operating.flow, rel=0.015)
    assert after.gauge == pytest.approx(before.gauge, rel=0.005)
    assert _width(after.gauge_band) < _width(before.gauge_band)
    assert _width(after.band) < _width(before.band)
    assert before.holding is not None
    assert after.holding is not None
    for was, now in zip(before.holding.holes, after.holding.holes, strict=True):
        assert _width(now.band) < _width(was.band)


def test_a_fan_with_a_dip_is_corrected_on_its_branch() -> None:
    """Every possible site is found, and none of them on the other side of the dip."""
    read = start_up(CLUBHOUSES)
    dd = visited(CLUBHOUSES, read)
    found = _joined(_bare(dd, read))
    branch, near = found.system.branch, float(found.system.near.sum())
    assert branch is not None
    first, last = (edge * CLUBHOUSES.speed for edge in branch)
    assert first < near < last
    fan = found.site.fans[str(CLUBHOUSES.fan)]
    along = fan.pressure(np.linspace(first, last, 50), CLUBHOUSES.speed, found.site.density)
    assert (np.diff(along) < 0.0).all()
    beyond = fan.pressure(np.array([0.97 * first, 1.03 * last]), CLUBHOUSES.speed, found.site.density)
    assert beyond[0] < along[0] or beyond[1] > along[-1]
    assert found.learned.fit.draws(DRAG_SAMPLES).missed == 0.0
    moved = {each.kind: each for each in correction_of(dd, read).moved}
    assert moved["fan speed"].after.middle == pytest.approx(1.0, abs=0.01)
    assert moved["fan speed"].after.high < moved["fan speed"].before.high
    assert prepare(corrected_by(dd, read)).rested(CLUBHOUSES.speed).gauge > 0.0


def _width(band: tuple[float, float] | None) -> float:
    assert band is not None
    return band[1] - band[0]


def test_readings_that_tell_nothing_leave_the_prior_as_it_was() -> None:
    """Instruments with errors beyond all bounds: the rows are those that the chance draws without a correction."""
    read = start_up(NO_PLAN)
    read = with_value(read, ("gauge",), GaugeReading(pressure=100.0, accuracy=0.5, resolution=500.0))
    read = read.model_copy(update={"power": None})
    learned = learned_from(visited(NO_PLAN, read), read)
    usual, left = (made_ready(NO_PLAN, learned=each).sampled(DRAG_SAMPLES) for each in (None, learned))
    assert np.abs(left.varied - usual.varied).max() < 0.05
    assert np.abs(left.state.network.coupling / usual.state.network.coupling - 1.0).max() < 0.02


def test_the_order_of_readings_does_not_matter() -> None:
    read = scaled(start_up(STUDIO, MANY), 0.97)
    turned = read.model_copy(update={"holes": read.holes[::-1]})
    one, other = (learned_from(visited(STUDIO, each), each) for each in (read, turned))
    assert one.fit.best.x == pytest.approx(other.fit.best.x, abs=1e-3)
    assert [part.std() for part in _columns(one)] == pytest.approx([part.std() for part in _columns(other)], rel=0.15)


def _columns(learned: Learned) -> list[Array]:
    return list(learned.fit.draws(DRAG_SAMPLES).x.T[-3:])


def test_where_the_model_is_straight_it_moves_as_the_closed_form_says() -> None:
    """Readings a fifth of a standard error off: x + C J' d, with C = (J'J + 1)^-1 in standard normal unknowns.

    The posterior of the linear least squares problem (A. Tarantola, Inverse Problem Theory, SIAM 2005, eqs. 3.37 and
    3.38; from memory), by numpy alone.
    """
    read = start_up(NO_PLAN, MANY)
    base = _joined(_bare(visited(NO_PLAN, read), read)).learned.fit
    off = 0.2 * np.array([1.0, -1.0, 1.0, 1.0, -1.0, 1.0, -1.0, 1.0, 1.0])
    moved = _shifted(read, off)
    after = _joined(_bare(visited(NO_PLAN, moved), moved)).learned.fit.best.x
    slopes = base.best.slopes
    covariance = np.linalg.inv(slopes.T @ slopes + np.eye(slopes.shape[1]))
    errors = np.zeros(len(slopes))
    errors[len(slopes) - len(off) :] = off
    expected = base.best.x + covariance @ slopes.T @ errors
    assert np.abs(expected - base.best.x).max() > 0.1
    assert after == pytest.approx(expected, abs=0.02)
    # and what is left open is that covariance
    drawn = base.draws(REST_SAMPLES).x
    assert np.std(drawn, axis=0) == pytest.approx(np.sqrt(np.diag(covariance)), rel=0.1)


def _shifted(read: Visit, off: Array) -> Visit:
    """A visit whose readings lie so many standard errors off, in the order of the instruments."""
    moment = moment_of(made_ready(NO_PLAN), read.conditions, 1.0)
    assert moment is not None
    system = system_of(moment, readings_of(moment.assembly, NO_PLAN, read))
    assert system is not None
    values = np.sinh(system.values + off * system.errors) * system.bends
    at = {each.item.key: float(value) for each, value in zip(system.readings, values, strict=True)}
    assert read.gauge is not None
    read = with_value(read, ("gauge", "pressure"), at["gauge", 1])
    read = with_value(read, ("flow", "flow"), at["flow", 0])
    read = with_value(read, ("power", "power"), at["power", 0])
    read = with_value(read, ("risers", 0, "suction"), at["riser", 0])
    for h in range(len(read.holes)):
        read = with_value(read, ("holes", h, "suction"), at["hole", h])
    return read


def test_a_floor_reading_is_not_counted_twice() -> None:
    """The joint fit holds each of the floor's readings once, and the visit's after them."""
    read = start_up(STUDIO, MANY)
    found = _joined(_bare(visited(STUDIO, read), read))
    floor = found.site.assembly.floor.fitted.readings
    joint = found.learned.fit.readings
    assert len(joint) == len(floor) + len(found.system.readings)
    assert joint.values[: len(floor)].tolist() == floor.values.tolist()
    assert isinstance(found.learned.fit.model, JointModel)


@pytest.mark.parametrize("design", [STUDIO, READING_ROOM], ids=["one point", "two points"])
def test_the_best_estimate_of_the_pipe_is_in_the_network(design: Design) -> None:
    """Straight pipe, fittings and junctions lose as they do with the factors of the fit put on each loss."""
    read = start_up(design, MANY)
    found = _joined(_bare(visited(design, read), read))
    learned = found.learned
    after = made_ready(design, learned=learned).assembly.network
    d = len(learned.ground)
    (factors,) = (found.system.spread.scatter(learned.fit.best.x[None, d : d + learned.pipe]),)
    expected = found.site.assembly.network.parts(found.system.near, Scatter(*(np.asarray(f)[0] for f in factors)))
    losses = after.parts(found.system.near)
    for part in ("friction", "fittings", "straight", "side"):
        assert getattr(losses, part) == pytest.approx(getattr(expected, part), rel=1e-9), part
    assert losses.friction.sum() < 0.99 * found.site.assembly.network.parts(found.system.near).friction.sum()


def test_the_chance_counts_the_sites_that_keep_the_target() -> None:
    """By the speed that each site needs, its own fan in it, and by solving every site at the speed it is set to."""
    read = start_up(STUDIO, MANY)
    site = prepare(corrected_by(visited(STUDIO, read), read))
    for speed in (0.62, 0.68):
        outcome = site.rested(speed)
        assert outcome.holding is not None
        flows = np.array(outcome.worst_flows)
        seen = cloud(site.sampled(REST_SAMPLES), site.fans[str(STUDIO.fan)], speed, flows)
        assert seen is not None
        counted = np.mean(seen.worst.min(axis=1) >= STUDIO.target.suction)
        assert 0.05 < counted < 0.95
        assert outcome.holding.chance == pytest.approx(counted, abs=0.002)


# --- what follows from it ---------------------------------------------------------------------------------------------


def test_without_a_correction_nothing_changes() -> None:
    read = scaled(start_up(STUDIO, MANY), 0.95)
    assert prepare(visited(STUDIO, read)).rested(0.72) == prepare(STUDIO).rested(0.72)


def test_one_step_corrects_and_one_takes_it_back() -> None:
    read = start_up(STUDIO)
    plain = visited(STUDIO, with_value(read, ("conditions", "speed"), None))
    made = correct_by(plain, 0)
    assert made.corrected_by == Correction(date="2026-11-30", kind="start-up", order=1)
    # the speed it was read at is the design's of that day, wherever the rail goes later
    assert made.visits[0].conditions.speed == STUDIO.speed
    assert prepare(made) is not prepare(plain)
    assert take_back_correction(made).corrected_by is None
    assert prepare(take_back_correction(made)).learned is None
    assert correction_words(read) == "Correct the model by the start-up of 2026-11-30"
    assert read_project(project_text(made)) == made
    assert corrected_by(plain, plain.visits[0]) == made


def test_another_speed_or_title_leaves_what_was_learned() -> None:
    made = correct_by(visited(STUDIO, start_up(STUDIO)), 0)
    learned = prepare(made).learned
    for other in (with_value(made, ("speed",), 0.5), with_value(made, ("title",), "Another")):
        assert prepare(other).learned is learned


def test_a_fan_that_turns_slower_asks_for_a_higher_setting() -> None:
    """Gauge and watts of a fan 3 % slow, and the rest as expected: every hole and the lowest speed follow."""
    usual = start_up(STUDIO, MANY)
    moment = moment_of(made_ready(STUDIO), usual.conditions, 1.0)
    assert moment is not None
    model = replace(as_solved(moment), speed=0.97 * np.full(1, STUDIO.speed))
    slow = with_errors(usual, told(moment, model, flows_of(moment, model)[0]), _Exact())  # type: ignore[arg-type]
    made = corrected_by(visited(STUDIO, slow), slow)
    before, after = prepare(STUDIO), prepare(made)
    was, now = before.rested(STUDIO.speed), after.rested(STUDIO.speed)
    assert was.holding is not None
    assert now.holding is not None
    assert now.gauge < 0.98 * was.gauge
    assert now.holding.margin < was.holding.margin
    assert before.lowest.best_estimate is not None
    assert after.lowest.best_estimate is not None
    assert after.lowest.best_estimate > before.lowest.best_estimate
    curves = [site.trace(STUDIO.chosen_fan.name, 0.72) for site in (before, after)]  # type: ignore[union-attr]
    assert curves[1].pressure[0] < curves[0].pressure[0]
    # variants of the design know it too
    gained = [{each.words: each.margin for each in helps(site)} for site in (before, after)]
    both = gained[0].keys() & gained[1].keys()
    assert any("pit" in words for words in both)
    assert all(gained[1][words] < gained[0][words] for words in both if not words.startswith("The fan"))
    few = made.model_copy(update={"search": STUDIO.search.model_copy(update={"pipes": (), "pits": ()})})
    tried = search(few)
    # another floor knows nothing of it, which is said
    assert any("what the visit taught" in each.text(write_si) for each in tried.left_out)
    choice = next(
        c for c in tried.rows if c.candidate.fan == STUDIO.fan and c.candidate.base == Base(None, None, False)
    )
    assert choice.speed == pytest.approx(after.lowest.confident, abs=0.011)


class _Exact:
    def normal(self) -> float:
        return 0.0


def test_a_later_visit_is_held_against_the_corrected_model() -> None:
    """Holes that were not read at the start-up are expected lower once its gauge and watts showed a slow fan."""
    low = scaled(start_up(STUDIO), 0.96)
    later = visit(STUDIO, what=("holes",))
    plain, made = (visited(STUDIO, low, later), correct_by(visited(STUDIO, low, later), 0))
    before, after = (diagnose(prepare(each), each, later) for each in (plain, made))
    for was, now in zip(before.readings, after.readings, strict=True):
        assert now.expected < was.expected
        assert _width(now.band) < _width(was.band)


# --- refused ----------------------------------------------------------------------------------------------------------


def test_readings_that_contradict_are_refused_and_bend_nothing() -> None:
    read = start_up(STUDIO, ("gauge", "second_gauge", "power"))
    odd = with_value(read, ("second_gauge", "pressure"), 60.0)
    with pytest.raises(NotCorrected, match=r"second gauge lies .* standard errors below .* look for a cause first"):
        learned_from(visited(STUDIO, odd), odd)
    with pytest.raises(NotCorrected, match="contradict"):
        prepare(correct_by(visited(STUDIO, odd), 0))
    far = scaled(start_up(STUDIO, MANY), 1.6)
    with pytest.raises(NotCorrected, match="contradict the design"):
        corrected_by(visited(STUDIO, far), far)


@pytest.mark.parametrize(
    ("design", "read", "words"),
    [
        (choose_fan(STUDIO, None), start_up(STUDIO), "no fan is chosen"),
        (STUDIO, Visit(date="2026-11-30", room=RoomReading(draw_down=2.0)), "nothing was read"),
        (
            STUDIO,
            start_up(STUDIO).model_copy(update={"power": None, "conditions": Conditions(fan="off")}),
            "fan was off",
        ),
    ],
)
def test_what_teaches_nothing_is_refused_in_words(design: Design, read: Visit, words: str) -> None:
    with pytest.raises(NotCorrected, match=words):
        learned_from(visited(design, read), read)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"visits": ()}, "which is not there"),
        ({"visits": (Visit(kind="start-up", date="2026-11-30"),)}, "nothing was read"),
        ({"visits": (start_up(STUDIO).model_copy(update={"conditions": Conditions()}),)}, "the speed .* is missing"),
        (
            {"visits": (start_up(STUDIO, ("gauge",)).model_copy(update={"conditions": Conditions(fan="off")}),)},
            "with the fan off",
        ),
    ],
)
def test_a_design_is_corrected_by_a_visit_that_can(change: dict[str, object], words: str) -> None:
    made = correct_by(visited(STUDIO, start_up(STUDIO)), 0)
    with pytest.raises(ValidationError, match=words):
        Design.model_validate({name: getattr(made, name) for name in type(made).model_fields} | change)
