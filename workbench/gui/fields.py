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

from PySide6.QtCore import QEvent, QObject, QPointF, QSize, Qt, QTimer, Signal
from PySide6.QtGui import (
    QFocusEvent,
    QKeyEvent,
    QPainter,
    QPaintEvent,
    QPalette,
    QPen,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QCheckBox, QComboBox, QLabel, QLineEdit, QSizePolicy, QVBoxLayout, QWidget

from workbench.gui.theme import number_font
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

PAUSE_MS = 450
"""Text that reads well is taken after this rest; text that does not is only spoken of after another `PATIENCE_MS`."""
PATIENCE_MS = 900
PAGE = 10
"""Steps in one press of PageUp or PageDown."""


class Field(QWidget):
    """One control with the sentence beneath it that says what is wrong; `name` is what it is called aloud."""

    committed = Signal(object)
    """A value the person gave: entered, stepped, chosen, or typed and left at rest."""

    def __init__(self, name: str, control: QWidget, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._control = control
        self._hint = ""
        self._own_fault = self._given_fault = ""
        self._sentence = QLabel(wordWrap=True, textFormat=Qt.TextFormat.PlainText)
        self._sentence.setObjectName("fault")
        self._sentence.hide()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(2)
        layout.addWidget(control)
        layout.addWidget(self._sentence)
        self.setFocusProxy(control)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Maximum)
        self.set_name(name)

    def control(self) -> QWidget:
        """The widget that takes the focus."""
        return self._control

    def name(self) -> str:
        """What the field is called."""
        return self._control.accessibleName()

    def set_name(self, name: str) -> None:
        """Call the field by another name."""
        self._control.setAccessibleName(name)

    def set_hint(self, hint: str) -> None:
        """A sentence of help: the tool tip, and what is read out after the name."""
        self._hint = hint
        self._control.setToolTip(hint)
        self._speak()

    def value(self) -> Any:
        """The last good value."""
        raise NotImplementedError

    def set_value(self, value: Any) -> None:
        """Show a value from elsewhere; emits nothing."""
        raise NotImplementedError

    def fault(self) -> str:
        """The sentence shown, empty when all is well."""
        return self._own_fault or self._given_fault

    def set_fault(self, sentence: str) -> None:
        """Say what someone else found wrong with the value; empty takes it back."""
        if sentence != self._given_fault:
            self._given_fault = sentence
            self._speak()

    def _set_own_fault(self, sentence: str) -> None:
        if sentence != self._own_fault:
            self._own_fault = sentence
            self._speak()

    def _describe(self) -> str:
        return self._hint

    def _speak(self) -> None:
        fault = self.fault()
        self._sentence.setText(fault)
        self._sentence.setVisible(bool(fault))
        if self._control.property("faulty") != bool(fault):
            self._control.setProperty("faulty", bool(fault))
            style = self._control.style()
            style.unpolish(self._control)
            style.polish(self._control)
        self._control.setAccessibleDescription(" ".join(part for part in (fault, self._describe()) if part))


class _Editor(QLineEdit):
    """A line with a unit written at its right end, and the keys a value answers to."""

    stepped = Signal(int)
    restored = Signal()
    entered = Signal()
    left = Signal()

    def __init__(self, steps: bool) -> None:
        super().__init__()
        self._steps = steps
        self._suffix = QLabel(self)
        self._suffix.setObjectName("unit")
        self._suffix.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.restorable = False

    def set_suffix(self, text: str) -> None:
        self._suffix.setText(text)
        self._place_suffix()

    def _place_suffix(self) -> None:
        size = self._suffix.sizeHint() if self._suffix.text() else QSize(0, 0)
        margin = 8
        self._suffix.setGeometry(self.width() - size.width() - margin, 0, size.width(), self.height())
        self.setTextMargins(0, 0, size.width() + margin if size.width() else 0, 0)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._place_suffix()

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() in (QEvent.Type.FontChange, QEvent.Type.StyleChange):
            self._place_suffix()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        steps = {
            Qt.Key.Key_Up: 1,
            Qt.Key.Key_Down: -1,
            Qt.Key.Key_PageUp: PAGE,
            Qt.Key.Key_PageDown: -PAGE,
        }.get(Qt.Key(event.key()))
        if self._steps and steps is not None and not self.isReadOnly():
            self.stepped.emit(steps)
        elif event.key() == Qt.Key.Key_Escape and self.restorable:
            self.restored.emit()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.entered.emit()
        else:
            super().keyPressEvent(event)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        # a context menu borrows the focus; the person has not left
        if event.reason() != Qt.FocusReason.PopupFocusReason:
            self.left.emit()


class _TypedField(Field):
    """What all typed fields share: when text becomes a value, and how it goes back."""

    def __init__(self, name: str, *, optional: bool, steps: bool, parent: QWidget | None) -> None:
        self._editor = _Editor(steps)
        super().__init__(name, self._editor, parent)
        self._optional = optional
        self._value: Any = None
        self._before: Any = None
        self._editing = False
        self._rest = QTimer(self, singleShot=True, interval=PAUSE_MS)
        self._rest.timeout.connect(self._rested)
        self._patience = QTimer(self, singleShot=True, interval=PATIENCE_MS)
        self._patience.timeout.connect(self._finish)
        self._editor.textEdited.connect(self._typed)
        self._editor.entered.connect(self._enter)
        self._editor.left.connect(self._leave)
        self._editor.restored.connect(self._restore)
        self._editor.stepped.connect(self._step)

    def value(self) -> Any:
        return self._value

    def set_value(self, value: Any) -> None:
        # the same value coming back must not touch what is being typed
        if value != self._value:
            self._value = value
            self._display()

    def text(self) -> str:
        """What stands in the field."""
        return self._editor.text()

    def set_read_only(self, read_only: bool) -> None:
        """Show the value without letting it be typed over."""
        self._editor.setReadOnly(read_only)

    def _read(self, text: str) -> Any:
        """The value of `text`; raises ValueError with a sentence."""
        raise NotImplementedError

    def _write(self, value: Any) -> str:
        raise NotImplementedError

    def _next(self, value: Any, steps: int) -> Any:
        raise NotImplementedError

    def _display(self) -> None:
        self._rest.stop()
        self._patience.stop()
        self._editing = self._editor.restorable = False
        self._editor.setText("" if self._value is None else self._write(self._value))
        self._set_own_fault("")

    def _typed(self) -> None:
        if not self._editor.restorable:
            self._before = self._value
        self._editing = self._editor.restorable = True
        self._patience.stop()
        self._rest.start()

    def _reading(self) -> Any:
        text = self._editor.text().strip()
        if not text and self._optional:
            return None
        return self._read(text)

    def _rested(self) -> None:
        try:
            value = self._reading()
        except ValueError:
            self._patience.start()
        else:
            self._set_own_fault("")
            self._commit(value)

    def _finish(self) -> bool:
        self._rest.stop()
        self._patience.stop()
        try:
            value = self._reading()
        except ValueError as refusal:
            self._set_own_fault(str(refusal))
            return False
        self._set_own_fault("")
        self._commit(value)
        return True

    def _enter(self) -> None:
        if not self._editing or self._finish():
            self._display()
            self._editor.selectAll()

    def _leave(self) -> None:
        if not self._editing:
            self._editor.restorable = False
        elif self._finish():
            self._display()

    def _restore(self) -> None:
        before = self._before
        changed = before != self._value
        self._value = before
        self._display()
        self._editor.selectAll()
        if changed:
            self.committed.emit(before)

    def _step(self, steps: int) -> None:
        if self._editing and not self._finish():
            return
        before = self._before if self._editor.restorable else self._value
        value = self._next(self._value, steps)
        changed = value != self._value
        self._value = value
        self._display()
        self._before, self._editor.restorable = before, True
        if changed:
            self.committed.emit(value)

    def _commit(self, value: Any) -> None:
        if value != self._value:
            self._value = value
            self.committed.emit(value)


class QuantityEdit(_TypedField):
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
        """Show the value in the units of another system; what was half typed is dropped."""
        if system != self._system:
            self._system = system
            self._editor.set_suffix(unit_of(self._dimension, system).label)
            self._display()
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
            return f"Must lie between {low} and {high}"
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


class CountEdit(_TypedField):
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
        return f"Must lie between {self._lower} and {self._upper}"

    def _write(self, value: int) -> str:
        return str(value)

    def _next(self, value: int | None, steps: int) -> int:
        wanted = max((self._lower if value is None else value) + steps, self._lower)
        return wanted if self._upper is None else min(wanted, self._upper)

    def _describe(self) -> str:
        return f"{self._hint} {self._range()}.".strip()


class TextEdit(_TypedField):
    """One line of text; with `required` it may not be left empty."""

    def __init__(self, name: str, *, required: bool = False, longest: int = 200, parent: QWidget | None = None) -> None:
        super().__init__(name, optional=False, steps=False, parent=parent)
        self._required = required
        self._value = ""
        self._editor.setMaxLength(longest)

    def set_value(self, value: Any) -> None:
        super().set_value(value or "")

    def _read(self, text: str) -> str:
        if self._required and not text:
            raise ValueError(f"{self.name()} is needed.")
        return text

    def _write(self, value: str) -> str:
        return value


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
            self._box.setItemData(index, words, Qt.ItemDataRole.ToolTipRole)
        self.set_value(self._value if self._value in self._keys or not self._keys else self._keys[0])

    def value(self) -> Any:
        return self._value

    def set_value(self, value: Any) -> None:
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

    def set_value(self, value: Any) -> None:
        self._box.setChecked(bool(value))
