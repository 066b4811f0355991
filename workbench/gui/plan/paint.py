"""Painting the plan: sheet, walls by their edge, zones, footings, dimensions, suction points and holes."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from msgspec import Struct
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPen, QPolygonF

from workbench.design.plan_layout import across, out_of, turn_of
from workbench.design.record import Address
from workbench.design.slab import EdgeKind
from workbench.gui.kit.theme import Theme
from workbench.gui.kit.type_scale import Role, font_of
from workbench.gui.plan.field_layer import zone_brush
from workbench.gui.plan.frame import Place, PlanFrame, Snapped
from workbench.gui.plan.sketch import OUTLINE, Sketch
from workbench.units import System, format_quantity

_LEAST_DIMENSION = 34.0
"""Pixels below which a side is not dimensioned."""
_OFF = 13.0
"""How far outside a wall its dimension stands. [px]"""


def paint_sheet(painter: QPainter, area: QRectF, frame: PlanFrame, theme: Theme, system: System) -> None:
    """The sheet with its faint grid."""
    painter.fillRect(area, theme.colour("panel"))
    step = frame.grid_step(system)
    (x0, y1), (x1, y0) = frame.metres(area.topLeft()), frame.metres(area.bottomRight())
    lines = []
    for i in range(math.ceil(x0 / step), math.floor(x1 / step) + 1):
        x = frame.pixels((i * step, 0.0)).x()
        lines.append(QLineF(x, area.top(), x, area.bottom()))
    for j in range(math.ceil(y0 / step), math.floor(y1 / step) + 1):
        y = frame.pixels((0.0, j * step)).y()
        lines.append(QLineF(area.left(), y, area.right(), y))
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
    painter.setPen(QPen(theme.colour("grid"), 0))
    painter.drawLines(lines)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)


# --- walls, zones, footings -------------------------------------------------------------------------------------------


def _pen(colour: QColor, width: float, dashes: Iterable[float] = ()) -> QPen:
    pen = QPen(colour, width)
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    pen.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
    if pattern := list(dashes):
        pen.setDashPattern(pattern)
    return pen


def paint_lines(painter: QPainter, sketch: Sketch, frame: PlanFrame, theme: Theme, picked: Address | None) -> None:
    """Zones below, hatched, footings over them, the walls on top."""
    ratio = painter.device().devicePixelRatioF()
    for line, corners in sketch.lines.items():
        if line[1] == "zones":
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(zone_brush(theme, ratio, int(line[2])))
            painter.drawPolygon(frame.line(corners))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(_pen(theme.colour("panel"), 3.4))
            painter.drawPolygon(frame.line(corners))
            painter.setPen(_pen(theme.colour("text"), 1.2, (6.0, 3.0)))
            painter.drawPolygon(frame.line(corners))
        elif line[1] == "footings":
            paint_footing(painter, frame.line(corners).toList(), theme)
    if sketch.outline:
        _walls(painter, sketch, frame, theme)
    for line in sketch.lines:
        of_picked = picked is not None and (picked[: len(line) - 1] == line[:-1] or line == OUTLINE)
        if of_picked and picked is not None and (line != OUTLINE or picked[0] == "slab"):
            _corners(painter, sketch.lines[line], frame, theme)


def _walls(painter: QPainter, sketch: Sketch, frame: PlanFrame, theme: Theme) -> None:
    for (a, b), edge in zip(sketch.sides(OUTLINE), sketch.edges, strict=False):
        paint_edge(painter, frame.pixels(a), frame.pixels(b), edge.kind, theme)


def paint_edge(painter: QPainter, start: QPointF, end: QPointF, kind: EdgeKind, theme: Theme) -> None:
    """A side of the floor by how air comes in along it: a heavy line, a double one, or dots."""
    ink, paper, side = theme.colour("text"), theme.colour("panel"), QLineF(start, end)
    if kind == "sealed":
        painter.setPen(_pen(ink, 4.0))
        painter.drawLine(side)
    elif kind == "joint":
        for colour, width in ((ink, 5.0), (paper, 2.4)):
            painter.setPen(_pen(colour, width))
            painter.drawLine(side)
    else:
        painter.setPen(_pen(paper, 5.0))
        painter.drawLine(side)
        painter.setPen(_pen(ink, 3.0, (1.0, 1.6)))
        painter.drawLine(side)


def paint_footing(painter: QPainter, line: Sequence[QPointF], theme: Theme) -> None:
    """A footing: a band between two lines."""
    for colour, width in ((theme.colour("text"), 6.5), (theme.colour("slab"), 4.0)):
        painter.setPen(_pen(colour, width))
        painter.drawPolyline(QPolygonF(line))


def _corners(painter: QPainter, corners: list[Place], frame: PlanFrame, theme: Theme) -> None:
    painter.setPen(QPen(theme.colour("accent"), 1.4))
    painter.setBrush(theme.colour("panel"))
    for corner in corners:
        at = frame.pixels(corner)
        painter.drawRect(QRectF(at.x() - 3.5, at.y() - 3.5, 7.0, 7.0))


def paint_picked(
    painter: QPainter, sketch: Sketch, frame: PlanFrame, theme: Theme, part: Address | None, *, pointed: bool = False
) -> None:
    """A mark around the part that is picked, fainter around the one pointed at."""
    if part is None:
        return
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(theme.colour("edge" if pointed else "accent"), 1.5 if pointed else 2.4))
    line = sketch.line_of(part)
    place = sketch.place_of(part)
    if place is None:
        return
    if part in sketch.spots:
        radius = max(sketch.spots[part].radius * frame.scale, 7.0) + 4.0
        painter.drawEllipse(frame.pixels(place), radius, radius)
    elif line is not None:
        drawn = frame.line(sketch.lines[line])
        if line[-1] == "line":
            painter.drawPolyline(drawn)
        elif line != OUTLINE or not pointed:
            painter.drawPolygon(drawn)
    elif part[:2] == ("slab", "edges"):
        a, b = sketch.sides(OUTLINE)[int(part[2])]
        painter.setPen(QPen(theme.colour("edge" if pointed else "accent"), 2.0 if pointed else 3.0))
        painter.drawLine(frame.pixels(a), frame.pixels(b))
    else:
        at = frame.pixels(place)
        if not pointed:
            painter.setBrush(theme.colour("accent"))
        painter.drawRect(QRectF(at.x() - 4.5, at.y() - 4.5, 9.0, 9.0))


# --- dimensions -------------------------------------------------------------------------------------------------------


class Dimension(Struct, frozen=True):
    """The written length of a side: which side, its words, and where they stand."""

    line: Address
    side: int
    text: str
    middle: QPointF
    turn: float
    size: tuple[float, float]

    def box(self) -> QRectF:
        """The upright box around its words, with what is kept free beside them."""
        turn, (wide, high) = math.radians(self.turn), (self.size[0] + 6.0, self.size[1])
        width = abs(wide * math.cos(turn)) + abs(high * math.sin(turn))
        height = abs(wide * math.sin(turn)) + abs(high * math.cos(turn))
        return QRectF(self.middle.x() - width / 2.0, self.middle.y() - height / 2.0, width, height)

    def holds(self, at: QPointF) -> bool:
        """Whether the pointer is on the words."""
        turn = math.radians(-self.turn)
        dx, dy = at.x() - self.middle.x(), at.y() - self.middle.y()
        x = dx * math.cos(turn) - dy * math.sin(turn)
        y = dx * math.sin(turn) + dy * math.cos(turn)
        return abs(x) <= self.size[0] / 2.0 + 3.0 and abs(y) <= self.size[1] / 2.0 + 2.0


def dimensions_of(sketch: Sketch, frame: PlanFrame, system: System, picked: Address | None) -> list[Dimension]:
    """The dimensions of the walls, and of the zone or footing that is picked."""
    metrics = QFontMetricsF(font_of(Role.SMALL))
    found = []
    for line, corners in sketch.lines.items():
        if line != OUTLINE and (picked is None or picked[: len(line) - 1] != line[:-1]):
            continue
        outside = out_of(sketch.sides(line))
        for side, (a, b) in enumerate(sketch.sides(line)):
            p, q = frame.pixels(a), frame.pixels(b)
            run = math.hypot(q.x() - p.x(), q.y() - p.y())
            if run < _LEAST_DIMENSION or len(corners) < 2:
                continue
            text = format_quantity(math.dist(a, b), "length", system)
            size = (metrics.horizontalAdvance(text), metrics.height())
            middle = (p + q) / 2.0 + QPointF(*across((a, b), outside)) * _OFF
            found.append(Dimension(line, side, text, middle, turn_of((a, b)), size))
    return found


def paint_dimensions(painter: QPainter, dimensions: list[Dimension], theme: Theme) -> None:
    """Write the dimensions along their sides."""
    painter.setFont(font_of(Role.SMALL))
    for dimension in dimensions:
        painter.save()
        painter.translate(dimension.middle)
        painter.rotate(dimension.turn)
        box = QRectF(-dimension.size[0] / 2 - 3, -dimension.size[1] / 2, dimension.size[0] + 6, dimension.size[1])
        veil = theme.colour("panel")
        veil.setAlpha(215)
        painter.fillRect(box, veil)
        painter.setPen(theme.colour("muted"))
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, dimension.text)
        painter.restore()


# --- marks ------------------------------------------------------------------------------------------------------------


def paint_spots(painter: QPainter, sketch: Sketch, frame: PlanFrame, theme: Theme) -> None:
    """Pits at their true size with a cross, holes as a ring with a dot."""
    for address, spot in sketch.spots.items():
        at = frame.pixels(spot.place)
        if address[0] == "holes":
            paint_hole(painter, at, theme)
        else:
            pit = max(spot.radius * frame.scale, 7.0)
            painter.setPen(QPen(theme.colour("text"), 1.4, Qt.PenStyle.DashLine))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawEllipse(at, pit, pit)
            paint_point(painter, at, theme)


def paint_hole(painter: QPainter, at: QPointF, theme: Theme) -> None:
    """A ring with a dot."""
    painter.setPen(QPen(theme.colour("text"), 1.6))
    painter.setBrush(theme.colour("panel"))
    painter.drawEllipse(at, 5.0, 5.0)
    painter.setBrush(theme.colour("text"))
    painter.drawEllipse(at, 1.4, 1.4)


def paint_point(painter: QPainter, at: QPointF, theme: Theme) -> None:
    """A ring with a cross."""
    painter.setPen(QPen(theme.colour("text"), 1.6))
    painter.setBrush(theme.colour("panel"))
    painter.drawEllipse(at, 5.5, 5.5)
    painter.drawLine(at - QPointF(8.5, 0.0), at + QPointF(8.5, 0.0))
    painter.drawLine(at - QPointF(0.0, 8.5), at + QPointF(0.0, 8.5))


def paint_weakest(painter: QPainter, at: QPointF, theme: Theme) -> None:
    """A slanted cross on the lowest place of the field; no triangle, which is a verdict's."""
    for colour, width in ((theme.colour("panel"), 5.0), (theme.colour("bad"), 2.2)):
        painter.setPen(QPen(colour, width, Qt.PenStyle.SolidLine, Qt.PenCapStyle.RoundCap))
        for way in (QPointF(4.5, 4.5), QPointF(4.5, -4.5)):
            painter.drawLine(at - way, at + way)


# --- what is being drawn ----------------------------------------------------------------------------------------------


def paint_drawing(
    painter: QPainter, corners: list[Place], end: Place | None, closed: bool, frame: PlanFrame, theme: Theme
) -> None:
    """The line under way, and the side that follows the pointer."""
    drawn = frame.line(corners)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(theme.colour("accent"), 2.2))
    painter.drawPolyline(drawn)
    if end is not None and corners:
        painter.setPen(_pen(theme.colour("accent"), 1.6, (5.0, 3.0)))
        painter.drawLine(drawn.last(), frame.pixels(end))
        if closed and len(corners) > 1:
            faint = theme.colour("accent")
            faint.setAlpha(110)
            painter.setPen(_pen(faint, 1.2, (2.0, 4.0)))
            painter.drawLine(frame.pixels(end), drawn.first())
    _corners(painter, corners, frame, theme)


def paint_aims(painter: QPainter, places: Iterable[Place], frame: PlanFrame, theme: Theme) -> None:
    """A cross at every place that a click would set or has set."""
    painter.setPen(QPen(theme.colour("accent"), 1.4))
    for place in places:
        at = frame.pixels(place)
        painter.drawLine(at - QPointF(8, 0), at + QPointF(8, 0))
        painter.drawLine(at - QPointF(0, 8), at + QPointF(0, 8))


def paint_guides(painter: QPainter, snapped: Snapped, frame: PlanFrame, theme: Theme) -> None:
    """The neighbour's line on which a place was drawn."""
    painter.setPen(_pen(theme.colour("unstable"), 1.0, (3.0, 3.0)))
    for other in (snapped.vertical, snapped.horizontal):
        if other is not None:
            painter.drawLine(frame.pixels(other), frame.pixels(snapped.place))


def paint_sentence(painter: QPainter, text: str, at: QPointF, area: QRectF, theme: Theme) -> None:
    """What is wrong, in a box beside a place and within the sheet."""
    small = font_of(Role.SMALL)
    flags = int(Qt.AlignmentFlag.AlignLeft | Qt.TextFlag.TextWordWrap)
    room = QFontMetricsF(small).boundingRect(QRectF(0.0, 0.0, 300.0, 200.0), flags, text)
    box = QRectF(0.0, 0.0, room.width() + 20.0, room.height() + 10.0)
    box.moveTo(
        min(max(at.x() + 16.0, 6.0), area.right() - box.width() - 6.0),
        min(max(at.y() + 32.0, 6.0), area.bottom() - box.height() - 6.0),
    )
    painter.setPen(QPen(theme.colour("bad"), 1.2))
    painter.setBrush(theme.colour("panel"))
    painter.drawRect(box)
    painter.fillRect(QRectF(box.left(), box.top(), 4.0, box.height()), theme.colour("bad"))
    painter.setFont(small)
    painter.setPen(theme.colour("text"))
    painter.drawText(box.adjusted(11.0, 5.0, -6.0, -5.0), flags, text)


# --- round the drawing ------------------------------------------------------------------------------------------------


def paint_scale_bar(painter: QPainter, corner: QPointF, frame: PlanFrame, theme: Theme, system: System) -> None:
    """A bar of a round length, its lower left corner given."""
    length = frame.bar(system)
    width = length * frame.scale
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
    painter.setPen(QPen(theme.colour("text"), 1.0))
    for i in range(4):
        painter.setBrush(theme.colour("text" if i % 2 == 0 else "panel"))
        painter.drawRect(QRectF(corner.x() + i * width / 4, corner.y() - 5, width / 4, 4))
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setFont(font_of(Role.SMALL))
    painter.setPen(theme.colour("muted"))
    painter.drawText(corner + QPointF(width + 6.0, 0.0), format_quantity(length, "length", system))


def paint_north(painter: QPainter, at: QPointF, theme: Theme) -> None:
    """An arrow to the north, which is up."""
    painter.setPen(QPen(theme.colour("text"), 1.2))
    painter.setBrush(theme.colour("text"))
    painter.drawPolygon(QPolygonF([at + QPointF(0, -15), at + QPointF(0, 4), at + QPointF(-5.5, 9)]))
    painter.setBrush(theme.colour("panel"))
    painter.drawPolygon(QPolygonF([at + QPointF(0, -15), at + QPointF(0, 4), at + QPointF(5.5, 9)]))
    painter.setFont(font_of(Role.SMALL_STRONG))
    painter.drawText(QRectF(at.x() - 10, at.y() - 31, 20, 14), Qt.AlignmentFlag.AlignCenter, "N")
