"""What a correction of the model would move, as short lines for a terminal and as an object for JSON."""

from __future__ import annotations

from typing import Any

from workbench.files.answer_text import caution, table, wrapped, writer
from workbench.files.diagnosis_text import item_words
from workbench.files.plain_text import plain_line
from workbench.solving.later.correct import Corrected, Edges, Moved
from workbench.solving.later.items import DIMENSIONS
from workbench.units import System, format_number

_TITLES = {
    "ground": "Ground asks at {0}",
    "entered": "{0}",
    "pipe": "Pipe loses",
    "fan speed": "Fan turns, over its setting",
    "fan power": "Fan draws, over its table",
}

ONLY_SHOWN = "This shows what would move. The model is corrected by it once the project says so (corrected_by)."


def correction_answer(found: Corrected) -> dict[str, Any]:
    """What JSON can hold: factors over the estimate before, each with its 90 % band; readings in SI."""
    visit = found.visit
    return {
        "visit": {"date": visit.date, "kind": visit.kind, "order": visit.order},
        "moved": [
            {"what": each.kind, "where": each.name, "before": _edges(each.before), "after": _edges(each.after)}
            for each in found.moved
        ],
        "readings": [
            {
                "what": each.item.kind,
                "where": each.item.name,
                "read": each.read,
                "expected": each.expected,
                "standard_errors": each.off,
                "corrected": each.corrected,
                "standard_errors_after": each.off_after,
            }
            for each in found.readings
        ],
        "chi_square": found.chi2,
        "gate": found.gate,
    }


def _edges(edges: Edges) -> dict[str, float]:
    return {"factor": edges.middle, "low": edges.low, "high": edges.high}


def correction_lines(title: str, found: Corrected, system: System) -> list[str]:
    """What would move, in the units of the reader."""
    write = writer(system)
    moved = [("Factor on the estimate before", "before", "", "after", ""), *map(_moved, found.moved)]
    readings = [("Reading", "read", "expected", "corrected")]
    for each in found.readings:
        dimension = DIMENSIONS[each.item.kind]
        values = (write(value, dimension) for value in (each.read, each.expected, each.corrected))
        readings.append((item_words(each.item), *values))  # type: ignore[arg-type]
    head = f"Corrected by the {found.visit.kind} of {found.visit.date}, with 90 % bands"
    lines = [title, "", head, "", *table(moved, right=(1, 3)), "", *table(readings, right=(1, 2, 3)), ""]
    return [plain_line(line) for line in [*lines, *wrapped(ONLY_SHOWN), *wrapped(caution())]]


def _moved(each: Moved) -> tuple[str, str, str, str, str]:
    before, after = (
        (format_number(edges.middle, 2), f"({format_number(edges.low, 2)} to {format_number(edges.high, 2)})")
        for edges in (each.before, each.after)
    )
    return (_TITLES[each.kind].format(each.name), *before, *after)
