"""The speed rail: one long control for the fan's speed, its marks, and the answers that follow it.

It knows no design and sets no policy: it shows the marks and answers it is given and says where the hand goes.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QBrush,
    QColor,
    QFocusEvent,
    QFontMetricsF,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPolygonF,
    QWheelEvent,
)
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QSizePolicy, QSlider, QVBoxLayout, QWidget

from workbench.gui.kit.debounce import OncePerPass
from workbench.gui.kit.fields import QuantityEdit
from workbench.gui.kit.theme import LIGHT, Theme
from workbench.gui.kit.type_scale import Role, font_of, line_of
from workbench.gui.shell.answers import Answer, AnswerStrip
from workbench.units import System, format_entry

__all__ = ["Answer", "SpeedRail", "spread"]

RESOLUTION = 1000
"""Steps from standstill to full speed: a tenth of a percent each."""
FINE, STEP, PAGE = 1, 10, 50
_END = 18.0
_GAP = 14.0
_TARGET = 44


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


def _up(speed: float) -> int:
    # the inner rounding keeps 0.3, which is a little more than three tenths, from becoming 301
    return math.ceil(round(speed * RESOLUTION, 6))


def _percent(speed: float) -> str:
    return format_entry(round(speed * RESOLUTION) / RESOLUTION, "speed", "SI", with_unit=True)


@dataclass(frozen=True, slots=True)
class _Mark:
    kind: str
    speed: float
    long: str
    short: str


class _Track(QSlider):
    """The painted control. A slider at heart, so that screen readers know it; drawn and handled here."""

    wanted = Signal(float)
    grasped = Signal()
    let_go = Signal()

    def __init__(self, parent: QWidget) -> None:
        super().__init__(Qt.Orientation.Horizontal, parent)
        self.speed = 1.0
        self.least, self.most = 0.0, 1.0
        self.reference: float | None = None
        self.lowest: float | None = None
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
        self.setAccessibleName("Fan speed")
        self._set_fonts()

    def _set_fonts(self) -> None:
        self._small = font_of(Role.SMALL)
        self._line = line_of(Role.SMALL)

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self._set_fonts()
            self.updateGeometry()

    def sizeHint(self) -> QSize:
        return QSize(640, round(self._line) + 6 + _TARGET + 4)

    def minimumSizeHint(self) -> QSize:
        return QSize(360, self.sizeHint().height())

    # --- where things are ---

    def x_of(self, speed: float) -> float:
        """The place of a speed, in pixels from the left."""
        return _END + speed * (self.width() - 2 * _END)

    def speed_at(self, x: float) -> float:
        """The speed at a place, to the rail's resolution."""
        share = (x - _END) / max(self.width() - 2 * _END, 1.0)
        return min(max(round(share * RESOLUTION) / RESOLUTION, 0.0), 1.0)

    def groove(self) -> QRectF:
        """The channel the handle runs in."""
        return QRectF(_END, self._line + 17, self.width() - 2 * _END, 10)

    def _marks(self) -> list[_Mark]:
        if self.fixed:
            return []
        marks = []
        if self.least > 0.0:
            at = _percent(self.least)
            marks.append(_Mark("least", self.least, f"fan minimum {at}", f"minimum {at}"))
        if self.reference is not None:
            at = _percent(self.reference)
            marks.append(_Mark("today", self.reference, f"saved setting {at}", f"saved {at}"))
        if self.lowest is not None:
            at = _percent(self.lowest)
            marks.append(_Mark("lowest", self.lowest, f"lowest that meets target {at}", f"meets target at {at}"))
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
        painter.setFont(self._small)
        groove = self.groove()
        self._paint_groove(painter, groove)
        self._paint_scale(painter, groove)
        self._paint_marks(painter, groove)
        self._paint_handle(painter, groove)
        painter.end()

    def _paint_groove(self, painter: QPainter, groove: QRectF) -> None:
        theme = self.theme
        painter.setPen(QPen(theme.colour("edge"), 1))
        painter.setBrush(theme.colour("panel"))
        painter.drawRoundedRect(groove, 2, 2)
        least, here = self.x_of(self.least), self.x_of(self.speed)
        painter.setBrush(QBrush(theme.colour("edge"), Qt.BrushStyle.BDiagPattern))
        for low, high in ((0.0, self.least), (self.most, 1.0)):
            if low < high and not self.fixed:
                left = self.x_of(low)
                painter.drawRect(QRectF(left, groove.top(), self.x_of(high) - left, groove.height()))
        if not self.fixed and here > least:
            painter.fillRect(QRectF(least, groove.top() + 2, here - least, groove.height() - 4), theme.colour("fan"))

    def _paint_scale(self, painter: QPainter, groove: QRectF) -> None:
        theme = self.theme
        top = groove.bottom() + 9
        tenth = self.width() / 10 >= 48
        for tick in range(11):
            x = round(self.x_of(tick / 10)) + 0.5
            painter.setPen(QPen(theme.colour("edge"), 1))
            painter.drawLine(QPointF(x, groove.bottom() + 4), QPointF(x, top))
            if tenth or tick % 2 == 0:
                painter.setPen(theme.colour("muted"))
                label = f"{tick * 10} %" if tick == 10 else f"{tick * 10}"
                painter.drawText(QRectF(x - 30, top, 60, self._line), int(Qt.AlignmentFlag.AlignHCenter), label)

    def _paint_marks(self, painter: QPainter, groove: QRectF) -> None:
        theme = self.theme
        metrics = QFontMetricsF(self._small)
        marks = self._marks()
        self._labels = []
        if self.fixed:
            painter.setPen(theme.colour("text"))
            painter.drawText(QRectF(groove.left(), 0, groove.width(), self._line), 0, self.fixed)
            return
        icon = 13.0
        for texts in ([m.long for m in marks], [m.short for m in marks]):
            widths = [metrics.horizontalAdvance(text) + icon for text in texts]
            if sum(widths) + _GAP * (len(widths) - 1) <= self.width():
                break
        lefts = spread([self.x_of(m.speed) for m in marks], widths, 0.0, float(self.width()), _GAP)
        for mark, text, left, width in zip(marks, texts, lefts, widths, strict=True):
            x = round(self.x_of(mark.speed)) + 0.5
            role = "good" if mark.kind == "lowest" else "text" if mark.kind == "today" else "muted"
            colour = theme.colour(role)
            foot = min(max(x, left + icon / 2), left + width - 4)
            painter.setPen(QPen(colour, 1.5 if mark.kind == "lowest" else 1))
            low = groove.bottom() + 3 if mark.kind != "least" else groove.bottom()
            painter.drawPolyline([QPointF(x, low), QPointF(x, self._line + 9), QPointF(foot, self._line + 1)])
            self._paint_icon(painter, mark.kind, QPointF(left + 4, self._line / 2), colour)
            painter.setPen(colour)
            painter.drawText(QRectF(left + icon, 0, width, self._line), int(Qt.AlignmentFlag.AlignVCenter), text)
            self._labels.append((QRectF(left, 0, width, self._line + 4), mark.speed))

    def _paint_icon(self, painter: QPainter, kind: str, at: QPointF, colour: QColor) -> None:
        painter.save()
        painter.translate(at)
        if kind == "lowest":
            painter.setBrush(colour)
            painter.drawPolygon(QPolygonF([QPointF(-4.5, -3), QPointF(4.5, -3), QPointF(0, 4.5)]))
        elif kind == "today":
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawEllipse(QPointF(0, 0), 3.5, 3.5)
        else:
            painter.drawLine(QPointF(3, -4), QPointF(3, 4))
            for y in (-4.0, -0.5, 3.0):
                painter.drawLine(QPointF(-3, y + 2), QPointF(3, y - 1))
        painter.restore()

    def _paint_handle(self, painter: QPainter, groove: QRectF) -> None:
        theme = self.theme
        x, y = self.x_of(self.speed), groove.center().y()
        # it and its ring end over the figures of the scale
        shape = QRectF(x - 8, y - 14, 16, 24)
        if self.hasFocus():
            painter.setPen(QPen(theme.colour("focus"), 2))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(shape.adjusted(-3, -3, 3, 3), 5, 5)
        edge = theme.colour("muted" if self.fixed else "text")
        painter.setPen(QPen(edge, 1.5))
        painter.setBrush(theme.colour("window" if self.fixed else "panel"))
        painter.drawRoundedRect(shape, 3, 3)
        painter.setPen(QPen(theme.colour("muted" if self.fixed else "fan"), 2))
        painter.drawLine(QPointF(x, y - 8), QPointF(x, y + 4))


class SpeedRail(QFrame):
    """The control at the foot of the window: answers above, the track below with a typed field beside it."""

    moved = Signal(float)
    """The speed the hand asks for, once per pass of the event loop; a fraction of full speed."""
    pressed = Signal()
    """A gesture begins: a grasp of the mouse, a key going down, a number entered."""
    released = Signal()
    """The gesture is over; its last `moved` has been sent."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("rail")
        self._moves = OncePerPass(self.moved.emit, self)
        self._strip = AnswerStrip(self)
        self._track = _Track(self)
        self._typed = QuantityEdit("Fan speed", "speed", lower=0.0, upper=1.0)
        self._typed.setFixedWidth(160)
        self._typed.set_value(1.0)
        caption = QLabel("Fan &speed")
        caption.setBuddy(self._typed.control())
        column = QVBoxLayout()
        column.setSpacing(3)
        column.addWidget(caption)
        column.addWidget(self._typed)
        column.addStretch(1)
        row = QHBoxLayout()
        row.setSpacing(12)
        row.addLayout(column)
        row.addWidget(self._track, 1, Qt.AlignmentFlag.AlignTop)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(12, 6, 12, 6)
        layout.setSpacing(6)
        layout.addWidget(self._strip)
        layout.addLayout(row)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setTabOrder(self._typed.control(), self._track)
        self._track.grasped.connect(self.pressed)
        self._track.wanted.connect(self._want)
        self._track.let_go.connect(self._let_go)
        self._track.valueChanged.connect(self._set_from_outside)
        self._typed.committed.connect(self._enter)
        self.setFocusProxy(self._track)
        self._show(1.0)

    def speed(self) -> float:
        """The speed shown, a fraction of full speed."""
        return self._track.speed

    def set_speed(self, speed: float) -> None:
        """Show a speed from elsewhere; emits nothing. A move still on its way from the hand goes first."""
        if speed != self._track.speed and not self._moves.pending():
            self._show(speed)

    def set_range(self, least: float, most: float = 1.0, words: str = "") -> None:
        """The speeds the fan can run at; what lies beyond is hatched and cannot be reached.

        With `words`, why the speed cannot be changed at all, the rail shows them and lets nothing be moved.
        """
        track = self._track
        if (least, most, words) != (track.least, track.most, track.fixed):
            track.least, track.most, track.fixed = least, most, words
            self._typed.set_limits(least, most)
            self._typed.setEnabled(not words)
            # the slider's own range is what a screen reader tells
            track.setRange(_up(least), math.floor(round(most * RESOLUTION, 6)))
            self._repaint()

    def set_reference(self, speed: float | None) -> None:
        """Mark today's setting, or nothing."""
        if speed != self._track.reference:
            self._track.reference = speed
            self._repaint()

    def set_lowest_holding(self, speed: float | None) -> None:
        """Mark the lowest speed that holds, rounded up so that the figure shown holds too; None hides the mark."""
        if speed is not None:
            speed = min(_up(speed) / RESOLUTION, 1.0)
        if speed != self._track.lowest:
            self._track.lowest = speed
            self._repaint()

    def set_system(self, system: System) -> None:
        """Show the typed speed in the units of a system."""
        self._typed.set_system(system)

    def set_answers(self, answers: Sequence[Answer]) -> None:
        """Show what follows from the speed."""
        self._strip.set_answers(answers)

    def set_stale(self, stale: bool) -> None:
        """Mark the answers as the last good ones."""
        self._strip.set_stale(stale)

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self._track.theme = theme
        self._strip.apply_theme(theme)
        self._track.update()

    def track(self) -> QSlider:
        """The control itself, to give it the focus."""
        return self._track

    def _show(self, speed: float) -> None:
        self._track.speed = speed
        self._track.setValue(round(speed * RESOLUTION))
        self._typed.set_value(speed)
        self._repaint()

    def _repaint(self) -> None:
        track = self._track
        said = [f"{_percent(track.speed)} of full speed", *(mark.long for mark in track._marks())]
        if track.fixed:
            said.append(track.fixed.rstrip("."))
        track.setAccessibleDescription(". ".join(said) + ".")
        track.update()

    def _want(self, speed: float) -> None:
        speed = min(max(speed, self._track.least), self._track.most)
        if speed != self._track.speed:
            self._show(speed)
            self._moves(speed)

    def _let_go(self) -> None:
        self._moves.flush()
        self.released.emit()

    def _enter(self, speed: float) -> None:
        self.pressed.emit()
        self._want(speed)
        self._let_go()

    def _set_from_outside(self, value: int) -> None:
        # what the rail set itself agrees with the speed shown, and a new range only moves the slider into it;
        # anything else came from a screen reader
        track = self._track
        if value != min(max(round(track.speed * RESOLUTION), track.minimum()), track.maximum()):
            self._enter(value / RESOLUTION)
