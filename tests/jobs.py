"""Designs and networks stripped to what a check is about."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from workbench.design import Design, FanPoint, FanTable, Leg, Pipe, Place, Resistance, Run, SuctionPoint
from workbench.design import Fan as FanRecord
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
