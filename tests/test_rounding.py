"""Parts beside their total: what is written adds up, and no part says what it is not."""

from __future__ import annotations

import itertools
import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbench.design.apportion import rounded_parts
from workbench.rounding import written_parts
from workbench.units import MINUS, SI, SYSTEMS, format_quantity

PARTS = st.lists(st.floats(-1e4, 1e4).map(lambda x: round(x, 6)), min_size=1, max_size=12)


def read(text: str) -> Decimal:
    return Decimal(text.replace(MINUS, "-").replace("\N{NARROW NO-BREAK SPACE}", ""))


def shown(value: float, decimals: int) -> Decimal:
    return Decimal(f"{value:.{decimals}f}")


@given(PARTS, st.integers(0, 3))
def test_what_is_shown_adds_up_to_the_total_shown(parts: list[float], decimals: int) -> None:
    rounded = rounded_parts(parts, decimals)
    assert sum(shown(each, decimals) for each in rounded) == shown(math.fsum(parts), decimals)


@given(PARTS, st.integers(0, 3))
def test_no_part_is_a_whole_step_from_what_it_is_and_their_order_stays(parts: list[float], decimals: int) -> None:
    rounded = rounded_parts(parts, decimals)
    for part, each in zip(parts, rounded, strict=True):
        assert abs(part - each) < 10.0**-decimals * (1.0 + 1e-6)
    ordered = sorted(zip(parts, rounded, strict=True))
    for (low, low_shown), (high, high_shown) in itertools.pairwise(ordered):
        assert low == high or low_shown <= high_shown


@given(st.lists(st.integers(-5000, 5000), min_size=1, max_size=12), st.integers(0, 3))
def test_parts_that_are_round_already_are_left_alone(steps: list[int], decimals: int) -> None:
    parts = [step / 10.0**decimals for step in steps]
    assert [shown(each, decimals) for each in rounded_parts(parts, decimals)] == [shown(p, decimals) for p in parts]


@given(st.lists(st.tuples(st.floats(-500.0, 500.0), st.floats(0.0, 400.0)), min_size=1, max_size=10), st.integers(0, 2))
def test_with_bands_no_part_leaves_its_own(known: list[tuple[float, float]], decimals: int) -> None:
    parts, widths = [part for part, _ in known], [width for _, width in known]
    rounded = rounded_parts(parts, decimals, widths=widths)
    step = 10.0**-decimals
    assert sum(shown(each, decimals) for each in rounded) == shown(math.fsum(parts), decimals)
    for part, each, width in zip(parts, rounded, widths, strict=True):
        assert abs(part - each) <= max(step, width / 2.0 + step / 2.0) * (1.0 + 1e-6)
        assert part * each >= 0.0 or abs(each) <= step


def test_three_thirds_are_a_whole() -> None:
    # the textbook case of largest remainders
    assert rounded_parts([33.4, 33.3, 33.3], 0) == (34.0, 33.0, 33.0)


def test_what_is_left_over_goes_to_the_part_known_least() -> None:
    # 1.4 + 1.4 + 1.4 = 4.2: three ones miss the four by one
    assert rounded_parts([1.4, 1.4, 1.4], 0, widths=[0.0, 3.0, 0.5]) == (1.0, 2.0, 1.0)
    assert rounded_parts([1.4, 1.4, 1.4], 0, widths=[0.0, 0.0, 3.0]) == (1.0, 1.0, 2.0)
    # where several are known so little that it would hide in their bands, to the one known least
    assert rounded_parts([1.4, 1.4, 1.4], 0, widths=[4.0, 8.0, 2.0]) == (1.0, 2.0, 1.0)


def test_a_part_that_was_left_out_is_not_rounded_away() -> None:
    with pytest.raises(ValueError, match="do not make up"):
        rounded_parts([10.0, 20.0], 0, total=33.0)
    assert rounded_parts([10.2, 20.2], 0, total=30.4) == (10.0, 20.0)


def test_where_a_part_is_not_known_no_sum_is_claimed() -> None:
    rounded = rounded_parts([1.26, math.nan], 1)
    assert rounded[0] == 1.3
    assert math.isnan(rounded[1])


@given(st.lists(st.floats(0.0, 400.0), min_size=1, max_size=8))
def test_texts_add_up_in_inches_of_water_and_in_pascals(parts: list[float]) -> None:
    for system in SYSTEMS:
        total, texts = written_parts(parts, "pressure", system)
        assert sum(map(read, texts)) == read(total)
        assert total == format_quantity(math.fsum(parts), "pressure", system, with_unit=False)


def test_an_unknown_total_is_a_dash() -> None:
    total, texts = written_parts([12.0, math.nan], "money", SI)
    assert (total, texts) == ("–", ("12", "–"))
