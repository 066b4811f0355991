"""Fan points in a block of text: a spreadsheet's clipboard, a CSV file, a data sheet typed off.

Nothing is guessed that would change a value. The decimal mark is settled once for the whole block; a block that can be
read two ways, a unit that is not known, or a cell that is no number refuses the block with a sentence that says where.
"""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Final, Literal, NamedTuple

from workbench.units import SYSTEMS, UnitError, parse_quantity, unit_of

Kind = Literal["flow", "pressure", "power"]
KINDS: Final[tuple[Kind, ...]] = ("flow", "pressure", "power")
USUAL_UNITS: Final[Mapping[Kind, tuple[str, ...]]] = {
    "flow": ("L/s", "m³/h", "m³/s", "cfm"),
    "pressure": ("Pa", "in. w.c.", "mm w.c.", "kPa"),
    "power": ("W",),
}
"""What data sheets of fans are printed in; the first of each is assumed where nothing is said."""
MOST_LINES: Final = 2000

_WORDS: Final[Mapping[Kind, re.Pattern[str]]] = {
    "flow": re.compile(r"(air ?)?flow( rate)?|volume( flow)?|volumenstrom|débit|caudal|portata|\bqv?\b|\bV̇", re.I),
    "pressure": re.compile(r"pressure|suction|vacuum|druck|pression|presión|pressione|[Δd]p\w?\b|\bp_?[stf]?\b", re.I),
    "power": re.compile(r"power|watts?\b|leistung|puissance|potencia|potenza", re.I),
}
_OTHER_WORDS: Final = re.compile(r"sound|level|factor|specific|efficien|velocity|dynamic|density", re.I)
_BRACKETED: Final = re.compile(r"[(\[]([^()\[\]]*(?:\([^()]*\))?[^()\[\]]*)[)\]]\s*$")
_DASHES: Final = frozenset({"-", "–", "—", "−"})
_GROUPING: Final = " '’\u00a0\u2007\u2009\u202f"
_CELL: Final = re.compile(
    rf"(?P<sign>[-+−–]?)\s*(?P<digits>\d(?:[\d.,{_GROUPING}]*[\d.,])?|[.,]\d+)(?P<power>[eE][-+]?\d+)?\s*(?P<unit>.*)",
    re.DOTALL,
)


class TableError(ValueError):
    """A block that cannot be read as points; the message is a sentence for the person who brought it."""


class TableRow(NamedTuple):
    """One point in SI; power None where the block has no power."""

    flow: float
    pressure: float
    power: float | None


@dataclass(frozen=True)
class Column:
    """What a column holds: `kind` None when no header says, `unit` as written or None."""

    kind: Kind | None
    unit: str | None


@dataclass(frozen=True)
class Block:
    """Numbers as written: digits with a decimal point, empty where a cell is; and what the header says of them."""

    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]

    @property
    def named(self) -> bool:
        """Whether a header says which column is which."""
        return all(column.kind is not None for column in self.columns)


@cache
def unit_size(kind: Kind, unit: str) -> float:
    """One `unit` in SI. UnitError for what is no unit of that kind."""
    for system in SYSTEMS:
        # the units on display need no unit library, whose first use costs a good part of a second
        if unit == unit_of(kind, system).label:
            return unit_of(kind, system).factor
    return parse_quantity(f"1 {unit}", kind, "SI")


def usual_unit(kind: Kind, unit: str) -> str | None:
    """The spelling in `USUAL_UNITS` of a unit however written; None when it is none of them."""
    size = unit_size(kind, unit)
    return next((label for label in USUAL_UNITS[kind] if math.isclose(unit_size(kind, label), size)), None)


def read_table(text: str, units: Mapping[Kind, str] | None = None) -> tuple[TableRow, ...]:
    """Read points in order of the block.

    Without a header the columns are flow, pressure and, if there is a third, power. `units` are those of columns
    whose header names none; the first of `USUAL_UNITS` where that says nothing either.

    Raises
    ------
    TableError
    """
    block = place_columns(read_block(text))
    kinds = [column.kind for column in block.columns]
    for needed in KINDS[:2]:
        if needed not in kinds:
            raise TableError(f"The block has no column of {needed}.")
    sizes = [
        unit_size(kind, column.unit or (units or {}).get(kind) or USUAL_UNITS[kind][0])
        for column in block.columns
        if (kind := column.kind) is not None
    ]
    found = []
    for number, row in enumerate(block.rows, start=1):
        value = {k: float(f"{float(t) * s:.15g}") for k, t, s in zip(kinds, row, sizes, strict=True) if t}
        for needed in KINDS[:2]:
            if needed not in value:
                raise TableError(f"Row {number} of the block has no {needed}.")
        found.append(TableRow(value["flow"], value["pressure"], value.get("power")))
    return tuple(found)


def place_columns(block: Block, first: int = 0) -> Block:
    """Give columns without a header their kinds in the order flow, pressure, power, from the `first` on.

    Raises TableError when there are more columns than kinds left.
    """
    if block.named:
        return block
    kinds = KINDS[first:]
    count = len(block.columns)
    if count > len(kinds):
        there = f"only {' and '.join(kinds)} can follow here" if first else "a curve has flow, pressure and power"
        raise TableError(
            f"The block has {count} columns, but {there}. Copy only those, or the header row with its names as well."
        )
    columns = tuple(
        Column(kind, _checked_unit(kind, column.unit)) for kind, column in zip(kinds, block.columns, strict=False)
    )
    return Block(columns, block.rows)


def read_block(text: str) -> Block:
    """Read a block of numbers, with or without header rows.

    Columns are parted by tabs, semicolons, blanks or, where no doubt is left, commas. Columns that a header names as
    something else than flow, pressure or power are left out.

    Raises
    ------
    TableError
    """
    lines = [line for line in text.lstrip("\ufeff").splitlines() if line.strip() and not line.lstrip().startswith("#")]
    if not lines:
        raise TableError("There is nothing to read.")
    if len(lines) > MOST_LINES:
        raise TableError(f"The block has {len(lines)} rows; a curve is read from at most {MOST_LINES}.")
    table, comma_parts = _cells(lines)
    head, body = _divide(table)
    if not body:
        raise TableError("The block holds no numbers.")
    width = max(len(row) for row in body)
    used = [i for i in range(width) if any(_at(row, i) for row in body)]
    columns = _header_columns(head, used)
    if any(column.kind for column in columns.values()):
        used = [i for i in used if columns[i].kind is not None]
        _once_each([columns[i] for i in used], [_title(head, i) for i in used])
    cells = [[_at(row, i) for i in used] for row in body]
    return _settle([columns[i] for i in used], cells, only_point=comma_parts)


def _at(row: Sequence[str], i: int) -> str:
    cell = row[i].strip() if i < len(row) else ""
    return "" if cell in _DASHES else cell


# --- parting the columns --------------------------------------------------------------------------------------------


def _cells(lines: Sequence[str]) -> tuple[list[list[str]], bool]:
    """Rows of cells, and whether commas part them."""
    for mark in "\t;":
        if any(mark in line for line in lines):
            return _split(lines, mark), False
    if any(re.search(r'"\s*,\s*"', line) for line in lines):
        return _split(lines, ","), True
    numeric = [line.strip() for line in lines if re.match(r"\s*[-+−]?[.,]?\d", line)]
    blanks = [re.split(" +", line) for line in numeric]
    count = len(blanks[0]) if blanks else 0
    if (
        count > 1
        and all(len(row) == count and all(map(_is_number, row)) for row in blanks)
        and not (any(cell.endswith(",") for row in blanks for cell in row))
    ):
        return [_split_blanks(line.strip(), count) for line in lines], False
    if _commas_part(lines, numeric):
        return _split(lines, ","), True
    return [[line] for line in lines], False


def _split(lines: Sequence[str], mark: str) -> list[list[str]]:
    quoted = sum(line.count('"') for line in lines)
    # an odd mark of inches is no quotation
    if quoted % 2:
        return [line.split(mark) for line in lines]
    return list(csv.reader(lines, delimiter=mark, skipinitialspace=True))


def _split_blanks(line: str, count: int) -> list[str]:
    for pattern in (r" {2,}", r" +"):
        cells = re.split(pattern, line)
        if len(cells) == count:
            return cells
    if any(_unit_kind(word) for word in line.split()):
        raise TableError(f"The header “{line}” does not fit the {count} columns beneath it.")
    return [line]


def _commas_part(lines: Sequence[str], numeric: Sequence[str]) -> bool:
    counts = {line.count(",") for line in numeric}
    if len(counts) != 1 or counts == {0}:
        return False
    commas = counts.pop()
    heads = [line for line in map(str.strip, lines) if line not in numeric]
    if all(", " in line for line in numeric) or any(line.count(",") == commas for line in heads):
        return True
    pointed = any("." in line for line in numeric)
    grouped = all(re.fullmatch(r"[-+−]?[1-9]\d{0,2}(,\d{3})+(\.\d*)?", line) for line in numeric)
    if not grouped and (commas > 1 or pointed):
        return True
    # from a spreadsheet one column comes without any tab, and 0,010 is no pair of numbers
    alone = len(numeric) == 1 or bool(heads) or any(re.search(r",0\d", line) for line in numeric)
    if commas == 1 and not pointed and alone:
        return False
    raise TableError(
        f"“{numeric[0]}” may be one number or several. Part the columns by tabs or semicolons, "
        "or take the header row along."
    )


# --- what the header says -------------------------------------------------------------------------------------------


def _divide(table: list[list[str]]) -> tuple[list[list[str]], list[list[str]]]:
    """Header rows, and the rows from the first with a number on."""
    for at, row in enumerate(table):
        if any(_is_number(cell.strip()) for cell in row):
            wide = max(len(r) for r in table[at:]) > 1
            # a lone cell above a table is its title, not the name of a column
            return [r for r in table[:at] if not wide or sum(bool(c.strip()) for c in r) > 1], table[at:]
    return table, []


def _is_number(cell: str) -> bool:
    match = _CELL.fullmatch(cell)
    return match is not None and (not match["unit"] or _unit_kind(match["unit"]) is not None)


def _title(head: Sequence[Sequence[str]], i: int) -> str:
    return " ".join(cell for row in head if (cell := _at(row, i)))


def _header_columns(head: Sequence[Sequence[str]], used: Iterable[int]) -> dict[int, Column]:
    return {i: _column_of([_at(row, i) for row in reversed(head)]) for i in used}


def _column_of(titles: Sequence[str]) -> Column:
    """What the header cells of one column say, the lowest first."""
    kind: Kind | None = None
    unit: str | None = None
    for title in filter(None, titles):
        kind_here, unit_here = _read_title(title)
        kind = kind or kind_here
        if kind_here == kind:
            unit = unit or unit_here
    return Column(kind, unit)


def _read_title(title: str) -> tuple[Kind | None, str | None]:
    if _OTHER_WORDS.search(title):
        return None, None
    whole = _unit_kind(title.strip("()[] "))
    if whole:
        return whole, title.strip("()[] ")
    named: Kind | None = None
    rest = title
    for kind in KINDS:
        if match := _WORDS[kind].search(title):
            named, rest = kind, title[match.end() :]
            break
    bracket = _BRACKETED.search(title)
    unit = bracket[1].strip() if bracket else _tail_unit(rest, named)
    if not unit:
        return named, None
    of = _unit_kind(unit)
    if named is None or of == named:
        return of, unit if of else None
    if of is not None:
        return None, None
    raise TableError(f"“{unit}”, in the header “{title}”, is no unit of {named} known here.")


def _tail_unit(rest: str, kind: Kind | None) -> str:
    """The unit at the end of a title without brackets, as in ``pressure, Pa`` or ``flow in cfm``."""
    words = re.split(r"[\s,:]+", rest.strip(" ,:;/"))
    for at in range(len(words)):
        tail = " ".join(words[at:]).lstrip("/ ")
        if tail and (of := _unit_kind(tail)) and kind in (None, of):
            return tail
    return ""


@cache
def _unit_kind(unit: str) -> Kind | None:
    if not unit or len(unit) > 40 or unit[0].isdigit():
        return None
    for kind in KINDS:
        try:
            # a bare "in" stands for inches of water in a pressure field alone, and says too little in a header
            if unit.strip(". ").lower() != "in" and unit_size(kind, unit) > 0.0:
                return kind
        except UnitError:
            continue
    return None


def _once_each(columns: Sequence[Column], titles: Sequence[str]) -> None:
    for kind in KINDS:
        same = [title for column, title in zip(columns, titles, strict=True) if column.kind == kind]
        if len(same) > 1:
            names = " and ".join(f"“{title}”" for title in same)
            raise TableError(f"{names} are both columns of {kind}. Copy one of them.")


def _checked_unit(kind: Kind, unit: str | None) -> str | None:
    if unit is not None and _unit_kind(unit) != kind:
        raise TableError(f"“{unit}” is no unit of {kind}.")
    return unit


# --- the numbers ----------------------------------------------------------------------------------------------------


def _settle(columns: list[Column], cells: list[list[str]], *, only_point: bool) -> Block:
    matches: list[list[re.Match[str] | None]] = []
    for number, row in enumerate(cells, start=1):
        found = [_CELL.fullmatch(cell) if cell else None for cell in row]
        for cell, match in zip(row, found, strict=True):
            if cell and (match is None or (match["unit"] and _unit_kind(match["unit"]) is None)):
                raise TableError(f"“{cell}”, in row {number} of the numbers, is not a number.")
        matches.append(found)
    mark = _decimal_mark([m["digits"] for row in matches for m in row if m], "." if only_point else None)
    written = tuple(tuple(_plain(match, mark) if match else "" for match in row) for row in matches)
    return Block(
        tuple(_with_cell_units(column, [row[i] for row in matches]) for i, column in enumerate(columns)), written
    )


def _with_cell_units(column: Column, matches: Sequence[re.Match[str] | None]) -> Column:
    units = {match["unit"].strip() for match in matches if match is not None}
    if units <= {""}:
        return column
    if len(units) > 1 or (column.unit is not None and units != {column.unit}):
        listed = " and ".join(
            sorted(f"“{unit}”" if unit else "no unit" for unit in units | {column.unit or ""} if unit)
        )
        raise TableError(f"One column mixes units: {listed}. Give one unit for the whole column.")
    unit = units.pop()
    return Column(column.kind, _checked_unit(column.kind, unit) if column.kind else unit)


def _decimal_mark(digits: Sequence[str], given: str | None) -> str:
    """The one decimal mark of all numbers."""
    says = {given: "the commas between the columns"} if given else {}
    doubtful = ""
    for text in digits:
        marks = [c for c in text if c in ".,"]
        if not marks:
            continue
        mark = marks[-1]
        other = "," if mark == "." else "."
        if other in marks:
            says.setdefault(mark, text)
        elif len(marks) > 1:
            says.setdefault(other, text)
        elif re.fullmatch(r"[1-9]\d{0,2}[.,]\d{3}", text):
            doubtful = doubtful or text
        else:
            says.setdefault(mark, text)
    if len(says) > 1:
        one, other = list(says.values())[:2]
        raise TableError(f"The block mixes decimal marks: {_said(one)} and {_said(other)}. Use one mark in all of it.")
    if doubtful and not says:
        plain, fraction = re.sub("[.,]", "", doubtful), doubtful.replace(",", ".")
        raise TableError(
            f"“{doubtful}” may mean {plain} or {fraction}, and no other number says which. "
            "Take thousands marks out, or write one more decimal."
        )
    return next(iter(says), ".")


def _said(text: str) -> str:
    return text if text.startswith("the ") else f"“{text}”"


def _plain(match: re.Match[str], mark: str) -> str:
    """The digits of a cell with a decimal point and nothing between thousands."""
    digits, group = match["digits"], "," if mark == "." else "."
    whole, _, rest = digits.partition(mark)
    grouped = rf"\d{{1,3}}([{_GROUPING}{group}])\d{{3}}(?:\1\d{{3}})*"
    if not (re.fullmatch(r"\d*", whole) or re.fullmatch(grouped, whole)) or not re.fullmatch(r"\d*", rest):
        raise TableError(f"“{match.group().strip()}” is not a number where “{mark}” is the decimal mark.")
    sign = "-" if match["sign"] in ("-", "−", "–") else ""
    plain = sign + re.sub(r"\D", "", whole) + ("." + rest if rest else "") + (match["power"] or "")
    return plain if math.isfinite(float(plain)) else _too_large(plain)


def _too_large(plain: str) -> str:
    raise TableError(f"“{plain}” is too large.")
