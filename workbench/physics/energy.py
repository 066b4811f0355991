"""Energy a system uses in a year: its fan, and the heated house air it takes along."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from workbench.physics.constants import DRY_AIR_HEAT, HOURS_PER_YEAR, JOULE_PER_KWH, SECONDS_PER_DAY
from workbench.physics.ranges import positive, within

Array = NDArray[np.float64]


def yearly_energy(power: ArrayLike) -> Array:
    """Energy of a steady power [W] over a year of 8760 hours [kWh]."""
    return np.asarray(np.asarray(power, dtype=np.float64) * (HOURS_PER_YEAR / 1000.0))[()]


def heating_energy(
    flow: ArrayLike,
    share: ArrayLike,
    density: ArrayLike,
    degree_days: ArrayLike,
    efficiency: ArrayLike = 1.0,
) -> Array:
    """Energy bought to heat the outdoor air that replaces exhausted house air [kWh].

    E = rho c_p Q s DD 86400 / eta: sensible heat only, by degree-days.

    Parameters
    ----------
    flow : array_like
        Exhausted, at `density`. [m3/s]
    share : array_like
        Part of the flow that is house air, 0 to 1.
    density : array_like
        Of the exhausted air. [kg/m3]
    degree_days : array_like
        Heating degree-days of the year. [K d]
    efficiency : array_like
        Heat delivered per energy bought, above 0; a heat pump's exceeds 1.

    Raises
    ------
    ValueError
        If the share or the efficiency is out of range, or the degree-days are negative.

    References
    ----------
    Degree-day method, ASHRAE Handbook, Fundamentals, ch. Energy Estimating, in SI.
    """
    s = within(share, 0.0, 1.0, "the share of house air")
    days = within(degree_days, 0.0, np.inf, "the degree-days", "K d")
    eta = positive(efficiency, "the efficiency of the heating")
    mass = np.asarray(density, dtype=np.float64) * np.asarray(flow, dtype=np.float64)
    heat = mass * DRY_AIR_HEAT * s * days * SECONDS_PER_DAY
    return np.asarray(heat / eta / JOULE_PER_KWH)[()]
