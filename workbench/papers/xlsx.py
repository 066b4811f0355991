"""The numbers of a paper as a spreadsheet: a sheet for each table, numbers as numbers, names as text."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING

from workbench.papers.blocks import Block, Cell, Columns, Paper, Table

if TYPE_CHECKING:
    from openpyxl.cell import Cell as SheetCell
    from openpyxl.worksheet.worksheet import Worksheet

_MOST_NAME = 31
_FORBIDDEN = re.compile(r"[\[\]:*?/\\']")
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\ud800-\udfff\ufffe\uffff]")
_NUMBER = re.compile(r"\N{MINUS SIGN}?\d+(\.\d+)?")
_MOST_LETTERS = 32000


def tables(blocks: Iterable[Block]) -> Iterator[Table]:
    """Every table of a paper, those in columns too."""
    for block in blocks:
        if isinstance(block, Table):
            yield block
        elif isinstance(block, Columns):
            yield from tables((*block.left, *block.right))


def xlsx(paper: Paper, day: date) -> bytes:
    """A workbook; the same paper and day give the same bytes."""
    from openpyxl import Workbook

    book = Workbook()
    stamp = datetime(day.year, day.month, day.day, 12)
    book.properties.created = book.properties.modified = stamp
    book.properties.creator = "Sub-slab Workbench"
    book.properties.title = _plain(f"{paper.title} – {paper.subtitle}")
    first = book.active
    assert first is not None
    first.title = "Paper"
    for row, (what, text) in enumerate(_head(paper), start=1):
        _write(first.cell(row, 1), what, bold=True)
        _write(first.cell(row, 2), text)
    first.column_dimensions["A"].width, first.column_dimensions["B"].width = 16, 90
    taken = {"paper"}
    for table in (*tables(paper.blocks), *paper.sheets):
        _sheet(book.create_sheet(_free(table.name, taken)), table)
    out = io.BytesIO()
    book.save(out)
    return _dated(out.getvalue(), stamp)


def _head(paper: Paper) -> list[tuple[str, str]]:
    told = [("Paper", paper.title), ("Project", paper.subtitle), ("Date", paper.date), ("Made by", paper.maker.name)]
    told += [("License", paper.maker.license), ("Caution", paper.footer)]
    return [*told, ("Invented", "House, readings, fans and prices are not real.")] if paper.invented else told


def _free(name: str, taken: set[str]) -> str:
    base = _FORBIDDEN.sub(" ", name)[:_MOST_NAME] or "Table"
    found, n = base, 2
    while found.lower() in taken:
        found, n = f"{base[: _MOST_NAME - 4]} {n}", n + 1
    taken.add(found.lower())
    return found


def _sheet(sheet: Worksheet, table: Table) -> None:
    for c, column in enumerate(table.columns, start=1):
        title = f"{column.title} [{column.unit}]" if column.unit and column.title else column.title or column.unit
        _write(sheet.cell(1, c), title, bold=True)
        longest = max((len(row[c - 1].text) for row in table.rows), default=0)
        sheet.column_dimensions[sheet.cell(1, c).column_letter].width = min(max(longest, len(title), 8) + 2, 60)
    for r, row in enumerate(table.rows, start=2):
        for c, cell in enumerate(row, start=1):
            _fill(sheet.cell(r, c), cell)
    sheet.freeze_panes = "B2"


def _fill(target: SheetCell, cell: Cell) -> None:
    number = cell.number
    if number is None and _NUMBER.fullmatch(cell.text):
        # a number written as it is read; a name that is a number is one as well
        number = float(cell.text.replace("\N{MINUS SIGN}", "-"))
    if number is not None:
        target.value = number
        decimals = len(cell.text.partition(".")[2]) if _NUMBER.fullmatch(cell.text) else 0
        target.number_format = "0." + "0" * decimals if decimals else "0" if _NUMBER.fullmatch(cell.text) else "General"
        return
    _write(target, f"{cell.text}\n{cell.small}" if cell.small else cell.text, bold=cell.bold)


def _write(target: SheetCell, text: str, *, bold: bool = False) -> None:
    """A text as text: what begins with =, +, - or @ is never a formula."""
    from openpyxl.styles import Alignment, Font

    target.value = _plain(text)
    target.data_type = "s"
    target.quotePrefix = text[:1] in ("=", "+", "-", "@")
    target.alignment = Alignment(wrap_text=True, vertical="top")
    if bold:
        target.font = Font(bold=True)


def _plain(text: str) -> str:
    return _CONTROL.sub("\N{REPLACEMENT CHARACTER}", text)[:_MOST_LETTERS]


def _dated(made: bytes, stamp: datetime) -> bytes:
    """The archive with one date on all that is in it, which the writer sets to the time of writing."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(made)) as source, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target:
        for name in sorted(source.namelist()):
            content = source.read(name)
            if name == "docProps/core.xml":
                written = stamp.replace(tzinfo=UTC).strftime("%Y-%m-%dT%H:%M:%SZ").encode()
                content = re.sub(rb"(<dcterms:modified[^>]*>)[^<]*", rb"\g<1>" + written, content)
            target.writestr(zipfile.ZipInfo(name, stamp.timetuple()[:6]), content, zipfile.ZIP_DEFLATED)
    return out.getvalue()
