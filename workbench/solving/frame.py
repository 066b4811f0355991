"""Tables of an answer for pandas."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Final, Literal

if TYPE_CHECKING:
    from pandas import DataFrame

Table = Literal["summary", "points", "runs", "holes", "losses", "notices"]

_TEXT, _NUMBER, _TRUTH = "object", "float64", "bool"

COLUMNS: Final[dict[Table, dict[str, str]]] = {
    "summary": {
        "flow_m3s": _NUMBER,
        "fan_pressure_Pa": _NUMBER,
        "power_W": _NUMBER,
        "velocity_ms": _NUMBER,
        "gauge_Pa": _NUMBER,
        "verdict": _TEXT,
        "weakest_hole": _TEXT,
        "margin_Pa": _NUMBER,
        "chance": _NUMBER,
    },
    "points": {"name": _TEXT, "flow_m3s": _NUMBER, "suction_Pa": _NUMBER},
    "runs": {"name": _TEXT, "flow_m3s": _NUMBER, "velocity_ms": _NUMBER, "loss_Pa": _NUMBER, "suction_Pa": _NUMBER},
    "holes": {
        "name": _TEXT,
        "verdict": _TEXT,
        "measured": _TRUTH,
        "suction_Pa": _NUMBER,
        "band_low_Pa": _NUMBER,
        "band_high_Pa": _NUMBER,
        "worst_day_suction_Pa": _NUMBER,
        "worst_day_band_low_Pa": _NUMBER,
        "worst_day_band_high_Pa": _NUMBER,
    },
    "losses": {"part": _TEXT, "kind": _TEXT, "pressure_Pa": _NUMBER, "fan_share_Pa": _NUMBER, "flow_m3s": _NUMBER},
    "notices": {"code": _TEXT, "text": _TEXT, "pointer": _TEXT},
}
"""Columns of each table after the speed, and of which kind; units as in the keys of the answer for JSON.

`pressure_Pa` of a loss is what the air loses in passing the part, `fan_share_Pa` the part's share of the fan's
pressure; `pointer` of a notice is where in the design its part stands, a JSON Pointer from the design down.
"""


def frame(what: Table, speed: float, rows: Iterable[Sequence[object]]) -> DataFrame:
    """Rows as a table, the speed before each; None among numbers becomes NaN."""
    from pandas import DataFrame

    kinds = {"speed": _NUMBER, **COLUMNS[what]}
    return DataFrame([(speed, *row) for row in rows], columns=list(kinds)).astype(kinds)
