"""Loss coefficients K of fittings.

Published coefficients for one and the same fitting differ by a third and more, and measured losses in plastic
mitigation pipe lie from half to twice the handbook's (Brodhead & Saum, AARST 1996): every K needs its band.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from workbench.physics.arrays import Array
from workbench.physics.ranges import within

EXIT = 1.0
"""Discharge into the open: the whole velocity pressure is lost."""

# SMACNA HVAC Systems Duct Design, table A-7: smooth 90 degree elbow, round.
_RADIUS_RATIO = np.array([0.5, 0.75, 1.0, 1.5, 2.0])
_ROUNDED_90 = np.array([0.71, 0.33, 0.22, 0.15, 0.13])

# ASHRAE Duct Fitting Database, CD3-1 and its 45 degree sister: die-stamped elbows, r/D 1.5.
_STAMPED_DIAMETER = np.array([0.075, 0.100, 0.150])
_STAMPED_90 = np.array([0.30, 0.21, 0.14])
_STAMPED_45 = np.array([0.18, 0.13, 0.08])

# Mitered elbows without vanes. 45 and 90 degrees: ASHRAE and SMACNA; the others from memory of the same table.
_MITER_ANGLE = np.array([0.0, 20.0, 30.0, 45.0, 60.0, 75.0, 90.0])
_MITERED = np.array([0.0, 0.08, 0.16, 0.34, 0.55, 0.81, 1.2])

# Roughness of commercial steel, Crane TP-410, 0.0018 in. [m]
_STEEL = 4.572e-5

# Perforated plate or screen across a duct, ASHRAE and SMACNA, from memory; without a screen there is no loss.
_FREE_AREA = np.array([0.5, 0.6, 0.7, 0.8, 0.9, 1.0])
_SCREEN = np.array([1.7, 0.97, 0.58, 0.32, 0.14, 0.0])

# Weisbach's gate valve in a round pipe (1855, quoted by Idelchik), from memory.
_OPENING = np.array([0.125, 0.25, 0.375, 0.5, 0.625, 0.75, 0.875, 1.0])
_GATE = np.array([97.8, 17.0, 5.52, 2.06, 0.81, 0.26, 0.07, 0.0])

# Crane TP-410 (2009), factor F of converging wyes.
_WYE_ANGLE = np.array([30.0, 45.0, 60.0, 90.0])
_WYE_FACTOR = np.array([1.74, 1.41, 1.0, 0.0])
_TEE_FROM = 75.0
_SMALL_BRANCH = 0.35


def rounded_elbow_k(radius_ratio: ArrayLike) -> Array:
    """K of a smooth 90 degree elbow by the radius of its centre line over its diameter, 0.5 to 2.

    Between the table's entries the logarithms are joined by straight lines.

    Raises
    ------
    ValueError
        Outside that range.

    References
    ----------
    SMACNA, HVAC Systems Duct Design, table A-7.
    """
    ratio = within(radius_ratio, 0.5, 2.0, "the radius of an elbow over its diameter")
    return np.asarray(np.exp(np.interp(np.log(ratio), np.log(_RADIUS_RATIO), np.log(_ROUNDED_90))))[()]


def stamped_elbow_k(diameter: ArrayLike, angle: float = 90.0) -> Array:
    """K of a die-stamped elbow, r/D 1.5, by its diameter, 0.075 to 0.155 [m].

    Parameters
    ----------
    diameter : array_like
        Inside; between the table's entries the logarithms are joined, and the last, for 0.150, is held to the end
        so that the bores of 6 in. pipe are covered. [m]
    angle : float
        45 or 90. [deg]

    Raises
    ------
    ValueError
        Outside that range, or for another angle.

    References
    ----------
    ASHRAE Duct Fitting Database, CD3-1.
    """
    d = within(diameter, 0.075, 0.155, "the diameter of a stamped elbow", "m")
    if angle not in (45.0, 90.0):
        raise ValueError("stamped elbows are tabulated at 45 and 90 degrees")
    table = _STAMPED_90 if angle == 90.0 else _STAMPED_45
    return np.asarray(np.exp(np.interp(np.log(d), np.log(_STAMPED_DIAMETER), np.log(table))))[()]


def short_turn_elbow_k(diameter: ArrayLike) -> Array:
    """K of a short-turn 90 degree elbow, r/D 1, by its inside diameter, above 0.005 to 1 [m]: 20 f_T.

    f_T is the friction factor of commercial steel, roughness 0.0018 in., in fully turbulent flow, with which Crane
    makes K fall with the diameter; the friction of the arc is in it.

    Raises
    ------
    ValueError
        Outside that range.

    References
    ----------
    Crane TP-410 (2009), 90 degree bends, r/D 1; f_T after Nikuradse, 0.25 / log10(e / (3.7 D))^2.
    """
    d = within(diameter, 0.005, 1.0, "the diameter of an elbow", "m")
    return np.asarray(20.0 * 0.25 / np.log10(_STEEL / (3.7 * d)) ** 2)[()]


def mitered_elbow_k(angle: ArrayLike) -> Array:
    """K of a mitered elbow without vanes, by its angle, 0 to 90 [deg].

    Raises
    ------
    ValueError
        Outside that range.

    References
    ----------
    ASHRAE and SMACNA fitting tables for 45 and 90 degrees; the other entries from memory of them.
    """
    turn = within(angle, 0.0, 90.0, "the angle of an elbow", "degrees")
    return np.asarray(np.interp(turn, _MITER_ANGLE, _MITERED))[()]


def sudden_expansion(beta: ArrayLike) -> Array:
    """K of a sudden expansion, (1 - beta^2)^2, on the velocity pressure of the smaller bore.

    Parameters
    ----------
    beta : array_like
        Smaller diameter over larger, 0 (into a room) to 1.

    Raises
    ------
    ValueError
        Outside that range.

    References
    ----------
    Borda and Carnot.
    """
    ratio = within(beta, 0.0, 1.0, "the ratio of diameters")
    return np.asarray((1.0 - ratio * ratio) ** 2)[()]


def sudden_contraction(beta: ArrayLike) -> Array:
    """K of a sudden contraction, about (1 - beta^2) / 2, on the velocity pressure of the smaller bore.

    Parameters
    ----------
    beta : array_like
        Smaller diameter over larger, 0 (from a room) to 1.

    Raises
    ------
    ValueError
        Outside that range.

    References
    ----------
    Crane TP-410.
    """
    ratio = within(beta, 0.0, 1.0, "the ratio of diameters")
    return np.asarray(0.5 * (1.0 - ratio * ratio))[()]


def screen_k(free_area_ratio: ArrayLike) -> Array:
    """K of a screen or grille, on the velocity pressure of the bore before it.

    Parameters
    ----------
    free_area_ratio : array_like
        Open area over bore area, 0.5 to 1. Square roots of K are joined by straight lines.

    Raises
    ------
    ValueError
        Outside that range: a denser screen must be measured.

    References
    ----------
    ASHRAE and SMACNA fitting tables, from memory.
    """
    ratio = within(free_area_ratio, 0.5, 1.0, "the free area of a screen over the bore")
    return np.asarray(np.interp(ratio, _FREE_AREA, np.sqrt(_SCREEN)) ** 2)[()]


def gate_k(opening: ArrayLike) -> Array:
    """K of a slide valve in a round pipe, on the velocity pressure of the open bore.

    Parameters
    ----------
    opening : array_like
        Height of the opening over the diameter, 0.125 to 1. Fourth roots of K are joined by straight lines.

    Raises
    ------
    ValueError
        Outside that range: below an eighth the loss hangs on the leak round the blade.

    References
    ----------
    Weisbach (1855), as quoted by Idelchik, Handbook of Hydraulic Resistance; from memory.
    """
    ratio = within(opening, 0.125, 1.0, "the opening of a valve over the diameter")
    return np.asarray(np.interp(ratio, _OPENING, _GATE**0.25) ** 4)[()]


def converging_side_k(share: ArrayLike, angle: ArrayLike, area_ratio: ArrayLike = 1.0) -> Array:
    """K from the side leg to the common leg of a converging tee or wye; may be negative.

    K = C (1 + (s/A)^2 - 2 (1 - s)^2 - F s^2 / A), on the velocity pressure of the common leg, with C = 1 for
    A <= 0.35, else max(0.9 (1 - s), 0.55). Crane steps from 0.54 to 0.55 at s = 0.4; the maximum takes that step
    out, which a solver needs, and moves K by under 2 % between 0.389 and 0.4.

    Parameters
    ----------
    share : array_like
        Flow of the side leg over the common flow; held within 0 to 1, so that K stays bounded should the flow of a
        leg turn.
    angle : array_like
        Between side leg and common leg, 30 to 90; F is interpolated. [deg]
    area_ratio : array_like
        Area of the side leg over that of the common leg, above 0. The three broadcast.

    Returns
    -------
    array
        Of the shape they broadcast to.

    Raises
    ------
    ValueError
        If angle or area ratio is out of range.

    References
    ----------
    Crane TP-410 (2009) with its errata, converging tees and wyes; straight and common leg of one bore.
    """
    s = np.clip(np.asarray(share, dtype=np.float64), 0.0, 1.0)
    ratio, _, factor = _wye(angle, area_ratio)
    straight = 1.0 - s
    k = 1.0 - 2.0 * straight * straight + (1.0 / ratio - factor) / ratio * (s * s)
    return np.asarray(np.where(ratio > _SMALL_BRANCH, np.maximum(0.9 * straight, 0.55), 1.0) * k)[()]


def converging_straight_k(share: ArrayLike, angle: ArrayLike, area_ratio: ArrayLike = 1.0) -> Array:
    """K from the straight leg to the common leg of a converging tee or wye; may be negative.

    On the velocity pressure of the common leg: below 75 degrees K = 1 - (1 - s)^2 - F s^2 / A, from there
    K = 1.55 s - s^2 whatever the area.

    Parameters
    ----------
    share : array_like
        Flow of the *side* leg over the common flow; held within 0 to 1.
    angle : array_like
        Between side leg and common leg, 30 to 90. [deg]
    area_ratio : array_like
        Area of the side leg over that of the common leg, above 0. The three broadcast.

    Returns
    -------
    array
        Of the shape they broadcast to.

    Raises
    ------
    ValueError
        If angle or area ratio is out of range.

    References
    ----------
    As `converging_side_k`.
    """
    s = np.clip(np.asarray(share, dtype=np.float64), 0.0, 1.0)
    ratio, turn, factor = _wye(angle, area_ratio)
    tee = turn >= _TEE_FROM
    return np.asarray(s * (np.where(tee, 1.55, 2.0) - np.where(tee, 1.0, 1.0 + factor / ratio) * s))[()]


def _wye(angle: ArrayLike, area_ratio: ArrayLike) -> tuple[Array, Array, Array]:
    """Ratio of areas, angle and the factor F that goes with it."""
    turn, ratio = np.asarray(angle, dtype=np.float64), np.asarray(area_ratio, dtype=np.float64)
    if not np.all((turn >= 30.0) & (turn <= 90.0)):
        raise ValueError("the angle of a side leg must lie between 30 and 90 degrees")
    if not np.all(ratio > 0.0):
        raise ValueError("the ratio of areas must be above 0")
    return ratio, turn, np.interp(turn, _WYE_ANGLE, _WYE_FACTOR)
