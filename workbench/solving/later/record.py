"""How well predictions were met: every reading of a job beside what was expected of it before it was taken.

Two things are held apart: what the design alone had expected of the start-up, its own correction left out, and what the
start-up let expect of a yearly check, which tells what systems drift. Call-outs are left out: somebody came because
something was wrong.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import Literal

import numpy as np
from msgspec import Struct

from workbench.design.design import Design
from workbench.design.ground import GroundClass
from workbench.design.visit_edit import with_known_speed
from workbench.design.visits import in_order
from workbench.solving.later.expected import Basis, NotPredicted
from workbench.solving.later.items import ItemKind
from workbench.solving.run.prepare import made_ready

Against = Literal["design", "start-up"]

OFFERED_FROM = 10
"""Jobs from which somebody's own numbers are worth more than the ones that come with the program; a judgement."""

_CLEAR = 3.0
"""Standard errors above nothing from which a reading goes by its ratio."""


_SURE = 0.05
"""Chance that a scatter is more than what is told as the most."""


class Compared(Struct, frozen=True):
    """A reading beside what was expected of it by the design alone or by the start-up.

    `off` is how many standard errors it lies above; `apart` the logarithm of read over expected, or the difference
    where what was read goes by differences or lies near nothing.
    """

    against: Against
    date: str
    what: ItemKind
    where: str
    read: float
    expected: float
    band: tuple[float, float]
    off: float
    apart: float
    by_ratio: bool

    @property
    def inside(self) -> bool:
        """Whether it lay within its 90 % band."""
        return self.band[0] <= self.read <= self.band[1]


class GroundFound(Struct, frozen=True):
    """What a start-up made of the ground at a point that nobody had tested: its class, and the factor on it."""

    kind: str
    factor: float


class JobRecord(Struct, frozen=True):
    """A job: its readings beside what was expected, and the grounds that its start-up told of."""

    compared: tuple[Compared, ...]
    grounds: tuple[GroundFound, ...]


class Row(Struct, frozen=True):
    """A quantity over all jobs.

    Attributes
    ----------
    readings, jobs : int
    inside : float
        Share of the readings within their 90 % bands.
    bias, scatter : float
        Mean and standard deviation of the logarithm of read over expected; of the difference in SI where `by_ratio` is
        false, which it is as soon as one reading is not to be told by its ratio: a quantity split in two would hide
        how many jobs stand behind it. `scatter` is not a number of a single reading.
    errors : float
        Root mean square of the standard errors that readings lay off by: 1 where the bands are as wide as they should
        be, more where they are too narrow.
    errors_at_most : float
        What that may truly be with so few jobs, at 95 %: by the chi-square of the jobs, as if readings of one job were
        off together.
    offered : bool
        Whether there are jobs enough for it to stand in place of the program's own.
    """

    against: Against
    what: ItemKind
    by_ratio: bool
    readings: int
    jobs: int
    inside: float
    bias: float
    scatter: float
    errors: float
    errors_at_most: float
    offered: bool


class GroundRow(Struct, frozen=True):
    """A class of ground over all jobs: the middle factor on what it asks for, and the spread of its logarithm."""

    kind: str
    jobs: int
    factor: float
    spread: float
    offered: bool


class Track(Struct, frozen=True):
    """The record of many jobs."""

    jobs: int
    rows: tuple[Row, ...]
    grounds: tuple[GroundRow, ...]


def job_record(design: Design) -> JobRecord:
    """Hold the readings of a job against what was expected of them.

    Raises
    ------
    ValueError
        With a sentence, when the design has no answer.
    """
    return JobRecord(tuple(_compared(design)), tuple(_grounds(design)))


def _compared(design: Design) -> Iterator[Compared]:
    plain = design.model_copy(update={"corrected_by": None})
    site = made_ready(plain)
    for visit in in_order(design.visits):
        if visit.kind not in ("start-up", "yearly check") or not visit.entered:
            continue
        against: Against = "design" if visit.kind == "start-up" else "start-up"
        held = plain.model_copy(update={"visits": (visit,)}) if against == "design" else plain
        try:
            basis = Basis(site, held, visit)
            if against == "start-up" and basis.start_up is None:
                continue
            expected = basis.expected
        except NotPredicted:
            continue
        for each, carried, by_ratio in zip(expected, basis.carried, basis.by_ratio, strict=False):
            if not each.told or (against == "start-up" and not carried):
                continue
            clear = by_ratio and _is_clear(each.read, each.expected, each.off)
            apart = math.log(each.read / each.expected) if clear else each.read - each.expected
            yield Compared(
                against, visit.date, each.item.kind, each.item.name, each.read, each.expected, each.band, each.off,
                apart, clear,
            )  # fmt: skip


def _is_clear(read: float, expected: float, off: float) -> bool:
    """Whether a reading and what was expected lie far enough from nothing to be told by their ratio."""
    if min(read, expected) <= 0.0:
        return False
    error = abs((read - expected) / off) if off else 0.0
    return expected > _CLEAR * error


def _grounds(design: Design) -> Iterator[GroundFound]:
    from workbench.solving.later.correct import NotCorrected, correction_of

    classed = {p.name: p.ground.kind for _, p in design.suction_points() if isinstance(p.ground, GroundClass)}
    first = next((v for v in in_order(design.visits) if v.kind == "start-up" and v.entered), None)
    if not classed or first is None:
        return
    try:
        found = correction_of(design, with_known_speed(first, design.speed))
    except NotCorrected:
        return
    for moved in found.moved:
        if moved.kind == "ground" and moved.name in classed:
            yield GroundFound(classed[moved.name], moved.after.middle)


def track_of(records: Sequence[JobRecord]) -> Track:
    """All jobs together, by quantity and by class of ground."""
    with_readings = [record for record in records if record.compared]
    keys = dict.fromkeys(_key(each) for record in with_readings for each in record.compared)
    rows = tuple(_row(key, with_readings) for key in sorted(keys))
    kinds = sorted({each.kind for record in records for each in record.grounds})
    return Track(len(with_readings), rows, tuple(_ground_row(kind, records) for kind in kinds))


_Key = tuple[Against, ItemKind]


def _key(each: Compared) -> _Key:
    return (each.against, each.what)


def _row(key: _Key, records: Iterable[JobRecord]) -> Row:
    from scipy.special import gammaincinv

    by_job = [[each for each in record.compared if _key(each) == key] for record in records]
    found = [each for own in by_job for each in own]
    jobs = sum(1 for own in by_job if own)
    by_ratio = all(each.by_ratio for each in found)
    apart = np.array([each.apart if by_ratio else each.read - each.expected for each in found])
    off = np.array([each.off for each in found])
    errors = float(np.sqrt(np.mean(off**2)))
    return Row(
        *key,
        by_ratio=by_ratio,
        readings=len(found),
        jobs=jobs,
        inside=float(np.mean([each.inside for each in found])),
        bias=float(apart.mean()),
        scatter=float(apart.std(ddof=1)) if len(found) > 1 else math.nan,
        errors=errors,
        errors_at_most=errors * math.sqrt(jobs / (2.0 * float(gammaincinv(0.5 * jobs, _SURE)))),
        offered=jobs >= OFFERED_FROM,
    )


def _ground_row(kind: str, records: Iterable[JobRecord]) -> GroundRow:
    by_job = [[math.log(each.factor) for each in record.grounds if each.kind == kind] for record in records]
    # points of one job stand in one ground
    logs = np.array([np.mean(own) for own in by_job if own])
    spread = float(logs.std(ddof=1)) if len(logs) > 1 else math.nan
    return GroundRow(kind, len(logs), float(np.exp(logs.mean())), spread, len(logs) >= OFFERED_FROM)
