"""A search of choices beside a plain loop over candidates and samples: fluids for every loss, brentq for every speed.

Both answer the same question of the same samples: the lowest speed at which every hole keeps its target in nine of ten
of them, where the fan then settles, and what the year costs.
"""

from __future__ import annotations

import math
import time
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from fluids.friction import Churchill_1977
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

from tests.benchmarks.measure import Result
from workbench.design import Design, FanRecord
from workbench.files.fan_library import fan_classes
from workbench.files.scenes import load_scene
from workbench.solving import prepare
from workbench.solving.choices.search import Choice, design_of, search
from workbench.solving.run.needed import FASTEST, SPEED_STEP
from workbench.solving.run.yearly import house_air_bill
from workbench.solving.site.assemble import fitting_k
from workbench.solving.site.chance import Samples
from workbench.solving.site.draws import REST_SAMPLES

_ROUNDS, _LOOPED = 2, 4
_SLOWEST = 0.01


def case() -> Design:
    """The studio by the readings at its holes alone, every fan of the library whose curve falls."""
    design = load_scene("studio")
    fans = tuple(fan for fan in fan_classes() if fan.basis == "static" and len(fan.curves) == 1)
    falling = tuple(fan for fan in fans if all(b.pressure <= a.pressure for a, b in pairwise(fan.full.points)))
    fields = {name: getattr(design, name) for name in Design.model_fields}
    limits = design.search.model_copy(update={"pits": (0.02, 0.028, 0.04, 0.057, 0.075, 0.095)})
    return Design.model_validate(
        fields | {"slab": None, "fans": falling, "fan": falling[0].name, "arrangement": "single", "search": limits}
    )


class _Looped:
    """One candidate worked out plainly. The sampled factors are handed in; every sum is done here."""

    def __init__(self, design: Design, samples: Samples) -> None:
        self._design, self._state = design, samples.state
        prepared = prepare(design)
        self._air, self._outdoor = prepared.assembly.air, prepared.assembly.outdoor
        self._floor = prepared.assembly.floor
        self._runs = [*design.intake.runs, *design.discharge]

    def pipe(self, flow: float, friction: float, fittings: Sequence[float]) -> float:
        total = 0.0
        for run, off in zip(self._runs, fittings, strict=True):
            bore = run.pipe.inside_diameter
            speed = flow / (math.pi / 4 * bore**2)
            reynolds = self._air.density * speed * bore / self._air.viscosity
            factor = Churchill_1977(Re=reynolds, eD=run.pipe.roughness / bore) * run.length / bore
            k = sum(fitting_k(fitting, run) for fitting in run.fittings)
            total += (factor * friction + k * off) * self._air.density * speed**2 / 2
        return total

    def sample(self, s: int) -> tuple[float, float]:
        """Flow that the weakest hole needs, and the pressure asked at it."""
        state = self._state
        target = self._design.target.suction
        flow = 0.0
        for h in range(state.holes.shape[1]):
            lacking = target - float(state.rest[h] + state.change[s, h])
            flow = max(flow, lacking / float(state.holes[s, h, 0]))
        network = state.network
        ground = float(network.coupling[s, 0, 0]) * flow + float(network.inertial[s, 0]) * flow**2
        scatter = state.scatter
        off = np.broadcast_to(np.asarray(scatter.fittings)[s], len(self._runs))
        pipe = self.pipe(flow, float(np.asarray(scatter.friction)[s, 0]), [float(each) for each in off])
        return flow, ground + pipe - float(network.draft[s, 0])

    def answer(self, fan: FanRecord) -> tuple[float, float]:
        """Lowest speed at the chance asked for, and the cost of a year there."""
        curve = PchipInterpolator([p.flow for p in fan.full.points], [p.pressure for p in fan.full.points])
        draw = PchipInterpolator([p.flow for p in fan.full.points], [p.power or 0.0 for p in fan.full.points])
        density, last = self._air.density, fan.full.points[-1].flow
        outlet = math.pi / 4 * fan.outlet_diameter**2

        def lift(flow: float, speed: float) -> float:
            if flow > last * speed:
                return -1e6 * (flow / (last * speed))
            return (
                float(curve(flow / speed)) * speed**2 * density / fan.rated_density + density / 2 * (flow / outlet) ** 2
            )

        least = fan.lowest_speed
        found = []
        for s in range(REST_SAMPLES):
            flow, asked = self.sample(s)
            if lift(flow, _SLOWEST) >= asked:
                found.append(_SLOWEST)
            elif lift(flow, FASTEST) < asked:
                found.append(math.inf)
            else:
                found.append(brentq(lambda r, q=flow, p=asked: lift(q, r) - p, _SLOWEST, FASTEST, rtol=1e-10))
        # what the fan's own speed may be off is summed, two standard deviations being entered
        spread = 0.5 * self._design.uncertainty.fan_speed

        def spare_chance(speed: float) -> float:
            held = sum(math.erfc((need / speed - 1.0) / (spread * math.sqrt(2.0))) for need in found)
            return 0.5 * held / len(found) - self._design.target.chance

        speed = max(brentq(spare_chance, _SLOWEST, FASTEST), least)
        if speed > 1.0:
            return speed, math.nan
        speed = max(math.ceil(speed / SPEED_STEP - 1e-9) * SPEED_STEP, least)
        rise = sum(run.rise for run in self._runs) * 9.80665 * (self._outdoor.density - density)

        def spare(flow: float) -> float:
            ground = float(self._floor.coupling[0, 0]) * flow + float(self._floor.inertial[0]) * flow**2
            return lift(flow, speed) - ground - self.pipe(flow, 1.0, [1.0] * len(self._runs)) + rise

        flow = brentq(spare, 1e-6, last * speed * (1 - 1e-9), xtol=1e-14)
        watts = float(draw(flow / speed))
        if fan.control == "phase-cut":
            watts *= density / fan.rated_density * speed ** min(fan.power_exponent, 2.0)
        else:
            fixed = min(fan.constant_power, watts) if fan.control == "ec" else 0.0
            watts = fixed + (watts - fixed) * density / fan.rated_density * speed**3
        prices = self._design.prices
        # the scene's exhaust test tells the share of house air
        share = 1.0 - float(self._floor.rest_points[0])
        bought = house_air_bill(self._design, density, None).bought(flow * share)
        air = float(bought.total(prices.heat, prices.electricity))
        return speed, watts * 8.76 * prices.electricity + air


def _looped(design: Design, choice: Choice) -> tuple[float, float, float]:
    """Seconds, speed and yearly cost of one candidate in the plain loop; laying it out is not counted."""
    made = design_of(choice, design)
    loop = _Looped(made, prepare(made).sampled(REST_SAMPLES))
    fan = made.chosen_fan
    assert fan is not None
    start = time.perf_counter()
    speed, cost = loop.answer(fan)
    return time.perf_counter() - start, speed, cost


def run() -> list[Result]:
    """Both in turn; the loop on some of the candidates, spread over all of them."""
    design = case()
    found = search(design)
    holding = [row for row in found.rows if row.holds]
    some = holding[:: max(len(holding) // _LOOPED, 1)][:_LOOPED]
    ours, theirs, worst = [], [], 0.0
    for _ in range(_ROUNDS):
        start = time.perf_counter()
        search(design)
        ours.append((time.perf_counter() - start) / len(found.rows))
        for choice in some:
            seconds, speed, cost = _looped(design, choice)
            theirs.append(seconds)
            worst = max(worst, abs(choice.speed / speed - 1.0), abs(choice.yearly / cost - 1.0))
    mine, plain = min(ours), sorted(theirs)[len(theirs) // 2]
    return [
        Result(
            "choices a candidate, a plain loop of fluids and brentq against the search",
            plain / mine,
            50.0,
            f"{1e3 * plain:.0f} ms against {1e3 * mine:.3f} ms: {len(found.rows)} candidates, "
            f"{REST_SAMPLES} samples each, {1 / mine:.0f} a second",
            least=True,
        ),
        Result("choices: lowest speed and yearly cost against the plain loop", worst, 1e-3, "worst, relative"),
    ]
