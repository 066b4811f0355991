"""One floor: its truth, its visit, what the workbench says of it; and many of them together."""

from __future__ import annotations

import math
import time
from dataclasses import asdict, dataclass, field
from typing import Any

import numpy as np

from tests.coverage.floors import KINDS, draw_floor
from tests.coverage.system import STACK, Running, Scatter, System, fittings_of
from tests.coverage.visit import Visit, can_be_tested, exhausts_of, visited
from workbench.solving import prepare
from workbench.solving.outcome import HoleState, Outcome

SLOW, FAST = 0.5, 0.9
"""Speeds at which holes are compared; flow, house air and worst day at the greater."""
LEAST_FLOW, LEAST_SUCTION = 1e-3, 1.0
"""Nobody lays a fan over a floor from which it draws less [m3/s], or where half of the holes feel less [Pa]."""
_TARGETS = (0.5, 20.0)
"""Between which the suction to keep is drawn, evenly in its logarithm and without looking at the floor. [Pa]"""
_NINE_IN_TEN = 1.645
"""Standard deviations either way that hold nine of ten of a normal variable."""


@dataclass(frozen=True)
class Case:
    """Which floor: all that is random follows from it."""

    seed: int
    kind: str
    points: int
    index: int
    visit: Visit
    pipe: bool = False
    season: bool = False


@dataclass(frozen=True)
class Held:
    """A band beside the truth; what it is of: measured or unmeasured hole at a state, flow, house air."""

    what: str
    low: float
    middle: float
    high: float
    true: float


@dataclass(frozen=True)
class Scored:
    """A floor with its bands, the chance that all holes hold and whether they truly do, and the seconds both took."""

    kind: str
    points: int
    index: int
    bands: tuple[Held, ...] = ()
    chance: float | None = None
    verdict: str = ""
    holds: bool = False
    measured_hold: bool = False
    no_answer: str = ""
    truth_seconds: float = 0.0
    asked_seconds: float = 0.0


def score(case: Case) -> Scored:
    """Draw a floor, visit it, ask the workbench and compare."""
    start = time.perf_counter()
    rng = np.random.default_rng([case.seed, sorted(KINDS).index(case.kind), case.points, case.index])
    while True:
        floor = draw_floor(rng, KINDS[case.kind], case.points)
        system = System(floor, _scatter(rng, case))
        fast = system.at(FAST, 0.0)
        if can_be_tested(floor) and _worth_a_fan(fast):
            break
    slow = system.at(SLOW, 0.0)
    worst = system.at(FAST, exhausts_of(case.visit) + STACK * system.scatter.stack)
    low, high = np.log(_TARGETS)
    target = float(np.exp(rng.uniform(low, high)))
    design = visited(rng, floor, case.visit, target)
    truth_seconds = time.perf_counter() - start

    told = Scored(
        case.kind,
        case.points,
        case.index,
        holds=bool(np.all(worst.holes >= target)),
        measured_hold=bool(np.all(worst.holes[: floor.read] >= target)),
    )
    start = time.perf_counter()
    try:
        prepared = prepare(design)
        outcomes = [prepared.at(speed) for speed in (SLOW, FAST)]
    except (ValueError, ArithmeticError) as fault:
        return _with(told, no_answer=f"{type(fault).__name__}: {fault}", truth_seconds=truth_seconds)
    seconds = {"truth_seconds": truth_seconds, "asked_seconds": time.perf_counter() - start}
    holdings = [outcome.holding for outcome in outcomes]
    if holdings[0] is None or holdings[1] is None:
        return _with(told, no_answer="nothing said of the holes", **seconds)
    bands: list[Held] = []
    for h, (at_slow, at_fast) in enumerate(zip(holdings[0].holes, holdings[1].holes, strict=True)):
        kind = "measured" if h < floor.read else "unmeasured"
        bands.append(_on_the_day(f"{kind} {SLOW}", at_slow, slow.holes[h]))
        bands.append(_on_the_day(f"{kind} {FAST}", at_fast, fast.holes[h]))
        edges = at_fast.worst_band
        bands.append(Held(f"{kind} worst", edges[0], at_fast.worst, edges[1], float(worst.holes[h])))
    bands.extend(_of_the_whole(outcomes[1], float(fast.flows.sum()), fast.house_share))
    if holdings[1].chance is None:
        told = _with(told, no_answer="no chance")
    return _with(told, bands=tuple(bands), chance=holdings[1].chance, verdict=holdings[1].verdict, **seconds)


def _worth_a_fan(running: Running) -> bool:
    return bool(running.flows.sum() >= LEAST_FLOW and np.median(running.holes) >= LEAST_SUCTION)


def _with(scored: Scored, **fields: Any) -> Scored:
    own = {name: getattr(scored, name) for name in Scored.__dataclass_fields__}
    return Scored(**(own | fields))


def _scatter(rng: np.random.Generator, case: Case) -> Scatter:
    """Pipe within the bands of the design's defaults (Brodhead and Saum, AARST 1996), nine in ten.

    The fan's speed by 5 % likewise. The stack by 30 %, one standard deviation: so far lay 31 % of the winter readings
    of a house, for the wind (US EPA research house, Indianapolis, 2011 to 2012).
    """
    friction, fan, stack, *fittings = rng.normal(size=3 + fittings_of(case.points))
    low, high = math.log(0.47), math.log(2.09)
    return Scatter(
        friction=0.885 + 0.115 / _NINE_IN_TEN * friction if case.pipe else 1.0,
        fittings=np.exp(0.5 * (low + high + (high - low) / _NINE_IN_TEN * np.array(fittings))) if case.pipe else 1.0,
        fan=1.0 + 0.05 / _NINE_IN_TEN * fan if case.pipe else 1.0,
        stack=max(1.0 + 0.3 * stack, 0.0) if case.season else 1.0,
    )


def _on_the_day(what: str, state: HoleState, true: float) -> Held:
    return Held(what, state.band[0], state.suction, state.band[1], float(true))


def _of_the_whole(outcome: Outcome, flow: float, share: float) -> list[Held]:
    found = []
    if outcome.operating is not None and outcome.band is not None:
        found.append(Held("flow", min(outcome.band), outcome.operating.flow, max(outcome.band), flow))
    year = outcome.year
    if year is not None:
        low, high = share_band(year)
        found.append(Held("house share", low, year.house_air_share, high, share))
    return found


def share_band(year: Any) -> tuple[float, float]:
    """Band of the share of house air; where none is said, by the band of its heat, which holds that of the flow too."""
    if hasattr(year, "share_band"):
        return year.share_band  # type: ignore[no-any-return]
    if year.heat_energy <= 0.0:
        return math.nan, math.nan
    return tuple(year.house_air_share * edge / year.heat_energy for edge in year.heat_band)  # type: ignore[return-value]


@dataclass
class Tally:
    """Many bands of one kind: how many held, how many lie wholly above the truth (the unsafe side) and below it."""

    count: int = 0
    held: int = 0
    truth_below: int = 0
    truth_above: int = 0
    widths: list[float] = field(default_factory=list)
    offsets: list[float] = field(default_factory=list)

    def add(self, band: Held) -> None:
        """Count one; a band that is not a number holds nothing."""
        self.count += 1
        self.held += band.low <= band.true <= band.high
        self.truth_below += band.true < band.low
        self.truth_above += band.true > band.high
        if band.low > 0.0:
            self.widths.append(band.high / band.low)
        if band.true > 0.0 and band.middle > 0.0:
            self.offsets.append(math.log(band.middle / band.true))

    def row(self) -> dict[str, float]:
        """Shares, median width high over low, median of the middle over the truth."""
        n = max(self.count, 1)
        return {
            "count": self.count,
            "held": self.held / n,
            "truth_below": self.truth_below / n,
            "truth_above": self.truth_above / n,
            "width": float(np.median(self.widths)) if self.widths else math.nan,
            "middle_over_true": math.exp(float(np.median(self.offsets))) if self.offsets else math.nan,
        }


def summary(rows: list[Scored]) -> dict[str, Any]:
    """Every kind of band of some floors tallied, and chances beside what came true."""
    tallies: dict[str, Tally] = {}
    by_floor: dict[str, list[float]] = {}
    for row in rows:
        own: dict[str, Tally] = {}
        for band in row.bands:
            tallies.setdefault(band.what, Tally()).add(band)
            own.setdefault(band.what, Tally()).add(band)
        for what, tally in own.items():
            by_floor.setdefault(what, []).append(tally.held / tally.count)
    # holes of one floor share its faults, so the error of a share is that of the floors'
    errors = {
        what: float(np.std(shares, ddof=1) / math.sqrt(len(shares)))
        for what, shares in by_floor.items()
        if len(shares) > 1
    }
    said = [row for row in rows if row.chance is not None]
    sure = [row for row in rows if row.verdict == "holds"]
    return {
        "kind": rows[0].kind,
        "points": rows[0].points,
        "floors": len(rows),
        "no_answer": sum(bool(row.no_answer) for row in rows),
        "bands": {what: tally.row() | {"error": errors.get(what)} for what, tally in sorted(tallies.items())},
        "mean_chance": float(np.mean([row.chance for row in said])) if said else math.nan,
        "came_true": float(np.mean([row.holds for row in said])) if said else math.nan,
        "said_holds": len(sure),
        "said_holds_but_fails": sum(not row.holds for row in sure),
        "said_holds_but_measured_fails": sum(not row.measured_hold for row in sure),
        "truth_seconds": float(np.mean([row.truth_seconds for row in rows])),
        "asked_seconds": float(np.mean([row.asked_seconds for row in rows])),
    }


def plain(row: Scored) -> dict[str, Any]:
    """A floor as a dictionary of plain values."""
    return asdict(row)


def known(value: Any) -> Any:
    """Plain values as JSON holds them, with None for what is not a number."""
    if isinstance(value, dict):
        return {name: known(part) for name, part in value.items()}
    if isinstance(value, list | tuple):
        return [known(part) for part in value]
    return None if isinstance(value, float) and math.isnan(value) else value
