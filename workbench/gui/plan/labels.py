"""Where the words of the plan stand: tags of points and holes, and the values of contours, none upon another."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPen

from workbench.design.record import Address
from workbench.gui.kit.theme import SHAPES, Theme, Verdict
from workbench.gui.kit.type_scale import Role, font_of, px
from workbench.gui.plan.field_layer import Contour
from workbench.gui.plan.frame import Place, PlanFrame
from workbench.gui.plan.sketch import OUTLINE, Sketch
from workbench.physics.arrays import Array
from workbench.units import System, to_display

_APART: Final = 2.0
"""Kept free between labels. [px]"""
_RINGS: Final = (4.0, 12.0, 24.0, 40.0, 60.0, 84.0, 110.0)
"""Distances of a tag from the edge of its mark. [px]"""
_NEAR: Final = (24.0, 40.0, math.inf)
"""How far a tag may stand by how far it is folded: one that says less is better than one that has to be sought. [px]"""
_LED: Final = 20.0
"""Farther than this a line leads from the tag to its mark. [px]"""
_DIRECTIONS: Final = 24
_TRIED: Final = 80
"""Places tried along a contour for its value."""
_SHAPE: Final = 14
"""Room for the shape of a verdict. [px before the factor]"""


class Lines(Struct, frozen=True):
    """Words at a mark: name and figure strong, with a verdict's shape before them, the others quiet."""

    name: str
    figure: str = ""
    verdict: Verdict = ""
    rest: tuple[str, ...] = ()

    @property
    def first(self) -> str:
        """The strong line."""
        return f"{self.name}  {self.figure}" if self.figure else self.name

    def folded(self, fold: int) -> Lines:
        """With less to say: 1 without the quiet lines, 2 the name alone."""
        if fold == 0:
            return self
        return Lines(self.name, self.figure if fold == 1 else "", self.verdict)


class Tag(Struct, frozen=True):
    """Where the words of a mark stand, how far they are folded, and the line that leads there, if one does."""

    box: QRectF
    fold: int
    leader: QLineF | None = None


Flags = NDArray[np.bool_]


def _boxes(rects: Iterable[QRectF]) -> Array:
    return np.array([(r.left(), r.top(), r.right(), r.bottom()) for r in rects], dtype=np.float64).reshape(-1, 4)


def _clash(boxes: Array, taken: Array, apart: float = _APART) -> Flags:
    """Which of the boxes (n, 4) touch any of those taken (m, 4), shape (n,)."""
    if not len(taken):
        return np.zeros(len(boxes), dtype=bool)
    a, b = boxes[:, None, :], taken[None, :, :]
    x = (a[..., 0] < b[..., 2] + apart) & (b[..., 0] < a[..., 2] + apart)
    y = (a[..., 1] < b[..., 3] + apart) & (b[..., 1] < a[..., 3] + apart)
    return np.asarray((x & y).any(axis=1), dtype=np.bool_)


def mark_box(sketch: Sketch, frame: PlanFrame, address: Address) -> QRectF:
    """The square around the mark of a point or hole, over which no words may lie."""
    spot = sketch.spots[address]
    reach = 7.5 if address[0] == "holes" else max(spot.radius * frame.scale + 1.0, 9.5)
    return QRectF(-reach, -reach, 2.0 * reach, 2.0 * reach).translated(frame.pixels(spot.place))


class Labels:
    """Tags of the marks: laid out once for a view, written anew for every answer while its figures have room."""

    def __init__(
        self,
        sketch: Sketch,
        frame: PlanFrame,
        area: QRectF,
        words: Mapping[Address, Lines],
        taken: Sequence[QRectF] = (),
        order: Sequence[Address] = (),
    ) -> None:
        """`taken` is where other words stand; those of `order` are placed first, and in full before the others."""
        self._strong = font_of(Role.SMALL_STRONG)
        self._quiet = font_of(Role.SMALL)
        self._high, self._low = QFontMetricsF(self._strong).height(), QFontMetricsF(self._quiet).height()
        self.marks = {address: mark_box(sketch, frame, address) for address in sketch.spots}
        self.tags: dict[Address, Tag] = {}
        self._area = area
        self._walls = [frame.line(side) for side in sketch.sides(OUTLINE)] if sketch.outline else []
        self._others = list(taken)
        first = [address for address in order if address in words]
        ranked = [*first, *(address for address in words if address not in first)]
        # the least of every tag, so that none is crowded out by the words of another; all of the first; then the rest
        lead, rest = ranked[:1], ranked[1:]
        for fold, group in ((2, ranked), (1, lead), (0, lead), (1, rest), (0, rest)):
            for address in group:
                present = self.tags.pop(address, None)
                if fold < 2 and present is None:
                    continue
                found = self._place(address, words[address], fold)
                if found is not None:
                    self.tags[address] = found
                elif present is not None:
                    self.tags[address] = present

    def _size(self, lines: Lines) -> tuple[float, float]:
        strong, quiet = QFontMetricsF(self._strong), QFontMetricsF(self._quiet)
        shape = px(_SHAPE) if lines.verdict else 0
        # figures may grow by one while the speed moves
        first = shape + strong.horizontalAdvance(lines.first) + (strong.horizontalAdvance("0") if lines.figure else 0.0)
        width = max([first, *(quiet.horizontalAdvance(text) + quiet.horizontalAdvance("0") for text in lines.rest)])
        return float(math.ceil(width + 10.0)), float(math.ceil(self._high + self._low * len(lines.rest) + 4.0))

    def _place(self, address: Address, lines: Lines, fold: int) -> Tag | None:
        width, height = self._size(lines.folded(fold))
        mark = self.marks[address]
        at, reach = mark.center(), mark.width() / 2.0
        turns = np.arange(_DIRECTIONS) * (2.0 * math.pi / _DIRECTIONS)
        cos, sin = np.cos(turns), np.sin(turns)
        off = np.array(_RINGS)[:, None] + reach
        # a side of the box faces the mark, its corner where the way is slanted
        x = at.x() + off * cos + np.clip(1.6 * cos, -1.0, 1.0) * width / 2.0
        y = at.y() + off * sin + np.clip(1.6 * sin, -1.0, 1.0) * height / 2.0
        x, y = x.ravel(), y.ravel()
        boxes = np.stack((x - width / 2.0, y - height / 2.0, x + width / 2.0, y + height / 2.0), axis=1)
        area = self._area
        within = (boxes[:, 0] >= area.left()) & (boxes[:, 1] >= area.top())
        within &= (boxes[:, 2] <= area.right()) & (boxes[:, 3] <= area.bottom())
        taken = _boxes([*self.marks.values(), *(tag.box for tag in self.tags.values()), *self._others])
        far = np.repeat(np.array(_RINGS), _DIRECTIONS)
        free = within & (far <= _NEAR[fold]) & ~_clash(boxes, taken)
        if not free.any():
            return None
        # beside or straight above a mark is where a reader looks first
        aslant = np.tile(np.abs(np.sin(2.0 * turns)), len(_RINGS))
        walled = np.zeros(len(boxes))
        for line in self._walls:
            walled += _hidden(line.at(0), line.at(1), boxes)
        cost = np.where(free, 3.0 * far + 6.0 * aslant + 4.0 * walled, np.inf)
        best = int(np.argmin(cost))
        # on whole pixels, which are filled several times as fast
        left, top = float(round(boxes[best, 0])), float(round(boxes[best, 1]))
        box = QRectF(left, top, width, height)
        right, bottom = box.right(), box.bottom()
        leader = None
        if far[best] > _LED:
            near = QPointF(min(max(at.x(), left), right), min(max(at.y(), top), bottom))
            way = QLineF(at, near)
            leader = QLineF(way.pointAt(min(reach / max(way.length(), 1.0), 1.0)), near)
        return Tag(box, fold, leader)

    def fits(self, words: Mapping[Address, Lines]) -> bool:
        """Whether every tag still has room for what is to be written in it."""
        if set(words) != set(self.marks):
            return False
        for address, tag in self.tags.items():
            width, height = self._size(words[address].folded(tag.fold))
            spare = QFontMetricsF(self._strong).horizontalAdvance("0")
            if width - spare > tag.box.width() + 0.5 or height > tag.box.height() + 0.5:
                return False
        return True

    def taken(self) -> list[QRectF]:
        """Where no other words may stand."""
        return [*self.marks.values(), *(tag.box for tag in self.tags.values()), *self._others]

    def paint(
        self, painter: QPainter, words: Mapping[Address, Lines], theme: Theme, *, stale: bool, framed: Address | None
    ) -> None:
        """Write the words; one tag has a frame."""
        paper = theme.colour("panel")
        paper.setAlpha(232)
        muted, ink = theme.colour("muted"), theme.colour("muted" if stale else "text")
        for address, tag in self.tags.items():
            lines = words[address].folded(tag.fold)
            box = tag.box
            if tag.leader is not None:
                painter.setPen(QPen(theme.colour("text"), 1.0))
                painter.drawLine(tag.leader)
            painter.fillRect(box, paper)
            if address == framed:
                painter.setPen(QPen(theme.colour("accent"), 2.0))
                painter.setBrush(Qt.BrushStyle.NoBrush)
                painter.drawRect(box)
            x, y = box.left() + 5.0, box.top() + 2.0
            painter.setFont(self._strong)
            if lines.verdict:
                painter.setPen(QColor(theme.verdict(lines.verdict)))
                painter.drawText(
                    QRectF(x, y, px(_SHAPE), self._high), Qt.AlignmentFlag.AlignVCenter, SHAPES[lines.verdict]
                )
                x += px(_SHAPE)
            painter.setPen(ink)
            painter.drawText(QRectF(x, y, box.width(), self._high), Qt.AlignmentFlag.AlignVCenter, lines.first)
            painter.setFont(self._quiet)
            painter.setPen(muted)
            for i, text in enumerate(lines.rest):
                row = QRectF(box.left() + 5.0, y + self._high + i * self._low, box.width(), self._low)
                painter.drawText(row, Qt.AlignmentFlag.AlignVCenter, text)


def _hidden(a: QPointF, b: QPointF, boxes: Array) -> Array:
    """Length of a wall that each of the boxes (n, 4) hides. [px]"""
    low, high = np.zeros(len(boxes)), np.ones(len(boxes))
    for start, way, least, most in (
        (a.x(), b.x() - a.x(), boxes[:, 0], boxes[:, 2]),
        (a.y(), b.y() - a.y(), boxes[:, 1], boxes[:, 3]),
    ):
        if abs(way) < 1e-9:
            high = np.where((least <= start) & (start <= most), high, -1.0)
            continue
        one, other = (least - start) / way, (most - start) / way
        low, high = np.maximum(low, np.minimum(one, other)), np.minimum(high, np.maximum(one, other))
    return np.maximum(high - low, 0.0) * math.hypot(b.x() - a.x(), b.y() - a.y())


# --- values of contours -----------------------------------------------------------------------------------------------


class ContourValue(Struct, frozen=True):
    """The value of a contour [Pa], in words, and where it stands on its line."""

    level: float
    text: str
    box: QRectF


def contour_values(
    contours: Sequence[Contour],
    frame: PlanFrame,
    outline: Sequence[Place],
    spine: tuple[Place, Place],
    taken: Sequence[QRectF],
    system: System,
) -> list[ContourValue]:
    """A value on every contour that has room for one: on the floor, off all that is taken, near a line from the
    strongest to the weakest place, so that they are read in a row."""
    metrics = QFontMetricsF(font_of(Role.SMALL))
    known = [(contour, np.concatenate(contour.lines)) for contour in contours if contour.lines]
    if not known:
        return []
    # a value may stand at any of these: more places are not looked for
    known = [(contour, places[:: max(len(places) // _TRIED, 1)]) for contour, places in known]
    texts = [f"{to_display(contour.level, 'hole_pressure', system):.3g}" for contour, _ in known]
    widths = [metrics.horizontalAdvance(text) + 4.0 for text in texts]
    x, y = _pixels(np.concatenate([places for _, places in known]), frame)
    half = np.repeat(np.array(widths) / 2.0, [len(places) for _, places in known])
    high = metrics.height() / 2.0
    boxes = np.stack((x - half, y - high, x + half, y + high), axis=1)
    corners = frame.line(outline).toList()
    inside = _within(boxes[:, [0, 2, 2, 0]].ravel(), boxes[:, [1, 1, 3, 3]].ravel(), corners).reshape(-1, 4)
    cost = _distance(x, y, frame.pixels(spine[0]), frame.pixels(spine[1]))
    cost = np.where(inside.all(axis=1) & ~_clash(boxes, _boxes(taken)), cost, np.inf)
    found: list[ContourValue] = []
    start = 0
    for (contour, places), text, width in zip(known, texts, widths, strict=True):
        own = slice(start, start + len(places))
        start += len(places)
        left = np.where(_clash(boxes[own], _boxes(value.box for value in found)), np.inf, cost[own])
        best = int(np.argmin(left))
        if math.isfinite(left[best]):
            corner = boxes[own][best]
            box = QRectF(float(corner[0]), float(corner[1]), width, metrics.height())
            found.append(ContourValue(contour.level, text, box))
    return found


def paint_values(painter: QPainter, values: Iterable[ContourValue], colours: Mapping[float, str], theme: Theme) -> None:
    """Write values upon their lines, each on a patch of the shade that it bounds."""
    painter.setFont(font_of(Role.SMALL))
    for value in values:
        patch = QColor(colours[value.level])
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(patch)
        painter.drawRoundedRect(value.box.adjusted(0.0, 1.0, 0.0, -1.0), 3.0, 3.0)
        painter.setPen(theme.colour("text"))
        painter.drawText(value.box, Qt.AlignmentFlag.AlignCenter, value.text)


def _pixels(places: Array, frame: PlanFrame) -> tuple[Array, Array]:
    origin = frame.pixels((0.0, 0.0))
    return origin.x() + frame.scale * places[:, 0], origin.y() - frame.scale * places[:, 1]


def _within(x: Array, y: Array, corners: Sequence[QPointF]) -> Flags:
    """Which places lie within a polygon, by the parity of crossings."""
    found = np.zeros(x.shape, dtype=bool)
    for a, b in zip(corners, [*corners[1:], corners[0]], strict=True):
        if a.y() != b.y():
            crossed = (a.y() <= y) != (b.y() <= y)
            found ^= crossed & (x < a.x() + (y - a.y()) * (b.x() - a.x()) / (b.y() - a.y()))
    return found


def _distance(x: Array, y: Array, a: QPointF, b: QPointF) -> Array:
    dx, dy = b.x() - a.x(), b.y() - a.y()
    t = np.clip(((x - a.x()) * dx + (y - a.y()) * dy) / max(dx * dx + dy * dy, 1e-9), 0.0, 1.0)
    return np.hypot(x - a.x() - t * dx, y - a.y() - t * dy)
