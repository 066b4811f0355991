"""Where the exhaust comes from, drawn over the floor: arrows as wide as what they carry."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np
from msgspec import Struct
from PySide6.QtCore import QPointF, QRectF, QSizeF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPen, QPolygonF

from workbench.gui.kit.theme import Theme
from workbench.gui.kit.type_scale import Role, font_of
from workbench.gui.plan.frame import PlanFrame
from workbench.gui.plan.sketch import OUTLINE, Sketch, inside
from workbench.physics.arrays import Array
from workbench.solving.report.floor_map import AirPath, FloorMap
from workbench.units import System, format_quantity

_SPACING = 46.0
"""Between arrows along a side, and between rings over the slab. [px]"""
_WIDEST = 13.0
"""The arrow of a side that carries all the air. [px]"""


class AirWays(Struct, frozen=True, eq=False):
    """Paths of the air at an answer, with the field that draws it."""

    paths: tuple[AirPath, ...]
    plan: FloorMap

    @property
    def total(self) -> float:
        """All the air that comes. [m3/s]"""
        return sum(path.flow for path in self.paths)

    def words(self, system: System) -> list[tuple[str, bool]]:
        """Every path with its flow and share, and whether it is house air."""
        return [
            (
                f"{path.title}: {format_quantity(path.flow, 'flow', system)}, {100 * path.flow / self.total:.0f} %",
                path.house,
            )
            for path in self.paths
        ]


def colour_of(theme: Theme, house: bool) -> QColor:
    """House air and outdoor air; the one is drawn solid, the other dashed."""
    return theme.colour("system" if house else "air")


def paint_air(painter: QPainter, air: AirWays, sketch: Sketch, frame: PlanFrame, theme: Theme) -> None:
    """Arrows through joints, rings where air comes down through the slab, dashed arrows from outdoors."""
    if not sketch.outline or air.total <= 0.0:
        return
    for path in air.paths:
        share = path.flow / air.total
        if not path.house:
            sides = range(len(sketch.outline)) if path.side is None else [path.side]
            _from_outdoors(painter, sketch, sides, share, frame, theme)
        elif path.side is not None:
            _joint(painter, sketch, path.side, share, frame, theme)
        else:
            _rings(painter, air.plan, share, frame, theme)


def _inward(sketch: Sketch, side: int, frame: PlanFrame) -> tuple[QPointF, QPointF, QPointF]:
    """Both ends of a side in pixels, and a step of one pixel towards the inside."""
    a, b = sketch.sides(OUTLINE)[side]
    turning = sum(p[0] * q[1] - q[0] * p[1] for p, q in sketch.sides(OUTLINE))
    start, end = frame.pixels(a), frame.pixels(b)
    run = math.hypot(end.x() - start.x(), end.y() - start.y()) or 1.0
    inner = 1.0 if turning > 0.0 else -1.0
    return start, end, QPointF((end.y() - start.y()) / run, -(end.x() - start.x()) / run) * inner


def _along(start: QPointF, end: QPointF, spacing: float) -> list[QPointF]:
    run = math.hypot(end.x() - start.x(), end.y() - start.y())
    count = max(int(run / spacing), 1)
    return [start + (end - start) * ((i + 0.5) / count) for i in range(count)]


def _arrow(
    painter: QPainter, tail: QPointF, way: QPointF, long: float, width: float, colour: QColor, dashed: bool
) -> None:
    head = max(4.5, 1.3 * width)
    tip = tail + way * long
    neck = tip - way * head
    across = QPointF(-way.y(), way.x()) * (head * 0.75)
    pen = QPen(colour, width)
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    if dashed:
        pen.setDashPattern([max(3.0 / width, 0.8), max(2.2 / width, 0.6)])
    painter.setPen(pen)
    painter.drawLine(tail, neck)
    painter.setPen(QPen(colour, 1.2))
    painter.setBrush(Qt.BrushStyle.NoBrush if dashed else colour)
    painter.drawPolygon(QPolygonF([tip, neck + across, neck - across]))


def _joint(painter: QPainter, sketch: Sketch, side: int, share: float, frame: PlanFrame, theme: Theme) -> None:
    start, end, inward = _inward(sketch, side, frame)
    width = max(1.2, _WIDEST * share)
    for at in _along(start, end, _SPACING):
        _arrow(painter, at - inward * 6.0, inward, 30.0, width, colour_of(theme, True), False)


def _from_outdoors(
    painter: QPainter, sketch: Sketch, sides: Iterable[int], share: float, frame: PlanFrame, theme: Theme
) -> None:
    width = max(1.2, _WIDEST * share / 2.0)
    for side in sides:
        start, end, inward = _inward(sketch, side, frame)
        for at in _along(start, end, 1.7 * _SPACING):
            _arrow(painter, at - inward * 30.0, inward, 46.0, width, colour_of(theme, False), True)


def _rings(painter: QPainter, plan: FloorMap, share: float, frame: PlanFrame, theme: Theme) -> None:
    """Rings with a dot, arrows seen from their tip, each as large as what comes down around it."""
    places, parts = _gathered(plan, 1.2 * _SPACING / frame.scale)
    most = float(parts.max()) if parts.size else 0.0
    if most <= 0.0:
        return
    colour = colour_of(theme, True)
    largest = 4.0 + 12.0 * math.sqrt(share)
    for (x, y), part in zip(places, parts, strict=True):
        radius = largest * math.sqrt(max(float(part), 0.0) / most)
        if radius < 1.6:
            continue
        at = frame.pixels((float(x), float(y)))
        _ring(painter, at, radius, colour)


def _ring(painter: QPainter, at: QPointF, radius: float, colour: QColor) -> None:
    painter.setPen(QPen(colour, 1.4))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawEllipse(at, radius, radius)
    dot = min(1.5, radius / 2.0)
    painter.fillRect(QRectF(at.x() - dot, at.y() - dot, 2.0 * dot, 2.0 * dot), colour)


def _gathered(plan: FloorMap, spacing: float) -> tuple[Array, Array]:
    """Leakage of the slab gathered over squares: where, shape (k, 2) [m], and how much of it, shape (k,)."""
    field = plan.field
    leak = field.system.leak_house * np.maximum(plan.day, 0.0)
    column, row = np.floor((field.centres - field.grid.origin) / spacing).astype(np.int64).T
    square = row * (int(column.max()) + 1) + column
    area, east, north, parts = (
        np.bincount(square, weights).astype(np.float64)
        for weights in (field.areas, field.areas * field.centres[:, 0], field.areas * field.centres[:, 1], leak)
    )
    kept = area > 0.0
    return np.stack((east[kept] / area[kept], north[kept] / area[kept]), axis=1), parts[kept]


def paint_air_key(
    painter: QPainter,
    area: QRectF,
    air: AirWays,
    sketch: Sketch,
    frame: PlanFrame,
    theme: Theme,
    system: System,
) -> None:
    """What each path brings, in the corner of the sheet where it hides least of the floor."""
    small = font_of(Role.SMALL)
    metrics = QFontMetricsF(small)
    rows = air.words(system)
    line = metrics.height() + 2.0
    size = QSizeF(max(metrics.horizontalAdvance(text) for text, _ in rows) + 48.0, line * len(rows) + 8.0)
    box = _freest(area, size, sketch, frame)
    paper = theme.colour("panel")
    paper.setAlpha(236)
    painter.setPen(QPen(theme.colour("rule"), 1.0))
    painter.setBrush(paper)
    painter.drawRect(box)
    painter.setFont(small)
    for i, ((text, house), path) in enumerate(zip(rows, air.paths, strict=True)):
        y = box.top() + 4.0 + line * (i + 0.5)
        if house and path.side is None:
            _ring(painter, QPointF(box.left() + 20.0, y), 5.0, colour_of(theme, True))
        else:
            tail = QPointF(box.left() + 7.0, y)
            _arrow(painter, tail, QPointF(1.0, 0.0), 26.0, 2.2, colour_of(theme, house), not house)
        painter.setPen(theme.colour("text"))
        row = QRectF(box.left() + 40.0, y - line / 2.0, size.width(), line)
        painter.drawText(row, Qt.AlignmentFlag.AlignVCenter, text)


def _freest(area: QRectF, size: QSizeF, sketch: Sketch, frame: PlanFrame) -> QRectF:
    right, bottom = area.right() - size.width(), area.bottom() - size.height()
    places = [(area.left(), bottom), (right, area.top()), (area.left(), area.top()), (right, bottom)]
    boxes = [QRectF(x, y, size.width(), size.height()) for x, y in places]

    def hidden(box: QRectF) -> int:
        steps = (0.0, 0.25, 0.5, 0.75, 1.0)
        points = [QPointF(box.left() + u * box.width(), box.top() + v * box.height()) for u in steps for v in steps]
        return sum(inside(sketch.outline, frame.metres(point)) for point in points)

    return min(boxes, key=hidden)
