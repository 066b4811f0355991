"""What tables of fan points hold, and the units they are printed in."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cache
from typing import Final, Literal

from workbench.files.block import OFFERED_UNITS, Quantity
from workbench.units import from_unit

Kind = Literal["flow", "pressure", "power"]
KINDS: Final[tuple[Kind, ...]] = ("flow", "pressure", "power")
TITLES: Final[dict[Kind, str]] = {"flow": "Airflow", "pressure": "Pressure", "power": "Power"}
USUAL_UNITS: Final[Mapping[Kind, tuple[str, ...]]] = {
    "flow": OFFERED_UNITS["flow"],
    "pressure": OFFERED_UNITS["pressure"],
    "power": ("W",),
}
"""What data sheets of fans are printed in; the first of each is assumed where nothing is said."""

_BUT: Final = r"sound|level|factor|specific|efficien|velocity|dynamic|density"
_WORDS: Final[Mapping[Kind, str]] = {
    "flow": r"(air ?)?flow( rate)?|volume( flow)?|volumenstrom|débit|caudal|portata|\bqv?\b|\bV̇",
    "pressure": r"pressure|suction|vacuum|druck|pression|presión|pressione|[Δd]p\w?\b|\bp_?[stf]?\b",
    "power": r"power|watts?\b|leistung|puissance|potencia|potenza",
}


def quantities(units: Mapping[Kind, str]) -> tuple[Quantity, ...]:
    """What a block of fan points may hold; bare numbers are in `units` where the block names none."""
    ranks = {"flow": 2, "pressure": 1, "power": 0}
    return tuple(
        Quantity(kind, kind.capitalize(), _WORDS[kind], kind, units[kind], rank=ranks[kind], but=_BUT) for kind in KINDS
    )


@cache
def unit_size(kind: Kind, unit: str) -> float:
    """One `unit` in SI. UnitError for what is no unit of that kind."""
    return from_unit(1.0, unit, kind)


def usual_unit(kind: Kind, unit: str) -> str | None:
    """The spelling in `USUAL_UNITS` of a unit however written; None when it is none of them."""
    size = unit_size(kind, unit)
    return next((label for label in USUAL_UNITS[kind] if math.isclose(unit_size(kind, label), size)), None)
