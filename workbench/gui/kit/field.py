"""What every field shares: its sentence of fault, and when typed text becomes a value."""

from __future__ import annotations

from collections.abc import Container, Hashable
from typing import Any, NamedTuple

from PySide6.QtCore import QEvent, QKeyCombination, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QLabel, QLineEdit, QSizePolicy, QVBoxLayout, QWidget

from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.keeper import Keeper

PAUSE_MS = 450
"""Text that reads well is taken after this rest; text that does not is only spoken of after another `PATIENCE_MS`."""
PATIENCE_MS = 900
PAGE = 10
"""Steps in one press of PageUp or PageDown."""


# the same on every desktop, so that a field knows which to leave to the design (`gui/shell/keys.py` tells them)
_CONTROL, _SHIFT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier
_UNDO = QKeyCombination(_CONTROL, Qt.Key.Key_Z)
_REDO = (QKeyCombination(_CONTROL, Qt.Key.Key_Y), QKeyCombination(_CONTROL | _SHIFT, Qt.Key.Key_Z))


class _Draft(NamedTuple):
    """What was typed for a place and not taken, while the field stands at another."""

    value: Any
    text: str
    accepted: Any
    own_fault: str
    given_fault: str
    unanswered: bool


class Field(QWidget, Keeper):
    """One control with the sentence beneath it that says what is wrong; `name` is what it is called aloud.

    A value that was given by hand and refused stays, with its sentence, until it is mended, taken after all or
    reverted: what other edits bring meanwhile waits behind it.
    """

    committed = Signal(object)
    """A value the person gave: entered, stepped, chosen, or typed and left at rest."""

    def __init__(self, name: str, control: QWidget, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._control = control
        self._hint = ""
        self._own_fault = self._given_fault = ""
        self._accepted: Any = None
        self._awaited = self._refused = False
        self._by_hand = self._unanswered = False
        self._place: Hashable = None
        self._drafts: dict[Hashable, _Draft] = {}
        self.committed.connect(self._given)
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
        """Show a value from elsewhere; emits nothing. Behind what was refused it waits."""
        draft = self._drafts.pop(self._place, None)
        if draft is not None and draft.accepted == value:
            self._accepted = value
            self._take_up(draft)
        elif value == self.value():
            self._accepted = value
            if self._awaited or self._refused:
                self._settle()
        else:
            self._accepted = value
            self._by_hand = False
            if self._refused or self._own_fault:
                self._keep_behind(value)
            else:
                self._awaited = False
                self._put(value)

    def _put(self, value: Any) -> None:
        """Hold a value and show it."""
        raise NotImplementedError

    def _keep_behind(self, value: Any) -> None:
        """Have a value wait behind what is shown and was not taken."""

    def text(self) -> str:
        """What can be read in the field."""
        return ""

    def refused(self) -> bool:
        """Whether the value shown was given by hand and is not that of the design."""
        return self._refused

    def goes_along(self) -> bool:
        """Whether it was refused for what stands beside it, and may be taken with that."""
        return self._refused and not self._unanswered

    def hold_back(self, places: Container[Hashable], sentence: str) -> None:
        """Keep what was given by hand at one of some places, since taken and found to have no answer."""
        if self._by_hand and self._place in places:
            self._refused = self._unanswered = True
            self.set_fault(sentence)

    def stand_at(self, place: Hashable) -> None:
        """Edit the value of another place; what was refused for the one left waits there."""
        if place == self._place:
            return
        if (self._refused or self._own_fault) and self._place is not None:
            self._drafts[self._place] = _Draft(
                self.value(),
                self.text(),
                self._accepted,
                self._own_fault,
                self._given_fault if self._refused else "",
                self._unanswered,
            )
        self._place = place
        self._let_go()

    def forget(self) -> None:
        """Drop what was refused, here and at other places: another design is open."""
        self._drafts.clear()
        self._let_go()

    def _let_go(self) -> None:
        stuck = self._refused or bool(self._own_fault)
        self._settle()
        if stuck:
            self._own_fault = ""
            self._put(self._accepted)
            self._speak()

    def _settle(self) -> None:
        """What is shown is the design's."""
        self._awaited = self._refused = self._unanswered = False
        self.set_fault("")

    def _take_up(self, draft: _Draft) -> None:
        self._put(draft.value)
        self._refused, self._unanswered = bool(draft.given_fault), draft.unanswered
        self._own_fault, self._given_fault = draft.own_fault, draft.given_fault
        self._speak()

    def _given(self, value: Any) -> None:
        self._by_hand, self._refused, self._unanswered = True, False, False
        self._awaited = value != self._accepted
        if not self._awaited:
            self.set_fault("")

    def fault(self) -> str:
        """The sentence shown, empty when all is well."""
        return self._own_fault or self._given_fault

    def set_fault(self, sentence: str) -> None:
        """Say what someone else found wrong with the value; empty takes it back, unless what is shown was refused."""
        if not sentence and self._refused:
            return
        if sentence and self._awaited:
            self._awaited, self._refused = False, True
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


class Editor(Guarded, QLineEdit):
    """A line with a unit written at its right end, and the keys a value answers to."""

    stepped = Signal(int)
    restored = Signal()
    entered = Signal()
    left = Signal()

    def __init__(self, steps: bool) -> None:
        super().__init__()
        self._steps = steps
        self.half_typed = self.refused = False
        self._suffix = QLabel(self, textFormat=Qt.TextFormat.PlainText)
        self._suffix.setObjectName("unit")
        self._suffix.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.restorable = False
        self._misplaced = False

    def set_suffix(self, text: str) -> None:
        self._suffix.setText(text)
        self._place_suffix()

    def _place_suffix(self) -> None:
        self._misplaced = False
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
            # another theme tells each field some forty times, most of them on pages out of sight
            if self.isVisible():
                self._place_suffix()
            else:
                self._misplaced = True

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        if self._misplaced:
            self._place_suffix()

    def event(self, event: QEvent) -> bool:
        """Leave undo and redo to the design, but for text that is not a value yet, and for a value it refused."""
        if event.type() == QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent) and of_history(event):
            event.setAccepted(self.half_typed or self.refused)
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if of_history(event) and not self.half_typed:
            if self.refused and event.keyCombination() == _UNDO:
                self.restored.emit()
            else:
                event.ignore()
            return
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


def of_history(event: QKeyEvent) -> bool:
    """Whether a key is one of undo and redo."""
    return event.keyCombination() in (_UNDO, *_REDO)


class TypedField(Field):
    """What all typed fields share: when text becomes a value, and how it goes back."""

    def __init__(self, name: str, *, optional: bool, steps: bool, parent: QWidget | None) -> None:
        self._editor = Editor(steps)
        super().__init__(name, self._editor, parent)
        self._optional = optional
        self._value: Any = None
        self._before: Any = None
        self._shown = ""
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

    def _put(self, value: Any) -> None:
        self._value = value
        self._display()

    def _keep_behind(self, value: Any) -> None:
        if not self._refused:
            self._value = self._before = value

    def text(self) -> str:
        return self._editor.text()

    def _take_up(self, draft: _Draft) -> None:
        super()._take_up(draft)
        self._value = draft.value
        self._editor.setText(draft.text)
        self._editing = bool(draft.own_fault)
        self._editor.half_typed = self._editing
        self._before = draft.accepted
        self._editor.restorable = True

    def _speak(self) -> None:
        super()._speak()
        self._editor.refused = self._refused

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
        self._editing = self._editor.half_typed = False
        # what was refused can be reverted for as long as it is shown
        self._editor.restorable = self._refused
        self._editor.setText("" if self._value is None else self._write(self._value))
        self._shown = self._editor.text()
        self._set_own_fault("")

    def _typed(self) -> None:
        if not self._editor.restorable:
            self._before = self._value
        self._editing = self._editor.restorable = self._editor.half_typed = True
        self._patience.stop()
        self._rest.start()

    def _reading(self) -> Any:
        if self._editor.text() == self._shown:
            # what is shown is the value, rounded or cut as it may be, and is never refused
            return self._value
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

    def flush(self) -> None:
        """Take now what was typed and waits for the hand to pause."""
        if self._rest.isActive():
            self._rest.stop()
            self._rested()

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
            self._editor.restorable = self._refused
        elif self._finish():
            self._display()

    def _restore(self) -> None:
        before = self._accepted if self._refused else self._before
        changed = before != self._value
        self._settle()
        self._put(before)
        self._editor.selectAll()
        if changed:
            self.committed.emit(before)

    def _step(self, steps: int) -> None:
        if self._editing and not self._finish():
            return
        before = self._before if self._editor.restorable else self._value
        value = self._next(self._value, steps)
        changed = value != self._value
        self._put(value)
        self._before, self._editor.restorable = before, True
        if changed:
            self.committed.emit(value)

    def _commit(self, value: Any) -> None:
        self._editor.half_typed = False
        if value != self._value:
            self._value = value
            self.committed.emit(value)
