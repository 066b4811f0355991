"""The command that writes papers: of one job, of several, or of all of a folder."""

from __future__ import annotations

import argparse
import os
from collections import Counter
from collections.abc import Sequence
from datetime import date
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

from msgspec import Struct

from workbench.console import (
    BAD_INPUT,
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
from workbench.files.job import choices
from workbench.gathering import files_asked, gathered, in_place, many_arguments
from workbench.units import System

if TYPE_CHECKING:
    from workbench.papers.blocks import Maker
    from workbench.papers.make import Form
    from workbench.papers.pdf import PageSize

PAPERS = ("visit", "design", "installer", "card", "owner", "startup")  # which are loaded when they are asked for


class Asked(Struct, frozen=True):
    """What is asked of every job."""

    weather: Path | None
    speed: float | None
    units: System
    maker: Maker
    day: date
    search: bool
    only: tuple[str, ...]
    forms: tuple[Form, ...]
    page: PageSize


def papers_command(commands: Any) -> None:
    """Add the command to those of the program."""
    papers = command(
        commands, "papers", _papers, "write what is carried to the house and left with the owner, as PDF, HTML or XLSX"
    )
    papers.add_argument(
        "files",
        metavar="FILE",
        nargs="*",
        type=Path,
        help="project file, or folder of them; the demonstration without one",
    )
    speed_argument(papers)
    units_argument(papers)
    papers.add_argument(
        "--out",
        metavar="DIR",
        type=Path,
        required=True,
        help="folder for the files, made if missing; of several jobs one in it for each",
    )
    papers.add_argument("--only", metavar="NAME", action="append", default=[], help=f"one of {', '.join(PAPERS)}")
    papers.add_argument("--format", choices=("pdf", "html", "xlsx"), action="append", default=[], help="pdf without it")
    papers.add_argument("--paper", choices=("letter", "a4"), default="letter", help="size of the page (%(default)s)")
    papers.add_argument("--date", metavar="YYYY-MM-DD", help="date of the papers; today without it")
    papers.add_argument("--made-by", metavar="NAME", default="", help="your name at the head of every paper")
    papers.add_argument("--license", metavar="NUMBER", default="", help="your license number, printed as it is entered")
    papers.add_argument("--logo", metavar="FILE", type=Path, help="your logo, PNG or SVG of at most 1 MB")
    weather_argument(papers)
    papers.add_argument("--search", action="store_true", help="search for options first, for the design sheet")
    many_arguments(papers)


def written(asked: Asked, file: Path | None, out: Path) -> list[Path]:
    """Write the papers of one file, or of the demonstration, into a folder.

    Raises
    ------
    Refused
        With a sentence.
    """
    # what only this command needs would delay the window, which starts here too
    from workbench.papers.make import PapersError, write_papers
    from workbench.papers.matter import Matter

    design = entered(file, asked.weather)
    try:
        with refusals_of(design):
            prepared, outcome = solved(design, asked.speed)
            found = choices(design) if asked.search else None
            matter = Matter(prepared, outcome, asked.units, maker=asked.maker, day=asked.day, found=found)
            return write_papers(matter, out, only=asked.only, forms=asked.forms, page=asked.page)
    except PapersError as error:
        raise Refused(str(error)) from error


def written_below(asked: Asked, folders: dict[str, Path], file: Path) -> list[Path]:
    """Write the papers of one file of many into the folder that is its own."""
    return written(asked, file, folders[os.path.abspath(file)])


def _papers(arguments: argparse.Namespace, _window: Window) -> int:
    from workbench.papers.maker import BadLogo, maker_of

    for name in arguments.only:
        if name not in PAPERS:
            raise Refused(f"--only '{name}' is not a paper; there are {', '.join(PAPERS)}")
    day = _day(arguments.date)
    try:
        maker = maker_of(arguments.made_by, arguments.license, arguments.logo)
    except BadLogo as error:
        raise Refused(str(error)) from error
    asked = Asked(
        in_place(arguments.weather),
        speed_asked(arguments),
        arguments.units,
        maker,
        day,
        arguments.search,
        tuple(arguments.only),
        cast("tuple[Form, ...]", tuple(arguments.format) or ("pdf",)),
        arguments.paper,
    )
    paths: list[Path] = arguments.files
    if len(paths) > 1 or any(path.is_dir() for path in paths):
        return _many(asked, files_asked(paths), arguments)
    say("\n".join(map(str, written(asked, paths[0] if paths else None, arguments.out))))
    return DONE


def _many(asked: Asked, files: Sequence[Path], arguments: argparse.Namespace) -> int:
    """One that is bad is named and left out, and the exit code tells it."""
    if PIPED in files:
        raise Refused("what is piped in has no name for a folder: give it alone")
    out: Path = arguments.out
    folders = own_folders(files)
    work = partial(written_below, asked, {file: Path(os.path.abspath(out / own)) for file, own in folders.items()})
    found = gathered(work, files, arguments, (Refused,))
    made = [out / folders[os.path.abspath(each.file)] / path.name for each in found for path in (each.result or ())]
    if made:
        say("\n".join(map(str, made)))
    left_out = [each for each in found if each.result is None]
    for each in left_out:
        tell(f"{each.file}: {each.refused}")
    return BAD_INPUT if left_out else DONE


def own_folders(files: Sequence[Path]) -> dict[str, Path]:
    """By its whole path the folder of each file's papers, as the files lie below the folder they have in common.

    Named as the file without its ending, with it where two would be the same, by letters of any case.

    Raises
    ------
    Refused
        For files on several drives.
    """
    whole = [os.path.abspath(file) for file in files]
    try:
        common = os.path.commonpath([os.path.dirname(path) for path in whole])
    except ValueError as error:
        raise Refused("the files lie on several drives: give those of one at a time") from error
    below = [Path(os.path.relpath(path, common)) for path in whole]
    bare = [path.with_suffix("") for path in below]
    often = Counter(str(path).casefold() for path in bare)
    return {
        path: short if often[str(short).casefold()] == 1 else long
        for path, long, short in zip(whole, below, bare, strict=True)
    }


def _day(text: str | None) -> date:
    if text is None:
        return date.today()
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise Refused(f"--date '{text}' is not a date; write 2026-11-30") from error
