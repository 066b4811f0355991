"""Where the words of a floor seen from above stand, none upon another: on the screen and on paper; no painter, no font.

Places are those of a drawing, y down, in its own steps (pixels or points); boxes are (left, top, right, bottom).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Mapping, Sequence
from typing import Any, Final, NamedTuple, TypeVar

import numpy as np

from workbench.design.plan_layout import Place, Side
from workbench.physics.arrays import Array, Bools

Box = tuple[float, float, float, float]
Key = TypeVar("Key", bound=Hashable)

APART: Final = 2.0
"""Kept free between words."""
_RINGS: Final = (2.0, 4.0, 12.0, 24.0, 40.0, 60.0, 84.0, 110.0)
"""Distances of a tag from the edge of its mark."""
_NEAR: Final = (24.0, 40.0, math.inf)
"""How far a tag may stand by how far it is folded: one that says less is better than one that has to be sought."""
_CLOSEST: Final = (4.0, 4.0, 2.0)
"""How near it may stand by how far it is folded; in a crowd the nearest."""
_LED: Final = 20.0
"""Farther than this a line leads from the tag to its mark."""
_CROSSED: Final = 150.0
"""What a line that crosses a mark or other words costs: as much as standing so much farther, thrice."""
_BEAD: Final = 5.0
"""Steps in which the room of a line is kept free of words."""
_DIRECTIONS: Final = 24
_TRIED: Final = 80
"""Places tried along a contour for its value."""


class Mark(NamedTuple):
    """A mark that words belong to: its middle, and half the square over which no words may lie."""

    at: Place
    reach: float

    @property
    def box(self) -> Box:
        """The square."""
        (x, y), reach = self.at, self.reach
        return x - reach, y - reach, x + reach, y + reach


class PlacedTag(NamedTuple):
    """Where the words of a mark stand, how far they are folded, and the line that leads there, if one does."""

    box: Box
    fold: int
    leader: Side | None


def clash(boxes: Array, taken: Array, apart: float = APART) -> Bools:
    """Which of the boxes (n, 4) touch any of those taken (m, 4), shape (n,)."""
    if not len(taken):
        return np.zeros(len(boxes), dtype=bool)
    a, b = boxes[:, None, :], taken[None, :, :]
    x = (a[..., 0] < b[..., 2] + apart) & (b[..., 0] < a[..., 2] + apart)
    y = (a[..., 1] < b[..., 3] + apart) & (b[..., 1] < a[..., 3] + apart)
    return np.asarray((x & y).any(axis=1), dtype=np.bool_)


def _array(boxes: Sequence[Box]) -> Array:
    return np.array(boxes, dtype=np.float64).reshape(-1, 4)


# --- tags of marks ----------------------------------------------------------------------------------------------------


def place_tags(
    marks: Mapping[Key, Mark],
    size: Callable[[Key, int], tuple[float, float]],
    area: Box,
    walls: Sequence[Side] = (),
    taken: Sequence[Box] = (),
    order: Sequence[Key] = (),
) -> dict[Key, PlacedTag]:
    """Stand the words of every mark beside it, as much of them as has room.

    `size` gives breadth and height of a mark's words in full (0), without the quiet lines (1), and at the least (2).
    Nothing covers a mark or what stands on `taken`; `walls` are covered where nothing else is free. Those of `order`
    are placed first, and in full before the others.
    """
    first = [key for key in order if key in marks]
    ranked = [*first, *(key for key in marks if key not in first)]
    placed: dict[Key, PlacedTag] = {}
    # the least of every tag, so that none is crowded out by the words of another; all of the first; then the rest
    lead, rest = ranked[:1], ranked[1:]
    for fold, group in ((2, ranked), (1, lead), (0, lead), (1, rest), (0, rest)):
        for key in group:
            present = placed.pop(key, None)
            if fold < 2 and present is None:
                continue
            beads = [bead for tag in placed.values() if tag.leader is not None for bead in _beads(tag.leader)]
            standing = _array([*(m.box for m in marks.values()), *(tag.box for tag in placed.values()), *taken, *beads])
            found = _beside(marks[key], size(key, fold), fold, area, walls, standing)
            if found is not None or present is not None:
                placed[key] = found or present  # type: ignore[assignment]
    return placed


def _beside(
    mark: Mark, size: tuple[float, float], fold: int, area: Box, walls: Sequence[Side], standing: Array
) -> PlacedTag | None:
    (width, height), (x0, y0), reach = size, mark.at, mark.reach
    turns = np.arange(_DIRECTIONS) * (2.0 * math.pi / _DIRECTIONS)
    cos, sin = np.cos(turns), np.sin(turns)
    off = np.array(_RINGS)[:, None] + reach
    # a side of the box faces the mark, its corner where the way is slanted
    x = (x0 + off * cos + np.clip(1.6 * cos, -1.0, 1.0) * width / 2.0).ravel()
    y = (y0 + off * sin + np.clip(1.6 * sin, -1.0, 1.0) * height / 2.0).ravel()
    boxes = np.stack((x - width / 2.0, y - height / 2.0, x + width / 2.0, y + height / 2.0), axis=1)
    within = (boxes[:, 0] >= area[0]) & (boxes[:, 1] >= area[1])
    within &= (boxes[:, 2] <= area[2]) & (boxes[:, 3] <= area[3])
    far = np.repeat(np.array(_RINGS), _DIRECTIONS)
    free = within & (far >= _CLOSEST[fold]) & (far <= _NEAR[fold]) & ~clash(boxes, standing)
    if not free.any():
        return None
    # beside or straight above a mark is where a reader looks first
    aslant = np.tile(np.abs(np.sin(2.0 * turns)), len(_RINGS))
    walled = np.zeros(len(boxes))
    for wall in walls:
        walled += _hidden(wall, boxes)
    cost = np.where(free, 3.0 * far + 6.0 * aslant + 4.0 * walled, np.inf)
    best, seen = int(np.argmin(cost)), set()
    # a line that crosses others is looked at only where one would be drawn
    while far[best] > _LED and best not in seen:
        seen.add(best)
        cost[best] += _CROSSED * _crosses(_leader(mark, _box(boxes[best])), standing)
        best = int(np.argmin(cost))
    # on whole steps: a screen fills whole pixels several times as fast
    left, top = float(round(boxes[best, 0])), float(round(boxes[best, 1]))
    box = left, top, left + width, top + height
    return PlacedTag(box, fold, _leader(mark, box) if far[best] > _LED else None)


def _leader(mark: Mark, box: Box) -> Side:
    """From the edge of a mark to the nearest place of a box."""
    (x, y), near = mark.at, (min(max(mark.at[0], box[0]), box[2]), min(max(mark.at[1], box[1]), box[3]))
    t = min(mark.reach / max(math.dist(mark.at, near), 1.0), 1.0)
    return (x + t * (near[0] - x), y + t * (near[1] - y)), near


def _crosses(line: Side, boxes: Array) -> bool:
    """Whether a line runs over any of the boxes (m, 4), but for where it ends."""
    (ax, ay), (bx, by) = line
    t = np.linspace(0.05, 0.95, max(int(math.dist(*line) / _BEAD), 2))
    x, y = (ax + t * (bx - ax))[:, None], (ay + t * (by - ay))[:, None]
    over = (boxes[:, 0] < x) & (x < boxes[:, 2]) & (boxes[:, 1] < y) & (y < boxes[:, 3])
    return bool(over.any())


def _beads(line: Side) -> list[Box]:
    """Small boxes along a line."""
    (ax, ay), (bx, by) = line
    steps = max(int(math.dist(*line) / _BEAD), 1)
    places = [(ax + (bx - ax) * k / steps, ay + (by - ay) * k / steps) for k in range(steps + 1)]
    return [(x - 0.5, y - 0.5, x + 0.5, y + 0.5) for x, y in places]


def _hidden(wall: Side, boxes: Array) -> Array:
    """Length of a wall that each of the boxes (n, 4) hides."""
    (ax, ay), (bx, by) = wall
    low, high = np.zeros(len(boxes)), np.ones(len(boxes))
    for start, way, least, most in (
        (ax, bx - ax, boxes[:, 0], boxes[:, 2]),
        (ay, by - ay, boxes[:, 1], boxes[:, 3]),
    ):
        if abs(way) < 1e-9:
            high = np.where((least <= start) & (start <= most), high, -1.0)
            continue
        one, other = (least - start) / way, (most - start) / way
        low, high = np.maximum(low, np.minimum(one, other)), np.minimum(high, np.maximum(one, other))
    return np.asarray(np.maximum(high - low, 0.0) * math.hypot(bx - ax, by - ay))


# --- values of contours -----------------------------------------------------------------------------------------------


def place_values(
    contours: Sequence[Sequence[Array]],
    sizes: Sequence[tuple[float, float]],
    outline: Sequence[Place],
    spine: Side,
    taken: Sequence[Box],
) -> dict[int, Box]:
    """A value on every contour that has room for one, by its position: on the floor and off all that is taken.

    `contours` are lines (n, 2) each, `sizes` the breadth and height of each value. They stand near the spine, a line
    from the strongest to the weakest place, so that they are read in a row.
    """
    known = [(i, np.concatenate(list(lines))) for i, lines in enumerate(contours) if len(lines)]
    if not known:
        return {}
    # a value may stand at any of these: more places are not looked for
    known = [(i, places[:: max(len(places) // _TRIED, 1)]) for i, places in known]
    counts = [len(places) for _, places in known]
    x, y = np.concatenate([places for _, places in known]).T
    wide, high = (np.repeat([sizes[i][side] / 2.0 for i, _ in known], counts) for side in (0, 1))
    boxes = np.stack((x - wide, y - high, x + wide, y + high), axis=1)
    inside = _within(boxes[:, [0, 2, 2, 0]].ravel(), boxes[:, [1, 1, 3, 3]].ravel(), outline).reshape(-1, 4)
    cost = np.where(inside.all(axis=1) & ~clash(boxes, _array(taken)), _distance(x, y, spine), np.inf)
    found: dict[int, Box] = {}
    start = 0
    for (i, _), count in zip(known, counts, strict=True):
        own = slice(start, start + count)
        start += count
        left = np.where(clash(boxes[own], _array(list(found.values()))), np.inf, cost[own])
        best = int(np.argmin(left))
        if math.isfinite(left[best]):
            found[i] = _box(boxes[own][best])
    return found


def _box(row: Any) -> Box:
    left, top, right, bottom = (float(each) for each in row)
    return left, top, right, bottom


def _within(x: Array, y: Array, corners: Sequence[Place]) -> Bools:
    """Which places lie within a polygon, by the parity of crossings."""
    found = np.zeros(x.shape, dtype=bool)
    for (ax, ay), (bx, by) in zip(corners, [*corners[1:], corners[0]], strict=True):
        if ay != by:
            crossed = (ay <= y) != (by <= y)
            found ^= crossed & (x < ax + (y - ay) * (bx - ax) / (by - ay))
    return found


def _distance(x: Array, y: Array, line: Side) -> Array:
    (ax, ay), (bx, by) = line
    dx, dy = bx - ax, by - ay
    t = np.clip(((x - ax) * dx + (y - ay) * dy) / max(dx * dx + dy * dy, 1e-9), 0.0, 1.0)
    return np.asarray(np.hypot(x - ax - t * dx, y - ay - t * dy))
