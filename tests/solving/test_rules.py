"""A design against the rules of its place: every judgement, with what was found and why."""

from __future__ import annotations

import math
from typing import Any

import pytest

from tests.floors import job as holes_job
from tests.floors import point, slab, three
from tests.jobs import ground_only, record
from workbench.design import Design, House, Pipe, Resistance, Run
from workbench.design.record import with_value
from workbench.design.rules import SUBJECTS, Entered, Rule, RuleSheet, When, rule_sheets, si_unit, subject_of
from workbench.design.slab import Target, WorstDay
from workbench.files.scenes import load_scene
from workbench.solving import prepare
from workbench.solving.outcome import Holding
from workbench.solving.report.rules import RuleAnswer, check_rules

FALLING = ([0.0, 0.02, 0.04, 0.06], [300.0, 260.0, 170.0, 0.0])
DAY, WORST = "suction_on_the_day", "suction_on_the_worst_day"
US = "United States standards 2017-2020"


def rule(key: str, value: Any, comparison: str = "at least", **fields: Any) -> Rule:
    return Rule(**({"key": key, "what": key, "value": value, "comparison": comparison, "source": "own"} | fields))


def job(**fields: Any) -> Design:
    return ground_only(record(*FALLING), 5000.0, **fields)


def judged(design: Design, *rules: Rule, entered: dict[str, Any] | None = None) -> tuple[RuleAnswer, ...]:
    entries = tuple(Entered(key=key, value=value) for key, value in (entered or {}).items())
    whole = design.model_copy(update={"rules": RuleSheet(title="Any", rules=rules), "entered": entries})
    prepared = prepare(whole)
    return check_rules(prepared, prepared.at(1.0))


def one(design: Design, asked: Rule, **entered: Any) -> RuleAnswer:
    [answer] = judged(design, asked, entered=entered)
    return answer


def test_without_a_sheet_nothing_is_judged() -> None:
    prepared = prepare(job())
    assert check_rules(prepared, prepared.at(1.0)) == ()


def test_what_is_not_entered_is_neither_met_nor_not() -> None:
    answer = one(job(), rule("outlet_above_roof", 0.3, unit="m"))
    assert (answer.judgement, answer.found, answer.ask) == ("not entered", None, "outlet_above_roof")


def test_entered_values_are_held_against_the_limit() -> None:
    asked = rule("outlet_above_roof", 0.3048, unit="m")
    assert one(job(), asked, outlet_above_roof=0.31).judgement == "met"
    below = one(job(), asked, outlet_above_roof=0.30)
    assert (below.judgement, below.found, below.why, below.ask) == ("not met", 0.30, "as entered", "outlet_above_roof")


def test_the_slope_told_is_that_of_the_flattest_level_run_before_the_fan() -> None:
    """Else a run in which water stands is passed by one that drains."""
    given = {"pipe": Pipe(name="wide", inside_diameter=0.5), "length": 4.0}
    runs = tuple(Run(name=name, slope=slope, **given) for name, slope in (("Steeper", 0.02), ("Flatter", 0.004)))
    design = with_value(job(), ("intake", "runs"), runs)
    answer = one(design, rule("slope", 0.01))
    assert (answer.judgement, answer.found, answer.why) == ("not met", 0.004, "least in Flatter")
    assert answer.address == ("intake", "runs", 1)


def test_the_speed_at_the_outlet_is_that_of_the_last_run() -> None:
    wide, narrow = (Pipe(name=f"{bore}", inside_diameter=bore) for bore in (0.2, 0.1))
    runs = (Run(name="First", pipe=wide, length=1.0), Run(name="Last", pipe=narrow, length=1.0))
    design = with_value(job(), ("discharge",), runs)
    outcome = prepare(design).at(1.0)
    assert outcome.operating is not None
    # four times the flow over pi times the square of the bore
    speed = 4.0 * outcome.operating.flow / (math.pi * 0.1**2)
    answer = one(design, rule("velocity_rush", 0.9 * speed, "at most"))
    assert answer.found == pytest.approx(speed)
    assert (answer.judgement, answer.why) == ("not met", "at the end of Last")


def test_a_limit_itself_is_met_whichever_way_it_was_typed() -> None:
    # 12 in. is 304.8 mm exactly (international inch); the last figures of a double must not decide.
    for comparison in ("at least", "at most"):
        assert (
            one(job(), rule("outlet_above_roof", 0.3048, comparison), outlet_above_roof=12 * 0.0254).judgement == "met"
        )
        assert (
            one(job(), rule("outlet_above_roof", 0.3048, comparison), outlet_above_roof=0.3048 * (1 + 1e-9)).judgement
            == "met"
        )
    assert one(job(), rule("outlet_above_roof", 0.3048, "above"), outlet_above_roof=0.3048).judgement == "not met"
    assert one(job(), rule("outlet_from_vertical", 0.785, "at most"), outlet_from_vertical=0.8).judgement == "not met"


def test_yes_and_no() -> None:
    cap = rule("outlet_rain_cap", False, "is")
    assert one(job(), cap).judgement == "not entered"
    assert one(job(), cap, outlet_rain_cap=False).judgement == "met"
    assert one(job(), cap, outlet_rain_cap=True).judgement == "not met"


def test_a_rule_for_another_case() -> None:
    flat = rule(
        "outlet_above_roof", 0.4572, when=When(quantity="roof_slope", comparison="at most", value=0.0), unit="m"
    )
    unknown = one(job(), flat, outlet_above_roof=0.5)
    assert (unknown.judgement, unknown.ask) == ("not entered", "roof_slope")
    assert "roof pitch" in unknown.why
    steep = one(job(), flat, outlet_above_roof=0.2, roof_slope=0.5)
    assert (steep.judgement, steep.ask) == ("not this case", "roof_slope")
    assert one(job(), flat, outlet_above_roof=0.2, roof_slope=0.0).judgement == "not met"
    assert one(job(), flat, outlet_above_roof=0.5, roof_slope=0.0).judgement == "met"


def test_what_the_drawing_holds_is_found_there() -> None:
    narrow = Run(name="Neck", pipe=Pipe(name="2 in.", inside_diameter=0.052), length=0.1)
    design = with_value(job(), ("discharge",), (narrow,))
    bore = one(design, rule("pipe_bore", 0.076, unit="m"))
    assert (bore.judgement, bore.found, bore.why) == ("not met", 0.052, "narrowest in Neck")
    assert (bore.address, bore.ask) == (("discharge", 0), None)
    pit = one(design, rule("pit_volume", 0.0076, unit="m3"))
    assert (pit.judgement, pit.found) == ("met", 0.028)
    rush = one(design, rule("velocity_rush", 8.128, "at most", unit="m/s"))
    assert rush.judgement == "not met"
    assert rush.why == "at the end of Neck"


def test_what_is_entered_comes_before_what_is_drawn() -> None:
    answer = one(job(), rule("pit_volume", 0.05), pit_volume=0.06)
    assert (answer.judgement, answer.found, answer.ask) == ("met", 0.06, "pit_volume")


def test_rush_is_asked_at_the_outlet_and_condensate_everywhere() -> None:
    thin = Run(name="Thin", pipe=Pipe(name="thin", inside_diameter=0.05), length=0.1)
    design = with_value(job(), ("intake", "runs"), (thin,))
    fast, out = judged(design, rule("velocity_condensate", 10.16, "at most"), rule("velocity_rush", 8.128, "at most"))
    assert (fast.judgement, out.judgement) == ("not met", "met")
    assert fast.why == "fastest in Thin"


def runs(**fields: Any) -> Design:
    first = Run(**({"name": "In", "pipe": Pipe(name="any", inside_diameter=0.1), "length": 2.0} | fields))
    return with_value(job(), ("intake", "runs"), (first,))


def test_slope_of_level_pipe() -> None:
    # Published: ANSI/AARST SGM-SF 2017, an eighth of an inch in a foot, 1.04 %.
    asked = rule("slope", 0.0104167)
    assert one(runs(slope=0.02), asked).judgement == "met"
    assert one(runs(slope=0.01), asked).judgement == "not met"
    standing = one(runs(rise=2.0), asked)
    assert (standing.judgement, standing.found) == ("met", 1.0)
    assert "no run lies level" in standing.why


def test_water_traps_are_counted() -> None:
    asked = rule("water_traps", 0, "at most")
    assert one(runs(slope=0.02), asked).judgement == "met"
    trapped = one(runs(slope=0.0), asked)
    assert (trapped.judgement, trapped.found) == ("not met", 1.0)
    assert trapped.address == ("intake", "runs", 0)
    assert "stands" in trapped.why


def test_on_which_side_the_fan_hangs() -> None:
    asked = rule("fan_outside_conditioned_space", True, "is")

    def stands(before: str, after: str) -> RuleAnswer:
        design = with_value(runs(surroundings=before), ("discharge", 0, "surroundings"), after)
        return one(design, asked)

    assert stands("indoors", "indoors").judgement == "not met"
    assert stands("unheated", "outdoors").judgement == "met"
    # where the pipe leaves the heated space just at the fan, the drawing does not tell
    unclear = stands("indoors", "unheated")
    assert (unclear.judgement, unclear.ask) == ("not entered", "fan_outside_conditioned_space")
    assert "say on which side" in unclear.why


def test_tight_ground_asks_for_the_larger_pit() -> None:
    # Published: ANSI/AARST SGM-SF 2017: 7.5 US gal where the ground is tight.
    larger = rule("pit_volume", 0.0284, when=When(quantity="ground_is_tight", comparison="is", value=True))
    assert one(job(), larger).judgement == "not this case"
    tight = ground_only(record(*FALLING), 2e6)
    assert one(tight, larger).judgement == "not met"


def test_holes_and_floor() -> None:
    holes = rule("test_holes", 3)
    assert one(job(), holes).judgement == "not met"
    assert one(load_scene("studio"), holes).judgement == "met"
    per_slab = rule("test_holes_per_slab", 1, when=When(quantity="slab_area", comparison="above", value=6.0))
    assert one(job(), per_slab).judgement == "not entered"
    assert one(load_scene("studio"), per_slab).judgement == "met"
    assert one(job(house=House(floor_area=5.0)), per_slab).judgement == "not this case"


@pytest.fixture
def floor() -> tuple[Design, Holding]:
    """A floor with every hole read, and what its holes keep at full speed."""
    winter = WorstDay(exhausts=45.0)
    design = holes_job(three(), floor=slab(), target=Target(suction=3.0), worst_day=winter)
    holding = prepare(design).at(1.0).holding
    assert holding is not None
    return design, holding


def test_the_day_is_judged_on_the_day_and_the_worst_day_on_the_worst(floor: tuple[Design, Holding]) -> None:
    design, holding = floor
    far = min(holding.holes, key=lambda hole: hole.worst)
    # between the two days: kept on the one, lost on the other
    between = (far.band[0] + far.worst_band[1]) / 2.0
    assert far.worst_band[1] < between < far.band[0]
    day, worst = judged(design, rule(DAY, between, unit="Pa"), rule(WORST, between, unit="Pa"))
    assert (day.judgement, worst.judgement) == ("met", "not met")
    assert (day.found, worst.found) == (far.suction, far.worst)
    assert (day.why, worst.why) == ("on the day at Far", "on the worst day at Far")


def test_a_pass_within_the_band_is_not_sure(floor: tuple[Design, Holding]) -> None:
    design, holding = floor
    far = min(holding.holes, key=lambda hole: hole.worst)
    for key, value, (low, high) in ((DAY, far.suction, far.band), (WORST, far.worst, far.worst_band)):
        asked = (low - 0.1, 0.5 * (low + value), 0.5 * (value + high), high + 0.1)
        words = [one(design, rule(key, limit, unit="Pa")).judgement for limit in asked]
        assert words == ["met", "not sure", "not sure", "not met"]


@pytest.mark.parametrize("target", [1.0, 3.0, 9.0, 30.0])
def test_the_target_itself_is_judged_as_the_whole_design_is(target: float) -> None:
    design = holes_job(three(), floor=slab(), target=Target(suction=target))
    holding = prepare(design).at(1.0).holding
    assert holding is not None
    words = {"holds": "met", "unsure": "not sure", "fails": "not met"}
    assert one(design, rule(WORST, target, unit="Pa")).judgement == words[holding.verdict]


def test_what_nobody_read_is_not_measured_whatever_the_field_says() -> None:
    near, *others = three()
    bare = [hole.model_copy(update={"readings": ()}) for hole in (near, *others)]
    far = others[-1].readings[0].model_copy(update={"resolution": 5.0})
    faint = [near, *others[:-1], others[-1].model_copy(update={"readings": (far,)})]
    for holes in (bare, [near, *bare[1:]], faint):
        for key in (DAY, WORST):
            # a limit so low that every estimate passes
            answer = one(holes_job(holes, floor=slab()), rule(key, 0.0, unit="Pa"))
            assert answer.judgement == "not measured"
            assert "not measured at" in answer.why
    without = one(job(), rule(DAY, 0.75, unit="Pa"))
    assert (without.judgement, without.found, without.ask) == ("not measured", None, DAY)
    # a hole that was read and fails decides, whoever else was read
    assert one(holes_job([near, *bare[1:]], floor=slab()), rule(DAY, 1e4, unit="Pa")).judgement == "not met"


def test_an_older_sheet_is_judged_as_it_was() -> None:
    old = Rule.model_validate_json(
        '{"key": "suction_weakest", "what": "suction", "value": 1.0, "unit": "Pa", "comparison": "at least", '
        '"source": "own"}',
        strict=True,
    )
    assert old.key == WORST
    assert Entered(key="suction_weakest", value=2.0).key == WORST


def test_without_an_operating_point_only_the_drawing_is_judged() -> None:
    design = job().model_copy(update={"fan": None})
    flow, pit = judged(design, rule("system_flow", 0.01), rule("pit_volume", 0.01))
    assert (flow.judgement, pit.judgement) == ("not entered", "met")


@pytest.mark.parametrize("title", rule_sheets())
def test_sheets_speak_only_of_known_subjects_in_their_units(title: str) -> None:
    for row in rule_sheets()[title].rules:
        assert row.key in SUBJECTS
        assert row.unit == si_unit(SUBJECTS[row.key].dimension)
        assert isinstance(row.value, bool) == (SUBJECTS[row.key].dimension is None)
        if row.when is not None:
            assert row.when.quantity in SUBJECTS
            assert isinstance(row.when.value, bool) == (SUBJECTS[row.when.quantity].dimension is None)
        assert row.source
        assert row.tag in ("published", "from memory", "common practice", "own")


def test_a_whole_sheet_is_judged_row_by_row() -> None:
    sheet = rule_sheets()[US]
    design = load_scene("studio").model_copy(update={"rules": sheet})
    prepared = prepare(design)
    answers = check_rules(prepared, prepared.at(1.0))
    assert [answer.rule for answer in answers] == list(sheet.rules)
    assert {answer.judgement for answer in answers} == {"met", "not entered", "not this case"}
    assert all(answer.why for answer in answers)


def test_an_unknown_subject_is_named_by_its_key() -> None:
    assert subject_of("vent_count").text == "vent count"
    assert subject_of("vent_gap", "m").dimension == "length"


def test_of_several_points_the_smallest_pit_and_the_weakest_suction_are_judged() -> None:
    """Else a sheet is said to be met by the best of the points, while another misses it."""
    small, wide = point("Small", None), point("Wide", None, Resistance(linear=2000.0, tested_volume=0.06))
    design = holes_job((), small, wide.model_copy(update={"pit_volume": 0.06}))
    (pit,) = judged(design, rule("pit_volume", 0.05))
    assert (pit.judgement, pit.found, pit.why) == ("not met", small.pit_volume, "smallest at Small")
    two = load_scene("reading-room")
    suctions = [state.suction for state in prepare(two).at(1.0).points]
    (suction,) = judged(two, rule("suction_at_point", 0.5 * sum(suctions)))
    assert max(suctions) > 1.2 * min(suctions)
    assert (suction.judgement, suction.found) == ("not met", min(suctions))
