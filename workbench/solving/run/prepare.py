"""Prepare a design once, then answer at any speed."""

from __future__ import annotations

from functools import cached_property, lru_cache

from workbench.design.design import Design, settable_speed
from workbench.physics.arrays import Array
from workbench.solving.outcome import Crossing, Holding, Outcome
from workbench.solving.run.crossing import crossings, flow_band, scan
from workbench.solving.run.fans_on_site import FansOnSite
from workbench.solving.run.gauges import GaugeAt, before_fan, gauge_at, gauge_band, gauges_along
from workbench.solving.run.holes import holding_at, holding_of
from workbench.solving.run.losses import breakdown
from workbench.solving.run.lowest import Lowest, lowest_speeds
from workbench.solving.run.notices import notices_at
from workbench.solving.run.sounding import sound_at
from workbench.solving.run.states import point_states, run_states
from workbench.solving.run.yearly import Hours, Share, share_from, share_of, year_of
from workbench.solving.site.draws import DRAG_SAMPLES, REST_SAMPLES
from workbench.solving.site.learned import Learned


class Prepared(FansOnSite):
    """A design made ready to be answered at any speed.

    Raises
    ------
    ValueError
        With a sentence, when a drawn floor makes no field.
    """

    @cached_property
    def lowest(self) -> Lowest:
        """The lowest speeds at which the chosen fan holds; found when first asked for, some milliseconds."""
        return lowest_speeds(self)

    @cached_property
    def gauges(self) -> tuple[GaugeAt, ...]:
        """What the gauge reads at every tenth of full speed that the fan can run at; some milliseconds."""
        return gauges_along(self)

    @cached_property
    def gauge_at_lowest(self) -> GaugeAt | None:
        """What it reads at the lowest speed that meets the target; None where there is none."""
        return None if self.lowest.confident is None else gauge_at(self, self.lowest.confident)

    @cached_property
    def at_full_speed(self) -> Holding | None:
        """What the holes keep at full speed, by every sample."""
        return self.holding(1.0)

    def holding(self, speed: float, samples: int = REST_SAMPLES) -> Holding | None:
        """Whether the holes hold at a speed, by as many samples as asked."""
        return holding_of(self, speed, samples)

    def rested(self, speed: float) -> Outcome:
        """The answer at a speed with every sample: what a resting hand, a command and a paper tell."""
        return _rested(self, speed)

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
        worst = self.worst_flows(fan, speed, flows, nearly=samples < REST_SAMPLES) if floored else None
        holding = holding_at(self, fan, speed, flows, worst, samples)
        sound = sound_at(self.design, speed, operating.flow, self.density)
        year = year_of(self.design, operating, self.density, band, self._share(flows, samples), self.hours)
        gauge = before_fan(self.design, runs).suction
        return Outcome(
            speed=speed,
            crossings=every,
            operating=operating,
            band=band,
            velocity=max(run.velocity for run in runs),
            gauge=gauge,
            gauge_band=gauge_band(self, fan, speed, flows, gauge, band),
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
            gauge_band=None,
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


@lru_cache(maxsize=32)
def _rested(prepared: Prepared, speed: float) -> Outcome:
    # an undo, a paper and the window ask for the same answer again
    return prepared.at(speed, REST_SAMPLES)


@lru_cache(maxsize=16)
def _prepared(design: Design, hours: Hours | None, learned: Learned | None) -> Prepared:
    return Prepared(design, hours, learned)


def made_ready(design: Design, hours: Hours | None = None, learned: Learned | None = None) -> Prepared:
    """Make a design ready; designs that differ only in their speed share the work.

    `hours` is a year of weather, where one is given; `learned` is what readings of the running system made of this
    design or of the one that it varies, which the design's own visits are not asked for here.

    Raises
    ------
    ValueError
        With a sentence, when a drawn floor makes no field.
    """
    return _prepared(design if design.speed == 1.0 else design.model_copy(update={"speed": 1.0}), hours, learned)
