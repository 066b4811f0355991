"""Energy a system uses in a year: its fan, and the heated or cooled house air it takes along."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from workbench.physics.air import moist_density
from workbench.physics.arrays import Array
from workbench.physics.constants import (
    DRY_AIR_HEAT,
    EVAPORATION_HEAT,
    HOURS_PER_YEAR,
    ICE_POINT,
    JOULE_PER_KWH,
    SECONDS_PER_DAY,
    VAPOUR_HEAT,
)
from workbench.physics.ranges import positive, within

_HOURS_PER_DAY = 24.0
_SECONDS_PER_HOUR = 3600.0


class Load(NamedTuple):
    """Heat that outdoor air brings into a house in the place of exhausted air, negative where it takes heat away [W].

    Attributes
    ----------
    sensible : array
        Of the dry air, by its temperature.
    latent : array
        Of evaporation, by the difference of vapour.
    vapour : array
        Sensible heat of the vapour itself.
    """

    sensible: Array
    latent: Array
    vapour: Array

    @property
    def total(self) -> Array:
        """Difference of enthalpy. [W]"""
        return self.sensible + self.latent + self.vapour


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


def replacement_load(
    flow: ArrayLike,
    share: ArrayLike,
    outdoor_temperature: ArrayLike,
    outdoor_humidity_ratio: ArrayLike,
    indoor_temperature: ArrayLike,
    indoor_humidity_ratio: ArrayLike,
    pressure: ArrayLike,
) -> Load:
    """Load of the outdoor air that takes the place of exhausted house air; the arguments broadcast.

    Q s rho_da (h_outdoor - h_indoor), parted into the dry air's heat, evaporation and the vapour's own heat.

    Parameters
    ----------
    flow : array_like
        Exhausted, as a volume of indoor air. [m3/s]
    share : array_like
        Part of the flow that is house air, 0 to 1.
    outdoor_temperature, indoor_temperature : array_like
        [K]
    outdoor_humidity_ratio, indoor_humidity_ratio : array_like
        Mass of vapour per mass of dry air.
    pressure : array_like
        Absolute. [Pa]

    Raises
    ------
    ValueError
        If the share or a humidity ratio is out of range.

    References
    ----------
    Enthalpy of moist air, ASHRAE Handbook, Fundamentals 2017, ch. 1, eq. 30.
    """
    s = within(share, 0.0, 1.0, "the share of house air")
    w_out = within(outdoor_humidity_ratio, 0.0, 1.0, "the outdoor humidity ratio")
    w_in = within(indoor_humidity_ratio, 0.0, 1.0, "the indoor humidity ratio")
    t_out = np.asarray(outdoor_temperature, dtype=np.float64)
    t_in = np.asarray(indoor_temperature, dtype=np.float64)
    dry = np.asarray(flow, dtype=np.float64) * s * moist_density(t_in, pressure, w_in) / (1.0 + w_in)
    return Load(
        sensible=np.asarray(dry * DRY_AIR_HEAT * (t_out - t_in))[()],
        latent=np.asarray(dry * EVAPORATION_HEAT * (w_out - w_in))[()],
        vapour=np.asarray(dry * VAPOUR_HEAT * (w_out * (t_out - ICE_POINT) - w_in * (t_in - ICE_POINT)))[()],
    )


class SeasonalHours(NamedTuple):
    """What each hour puts into a season, shape (hours,) [kWh]; `sensible` also where cooler air helps, below 0."""

    heating: Array
    sensible: Array
    latent: Array

    def sums(self, part: ArrayLike) -> tuple[Array, Array, Array]:
        """Heating, sensible and latent cooling of a part of each hour's load, shape (..., hours) to (...). [kWh]"""
        w = np.asarray(part, dtype=np.float64)
        # at night cooler air helps within the hours of cooling, so the sum is taken before the sign
        return w @ self.heating, np.maximum(w @ self.sensible, 0.0), w @ self.latent


def seasonal_hours(
    load: Load, outdoor_temperature: ArrayLike, heating_below: float, cooling_above: float | None = None
) -> SeasonalHours:
    """Heat of the hours in which the house is heated or cooled, delivered in the house and before any efficiency.

    Below its balance point a house needs heat, so every watt that is taken away then is heat to be bought; above the
    other it is cooled, and dried where the air outside is the moister. Between the two nothing is bought. Air that is
    drier than the house's saves no drying.

    Parameters
    ----------
    load : Load
        Shape (hours,).
    outdoor_temperature : array_like, shape (hours,)
        [K]
    heating_below : float
        Balance point: outdoor temperature below which the house is heated. [K]
    cooling_above : float, optional
        Outdoor temperature above which it is cooled; never, if left out. [K]

    Raises
    ------
    ValueError
        If cooling would begin below the balance point of heating.
    """
    if cooling_above is not None and cooling_above < heating_below:
        raise ValueError("cooling must begin at or above the temperature at which heating ends")
    t = np.asarray(outdoor_temperature, dtype=np.float64)
    hour = _SECONDS_PER_HOUR / JOULE_PER_KWH
    brought = load.sensible + load.vapour
    cooled = np.zeros(t.shape, dtype=bool) if cooling_above is None else t > cooling_above
    return SeasonalHours(
        heating=np.where(t < heating_below, np.maximum(-brought, 0.0), 0.0) * hour,
        sensible=np.where(cooled, brought, 0.0) * hour,
        latent=np.where(cooled, np.maximum(load.latent, 0.0), 0.0) * hour,
    )


def heating_degree_days(hourly_temperature: ArrayLike, base: ArrayLike) -> Array:
    """Degree-days below a balance point, sum of (base - T) over the hours below it, over 24 [K d].

    Hours are summed one by one; a sum over days of (highest + lowest) / 2, as weather services print it, comes out
    lower in the seasons in which the day crosses the base.

    Parameters
    ----------
    hourly_temperature : array_like, shape (..., hours)
        [K]
    base : array_like, shape (...)
        Balance point. [K]

    References
    ----------
    ASHRAE Handbook, Fundamentals, ch. Energy Estimating: variable-base degree-days.
    """
    t, b = np.asarray(hourly_temperature, dtype=np.float64), np.asarray(base, dtype=np.float64)
    return np.asarray(np.sum(np.maximum(b[..., None] - t, 0.0), axis=-1) / _HOURS_PER_DAY)[()]


def present_worth_factor(rate: ArrayLike, years: ArrayLike) -> Array:
    """Worth today of one unit of money at the end of every year, (1 - (1 + d)^-n) / d; n where d is nought.

    Parameters
    ----------
    rate : array_like
        Discount rate a year as a fraction, above -1; real if the yearly sums are in today's money.
    years : array_like
        0 or more.

    Raises
    ------
    ValueError
        If an input is out of range.

    References
    ----------
    Uniform present value factor, NIST Handbook 135 (Fuller & Petersen 1995), Life-Cycle Costing Manual.
    """
    d = within(rate, -0.99, 10.0, "the discount rate")
    n = within(years, 0.0, 1000.0, "the number of years")
    growth = np.log1p(d)
    flat = np.abs(d) < 1e-9
    steep = -np.expm1(-n * growth) / np.where(flat, 1.0, d)
    return np.asarray(np.where(flat, n, steep))[()]
