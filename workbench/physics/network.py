"""A tree of pipes between suction points and one outlet, solved whole.

Air enters at n suction points, flows through m runs and t junctions, passes the fan and leaves.
In series, pressures add at one flow; in parallel, flows add at one pressure. Because the loss in
a converging junction depends on how the flow is shared, and because suction points may share the
ground, no branch can be reduced on its own: the flows of all points are found together.

Every array function takes leading batch axes, so a whole curve, or a cloud of samples, is one call.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import cached_property
from typing import NamedTuple

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import ArrayLike

from workbench.physics.arrays import Array, Bools, Indices
from workbench.physics.fittings import converging_side_k, converging_straight_k
from workbench.physics.newton import Balance, Equations, FanPressure, Held, Meeting, Paths, blocks, newton
from workbench.physics.pipe import fitting_loss, friction_loss_and_slope

_TOLERANCE = 1e-11
_NUDGE = 1e-6
_EASING = (*(1e5 * 0.5**i for i in range(26)), 0.0)
"""Resistances taken away step by step where the flows cannot be found at once. [Pa s/m3]"""


class NoConvergence(ArithmeticError):
    """The flows of a network could not be found; never swallowed, it marks a fault in the model."""


class JunctionLegs(Struct, frozen=True, eq=False):
    """A converging junction: which points enter straight, which from the side.

    Attributes
    ----------
    straight, side : array, shape (n,)
        1 where the point's air comes by that leg.
    angle
        Angle between the side leg and the common leg. [deg]
    area
        Bore of the common leg; of shape (w,) where w networks are stacked. [m2]
    area_ratio
        Bore of the side leg over the bore of the common leg.
    straight_k, side_k
        Loss coefficients on the common leg's velocity pressure that replace the published forms.
    """

    straight: Array
    side: Array
    angle: float
    area: float | Array
    area_ratio: float
    straight_k: float | None = None
    side_k: float | None = None


class Scatter(NamedTuple):
    """Factors on each kind of loss, each broadcastable against the batch shape with one axis more.

    `friction` and `fittings` (..., m), or (..., 1) where all runs are as far off as each other; `junctions` (..., t)
    or (..., 1).
    """

    friction: ArrayLike = 1.0
    fittings: ArrayLike = 1.0
    junctions: ArrayLike = 1.0


AS_CALCULATED = Scatter()


class Parts(NamedTuple):
    """Losses part by part, Pa, each with the batch shape in front.

    `ground` (..., n) is the suction left in the pit; `friction` and `fittings` (..., m);
    `straight` and `side` (..., t) the two legs of each junction.
    """

    ground: Array
    friction: Array
    fittings: Array
    straight: Array
    side: Array


class Flows(NamedTuple):
    """Flows (..., n) [m3/s], and for which members of a batch they were found, shape (...); NaN where not."""

    flows: Array
    settled: Bools


class _Legs(NamedTuple):
    """The junctions as arrays: `straight` and `side` (t, n), the rest (t,); coefficients NaN where the forms serve."""

    straight: Array
    side: Array
    angle: Array
    area_ratio: Array
    straight_k: Array
    side_k: Array


class Laid(NamedTuple):
    """What may differ between the members of a batch, each of shape (...) and what `Network` and `Scatter` say."""

    coupling: Array
    inertial: Array
    draft: Array
    diameter: Array
    length: Array
    roughness: Array
    k: Array
    area: Array
    friction: Array
    fittings: Array
    junctions: Array

    def flat(self, batch: tuple[int, ...]) -> Laid:
        """With the batch axes as one, or without one where all are alike."""
        kept = (2, *[1] * (len(self) - 1))
        return Laid(
            *(
                part
                if part.ndim <= tail
                else np.broadcast_to(part, (*batch, *part.shape[-tail:])).reshape(math.prod(batch), *part.shape[-tail:])
                for part, tail in zip(self, kept, strict=True)
            )
        )

    def of(self, members: Indices) -> Laid:
        """Some members of what `flat` made."""
        kept = (2, *[1] * (len(self) - 1))
        return Laid(*(part if part.ndim <= tail else part[members] for part, tail in zip(self, kept, strict=True)))


class Network(Struct, frozen=True, eq=False, dict=True):
    """Everything between the soil and the outlet but the fan.

    Attributes
    ----------
    coupling : array, shape (..., n, n)
        Suction at point i for unit flow at point j through the ground; diagonal when the points
        do not feel each other. A batch of them goes with a batch of flows. [Pa s/m3]
    inertial : array, shape (..., n)
        Inertial resistance around each pit. [Pa s2/m6]
    upstream : array, shape (m, n)
        1 where the air of a point passes a run.
    diameter, length, roughness, k : array, shape (m,), or (w, m) where w networks are stacked
        Runs; `k` is the sum of the loss coefficients on the run's own velocity pressure.
    junctions : tuple of JunctionLegs
    draft : array, shape (..., n)
        Lift by warm air on the way of each point, positive when it helps the fan. [Pa]
    density, viscosity : float
        Of the air in the pipe. [kg/m3], [Pa s]
    """

    coupling: Array
    inertial: Array
    upstream: Array
    diameter: Array
    length: Array
    roughness: Array
    k: Array
    junctions: tuple[JunctionLegs, ...]
    draft: Array
    density: float
    viscosity: float

    @property
    def points(self) -> int:
        """Number of suction points."""
        return int(self.inertial.shape[-1])

    @cached_property
    def _legs(self) -> _Legs:
        def table(rows: list[Array]) -> Array:
            return np.array(rows, dtype=np.float64).reshape(len(rows), self.points)

        def column(values: list[float | None]) -> Array:
            return np.array([np.nan if value is None else value for value in values], dtype=np.float64)

        return _Legs(
            straight=table([legs.straight for legs in self.junctions]),
            side=table([legs.side for legs in self.junctions]),
            angle=column([legs.angle for legs in self.junctions]),
            area_ratio=column([legs.area_ratio for legs in self.junctions]),
            straight_k=column([legs.straight_k for legs in self.junctions]),
            side_k=column([legs.side_k for legs in self.junctions]),
        )

    @cached_property
    def pattern(self) -> Array:
        """Where the slopes of ground, runs and junctions go in the Jacobian, shape (n + m + 4 t, n n)."""
        ground, legs = np.eye(self.points), self._legs
        pairs = [
            (ground, ground),
            (self.upstream, self.upstream),
            (legs.straight, legs.straight),
            (legs.straight, legs.side),
            (legs.side, legs.straight),
            (legs.side, legs.side),
        ]
        return np.concatenate([np.einsum("pi,pj->pij", rows, columns) for rows, columns in pairs]).reshape(
            -1, self.points * self.points
        )

    def laid(self, scatter: Scatter = AS_CALCULATED) -> Laid:
        """All that may differ between the members of a batch."""
        areas = [np.asarray(legs.area, dtype=np.float64) for legs in self.junctions]
        factors = (np.atleast_1d(np.asarray(factor, dtype=np.float64)) for factor in scatter)
        return Laid(
            self.coupling,
            self.inertial,
            self.draft,
            self.diameter,
            self.length,
            self.roughness,
            self.k,
            np.stack(areas, axis=-1) if areas else np.zeros(0),
            *factors,
        )

    def losses(self, laid: Laid, flows: Array) -> tuple[Parts, Array]:
        """Losses, and their slopes by flow, shape (..., n + m + 4 t), in the order of `pattern`."""
        size = np.abs(flows)
        linear = np.matmul(laid.coupling, flows[..., None])[..., 0]
        through = flows @ self.upstream.T
        friction, rise = friction_loss_and_slope(
            through, laid.diameter, laid.length, laid.roughness, self.density, self.viscosity
        )
        square = fitting_loss(1.0, laid.diameter, laid.k, self.density) * laid.fittings
        turbulent = square * np.abs(through)
        (straight, side), by_legs = self._junction_losses(laid, flows)
        parts = Parts(
            ground=linear + laid.inertial * flows * size,
            friction=friction * laid.friction,
            fittings=turbulent * through,
            straight=straight,
            side=side,
        )
        slopes = (2.0 * laid.inertial * size, rise * laid.friction + 2.0 * turbulent, *by_legs)
        return parts, np.concatenate(slopes, axis=-1)

    def _junction_losses(self, laid: Laid, flows: Array) -> tuple[list[Array], list[Array]]:
        """Losses of the straight and the side legs, (..., t), and the slopes of each by the flow of either."""
        if not self.junctions:
            none = np.zeros((*flows.shape[:-1], 0))
            return [none, none], []
        legs = self._legs
        by_side, by_straight = flows @ legs.side.T, flows @ legs.straight.T
        common = by_side + by_straight
        with np.errstate(divide="ignore", invalid="ignore"):
            share = np.where(common != 0.0, by_side / common, 0.5)
        half = (0.5 * self.density * laid.junctions) / laid.area**2 * np.abs(common)
        losses, slopes = [], []
        for form, fixed in ((converging_straight_k, legs.straight_k), (converging_side_k, legs.side_k)):
            published = form(np.stack((share, share + _NUDGE)), legs.angle, legs.area_ratio)
            k, nudged = np.where(np.isnan(fixed), published, fixed)
            by_share = (nudged - k) / _NUDGE
            losses.append(k * (half * common))
            slopes += [half * (2.0 * k - by_share * share), half * (2.0 * k + by_share * (1.0 - share))]
        return losses, slopes

    def asked(self, parts: Parts, draft: Array) -> Array:
        """Pressure each point's path asks of the fan for given losses and draft, shape (..., n). [Pa]"""
        legs = self._legs
        pipes = (parts.friction + parts.fittings) @ self.upstream
        return parts.ground + pipes + parts.straight @ legs.straight + parts.side @ legs.side - draft

    def parts(self, flows: Array, scatter: Scatter = AS_CALCULATED) -> Parts:
        """Loss of every part at given flows of the points, shape (..., n) [m3/s]."""
        return self.losses(self.laid(scatter), np.asarray(flows, dtype=np.float64))[0]

    def required(self, flows: Array, scatter: Scatter = AS_CALCULATED) -> Array:
        """Pressure each point's path asks of the fan, shape (..., n). [Pa]"""
        return self.asked(self.parts(flows, scatter), self.draft)

    def curve(self, total: ArrayLike, scatter: Scatter = AS_CALCULATED) -> tuple[Array, Array]:
        """System curve: the pressure asked of the fan at each total flow.

        Parameters
        ----------
        total : array, shape (...)
            Flow through the fan. [m3/s]

        Returns
        -------
        pressure : array, shape (...)
            [Pa]
        flows : array, shape (..., n)
            How the points share the flow. [m3/s]

        Raises
        ------
        NoConvergence
        """
        q = np.asarray(total, dtype=np.float64)
        flows = q[..., None]
        if self.points > 1:
            start = self.first_share() * q[..., None]
            weight, wanted = self.stiffness, np.broadcast_to(q, start.shape[:-1]).ravel()

            def lack(at: Array, members: Indices) -> tuple[Array, Array]:
                # scaled so that a fault in the flow weighs like a fault in the pressure
                return (at.sum(axis=-1) - wanted[members]) * weight, np.full(at.shape, weight)

            flows = _all(self.balance(lack, start, scatter))
        return self.required(flows, scatter)[..., -1], flows

    @property
    def stiffness(self) -> float:
        """A resistance that weighs a fault in the flow like one in the pressure. [Pa s/m3]"""
        own = np.diagonal(self.coupling, axis1=-2, axis2=-1)
        return float(np.mean(own, where=np.isfinite(own))) + 1e3 if np.isfinite(own).any() else 1e3

    def first_share(self) -> Array:
        """How the points may share the flow, shape (..., n): where a search for their flows begins."""
        ease = 1.0 / (np.diagonal(self.coupling, axis1=-2, axis2=-1) + np.sqrt(self.inertial) + 1e3)
        return np.asarray(ease / ease.sum(axis=-1, keepdims=True))

    def meet(
        self,
        fan_pressure: FanPressure,
        flows: Array,
        scatter: Scatter = AS_CALCULATED,
        tolerance: float = _TOLERANCE,
    ) -> Array:
        """As `meet_each`, when every member has to settle.

        Raises
        ------
        NoConvergence
            If one does not.
        """
        return _all(self.meet_each(fan_pressure, flows, scatter, tolerance))

    def meet_each(
        self,
        fan_pressure: FanPressure,
        flows: Array,
        scatter: Scatter = AS_CALCULATED,
        tolerance: float = _TOLERANCE,
    ) -> Flows:
        """Flows at which every path asks exactly what the fan gives at their sum.

        Parameters
        ----------
        fan_pressure
            Fan pressure [Pa] as a function of total flow [m3/s], for arrays of the batch shape with an axis in front.
        flows : array, shape (..., n)
            First guess, of the whole batch shape.
        tolerance : float
            Error left in the flows, as a share of a member's greatest.

        Notes
        -----
        Losses odd and rising in the flow, coupling symmetric and positive definite, and a fan that does not rise make
        the flows the minimum of a strictly convex function (Boyd and Vandenberghe, Convex Optimization, 2004, 9.5):
        they exist, are the only ones, and are found from anywhere. Junctions, whose losses hang on how the air is
        shared, break the potential; flows are then sought
        from those without junctions, should the guess not lead there.
        """
        return self._found(lambda paths: Meeting(paths, fan_pressure), flows, scatter, tolerance)

    def balance(self, held: Held, flows: Array, scatter: Scatter = AS_CALCULATED) -> Flows:
        """Flows at which all paths ask the same of the fan, and what is held to nothing is nothing.

        Parameters
        ----------
        held
            From flows of some members to what is to be nothing, with its slopes.
        flows : array, shape (..., n)
            First guess, of the whole batch shape.
        """
        return self._found(lambda paths: Balance(paths, held), flows, scatter, _TOLERANCE)

    def _found(
        self, equations: Callable[[Paths], Equations], start: Array, scatter: Scatter, tolerance: float
    ) -> Flows:
        first = np.asarray(start, dtype=np.float64)
        paths = _Tree(self, self.laid(scatter).flat(first.shape[:-1]), first)
        flows = paths.start.copy()
        settled = newton(equations(paths), flows, np.arange(len(flows)), tolerance)
        lost = np.flatnonzero(~settled)
        if lost.size and self.junctions:
            without = newton(equations(paths.without_junctions()), flows, lost, tolerance)
            settled |= newton(equations(paths), flows, np.flatnonzero(without), tolerance)
            lost = np.flatnonzero(~settled)
        if lost.size:
            # air in junctions turns where drafts differ and the ground is wide open: the losses bend sharply there
            flows[lost] = paths.start[lost]
            for easing in _EASING:
                lost = np.flatnonzero(newton(equations(replace(paths, easing=easing)), flows, lost, tolerance))
            settled[lost] = True
        flows[~settled] = np.nan
        return Flows(flows.reshape(first.shape), settled.reshape(first.shape[:-1]))


class _Tree(Struct, frozen=True, eq=False):
    """What the paths of a batch ask, as `Paths` has it; `easing` is a resistance that each point has on top."""

    network: Network
    laid: Laid
    given: Array
    easing: float = 0.0

    @property
    def batch(self) -> tuple[int, ...]:
        return self.given.shape[:-1]

    @property
    def start(self) -> Array:
        return self.given.reshape(-1, self.network.points)

    def without_junctions(self) -> _Tree:
        bare = self.laid._replace(area=np.zeros(0), junctions=np.ones(1))
        return replace(self, network=replace(self.network, junctions=()), laid=bare)

    def asked(self, flows: Array, members: Indices) -> tuple[Array, Array]:
        asked, slopes = [], []
        for some in blocks(len(members)):
            laid = self.laid.of(members[some])
            parts, by_flow = self.network.losses(laid, flows[some])
            asked.append(self.network.asked(parts, laid.draft) + self.easing * flows[some])
            slopes.append(by_flow)
        return np.concatenate(asked), np.concatenate(slopes)

    def jacobian(self, slopes: Array, members: Indices) -> Array:
        n = self.network.points
        coupling = self.laid.coupling
        linear = coupling if coupling.ndim == 2 else coupling[members]
        eased = linear + self.easing * np.eye(n) if self.easing else linear
        return np.asarray((slopes @ self.network.pattern).reshape(-1, n, n) + eased)


def _all(found: Flows) -> Array:
    if not np.all(found.settled):
        raise NoConvergence("the flows of the pipe tree did not settle")
    return found.flows


def stacked(networks: Sequence[Network]) -> Network:
    """Networks of one layout side by side, so that flows of shape (..., w, n) answer for all w at once.

    Raises
    ------
    ValueError
        If they differ in anything but resistances, runs, bores and drafts.
    """
    first = networks[0]
    for other in networks[1:]:
        alike = first.upstream.shape == other.upstream.shape and np.array_equal(first.upstream, other.upstream)
        if not alike or (first.density, first.viscosity) != (other.density, other.viscosity):
            raise ValueError("only networks of one layout in one air can be stacked")
        for a, b in zip(first.junctions, other.junctions, strict=True):
            if (a.angle, a.area_ratio, a.straight_k, a.side_k) != (b.angle, b.area_ratio, b.straight_k, b.side_k):
                raise ValueError("only networks with the same junctions can be stacked")
    return replace(
        first,
        coupling=np.stack([one.coupling for one in networks]),
        inertial=np.stack([one.inertial for one in networks]),
        diameter=np.stack([one.diameter for one in networks]),
        length=np.stack([one.length for one in networks]),
        roughness=np.stack([one.roughness for one in networks]),
        k=np.stack([one.k for one in networks]),
        draft=np.stack([one.draft for one in networks]),
        junctions=tuple(
            replace(legs, area=np.array([one.junctions[t].area for one in networks]))
            for t, legs in enumerate(first.junctions)
        ),
    )
