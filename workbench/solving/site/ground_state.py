"""The ground in one state of its unknowns: what points ask, what holes feel, and what an instrument would have read.

Everything takes leading batch axes: one floor, or thousands of possible ones.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from msgspec import Struct

from workbench.physics.arrays import Array, Indices
from workbench.solving.site.floor_parts import AtOdds

TESTED, DUG, CLASSED = 0, 1, 2
"""Hollows at a point: that of its test, the pit as it will be dug, and the pit that its class of ground refers to."""

_STEPS = 10
_LEAST = 1e-6
"""Linear resistance that no ground falls below. [Pa s/m3]"""
_SETTLED_BESIDE = 1e-11
"""The same where the slopes are those of a state nearby: each step is then a small part of the one before."""

_SETTLED = 1e-8
"""Last step of flows over the largest; Newton's error goes with its square, and is then rounding."""


def remaining_at(coupling: Array, inertial: Array, holes: Array, flows: Array) -> Array:
    """Suction at k holes for flows of n points, shape (..., k), the season left out. [Pa]

    A pit is the deepest place of its own sink: no hole keeps more than the strongest of the pits that reach it, however
    high it was read.

    Parameters
    ----------
    coupling, inertial, holes : array, shape (..., n, n), (..., n) and (..., k, n)
        As in `Network` and `GroundState`.
    flows : array, shape (..., n)
        [m3/s]
    """
    pits = np.matmul(coupling, flows[..., None])[..., 0] + inertial * flows * np.abs(flows)
    felt = np.matmul(holes, flows[..., None])[..., 0]
    return np.asarray(np.minimum(felt, most_at(holes, pits)))


def most_at(holes: Array, pits: Array) -> Array:
    """The most that holes may keep with pits at suctions (..., n): shape (..., k), or (..., 1) if all are reached."""
    reached = holes > 0.0
    if reached.all():
        return np.asarray(np.maximum(pits.max(axis=-1, keepdims=True), 0.0))
    reaching = np.where(reached, np.maximum(pits, 0.0)[..., None, :], -np.inf).max(axis=-1)
    return np.asarray(np.where(reaching > -np.inf, reaching, np.inf))


class GroundState(NamedTuple):
    """The ground around n points and k holes.

    Attributes
    ----------
    layer : array, shape (..., n, n)
        Suction of the layer at pit i for the flow of point j. [Pa s/m3]
    near, inertial : array, shape (..., 3, n)
        What each point asks beyond, close to its hollow: linear [Pa s/m3] and inertial [Pa s2/m6], by hollow.
    holes : array, shape (..., k, n)
        Suction at a hole for the flow of a point; not a number where nothing is known of it. [Pa s/m3]
    rest_points, rest_holes : array, shape (..., n) and (..., k)
        Part of the outdoors' suction that is felt there with nothing running, 0 to 1.
    mean_rest : array, shape (...)
        The same for the floor's mean.
    """

    layer: Array
    near: Array
    inertial: Array
    holes: Array
    rest_points: Array
    rest_holes: Array
    mean_rest: Array

    def coupling(self, hollow: int = DUG) -> Array:
        """As `Network.coupling`, shape (..., n, n). [Pa s/m3]"""
        n = self.layer.shape[-1]
        return np.asarray(self.layer + self.near[..., hollow, :, None] * np.eye(n))

    def flow_alone(self, point: Indices, hollow: Indices, suction: Array) -> Array:
        """Flow of points, each drawn on alone at a suction, shape (..., d) for arrays (d,). [m3/s]"""
        a = np.maximum(self.layer[..., point, point] + self.near[..., hollow, point], _LEAST)
        b = self.inertial[..., hollow, point]
        return np.asarray(2.0 * suction / (a + np.sqrt(a * a + 4.0 * b * suction)))

    def flows_together(self, suctions: Array) -> Array:
        """Flows of all points with every dug pit at one suction, for m suctions of shape (m,), (..., m, n). [m3/s]"""
        n = self.layer.shape[-1]
        matrix, b = self.coupling()[..., None, :, :], self.inertial[..., None, DUG, :]
        own = np.maximum(np.diagonal(matrix, axis1=-2, axis2=-1), _LEAST)
        asked = suctions[:, None]
        # each as if it were drawn on alone
        start = 2.0 * asked / (own + np.sqrt(own * own + 4.0 * b * asked))
        if n == 1:
            return np.asarray(start)
        shape = np.broadcast_shapes(start.shape, (*matrix.shape[:-3], suctions.size, n))
        flows = np.array(np.broadcast_to(start, shape)).reshape(-1, n)
        asked = np.broadcast_to(suctions[:, None], shape).reshape(-1, n)
        matrix, b = np.broadcast_to(matrix, (*shape, n)).reshape(-1, n, n), np.broadcast_to(b, shape).reshape(-1, n)
        left = np.arange(len(flows))
        here = np.arange(n)
        for _ in range(_STEPS):
            at, inertia = flows[left], b[left]
            fault = np.matmul(matrix[left], at[..., None])[..., 0] + inertia * at * np.abs(at) - asked[left]
            slope = matrix[left]
            slope[:, here, here] += 2.0 * inertia * np.abs(at)
            step = np.linalg.solve(slope, fault[..., None])[..., 0]
            flows[left] = at - step
            left = left[np.abs(step).max(axis=-1) > _SETTLED * np.abs(flows[left]).max(axis=-1)]
            if not left.size:
                break
        return flows.reshape(shape)

    def flows_beside(self, suctions: Array, near: GroundState, flows: Array) -> Array:
        """As `flows_together`, of d states (..., d) that hardly differ from one near them, (...).

        Its slopes serve for all of them. `flows` (..., m, n) are those of the state nearby.
        """
        matrix, b = self.coupling()[..., None, :, :], self.inertial[..., None, DUG, :]
        rise = 2.0 * near.inertial[..., None, DUG, :] * np.abs(flows)
        inverse = np.linalg.inv(near.coupling()[..., None, :, :] + rise[..., None] * np.eye(flows.shape[-1]))
        found, inverse = flows[..., None, :, :], inverse[..., None, :, :, :]
        for _ in range(_STEPS):
            fault = np.matmul(matrix, found[..., None])[..., 0] + b * found * np.abs(found) - suctions[:, None]
            step = np.matmul(inverse, fault[..., None])[..., 0]
            found = found - step
            if np.all(np.abs(step) <= _SETTLED_BESIDE * np.abs(found).max(axis=-1, keepdims=True)):
                break
        return found


class FlowReading(Struct, frozen=True, eq=False):
    """A flow [m3/s] measured at a point drawn on alone at a suction [Pa]; `error` of its logarithm.

    `metered` by an instrument that served all of the visit, whose own error they share.
    """

    point: int
    hollow: int
    suction: float
    flow: float
    error: float
    metered: bool


class SuctionReading(Struct, frozen=True, eq=False):
    """A suction read at a hole beyond rest while a point alone, or -1 all together, was held at a suction. [Pa]

    `floor` and `accuracy` are the instrument's standard error: the least, and as a share of the reading. `flow` is what
    was noted with it where that stands in place of what the ground makes of the suction. [m3/s]
    """

    hole: int
    reading: int
    point: int
    hollow: int
    applied: float
    suction: float
    accuracy: float
    floor: float
    flow: float | None = None

    @property
    def error(self) -> float:
        """Standard error of the reading. [Pa]"""
        return self.error_at(self.suction)

    def error_at(self, suction: float, uneven: float = 0.0) -> float:
        """Standard error of a reading where this suction is expected, the floor being uneven beside. [Pa]"""
        return float(np.hypot(self.floor, math.hypot(self.accuracy, uneven) * suction))


class ShareReading(Struct, frozen=True, eq=False):
    """Part of the house's draw-down that a hole lost in the exhaust test, and its standard error."""

    hole: int
    share: float
    error: float


class Readings:
    """All readings of a job as one row of numbers, each in the form in which its error is even.

    Flows as logarithms; suctions as the inverse hyperbolic sine, which is a logarithm far above the instrument's floor
    and a straight line about nothing, so that a reading may be zero or less; shares as they are. `mean` is what
    measured houses say of the floor's mean share, as a logit with its standard error, or None.
    """

    def __init__(
        self,
        flows: list[FlowReading],
        holes: list[SuctionReading],
        shares: list[ShareReading],
        mean: tuple[float, float] | None,
    ) -> None:
        self.flows, self.holes, self.shares, self.mean = flows, holes, shares, mean
        self._flow_at: tuple[Indices, ...] = tuple(
            np.array([getattr(f, part) for f in flows], dtype=np.intp) for part in ("point", "hollow")
        )
        self._flow_p = np.array([f.suction for f in flows])
        self._metered = np.array([f.metered for f in flows], dtype=np.float64)
        alone = [h for h in holes if h.point >= 0]
        self._alone = np.array([i for i, h in enumerate(holes) if h.point >= 0], dtype=np.intp)
        self._at = tuple(
            np.array([getattr(h, part) for h in alone], dtype=np.intp) for part in ("hole", "point", "hollow")
        )
        self._alone_p = np.array([h.applied for h in alone])
        self._noted = np.array([math.nan if h.flow is None else h.flow for h in alone])
        self._together = np.array([i for i, h in enumerate(holes) if h.point < 0], dtype=np.intp)
        self._together_hole = np.array([h.hole for h in holes if h.point < 0], dtype=np.intp)
        applied = np.array([h.applied for h in holes if h.point < 0])
        self._together_p = np.array(sorted(set(applied.tolist())))
        self._together_at = np.searchsorted(self._together_p, applied)
        self._bend = np.array([2.0 * h.floor for h in holes])
        self._share_at = np.array([s.hole for s in shares], dtype=np.intp)
        rows = [
            np.log([f.flow for f in flows]) if flows else np.zeros(0),
            np.arcsinh(np.array([h.suction for h in holes]) / self._bend) if holes else np.zeros(0),
            np.array([s.share for s in shares]),
            np.array([] if mean is None else [mean[0]]),
        ]
        errors = [
            np.array([f.error for f in flows]),
            np.array([h.error / np.hypot(h.suction, 2.0 * h.floor) for h in holes]),
            np.array([s.error for s in shares]),
            np.array([] if mean is None else [mean[1]]),
        ]
        self.values = np.concatenate(rows).astype(np.float64)
        self.errors = np.concatenate(errors).astype(np.float64)

    def loosened(self, uneven: float, apart: Array) -> Readings:
        """The same, those at the holes off by the floor's unevenness beside, and each times `apart`."""
        other = Readings(self.flows, self.holes, self.shares, self.mean)
        here = slice(len(self.flows), len(self.flows) + len(self.holes))
        other.errors[here] = np.hypot(self.errors[here], uneven) * apart
        return other

    def __len__(self) -> int:
        return len(self.values)

    def at_odds(self, residual: Array, beyond: float) -> tuple[AtOdds, ...]:
        """Readings that a residual (r,) of so many standard errors misses by more than `beyond`, farthest first."""
        expected = self.values + residual[: len(self)] * self.errors
        found = []
        for i, off in enumerate(residual[: len(self.flows) + len(self.holes) + len(self.shares)]):
            if not abs(off) > beyond:
                continue
            value, h = float(expected[i]), i - len(self.flows)
            s = h - len(self.holes)
            if h < 0:
                flow = self.flows[i]
                found.append(AtOdds("flow", flow.point, 0, flow.flow, math.exp(value), float(off)))
            elif s < 0:
                hole = self.holes[h]
                suction = float(self._bend[h]) * math.sinh(value)
                found.append(AtOdds("suction", hole.hole, hole.reading, hole.suction, suction, float(off)))
            else:
                share = self.shares[s]
                found.append(AtOdds("share", share.hole, 0, share.share, value, float(off)))
        return tuple(sorted(found, key=lambda each: -abs(each.errors)))

    @property
    def any_together(self) -> bool:
        """Whether a reading was taken with all points drawn on."""
        return self._together.size > 0

    def together(self, state: GroundState) -> Array:
        """Flows of all points in the readings taken with all drawn on, (..., m, n). [m3/s]"""
        return state.flows_together(self._together_p)

    def together_beside(self, beside: GroundState, near: GroundState) -> Array:
        """As `together`, for d states (..., d) that hardly differ from one near them, (...)."""
        return beside.flows_beside(self._together_p, near, self.together(near))

    def hole_suctions(self, state: GroundState, together: Array | None = None) -> Array:
        """Suction that every hole reading should have shown, shape (..., readings) [Pa]; `together` may be at hand."""
        batch = state.layer.shape[:-2]
        found = np.zeros((*batch, len(self.holes)))
        if self._alone.size:
            hole, point, hollow = self._at
            flow = state.flow_alone(point, hollow, self._alone_p)
            flow = np.where(np.isnan(self._noted), flow, self._noted)
            found[..., self._alone] = state.holes[..., hole, point] * flow
        if self.any_together:
            together = self.together(state) if together is None else together
            flows = together[..., self._together_at, :]
            found[..., self._together] = np.sum(state.holes[..., self._together_hole, :] * flows, axis=-1)
        return found

    def flow_of(self, state: GroundState, hole: int, reading: int) -> float:
        """Flow of the point that a hole's reading was drawn on, in the state it was taken in. [m3/s]"""
        for each in self.holes:
            if (each.hole, each.reading) == (hole, reading):
                if each.point < 0:
                    return float(state.flows_together(np.array([each.applied])).sum(axis=(-2, -1)))
                one = np.array([each.point]), np.array([each.hollow])
                return float(state.flow_alone(*one, np.array([each.applied]))[..., 0])
        raise LookupError("there is no such reading")

    def predict(self, state: GroundState, meter: Array, together: Array | None = None) -> Array:
        """What the readings should have been, shape (..., r), in their own forms; `meter` is ln of the flow meter's.

        `together` is what the method of this name gives, where it is at hand.
        """
        batch = state.layer.shape[:-2]
        parts = []
        if self.flows:
            point, hollow = self._flow_at
            flow = state.flow_alone(point, hollow, self._flow_p)
            parts.append(np.log(flow) + meter[..., None] * self._metered)
        if self.holes:
            parts.append(np.arcsinh(self.hole_suctions(state, together) / self._bend))
        if self.shares:
            parts.append(state.rest_holes[..., self._share_at])
        if self.mean is not None:
            share = np.clip(state.mean_rest, 1e-12, 1.0 - 1e-12)
            parts.append(np.log(share / (1.0 - share))[..., None])
        return np.concatenate(parts, axis=-1) if parts else np.zeros((*batch, 0))
