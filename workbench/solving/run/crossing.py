"""Where a fan's curve meets the system curve: all crossings, each solved exactly."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from workbench.physics.arrays import Array
from workbench.physics.fan import Fan
from workbench.physics.network import Network, NoConvergence
from workbench.physics.newton import FanPressure
from workbench.solving.outcome import Crossing
from workbench.solving.site.system import SystemCurve

_SCAN_POINTS = 481


class SolvedCrossing(NamedTuple):
    """A crossing and the flows of the suction points there, shape (n,) [m3/s]."""

    crossing: Crossing
    flows: Array


class Scan(NamedTuple):
    """A fan's pressure at a speed along its measured flows, shape (k,)."""

    flow: Array
    lift: Array


def scan(fan: Fan, speed: float, density: float) -> Scan:
    """Run along a fan's curve closely enough to see every crossing."""
    first, last = (float(end) for end in fan.flow_range(speed))
    flow = np.linspace(first, last, _SCAN_POINTS)
    return Scan(flow, fan.pressure(flow, speed, density))


def crossings(network: Network, system: SystemCurve, fan: Fan, speed: float, along: Scan) -> list[SolvedCrossing]:
    """All flows at which a fan at a speed meets the system curve, in order of rising flow.

    Two crossings are told apart when they lie a five-hundredth of the fan's range apart.
    """
    surplus = along.lift - system.at(along.flow)
    above = surplus >= 0.0
    seeker = _Seeker(network, system, fan, speed, float(along.flow[-1]))
    found = []
    for i in np.flatnonzero(above[1:] != above[:-1]):
        solved = seeker.solve(float(along.flow[i]), float(along.flow[i + 1]), float(surplus[i]), float(surplus[i + 1]))
        if solved is not None:
            found.append(solved)
    return found


class _Seeker(NamedTuple):
    network: Network
    system: SystemCurve
    fan: Fan
    speed: float
    last: float

    def lift(self, total: Array) -> Array:
        return self.fan.pressure(total, self.speed, self.network.density)

    def solve(self, low: float, high: float, at_low: float, at_high: float) -> SolvedCrossing | None:
        """Solve the crossing that the scan saw between two flows; None where it was a fault of interpolation."""
        guess = low + (high - low) * at_low / (at_low - at_high)
        flows: Array | None
        try:
            flows = self.network.meet(self.lift, self.system.shares_at(guess))
            if not low <= float(flows.sum()) <= high:
                # another crossing, as the neighbour where two all but touch
                flows = None
        except NoConvergence:
            flows = None
        if flows is None:
            flows = _bisect(self.network, self.lift, low, high, self.last)
        if flows is None:
            return None
        total = float(flows.sum())
        return SolvedCrossing(
            Crossing(
                flow=total,
                fan_pressure=float(self.lift(np.array(total))),
                power=float(self.fan.power(total, self.speed, self.network.density)),
                stable=at_low >= 0.0,
            ),
            flows,
        )


def _bisect(network: Network, lift: FanPressure, low: float, high: float, last: float) -> Array | None:
    """Solve a crossing within its bracket where Newton's steps leave it, as where two crossings all but touch."""
    from scipy.optimize import brentq

    def surplus(total: float) -> float:
        return float(lift(np.array(total)) - network.curve(np.array([total]))[0][0])

    step = high - low
    for _ in range(2):
        if surplus(low) * surplus(high) <= 0.0:
            total = float(brentq(surplus, low, high, xtol=1e-15, rtol=1e-13))
            return np.asarray(network.curve(np.array([total]))[1][0])
        low, high = max(low - step, 0.0), min(high + step, last)
    return None


def flow_band(system: SystemCurve, along: Scan, flow: float) -> tuple[float, float]:
    """Flows at which the fan meets the edges of the system's band, nearest the operating flow. [m3/s]"""
    edges = []
    for edge, fallback in ((system.high, along.flow[0]), (system.low, along.flow[-1])):
        surplus = along.lift - np.interp(along.flow, system.flow, edge)
        falls = np.flatnonzero((surplus[:-1] >= 0.0) & (surplus[1:] < 0.0))
        if falls.size == 0:
            edges.append(float(fallback))
            continue
        step = along.flow[falls + 1] - along.flow[falls]
        at = along.flow[falls] + step * surplus[falls] / (surplus[falls] - surplus[falls + 1])
        edges.append(float(at[np.argmin(np.abs(at - flow))]))
    return min(edges[0], flow), max(edges[1], flow)
