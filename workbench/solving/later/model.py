"""States of a system side by side: one, the sizes of a cause, or possible sites, and what every instrument would read.

Air may come in by leaks beside the suction points; they are columns of the network after those of the points.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from workbench.design.catalogue import fitting_kinds
from workbench.physics.arrays import Array
from workbench.physics.network import AS_CALCULATED, Network, Scatter
from workbench.physics.newton import FanPressure
from workbench.physics.pipe import bore_area
from workbench.solving.later.moment import Moment
from workbench.solving.run.sounding import levels_at
from workbench.solving.run.states import suctions_of_runs
from workbench.solving.site.assemble import fitting_k
from workbench.solving.site.chance import sampled
from workbench.solving.site.draws import normal
from workbench.solving.site.ground_state import remaining_at
from workbench.solving.site.season import Season, rest_on_the_day

STOPPED_K = 3.0
"""Loss of a fan that stands still, on the velocity pressure in its outlet; a judgement."""

_FEW, _SCANNED = 15, 181
"""Flows at which a site is asked, and at which a curve that rises is looked at."""

_NARROWED = 11
"""Steps by which a crossing is closed in on."""

_MOST_CROSSINGS = 2
_CLOSE = 1e-9
_SILENT = -60.0
"""Of a fan that stands still against one that runs. [dB]"""


class Model(Struct, frozen=True, eq=False):
    """States of a system, of shape (w,).

    Attributes
    ----------
    network : Network
        Its draft without what the house is drawn down by; N columns, the n suction points first.
    holes, rest_points, rest_holes : array, shape (w, k, n), (w, n) and (w, k)
        As of `Floor`.
    speed, pressure, power : array, shape (w,)
        Of the fan: its speed, and factors on what it gives and draws.
    house, exhausts, wind : array, shape (w,)
        What stack and exhausts draw the room down by beyond the day of the design's readings, and what wind holds
        against the outlet. [Pa]
    running : bool
    """

    network: Network
    scatter: Scatter
    holes: Array
    rest_points: Array
    rest_holes: Array
    speed: Array
    pressure: Array
    power: Array
    house: Array
    exhausts: Array
    wind: Array
    running: bool

    @property
    def draw_down(self) -> Array:
        """Stack and exhausts together, shape (w,). [Pa]"""
        return self.house + self.exhausts

    @property
    def lifted(self) -> Network:
        """The network with the draft that is left where house and wind have taken theirs."""
        felt = np.zeros(self.network.inertial.shape)
        felt[..., : self.rest_points.shape[-1]] = self.rest_points
        draft = self.network.draft - self.draw_down[:, None] * (1.0 - felt) - self.wind[:, None]
        return replace(self.network, draft=draft)


class Told(NamedTuple):
    """What instruments read in states of shape (...): Pa, m3/s, W, dB(A); suctions positive below the room.

    `runs` (..., m) at the end of each run nearer the fan, `risers` (..., n), `holes` (..., k), `sound` (..., places).
    """

    runs: Array
    flow: Array
    power: Array
    risers: Array
    holes: Array
    past_fan: Array
    room: Array
    sound: Array


def as_solved(moment: Moment, states: int = 1) -> Model:
    """The state of a moment by the best estimate, so many times."""
    floor, network = moment.assembly.floor, moment.assembly.network

    def many(part: Array) -> Array:
        return np.repeat(np.asarray(part, dtype=np.float64)[None], states, axis=0)

    return Model(
        network=replace(
            network,
            coupling=many(network.coupling),
            inertial=many(network.inertial),
            draft=many(network.draft),
            k=many(network.k),
        ),
        scatter=AS_CALCULATED,
        holes=many(floor.holes),
        rest_points=many(floor.rest_points),
        rest_holes=many(floor.rest_holes),
        speed=np.full(states, moment.speed),
        pressure=np.ones(states),
        power=np.ones(states),
        house=np.full(states, moment.stack),
        exhausts=np.full(states, moment.exhausts),
        wind=np.zeros(states),
        running=moment.running,
    )


def as_possible(moment: Moment, samples: int) -> Model:
    """Possible sites in the state of a moment; a site of one moment is the same in another."""
    design, assembly = moment.design, moment.assembly
    # house and weather are brought in below, as they were and not as the worst they may be
    calm = Season(0.0, 0.0, 0.0, 0.0, 0.0, assembly.network.draft)
    seen = sampled(design, assembly, calm, samples)
    draws = assembly.floor.draws(samples)
    learned, power = moment.on_site.learned, np.ones(samples)
    if learned is not None and moment.on_site.fan_read:
        power = learned.power_rows(samples)
    exhausts, stack, _ = normal("season", samples, 3).T
    by_stack = moment.stack * (1.0 + 0.5 * design.worst_day.uncertainty * stack)
    return Model(
        network=seen.state.network,
        scatter=seen.state.scatter,
        holes=draws.holes,
        rest_points=draws.rest_points,
        rest_holes=draws.rest_holes,
        speed=moment.speed * seen.fan,
        pressure=np.ones(samples),
        power=power,
        house=by_stack,
        exhausts=moment.exhausts * np.exp(moment.exhausts_spread * exhausts),
        wind=np.zeros(samples),
        running=moment.running,
    )


def possible(moment: Moment, samples: int, near: Array) -> tuple[Array, Told]:
    """Flows (s, N) of possible sites near those of the best estimate (N,), and what is read in them; kept.

    Raises
    ------
    NoConvergence
    """

    def make() -> tuple[Array, Told]:
        model = as_possible(moment, samples)
        flows = flows_of(moment, model, near)[0]
        return flows, told(moment, model, flows)

    return moment.keep(("possible", samples, near.tobytes()), make)


def flows_of(moment: Moment, model: Model, near: Array | None = None) -> Array:
    """Flows (c, w, N) at every stable crossing [m3/s]; NaN where a state has fewer of them, least flow first.

    With `near`, total flows of shape (N,), only the crossing nearest to them is told, as the first.
    """
    network, lift = model.lifted, lift_of(moment, model)
    states, columns = model.network.inertial.shape
    if moment.fan.rises and model.running:
        return _every_crossing(moment, model) if near is None else _crossing_near(moment, model, float(near.sum()))
    start = near if near is not None else network.first_share() * (0.3 * float(moment.fan.flow_range(1.0)[1]))
    met = network.meet_each(lift, np.broadcast_to(start, (states, columns)).copy(), model.scatter, _CLOSE)
    return np.asarray(met.flows[None])


def lift_of(moment: Moment, model: Model) -> FanPressure:
    """Total pressure of the fan in every state, as the network asks for it."""

    def stopped(total: Array) -> Array:
        lost = moment.on_site.velocity_pressure(str(moment.design.fan), total)
        return np.asarray(-STOPPED_K * np.sign(total) * lost)

    def running(total: Array) -> Array:
        return np.asarray(model.pressure * moment.fan.extended(total, model.speed, moment.assembly.network.density))

    return running if model.running else stopped


class _Scan:
    """A curve that rises run along: where it gives more than is asked, and no longer does."""

    def __init__(self, moment: Moment, model: Model) -> None:
        self._network, self._lift, self._scatter = model.lifted, lift_of(moment, model), model.scatter
        last = 1.02 * moment.fan.flow_range(model.speed)[1]
        self.total = np.linspace(0.0, 1.0, _SCANNED)[:, None] * last
        # what is asked bends little over the flow once its standing part is off, the fan's curve much
        few = np.linspace(0.0, 1.0, _FEW)
        asked, _ = self._network.curve(few[:, None] * last, self._scatter)
        slope = (asked[1:] - asked[0]) / (few[1:, None] * last)
        slope = np.concatenate((slope[:1], slope))
        weight = np.stack([np.interp(np.linspace(0.0, 1.0, _SCANNED), few, row) for row in np.eye(_FEW)], axis=1)
        left = self._lift(self.total) - (asked[0] + weight @ slope * self.total)
        self.falls = np.asarray((left[:-1] >= 0.0) & (left[1:] < 0.0))

    def _spare(self, at: Array) -> tuple[Array, Array]:
        asked, flows = self._network.curve(at, self._scatter)
        return self._lift(at) - asked, flows

    def closed_in(self, at: NDArray[np.intp], there: NDArray[np.bool_]) -> Array:
        """Flows (w, N) at the crossing after the flow at a position (w,); NaN where there is none.

        By the straight line's crossing, its far end weighed half so that neither end stays (Illinois; M. Dowell,
        P. Jarratt, BIT 11 (1971) 168).
        """
        every = np.arange(at.size)
        low, high = self.total[np.maximum(at - 1, 0), every], self.total[np.minimum(at + 2, _SCANNED - 1), every]
        (over, _), (under, flows) = self._spare(low), self._spare(high)
        there = there & (over >= 0.0) & (under < 0.0)
        for _ in range(_NARROWED):
            with np.errstate(divide="ignore", invalid="ignore"):
                middle = np.where(there, low + (high - low) * over / (over - under), low)
            here, flows = self._spare(middle)
            above = here >= 0.0
            low, over = np.where(above, middle, low), np.where(above, here, 0.5 * over)
            high, under = np.where(above, high, middle), np.where(above, 0.5 * under, here)
        return np.where(there[:, None], flows, np.nan)


def _every_crossing(moment: Moment, model: Model) -> Array:
    """All stable crossings along a curve that rises."""
    scan = _Scan(moment, model)
    falls, found = scan.falls.copy(), []
    for _ in range(_MOST_CROSSINGS):
        there, at = np.asarray(falls.any(axis=0)), np.argmax(falls, axis=0)
        falls[at, np.arange(at.size)] = False
        found.append(scan.closed_in(at, there))
    return np.stack(found)


def _crossing_near(moment: Moment, model: Model, flow: float) -> Array:
    """The stable crossing nearest to a total flow, as the only one. [m3/s]"""
    scan = _Scan(moment, model)
    away = np.where(scan.falls, np.abs(scan.total[:-1] - flow), np.inf)
    return scan.closed_in(np.argmin(away, axis=0), np.asarray(scan.falls.any(axis=0)))[None]


def told(moment: Moment, model: Model, flows: Array) -> Told:
    """What is read at flows (..., N) whose last batch axis is that of the model."""
    assembly, design = moment.assembly, moment.design
    n = len(assembly.points)
    network = model.lifted
    parts = network.parts(flows, model.scatter)
    # a pit lies above the room by what it feels of outdoors that lies above it
    rest = model.draw_down[:, None] * model.rest_points
    first = np.argmax(network.upstream > 0.0, axis=1)
    runs = suctions_of_runs(replace(assembly, network=network), flows, parts) - rest[:, first]
    before = sum(address[0] != "discharge" for address, _ in assembly.runs)
    total = flows.sum(axis=-1)
    drawn = remaining_at(network.coupling[..., :n, :n], network.inertial[..., :n], model.holes, flows[..., :n])
    return Told(
        runs=runs,
        flow=flows @ network.upstream[before - 1],
        power=_power(moment, model, total),
        risers=parts.ground[..., :n] + _at_the_slab(moment, flows[..., :n]) - rest,
        holes=drawn + rest_on_the_day(design) + _season_at_holes(moment, model),
        past_fan=-runs[..., before],
        room=np.broadcast_to(moment.below_outdoors - moment.stack + model.draw_down, total.shape),
        sound=_sound(moment, model, total),
    )


def _season_at_holes(moment: Moment, model: Model) -> Array:
    """What house and weather add to the reading at each hole, shape (w, k). [Pa]"""
    design = moment.design
    season = Season(0.0, 0.0, 0.0, 0.0, 0.0, moment.assembly.network.draft)
    change = season.change_at_holes(design, model.rest_holes, model.exhausts, model.house)
    # a verdict gives up what was read at rest; a reading still has it in it
    return np.asarray(change + np.maximum(rest_on_the_day(design), 0.0))


def _at_the_slab(moment: Moment, flows: Array) -> Array:
    """By how much the suction in a riser just above the slab exceeds that in its pit, shape (..., n). [Pa]

    The entrance's loss, and the air's own speed that a static tap has on top.
    """
    assembly = moment.assembly
    runs = np.argmax(assembly.network.upstream > 0.0, axis=0)
    k = []
    for j in runs:
        run = assembly.runs[j][1]
        known = (f for f in run.fittings if f.kind in fitting_kinds() and fitting_kinds()[f.kind].group == "entrance")
        k.append(1.0 + sum(fitting_k(f, run) for f in known))
    velocity = flows / bore_area(assembly.network.diameter[runs])
    return np.asarray(0.5 * assembly.network.density * np.array(k) * velocity * np.abs(velocity))


def _power(moment: Moment, model: Model, total: Array) -> Array:
    if not model.running:
        return np.zeros(total.shape)
    first, last = moment.fan.flow_range(model.speed)
    # beyond its points the curve is taken on as it ends there
    power = moment.fan.power(np.clip(total, first, last), model.speed, moment.assembly.network.density)
    return np.asarray(model.power * power)


def _sound(moment: Moment, model: Model, total: Array) -> Array:
    design, record = moment.design, moment.design.chosen_fan
    listeners = design.house.listeners
    found = np.full((*total.shape, len(listeners)), np.nan)
    area = bore_area(design.discharge[-1].pipe.inside_diameter)
    for i, listener in enumerate(listeners):
        speed = np.broadcast_to(model.speed, total.shape)
        flow = np.nan_to_num(total)
        levels = (
            None
            if record is None
            else levels_at(design, listener, record, speed, flow, area, moment.assembly.network.density)
        )
        if levels is not None:
            found[..., i] = levels[0] + (0.0 if model.running else _SILENT)
    return found
