"""A day's test of a true floor: what instruments read there, entered as a user enters it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from tests.coverage.floors import DUG_VOLUME, SLAB_THICKNESS, TESTED_VOLUME, THICKNESS, Floor
from tests.coverage.system import COLDEST, EXHAUSTS, FAN, INDOORS, NEUTRAL_HEIGHT, discharge, intake
from workbench.design import Design, House, Place, StepReading, StepTest, SuctionPoint
from workbench.design.design import Uncertainty
from workbench.design.record import Record
from workbench.design.slab import Edge, HoleReading, Position, Slab, Target, TestHole, WorstDay
from workbench.physics.arrays import Array

METER, METER_COMMON = 0.02, 0.03
"""Error of a flow by itself, and of all flows of the visit together. Common practice for a pitot or orifice tube."""
GAUGE, GAUGE_LEAST = 0.03, 0.2
"""Error of a reading at a hole: relative, and least [Pa]. Common practice for a micromanometer in light wind."""
EXHAUST_ERROR, EXHAUST_LEAST = 0.05, 0.25
"""The same of the changes while all exhausts run: they come and go with the wind. A judgement."""
EXHAUSTS_TRUE = 5.0
"""Draw-down of the house in an exhaust test. [Pa]"""

LEAST_FLOW = 2e-4
"""Below it no flow is read. [m3/s]"""
_STEPS = (0.25, 0.5, 1.0)
_VACUUM_CLOSED, _VACUUM_OPEN = 15e3, 0.045
"""Suction of the test vacuum on a closed hole [Pa], and its flow with nothing before it [m3/s]; falls in a line."""
_AT_HOLES = (0.5, 1.0)
_NEAREST = 2


@dataclass(frozen=True)
class Visit:
    """What is measured, and what the design is told of pipe and season.

    `exhaust_test`: house and holes are also read with all exhausts on. `pipe_known`, `season_known`: the design
    states no band for them.
    """

    exhaust_test: bool = False
    pipe_known: bool = True
    season_known: bool = True


def top_suction(floor: Floor, point: int) -> float:
    """The most the vacuum holds at a hollow. [Pa]"""
    low, high = 0.0, _VACUUM_CLOSED
    for _ in range(60):
        middle = 0.5 * (low + high)
        left = _VACUUM_OPEN * (1.0 - middle / _VACUUM_CLOSED) - floor.flow_alone(point, middle)
        low, high = (middle, high) if left > 0.0 else (low, middle)
    return low


def can_be_tested(floor: Floor) -> bool:
    """Whether the meter reads a flow at every point in the lowest step."""
    return all(floor.flow_alone(i, _STEPS[0] * top_suction(floor, i)) >= LEAST_FLOW for i in range(len(floor.pits)))


def visited(rng: np.random.Generator, floor: Floor, visit: Visit, target: float) -> Design:
    """The design of a floor after a visit to it."""
    common = math.exp(rng.normal(0.0, METER_COMMON))
    tops = [top_suction(floor, i) for i in range(len(floor.pits))]

    def flow(point: int, suction: float) -> float:
        return floor.flow_alone(point, suction) * common * math.exp(rng.normal(0.0, METER))

    points = [
        SuctionPoint(
            name=f"P{i + 1}",
            pit_volume=DUG_VOLUME,
            position=_position(place),
            ground=StepTest(
                tested_volume=TESTED_VOLUME,
                readings=tuple(StepReading(flow=flow(i, step * top), suction=step * top) for step in _STEPS),
            ),
        )
        for i, (place, top) in enumerate(zip(floor.pits, tops, strict=True))
    ]
    holes = []
    draw_down = _read(rng, EXHAUSTS_TRUE, EXHAUST_ERROR, EXHAUST_LEAST) if visit.exhaust_test else EXHAUSTS
    for h, place in enumerate(floor.holes):
        fields: dict[str, Any] = {"name": f"H{h + 1}", "position": _position(place)}
        if h < floor.read:
            nearest = np.argsort(np.hypot(*(floor.pits - place).T))[:_NEAREST]
            fields["readings"] = tuple(
                _reading(rng, floor, h, int(i), share * tops[i], flow) for i in sorted(nearest) for share in _AT_HOLES
            )
            if visit.exhaust_test:
                fields["exhausts"] = _read(
                    rng, -EXHAUSTS_TRUE * float(floor.tested.rest_holes[h]), EXHAUST_ERROR, EXHAUST_LEAST
                )
        holes.append(TestHole(**fields))
    worst = {"exhausts": draw_down, "outdoor_temperature": COLDEST, "neutral_height": NEUTRAL_HEIGHT}
    if visit.exhaust_test:
        worst |= _where(WorstDay, tested_draw_down=draw_down)
    if visit.season_known:
        worst |= _where(WorstDay, uncertainty=0.0)
    known = Uncertainty(friction_low=1.0, friction_high=1.0, fittings_low=1.0, fittings_high=1.0, fan_speed=0.0)
    return Design(
        title="Synthetic floor",
        invented=True,
        # as warm outdoors as in the house: on the day of the test there is no stack
        place=Place(indoor_temperature=INDOORS, outdoor_temperature=INDOORS),
        house=House(slab_thickness=SLAB_THICKNESS),
        intake=intake(points),
        discharge=discharge(),
        fans=(FAN,),
        fan=FAN.name,
        uncertainty=known if visit.pipe_known else Uncertainty(),
        slab=Slab(
            outline=tuple(_position(corner) for corner in floor.outline),
            edges=tuple(Edge(kind="joint", joint_width=w) if w > 0.0 else Edge() for w in floor.widths),
            fill=floor.fill,
            thickness=THICKNESS,
        ),
        holes=tuple(holes),
        target=Target(suction=target),
        worst_day=WorstDay(**worst),
    )


def exhausts_of(visit: Visit) -> float:
    """True draw-down by exhausts on the worst day. [Pa]"""
    return EXHAUSTS_TRUE if visit.exhaust_test else EXHAUSTS


def _reading(rng, floor: Floor, hole: int, point: int, suction: float, flow) -> HoleReading:  # type: ignore[no-untyped-def]
    true = float(floor.tested.holes[hole, point]) * floor.flow_alone(point, suction)
    return HoleReading(
        point=f"P{point + 1}",
        applied=suction,
        flow=flow(point, suction),
        suction=_read(rng, true, GAUGE, GAUGE_LEAST),
        **_where(HoleReading, accuracy=GAUGE, resolution=GAUGE_LEAST),
    )


def _read(rng: np.random.Generator, true: float, relative: float, least: float) -> float:
    return true * (1.0 + rng.normal(0.0, relative)) + rng.normal(0.0, least)


def _where(record: type[Record], **fields: float) -> dict[str, float]:
    """Fields of a record that this version of the workbench has."""
    return {name: value for name, value in fields.items() if name in record.model_fields}


def _position(place: Array) -> Position:
    return Position(x=float(place[0]), y=float(place[1]))
