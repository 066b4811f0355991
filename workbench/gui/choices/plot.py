"""Cost of a year against cost of building: every choice a mark, the frontier a line, the picked one ringed."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QBrush, QColor, QPalette, QPen
from PySide6.QtWidgets import QLabel, QVBoxLayout, QWidget

from workbench.gui.kit.plotting import Chart
from workbench.gui.kit.theme import LIGHT, LineStyle, Theme
from workbench.solving.choices.search import Choices
from workbench.solving.outcome import Verdict
from workbench.solving.report.verdict_words import VERDICT_WORDS
from workbench.units import System

_MARKS: dict[Verdict, tuple[str, str]] = {
    "holds": ("o", "fan"),
    "unsure": ("d", "unsure"),
    "not measured": ("s", "unread"),
    "fails": ("t1", "bad"),
}
_KEYS: dict[Verdict, str] = {
    "holds": "○ meets every limit",
    "unsure": f"◇ {VERDICT_WORDS['unsure']}",
    "not measured": "▢ meets them by an estimate, not measured",
    "fails": "△ misses a limit",
}


class _Overlay(pg.ScatterPlotItem):
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
            "Running cost per year against installed cost", ("Installed cost", "money"), ("Running cost/yr", "money")
        )
        self._theme = LIGHT
        self._found: Choices | None = None
        self._stale = False
        self._picks: list[int] = []
        self._now: tuple[float, float] | None = None
        self._front = self.chart.add_curve(LineStyle(LIGHT.accent, 1.5), z=1.0)
        self._marks = pg.ScatterPlotItem(pxMode=True)
        self._marks.setZValue(2.0)
        self._marks.sigClicked.connect(self._clicked)
        self._rings = _Overlay(4.0)
        self._today = _Overlay(3.0)
        for item in (self._marks, self._rings, self._today):
            self.chart.addItem(item, ignoreBounds=True)
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
                        "size": 9 if i in on_front else 6,
                        "pen": _outline(colour, 1.0),
                        "brush": QBrush(colour) if i in on_front else QBrush(Qt.BrushStyle.NoBrush),
                    }
                )
        # those of the frontier lie on top
        self._marks.setData(sorted(spots, key=lambda spot: spot["size"]))
        x, y = (np.array([p[axis] for p in front], dtype=np.float64) for axis in (0, 1))
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
            else [{"pos": self._now, "size": 12, "symbol": "x", "pen": pen, "brush": pen.color()}]
        )
        self._today.setData(spots)

    def _say(self) -> None:
        if self._found is None:
            self._key.setText("Search results are plotted here: installed cost against running cost per year.")
            self.chart.setAccessibleDescription("Nothing was searched yet.")
            return
        seen = {row.verdict for row in self._found.rows if not math.isnan(row.yearly)}
        words = "   ".join(
            ["Filled: no option is cheaper in both", *(told for mark, told in _KEYS.items() if mark in seen)]
        )
        currency = self._found.design.prices.currency
        self._key.setText(f"{words}   × current design.   Money in {currency}.")
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


def _outline(colour: QColor, width: float) -> QPen:
    """A pen whose width is told in pixels however large the mark is."""
    return LineStyle(colour.name(), width).pen()
