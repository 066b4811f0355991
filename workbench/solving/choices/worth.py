"""What one more step is worth a year: a litre of pit, a wider pipe, an elbow less, a metre of sealed joint.

Each is solved anew, at its own lowest speed that holds; nothing is extrapolated.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Literal

from msgspec import Struct

from workbench.design.catalogue import fitting_kinds
from workbench.design.design import Design
from workbench.design.edit import remove_fitting
from workbench.design.record import with_value
from workbench.design.wording import Value, name
from workbench.solving.choices.batch import lay_out
from workbench.solving.choices.batch_result import in_a_row, settle
from workbench.solving.choices.variants import joint_length, next_pipe, with_pipe, with_pits
from workbench.solving.run.yearly import Hours
from workbench.solving.site.learned import Learned

Step = Literal["pit", "pipe", "elbow", "joint"]

_LITRE = 1e-3
_METRE = 1.0


class Worth(Struct, frozen=True):
    """A step, in words with {0} for its size or name, and what it saves a year; negative where it costs.

    `speed` is the lowest that then holds.
    """

    step: Step
    words: str
    size: Value | None
    saves: float
    speed: float


def worths(design: Design, hours: Hours | None = None, learned: Learned | None = None) -> tuple[Worth, ...]:
    """What steps from a design, its fan chosen, are worth a year; empty where it does not hold or has no known cost."""
    before = _lowest(design, hours, learned)
    if before is None:
        return ()
    found = []
    for step, words, size, made in _steps(design):
        after = _lowest(made, hours, learned)
        if after is not None:
            found.append(Worth(step, words, size, before[1] - after[1], after[0]))
    return tuple(found)


def _lowest(design: Design, hours: Hours | None, learned: Learned | None) -> tuple[float, float] | None:
    """Lowest speed that holds, and the yearly cost there."""
    fan = design.chosen_fan
    if fan is None:
        return None
    try:
        sites = lay_out([design], learned)
        found = settle(sites, in_a_row(sites), fan, hours, steps=False)[0]
    except ValueError:
        # a bigger pit may reach a footing; what cannot be built is worth nothing
        return None
    return None if found.year is None or math.isnan(found.year.cost) else (found.speed, found.year.cost)


def _steps(design: Design) -> Iterator[tuple[Step, str, Value | None, Design]]:
    yield from _one_step(design)
    wider = next_pipe(design)
    if wider is not None:
        yield "pipe", "{0} throughout", name(wider), with_pipe(design, wider)
    elbow = _without_an_elbow(design)
    if elbow is not None:
        yield "elbow", "One elbow less", None, elbow
    length = joint_length(design)
    if design.slab is not None and length > 0.0 and any(edge.kind == "joint" for edge in design.slab.edges):
        left = max(design.slab.joints_left - _METRE / length, 0.0)
        # an open edge stays open until all is sealed, so that the last metre is no measure of the next
        if 0.0 < left < design.slab.joints_left:
            yield "joint", "Sealing {0} more of the joint", (_METRE, "length"), _set(design, left)


def _one_step(design: Design) -> Iterator[tuple[Step, str, Value | None, Design]]:
    volumes = {point.name: point.pit_volume + _LITRE for _, point in design.suction_points()}
    words = "{0} more of pit" if len(volumes) == 1 else "{0} more in every pit"
    try:
        yield "pit", words, (_LITRE, "volume"), with_pits(design, volumes)
    except ValueError:
        return


def _set(design: Design, joints_left: float) -> Design:
    return with_value(design, ("slab", "joints_left"), joints_left)


def _without_an_elbow(design: Design) -> Design | None:
    for address, run in design.runs():
        for i, fitting in enumerate(run.fittings):
            kind = fitting_kinds().get(fitting.kind)
            if kind is None or kind.group != "bend":
                continue
            if fitting.count > 1:
                return with_value(design, (*address, "fittings", i, "count"), fitting.count - 1)
            return remove_fitting(design, address, i)
    return None
