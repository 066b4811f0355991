"""The one reader of pasted blocks: columns of quantities out of a spreadsheet's clipboard, a message or a data sheet.

The decimal mark is settled once for the whole block. Quantities may stand in columns or in rows, with headings or
without, their units in the headings, beneath them or in the cells. Nothing is guessed in silence: `Block.guesses`
holds what the block itself does not say, and whoever shows it may have it read again as `Told`. What cannot be read at
all is refused with a sentence that says where.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from itertools import pairwise
from typing import Final, Literal, NamedTuple

from msgspec import Struct, field

from workbench.files.block_cells import GROUPING, MINUSES, MOST_LINES, BlockError, Cell, Table, clipped, number_in, part
from workbench.files.block_headings import Heading, Headings, Quantity, is_unit_of
from workbench.units import SI, Dimension, UnitError, from_unit, parse_quantity

__all__ = ["OFFERED_UNITS", "Block", "BlockError", "Guess", "Quantity", "ReadColumn", "Told", "Value", "read_block"]

OFFERED_UNITS: Final[Mapping[Dimension, tuple[str, ...]]] = {
    "flow": ("L/s", "m³/h", "m³/s", "cfm"),
    "pressure": ("Pa", "in. w.c.", "mm w.c.", "kPa"),
    "power": ("W", "kW"),
    "level_difference": ("dB",),
}
"""Units that numbers of a dimension are usually printed in."""

_FRACTION: Final = re.compile(
    r"(?P<number>[-+−–]?\s*(?:\d+[\s-]+)?(?:\d+\s*[/⁄]\s*\d+|\d*\s*[¼½¾⅛⅜⅝⅞⅓⅔]))\s*(?P<unit>\D*)"
)
_LARGEST: Final = 1e15


class Told(Struct, frozen=True):
    """What somebody says of a block: the decimal mark, units by key, whether each row is a quantity."""

    decimal: str | None = None
    units: Mapping[str, str] = field(default_factory=dict)
    across: bool | None = None


class Guess(NamedTuple):
    """Something the block does not say, and what was taken.

    ``decimal``: the cell `subject` reads two ways, `taken` is the decimal mark. ``unit``: none is named for the
    quantity titled `subject`, `taken` is the unit. ``order``: the heading `subject` is not clear, `taken` is the title
    of the quantity. ``left out``: the column headed `subject` is. ``across``: each row is taken for a quantity.
    """

    kind: Literal["decimal", "unit", "order", "left out", "across"]
    subject: str = ""
    taken: str = ""


class Value(NamedTuple):
    """A cell: in SI (a text as it is), its digits with a decimal point, the unit of these, and the cell as it stood."""

    value: float | str
    plain: str
    unit: str
    pasted: str


class ReadColumn(Struct, frozen=True):
    """A column of a block: its quantity, the unit of its bare numbers, and whether the block or anybody names that."""

    quantity: Quantity
    unit: str
    named: bool


class Block(Struct, frozen=True):
    """What was read. `rows` hold a value for each of the `columns`, None where a cell is blank."""

    columns: tuple[ReadColumn, ...]
    rows: tuple[tuple[Value | None, ...], ...]
    guesses: tuple[Guess, ...]
    decimal: str
    across: bool
    headed: bool

    @property
    def keys(self) -> tuple[str, ...]:
        """Keys of the columns."""
        return tuple(column.quantity.key for column in self.columns)

    def records(self) -> list[dict[str, float | str]]:
        """Each row as values in SI by key, blank cells left out."""
        return [
            {key: cell.value for key, cell in zip(self.keys, row, strict=True) if cell is not None} for row in self.rows
        ]


def read_block(
    text: str,
    quantities: Sequence[Quantity],
    *,
    order: Sequence[str] | None = None,
    told: Told | None = None,
    most: int = MOST_LINES,
) -> Block:
    """Read a block as columns of some quantities.

    Parameters
    ----------
    quantities
        What headings may name.
    order
        Keys of the quantities that columns without headings are, from the first; all of them when left out.
    told
        What somebody said of the block, in place of what would be guessed.
    most
        Rows, headings among them, or columns that whoever takes the block can hold; a block of more is refused.

    Raises
    ------
    BlockError
        With a sentence, for what is empty, ambiguous in its parts, no number, or in no unit of its quantity.
    """
    told = told or Told()
    by_key = {quantity.key: quantity for quantity in quantities}
    placed = [by_key[key] for key in order] if order is not None else list(quantities)
    names = Headings(quantities)
    table = part(text, names.is_unit, told.decimal, most)
    across = _across(table, names, placed) if told.across is None else told.across
    table = table.turned() if across else table
    head, body = _divide(table.rows, names, placed)
    if body and not head and told.across is None and not across and _fits_turned(body, placed):
        across, table = True, table.turned()
        head, body = _divide(table.rows, names, placed)
    if not body:
        raise BlockError("There are headings but no readings under them." if head else "The block holds no numbers.")
    columns, kept, guesses = _columns(head, body, names, placed, quantities)
    if across and told.across is None and len(body) > 1:
        guesses.insert(0, Guess("across"))
    read = _Read(columns, [[row[i] for i in kept] for row in body], table, told, headed=bool(head))
    block = read.block(guesses, across)
    _check_needed(block, [row[0].line for row in body], [quantity for quantity in placed if quantity.needed])
    return block


# --- which way it lies ------------------------------------------------------------------------------------------------


def _is_number(cell: Cell, names: Headings) -> bool:
    match = number_in(cell.text) or _FRACTION.fullmatch(cell.text[:60])
    unit = match["unit"].strip() if match is not None else ""
    return match is not None and (not unit or unit.strip(".").lower() == "in" or names.is_unit(unit))


def _known(row: Sequence[Cell], names: Headings) -> list[Heading]:
    return [names.read(cell.text) for cell in row if cell.text and number_in(cell.text) is None]


def _across(table: Table, names: Headings, placed: Sequence[Quantity]) -> bool:
    """Whether the first cells of most rows are headings, more of them than any row of headings would hold."""
    first = [row[0] for row in table.rows if row[0].text]
    if not first or any(_is_number(cell, names) for cell in first):
        return False
    told = [heading for heading in _known(first, names) if heading.known]
    keys = [heading.key for heading in told if heading.key]
    if 2 * len(told) <= len(table.rows) or len(set(keys)) < len(keys):
        return False
    # where names are expected a name may look like a heading; a heading has its unit, or names stand in a row too
    texts = {quantity.key for quantity in placed if quantity.dimension is None}
    if placed[0].dimension is None and not any(heading.unit or heading.key in texts for heading in told):
        return False
    rows = next((i for i, row in enumerate(table.rows) if any(_is_number(cell, names) for cell in row)), None)
    best = max(
        (sum(h.known for h in _known(row, names)) for row in table.rows[: 5 if rows is None else rows]), default=0
    )
    return len(told) > best


def _fits_turned(body: Sequence[Sequence[Cell]], placed: Sequence[Quantity]) -> bool:
    """Whether a block without headings has too many columns, or too few, but as many rows as there are quantities."""
    needed = max(1, sum(quantity.needed for quantity in placed))
    wide = len(_used(body, keep_first=placed[0].dimension is None))
    return not needed <= wide <= len(placed) and max(needed, 2) <= len(body) <= len(placed)


def _divide(
    rows: Sequence[tuple[Cell, ...]], names: Headings, placed: Sequence[Quantity]
) -> tuple[list[tuple[Cell, ...]], list[tuple[Cell, ...]]]:
    """Rows of headings, and the rows with something on."""
    rows = [row for row in rows if any(cell.text for cell in row)]
    numbers = next((at for at, row in enumerate(rows) if any(_is_number(cell, names) for cell in row)), len(rows))
    wide = max((len(row) for row in rows), default=0) > 1
    filled = [sum(bool(cell.text) for cell in row) for row in rows]
    end = numbers
    if placed[0].dimension is None or numbers == len(rows):
        # a row of words may be a name that has no readings yet
        known = [at for at in range(numbers) if any(heading.known for heading in _known(rows[at], names))]
        worded = [at for at in range(numbers) if filled[at] > 1] if numbers < len(rows) else []
        end = max([*known[:1], *worded], default=-1) + 1
    # a lone cell above a table is its title, not the name of a column
    return [row for row, count in zip(rows[:end], filled, strict=False) if not wide or count > 1], rows[end:]


# --- which column is what ---------------------------------------------------------------------------------------------

_Placed = tuple[list[tuple[Quantity, str | None]], list[int], list[Guess]]


def _used(body: Sequence[Sequence[Cell]], *, keep_first: bool) -> list[int]:
    width = max(len(row) for row in body)
    filled = [i for i in range(width) if any(row[i].text for row in body)]
    return list(range(0 if keep_first else filled[0], filled[-1] + 1))


def _columns(
    head: Sequence[Sequence[Cell]],
    body: Sequence[Sequence[Cell]],
    names: Headings,
    placed: Sequence[Quantity],
    quantities: Sequence[Quantity],
) -> _Placed:
    """Quantity and unit of each column that is kept, its place in a row, and what had to be guessed."""
    if head:
        filled = [i for i in range(len(body[0])) if any(row[i].text for row in body) or any(r[i].text for r in head)]
        titles = {i: " ".join(row[i].text for row in head if row[i].text) for i in filled}
        said = {i: _said([row[i].text for row in _spread(head)], names) for i in filled}
        if any(heading.known for heading in said.values()):
            return _by_headings(said, titles, body, quantities)
    used = _used(body, keep_first=placed[0].dimension is None)
    if len(used) > len(placed):
        used = [i for i in used if any(row[i].text for row in body)]
    if len(used) > len(placed):
        titles_there = " and ".join(quantity.title.lower() for quantity in placed)
        raise BlockError(
            "The block has {0} columns, but only {1} can follow here. "
            "Copy only those, or take the row of headings along.",
            str(len(used)),
            titles_there,
        )
    guesses = []
    if head:
        guesses = [Guess("order", titles[i], q.title) for i, q in zip(used, placed, strict=False) if i in titles]
    return [(quantity, None) for quantity, _ in zip(placed, used, strict=False)], used, guesses


def _spread(head: Sequence[Sequence[Cell]]) -> list[list[Cell]]:
    """Headings, the lowest first; a heading merged over several columns stands in each that has one beneath."""
    rows = [list(row) for row in head]
    for upper, lower in pairwise(rows):
        for i in range(1, len(upper)):
            if not upper[i].text and lower[i].text and upper[i - 1].text:
                upper[i] = upper[i - 1]
    return rows[::-1]


def _said(titles: Sequence[str], names: Headings) -> Heading:
    """What the headings of one column say together, the lowest first."""
    read = [names.read(title) for title in titles if title]
    main = next((heading for heading in read if heading.key), None) or next((h for h in read if h.known), None)
    if main is None:
        return Heading(beside=any(heading.beside for heading in read))
    unit = next((h.unit for h in read if h.unit and main.dimension in (None, h.dimension)), None)
    return Heading(main.key, main.dimension, unit if main.dimension else None)


def _by_headings(
    said: Mapping[int, Heading],
    titles: Mapping[int, str],
    body: Sequence[Sequence[Cell]],
    quantities: Sequence[Quantity],
) -> _Placed:
    guesses: list[Guess] = []
    at: dict[int, Quantity] = {}
    by_key = {quantity.key: quantity for quantity in quantities}
    for i, heading in said.items():
        if heading.key is None:
            continue
        twice = next((other for other, quantity in at.items() if quantity.key == heading.key), None)
        if twice is not None:
            words = by_key[heading.key].title
            raise BlockError(
                "Two columns are titled as {0}: “{1}” and “{2}”. Copy one of them.", words, titles[twice], titles[i]
            )
        at[i] = by_key[heading.key]
    for i, heading in said.items():
        filled = any(row[i].text for row in body)
        if i in at or heading.beside or not filled:
            continue
        free = [q for q in quantities if q not in at.values()]
        if heading.dimension is None and not titles[i] and i == min(said):
            # the corner above the names is often left blank
            free = [q for q in free if q.dimension is None]
        else:
            free = [q for q in free if heading.dimension is not None and q.dimension == heading.dimension]
        if not free:
            guesses.append(Guess("left out", titles[i]))
            continue
        at[i] = free[0]
        alike = [q for q in quantities if q.dimension == free[0].dimension]
        alone = sum(h.dimension == heading.dimension for h in said.values()) == 1
        if not (len(alike) == 1 or (alone and sum(q.needed for q in alike) == 1 and free[0].needed)):
            guesses.append(Guess("order", titles[i], free[0].title))
    kept = sorted(at)
    return [(at[i], said[i].unit) for i in kept], kept, guesses


# --- the numbers ------------------------------------------------------------------------------------------------------


class _Read:
    """Cells of known columns, on their way to values."""

    def __init__(
        self,
        columns: Sequence[tuple[Quantity, str | None]],
        cells: Sequence[Sequence[Cell]],
        table: Table,
        told: Told,
        *,
        headed: bool,
    ) -> None:
        self._columns, self._cells, self._told, self._headed = columns, cells, told, headed
        self._matches = [[self._match(q, cell) for (q, _), cell in zip(columns, row, strict=True)] for row in cells]
        digits = [match["digits"] for row in self._matches for match in row if match and "digits" in match.groupdict()]
        self._mark, self._doubt = _decimal_mark(digits, told.decimal, commas=table.commas)
        if table.doubt and not told.decimal and not self._doubt:
            self._mark, self._doubt = "," if "," in table.doubt else ".", table.doubt

    @staticmethod
    def _match(quantity: Quantity, cell: Cell) -> re.Match[str] | None:
        if quantity.dimension is None or not cell.text:
            return None
        fraction = _FRACTION.fullmatch(cell.text) if len(cell.text) < 60 else None
        match = fraction or number_in(cell.text)
        if match is None:
            raise _no_number(quantity, cell)
        unit = match["unit"].strip()
        if unit and not _is_unit(unit, quantity.dimension):
            if any(is_unit_of(unit, other) for other in OFFERED_UNITS):
                raise BlockError("Row {0}, {1}: “{2}” is no unit of it.", str(cell.line), quantity.title.lower(), unit)
            raise _no_number(quantity, cell)
        return match

    def block(self, guesses: list[Guess], across: bool) -> Block:
        """The block, with what was guessed of marks and units added."""
        if self._doubt:
            guesses = [Guess("decimal", clipped(self._doubt), self._mark), *guesses]
        columns = []
        for i, (quantity, unit) in enumerate(self._columns):
            columns.append(self._column(i, quantity, unit, guesses))
        rows = []
        for row, matches in zip(self._cells, self._matches, strict=True):
            values = [self._value(*each) for each in zip(columns, row, matches, strict=True)]
            rows.append(tuple(values))
        return Block(tuple(columns), tuple(rows), tuple(guesses), self._mark, across, self._headed)

    def _column(self, i: int, quantity: Quantity, unit: str | None, guesses: list[Guess]) -> ReadColumn:
        if quantity.dimension is None:
            return ReadColumn(quantity, "", named=True)
        own = [match["unit"].strip() for row in self._matches if (match := row[i]) is not None]
        in_cells = {each for each in own if each}
        given = self._told.units.get(quantity.key) or unit
        if given is not None:
            return ReadColumn(quantity, given, named=True)
        taken = in_cells.pop() if len(in_cells) == 1 else quantity.unit
        bare = "" in own
        # a level is in decibels, whether that is said or not
        several = len(OFFERED_UNITS.get(quantity.dimension, ())) != 1
        if bare and several and (self._headed or any(own)):
            guesses.append(Guess("unit", quantity.title, taken))
        return ReadColumn(quantity, taken, named=bool(own) and not bare)

    def _value(self, column: ReadColumn, cell: Cell, match: re.Match[str] | None) -> Value | None:
        if not cell.text:
            return None
        dimension = column.quantity.dimension
        if dimension is None:
            return Value(cell.text, cell.text, "", cell.text)
        assert match is not None
        unit = match["unit"].strip() or column.unit
        if "number" in match.groupdict():
            try:
                number = parse_quantity(match["number"], "ratio", SI)
            except UnitError as fault:
                raise _no_number(column.quantity, cell) from fault
            plain = _bounded(f"{number:.12g}", column.quantity, cell)
        else:
            plain = _plain(match, self._mark, column.quantity, cell)
            number = float(plain)
        return Value(_in_si(number, unit, dimension), plain, unit, cell.text)


def _check_needed(block: Block, lines: Sequence[int], needed: Sequence[Quantity]) -> None:
    for quantity in needed:
        at = block.keys.index(quantity.key) if quantity.key in block.keys else None
        for row, line in zip(block.rows, lines, strict=True):
            if at is None or row[at] is None:
                raise BlockError("Row {0} lacks the {1}.", str(line), quantity.title.lower())


def _is_unit(unit: str, dimension: Dimension) -> bool:
    # beside a number, inches of suction are inches of water
    return is_unit_of(unit, dimension) or (dimension == "pressure" and unit.strip(". ").lower() == "in")


@lru_cache(maxsize=256)
def _scale(unit: str, dimension: Dimension) -> tuple[float, float]:
    """One unit in SI, and its zero: a conversion costs more than a multiplication."""
    zero = from_unit(0.0, unit, dimension)
    return from_unit(1.0, unit, dimension) - zero, zero


def _in_si(number: float, unit: str, dimension: Dimension) -> float:
    one, zero = _scale(unit, dimension)
    return float(f"{number * one + zero:.15g}")


def _no_number(quantity: Quantity, cell: Cell) -> BlockError:
    return BlockError("Row {0}, {1}: “{2}” is not a number.", str(cell.line), quantity.title.lower(), cell.text)


def _decimal_mark(digits: Iterable[str], told: str | None, *, commas: bool) -> tuple[str, str]:
    """The one decimal mark of all numbers, and a number that reads two ways where none says which; a point then."""
    if told or commas:
        return "." if commas else str(told), ""
    says: dict[str, str] = {}
    doubtful = ""
    for text in digits:
        marks = [c for c in text if c in ".,"]
        if not marks:
            continue
        mark = marks[-1]
        other = "," if mark == "." else "."
        if len(marks) > 1 and other not in marks:
            says.setdefault(other, text)
        elif len(marks) == 1 and re.fullmatch(r"[1-9]\d{0,2}[.,]\d{3}", text):
            doubtful = doubtful or text
        else:
            says.setdefault(mark, text)
    if len(says) < 2:
        return next(iter(says), "."), "" if says else doubtful
    one, other = list(says.values())[:2]
    raise BlockError("The block mixes decimal marks: “{0}” and “{1}”. Use one mark in all of it.", one, other)


def _plain(match: re.Match[str], mark: str, quantity: Quantity, cell: Cell) -> str:
    """The digits of a cell with a decimal point and nothing between thousands."""
    digits, group = match["digits"], "," if mark == "." else "."
    whole, _, rest = digits.partition(mark)
    grouped = rf"\d{{1,3}}([{GROUPING}{group}])\d{{3}}(?:\1\d{{3}})*"
    if not (re.fullmatch(r"\d*", whole) or re.fullmatch(grouped, whole)) or not re.fullmatch(r"\d*", rest):
        raise BlockError(
            "Row {0}, {1}: “{2}” is not a number where “{3}” is the decimal mark.",
            str(cell.line), quantity.title.lower(), cell.text, mark,
        )  # fmt: skip
    sign = "-" if match["sign"] and match["sign"] in MINUSES else ""
    plain = sign + re.sub(r"\D", "", whole) + ("." + rest if rest else "") + (match["power"] or "")
    return _bounded(plain, quantity, cell)


def _bounded(plain: str, quantity: Quantity, cell: Cell) -> str:
    if not abs(float(plain)) <= _LARGEST:
        raise BlockError("Row {0}, {1}: “{2}” is too large.", str(cell.line), quantity.title.lower(), cell.text)
    return plain
