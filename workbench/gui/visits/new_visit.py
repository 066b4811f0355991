"""The question for a new visit: its kind and its day. It stays open until the visit is taken."""

from __future__ import annotations

from datetime import date

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QVBoxLayout, QWidget

from workbench.design.visits import day_of
from workbench.gui.kit.fields import ChoiceEdit, TextEdit
from workbench.gui.kit.forms import add_row, form_grid
from workbench.gui.visits.entry_form import KINDS

_NO_DATE = "Write the date as year-month-day, 2026-11-30."


class NewVisit(QDialog):
    """Kind and day of a visit."""

    agreed = Signal(str, str)
    """Its kind and its day."""

    def __init__(self, first: bool, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle("New visit")
        self.kind = ChoiceEdit("Kind of visit", KINDS)
        self.kind.set_value("start-up" if first else "yearly check")
        self.date = TextEdit("Day of the visit", required=True)
        self.date.set_hint("Year-month-day, 2026-11-30.")
        self.date.set_value(date.today().isoformat())
        fields = QWidget()
        grid = form_grid(fields)
        add_row(grid, 0, self.kind)
        add_row(grid, 1, self.date)
        buttons = QDialogButtonBox(self)
        self.add = buttons.addButton("Add visit", QDialogButtonBox.ButtonRole.AcceptRole)
        self.cancel = buttons.addButton("Cancel", QDialogButtonBox.ButtonRole.RejectRole)
        self.add.setDefault(True)
        buttons.accepted.connect(self._agree)
        buttons.rejected.connect(self.reject)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 14, 16, 14)
        layout.setSpacing(10)
        layout.addWidget(fields)
        layout.addWidget(buttons)
        self.date.setFocus()

    def _agree(self) -> None:
        self.date.flush()
        day = day_of(self.date.text())
        self.refuse("" if day is not None else _NO_DATE)
        if day is not None:
            self.agreed.emit(self.kind.value(), day.isoformat())

    def refuse(self, words: str) -> None:
        """Say why there can be no such visit."""
        self.date.set_fault(words)
        self.adjustSize()
