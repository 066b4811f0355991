"""Values as they are read: read-outs at the precision they deserve, and entries as they were typed."""

from __future__ import annotations

import math
from typing import Final

from workbench.physics.sound import told_level
from workbench.units.sets import Dimension, System, from_display, to_display, unit_of

MINUS: Final = "\N{MINUS SIGN}"
_ENTERED, _CONVERTED = 6, 4
"""Figures of a number somebody may have entered, and of one that a conversion made."""

_TINY: Final = 1e-5
"""Below it the noughts of an entry are hard to count: it is written by powers of a thousand, as it may be typed."""


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
    unit = unit_of(dimension, system)
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
    """An SI value as it stands in a field being edited: no grouping, no trailing zeros.

    What can have been entered in the unit shown, in up to six figures, is written as it was entered: the number whose
    SI value lies within 1e-9 of it. Anything else was entered in another unit, or calculated, and is rounded to four
    figures; whole figures are never cut. What is tiny is written as 1.61e-6.
    """
    unit = unit_of(dimension, system)
    shown = to_display(value, dimension, system)
    if not math.isfinite(shown):
        text = format_number(shown)
    else:
        entered = _plain(shown, _ENTERED)
        same = abs(from_display(float(entered), dimension, system) - value) <= 1e-9 * abs(value)
        text = _signed(entered if same else _plain(shown, _CONVERTED))
    return f"{text} {unit.label}" if with_unit and unit.label else text


def exact_entry(value: float, dimension: Dimension, system: System) -> str:
    """What `format_entry` leaves out: the value with its unit to ten figures where it is rounded, else nothing."""
    shown, unit = to_display(value, dimension, system), unit_of(dimension, system)
    if not math.isfinite(shown):
        return ""
    whole = _signed(_plain(shown, 10))
    return "" if whole == format_entry(value, dimension, system) else f"{whole} {unit.label}".rstrip()


def _signed(text: str) -> str:
    return MINUS + text[1:] if text.startswith("-") else text


def _plain(shown: float, figures: int) -> str:
    if 0.0 < abs(shown) < _TINY:
        thousandths = 3 * math.floor(_exponent(shown, figures) / 3)
        return f"{_plain(shown / 10.0**thousandths, figures)}e{thousandths}"
    text = f"{shown:.{max(figures - 1 - _exponent(shown, figures), 0)}f}" if shown else "0"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text
