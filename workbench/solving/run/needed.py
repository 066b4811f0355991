"""What a site needs so that its weakest hole keeps just the target on the worst day, and the speed that brings it.

What the holes keep hangs on the flows alone, and the flows on the site alone once one condition is set. So the flows
at which the weakest hole is just at the target, and the pressure the paths then ask, are found once for a site; every
fan is then only asked at which speed its curve passes through that point.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from workbench.physics.arrays import Array, Indices
from workbench.physics.fan import Fan
from workbench.physics.network import NoConvergence
from workbench.solving.site.chance import State
from workbench.solving.site.ground_state import most_at

FASTEST = 4.0
"""Multiple of full speed up to which a needed speed is told, as a measure of what is lacking."""

SLOWEST = 0.01
"""Speed below which none is looked for; a fan's own least speed is minded afterwards."""

SPEED_STEP = 0.005
"""Steps in which a speed is offered: half a percent."""

_HALVINGS = 24
_MOST_FLOW = 10.0
"""Flow that no pipe of a house carries; a hole that would need more is out of reach. [m3/s]"""

_ROUNDS = 60
_ON_THE_WAY = 24
"""Flows at which a rising fan is looked at on its way."""

_OVER_FULL = 1.2
"""Speed that a fan set to full speed does not truly reach."""

_CLOSE = 1e-10


class Needed(NamedTuple):
    """Flows of the points, shape (..., n), their sum and the pressure asked of the fan, shape (...) [m3/s], [Pa].

    The pressure is infinite where no flow brings the target to every hole, or none was found.
    """

    flows: Array
    flow: Array
    pressure: Array


def needed(
    state: State, target: float, holes: tuple[int, ...] | None = None, near: Needed | None = None
) -> Needed | None:
    """The least flows at which every known hole keeps the target, and air is drawn; None when no hole is known.

    Parameters
    ----------
    state : State
        Of any batch shape, also of stacked networks.
    target : float
        Suction to keep. [Pa]
    holes
        Which holes have to; all that are known by default.
    near
        What another state needs whose points share the flow alike; the search begins with their shares.

    Raises
    ------
    NoConvergence
        For several points, where the flows are found for no member of the batch.
    """
    unknown = np.asarray(np.isnan(state.holes).any(axis=-1))
    if holes is not None:
        left_out = np.ones(unknown.shape[-1], dtype=np.bool_)
        left_out[list(holes)] = False
        unknown = unknown | left_out
    if np.all(unknown):
        return None
    response = np.where(unknown[..., None], 0.0, state.holes)
    lacking = np.where(unknown, -np.inf, target - (state.rest + state.change))
    shape = np.broadcast_shapes(response.shape[:-1], lacking.shape)
    response, lacking = np.broadcast_to(response, (*shape, response.shape[-1])), np.broadcast_to(lacking, shape)
    share = state.network.first_share()
    if near is not None:
        drawn = near.flow[..., None]
        alike = np.isfinite(drawn) & (drawn > 0.0)
        share = np.where(alike, near.flows / np.where(alike, drawn, 1.0), share)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        # a hole that feels next to nothing would need any flow
        each = lacking / np.matmul(response, np.broadcast_to(share, (*shape[:-1], share.shape[-1]))[..., None])[..., 0]
    if share.shape[-1] == 1:
        each = np.maximum(each, _asking(state, np.maximum(lacking, 0.0)))
    total = np.where(lacking > 0.0, each, 0.0).max(axis=-1)
    reached = total < _MOST_FLOW
    flows = share * np.where(reached, total, 0.0)[..., None]
    if flows.shape[-1] > 1:
        flows = _balanced(state, response, np.where(reached[..., None], lacking, -np.inf), flows)
    pressure = state.network.required(flows, state.scatter)[..., -1]
    return Needed(flows, flows.sum(axis=-1), np.where(reached & ~np.isnan(pressure), pressure, np.inf))


def _asking(state: State, suction: Array) -> Array:
    """Flow that brings the pit of a lone point to suctions of shape (..., k). [m3/s]"""
    a, b = state.network.coupling[..., 0], state.network.inertial
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(np.nan_to_num(2.0 * suction / (a + np.sqrt(a * a + 4.0 * b * suction)), nan=0.0))


def _balanced(state: State, response: Array, lacking: Array, start: Array) -> Array:
    """Flows of several points whose paths ask the same, at which the weakest hole has just what it lacked.

    Not a number where they cannot be found, and infinity is then asked of the fan: what is not known to hold does not.
    """
    network = state.network
    weight, n = network.stiffness, network.points
    batch = start.shape[:-1]

    def flat(values: Array, ends: int) -> Array:
        return np.broadcast_to(values, (*batch, *values.shape[values.ndim - ends :])).reshape(-1, *values.shape[-ends:])

    every_response, every_lacking = flat(response, 2), flat(lacking, 1)
    every_coupling, every_inertial = flat(network.coupling, 2), flat(network.inertial, 1)

    def spare(flows: Array, members: Indices) -> tuple[Array, Array]:
        response, lacking = every_response[members], every_lacking[members]
        coupling, inertial = every_coupling[members], every_inertial[members]
        felt = np.matmul(response, flows[..., None])[..., 0]
        pits = np.matmul(coupling, flows[..., None])[..., 0] + inertial * flows * np.abs(flows)
        most = most_at(response, pits)
        left = np.minimum(felt, most) - lacking
        weakest = np.argmin(left, axis=-1)[..., None]
        least = np.take_along_axis(left, weakest, axis=-1)[..., 0]
        by_flow = np.take_along_axis(response, weakest[..., None], axis=-2)[..., 0, :]
        held_down = np.take_along_axis(felt > most, weakest, axis=-1)[..., 0]
        if held_down.any():
            # the hole follows the strongest of the pits that reach it
            pit = np.argmax(np.where(by_flow > 0.0, pits, -np.inf), axis=-1)[..., None]
            of_pit = np.take_along_axis(coupling, pit[..., None], axis=-2)
            own = np.arange(n) == pit
            slope = of_pit[..., 0, :] + np.where(own, 2.0 * inertial * np.abs(flows), 0.0)
            by_flow = np.where(held_down[..., None], slope, by_flow)
        # where the holes hold by themselves, the air just stands still
        still = weight * flows.sum(axis=-1)
        return np.minimum(least, still), np.where((still < least)[..., None], weight, by_flow)

    found = network.balance(spare, start, state.scatter)
    if not found.settled.any():
        raise NoConvergence("the flows that a target needs could not be found")
    return found.flows


def speeds_for(fan: Fan, flow: Array, pressure: Array, density: float, least: float = SLOWEST) -> Array:
    """Lowest speeds of a fan that bring a pressure [Pa] at a flow [m3/s], from `least` up; infinite when none does.

    Speeds above 1 tell how much faster the fan would have to be, up to `FASTEST`.

    Parameters
    ----------
    flow, pressure : array, shape (...)
    """
    shape = np.broadcast_shapes(flow.shape, pressure.shape)
    q, p = (np.broadcast_to(a, shape).ravel() for a in (flow, pressure))
    found = np.full(q.shape, np.inf)

    def surplus(square: Array, at: NDArray[np.intp]) -> Array:
        return np.asarray(fan.extended(q[at], np.sqrt(square), density) - p[at])

    every = np.flatnonzero(np.isfinite(p))
    # pressure goes with the square of speed, so in it the surplus is nearly a straight line
    low, high = np.full(every.size, least**2), np.full(every.size, FASTEST**2)
    at_low, at_high = surplus(low, every), surplus(high, every)
    found[every[at_low >= 0.0]] = least
    between = (at_low < 0.0) & (at_high >= 0.0)
    left = every[between]
    low, high, at_low, at_high = (a[between] for a in (low, high, at_low, at_high))
    before, side = high, np.zeros(left.size)
    for _ in range(_ROUNDS):
        if not left.size:
            break
        square = low + (high - low) * (at_low / (at_low - at_high))
        value = surplus(square, left)
        found[left] = np.sqrt(square)
        # regula falsi after Illinois: an end that stays twice counts half, so that it is passed over soon
        over = value >= 0.0
        low, high = np.where(over, low, square), np.where(over, square, high)
        at_low = np.where(over, np.where(side > 0.0, 0.5, 1.0) * at_low, value)
        at_high = np.where(over, value, np.where(side < 0.0, 0.5, 1.0) * at_high)
        side = np.where(over, 1.0, -1.0)
        going = (np.abs(square - before) > _CLOSE * square) & (value != 0.0)
        before = square
        left, low, high, at_low, at_high, before, side = (
            a[going] for a in (left, low, high, at_low, at_high, before, side)
        )
    return found.reshape(shape)


def met_first(state: State, found: Needed, fan: Fan, speeds: Array, density: float) -> NDArray[np.bool_]:
    """Whether a fan that starts from standstill gets as far as what a site needs, of the batch shape.

    True wherever its curve does not rise, or stays above what is asked all the way to the needed flow; where it does
    not, the fan settles earlier. The points share the way up as they share its end.
    """
    if not fan.rises:
        return np.ones(np.shape(speeds), dtype=np.bool_)
    part = np.linspace(0.0, 1.0, _ON_THE_WAY + 2)[1:-1].reshape(-1, *[1] * np.ndim(speeds))
    asked = state.network.required(part[..., None] * found.flows, state.scatter).max(axis=-1)
    # what no setting of this fan brings is out of reach by any way
    within = np.isfinite(speeds) & (np.asarray(speeds) <= _OVER_FULL)
    given = fan.extended(part * found.flow, np.where(within, speeds, 1.0), density)
    return np.asarray(~within | np.all(given >= asked, axis=0))


def chance_at(speed: ArrayLike, needs: Array, spread: float) -> Array:
    """Chance that a fan set to a speed turns fast enough, of samples that need speeds along the first axis.

    What the fan's own speed may be off, `spread` (one standard deviation over the setting), is summed exactly rather
    than drawn, so that the chance is smooth and rises with the speed.
    """
    from scipy.special import ndtr

    v = np.asarray(speed, dtype=np.float64)
    if spread == 0.0:
        return np.asarray(np.mean(needs <= v, axis=0))
    return np.asarray(np.mean(ndtr((1.0 - needs / v) / spread), axis=0))


def at_chance(needs: Array, chance: float, spread: float) -> Array:
    """Least speed at which the chance is as high as asked, of samples along the first axis; infinite when none is."""
    low, high = np.full(needs.shape[1:], SLOWEST), np.full(needs.shape[1:], FASTEST)
    never = chance_at(high, needs, spread) < chance
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        enough = chance_at(middle, needs, spread) >= chance
        low, high = np.where(enough, low, middle), np.where(enough, middle, high)
    return np.where(never, np.inf, high)


def rounded_up(speed: Array | float) -> Array:
    """Speeds brought up to the next step that is offered; a speed that holds is never rounded down."""
    return np.round(np.ceil(np.asarray(speed, dtype=np.float64) / SPEED_STEP - 1e-9) * SPEED_STEP, 9)


def settable(speed: Array, least: float, *, steps: bool = True) -> Array:
    """Speeds as they can be set: from the least up, in whole steps; not a number where full speed is too slow.

    Without `steps` as they are found, for what a small change is worth, which whole steps would swallow.
    """
    set_to = rounded_up(speed) if steps else speed
    return np.where(speed <= 1.0, np.minimum(np.maximum(set_to, least), 1.0), np.nan)
