"""Painting the section as a drawing sheet: the still part once, into a pixmap; shares and marks over it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from itertools import pairwise

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import (
    QBrush,
    QColor,
    QPainter,
    QPainterPath,
    QPainterPathStroker,
    QPen,
    QPixmap,
    QPolygonF,
    QTransform,
)

from workbench.design.section_layout import Frame, Layout, PartShape, Point
from workbench.gui.kit.theme import Theme

_LEAST_TINT = 0.005
_HATCHED = 34.0
"""Depth to which the soil is hatched. [px]"""


class Screen:
    """The drawing plane brought onto a widget: pixels for metres."""

    def __init__(self, layout: Layout, area: QRectF) -> None:
        left, bottom, right, top = layout.bounds
        self.scale = min(area.width() / (right - left), area.height() / (top - bottom))
        self._x = area.left() + (area.width() - self.scale * (right - left)) / 2.0 - self.scale * left
        spare = area.height() - self.scale * (top - bottom)
        self._y = area.bottom() + self.scale * bottom - 0.35 * spare
        self.area = area
        self._lines: dict[int, QPolygonF] = {}

    def __call__(self, point: Point) -> QPointF:
        return QPointF(self._x + self.scale * point[0], self._y - self.scale * point[1])

    def line(self, points: Iterable[Point]) -> QPolygonF:
        """A line of points in pixels."""
        return QPolygonF([self(p) for p in points])

    def run(self, shape: PartShape) -> QPolygonF:
        """The line of a run in pixels, kept for the next frame."""
        known = self._lines.get(id(shape))
        if known is None:
            known = self._lines[id(shape)] = self.line(shape.points)
        return known

    def width(self, shape: PartShape) -> float:
        """Drawn bore of a run, in pixels."""
        return max(self.scale * shape.size, 5.0)


def pen(colour: QColor, width: float = 1.0) -> QPen:
    """A plain pen with flat ends."""
    made = QPen(colour, width)
    made.setCapStyle(Qt.PenCapStyle.FlatCap)
    made.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
    return made


def hatch(colour: QColor, ratio: float) -> QBrush:
    """Groups of three short slanting strokes, turned every other time: how a section shows soil."""
    size = 34
    tile = QPixmap(round(size * ratio), round(size * ratio))
    tile.setDevicePixelRatio(ratio)
    tile.fill(Qt.GlobalColor.transparent)
    painter = QPainter(tile)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(colour, 0.9))
    for x, y, lean in ((2, 4, 1), (19, 6, -1), (19, 21, 1), (2, 23, -1)):
        for i in range(3):
            start = x + 4 * i
            ends = (start, start + 6) if lean > 0 else (start + 6, start)
            painter.drawLine(QPointF(ends[0], y + 6), QPointF(ends[1], y))
    painter.end()
    brush = QBrush(tile)
    # a texture is laid in pixels of the device unless it is told the ratio
    brush.setTransform(QTransform.fromScale(1.0 / ratio, 1.0 / ratio))
    return brush


def paint_still(painter: QPainter, layout: Layout, screen: Screen, theme: Theme, ratio: float) -> None:
    """Everything that does not move with the speed."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.fillRect(screen.area, theme.colour("panel"))
    _ground(painter, layout.frame, screen, theme, ratio)
    _house(painter, layout, screen, theme)
    for shape in layout.of("pit"):
        _pit(painter, shape, screen, theme)
    _slab(painter, layout, screen, theme)
    _pipes(painter, layout, screen, theme)
    paint_marks(painter, layout, screen, theme)
    for shape in layout.of("outlet"):
        _outlet(painter, shape, screen, theme)


def paint_marks(painter: QPainter, layout: Layout, screen: Screen, theme: Theme) -> None:
    """What stands on the pipes: junctions, fittings, the fan."""
    for shape in layout.of("junction"):
        painter.setPen(pen(theme.colour("pipe"), 1.2))
        painter.setBrush(theme.colour("panel"))
        radius = max(screen.scale * shape.size, 3.5)
        painter.drawEllipse(screen(shape.points[0]), radius, radius)
    for shape in layout.of("fitting"):
        _fitting(painter, shape, screen, theme)
    for shape in layout.of("fan"):
        paint_fan(painter, screen(shape.points[0]), max(screen.scale * shape.size, 8.0), theme)


def _ground(painter: QPainter, frame: Frame, screen: Screen, theme: Theme, ratio: float) -> None:
    area, floor = screen.area, screen((0.0, 0.0)).y()
    painter.fillRect(QRectF(area.left(), floor, area.width(), area.bottom() - floor), theme.colour("ground"))
    strokes = QColor(theme.edge)
    strokes.setAlpha(90)
    grade = screen((0.0, frame.grade)).y()
    left, right = screen((frame.left, 0.0)).x(), screen((frame.right, 0.0)).x()
    # under the slab and, beside it, up to grade
    surfaces = [(area.left(), area.right(), floor)]
    if frame.grade > 0.0:
        surfaces = [(area.left(), left, grade), (left, right, floor), (right, area.right(), grade)]
    for start, end, top in surfaces:
        soil = QRectF(start, top, end - start, area.bottom() - top)
        painter.fillRect(soil, theme.colour("ground"))
        painter.save()
        painter.setClipRect(soil)
        # the hatch stands along the surface, as it does on a drawing, and leaves the depth for words
        painter.setBrushOrigin(0, round(top) + 2)
        painter.fillRect(QRectF(start, top, end - start, _HATCHED), hatch(strokes, ratio))
        painter.restore()
        painter.setPen(pen(theme.colour("edge"), 1.2))
        painter.drawLine(QPointF(start, top), QPointF(end, top))


def _house(painter: QPainter, layout: Layout, screen: Screen, theme: Theme) -> None:
    frame = layout.frame
    outline = screen.line(next(layout.of("house")).points)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(theme.colour("building"))
    painter.drawPolygon(outline)
    edge = theme.colour("edge")
    painter.setBrush(Qt.BrushStyle.NoBrush)
    wall = max(2.5, 1.3 * layout.unit * screen.scale)
    for x, side in ((frame.left, 1.0), (frame.right, -1.0)):
        foot, head = screen((x, 0.0)), screen((x, frame.eaves))
        for offset in (0.0, side * wall):
            painter.setPen(pen(edge, 1.0))
            painter.drawLine(QPointF(foot.x() + offset, foot.y()), QPointF(head.x() + offset, head.y()))
    quiet = QColor(theme.rule)
    for height in (*frame.floors, frame.eaves):
        left, right = screen((frame.left, height)), screen((frame.right, height))
        for offset in (0.0, wall):
            painter.setPen(pen(quiet, 1.0))
            painter.drawLine(QPointF(left.x() + wall, left.y() + offset), QPointF(right.x() - wall, right.y() + offset))
    eave = 2.2 * layout.unit
    slope = (frame.ridge - frame.eaves) / max(frame.right - frame.left, 1e-9)
    ridge = screen((frame.ridge_at, frame.ridge))
    ends = [screen((x, frame.eaves - eave * slope)) for x in (frame.left - eave, frame.right + eave)]
    for offset in (0.0, wall):
        painter.setPen(pen(edge, 1.2 if offset == 0.0 else 1.0))
        painter.drawPolyline(QPolygonF([p + QPointF(0.0, offset) for p in (ends[0], ridge, ends[1])]))
    for end in ends:
        painter.drawLine(end, end + QPointF(0.0, wall))


def _slab(painter: QPainter, layout: Layout, screen: Screen, theme: Theme) -> None:
    frame = layout.frame
    top_left, bottom_right = screen((frame.left, 0.0)), screen((frame.right, -frame.slab))
    painter.setPen(pen(theme.colour("edge"), 1.0))
    painter.setBrush(theme.colour("slab"))
    painter.drawRect(QRectF(top_left, bottom_right))
    footing = 2.6 * layout.unit
    for x in (frame.left, frame.right):
        a, b = screen((x - 0.5 * footing, 0.0)), screen((x + 0.5 * footing, -frame.slab - 1.2 * footing))
        painter.drawRect(QRectF(a, b))


def pit_path(shape: PartShape, screen: Screen, grow: float = 0.0) -> QPainterPath:
    """The half ball of a pit, flat side up."""
    centre, radius = screen(shape.points[0]), screen.scale * shape.size + grow
    box = QRectF(centre.x() - radius, centre.y() - radius, 2.0 * radius, 2.0 * radius)
    path = QPainterPath(QPointF(centre.x() + radius, centre.y()))
    path.arcTo(box, 0.0, -180.0)
    path.closeSubpath()
    return path


def _pit(painter: QPainter, shape: PartShape, screen: Screen, theme: Theme) -> None:
    outline = pen(theme.colour("text"), 1.2)
    painter.setPen(outline)
    painter.setBrush(theme.colour("panel"))
    painter.drawPath(pit_path(shape, screen))


def _pipes(painter: QPainter, layout: Layout, screen: Screen, theme: Theme) -> None:
    runs = list(layout.of("run"))
    lines = [(screen.line(shape.points), screen.width(shape)) for shape in runs]
    painter.setBrush(Qt.BrushStyle.NoBrush)
    for line, width in lines:
        painter.setPen(pen(theme.colour("pipe"), width))
        painter.drawPolyline(line)
    # all bores after all walls, so that runs open into each other
    for line, width in lines:
        inner = pen(theme.colour("panel"), width - 2.4)
        inner.setCapStyle(Qt.PenCapStyle.SquareCap)
        painter.setPen(inner)
        painter.drawPolyline(line)
    painter.setPen(pen(theme.colour("pipe"), 1.2))
    for (before, _), (after, _) in pairwise(lines):
        if before.last() == after.first() and before.size() > 1:
            _collar(painter, before, max(w for _, w in lines))


def _collar(painter: QPainter, line: QPolygonF, width: float) -> None:
    a, b = line.at(line.size() - 2), line.last()
    length = math.hypot(b.x() - a.x(), b.y() - a.y()) or 1.0
    across = QPointF(-(b.y() - a.y()) / length, (b.x() - a.x()) / length) * (width / 2.0 + 2.0)
    painter.drawLine(b - across, b + across)


def _fitting(painter: QPainter, shape: PartShape, screen: Screen, theme: Theme) -> None:
    place, ahead = screen(shape.points[0]), screen(shape.points[1])
    size = max(screen.scale * shape.size, 3.2)
    painter.setPen(pen(theme.colour("pipe"), 1.3))
    painter.setBrush(theme.colour("pipe"))
    if shape.group == "bend":
        painter.drawEllipse(place, 0.7 * size, 0.7 * size)
    elif shape.group in ("entrance", "outlet"):
        return
    else:
        length = math.hypot(ahead.x() - place.x(), ahead.y() - place.y()) or 1.0
        way = (ahead - place) / length
        across = QPointF(-way.y(), way.x())
        for side in (-1.0, 1.0):
            painter.drawLine(
                place + way * (0.5 * size * side) - across * 1.5 * size,
                place + way * (0.5 * size * side) + across * 1.5 * size,
            )


def _outlet(painter: QPainter, shape: PartShape, screen: Screen, theme: Theme) -> None:
    """Three strokes of air leaving the pipe."""
    end, ahead = screen(shape.points[0]), screen(shape.points[1])
    length = math.hypot(ahead.x() - end.x(), ahead.y() - end.y()) or 1.0
    way = (ahead - end) / length
    across = QPointF(-way.y(), way.x())
    painter.setPen(pen(theme.colour("air"), 1.4))
    for lean in (-0.55, 0.0, 0.55):
        start = end + way * 4.0 + across * (lean * 9.0)
        painter.drawLine(start, start + (way + across * lean) * (8.0 if lean else 10.0))


_BLADES = 5


def paint_fan(painter: QPainter, centre: QPointF, radius: float, theme: Theme) -> None:
    """A wheel with five blades: three would look like the sign that warns of radiation."""
    painter.setPen(pen(theme.colour("text"), 1.5))
    painter.setBrush(theme.colour("panel"))
    painter.drawEllipse(centre, radius, radius)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(theme.colour("fan"))
    for blade in range(_BLADES):
        painter.save()
        painter.translate(centre)
        painter.rotate(360.0 / _BLADES * blade)
        path = QPainterPath(QPointF(0.0, 0.0))
        path.quadTo(QPointF(-0.5 * radius, -0.3 * radius), QPointF(-0.22 * radius, -0.82 * radius))
        path.quadTo(QPointF(0.16 * radius, -0.5 * radius), QPointF(0.0, 0.0))
        painter.drawPath(path)
        painter.restore()


def paint_shares(
    painter: QPainter, layout: Layout, screen: Screen, theme: Theme, share: Callable[[PartShape], float]
) -> None:
    """Fill each bore and pit the more, the greater its share of the fan's pressure."""
    painter.setBrush(Qt.BrushStyle.NoBrush)
    for shape in layout.of("run"):
        part = share(shape)
        if part >= _LEAST_TINT:
            colour = tint(theme, part)
            painter.setPen(pen(colour, screen.width(shape) - 2.4))
            painter.drawPolyline(screen.run(shape))
    painter.setPen(Qt.PenStyle.NoPen)
    for shape in layout.of("pit"):
        part = share(shape)
        if part >= _LEAST_TINT:
            colour = tint(theme, part)
            painter.setBrush(colour)
            painter.drawPath(pit_path(shape, screen, -1.0))


def tint(theme: Theme, share: float) -> QColor:
    """The shade of a share of the fan's pressure."""
    colour = theme.colour("system")
    colour.setAlphaF(min(0.08 + 0.92 * max(share, 0.0) ** 0.7, 1.0))
    return colour


def paint_outline(painter: QPainter, shape: PartShape, screen: Screen, colour: QColor, width: float) -> None:
    """A line around a part that is picked or pointed at."""
    stroke = pen(colour, width)
    painter.setPen(stroke)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    if shape.kind == "pit":
        painter.drawPath(pit_path(shape, screen, 3.0))
    elif shape.kind == "run":
        path = QPainterPath()
        path.addPolygon(screen.line(shape.points))
        painter.drawPath(_around(path, screen.width(shape) + 7.0))
    elif shape.kind == "house":
        painter.drawPolygon(screen.line(shape.points))
    else:
        radius = max(screen.scale * shape.size, 4.0) + 4.0
        painter.drawEllipse(screen(shape.points[0]), radius, radius)


def _around(path: QPainterPath, width: float) -> QPainterPath:
    stroker = QPainterPathStroker()
    stroker.setWidth(width)
    stroker.setCapStyle(Qt.PenCapStyle.RoundCap)
    stroker.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    return stroker.createStroke(path).simplified()
