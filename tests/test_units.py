"""Units: the factors against pint and published values, what people type, what they read."""

from __future__ import annotations

import math
import subprocess
import sys

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbench.units import (
    DIMENSIONS,
    SI,
    SYSTEMS,
    US,
    Dimension,
    System,
    UnitError,
    format_entry,
    format_quantity,
    from_display,
    parse_quantity,
    to_display,
    unit_of,
)

# One shown unit in pint's own terms; pint's definitions are an implementation of their own.
IN_PINT: dict[tuple[Dimension, System], tuple[str, str]] = {
    ("length", US): ("foot", "m"),
    ("small_length", SI): ("millimeter", "m"),
    ("small_length", US): ("inch", "m"),
    ("volume", SI): ("liter", "m**3"),
    ("volume", US): ("gallon", "m**3"),
    ("flow", SI): ("liter/second", "m**3/s"),
    ("flow", US): ("foot**3/minute", "m**3/s"),
    ("pressure", US): ("inch_H2O", "Pa"),
    ("velocity", US): ("foot/minute", "m/s"),
    ("density", US): ("pound/foot**3", "kg/m**3"),
    ("fraction", SI): ("percent", ""),
    ("speed", US): ("percent", ""),
    ("degree_days", US): ("delta_degF*day", "K*day"),
    ("resistance", SI): ("Pa/(liter/second)", "Pa*s/m**3"),
    ("resistance2", SI): ("Pa/(liter/second)**2", "Pa*s**2/m**6"),
}


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry:
    return pint.UnitRegistry()


@pytest.mark.parametrize(("dimension", "system"), IN_PINT)
def test_factor_agrees_with_pint(registry: pint.UnitRegistry, dimension: Dimension, system: System) -> None:
    shown, si = IN_PINT[dimension, system]
    expected = registry.Quantity(1.0, shown).to(si).magnitude
    assert unit_of(dimension, system).factor == pytest.approx(expected, rel=1e-12)
    assert unit_of(dimension, system).offset == 0.0


@pytest.mark.parametrize(
    ("dimension", "si"),
    [
        # NIST SP 811 (2008), appendix B.8, to half a unit of its seventh figure
        ("pressure", 2.490889e2),  # inch of water, conventional
        ("flow", 4.719474e-4),  # cubic foot per minute
        ("volume", 3.785412e-3),  # gallon, US liquid
        ("density", 1.601846e1),  # pound per cubic foot
        ("velocity", 5.08e-3),  # foot per minute
        ("length", 3.048e-1),
        ("small_length", 2.54e-2),
    ],
)
def test_factor_agrees_with_nist(dimension: Dimension, si: float) -> None:
    assert from_display(1.0, dimension, US) == pytest.approx(si, rel=5e-7)


@pytest.mark.parametrize(("celsius", "fahrenheit"), [(0.0, 32.0), (100.0, 212.0), (-40.0, -40.0)])
def test_temperature_scales_meet_at_their_fixed_points(celsius: float, fahrenheit: float) -> None:
    kelvin = from_display(celsius, "temperature", SI)
    assert kelvin == pytest.approx(celsius + 273.15)
    assert to_display(kelvin, "temperature", US) == pytest.approx(fahrenheit, abs=1e-10)


READ: list[tuple[str, Dimension, System, float]] = [
    ("76.2", "small_length", SI, 0.0762),
    ("76,2", "small_length", SI, 0.0762),
    ("3", "small_length", US, 0.0762),
    ("3 in", "small_length", SI, 0.0762),
    ('3"', "small_length", SI, 0.0762),
    ("1 1/2 in", "small_length", SI, 0.0381),
    ('1-1/2"', "small_length", SI, 0.0381),
    ("1½ in", "small_length", SI, 0.0381),
    ("3/4", "small_length", US, 0.01905),
    ("24 mm", "small_length", US, 0.024),
    ("10 ft", "length", SI, 3.048),
    ("1 ft 6 in", "length", SI, 0.4572),
    ("5' 6\"", "length", SI, 1.6764),
    ("5'6", "length", US, 1.6764),
    ("5 ft 6 1/2 in", "length", SI, 1.6891),
    ("1 m 20 cm", "length", US, 1.2),
    ("0.5 inH2O", "pressure", SI, 124.544455),
    ("0.5 in. w.c.", "pressure", SI, 124.544455),
    ("0,5 iwc", "pressure", SI, 124.544455),
    ('0.5"', "pressure", SI, 124.544455),
    ('.5 " w.c.', "pressure", US, 124.544455),
    ("0.5 Inches of Water", "pressure", US, 124.544455),
    ("125 Pa", "pressure", US, 125.0),
    ("125pa", "pressure", US, 125.0),
    ("−5", "pressure", SI, -5.0),
    ("–5 Pa", "pressure", US, -5.0),
    ("2 kPa", "pressure", SI, 2000.0),
    ("80 cfm", "flow", SI, 80 * 4.719474432e-4),
    ("80 CFM", "flow", SI, 80 * 4.719474432e-4),
    ("30 L/s", "flow", US, 0.03),
    ("90 m3/h", "flow", SI, 0.025),
    ("90 m³/h", "flow", US, 0.025),
    ("1 ft3/s", "flow", SI, 0.028316846592),
    ("2 gal", "volume", SI, 7.570823568e-3),
    ("1 cu ft", "volume", US, 0.028316846592),
    ("38 l", "volume", US, 0.038),
    ("5 °C", "temperature", US, 278.15),
    ("41 F", "temperature", SI, 278.15),
    ("-40", "temperature", US, 233.15),
    ("60 %", "speed", SI, 0.6),
    ("62,5", "speed", US, 0.625),
    ("1/2", "ratio", SI, 0.5),
    ("2000 fpm", "velocity", SI, 10.16),
    ("0.06 kW", "power", SI, 60.0),
    ("0.5 MWh", "energy_kwh", SI, 500.0),
    ("5400 °F·d", "degree_days", SI, 3000.0),
    ("0.5 in. w.c./(100 cfm)", "resistance", SI, 124.544455 / 0.04719474432),
    ("35 dBA", "level", SI, 35.0),
    ("1 234,5", "money", SI, 1234.5),
    ("12\u202f500", "money", SI, 12500.0),
    ("0,125", "ratio", SI, 0.125),
    ("1.5e-3", "ratio", SI, 0.0015),
]


@pytest.mark.parametrize(("text", "dimension", "system", "si"), READ)
def test_reads_what_people_type(text: str, dimension: Dimension, system: System, si: float) -> None:
    assert parse_quantity(text, dimension, system) == pytest.approx(si, rel=1e-12)


def test_one_pipe_typed_two_ways_is_one_pipe() -> None:
    assert parse_quantity("3 in", "small_length", SI) == parse_quantity("76.2 mm", "small_length", US) == 0.0762


REFUSED: list[tuple[str, Dimension, str]] = [
    ("abc", "flow", "“abc” is not a number."),
    ("", "flow", "Type a number."),
    ("80 cfm", "pressure", "80 cfm is a flow, not a pressure."),
    ("125 Pa", "flow", "125 Pa is a pressure, not a flow."),
    ("5 C", "length", "5 C is a temperature, not a length."),
    ("3 ft", "ratio", "3 ft is a length, not a plain number."),
    ("1,234.5", "flow", "mixes decimal marks"),
    ("1.234.567", "money", "mixes decimal marks"),
    ("1,234", "flow", "can be read two ways: type 1234 or 1.234."),
    ("3/0", "flow", "divides by zero"),
    ("3 4", "flow", "more than one number"),
    ("1 2 345", "money", "more than one number"),
    ("1 ft 20 Pa", "pressure", "more than one number"),
    ("1 m 20", "length", "lacks a unit"),
    ("2 wombats", "flow", "“wombats” is not a known unit."),
    ("2 m**9", "length", "is not a known unit."),
    ("2 )(", "length", "is not a number."),
    ("$12", "money", "Type the amount alone"),
    ("12 EUR", "price_per_kwh", "Type the amount alone"),
    ("35 Pa", "level", "not a sound level"),
    ("1e999", "ratio", "too large"),
    ("nan", "ratio", "not a number"),
    ("inf", "ratio", "not a number"),
]


@pytest.mark.parametrize(("text", "dimension", "sentence"), REFUSED)
def test_refuses_in_words(text: str, dimension: Dimension, sentence: str) -> None:
    with pytest.raises(UnitError) as refusal:
        parse_quantity(text, dimension, SI)
    assert sentence in str(refusal.value)


@given(
    st.one_of(
        st.text(max_size=12),
        st.from_regex(r"\A-?[0-9]{1,3}([.,/][0-9]{1,3})? ?[a-zA-Z0-9°µ²³ ./*^()\"'·-]{0,8}\Z"),
    ),
    st.sampled_from(DIMENSIONS),
    st.sampled_from(SYSTEMS),
)
def test_any_text_gives_a_finite_number_or_a_sentence(text: str, dimension: Dimension, system: System) -> None:
    try:
        outcome: float | str = parse_quantity(text, dimension, system)
    except UnitError as refusal:
        outcome = str(refusal)
    assert outcome.endswith(".") if isinstance(outcome, str) else math.isfinite(outcome)


@given(
    st.floats(-1e6, 1e6).filter(lambda x: x == 0 or abs(x) > 1e-4),
    st.sampled_from(DIMENSIONS),
    st.sampled_from(SYSTEMS),
)
def test_an_entry_reads_back_as_what_it_shows(shown: float, dimension: Dimension, system: System) -> None:
    si = from_display(shown, dimension, system)
    assert to_display(si, dimension, system) == pytest.approx(shown, rel=1e-12, abs=1e-9)
    back = parse_quantity(format_entry(si, dimension, system, with_unit=True), dimension, system)
    # four figures of a conversion at the least
    assert to_display(back, dimension, system) == pytest.approx(shown, rel=5.1e-4, abs=1e-9)


@given(st.floats(allow_nan=True, allow_infinity=True), st.sampled_from(DIMENSIONS), st.sampled_from(SYSTEMS))
def test_a_read_out_never_shows_an_exponent_or_a_hyphen(value: float, dimension: Dimension, system: System) -> None:
    number = format_quantity(value, dimension, system, with_unit=False).removeprefix("below ")
    if dimension == "chance":
        # never told as certain
        number = number.removeprefix("> ").removeprefix("< ")
    assert set(number) <= set("0123456789.−–∞\u202f")


@pytest.mark.parametrize(
    ("value", "dimension", "system", "text"),
    [
        (0.8897, "chance", SI, "88 %"),
        (1.0, "chance", US, "> 99 %"),
        (0.03, "flow", SI, "30.0 L/s"),
        (0.03, "flow", US, "63.6 cfm"),
        (5.0, "pressure", SI, "5.0 Pa"),
        (0.75, "pressure", SI, "0.75 Pa"),
        (62.3, "pressure", SI, "62 Pa"),
        (437.4, "pressure", SI, "437 Pa"),
        (9.96, "pressure", SI, "10 Pa"),
        (-3.3, "pressure", SI, "−3.3 Pa"),
        (-1e-17, "pressure", SI, "0.00 Pa"),
        (0.0, "pressure", SI, "0.0 Pa"),
        (0.75, "pressure", US, "0.003 in. w.c."),
        (0.75, "hole_pressure", US, "0.75 Pa"),
        (0.0762, "small_length", US, "3.00 in."),
        (278.15, "temperature", US, "41 °F"),
        (0.62, "speed", SI, "62.0 %"),
        (1.0, "speed", SI, "100 %"),
        (35.4, "level", US, "35 dB(A)"),
        (1234.5, "money", SI, "1234"),
        (12345.6, "money", SI, "12\u202f346"),
        (math.nan, "flow", SI, "– L/s"),
    ],
)
def test_read_outs_carry_the_precision_they_deserve(
    value: float, dimension: Dimension, system: System, text: str
) -> None:
    assert format_quantity(value, dimension, system) == text


@pytest.mark.parametrize("level", [14.99, 4.2, 0.0, -5.1, -math.inf])
@pytest.mark.parametrize("system", SYSTEMS)
def test_what_is_hardly_heard_has_no_figure(level: float, system: System) -> None:
    # A judgement: a bedroom at night is seldom quieter than 20 dB(A), and no law of fans speaks of levels so far down.
    assert format_quantity(level, "heard", system) == "below 15 dB(A), hardly audible"
    assert format_quantity(level, "heard", system, digits=3) == "below 15 dB(A), hardly audible"
    assert format_quantity(level, "heard", system, with_unit=False) == "below 15"


def test_what_is_heard_has_its_figure_and_a_limit_always_has() -> None:
    assert format_quantity(15.2, "heard", SI) == "15 dB(A)"
    assert format_quantity(35.4, "heard", US, with_unit=False) == "35"
    assert format_quantity(math.nan, "heard", SI, with_unit=False) == "–"
    assert format_quantity(10.0, "level", SI) == "10 dB(A)"


def test_read_out_takes_other_digits_on_request() -> None:
    assert format_quantity(62.34, "pressure", SI, digits=3) == "62.3 Pa"
    assert format_quantity(0.996, "fraction", SI, with_unit=False, digits=3) == "99.6"


@pytest.mark.parametrize(
    ("value", "dimension", "system", "text"),
    [
        (0.0762, "small_length", US, "3"),
        (0.0381, "small_length", SI, "38.1"),
        (249.089, "pressure", SI, "249.089"),
        (249.08891, "pressure", SI, "249.1"),
        (249.08891, "pressure", US, "1"),
        (124.544455, "pressure", US, "0.5"),
        (-2.5, "pressure", SI, "−2.5"),
        (0.0, "pressure", SI, "0"),
        (1234.56, "money", SI, "1234.56"),
    ],
)
def test_an_entry_is_short(value: float, dimension: Dimension, system: System, text: str) -> None:
    assert format_entry(value, dimension, system) == text


def test_plain_numbers_do_not_wait_for_pint() -> None:
    lines = (
        "import sys",
        "from workbench.units import SI, US, parse_quantity, format_quantity",
        "format_quantity(parse_quantity('62,5', 'speed', SI), 'speed', US)",
        "parse_quantity('30 L/s', 'flow', SI)",
        "sys.exit('pint' in sys.modules)",
    )
    assert subprocess.run([sys.executable, "-c", "\n".join(lines)], check=False).returncode == 0


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (1.61e-6, "1.61e-6"), (-2.5e-7, "−250e-9"), (9.99e-6, "9.99e-6"), (1e-5, "0.00001"), (4.2e-12, "4.2e-12"),
        (0.0, "0"), (0.00031, "0.00031"), (1.0 / 3.0e6, "333.3e-9"),
    ],
)  # fmt: skip
def test_a_tiny_entry_is_written_by_powers_of_a_thousand_and_read_back(value: float, text: str) -> None:
    assert format_entry(value, "ratio", SI) == text
    assert parse_quantity(text, "ratio", SI) == pytest.approx(value, rel=2e-4)
