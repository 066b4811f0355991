"""What a job still lacks before a verdict can rest on readings, one thing at a time, in the order of the work."""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from workbench.design.design import Design
from workbench.design.ground import GroundClass
from workbench.design.record import Address

Lacking = Literal["fan", "communication test", "test holes", "readings", "exhaust test"]


class NextStep(Struct, frozen=True):
    """What is missing first, where it is entered, and the name of the part it belongs to, empty where it has none."""

    lacking: Lacking
    address: Address
    name: str = ""


def next_step(design: Design) -> NextStep | None:
    """The first thing that is missing; None when a verdict has all it needs.

    The order follows the work: a fan, the communication test at each suction point, test holes, a reading at each, and
    how far the house was drawn down with its exhausts on.
    """
    if design.fan is None:
        return NextStep("fan", ("fans",))
    for address, point in design.suction_points():
        if isinstance(point.ground, GroundClass):
            return NextStep("communication test", (*address, "ground"), point.name)
    if not design.holes:
        return NextStep("test holes", ("holes",))
    for number, hole in enumerate(design.holes):
        if not hole.readings:
            return NextStep("readings", ("holes", number), hole.name)
    if design.worst_day.exhausts is None and design.worst_day.tested_draw_down is None:
        return NextStep("exhaust test", ("worst_day", "tested_draw_down"))
    return None
