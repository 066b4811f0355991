"""The line that leads through a first job, the head of the job, and one pipe for all runs, in the window."""

from __future__ import annotations

from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLineEdit

from tests.gui.hand import KEY, Hand
from workbench.design.record import with_value
from workbench.gui.section.parts import JOB, PLACE
from workbench.gui.window import FANS, FLOOR, SITE


def shown(hand: Hand) -> str:
    line = hand.window.site_page.site.next
    return line.words.text() if line.isVisible() else ""


def test_the_line_leads_and_goes_away(hand: Hand) -> None:
    studio = hand.design
    assert shown(hand) == ""
    hand.choose("New")
    assert shown(hand) == "Next: select a fan"
    hand.press("Choose fan")
    assert hand.window.pages.current == FANS
    hand.window.pages.turn_to(SITE)
    hand.document.propose(lambda d: d.model_copy(update={"fans": studio.fans, "fan": studio.fan}), "Fans")
    hand.settle()
    assert shown(hand) == "Next: communication test at Suction point 1"
    hand.press("Enter readings")
    assert hand.window.site_page.site.section.picked_part() == ("intake", "source")
    ground = next(iter(studio.suction_points()))[1].ground
    hand.document.propose(lambda d: with_value(d, ("intake", "source", "ground"), ground), "Test")
    hand.settle()
    assert shown(hand) == "Next: test holes"
    hand.press("Add test holes")
    assert hand.window.pages.current == FLOOR
    hand.window.pages.turn_to(SITE)
    bare = tuple(
        hole.model_copy(update={"name": "{0} <b>", "readings": (), "position": None}) for hole in studio.holes[:1]
    )
    hand.document.propose(lambda d: d.model_copy(update={"holes": bare}), "Holes")
    hand.settle()
    assert shown(hand) == "Next: a reading at {0} <b>"
    readings = tuple(r.model_copy(update={"point": "Suction point 1"}) for r in studio.holes[0].readings)
    read = (bare[0].model_copy(update={"readings": readings}),)
    hand.document.propose(lambda d: d.model_copy(update={"holes": read}), "Readings")
    hand.settle()
    assert shown(hand) == "Next: exhaust test"
    hand.press("Enter draw-down")
    assert hand.window.pages.current == FLOOR
    hand.window.pages.turn_to(SITE)
    hand.document.propose(lambda d: with_value(d, ("worst_day", "tested_draw_down"), 4.0), "Draw-down")
    hand.settle()
    assert shown(hand) == ""


def type_into(hand: Hand, name: str, text: str) -> None:
    card = hand.window.site_page.site.card
    field = next(f for f in card.findChildren(QLineEdit) if f.accessibleName() == name and f.isVisible())
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, text)
    QTest.keyClick(field, KEY.Key_Return)
    hand.settle()


def test_the_head_of_the_job_stands_in_the_title(hand: Hand) -> None:
    hand.window.site_page.site.choose(JOB)
    type_into(hand, "Title", "Mill house [*] x")
    type_into(hand, "Client", "A. Client")
    type_into(hand, "Job number", "26-014")
    assert hand.design.title == "Mill house [*] x"
    assert hand.window.windowTitle().startswith("26-014, Mill house [*][*] x, A. Client[*]")
    assert hand.action("Undo").text().replace("&", "") == "Undo: change job number of the job"
    hand.undo_all()
    assert hand.design.job.client == ""


def test_radon_tests_are_entered_with_the_job(hand: Hand) -> None:
    hand.window.site_page.site.choose(JOB)
    type_into(hand, "Before the work: method", "Charcoal, 72 h")
    type_into(hand, "Before the work: result, with its unit", "11.4 pCi/L")
    assert (hand.design.job.before.method, hand.design.job.before.result) == ("Charcoal, 72 h", "11.4 pCi/L")
    assert not hand.design.job.after.entered
    assert hand.action("Undo").text().replace("&", "").endswith("of the radon test before the work")
    card = hand.window.site_page.site.card
    after = "After the work: result, with its unit"
    last = next(f for f in card.findChildren(QLineEdit) if f.accessibleName() == after)
    last.setFocus()
    QTest.keyClicks(last, "2.1 pCi/L")
    QTest.keyClick(last, KEY.Key_Return)
    hand.settle()
    assert hand.design.job.after.result == "2.1 pCi/L"
    assert hand.design.job.before.result == "11.4 pCi/L"


def test_winter_and_the_day_stand_in_one_place(hand: Hand) -> None:
    hand.window.site_page.site.choose(PLACE)
    day = hand.design.place.outdoor_temperature
    type_into(hand, "Winter design temperature", "-20")
    assert hand.design.worst_day.outdoor_temperature == 253.15
    assert hand.design.place.outdoor_temperature == day
    type_into(hand, "Outdoor air on the day of the readings", "4")
    assert hand.design.place.outdoor_temperature == 277.15
    type_into(hand, "Heating degree-days", "2800")
    assert hand.design.house.heating_degree_days == 2800.0


def test_one_pipe_for_every_run(hand: Hand) -> None:
    run = next(address for address, _ in hand.design.runs())
    hand.window.site_page.site.choose(run)
    pipe = next(run.pipe for _, run in hand.design.runs())
    hand.document.propose(lambda d: with_value(d, ("discharge", 0, "pipe", "inside_diameter"), 0.15), "Other")
    hand.press("Use in all runs")
    assert {run.pipe for _, run in hand.design.runs()} == {pipe}
    hand.choose("Undo")
    assert len({run.pipe for _, run in hand.design.runs()}) == 2
