"""What follows from a design at one speed. SI; suctions are positive, Pa below the room."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Literal, NamedTuple

from msgspec import Struct

from workbench.design.apportion import rounded_parts
from workbench.design.record import Address, pointer
from workbench.design.wording import Value, Wording, Write, counted
from workbench.physics.sound import HARDLY_AUDIBLE, told_level
from workbench.solving.frame import COLUMNS, Table, frame
from workbench.solving.site.draws import REST_SAMPLES
from workbench.solving.site.fit import Varied

if TYPE_CHECKING:
    from pandas import DataFrame

ShareSource = Literal["entered", "prior", "exhaust test"]
"""What a share of house air rests on: a figure somebody entered, nothing that was measured, or an exhaust test."""

Verdict = Literal["holds", "fails", "unsure", "not measured"]
"""`not measured`: it would rest on what nobody read, whatever an estimate says."""


class Crossing(Struct, frozen=True):
    """A flow at which the fan gives just what pipe and ground ask.

    `stable` where the fan's curve falls more steeply than the system's: a small disturbance dies out.
    """

    flow: float
    fan_pressure: float
    power: float
    stable: bool


class PointState(Struct, frozen=True):
    """A suction point at the operating point: flow [m3/s] and suction left in its pit [Pa]."""

    name: str
    address: Address
    flow: float
    suction: float


class RunState(Struct, frozen=True):
    """A run at the operating point.

    `suction` is static, at the end nearer the fan, against room air at that height, as a gauge tapped there reads
    (negative in the discharge: above the room). `loss` is friction and fittings together. [m3/s, m/s, Pa]
    """

    name: str
    address: Address
    flow: float
    velocity: float
    loss: float
    suction: float


class Loss(Struct, frozen=True):
    """One part's share of the fan's pressure.

    `drop` is what the air loses in passing the part; `pressure` is the drop weighted with the share of all air
    that passes it, so that over all parts `pressure` adds up to the fan's pressure. Draft that helps is negative. [Pa]
    """

    part: str
    kind: str
    address: Address | None
    pressure: float
    drop: float
    flow: float


class SoundAt(Struct, frozen=True):
    """A-weighted level at a place and how far it may be off either way [dB].

    `spectrum` is by octave from 63 Hz to 8 kHz, `parts` the level of each source alone; `limit` is the user's.
    """

    place: str
    level: float
    band: float
    limit: float | None = None
    limit_source: str = ""
    spectrum: tuple[float, ...] = ()
    parts: tuple[tuple[str, float], ...] = ()

    @property
    def hardly_audible(self) -> bool:
        """Whether the level is told in words alone, without a figure or a band."""
        return self.level < HARDLY_AUDIBLE

    @property
    def verdict(self) -> Verdict | None:
        """Against the limit, a level within its band of it being unsure; None without a limit."""
        if self.limit is None:
            return None
        if self.level + self.band <= self.limit:
            return "holds"
        return "fails" if self.level > self.limit else "unsure"


class Year(Struct, frozen=True):
    """A year of running at this speed. Bought energy in kWh, money in the currency of the prices, CO2 in kg or None.

    `house_air_share` is the part of the exhaust that is house air, with its band, `share_source` what it rests on, and
    `house_air` the flow of it [m3/s]. `added_air` [m3/s] is what it adds to the air that the house loses anyway, and
    that alone costs heat and cooling; its band is that of the rules that tell it, wide where the leakage of the house
    is not known. The other bands hold what flow, share and the added part may be off; the fan's own power has none.
    """

    fan_energy: float
    fan_cost: float
    heat_energy: float
    cooling_energy: float
    house_air_cost: float
    house_air_share: float
    share_band: tuple[float, float]
    share_source: ShareSource
    cost_band: tuple[float, float]
    currency: str
    co2: float | None
    hourly: bool
    house_air: float
    added_air: float
    added_air_band: tuple[float, float]
    leakage_known: bool
    heat_band: tuple[float, float]
    cooling_band: tuple[float, float]
    co2_band: tuple[float, float] | None

    @property
    def house_air_energy(self) -> float:
        """Heat and cooling bought for what the exhaust adds to the air that the house loses. [kWh]"""
        return self.heat_energy + self.cooling_energy

    @property
    def cost(self) -> float:
        """Electricity, heating and cooling together."""
        return self.fan_cost + self.house_air_cost

    @property
    def cost_told(self) -> tuple[float, float, float]:
        """Fan, house air and both together in whole units of money: as shown, the parts add up to the whole."""
        # what the house loses is known least: it takes what rounding leaves
        fan, air = rounded_parts((self.fan_cost, self.house_air_cost), 0, widths=(0.0, self.house_air_cost))
        return fan, air, self.cost if math.isnan(self.cost) else float(round(self.cost))


class SealedCrack(Struct, frozen=True):
    """A crack: air it lets through while the fan runs [m3/s], and what sealing it saves a year [kWh, money].

    `money_band` holds how much of that air the house would lose anyway, not what the width may be off.
    """

    name: str
    flow: float
    energy: float
    money: float
    money_band: tuple[float, float]


class HoleState(Struct, frozen=True):
    """A test hole at one speed: the reading to expect, and what is left on the worst day, with their 90 % bands.

    Attributes
    ----------
    name : str
    address : tuple
        Where the hole stands in the design.
    known : bool
        False where nothing was read at the hole and no plan tells; all that follows is then NaN.
    measured : bool
        Whether the hole was read; without, what is told is an estimate and no verdict rests on it.
    shown : bool
        Whether a reading stands out from nothing and agrees with the others: else it can show that a hole fails, never
        that it holds.
    suction, worst : float
        On the day and on the worst day, positive below the room. [Pa]
    band, worst_band : tuple of float, shape (2,)
        Low and high of them; NaN where they could not be drawn. [Pa]
    """

    name: str
    address: Address
    known: bool
    measured: bool
    suction: float
    band: tuple[float, float]
    worst: float
    worst_band: tuple[float, float]
    shown: bool = True

    def __repr__(self) -> str:
        if not self.known:
            return f"<HoleState {self.name!r}: not known>"
        (low, high), read = self.worst_band, "read" if self.measured else "an estimate"
        worst = f"worst day {self.worst:.4g} Pa ({low:.4g} to {high:.4g})"
        return f"<HoleState {self.name!r}: {self.suction:.4g} Pa, {worst}, {read}>"

    def verdict(self, target: float) -> Verdict:
        """Whether this hole alone keeps a target [Pa] on the worst day: surely, surely not, or within its band."""
        if not (self.known and self.measured):
            return "not measured"
        low, high = self.worst_band
        if low >= target:
            return "holds" if self.shown else "not measured"
        return "fails" if high < target else "unsure"


UnmeasuredKind = Literal[
    "test holes", "worst day", "hole", "suction", "agreement", "ground", "draw-down", "share at holes"
]


class Unmeasured(NamedTuple):
    """What a verdict rests on that nobody measured; `subject` is the name of the hole or point.

    Any test hole at all, what the fan meets on the worst day, a hole, suction at a hole that stands out from nothing,
    readings at a hole or point that agree with the others, the ground at a point, the house's draw-down by exhausts, or
    how much of it reaches the holes.
    """

    kind: UnmeasuredKind
    subject: str = ""


class Holding(Struct, frozen=True):
    """Whether every hole keeps its target on the worst day.

    Attributes
    ----------
    holes : tuple of HoleState
        In the order of the design.
    target : float
        Suction that every hole is to keep. [Pa]
    wanted_chance : float
        Asked for, 0 to 1.
    weakest : str or None
        Name of the hole that keeps least; None where none is known.
    margin : float
        What the weakest keeps beyond the target, negative where it misses it. [Pa]
    chance, chance_read : float or None
        That all known holes hold, and that those do that were read, 0 to 1; None where none was read or it could not
        be drawn.
    weights : tuple of (Varied, float)
        What the weakest hole hangs on, largest share of the variance (0 to 1) first; told at rest only.
    unmeasured : tuple of Unmeasured
        What nobody measured.
    """

    holes: tuple[HoleState, ...]
    target: float
    wanted_chance: float
    weakest: str | None
    margin: float
    chance: float | None
    chance_read: float | None
    weights: tuple[tuple[Varied, float], ...]
    unmeasured: tuple[Unmeasured, ...]

    def __repr__(self) -> str:
        weakest = "" if self.weakest is None else f", weakest {self.weakest!r} by {self.margin:+.4g} Pa"
        chance = "not known" if self.chance is None else f"{self.chance:.3g} of {self.wanted_chance:g} asked"
        asked = f"{counted(len(self.holes), 'hole')} to keep {self.target:g} Pa"
        return f"<Holding {self.verdict}: {asked}{weakest}, chance {chance}>"

    @property
    def verdict(self) -> Verdict:
        """A verdict rests on readings, and a pass within its band is no pass.

        Holds when suction was read at every hole and the chance is as high as was asked; fails when those that were
        read do, by the chance and by the best estimate; not measured when nothing was read, or only a hole where
        nothing, no suction or what the other readings contradict was read stands between the design and holding.
        """
        if not any(hole.measured and hole.known for hole in self.holes):
            return "not measured"
        if self.chance is None or self.chance_read is None:
            return "unsure"
        read = [hole.worst for hole in self.holes if hole.measured and hole.known]
        if self.chance_read <= 1.0 - self.wanted_chance and min(read) < self.target:
            return "fails"
        if self.chance_read >= self.wanted_chance and min(read) >= self.target:
            every = all(hole.measured and hole.known and hole.shown for hole in self.holes)
            return "holds" if every else "not measured"
        return "unsure"


_SYMBOLS = {
    "flow": " m3/s",
    "pressure": " Pa",
    "hole_pressure": " Pa",
    "velocity": " m/s",
    "volume": " m3",
    "length": " m",
    "temperature": " K",
    "level": " dB(A)",
    "heard": " dB(A)",
    "level_difference": " dB",
}


def write_si(value: float, dimension: str) -> str:
    """A number in a sentence, in SI."""
    text = f"{value:.4g}{_SYMBOLS.get(dimension, '')}"
    return told_level(value, text) if dimension == "heard" else text


class Notice(Struct, frozen=True):
    """Something the user should know: a code, a sentence, and the part it concerns.

    `sentence` holds {0}, {1}... where `values` belong, each a number in SI with its dimension, or a name that somebody
    entered; the edge writes them in the units of the reader. `str` of it is the sentence in SI.
    """

    code: str
    sentence: str
    address: Address | None = None
    values: tuple[Value, ...] = ()

    def text(self, write: Write) -> str:
        """The sentence with its values written by `write(value, dimension)`."""
        return Wording(self.sentence, self.values).text(write)

    def __str__(self) -> str:
        return self.text(write_si)


class Outcome(Struct, frozen=True):
    """The answer at one speed.

    Attributes
    ----------
    speed : float
        Fraction of full speed.
    crossings : tuple of Crossing
        All of fan and system, flow rising. [m3/s, Pa, W]
    operating : Crossing or None
        The stable crossing that a fan reaches from standstill, which is the one of least flow; None where there is
        none, with the reason among `notices`. What follows from it is then empty, None or 0.
    band : tuple of float, shape (2,), or None
        Flow at the crossings with the lower and upper edge of the system curve's band. [m3/s]
    velocity : float
        Of the air in the run where it moves fastest. [m/s]
    gauge : float
        Suction that a gauge reads on the riser just before the fan. [Pa]
    gauge_band : tuple of float, shape (2,), or None
        What it reads at the ends of `band`, the fan being on its curve. [Pa]
    points : tuple of PointState
        Flow and suction in the pit of each suction point. [m3/s, Pa]
    runs : tuple of RunState
        Flow, velocity, loss and static suction of each run. [m3/s, m/s, Pa]
    losses : tuple of Loss
        Where the fan's pressure goes, part by part. [Pa]
    sound : tuple of SoundAt
        A-weighted, at each listener. [dB]
    year : Year or None
        Energy [kWh], money in the currency of the prices, CO2 [kg].
    worst_flows : tuple of float, or None
        Flows of the points on the worst day; None where the fan then meets nothing. [m3/s]
    holding : Holding or None
        Whether every hole keeps its target; None without holes, or where the fan meets nothing on the worst day.
    notices : tuple of Notice
        What the user should know, the weightiest first.
    samples : int
        How many possible sites the bands of holes and the chance rest on.
    """

    speed: float
    crossings: tuple[Crossing, ...]
    operating: Crossing | None
    band: tuple[float, float] | None
    velocity: float
    gauge: float
    gauge_band: tuple[float, float] | None
    points: tuple[PointState, ...]
    runs: tuple[RunState, ...]
    losses: tuple[Loss, ...]
    sound: tuple[SoundAt, ...]
    year: Year | None
    worst_flows: tuple[float, ...] | None
    holding: Holding | None
    notices: tuple[Notice, ...]
    samples: int

    @property
    def verdict(self) -> Verdict:
        """Whether the design holds: one word, everywhere. Without holes or an answer there is no verdict but that."""
        return "not measured" if self.holding is None else self.holding.verdict

    def to_frame(self, what: Table = "summary") -> DataFrame:
        """A table of this answer for pandas, units in the names of the columns, those of the answer for JSON.

        Parameters
        ----------
        what
            `summary` (one row), or a row each of `points`, `runs`, `holes`, `losses` or `notices`.

        Returns
        -------
        pandas.DataFrame
            Its first column is the speed, so that tables of several speeds can be put under one another. Text, floats
            (NaN where nothing is known) and truths; columns and their kinds are the same for every answer.

        Raises
        ------
        ValueError
            For a table that does not exist.
        """
        if what not in COLUMNS:
            raise ValueError(f"there is no table called '{what}'; there are {', '.join(COLUMNS)}")
        return frame(what, self.speed, self._rows(what))

    def _rows(self, what: Table) -> Iterator[tuple[object, ...]]:
        held, met = self.holding, self.operating
        match what:
            case "summary":
                ran = (None, None, None) if met is None else (met.flow, met.fan_pressure, met.power)
                air = (None, None) if met is None else (self.velocity, self.gauge)
                kept = (None, None, None) if held is None else (held.weakest, held.margin, held.chance)
                yield (*ran, *air, self.verdict, *kept)
            case "points":
                yield from ((p.name, p.flow, p.suction) for p in self.points)
            case "runs":
                yield from ((r.name, r.flow, r.velocity, r.loss, r.suction) for r in self.runs)
            case "holes" if held is not None:
                for hole in held.holes:
                    verdict = hole.verdict(held.target)
                    yield (hole.name, verdict, hole.measured, hole.suction, *hole.band, hole.worst, *hole.worst_band)
            case "losses":
                yield from ((x.part, x.kind, x.drop, x.pressure, x.flow) for x in self.losses)
            case "notices":
                yield from ((n.code, str(n), None if n.address is None else pointer(n.address)) for n in self.notices)

    def __repr__(self) -> str:
        met = self.operating
        found = "no operating point" if met is None else f"{met.flow:.4g} m3/s at {met.fan_pressure:.4g} Pa"
        return f"<Outcome at speed {self.speed:g}: {found}; {self.verdict}; {counted(len(self.notices), 'notice')}>"

    @property
    def rested(self) -> bool:
        """Whether bands and chance rest on every sample, as where a hand rests."""
        return self.samples >= REST_SAMPLES
