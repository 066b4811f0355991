"""At every size of the window, in either system of units, nothing that is written is cut, and the rail is in reach."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from msgspec.structs import replace
from PySide6.QtCore import QCoreApplication, QEvent, QRect, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QComboBox, QLabel, QTabBar, QToolButton, QWidget
from pytestqt.qtbot import QtBot

from tests.gui.hand import Hand
from tests.gui.screen.claims import painted
from tests.gui.screen.cut import cut_in, lists_cut
from workbench.design import Design
from workbench.design.record import with_value
from workbench.design.search import Search
from workbench.files.scenes import load_scene
from workbench.gui.floor.side import CHANCE, HOLES, SEASON, TARGET
from workbench.gui.kit.background import Background
from workbench.gui.shell.answers import HeadView, TileView
from workbench.gui.window import FLOOR
from workbench.units import SI, SYSTEMS, US, System

CASES = [
    *(("studio", size, system) for size in ((960, 540), (1280, 800), (1920, 1080)) for system in SYSTEMS),
    ("studio", (960, 540), replace(SI, minus_is_suction=True)),
    ("reading-room", (960, 540), replace(US, minus_is_suction=True)),
    ("reading-room", (960, 500), US),
    ("reading-room", (1280, 800), SI),
    ("failing", (960, 500), SI),
    ("failing", (1280, 800), US),
]
FEW = Search(pipes=(), pits=(), leak_left=(), another_point=False)
WIDER = 1.35
"""How much longer German runs than English, by what translators reckon with."""
pytestmark = pytest.mark.qt_log_ignore("^This plugin does not support (raise|grabbing|propagateSizeHints)", extend=True)


def scene(name: str) -> Design:
    """A scene with few choices to search; the failing one asks for more than its fan can give."""
    design = with_value(load_scene("studio" if name == "failing" else name), ("search",), FEW)
    return with_value(design, ("target", "suction"), 8.0) if name == "failing" else design


def names_in(design: Design) -> set[str]:
    """What a person entered, which may give way where its hint tells it in full."""
    house = design.house
    found = {design.title, *(hole.name for hole in design.holes), *(fan.name for fan in design.fans)}
    found |= {point.name for _, point in design.suction_points()} | {run.name for _, run in design.runs()}
    found |= {listener.name for listener in house.listeners} | {crack.name for crack in house.cracks}
    return found | {name.lower() for name in found}


@pytest.fixture(scope="module")
def windows() -> Iterator[Callable[[QtBot, str], Hand]]:
    """One window for each scene."""
    kept: dict[str, Hand] = {}

    class Keeper:
        """In the place of what closes a window after each test."""

        def __init__(self, bot: QtBot) -> None:
            self.bot = bot

        def __getattr__(self, name: str) -> object:
            return getattr(self.bot, name)

        def addWidget(self, *_given: object, **_named: object) -> None:
            """Nothing: the window is closed at the end."""

    def window(qtbot: QtBot, name: str) -> Hand:
        if name not in kept:
            kept[name] = Hand(Keeper(qtbot), scene(name))  # type: ignore[arg-type]
            kept[name].document.settle()
        return kept[name]

    yield window
    for hand in kept.values():
        hand.document.saved_as(__import__("pathlib").Path("let go"))
        hand.window.close()
        hand.window.deleteLater()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)


def pages(hand: Hand) -> Iterator[str]:
    """Bring every page, and every panel of the floor, into sight in turn."""
    for title in hand.window.pages.titles:
        hand.window.pages.turn_to(title)
        hand.settle()
        for panel in (HOLES, TARGET, SEASON, CHANCE) if title == FLOOR else ("",):
            if panel:
                hand.window.pages.page(FLOOR).side.turn_to(panel)
                hand.settle()
            # what is worked out beside the window may be longer than what stood there
            while any(each.busy() for each in hand.window.findChildren(Background)):
                hand.settle()
            # words that are wrapped are given their height in a second round
            hand.settle()
            yield f"{title} {panel}".strip()


@pytest.mark.parametrize(("name", "size", "system"), CASES)
def test_nothing_is_cut_and_the_rail_is_in_reach(
    windows: Callable[[QtBot, str], Hand], qtbot: QtBot, name: str, size: tuple[int, int], system: System
) -> None:
    hand = windows(qtbot, name)
    hand.window.resize(*size)
    hand.window.set_system(system)
    hand.settle()
    names, found = names_in(hand.design), []
    for place in pages(hand):
        assert hand.window.size().toTuple() == size, place
        found += [f"{place}: {what}" for what in cut_in(hand.window, names)]
        rail = hand.window.rail
        below = rail.mapTo(hand.window, rail.rect().bottomLeft()).y()
        assert below <= size[1] - 1, place
        page = hand.window.pages.page(hand.window.pages.current)
        assert page.minimumSizeHint().height() <= page.height(), place
        # in letters of the usual size no page as a whole has to be scrolled
        assert page.size() == page.parentWidget().parentWidget().size(), place
    assert not found, "\n".join(found)


@pytest.mark.parametrize("minus", [False, True], ids=["plus", "minus"])
@pytest.mark.parametrize("name", ["studio", "reading-room"])
def test_no_column_of_the_holes_ends_beyond_a_small_window(
    windows: Callable[[QtBot, str], Hand], qtbot: QtBot, name: str, minus: bool
) -> None:
    hand = windows(qtbot, name)
    hand.window.resize(960, 540)
    for system in (SI, US):
        hand.window.set_system(replace(system, minus_is_suction=minus))
        hand.window.pages.turn_to(FLOOR)
        hand.settle()
        table = hand.window.pages.page(FLOOR).side.holes.table
        across = sum(map(table.columnWidth, range(table.model().columnCount())))
        assert across <= table.viewport().width(), system.name


@pytest.mark.parametrize("name", ["studio", "reading-room"])
def test_lists_show_all_their_entries(windows: Callable[[QtBot, str], Hand], qtbot: QtBot, name: str) -> None:
    hand = windows(qtbot, name)
    hand.window.resize(1280, 800)
    hand.settle()
    found = [f"{place}: {what}" for place in pages(hand) for what in lists_cut(hand.window)]
    assert not found, "\n".join(found)


def test_words_as_long_as_in_german_find_room(qtbot: QtBot) -> None:
    """Labels, buttons and tabs, stretched by a third, in the window of a laptop."""
    hand = Hand(qtbot, scene("studio"))
    hand.document.settle()
    names, found = names_in(hand.design), []
    for place in pages(hand):
        for widget in hand.window.findChildren(QWidget):
            if isinstance(widget, QTabBar):
                for tab in range(widget.count()):
                    widget.setTabText(tab, _longer(widget.tabText(tab), widget.fontMetrics().horizontalAdvance))
            elif isinstance(widget, QLabel | QAbstractButton) and widget.isVisible() and _worded(widget):
                widget.setText(_longer(widget.text(), widget.fontMetrics().horizontalAdvance))
        # tools that are given another line are given it when there is another width
        for width in (1281, 1280):
            hand.window.resize(width, 800)
            hand.settle()
            hand.settle()
        found += [f"{place}: {what}" for what in cut_in(hand.window, names) if not what.startswith(("cell", "painted"))]
        assert hand.window.size().toTuple() == (1280, 800), place
    assert not found, "\n".join(found)


def _worded(widget: QLabel | QAbstractButton) -> bool:
    """Whether a widget says something in words, and not a number or a unit."""
    return widget.text()[:1].isalpha() and widget.objectName() != "unit"


def _longer(text: str, width: Callable[[str], int]) -> str:
    """A text longer by a third, in its own words, so that it breaks where words do."""
    if "\u2060" in text:
        return text
    wanted, words = WIDER * width(text), text.split(" ")
    longer = text
    for i in range(1000):
        if width(longer) >= wanted:
            break
        words[i % len(words)] += "e"
        longer = " ".join(words)
    return f"{longer}\u2060"


def test_what_folds_folds_in_its_order(qtbot: QtBot) -> None:
    hand = Hand(qtbot)
    window, page = hand.window, hand.window.site_page
    assert page.sheet.power_chart.isVisible()
    assert page.site.card.isVisible()
    assert window.notes._line.isVisible()
    window.resize(960, 500)
    hand.settle()
    assert not page.sheet.power_chart.isVisible()
    assert not page.site.card.isVisible()
    assert not window.notes._line.isVisible()
    seen = {type(v).__name__ + v.accessibleName() for v in window.rail.findChildren(QWidget) if _answers(v)}
    assert seen == {"HeadViewVerdict", "TileViewAirflow", "TileViewSystem gauge", "TileViewRunning cost per year"}
    # all of it is a touch away
    hand.press("Power", page)
    assert page.sheet.power_chart.isVisible()
    hand.press("Details", page)
    assert page.site.card.isVisible()
    more = window.rail.findChild(QToolButton)
    assert more is not None
    QTest.mouseClick(more, Qt.MouseButton.LeftButton)
    hand.settle()
    assert any(_answers(v) and v.accessibleName().startswith("Sound") for v in window.rail.findChildren(QWidget))
    QTest.mouseClick(more, Qt.MouseButton.LeftButton)
    QTest.mouseClick(window.notes._toggle, Qt.MouseButton.LeftButton)
    hand.settle()
    assert any(text.startswith("• ") for text in hand.texts(window.notes))
    assert window.size().toTuple() == (960, 500)
    window.resize(1280, 800)
    hand.settle()
    assert window.notes._line.isVisible()
    assert window.notes._toggle.parent() is not None
    assert window.notes.isAncestorOf(window.notes._toggle)


def _answers(widget: QWidget) -> bool:
    return isinstance(widget, HeadView | TileView) and widget.isVisible()


def test_the_details_a_person_folded_stay_folded(qtbot: QtBot) -> None:
    hand = Hand(qtbot)
    site = hand.window.site_page.site
    site.card_button.setChecked(False)
    for size in ((960, 500), (1280, 800)):
        hand.window.resize(*size)
        hand.settle()
    assert not site.card_button.isChecked()


def test_every_list_is_announced_with_its_label(qtbot: QtBot) -> None:
    hand = Hand(qtbot)
    for place in pages(hand):
        for box in hand.window.findChildren(QComboBox):
            assert not box.isVisible() or box.accessibleName(), place


def test_a_cut_text_is_found(qtbot: QtBot) -> None:
    """The net holds: a label, a button, a tab, a heading and a painted word that lack room are named."""
    hand = Hand(qtbot)
    label = QLabel("A label that has no room for its words", hand.window)
    label.setGeometry(QRect(0, 0, 60, 20))
    button = QToolButton(hand.window)
    button.setText("A button without room")
    button.setGeometry(QRect(0, 40, 40, 24))
    tabs = QTabBar(hand.window)
    tabs.addTab("A tab that ends beyond its bar")
    tabs.setUsesScrollButtons(False)
    tabs.setElideMode(Qt.TextElideMode.ElideNone)
    tabs.setGeometry(QRect(0, 80, 50, 30))
    for widget in (label, button, tabs):
        widget.show()
    hand.settle()
    found = "\n".join(cut_in(hand.window, set()))
    for words in ("A label that", "A button without", "A tab that"):
        assert words in found
    assert painted(hand.window.rail)
