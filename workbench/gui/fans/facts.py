"""What a fan's data sheet says beside its curve, as fields."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import QEvent, QSize, Qt, QTimer
from PySide6.QtGui import QFocusEvent, QKeyEvent
from PySide6.QtWidgets import QGridLayout, QLabel, QLineEdit, QPlainTextEdit, QSizePolicy, QVBoxLayout, QWidget

from workbench.design.catalogue import cautions
from workbench.design.fan import FanRecord
from workbench.design.record import field_facts, with_value
from workbench.gui.fans.draft import fan_change
from workbench.gui.kit.field import PAUSE_MS, Field, of_history
from workbench.gui.kit.fields import SwitchEdit
from workbench.gui.kit.forms import Form, field_for, quiet
from workbench.gui.kit.guarded import Guarded
from workbench.units import SI

_CONTROLS = [("none", "Single speed"), ("phase-cut", "Phase-cut (triac)"), ("ec", "Electronic (EC)")]
_BASES = [("static", "Static"), ("total", "Total")]
_SHORT = {
    "constant_power": "Constant power",
    "power_exponent": "Power-speed exponent",
    "sound_distance": "Sound measured at",
    "outlet_diameter": "Fan outlet diameter",
}
_ASKED = {
    "price": "Enter the price: without it, installed and life-cycle cost leave the fan out.",
    "constant_power": "Enter the constant power of the electronics: without it, power at low speed is too low.",
}
_MOST_NOTE = 400


class _Paper(Guarded, QPlainTextEdit):
    """A few lines of text; Tab leaves it."""

    def __init__(self) -> None:
        super().__init__()
        self.half_typed = False
        self.setTabChangesFocus(True)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAsNeeded)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def event(self, event: QEvent) -> bool:
        """Leave undo and redo to the design once the text is its own."""
        if event.type() == QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent) and of_history(event):
            event.setAccepted(self.half_typed)
            return True
        return super().event(event)

    def sizeHint(self) -> QSize:
        return QSize(240, self.fontMetrics().lineSpacing() * 3 + 16)

    def minimumSizeHint(self) -> QSize:
        return QSize(80, self.sizeHint().height())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if of_history(event) and not self.half_typed:
            event.ignore()
            return
        # a note is one line however it is folded
        if event.key() not in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            super().keyPressEvent(event)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.textChanged.emit()


class NoteEdit(Field):
    """A line of text too long for one row."""

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        self._paper = _Paper()
        super().__init__(name, self._paper, parent)
        self._value = ""
        self._rest = QTimer(self, singleShot=True, interval=PAUSE_MS)
        self._rest.timeout.connect(self._take)
        self._paper.textChanged.connect(self._changed)

    def value(self) -> str:
        return self._value

    def set_value(self, value: Any) -> None:
        super().set_value("" if value is None else value)

    def text(self) -> str:
        return self._read()

    def _put(self, value: str) -> None:
        self._value = value
        if self._read() != value:
            self._paper.setPlainText(value)
        self._set_own_fault("")

    def _read(self) -> str:
        return " ".join(self._paper.toPlainText().split())

    def _changed(self) -> None:
        self._paper.half_typed = self._read() != self._value
        if self._read() == self._value:
            self._rest.stop()
        elif self._paper.hasFocus():
            self._rest.start()
        else:
            self._take()

    def _take(self) -> None:
        text = self._read()
        long = len(text) > _MOST_NOTE
        self._set_own_fault(f"A note has at most {_MOST_NOTE} letters; this has {len(text)}." if long else "")
        if not long and text != self._value:
            self._value = text
            self._paper.half_typed = False
            self.committed.emit(text)


_PLACES: tuple[tuple[str, int, int, int], ...] = (
    ("name", 0, 0, 2), ("price", 0, 2, 1), ("invented", 0, 3, 1),
    ("note", 1, 0, 4),
    ("basis", 2, 0, 1), ("outlet_diameter", 2, 1, 1), ("rated_density", 2, 2, 1), ("sound_dBA", 2, 3, 1),
    ("control", 3, 0, 1), ("least_speed", 3, 1, 1),
    ("constant_power", 3, 2, 1), ("power_exponent", 3, 2, 1), ("sound_distance", 3, 3, 1),
)  # fmt: skip
"""Row, first column and breadth of each fact, of four columns."""


class FanFacts(Form):
    """The facts of one fan; a field that does not apply to its motor is not there."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._fan: FanRecord | None = None
        self._by_name: dict[str, Field] = {}
        self._cells: dict[str, QWidget] = {}
        self._narrow: bool | None = None
        grid = self._grid = QGridLayout()
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(12)
        grid.setVerticalSpacing(6)
        for name, *_ in _PLACES:
            field = self._by_name[name] = self._made(name)
            self._cells[name] = _cell(field, _SHORT.get(name, field_facts(FanRecord, name).title))
            field.committed.connect(lambda value, name=name: self._committed(name, value))
            # refused records name their own fields
            self._fields[(name,)] = field
        self.set_narrow(False)
        name_line = self._by_name["name"].control()
        assert isinstance(name_line, QLineEdit)
        self._name_line = name_line
        phase_cut = cautions()["phase-cut"]
        self.caution = QLabel(phase_cut.text, wordWrap=True, textFormat=Qt.TextFormat.PlainText)
        self.caution.setObjectName("caution")
        self.caution.setToolTip(phase_cut.more)
        self.asked = quiet()
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.setSpacing(8)
        whole.addLayout(grid)
        whole.addWidget(self.asked)
        whole.addWidget(self.caution)
        self.show_fan(None)

    def set_narrow(self, narrow: bool) -> None:
        """Stand in two columns, or in four."""
        if narrow == self._narrow:
            return
        self._narrow = narrow
        self._grid.setHorizontalSpacing(8 if narrow else 12)
        for name, row, column, span in _PLACES:
            if narrow:
                row, column, span = 2 * row + column // 2, column % 2, min(span, 2)
            self._grid.removeWidget(self._cells[name])
            self._grid.addWidget(self._cells[name], row, column, 1, span, Qt.AlignmentFlag.AlignTop)
        for column in range(4):
            self._grid.setColumnStretch(column, 0 if narrow and column > 1 else 1)

    def _made(self, name: str) -> Field:
        if name == "note":
            return NoteEdit("Note")
        if name == "invented":
            switch = SwitchEdit("Made-up data")
            switch.set_hint("The curve is made up, not a manufacturer's data. All printouts say so.")
            return switch
        choices = {"control": _CONTROLS, "basis": _BASES}.get(name)
        field = field_for(FanRecord, name, SI, choices)
        field.setMinimumWidth(0)
        return field

    def field(self, name: str) -> Field:
        """The field of a fact."""
        return self._by_name[name]

    def show_fan(self, fan: FanRecord | None) -> None:
        """Show a fan's facts; what is unchanged is left as it was typed."""
        other = fan is None or self._fan is None or fan.name != self._fan.name
        self._fan = fan
        self.setEnabled(fan is not None)
        if fan is None:
            # two facts share a place, of which a motor has at most one
            self._cells["power_exponent"].hide()
            self.caution.hide()
            self.asked.hide()
            return
        for name, field in self._by_name.items():
            value = getattr(fan, name)
            if other:
                field.stand_at((fan.name, name))
            if other or field.value() != value:
                field.set_value(value)
                field.set_fault("")
        if other:
            self._name_line.setCursorPosition(0)
        self._cells["least_speed"].setVisible(fan.control != "none")
        self._cells["constant_power"].setVisible(fan.control == "ec")
        self._cells["power_exponent"].setVisible(fan.control == "phase-cut")
        self._cells["sound_distance"].setVisible(fan.sound_dBA is not None)
        self.caution.setVisible(fan.control == "phase-cut")
        words = " ".join(_ASKED[name] for name in fan.unknown())
        self.asked.setText(words)
        self.asked.setVisible(bool(words))

    def edit_name(self) -> None:
        """Go to the name, ready to type another."""
        self._name_line.setFocus(Qt.FocusReason.ShortcutFocusReason)
        self._name_line.selectAll()

    def _committed(self, name: str, value: Any) -> None:
        if self._fan is None:
            return
        said = _SHORT.get(name, field_facts(FanRecord, name).title).lower()
        words = f"Rename {self._fan.name}" if name == "name" else f"Change {said} of {self._fan.name}"
        change = fan_change(self._fan.name, lambda fan: with_value(fan, (name,), value))
        self.propose(change, words, self._by_name[name])


def _cell(field: Field, title: str) -> QWidget:
    cell = QWidget()
    column = QVBoxLayout(cell)
    column.setContentsMargins(0, 0, 0, 0)
    column.setSpacing(1)
    label = QLabel("" if isinstance(field, SwitchEdit) else title, wordWrap=True, textFormat=Qt.TextFormat.PlainText)
    label.setBuddy(field)
    label.setToolTip(field.control().toolTip())
    column.addWidget(label)
    column.addWidget(field)
    return cell
