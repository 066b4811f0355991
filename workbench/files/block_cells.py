"""A copied or saved text parted into cells, whatever its program parts them by."""

from __future__ import annotations

import csv
import re
from collections.abc import Callable, Sequence
from typing import Final, NamedTuple

from msgspec import Struct

from workbench.design.capacity import CAPACITIES, beyond
from workbench.design.wording import Wording, name

MOST_LINES: Final = CAPACITIES["pasted_rows"].most
_WIDEST: Final = 60
_MOST_QUOTED: Final = 40

MINUSES: Final = "-−–"
GROUPING: Final = " '’\u00a0\u2007\u2009\u202f"
"""What may stand between thousands besides point and comma."""
_BLANKS: Final = frozenset({"-", "–", "—", "−", "nan", "n/a", "#n/a", "na", "n.a.", "null", "none"})
_CELL: Final = re.compile(
    rf"(?P<sign>[-+−–]?)\s*(?P<digits>\d(?:[\d.,{GROUPING}]*[\d.,])?|[.,]\d+)(?P<power>[eE][-+]?\d+)?\s*(?P<unit>.*)",
    re.DOTALL,
)
_TOKEN: Final = re.compile(r"[-+−–]?(?:\d(?:[\d.,'’]*\d)?\.?|[.,]\d+)(?:[eE][-+]?\d+)?")
_GROUPED: Final = re.compile(r"[-+−–]?[1-9]\d{0,2}(?: \d{3})+(?P<rest>[.,]\d+)?")
_COMMA_GROUPED: Final = re.compile(r"[-+−–]?[1-9]\d{0,2}(,\d{3})+(\.\d*)?")
_QUOTED: Final = re.compile(r'(?:(?<=[\t;,|\n])|^)"(?:[^"]|"")*"(?=[\t;,|\r\n]|$)', re.MULTILINE)
_COMMENT: Final = re.compile(r"\s*#(?!\d|N/?A\b|[A-Z]+[!?])")
_RULE: Final = re.compile(r"[\s|:+-]*-[\s|:+-]*")
_SEVERAL: Final = (
    "“{0}” may be one number or several. Part the columns by tabs or semicolons, or take the row of headings along."
)
_TOO_MANY: Final = "The block has {0} {1}; at most {2} are read at once. Copy fewer of them."


class BlockError(ValueError):
    """A block that cannot be read. The message is a sentence for the person who brought it.

    `wording` is the sentence as a template, with what stood in the block as names.
    """

    def __init__(self, template: str, *names: str) -> None:
        self.wording = Wording(template, tuple(name(clipped(text)) for text in names))
        super().__init__(self.wording.plain())


def clipped(text: str) -> str:
    """A cell short enough to be quoted in a sentence."""
    return text if len(text) <= _MOST_QUOTED else text[: _MOST_QUOTED - 1] + "…"


class Cell(NamedTuple):
    """What stands in a cell, without blanks about it and empty where nobody read anything; and its line, from 1."""

    text: str
    line: int


class Table(Struct, frozen=True):
    """Rows of equal length. `commas`: they part the columns; `doubt`: this may be one number, or one and another."""

    rows: tuple[tuple[Cell, ...], ...]
    commas: bool = False
    doubt: str = ""

    def turned(self) -> Table:
        """Rows for columns."""
        return Table(tuple(zip(*self.rows, strict=True)), self.commas, self.doubt)


def number_in(text: str) -> re.Match[str] | None:
    """Sign, digits, power and unit of a cell that begins as a number."""
    return _CELL.fullmatch(text) if len(text) <= _WIDEST else None


def part(text: str, is_unit: Callable[[str], bool], decimal: str | None = None, most: int = MOST_LINES) -> Table:
    """Part a text into cells by tabs, semicolons, upright strokes, blanks or commas; blank lines and remarks go.

    `decimal` is the decimal mark where somebody has said it: a comma that marks decimals parts no columns. More than
    `most` rows, or columns, are refused.

    Raises
    ------
    BlockError
        For a text that is empty, too long, or can be parted in more ways than one.
    """
    if len(text) > CAPACITIES["pasted_block"].most:
        raise BlockError(f"The block {beyond('pasted_block').plain()}. Copy only the cells that are needed.")
    text = text.lstrip("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    text = _QUOTED.sub(lambda cell: cell[0].replace("\n", " "), text)
    lines = [
        (n, line)
        for n, line in enumerate(text.split("\n"), start=1)
        if line.strip("\t ;|,\u00a0") and not _COMMENT.match(line)
    ]
    if not lines:
        raise BlockError("There is nothing to read: copy the cells of the table first.")
    if len(lines) > most:
        raise BlockError(_TOO_MANY, str(len(lines)), "rows", str(most))
    cells, commas, doubt = _cells([line for _, line in lines], is_unit, decimal)
    widest = max(map(len, cells))
    if widest > most:
        raise BlockError(_TOO_MANY, str(widest), "columns", str(most))
    rows = [
        [Cell(_said(cell), n) for cell in row]
        for (n, line), row in zip(lines, cells, strict=True)
        if not ("|" in line and _RULE.fullmatch(line))
    ]
    width = max(len(row) for row in rows)
    return Table(tuple(tuple(row + [Cell("", row[0].line)] * (width - len(row))) for row in rows), commas, doubt)


def _said(cell: str) -> str:
    cell = cell.strip()
    return "" if cell.lower() in _BLANKS else cell


Parted = tuple[list[list[str]], bool, str]


def _cells(lines: Sequence[str], is_unit: Callable[[str], bool], decimal: str | None) -> Parted:
    """Rows of cells, whether commas part them, and what may be one number or two."""
    if any("\t" in line for line in lines):
        return _split(lines, "\t"), False, ""
    for mark in ";|":
        if 2 * sum(mark in line for line in lines) >= len(lines):
            bare = [line.strip().strip("|") if mark == "|" else line for line in lines]
            return _split(bare, mark), False, ""
    if any(re.search(r'"\s*,|,\s*"', line) for line in lines):
        # quoted, a comma may mark decimals too
        return _split(lines, ","), False, ""
    body = [line.strip() for line in lines if re.match(r"\s*[-+−–]?[.,]?\d", line)]
    body = body or [line.strip() for line in lines if re.search(r"[\s,][-+−–]?[.,]?\d", line)]
    blank = _by_blanks(lines, body)
    if blank is not None:
        return blank[0], False, blank[1]
    parts, doubt = _commas_part(lines, body, is_unit, decimal)
    return (_split(lines, ",") if parts else [[line] for line in lines]), parts, doubt


def _split(lines: Sequence[str], mark: str) -> list[list[str]]:
    # an odd mark of inches is no quotation
    if sum(line.count('"') for line in lines) % 2:
        return [line.split(mark) for line in lines]
    try:
        return list(csv.reader(lines, delimiter=mark, skipinitialspace=mark != "\t"))
    except csv.Error:
        # a cell of a hundred thousand letters: whoever reads it refuses it as no number
        return [line.split(mark) for line in lines]


# --- blanks -----------------------------------------------------------------------------------------------------------


def _by_blanks(lines: Sequence[str], body: Sequence[str]) -> tuple[list[list[str]], str] | None:
    if not body:
        return None
    if all(_GROUPED.fullmatch(line) for line in body):
        if any(match["rest"] for line in body if (match := _GROUPED.fullmatch(line))):
            return [[line] for line in lines], body[0]
        raise BlockError(_SEVERAL, body[0])
    counts = {len(re.split(" {2,}", line)) for line in body}
    if len(counts) == 1 and (count := counts.pop()) > 1:
        return [_wide(line.strip(), count) for line in lines], ""
    split = [_words_and_numbers(line) for line in body]
    if any(row[0].endswith(",") for row in split):
        return None
    counts = {len(row) for row in split}
    count = counts.pop()
    if counts or count < 2 or len({bool(_TOKEN.fullmatch(row[0])) for row in split}) > 1:
        return None
    return [_words_and_numbers(line.strip(), count) for line in lines], ""


def _wide(line: str, count: int) -> list[str]:
    for pattern in (" {2,}", " +"):
        cells = re.split(pattern, line)
        if len(cells) == count:
            return cells
    return re.split(" {2,}", line)


def _words_and_numbers(line: str, count: int | None = None) -> list[str]:
    """Numbers parted by single blanks, and whatever words stand before them as one cell."""
    words = re.split(" +", line)
    if len(words) == count:
        return words
    first = len(words)
    while first and (_TOKEN.fullmatch(words[first - 1]) or words[first - 1].lower() in _BLANKS):
        first -= 1
    cells = ([" ".join(words[:first])] if first else []) + words[first:]
    if count is None or len(cells) == count:
        return cells
    wide = re.split(" {2,}", line)
    if 1 < len(wide) != count or (len(wide) == 1 and len(words) >= count):
        raise BlockError("The headings “{0}” do not fit the {1} columns beneath them.", line, str(count))
    return wide


# --- commas -----------------------------------------------------------------------------------------------------------


def _commas_part(
    lines: Sequence[str], body: Sequence[str], is_unit: Callable[[str], bool], decimal: str | None
) -> tuple[bool, str]:
    """Whether commas part the columns, and what may be one number or two where they are taken for decimal marks."""
    counts = {line.count(",") for line in body or lines}
    commas = counts.pop()
    if counts or not commas:
        return False, ""
    heads = [line.strip() for line in lines if line.strip() not in body]
    titled = any(line.count(",") == commas and not _unit_after_comma(line, is_unit) for line in heads)
    if not body or titled or all(", " in line for line in body):
        return True, ""
    grouped = all(_COMMA_GROUPED.fullmatch(line) for line in body)
    pointed = any("." in line for line in body)
    worded = any(_TOKEN.match(line) is None for line in body)
    if worded or (not grouped and (commas > 1 or pointed)):
        return True, ""
    # from a spreadsheet one column comes without any tab, and 0,010 is no pair of numbers
    alone = len(body) == 1 or bool(heads) or any(re.search(r",0\d", line) for line in body)
    if grouped and commas > 1 and not alone:
        raise BlockError(_SEVERAL, body[0])
    if grouped or decimal == "," or alone:
        return False, ""
    return (True, "") if decimal == "." else (False, body[0])


def _unit_after_comma(heading: str, is_unit: Callable[[str], bool]) -> bool:
    """Whether it is one heading with its unit, as in ``Flow, cfm``."""
    before, _, after = heading.rpartition(",")
    return is_unit(after.strip()) and not is_unit(before.strip())
