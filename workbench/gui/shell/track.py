"""The long control of the fan's speed: how far it goes, what is marked along it, and what the gauge reads there."""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct
from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QBrush,
    QColor,
    QFocusEvent,
    QFont,
    QFontMetricsF,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPolygonF,
    QWheelEvent,
)
from PySide6.QtWidgets import QSizePolicy, QSlider, QWidget

from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.theme import LIGHT, SHAPES, Verdict
from workbench.gui.kit.type_scale import Role, factor, font_of, line_of
from workbench.units import SI, format_entry

RESOLUTION = 200
"""Steps from standstill to full speed: half a percent each."""
FINE, STEP, PAGE = 1, 2, 10
_END = 18.0
_GAP = 14.0
_ICON = 15.0
_ASTRAY = 150.0
"""How far from its speed the words of a mark may begin to mislead. [px]"""
_LEFT = int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
_CENTRE = int(Qt.AlignmentFlag.AlignCenter)


def spread(centres: Sequence[float], widths: Sequence[float], low: float, high: float, gap: float) -> list[float]:
    """Left ends of labels wished at ascending `centres`, moved apart by as little as keeps them from overlapping.

    All in pixels; they lie within `low` to `high` unless they are too wide for it together. Least squares under an
    order is isotonic regression, solved by pooling neighbours that would collide (Ayer et al., 1955).
    """
    before = [0.0]
    for width in widths:
        before.append(before[-1] + width + gap)
    pools: list[tuple[float, int]] = []
    for centre, width, taken in zip(centres, widths, before, strict=False):
        mean, size = centre - width / 2 - taken, 1
        while pools and pools[-1][0] > mean:
            other, count = pools.pop()
            mean, size = (mean * size + other * count) / (size + count), size + count
        pools.append((mean, size))
    room = high - (before[-1] - gap)
    starts = [max(low, min(mean, room)) for mean, size in pools for _ in range(size)]
    return [start + taken for start, taken in zip(starts, before, strict=False)]


def up(speed: float) -> int:
    """A speed in steps of the rail, brought up so that the figure shown is enough."""
    # the inner rounding keeps 0.3, which is a little more than three tenths, from becoming 61 steps
    return math.ceil(round(speed * RESOLUTION, 6))


def percent(speed: float) -> str:
    """A speed as it is written along the rail."""
    return format_entry(round(speed, 3), "speed", SI, with_unit=True)


class Scale(Struct, frozen=True):
    """What is written along the speeds of one design.

    Attributes
    ----------
    title : str
        What the readings are, with their unit.
    readings : tuple of (float, str)
        What the gauge reads at a speed, ascending.
    lowest : float or None
        The lowest speed that meets the target, with the `reading` there, unit and all.
    best : float or None
        The speed that meets it by the best estimate alone.
    none, none_short : str
        Why no speed meets the target, and by how much, with the `verdict` at full speed.
    """

    title: str = ""
    readings: tuple[tuple[float, str], ...] = ()
    lowest: float | None = None
    reading: str = ""
    best: float | None = None
    none: str = ""
    none_short: str = ""
    verdict: Verdict = ""


class _Mark(Struct, frozen=True):
    kind: str
    speed: float
    long: str
    short: str


def _font(mark: _Mark) -> QFont:
    return font_of(Role.SMALL_STRONG if mark.kind in ("lowest", "none") else Role.SMALL)


class Track(Guarded, QSlider):
    """The painted control. A slider at heart, so that screen readers know it; drawn and handled here."""

    wanted = Signal(float)
    grasped = Signal()
    let_go = Signal()

    def __init__(self, parent: QWidget) -> None:
        super().__init__(Qt.Orientation.Horizontal, parent)
        self.speed = 1.0
        self.least, self.most = 0.0, 1.0
        self.reference: float | None = None
        self.scale = Scale()
        self.fixed = ""
        self.theme = LIGHT
        self._labels: list[tuple[QRectF, float]] = []
        self._dragging = False
        self._keys: set[int] = set()
        self.setRange(0, RESOLUTION)
        self.setSingleStep(STEP)
        self.setPageStep(PAGE)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("Fan speed slider")
        self._fit()

    def _fit(self) -> None:
        self._line = line_of(Role.SMALL)
        self._unit = factor()
        self._end = _END * self._unit

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self._fit()
            self.updateGeometry()

    def sizeHint(self) -> QSize:
        return QSize(640, math.ceil(3 * self._line + 26 * self._unit) + 2)

    def minimumSizeHint(self) -> QSize:
        return QSize(360, self.sizeHint().height())

    @property
    def lowest(self) -> float | None:
        """The speed marked as the lowest that meets the target, rounded up to a step."""
        found = self.scale.lowest
        return None if found is None else min(up(found) / RESOLUTION, 1.0)

    # --- where things are ---

    def x_of(self, speed: float) -> float:
        """The place of a speed, in pixels from the left."""
        return self._end + speed * (self.width() - 2 * self._end)

    def speed_at(self, x: float) -> float:
        """The speed at a place, to the rail's resolution."""
        share = (x - self._end) / max(self.width() - 2 * self._end, 1.0)
        return min(max(round(share * RESOLUTION) / RESOLUTION, 0.0), 1.0)

    def groove(self) -> QRectF:
        """The channel the handle runs in."""
        return QRectF(self._end, self._line + 8 * self._unit, self.width() - 2 * self._end, 10 * self._unit)

    def marks(self) -> list[_Mark]:
        """What is marked over the speeds, ascending."""
        if self.fixed:
            return []
        scale, marks = self.scale, []
        if self.least > 0.0:
            at = percent(self.least)
            marks.append(_Mark("least", self.least, f"Fan minimum {at}", f"Minimum {at}"))
        if scale.best is not None and scale.best != self.lowest:
            at = percent(scale.best)
            marks.append(_Mark("best", scale.best, f"{at}: target by best estimate only", ""))
        if self.reference is not None:
            at = percent(self.reference)
            marks.append(_Mark("today", self.reference, f"Saved {at}", f"Saved {at}"))
        if self.lowest is not None:
            at = percent(self.lowest)
            gauge = f": gauge {scale.reading}" if scale.reading else ""
            marks.append(
                _Mark("lowest", self.lowest, f"Meets target from {at}{gauge}", f"Meets target{gauge or ' ' + at}")
            )
        elif scale.none:
            marks.append(_Mark("none", self.most, scale.none, scale.none_short))
        return sorted(marks, key=lambda mark: mark.speed)

    # --- what people do ---

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if event.button() != Qt.MouseButton.LeftButton or self.fixed:
            event.ignore()
            return
        event.accept()
        at = event.position()
        self._dragging = True
        self.grasped.emit()
        for place, speed in self._labels:
            if place.contains(at):
                self._dragging = False
                self.wanted.emit(speed)
                self.let_go.emit()
                return
        self.wanted.emit(self.speed_at(at.x()))

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        event.accept()
        if self._dragging:
            self.wanted.emit(self.speed_at(event.position().x()))
        else:
            over = any(place.contains(event.position()) for place, _ in self._labels)
            self.setCursor(Qt.CursorShape.PointingHandCursor if over else Qt.CursorShape.ArrowCursor)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        event.accept()
        if self._dragging and event.button() == Qt.MouseButton.LeftButton:
            self._dragging = False
            self.let_go.emit()

    def wheelEvent(self, event: QWheelEvent) -> None:
        event.ignore()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        step = FINE if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else STEP
        here = self.speed * RESOLUTION
        steps = {
            Qt.Key.Key_Left: here - step,
            Qt.Key.Key_Down: here - step,
            Qt.Key.Key_Right: here + step,
            Qt.Key.Key_Up: here + step,
            Qt.Key.Key_PageDown: here - PAGE,
            Qt.Key.Key_PageUp: here + PAGE,
            Qt.Key.Key_Home: 0.0,
            Qt.Key.Key_End: float(RESOLUTION),
        }
        wanted = steps.get(Qt.Key(event.key()))
        if wanted is None or self.fixed:
            event.ignore()
            return
        event.accept()
        if not self._keys:
            self.grasped.emit()
        self._keys.add(event.key())
        self.wanted.emit(round(wanted) / RESOLUTION)

    def keyReleaseEvent(self, event: QKeyEvent) -> None:
        if event.isAutoRepeat() or event.key() not in self._keys:
            event.ignore()
            return
        self._keys.discard(event.key())
        if not self._keys:
            self.let_go.emit()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        if self._keys:
            self._keys.clear()
            self.let_go.emit()

    # --- how it looks ---

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setFont(font_of(Role.SMALL))
        groove = self.groove()
        self._paint_groove(painter, groove)
        self._paint_scale(painter, groove)
        self._paint_marks(painter, groove)
        self._paint_handle(painter, groove)
        painter.end()

    def _paint_groove(self, painter: QPainter, groove: QRectF) -> None:
        theme, inset = self.theme, 3 * self._unit
        painter.setPen(QPen(theme.colour("edge"), 1))
        painter.setBrush(theme.colour("panel"))
        painter.drawRoundedRect(groove, 2, 2)
        if self.fixed:
            return
        painter.setBrush(QBrush(theme.colour("edge"), Qt.BrushStyle.BDiagPattern))
        for low, high in ((0.0, self.least), (self.most, 1.0)):
            if low < high:
                left = self.x_of(low)
                painter.drawRect(QRectF(left, groove.top(), self.x_of(high) - left, groove.height()))
        inner = groove.adjusted(0, inset, 0, -inset)
        stretches = [(self.least, self.speed, "fan")]
        if self.lowest is not None:
            stretches.append((max(self.lowest, self.least), self.most, "good"))
        for low, high, role in stretches:
            if low < high:
                left = self.x_of(low)
                painter.fillRect(QRectF(left, inner.top(), self.x_of(high) - left, inner.height()), theme.colour(role))

    def _paint_scale(self, painter: QPainter, groove: QRectF) -> None:
        theme, line = self.theme, self._line
        metrics = QFontMetricsF(painter.font())
        top = groove.bottom() + 6 * self._unit
        every = 1 if self.x_of(0.1) - self.x_of(0.0) >= metrics.horizontalAdvance("0.000") + 10 else 2
        for tick in range(0, 11):
            x = round(self.x_of(tick / 10)) + 0.5
            painter.setPen(QPen(theme.colour("edge"), 1))
            painter.drawLine(QPointF(x, groove.bottom() + 2), QPointF(x, top))
            if tick % every == 0:
                painter.setPen(theme.colour("text"))
                label = f"{tick * 10} %" if tick in (0, 10) else f"{tick * 10}"
                painter.drawText(QRectF(x - 30 * self._unit, top, 60 * self._unit, line), _CENTRE, label)
        self._paint_readings(painter, metrics, top + line - 1, every)

    def _paint_readings(self, painter: QPainter, metrics: QFontMetricsF, top: float, every: int) -> None:
        """What the gauge reads, under the percents: a control in an attic has none of those on it."""
        scale = self.scale
        if not scale.readings:
            return
        painter.setPen(self.theme.colour("muted"))
        title = metrics.horizontalAdvance(scale.title)
        painter.drawText(QRectF(0, top, title + 1, self._line), _LEFT, scale.title)
        right = self.width() + 6.0
        for speed, words in reversed(scale.readings):
            width = metrics.horizontalAdvance(words)
            left = min(self.x_of(speed) - width / 2, self.width() - width)
            if left > title + 8 and left + width + 6 <= right and round(10 * speed) % every == 0:
                painter.drawText(QRectF(left, top, width + 1, self._line), _LEFT, words)
                right = left

    def _fitting(self) -> tuple[list[tuple[_Mark, str]], list[float], list[float]]:
        """The marks with as many words as there is room for near their speeds, and where their words begin and go to.

        The least wanted is left out first.
        """
        marks, found = self.marks(), None
        for texts in (
            [(m, m.long) for m in marks],
            [(m, m.long) for m in marks if m.kind != "best"],
            [(m, m.short) for m in marks if m.kind != "best"],
            [(m, m.short) for m in marks if m.kind not in ("best", "least")],
            [(m, m.short) for m in marks if m.kind in ("lowest", "none")],
        ):
            widths = [QFontMetricsF(_font(mark)).horizontalAdvance(text) + _ICON * self._unit for mark, text in texts]
            lefts = spread([self.x_of(m.speed) for m, _ in texts], widths, 0.0, float(self.width()), _GAP)
            found = texts, lefts, widths
            away = [
                abs(left + width / 2 - self.x_of(mark.speed))
                for (mark, _), left, width in zip(texts, lefts, widths, strict=True)
                if mark.kind != "none"
            ]
            fits = sum(widths) + _GAP * (len(widths) - 1) <= self.width()
            if fits and max(away, default=0.0) <= _ASTRAY * self._unit:
                break
        assert found is not None
        return found

    def _paint_marks(self, painter: QPainter, groove: QRectF) -> None:
        theme, line = self.theme, self._line
        self._labels = []
        if self.fixed:
            painter.setPen(theme.colour("text"))
            painter.drawText(QRectF(groove.left(), 0, groove.width(), line), _LEFT, self.fixed)
            return
        icon = _ICON * self._unit
        for (mark, text), left, width in zip(*self._fitting(), strict=True):
            colour = self._colour(mark)
            x = round(self.x_of(mark.speed)) + 0.5
            if mark.kind != "none":
                foot = min(max(x, left + icon / 2), left + width - 4)
                style = Qt.PenStyle.DotLine if mark.kind == "best" else Qt.PenStyle.SolidLine
                painter.setPen(QPen(colour, 1.5 if mark.kind == "lowest" else 1, style))
                low = groove.bottom() + 3 if mark.kind != "least" else groove.bottom()
                painter.drawPolyline([QPointF(x, low), QPointF(x, line + 4), QPointF(foot, line)])
            self._paint_icon(painter, mark.kind, QRectF(left, 0, icon, line), colour)
            painter.setPen(colour)
            painter.setFont(_font(mark))
            painter.drawText(QRectF(left + icon, 0, width, line), _LEFT, text)
            self._labels.append((QRectF(left, 0, width, line + 4), mark.speed))

    def _colour(self, mark: _Mark) -> QColor:
        if mark.kind == "none":
            return QColor(self.theme.verdict(self.scale.verdict))
        return self.theme.colour({"lowest": "good", "today": "text"}.get(mark.kind, "muted"))

    def _paint_icon(self, painter: QPainter, kind: str, box: QRectF, colour: QColor) -> None:
        if kind == "none":
            painter.setPen(colour)
            painter.setFont(font_of(Role.SMALL))
            painter.drawText(box, _LEFT, SHAPES[self.scale.verdict])
            return
        painter.save()
        painter.translate(box.left() + 4, box.center().y())
        painter.setPen(QPen(colour, 1))
        if kind == "lowest":
            painter.setBrush(colour)
            painter.drawPolygon(QPolygonF([QPointF(-4.5, -3), QPointF(4.5, -3), QPointF(0, 4.5)]))
        elif kind == "today":
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawEllipse(QPointF(0, 0), 3.5, 3.5)
        elif kind == "least":
            painter.drawLine(QPointF(3, -4), QPointF(3, 4))
            for y in (-4.0, -0.5, 3.0):
                painter.drawLine(QPointF(-3, y + 2), QPointF(3, y - 1))
        painter.restore()

    def _paint_handle(self, painter: QPainter, groove: QRectF) -> None:
        theme, unit = self.theme, self._unit
        x, y = self.x_of(self.speed), groove.center().y()
        shape = QRectF(x - 8 * unit, y - 11 * unit, 16 * unit, 22 * unit)
        if self.hasFocus():
            painter.setPen(QPen(theme.colour("focus"), 2))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(shape.adjusted(-3, -3, 3, 3), 5, 5)
        painter.setPen(QPen(theme.colour("muted" if self.fixed else "text"), 1.5))
        painter.setBrush(theme.colour("window" if self.fixed else "panel"))
        painter.drawRoundedRect(shape, 3, 3)
        painter.setPen(QPen(theme.colour("muted" if self.fixed else "fan"), 2))
        painter.drawLine(QPointF(x, y - 6 * unit), QPointF(x, y + 6 * unit))
