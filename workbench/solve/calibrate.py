"""Fit the floor to its readings: fill, leakage, joints and zones, with what the classes say as a prior.

Least squares on logarithms. The prior keeps every factor near 1 within the class's own spread, so that two readings
suffice and twenty are used; the same sum gives the covariance from which the chance is drawn.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from workbench.design.catalogue import fill_kinds, slab_kind
from workbench.design.ground import SuctionPoint
from workbench.design.slab import Slab, TestHole
from workbench.physics.slab import Field
from workbench.solve.floor import (
    READING_ERROR,
    READING_FLOOR,
    Direction,
    Factor,
    Floor,
    HoleFit,
    field_of,
    is_tested,
    layer_of,
    own_direction,
    reading_flow,
    shares,
)
from workbench.solve.ground import Ground, ground_of

Array = NDArray[np.float64]

_COARSE_CELLS = 1500
"""Cells of the grid on which is fitted; the answer itself is computed on the grid asked for."""

_POINT_ERROR = 0.4
"""Standard error of the logarithm of a measured resistance: part of it lies close to the pit; a judgement."""

_JOINT_SPREAD = math.log(3.0)
_ZONE_SPREAD = math.log(5.0)
_NUDGE = 0.05
_LEAST_SHARE = 1e-4
"""Of a measured resistance, below which a trial is simply bad."""

_LEAST_LEFT = 1.05
_TINY = 1e-9
_LEAST_AT_HOLE, _LOCAL_SPREAD, _UNREAD_HOLE = 0.12, 0.25, 0.35
"""Standard deviations of the logarithm of a response: a field is no exact copy of a floor; judgements."""

_MISFIT = 2.5
"""Standard errors from which a hole no longer fits the field."""

_SOFT = 2.0
"""Standard errors from which a misfit pulls less hard, so that one bad hole does not bend the whole floor."""


@dataclass(frozen=True)
class _Unknown:
    """A factor to be fitted: its name and the standard deviation of its logarithm before any reading."""

    name: str
    title: str
    spread: float


@dataclass(frozen=True, eq=False)
class _Datum:
    """A reading at hole `hole` (or of the resistance at a point, -1) while `flow` was drawn at point `point`."""

    hole: int
    point: int
    flow: float
    value: float
    error: float


class _Trial(NamedTuple):
    """A floor with given factors: its field, and what the placed holes feel of flows and of the outdoors."""

    field: Field
    response: Array
    rest: Array


@dataclass(frozen=True, eq=False)
class _Plan:
    """The drawn floor with everything but its factors."""

    slab: Slab
    points: tuple[SuctionPoint, ...]
    grounds: tuple[Ground, ...]
    tested: tuple[Ground, ...]
    holes: tuple[TestHole, ...]
    placed: tuple[int, ...]
    unknowns: tuple[_Unknown, ...]
    slab_thickness: float
    viscosity: float

    @property
    def to_be_sealed(self) -> bool:
        """Whether something is planned to be sealed after the readings."""
        return self.slab.leak_left < 1.0 or self.slab.joints_left < 1.0

    def trial(self, logs: Array, cell: float, *, sealed: bool = False) -> _Trial:
        """Solve the field with the factors exp(logs), as it was read or as it will be."""
        factors = {u.name: math.exp(x) for u, x in zip(self.unknowns, logs, strict=True)}
        layer = layer_of(
            self.slab,
            self.slab_thickness,
            self.viscosity,
            lambda name: factors.get(name, 1.0),
            cell,
            sealed=sealed,
        )
        field = field_of(layer, self.points)
        if not self.placed:
            return _Trial(field, np.zeros((0, len(self.points))), np.zeros(0))
        sampled = field.sample([_place(self.holes[h]) for h in self.placed])
        return _Trial(field, sampled.flow, sampled.rest)

    def spread_over(self, values: Array, missing: float) -> Array:
        """Values of the placed holes at their places among all holes."""
        whole = np.full((len(self.holes), *values.shape[1:]), missing)
        whole[list(self.placed)] = values
        return whole


def _place(hole: TestHole) -> tuple[float, float]:
    assert hole.position is not None
    return hole.position.x, hole.position.y


def calibrated(
    slab: Slab,
    points: tuple[SuctionPoint, ...],
    grounds: tuple[Ground, ...],
    tested: tuple[Ground, ...],
    holes: tuple[TestHole, ...],
    slab_thickness: float,
    viscosity: float,
) -> Floor:
    """The floor with its factors fitted to all readings.

    Raises
    ------
    ValueError
        With a sentence, when the plan makes no field.
    """
    placed = tuple(h for h, hole in enumerate(holes) if hole.position is not None)
    plan = _Plan(slab, points, grounds, tested, holes, placed, tuple(_unknowns(slab)), slab_thickness, viscosity)
    # what is planned to be sealed and dug changes nothing of how the readings are fitted
    as_it_was = slab.model_copy(update={"leak_left": 1.0, "joints_left": 1.0})
    as_tested = tuple(point.model_copy(update={"pit_volume": point.ground.tested_volume}) for point in points)
    data, logs, covariance = _fitted(as_it_was, as_tested, holes, slab_thickness, viscosity)
    cell = _coarse_cell(slab)
    as_read = plan.trial(logs, slab.cell)
    final = plan.trial(logs, slab.cell, sealed=True) if plan.to_be_sealed else as_read
    local = _local(plan, data, as_read)
    unplaced = tuple(hole if hole.position is None else hole.model_copy(update={"readings": ()}) for hole in holes)
    by_readings, open_readings = shares(points, tested, unplaced)
    factors = np.array([own.factor for own in local])
    return Floor(
        coupling=_with_near_pit(plan, final.field, as_read.field),
        inertial=np.array([ground.quadratic for ground in grounds]),
        holes=np.where(
            np.isnan(by_readings), plan.spread_over(final.response * factors[:, None], math.nan), by_readings
        ),
        rest_points=np.clip(final.field.pits.rest, 0.0, 1.0),
        rest_holes=np.clip(plan.spread_over(final.rest, 1.0), 0.0, 1.0),
        directions=(*_open_directions(plan, logs, covariance, cell), *_hole_directions(plan, local), *open_readings),
        fits=tuple(_fit(plan, datum, as_read) for datum in data if datum.hole >= 0),
        field=final.field,
        factors=tuple(
            Factor(u.title, math.exp(x), math.exp(math.sqrt(covariance[i, i])))
            for i, (u, x) in enumerate(zip(plan.unknowns, logs, strict=True))
        ),
    )


class _Fitted(NamedTuple):
    """Readings, the logarithms of the factors fitted to them, and their covariance."""

    data: list[_Datum]
    logs: Array
    covariance: Array


def _coarse_cell(slab: Slab) -> float:
    return max(slab.cell, math.sqrt(_area(slab) / _COARSE_CELLS))


@lru_cache(maxsize=8)
def _fitted(
    slab: Slab, points: tuple[SuctionPoint, ...], holes: tuple[TestHole, ...], slab_thickness: float, viscosity: float
) -> _Fitted:
    """Fit the factors of a floor to its readings; kept, since nothing that is sealed or dug later touches it.

    `points` are those with the hollow they were tested with.
    """
    grounds = tuple(map(ground_of, points))
    placed = tuple(h for h, hole in enumerate(holes) if hole.position is not None)
    plan = _Plan(slab, points, grounds, grounds, holes, placed, tuple(_unknowns(slab)), slab_thickness, viscosity)
    data, cell = _data(plan), _coarse_cell(slab)
    spread = np.array([u.spread for u in plan.unknowns])

    def residuals(logs: Array) -> Array:
        return np.concatenate((_misfits(data, plan.trial(logs, cell)), logs / spread))

    logs = np.zeros(len(plan.unknowns))
    if data:
        from scipy.optimize import least_squares

        logs = least_squares(
            residuals,
            logs,
            diff_step=np.full(len(logs), _NUDGE),
            x_scale=spread,
            max_nfev=25,
            xtol=1e-4,
            ftol=1e-5,
            loss="soft_l1",
            f_scale=_SOFT,
        ).x
    base = residuals(logs)
    jacobian = np.stack([(residuals(logs + _NUDGE * unit) - base) / _NUDGE for unit in np.eye(len(logs))], axis=1)
    covariance: Array = np.asarray(np.linalg.inv(jacobian.T @ jacobian), dtype=np.float64)
    return _Fitted(data, logs, covariance)


def _area(slab: Slab) -> float:
    x = np.array([corner.x for corner in slab.outline])
    y = np.array([corner.y for corner in slab.outline])
    return abs(0.5 * float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)))


def _unknowns(slab: Slab) -> list[_Unknown]:
    found = [
        _Unknown("fill", "Fill lets through", math.log(fill_kinds()[slab.fill].factor)),
        _Unknown("leak", "Slab leaks", math.log(slab_kind("usual").factor)),
    ]
    if any(edge.kind == "joint" for edge in slab.edges):
        found.append(_Unknown("joint", "Joints let through", _JOINT_SPREAD))
    found += [_Unknown(f"zone {zone.name}", f"Fill of {zone.name}", _ZONE_SPREAD) for zone in slab.zones]
    return found


def _data(plan: _Plan) -> list[_Datum]:
    found = []
    for i, (point, ground) in enumerate(zip(plan.points, plan.grounds, strict=True)):
        if is_tested(point):
            error = _POINT_ERROR
            if ground.fit is not None and ground.fit.a > 0.0:
                error = math.hypot(error, math.sqrt(ground.fit.covariance[0, 0]) / ground.fit.a)
            found.append(_Datum(-1, i, 1.0, ground.linear, error))
    names = [point.name for point in plan.points]
    for row, h in enumerate(plan.placed):
        for reading in plan.holes[h].readings:
            if reading.point in names:
                i = names.index(reading.point)
                net = reading.suction - reading.at_rest
                error = math.hypot(READING_FLOOR, READING_ERROR * net)
                found.append(_Datum(row, i, reading_flow(reading, plan.tested[i]), net, error))
    return found


def _predicted(datum: _Datum, trial: _Trial) -> float:
    return float(trial.response[datum.hole, datum.point]) * datum.flow


def _misfits(data: list[_Datum], trial: _Trial) -> Array:
    misfits = np.zeros(len(data))
    bend = 2.0 * READING_FLOOR
    for j, datum in enumerate(data):
        if datum.hole < 0:
            # a layer too tight for its pit on this grid gives no resistance at all; the search is to turn back there
            share = max(float(trial.field.resistance[datum.point, datum.point]) / datum.value, _LEAST_SHARE)
            misfits[j] = math.log(share) / datum.error
        else:
            # logarithmic for large readings, linear for those near nothing, so that a reading may be zero or negative
            slope = datum.error / math.hypot(datum.value, bend)
            misfits[j] = (math.asinh(_predicted(datum, trial) / bend) - math.asinh(datum.value / bend)) / slope
    return misfits


def _with_near_pit(plan: _Plan, field: Field, as_read: Field) -> Array:
    """Coupling with the measured resistance of each point on its diagonal, raised as sealing raises the field's.

    What the field lacks of a measured resistance lies close to the pit and is felt by no hole.
    """
    coupling = np.array(field.resistance)
    for i, (point, ground) in enumerate(zip(plan.points, plan.grounds, strict=True)):
        if is_tested(point):
            least = _LEAST_LEFT * float(np.delete(coupling[i], i).max(initial=0.0))
            coupling[i, i] = max(ground.linear + field.resistance[i, i] - as_read.resistance[i, i], least)
    return coupling


def _open_directions(plan: _Plan, logs: Array, covariance: Array, cell: float) -> list[Direction]:
    """What the readings leave open: principal directions of the fit, then each point's own ground.

    How coupling and responses change with each factor is taken by differences on the coarse grid. A measured
    resistance does not move with the fit: it has a direction of its own.
    """
    n = len(plan.points)
    base = plan.trial(logs, cell, sealed=True)
    coupling, response = [], []
    for unit in np.eye(len(logs)):
        moved = plan.trial(logs + _NUDGE * unit, cell, sealed=True)
        coupling.append(np.log(moved.field.resistance / base.field.resistance) / _NUDGE)
        response.append(np.log(np.maximum(moved.response, _TINY) / np.maximum(base.response, _TINY)) / _NUDGE)
    free = np.ones((n, n)) - np.diag([float(is_tested(point)) for point in plan.points])
    values, vectors = np.linalg.eigh(covariance)
    found = []
    for value, vector in zip(values[::-1], vectors.T[::-1], strict=True):
        step = math.sqrt(max(float(value), 0.0)) * vector
        found.append(
            Direction(
                plan.unknowns[int(np.argmax(np.abs(step)))].title,
                np.tensordot(step, np.stack(coupling), axes=1) * free,
                plan.spread_over(np.tensordot(step, np.stack(response), axes=1), 0.0),
                np.zeros(n),
            )
        )
    for i, (point, ground) in enumerate(zip(plan.points, plan.grounds, strict=True)):
        if is_tested(point):
            found.append(own_direction(i, point.name, ground, n, len(plan.holes)))
    return found


class _Local(NamedTuple):
    """What the readings at one hole say beyond the fitted field: a factor on its response, and its remaining spread."""

    factor: float
    spread: float


def _local(plan: _Plan, data: list[_Datum], trial: _Trial) -> list[_Local]:
    """Lean each placed hole from the field towards its own readings, as far as these are the surer.

    A field is a smooth picture of a floor that is not; what was read at a hole tells more of that hole than any field.
    A hole that does not fit follows its readings wholly.
    """
    found = []
    for row in range(len(plan.placed)):
        own = [d for d in data if d.hole == row]
        if not own:
            found.append(_Local(1.0, _UNREAD_HOLE))
            continue
        logs = np.array([math.log(max(d.value, READING_FLOOR) / max(_predicted(d, trial), READING_FLOOR)) for d in own])
        weights = np.array([(max(d.value, READING_FLOOR) / d.error) ** 2 for d in own])
        off, error = float(weights @ logs / weights.sum()), float(weights.sum() ** -0.5)
        field = _LOCAL_SPREAD if abs(off) < _MISFIT * math.hypot(_LOCAL_SPREAD, error) else math.inf
        lean = 1.0 if math.isinf(field) else field**2 / (field**2 + error**2)
        scatter = float(np.std(logs)) if len(own) > 1 else 0.0
        found.append(_Local(math.exp(lean * off), max(_LEAST_AT_HOLE, math.sqrt(lean) * error, scatter)))
    return found


def _hole_directions(plan: _Plan, local: list[_Local]) -> list[Direction]:
    n, k = len(plan.points), len(plan.holes)
    found = []
    for h, own in zip(plan.placed, local, strict=True):
        at = np.zeros((k, n))
        at[h] = own.spread
        found.append(Direction(f"Field at {plan.holes[h].name}", np.zeros((n, n)), at, np.zeros(n)))
    return found


def _fit(plan: _Plan, datum: _Datum, trial: _Trial) -> HoleFit:
    return HoleFit(
        plan.holes[plan.placed[datum.hole]].name,
        plan.points[datum.point].name,
        datum.value,
        _predicted(datum, trial),
        datum.error,
    )
