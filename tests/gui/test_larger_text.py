"""Larger text, full screen, and controls that are tall enough to hit."""

from __future__ import annotations

import os

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication, QComboBox, QWidget
from pytestqt.qtbot import QtBot

from tests.gui.hand import KEY, Hand
from tests.gui.screen.cut import cut_in
from tests.gui.test_every_size import names_in, pages
from workbench.files.scenes import load_scene
from workbench.gui.kit.type_scale import TEXT_SIZES, px
from workbench.gui.shell.settings import Settings
from workbench.gui.window import SITE
from workbench.units import US


def test_tabs_bear_short_names_only_where_the_long_ones_do_not_fit(qtbot: QtBot) -> None:
    hand = Hand(qtbot)
    bar = hand.window.pages._tabs
    assert [bar.tabText(tab) for tab in range(bar.count())] == hand.window.pages.titles
    hand.window.set_text_size(150)
    hand.window.resize(960, 750)
    hand.settle()
    short = [bar.tabText(tab) for tab in range(bar.count())]
    assert short[:2] == ["Section", "Field"]
    assert bar.tabToolTip(0) == SITE
    assert [bar.accessibleTabName(tab) for tab in range(bar.count())] == hand.window.pages.titles
    hand.window.set_text_size(100)


def test_tabs_that_do_not_fit_stay_short_however_often_they_are_measured(qtbot: QtBot) -> None:
    hand = Hand(qtbot)
    bar = hand.window.pages._tabs
    hand.window.set_text_size(200)
    hand.window.resize(1280, 800)
    hand.settle()
    for _ in range(3):
        hand.window.pages._fit_tabs()
        assert bar.tabText(0) == "Section"
        assert bar.sizeHint().width() <= hand.window.width()
    hand.window.set_text_size(100)


@pytest.mark.parametrize("size", [(1280, 800), (1440, 900)])
def test_doubled_text_in_a_small_window_leaves_room_for_section_and_curves(qtbot: QtBot, size: tuple[int, int]) -> None:
    hand = Hand(qtbot)
    hand.window.set_text_size(200)
    hand.window.resize(*size)
    hand.settle()
    page = hand.window.site_page
    assert page.site.width() <= 0.55 * page.width()
    # the section has the whole breadth of its side, over its tools
    assert page.site.splitter.orientation() == Qt.Orientation.Vertical
    assert page.site.section.width() >= page.site.width() - 4
    for button in (page.site.add_button, page.site.remove_button, page.site.card_button):
        assert button.width() >= button.sizeHint().width()
    sheet = page.sheet
    seen = sheet.chart.sheet.sceneBoundingRect()
    for text in (sheet._label, sheet._system_name):
        box = text.textItem.sceneBoundingRect()
        assert seen.left() - 1 <= box.left(), text.textItem.toPlainText()
        assert box.right() <= seen.right() + 1, text.textItem.toPlainText()
    hand.window.set_text_size(100)


def test_larger_text_is_kept_and_nothing_of_the_rail_is_cut_in_it(qtbot: QtBot) -> None:
    hand = Hand(qtbot)
    names = {hole.name for hole in hand.design.holes} | {each.name.lower() for each in hand.design.house.listeners}
    hand.window.resize(1920, 1080)
    for percent in (*TEXT_SIZES, 100):
        hand.choose(f"{percent} %")
        assert QApplication.font().pixelSize() == round(13 * percent / 100)
        assert Settings().text_size == percent
        assert cut_in(hand.window.rail, names) == []
        track = hand.window.rail.track()
        assert track.height() >= px(76) - 2
    hand.choose("150 %")
    hand.window.close()
    again = Hand(qtbot)
    assert QApplication.font().pixelSize() == round(13 * 1.5)
    assert again.action("150 %").isChecked()
    again.choose("100 %")


def test_full_screen_comes_and_goes_with_a_key(qtbot: QtBot) -> None:
    hand = Hand(qtbot)
    for on in (True, False):
        QTest.keyClick(hand.window, KEY.Key_F11)
        hand.settle()
        assert hand.window.isFullScreen() == on
        assert hand.action("Full screen").isChecked() == on


@pytest.mark.parametrize("percent", [100, 200])
def test_controls_are_tall_enough_to_hit(qtbot: QtBot, percent: int) -> None:
    hand = Hand(qtbot)
    hand.window.set_text_size(percent)  # type: ignore[arg-type]
    for place in hand.window.pages.titles:
        hand.window.pages.turn_to(place)
        hand.settle()
        for widget in hand.window.findChildren(QWidget):
            if isinstance(widget, QAbstractButton | QComboBox) and widget.isVisible() and widget.isEnabled():
                # a heading's corner and the arrows of scroll bars are Qt's own
                if type(widget).__module__.startswith("PySide6") and not widget.accessibleName() and not _said(widget):
                    continue
                assert widget.height() >= px(24) - 1, (place, type(widget).__name__, _said(widget))
    hand.window.set_text_size(100)


def _said(widget: QWidget) -> str:
    return widget.text() if isinstance(widget, QAbstractButton) else widget.accessibleName()


@pytest.mark.skipif("SUBSLAB_WORKBENCH_TEST_FONT" in os.environ, reason="large letters doubled ask for a wider window")
def test_nothing_is_cut_in_doubled_letters_in_a_narrow_window(qtbot: QtBot) -> None:
    """What has no room is laid under one another or scrolled."""
    hand = Hand(qtbot, load_scene("reading-room"))
    hand.window.set_system(US)
    hand.window.set_text_size(200)
    hand.window.resize(960, 540)
    hand.settle()
    names, found = names_in(hand.design), []
    for place in pages(hand):
        assert hand.window.width() == 960, place
        found += [f"{place}: {what}" for what in cut_in(hand.window, names)]
        assert hand.window.pages.page(hand.window.pages.current).height() >= px(270), place
    bar = hand.window.pages._tabs
    assert bar.tabRect(bar.count() - 1).right() <= bar.width()
    hand.window.set_text_size(100)
    assert not found, "\n".join(found)
