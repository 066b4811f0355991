"""Dates along an axis: round ones, none nearer to another than it can be read, whatever is shown."""

from __future__ import annotations

from datetime import date
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pytestqt.qtbot import QtBot

from workbench.gui.kit.days import DayAxis


def ticks(low: date, high: date, size: float) -> tuple[list[date], list[str]]:
    axis = DayAxis()
    ((spacing, values),) = axis.tickValues(low.toordinal(), high.toordinal(), size)
    return [date.fromordinal(int(v)) for v in values], axis.tickStrings(values, 1.0, spacing)


@pytest.mark.parametrize(
    ("low", "high", "told"),
    [
        (date(2026, 11, 1), date(2028, 3, 31), ["Jan 2027", "Jul 2027", "Jan 2028"]),
        (date(2026, 11, 3), date(2026, 11, 30), ["Nov 8", "Nov 22"]),
        (date(1999, 6, 1), date(2031, 6, 1), ["2010", "2020", "2030"]),
    ],
)
def test_dates_are_round(qtbot: QtBot, low: date, high: date, told: list[str]) -> None:
    days, words = ticks(low, high, 300.0)
    assert set(told) <= set(words) or len(set(words)) == len(words) >= 2
    assert all(day.day == 1 for day in days) or (high - low).days < 200


@given(st.dates(date(1950, 1, 1), date(2100, 1, 1)), st.integers(2, 20_000), st.floats(160.0, 2000.0))
def test_no_two_dates_are_nearer_than_they_can_be_read(low: date, span: int, size: float) -> None:
    high = date.fromordinal(low.toordinal() + span)
    days, words = ticks(low, high, size)
    assert len(set(words)) == len(words) == len(days)
    assert all(low <= day <= high for day in days)
    for one, other in pairwise(days):
        # months differ by a tenth at most
        assert (other - one).days * size / span >= 0.88 * 76


def test_nothing_to_be_ticked_is_not_ticked(qtbot: QtBot) -> None:
    assert DayAxis().tickValues(5.0, 5.0, 300.0) == []
    assert DayAxis().tickValues(5.0, 9.0, 0.0) == []
