"""What a fan's own points say of it, before any pipe: curves for drawing and the few figures people compare fans by."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from msgspec import Struct

from workbench.design.fan import FanRecord, FanTable
from workbench.physics.arrays import Array
from workbench.solving.site.assemble import fan_of

_TRACE_POINTS = 121


class TableTrace(Struct, frozen=True, eq=False):
    """A measured curve for drawing, at its own speed and in air of the rated density; arrays of shape (k,).

    `pressure` is on the basis of the points, static or total [Pa]; `power` is NaN where none was measured [W].
    `efficiency` is total air power over electrical power, as a fraction.
    """

    flow: Array
    pressure: Array
    power: Array
    efficiency: Array


class Rating(Struct, frozen=True):
    """Figures of a fan at full speed in air of its rated density. Power and efficiency are None without measured power.

    `free_flow` is the flow of the last point and `end_pressure` what is left there, `first_flow` that of the first
    and `first_pressure` its pressure: shut-off when the curve begins at zero flow.
    """

    first_flow: float
    first_pressure: float
    highest_pressure: float
    free_flow: float
    end_pressure: float
    most_power: float | None
    peak_efficiency: float | None
    peak_flow: float | None


def trace_of(fan: FanRecord, table: FanTable) -> TableTrace:
    """Curve through the points of one table, as if it were the only one of the fan."""
    machine = fan_of(fan.model_copy(update={"curves": (table,)}), "single")
    curve = machine.curves[0].pressure
    flow = np.linspace(curve.x[0], curve.x[-1], _TRACE_POINTS)
    total = machine.pressure(flow, table.speed, fan.rated_density)
    power = machine.power(flow, table.speed, fan.rated_density)
    return TableTrace(flow, curve(flow), power, flow * total / power)


@lru_cache(maxsize=128)
def rating_of(fan: FanRecord) -> Rating:
    """The figures of a fan."""
    points = fan.full.points
    trace = trace_of(fan, fan.full)
    powers = [point.power for point in points if point.power is not None]
    best = int(np.argmax(trace.efficiency)) if powers else None
    return Rating(
        first_flow=points[0].flow,
        first_pressure=points[0].pressure,
        highest_pressure=max(point.pressure for point in points),
        free_flow=points[-1].flow,
        end_pressure=points[-1].pressure,
        most_power=max(powers, default=None),
        peak_efficiency=None if best is None else float(trace.efficiency[best]),
        peak_flow=None if best is None else float(trace.flow[best]),
    )
