"""The record of many jobs as short lines, as an object for JSON, and as a spreadsheet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from io import BytesIO
from pathlib import Path
from typing import Any

from msgspec import Struct, to_builtins

from workbench.design.wording import counted
from workbench.files.answer_text import Write, table, wrapped, writer
from workbench.files.diagnosis_text import ITEM_NAMES
from workbench.files.plain_text import plain_line
from workbench.files.project import load_project, put_whole
from workbench.files.tables import fill
from workbench.solving.later.items import DIMENSIONS
from workbench.solving.later.record import (
    OFFERED_FROM,
    Against,
    Compared,
    GroundRow,
    JobRecord,
    Row,
    Track,
    job_record,
    track_of,
)
from workbench.units import System, format_number

AGAINST: dict[Against, str] = {
    "design": "The start-up against the design alone",
    "start-up": "Yearly checks against the start-up",
}

HEAD = ("", "jobs", "readings", "inside 90 %", "bias", "scatter", "band should be")
"""What stands over the columns of a table."""

NO_READINGS = "No start-up of these jobs holds a reading that was predicted."

_SHEETS = {"Quantities": "quantities", "Grounds": "grounds", "Readings": "readings", "Left out": "skipped"}

OWN_NUMBERS = "Your own numbers"

NOT_TAKEN = (
    "These are offered, not taken over: nothing in the program or in any job changes by them. They are worth what the "
    "jobs behind them are."
)


class FileRecord(Struct, frozen=True):
    """A file with its record, or why it has none."""

    file: str
    record: JobRecord | None
    refused: str = ""


def record_of_file(path: Path) -> JobRecord:
    """The record of one project file.

    Raises
    ------
    ProjectError, ValueError
        With a sentence.
    """
    return job_record(load_project(path))


def whole_track(files: Sequence[FileRecord]) -> Track:
    """All jobs together that could be read."""
    return track_of([each.record for each in files if each.record is not None])


def record_answer(files: Sequence[FileRecord]) -> dict[str, Any]:
    """What JSON can hold, in SI; null where nothing can be said.

    `bias` and `scatter` are of the logarithm of read over expected, and where `by_ratio` is false of their difference.
    """
    track = whole_track(files)
    return {
        "jobs": track.jobs,
        "offered_from_jobs": OFFERED_FROM,
        "quantities": [_known(to_builtins(row)) for row in track.rows],
        "grounds": [_known(to_builtins(row)) for row in track.grounds],
        "readings": [
            {"file": each.file, **_reading(one)}
            for each in files
            if each.record is not None
            for one in each.record.compared
        ],
        "skipped": [{"file": each.file, "why": each.refused} for each in files if each.record is None],
    }


def _reading(one: Compared) -> dict[str, Any]:
    told = to_builtins(one)
    low, high = told.pop("band")
    return {**told, "low": low, "high": high, "inside": one.inside}


def _known(row: dict[str, Any]) -> dict[str, Any]:
    return {key: None if isinstance(value, float) and math.isnan(value) else value for key, value in row.items()}


def record_lines(files: Sequence[FileRecord], system: System) -> list[str]:
    """The record in the units of the reader."""
    track = whole_track(files)
    lines = [headline(track)]
    for against, rows in tables_of(track, system).items():
        lines += ["", AGAINST[against], *table([HEAD, *rows], right=(1, 2, 3, 4, 5, 6))]
    if not track.rows:
        lines += ["", NO_READINGS]
    offered = offered_words(track)
    if offered:
        lines += ["", OWN_NUMBERS]
        for words in offered:
            lines += wrapped(words, "  - ")
    lines += ["", *wrapped(NOT_TAKEN if offered else too_few_words(track))]
    skipped = [each for each in files if each.record is None]
    if skipped:
        lines += ["", left_out_words(len(skipped))]
        lines += [f"  {each.file}: {each.refused}" for each in skipped]
    return [plain_line(line) for line in lines]


def headline(track: Track) -> str:
    """What a record is of."""
    return f"Predicted against measured, {counted(track.jobs, 'job')} with readings that were predicted"


def left_out_words(count: int) -> str:
    """What stands over the files that have no record."""
    return f"Left out: {counted(count, 'file')}"


def tables_of(track: Track, system: System) -> dict[Against, list[tuple[str, ...]]]:
    """The cells under `HEAD`, a row for each quantity; what has none is left out."""
    write = writer(system)
    cells = {against: [_cells(row, write) for row in track.rows if row.against == against] for against in AGAINST}
    return {against: rows for against, rows in cells.items() if rows}


def _cells(row: Row, write: Write) -> tuple[str, ...]:
    unit = DIMENSIONS[row.what]
    lone = row.readings < 2
    if row.by_ratio:
        bias, scatter = _percent(row.bias), "" if lone else _percent(row.scatter)
    else:
        dimension = "level_difference" if unit == "level" else unit
        bias, scatter = write(row.bias, dimension), "" if lone else write(row.scatter, dimension)
    return (
        ITEM_NAMES[row.what],
        str(row.jobs),
        str(row.readings),
        f"{100.0 * row.inside:.0f} %",
        bias,
        scatter,
        f"x {format_number(row.errors, 2)}",
    )


def _percent(logarithm: float) -> str:
    return f"{format_number(100.0 * math.expm1(logarithm), 1)} %"


def offered_words(track: Track) -> list[str]:
    """What could stand in place of the program's own numbers, with the jobs behind each; none with too few jobs."""
    lines = []
    for row in track.rows:
        if row.offered:
            words = f"{ITEM_NAMES[row.what]}, {AGAINST[row.against].lower()}: bands x {format_number(row.errors, 2)}"
            lines.append(f"{words}, at most x {format_number(row.errors_at_most, 2)} ({row.jobs} jobs)")
    return lines + [_ground_words(row) for row in track.grounds if row.offered]


def too_few_words(track: Track) -> str:
    """From how many jobs on there is an offer."""
    behind = max([row.jobs for row in track.rows] + [row.jobs for row in track.grounds], default=0)
    return f"From {OFFERED_FROM} jobs on your own scatter is told here; the most behind one number is {behind}."


def _ground_words(row: GroundRow) -> str:
    return (
        f"Ground entered as '{row.kind}': asks x {format_number(row.factor, 2)} of what its class says, "
        f"within x or / {format_number(math.exp(row.spread), 2)} ({row.jobs} jobs)"
    )


def save_record(files: Sequence[FileRecord], path: Path) -> None:
    """Write a spreadsheet, whole or not at all: quantities, grounds, every reading, and what was left out.

    Raises
    ------
    ProjectError
        With a sentence.
    """
    from openpyxl import Workbook

    answer = record_answer(files)
    book = Workbook()
    if book.active is not None:
        book.remove(book.active)
    for title, key in _SHEETS.items():
        sheet = book.create_sheet(title)
        names = list(answer[key][0]) if answer[key] else []
        fill(sheet, [names, *([each[name] for name in names] for each in answer[key])])
        sheet.freeze_panes = "A2"
    whole = BytesIO()
    book.save(whole)
    put_whole(whole.getvalue(), path)
