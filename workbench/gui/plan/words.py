"""Words on the plan: what stands at suction points and holes, and what lies under the pointer."""

from __future__ import annotations

from workbench.design.record import Address
from workbench.gui.kit.theme import Verdict
from workbench.gui.plan.frame import Place
from workbench.gui.plan.labels import Lines
from workbench.gui.plan.sketch import Sketch
from workbench.solving.outcome import Outcome
from workbench.solving.report.verdict_words import VERDICT_WORDS
from workbench.units import System, format_quantity


def words_at(sketch: Sketch, outcome: Outcome | None, system: System, *, worst: bool) -> dict[Address, Lines]:
    """What is written at every mark, of an answer."""
    points = {state.address: state for state in outcome.points} if outcome is not None else {}
    holding = outcome.holding if outcome is not None else None
    holes = {state.address: state for state in holding.holes} if holding is not None else {}

    def pressure(value: float, *, unit: bool = True) -> str:
        return format_quantity(value, "hole_pressure", system, with_unit=unit)

    found = {}
    for address, spot in sketch.spots.items():
        lines = Lines(spot.name)
        if address in points:
            state = points[address]
            flow, suction = (
                format_quantity(state.flow, "flow", system),
                format_quantity(state.suction, "pressure", system),
            )
            lines = Lines(spot.name, rest=(f"{flow}, {suction}",))
        elif address in holes and holding is not None and holes[address].known:
            hole = holes[address]
            verdict = hole.verdict(holding.target)
            value, band = (hole.worst, hole.worst_band) if worst else (hole.suction, hole.band)
            other = f"day of test {pressure(hole.suction)}" if worst else f"worst day {pressure(hole.worst)}"
            between = f"{pressure(band[0], unit=False)} to {pressure(band[1])}"
            rest = (between, other if hole.measured else VERDICT_WORDS["not measured"])
            lines = Lines(spot.name, pressure(value), verdict, rest)
        elif address in holes and holding is not None:
            lines = Lines(spot.name, "", "not measured", (VERDICT_WORDS["not measured"],))
        found[address] = lines
    return found


def verdicts_of(outcome: Outcome | None) -> tuple[Verdict, ...]:
    """What stands at the holes of an answer, each once."""
    holding = outcome.holding if outcome is not None else None
    return () if holding is None else tuple(sorted({hole.verdict(holding.target) for hole in holding.holes}))


def ranked(outcome: Outcome | None) -> list[Address]:
    """Marks in the order in which their words are wanted: the weakest hole first, then the points, then the others."""
    if outcome is None:
        return []
    known = [hole for hole in outcome.holding.holes if hole.known] if outcome.holding is not None else []
    holes = [hole.address for hole in sorted(known, key=lambda hole: hole.worst)]
    return [*holes[:1], *(point.address for point in outcome.points), *holes[1:]]


def pointer_words(place: Place, worst: float | None, day: float | None, system: System) -> str:
    """Where the pointer is [m], and the suction there where it is known. [Pa]"""
    where = f"{format_quantity(place[0], 'length', system)} east, {format_quantity(place[1], 'length', system)} north"
    if worst is None or day is None:
        return where
    on_worst, on_day = (format_quantity(value, "hole_pressure", system) for value in (worst, day))
    named = "suction " if system.minus_is_suction else ""
    return f"{where}: {named}{on_worst} on the worst day, {on_day} on the day of the test"
