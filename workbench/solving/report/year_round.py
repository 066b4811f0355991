"""Held in June: will it hold in January? What each hole keeps as the weather turns."""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from numpy.typing import ArrayLike, NDArray

from workbench.physics.arrays import Array
from workbench.solving.run.prepare import Prepared
from workbench.solving.site.season import exhausts_of, rest_on_the_day, season_at

_STEPS = 9


class Turning(Struct, frozen=True, eq=False):
    """Suction at k holes over t outdoor temperatures [K], shape (t, k) [Pa].

    `quiet` with no exhaust running, `exhausts` with every one on.
    """

    temperature: Array
    quiet: Array
    exhausts: Array

    def at(self, temperature: ArrayLike, *, exhausts: bool) -> Array:
        """Suction at any outdoor temperatures within the range, shape (..., k); the ends are held beyond it. [Pa]"""
        values = self.exhausts if exhausts else self.quiet
        at = np.asarray(temperature, dtype=np.float64)
        return np.stack([np.interp(at, self.temperature, column) for column in values.T], axis=-1)


def turning(prepared: Prepared, speed: float, coldest: float, warmest: float) -> Turning | None:
    """What the holes keep at a speed from the coldest to the warmest outdoor air [K]; None without an answer.

    The flows are solved anew at each temperature: the draft in the riser rises while the house is drawn down.
    """
    solved, design = prepared.stable_crossing(speed), prepared.design
    if solved is None or design.fan is None or not design.holes:
        return None
    fan, floor = prepared.fans[design.fan], prepared.assembly.floor
    rest = rest_on_the_day(design)
    temperatures = np.linspace(coldest, warmest, _STEPS)
    all_on = exhausts_of(design)[0]
    kept: dict[float, list[Array]] = {0.0: [], all_on: []}
    for exhausts, rows in kept.items():
        flows = solved.flows
        for temperature in temperatures:
            season = season_at(design, prepared.assembly, float(temperature), exhausts)
            found = prepared.flows_in(season, fan, speed, flows)
            if found is None:
                return None
            flows = found
            rows.append(floor.remaining_at(flows) + rest + season.change_at_holes(design, floor.rest_holes))
    quiet = np.array(kept[0.0])
    return Turning(temperatures, quiet, np.array(kept[all_on]) if len(kept) > 1 else quiet)


class YearHeld(Struct, frozen=True, eq=False):
    """A year hour by hour at one speed.

    `below` (k,) hours each hole spends under the target, NaN where a hole is unknown; `months` (12,) share of the
    hours of each month in which every known hole holds; `share` that of the year.
    """

    below: Array
    months: Array
    share: float


def year_held(
    turned: Turning, temperature: Array, month: NDArray[np.int64], target: float, *, exhausts: bool
) -> YearHeld:
    """How the holes fare through the hours of a year.

    Parameters
    ----------
    temperature, month : array, shape (hours,)
        Outdoor air [K] and the month, 1 to 12.
    target
        [Pa]
    exhausts
        With every exhaust running all year, or none.
    """
    kept = turned.at(temperature, exhausts=exhausts)
    known = ~np.isnan(kept[0])
    below = np.where(known, np.sum(kept < target, axis=0).astype(np.float64), np.nan)
    held = np.all(kept[:, known] >= target, axis=1)
    hours = np.bincount(month - 1, minlength=12)
    with np.errstate(invalid="ignore"):
        months = np.bincount(month - 1, weights=held, minlength=12) / hours
    return YearHeld(below, months, float(held.mean()))
