"""What was read in the house on one day: at the diagnostic test, at the start-up and whenever somebody came back.

Errors without a source are judgements of what one reading in the field is off by, one standard deviation.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date
from typing import Literal

from pydantic import Field, model_validator

from workbench.design.faults import Fault, FaultsBetween
from workbench.design.job import RadonTest
from workbench.design.record import Record, choice, quantity, several, text
from workbench.physics.flow_meters import FlowMethod, density_factor

MARK = 0.2
"""How far a gauge may move from its mark before somebody is called (ANSI/AARST CCAH 2020, advice), where the rule sheet
of a design does not say."""

VisitKind = Literal["diagnostic", "start-up", "yearly check", "call-out"]


def _accuracy(share: float) -> float:
    title, help = "Accuracy of the instrument", "Of the reading, one standard error."
    return quantity(title, "fraction", ge=0.0, le=0.5, default=share, help=help)  # type: ignore[no-any-return]


def _least(value: float, dimension: str) -> float:
    title, help = "Least it tells", "Resolution, drift and wind, one standard error."
    return quantity(title, dimension, gt=0.0, le=500.0, default=value, help=help)  # type: ignore[no-any-return]


class Conditions(Record):
    """The state that the readings of a visit were taken in."""

    fan: Literal["running", "off"] = choice(
        "Fan", default="running", help="Off where it was stopped on purpose; a fan that should run and does not, runs."
    )
    speed: float | None = quantity(
        "Speed it is set to", "speed", gt=0.0, le=1.0, default=None, help="Left empty: the design's."
    )
    exhausts: Literal["on", "off"] = choice("House exhausts", default="off")
    outdoor_temperature: float | None = quantity("Outdoor air", "temperature", ge=213.15, le=330.0, default=None)
    indoor_temperature: float | None = quantity("Indoor air", "temperature", ge=263.15, le=320.0, default=None)


class GaugeReading(Record):
    """The system's own gauge, and where it is tapped on."""

    pressure: float = quantity(
        "System gauge", "pressure", ge=-60000.0, le=60000.0, help="Below the room; past the fan above it."
    )
    run: str | None = text(
        "Tapped on the run", least=1, default=None, help="At its end nearer the fan. Left empty: next to the fan."
    )
    side: Literal["suction", "pressure"] = choice("Side of the fan", default="suction")
    accuracy: float = _accuracy(0.02)
    resolution: float = _least(3.0, "pressure")


class SecondReading(Record):
    """Another gauge at the same tap."""

    pressure: float = quantity("Second gauge, same tap", "pressure", ge=-60000.0, le=60000.0)
    accuracy: float = _accuracy(0.015)
    resolution: float = _least(1.0, "pressure")


class FlowReading(Record):
    """Airflow in the riser before the fan."""

    flow: float = quantity("Airflow before the fan", "flow", ge=0.0, le=5.0, help="As the instrument shows it.")
    method: FlowMethod = choice("Measured by", default="pitot traverse")
    factor: float = quantity(
        "Calibration factor", "ratio", ge=0.2, le=5.0, default=1.0, help="True flow over the one shown."
    )
    air: Literal["as it is", "standard air"] = choice(
        "Shown for",
        default="as it is",
        help="Standard air where the instrument takes the air for 1.204 kg/m³; the reading is converted then.",
    )
    accuracy: float = _accuracy(0.07)
    resolution: float = quantity(
        "Least it tells", "flow", gt=0.0, le=0.5, default=0.0005, help="One standard error; 2 m³/h is a judgment."
    )

    def true_flow(self, density: float) -> float:
        """What is shown, calibrated, in air of a density [kg/m3] in the pipe. [m3/s]"""
        shown = self.flow * self.factor
        return shown * density_factor(self.method, density) if self.air == "standard air" else shown


class PowerReading(Record):
    """What the fan draws."""

    power: float = quantity("Power", "power", ge=0.0, le=20000.0)
    accuracy: float = _accuracy(0.02)
    resolution: float = _least(0.5, "power")


class RiserReading(Record):
    """Suction in the riser of one point, just above the slab."""

    point: str = text("Suction point", least=1)
    suction: float = quantity("Suction just above the slab", "pressure", ge=-1000.0, le=60000.0)
    accuracy: float = _accuracy(0.03)
    resolution: float = _least(2.0, "pressure")


class HoleCheck(Record):
    """Suction at one test hole."""

    hole: str = text("Test hole", least=1)
    suction: float = quantity("Suction at the hole", "hole_pressure", ge=-1000.0, le=60000.0)
    accuracy: float = _accuracy(0.07)
    resolution: float = _least(0.3, "hole_pressure")


class OutletReading(Record):
    """Pressure in the pipe just past the fan."""

    pressure: float = quantity("Pressure past the fan", "pressure", ge=-1000.0, le=60000.0, help="Above the room.")
    accuracy: float = _accuracy(0.03)
    resolution: float = _least(2.0, "pressure")


class RoomReading(Record):
    """How far the room lies below outdoors at the slab."""

    draw_down: float = quantity("Room below outdoors", "hole_pressure", ge=-100.0, le=100.0)
    accuracy: float = _accuracy(0.05)
    resolution: float = _least(0.5, "hole_pressure")


class SoundReading(Record):
    """Level at one noise location."""

    place: str = text("Noise location", least=1)
    level: float = quantity("Sound", "level", ge=0.0, le=130.0)
    resolution: float = quantity(
        "Least it tells", "level_difference", gt=0.0, le=20.0, default=2.0, help="One standard error."
    )


class RadonResult(RadonTest):
    """A radon test that a visit placed or took up, its result as a number beside what the report says."""

    ended: str = text("Taken up", default="", help="Date at which the device was taken up.")
    level: float | None = quantity("Radon", "radon", ge=0.0, le=1e7, default=None, help="Mean of the test.")
    uncertainty: float | None = quantity(
        "Uncertainty", "fraction", ge=0.0, le=2.0, default=None, help="Of the result, as the report states it."
    )


class Visit(Record):
    """One visit and what was read; whatever was not read is left empty."""

    kind: VisitKind = choice("Kind of visit", default="yearly check")
    date: str = text("Date", least=1, help="Year-month-day, 2026-11-30.")
    order: int = Field(
        default=1, title="Order on that day", description="Tells two like visits of one day apart.", ge=1, le=99
    )
    note: str = text("Note", default="")
    conditions: Conditions = Conditions()
    gauge: GaugeReading | None = None
    second_gauge: SecondReading | None = None
    flow: FlowReading | None = None
    power: PowerReading | None = None
    risers: tuple[RiserReading, ...] = several("Suction in the risers", "suction_points", default=())
    holes: tuple[HoleCheck, ...] = several("Suction at test holes", "holes", default=())
    past_fan: OutletReading | None = None
    room: RoomReading | None = None
    sound: SoundReading | None = None
    radon: RadonResult = RadonResult()

    @model_validator(mode="after")
    def _hangs_together(self) -> Visit:
        found = list(self._at_odds())
        if found:
            raise FaultsBetween(found)
        return self

    def _at_odds(self) -> Iterator[Fault]:
        """Entries of which not all can be true."""
        if day_of(self.date) is None:
            yield Fault(("date",), f"'{self.date}' is not a date; write 2026-11-30")
        for h, name in _twice(each.hole for each in self.holes):
            yield Fault(("holes", h, "hole"), f"the hole '{name}' is read twice in one visit")
        for r, name in _twice(each.point for each in self.risers):
            yield Fault(("risers", r, "point"), f"the riser of '{name}' is read twice in one visit")
        if self.conditions.fan == "off":
            if self.conditions.speed is not None:
                yield Fault(("conditions", "speed"), "a fan that is off has no speed")
            if self.power is not None and self.power.power > _STANDBY:
                yield Fault(("power", "power"), "a fan that is off draws no more than its electronics")
        if self.second_gauge is not None and self.gauge is None:
            yield Fault(("second_gauge",), "a second gauge stands at the tap of the first, which was not read")

    def with_gauge_on(self, old: str, new: str) -> Visit:
        """The visit with a gauge that was tapped on one run tapped on another."""
        gauge = self.gauge
        if gauge is None or gauge.run != old:
            return self
        return self.model_copy(update={"gauge": gauge.model_copy(update={"run": new})})

    @property
    def entered(self) -> bool:
        """Whether anything was read but radon."""
        some = (self.gauge, self.second_gauge, self.flow, self.power, self.past_fan, self.room, self.sound)
        return bool(self.risers or self.holes) or any(each is not None for each in some)


class Correction(Record):
    """Which visit's readings the model is corrected by: those of a system of which the state is known.

    What they make of it follows from the visit each time; no number of it stands here.
    """

    date: str = text("Date", least=1)
    kind: VisitKind = choice("Visit", default="start-up")
    order: int = Field(default=1, title="Order on that day", ge=1, le=99)

    @classmethod
    def by(cls, visit: Visit) -> Correction:
        """By a visit."""
        return cls(date=visit.date, kind=visit.kind, order=visit.order)

    def names(self, visit: Visit) -> bool:
        """Whether this is the visit."""
        return (self.date, self.kind, self.order) == (visit.date, visit.kind, visit.order)


_STANDBY = 10.0
"""What the electronics of a stopped fan may still draw; a judgement. [W]"""


def day_of(entry: object) -> date | None:
    """A date as it is entered or printed; None where it is not written year-month-day."""
    try:
        return date.fromisoformat(str(entry).strip())
    except ValueError:
        return None


def in_order(visits: Iterable[Visit]) -> tuple[Visit, ...]:
    """Visits by day and order on it."""
    return tuple(sorted(visits, key=lambda visit: (day_of(visit.date) or date.max, visit.order)))


def faults_of_visits(
    visits: tuple[Visit, ...],
    *,
    job_date: str,
    points: set[str],
    holes: set[str],
    before: set[str],
    after: set[str],
    listeners: set[str],
) -> Iterator[Fault]:
    """What is wrong between visits and the design they belong to; addresses from the design.

    `before` and `after` are the names of the runs before and past the fan.
    """
    begun = day_of(job_date)
    taken: set[tuple[str, str, int]] = set()
    for v, visit in enumerate(visits):
        at = ("visits", v)
        day = day_of(visit.date)
        # the diagnostic test is what a design is made from
        if begun is not None and day is not None and day < begun and visit.kind != "diagnostic":
            yield Fault((*at, "date"), f"the visit of {visit.date} lies before the job's date, {job_date}")
        key = (visit.date, visit.kind, visit.order)
        if key in taken:
            sentence = f"there are two visits of {visit.date}, both '{visit.kind}'; give each its order on that day"
            yield Fault((*at, "order"), sentence)
        taken.add(key)
        for r, riser in enumerate(visit.risers):
            if riser.point not in points:
                yield Fault((*at, "risers", r, "point"), f"there is no suction point called '{riser.point}'")
        for h, hole in enumerate(visit.holes):
            if hole.hole not in holes:
                yield Fault((*at, "holes", h, "hole"), f"there is no test hole called '{hole.hole}'")
        if visit.sound is not None and visit.sound.place not in listeners:
            yield Fault((*at, "sound", "place"), f"there is no noise location called '{visit.sound.place}'")
        gauge = visit.gauge
        if gauge is not None and gauge.run is not None:
            here, there = (before, after) if gauge.side == "suction" else (after, before)
            if gauge.run in there:
                sentence = f"the run '{gauge.run}' is not on the {gauge.side} side of the fan"
                yield Fault((*at, "gauge", "side"), sentence)
            elif gauge.run not in here:
                yield Fault((*at, "gauge", "run"), f"there is no run called '{gauge.run}'")


def faults_of_correction(correction: Correction, visits: tuple[Visit, ...]) -> Iterator[Fault]:
    """Why a model cannot be corrected by a visit; addresses from the design."""
    at = ("corrected_by",)
    visit = next((each for each in visits if correction.names(each)), None)
    if visit is None:
        yield Fault(at, f"the model is corrected by the {correction.kind} of {correction.date}, which is not there")
    elif not visit.entered:
        yield Fault(at, f"the model is corrected by the {visit.kind} of {visit.date}, on which nothing was read")
    elif visit.conditions.fan == "off":
        yield Fault(at, f"the model is corrected by the {visit.kind} of {visit.date}, with the fan off")
    elif visit.conditions.speed is None:
        named = f"the {visit.kind} of {visit.date}"
        sentence = f"the model is corrected by {named}; the speed that the fan was set to is missing"
        yield Fault(at, sentence)


def _twice(names: Iterable[str]) -> Iterator[tuple[int, str]]:
    taken: set[str] = set()
    for i, name in enumerate(names):
        if name in taken:
            yield i, name
        taken.add(name)
