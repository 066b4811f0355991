"""A diagnosis as short lines for a terminal: readings beside what is expected, and what may have changed."""

from __future__ import annotations

from workbench.design.visits import Visit
from workbench.design.wording import sentence
from workbench.files.answer_text import Write, caution, table, wrapped, writer
from workbench.files.plain_text import plain_line
from workbench.solving.later.expected import Expected
from workbench.solving.later.items import DIMENSIONS, Item
from workbench.solving.later.ranking import Diagnosis, Ranked
from workbench.units import System, format_chance, format_number

NO_PROOF = (
    "This is a ranking by a model, not a proof. A licensed practitioner has to look at the system before anything is "
    "changed, and only a radon test shows the result in the house."
)

ITEM_NAMES = {
    "gauge": "System gauge",
    "second gauge": "Second gauge, same tap",
    "flow": "Airflow before the fan",
    "power": "Power",
    "riser": "Riser just above the slab",
    "hole": "Test hole",
    "past fan": "Pressure past the fan",
    "room": "Room below outdoors",
    "sound": "Sound",
}

_FINDINGS = {
    "unchanged": "Together the readings are within what is expected. Nothing that they can show has changed.",
    "one": "The readings together are off. One cause fits far better than the others:",
    "several": "The readings together are off. They cannot separate these causes, most likely first:",
    "none": "The readings together are off. None of the known causes fits, or two act at once; the nearest are:",
}

_MOST_CAUSES = 6
_BENT = 2.0
"""Standard deviations beyond which a size is called unusual."""


def diagnosis_lines(title: str, found: Diagnosis, system: System) -> list[str]:
    """What the readings of a visit come to, in the units of the reader, always with its caution."""
    write = writer(system)
    since = (
        "Expected by the design alone; no start-up was read before it"
        if found.start_up is None
        else f"Expected from the start-up of {found.start_up.date}"
    )
    rows = [("Reading", "read", "expected", "90 % band", ""), *(_row(each, write) for each in found.readings)]
    lines = [title, "", f"{_visit_words(found.visit)}. {since}.", "", *table(rows, right=(1, 2)), ""]
    lines += wrapped(_FINDINGS[found.finding])
    for each in found.causes[: min(found.listed, _MOST_CAUSES)]:
        # of causes that do not fit, none has earned a likelihood
        likely = "" if found.finding == "none" else f"{format_chance(each.likelihood)}: "
        lines += wrapped(likely + _cause_words(each), "  - ")
    if found.listed > _MOST_CAUSES:
        lines.append(f"  and {found.listed - _MOST_CAUSES} more")
    asked = _asked(found)
    if asked is not None:
        words = item_words(asked)
        aim = "to check it against the second" if found.finding == "one" else "to separate the first two"
        lines += ["", *wrapped(f"Read next, {aim}: {words[:1].lower()}{words[1:]}.")]
    if found.unseen:
        blind = ", ".join(dict.fromkeys(each.key for each in found.unseen))
        lines += ["", *wrapped(f"At their usual size these would not show in the readings: {blind}.")]
    lines += ["", *wrapped(NO_PROOF), *wrapped(caution())]
    return [plain_line(line) for line in lines]


def item_words(item: Item) -> str:
    """What is read, and where."""
    if not item.name:
        return ITEM_NAMES[item.kind]
    return f"{ITEM_NAMES[item.kind]}{' on' if 'gauge' in item.kind else ':'} {item.name}"


def _visit_words(visit: Visit) -> str:
    return f"{sentence(visit.kind).rstrip('.')} of {visit.date}"


def _row(each: Expected, write: Write) -> tuple[str, str, str, str, str]:
    dimension = DIMENSIONS[each.item.kind]
    name, read = item_words(each.item), write(each.read, dimension)
    if not each.told:
        return name, read, "", "", "cannot be predicted"
    low, high = (write(edge, dimension) for edge in each.band)
    way = "high" if each.off > 0.0 else "low"
    where = "inside" if each.inside else f"{way} by {format_number(abs(each.off), 1)} standard errors"
    return name, read, write(each.expected, dimension), f"({low} to {high})", where


def _cause_words(each: Ranked) -> str:
    words = each.cause.wording.plain()
    if each.jumped and each.cause.kind.acts != "jumped":
        words += "; the fan has then jumped to another crossing of its curve"
    if each.bend > _BENT:
        words += "; only if of unusual size"
    return words


def _asked(found: Diagnosis) -> Item | None:
    return found.causes[0].tell_apart if found.causes else None
