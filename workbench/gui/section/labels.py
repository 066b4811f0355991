"""Where the words of a drawing stand: near what they speak of, and on nothing. Geometry alone, in pixels, y down."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from typing import Literal

from msgspec import Struct

Box = tuple[float, float, float, float]
"""Left, top, right, bottom."""
Spot = tuple[float, float]
Side = Literal["right", "left", "above", "below"]


class Wanted(Struct, frozen=True):
    """A block of words: its size, the places it may stand beside (best first), and on which sides of them."""

    key: tuple[str, tuple[str | int, ...]]
    width: float
    height: float
    anchors: tuple[Spot, ...]
    sides: tuple[Side, ...]
    clearance: float
    far: bool = True


class Label(Struct, frozen=True):
    """Where a block of words stands, the side of its anchor it is on, and its leader line, if it needs one."""

    box: Box
    side: Side
    leader: tuple[Spot, Spot] | None


_FAR = (0.0, 16.0, 34.0, 56.0, 84.0, 120.0)
"""How much farther off a block may move, with a leader line. [px]"""
_SLIDES = (0.0, -0.5, 0.5)
"""How far a block with a leader may slide along its side, in its own size."""
_NUDGES = (0.0, -0.12, 0.12, -0.24, 0.24)
"""How far one without."""


def place_labels(
    wanted: Sequence[Wanted], taken: Sequence[Box], bounds: Box
) -> dict[tuple[str, tuple[str | int, ...]], Label]:
    """Place blocks in the order given, each at its first free place; what finds none is left out."""
    boxes = list(taken)
    placed = {}
    for block in wanted:
        label = _first_free(block, boxes, bounds)
        if label is not None:
            placed[block.key] = label
            boxes.append(label.box)
    return placed


def spread(centres: Sequence[float], widths: Sequence[float], left: float, right: float) -> list[float]:
    """Centres of blocks in one row, in order from the left, moved no more than keeps them apart and within the row.

    Where they cannot all fit, they are laid evenly.
    """
    room = right - left
    total = sum(widths)
    if total > room:
        ends = [left + room * (sum(widths[:i]) + width / 2.0) / total for i, width in enumerate(widths)]
        return ends
    placed = list(centres)
    edge = left
    for i, width in enumerate(widths):
        placed[i] = max(placed[i], edge + width / 2.0)
        edge = placed[i] + width / 2.0
    edge = right
    for i in reversed(range(len(widths))):
        placed[i] = min(placed[i], edge - widths[i] / 2.0)
        edge = placed[i] - widths[i] / 2.0
    return placed


def _first_free(block: Wanted, boxes: list[Box], bounds: Box) -> Label | None:
    for extra in _FAR if block.far else _FAR[:1]:
        for anchor in block.anchors:
            for side in block.sides:
                for slide in _SLIDES if extra else _NUDGES:
                    box = _box(block, anchor, side, block.clearance + extra, slide)
                    if _within(box, bounds) and not any(_meet(box, other) for other in boxes):
                        leader = (anchor, _nearest(box, anchor)) if extra else None
                        return Label(box, side, leader)
    return None


def _box(block: Wanted, anchor: Spot, side: Side, off: float, slide: float) -> Box:
    x, y = anchor
    w, h = block.width, block.height
    if side in ("right", "left"):
        left = x + off if side == "right" else x - off - w
        top = y - h / 2.0 + slide * h * 2.0
    else:
        left = x - w / 2.0 + slide * w
        top = y + off if side == "below" else y - off - h
    return left, top, left + w, top + h


def _within(box: Box, bounds: Box) -> bool:
    return box[0] >= bounds[0] and box[1] >= bounds[1] and box[2] <= bounds[2] and box[3] <= bounds[3]


def _meet(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _nearest(box: Box, spot: Spot) -> Spot:
    return min(max(spot[0], box[0]), box[2]), min(max(spot[1], box[1]), box[3])


def boxes_of_line(points: Sequence[Spot], half: float) -> list[Box]:
    """A line covered with boxes; slanting pieces by small ones, so that the room beside them stays free."""
    boxes = []
    for (ax, ay), (bx, by) in itertools.pairwise(points):
        pieces = 1 if ax == bx or ay == by else max(1, math.ceil(math.hypot(bx - ax, by - ay) / 12.0))
        for i in range(pieces):
            s, t = i / pieces, (i + 1) / pieces
            px, qx = ax + s * (bx - ax), ax + t * (bx - ax)
            py, qy = ay + s * (by - ay), ay + t * (by - ay)
            boxes.append((min(px, qx) - half, min(py, qy) - half, max(px, qx) + half, max(py, qy) + half))
    return boxes
