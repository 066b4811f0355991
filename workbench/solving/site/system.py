"""The system curve: what pipe and ground ask of the fan at each flow, with its band."""

from __future__ import annotations

from functools import cached_property, lru_cache

import numpy as np
from msgspec import Struct

from workbench.design.design import Uncertainty
from workbench.physics.arrays import Array
from workbench.physics.fan import MonotoneCubic
from workbench.solving.site.assemble import Assembly, Site, assemble
from workbench.solving.site.draws import DRAG_SAMPLES, band
from workbench.solving.site.pipe_spread import EDGE, Spread, pipe_rows, pipe_spread, scatter_over

_POINTS = 241


class SystemCurve(Struct, frozen=True, eq=False, dict=True):
    """Pressure asked of the fan at each total flow, shape (k,); `shares` (k, n) are the flows of the points.

    `low` and `high` bound the pressure where ground, straight pipe, each run's fittings and each junction are as far
    off as their published or measured bands allow, all taken as independent.
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
def system_curve(site: Site, most_flow: float, uncertainty: Uncertainty) -> SystemCurve:
    """System curve of a site up to a flow [m3/s]; kept, since it does not depend on the speed."""
    assembly = assemble(site)
    # closer together towards zero, where a slowed fan has all its range
    flow = most_flow * np.linspace(0.0, 1.0, _POINTS) ** 2
    pressure, shares = assembly.network.curve(flow)
    low, high = _band(assembly, pressure, shares, uncertainty)
    return SystemCurve(flow, pressure, low, high, shares)


def _band(assembly: Assembly, pressure: Array, shares: Array, uncertainty: Uncertainty) -> tuple[Array, Array]:
    """Edges of the system curve, each uncertain loss at its own edge and all added as independent.

    To first order at a fixed flow the fan feels a change of any loss weighted with the share of the air that passes it.
    """
    spread, network = pipe_spread(assembly, uncertainty), assembly.network
    friction_low, friction_high = spread.friction
    parts = network.parts(shares)
    total = np.maximum(shares.sum(axis=-1, keepdims=True), 1e-12)
    weight = shares / total
    through = shares @ network.upstream.T / total
    friction = np.sum(parts.friction * through, axis=-1)
    junctions = np.zeros((len(shares), len(network.junctions)))
    for t, legs in enumerate(network.junctions):
        junctions[:, t] = parts.straight[:, t] * (weight @ legs.straight) + parts.side[:, t] * (weight @ legs.side)
    draws = assembly.floor.draws(DRAG_SAMPLES)
    drawn = np.einsum("fi,sij,fj->sf", weight, draws.coupling, shares)
    drawn += np.einsum("fi,si,fi->sf", weight, draws.inertial, shares * np.abs(shares))
    if assembly.learned is not None:
        # readings tie ground and pipe to each other: what is off is drawn together
        scatter = scatter_over(spread.scatter(pipe_rows(assembly, spread, DRAG_SAMPLES)), assembly)
        for factors, losses in zip(scatter, (friction[:, None], parts.fittings * through, junctions), strict=True):
            drawn += np.asarray(factors) @ losses.T
        asked = np.sum(parts.ground * weight, axis=-1) + friction + (parts.fittings * through).sum(axis=-1)
        low, high = band(drawn - (asked + junctions.sum(axis=-1)))
        return pressure + np.minimum(low, 0.0), pressure + np.maximum(high, 0.0)
    middle = np.sum(parts.ground * weight, axis=-1)
    least, most = band(drawn)
    down, up = np.maximum(middle - least, 0.0) ** 2, np.maximum(most - middle, 0.0) ** 2
    down, up = down + ((1.0 - friction_low) * friction) ** 2, up + ((friction_high - 1.0) * friction) ** 2
    for losses, factors in ((parts.fittings * through, spread.fittings), (junctions, spread.junctions)):
        low, high = (np.sum(_off(losses, factors, sign) ** 2, axis=-1) for sign in (-1.0, 1.0))
        down, up = down + low, up + high
    return pressure - np.sqrt(down), pressure + np.sqrt(up)


def _off(losses: Array, factors: Spread, sign: float) -> Array:
    """How far losses (k, m) may be off downwards (-1) or upwards (1), at least nothing; a negative loss turns about."""
    edges = np.stack((factors.at(np.array(-EDGE)) - 1.0, factors.at(np.array(EDGE)) - 1.0))
    return np.asarray(np.maximum((sign * edges[:, None, :] * losses).max(axis=0), 0.0))
