"""Triangles over a floor, refined in rings around its pits, so that every hollow is a true disc of the mesh."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from workbench.physics.arrays import Array, Ints

_RAYS = 40
_GROWTH = 1.0 + 2.0 * np.pi / _RAYS
_NEAR = 24
"""Triangles by the distance of their middles among which the one around a place is looked for."""
_CLEAR = 0.55
"""Least distance of an inner node from the outline, in spacings: over one half, so that no side of it is cut."""


@dataclass(frozen=True, eq=False)
class Mesh:
    """Triangles of a floor.

    `nodes` (p, 2) [m]; `triangles` (t, 3) node numbers, anticlockwise; `area` (t,) [m2]; `sides` for every side of the
    outline the nodes along it in order; `around` for every pit the distance of each node from its middle, (n, p) [m].
    """

    nodes: Array
    triangles: Ints
    area: Array
    sides: tuple[Ints, ...]
    around: Array

    @cached_property
    def centroids(self) -> Array:
        """Middles of the triangles, shape (t, 2). [m]"""
        return np.asarray(self.nodes[self.triangles].mean(axis=1))

    def within(self, places: Array) -> tuple[Ints, Array]:
        """Nodes (k, 3) of the triangle each place lies in, and its barycentric weights (k, 3).

        Raises
        ------
        ValueError
            If a place lies in none.
        """
        from scipy.spatial import cKDTree

        near = cKDTree(self.centroids).query(places, _NEAR)[1]
        corner = self.nodes[self.triangles[near]]
        opposite = np.roll(corner, -2, axis=2) - np.roll(corner, -1, axis=2)
        from_next = places[:, None, None] - np.roll(corner, -1, axis=2)
        weights = _cross(opposite, from_next) / (2.0 * self.area[near][..., None])
        best = np.argmax(weights.min(axis=2), axis=1)
        here = np.arange(len(places))
        found = weights[here, best]
        if np.any(found < -1e-9):
            raise ValueError("a place lies outside the floor")
        return self.triangles[near[here, best]], found


def _cross(a: Array, b: Array) -> Array:
    return np.asarray(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0])


def holds(outline: Array, places: Array) -> NDArray[np.bool_]:
    """Whether places lie within an outline, by the crossings of a ray."""
    inside = np.zeros(len(places), dtype=np.bool_)
    for a, b in zip(outline, np.roll(outline, -1, axis=0), strict=True):
        spans = (a[1] > places[:, 1]) != (b[1] > places[:, 1])
        with np.errstate(divide="ignore", invalid="ignore"):
            at = a[0] + (places[:, 1] - a[1]) / (b[1] - a[1]) * (b[0] - a[0])
        inside ^= spans & (places[:, 0] < at)
    return inside


def clearance(outline: Array, places: Array) -> Array:
    """Distance of places from the nearest side of an outline, shape (k,). [m]"""
    nearest = np.full(len(places), np.inf)
    for a, b in zip(outline, np.roll(outline, -1, axis=0), strict=True):
        along = np.clip((places - a) @ (b - a) / ((b - a) @ (b - a)), 0.0, 1.0)
        nearest = np.minimum(nearest, np.hypot(*(places - a - along[:, None] * (b - a)).T))
    return nearest


def area_of(outline: Array) -> float:
    """Area within an outline. [m2]"""
    x, y = outline.T
    return 0.5 * abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1)))


def triangulate(outline: Array, pits: Array, radii: tuple[float, ...], spacing: float) -> Mesh:
    """Mesh of an outline (m, 2) with pits at (n, 2), each with rims at all of `radii`, rising. [m]

    Raises
    ------
    ValueError
        If the triangles do not fill the outline.
    """
    from scipy.spatial import Delaunay

    walls = [
        a + np.arange(steps)[:, None] / steps * (b - a)
        for a, b in zip(outline, np.roll(outline, -1, axis=0), strict=True)
        for steps in (max(round(float(np.hypot(*(b - a))) / spacing), 1),)
    ]
    apart = np.hypot(*(pits[:, None] - pits[None]).transpose(2, 0, 1))
    np.fill_diagonal(apart, np.inf)
    rings = _rings(radii, spacing)
    inner = []
    for i, pit in enumerate(pits):
        around = np.vstack((pit[None], *(pit + _circle(radius, turn) for turn, radius in enumerate(rings))))
        own = np.hypot(*(around - pit).T)
        others = [np.hypot(*(around - other).T) for j, other in enumerate(pits) if j != i]
        # where the rings of two pits meet, each keeps its side
        inner.append(around[np.all([own < other for other in others], axis=0)] if others else around)
    back = _lattice(outline, spacing)
    far = np.min([np.hypot(*(back - pit).T) for pit in pits], axis=0) > rings[-1] + _CLEAR * spacing
    free = np.vstack((*inner, back[far]))
    free = free[holds(outline, free) & (clearance(outline, free) > _CLEAR * spacing)]
    nodes = np.vstack((*walls, free))
    hull = Delaunay(nodes)
    corner = nodes[hull.simplices]
    u, v = corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
    area = 0.5 * np.abs(_cross(u, v))
    simplices = np.where((_cross(u, v) < 0.0)[:, None], hull.simplices[:, ::-1], hull.simplices)
    kept = (area > 1e-10) & holds(outline, corner.mean(axis=1))
    if abs(area[kept].sum() / area_of(outline) - 1.0) > 1e-9:
        raise ValueError("the triangles do not fill the outline")
    first = np.cumsum([0, *(len(wall) for wall in walls)])
    sides = tuple(np.append(np.arange(first[m], first[m + 1]), first[(m + 1) % len(walls)]) for m in range(len(walls)))
    around = np.hypot(*(nodes[None] - pits[:, None]).transpose(2, 0, 1))
    return Mesh(nodes, simplices[kept].astype(np.int64), area[kept], sides, around)


def _rings(radii: tuple[float, ...], spacing: float) -> list[float]:
    """Radii of the rings: every rim, between them and beyond in steps as wide as the rays lie apart."""
    found = [0.5 * radii[0]]
    for radius in radii:
        steps = int(np.ceil(np.log(radius / found[-1]) / np.log(_GROWTH)))
        found.extend(found[-1] * (radius / found[-1]) ** (np.arange(1, steps + 1) / steps))
    while found[-1] * (_GROWTH - 1.0) < spacing:
        found.append(found[-1] * _GROWTH)
    return found


def _circle(radius: float, turn: int) -> Array:
    angles = 2.0 * np.pi * (np.arange(_RAYS) + 0.5 * (turn % 2)) / _RAYS
    return radius * np.column_stack((np.cos(angles), np.sin(angles)))


def _lattice(outline: Array, spacing: float) -> Array:
    """A lattice of equal triangles over an outline's bounds, shape (k, 2). [m]"""
    low, high = outline.min(axis=0), outline.max(axis=0)
    rise = spacing * np.sqrt(0.75)
    x, y = np.meshgrid(np.arange(low[0], high[0], spacing), np.arange(low[1], high[1], rise))
    x[1::2] += 0.5 * spacing
    return np.column_stack((x.ravel(), y.ravel()))
