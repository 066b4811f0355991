"""What was read on a job, each reading in the state it was taken in."""

from __future__ import annotations

import math

import numpy as np

from workbench.design.catalogue import ground_kinds
from workbench.design.ground import GroundClass, Resistance, StepTest, SuctionPoint
from workbench.design.slab import HoleReading, TestHole
from workbench.physics.ground import LEAST_READING_ERROR, RELATIVE_READING_ERROR, fit_step_test
from workbench.solving.site.ground_state import (
    CLASSED,
    DUG,
    TESTED,
    FlowReading,
    Readings,
    ShareReading,
    SuctionReading,
)
from workbench.solving.site.share_model import MEAN_SHARE, MEAN_SHARE_SPREAD, Known

_FLOW_ERROR = 0.05
"""Standard error of a flow noted with a hole reading; a judgement."""

_GAUGE_ERROR = 0.02
"""Standard error of the suction held at a point, as a share of it; a judgement."""

_CLASS_SPREAD = math.log(3.0)
"""Of the flow of a class of ground: the same for every class, so that a tighter one never brings more."""

_PROBED_FLOW = 0.01
"""Flow at which an entered resistance is held against the model; with its shape entered one place tells all. [m3/s]"""

_SAME = 0.01
_SAME_STATE, _CONTRADICTS = 0.1, 3.0
"""Logarithm of suctions at a point that make one state, and standard errors by which two readings contradict."""


_DRAW_DOWN_ERROR, _DRAW_DOWN_LEAST = 0.05, 0.3
"""Standard error of the house's draw-down in the exhaust test: as a share of it, and at least [Pa]; judgements."""


def readings_of(
    points: tuple[SuctionPoint, ...], holes: tuple[TestHole, ...], draw_down: float | None, *, planned: bool
) -> Readings:
    """All readings of a job.

    Parameters
    ----------
    draw_down
        Of the house in the exhaust test, None when it was not measured. [Pa]
    planned
        On a drawn floor the mean share of the season is what the floor makes of it, so that measured houses enter as a
        reading; elsewhere they are the prior.
    """
    names = [point.name for point in points]
    # without a plan the step tests have been fitted already, each by itself
    flows = [reading for i, point in enumerate(points) for reading in _flows(i, point)] if planned else []
    noted = {(i, round(math.log(f.suction) / _SAME), round(math.log(f.flow) / _SAME)) for i, f in enumerate(flows)}
    # no hole loses more than the house: what was read at one bounds what was read of the other
    house = None if draw_down is None else max(draw_down, most_lost(holes))
    suctions, shares = [], []
    for h, hole in enumerate(holes):
        left_out = contradicted(hole)
        for r, reading in enumerate(hole.readings):
            i = names.index(reading.point)
            alone = reading.made_with == "test vacuum"
            if r in left_out:
                continue
            suctions.append(_suction(h, r, i, reading, alone or len(points) == 1, planned))
            if reading.flow is not None and alone and planned:
                key = (i, round(math.log(reading.applied) / _SAME), round(math.log(reading.flow) / _SAME))
                if key not in noted and not _is_a_step(points[i], reading):
                    noted.add(key)
                    flows.append(FlowReading(i, TESTED, reading.applied, reading.flow, _FLOW_ERROR, metered=True))
        if hole.exhausts is not None and not gains(hole) and house:
            shares.append(_share(h, hole, house))
    mean = (math.log(MEAN_SHARE / (1.0 - MEAN_SHARE)), MEAN_SHARE_SPREAD) if planned else None
    return Readings(flows, suctions, shares, mean)


def contradicted(hole: TestHole) -> tuple[int, ...]:
    """Positions of readings of a hole that another in the same state falls short of by more than the gauge can err.

    Which of the two is true nobody knows: the lower one is taken, so that the other makes no hole safe.
    """
    found = []
    for r, one in enumerate(hole.readings):
        for other in hole.readings:
            same = (one.point, one.made_with) == (other.point, other.made_with)
            if not same or abs(math.log(one.applied / other.applied)) > _SAME_STATE:
                continue
            there = (other.suction - other.at_rest) * one.applied / other.applied
            here = one.suction - one.at_rest
            error = math.hypot(
                math.hypot(one.resolution, one.accuracy * here), math.hypot(other.resolution, other.accuracy * there)
            )
            if here - there > _CONTRADICTS * error:
                found.append(r)
                break
    return tuple(found)


def most_lost(holes: tuple[TestHole, ...]) -> float:
    """The most that any hole lost in the exhaust test, 0 or more. [Pa]"""
    return max((-hole.exhausts for hole in holes if hole.exhausts is not None and hole.exhausts < 0.0), default=0.0)


def change_error(hole: TestHole) -> float:
    """What two readings of one hole may differ by, two standard errors of its instrument. [Pa]"""
    least = hole.readings[0].resolution if hole.readings else HoleReading.model_fields["resolution"].default
    return 2.0 * math.sqrt(2.0) * float(least)


def gains(hole: TestHole) -> bool:
    """Whether a hole is entered as gaining by exhausts, which none does: a sign the other way round, or a door."""
    return hole.exhausts is not None and hole.exhausts > change_error(hole)


def shows_suction(hole: TestHole) -> bool:
    """Whether any reading stands out from nothing by two standard errors of its instrument."""
    return any(reading.suction - reading.at_rest > 2.0 * reading.resolution for reading in hole.readings)


def known_of(point: SuctionPoint) -> Known:
    """Resistance at the tested hollow as the point's own test, class or entry has it, for a job without a plan."""
    known = point.ground
    none = ((0.0, 0.0), (0.0, 0.0))
    if isinstance(known, GroundClass):
        kind = ground_kinds()[known.kind]
        return Known(kind.linear, kind.quadratic, none, _CLASS_SPREAD)
    if isinstance(known, Resistance):
        return Known(known.linear, known.quadratic, none, max(0.5 * known.band, 0.02))
    fit = fit_step_test(
        [r.flow for r in known.readings], [r.suction for r in known.readings], [r.baseline for r in known.readings]
    )
    (aa, ab), (_, bb) = fit.covariance
    first = math.sqrt(aa) if aa > 0.0 else 0.0
    across = ab / first if first else 0.0
    return Known(fit.a, fit.b, ((first, 0.0), (across, math.sqrt(max(bb - across**2, 0.0)))), 0.0)


def inertia_of(point: SuctionPoint) -> tuple[float, float]:
    """Inertial resistance at the tested hollow before any reading [Pa s2/m6], and the spread of its logarithm."""
    known = point.ground
    if isinstance(known, GroundClass):
        kind = ground_kinds()[known.kind]
        return max(kind.quadratic, 1e-3 * kind.linear / kind.middle_flow), 1.0
    if isinstance(known, Resistance):
        least = 1e-6 * max(known.linear, 1.0) / _PROBED_FLOW
        return max(known.quadratic, least), max(0.5 * known.band, 0.02)
    return 3e5, 2.5


def _flows(i: int, point: SuctionPoint) -> list[FlowReading]:
    known = point.ground
    if isinstance(known, GroundClass):
        kind = ground_kinds()[known.kind]
        return [FlowReading(i, CLASSED, kind.middle_suction, kind.middle_flow, _CLASS_SPREAD, metered=False)]
    if isinstance(known, Resistance):
        suction = known.linear * _PROBED_FLOW + known.quadratic * _PROBED_FLOW**2
        return [FlowReading(i, TESTED, suction, _PROBED_FLOW, max(0.5 * known.band, 0.02), metered=False)]
    net = np.array([r.suction - r.baseline for r in known.readings])
    flow = np.array([r.flow for r in known.readings])
    # what scatters about the curve by more than was stated is that much less sure
    fit = fit_step_test(flow, net)
    errors = np.maximum(RELATIVE_READING_ERROR * net, LEAST_READING_ERROR)
    chi_square = float(np.sum((fit.residuals / errors) ** 2))
    widening = math.sqrt(max(1.0, chi_square / fit.degrees_of_freedom)) if fit.degrees_of_freedom else 1.0
    return [
        FlowReading(i, TESTED, float(p), float(q), widening * float(e / p), metered=True)
        for p, q, e in zip(net, flow, errors, strict=True)
    ]


def _is_a_step(point: SuctionPoint, reading: HoleReading) -> bool:
    """Whether a flow noted with a hole reading is one of the step test's own: it must not count twice."""
    if not isinstance(point.ground, StepTest) or reading.flow is None:
        return False
    return any(
        abs(step.suction / reading.applied - 1.0) < 0.02 and abs(step.flow / reading.flow - 1.0) < 0.02
        for step in point.ground.readings
    )


def _suction(h: int, r: int, i: int, reading: HoleReading, alone: bool, planned: bool) -> SuctionReading:
    noted = not planned and alone and reading.flow is not None
    return SuctionReading(
        hole=h,
        reading=r,
        point=i if alone else -1,
        hollow=TESTED if reading.made_with == "test vacuum" else DUG,
        applied=reading.applied,
        suction=reading.suction - reading.at_rest,
        accuracy=math.hypot(reading.accuracy, _FLOW_ERROR if noted else _GAUGE_ERROR),
        floor=reading.resolution,
        flow=reading.flow if noted else None,
    )


def _share(h: int, hole: TestHole, draw_down: float) -> ShareReading:
    assert hole.exhausts is not None
    share = -hole.exhausts / draw_down
    accuracy = hole.readings[0].accuracy if hole.readings else HoleReading.model_fields["accuracy"].default
    own = math.hypot(0.5 * change_error(hole), accuracy * hole.exhausts) / draw_down
    house = abs(share) * math.hypot(_DRAW_DOWN_ERROR, _DRAW_DOWN_LEAST / draw_down)
    return ShareReading(h, share, math.hypot(own, house))
