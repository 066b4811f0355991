"""Everything that is uncertain varied together: possible sites, what they need, and what their holes keep.

One fixed set of numbers serves every speed, so that the chance rises smoothly with speed and a drag does not flicker.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from workbench.design.design import Design
from workbench.physics.arrays import Array
from workbench.physics.fan import Fan
from workbench.physics.network import AS_CALCULATED, Network, NoConvergence, Scatter
from workbench.solving.site.assemble import Assembly
from workbench.solving.site.draws import normal
from workbench.solving.site.fit import Varied
from workbench.solving.site.ground_state import remaining_at
from workbench.solving.site.pipe_spread import pipe_rows, pipe_spread, scatter_over
from workbench.solving.site.season import Season, rest_on_the_day

_CLOSE = 1e-6
"""Error left in the samples' flows, as a share of them."""

_RIDGE = 1e-6
_FEW, _MANY = 9, 257
"""Flows at which a site is asked, and at which a rising curve is looked at."""

_BEYOND = 1.02
"""Past the end of a fan's points, where its curve is taken to fall steeply."""


class State(Struct, frozen=True, eq=False):
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
    """

    network: Network
    scatter: Scatter
    holes: Array
    rest: Array
    change: Array

    def remaining(self, flows: Array) -> Array:
        """What the holes keep at flows of the points (..., n) in this season, shape (..., k). [Pa]"""
        return np.asarray(self.drawn(flows) + self.rest + self.change)

    def drawn(self, flows: Array) -> Array:
        """The part of it that the points bring. [Pa]"""
        return remaining_at(self.network.coupling, self.network.inertial, self.holes, flows)


class Samples(NamedTuple):
    """A sampled state, and what varied in it.

    `rest_points` (s, n) is how far each pit follows the outdoors, `fan` (s,) the factor on the speed a fan is set to,
    `varied` (s, v) the numbers drawn with their `names`, and `missed` the share of floors that could
    not be fitted to the readings.
    """

    state: State
    rest_points: Array
    fan: Array
    varied: Array
    names: tuple[Varied, ...]
    missed: float


class Cloud(Struct, frozen=True, eq=False):
    """Samples of what holes keep on the day and on the worst day, shape (s, k) [Pa], and the points' flows."""

    day: Array
    worst: Array
    flows: Array


def middle(design: Design, assembly: Assembly, season: Season) -> State:
    """A site in a season by the middle of the bands."""
    return State(
        network=season.network(assembly),
        scatter=AS_CALCULATED,
        holes=assembly.floor.holes,
        rest=rest_on_the_day(design),
        change=season.change_at_holes(design, assembly.floor.rest_holes),
    )


def sampled(design: Design, assembly: Assembly, season: Season, samples: int) -> Samples:
    """A site in a season with everything that is uncertain varied together; independent of fan and speed."""
    draws = assembly.floor.draws(samples)
    pipe = pipe_spread(assembly, design.uncertainty)
    pipe_z = pipe_rows(assembly, pipe, samples)
    fan_z = normal("fan", samples, 1)[:, 0]
    fan = np.maximum(1.0 + fan_spread(design) * fan_z, 0.1)
    learned = assembly.learned
    if learned is not None and design.chosen_fan == learned.fan:
        fan_z, fan = learned.fan_rows(samples), learned.fan_factors(samples)
    exhausts_z, stack_z, wind_z = normal("season", samples, 3).T
    exhausts = season.exhausts * np.exp(season.exhausts_spread * exhausts_z)
    part = np.maximum(1.0 + 0.5 * design.worst_day.uncertainty * stack_z, 0.0)
    stack = season.stack * part
    # a gust that lifts the house makes no worst day: only what wind takes is counted upon
    wind = season.wind * np.maximum(wind_z, 0.0)
    draw_down = exhausts + stack + wind
    beyond = season.beyond_the_day * part + wind
    network = replace(
        assembly.network,
        coupling=draws.coupling,
        inertial=draws.inertial,
        draft=season.lifted(draws.rest_points, draw_down),
    )
    state = State(
        network=network,
        scatter=scatter_over(pipe.scatter(pipe_z), assembly),
        holes=draws.holes,
        rest=rest_on_the_day(design),
        change=season.change_at_holes(design, draws.rest_holes, exhausts, beyond),
    )
    rest = {
        Varied("fan"): fan_z,
        Varied("exhausts"): exhausts_z,
        Varied("winter stack"): stack_z,
        Varied("wind"): wind_z,
    }
    varied = np.concatenate((draws.varied, pipe_z, np.stack(list(rest.values()), axis=1)), axis=1)
    return Samples(state, draws.rest_points, fan, varied, (*draws.names, *pipe.names, *rest), draws.missed)


def fan_spread(design: Design) -> float:
    """One standard deviation of a fan's true speed over its setting."""
    return 0.5 * design.uncertainty.fan_speed


def cloud(
    samples: Samples, fan: Fan, speed: float, flows: Array, milder: Array | float = 1.0, *, as_given: bool = False
) -> Cloud | None:
    """What the holes of a sampled site keep at a speed.

    Parameters
    ----------
    flows : array, shape (n,) or (s, n)
        Where the samples start: the flows of the points on the worst day, or of each sample at a speed nearby.
    milder : array, shape (n,)
        Flows of the points on the day over those on the worst day, by the middle of the bands.
    as_given
        Take the flows as they are.

    Returns
    -------
    Cloud or None
        None where the samples leave what the model can answer. The few whose flows are not found stand as the worst of
        the others.
    """
    state = samples.state
    count = len(samples.varied)
    speeds = speed * samples.fan

    def lift(total: Array) -> Array:
        return fan.extended(total, speeds, state.network.density)

    start = np.broadcast_to(flows, (count, flows.shape[-1]))
    try:
        # a curve that rises may leave a step nowhere to go
        found = _along(state, lift, _BEYOND * fan.flow_range(speeds)[1]) if fan.rises else start
    except NoConvergence:
        found = start
    settled = np.ones(count, dtype=np.bool_)
    if found is start and not as_given:
        found, settled = state.network.meet_each(lift, start, state.scatter, _CLOSE)
    if not settled.any():
        return None
    day, worst = state.drawn(found * milder) + state.rest, state.remaining(found)
    if not settled.all():
        for kept in (day, worst):
            kept[~settled] = kept[settled].min(axis=0)
        found = np.where(settled[:, None], found, found[settled].mean(axis=0))
    return Cloud(day=day, worst=worst, flows=found)


def _along(state: State, lift: Callable[[Array], Array], last: Array) -> Array:
    """Flows (s, n) at which samples meet a fan first, looked for along the system curve up to flows (s,).

    What a site asks bends little over the flow once its standing part is off, so few flows tell it; the fan's own curve
    is run along closely.
    """
    few, many = np.linspace(0.0, 1.0, _FEW), np.linspace(0.0, 1.0, _MANY)
    asked, shared = state.network.curve(few[:, None] * last, state.scatter)
    standing = asked[0]
    slope = np.concatenate((asked[1:2] - standing, asked[1:] - standing)) / (np.append(few[1], few[1:])[:, None] * last)
    weight = np.stack([np.interp(many, few, row) for row in np.eye(_FEW)], axis=1)
    total = many[:, None] * last
    spare = lift(total) - (standing + weight @ slope * total)
    # the first place where less is given than is asked; the last one where that never is
    at = np.where((spare < 0.0).any(axis=0), np.argmax(spare < 0.0, axis=0), _MANY - 1)
    here, before = np.arange(at.size), np.maximum(at - 1, 0)
    gap = spare[before, here] - spare[at, here]
    part = np.clip(spare[before, here] / np.where(gap > 0.0, gap, 1.0), 0.0, 1.0)
    share = (many[before] + part * (many[at] - many[before])) * (_FEW - 1)
    low = np.minimum(share.astype(np.intp), _FEW - 2)
    between = (share - low)[:, None]
    return np.asarray((1.0 - between) * shared[low, here] + between * shared[low + 1, here])


def weights(samples: Samples, least: Array) -> list[tuple[Varied, float]]:
    """What a number of every sample hangs on: the share of its variance that goes with each thing, largest first.

    By a straight line through the samples in all that varied; unknowns that the readings tie together share what they
    have in common.
    """
    x = samples.varied - samples.varied.mean(axis=0)
    good = np.isfinite(least)
    if not good.any():
        return []
    y = np.where(good, least, least[good].max()) - least[good].mean()
    if not float(y @ y) > 0.0:
        return []
    square = x.T @ x
    slope = np.linalg.solve(square + _RIDGE * len(x) * np.eye(x.shape[1]), x.T @ y)
    shares = slope * (x.T @ y)
    by_name: dict[Varied, float] = {}
    for name, share in zip(samples.names, shares, strict=True):
        by_name[name] = by_name.get(name, 0.0) + float(share)
    kept = {name: max(share, 0.0) for name, share in by_name.items()}
    total = sum(kept.values()) or 1.0
    return sorted(((name, share / total) for name, share in kept.items()), key=lambda pair: -pair[1])
