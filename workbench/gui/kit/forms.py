"""Forms made from what the fields of a record say about themselves."""

from __future__ import annotations

from collections.abc import Callable, Collection, Hashable, Mapping, Sequence
from typing import Any, Literal, get_args, get_origin

from pydantic import ValidationError
from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QGridLayout, QLabel, QSizePolicy, QToolButton, QVBoxLayout, QWidget

from workbench.design.design import Design
from workbench.design.edit import rename_point
from workbench.design.faults import Fault
from workbench.design.record import Address, Record, field_facts, with_value, with_values
from workbench.gui.kit.fields import ChoiceEdit, CountEdit, Field, QuantityEdit, TextEdit
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.tips import plain_tip
from workbench.gui.kit.type_scale import Role, wear
from workbench.units import System

Choices = Sequence[tuple[Hashable, str]]


def field_for(
    record: type[Record],
    name: str,
    system: System,
    choices: Choices | None = None,
    *,
    optional: bool = False,
    reading: bool = False,
) -> Field:
    """The field in which a value of a record is edited, from its declaration.

    One that is `optional` may be left empty though the record needs it; a `reading` has the sign of readings.
    """
    facts = field_facts(record, name)
    annotation = record.model_fields[name].annotation
    made: Field
    if choices is not None:
        made = ChoiceEdit(facts.title, choices)
    elif facts.dimension is not None:
        made = QuantityEdit(
            facts.title,
            facts.dimension,  # type: ignore[arg-type]
            system,
            lower=facts.lower,
            upper=facts.upper,
            optional=facts.optional or optional,
            reading=reading,
        )
    elif get_origin(annotation) is Literal:
        made = ChoiceEdit(facts.title, [(word, str(word).capitalize()) for word in get_args(annotation)])
    elif annotation is int:
        upper = None if facts.upper is None else int(facts.upper)
        made = CountEdit(facts.title, lower=int(facts.lower or 0), upper=upper)
    else:
        info = record.model_fields[name]
        made = TextEdit(facts.title, required=any(getattr(limit, "min_length", 0) for limit in info.metadata))
    made.set_hint(facts.help)
    return made


class Form(QWidget):
    """A part of a card that proposes changes and shows what is wrong beside its fields."""

    proposed = Signal(object, str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._fields: dict[Address, Field] = {}
        self._last: Field | None = None

    def fields(self) -> dict[Address, Field]:
        """Fields by the address of the value each edits."""
        return self._fields

    def set_system(self, system: System) -> None:
        """Show quantities in other units."""
        for field in self.findChildren(QuantityEdit):
            field.set_system(system)

    def set_currency(self, currency: str) -> None:
        """Say what money is in, for prices typed with their currency."""
        for field in self.findChildren(QuantityEdit):
            field.set_currency(currency)

    def show_faults(self, faults: Sequence[Fault]) -> list[Fault]:
        """Put each sentence beside its field; gives back those that belong to none here."""
        for shown in self._fields.values():
            shown.set_fault("")
        left: list[Fault] = []
        said: dict[Field, str] = {}
        for fault in faults:
            field = self._field_of(fault.address)
            if field is None:
                left.append(fault)
            else:
                text = fault.text[:1].upper() + fault.text[1:].rstrip(".") + "."
                said[field] = f"{said[field]} {text}" if field in said else text
        for faulty, text in said.items():
            faulty.set_fault(text)
        return left

    def _field_of(self, address: Address) -> Field | None:
        # a refused record names its own fields only, without the way to it
        exact = self._fields.get(address)
        if exact is not None or not address:
            return exact
        if self._last is not None:
            own = next((a for a, field in self._fields.items() if field is self._last), ())
            if own and own[-1] == address[-1]:
                return self._last
            beside = self._fields.get((*own[:-1], *address))
            if beside is not None:
                return beside
        return next((field for a, field in self._fields.items() if a[-len(address) :] == address), None)

    def last_field(self) -> Field | None:
        """The field whose value was proposed last."""
        return self._last

    def propose(self, change: Callable[[Design], Design], words: str, field: Field | None = None) -> None:
        """Propose a change, remembering where it came from."""
        self._last = field
        self.proposed.emit(change, words)


class RecordForm(Guarded, Form):
    """Some fields of one record, in rows: the title on the left, the field on the right.

    `choices` gives the values offered for fields that are picked from a catalogue; `title` names the record in the
    undo list. With `columns` the titles stand over their fields, so many beside one another or as many as have room;
    those in `wide` take a row of their own, those in `spans` so many columns. `whose` is said before each title where
    a form beside it has the same ones. Those in `optional` may be left empty, those in `readings` have the sign of
    readings.
    """

    def __init__(
        self,
        record: type[Record],
        names: Sequence[str],
        system: System,
        *,
        choices: dict[str, Choices] | None = None,
        columns: int = 0,
        wide: Sequence[str] = (),
        spans: Mapping[str, int] | None = None,
        whose: str = "",
        optional: Collection[str] = (),
        readings: Collection[str] = (),
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._record, self._names = record, tuple(names)
        self._columns, self._spans = columns, dict.fromkeys(wide, columns) | dict(spans or {})
        self._base: Address | None = None
        self._title = ""
        self._shown: dict[str, Any] = {}
        self._across = columns
        self._grid = cell_grid(self, columns) if columns else form_grid(self)
        self._by_name: dict[str, Field] = {}
        self._labels: dict[str, QLabel] = {}
        self._cells: dict[str, QWidget] = {}
        self._left_out: set[str] = set()
        for row, name in enumerate(self._names):
            kept = (choices or {}).get(name)
            field = field_for(record, name, system, kept, optional=name in optional, reading=name in readings)
            field.committed.connect(lambda value, name=name: self._committed(name, value))
            self._by_name[name] = field
            if columns:
                self._cells[name], self._labels[name] = cell_of(field)
            else:
                self._labels[name] = add_row(self._grid, row, field)
            if whose:
                field.set_name(f"{whose}: {field.name()[:1].lower()}{field.name()[1:]}")
        self._fill_cells()
        if columns:
            # what has no room beside another goes under it
            self.setMinimumWidth(1)

    def _fill_cells(self) -> None:
        """Put the cells that are not hidden in their order, so that none leaves a gap."""
        at = 0
        for name, cell in self._cells.items():
            if name in self._left_out:
                self._grid.removeWidget(cell)
                continue
            span = self._span(name, self._across)
            if at % self._across + span > self._across:
                at += -at % self._across
            row, column = divmod(at, self._across)
            # a button has no title over it
            side = Qt.AlignmentFlag.AlignBottom if isinstance(cell, QToolButton) else Qt.AlignmentFlag.AlignTop
            self._grid.addWidget(cell, row, column, 1, span, side)
            at += span
        for column in range(self._columns):
            self._grid.setColumnStretch(column, int(column < self._across))

    def _span(self, name: str, across: int) -> int:
        """Columns that a cell takes of so many."""
        return -(-self._spans.get(name, 1) * across // self._columns) if self._columns else 1

    def _needed(self, across: int) -> int:
        """Breadth in which so many columns have room. [px]"""
        gap = self._grid.horizontalSpacing()
        least = 0
        for name, cell in self._cells.items():
            span = self._span(name, across)
            least = max(least, -(-(cell.minimumSizeHint().width() + gap) // span))
        return across * least - gap

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if self._columns:
            offered = sorted({self._columns, min(2, self._columns), 1}, reverse=True)
            across = next((each for each in offered if self._needed(each) <= self.width()), 1)
            if across != self._across:
                self._across = across
                self._fill_cells()

    def place(self, seat: str, guest: QWidget, after: str, span: int = 1) -> None:
        """Seat a cell of another form behind another; hidden, it keeps its seat, so that nothing moves."""
        order = [each for name in self._cells for each in ((name, seat) if name == after else (name,))]
        self._cells[seat], self._spans[seat] = guest, span
        self._cells = {name: self._cells[name] for name in order}
        self._fill_cells()

    def field(self, name: str) -> Field:
        """The field of a value."""
        return self._by_name[name]

    def set_row_visible(self, name: str, visible: bool) -> None:
        """Show or hide a row."""
        if name in self._cells and (name in self._left_out) == visible:
            self._left_out ^= {name}
            self._cells[name].setVisible(visible)
            self._fill_cells()
        self._by_name[name].setVisible(visible)
        self._labels[name].setVisible(visible)

    def show_record(self, base: Address, record: Record, title: str) -> None:
        """Show a record that stands at an address; what is unchanged is left as it was typed."""
        self._title = title
        values = {name: getattr(record, name) for name in self._names}
        if base != self._base:
            self._base = base
            self._fields = {(*base, name): field for name, field in self._by_name.items()}
            for address, field in self._fields.items():
                field.stand_at(address)
        for name, value in values.items():
            self._by_name[name].set_value(value)
        if values != self._shown:
            self._shown = values
            for field in self._by_name.values():
                field.set_fault("")

    def _committed(self, name: str, value: Any) -> None:
        address = (*(self._base or ()), name)
        field = self._by_name[name]
        title = self._labels[name].text().lower()
        words = f"Change {title} of {self._title}" if self._title else f"Change {title}"
        waiting = {other: each.value() for other, each in self._by_name.items() if other != name and each.goes_along()}
        base = self._base or ()

        def change(design: Design) -> Design:
            if not waiting:
                return with_value(design, address, value)
            # what was refused beside the former value may go with the new one
            try:
                return with_values(design, base, waiting | {name: value})
            except ValidationError:
                return with_value(design, address, value)

        self.propose(change, words, field)


class NamingForm(RecordForm):
    """A form whose name, for a suction point, is also that of the readings drawn on it."""

    def _committed(self, name: str, value: Any) -> None:
        base = self._base or ()
        if name == "name" and base[-1:] == ("source",):
            words = f"Rename {self._title}"
            self.propose(lambda design: rename_point(design, base, value), words, self.field(name))
        else:
            super()._committed(name, value)


class GroupForm(Form):
    """Several forms that are one card."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._members: list[Form] = []

    def add(self, form: Form) -> None:
        """Take a form in; what it proposes is proposed."""
        self._members.append(form)
        form.proposed.connect(lambda change, words: self._pass_on(form, change, words))

    def drop(self, form: Form) -> None:
        """Let a form go."""
        self._members.remove(form)

    def _pass_on(self, form: Form, change: Callable[[Design], Design], words: str) -> None:
        self._last = form.last_field()
        self.proposed.emit(change, words)

    def fields(self) -> dict[Address, Field]:
        """All fields, by address."""
        return self._fields | {a: field for form in self._members for a, field in form.fields().items()}

    def set_system(self, system: System) -> None:
        """Show quantities in other units."""
        for form in self._members:
            form.set_system(system)

    def show_faults(self, faults: Any) -> list[Any]:
        """Put each sentence beside its field; a form that proposed is asked first."""
        left = list(faults)
        for form in sorted(self._members, key=lambda form: form.last_field() is not self._last):
            left = form.show_faults(left)
        return super().show_faults(left)

    def show_part(self, design: Design, address: Address, record: Any) -> None:
        """Show a part that stands at an address."""
        raise NotImplementedError

    def show_answers(self, answers: Any) -> None:
        """Write what follows from the design, in the form its page tells it; most forms say nothing of their own."""


def form_grid(parent: QWidget) -> QGridLayout:
    """The grid all forms are set in: titles in one column, fields in the other."""
    grid = QGridLayout(parent)
    grid.setContentsMargins(0, 0, 0, 0)
    grid.setHorizontalSpacing(10)
    grid.setVerticalSpacing(5)
    grid.setColumnMinimumWidth(0, 128)
    grid.setColumnStretch(1, 1)
    return grid


def cell_grid(parent: QWidget, columns: int) -> QGridLayout:
    """A grid of cells of one width."""
    grid = QGridLayout(parent)
    grid.setContentsMargins(0, 0, 0, 0)
    grid.setHorizontalSpacing(8)
    grid.setVerticalSpacing(4)
    for column in range(columns):
        grid.setColumnStretch(column, 1)
    return grid


def cell_of(field: Field) -> tuple[QWidget, QLabel]:
    """A field under its title."""
    cell = QWidget()
    label = QLabel(field.name(), textFormat=Qt.TextFormat.PlainText)
    label.setBuddy(field)
    label.setWordWrap(True)
    label.setObjectName("quiet")
    label.setToolTip(field.control().toolTip())
    wear(label, Role.SMALL)
    stack = QVBoxLayout(cell)
    stack.setContentsMargins(0, 0, 0, 0)
    stack.setSpacing(1)
    stack.addWidget(label)
    stack.addWidget(field)
    return cell, label


def add_row(grid: QGridLayout, row: int, field: Field) -> QLabel:
    """Put a field into a row, its title beside its first line."""
    label = QLabel(field.name(), textFormat=Qt.TextFormat.PlainText)
    label.setBuddy(field)
    label.setWordWrap(True)
    label.setToolTip(field.control().toolTip())
    grid.addWidget(label, row, 0, Qt.AlignmentFlag.AlignTop)
    label.setMinimumHeight(field.control().sizeHint().height())
    label.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
    grid.addWidget(field, row, 1, Qt.AlignmentFlag.AlignTop)
    return label


def heading(text: str) -> QLabel:
    """The title of a group of rows."""
    label = QLabel(text, wordWrap=True, textFormat=Qt.TextFormat.PlainText)
    wear(label, Role.STRONG)
    label.setContentsMargins(0, 6, 0, 0)
    return label


def quiet(text: str = "") -> QLabel:
    """A line of small print that wraps."""
    label = QLabel(text, wordWrap=True, textFormat=Qt.TextFormat.PlainText)
    label.setObjectName("quiet")
    label.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Minimum)
    return label


def paragraph(text: str = "") -> QLabel:
    """A text in a column that scrolls: as tall as its lines at the width it is given, and no taller."""
    label = QLabel(text, wordWrap=True, textFormat=Qt.TextFormat.PlainText)
    policy = QSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
    policy.setHeightForWidth(True)
    label.setSizePolicy(policy)
    return label


def small_button(text: str, name: str) -> QToolButton:
    """A button with a sign or a word or two, and what it is called aloud."""
    button = QToolButton()
    button.setText(text)
    button.setAccessibleName(name)
    button.setToolTip(plain_tip(name))
    button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
    return button


def column(parent: QWidget) -> QVBoxLayout:
    """Groups of rows under one another."""
    layout = QVBoxLayout(parent)
    layout.setContentsMargins(0, 0, 0, 0)
    layout.setSpacing(6)
    return layout
