"""Prepare a design once, then answer at any speed.

Everything that does not depend on speed (the network, the floor, the system curve with its band, the fans'
interpolants) is made once and kept with the records it was made from, so that dragging the speed recomputes only
the crossing and what follows from it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from workbench.design.design import Design, settable_speed
from workbench.physics.fan import Fan
from workbench.solving.outcome import Crossing, Holding, Outcome
from workbench.solving.run.crossing import SolvedCrossing, crossings, flow_band, scan
from workbench.solving.run.holes import holding_at, needs_of, worst_flows
from workbench.solving.run.losses import breakdown
from workbench.solving.run.lowest import Lowest, lowest_speeds
from workbench.solving.run.notices import notices_at
from workbench.solving.run.sounding import sound_at
from workbench.solving.run.states import point_states, run_states
from workbench.solving.run.yearly import Hours, Share, share_from, share_of, year_of
from workbench.solving.site.assemble import assemble, fan_of, site_of
from workbench.solving.site.chance import Samples, cloud, sampled
from workbench.solving.site.draws import DRAG_SAMPLES, REST_SAMPLES
from workbench.solving.site.season import Season, worst_day
from workbench.solving.site.system import system_curve

Array = NDArray[np.float64]

_TRACE_POINTS = 121
_FLOW_WITHOUT_FAN = 0.1
_REFERENCE_STEP = 0.1


@dataclass(frozen=True, eq=False)
class FanTrace:
    """A fan's curve for drawing, shape (k,): flow [m3/s], fan total pressure [Pa], electrical power [W] or NaN."""

    name: str
    speed: float
    flow: Array
    pressure: Array
    power: Array


class Prepared:
    """A design made ready to be answered at any speed.

    Raises
    ------
    ValueError
        With a sentence, when a drawn floor makes no field.
    """

    def __init__(self, design: Design, hours: Hours | None = None) -> None:
        self.design = design
        self.hours = hours
        site = site_of(design)
        self.assembly = assemble(site)
        self._sampled: dict[int, Samples] = {}
        self._worst: dict[float, tuple[Array, Array] | None] = {}
        self._settled: dict[tuple[int, float], Array | None] = {}
        self._needs: dict[tuple[int, tuple[int, ...]], Array | None] = {}
        self.fans: dict[str, Fan] = {record.name: fan_of(record, design.arrangement) for record in design.fans}
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

    def needs(self, samples: int, holes: tuple[int, ...]) -> Array | None:
        """Speed of the chosen fan that each sample needs for some holes, shape (s,); see `holes.needs_of`."""
        if (samples, holes) not in self._needs:
            assert self.design.fan is not None
            self._needs[samples, holes] = needs_of(self, self.fans[self.design.fan], samples, holes)
        return self._needs[samples, holes]

    def worst_flows(self, fan: Fan, speed: float, flows: Array) -> Array | None:
        """Flows of the points on the worst day; None where the fan then meets nothing. [m3/s]

        `flows` are those on the day.
        """
        reference = _reference(speed)
        if reference not in self._worst:
            solved = self.stable_crossing(reference)
            worst = None if solved is None else worst_flows(self, fan, reference, self.worst_day, solved.flows)
            self._worst[reference] = None if solved is None or worst is None else (solved.flows, worst)
        near = self._worst[reference]
        return worst_flows(
            self, fan, speed, self.worst_day, flows if near is None else flows * _ratio(near[1], near[0])
        )

    def nearby(self, samples: int, fan: Fan, speed: float, flows: Array) -> Array:
        """Where samples start at a speed: from those at the nearest of a few speeds, which saves a drag most steps.

        What is kept depends on those speeds alone, so that an answer never depends on the way the hand came.
        """
        reference = _reference(speed)
        if (samples, reference) not in self._settled:
            near = self._worst.get(reference)
            seen = None if near is None else cloud(self.sampled(samples), fan, reference, near[1])
            # as shares of the worst day's flows, which the samples keep nearly as the speed changes
            self._settled[samples, reference] = None if seen is None or near is None else _ratio(seen.flows, near[1])
        shares = self._settled[samples, reference]
        return flows if shares is None else flows * shares

    @cached_property
    def lowest(self) -> Lowest:
        """The lowest speeds at which the chosen fan holds; found when first asked for, some milliseconds."""
        return lowest_speeds(self)

    def trace(self, name: str, speed: float) -> FanTrace:
        """Curve of one of the design's fans at a speed, for drawing. KeyError for an unknown fan."""
        fan = self.fans[name]
        first, last = (float(end) for end in fan.flow_range(speed))
        flow = np.linspace(first, last, _TRACE_POINTS)
        return FanTrace(
            name, speed, flow, fan.pressure(flow, speed, self.density), fan.power(flow, speed, self.density)
        )

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

    def holding(self, speed: float, samples: int = REST_SAMPLES) -> Holding | None:
        """Whether the holes hold at a speed, by as many samples as asked."""
        solved = self.stable_crossing(speed)
        if solved is None or self.design.fan is None:
            return None
        fan = self.fans[self.design.fan]
        worst = self.worst_flows(fan, speed, solved.flows)
        return holding_at(self, fan, speed, solved.flows, worst, samples)

    def rested(self, speed: float) -> Outcome:
        """The answer at a speed with every sample: what a resting hand, a command and a paper tell."""
        return self.at(speed, REST_SAMPLES)

    def at(self, speed: float, samples: int = DRAG_SAMPLES, *, holes: bool = True) -> Outcome:
        """The answer at a speed (fraction of full speed); fewer samples serve while a hand moves.

        Without `holes` nothing is told of what they keep, nor of the worst day.

        Raises
        ------
        ValueError
            With a sentence, unless the speed is a number above 0 and up to 1.
        """
        speed = settable_speed(speed)
        if self.design.fan is None:
            return self._no_answer(speed, (), samples)
        fan = self.fans[self.design.fan]
        along = scan(fan, speed, self.density)
        found = crossings(self.assembly.network, self.system, fan, speed, along)
        solved = next((each for each in found if each.crossing.stable), None)
        every = tuple(each.crossing for each in found)
        if solved is None:
            return self._no_answer(speed, every, samples)
        operating, flows = solved
        parts = self.assembly.network.parts(flows)
        points = point_states(self.assembly, flows, parts)
        runs = run_states(self.assembly, flows, parts)
        band = flow_band(self.system, along, operating.flow)
        floored = holes and (bool(self.design.holes) or self.assembly.floor.planned)
        worst = self.worst_flows(fan, speed, flows) if floored else None
        holding = holding_at(self, fan, speed, flows, worst, samples)
        sound = sound_at(self.design, speed, operating.flow, self.density)
        year = year_of(self.design, operating, self.density, band, self._share(flows, samples), self.hours)
        inlet = next(run for run in runs if run.address == ("intake", "runs", len(self.design.intake.runs) - 1))
        return Outcome(
            speed=speed,
            crossings=every,
            operating=operating,
            band=band,
            velocity=max(run.velocity for run in runs),
            gauge=inlet.suction,
            points=points,
            runs=runs,
            losses=breakdown(self.assembly, flows, parts),
            sound=sound,
            year=year,
            worst_flows=None if worst is None else tuple(float(q) for q in worst),
            holding=holding,
            notices=tuple(notices_at(self, speed, every, points, runs, holding, sound, year)),
            samples=samples,
        )

    def _share(self, flows: Array, samples: int) -> Share:
        return share_of(self.design.house, share_from(self.assembly.floor, flows, samples))

    def _no_answer(self, speed: float, every: tuple[Crossing, ...], samples: int) -> Outcome:
        return Outcome(
            speed=speed,
            crossings=every,
            operating=None,
            band=None,
            velocity=0.0,
            gauge=0.0,
            points=(),
            runs=(),
            losses=(),
            sound=(),
            year=None,
            worst_flows=None,
            holding=None,
            notices=tuple(notices_at(self, speed, every, (), (), None)),
            samples=samples,
        )


def _ratio(some: Array, others: Array) -> Array:
    return np.divide(some, others, out=np.ones(np.shape(some)), where=others != 0.0)


def _reference(speed: float) -> float:
    return min(max(round(speed / _REFERENCE_STEP), 1) * _REFERENCE_STEP, 1.0)


@lru_cache(maxsize=16)
def _prepared(design: Design, hours: Hours | None) -> Prepared:
    return Prepared(design, hours)


def prepare(design: Design, hours: Hours | None = None) -> Prepared:
    """Make a design ready; designs that differ only in their speed share the work.

    `hours` is a year of weather, where one is given.

    Raises
    ------
    ValueError
        With a sentence, when a drawn floor makes no field.
    """
    return _prepared(design if design.speed == 1.0 else design.model_copy(update={"speed": 1.0}), hours)


def solve(design: Design, speed: float | None = None, hours: Hours | None = None) -> Outcome:
    """Answer a design at its own speed or another, with every sample."""
    return prepare(design, hours).rested(design.speed if speed is None else speed)
