"""Places between cell centres: reading the field there, and letting a suction point draw there."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from msgspec import Struct

from workbench.physics.arrays import Array, Bools, Ints
from workbench.physics.polygon import contains, distance_to_segments, in_sight
from workbench.physics.slab.grid import Grid
from workbench.physics.slab.parts import Layer
from workbench.physics.slab.system import System
from workbench.physics.slab.wells import pit_term

_ON_EDGE = 1e-6
_WHOLE = 1.0 - 1e-6
_NO_SHARE = 1e-12
_CORNERS = np.array([(0, 0), (0, 1), (1, 0), (1, 1)])


class Stencil(NamedTuple):
    """Weights of cells at k places: `cells` (k, 5) own numbers and `weights` (k, 5), summing to 1 in each row."""

    cells: Ints
    weights: Array

    def apply(self, values: Array) -> Array:
        """Values at the places, shape (k, ...), of values at the cells, shape (N, ...)."""
        return np.asarray(np.einsum("kw,kw...->k...", self.weights, values[self.cells]))


class Source(Struct, frozen=True, eq=False):
    """A suction point on the grid.

    Attributes
    ----------
    position : array, shape (2,)
        Where the grid has it. [m]
    nodes, cells, weights : array, shape (w, 2), (w,), (w,)
        Lattice places (row, column), own numbers and shares of the cells it draws from.
    transmissivity : float
        Of the layer there. [m3/(s Pa)]
    pit_term : float
        As `wells.pit_term`.
    """

    position: Array
    nodes: Ints
    cells: Ints
    weights: Array
    transmissivity: float
    pit_term: float


def place_sources(grid: Grid, system: System, slab: Layer, positions: Array, radii: Array) -> tuple[Source, ...]:
    """Suction points on the grid.

    The flow is shared among the four nearest centres as bilinear interpolation has it, which keeps its place. Next to
    the outline or a footing, where one of the four is cut or lies on the other side, the nearest centre takes it all.

    Raises
    ------
    ValueError
        If a point lies outside the slab or on a footing, or two pits overlap.
    """
    _within(grid, positions, "suction point")
    for f, footing in enumerate(slab.footings):
        line = np.asarray(footing.line, dtype=np.float64)
        gap = distance_to_segments(positions, line[:-1], line[1:]).min(axis=1)
        for n in np.flatnonzero(gap < np.maximum(radii, 0.5 * footing.width)):
            if footing.opening < 1.0:
                raise ValueError(f"the pit of suction point {n + 1} lies on footing {f + 1}")
    apart = np.hypot(*(positions[:, None] - positions).T)
    for k, n in np.argwhere(np.triu(apart < radii + radii[:, None], 1)):
        raise ValueError(f"the pits of suction points {k + 1} and {n + 1} overlap")
    return tuple(_source(grid, system, p, float(r)) for p, r in zip(positions, radii, strict=True))


def _source(grid: Grid, system: System, position: Array, radius: float) -> Source:
    corners, shares = _bilinear(grid.units(position[None]))
    used = shares[0] > _NO_SHARE
    nodes, weights = corners[0][used], shares[0][used]
    full = _WHOLE * grid.cell**2
    if not (_all_joined(nodes, system, grid) and np.all(grid.area[nodes[:, 0], nodes[:, 1]] >= full)):
        nodes, weights = _nearest(grid, system, position)[None], np.ones(1)
        position = grid.origin + grid.cell * (nodes[0, ::-1] + 0.5)
    cells = system.number[nodes[:, 0] * grid.shape[1] + nodes[:, 1]]
    return Source(
        position,
        nodes,
        cells,
        weights,
        float(weights @ system.transmissivity[cells]),
        pit_term(nodes, weights, radius / grid.cell),
    )


def _bilinear(units: Array) -> tuple[Ints, Array]:
    """Lattice places (k, 4, 2) as (row, column) and weights (k, 4) of the centres around places in cell units."""
    low = np.floor(units - 0.5).astype(np.int64)
    share = units - 0.5 - low
    nodes = low[:, None, ::-1] + _CORNERS
    up, right = share[:, 1, None], share[:, 0, None]
    weights = np.where(_CORNERS[:, 0], up, 1.0 - up) * np.where(_CORNERS[:, 1], right, 1.0 - right)
    return nodes, weights


def _all_joined(nodes: Ints, system: System, grid: Grid) -> bool:
    """Whether lattice places, four of a square or fewer, are cells with nothing between them."""
    if not np.all(_taken(nodes, system, grid)):
        return False
    joined = True
    for a in nodes:
        for b in nodes:
            if b[0] == a[0] and b[1] == a[1] + 1:
                joined &= bool(system.whole_x[a[0], a[1]])
            if b[1] == a[1] and b[0] == a[0] + 1:
                joined &= bool(system.whole_y[a[0], a[1]])
    return joined


def _taken(nodes: Ints, system: System, grid: Grid) -> Bools:
    """Whether lattice places (..., 2) are cells that take part."""
    rows, columns = grid.shape
    row, column = nodes[..., 0], nodes[..., 1]
    on = (row >= 0) & (row < rows) & (column >= 0) & (column < columns)
    flat = np.clip(row, 0, rows - 1) * columns + np.clip(column, 0, columns - 1)
    return np.asarray(on & (system.number[flat] >= 0))


def _nearest(grid: Grid, system: System, position: Array) -> Ints:
    """The nearest cell in sight of a place, its centre within the outline if there is one: (row, column)."""
    home = np.floor(grid.units(position[None])[0, ::-1]).astype(np.int64)
    around = home + np.stack(np.meshgrid(np.arange(-2, 3), np.arange(-2, 3), indexing="ij"), axis=-1).reshape(-1, 2)
    around = around[_taken(around, system, grid)]
    centres = grid.origin + grid.cell * (around[:, ::-1] + 0.5)
    distance = np.hypot(*(centres - position).T) / grid.cell
    hidden = ~in_sight(position, centres, *system.barriers)
    beyond = ~grid.inside[around[:, 0], around[:, 1]]
    return np.asarray(around[np.argmin(distance + 100.0 * hidden + 10.0 * beyond)])


def _within(grid: Grid, points: Array, name: str) -> None:
    outside = ~contains(grid.outline, points)
    for k in np.flatnonzero(outside):
        after = np.roll(grid.outline, -1, axis=0)
        if distance_to_segments(points[k : k + 1], grid.outline, after).min() > _ON_EDGE:
            raise ValueError(f"{name} {k + 1} lies outside the slab")


def stencil(grid: Grid, system: System, points: Array, name: str) -> Stencil:
    """Weights that read the field at `points`, shape (k, 2) [m].

    Bilinear among four joined centres. Elsewhere from the nearest centre with the slope towards the place, or where
    nothing lies that way, with the slope from behind; never across a footing.

    Raises
    ------
    ValueError
        If a place lies outside the slab.
    """
    _within(grid, points, name)
    rows, columns = grid.shape
    units = grid.units(points)
    k = len(points)
    nodes, corner = _bilinear(units)
    safe = np.clip(nodes[:, 0], 0, (rows - 2, columns - 2)) if rows > 1 and columns > 1 else nodes[:, 0]
    row, column = safe.T
    whole = (
        np.all(_taken(nodes, system, grid), axis=1)
        & system.whole_x[row, column]
        & system.whole_x[row + 1, column]
        & system.whole_y[row, column]
        & system.whole_y[row, column + 1]
    )
    cells, weights = np.zeros((k, 5), dtype=np.int64), np.zeros((k, 5))
    flat = nodes[..., 0] * columns + nodes[..., 1]
    cells[whole, :4], weights[whole, :4] = system.number[flat[whole]], corner[whole]
    cells[whole, 4] = cells[whole, 0]
    for n in np.flatnonzero(~whole):
        cells[n], weights[n] = _from_nearest(grid, system, points[n], units[n])
    return Stencil(cells, weights)


def _from_nearest(grid: Grid, system: System, point: Array, unit: Array) -> tuple[Ints, Array]:
    columns = grid.shape[1]
    home = _nearest(grid, system, point)
    own = system.number[home[0] * columns + home[1]]
    cells, weights = np.full(5, own), np.array([1.0, 0.0, 0.0, 0.0, 0.0])
    for axis, links in ((0, system.whole_x), (1, system.whole_y)):
        offset = float(unit[axis] - home[1 - axis] - 0.5)
        towards = 1 if offset > 0.0 else -1
        for side, sign in ((towards, 1.0), (-towards, -1.0)):
            step = np.array([0, side] if axis == 0 else [side, 0])
            low = np.minimum(home, home + step)
            if np.all(low >= 0) and low[0] < links.shape[0] and low[1] < links.shape[1] and links[low[0], low[1]]:
                there = home + step
                cells[1 + axis] = system.number[there[0] * columns + there[1]]
                weights[1 + axis] = sign * abs(offset)
                weights[0] -= sign * abs(offset)
                break
    return cells, weights
