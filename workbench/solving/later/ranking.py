"""Which causes fit the readings of a visit, best first: a ranking and no proof.

A cause is summed over the sizes that it may have, so that one which could have been anything, or has to be bent far,
loses weight of its own. Before any is looked for, all readings together must lie off what they should be: one by one
they raise false alarms.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, Literal

import numpy as np
from msgspec import Struct

from workbench.design.design import Design
from workbench.design.visits import Visit
from workbench.physics.arrays import Array
from workbench.solving.later.acting import gauge_fault, locked, solved
from workbench.solving.later.causes import Cause, causes_of
from workbench.solving.later.expected import Basis, Expected, NotPredicted
from workbench.solving.later.items import Item, ItemKind
from workbench.solving.run.fans_on_site import FansOnSite

GATE = 0.95
"""Chance that readings of which nothing changed stay below the gate."""

HELD = 0.9
"""Likelihood that the list of causes holds together."""

ALONE = 0.7
"""Likelihood below which no cause is named alone."""

MISFIT = 2.5
"""Standard errors a reading from which no cause of the list fits."""

_PARTS = 1.0
"""Standard errors by which a further reading must differ to be worth taking."""
_PARTS_PLAINLY = 3.0
"""Those by which it leaves no doubt, so that of several the one is named that is soonest read."""
_SOONEST: Final[tuple[ItemKind, ...]] = (
    "power", "gauge", "riser", "hole", "past fan", "second gauge", "room", "flow", "sound",
)  # fmt: skip
"""In which order readings are asked for: what needs the least work and no new hole in the pipe first. A judgment."""

_SURE = 0.84
"""Standard deviations of a normal distribution that four in five lie above: so often a cause has to show, to be called
visible."""

Finding = Literal["unchanged", "one", "several", "none"]
"""All lie where they should; one cause stands out; these cannot be parted; none fits, or two at once."""


class Ranked(Struct, frozen=True):
    """A cause with how well it fits.

    `size` is the one that fits best, `bend` how many standard deviations it lies off what is usual, `misfit` what a
    reading is off at it, in standard errors; `jumped` that the fan then stands on another crossing. `tell_apart` is the
    reading to take next between it and the first of the list, the first and the second; None where none would.
    """

    cause: Cause
    size: float
    bend: float
    misfit: float
    likelihood: float
    jumped: bool
    tell_apart: Item | None = None


class Diagnosis(Struct, frozen=True):
    """What the readings of a visit come to.

    Attributes
    ----------
    visit : Visit
    start_up : Visit or None
        Whose readings were carried over.
    readings : tuple of Expected
    chi2, gate : float
        Of all readings together against nothing changed, and what it may be.
    finding : str
    causes : tuple of Ranked
        Best first; empty where nothing changed.
    listed : int
        How many of them hold most of the likelihood.
    unseen : tuple of Cause
        What would not show in these readings at its usual size.
    """

    visit: Visit
    start_up: Visit | None
    readings: tuple[Expected, ...]
    chi2: float
    gate: float
    finding: Finding
    causes: tuple[Ranked, ...]
    listed: int
    unseen: tuple[Cause, ...]


class _Fit(Struct, frozen=True, eq=False):
    """A cause at every size: its score, and what was best, with what all items would show there."""

    cause: Cause
    score: float
    size: float
    bend: float
    misfit: float
    jumped: bool
    shown: Array
    typical: Array


def diagnose(on_site: FansOnSite, design: Design, visit: Visit) -> Diagnosis:
    """Hold the readings of a visit against the solved design, and rank what may have changed.

    Parameters
    ----------
    on_site
        The design made ready.
    design
        With its own speed and its visits, from which the start-up is taken.

    Raises
    ------
    NotPredicted
        With a sentence, where nothing was read, or nothing can be told of what was.
    """
    if not visit.entered:
        raise NotPredicted("nothing was read on this visit that could be held against the design")
    basis = Basis(on_site, design, visit)
    expected = basis.expected
    chosen = [i for i, each in enumerate(expected) if each.told]
    if not chosen:
        raise NotPredicted("the design cannot tell what any of these readings should be")
    read = np.array([expected[i].read for i in chosen])
    base = basis.unchanged[chosen]
    chi2 = float(_chi2(read - base, basis.covariance(base, chosen)))
    gate = gate_of(len(chosen))
    tap = next((item.place for item in basis.items if item.kind == "gauge" and item.key in _taken(basis)), None)
    fits = [_fit(basis, cause, chosen, read) for cause in causes_of(basis.moment, tap)]
    unseen = tuple(fit.cause for fit in fits if fit.cause.kind.acts != "nothing" and not _shows(basis, fit, chosen))
    if chi2 <= gate:
        return Diagnosis(visit, basis.start_up, expected, chi2, gate, "unchanged", (), 0, unseen)
    ranked = _ranked(basis, fits, len(chosen))
    listed = _holding(ranked)
    if min(each.misfit for each in ranked[:listed]) > MISFIT:
        finding: Finding = "none"
    else:
        finding = "one" if listed == 1 and ranked[0].likelihood >= ALONE else "several"
    return Diagnosis(visit, basis.start_up, expected, chi2, gate, finding, ranked, listed, unseen)


def gate_of(readings: int) -> float:
    """Chi-square that so many readings of which nothing changed stay below."""
    from scipy.special import gammaincinv

    return 2.0 * float(gammaincinv(0.5 * readings, GATE))


def _taken(basis: Basis) -> set[tuple[str, int]]:
    return {each.item.key for each in basis.readings}


def _chi2(off: Array, covariance: Array) -> Array:
    return np.asarray(np.sum(off * np.linalg.solve(covariance, off[..., None])[..., 0], axis=-1))


def shown_by(basis: Basis, cause: Cause, sizes: Array) -> Array:
    """What all items would show with a cause of sizes (w,), shape (crossings, w, R); NaN where there is no crossing."""
    kind = cause.kind
    flows, read = solved(basis.moment, kind.acts, cause.place, sizes)
    fault = gauge_fault(cause, sizes)
    items = [
        item._replace(place=fault.run) if fault.run is not None and item.kind == "gauge" else item
        for item in basis.items
    ]
    shown = basis.predicted(read, items)
    if kind.acts in ("nothing", "jumped") and flows.shape[0] > 1:
        here = np.abs(flows.sum(axis=-1) - basis.flows.sum())
        left = np.nanargmin(here, axis=0) if kind.acts == "jumped" else None
        for c in range(flows.shape[0]):
            out = (here[c] > np.nanmin(here, axis=0)) if left is None else (left == c)
            shown[c, out] = np.nan
    for i, item in enumerate(items):
        if item.kind == "gauge":
            shown[..., i] = fault.factor * shown[..., i] + fault.shift
        if item.kind == "power" and kind.acts == "seized":
            shown[..., i] = locked(basis.unchanged[i])
    return shown


def _fit(basis: Basis, cause: Cause, chosen: Sequence[int], read: Array) -> _Fit:
    kind, at = cause.kind, list(chosen)
    shown = shown_by(basis, cause, kind.tried)
    values = shown[..., at]
    found = ~np.isnan(values).any(axis=-1)
    prior = -0.5 * kind.bends**2
    prior = prior - math.log(float(np.exp(prior).sum()))
    chi2 = np.full(found.shape, np.inf)
    fit = np.full(found.shape, -np.inf)
    if found.any():
        covariance = basis.covariance(values[found], at, kind.power)
        chi2[found] = _chi2(read - values[found], covariance)
        fit[found] = -0.5 * (chi2[found] + np.linalg.slogdet(covariance)[1])
    # a fan that may stand on either of two crossings is as likely on each
    crossings = np.maximum(found.sum(axis=0), 1)
    weighed = fit + prior - np.log(crossings)
    c, w = np.unravel_index(int(np.argmax(weighed)), weighed.shape)
    top = float(weighed[c, w])
    total = top + math.log(float(np.exp(weighed - top).sum())) if math.isfinite(top) else -math.inf
    usual = shown[:, len(kind.bends) // 2]
    typical = usual[0] if not np.isnan(usual[0]).all() else usual[-1]
    return _Fit(
        cause,
        math.log(cause.weight) + total,
        float(kind.tried[w]),
        abs(float(kind.bends[w])),
        math.sqrt(max(float(chi2[c, w]), 0.0) / len(at)) if math.isfinite(top) else math.inf,
        _has_jumped(basis, cause, shown.shape[0], int(c)),
        shown[c, w],
        typical,
    )


def _has_jumped(basis: Basis, cause: Cause, crossings: int, crossing: int) -> bool:
    return cause.kind.acts == "jumped" or (crossings > 1 and crossing != basis.branch)


def _shows(basis: Basis, fit: _Fit, chosen: Sequence[int]) -> bool:
    """Whether a cause of typical size would pass the gate four times in five.

    By mean and variance of the noncentral chi-square, n + d and 2 (n + 2 d) for n readings whose means lie d off
    (handbook formula, from memory).
    """
    at, n = list(chosen), len(chosen)
    off = fit.typical[at] - basis.unchanged[at]
    if np.isnan(off).any():
        return False
    d = float(_chi2(off, basis.covariance(basis.unchanged[at], at)))
    return n + d - _SURE * math.sqrt(2.0 * (n + 2.0 * d)) > gate_of(n)


def _ranked(basis: Basis, fits: Sequence[_Fit], readings: int) -> tuple[Ranked, ...]:
    order = sorted((fit for fit in fits if math.isfinite(fit.score)), key=lambda fit: -fit.score)
    top = order[0].score
    weights = [math.exp(fit.score - top) for fit in order]
    whole = sum(weights)
    first, second = order[0], order[1] if len(order) > 1 else None
    return tuple(
        Ranked(
            fit.cause,
            fit.size,
            fit.bend,
            fit.misfit,
            weight / whole,
            fit.jumped,
            parting(basis, fit, first if fit is not first else second),
        )
        for fit, weight in zip(order, weights, strict=True)
    )


def parting(basis: Basis, one: _Fit, other: _Fit | None) -> Item | None:
    """Of what was not read, the reading to take next between two causes; None where none would tell.

    The soonest read of those that part them plainly, else the one that the two would have differ most, in its errors.
    """
    if other is None:
        return None
    told = []
    for i in range(len(basis.readings), len(basis.items)):
        a, b = float(one.shown[i]), float(other.shown[i])
        if math.isnan(a) or math.isnan(b):
            continue
        error = sum(float(basis.covariance(fit.shown[[i]], [i], fit.cause.kind.power)[0, 0]) for fit in (one, other))
        apart = abs(a - b) / math.sqrt(0.5 * error)
        if apart > _PARTS:
            told.append((apart, basis.items[i]))
    plainly = [(_SOONEST.index(item.kind), -apart, item) for apart, item in told if apart >= _PARTS_PLAINLY]
    if plainly:
        return min(plainly)[-1]
    return max(told)[-1] if told else None


def _holding(ranked: Sequence[Ranked]) -> int:
    """How many causes, best first, hold most of the likelihood together."""
    held = 0.0
    for count, each in enumerate(ranked, start=1):
        held += each.likelihood
        if held >= HELD:
            return count
    return len(ranked)
