"""Fit unknowns to readings, and draw what the readings leave open.

Every unknown is written as a standard normal number, so that its prior is the same for all. The best fit is found by
Gauss and Newton with Levenberg's damping. A draw moves prior and readings by their own errors and is fitted again
(randomise, then optimise: J. M. Bardsley, A. Solonen, H. Haario, M. Laine, SIAM J. Sci. Comput. 36 (2014) A1895); a
normal cloud about the best fit would leave the readings. How uneven a floor is, one number, is weighed by its evidence
(D. J. C. MacKay, Neural Computation 4 (1992) 415).
"""

from __future__ import annotations

from typing import Any, NamedTuple, Protocol

import numpy as np
from msgspec import Struct, field

from workbench.physics.arrays import Array, Bools, Indices
from workbench.solving.site.draws import normal
from workbench.solving.site.floor_parts import AtOdds
from workbench.solving.site.ground_state import GroundState, Readings

_NUDGE = 1e-4
_MOST_STEPS = 120
_LONGEST = 2.0
"""Longest step of any unknown, in its own standard deviations."""

_FAR = 8.0
"""Standard deviations beyond which no unknown is looked for."""

_SETTLED = 1e-4
_CHORD_STEPS = 24
_DEPTH = 6
_CLOSE, _NEAR_ENOUGH = 0.01, 0.1
"""Step left of a draw, in standard deviations, at which it counts as found; and at which it will do in the end."""

_OUT_OF_QUESTION = 1e-4
"""Weight of an unevenness below which it is not fitted again."""

_AT_ODDS = 4.0
"""Standard errors off the best fit beyond which a reading bears out nothing; one in sixteen thousand lies there by
chance, and on floors whose truth is known and whose readings agree none of a thousand lay 2.5 off."""

_BLOCK = 512
_HARDLY_ANY = 0.05
"""Share of a first block found below which no further block is searched; its rows are then repeated. A judgement."""

_OWN_STEPS, _OWN_ROWS = 60, 32
"""Steps, and rows of a block, that are looked for by their own slopes at the most; it takes long."""


class Varied(NamedTuple):
    """An unknown: its kind, and the name of the point, hole, zone or side it is of."""

    kind: str
    subject: str = ""


class Model(Protocol):
    """Unknowns as standard normal numbers, and the state they make: of the ground, or of all that is fitted."""

    @property
    def unknowns(self) -> tuple[Varied, ...]:
        """One for each number of a row."""

    @property
    def unevenness(self) -> tuple[tuple[float, float], ...]:
        """Values that the floor's unevenness may have, each with its prior weight."""

    def state(self, x: Array, unevenness: Array) -> Any:
        """The ground for rows x of shape (..., d) and unevenness of shape (...)."""

    def beside(self, x: Array, unevenness: Array, nudge: float) -> Any:
        """The ground for rows x (..., d) with each of their unknowns moved by itself, shape (..., d); `each_nudged`."""

    def meter(self, x: Array) -> Array:
        """Logarithm of the flow meter's factor, shape (...)."""

    def strain(self, x: Array) -> Array:
        """How far rows lie beyond where the model was looked at, shape (..., e); nothing within. Held against them."""


class Best(NamedTuple):
    """The best fit at one unevenness: unknowns (d,), residuals (r,) and their slopes (r, d), and inverse curvature."""

    unevenness: float
    weight: float
    x: Array
    slopes: Array
    inverse: Array
    residual: Array


class Fit(Struct, frozen=True, eq=False):
    """A model fitted to readings.

    `columns` are the names of the numbers that its unknowns are drawn with, and how many of each; by default all are
    those of a floor's unknowns.
    """

    model: Model
    readings: Readings
    bests: tuple[Best, ...]
    columns: tuple[tuple[str, int], ...] = ()
    _kept: dict[int, Draws] = field(default_factory=dict)

    def prior(self, samples: int) -> Array:
        """Unknowns of which nothing was read, shape (s, d)."""
        columns = self.columns or (("unknowns", len(self.model.unknowns)),)
        return np.concatenate([normal(name, samples, count) for name, count in columns], axis=1)

    @property
    def best(self) -> Best:
        """The likeliest."""
        return max(self.bests, key=lambda best: best.weight)

    def state(self) -> GroundState:
        """The ground by the best fit."""
        found: GroundState = self.model.state(self.best.x, np.asarray(self.best.unevenness))
        return found

    def at_odds(self) -> tuple[AtOdds, ...]:
        """Readings that no ground brings together with the others, farthest off first."""
        return self.readings.at_odds(self.best.residual, _AT_ODDS)

    def draws(self, samples: int) -> Draws:
        """Possible grounds, all as likely as each other; a longer draw begins with the rows of a shorter one.

        Kept: other pits and other sealing are drawn from the same.
        """
        if samples not in self._kept:
            shorter = max((each for each in self._kept if each < samples), default=0)
            # where nothing fits, no patience finds what does, and no verdict rests on how finely it is drawn
            agree = not self.at_odds()
            self._kept[samples] = _drawn(self, samples, patient=agree, fine=agree, before=self._kept.get(shorter))
        return self._kept[samples]

    def scouts(self, samples: int) -> Draws:
        """Grounds to solve a field around: as `draws`, without those that are found by patience alone."""
        return _drawn(self, samples, patient=False)


class Draws(NamedTuple):
    """Unknowns of s possible grounds, shape (s, d), unevenness (s,), their state, and which were found (s,).

    Rows that were not found stand as copies of ones that were.
    """

    x: Array
    unevenness: Array
    state: GroundState
    found: Bools

    @property
    def missed(self) -> float:
        """Share that was not found."""
        return float(np.mean(~self.found))


def fitted(model: Model, readings: Readings, before: Fit | None = None) -> Fit:
    """Fit a model to readings, at every unevenness it may have.

    `before` is a fit of nearly the same model, from which the search goes on; what was out of question stays out.
    """
    x = np.zeros(len(model.unknowns))
    known = {} if before is None else {b.unevenness: b for b in before.bests if b.weight > _OUT_OF_QUESTION}
    bests, logs = [], []
    for unevenness, prior in model.unevenness:
        if known and unevenness not in known:
            continue
        x, cost, best = _best(model, readings, known[unevenness].x if known else x, unevenness)
        bests.append(best)
        curvature = _curvature(best.slopes)
        logs.append(np.log(prior) - 0.5 * cost - 0.5 * curvature)
    weights = np.exp(np.array(logs) - max(logs))
    weights /= weights.sum()
    return Fit(model, readings, tuple(b._replace(weight=float(w)) for b, w in zip(bests, weights, strict=True)))


def even_fit(fit: Fit, uneven: float, apart: Array) -> Fit:
    """The same readings fitted by an even floor, those at the holes off by `uneven` (of a logarithm) times `apart`."""
    readings = fit.readings.loosened(uneven, apart)
    _, _, best = _best(fit.model, readings, fit.best.x, 0.0)
    return Fit(fit.model, fit.readings, (best._replace(weight=1.0),))


def each_nudged(x: Array, nudge: float) -> Array:
    """Rows x of shape (..., d) with each of their unknowns moved by itself, shape (..., d, d)."""
    return np.asarray(x[..., None, :] + nudge * np.eye(x.shape[-1]))


def slopes_at(model: Model, readings: Readings, x: Array, unevenness: float, now: Array) -> Array:
    """Slopes (..., r, d) of the residuals of rows x of shape (..., d), which are `now` (..., r) there."""
    tau, rows = np.full(x.shape[:-1], unevenness), each_nudged(x, _NUDGE)
    beside = model.beside(x, tau, _NUDGE)
    together = readings.together_beside(beside, model.state(x, tau)) if readings.any_together else None
    nudged = _off(model, readings, readings.predict(beside, model.meter(rows), together), rows)
    return np.asarray(np.swapaxes(nudged - now[..., None, :], -1, -2) / _NUDGE)


def _off(model: Model, readings: Readings, predicted: Array, x: Array) -> Array:
    return np.concatenate(((predicted - readings.values) / readings.errors, model.strain(x)), axis=-1)


def residuals_at(model: Model, readings: Readings, x: Array, unevenness: float) -> Array:
    """How many standard errors rows (..., d) miss the readings by, and their strain, shape (..., r)."""
    state = model.state(x, np.full(x.shape[:-1], unevenness))
    return _off(model, readings, readings.predict(state, model.meter(x)), x)


def _best(model: Model, readings: Readings, x: Array, unevenness: float) -> tuple[Array, float, Best]:
    d = x.size
    damping = 1e-3

    residual = residuals_at(model, readings, x, unevenness)
    slopes = slopes_at(model, readings, x, unevenness, residual)
    cost = float(residual @ residual + x @ x)
    for _ in range(_MOST_STEPS):
        diagonal = 1.0 + damping * (1.0 + np.einsum("rd,rd->d", slopes, slopes))
        step = -_solved(diagonal, slopes, (slopes.T @ residual + x)[:, None])[:, 0]
        step *= min(1.0, _LONGEST / max(float(np.max(np.abs(step))), 1e-300))
        trial = residuals_at(model, readings, x + step, unevenness)
        found = float(trial @ trial + (x + step) @ (x + step))
        if found > cost * (1.0 + 1e-12):
            damping *= 8.0
            if damping > 1e8:
                break
            continue
        gained = cost - found
        x, cost, residual = x + step, found, trial
        slopes = slopes_at(model, readings, x, unevenness, residual)
        damping = max(damping / 8.0, 1e-9)
        if float(np.max(np.abs(step))) < _SETTLED or gained < 1e-6 * (1.0 + cost):
            break
    inverse = np.asarray(_solved(np.ones(d), slopes, np.eye(d)), dtype=np.float64)
    return x, cost, Best(unevenness, 0.0, x, slopes, inverse, residual)


def _curvature(slopes: Array) -> float:
    """Logarithm of the determinant of 1 + slopes' slopes, which is that of 1 + slopes slopes' (Sylvester)."""
    square = slopes @ slopes.T if len(slopes) < slopes.shape[1] else slopes.T @ slopes
    return float(np.linalg.slogdet(np.eye(len(square)) + square)[1])


def _solved(diagonal: Array, slopes: Array, wanted: Array) -> Array:
    """Solve (diag(diagonal) + slopes' slopes) y = wanted, of shapes (..., d), (..., r, d) and (..., d, k).

    Unknowns grow with the square of the holes, readings with the holes alone: where these are fewer the system of their
    size is solved instead (Sherman, Morrison and Woodbury).
    """
    rows, unknowns = slopes.shape[-2:]
    across = np.swapaxes(slopes, -1, -2)
    if rows >= unknowns:
        return np.asarray(np.linalg.solve(np.matmul(across, slopes) + diagonal[..., None] * np.eye(unknowns), wanted))
    scaled, plain = across / diagonal[..., None], wanted / diagonal[..., None]
    inner = np.eye(rows) + np.matmul(slopes, scaled)
    return np.asarray(plain - np.matmul(scaled, np.linalg.solve(inner, np.matmul(slopes, plain))))


def _drawn(fit: Fit, samples: int, *, patient: bool = True, fine: bool = True, before: Draws | None = None) -> Draws:
    """`before` is a shorter draw of the same: its whole blocks are taken over as they are.

    Where it need not be `fine` a first block is drawn and repeated.
    """
    first = min(samples, _BLOCK)
    if before is None or len(before.x) < first:
        x, unevenness, found = _rows(fit, 0, first, patient)
    else:
        kept = len(before.x) // _BLOCK * _BLOCK
        x, unevenness, found = before.x[:kept], before.unevenness[:kept], before.found[:kept]
    if not fine or found.mean() < _HARDLY_ANY:
        # readings that hardly a floor agrees with leave as little to find in many draws as in few
        again = np.arange(samples) % len(x)
        x, unevenness, found = x[again], unevenness[again], found[again]
    elif len(x) < samples:
        rest = _rows(fit, len(x), samples, patient)
        x, unevenness, found = (np.concatenate(parts) for parts in zip((x, unevenness, found), rest, strict=True))
    return Draws(x, unevenness, fit.model.state(x, unevenness), found)


def _rows(fit: Fit, start: int, stop: int, patient: bool) -> tuple[Array, Array, Bools]:
    """Rows of a draw, their unevenness, and which were found; none hangs on those of later blocks."""
    model, readings = fit.model, fit.readings
    prior = fit.prior(stop)[start:]
    moved = normal("readings", stop, len(readings))[start:]
    moved = np.concatenate((moved, np.zeros((len(moved), fit.best.residual.size - len(readings)))), axis=1)
    which, block = _unevenness_of(fit, stop)[start:], np.arange(start, stop) // _BLOCK
    x, found = np.array(prior), np.ones(len(prior), dtype=np.bool_)
    if len(readings):
        for b, best in enumerate(fit.bests):
            rows = np.flatnonzero(which == b)
            if rows.size:
                x[rows], found[rows] = _near(model, readings, best, prior[rows], moved[rows], block[rows], patient)
    unevenness = np.array([best.unevenness for best in fit.bests])[which]
    for each in _kinds(block[~found]):
        good, bad = np.flatnonzero(found & (block == each)), np.flatnonzero(~found & (block == each))
        if good.size:
            source = good[np.arange(bad.size) * 7 % good.size]
            x[bad], unevenness[bad] = x[source], unevenness[source]
    return x, unevenness, found


def _kinds(block: Indices) -> list[int]:
    # the library's own way brings its masked arrays along, which take longer to be imported than all draws to be made
    return sorted(set(block.tolist()))


def _unevenness_of(fit: Fit, samples: int) -> Indices:
    """Which unevenness each row has: by a column of its own, so that the others do not move as the weights do."""
    if len(fit.bests) == 1:
        return np.zeros(samples, dtype=np.intp)
    from math import erf, sqrt

    chosen = normal("unevenness", samples, 1)[:, 0]
    edges = np.cumsum([best.weight for best in fit.bests])
    share = 0.5 * (1.0 + np.array([erf(z / sqrt(2.0)) for z in chosen]))
    return np.minimum(np.searchsorted(edges, share), len(fit.bests) - 1).astype(np.intp)


def _near(
    model: Model, readings: Readings, best: Best, prior: Array, moved: Array, block: Indices, patient: bool
) -> tuple[Array, Bools]:
    """Rows fitted again to prior and readings moved by their errors: by the chord of the best fit, mixed.

    `block` is that of each row: from each block a few that the chord does not find are looked for on their own way.
    """
    slopes, inverse = best.slopes, best.inverse
    centre = best.residual

    def lack(x: Array, rows: Indices) -> Array:
        """Step that the chord would take."""
        gap = moved[rows] - residuals_at(model, readings, x, best.unevenness)
        return np.asarray((gap @ slopes - (x - prior[rows])) @ inverse)

    # where the model is straight this start is the answer
    x = np.clip((prior + (moved - centre + slopes @ best.x) @ slopes) @ inverse, -_FAR, _FAR)
    left = np.arange(len(x))
    now = x
    past: list[tuple[Array, Array]] = []
    least = np.full(len(x), np.inf)
    for _ in range(_CHORD_STEPS):
        step = lack(now, left)
        done = np.max(np.abs(step), axis=1) < _CLOSE
        x[left] = now + np.where(done[:, None], step, 0.0)
        going = np.flatnonzero(~done)
        if not going.size:
            return x, np.ones(len(x), dtype=np.bool_)
        size = np.max(np.abs(step), axis=1)
        better = size < least[left]
        least[left[better]], x[left[better]] = size[better], now[better]
        left, now, step = left[going], now[going], step[going]
        past = [(a[going], b[going]) for a, b in past][-_DEPTH:]
        following = np.clip(now + _limited(_mixed(now, step, past)), -_FAR, _FAR)
        past.append((now, step))
        now = following
    found = np.ones(len(x), dtype=np.bool_)
    left = left[least[left] > _NEAR_ENOUGH]
    found[left] = False
    if left.size and patient:
        few = np.concatenate([left[block[left] == each][:_OWN_ROWS] for each in _kinds(block[left])])
        x[few], found[few] = _own_way(model, readings, best, prior[few], moved[few])
    return x, found


def _limited(step: Array) -> Array:
    size = np.max(np.abs(step), axis=1, keepdims=True)
    return np.asarray(step * np.minimum(1.0, _LONGEST / np.maximum(size, 1e-300)))


def _mixed(now: Array, step: Array, past: list[tuple[Array, Array]]) -> Array:
    """Step after D. G. Anderson, J. ACM 12 (1965) 547, each row with its own mixing."""
    if not past:
        return step
    dx = np.stack([now - x for x, _ in past], axis=2)
    df = np.stack([step - f for _, f in past], axis=2)
    normal_matrix = np.matmul(df.transpose(0, 2, 1), df)
    size = np.trace(normal_matrix, axis1=1, axis2=2)[:, None, None]
    m = len(past)
    weight = np.linalg.solve(
        normal_matrix + (1e-8 * size + 1e-300) * np.eye(m), np.matmul(df.transpose(0, 2, 1), step[..., None])
    )
    return np.asarray(step - np.matmul(dx + df, weight)[..., 0])


def _own_way(model: Model, readings: Readings, best: Best, prior: Array, moved: Array) -> tuple[Array, Bools]:
    """The few rows the chord did not find: each by its own slopes and damping."""
    s = len(prior)
    x = np.tile(best.x, (s, 1))
    found = np.zeros(s, dtype=np.bool_)

    def cost_of(res: Array, x: Array, rows: Indices) -> Array:
        return np.asarray(np.sum(res**2, axis=1) + np.sum((x - prior[rows]) ** 2, axis=1))

    left = np.arange(s)
    now, slopes = best.residual - moved, np.tile(best.slopes, (s, 1, 1))
    cost, damping = cost_of(now, x, left), np.full(s, 1e-2)
    for _ in range(_OWN_STEPS):
        at = x[left]
        pull = np.matmul(now[:, None], slopes)[:, 0] + (at - prior[left])
        diagonal = 1.0 + damping[:, None] * (1.0 + np.einsum("srd,srd->sd", slopes, slopes))
        step = _limited(-_solved(diagonal, slopes, pull[..., None])[..., 0])
        trial = residuals_at(model, readings, at + step, best.unevenness) - moved[left]
        after = cost_of(trial, at + step, left)
        better = after <= cost * (1.0 + 1e-9)
        done = better & ((np.max(np.abs(step), axis=1) < 0.1) | (cost - after < 0.05))
        x[left[better]] = (at + step)[better]
        now, cost = np.where(better[:, None], trial, now), np.where(better, after, cost)
        damping = np.where(better, damping / 10.0, damping * 4.0)
        found[left[done]] = True
        left, now, cost, damping, slopes, better = (a[~done] for a in (left, now, cost, damping, slopes, better))
        if not left.size:
            break
        # a row whose step was refused has its slopes still
        if better.any():
            there = left[better]
            slopes[better] = slopes_at(model, readings, x[there], best.unevenness, now[better] + moved[there])
    return x, found
