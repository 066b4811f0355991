"""Many sites of one layout side by side: the lowest speed of a fan on each of them, and the air it then moves.

The rule is that of `lowest`, on arrays: what each site needs is found once, then every fan is asked for its speed.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cached_property, lru_cache

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import ArrayLike

from workbench.design.design import Design
from workbench.physics.arrays import Array, Bools
from workbench.physics.fan import Fan
from workbench.physics.network import Network, NoConvergence, Scatter, stacked
from workbench.physics.pipe import bore_area
from workbench.solving.run.needed import Needed, at_chance, met_first, needed, settable, speeds_for
from workbench.solving.site.assemble import Assembly, laid_out, site_of
from workbench.solving.site.chance import Samples, State, fan_spread, middle, sampled
from workbench.solving.site.draws import REST_SAMPLES
from workbench.solving.site.floor import floor_of
from workbench.solving.site.learned import Learned
from workbench.solving.site.season import worst_day

_SLACK = 1e-9
_START = 1e-4
"""Flow a search for a crossing starts from at the least. [m3/s]"""


_floor = lru_cache(maxsize=256)(floor_of.__wrapped__)
"""As `floor_of`, kept for a whole search."""


class SampledSite(Struct, frozen=True, eq=False):
    """One design laid out, with its states on the worst day."""

    design: Design
    assembly: Assembly
    middle: State
    sampled: Samples

    @property
    def layout(self) -> tuple[object, ...]:
        """Sites that agree in this can stand side by side."""
        network = self.assembly.network
        legs = ((t.angle, t.area_ratio, t.straight_k, t.side_k) for t in network.junctions)
        return network.upstream.shape, network.upstream.tobytes(), *legs


def lay_out(designs: Sequence[Design], learned: Learned | None = None) -> list[SampledSite]:
    """Lay out designs that differ in their pipes alone, so that floor, season and samples are made once for all.

    Raises
    ------
    ValueError
        With a sentence, when a drawn floor makes no field.
    """
    design = designs[0]
    assembly = laid_out(site_of(design, learned), _floor)
    floor = assembly.floor
    season = worst_day(design, assembly)
    found = [
        SampledSite(design, assembly, middle(design, assembly, season), sampled(design, assembly, season, REST_SAMPLES))
    ]
    for other in designs[1:]:
        assembly = laid_out(site_of(other, learned), lambda *_: floor)
        season = worst_day(other, assembly)
        samples = sampled(other, assembly, season, REST_SAMPLES)
        found.append(SampledSite(other, assembly, middle(other, assembly, season), samples))
    return found


class Row(Struct, frozen=True, eq=False, dict=True):
    """Sites of one layout side by side, and what each needs on the worst day.

    `day` is the stacked network on the day, `worst` the stacked state on the worst; `plain` has the batch shape (w,),
    `samples` (s, w). `fan_spread` is one standard deviation of a fan's true speed over its setting.
    """

    sites: tuple[SampledSite, ...]
    day: Network
    worst: State
    plain: Needed
    samples: Needed
    fan_spread: float
    chance: float

    @cached_property
    def sampled(self) -> State:
        """The sampled states, (s, w)."""
        return _stack([site.sampled.state for site in self.sites], 1)

    @property
    def density(self) -> float:
        """Of the air in pipe and fan. [kg/m3]"""
        return self.day.density

    def velocity(self, flows: Array) -> Array:
        """Fastest air in the pipe at flows (w, n), shape (w,). [m/s]"""
        through = np.abs(flows @ self.day.upstream.T)
        return np.asarray((through / bore_area(self.day.diameter)).max(axis=-1))

    def outlet_area(self) -> Array:
        """Of the last run, shape (w,). [m2]"""
        return np.asarray(bore_area(self.day.diameter[:, -1]))

    def remaining(self, worst_flows: Array) -> Array:
        """Suction at the holes at flows of the worst day, shape (w, k); NaN where a hole is not known. [Pa]"""
        return self.worst.remaining(worst_flows)


def side_by_side(sites: Sequence[SampledSite]) -> Row:
    """Put sites of one layout side by side and find what each needs.

    Raises
    ------
    ValueError
        With a sentence, when nothing is known of any hole.
    NoConvergence
    """
    worst = _stack([site.middle for site in sites], 0)
    target = sites[0].design.target
    plain = needed(worst, target.suction)
    if plain is None:
        raise ValueError("nothing is known of any test hole: enter its readings, or its place on a drawn floor")
    day = stacked([site.assembly.network for site in sites])
    # a site after the other, so that what is in hand stays near the processor
    each = [_surely(site, target.suction, Needed(*(part[w] for part in plain))) for w, site in enumerate(sites)]
    if all(np.isnan(one.flow).all() for one in each):
        raise NoConvergence("the flows that a target needs could not be found at any of the sites")
    flows, flow, pressure = zip(*each, strict=True)
    surely = Needed(np.stack(flows, axis=1), np.stack(flow, axis=1), np.stack(pressure, axis=1))
    return Row(tuple(sites), day, worst, plain, surely, fan_spread(sites[0].design), target.chance)


def _surely(site: SampledSite, target: float, plain: Needed) -> Needed:
    """What each sample of a site needs; out of reach where it is found for none of them."""
    try:
        found = needed(site.sampled.state, target, near=plain)
    except NoConvergence:
        shape = site.sampled.state.network.inertial.shape
        found = Needed(np.full(shape, np.nan), np.full(shape[:-1], np.nan), np.full(shape[:-1], np.inf))
    assert found is not None
    return found


def _stack(states: Sequence[State], axis: int) -> State:
    """States of one layout as one, the sites along an axis of the batch."""

    def together(part: Callable[[State], ArrayLike]) -> Array:
        return np.stack([np.asarray(part(state), dtype=np.float64) for state in states], axis=axis)

    scatters = [state.scatter for state in states]
    return State(
        network=replace(
            stacked([state.network for state in states]),
            coupling=together(lambda state: state.network.coupling),
            inertial=together(lambda state: state.network.inertial),
            draft=together(lambda state: state.network.draft),
        ),
        scatter=Scatter(
            *(np.stack([np.atleast_1d(one) for one in kind], axis=axis) for kind in zip(*scatters, strict=True))
        ),
        holes=together(lambda state: state.holes),
        rest=states[0].rest,
        change=together(lambda state: state.change),
    )


class LowestSettings(Struct, frozen=True, eq=False):
    """A fan on a row of w sites, each at the lowest speed that holds there at the chance asked for.

    Attributes
    ----------
    wanted : array, shape (w,)
        Speed needed, also where it lies above full speed; infinite where none would do.
    speed : array, shape (w,)
        As it would be set; full speed where none holds.
    flows, worst_flows : array, shape (w, n)
        On the day and on the worst one, at `speed`. [m3/s]
    within : array of bool, shape (w,)
        Whether the fan's measured points speak of these flows.
    often : array of bool, shape (w,)
        Where a rising curve may be met before that, and this answer does not stand.
    """

    wanted: Array
    speed: Array
    flows: Array
    worst_flows: Array
    within: Bools
    often: Bools


def settings_on(row: Row, fan: Fan, least: float, *, steps: bool = True, truly: Array | None = None) -> LowestSettings:
    """The lowest settings of a fan on a row of sites, in whole steps; `least` is the lowest it can be set to.

    `truly` are factors (s,) on the speed it is set to where readings tell of them.

    Raises
    ------
    NoConvergence
    """
    plain = speeds_for(fan, row.plain.flow, row.plain.pressure, row.density)
    needs = speeds_for(fan, row.samples.flow, row.samples.pressure, row.density)
    if truly is None:
        sure = at_chance(needs, row.chance, row.fan_spread)
    else:
        sure = at_chance(needs / truly[:, None], row.chance, 0.0)
    wanted = np.maximum(np.maximum(plain, sure), least)
    set_to = settable(wanted, least, steps=steps)
    speed = np.where(np.isnan(set_to), 1.0, set_to)

    def lift(total: Array) -> Array:
        return fan.extended(total, speed, row.density)

    start = np.where(np.isfinite(row.plain.pressure)[:, None], row.plain.flows, 0.0) + _START
    worst_flows = row.worst.network.meet(lift, start)
    flows = row.day.meet(lift, worst_flows)
    first, last = fan.flow_range(speed)
    within = np.ones(speed.shape, dtype=np.bool_)
    for found in (flows, worst_flows):
        total = found.sum(axis=-1)
        within &= (total >= first - _SLACK * last) & (total <= last * (1.0 - _SLACK))
    reached = np.ones(speed.shape, dtype=np.bool_)
    if fan.rises:
        reached = met_first(row.worst, row.plain, fan, plain, row.density)
        reached &= met_first(row.sampled, row.samples, fan, needs, row.density).all(axis=0)
    return LowestSettings(wanted, speed, flows, worst_flows, within, ~reached)
