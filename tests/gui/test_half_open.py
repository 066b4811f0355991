"""An edit that is half done when its part goes is closed in silence: nothing raises, nothing lands on another part."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit
from pytestqt.qtbot import QtBot

from tests.gui.hand import KEY, LEFT, NONE, Hand
from workbench.design import plan_edit
from workbench.design.edit import add_suction_point, remove_fitting, remove_run, remove_suction_point
from workbench.design.pipework import Junction, Run
from workbench.design.record import Address, Gone, record_at, value_at, with_value
from workbench.files.scenes import load_scene
from workbench.gui.window import FLOOR, SITE

POINT: Address = ("intake", "source")
pytestmark = pytest.mark.qt_log_ignore("^This plugin does not support", extend=True)


def places(*corners: tuple[float, float]) -> tuple[plan_edit.Position, ...]:
    return tuple(plan_edit.place(*corner) for corner in corners)


def with_zone(hand: Hand) -> Address:
    hand.document.propose(lambda d: plan_edit.add_zone(d, places((1, 1), (3, 1), (3, 3), (1, 3))), "Zone")
    hand.settle()
    slab = hand.design.slab
    assert slab is not None
    return ("slab", "zones", len(slab.zones) - 1)


def on_floor(qtbot: QtBot) -> tuple[Hand, object]:
    hand = Hand(qtbot, load_scene("reading-room"))
    hand.window.pages.turn_to(FLOOR)
    hand.settle()
    return hand, hand.window.pages.page(FLOOR)


# --- addresses ---


def test_what_is_gone_is_told_in_one_way() -> None:
    design = load_scene("studio")
    gone = (
        ("holes", 99),
        ("slab", "zones", 99, "name"),
        ("intake", "nothing"),
        ("intake", "source", "straight", "runs", 0),
        ("title", 3),
    )
    for address in gone:
        with pytest.raises(Gone):
            value_at(design, address)
        with pytest.raises(Gone):
            with_value(design, address, "x")
    with pytest.raises(Gone):
        record_at(design, POINT, Run)
    for edit in (
        lambda: remove_run(design, ("discharge", 99)),
        lambda: remove_fitting(design, ("discharge", 0), 99),
        lambda: plan_edit.set_side_length(design, ("slab", "outline"), 99, 2.0),
        lambda: plan_edit.set_edge(design, 99, plan_edit.edge_of(design, 0)),
        lambda: plan_edit.fill_zone(design, 99, "gravel"),
        lambda: plan_edit.insert_corner(design, ("slab", "zones", 99, "outline"), 0, plan_edit.place(0, 0)),
        lambda: plan_edit.remove_corner(design, ("slab", "outline"), 99),
        lambda: plan_edit.remove_part(design, ("holes", 99)),
        lambda: remove_suction_point(design, ("intake", "source", "straight", "source")),
        lambda: add_suction_point(design, ("intake", "source")),
    ):
        with pytest.raises(Gone):
            edit()


def test_an_edit_of_what_is_gone_is_no_edit(qtbot: QtBot) -> None:
    hand = Hand(qtbot)
    before = hand.design
    assert hand.document.propose(lambda d: with_value(d, ("holes", 99, "name"), "X"), "Rename") == []
    assert hand.design == before
    assert not hand.document.undo_words
    assert not hand.document.faults


# --- fields ---


@pytest.mark.parametrize("typed", ["7.5", "7.5 parsec", "", "9e99"])
def test_text_half_typed_in_the_card_of_a_part_that_undo_takes(qtbot: QtBot, typed: str) -> None:
    hand, page = on_floor(qtbot)
    zone = with_zone(hand)
    page.pick(zone)
    page._open_card()
    hand.settle()
    fields = [w for w in page.card.findChildren(QLineEdit) if w.isVisible() and not w.isReadOnly()]
    assert fields
    for field in fields:
        field.setFocus()
        field.selectAll()
        QTest.keyClicks(field, typed or "x")
    hand.document.undo()
    hand.settle()
    page.view.setFocus()
    hand.document.redo()
    hand.settle()
    before = hand.design
    hand.document.undo()
    hand.document.undo()
    hand.settle()
    assert before.slab is not None
    assert len(before.slab.zones) == int(zone[2]) + 1
    assert not hand.document.faults


@pytest.mark.parametrize("typed", ["7.5", "parsec"])
def test_text_half_typed_at_a_run_that_goes(qtbot: QtBot, typed: str) -> None:
    hand = Hand(qtbot)
    first = hand.design
    hand.document.propose(lambda d: add_suction_point(d, ("intake",)), "Tee")
    side: Address = ("intake", "source", "side", "runs", 0)
    page = hand.window.site_page
    page.pick(side)
    page.site._open_card()
    hand.settle()
    for field in [w for w in page.site.card.findChildren(QLineEdit) if w.isVisible() and not w.isReadOnly()]:
        field.setFocus()
        field.selectAll()
        QTest.keyClicks(field, typed)
    hand.document.undo()
    while hand.document.undo_words:
        hand.document.undo()
    hand.settle()
    QTest.qWait(1200)
    page.site.section.setFocus()
    hand.settle()
    assert hand.design == first


# --- the plan ---


def test_a_point_waits_for_its_place_and_a_tee_is_added(qtbot: QtBot) -> None:
    hand, page = on_floor(qtbot)
    address, _ = next(iter(hand.design.suction_points()))
    hand.document.propose(lambda d: plan_edit.stand(d, address, None), "Lift")
    hand.settle()
    page.view.gestures.take("place", address)
    assert page.view.gestures.tool == "place"
    hand.document.propose(lambda d: add_suction_point(d, address[:-1]), "Tee")
    hand.settle()
    assert isinstance(value_at(hand.design, address), Junction)
    assert page.view.gestures.tool == "pick"
    assert page.view.gestures.hint() == ""
    hand.document.propose(lambda d: with_value(d, ("title",), "Another"), "Title")
    hand.settle()
    QTest.mouseClick(page.view, LEFT, NONE, QPoint(60, 60))
    assert not hand.window.pages._slots[FLOOR].failed


@pytest.mark.parametrize("gone", ["undo", "new", "open"])
def test_a_length_is_asked_of_a_side_that_goes(qtbot: QtBot, gone: str) -> None:
    hand, page = on_floor(qtbot)
    zone = with_zone(hand)
    view = page.view
    view.gestures.ask_length((*zone, "outline"), 3, QPoint(100, 100))
    QTest.keyClicks(view.entry.line(), "4")
    if gone == "undo":
        hand.document.undo()
    else:
        hand.document.saved_as(hand.window.filing._settings.path)
        hand.window.filing.new() if gone == "new" else hand.window.filing.open_scene("studio")
    hand.settle()
    assert view.entry.isHidden()
    before = hand.design
    QTest.keyClick(view.entry.line(), KEY.Key_Return)
    hand.settle()
    assert hand.design == before


@pytest.mark.parametrize("drag", [True, False])
def test_a_part_in_hand_goes(qtbot: QtBot, drag: bool) -> None:
    hand, page = on_floor(qtbot)
    view = page.view
    hand.document.propose(lambda d: plan_edit.add_hole(d, plan_edit.place(2.0, 2.0)), "Hole")
    hand.settle()
    hole: Address = ("holes", len(hand.design.holes) - 1)
    at = view.frame.pixels(view.base.spots[hole].place).toPoint()
    view.setFocus()
    if drag:
        QTest.mousePress(view, LEFT, NONE, at)
        from tests.stress.acts import send_move

        for step in (10, 20, 30):
            send_move(view, at + QPoint(step, step), LEFT, NONE)
    else:
        view.pick_by_hand(hole)
        QTest.keyClick(view, KEY.Key_Right)
    assert view.gestures.busy()
    hand.document.undo()
    hand.settle()
    before = hand.design
    assert len(before.holes) == int(hole[1])
    assert not view.gestures.busy()
    if drag:
        send_move(view, at + QPoint(50, 50), LEFT, NONE)
        QTest.mouseRelease(view, LEFT, NONE, at + QPoint(50, 50))
    else:
        QTest.keyClick(view, KEY.Key_Right)
        view.gestures.settle()
    hand.settle()
    assert hand.design == before
    assert view.picked != hole


def test_a_drawing_stays_when_another_design_is_opened_and_is_closed_without_a_floor(qtbot: QtBot) -> None:
    hand, page = on_floor(qtbot)
    page._take("zone")
    for x, y in ((200, 200), (260, 200), (260, 260)):
        QTest.mouseClick(page.view, LEFT, NONE, QPoint(x, y))
    hand.window.filing.new()
    hand.settle()
    QTest.keyClick(page.view, KEY.Key_Return)
    hand.settle()
    QTest.keyClick(QApplication.focusWidget() or page.view, KEY.Key_Escape)
    hand.settle()
    assert not hand.window.pages._slots[FLOOR].failed
    hand.window.pages.turn_to(SITE)


def test_nothing_is_left_of_a_card_of_a_part_that_goes(qtbot: QtBot) -> None:
    hand, page = on_floor(qtbot)
    zone = with_zone(hand)
    page.pick(zone)
    page._open_card()
    assert page.card.isVisible()
    hand.document.undo()
    hand.settle()
    assert page.card.isHidden()
    assert page.view.picked is None
    assert Qt.FocusPolicy.StrongFocus == page.view.focusPolicy()


def test_what_was_just_typed_is_the_first_thing_undone(qtbot: QtBot) -> None:
    hand = Hand(qtbot)
    first = hand.design
    hand.document.propose(lambda d: with_value(d, ("title",), "Another"), "Title")
    second = hand.design
    field = next(w for w in hand.window.rail.findChildren(QLineEdit) if w.accessibleName() == "Fan speed")
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, "61")
    hand.choose("Undo")
    assert hand.design == second
    hand.choose("Undo")
    assert hand.design == first
    QTest.qWait(900)
    assert hand.design == first
    hand.choose("Redo")
    assert hand.design == second
    hand.choose("Redo")
    assert hand.design.speed == pytest.approx(0.61)
