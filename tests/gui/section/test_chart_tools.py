"""The tools over the curves, in windows with much room and with little."""

from __future__ import annotations

import pytest
from PySide6.QtGui import QAction, QFontMetricsF
from PySide6.QtWidgets import QMenu, QToolButton
from pytestqt.qtbot import QtBot

from tests.gui.hand import Hand
from tests.gui.screen.claims import painted
from workbench.files.scenes import load_scene
from workbench.units import SYSTEMS, US, System

NARROW = [(960, 500), (960, 640), (1000, 700), (1100, 800)]


def entries(menu: QMenu) -> dict[str, QAction]:
    """What a menu offers now, by its words."""
    found: dict[str, QAction] = {}
    for action in menu.actions():
        if not action.isVisible() or action.isSeparator():
            continue
        below = action.menu()
        found.update(entries(below) if isinstance(below, QMenu) else {action.text().replace("&", ""): action})
    return found


def chart_menu(hand: Hand) -> QMenu | None:
    """The menu of the chart, where it is in sight."""
    buttons = hand.window.site_page.findChildren(QToolButton)
    button = next(b for b in buttons if b.text().startswith("&Chart"))
    return button.menu() if button.isVisible() else None


@pytest.mark.parametrize("system", SYSTEMS)
@pytest.mark.parametrize("size", [*NARROW, (1280, 800)])
def test_the_fan_and_what_the_mouse_reads_are_read_whole_at_every_width(
    hand: Hand, size: tuple[int, int], system: System
) -> None:
    page = hand.window.site_page
    hand.window.set_system(system)
    hand.window.resize(*size)
    hand.settle()
    assert hand.window.width() == size[0]
    assert painted(page._title) == [hand.design.fan]
    hand.pass_by_mouse(0.0201, 210.0)
    read = page._reading.text()
    assert read.startswith("At ")
    assert painted(page._reading) == [read]
    assert QFontMetricsF(page._reading.font()).horizontalAdvance(read) <= page._reading.width()


def test_with_little_room_every_tool_is_in_one_menu(hand: Hand) -> None:
    page = hand.window.site_page
    assert chart_menu(hand) is None
    hand.window.resize(960, 500)
    hand.settle()
    menu = chart_menu(hand)
    assert menu is not None
    offered = entries(menu)
    assert list(offered) == [
        "Static pressure",
        "Total pressure",
        "Keep for comparison",
        "Chart image…",
        "Curve data…",
        "Copy chart as image",
        "Copy curve data",
    ]
    offered["Total pressure"].trigger()
    hand.settle()
    assert "Fan total pressure" in page.sheet.chart.axis("left").labelText
    offered["Keep for comparison"].trigger()
    hand.settle()
    assert len(page.sheet.kept) == 1
    # with the tools back in their line the choice made in the menu is the one shown
    hand.window.resize(1280, 800)
    hand.settle()
    assert chart_menu(hand) is None
    assert page._tools._basis.value() == "total"


def test_with_hardly_any_room_the_list_and_the_power_chart_are_there_too(hand: Hand) -> None:
    page = hand.window.site_page
    tools = page._tools
    tools.set_short(True)
    tools.give_way(150)
    menu = chart_menu(hand)
    assert menu is not None
    offered = entries(menu)
    assert {"Power chart", "List of fans"} <= set(offered)
    offered["List of fans"].trigger()
    hand.settle()
    assert page.key.isVisible()
    offered["Power chart"].trigger()
    assert tools.power_wanted()


def test_fitting_again_is_offered_beside_the_menu(hand: Hand) -> None:
    hand.window.set_system(US)
    hand.window.resize(960, 500)
    hand.settle()
    page = hand.window.site_page
    page.sheet.chart.sheet.setRange(xRange=(0.0, 0.01), padding=0.0)
    page.sheet.chart.home_left.emit(True)
    hand.settle()
    assert painted(page._title)[0].startswith("Everyday")
    hand.press("Fit to curves")


@pytest.mark.parametrize("size", [(1280, 800), *NARROW])
def test_no_words_on_the_curves_lie_on_others(qtbot: QtBot, size: tuple[int, int]) -> None:
    hand = Hand(qtbot, load_scene("clubhouses"))
    hand.window.resize(*size)
    hand.settle()
    sheet = hand.window.site_page.sheet
    words = [text for text in (sheet._label, *sheet._names, sheet._system_name) if text.isVisible()]
    boxes = [text.textItem.sceneBoundingRect() for text in words]
    assert len(boxes) == 4
    # the verdict on each crossing stays by its crossing; the numbers of the operating point keep clear of all
    assert not [
        text.textItem.toPlainText() for text, box in zip(words[1:], boxes[1:], strict=True) if box.intersects(boxes[0])
    ]
