"""Axes of a chart over time: days, ticked at round dates, and beside them a quantity in little height."""

from __future__ import annotations

from calendar import month_abbr
from collections.abc import Iterator
from datetime import date
from typing import Any, Final

from PySide6.QtGui import QFontMetricsF

from workbench.gui.kit.plotting import TITLE_OVER, QuantityAxis
from workbench.gui.kit.type_scale import Role, font_of, line_of, px
from workbench.units import SI, Dimension, System

_ROOM = 76
"""Breadth that a date takes. [px before the factor]"""
_MONTH: Final = 30.44
_MONTHS: Final = (1, 2, 3, 6, 12, 24, 60, 120, 240, 600)
_DAYS: Final = (1, 2, 7, 14)
_FIRST, _LAST = date(1, 1, 1).toordinal(), date(9999, 1, 1).toordinal()


class DayAxis(QuantityAxis):
    """Along days, counted as `date.toordinal` does."""

    def __init__(self, orientation: str = "bottom") -> None:
        super().__init__(orientation, "", "count", SI)

    def _dress(self) -> None:
        super()._dress()
        if not self._bare:
            # dates need no title under them
            self.setHeight(line_of(Role.SMALL) + 12)

    def tickValues(self, minVal: float, maxVal: float, size: float) -> list[tuple[float, list[float]]]:
        if not (size > 0.0 and minVal < maxVal):
            return []
        least = (maxVal - minVal) * px(_ROOM) / size
        low, high = max(minVal, _FIRST), min(maxVal, _LAST)
        for days in _DAYS:
            if days >= least:
                first = -int(-low // days) * days
                return [(float(days), [float(d) for d in range(first, int(high) + 1, days)])]
        months = next((each for each in _MONTHS if each * _MONTH >= least), _MONTHS[-1])
        return [(months * _MONTH, [float(d) for d in _months(low, high, months)])]

    def tickStrings(self, values: list[float], scale: float, spacing: float) -> list[str]:
        told = []
        for value in values:
            day = date.fromordinal(min(max(int(value), _FIRST), _LAST))
            month = month_abbr[day.month]
            if spacing >= 11.5 * _MONTH:
                told.append(f"{day.year}")
            else:
                told.append(f"{month} {day.year}" if spacing > 0.9 * _MONTH else f"{month} {day.day}")
        return told


class ShortAxis(QuantityAxis):
    """An axis of a low chart: where its title has no room with the unit it goes without, and values tell theirs."""

    _short = _made = False

    def __init__(self, orientation: str, title: str, dimension: Dimension, system: System) -> None:
        super().__init__(orientation, title, dimension, system)
        self._made = True

    def title(self) -> str:
        """The title as it is written."""
        return self._title if self._short else super().title()

    def resizeEvent(self, event: Any = None) -> None:
        super().resizeEvent(event)
        if not self._made:
            return
        room = self.size().height() + TITLE_OVER
        short = QFontMetricsF(font_of(Role.SMALL)).horizontalAdvance(super().title()) > room
        if short != self._short:
            self._short = short
            self._dress()


def _months(low: float, high: float, step: int) -> Iterator[int]:
    start = date.fromordinal(int(low))
    month = (12 * start.year + start.month - 1) // step * step
    while True:
        year, within = divmod(month, 12)
        if not 1 <= year <= 9998:
            if year > 9998:
                return
        else:
            day = date(year, within + 1, 1).toordinal()
            if day > high:
                return
            if day >= low:
                yield day
        month += step
