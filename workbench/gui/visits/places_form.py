"""Suction read at each of several places on a visit: test holes, or the risers of suction points."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QGuiApplication, QKeyEvent, QKeySequence
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QWidget

from workbench.design.record import Address, Record, field_facts
from workbench.design.visit_edit import Several, with_instrument, with_suction, with_suctions
from workbench.design.visits import HoleCheck, RiserReading
from workbench.files.block import Block, Quantity, read_block
from workbench.gui.kit.elided import ElidedLabel
from workbench.gui.kit.fields import QuantityEdit
from workbench.gui.kit.forms import Form, cell_grid, cell_of, column, paragraph, small_button
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.pasted import looks_like_a_table, take_pasted
from workbench.gui.kit.readings import reading_title
from workbench.units import SI, Dimension, System, as_read, unit_of

_MOST_PASTED = 200
_HOW = ("accuracy", "resolution")


class PlacesForm(Guarded, Form):
    """A row for each place of the design; one that was not read is empty. Takes pasted cells."""

    def __init__(self, what: Several, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._what: Several = what
        self._kind: type[Record] = HoleCheck if what == "holes" else RiserReading
        self._key = "hole" if what == "holes" else "point"
        facts = field_facts(self._kind, "suction")
        self._dimension: Dimension = "hole_pressure" if what == "holes" else "pressure"
        self._limits = facts.lower, facts.upper
        self._title = "Suction at test holes" if what == "holes" else "Suction just above the slab"
        self._whose = ""
        self._at = -1
        self._system: System = SI
        self._names: tuple[str, ...] = ()
        self._rows: list[tuple[QLabel, QuantityEdit]] = []
        layout = column(self)
        head = QHBoxLayout()
        self._head = QLabel(textFormat=Qt.TextFormat.PlainText)
        self.paste_button = small_button("Paste", f"Paste {self._title.lower()}: names and readings from a spreadsheet")
        self.paste_button.clicked.connect(self.paste)
        head.addWidget(self._head, 1)
        head.addWidget(self.paste_button, 0, Qt.AlignmentFlag.AlignBottom)
        layout.addLayout(head)
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(8)
        self._grid.setVerticalSpacing(4)
        self._grid.setColumnStretch(0, 3)
        self._grid.setColumnStretch(1, 2)
        layout.addLayout(self._grid)
        self._fault = paragraph()
        self._fault.setObjectName("fault")
        self._fault.hide()
        layout.addWidget(self._fault)
        self._how = QWidget()
        cells = cell_grid(self._how, 2)
        self.how: dict[str, QuantityEdit] = {}
        for i, name in enumerate(_HOW):
            of = field_facts(self._kind, name)
            dimension: Dimension = "fraction" if name == "accuracy" else self._dimension
            edit = QuantityEdit(f"{self._title}: {of.title.lower()}", dimension, lower=of.lower, upper=of.upper)
            edit.set_hint(of.help)
            edit.committed.connect(lambda value, name=name: self._set_how(name, value))
            cell, label = cell_of(edit)
            label.setText(of.title)
            cells.addWidget(cell, 0, i)
            self.how[name] = edit
        layout.addWidget(self._how)
        self._title_columns()

    def _title_columns(self) -> None:
        self._head.setText(reading_title(self._title, self._system).replace("\n", ", "))

    def set_system(self, system: System) -> None:
        """Show and read pasted numbers in other units."""
        self._system = system
        super().set_system(system)
        self._title_columns()

    def field(self, place: str) -> QuantityEdit:
        """The field of a place. KeyError where there is none."""
        return dict(zip(self._names, (edit for _, edit in self._rows), strict=True))[place]

    def show_places(self, at: int, read: Sequence[Any], names: Sequence[str], whose: str) -> None:
        """Show what was read on the visit at a position, at places of these names."""
        self._whose = whose
        if at != self._at:
            self.show_fault("")
        self._at = at
        while len(self._rows) > len(names):
            self._drop_row()
        while len(self._rows) < len(names):
            self._append_row()
        self._names = tuple(names)
        own = {getattr(each, self._key): (i, each) for i, each in enumerate(read)}
        base: Address = ("visits", at, self._what)
        self._fields = {}
        for (label, edit), name in zip(self._rows, names, strict=True):
            i, each = own.get(name, (None, None))
            label.setText(name)
            edit.set_name(f"{self._title}: {name}")
            edit.stand_at((*base, name))
            edit.set_value(None if each is None else each.suction)
            edit.set_fault("")
            self._fields[(*base, name if i is None else i, "suction")] = edit
        self._how.setVisible(bool(read))
        for name, edit in self.how.items():
            if read:
                edit.stand_at((*base, name))
                edit.set_value(getattr(read[0], name))
                self._fields[(*base, 0, name)] = edit
        self.paste_button.setVisible(bool(names))

    def show_fault(self, words: str) -> None:
        """Say what is wrong with what was pasted."""
        self._fault.setText(words)
        self._fault.setVisible(bool(words))

    def _append_row(self) -> None:
        row = len(self._rows)
        label = ElidedLabel()
        low, high = self._limits
        edit = QuantityEdit("", self._dimension, self._system, lower=low, upper=high, optional=True, reading=True)
        edit.control().installEventFilter(self)
        edit.committed.connect(lambda value, row=row: self._committed(row, value))
        self._grid.addWidget(label, row, 0)
        self._grid.addWidget(edit, row, 1, Qt.AlignmentFlag.AlignTop)
        label.setBuddy(edit)
        self._rows.append((label, edit))

    def _drop_row(self) -> None:
        for widget in self._rows.pop():
            self._grid.removeWidget(widget)
            widget.hide()
            widget.deleteLater()

    def _committed(self, row: int, value: float | None) -> None:
        at, what, place = self._at, self._what, self._names[row]
        verb = "Remove" if value is None else "Enter"
        words = f"{verb} suction at {place} of {self._whose}"
        self.propose(lambda design: with_suction(design, at, what, place, value), words, self._rows[row][1])

    def _set_how(self, name: str, value: float) -> None:
        at, what = self._at, self._what
        title = field_facts(self._kind, name).title.lower()
        words = f"Change {title} for {self._title.lower()} of {self._whose}"
        self.propose(lambda design: with_instrument(design, at, what, name, value), words, self.how[name])

    def quantities(self) -> tuple[Quantity, ...]:
        """What a pasted block may hold: the place, and the suction in the unit shown where it names none."""
        places = r"(test )?holes?|names?|place|where" if self._what == "holes" else r"(suction )?points?|risers?|names?"
        unit = unit_of(self._dimension, self._system).label
        return (
            Quantity(self._key, "Test hole" if self._what == "holes" else "Suction point", places, None, needed=True),
            Quantity("suction", "Suction", r"suction|vacuum|pressure|read", self._dimension, unit, needed=True),
        )

    def paste(self) -> None:
        """Read the clipboard as places and suctions; what cannot be read is said under the rows."""
        text, asked = QGuiApplication.clipboard().text(), self.quantities()
        take_pasted(
            self, lambda told: read_block(text, asked, told=told, most=_MOST_PASTED), self._take, self.show_fault
        )

    def _take(self, block: Block) -> None:
        self.show_fault("")
        system, at, what = self._system, self._at, self._what
        read = [(str(row[self._key]), as_read(float(row["suction"]), system)) for row in block.records()]
        unknown = [place for place, _ in read if place not in self._names]
        if unknown:
            kind = "test hole" if what == "holes" else "suction point"
            self.show_fault(f"There is no {kind} called “{unknown[0]}”. Nothing was pasted.")
            return
        twice = next((place for i, (place, _) in enumerate(read) if place in (p for p, _ in read[:i])), None)
        if twice is not None:
            self.show_fault(f"“{twice}” stands twice in what is pasted. Nothing was pasted.")
            return
        self.propose(
            lambda design: with_suctions(design, at, what, read), f"Paste {self._title.lower()} of {self._whose}"
        )

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
