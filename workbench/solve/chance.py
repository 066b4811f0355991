"""The chance that every hole holds: everything that is uncertain varied together.

One fixed set of standard normal numbers serves every speed, so that the chance rises smoothly with speed and a drag
does not flicker. Each uncertain thing is a column of it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from workbench.design.design import Design
from workbench.physics.fan import Fan
from workbench.physics.network import AS_CALCULATED, Network, NoConvergence, Scatter
from workbench.solve.assemble import Assembly
from workbench.solve.pipe_spread import pipe_spread
from workbench.solve.season import Season

Array = NDArray[np.float64]

DRAG_SAMPLES = 500
REST_SAMPLES = 4000
_SEED = 20260217
_CLOSE = 1e-6
"""Error left in the samples' flows, as a share of them."""


@dataclass(frozen=True, eq=False)
class Cloud:
    """Samples of what each hole keeps, shape (s, k) [Pa], and what varied, shape (s, v) with its names."""

    day: Array
    worst: Array
    varied: Array
    names: tuple[str, ...]
    flows: Array
    """Of the points in each sample, shape (s, n). [m3/s]"""

    def chance(self, target: float) -> float:
        """Share of samples in which every hole that is known keeps the target on the worst day."""
        return float(np.mean(self._least() >= target))

    def _least(self) -> Array:
        known = ~np.isnan(self.worst[0])
        return np.asarray(self.worst[:, known].min(axis=1))

    def weights(self) -> list[tuple[str, float]]:
        """What matters most: share of the variance of the weakest hole that goes with each thing, largest first."""
        least = self._least() - float(self._least().mean())
        spread = float(least @ least)
        if spread == 0.0:
            return []
        # the columns have mean 0 by construction
        own = np.einsum("sv,sv->v", self.varied, self.varied)
        shares = (self.varied.T @ least) ** 2 / (np.where(own > 0.0, own, 1.0) * spread)
        total = float(shares.sum()) or 1.0
        by_name: dict[str, float] = {}
        for name, share in zip(self.names, shares, strict=True):
            by_name[name] = by_name.get(name, 0.0) + float(share) / total
        return sorted(by_name.items(), key=lambda pair: -pair[1])


@lru_cache(maxsize=8)
def _numbers(samples: int, columns: int) -> Array:
    """Standard normal numbers, each column with mean 0 and spread 1 by pairing every number with its negative."""
    half = np.random.default_rng(_SEED).standard_normal((samples // 2, columns))
    return np.concatenate((half, -half))


@dataclass(frozen=True, eq=False)
class State:
    """A site in a season: what its flows follow from, and what the holes feel of them.

    By the middle of the bands the batch shape is (), for s samples it is (s,).

    Attributes
    ----------
    network : Network
    scatter : Scatter
    holes : array, shape (..., k, n)
        Suction at a hole for the flow of a point; NaN where nothing is known of a hole. [Pa s/m3]
    rest : array, shape (k,)
        Reading at rest. [Pa]
    change : array, shape (..., k)
        What the season adds to it. [Pa]
    fan : array, shape (...)
        Factor on the speed that a fan is set to.
    """

    network: Network
    scatter: Scatter
    holes: Array
    rest: Array
    change: Array
    fan: Array


class Samples(NamedTuple):
    """A sampled state, and what varied in it, shape (s, v), with its names."""

    state: State
    varied: Array
    names: tuple[str, ...]


def middle(design: Design, assembly: Assembly, season: Season) -> State:
    """A site in a season by the middle of the bands."""
    return State(
        network=season.network(assembly),
        scatter=AS_CALCULATED,
        holes=assembly.floor.holes,
        rest=rest_on_the_day(design),
        change=season.change_at_holes(design, assembly),
        fan=np.ones(()),
    )


def sampled(design: Design, assembly: Assembly, season: Season, samples: int) -> Samples:
    """A site in a season with everything that is uncertain varied together; independent of fan and speed."""
    floor, spread = assembly.floor, design.uncertainty
    directions = floor.directions
    pipe = pipe_spread(assembly, spread)
    z = _numbers(samples, len(directions) + len(pipe.names) + 2)
    fan_z, season_z = z[:, -2:].T
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
    state = State(
        network=network,
        scatter=pipe.scatter(z[:, len(directions) : -2]),
        holes=floor.holes * np.exp(np.tensordot(ground, reach, axes=1)),
        rest=rest_on_the_day(design),
        change=season.change_at_holes(design, assembly, season_part),
        fan=np.maximum(1.0 + 0.5 * spread.fan_speed * fan_z, 0.1),
    )
    return Samples(state, z, (*(d.name for d in directions), *pipe.names, "Fan", "Season"))


def cloud(samples: Samples, fan: Fan, speed: float, flows: Array) -> Cloud | None:
    """What the holes of a sampled site keep at a speed.

    Parameters
    ----------
    flows : array, shape (n,) or (s, n)
        Where the samples start: the flows of the points on the worst day, or of each sample at a speed nearby.

    Returns
    -------
    Cloud or None
        None where the samples leave what the model can answer.
    """
    state, varied, names = samples
    speeds = speed * state.fan

    def lift(total: Array) -> Array:
        return fan.extended(total, speeds, state.network.density)

    try:
        found = state.network.meet(lift, np.broadcast_to(flows, (len(varied), flows.shape[-1])), state.scatter, _CLOSE)
    except NoConvergence:
        return None
    day = np.matmul(state.holes, found[..., None])[..., 0] + state.rest
    return Cloud(day=day, worst=day + state.change, varied=varied, names=names, flows=found)


def rest_on_the_day(design: Design) -> Array:
    """Mean reading at rest of each hole, shape (k,) [Pa]; nothing where none was read."""
    return np.array(
        [sum(r.at_rest for r in hole.readings) / len(hole.readings) if hole.readings else 0.0 for hole in design.holes]
    )
