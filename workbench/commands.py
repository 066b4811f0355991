"""The workbench without its window: the same answers as text or JSON."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any, NoReturn

from workbench import __version__
from workbench.answering import solve_command
from workbench.console import (
    BAD_INPUT,
    DONE,
    Refused,
    Window,
    command,
    entered,
    file_argument,
    refusals_of,
    say,
    solved,
    speed_argument,
    speed_asked,
    tell,
    units_argument,
    weather_argument,
)
from workbench.design.capacity import CAPACITIES
from workbench.design.doubts import doubts
from workbench.design.faults import Fault
from workbench.design.wording import counted
from workbench.diagnosing import diagnose_command
from workbench.files.answer_text import answer_lines, caution, choice_lines, table, writer
from workbench.files.fan_library import fan_classes, library
from workbench.files.job import choices, look_over
from workbench.files.plain_text import json_text, plain_line
from workbench.files.project import ProjectError, project_schema
from workbench.paperwork import papers_command
from workbench.recording import record_command
from workbench.units import format_entry

_SUBCOMMANDS = ("solve", "choices", "papers", "diagnose", "record", "check", "fans", "limits", "schema", "show")
_SAFE = "--safe"
_MOST_ROWS = 20


def run(argv: Sequence[str], window: Window) -> int:
    """Carry out a command line and give the exit code: 0 done, 1 the design does not hold, 2 bad input."""
    # whatever the console's own encoding, which may lack a minus or a multiplication sign
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="replace")
    try:
        return _carry_out(list(argv), window)
    except SystemExit as left:  # argparse, after its help
        return int(left.code or DONE)
    except (Refused, ProjectError) as refusal:
        tell(str(refusal))
        return BAD_INPUT


def _carry_out(argv: list[str], window: Window) -> int:
    words = [word for word in argv if word != _SAFE]
    if not words or (words[0] not in _SUBCOMMANDS and not words[0].startswith("-")):
        if len(words) > 1:
            raise Refused(f"'{words[0]}' is not a command; there are {', '.join(_SUBCOMMANDS)}")
        if words and not Path(words[0]).exists():
            raise Refused(f"'{words[0]}' is neither a file nor a command; there are {', '.join(_SUBCOMMANDS)}")
        return window.open(Path(words[0]) if words else None, len(words) < len(argv))
    arguments = _parser().parse_args(argv)
    return int(arguments.carry_out(arguments, window))


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        raise Refused(f"{message} (--help tells more)")

    def print_help(self, _file: Any = None) -> None:
        say(self.format_help().rstrip())


class _Version(argparse.Action):
    def __call__(self, parser: argparse.ArgumentParser, *_: Any) -> None:
        say(f"{parser.prog} {__version__}")
        parser.exit()


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="subslab-workbench",
        description="Design and dial back a sub-slab fan and its pipe. Without a command the window opens, on FILE if "
        "one is given.",
        epilog=caution(),
    )
    parser.add_argument("--version", action=_Version, nargs=0, help="print the version of the workbench and end")
    _safe(parser, "open the window without stored settings, kept searches and work left by a crash")
    commands = parser.add_subparsers(metavar="COMMAND", required=True)

    solve_command(commands)

    search = command(commands, "choices", _choices, "search fans, pipes, pits, sealing and points, and rank them")
    file_argument(search)
    units_argument(search)
    weather_argument(search)
    search.add_argument("--json", action="store_true", help="one JSON object in SI, with all that was tried")
    search.add_argument("--most", metavar="N", type=int, default=_MOST_ROWS, help="rows of the table (%(default)s)")

    papers_command(commands)
    diagnose_command(commands)
    record_command(commands)

    check = command(
        commands, "check", _check, "name every fault of project files, each with its place as a JSON Pointer"
    )
    check.add_argument("files", metavar="FILE", nargs="+", type=Path, help="project file")
    check.add_argument("--json", action="store_true", help="an array with an object for each file")
    weather_argument(check)

    fans = command(commands, "fans", _fans, "list the fan classes that come with the workbench; all are invented")
    fans.add_argument("--json", action="store_true", help="whole classes with their curves, as JSON in SI")
    units_argument(fans)

    limits = command(commands, "limits", _limits, "list how much a project, a table or a file may hold")
    limits.add_argument("--json", action="store_true", help="one JSON object, by key")

    schema = command(commands, "schema", _schema, "print the JSON Schema of a project file, or of an answer")
    schema.add_argument("--answer", action="store_true", help="the answer of 'solve --json', every key documented")

    show = command(commands, "show", _show, "draw the window into a picture, without a screen, and print the answer")
    file_argument(show)
    speed_argument(show)
    units_argument(show)
    weather_argument(show)
    show.add_argument("--picture", metavar="OUT.png", type=Path, required=True, help="where the picture goes")
    _safe(show, "draw it without stored settings, kept searches and work left by a crash")
    return parser


def _safe(parser: argparse.ArgumentParser, purpose: str) -> None:
    parser.add_argument(_SAFE, action="store_true", help=purpose)


# --- commands -----------------------------------------------------------------------------------------------------


def _show(arguments: argparse.Namespace, window: Window) -> int:
    design = entered(arguments.file, arguments.weather)
    with refusals_of(design):
        prepared, outcome = solved(design, speed_asked(arguments))
        text = "\n".join(answer_lines(prepared, outcome, arguments.units))
    try:
        window.picture(
            design.model_copy(update={"speed": outcome.speed}), arguments.picture, arguments.units, arguments.safe
        )
    except OSError as error:
        raise Refused(f"{arguments.picture}: the picture cannot be written") from error
    say(text)
    return DONE


def _check(arguments: argparse.Namespace, _window: Window) -> int:
    code, told = DONE, []
    for file in arguments.files:
        try:
            design, faults = look_over(file, weather=arguments.weather)
            head = f"{file}: {counted(len(faults), 'fault') if faults else 'no faults'}"
        except ProjectError as error:
            design, faults, head = None, [Fault((), str(error), limit=error.limit)], ""
        looks = [] if design is None or faults else [(fan.name, each) for fan in design.fans for each in doubts(fan)]
        code = BAD_INPUT if faults else code
        if arguments.json:
            pointed = [_pointed(fault) for fault in faults]
            doubted = [{"fan": fan, "text": doubt.text} for fan, doubt in looks]
            told.append({"file": str(file), "faults": pointed, "to_look_at": doubted})
        elif not head:
            say(plain_line(faults[0].text))
        else:
            lines = [f"  {fault.pointer}: {fault.text}" for fault in faults]
            lines += [f"  check: {fan}: {doubt.text}" for fan, doubt in looks]
            say("\n".join(map(plain_line, [head, *lines])))
    if arguments.json:
        say(json_text(told))
    return code


def _pointed(fault: Fault) -> dict[str, Any]:
    """A fault for other programs; where it is more than can be taken, which limit that is and how much it allows."""
    told: dict[str, Any] = {"pointer": fault.pointer, "text": fault.text}
    return told | {"limit": fault.limit, "most": CAPACITIES[fault.limit].most} if fault.limit else told


def _fans(arguments: argparse.Namespace, _window: Window) -> int:
    code = BAD_INPUT if library().broken else DONE
    for broken in library().broken:
        tell(f"the fan library leaves out {broken}")
    if arguments.json:
        say(json_text({"fans": [fan.model_dump(mode="json") for fan in fan_classes()]}))
        return code
    write = writer(arguments.units)
    rows = [("Class", "most flow", "max. suction", "power", "sound", "least speed")]
    for fan in fan_classes():
        powers = [point.power for point in fan.full.points if point.power is not None]
        rows.append(
            (
                fan.name,
                write(fan.full.points[-1].flow, "flow"),
                write(max(point.pressure for point in fan.full.points), "pressure"),
                write(max(powers), "power") if powers else "",
                "" if fan.sound_dBA is None else write(fan.sound_dBA, "level"),
                "one speed"
                if fan.control == "none"
                else format_entry(fan.lowest_speed, "speed", arguments.units, with_unit=True),
            )
        )
    invented = "Every class is invented: for a job that will be built, enter the curve of the fan that will be bought."
    say("\n".join([*table(rows, right=(1, 2, 3, 4, 5), indent=""), "", invented]))
    return code


def _limits(arguments: argparse.Namespace, _window: Window) -> int:
    if arguments.json:
        rows = {
            key: {"what": limit.what, "most": limit.most, "unit": limit.unit, "why": limit.why}
            for key, limit in CAPACITIES.items()
        }
        say(json_text(rows))
        return DONE
    head = ("limit", "at most", "", "of what", "why")
    cells = [(key, f"{each.most:,}", each.unit, each.what, each.why) for key, each in CAPACITIES.items()]
    say("\n".join(table([head, *cells], right=(1,), indent="")))
    return DONE


def _schema(arguments: argparse.Namespace, _window: Window) -> int:
    from workbench.solving.report.answer_records import answer_schema

    say(json_text(answer_schema() if arguments.answer else project_schema()))
    return DONE


def _choices(arguments: argparse.Namespace, _window: Window) -> int:
    from workbench.solving.choices.words import choices_answer

    design = entered(arguments.file, arguments.weather)
    with refusals_of(design):
        found = choices(design)
        lines = [] if arguments.json else choice_lines(found, arguments.units, arguments.most)
        text = json_text(choices_answer(found)) if arguments.json else "\n".join(lines)
    say(text)
    return DONE
