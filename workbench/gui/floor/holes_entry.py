"""What is typed into the table of test holes and pasted into it, and what that proposes."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from functools import partial
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Signal
from PySide6.QtWidgets import QWidget

from workbench.design.design import Design
from workbench.design.faults import Fault
from workbench.design.record import Address, with_value
from workbench.design.slab import HoleReading, TestHole
from workbench.design.wording import sentence
from workbench.files.block import Block, Told, read_block
from workbench.gui.floor.holes_draft import (
    COLUMNS,
    KEYS,
    READINGS,
    add_hole,
    add_reading,
    paste_cells,
    paste_holes,
    point_of,
    points_of,
    quantities,
    reading_of,
    remove_lines,
    rows_of,
    short,
)
from workbench.gui.floor.holes_rows import READING_KEYS, Line, carried_on, lay
from workbench.gui.floor.holes_taken import Row, Taken, Typed
from workbench.gui.kit.readings import reading_title, suctions_of
from workbench.units import (
    MINUS,
    SI,
    System,
    as_read,
    format_entry,
    parse_quantity,
    unit_of,
)

Index = QModelIndex | QPersistentModelIndex
_READING = READING_KEYS[:-1]
_NEEDED = ("applied", "suction")
MOST_PASTED = 100
"""Rows put in at once; a floor with more holes than that would keep the window waiting."""


class HolesEntry(QAbstractTableModel):
    """Holes and readings of the design, and what is typed but not yet a reading.

    A cell that cannot be read, or was refused, keeps its text; the design keeps its last good value. The order of the
    holes changes only when it is asked for: a row never goes away from under the hand that types in it.
    """

    proposed = Signal(object, str)
    faulted = Signal()
    """What is wrong with the cells may have changed."""
    begun = Signal(int)
    """A hole was named, by its position: its first reading is what is typed next."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._design: Design | None = None
        self._holes: tuple[TestHole, ...] = ()
        self._points: list[str] = []
        self._order: list[str] = []
        self._lines: list[Line] = [Line("hole", None, "")]
        self._opened: set[str] = set()
        self._adding: set[str] = set()
        self._typed: dict[Row, dict[str, Typed]] = {}
        self._taken = Taken()
        self._last: tuple[Line, str] | None = None
        self._system: System = SI

    # --- what stands in it ---

    def show_design(self, design: Design) -> None:
        """Show the holes of a design; what is half typed stays."""
        points = points_of(design)
        if design.holes == self._holes and points == self._points and self._design is not None:
            self._design = design
            return
        before, after = ([hole.name for hole in holes] for holes in (self._holes, design.holes))
        self._order, renamed = carried_on(self._order, before, after)
        self._opened = {renamed.get(name, name) for name in self._opened}
        self._typed = {(renamed.get(name, name), r): cells for (name, r), cells in self._typed.items()}
        self._design, self._holes, self._points = design, design.holes, points
        self._drop_what_is_settled()
        self._relay()

    def _drop_what_is_settled(self) -> None:
        counts = {hole.name: len(hole.readings) for hole in self._holes}
        for (name, reading), cells in list(self._typed.items()):
            if name and name not in counts:
                del self._typed[name, reading]
            elif name:
                # what belongs to the hole is settled at once, the rest when the reading is whole
                settled = ("name", "exhausts") if reading >= counts[name] else KEYS
                self._typed[name, reading] = {k: cell for k, cell in cells.items() if cell.fault or k not in settled}
        self._opened = {name for name in self._opened if not name or name in counts}
        self._adding = {name for name in self._adding if name in counts}

    def _relay(self) -> None:
        counts = {}
        for hole in self._holes:
            count = len(hole.readings)
            more = hole.name in self._adding or not count or bool(self._typed.get((hole.name, count)))
            counts[hole.name] = count + more
        counts[""] = 1
        # what waits or is at fault stays in sight
        waiting = {name for (name, _), cells in self._typed.items() if any(key != "name" for key in cells)}
        lines = lay(self._holes, self._order, self._opened | waiting, counts)
        if lines == self._lines:
            self._all_changed()
            return
        self.beginResetModel()
        self._lines = lines
        self.endResetModel()

    def _all_changed(self) -> None:
        self.dataChanged.emit(self.index(0, 0), self.index(len(self._lines) - 1, len(READING_KEYS) - 1))

    def lines(self) -> tuple[Line, ...]:
        """The rows, that of the hole yet to be named last but for its own reading."""
        return tuple(self._lines)

    def row_of(self, hole: int | None, reading: int | None = None) -> int:
        """The row of a hole, None for the one yet to be named, or of a reading; the hole's own where that is shut."""
        own = next(i for i, line in enumerate(self._lines) if line.hole == hole)
        wanted = ("reading", hole, reading)
        return next((i for i, line in enumerate(self._lines) if (line.kind, line.hole, line.reading) == wanted), own)

    @property
    def system(self) -> System:
        """The units shown."""
        return self._system

    def points(self) -> list[str]:
        """Names of the suction points."""
        return self._points

    def faults(self) -> list[tuple[str, str, str]]:
        """Hole, column and sentence of every cell at fault."""
        return [
            (name, key, cell.fault)
            for (name, _), cells in self._typed.items()
            for key, cell in cells.items()
            if cell.fault
        ]

    def _record(self, line: Line) -> tuple[TestHole | None, HoleReading | None]:
        hole = None if line.hole is None else self._holes[line.hole]
        there = hole is not None and line.reading < len(hole.readings)
        return hole, hole.readings[line.reading] if there and hole is not None else None

    def _value(self, line: Line, key: str) -> Any:
        hole, reading = self._record(line)
        if key == "name":
            return None if hole is None else hole.name
        if key == "exhausts":
            return None if hole is None else hole.exhausts
        return None if reading is None else getattr(reading, key)

    # --- opening and ordering ---

    def opened(self, name: str) -> bool:
        """Whether the readings of a hole are in sight."""
        return any(line.kind == "titles" and line.name == name for line in self._lines)

    def open_hole(self, name: str, opened: bool = True) -> None:
        """Bring the readings of a hole into sight, or shut them away; what is half typed stays in sight."""
        if opened != (name in self._opened):
            (self._opened.add if opened else self._opened.discard)(name)
            self._relay()

    def open_all(self, opened: bool) -> None:
        """Bring the readings of every hole into sight, or shut them away."""
        self._opened = {hole.name for hole in self._holes} if opened else set()
        self._relay()

    def order_by(self, names: Sequence[str]) -> None:
        """Lay the holes in an order of their names."""
        if list(names) != self._order:
            self._order = list(names)
            self._relay()

    def open_reading(self, name: str) -> None:
        """A blank row under a hole, for its next reading."""
        self._opened.add(name)
        self._adding.add(name)
        self._relay()

    # --- what a person does to it ---

    def enter(self, line: Line, key: str, text: str) -> None:
        """Take what was typed into a cell."""
        cells = self._typed.setdefault((line.name, line.reading), {})
        cells.pop(key, None)
        try:
            value = self._read(key, text)
        except ValueError as refusal:
            cells[key] = Typed(text, None, sentence(str(refusal)))
            self._settle()
            return
        # a name that could not be taken is no longer asked for
        if value == self._value(line, key) or (key == "at_rest" and value is None and not self._value(line, key)):
            self._settle()
            return
        cells[key] = Typed(text, value)
        self._last = (line, key)
        self._act(line, key, value, cells)
        self._settle()

    def _settle(self) -> None:
        self._drop_what_is_settled()
        self._relay()
        self.faulted.emit()

    def _read(self, key: str, text: str) -> Any:
        text = text.strip()
        dimension = COLUMNS[KEYS.index(key)].dimension
        if not text:
            return None
        if key == "point":
            return point_of(text, self._points)
        if dimension is None:
            return text
        value = parse_quantity(text, dimension, self._system)
        if key not in READINGS:
            return value
        if key == "applied" and self._system.minus_is_suction and value > 0.0:
            raise ValueError(f"Minus is suction here: type {MINUS}{text}")
        return as_read(value, self._system)

    def _act(self, line: Line, key: str, value: Any, cells: dict[str, Typed]) -> None:
        hole, reading = self._record(line)
        if hole is None or line.hole is None:
            self._begin_hole(cells)
            return
        at = ("holes", line.hole)
        if key in ("name", "exhausts"):
            self._taken.note((*at, key), value, {key: cells[key]}, key)
        if key == "name":
            if value is None:
                cells[key].fault = "A hole needs a name."
            else:
                self._propose(lambda design: with_value(design, (*at, "name"), value), f"Rename hole {hole.name}")
        elif key == "exhausts":
            words = f"Change exhausts at hole {hole.name}"
            self._propose(lambda design: with_value(design, (*at, "exhausts"), value), words)
        elif reading is None:
            self._begin_reading(line, hole, cells)
        elif value is None and key in _NEEDED:
            self._take_out(line, hole, [k for k in _READING if k != key])
        else:
            given = 0.0 if value is None and key == "at_rest" else value
            address = (*at, "readings", line.reading, key)
            self._taken.note(address, given, {key: cells[key]}, key)
            self._propose(lambda design: with_value(design, address, given), f"Change a reading at hole {hole.name}")

    def _begin_hole(self, cells: dict[str, Typed]) -> None:
        values = {key: cell.value for key, cell in cells.items() if not cell.fault}
        name = values.get("name")
        if not name:
            return
        known = next((h for h, hole in enumerate(self._holes) if hole.name == name), None)
        rest = {key: cell for key, cell in cells.items() if key not in ("name", "exhausts")}
        if known is not None:
            # a name that stands already means one reading more there
            self._typed.pop(("", 0), None)
            self._typed[name, len(self._holes[known].readings)] = rest
            self.open_reading(name)
            if rest:
                line = Line("reading", known, name, len(self._holes[known].readings))
                self._begin_reading(line, self._holes[known], rest)
            self.begun.emit(known)
            return
        reading = self._reading(rest)
        exhausts = values.get("exhausts")

        def change(design: Design) -> Design:
            made = add_hole(design, name, reading)
            at = ("holes", len(made.holes) - 1, "exhausts")
            return made if exhausts is None else with_value(made, at, exhausts)

        self._taken.note(("holes",), name, cells, self._last_key("name"))
        self._propose(change, f"Add hole {name}")
        added = next((h for h, hole in enumerate(self._holes) if hole.name == name), None)
        if not any(cell.fault for cell in cells.values()):
            self._typed.pop(("", 0), None)
            if reading is None and rest:
                self._typed[name, 0] = rest
        if added is not None:
            self._opened = (self._opened | {name}) - {""}
            self._relay()
            self.begun.emit(added)

    def _begin_reading(self, line: Line, hole: TestHole, cells: dict[str, Typed]) -> None:
        reading = self._reading(cells)
        if reading is None or line.hole is None:
            return
        at = line.hole
        self._taken.note(("holes", at, "readings"), reading, cells, self._last_key(next(iter(cells))))
        self._propose(lambda design: add_reading(design, at, reading), f"Add a reading at hole {hole.name}")
        if not any(cell.fault for cell in cells.values()):
            self._adding.discard(hole.name)

    def _reading(self, cells: dict[str, Typed]) -> HoleReading | None:
        """The reading of a row being typed, when it is whole; what the record refuses is said in its cell."""
        from pydantic import ValidationError

        from workbench.design.faults import faults_in

        values = {key: cell.value for key, cell in cells.items() if not cell.fault and key in _READING}
        try:
            return reading_of(values, self._points)
        except ValidationError as error:
            for fault in faults_in(error):
                if fault.address and fault.address[-1] in cells:
                    cells[str(fault.address[-1])].fault = sentence(fault.text)
        except ValueError as refusal:
            cells.setdefault("point", Typed("")).fault = sentence(str(refusal))
        return None

    def _propose(self, change: Callable[[Design], Design], words: str) -> None:
        self.proposed.emit(change, words)

    def show_faults(self, faults: Sequence[Fault]) -> list[Fault]:
        """Put sentences into the cell typed into last; gives back those that belong to none."""
        left = []
        for fault in faults:
            line, key = self._last or (Line("hole", None, ""), "name")
            step = str(fault.address[-1]) if fault.address else key
            cells = self._typed.get((line.name, line.reading), {})
            cell = cells.get(step if step in cells else key)
            if cell is None:
                left.append(fault)
            else:
                cell.fault = sentence(fault.text)
        if not faults:
            self._last = None
        self._all_changed()
        self.faulted.emit()
        return left

    def _last_key(self, instead: str) -> str:
        """The column typed into last."""
        return self._last[1] if self._last is not None else instead

    def hold_back(self, places: Collection[Address], sentence: str) -> None:
        """Keep what was typed into cells at one of some places, since taken and found to have no answer."""
        if self._design is not None:
            for row, cells in self._taken.back(places, self._design, sentence):
                self._typed[row] = cells | self._typed.get(row, {})
            self._relay()
            self.faulted.emit()

    def forget(self) -> None:
        """Drop what is half typed or was refused: another design is open."""
        self._typed, self._last = {}, None
        self._taken.clear()
        self._relay()
        self.faulted.emit()

    def read_block(self, text: str, columns: Sequence[str], told: Told) -> Block:
        """Read copied cells; those without headings are the `columns` by their keys. BlockError with a sentence."""
        return read_block(text, quantities(self._system), order=columns, told=told, most=MOST_PASTED)

    def take_block(self, block: Block, row: int) -> None:
        """Put copied cells in from a row on; one step, whatever its size. ValueError with a sentence.

        Without names of holes they go over the readings in sight from there down: none goes into a hole that is shut.
        """
        rows = [suctions_of(row, READINGS, self._system) for row in rows_of(block)]
        self._last = None
        if all("name" in found for found in rows):
            self._propose(lambda design: paste_holes(design, rows), "Paste readings")
            return
        places: list[tuple[int | None, int]] = []
        for i, line in enumerate(self._lines[row:]):
            if line.kind == "reading":
                places.append((line.hole, line.reading))
            elif line.kind == "hole" and (i == 0 or not self.opened(line.name)):
                break
        self._propose(lambda design: paste_cells(design, places, rows), "Paste readings")

    def remove(self, rows: Sequence[int]) -> None:
        """Take rows away: that of a hole with all that was read at it, or single readings."""
        lines = [self._lines[row] for row in sorted(set(rows))]
        holes = [line.hole for line in lines if line.kind == "hole" and line.hole is not None]
        readings = []
        for line in lines:
            if line.kind == "reading" or line.hole is None:
                self._typed.pop((line.name, line.reading), None)
            if line.kind == "reading" and line.hole is not None and line.hole not in holes:
                if self._record(line)[1] is not None:
                    readings.append((line.hole, line.reading))
                else:
                    # only a row waiting for its reading
                    self._adding.discard(line.name)
        self._last = None
        for name in (self._holes[hole].name for hole in holes):
            self._typed = {place: cells for place, cells in self._typed.items() if place[0] != name}
        if holes or readings:
            names = list(dict.fromkeys(self._holes[hole].name for hole in [*holes, *(hole for hole, _ in readings)]))
            words = f"Remove {'hole' if holes else 'readings at'} {', '.join(names)}"
            self._propose(partial(remove_lines, holes=holes, readings=readings), words)
        self._settle()

    def clear(self, cells: Sequence[tuple[int, int]]) -> None:
        """Empty cells; a reading that loses what it needs is taken out, and the rest of it waits in its row."""
        wanted: dict[Line, list[str]] = {}
        for row, column in cells:
            if self._lines[row].kind == "reading":
                wanted.setdefault(self._lines[row], []).append(READING_KEYS[column])
        # from the foot up, so that a reading taken out moves none that is still to come
        for line in sorted(wanted, key=lambda line: -line.reading):
            hole, reading = self._record(line)
            keys = wanted[line]
            if hole is not None and reading is not None and any(key in _NEEDED for key in keys):
                self._take_out(line, hole, [key for key in _READING if key not in keys])
                self._settle()
            else:
                for key in keys:
                    self.enter(line, key, "")

    def _take_out(self, line: Line, hole: TestHole, kept: Sequence[str]) -> None:
        rest = {key: Typed(self._text(line, key), self._value(line, key)) for key in kept}
        self._typed.pop((line.name, line.reading), None)
        taken = partial(remove_lines, holes=[], readings=[(line.hole or 0, line.reading)])
        self._propose(taken, f"Remove a reading at hole {hole.name}")
        place = (line.name, len(hole.readings) - 1)
        self._typed[place] = {key: cell for key, cell in rest.items() if cell.text} | self._typed.get(place, {})

    def text_of(self, cells: Sequence[tuple[int, int]]) -> str:
        """Cells for the clipboard, parted by tabs: one as it is, more as readings with their holes and titles."""
        if len(cells) == 1:
            (row, column) = cells[0]
            return self._ascii(self._lines[row], self._lines[row].key(column))
        chosen = {self._lines[row] for row, _ in cells}
        whole = {line.hole for line in chosen if line.kind == "hole"}
        keys = [key for key in KEYS if len(self._points) > 1 or key != "point"]
        if not whole:
            columns = {READING_KEYS[column] for _, column in cells}
            keys = [key for key in keys if key in columns or key == "name"]
        rows = []
        for name in self._order:
            hole = next(h for h, present in enumerate(self._holes) if present.name == name)
            for r in range(max(len(self._holes[hole].readings), 1)):
                line = Line("reading", hole, name, r)
                if hole in whole or line in chosen:
                    rows.append("\t".join(name if key == "name" else self._ascii(line, key) for key in keys))
        return "\n".join(["\t".join(title_of(key, self._system, parted=" ") for key in keys), *rows])

    def _ascii(self, line: Line, key: str) -> str:
        return self._text(line, key).replace(MINUS, "-") if key else ""

    def _text(self, line: Line, key: str, *, whole: bool = True) -> str:
        cell = self._typed.get((line.name, line.reading), {}).get(key)
        if cell is not None:
            return cell.text
        # of the hole, and so told once
        value = None if line.reading and key == "exhausts" else self._value(line, key)
        dimension = COLUMNS[KEYS.index(key)].dimension
        if value is None:
            return ""
        if dimension is None:
            return str(value)
        value = as_read(value, self._system) if key in READINGS else value
        return format_entry(value, dimension, self._system) if whole else short(value, dimension, self._system)

    def _fault(self, line: Line, key: str) -> str:
        cell = self._typed.get((line.name, line.reading), {}).get(key)
        return cell.fault if cell is not None else ""


def title_of(key: str, system: System, *, parted: str = "\n") -> str:
    """Title of a column of readings with its unit, in brackets where both share a line, and the sign of suction."""
    column = COLUMNS[KEYS.index(key)]
    if column.dimension is None:
        return column.title
    unit = unit_of(column.dimension, system).label
    if parted != "\n":
        return f"{column.title} ({unit})"
    title = f"{column.title}\n{unit}"
    return reading_title(title, system) if column.reading else title
