"""The season of a measured house: how far winter draws it down, and how far single readings scatter about that.

Published: data released by the US EPA (data.gov) of its research duplex in Indianapolis, heated half with basement, no
fan, August 2011 to February 2012, readings about every two hours; medians and 5 to 95 % worked out from the file by
outdoor temperature. One house.

What came out, with a neutral level of 3 m: the two cold rows lie within 0.4 Pa of the stack's formula, milder ones 0.4
to 0.7 Pa under it. Fitted in mild weather the formula misses winter by 44 and 54 %. Without wind the band at two
standard errors holds 61 % of single readings below freezing; with it 95 %, but of the mild rows 70 to 76 %.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import pytest
from scipy.special import ndtr

from tests.floors import job, three, unplaced
from workbench.design import Place
from workbench.design.slab import WorstDay
from workbench.physics.house import stack_pressure
from workbench.solving import prepare
from workbench.solving.site.season import Season, season_at, worst_day

ICE = 273.15
SEA_LEVEL = 101_325.0


class Row(NamedTuple):
    """Outdoors and indoors [C], number of readings, house below outdoors at the slab [Pa]."""

    outdoors: float
    indoors: float
    number: int
    median: float
    low: float
    high: float

    def __str__(self) -> str:
        return f"{self.outdoors:g} C"

    def metre(self) -> float:
        """What the stack of one metre draws it down by. [Pa]"""
        return float(stack_pressure(1.0, ICE + self.outdoors, ICE + self.indoors, SEA_LEVEL))

    def held(self, least: float, most: float) -> float:
        """Share of readings between two pressures, each half of them taken for normal through its own 5 or 95 %."""
        z = np.array([least, most]) - self.median
        below, above = (self.median - self.low) / 1.645, (self.high - self.median) / 1.645
        share = ndtr(z / np.where(z < 0.0, below, above))
        return float(share[1] - share[0])


COLDEST = Row(-11.0, 17.9, 11, 4.12, 2.68, 4.55)
FREEZING = Row(-2.0, 18.3, 184, 2.30, 0.98, 3.91)
COOL = Row(7.4, 18.8, 215, 0.75, -1.04, 3.56)
MILD = Row(17.4, 23.2, 186, 0.22, -0.95, 5.40)
HOT = Row(27.4, 24.2, 99, -0.79, -2.09, 2.20)
ROWS = (COLDEST, FREEZING, COOL, MILD, HOT)
WINTER = (COLDEST, FREEZING)
LARGEST, EXCEEDED_BY_FEW = 14.5, 6.96
"""Largest reading, and what 1.7 % of them exceed. [Pa]"""


def season_of(row: Row) -> Season:
    """The season of a design that says of its house only how warm it is."""
    place = Place(indoor_temperature=ICE + row.indoors, outdoor_temperature=ICE + row.indoors)
    design = job(unplaced(three()), place=place)
    return season_at(design, prepare(design).assembly, ICE + row.outdoors, 0.0)


def fitted_height(rows: tuple[Row, ...]) -> float:
    """Neutral level above the slab by least squares through the origin, rows weighted by their readings. [m]"""
    metre, median, number = (np.array(v) for v in zip(*((r.metre(), r.median, r.number) for r in rows), strict=True))
    return float(np.sum(number * metre * median) / np.sum(number * metre**2))


def test_slope_is_that_of_a_neutral_level_at_half_the_heated_height() -> None:
    # 2.95 m by all readings (2.80 to 3.11); medians of five rows tell it to 0.2 m.
    weight = np.sqrt([row.number for row in ROWS])
    columns = np.stack(([row.metre() for row in ROWS], np.ones(len(ROWS))), axis=1)
    slope, offset = np.linalg.lstsq(columns * weight[:, None], [r.median for r in ROWS] * weight, rcond=None)[0]
    assert slope == pytest.approx(2.95, abs=0.2)
    assert -0.7 < offset < -0.4
    assert WorstDay().neutral_height == pytest.approx(2.95, abs=0.16)


@pytest.mark.parametrize(
    ("row", "over"), [(COLDEST, -0.2), (FREEZING, 0.4), (COOL, 0.7), (MILD, 0.5), (HOT, 0.8)], ids=str
)
def test_stack_of_the_default_house(row: Row, over: float) -> None:
    """What the season makes of each row, and by how much it lies over the median read; never by much under it.

    Predicted with the default neutral level. Summer, which lifts the house, is not counted in its favor.
    """
    assert season_of(row).stack - row.median == pytest.approx(over, abs=0.06)


@pytest.mark.parametrize("row", WINTER, ids=str)
def test_mild_months_do_not_tell_winter(row: Row) -> None:
    """Fitted on the two mild rows, the level misses the cold ones by more than a third; fitted on the other cold one by
    no more than a fifth."""
    mild = fitted_height((COOL, MILD)) * row.metre()
    assert mild < (1.0 - 1.0 / 3.0) * row.median
    (other,) = (r for r in WINTER if r is not row)
    assert fitted_height((other,)) * row.metre() == pytest.approx(row.median, rel=0.22)


def test_worst_day_is_seldom_exceeded() -> None:
    """Every exhaust on and the coldest air, of a design that says nothing: 1.7 % of this house's readings exceed it."""
    design = job(unplaced(three()))
    worst = worst_day(design, prepare(design).assembly)
    assert worst.draw_down == pytest.approx(EXCEEDED_BY_FEW, abs=0.01)
    assert all(row.high < worst.draw_down for row in ROWS)
    # and the gusts that do are far beyond it: no band of this kind is a bound
    assert 2.0 * worst.draw_down < LARGEST


def band(row: Row) -> tuple[float, float]:
    """Draw-down two standard errors either way: stack and wind, which do not know of one another. [Pa]"""
    season = season_of(row)
    error = np.hypot(0.5 * WorstDay().uncertainty * season.stack, season.wind)
    return season.stack - 2.0 * error, season.stack + 2.0 * error


def test_band_of_single_winter_readings() -> None:
    # 95 % are meant; three quantiles a row tell the share held to some per cent.
    held = sum(row.number * row.held(*band(row)) for row in WINTER) / sum(row.number for row in WINTER)
    assert held > 0.92


@pytest.mark.parametrize("row", [COOL, MILD, HOT], ids=str)
def test_band_of_single_mild_readings(row: Row) -> None:
    """Not what it is meant to be: 70 to 76 %. Of the mild row 5 % lie over 5.4 Pa, which no stack and no usual wind
    explains."""
    held = row.held(*band(row))
    assert 0.65 < held < 0.80


def test_stack_alone_does_not_hold_single_readings() -> None:
    """Why wind has a term of its own: 30 % either way of the stack held 69 % of the readings below freezing, worked out
    from the file; by the rows' quantiles 61 %."""
    held = sum(row.number * row.held(0.7 * 3.0 * row.metre(), 1.3 * 3.0 * row.metre()) for row in WINTER)
    assert held / sum(row.number for row in WINTER) == pytest.approx(0.61, abs=0.02)
