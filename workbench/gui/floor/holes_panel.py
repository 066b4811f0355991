"""Test holes: what was read and what is expected at each, in one table, and whether the readings fit the floor."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Sequence

from PySide6.QtCore import QModelIndex, QPoint, QRect, Qt, QTimer, Signal
from PySide6.QtWidgets import QAbstractItemView, QHBoxLayout, QWidget

from workbench.design.design import Design
from workbench.design.faults import Fault
from workbench.design.record import Address
from workbench.design.wording import sentence
from workbench.gui.floor.holes_draft import COLUMNS
from workbench.gui.floor.holes_model import HolesModel
from workbench.gui.floor.holes_rows import Line
from workbench.gui.floor.holes_table import HolesView
from workbench.gui.floor.reading_form import ReadingForm
from workbench.gui.kit.debounce import OnceAtRest
from workbench.gui.kit.forms import column, heading, paragraph, small_button
from workbench.gui.kit.keeper import Keeper
from workbench.gui.kit.readings import minus_switch
from workbench.gui.kit.theme import LIGHT, Theme
from workbench.solving.outcome import Outcome
from workbench.solving.run.misfits import few_readings, fit_of, misfits, remarks, scalings
from workbench.solving.run.prepare import Prepared
from workbench.units import SI, System, format_number, format_quantity

_ANY_UNIT = "Any unit: 5 Pa, 0.02 in. w.c."
SIGNS = f"Enter suction (below room pressure) as positive, pressure above the room as negative. {_ANY_UNIT}"
MINUS_SIGNS = (
    "Enter suction (below room pressure) as negative, pressure above the room as positive. The plan, the verdict and "
    f"the charts name suction and show it as positive. {_ANY_UNIT}"
)


class HolesPanel(QWidget, Keeper):
    """The table of holes, what the picked one has to say, and how its picked reading was made."""

    proposed = Signal(object, str)
    picked = Signal(object)
    minus_chosen = Signal(object)
    """Whether readings are to be shown and typed with minus for suction."""
    moved = Signal()
    """The hand is in another cell of the table."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._system: System = SI
        self._theme = LIGHT
        self._design: Design | None = None
        self._answer: tuple[Prepared, Outcome] | None = None
        self._fitted: Prepared | None = None
        self._hole: int | None = None
        self._fresh = True
        self.model = HolesModel(self)
        self.table = HolesView(self)
        self.table.take_model(self.model)
        self.how = ReadingForm()
        self.signs = paragraph(SIGNS)
        self.minus = minus_switch()
        self.fault = paragraph()
        self.fault.setObjectName("fault")
        self.fault.hide()
        self.add_hole_button = small_button("Add hole", "Type a new hole in the last row")
        self.add_reading_button = small_button("Add reading", "Add a reading for the selected hole")
        self.remove_button = small_button("Remove", "Remove the selected rows (Ctrl+Delete)")
        self.paste_button = small_button("Paste", "Paste from the selected cell on (Ctrl+V)")
        self.story = paragraph()
        self.story.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.factors = paragraph()
        self.factors.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self._compose()
        self._rest = OnceAtRest(self._come_to_rest, self)
        self.model.proposed.connect(self.proposed)
        self.how.proposed.connect(self.proposed)
        self.model.faulted.connect(self._show_cell_faults)
        self.model.begun.connect(self._begin_reading)
        self.table.left.connect(self._sort_again)
        self.table.refused.connect(self._refuse)
        self.table.selectionModel().currentChanged.connect(self._line_picked)
        self.add_hole_button.clicked.connect(self._start_hole)
        self.add_reading_button.clicked.connect(self._start_reading)
        self.remove_button.clicked.connect(self.table.remove_rows)
        self.paste_button.clicked.connect(self.table.paste)
        self.minus.committed.connect(self.minus_chosen)

    def _compose(self) -> None:
        layout = column(self)
        row = QHBoxLayout()
        row.setSpacing(6)
        for button in (self.add_hole_button, self.add_reading_button, self.remove_button):
            row.addWidget(button)
        row.addStretch(1)
        row.addWidget(self.paste_button)
        layout.addLayout(row)
        layout.addWidget(self.signs)
        layout.addWidget(self.minus)
        layout.addWidget(self.table)
        layout.addWidget(self.fault)
        layout.addWidget(self.story)
        layout.addWidget(self.how)
        self._factors_title = heading("Slab and fill, fitted to the readings")
        layout.addWidget(self._factors_title)
        layout.addWidget(self.factors)
        layout.addStretch(1)

    # --- the protocol of views ------------------------------------------------------------------------------------

    def show_design(self, design: Design) -> None:
        """Show the holes of a design; what is half typed stays."""
        known, self._design = self._design, design
        if known is not None and (design.holes, design.intake) == (known.holes, known.intake) and not self._waiting():
            return
        before, hole = self.table.line(), self._hole
        column = self.table.currentIndex().column()
        names = {present.name for present in design.holes}
        if known is None or not names & {present.name for present in known.holes}:
            # another floor: its weakest hole is what is looked at first
            self._fresh, hole = True, None
        self.model.show_design(design)
        self._hole = hole if hole is not None and hole < len(design.holes) else None
        self.model.set_picked(self._hole)
        if before is not None and not self.table.currentIndex().isValid():
            self._return_to(before, column)
        self._refuse("")
        self._show_how()

    def _show_how(self) -> None:
        line = self.table.line()
        read = line if line is not None and line.kind == "reading" else None
        self.how.show_reading(self._design, None if read is None else read.hole, 0 if read is None else read.reading)

    def _waiting(self) -> bool:
        return bool(self.fault.text())

    def _return_to(self, before: Line, column: int) -> None:
        """The row where the hand was, whatever has become of the rows around it."""
        holes = self._design.holes if self._design is not None else ()
        found = next((h for h, hole in enumerate(holes) if hole.name == before.name), None)
        if before.name and found is None:
            # a renamed hole is where it was
            found = before.hole if before.hole is not None and before.hole < len(holes) else None
        row = self.model.row_of(found, before.reading if before.kind == "reading" else None)
        self.table.go_to(row, column)

    def show_outcome(self, prepared: Prepared, outcome: Outcome) -> None:
        """Write what the holes keep; the picked hole's story follows when the hand rests."""
        self._answer = (prepared, outcome)
        if prepared is not self._fitted:
            self._fitted = prepared
            self._tell_factors(prepared)
        fits = [fit_of(prepared, h) for h in range(len(prepared.design.holes))]
        errors = [math.nan if fit is None else fit.misfit for fit in fits]
        self.model.set_stale(False)
        self.model.show_kept(outcome.holding, errors, prepared.design.target.suction)
        if self._fresh and outcome.holding is not None:
            self._show_weakest()
        self._rest.touch()

    def _show_weakest(self) -> None:
        """The first look at a floor: its weakest hole opened and marked; nothing is picked on the plan."""
        self._fresh = False
        if self.table.busy():
            return
        self.model.sort_again()
        first = next((line for line in self.model.lines() if line.hole is not None), None)
        if first is not None:
            self.model.open_hole(first.name)
            self._hole = first.hole
            self.model.set_picked(first.hole)

    def _sort_again(self) -> None:
        """Sort the rows once no hand is in them."""
        if not self.table.busy():
            self.model.sort_again()

    def _come_to_rest(self) -> None:
        self._sort_again()
        self._tell()

    def set_system(self, system: System) -> None:
        """Show other units."""
        self._system = system
        self.model.set_system(system)
        self.how.set_system(system)
        self.minus.set_value(system.minus_is_suction)
        self.signs.setText(MINUS_SIGNS if system.minus_is_suction else SIGNS)
        self._tell()

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self._theme = theme
        self.model.apply_theme(theme)

    def set_stale(self, stale: bool) -> None:
        """Grey the answers of an earlier design."""
        self.model.set_stale(stale)
        self.story.setEnabled(not stale)

    def show_faults(self, faults: Sequence[Fault]) -> list[Fault]:
        """Put sentences into the cells; what belongs to none stands under the table."""
        left = self.model.show_faults(self.how.take_faults(faults))
        self.model.set_stale(bool(faults))
        if left or not faults:
            self._refuse(" ".join(sentence(fault.text) for fault in left))
        return []

    def hold_back(self, places: Collection[Address], sentence: str) -> None:
        """Keep what was typed into cells and found to have no answer."""
        self.model.hold_back(places, sentence)

    def forget(self) -> None:
        """Drop what was not taken: another design is open."""
        self.model.forget()

    def pick(self, address: Address | None) -> None:
        """Bring a hole or one of its readings into sight; emits nothing."""
        if address is None or address[:1] != ("holes",) or len(address) < 2:
            return
        hole, reading = int(address[1]), int(address[3]) if len(address) > 3 else None
        if self._design is None or hole >= len(self._design.holes):
            return
        self._hole = hole
        self.model.set_picked(hole)
        self.model.open_hole(self._design.holes[hole].name)
        at = max(self.table.currentIndex().column(), 0)
        self.table.go_to(self.model.row_of(hole, reading), at)
        self._tell()

    # --- doing ----------------------------------------------------------------------------------------------------

    def hole(self) -> int | None:
        """Position of the picked hole."""
        return self._hole

    def _line_picked(self, index: QModelIndex, _previous: QModelIndex) -> None:
        if index.isValid():
            line = self.model.lines()[index.row()]
            self.add_reading_button.setEnabled(line.hole is not None)
            if line.hole is not None and line.hole != self._hole:
                self._choose(line.hole)
            # rows may still have to find their places
            QTimer.singleShot(0, self, self.moved.emit)
        self._show_how()

    def cell(self) -> QRect:
        """Where the current cell of the table lies on the panel."""
        box = self.table.visualRect(self.table.currentIndex())
        return box.translated(self.table.viewport().mapTo(self, QPoint(0, 0)))

    def _choose(self, hole: int) -> None:
        self._hole = hole
        self.model.set_picked(hole)
        self._tell()
        self.picked.emit(("holes", hole))

    def _start_hole(self) -> None:
        self.table.setFocus()
        self.model.open_hole("")
        self.table.go_to(self.model.row_of(None), 0)
        if self.table.state() != QAbstractItemView.State.EditingState:
            self.table.edit(self.table.currentIndex())

    def _start_reading(self) -> None:
        line = self.table.line()
        hole = line.hole if line is not None else self._hole
        if self._design is None or hole is None:
            return
        self.model.open_reading(self._design.holes[hole].name)
        self.table.setFocus()
        self._begin_reading(hole)

    def _begin_reading(self, hole: int) -> None:
        """Go to the row under a hole that waits for its next reading."""
        if self._design is not None:
            count = len(self._design.holes[hole].readings)
            self.table.begin(self.model.row_of(hole, count))

    def _faults_told(self) -> str:
        titles = {column.key: column.title for column in COLUMNS}
        return " ".join(
            f"{name or 'New hole'}, {titles[key].lower()}: {said}" for name, key, said in self.model.faults()
        )

    def _show_cell_faults(self) -> None:
        self._refuse(self._faults_told())

    def _refuse(self, words: str) -> None:
        words = words or self._faults_told()
        self.fault.setText(words)
        self.fault.setVisible(bool(words))

    # --- telling --------------------------------------------------------------------------------------------------

    def _write(self, value: float, dimension: str) -> str:
        return format_quantity(value, dimension, self._system)  # type: ignore[arg-type]

    def _tell(self) -> None:
        if self._answer is not None:
            words = story_of(*self._answer, self._hole, self._write)
            if words != self.story.text():
                self.story.setText(words)
            self._tell_factors(self._answer[0])

    def _tell_factors(self, prepared: Prepared) -> None:
        factors = prepared.assembly.floor.factors
        lines = [
            f"{factor.title}: {_figure(factor.value)} × the class value "
            f"({_figure(factor.value / factor.spread)} to {_figure(factor.value * factor.spread)})."
            for factor in factors
        ]
        few = few_readings(prepared)
        if few is not None:
            lines.append(few.text(self._write))
        if not factors and prepared.design.holes:
            lines = [
                "No floor plan: each hole follows its own readings, and winter and exhausts are subtracted in full."
            ]
        self._factors_title.setVisible(bool(lines))
        self.factors.setText("\n".join(lines))


def _figure(value: float) -> str:
    return format_number(value, 2, 2)


def story_of(prepared: Prepared, outcome: Outcome, hole: int | None, write: Callable[[float, str], str]) -> str:
    """What there is to say of one hole: how its readings fit, what is odd, and how they were scaled."""
    holes = prepared.design.holes
    if hole is None or hole >= len(holes):
        return "Select a hole to see how its readings fit and were scaled." if holes else ""
    name, said = holes[hole].name, []
    said += [note.text(write) for note in remarks(prepared) if note.address and note.address[1] == hole]
    off = [misfit for misfit in misfits(prepared) if misfit.hole == hole]
    for misfit in off:
        side = "high" if misfit.errors > 0.0 else "low"
        said.append(
            f"{name} reads {write(misfit.read, 'hole_pressure')} above baseline, the model gives "
            f"{write(misfit.predicted, 'hole_pressure')}: {abs(misfit.errors):.1f} standard errors too {side}. "
            f"{misfit.meaning}"
        )
    if off:
        said.append("This hole is predicted from its own readings, not from the fitted floor.")
    fit = fit_of(prepared, hole)
    if fit is not None and not off:
        said.append(
            f"{name} reads {write(fit.read, 'hole_pressure')} above baseline, the model gives "
            f"{write(fit.predicted, 'hole_pressure')}: it fits, {abs(fit.misfit):.1f} standard errors off."
        )
    said += [note.text(write) for note in scalings(prepared, outcome, hole)]
    return "\n".join(said)
