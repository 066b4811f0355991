"""The speed rail: the verdict and the answers, one long control for the fan's speed, and its marks.

It knows no design and sets no policy: it shows the marks and answers it is given and says where the hand goes.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QSizePolicy, QSlider, QVBoxLayout, QWidget

from workbench.gui.kit.debounce import OncePerPass
from workbench.gui.kit.fields import QuantityEdit
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.theme import Theme
from workbench.gui.kit.type_scale import Role, px, wear
from workbench.gui.shell.answers import Answer, AnswerStrip
from workbench.gui.shell.dial import Dial, DialField
from workbench.gui.shell.track import RESOLUTION, Scale, Track, percent, up
from workbench.units import System

__all__ = ["Answer", "Scale", "SpeedRail"]

_FIELD = 28


class SpeedRail(Guarded, QFrame):
    """The control at the foot of the window: answers above, the track below with a typed field beside it."""

    moved = Signal(float)
    """The speed the hand asks for, once per pass of the event loop; a fraction of full speed."""
    pressed = Signal()
    """A gesture begins: a grasp of the mouse, a key going down, a number entered."""
    gauged = Signal(float)
    """The suction that the gauge was turned to [Pa]; whoever knows the speed answers by `turn_to`."""
    released = Signal()
    """The gesture is over; its last `moved` has been sent."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("rail")
        self._moves = OncePerPass(self.moved.emit, self)
        self._strip = AnswerStrip(self)
        self._track = Track(self)
        self._typed = QuantityEdit("Fan speed", "speed", lower=0.0, upper=1.0)
        self._typed.set_value(1.0)
        self._dial = DialField(self)
        self._dial.turned.connect(self.gauged)
        caption = QLabel("Fan &speed", textFormat=Qt.TextFormat.PlainText)
        caption.setBuddy(self._typed.control())
        wear(caption, Role.SMALL)
        # what is wrong with it is to fit beside the control, which stays where it is
        fault = self._typed.findChild(QLabel, "fault")
        assert fault is not None
        wear(fault, Role.SMALL)
        column = QVBoxLayout()
        column.setSpacing(2)
        column.addWidget(caption)
        column.addWidget(self._typed)
        column.addStretch(1)
        row = QHBoxLayout()
        row.setSpacing(12)
        row.addLayout(column)
        row.addWidget(self._dial)
        row.addWidget(self._track, 1, Qt.AlignmentFlag.AlignTop)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(12, 8, 12, 4)
        layout.setSpacing(4)
        layout.addWidget(self._strip)
        layout.addLayout(row)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setTabOrder(self._typed.control(), self._dial.field.control())
        self.setTabOrder(self._dial.field.control(), self._track)
        self._track.grasped.connect(self.pressed)
        self._track.wanted.connect(self._want)
        self._track.let_go.connect(self._let_go)
        self._track.valueChanged.connect(self._set_from_outside)
        self._typed.committed.connect(self._enter)
        self.setFocusProxy(self._track)
        self._fit()
        self._show(1.0)

    def _fit(self) -> None:
        """Give the typed speed its room, however large it is written."""
        editor = self._typed.control()
        wear(editor, Role.TILE)
        editor.setMinimumWidth(0)
        editor.setFixedHeight(px(_FIELD))
        self._typed.setFixedWidth(px(96))
        self._dial.fit()

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange and hasattr(self, "_typed"):
            self._fit()

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
            track.setRange(up(least), math.floor(round(most * RESOLUTION, 6)))
            self._repaint()

    def set_reference(self, speed: float | None) -> None:
        """Mark the saved setting, or nothing."""
        if speed != self._track.reference:
            self._track.reference = speed
            self._repaint()

    def set_scale(self, scale: Scale) -> None:
        """Write along the speeds what the gauge reads and which of them meet the target; an empty one hides it."""
        if scale != self._track.scale:
            self._track.scale = scale
            self._repaint()

    def set_compact(self, compact: bool) -> None:
        """Take little height: the verdict with its reason, airflow, gauge and cost; the rest behind a button."""
        self._strip.set_compact(compact)

    def set_system(self, system: System) -> None:
        """Show the typed speed in the units of a system."""
        self._typed.set_system(system)
        self._dial.set_system(system)

    def set_dial(self, dial: Dial) -> None:
        """Show what the gauge reads at the speed, and which speeds that may stand for."""
        self._dial.set_dial(Dial() if self._track.fixed else dial, self._track.speed)

    def turn_to(self, suction: float, speed: float | None) -> None:
        """Go to the speed that a reading of the gauge means, or say that there is none."""
        self._dial.take(suction, speed)
        if speed is not None:
            self._enter(speed)

    def set_answers(self, answers: Sequence[Answer]) -> None:
        """Show what follows from the speed."""
        self._strip.set_answers(answers)

    def set_stale(self, why: str) -> None:
        """Mark the answers as the last good ones, and say why; nothing where they are the design's."""
        self._strip.set_stale(why)

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
        said = [f"{percent(track.speed)} of full speed", *(mark.long for mark in track.marks())]
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
