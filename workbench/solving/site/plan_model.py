"""A drawn floor with its unknowns: from standard normal numbers to the ground they make.

The field is solved for some floors of the spread that is looked at, and its mesh of conductances fitted to them by
second degree in the logarithms of what gives it its shape: each zone, the slab's leakage and every group of sides, all
over the transmissivity. Where a leak leads, to the house or outdoors, enters afterwards and exactly.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import cached_property, lru_cache
from typing import NamedTuple

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from workbench.physics.arrays import Array
from workbench.physics.slab.mesh import Mesh, Shape, joined, logarithms, means_of, weights_of
from workbench.physics.slab.network import Plan, SlabNetwork, network_of
from workbench.solving.site.draws import normal
from workbench.solving.site.fit import Varied, each_nudged
from workbench.solving.site.ground_state import GroundState
from workbench.solving.site.plan_surface import FARTHEST, LEAST_SOLVES, SOLVES, Properties, Surface, surface_of, upper

# Spreads: one standard deviation, of a natural logarithm where nothing else is said. Judgements, but for those with a
# source.
ZONE_SPREAD = math.log(5.0)
_OUTDOORS = 1.2
"""Logit of the slab's outdoor share."""

_JOINT_OPEN = 0.6
"""Middle of how much of its length a joint is clear."""

JOINT_SPREAD, _JOINT_EACH = 1.2, 0.7
EARTH_SPREAD, _EARTH_EACH = 1.6, 0.5
_EVEN_NEAR = 0.5
_SKIN, _SKIN_SPREAD = 0.2, 1.5
"""Excess at the rim of a hollow, in 1/(2 pi T); its form after A. F. van Everdingen, Trans. AIME 198 (1953) 171."""

_SKIN_FALL, _SKIN_FALL_SPREAD = 1.0, 0.4
_INERTIA_FALL, _INERTIA_FALL_SPREAD = 2.0, 0.55
"""How it falls with the hollow's radius: 1 in a bed, 3 in deep soil."""

_FALLS = (0.5, 3.5)
_METER = 0.03
_TAIL = 0.9
"""How heavy the tail of a hole's own unevenness is: 0 normal; 0.9 reaches two fifths farther at 5 %. A judgement."""

_APART, _TOGETHER = 0.7, 3.0
"""Of the unevenness at holes, the share that neighbours have in common, and over what distance [m]."""

_PAIRED, _NEAREST = 0.7, 3
"""Unevenness between one hole and one point, over the whole; for so many points nearest to the hole."""

_OWN_OUTDOORS = 0.6
_UNPLACED, _UNPLACED_SPREAD = -1.0, 1.5
"""Logit of how far a hole that stands on no plan follows a pit it was read with."""

_UNEVEN, _UNEVEN_SPREAD = math.log(0.2), 0.8
_UNEVENNESS = (0.05, 0.1, 0.2, 0.35, 0.6, 1.0, 1.6)

_STRAIN = 2.0


class Sides(Struct, frozen=True):
    """A group of sides: conductance per length of the joint to the house and of the ground beside the footing."""

    joint: float
    earth: float


class Priors(Struct, frozen=True):
    """What is taken of a drawn floor before any reading.

    `transmissivity` [m3/(s Pa)] and `leak` [m/(s Pa)], each with the spread of its logarithm; `outdoors` share of the
    slab's leakage; `zones` factors on the transmissivity; `sides` groups; `inertia` at each tested hollow [Pa s2/m6]
    with the spread of its logarithm; names of points, holes and zones.
    """

    transmissivity: float
    transmissivity_spread: float
    leak: float
    leak_spread: float
    outdoors: float
    zones: tuple[float, ...]
    sides: tuple[Sides, ...]
    inertia: tuple[tuple[float, float], ...]
    points: tuple[str, ...]
    holes: tuple[str, ...]
    zone_names: tuple[str, ...]


class Hollows(Struct, frozen=True):
    """Radii of the hollows of every point, (n, 3): tested, dug and that of its class. [m]"""

    radii: tuple[tuple[float, float, float], ...]


class Sealed(Struct, frozen=True):
    """What is left of the house's share of slab leakage and joints after sealing."""

    leak: float = 1.0
    joints: float = 1.0


class _Columns:
    """Where each unknown stands in a row."""

    def __init__(self, priors: Priors, reached: Sequence[tuple[int, int]]) -> None:
        self.names: list[Varied] = []
        g = len(priors.sides)
        self.fill = self._add(Varied("fill"))
        self.zones = self._many(Varied("zone", name) for name in priors.zone_names)
        self.leak = self._add(Varied("slab leakage"))
        self.outdoors = self._add(Varied("leakage outdoors"))
        self.joint = self._add(Varied("joints"))
        self.joints = self._many(Varied("joints") for _ in range(g))
        self.earth = self._add(Varied("ground beside the footing"))
        self.earths = self._many(Varied("ground beside the footing") for _ in range(g))
        self.even = self._many(Varied("ground", p) for p in priors.points)
        self.skin = self._many(Varied("ground", p) for p in priors.points)
        self.inertia = self._many(Varied("ground", p) for p in priors.points)
        self.digging = self._add(Varied("digging"))
        self.skin_fall = self._add(Varied("digging"))
        self.spread_out = self._many(Varied("ground", p) for p in priors.points)
        self.leaky = self._many(Varied("ground", p) for p in priors.points)
        self.holes = self._many(Varied("hole", h) for h in priors.holes)
        self.pairs = self._many(Varied("hole", priors.holes[h]) for h, _ in reached)
        self.own = self._many(Varied("season at hole", h) for h in priors.holes)
        self.meter = self._add(Varied("flow meter"))
        # the mesh of points and outlets hangs on the floor's even properties and its own unevenness, on nothing else
        every, own = np.arange(len(self.names)), (self.spread_out, self.leaky)
        self.in_mesh = np.concatenate((every[: self.even.start], *(every[part] for part in own)))
        beyond = np.ones(len(every), dtype=np.bool_)
        beyond[self.in_mesh] = False
        self.beyond_mesh = np.flatnonzero(beyond)

    def _add(self, name: Varied) -> int:
        self.names.append(name)
        return len(self.names) - 1

    def _many(self, names: Iterable[Varied]) -> slice:
        start = len(self.names)
        self.names.extend(names)
        return slice(start, len(self.names))


class PlanModel(Struct, frozen=True, eq=False, dict=True):
    """Unknowns of a drawn floor; see `fit.Model`.

    `placed` (k,) tells which holes stand on the plan, `read_with` (k, n) with which points a hole was read.
    """

    network: SlabNetwork
    priors: Priors
    hollows: Hollows
    placed: tuple[bool, ...]
    places: tuple[tuple[float, float], ...]
    read_with: tuple[tuple[bool, ...], ...]
    columns: _Columns
    reached: tuple[tuple[int, int], ...]
    near: Array
    common: Array
    surface: Surface
    sealed: Sealed = Sealed()

    @property
    def unknowns(self) -> tuple[Varied, ...]:
        """As `fit.Model`."""
        return tuple(self.columns.names)

    @property
    def unevenness(self) -> tuple[tuple[float, float], ...]:
        """As `fit.Model`."""
        return tuple((tau, math.exp(-0.5 * ((math.log(tau) - _UNEVEN) / _UNEVEN_SPREAD) ** 2)) for tau in _UNEVENNESS)

    @cached_property
    def shape(self) -> Shape:
        """Of the mesh, placed holes only."""
        return Shape(len(self.priors.points), sum(self.placed), self.network.outlets)

    def meter(self, x: Array) -> Array:
        """As `fit.Model`."""
        return np.asarray(_METER * x[..., self.columns.meter])

    def strain(self, x: Array) -> Array:
        """As `fit.Model`: where the surface has not been fitted to the field it is not trusted far."""
        z = (self.properties(x).phi() - self.surface.centre) / self.surface.scale
        return np.asarray(_STRAIN * np.sign(z) * np.maximum(np.abs(z) - FARTHEST, 0.0))

    @cached_property
    def _zones(self) -> Array:
        return np.array(self.priors.zones)

    @cached_property
    def _sides(self) -> Array:
        """Conductances to the house and beside the footing, (2, g)."""
        return np.array([(side.joint, side.earth) for side in self.priors.sides]).reshape(-1, 2).T

    @cached_property
    def _on_plan(self) -> NDArray[np.intp]:
        return np.flatnonzero(self.placed)

    @cached_property
    def _pairs(self) -> NDArray[np.intp]:
        """Holes and points that have an unevenness of their own between them, (2, pairs)."""
        return np.array(self.reached, dtype=np.intp).reshape(-1, 2).T

    def properties(self, x: Array) -> Properties:
        """The floor's even properties for rows x."""
        c, p, seal = self.columns, self.priors, self.sealed
        t = p.transmissivity * np.exp(p.transmissivity_spread * x[..., c.fill])
        joints, earths = self._sides
        zones = self._zones * np.exp(ZONE_SPREAD * x[..., c.zones])
        leak = p.leak * np.exp(p.leak_spread * x[..., c.leak])
        middle = min(max(p.outdoors, 0.02), 0.98)
        share = 1.0 / (1.0 + np.exp(-(math.log(middle / (1.0 - middle)) + _OUTDOORS * x[..., c.outdoors])))
        joint = joints * np.exp(JOINT_SPREAD * x[..., c.joint, None] + _JOINT_EACH * x[..., c.joints])
        earth = earths * np.exp(EARTH_SPREAD * x[..., c.earth, None] + _EARTH_EACH * x[..., c.earths])
        joint = _JOINT_OPEN * seal.joints * joint
        house, outdoors = leak * (1.0 - share) * seal.leak, leak * share
        return Properties(t, zones, house, outdoors, joint, earth)

    def state(self, x: Array, unevenness: Array) -> GroundState:
        """As `fit.Model`."""
        tau = np.asarray(unevenness)
        return self._ground(x, tau, self._mesh(x, tau))

    def exactly(self, x: Array, unevenness: Array) -> GroundState:
        """As `state`, the field solved for every row instead of read off its surface; x of shape (s, d)."""
        tau = np.asarray(unevenness)
        logs = np.stack([logarithms(self.network.solve(shapes)) for shapes in self.properties(x).shapes()])
        return self._ground(x, tau, self._mesh(x, tau, logs))

    def altered(self, x: Array, unevenness: Array, fill: Array, leakage: Array) -> GroundState:
        """The floor of one row x (d,) since its fill's permeability and its leakage to the house changed.

        By factors of shape (w,); the field is solved for each and only its change is taken, so that 1 changes nothing.
        """
        tau, p, seal = np.asarray(unevenness), self.priors, self.sealed
        here = self.surface.at(self.properties(x).phi()) - self._solved(x)
        found = []
        for f, leak in zip(fill, leakage, strict=True):
            model = replace(
                self,
                priors=replace(p, transmissivity=p.transmissivity * float(f)),
                sealed=Sealed(seal.leak * float(leak), seal.joints * float(leak)),
            )
            found.append(model._ground(x, tau, model._mesh(x, tau, here + model._solved(x))))
        return GroundState(*(np.stack(parts) for parts in zip(*found, strict=True)))

    def at_hole(self, x: Array, hole: int, radii: Array) -> tuple[Array, Array]:
        """Suction at a hole for a flow drawn there through openings of radii (r,), and at all holes; (r,), (k,).

        By the even floor of one row x (d,); not a number at holes that stand on no plan. [Pa s/m3]

        Raises
        ------
        ValueError
            When a place makes no field.
        """
        plan, n = self.network.plan, self.shape.n
        more = plan._replace(points=(*plan.points, self.places[hole]), radii=(*plan.radii, float(radii.max())))
        network, properties = network_of(more), self.properties(x[None])
        (shapes,) = properties.shapes()
        seen, t = network.solve(shapes), float(properties.transmissivity[0])
        here = t * float(network.transmissivity_at_points(properties.zones)[0, n])
        own = seen.points[n, n] / t + np.array([network.near_pit(n, float(r)) for r in radii]) / here
        others = np.full(len(self.placed), np.nan)
        others[self._on_plan] = seen.holes[:, n] / t
        return own, others

    def _solved(self, x: Array) -> Array:
        """Logarithms of the mesh of one row, by the field itself."""
        (shapes,) = self.properties(x[None]).shapes()
        return logarithms(self.network.solve(shapes))

    def beside(self, x: Array, unevenness: Array, nudge: float) -> GroundState:
        """As `fit.Model`; the mesh of points and outlets, which takes longest, for the unknowns alone that move it."""
        c, tau = self.columns, np.asarray(unevenness)[..., None]
        rows = each_nudged(x, nudge)
        moved = self.state(rows[..., c.in_mesh, :], tau)
        kept = self._ground(rows[..., c.beyond_mesh, :], tau, self._mesh(x[..., None, :], tau))
        found = []
        for one, other, tail in zip(moved, kept, (2, 2, 2, 2, 1, 1, 0), strict=True):
            axis = one.ndim - tail - 1
            whole = np.empty((*one.shape[:axis], x.shape[-1], *one.shape[axis + 1 :]))
            first = np.moveaxis(whole, axis, 0)
            first[c.in_mesh] = np.moveaxis(one, axis, 0)
            first[c.beyond_mesh] = np.moveaxis(other, axis, 0)
            found.append(whole)
        return GroundState(*found)

    def _mesh(self, x: Array, tau: Array, logs: Array | None = None) -> _Laid:
        c, shape = self.columns, self.shape
        properties = self.properties(x)
        logs = self.surface.at(properties.phi()) if logs is None else np.array(logs)
        spread = tau[..., None] * x[..., c.spread_out]
        rows, columns = upper(shape.n, 1)
        logs[..., shape.pairs] += spread[..., rows] + spread[..., columns]
        logs[..., shape.outlets] += np.repeat(tau[..., None] * x[..., c.leaky], shape.o, axis=-1)
        return _Laid(properties, logs, *joined(logs, shape))

    def _ground(self, x: Array, tau: Array, laid: _Laid) -> GroundState:
        """The ground on a mesh; rows x may be many to one of its."""
        properties, logs, resistance, shares = laid
        c, shape = self.columns, self.shape
        batch = x.shape[:-1]
        local = np.zeros((*batch, len(self.placed), shape.n))
        local += (tau[..., None] * (np.sinh(_TAIL * x[..., c.holes]) / _TAIL @ self.common.T))[..., None]
        if self.reached:
            hole, point = self._pairs
            local[..., hole, point] += _PAIRED * tau[..., None] * x[..., c.pairs]
        own_weights = logs[..., shape.weights] + local[..., self._on_plan, :].reshape(*batch, shape.k * shape.n)
        weights, rests = weights_of(own_weights, logs[..., shape.rests], shape)
        mesh = Mesh(resistance, shares, weights, rests, means_of(logs, shape))
        outdoors = properties.outdoor_shares()
        odds = np.exp(_OWN_OUTDOORS * x[..., c.own])[..., None]
        own = outdoors[..., None, :] * odds / (outdoors[..., None, :] * (odds - 1.0) + 1.0)
        t = properties.transmissivity
        local_t = t[..., None] * self.network.transmissivity_at_points(properties.zones)
        layer = mesh.resistance / t[..., None, None]
        rest_points = np.clip(mesh.felt_at_points(outdoors), 0.0, 1.0)
        weights, rest_holes = self._at_holes(x, mesh, own, outdoors)
        return GroundState(
            layer=layer,
            near=self._near_pits(x, local_t),
            inertial=self._inertia(x),
            holes=np.matmul(weights, layer),
            rest_points=rest_points,
            rest_holes=np.clip(rest_holes, 0.0, 1.0),
            mean_rest=np.clip(np.sum(mesh.means * outdoors, axis=-1), 0.0, 1.0),
        )

    def _at_holes(self, x: Array, mesh: Mesh, own: Array, outdoors: Array) -> tuple[Array, Array]:
        """Weights of the points at all holes and what these feel of the outdoors; unplaced ones by readings alone."""
        placed = self._on_plan
        if placed.size == len(self.placed):
            return mesh.weights, mesh.felt_at_holes(outdoors, own)
        n = self.shape.n
        batch = x.shape[:-1]
        weights = np.full((*batch, len(self.placed), n), np.nan)
        rests = np.zeros((*batch, len(self.placed)))
        weights[..., placed, :] = mesh.weights
        rests[..., placed] = mesh.felt_at_holes(outdoors, own[..., placed, :])
        mean = np.sum(mesh.means * outdoors, axis=-1)
        for h in np.flatnonzero(~np.array(self.placed)):
            odds = np.exp(_OWN_OUTDOORS * x[..., self.columns.own][..., h])
            rests[..., h] = mean * odds / (mean * (odds - 1.0) + 1.0)
            read = np.array(self.read_with[h])
            if read.any():
                logit = _UNPLACED + _UNPLACED_SPREAD * x[..., self.columns.holes][..., h]
                share = 1.0 / (1.0 + np.exp(-logit))
                weights[..., h, :] = share[..., None] * read / read.sum()
        return weights, rests

    def _near_pits(self, x: Array, local_t: Array) -> Array:
        c = self.columns
        even = np.exp(_EVEN_NEAR * x[..., c.even])[..., None, :] * self.near.T
        skin = _SKIN * np.exp(_SKIN_SPREAD * x[..., c.skin]) / (2.0 * math.pi)
        fall = np.maximum(_SKIN_FALL + _SKIN_FALL_SPREAD * x[..., c.skin_fall], 0.0)
        return np.asarray((even + skin[..., None, :] * self._ratio ** fall[..., None, None]) / local_t[..., None, :])

    def _inertia(self, x: Array) -> Array:
        c = self.columns
        middle, spread = self._tested
        tested = middle * np.exp(spread * x[..., c.inertia])
        fall = np.clip(_INERTIA_FALL + _INERTIA_FALL_SPREAD * x[..., c.digging], *_FALLS)
        return np.asarray(tested[..., None, :] * self._ratio ** fall[..., None, None])

    @cached_property
    def _tested(self) -> Array:
        """Inertial resistance at the tested hollows and the spread of its logarithm, (2, n)."""
        return np.array(self.priors.inertia).T

    @cached_property
    def _ratio(self) -> Array:
        """Radius of the tested hollow over that of each, (3, n)."""
        radii = np.array(self.hollows.radii).T
        return np.asarray(radii[0] / radii)

    def along(self, x: Array) -> PlanModel:
        """The same model, its field solved anew around rows x, shape (s, d): exact where they lie."""
        return replace(self, surface=surface_of(self.network, self.properties(x)))

    def sealed_by(self, sealed: Sealed, x: Array) -> PlanModel:
        """The floor as it will be after sealing, solved anew around rows x."""
        return replace(self, sealed=sealed).along(x)

    def with_hollows(self, hollows: Hollows) -> PlanModel:
        """The same floor with other pits, which must fit the discs of the network."""
        return replace(self, hollows=hollows, near=_near(self.network, hollows))


class _Laid(NamedTuple):
    """Rows laid out: even properties, logarithms of the mesh with the points' unevenness, and what `joined` makes."""

    properties: Properties
    logs: Array
    resistance: Array
    shares: Array


def _near(network: SlabNetwork, hollows: Hollows) -> Array:
    return np.array([[network.near_pit(i, r) for r in radii] for i, radii in enumerate(hollows.radii)])


def _common(places: tuple[tuple[float, float], ...], placed: tuple[bool, ...]) -> Array:
    """Root of the covariance of the holes' own unevenness, (k, k), for an unevenness of 1."""
    at = np.array(places, dtype=np.float64).reshape(len(placed), 2)
    apart = np.hypot(*(at[:, None] - at[None]).transpose(2, 0, 1))
    known = np.array(placed)
    shared = np.where(np.outer(known, known), np.exp(-apart / _TOGETHER), 0.0)
    covariance = _APART * shared
    covariance[np.arange(len(known)), np.arange(len(known))] = 1.0
    return np.asarray(np.linalg.cholesky(covariance)) if len(known) else np.zeros((0, 0))


@lru_cache(maxsize=32)
def _firstsurface_of(plan: Plan, priors: Priors) -> tuple[SlabNetwork, Surface]:
    """The network of a plan and its surface over all that the priors allow."""
    network = network_of(plan)
    columns = _Columns(priors, ())
    pits = Hollows(((0.1, 0.1, 0.1),) * len(plan.points))
    bare = PlanModel(
        network, priors, pits, (), (), (), columns, (), np.zeros(0), np.zeros(0),
        Surface(np.zeros(0), np.ones(0), np.zeros((0, 0))),
    )  # fmt: skip
    d = len(columns.names)
    features = (len(priors.zones) + 1 + len(priors.sides) + 1) * (len(priors.zones) + 2 + len(priors.sides) + 1) // 2
    rows = normal("unknowns", max(LEAST_SOLVES, round(SOLVES * features)), d)
    return network, surface_of(network, bare.properties(rows))


def plan_model(
    plan: Plan,
    priors: Priors,
    hollows: Hollows,
    placed: tuple[bool, ...],
    read_with: tuple[tuple[bool, ...], ...],
) -> PlanModel:
    """The unknowns of a drawn floor.

    Parameters
    ----------
    plan
        Its holes are the placed ones, in order.
    placed
        Which of all holes stand on the plan.
    read_with
        For all holes, with which points each was read.

    Raises
    ------
    ValueError
        With a sentence, when the plan makes no field.
    """
    network, surface = _firstsurface_of(plan, _geometry_only(priors))
    waiting = iter(plan.holes)
    places = tuple(next(waiting) if on else (0.0, 0.0) for on in placed)
    points = np.array(plan.points)
    reached = []
    if len(points) > 1:
        for h, on in enumerate(placed):
            if on:
                order = np.argsort(np.hypot(*(points - places[h]).T))[:_NEAREST]
                reached += [(h, int(i)) for i in order]
    columns = _Columns(priors, reached)
    return PlanModel(
        network,
        priors,
        hollows,
        placed,
        places,
        read_with,
        columns,
        tuple(reached),
        _near(network, hollows),
        _common(places, placed),
        surface,
    )


def _geometry_only(priors: Priors) -> Priors:
    """The priors without what the field does not hang on, so that renaming a hole solves nothing again."""
    points = tuple(str(i) for i in range(len(priors.points)))
    return replace(priors, holes=(), points=points, inertia=((1.0, 1.0),) * len(points))
