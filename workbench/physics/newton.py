"""Damped Newton for many small systems at once, each with its own step length, the solved ones left out."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

import numpy as np

from workbench.physics.arrays import Array, Bools, Indices

FanPressure = Callable[[Array], Array]
"""Fan pressure [Pa] as a function of total flow [m3/s]."""
Held = Callable[[Array, Indices], tuple[Array, Array]]
"""What is to be nothing at flows (a, n) of some members of a batch laid as one axis, shape (a,), and its slopes by the
flows, shape (a, n)."""

_MOST_STEPS = 60
_MOST_HALVINGS = 12
_LONGEST = 10.0
"""Longest step; no pipe of a house carries such a flow, and beyond it friction would overflow. [m3/s]"""
_ROUNDING = 1e-7
"""Part of the flow scale below which a step that no longer lowers the residual is rounding and nothing else."""
_FLOOR_PA = 1e-9
_LEAST_SCALE = 1e-4
"""Flow below which flows are not told apart more closely than of this size. [m3/s]"""
_NUDGE = 1e-6
_BLOCK = 512
_RIDGE = 1e-9
"""Part of the greatest entry that a Jacobian without an inverse gets on its diagonal."""


class Equations(Protocol):
    """Systems of equations for flows, one for each member of a batch.

    Of a members of s; their flows are of shape (a, n) [m3/s].
    """

    def at(self, flows: Array, members: Indices) -> tuple[Array, Array]:
        """What ought to be nothing, shape (a, v) [Pa], and what its slopes are made from, shape (a, p)."""

    def step(self, values: Array, slopes: Array, members: Indices) -> Array:
        """Newton's step, shape (a, n). [m3/s]"""

    def norm(self, values: Array) -> Array:
        """How far values are from nothing, shape (a,). [Pa]"""


def newton(equations: Equations, flows: Array, members: Indices, tolerance: float) -> Bools:
    """Solve for some members of a batch in place.

    Parameters
    ----------
    flows : array, shape (s, n)
        First guess of all; the answer where one is found, else left as it was. [m3/s]
    members : array of int, shape (a,)
        For whom to solve.
    tolerance
        Error left in the flows, as a share of a member's greatest.

    Returns
    -------
    array of bool, shape (s,)
        Who was solved.

    Notes
    -----
    A step is halved until the residual falls. To first order a Newton step lowers every part of it alike, so that where
    the Jacobian has an inverse everywhere, as that of a convex problem has, this ends nowhere but at a root. Where the
    losses have a kink no step may lower it; the shortest is then taken all the same, to get across. The error left
    after a step is taken as the whole step times what is left of the residual.
    """
    solved = np.zeros(flows.shape[0], dtype=np.bool_)
    if not members.size:
        return solved
    at = flows[members]
    values, slopes = equations.at(at, members)
    norm = equations.norm(values)
    for _ in range(_MOST_STEPS):
        step = np.concatenate([equations.step(values[i], slopes[i], members[i]) for i in blocks(members.size)])
        full = np.abs(step).max(axis=-1)
        if full.max() > _LONGEST:
            step *= np.minimum(1.0, _LONGEST / np.maximum(full, _LONGEST))[:, None]
        trial = at + step
        values, slopes = equations.at(trial, members)
        left = equations.norm(values)
        # not a number is worse, too: a fan's curve was left
        worse = np.flatnonzero(~(left <= norm * (1.0 + 1e-9) + _FLOOR_PA))
        for _ in range(_MOST_HALVINGS if worse.size else 0):
            step[worse] *= 0.5
            trial[worse] = at[worse] + step[worse]
            values[worse], slopes[worse] = equations.at(trial[worse], members[worse])
            left[worse] = equations.norm(values[worse])
            worse = worse[~(left[worse] <= norm[worse] * (1.0 + 1e-9) + _FLOOR_PA)]
            if not worse.size:
                break
        scale = np.maximum(np.abs(trial).max(axis=-1), _LEAST_SCALE)
        with np.errstate(divide="ignore", invalid="ignore"):
            error = full * np.where(norm > 0.0, np.minimum(left / norm, 1.0), 0.0)
            done = (error <= tolerance * scale) | ((full <= _ROUNDING * scale) & (left > 0.5 * norm))
        done &= np.isfinite(left)
        ended = members[done]
        flows[ended], solved[ended] = trial[done], True
        going = ~done & np.isfinite(left)
        if not going.any():
            break
        if going.all():
            at, norm = trial, left
        else:
            members, at, norm = members[going], trial[going], left[going]
            values, slopes = values[going], slopes[going]
    return solved


def blocks(size: int) -> list[slice]:
    """Slices of a batch that are worked through one after the other, so that what is in hand stays in the cache."""
    return [slice(i, i + _BLOCK) for i in range(0, size, _BLOCK)]


class Paths(Protocol):
    """Paths from suction points to one fan, for a batch whose axes are laid as one."""

    @property
    def batch(self) -> tuple[int, ...]:
        """Shape of the batch."""

    @property
    def start(self) -> Array:
        """First flows, shape (s, n). [m3/s]"""

    def asked(self, flows: Array, members: Indices) -> tuple[Array, Array]:
        """Pressure that each path asks of the fan, shape (a, n) [Pa], and the slopes of the losses, shape (a, p)."""

    def jacobian(self, slopes: Array, members: Indices) -> Array:
        """What follows from the slopes: derivatives of the pressures by the flows, shape (a, n, n). [Pa s/m3]"""


class Meeting:
    """Every path asks what a fan gives at the sum of the flows."""

    def __init__(self, paths: Paths, fan: FanPressure) -> None:
        self._paths, self._fan = paths, fan
        self._total = paths.start.sum(axis=-1)

    def at(self, flows: Array, members: Indices) -> tuple[Array, Array]:
        """As `Equations`."""
        asked, slopes = self._paths.asked(flows, members)
        lift, rise = self._lift(flows.sum(axis=-1), members)
        return asked - lift[:, None], np.concatenate((slopes, rise[:, None]), axis=-1)

    def _lift(self, total: Array, members: Indices) -> tuple[Array, Array]:
        """Pressure of the fan and its slope by one nudge; backwards where a measured curve ends."""
        self._total[members] = total
        nudge = _NUDGE * max(float(np.abs(self._total).max()), _LEAST_SCALE)
        whole = self._total.reshape(self._paths.batch)
        lift, on = (part.ravel()[members] for part in self._fan(np.stack((whole, whole + nudge))))
        rise = (on - lift) / nudge
        if np.isnan(rise).any():
            back = self._fan(whole - nudge).ravel()[members]
            rise = np.where(np.isnan(rise), (lift - back) / nudge, rise)
        return lift, rise

    def step(self, values: Array, slopes: Array, members: Indices) -> Array:
        """As `Equations`."""
        matrix = self._paths.jacobian(slopes[:, :-1], members) - slopes[:, -1, None, None]
        return _solve_each(matrix, -values[..., None])[..., 0]

    def norm(self, values: Array) -> Array:
        """As `Equations`."""
        return np.asarray(np.abs(values).max(axis=-1))


class Balance:
    """All paths ask the same, and what is held is nothing."""

    def __init__(self, paths: Paths, held: Held) -> None:
        self._paths, self._held = paths, held

    def at(self, flows: Array, members: Indices) -> tuple[Array, Array]:
        """As `Equations`."""
        asked, slopes = self._paths.asked(flows, members)
        held, by_flow = self._held(flows, members)
        return np.concatenate((asked, held[:, None]), axis=-1), np.concatenate((slopes, by_flow), axis=-1)

    def step(self, values: Array, slopes: Array, members: Indices) -> Array:
        """As `Equations`."""
        n = values.shape[-1] - 1
        matrix = self._paths.jacobian(slopes[:, :-n], members)
        held, by_flow = values[:, -1], slopes[:, -n:]
        right = np.stack((values[:, :-1], np.ones((len(values), n))), axis=-1)
        down, up = np.moveaxis(_solve_each(matrix, right), -1, 0)
        with np.errstate(divide="ignore", invalid="ignore"):
            pressure = (np.sum(by_flow * down, axis=-1) - held) / np.sum(by_flow * up, axis=-1)
        return np.asarray(pressure[:, None] * up - down)

    def norm(self, values: Array) -> Array:
        """As `Equations`."""
        uneven = np.abs(values[:, :-2] - values[:, -2:-1]).max(axis=-1, initial=0.0)
        return np.asarray(np.maximum(uneven, np.abs(values[:, -1])))


def _solve_each(matrices: Array, right: Array) -> Array:
    """Solutions of small linear systems (a, n, n) with right sides (a, n, r).

    Where a matrix has no inverse, the diagonals get a little more, so that there is a step and the others keep theirs.
    """
    try:
        return np.asarray(np.linalg.solve(matrices, right))
    except np.linalg.LinAlgError:
        ridge = _RIDGE * np.abs(matrices).max(axis=(-2, -1), keepdims=True) + np.finfo(float).tiny
        return np.asarray(np.linalg.solve(matrices + ridge * np.eye(matrices.shape[-1]), right))
