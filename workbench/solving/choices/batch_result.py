"""Where fans settle on sites that stand side by side, at the lowest speed that holds, and what follows from it."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from workbench.design.fan import FanRecord
from workbench.physics.arrays import Array
from workbench.physics.fan import Fan
from workbench.physics.network import NoConvergence
from workbench.solving.choices.batch import LowestSettings, Row, SampledSite, settings_on, side_by_side
from workbench.solving.outcome import Crossing, Year
from workbench.solving.run.prepare import Prepared
from workbench.solving.run.sounding import levels_at
from workbench.solving.run.yearly import Hours, share_from, share_of, year_of
from workbench.solving.site.assemble import fan_on
from workbench.solving.site.draws import REST_SAMPLES


class Settled(Struct, frozen=True):
    """Where a fan settles on a site.

    `speed` is the lowest that holds, not a number where none does; what follows is then told for full speed, but no
    `year`. `wanted` is the speed asked for, also above full speed; `within` whether the fan's points speak of it.
    """

    speed: float
    wanted: float
    within: bool
    operating: Crossing | None
    velocity: float
    weakest: str
    margin: float
    sound: float
    sound_band: float
    year: Year | None


def in_a_row(sites: Sequence[SampledSite]) -> Row | None:
    """Sites of one layout side by side; None where what they need cannot be found together.

    Raises
    ------
    ValueError
        With a sentence, when nothing is known of any hole.
    """
    try:
        return side_by_side(sites)
    except NoConvergence:
        return None


def settle(
    sites: Sequence[SampledSite], row: Row | None, record: FanRecord, hours: Hours | None, *, steps: bool = True
) -> list[Settled]:
    """A fan on every site of a row, at speeds in whole steps or as they are found."""
    learned = sites[0].assembly.learned
    fan = fan_on(record, sites[0].design.arrangement, learned)
    truly = None if learned is None or record != learned.fan else learned.fan_factors(REST_SAMPLES)
    try:
        settings = None if row is None else settings_on(row, fan, record.lowest_speed, steps=steps, truly=truly)
    except NoConvergence:
        settings = None
    if row is None or settings is None:
        return [_alone(site, record, hours) for site in sites]
    numbers = _Numbers(row, settings, record, fan, hours)
    return [_alone(site, record, hours) if settings.often[w] else numbers.of(w) for w, site in enumerate(sites)]


class _Numbers:
    """What follows from the settings of a fan on a row of sites, worked out for all of them at once."""

    def __init__(self, row: Row, settings: LowestSettings, record: FanRecord, fan: Fan, hours: Hours | None) -> None:
        self._settings, self._row, self._hours = settings, row, hours
        design = row.sites[0].design
        self._holes = design.holes
        self._flow = settings.flows.sum(axis=-1)
        self._lift = fan.extended(self._flow, settings.speed, row.density)
        self._power = fan.power(self._flow, settings.speed, row.density)
        self._velocity = row.velocity(settings.flows)
        self._kept = row.remaining(settings.worst_flows)
        self._target = design.target.suction
        self._sound: Array = np.full(self._flow.shape, math.nan)
        self._band: Array = np.full(self._flow.shape, math.nan)
        for listener in design.house.listeners[:1]:
            heard = levels_at(design, listener, record, settings.speed, self._flow, row.outlet_area(), row.density)
            if heard is not None:
                self._sound, self._band = heard

    def of(self, w: int) -> Settled:
        settings = self._settings
        wanted = float(settings.wanted[w])
        kept = self._kept[w]
        weakest = int(np.nanargmin(kept))
        holds = wanted <= 1.0 and bool(settings.within[w])
        operating = Crossing(float(self._flow[w]), float(self._lift[w]), float(self._power[w]), True)
        return Settled(
            speed=float(settings.speed[w]) if holds else math.nan,
            wanted=wanted,
            within=bool(settings.within[w]),
            operating=operating,
            velocity=float(self._velocity[w]),
            weakest=self._holes[weakest].name,
            margin=float(kept[weakest]) - self._target,
            sound=float(self._sound[w]),
            sound_band=float(self._band[w]),
            year=self._year(w, operating) if holds else None,
        )

    def _year(self, w: int, operating: Crossing) -> Year:
        site, flows = self._row.sites[w], self._settings.flows[w]
        share = share_of(site.design.house, share_from(site.assembly.floor, flows, REST_SAMPLES))
        return year_of(site.design, operating, self._row.density, None, share, self._hours)


def _alone(site: SampledSite, record: FanRecord, hours: Hours | None) -> Settled:
    """A candidate solved on its own, where a rising curve may be met more than once."""
    prepared = Prepared(site.design.model_copy(update={"fan": record.name, "speed": 1.0}), hours, site.assembly.learned)
    # by the estimate where a hole was not read, as side by side; the choice says that it was not measured
    speed = prepared.lowest.by_estimate
    outcome = prepared.rested(1.0 if speed is None else speed)
    holding, operating = outcome.holding, outcome.operating
    heard = outcome.sound[0] if outcome.sound else None
    return Settled(
        speed=math.nan if speed is None else speed,
        wanted=math.inf if speed is None else speed,
        within=operating is not None and holding is not None,
        operating=operating,
        velocity=outcome.velocity,
        weakest="" if holding is None else holding.weakest or "",
        margin=math.nan if holding is None else holding.margin,
        sound=math.nan if heard is None else heard.level,
        sound_band=math.nan if heard is None else heard.band,
        year=None if speed is None else outcome.year,
    )
