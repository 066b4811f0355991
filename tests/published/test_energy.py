"""Yearly energy against the degree-day form in the units it is published in."""

from __future__ import annotations

import pytest

from workbench.physics.energy import heating_energy, yearly_energy

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
    # Published form, E = 1.08 x 24 x cfm x share x HDD / efficiency [Btu]; value derived: 58.32 therm.
    assert pytest.approx(58.32, abs=1e-9) == 1.08 * 24.0 * 60.0 * 0.5 * 6000.0 / 0.80 / 1e5
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


def test_refusals() -> None:
    with pytest.raises(ValueError, match="share of house air"):
        heating_energy(0.03, 1.5, 1.2, 3000.0)
    with pytest.raises(ValueError, match="efficiency"):
        heating_energy(0.03, 0.5, 1.2, 3000.0, 0.0)
    with pytest.raises(ValueError, match="degree-days"):
        heating_energy(0.03, 0.5, 1.2, -1.0)
