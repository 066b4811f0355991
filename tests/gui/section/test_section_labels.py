"""Placing words, as geometry."""

from __future__ import annotations

from itertools import pairwise

import pytest

from workbench.gui.section.labels import Wanted, boxes_of_line, place_labels, spread

SHEET = (0.0, 0.0, 200.0, 100.0)


def test_words_stand_at_their_best_side_when_nothing_is_in_the_way() -> None:
    wanted = Wanted(("run", ("discharge", 0)), 40.0, 10.0, ((50.0, 50.0),), ("right", "left"), 5.0)
    label = place_labels([wanted], [], SHEET)[wanted.key]
    assert label.box == (55.0, 45.0, 95.0, 55.0)
    assert label.leader is None


def test_words_move_off_with_a_leader_or_are_left_out() -> None:
    blocked = [(0.0, 40.0, 200.0, 60.0)]
    far = Wanted(("fan", ("fan",)), 40.0, 10.0, ((100.0, 50.0),), ("above",), 2.0)
    near = Wanted(("run", ("discharge", 0)), 40.0, 10.0, ((100.0, 50.0),), ("above",), 2.0, far=False)
    placed = place_labels([far, near], blocked, SHEET)
    assert placed[far.key].box[3] <= 40.0
    leader = placed[far.key].leader
    assert leader is not None
    assert leader[0] == (100.0, 50.0)
    assert near.key not in placed


def test_a_row_is_spread_no_more_than_it_must_be() -> None:
    assert spread([50.0, 150.0], [40.0, 40.0], 0.0, 200.0) == [50.0, 150.0]
    placed = spread([100.0, 110.0, 195.0], [40.0, 40.0, 40.0], 0.0, 200.0)
    assert placed == [100.0, 140.0, 180.0]


@pytest.mark.parametrize("centres", [[190.0, 195.0, 198.0], [1.0, 2.0, 3.0], [60.0, 61.0, 150.0]])
def test_a_row_never_overlaps_nor_leaves_its_room(centres: list[float]) -> None:
    widths = [50.0, 60.0, 70.0]
    placed = spread(centres, widths, 0.0, 200.0)
    ends = [(c - w / 2, c + w / 2) for c, w in zip(placed, widths, strict=True)]
    assert ends[0][0] >= -1e-9
    assert ends[-1][1] <= 200.0 + 1e-9
    assert all(before[1] <= after[0] + 1e-9 for before, after in pairwise(ends))


def test_a_slanting_line_is_covered_by_small_boxes() -> None:
    boxes = boxes_of_line([(0.0, 0.0), (60.0, 60.0)], 2.0)
    assert len(boxes) > 3
    assert all(right - left < 20.0 for left, _, right, _ in boxes)
    assert boxes_of_line([(0.0, 5.0), (60.0, 5.0)], 2.0) == [(-2.0, 3.0, 62.0, 7.0)]
