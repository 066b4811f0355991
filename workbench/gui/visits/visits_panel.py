"""The visits of a job in the order of their days, and the fields of the one that is picked."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFileDialog, QHBoxLayout, QWidget

from workbench.design.design import Design
from workbench.design.faults import Fault
from workbench.design.record import Address
from workbench.design.visit_edit import add_visit, by_date, remove_visit, visit_name, with_visit
from workbench.design.visits import Visit
from workbench.design.wording import sentence
from workbench.files.visit_sheet import VisitSheetError, read_visit_sheet
from workbench.gui.kit.forms import GroupForm, column, heading, paragraph, small_button
from workbench.gui.kit.pick_rows import PickRows
from workbench.gui.kit.theme import Theme
from workbench.gui.visits.entry_form import EntryForm
from workbench.gui.visits.new_visit import NewVisit
from workbench.gui.visits.sheet_preview import SheetPreview
from workbench.gui.visits.visit_row import VisitRow
from workbench.solving.outcome import Outcome
from workbench.solving.run.prepare import Prepared
from workbench.units import SI, System

_WORKBOOKS = "Workbook of a visit (*.xlsx)"
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
        self._system: System = SI
        self._asking: NewVisit | SheetPreview | None = None
        self.rows = PickRows(VisitRow, "Visits in the order of their days")
        self.none = paragraph(_NONE)
        self.add_button = small_button("New visit…", "New visit: its kind and day")
        self.remove_button = small_button("Remove", "Remove the selected visit")
        self.read_button = small_button(
            "Read workbook…", "Read a visit from the workbook of a visit sheet or a start-up record"
        )
        self.unread = paragraph()
        self.unread.setObjectName("fault")
        self.unread.hide()
        self.form = EntryForm()
        self.add(self.form)
        layout = column(self)
        self.buttons = QHBoxLayout()
        for each in (self.add_button, self.read_button):
            self.buttons.addWidget(each)
        self.buttons.addStretch(1)
        self.title = heading("Selected visit")
        head = QHBoxLayout()
        head.addWidget(self.title, 1)
        head.addWidget(self.remove_button, 0, Qt.AlignmentFlag.AlignBottom)
        layout.addLayout(self.buttons)
        layout.addWidget(self.unread)
        layout.addWidget(self.rows)
        layout.addWidget(self.none)
        layout.addLayout(head)
        layout.addWidget(self.form)
        layout.addStretch(1)
        self.rows.picked.connect(self._pick)
        self.add_button.clicked.connect(self.ask_new)
        self.read_button.clicked.connect(self.ask_read)
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
        if len(design.visits) != many:
            self._say_unread("")
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
        for widget in (self.title, self.remove_button, self.form):
            widget.setVisible(there)
        if there:
            self.form.show_visit(design, self.at())

    def show_outcome(self, prepared: Prepared, outcome: Outcome) -> None:
        """Nothing here follows from an answer."""

    def set_stale(self, stale: bool) -> None:
        """Nothing here is an answer."""

    def set_system(self, system: System) -> None:
        """Show other units."""
        self._system = system
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

    def ask_read(self) -> None:
        """Ask for the workbook of a visit."""
        chosen, _ = QFileDialog.getOpenFileName(self, "Read the workbook of a visit", "", _WORKBOOKS)
        if chosen:
            self.read(Path(chosen))

    def read(self, path: Path) -> None:
        """Read the workbook of a visit, and show what was understood; what cannot be read is said with its cell."""
        if self._design is None:
            return
        try:
            visit = read_visit_sheet(path, self._design)
        except VisitSheetError as refusal:
            self._say_unread(f"{path.name} was not read.\n" + "\n".join(refusal.said))
            return
        self._say_unread("")
        asking = SheetPreview(visit, path.name, self._system, self)
        self._asking = asking
        asking.agreed.connect(self._take)
        asking.finished.connect(self._asked)
        asking.open()

    def _say_unread(self, words: str) -> None:
        self.unread.setText(words)
        self.unread.setVisible(bool(words))

    def _take(self, visit: Visit) -> None:
        self.propose(lambda design: with_visit(design, visit), f"Read {visit_name(visit)} from a workbook")

    def remove(self) -> None:
        """Take the picked visit away."""
        visit, at = self.visit(), self.at()
        if visit is not None:
            self.propose(lambda design: remove_visit(design, at), f"Remove {visit_name(visit)}")
