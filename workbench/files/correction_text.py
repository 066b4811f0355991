"""What the readings of a visit make of the model, in short lines."""

from __future__ import annotations

from workbench.solving.later.correct import Corrected, Edges, Moved
from workbench.units import format_number

_TITLES = {
    "ground": "Suction that the ground asks for at {0}",
    "entered": "{0}",
    "pipe": "Loss of the pipe",
    "fan speed": "Speed of the fan {0}",
    "fan power": "Power of the fan {0}",
}
BASIS = "factors on what was calculated before, with their 90 % bands."


def moved_title(moved: Moved) -> str:
    """What is moved."""
    title = _TITLES[moved.kind].format(moved.name)
    return title[:1].upper() + title[1:]


def moved_lines(corrected: Corrected) -> list[str]:
    """Each factor that is moved: "Loss of the pipe: ×1.04 (0.97 to 1.12), before 0.86 to 1.15"."""
    return [
        f"{moved_title(each)}: ×{_factor(each.after.middle)} ({_span(each.after)}), before {_span(each.before)}"
        for each in corrected.moved
    ]


def _factor(value: float) -> str:
    return format_number(value, 2)


def _span(edges: Edges) -> str:
    return f"{_factor(edges.low)} to {_factor(edges.high)}"
