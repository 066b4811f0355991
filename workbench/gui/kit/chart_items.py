"""What stands on a chart: curves, bands, marks, texts and upright lines, none of which raises into Qt."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPen

from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.theme import LineStyle

_FAR = 1.0
"""How far beyond the sheet, in breadths and heights of it, a line is still drawn."""


class Marks(Guarded, pg.ScatterPlotItem):
    """Marks of one size in pixels."""


class ChartText(Guarded, pg.TextItem):
    """Words that keep their size in pixels, plain text always."""


class UprightLine(Guarded, pg.InfiniteLine):
    """A line over the whole height of a chart."""


class _Traced(Guarded, pg.PlotCurveItem):
    """An item of which a picture may be kept while it stands still.

    Of one that reaches beyond the sheet Qt keeps a part, and moves that part when the item's bounds change, whatever
    it shows since: after new data or another range the picture has to be made anew.
    """

    def setData(self, *args: Any, **kwargs: Any) -> None:
        super().setData(*args, **kwargs)
        self._forget_picture()

    def near(self) -> QRectF | None:
        """The sheet and what lies beside it, in the item's own values; None where it stands on none."""
        box = self.getViewBox()
        if box is None:
            return None
        seen: QRectF = box.viewRect().normalized()
        across, up = _FAR * seen.width(), _FAR * seen.height()
        return seen.adjusted(-across, -up, across, up)

    def boundingRect(self) -> QRectF:
        # a picture is kept of all of it
        whole, near = super().boundingRect(), self.near()
        return whole if near is None else whole & near

    def viewTransformChanged(self) -> None:
        super().viewTransformChanged()
        self._forget_picture()

    def _forget_picture(self) -> None:
        # the mode set once more drops what was kept
        if self.cacheMode() != self.CacheMode.NoCache:
            self.setCacheMode(self.cacheMode())


class Curve(_Traced):
    """A line that is as wide on a dense screen, and in a picture, as on a plain one.

    Qt gives a cosmetic pen its width in the pixels of the device, however small they are. It lays the dashes of a line
    out to its very end, and takes gigabytes where that is a million pixels away: what lies far beyond the sheet is
    left out.
    """

    def __init__(self) -> None:
        super().__init__(antialias=True)
        self._trimmed: tuple[object, QPainterPath] | None = None

    def setData(self, *args: Any, **kwargs: Any) -> None:
        self._trimmed = None
        super().setData(*args, **kwargs)

    def restyle(self, style: LineStyle) -> None:
        """Draw in another style."""
        self.setPen(style.pen())

    def paint(self, painter: QPainter, option: Any, widget: Any) -> None:
        pen = self.opts["pen"]
        density = painter.device().devicePixelRatio()
        if density != 1.0:
            wide = QPen(pen)
            wide.setWidthF(pen.widthF() * density)
            self.opts["pen"] = wide
        super().paint(painter, option, widget)
        self.opts["pen"] = pen

    def getPath(self) -> QPainterPath:
        path, near = super().getPath(), self.near()
        if near is None or near.contains(path.controlPointRect()):
            return path
        if self._trimmed is None or self._trimmed[0] != near:
            x, y = self.getData()
            self._trimmed = near, trimmed(x, y, near)
        return self._trimmed[1]


class Band(_Traced):
    """The area between a lower and an upper curve."""

    def __init__(self, colour: str) -> None:
        super().__init__(fillLevel="enclosed", pen=None, antialias=False)
        self.set_colour(colour)

    def set_colour(self, colour: str) -> None:
        """Fill with another colour."""
        self.setBrush(QColor(colour))

    def set_data(self, x: np.ndarray, low: np.ndarray, high: np.ndarray) -> None:
        """Three arrays of one shape (n,), in SI."""
        self.setData(np.concatenate([x, x[::-1]]), np.concatenate([low, high[::-1]]))


def trimmed(x: np.ndarray, y: np.ndarray, within: QRectF) -> QPainterPath:
    """The line through points (n,) as far as it lies within a rectangle (Liang and Barsky's way)."""
    path, end = QPainterPath(), -1
    for i in range(len(x) - 1):
        part = _part_within((x[i], y[i]), (x[i + 1], y[i + 1]), within)
        if part is None:
            continue
        first, last = part
        dx, dy = x[i + 1] - x[i], y[i + 1] - y[i]
        if end != i or first > 0.0:
            path.moveTo(x[i] + first * dx, y[i] + first * dy)
        path.lineTo(x[i] + last * dx, y[i] + last * dy)
        # the next one goes on where this one ends, so that dashes run on
        end = i + 1 if last == 1.0 else -1
    return path


def _part_within(a: tuple[float, float], b: tuple[float, float], within: QRectF) -> tuple[float, float] | None:
    """The shares of a segment at which it enters and leaves a rectangle."""
    if not all(map(math.isfinite, (*a, *b))):
        return None
    first, last = 0.0, 1.0
    for start, end, low, high in (
        (a[0], b[0], within.left(), within.right()),
        (a[1], b[1], within.top(), within.bottom()),
    ):
        step = end - start
        if step == 0.0:
            if not low <= start <= high:
                return None
            continue
        one, other = sorted(((low - start) / step, (high - start) / step))
        first, last = max(first, one), min(last, other)
    return (first, last) if first < last else None
