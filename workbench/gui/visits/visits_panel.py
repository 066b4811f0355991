"""The visits of a job in the order of their days, and the fields of the one that is picked."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QWidget

from workbench.design.design import Design
from workbench.design.faults import Fault
from workbench.design.record import Address
from workbench.design.visit_edit import add_visit, by_date, remove_visit, visit_name
from workbench.design.visits import Visit
from workbench.design.wording import sentence
from workbench.gui.kit.forms import GroupForm, column, paragraph, small_button
from workbench.gui.kit.pick_rows import PickRows
from workbench.gui.kit.theme import Theme
from workbench.gui.visits.entry_form import EntryForm
from workbench.gui.visits.new_visit import NewVisit
from workbench.gui.visits.visit_row import VisitRow
from workbench.solving.outcome import Outcome
from workbench.solving.run.prepare import Prepared
from workbench.units import System

_NONE = (
    "No visit yet. Enter the start-up as it was left: gauge, watts and the test holes. Later readings are held against "
    "it, and what may have changed is ranked."
)


class VisitsPanel(GroupForm):
    """The list of visits over the form of one."""

    picked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._design: Design | None = None
        self._order: tuple[int, ...] = ()
        self._count = 0
        self._asking: NewVisit | None = None
        self.rows = PickRows(VisitRow, "Visits in the order of their days")
        self.none = paragraph(_NONE)
        self.add_button = small_button("New visit…", "New visit: its kind and day")
        self.remove_button = small_button("Remove", "Remove the selected visit")
        self.form = EntryForm()
        self.add(self.form)
        layout = column(self)
        self.buttons = QHBoxLayout()
        for button in (self.add_button, self.remove_button):
            self.buttons.addWidget(button)
        self.buttons.addStretch(1)
        layout.addLayout(self.buttons)
        layout.addWidget(self.rows)
        layout.addWidget(self.none)
        layout.addWidget(self.form)
        layout.addStretch(1)
        self.rows.picked.connect(self._pick)
        self.add_button.clicked.connect(self.ask_new)
        self.remove_button.clicked.connect(self.remove)

    def at(self) -> int:
        """Position in the design of the visit that is picked, -1 for none."""
        return self._order[self.rows.at()] if 0 <= self.rows.at() < len(self._order) else -1

    def visit(self) -> Visit | None:
        """The visit that is picked."""
        return self._design.visits[self.at()] if self._design is not None and self.at() >= 0 else None

    # --- the protocol of views ----------------------------------------------------------------------------------

    def show_design(self, design: Design) -> None:
        """Show the visits of a design; one that was added is picked, else the one that was, or the last."""
        before, many = self.at(), self._count
        added = self._design is not None and len(design.visits) == many + 1
        self._design, self._count = design, len(design.visits)
        self._order = by_date(design)
        wanted = self._count - 1 if added else before
        self.rows.set_count(self._count)
        self.rows.pick(self._order.index(wanted) if wanted in self._order else self._count - 1)
        if added and self._asking is not None:
            self._asking.accept()
        self._show()

    def _show(self) -> None:
        design = self._design
        if design is None:
            return
        for row, at in zip(self.rows.rows, self._order, strict=True):
            assert isinstance(row, VisitRow)
            row.show_visit(design.visits[at])
        there = self.at() >= 0
        self.rows.setVisible(bool(design.visits))
        self.none.setVisible(not design.visits)
        self.remove_button.setVisible(there)
        self.form.setVisible(there)
        if there:
            self.form.show_visit(design, self.at())

    def show_outcome(self, prepared: Prepared, outcome: Outcome) -> None:
        """Nothing here follows from an answer."""

    def set_stale(self, stale: bool) -> None:
        """Nothing here is an answer."""

    def set_system(self, system: System) -> None:
        """Show other units."""
        super().set_system(system)
        self.rows.set_system(system)
        self._show()

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self.rows.apply_theme(theme)

    def show_faults(self, faults: Sequence[Fault]) -> list[Fault]:
        """Put each sentence beside its field; while a new visit is asked for, beside its day."""
        if faults and self._asking is not None and self.last_field() is None:
            self._asking.refuse(" ".join(sentence(fault.text) for fault in faults))
            return []
        return super().show_faults(faults)

    def pick(self, address: Address) -> QWidget | None:
        """Pick the visit at an address; gives the field of what stands there."""
        if len(address) > 1 and address[1] in self._order:
            self.rows.pick(self._order.index(int(address[1])))
            self._pick(self.rows.at())
        return self.form.fields().get(address)

    # --- doing --------------------------------------------------------------------------------------------------

    def _pick(self, _at: int) -> None:
        self._show()
        self.picked.emit()

    def ask_new(self) -> None:
        """Ask for kind and day of a new visit."""
        asking = NewVisit(not self._count, self)
        self._asking = asking
        asking.agreed.connect(self._add)
        asking.finished.connect(self._asked)
        asking.open()

    def _asked(self, _result: int) -> None:
        self._asking = None
        self.add_button.setFocus(Qt.FocusReason.OtherFocusReason)

    def _add(self, kind: str, day: str) -> None:
        words = f"Add {kind} of {day}"
        self.propose(lambda design: add_visit(design, kind, day), words)  # type: ignore[arg-type]

    def remove(self) -> None:
        """Take the picked visit away."""
        visit, at = self.visit(), self.at()
        if visit is not None:
            self.propose(lambda design: remove_visit(design, at), f"Remove {visit_name(visit)}")
