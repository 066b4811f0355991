"""Resistance of the ground at a suction point, brought to the pit as it will be dug."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from msgspec import Struct

from workbench.design.catalogue import ground_kinds
from workbench.design.ground import GroundClass, Resistance, StepTest, SuctionPoint
from workbench.physics.arrays import Array
from workbench.physics.ground import StepFit, fit_step_test, pit_scaling_hemisphere, pit_scaling_layer

Band = Callable[[Array], tuple[Array, Array]]


class Ground(Struct, frozen=True, eq=False):
    """Resistance of the ground at one point with its pit as dug, and the band around it.

    `band` gives the lower and upper suction [Pa] at a flow [m3/s]; `tested` is the span of tested flows, None when
    there was no test.
    """

    linear: float
    quadratic: float
    band: Band
    tested: tuple[float, float] | None
    fit: StepFit | None = None

    def suction(self, flow: Array) -> Array:
        """Suction the ground asks at a flow. [Pa]"""
        return self.linear * flow + self.quadratic * flow * np.abs(flow)


def ground_of(point: SuctionPoint) -> Ground:
    """Resistance at a suction point: fitted, classed or entered, brought to the pit as it will be dug."""
    known = point.ground
    a_factor, b_factor = pit_factors(point)
    if isinstance(known, StepTest):
        fit = fit_step_test(
            np.array([r.flow for r in known.readings]),
            np.array([r.suction for r in known.readings]),
            np.array([r.baseline for r in known.readings]),
        )
        flows = [r.flow for r in known.readings]
        return Ground(
            fit.a * a_factor,
            fit.b * b_factor,
            _scaled_band(fit, a_factor, b_factor),
            (min(flows), max(flows)),
            fit,
        )
    if isinstance(known, GroundClass):
        kind = ground_kinds()[known.kind]
        linear, quadratic, low, high = kind.linear, kind.quadratic, 1.0 / kind.factor, kind.factor
    else:
        assert isinstance(known, Resistance)
        linear, quadratic, low, high = known.linear, known.quadratic, 1.0 - known.band, 1.0 + known.band
    linear, quadratic = linear * a_factor, quadratic * b_factor

    def band(flow: Array) -> tuple[Array, Array]:
        middle = linear * flow + quadratic * flow * np.abs(flow)
        return low * middle, high * middle

    return Ground(linear, quadratic, band, None)


def _scaled_band(fit: StepFit, a_factor: float, b_factor: float) -> Band:
    def band(flow: Array) -> tuple[Array, Array]:
        low, high = fit.band(flow)
        tested = fit.suction(flow)
        as_dug = a_factor * fit.a * flow + b_factor * fit.b * flow * np.abs(flow)
        with np.errstate(divide="ignore", invalid="ignore"):
            scale = np.where(tested > 0.0, as_dug / tested, 1.0)
        return low * scale, high * scale

    return band


def pit_factors(point: SuctionPoint) -> tuple[float, float]:
    """Factors on linear and quadratic resistance from the tested hollow to the pit as dug, by the point's pattern."""
    tested_volume = point.ground.tested_volume
    if point.pattern == "deep soil":
        a_factor, b_factor = pit_scaling_hemisphere(point.pit_volume, tested_volume)
    else:
        a_factor, b_factor = pit_scaling_layer(point.pit_volume, tested_volume, point.bed_thickness, point.bed_reach)
    return float(a_factor), float(b_factor)
