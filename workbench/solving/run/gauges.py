"""What the gauge on the riser reads: its band at one speed, and the reading that belongs to each speed.

A control in an attic has no percents on it; the gauge is what a speed is set by.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from workbench.design.design import Design
from workbench.physics.arrays import Array
from workbench.physics.fan import Fan
from workbench.physics.pipe import bore_area
from workbench.solving.outcome import RunState
from workbench.solving.run.fans_on_site import FansOnSite
from workbench.solving.run.states import run_states

_TENTHS = 10


class GaugeAt(NamedTuple):
    """The reading at a speed (fraction of full speed): suction just before the fan [Pa], NaN where nothing is met."""

    speed: float
    suction: float


def before_fan(design: Design, runs: tuple[RunState, ...]) -> RunState:
    """The run whose end the fan draws on, where the gauge is."""
    return next(run for run in runs if run.address == ("intake", "runs", len(design.intake.runs) - 1))


def gauge_band(
    on_site: FansOnSite, fan: Fan, speed: float, flows: Array, read: float, band: tuple[float, float]
) -> tuple[float, float]:
    """Readings at the ends of a band of the fan's flow, the fan being on its curve. [Pa]

    Parameters
    ----------
    flows : array, shape (n,)
        Of the suction points at the operating point. [m3/s]
    read : float
        The reading there, which lies within the band. [Pa]
    band : tuple of float, shape (2,)
        Of the fan's flow: what pipe and ground may be off. The fan's own tolerance is not in it. [m3/s]
    """
    total = float(flows.sum())
    if total <= 0.0:
        return read, read
    here = _on_fan_side(on_site, fan, speed, flows)
    found = [read, *(read + _on_fan_side(on_site, fan, speed, flows * (end / total)) - here for end in band)]
    return min(found), max(found)


def _on_fan_side(on_site: FansOnSite, fan: Fan, speed: float, flows: Array) -> float:
    """What in a reading follows the fan's flow: its pressure without what the discharge takes. [Pa]

    Draft and heights are the same at any flow; the gauge is static, so that the air's own speed counts as suction.
    """
    network, runs = on_site.assembly.network, on_site.assembly.runs
    parts = network.parts(flows)
    after = [j for j, (address, _) in enumerate(runs) if address[0] == "discharge"]
    before = len(runs) - len(after) - 1
    lift = float(fan.pressure(np.array(float(flows.sum())), speed, on_site.density))
    velocity = float(network.upstream[before] @ flows) / float(bore_area(network.diameter[before]))
    lost = float((parts.friction[after] + parts.fittings[after]).sum())
    return lift - lost + 0.5 * on_site.density * velocity**2


def gauge_at(on_site: FansOnSite, speed: float) -> GaugeAt:
    """What the gauge reads at a speed of the chosen fan."""
    solved = on_site.stable_crossing(speed)
    if solved is None:
        return GaugeAt(speed, math.nan)
    assembly = on_site.assembly
    runs = run_states(assembly, solved.flows, assembly.network.parts(solved.flows))
    return GaugeAt(speed, before_fan(on_site.design, runs).suction)


def gauges_along(on_site: FansOnSite) -> tuple[GaugeAt, ...]:
    """Readings at every tenth of full speed that the chosen fan can run at; none without a fan."""
    record = on_site.design.chosen_fan
    if record is None:
        return ()
    tenths = (tenth / _TENTHS for tenth in range(1, _TENTHS + 1))
    return tuple(gauge_at(on_site, speed) for speed in tenths if speed >= record.lowest_speed - 1e-9)
