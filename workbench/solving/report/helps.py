"""What would help most where the weakest hole does not hold: computed, never guessed."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial

from msgspec import Struct
from pydantic import ValidationError

from workbench.design.design import Design
from workbench.design.edit import choose_fan
from workbench.design.record import Address, with_value
from workbench.solving.run.lowest import Lowest
from workbench.solving.run.prepare import Prepared, made_ready
from workbench.solving.site.draws import DRAG_SAMPLES

Change = Callable[[Design], Design]

_PIT_TIMES = 2.5
_SEALED_LEFT = 0.25


class Help(Struct, frozen=True):
    """A change, what the weakest hole then keeps beyond the target at full speed [Pa], the speeds that then hold."""

    words: str
    change: Change
    margin: float
    gain: float
    lowest: Lowest


def helps(prepared: Prepared) -> list[Help]:
    """Changes to a design by what they bring the weakest hole at full speed, best first; only those that do."""
    before = _margin(prepared)
    found = []
    for words, change in _changes(prepared.design):
        try:
            after = made_ready(change(prepared.design), learned=prepared.learned)
        except (ValidationError, ValueError):
            # a bigger pit may reach a footing; what cannot be built helps nothing
            continue
        margin = _margin(after)
        if margin is not None and (before is None or margin > before):
            found.append(Help(words, change, margin, margin - (before or 0.0), after.lowest))
    return sorted(found, key=lambda help: -help.margin)


def _margin(prepared: Prepared) -> float | None:
    holding = prepared.holding(1.0, DRAG_SAMPLES)
    return None if holding is None or holding.weakest is None else holding.margin


def _changes(design: Design) -> Iterator[tuple[str, Change]]:
    for address, point in design.suction_points():
        bigger = min(_PIT_TIMES * point.pit_volume, 2.0)
        if bigger > point.pit_volume:
            words = f"Enlarge the pit at {point.name} {_PIT_TIMES:g} times"
            yield words, partial(_set, address=(*address, "pit_volume"), value=bigger)
    if design.slab is not None:
        if any(edge.kind != "sealed" for edge in design.slab.edges):
            yield "Seal all perimeter joints", partial(_set, address=("slab", "joints_left"), value=0.0)
        left = _SEALED_LEFT * design.slab.leak_left
        yield "Seal the slab (to 25 % of its leakage)", partial(_set, address=("slab", "leak_left"), value=left)
    for fan in design.fans:
        if fan.name != design.fan:
            yield f"The fan “{fan.name}”", partial(choose_fan, name=fan.name)
    if design.arrangement == "single":
        words = "A second fan of the same kind, in series"
        yield words, partial(_set, address=("arrangement",), value="series")


def _set(design: Design, address: Address, value: object) -> Design:
    return with_value(design, address, value)
