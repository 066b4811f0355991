"""Whatever number an answer in words tells is the field of the answer that it claims to be, in either system of units.

A number told of the wrong day, part or quantity is a lie however well it was reckoned.
"""

from __future__ import annotations

import math
import re
from decimal import Decimal
from functools import lru_cache
from typing import cast

import pytest

from workbench.files.answer_text import answer_lines
from workbench.files.scenes import load_scene, scene_names
from workbench.solving import Outcome, Prepared, prepare
from workbench.solving.run.water import water_at
from workbench.units import SI, SYSTEMS, Dimension, System, format_quantity

CASES = [(name, system) for name in scene_names() for system in SYSTEMS]
VERDICTS = {"holds": "Meets target", "fails": "Below target", "unsure": "Uncertain", "not measured": "Not measured"}


@lru_cache(maxsize=len(scene_names()))
def answered(name: str) -> tuple[Prepared, Outcome]:
    """A scene at its own speed, with every sample."""
    design = load_scene(name)
    prepared = prepare(design)
    return prepared, prepared.rested(design.speed)


class Page:
    """An answer in words as it is read: rows and sentences under each title."""

    def __init__(self, name: str, system: System) -> None:
        self.system = system
        self.prepared, self.outcome = answered(name)
        self.parts: dict[str, list[str]] = {}
        title = ""
        for line in answer_lines(self.prepared, self.outcome, system):
            if line and not line.startswith(" "):
                title = line
            elif line:
                self.parts.setdefault(title, []).append(line.strip())

    def rows(self, title: str) -> list[tuple[str, ...]]:
        return [tuple(re.split(r" {3,}", line)) for line in self.parts[title]]

    def words(self, title: str) -> str:
        # lines may break behind a hyphen
        return " ".join(self.parts[title]).replace("- ", "-")

    def write(self, value: float, dimension: str) -> str:
        return format_quantity(value, cast(Dimension, dimension), self.system)


@pytest.fixture(params=CASES, ids=[f"{name}, {system}" for name, system in CASES])
def page(request: pytest.FixtureRequest) -> Page:
    return Page(*request.param)


def test_the_operating_point_and_all_crossings(page: Page) -> None:
    write, outcome, met = page.write, page.outcome, page.outcome.operating
    assert met is not None
    assert outcome.band is not None
    low, high = (write(edge, "flow") for edge in outcome.band)
    assert page.rows("Operating point") == [
        ("Airflow", write(met.flow, "flow"), f"{low} to {high}, uncertainty of soil and pipe"),
        ("Fan pressure", write(met.fan_pressure, "pressure"), "total"),
        ("Gauge before the fan", write(outcome.gauge, "pressure"), "below the room"),
        ("Highest velocity", write(outcome.velocity, "velocity")),
        ("Power", write(met.power, "power")),
    ]
    crossings = [
        ("stable" if each.stable else "unstable", write(each.flow, "flow"), write(each.fan_pressure, "pressure"))
        for each in outcome.crossings
    ]
    assert len(crossings) == 1 or page.rows("All crossings of fan and system") == crossings


def test_the_points_and_where_the_pressure_goes(page: Page) -> None:
    write, outcome = page.write, page.outcome
    assert page.rows("Suction points: flow and suction at the pit") == [
        (point.name, write(point.flow, "flow"), write(point.suction, "pressure")) for point in outcome.points
    ]
    told = page.rows("Where the pressure goes")
    *told, last = told
    assert [row[0] for row in told] == [loss.part for loss in outcome.losses]
    assert outcome.operating is not None
    assert last == ("Fan pressure, total", write(outcome.operating.fan_pressure, "pressure"), "100 %")

    def number(text: str) -> Decimal:
        return Decimal(text.partition(" ")[0].replace("\N{MINUS SIGN}", "-"))

    # what is read adds up to the total that is read
    assert sum(number(row[1]) for row in told) == number(last[1])
    assert sum(number(row[2]) for row in told) == 100
    for row, loss in zip(told, outcome.losses, strict=True):
        assert abs(float(number(row[1])) - float(number(write(loss.pressure, "pressure")))) <= 1.0
    shares = [number(row[2]) for row in told]
    assert shares.index(max(shares)) == max(range(len(shares)), key=lambda i: outcome.losses[i].pressure)


def test_what_is_heard_and_a_year(page: Page) -> None:
    write, outcome, year = page.write, page.outcome, page.outcome.year
    assert year is not None
    assert page.rows("Noise") == [
        (heard.place, write(heard.level, "heard"), f"± {write(heard.band, 'level_difference')}")
        for heard in outcome.sound
    ]
    told = page.rows("Per year")[:3]
    assert told[2][0] == "Total"
    for column in (1, 2):
        amounts = [int(row[column].split(" ")[0].replace("\N{NARROW NO-BREAK SPACE}", "")) for row in told]
        assert amounts[0] + amounts[1] == amounts[2]
    assert told[0] == ("Fan", write(year.fan_energy, "energy_kwh"), f"{write(year.fan_cost, 'money')} {year.currency}")
    bought = write(year.heat_energy + year.cooling_energy, "energy_kwh")
    # fan and house air add up as shown
    whole = year.fan_cost + year.house_air_cost
    air = year.house_air_cost if math.isnan(whole) else round(whole) - round(year.fan_cost)
    assert told[1] == ("House air exhausted", bought, f"{write(air, 'money')} {year.currency}")
    low, high = (write(edge, "money") for edge in year.cost_band)
    share, least, most = (write(each, "fraction") for each in (year.house_air_share, *year.share_band))
    words = page.words("Per year")
    assert f"Total {low} to {high} {year.currency}. {share} of the exhaust is house air ({least} to {most})" in words


def test_what_every_hole_keeps_and_whether_that_is_enough(page: Page) -> None:
    write, outcome, target = page.write, page.outcome, page.prepared.design.target
    holes = outcome.holding.holes if outcome.holding is not None else ()
    assert page.rows("Test holes")[: len(holes)] == [
        (
            hole.name,
            write(hole.suction, "hole_pressure"),
            f"worst day {write(hole.worst, 'hole_pressure')}",
            f"({write(hole.worst_band[0], 'hole_pressure')} to {write(hole.worst_band[1], 'hole_pressure')})",
        )
        for hole in holes
    ]
    words = page.words("Test holes")
    assert f"{VERDICTS[outcome.verdict]}: " in words
    assert f"The target of {write(target.suction, 'hole_pressure')} is from {target.source}." in words
    if outcome.holding is None:
        return
    weakest = min(holes, key=lambda hole: hole.worst)
    assert (
        f"the weakest hole is {weakest.name}, with {write(weakest.worst, 'hole_pressure')} on the worst day where "
        f"{write(target.suction, 'hole_pressure')} is required"
    ) in words
    assert outcome.holding.chance is not None
    # cut, not rounded: a miss stays one
    chance = int(100.0 * outcome.holding.chance)
    assert f"{chance} % likely at every hole, {100.0 * target.chance:.0f} % asked" in words
    lowest = page.prepared.lowest
    assert lowest.best_estimate is not None
    sure = "at no speed" if lowest.confident is None else f"from {100.0 * lowest.confident:.1f} %"
    asked = f"at {100.0 * target.chance:.0f} % confidence {sure}."
    assert f"met from {100.0 * lowest.best_estimate:.1f} % of full speed; {asked}" in words


def test_water_is_that_of_the_coldest_day(page: Page) -> None:
    design = page.prepared.design
    cold = design.worst_day.outdoor_temperature
    water = water_at(page.prepared, page.outcome, cold, design.place.wind)
    assert water is not None
    day = water_at(page.prepared, page.outcome, design.place.outdoor_temperature, design.place.wind)
    assert day is not None
    assert water.total > day.total
    told = f"{page.write(water.total, 'mass')} of condensate per day at {page.write(cold, 'temperature')} outdoors."
    assert page.words("Condensate in the pipe").startswith(told)


def test_rules_are_counted_in_the_words_of_the_window() -> None:
    """By common practice alone one rule of the studio is met, one is within its band, three want a value."""
    prepared, outcome = answered("studio")
    lines = answer_lines(prepared, outcome, SI)
    assert lines[lines.index("Rules: General practice") + 1].strip() == "1 met, 0 not met, 1 uncertain, 3 no input yet."
