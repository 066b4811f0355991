"""The small fields on the plan in which a side is typed while it is drawn, or the length of one that is there."""

from __future__ import annotations

from PySide6.QtCore import QPoint, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent
from PySide6.QtWidgets import QApplication, QHBoxLayout, QLabel, QLineEdit, QVBoxLayout, QWidget

from workbench.gui.kit.guarded import Guarded


class _LineField(Guarded, QLineEdit):
    dismissed = Signal()
    left = Signal()
    emptied = Signal()
    taken = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.dismissed.emit()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            # a line passes Enter on to what it stands on, which would end the drawing with it
            self.taken.emit()
        elif event.key() == Qt.Key.Key_Backspace and not self.text():
            self.emptied.emit()
        else:
            super().keyPressEvent(event)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        if event.reason() not in (Qt.FocusReason.PopupFocusReason, Qt.FocusReason.ActiveWindowFocusReason):
            self.left.emit()


class PlanEntry(Guarded, QWidget):
    """A length to type, beside it a bearing while a side is drawn, and under them what is wrong with what was typed."""

    entered = Signal(str, str)
    """What stands in the two fields."""
    dismissed = Signal()
    emptied = Signal()
    """Backspace where nothing stands any more."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._sheet = parent
        self._line, self._bearing = _LineField(), _LineField()
        self._line.setAccessibleName("Length")
        self._bearing.setAccessibleName("Bearing, degrees clockwise from north")
        self._bearing.setToolTip("Bearing in degrees: 0 north, 90 east. Empty: as the pointer shows.")
        self._bearing.setFixedWidth(72)
        self._fault = QLabel(wordWrap=True, textFormat=Qt.TextFormat.PlainText)
        self._fault.setObjectName("fault")
        self._fault.setAutoFillBackground(True)
        self._fault.setContentsMargins(5, 2, 5, 3)
        self._fault.hide()
        fields = QHBoxLayout()
        fields.setSpacing(2)
        fields.addWidget(self._line, 1)
        fields.addWidget(self._bearing)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(1)
        layout.addLayout(fields)
        layout.addWidget(self._fault)
        for field in (self._line, self._bearing):
            field.taken.connect(lambda: self.entered.emit(self._line.text(), self._bearing.text()))
            field.dismissed.connect(self._let_go)
            field.left.connect(self._left)
            field.textEdited.connect(lambda: self.say(""))
        self._line.emptied.connect(self.emptied)
        self._bearing.emptied.connect(lambda: self._line.setFocus(Qt.FocusReason.BacktabFocusReason))
        self.hide()

    def open(self, at: QPoint, text: str, hint: str, *, name: str, chosen: bool, bearing: bool = False) -> None:
        """Stand beside a place and take the keys; `chosen` marks the text so that typing replaces it."""
        self._line.setAccessibleName(name)
        self._line.setPlaceholderText(hint)
        self._line.setText(text)
        self._bearing.clear()
        self._bearing.setPlaceholderText("bearing")
        self._bearing.setVisible(bearing)
        self.setFixedWidth(200 if bearing else 150)
        self.say("")
        self.move_to(at)
        self.show()
        self.raise_()
        self._line.setFocus(Qt.FocusReason.OtherFocusReason)
        if chosen:
            self._line.selectAll()

    def move_to(self, at: QPoint) -> None:
        """Stand beside a place, within the sheet."""
        room = self._sheet.rect()
        self.adjustSize()
        x = min(max(at.x(), 2), room.right() - self.width() - 2)
        y = min(max(at.y(), 2), room.bottom() - self.height() - 2)
        self.move(x, y)

    def follow(self, at: QPoint, length: str, bearing: str) -> None:
        """Go along with the pointer while nothing is typed, saying what a click would give."""
        if self.is_open() and not self._line.text():
            self._line.setPlaceholderText(length)
            self._bearing.setPlaceholderText(bearing)
            self.move_to(at)

    def line(self) -> QLineEdit:
        """Where a length is typed, or a length and a bearing."""
        return self._line

    def bearing(self) -> QLineEdit:
        """Where a bearing is typed."""
        return self._bearing

    def is_open(self) -> bool:
        """Whether it takes the keys."""
        return not self.isHidden()

    def say(self, sentence: str) -> None:
        """What is wrong with the text."""
        self._fault.setText(sentence)
        self._fault.setVisible(bool(sentence))
        self._line.setAccessibleDescription(sentence)
        self.adjustSize()

    def fault(self) -> str:
        """The sentence shown."""
        return self._fault.text()

    def close_up(self) -> None:
        """Go away; the keys go back to the plan."""
        if self.is_open():
            self.hide()
            self._sheet.setFocus(Qt.FocusReason.OtherFocusReason)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        # what the line has no use for is not meant for the plan
        event.accept()

    def _let_go(self) -> None:
        self.close_up()
        self.dismissed.emit()

    def _left(self) -> None:
        if self.is_open() and QApplication.focusWidget() not in (self._line, self._bearing):
            self.hide()
            self.dismissed.emit()
