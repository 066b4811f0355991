"""Fans by pipes by pits by sealing by points: each at its own lowest speed that holds, ranked by cost of owning."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from workbench.design.design import Design
from workbench.design.job import Job
from workbench.design.record import with_value
from workbench.design.wording import Wording, name
from workbench.physics.energy import present_worth_factor
from workbench.solving.choices.batch import SampledSite, lay_out
from workbench.solving.choices.batch_result import Settled, in_a_row, settle
from workbench.solving.choices.variants import (
    Base,
    Candidate,
    FirstCost,
    bases,
    building_cost,
    built,
    fans_tried,
    left_out,
    pipe_name,
    pipes_tried,
    refuse_unsearchable,
    with_base,
    with_fan,
    with_pipe,
)
from workbench.solving.choices.worth import Worth, worths
from workbench.solving.later.prepared import learned_of
from workbench.solving.outcome import Verdict, write_si
from workbench.solving.run.yearly import Hours
from workbench.solving.site.learned import Learned

Limit = Literal["suction", "curve", "sound", "velocity"]

LIMITS: dict[Limit, str] = {
    "suction": "the suction at the weakest hole",
    "curve": "the end of the fan's curve",
    "sound": "the sound at the first listener",
    "velocity": "the velocity of the air",
}

Tried = tuple[SampledSite, Base, str | None]
"""A site with what was changed to make it: its ground and its pipe."""

_SIDE_BY_SIDE = 24
"""Sites solved at once: enough to outweigh the calls, few enough to stay near the processor."""


_NOT_LEARNED = (
    "With one more suction point the floor is another: what the visit taught of the ground is left out there."
)


class Cancelled(Exception):
    """The search was called off."""


class Choice(Struct, frozen=True):
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
    verdict : Verdict
        Whether every limit is kept. `not measured` where the suction is an estimate, since none was read at a hole;
        `unsure` where full speed keeps it by the middle of the bands, but not at the chance asked for.
    unshown : tuple of str
        Names of the holes whose readings bear out no verdict.
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
    verdict: Verdict
    unshown: tuple[str, ...]

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
        """Whether every limit is kept, as readings bear out."""
        return self.verdict == "holds"

    @property
    def keeps(self) -> bool:
        """Whether every limit is kept, be it only by an estimate."""
        return not self.misses

    @property
    def binds(self) -> Limit | None:
        """The limit that is missed the most; None where all are kept."""
        return self.misses[0][0] if self.misses else None


class Choices(Struct, frozen=True):
    """All that was tried, those that hold first and the cheapest to own first among them.

    `frontier` are the positions, by rising first cost, of those that keep every limit and that no other undercuts both
    in first and in yearly cost. `left_out` are sentences about what could not be tried, `worths` what one more step
    from the best is worth.
    """

    design: Design
    hours: Hours | None
    rows: tuple[Choice, ...]
    frontier: tuple[int, ...]
    left_out: tuple[Wording, ...]
    sound_limit: float | None
    worths: tuple[Worth, ...]

    @property
    def best(self) -> Choice | None:
        """The cheapest to own of those that hold."""
        return self.rows[0] if self.rows and self.rows[0].holds else None

    @property
    def estimated(self) -> Choice | None:
        """Where a hole was not read, the cheapest to own of those that keep every limit by the estimate."""
        return self.rows[0] if self.rows and self.rows[0].keeps and not self.rows[0].holds else None

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


def essence(design: Design) -> Design:
    """A design without what a search does not hang on: its words, the fan chosen and the speed it is set to."""
    return design.model_copy(update={"title": "", "note": "", "job": Job(), "fan": None, "speed": 1.0})


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
    if design.corrected_by is not None and any(base.another_point for base in bases(design)):
        sentences.append(Wording(_NOT_LEARNED))
    found: list[Choice] = []
    learned = learned_of(design)
    for sites in _rows(design, learned, sentences, tally):
        found += _judged(design, sites, hours, tally)
    if not found:
        said = (sentence.text(write_si) for sentence in sentences)
        raise ValueError(" ".join(["Nothing could be tried.", *said]))
    found.sort(key=_rank)
    tally.step()
    steps = worths(design_of(found[0], design), hours, learned) if found[0].keeps else ()
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


def _rows(design: Design, learned: Learned | None, sentences: list[Wording], tally: _Tally) -> Iterator[list[Tried]]:
    """Sites of one layout, some at a time."""
    waiting: dict[tuple[object, ...], list[Tried]] = {}
    pipes, fans = pipes_tried(design), len(fans_tried(design))
    for base in bases(design):
        tally.step()
        try:
            ground = with_base(design, base)
            sites = lay_out([with_pipe(ground, pipe) for pipe in pipes], learned)
        except ValueError as refusal:
            sentences.append(_base_words(base).then(": {0}.", name(str(refusal))))
            tally.step(len(pipes) * fans)
            continue
        for site, pipe in zip(sites, pipes, strict=True):
            group = waiting.setdefault(site.layout, [])
            group.append((site, base, pipe))
            if len(group) == _SIDE_BY_SIDE:
                yield waiting.pop(site.layout)
    yield from waiting.values()


def _base_words(base: Base) -> Wording:
    parts = [] if base.pit is None else [Wording("pits of {0}", ((base.pit, "volume"),))]
    parts += [Wording("one more suction point")] if base.another_point else []
    parts += [] if base.leak_left is None else [Wording("{0} of the leakage left", ((base.leak_left, "fraction"),))]
    if not parts:
        return Wording("As drawn")
    words = parts[0]
    for part in parts[1:]:
        words = words.then(", ").joined(part)
    # a place for a number has no capital
    return replace(words, template=words.template[0].upper() + words.template[1:])


# --- judging ----------------------------------------------------------------------------------------------------------


def sound_limit(design: Design) -> tuple[float | None, str]:
    """The limit at the first listener and its source: the search's own, or the one entered there."""
    search, listeners = design.search, design.house.listeners
    if search.sound_limit is not None:
        return search.sound_limit, search.sound_source
    return (listeners[0].limit, listeners[0].limit_source) if listeners else (None, "")


def _judged(design: Design, sites: list[Tried], hours: Hours | None, tally: _Tally) -> Iterator[Choice]:
    """Every fan on some sites of one layout."""
    laid = [site for site, _, _ in sites]
    row = in_a_row(laid)
    before, costs = len(list(design.suction_points())), design.search.costs
    factor = float(present_worth_factor(costs.rate, costs.years))
    building = [building_cost(site.design, before) for site in laid]
    for record in fans_tried(design):
        tally.step()
        for w, at in enumerate(settle(laid, row, record, hours)):
            site, base, pipe = sites[w]
            borne_out = zip(site.design.holes, site.assembly.floor.borne_out, strict=True)
            unshown = tuple(hole.name for hole, known in borne_out if not known)
            candidate = Candidate(record.name, pipe, base)
            yield _choice(site.design, candidate, at, with_fan(building[w], design, record), factor, unshown)
        tally.step(len(sites))


def _choice(
    design: Design, candidate: Candidate, at: Settled, cost: FirstCost, factor: float, unshown: tuple[str, ...]
) -> Choice:
    holds, slab, year = not math.isnan(at.speed), design.slab, at.year
    points = [point for _, point in design.suction_points()]
    yearly = math.nan if year is None else year.cost
    misses = _misses(design, at)

    def known(value: float) -> float:
        return value if holds else math.nan

    return Choice(
        candidate=candidate,
        pipe=pipe_name(design),
        pit_volume=points[0].pit_volume,
        leak_left=1.0 if slab is None else slab.leak_left,
        joints_left=1.0 if slab is None else slab.joints_left,
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
        fan_energy=math.nan if year is None else year.fan_energy,
        house_air_energy=math.nan if year is None else year.house_air_energy,
        yearly=yearly,
        cost=cost,
        life_cycle=cost.total + factor * yearly,
        misses=misses,
        verdict=_verdict(design, at, misses, unshown),
        unshown=unshown,
    )


def _verdict(design: Design, at: Settled, misses: tuple[tuple[Limit, float], ...], unshown: tuple[str, ...]) -> Verdict:
    if any(limit != "suction" for limit, _ in misses):
        return "fails"
    if not all(hole.readings for hole in design.holes):
        return "not measured"
    if not misses:
        return "not measured" if unshown else "holds"
    return "unsure" if at.margin >= 0.0 else "fails"


def _misses(design: Design, at: Settled) -> tuple[tuple[Limit, float], ...]:
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
    """Positions of the choices that keep every limit and that none undercuts both in first and in yearly cost."""
    holding = [i for i, row in enumerate(rows) if row.keeps and not math.isnan(row.yearly)]
    found: list[int] = []
    for i in sorted(holding, key=lambda i: (rows[i].first, rows[i].yearly)):
        if not found or rows[i].yearly < rows[found[-1]].yearly:
            found.append(i)
    return tuple(found)
