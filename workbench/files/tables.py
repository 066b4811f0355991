"""Data frames as files: comma-separated, a spreadsheet, or Parquet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from importlib.util import find_spec
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

from workbench.files.plain_text import plain_cell, plain_line
from workbench.files.project import ProjectError, put_whole, write_whole

if TYPE_CHECKING:
    from pandas import DataFrame

SHEETS = (".csv", ".xlsx")
TABLES = (*SHEETS, ".parquet")


def check_table(path: Path, endings: Sequence[str] = TABLES) -> None:
    """Whether a table can be written there, as far as that is known before it is.

    Raises
    ------
    ProjectError
        With a sentence.
    """
    ending = path.suffix.lower()
    if ending not in endings:
        raise ProjectError(f"{path.name}: choose a name that ends in {', '.join(endings[:-1])} or {endings[-1]}")
    if ending == ".parquet" and find_spec("pyarrow") is None:
        raise ProjectError(
            f"{path.name}: Parquet needs pyarrow, which is not installed: pip install 'subslab-workbench[cluster]'; "
            ".csv and .xlsx do without"
        )
    if not path.absolute().parent.is_dir():
        raise ProjectError(f"{path}: there is no such folder")


def save_table(
    frame: DataFrame,
    path: Path,
    *,
    title: str,
    number: str | None = None,
    endings: Sequence[str] = TABLES,
) -> None:
    """Write a table whole or not at all; what is not known stays empty.

    Parameters
    ----------
    title
        Of the sheet.
    number
        Format of the numbers of a comma-separated file; without it they read back the same.

    Raises
    ------
    ProjectError
        With a sentence, when it cannot be written or the ending is another.
    """
    from openpyxl import Workbook

    check_table(path, endings)
    if path.suffix.lower() == ".csv":
        write_whole(table_text(frame, separator=",", number=number), path)
        return
    whole = BytesIO()
    if path.suffix.lower() == ".parquet":
        frame.to_parquet(whole, engine="pyarrow", index=False)
    else:
        book = Workbook()
        assert book.active is not None
        book.active.title, book.active.freeze_panes = title, "B2"
        fill(book.active, [tuple(frame.columns), *frame.itertuples(index=False, name=None)])
        book.save(whole)
    put_whole(whole.getvalue(), path)


def table_text(frame: DataFrame, *, separator: str, number: str | None = None) -> str:
    """The table as text, numbers with a decimal point; what is not known stays empty."""
    plain = frame.map(lambda cell: plain_cell(cell) if isinstance(cell, str) else cell)
    return str(plain.to_csv(sep=separator, index=False, float_format=number, lineterminator="\n"))


def fill(sheet: Any, rows: Sequence[Sequence[object]]) -> None:
    """Write rows into a sheet, the first as headings."""
    from openpyxl.styles import Font

    for row, cells in enumerate(rows, start=1):
        for column, value in enumerate(cells, start=1):
            cell = sheet.cell(row, column)
            if isinstance(value, str):
                # by its value alone a text would be a formula or the name of a fault
                cell.value = plain_line(value)
                cell.data_type, cell.quotePrefix = "s", True
            elif isinstance(value, float):
                cell.value = float(value) if math.isfinite(value) else None
            elif value is not None:
                cell.value = value
            if row == 1:
                cell.font = Font(bold=True)
