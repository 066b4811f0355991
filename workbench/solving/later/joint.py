"""Floor, pipe and fan as unknowns of one fit, and what the instruments of a running system read of them.

The floor's own readings stay in it as they are, so that each counts once. The readings of the visit are added to them,
and to the floor's unknowns those of pipe, fan and weather, each with the band that the chance is worked out with.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from workbench.physics.arrays import Array
from workbench.physics.newton import FanPressure
from workbench.solving.later.expected import AIR, DRIFTS, MAINS, MAKER
from workbench.solving.later.items import Item, Reading
from workbench.solving.later.model import Model, as_solved, flows_of, lift_of, told
from workbench.solving.later.moment import Moment, moment_of
from workbench.solving.site.chance import fan_spread
from workbench.solving.site.fit import Model as FloorModel
from workbench.solving.site.fit import Varied, each_nudged
from workbench.solving.site.ground_state import DUG, GroundState, Readings
from workbench.solving.site.pipe_spread import PipeSpread, pipe_spread

_TAILS = GroundState(2, 2, 2, 2, 1, 1, 0)  # type: ignore[arg-type]
"""Axes of each part of a ground after those of the batch."""

_CLOSE = 1e-9
_HOUSE, _WIND = (next(size for acts, size in ways if acts in ("house down", "wind")) for ways in DRIFTS[-2:])
_SLOWEST = 0.1
_SCANNED = 481
_STEEP = 3.0
"""Slope beyond the ends of a branch, in its first pressure over its width."""

POWER, SPEED = Varied("fan power"), Varied("fan")


class Both(NamedTuple):
    """The ground as it was tested and as it is built, and the unknowns that are not of the floor, (..., e)."""

    tested: GroundState
    built: GroundState
    own: Array


class JointModel(Struct, frozen=True, eq=False):
    """Unknowns of floor, pipe, weather and fan; see `fit.Model`.

    `tested` is the floor as its readings found it, `built` with pits and sealing as they are; `own` the others' names.
    """

    tested: FloorModel
    built: FloorModel
    own: tuple[Varied, ...]

    @property
    def unknowns(self) -> tuple[Varied, ...]:
        """As `fit.Model`."""
        return (*self.tested.unknowns, *self.own)

    @property
    def unevenness(self) -> tuple[tuple[float, float], ...]:
        """As `fit.Model`."""
        return self.tested.unevenness

    def _floor(self, x: Array) -> Array:
        return x[..., : x.shape[-1] - len(self.own)]

    def state(self, x: Array, unevenness: Array) -> Both:
        """As `fit.Model`."""
        floor = self._floor(x)
        tested = self.tested.state(floor, unevenness)
        built = tested if self.built is self.tested else self.built.state(floor, unevenness)
        return Both(tested, built, x[..., floor.shape[-1] :])

    def beside(self, x: Array, unevenness: Array, nudge: float) -> Both:
        """As `fit.Model`."""
        floor, here = self._floor(x), self.state(x, unevenness)
        tested = self._and_own(self.tested.beside(floor, unevenness, nudge), here.tested, x.ndim - 1)
        built = tested
        if self.built is not self.tested:
            built = self._and_own(self.built.beside(floor, unevenness, nudge), here.built, x.ndim - 1)
        return Both(tested, built, each_nudged(x, nudge)[..., floor.shape[-1] :])

    def _and_own(self, nudged: GroundState, here: GroundState, axis: int) -> GroundState:
        """Grounds of which the floor's unknowns are nudged, and after them the ground as often as there are others."""
        return GroundState(
            *(
                np.concatenate((some, np.repeat(np.expand_dims(one, axis), len(self.own), axis)), axis=axis)
                for some, one in zip(nudged, here, strict=True)
            )
        )

    def meter(self, x: Array) -> Array:
        """As `fit.Model`."""
        return self.tested.meter(self._floor(x))

    def strain(self, x: Array) -> Array:
        """As `fit.Model`."""
        return self.tested.strain(self._floor(x))


class System(Struct, frozen=True, eq=False):
    """A running system in the state of a visit, and the readings that were taken of it, each of which it can tell.

    `near` (N,) are the flows that it is looked for near [m3/s]. Of a fan whose curve rises `branch` are the flows at
    full speed between which it falls there: readings of one crossing tell nothing of another.
    """

    moment: Moment
    colder: Moment | None
    spread: PipeSpread
    readings: tuple[Reading, ...]
    near: Array
    branch: tuple[float, float] | None

    @property
    def own(self) -> tuple[Varied, ...]:
        """Unknowns that are not of the floor: of pipe, house and weather, and last of the fan's power and speed."""
        air = () if self.colder is None else (Varied("outdoor air"),)
        return (*self.spread.names, Varied("house"), Varied("wind"), Varied("exhausts"), *air, POWER, SPEED)

    @property
    def columns(self) -> tuple[tuple[str, int], ...]:
        """What they are drawn with: those of the pipe and of the fan with what the chance draws them with."""
        return (("pipe", len(self.own) - 1), ("fan", 1))

    @property
    def bends(self) -> Array:
        """Where each reading goes over from a straight line to its logarithm, (R,)."""
        return np.array([2.0 * each.least for each in self.readings])

    @property
    def values(self) -> Array:
        """The readings in the form in which their error is even, (R,)."""
        return np.arcsinh(np.array([each.read for each in self.readings]) / self.bends)

    @property
    def errors(self) -> Array:
        """Standard errors in that form, (R,): the instruments', and what the mains do to the watts."""
        record = self.moment.design.chosen_fan
        mains = 0.0 if record is None else MAINS[record.control]
        found = []
        for each in self.readings:
            own = float(each.error_at(each.read))
            whole = np.hypot(own, mains * each.read) if each.item.kind == "power" else own
            found.append(whole / np.hypot(each.read, 2.0 * each.least))
        return np.array(found)

    def model(self, built: GroundState, own: Array) -> Model:
        """States (w,) for grounds (w,) and the other unknowns (w, e)."""
        moment, v, w = self.moment, len(self.spread.names), len(own)
        network = moment.assembly.network
        house, wind, exhausts = own[:, v], own[:, v + 1], own[:, v + 2]
        stack, draft = np.full(w, moment.stack), np.repeat(network.draft[None], w, axis=0)
        if self.colder is not None:
            air = own[:, v + 3]
            stack = stack + air * (self.colder.stack - moment.stack)
            draft = draft + air[:, None] * (self.colder.assembly.network.draft - network.draft)
        by_stack = 0.5 * moment.design.worst_day.uncertainty * moment.stack
        return Model(
            network=replace(network, coupling=built.coupling(), inertial=built.inertial[:, DUG], draft=draft),
            scatter=self.spread.scatter(own[:, :v]),
            holes=built.holes,
            rest_points=built.rest_points,
            rest_holes=built.rest_holes,
            speed=moment.speed * np.maximum(1.0 + fan_spread(moment.design) * own[:, -1], _SLOWEST),
            pressure=np.ones(w),
            power=np.exp(MAKER * own[:, -2]),
            house=stack + np.hypot(_HOUSE, by_stack) * house,
            exhausts=moment.exhausts * np.exp(moment.exhausts_spread * exhausts),
            wind=_WIND * wind,
            running=True,
        )

    def shown(self, built: GroundState, own: Array, items: Sequence[Item]) -> Array:
        """What instruments show, (w, R); not a number where the fan meets nothing."""
        model = self.model(built, own)
        start = np.repeat(self.near[None], len(own), axis=0)
        flows, settled = model.lifted.meet_each(self._lift(model), start, model.scatter, _CLOSE)
        read = told(self.moment, model, np.where(settled[:, None], flows, np.nan))
        return np.stack([item.of(read) for item in items], axis=-1)

    def _lift(self, model: Model) -> FanPressure:
        """What the fan gives on the branch of its curve that it was met on, beyond which it is taken to fall."""
        whole = lift_of(self.moment, model)
        if self.branch is None:
            return whole
        first, last = (edge * model.speed for edge in self.branch)

        def falling(total: Array) -> Array:
            inside = np.clip(total, first, last)
            beyond = total - inside
            steep = _STEEP * whole(first + np.zeros_like(total)) / (last - first)
            return np.asarray(whole(inside) - steep * beyond)

        return falling

    def predict(self, state: Both) -> Array:
        """The readings in their own form, (..., R)."""
        batch, e = state.own.shape[:-1], state.own.shape[-1]
        w = math.prod(batch)
        built = GroundState(
            *(part.reshape(w, *part.shape[part.ndim - tail :]) for part, tail in zip(state.built, _TAILS, strict=True))
        )
        shown = self.shown(built, state.own.reshape(w, e), [each.item for each in self.readings])
        # what meets nothing shows nothing
        return np.arcsinh(np.nan_to_num(shown) / self.bends).reshape(*batch, -1)


class JointReadings(Readings):
    """The floor's readings, and after them the visit's."""

    def __init__(self, floor: Readings, system: System) -> None:
        super().__init__(floor.flows, floor.holes, floor.shares, floor.mean)
        self._system = system
        self.values = np.concatenate((self.values, system.values))
        self.errors = np.concatenate((self.errors, system.errors))

    def predict(self, state: Any, meter: Array, together: Array | None = None) -> Array:
        """As `Readings.predict`, of both."""
        floor = super().predict(state.tested, meter, together)
        return np.concatenate((floor, self._system.predict(state)), axis=-1)

    def together_beside(self, beside: Any, near: Any) -> Array:
        """As `Readings.together_beside`."""
        return super().together_beside(beside.tested, near.tested)


def system_of(moment: Moment, readings: Sequence[Reading]) -> System | None:
    """A system with those of the readings that it can tell; None where the fan meets nothing."""
    flows = flows_of(moment, as_solved(moment))[0, 0]
    if np.isnan(flows).any():
        return None
    read = told(moment, as_solved(moment), flows[None])
    known = tuple(each for each in readings if not np.isnan(each.item.of(read)).any())
    place = moment.design.place
    colder = None
    if not moment.air_read:
        there = {"outdoor_temperature": place.outdoor_temperature - AIR, "indoor_temperature": place.indoor_temperature}
        colder = moment_of(moment.on_site, moment.conditions.model_copy(update=there), moment.speed)
    spread = pipe_spread(moment.assembly, moment.design.uncertainty)
    return System(moment, colder, spread, known, flows, _branch_of(moment, float(flows.sum())))


def _branch_of(moment: Moment, flow: float) -> tuple[float, float] | None:
    """Between which flows at full speed a curve that rises falls around a flow of the moment's speed. [m3/s]"""
    if not moment.fan.rises:
        return None
    first, last = (float(end) for end in moment.fan.flow_range(moment.speed))
    along = np.linspace(first, last, _SCANNED)
    falls = np.diff(moment.fan.pressure(along, moment.speed, moment.assembly.network.density)) < 0.0
    here = int(np.clip(np.searchsorted(along, flow) - 1, 0, _SCANNED - 2))
    left = here - int(np.argmin(falls[here::-1])) + 1 if not falls[: here + 1].all() else 0
    right = here + int(np.argmin(falls[here:])) if not falls[here:].all() else _SCANNED - 1
    return float(along[min(left, here)]) / moment.speed, float(along[max(right, here + 1)]) / moment.speed
