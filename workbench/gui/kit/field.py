"""What every field shares: its sentence of fault, and when typed text becomes a value."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import QEvent, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QLabel, QLineEdit, QSizePolicy, QVBoxLayout, QWidget

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


class Editor(QLineEdit):
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


class TypedField(Field):
    """What all typed fields share: when text becomes a value, and how it goes back."""

    def __init__(self, name: str, *, optional: bool, steps: bool, parent: QWidget | None) -> None:
        self._editor = Editor(steps)
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
        if self._value is not None and text == self._write(self._value):
            # what is shown may be rounded: typed again it is no new value
            return self._value
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
