"""The vacuum field as a picture: levels of suction in even steps of lightness, the target line, what does not hold."""

from __future__ import annotations

from functools import lru_cache
from typing import Any, Literal

import numpy as np
from msgspec import Struct
from pyqtgraph.functions import arrayToQPolygonF
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QImage, QPainter, QPainterPath, QPen, QPixmap, QPolygonF

from workbench.gui.kit.theme import Theme
from workbench.gui.plan.frame import Place, PlanFrame
from workbench.papers.shades import levels, shades
from workbench.physics.arrays import Array
from workbench.physics.slab.field import VacuumField
from workbench.solving.report.contours import Carried, Traced
from workbench.solving.report.floor_map import FloorMap
from workbench.units import SI, System

_MOST_PIXELS = 90_000
"""Of the picture that is stretched over the floor; more are not seen."""
Hatch = Literal["/", "\\", "-", "|", "x"]
_THIN = 90
"""Opacity of the lines between the shades, of 255."""
_ZONES: tuple[Hatch, ...] = ("\\", "-", "|", "x")


# --- the field on a finer grid ----------------------------------------------------------------------------------------


class _Finer:
    """Carries values beyond the floor and onto a finer grid; made once for a field."""

    def __init__(self, field: VacuumField) -> None:
        self.carried = Carried(field)
        rows, columns = self.carried.shape
        times = max(1, min(6, int((_MOST_PIXELS / (rows * columns)) ** 0.5)))
        self._across, self._down = _weights(columns, times), _weights(rows, times)

    def fine(self, spread: Array) -> Array:
        """Linear between the centres, several to a cell."""
        (left, right, w), (low, high, v) = self._across, self._down
        wide = spread[:, left] * (1.0 - w) + spread[:, right] * w
        return np.asarray(wide[low] * (1.0 - v[:, None]) + wide[high] * v[:, None])

    def at(self, spread: Array, place: Place) -> float:
        """The value at a place, linear between the centres."""
        grid = self.carried
        i = min(max((place[0] - grid.x[0]) / grid.cell, 0.0), len(grid.x) - 1.001)
        j = min(max((place[1] - grid.y[0]) / grid.cell, 0.0), len(grid.y) - 1.001)
        c, r = int(i), int(j)
        u, v = i - c, j - r
        low = spread[r, c] * (1.0 - u) + spread[r, c + 1] * u
        high = spread[r + 1, c] * (1.0 - u) + spread[r + 1, c + 1] * u
        return float(low * (1.0 - v) + high * v)


def _weights(count: int, times: int) -> tuple[Any, Any, Any]:
    place = np.clip((np.arange(count * times) + 0.5) / times - 0.5, 0.0, count - 1.0)
    low = np.minimum(place.astype(np.int64), count - 2)
    return low, low + 1, (place - low).astype(np.float32)


# --- the layer --------------------------------------------------------------------------------------------------------


class Contour(Struct, frozen=True, eq=False):
    """Where the field has one suction [Pa]: lines of points (n, 2), east and north. [m]"""

    level: float
    lines: tuple[Array, ...]


class _Shown(Struct, frozen=True, eq=False):
    image: QImage
    spread_day: Array
    spread_worst: Array
    line: QPainterPath
    failing: QPainterPath
    contours: tuple[Contour, ...]


class FieldLayer:
    """Holds the picture of one field and makes it anew for every answer."""

    def __init__(self) -> None:
        self._finer: _Finer | None = None
        self._field: VacuumField | None = None
        self._plan: FloorMap | None = None
        self._shown: _Shown | None = None
        self._target = 1.0
        self._worst = True
        self._system: System = SI
        self._theme: Theme | None = None
        self._table = np.zeros(1, dtype=np.uint32)

    @property
    def plan(self) -> FloorMap | None:
        """The field now shown."""
        return self._plan

    def set_look(self, theme: Theme, system: System) -> None:
        """Wear another theme or show other levels."""
        if (theme, system) != (self._theme, self._system) or self._table.size == 1:
            self._theme, self._system = theme, system
            self._table = np.array(
                [int("FF" + colour[1:], 16) for colour in shades(theme.name, len(levels(system)))], dtype=np.uint32
            )
            self._make()

    def set_worst(self, worst: bool) -> None:
        """Show the worst day, or the day itself."""
        if worst != self._worst:
            self._worst = worst
            self._make()

    def show(self, plan: FloorMap | None, target: float) -> None:
        """Take a new field, or none."""
        self._plan, self._target = plan, target
        if plan is not None and plan.field is not self._field:
            self._field, self._finer = plan.field, _Finer(plan.field)
        self._make()

    @property
    def contours(self) -> tuple[Contour, ...]:
        """Lines between the shades of what is shown, weakest first."""
        return self._shown.contours if self._shown is not None else ()

    def span(self) -> tuple[float, float] | None:
        """Least and most suction on the floor, of what is shown. [Pa]"""
        plan = self._plan
        if plan is None:
            return None
        seen = plan.worst if self._worst else plan.day
        return float(seen.min()), float(seen.max())

    def value_at(self, place: Place, *, worst: bool) -> float | None:
        """Suction at a place on the floor. [Pa]"""
        if self._shown is None or self._finer is None:
            return None
        return self._finer.at(self._shown.spread_worst if worst else self._shown.spread_day, place)

    def _make(self) -> None:
        plan, finer = self._plan, self._finer
        if plan is None or finer is None or self._theme is None:
            self._shown = None
            return
        grid = finer.carried
        day, worst = grid.values(plan.day), grid.values(plan.worst)
        seen = worst if self._worst else day
        fine = finer.fine(seen)
        low, high = float(fine.min()), float(fine.max())
        bounds = levels(self._system)
        index = np.full(fine.shape, int(np.sum(bounds <= low)), dtype=np.uint8)
        for bound in bounds[(bounds > low) & (bounds <= high)]:
            index += fine >= np.float32(bound)
        # the first row of the grid is the southernmost, the first of a picture the topmost
        pixels = np.ascontiguousarray(self._table[index[::-1]])
        rows, columns = pixels.shape
        image = QImage(pixels.data, columns, rows, 4 * columns, QImage.Format.Format_RGB32).copy()
        traced = grid.traced(seen)
        failing = self._failing(worst, traced if seen is worst else grid.traced(worst))
        between = bounds[(bounds > low) & (bounds < high)]
        contours = tuple(Contour(float(level), traced.lines(level)) for level in between)
        self._shown = _Shown(image, day, worst, self._target_line(seen, traced), failing, contours)

    def _target_line(self, seen: Array, traced: Traced) -> QPainterPath:
        path = QPainterPath()
        if float(seen.min()) < self._target <= float(seen.max()):
            for line in traced.lines(self._target):
                path.addPolygon(_polygon(line))
        return path

    def _failing(self, worst: Array, traced: Traced) -> QPainterPath:
        path = QPainterPath()
        path.setFillRule(Qt.FillRule.OddEvenFill)
        if float(worst.min()) < self._target:
            for rings in traced.areas(float(worst.min()) - 1.0, self._target):
                for ring in rings:
                    path.addPolygon(_polygon(ring))
        return path

    def paint(
        self, painter: QPainter, frame: PlanFrame, outline: QPolygonF, *, strength: float = 1.0, target: bool = True
    ) -> None:
        """Lay the picture onto the floor, cut off at its outline; weaker while it is not that of what is drawn."""
        if self._shown is None or self._finer is None or self._theme is None:
            return
        (x, y), (width, height) = self._finer.carried.origin, self._finer.carried.size
        floor = QPainterPath()
        floor.addPolygon(outline)
        floor.closeSubpath()
        painter.save()
        painter.setClipPath(floor)
        painter.setOpacity(strength)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        painter.drawImage(QRectF(frame.pixels((x, y + height)), frame.pixels((x + width, y))), self._shown.image)
        if not target:
            painter.restore()
            return
        to_pixels = frame.transform()
        thin = self._theme.colour("text")
        thin.setAlpha(_THIN)
        painter.setPen(QPen(thin, 1.0))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for contour in self._shown.contours:
            for points in contour.lines:
                painter.drawPolyline(to_pixels.map(_polygon(points)))
        if not self._shown.failing.isEmpty():
            painter.fillPath(
                to_pixels.map(self._shown.failing), failing_brush(self._theme, painter.device().devicePixelRatioF())
            )
        line = to_pixels.map(self._shown.line)
        # a wide line in the colour of the sheet under it keeps the target readable on every shade
        for colour, thick in ((self._theme.panel, 5.0), (self._theme.bad, 2.4)):
            painter.strokePath(line, QPen(QColor(colour), thick))
        painter.restore()


def _polygon(points: Array) -> QPolygonF:
    return arrayToQPolygonF(points[:, 0], points[:, 1])


@lru_cache(maxsize=32)
def _tile(colour: str, ratio: float, hatch: Hatch) -> QPixmap:
    size = 10
    tile = QPixmap(round(size * ratio), round(size * ratio))
    tile.setDevicePixelRatio(ratio)
    tile.fill(Qt.GlobalColor.transparent)
    painter = QPainter(tile)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(QColor(colour), 1.0))
    for shift in (-size, 0, size):
        if hatch in ("/", "x"):
            painter.drawLine(QPointF(shift, size), QPointF(shift + size, 0))
        if hatch in ("\\", "x"):
            painter.drawLine(QPointF(shift, 0), QPointF(shift + size, size))
    if hatch == "-":
        painter.drawLine(QPointF(0, 5.5), QPointF(size, 5.5))
    elif hatch == "|":
        painter.drawLine(QPointF(5.5, 0), QPointF(5.5, size))
    painter.end()
    return tile


def failing_brush(theme: Theme, ratio: float) -> QBrush:
    """The slanting strokes over what does not hold."""
    return QBrush(_tile(theme.bad, ratio, "/"))


def zone_brush(theme: Theme, ratio: float, zone: int) -> QBrush:
    """The strokes over a zone of another fill, by its position: never those of what does not hold."""
    return QBrush(_tile(theme.muted, ratio, _ZONES[zone % len(_ZONES)]))
