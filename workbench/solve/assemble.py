"""From the entered records to the arrays the physics works on, with the names kept beside them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from workbench.design.catalogue import OWN, fitting_kinds, ground_kinds, junction_kinds
from workbench.design.fan import Fan as FanRecord
from workbench.design.ground import GroundClass, Resistance, StepTest, SuctionPoint
from workbench.design.house import Place
from workbench.design.pipework import Fitting, Junction, Leg, Run
from workbench.design.record import Address
from workbench.physics.air import Air, air_at
from workbench.physics.draft import stack_draft
from workbench.physics.fan import Arrangement, Control, Fan, MeasuredCurve, Motor
from workbench.physics.fittings import sudden_contraction, sudden_expansion
from workbench.physics.ground import StepFit, fit_step_test, pit_scaling_hemisphere, pit_scaling_layer
from workbench.physics.network import JunctionLegs, Network
from workbench.physics.pipe import bore_area

Array = NDArray[np.float64]
Band = Callable[[Array], tuple[Array, Array]]


@dataclass(frozen=True, eq=False)
class Ground:
    """Resistance of the ground at one point with its pit as dug, and the band around it.

    `band` gives the lower and upper suction [Pa] at a flow [m3/s]; `tested` is the span of tested flows, None when
    there was no test.
    """

    linear: float
    quadratic: float
    band: Band
    tested: tuple[float, float] | None
    fit: StepFit | None = None

    def suction(self, flow: Array) -> Array:
        """Suction the ground asks at a flow. [Pa]"""
        return self.linear * flow + self.quadratic * flow * np.abs(flow)


@dataclass(frozen=True, eq=False)
class PartK:
    """A fitting of a run and its share of the run's loss coefficient."""

    title: str
    address: Address | None
    k: float


@dataclass(frozen=True, eq=False)
class Assembly:
    """A pipe tree as a network, every column and row of it with its record and address."""

    network: Network
    air: Air
    outdoor: Air
    indoor: Air
    grounds: tuple[Ground, ...]
    points: tuple[tuple[Address, SuctionPoint], ...]
    runs: tuple[tuple[Address, Run], ...]
    fittings: tuple[tuple[PartK, ...], ...]
    junctions: tuple[tuple[Address, Junction], ...]
    height: Array
    """Height of each run's downstream end above the slab. [m]"""


@lru_cache(maxsize=32)
def assemble(intake: Leg, discharge: tuple[Run, ...], place: Place) -> Assembly:
    """Lay out the network of a pipe tree in the air of a place."""
    air = air_at(place.pipe_temperature, place.pipe_humidity, place.altitude)
    outdoor = air_at(place.outdoor_temperature, place.outdoor_humidity, place.altitude)
    indoor = air_at(place.indoor_temperature, 0.4, place.altitude)
    layout = _Layout()
    reached, end = layout.leg(("intake",), intake, intake.runs[-1])
    layout.chain(("discharge",), discharge, reached, before=end)
    n = len(layout.points)
    upstream = np.array([[1.0 if i in passing else 0.0 for i in range(n)] for passing in layout.passing])
    runs = [run for _, run in layout.runs]
    rise = np.array([run.rise for run in runs])
    grounds = tuple(ground_of(point) for _, point in layout.points)
    network = Network(
        coupling=np.diag([g.linear for g in grounds]),
        inertial=np.array([g.quadratic for g in grounds]),
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
        draft=np.asarray(stack_draft(rise @ upstream, air.density, outdoor.density)),
        density=air.density,
        viscosity=air.viscosity,
    )
    return Assembly(
        network=network,
        air=air,
        outdoor=outdoor,
        indoor=indoor,
        grounds=grounds,
        points=tuple(layout.points),
        runs=tuple(layout.runs),
        fittings=tuple(layout.fittings),
        junctions=tuple(layout.junctions),
        height=np.array(layout.heights),
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

    def leg(self, address: Address, leg: Leg, ends_in: Run) -> tuple[tuple[int, ...], Run]:
        """Lay a leg; gives the points whose air it carries and its last run."""
        if isinstance(leg.source, Junction):
            here = (*address, "source")
            straight, _ = self.leg((*here, "straight"), leg.source.straight, leg.runs[0])
            height = self._height
            side, _ = self.leg((*here, "side"), leg.source.side, leg.runs[0])
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
            parts = [PartK(_title(f), (*here, "fittings", j), fitting_k(f, run)) for j, f in enumerate(run.fittings)]
            if before is not None and before.pipe.inside_diameter != run.pipe.inside_diameter:
                parts.insert(0, PartK(f"Step in the bore before {run.name}", None, _step_k(before, run)))
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


def _step_k(before: Run, run: Run) -> float:
    """Coefficient of a sudden step in the bore, on the velocity pressure of the run after it."""
    ratio = before.pipe.inside_diameter / run.pipe.inside_diameter
    if ratio > 1.0:
        return float(sudden_contraction(1.0 / ratio))
    # the published form stands on the smaller bore, which here is the one before
    return float(sudden_expansion(ratio)) / ratio**4


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


def ground_of(point: SuctionPoint) -> Ground:
    """Resistance at a suction point: fitted, classed or entered, brought to the pit as it will be dug."""
    known = point.ground
    a_factor, b_factor = _pit_factors(point)
    if isinstance(known, StepTest):
        fit = fit_step_test(
            np.array([r.flow for r in known.readings]),
            np.array([r.suction for r in known.readings]),
            np.array([r.baseline for r in known.readings]),
        )
        flows = [r.flow for r in known.readings]
        return Ground(
            fit.a * a_factor,
            fit.b * b_factor,
            _scaled_band(fit, a_factor, b_factor),
            (min(flows), max(flows)),
            fit,
        )
    if isinstance(known, GroundClass):
        kind = ground_kinds()[known.kind]
        linear, quadratic, low, high = kind.linear, kind.quadratic, 1.0 / kind.factor, kind.factor
    else:
        assert isinstance(known, Resistance)
        linear, quadratic, low, high = known.linear, known.quadratic, 1.0 - known.band, 1.0 + known.band
    linear, quadratic = linear * a_factor, quadratic * b_factor

    def band(flow: Array) -> tuple[Array, Array]:
        middle = linear * flow + quadratic * flow * np.abs(flow)
        return low * middle, high * middle

    return Ground(linear, quadratic, band, None)


def _scaled_band(fit: StepFit, a_factor: float, b_factor: float) -> Band:
    def band(flow: Array) -> tuple[Array, Array]:
        low, high = fit.band(flow)
        tested = fit.suction(flow)
        as_dug = a_factor * fit.a * flow + b_factor * fit.b * flow * np.abs(flow)
        with np.errstate(divide="ignore", invalid="ignore"):
            scale = np.where(tested > 0.0, as_dug / tested, 1.0)
        return low * scale, high * scale

    return band


def _pit_factors(point: SuctionPoint) -> tuple[float, float]:
    tested_volume = point.ground.tested_volume
    if point.pattern == "deep soil":
        a_factor, b_factor = pit_scaling_hemisphere(point.pit_volume, tested_volume)
    else:
        a_factor, b_factor = pit_scaling_layer(point.pit_volume, tested_volume, point.bed_thickness, point.bed_reach)
    return float(a_factor), float(b_factor)


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
        motor=Motor(Control(record.control), record.constant_power, record.power_exponent),
        rated_density=record.rated_density,
        outlet_area=float(bore_area(record.outlet_diameter)) if record.basis == "static" else None,
        arrangement=Arrangement(arrangement),
    )
