"""Octave-band sound from a source to a place: sources, open air, rooms, partitions, pipe ends.

A spectrum is an array of levels whose last axis runs over bands, low to high; everything before it broadcasts. Where no
bands are given they are `FAN_BANDS`, 63 Hz to 8 kHz.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from workbench.physics.arrays import Array
from workbench.physics.ranges import positive, within
from workbench.physics.sound import FAN_BANDS, a_weighted, add_levels, free_field_dB, room_dB

SPEED_OF_SOUND = 343.0
"""In dry air of 20 C (ISO 9613-1). [m/s]"""

_FACADE_DB = 10.0 * math.log10(4.0 * math.cos(math.pi / 4.0))


def power_from_dBA(
    level: ArrayLike,
    distance: ArrayLike,
    directivity: ArrayLike,
    shape: ArrayLike,
    bands: ArrayLike = FAN_BANDS,
) -> Array:
    """Sound power levels by band of a source known only by one A-weighted level at a distance in the open [dB].

    The answer has the form of `shape`, raised or lowered until its A-weighted sum at that distance is `level`; it is
    only as good as the shape, and behind a partition, which takes most from the high bands, that matters.

    Parameters
    ----------
    level : array_like, shape (...)
        [dBA]
    distance, directivity : array_like, shape (...)
        [m]; as `free_field_dB`.
    shape : array_like, shape (n,)
        Levels of the bands against one another. [dB]
    bands : array_like, shape (n,)
        Nominal centre frequencies. [Hz]

    Raises
    ------
    ValueError
        If a distance or directivity is not above 0, or shape and bands do not fit.
    """
    form = np.asarray(shape, dtype=np.float64)
    heard = np.asarray(level, dtype=np.float64) - free_field_dB(distance, directivity)
    return form + _over_bands(heard - a_weighted(form, bands))


def in_the_open(power: ArrayLike, distance: ArrayLike, directivity: ArrayLike = 1.0) -> Array:
    """Sound pressure by band at a distance [m] in the open, shape (..., n) [dB].

    Parameters
    ----------
    power : array_like, shape (..., n)
        Sound power by band. [dB]
    distance, directivity : array_like, shape (...)
        [m]; as `free_field_dB`.

    Raises
    ------
    ValueError
        If a distance or directivity is not above 0.
    """
    return np.asarray(power, dtype=np.float64) + _over_bands(free_field_dB(distance, directivity))


def in_a_room(power: ArrayLike, distance: ArrayLike, directivity: ArrayLike, room_constant: ArrayLike) -> Array:
    """Sound pressure by band in the room where the source stands, shape (..., n) [dB].

    Parameters
    ----------
    power : array_like, shape (..., n)
        Sound power by band. [dB]
    distance, directivity : array_like, shape (...)
        [m]; as `free_field_dB`.
    room_constant : array_like, shape (..., n) or (..., 1) or ()
        As `room_constant`, by band or one for all. [m2]

    Raises
    ------
    ValueError
        If a distance, directivity or room constant is not above 0.
    """
    change = room_dB(_over_bands(distance), _over_bands(directivity), room_constant)
    return np.asarray(power, dtype=np.float64) + change


def room_constant(surface: ArrayLike, absorption: ArrayLike) -> Array:
    """Room constant S a / (1 - a) [m2].

    Parameters
    ----------
    surface : array_like
        Walls, floor and ceiling together. [m2]
    absorption : array_like
        Mean absorption coefficient, above 0 and below 1, by band or one.

    Raises
    ------
    ValueError
        If an input is out of range.

    References
    ----------
    ASHRAE Handbook, Fundamentals, ch. Sound and Vibration.
    """
    a = within(absorption, 1e-4, 1.0 - 1e-4, "the absorption coefficient")
    return np.asarray(positive(surface, "the surface of the room") * a / (1.0 - a))[()]


def through_partition(
    levels: ArrayLike, transmission_loss: ArrayLike, area: ArrayLike, receiving_absorption: ArrayLike
) -> Array:
    """Sound pressure in the room behind a partition, Lp2 = Lp1 - TL + 10 log10(S / A), shape (..., n) [dB].

    Parameters
    ----------
    levels : array_like, shape (..., n)
        Sound pressure by band before the partition, diffuse. [dB]
    transmission_loss : array_like, shape (..., n)
        Of the partition. [dB]
    area : array_like
        Of the partition, broadcasting against the bands. [m2]
    receiving_absorption : array_like
        Absorption area of the room behind, surface times coefficient, broadcasting against the bands. [m2]

    Raises
    ------
    ValueError
        If an area is not above 0.

    References
    ----------
    Diffuse-field form behind ISO 16283-1 and ASTM E336.
    """
    s, a = positive(area, "the area of the partition"), positive(receiving_absorption, "the absorption of the room")
    behind = np.asarray(levels, dtype=np.float64) - np.asarray(transmission_loss, dtype=np.float64)
    return behind + 10.0 * np.log10(s / a)


def through_facade(
    levels: ArrayLike, transmission_loss: ArrayLike, area: ArrayLike, receiving_absorption: ArrayLike
) -> Array:
    """Sound pressure in the room behind a wall on which sound falls from the open, shape (..., n) [dB].

    A plane wave carries four times the power of a diffuse field of its pressure to a wall, times the cosine of its
    angle; at 45 degrees Lp2 = Lp1 + 4.5 - TL + 10 log10(S / A), with Lp1 as it would be there without the wall.

    Parameters
    ----------
    levels, transmission_loss, area, receiving_absorption : array_like
        As `through_partition`, the levels in the free field.

    Raises
    ------
    ValueError
        If an area is not above 0.

    References
    ----------
    Derived; ISO 16283-3, loudspeaker at 45 degrees: 1.5 dB off the level on the surface, which is 6 dB above the free
    field's (from memory).
    """
    return through_partition(levels, transmission_loss, area, receiving_absorption) + _FACADE_DB


def add_spectra(spectra: ArrayLike) -> Array:
    """Sum of incoherent sources band by band, shape (sources, ..., n) to (..., n) [dB].

    Raises
    ------
    ValueError
        If there is no source.
    """
    return add_levels(np.moveaxis(np.asarray(spectra, dtype=np.float64), 0, -1))


def outlet_rush_power(velocity: ArrayLike, area: ArrayLike, k: ArrayLike = 1.0) -> Array:
    """Sound power level of air rushing from an outlet or a grille, 10 + 60 log10 v + 30 log10 K + 10 log10 A [dB].

    Parameters
    ----------
    velocity : array_like
        Mean in the neck; minus infinity is returned at rest. [m/s]
    area : array_like
        Of the neck. [m2]
    k : array_like
        Pressure lost in the outlet over the velocity pressure in its neck: 1 for an open pipe.

    Raises
    ------
    ValueError
        If a velocity is negative, or an area or K not above 0.

    References
    ----------
    From memory: Beranek, Noise and Vibration Control; Reynolds & Bledsoe, Algorithms for HVAC Acoustics (ASHRAE 1991),
    diffuser noise, 10 log S + 30 log K + 60 log v - 31.3 in feet and seconds.
    """
    v = within(velocity, 0.0, 343.0, "the velocity", "m/s")
    size = 10.0 * np.log10(positive(area, "the area")) + 30.0 * np.log10(positive(k, "the loss coefficient"))
    return _log(v, 60.0) + 10.0 + size


def outlet_rush(velocity: ArrayLike, area: ArrayLike, k: ArrayLike = 1.0, bands: ArrayLike = FAN_BANDS) -> Array:
    """Spectrum of `outlet_rush_power`, highest near the frequency 160 v, shape (..., n) [dB].

    Each band lies 5.82 + 0.15 a + 1.13 a^2 below the total, a octaves below the highest.

    Parameters
    ----------
    velocity, area, k : array_like, shape (...)
        As `outlet_rush_power`.
    bands : array_like, shape (n,)
        [Hz]

    Raises
    ------
    ValueError
        As `outlet_rush_power`.

    References
    ----------
    From memory: the same, spectrum of round diffusers.
    """
    total = _over_bands(outlet_rush_power(velocity, area, k))
    peak = 160.0 * np.maximum(_over_bands(velocity), 1e-6)
    octaves = np.log2(peak / positive(bands, "a frequency"))
    return total - (5.82 + 0.15 * octaves + 1.13 * octaves * octaves)


def end_reflection_dB(diameter: ArrayLike, bands: ArrayLike = FAN_BANDS) -> Array:
    """What an open pipe end standing free throws back, 10 log10(1 + (c / (pi f D))^1.88), shape (..., n) [dB].

    To be taken off the fan's sound in the pipe before it leaves; the rush is born behind the end and keeps its level.

    Parameters
    ----------
    diameter : array_like, shape (...)
        Inside. [m]
    bands : array_like, shape (n,)
        [Hz]

    Raises
    ------
    ValueError
        If a diameter or a frequency is not above 0.

    References
    ----------
    From memory: Reynolds & Bledsoe, Algorithms for HVAC Acoustics (ASHRAE 1991), duct ended in free space.
    """
    d, f = _over_bands(positive(diameter, "the diameter")), positive(bands, "a frequency")
    return 10.0 * np.log10(1.0 + (SPEED_OF_SOUND / (math.pi * f * d)) ** 1.88)


def _over_bands(value: ArrayLike) -> Array:
    return np.asarray(value, dtype=np.float64)[..., None]


def _log(v: Array, factor: float) -> Array:
    with np.errstate(divide="ignore"):
        return np.asarray(factor * np.log10(v))[()]
