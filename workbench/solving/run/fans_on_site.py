"""A design's fans on its site: all that is the same whatever the speed, and where the fans meet it.

Everything that does not depend on speed (the network, the floor, the system curve with its band, the fans'
interpolants) is made once and kept with the records it was made from, so that dragging the speed recomputes only the
crossing and what follows from it.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cached_property

import numpy as np
from msgspec import Struct

from workbench.design.design import Design
from workbench.physics.arrays import Array
from workbench.physics.fan import Fan
from workbench.physics.network import NoConvergence
from workbench.physics.pipe import bore_area
from workbench.solving.outcome import Crossing
from workbench.solving.run.crossing import SolvedCrossing, crossings, scan
from workbench.solving.run.needed import met_first, needed, speeds_for
from workbench.solving.run.yearly import Hours
from workbench.solving.site.assemble import assemble, fan_on, site_of
from workbench.solving.site.chance import Samples, cloud, fan_spread, sampled
from workbench.solving.site.learned import Learned
from workbench.solving.site.season import Season, worst_day
from workbench.solving.site.system import system_curve

_TRACE_POINTS = 121
_FLOW_WITHOUT_FAN = 0.1
_REFERENCE_STEP = 0.1


class FanTrace(Struct, frozen=True, eq=False):
    """A fan's curve for drawing, shape (k,): flow [m3/s], fan total pressure [Pa], electrical power [W] or NaN.

    `velocity_pressure` is that in the fan's outlet, by which its static pressure is less than its total one [Pa].
    """

    name: str
    speed: float
    flow: Array
    pressure: Array
    power: Array
    velocity_pressure: Array


class FansOnSite:
    """A site laid out and its fans, ready to be asked at any speed.

    Raises
    ------
    ValueError
        With a sentence, when a drawn floor makes no field.
    """

    def __init__(self, design: Design, hours: Hours | None = None, learned: Learned | None = None) -> None:
        self.design = design
        self.hours = hours
        self.learned = learned
        site = site_of(design, learned)
        self.assembly = assemble(site)
        self._sampled: dict[int, Samples] = {}
        self._both: dict[float, tuple[Array, Array] | None] = {}
        self._shares: dict[tuple[int, float], Array | None] = {}
        self._needs: dict[tuple[int, tuple[int, ...]], Array | None] = {}
        self.fans: dict[str, Fan] = {record.name: fan_on(record, design.arrangement, learned) for record in design.fans}
        self.system = system_curve(site, self._most_flow(), design.uncertainty)

    def _most_flow(self) -> float:
        ends = [float(fan.flow_range(1.0)[1]) for fan in self.fans.values()]
        return max(ends, default=_FLOW_WITHOUT_FAN)

    @property
    def density(self) -> float:
        """Of the air in the pipe and the fan. [kg/m3]"""
        return self.assembly.air.density

    @cached_property
    def worst_day(self) -> Season:
        """The coldest design temperature with every exhaust on."""
        return worst_day(self.design, self.assembly)

    def sampled(self, samples: int) -> Samples:
        """The site on the worst day with everything that is uncertain varied; kept, since no speed touches it."""
        if samples not in self._sampled:
            self._sampled[samples] = sampled(self.design, self.assembly, self.worst_day, samples)
        return self._sampled[samples]

    # --- the chosen fan on the site

    def crossings(self, speed: float, name: str | None = None) -> tuple[Crossing, ...]:
        """All flows at which the chosen fan, or another by name, meets the system at a speed, flow rising."""
        wanted = self.design.fan if name is None else name
        return () if wanted is None else tuple(each.crossing for each in self._crossings(self.fans[wanted], speed))

    def _crossings(self, fan: Fan, speed: float) -> list[SolvedCrossing]:
        return crossings(self.assembly.network, self.system, fan, speed, scan(fan, speed, self.density))

    def stable_crossing(self, speed: float) -> SolvedCrossing | None:
        """The crossing that the chosen fan reaches from standstill, None where there is none."""
        if self.design.fan is None:
            return None
        found = self._crossings(self.fans[self.design.fan], speed)
        return next((each for each in found if each.crossing.stable), None)

    def flows_in(self, season: Season, fan: Fan, speed: float, flows: Array) -> Array | None:
        """Flows of the points in a season, from others nearby; None where the fan then meets nothing. [m3/s]"""

        def lift(total: Array) -> Array:
            return fan.pressure(total, speed, self.density)

        try:
            return season.network(self.assembly).meet(lift, flows)
        except NoConvergence:
            return None

    def worst_flows(self, fan: Fan, speed: float, flows: Array, *, nearly: bool = False) -> Array | None:
        """Flows of the points on the worst day; None where the fan then meets nothing. [m3/s]

        `flows` are those on the day. `nearly`, as while a hand moves, they are read between two solved speeds.
        """
        start = self._between(speed, lambda reference: self._worst_shares(fan, reference))
        if start is not None and nearly and not fan.rises:
            return flows * start
        return self.flows_in(self.worst_day, fan, speed, flows if start is None else flows * start)

    def _worst_shares(self, fan: Fan, reference: float) -> Array | None:
        both = self._both_days(fan, reference)
        return None if both is None else _ratio(both[1], both[0])

    def _between(self, speed: float, shares_at: Callable[[float], Array | None]) -> Array | None:
        """Shares at a speed, between two of a few speeds, straight in one over the square; None where one has none.

        What is kept depends on those speeds alone, so that an answer never depends on the way the hand came.
        """
        if speed < _REFERENCE_STEP:
            return None
        below, above = _reference(speed, math.floor), _reference(speed, math.ceil)
        low, high = shares_at(below), shares_at(above)
        if low is None or high is None:
            return None
        # what a season takes weighs the less, the more the fan gives, which goes with the square of its speed
        part = 0.0 if above == below else (below**-2 - speed**-2) / (below**-2 - above**-2)
        return (1.0 - part) * low + part * high

    def nearby(self, samples: int, fan: Fan, speed: float, flows: Array) -> tuple[Array, bool]:
        """Flows of samples at a speed from those at a few speeds, and whether they are good enough while a hand moves.

        Between two of those speeds samples keep their shares of the worst day's flows nearly, so that such a line
        between the shares is off by parts of a thousand.
        """
        shares = self._between(speed, lambda reference: self._shares_at(samples, fan, reference))
        return (flows, False) if shares is None else (flows * shares, True)

    def _shares_at(self, samples: int, fan: Fan, reference: float) -> Array | None:
        if (samples, reference) not in self._shares:
            near = self._both_days(fan, reference)
            seen = None if near is None else cloud(self.sampled(samples), fan, reference, near[1])
            self._shares[samples, reference] = None if seen is None or near is None else _ratio(seen.flows, near[1])
        return self._shares[samples, reference]

    def _both_days(self, fan: Fan, reference: float) -> tuple[Array, Array] | None:
        """Flows of the points on the day and on the worst one, at one of the few speeds; None where there are none."""
        if reference not in self._both:
            solved = self.stable_crossing(reference)
            worst = None if solved is None else self.flows_in(self.worst_day, fan, reference, solved.flows)
            self._both[reference] = None if solved is None or worst is None else (solved.flows, worst)
        return self._both[reference]

    def needs(self, samples: int, holes: tuple[int, ...]) -> Array | None:
        """Speed of the chosen fan that each sample needs so that some holes keep the target on the worst day, (s,).

        None where it cannot be found, or where a rising curve may be met before that, and an answer must be looked for
        speed by speed.
        """
        if (samples, holes) not in self._needs:
            self._needs[samples, holes] = self._needs_of(samples, holes)
        return self._needs[samples, holes]

    def _needs_of(self, samples: int, holes: tuple[int, ...]) -> Array | None:
        if not holes or self.design.fan is None:
            return None
        fan, state = self.fans[self.design.fan], self.sampled(samples).state
        try:
            found = needed(state, self.design.target.suction, holes)
        except NoConvergence:
            return None
        if found is None:
            return None
        speeds = speeds_for(fan, found.flow, found.pressure, self.density)
        if not met_first(state, found, fan, speeds, self.density).all():
            return None
        # once it was read, the fan hangs together with what else was: its own speed is no more summed by itself
        return speeds / self.sampled(samples).fan if self.fan_read else speeds

    @property
    def fan_read(self) -> bool:
        """Whether readings of the running system tell of the chosen fan's speed."""
        return self.learned is not None and self.design.chosen_fan == self.learned.fan

    @property
    def fan_spread(self) -> float:
        """One standard deviation of the fan's true speed over its setting that is not in `needs`."""
        return 0.0 if self.fan_read else fan_spread(self.design)

    def trace(self, name: str, speed: float) -> FanTrace:
        """Curve of one of the design's fans at a speed, for drawing. KeyError for an unknown fan."""
        fan = self.fans[name]
        first, last = (float(end) for end in fan.flow_range(speed))
        flow = np.linspace(first, last, _TRACE_POINTS)
        return FanTrace(
            name,
            speed,
            flow,
            fan.pressure(flow, speed, self.density),
            fan.power(flow, speed, self.density),
            self.velocity_pressure(name, flow),
        )

    def velocity_pressure(self, name: str, flow: Array) -> Array:
        """Velocity pressure in the outlet of one of the design's fans. [Pa] KeyError for an unknown fan.

        By this much is fan static pressure less than fan total pressure (definition of ANSI/AMCA 210 and ISO 5801).
        """
        return 0.5 * self.density * np.square(np.asarray(flow) / self._outlets[name])

    @cached_property
    def _outlets(self) -> dict[str, float]:
        """Area through which each fan blows. [m2]"""
        alike = 2 if self.design.arrangement == "parallel" else 1
        return {record.name: alike * float(bore_area(record.outlet_diameter)) for record in self.design.fans}


def _ratio(some: Array, others: Array) -> Array:
    return np.divide(some, others, out=np.ones(np.shape(some)), where=others != 0.0)


def _reference(speed: float, way: Callable[[float], int]) -> float:
    return min(max(way(round(speed / _REFERENCE_STEP, 9)), 1) * _REFERENCE_STEP, 1.0)
