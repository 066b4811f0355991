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

from PySide6.QtCore import QEvent, QObject, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QKeyEvent, QPainter, QPaintEvent, QPalette, QPen, QResizeEvent, QWheelEvent
from PySide6.QtWidgets import QCheckBox, QComboBox, QStyle, QStyleOptionComboBox, QStylePainter, QWidget

from workbench.design.fuels import Fuel
from workbench.design.wording import sentence
from workbench.gui.kit.field import Field, TypedField
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.tips import plain_tip
from workbench.gui.kit.type_scale import factor, px
from workbench.units import (
    SI,
    Dimension,
    System,
    UnitError,
    as_read,
    exact_entry,
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
    With `optional` an empty field is the value None. A `reading` is a suction with the sign of readings.
    """

    def __init__(
        self,
        name: str,
        dimension: Dimension,
        system: System = SI,
        *,
        lower: float | None = None,
        upper: float | None = None,
        why: str = "",
        optional: bool = False,
        reading: bool = False,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(name, optional=optional, steps=True, parent=parent)
        self._dimension, self._system = dimension, system
        self._reading_of_gauge = reading
        self._currency: str | None = None
        self._fuel: Fuel | None = None
        self._lower, self._upper, self._why = lower, upper, why
        self._editor.setAlignment(Qt.AlignmentFlag.AlignRight)
        self._editor.setMinimumWidth(px(102))
        self._editor.set_suffix(unit_of(dimension, system).label)
        self._speak()

    def set_currency(self, currency: str) -> None:
        """Say what money is in: it may be typed with the amount then, and no other."""
        self._currency = currency

    def set_fuel(self, fuel: Fuel | None) -> None:
        """Say what is burned: a price of energy may be typed by its volume then."""
        self._fuel = fuel

    def set_system(self, system: System) -> None:
        """Show the value in another set of units; what was half typed is read in the former ones."""
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

    def set_reading(self, reading: bool) -> None:
        """Show it with the sign of readings, or as it is; what was typed meanwhile is read as it was shown before."""
        if reading != self._reading_of_gauge:
            readable = not self._editing or self._finish()
            self._reading_of_gauge = reading
            if readable:
                self._display()
            self._speak()

    def _read(self, text: str) -> float:
        value = self._as_read(parse_quantity(text, self._dimension, self._system, self._currency, self._fuel))
        for limit, beyond in ((self._lower, -1.0), (self._upper, 1.0)):
            if limit is None or (value - limit) * beyond <= 0.0:
                continue
            # a limit that is round in one unit is not in the other: what is shown for it may be typed
            shown = self._as_read(parse_quantity(self._write(limit), self._dimension, self._system))
            if not (math.isclose(value, limit, rel_tol=1e-5) or math.isclose(value, shown, rel_tol=1e-9)):
                raise UnitError(sentence(f"{self._range()}{': ' + self._why if self._why else ''}"))
            value = limit
        return value

    def _range(self) -> str:
        limits = (self._lower, self._upper)
        low, high = (
            None if limit is None else format_entry(self._as_read(limit), self._dimension, self._system, with_unit=True)
            for limit in (limits[::-1] if self._turned() else limits)
        )
        if low is not None and high is not None:
            return f"Must be between {low} and {high}"
        return f"Must be at least {low}" if low is not None else f"Must be at most {high}"

    def _write(self, value: float) -> str:
        return format_entry(self._as_read(value), self._dimension, self._system)

    def _turned(self) -> bool:
        return self._reading_of_gauge and self._system.minus_is_suction

    def _as_read(self, value: float) -> float:
        return as_read(value, self._system) if self._reading_of_gauge else value

    def _display(self) -> None:
        super()._display()
        self._tell_exactly()

    def set_hint(self, hint: str) -> None:
        super().set_hint(hint)
        self._tell_exactly()

    def _tell_exactly(self) -> None:
        """What a rounded entry leaves out stands in the tool tip."""
        told = [self._hint] if self._hint else []
        if self._value is not None:
            exact = exact_entry(self._as_read(self._value), self._dimension, self._system)
            told += [sentence(f"Exactly {exact}")] if exact else []
        self._editor.setToolTip("\n".join(told))

    def _next(self, value: float | None, steps: int) -> float:
        if value is None:
            value = self._lower if self._lower is not None else from_display(0.0, self._dimension, self._system)
        value = self._as_read(value)
        shown = to_display(value, self._dimension, self._system)
        step = unit_of(self._dimension, self._system).step
        if step == 0.0:
            step = 10.0 ** (math.floor(math.log10(abs(shown))) - 1) if shown else 1.0
        # to the next round value, not one step beside it
        rung = math.floor(shown / step + 1e-6) if steps > 0 else math.ceil(shown / step - 1e-6)
        value = self._as_read(from_display((rung + steps) * step, self._dimension, self._system))
        value = value if self._lower is None else max(value, self._lower)
        value = value if self._upper is None else min(value, self._upper)
        return float(f"{value:.15g}")

    def _describe(self) -> str:
        unit = unit_of(self._dimension, self._system).label
        limited = self._lower is not None or self._upper is not None
        parts = (self._hint, sentence(f"In {unit}") if unit else "", sentence(self._range()) if limited else "")
        return " ".join(part for part in parts if part)


class CountEdit(TypedField):
    """A whole number of things, between `lower` and `upper` inclusive."""

    def __init__(
        self, name: str, *, lower: int = 0, upper: int | None = None, unit: str = "", parent: QWidget | None = None
    ) -> None:
        super().__init__(name, optional=False, steps=True, parent=parent)
        self._lower, self._upper = lower, upper
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


class _QuietWheel(Guarded, QObject):
    """Lets the wheel scroll the page instead of changing a control that has not been chosen."""

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if isinstance(event, QWheelEvent) and isinstance(watched, QWidget) and not watched.hasFocus():
            event.ignore()
            return True
        return super().eventFilter(watched, event)


class _Box(Guarded, QComboBox):
    """A combo box that shows its choice in full, on more lines where one is too short, and its list with every entry.

    Its arrow keeps the colour of its text: a style sheet takes the style's own arrow away.
    """

    def __init__(self) -> None:
        super().__init__()
        self._lines = 1
        self.currentTextChanged.connect(lambda _text: self._fit())

    def _room(self) -> float:
        return self.width() - px(30)

    def _fit(self) -> None:
        metrics, lines = QFontMetricsF(self.font()), 1
        if self.width() > px(60) and metrics.horizontalAdvance(self.currentText()) > self._room():
            room = QRectF(0.0, 0.0, self._room(), 1000.0)
            tall = metrics.boundingRect(room, int(Qt.TextFlag.TextWordWrap), self.currentText()).height()
            lines = min(max(round(tall / metrics.lineSpacing()), 2), 3)
        if lines != self._lines:
            self._lines = lines
            self.updateGeometry()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    def sizeHint(self) -> QSize:
        return super().sizeHint() + QSize(0, self._more())

    def minimumSizeHint(self) -> QSize:
        return super().minimumSizeHint() + QSize(0, self._more())

    def _more(self) -> int:
        return round((self._lines - 1) * QFontMetricsF(self.font()).lineSpacing())

    def showPopup(self) -> None:
        """Open the list as wide as its longest entry."""
        view = self.view()
        view.setMinimumWidth(view.sizeHintForColumn(0) + 2 * view.frameWidth() + px(12))
        super().showPopup()

    def paintEvent(self, event: QPaintEvent) -> None:
        if self._lines == 1:
            super().paintEvent(event)
            painter: QPainter = QPainter(self)
        else:
            styled = QStylePainter(self)
            option = QStyleOptionComboBox()
            self.initStyleOption(option)
            option.currentText = ""
            styled.drawComplexControl(QStyle.ComplexControl.CC_ComboBox, option)
            painter = styled
        group = QPalette.ColorGroup.Active if self.isEnabled() else QPalette.ColorGroup.Disabled
        ink = self.palette().color(group, QPalette.ColorRole.Text)
        if self._lines > 1:
            painter.setPen(ink)
            flags = int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter | Qt.TextFlag.TextWordWrap)
            painter.drawText(QRectF(px(8), 1, self._room(), self.height() - 2), flags, self.currentText())
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(ink, 1.5))
        side = 4.0 * factor()
        x, y = self.width() - 3.5 * side, self.height() / 2 - 0.4 * side
        painter.drawPolyline([QPointF(x - side, y), QPointF(x, y + side), QPointF(x + side, y)])
        painter.end()


_MOST_ROWS = 40
"""More than any list here has: where the screen has room, every entry is seen at once."""


class ChoiceEdit(Guarded, Field):
    """One of a few: `choices` are pairs of the value and the words shown for it."""

    def __init__(self, name: str, choices: Sequence[tuple[Hashable, str]] = (), parent: QWidget | None = None) -> None:
        self._box = _Box()
        super().__init__(name, self._box, parent)
        self._keys: list[Hashable] = []
        self._box.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self._box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self._box.setMinimumContentsLength(8)
        self._box.setMaxVisibleItems(_MOST_ROWS)
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

    def choices(self) -> list[tuple[Hashable, str]]:
        """What is offered."""
        return [(key, self._box.itemText(i)) for i, key in enumerate(self._keys)]

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
