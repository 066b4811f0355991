"""Simple polygons and polylines in the plane: order, crossings, distances."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from workbench.physics.arrays import Array, Bools

_SAME_POINT = 1e-9


def polyline(points: ArrayLike, name: str, least: int = 2) -> Array:
    """Vertices as an array, shape (m, 2) [m].

    Raises
    ------
    ValueError
        If there are fewer than `least`, a coordinate is not a number, or two successive points coincide.
    """
    line = np.array(points, dtype=np.float64)
    if line.ndim != 2 or line.shape[1] != 2 or line.shape[0] < least:
        raise ValueError(f"{name} needs at least {least} points with two coordinates each")
    if not np.all(np.isfinite(line)):
        raise ValueError(f"every coordinate of {name} must be a number")
    if np.any(np.hypot(*np.diff(line, axis=0).T) < _SAME_POINT):
        raise ValueError(f"two successive points of {name} coincide")
    return line


def signed_area(polygon: Array) -> float:
    """Area [m2], positive when the vertices, shape (m, 2), run anticlockwise."""
    x, y = (polygon - polygon[0]).T
    return float(0.5 * np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))


def simple_polygon(points: ArrayLike, name: str) -> Array:
    """Vertices of a closed polygon that does not touch itself, in the order given, shape (m, 2) [m].

    The last vertex joins the first; a repeated first point at the end is refused.

    Raises
    ------
    ValueError
        As `polyline`, or if the polygon crosses or touches itself, or encloses nothing.
    """
    polygon = polyline(points, name, 3)
    if np.hypot(*(polygon[0] - polygon[-1])) < _SAME_POINT:
        raise ValueError(f"the last point of {name} repeats the first: leave it out")
    if _touches_itself(polygon):
        raise ValueError(f"{name} crosses or touches itself")
    if abs(signed_area(polygon)) < _SAME_POINT:
        raise ValueError(f"{name} encloses nothing")
    return polygon


def _touches_itself(polygon: Array) -> bool:
    m = len(polygon)
    after = np.roll(polygon, -1, axis=0)
    # a spike: an edge folds back upon the one before
    ahead, back = after - polygon, np.roll(polygon, 1, axis=0) - polygon
    turn = ahead[:, 0] * back[:, 1] - ahead[:, 1] * back[:, 0]
    span = np.hypot(*ahead.T) * np.hypot(*back.T)
    if np.any((np.abs(turn) <= 1e-12 * span) & (np.sum(ahead * back, axis=1) > 0.0)):
        return True
    first, second = np.triu_indices(m, 2)
    apart = (first != 0) | (second != m - 1)
    first, second = first[apart], second[apart]
    low, high = np.minimum(polygon[:, 0], after[:, 0]), np.maximum(polygon[:, 0], after[:, 0])
    near = (low[first] <= high[second]) & (low[second] <= high[first])
    first, second = first[near], second[near]
    return bool(np.any(_meet(polygon[first], after[first], polygon[second], after[second])))


def _meet(a: Array, b: Array, c: Array, d: Array) -> Bools:
    """Whether segments a-b and c-d have a point in common."""
    boxes = np.all(
        (np.minimum(a, b) <= np.maximum(c, d)) & (np.minimum(c, d) <= np.maximum(a, b)),
        axis=-1,
    )
    astride = (_side(a, b, c) * _side(a, b, d) <= 0.0) & (_side(c, d, a) * _side(c, d, b) <= 0.0)
    return np.asarray(boxes & astride)


def _side(a: Array, b: Array, p: Array) -> Array:
    return np.asarray(
        (b[..., 0] - a[..., 0]) * (p[..., 1] - a[..., 1]) - (b[..., 1] - a[..., 1]) * (p[..., 0] - a[..., 0])
    )


def contains(polygon: Array, points: Array) -> Bools:
    """Whether each point, shape (k, 2), lies in the polygon, by the parity of crossings; on an edge either."""
    a, b = polygon, np.roll(polygon, -1, axis=0)
    x, y = points[:, 0, None], points[:, 1, None]
    astride = (a[:, 1] <= y) != (b[:, 1] <= y)
    rise = np.where(a[:, 1] == b[:, 1], 1.0, b[:, 1] - a[:, 1])
    beyond = x < a[:, 0] + (y - a[:, 1]) * (b[:, 0] - a[:, 0]) / rise
    return np.asarray(np.sum(astride & beyond, axis=1) % 2 == 1)


def distance_to_segments(points: Array, a: Array, b: Array) -> Array:
    """Distance of each point, shape (k, 2), to each segment a-b, shape (m, 2): shape (k, m) [m]."""
    along = b - a
    square = np.maximum(np.sum(along * along, axis=1), _SAME_POINT**2)
    offset = points[:, None, :] - a
    share = np.clip(np.sum(offset * along, axis=2) / square, 0.0, 1.0)
    return np.asarray(np.hypot(*np.moveaxis(offset - share[..., None] * along, 2, 0)))


def in_sight(point: Array, points: Array, a: Array, b: Array) -> Bools:
    """Whether each of `points`, shape (k, 2), sees `point`, shape (2,), with none of the segments a-b between."""
    if len(a) == 0:
        return np.ones(len(points), dtype=np.bool_)
    start, end = np.broadcast_to(point, points.shape)[:, None, :], points[:, None, :]
    return np.asarray(~np.any(_meet(start, end, a[None], b[None]), axis=1))
