"""The command that answers designs: one, several, or all of a folder."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from msgspec import Struct

from workbench.console import (
    BAD_INPUT,
    DOES_NOT_HOLD,
    DONE,
    PIPED,
    Refused,
    Window,
    command,
    entered,
    refusals_of,
    say,
    solved,
    speed_argument,
    speed_asked,
    tell,
    units_argument,
    weather_argument,
)
from workbench.files.answer_text import answer_lines, reason, writer
from workbench.files.job_table import JobRow, Row, job_frame, row_of
from workbench.files.plain_text import json_text
from workbench.files.tables import check_table, save_table
from workbench.gathering import files_asked, gathered, in_place, many_arguments
from workbench.units import System

if TYPE_CHECKING:
    from workbench.files.many import Done


class Asked(Struct, frozen=True):
    """What is asked of every design."""

    weather: Path | None
    speed: float | None
    units: System
    json: bool
    table: bool


class Answered(Struct, frozen=True):
    """Text or object of an answer, its row of a table where one is asked for, and why it does not hold, if so."""

    told: Any
    row: Row | None
    lacking: str


def solve_command(commands: Any) -> None:
    """Add the command to those of the program."""
    solve = command(commands, "solve", _solve, "find where the fan settles, and what follows from it")
    solve.add_argument(
        "files",
        metavar="FILE",
        nargs="*",
        type=Path,
        help="project file, - for one that is piped in, or folder of them; the demonstration without one",
    )
    speed_argument(solve)
    units_argument(solve)
    solve.add_argument(
        "--json",
        action="store_true",
        help="one JSON object in SI: m3/s, Pa, W, m/s; of several files or a folder an array of them",
    )
    solve.add_argument(
        "--table", metavar="FILE", type=Path, help="write a row for each file, in SI: .csv, .xlsx or .parquet"
    )
    solve.add_argument("--strict", action="store_true", help="exit with 1 unless it is measured that every hole holds")
    weather_argument(solve)
    many_arguments(solve)


def answered(asked: Asked, file: Path | None) -> Answered:
    """Answer one file, or the demonstration.

    Raises
    ------
    Refused
        With a sentence.
    """
    # what only this command needs would delay the window, which starts here too
    from workbench.solving.report.answer import answer

    design = entered(file, asked.weather)
    with refusals_of(design):
        prepared, outcome = solved(design, asked.speed)
        told: Any = None
        if asked.json:
            told = answer(prepared, outcome)
        elif not asked.table:
            told = "\n".join(answer_lines(prepared, outcome, asked.units))
        lacking = ""
        if outcome.verdict != "holds":
            lacking = reason(prepared, outcome, writer(asked.units), asked.units)
        return Answered(told, row_of(prepared, outcome) if asked.table else None, lacking)


def _solve(arguments: argparse.Namespace, _window: Window) -> int:
    paths: list[Path] = arguments.files
    if paths.count(PIPED) > 1:
        raise Refused("what is piped in can be read once: write - once")
    if arguments.table is not None:
        check_table(arguments.table)
    asked = Asked(
        in_place(arguments.weather),
        speed_asked(arguments),
        arguments.units,
        arguments.json,
        arguments.table is not None,
    )
    if len(paths) > 1 or any(path.is_dir() for path in paths):
        return _many(asked, files_asked(paths), arguments)
    file = paths[0] if paths else None
    found = answered(asked, file)
    _save([JobRow("" if file is None else str(file), found.row)], arguments)
    if found.told is not None:
        say(json_text(found.told) if asked.json else found.told)
    if not (arguments.strict and found.lacking):
        return DONE
    tell(found.lacking)
    return DOES_NOT_HOLD


def _many(asked: Asked, files: Sequence[Path], arguments: argparse.Namespace) -> int:
    """One that is bad is named and left out; the exit code tells it before a design that does not hold."""
    from workbench.files.many import worked

    work = partial(answered, asked)
    # what is piped in comes to this process alone
    piped = {file: worked(work, (Refused,), file) for file in files if file == PIPED}
    others = gathered(work, [file for file in files if file != PIPED], arguments, (Refused,))
    done = {each.file: each for each in others} | piped
    found = [done[file] for file in files]
    answers = [(str(each.file), each.result) for each in found if each.result is not None]
    rows = [(None if each.result is None else each.result.row) for each in found]
    _save([JobRow(str(each.file), row, each.refused) for each, row in zip(found, rows, strict=True)], arguments)
    if asked.json:
        folders = any(path.is_dir() for path in arguments.files)
        say(json_text([_object(each, folders) for each in found]))
    elif answers and not asked.table:
        say("\n".join(f"{file}\n\n{answer.told}\n" for file, answer in answers))
    left_out = [each for each in found if each.result is None]
    for each in left_out:
        tell(f"{each.file}: {each.refused}")
    lacking = [f"{file}: {answer.lacking}" for file, answer in answers if answer.lacking] if arguments.strict else []
    for why in lacking:
        tell(why)
    return BAD_INPUT if left_out else DOES_NOT_HOLD if lacking else DONE


def _object(each: Done[Answered], named: bool) -> dict[str, Any]:
    if each.result is None:
        return {"file": str(each.file), "why": each.refused}
    return {"file": str(each.file), **each.result.told} if named else each.result.told


def _save(rows: Sequence[JobRow], arguments: argparse.Namespace) -> None:
    if arguments.table is not None:
        save_table(job_frame(rows), arguments.table, title="Jobs")
