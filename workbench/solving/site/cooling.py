"""How the air cools in the pipe on its way through what lies around it, and what draft that leaves."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from workbench.design.house import Place
from workbench.design.pipework import Run
from workbench.physics.air import Air, humidity_ratio, moist_density
from workbench.physics.arrays import Array
from workbench.physics.draft import stack_draft
from workbench.physics.heat import (
    PVC_CONDUCTIVITY,
    inside_coefficient,
    outer_conductance,
    outside_coefficient,
    shell_resistance,
)
from workbench.physics.water import PipeAir, cool_along

WALL = 0.005
"""Wall of plastic pipe where none is entered, near that of 3 in. schedule 40 (ASTM D1785, from memory). [m]"""

INSULATION_CONDUCTIVITY = 0.035
"""Of foamed insulation (handbook value, from memory). [W/(m K)]"""

UNHEATED_SHARE = 0.5
"""How far an unheated space lies towards the outdoors from the house; a judgement."""

LEAST_FLOW = 5.2e-3
"""Least flow of 87 measured systems, 11 cfm (Brodhead and Saum, AARST 1996). [m3/s]"""

_STEPS = 30
_PIECES = 4
_STEPS_OF_PIECE = 3


class Carried(NamedTuple):
    """Air on its way: dry air in it [kg/s], temperature [K] and humidity ratio, each at every outdoor temperature."""

    mass: float
    temperature: Array
    humidity_ratio: Array


def mixed(airs: Sequence[Carried], mass: float) -> Carried:
    """Airs that have met, as `mass` of dry air [kg/s]."""
    total = sum(air.mass for air in airs)
    return Carried(
        mass,
        np.asarray(np.sum([air.mass * air.temperature for air in airs], axis=0) / total),
        np.asarray(np.sum([air.mass * air.humidity_ratio for air in airs], axis=0) / total),
    )


def around(run: Run, outdoor: Array, indoor: float) -> Array:
    """Temperature of the air around a run, at each outdoor temperature. [K]"""
    if run.surroundings == "outdoors":
        return outdoor
    if run.surroundings == "unheated":
        return indoor + UNHEATED_SHARE * (outdoor - indoor)
    return np.full(outdoor.shape, indoor)


def through(
    run: Run,
    entering: Carried,
    pressure: float,
    outside: Array,
    wind: float,
    part: float = 1.0,
    steps: int = _STEPS,
) -> tuple[Array, PipeAir]:
    """Mist that drops where airs have mixed [kg/s], and the air through a part of a run."""
    bore = run.pipe.inside_diameter
    wall = bore + 2.0 * WALL
    over_all = wall + 2.0 * run.insulation
    shells = float(shell_resistance(bore, wall, PVC_CONDUCTIVITY))
    if run.insulation > 0.0:
        shells += float(shell_resistance(wall, over_all, INSULATION_CONDUCTIVITY))
    temperature = entering.temperature
    humidity = np.minimum(entering.humidity_ratio, humidity_ratio(temperature, 1.0, pressure))
    density = moist_density(temperature, pressure, humidity)
    # air that cools shrinks: what goes on along the pipe is its mass
    flow = entering.mass * (1.0 + humidity) / density
    taken = outside_coefficient(wind if run.surroundings == "outdoors" else 0.0, over_all, outside, pressure)
    passed = cool_along(
        flow,
        temperature,
        humidity,
        pressure,
        part * run.length,
        bore,
        inside_coefficient(flow, bore, temperature, density),
        outer_conductance(shells, over_all, taken),
        outside,
        steps,
    )
    return np.asarray(entering.mass * (entering.humidity_ratio - humidity)), passed


def cooled_draft(runs: Sequence[Run], upstream: Array, ground: Air, outdoor: Air, place: Place) -> Array:
    """Draft on the way of each point, by air that cools on its way: one number for a site, whatever fan and speed.

    The air moves as slowly as in the system of least flow that was measured, and has the more time to cool; where it
    would grow warmer than it comes from the ground it is taken not to. So the draft is what may be counted on.

    Parameters
    ----------
    runs
        In the order of the air, m of them.
    upstream : array, shape (m, n)
        1 where the air of a point passes a run.
    ground, outdoor
        Air as drawn off, and outdoors.
    place
        For the indoor temperature and the wind.

    Returns
    -------
    array, shape (n,)
        Positive when it helps the fan. [Pa]
    """
    each = LEAST_FLOW / upstream.shape[1] * ground.density / (1.0 + ground.humidity_ratio)
    fresh = Carried(each, np.array(ground.temperature), np.array(ground.humidity_ratio))
    by_point = [fresh] * upstream.shape[1]
    lifts = np.zeros(len(runs))
    for j, run in enumerate(runs):
        passing = np.flatnonzero(upstream[j])
        # points that met before carry one air, so that each may be counted for itself
        air = mixed([by_point[i] for i in passing], each * passing.size)
        cold = around(run, np.array(outdoor.temperature), place.indoor_temperature)
        air, density = _cooled(run, air, ground.pressure, cold, place.wind)
        lifts[j] = stack_draft(run.rise, density, outdoor.density)
        for i in passing:
            by_point[i] = air._replace(mass=each)
    return np.asarray(lifts @ upstream)


def _cooled(run: Run, air: Carried, pressure: float, outside: Array, wind: float) -> tuple[Carried, float]:
    """The air that leaves a run, and its mean density in it. [kg/m3]"""
    dense = [float(moist_density(air.temperature, pressure, air.humidity_ratio))]
    if outside >= air.temperature:
        return air, dense[0]
    for _ in range(_PIECES):
        _, passed = through(run, air, pressure, outside, wind, 1.0 / _PIECES, _STEPS_OF_PIECE)
        air = Carried(air.mass, np.asarray(passed.temperature), np.asarray(passed.humidity_ratio))
        dense.append(float(moist_density(air.temperature, pressure, air.humidity_ratio)))
    return air, (sum(dense) - 0.5 * (dense[0] + dense[-1])) / _PIECES
