"""Designs and networks stripped to what a check is about."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from workbench.design import Design, FanPoint, FanRecord, FanTable, Leg, Pipe, Place, Resistance, Run, SuctionPoint
from workbench.design.edit import add_suction_point
from workbench.design.record import with_value
from workbench.design.slab import Edge, HoleReading, Position, Slab, Target, TestHole
from workbench.files.fan_library import fan_classes
from workbench.physics.air import air_at
from workbench.physics.fan import Fan, MeasuredCurve, Motor
from workbench.physics.network import Network

PLACE = Place()
AIR = air_at(PLACE.pipe_temperature, PLACE.pipe_humidity, PLACE.altitude)
"""Air in the pipe of a design that says nothing of its place."""


def record(
    flow: Sequence[float], pressure: Sequence[float], power: Sequence[float] | None = None, **fields: object
) -> FanRecord:
    """A fan of total pressures, rated in the very air of the pipe."""
    powers = [None] * len(flow) if power is None else power
    points = tuple(FanPoint(flow=q, pressure=p, power=w) for q, p, w in zip(flow, pressure, powers, strict=True))
    given = {"name": "Any", "basis": "total", "rated_density": AIR.density, "control": "ec", "least_speed": 0.01}
    return FanRecord(**(given | fields), curves=(FanTable(points=points),))  # type: ignore[arg-type]


def open_run(name: str, **fields: object) -> Run:
    """A run wide and short enough to cost nothing."""
    given = {"name": name, "pipe": Pipe(name="wide", inside_diameter=1.0), "length": 1e-3}
    return Run(**(given | fields))  # type: ignore[arg-type]


def ground_only(fan: FanRecord, linear: float, quadratic: float = 0.0, **fields: object) -> Design:
    """A fan straight on the ground: no pipe, no draft, no pit but the one the resistance was measured with."""
    point = SuctionPoint(
        name="Pit",
        pit_volume=0.028,
        ground=Resistance(linear=linear, quadratic=quadratic, tested_volume=0.028),
    )
    given = {
        "intake": Leg(source=point, runs=(open_run("In"),)),
        "discharge": (open_run("Out"),),
        "fans": (fan,),
        "fan": fan.name,
    }
    return Design(**(given | fields))  # type: ignore[arg-type]


def floor_job(points: int = 1, target: float = 5.0) -> Design:
    """A drawn floor of two rooms, one or two points on one riser, three holes."""
    places = (Position(x=1.2, y=1.2), Position(x=5.0, y=2.5))
    pipe = Pipe(name="DN 75", inside_diameter=0.0712)
    first = SuctionPoint(
        name="P1",
        pit_volume=0.03,
        ground=Resistance(linear=6000.0, quadratic=3e4, tested_volume=0.03),
    )
    riser = Run(name="Riser", pipe=pipe, length=6.0, rise=5.0)
    out = Run(name="Out", pipe=pipe, length=1.0, rise=1.0)
    design = Design(intake=Leg(source=first, runs=(riser,)), discharge=(out,), fans=tuple(fan_classes()))
    for i in range(1, points):
        design = add_suction_point(design, ("intake",))
        design = with_value(design, ("intake", "source", "side", "source", "position"), places[i])
    design = with_value(
        design, ("intake", "source") if points == 1 else ("intake", "source", "straight", "source"),
        first.model_copy(update={"position": places[0]}),
    )  # fmt: skip
    corners = ((0.0, 0.0), (9.0, 0.0), (9.0, 4.0), (0.0, 4.0))
    slab = Slab(
        outline=tuple(Position(x=x, y=y) for x, y in corners),
        edges=(Edge(), Edge(), Edge(), Edge(kind="joint", joint_width=5e-4)),
        cell=0.3,
    )
    holes = tuple(
        TestHole(
            name=name,
            position=Position(x=x, y=y),
            readings=(HoleReading(point="P1", applied=150.0, flow=0.02, suction=suction),),
        )
        for name, x, y, suction in (("A", 4.0, 1.5, 60.0), ("B", 1.0, 3.5, 40.0), ("C", 8.5, 3.5, 14.0))
    )
    design = with_value(with_value(design, ("slab",), slab), ("holes",), holes)
    return with_value(design, ("target",), Target(suction=target))


def measured(
    flow: Sequence[float], pressure: Sequence[float], density: float, power: Sequence[float] | None = None
) -> Fan:
    """A fan of total pressures measured at full speed in air of a density."""
    return Fan((MeasuredCurve.through(1.0, flow, pressure, power),), Motor(), density)


def network(
    linear: Sequence[float],
    upstream: Sequence[Sequence[float]],
    diameter: Sequence[float],
    length: Sequence[float],
    k: Sequence[float],
    *,
    roughness: float = 1.5e-6,
    density: float = 1.20138,
    viscosity: float = 1.8205e-5,
    draft: Sequence[float] | None = None,
    inertial: Sequence[float] | None = None,
) -> Network:
    """Pipes without losses where they join."""
    n = len(linear)
    return Network(
        coupling=np.diag(np.asarray(linear, dtype=float)),
        inertial=np.zeros(n) if inertial is None else np.asarray(inertial, dtype=float),
        upstream=np.asarray(upstream, dtype=float),
        diameter=np.asarray(diameter, dtype=float),
        length=np.asarray(length, dtype=float),
        roughness=np.full(len(diameter), roughness),
        k=np.asarray(k, dtype=float),
        junctions=(),
        draft=np.zeros(n) if draft is None else np.asarray(draft, dtype=float),
        density=density,
        viscosity=viscosity,
    )
