"""Where the words of the plan stand on the screen, and their painting: tags of points and holes, values of contours."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Final

import numpy as np
from msgspec import Struct
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPen

from workbench.design.plan_words import Box, Mark, place_tags, place_values
from workbench.design.record import Address
from workbench.gui.kit.theme import SHAPES, Theme, Verdict
from workbench.gui.kit.type_scale import Role, font_of, px
from workbench.gui.plan.field_layer import Contour
from workbench.gui.plan.frame import Place, PlanFrame
from workbench.gui.plan.sketch import OUTLINE, Sketch
from workbench.physics.arrays import Array
from workbench.units import System, to_display

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


def _rect(box: Box) -> QRectF:
    return QRectF(QPointF(box[0], box[1]), QPointF(box[2], box[3]))


def _box(rect: QRectF) -> Box:
    return rect.left(), rect.top(), rect.right(), rect.bottom()


def _pair(at: QPointF) -> Place:
    return at.x(), at.y()


def mark_of(sketch: Sketch, frame: PlanFrame, address: Address) -> Mark:
    """The mark of a point or hole as it is drawn."""
    spot = sketch.spots[address]
    reach = 7.5 if address[0] == "holes" else max(spot.radius * frame.scale + 1.0, 9.5)
    return Mark(_pair(frame.pixels(spot.place)), reach)


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
        marks = {address: mark_of(sketch, frame, address) for address in sketch.spots}
        self.marks = {address: _rect(mark.box) for address, mark in marks.items()}
        self._others = list(taken)
        sides = sketch.sides(OUTLINE) if sketch.outline else []
        placed = place_tags(
            {address: marks[address] for address in words},
            lambda address, fold: self._size(words[address].folded(fold)),
            _box(area),
            [(_pair(frame.pixels(a)), _pair(frame.pixels(b))) for a, b in sides],
            # a mark without words is kept clear of as well
            [*map(_box, taken), *(mark.box for address, mark in marks.items() if address not in words)],
            order,
        )
        self.tags = {
            address: Tag(
                _rect(tag.box),
                tag.fold,
                None if tag.leader is None else QLineF(*(QPointF(*end) for end in tag.leader)),
            )
            for address, tag in placed.items()
        }

    def _size(self, lines: Lines) -> tuple[float, float]:
        strong, quiet = QFontMetricsF(self._strong), QFontMetricsF(self._quiet)
        shape = px(_SHAPE) if lines.verdict else 0
        # figures may grow by one while the speed moves
        first = shape + strong.horizontalAdvance(lines.first) + (strong.horizontalAdvance("0") if lines.figure else 0.0)
        width = max([first, *(quiet.horizontalAdvance(text) + quiet.horizontalAdvance("0") for text in lines.rest)])
        return float(math.ceil(width + 10.0)), float(math.ceil(self._high + self._low * len(lines.rest) + 4.0))

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
    """A value on every contour that has room for one."""
    metrics = QFontMetricsF(font_of(Role.SMALL))
    texts = [f"{to_display(contour.level, 'hole_pressure', system):.3g}" for contour in contours]
    placed = place_values(
        [[_pixels(line, frame) for line in contour.lines] for contour in contours],
        [(metrics.horizontalAdvance(text) + 4.0, metrics.height()) for text in texts],
        [_pair(corner) for corner in frame.line(outline).toList()],
        (_pair(frame.pixels(spine[0])), _pair(frame.pixels(spine[1]))),
        [*map(_box, taken)],
    )
    return [ContourValue(contours[i].level, texts[i], _rect(box)) for i, box in placed.items()]


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


def _pixels(places: Array, frame: PlanFrame) -> Array:
    """Places (n, 2) of the floor on the widget."""
    origin = frame.pixels((0.0, 0.0))
    return np.asarray((origin.x(), origin.y()) + places * (frame.scale, -frame.scale))
