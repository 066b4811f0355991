"""Test holes: what was read at each, what each keeps, and whether the readings fit the floor."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from PySide6.QtCore import QModelIndex, Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QWidget

from workbench.design.design import Design
from workbench.design.faults import Fault
from workbench.design.record import Address
from workbench.design.wording import sentence
from workbench.gui.floor.holes_draft import KEYS
from workbench.gui.floor.holes_kept import KeptModel, KeptView
from workbench.gui.floor.holes_model import HolesModel
from workbench.gui.floor.holes_table import HolesView
from workbench.gui.floor.reading_form import ReadingForm
from workbench.gui.kit.debounce import OnceAtRest
from workbench.gui.kit.forms import column, heading, paragraph, small_button
from workbench.gui.kit.readings import minus_switch
from workbench.gui.kit.theme import LIGHT, Theme
from workbench.solving.outcome import Outcome
from workbench.solving.run.misfits import few_readings, fit_of, misfits, remarks, scalings
from workbench.solving.run.prepare import Prepared
from workbench.units import SI, System, format_number, format_quantity

_MOST_ROWS = 11
_ANY_UNIT = "Any unit: 5 Pa, 0.02 in. w.c."
SIGNS = f"Enter suction (below room pressure) as positive, pressure above the room as negative. {_ANY_UNIT}"
MINUS_SIGNS = f"Enter suction (below room pressure) as negative, pressure above the room as positive. {_ANY_UNIT}"


class HolesPanel(QWidget):
    """Readings typed or pasted above, what each hole keeps below, and what the picked one has to say."""

    proposed = Signal(object, str)
    picked = Signal(object)
    minus_chosen = Signal(object)
    """Whether readings are to be shown and typed with minus for suction."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._system: System = SI
        self._theme = LIGHT
        self._design: Design | None = None
        self._answer: tuple[Prepared, Outcome] | None = None
        self._fitted: Prepared | None = None
        self._hole: int | None = None
        self.model = HolesModel(self)
        self.table = HolesView(self)
        self.table.setModel(self.model)
        self.kept_model = KeptModel(self)
        self.kept = KeptView(self)
        self.kept.setModel(self.kept_model)
        self.kept.set_widths([])
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
        self._rest = OnceAtRest(self._tell, self)
        self.model.proposed.connect(self.proposed)
        self.how.proposed.connect(self.proposed)
        self.model.faulted.connect(self._show_cell_faults)
        self.model.modelReset.connect(self._fit_heights)
        self.table.refused.connect(self._refuse)
        self.table.selectionModel().currentChanged.connect(self._line_picked)
        self.kept.selectionModel().currentChanged.connect(lambda index, _: self._choose(index.row()))
        self.add_hole_button.clicked.connect(self._start_hole)
        self.add_reading_button.clicked.connect(self._start_reading)
        self.remove_button.clicked.connect(self.table.remove_rows)
        self.paste_button.clicked.connect(self.table.paste)
        self.minus.committed.connect(self.minus_chosen)

    def _compose(self) -> None:
        layout = column(self)
        layout.addWidget(self.signs)
        layout.addWidget(self.minus)
        layout.addWidget(self.table)
        layout.addWidget(self.fault)
        row = QHBoxLayout()
        row.setSpacing(6)
        for button in (self.add_hole_button, self.add_reading_button, self.remove_button):
            row.addWidget(button)
        row.addStretch(1)
        row.addWidget(self.paste_button)
        layout.addLayout(row)
        layout.addWidget(self.how)
        layout.addWidget(heading("Predicted suction at each test hole"))
        layout.addWidget(self.kept)
        layout.addWidget(self.story)
        self._factors_title = heading("Slab and fill, fitted to the readings")
        layout.addWidget(self._factors_title)
        layout.addWidget(self.factors)
        layout.addStretch(1)
        self._fit_heights()

    def _fit_heights(self) -> None:
        for view, rows in ((self.table, self.model.rowCount()), (self.kept, self.kept_model.rowCount())):
            header = view.horizontalHeader().sizeHint().height()
            row = view.verticalHeader().defaultSectionSize()
            wanted = header + row * min(max(rows, 1), _MOST_ROWS) + 2 * view.frameWidth() + 1
            if view.height() != wanted or view.minimumHeight() != wanted:
                view.setFixedHeight(wanted)

    # --- the protocol of views ------------------------------------------------------------------------------------

    def show_design(self, design: Design) -> None:
        """Show the holes of a design; what is half typed stays."""
        known, self._design = self._design, design
        if known is not None and (design.holes, design.intake) == (known.holes, known.intake) and not self._waiting():
            return
        before = self._place()
        self.model.show_design(design)
        self.table.setColumnHidden(KEYS.index("point"), len(self.model.points()) < 2)
        names = [hole.name for hole in design.holes]
        self.table.set_widths(names, self.model.points())
        self.kept.set_widths(names)
        self.kept_model.show_holes(names)
        self.kept.setVisible(bool(design.holes))
        self._fit_heights()
        self._return_to(before)
        if self._hole is not None and self._hole >= len(design.holes):
            self._hole = None
        self._refuse("")
        self._show_how()

    def _show_how(self) -> None:
        current = self.table.currentIndex()
        line = self.model.lines()[current.row()] if current.isValid() else None
        self.how.show_reading(self._design, None if line is None else line.hole, 0 if line is None else line.reading)

    def _waiting(self) -> bool:
        return bool(self.fault.text())

    def _place(self) -> tuple[str, int, int] | None:
        current = self.table.currentIndex()
        if not current.isValid():
            return None
        line = self.model.lines()[current.row()]
        return line.name, line.reading, current.column()

    def _return_to(self, place: tuple[str, int, int] | None) -> None:
        if place is None or self.table.currentIndex().isValid():
            return
        name, reading, at = place
        lines = self.model.lines()
        same = [i for i, line in enumerate(lines) if line.name == name]
        if same:
            self.table.go_to(same[min(reading, len(same) - 1)], at)

    def show_outcome(self, prepared: Prepared, outcome: Outcome) -> None:
        """Write what the holes keep; the picked hole's story follows when the hand rests."""
        self._answer = (prepared, outcome)
        if prepared is not self._fitted:
            self._fitted = prepared
            self._tell_factors(prepared)
        fits = [fit_of(prepared, h) for h in range(len(prepared.design.holes))]
        self.kept_model.set_stale(False)
        self.kept_model.show_kept(outcome.holding, [math.nan if fit is None else fit.misfit for fit in fits])
        self._rest.touch()

    def set_system(self, system: System) -> None:
        """Show other units."""
        self._system = system
        self.model.set_system(system)
        self.kept_model.set_system(system)
        self.kept.set_lines(self.kept_model.lines)
        self.how.set_system(system)
        self.minus.set_value(system.minus_is_suction)
        self.signs.setText(MINUS_SIGNS if system.minus_is_suction else SIGNS)
        self._fit_heights()
        self._tell()

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self._theme = theme
        self.model.apply_theme(theme)
        self.kept_model.apply_theme(theme)

    def set_stale(self, stale: bool) -> None:
        """Grey the answers of an earlier design."""
        self.kept_model.set_stale(stale)
        self.story.setEnabled(not stale)

    def show_faults(self, faults: Sequence[Fault]) -> list[Fault]:
        """Put sentences into the cells; what belongs to none stands under the table."""
        left = self.model.show_faults(self.how.take_faults(faults))
        self.kept_model.set_stale(bool(faults))
        if left or not faults:
            self._refuse(" ".join(sentence(fault.text) for fault in left))
        return []

    def pick(self, address: Address | None) -> None:
        """Bring a hole or one of its readings into sight; emits nothing."""
        if address is None or address[:1] != ("holes",) or len(address) < 2:
            return
        hole, reading = int(address[1]), int(address[3]) if len(address) > 3 else 0
        if self._design is None or hole >= len(self._design.holes):
            return
        self._hole = hole
        at = max(self.table.currentIndex().column(), 0)
        self.table.go_to(self.model.line_of(hole, reading), at)
        self._select_kept(hole)
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
        self._show_how()

    def _choose(self, hole: int) -> None:
        if hole < 0 or hole == self._hole:
            return
        self._hole = hole
        self._select_kept(hole)
        self._tell()
        self.picked.emit(("holes", hole))

    def _select_kept(self, hole: int) -> None:
        if self.kept.currentIndex().row() != hole:
            self.kept.setCurrentIndex(self.kept_model.index(hole, 0))

    def _start_hole(self) -> None:
        self.table.setFocus()
        self.table.go_to(self.model.rowCount() - 1, 0)
        self.table.edit(self.table.currentIndex())

    def _start_reading(self) -> None:
        current = self.table.currentIndex()
        line = self.model.lines()[current.row()] if current.isValid() else None
        if self._design is None or line is None or line.hole is None:
            return
        hole, first = line.hole, self.table.shown_columns()[1]
        self.model.open_reading(line.name)
        self.table.setFocus()
        self.table.go_to(self.model.line_of(hole, len(self._design.holes[hole].readings)), KEYS.index(first))

    def _show_cell_faults(self) -> None:
        told = [f"{line.name or 'New hole'}: {words}" for line, _, words in self.model.faults()]
        self._refuse(" ".join(told))

    def _refuse(self, words: str) -> None:
        if not words:
            words = " ".join(f"{line.name or 'New hole'}: {said}" for line, _, said in self.model.faults())
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
