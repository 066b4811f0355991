"""The answers of many jobs in one table, a row for each file, whether it has an answer or not. SI."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from msgspec import Struct

from workbench.physics.sound import no_less_than_silence
from workbench.solving.frame import COLUMNS
from workbench.solving.outcome import Outcome
from workbench.solving.run.prepare import Prepared

if TYPE_CHECKING:
    from pandas import DataFrame

Row = dict[str, str | float]

_TEXT, _NUMBER = "object", "float64"
KINDS: Final[dict[str, str]] = {
    "file": _TEXT,
    "title": _TEXT,
    "speed": _NUMBER,
    **COLUMNS["summary"],
    "lowest_speed": _NUMBER,
    "lowest_speed_best_estimate": _NUMBER,
    "loudest_dBA": _NUMBER,
    "loudest_at": _TEXT,
    "cost": _NUMBER,
    "currency": _TEXT,
    "left_out": _TEXT,
}
"""Columns and their kinds; units as in the keys of the answer for JSON, which those of the same name are.

`loudest_dBA` is the highest level at any listener, `cost` the year's money, `left_out` why a file has no answer: its
verdict is then empty.
"""


class JobRow(Struct, frozen=True):
    """A file with its row, or why it has none."""

    file: str
    row: Row | None
    left_out: str = ""


def row_of(prepared: Prepared, outcome: Outcome) -> Row:
    """All but the file's name."""
    lowest = prepared.lowest
    loudest = max(outcome.sound, key=lambda heard: heard.level, default=None)
    year = outcome.year
    more = {
        "title": prepared.design.title,
        "lowest_speed": _known(lowest.confident),
        "lowest_speed_best_estimate": _known(lowest.best_estimate),
        "loudest_dBA": math.nan if loudest is None else float(no_less_than_silence(loudest.level)),
        "loudest_at": "" if loudest is None else loudest.place,
        "cost": math.nan if year is None else year.cost,
        "currency": "" if year is None else year.currency,
    }
    (summary,) = outcome.to_frame("summary").to_dict("records")
    return {**{str(key): value for key, value in summary.items()}, **more}


def _known(speed: float | None) -> float:
    return math.nan if speed is None else speed


def job_frame(jobs: Sequence[JobRow]) -> DataFrame:
    """A row for every file in their order; NaN and empty texts where nothing is known."""
    from pandas import DataFrame

    nothing: Row = {key: "" if kind == _TEXT else math.nan for key, kind in KINDS.items()}
    rows = [{**nothing, **(job.row or {}), "file": job.file, "left_out": job.left_out} for job in jobs]
    frame = DataFrame(rows, columns=list(KINDS)).astype(KINDS)
    # a weakest hole that is not known is None in a summary
    return frame.fillna({key: "" for key, kind in KINDS.items() if kind == _TEXT})
