"""Yearly energy against the degree-day form in the units it is published in, and moist air against a library."""

from __future__ import annotations

import numpy as np
import psychrolib
import pytest

from workbench.physics.energy import (
    Load,
    heating_degree_days,
    heating_energy,
    present_worth_factor,
    replacement_load,
    seasonal_hours,
    yearly_energy,
)

psychrolib.SetUnitSystem(psychrolib.SI)

CFM = 4.719474e-4
KELVIN_PER_FAHRENHEIT = 5.0 / 9.0
BTU = 1055.056
THERM = 1e5 * BTU
KWH = 3.6e6


def therms(cfm: float, share: float, degree_days_f: float, efficiency: float, density: float) -> float:
    days = degree_days_f * KELVIN_PER_FAHRENHEIT
    return float(heating_energy(cfm * CFM, share, density, days, efficiency)) * KWH / THERM


def test_a_year_of_fan() -> None:
    # Derived: 8760 hours.
    assert yearly_energy(60.0) == pytest.approx(525.6, rel=1e-12)


def test_heat_of_replaced_air() -> None:
    # Published form, 1.08 x 24 x cfm x share x HDD / efficiency: 1.08 x 24 x 60 x 0.5 x 6000 / 0.80 Btu = 58.32 therm.
    # 0.2 %: 1.08 rounds the heat of 0.075 lb/ft3 of air.
    assert therms(60.0, 0.5, 6000.0, 0.80, 1.20138) == pytest.approx(58.32, rel=2e-3)
    # Derived: SI path with air of 1.204 kg/m3.
    assert therms(60.0, 0.5, 6000.0, 0.80, 1.204) == pytest.approx(58.515, rel=2e-5)


def test_a_new_england_winter() -> None:
    # Published: HDD65 6606, New England normal (NOAA 1981-2010); gas at $14.75 per thousand cubic feet (EIA 2022) of
    # 1036 Btu/ft3. Values derived in the same form as above, hence 0.2 %.
    delivered = therms(50.0, 1.0, 6606.0, 1.0, 1.20138)
    bought = therms(50.0, 1.0, 6606.0, 0.8, 1.20138)
    assert delivered / 10.0 == pytest.approx(8.561, rel=2e-3)
    assert bought == pytest.approx(107.0, rel=2e-3)
    assert bought * 1e5 / 1036.0 / 1000.0 * 14.75 == pytest.approx(152.4, rel=2e-3)


SUMMER = (33.0, psychrolib.GetHumRatioFromTWetBulb(33.0, 24.0, 101_325.0))
HOUSE = (24.0, psychrolib.GetHumRatioFromRelHum(24.0, 0.5, 101_325.0))


def cooling_load(flow: float, outdoors: tuple[float, float] = SUMMER) -> Load:
    return replacement_load(flow, 1.0, outdoors[0] + 273.15, outdoors[1], HOUSE[0] + 273.15, HOUSE[1], 101_325.0)


def test_summer_air_in_the_place_of_house_air() -> None:
    # Derived by psychrolib: 50 cfm, outside 33 C and 24 C wet bulb, inside 24 C and 50 %, with 1.2 kg of dry air in a
    # cubic metre: 680 W, of which 256 sensible, 409 latent, 14 of the vapour. Printed to 1 W.
    nominal = 1.2 * psychrolib.GetMoistAirVolume(*HOUSE, 101_325.0)
    load = cooling_load(50.0 * CFM * nominal)
    assert load.total == pytest.approx(680.0, abs=0.6)
    assert load.sensible == pytest.approx(256.0, abs=0.6)
    assert load.latent == pytest.approx(409.0, abs=0.6)
    assert load.vapour == pytest.approx(14.0, abs=0.6)


def test_load_is_the_difference_of_enthalpy() -> None:
    # Derived: psychrolib's enthalpies and the volume of the indoor air, in summer and in winter.
    for outdoors in (SUMMER, (-12.0, 0.0011)):
        dry = 0.03 / psychrolib.GetMoistAirVolume(*HOUSE, 101_325.0)
        rise = psychrolib.GetMoistAirEnthalpy(*outdoors) - psychrolib.GetMoistAirEnthalpy(*HOUSE)
        assert cooling_load(0.03, outdoors).total == pytest.approx(dry * rise, rel=1e-4)


def test_a_steady_winter_agrees_with_its_degree_days() -> None:
    # Derived: 8760 hours of 0 C under a balance point of 18 C are 6570 K d; dry air, so that both forms mean one heat.
    hours = np.full(8760, 273.15)
    days = heating_degree_days(hours, 291.15)
    assert days == pytest.approx(365.0 * 18.0, rel=1e-12)
    load = replacement_load(0.03, 0.5, hours, 0.0, 291.15, 0.0, 101_325.0)
    heating, *cooling = seasonal_hours(load, hours, 291.15).sums(np.ones(8760))
    density = 1.0 / psychrolib.GetDryAirVolume(18.0, 101_325.0)
    assert heating == pytest.approx(float(heating_energy(0.03, 0.5, density, days)), rel=1e-5)
    assert cooling == [0.0, 0.0]


def test_degree_days_of_a_swinging_day() -> None:
    # Derived by hand: twelve hours at 10 C and twelve at 24 C about a base of 18 C: 4 K d of heating,
    # where the day's mean, 17 C, would give 1.
    day = np.repeat([283.15, 297.15], 12)
    assert heating_degree_days(day, 291.15) == pytest.approx(4.0, rel=1e-12)


def test_only_hours_in_season_are_bought() -> None:
    # Derived by hand: hours of -5, 15, 22 and 30 C, one kilowatt each way, heated below 12 C and cooled above 24 C.
    load = Load(
        np.array([-1000.0, -300.0, -100.0, 400.0]),
        np.array([-50.0, -10.0, 80.0, 500.0]),
        np.array([0.0, 0.0, 0.0, 20.0]),
    )
    season = seasonal_hours(load, np.array([268.15, 288.15, 295.15, 303.15]), 285.15, 297.15)
    heating, sensible, latent = season.sums(np.ones(4))
    assert heating == pytest.approx(1.0, rel=1e-12)
    assert sensible == pytest.approx(0.42, rel=1e-12)
    assert latent == pytest.approx(0.50, rel=1e-12)


@pytest.mark.parametrize(("years", "factor"), [(1, 0.97), (5, 4.58), (10, 8.53), (20, 14.88), (25, 17.41), (30, 19.60)])
def test_present_worth(years: int, factor: float) -> None:
    # From memory of the tables that go with NIST Handbook 135: uniform present value at 3 %, printed to two places.
    assert present_worth_factor(0.03, years) == pytest.approx(factor, abs=0.006)


def test_present_worth_at_no_interest() -> None:
    # Derived: the limit is the number of years, and there is no step beside it.
    np.testing.assert_allclose(present_worth_factor([0.0, 1e-8, -1e-8], 20.0), 20.0, rtol=3e-7)


def test_refusals() -> None:
    with pytest.raises(ValueError, match="share of house air"):
        heating_energy(0.03, 1.5, 1.2, 3000.0)
    with pytest.raises(ValueError, match="efficiency"):
        heating_energy(0.03, 0.5, 1.2, 3000.0, 0.0)
    with pytest.raises(ValueError, match="degree-days"):
        heating_energy(0.03, 0.5, 1.2, -1.0)
    with pytest.raises(ValueError, match="share of house air"):
        replacement_load(0.03, -0.1, 300.0, 0.01, 295.0, 0.008, 101_325.0)
    with pytest.raises(ValueError, match="outdoor humidity ratio"):
        replacement_load(0.03, 0.5, 300.0, -0.01, 295.0, 0.008, 101_325.0)
    with pytest.raises(ValueError, match="cooling must begin"):
        seasonal_hours(cooling_load(0.03), [306.15], 290.0, 280.0)
    with pytest.raises(ValueError, match="discount rate"):
        present_worth_factor(-1.0, 10)
