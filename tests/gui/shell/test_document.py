"""The history of a document: every edit taken back to the beginning and brought again to the end."""

from __future__ import annotations

import pytest
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from tests.gui.hand import KEY, Hand
from workbench.design import Design, Fitting
from workbench.design import edit as edits
from workbench.design.record import value_at, with_value
from workbench.files.fan_library import fan_classes
from workbench.files.scenes import load_scene
from workbench.gui.shell.document import Change, Document

POINT = ("intake", "source")
RUN = ("intake", "runs", 0)

EVERY_EDIT: list[tuple[str, Change]] = [
    ("Change speed", lambda d: with_value(d, ("speed",), 0.6)),
    ("Change length", lambda d: with_value(d, (*RUN, "length"), 7.5)),
    ("Add an elbow", lambda d: edits.add_fitting(d, RUN, Fitting(kind="45 elbow"))),
    ("Remove a fitting", lambda d: edits.remove_fitting(d, RUN, 0)),
    ("Divide a run", lambda d: edits.divide_run(d, ("intake", "runs", 1))),
    ("Add a suction point", lambda d: edits.add_suction_point(d, ("intake",))),
    ("Change its pit", lambda d: with_value(d, (*POINT, "side", "source", "pit_volume"), 0.05)),
    ("Remove a suction point", lambda d: edits.remove_suction_point(d, (*POINT, "side", "source"))),
    ("Choose a fan", lambda d: edits.choose_fan(d, d.fans[0].name)),
    ("Add a fan", lambda d: edits.add_fan(d, fan_classes()[-1])),
    ("Remove a fan", lambda d: edits.remove_fan(d, d.fans[1].name)),
    ("Change the site", lambda d: with_value(d, ("place", "altitude"), 900.0)),
    ("Change the title", lambda d: with_value(d, ("title",), "Another name")),
    ("Take the floor away", lambda d: with_value(d, ("slab",), None)),
]


@pytest.fixture
def document(qapp: object) -> Document:
    return Document(load_scene())


def test_every_kind_of_edit_goes_back_to_the_beginning_and_forward_to_the_end(document: Document) -> None:
    designs, points = [document.design], [document.outcome.operating]
    for words, change in EVERY_EDIT:
        assert document.propose(change, words) == [], words
        assert document.undo_words == words
        designs.append(document.design)
        points.append(document.outcome.operating)
    for design, point in zip(reversed(designs[:-1]), reversed(points[:-1]), strict=True):
        document.undo()
        assert document.design == design
        assert document.outcome.operating == point
    assert document.undo_words == ""
    assert not document.dirty
    document.undo()
    assert document.design == designs[0]
    for (words, _), design in zip(EVERY_EDIT, designs[1:], strict=True):
        assert document.redo_words == words
        document.redo()
        assert document.design == design
    assert document.redo_words == ""


def test_answers_after_undo_are_those_of_the_design(document: Document) -> None:
    first = document.outcome.operating
    document.propose(EVERY_EDIT[1][1], "Change length")
    assert document.outcome.operating != first
    document.undo()
    assert document.outcome.operating == first


def test_an_edit_after_undo_takes_the_place_of_what_was_undone(document: Document) -> None:
    document.propose(EVERY_EDIT[0][1], "one")
    document.propose(EVERY_EDIT[1][1], "two")
    document.undo()
    document.propose(EVERY_EDIT[11][1], "three")
    assert document.redo_words == ""
    document.undo()
    document.undo()
    assert document.design == load_scene()


def test_an_edit_that_changes_nothing_is_no_step(document: Document) -> None:
    document.propose(lambda d: with_value(d, ("speed",), d.speed), "Change speed")
    assert document.undo_words == ""


def test_a_refused_edit_changes_nothing_and_is_told(document: Document) -> None:
    told: list[list[object]] = []
    document.refused.connect(told.append)
    design, outcome = document.design, document.outcome
    faults = document.propose(lambda d: with_value(d, (*RUN, "length"), -1.0), "Change length")
    assert [fault.address[-1] for fault in faults] == ["length"]
    assert told == [faults]
    assert document.design is design
    assert document.outcome is outcome
    assert not document.dirty
    document.propose(EVERY_EDIT[0][1], "Change speed")
    assert told == [faults, []]


def test_a_design_that_cannot_be_solved_does_not_open_and_leaves_everything(
    document: Document, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> object:
        raise ValueError("this floor makes no field")

    document.propose(EVERY_EDIT[0][1], "Change speed")
    before, path = document.design, document.path
    monkeypatch.setattr("workbench.gui.shell.solved.prepare", refuse)
    with pytest.raises(ValueError, match="makes no field"):
        document.open(load_scene("clubhouses"), None)
    assert document.design == before
    assert document.path == path
    assert document.undo_words == "Change speed"


# --- the same by hand -----------------------------------------------------------------------------------------------


def test_a_drag_is_one_step_and_one_undo_takes_it_back(hand: Hand) -> None:
    before = hand.design
    hand.drag(0.5, 0.9, 0.6, steps=10)
    after = hand.design
    assert hand.action("Undo").text().replace("&", "") == "Undo: change speed"
    assert hand.undo_all() == 1
    assert hand.design == before
    assert hand.window.rail.speed() == before.speed
    assert hand.redo_all() == 1
    assert hand.design == after


def test_a_drag_that_comes_back_leaves_no_step(hand: Hand) -> None:
    start = hand.design
    hand.drag(0.5, start.speed)
    assert hand.design == start
    assert not hand.action("Undo").isEnabled()
    assert not hand.window.isWindowModified()


def test_two_drags_are_two_steps(hand: Hand) -> None:
    hand.drag(0.5)
    hand.drag(0.6)
    assert hand.undo_all() == 2


def test_keys_held_down_are_one_step_and_keys_pressed_apart_are_many(hand: Hand) -> None:
    track = hand.window.rail.track()
    QTest.keyPress(track, KEY.Key_Left)
    for _ in range(5):
        QTest.keyPress(track, KEY.Key_Left)
        hand.settle()
    QTest.keyRelease(track, KEY.Key_Left)
    hand.settle()
    assert hand.undo_all() == 1
    for _ in range(3):
        QTest.keyClick(track, KEY.Key_Left)
    hand.settle()
    assert hand.undo_all() == 3


def test_edits_by_hand_on_both_pages_undo_to_the_beginning_and_redo_to_the_end(hand: Hand) -> None:
    first = hand.design
    hand.drag(0.55)
    hand.window.site_page.key.radio(first.fans[0].name).click()
    site = hand.window.site_page.site
    site.choose(RUN)
    site.section.setFocus()
    field = site.card.form().fields()[(*RUN, "length")].control()  # type: ignore[union-attr]
    field.setFocus()
    field.selectAll()  # type: ignore[attr-defined]
    QTest.keyClicks(field, "9.25")
    QTest.keyClick(field, KEY.Key_Return)
    hand.settle()
    assert value_at(hand.design, (*RUN, "length")) == pytest.approx(9.25)
    hand.type_speed("80")
    last = hand.design
    steps = hand.undo_all()
    assert steps == 4
    assert hand.design == first
    assert not hand.window.isWindowModified()
    assert hand.redo_all() == steps
    assert hand.design == last


def test_the_star_in_the_title_says_what_no_file_holds(hand: Hand) -> None:
    window = hand.window
    assert "[*]" in window.windowTitle()
    assert not window.isWindowModified()
    hand.drag(0.5)
    assert window.isWindowModified()
    hand.choose("Undo")
    assert not window.isWindowModified()
    hand.choose("Redo")
    assert window.isWindowModified()


def test_the_last_good_answers_stay_greyed_while_an_entry_is_refused(hand: Hand) -> None:
    good = hand.answers()
    site = hand.window.site_page.site
    site.choose(RUN)
    hand.window.pages.proposed.emit(lambda d: with_value(d, (*RUN, "length"), -1.0), "Change length")
    hand.settle()
    assert hand.stale()
    assert hand.answers() == good
    hand.drag(0.5)
    assert not hand.stale()
    assert hand.answers() != good


def test_drag_end_to_end_and_back_many_times_stays_exact(hand: Hand, qtbot: QtBot) -> None:
    fan = hand.design.chosen_fan
    assert fan is not None
    hand.drag(*[1.0, 0.0] * 4, steps=25)
    assert hand.design.speed == fan.least_speed
    fresh: Design = hand.design
    flow = Document(fresh).outcome.operating
    shown = hand.document.outcome.operating
    assert flow is not None
    assert shown is not None
    assert shown.flow == pytest.approx(flow.flow, rel=1e-9)
