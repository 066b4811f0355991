"""What is called aloud is told apart: no two controls in sight bear one name."""

from __future__ import annotations

from collections import Counter

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from tests.gui.hand import Hand
from workbench.files.scenes import load_scene
from workbench.gui.section.parts import JOB, all_parts


def twice(hand: Hand) -> list[str]:
    """Names that several controls in sight bear."""
    names = Counter(
        widget.accessibleName()
        for widget in hand.window.findChildren(QWidget)
        if widget.isVisible() and widget.focusPolicy() != Qt.FocusPolicy.NoFocus and widget.accessibleName()
    )
    return [name for name, times in names.items() if times > 1]


def test_no_two_controls_in_sight_are_called_the_same(qtbot: QtBot) -> None:
    hand = Hand(qtbot, load_scene("reading-room"))
    for part in all_parts(hand.design):
        hand.window.show_part(part)
        hand.settle()
        assert twice(hand) == [], part
    for title in hand.window.pages.titles:
        hand.window.pages.turn_to(title)
        hand.settle()
        assert twice(hand) == [], title


def test_the_tests_before_and_after_the_work_are_told_apart(hand: Hand) -> None:
    hand.window.show_part(JOB)
    fields = hand.window.site_page.site.card.form().fields()
    assert fields[(*JOB, "before", "result")].name() == "Before the work: result, with its unit"
    assert fields[(*JOB, "after", "result")].name() == "After the work: result, with its unit"
    # the step of the history is called as before
    fields[(*JOB, "before", "result")].committed.emit("120 Bq/m3")
    hand.settle()
    assert hand.document.undo_words == "Change result, with its unit of the radon test before the work"
