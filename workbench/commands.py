"""The workbench without its window: the same answers as text or JSON."""

from __future__ import annotations

import argparse
import json
import os
import sys
import textwrap
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn, cast

from workbench.design.catalogue import cautions
from workbench.design.design import Design
from workbench.design.doubts import doubts
from workbench.files.climate import WeatherError, climate_of
from workbench.files.fan_library import fan_classes
from workbench.files.project import ProjectError, load_project, project_schema
from workbench.files.scenes import load_scene
from workbench.physics.network import NoConvergence
from workbench.solve.answer import answer
from workbench.solve.outcome import Crossing, Holding, Outcome
from workbench.solve.prepare import Prepared, prepare
from workbench.solve.rules import check_rules
from workbench.solve.water import freezing_notice, water_at
from workbench.solve.yearly import Hours
from workbench.units import SYSTEMS, Dimension, System, format_entry, format_quantity

if TYPE_CHECKING:
    from workbench.solve.choices import Choices

DONE, DOES_NOT_HOLD, BAD_INPUT = 0, 1, 2

_ANSWERED = ("not-proof", "spillage")
"""Cautions that concern every answer."""
_LOCAL = "Local code and the licence prevail."

_SUBCOMMANDS = ("solve", "choices", "check", "fans", "schema", "show")
_MOST_ROWS = 20
_LINE = 100
"""Length at which sentences are broken."""


@dataclass(frozen=True)
class Window:
    """What only the window can do, handed in so that nothing here loads it.

    `open` shows it, with a file or without, and gives the exit code, or raises ProjectError; `picture` draws it into
    a file, or raises OSError.
    """

    open: Callable[[Path | None], int]
    picture: Callable[[Design, Path, System], None]


_Write = Callable[[float, str], str]
"""Writes an SI value of a dimension in the units of the reader."""


class Refused(Exception):
    """Input that cannot be used; the message is the one line that is printed."""


def run(argv: Sequence[str], window: Window) -> int:
    """Carry out a command line and give the exit code: 0 done, 1 the design does not hold, 2 bad input."""
    # a consumer may close its end early, and a console may lack a letter; neither is a fault of the answer
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    try:
        code = _carry_out(list(argv), window)
        sys.stdout.flush()
    except SystemExit as left:  # argparse, after printing its help
        return int(left.code or DONE)
    except (Refused, ProjectError) as refusal:
        print(f"subslab-workbench: {refusal}", file=sys.stderr)
        return BAD_INPUT
    except BrokenPipeError:
        # the interpreter flushes once more on its way out
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE
    return code


def _carry_out(argv: list[str], window: Window) -> int:
    if not argv or (argv[0] not in _SUBCOMMANDS and not argv[0].startswith("-")):
        if len(argv) > 1:
            raise Refused(f"'{argv[0]}' is not a command; there are {', '.join(_SUBCOMMANDS)}")
        if argv and not Path(argv[0]).exists():
            raise Refused(f"'{argv[0]}' is neither a file nor a command; there are {', '.join(_SUBCOMMANDS)}")
        return window.open(Path(argv[0]) if argv else None)
    arguments = _parser().parse_args(argv)
    return int(arguments.carry_out(arguments, window))


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        raise Refused(f"{message} (--help tells more)")


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="subslab-workbench",
        description="Design and dial back a sub-slab fan and its pipe. Without a command the window opens, on FILE if "
        "one is given.",
        epilog=_caution(),
    )
    commands = parser.add_subparsers(metavar="COMMAND", required=True)

    solve = _command(commands, "solve", _solve, "find where the fan settles, and what follows from it")
    _file(solve)
    _speed(solve)
    _units(solve)
    solve.add_argument("--json", action="store_true", help="one JSON object in SI: m3/s, Pa, W, m/s")
    solve.add_argument("--strict", action="store_true", help="exit with 1 unless the fan settles and every hole holds")

    choices = _command(commands, "choices", _choices, "search fans, pipes, pits, sealing and points for what is best")
    _file(choices)
    _units(choices)
    choices.add_argument("--json", action="store_true", help="one JSON object in SI, with all that was tried")
    choices.add_argument("--most", metavar="N", type=int, default=_MOST_ROWS, help="rows of the table (%(default)s)")

    check = _command(commands, "check", _check, "look project files over and name every fault with its place")
    check.add_argument("files", metavar="FILE", nargs="+", type=Path, help="project file")

    fans = _command(commands, "fans", _fans, "list the fan classes that come with the workbench; all are invented")
    fans.add_argument("--json", action="store_true", help="whole classes with their curves, as JSON in SI")
    _units(fans)

    _command(commands, "schema", _schema, "print the JSON Schema of a project file")

    show = _command(commands, "show", _show, "draw the window into a picture, without a screen, and print the answer")
    _file(show)
    _speed(show)
    _units(show)
    show.add_argument("--picture", metavar="OUT.png", type=Path, required=True, help="where the picture goes")
    return parser


def _command(
    commands: Any, name: str, carry_out: Callable[[argparse.Namespace, Window], int], purpose: str
) -> argparse.ArgumentParser:
    parser = cast(
        argparse.ArgumentParser,
        commands.add_parser(name, help=purpose, description=purpose[0].upper() + purpose[1:] + ".", epilog=_caution()),
    )
    parser.set_defaults(carry_out=carry_out)
    return parser


def _file(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "file", metavar="FILE", nargs="?", type=Path, help="project file; the demonstration without one"
    )


def _speed(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--speed", metavar="SPEED", help="fan speed, 0.62 or 62%%; the design's own without it")


def _units(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--units", choices=SYSTEMS, default="SI", help="units of the text: L/s and Pa, or cfm and in. w.c."
    )


# --- commands -----------------------------------------------------------------------------------------------------


def _solve(arguments: argparse.Namespace, _window: Window) -> int:
    prepared, outcome = _solved(arguments)
    if arguments.json:
        _print_json(answer(prepared, outcome))
    else:
        print("\n".join(answer_lines(prepared, outcome, arguments.units)))
    return DOES_NOT_HOLD if arguments.strict and not _holds(outcome) else DONE


def _holds(outcome: Outcome) -> bool:
    """Whether the fan settles and, where there are test holes, every one surely keeps its target."""
    return outcome.operating is not None and (outcome.holding is None or outcome.holding.verdict == "holds")


def _show(arguments: argparse.Namespace, window: Window) -> int:
    prepared, outcome = _solved(arguments)
    try:
        window.picture(prepared.design.model_copy(update={"speed": outcome.speed}), arguments.picture, arguments.units)
    except OSError as error:
        raise Refused(f"{arguments.picture}: the picture cannot be written") from error
    print("\n".join(answer_lines(prepared, outcome, arguments.units)))
    return DONE


def _check(arguments: argparse.Namespace, _window: Window) -> int:
    code = DONE
    for file in arguments.files:
        try:
            design = load_project(file)
        except ProjectError as error:
            code = BAD_INPUT
            print(error if not error.faults else f"{file}: {_counted(len(error.faults), 'fault')}")
            for fault in error.faults:
                print(f"  {fault}")
            continue
        print(f"{file}: no faults")
        for fan in design.fans:
            for doubt in doubts(fan):
                print(f"  to look at: {fan.name}: {doubt.text}")
    return code


def _fans(arguments: argparse.Namespace, _window: Window) -> int:
    if arguments.json:
        _print_json({"fans": [fan.model_dump(mode="json") for fan in fan_classes()]})
        return DONE
    write = _writer(arguments.units)
    rows = [("Class", "most flow", "most suction", "power", "sound", "least speed")]
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
    print("\n".join(_table(rows, right=(1, 2, 3, 4, 5), indent="")))
    print("\nEvery class is invented: for a job that will be built, enter the curve of the fan that will be bought.")
    return DONE


def _schema(_arguments: argparse.Namespace, _window: Window) -> int:
    _print_json(project_schema())
    return DONE


def _choices(arguments: argparse.Namespace, _window: Window) -> int:
    # what only this command needs would delay the window, which starts here too
    from workbench.solve.choice_words import choices_answer
    from workbench.solve.choices import search

    design, hours = _entered(arguments)
    try:
        found = search(design, hours=hours)
    except ValueError as refusal:
        raise Refused(f"{design.title}: {refusal}") from refusal
    if arguments.json:
        _print_json(choices_answer(found))
    else:
        print("\n".join(choice_lines(found, arguments.units, arguments.most)))
    return DONE


def _entered(arguments: argparse.Namespace) -> tuple[Design, Hours | None]:
    """The design asked for and the weather it names."""
    try:
        design = load_scene() if arguments.file is None else load_project(arguments.file)
        return design, climate_of(design, None if arguments.file is None else arguments.file.parent)
    except ProjectError as error:
        more = "; 'check' lists them all" if len(error.faults) > 1 else ""
        raise Refused(f"{error}{more}") from error
    except WeatherError as error:
        raise Refused(str(error)) from error


def _solved(arguments: argparse.Namespace) -> tuple[Prepared, Outcome]:
    design, hours = _entered(arguments)
    speed = design.speed if arguments.speed is None else parse_speed(arguments.speed)
    try:
        prepared = prepare(design, hours)
        return prepared, prepared.at(speed)
    except NoConvergence as error:
        raise Refused(f"{design.title}: {error}") from error


def parse_speed(text: str) -> float:
    """Speed as a fraction from `0.62` or `62%`.

    Raises
    ------
    Refused
    """
    number = text.strip().removesuffix("%").replace(",", ".")
    try:
        speed = float(number) / (100.0 if text.strip().endswith("%") else 1.0)
    except ValueError as error:
        raise Refused(f"--speed '{text}' is not a speed; write 0.62 or 62%") from error
    if not 0.0 < speed <= 1.0:
        raise Refused(f"--speed {text} is out of range: above 0 and up to 1, or 100%")
    return speed


# --- text ---------------------------------------------------------------------------------------------------------


def answer_lines(prepared: Prepared, outcome: Outcome, system: System) -> list[str]:
    """An outcome as short, aligned lines for a terminal, with its bands and cautions."""
    write = _writer(system)
    design = prepared.design
    lines = [design.title, *_sentence(design.note)]
    lines += [
        "",
        f"{design.fan or 'No fan'} at {format_entry(outcome.speed, 'speed', system, with_unit=True)} of full speed",
    ]
    if outcome.operating is not None:
        lines += _running(outcome, outcome.operating, write, system)
    if outcome.holding is not None:
        lines += _holding(prepared, outcome.holding, write, system)
    if outcome.notices:
        lines += ["", "To know"]
        for notice in outcome.notices:
            lines += _sentence(notice.text(write), "  - ")
    lines += _water_and_rules(prepared, outcome, write)
    return [*lines, "", *_sentence(_caution())]


def _running(outcome: Outcome, operating: Crossing, write: _Write, system: System) -> list[str]:
    band = outcome.band
    spread = (
        "" if band is None else f"{write(band[0], 'flow')} to {write(band[1], 'flow')}, as ground and pipe may be off"
    )
    lines = ["", "Operating point"]
    lines += _table(
        [
            ("Flow", write(operating.flow, "flow"), spread),
            ("Fan pressure", write(operating.fan_pressure, "pressure"), "total"),
            ("Gauge before the fan", write(outcome.gauge, "pressure"), "below the room"),
            ("Fastest air", write(outcome.velocity, "velocity"), ""),
            ("Power", write(operating.power, "power"), ""),
        ]
    )
    if len(outcome.crossings) > 1:
        lines += ["", "All crossings of fan and system"]
        words = {True: "stable", False: "does not last"}
        lines += _table(
            [(words[c.stable], write(c.flow, "flow"), write(c.fan_pressure, "pressure")) for c in outcome.crossings],
            right=(1, 2),
        )
    lines += ["", "Suction points, and what is left in the pit"]
    lines += _table(
        [(p.name, write(p.flow, "flow"), write(p.suction, "pressure")) for p in outcome.points], right=(1, 2)
    )
    lines += ["", "Where the pressure goes"]
    total = operating.fan_pressure
    lines += _table(
        [
            (
                loss.part,
                write(loss.pressure, "pressure"),
                _share(loss.pressure / total, system) if total else "",
            )
            for loss in outcome.losses
        ],
        right=(1, 2),
    )
    if outcome.sound:
        bands = ["" if s.hardly_audible else f"± {write(s.band, 'level_difference')}" for s in outcome.sound]
        lines += ["", "Heard"]
        lines += _table([(s.place, write(s.level, "heard"), b) for s, b in zip(outcome.sound, bands, strict=True)])
    if outcome.year is not None:
        year = outcome.year
        costs = (
            ("Fan", year.fan_energy, year.fan_cost),
            ("House air drawn out", year.house_air_energy, year.house_air_cost),
        )
        lines += ["", "A year"]
        lines += _table(
            [
                (what, write(kwh, "energy_kwh"), f"{write(money, 'money')} {year.currency}")
                for what, kwh, money in costs
            ],
            right=(1, 2),
        )
    return lines


def _water_and_rules(prepared: Prepared, outcome: Outcome, write: _Write) -> list[str]:
    """Water on the coldest day, and the rules of the place that are not met."""
    lines: list[str] = []
    design = prepared.design
    water = water_at(prepared, outcome, design.worst_day.outdoor_temperature, design.place.wind)
    if water is not None:
        amount = f"{write(water.total, 'mass')} of water a day at {write(water.outdoor, 'temperature')} outdoors"
        notice = freezing_notice(water)
        lines += [
            "",
            "Water in the pipe",
            *_sentence(f"{amount}. {notice.text(write) if notice else ''}".strip(), "  "),
        ]
    if design.rules is not None:
        judged = check_rules(prepared, outcome)
        broken = [each for each in judged if each.judgement == "not met"]
        met = sum(each.judgement == "met" for each in judged)
        open_ones = sum(each.judgement == "not entered" for each in judged)
        lines += ["", f"Rules: {design.rules.title}"]
        lines += _sentence(f"{met} met, {len(broken)} not met, {open_ones} not entered.", "  ")
        for each in broken:
            rule = each.rule
            lines += _sentence(f"not met: {rule.what} ({rule.source} {rule.edition}, {rule.kind}); {each.why}", "  - ")
    return lines


def _holding(prepared: Prepared, holding: Holding, write: _Write, system: System) -> list[str]:
    """What every hole keeps, and in words whether that is enough."""
    rows = [
        (
            hole.name,
            write(hole.suction, "pressure"),
            f"worst day {write(hole.worst, 'pressure')}",
            f"({write(hole.worst_band[0], 'pressure')} to {write(hole.worst_band[1], 'pressure')})",
        )
        if hole.known
        else (hole.name, "", "not read, not on a plan", "")
        for hole in holding.holes
    ]
    verdict = {"holds": "Holds", "fails": "Does not hold", "unsure": "Not sure"}[holding.verdict]
    words = f"{verdict}: {write(holding.target, 'pressure')} is to be kept ({prepared.design.target.source})."
    if holding.weakest is not None:
        words += f" The weakest hole is {holding.weakest}."
    if holding.chance is not None:
        words += f" The chance that all hold is {_share(holding.chance, system)}; asked for"
        words += f" {_share(holding.wanted_chance, system)}."
    lowest = prepared.lowest
    if lowest.plain is None:
        words += " At no speed of this fan does the middle of the bands hold."
    else:
        sure = "at no speed" if lowest.sure is None else f"from {_share(lowest.sure, system)}"
        words += f" The middle of the bands holds from {_share(lowest.plain, system)} of full speed, with the chance"
        words += f" asked for {sure}."
    return ["", "Test holes", *_table(rows, right=(1,)), *_sentence(words, "  ")]


def choice_lines(found: Choices, system: System, most: int) -> list[str]:
    """What a search found as short, aligned lines, those that hold first and the cheapest to own first."""
    from workbench.files.choices_table import BRIEF_NUMBERS, brief_rows
    from workbench.solve.choice_words import sentences

    write, currency = _writer(system), found.design.prices.currency
    said = [line for notice in sentences(found) for line in _sentence(notice.text(write), "  - ")]
    rows = brief_rows(found.rows[: max(most, 0)], system)
    more = len(found.rows) - len(rows) + 1
    return [
        found.design.title,
        "",
        *said,
        "",
        f"Each at its own lowest speed that holds; money in {currency}",
        *_table(rows, right=BRIEF_NUMBERS),
        *([f"  and {more} more"] if more else []),
        "",
        *_sentence(_caution()),
    ]


def _share(part: float, system: System) -> str:
    return format_quantity(part, "fraction", system, digits=2)


def _writer(system: System) -> _Write:
    return lambda value, dimension: format_quantity(value, cast(Dimension, dimension), system)


def _sentence(text: str, mark: str = "") -> list[str]:
    return textwrap.wrap(text, _LINE, initial_indent=mark, subsequent_indent=" " * len(mark))


def _table(rows: Sequence[Sequence[str]], right: Sequence[int] = (1,), indent: str = "  ") -> list[str]:
    """Rows as lines with flush columns, those at the positions `right` flush to the right."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    lines = []
    for row in rows:
        cells = (
            cell.rjust(w) if i in right else cell.ljust(w) for i, (cell, w) in enumerate(zip(row, widths, strict=True))
        )
        lines.append((indent + "   ".join(cells)).rstrip())
    return lines


def _caution() -> str:
    return " ".join([*(cautions()[name].text for name in _ANSWERED), _LOCAL])


def _counted(number: int, thing: str) -> str:
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"


def _print_json(value: Any) -> None:
    print(json.dumps(value, indent=2, ensure_ascii=False, allow_nan=False))
