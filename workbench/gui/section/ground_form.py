"""What is known of the ground at a suction point: a step test, a class of ground, or a resistance of its own."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QGuiApplication, QKeyEvent, QKeySequence
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QToolButton, QWidget

from workbench.design.catalogue import ground_kinds
from workbench.design.design import Design
from workbench.design.ground import GroundClass, Resistance, StepReading, StepTest, SuctionPoint
from workbench.design.offered import begun
from workbench.design.record import Address, field_facts, with_value
from workbench.files.block import Block, Quantity, read_block
from workbench.gui.kit.fields import ChoiceEdit, Field, QuantityEdit
from workbench.gui.kit.forms import Form, RecordForm, cell_of, column, quiet, small_button
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.pasted import looks_like_a_table, take_pasted
from workbench.gui.kit.readings import minus_switch, reading_title, suctions_of
from workbench.gui.section.parts import PartAnswers
from workbench.solving.site.ground import ground_of
from workbench.units import Dimension, System, format_quantity, unit_of

_BASES = [
    ("step test", "Readings at the suction hole"),
    ("ground class", "Soil type (estimate)"),
    ("resistance", "Entered resistance"),
]
_COLUMNS: list[tuple[str, Dimension]] = [("Airflow", "flow"), ("Suction", "pressure"), ("Baseline", "hole_pressure")]
_MOST_PASTED = 100
_NAMES = ("flow", "suction", "baseline")
_READ = ("suction", "baseline")
"""Columns with the sign of readings."""
_WORDS = (
    r"flow|\bair\b|\bq\b",
    r"suction|vacuum|pressure|reading|\bread\b|at (the )?(suction )?(point|pit|hole)",
    r"\brest|baseline|\bbefore\b|\boff\b",
)


def quantities(system: System) -> tuple[Quantity, ...]:
    """What a pasted step test may hold; bare numbers are in the units shown where it names none."""
    return tuple(
        Quantity(key, title, words, of, unit_of(of, system).label, needed=key != "baseline", rank=rank)
        for key, (title, of), words, rank in zip(_NAMES, _COLUMNS, _WORDS, (1, 0, 2), strict=True)
    )


class StepTable(Guarded, Form):
    """Readings of a step test, one row each and a blank one to type the next into; takes pasted cells."""

    pasted = Signal(object)
    """Readings read from the clipboard, in place of those there are."""
    minus_chosen = Signal(object)
    """Whether readings are to be shown and typed with minus for suction."""

    def __init__(self, system: System, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._system = system
        self._base: Address = ()
        self._readings: tuple[StepReading, ...] | None = None
        self._rows: list[list[Field]] = []
        self._removers: list[QToolButton] = []
        layout = column(self)
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(6)
        self._grid.setVerticalSpacing(4)
        layout.addLayout(self._grid)
        self._titles = [QLabel(textFormat=Qt.TextFormat.PlainText) for _ in _COLUMNS]
        for i, label in enumerate(self._titles):
            self._grid.addWidget(label, 0, i)
            self._grid.setColumnStretch(i, 1)
        self._fault = quiet()
        self._fault.setObjectName("fault")
        self._fault.hide()
        layout.addWidget(self._fault)
        buttons = QHBoxLayout()
        self.paste_button = small_button("Paste readings", "Replace the readings with cells copied from a spreadsheet")
        self.paste_button.clicked.connect(self.paste)
        buttons.addWidget(self.paste_button)
        buttons.addStretch(1)
        layout.addLayout(buttons)
        self.minus = minus_switch()
        self.minus.committed.connect(self.minus_chosen)
        layout.addWidget(self.minus)
        self._title_columns()

    def _title_columns(self) -> None:
        for label, name, (title, _) in zip(self._titles, _NAMES, _COLUMNS, strict=True):
            label.setText(reading_title(title, self._system) if name in _READ else title)
        self.minus.set_value(self._system.minus_is_suction)

    def set_system(self, system: System) -> None:
        """Show and read pasted numbers in other units."""
        self._system = system
        super().set_system(system)
        self._title_columns()

    def show_readings(self, base: Address, readings: tuple[StepReading, ...]) -> None:
        """Show readings that stand at an address; the blank row is emptied when there are other readings."""
        if base == self._base and readings == self._readings:
            return
        self._base, self._readings = base, readings
        while len(self._rows) > len(readings) + 1:
            self._drop_row()
        while len(self._rows) < len(readings) + 1:
            self._append_row()
        self._fields = {}
        self.show_fault("")
        for i, row in enumerate(self._rows):
            for name, field in zip(_NAMES, row, strict=True):
                self._fields[(*base, i, name)] = field
                field.stand_at((*base, i, name))
                field.set_value(getattr(readings[i], name) if i < len(readings) else None)
                field.set_fault("")
            self._removers[i].setVisible(i < len(readings))
            self._removers[i].setEnabled(len(readings) > 1)
        self._order_tabs()

    def show_fault(self, sentence: str) -> None:
        """Say what is wrong with the table as a whole."""
        self._fault.setText(sentence)
        self._fault.setVisible(bool(sentence))

    def fault(self) -> str:
        """What is said of the table as a whole."""
        return self._fault.text()

    def row(self, position: int) -> list[Field]:
        """Fields of a row: flow, suction, at rest. The last row is the blank one."""
        return self._rows[position]

    def rows(self) -> int:
        """How many rows there are, the blank one included."""
        return len(self._rows)

    def remover(self, position: int) -> QToolButton:
        """The button that takes a reading away."""
        return self._removers[position]

    def _append_row(self) -> None:
        position = len(self._rows)
        row: list[Field] = []
        for i, (name, (title, dimension)) in enumerate(zip(_NAMES, _COLUMNS, strict=True)):
            field = QuantityEdit(
                f"{title}, reading {position + 1}",
                dimension,
                self._system,
                lower=0.0 if name == "suction" else None,
                optional=True,
                reading=name in _READ,
            )
            field.set_hint(field_facts(StepReading, name).help)
            field.control().setMinimumWidth(84)
            field.control().installEventFilter(self)
            field.committed.connect(lambda value, position=position, i=i: self._committed(position, i, value))
            self._grid.addWidget(field, position + 1, i, Qt.AlignmentFlag.AlignTop)
            row.append(field)
        button = small_button("✕", f"Remove reading {position + 1}")
        button.clicked.connect(lambda: self._remove(position))
        self._grid.addWidget(button, position + 1, len(_COLUMNS), Qt.AlignmentFlag.AlignTop)
        self._rows.append(row)
        self._removers.append(button)

    def _drop_row(self) -> None:
        for widget in (*self._rows.pop(), self._removers.pop()):
            self._grid.removeWidget(widget)
            widget.hide()
            widget.deleteLater()

    def _order_tabs(self) -> None:
        chain: list[QWidget] = []
        for row, button in zip(self._rows, self._removers, strict=True):
            chain += [*(field.control() for field in row), button]
        for before, after in zip(chain, [*chain[1:], self.paste_button], strict=True):
            QWidget.setTabOrder(before, after)

    def _committed(self, position: int, column_of: int, value: float | None) -> None:
        readings = self._readings or ()
        field = self._rows[position][column_of]
        if position < len(readings):
            address = (*self._base, position, _NAMES[column_of])
            given = 0.0 if value is None and _NAMES[column_of] == "baseline" else value
            words = f"Change reading {position + 1} of the flow and vacuum test"
            self.propose(lambda design: with_value(design, address, given), words, field)
            return
        flow, suction, rest = (cell.value() for cell in self._rows[position])
        if flow is None or suction is None:
            return

        def take() -> tuple[StepReading, ...]:
            return (*readings, StepReading(flow=flow, suction=suction, baseline=rest or 0.0))

        self._last = field
        self.pasted.emit((take, f"Add reading {position + 1}"))

    def _remove(self, position: int) -> None:
        readings = self._readings or ()
        kept = readings[:position] + readings[position + 1 :]
        base = self._base
        self.propose(lambda design: with_value(design, base, kept), f"Remove reading {position + 1}")

    def paste(self) -> None:
        """Read the clipboard as readings; what cannot be read is said under the table."""
        text, asked = QGuiApplication.clipboard().text(), quantities(self._system)
        take_pasted(
            self, lambda told: read_block(text, asked, told=told, most=_MOST_PASTED), self._take_block, self.show_fault
        )

    def _take_block(self, block: Block) -> None:
        self.show_fault("")
        self._last = None
        system = self._system

        def take() -> tuple[StepReading, ...]:
            return tuple(StepReading.model_validate(suctions_of(row, _READ, system)) for row in block.records())

        self.pasted.emit((take, "Paste readings"))

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if (
            isinstance(event, QKeyEvent)
            and event.type() == QEvent.Type.KeyPress
            and event.matches(QKeySequence.StandardKey.Paste)
            and looks_like_a_table(QGuiApplication.clipboard().text())
        ):
            self.paste()
            return True
        return super().eventFilter(watched, event)


class GroundForm(Form):
    """The ground at one suction point, with what was fitted to its test.

    `basis_cell` and `pit_cell` are its main fields, which stand among those of the pit.
    """

    minus_chosen = Signal(object)

    def __init__(self, system: System, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._system = system
        self._base: Address = ()
        self._point: SuctionPoint | None = None
        self._tests: dict[str, StepTest] = {}
        self._dug: tuple[float, float] | None = None
        self._planned = False
        layout = column(self)
        self.basis = ChoiceEdit("Soil data from", _BASES)
        self.basis.committed.connect(self._switch)
        self.basis_cell, _ = cell_of(self.basis)
        self.table = StepTable(system)
        self.test = RecordForm(StepTest, ("tested_volume",), system, columns=1)
        kinds = [(kind, kind.capitalize()) for kind in ground_kinds()]
        self.kind = RecordForm(GroundClass, ("kind",), system, choices={"kind": kinds})
        self.own = RecordForm(Resistance, ("linear", "quadratic", "band"), system, columns=3)
        self.own_pit = RecordForm(Resistance, ("tested_volume",), system, columns=1)
        self.pit_cell = QWidget()
        stack = column(self.pit_cell)
        for tested in (self.test, self.own_pit):
            stack.addWidget(tested)
            tested.proposed.connect(self._pass_on)
        self.words = quiet()
        self.words.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        for form in (self.table, self.kind, self.own):
            layout.addWidget(form)
            form.proposed.connect(self._pass_on)
        self.table.pasted.connect(self._take_readings)
        self.table.minus_chosen.connect(self.minus_chosen)
        layout.addWidget(self.words)

    def _forms(self) -> dict[str, tuple[Form, ...]]:
        """The forms of each basis."""
        return {
            "step test": (self.table, *((self.test,) if self._has_test() else ())),
            "ground class": (self.kind,),
            "resistance": (self.own, self.own_pit),
        }

    def _pass_on(self, change: Callable[[Design], Design], words: str) -> None:
        sender = self.sender()
        self._last = sender.last_field() if isinstance(sender, Form) else None
        self.proposed.emit(change, words)

    def set_system(self, system: System) -> None:
        """Show quantities in other units."""
        self._system = system
        for form in (self.table, self.test, self.kind, self.own, self.own_pit):
            form.set_system(system)
        self._tell()

    def show_point(self, base: Address, point: SuctionPoint) -> None:
        """Show the ground of a suction point that stands at an address."""
        if self._point is not None and base == self._base and point == self._point:
            return
        same_ground = self._point is not None and base == self._base and point.ground == self._point.ground
        if base != self._base:
            self._dug = None
        self._base, self._point = base, point
        if isinstance(point.ground, StepTest):
            self._tests[point.name] = point.ground
        if not same_ground:
            self._show_ground(point.ground)
        self._tell()

    def show_answers(self, answers: PartAnswers) -> None:
        """Take up the ground with the pit as dug, as the answer has it."""
        told = answers.ground(self._base), answers.planned
        if told != (self._dug, self._planned):
            self._dug, self._planned = told
            self._tell()

    def _show_ground(self, ground: StepTest | GroundClass | Resistance) -> None:
        here = (*self._base, "ground")
        self.basis.set_value(ground.basis)
        self._show_basis(ground.basis)
        if isinstance(ground, StepTest):
            self.table.show_readings((*here, "readings"), ground.readings)
            self.test.show_record(here, ground, "the flow and vacuum test")
        elif isinstance(ground, GroundClass):
            self.kind.show_record(here, ground, "the soil")
        else:
            for form in (self.own, self.own_pit):
                form.show_record(here, ground, "the soil")

    def _show_basis(self, basis: str) -> None:
        self.table.setVisible(basis == "step test")
        self.test.setVisible(basis == "step test" and self._has_test())
        self.kind.setVisible(basis == "ground class")
        for form in (self.own, self.own_pit):
            form.setVisible(basis == "resistance")

    def _has_test(self) -> bool:
        return self._point is not None and isinstance(self._point.ground, StepTest)

    def fields(self) -> dict[Address, Field]:
        """Fields of the basis now shown, by address."""
        found: dict[Address, Field] = {(*self._base, "ground", "basis"): self.basis}
        for form in self._forms().get(self.basis.value(), ()):
            found.update(form.fields())
        return found

    def show_faults(self, faults: Any) -> list[Any]:
        """Put each sentence beside its field; what concerns the readings together stands under the table."""
        self._fields = self.fields()
        left = super().show_faults(faults)
        readings = [fault for fault in left if self.basis.value() == "step test"]
        words = " ".join(fault.text[:1].upper() + fault.text[1:] + "." for fault in readings)
        self.table.show_fault(words)
        return [fault for fault in left if fault not in readings]

    # -- switching ---------------------------------------------------------------------------------------------

    def _switch(self, basis: str) -> None:
        point = self._point
        if point is None:
            return
        if basis == "step test":
            kept = self._tests.get(point.name)
            if kept is None:
                # readings are measured, not made up: the blank row waits for the first
                self._show_basis(basis)
                self.table.show_readings((*self._base, "ground", "readings"), ())
                self.table.row(0)[0].setFocus()
                self._tell()
                return
            self._propose_ground(kept, "Use the flow and vacuum test")
        elif basis == "ground class":
            self._propose_ground(GroundClass(kind=_nearest_class(*self._known(point))), "Use a soil type")
        else:
            self._propose_ground(_as_resistance(point, *self._known(point)), "Use an entered resistance")

    def _propose_ground(self, ground: StepTest | GroundClass | Resistance, words: str) -> None:
        address = (*self._base, "ground")
        if self._point is not None and ground == self._point.ground:
            self._show_ground(ground)
            self._tell()
            return
        self.propose(lambda design: with_value(design, address, ground), words, self.basis)

    def _take_readings(self, taken: tuple[Callable[[], tuple[StepReading, ...]], str]) -> None:
        take, words = taken
        base, point = self._base, self._point
        present = point.ground if point is not None else None
        round_in = self._system.round_in

        def change(design: Design) -> Design:
            if isinstance(present, StepTest):
                return with_value(design, (*base, "ground", "readings"), take())
            return with_value(design, (*base, "ground"), begun(StepTest, round_in, readings=take()))

        self.propose(change, words, self.table.last_field())

    # -- words -------------------------------------------------------------------------------------------------

    def _tell(self) -> None:
        if self._point is not None:
            self.words.setText(self._sentence(self._point))

    def _write(self, value: float, dimension: Dimension) -> str:
        return format_quantity(value, dimension, self._system)

    def _with_band(self, value: float, band: float, dimension: Dimension) -> str:
        bare = format_quantity(value, dimension, self._system, with_unit=False)
        return f"{bare} ± {format_quantity(band, dimension, self._system, digits=2)}"

    def _known(self, point: SuctionPoint) -> tuple[float, float]:
        """Linear and quadratic resistance with the pit as dug."""
        if self._dug is not None:
            return self._dug
        ground = ground_of(point)
        return ground.linear, ground.quadratic

    def _sentence(self, point: SuctionPoint) -> str:
        ground, dug = ground_of(point), ""
        if self._dug is not None:
            whose = "Fitted floor, with the finished pit" if self._planned else "With the finished pit"
            linear, quadratic = self._dug
            dug = f"{whose}: {self._write(linear, 'resistance')} and {self._write(quadratic, 'resistance2')}."
        if self.basis.value() == "step test" and ground.fit is None:
            return "Enter the first reading. Until then the previous soil data are used."
        if ground.fit is not None:
            fit = ground.fit
            error = [2.0 * max(float(fit.covariance[i, i]), 0.0) ** 0.5 for i in (0, 1)]
            terms = (
                f"Fit of the test alone, suction = a·Q + b·Q²: a = {self._with_band(fit.a, error[0], 'resistance')}, "
                f"b = {self._with_band(fit.b, error[1], 'resistance2')}."
            )
            if fit.residuals.size < 2:
                return f"{terms} One reading cannot show how good the fit is. {dug}"
            worst = max(abs(float(r)) for r in fit.residuals)
            each = ", ".join(
                format_quantity(float(r), "pressure", self._system, with_unit=False) for r in fit.residuals
            )
            return f"{terms} Residuals up to {self._write(worst, 'pressure')}: {each}. {dug}"
        if isinstance(point.ground, GroundClass):
            kind = ground_kinds()[point.ground.kind]
            return f"Without a test it could be off by a factor of {kind.factor:.1f} either way. {dug} {kind.source}."
        return dug


def _nearest_class(linear: float, quadratic: float) -> str:
    """The class whose suction is nearest, by ratio, to that of the ground at a usual flow."""

    def off(kind: str) -> float:
        known = ground_kinds()[kind]
        flow = 0.01
        there = linear * flow + quadratic * flow**2
        here = known.linear * flow + known.quadratic * flow**2
        return max(here / there, there / here) if there > 0.0 else here

    return min(ground_kinds(), key=off)


def _as_resistance(point: SuctionPoint, linear: float, quadratic: float) -> Resistance:
    """The ground as it now stands, as a resistance for the pit as dug, with a band like that it had."""
    ground = ground_of(point)
    if isinstance(point.ground, GroundClass):
        band = min(0.95, 1.0 - 1.0 / ground_kinds()[point.ground.kind].factor)
    elif ground.fit is not None and ground.fit.a > 0.0:
        band = min(0.95, max(0.05, 2.0 * max(float(ground.fit.covariance[0, 0]), 0.0) ** 0.5 / ground.fit.a))
    else:
        band = 0.2
    return Resistance(linear=linear, quadratic=quadratic, tested_volume=point.pit_volume, band=round(band, 2))
