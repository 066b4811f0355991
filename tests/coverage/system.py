"""The system on a true floor: its pipe and fan, as records for the workbench and as equations of its own."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from tests.coverage.floors import Floor
from tests.jobs import AIR, measured, record
from workbench.design import Fitting, Junction, Leg, Pipe, Run, SuctionPoint
from workbench.physics.arrays import Array
from workbench.physics.pipe import bore_area, fitting_loss, friction_loss

INDOORS, COLDEST = 294.15, 261.15
NEUTRAL_HEIGHT = 3.0
STACK = 3461.6 * NEUTRAL_HEIGHT * (1.0 / COLDEST - 1.0 / INDOORS)
"""Draw-down of the house by its stack, 3461.6 h (1 / To - 1 / Ti) (ASHRAE Handbook, HVAC Applications 2011). [Pa]"""
EXHAUSTS = 2.5
"""Draw-down of the house by its exhausts, as entered. [Pa]"""

_FLOWS, _PRESSURES = (0.0, 0.03, 0.06, 0.09, 0.13), (900.0, 830.0, 660.0, 400.0, 0.0)
FAN = record(_FLOWS, _PRESSURES, name="Invented for the floors", invented=True, least_speed=0.1)
_PIPE = Pipe(name="100 mm", inside_diameter=0.1, roughness=1.5e-6)
_BRANCH, _TRUNK, _RISER, _DISCHARGE = (2.0, 1.5), (3.0, 0.3), (7.0, 0.9), (1.5, 1.0)
"""Length [m] and loss coefficients of the runs. They lie level: what warm air lifts is left out on both sides."""
_STRAIGHT_K, _SIDE_K = 0.2, 0.6


def _run(name: str, sizes: tuple[float, float]) -> Run:
    length, k = sizes
    return Run(name=name, pipe=_PIPE, length=length, fittings=(Fitting(kind="entered K", k=k),))


def intake(points: list[SuctionPoint]) -> Leg:
    """Points one after the other on a trunk that ends in the riser."""
    leg = Leg(source=points[0], runs=(_run("Branch 1", _BRANCH),))
    for i, point in enumerate(points[1:], start=2):
        side = Leg(source=point, runs=(_run(f"Branch {i}", _BRANCH),))
        joined = Junction(straight=leg, side=side, straight_k=_STRAIGHT_K, side_k=_SIDE_K)
        leg = Leg(source=joined, runs=(_run(f"Trunk {i}", _TRUNK),))
    return leg.model_copy(update={"runs": (*leg.runs, _run("Riser", _RISER))})


def discharge() -> tuple[Run, ...]:
    """The run above the fan."""
    return (_run("Discharge", _DISCHARGE),)


@dataclass(frozen=True, eq=False)
class Scatter:
    """What is true of pipe, fan and weather over what was calculated; `fittings` of each run, then of each junction."""

    friction: float = 1.0
    fittings: Array | float = 1.0
    fan: float = 1.0
    stack: float = 1.0


def fittings_of(points: int) -> int:
    """Number of runs and junctions of a system."""
    return 3 * points


@dataclass(frozen=True, eq=False)
class Running:
    """The system running on a floor: flow of each point [m3/s], suction at its holes [Pa], share of house air."""

    flows: Array
    holes: Array
    house_share: float


@dataclass(frozen=True, eq=False)
class System:
    """A floor with the pits dug and the pipe laid."""

    floor: Floor
    scatter: Scatter

    @cached_property
    def _upstream(self) -> Array:
        """Runs (m, n): 1 where a point's air passes. Branches, trunks, riser, discharge."""
        n = len(self.floor.pits)
        trunks = [[float(i <= t) for i in range(n)] for t in range(1, n)]
        return np.vstack((np.eye(n), np.array(trunks).reshape(n - 1, n), np.ones((2, n))))

    def at(self, speed: float, draw_down: float) -> Running:
        """The system at a speed with the house drawn down [Pa]."""
        n, dug = len(self.floor.pits), self.floor.dug
        fan = measured(_FLOWS, _PRESSURES, AIR.density)
        sizes = [_BRANCH] * n + [_TRUNK] * (n - 1) + [_RISER, _DISCHARGE]
        lengths, ks = np.array(sizes).T
        up, bore = self._upstream, _PIPE.inside_diameter
        bends_by, junctions_by = np.split(np.broadcast_to(self.scatter.fittings, (fittings_of(n),)), [2 * n + 1])

        def lack(q: Array) -> Array:
            through = up @ q
            friction = friction_loss(through, bore, lengths, _PIPE.roughness, AIR.density, AIR.viscosity)
            bends = fitting_loss(through, bore, ks, AIR.density)
            asked = (self.scatter.friction * friction + bends_by * bends) @ up
            for t in range(1, n):
                common = q[: t + 1].sum()
                dynamic = junctions_by[t - 1] * 0.5 * AIR.density * common * abs(common) / bore_area(bore) ** 2
                asked[:t] += _STRAIGHT_K * dynamic
                asked[t] += _SIDE_K * dynamic
            pits = dug.pits @ q - dug.rest_pits * draw_down
            pits += self.floor.skin[1] * q + self.floor.inertia[1] * q * np.abs(q)
            given = fan.extended(q.sum(), speed * self.scatter.fan, AIR.density) - draw_down
            return np.asarray(pits + asked - given)

        flows = _root(lack, np.full(n, 1e-3))
        return Running(
            flows,
            dug.holes @ flows - dug.rest_holes * draw_down,
            float((dug.house @ flows) / flows.sum()),
        )


def _root(function, start: Array) -> Array:  # type: ignore[no-untyped-def]
    """Where a function of n unknowns is nothing, by Newton's steps, halved until the fault falls."""
    x, value = start, function(start)
    nudge = 1e-8
    for _ in range(100):
        slope = np.stack([(function(x + nudge * e) - value) / nudge for e in np.eye(len(x))], axis=1)
        step = -np.linalg.solve(slope, value)
        share = 1.0
        while (left := np.abs(function(x + share * step)).max()) > np.abs(value).max() and share > 1e-4:
            share *= 0.5
        x = x + share * step
        value = function(x)
        if np.abs(step).max() < 1e-9 * max(np.abs(x).max(), 1e-4) or left < 1e-8:
            return x
    raise RuntimeError("the true flows did not settle")
