"""A run: its bore, its length and rise, and the fittings in it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QWidget

from workbench.design import edit
from workbench.design.catalogue import OWN, fitting_kinds, pipe_kinds
from workbench.design.design import Design
from workbench.design.edit import set_every_pipe
from workbench.design.pipework import Fitting, Pipe, Run
from workbench.design.record import Address, with_value
from workbench.gui.kit.fields import ChoiceEdit, CountEdit, Field, QuantityEdit
from workbench.gui.kit.forms import (
    Form,
    GroupForm,
    RecordForm,
    cell_of,
    column,
    field_for,
    heading,
    quiet,
    small_button,
)
from workbench.gui.section.parts import PartAnswers
from workbench.solving.site.assemble import fitting_k
from workbench.units import System, format_number

OWN_BORE = "own bore"


class PipeForm(Form):
    """The pipe of a run: from the catalogue, or a bore of its own. Its fields are seated in the form of the run."""

    def __init__(self, system: System, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._base: Address = ()
        self._pipe: Pipe | None = None
        self._title = ""
        kinds = [(kind, kind) for kind in pipe_kinds()]
        self.kind = ChoiceEdit("Pipe", [*kinds, (OWN_BORE, "Other inside diameter")])
        self.kind.committed.connect(self._chosen)
        self.everywhere = small_button("Use in all runs", "Use this pipe in every run of the design")
        self.everywhere.clicked.connect(self._use_everywhere)
        self.bore = field_for(Pipe, "inside_diameter", system)
        self.roughness = field_for(Pipe, "roughness", system)
        self.bore.committed.connect(lambda value: self._own("inside_diameter", value, self.bore))
        self.roughness.committed.connect(lambda value: self._own("roughness", value, self.roughness))

    def show_pipe(self, base: Address, pipe: Pipe, title: str) -> None:
        """Show the pipe that stands at an address."""
        self._title = title
        if base == self._base and pipe == self._pipe:
            return
        self._base, self._pipe = base, pipe
        self._fields = {
            (*base, "name"): self.kind,
            (*base, "inside_diameter"): self.bore,
            (*base, "roughness"): self.roughness,
        }
        for address, each in self._fields.items():
            each.stand_at(address)
        known = pipe_kinds().get(pipe.name)
        listed = known is not None and (known.inside_diameter, known.roughness) == (
            pipe.inside_diameter,
            pipe.roughness,
        )
        self.kind.set_value(pipe.name if listed else OWN_BORE)
        self.kind.set_hint(known.source if known is not None and listed else "A diameter not in the list.")
        for field, value in ((self.bore, pipe.inside_diameter), (self.roughness, pipe.roughness)):
            field.set_value(value)
            field.set_fault("")

    def _chosen(self, kind: str) -> None:
        known = pipe_kinds().get(kind)
        base, present = self._base, self._pipe
        if known is not None:
            pipe = Pipe(name=kind, inside_diameter=known.inside_diameter, roughness=known.roughness)
        elif present is not None:
            pipe = present.model_copy(update={"name": "Other inside diameter"})
        else:
            return
        self.propose(lambda d: with_value(d, base, pipe), f"Change pipe of {self._title}", self.kind)

    def _use_everywhere(self) -> None:
        pipe = self._pipe
        if pipe is not None:
            self.propose(lambda d: set_every_pipe(d, pipe), f"Use pipe {pipe.name} in every run", self.kind)

    def _own(self, name: str, value: float, field: Field) -> None:
        base, present = self._base, self._pipe
        if present is None:
            return
        fields = {
            "name": "Other inside diameter",
            "inside_diameter": present.inside_diameter,
            "roughness": present.roughness,
        }

        def change(design: Design) -> Design:
            return with_value(design, base, Pipe.model_validate(fields | {name: value}))

        self.propose(change, f"Change {field.name().lower()} of {self._title}", field)


class FittingRow(Form):
    """One row of fittings: its kind, how many, its shape, its coefficient with band and source."""

    removed = Signal()

    def __init__(self, fitting: Fitting, system: System, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._base: Address = ()
        self._fitting: Fitting | None = None
        self.kind = fitting.kind
        known = fitting_kinds().get(fitting.kind)
        grid = QGridLayout(self)
        grid.setContentsMargins(8, 2, 0, 4)
        grid.setHorizontalSpacing(8)
        grid.setVerticalSpacing(2)
        grid.setColumnStretch(1, 1)
        grid.setColumnStretch(3, 1)
        head = QHBoxLayout()
        head.setSpacing(8)
        self.title = QLabel(fitting.kind[:1].upper() + fitting.kind[1:], textFormat=Qt.TextFormat.PlainText)
        head.addWidget(self.title, 1)
        self.loss = QLabel(textFormat=Qt.TextFormat.PlainText)
        self.loss.setObjectName("quiet")
        head.addWidget(self.loss)
        self.remove_button = small_button("✕", f"Remove {fitting.kind}")
        self.remove_button.clicked.connect(self.removed)
        head.addWidget(self.remove_button)
        grid.addLayout(head, 0, 0, 1, 4)
        self.count = CountEdit(f"Quantity, {fitting.kind}", lower=1, upper=99)
        self.k = QuantityEdit(
            f"K override, {fitting.kind}", "ratio", system, lower=-5.0, upper=1000.0, optional=fitting.kind != OWN
        )
        self.k.set_hint("Replaces the table's value, for each piece.")
        for i, (words, field) in enumerate((("Quantity", self.count), ("K override", self.k))):
            field.control().setMinimumWidth(60)
            label = QLabel(words, textFormat=Qt.TextFormat.PlainText)
            label.setBuddy(field)
            grid.addWidget(label, 1, 2 * i)
            grid.addWidget(field, 1, 2 * i + 1)
        self.parameter: QuantityEdit | None = None
        if known is not None and known.parameter is not None:
            facts = known.parameter
            self.parameter = QuantityEdit(
                f"{facts.title}, {fitting.kind}",
                facts.dimension,  # type: ignore[arg-type]
                system,
                optional=True,
            )
            label = QLabel(facts.title, textFormat=Qt.TextFormat.PlainText)
            label.setBuddy(self.parameter)
            grid.addWidget(label, 2, 0, 1, 3)
            grid.addWidget(self.parameter, 2, 3)
            self.parameter.committed.connect(lambda value: self._committed("parameter", value, self.parameter))
        self.words = quiet()
        grid.addWidget(self.words, 3, 0, 1, 4)
        self.count.committed.connect(lambda value: self._committed("count", value, self.count))
        self.k.committed.connect(lambda value: self._committed("k", value, self.k))

    def show_fitting(self, base: Address, fitting: Fitting, run: Run) -> None:
        """Show the fitting that stands at an address."""
        self.words.setText(_about(fitting, run))
        if base == self._base and fitting == self._fitting:
            return
        self._base, self._fitting = base, fitting
        self._fields = {(*base, "count"): self.count, (*base, "k"): self.k}
        if self.parameter is not None:
            self._fields[(*base, "parameter")] = self.parameter
        for address, field in self._fields.items():
            field.stand_at(address)
        if self.parameter is not None:
            known = fitting_kinds()[fitting.kind].parameter
            self.parameter.set_value(
                fitting.parameter if fitting.parameter is not None or known is None else known.default
            )
        self.count.set_value(fitting.count)
        self.k.set_value(fitting.k)
        for field in self._fields.values():
            field.set_fault("")

    def _committed(self, name: str, value: Any, field: Field | None) -> None:
        address = (*self._base, name)
        words = f"Change {self.kind}"
        self.propose(lambda design: with_value(design, address, value), words, field)


def _about(fitting: Fitting, run: Run) -> str:
    each = fitting_k(fitting, run) / fitting.count
    if fitting.kind == OWN or fitting.k is not None:
        return f"K {format_number(each)} each (entered)"
    known = fitting_kinds()[fitting.kind]
    low, high = (format_number(each * factor) for factor in known.band)
    band = f" ({low} to {high})" if known.band != (1.0, 1.0) else ""
    return f"K {format_number(each)} each{band}: {known.source}"


class FittingsForm(Form):
    """All fittings of a run, in the order the air passes them."""

    add_wanted = Signal()
    """The person wants to choose a fitting to add."""

    def __init__(self, system: System, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._system = system
        self._base: Address = ()
        self._rows: list[FittingRow] = []
        self._column = column(self)
        head = QHBoxLayout()
        head.addWidget(heading("Fittings"), 1)
        self.add_button = small_button("Add fitting ▾", "Add a fitting to this run")
        self.add_button.clicked.connect(self.add_wanted)
        head.addWidget(self.add_button, 0, Qt.AlignmentFlag.AlignBottom)
        self._column.addLayout(head)
        self.empty = quiet("No fittings yet. Add at least the elbows.")
        self._column.addWidget(self.empty)

    def rows(self) -> list[FittingRow]:
        """Rows shown, one for each row of fittings."""
        return list(self._rows)

    def set_system(self, system: System) -> None:
        """Show quantities in other units."""
        self._system = system
        super().set_system(system)

    def show_fittings(self, run_address: Address, run: Run) -> None:
        """Show the fittings of a run; rows whose kind is unchanged are kept."""
        base = (*run_address, "fittings")
        self._base = base
        kinds = [(fitting.kind, fitting.kind == OWN) for fitting in run.fittings]
        if kinds != [(row.kind, row.kind == OWN) for row in self._rows]:
            for row in self._rows:
                self._column.removeWidget(row)
                row.hide()
                row.deleteLater()
            self._rows = [self._made(fitting, position) for position, fitting in enumerate(run.fittings)]
        for i, (row, fitting) in enumerate(zip(self._rows, run.fittings, strict=True)):
            row.show_fitting((*base, i), fitting, run)
        self.empty.setVisible(not run.fittings)

    def _made(self, fitting: Fitting, position: int) -> FittingRow:
        row = FittingRow(fitting, self._system)
        row.proposed.connect(lambda change, words: self._pass_on(row, change, words))
        row.removed.connect(lambda: self._remove(position))
        self._column.addWidget(row)
        return row

    def _pass_on(self, row: FittingRow, change: Callable[[Design], Design], words: str) -> None:
        self._last = row.last_field()
        self.proposed.emit(change, words)

    def _remove(self, position: int) -> None:
        run = self._base[:-1]
        self.propose(lambda d: edit.remove_fitting(d, run, position), f"Remove {self._rows[position].kind}")

    def fields(self) -> dict[Address, Field]:
        """Fields of every row, by address."""
        return {address: field for row in self._rows for address, field in row.fields().items()}

    def show_faults(self, faults: Any) -> list[Any]:
        """Put each sentence beside its field."""
        self._fields = self.fields()
        return super().show_faults(faults)

    def show_answers(self, answers: PartAnswers) -> None:
        """Write the loss of each row."""
        drops = {address: drop for _, drop, address in answers.losses_in(self._base[:-1])}
        for i, row in enumerate(self._rows):
            drop = drops.get((*self._base, i))
            text = answers.write(drop, "pressure") if drop is not None else ""
            if row.loss.text() != text:
                row.loss.setText(text)


class RunForm(GroupForm):
    """Everything that is entered about a run."""

    add_wanted = Signal()

    def __init__(self, system: System, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        layout = column(self)
        self.pipe = PipeForm(system)
        places = [
            ("indoors", "Heated space"),
            ("unheated", "Unheated attic, garage"),
            ("outdoors", "Outdoors"),
        ]
        self.measures = RecordForm(
            Run,
            ("name", "length", "rise", "surroundings"),
            system,
            choices={"surroundings": places},
            columns=6,
            spans={"name": 2, "length": 2, "rise": 2, "surroundings": 3},
        )
        self.measures.place("pipe", cell_of(self.pipe.kind)[0], after="surroundings", span=3)
        self.measures.place("inside diameter", cell_of(self.pipe.bore)[0], after="pipe", span=2)
        self.measures.place("roughness", cell_of(self.pipe.roughness)[0], after="inside diameter", span=2)
        self.measures.place("everywhere", self.pipe.everywhere, after="roughness", span=2)
        self.fittings = FittingsForm(system)
        self.fittings.add_wanted.connect(self.add_wanted)
        for form in (self.measures, self.fittings):
            layout.addWidget(form)
        for member in (self.measures, self.pipe, self.fittings):
            self.add(member)

    def show_part(self, design: Design, address: Address, record: Run) -> None:
        """Show a run that stands at an address."""
        self.pipe.show_pipe((*address, "pipe"), record.pipe, record.name)
        self.measures.show_record(address, record, record.name)
        self.fittings.show_fittings(address, record)

    def show_answers(self, answers: PartAnswers) -> None:
        """Write the loss of each fitting."""
        self.fittings.show_answers(answers)
