"""What stands in the table of test holes: the design's readings, and what is typed but not yet one."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import Any

from msgspec import Struct
from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt, Signal
from PySide6.QtGui import QColor
from PySide6.QtWidgets import QWidget

from workbench.design.design import Design
from workbench.design.faults import Fault
from workbench.design.record import with_value
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
)
from workbench.gui.kit.readings import reading_title, suctions_of
from workbench.gui.kit.theme import LIGHT, Theme
from workbench.gui.kit.tips import plain_tip
from workbench.gui.kit.type_scale import Role, font_of
from workbench.units import (
    MINUS,
    SI,
    Dimension,
    System,
    as_read,
    format_entry,
    format_quantity,
    parse_quantity,
    unit_of,
)

Index = QModelIndex | QPersistentModelIndex
_TOP = QModelIndex()
_ROLE = Qt.ItemDataRole
_READING = ("point", "at_rest", "applied", "flow", "suction")
_NEEDED = ("applied", "suction")
MOST_PASTED = 100
"""Rows put in at once; a floor with more holes than that would keep the window waiting."""


class Line(Struct, frozen=True):
    """A row of the table: a hole by position and name, None and "" for the blank row, and its reading's position."""

    hole: int | None
    name: str
    reading: int


class _Typed(Struct):
    text: str
    value: Any = None
    fault: str = ""


class HolesModel(QAbstractTableModel):
    """Holes and readings of the design, one row a reading, and what is typed but not yet a reading.

    A cell that cannot be read, or was refused, keeps its text; the design keeps its last good value.
    """

    proposed = Signal(object, str)
    faulted = Signal()
    """What is wrong with the cells may have changed."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._design: Design | None = None
        self._holes: tuple[TestHole, ...] = ()
        self._points: list[str] = []
        self._lines: list[Line] = [Line(None, "", 0)]
        self._open: set[str] = set()
        self._typed: dict[tuple[str, int], dict[str, _Typed]] = {}
        self._last: tuple[Line, str] | None = None
        self._system: System = SI
        self._theme = LIGHT

    # --- what stands in it ---

    def show_design(self, design: Design) -> None:
        """Show the holes of a design; what is half typed stays."""
        points = points_of(design)
        if design.holes == self._holes and points == self._points and self._design is not None:
            self._design = design
            return
        self._design, self._holes, self._points = design, design.holes, points
        self._drop_what_is_settled()
        self._relay()

    def _drop_what_is_settled(self) -> None:
        counts = {hole.name: len(hole.readings) for hole in self._holes}
        for (name, reading), cells in list(self._typed.items()):
            if name and name not in counts:
                del self._typed[name, reading]
            elif reading < counts.get(name, 0):
                kept = {key: cell for key, cell in cells.items() if cell.fault}
                self._typed[name, reading] = kept
        self._open = {name for name in self._open if name in counts}

    def _relay(self) -> None:
        lines = []
        for h, hole in enumerate(self._holes):
            count = len(hole.readings)
            more = hole.name in self._open or not count or bool(self._typed.get((hole.name, count)))
            lines += [Line(h, hole.name, r) for r in range(count + more)]
        lines.append(Line(None, "", 0))
        if lines == self._lines:
            self._all_changed()
            return
        self.beginResetModel()
        self._lines = lines
        self.endResetModel()

    def _all_changed(self) -> None:
        self.dataChanged.emit(self.index(0, 0), self.index(len(self._lines) - 1, len(KEYS) - 1))

    def lines(self) -> tuple[Line, ...]:
        """The rows, the blank one last."""
        return tuple(self._lines)

    def line_of(self, hole: int, reading: int = 0) -> int:
        """The row of a hole's reading."""
        return next(i for i, line in enumerate(self._lines) if (line.hole, line.reading) == (hole, reading))

    def points(self) -> list[str]:
        """Names of the suction points."""
        return self._points

    def set_system(self, system: System) -> None:
        """Show other units; what is half typed stays as it was typed."""
        self._system = system
        self._all_changed()
        self.headerDataChanged.emit(Qt.Orientation.Horizontal, 0, len(KEYS) - 1)

    def apply_theme(self, theme: Theme) -> None:
        self._theme = theme
        self._all_changed()

    def faults(self) -> list[tuple[Line, str, str]]:
        """Row, column and sentence of every cell at fault."""
        return [
            (line, key, cell.fault)
            for line in self._lines
            for key, cell in self._typed.get((line.name, line.reading), {}).items()
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

    # --- what a person does to it ---

    def open_reading(self, name: str) -> None:
        """A blank row under a hole, for its next reading."""
        self._open.add(name)
        self._relay()

    def enter(self, line: Line, key: str, text: str) -> None:
        """Take what was typed into a cell."""
        cells = self._typed.setdefault((line.name, line.reading), {})
        cells.pop(key, None)
        try:
            value = self._read(key, text)
        except ValueError as refusal:
            cells[key] = _Typed(text, None, sentence(str(refusal)))
            self._settle()
            return
        # a name that could not be taken is no longer asked for
        if value == self._value(line, key) or (key == "at_rest" and value is None and not self._value(line, key)):
            self._settle()
            return
        cells[key] = _Typed(text, value)
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

    def _act(self, line: Line, key: str, value: Any, cells: dict[str, _Typed]) -> None:
        hole, reading = self._record(line)
        if hole is None or line.hole is None:
            self._begin_hole(cells)
            return
        at = ("holes", line.hole)
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
            self._propose(lambda design: with_value(design, address, given), f"Change a reading at hole {hole.name}")

    def _begin_hole(self, cells: dict[str, _Typed]) -> None:
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
            self._open.add(name)
            if rest:
                line = Line(known, name, len(self._holes[known].readings))
                self._begin_reading(line, self._holes[known], rest)
            return
        reading = self._reading(rest)
        exhausts = values.get("exhausts")

        def change(design: Design) -> Design:
            made = add_hole(design, name, reading)
            at = ("holes", len(made.holes) - 1, "exhausts")
            return made if exhausts is None else with_value(made, at, exhausts)

        self._propose(change, f"Add hole {name}")
        if not any(cell.fault for cell in cells.values()):
            self._typed.pop(("", 0), None)
            if reading is None and rest:
                self._typed[name, 0] = rest

    def _begin_reading(self, line: Line, hole: TestHole, cells: dict[str, _Typed]) -> None:
        reading = self._reading(cells)
        if reading is None or line.hole is None:
            return
        at = line.hole
        self._propose(lambda design: add_reading(design, at, reading), f"Add a reading at hole {hole.name}")
        if not any(cell.fault for cell in cells.values()):
            self._open.discard(hole.name)

    def _reading(self, cells: dict[str, _Typed]) -> HoleReading | None:
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
            cells.setdefault("point", _Typed("")).fault = sentence(str(refusal))
        return None

    def _propose(self, change: Callable[[Design], Design], words: str) -> None:
        self.proposed.emit(change, words)

    def show_faults(self, faults: Sequence[Fault]) -> list[Fault]:
        """Put sentences into the cell typed into last; gives back those that belong to none."""
        left = []
        for fault in faults:
            line, key = self._last or (Line(None, "", 0), "name")
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

    def read_block(self, text: str, columns: Sequence[str], told: Told) -> Block:
        """Read copied cells; those without headings are the `columns` by their keys. BlockError with a sentence."""
        return read_block(text, quantities(self._system), order=columns, told=told, most=MOST_PASTED)

    def take_block(self, block: Block, row: int) -> None:
        """Put copied cells in from a row on; one step, whatever its size. ValueError with a sentence."""
        rows = [suctions_of(row, READINGS, self._system) for row in rows_of(block)]
        self._last = None
        if all("name" in found for found in rows):
            self._propose(lambda design: paste_holes(design, rows), "Paste readings")
        else:
            places = [(line.hole, line.reading) for line in self._lines[row:]]
            self._propose(lambda design: paste_cells(design, places, rows), "Paste readings")

    def remove(self, rows: Sequence[int]) -> None:
        """Take rows away: their readings, and holes none of whose readings is left."""
        lines = [self._lines[row] for row in sorted(set(rows))]
        places = [(line.hole, line.reading) for line in lines if line.hole is not None]
        for line in lines:
            self._typed.pop((line.name, line.reading), None)
            hole, reading = self._record(line)
            if hole is not None and reading is None and hole.readings:
                # only a row waiting for its reading
                self._open.discard(line.name)
                places = [place for place in places if place != (line.hole, line.reading)]
        if places:
            names = list(dict.fromkeys(line.name for line in lines if (line.hole, line.reading) in places))
            self._last = None
            self._propose(partial(remove_lines, lines=places), f"Remove readings at {', '.join(names)}")
        self._settle()

    def clear(self, cells: Sequence[tuple[int, int]]) -> None:
        """Empty cells; a reading that loses what it needs is taken out, and the rest of it waits in its row."""
        wanted: dict[Line, list[str]] = {}
        for row, column in cells:
            if KEYS[column] != "name":
                wanted.setdefault(self._lines[row], []).append(KEYS[column])
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
        rest = {key: _Typed(self._text(line, key), self._value(line, key)) for key in kept}
        self._typed.pop((line.name, line.reading), None)
        taken = partial(_without_reading, hole=line.hole or 0, reading=line.reading)
        self._propose(taken, f"Remove a reading at hole {hole.name}")
        place = (line.name, len(hole.readings) - 1)
        self._typed[place] = {key: cell for key, cell in rest.items() if cell.text} | self._typed.get(place, {})

    def text_of(self, cells: Sequence[tuple[int, int]]) -> str:
        """Cells for the clipboard, parted by tabs; with a line of titles when there is more than one row."""
        rows, columns = sorted({row for row, _ in cells}), sorted({column for _, column in cells})
        lines = ["\t".join(self._text(self._lines[row], KEYS[c]).replace(MINUS, "-") for c in columns) for row in rows]
        if len(rows) > 1 and len(columns) > 1:
            lines.insert(0, "\t".join(self._title(c, ascii_unit=True) for c in columns))
        return "\n".join(lines)

    # --- as Qt asks for it ---

    def rowCount(self, parent: Index = _TOP) -> int:
        return 0 if parent.isValid() else len(self._lines)

    def columnCount(self, parent: Index = _TOP) -> int:
        return 0 if parent.isValid() else len(KEYS)

    def flags(self, index: Index) -> Qt.ItemFlag:
        if not index.isValid():
            return Qt.ItemFlag.NoItemFlags
        flags = Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable
        line = self._lines[index.row()]
        # name and exhausts belong to the hole, and stand in its first row
        if line.reading == 0 or KEYS[index.column()] in _READING:
            flags |= Qt.ItemFlag.ItemIsEditable
        return flags

    def _text(self, line: Line, key: str, *, whole: bool = True) -> str:
        cell = self._typed.get((line.name, line.reading), {}).get(key)
        if cell is not None:
            return cell.text
        if line.reading and key in ("name", "exhausts"):
            return ""
        value = self._value(line, key)
        dimension = COLUMNS[KEYS.index(key)].dimension
        if value is None:
            return ""
        if dimension is None:
            return str(value)
        value = as_read(value, self._system) if key in READINGS else value
        return format_entry(value, dimension, self._system) if whole else _short(value, dimension, self._system)

    def _fault(self, line: Line, key: str) -> str:
        cell = self._typed.get((line.name, line.reading), {}).get(key)
        return cell.fault if cell is not None else ""

    def data(self, index: Index, role: int = _ROLE.DisplayRole) -> Any:
        if not index.isValid():
            return None
        line, key = self._lines[index.row()], KEYS[index.column()]
        column = COLUMNS[index.column()]
        if role in (_ROLE.DisplayRole, _ROLE.EditRole):
            text = self._text(line, key, whole=role == _ROLE.EditRole)
            blank = role == _ROLE.DisplayRole and key == "name" and line.hole is None and not text
            return "+ hole" if blank else text
        if role == _ROLE.TextAlignmentRole:
            side = Qt.AlignmentFlag.AlignLeft if column.dimension is None else Qt.AlignmentFlag.AlignRight
            return side | Qt.AlignmentFlag.AlignVCenter
        fault = self._fault(line, key)
        if role == _ROLE.ForegroundRole:
            if fault:
                return QColor(self._theme.bad)
            return QColor(self._theme.muted) if line.hole is None and not self._text(line, key) else None
        if role == _ROLE.BackgroundRole:
            return QColor(self._theme.raised) if line.hole is not None and line.hole % 2 else None
        if role == _ROLE.FontRole and key == "name" and line.hole is not None:
            return font_of(Role.STRONG)
        if role == _ROLE.ToolTipRole:
            return plain_tip(
                fault or (line.name if key == "name" and line.hole is not None else column.told(self._system))
            )
        if role == _ROLE.AccessibleTextRole:
            unit = "" if column.dimension is None else unit_of(column.dimension, self._system).label
            stands = f"{self._text(line, key)} {unit}".strip() if self._text(line, key) else "empty"
            return f"{column.title}, {line.name or 'new hole'}: {stands}. {fault}".strip()
        return None

    def setData(self, index: Index, value: Any, role: int = _ROLE.EditRole) -> bool:
        if not index.isValid() or role != _ROLE.EditRole:
            return False
        line, key = self._lines[index.row()], KEYS[index.column()]
        if str(value) != self._text(line, key):
            self.enter(line, key, str(value))
        return True

    def _title(self, column: int, *, ascii_unit: bool = False) -> str:
        dimension = COLUMNS[column].dimension
        title = COLUMNS[column].title
        if dimension is None:
            return title
        unit = unit_of(dimension, self._system).label
        return f"{title} ({unit})" if ascii_unit else f"{title}\n{unit}"

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = _ROLE.DisplayRole) -> Any:
        if orientation == Qt.Orientation.Vertical or not 0 <= section < len(KEYS):
            return None
        if role == _ROLE.DisplayRole:
            title = self._title(section)
            return reading_title(title, self._system) if COLUMNS[section].reading else title
        if role == _ROLE.ToolTipRole:
            return COLUMNS[section].told(self._system)
        if role == _ROLE.TextAlignmentRole:
            left = COLUMNS[section].dimension is None
            return (Qt.AlignmentFlag.AlignLeft if left else Qt.AlignmentFlag.AlignRight) | Qt.AlignmentFlag.AlignBottom
        return None


def _without_reading(design: Design, hole: int, reading: int) -> Design:
    readings = design.holes[hole].readings
    return with_value(design, ("holes", hole, "readings"), readings[:reading] + readings[reading + 1 :])


def _short(value: float, dimension: Dimension, system: System) -> str:
    """A value to the figures a narrow cell holds; all of it stands there while it is edited."""
    size = abs(value) / unit_of(dimension, system).factor
    digits = 4 if size >= 0.1 else 3 if size >= 0.01 else 2
    text = format_quantity(value, dimension, system, with_unit=False, digits=digits)
    return text.rstrip("0").rstrip(".") if "." in text else text
