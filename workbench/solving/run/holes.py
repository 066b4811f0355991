"""What is left at each test hole, on the day and on the worst day, and whether it is enough."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from workbench.design.design import Design
from workbench.design.ground import GroundClass
from workbench.physics.fan import Fan
from workbench.physics.network import NoConvergence
from workbench.solving.outcome import Holding, HoleState, Unmeasured
from workbench.solving.run.needed import chance_at, met_first, needed, speeds_for
from workbench.solving.site.chance import Cloud, cloud, fan_spread, weights
from workbench.solving.site.draws import REST_SAMPLES
from workbench.solving.site.readings import gains, shows_suction
from workbench.solving.site.season import Season, rest_on_the_day

if TYPE_CHECKING:
    from workbench.solving.run.prepare import Prepared

Array = NDArray[np.float64]

_EDGES = (0.05, 0.95)


def worst_flows(ready: Prepared, fan: Fan, speed: float, season: Season, flows: Array) -> Array | None:
    """Flows of the points in a season, from those on the day; None where the fan then meets nothing."""

    def lift(total: Array) -> Array:
        return fan.pressure(total, speed, ready.density)

    try:
        return season.network(ready.assembly).meet(lift, flows)
    except NoConvergence:
        return None


def needs_of(ready: Prepared, fan: Fan, samples: int, holes: tuple[int, ...]) -> Array | None:
    """Speed that each sample needs so that some holes keep the target on the worst day, shape (s,).

    None where it cannot be found, or where a rising curve may be met before that, and an answer must be looked for
    speed by speed.
    """
    if not holes:
        return None
    state = ready.sampled(samples).state
    try:
        found = needed(state, ready.design.target.suction, holes)
    except NoConvergence:
        return None
    if found is None:
        return None
    speeds = speeds_for(fan, found.flow, found.pressure, ready.density)
    return speeds if met_first(state, found, fan, speeds, ready.density).all() else None


def holding_at(
    ready: Prepared, fan: Fan, speed: float, flows: Array, on_the_worst_day: Array | None, samples: int
) -> Holding | None:
    """What the holes keep at a speed, with the chance that all keep the target; None without holes.

    Parameters
    ----------
    flows, on_the_worst_day : array, shape (n,)
        Flows of the points on the day and on the worst one.
    """
    design, floor = ready.design, ready.assembly.floor
    if not design.holes or on_the_worst_day is None:
        return None
    season = ready.worst_day
    rest = rest_on_the_day(design)
    day = floor.kept_at(flows) + rest
    worst = floor.kept_at(on_the_worst_day) + rest + season.change_at_holes(design, floor.rest_holes)
    with np.errstate(divide="ignore", invalid="ignore"):
        milder = np.where(on_the_worst_day != 0.0, flows / on_the_worst_day, 1.0)
    start = on_the_worst_day if fan.rises else ready.nearby(samples, fan, speed, on_the_worst_day)
    seen = cloud(ready.sampled(samples), fan, speed, start, milder)
    return _judged(ready, speed, day, worst, seen, samples)


def _judged(ready: Prepared, speed: float, day: Array, worst: Array, seen: Cloud | None, samples: int) -> Holding:
    design = ready.design
    target = design.target
    day_band, worst_band = _bands(seen, day, worst)
    states = tuple(
        HoleState(
            name=hole.name,
            address=("holes", h),
            known=not np.isnan(day[h]),
            measured=bool(hole.readings),
            suction=float(day[h]),
            band=(float(day_band[0][h]), float(day_band[1][h])),
            worst=float(worst[h]),
            worst_band=(float(worst_band[0][h]), float(worst_band[1][h])),
            shown=shows_suction(hole),
        )
        for h, hole in enumerate(design.holes)
    )
    known = [state for state in states if state.known]
    read = tuple(h for h, state in enumerate(states) if state.measured and state.known)
    unmeasured = unmeasured_of(design)
    if not known:
        return Holding(states, target.suction, target.chance, None, float("nan"), None, None, (), unmeasured)
    weakest = min(known, key=lambda state: state.worst)
    chance = chance_read = None
    by_weight: list[tuple[object, float]] = []
    if seen is not None and read:
        every = tuple(h for h, state in enumerate(states) if state.known)
        chance = _chance(ready, speed, every, seen, samples)
        chance_read = chance if every == read else _chance(ready, speed, read, seen, samples)
        if samples >= REST_SAMPLES:
            # nobody reads them while a hand moves
            by_weight = list(weights(ready.sampled(samples), seen.worst[:, list(every)].min(axis=1)))
    return Holding(
        holes=states,
        target=target.suction,
        wanted_chance=target.chance,
        weakest=weakest.name,
        margin=weakest.worst - target.suction,
        chance=chance,
        chance_read=chance_read,
        weights=tuple(by_weight),  # type: ignore[arg-type]
        unmeasured=unmeasured,
    )


def _chance(ready: Prepared, speed: float, holes: tuple[int, ...], seen: Cloud, samples: int) -> float:
    """Chance that some holes keep the target: by the speed each sample needs, else by counting samples."""
    needs = ready.needs(samples, holes)
    if needs is not None:
        return float(chance_at(speed, needs, fan_spread(ready.design)))
    least = seen.worst[:, list(holes)].min(axis=1)
    return float(np.mean(least >= ready.design.target.suction))


def unmeasured_of(design: Design) -> tuple[Unmeasured, ...]:
    """What a verdict on a design rests on that nobody measured, what matters most first."""
    found = [] if design.holes else [Unmeasured("test holes")]
    found += [Unmeasured("hole", hole.name) for hole in design.holes if not hole.readings]
    found += [Unmeasured("suction", hole.name) for hole in design.holes if hole.readings and not shows_suction(hole)]
    found += [
        Unmeasured("ground", point.name)
        for _, point in design.suction_points()
        if isinstance(point.ground, GroundClass)
    ]
    if design.worst_day.tested_draw_down is None:
        found.append(Unmeasured("draw-down"))
    if design.worst_day.tested_draw_down is None or all(hole.exhausts is None or gains(hole) for hole in design.holes):
        found.append(Unmeasured("share at holes"))
    return tuple(found)


def _bands(seen: Cloud | None, day: Array, worst: Array) -> tuple[tuple[Array, Array], tuple[Array, Array]]:
    """Edges of the 90 % bands about the readings on the day and on the worst day; not numbers where none is known."""
    if seen is None:
        nothing = np.full(day.shape, np.nan)
        return (nothing, nothing), (nothing, nothing)
    low, high = np.quantile(np.stack((seen.day, seen.worst)), _EDGES, axis=1)
    return (
        (np.minimum(low[0], day), np.maximum(high[0], day)),
        (np.minimum(low[1], worst), np.maximum(high[1], worst)),
    )
