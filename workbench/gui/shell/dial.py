"""The field in which the gauge is typed as it is turned, and the speeds that a reading stands for."""

from __future__ import annotations

import math

from msgspec import Struct
from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QLabel, QVBoxLayout, QWidget

from workbench.gui.kit.fields import QuantityEdit
from workbench.gui.kit.type_scale import Role, px, wear
from workbench.units import System, from_display, to_display

_FIELD, _WIDE = 28, 130
_AMBIGUOUS = "No speed of this fan gives that reading."


class Dial(Struct, frozen=True):
    """What the gauge reads at the speed shown, between which readings it can be turned, and which speeds it means.

    `reading`, `least` and `most` are suctions just before the fan [Pa]; NaN where none is known.
    """

    reading: float = math.nan
    least: float = math.nan
    most: float = math.nan
    means: str = ""


class DialField(QWidget):
    """The gauge's reading beside the fan speed: typed, it asks for the speed that it means."""

    turned = Signal(float)
    """The suction that the gauge was turned to [Pa]."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._dial = Dial()
        self._typed_at: tuple[float, float] | None = None
        self._speed = 1.0
        self._system: System | None = None
        self.field = QuantityEdit("Gauge reading, sets the speed", "pressure", reading=True)
        self.field.set_hint(
            "Type the system gauge as it is turned: the speed moves to the one it means. It stands for a range of "
            "speeds, since pipe, soil and fan are not known exactly."
        )
        caption = QLabel("Gau&ge", textFormat=Qt.TextFormat.PlainText)
        caption.setBuddy(self.field.control())
        wear(caption, Role.SMALL)
        fault = self.field.findChild(QLabel, "fault")
        assert fault is not None
        wear(fault, Role.SMALL)
        self.means = QLabel(textFormat=Qt.TextFormat.PlainText)
        wear(self.means, Role.SMALL)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2)
        for widget in (caption, self.field, self.means):
            column.addWidget(widget)
        column.addStretch(1)
        self.field.committed.connect(self._turn)
        self.fit()

    def fit(self) -> None:
        """Give the typed reading its room, however large it is written."""
        editor = self.field.control()
        wear(editor, Role.TILE)
        editor.setMinimumWidth(0)
        editor.setFixedHeight(px(_FIELD))
        self.setFixedWidth(px(_WIDE))

    def set_system(self, system: System) -> None:
        """Show the reading in the units of a system."""
        self._system = system
        self.field.set_system(system)
        self._show()

    def set_dial(self, dial: Dial, speed: float) -> None:
        """Show what the gauge reads at a speed; what was typed for that very speed stays as it was typed."""
        self._dial, self._speed = dial, speed
        self.field.setEnabled(not math.isnan(dial.least))
        if not math.isnan(dial.least):
            self.field.set_limits(dial.least, dial.most)
        self._show()

    def _show(self) -> None:
        dial = self._dial
        if math.isnan(dial.reading):
            self.field.set_value(None)
        elif self._typed_at is not None and self._typed_at[0] == self._speed:
            self.field.set_value(self._typed_at[1])
        else:
            self._typed_at = None
            self.field.set_value(self._rounded(dial.reading))
        self.means.setText(dial.means)

    def _rounded(self, suction: float) -> float:
        """To what a gauge can be read, in the unit shown."""
        if self._system is None:
            return suction
        shown = to_display(suction, "pressure", self._system)
        return from_display(float(f"{shown:.3g}"), "pressure", self._system)

    def _turn(self, suction: float | None) -> None:
        if suction is not None:
            self.turned.emit(suction)

    def take(self, suction: float, speed: float | None) -> None:
        """Note the speed that a typed reading means, or that there is none."""
        self._typed_at = None if speed is None else (speed, suction)
        self.field.set_fault("" if speed is not None else _AMBIGUOUS)
