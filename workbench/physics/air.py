"""Moist air: pressure at altitude, vapour, density, viscosity, enthalpy."""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from numpy.typing import ArrayLike

from workbench.physics.arrays import Array
from workbench.physics.constants import (
    DRY_AIR_GAS_CONSTANT,
    DRY_AIR_HEAT,
    EVAPORATION_HEAT,
    ICE_POINT,
    STANDARD_PRESSURE,
    TRIPLE_POINT,
    VAPOUR_HEAT,
    WATER_TO_DRY_AIR,
)
from workbench.physics.ranges import within

# Sutherland's law with the temperature constant of the US Standard Atmosphere 1976, passed through the value at
# 20 C of Lemmon & Jacobsen, Int. J. Thermophys. 25 (2004) 21: within 0.1 % of theirs from -10 to 40 C, and 0.4 %
# above the 1976 atmosphere, whose own factor lies that much below later measurements.
_SUTHERLAND_TEMPERATURE = 110.4
_REFERENCE_TEMPERATURE = 293.15
_REFERENCE_VISCOSITY = 1.8206e-5

_COLDEST, _HOTTEST = 173.15, 473.15
_LOWEST, _HIGHEST = -5000.0, 11000.0


class Air(Struct, frozen=True):
    """A state of moist air.

    Attributes
    ----------
    temperature : float
        [K]
    pressure : float
        Absolute. [Pa]
    humidity_ratio : float
        Mass of water vapour per mass of dry air.
    density : float
        Of the moist air. [kg/m3]
    viscosity : float
        Dynamic. [Pa s]
    """

    temperature: float
    pressure: float
    humidity_ratio: float
    density: float
    viscosity: float


def standard_pressure(altitude: ArrayLike) -> Array:
    """Pressure of the standard atmosphere, p = 101325 (1 - 2.25577e-5 z)^5.2559 [Pa].

    Parameters
    ----------
    altitude : array_like
        Above sea level, -5000 to 11 000. [m]

    Raises
    ------
    ValueError
        Outside that range.

    References
    ----------
    ASHRAE Handbook, Fundamentals 2017, ch. 1, eq. 3.
    """
    z = within(altitude, _LOWEST, _HIGHEST, "the altitude", "m")
    return np.asarray(STANDARD_PRESSURE * (1.0 - 2.25577e-5 * z) ** 5.2559)[()]


def saturation_pressure(temperature: ArrayLike) -> Array:
    """Saturation pressure of water vapour, over ice below the triple point and over water above [Pa].

    Parameters
    ----------
    temperature : array_like
        173.15 to 473.15. [K]

    Raises
    ------
    ValueError
        Outside that range.

    Notes
    -----
    The handbook parts the two curves at 0 C, where they miss each other; they meet at the triple point.

    References
    ----------
    Hyland & Wexler, ASHRAE Transactions 89 (1983) 500, as in ASHRAE Handbook, Fundamentals 2017, ch. 1, eq. 5 and 6.
    """
    return saturation_curve(within(temperature, _COLDEST, _HOTTEST, "the temperature", "K"))[()]


def saturation_curve(t: Array) -> Array:
    """As `saturation_pressure`, for a march that keeps its temperatures [K] within range itself. [Pa]"""
    log_t = np.log(t)
    over_ice = (
        -5.6745359e3 / t
        + 6.3925247
        + t * (-9.677843e-3 + t * (6.2215701e-7 + t * (2.0747825e-9 - 9.484024e-13 * t)))
        + 4.1635019 * log_t
    )
    over_water = (
        -5.8002206e3 / t + 1.3914993 + t * (-4.8640239e-2 + t * (4.1764768e-5 - 1.4452093e-8 * t)) + 6.5459673 * log_t
    )
    return np.asarray(np.exp(np.where(t <= TRIPLE_POINT, over_ice, over_water)))


def humidity_ratio(temperature: ArrayLike, relative_humidity: ArrayLike, pressure: ArrayLike) -> Array:
    """Mass of water vapour per mass of dry air, W = 0.621945 p_w / (p - p_w).

    Ideal mixture: about 0.4 % below the real gas near room temperature.

    Parameters
    ----------
    temperature : array_like
        173.15 to 473.15. [K]
    relative_humidity : array_like
        0 to 1.
    pressure : array_like
        Absolute. [Pa]

    Raises
    ------
    ValueError
        If an input is out of range, or the vapour would fill the whole pressure.

    References
    ----------
    ASHRAE Handbook, Fundamentals 2017, ch. 1, eq. 20 and 22.
    """
    vapour = within(relative_humidity, 0.0, 1.0, "the relative humidity") * saturation_pressure(temperature)
    dry = np.asarray(pressure, dtype=np.float64) - vapour
    if not np.all(dry > 0.0):
        raise ValueError("the pressure must be above the pressure of the water vapour")
    return np.asarray(WATER_TO_DRY_AIR * vapour / dry)[()]


def moist_density(temperature: ArrayLike, pressure: ArrayLike, humidity_ratio: ArrayLike) -> Array:
    """Mass of moist air per volume, (1 + W) p / (R T (1 + W / 0.621945)) [kg/m3].

    Parameters
    ----------
    temperature : array_like
        [K]
    pressure : array_like
        Absolute. [Pa]
    humidity_ratio : array_like

    References
    ----------
    Ideal mixture, ASHRAE Handbook, Fundamentals 2017, ch. 1, eq. 26 and 9; within 0.1 % at house conditions.
    """
    t = np.asarray(temperature, dtype=np.float64)
    w = np.asarray(humidity_ratio, dtype=np.float64)
    p = np.asarray(pressure, dtype=np.float64)
    return np.asarray((1.0 + w) * p / (DRY_AIR_GAS_CONSTANT * t * (1.0 + w / WATER_TO_DRY_AIR)))[()]


def viscosity(temperature: ArrayLike) -> Array:
    """Dynamic viscosity of air by Sutherland's law, 200 to 400 K [Pa s].

    Vapour is left out: saturated air at 20 C is about half a percent thinner.

    Parameters
    ----------
    temperature : array_like
        [K]

    References
    ----------
    Form and constant: US Standard Atmosphere 1976, eq. 51. Level: Lemmon & Jacobsen (2004) at 20 C.
    """
    t = np.asarray(temperature, dtype=np.float64)
    r = t / _REFERENCE_TEMPERATURE
    fall = (_REFERENCE_TEMPERATURE + _SUTHERLAND_TEMPERATURE) / (t + _SUTHERLAND_TEMPERATURE)
    return np.asarray(_REFERENCE_VISCOSITY * r * np.sqrt(r) * fall)[()]


def enthalpy(temperature: ArrayLike, humidity_ratio: ArrayLike) -> Array:
    """Enthalpy of moist air above dry air and liquid water at 0 C, per mass of dry air [J/kg].

    Parameters
    ----------
    temperature : array_like
        [K]
    humidity_ratio : array_like

    References
    ----------
    ASHRAE Handbook, Fundamentals 2017, ch. 1, eq. 30.
    """
    t = np.asarray(temperature, dtype=np.float64) - ICE_POINT
    w = np.asarray(humidity_ratio, dtype=np.float64)
    return np.asarray(DRY_AIR_HEAT * t + w * (EVAPORATION_HEAT + VAPOUR_HEAT * t))[()]


def air_at(temperature: float, relative_humidity: float, altitude: float) -> Air:
    """Air of given temperature [K] and relative humidity at the standard pressure of an altitude [m].

    Raises
    ------
    ValueError
        As `humidity_ratio` and `standard_pressure`.
    """
    pressure = float(standard_pressure(altitude))
    ratio = float(humidity_ratio(temperature, relative_humidity, pressure))
    density = float(moist_density(temperature, pressure, ratio))
    return Air(float(temperature), pressure, ratio, density, float(viscosity(temperature)))
