"""Whatever a person enters is shown as it was written: nothing takes it for mark-up, for a key or for a format."""

from __future__ import annotations

from collections.abc import Iterator
from typing import get_args

import pytest
from pydantic import ValidationError
from PySide6.QtCore import QAbstractListModel, QEvent, QPoint, QPointF
from PySide6.QtGui import QHelpEvent, Qt
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QApplication,
    QComboBox,
    QGraphicsTextItem,
    QGraphicsView,
    QGroupBox,
    QLabel,
    QMenu,
    QTabBar,
    QTableView,
    QTextEdit,
    QToolTip,
    QWidget,
)
from pytestqt.qtbot import QtBot

from tests.gui.hand import Hand
from tests.odd_names import named, scene
from workbench.design import Design
from workbench.design.record import Address, Record, value_at, with_value
from workbench.design.search import Search
from workbench.gui.floor.side import CHANCE, HOLES, SEASON, TARGET
from workbench.gui.kit.question import Question, Reply
from workbench.gui.plan.menu import plan_menu
from workbench.gui.section.menu import part_menu
from workbench.gui.window import FLOOR

WORD = "Quixotry"
MARKED = f'<b>{WORD}</b><img src="file:///nowhere.png"> R&D {{A}} {{0:>400}} %s \u202eab\u202c 😀'
LONG = f"<i>{WORD}</i>{'n' * 360}"
LINES = f"two\nlines <u>{WORD}</u>\tand a tab"
pytestmark = pytest.mark.qt_log_ignore("^This plugin does not support", extend=True)


def _texts_in(record: Record, address: Address = ()) -> Iterator[Address]:
    """Every value of a design that is a line somebody typed."""
    for name in type(record).model_fields:
        value = getattr(record, name)
        annotation = type(record).model_fields[name].annotation
        if annotation is str or str in get_args(annotation):
            yield (*address, name)
        elif isinstance(value, Record):
            yield from _texts_in(value, (*address, name))
        elif isinstance(value, tuple):
            for i, each in enumerate(value):
                if isinstance(each, Record):
                    yield from _texts_in(each, (*address, name, i))


def _entered(design: Design, words: str) -> Design:
    """The design with the words wherever some may be typed."""
    design = named(design, words)
    for address in list(_texts_in(design)):
        if WORD in str(value_at(design, address) or "") or address[0] in ("fan", "place"):
            continue
        try:
            design = with_value(design, address, words)
        except ValidationError:
            continue
    return design


def _in_table(view: QAbstractItemView, role: int) -> Iterator[str]:
    model = view.model()
    columns = 1 if isinstance(model, QAbstractListModel) else model.columnCount()
    for row in range(model.rowCount()):
        for column in range(columns):
            yield str(model.index(row, column).data(role) or "")
    if isinstance(view, QTableView):
        for way, count in ((Qt.Orientation.Horizontal, columns), (Qt.Orientation.Vertical, model.rowCount())):
            for i in range(count):
                yield str(model.headerData(i, way, role) or "")


def _hints(widget: QWidget) -> Iterator[str]:
    yield from (widget.toolTip(), widget.statusTip(), widget.whatsThis())
    if isinstance(widget, QTabBar):
        yield from (widget.tabToolTip(i) for i in range(widget.count()))
    if isinstance(widget, QAbstractItemView) and widget.model() is not None:
        yield from _in_table(widget, Qt.ItemDataRole.ToolTipRole)
    if isinstance(widget, QComboBox):
        yield from (str(widget.itemData(i, Qt.ItemDataRole.ToolTipRole) or "") for i in range(widget.count()))
    if not isinstance(widget, QMenu) or widget.toolTipsVisible():
        yield from (action.toolTip() for action in widget.actions())


def _with_keys(widget: QWidget) -> Iterator[str]:
    """Texts in which a mark stands for the key of the letter after it."""
    if isinstance(widget, QAbstractButton):
        yield widget.text()
    if isinstance(widget, QGroupBox):
        yield widget.title()
    if isinstance(widget, QTabBar):
        yield from (widget.tabText(i) for i in range(widget.count()))
    if isinstance(widget, QLabel) and widget.buddy() is not None:
        yield widget.text()
    if isinstance(widget, QMenu):
        yield widget.title()
    yield from (action.text() for action in widget.actions())


def obeyed(root: QWidget) -> list[str]:
    """Where what was entered is not shown as it was written, in a widget and all below it."""
    found = []
    for widget in [root, *root.findChildren(QWidget)]:
        told: list[str] = []
        if isinstance(widget, QLabel):
            plain = widget.textFormat() == Qt.TextFormat.PlainText
            if not plain and (widget.textFormat() != Qt.TextFormat.RichText or f">{WORD}" in widget.text()):
                told.append(f"no plain text: {widget.text()}")
        if isinstance(widget, QTextEdit):
            told.append("reads mark-up")
        if isinstance(widget, QGraphicsView):
            texts = [i.toPlainText() for i in widget.scene().items() if isinstance(i, QGraphicsTextItem)]
            told += [f"on the chart: {text}" for text in texts if WORD in text and f">{WORD}" not in text]
        told += [f"hint: {hint}" for hint in _hints(widget) if WORD in hint and _is_rich(hint)]
        told += [f"key: {text}" for text in _with_keys(widget) if "R&D" in text]
        found += [f"{type(widget).__module__}.{type(widget).__name__}: {each[:200]!r}" for each in told]
    return found


def _is_rich(hint: str) -> bool:
    return f">{WORD}" in hint and Qt.mightBeRichText(hint)


def _pages(hand: Hand) -> Iterator[str]:
    for title in hand.window.pages.titles:
        hand.window.pages.turn_to(title)
        for panel in (HOLES, TARGET, SEASON, CHANCE) if title == FLOOR else ("",):
            if panel:
                hand.window.pages.page(FLOOR).side.turn_to(panel)
            hand.settle()
            yield f"{title} {panel}".strip()


def _design(words: str) -> Design:
    design = with_value(scene("reading-room"), ("search",), Search(pipes=(), pits=(), leak_left=()))
    return _entered(design, words)


@pytest.mark.parametrize("words", [MARKED, LONG, LINES], ids=["marked", "long", "lines"])
def test_nothing_that_is_entered_is_obeyed(qtbot: QtBot, monkeypatch: pytest.MonkeyPatch, words: str) -> None:
    shown: list[str] = []
    monkeypatch.setattr(QToolTip, "showText", staticmethod(lambda _at, text, *_rest: shown.append(text)))
    design = _design(words)
    assert WORD in design.title
    assert sum(WORD in str(value_at(design, address)) for address in _texts_in(design)) > 20
    hand = Hand(qtbot, design)
    hand.window.notes._toggle.click()
    found: list[str] = []
    for place in _pages(hand):
        found += [f"{place}: {each}" for each in obeyed(hand.window)]
        for widget in hand.window.findChildren(QWidget):
            if widget.isVisible():
                _ask_for_hints(widget)
    hand.document.propose(lambda design: with_value(design, ("title",), words + "?"), f"Rename {words[:100]}")
    hand.bar.say(f"“{words}” is in the way.", ((f"Open “{words[:40]}”".replace("&", "&&"), lambda: None),))
    found += [f"message, menus: {each}" for each in obeyed(hand.window)]
    found += [f"hint over a part: {text}" for text in shown if WORD in text and _is_rich(text)]
    assert any(WORD in text for text in shown)
    assert sorted(set(found)) == [], "\n".join(sorted(set(found)))


def _ask_for_hints(widget: QWidget) -> None:
    """Hold the pointer over many places of a widget."""
    places = [
        QPoint(round(widget.width() * (i + 0.5) / 12), round(widget.height() * (j + 0.5) / 12))
        for i in range(12)
        for j in range(12)
    ]
    if hasattr(widget, "layout_shown") and (layout := widget.layout_shown()) is not None:
        places += [widget.place_of(shape.address).toPoint() for shape in layout.of("pit", "fan", "run", "junction")]
    elif type(widget).__name__ != "CurveNames":
        # the others have hints of their own only
        return
    for at in places:
        QApplication.sendEvent(widget, QHelpEvent(QEvent.Type.ToolTip, at, widget.mapToGlobal(at)))


@pytest.mark.parametrize("words", [MARKED, LINES], ids=["marked", "lines"])
def test_menus_and_questions_show_names_as_written(qtbot: QtBot, words: str) -> None:
    hand = Hand(qtbot, _design(words))
    found: list[str] = []
    view = hand.window.site_page.site.section
    for shape in view.layout_shown().of("pit", "fan", "run", "junction", "outlet"):
        menu = part_menu(hand.design, shape.address, lambda *_: None, view)
        found += [f"{shape.address}: {each}" for each in obeyed(menu)]
        menu.deleteLater()
    hand.window.pages.turn_to(FLOOR)
    hand.settle()
    plan = hand.window.pages.page(FLOOR).view
    named_there = False
    for part, spot in plan.base.spots.items():
        menu = plan_menu(plan, plan, plan.gestures, QPointF(plan.frame.pixels(spot.place)))
        named_there |= any(WORD in action.text() for action in menu.actions())
        found += [f"{part}: {each}" for each in obeyed(menu)]
        menu.deleteLater()
    assert named_there
    question = Question(f"“{words}” has unsaved changes.", (Reply("stay", "Go back", f"“{words}” stays."),))
    qtbot.addWidget(question)
    found += obeyed(question)
    for menu in hand.window.menuBar().findChildren(QMenu):
        menu.aboutToShow.emit()
        found += obeyed(menu)
    assert sorted(set(found)) == [], "\n".join(sorted(set(found)))
