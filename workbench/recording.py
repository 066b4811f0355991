"""The command that tells how well the predictions of many jobs were met."""

from __future__ import annotations

import argparse
import sys
from contextlib import suppress
from pathlib import Path
from typing import Any

from workbench.console import DONE, Refused, Window, command, say, units_argument
from workbench.files.job import NO_ANSWER
from workbench.files.plain_text import json_text
from workbench.files.project import ProjectError


def record_command(commands: Any) -> None:
    """Add the command to those of the program."""
    parser = command(
        commands, "record", _record, "compare what was predicted with what was read over all jobs of a folder"
    )
    parser.add_argument("folder", metavar="DIR", type=Path, help="folder of project files, and those below it")
    units_argument(parser)
    parser.add_argument("--json", action="store_true", help="one JSON object in SI, with every reading")
    parser.add_argument("--xlsx", metavar="FILE", type=Path, help="write a spreadsheet")
    parser.add_argument("--processes", metavar="N", type=_count, help="processes at work; one for each core without it")


def _count(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= 1024:
        raise argparse.ArgumentTypeError(f"'{text}' is not a number of processes; give 1 to 1024")
    return int(text)


def _record(arguments: argparse.Namespace, _window: Window) -> int:
    # what only this command needs would delay the window, which starts here too
    from workbench.files.many import over_files
    from workbench.files.record_text import (
        FileRecord,
        project_files,
        record_answer,
        record_lines,
        record_of_file,
        save_record,
    )

    folder: Path = arguments.folder
    if not folder.is_dir():
        raise Refused(f"{folder}: there is no such folder")
    if arguments.xlsx is not None and arguments.xlsx.suffix.lower() != ".xlsx":
        raise Refused(f"{arguments.xlsx.name}: choose a name that ends in .xlsx")
    files = project_files(folder)
    if not files:
        raise Refused(f"{folder}: there are no project files in it")
    done: dict[Path, FileRecord] = {}
    try:
        for each in over_files(
            record_of_file, files, refusals=(ProjectError, *NO_ANSWER), processes=arguments.processes
        ):
            why = each.refused.removeprefix(f"{each.file}: ")
            done[each.file] = FileRecord(str(each.file.relative_to(folder)), each.result, why)
            _progress(len(done), len(files))
    except KeyboardInterrupt:
        raise Refused(f"called off after {len(done)} of {len(files)} files") from None
    found = [done[file] for file in files]
    if arguments.xlsx is not None:
        save_record(found, arguments.xlsx)
    if arguments.json:
        say(json_text(record_answer(found)))
    elif arguments.xlsx is None:
        say("\n".join(record_lines(found, arguments.units)))
    return DONE


def _progress(done: int, whole: int) -> None:
    """How far it has come, on one line of a terminal."""
    if sys.stderr is None or not sys.stderr.isatty():
        return
    with suppress(OSError, ValueError):  # nobody is left to be told
        print(f"\r{done} of {whole} files", end="\n" if done == whole else "", file=sys.stderr, flush=True)
