"""The floor as the solver takes it: how suction points feel each other, and what each test hole feels of them.

With a plan, a vacuum field under the slab answers both. Without one, a hole follows what was read at it: its
suction for the flow drawn at the time. Either way the answer is linear in the flows of the points, with named
uncertain directions beside it.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from workbench.design.catalogue import fill_kinds, slab_kind
from workbench.design.ground import GroundClass, SuctionPoint
from workbench.design.slab import HoleReading, Slab, TestHole
from workbench.physics.crack import joint_conductance
from workbench.physics.ground import hemisphere_radius
from workbench.solve.ground import Ground, ground_of

if TYPE_CHECKING:
    from workbench.physics.slab import Field
    from workbench.physics.slab_parts import Slab as Layer

Array = NDArray[np.float64]

READING_ERROR = 0.10
"""Standard error of a suction read at a test hole, as a share of it; a judgement."""

READING_FLOOR = 0.3
"""Least standard error of a reading at a test hole, a micromanometer in the field; a judgement. [Pa]"""


INERTIA_BOUND = 0.02
"""By how much inertia in a bed of clean stone may lower a hole's suction for the flow that is drawn.

The loss by inertia falls as one over the distance squared, so it lies close to the pit: it raises the suction there,
where the quadratic term of a step test tells it, and leaves what a hole feels of a flow all but as it was.
"""


@dataclass(frozen=True, eq=False)
class Direction:
    """One uncertain thing: what a standard normal step of it does to the logarithms of coupling and responses.

    `coupling` (n, n), `holes` (k, n), `inertial` (n,), each a change of the logarithm for one standard deviation.
    """

    name: str
    coupling: Array
    holes: Array
    inertial: Array


@dataclass(frozen=True, eq=False)
class HoleFit:
    """One reading at a hole beside what the calibrated floor says. [Pa]"""

    hole: str
    point: str
    read: float
    predicted: float
    standard_error: float

    @property
    def misfit(self) -> float:
        """How many standard errors the reading lies off."""
        return (self.read - self.predicted) / self.standard_error


@dataclass(frozen=True)
class Factor:
    """A calibrated factor on an entered value, and the factor it may still be off (one standard deviation)."""

    title: str
    value: float
    spread: float


@dataclass(frozen=True, eq=False)
class Floor:
    """Linear answers of the ground to the flows of n points, for k holes.

    Attributes
    ----------
    coupling : array, shape (n, n)
        For `Network.coupling`. [Pa s/m3]
    inertial : array, shape (n,)
        For `Network.inertial`. [Pa s2/m6]
    holes : array, shape (k, n)
        Suction at a hole for the flow of a point; NaN where nothing is known of a hole. [Pa s/m3]
    rest_points, rest_holes : array, shape (n,) and (k,)
        Part of the suction of the outdoors that is felt in pits and at holes with nothing running, 0 to 1.
    directions : tuple of Direction
    fits : tuple of HoleFit
    field : Field or None
        The field under a drawn slab.
    factors : tuple of Factor
    """

    coupling: Array
    inertial: Array
    holes: Array
    rest_points: Array
    rest_holes: Array
    directions: tuple[Direction, ...]
    fits: tuple[HoleFit, ...]
    field: Field | None
    factors: tuple[Factor, ...] = ()


def has_plan(slab: Slab | None, points: tuple[SuctionPoint, ...]) -> bool:
    """Whether the field can be computed: a slab is drawn and every suction point stands on it."""
    return slab is not None and all(point.position is not None for point in points)


@lru_cache(maxsize=16)
def floor_of(
    slab: Slab | None,
    points: tuple[SuctionPoint, ...],
    holes: tuple[TestHole, ...],
    slab_thickness: float,
    viscosity: float,
) -> Floor:
    """What the ground answers, with a plan or without.

    Raises
    ------
    ValueError
        With a sentence, when the plan makes no field, as where a part of it can draw air from nowhere.
    """
    grounds = tuple(ground_of(point) for point in points)
    tested = tuple(ground_as_tested(point) for point in points)
    if slab is not None and has_plan(slab, points):
        from workbench.solve.calibrate import calibrated

        return calibrated(slab, points, grounds, tested, holes, slab_thickness, viscosity)
    return _by_shares(points, grounds, tested, holes)


# --- without a plan ---------------------------------------------------------------------------------------------------


def _by_shares(
    points: tuple[SuctionPoint, ...],
    grounds: tuple[Ground, ...],
    tested: tuple[Ground, ...],
    holes: tuple[TestHole, ...],
) -> Floor:
    n, k = len(points), len(holes)
    response, by_readings = shares(points, tested, holes)
    own = [own_direction(i, point.name, grounds[i], n, k) for i, point in enumerate(points)]
    return Floor(
        coupling=np.diag([g.linear for g in grounds]),
        inertial=np.array([g.quadratic for g in grounds]),
        holes=response,
        rest_points=np.ones(n),
        rest_holes=np.ones(k),
        directions=(*own, *by_readings),
        fits=(),
        field=None,
    )


def shares(
    points: tuple[SuctionPoint, ...], tested: tuple[Ground, ...], holes: tuple[TestHole, ...]
) -> tuple[Array, list[Direction]]:
    """Responses of holes by their own readings alone, shape (k, n), NaN where none was read; what is open of them."""
    n, k = len(points), len(holes)
    names = [point.name for point in points]
    response = np.full((k, n), np.nan)
    directions = []
    for h, hole in enumerate(holes):
        at = np.zeros((k, n))
        for i, name in enumerate(names):
            read = [r for r in hole.readings if r.point == name]
            if read:
                response[h, i], at[h, i] = _response(read, tested[i])
        if not np.all(np.isnan(response[h])):
            # a point that was not drawn on when the hole was read is not counted upon
            response[h] = np.nan_to_num(response[h])
            directions.append(Direction(f"Readings at {hole.name}", np.zeros((n, n)), at, np.zeros(n)))
    return response, directions


def ground_as_tested(point: SuctionPoint) -> Ground:
    """The ground at a point with the hollow it was tested with, which the readings at the holes belong to."""
    return ground_of(point.model_copy(update={"pit_volume": point.ground.tested_volume}))


def reading_flow(reading: HoleReading, ground: Ground) -> float:
    """Flow when a reading was taken: as measured, or the one at which the ground holds the suction. [m3/s]

    `ground` is that of the point as it was tested.
    """
    if reading.flow is not None:
        return reading.flow
    a, b, s = ground.linear, ground.quadratic, reading.applied
    return s / a if b == 0.0 else (math.sqrt(a * a + 4.0 * b * s) - a) / (2.0 * b)


def _response(readings: list[HoleReading], ground: Ground) -> tuple[float, float]:
    """Response of a hole to the flow of a point, and the standard deviation of its logarithm.

    A hole's suction grows in step with the flow through a laminar layer, and in step with the suction in the pit where
    the layer itself is turbulent. The first is taken; the distance to the second, at half the flow, is in the band.
    """
    logs, weights = [], []
    for reading in readings:
        flow = reading_flow(reading, ground)
        net = reading.suction - reading.at_rest
        error = math.hypot(READING_FLOOR, READING_ERROR * net)
        level = max(net, READING_FLOOR)
        both_ways = abs(math.log(_share_at_half(ground, flow)))
        logs.append(math.log(level / flow))
        weights.append(1.0 / ((error / level) ** 2 + (both_ways / 2.0) ** 2))
    mean = sum(w * x for w, x in zip(weights, logs, strict=True)) / sum(weights)
    scatter = max((x - mean) ** 2 for x in logs) if len(logs) > 1 else 0.0
    return math.exp(mean), math.sqrt(max(1.0 / sum(weights), scatter))


def _share_at_half(ground: Ground, flow: float) -> float:
    """Suction asked at half the flow over half the suction asked at the flow: 1 in laminar ground, 1/2 in turbulent."""
    whole, half = ground.linear + ground.quadratic * flow, ground.linear + ground.quadratic * flow / 2.0
    return half / whole


def own_direction(i: int, name: str, ground: Ground, n: int, k: int) -> Direction:
    """The ground around one point as a whole more or less tight: two standard deviations are its band."""
    flow = np.array([0.5 * sum(ground.tested)]) if ground.tested else np.array([0.01])
    low, high = ground.band(flow)
    spread = float(np.log(high[0] / max(low[0], 0.05 * high[0]))) / 4.0
    coupling, inertial = np.zeros((n, n)), np.zeros(n)
    coupling[i, i] = inertial[i] = spread
    return Direction(f"Ground at {name}", coupling, np.zeros((k, n)), inertial)


# --- with a plan ------------------------------------------------------------------------------------------------------


def layer_of(
    slab: Slab, slab_thickness: float, viscosity: float, factors: Callable[[str], float], cell: float, *, sealed: bool
) -> Layer:
    """The drawn floor as the physics takes it, every entered value times its calibrated factor.

    `sealed` is the floor as it will be, with what is planned to be sealed; without, as it was when it was read.
    """
    from workbench.physics.slab_parts import Footing, Zone, bed
    from workbench.physics.slab_parts import Slab as Layer

    fill = fill_kinds()[slab.fill]
    permeability = (slab.permeability or fill.permeability) * factors("fill")
    leak = (slab.leak if slab.leak is not None else slab_kind("usual").leak) * factors("leak")
    leak *= slab.leak_left if sealed else 1.0
    joints_left = slab.joints_left if sealed else 1.0
    joints = []
    for side in range(len(slab.outline)):
        edge = slab.edge(side)
        if edge.kind == "joint":
            joint = float(joint_conductance(edge.joint_width, slab_thickness, viscosity))
            joints.append(joint * factors("joint") * joints_left)
        else:
            joints.append(math.inf if edge.kind == "open" and joints_left > 0.0 else 0.0)
    return Layer(
        outline=tuple((corner.x, corner.y) for corner in slab.outline),
        transmissivity=bed(permeability, slab.thickness, viscosity).transmissivity,
        leak_house=leak * (1.0 - slab.outdoor_share),
        leak_outdoors=leak * slab.outdoor_share,
        edge_house=tuple(joints),
        zones=tuple(
            Zone(
                tuple((corner.x, corner.y) for corner in zone.outline),
                zone.permeability_factor * factors(f"zone {zone.name}"),
                zone.leak_factor,
            )
            for zone in slab.zones
        ),
        footings=tuple(
            Footing(tuple((corner.x, corner.y) for corner in footing.line), footing.opening)
            for footing in slab.footings
        ),
        cell=cell,
    )


def field_of(layer: Layer, points: tuple[SuctionPoint, ...]) -> Field:
    """The field of a layer drawn on at the suction points, each pit a half ball seen from above."""
    from workbench.physics.slab import vacuum_field

    return vacuum_field(
        layer,
        [(point.position.x, point.position.y) for point in points if point.position is not None],
        [float(hemisphere_radius(point.pit_volume)) for point in points],
    )


def is_tested(point: SuctionPoint) -> bool:
    """Whether the ground at a point was measured or entered, rather than classed."""
    return not isinstance(point.ground, GroundClass)
