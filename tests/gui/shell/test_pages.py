"""The pages over one rail: made when first wanted, told only while in sight, told everything when turned to."""

from __future__ import annotations

import inspect
import sys
from typing import Any

import pytest
from PySide6.QtCore import QSize, Signal
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLabel, QPushButton, QTabBar, QWidget
from pytestqt.qtbot import QtBot

from tests.gui.hand import KEY, Hand
from workbench.design.edit import set_speed
from workbench.design.faults import Fault
from workbench.design.record import with_value
from workbench.files.scenes import load_scene
from workbench.gui.floor.page import FloorPage
from workbench.gui.kit.theme import DARK
from workbench.gui.shell.faultlog import start
from workbench.gui.shell.pages import Page, Pages
from workbench.gui.shell.slot import FAILED
from workbench.gui.window import FLOOR
from workbench.solving import prepare
from workbench.units import SI, US, format_quantity


class Listener(QWidget):
    """A page that writes down what it is told."""

    proposed = Signal(object, str)

    def __init__(self) -> None:
        super().__init__()
        self.told: list[tuple[str, Any]] = []

    def show_design(self, design: Any) -> None:
        self.told.append(("design", design))

    def show_outcome(self, prepared: Any, outcome: Any) -> None:
        self.told.append(("outcome", outcome))

    def show_faults(self, faults: Any) -> None:
        self.told.append(("faults", faults))

    def set_stale(self, stale: bool) -> None:
        if stale:
            self.told.append(("stale", stale))

    def set_system(self, system: Any) -> None:
        self.told.append(("system", system))

    def apply_theme(self, theme: Any) -> None:
        self.told.append(("theme", theme))

    def pick(self, address: Any) -> None:
        self.told.append(("pick", address))

    def heard(self, kind: str) -> list[Any]:
        return [what for word, what in self.told if word == kind]


@pytest.fixture
def pages(qtbot: QtBot) -> Pages:
    made = Pages({"One": Listener, "Two": Listener})
    qtbot.addWidget(made)
    return made


def show(pages: Pages, speed: float = 0.7) -> tuple[Any, Any]:
    design = with_value(load_scene(), ("speed",), speed)
    prepared = prepare(design)
    outcome = prepared.at(speed)
    pages.show_design(design)
    pages.show_outcome(prepared, outcome)
    return design, outcome


def test_a_page_is_made_at_its_first_visit(pages: Pages) -> None:
    show(pages)
    assert list(pages._pages) == ["One"]
    pages.turn_to("Two")
    assert sorted(pages._pages) == ["One", "Two"]
    with pytest.raises(KeyError):
        pages.page("Three")


def test_a_page_out_of_sight_is_left_alone_and_catches_up_once(pages: Pages) -> None:
    show(pages)
    pages.turn_to("Two")
    pages.turn_to("One")
    two: Listener = pages.page("Two")
    two.told.clear()
    for speed in (0.5, 0.6, 0.8):
        design, outcome = show(pages, speed)
    assert two.told == []
    pages.turn_to("Two")
    assert two.heard("design") == [design]
    assert two.heard("outcome") == [outcome]
    two.told.clear()
    pages.turn_to("One")
    pages.turn_to("Two")
    assert two.told == []


def test_a_new_page_wears_the_theme_and_the_units_of_the_others(pages: Pages) -> None:
    pages.set_system(US)
    pages.apply_theme(DARK)
    show(pages)
    pages.turn_to("Two")
    two: Listener = pages.page("Two")
    assert two.heard("system")[-1] == US
    assert two.heard("theme")[-1] is DARK


def test_faults_go_to_the_page_that_proposed_and_all_clear_to_every_page(pages: Pages) -> None:
    show(pages)
    pages.turn_to("Two")
    one, two = pages.page("One"), pages.page("Two")
    heard: list[str] = []
    pages.proposed.connect(lambda _change, words: heard.append(words))
    two.proposed.emit(lambda design: design, "Change it")
    assert heard == ["Change it"]
    fault = Fault(("speed",), "is wrong")
    pages.show_faults([fault])
    assert two.heard("faults") == [[fault]]
    assert one.heard("faults") == []
    pages.show_faults([])
    assert one.heard("faults") == [[]]


# --- what every page understands -------------------------------------------------------------------------------------

MEMBERS = sorted({*Page.__annotations__, *(name for name in vars(Page) if not name.startswith("_"))})


def broken(page: type[QWidget]) -> list[str]:
    """Members of the protocol that a class of pages lacks, or takes or gives in another way."""
    wrong = [] if isinstance(getattr(page, "proposed", None), Signal) else ["proposed"]
    for name in set(MEMBERS) - {"proposed"}:
        own = getattr(page, name, None)
        if not inspect.isfunction(own) or inspect.signature(own) != inspect.signature(getattr(Page, name)):
            wrong.append(name)
    return sorted(wrong)


def test_every_page_of_the_window_understands_all_that_a_page_is_told(hand: Hand) -> None:
    pages = hand.window.pages
    assert {title: broken(type(pages.page(title))) for title in pages.titles} == {title: [] for title in pages.titles}


@pytest.mark.parametrize("name", MEMBERS)
def test_a_page_that_lacks_a_member_is_seen(name: str) -> None:
    assert broken(type("Deaf", (FloorPage,), {name: None})) == [name]
    # and one that would be told something else
    assert broken(type("Otherwise", (FloorPage,), {name: lambda self: None})) == [name]


class Breaking(Listener):
    """A page that raises where it is told to."""

    at = ""

    def show_design(self, design: Any) -> None:
        self._break("design")
        super().show_design(design)

    def show_outcome(self, prepared: Any, outcome: Any) -> None:
        self._break("outcome")
        super().show_outcome(prepared, outcome)

    def set_system(self, system: Any) -> None:
        self._break("system")
        super().set_system(system)

    def _break(self, where: str) -> None:
        if where == self.at:
            raise RuntimeError("a fault made for this test")


def failed_lines(pages: Pages) -> list[str]:
    """What is said of failed pages, as far as it is in sight on its own page."""
    return [
        label.text()
        for label in pages.findChildren(QLabel)
        if label.text() == FAILED and not label.isHidden() and not label.parentWidget().isHidden()
    ]  # type: ignore[union-attr]


@pytest.mark.parametrize("at", ["design", "outcome", "system"])
def test_a_page_that_raises_is_greyed_until_it_can_show_all_again(qtbot: QtBot, at: str) -> None:
    pages = Pages({"One": Breaking, "Two": Listener})
    qtbot.addWidget(pages)
    show(pages)
    one, two = pages.page("One"), pages.page("Two")
    one.at = at
    with qtbot.capture_exceptions() as noted:
        pages.set_system(US)
        show(pages, 0.6)
    assert [str(error) for _, error, _ in noted] == ["a fault made for this test"] * len(noted) != []
    assert not one.isEnabled()
    assert failed_lines(pages) == [FAILED]
    pages.turn_to("Two")
    assert two.isEnabled()
    assert two.heard("system")[-1] == US
    assert len(two.heard("outcome")) == 1
    one.at = ""
    pages.turn_to("One")
    assert one.isEnabled()
    assert failed_lines(pages) == []
    assert one.heard("system")[-1] == US
    assert one.heard("design")[-1].speed == one.heard("outcome")[-1].speed == 0.6


def test_a_page_that_cannot_be_made_leaves_the_others(qtbot: QtBot) -> None:
    def broken() -> QWidget:
        raise RuntimeError("a fault made for this test")

    pages = Pages({"One": Listener, "Two": broken})
    qtbot.addWidget(pages)
    show(pages)
    with qtbot.capture_exceptions() as noted:
        pages.turn_to("Two")
    assert len(noted) == 1
    assert failed_lines(pages) == [FAILED]
    pages.turn_to("One")
    show(pages, 0.6)
    assert pages.page("One").heard("design")[-1].speed == 0.6


# --- in the window --------------------------------------------------------------------------------------------------


def test_every_page_is_turned_to_by_keys_and_by_its_tab(hand: Hand) -> None:
    pages = hand.window.pages
    for number, title in enumerate(pages.titles, start=1):
        assert hand.action(f"{number} {title}").shortcut().toString() == f"Alt+{number}"
        hand.choose(f"{number} {title}")
        assert pages.current == title
        assert pages.page(title).isVisible()
    tabs = pages.findChild(QTabBar)
    assert tabs is not None
    tabs.setFocus()
    QTest.keyClick(tabs, KEY.Key_Left)
    assert pages.current == pages.titles[-2]


def test_the_rail_moves_every_page(hand: Hand) -> None:
    for title in hand.window.pages.titles:
        hand.window.pages.turn_to(title)
        hand.drag(0.5)
        assert hand.answers()["flow"].value
        assert hand.design.speed == pytest.approx(0.5, abs=0.001)
        hand.drag(0.7)
    hand.window.pages.turn_to(hand.window.pages.titles[0])
    point = hand.document.outcome.operating
    assert point is not None
    shown = hand.window.site_page.sheet._operating.getData()
    assert shown[0][0] == point.flow


@pytest.mark.parametrize("scene", ["studio", "reading-room", "clubhouses"])
def test_no_page_asks_for_more_room_than_the_smallest_window_has(qtbot: QtBot, scene: str) -> None:
    hand = Hand(qtbot, load_scene(scene))
    for system in ("SI", "US trade"):
        hand.choose(system)
        for title in hand.window.pages.titles:
            hand.window.pages.turn_to(title)
            hand.window.resize(960, 640)
            hand.settle()
            assert hand.window.size() == QSize(960, 640), (title, system)
            page = hand.window.pages.page(title)
            wanted, room = page.minimumSizeHint(), page.size()
            assert wanted.width() <= room.width(), (title, system)
            assert wanted.height() <= room.height(), (title, system)


def test_opening_another_design_reaches_every_page(hand: Hand) -> None:
    for title in hand.window.pages.titles:
        hand.window.pages.turn_to(title)
    hand.choose(load_scene("clubhouses").title)
    for title in hand.window.pages.titles:
        hand.window.pages.turn_to(title)
        hand.settle()
    hand.choose("New")
    for title in hand.window.pages.titles:
        hand.window.pages.turn_to(title)
        hand.settle()
    hand.window.pages.turn_to(hand.window.pages.titles[0])
    assert hand.operating_label().startswith("No fan is selected.")


def test_a_view_that_raises_leaves_the_rest_of_the_window_up_to_date(
    hand: Hand, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The page in sight fails: rail and notices still follow the speed, and the report holds the fault."""
    window, before = hand.window, hand.answers()["flow"].value

    def broken(*_: object) -> None:
        raise RuntimeError("a fault made for this test")

    monkeypatch.setattr(sys, "excepthook", sys.excepthook)
    start(window.filing.tell_of_fault)
    monkeypatch.setattr(window.site_page, "show_outcome", broken)
    hand.document.propose(lambda design: set_speed(design, 0.5), "Change speed")
    hand.document.settle()
    hand.settle()
    point = hand.document.outcome.operating
    assert point is not None
    assert hand.answers()["flow"].value == format_quantity(point.flow, "flow", SI) != before
    assert not hand.stale()
    assert not window.site_page.isEnabled()
    button = next(
        b for b in window.pages.findChildren(QPushButton) if b.text() == "Copy error report" and b.isVisible()
    )
    button.click()
    assert "a fault made for this test" in QGuiApplication.clipboard().text()
    window.pages.turn_to(FLOOR)
    assert window.pages.page(FLOOR).isEnabled()
    monkeypatch.undo()
    window.pages.turn_to(window.pages.titles[0])
    assert window.site_page.isEnabled()


def test_a_rail_that_raises_is_greyed_and_the_notices_go_on(
    hand: Hand, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise RuntimeError("a fault made for this test")

    told: list[object] = []
    monkeypatch.setattr(hand.window.rail, "set_answers", broken)
    monkeypatch.setattr(hand.window.notes, "show_notices", told.append)
    with qtbot.capture_exceptions() as noted:
        hand.document.propose(lambda design: set_speed(design, 0.5), "Change speed")
    assert noted
    assert hand.stale()
    assert told[-1] == hand.document.outcome.notices
    monkeypatch.undo()
    hand.document.propose(lambda design: set_speed(design, 0.6), "Change speed")
    assert not hand.stale()
