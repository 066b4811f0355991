"""Pressure of a house at its slab: the stack of warm air, and what exhausts draw through a leaky envelope.

Wind is left out: it presses on one side and pulls on the other, comes and goes, and no single number stands for it.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from workbench.physics.air import moist_density
from workbench.physics.arrays import Array
from workbench.physics.draft import stack_draft
from workbench.physics.ranges import positive, within

LEAKAGE_REFERENCE = 4.0
"""Pressure at which an effective leakage area is stated (ASTM E779; ASHRAE Handbook, Fundamentals). [Pa]"""

LEAKAGE_EXPONENT = 0.65
"""Exponent of flow through a house's leaks where none was measured (ASHRAE Handbook, Fundamentals, ch. Ventilation)."""


def stack_pressure(
    height: ArrayLike, outdoor_temperature: ArrayLike, indoor_temperature: ArrayLike, pressure: ArrayLike
) -> Array:
    """Pressure by which a house lies below outdoors at its slab, 3461.6 p / 101325 h (1 / To - 1 / Ti) [Pa].

    Negative when it is the warmer outside. Dry air; about 0.04 Pa per metre and kelvin.

    Parameters
    ----------
    height : array_like
        From the slab up to the neutral level. [m]
    outdoor_temperature, indoor_temperature : array_like
        [K]
    pressure : array_like
        Absolute. [Pa]

    References
    ----------
    ASHRAE Handbook, HVAC Applications 2011, ch. 53 (stack pressure).
    """
    return stack_draft(
        height, moist_density(indoor_temperature, pressure, 0.0), moist_density(outdoor_temperature, pressure, 0.0)
    )


def leakage_flow(
    pressure: ArrayLike, leakage_area: ArrayLike, density: ArrayLike, exponent: ArrayLike = LEAKAGE_EXPONENT
) -> Array:
    """Flow into a house through its leaks, A sqrt(8 / rho) (dp / 4)^n, odd in the pressure [m3/s].

    Parameters
    ----------
    pressure : array_like
        Of the house below outdoors. [Pa]
    leakage_area : array_like
        Effective, at 4 Pa with a discharge coefficient of 1. [m2]
    density : array_like
        Of the entering air. [kg/m3]
    exponent : array_like
        0.5 to 1.

    Raises
    ------
    ValueError
        If the area or density is not above 0, or the exponent out of range.

    References
    ----------
    Power law of ASTM E779; effective leakage area, ASHRAE Handbook, Fundamentals, ch. Ventilation and Infiltration.
    """
    dp = np.asarray(pressure, dtype=np.float64)
    n = _exponent(exponent)
    at_reference = positive(leakage_area, "the leakage area") * _reference_velocity(density)
    return np.asarray(at_reference * np.sign(dp) * (np.abs(dp) / LEAKAGE_REFERENCE) ** n)[()]


def exhaust_depressurisation(
    flow: ArrayLike, leakage_area: ArrayLike, density: ArrayLike, exponent: ArrayLike = LEAKAGE_EXPONENT
) -> Array:
    """Pressure by which exhausts that no supply makes up for draw a house below outdoors [Pa].

    The inverse of `leakage_flow`: all leaks taken as one, and the stack left out, whose pressure is added by whoever
    asks for the worst day. Sums of the two err towards the worse.

    Parameters
    ----------
    flow : array_like
        Exhausted less supplied, either sign. [m3/s]
    leakage_area, density, exponent : array_like
        As `leakage_flow`.

    Raises
    ------
    ValueError
        As `leakage_flow`.
    """
    q = np.asarray(flow, dtype=np.float64)
    n = _exponent(exponent)
    at_reference = positive(leakage_area, "the leakage area") * _reference_velocity(density)
    return np.asarray(LEAKAGE_REFERENCE * np.sign(q) * (np.abs(q) / at_reference) ** (1.0 / n))[()]


def leakage_area(
    flow: ArrayLike, pressure: ArrayLike, density: ArrayLike, exponent: ArrayLike = LEAKAGE_EXPONENT
) -> Array:
    """Effective leakage area at 4 Pa from one reading of a blower door [m2].

    Parameters
    ----------
    flow : array_like
        Read, above 0. [m3/s]
    pressure : array_like
        It was read at, commonly 50, above 0. [Pa]
    density : array_like
        [kg/m3]
    exponent : array_like
        0.5 to 1.

    Raises
    ------
    ValueError
        If an input is out of range.

    References
    ----------
    ASTM E779; ASHRAE Handbook, Fundamentals, ch. Ventilation and Infiltration.
    """
    q, dp = positive(flow, "the flow"), positive(pressure, "the pressure")
    return np.asarray(q * (LEAKAGE_REFERENCE / dp) ** _exponent(exponent) / _reference_velocity(density))[()]


def warning_index(depressurisation: ArrayLike, limit: ArrayLike) -> Array:
    """Draft of a house over the limit of an appliance, 0 when the house is not drawn down.

    1 stands at the limit. A warning, never a clearance: neither the size of a house nor the flow of a system foretells
    spillage, and below 1 a spillage test at the final speed, with every exhaust on, is needed all the same.

    Parameters
    ----------
    depressurisation : array_like
        Of the house beside the appliance, below outdoors. [Pa]
    limit : array_like
        Of the appliance, above 0. [Pa]

    Raises
    ------
    ValueError
        If a limit is not above 0.

    References
    ----------
    Henschel, Indoor Air 7 (1997) 206-214, on the need of the test.
    """
    dp = np.asarray(depressurisation, dtype=np.float64)
    return np.asarray(np.maximum(dp, 0.0) / positive(limit, "the limit of the appliance"))[()]


def _exponent(value: ArrayLike) -> Array:
    return within(value, 0.5, 1.0, "the exponent of the leakage")


def _reference_velocity(density: ArrayLike) -> Array:
    """Velocity of air that has spent the reference pressure [m/s]."""
    return np.asarray(math.sqrt(2.0 * LEAKAGE_REFERENCE) / np.sqrt(positive(density, "the density")))
