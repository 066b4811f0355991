"""On which pressure a chart stands: a data sheet's, static at the fan's outlet, or total."""

from __future__ import annotations

from typing import Final, Literal, get_args

import numpy as np

from workbench.physics.arrays import Array
from workbench.solving import Crossing, Prepared
from workbench.solving.run.fans_on_site import FanTrace

Basis = Literal["static", "total"]
BASES: Final[tuple[Basis, ...]] = get_args(Basis)
BASIS_WORDS: Final[dict[Basis, str]] = {"static": "Static pressure", "total": "Total pressure"}
BASIS_HELP: Final = (
    "Static is what most data sheets print: total less the velocity pressure at the fan's outlet. "
    "The system curve is then less the same; the operating point is at the same airflow either way."
)


class PressureBasis:
    """What curves of a prepared design read on one basis; all arguments and answers in Pa and m3/s."""

    def __init__(self, basis: Basis, prepared: Prepared) -> None:
        self.basis = basis
        self._prepared = prepared

    def trace(self, trace: FanTrace) -> Array:
        """A fan's pressures."""
        return trace.pressure - trace.velocity_pressure if self.basis == "static" else trace.pressure

    def less(self, flow: Array) -> Array:
        """What total pressures of the system are more, by the outlet of the selected fan; 0 without one."""
        name = self._prepared.design.fan
        if self.basis == "total" or name is None:
            return np.zeros(np.shape(flow))
        return self._prepared.velocity_pressure(name, flow)

    def system(self, flow: Array, pressure: Array) -> Array:
        """Pressures asked of the fan."""
        return pressure - self.less(flow)

    def at(self, crossing: Crossing) -> float:
        """The selected fan's pressure where it meets the system."""
        return crossing.fan_pressure - float(self.less(np.array(crossing.flow)))


def meetings(flow: Array, lift: Array, system_flow: Array, asked: Array) -> tuple[Array, Array]:
    """Where a drawn curve crosses the system's as drawn: flows [m3/s] and pressures [Pa], shape (k,)."""
    within = flow <= system_flow[-1]
    flow, lift = flow[within], lift[within]
    over = lift - np.interp(flow, system_flow, asked)
    (at,) = np.nonzero((over[:-1] > 0.0) != (over[1:] > 0.0))
    part = over[at] / (over[at] - over[at + 1])
    return flow[at] + part * (flow[at + 1] - flow[at]), lift[at] + part * (lift[at + 1] - lift[at])
