"""From the entered records to the arrays the physics works on, with the names kept beside them."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from workbench.design.catalogue import OWN, fitting_kinds, junction_kinds, measured_band
from workbench.design.design import Design
from workbench.design.fan import FanRecord
from workbench.design.ground import SuctionPoint
from workbench.design.house import Place
from workbench.design.pipework import Fitting, Junction, Leg, Run
from workbench.design.record import Address
from workbench.design.slab import Slab, TestHole
from workbench.physics.air import Air, air_at
from workbench.physics.arrays import Array
from workbench.physics.fan import Arrangement, Control, Fan, MeasuredCurve, Motor
from workbench.physics.fittings import sudden_contraction, sudden_expansion
from workbench.physics.network import JunctionLegs, Network, Scatter
from workbench.physics.pipe import bore_area
from workbench.solving.site.cooling import cooled_draft
from workbench.solving.site.floor import Floor, floor_of
from workbench.solving.site.floor_parts import Underfloor
from workbench.solving.site.ground import Ground, ground_of
from workbench.solving.site.learned import Learned

_CONTRACTION, _EXPANSION = "reducer, by diameter ratio", "increaser, by diameter ratio"
"""Kinds whose bands a step in the bore has."""


class PartK(Struct, frozen=True, eq=False):
    """A fitting of a run, its share of the run's loss coefficient, and the factors on it that bound its band."""

    title: str
    address: Address | None
    k: float
    band: tuple[float, float]


class Assembly(Struct, frozen=True, eq=False):
    """A pipe tree as a network, every column and row of it with its record and address."""

    network: Network
    air: Air
    outdoor: Air
    indoor: Air
    grounds: tuple[Ground, ...]
    floor: Floor
    points: tuple[tuple[Address, SuctionPoint], ...]
    runs: tuple[tuple[Address, Run], ...]
    fittings: tuple[tuple[PartK, ...], ...]
    junctions: tuple[tuple[Address, Junction], ...]
    height: Array
    """Height of each run's downstream end above the slab. [m]"""
    learned: Learned | None = None

    @property
    def tree(self) -> tuple[Address, ...]:
        """Where its runs and junctions stand."""
        return tuple(address for address, _ in (*self.runs, *self.junctions))


class Site(NamedTuple):
    """All that a network is made from, none of which a fan or a speed touches."""

    intake: Leg
    discharge: tuple[Run, ...]
    place: Place
    slab: Slab | None
    holes: tuple[TestHole, ...]
    slab_thickness: float
    draw_down: float | None
    learned: Learned | None = None


def site_of(design: Design, learned: Learned | None = None) -> Site:
    """The site of a design, and what readings of its running system made of it."""
    return Site(
        design.intake,
        design.discharge,
        design.place,
        design.slab,
        design.holes,
        design.house.slab_thickness,
        design.worst_day.tested_draw_down,
        learned,
    )


@lru_cache(maxsize=32)
def assemble(site: Site) -> Assembly:
    """Lay out the network of a pipe tree over its floor, in the air of its place.

    Raises
    ------
    ValueError
        With a sentence, when a drawn floor makes no field.
    """
    return laid_out(site, floor_of)


FloorLaid = Callable[[Underfloor, Learned | None], Floor]
"""As `floor_of`."""


def laid_out(site: Site, lay_floor: FloorLaid) -> Assembly:
    """As `assemble`, but nothing is kept, and the floor is laid by a function of the caller's."""
    intake, discharge, place = site.intake, site.discharge, site.place
    air = air_at(place.pipe_temperature, place.pipe_humidity, place.altitude)
    outdoor = air_at(place.outdoor_temperature, place.outdoor_humidity, place.altitude)
    indoor = air_at(place.indoor_temperature, 0.4, place.altitude)
    layout = _Layout()
    reached, end = layout.leg(("intake",), intake)
    layout.chain(("discharge",), discharge, reached, before=end)
    n = len(layout.points)
    upstream = np.array([[1.0 if i in passing else 0.0 for i in range(n)] for passing in layout.passing])
    runs = [run for _, run in layout.runs]
    grounds = tuple(ground_of(point) for _, point in layout.points)
    points = tuple(point for _, point in layout.points)
    below = Underfloor(site.slab, points, site.holes, site.slab_thickness, air.viscosity, site.draw_down)
    floor = lay_floor(below, site.learned)
    network = Network(
        coupling=floor.coupling,
        inertial=floor.inertial,
        upstream=upstream,
        diameter=np.array([run.pipe.inside_diameter for run in runs]),
        length=np.array([run.length for run in runs]),
        roughness=np.array([run.pipe.roughness for run in runs]),
        k=np.array([sum(part.k for part in parts) for parts in layout.fittings]),
        junctions=tuple(
            _legs(junction, common, straight, side, n)
            for (_, junction), common, straight, side in zip(
                layout.junctions, layout.common, layout.straight, layout.side, strict=True
            )
        ),
        draft=cooled_draft(runs, upstream, air, outdoor, place),
        density=air.density,
        viscosity=air.viscosity,
    )
    found = Assembly(
        network=network,
        air=air,
        outdoor=outdoor,
        indoor=indoor,
        grounds=grounds,
        floor=floor,
        points=tuple(layout.points),
        runs=tuple(layout.runs),
        fittings=tuple(layout.fittings),
        junctions=tuple(layout.junctions),
        height=np.array(layout.heights),
        learned=site.learned,
    )
    if site.learned is None:
        return found
    return replace(found, network=_losing(network, site.learned.losses(found.tree)))


def _losing(network: Network, factors: Scatter) -> Network:
    """A network whose straight pipes, fittings and junctions lose so many times as much."""
    friction, fittings, junctions = (np.asarray(factor, dtype=np.float64) for factor in factors)
    each = np.broadcast_to(junctions, (len(network.junctions),))
    return replace(
        network,
        # straight pipe loses by its length, a junction by one over the square of its bore
        length=network.length * friction,
        k=network.k * fittings,
        junctions=tuple(
            replace(legs, area=legs.area / np.sqrt(factor))
            for legs, factor in zip(network.junctions, each, strict=True)
        ),
    )


class _Layout:
    """Walks the tree with the air, upstream parts first, and notes what passes where."""

    def __init__(self) -> None:
        self.points: list[tuple[Address, SuctionPoint]] = []
        self.runs: list[tuple[Address, Run]] = []
        self.passing: list[tuple[int, ...]] = []
        self.fittings: list[tuple[PartK, ...]] = []
        self.heights: list[float] = []
        self.junctions: list[tuple[Address, Junction]] = []
        self.common: list[Run] = []
        self.straight: list[tuple[int, ...]] = []
        self.side: list[tuple[int, ...]] = []
        self._height = 0.0

    def leg(self, address: Address, leg: Leg) -> tuple[tuple[int, ...], Run]:
        """Lay a leg; gives the points whose air it carries and its last run."""
        if isinstance(leg.source, Junction):
            here = (*address, "source")
            straight, _ = self.leg((*here, "straight"), leg.source.straight)
            height = self._height
            side, _ = self.leg((*here, "side"), leg.source.side)
            self._height = height
            self.junctions.append((here, leg.source))
            self.common.append(leg.runs[0])
            self.straight.append(straight)
            self.side.append(side)
            passing = straight + side
        else:
            self._height = 0.0
            self.points.append(((*address, "source"), leg.source))
            passing = (len(self.points) - 1,)
        self.chain((*address, "runs"), leg.runs, passing, before=None)
        return passing, leg.runs[-1]

    def chain(self, address: Address, runs: tuple[Run, ...], passing: tuple[int, ...], before: Run | None) -> None:
        """Lay runs one after the other; a step in the bore between two of them costs what it costs."""
        for i, run in enumerate(runs):
            here = (*address, i)
            parts = [
                PartK(_title(f), (*here, "fittings", j), fitting_k(f, run), _band(f))
                for j, f in enumerate(run.fittings)
            ]
            if before is not None and before.pipe.inside_diameter != run.pipe.inside_diameter:
                parts.insert(0, _step(before, run))
            self._height += run.rise
            self.runs.append((here, run))
            self.passing.append(passing)
            self.fittings.append(tuple(parts))
            self.heights.append(self._height)
            before = run


def _title(fitting: Fitting) -> str:
    return fitting.kind if fitting.count == 1 else f"{fitting.count} x {fitting.kind}"


def fitting_k(fitting: Fitting, run: Run) -> float:
    """Loss coefficient of a row of fittings, all of its pieces together, in the bore of its run."""
    if fitting.k is not None or fitting.kind == OWN:
        return float(fitting.k or 0.0) * fitting.count
    return fitting_kinds()[fitting.kind].k(run.pipe.inside_diameter, fitting.parameter) * fitting.count


def _band(fitting: Fitting) -> tuple[float, float]:
    own = fitting.k is not None or fitting.kind == OWN
    return measured_band() if own else fitting_kinds()[fitting.kind].band


def _step(before: Run, run: Run) -> PartK:
    """A sudden step in the bore, on the velocity pressure of the run after it."""
    title, ratio = f"Step in the bore before {run.name}", before.pipe.inside_diameter / run.pipe.inside_diameter
    if ratio > 1.0:
        return PartK(title, None, float(sudden_contraction(1.0 / ratio)), fitting_kinds()[_CONTRACTION].band)
    # the published form stands on the smaller bore, which here is the one before
    return PartK(title, None, float(sudden_expansion(ratio)) / ratio**4, fitting_kinds()[_EXPANSION].band)


def _legs(junction: Junction, common: Run, straight: tuple[int, ...], side: tuple[int, ...], n: int) -> JunctionLegs:
    area = float(bore_area(common.pipe.inside_diameter))
    side_area = float(bore_area(junction.side.runs[-1].pipe.inside_diameter))
    return JunctionLegs(
        straight=np.array([1.0 if i in straight else 0.0 for i in range(n)]),
        side=np.array([1.0 if i in side else 0.0 for i in range(n)]),
        angle=junction_kinds()[junction.kind].angle,
        area=area,
        area_ratio=min(side_area / area, 1.0),
        straight_k=junction.straight_k,
        side_k=junction.side_k,
    )


def fan_on(record: FanRecord, arrangement: str, learned: Learned | None) -> Fan:
    """As `fan_of`, turning and drawing as readings of it say."""
    fan = fan_of(record, arrangement)
    if learned is None or record != learned.fan:
        return fan
    return fan.turning(learned.turned, learned.drawn)


@lru_cache(maxsize=64)
def fan_of(record: FanRecord, arrangement: str) -> Fan:
    """Lay the curves of a fan, or of two alike."""
    curves = tuple(
        MeasuredCurve.through(
            table.speed,
            [p.flow for p in table.points],
            [p.pressure for p in table.points],
            None if table.points[0].power is None else [p.power or 0.0 for p in table.points],
        )
        for table in record.curves
    )
    return Fan(
        curves=curves,
        motor=Motor(Control(record.control), record.constant_power or 0.0, record.power_exponent),
        rated_density=record.rated_density,
        outlet_area=float(bore_area(record.outlet_diameter)) if record.basis == "static" else None,
        arrangement=Arrangement(arrangement),
    )
