"""The command that holds a later visit against its design."""

from __future__ import annotations

import argparse
from typing import Any

from workbench.console import (
    DONE,
    Refused,
    Window,
    command,
    entered,
    file_argument,
    refusals_of,
    say,
    units_argument,
    weather_argument,
)
from workbench.design.design import Design
from workbench.design.visits import Visit, in_order
from workbench.files.job import prepare
from workbench.files.plain_text import json_text


def diagnose_command(commands: Any) -> None:
    """Add the command to those of the program."""
    parser = command(
        commands,
        "diagnose",
        _diagnose,
        "compare the readings of a visit with the design, and rank what may have changed",
    )
    file_argument(parser)
    units_argument(parser)
    weather_argument(parser)
    parser.add_argument(
        "--visit",
        metavar="DATE",
        help="date of the visit, 2026-11-30; where a day has several, with its kind or order: '2026-11-30 call-out 2'. "
        "The last visit without it",
    )
    parser.add_argument(
        "--correct",
        action="store_true",
        help="tell instead what the model would learn of the visit: ground, pipe and fan by factor, before and after",
    )
    parser.add_argument("--json", action="store_true", help="one JSON object in SI: Pa, m3/s, W")


def _diagnose(arguments: argparse.Namespace, _window: Window) -> int:
    # what only this command needs would delay the window, which starts here too
    from workbench.files.diagnosis_text import NO_PROOF, diagnosis_lines
    from workbench.solving.later.answer import diagnosis_answer
    from workbench.solving.later.expected import NotPredicted
    from workbench.solving.later.ranking import diagnose

    design = entered(arguments.file, arguments.weather)
    visit = visit_named(design, arguments.visit)
    if arguments.correct:
        return _correct(design, visit, arguments)
    with refusals_of(design):
        try:
            found = diagnose(prepare(design), design, visit)
        except NotPredicted as error:
            raise Refused(f"the visit of {visit.date}: {error}") from error
    if arguments.json:
        say(json_text({**diagnosis_answer(found), "caution": NO_PROOF}))
    else:
        say("\n".join(diagnosis_lines(design.title, found, arguments.units)))
    return DONE


def _correct(design: Design, visit: Visit, arguments: argparse.Namespace) -> int:
    from workbench.files.correction_text import correction_answer, correction_lines
    from workbench.solving.later.correct import correction_of

    with refusals_of(design):
        found = correction_of(design, visit)
    if arguments.json:
        say(json_text(correction_answer(found)))
    else:
        say("\n".join(correction_lines(design.title, found, arguments.units)))
    return DONE


def visit_named(design: Design, asked: str | None) -> Visit:
    """The visit that is asked for by its date, and where that is not enough by kind or order; the last without.

    Raises
    ------
    Refused
        When there is none, or several.
    """
    visits = in_order(design.visits)
    if not visits:
        raise Refused(f"{design.title}: there are no visits in this design")
    if asked is None:
        return visits[-1]
    day, _, rest = asked.strip().partition(" ")
    words = rest.strip()
    found = [visit for visit in visits if visit.date == day and _is_asked(visit, words)]
    if not found:
        known = ", ".join(dict.fromkeys(visit.date for visit in visits))
        raise Refused(f"--visit '{asked}': there is no such visit; there are those of {known}")
    if len(found) > 1:
        one = f"{found[0].date} {found[0].kind} {found[0].order}"
        raise Refused(f"--visit '{asked}': there are {len(found)} visits of that day; name one, as '{one}'")
    return found[0]


def _is_asked(visit: Visit, words: str) -> bool:
    kind, _, order = words.rpartition(" ")
    if words in ("", visit.kind, str(visit.order)):
        return True
    return kind == visit.kind and order == str(visit.order)
