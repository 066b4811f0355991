"""Valid designs at random: every field of every record within its own limits, trees, floors, holes and readings."""

from __future__ import annotations

import math
import typing
from collections.abc import Mapping
from types import UnionType
from typing import Annotated, Any, Literal, TypeVar, Union, get_args, get_origin

import numpy as np
from pydantic import ValidationError
from pydantic_core import PydanticUndefined

from workbench.design import Design
from workbench.design.catalogue import (
    appliance_kinds,
    fill_kinds,
    fitting_kinds,
    ground_kinds,
    junction_kinds,
    spectrum_kinds,
)
from workbench.design.fan import FanPoint, FanRecord, FanTable
from workbench.design.ground import StepReading, StepTest, SuctionPoint
from workbench.design.house import House, Place, Prices
from workbench.design.pipework import Fitting, Junction, Leg, Pipe, Run
from workbench.design.record import Record, field_facts
from workbench.design.slab import Edge, Footing, HoleReading, Position, Slab, Target, TestHole, WorstDay, Zone

R = TypeVar("R", bound=Record)
Rng = np.random.Generator

_TRIES = 60
MOST_POINTS = 12


class Unlucky(Exception):
    """No valid record came about in a fair number of tries."""


def number(rng: Rng, low: float | None, high: float | None, default: object) -> float:
    """A number within limits: mostly near the default, at times anywhere, now and then at a limit's edge."""
    low, high = -1e3 if low is None else low, 1e3 if high is None else high
    way = rng.random()
    if way < 0.6 and isinstance(default, (int, float)):
        value = float(default) * math.exp(rng.normal(0.0, 0.4)) + (rng.normal(0.0, 0.1) if default == 0.0 else 0.0)
    elif way < 0.9 or not math.isfinite(high):
        floor = low if low > 0.0 else 1e-4 * high
        value = math.exp(rng.uniform(math.log(max(floor, 1e-12)), math.log(max(high, 2e-12))))
    elif way < 0.95:
        value = low + 1e-6 * (high - low)
    else:
        value = high - 1e-6 * (high - low)
    return float(min(max(value, low + 1e-9 * (high - low)), high))


def any_record(rng: Rng, record: type[R], given: Mapping[str, Any] | None = None) -> R:
    """A record with every field that is not given drawn at random.

    Raises
    ------
    Unlucky
        Where its fields did not hold together in any try.
    """
    for _ in range(_TRIES):
        fields = {name: _field(rng, record, name) for name in record.model_fields if name not in (given or {})} | dict(
            given or {}
        )
        try:
            return record(**{name: value for name, value in fields.items() if value is not PydanticUndefined})
        except ValidationError:
            continue
    raise Unlucky(record.__name__)


def _field(rng: Rng, record: type[Record], name: str) -> Any:
    info, facts = record.model_fields[name], field_facts(record, name)
    default = info.get_default(call_default_factory=True)
    if facts.optional and rng.random() < 0.4:
        return None
    if rng.random() < 0.3 and default is not PydanticUndefined:
        return default
    kind = info.annotation
    if get_origin(kind) is Annotated:
        kind = get_args(kind)[0]
    if get_origin(kind) in (Union, UnionType):
        kind = next(each for each in get_args(kind) if each is not type(None))
    if kind is float:
        return number(rng, facts.lower, facts.upper, default)
    if kind is int:
        low, high = int(facts.lower or 0), int(facts.upper or 20)
        return int(rng.integers(low, min(high, low + 12) + 1))
    if kind is bool:
        return bool(rng.random() < 0.5)
    if get_origin(kind) is Literal:
        return str(rng.choice(get_args(kind)))
    if (name, record) in _CATALOGUES:
        return str(rng.choice(list(_CATALOGUES[name, record]())))
    if isinstance(kind, type) and issubclass(kind, Record):
        try:
            return any_record(rng, kind)
        except Unlucky:
            return default
    return default


_CATALOGUES: dict[tuple[str, type[Record]], typing.Callable[[], Mapping[str, object]]] = {
    ("fill", Slab): fill_kinds,
    ("spectrum", FanRecord): spectrum_kinds,
}


def fan(rng: Rng, name: str) -> FanRecord:
    """A fan with one to three measured speeds; its curve falls, or has a hump, or is a straight line."""
    free, shut = 10.0 ** rng.uniform(-2.5, 0.0), 10.0 ** rng.uniform(1.7, 3.7)
    rows = int(rng.integers(2, 12))
    hump = rng.uniform(0.0, 0.5) if rng.random() < 0.3 else 0.0
    powered = rng.random() < 0.8
    tables = []
    speeds = sorted({1.0, *(round(float(s), 2) for s in rng.uniform(0.2, 0.95, int(rng.integers(0, 3))))})
    for speed in speeds:
        x = np.linspace(0.0 if rng.random() < 0.8 else 0.1, 1.0, rows) ** rng.uniform(0.7, 1.5)
        y = np.clip(1.0 - x ** rng.uniform(0.8, 3.0) + hump * np.sin(2.0 * math.pi * x) * (1.0 - x), 0.0, None)
        watts = 10.0 ** rng.uniform(0.7, 2.7) * (0.5 + 0.5 * x) * speed**2
        points = [
            FanPoint(
                flow=free * speed * float(q), pressure=shut * speed**2 * float(p), power=float(w) if powered else None
            )
            for q, p, w in zip(x, y, watts, strict=True)
        ]
        tables.append(FanTable(speed=speed, points=tuple(points)))
    bands = tuple(map(float, rng.uniform(20.0, 90.0, 8))) if rng.random() < 0.3 else None
    return any_record(rng, FanRecord, {"name": name, "note": "", "curves": tuple(tables), "sound_bands": bands})


def run(rng: Rng, name: str) -> Run:
    """A run of any pipe, with some fittings of the catalogue or of one's own."""
    bore = float(rng.choice([0.05, 0.0762, 0.1016, 0.15])) if rng.random() < 0.8 else 10.0 ** rng.uniform(-2.0, -0.1)
    pipe = any_record(rng, Pipe, {"name": "bore", "inside_diameter": bore})
    fittings = []
    for _ in range(int(rng.integers(0, 5))):
        kind = str(rng.choice([*fitting_kinds()]))
        fittings.append(Fitting(kind=kind, count=int(rng.integers(1, 4))))
    length = float(10.0 ** rng.uniform(-1.0, 1.5))
    given = {"name": name, "pipe": pipe, "length": length, "rise": length * float(rng.uniform(-0.3, 1.0))}
    return any_record(rng, Run, given | {"fittings": tuple(fittings)})


def ground(rng: Rng) -> Any:
    """What is known of the ground at a point: a class, a resistance or a step test that any ground could give."""
    from workbench.design.ground import GroundClass, Resistance

    volume = float(10.0 ** rng.uniform(-3.5, -0.5))
    way = rng.integers(3)
    if way == 0:
        return GroundClass(kind=str(rng.choice(list(ground_kinds()))))
    linear, quadratic = (float(10.0 ** rng.uniform(*ends)) for ends in ((2.0, 6.5), (2.0, 8.0)))
    if way == 1:
        given = {"linear": linear if rng.random() < 0.9 else 0.0, "quadratic": quadratic, "tested_volume": volume}
        return any_record(rng, Resistance, given)
    steps = []
    for suction in sorted(10.0 ** rng.uniform(1.0, 4.0, int(rng.integers(1, 6)))):
        flow = 2.0 * suction / (linear + math.sqrt(linear**2 + 4.0 * quadratic * suction)) * rng.uniform(0.9, 1.1)
        steps.append(StepReading(flow=float(np.clip(flow, 1e-6, 2.0)), suction=float(suction)))
    return StepTest(readings=tuple(steps), tested_volume=volume)


def outline(rng: Rng) -> list[tuple[float, float]]:
    """A rectangle, an L or any star-shaped outline, from a closet to a hall."""
    wide, deep = (float(10.0 ** rng.uniform(0.3, 1.8)) for _ in range(2))
    way = rng.random()
    if way < 0.4:
        return [(0.0, 0.0), (wide, 0.0), (wide, deep), (0.0, deep)]
    if way < 0.7:
        x, y = wide * rng.uniform(0.2, 0.8), deep * rng.uniform(0.2, 0.8)
        return [(0.0, 0.0), (wide, 0.0), (wide, y), (x, y), (x, deep), (0.0, deep)]
    count = int(rng.integers(3, 24))
    angles = np.sort(rng.uniform(0.0, 2.0 * math.pi, count))
    radii = rng.uniform(0.4, 1.0, count)
    return [
        (float(0.5 * wide * r * math.cos(a)), float(0.5 * deep * r * math.sin(a)))
        for a, r in zip(angles, radii, strict=True)
    ]


class Floor:
    """A floor with places on it."""

    def __init__(self, rng: Rng) -> None:
        self._rng = rng
        corners = outline(rng)
        self._box = np.array([np.min(corners, axis=0), np.max(corners, axis=0)])
        outer = tuple(Position(x=x, y=y) for x, y in corners)
        edges = tuple(any_record(rng, Edge) for _ in corners) if rng.random() < 0.7 else ()
        plain = any_record(rng, Slab, {"outline": outer, "edges": edges, "zones": (), "footings": (), "picture": None})
        self.slab = plain
        zones = tuple(
            any_record(rng, Zone, {"name": f"Zone {z}", "outline": self._patch()})
            for z in range(int(rng.integers(0, 3)))
        )
        footings = tuple(
            any_record(rng, Footing, {"name": f"Footing {f}", "line": (self.place(), self.place())})
            for f in range(int(rng.integers(0, 3)))
        )
        self.slab = any_record(rng, Slab, dict(plain) | {"zones": zones, "footings": footings})

    def place(self) -> Position:
        """Anywhere on the floor."""
        for _ in range(500):
            x, y = self._rng.uniform(*self._box)
            position = Position(x=float(x), y=float(y))
            if self.slab.holds(position):
                return position
        raise Unlucky("a place on the floor")

    def _patch(self) -> tuple[Position, ...]:
        middle = self.place()
        half = 0.1 * (self._box[1] - self._box[0])
        corners = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]
        return tuple(Position(x=float(middle.x + half[0] * i), y=float(middle.y + half[1] * j)) for i, j in corners)


def reading(rng: Rng, points: list[str]) -> HoleReading:
    """A reading that some floor could have shown, or none could."""
    applied = float(10.0 ** rng.uniform(0.5, 3.5))
    suction = applied * float(10.0 ** rng.uniform(-3.5, -0.02)) - (0.3 if rng.random() < 0.1 else 0.0)
    given = {
        "point": str(rng.choice(points)),
        "applied": applied,
        "suction": suction,
        "flow": float(10.0 ** rng.uniform(-4.0, -1.0)) if rng.random() < 0.5 else None,
        "at_rest": float(rng.normal(0.0, 0.5)),
    }
    return any_record(rng, HoleReading, given)


def tree(rng: Rng, points: list[SuctionPoint]) -> Leg:
    """Points joined two by two in any order until one leg is left."""
    legs = [Leg(source=point, runs=(run(rng, f"From {point.name}"),)) for point in points]
    while len(legs) > 1:
        straight = legs.pop(int(rng.integers(len(legs))))
        side = legs.pop(int(rng.integers(len(legs))))
        kind = str(rng.choice(list(junction_kinds())))
        number_ = len(legs)
        joined = Junction(kind=kind, straight=straight, side=side)
        legs.append(Leg(source=joined, runs=(run(rng, f"Joined {number_} {straight.runs[0].name}"),)))
    return legs[0]


def design(rng: Rng) -> Design:
    """A valid design.

    Raises
    ------
    Unlucky
        Where none came about.
    """
    for _ in range(_TRIES):
        try:
            return _design(rng)
        except (ValidationError, Unlucky):
            continue
    raise Unlucky("design")


def _design(rng: Rng) -> Design:
    floor = Floor(rng) if rng.random() < 0.7 else None
    count = int(min(1 + rng.geometric(0.45) - 1, MOST_POINTS)) if rng.random() < 0.9 else MOST_POINTS
    points = []
    for i in range(max(count, 1)):
        position = floor.place() if floor is not None and rng.random() < 0.95 else None
        given = {"name": f"P{i + 1}", "ground": ground(rng), "position": position}
        given["pit_volume"] = float(10.0 ** rng.uniform(-3.0, -0.7))
        points.append(any_record(rng, SuctionPoint, given))
    names = [point.name for point in points]
    holes = []
    for h in range(int(rng.integers(0, 9))):
        readings = tuple(reading(rng, names) for _ in range(int(rng.choice([0, 1, 1, 2, 4]))))
        position = floor.place() if floor is not None and rng.random() < 0.9 else None
        holes.append(any_record(rng, TestHole, {"name": f"H{h + 1}", "position": position, "readings": readings}))
    fans = tuple(fan(rng, f"Fan {f + 1}") for f in range(int(rng.integers(0, 4))))
    discharge = tuple(run(rng, f"Out {i + 1}") for i in range(int(rng.integers(1, 4))))
    appliances = tuple(str(a) for a in rng.choice(list(appliance_kinds()), int(rng.integers(0, 3)), replace=False))
    share = sorted(float(s) for s in rng.uniform(0.0, 1.0, 3))
    house = {"house_air_least": share[0], "house_air_share": share[1], "house_air_most": share[2]}
    given = {
        "title": "Any",
        "note": "",
        "invented": True,
        "place": any_record(rng, Place, {"weather": ""}),
        "house": any_record(rng, House, house | {"appliances": appliances}),
        "prices": any_record(rng, Prices),
        "intake": tree(rng, points),
        "discharge": discharge,
        "fans": fans,
        "fan": str(rng.choice([each.name for each in fans])) if fans and rng.random() < 0.95 else None,
        "slab": None if floor is None else floor.slab,
        "holes": tuple(holes),
        "target": any_record(rng, Target),
        "worst_day": any_record(rng, WorstDay),
    }
    return any_record(rng, Design, given)
