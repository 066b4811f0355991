"""What is left at each test hole, on the day and on the worst day, and whether it is enough."""

from __future__ import annotations

import numpy as np

from workbench.design.design import Design
from workbench.design.ground import GroundClass
from workbench.physics.arrays import Array
from workbench.physics.fan import Fan
from workbench.solving.outcome import Holding, HoleState, Unmeasured
from workbench.solving.run.fans_on_site import FansOnSite
from workbench.solving.run.needed import chance_at
from workbench.solving.site.chance import Cloud, cloud, weights
from workbench.solving.site.draws import REST_SAMPLES, band
from workbench.solving.site.floor import Floor
from workbench.solving.site.readings import gains, shows_suction
from workbench.solving.site.season import rest_on_the_day


def holding_of(on_site: FansOnSite, speed: float, samples: int) -> Holding | None:
    """What the holes keep by the chosen fan at a speed; None without holes, or where the fan meets nothing."""
    solved = on_site.stable_crossing(speed)
    if solved is None or on_site.design.fan is None:
        return None
    fan = on_site.fans[on_site.design.fan]
    return holding_at(on_site, fan, speed, solved.flows, on_site.worst_flows(fan, speed, solved.flows), samples)


def holding_at(
    on_site: FansOnSite, fan: Fan, speed: float, flows: Array, on_the_worst_day: Array | None, samples: int
) -> Holding | None:
    """What the holes keep at a speed, with the chance that all keep the target; None without holes.

    Parameters
    ----------
    flows, on_the_worst_day : array, shape (n,)
        Flows of the points on the day and on the worst one.
    """
    design, floor = on_site.design, on_site.assembly.floor
    if not design.holes or on_the_worst_day is None:
        return None
    season = on_site.worst_day
    rest = rest_on_the_day(design)
    day = floor.remaining_at(flows) + rest
    worst = floor.remaining_at(on_the_worst_day) + rest + season.change_at_holes(design, floor.rest_holes)
    with np.errstate(divide="ignore", invalid="ignore"):
        milder = np.where(on_the_worst_day != 0.0, flows / on_the_worst_day, 1.0)
    start, near = (on_the_worst_day, False) if fan.rises else on_site.nearby(samples, fan, speed, on_the_worst_day)
    # at rest every sample is solved; while the hand moves its place between two solved speeds will do
    seen = cloud(on_site.sampled(samples), fan, speed, start, milder, as_given=near and samples < REST_SAMPLES)
    return _judged(on_site, speed, day, worst, seen, samples)


def _judged(on_site: FansOnSite, speed: float, day: Array, worst: Array, seen: Cloud | None, samples: int) -> Holding:
    design, floor = on_site.design, on_site.assembly.floor
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
            shown=floor.borne_out[h],
        )
        for h, hole in enumerate(design.holes)
    )
    known = [state for state in states if state.known]
    read = tuple(h for h, state in enumerate(states) if state.measured and state.known)
    unmeasured = unmeasured_of(design, floor)
    if not known:
        return Holding(states, target.suction, target.chance, None, float("nan"), None, None, (), unmeasured)
    weakest = min(known, key=lambda state: state.worst)
    chance = chance_read = None
    by_weight: list[tuple[object, float]] = []
    if seen is not None and read:
        every = tuple(h for h, state in enumerate(states) if state.known)
        chance = _chance(on_site, speed, every, seen, samples)
        chance_read = chance if every == read else _chance(on_site, speed, read, seen, samples)
        if samples >= REST_SAMPLES:
            # nobody reads them while a hand moves
            by_weight = list(weights(on_site.sampled(samples), seen.worst[:, list(every)].min(axis=1)))
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


def _chance(on_site: FansOnSite, speed: float, holes: tuple[int, ...], seen: Cloud, samples: int) -> float:
    """Chance that some holes keep the target: by the speed each sample needs, else by counting samples."""
    needs = on_site.needs(samples, holes)
    if needs is not None:
        return float(chance_at(speed, needs, on_site.fan_spread))
    least = seen.worst[:, list(holes)].min(axis=1)
    return float(np.mean(least >= on_site.design.target.suction))


def unmeasured_of(design: Design, floor: Floor) -> tuple[Unmeasured, ...]:
    """What a verdict on a design rests on that nobody measured, what matters most first."""
    found = [] if design.holes else [Unmeasured("test holes")]
    found += [Unmeasured("hole", hole.name) for hole in design.holes if not hole.readings]
    found += [Unmeasured("suction", hole.name) for hole in design.holes if hole.readings and not shows_suction(hole)]
    found += [Unmeasured("agreement", subject) for subject in _at_odds(design, floor)]
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


def _at_odds(design: Design, floor: Floor) -> list[str]:
    """Names of holes and points whose readings disagree with the others, once each."""
    points = [point.name for _, point in design.suction_points()]
    names = [points[each.place] if each.kind == "flow" else design.holes[each.place].name for each in floor.at_odds]
    return list(dict.fromkeys(names))


def _bands(seen: Cloud | None, day: Array, worst: Array) -> tuple[tuple[Array, Array], tuple[Array, Array]]:
    """Edges of the 90 % bands about the readings on the day and on the worst day; not numbers where none is known."""
    if seen is None:
        nothing = np.full(day.shape, np.nan)
        return (nothing, nothing), (nothing, nothing)
    low, high = band(np.stack((seen.day, seen.worst)), axis=1)
    return (
        (np.minimum(low[0], day), np.maximum(high[0], day)),
        (np.minimum(low[1], worst), np.maximum(high[1], worst)),
    )
