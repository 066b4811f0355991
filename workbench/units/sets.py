"""Units, and the sets of them that values are shown in.

A value inside is a float in SI (m, m3, m3/s, Pa, m/s, K, kg/m3, W), a share as a fraction (0.62), energy as kWh, a
heating season as kelvin-days and a sound level as dB(A): ``level`` where it is entered, ``heard`` where it is an
answer, which is told in words where it is hardly audible. A ``chance`` is a share that is never told as certain. A
*dimension* names what a value is: ``pressure`` at fan, riser and suction point, ``hole_pressure`` at test holes, of the
target and of the house. A *system* chooses the unit each is shown in.

Exact definitions: 1 ft = 0.3048 m and 1 in. = 0.0254 m (international yard and pound agreement, 1959), 1 lb =
0.45359237 kg (same), 1 US gal = 231 in.3 (NIST Handbook 44, appendix C). One inch of water is the conventional one,
1000 kg/m3 under 9.80665 m/s2, 249.08891 Pa (NIST SP 811, appendix B.8), a millimeter of water the like. A therm is
100 000 Btu of the International Table, 1.05506e8 J or 29.3071 kWh (NIST SP 811, appendix B.8: therm (EC), "frequently
used by engineers in the United States").
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cached_property
from typing import Final, Literal, get_args

from msgspec import Struct

Dimension = Literal[
    "length", "small_length", "volume", "flow", "pressure", "hole_pressure", "velocity", "temperature", "density",
    "power", "energy_kwh", "price_per_kwh", "money", "fraction", "speed", "degree_days", "level", "ratio",
    "resistance", "resistance2", "roughness", "level_difference", "count", "permeability",
    "leakage", "area", "leak_area", "co2_per_kwh", "mass", "conductance", "angle", "duration",
    "price_per_length", "price_per_area", "price_per_volume", "small_money", "heard", "chance", "radon",
]  # fmt: skip
DIMENSIONS: Final[tuple[Dimension, ...]] = get_args(Dimension)

INCH: Final = 0.0254
FOOT: Final = 12 * INCH
POUND: Final = 0.45359237
US_GALLON: Final = 231 * INCH**3
CFM: Final = FOOT**3 / 60
INCH_WATER: Final = 1000 * 9.80665 * INCH
RANKINE: Final = 5 / 9
THERM: Final = 105.505585262 / 3.6
"""[kWh]"""


class Unit(Struct, frozen=True):
    """How a dimension is shown: ``SI value = shown * factor + offset``.

    ``decimals`` is the most a read-out shows and ``significant`` the figures it aims at; ``step`` is one press of an
    arrow key in shown units, 0 where a step has to follow the size of the value. ``inch_pound`` tells which figures are
    round in it.
    """

    label: str
    factor: float = 1.0
    offset: float = 0.0
    decimals: int = 1
    significant: int = 3
    step: float = 1.0
    inch_pound: bool = False


def _us(
    label: str,
    factor: float,
    offset: float = 0.0,
    *,
    decimals: int = 1,
    significant: int = 3,
    step: float = 1.0,
) -> Unit:
    return Unit(label, factor, offset, decimals, significant, step, inch_pound=True)


_PLAIN = Unit("", decimals=3, step=0.1)
_ALWAYS: Final[Mapping[Dimension, Unit]] = {
    "power": Unit("W", significant=2),
    "price_per_kwh": Unit("per kWh", decimals=4, step=0.01),
    "money": Unit("", decimals=0, step=10),
    "small_money": Unit("", decimals=2),
    "fraction": Unit("%", 0.01, significant=2),
    "chance": Unit("%", 0.01, decimals=0),
    "speed": Unit("%", 0.01),
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

QUANTITIES: Final[Mapping[Dimension, str]] = {
    "flow": "Airflow",
    "pressure": "Fan and riser pressure",
    "hole_pressure": "Pressure at test holes, target, house",
    "length": "Length",
    "small_length": "Small length, diameter",
    "volume": "Volume",
    "temperature": "Temperature",
    "velocity": "Air velocity",
    "energy_kwh": "Energy",
}
"""The quantities whose unit is chosen, by dimension; what else has a unit follows one of them."""

OFFERED: Final[Mapping[Dimension, tuple[Unit, ...]]] = {
    "flow": (
        _us("cfm", CFM),
        Unit("L/s", 1e-3, decimals=2),
        Unit("m³/h", 1 / 3600),
    ),
    "pressure": (
        _us("in. w.c.", INCH_WATER, decimals=3, step=0.01),
        Unit("Pa", decimals=2, significant=2),
        Unit("mm w.c.", 9.80665, decimals=2, step=0.1),
        Unit("kPa", 1e3, decimals=4, step=0.01),
    ),
    "hole_pressure": (
        Unit("Pa", decimals=2, significant=2),
        _us("in. w.c.", INCH_WATER, decimals=4, significant=2, step=0.001),
        Unit("mm w.c.", 9.80665, decimals=3, significant=2, step=0.1),
    ),
    "length": (_us("ft", FOOT, decimals=2, step=0.5), Unit("m", decimals=2, step=0.1)),
    "small_length": (
        _us("in.", INCH, decimals=3, step=0.125),
        Unit("mm", 1e-3),
        Unit("cm", 1e-2, decimals=2, step=0.1),
    ),
    "volume": (_us("gal", US_GALLON), Unit("L", 1e-3), _us("ft³", FOOT**3, decimals=2, step=0.1)),
    "temperature": (_us("°F", RANKINE, 459.67 * RANKINE, decimals=0), Unit("°C", offset=273.15)),
    "velocity": (_us("fpm", FOOT / 60, decimals=0, step=10), Unit("m/s", significant=2, step=0.1)),
    "energy_kwh": (
        Unit("kWh", decimals=0, step=10),
        Unit("MJ", 1 / 3.6, decimals=0, step=10),
        _us("therms", THERM, decimals=1, step=1),
    ),
}
"""The units each quantity can be shown in."""

_FOLLOWS: Final[Mapping[Dimension, tuple[Dimension, Unit, Unit]]] = {
    "area": ("length", _us("ft²", FOOT**2, step=10), Unit("m²", decimals=2, step=1)),
    "leak_area": ("small_length", _us("in.²", INCH**2, step=1), Unit("cm²", 1e-4, step=10)),
    "roughness": (
        "small_length",
        _us("in.", INCH, decimals=6, step=0.0001),
        Unit("mm", 1e-3, decimals=4, step=0.001),
    ),
    "mass": ("volume", _us("lb", POUND, decimals=2), Unit("kg", decimals=2)),
    "density": (
        "volume",
        _us("lb/ft³", POUND / FOOT**3, decimals=4, step=0.001),
        Unit("kg/m³", decimals=3, significant=4, step=0.01),
    ),
    "radon": ("length", _us("pCi/L", 37.0, step=0.1), Unit("Bq/m³", decimals=0, significant=2, step=10)),
    "conductance": (
        "temperature",
        _us("Btu/(h·ft²·°F)", 5.678263341, decimals=3),
        Unit("W/(m²·K)", decimals=2),
    ),
    "degree_days": (
        "temperature",
        _us("°F·d", RANKINE, decimals=0, step=100),
        Unit("K·d", decimals=0, step=100),
    ),
}
"""What follows a quantity: its unit where that of the quantity is an inch-pound one, and where it is not."""

_PRICES: Final[Mapping[Dimension, Dimension]] = {
    "price_per_length": "length",
    "price_per_area": "area",
    "price_per_volume": "volume",
}


class System(Struct, frozen=True, dict=True):
    """A set of units: one for each of `QUANTITIES`, named by its label, in their order.

    `minus_is_suction` is the sign readings are shown and typed with; inside, suction is positive. Two systems are equal
    where their names, units and signs are.
    """

    name: str
    labels: tuple[str, ...]
    minus_is_suction: bool = False

    @cached_property
    def units(self) -> Mapping[Dimension, Unit]:
        """The unit of each dimension. KeyError for a label that is not offered."""
        chosen = {
            dimension: {unit.label: unit for unit in OFFERED[dimension]}[label]
            for dimension, label in zip(QUANTITIES, self.labels, strict=True)
        }
        found: dict[Dimension, Unit] = {**_ALWAYS, **chosen}
        for dimension, (quantity, us, si) in _FOLLOWS.items():
            found[dimension] = us if chosen[quantity].inch_pound else si
        for price, of in _PRICES.items():
            unit = found[of]
            found[price] = Unit(f"per {unit.label}", 1 / unit.factor, decimals=2, inch_pound=unit.inch_pound)
        pressure, flow = chosen["pressure"], chosen["flow"]
        # an inch of water to one cfm would be a number of many zeros
        of_flow, size = ("100 cfm", 100 * CFM) if flow.label == "cfm" else (flow.label, flow.factor)
        for resistance, mark, power in (("resistance", "", 1), ("resistance2", "²", 2)):
            label = f"{pressure.label}/({of_flow}){mark}"
            found[resistance] = Unit(label, pressure.factor / size**power, decimals=6, step=0)  # type: ignore[index]
        return found

    def round_in(self, dimension: Dimension, inch_pound: float, metric: float) -> float:
        """Of two SI values the one that is round in the unit shown."""
        return inch_pound if self.units[dimension].inch_pound else metric

    def label(self, quantity: Dimension) -> str:
        """The unit's label of one of `QUANTITIES`."""
        return self.units[quantity].label


def system_of(name: str, labels: Mapping[str, str], like: System) -> System:
    """A set of units by quantity; what is not named, or not offered, is as in another."""
    offered = {quantity: [unit.label for unit in OFFERED[quantity]] for quantity in QUANTITIES}
    taken = (
        labels[quantity] if labels.get(quantity) in offered[quantity] else like.label(quantity)
        for quantity in QUANTITIES
    )
    return System(name, tuple(taken), like.minus_is_suction)


SI: Final = System("SI", ("L/s", "Pa", "Pa", "m", "mm", "L", "°C", "m/s", "kWh"))
US: Final = System("US", ("cfm", "in. w.c.", "Pa", "ft", "in.", "gal", "°F", "fpm", "kWh"))
"""As the American trade works: inches of water at the fan and its gauge, pascals at the test holes."""
SYSTEMS: Final = (SI, US)
CUSTOM: Final = "custom"
"""Name of a user's own set."""


def unit_of(dimension: Dimension, system: System) -> Unit:
    """The unit in which `system` shows `dimension`."""
    return system.units[dimension]


def to_display(value: float, dimension: Dimension, system: System) -> float:
    """An SI value in the unit shown."""
    unit = system.units[dimension]
    return (value - unit.offset) / unit.factor


def from_display(shown: float, dimension: Dimension, system: System) -> float:
    """A value in the unit shown, as SI."""
    unit = system.units[dimension]
    return shown * unit.factor + unit.offset


def as_read(suction: float, system: System) -> float:
    """A suction with the sign of readings; of what is shown or typed with that sign, the suction."""
    # a difference, so that no suction is never a negative zero
    return 0.0 - suction if system.minus_is_suction else suction
