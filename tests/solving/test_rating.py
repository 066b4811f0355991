"""Figures of a fan from its points, against sums done by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from workbench.design import FanPoint, FanRecord, FanTable
from workbench.solving.site.rating import rating_of, trace_of

ROWS = [(0.0, 250.0, 30.0), (0.02, 260.0, 40.0), (0.05, 150.0, 46.0), (0.08, 20.0, 45.0)]


def fan(basis: str = "static", power: bool = True, speed: float = 1.0) -> FanRecord:
    points = tuple(FanPoint(flow=q, pressure=p, power=w if power else None) for q, p, w in ROWS)
    tables = (FanTable(speed=speed, points=points), FanTable(points=points))
    return FanRecord.model_validate(
        {"name": "A", "basis": basis, "outlet_diameter": 0.1, "curves": tables if speed < 1.0 else tables[1:]}
    )


def test_figures_are_those_of_the_points() -> None:
    rating = rating_of(fan())
    assert (rating.first_flow, rating.first_pressure, rating.highest_pressure) == (0.0, 250.0, 260.0)
    assert (rating.free_flow, rating.end_pressure, rating.most_power) == (0.08, 20.0, 46.0)
    without = rating_of(fan(power=False))
    assert (without.most_power, without.peak_efficiency, without.peak_flow) == (None, None, None)


@pytest.mark.parametrize("basis", ["static", "total"])
def test_efficiency_rests_on_total_pressure(basis: str) -> None:
    # fan total pressure is fan static pressure plus the velocity pressure in the outlet (ANSI/AMCA 210, ISO 5801;
    # from memory)
    speed = 0.05 / (math.pi / 4 * 0.1**2)
    total = 150.0 + (0.5 * 1.2 * speed**2 if basis == "static" else 0.0)
    trace = trace_of(fan(basis), fan(basis).full)
    at = float(np.interp(0.05, trace.flow, trace.efficiency))
    assert at == pytest.approx(0.05 * total / 46.0, rel=2e-3)
    rating = rating_of(fan(basis))
    assert rating.peak_efficiency == pytest.approx(float(np.nanmax(trace.efficiency)))


def test_a_curve_at_another_speed_is_drawn_as_measured() -> None:
    slow = fan(speed=0.5)
    trace = trace_of(slow, slow.curves[0])
    assert trace.pressure[0] == 250.0
    assert trace.power[-1] == pytest.approx(45.0)
    assert (trace.flow[0], trace.flow[-1]) == (0.0, 0.08)
