"""Water that moist air drops in a pipe: at most, along the way, and where it freezes."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from workbench.physics.air import enthalpy, moist_density, saturation_curve
from workbench.physics.arrays import Array
from workbench.physics.constants import DRY_AIR_HEAT, EVAPORATION_HEAT, ICE_POINT, VAPOUR_HEAT, WATER_TO_DRY_AIR
from workbench.physics.ranges import positive, within

# Lewis number of water vapour in air to the power 2/3, Chilton and Colburn's analogy; Le 0.845 from ASHRAE
# Handbook, Fundamentals, ch. Mass Transfer (from memory).
_LEWIS = 0.845 ** (2.0 / 3.0)
_LIQUID_HEAT = 4186.0
_VAPOUR_GAS_CONSTANT = 461.5
_MOST_STEPS = 6
_SETTLED = 1e-9
"""Last step of a temperature: the next would be rounding, so that hours worked together are hours alone. [K]"""


class PipeAir(NamedTuple):
    """Air cooled along a pipe.

    Attributes
    ----------
    temperature, humidity_ratio : array, shape (...)
        Of the air that leaves; saturated at the most, mist taken out. [K], [-]
    condensate : array, shape (..., steps)
        Water formed in each step, on the wall or as mist. [kg/s]
    wall_temperature : array, shape (..., steps)
        Inner face, at the middle of each step. [K]
    heat : array, shape (...)
        Given off through the wall: what the air gave up less what the water carries. [W]
    """

    temperature: Array
    humidity_ratio: Array
    condensate: Array
    wall_temperature: Array
    heat: Array

    @property
    def water(self) -> Array:
        """Water formed in the whole run, shape (...). [kg/s]"""
        return np.asarray(np.sum(self.condensate, axis=-1))[()]

    @property
    def freezing(self) -> Array:
        """True where the wall is below 0 C and water forms or runs back past it, shape (..., steps)."""
        onward = np.cumsum(self.condensate[..., ::-1], axis=-1)[..., ::-1]
        return np.asarray((self.wall_temperature < ICE_POINT) & (onward > 0.0))

    @property
    def ice(self) -> Array:
        """Water formed where the wall is below 0 C, which may stay there as ice, shape (...). [kg/s]"""
        return np.asarray(np.sum(np.where(self.wall_temperature < ICE_POINT, self.condensate, 0.0), axis=-1))[()]


def cool_along(
    flow: ArrayLike,
    temperature: ArrayLike,
    humidity_ratio: ArrayLike,
    pressure: ArrayLike,
    length: ArrayLike,
    diameter: ArrayLike,
    inside_coefficient: ArrayLike,
    outer_conductance: ArrayLike,
    outside_temperature: ArrayLike,
    steps: int = 30,
) -> PipeAir:
    """Moist air marched along a pipe that loses heat through its wall; every argument but the last broadcasts.

    The wall takes the temperature at which what reaches it, warmth and the heat of vapour that condenses on it, equals
    what it passes on. Vapour reaches it by the analogy of heat and mass transfer. Air that this leaves more than
    saturated drops mist until it is saturated, warming itself. The heat of freezing is left out, which errs towards
    colder walls and more ice.

    Parameters
    ----------
    flow : array_like
        Volume of the entering air, above 0. [m3/s]
    temperature, humidity_ratio : array_like
        Entering, at most saturated. [K], [-]
    pressure : array_like
        Absolute. [Pa]
    length, diameter : array_like
        Of the pipe, inside, above 0. [m]
    inside_coefficient : array_like
        Air to wall, as `heat.inside_coefficient`, above 0. [W/(m2 K)]
    outer_conductance : array_like
        Inner wall to the air outside per length, as `heat.outer_conductance`. [W/(m K)]
    outside_temperature : array_like
        [K]
    steps
        Of equal length; 30 hold water and heat to 0.1 % in runs as long as a house is high.

    Raises
    ------
    ValueError
        If an input is out of range or the entering air more than saturated.

    References
    ----------
    Chilton & Colburn, Ind. Eng. Chem. 26 (1934) 1183; wet-wall balance as for cooling coils in Threlkeld, Thermal
    Environmental Engineering (from memory).
    """
    arguments = (
        positive(flow, "the flow"),
        within(temperature, 200.0, 350.0, "the temperature", "K"),
        within(humidity_ratio, 0.0, 0.5, "the humidity ratio"),
        positive(pressure, "the pressure"),
        positive(length, "the length"),
        positive(diameter, "the diameter"),
        positive(inside_coefficient, "the inside coefficient"),
        within(outer_conductance, 0.0, np.inf, "the outer conductance"),
        within(outside_temperature, 200.0, 350.0, "the outside temperature", "K"),
    )
    q, t, w, p, run, d, h_in, g_out, outside = np.broadcast_arrays(*arguments)
    if not np.all(w <= _saturated(t, p) * 1.0001):
        raise ValueError("the entering air must not hold more vapour than it can")
    dry = _dry_mass(q, t, w, p)
    dx = run / steps
    to_wall = math.pi * d * h_in
    condensate, walls = np.empty((*q.shape, steps)), np.empty((*q.shape, steps))
    heat = np.zeros(q.shape)
    for i in range(steps):
        heat_of_air = DRY_AIR_HEAT + w * VAPOUR_HEAT
        vapour_to_wall = to_wall / (heat_of_air * _LEWIS)
        units = to_wall * dx / (dry * heat_of_air)
        wall, at_wall = _wall(t, w, p, to_wall, vapour_to_wall, g_out, outside)
        t_half, w_half = _towards(t, w, wall, at_wall, 0.5 * units)
        wall, at_wall = _wall(t_half, w_half, p, to_wall, vapour_to_wall, g_out, outside)
        t_before, before = t, w
        t, w = _without_mist(*_towards(t, w, wall, at_wall, units), p)
        condensate[..., i] = np.maximum(dry * (before - w), 0.0)
        walls[..., i] = wall
        given = dry * (enthalpy(t_before, before) - enthalpy(t, w))
        heat += given - condensate[..., i] * _LIQUID_HEAT * (wall - ICE_POINT)
    return PipeAir(t[()], w[()], condensate, walls, heat[()])


def _dry_mass(flow: ArrayLike, temperature: ArrayLike, humidity_ratio: ArrayLike, pressure: ArrayLike) -> Array:
    """Mass flow of dry air [kg/s]."""
    w = np.asarray(humidity_ratio, dtype=np.float64)
    return np.asarray(np.asarray(flow, dtype=np.float64) * moist_density(temperature, pressure, w) / (1.0 + w))


def _saturated(temperature: Array, pressure: Array) -> Array:
    """As `humidity_ratio` of saturated air, unchecked: on its way air stays between where it began and the outside."""
    vapour = saturation_curve(temperature)
    return np.asarray(WATER_TO_DRY_AIR * vapour / (pressure - vapour))


def _towards(t: Array, w: Array, wall: Array, at_wall: Array, units: Array) -> tuple[Array, Array]:
    """State after a number of transfer units beside a wall of given temperature and saturation."""
    excess = np.maximum(w - at_wall, 0.0)
    return wall + (t - wall) * np.exp(-units), w - excess * -np.expm1(-units / _LEWIS)


def _wall(
    t: Array, w: Array, p: Array, to_wall: Array, vapour_to_wall: Array, g_out: Array, outside: Array
) -> tuple[Array, Array]:
    """Temperature of the inner face and the humidity ratio saturated there."""
    slope = to_wall + g_out
    return _where_heat_balances((to_wall * t + g_out * outside) / slope, slope / vapour_to_wall, w, p, t)


def _without_mist(t: Array, w: Array, p: Array) -> tuple[Array, Array]:
    """State after whatever is above saturation has condensed within the air."""
    warmed, held = _where_heat_balances(t, DRY_AIR_HEAT + w * VAPOUR_HEAT, w, p, np.asarray(np.inf))
    return warmed, np.minimum(w, held)


def _where_heat_balances(dry: Array, slope: Array, w: Array, p: Array, ceiling: Array) -> tuple[Array, Array]:
    """Temperature x with slope (x - dry) = r(x) (w - w_sat(x)), or `dry` where nothing condenses there; and w_sat(x).

    The right side less the left is concave and falls, so Newton's steps pass the root once at the most and then
    close in from above.
    """
    held = _saturated(dry, p)
    wet = w > held
    x = dry
    if not np.any(wet):
        return dry, held
    for _ in range(_MOST_STEPS):
        latent = EVAPORATION_HEAT + (VAPOUR_HEAT - _LIQUID_HEAT) * (x - ICE_POINT)
        # Clausius and Clapeyron give the slope of saturation
        rise = held * (1.0 + held / WATER_TO_DRY_AIR) * latent / (_VAPOUR_GAS_CONSTANT * x * x)
        step = (latent * (w - held) - slope * (x - dry)) / (slope + latent * rise)
        before, x = x, np.where(wet, np.minimum(x + step, ceiling), dry)
        held = _saturated(x, p)
        if (np.abs(x - before) < _SETTLED).all():
            break
    return x, held
