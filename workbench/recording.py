"""The command that tells how well the predictions of many jobs were met."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from workbench.console import DONE, Refused, Window, command, say, units_argument
from workbench.files.job import NO_ANSWER
from workbench.files.plain_text import json_text
from workbench.files.project import ProjectError
from workbench.gathering import files_of, gathered, many_arguments


def record_command(commands: Any) -> None:
    """Add the command to those of the program."""
    parser = command(
        commands, "record", _record, "compare what was predicted with what was read over all jobs of a folder"
    )
    parser.add_argument("folder", metavar="DIR", type=Path, help="folder of project files, and those below it")
    units_argument(parser)
    parser.add_argument("--json", action="store_true", help="one JSON object in SI, with every reading")
    parser.add_argument("--xlsx", metavar="FILE", type=Path, help="write a spreadsheet")
    many_arguments(parser)


def _record(arguments: argparse.Namespace, _window: Window) -> int:
    # what only this command needs would delay the window, which starts here too
    from workbench.files.record_text import FileRecord, record_answer, record_lines, record_of_file, save_record

    folder: Path = arguments.folder
    if not folder.is_dir():
        raise Refused(f"{folder}: there is no such folder")
    if arguments.xlsx is not None and arguments.xlsx.suffix.lower() != ".xlsx":
        raise Refused(f"{arguments.xlsx.name}: choose a name that ends in .xlsx")
    files = files_of(folder)
    found = [
        FileRecord(str(each.file.relative_to(folder)), each.result, each.refused)
        for each in gathered(record_of_file, files, arguments, (ProjectError, *NO_ANSWER))
    ]
    if arguments.xlsx is not None:
        save_record(found, arguments.xlsx)
    if arguments.json:
        say(json_text(record_answer(found)))
    elif arguments.xlsx is None:
        say("\n".join(record_lines(found, arguments.units)))
    return DONE
