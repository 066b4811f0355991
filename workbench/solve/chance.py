"""The chance that every hole holds: everything that is uncertain varied together.

One fixed set of standard normal numbers serves every speed, so that the chance rises smoothly with speed and a drag
does not flicker. Each uncertain thing is a column of it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from workbench.design.design import Design
from workbench.physics.fan import Fan
from workbench.physics.network import FanPressure, NoConvergence, Scatter
from workbench.solve.assemble import Assembly
from workbench.solve.season import Season

Array = NDArray[np.float64]

DRAG_SAMPLES = 500
REST_SAMPLES = 4000
_SEED = 20260217
_STEEP = 30.0
"""Slope beyond the ends of a sampled fan's curve, in shut-off pressures over its flow range."""


@dataclass(frozen=True, eq=False)
class Cloud:
    """Samples of what each hole keeps, shape (s, k) [Pa], and what varied, shape (s, v) with its names."""

    day: Array
    worst: Array
    varied: Array
    names: tuple[str, ...]

    def chance(self, target: float) -> float:
        """Share of samples in which every hole that is known keeps the target on the worst day."""
        return float(np.mean(self._least() >= target))

    def _least(self) -> Array:
        known = ~np.isnan(self.worst[0])
        return np.asarray(self.worst[:, known].min(axis=1))

    def weights(self) -> list[tuple[str, float]]:
        """What matters most: share of the variance of the weakest hole that goes with each thing, largest first."""
        least = self._least()
        if float(least.std()) == 0.0:
            return []
        shares = [
            0.0 if float(column.std()) == 0.0 else float(np.corrcoef(column, least)[0, 1]) ** 2
            for column in self.varied.T
        ]
        total = sum(shares) or 1.0
        return sorted(
            ((name, share / total) for name, share in zip(self.names, shares, strict=True)), key=lambda pair: -pair[1]
        )


@lru_cache(maxsize=8)
def _numbers(samples: int, columns: int) -> Array:
    """Standard normal numbers, each column with mean 0 and spread 1 by pairing every number with its negative."""
    half = np.random.default_rng(_SEED).standard_normal((samples // 2, columns))
    return np.concatenate((half, -half))


def cloud(
    design: Design, assembly: Assembly, fan: Fan, speed: float, season: Season, flows: Array, samples: int
) -> Cloud | None:
    """Sample what the holes keep at a speed.

    Parameters
    ----------
    flows : array, shape (n,)
        Flows of the points on the worst day, where every sample starts.

    Returns
    -------
    Cloud or None
        None where the samples leave what the model can answer.
    """
    floor, spread = assembly.floor, design.uncertainty
    directions = floor.directions
    z = _numbers(samples, len(directions) + 4)
    friction_z, fittings_z, fan_z, season_z = z[:, -4:].T
    stretch = np.array([d.coupling for d in directions]).reshape(len(directions), *floor.coupling.shape)
    narrow = np.array([d.inertial for d in directions]).reshape(len(directions), *floor.inertial.shape)
    reach = np.array([d.holes for d in directions]).reshape(len(directions), *floor.holes.shape)
    ground = z[:, : len(directions)]
    season_part = np.maximum(1.0 + 0.5 * design.worst_day.uncertainty * season_z, 0.0)[:, None]
    network = replace(
        season.network(assembly, season_part),
        coupling=floor.coupling * np.exp(np.tensordot(ground, stretch, axes=1)),
        inertial=floor.inertial * np.exp(np.tensordot(ground, narrow, axes=1)),
    )
    low, high = np.log(spread.fittings_low), np.log(spread.fittings_high)
    scatter = Scatter(
        friction=np.maximum(
            0.5 * (spread.friction_low + spread.friction_high)
            + 0.25 * (spread.friction_high - spread.friction_low) * friction_z,
            0.1,
        ),
        fittings=np.exp(0.5 * (low + high) + 0.25 * (high - low) * fittings_z),
    )
    speeds = speed * np.maximum(1.0 + 0.5 * spread.fan_speed * fan_z, 0.1)
    lift = _beyond_its_ends(fan, speeds, network.density)
    try:
        found = network.meet(lift, np.broadcast_to(flows, (samples, flows.size)), scatter)
    except NoConvergence:
        return None
    response = floor.holes * np.exp(np.tensordot(ground, reach, axes=1))
    drawn = np.matmul(response, found[..., None])[..., 0]
    day = drawn + rest_on_the_day(design)
    return Cloud(
        day=day,
        worst=day + season.change_at_holes(design, assembly, season_part),
        varied=z,
        names=(*(d.name for d in directions), "Straight pipe", "Fittings", "Fan", "Season"),
    )


def rest_on_the_day(design: Design) -> Array:
    """Mean reading at rest of each hole, shape (k,) [Pa]; nothing where none was read."""
    return np.array(
        [sum(r.at_rest for r in hole.readings) / len(hole.readings) if hole.readings else 0.0 for hole in design.holes]
    )


def _beyond_its_ends(fan: Fan, speeds: Array, density: float) -> FanPressure:
    """Pressure of the fan at each sample's speed, falling steeply outside its measured points."""
    first, last = fan.flow_range(speeds)
    margin = 1e-9 * last
    slope = _STEEP * fan.pressure(first + margin, speeds, density) / (last - first)

    def pressure(flow: Array) -> Array:
        inside = np.clip(flow, first + margin, last - margin)
        return fan.pressure(inside, speeds, density) - slope * (flow - inside)

    return pressure
