"""The figures new parts begin with, round ones in whichever unit they will be shown."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final, TypeVar

from workbench.design.fan import FanRecord
from workbench.design.ground import StepTest, SuctionPoint
from workbench.design.house import Crack, House, Place
from workbench.design.record import Record, field_facts
from workbench.design.slab import Slab, WorstDay
from workbench.design.sound import Listener

RoundIn = Callable[[Any, float, float], float]
"""Of a dimension, a value round in inch-pound units and one round in metric ones, the one that will be read round."""

R = TypeVar("R", bound=Record)

INCH, FOOT, GALLON = 0.0254, 0.3048, 0.003785411784
"""One inch and one foot [m], one US gallon [m3] (NIST Handbook 44, appendix C)."""
_FPM = FOOT / 60.0


def _fahrenheit(degrees: float) -> float:
    return (degrees + 459.67) * 5.0 / 9.0


_INCH_POUND: Final[Mapping[type[Record], Mapping[str, float]]] = {
    Place: {
        "indoor_temperature": _fahrenheit(70.0),
        "pipe_temperature": _fahrenheit(55.0),
        "wind": 600.0 * _FPM,
    },
    House: {"storey_height": 9.0 * FOOT, "roof_height": 6.5 * FOOT, "slab_thickness": 4.0 * INCH},
    WorstDay: {"outdoor_temperature": _fahrenheit(10.0), "neutral_height": 10.0 * FOOT},
    Slab: {"thickness": 4.0 * INCH, "cell": 4.0 * INCH},
    SuctionPoint: {"bed_thickness": 4.0 * INCH, "bed_reach": 16.0 * FOOT},
    StepTest: {"tested_volume": 0.5 * GALLON},
    # 0.075 lb/ft3 is the standard air of the trade (AMCA 210)
    FanRecord: {
        "outlet_diameter": 4.0 * INCH,
        "rated_density": 0.075 * 0.45359237 / FOOT**3,
        "sound_distance": 5.0 * FOOT,
    },
    Crack: {"width": 0.04 * INCH, "length": 3.0 * FOOT},
    Listener: {"partition_area": 100.0 * FOOT**2, "absorption": 100.0 * FOOT**2},
}
"""What stands for a default where it is shown in inch-pound units. SI."""


def metric(_dimension: Any, _inch_pound: float, si: float) -> float:
    """The value that is round in SI."""
    return si


def begun(record: type[R], round_in: RoundIn, **given: Any) -> R:
    """A record with what is given, its other figures round as they will be shown.

    Raises
    ------
    pydantic.ValidationError
        As the record itself does.
    """
    figures = {
        name: round_in(field_facts(record, name).dimension, us, record.model_fields[name].default)
        for name, us in _INCH_POUND[record].items()
    }
    return record(**(figures | given))
