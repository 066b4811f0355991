"""The vacuum field on coarse cells with its properties left open: solved again and again while a floor is fitted.

The same balances as `slab`, with three differences. Every way in (the slab, groups of sides) is a reservoir of its own,
so that where a leak leads is decided afterwards. Transmissivity is taken out: shape depends on the leakages over it
alone. A point's flow is spread over a disc wider than its pit, so that what lies between the disc's mean and the pit's
rim is positive for every hollow that fits the disc.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from msgspec import Struct

from workbench.physics.arrays import Array, Ints
from workbench.physics.polygon import in_sight
from workbench.physics.slab.grid import Grid, cut_grid
from workbench.physics.slab.mesh import Seen
from workbench.physics.slab.parts import Layer, LayerWall, LayerZone
from workbench.physics.slab.stencil import stencil
from workbench.physics.slab.system import System, assemble, factorise
from workbench.physics.slab.wells import FAR_CONSTANT, KERNEL_REACH, far_kernel, lattice_kernel

DISC = 1.65
"""Radius of the disc over which a flow is spread, over that of the largest hollow at the point."""

_CELLS = 900
_LEAST_CELL = 0.1
_LEAST_DISC = 1.25
"""Of the disc's radius over a cell."""

_TIGHTEST = 1e-5
"""Leakage of a whole floor over its transmissivity below which none is told apart."""

_LEAST_ARM = 0.1
"""Of a cell, the shortest way from a side to the cell's centre."""

_REACH = 6.0
"""Cells beyond the disc within which a hole is put right for the grid's coarseness."""


class Plan(NamedTuple):
    """A drawn floor without its properties: places in m.

    `sides` tells for every side of the outline which outlet it belongs to, from 1 on (0 is the slab); `leaks` the
    leakage factor of each zone.
    """

    outline: tuple[tuple[float, float], ...]
    sides: tuple[int, ...]
    zones: tuple[tuple[tuple[float, float], ...], ...]
    leaks: tuple[float, ...]
    footings: tuple[LayerWall, ...]
    points: tuple[tuple[float, float], ...]
    radii: tuple[float, ...]
    holes: tuple[tuple[float, float], ...]


class Shapes(NamedTuple):
    """Properties over the transmissivity: `zones` (z,) factors on it, `leak` of the slab [1/m2], `sides` (g,) [1/m].

    The conductance per length of a group of sides is joint and ground beside the footing together.
    """

    zones: Array
    leak: float
    sides: Array


class SlabNetwork(Struct, frozen=True, eq=False):
    """A plan made ready; `near_pit` asks what lies between a disc and the rim of a hollow.

    `outlets` counts the slab and the groups of sides, in this order.
    """

    plan: Plan
    grid: Grid
    system: System
    outlets: int
    _spread: tuple[tuple[Ints, Array], ...]
    _own: Array
    _read: tuple[Ints, Array]
    _excess: Array
    _zone_shares: Array
    _ratio: Array
    _fragments: tuple[Ints, Ints, Array, Array]
    _pattern: tuple[Ints, Ints, Ints]

    def near_pit(self, point: int, radius: float) -> float:
        """Suction at the rim of a hollow above the mean of the point's disc, per flow and 1/T; above 0."""
        return float(self._own[point] - far_kernel(np.asarray(radius / self.grid.cell)))

    def solve(self, shapes: Shapes) -> Seen:
        """What points, holes and the floor's mean see, for unit transmissivity."""
        from scipy.sparse import csc_array

        system = self.system
        t = np.prod(1.0 + self._zone_shares * (shapes.zones[:, None] - 1.0), axis=0)
        faces = system.faces
        conductance = self._ratio * 2.0 * t[faces.lower] * t[faces.upper] / (t[faces.lower] + t[faces.upper])
        # tighter than this a floor's level would be lost in rounding, and it makes no other difference
        slab = max(shapes.leak, _TIGHTEST / float(system.area.sum())) * system.leak_house
        side, cell, length, depth = self._fragments
        through = length / (1.0 / shapes.sides[side] + depth / t[cell])
        to_outlets = np.zeros((system.size, self.outlets))
        to_outlets[:, 0] = slab
        np.add.at(to_outlets, (cell, side + 1), through)
        own = to_outlets.sum(axis=1) + np.bincount(faces.lower, conductance, system.size)
        own += np.bincount(faces.upper, conductance, system.size)
        order, indices, indptr = self._pattern
        data = np.concatenate((own, -conductance, -conductance))[order]
        matrix = csc_array((data, indices, indptr), shape=(system.size, system.size))
        n = len(self._spread)
        loads = np.zeros((system.size, n + self.outlets), order="F")
        for i, (cells, weights) in enumerate(self._spread):
            loads[cells, i] = weights
        loads[:, n:] = to_outlets
        solved = factorise(matrix).solve(loads)
        at_points = np.stack([weights @ solved[cells] for cells, weights in self._spread])
        cells, weights = self._read
        at_holes = np.einsum("kw,kwc->kc", weights, solved[cells]) if len(cells) else np.zeros((0, n + self.outlets))
        local = np.array([weights @ t[cells] for cells, weights in self._spread])
        area = system.area / system.area.sum()
        return Seen(
            0.5 * (at_points[:, :n] + at_points[:, :n].T),
            at_holes[:, :n] + self._excess / local,
            at_points[:, n:],
            at_holes[:, n:],
            area @ solved[:, n:],
        )

    def transmissivity_at_points(self, zones: Array) -> Array:
        """Factor on the transmissivity at each point's disc of zone factors (..., z), shape (..., n)."""
        cells = [self._zone_shares[:, cells] @ weights for cells, weights in self._spread]
        shares = np.stack(cells, axis=-1)
        return np.asarray(np.prod(1.0 + shares * (zones[..., None] - 1.0), axis=-2))


def network_of(plan: Plan) -> SlabNetwork:
    """Make a plan ready to be solved for any properties.

    Raises
    ------
    ValueError
        If the outline crosses itself or is too small, a zone or a place lies outside, or a part of the floor that holds
        neither slab nor side could draw air from nowhere.
    """
    cell = _cell(plan.outline)
    grid = cut_grid(plan.outline, cell)
    zones = tuple(LayerZone(outline, 1.0, leak) for outline, leak in zip(plan.zones, plan.leaks, strict=True))
    system = assemble(grid, Layer(plan.outline, 1.0, leak_house=1.0, zones=zones, footings=plan.footings, cell=cell))
    faces = system.faces
    shares = np.array([grid.share_within(np.asarray(outline)).ravel()[system.flat] for outline in plan.zones])
    fragments = grid.fragments
    kept = system.number[fragments.cell] >= 0
    side = np.array(plan.sides, dtype=np.int64)[fragments.edge[kept]] - 1
    spread, own = _discs(grid, system, plan)
    cells, weights, excess = _holes(grid, system, plan, spread)
    diagonal = np.arange(system.size)
    rows = np.concatenate((diagonal, faces.lower, faces.upper))
    columns = np.concatenate((diagonal, faces.upper, faces.lower))
    order = np.lexsort((rows, columns))
    indptr = np.searchsorted(columns[order], np.arange(system.size + 1))
    return SlabNetwork(
        plan,
        grid,
        system,
        1 + max(plan.sides),
        tuple(spread),
        own,
        (cells, weights),
        excess,
        shares.reshape(len(plan.zones), system.size),
        faces.conductance / faces.transmissivity,
        (
            side,
            system.number[fragments.cell[kept]],
            fragments.length[kept],
            # a cut cell's centre may lie beyond its edge; the way to it is never shorter than nothing
            np.maximum(fragments.depth[kept], _LEAST_ARM * cell),
        ),
        (order, rows[order].astype(np.int32), indptr.astype(np.int32)),
    )


def _cell(outline: Sequence[tuple[float, float]]) -> float:
    x, y = np.array(outline).T
    area = abs(0.5 * float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)))
    return max(math.sqrt(area / _CELLS), _LEAST_CELL)


def _kernel(a: Ints, b: Ints) -> Array:
    """Kernel of the square lattice between places (..., 2)."""
    apart = np.abs(a - b)
    table = lattice_kernel()
    near = np.all(apart <= KERNEL_REACH, axis=-1)
    safe = np.where(near[..., None], apart, 0)
    distance = np.maximum(np.hypot(apart[..., 0], apart[..., 1]), 1.0)
    return np.asarray(
        np.where(near, table[safe[..., 0], safe[..., 1]], np.log(distance) / (2.0 * np.pi) + FAR_CONSTANT)
    )


def _lattice(grid: Grid, system: System, cells: Ints) -> Ints:
    return np.stack(np.divmod(system.flat[cells], grid.shape[1]), axis=-1)


def _discs(grid: Grid, system: System, plan: Plan) -> tuple[list[tuple[Ints, Array]], Array]:
    """Cells and shares of each point's disc, and the kernel's mean over it."""
    h = grid.cell
    centres = grid.centres(system.flat)
    found, own = [], []
    for place, radius in zip(np.array(plan.points), plan.radii, strict=True):
        disc = max(DISC * radius, _LEAST_DISC * h)
        distance = np.hypot(*(centres - place).T)
        near = np.flatnonzero(distance < disc + 0.5 * h)
        near = near[in_sight(place, centres[near], *system.barriers)]
        # a cell at the rim takes part as far as it reaches in
        weights = np.clip((disc - distance[near]) / h + 0.5, 0.0, 1.0) * system.area[near]
        if not weights.sum() > 0.0:
            near, weights = np.array([int(np.argmin(distance))]), np.ones(1)
        weights = weights / weights.sum()
        nodes = _lattice(grid, system, near)
        own.append(float(weights @ _kernel(nodes[:, None], nodes[None]) @ weights))
        found.append((near, weights))
    return found, np.array(own)


def _holes(grid: Grid, system: System, plan: Plan, spread: list[tuple[Ints, Array]]) -> tuple[Ints, Array, Array]:
    """How holes are read off the grid, and what a point's true field near it exceeds the grid's by, (k, n)."""
    if not plan.holes:
        return np.zeros((0, 5), dtype=np.int64), np.zeros((0, 5)), np.zeros((0, len(spread)))
    h = grid.cell
    places = np.array(plan.holes)
    taken = stencil(grid, system, places, "place")
    excess = np.zeros((len(places), len(spread)))
    for i, ((cells, weights), place) in enumerate(zip(spread, np.array(plan.points), strict=True)):
        radius = plan.radii[i]
        distance = np.hypot(*(places - place).T)
        near = np.flatnonzero(distance < max(DISC * radius, _LEAST_DISC * h) + _REACH * h)
        near = near[in_sight(place, places[near], *system.barriers)]
        if not near.size:
            continue
        nodes = _lattice(grid, system, cells)
        at = _lattice(grid, system, taken.cells[near].ravel())
        kernel = (_kernel(at[:, None], nodes[None]) @ weights).reshape(len(near), -1)
        gridded = np.sum(taken.weights[near] * kernel, axis=1)
        excess[near, i] = gridded - far_kernel(np.maximum(distance[near], radius) / h)
    return taken.cells, taken.weights, excess
