"""A visit as rows of a workbook: the form that papers print, and what was typed into it read back.

The form says in its first row how suctions are signed, and beside each reading its unit. Nothing is guessed: what
cannot be read is refused with its cell, and nothing of that workbook is taken.
"""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterable, Sequence
from datetime import date, datetime
from pathlib import Path
from typing import Any, Final, NamedTuple, cast, get_args

from pydantic import ValidationError

from workbench.design.capacity import CAPACITIES, beyond
from workbench.design.design import Design
from workbench.design.faults import faults_in
from workbench.design.record import Address, Record, field_facts
from workbench.design.visits import (
    Conditions,
    FlowReading,
    GaugeReading,
    HoleCheck,
    OutletReading,
    PowerReading,
    RadonResult,
    RiserReading,
    RoomReading,
    SecondReading,
    SoundReading,
    Visit,
)
from workbench.files.beside import Unreadable, read_plain
from workbench.units import SI, Dimension, System, UnitError, format_entry, parse_quantity, unit_of

SHEET: Final = "Readings"
HEADINGS: Final = ("What", "Where", "Read", "Unit", "Accuracy, %")
SIGN: Final = "Sign of suctions"
SIGNS: Final = ("suction is positive", "suction is negative")
_READ, _ACCURACY = "C", "E"
_MOST_PARTS = 200
_MOST_ROWS = 400
_MOST_SAID = 6


class Row(NamedTuple):
    """A row of the form: what it asks for, and where in a visit that stands."""

    what: str
    path: tuple[str, ...]
    record: type[Record]
    place: str = ""
    suction: bool = False

    @property
    def dimension(self) -> Dimension | None:
        """Of its value; None for a word or a text."""
        return cast(Dimension | None, field_facts(self.record, self.path[-1]).dimension)

    @property
    def words(self) -> tuple[str, ...]:
        """What may stand there, where it is one of several words."""
        return tuple(map(str, get_args(self.record.model_fields[self.path[-1]].annotation)))


def _row(record: type[Record], *path: str, place: str = "", suction: bool = False, what: str = "") -> Row:
    return Row(what or field_facts(record, path[-1]).title, path, record, place, suction)


ROWS: Final[tuple[Row, ...]] = (
    _row(Visit, "kind"),
    _row(Visit, "date"),
    _row(Visit, "note"),
    _row(Conditions, "conditions", "fan"),
    _row(Conditions, "conditions", "speed"),
    _row(Conditions, "conditions", "exhausts"),
    _row(Conditions, "conditions", "outdoor_temperature"),
    _row(Conditions, "conditions", "indoor_temperature"),
    _row(GaugeReading, "gauge", "pressure", place="run", suction=True),
    _row(GaugeReading, "gauge", "side"),
    _row(SecondReading, "second_gauge", "pressure", suction=True),
    _row(PowerReading, "power", "power"),
    _row(FlowReading, "flow", "flow"),
    _row(FlowReading, "flow", "method"),
    _row(FlowReading, "flow", "factor"),
    _row(FlowReading, "flow", "air", what="Airflow shown for"),
    _row(OutletReading, "past_fan", "pressure"),
    _row(RiserReading, "risers", "suction", place="point", suction=True),
    _row(HoleCheck, "holes", "suction", place="hole", suction=True),
    _row(RoomReading, "room", "draw_down"),
    _row(SoundReading, "sound", "level", place="place"),
    _row(RadonResult, "radon", "date", what="Radon test: placed"),
    _row(RadonResult, "radon", "ended", what="Radon test: taken up"),
    _row(RadonResult, "radon", "level", what="Radon test: result"),
    _row(RadonResult, "radon", "uncertainty", what="Radon test: uncertainty"),
    _row(RadonResult, "radon", "method", what="Radon test: method"),
)
"""In the order in which they are read at the house."""

_SEVERAL = ("risers", "holes")
_BY_WHAT: Final = {row.what.casefold(): row for row in ROWS}


class VisitSheetError(ValueError):
    """A workbook that is not read, with what is wrong, a sentence each."""

    def __init__(self, said: Sequence[str]) -> None:
        super().__init__(" ".join(said))
        self.said = tuple(said)


def form_rows(
    system: System, *, kind: str, points: Iterable[str] = ("",), holes: Iterable[str] = ("",) * 8
) -> list[tuple[str, str, str, str]]:
    """What a blank form holds: what, where, what already stands there, and the unit."""
    places = {"risers": tuple(points), "holes": tuple(holes)}
    found = [(SIGN, "", SIGNS[int(system.minus_is_suction)], "")]
    for row in ROWS:
        unit = "" if row.dimension is None else unit_of(row.dimension, system).label
        known = {("kind",): kind, ("conditions", "fan"): "running", ("conditions", "exhausts"): "off"}.get(row.path, "")
        found += [(row.what, place, known, unit) for place in places.get(row.path[0], ("",))]
    return found


def read_visit_sheet(path: Path, design: Design) -> Visit:
    """The visit that was typed into a workbook of the form.

    Raises
    ------
    VisitSheetError
    """
    try:
        data = read_plain(path, "workbook_file")
    except Unreadable as refusal:
        raise VisitSheetError([f"{path.name}: {refusal}."]) from refusal
    _check_archive(data)
    reader = _Reader(_cells(data), design)
    return reader.visit()


def _check_archive(data: bytes) -> None:
    """Refuse what would unpack to more than a fair size, or holds what a workbook has no need of; nothing is unpacked.

    Only then are the parts looked at for entities, which a reader would multiply.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            parts = archive.infolist()
            if len(parts) > _MOST_PARTS:
                raise VisitSheetError([f"The workbook holds more than {_MOST_PARTS} parts."])
            if sum(part.file_size for part in parts) > CAPACITIES["workbook_plain"].most:
                raise VisitSheetError([f"The workbook {beyond('workbook_plain').plain()}."])
            if any(part.flag_bits & 1 for part in parts):
                raise VisitSheetError(["The workbook is locked by a password."])
            for part in parts:
                with archive.open(part) as file:
                    content = file.read()
                if part.filename.endswith((".xml", ".rels")) and (
                    b"<!DOCTYPE" in content or b"<!ENTITY" in content or content[:2] in (b"\xff\xfe", b"\xfe\xff")
                ):
                    raise VisitSheetError(["The workbook holds a part that is no plain workbook."])
    except (zipfile.BadZipFile, NotImplementedError, EOFError, OSError, ValueError, RuntimeError) as error:
        if isinstance(error, VisitSheetError):
            raise
        raise VisitSheetError(["This is not a workbook (.xlsx) that can be read."]) from error


def _cells(data: bytes) -> dict[int, tuple[Any, ...]]:
    """Values of the sheet by row."""
    from openpyxl import load_workbook

    try:
        book = load_workbook(io.BytesIO(data), read_only=True, data_only=True, keep_links=False)
        if SHEET not in book.sheetnames:
            raise VisitSheetError([f"The workbook has no sheet called “{SHEET}”; use that of a visit sheet."])
        rows = book[SHEET].iter_rows(max_row=_MOST_ROWS, max_col=len(HEADINGS), values_only=True)
        return dict(enumerate(rows, start=1))
    except VisitSheetError:
        raise
    except Exception as error:
        # what a file from elsewhere makes the library raise is not for it to list
        raise VisitSheetError(["This is not a workbook (.xlsx) that can be read."]) from error


class _Reader:
    """Reads the rows of one sheet; every fault is told with its cell."""

    def __init__(self, rows: dict[int, tuple[Any, ...]], design: Design) -> None:
        self._rows = rows
        self._design = design
        self._minus = False
        self._said: list[str] = []
        self._entered: dict[str, Any] = {}
        self._cell: dict[Address, str] = {}

    def visit(self) -> Visit:
        head = tuple(_text(each) for each in self._rows.get(1, ()))
        if head != HEADINGS:
            raise VisitSheetError([f"{SHEET}!A1: the headings must be {', '.join(HEADINGS)}."])
        body = {n: row for n, row in self._rows.items() if n > 1 and any(_text(each) for each in row)}
        signs = [n for n, row in body.items() if _text(row[0]) == SIGN]
        if len(signs) != 1:
            self._said.append(f"{SHEET}: the row “{SIGN}” must stand there once.")
        for n in signs:
            self._take_sign(n, _text(body[n][2]))
        for n, row in body.items():
            self._take(n, row)
        if "date" not in self._entered and not self._said:
            self._said.append(f"{SHEET}: the date of the visit is missing.")
        found = self._checked() if not self._said else None
        if found is None:
            more = len(self._said) - _MOST_SAID
            raise VisitSheetError([*self._said[:_MOST_SAID], *([f"And {more} more."] if more > 0 else [])])
        return found

    def _checked(self) -> Visit | None:
        try:
            return Visit.model_validate(self._entered)
        except ValidationError as error:
            for fault in faults_in(error):
                self._said.append(f"{self._cell_of(fault.address)}: {fault.text.rstrip('.')}.")
            return None

    def _cell_of(self, address: Address) -> str:
        steps = len(address)
        while steps:
            for known, cell in self._cell.items():
                if known[:steps] == address[:steps]:
                    return cell
            steps -= 1
        return SHEET

    def _refuse(self, column: str, n: int, words: str) -> None:
        self._said.append(f"{SHEET}!{column}{n}: {words.rstrip('.')}.")

    def _take_sign(self, n: int, word: str) -> None:
        if word not in SIGNS:
            self._refuse(_READ, n, f"must be “{SIGNS[0]}” or “{SIGNS[1]}”")
        self._minus = word == SIGNS[1]

    def _take(self, n: int, cells: tuple[Any, ...]) -> None:
        what, where, read, unit, accuracy = (*cells, *(None,) * len(HEADINGS))[: len(HEADINGS)]
        if _text(what) == SIGN or not _text(read):
            return
        row = _BY_WHAT.get(_text(what).casefold())
        if row is None:
            self._refuse("A", n, f"“{_text(what)}” is no reading that a visit has")
            return
        value = self._value(n, row, read, _text(unit))
        if value is None:
            return
        place = self._place(n, row, _text(where)) if row.place else ""
        if place is None:
            return
        record = self._record(row)
        if row.path[-1] in record and row.path[0] not in _SEVERAL:
            self._refuse("A", n, f"“{row.what}” stands twice")
            return
        record[row.path[-1]] = value
        if row.place and place:
            record[row.place] = place
        at = len(self._entered[row.path[0]]) - 1 if row.path[0] in _SEVERAL else None
        base: Address = row.path[:-1] if at is None else (row.path[0], at)
        self._cell[(*base, row.path[-1])] = f"{SHEET}!{_READ}{n}"
        if _text(accuracy) and "accuracy" in row.record.model_fields:
            share = self._share(n, accuracy)
            if share is not None:
                record["accuracy"] = share
                self._cell[(*base, "accuracy")] = f"{SHEET}!{_ACCURACY}{n}"

    def _record(self, row: Row) -> dict[str, Any]:
        """The record that the value of a row belongs to, as it is entered."""
        if len(row.path) == 1:
            return self._entered
        if row.path[0] in _SEVERAL:
            new: dict[str, Any] = {}
            self._entered.setdefault(row.path[0], []).append(new)
            return new
        found: dict[str, Any] = self._entered.setdefault(row.path[0], {})
        return found

    def _place(self, n: int, row: Row, where: str) -> str | None:
        """The name that is meant, and None where there is none such; a name that is a number may be written as one."""
        called, names = {
            "run": ("run", [run.name for _, run in self._design.runs()]),
            "point": ("suction point", [point.name for _, point in self._design.suction_points()]),
            "hole": ("test hole", [hole.name for hole in self._design.holes]),
            "place": ("noise location", [each.name for each in self._design.house.listeners]),
        }[row.place]
        if row.place == "run" and not where:
            return ""
        alike = [name for name in names if name == where] or [name for name in names if _same_number(name, where)]
        if len(alike) == 1:
            return alike[0]
        if where:
            self._refuse("B", n, f"there is no {called} called “{where}”")
        else:
            self._refuse("B", n, f"the name of the {called} is missing")
        return None

    def _value(self, n: int, row: Row, read: Any, unit: str) -> Any:
        if row.dimension is None:
            text = _text(read)
            if row.words:
                # a select list ignores case; so may whoever types
                found = next((word for word in row.words if word.casefold() == text.casefold()), None)
                if found is None:
                    self._refuse(_READ, n, f"must be one of {', '.join(row.words)}")
                return found
            if len(text) > CAPACITIES["letters"].most:
                self._refuse(_READ, n, beyond("letters").plain())
                return None
            return text
        try:
            value = _quantity(read, unit, row.dimension)
        except UnitError as refusal:
            self._refuse(_READ, n, str(refusal))
            return None
        past = row.path[0] == "gauge" and self._past_fan()
        return 0.0 - value if row.suction and self._minus and not past else value

    def _past_fan(self) -> bool:
        """Whether the gauge is tapped past the fan, where no sign is turned."""
        side = next(row.what for row in ROWS if row.path == ("gauge", "side")).casefold()
        return any(
            _text(row[0]).casefold() == side and _text(row[2]).casefold() == "pressure" for row in self._rows.values()
        )

    def _share(self, n: int, accuracy: Any) -> float | None:
        try:
            return _quantity(accuracy, "%", "fraction")
        except UnitError as refusal:
            self._refuse(_ACCURACY, n, str(refusal))
            return None


def _quantity(read: Any, unit: str, dimension: Dimension) -> float:
    """A cell as an SI value: a number in the unit beside it, or a text that may bring its own.

    Raises
    ------
    UnitError
    """
    if isinstance(read, bool | date):
        raise UnitError("is not a number")
    text = repr(read) if isinstance(read, int | float) else _text(read)
    if "e" in text.lower() and re.fullmatch(r"[-+\d.e]+", text.lower()):
        text = f"{float(text):.15f}"
    bare = re.search(r"[^\d\s.,+\-−/]", text) is None
    if bare and not unit and unit_of(dimension, SI).label:
        raise UnitError("the unit is missing: write it beside the number")
    return parse_quantity(f"{text} {unit}".strip() if bare else text, dimension, SI)


def _same_number(one: str, other: str) -> bool:
    try:
        return float(one) == float(other)
    except ValueError:
        return False


def _text(cell: Any) -> str:
    if cell is None:
        return ""
    if isinstance(cell, datetime):
        return cell.date().isoformat()
    return str(cell).strip()


def understood(visit: Visit, system: System) -> list[str]:
    """What was read, a line each, in the units of the reader."""
    lines = []
    for row in ROWS:
        here: Any = visit
        for step in row.path[:1] if len(row.path) > 1 else ():
            here = getattr(here, step)
        for record in here if row.path[0] in _SEVERAL else (here,):
            value = None if record is None else getattr(record, row.path[-1])
            if value in (None, "") or (record is not None and row.path[-1] == "factor" and value == 1.0):
                continue
            place = getattr(record, row.place) if row.place else None
            name = f"{row.what}, {place}" if place else row.what
            told = str(value)
            if row.dimension is not None:
                side = getattr(record, "side", "suction")
                turned = row.suction and system.minus_is_suction and side == "suction"
                told = format_entry(0.0 - value if turned else value, row.dimension, system, with_unit=True)
            lines.append(f"{name}: {told}")
    return lines
