"""What the last visit read that a design's answer must not be taken for: the house as it was found."""

from __future__ import annotations

from collections.abc import Iterator

from workbench.design.design import Design
from workbench.design.visits import MARK, Visit, in_order
from workbench.design.wording import name
from workbench.solving.outcome import Notice, RunState
from workbench.solving.run.gauges import before_fan

_SAME_SPEED = 0.005
"""Speeds nearer to one another than this are one setting."""


def as_found(design: Design, speed: float, runs: tuple[RunState, ...]) -> Iterator[Notice]:
    """Where the last visit read less at a hole than the target, or its gauge stood beyond the lines of the mark.

    Readings are taken as they were shown; what may have changed is told by a diagnosis.
    """
    found = _last(design)
    if found is None:
        return
    at, visit = found
    low = [check for check in visit.holes if check.suction < design.target.suction]
    if low:
        least = min(low, key=lambda check: check.suction)
        yield Notice(
            "found-below",
            "On {3}, {2} read {0}, below the target of {1}: the house as it was found does not keep it there, whatever "
            "the design would. See what may have changed, and test for radon.",
            ("visits", at),
            (
                (least.suction, "hole_pressure"),
                (design.target.suction, "hole_pressure"),
                name(least.hole),
                name(visit.date),
            ),
        )
    shown = _shown(design, visit, speed, runs)
    if shown is not None and abs(shown[0] - shown[1]) > MARK * abs(shown[1]):
        yield Notice(
            "found-off-mark",
            "On {2}, the system gauge read {0}, and {1} is calculated for this speed: what stands here is the design, "
            "not the house as it was found. See what may have changed.",
            ("visits", at),
            ((shown[0], "pressure"), (shown[1], "pressure"), name(visit.date)),
        )


def _last(design: Design) -> tuple[int, Visit] | None:
    """The last visit to the finished system that read its gauge or a hole while the fan should run."""
    order = {id(visit): at for at, visit in enumerate(design.visits)}
    after = [
        visit
        for visit in in_order(design.visits)
        if visit.kind != "diagnostic" and visit.conditions.fan == "running" and (visit.gauge or visit.holes)
    ]
    return (order[id(after[-1])], after[-1]) if after else None


def _shown(design: Design, visit: Visit, speed: float, runs: tuple[RunState, ...]) -> tuple[float, float] | None:
    """What the gauge read, and what is calculated for its place, where the answer is for the speed of the visit."""
    gauge, was = visit.gauge, visit.conditions.speed
    # without a speed of its own a visit was made at the one that is asked about
    if gauge is None or gauge.side != "suction" or not runs or (was is not None and abs(was - speed) > _SAME_SPEED):
        return None
    tapped = next((run for run in runs if run.name == gauge.run), None) if gauge.run else before_fan(design, runs)
    return None if tapped is None else (gauge.pressure, tapped.suction)
