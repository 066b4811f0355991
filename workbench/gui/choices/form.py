"""What is tried, within which limits and at what costs: the left side of the page of choices."""

from __future__ import annotations

import math
import re
from collections.abc import Hashable, Sequence
from functools import partial
from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QListWidget, QListWidgetItem, QToolButton, QWidget

from workbench.design.catalogue import pipe_kinds
from workbench.design.design import Design
from workbench.design.record import with_value
from workbench.design.search import EXAMPLE, Costs, PipePrice, Search
from workbench.design.slab import Position
from workbench.gui.kit.field import Field, TypedField
from workbench.gui.kit.fields import QuantityEdit, SwitchEdit
from workbench.gui.kit.forms import Form, GroupForm, RecordForm, add_row, column, form_grid, heading, paragraph
from workbench.gui.kit.tips import plain_tip
from workbench.units import (
    SI,
    Dimension,
    System,
    exact_entry,
    format_entry,
    format_quantity,
    parse_quantity,
    to_display,
    unit_of,
)

_LIMITS = ("sound_limit", "sound_source", "velocity_limit", "velocity_source")
_COSTS = ("digging", "joint", "slab", "point", "years", "rate")
_ROWS_IN_SIGHT = 5
_FIGURES = 3
"""In which values of a line are written that were entered in another unit."""


class QuantitiesEdit(TypedField):
    """Several quantities of one kind in a line, parted by semicolons; kept and emitted as a tuple in SI."""

    def __init__(self, name: str, dimension: Dimension, system: System) -> None:
        super().__init__(name, optional=False, steps=False, parent=None)
        self._dimension, self._system = dimension, system
        self._editor.set_suffix(unit_of(dimension, system).label)
        self._value = ()

    def set_system(self, system: System) -> None:
        """Show the values in the units of another system."""
        if system != self._system:
            self._system = system
            self._editor.set_suffix(unit_of(self._dimension, system).label)
            self._display()

    def _read(self, text: str) -> tuple[float, ...]:
        parts = (part.strip() for part in re.split(r";|,\s", text))
        # what is shown may be rounded: a value that was left as it stood is no new one
        shown = dict(zip(self._texts(self._value), self._value, strict=True))
        return tuple(
            shown[part] if part in shown else parse_quantity(part, self._dimension, self._system)
            for part in parts
            if part
        )

    def _write(self, value: tuple[float, ...]) -> str:
        return "; ".join(self._texts(value))

    def _texts(self, value: tuple[float, ...]) -> list[str]:
        """Each value: as it was entered in the unit shown; converted ones all to as many figures."""
        entries = [format_entry(one, self._dimension, self._system) for one in value]
        short = [self._rounded(one) or entry for one, entry in zip(value, entries, strict=True)]
        # two that would look alike are told apart
        return short if len(set(short)) == len(short) else entries

    def _rounded(self, value: float) -> str:
        """A converted value in three figures; empty for one entered in this unit, or too small or large for that."""
        shown = to_display(value, self._dimension, self._system)
        if not (exact_entry(value, self._dimension, self._system) and 1e-3 <= abs(shown) < 1e3):
            return ""
        first = math.floor(math.log10(float(f"{abs(shown):.2e}")))
        return f"{shown:.{max(_FIGURES - 1 - first, 0)}f}"


class TicksEdit(Field):
    """Some of several: a list with a box before each."""

    def __init__(self, name: str) -> None:
        self._list = QListWidget()
        super().__init__(name, self._list)
        self.keys: list[Hashable] = []
        self._list.setUniformItemSizes(True)
        self._list.setTextElideMode(Qt.TextElideMode.ElideRight)
        self._list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._list.itemChanged.connect(self._ticked)
        self._showing = False

    def set_choices(self, choices: Sequence[tuple[Hashable, str]]) -> None:
        """Offer other things."""
        if [key for key, _ in choices] == self.keys:
            return
        self.keys = [key for key, _ in choices]
        self._showing = True
        self._list.clear()
        for _, words in choices:
            item = QListWidgetItem(words, self._list)
            item.setFlags(Qt.ItemFlag.ItemIsUserCheckable | Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable)
            item.setCheckState(Qt.CheckState.Unchecked)
            item.setToolTip(plain_tip(words))
        self._showing = False
        rows = min(max(len(choices), 1), _ROWS_IN_SIGHT)
        row = self._list.sizeHintForRow(0) if choices else self.fontMetrics().height()
        self._list.setFixedHeight(rows * row + 2 * self._list.frameWidth() + 2)

    def value(self) -> tuple[Any, ...]:
        return tuple(key for i, key in enumerate(self.keys) if self._list.item(i).checkState() == Qt.CheckState.Checked)

    def _put(self, value: Any) -> None:
        self._showing = True
        for i, key in enumerate(self.keys):
            self._list.item(i).setCheckState(Qt.CheckState.Checked if key in value else Qt.CheckState.Unchecked)
        self._showing = False

    def tick(self, key: Hashable, on: bool) -> None:
        """Tick or clear one, as the person does."""
        state = Qt.CheckState.Checked if on else Qt.CheckState.Unchecked
        self._list.item(self.keys.index(key)).setCheckState(state)

    def _ticked(self) -> None:
        if not self._showing:
            self.committed.emit(self.value())


class _Tried(Form):
    """Fans, pipes, pits, sealing, points."""

    def __init__(self, system: System) -> None:
        super().__init__()
        grid = form_grid(self)
        self.fans = TicksEdit("Fans")
        self.pipes = TicksEdit("Pipes")
        self.pipes.set_choices([(name, name) for name in pipe_kinds()])
        self.pits = QuantitiesEdit("Pit volumes", "volume", system)
        self.pits.set_hint(
            "Volumes tried besides the current one, separated by semicolons; for every suction point alike."
        )
        self.leaks = QuantitiesEdit("Leakage remaining after sealing", "fraction", system)
        self.leaks.set_hint("Share of slab and joint leakage that remains after sealing; separated by semicolons.")
        self.another = SwitchEdit("Also try one more suction point")
        self.east = QuantityEdit("Its position, east", "length", system, optional=True)
        self.north = QuantityEdit("Its position, north", "length", system, optional=True)
        for place in (self.east, self.north):
            place.set_hint("Leave empty for the weakest hole.")
            place.committed.connect(self._placed)
        fields: dict[str, Field] = {
            "fans": self.fans,
            "pipes": self.pipes,
            "pits": self.pits,
            "leak_left": self.leaks,
            "another_point": self.another,
        }
        rows: list[QLabel] = []
        # several values take the whole breadth
        wide: tuple[Field, ...] = (self.fans, self.pipes, self.pits)
        for field in wide:
            label = QLabel(field.name(), textFormat=Qt.TextFormat.PlainText)
            label.setBuddy(field)
            grid.addWidget(label, len(rows), 0, 1, 2)
            grid.addWidget(field, len(rows) + 1, 0, 1, 2)
            rows += [label, label]
        rows.append(add_row(grid, len(rows), self.leaks))
        grid.addWidget(self.another, len(rows), 0, 1, 2)
        self._places = [add_row(grid, len(rows) + 1 + i, field) for i, field in enumerate((self.east, self.north))]
        self._fields = {("search", name): field for name, field in fields.items()}
        self._fields[("search", "another_place")] = self.east
        for name, field in fields.items():
            field.committed.connect(partial(self._committed, name))

    def show_search(self, design: Design) -> None:
        """Show what a design's search tries."""
        search, names = design.search, [fan.name for fan in design.fans]
        self.fans.set_choices([(name, name) for name in names])
        # none named means all, and all ticked is written as none named
        self.fans.set_value(search.fans or tuple(names))
        self.pipes.set_value(search.pipes)
        self.pits.set_value(search.pits)
        self.leaks.set_value(search.leak_left)
        self.another.set_value(search.another_point)
        place = search.another_place
        if place is not None or (self.east.value() is not None and self.north.value() is not None):
            self.east.set_value(None if place is None else place.x)
            self.north.set_value(None if place is None else place.y)
        for field, label in zip((self.east, self.north), self._places, strict=True):
            field.setVisible(search.another_point)
            label.setVisible(search.another_point)

    def set_system(self, system: System) -> None:
        super().set_system(system)
        self.pits.set_system(system)
        self.leaks.set_system(system)

    def _committed(self, name: str, value: Any) -> None:
        field = self._fields[("search", name)]
        if name == "fans" and len(value) == len(self.fans.keys):
            value = ()
        self.propose(lambda design: with_value(design, ("search", name), value), "Change options to try", field)

    def _placed(self) -> None:
        x, y = self.east.value(), self.north.value()
        if (x is None) != (y is None):
            return
        place = None if x is None or y is None else Position(x=x, y=y)
        self.propose(
            lambda design: with_value(design, ("search", "another_place"), place), "Place the next point", self.east
        )


class _PipePrices(GroupForm):
    """The prices of pipe by bore."""

    def __init__(self, system: System) -> None:
        super().__init__()
        self._column = column(self)
        self._system: System = system
        self._rows: list[RecordForm] = []

    def show_prices(self, prices: tuple[PipePrice, ...]) -> None:
        """Show the rows."""
        while len(self._rows) > len(prices):
            row = self._rows.pop()
            self.drop(row)
            row.deleteLater()
        while len(self._rows) < len(prices):
            row = RecordForm(PipePrice, ("up_to", "pipe", "fitting"), self._system)
            self._rows.append(row)
            self.add(row)
            self._column.addWidget(row)
        for i, (row, price) in enumerate(zip(self._rows, prices, strict=True)):
            bore = format_quantity(price.up_to, "small_length", self._system)
            row.show_record(("search", "costs", "pipes", i), price, f"pipe up to {bore}")

    def set_system(self, system: System) -> None:
        self._system = system
        super().set_system(system)


class ChoicesForm(GroupForm):
    """The search of a design as fields, the costs folded away."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.tried = _Tried(SI)
        self.limits = RecordForm(Search, _LIMITS, SI)
        self.costs = RecordForm(Costs, _COSTS, SI)
        self.prices = _PipePrices(SI)
        self.fold = QToolButton()
        self.fold.setText("Costs")
        self.fold.setAccessibleName("Show the costs")
        self.fold.setCheckable(True)
        self.fold.setAutoRaise(True)
        self.fold.setArrowType(Qt.ArrowType.RightArrow)
        self.fold.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        self.fold.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.fold.toggled.connect(self._fold)
        self._folded = QWidget()
        inside = column(self._folded)
        inside.addWidget(paragraph(f"Every price: {EXAMPLE[0].lower()}{EXAMPLE[1:]}"))
        inside.addWidget(self.costs)
        inside.addWidget(heading("Pipe prices by size"))
        inside.addWidget(self.prices)
        rows = column(self)
        rows.addWidget(heading("Options to try (besides the current design)"))
        rows.addWidget(self.tried)
        rows.addWidget(heading("Limits"))
        rows.addWidget(self.limits)
        rows.addWidget(self.fold)
        rows.addWidget(self._folded)
        rows.addStretch(1)
        for form in (self.tried, self.limits, self.costs, self.prices):
            self.add(form)
        self._search: Search | None = None
        self._fans: tuple[str, ...] = ()
        self._fold(False)

    def _fold(self, on: bool) -> None:
        self.fold.setArrowType(Qt.ArrowType.DownArrow if on else Qt.ArrowType.RightArrow)
        self._folded.setVisible(on)

    def show_design(self, design: Design) -> None:
        """Show the search of a design."""
        fans = tuple(fan.name for fan in design.fans)
        if design.search != self._search or fans != self._fans:
            self._search, self._fans = design.search, fans
            self.tried.show_search(design)
            self.limits.show_record(("search",), design.search, "the limits")
            self.costs.show_record(("search", "costs"), design.search.costs, "the costs")
            self.prices.show_prices(design.search.costs.pipes)
        self.set_currency(design.prices.currency)
