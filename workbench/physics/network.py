"""A tree of pipes between suction points and one outlet, solved whole.

Air enters at n suction points, flows through m runs and t junctions, passes the fan and leaves.
In series, pressures add at one flow; in parallel, flows add at one pressure. Because the loss in
a converging junction depends on how the flow is shared, and because suction points may share the
ground, no branch can be reduced on its own: the flows of all points are found together.

Every array function takes leading batch axes, so a whole curve, or a cloud of samples, is one call.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from workbench.physics.fittings import converging_side_k, converging_straight_k
from workbench.physics.pipe import fitting_loss, friction_loss

Array = NDArray[np.float64]

FanPressure = Callable[[Array], Array]
"""Fan pressure [Pa] as a function of total flow [m3/s]."""

_MOST_STEPS = 60
_MOST_HALVINGS = 12
_TOLERANCE = 1e-11
_ROUNDING = 1e-7
"""Part of the flow scale below which a step that no longer lowers the residual is rounding and nothing else."""
_FLOOR_PA = 1e-9
_EASING = (*(1e5 * 0.5**i for i in range(26)), 0.0)
"""Resistances taken away step by step where the flows cannot be found at once. [Pa s/m3]"""


class NoConvergence(ArithmeticError):
    """The flows of a network could not be found; never swallowed, it marks a fault in the model."""


@dataclass(frozen=True, eq=False)
class JunctionLegs:
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
    """Factors on each kind of loss, each broadcastable against the batch shape."""

    ground: ArrayLike = 1.0
    friction: ArrayLike = 1.0
    fittings: ArrayLike = 1.0


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


@dataclass(frozen=True, eq=False)
class Network:
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

    def parts(self, flows: Array, scatter: Scatter = AS_CALCULATED) -> Parts:
        """Loss of every part at given flows of the points, shape (..., n) [m3/s]."""
        linear = np.matmul(self.coupling, flows[..., None])[..., 0]
        ground = (linear + self.inertial * flows * np.abs(flows)) * _column(scatter.ground)
        through = flows @ self.upstream.T
        friction = friction_loss(
            through, self.diameter, self.length, self.roughness, self.density, self.viscosity
        ) * _column(scatter.friction)
        bends = _column(scatter.fittings)
        fittings = fitting_loss(through, self.diameter, self.k, self.density) * bends
        shape = (*flows.shape[:-1], len(self.junctions))
        straight, side = np.zeros(shape), np.zeros(shape)
        for t, legs in enumerate(self.junctions):
            by_side, by_straight = flows @ legs.side, flows @ legs.straight
            common = by_side + by_straight
            with np.errstate(divide="ignore", invalid="ignore"):
                share = np.where(common != 0.0, by_side / common, 0.5)
            dynamic = 0.5 * self.density * common * np.abs(common) / legs.area**2 * bends[..., 0]
            k_side = converging_side_k(share, legs.angle, legs.area_ratio) if legs.side_k is None else legs.side_k
            k_straight = (
                converging_straight_k(share, legs.angle, legs.area_ratio)
                if legs.straight_k is None
                else legs.straight_k
            )
            side[..., t], straight[..., t] = k_side * dynamic, k_straight * dynamic
        return Parts(ground, friction, fittings, straight, side)

    def required(self, flows: Array, scatter: Scatter = AS_CALCULATED) -> Array:
        """Pressure each point's path asks of the fan, shape (..., n). [Pa]"""
        parts = self.parts(flows, scatter)
        need: Array = parts.ground + (parts.friction + parts.fittings) @ self.upstream - self.draft
        for t, legs in enumerate(self.junctions):
            need = need + parts.straight[..., t, None] * legs.straight + parts.side[..., t, None] * legs.side
        return need

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
        scatter = Scatter(*(np.broadcast_to(np.asarray(s, dtype=np.float64), q.shape) for s in scatter))
        if self.points == 1:
            flows = q[..., None]
            return self.required(flows, scatter)[..., 0], flows

        def residual(flows: Array, easing: float = 0.0) -> Array:
            need = self.required(flows, scatter) + easing * flows
            balance = need[..., :-1] - need[..., -1:]
            # scaled so that a fault in the flow weighs like a fault in the pressure
            lack = (flows.sum(axis=-1) - q) * self.stiffness
            return np.concatenate((balance, lack[..., None]), axis=-1)

        flows, scale = self.first_share() * q[..., None], self._flow_scale(q)
        try:
            flows = newton(residual, flows, scale)
        except NoConvergence:
            # air in junctions turns where drafts differ and the ground is wide open: the losses bend sharply there
            for easing in _EASING:
                flows = newton(partial(residual, easing=easing), flows, scale)
        return self.required(flows, scatter)[..., -1], flows

    @property
    def stiffness(self) -> float:
        """A resistance that weighs a fault in the flow like one in the pressure. [Pa s/m3]"""
        return float(np.mean(np.diagonal(self.coupling, axis1=-2, axis2=-1))) + 1e3

    def first_share(self) -> Array:
        """How the points may share the flow, shape (..., n): where a search for their flows begins."""
        ease = 1.0 / (np.diagonal(self.coupling, axis1=-2, axis2=-1) + np.sqrt(self.inertial) + 1e3)
        return np.asarray(ease / ease.sum(axis=-1, keepdims=True))

    def _flow_scale(self, q: Array) -> float:
        return max(float(np.max(np.abs(q), initial=0.0)), 1e-4)

    def meet(
        self,
        fan_pressure: FanPressure,
        flows: Array,
        scatter: Scatter = AS_CALCULATED,
        tolerance: float = _TOLERANCE,
    ) -> Array:
        """Flows at which every path asks exactly what the fan gives at their sum.

        Parameters
        ----------
        fan_pressure
            Fan pressure [Pa] as a function of total flow [m3/s], for arrays.
        flows : array, shape (..., n)
            First guess near the crossing.
        tolerance : float
            Last step taken, as a share of the flows; they are then a thousand times as close and more.

        Raises
        ------
        NoConvergence
            If Newton's steps leave the fan's curve or do not settle.
        """

        def residual(q: Array) -> Array:
            return self.required(q, scatter) - fan_pressure(q.sum(axis=-1))[..., None]

        return newton(residual, flows, self._flow_scale(flows), tolerance)


def _column(factor: ArrayLike) -> Array:
    return np.asarray(factor, dtype=np.float64)[..., None]


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


def newton(residual: Callable[[Array], Array], start: Array, flow_scale: float, tolerance: float = _TOLERANCE) -> Array:
    """Flows at which a residual is nothing, by damped Newton, every batch member with its own step length.

    Parameters
    ----------
    residual
        From flows (..., n) [m3/s] to pressures (..., n) [Pa]; called with one more axis in front.
    start : array, shape (..., n)
        First guess.
    flow_scale
        Size of the flows looked for. [m3/s]

    Raises
    ------
    NoConvergence

    Notes
    -----
    The residual and its differences for the Jacobian are one call, with the probes along a new leading axis. A Jacobian
    is kept while every residual shrinks tenfold a step, since a new one costs as much as all steps between. The error
    left is then a small part of the last step, so this need not be at rounding for the flows to be.
    """
    n = start.shape[-1]
    nudge = 1e-6 * flow_scale
    probes = nudge * np.concatenate((np.zeros((1, n)), np.eye(n))).reshape(n + 1, *[1] * (start.ndim - 1), n)
    flows: Array = start
    value, norm = start, np.zeros(start.shape[:-1])
    inverse: Array | None = None
    for _ in range(_MOST_STEPS):
        fresh = inverse is None
        if inverse is None:
            values = residual(flows + probes)
            value = values[0]
            norm = np.max(np.abs(value), axis=-1)
            inverse = np.linalg.inv(np.moveaxis(values[1:] - value, 0, -1) / nudge)
        step = -np.matmul(inverse, value[..., None])[..., 0]
        trial_flows = flows + step
        trial = residual(trial_flows)
        left = np.max(np.abs(trial), axis=-1)
        length = np.ones(norm.shape)
        for _ in range(_MOST_HALVINGS):
            with np.errstate(invalid="ignore"):
                worse = ~(left <= norm * (1.0 + 1e-9) + _FLOOR_PA)
            if not (fresh and worse.any()):
                break
            length = np.where(worse, 0.5 * length, length)
            trial_flows = flows + length[..., None] * step
            trial = residual(trial_flows)
            left = np.max(np.abs(trial), axis=-1)
        if not fresh and worse.any():
            inverse = None
            continue
        last = np.max(np.abs(step), axis=-1)
        stuck = (last <= _ROUNDING * flow_scale) & (left > 0.5 * norm)
        if not np.all(left <= np.maximum(0.1 * norm, _FLOOR_PA)):
            inverse = None
        flows, value, norm = trial_flows, trial, left
        if np.all((last <= tolerance * flow_scale) | stuck):
            break
    else:
        raise NoConvergence("the flows of the pipe tree did not settle")
    if not np.all(np.isfinite(value)):
        raise NoConvergence("the flows of the pipe tree left the range of the model")
    return flows
