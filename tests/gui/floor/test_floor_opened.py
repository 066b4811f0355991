"""Another project on the page of the floor: all of its floor is in sight, however alike the former was."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from tests.gui.hand import Hand
from workbench.design.record import value_at, with_value
from workbench.files.scenes import load_scene
from workbench.gui.window import FLOOR

OUTLINE = ("slab", "outline")


@pytest.mark.parametrize("moved", [0, 1])
def test_a_floor_that_shares_corners_with_the_former_is_whole_in_sight_when_it_is_opened(
    hand: Hand, moved: int
) -> None:
    page = hand.window.pages.page(FLOOR)
    hand.window.pages.turn_to(FLOOR)
    hand.settle()
    view = page.view
    view.zoom(4.0)
    hand.settle()
    near = view.frame.scale
    design = load_scene()
    outline = list(value_at(design, OUTLINE))
    corner = outline[moved]
    outline[moved] = corner.model_copy(update={"x": corner.x - 0.3})
    hand.document.open(with_value(design, OUTLINE, tuple(outline)), None)
    hand.settle()
    shown = view.frame.scale
    assert shown < near
    view.fit()
    assert view.frame.scale == pytest.approx(shown)


def test_the_same_floor_opened_again_is_whole_in_sight_and_an_edit_leaves_the_view_alone(hand: Hand) -> None:
    page = hand.window.pages.page(FLOOR)
    hand.window.pages.turn_to(FLOOR)
    hand.settle()
    whole = page.view.frame.scale
    page.view.zoom(4.0)
    near = page.view.frame.scale
    hand.document.propose(lambda design: with_value(design, ("slab", "thickness"), 0.11), "Change thickness")
    hand.settle()
    assert page.view.frame.scale == near
    hand.document.open(load_scene(), None)
    hand.settle()
    assert page.view.frame.scale == pytest.approx(whole)


def test_what_the_arrow_keys_still_hold_is_the_last_step_when_it_is_taken_back(hand: Hand, qtbot: QtBot) -> None:
    page = hand.window.pages.page(FLOOR)
    hand.window.pages.turn_to(FLOOR)
    hand.document.propose(lambda design: with_value(design, ("slab", "thickness"), 0.11), "Change thickness")
    hand.settle()
    thick, view = hand.design, page.view
    view.setFocus()
    view.pick(("holes", 0))
    QTest.keyClick(view, Qt.Key.Key_Left)
    assert view.gestures.busy()
    hand.choose("Undo")
    assert hand.design == thick
    hand.choose("Redo")
    moved = hand.design
    assert moved != thick
    assert moved.slab == thick.slab
    # longer than the keys are waited for
    qtbot.wait(1200)
    assert hand.design == moved
    assert not hand.document.redo_words
