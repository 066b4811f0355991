"""What is left at each test hole, on the day and on the worst day, and whether it is enough."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from workbench.physics.fan import Fan
from workbench.physics.network import NoConvergence
from workbench.solve.chance import Cloud, cloud, rest_on_the_day
from workbench.solve.outcome import Holding, HoleState
from workbench.solve.season import Season

if TYPE_CHECKING:
    from workbench.solve.prepare import Prepared

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


def holding_at(
    ready: Prepared, fan: Fan, speed: float, flows: Array, on_the_worst_day: Array | None, samples: int
) -> Holding | None:
    """What the holes keep at a speed, with the chance that all keep the target; None without holes.

    Parameters
    ----------
    flows, on_the_worst_day : array, shape (n,)
        Flows of the points on the day and on the worst one.
    """
    design, assembly = ready.design, ready.assembly
    if not design.holes or on_the_worst_day is None:
        return None
    season = ready.worst_day
    rest = rest_on_the_day(design)
    day = assembly.floor.holes @ flows + rest
    worst = assembly.floor.holes @ on_the_worst_day + rest + season.change_at_holes(design, assembly)
    seen = cloud(ready.sampled(samples), fan, speed, ready.nearby(samples, fan, speed, on_the_worst_day))
    return _judged(ready, day, worst, seen)


def _judged(ready: Prepared, day: Array, worst: Array, seen: Cloud | None) -> Holding:
    design = ready.design
    day_band, worst_band = _bands(seen, day, worst)
    states = tuple(
        HoleState(
            name=hole.name,
            address=("holes", h),
            known=not np.isnan(day[h]),
            suction=float(day[h]),
            band=(float(day_band[0][h]), float(day_band[1][h])),
            worst=float(worst[h]),
            worst_band=(float(worst_band[0][h]), float(worst_band[1][h])),
        )
        for h, hole in enumerate(design.holes)
    )
    known = [state for state in states if state.known]
    if not known:
        return Holding(states, design.target.suction, design.target.chance, None, float("nan"), None, ())
    weakest = min(known, key=lambda state: state.worst)
    return Holding(
        holes=states,
        target=design.target.suction,
        wanted_chance=design.target.chance,
        weakest=weakest.name,
        margin=weakest.worst - design.target.suction,
        chance=seen.chance(design.target.suction) if seen else None,
        weights=tuple(seen.weights()) if seen else (),
    )


def _bands(seen: Cloud | None, day: Array, worst: Array) -> tuple[tuple[Array, Array], tuple[Array, Array]]:
    """Edges of the 90 % bands about the readings on the day and on the worst day."""
    if seen is None:
        return (day, day), (worst, worst)
    ordered = np.sort(np.stack((seen.day, seen.worst)), axis=1)
    low, high = (ordered[:, round(edge * (ordered.shape[1] - 1))] for edge in _EDGES)
    return (
        (np.minimum(low[0], day), np.maximum(high[0], day)),
        (np.minimum(low[1], worst), np.maximum(high[1], worst)),
    )
