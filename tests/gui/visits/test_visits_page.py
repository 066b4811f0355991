"""The page of visits under a hand: what is typed, what it is held against, and what is refused beside its field."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLineEdit
from pytestqt.qtbot import QtBot

from tests.files.test_visit_sheet import book, filled
from tests.files.test_visit_sheet import typed as typed_into
from tests.gui.hand import Hand
from tests.visited import story
from workbench.design import Design
from workbench.design.record import with_value
from workbench.files.answer_text import writer
from workbench.files.diagnosis_text import NO_PROOF, cause_lines, finding_words, next_words, unseen_words
from workbench.files.scenes import load_scene
from workbench.gui.kit.field import Field
from workbench.gui.shell.titles import VISITS
from workbench.gui.visits.page import VisitsPage
from workbench.gui.visits.reading_row import ReadingRow
from workbench.gui.visits.sheet_preview import SheetPreview
from workbench.solving import prepare
from workbench.solving.later.ranking import diagnose
from workbench.units import SI, US, as_read, format_quantity

STUDIO = load_scene("studio")
PASCAL = 248.84
"""Of one inch of water, as gauges of the trade are marked (NIST SP 811, at 4 °C: 249.089, at 60 °F: 248.84)."""


@pytest.fixture
def at_visits(qtbot: QtBot) -> Callable[[Design], tuple[Hand, VisitsPage]]:
    def opened(design: Design) -> tuple[Hand, VisitsPage]:
        hand = Hand(qtbot, design)
        hand.document.settle()
        hand.window.pages.turn_to(VISITS)
        page: VisitsPage = hand.window.pages.page(VISITS)
        answered(hand, page)
        return hand, page

    return opened


def answered(hand: Hand, page: VisitsPage) -> None:
    hand.document.settle()
    hand.settle()
    page.settle()
    hand.qtbot.waitUntil(lambda: not page.later.background.busy(), timeout=30_000)
    hand.settle()


def typed(field: Field, text: str) -> None:
    """Type into a field and leave it by Return."""
    editor = field.control()
    assert isinstance(editor, QLineEdit)
    editor.setFocus()
    editor.selectAll()
    QTest.keyClicks(editor, text) if text else QTest.keyClick(editor, Qt.Key.Key_Delete)
    QTest.keyClick(editor, Qt.Key.Key_Return)


def add(hand: Hand, page: VisitsPage, kind: str, day: str) -> None:
    page.visits.ask_new()
    asking = page.visits._asking
    assert asking is not None
    asking.kind.set_value(kind)
    typed(asking.date, day)
    asking.add.click()
    hand.settle()


def test_a_visit_is_added_typed_and_taken_back(at_visits: Callable[[Design], tuple[Hand, VisitsPage]]) -> None:
    hand, page = at_visits(STUDIO)
    assert page.visits.none.isVisible()
    assert not page.visits.form.isVisible()
    add(hand, page, "start-up", "2026-11-20")
    assert page.visits._asking is None
    assert [(v.kind, v.date) for v in hand.design.visits] == [("start-up", "2026-11-20")]
    assert hand.document.undo_words == "Add start-up of 2026-11-20"
    form = page.visits.form
    assert not form.second.isVisible()
    assert not form.gauge.field("accuracy").isVisible()
    typed(form.gauge.field("pressure"), "118")
    hand.settle()
    gauge = hand.design.visits[0].gauge
    assert gauge is not None
    assert gauge.pressure == 118.0
    assert form.gauge.field("accuracy").isVisible()
    assert form.second.isVisible()
    assert hand.document.undo_words == "Enter system gauge of the start-up of 2026-11-20"
    typed(form.holes.field("Show room"), "5.1")
    hand.settle()
    assert [(h.hole, h.suction) for h in hand.design.visits[0].holes] == [("Show room", 5.1)]
    assert hand.document.undo_words == "Enter suction at Show room of the start-up of 2026-11-20"
    typed(form.gauge.field("pressure"), "")
    hand.settle()
    assert hand.design.visits[0].gauge is None
    assert hand.document.undo_words == "Remove system gauge of the start-up of 2026-11-20"
    assert hand.undo_all() == 4
    assert hand.design == STUDIO


def test_a_gauge_in_another_unit_is_read_and_one_in_none_that_is_known_is_refused_in_its_field(
    at_visits: Callable[[Design], tuple[Hand, VisitsPage]],
) -> None:
    hand, page = at_visits(STUDIO)
    add(hand, page, "call-out", "2027-03-09")
    field = page.visits.form.gauge.field("pressure")
    typed(field, "0.5 in. w.c.")
    hand.settle()
    gauge = hand.design.visits[0].gauge
    assert gauge is not None
    assert gauge.pressure == pytest.approx(0.5 * PASCAL, rel=2e-3)
    typed(field, "60 gallons")
    hand.settle()
    assert field.fault()
    assert field.text() == "60 gallons"
    assert hand.design.visits[0].gauge == gauge


def test_minus_is_suction_before_the_fan_and_not_past_it(
    at_visits: Callable[[Design], tuple[Hand, VisitsPage]],
) -> None:
    hand, page = at_visits(story(STUDIO))
    signed = replace(SI, minus_is_suction=True)
    hand.window.set_system(signed)
    form = page.visits.form
    assert form.gauge.field("pressure").text() == "−60"
    assert form.holes.field("Show room").text() == "−2.3"
    typed(form.gauge.field("pressure"), "-61")
    hand.settle()
    gauge = hand.design.visits[2].gauge
    assert gauge is not None
    assert gauge.pressure == 61.0
    turned = with_value(hand.design, ("visits", 2, "gauge", "side"), "pressure")
    hand.document.propose(lambda _design: turned, "Turn")
    hand.settle()
    assert form.gauge.field("pressure").text() == "61"


def test_readings_stand_beside_what_was_predicted_in_the_words_of_the_command(
    at_visits: Callable[[Design], tuple[Hand, VisitsPage]],
) -> None:
    design = story(STUDIO)
    hand, page = at_visits(design)
    own = diagnose(prepare(design), design, design.visits[2])
    for system in (SI, US, replace(SI, minus_is_suction=True)):
        hand.window.set_system(system)
        hand.settle()
        write = writer(system)
        assert len(page.compared.rows) == len(own.readings) == 3
        for row, each in zip(page.compared.rows, own.readings, strict=True):
            assert isinstance(row, ReadingRow)
            dimension = {"gauge": "pressure", "power": "power", "hole": "hole_pressure"}[each.item.kind]
            sign = as_read(1.0, system) if each.item.kind != "power" else 1.0
            low, high = sorted(sign * edge for edge in each.band)
            from_ = format_quantity(low, dimension, system, with_unit=False)  # type: ignore[arg-type]
            assert row.read.text() == write(sign * each.read, dimension)
            words = f"Expected {write(sign * each.expected, dimension)}, 90 % band {from_} to {write(high, dimension)}"
            assert row.expected.text() == f"{words.rstrip('.')}."
            assert row.standing.text().startswith("● inside" if each.inside else "▲ low by ")
    assert finding_words(own) in page.causes.finding.text()
    assert [label.text().partition(".  ")[2] or label.text() for label in page.causes.causes] == [
        f"{line[:1].upper()}{line[1:]}." for line in cause_lines(own)
    ]
    assert page.causes.next.text() == next_words(own)
    assert page.causes.unseen.text() == unseen_words(own)
    assert NO_PROOF in page.causes.caution.text()


def test_another_visit_and_another_reading_are_held_anew_and_the_old_answer_is_greyed(
    at_visits: Callable[[Design], tuple[Hand, VisitsPage]],
) -> None:
    hand, page = at_visits(story(STUDIO))
    assert page.causes.finding.text().startswith("▲")
    typed(page.visits.form.gauge.field("pressure"), "117")
    hand.settle()
    hand.document.settle()
    page.settle()
    assert page.causes.stale
    assert page.causes.late.isVisible()
    assert page.causes.finding.text().startswith("▲")
    # the newest of several edits wins
    typed(page.visits.form.gauge.field("pressure"), "116")
    typed(page.visits.form.holes.field("Show room"), "5")
    answered(hand, page)
    assert not page.causes.stale
    assert page.causes.finding.text().startswith("● Together the readings are within")
    assert page.compared.rows[0].read.text() == "116 Pa"
    page.visits.rows._asked(1)
    answered(hand, page)
    assert page.compared.rows[0].read.text() == "114 Pa"


def test_the_rail_asks_nothing_anew_where_the_readings_tell_their_speed(
    at_visits: Callable[[Design], tuple[Hand, VisitsPage]],
) -> None:
    hand, page = at_visits(story(STUDIO))
    hand.drag(0.6)
    hand.document.settle()
    page.settle()
    assert not page.later.background.busy()
    hand.document.propose(lambda design: with_value(design, ("visits", 2, "conditions", "speed"), None), "Forget")
    hand.document.settle()
    page.settle()
    assert page.later.background.busy()
    answered(hand, page)


def test_readings_that_contradict_each_other_speak_against_the_gauge(
    at_visits: Callable[[Design], tuple[Hand, VisitsPage]],
) -> None:
    hand, page = at_visits(story(STUDIO))
    typed(page.visits.form.second.field("pressure"), "117")
    typed(page.visits.form.holes.field("Show room"), "5")
    typed(page.visits.form.power.field("power"), "16.8")
    answered(hand, page)
    assert "gauge" in page.causes.causes[0].text()
    assert page.compared.rows[0].standing.text().startswith("▲")
    assert page.compared.rows[1].standing.text() == "● inside"


def test_bad_input_is_refused_beside_its_field(at_visits: Callable[[Design], tuple[Hand, VisitsPage]]) -> None:
    hand, page = at_visits(with_value(story(STUDIO), ("job", "date"), "2026-11-01"))
    before = hand.design
    page.visits.ask_new()
    asking = page.visits._asking
    assert asking is not None
    # a visit before the design, and a date that is none; what was typed stays
    asking.kind.set_value("call-out")
    typed(asking.date, "2026-10-31")
    asking.add.click()
    hand.settle()
    assert "lies before the job's date" in asking.date.fault()
    assert asking.isVisible()
    typed(asking.date, "31.10.2026")
    asking.add.click()
    assert "year-month-day" in asking.date.fault()
    assert asking.date.text() == "31.10.2026"
    # a second visit of one kind on one day
    typed(asking.date, "2028-03-09")
    asking.add.click()
    hand.settle()
    assert [(v.date, v.order) for v in hand.design.visits[2:]] == [("2028-03-09", 1), ("2028-03-09", 2)]
    assert page.visits.form.visit.field("order").isVisible()
    typed(page.visits.form.visit.field("order"), "1")
    hand.settle()
    assert "order on that day" in page.visits.form.visit.field("order").fault()
    assert page.visits.form.visit.field("order").text() == "1"
    hand.choose("Undo")
    assert hand.design == before
    page.visits.rows._asked(2)
    hand.settle()
    # the fan is off, and draws watts
    fan = page.visits.form.state.field("fan")
    fan._chosen(1)  # type: ignore[attr-defined]
    hand.settle()
    assert hand.design.visits[2].conditions.fan == "running"
    for field in (fan, page.visits.form.power.field("power")):
        assert "no more than its electronics" in field.fault()
    assert fan.value() == "off"
    typed(page.visits.form.power.field("power"), "2")
    hand.settle()
    for choice in (0, 1):
        fan._chosen(choice)  # type: ignore[attr-defined]
        hand.settle()
    assert hand.design.visits[2].conditions.speed is None
    # a gauge that is taken away while a second stands at its tap
    typed(page.visits.form.second.field("pressure"), "59")
    typed(page.visits.form.gauge.field("pressure"), "")
    hand.settle()
    assert hand.design.visits[2].gauge is not None
    assert "second gauge" in page.visits.form.gauge.field("pressure").fault()


def test_a_pasted_block_fills_the_holes_and_one_with_a_hole_that_is_not_there_is_refused(
    at_visits: Callable[[Design], tuple[Hand, VisitsPage]],
) -> None:
    hand, page = at_visits(story(STUDIO))
    holes = page.visits.form.holes
    QGuiApplication.clipboard().setText("Hole\tSuction [Pa]\nWheel\t4.1\nShow room\t2,5\n".replace(",", "."))
    editor = holes.field("Wheel").control()
    editor.setFocus()
    QTest.keyClick(editor, Qt.Key.Key_V, Qt.KeyboardModifier.ControlModifier)
    hand.settle()
    assert {h.hole: h.suction for h in hand.design.visits[2].holes} == {"Show room": 2.5, "Wheel": 4.1}
    assert hand.document.undo_words == "Paste suction at test holes of the call-out of 2028-03-09"
    before = hand.design
    QGuiApplication.clipboard().setText("Hole\tSuction [Pa]\nWheel\t4.1\nCellar\t2.5\n")
    holes.paste()
    hand.settle()
    assert "no test hole called “Cellar”" in holes._fault.text()
    assert hand.design == before


def test_a_visit_is_removed_and_brought_back_and_what_stands_there_is_shown(
    at_visits: Callable[[Design], tuple[Hand, VisitsPage]],
) -> None:
    design = story(STUDIO)
    hand, page = at_visits(design)
    page.visits.rows._asked(0)
    hand.settle()
    page.visits.remove_button.click()
    hand.settle()
    assert hand.design.visits == design.visits[1:]
    assert hand.document.undo_words == "Remove start-up of 2026-11-20"
    hand.choose("Undo")
    assert hand.design.visits == design.visits
    assert len(page.visits.rows.rows) == 3


def test_visits_stand_in_the_order_of_their_days_and_a_notice_leads_to_its_field(
    at_visits: Callable[[Design], tuple[Hand, VisitsPage]],
) -> None:
    design = story(STUDIO)
    design = with_value(design, ("visits",), tuple(reversed(design.visits)))
    hand, page = at_visits(design)
    assert [row.accessibleName()[:10] for row in page.visits.rows.rows] == ["2026-11-20", "2027-11-15", "2028-03-09"]
    hand.window.show_part(("visits", 2, "gauge", "pressure"))
    hand.settle()
    assert page.visits.at() == 2
    assert page.visits.form.gauge.field("pressure").control().hasFocus()


def test_without_a_fan_or_a_reading_it_says_why_nothing_is_held_against_it(
    at_visits: Callable[[Design], tuple[Hand, VisitsPage]],
) -> None:
    hand, page = at_visits(with_value(story(STUDIO), ("fan",), None))
    assert page.compared.basis.text().startswith("No fan is chosen")
    assert page.compared.rows == []
    hand.document.open(STUDIO, Path("none.json"))
    add(hand, page, "start-up", "2026-11-20")
    answered(hand, page)
    assert page.compared.basis.text().startswith("Nothing was read on this visit")


def test_a_workbook_is_shown_as_it_was_understood_and_then_taken(
    at_visits: Callable[[Design], tuple[Hand, VisitsPage]], tmp_path: Path
) -> None:
    hand, page = at_visits(with_value(story(STUDIO), ("job", "date"), "2026-11-01"))
    opened = book()
    day = typed_into(opened, ("Date", "", "2029-01-02"), ("System gauge", "", 61.5))
    page.visits.read(filled(tmp_path, opened, **day))
    asking = page.visits._asking
    assert isinstance(asking, SheetPreview)
    assert "System gauge: 61.5 Pa" in asking.lines.text().splitlines()
    before = hand.design
    asking.add.click()
    hand.settle()
    assert page.visits._asking is None
    gauge = hand.design.visits[-1].gauge
    assert gauge is not None
    assert gauge.pressure == 61.5
    assert page.visits.at() == 3
    assert hand.document.undo_words == "Read start-up of 2029-01-02 from a workbook"
    hand.choose("Undo")
    assert hand.design == before
    # one before the job is refused where it is looked at
    opened = book()
    page.visits.read(filled(tmp_path, opened, **typed_into(opened, ("Date", "", "2026-10-01"))))
    asking = page.visits._asking
    assert isinstance(asking, SheetPreview)
    asking.add.click()
    hand.settle()
    assert "lies before the job's date" in asking.fault.text()
    asking.cancel.click()
    # and one that cannot be read beside the list, with its cell
    opened = book()
    wrong = typed_into(opened, ("Date", "", "2029-01-02"), ("System gauge", "", "much"))
    page.visits.read(filled(tmp_path, opened, **wrong))
    assert "Readings!C11: " in page.visits.unread.text()
    assert page.visits._asking is None
    assert hand.design == before


def test_a_hole_that_visits_read_is_renamed_and_removed_with_what_they_read(
    at_visits: Callable[[Design], tuple[Hand, VisitsPage]],
) -> None:
    hand, page = at_visits(story(STUDIO))
    assert hand.document.propose(lambda d: with_value(d, ("holes", 4, "name"), "Shop"), "Rename hole") == []
    assert hand.design.visits[2].holes[0].hole == "Shop"
    assert page.visits.form.holes.field("Shop").text() == "2.3"
    assert hand.document.propose(lambda d: with_value(d, ("holes",), d.holes[:4]), "Remove hole") == []
    assert hand.design.visits[2].holes == ()
    assert hand.undo_all() == 2
    assert hand.design == story(STUDIO)
