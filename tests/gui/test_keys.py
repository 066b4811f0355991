"""The keys of the window: one table that tells all of them, none bound twice, each Alt letter once in sight."""

from __future__ import annotations

import re
from collections import Counter

import pytest
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QAbstractButton, QLabel, QMenu, QScrollArea, QWidget

from tests.gui.hand import Hand
from workbench.gui.shell.keys import TABLE, KeyList

BORROWED = ("Ctrl+Shift+P", "Ctrl+L", "Ctrl+Shift+N", "Ctrl+0", "Ctrl+D", "Ctrl+Shift+C", "Ctrl+Shift+X", "Ctrl+P")
"""Keys that editors and browsers made their own."""


def actions(hand: Hand) -> list[QAction]:
    return [action for action in hand.window.findChildren(QAction) if action.shortcuts()]


def test_every_shortcut_stands_in_the_table_and_none_is_borrowed_or_bound_twice(hand: Hand) -> None:
    told = {QKeySequence(key).toString() for _, keys in TABLE for row in keys for key in row.keys}
    bound = [keys.toString() for action in actions(hand) for keys in action.shortcuts()]
    assert len(bound) > 15
    between = {f"Alt+{number}" for number in range(2, 8)}
    assert set(bound) - between <= told
    assert [keys for keys, times in Counter(bound).items() if times > 1] == []
    assert not set(bound) & set(BORROWED)


def letters(texts: list[str]) -> list[str]:
    found = (re.search(r"&(\w)", text.replace("&&", "")) for text in texts)
    return [match[1].lower() for match in found if match]


def twice(found: list[str]) -> list[str]:
    return [letter for letter, times in Counter(found).items() if times > 1]


def test_each_letter_once_in_a_menu(hand: Hand) -> None:
    menus = [hand.window.menuBar(), *hand.window.menuBar().findChildren(QMenu)]
    assert len(menus) > 6
    for menu in menus:
        assert twice(letters([action.text() for action in menu.actions() if action.text()])) == []


@pytest.mark.parametrize("number", range(1, 9))
def test_each_alt_letter_once_on_a_page(hand: Hand, number: int) -> None:
    hand.window.pages.turn_to(hand.window.pages.titles[number - 1])
    hand.settle()
    kinds: tuple[type[QWidget], ...] = (QAbstractButton, QLabel)
    texts = [action.text() for action in hand.window.menuBar().actions()]
    for kind in kinds:
        for widget in hand.window.findChildren(kind):
            if widget.isVisible() and not (isinstance(widget, QLabel) and widget.buddy() is None):
                texts.append(widget.text())  # type: ignore[attr-defined]
    assert twice(letters(texts)) == []


def test_f1_opens_the_list_and_nothing_in_it_is_cut(hand: Hand) -> None:
    hand.choose("Keyboard shortcuts")
    shown = hand.window.findChild(KeyList)
    assert shown is not None
    assert shown.isVisible()
    assert hand.action("Keyboard shortcuts").shortcut().toString() == "F1"
    labels = shown.findChildren(QLabel)
    assert {row.does for _, keys in TABLE for row in keys} <= {label.text() for label in labels}
    area = shown.findChild(QScrollArea)
    assert area is not None
    assert area.horizontalScrollBar().maximum() == 0
    for label in labels:
        assert label.width() >= label.sizeHint().width(), label.text()
        assert label.height() >= label.sizeHint().height(), label.text()


@pytest.mark.parametrize("number", range(1, 9))
def test_f6_walks_the_panes_and_comes_round(hand: Hand, number: int) -> None:
    hand.window.pages.turn_to(hand.window.pages.titles[number - 1])
    hand.settle()
    track = hand.window.rail.track()
    track.setFocus()
    seen: list[QWidget] = []
    for _ in range(20):
        hand.choose("Next pane")
        now = hand.window.focusWidget()
        assert now is not None
        if now in seen:
            break
        seen.append(now)
    assert 3 <= len(seen) < 20
    assert any(hand.window.rail.isAncestorOf(widget) for widget in seen)
    hand.choose("Previous pane")
    assert hand.window.focusWidget() is seen[-1] or hand.window.focusWidget() in seen


def test_the_speed_is_a_key_away(hand: Hand) -> None:
    assert hand.action("Go to fan speed").shortcut().toString() == "F9"
    hand.choose("Next pane")
    hand.choose("Go to fan speed")
    assert hand.window.rail.track().hasFocus()
