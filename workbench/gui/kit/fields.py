"""The fields in which values are typed and chosen.

Every field has the same few words: ``value()``, ``set_value(v)`` (which never emits), ``committed`` (only what the
person did) and ``set_fault(sentence)``, shown beneath it. A field whose text cannot be read says why and keeps its last
good value. Nothing here changes under the mouse wheel by accident.
"""

from __future__ import annotations

import math
import re
from collections.abc import Hashable, Sequence
from typing import Any

from PySide6.QtCore import QEvent, QObject, QPointF, Qt
from PySide6.QtGui import QKeyEvent, QPainter, QPaintEvent, QPalette, QPen, QWheelEvent
from PySide6.QtWidgets import QCheckBox, QComboBox, QWidget

from workbench.gui.kit.field import Field, TypedField
from workbench.gui.kit.theme import number_font
from workbench.gui.kit.tips import plain_tip
from workbench.units import (
    Dimension,
    System,
    UnitError,
    format_entry,
    from_display,
    parse_quantity,
    to_display,
    unit_of,
)

__all__ = ["ChoiceEdit", "CountEdit", "Field", "QuantityEdit", "SwitchEdit", "TextEdit"]


class QuantityEdit(TypedField):
    """A quantity with its unit: typed in any unit of its kind, kept and emitted in SI.

    `lower` and `upper` are SI limits, both allowed values; `why` completes the sentence that refuses what lies beyond.
    With `optional` an empty field is the value None.
    """

    def __init__(
        self,
        name: str,
        dimension: Dimension,
        system: System = "SI",
        *,
        lower: float | None = None,
        upper: float | None = None,
        why: str = "",
        optional: bool = False,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(name, optional=optional, steps=True, parent=parent)
        self._dimension, self._system = dimension, system
        self._lower, self._upper, self._why = lower, upper, why
        self._editor.setFont(number_font(self._editor.font()))
        self._editor.setAlignment(Qt.AlignmentFlag.AlignRight)
        self._editor.setMinimumWidth(120)
        self._editor.set_suffix(unit_of(dimension, system).label)
        self._speak()

    def set_system(self, system: System) -> None:
        """Show the value in the units of another system; what was half typed is read in the former ones."""
        if system != self._system:
            # a bare number was typed in the unit that stood beside it
            readable = not self._editing or self._finish()
            former = unit_of(self._dimension, self._system).label
            self._system = system
            self._editor.set_suffix(unit_of(self._dimension, system).label)
            if readable:
                self._display()
            else:
                if self.text()[-1:].isdigit():
                    self._editor.setText(f"{self.text().strip()} {former}".strip())
                self._finish()
            self._speak()

    def set_limits(self, lower: float | None, upper: float | None, why: str = "") -> None:
        """Allow another range; the present value is left as it is."""
        if (lower, upper, why) != (self._lower, self._upper, self._why):
            self._lower, self._upper, self._why = lower, upper, why
            self._speak()

    def _read(self, text: str) -> float:
        value = parse_quantity(text, self._dimension, self._system)
        for limit, beyond in ((self._lower, -1.0), (self._upper, 1.0)):
            if limit is None or (value - limit) * beyond <= 0.0:
                continue
            # a limit that is round in one system is not in the other: what is shown for it may be typed
            if not math.isclose(value, limit, rel_tol=1e-5):
                raise UnitError(f"{self._range()}{': ' + self._why.rstrip('.') if self._why else ''}.")
            value = limit
        return value

    def _range(self) -> str:
        low, high = (
            None if limit is None else format_entry(limit, self._dimension, self._system, with_unit=True)
            for limit in (self._lower, self._upper)
        )
        if low is not None and high is not None:
            return f"Must be between {low} and {high}"
        return f"Must be at least {low}" if low is not None else f"Must be at most {high}"

    def _write(self, value: float) -> str:
        return format_entry(value, self._dimension, self._system)

    def _next(self, value: float | None, steps: int) -> float:
        if value is None:
            value = self._lower if self._lower is not None else from_display(0.0, self._dimension, self._system)
        shown = to_display(value, self._dimension, self._system)
        step = unit_of(self._dimension, self._system).step
        if step == 0.0:
            step = 10.0 ** (math.floor(math.log10(abs(shown))) - 1) if shown else 1.0
        # to the next round value, not one step beside it
        rung = math.floor(shown / step + 1e-6) if steps > 0 else math.ceil(shown / step - 1e-6)
        value = from_display((rung + steps) * step, self._dimension, self._system)
        value = value if self._lower is None else max(value, self._lower)
        value = value if self._upper is None else min(value, self._upper)
        return float(f"{value:.15g}")

    def _describe(self) -> str:
        unit = unit_of(self._dimension, self._system).label
        limited = self._lower is not None or self._upper is not None
        parts = (self._hint, f"In {unit}." if unit else "", f"{self._range()}." if limited else "")
        return " ".join(part for part in parts if part)


class CountEdit(TypedField):
    """A whole number of things, between `lower` and `upper` inclusive."""

    def __init__(
        self, name: str, *, lower: int = 0, upper: int | None = None, unit: str = "", parent: QWidget | None = None
    ) -> None:
        super().__init__(name, optional=False, steps=True, parent=parent)
        self._lower, self._upper = lower, upper
        self._editor.setFont(number_font(self._editor.font()))
        self._editor.setAlignment(Qt.AlignmentFlag.AlignRight)
        self._editor.set_suffix(unit)
        self._speak()

    def _read(self, text: str) -> int:
        if not re.fullmatch(r"[+-]?[0-9]{1,9}", text):
            raise ValueError(f"“{text}” is not a whole number." if text else "Type a whole number.")
        value = int(text)
        if value < self._lower or (self._upper is not None and value > self._upper):
            raise ValueError(f"{self._range()}.")
        return value

    def _range(self) -> str:
        if self._upper is None:
            return f"Must be at least {self._lower}"
        return f"Must be between {self._lower} and {self._upper}"

    def _write(self, value: int) -> str:
        return str(value)

    def _next(self, value: int | None, steps: int) -> int:
        wanted = max((self._lower if value is None else value) + steps, self._lower)
        return wanted if self._upper is None else min(wanted, self._upper)

    def _describe(self) -> str:
        return f"{self._hint} {self._range()}.".strip()


class TextEdit(TypedField):
    """One line of text; with `required` it may not be left empty."""

    def __init__(self, name: str, *, required: bool = False, longest: int = 200, parent: QWidget | None = None) -> None:
        super().__init__(name, optional=False, steps=False, parent=parent)
        self._required = required
        self._value = ""
        self._editor.setMaxLength(longest)

    def set_value(self, value: Any) -> None:
        super().set_value("" if value is None else value)

    def _read(self, text: str) -> str:
        if self._required and not text:
            raise ValueError(f"{self.name()} is needed.")
        return text

    def _write(self, value: str) -> str:
        return value

    def _display(self) -> None:
        super()._display()
        if not self._editor.hasFocus():
            # a text longer than its field is read from its beginning
            self._editor.setCursorPosition(0)


class _QuietWheel(QObject):
    """Lets the wheel scroll the page instead of changing a control that has not been chosen."""

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if isinstance(event, QWheelEvent) and isinstance(watched, QWidget) and not watched.hasFocus():
            event.ignore()
            return True
        return super().eventFilter(watched, event)


class _Box(QComboBox):
    """A combo box whose arrow keeps the colour of its text: a style sheet takes the style's own arrow away."""

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        group = QPalette.ColorGroup.Active if self.isEnabled() else QPalette.ColorGroup.Disabled
        painter.setPen(QPen(self.palette().color(group, QPalette.ColorRole.Text), 1.5))
        x, y = self.width() - 14.0, self.height() / 2 - 1.5
        painter.drawPolyline([QPointF(x - 4, y), QPointF(x, y + 4), QPointF(x + 4, y)])
        painter.end()


class ChoiceEdit(Field):
    """One of a few: `choices` are pairs of the value and the words shown for it."""

    def __init__(self, name: str, choices: Sequence[tuple[Hashable, str]] = (), parent: QWidget | None = None) -> None:
        self._box = _Box()
        super().__init__(name, self._box, parent)
        self._keys: list[Hashable] = []
        self._box.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self._box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self._box.setMinimumContentsLength(8)
        self._box.installEventFilter(_QuietWheel(self))
        self._box.activated.connect(self._chosen)
        self._value: Any = None
        self.set_choices(choices)

    def set_choices(self, choices: Sequence[tuple[Hashable, str]]) -> None:
        """Offer other choices; the value stays if it is among them, else it is the first."""
        self._keys = [key for key, _ in choices]
        self._box.clear()
        self._box.addItems([words for _, words in choices])
        for index, (_, words) in enumerate(choices):
            self._box.setItemData(index, plain_tip(words), Qt.ItemDataRole.ToolTipRole)
        self._put(self._value if self._value in self._keys or not self._keys else self._keys[0])

    def value(self) -> Any:
        return self._value

    def text(self) -> str:
        return self._box.currentText()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Escape reverts what was refused."""
        if event.key() == Qt.Key.Key_Escape and self._refused:
            self._settle()
            self._put(self._accepted)
            self.committed.emit(self._accepted)
        else:
            super().keyPressEvent(event)

    def _put(self, value: Any) -> None:
        self._value = value
        self._box.setCurrentIndex(self._keys.index(value) if value in self._keys else -1)

    def _chosen(self, index: int) -> None:
        if self._keys[index] != self._value:
            self._value = self._keys[index]
            self.committed.emit(self._value)


class SwitchEdit(Field):
    """Yes or no; `name` stands beside the box."""

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        self._box = QCheckBox(name)
        super().__init__(name, self._box, parent)
        self._box.clicked.connect(lambda: self.committed.emit(self._box.isChecked()))

    def set_name(self, name: str) -> None:
        super().set_name(name)
        self._box.setText(name)

    def value(self) -> bool:
        return self._box.isChecked()

    def _put(self, value: Any) -> None:
        self._box.setChecked(bool(value))
