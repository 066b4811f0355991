"""Air that a house loses through its leaks by stack and wind, and what an exhaust adds to it.

An exhaust draws in air that partly comes in place of air that would have leaked in anyhow: below what leaks in and out
without it, it lifts the neutral level and lessens the flow out. Two published rules join the two flows. Neither is
exact: with the stack alone on a wall that leaks evenly, a small exhaust adds half of itself (the "half rule", Palmiter
& Bond 1991), of which the quadrature tells too little and the later superposition hardly too much.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from workbench.physics.arrays import Array
from workbench.physics.ranges import positive, within

STOREY = 2.5
"""Height of the storey that the coefficients are tabulated for. [m]"""

STACK_COEFFICIENT = 0.0145
"""(m3/s)2 per m4 of leakage area and kelvin, of one storey: 0.000145 (L/s)2/(cm4 K)."""

WIND_COEFFICIENTS = (0.0319, 0.0246, 0.0174, 0.0104, 0.0032)
"""(m3/s)2 per m4 of leakage area and (m/s)2, of one storey, by shelter class 1 (open) to 5 (closely built)."""

USUAL_SHELTER = 3
"""Class of a house that has others across the street: the middle of the five, where none is known; a judgement."""

_WIND_EXPONENT = 0.4


def infiltration(
    leakage_area: ArrayLike,
    height: ArrayLike,
    temperature_difference: ArrayLike,
    wind: ArrayLike,
    shelter: int = USUAL_SHELTER,
) -> Array:
    """Flow through the leaks of a house, A sqrt(Cs |dT| + Cw U^2), by the basic model [m3/s].

    Parameters
    ----------
    leakage_area : array_like
        Effective, at 4 Pa with a discharge coefficient of 1. [m2]
    height : array_like
        Of the storeys together, above 0. [m]
    temperature_difference : array_like
        Between indoors and outdoors, of either sign. [K]
    wind : array_like
        As a weather station reads it at 10 m, 0 or more. [m/s]
    shelter : int
        1 nothing near; 2 a lone house in the country; 3 buildings across the street; 4 in a town on a larger lot;
        5 buildings closer than the house is high.

    Raises
    ------
    ValueError
        If an input is out of range.

    References
    ----------
    Basic model of the ASHRAE Handbook, Fundamentals 2009 to 2017, ch. 16, Ventilation and Infiltration, with its
    tables of stack and wind coefficients (from memory; the number of the equation is not known for sure). They are
    tabulated for one to three storeys; stack grows with height and wind with its 0.4th power, as M. H. Sherman and
    D. T. Grimsrud (1980), whose model they come from, have it, which meets the tables to their digits.
    """
    area, h = positive(leakage_area, "the leakage area"), positive(height, "the height of the house")
    u = within(wind, 0.0, np.inf, "the wind", "m/s")
    if shelter not in range(1, len(WIND_COEFFICIENTS) + 1):
        raise ValueError("the shelter must be a class from 1 to 5")
    storeys = h / STOREY
    stack = STACK_COEFFICIENT * storeys * np.abs(np.asarray(temperature_difference, dtype=np.float64))
    return np.asarray(area * np.sqrt(stack + WIND_COEFFICIENTS[shelter - 1] * storeys**_WIND_EXPONENT * u * u))[()]


def added_by_quadrature(flow: ArrayLike, infiltration: ArrayLike, other: ArrayLike = 0.0) -> Array:
    """What an unbalanced exhaust adds to the air a house loses, by Q = sqrt(Qu^2 + Qi^2) [m3/s].

    With Qu all unbalanced exhausts and Qi the infiltration without them; balanced ventilation adds the same with and
    without the exhaust and drops out. Never negative, never more than the exhaust, and growing with it.

    Parameters
    ----------
    flow : array_like
        Of the exhaust, 0 or more. [m3/s]
    infiltration : array_like
        Without any exhaust, 0 or more. [m3/s]
    other : array_like
        Other exhausts that run beside it and that no supply makes up for, 0 or more. [m3/s]

    Raises
    ------
    ValueError
        If a flow is negative.

    References
    ----------
    ASHRAE Handbook, Fundamentals 2009 to 2017, ch. 16, Ventilation and Infiltration: infiltration and unbalanced
    mechanical ventilation in quadrature, balanced ventilation added (from memory; the number of the equation is not
    known for sure). M. H. Sherman, Indoor Air 2 (1992) 101-114.
    """
    q, i, o = _flows(flow, infiltration, other)
    return _less(_quadrature(i, o + q), _quadrature(i, o), q)


def added_by_superposition(flow: ArrayLike, infiltration: ArrayLike, other: ArrayLike = 0.0) -> Array:
    """What an unbalanced exhaust adds to the air a house loses, by Q = Qu + Qi^2 / Q [m3/s].

    A small exhaust adds half of itself, a large one all of it. Parameters and errors as `added_by_quadrature`.

    References
    ----------
    ASHRAE Standard 62.2-2016, 4.1.2 (the factor Qi / Q of an unbalanced system; from memory); N. Hurel, M. H. Sherman,
    I. S. Walker, Building and Environment 98 (2016) 89-97.
    """
    q, i, o = _flows(flow, infiltration, other)
    return _less(_superposition(i, o + q), _superposition(i, o), q)


def leakage_from_normalised(normalised: ArrayLike, floor_area: ArrayLike, height: ArrayLike) -> Array:
    """Effective leakage area at 4 Pa from a normalised leakage, NL A / 1000 (2.5 / H)^0.3 [m2].

    Parameters
    ----------
    normalised : array_like
        Above 0.
    floor_area : array_like
        Of all storeys together, above 0. [m2]
    height : array_like
        Of the storeys together, above 0. [m]

    Raises
    ------
    ValueError
        If an input is not above 0.

    References
    ----------
    ANSI/ASHRAE Standard 119-1988 (from memory).
    """
    leakage, area = positive(normalised, "the normalized leakage"), positive(floor_area, "the floor area")
    return np.asarray(leakage * area / 1000.0 * (STOREY / positive(height, "the height of the house")) ** 0.3)[()]


def _quadrature(infiltration: Array, unbalanced: Array) -> Array:
    return np.asarray(np.sqrt(infiltration**2 + unbalanced**2))


def _superposition(infiltration: Array, unbalanced: Array) -> Array:
    return np.asarray(0.5 * (unbalanced + np.sqrt(unbalanced**2 + 4.0 * infiltration**2)))


def _less(whole: Array, before: Array, flow: Array) -> Array:
    return np.asarray(np.clip(whole - before, 0.0, flow))[()]


def _flows(*flows: ArrayLike) -> tuple[Array, ...]:
    names = ("the flow of the exhaust", "the infiltration", "the flow of other exhausts")
    return tuple(within(flow, 0.0, np.inf, name, "m3/s") for flow, name in zip(flows, names, strict=True))
