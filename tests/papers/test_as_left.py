"""What was read at the start-up stands on the papers: the mark with its lines, and readings against prediction."""

from __future__ import annotations

import pytest

from tests.papers.conftest import matter_of, pages
from tests.visited import story
from workbench.design import Design
from workbench.design.record import with_value
from workbench.files.scenes import load_scene
from workbench.papers.aim import mark_of
from workbench.papers.make import PAPERS
from workbench.solving.later.ranking import diagnose
from workbench.units import SI, US, format_quantity

STUDIO = load_scene("studio")
STORY = story(STUDIO)


def left(pressure: float) -> Design:
    return with_value(STORY, ("visits", 0, "gauge", "pressure"), pressure)


def told(design: Design, name: str = "owner") -> str:
    return " ".join(pages(PAPERS[name](matter_of(design, SI))))


@pytest.mark.parametrize("pressure", [115.0, 122.0])
def test_the_mark_is_the_reading_left_and_its_lines_are_a_fifth_of_it(pressure: float) -> None:
    """A fifth: ANSI/AARST CCAH 2020, advice, as on the sheet without a start-up."""
    sheet = told(left(pressure))
    assert f"{pressure:.0f} your mark" in sheet
    low, high = (format_quantity(f * pressure, "pressure", SI, with_unit=False) for f in (0.8, 1.2))
    assert f"{low} to {high} As usual: nothing to do." in sheet
    assert f"below {low} A joint" in sheet
    assert f"above {high} Water" in sheet
    assert "the reading left at the start-up of 2026-11-20" in sheet
    assert "118 Pa was predicted" in sheet
    assert "The mark is calculated" not in sheet


def test_without_a_start_up_it_says_that_it_is_calculated() -> None:
    for design in (
        STUDIO,
        with_value(STORY, ("visits",), STORY.visits[1:]),
        with_value(STORY, ("visits", 0, "gauge"), None),
    ):
        sheet = told(design)
        assert "118 your mark" in sheet
        assert "The mark is calculated" in sheet


def test_a_reading_left_that_the_design_does_not_bear_out_is_not_called_usual() -> None:
    """Below the least reading, or farther off than a gauge may move: a failing house is never called safe."""
    prepared = matter_of(STORY, SI).prepared
    at = prepared.gauge_at_lowest
    assert at is not None
    for pressure in (0.99 * at.suction, 118.0 * 1.25, 60.0):
        sheet = told(left(pressure))
        assert "As usual" not in sheet
        assert "As left; that it is enough is not shown." in sheet
        assert "before you rely on it" in sheet
    assert "As usual" in told(left(1.01 * at.suction))


def test_the_last_start_up_counts_and_one_past_the_fan_or_with_the_fan_off_does_not() -> None:
    again = STORY.visits[0].model_copy(update={"date": "2027-06-01"})
    again = with_value(again, ("gauge", "pressure"), 121.0)
    both = with_value(STORY, ("visits",), (again, *STORY.visits))
    m = matter_of(both, SI)
    mark = mark_of(m.prepared, m.outcome, m.aim)
    assert mark.left is not None
    assert (mark.left.date, mark.reading) == ("2027-06-01", 121.0)
    past = with_value(both, ("visits", 0, "gauge", "side"), "pressure")
    m = matter_of(past, SI)
    mark = mark_of(m.prepared, m.outcome, m.aim)
    assert mark.left is not None
    assert mark.left.date == "2026-11-20"


def test_radon_tests_of_visits_stand_on_the_owner_s_sheet() -> None:
    sheet = told(STORY)
    assert "After the work 2026-11-21" in sheet
    assert "Retest 2028-03-09" in sheet
    assert "310 Bq/m³" in sheet
    assert "No result was entered" not in sheet
    entered = with_value(STORY, ("job", "after", "result"), "88 Bq/m³, own laboratory")
    assert "88 Bq/m³, own laboratory" in told(entered)


@pytest.mark.parametrize("system", [SI, US])
def test_the_start_up_record_holds_the_readings_against_what_was_expected(system: object) -> None:
    design = left(60.0)
    m = matter_of(design, system)  # type: ignore[arg-type]
    sheet = " ".join(pages(PAPERS["startup"](m)))
    found = diagnose(m.prepared, design, design.visits[0])
    units = {"gauge": "pressure", "riser": "pressure", "hole": "hole_pressure", "power": "power", "flow": "flow"}

    def bare(value: float, kind: str) -> str:
        return format_quantity(value, units[kind], m.system, with_unit=False)  # type: ignore[arg-type]

    for each in found.readings:
        kind = each.item.kind
        expected, low, high, read = (bare(v, kind) for v in (each.expected, *each.band, each.read))
        mark = "● inside" if each.inside else "▲ below"
        if kind == "hole":
            assert f"{each.item.name} {expected} {low} to {high}" in sheet
            assert f"{read} {mark}" in sheet
        else:
            assert f"{expected} {low} to {high} {read} {mark}" in sheet
    assert found.readings[0].inside is False
    assert "Date 2026-11-20" in sheet.replace("Date Outdoor air Exhausts Note ", "Date ")
    assert "not entered" in sheet
    blank = " ".join(pages(PAPERS["startup"](matter_of(STUDIO, SI))))
    assert "inside" not in blank
