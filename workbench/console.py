"""What every command shares: how it is asked for, what it reads, and how it answers or refuses."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, cast

from msgspec import Struct

from workbench.design.capacity import CAPACITIES, beyond
from workbench.design.design import Design, settable_speed
from workbench.files.answer_text import caution
from workbench.files.climate import WeatherError
from workbench.files.job import NO_ANSWER, at_rest, in_weather, load, prepare, why_no_answer
from workbench.files.plain_text import escaped, plain_line
from workbench.files.project import ProjectError, read_project
from workbench.files.scenes import load_scene
from workbench.solving.outcome import Outcome
from workbench.solving.run.prepare import Prepared
from workbench.units import SI, US, System

DONE, DOES_NOT_HOLD, BAD_INPUT = 0, 1, 2
PIPED = Path("-")
"""Stands for what is piped in."""


class Window(Struct, frozen=True):
    """What only the window can do, handed in so that nothing here loads it.

    `open` shows it, with a file or without, and gives the exit code, or raises ProjectError; `picture` draws it into
    a file, or raises OSError. Both are told whether the start is a safe one, without what earlier ones left.
    """

    open: Callable[[Path | None, bool], int]
    picture: Callable[[Design, Path, System, bool], None]


class Refused(Exception):
    """Input that cannot be used; the message is the one line that is printed."""


def say(text: str) -> None:
    """Print an answer. A reader that stops early is no fault, and the exit code still tells the verdict."""
    if sys.stdout is None:
        raise Refused("the answer cannot be written: the standard output is closed")
    try:
        # an answer has lines of its own; whatever it was made of has none, and nothing that a terminal obeys
        print("\n".join(map(escaped, text.split("\n"))), flush=True)
    except BrokenPipeError:
        _silence()
    except OSError as error:
        _silence()
        raise Refused(f"the answer cannot be written: {error.strerror}") from error


def _silence() -> None:
    # the interpreter flushes once more on its way out
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def tell(sentence: str) -> None:
    """One line beside the answer."""
    if sys.stderr is not None:
        with suppress(OSError, ValueError):  # nobody is left to be told
            print(f"subslab-workbench: {plain_line(' '.join(sentence.split()))}", file=sys.stderr)


def command(
    commands: Any, name: str, carry_out: Callable[[argparse.Namespace, Window], int], purpose: str
) -> argparse.ArgumentParser:
    parser = cast(
        argparse.ArgumentParser,
        commands.add_parser(name, help=purpose, description=purpose[0].upper() + purpose[1:] + ".", epilog=caution()),
    )
    parser.set_defaults(carry_out=carry_out)
    return parser


def file_argument(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "file", metavar="FILE", nargs="?", type=Path, help="project file; the demonstration without one"
    )


def weather_argument(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--weather",
        metavar="FILE.epw",
        type=Path,
        help="weather file in place of the project's, which is followed within the folder of the project alone",
    )


def units_argument(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--units",
        type=_system_named,
        metavar="{si,us}",
        default=SI,
        help="units of the text: L/s and Pa, or cfm, in. w.c. and Pa at the holes",
    )


def _system_named(text: str) -> System:
    # ip is what us was called before
    known = {"si": SI, "us": US, "ip": US}.get(text.lower())
    if known is None:
        raise argparse.ArgumentTypeError(f"'{text}' is not a set of units; there are si and us")
    return known


def entered(file: Path | None, weather: Path | None) -> Design:
    """The design asked for, in a weather file of the user's own where one is given."""
    try:
        if file is not None and file != PIPED:
            return load(file, weather=weather)
        design = load_scene() if file is None else read_project(_piped())
        return design if weather is None else in_weather(design, weather)
    except WeatherError as error:
        raise Refused(f"{file}: {error}") from error
    except ProjectError as error:
        more = "; 'check' lists them all" if len(error.faults) > 1 else ""
        raise Refused(f"{'what is piped in: ' if file == PIPED else ''}{error}{more}") from error


def _piped() -> str:
    if sys.stdin is None:
        raise Refused("nothing is piped in: the standard input is closed")
    try:
        most = CAPACITIES["project_file"].most
        # a stand-in for the standard input may hold text alone
        data = sys.stdin.buffer.read(most + 1) if hasattr(sys.stdin, "buffer") else sys.stdin.read().encode("utf-8")
        if len(data) > most:
            raise ProjectError(beyond("project_file").plain(), limit="project_file")
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise Refused("what is piped in is not a text in UTF-8") from error
    except OSError as error:
        raise Refused(f"what is piped in cannot be read: {error.strerror}") from error


@contextmanager
def refusals_of(design: Design) -> Iterator[None]:
    """What has no answer is refused in a line."""
    try:
        yield
    except WeatherError as error:
        raise Refused(str(error)) from error
    except NO_ANSWER as error:
        raise Refused(f"{design.title}: {why_no_answer(error)}") from error


def speed_argument(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--speed", metavar="SPEED", help="fan speed, 0.62 or 62%%; the design's own without it")


def speed_asked(arguments: argparse.Namespace) -> float | None:
    """The speed of the command line, None where the design's own is asked for.

    Raises
    ------
    Refused
    """
    return None if arguments.speed is None else parse_speed(arguments.speed)


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
    try:
        return settable_speed(speed)
    except ValueError as error:
        raise Refused(f"--speed {text}: {error}") from error


def solved(design: Design, speed: float | None) -> tuple[Prepared, Outcome]:
    """A design answered at a speed, its own without one."""
    prepared = prepare(design)
    return prepared, at_rest(prepared, design.speed if speed is None else speed)
