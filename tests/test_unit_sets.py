"""Sets of units: what each quantity can be shown in, entries as they were typed, prices, the sign of readings."""

from __future__ import annotations

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbench.units import (
    CUSTOM,
    DIMENSIONS,
    OFFERED,
    QUANTITIES,
    SI,
    SYSTEMS,
    US,
    US_GALLON,
    Dimension,
    System,
    Unit,
    UnitError,
    as_read,
    exact_entry,
    format_entry,
    format_quantity,
    from_display,
    parse_quantity,
    system_of,
    to_display,
    unit_of,
)

# One unit in pint's own terms; pint's definitions are an implementation of their own.
IN_PINT = {
    "cfm": "foot**3/minute", "L/s": "liter/second", "m³/h": "meter**3/hour", "L/min": "liter/minute",
    "in. w.c.": "inch_H2O", "Pa": "pascal", "kPa": "kilopascal", "mm w.c.": "millimeter_H2O",
    "ft": "foot", "m": "meter", "in.": "inch", "mm": "millimeter", "cm": "centimeter",
    "gal": "gallon", "L": "liter", "ft³": "foot**3", "fpm": "foot/minute", "m/s": "meter/second",
    "kWh": "kilowatt_hour", "MJ": "megajoule", "therms": "therm",
}  # fmt: skip
INSIDE = {
    "flow": "m**3/s", "pressure": "Pa", "hole_pressure": "Pa", "length": "m", "small_length": "m", "volume": "m**3",
    "velocity": "m/s", "energy_kwh": "kWh",
}  # fmt: skip
EACH_UNIT = [(quantity, unit) for quantity in QUANTITIES for unit in OFFERED[quantity]]
ODD = system_of(CUSTOM, {quantity: OFFERED[quantity][-1].label for quantity in QUANTITIES}, US)
MIXED = system_of(CUSTOM, {"flow": "m³/h", "hole_pressure": "in. w.c.", "small_length": "cm", "volume": "L"}, US)
EVERY = (*SYSTEMS, ODD, MIXED)


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry:
    return pint.UnitRegistry()


def showing(quantity: Dimension, unit: Unit) -> System:
    return system_of(CUSTOM, {quantity: unit.label}, SI)


@pytest.mark.parametrize(("quantity", "unit"), EACH_UNIT)
def test_each_unit_offered_is_what_it_is_called(registry: pint.UnitRegistry, quantity: Dimension, unit: Unit) -> None:
    assert unit_of(quantity, showing(quantity, unit)) == unit
    if quantity == "temperature":
        kelvin = registry.Quantity(20.0, {"°F": "degF", "°C": "degC"}[unit.label]).to("K").magnitude
        assert from_display(20.0, quantity, showing(quantity, unit)) == pytest.approx(kelvin, rel=1e-12)
        return
    expected = registry.Quantity(1.0, IN_PINT[unit.label]).to(INSIDE[quantity]).magnitude
    # pint has the Btu to seven figures only
    assert unit.factor == pytest.approx(expected, rel=3e-7 if unit.label == "therms" else 1e-12)


@pytest.mark.parametrize(("quantity", "unit"), EACH_UNIT)
def test_each_unit_offered_is_read_under_every_other(quantity: Dimension, unit: Unit) -> None:
    there = parse_quantity(f"12.5 {unit.label}", quantity, showing(quantity, unit))
    assert parse_quantity("12.5", quantity, showing(quantity, unit)) == there
    for system in EVERY:
        assert parse_quantity(f"12.5 {unit.label}", quantity, system) == pytest.approx(there, rel=1e-12)


def test_a_therm_is_that_of_the_international_table() -> None:
    """NIST SP 811, appendix B.8: therm (EC) 1.05506e8 J."""
    therm = next(unit for unit in OFFERED["energy_kwh"] if unit.label == "therms")
    assert therm.factor == pytest.approx(1.05506e8 / 3.6e6, rel=5e-6)
    assert f"{therm.factor:.6g}" == "29.3071"


def test_the_american_trade_reads_inches_at_the_fan_and_pascals_at_the_holes() -> None:
    assert format_quantity(118.3, "pressure", US) == "0.475 in. w.c."
    assert format_quantity(1.0, "hole_pressure", US) == "1.0 Pa"
    assert [US.label(quantity) for quantity in QUANTITIES] == list(US.labels)
    assert unit_of("small_length", US).label == "in."


def test_what_follows_a_quantity_follows_its_unit() -> None:
    mixed = system_of(
        CUSTOM, {"flow": "cfm", "pressure": "Pa", "length": "m", "volume": "ft³", "small_length": "in."}, SI
    )
    assert unit_of("area", mixed).label == "m²"
    assert unit_of("price_per_length", mixed).label == "per m"
    assert unit_of("price_per_area", mixed).label == "per m²"
    assert unit_of("price_per_volume", mixed).label == "per ft³"
    assert unit_of("leak_area", mixed).label == "in.²"
    assert unit_of("resistance", mixed).label == "Pa/(100 cfm)"
    # 1 Pa at 100 cfm, 1 cfm being 0.4719474 L/s (NIST SP 811, appendix B.8)
    assert to_display(1.0 / 0.04719474, "resistance", mixed) == pytest.approx(1.0, rel=1e-6)
    assert to_display(1.0 / 0.04719474**2, "resistance2", mixed) == pytest.approx(1.0, rel=1e-6)


def test_a_set_can_be_compared_and_kept_in_a_table() -> None:
    assert system_of(CUSTOM, {}, US) == system_of(CUSTOM, {}, US) != US
    assert len({SI, US, system_of(CUSTOM, {}, US), system_of(CUSTOM, {}, US)}) == 3


@pytest.mark.parametrize("odd", ["", "furlong", "L/s"])
def test_a_unit_that_is_not_offered_leaves_that_of_the_other_set(odd: str) -> None:
    assert system_of(CUSTOM, {"length": odd}, US).label("length") == "ft"


def test_round_figures_go_by_the_unit_shown() -> None:
    liters = system_of(CUSTOM, {"volume": "L"}, US)
    assert (US.round_in("volume", 10.0, 40.0), liters.round_in("volume", 10.0, 40.0)) == (10.0, 40.0)


# --- entries ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "dimension", "system", "shown", "exact"),
    [
        (10.0 * US_GALLON, "volume", US, "10", ""),
        (0.038, "volume", US, "10.04", "10.03853799 gal"),
        (10.0385 * US_GALLON, "volume", US, "10.0385", ""),
        (0.12, "small_length", US, "4.724", "4.724409449 in."),
        (1.0, "pressure", US, "0.004015", "0.00401463076 in. w.c."),
        (1.0, "hole_pressure", US, "1", ""),
        (0.028, "volume", US, "7.397", "7.396817466 gal"),
        (0.41842199, "fraction", SI, "41.84", "41.842199 %"),
        (12345.678, "length", SI, "12346", "12345.678 m"),
        (273.15, "temperature", SI, "0", ""),
        (261.15, "temperature", US, "10.4", ""),
        (0.0254 / 16.0, "small_length", US, "0.0625", ""),
        (1000.0 / 3.0, "pressure", SI, "333.3", "333.3333333 Pa"),
    ],
)
def test_what_was_entered_shows_as_entered_and_what_was_converted_is_rounded(
    value: float, dimension: Dimension, system: System, shown: str, exact: str
) -> None:
    assert format_entry(value, dimension, system) == shown
    assert exact_entry(value, dimension, system) == exact


@given(st.integers(-999_999, 999_999), st.integers(0, 6), st.sampled_from(DIMENSIONS), st.sampled_from(EVERY))
def test_six_figures_come_back_as_they_were_typed(
    figures: int, places: int, dimension: Dimension, system: System
) -> None:
    typed = f"{figures / 10**places:.{places}f}"
    value = parse_quantity(typed, dimension, system)
    written = format_entry(value, dimension, system).replace("−", "-")
    assert float(written) == pytest.approx(float(typed), rel=1e-12, abs=1e-9)


@given(st.floats(1e-6, 1e6), st.sampled_from(DIMENSIONS), st.sampled_from(EVERY))
def test_a_conversion_never_shows_more_than_its_figures(value: float, dimension: Dimension, system: System) -> None:
    text = format_entry(value, dimension, system).replace("−", "-")
    # the power of ten of what is tiny is no figure of it
    whole, _, places = text.lstrip("-").partition("e")[0].partition(".")
    figures = len((whole + places).lstrip("0"))
    as_typed = math.isclose(from_display(float(text), dimension, system), value, rel_tol=1e-9)
    assert figures <= (6 if as_typed else 4) or not places


# --- prices -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "currency", "per_kwh"),
    [
        ("0.30", None, 0.30),
        ("0.30 per kWh", None, 0.30),
        ("0.30/kWh", None, 0.30),
        ("1.10/therm", None, 1.10 / 29.3071),
        ("1.10 per therm", None, 1.10 / 29.3071),
        ("$1.10/therm", "USD", 1.10 / 29.3071),
        ("$0.15/kWh", "USD", 0.15),
        ("0.15 $/kWh", "USD", 0.15),
        ("0.15 USD per kWh", "USD", 0.15),
        ("15 ct/kWh", None, 0.15),
        ("15¢/kWh", "USD", 0.15),
        ("28p/kWh", "GBP", 0.28),
        ("150/MWh", None, 0.15),
        ("0,12 €/kWh", "EUR", 0.12),
        ("12 / MMBtu", None, 12.0 / 293.071),
        ("36 / GJ", None, 36.0 * 0.0036),
    ],
)
def test_a_price_of_energy_is_read_with_its_own_unit(text: str, currency: str | None, per_kwh: float) -> None:
    for system in EVERY:
        assert parse_quantity(text, "price_per_kwh", system, currency) == pytest.approx(per_kwh, rel=1e-5)


@pytest.mark.parametrize(
    ("text", "dimension", "si"),
    [
        ("3/ft", "price_per_length", 3.0 / 0.3048),
        ("3 per m", "price_per_length", 3.0),
        ("3", "price_per_length", 3.0 / 0.3048),
        ("$3/ft²", "price_per_area", 3.0 / 0.09290304),
        ("3 per sq ft", "price_per_area", 3.0 / 0.09290304),
        ("2/gal", "price_per_volume", 2.0 / 0.003785411784),
        ("50 ct", "small_money", 0.5),
    ],
)
def test_prices_of_lengths_areas_and_volumes_too(text: str, dimension: Dimension, si: float) -> None:
    assert parse_quantity(text, dimension, US, "USD") == pytest.approx(si, rel=1e-9)


@pytest.mark.parametrize(
    ("text", "dimension", "currency", "sentence"),
    [
        ("$3.50/gal", "price_per_kwh", "USD", "depends on the fuel"),
        ("3.50 per gallon", "price_per_kwh", "USD", "depends on the fuel"),
        ("0.9/m³", "price_per_kwh", "EUR", "depends on the fuel"),
        ("300/kg", "price_per_kwh", "EUR", "depends on the fuel"),
        ("3/ft", "price_per_kwh", "EUR", "“ft” does not measure an amount of energy."),
        ("3/kWh", "price_per_length", "EUR", "“kWh” does not measure a length."),
        ("$0.15/kWh", "price_per_kwh", "EUR", "The prices here are in EUR"),
        ("28p/kWh", "price_per_kwh", "USD", "The prices here are in USD"),
        ("$0.15/kWh", "price_per_kwh", None, "Type the amount alone"),
        ("12 per month", "money", "EUR", "Type the amount alone"),
        ("$", "money", "USD", "is not a number"),
        ("1,100/therm", "price_per_kwh", None, "can be read two ways"),
    ],
)
def test_a_price_that_says_something_else_is_refused_in_words(
    text: str, dimension: Dimension, currency: str | None, sentence: str
) -> None:
    with pytest.raises(UnitError) as refusal:
        parse_quantity(text, dimension, US, currency)
    assert sentence in str(refusal.value)


# --- signs ------------------------------------------------------------------------------------------------------------


def test_a_reading_turns_its_sign_and_back() -> None:
    from msgspec.structs import replace

    field = replace(US, minus_is_suction=True)
    assert (as_read(12.5, US), as_read(12.5, field)) == (12.5, -12.5)
    assert as_read(as_read(0.1, field), field) == 0.1
    assert math.copysign(1.0, as_read(0.0, field)) == 1.0
