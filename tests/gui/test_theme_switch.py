"""In another theme, or another size of text, each page looks as if it had always worn it, those out of sight too."""

from __future__ import annotations

import pytest
from PySide6.QtGui import QImage
from pytestqt.qtbot import QtBot

from tests.gui.hand import Hand
from workbench.design.record import with_value
from workbench.design.search import Search
from workbench.files.scenes import load_scene
from workbench.gui.kit.type_scale import TextSize
from workbench.gui.window import CHOICES, FANS

pytestmark = pytest.mark.qt_log_ignore("^This plugin does not support", extend=True)


def _hand(qtbot: QtBot) -> Hand:
    return Hand(qtbot, with_value(load_scene(), ("search",), Search(pipes=(), pits=(), leak_left=())))


def _pictures(hand: Hand) -> dict[str, QImage]:
    """Every page; those that go on working, or whose lists keep their place, aside."""
    found = {}
    for title in hand.window.pages.titles:
        hand.window.pages.turn_to(title)
        hand.document.settle()
        hand.settle()
        if title not in (CHOICES, FANS):
            found[title] = hand.window.grab().toImage()
    hand.window.pages.turn_to(hand.window.pages.titles[0])
    hand.settle()
    return found


def _same(one: dict[str, QImage], other: dict[str, QImage]) -> list[str]:
    return [title for title in one if one[title] != other[title]]


def test_a_page_out_of_sight_comes_back_in_the_theme_worn_now(qtbot: QtBot) -> None:
    hand = _hand(qtbot)
    _pictures(hand)
    light = _pictures(hand)
    hand.choose("Dark")
    dark = _pictures(hand)
    assert not set(_same(light, dark)) ^ set(light)
    hand.choose("Light")
    assert _same(light, _pictures(hand)) == []
    hand.choose("Dark")
    assert _same(dark, _pictures(hand)) == []
    hand.window.close()
    again = _hand(qtbot)
    assert again.action("Dark").isChecked()
    _pictures(again)
    assert _same(dark, _pictures(again)) == []
    again.choose("Light")


@pytest.mark.parametrize("percent", [150])
def test_a_page_out_of_sight_comes_back_in_the_size_written_now(qtbot: QtBot, percent: TextSize) -> None:
    hand = _hand(qtbot)
    _pictures(hand)
    plain = _pictures(hand)
    hand.window.set_text_size(percent)
    _pictures(hand)
    hand.window.set_text_size(100)
    hand.window.resize(1280, 800)
    _pictures(hand)
    assert _same(plain, _pictures(hand)) == []
