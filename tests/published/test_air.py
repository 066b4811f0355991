"""Moist air against handbook tables, the standard atmosphere and a reference library."""

from __future__ import annotations

import numpy as np
import psychrolib
import pytest
from fluids import ATMOSPHERE_1976

from workbench.design.fan import FanRecord
from workbench.physics.air import (
    air_at,
    enthalpy,
    humidity_ratio,
    moist_density,
    saturation_pressure,
    standard_pressure,
    viscosity,
)
from workbench.physics.constants import STANDARD_PRESSURE

psychrolib.SetUnitSystem(psychrolib.SI)

FOOT = 0.3048


@pytest.mark.parametrize(("altitude", "pressure"), [(500.0, 95_461.0), (1000.0, 89_875.0), (4000.0, 61_640.0)])
def test_standard_atmosphere_of_the_handbook(altitude: float, pressure: float) -> None:
    # Published: ASHRAE Handbook, Fundamentals 2017, ch. 1, table 1. Printed to 1 Pa.
    assert standard_pressure(altitude) == pytest.approx(pressure, abs=1.0)


@pytest.mark.parametrize(
    ("altitude", "temperature", "density", "mu"),
    [
        (0.0, 288.15, 1.225, 1.7894e-5),
        (2000.0, 275.154, 1.0066, 1.726e-5),
        (4000.0, 262.166, 0.81935, 1.6612e-5),
    ],
)
def test_us_standard_atmosphere(altitude: float, temperature: float, density: float, mu: float) -> None:
    # Published: US Standard Atmosphere 1976, tables of density and viscosity; temperatures by its geopotential lapse.
    air = air_at(temperature, 0.0, altitude)
    # 0.05 %: the handbook's pressure takes geometric altitude for geopotential.
    assert air.density == pytest.approx(density, rel=5e-4)
    # 0.5 %: later measurements, which the code follows, lie 0.4 % above the 1976 formula.
    assert air.viscosity == pytest.approx(mu, rel=5e-3)


def test_moist_air_at_a_known_wet_bulb() -> None:
    # Published: ASHRAE Handbook, Fundamentals 2017, ch. 1, example 1 (40 C dry bulb, 20 C wet bulb, 101.325 kPa):
    # W 0.0065, RH 14 %, enthalpy 56.7 kJ/kg, volume 0.896 m3/kg, read off the chart.
    ratio = humidity_ratio(313.15, 0.14, 101_325.0)
    # RH is printed to a whole per cent, which is 3.6 % of W.
    assert ratio == pytest.approx(0.0065, rel=0.036)
    assert float(1.0 + ratio) / float(moist_density(313.15, 101_325.0, ratio)) == pytest.approx(0.896, abs=0.0006)
    # 0.5 kJ/kg: the printed W is good to 0.00005 (0.13 kJ/kg) and the printed RH to 0.6 kJ/kg.
    assert float(enthalpy(313.15, 0.0065)) / 1000.0 == pytest.approx(56.7, abs=0.5)


def test_the_wet_bulb_of_the_handbook() -> None:
    # Published: the same example: W 0.0065, RH 14 %. The wet bulb is where moist air that takes up water of its own
    # temperature until it is saturated keeps its enthalpy (ibid., eq. 31): the only way from 20 C wet bulb to both.
    saturated = float(humidity_ratio(293.15, 1.0, 101_325.0))
    water = 4186.0 * 20.0
    # h(40 C, W) + (W_s - W) h_water = h(20 C, W_s), linear in W
    dry, vapour = float(enthalpy(313.15, 0.0)), float(enthalpy(313.15, 1.0)) - float(enthalpy(313.15, 0.0))
    ratio = (float(enthalpy(293.15, saturated)) - dry - saturated * water) / (vapour - water)
    # half of the last digit, and 0.4 % of the saturated ratio that an ideal mixture lacks
    assert ratio == pytest.approx(0.0065, abs=5e-5 + 6e-5)
    assert ratio / (0.621945 + ratio) * 101_325.0 / saturation_pressure(313.15) == pytest.approx(0.14, abs=0.0051)


def test_moist_air_example_agrees_with_the_reference_library() -> None:
    # Derived: psychrolib's humidity ratio at 40 C and 20 C wet bulb; the published enthalpy follows from it.
    ratio = psychrolib.GetHumRatioFromTWetBulb(40.0, 20.0, 101_325.0)
    assert float(enthalpy(313.15, ratio)) / 1000.0 == pytest.approx(56.7, abs=0.05)


def test_density_of_moist_air_at_altitude() -> None:
    # Published: ASHRAE, 30 C, W 0.02, 95 461 Pa -> 1.08412 kg/m3, printed to six figures.
    assert moist_density(303.15, 95_461.0, 0.02) == pytest.approx(1.08412, abs=6e-6)


@pytest.mark.parametrize(("celsius", "pressure", "ratio"), [(5.0, 872.6, 0.005425), (25.0, 3169.7, 0.020173)])
def test_saturation(celsius: float, pressure: float, ratio: float) -> None:
    # Published: ASHRAE Handbook, Fundamentals 2017, ch. 1, tables 2 and 3.
    assert saturation_pressure(celsius + 273.15) == pytest.approx(pressure, rel=2e-4)
    # 0.5 %: the table is for the real gas, whose enhancement factor is about 1.0044.
    assert humidity_ratio(celsius + 273.15, 1.0, 101_325.0) == pytest.approx(ratio, rel=5e-3)


@pytest.mark.parametrize("celsius", [-40.0, -10.0, -0.5, 0.5, 12.8, 35.0, 80.0])
@pytest.mark.parametrize("relative_humidity", [0.0, 0.3, 1.0])
def test_moist_air_agrees_with_the_reference_library(celsius: float, relative_humidity: float) -> None:
    # Derived: psychrolib 2.5, the same formulas written by others; 1e-6 leaves room for its rounded zero of Celsius.
    pressure = 89_875.0
    ratio = humidity_ratio(celsius + 273.15, relative_humidity, pressure)
    assert saturation_pressure(celsius + 273.15) == pytest.approx(psychrolib.GetSatVapPres(celsius), rel=1e-9)
    # the library never lets W fall below 1e-7
    expected = psychrolib.GetHumRatioFromRelHum(celsius, relative_humidity, pressure)
    assert ratio == pytest.approx(expected, rel=1e-6, abs=1e-7)
    # 2e-5: it rounds 1 / 0.621945 to 1.607858 and the gas constant to 287.042
    assert moist_density(celsius + 273.15, pressure, ratio) == pytest.approx(
        psychrolib.GetMoistAirDensity(celsius, expected, pressure), rel=2e-5
    )
    assert enthalpy(celsius + 273.15, ratio) == pytest.approx(
        psychrolib.GetMoistAirEnthalpy(celsius, expected), rel=1e-6, abs=0.5
    )


def test_saturation_curves_meet_at_the_triple_point() -> None:
    # From memory of the international definition: 611.66 Pa at 273.16 K (Guildner et al. 1976).
    below, above = saturation_pressure(np.array([273.16, 273.16 + 1e-9]))
    assert below == pytest.approx(611.66, rel=3e-4)
    assert above == pytest.approx(below, rel=1e-4)


@pytest.mark.parametrize(("feet", "factor"), [(5000.0, 0.832), (6000.0, 0.801), (10_000.0, 0.688)])
def test_density_factor_of_altitude(feet: float, factor: float) -> None:
    # Derived: US Standard Atmosphere 1976 as the fluids library has it; at one temperature, 70 F, densities are as
    # pressures. Altitude tables for fans print the factor to three figures.
    warm = 294.26
    published = ATMOSPHERE_1976(feet * FOOT).P / 101_325.0
    assert published == pytest.approx(factor, abs=6e-4)
    ratio = air_at(warm, 0.0, feet * FOOT).density / air_at(warm, 0.0, 0.0).density
    assert ratio == pytest.approx(factor, abs=6e-4)


@pytest.mark.parametrize(
    ("celsius", "density", "mu"),
    [(-10.0, 1.34239, 1.6714e-5), (20.0, 1.20458, 1.8206e-5), (40.0, 1.12745, 1.9165e-5)],
)
def test_dry_air_against_the_real_gas(celsius: float, density: float, mu: float) -> None:
    # Derived: CoolProp (Lemmon et al. equation of state; Lemmon & Jacobsen viscosity) at 101 325 Pa.
    # 0.1 %: departure from the ideal gas at -10 C.
    assert moist_density(celsius + 273.15, 101_325.0, 0.0) == pytest.approx(density, rel=1e-3)
    # 0.1 %: what the law with one constant can do from -10 to 40 C.
    assert viscosity(celsius + 273.15) == pytest.approx(mu, rel=1e-3)


def test_standard_fan_air_is_that_of_the_rating_standard() -> None:
    # From memory of ANSI/AMCA 210: standard air weighs 0.075 lb/ft3 and is met by dry air at 70 F, 29.92 in. Hg.
    # A curve is taken to be rated in it unless it says otherwise, 1.2 kg/m3 in round figures.
    standard = 0.075 * 0.45359237 / FOOT**3
    assert FanRecord.model_fields["rated_density"].default == pytest.approx(standard, rel=2e-3)
    assert moist_density(294.26, STANDARD_PRESSURE, 0.0) == pytest.approx(standard, rel=2e-3)


def test_refusals() -> None:
    with pytest.raises(ValueError, match="relative humidity must lie between 0 and 1"):
        humidity_ratio(293.15, 1.2, 101_325.0)
    with pytest.raises(ValueError, match="temperature must lie between"):
        saturation_pressure(20.0)
    with pytest.raises(ValueError, match="altitude must lie between"):
        standard_pressure(20_000.0)
    with pytest.raises(ValueError, match="above the pressure of the water vapour"):
        humidity_ratio(373.15, 1.0, 50_000.0)
