"""The operating point beside an independent solution: fluids for every loss, brentq for the crossing."""

from __future__ import annotations

from math import pi

from fluids.friction import Churchill_1977
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

from tests.benchmarks.measure import Result
from workbench.design.pipework import Leg
from workbench.files.scenes import load_scene
from workbench.solving import prepare
from workbench.solving.site.assemble import fitting_k


def run() -> list[Result]:
    """The studio at ten speeds, its one path written out plainly."""
    design = load_scene("studio")
    prepared = prepare(design)
    air, floor = prepared.assembly.air, prepared.assembly.floor
    linear, quadratic = float(floor.coupling[0, 0]), float(floor.inertial[0])
    assert isinstance(design.intake, Leg)
    runs = [*design.intake.runs, *design.discharge]
    lift = 9.80665 * sum(run.rise for run in runs) * (prepared.assembly.outdoor.density - air.density)

    def asked(flow: float) -> float:
        total = linear * flow + quadratic * flow**2 - lift
        for run in runs:
            bore = run.pipe.inside_diameter
            speed = flow / (pi / 4 * bore**2)
            reynolds = air.density * speed * bore / air.viscosity
            friction = Churchill_1977(Re=reynolds, eD=run.pipe.roughness / bore) * run.length / bore
            total += (friction + sum(fitting_k(f, run) for f in run.fittings)) * air.density * speed**2 / 2
        return total

    fan = design.chosen_fan
    assert fan is not None
    curve = PchipInterpolator([p.flow for p in fan.full.points], [p.pressure for p in fan.full.points])
    outlet = pi / 4 * fan.outlet_diameter**2 if fan.basis == "static" else float("inf")

    def given(flow: float, speed: float) -> float:
        static = float(curve(flow / speed)) * speed**2 * air.density / fan.rated_density
        return static + air.density / 2 * (flow / outlet) ** 2

    worst = 0.0
    for step in range(10):
        speed = fan.lowest_speed + (1.0 - fan.lowest_speed) * step / 9
        last = fan.full.points[-1].flow * speed
        flow = brentq(lambda q, r=speed: given(q, r) - asked(q), 1e-6, last * (1 - 1e-12), xtol=1e-15, rtol=1e-14)
        operating = prepared.at(speed).operating
        assert operating is not None
        worst = max(worst, abs(operating.flow / flow - 1.0))
    return [
        Result("operating point against an independent solution", worst, 1e-6, "worst of ten speeds, relative in flow")
    ]
