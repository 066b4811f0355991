"""What the plan's shades, lines, marks and tags mean: a column beside the floor, or folded a line below it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, Literal

import numpy as np
from msgspec import Struct
from PySide6.QtCore import QPointF, QRectF, QSizeF, Qt
from PySide6.QtGui import QBrush, QColor, QFontMetricsF, QPainter, QPen

from workbench.gui.kit.theme import SHAPES, Theme, Verdict
from workbench.gui.kit.type_scale import Role, factor, font_of, px
from workbench.gui.plan import paint
from workbench.gui.plan.field_layer import failing_brush, zone_brush
from workbench.gui.plan.menu import EDGE_WORDS
from workbench.gui.plan.sketch import Sketch
from workbench.papers.shades import levels, shades
from workbench.solving.report.verdict_words import VERDICT_WORDS
from workbench.units import System, format_quantity, to_display, unit_of

Key = Literal["point", "hole", "lowest", "sealed", "joint", "open", "footing", "zone", "target", "failing", "verdict"]

WIDEST: Final = 148
"""Of the column. [px before the factor]"""
_ROOM: Final = 26.0
"""Left of the words of a row, where its sign stands. [px]"""
_BAR: Final = 20.0
"""Width of the shades. [px]"""
_THINNEST, _THICKEST = 7.0, 17.0
"""Height of a shade. [px before the factor]"""
FAILS: Final = "below target, worst day"
SHADES_MEAN: Final = "Shades: fitted field, best estimate."
TAGS_MEAN: Final = "Tags: each hole by its own readings."


class Row(Struct, frozen=True):
    """A sign and what it means; `number` tells a zone's position, `verdict` which shape it is."""

    key: Key
    words: str
    number: int = 0
    verdict: Verdict = ""


class Content(Struct, frozen=True):
    """All that a legend tells; `span` bounds the suctions on the floor [Pa], None without a field."""

    title: str
    rows: tuple[Row, ...]
    span: tuple[float, float] | None
    target: float | None
    notes: tuple[str, ...]


def content_of(
    sketch: Sketch,
    *,
    title: str,
    span: tuple[float, float] | None,
    target: float | None,
    failing: bool,
    verdicts: Sequence[Verdict],
) -> Content:
    """What there is to explain on a plan: of signs, only those that stand on it."""
    rows = []
    kinds = {"hole" if address[0] == "holes" else "point" for address in sketch.spots}
    if "point" in kinds:
        rows.append(Row("point", "suction point"))
    if "hole" in kinds:
        rows.append(Row("hole", "test hole"))
    rows += [Row("verdict", VERDICT_WORDS[each], verdict=each) for each in VERDICT_WORDS if each in verdicts]
    if span is not None and target is not None:
        rows.append(Row("lowest", "lowest of the field"))
        rows.append(Row("target", "target"))
        if failing:
            rows.append(Row("failing", FAILS))
    edges = {edge.kind for edge in sketch.edges} if sketch.outline else set()
    rows += [Row(kind, words.lower()) for kind, words in EDGE_WORDS.items() if kind in edges]
    if any(line[1] == "footings" for line in sketch.lines):
        rows.append(Row("footing", "footing"))
    zones = [address for address in sketch.names if address[1] == "zones"]
    rows += [Row("zone", sketch.names[address], number=int(address[2])) for address in zones]
    notes: tuple[str, ...] = (
        (SHADES_MEAN, TAGS_MEAN) if span is not None and target is not None and "hole" in kinds else ()
    )
    return Content(title, tuple(rows), span, target, notes)


class Scale(Struct, frozen=True, eq=False):
    """The shades that are on the floor: bounds between them [Pa] and their colours, one more than bounds."""

    bounds: tuple[float, ...]
    colours: tuple[str, ...]


def scale_of(span: tuple[float, float], target: float | None, theme: Theme, system: System) -> Scale:
    """The part of the series of shades that is on the floor, and that of the target."""
    bounds = levels(system)
    colours = shades(theme.name, len(bounds))
    least, most = (min(span[0], target), max(span[1], target)) if target is not None else span
    low, high = int(np.sum(bounds <= least)), int(np.sum(bounds <= most))
    return Scale(tuple(float(bound) for bound in bounds[low:high]), colours[low : high + 1])


class Legend:
    """Lays a content out, beside the floor or below it, and paints it."""

    def __init__(self, content: Content, room: QSizeF, theme: Theme, system: System, folded: bool) -> None:
        self.content = content
        self._theme, self._system = theme, system
        self._small = font_of(Role.SMALL)
        self._bold = font_of(Role.SMALL_STRONG)
        self._metrics = QFontMetricsF(self._small)
        self._line = self._metrics.height()
        self._room = room
        self._scale = scale_of(content.span, content.target, theme, system) if content.span is not None else None
        self.folded = folded or self._column_height(_THINNEST * factor()) > room.height()
        self._flow = self._flowing() if self.folded else []

    @property
    def side(self) -> float:
        """Width kept free at the right of the sheet. [px]"""
        return 12.0 if self.folded else self._width() + 16.0

    @property
    def foot(self) -> float:
        """Height kept free below it. [px]"""
        return (self._flow[-1][1].bottom() + 4.0) if self.folded and self._flow else 0.0

    def _wrapped(self, words: str, width: float) -> QRectF:
        room = QRectF(0.0, 0.0, width, 1000.0)
        return self._metrics.boundingRect(room, int(Qt.TextFlag.TextWordWrap), words)

    def _width(self) -> float:
        words = [_ROOM + self._metrics.horizontalAdvance(row.words) for row in self.content.rows]
        words += [QFontMetricsF(self._bold).horizontalAdvance(self.content.title)]
        return min(max([float(px(90)), *words]), float(px(WIDEST)))

    def _rows(self) -> list[tuple[Row, float]]:
        """Every row with its height."""
        width = self._width() - _ROOM
        return [(row, max(self._wrapped(row.words, width).height(), self._line) + 3.0) for row in self.content.rows]

    def _notes_height(self) -> float:
        return sum(self._wrapped(note, self._width()).height() + 4.0 for note in self.content.notes)

    def _column_height(self, shade: float) -> float:
        bar = shade * len(self._scale.colours) + 8.0 if self._scale is not None else 0.0
        title = QFontMetricsF(self._bold).height() + 6.0
        return title + bar + sum(height for _, height in self._rows()) + self._notes_height() + 8.0

    # --- painting -----------------------------------------------------------------------------------------------------

    def paint(self, painter: QPainter, at: QPointF) -> None:
        """Paint it; `at` is the upper left corner of its column or of its lines."""
        if self.folded:
            for row, box in self._flow:
                place = box.translated(at)
                if row is None:
                    self._strip(painter, place)
                else:
                    self._sign(painter, QRectF(place.left(), place.top(), _ROOM - 6.0, self._line), row)
                    self._write(painter, place.adjusted(_ROOM, 0.0, 0.0, 0.0), row.words)
            return
        width = self._width()
        painter.setFont(self._bold)
        painter.setPen(self._theme.colour("text"))
        high = QFontMetricsF(self._bold).height()
        painter.drawText(QRectF(at.x(), at.y(), width + 8.0, high), Qt.AlignmentFlag.AlignLeft, self.content.title)
        y = at.y() + high + 6.0
        if self._scale is not None:
            spare = self._room.height() - self._column_height(0.0)
            shade = min(max(spare / len(self._scale.colours), _THINNEST * factor()), _THICKEST * factor())
            self._bar(painter, QPointF(at.x(), y), shade)
            y += shade * len(self._scale.colours) + 8.0
        for row, height in self._rows():
            self._sign(painter, QRectF(at.x(), y, _ROOM - 6.0, self._line), row)
            self._write(painter, QRectF(at.x() + _ROOM, y, width - _ROOM, height), row.words)
            y += height
        y += 4.0
        for note in self.content.notes:
            height = self._wrapped(note, width).height()
            self._write(painter, QRectF(at.x(), y, width, height), note, quiet=True)
            y += height + 4.0

    def _write(self, painter: QPainter, box: QRectF, words: str, *, quiet: bool = False) -> None:
        painter.setFont(self._small)
        painter.setPen(self._theme.colour("muted" if quiet else "text"))
        painter.drawText(box, int(Qt.AlignmentFlag.AlignLeft) | int(Qt.TextFlag.TextWordWrap), words)

    def _sign(self, painter: QPainter, box: QRectF, row: Row) -> None:
        theme, middle = self._theme, box.center()
        if row.key == "point":
            paint.paint_point(painter, middle, theme)
        elif row.key == "hole":
            paint.paint_hole(painter, middle, theme)
        elif row.key == "lowest":
            paint.paint_weakest(painter, middle, theme)
        elif row.key in ("sealed", "joint", "open"):
            paint.paint_edge(painter, QPointF(box.left(), middle.y()), QPointF(box.right(), middle.y()), row.key, theme)
        elif row.key == "footing":
            paint.paint_footing(painter, [QPointF(box.left(), middle.y()), QPointF(box.right(), middle.y())], theme)
        elif row.key == "verdict":
            painter.setFont(self._small)
            painter.setPen(QColor(theme.verdict(row.verdict)))
            painter.drawText(box, Qt.AlignmentFlag.AlignCenter, SHAPES[row.verdict])
        elif row.key == "target":
            painter.setPen(QPen(theme.colour("bad"), 2.4))
            painter.drawLine(QPointF(box.left(), middle.y()), QPointF(box.right(), middle.y()))
        else:
            ratio = painter.device().devicePixelRatioF()
            brush = failing_brush(theme, ratio) if row.key == "failing" else zone_brush(theme, ratio, row.number)
            self._swatch(painter, box.adjusted(0.0, 1.0, 0.0, -1.0), brush)

    def _swatch(self, painter: QPainter, box: QRectF, brush: QBrush) -> None:
        painter.fillRect(box, brush)
        painter.setPen(QPen(self._theme.colour("edge"), 1.0))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(box)

    def _bar(self, painter: QPainter, at: QPointF, shade: float) -> None:
        """The shades, most suction on top, with the suctions between them and the target."""
        scale, theme = self._scale, self._theme
        assert scale is not None
        bottom = at.y() + shade * len(scale.colours)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        for i, colour in enumerate(scale.colours):
            painter.fillRect(QRectF(at.x(), bottom - (i + 1) * shade, _BAR, shade + 0.5), QColor(colour))
        painter.setPen(QPen(theme.colour("edge"), 1.0))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(QRectF(at.x(), at.y(), _BAR, bottom - at.y()))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setFont(self._small)
        written = []
        target = self.content.target
        if target is not None:
            y = bottom - shade * _place(target, scale.bounds)
            painter.setPen(QPen(theme.colour("bad"), 2.4))
            painter.drawLine(QPointF(at.x() - 3.0, y), QPointF(at.x() + _BAR + 4.0, y))
            painter.setPen(theme.colour("text"))
            words = f"{format_quantity(target, 'hole_pressure', self._system, with_unit=False)} target"
            painter.drawText(self._beside(at, y), Qt.AlignmentFlag.AlignVCenter, words)
            written.append(y)
        for i, bound in enumerate(scale.bounds):
            y = bottom - (i + 1) * shade
            if all(abs(y - other) >= 0.85 * self._line for other in written):
                painter.setPen(theme.colour("muted"))
                painter.drawLine(QPointF(at.x() + _BAR, y), QPointF(at.x() + _BAR + 3.0, y))
                painter.drawText(self._beside(at, y), Qt.AlignmentFlag.AlignVCenter, self._figure(bound))
                written.append(y)

    def _beside(self, at: QPointF, y: float) -> QRectF:
        return QRectF(at.x() + _BAR + 6.0, y - self._line / 2.0, self._width() - _BAR, self._line)

    def _figure(self, bound: float) -> str:
        return f"{to_display(bound, 'hole_pressure', self._system):.3g}"

    # --- folded -------------------------------------------------------------------------------------------------------

    def _flowing(self) -> list[tuple[Row | None, QRectF]]:
        """Rows one after the other in lines as wide as the sheet, the shades (None) first."""
        wide = self._room.width()
        x = y = 0.0
        flow: list[tuple[Row | None, QRectF]] = []
        folded = [row for row in self.content.rows if row.key in ("failing", "zone", "verdict", "lowest")]
        items: list[tuple[Row | None, float]] = [(None, self._strip_width())] if self._scale is not None else []
        items += [(row, _ROOM + self._metrics.horizontalAdvance(row.words)) for row in folded]
        for row, width in items:
            if x > 0.0 and x + width > wide:
                x, y = 0.0, y + self._line + 3.0
            flow.append((row, QRectF(x, y, min(width, wide), self._line)))
            x += width + 14.0
        return flow

    def _strip_width(self) -> float:
        assert self._scale is not None
        figures = [self._metrics.horizontalAdvance(self._figure(bound)) + 7.0 for bound in self._scale.bounds]
        return self._metrics.horizontalAdvance(self._strip_title()) + 8.0 + 14.0 + sum(figures)

    def _strip_title(self) -> str:
        return f"suction, {unit_of('hole_pressure', self._system).label}"

    def _strip(self, painter: QPainter, box: QRectF) -> None:
        """The shades in a line, weakest first, each suction where its shade begins."""
        scale, theme = self._scale, self._theme
        assert scale is not None
        title = self._strip_title()
        self._write(painter, box, title, quiet=True)
        x = box.left() + self._metrics.horizontalAdvance(title) + 8.0
        edges = [x, x + 14.0]
        for bound in scale.bounds:
            edges.append(edges[-1] + self._metrics.horizontalAdvance(self._figure(bound)) + 7.0)
        for i, colour in enumerate(scale.colours):
            painter.fillRect(QRectF(edges[i], box.top(), edges[i + 1] - edges[i], box.height()), QColor(colour))
            if i:
                words = self._figure(scale.bounds[i - 1])
                self._write(painter, QRectF(edges[i] + 3.0, box.top(), px(60), box.height()), words)
        if self.content.target is not None:
            place = _place(self.content.target, scale.bounds)
            at = int(place)
            x = edges[at] + (place - at) * (edges[min(at + 1, len(edges) - 1)] - edges[at])
            painter.setPen(QPen(theme.colour("bad"), 2.4))
            painter.drawLine(QPointF(x, box.top() - 2.0), QPointF(x, box.bottom() + 2.0))


def _place(value: float, bounds: Sequence[float]) -> float:
    """Where a suction lies among shades of one height, counted in shades from the weakest end."""
    below = sum(bound <= value for bound in bounds)
    if below == 0 or below == len(bounds):
        return below + 0.5
    low, up = bounds[below - 1], bounds[below]
    return below + (value - low) / (up - low)
