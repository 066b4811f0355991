"""Heating fuels: their figures beside those printed, and prices by whatever they are sold by."""

from __future__ import annotations

import re

import pytest
from pydantic import ValidationError

from workbench.design import Prices
from workbench.design.edit import choose_fuel
from workbench.design.fuels import fuel_kinds
from workbench.design.record import with_value
from workbench.files.scenes import load_scene
from workbench.units import SI, US, UnitError, parse_quantity

KWH_OF_BTU = 1055.056 / 3.6e6
"""International Table (NIST SP 811, appendix B.8)."""
GALLON, FOOT = 3.785412e-3, 0.3048
PRINTED = {
    # US EIA, Energy conversion calculators, from memory: Btu in a cubic foot or a gallon
    "natural gas": (1036, FOOT**3, 52.91),
    "heating oil": (137381, GALLON, 74.14),
    "propane": (91452, GALLON, 62.88),
    "kerosene": (135000, GALLON, 73.19),
}
"""With it kg of carbon dioxide for a million Btu (US EIA, Carbon dioxide emissions coefficients, from memory)."""


@pytest.mark.parametrize("key", list(fuel_kinds()))
def test_heat_and_carbon_dioxide_are_those_printed(key: str) -> None:
    fuel, (btu, volume, co2) = fuel_kinds()[key], PRINTED[key]
    assert fuel.heat == pytest.approx(btu * KWH_OF_BTU / volume, rel=2e-5)
    assert fuel.co2 == pytest.approx(co2 / 1e6 / KWH_OF_BTU, rel=3e-4)
    assert re.sub(r"[^0-9]", "", fuel.printed) == str(btu)
    assert fuel.co2_printed.startswith(str(co2))
    assert fuel.tag == "from memory"
    assert fuel.credit.startswith(fuel.printed)


@pytest.mark.parametrize(
    ("fuel", "text", "per_kwh"),
    [
        ("heating oil", "4.00/gal", 4.00 / 40.263),
        ("heating oil", "1.05 per L", 1.05 / 10.6362),
        ("propane", "$2.75 per gallon", 2.75 / 26.802),
        ("propane", "0.62/liter", 0.62 / 7.0803),
        ("kerosene", "5/gal", 5 / 39.565),
        ("natural gas", "1.45/ccf", 1.45 / 30.362),
        ("natural gas", "14.50/mcf", 14.50 / 303.62),
        ("natural gas", "1.10 per m³", 1.10 / 10.722),
        ("natural gas", "1.40/therm", 1.40 / 29.3071),
        ("natural gas", "13 ct/kWh", 0.13),
        ("heating oil", "0.09", 0.09),
        ("heating oil", "26.50/MMBtu", 26.50 / 293.071),
    ],
)
@pytest.mark.parametrize("system", [SI, US])
def test_a_price_by_whatever_the_fuel_is_sold_by(fuel: str, text: str, per_kwh: float, system: object) -> None:
    read = parse_quantity(text, "price_per_kwh", system, "USD", fuel_kinds()[fuel])  # type: ignore[arg-type]
    assert read == pytest.approx(per_kwh, rel=1e-4)


@pytest.mark.parametrize(
    ("fuel", "text", "sentence"),
    [
        ("natural gas", "3/gal", "Natural gas is not sold by the gal: type the price per therm, ccf, m³ or kWh."),
        ("propane", "1.20/ccf", "Propane is not sold by the ccf: type the price per gal, L or kWh."),
        ("propane", "1.20/lb", "depends on the fuel: type the price per kWh or per therm."),
        ("propane", "1.20/ft", "does not measure"),
        (None, "3/gal", "depends on the fuel: type the price per kWh or per therm, or select the heating fuel"),
    ],
)
def test_a_measure_that_tells_no_energy_is_refused_in_words(fuel: str | None, text: str, sentence: str) -> None:
    with pytest.raises(UnitError) as refusal:
        parse_quantity(text, "price_per_kwh", US, "USD", None if fuel is None else fuel_kinds()[fuel])
    assert sentence in str(refusal.value)


def test_choosing_a_fuel_enters_its_carbon_dioxide_and_leaves_ones_own() -> None:
    design = with_value(load_scene(), ("prices", "heat_co2"), None)
    oil = choose_fuel(design, "heating oil")
    assert (oil.prices.heat_fuel, oil.prices.heat_co2) == ("heating oil", fuel_kinds()["heating oil"].co2)
    assert choose_fuel(oil, "propane").prices.heat_co2 == fuel_kinds()["propane"].co2
    assert choose_fuel(oil, "") == design
    own = with_value(oil, ("prices", "heat_co2"), 0.31)
    assert choose_fuel(own, "natural gas").prices.heat_co2 == 0.31
    assert choose_fuel(oil, "propane").prices.heat == design.prices.heat


def test_a_fuel_that_nobody_knows_is_refused() -> None:
    with pytest.raises(ValidationError, match="there is no fuel called 'peat'"):
        Prices(heat_fuel="peat")
