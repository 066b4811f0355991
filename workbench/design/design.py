"""The whole of what a user enters about one job."""

from __future__ import annotations

from collections.abc import Iterator
from math import hypot
from typing import Literal

from pydantic import model_validator

from workbench.design.fan import Fan
from workbench.design.ground import SuctionPoint
from workbench.design.house import House, Place, Prices
from workbench.design.pipework import Junction, Leg, Run
from workbench.design.record import Address, Record, choice, quantity, several, text
from workbench.design.rules import Entered, RuleSheet
from workbench.design.search import Search
from workbench.design.slab import Slab, Target, TestHole, WorstDay
from workbench.physics.ground import hemisphere_radius


class Uncertainty(Record):
    """How far the pipe's textbook losses may be from the truth, as factors.

    Defaults: loss measured in PVC mitigation pipe, straight pipe 9 to 23 % below the textbook
    calculation, fittings from 53 % below to 109 % above (Brodhead and Saum, AARST 1996). While the factors of
    fittings are those, each fitting has the band of its kind in the catalogue; others are the band of every fitting.
    """

    friction_low: float = quantity("Straight pipe, least", "ratio", gt=0.0, le=1.0, default=0.77)
    friction_high: float = quantity("Straight pipe, most", "ratio", ge=1.0, le=5.0, default=1.0)
    fittings_low: float = quantity("Fittings, least", "ratio", gt=0.0, le=1.0, default=0.47)
    fittings_high: float = quantity("Fittings, most", "ratio", ge=1.0, le=5.0, default=2.09)
    fan_speed: float = quantity("Fan speed, plus or minus", "fraction", ge=0.0, le=0.5, default=0.05)


class Design(Record):
    """One job: place, house, ground, pipe, fans and the speed they are set to."""

    title: str = text("Title", least=1, default="Untitled")
    note: str = text("Note", default="")
    invented: bool = False
    place: Place = Place()
    house: House = House()
    prices: Prices = Prices()
    intake: Leg
    discharge: tuple[Run, ...] = several("Discharge", least=1)
    fans: tuple[Fan, ...] = several("Fans", default=())
    fan: str | None = choice("Chosen fan", default=None)
    arrangement: Literal["single", "series", "parallel"] = choice("Arrangement", default="single")
    speed: float = quantity("Speed", "speed", gt=0.0, le=1.0, default=1.0)
    uncertainty: Uncertainty = Uncertainty()
    slab: Slab | None = None
    holes: tuple[TestHole, ...] = several("Test holes", default=())
    target: Target = Target()
    worst_day: WorstDay = WorstDay()
    rules: RuleSheet | None = None
    entered: tuple[Entered, ...] = several("Entered for the rules", default=())
    search: Search = Search()

    @model_validator(mode="after")
    def _names_stand_once(self) -> Design:
        names = [run.name for _, run in self.runs()] + [point.name for _, point in self.suction_points()]
        for name in names:
            if names.count(name) > 1:
                raise ValueError(f"the name '{name}' is given twice; runs and suction points need names of their own")
        for name in (holes := [hole.name for hole in self.holes]):
            if holes.count(name) > 1:
                raise ValueError(f"two test holes are called '{name}'")
        self._stand_on_the_floor()
        fans = [fan.name for fan in self.fans]
        for name in fans:
            if fans.count(name) > 1:
                raise ValueError(f"there are two fans called '{name}'")
        if self.fan is not None and self.fan not in fans:
            raise ValueError(f"the chosen fan '{self.fan}' is not among the fans of this design")
        return self

    def _stand_on_the_floor(self) -> None:
        if self.slab is None:
            return
        for hole in self.holes:
            if hole.position is not None and not self.slab.holds(hole.position):
                raise ValueError(f"the hole '{hole.name}' lies outside the floor")
        placed: list[tuple[str, float, float, float]] = []
        for _, point in self.suction_points():
            if point.position is None:
                continue
            if not self.slab.holds(point.position):
                raise ValueError(f"the suction point '{point.name}' lies outside the floor")
            radius = float(hemisphere_radius(point.pit_volume))
            footing = self.slab.footing_at(point.position, radius)
            if footing is not None:
                raise ValueError(f"the pit of '{point.name}' lies on the footing '{footing.name}'")
            x, y = point.position.x, point.position.y
            for name, other_x, other_y, other_radius in placed:
                if hypot(x - other_x, y - other_y) < radius + other_radius:
                    raise ValueError(f"the pits of '{name}' and '{point.name}' run into one another")
            placed.append((point.name, x, y, radius))

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
    def chosen_fan(self) -> Fan | None:
        """The fan that is chosen, if any."""
        return next((fan for fan in self.fans if fan.name == self.fan), None)
