"""What the drawings of the floor share: the way out over a side, how its words are turned, and a round length."""

from __future__ import annotations

import math

import pytest

from workbench.design.plan_layout import across, out_of, round_length, turn_of

SQUARE = [(0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (0.0, 3.0)]
SIDES = [(SQUARE[i], SQUARE[(i + 1) % 4]) for i in range(4)]


@pytest.mark.parametrize("turned", [False, True])
def test_the_way_out_leads_away_from_the_middle_whichever_way_the_outline_runs(turned: bool) -> None:
    sides = [(b, a) for a, b in reversed(SIDES)] if turned else SIDES
    for side in sides:
        (ax, ay), (bx, by) = side
        dx, dy = across(side, out_of(sides))
        assert math.hypot(dx, dy) == pytest.approx(1.0)
        # y runs down in a drawing
        away = ((ax + bx) / 2 - 2.0) * dx - ((ay + by) / 2 - 1.5) * dy
        assert away > 0.0


def test_words_along_a_side_are_read_from_below_or_from_the_right() -> None:
    """As ISO 129-1 has dimensions written: along an upright line from below to above."""
    assert [turn_of(side) for side in SIDES] == pytest.approx([0.0, -90.0, 0.0, -90.0], abs=1e-9)
    assert turn_of(((0.0, 0.0), (1.0, 1.0))) == pytest.approx(-45.0)
    assert turn_of(((0.0, 0.0), (1.0, -1.0))) == pytest.approx(45.0)
    assert turn_of(((1.0, 1.0), (0.0, 0.0))) == pytest.approx(-45.0)


@pytest.mark.parametrize(
    ("least", "unit", "wanted"), [(0.9, 1.0, 1.0), (1.2, 1.0, 2.0), (4.0, 1.0, 5.0), (1.0, 0.3048, 5 * 0.3048)]
)
def test_a_scale_is_drawn_in_a_round_length(least: float, unit: float, wanted: float) -> None:
    assert round_length(least, unit) == pytest.approx(wanted)
