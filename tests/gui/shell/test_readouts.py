"""The answers over the speed rail against the year they are taken from, in either system of units."""

from __future__ import annotations

import math

import pytest
from msgspec.structs import replace

from workbench.design import Design
from workbench.design.record import with_value
from workbench.files.scenes import load_scene, scene_names
from workbench.gui.shell.readouts import answers_of, scale_of
from workbench.solving import prepare
from workbench.units import SI, SYSTEMS, System, format_chance, format_quantity


@pytest.mark.parametrize("system", SYSTEMS)
@pytest.mark.parametrize("name", scene_names())
def test_money_is_one_total_of_the_parts_shown(name: str, system: System) -> None:
    prepared = prepare(load_scene(name))
    outcome = prepared.at(0.9)
    year = outcome.year
    assert year is not None
    said = {answer.key: answer for answer in answers_of(prepared, outcome, system)}

    money = said["money"]
    # amounts that could be taken for one another would prove nothing
    assert round(year.fan_cost) != round(year.house_air_cost)
    assert round(year.fan_energy) != round(year.heat_energy)
    assert money.value == f"{year.fan_cost + year.house_air_cost:.0f} {year.currency}"
    whole = format_quantity(year.fan_energy + year.heat_energy + year.cooling_energy, "energy_kwh", system)
    assert f"; {whole}; fan draws " in money.detail
    shown = [int(words.rsplit(" ", 1)[1]) for words, _ in money.parts]
    assert shown[0] == round(year.fan_cost)
    assert sum(shown) == int(money.value.split(" ")[0])
    assert [words.rsplit(" ", 1)[0] for words, _ in money.parts] == ["fan", "heating of house air"]


def test_the_example_of_old_adds_up() -> None:
    """45 and 124 beside 170 do not."""
    year = prepare(load_scene("studio")).at(0.7).year
    assert year is not None
    assert replace(year, fan_cost=45.4, house_air_cost=124.3).cost_told == (45.0, 125.0, 170.0)
    fan, air, total = replace(year, fan_cost=math.nan, house_air_cost=124.3).cost_told
    assert math.isnan(fan)
    assert math.isnan(total)
    assert air == 124.0


def failing() -> Design:
    """A floor whose weakest hole the fan does not reach, even at full speed."""
    return with_value(load_scene("studio"), ("target", "suction"), 8.0)


def unread() -> Design:
    return with_value(load_scene("studio"), ("holes", 1, "readings"), ())


def test_the_verdict_comes_first_with_its_number_and_what_it_hangs_on() -> None:
    prepared = prepare(failing())
    outcome = prepared.rested(0.7)
    holding = outcome.holding
    assert holding is not None
    assert holding.verdict == "fails"
    first = answers_of(prepared, outcome, SI)[0]
    assert first.key == "verdict"
    assert first.value == f"Below target: {format_chance(holding.chance or 0.0)} likely, 90 % asked"
    assert first.subject == f"Weakest: {holding.weakest}"
    assert first.span is not None
    assert first.span.middle < first.span.target
    assert first.span.high <= 1.0


def test_a_hole_that_nobody_read_is_weakest_by_the_estimate_alone() -> None:
    prepared = prepare(with_value(unread(), ("holes", 1, "readings"), ()))
    name = prepared.design.holes[1].name
    outcome = prepared.rested(0.7)
    assert outcome.holding is not None
    lowest = replace(outcome.holding, weakest=name)
    first = answers_of(prepared, replace(outcome, holding=lowest), SI)[0]
    assert first.value == "Not measured"
    assert first.subject == f"Weakest by the estimate: {name}"


@pytest.mark.parametrize("system", SYSTEMS)
def test_where_no_speed_is_enough_the_scale_says_by_how_much(system: System) -> None:
    prepared = prepare(failing())
    assert prepared.lowest.confident is None
    scale = scale_of(prepared, system)
    full = prepared.rested(1.0).holding
    assert full is not None
    assert scale.lowest is None
    assert scale.verdict == full.verdict
    assert scale.none.startswith("No speed meets the target: ")
    if full.margin < 0.0:
        assert format_quantity(-full.margin, "hole_pressure", system) in scale.none
    assert f"{format_chance(full.chance or 0.0)} likely, 90 % asked at full speed" in scale.none


def test_where_a_hole_was_not_read_no_speed_is_promised() -> None:
    prepared = prepare(unread())
    scale = scale_of(prepared, SI)
    assert scale.lowest is None
    assert scale.verdict == "not measured"
    assert scale.none.startswith("No speed can be named: not every test hole is measured")
