"""Cost of a year against cost of building: every choice a mark, the frontier a stair, the notable ones by name."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise
from typing import Any

import numpy as np
from PySide6.QtCore import QPointF, QRectF, QSizeF, Qt, Signal
from PySide6.QtGui import QBrush, QColor, QPalette, QPen
from PySide6.QtWidgets import QLabel, QVBoxLayout, QWidget

from workbench.gui.kit.chart_items import ChartText, Curve, Marks
from workbench.gui.kit.plotting import Chart
from workbench.gui.kit.theme import LIGHT, LineStyle, Theme
from workbench.gui.kit.type_scale import Role, font_of
from workbench.solving.choices.search import Choice, Choices
from workbench.solving.outcome import Verdict
from workbench.solving.report.verdict_words import VERDICT_WORDS
from workbench.units import System

_ACROSS, _UP = "Installed cost", "Running cost"
_MARKS: dict[Verdict, tuple[str, str]] = {
    "holds": ("+", "fan"),
    "unsure": ("d", "unsure"),
    "not measured": ("s", "unread"),
    "fails": ("t1", "bad"),
}
_KEYS: dict[Verdict, str] = {
    "holds": "+ meets every limit",
    "unsure": f"◇ {VERDICT_WORDS['unsure']}",
    "not measured": "▢ meets them by an estimate, not measured",
    "fails": "△ misses a limit",
}


_SIDES = ((0.0, 0.5), (1.0, 0.5), (0.5, 1.0), (0.5, 0.0), (0.0, 1.0), (1.0, 1.0), (0.0, 0.0), (1.0, 0.0))
"""Where a name may stand beside its mark, as anchors: right, left, above, below, then at the corners."""
_FAR = (9.0, 24.0, 42.0, 64.0)
"""Pixels between a mark's middle and its name, the nearest first."""


class _Overlay(Marks):
    """Marks that lie over the choices and let a click through to them."""

    def __init__(self, z: float) -> None:
        super().__init__(pxMode=True)
        self.setZValue(z)

    def mouseClickEvent(self, event: Any) -> None:
        event.ignore()


class ChoicesPlot(QWidget):
    """The chart and its key. `picked` tells a choice by its position in the ranking, and whether beside others."""

    picked = Signal(int, bool)
    opened = Signal(int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.chart = Chart(
            "Running cost per year against installed cost", (_ACROSS, "money"), (f"{_UP} per year", "money")
        )
        self._theme = LIGHT
        self._found: Choices | None = None
        self._stale = False
        self._picks: list[int] = []
        self._now: tuple[float, float] | None = None
        self._front = self.chart.add_curve(LineStyle(LIGHT.accent, 1.5), z=1.0)
        self._marks = Marks(pxMode=True)
        self._marks.setZValue(2.0)
        self._marks.sigClicked.connect(self._clicked)
        self._rings = _Overlay(4.0)
        self._today = _Overlay(3.0)
        for item in (self._marks, self._rings, self._today):
            self.chart.add(item)
        self._leads = Curve()
        self._leads.setZValue(3.5)
        self.chart.add(self._leads)
        self._names: list[tuple[tuple[float, float], ChartText]] = []
        box = self.chart.sheet
        box.sigRangeChanged.connect(lambda *_: self._place_names())
        box.sigResized.connect(lambda *_: self._place_names())
        self._key = QLabel("", wordWrap=True, textFormat=Qt.TextFormat.PlainText)
        self._key.setObjectName("quiet")
        self._key.setContentsMargins(10, 2, 10, 6)
        self.setAutoFillBackground(True)
        self.setBackgroundRole(QPalette.ColorRole.Base)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.chart, 1)
        column.addWidget(self._key)
        self._say()

    def show_found(self, found: Choices) -> None:
        """Show what a search found."""
        self._found, self._picks = found, []
        known = [(row.first, row.yearly) for row in found.rows if not math.isnan(row.yearly)]
        known += [self._now] if self._now is not None and known else []
        if known:
            first, yearly = (np.array(column) for column in zip(*known, strict=True))
            self.chart.widen_to(float(first.max()), float(yearly.max()))
            self.chart.reset()
        self._draw()

    def show_none(self) -> None:
        """Show that nothing was found yet."""
        self._found, self._picks = None, []
        self._draw()

    def show_now(self, first: float, yearly: float) -> None:
        """Mark where the design stands, at the speed it is set to; not a number hides the mark."""
        now = None if math.isnan(first) or math.isnan(yearly) else (first, yearly)
        if now != self._now:
            self._now = now
            self._draw_now()

    def pick(self, rows: list[int]) -> None:
        """Ring the picked choices."""
        self._picks = rows
        self._draw_rings()

    def set_stale(self, stale: bool) -> None:
        """Grey what was found for a design that has changed since."""
        if stale != self._stale:
            self._stale = stale
            self._draw()

    def set_system(self, system: System) -> None:
        """Show other units; money knows but one."""
        self.chart.set_system(system)

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self._theme = theme
        self.chart.apply_theme(theme)
        self._draw()

    # --- drawing ------------------------------------------------------------------------------------------------------

    def _draw(self) -> None:
        theme, found = self._theme, self._found
        ink = "muted" if self._stale else "accent"
        self._front.restyle(LineStyle(getattr(theme, ink), 1.5))
        spots: list[dict[str, Any]] = []
        front: list[tuple[float, float]] = []
        if found is not None:
            on_front = set(found.frontier)
            front = [(found.rows[i].first, found.rows[i].yearly) for i in found.frontier]
            for i, row in enumerate(found.rows):
                if math.isnan(row.yearly):
                    continue
                colour = theme.colour("muted" if self._stale else _MARKS[row.verdict][1])
                spots.append(
                    {
                        "pos": (row.first, row.yearly),
                        "data": i,
                        "symbol": _MARKS[row.verdict][0],
                        "size": 10 if i in on_front else 6,
                        "pen": _outline(colour, 2.0 if i in on_front else 1.0),
                        "brush": QBrush(Qt.BrushStyle.NoBrush),
                    }
                )
        # those of the frontier lie on top
        self._marks.setData(sorted(spots, key=lambda spot: spot["size"]))
        stair = _stair(front)
        x, y = (np.array([p[axis] for p in stair], dtype=np.float64) for axis in (0, 1))
        self._front.setData(x, y)
        self._draw_rings()
        self._draw_now()
        self._say()

    def _draw_rings(self) -> None:
        found = self._found
        at = [] if found is None else [found.rows[i] for i in self._picks if not math.isnan(found.rows[i].yearly)]
        pen = _outline(self._theme.colour("operating"), 2.0)
        self._rings.setData(
            [
                {
                    "pos": (row.first, row.yearly),
                    "size": 15,
                    "symbol": "o",
                    "pen": pen,
                    "brush": QBrush(Qt.BrushStyle.NoBrush),
                }
                for row in at
            ]
        )

    def _draw_now(self) -> None:
        pen = _outline(self._theme.colour("system"), 2.0)
        spots = (
            []
            if self._now is None
            else [{"pos": self._now, "size": 14, "symbol": "star", "pen": pen, "brush": pen.color()}]
        )
        self._today.setData(spots)
        self._name_the_notable()

    # --- names --------------------------------------------------------------------------------------------------------

    def names(self) -> list[tuple[str, tuple[float, float]]]:
        """What stands beside marks, and where the mark is."""
        return [(item.toPlainText(), at) for at, item in self._names]

    def _name_the_notable(self) -> None:
        for _, item in self._names:
            self.chart.take(item)
        told: dict[tuple[float, float], list[str]] = {}
        for words, row in notable(self._found) if self._found is not None else ():
            told.setdefault((row.first, row.yearly), []).append(words)
        ink = self._theme.colour("muted" if self._stale else "text")
        named = [(at, " and ".join(words), ink) for at, words in told.items()]
        if self._now is not None:
            named.append((self._now, "present design", self._theme.colour("text")))
        self._names = []
        self._leads.setPen(_outline(ink, 1.0))
        for at, words, colour in named:
            item = ChartText(words, color=colour, fill=QBrush(self._theme.colour("panel")))
            item.setFont(font_of(Role.SMALL))
            item.setZValue(5.0)
            self.chart.add(item)
            self._names.append((at, item))
        self._place_names()

    def _place_names(self) -> None:
        """Set each name near its mark where it hides the fewest others, with a line to a mark that it is not beside."""
        if not self._names:
            self._leads.setData([], [])
            return
        box = self.chart.sheet
        sheet = box.sceneBoundingRect()
        spots = [box.mapViewToScene(QPointF(*at)) for at, _ in self._names]
        others = [box.mapViewToScene(QPointF(spot.pos())) for spot in self._marks.points()]
        taken = [QRectF(s.x() - 8.0, s.y() - 8.0, 16.0, 16.0) for s in spots]
        ends: list[QPointF] = []
        for spot, (_, item) in zip(spots, self._names, strict=True):
            # what is zoomed out of sight has no name in sight
            item.setVisible(sheet.contains(spot))
            if not item.isVisible():
                continue
            size = item.boundingRect().size()

            def hides(place: QRectF) -> float:
                over = sum(place.intersects(t) for t in taken)
                return 40.0 * (place.intersected(sheet) != place) + 12.0 * over + sum(map(place.contains, others))

            # of two that hide as much, the nearer one
            best = min((_beside(spot, size, side, far) for far in _FAR for side in _SIDES), key=hides)
            taken.append(best)
            item.setPos(box.mapSceneToView(best.topLeft()))
            ends += [spot, _edge_towards(best, spot)]
        placed = [box.mapSceneToView(end) for end in ends]
        self._leads.setData([p.x() for p in placed], [p.y() for p in placed], connect="pairs")

    def _say(self) -> None:
        if self._found is None:
            self._key.setText("Search results are plotted here: installed cost against running cost per year.")
            self.chart.setAccessibleDescription("Nothing was searched yet.")
            return
        seen = {row.verdict for row in self._found.rows if not math.isnan(row.yearly)}
        words = "   ".join(
            ["Stepped line: no option is cheaper in both", *(told for mark, told in _KEYS.items() if mark in seen)]
        )
        currency = self._found.design.prices.currency
        self._key.setText(f"{words}   Star: present design.")
        self.chart.axis("bottom").set_quantity(f"{_ACROSS}, {currency}", "money")
        self.chart.axis("left").set_quantity(f"{_UP}, {currency}/yr", "money")
        best = self._found.best
        said = (
            "No option is known to meet every limit."
            if best is None
            else f"{len(self._found.frontier)} options on the frontier."
        )
        self.chart.setAccessibleDescription(said)

    # --- picking ------------------------------------------------------------------------------------------------------

    def _clicked(self, _item: Any, spots: Any, event: Any) -> None:
        if len(spots) == 0:
            return
        row = int(spots[-1].data())
        event.accept()
        if event.double():
            self.opened.emit(row)
        else:
            beside = bool(event.modifiers() & (Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier))
            self.picked.emit(row, beside)


def notable(found: Choices) -> list[tuple[str, Choice]]:
    """Choices worth naming: of those that keep every limit the cheapest to own and the quietest."""
    kept = [row for row in found.rows if row.keeps and not math.isnan(row.yearly)]
    if not kept:
        return []
    ways: list[tuple[str, Callable[[Choice], float]]] = [
        ("cheapest to own", lambda row: row.life_cycle),
        ("quietest", lambda row: row.sound),
    ]
    named = []
    for words, measure in ways:
        known = [row for row in kept if not math.isnan(measure(row))]
        if known:
            named.append((words, min(known, key=measure)))
    return named


def _stair(front: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Corners of the line below and left of which there is no choice: level to the next one, then down to it."""
    corners = front[:1]
    for (_, before), (first, yearly) in pairwise(front):
        corners += [(first, before), (first, yearly)]
    return corners


def _beside(spot: QPointF, size: QSizeF, side: tuple[float, float], far: float) -> QRectF:
    across, up = side
    x = spot.x() - across * size.width() + far * (1.0 - 2.0 * across)
    y = spot.y() - up * size.height() + far * (1.0 - 2.0 * up)
    return QRectF(QPointF(x, y), size)


def _edge_towards(place: QRectF, spot: QPointF) -> QPointF:
    """The point of a name's frame that is nearest to its mark."""
    x = min(max(spot.x(), place.left()), place.right())
    return QPointF(x, min(max(spot.y(), place.top()), place.bottom()))


def _outline(colour: QColor, width: float) -> QPen:
    """A pen whose width is told in pixels however large the mark is."""
    return LineStyle(colour.name(), width).pen()
