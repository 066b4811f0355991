"""Levels of sound: changes with speed, density and distance, sums, and the A-weighting."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from workbench.physics.arrays import Array
from workbench.physics.ranges import positive

OCTAVE_BANDS = (31.5, 63.0, 125.0, 250.0, 500.0, 1000.0, 2000.0, 4000.0, 8000.0, 16000.0)
"""Nominal centre frequencies of the octave bands. [Hz]"""

FAN_BANDS = OCTAVE_BANDS[1:9]
"""The eight bands in which fans, partitions and rooms are described, 63 Hz to 8 kHz. [Hz]"""

HARDLY_AUDIBLE = 15.0
"""Below this no figure is told: a bedroom at night is seldom quieter than 20, and the laws say nothing so far down;
a judgement. [dBA]"""

# IEC 61672-1, table of A-weightings at the nominal octave frequencies.
_A_WEIGHTING = dict(zip(OCTAVE_BANDS, (-39.4, -26.2, -16.1, -8.6, -3.2, 0.0, 1.2, 1.0, -1.1, -6.6), strict=True))


def speed_change_dB(ratio: ArrayLike) -> Array:
    """Change of a fan's sound power level with speed, 50 log10(N/N0) [dB].

    Holds at one point of rating; a few decibels off when the fan moves along its curve. Hum under phase-cut control
    follows no such law.

    Raises
    ------
    ValueError
        If the ratio is not above 0.

    References
    ----------
    ASHRAE Handbook, HVAC Applications, fan sound laws.
    """
    return 50.0 * np.log10(positive(ratio, "the ratio of speeds"))


def density_change_dB(ratio: ArrayLike) -> Array:
    """Change of a fan's sound power level with the density of its air, 20 log10(rho/rho0) [dB].

    Raises
    ------
    ValueError
        If the ratio is not above 0.

    References
    ----------
    ASHRAE Handbook, HVAC Applications, fan sound laws.
    """
    return 20.0 * np.log10(positive(ratio, "the ratio of densities"))


def free_field_dB(distance: ArrayLike, directivity: ArrayLike) -> Array:
    """Sound pressure level less sound power level in the open, 10 log10(Q / (4 pi r^2)) [dB].

    Parameters
    ----------
    distance : array_like
        From the source. [m]
    directivity : array_like
        1 in the open, 2 on a plane, 4 in an edge, 8 in a corner.

    Raises
    ------
    ValueError
        If an input is not above 0.
    """
    r, q = positive(distance, "the distance"), positive(directivity, "the directivity")
    return 10.0 * np.log10(q / (4.0 * np.pi * r * r))


def room_dB(distance: ArrayLike, directivity: ArrayLike, room_constant: ArrayLike) -> Array:
    """Sound pressure level less sound power level in a room, 10 log10(Q / (4 pi r^2) + 4 / R) [dB].

    Parameters
    ----------
    distance, directivity : array_like
        As `free_field_dB`.
    room_constant : array_like
        S a / (1 - a) of the room's surface S and mean absorption a. [m2]

    Raises
    ------
    ValueError
        If an input is not above 0.

    References
    ----------
    Diffuse-field room equation, ASHRAE Handbook, Fundamentals, ch. Sound and Vibration.
    """
    direct = 10.0 ** (free_field_dB(distance, directivity) / 10.0)
    return 10.0 * np.log10(direct + 4.0 / positive(room_constant, "the room constant"))


def told_level(level: float, figure: str) -> str:
    """A level in words: its figure as the reader's edge writes it, or that it is `HARDLY_AUDIBLE`."""
    return f"below {HARDLY_AUDIBLE:g} dB(A), hardly audible" if level < HARDLY_AUDIBLE else figure


def no_less_than_silence(level: ArrayLike) -> Array:
    """A level as it is handed on to other programs: never below 0 dB, the threshold of hearing (ISO 389-7).

    Not a number stays one.
    """
    return np.maximum(np.asarray(level, dtype=np.float64), 0.0)


def add_levels(levels: ArrayLike) -> Array:
    """Sum of incoherent levels over the last axis, 10 log10(sum 10^(L/10)) [dB].

    Parameters
    ----------
    levels : array_like, shape (..., n), n >= 1
        Minus infinity stands for silence. [dB]

    Raises
    ------
    ValueError
        If there is nothing to add.
    """
    x = np.asarray(levels, dtype=np.float64)
    if x.ndim == 0 or x.shape[-1] == 0:
        raise ValueError("at least one level is needed")
    # the loudest is taken out so that no level overflows; a silent sum needs something finite there
    loudest = np.max(x, axis=-1, keepdims=True)
    loudest = np.where(np.isneginf(loudest), 0.0, loudest)
    with np.errstate(divide="ignore"):
        return np.asarray(loudest[..., 0] + 10.0 * np.log10(np.sum(10.0 ** ((x - loudest) / 10.0), axis=-1)))[()]


def a_weighting(bands: ArrayLike) -> Array:
    """A-weighting of octave bands given by their nominal frequencies [Hz], shape kept [dB].

    Raises
    ------
    ValueError
        If a frequency is not the nominal centre of an octave band from 31.5 Hz to 16 kHz.

    References
    ----------
    IEC 61672-1, table of frequency weightings.
    """
    f = np.asarray(bands, dtype=np.float64)
    unknown = [band for band in f.ravel().tolist() if band not in _A_WEIGHTING]
    if unknown:
        raise ValueError(f"{unknown[0]:g} Hz is not the nominal centre of an octave band from 31.5 Hz to 16 kHz")
    return np.array([_A_WEIGHTING[band] for band in f.ravel().tolist()]).reshape(f.shape)[()]


def a_weighted(levels: ArrayLike, bands: ArrayLike) -> Array:
    """A-weighted level of a spectrum in octave bands [dBA].

    Parameters
    ----------
    levels : array_like, shape (..., n)
        [dB]
    bands : array_like, shape (n,)
        Nominal centre frequencies. [Hz]

    Raises
    ------
    ValueError
        If the last axes differ or a band is unknown.
    """
    x, weights = np.asarray(levels, dtype=np.float64), a_weighting(bands)
    if x.ndim == 0 or weights.ndim != 1 or x.shape[-1] != weights.size:
        raise ValueError("a spectrum needs one level for each band")
    return add_levels(x + weights)
