"""Heat through the wall of a pipe: convection inside and out, conduction, radiation."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from workbench.physics.air import moist_density, viscosity
from workbench.physics.arrays import Array
from workbench.physics.constants import DRY_AIR_HEAT, GRAVITY
from workbench.physics.pipe import bore_area, reynolds
from workbench.physics.ranges import positive, within

STEFAN_BOLTZMANN = 5.670374e-8
"""Radiation constant (CODATA 2018). [W/(m2 K4)]"""

PVC_CONDUCTIVITY = 0.19
"""Of rigid PVC, from memory of handbooks, which print 0.16 to 0.21. [W/(m K)]"""

# The law of the US Standard Atmosphere 1976, eq. 53, raised by 0.6 % to pass through the value at 20 C of Lemmon &
# Jacobsen, Int. J. Thermophys. 25 (2004) 21.
_CONDUCTIVITY_FACTOR = 2.64638e-3 * 1.0061

_LAMINAR = 3.66
_LAMINAR_END, _TURBULENT_BEGIN = 2300.0, 4000.0


def conductivity(temperature: ArrayLike) -> Array:
    """Thermal conductivity of dry air, 200 to 400 K [W/(m K)].

    Parameters
    ----------
    temperature : array_like
        [K]

    References
    ----------
    Form: US Standard Atmosphere 1976, eq. 53. Level: Lemmon & Jacobsen (2004) at 20 C.
    """
    t = np.asarray(temperature, dtype=np.float64)
    return np.asarray(_CONDUCTIVITY_FACTOR * t * np.sqrt(t) / (t + 245.4 * 10.0 ** (-12.0 / t)))[()]


def prandtl(temperature: ArrayLike) -> Array:
    """Prandtl number of dry air, c_p mu / k, by temperature [K]."""
    return np.asarray(DRY_AIR_HEAT * viscosity(temperature) / conductivity(temperature))[()]


def inside_nusselt(reynolds: ArrayLike, prandtl: ArrayLike) -> Array:
    """Nusselt number of developed flow in a long round pipe.

    3.66 up to Re 2300, Gnielinski's form with the smooth pipe's friction from 4000, a straight line between. A short
    pipe or one full of bends takes up more.

    Parameters
    ----------
    reynolds : array_like
        0 to 1e6.
    prandtl : array_like
        0.5 to 2000.

    Raises
    ------
    ValueError
        Outside those ranges.

    References
    ----------
    Gnielinski, Int. Chem. Eng. 16 (1976) 359; the line between, Gnielinski, Int. J. Heat Mass Transfer 63 (2013) 134.
    Laminar: constant wall temperature (Graetz).
    """
    re = within(reynolds, 0.0, 1e6, "the Reynolds number")
    pr = within(prandtl, 0.5, 2000.0, "the Prandtl number")
    rise = np.clip((re - _LAMINAR_END) / (_TURBULENT_BEGIN - _LAMINAR_END), 0.0, 1.0)
    return np.asarray((1.0 - rise) * _LAMINAR + rise * _gnielinski(np.maximum(re, _TURBULENT_BEGIN), pr))[()]


def _gnielinski(re: Array, pr: Array) -> Array:
    eighth = 0.125 / (0.790 * np.log(re) - 1.64) ** 2
    return np.asarray(eighth * (re - 1000.0) * pr / (1.0 + 12.7 * np.sqrt(eighth) * (np.cbrt(pr) ** 2 - 1.0)))


def inside_coefficient(flow: ArrayLike, diameter: ArrayLike, temperature: ArrayLike, density: ArrayLike) -> Array:
    """Coefficient of heat transfer from the air in a pipe to its wall [W/(m2 K)].

    Parameters
    ----------
    flow : array_like
        [m3/s]
    diameter : array_like
        Inside. [m]
    temperature, density : array_like
        Of the air. [K], [kg/m3]

    Raises
    ------
    ValueError
        As `inside_nusselt`, or if the diameter is not above 0.
    """
    d = positive(diameter, "the diameter")
    re = reynolds(np.asarray(flow, dtype=np.float64) / bore_area(d), d, density, viscosity(temperature))
    return np.asarray(inside_nusselt(re, prandtl(temperature)) * conductivity(temperature) / d)[()]


def crossflow_nusselt(reynolds: ArrayLike, prandtl: ArrayLike) -> Array:
    """Nusselt number of a cylinder in a cross wind, for Re Pr above 0.2; properties at film temperature.

    References
    ----------
    Churchill & Bernstein, J. Heat Transfer 99 (1977) 300.
    """
    re, pr = np.asarray(reynolds, dtype=np.float64), np.asarray(prandtl, dtype=np.float64)
    slow = 0.62 * np.sqrt(re) * np.cbrt(pr) / (1.0 + (0.4 / pr) ** (2.0 / 3.0)) ** 0.25
    return np.asarray(0.3 + slow * (1.0 + (re / 282_000.0) ** 0.625) ** 0.8)[()]


def free_nusselt(rayleigh: ArrayLike, prandtl: ArrayLike) -> Array:
    """Nusselt number of a level cylinder in still air, for Ra up to 1e12; taken for standing pipe too.

    References
    ----------
    Churchill & Chu, Int. J. Heat Mass Transfer 18 (1975) 1049.
    """
    ra, pr = np.asarray(rayleigh, dtype=np.float64), np.asarray(prandtl, dtype=np.float64)
    bend = (1.0 + (0.559 / pr) ** (9.0 / 16.0)) ** (8.0 / 27.0)
    return np.asarray((0.60 + 0.387 * ra ** (1.0 / 6.0) / bend) ** 2)[()]


def outside_coefficient(
    wind: ArrayLike,
    diameter: ArrayLike,
    air_temperature: ArrayLike,
    pressure: ArrayLike,
    surface_excess: ArrayLike = 10.0,
    emissivity: ArrayLike = 0.9,
) -> Array:
    """Coefficient of heat transfer from a pipe to the air and walls about it [W/(m2 K)].

    Wind and buoyancy add by their cubes; radiation goes to surroundings as warm as the air, so a clear night sky takes
    more. At rest the excess matters little: twice of it adds a fifth to convection.

    Parameters
    ----------
    wind : array_like
        Across the pipe, 0 indoors. [m/s]
    diameter : array_like
        Outside. [m]
    air_temperature, pressure : array_like
        [K], [Pa]
    surface_excess : array_like
        Surface above air, either sign, a guess will do. [K]
    emissivity : array_like
        0.9 for plastic and paint, from memory of handbooks.

    Raises
    ------
    ValueError
        If the wind is negative, the diameter not above 0 or the emissivity not from 0 to 1.

    References
    ----------
    Churchill, AIChE J. 23 (1977) 10, for the cubes; linearised grey radiation.
    """
    v = within(wind, 0.0, 100.0, "the wind", "m/s")
    d = positive(diameter, "the diameter")
    t = np.asarray(air_temperature, dtype=np.float64)
    excess = np.asarray(surface_excess, dtype=np.float64)
    film = t + 0.5 * excess
    pr, rho, mu = prandtl(film), moist_density(film, pressure, 0.0), viscosity(film)
    forced = crossflow_nusselt(reynolds(v, d, rho, mu), pr)
    free = free_nusselt(GRAVITY / film * np.abs(excess) * d**3 * (rho / mu) ** 2 * pr, pr)
    convection = np.cbrt(forced**3 + free**3) * conductivity(film) / d
    radiation = 4.0 * within(emissivity, 0.0, 1.0, "the emissivity") * STEFAN_BOLTZMANN * film**3
    return np.asarray(convection + radiation)[()]


def shell_resistance(inside_diameter: ArrayLike, outside_diameter: ArrayLike, conductivity: ArrayLike) -> Array:
    """Resistance of a wall or a layer of insulation per length of pipe, ln(Do/Di) / (2 pi k) [m K/W].

    Raises
    ------
    ValueError
        If an input is not above 0 or the outside diameter is below the inside.
    """
    inner, outer = positive(inside_diameter, "the inside diameter"), positive(outside_diameter, "the outside diameter")
    if not np.all(outer >= inner):
        raise ValueError("the outside diameter must not be below the inside diameter")
    return np.asarray(np.log(outer / inner) / (2.0 * math.pi * positive(conductivity, "the conductivity")))[()]


def outer_conductance(shells: ArrayLike, outside_diameter: ArrayLike, outside_coefficient: ArrayLike) -> Array:
    """Conductance from the inner wall to the air outside per length of pipe [W/(m K)].

    Parameters
    ----------
    shells : array_like
        Sum of `shell_resistance` over wall and insulation. [m K/W]
    outside_diameter : array_like
        Over all. [m]
    outside_coefficient : array_like
        [W/(m2 K)]

    Raises
    ------
    ValueError
        If the diameter or the coefficient is not above 0.
    """
    film = math.pi * positive(outside_diameter, "the outside diameter")
    film = film * positive(outside_coefficient, "the outside coefficient")
    return np.asarray(1.0 / (np.asarray(shells, dtype=np.float64) + 1.0 / film))[()]
