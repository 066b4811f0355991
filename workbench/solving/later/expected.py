"""What each reading of a visit should be by the solved model, and how far it may lie off with nothing changed.

Where the start-up read the same, its reading is carried over by what the model says of the two days, so that most of
what the model has wrong falls out. Possible sites are those of the solver; what drifts by itself between two visits
comes on top, and so do the instruments' errors at both.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cached_property
from typing import NamedTuple

import numpy as np
from msgspec import Struct

from workbench.design.design import Design
from workbench.design.visits import Conditions, Visit, in_order
from workbench.physics.arrays import Array
from workbench.solving.later.acting import middle_of, solved_near
from workbench.solving.later.causes import Acts
from workbench.solving.later.items import Item, Reading, could_be_read, readings_of
from workbench.solving.later.model import Told, possible
from workbench.solving.later.moment import Moment, moment_of
from workbench.solving.run.fans_on_site import FansOnSite
from workbench.solving.run.sounding import sound_at
from workbench.solving.site.draws import DRAG_SAMPLES, band

EDGE = 1.645
"""Standard deviations within which 90 % of a normal distribution lie."""

DRIFTS: tuple[tuple[tuple[Acts, float], tuple[Acts, float]], ...] = (
    (("fill up", 1.1), ("fill down", 1.1)),
    (("leakage up", 1.1), ("leakage down", 1.1)),
    (("slower", 0.01), ("faster", 0.01)),
    (("house down", 1.0), ("house up", 1.0)),
    (("wind", 2.0), ("wind", -2.0)),
)
"""What changes by itself between two visits, one standard deviation each, one way and the other: ground and leakage a
tenth, the fan's speed 1 %, the house 1 Pa, wind at the outlet 2 Pa; judgements."""

MAINS = {"ec": 0.015, "phase-cut": 0.03, "none": 0.03}
"""What the mains do to the watts, by control; a judgement."""

MAKER = 0.05
"""What a fan's watts may be off its table where the start-up did not read them; a judgement."""

AIR = 10.0
"""What the outdoor air may be off where it was not read; a judgement. [K]"""

_SOUND = 1.5
"""What a level drifts by itself; a judgement. [dB]"""

_TOLD = 3.0
"""Standard errors above nothing from which a reading goes by its ratio."""

_MOST_RATIO = 5.0


class NotPredicted(ValueError):
    """A visit of which nothing can be told, with a sentence."""


class Expected(Struct, frozen=True):
    """One reading beside what it should be.

    `expected` is NaN where the model cannot tell; `band` holds 90 %, the reading's own error in it; `off` is how many
    standard errors the reading lies above it.
    """

    item: Item
    read: float
    expected: float
    band: tuple[float, float]
    off: float

    @property
    def told(self) -> bool:
        """Whether the model can tell what it should be."""
        return not math.isnan(self.expected)

    @property
    def inside(self) -> bool:
        """Whether the reading lies within its band."""
        return self.band[0] <= self.read <= self.band[1]


class Spread(NamedTuple):
    """What readings (R,) may be off with nothing changed: covariance of model and drift (R, R), edges of the model."""

    covariance: Array
    low: Array
    high: Array


class Basis:
    """What the readings of a visit are expected from.

    `readings` are those that were taken, `possible` those that could have been beside; both together are `items`, in
    this order. `speed` is the design's own.

    Raises
    ------
    NotPredicted
        When no fan is chosen, or it meets nothing.
    """

    def __init__(self, on_site: FansOnSite, design: Design, visit: Visit, *, samples: int = DRAG_SAMPLES) -> None:
        self.visit = visit
        self.moment = _moment(on_site, visit.conditions, design.speed)
        # along a curve that rises each site takes many times as long
        self.samples = samples // 4 if self.moment.fan.rises else samples
        assembly = self.moment.assembly
        self.readings = readings_of(assembly, design, visit)
        tap = next((each.item for each in self.readings if each.item.kind == "gauge"), None)
        taken = {each.item.key for each in self.readings}
        beside = could_be_read(assembly, design, tap)
        self.possible = tuple(each for each in beside if each.item.key not in taken)
        self.every = (*self.readings, *self.possible)
        self.items = tuple(each.item for each in self.every)
        self.start_up = start_up_of(design.visits, visit)
        self.before = self.moment if self.start_up is None else _moment(on_site, self.start_up.conditions, design.speed)
        first = () if self.start_up is None else readings_of(assembly, design, self.start_up)
        by_key = {each.item.key: each for each in first}
        # a gauge that hung elsewhere at the start-up says nothing of this tap
        self._first = tuple(by_key.get(item.key) for item in self.items)
        self.carried = np.array([each is not None for each in self._first])

    @cached_property
    def branch(self) -> int:
        """Which crossing the fan was left on: the one of least flow, or that which the start-up's readings show."""
        flows, read = middle_of(self.before)
        known = [i for i, first in enumerate(self._first) if first is not None]
        if flows.shape[0] == 1 or not known:
            return 0
        m = self._of(read)[:, 0]
        off = np.zeros(flows.shape[0])
        for i in known:
            first = self._first[i]
            assert first is not None
            off += ((m[:, i] - first.read) / (3.0 * first.error_at(first.read))) ** 2
        return int(np.nanargmin(np.where(np.isnan(off), np.inf, off)))

    def _of(self, read: Told) -> Array:
        return np.stack([item.of(read) for item in self.items], axis=-1)

    @cached_property
    def flows(self) -> Array:
        """Flows (N,) at the visit with nothing changed. [m3/s]"""
        return np.asarray(middle_of(self.moment)[0][self._crossing, 0])

    @cached_property
    def _crossing(self) -> int:
        """Which crossing at the visit is that which the fan was left on."""
        found = middle_of(self.moment)[0][:, 0]
        same = min(self.branch, len(found) - 1)
        crossing = 0 if np.isnan(found[same]).any() else same
        if np.isnan(found[crossing]).any():
            raise NotPredicted("in the state of this visit the fan meets nothing")
        return crossing

    @cached_property
    def _model_before(self) -> Array:
        """What the items are at the start-up by the best estimate, (R,)."""
        return np.asarray(self._of(middle_of(self.before)[1])[self.branch, 0])

    def carry(self, values: Array, before: Array | None = None) -> Array:
        """What instruments show where the model has values (..., R), from what they showed at the start-up.

        `before` (..., R) is what the model has for that, by default its best estimate.
        """
        m0 = self._model_before if before is None else before
        found = np.array(np.broadcast_to(values, np.broadcast_shapes(values.shape, m0.shape)))
        for i, first in enumerate(self._first):
            if first is None:
                continue
            if self.by_ratio[i]:
                found[..., i] = first.read * values[..., i] / m0[..., i]
            else:
                found[..., i] = first.read + values[..., i] - m0[..., i]
        return found

    @cached_property
    def by_ratio(self) -> tuple[bool, ...]:
        """Which items go by their ratio: not those that were near nothing."""
        found = []
        for item, first, m0 in zip(self.items, self._first, self._model_before, strict=True):
            alike = first is not None and min(m0, first.read) > _TOLD * float(first.error_at(m0))
            found.append(item.by_ratio and (first is None or alike))
        return tuple(found)

    @cached_property
    def unchanged(self) -> Array:
        """What the items should show with nothing changed, (R,); NaN where the model cannot tell."""
        return np.asarray(self.carry(self._of(middle_of(self.moment)[1])[self._crossing, 0]))

    @cached_property
    def spread(self) -> Spread:
        """How far they may be off, but for the instruments' errors."""
        own = self._possible
        base = self.unchanged
        covariance = np.zeros((len(self.items), len(self.items)))
        low, high = base.copy(), base.copy()
        if len(own) > 1:
            off = np.nan_to_num(own - np.mean(own, axis=0))
            covariance += off.T @ off / (len(own) - 1)
            least, most = band(own)
            low, high = np.fmin(least, base), np.fmax(most, base)
        alone = np.nan_to_num(self._alone) ** 2
        covariance[np.diag_indices(len(alone))] += alone
        drifts = self._drifts
        covariance += drifts.T @ drifts
        extra = alone + (drifts**2).sum(axis=0)
        return Spread(
            covariance,
            base - np.hypot(base - low, EDGE * np.sqrt(extra)),
            base + np.hypot(high - base, EDGE * np.sqrt(extra)),
        )

    @cached_property
    def _possible(self) -> Array:
        """What possible sites would show, (s, R)."""
        try:
            now, here = possible(self.moment, self.samples, self.flows)
            then, there = possible(self.before, self.samples, middle_of(self.before)[0][self.branch, 0])
        except ArithmeticError:
            return np.zeros((0, len(self.items)))
        settled = ~(np.isnan(now).any(axis=-1) | np.isnan(then).any(axis=-1))
        with np.errstate(divide="ignore", invalid="ignore"):
            values = self.carry(self._of(here), self._of(there))
        return np.asarray(values[settled])

    @cached_property
    def _alone(self) -> Array:
        """What each may be off by itself, (R,): watts by the mains, sound by what is known of its way."""
        record = self.moment.design.chosen_fan
        found = np.zeros(len(self.items))
        flow = float(self.flows.sum())
        heard = sound_at(self.moment.design, self.moment.speed, flow, self.moment.assembly.network.density)
        for i, (item, carried) in enumerate(zip(self.items, self.carried, strict=True)):
            if item.kind == "power" and record is not None:
                known = carried or self.moment.on_site.fan_read
                found[i] = self.unchanged[i] * math.hypot(MAINS[record.control], 0.0 if known else MAKER)
            if item.kind == "sound" and item.place < len(heard):
                found[i] = _SOUND if carried else heard[item.place].band / EDGE
        return found

    @cached_property
    def _drifts(self) -> Array:
        """What drifts by itself, one row each, (d, R)."""
        rows = []
        for ways in DRIFTS:
            both = [
                self._moved(self.moment, acts, size) for acts, size in (ways if self.moment.fan.rises else ways[:1])
            ]
            # a fan at the edge of its dip jumps one way: that is a cause of its own, and no drift
            rows.append(min(both, key=lambda row: float(np.nansum(row**2))))
        if not self.moment.air_read:
            place = self.moment.design.place
            away = {"outdoor_temperature": place.outdoor_temperature - AIR}
            colder = self.visit.conditions.model_copy(update=away)
            other = _moment(self.moment.on_site, colder, self.moment.speed)
            rows.append(self._moved(other, "nothing", 1.0))
        return np.nan_to_num(np.stack(rows))

    def _moved(self, moment: Moment, acts: Acts, size: float) -> Array:
        return np.asarray(self.carry(self._of(solved_near(moment, acts, size, self.flows)))[0] - self.unchanged)

    def covariance(self, values: Array, chosen: Sequence[int], power: float = 0.0) -> Array:
        """Covariance of some of the items where the model has values (..., c) for them, shape (..., c, c).

        `power` is what the watts may be off besides, as a share.
        """
        at = list(chosen)
        base, size = self.unchanged[at], self.spread.covariance[np.ix_(at, at)]
        ratio = np.array([self.by_ratio[i] for i in at])
        with np.errstate(divide="ignore", invalid="ignore"):
            scale = np.where(ratio & (base != 0.0), np.abs(values / base), 1.0)
        scale = np.clip(np.nan_to_num(scale, nan=1.0), 0.0, _MOST_RATIO)
        found = size * scale[..., :, None] * scale[..., None, :]
        for c, i in enumerate(at):
            own = self.every[i].error_at(values[..., c]) ** 2
            first = self._first[i]
            if first is not None:
                passed_on = np.abs(values[..., c] / first.read) if self.by_ratio[i] else 1.0
                own = own + (passed_on * first.error_at(first.read)) ** 2
            if self.items[i].kind == "power":
                own = own + (power * values[..., c]) ** 2
            found[..., c, c] += own
        return np.asarray(found)

    @property
    def expected(self) -> tuple[Expected, ...]:
        """Every reading that was taken beside what it should be."""
        found = []
        for i, reading in enumerate(self.readings):
            value = float(self.unchanged[i])
            first = self._first[i]
            own = float(reading.error_at(value))
            if first is not None:
                scale = abs(value / first.read) if self.by_ratio[i] else 1.0
                own = math.hypot(own, scale * float(first.error_at(first.read)))
            low = value - math.hypot(value - self.spread.low[i], EDGE * own)
            high = value + math.hypot(self.spread.high[i] - value, EDGE * own)
            edge = (high - value) if reading.read > value else (value - low)
            found.append(Expected(reading.item, reading.read, value, (low, high), (reading.read - value) * EDGE / edge))
        return tuple(found)

    def predicted(self, moment_read: Told, items: Sequence[Item]) -> Array:
        """What instruments at items (R,) show of states (...), carried over, shape (..., R)."""
        return self.carry(np.stack([item.of(moment_read) for item in items], axis=-1))


def _moment(on_site: FansOnSite, conditions: Conditions, speed: float) -> Moment:
    found = moment_of(on_site, conditions, speed)
    if found is None:
        raise NotPredicted("no fan is chosen, so that nothing can be expected of its readings")
    return found


def start_up_of(visits: tuple[Visit, ...], visit: Visit) -> Visit | None:
    """The last start-up before a visit whose readings can be carried over; None where there is none."""
    earlier = []
    for each in in_order(visits):
        if each == visit:
            break
        if each.kind == "start-up" and each.entered:
            earlier.append(each)
    return earlier[-1] if earlier else None


__all__ = ["Basis", "Expected", "NotPredicted", "Reading", "start_up_of"]
