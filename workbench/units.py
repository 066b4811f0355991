"""The one place where units are converted: SI inside, what people read and type outside.

A value inside is a float in SI (m, m3, m3/s, Pa, m/s, K, kg/m3, W), a share as a fraction (0.62), energy as kWh, a
heating season as kelvin-days and a sound level as dB(A): ``level`` where it is entered, ``heard`` where it is an
answer, which is told in words where it is hardly audible. A ``chance`` is a share that is never told as certain. A
*dimension* names what a value is; a *system*, ``"SI"`` or ``"IP"``, chooses the unit it is shown in.

Exact definitions: 1 ft = 0.3048 m and 1 in = 0.0254 m (international yard and pound agreement, 1959), 1 lb =
0.45359237 kg (same), 1 US gal = 231 in3 (NIST Handbook 44, appendix C). One inch of water is the conventional one,
1000 kg/m3 under 9.80665 m/s2, 249.08891 Pa (NIST SP 811, appendix B.8).
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any, Final, Literal, get_args

from workbench.physics.sound import told_level

if TYPE_CHECKING:
    from collections.abc import Mapping

System = Literal["SI", "IP"]
Dimension = Literal[
    "length", "small_length", "volume", "flow", "pressure", "velocity", "temperature", "density", "power",
    "energy_kwh", "price_per_kwh", "money", "fraction", "speed", "degree_days", "level", "ratio",
    "resistance", "resistance2", "roughness", "level_difference", "count", "permeability",
    "leakage", "area", "leak_area", "co2_per_kwh", "mass", "conductance", "angle", "duration",
    "price_per_length", "price_per_area", "price_per_volume", "small_money", "heard", "chance",
]  # fmt: skip
SYSTEMS: Final[tuple[System, ...]] = get_args(System)
DIMENSIONS: Final[tuple[Dimension, ...]] = get_args(Dimension)
MINUS: Final = "\N{MINUS SIGN}"

INCH: Final = 0.0254
FOOT: Final = 12 * INCH
POUND: Final = 0.45359237
US_GALLON: Final = 231 * INCH**3
CFM: Final = FOOT**3 / 60
INCH_WATER: Final = 1000 * 9.80665 * INCH
RANKINE: Final = 5 / 9


class UnitError(ValueError):
    """What was typed cannot be read as the quantity asked for; the message is a sentence for the person typing."""


@dataclass(frozen=True, slots=True)
class Unit:
    """How a dimension is shown: ``SI value = shown * factor + offset``.

    ``decimals`` is the most a read-out shows and ``significant`` the figures it aims at; ``step`` is one press of an
    arrow key in shown units, 0 where a step has to follow the size of the value.
    """

    label: str
    factor: float = 1.0
    offset: float = 0.0
    decimals: int = 1
    significant: int = 3
    step: float = 1.0


_SHARE = Unit("%", 0.01)
_PLAIN = Unit("", decimals=3, step=0.1)
_BOTH: Final[Mapping[Dimension, Unit]] = {
    "power": Unit("W", significant=2),
    "energy_kwh": Unit("kWh", decimals=0, step=10),
    "price_per_kwh": Unit("per kWh", decimals=4, step=0.01),
    "money": Unit("", decimals=0, step=10),
    "small_money": Unit("", decimals=2),
    "fraction": Unit("%", 0.01, significant=2),
    "chance": Unit("%", 0.01, decimals=0),
    "speed": _SHARE,
    "level": Unit("dB(A)", decimals=0),
    "heard": Unit("dB(A)", decimals=0),
    "level_difference": Unit("dB", decimals=0),
    "permeability": Unit("×10⁻¹⁰ m²", 1e-10, decimals=6, step=0),
    "co2_per_kwh": Unit("kg/kWh", decimals=3, step=0.01),
    "leakage": Unit("×10⁻⁶ m/(s·Pa)", 1e-6, decimals=6, step=0),
    "angle": Unit("°", math.pi / 180, decimals=0),
    "duration": Unit("days", 86400.0, decimals=0, step=30),
    "ratio": _PLAIN,
    "count": Unit("", decimals=0),
}
_TABLE: Final[Mapping[System, Mapping[Dimension, Unit]]] = {
    "SI": {
        **_BOTH,
        "length": Unit("m", decimals=2, step=0.1),
        "small_length": Unit("mm", 1e-3),
        "area": Unit("m²", decimals=2, step=1),
        "leak_area": Unit("cm²", 1e-4, step=10),
        "mass": Unit("kg", decimals=2),
        "conductance": Unit("W/(m²·K)", decimals=2),
        "price_per_length": Unit("per m", decimals=2),
        "price_per_area": Unit("per m²", decimals=2),
        "price_per_volume": Unit("per L", 1e3, decimals=2),
        "roughness": Unit("mm", 1e-3, decimals=4, step=0.001),
        "volume": Unit("L", 1e-3),
        "flow": Unit("L/s", 1e-3, decimals=2),
        "pressure": Unit("Pa", decimals=2, significant=2),
        "velocity": Unit("m/s", significant=2, step=0.1),
        "temperature": Unit("°C", offset=273.15),
        "density": Unit("kg/m³", decimals=3, significant=4, step=0.01),
        "degree_days": Unit("K·d", decimals=0, step=100),
        "resistance": Unit("Pa/(L/s)", 1e3, decimals=6, step=0),
        "resistance2": Unit("Pa/(L/s)²", 1e6, decimals=6, step=0),
    },
    "IP": {
        **_BOTH,
        "length": Unit("ft", FOOT, decimals=2, step=0.5),
        "small_length": Unit("in", INCH, decimals=3, step=0.125),
        "area": Unit("ft²", FOOT**2, step=10),
        "leak_area": Unit("in²", INCH**2, step=1),
        "mass": Unit("lb", POUND, decimals=2),
        "conductance": Unit("Btu/(h·ft²·°F)", 5.678263341, decimals=3),
        "price_per_length": Unit("per ft", 1 / FOOT, decimals=2),
        "price_per_area": Unit("per ft²", 1 / FOOT**2, decimals=2),
        "price_per_volume": Unit("per gal", 1 / US_GALLON, decimals=2),
        "roughness": Unit("in", INCH, decimals=6, step=0.0001),
        "volume": Unit("gal", US_GALLON),
        "flow": Unit("cfm", CFM),
        "pressure": Unit("in. w.c.", INCH_WATER, decimals=3, step=0.01),
        "velocity": Unit("fpm", FOOT / 60, decimals=0, step=10),
        "temperature": Unit("°F", RANKINE, 459.67 * RANKINE, decimals=0),
        "density": Unit("lb/ft³", POUND / FOOT**3, decimals=4, step=0.001),
        "degree_days": Unit("°F·d", RANKINE, decimals=0, step=100),
        "resistance": Unit("in. w.c./(100 cfm)", INCH_WATER / (100 * CFM), decimals=6, step=0),
        "resistance2": Unit("in. w.c./(100 cfm)²", INCH_WATER / (100 * CFM) ** 2, decimals=6, step=0),
    },
}


def unit_of(dimension: Dimension, system: System) -> Unit:
    """The unit in which `system` shows `dimension`."""
    return _TABLE[system][dimension]


def to_display(value: float, dimension: Dimension, system: System) -> float:
    """An SI value in the unit shown."""
    unit = _TABLE[system][dimension]
    return (value - unit.offset) / unit.factor


def from_display(shown: float, dimension: Dimension, system: System) -> float:
    """A value in the unit shown, as SI."""
    unit = _TABLE[system][dimension]
    return shown * unit.factor + unit.offset


# --- writing ------------------------------------------------------------------------------------------------------


def _exponent(shown: float, significant: int) -> int:
    # Python's own rounding decides, so that 9.96 to two figures counts as 10
    return int(f"{abs(shown):.{max(significant, 1) - 1}e}".partition("e")[2])


def _write(shown: float, decimals: int) -> str:
    text = f"{shown:,.{decimals}f}"
    if not any(c in "123456789" for c in text):
        text = text.removeprefix("-")
    whole, point, rest = text.partition(".")
    # four figures read well unbroken; longer ones are parted by a thin space, which no reader takes for a decimal mark
    whole = whole.replace(",", "\N{NARROW NO-BREAK SPACE}" if abs(shown) >= 9999.5 else "")
    return (whole + point + rest).replace("-", MINUS)


def format_number(shown: float, decimals: int = 3, significant: int = 3) -> str:
    """A number to about `significant` figures and at most `decimals` places, with a true minus sign.

    Whole figures are never cut; what rounds to nothing is written as zero without a sign. Not a number gives a dash.
    """
    if math.isnan(shown):
        return "\N{EN DASH}"
    if math.isinf(shown):
        return "∞" if shown > 0 else MINUS + "∞"
    return _write(shown, written_decimals(shown, decimals, significant))


def written_decimals(shown: float, decimals: int = 3, significant: int = 3) -> int:
    """Places behind the mark at which `format_number` writes a finite number."""
    if shown == 0.0:
        return max(0, min(decimals, significant - 1))
    return max(0, min(decimals, significant - 1 - _exponent(shown, significant)))


def format_quantity(
    value: float, dimension: Dimension, system: System, with_unit: bool = True, digits: int | None = None
) -> str:
    """A read-out of an SI value at the precision the dimension deserves.

    `digits` asks for that many significant figures instead, with as many decimals as they need. What is hardly heard is
    said in words, without its unit only "below 15".
    """
    unit = _TABLE[system][dimension]
    if dimension == "chance":
        return format_chance(value) if with_unit else format_chance(value).removesuffix(f" {unit.label}")
    shown = to_display(value, dimension, system)
    number = (
        format_number(shown, unit.decimals, unit.significant) if digits is None else format_number(shown, 12, digits)
    )
    text = f"{number} {unit.label}" if with_unit and unit.label else number
    if dimension != "heard":
        return text
    told = told_level(value, text)
    return told if with_unit else told.partition(f" {unit.label}")[0]


def format_chance(chance: float) -> str:
    """A chance as it may be said: never certain, as a sample of a model is not; and cut, so that a miss stays one."""
    if math.isnan(chance):
        return "–"
    if chance > 0.99:
        return "> 99 %"
    return "< 1 %" if chance < 0.01 else f"{math.floor(100.0 * chance + 1e-9)} %"


def format_entry(value: float, dimension: Dimension, system: System, with_unit: bool = False) -> str:
    """An SI value as it stands in a field being edited: up to six figures, no grouping, no trailing zeros."""
    unit = _TABLE[system][dimension]
    shown = to_display(value, dimension, system)
    if not math.isfinite(shown):
        text = format_number(shown)
    else:
        places = unit.decimals if shown == 0.0 else max(unit.decimals, 5 - _exponent(shown, 6))
        text = f"{shown:.{max(places, 0)}f}"
        text = text.rstrip("0").rstrip(".") if "." in text else text
        text = "0" if text == "-0" else text.replace("-", MINUS)
    return f"{text} {unit.label}" if with_unit and unit.label else text


# --- reading ------------------------------------------------------------------------------------------------------

_WORDS: Final[Mapping[Dimension, str]] = {
    "length": "a length", "small_length": "a length", "volume": "a volume", "flow": "a flow",
    "pressure": "a pressure", "velocity": "an air speed", "temperature": "a temperature", "density": "a density",
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
    "price_per_volume": "a price for a volume", "small_money": "an amount of money",
}  # fmt: skip

# what pint is asked for, where a dimension has typed units at all
_INSIDE: Final[Mapping[Dimension, str]] = {
    "length": "m", "small_length": "m", "volume": "m**3", "flow": "m**3/s", "pressure": "Pa", "velocity": "m/s",
    "temperature": "K", "density": "kg/m**3", "power": "W", "energy_kwh": "kWh", "fraction": "dimensionless",
    "speed": "dimensionless", "ratio": "dimensionless", "degree_days": "K*day", "resistance": "Pa*s/m**3",
    "resistance2": "Pa*s**2/m**6", "roughness": "m", "count": "dimensionless",
    "permeability": "m**2", "leakage": "m/s/Pa", "area": "m**2",
    "leak_area": "m**2", "mass": "kg", "conductance": "W/m**2/K", "angle": "radian", "duration": "s",
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
    "liter": "l litre litres liter liters",
    "gallon": "gal gals gallon gallons usgal usgallon usgallons",
    "foot**3": "ft3 ft³ cuft cubicfeet cubicfoot",
    "inch**3": "in3 in³ cuin cubicinches",
    "foot/minute": "fpm ft/min feetperminute",
    "degC": "c °c degc ℃ celsius",
    "degF": "f °f degf ℉ fahrenheit",
    "kelvin": "k kelvin",
    "watt": "w watt watts",
    "kilowatt": "kw",
    "watt*hour": "wh",
    "kilowatt*hour": "kwh",
    "megawatt*hour": "mwh",
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
_MONEY: Final = ("money", "small_money", "price_per_kwh", "price_per_length", "price_per_area", "price_per_volume")
_CURRENCY_SIGNS: Final = "$€£¥"
_ONLY_THE_AMOUNT: Final = "Type the amount alone; the currency is set once, with the prices."
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

_NUMBER = re.compile(
    r"""(?P<whole>\d+)(?:\s+|\s*-\s*)(?P<n>\d+)\s*[/⁄]\s*(?P<d>\d+)   # 1 1/2, 1-1/2
      | (?P<n0>\d+)\s*[/⁄]\s*(?P<d0>\d+)                             # 3/4
      | (?P<plain>(?:\d[\d.,]*(?:[ ]\d{3}(?!\d))*[\d.,]*|[.,]\d+)(?:[eE][+-]?\d+)?)""",
    re.VERBOSE,
)
_BLANKS = str.maketrans(dict.fromkeys("\u00a0\u2007\u2009\u202f\t", " "))
# what of a unit is left to pint: names with small powers, multiplied or divided; anything odder makes pint stumble
_TERM = r"[A-Za-z\u00b5\u03bc]+(?:\^?[23]|[²³])?"
_TERMS = rf"{_TERM}(?:\s*[*/·]\s*{_TERM}|\s+{_TERM})*"
_UNIT = re.compile(rf"{_TERMS}(?:\s*/\s*\({_TERMS}\)(?:\^?[23]|[²³])?)?")


def parse_quantity(text: str, dimension: Dimension, system: System) -> float:
    """What a person typed, as an SI value.

    A bare number is in the unit `system` shows. Decimal point or comma, fractions (``1 1/2``, ``1-1/2``, ``¾``), a
    true minus sign and typed units in the trade's spellings (``3"``, ``0.5 in. w.c.``, ``80 cfm``, ``1 ft 6 in``)
    are read; a number that can be read two ways is refused.

    Raises
    ------
    UnitError
        With one sentence that says what is wrong.
    """
    said = text.strip()
    rest = said.translate(_BLANKS).strip()
    for sign, words in _VULGAR.items():
        rest = rest.replace(sign, f" {words}")
    rest = rest.strip()
    if not rest:
        raise UnitError("Type a number.")
    if dimension in _MONEY and (rest[0] in _CURRENCY_SIGNS or rest[-1] in _CURRENCY_SIGNS):
        raise UnitError(_ONLY_THE_AMOUNT)
    negative = rest[0] in "-\N{MINUS SIGN}\N{EN DASH}"
    rest = rest[1:].lstrip() if negative or rest[0] == "+" else rest
    parts: list[tuple[float, str]] = []
    while rest:
        match = _NUMBER.match(rest)
        if match is None:
            raise UnitError(f"“{said}” is not a number.")
        number = _number(match, said)
        rest = rest[match.end() :].lstrip()
        if rest and rest[0] in "0123456789":
            raise UnitError(f"“{said}” is more than one number; type one.")
        unit = _leading_unit(rest)
        rest = rest[len(unit) :]
        parts.append((number, unit.strip()))
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


def from_unit(number: float, unit: str, dimension: Dimension) -> float:
    """A number in a unit as people spell it, as an SI value. UnitError for what is no unit of that dimension."""
    key = _key(unit)
    system: System = next((each for each in SYSTEMS if key == _key(unit_of(dimension, each).label)), "SI")
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
    if dimension in _MONEY:
        if dimension == "price_per_kwh" and key in ("/kwh", "kwh"):
            return number
        raise UnitError(_ONLY_THE_AMOUNT)
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
    return registry


def _through_pint(number: float, unit: str, dimension: Dimension, said: str) -> float:
    key = _key(unit)
    spelled = _IN_A_PRESSURE_FIELD.get(key) if dimension == "pressure" else None
    spelled = spelled or _SPELLINGS.get(key)
    if spelled is None:
        if not any(c.isalpha() for c in unit):
            raise UnitError(f"“{said}” is not a number.")
        plain = unit.rstrip(". ")
        if len(plain) > 30 or not _UNIT.fullmatch(plain):
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
