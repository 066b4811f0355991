"""The whole of what a user enters about one job."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from math import hypot
from typing import Literal, SupportsFloat

import numpy as np
from pydantic import model_validator

from workbench.design.capacity import CAPACITIES
from workbench.design.fan import FanRecord
from workbench.design.faults import Fault, FaultsBetween
from workbench.design.ground import SuctionPoint
from workbench.design.house import House, Place, Prices
from workbench.design.job import Job
from workbench.design.pipework import Junction, Leg, Run, Surroundings
from workbench.design.record import Address, Record, choice, quantity, several, text
from workbench.design.rules import Entered, RuleSheet
from workbench.design.search import Search
from workbench.design.slab import Slab, Target, TestHole, WorstDay
from workbench.design.visits import Correction, Visit, faults_of_correction, faults_of_visits
from workbench.physics.ground import hemisphere_radius


class Uncertainty(Record):
    """How far the pipe's textbook losses may be from the truth, as factors.

    Defaults: loss measured in PVC mitigation pipe, straight pipe 9 to 23 % below the textbook
    calculation, fittings from 53 % below to 109 % above (Brodhead and Saum, AARST 1996). While the factors of
    fittings are those, each fitting has the band of its kind in the catalogue; others are the band of every fitting.
    """

    friction_low: float = quantity("Pipe friction factor range, low", "ratio", gt=0.0, le=1.0, default=0.77)
    friction_high: float = quantity("Straight pipe, most", "ratio", ge=1.0, le=5.0, default=1.0)
    fittings_low: float = quantity("Fittings, least", "ratio", gt=0.0, le=1.0, default=0.47)
    fittings_high: float = quantity("Fitting loss multiplier, high", "ratio", ge=1.0, le=5.0, default=2.09)
    fan_speed: float = quantity("Fan curve tolerance (speed), ±", "fraction", ge=0.0, le=0.5, default=0.05)


class Design(Record):
    """One job: place, house, ground, pipe, fans and the speed they are set to."""

    title: str = text("Title", least=1, default="Untitled")
    note: str = text("Note", default="")
    invented: bool = False
    job: Job = Job()
    place: Place = Place()
    house: House = House()
    prices: Prices = Prices()
    intake: Leg
    discharge: tuple[Run, ...] = several("Discharge", "runs", least=1)
    fans: tuple[FanRecord, ...] = several("Fans", "fans", default=())
    fan: str | None = choice("Chosen fan", default=None)
    arrangement: Literal["single", "series", "parallel"] = choice("Arrangement", default="single")
    speed: float = quantity("Speed", "speed", gt=0.0, le=1.0, default=1.0)
    uncertainty: Uncertainty = Uncertainty()
    slab: Slab | None = None
    holes: tuple[TestHole, ...] = several("Test holes", "holes", default=())
    target: Target = Target()
    worst_day: WorstDay = WorstDay()
    rules: RuleSheet | None = None
    entered: tuple[Entered, ...] = several("Entered for the rules", "rules", default=())
    search: Search = Search()
    visits: tuple[Visit, ...] = several("Visits", "visits", default=())
    corrected_by: Correction | None = None

    @model_validator(mode="after")
    def _hangs_together(self) -> Design:
        checks = self.checks()
        # what is held against each other takes the square of its number
        found = list(checks["sizes"]) or [fault for check in checks.values() for fault in check]
        if found:
            raise FaultsBetween(found)
        return self

    def checks(self) -> dict[Literal["sizes", "names", "readings", "places", "pits", "visits"], Iterator[Fault]]:
        """What is wrong between the parts, by what it is about, each found as it is asked for."""
        return {
            "sizes": self._sizes(),
            "names": self._names(),
            "readings": self._readings(),
            "places": self._places(),
            "pits": self._pits(),
            "visits": self._visits(),
        }

    def _sizes(self) -> Iterator[Fault]:
        """More than can be taken of what several parts hold together."""
        held = (
            ("intake", "suction_points", sum(1 for _ in self.suction_points())),
            ("intake", "junctions", max((address.count("source") for address, _ in self.junctions()), default=0)),
            ("intake", "all_runs", sum(1 for _ in self.runs())),
            ("holes", "all_readings", sum(len(hole.readings) for hole in self.holes)),
            ("visits", "all_visited", sum(len(visit.risers) + len(visit.holes) for visit in self.visits)),
        )
        for field, key, count in held:
            if count > CAPACITIES[key].most:
                yield Fault.beyond((field,), key, count)

    def _names(self) -> Iterator[Fault]:
        runs, points = self.runs(), self.suction_points()
        parts = [(address, run.name) for address, run in runs] + [(address, point.name) for address, point in points]
        for address, name in _again(parts):
            sentence = f"the name '{name}' is given twice; runs and suction points need names of their own"
            yield Fault((*address, "name"), sentence)
        for address, name in _again((("holes", h), hole.name) for h, hole in enumerate(self.holes)):
            yield Fault((*address, "name"), f"two test holes are called '{name}'")
        for address, name in _again((("fans", f), fan.name) for f, fan in enumerate(self.fans)):
            yield Fault((*address, "name"), f"there are two fans called '{name}'")
        if self.fan is not None and self.chosen_fan is None:
            yield Fault(("fan",), f"the chosen fan '{self.fan}' is not among the fans of this design")

    def _readings(self) -> Iterator[Fault]:
        """A reading counts for the point it was drawn on; one that names none would be left out without a word."""
        names = {point.name for _, point in self.suction_points()}
        for h, hole in enumerate(self.holes):
            for r, reading in enumerate(hole.readings):
                if reading.point not in names:
                    sentence = f"the reading at '{hole.name}' was drawn on '{reading.point}', which is no suction point"
                    yield Fault(("holes", h, "readings", r, "point"), sentence)

    def _places(self) -> Iterator[Fault]:
        if self.slab is None:
            return
        for h, hole in enumerate(self.holes):
            if hole.position is not None and not self.slab.holds(hole.position):
                yield Fault(("holes", h, "position"), f"the hole '{hole.name}' lies outside the floor")
        for address, point in self.suction_points():
            if point.position is not None and not self.slab.holds(point.position):
                yield Fault((*address, "position"), f"the suction point '{point.name}' lies outside the floor")

    def _pits(self) -> Iterator[Fault]:
        if self.slab is None:
            return
        placed: list[tuple[str, float, float, float]] = []
        for address, point in self.suction_points():
            if point.position is None or not self.slab.holds(point.position):
                continue
            at = (*address, "position")
            radius = float(hemisphere_radius(point.pit_volume))
            footing = self.slab.footing_at(point.position, radius)
            if footing is not None:
                yield Fault(at, f"the pit of '{point.name}' lies on the footing '{footing.name}'")
            x, y = point.position.x, point.position.y
            for name, other_x, other_y, other_radius in placed:
                if hypot(x - other_x, y - other_y) < radius + other_radius:
                    yield Fault(at, f"the pits of '{name}' and '{point.name}' overlap")
            placed.append((point.name, x, y, radius))

    def _visits(self) -> Iterator[Fault]:
        """A reading of a part that is not there would be left out without a word."""
        if self.corrected_by is not None:
            yield from faults_of_correction(self.corrected_by, self.visits)
        if not self.visits:
            return
        runs = tuple(self.runs())
        yield from faults_of_visits(
            self.visits,
            job_date=self.job.date,
            points={point.name for _, point in self.suction_points()},
            holes={hole.name for hole in self.holes},
            before={run.name for address, run in runs if address[0] == "intake"},
            after={run.name for address, run in runs if address[0] == "discharge"},
            listeners={listener.name for listener in self.house.listeners},
        )

    def legs(self) -> Iterator[tuple[Address, Leg]]:
        """Every leg with its address, the one into the fan first, each straight leg before its side leg."""
        waiting: list[tuple[Address, Leg]] = [(("intake",), self.intake)]
        while waiting:
            address, leg = waiting.pop()
            yield address, leg
            if isinstance(leg.source, Junction):
                waiting.append(((*address, "source", "side"), leg.source.side))
                waiting.append(((*address, "source", "straight"), leg.source.straight))

    def runs(self) -> Iterator[tuple[Address, Run]]:
        """Every run with its address, the discharge last."""
        for address, leg in self.legs():
            for i, run in enumerate(leg.runs):
                yield (*address, "runs", i), run
        for i, run in enumerate(self.discharge):
            yield ("discharge", i), run

    def suction_points(self) -> Iterator[tuple[Address, SuctionPoint]]:
        """Every suction point with its address."""
        for address, leg in self.legs():
            if isinstance(leg.source, SuctionPoint):
                yield (*address, "source"), leg.source

    def junctions(self) -> Iterator[tuple[Address, Junction]]:
        """Every junction with its address."""
        for address, leg in self.legs():
            if isinstance(leg.source, Junction):
                yield (*address, "source"), leg.source

    @property
    def chosen_fan(self) -> FanRecord | None:
        """The fan that is chosen, if any."""
        return next((fan for fan in self.fans if fan.name == self.fan), None)

    @property
    def fan_surroundings(self) -> Surroundings:
        """What the fan stands in: outdoors only where the run before it is, else the colder side of it within."""
        before, after = self.intake.runs[-1].surroundings, self.discharge[0].surroundings
        if before == "outdoors":
            return "outdoors"
        return "unheated" if "unheated" in (before, after) else "indoors"


def _again(named: Iterable[tuple[Address, str]]) -> Iterator[tuple[Address, str]]:
    """Those whose name an earlier one bears already."""
    taken: set[str] = set()
    for address, name in named:
        if name in taken:
            yield address, name
        taken.add(name)


def settable_speed(given: object) -> float:
    """A speed that a fan may be asked to turn at, as a fraction of full speed.

    Raises
    ------
    ValueError
        With a sentence, unless it is one number, more than 0 and at most 1.
    """
    number = isinstance(given, SupportsFloat) and not isinstance(given, bool) and np.ndim(given) == 0  # type: ignore[arg-type]
    if not number:
        raise ValueError("a speed is one number, more than 0 and at most 1, the fraction of full speed")
    speed = float(given)  # type: ignore[arg-type]
    if not 0.0 < speed <= 1.0:
        raise ValueError(f"the speed must be more than 0 and at most 1, which is full speed; it is {speed:g}")
    return speed
