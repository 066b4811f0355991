"""The floor seen from above: outline, fill, footings, edges, and the holes it was tested through."""

from __future__ import annotations

import math
from typing import Literal

import numpy as np
from pydantic import model_validator

from workbench.design.catalogue import fill_kinds
from workbench.design.record import Record, choice, quantity, several, text
from workbench.physics.polygon import contains, distance_to_segments, polyline, simple_polygon


def corners(places: tuple[Position, ...]) -> list[tuple[float, float]]:
    """Places as pairs of coordinates. [m]"""
    return [(place.x, place.y) for place in places]


class Position(Record):
    """A place on the floor, from an origin of the user's choosing."""

    x: float = quantity("East", "length", ge=-500.0, le=500.0)
    y: float = quantity("North", "length", ge=-500.0, le=500.0)


EdgeKind = Literal["sealed", "joint", "open"]


class Edge(Record):
    """One side of the floor: how air comes in along it."""

    kind: EdgeKind = choice("Edge", default="sealed")
    joint_width: float = quantity("Width of the joint", "small_length", ge=0.0, le=0.05, default=0.001)


class Zone(Record):
    """A part of the floor with a fill or a slab of its own."""

    name: str = text("Name", least=1)
    outline: tuple[Position, ...] = several("Outline", "corners", least=3)
    permeability_factor: float = quantity("Fill permeability, multiplier", "ratio", gt=0.0, le=1e6, default=1.0)
    leak_factor: float = quantity("Slab leakage, multiplier", "ratio", ge=0.0, le=1e4, default=1.0)


class Footing(Record):
    """A wall or beam that reaches down through the fill."""

    name: str = text("Name", least=1)
    line: tuple[Position, ...] = several("Line", "corners", least=2)
    opening: float = quantity(
        "Open fraction of footing",
        "fraction",
        ge=0.0,
        le=1.0,
        default=0.0,
        help="Fraction of its length that lets air through.",
    )


class PlanPicture(Record):
    """A picture of a plan laid under the drawing, its scale set by two points a known distance apart."""

    path: str = text("Picture", least=1)
    corner: Position = Position(x=0.0, y=0.0)
    metres_per_pixel: float = quantity("Meters per pixel", "ratio", gt=0.0, le=10.0, default=0.02)


class Slab(Record):
    """A permeable layer under a leaky slab."""

    outline: tuple[Position, ...] = several("Outline", "corners", least=3)
    edges: tuple[Edge, ...] = several("Edges", "corners", default=(), least=0)
    fill: str = choice("Fill under the slab", default="gravel")
    thickness: float = quantity("Thickness of the fill", "small_length", gt=0.005, le=2.0, default=0.1)
    permeability: float | None = quantity(
        "Permeability (overrides fill type)",
        "permeability",
        gt=0.0,
        le=1e-4,
        default=None,
        help="In place of the class of fill.",
    )
    leak: float | None = quantity(
        "Slab leakage (override)", "leakage", gt=0.0, le=1.0, default=None, help="Replaces the typical value."
    )
    outdoor_share: float = quantity(
        "Share of leakage from outdoors", "fraction", ge=0.0, le=1.0, default=0.5, help="The rest comes from the house."
    )
    leak_left: float = quantity(
        "Slab leakage remaining after sealing",
        "fraction",
        gt=0.0,
        le=1.0,
        default=1.0,
        help="Planned sealing, done after the readings.",
    )
    joints_left: float = quantity(
        "Joint leakage remaining after sealing",
        "fraction",
        ge=0.0,
        le=1.0,
        default=1.0,
        help="Planned sealing, done after the readings.",
    )
    zones: tuple[Zone, ...] = several("Zones", "zones", default=())
    footings: tuple[Footing, ...] = several("Footings", "footings", default=())
    cell: float = quantity("Calculation grid", "small_length", ge=0.05, le=1.0, default=0.1)
    picture: PlanPicture | None = None

    @model_validator(mode="after")
    def _hangs_together(self) -> Slab:
        if self.fill not in fill_kinds():
            raise ValueError(f"there is no fill called '{self.fill}' in the catalogue")
        if self.edges and len(self.edges) != len(self.outline):
            raise ValueError("give every side of the floor its edge, or none")
        for what, names in (("zones", self.zones), ("footings", self.footings)):
            taken = [part.name for part in names]
            if len(set(taken)) < len(taken):
                raise ValueError(f"two {what} bear one name")
        simple_polygon(corners(self.outline), "the outline of the floor")
        for zone in self.zones:
            simple_polygon(corners(zone.outline), f"the outline of {zone.name}")
        for footing in self.footings:
            polyline(corners(footing.line), footing.name)
        return self

    def holds(self, position: Position) -> bool:
        """Whether a place lies on the floor."""
        return bool(contains(np.array(corners(self.outline)), np.array([[position.x, position.y]]))[0])

    def ground_class(self, position: Position | None) -> str:
        """Class of ground of an untested suction point: that of the fill there, or of the floor at large."""
        let_through = fill_kinds()[self.fill].permeability if self.permeability is None else self.permeability
        for zone in self.zones:
            if position is not None and contains(np.array(corners(zone.outline)), np.array([[position.x, position.y]])):
                let_through *= zone.permeability_factor
        return min(fill_kinds().values(), key=lambda kind: abs(math.log(kind.permeability / let_through))).ground

    def footing_at(self, position: Position, radius: float) -> Footing | None:
        """A footing that comes within `radius` [m] of a place."""
        for footing in self.footings:
            line = np.array(corners(footing.line))
            if distance_to_segments(np.array([[position.x, position.y]]), line[:-1], line[1:]).min() < radius:
                return footing
        return None

    def edge(self, side: int) -> Edge:
        """Edge of a side, counted from the first corner."""
        return self.edges[side] if self.edges else Edge()


MadeWith = Literal["test vacuum", "installed system"]
"""What drew when a hole was read: a test vacuum on the small hollow of the step test, or the system on its pits."""


class HoleReading(Record):
    """One reading at a test hole, the state it was taken in, and the instrument's accuracy.

    With a test vacuum the other suction points are plugged; with the installed system all of them draw.
    """

    point: str = text("Drawn on", least=1, help="Name of the suction point.")
    made_with: MadeWith = choice("Made with", default="test vacuum")
    applied: float = quantity(
        "Suction at the point", "pressure", gt=0.0, le=60000.0, help="In the pit, or by the gauge on its riser."
    )
    flow: float | None = quantity("Airflow", "flow", gt=0.0, le=2.0, default=None)
    suction: float = quantity("Suction at the hole", "hole_pressure", ge=-1000.0, le=60000.0)
    at_rest: float = quantity("At rest", "hole_pressure", ge=-100.0, le=100.0, default=0.0)
    accuracy: float = quantity(
        "Accuracy of the gauge", "fraction", ge=0.0, le=0.5, default=0.03, help="Of the reading, one standard error."
    )
    resolution: float = quantity(
        "Least it tells",
        "hole_pressure",
        gt=0.0,
        le=50.0,
        default=0.2,
        help="Resolution, drift and wind, one standard error.",
    )


class TestHole(Record):
    """A small hole through the slab where the suction is read."""

    __test__ = False

    name: str = text("Name", least=1)
    position: Position | None = None
    readings: tuple[HoleReading, ...] = several("Readings", "readings", default=())
    exhausts: float | None = quantity(
        "Change in reading, all exhausts on",
        "hole_pressure",
        ge=-100.0,
        le=100.0,
        default=None,
        help="Negative if suction drops.",
    )


class Target(Record):
    """The suction every hole is to keep on the worst day, and whose figure it is."""

    suction: float = quantity("Target suction", "hole_pressure", ge=0.0, le=100.0, default=1.0)
    source: str = text("Source", default="ANSI/AARST SGM-SF 2017, relative to indoors")
    chance: float = quantity("Required confidence", "fraction", ge=0.5, le=0.999, default=0.9)


class WorstDay(Record):
    """What takes suction away on the worst day of the year."""

    exhausts: float | None = quantity(
        "House depressurization from exhaust fans",
        "hole_pressure",
        ge=0.0,
        le=50.0,
        default=None,
        help="On the worst day. Left empty: as in the exhaust test, else an allowance with a wide band.",
    )
    tested_draw_down: float | None = quantity(
        "Drawn down in the exhaust test",
        "hole_pressure",
        ge=0.0,
        le=50.0,
        default=None,
        help="Room against outdoors, in the test in which the change at the holes was read. Left empty: not measured.",
    )
    tested_where: str = text(
        "Where and how", default="", help="Rooms, doors, exhausts that ran, and where outdoors was taken."
    )
    outdoor_temperature: float = quantity(
        "Winter design temperature", "temperature", ge=213.15, le=310.0, default=261.15
    )
    neutral_height: float = quantity(
        "Neutral pressure level above slab",
        "length",
        ge=0.0,
        le=20.0,
        default=3.0,
        help="About half the heated height.",
    )
    uncertainty: float = quantity(
        "Winter stack, plus or minus", "fraction", ge=0.0, le=1.0, default=0.3, help="Wind has a band of its own."
    )
