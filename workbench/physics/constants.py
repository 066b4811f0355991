"""Constants of nature and of the trade's standards, each with its source."""

from __future__ import annotations

GRAVITY = 9.80665
"""Standard acceleration of free fall (3rd CGPM, 1901). [m/s2]"""

STANDARD_PRESSURE = 101_325.0
"""Standard atmosphere at sea level (US Standard Atmosphere 1976). [Pa]"""

DRY_AIR_GAS_CONSTANT = 287.042
"""Gas constant of dry air (ASHRAE Handbook, Fundamentals 2017, ch. 1). [J/(kg K)]"""

WATER_TO_DRY_AIR = 0.621945
"""Molecular mass of water over that of dry air (ASHRAE Handbook, Fundamentals 2017, ch. 1)."""

ICE_POINT = 273.15
"""Zero of the Celsius scale. [K]"""

TRIPLE_POINT = 273.16
"""Triple point of water, where the saturation curves over ice and over water meet. [K]"""

DRY_AIR_HEAT = 1006.0
"""Specific heat of dry air at constant pressure (ASHRAE Handbook, Fundamentals 2017, ch. 1). [J/(kg K)]"""

VAPOUR_HEAT = 1860.0
"""Specific heat of water vapour at constant pressure (same). [J/(kg K)]"""

EVAPORATION_HEAT = 2_501_000.0
"""Enthalpy of saturated water vapour at 0 C above liquid water at 0 C (same). [J/kg]"""

HOURS_PER_YEAR = 8760.0
"""Hours in a year of 365 days."""

SECONDS_PER_DAY = 86_400.0
"""Seconds in a day."""

JOULE_PER_KWH = 3.6e6
"""Joules in a kilowatt-hour."""
