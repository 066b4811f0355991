"""No painting, no measuring and no handler raises into Qt: not in any class of the window, not at any size."""

from __future__ import annotations

import ast
import importlib
import pkgutil
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from types import FunctionType

import pyqtgraph as pg
import pytest
from PySide6.QtCore import QObject, QPoint, QRectF, QSize, Qt
from PySide6.QtGui import QMouseEvent, QPainter, QPaintEvent, QPixmap
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QGraphicsItem, QWidget
from pytestqt.qtbot import QtBot

import workbench.gui
from tests.gui.hand import Hand
from workbench.design import Design
from workbench.design.record import with_value
from workbench.design.search import Search
from workbench.files.scenes import load_scene
from workbench.gui.floor.side import CHANCE, HOLES, SEASON, TARGET
from workbench.gui.kit import guarded
from workbench.gui.kit.guarded import Guarded, called_by_qt, is_guarded
from workbench.gui.kit.plotting import Chart, QuantityAxis
from workbench.gui.window import FLOOR
from workbench.units import SI

ROOT = Path(workbench.gui.__file__).parent


@pytest.fixture
def raised(monkeypatch: pytest.MonkeyPatch) -> Callable[[], list[str]]:
    """What was told to the handler of last resort by now."""
    told: list[str] = []
    monkeypatch.setattr(sys, "excepthook", lambda kind, error, trace: told.append(f"{kind.__name__}: {error}"))
    monkeypatch.setattr(guarded, "_noted", set())

    def so_far() -> list[str]:
        QApplication.processEvents()
        return told

    return so_far


class Broken(Guarded, QWidget):
    """A widget of which nothing works."""

    def sizeHint(self) -> QSize:
        raise ValueError("size")

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)  # noqa: F841  left open
        raise ValueError("paint")

    def mousePressEvent(self, event: QMouseEvent) -> None:
        raise ValueError("press")


class BrokenItem(Guarded, pg.GraphicsObject):
    """An item of a chart of which nothing works."""

    def boundingRect(self) -> QRectF:
        raise ValueError("bounds")

    def paint(self, painter: QPainter, *_: object) -> None:
        raise ValueError("item")


def test_a_painting_that_raises_is_told_once_and_leaves_no_painter_open(
    qtbot: QtBot, raised: Callable[[], list[str]]
) -> None:
    widget = Broken()
    qtbot.addWidget(widget)
    widget.resize(40, 30)
    widget.show()
    for _ in range(3):
        # a painter that is still open would be warned of
        widget.grab()
    assert raised() == ["ValueError: paint"]
    assert widget.sizeHint() == QSize()
    assert raised() == ["ValueError: paint", "ValueError: size"]


def test_a_handler_that_raises_is_told_every_time(qtbot: QtBot, raised: Callable[[], list[str]]) -> None:
    widget = Broken()
    qtbot.addWidget(widget)
    for _ in range(2):
        QTest.mousePress(widget, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, QPoint(1, 1))
    assert raised() == ["ValueError: press"] * 2


def test_a_chart_bears_an_item_that_raises(qtbot: QtBot, raised: Callable[[], list[str]]) -> None:
    chart = Chart("Pressure", ("Flow", "flow"), ("Pressure", "pressure"), SI)
    qtbot.addWidget(chart)
    chart.widen_to(1.0, 1.0)
    item = BrokenItem()
    chart.add(item)
    chart.resize(300, 200)
    chart.show()
    chart.grab()
    assert "ValueError: bounds" in raised()
    item.paint(QPainter())
    assert "ValueError: item" in raised()


def test_an_axis_of_no_length_has_no_ticks() -> None:
    axis = QuantityAxis("left", "Pressure", "pressure", SI)
    for size in (0.0, -1.0):
        assert axis.tickValues(0.0, 10.0, size) == []
    assert axis.tickValues(3.0, 3.0, 100.0) == []
    assert axis.tickValues(0.0, 10.0, 100.0)


# --- every class ---


def _modules() -> Iterator[object]:
    for found in pkgutil.walk_packages([str(ROOT)], "workbench.gui."):
        yield importlib.import_module(found.name)


def _below(kind: type) -> Iterator[type]:
    for each in kind.__subclasses__():
        yield each
        yield from _below(each)


def test_every_override_that_qt_calls_is_guarded() -> None:
    list(_modules())
    seen = {each for kind in (QObject, QGraphicsItem) for each in _below(kind) if "workbench.gui" in each.__module__}
    found = [
        f"{each.__module__}.{each.__qualname__}.{name}"
        for each in seen
        for name, method in vars(each).items()
        if isinstance(method, FunctionType) and called_by_qt(name) and not is_guarded(method)
    ]
    assert sorted(found) == []
    # pyqtgraph's own painting is Python too
    bare = [f"{each.__module__}.{each.__qualname__}" for each in seen if issubclass(each, QGraphicsItem)]
    assert bare
    assert [each for each in seen if issubclass(each, QGraphicsItem) and not issubclass(each, Guarded)] == []


def test_no_bare_item_of_pyqtgraph_is_made() -> None:
    made = [
        f"{path.relative_to(ROOT)}:{node.lineno} pg.{node.func.attr}"
        for path in ROOT.rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Attribute)
        and isinstance(node.func.value, ast.Name)
        and node.func.value.id == "pg"
        and isinstance(kind := getattr(pg, node.func.attr), type)
        and issubclass(kind, QGraphicsItem)
    ]
    assert made == []


# --- every size ---


def _few(name: str) -> Design:
    return with_value(load_scene(name), ("search",), Search(pipes=(), pits=(), leak_left=(), another_point=False))


def _painters(window: QWidget) -> list[QWidget]:
    return [w for w in window.findChildren(QWidget) if isinstance(w, Guarded) and is_guarded(type(w).paintEvent)]


@pytest.mark.qt_log_ignore("^This plugin does not support", extend=True)
@pytest.mark.parametrize("name", ["studio", "reading-room"])
def test_every_painter_bears_any_size(qtbot: QtBot, raised: Callable[[], list[str]], name: str) -> None:
    hand = Hand(qtbot, _few(name))
    painted: set[str] = set()
    for title in hand.window.pages.titles:
        hand.window.pages.turn_to(title)
        for panel in (HOLES, TARGET, SEASON, CHANCE) if title == FLOOR else ("",):
            if panel:
                hand.window.pages.page(FLOOR).side.turn_to(panel)
            hand.settle()
            for widget in _painters(hand.window):
                painted.add(type(widget).__name__)
                size, least = widget.size(), widget.minimumSize()
                widget.setMinimumSize(0, 0)
                for width, height in ((0, 0), (1, 1), (2, 2), (0, 40), (40, 0), (2, 300), (300, 2), (1, 60), (60, 1)):
                    widget.resize(width, height)
                    picture = QPixmap(4, 4)
                    picture.fill(Qt.GlobalColor.white)
                    QWidget.render(widget, picture)
                    assert raised() == [], f"{title}: {type(widget).__name__} at {width} x {height}"
                widget.setMinimumSize(least)
                widget.resize(size)
    assert {"SectionView", "PlanView", "Chart", "Track", "HeadView", "TileView"} <= painted


def test_every_page_bears_splitters_drawn_to_their_ends(qtbot: QtBot, raised: Callable[[], list[str]]) -> None:
    """What took the process down once: a chart of no height whose grid asked for ticks."""
    from PySide6.QtWidgets import QSplitter

    hand = Hand(qtbot, _few("studio"))
    hand.window.resize(hand.window.minimumSize())
    for title in hand.window.pages.titles:
        hand.window.pages.turn_to(title)
        hand.settle()
        for splitter in hand.window.pages.page(title).findChildren(QSplitter):
            for first in (0, 1, 2, 10_000):
                splitter.setSizes([first, *[10_000 - first] * (splitter.count() - 1)])
                hand.settle()
                hand.window.grab()
                assert raised() == [], f"{title}: {first} px"
