"""The search against the single answer, against sums by hand, and what it says where nothing can be had."""

from __future__ import annotations

import itertools
import json
import math
import random
from collections.abc import Callable
from typing import Any

import pytest
from msgspec.structs import replace
from scipy.optimize import brentq

from tests.jobs import floor_job, ground_only, record
from workbench.design import Costs, Design, Fitting, Listener, Pipe, PipePrice, Run, Search
from workbench.design.design import Uncertainty
from workbench.design.edit import choose_fan
from workbench.design.record import with_value
from workbench.design.slab import HoleReading, Target, TestHole, WorstDay
from workbench.files.choices_table import COLUMNS
from workbench.files.fan_library import fan_classes
from workbench.solving import prepare
from workbench.solving.choices import batch as sites
from workbench.solving.choices.search import Cancelled, Choices, candidates, design_of, search
from workbench.solving.choices.variants import bases, building_cost, joint_length, with_base, with_fan
from workbench.solving.choices.words import choices_answer, sentences
from workbench.solving.choices.worth import Worth, worths
from workbench.solving.run.needed import SPEED_STEP
from workbench.solving.run.prepare import Prepared
from workbench.units import SI, US, format_quantity

HOLE = TestHole(name="A", readings=(HoleReading(point="Pit", applied=100.0, flow=0.02, suction=10.0),))
LIMITLESS: dict[str, Any] = {"velocity_limit": None, "pits": (), "leak_left": (), "another_point": False}


def plain_job(**fields: Any) -> Design:
    """Fans straight on the ground without a plan; one hole that was read."""
    fans = (
        record([0.0, 0.1], [400.0, 0.0], [40.0, 40.0], name="Strong", price=300.0, least_speed=0.2),
        record([0.0, 0.1], [250.0, 0.0], [20.0, 20.0], name="Weak", price=100.0, least_speed=0.2),
    )
    design = ground_only(fans[0], 4000.0, holes=(HOLE,), target=Target(suction=2.0))
    given = {name: getattr(design, name) for name in Design.model_fields}
    return Design.model_validate(given | {"fans": fans, "fan": "Strong"} | fields)


def searched(design: Design, **fields: Any) -> Choices:
    return search(with_value(design, ("search",), Search.model_validate(fields)))


def said(found: Choices) -> dict[str, str]:
    return {notice.code: notice.text(lambda value, _: f"{value:.4g}") for notice in sentences(found)}


@pytest.mark.parametrize("points", [1, 2])
def test_choices_are_what_single_answers_say(points: int) -> None:
    design = floor_job(points, target=8.0)
    listener = Listener(name="Bed", distance=4.0, insulation=15.0, outlet_distance=9.0)
    design = with_value(design, ("house", "listeners"), (listener,))
    fans = ("Medium suction, electronic", "Small in-line, one speed", "Axial, with a stall dip")[: 4 - points]
    found = searched(design, fans=fans, pits=(0.05,), leak_left=(0.4,), another_point=points == 1)
    assert len(found.rows) == len(candidates(found.design))
    held = 0
    for row in random.Random(20260301).sample(found.rows, 8):
        prepared = prepare(design_of(row, found.design))
        if math.isnan(row.speed):
            assert prepared.lowest.confident is None
            continue
        held += 1
        # a rising curve is searched by counting samples, side by side by what each sample needs: a step apart at most
        apart = SPEED_STEP if prepared.fans[row.fan].rises else 0.0
        assert prepared.lowest.confident == pytest.approx(row.speed, abs=apart + 1e-9)
        outcome = prepared.rested(row.speed)
        assert outcome.operating is not None
        assert outcome.year is not None
        assert outcome.holding is not None
        assert outcome.holding.verdict == "holds"
        assert outcome.holding.weakest == row.weakest
        for single, many in (
            (outcome.operating.flow, row.flow),
            (outcome.operating.power, row.power),
            (outcome.velocity, row.velocity),
            (outcome.sound[0].level, row.sound),
            (outcome.sound[0].band, row.sound_band),
            (outcome.year.fan_energy, row.fan_energy),
            (outcome.year.house_air_energy, row.house_air_energy),
            (outcome.year.cost, row.yearly),
        ):
            assert many == pytest.approx(single, rel=1e-3)
        assert row.margin == pytest.approx(outcome.holding.margin, abs=1e-3)
    assert held >= 4


def unread(design: Design) -> Design:
    """The same design with its last hole never read."""
    *others, last = design.holes
    return with_value(design, ("holes",), (*others, last.model_copy(update={"readings": ()})))


def faint(design: Design) -> Design:
    """The same design with its last hole read by a gauge that cannot tell the reading from nothing."""
    *others, last = design.holes
    dull = [r.model_copy(update={"resolution": max(0.6 * (r.suction - r.at_rest), 0.2)}) for r in last.readings]
    return with_value(design, ("holes",), (*others, last.model_copy(update={"readings": tuple(dull)})))


@pytest.mark.parametrize("made", [unread, faint])
def test_no_choice_holds_where_no_suction_was_read_at_a_hole(made: Callable[[Design], Design]) -> None:
    design = made(with_value(floor_job(target=0.1), ("target", "chance"), 0.5))
    found = searched(design, pits=(0.05,), pipes=(), leak_left=(), another_point=False, velocity_limit=None)
    assert found.best is None
    assert any(row.keeps for row in found.rows)
    for row in found.rows:
        assert row.verdict == "not measured"
        assert not row.holds
        single = prepare(design_of(row, found.design)).rested(row.speed).holding
        assert single is not None
        assert single.verdict == row.verdict
    assert found.estimated is found.rows[0]
    words = said(found)
    assert words["not-measured"].startswith("Not measured: C.")
    assert words["best"].startswith("Lowest life-cycle cost: ")
    answer = choices_answer(found)
    assert answer["best"] is None
    assert {row["holds"] for row in answer["choices"]} == {False}
    assert {row["verdict"] for row in answer["choices"]} == {"not measured"}


def test_the_ranking_does_not_hang_on_who_read_what() -> None:
    # a reading that says what the estimate says would leave the order; here: what was not read is ranked all the same
    found = searched(unread(floor_job(target=1.0)), pits=(0.05, 0.09), pipes=(), another_point=False)
    keeping = [row.keeps for row in found.rows]
    assert keeping == sorted(keeping, reverse=True)
    costs = [row.life_cycle for row in found.rows if row.keeps]
    assert costs == sorted(costs)
    assert found.frontier


def test_what_only_the_middle_of_the_bands_keeps_is_not_sure() -> None:
    # at this target the weak fan holds at full speed by the middle of the bands, and not at the chance asked for
    found = searched(plain_job(target=Target(suction=16.0)), **LIMITLESS, pipes=())
    verdicts = {row.fan: row.verdict for row in found.rows}
    assert verdicts == {"Strong": "holds", "Weak": "unsure"}
    for row in found.rows:
        prepared = prepare(design_of(row, found.design))
        holding = prepared.rested(1.0 if math.isnan(row.speed) else row.speed).holding
        assert holding is not None
        assert holding.verdict == row.verdict


def test_the_order_and_the_frontier() -> None:
    found = searched(floor_job(), pits=(0.05, 0.09), pipes=(), another_point=False)
    holding = [row.holds for row in found.rows]
    assert holding == sorted(holding, reverse=True)
    assert 0 < sum(holding) < len(holding)
    costs = [row.life_cycle for row in found.rows if row.holds]
    assert costs == sorted(costs)
    assert found.best is found.rows[0]
    front = [found.rows[i] for i in found.frontier]
    assert [row.first for row in front] == sorted(row.first for row in front)
    # by its definition: none of those that hold is undercut in both, and every other one is
    for row in (row for row in found.rows if row.holds):
        undercut = any(o.first <= row.first and o.yearly <= row.yearly and o is not row for o in front)
        assert undercut != (row in front)


def test_the_cost_of_owning_is_the_sum_of_discounted_years() -> None:
    # end-of-year sums brought to today one by one (NIST Handbook 135: present value of uniform yearly amounts)
    found = searched(plain_job(), **LIMITLESS, pipes=(), costs={"years": 8, "rate": 0.05})
    best = found.rows[0]
    assert best.life_cycle == pytest.approx(best.first + sum(best.yearly / 1.05**year for year in range(1, 9)))


def test_building_costs_are_the_sum_of_their_parts() -> None:
    design = floor_job(2)
    costs = Costs(
        digging=4000.0, pipes=(PipePrice(up_to=0.2, pipe=10.0, fitting=7.0),), joint=20.0, slab=5.0, point=300.0
    )
    design = with_value(design, ("search", "costs"), costs)
    design = with_value(with_value(design, ("slab", "joints_left"), 0.25), ("slab", "leak_left"), 0.6)
    fan = design.fans[0]
    cost = with_fan(building_cost(design, points_before=1), design, fan)
    length = sum(run.length for _, run in design.runs())
    fittings = sum(fitting.count for _, run in design.runs() for fitting in run.fittings) + 1
    assert joint_length(design) == 4.0
    assert cost.pipe == pytest.approx(10.0 * length + 7.0 * fittings)
    # 4 per litre, two pits of 30 L; 4 m of joint, three quarters of it sealed; 36 m2, two fifths of its leaks
    assert cost.pits == pytest.approx(240.0)
    assert cost.sealing == pytest.approx(20.0 * 4.0 * 0.75 + 5.0 * 36.0 * 0.4)
    assert cost.points == 300.0
    assert cost.fan == fan.price
    assert cost.total == pytest.approx(cost.pipe + 240.0 + cost.sealing + 300.0 + cost.fan)
    twins = with_value(design, ("arrangement",), "series")
    assert with_fan(cost, twins, fan).fan == 2 * (fan.price or 0.0)


def test_what_is_drawn_is_among_the_choices_once() -> None:
    design = floor_job()
    found = candidates(with_value(design, ("search", "pits"), (0.03, 0.06)))
    # 30 L is what is drawn: two pits, five fans... each once
    assert len({(c.fan, c.pipe, c.base) for c in found}) == len(found)
    assert {c.base.pit for c in found} == {None, 0.06}
    assert (found[0].pipe, found[0].base) == (None, (None, None, False))


def test_a_looser_limit_never_takes_a_choice_away() -> None:
    design = with_value(floor_job(), ("house", "listeners"), (Listener(name="Bed", distance=4.0, insulation=10.0),))
    few: dict[str, Any] = {"another_point": False, "pits": (), "pipes": ()}
    found = [searched(design, sound_limit=limit, **few) for limit in (10.0, 20.0, 30.0, None)]
    held = [{row.candidate for row in each.rows if row.holds} for each in found]
    for tight, loose in itertools.pairwise(held):
        assert tight <= loose
    assert len(held[0]) < len(held[-1])


def test_a_limit_nothing_can_meet_is_named_with_the_nearest_miss() -> None:
    design = with_value(floor_job(), ("house", "listeners"), (Listener(name="Bed", distance=4.0, insulation=10.0),))
    found = searched(design, sound_limit=1.0, pits=(), another_point=False)
    assert found.best is None
    assert found.binds == "sound"
    nearest = found.rows[0]
    words = said(found)
    assert "the sound at the first listener" in words["binds"]
    assert f"{nearest.sound + nearest.sound_band - 1.0:.4g} over the limit" in words["nearest"]
    over = [row.sound + row.sound_band for row in found.rows if len(row.misses) == 1 and row.binds == "sound"]
    assert nearest.sound + nearest.sound_band == min(over)


@pytest.mark.parametrize(("insulation", "told"), [(0.0, True), (60.0, False)])
def test_what_is_hardly_heard_is_in_words_and_not_told_apart(insulation: float, told: bool) -> None:
    # A judgement: nothing under 15 dB(A) has a figure, in the table, the sentences and the numbers of the answer.
    fans = tuple(
        with_value(fan, ("sound_dBA",), level) for fan, level in zip(plain_job().fans, (50.0, 40.0), strict=True)
    )
    listener = Listener(name="Bed", distance=4.0, insulation=insulation)
    design = with_value(plain_job(fans=fans), ("house", "listeners"), (listener,))
    found = searched(design, **LIMITLESS, pipes=())
    best, second = (row for row in found.rows if row.holds)
    assert abs(best.sound - second.sound) > 1.0
    runner_up = said(found)["runner-up"]
    assert ("louder" in runner_up or "quieter" in runner_up) == told
    column = next(column for column in COLUMNS if column.key == "sound")
    assert (column.cell(best, SI) == "below 15") == (not told)
    assert (column.cell(best, SI, with_unit=True) == "below 15 dB(A), hardly audible") == (not told)
    assert min(best.sound, second.sound) < 0.0 or told
    assert all(row["sound_dBA"] >= 0.0 for row in choices_answer(found)["choices"])
    assert all(column.shown(row, SI) >= 0.0 for row in found.rows)  # type: ignore[operator]


def test_a_target_out_of_reach_tells_how_fast_the_fan_would_have_to_turn() -> None:
    # laminar ground and a straight curve: at 400 Pa shut-off and 0.1 m3/s the strong fan gives 400 r^2 - 4000 r Q
    found = searched(plain_job(target=Target(suction=30.0)), **LIMITLESS, pipes=())
    assert found.binds == "suction"
    nearest = found.rows[0]
    assert nearest.fan == "Strong"
    assert nearest.wanted_speed > 1.0
    assert math.isnan(nearest.life_cycle)
    assert f"{nearest.wanted_speed:.4g} of full speed" in said(found)["nearest"]
    assert found.worths == ()


def test_air_too_fast_binds() -> None:
    found = searched(floor_job(), velocity_limit=0.05, pits=(), another_point=False)
    assert found.binds == "velocity"
    assert "faster than allowed" in said(found)["nearest"]


def test_a_flow_beyond_the_curve_binds() -> None:
    fan = record([0.0, 0.02], [400.0, 390.0], [40.0, 40.0], name="Short")
    found = searched(plain_job(fans=(fan,), fan="Short", target=Target(suction=8.0)), **LIMITLESS, pipes=())
    assert [row.binds for row in found.rows] == ["curve"]
    assert "beyond the last measured point" in said(found)["nearest"]


def test_a_fan_without_a_rating_is_not_known_to_be_quiet() -> None:
    listener = Listener(name="Bed", distance=4.0, limit=60.0, limit_source="invented")
    design = with_value(plain_job(), ("house", "listeners"), (listener,))
    found = searched(design, **LIMITLESS, pipes=())
    assert {row.binds for row in found.rows} == {"sound"}
    assert "no sound rating" in said(found)["nearest"]


def test_a_fan_without_a_price_is_reckoned_as_nothing_and_said() -> None:
    design = plain_job()
    bare = tuple(fan.model_copy(update={"price": None}) for fan in design.fans[:1]) + design.fans[1:]
    found = searched(with_value(design, ("fans",), bare), **LIMITLESS, pipes=())
    assert "“Strong”" in said(found)["no-price"]
    assert next(row for row in found.rows if row.fan == "Strong").cost.fan == 0.0


def test_a_fan_without_power_comes_last_of_those_that_hold() -> None:
    fan = record([0.0, 0.1], [400.0, 0.0], name="Unmetered", price=1.0)
    design = plain_job()
    found = searched(with_value(design, ("fans",), (fan, *design.fans)), **LIMITLESS, pipes=())
    assert found.rows[0].fan != "Unmetered"
    assert math.isnan(next(row for row in found.rows if row.fan == "Unmetered").life_cycle)
    assert "“Unmetered”" in said(found)["no-power"]
    json.dumps(choices_answer(found), allow_nan=False)


def test_without_a_plan_only_what_can_be_computed_is_tried() -> None:
    found = searched(plain_job(), pits=(0.05,), pipes=())
    assert {row.candidate.base.leak_left for row in found.rows} == {None}
    assert {row.points for row in found.rows} == {1}
    assert "Without a drawn floor, sealing and one more suction point" in said(found)["left-out"]


def test_one_more_point_stands_at_the_weakest_hole_or_where_it_is_put() -> None:
    design = floor_job(target=8.0)
    found = searched(design, pits=(), pipes=(), leak_left=())
    more = next(row for row in found.rows if row.points == 2)
    at = [point.position for _, point in design_of(more, found.design).suction_points()]
    first = prepare(choose_fan(design, design.fans[0].name)).at(1.0).holding
    assert at[1] == next(hole.position for hole in design.holes if first and hole.name == first.weakest)
    put = searched(design, pits=(), pipes=(), leak_left=(), another_place={"x": 5.0, "y": 2.0})
    more = next(row for row in put.rows if row.points == 2)
    place = list(design_of(more, put.design).suction_points())[1][1].position
    assert place is not None
    assert (place.x, place.y) == (5.0, 2.0)


def test_what_cannot_be_built_is_left_out_and_said() -> None:
    found = searched(floor_job(), pits=(), pipes=(), leak_left=(), another_place={"x": 50.0, "y": 2.0})
    assert {row.points for row in found.rows} == {1}
    assert "lies outside the floor" in said(found)["left-out"]


def test_what_is_left_out_is_told_in_the_units_of_the_reader() -> None:
    """A volume and a share are values, not letters. 1 gallon is 3.785412e-3 m3 (NIST SP 811, 2008, appendix B.8)."""
    outside = {"x": 50.0, "y": 2.0}
    found = searched(floor_job(), pits=(15 * 3.785412e-3,), pipes=(), leak_left=(0.5,), another_place=outside)

    def write(value: float, kind: str) -> str:
        return format_quantity(value, kind, US)  # type: ignore[arg-type]

    told = [notice.text(write) for notice in sentences(found) if notice.code == "left-out"]
    assert any(text.startswith("Pits of 15.0 gal, one more suction point, 50 % of the leakage left: ") for text in told)
    assert not [text for text in told if " L" in text]


def test_a_fan_that_is_met_often_is_answered_by_itself() -> None:
    rows = [(0.0, 300.0), (0.02, 160.0), (0.03, 100.0), (0.04, 180.0), (0.06, 190.0), (0.08, 0.0)]
    fan = record([q for q, _ in rows], [p for _, p in rows], [30.0] * 6, name="Dip", control="none")
    # nothing is uncertain but the reading, so that no sample is torn from one crossing to another
    certain = Uncertainty(friction_low=1.0, fittings_low=1.0, fittings_high=1.0, fan_speed=0.0)
    calm = WorstDay(exhausts=0.0, neutral_height=0.0)
    target = Target(suction=1.0)
    design = plain_job(fans=(fan,), fan="Dip", target=target, worst_day=calm, uncertainty=certain)
    design = with_value(design, ("intake", "source", "ground", "band"), 0.0)
    # by the first of three crossings, where the fan settles from standstill
    found = searched(design, **LIMITLESS, pipes=())
    prepared = prepare(design)
    assert len(prepared.crossings(1.0)) == 3
    solved = prepared.stable_crossing(1.0)
    assert solved is not None
    assert found.rows[0].speed == 1.0
    assert found.rows[0].flow == pytest.approx(solved.crossing.flow)


def test_one_step_is_worth_what_solving_it_again_says() -> None:
    design = with_value(plain_job(), ("search",), Search(pipes=("4 in. schedule 40",)))
    point = design.intake.source.model_copy(update={"pit_volume": 0.02})  # type: ignore[union-attr]
    design = with_value(design, ("intake", "source"), point)
    step = next(worth for worth in worths(design) if worth.step == "pit")
    costs = []
    for volume in (0.02, 0.021):
        prepared = prepare(with_value(design, ("intake", "source", "pit_volume"), volume))

        def spare(speed: float, prepared: Prepared = prepared) -> float:
            holding = prepared.holding(speed)
            assert holding is not None
            assert holding.chance is not None
            return holding.chance - holding.wanted_chance

        # where the chance is just what is asked: the whole steps that a speed is offered in would swallow it
        year = prepared.at(brentq(spare, 0.3, 1.0, xtol=1e-9)).year
        assert year is not None
        costs.append(year.cost)
    assert step.saves == pytest.approx(costs[0] - costs[1], rel=1e-3)
    # in deep soil a bigger pit resists less, so that a slower fan does
    assert step.saves > 0.0


@pytest.mark.parametrize(("left", "told"), [(1.0, True), (0.5, True), (0.25, False), (0.0, False)])
def test_the_last_metre_of_joint_is_no_measure_of_the_next(left: float, told: bool) -> None:
    """Of 4 m the last one closes the floor for good; what it saves would be taken for the worth of any metre."""
    design = with_value(floor_job(), ("fan",), "Medium suction, electronic")
    found = worths(with_value(design, ("slab", "joints_left"), left))
    assert ("pit" in {worth.step for worth in found}) is True
    assert ("joint" in {worth.step for worth in found}) == told


def test_progress_is_told_to_its_end_and_a_search_can_be_called_off() -> None:
    seen: list[tuple[int, int]] = []
    design = with_value(plain_job(), ("search",), Search(pits=(0.05, 0.06)))
    found = search(design, lambda done, of: seen.append((done, of)))
    assert seen[0] == (0, len(found.rows))
    assert seen[-1] == (len(found.rows), len(found.rows))
    assert [done for done, _ in seen] == sorted(done for done, _ in seen)
    with pytest.raises(Cancelled):
        search(design, cancelled=lambda: True)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"holes": ()}, "at least one test hole"),
        ({"fans": (), "fan": None}, "at least one fan"),
        ({"search": Search(fans=("Nobody's",))}, "at least one fan"),
        ({"holes": (TestHole(name="never read"),)}, "nothing is known of any test hole"),
    ],
)
def test_nothing_to_search_by_is_said(change: dict[str, Any], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        search(plain_job(**change))


def test_the_library_is_searched_whole() -> None:
    design = plain_job(fans=tuple(fan_classes()), fan=None, target=Target(suction=4.0))
    found = search(design)
    # the pit is drawn as the smallest that is tried
    assert len(found.rows) == len(fan_classes()) * 4 * 3
    assert {row.fan for row in found.rows} == {fan.name for fan in fan_classes()}


def test_the_answer_for_programs_is_plain() -> None:
    found = searched(plain_job(), pits=(0.05,), pipes=())
    answer = json.loads(json.dumps(choices_answer(found), allow_nan=False))
    assert answer["best"].startswith("“")
    assert answer["binds"] is None
    assert [row["holds"] for row in answer["choices"]] == [row.holds for row in found.rows]
    assert answer["choices"][0]["life_cycle_cost"] == found.rows[0].life_cycle


def test_sites_side_by_side_need_what_each_needs() -> None:
    """A riser outdoors, of one bore and of twice that, and another spread of its fittings: each keeps its own."""
    riser = Run(
        name="Riser",
        pipe=Pipe(name="DN 75", inside_diameter=0.0712),
        length=6.0,
        rise=5.0,
        surroundings="outdoors",
        fittings=(Fitting(kind="90 elbow, long-turn", count=4),),
    )
    design = with_value(plain_job(), ("intake", "runs"), (riser,))
    design = with_value(design, ("place", "outdoor_temperature"), 263.15)
    pipe = design.intake.runs[0].pipe
    wide = with_value(
        design, ("intake", "runs", 0, "pipe"), pipe.model_copy(update={"inside_diameter": 2.0 * pipe.inside_diameter})
    )
    first, second = sites.lay_out([design, wide])
    for site in (first, second):
        assert site.middle.network.draft == pytest.approx(prepare(site.design).worst_day.network(site.assembly).draft)
    assert float(second.middle.network.draft[0]) != pytest.approx(float(first.middle.network.draft[0]), rel=0.02)
    other = sites.lay_out([with_value(design, ("uncertainty",), Uncertainty(fittings_low=0.3, fittings_high=5.0))])[0]
    both = sites.side_by_side([first, other])
    for w, site in enumerate((first, other)):
        alone = sites.side_by_side([site])
        assert both.samples.pressure[:, w] == pytest.approx(alone.samples.pressure[:, 0], rel=1e-9)


def test_the_last_metre_of_a_joint_is_not_told() -> None:
    """Else sealing a joint to its end is priced as if the next metre were worth as much."""
    design = choose_fan(floor_job(target=2.0), "Everyday in-line, electronic")
    told = {}
    for left in (1.0, 0.3, 0.25, 0.2):
        # of the joint's 4 m a quarter is one metre
        steps = {worth.step for worth in worths(with_value(design, ("slab", "joints_left"), left))}
        assert steps
        told[left] = "joint" in steps
    assert told == {1.0: True, 0.3: True, 0.25: False, 0.2: False}


def test_a_level_within_its_band_of_the_limit_keeps_no_limit() -> None:
    """Else a fan is recommended for a bed at which it is not known to be quiet enough."""
    design = plain_job()
    rated = tuple(fan.model_copy(update={"sound_dBA": 50.0}) for fan in design.fans)
    design = with_value(
        with_value(design, ("fans",), rated), ("house", "listeners"), (Listener(name="Bed", distance=4),)
    )
    (loudest, *_) = sorted(searched(design, **LIMITLESS, pipes=()).rows, key=lambda row: -row.sound)
    for limit, misses in (
        (loudest.sound + 0.5 * loudest.sound_band, ["sound"]),
        (loudest.sound + 1.01 * loudest.sound_band, []),
    ):
        found = searched(design, **LIMITLESS, pipes=(), sound_limit=limit)
        row = next(row for row in found.rows if row.fan == loudest.fan)
        assert [each for each, _ in row.misses] == misses


def test_a_floor_that_is_searched_sealed_has_its_joints_sealed_as_far_as_its_slab() -> None:
    """Else sealing is priced and praised by a floor whose joints stay open."""
    design = floor_job()
    sealed = [base for base in bases(design) if base.leak_left is not None]
    assert sealed
    for base in sealed:
        slab = with_base(design, base).slab
        assert slab is not None
        assert slab.leak_left == slab.joints_left == base.leak_left < 1.0


def test_slab_and_joints_are_told_apart_in_what_is_left() -> None:
    """Else a joint is said to be sealed by what was sealed of the slab."""
    design = with_value(with_value(floor_job(), ("slab", "leak_left"), 0.6), ("slab", "joints_left"), 0.3)
    answer = choices_answer(searched(design, pits=(), pipes=(), leak_left=(), another_point=False))
    assert {(row["leak_left"], row["joints_left"]) for row in answer["choices"]} == {(0.6, 0.3)}


def test_a_step_that_costs_is_not_said_to_save() -> None:
    found = searched(plain_job(), **LIMITLESS, pipes=())
    steps = (
        Worth("elbow", "One elbow less", None, -3.25, 0.5),
        Worth("pit", "{0} more of pit", (1e-3, "volume"), 2.5, 0.5),
    )
    words = said(replace(found, worths=steps))
    assert words["worth-elbow"].startswith("One elbow less costs 3.25 EUR a year")
    assert words["worth-pit"].startswith("0.001 more of pit saves 2.5 EUR a year")
