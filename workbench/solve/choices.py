"""Fans by pipes by pits by sealing by points: each at its own lowest speed that holds, ranked by cost of owning."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from workbench.design.design import Design
from workbench.design.fan import Fan as FanRecord
from workbench.design.record import with_value
from workbench.physics.energy import present_worth_factor
from workbench.physics.fan import Fan
from workbench.physics.network import NoConvergence
from workbench.solve.assemble import fan_of
from workbench.solve.outcome import Crossing
from workbench.solve.prepare import Prepared
from workbench.solve.sites import Row, Settings, Site, lay, settings_on, side_by_side
from workbench.solve.sounding import levels_at
from workbench.solve.variants import (
    Base,
    Candidate,
    FirstCost,
    bases,
    built,
    fans_tried,
    first_cost,
    left_out,
    pipe_name,
    pipes_tried,
    refuse_unsearchable,
    with_base,
    with_pipe,
)
from workbench.solve.worth import Worth, worths
from workbench.solve.yearly import Hours, share_of, year_of

Array = NDArray[np.float64]

Limit = Literal["suction", "curve", "sound", "velocity"]

LIMITS: dict[Limit, str] = {
    "suction": "the suction at the weakest hole",
    "curve": "the end of the fan's curve",
    "sound": "the sound at the first listener",
    "velocity": "the velocity of the air",
}

_SIDE_BY_SIDE = 24
"""Sites solved at once: enough to outweigh the calls, few enough to stay near the processor."""


class Cancelled(Exception):
    """The search was called off."""


@dataclass(frozen=True)
class Choice:
    """A candidate, and what follows from it at its own lowest speed that holds. SI, money in the prices' currency.

    Attributes
    ----------
    speed : float
        Not a number where no speed holds; then everything that hangs on it is not a number either.
    wanted_speed : float
        What the suction asks for, also above full speed; infinite where no speed would do.
    weakest, margin
        The weakest hole on the worst day by the middle of the bands, and what it keeps beyond the target. [Pa]
    sound, sound_band : float
        At the first listener; not a number without one or without a rating. [dB(A)], [dB]
    yearly, first, life_cycle : float
        Cost of a year; of building; and both over the years of the search.
    misses : tuple
        Limits that are not kept, each with by how much as a ratio to compare by, worst first.
    """

    candidate: Candidate
    pipe: str
    pit_volume: float
    leak_left: float
    joints_left: float
    points: int
    speed: float
    wanted_speed: float
    flow: float
    power: float
    velocity: float
    weakest: str
    margin: float
    sound: float
    sound_band: float
    fan_energy: float
    house_air_energy: float
    yearly: float
    cost: FirstCost
    life_cycle: float
    misses: tuple[tuple[Limit, float], ...]

    @property
    def fan(self) -> str:
        """Name of the fan."""
        return self.candidate.fan

    @property
    def first(self) -> float:
        """Cost of building."""
        return self.cost.total

    @property
    def holds(self) -> bool:
        """Whether every limit is kept."""
        return not self.misses

    @property
    def binds(self) -> Limit | None:
        """The limit that is missed the most; None where all are kept."""
        return self.misses[0][0] if self.misses else None


@dataclass(frozen=True)
class Choices:
    """All that was tried, those that hold first and the cheapest to own first among them.

    `frontier` are the positions, by rising first cost, of those that hold and that no other undercuts both in first
    and in yearly cost. `left_out` are sentences about what could not be tried, `worths` what one more step from the
    best is worth.
    """

    design: Design
    hours: Hours | None
    rows: tuple[Choice, ...]
    frontier: tuple[int, ...]
    left_out: tuple[str, ...]
    sound_limit: float | None
    worths: tuple[Worth, ...]

    @property
    def best(self) -> Choice | None:
        """The cheapest to own of those that hold."""
        return self.rows[0] if self.rows and self.rows[0].holds else None

    @property
    def binds(self) -> Limit | None:
        """Where nothing holds, the limit that stops the nearest."""
        return None if not self.rows else self.rows[0].binds


def candidates(design: Design) -> list[Candidate]:
    """Everything that is tried, in a fixed order; as drawn first.

    Raises
    ------
    ValueError
        With a sentence, where there is nothing to search by.
    """
    refuse_unsearchable(design)
    return [
        Candidate(fan.name, pipe, base)
        for base in bases(design)
        for pipe in pipes_tried(design)
        for fan in fans_tried(design)
    ]


def design_of(choice: Choice, design: Design) -> Design:
    """The design as a choice would have it, its fan chosen and set to the speed found.

    Raises
    ------
    ValueError
        With a sentence, when it can no longer be built.
    """
    made = built(design, choice.candidate)
    return made if math.isnan(choice.speed) else with_value(made, ("speed",), choice.speed)


def search(
    design: Design,
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
    hours: Hours | None = None,
) -> Choices:
    """Try everything, by the same sums and the same samples as a single answer.

    Parameters
    ----------
    progress
        Told how many of how many candidates are done.
    cancelled
        Asked now and then; once it says True the search ends.
    hours
        A year of weather, where one is given.

    Raises
    ------
    ValueError
        With a sentence, where there is nothing to search by.
    Cancelled
    """
    every = candidates(design)
    tally = _Tally(len(every), progress, cancelled)
    sentences = list(left_out(design))
    found: list[Choice] = []
    for sites in _rows(design, sentences, tally):
        found += _judged(design, sites, hours, tally)
    if not found:
        raise ValueError(" ".join(["Nothing could be tried.", *sentences]))
    found.sort(key=_rank)
    tally.step()
    steps = worths(design_of(found[0], design), hours) if found[0].holds else ()
    return Choices(design, hours, tuple(found), frontier(found), tuple(sentences), sound_limit(design)[0], steps)


class _Tally:
    """Tells of progress and ends a search that is called off."""

    def __init__(
        self, total: int, progress: Callable[[int, int], None] | None, cancelled: Callable[[], bool] | None
    ) -> None:
        self._total, self._done = total, 0
        self._progress, self._cancelled = progress, cancelled

    def step(self, done: int = 0) -> None:
        self._done += done
        if self._cancelled is not None and self._cancelled():
            raise Cancelled
        if self._progress is not None:
            self._progress(self._done, self._total)


def _rows(design: Design, sentences: list[str], tally: _Tally) -> Iterator[list[tuple[Site, Base, str | None]]]:
    """Sites of one layout, some at a time."""
    waiting: dict[tuple[object, ...], list[tuple[Site, Base, str | None]]] = {}
    pipes, fans = pipes_tried(design), len(fans_tried(design))
    for base in bases(design):
        tally.step()
        try:
            ground = with_base(design, base)
            sites = lay([with_pipe(ground, pipe) for pipe in pipes])
        except ValueError as refusal:
            sentences.append(f"{_base_words(base)}: {refusal}.")
            tally.step(len(pipes) * fans)
            continue
        for site, pipe in zip(sites, pipes, strict=True):
            group = waiting.setdefault(site.layout, [])
            group.append((site, base, pipe))
            if len(group) == _SIDE_BY_SIDE:
                yield waiting.pop(site.layout)
    yield from waiting.values()


def _base_words(base: Base) -> str:
    parts = [] if base.pit is None else [f"pits of {1e3 * base.pit:g} L"]
    parts += ["one more suction point"] if base.another_point else []
    parts += [] if base.leak_left is None else [f"{100.0 * base.leak_left:g} % of the leakage left"]
    words = ", ".join(parts) or "as drawn"
    return words[0].upper() + words[1:]


# --- judging ----------------------------------------------------------------------------------------------------------


def sound_limit(design: Design) -> tuple[float | None, str]:
    """The limit at the first listener and its source: the search's own, or the one entered there."""
    search, listeners = design.search, design.house.listeners
    if search.sound_limit is not None:
        return search.sound_limit, search.sound_source
    return (listeners[0].limit, listeners[0].limit_source) if listeners else (None, "")


def _judged(
    design: Design, sites: list[tuple[Site, Base, str | None]], hours: Hours | None, tally: _Tally
) -> Iterator[Choice]:
    """Every fan on some sites of one layout."""
    try:
        row = side_by_side([site for site, _, _ in sites])
    except NoConvergence:
        row = None
    before = len(list(design.suction_points()))
    for record in fans_tried(design):
        tally.step()
        fan = fan_of(record, design.arrangement)
        try:
            settings = None if row is None else settings_on(row, fan, record.lowest_speed)
        except NoConvergence:
            settings = None
        numbers = None if row is None or settings is None else _Numbers(design, row, settings, record, fan)
        for w, (site, base, pipe) in enumerate(sites):
            candidate = Candidate(record.name, pipe, base)
            if numbers is None or settings is None or settings.often[w]:
                at = _alone(site, record, hours)
            else:
                at = numbers.of(w)
            yield _choice(site, candidate, record, at, before, hours)
        tally.step(len(sites))


@dataclass(frozen=True)
class _Settled:
    """Where a candidate settles; `speed` not a number where it does not hold."""

    speed: float
    wanted: float
    within: bool
    operating: Crossing | None
    flows: Array
    velocity: float
    weakest: str
    margin: float
    sound: float
    sound_band: float


class _Numbers:
    """What follows from the settings of a fan on a row of sites, worked out for all of them at once."""

    def __init__(self, design: Design, row: Row, settings: Settings, record: FanRecord, fan: Fan) -> None:
        self._settings, self._row = settings, row
        self._holes = design.holes
        self._flow = settings.flows.sum(axis=-1)
        self._lift = fan.extended(self._flow, settings.speed, row.density)
        self._power = fan.power(self._flow, settings.speed, row.density)
        self._velocity = row.velocity(settings.flows)
        self._kept = row.kept(settings.worst_flows)
        self._target = design.target.suction
        self._sound: Array = np.full(self._flow.shape, math.nan)
        self._band = math.nan
        for listener in design.house.listeners[:1]:
            heard = levels_at(design, listener, record, settings.speed, self._flow, row.outlet_area(), row.density)
            if heard is not None:
                self._sound, self._band = heard

    def of(self, w: int) -> _Settled:
        settings = self._settings
        wanted = float(settings.wanted[w])
        kept = self._kept[w]
        weakest = int(np.nanargmin(kept))
        return _Settled(
            speed=float(settings.speed[w]) if wanted <= 1.0 and settings.within[w] else math.nan,
            wanted=wanted,
            within=bool(settings.within[w]),
            operating=Crossing(float(self._flow[w]), float(self._lift[w]), float(self._power[w]), True),
            flows=settings.flows[w],
            velocity=float(self._velocity[w]),
            weakest=self._holes[weakest].name,
            margin=float(kept[weakest]) - self._target,
            sound=float(self._sound[w]),
            sound_band=self._band,
        )


def _alone(site: Site, record: FanRecord, hours: Hours | None) -> _Settled:
    """A candidate solved on its own, where a rising curve meets the system more than once."""
    ready = Prepared(site.design.model_copy(update={"fan": record.name, "speed": 1.0}), hours)
    speed = ready.lowest.sure
    outcome = ready.at(1.0 if speed is None else speed)
    holding, operating = outcome.holding, outcome.operating
    heard = outcome.sound[0] if outcome.sound else None
    return _Settled(
        speed=math.nan if speed is None else speed,
        wanted=math.inf if speed is None else speed,
        within=operating is not None and holding is not None,
        operating=operating,
        flows=np.array([point.flow for point in outcome.points]),
        velocity=outcome.velocity,
        weakest="" if holding is None else holding.weakest or "",
        margin=math.nan if holding is None else holding.margin,
        sound=math.nan if heard is None else heard.level,
        sound_band=math.nan if heard is None else heard.band,
    )


def _choice(
    site: Site, candidate: Candidate, record: FanRecord, at: _Settled, points_before: int, hours: Hours | None
) -> Choice:
    design = site.design
    points = [point for _, point in design.suction_points()]
    cost = first_cost(design, record, points_before)
    holds = not math.isnan(at.speed)
    fan_energy = air_energy = yearly = math.nan
    if holds and at.operating is not None:
        flow = float(at.flows.sum())
        from_floor = None
        if site.house is not None and flow > 0.0:
            from_floor = min(max(float(site.house @ at.flows) / flow, 0.0), 1.0)
        share = share_of(design.house, from_floor)
        year = year_of(design, at.operating, site.assembly.air.density, None, share, hours)
        fan_energy, air_energy, yearly = year.fan_energy, year.house_air_energy, year.cost
    costs = design.search.costs
    factor = float(present_worth_factor(costs.rate, costs.years))

    def known(value: float) -> float:
        return value if holds else math.nan

    return Choice(
        candidate=candidate,
        pipe=pipe_name(design),
        pit_volume=points[0].pit_volume,
        leak_left=1.0 if design.slab is None else design.slab.leak_left,
        joints_left=1.0 if design.slab is None else design.slab.joints_left,
        points=len(points),
        speed=at.speed,
        wanted_speed=at.wanted,
        flow=known(math.nan if at.operating is None else at.operating.flow),
        power=known(math.nan if at.operating is None else at.operating.power),
        velocity=known(at.velocity),
        weakest=at.weakest,
        margin=known(at.margin),
        sound=known(at.sound),
        sound_band=at.sound_band,
        fan_energy=fan_energy,
        house_air_energy=air_energy,
        yearly=yearly,
        cost=cost,
        life_cycle=cost.total + factor * yearly,
        misses=_misses(design, at),
    )


def _misses(design: Design, at: _Settled) -> tuple[tuple[Limit, float], ...]:
    """Limits that are not kept, worst first; how much is a ratio, ten decibels counting as one.

    Where no speed holds, sound and velocity are those at full speed.
    """
    found: list[tuple[Limit, float]] = []
    if math.isfinite(at.wanted) and not at.within:
        found.append(("curve", math.inf))
    elif at.wanted > 1.0:
        found.append(("suction", at.wanted - 1.0))
    loudest = sound_limit(design)[0]
    if loudest is not None and design.house.listeners:
        over = (at.sound + at.sound_band - loudest) / 10.0
        # a fan without a rating is not known to be quiet enough
        if not over <= 0.0:
            found.append(("sound", math.inf if math.isnan(over) else over))
    fastest = design.search.velocity_limit
    if fastest is not None and at.velocity > fastest:
        found.append(("velocity", at.velocity / fastest - 1.0))
    return tuple(sorted(found, key=lambda miss: -miss[1]))


def _rank(choice: Choice) -> tuple[float, ...]:
    """Those that hold first, then the cheapest; of the rest the nearest. What is not known comes last."""
    cost = choice.life_cycle if not math.isnan(choice.life_cycle) else math.inf
    return (len(choice.misses), sum(by for _, by in choice.misses), cost, choice.first)


def frontier(rows: list[Choice]) -> tuple[int, ...]:
    """Positions of the choices that hold and that none undercuts both in first and in yearly cost."""
    holding = [i for i, row in enumerate(rows) if row.holds and not math.isnan(row.yearly)]
    found: list[int] = []
    for i in sorted(holding, key=lambda i: (rows[i].first, rows[i].yearly)):
        if not found or rows[i].yearly < rows[found[-1]].yearly:
            found.append(i)
    return tuple(found)
