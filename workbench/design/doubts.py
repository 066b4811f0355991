"""Points of a fan curve that may be misread. They are named; they are never changed."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

import numpy as np
from msgspec import Struct

from workbench.design.fan import FanRecord, FanTable
from workbench.design.wording import Wording
from workbench.physics.fan import MonotoneCubic

_OFF_LINE = 0.15
"""Part of the highest pressure by which a point may miss the line through its neighbours."""

_BEST_EFFICIENCY = 0.6
"""Air power over electrical power that no small ducted fan reaches; a judgement on the generous side."""

_OPEN_END = 0.1
"""Part of the highest pressure below which the last point counts as free delivery."""


class Doubt(Struct, frozen=True):
    """Words about one row (from 0) of a curve, or about the curve when `row` is None."""

    curve: int
    row: int | None
    wording: Wording

    @property
    def text(self) -> str:
        """The words, rows counted from 1."""
        return self.wording.plain()


@lru_cache(maxsize=64)
def doubts(fan: FanRecord) -> tuple[Doubt, ...]:
    """Everything odd about a fan's points."""
    return tuple(
        Doubt(number, row, wording) for number, table in enumerate(fan.curves) for row, wording in _doubts_of(table)
    )


def _doubts_of(table: FanTable) -> Iterator[tuple[int | None, Wording]]:
    flow = np.array([p.flow for p in table.points])
    pressure = np.array([p.pressure for p in table.points])
    highest = float(pressure.max())
    for row in _off_the_line(flow, pressure, highest):
        yield row, _of("row {0} is out of line with its neighbors: misread, or a real dip or hump?", row)
    for first, last in _rises(pressure):
        yield (
            last,
            _of("the pressure rises from row {0} to row {1}; a system may cross here more than once", first, last),
        )
    if flow[0] > 0.0:
        yield 0, _of("the curve starts above zero flow; nothing is known of the fan below row {0}", 0)
    if pressure[-1] > _OPEN_END * highest:
        yield len(flow) - 1, _of("the curve ends before free delivery")
    if table.points[0].power is not None:
        draw = np.array([p.power for p in table.points], dtype=np.float64)
        for row in map(int, np.flatnonzero(flow * pressure > _BEST_EFFICIENCY * draw)):
            share = 100.0 * flow[row] * pressure[row] / draw[row]
            yield (
                row,
                _of(f"row {{0}}: {share:.0f} % efficiency, more than a fan of this kind can reach", row),
            )


def _of(template: str, *rows: int) -> Wording:
    return Wording(template, tuple((row, "row") for row in rows))


def _off_the_line(flow: np.ndarray, pressure: np.ndarray, highest: float) -> Iterator[int]:
    if flow.size < 5:
        return
    for row in range(1, flow.size - 1):
        others = np.arange(flow.size) != row
        expected = float(MonotoneCubic(flow[others], pressure[others])(flow[row]))
        if abs(pressure[row] - expected) > _OFF_LINE * highest:
            yield row


def _rises(pressure: np.ndarray) -> Iterator[tuple[int, int]]:
    """First and last row of every stretch over which the pressure rises."""
    edges = np.diff(np.concatenate(([0], np.diff(pressure) > 0.0, [0])).astype(int))
    yield from zip(map(int, np.flatnonzero(edges > 0)), map(int, np.flatnonzero(edges < 0)), strict=True)
