"""The system curve: what pipe and ground ask of the fan at each flow, with its band."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from workbench.physics.fan import MonotoneCubic
from workbench.solve.assemble import Assembly, Site, assemble
from workbench.solve.draws import DRAG_SAMPLES

Array = NDArray[np.float64]
Spread = tuple[float, float, float, float]
"""Least and most of straight pipe, least and most of fittings, as factors."""

_POINTS = 241


@dataclass(frozen=True, eq=False)
class SystemCurve:
    """Pressure asked of the fan at each total flow, shape (k,); `shares` (k, n) are the flows of the points.

    `low` and `high` bound the pressure where ground, straight pipe and fittings are each as far off as their
    published or measured bands allow, the three taken as independent.
    """

    flow: Array
    pressure: Array
    low: Array
    high: Array
    shares: Array

    @cached_property
    def _pressure(self) -> MonotoneCubic:
        return MonotoneCubic(self.flow, self.pressure)

    @cached_property
    def _shares(self) -> tuple[MonotoneCubic, ...]:
        return tuple(MonotoneCubic(self.flow, column) for column in self.shares.T)

    def at(self, flow: Array) -> Array:
        """Pressure between the computed points. [Pa]"""
        return self._pressure(flow)

    def shares_at(self, flow: float) -> Array:
        """Flows of the points between the computed ones, shape (n,). [m3/s]"""
        return np.array([float(column(flow)) for column in self._shares])


@lru_cache(maxsize=32)
def system_curve(site: Site, most_flow: float, spread: Spread) -> SystemCurve:
    """System curve of a site up to a flow [m3/s]; kept, since it does not depend on the speed."""
    assembly = assemble(site)
    # closer together towards zero, where a slowed fan has all its range
    flow = most_flow * np.linspace(0.0, 1.0, _POINTS) ** 2
    pressure, shares = assembly.network.curve(flow)
    low, high = _band(assembly, pressure, shares, spread)
    return SystemCurve(flow, pressure, low, high, shares)


def _band(assembly: Assembly, pressure: Array, shares: Array, spread: Spread) -> tuple[Array, Array]:
    """Edges of the system curve, each kind of loss at its own edge and the kinds added as independent.

    To first order at a fixed flow the fan feels a change of any loss weighted with the share of the air that passes it.
    """
    friction_low, friction_high, fittings_low, fittings_high = spread
    network = assembly.network
    parts = network.parts(shares)
    total = np.maximum(shares.sum(axis=-1, keepdims=True), 1e-12)
    weight = shares / total
    through = shares @ network.upstream.T / total
    friction = np.sum(parts.friction * through, axis=-1)
    fittings = np.sum(parts.fittings * through, axis=-1)
    for t, legs in enumerate(network.junctions):
        fittings = fittings + parts.straight[:, t] * (weight @ legs.straight) + parts.side[:, t] * (weight @ legs.side)
    draws = assembly.floor.draws(DRAG_SAMPLES)
    drawn = np.einsum("fi,sij,fj->sf", weight, draws.coupling, shares)
    drawn += np.einsum("fi,si,fi->sf", weight, draws.inertial, shares * np.abs(shares))
    middle = np.sum(parts.ground * weight, axis=-1)
    low, high = np.quantile(drawn, (0.05, 0.95), axis=0)
    ground_low, ground_high = np.maximum(middle - low, 0.0), np.maximum(high - middle, 0.0)
    fittings = np.abs(fittings)
    down = np.sqrt(ground_low**2 + ((1.0 - friction_low) * friction) ** 2 + ((1.0 - fittings_low) * fittings) ** 2)
    up = np.sqrt(ground_high**2 + ((friction_high - 1.0) * friction) ** 2 + ((fittings_high - 1.0) * fittings) ** 2)
    return pressure - down, pressure + up
