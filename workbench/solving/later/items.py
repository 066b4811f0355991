"""The readings of a visit one by one, each with its instrument's error, and those that could be taken yet."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Literal, NamedTuple

import numpy as np
from msgspec import Struct

from workbench.design.design import Design
from workbench.design.record import Record
from workbench.design.visits import (
    FlowReading,
    GaugeReading,
    HoleCheck,
    OutletReading,
    PowerReading,
    RiserReading,
    RoomReading,
    SecondReading,
    SoundReading,
    Visit,
)
from workbench.physics.arrays import Array
from workbench.solving.later.model import Told
from workbench.solving.site.assemble import Assembly

ItemKind = Literal["gauge", "second gauge", "flow", "power", "riser", "hole", "past fan", "room", "sound"]
DIMENSIONS: dict[ItemKind, str] = {
    "gauge": "pressure",
    "second gauge": "pressure",
    "flow": "flow",
    "power": "power",
    "riser": "pressure",
    "hole": "hole_pressure",
    "past fan": "pressure",
    "room": "hole_pressure",
    "sound": "level",
}

SUCTIONS: tuple[ItemKind, ...] = ("gauge", "second gauge", "riser", "hole")
"""What is a suction below the room, where the gauge is not tapped past the fan."""

_DIFFERENCES = ("past fan", "room", "sound")
"""What goes from start-up to a later visit by its difference and not by its ratio."""


class Item(NamedTuple):
    """One instrument at one place: of a gauge the run it is tapped on, and -1 where it reads above the room."""

    kind: ItemKind
    name: str
    place: int = 0
    sign: float = 1.0

    @property
    def key(self) -> tuple[str, int]:
        """Tells whether two readings are of one place."""
        return (self.kind, self.place)

    @property
    def by_ratio(self) -> bool:
        """Whether it goes by its ratio from one visit to another."""
        return self.kind not in _DIFFERENCES

    def of(self, read: Told) -> Array:
        """What it shows in states of shape (...), without the gauge's own faults."""
        if self.kind in ("gauge", "second gauge"):
            return self.sign * read.runs[..., self.place]
        if self.kind in ("riser", "hole", "sound"):
            parts = {"riser": read.risers, "hole": read.holes, "sound": read.sound}
            return np.asarray(parts[self.kind][..., self.place])
        whole = {"flow": read.flow, "power": read.power, "past fan": read.past_fan, "room": read.room}
        return np.asarray(whole[self.kind])


class Reading(Struct, frozen=True):
    """What was read, in SI, and its standard error: the least, and as a share of the reading."""

    item: Item
    read: float
    accuracy: float
    least: float

    def error_at(self, value: Array | float) -> Array:
        """Standard error where a value is expected."""
        return np.hypot(self.least, self.accuracy * np.asarray(value))


def readings_of(assembly: Assembly, design: Design, visit: Visit) -> tuple[Reading, ...]:
    """All that was read on a visit."""
    return tuple(_readings(assembly, design, visit))


def _readings(assembly: Assembly, design: Design, visit: Visit) -> Iterator[Reading]:
    gauge = visit.gauge
    if gauge is not None:
        tap = _tap(assembly, gauge)
        yield _of(Item("gauge", gauge.run or "", *tap), gauge.pressure, gauge)
        if visit.second_gauge is not None:
            second = visit.second_gauge
            yield _of(Item("second gauge", gauge.run or "", *tap), second.pressure, second)
    if visit.flow is not None:
        yield _of(Item("flow", ""), visit.flow.true_flow(assembly.network.density), visit.flow)
    if visit.power is not None:
        yield _of(Item("power", ""), visit.power.power, visit.power)
    points = [point.name for _, point in assembly.points]
    for riser in visit.risers:
        yield _of(Item("riser", riser.point, points.index(riser.point)), riser.suction, riser)
    holes = [hole.name for hole in design.holes]
    for hole in visit.holes:
        yield _of(Item("hole", hole.hole, holes.index(hole.hole)), hole.suction, hole)
    if visit.past_fan is not None:
        yield _of(Item("past fan", ""), visit.past_fan.pressure, visit.past_fan)
    if visit.room is not None:
        yield _of(Item("room", ""), visit.room.draw_down, visit.room)
    if visit.sound is not None:
        places = [listener.name for listener in design.house.listeners]
        yield _of(Item("sound", visit.sound.place, places.index(visit.sound.place)), visit.sound.level, visit.sound)


def _of(item: Item, read: float, record: Record) -> Reading:
    return Reading(item, read, getattr(record, "accuracy", 0.0), getattr(record, "resolution", 0.0))


def _tap(assembly: Assembly, gauge: GaugeReading) -> tuple[int, float]:
    """The run that a gauge is tapped on, in the order of the network, and the sign of its suction there."""
    sign = 1.0 if gauge.side == "suction" else -1.0
    if gauge.run is not None:
        return next(j for j, (_, run) in enumerate(assembly.runs) if run.name == gauge.run), sign
    before = runs_before(assembly)
    return (before - 1 if gauge.side == "suction" else before), sign


def runs_before(assembly: Assembly) -> int:
    """How many runs lie before the fan; those past it follow them."""
    return sum(address[0] != "discharge" for address, _ in assembly.runs)


def could_be_read(assembly: Assembly, design: Design, tap: Item | None) -> tuple[Reading, ...]:
    """Every reading that could be taken, with the errors of usual instruments, its value not known.

    `tap` is the gauge's item where the system has one that was read.
    """
    gauge = tap or Item("gauge", "", runs_before(assembly) - 1)
    found: list[tuple[Item, type[Record]]] = [
        (gauge, GaugeReading),
        (gauge._replace(kind="second gauge"), SecondReading),
        (Item("power", ""), PowerReading),
        *((Item("riser", p.name, i), RiserReading) for i, (_, p) in enumerate(assembly.points)),
        *((Item("hole", hole.name, h), HoleCheck) for h, hole in enumerate(design.holes)),
        (Item("past fan", ""), OutletReading),
        (Item("room", ""), RoomReading),
        (Item("flow", ""), FlowReading),
        *((Item("sound", at.name, i), SoundReading) for i, at in enumerate(design.house.listeners)),
    ]
    return tuple(
        Reading(item, math.nan, _usual(record, "accuracy"), _usual(record, "resolution")) for item, record in found
    )


def _usual(record: type[Record], name: str) -> float:
    return float(record.model_fields[name].default) if name in record.model_fields else 0.0
