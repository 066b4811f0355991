"""Water in air by the psychrolib library, which follows the ASHRAE Handbook, Fundamentals, ch. 1."""

from __future__ import annotations

import psychrolib

_ICE_POINT = 273.15


def most_water(flow: float, temperature: float, humidity_ratio: float, cooled_to: float, pressure: float) -> float:
    """Water that a flow [m3/s] of air [K] drops when the whole of it is cooled: the most that can form [kg/s]."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    volume = psychrolib.GetMoistAirVolume(temperature - _ICE_POINT, humidity_ratio, pressure)
    held = psychrolib.GetSatHumRatio(cooled_to - _ICE_POINT, pressure)
    return float(flow / volume * max(humidity_ratio - held, 0.0))
