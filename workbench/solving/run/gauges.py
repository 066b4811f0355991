"""What the gauge on the riser reads: its band at one speed, and the reading that belongs to each speed.

A control in an attic has no percents on it; the gauge is what a speed is set by.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
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


_STEP = 0.001
"""What a speed found from a reading is rounded to: the reading changes by 0.3 % at most. [of full speed]"""
_STEPS = 4
_NORMAL = 1.645
"""Standard deviations within which 90 % of a normal distribution lie."""


def speed_for(on_site: FansOnSite, readings: Sequence[GaugeAt], suction: float, near: float) -> float | None:
    """The speed at which the gauge reads a suction; of several the one nearest to `near`, None where there is none.

    Parameters
    ----------
    readings
        At ascending speeds, as they are prepared (`gauges_along`); what lies between two is found from them alone but
        for a few readings more.
    suction
        [Pa]
    """
    known = [at for at in readings if not math.isnan(at.suction)]
    found = []
    for low, high in pairwise(known):
        if (low.suction - suction) * (high.suction - suction) <= 0.0 and low.suction != high.suction:
            found.append(_between(on_site, low, high, suction))
    if not found:
        return None
    return min(found, key=lambda speed: abs(speed - near))


def _between(on_site: FansOnSite, low: GaugeAt, high: GaugeAt, suction: float) -> float:
    """By false position in the root of the reading, which a fan's speed goes with (affinity laws)."""
    wanted = _root(suction)
    speed = high.speed
    for _ in range(_STEPS):
        a, b = _root(low.suction), _root(high.suction)
        speed = low.speed + (high.speed - low.speed) * (wanted - a) / (b - a) if a != b else low.speed
        speed = min(max(round(speed / _STEP) * _STEP, low.speed), high.speed)
        here = gauge_at(on_site, speed)
        if math.isnan(here.suction) or speed in (low.speed, high.speed):
            break
        low, high = (here, high) if (here.suction < suction) == (low.suction < suction) else (low, here)
    return round(speed, 9)


def _root(suction: float) -> float:
    return math.copysign(math.sqrt(abs(suction)), suction)


def speed_band(
    read: float, band: tuple[float, float], speed: float, fan_spread: float, least: float
) -> tuple[float, float]:
    """Speeds, fractions of full speed, that a reading may stand for: 90 % of what pipe, ground and fan may be off.

    Parameters
    ----------
    read, band
        The reading predicted at `speed`, with what pipe and ground may make of it (`gauge_band`). [Pa]
    fan_spread
        One standard deviation of the fan's true speed over its setting.
    least
        The fan's minimum.
    """
    # where pipe and ground would make it higher, less speed gives the same; the reading goes with the square of speed
    slower = 1.0 - math.sqrt(read / band[1]) if band[1] > read > 0.0 else 0.0
    faster = math.sqrt(read / band[0]) - 1.0 if read > band[0] > 0.0 else 0.0
    own = _NORMAL * fan_spread
    return max(speed * (1.0 - math.hypot(slower, own)), least), min(speed * (1.0 + math.hypot(faster, own)), 1.0)
