"""Prepare a design once, then answer at any speed.

Everything that does not depend on speed (the network, the system curve with its band, the fans'
interpolants) is made here and kept with the records it was made from, so that dragging the speed
recomputes only the crossing.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from workbench.design.design import Design
from workbench.design.house import Place
from workbench.design.pipework import Leg, Run
from workbench.physics.draft import stack_draft
from workbench.physics.fan import Fan, MonotoneCubic
from workbench.physics.network import FanPressure, NoConvergence, Parts
from workbench.physics.pipe import bore_area
from workbench.solve.assemble import Assembly, assemble, fan_of
from workbench.solve.losses import breakdown
from workbench.solve.notices import notices_at
from workbench.solve.outcome import Crossing, Outcome, PointState, RunState
from workbench.solve.running import sound_at, year_of

Array = NDArray[np.float64]
Spread = tuple[float, float, float, float]
"""Least and most of straight pipe, least and most of fittings, as factors."""

_SYSTEM_POINTS = 241
_SCAN_POINTS = 481
_TRACE_POINTS = 121
_FLOW_WITHOUT_FAN = 0.1
_SLACK = 0.05
"""Part of a step of the scan by which interpolation may have misplaced a crossing."""


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


@dataclass(frozen=True, eq=False)
class FanTrace:
    """A fan's curve for drawing, shape (k,): flow [m3/s], fan total pressure [Pa], electrical power [W] or NaN."""

    name: str
    speed: float
    flow: Array
    pressure: Array
    power: Array


@lru_cache(maxsize=32)
def _system_curve(
    intake: Leg, discharge: tuple[Run, ...], place: Place, most_flow: float, spread: Spread
) -> SystemCurve:
    assembly = assemble(intake, discharge, place)
    # closer together towards zero, where a slowed fan has all its range
    flow = most_flow * np.linspace(0.0, 1.0, _SYSTEM_POINTS) ** 2
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
    edges = [ground.band(np.abs(shares[:, i])) for i, ground in enumerate(assembly.grounds)]
    ground_low = sum((parts.ground[:, i] - low) * weight[:, i] for i, (low, _) in enumerate(edges))
    ground_high = sum((high - parts.ground[:, i]) * weight[:, i] for i, (_, high) in enumerate(edges))
    fittings = np.abs(fittings)
    down = np.sqrt(ground_low**2 + ((1.0 - friction_low) * friction) ** 2 + ((1.0 - fittings_low) * fittings) ** 2)
    up = np.sqrt(ground_high**2 + ((friction_high - 1.0) * friction) ** 2 + ((fittings_high - 1.0) * fittings) ** 2)
    return pressure - down, pressure + up


class Prepared:
    """A design made ready to be answered at any speed."""

    def __init__(self, design: Design) -> None:
        self.design = design
        self.assembly = assemble(design.intake, design.discharge, design.place)
        self.fans: dict[str, Fan] = {record.name: fan_of(record, design.arrangement) for record in design.fans}
        spread = design.uncertainty
        self.system = _system_curve(
            design.intake,
            design.discharge,
            design.place,
            self._most_flow(),
            (spread.friction_low, spread.friction_high, spread.fittings_low, spread.fittings_high),
        )

    def _most_flow(self) -> float:
        ends = [float(fan.flow_range(1.0)[1]) for fan in self.fans.values()]
        return max(ends, default=_FLOW_WITHOUT_FAN)

    @property
    def density(self) -> float:
        """Of the air in the pipe and the fan. [kg/m3]"""
        return self.assembly.air.density

    def trace(self, name: str, speed: float) -> FanTrace:
        """Curve of one of the design's fans at a speed, for drawing. KeyError for an unknown fan."""
        fan = self.fans[name]
        first, last = (float(end) for end in fan.flow_range(speed))
        flow = np.linspace(first, last, _TRACE_POINTS)
        return FanTrace(
            name, speed, flow, fan.pressure(flow, speed, self.density), fan.power(flow, speed, self.density)
        )

    def crossings(self, speed: float, name: str | None = None) -> tuple[Crossing, ...]:
        """All flows at which a fan at a speed meets the system curve, in order of rising flow.

        The scan looks between the fan's own points, closely enough that two crossings are told apart when they lie
        a five-hundredth of the fan's range apart; each is then solved exactly.
        """
        return tuple(crossing for crossing, _ in self._meet(speed, name))

    def _meet(self, speed: float, name: str | None = None) -> list[tuple[Crossing, Array]]:
        wanted = self.design.fan if name is None else name
        if wanted is None:
            return []
        fan = self.fans[wanted]
        first, last = (float(end) for end in fan.flow_range(speed))
        flow = np.linspace(first, last, _SCAN_POINTS)
        surplus = fan.pressure(flow, speed, self.density) - self.system.at(flow)
        above = surplus >= 0.0
        found = []
        for i in np.flatnonzero(above[1:] != above[:-1]):
            met = self._settle(
                fan, speed, float(flow[i]), float(flow[i + 1]), (surplus[i], surplus[i + 1]), float(last)
            )
            if met is not None:
                found.append(met)
        return found

    def _settle(
        self, fan: Fan, speed: float, low: float, high: float, surplus: tuple[float, float], last: float
    ) -> tuple[Crossing, Array] | None:
        """Solve the crossing that the scan saw between two flows; None where it was a fault of interpolation."""

        def fan_pressure(total: Array) -> Array:
            return fan.pressure(total, speed, self.density)

        network = self.assembly.network
        guess = low + (high - low) * surplus[0] / (surplus[0] - surplus[1])
        try:
            flows = network.meet(fan_pressure, self.system.shares_at(guess))
            total = float(flows.sum())
            slack = _SLACK * (high - low)
            inside = low - slack <= total <= high + slack
        except NoConvergence:
            inside = False
        if not inside:
            bracketed = self._bisect(fan_pressure, low, high, last)
            if bracketed is None:
                return None
            flows, total = bracketed
        return (
            Crossing(
                flow=total,
                fan_pressure=float(fan_pressure(np.array(total))),
                power=float(fan.power(total, speed, self.density)),
                stable=bool(surplus[0] >= 0.0),
            ),
            flows,
        )

    def _bisect(self, fan_pressure: FanPressure, low: float, high: float, last: float) -> tuple[Array, float] | None:
        """Solve a crossing within its bracket where Newton's steps leave it, as at the very end of a fan's curve."""
        from scipy.optimize import brentq

        def surplus(total: float) -> float:
            return float(fan_pressure(np.array(total)) - self.assembly.network.curve(np.array([total]))[0][0])

        step = high - low
        for _ in range(2):
            if surplus(low) * surplus(high) <= 0.0:
                total = float(brentq(surplus, low, high, xtol=1e-15, rtol=1e-13))
                return self.assembly.network.curve(np.array([total]))[1][0], total
            low, high = max(low - step, 0.0), min(high + step, last)
        return None

    def at(self, speed: float) -> Outcome:
        """The answer at a speed (fraction of full speed)."""
        met = self._meet(speed)
        crossings = tuple(crossing for crossing, _ in met)
        stable = [(crossing, flows) for crossing, flows in met if crossing.stable]
        if not stable:
            return Outcome(
                speed=speed,
                crossings=crossings,
                operating=None,
                band=None,
                velocity=0.0,
                gauge=0.0,
                points=(),
                runs=(),
                losses=(),
                sound=(),
                year=None,
                notices=tuple(notices_at(self, speed, crossings, (), ())),
            )
        operating, flows = stable[0]
        parts = self.assembly.network.parts(flows)
        points = tuple(
            PointState(point.name, address, float(flows[i]), float(parts.ground[i]))
            for i, (address, point) in enumerate(self.assembly.points)
        )
        runs = self._run_states(flows, parts)
        inlet = next(run for run in runs if run.address == ("intake", "runs", len(self.design.intake.runs) - 1))
        return Outcome(
            speed=speed,
            crossings=crossings,
            operating=operating,
            band=self._flow_band(speed, operating.flow),
            velocity=max(run.velocity for run in runs),
            gauge=inlet.suction,
            points=points,
            runs=runs,
            losses=breakdown(self.assembly, flows, parts),
            sound=sound_at(self.design, speed, self.density),
            year=year_of(self.design, operating, self.density),
            notices=tuple(notices_at(self, speed, crossings, points, runs)),
        )

    def _flow_band(self, speed: float, flow: float) -> tuple[float, float]:
        """Flows at which the fan meets the edges of the system's band, nearest the operating point."""
        assert self.design.fan is not None
        fan = self.fans[self.design.fan]
        first, last = (float(end) for end in fan.flow_range(speed))
        grid = np.linspace(first, last, _SCAN_POINTS)
        lift = fan.pressure(grid, speed, self.density)
        edges = []
        for edge, fallback in ((self.system.high, first), (self.system.low, last)):
            surplus = lift - np.interp(grid, self.system.flow, edge)
            falls = np.flatnonzero((surplus[:-1] >= 0.0) & (surplus[1:] < 0.0))
            if falls.size == 0:
                edges.append(fallback)
                continue
            at = grid[falls] + (grid[1] - grid[0]) * surplus[falls] / (surplus[falls] - surplus[falls + 1])
            edges.append(float(at[np.argmin(np.abs(at - flow))]))
        return min(edges[0], flow), max(edges[1], flow)

    def _run_states(self, flows: Array, parts: Parts) -> tuple[RunState, ...]:
        assembly, network = self.assembly, self.assembly.network
        through = network.upstream @ flows
        speed = through / bore_area(network.diameter)
        losses = parts.friction + parts.fittings
        suction = self._suctions(flows, parts, losses, speed)
        return tuple(
            RunState(run.name, address, float(through[j]), float(speed[j]), float(losses[j]), float(suction[j]))
            for j, (address, run) in enumerate(assembly.runs)
        )

    def _suctions(self, flows: Array, parts: Parts, losses: Array, velocity: Array) -> Array:
        """Static suction in every run at its end nearer the fan, against room air at that height. [Pa]"""
        assembly, network = self.assembly, self.assembly.network
        # where several points feed a run their paths agree, so the first one passing tells the suction
        first = np.argmax(network.upstream > 0.0, axis=1)
        total = np.zeros(len(assembly.runs))
        height = assembly.height.copy()
        for j, (address, run) in enumerate(assembly.runs):
            i = first[j]
            after_fan = address[0] == "discharge"
            passed = network.upstream[: j if after_fan else j + 1, i] > 0.0
            total[j] = parts.ground[i] + losses[: passed.size][passed].sum()
            for t, legs in enumerate(network.junctions):
                if _is_upstream(assembly.junctions[t][0], address):
                    total[j] += parts.side[t] * legs.side[i] + parts.straight[t] * legs.straight[i]
            if after_fan:
                total[j] -= self._fan_pressure_at(flows)
                height[j] -= run.rise
        lighter = np.asarray(stack_draft(height, network.density, assembly.indoor.density))
        return total + 0.5 * network.density * velocity**2 - lighter

    def _fan_pressure_at(self, flows: Array) -> float:
        return float(self.assembly.network.required(flows)[0])


def _is_upstream(junction: tuple[str | int, ...], run: tuple[str | int, ...]) -> bool:
    """Whether the air of a junction passes a run: it does when the junction lies deeper in the same leg."""
    return run[0] == "discharge" or junction[: len(run) - 2] == run[:-2]


@lru_cache(maxsize=16)
def _prepared(design: Design) -> Prepared:
    return Prepared(design)


def prepare(design: Design) -> Prepared:
    """Make a design ready; designs that differ only in their speed share the work."""
    return _prepared(design if design.speed == 1.0 else design.model_copy(update={"speed": 1.0}))


def solve(design: Design, speed: float | None = None) -> Outcome:
    """Answer a design at its own speed or another."""
    return prepare(design).at(design.speed if speed is None else speed)
