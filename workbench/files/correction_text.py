"""What a correction of the model moves: in words, as lines for a terminal, and as an object for JSON."""

from __future__ import annotations

from typing import Any

from workbench.files.answer_text import caution, table, wrapped, writer
from workbench.files.diagnosis_text import item_words
from workbench.files.plain_text import plain_line
from workbench.solving.later.correct import Corrected, Edges, Moved
from workbench.solving.later.items import DIMENSIONS
from workbench.units import System, format_number

_TITLES = {
    "ground": "Suction the ground asks at {0}",
    "entered": "{0}",
    "pipe": "Loss of the pipe",
    "fan speed": "Fan speed, over its setting",
    "fan power": "Fan power, over its table",
}

ONLY_SHOWN = "This shows what would move. The model is corrected by it once the project says so (corrected_by)."


BASIS = "factors on what was calculated before, with their 90 % bands."


def moved_title(moved: Moved) -> str:
    """What is moved."""
    title = _TITLES[moved.kind].format(moved.name)
    return title[:1].upper() + title[1:]


def moved_lines(found: Corrected) -> list[str]:
    """Each factor that is moved: "Pipe loses: ×1.04 (0.97 to 1.12), before 0.86 to 1.15"."""
    return [
        f"{moved_title(each)}: ×{_factor(each.after.middle)} ({_span(each.after)}), before {_span(each.before)}"
        for each in found.moved
    ]


def _factor(value: float) -> str:
    return format_number(value, 2)


def _span(edges: Edges) -> str:
    return f"{_factor(edges.low)} to {_factor(edges.high)}"


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
    before, after = ((_factor(edges.middle), f"({_span(edges)})") for edges in (each.before, each.after))
    return (moved_title(each), *before, *after)
