"""What people type, read as SI values."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from functools import cache
from typing import Any, Final

from workbench.design.fuels import Fuel
from workbench.units.sets import SI, SYSTEMS, Dimension, System, from_display, unit_of


class UnitError(ValueError):
    """What was typed cannot be read as the quantity asked for; the message is a sentence for the person typing."""


_WORDS: Final[Mapping[Dimension, str]] = {
    "length": "a length", "small_length": "a length", "volume": "a volume", "flow": "a flow",
    "pressure": "a pressure", "hole_pressure": "a pressure",
    "velocity": "an air speed", "temperature": "a temperature", "density": "a density",
    "power": "a power", "energy_kwh": "an amount of energy", "price_per_kwh": "a price per kWh",
    "money": "an amount of money", "fraction": "a percentage", "chance": "a percentage",
    "speed": "a percentage of full speed",
    "degree_days": "a number of degree-days", "level": "a sound level", "heard": "a sound level",
    "ratio": "a plain number",
    "resistance": "a flow resistance", "resistance2": "a flow resistance", "roughness": "a length",
    "level_difference": "a difference of sound levels", "count": "a number of things",
    "permeability": "a permeability", "leakage": "a leakage for each area", "area": "an area",
    "leak_area": "an area", "co2_per_kwh": "an amount of CO₂ per kWh", "mass": "a mass", "conductance": "a conductance",
    "angle": "an angle", "duration": "a length of time",
    "price_per_length": "a price for a length", "price_per_area": "a price for an area",
    "price_per_volume": "a price for a volume", "small_money": "an amount of money", "radon": "a radon concentration",
}  # fmt: skip

# what pint is asked for, where a dimension has typed units at all
_INSIDE: Final[Mapping[Dimension, str]] = {
    "length": "m", "small_length": "m", "volume": "m**3", "flow": "m**3/s", "pressure": "Pa", "hole_pressure": "Pa",
    "velocity": "m/s",
    "temperature": "K", "density": "kg/m**3", "power": "W", "energy_kwh": "kWh", "fraction": "dimensionless",
    "speed": "dimensionless", "ratio": "dimensionless", "degree_days": "K*day", "resistance": "Pa*s/m**3",
    "resistance2": "Pa*s**2/m**6", "roughness": "m", "count": "dimensionless",
    "permeability": "m**2", "leakage": "m/s/Pa", "area": "m**2",
    "leak_area": "m**2", "mass": "kg", "conductance": "W/m**2/K", "angle": "radian", "duration": "s",
    "radon": "becquerel/m**3",
}  # fmt: skip

# Trade spellings, keyed without blanks and full stops and in lower case. pint alone reads "cfm" as centifermis, "pa"
# as picoyears, "C" as coulombs and "F" as farads.
_PINT_SPELLINGS: Final[Mapping[str, str]] = {
    "inch_H2O": (
        "inwc inwg iwc iwg inh2o inh₂o inchwc inchwg incheswc incheswg inchh2o inchesh2o inwater inchwater incheswater "
        "inchofwater inchesofwater inchwatercolumn incheswatercolumn inchesofwatercolumn inchwatergauge "
        'incheswatergauge "wc "wg "h2o ″wc ″wg ″h2o wc wg'
    ),
    "millimeter_H2O": "mmh2o mmh₂o mmwc mmwg mmws",
    "pascal": "pa pascal pascals",
    "kilopascal": "kpa kilopascal kilopascals",
    "hectopascal": "hpa",
    "millibar": "mbar",
    "inch": "in inch inches \" ″ ” ''",
    "foot": "ft foot feet ' ′ ’",
    "meter": "m metre metres meter meters",
    "centimeter": "cm centimetre centimetres",
    "millimeter": "mm millimetre millimetres",
    "foot**3/minute": "cfm ft3/min ft³/min cuft/min cubicfeetperminute",
    "meter**3/hour": "m3/h m³/h m^3/h m3h m³h cmh m3/hr m³/hr",
    "liter/second": "l/s lps l/sec",
    "liter/minute": "l/min lpm",
    "becquerel/meter**3": "bq/m3 bq/m³ bq/m^3 bqm-3 becquerel/m3",
    "picocurie/liter": "pci/l picocuries/l picocurie/liter picocuriesperliter",
    "liter": "l litre litres liter liters",
    "gallon": "gal gals gallon gallons usgal usgallon usgallons",
    "foot**3": "ft3 ft³ cuft cf cubicfeet cubicfoot",
    "inch**3": "in3 in³ cuin cubicinches",
    "foot**2": "ft2 ft² sqft squarefeet squarefoot",
    "inch**2": "in2 in² sqin squareinches",
    "foot/minute": "fpm ft/min feetperminute",
    "degC": "c °c degc ℃ celsius",
    "degF": "f °f degf ℉ fahrenheit",
    "kelvin": "k kelvin",
    "watt": "w watt watts",
    "kilowatt": "kw",
    "watt*hour": "wh",
    "kilowatt*hour": "kwh",
    "megawatt*hour": "mwh",
    "megajoule": "mj",
    "gigajoule": "gj",
    "btu_table": "btu btus",
    "million_btu": "mmbtu",
    "therm_table": "therm therms thm",
    "hundred_cubic_feet": "ccf",
    "thousand_cubic_feet": "mcf",
    "percent": "% percent pct",
    "degree": "° deg degree degrees",
    "day": "d day days",
    "calendar_month": "month months",
    "calendar_year": "y yr year years",
    "kelvin*day": "k·d k*d kd °c·d °cd c·d",
    "delta_degF*day": "°f·d °fd f·d f*d fd",
    "inch_H2O/flow_of_100_cfm": "inwc/(100cfm)",
    "inch_H2O/flow_of_100_cfm**2": "inwc/(100cfm)²",
}
_SPELLINGS: Final = {key: name for name, keys in _PINT_SPELLINGS.items() for key in keys.split()}
# "0.5 in" beside a pressure gauge means inches of water
_IN_A_PRESSURE_FIELD: Final = {key: "inch_H2O" for key, name in _SPELLINGS.items() if name == "inch"}
_PRICED: Final[Mapping[Dimension, Dimension]] = {
    "price_per_kwh": "energy_kwh", "price_per_length": "length", "price_per_area": "area",
    "price_per_volume": "volume",
}  # fmt: skip
_MONEY: Final = ("money", "small_money", *_PRICED)
_CURRENCIES: Final[Mapping[str, tuple[str, ...]]] = {
    "$": ("USD", "CAD", "AUD", "NZD", "MXN", "HKD", "SGD"), "€": ("EUR",), "£": ("GBP",), "¥": ("JPY", "CNY"),
    "¢": ("USD", "CAD", "AUD", "NZD"), "p": ("GBP",), "pence": ("GBP",),
    **{code: (code,) for code in ("USD", "EUR", "GBP", "CAD", "AUD", "NZD", "CHF", "SEK", "NOK", "DKK", "JPY")},
}  # fmt: skip
"""What people write beside an amount, and the currencies (ISO 4217) that it may mean."""
_HUNDREDTHS: Final = ("ct", "c", "cent", "cents", "¢", "p", "pence")
_ONLY_THE_AMOUNT: Final = "Type the amount alone; the currency is set once, with the prices."
_BY_ENERGY: Final = "How much energy there is in one {} depends on the fuel: type the price per kWh or per therm."
_SOLD_BY: Final = {
    "gas": ("foot**3", "hundred_cubic_feet", "thousand_cubic_feet"),
    "liquid": ("gallon", "liter"),
}
_USUAL: Final = {"gas": "therm, ccf, m³ or kWh", "liquid": "gal, L or kWh"}
_LEVELS: Final = ("level", "heard", "level_difference")
_LEVEL_SPELLINGS: Final = frozenset({"db", "dba", "db(a)"})
_VULGAR: Final = {
    "¼": "1/4",
    "½": "1/2",
    "¾": "3/4",
    "⅛": "1/8",
    "⅜": "3/8",
    "⅝": "5/8",
    "⅞": "7/8",
    "⅓": "1/3",
    "⅔": "2/3",
}

_NUMBER: Final = r"""(?P<whole>\d+)(?:\s+|\s*-\s*)(?P<n>\d+)\s*[/⁄]\s*(?P<d>\d+)   # 1 1/2, 1-1/2
      | (?P<n0>\d+)\s*[/⁄]\s*(?P<d0>\d+)                             # 3/4
      | (?P<plain>(?:\d[\d.,]*(?:[ ]\d{3}(?!\d))*[\d.,]*|[.,]\d+)(?:[eE][+-]?\d+)?)"""
_BLANKS = str.maketrans(dict.fromkeys("\u00a0\u2007\u2009\u202f\t", " "))
# what of a unit is left to pint: names with small powers, multiplied or divided; anything odder makes pint stumble
_TERM = r"[A-Za-z\u00b5\u03bc]+(?:\^?[23]|[²³])?"
_TERMS = rf"{_TERM}(?:\s*[*/·]\s*{_TERM}|\s+{_TERM})*"
_UNIT: Final = rf"{_TERMS}(?:\s*/\s*\({_TERMS}\)(?:\^?[23]|[²³])?)?"


def parse_quantity(
    text: str, dimension: Dimension, system: System, currency: str | None = None, fuel: Fuel | None = None
) -> float:
    """What a person typed, as an SI value.

    A bare number is in the unit `system` shows. Decimal point or comma, fractions (``1 1/2``, ``1-1/2``, ``¾``), a
    true minus sign and typed units in the trade's spellings (``3"``, ``0.5 in. w.c.``, ``80 cfm``, ``1 ft 6 in``)
    are read; a number that can be read two ways is refused. A price takes its own unit (``1.10/therm``, ``15 ct/kWh``,
    ``$3 per ft``); money is said only where it is the `currency` of the prices. With a `fuel` a price of energy may be
    that of a volume of it (``3.89/gal``, ``1.30 per ccf``).

    Raises
    ------
    UnitError
        With one sentence that says what is wrong.
    """
    said, rest, negative = _unsigned(text)
    if dimension in _MONEY:
        size = _amount(rest, dimension, system, said, currency, fuel)
        return float(f"{-size if negative else size:.15g}")
    parts: list[tuple[float, str]] = []
    while rest:
        number, rest = _leading_number(rest, said)
        unit = _leading_unit(rest)
        rest = rest[len(unit) :]
        parts.append((number, unit.strip()))
    if not parts:
        raise UnitError(f"“{said}” is not a number.")
    if len(parts) > 1:
        if dimension not in ("length", "small_length"):
            raise UnitError(f"“{said}” is more than one number; type one.")
        # 5' 6 is five feet six inches
        if not parts[-1][1] and _SPELLINGS.get(_key(parts[-2][1])) == "foot":
            parts[-1] = (parts[-1][0], "in")
        if not all(unit for _, unit in parts):
            raise UnitError(f"“{said}” lacks a unit.")
    size = math.fsum(_as_si(-number if negative else number, unit, dimension, system, said) for number, unit in parts)
    # 3 in and 76.2 mm are one pipe: the last figure of a double must not part them
    return float(f"{size:.15g}")


def _unsigned(text: str) -> tuple[str, str, bool]:
    """What was typed, the same without its sign, and whether that was a minus. UnitError for nothing."""
    said = text.strip()
    rest = said.translate(_BLANKS).strip()
    for sign, words in _VULGAR.items():
        rest = rest.replace(sign, f" {words}")
    rest = rest.strip()
    if not rest:
        raise UnitError("Type a number.")
    negative = rest[0] in "-\N{MINUS SIGN}\N{EN DASH}"
    return said, rest[1:].lstrip() if negative or rest[0] == "+" else rest, negative


def _leading_number(rest: str, said: str) -> tuple[float, str]:
    """The number at the head of `rest`, and what follows it."""
    match = re.match(_NUMBER, rest, re.VERBOSE)
    if match is None:
        raise UnitError(f"“{said}” is not a number.")
    number = _number(match, said)
    rest = rest[match.end() :].lstrip()
    if rest and rest[0] in "0123456789":
        raise UnitError(f"“{said}” is more than one number; type one.")
    return number, rest


# --- money --------------------------------------------------------------------------------------------------------


def _amount(
    rest: str, dimension: Dimension, system: System, said: str, currency: str | None, fuel: Fuel | None
) -> float:
    """Money, or a price for one SI unit of what is priced."""
    before, rest = _leading_currency(rest)
    number, rest = _leading_number(rest, said)
    after, rest = _leading_currency(rest)
    for money in (before, after):
        _check_currency(money, currency)
    number = number / 100.0 if after.lower() in _HUNDREDTHS else number
    unit = re.sub(r"^(/|per\b)\s*", "", rest, flags=re.IGNORECASE).strip()
    priced = _PRICED.get(dimension)
    if not unit:
        return from_display(number, dimension, system)
    if priced is None:
        raise UnitError(_ONLY_THE_AMOUNT)
    if f"per {_key(unit)}" == _key_of_price(dimension, system):
        return from_display(number, dimension, system)
    price = number / _size_of(unit, priced, said, fuel)
    if not math.isfinite(price):
        raise UnitError(f"“{said}” is too large.")
    return price


def _leading_currency(rest: str) -> tuple[str, str]:
    """What names a currency at the head of `rest`, and what follows it."""
    match = re.match(r"[$€£¥¢]|[^\W\d_]+\b", rest)
    name = match.group() if match else ""
    known = name in _CURRENCIES or name.upper() in _CURRENCIES or name.lower() in _HUNDREDTHS
    return (name, rest[len(name) :].lstrip()) if known else ("", rest)


def _check_currency(money: str, currency: str | None) -> None:
    """UnitError where another currency than that of the prices is named."""
    if money.lower() in ("", "ct", "c", "cent", "cents"):
        # hundredths of whatever the currency is
        return
    if currency is None:
        raise UnitError(_ONLY_THE_AMOUNT)
    meant = _CURRENCIES.get(money) or _CURRENCIES.get(money.lower()) or _CURRENCIES.get(money.upper())
    if meant is not None and currency.upper() not in meant and money.upper() not in currency.upper():
        raise UnitError(f"The prices here are in {currency}; “{money}” is another currency.")


def _key_of_price(dimension: Dimension, system: System) -> str:
    return f"per {_key(unit_of(dimension, system).label.removeprefix('per '))}"


def _size_of(unit: str, dimension: Dimension, said: str, fuel: Fuel | None) -> float:
    """One unit of what is priced, in SI."""
    try:
        return _as_si(1.0, unit, dimension, SI, said)
    except UnitError:
        if dimension == "energy_kwh" and _is_of(unit, "volume"):
            return _energy_in(unit, fuel)
        if dimension == "energy_kwh" and _is_of(unit, "mass"):
            raise UnitError(_BY_ENERGY.format(unit)) from None
        raise UnitError(f"“{unit}” does not measure {_WORDS[dimension]}.") from None


def _energy_in(unit: str, fuel: Fuel | None) -> float:
    """Energy in a volume of a fuel [kWh]; UnitError without one, and for a measure that it is not sold by."""
    if fuel is None:
        raise UnitError(_BY_ENERGY.format(unit).rstrip(".") + ", or select the heating fuel first.")
    spelled = _SPELLINGS.get(_key(unit), unit)
    # a cubic meter may be either
    if spelled in _SOLD_BY["liquid" if fuel.state == "gas" else "gas"]:
        raise UnitError(f"{fuel.name} is not sold by the {unit}: type the price per {_USUAL[fuel.state]}.")
    return from_unit(1.0, unit, "volume") * fuel.heat


def _is_of(unit: str, dimension: Dimension) -> bool:
    try:
        from_unit(1.0, unit, dimension)
    except UnitError:
        return False
    return True


# --- units --------------------------------------------------------------------------------------------------------


def from_unit(number: float, unit: str, dimension: Dimension) -> float:
    """A number in a unit as people spell it, as an SI value. UnitError for what is no unit of that dimension."""
    key = _key(unit)
    system = next((each for each in SYSTEMS if key == _key(unit_of(dimension, each).label)), SI)
    return float(f"{_as_si(number, unit, dimension, system, f'{number:g} {unit}'):.15g}")


def _leading_unit(rest: str) -> str:
    """The unit at the head of `rest`, up to the next number of a compound such as ``1 ft 6 in``."""
    compound = re.match(r"(?:(?:ft|feet|foot|m)\.?\s+|['′’]\s*)(?=[.,]?\d)", rest, re.IGNORECASE)
    return compound.group() if compound else rest


def _number(match: re.Match[str], said: str) -> float:
    over = match["d"] or match["d0"]
    if over is not None:
        if int(over) == 0:
            raise UnitError(f"“{said}” divides by zero.")
        return int(match["whole"] or 0) + int(match["n"] or match["n0"]) / int(over)
    digits = match["plain"]
    mantissa, _, power = digits.lower().partition("e")
    points, commas = mantissa.count("."), mantissa.count(",")
    if points + commas > 1:
        raise UnitError(f"“{digits}” mixes decimal marks: type it with one decimal mark and nothing between thousands.")
    if re.fullmatch(r"[1-9]\d{0,2},\d{3}", mantissa):
        joined, pointed = mantissa.replace(",", ""), mantissa.replace(",", ".")
        raise UnitError(f"“{mantissa}” can be read two ways: type {joined} or {pointed}.")
    if " " in mantissa and not re.fullmatch(r"\d{1,3}( \d{3})+([.,]\d*)?", mantissa):
        raise UnitError(f"“{digits}” is more than one number; type one.")
    number = float(mantissa.replace(" ", "").replace(",", ".") + (f"e{power}" if power else ""))
    if number > 1e15:
        raise UnitError(f"“{said}” is too large.")
    return number


def _key(unit: str) -> str:
    return unit.lower().replace(" ", "").replace(".", "").replace("⁄", "/")


def _as_si(number: float, unit: str, dimension: Dimension, system: System, said: str) -> float:
    key = _key(unit)
    # the field's own unit needs no pint, whose first use costs a good part of a second
    if key in ("", _key(unit_of(dimension, system).label)):
        return from_display(number, dimension, system)
    if dimension in _LEVELS and key in _LEVEL_SPELLINGS:
        return number
    if dimension in _LEVELS:
        raise UnitError(f"“{said}” is not {_WORDS[dimension]}; type it in {unit_of(dimension, system).label}.")
    return _through_pint(number, unit, dimension, said)


@cache
def _registry() -> Any:
    import pint

    registry: Any = pint.UnitRegistry()
    registry.define("flow_of_100_cfm = 100 * foot**3 / minute")
    # two years between tests are 730 days
    registry.define("calendar_year = 365 * day")
    registry.define("calendar_month = 365 / 12 * day")
    # of the International Table, as a therm is
    registry.define("btu_table = 1055.05585262 * joule")
    registry.define("million_btu = 1e6 * btu_table")
    registry.define("therm_table = 1e5 * btu_table")
    registry.define("hundred_cubic_feet = 100 * foot**3")
    registry.define("thousand_cubic_feet = 1000 * foot**3")
    return registry


def _through_pint(number: float, unit: str, dimension: Dimension, said: str) -> float:
    key = _key(unit)
    spelled = _IN_A_PRESSURE_FIELD.get(key) if dimension in ("pressure", "hole_pressure") else None
    spelled = spelled or _SPELLINGS.get(key)
    if spelled is None:
        if not any(c.isalpha() for c in unit):
            raise UnitError(f"“{said}” is not a number.")
        plain = unit.rstrip(". ")
        if len(plain) > 30 or not re.fullmatch(_UNIT, plain):
            raise UnitError(f"“{unit}” is not a known unit.")
        spelled = re.sub(r"\^?([23])", r"**\1", plain.replace("²", "2").replace("³", "3").replace("·", "*"))
    import pint

    registry = _registry()
    try:
        quantity = registry.Quantity(number, registry.parse_units(spelled))
        return float(quantity.to(_INSIDE[dimension]).magnitude)
    except pint.DimensionalityError:
        raise UnitError(f"{_sentence(said, quantity)}, not {_WORDS[dimension]}.") from None
    except (pint.PintError, ValueError, ArithmeticError, AssertionError) as fault:
        # pint asserts where a decibel is multiplied by something
        raise UnitError(f"“{unit}” is not a known unit.") from fault


def _sentence(said: str, quantity: Any) -> str:
    for dimension, inside in _INSIDE.items():
        if quantity.check(_registry().Unit(inside).dimensionality):
            return f"{said} is {_WORDS[dimension]}"
    return f"{said} is a different quantity"
