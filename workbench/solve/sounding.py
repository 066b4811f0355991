"""How loud it is at each listener: the fan by its rating or its bands, the rush of the outlet, and what lies between.

Always with a band. Hum under phase-cut control and sound carried by the structure follow no law and are left out.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from workbench.design.catalogue import partition_kinds, spectrum_kinds
from workbench.design.design import Design
from workbench.design.fan import Fan
from workbench.design.sound import Listener
from workbench.physics.pipe import bore_area
from workbench.physics.sound import FAN_BANDS, a_weighted, add_levels, density_change_dB, speed_change_dB
from workbench.physics.sound_paths import add_spectra, in_the_open, outlet_rush, power_from_dBA, through_partition
from workbench.solve.outcome import SoundAt

Array = NDArray[np.float64]

RATING_BAND_DB = 3.0
"""Either way: fans run off their rating point and the speed law holds to a few decibels (ASHRAE, AMCA, from memory)."""

PATH_BAND_DB = 5.0
"""Either way, for walls and floors estimated by one number or taken from a laboratory's table; a judgement."""

_LISTENING = 2.0
"""Directivity of a fan or an outlet near one reflecting surface."""


def fan_power(fan: Fan, machines: int, speed: ArrayLike, density: float) -> Array | None:
    """Sound power of the fan by octave at speeds of shape (...), shape (..., 8) [dB]; None without a rating."""
    if fan.sound_bands is not None:
        full = np.array(fan.sound_bands)
    elif fan.sound_dBA is not None:
        shape = spectrum_kinds()[fan.spectrum].level
        full = power_from_dBA(fan.sound_dBA, fan.sound_distance, _LISTENING, shape)
    else:
        return None
    change = speed_change_dB(speed) + float(density_change_dB(density / fan.rated_density))
    return np.asarray(full + np.asarray(change)[..., None] + float(add_levels([0.0] * machines)))


def sound_at(design: Design, speed: float, flow: float, density: float) -> tuple[SoundAt, ...]:
    """A-weighted level at each listener, with its spectrum and its parts.

    `flow` is what leaves by the outlet. [m3/s]
    """
    fan = design.chosen_fan
    if fan is None:
        return ()
    power = fan_power(fan, _machines(design), speed, density)
    if power is None:
        return ()
    last = design.discharge[-1]
    area = float(bore_area(last.pipe.inside_diameter))
    return tuple(_heard(listener, power, max(flow, 0.0) / area, area) for listener in design.house.listeners)


def levels_at(
    design: Design, listener: Listener, fan: Fan, speed: Array, flow: Array, area: Array, density: float
) -> tuple[Array, float] | None:
    """A-weighted level at a listener of many settings of a fan, and its band, as in `sound_at` [dB]; None unrated.

    Parameters
    ----------
    speed, flow, area : array, shape (...)
        Of the fan, through the outlet [m3/s], and of the outlet [m2].
    """
    power = fan_power(fan, _machines(design), speed, density)
    if power is None:
        return None
    spectra = [levels for _, levels in _sources(listener, power, np.maximum(flow, 0.0) / area, area)]
    return np.asarray(a_weighted(add_spectra(spectra), FAN_BANDS)), _band(listener)


def _machines(design: Design) -> int:
    return 1 if design.arrangement == "single" else 2


def _sources(listener: Listener, power: Array, velocity: ArrayLike, area: ArrayLike) -> list[tuple[str, Array]]:
    """Each source by octave at the ear."""
    parts = [("fan", _behind(listener, in_the_open(power, listener.distance, _LISTENING)))]
    if listener.outlet_distance is not None and np.any(np.asarray(velocity) > 0.0):
        rush = in_the_open(outlet_rush(velocity, area), listener.outlet_distance, _LISTENING)
        parts.append(("rush at the outlet", _behind(listener, rush)))
    return parts


def _band(listener: Listener) -> float:
    path = 0.0 if listener.between == "open air" or _nothing_between(listener) else PATH_BAND_DB
    return math.hypot(RATING_BAND_DB, path)


def _heard(listener: Listener, power: Array, velocity: float, area: float) -> SoundAt:
    parts = _sources(listener, power, velocity, area)
    spectrum = add_spectra([levels for _, levels in parts])
    return SoundAt(
        place=listener.name,
        level=float(a_weighted(spectrum, FAN_BANDS)),
        band=_band(listener),
        limit=listener.limit,
        limit_source=listener.limit_source,
        spectrum=tuple(float(level) for level in spectrum),
        parts=tuple((name, float(a_weighted(levels, FAN_BANDS))) for name, levels in parts),
    )


def _nothing_between(listener: Listener) -> bool:
    return listener.between == "level difference" and listener.insulation == 0.0


def _behind(listener: Listener, levels: Array) -> Array:
    if listener.between == "partition" and listener.partition is not None:
        kind = partition_kinds()[listener.partition]
        if kind.difference:
            return np.asarray(levels - np.array(kind.loss))
        return through_partition(levels, kind.loss, listener.partition_area, listener.absorption)
    return np.asarray(levels - (listener.insulation if listener.between == "level difference" else 0.0))
