"""What a visit's readings should be, and which causes are told where they are not. Readings are made by the model."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from tests.jobs import record
from tests.visited import EVERY, visit, visited
from workbench.design import Design
from workbench.design.edit import choose_fan
from workbench.design.record import with_value
from workbench.design.visits import Conditions, GaugeReading, HoleCheck, Visit
from workbench.files.scenes import load_scene
from workbench.solving import prepare
from workbench.solving.later.causes import SIZES, kinds
from workbench.solving.later.expected import EDGE, Basis, NotPredicted, start_up_of
from workbench.solving.later.moment import moment_of
from workbench.solving.later.ranking import ALONE, HELD, MISFIT, Diagnosis, diagnose, gate_of, shown_by

STUDIO, READING_ROOM, CLUBHOUSES = (load_scene(name) for name in ("studio", "reading-room", "clubhouses"))
DESIGNS = [STUDIO, READING_ROOM, CLUBHOUSES]
FEW = ("gauge", "power")
HOLES = ("gauge", "power", "holes")
PITS = (*HOLES, "risers")


def start_up(design: Design, what: tuple[str, ...]) -> Visit:
    return visit(design, kind="start-up", date="2026-01-20", what=what)


def found(design: Design, later: Visit, *, begun: tuple[str, ...] | None = HOLES) -> Diagnosis:
    visits = (later,) if begun is None else (start_up(design, begun), later)
    return diagnose(prepare(design), visited(design, *visits), later)


def keys(told: Diagnosis) -> list[str]:
    return [each.cause.key for each in told.causes[: told.listed]]


# --- what is expected -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("design", DESIGNS, ids=lambda design: design.title)
@pytest.mark.parametrize("begun", [None, HOLES], ids=["by the model alone", "from the start-up"])
def test_an_unchanged_visit_passes(design: Design, begun: tuple[str, ...] | None) -> None:
    told = found(design, visit(design), begun=begun)
    assert told.finding == "unchanged"
    assert told.causes == ()
    assert told.chi2 < 0.01 < told.gate
    for each in told.readings:
        assert each.told
        assert each.inside
        assert abs(each.off) < 1e-2
        assert each.band[0] < each.read < each.band[1]


def test_a_start_up_narrows_what_is_expected_and_moves_it() -> None:
    """A gauge that read a tenth less at the start-up than the model has it is expected to read a tenth less again."""
    later = visit(STUDIO, what=HOLES)
    first = start_up(STUDIO, HOLES)
    assert first.gauge is not None
    low = with_value(first, ("gauge", "pressure"), 0.9 * first.gauge.pressure)
    alone, carried, lower = (
        diagnose(prepare(STUDIO), visited(STUDIO, *before, later), later) for before in ((), (first,), (low,))
    )
    width = [told.readings[0].band[1] - told.readings[0].band[0] for told in (alone, carried)]
    assert width[1] < width[0]
    assert lower.readings[0].expected == pytest.approx(0.9 * carried.readings[0].expected, rel=1e-6)
    assert lower.start_up == low


def test_a_band_is_never_narrower_than_the_instrument() -> None:
    told = found(STUDIO, visit(STUDIO, what=HOLES))
    for each, least, accuracy in zip(told.readings, (3.0, 0.5, *[0.3] * 5), (0.02, 0.02, *[0.07] * 5), strict=True):
        own = EDGE * math.hypot(least, accuracy * each.expected)
        assert each.expected - each.band[0] > 1.4 * own  # both visits read with it


def test_the_state_of_the_visit_is_what_counts() -> None:
    cold = Conditions(outdoor_temperature=STUDIO.place.outdoor_temperature - 25.0)
    told = {
        name: found(STUDIO, visit(STUDIO, conditions=there))
        for name, there in (
            ("cold", cold),
            ("off", Conditions(fan="off", outdoor_temperature=275.0)),
            ("on", Conditions(exhausts="on", outdoor_temperature=275.0)),
            ("slow", Conditions(speed=0.5, outdoor_temperature=275.0)),
        )
    }
    assert {name: each.finding for name, each in told.items()} == dict.fromkeys(told, "unchanged")
    gauge = {name: each.readings[0].expected for name, each in told.items()}
    assert gauge["off"] < 8.0 < gauge["slow"] < 0.7 * gauge["cold"]
    # the same readings, told to have been taken with the fan at its own speed, do not pass
    slow = visit(STUDIO, conditions=Conditions(speed=0.5, outdoor_temperature=275.0))
    wrong = with_value(slow, ("conditions", "speed"), None)
    assert keys(found(STUDIO, wrong)) == ["turned down"]


def test_air_that_was_not_read_widens_the_bands() -> None:
    known = visit(STUDIO, what=HOLES)
    unknown = known.model_copy(update={"conditions": Conditions()})
    narrow, wide = (found(STUDIO, each).readings for each in (known, unknown))
    assert all(w.band[1] - w.band[0] > n.band[1] - n.band[0] for n, w in zip(narrow[2:], wide[2:], strict=True))


def test_air_that_was_not_read_may_lie_beyond_what_can_be_entered() -> None:
    """On a job read in the coldest air there is."""
    coldest = with_value(STUDIO, ("place", "outdoor_temperature"), 213.15)
    later = visit(coldest, what=FEW).model_copy(update={"conditions": Conditions()})
    assert diagnose(prepare(coldest), visited(coldest, later), later).finding == "unchanged"


def test_a_gauge_that_hung_elsewhere_at_the_start_up_is_not_carried_over() -> None:
    first = start_up(STUDIO, HOLES)
    moved = with_value(first, ("gauge",), GaugeReading(pressure=97.0, run=STUDIO.intake.runs[0].name))
    later = visit(STUDIO, what=HOLES)
    basis = Basis(prepare(STUDIO), visited(STUDIO, moved, later), later)
    assert not basis.carried[0]
    assert basis.carried[1]


def test_the_start_up_before_a_visit_is_taken_and_none_after() -> None:
    one, two = (visit(STUDIO, kind="start-up", date=f"202{year}-01-20", what=FEW) for year in (5, 6))
    checks = [visit(STUDIO, date=f"202{year}-06-20", what=FEW) for year in (4, 5, 6)]
    every = (*checks, two, one)
    assert [start_up_of(every, each) for each in checks] == [None, one, two]
    assert start_up_of(every, one) is None


# --- what is told -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "key",
    ["stopped", "turned down", "turned up", "outlet blocked", "floor open", "cracks", "sealed", "gauge tube off"],
)
def test_a_cause_of_typical_size_stands_out_in_gauge_watts_and_holes(key: str) -> None:
    """Readings without error in the studio; all but these are parted by less than the readings tell."""
    told = found(STUDIO, visit(STUDIO, key, what=HOLES))
    assert told.finding == "one"
    assert keys(told) == [key]
    assert told.causes[0].misfit < 0.5
    assert told.causes[0].bend < 0.5
    assert told.causes[0].likelihood >= HELD


@pytest.mark.parametrize(
    ("design", "what", "left_out", "least"),
    [
        (STUDIO, EVERY, ("dragging", "gauge moved", "fan jumped", "branch closed"), 12),
        (READING_ROOM, PITS, [k.key for k in kinds() if k.key not in ("leak low", "wetter ground", "cracks")], 3),
    ],
    ids=["every cause", "the ground of two points"],
)
def test_the_truth_is_in_the_list_whenever_the_gate_sees_it(
    design: Design, what: tuple[str, ...], left_out: Sequence[str], least: int
) -> None:
    """Causes at their typical size, read without error."""
    seen = 0
    for kind in kinds()[1:]:
        if kind.key in left_out:
            continue
        told = found(design, visit(design, kind.key, what=what), begun=what)
        if told.finding != "unchanged":
            seen += 1
            assert kind.key in keys(told), kind.key
            assert told.finding in ("one", "several")
    assert seen >= least


@pytest.mark.parametrize("place", [0, 1])
def test_the_branch_that_closed_is_named(place: int) -> None:
    told = found(READING_ROOM, visit(READING_ROOM, "branch closed", place=place, what=PITS), begun=PITS)
    assert keys(told) == ["branch closed"]
    assert told.causes[0].cause.place == place
    assert told.causes[0].cause.wording.plain().count(list(READING_ROOM.suction_points())[place][1].name) == 1


def test_what_cannot_be_parted_is_not_named_alone() -> None:
    """Gauge and watts part neither of these, and one further reading does: the suction in the riser."""
    leak = found(STUDIO, visit(STUDIO, "leak at the fan", what=FEW, size=20e-4))
    assert leak.finding == "several"
    assert {"leak at the fan", "gauge reads low"} <= set(keys(leak))
    part = {each.cause.key: each.tell_apart for each in leak.causes[: leak.listed]}
    item = part["gauge reads low"] or part["leak at the fan"]
    assert item is not None
    # a leak takes suction from the pit as well, a gauge's fault does not
    assert item.kind == "riser"
    water = found(STUDIO, visit(STUDIO, "water in the pipe", what=FEW), begun=PITS)
    assert water.finding == "several"
    assert {"water in the pipe", "pit silted"} <= set(keys(water))
    assert water.causes[0].tell_apart is not None
    assert water.causes[0].tell_apart.kind == "riser"
    # and with the riser read they are parted
    assert keys(found(STUDIO, visit(STUDIO, "water in the pipe", what=PITS), begun=PITS)) == ["water in the pipe"]


def test_the_second_gauge_shows_that_the_first_is_off() -> None:
    told = found(STUDIO, visit(STUDIO, "gauge reads low", what=("gauge", "second_gauge", "power")), begun=FEW)
    assert set(keys(told)) <= {"gauge reads low", "gauge refilled", "gauge moved"}
    assert told.causes[0].cause.key == "gauge reads low"


@pytest.mark.parametrize("design", DESIGNS, ids=lambda design: design.title)
@pytest.mark.parametrize("key", ["outlet blocked", "water in the pipe", "leak low"])
def test_likelihoods_are_shares_and_the_list_is_the_shortest(design: Design, key: str) -> None:
    told = found(design, visit(design, key, what=FEW), begun=FEW)
    if told.finding == "unchanged":
        assert key == "leak low"
        assert key in {each.key for each in told.unseen}
        return
    shares = [each.likelihood for each in told.causes]
    assert sum(shares) == pytest.approx(1.0)
    assert shares == sorted(shares, reverse=True)
    assert sum(shares[: told.listed]) >= HELD > sum(shares[: told.listed - 1])
    assert told.finding != "one" or shares[0] >= ALONE


@pytest.mark.parametrize("design", [STUDIO, CLUBHOUSES], ids=lambda design: design.title)
def test_a_likelihood_is_weight_times_density(design: Design) -> None:
    """Of causes that are all or nothing, against the normal density of scipy; of two crossings either is as likely."""
    later = visit(design, "gauge refilled", what=FEW)
    prepared, design = prepare(design), visited(design, start_up(design, FEW), later)
    told, basis = diagnose(prepared, design, later), Basis(prepared, design, later)
    read = np.array([each.read for each in basis.readings])
    expected = {}
    for each in told.causes:
        if not each.cause.kind.sizes:
            shown = shown_by(basis, each.cause, np.ones(1))[:, 0, :2]
            shown = shown[~np.isnan(shown).any(axis=-1)]
            covariance = basis.covariance(shown, [0, 1], each.cause.kind.power)
            density = [multivariate_normal.pdf(read, m, c) for m, c in zip(shown, covariance, strict=True)]
            expected[each.cause] = each.cause.weight * float(np.mean(density))
    found = {each.cause: each.likelihood for each in told.causes if each.cause in expected}
    unchanged = next(cause for cause in expected if cause.key == "unchanged")
    assert len(expected) >= 5
    for cause, weighed in expected.items():
        ratio = found[cause] / found[unchanged]
        assert ratio == pytest.approx(weighed / expected[unchanged], rel=1e-6, abs=1e-12), cause.key


def test_readings_that_contradict_one_another_name_nothing() -> None:
    """Watts of a fan that runs free, a gauge far up and holes far up: nothing in the table does all three."""
    later = visit(STUDIO, what=HOLES)
    assert later.gauge is not None
    assert later.power is not None
    odd = with_value(later, ("gauge", "pressure"), 3.0 * later.gauge.pressure)
    odd = with_value(odd, ("power", "power"), 0.4 * later.power.power)
    odd = with_value(odd, ("holes", 0, "suction"), 60.0)
    told = found(STUDIO, odd)
    assert told.finding == "none"
    assert min(each.misfit for each in told.causes[: told.listed]) > MISFIT


def test_a_fan_with_a_dip_is_tried_on_every_crossing() -> None:
    """A leak throws it over; and a gauge on the other crossing from the start is no change."""
    told = found(CLUBHOUSES, visit(CLUBHOUSES, "leak at the fan", what=FEW, size=2e-4), begun=FEW)
    first = told.causes[: told.listed]
    assert any(each.jumped for each in first)
    assert "leak at the fan" in keys(told)


def test_what_these_readings_cannot_show_is_said() -> None:
    """A gauge is all but deaf to the floor: the joints opened move it by 2 % (computed reference)."""
    gauge = found(STUDIO, visit(STUDIO, what=("gauge",)), begun=HOLES)
    holes = found(STUDIO, visit(STUDIO, what=HOLES), begun=HOLES)
    blind = [{each.key for each in told.unseen} for told in (gauge, holes)]
    assert {"cracks", "floor open", "leak low", "sealed"} <= blind[0]
    assert not {"cracks", "floor open", "sealed", "outlet blocked"} & blind[1]
    assert "outlet blocked" not in blind[0]


def test_what_shows_only_now_and_then_counts_as_not_seen() -> None:
    """The more is read that a cause leaves alone, the higher the gate stands before it: 17 is seen by 9, not by 13."""
    few, many = (found(READING_ROOM, visit(READING_ROOM, "leak low", what=what), begun=what) for what in (PITS, EVERY))
    assert few.finding != "unchanged"
    assert many.finding == "unchanged"
    assert "leak low" in {each.key for each in many.unseen}
    loud = found(READING_ROOM, visit(READING_ROOM, "leak low", what=EVERY, size=25e-4), begun=EVERY)
    assert keys(loud) == ["leak low"]


def test_the_gate_is_that_of_the_chi_square() -> None:
    """95 % points of the chi-square distribution, 1, 2, 5 and 10 degrees of freedom (NIST/SEMATECH e-Handbook,
    1.3.6.7.4)."""
    assert [gate_of(n) for n in (1, 2, 5, 10)] == pytest.approx([3.841, 5.991, 11.070, 18.307], abs=6e-4)


@pytest.mark.parametrize("what", [FEW, HOLES, PITS], ids=["gauge and watts", "and holes", "and risers"])
def test_unchanged_visits_read_with_error_seldom_raise_an_alarm(what: tuple[str, ...]) -> None:
    """Errors of the instruments alone, at start-up and visit: what drifts besides has its room, so that few pass."""
    later = visit(STUDIO, what=what)
    basis = Basis(prepare(STUDIO), visited(STUDIO, start_up(STUDIO, what), later), later)
    chosen = list(range(len(basis.readings)))
    covariance = basis.covariance(basis.unchanged[chosen], chosen)
    own = np.array([float(each.error_at(each.read)) for each in basis.readings])
    rng = np.random.default_rng(7)
    off = rng.normal(size=(400, len(chosen))) * own * math.sqrt(2.0)
    chi2 = np.sum(off * np.linalg.solve(covariance, off.T).T, axis=1)
    assert np.mean(chi2 > gate_of(len(chosen))) < 0.05


# --- bad input --------------------------------------------------------------------------------------------------------


def test_what_cannot_be_told_is_refused_in_words() -> None:
    none = visit(STUDIO, what=FEW)
    for design, later, words in (
        (STUDIO, Visit(date="2027-01-20"), "nothing was read"),
        (choose_fan(STUDIO, None), none, "no fan is chosen"),
    ):
        with pytest.raises(NotPredicted, match=words):
            diagnose(prepare(design), visited(design, later), later)


def test_a_hole_of_which_nothing_is_known_is_left_out_and_said() -> None:
    lonely = with_value(CLUBHOUSES, ("holes",), ({"name": "Z"},))
    later = visit(CLUBHOUSES, what=FEW).model_copy(update={"holes": (HoleCheck(hole="Z", suction=3.0),)})
    told = diagnose(prepare(lonely), visited(lonely, later), later)
    assert [each.told for each in told.readings] == [True, True, False]
    only = later.model_copy(update={"gauge": None, "power": None})
    with pytest.raises(NotPredicted, match="cannot tell"):
        diagnose(prepare(lonely), visited(lonely, only), only)


def test_a_fan_without_watts_is_told_by_the_rest() -> None:
    fan = record([0.0, 0.02, 0.05], [300.0, 200.0, 0.0], least_speed=0.2)
    design = STUDIO.model_copy(update={"fans": (fan,), "fan": fan.name, "speed": 1.0})
    told = found(design, visit(design, "outlet blocked", what=("gauge", "holes")), begun=("gauge", "holes"))
    assert told.finding in ("one", "several")
    assert "outlet blocked" in [each.cause.key for each in told.causes]


def test_the_table_of_causes_is_sound() -> None:
    for kind in kinds():
        assert kind.weight > 0.0
        if kind.sizes:
            small, typical, large = kind.sizes
            assert small < typical < large
            assert len(kind.tried) == SIZES
            assert kind.tried[SIZES // 2] == pytest.approx(typical)
            assert (np.diff(kind.tried) > 0.0).all()
            assert kind.scale != "logit" or kind.tried[-1] < 1.0
        assert ("{0}" in kind.title) == bool(kind.each)
    assert kinds()[0].acts == "nothing"
    assert kinds()[0].weight == max(kind.weight for kind in kinds())


def test_of_readings_that_part_plainly_the_soonest_taken_is_asked_for() -> None:
    """With the gauge alone the watts tell a slowed fan from a blocked outlet, and need no hole in the pipe."""
    slowed = found(STUDIO, visit(STUDIO, "turned down", what=("gauge",), size=0.3), begun=FEW)
    assert slowed.finding == "several"
    assert {"turned down", "outlet blocked"} <= set(keys(slowed)[:2])
    assert slowed.causes[0].tell_apart is not None
    assert slowed.causes[0].tell_apart.kind == "power"


def test_what_is_kept_of_a_state_hangs_on_no_reading() -> None:
    """The model is asked once for a state; another reading in it is told as if it had been the first."""
    first, other = (visit(STUDIO, key, what=HOLES) for key in ("outlet blocked", "cracks"))
    found(STUDIO, first)
    again = found(STUDIO, other)
    moment_of.cache_clear()
    afresh = found(STUDIO, other)
    assert again == afresh
    assert keys(again) == ["cracks"]
