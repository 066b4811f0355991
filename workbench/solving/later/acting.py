"""What each cause does to the solved model: states of it, one for every size that is tried.

Causes act after the fit, so that no reading of the design is explained anew by them.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from workbench.physics.arrays import Array
from workbench.physics.network import Network, Scatter
from workbench.solving.later.causes import Acts, Cause
from workbench.solving.later.items import runs_before
from workbench.solving.later.model import Model, Told, as_solved, flows_of, told
from workbench.solving.later.moment import Moment
from workbench.solving.site.cooling import cooled_draft
from workbench.solving.site.ground_state import DUG

ORIFICE = 0.62
"""Discharge coefficient of a sharp edge (handbook value, from memory): of a leak, or of what is left of a bore."""

_REFILL = 0.83
"""What a gauge for oil shows with water in it: the oil's density over water's is 0.826 (from memory)."""

_LOCKED = 0.5
"""Of its running watts, what a motor that does not turn draws; a judgement with a wide spread."""


_LIGHTER = 0.2
"""Of what a worn wheel gives less, the share that it draws less at the same flow; a judgement."""


class GaugeFault(Struct, frozen=True, eq=False):
    """What a gauge shows of what is there: a factor and a shift [Pa], of shape (w,), and the run its tube is at."""

    factor: Array
    shift: Array
    run: int | None = None


def changed(moment: Moment, acts: Acts, place: int, sizes: Array, model: Model | None = None) -> Model:
    """The model of a moment with a cause of sizes (w,); causes of the gauge alone leave it as it is.

    `model` is what it acts on, by default the best estimate; those of fill and leakage act on that in any case.
    """
    before = as_solved(moment, len(sizes)) if model is None else model
    return _ACTS.get(acts, _nothing)(moment, before, place, sizes)


def solved(moment: Moment, acts: Acts, place: int, sizes: Array) -> tuple[Array, Told]:
    """Flows (c, w, N) of a changed model at every stable crossing, and what instruments read there; kept."""

    def make() -> tuple[Array, Told]:
        model = changed(moment, acts, place, sizes)
        flows = flows_of(moment, model)
        return flows, told(moment, model, flows)

    return moment.keep(("solved", acts, place, sizes.tobytes()), make)


def middle_of(moment: Moment) -> tuple[Array, Told]:
    """The same of the best estimate with nothing changed, w being 1."""
    return solved(moment, "nothing", 0, np.ones(1))


def solved_near(moment: Moment, acts: Acts, size: float, near: Array) -> Told:
    """What instruments read at one size of a change, on the crossing nearest to flows (N,): shapes (1, ...); kept."""

    def make() -> Told:
        model = changed(moment, acts, 0, np.array([size]))
        return told(moment, model, flows_of(moment, model, near)[0])

    return moment.keep(("near", acts, size, near.tobytes()), make)


def gauge_fault(cause: Cause, sizes: Array) -> GaugeFault:
    """What a cause does to the gauge itself."""
    factor, shift, acts = np.ones(len(sizes)), np.zeros(len(sizes)), cause.kind.acts
    if acts == "gauge off":
        return GaugeFault(0.0 * factor, shift)
    if acts == "gauge refilled":
        return GaugeFault(_REFILL * factor, shift)
    if acts == "gauge low":
        return GaugeFault(factor, -sizes)
    if acts == "gauge high":
        return GaugeFault(factor, sizes)
    return GaugeFault(factor, shift, cause.place if acts == "gauge moved" else None)


def locked(power: float) -> float:
    """What a motor that does not turn draws, of what it draws running. [W]"""
    return _LOCKED * power


_Act = Callable[[Moment, Model, int, Array], Model]


def _nothing(_moment: Moment, model: Model, _place: int, _sizes: Array) -> Model:
    return model


def _stopped(_moment: Moment, model: Model, _place: int, _sizes: Array) -> Model:
    return replace(model, running=False)


def _slower(_moment: Moment, model: Model, _place: int, sizes: Array) -> Model:
    return replace(model, speed=model.speed * (1.0 - sizes))


def _faster(_moment: Moment, model: Model, _place: int, sizes: Array) -> Model:
    return replace(model, speed=np.minimum(model.speed * (1.0 + sizes), 1.0))


def _dragging(moment: Moment, model: Model, _place: int, sizes: Array) -> Model:
    """An induction motor that slips keeps its watts or loses them with the speed: half-way, the exponent being 1."""
    slower = _slower(moment, model, 0, sizes)
    flows = flows_of(moment, slower)[0].sum(axis=-1)
    first, last = moment.fan.flow_range(slower.speed)
    law = moment.fan.power(np.clip(flows, first, last), slower.speed, moment.assembly.network.density)
    full_flow = np.clip(flows / (1.0 - sizes), *moment.fan.flow_range(model.speed))
    whole = moment.fan.power(full_flow, model.speed, moment.assembly.network.density)
    with np.errstate(divide="ignore", invalid="ignore"):
        return replace(slower, power=np.where(law > 0.0, whole * (1.0 - sizes) / law, 1.0))


def _weaker(_moment: Moment, model: Model, _place: int, sizes: Array) -> Model:
    return replace(model, pressure=1.0 - sizes, power=1.0 - _LIGHTER * sizes)


def _orifice_k(blocked: Array) -> Array:
    """Loss of a bore of which a share is blocked, on its own velocity pressure: what the jet loses, (1 / C a)^2 - 1."""
    return np.asarray((1.0 / (ORIFICE * (1.0 - blocked))) ** 2 - 1.0)


def _blocked(model: Model, run: int, sizes: Array) -> Model:
    k = model.network.k.copy()
    k[:, run] += _orifice_k(sizes)
    return replace(model, network=replace(model.network, k=k))


def _outlet(moment: Moment, model: Model, _place: int, sizes: Array) -> Model:
    return _blocked(model, len(moment.assembly.runs) - 1, sizes)


def _common_run(moment: Moment, model: Model, _place: int, sizes: Array) -> Model:
    common = next(j for j, (address, _) in enumerate(moment.assembly.runs) if address == ("intake", "runs", 0))
    return _blocked(model, common, sizes)


def _branch(moment: Moment, model: Model, place: int, sizes: Array) -> Model:
    leg = moment.assembly.points[place][0][:-1]
    own = [j for j, (address, _) in enumerate(moment.assembly.runs) if address[:-2] == leg]
    return _blocked(model, own[-1], sizes)


def _wind(_moment: Moment, model: Model, _place: int, sizes: Array) -> Model:
    return replace(model, wind=sizes)


def _open_past_the_fan(moment: Moment, model: Model, _place: int, sizes: Array) -> Model:
    first = runs_before(moment.assembly)
    left = np.ones((len(sizes), len(moment.assembly.runs)))
    left[:, first:] -= sizes[:, None]
    k = model.network.k * left
    # what leaves at the break still has its own speed to lose
    k[:, first] += sizes
    friction, fittings, junctions = model.scatter
    return replace(
        model, network=replace(model.network, k=k), scatter=Scatter(left * np.asarray(friction), fittings, junctions)
    )


def _leak_at_the_fan(moment: Moment, model: Model, _place: int, sizes: Array) -> Model:
    assembly = moment.assembly
    past = np.array([1.0 if address[0] == "discharge" else 0.0 for address, _ in assembly.runs])
    runs = [run for address, run in assembly.runs if address[0] == "discharge"]
    draft = cooled_draft(runs, np.ones((len(runs), 1)), assembly.air, assembly.outdoor, moment.design.place)
    none = np.zeros(len(model.network.junctions))
    return replace(model, network=_with_leak(model.network, past, none, none, float(draft[0]), sizes))


def _leak_low(_moment: Moment, model: Model, place: int, sizes: Array) -> Model:
    network = model.network
    straight = np.array([legs.straight[place] for legs in network.junctions])
    side = np.array([legs.side[place] for legs in network.junctions])
    draft = float(network.draft[0, place])
    leaking = _with_leak(network, network.upstream[:, place], straight, side, draft, sizes)
    return replace(model, network=leaking)


def _with_leak(network: Network, passes: Array, straight: Array, side: Array, draft: float, sizes: Array) -> Network:
    """A network with an opening of areas (w,) [m2] to the room as a column more, whose air passes some of the runs."""
    w, n = network.inertial.shape
    coupling = np.zeros((w, n + 1, n + 1))
    coupling[:, :n, :n] = network.coupling
    orifice = 0.5 * network.density / (ORIFICE * sizes) ** 2
    return replace(
        network,
        coupling=coupling,
        inertial=np.concatenate((network.inertial, orifice[:, None]), axis=1),
        upstream=np.concatenate((network.upstream, passes[:, None]), axis=1),
        draft=np.concatenate((network.draft, np.full((w, 1), draft)), axis=1),
        junctions=tuple(
            replace(legs, straight=np.append(legs.straight, straight[t]), side=np.append(legs.side, side[t]))
            for t, legs in enumerate(network.junctions)
        ),
    )


def on_ground(moment: Moment, model: Model, fill: Array, leakage: Array) -> Model:
    """Another fill and leakage, by factors (w,)."""
    state = moment.assembly.floor.altered(fill, leakage)
    return replace(
        model,
        network=replace(model.network, coupling=state.coupling(), inertial=state.inertial[:, DUG]),
        holes=state.holes,
        rest_points=state.rest_points,
        rest_holes=state.rest_holes,
    )


def _leakage_up(moment: Moment, model: Model, _place: int, sizes: Array) -> Model:
    return on_ground(moment, model, np.ones(len(sizes)), sizes)


def _leakage_down(moment: Moment, model: Model, _place: int, sizes: Array) -> Model:
    return on_ground(moment, model, np.ones(len(sizes)), 1.0 / sizes)


def _fill_up(moment: Moment, model: Model, _place: int, sizes: Array) -> Model:
    return on_ground(moment, model, sizes, np.ones(len(sizes)))


def _fill_down(moment: Moment, model: Model, _place: int, sizes: Array) -> Model:
    return on_ground(moment, model, 1.0 / sizes, np.ones(len(sizes)))


def _near_pit(moment: Moment, model: Model, place: int, sizes: Array) -> Model:
    """What lies close to one pit, its linear and its inertial resistance."""
    same = np.ones(1)
    near = moment.assembly.floor.altered(same, same).near[0, DUG, place]
    coupling, inertial = model.network.coupling.copy(), model.network.inertial.copy()
    coupling[:, place, place] += (sizes - 1.0) * near
    inertial[:, place] *= sizes
    return replace(model, network=replace(model.network, coupling=coupling, inertial=inertial))


def _floor_open(moment: Moment, model: Model, place: int, sizes: Array) -> Model:
    """An opening in the slab to the room at a hole: the ground being linear, an update of rank one."""
    found = moment.assembly.floor.at_hole(place, np.sqrt(sizes / math.pi))
    if found is None:
        return model
    own, others = found
    network, felt = model.network, model.holes[0, place]
    # no opening feels less of itself than what the pits make of it
    least = float(felt @ np.linalg.solve(network.coupling[0], felt))
    own = np.maximum(own, 1.05 * least)
    flows = flows_of(moment, as_solved(moment))[0, 0]
    closed = max(float(felt @ flows), 1e-6)
    # s + own C A sqrt(2 s / rho) = what it is closed
    half = 0.5 * own * ORIFICE * sizes * math.sqrt(2.0 / network.density)
    root = np.sqrt(half**2 + closed) - half
    through = ORIFICE * sizes * math.sqrt(2.0 / network.density) / np.maximum(root, 1e-9)
    part = (through / (1.0 + through * own))[:, None]
    rest = model.rest_holes[:, place, None]
    beside = np.broadcast_to(np.nan_to_num(others), model.rest_holes.shape).copy()
    beside[:, place] = own
    return replace(
        model,
        network=replace(network, coupling=network.coupling - part[..., None] * np.outer(felt, felt)),
        holes=model.holes - part[..., None] * beside[..., None] * felt,
        rest_points=np.clip(model.rest_points - part * felt * rest, 0.0, 1.0),
        rest_holes=np.clip(model.rest_holes - part * beside * rest, 0.0, 1.0),
    )


def _house_down(_moment: Moment, model: Model, _place: int, sizes: Array) -> Model:
    return replace(model, house=model.house + sizes)


def _house_up(_moment: Moment, model: Model, _place: int, sizes: Array) -> Model:
    return replace(model, house=model.house - sizes)


_ACTS: dict[Acts, _Act] = {
    "stopped": _stopped,
    "seized": _stopped,
    "slower": _slower,
    "faster": _faster,
    "dragging": _dragging,
    "weaker": _weaker,
    "outlet": _outlet,
    "wind": _wind,
    "leak at the fan": _leak_at_the_fan,
    "leak low": _leak_low,
    "open past the fan": _open_past_the_fan,
    "common run": _common_run,
    "branch": _branch,
    "floor open": _floor_open,
    "leakage up": _leakage_up,
    "leakage down": _leakage_down,
    "fill down": _fill_down,
    "fill up": _fill_up,
    "near pit": _near_pit,
    "house down": _house_down,
    "house up": _house_up,
}
