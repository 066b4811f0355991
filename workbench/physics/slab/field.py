"""The vacuum field under a slab: a permeable layer that leaks to the house and to the outdoors.

Suction s is the pressure below that of the room. Along the layer the flow per width is u = T grad s towards the points,
with transmissivity T = k t / mu; air enters through the slab at C_h s + C_o (s - s_o) per area, s_o the suction of the
outdoors: room pressure less outdoor pressure, negative when the house is the lower. So between the points
T lap(s) = (C_h + C_o) s - C_o s_o, the leaky aquifer of groundwater (G. J. de Glee, 1930). The slab above a pit leaks
like the rest.

Finite volumes on square cells, cut exactly by the outline. The equation is linear, so everything that follows from the
flows of the points is a matrix product after one factorisation.
"""

from __future__ import annotations

from functools import cached_property
from typing import NamedTuple

import numpy as np
from msgspec import Struct
from numpy.typing import ArrayLike

from workbench.physics.arrays import Array, Bools, Ints
from workbench.physics.polygon import in_sight
from workbench.physics.ranges import positive
from workbench.physics.slab.grid import Grid, cut_grid
from workbench.physics.slab.parts import Layer
from workbench.physics.slab.stencil import Source, Stencil, place_sources, stencil
from workbench.physics.slab.system import Intake, System, assemble, factorise
from workbench.physics.slab.wells import KERNEL_REACH, far_kernel, lattice_response

CELL_REACH = 3
SAMPLE_REACH = KERNEL_REACH - 2
"""Cells around a point within which its singular field is put right: at centres, and between them."""

_BALANCE = 1e-11


class Responses(NamedTuple):
    """Suction at k places as a linear function.

    `flow` (k, n) per flow of each point [Pa s/m3]; `rest` (k,) per suction of the outdoors.
    """

    flow: Array
    rest: Array

    def at(self, flows: ArrayLike, outdoor_suction: ArrayLike = 0.0) -> Array:
        """Suction [Pa], shape (..., k), at flows of shape (..., n) [m3/s]."""
        q, outdoors = np.asarray(flows, dtype=np.float64), np.asarray(outdoor_suction, dtype=np.float64)
        return np.asarray(q @ self.flow.T + outdoors[..., None] * self.rest)


class VacuumField(Struct, frozen=True, eq=False, dict=True):
    """The field for any flows of n suction points, solved once.

    Attributes
    ----------
    slab : Slab
    positions, radii : array, shape (n, 2) and (n,)
        Of the points and their pits. [m]
    grid : Grid
    system : System
        What was factored, with the cells in its own order: N of them.
    wells : tuple of Source
    raw : Responses
        The grid's own answer at the N cells; balances hold for it exactly.
    pits : Responses
        Suction in the pits; its `flow` is the coupling matrix of the pipe network, (n, n) and symmetric.
    """

    slab: Layer
    positions: Array
    radii: Array
    grid: Grid
    system: System
    wells: tuple[Source, ...]
    raw: Responses
    pits: Responses

    @property
    def resistance(self) -> Array:
        """Suction in pit i for unit flow at point j, shape (n, n) [Pa s/m3]."""
        return self.pits.flow

    @cached_property
    def cells(self) -> Responses:
        """Suction at the centres of the N cells, right next to the pits too, and the pit's own within its rim."""
        return self._refined(self.raw, *self.singular(self.centres, None, CELL_REACH))

    @cached_property
    def centres(self) -> Array:
        """Centres of the N cells, shape (N, 2) [m]."""
        return self.grid.centres(self.system.flat)

    @property
    def areas(self) -> Array:
        """Areas of the N cells within the outline, shape (N,) [m2]."""
        return self.system.area

    @property
    def mask(self) -> Bools:
        """Cells that take part, shape (ny, nx)."""
        taken = np.zeros(self.grid.area.size, dtype=np.bool_)
        taken[self.system.flat] = True
        return taken.reshape(self.grid.shape)

    def image(self, values: Array) -> Array:
        """Values at the N cells as a picture, shape (..., ny, nx), rows from the least y; not a number outside."""
        picture = np.full((*values.shape[:-1], self.grid.area.size), np.nan)
        picture[..., self.system.flat] = values
        return picture.reshape((*values.shape[:-1], *self.grid.shape))

    def at(self, flows: ArrayLike, outdoor_suction: ArrayLike = 0.0) -> Array:
        """Suction at the N cells [Pa], shape (..., N), at flows of shape (..., n) [m3/s]."""
        return self.cells.at(flows, outdoor_suction)

    def sample(self, points: ArrayLike) -> Responses:
        """Suction at places such as test holes, shape (k, 2) [m].

        Bilinear between centres, which rounds the kink at the rim of a zone; beyond the last centre before an edge or a
        footing the slope is carried on. Near a pit the logarithm is put in for what the cells make of it, and within
        its rim the pit's suction stands.

        Raises
        ------
        ValueError
            If a place lies outside the slab.
        """
        places = _points(points, "a place")
        taken = stencil(self.grid, self.system, places, "place")
        raw = Responses(taken.apply(self.raw.flow), taken.apply(self.raw.rest))
        return self._refined(raw, *self.singular(places, taken, SAMPLE_REACH))

    def intake(self, flows: ArrayLike, outdoor_suction: ArrayLike = 0.0) -> Intake:
        """Where the air comes from at flows of shape (..., n) [m3/s]."""
        q, outdoors = np.asarray(flows, dtype=np.float64), np.asarray(outdoor_suction, dtype=np.float64)
        by_flow, by_outdoors = self._shares
        return Intake(
            *(
                np.asarray(q @ f + outdoors[..., None] * o if f.ndim == 2 else q @ f + outdoors * o)
                for f, o in zip(by_flow, by_outdoors, strict=True)
            )
        )

    @cached_property
    def _shares(self) -> tuple[Intake, Intake]:
        return self.system.intake(self.raw.flow.T, 0.0), self.system.intake(self.raw.rest, 1.0)

    def singular(self, places: Array, taken: Stencil | None, reach: int) -> tuple[Array, Ints]:
        """What the true singular field of every point exceeds the grid's by, within `reach` cells of it.

        Parameters
        ----------
        places : array, shape (k, 2)
            [m]
        taken : Stencil, optional
            How the places are read off the grid; without it they are the cells' centres.

        Returns
        -------
        excess : array, shape (k, n)
            Per flow of each point. [Pa s/m3]
        pit : array, shape (k,)
            Number of the pit that a place lies in, else -1.
        """
        excess, pit = np.zeros((len(places), len(self.wells))), np.full(len(places), -1)
        h = self.grid.cell
        for n, well in enumerate(self.wells):
            distance = np.hypot(*(places - well.position).T)
            near = np.flatnonzero(distance < max(reach * h, self.radii[n]))
            near = near[in_sight(well.position, places[near], *self.system.barriers)]
            pit[near[distance[near] <= self.radii[n]]] = n
            near = near[(distance[near] > self.radii[n]) & (distance[near] < reach * h)]
            cells = near[:, None] if taken is None else taken.cells[near]
            kernel = lattice_response(well.nodes, well.weights, self._lattice(cells.ravel())).reshape(cells.shape)
            gridded = kernel[:, 0] if taken is None else np.sum(taken.weights[near] * kernel, axis=1)
            excess[near, n] = (gridded - far_kernel(distance[near] / h)) / well.transmissivity
        return excess, pit

    def _refined(self, raw: Responses, excess: Array, pit: Ints) -> Responses:
        flow, rest = raw.flow + excess, np.array(raw.rest)
        flow[pit >= 0], rest[pit >= 0] = self.pits.flow[pit[pit >= 0]], self.pits.rest[pit[pit >= 0]]
        return Responses(flow, rest)

    def _lattice(self, cells: Ints) -> Ints:
        return np.stack(np.divmod(self.system.flat[cells], self.grid.shape[1]), axis=-1)


def vacuum_field(slab: Layer, positions: ArrayLike, radii: ArrayLike) -> VacuumField:
    """Solve the field for suction points at `positions`, shape (n, 2), with pits of equivalent `radii`, (n,) [m].

    A point closer to the outline or to a footing than its cell allows is moved to the nearest cell centre, by less than
    one cell.

    Raises
    ------
    ValueError
        If the outline crosses itself or holds too few cells, a zone lies outside, a footing has no opening between 0
        and 1, a point lies outside the slab or on a footing, two pits overlap, some part can draw air from nowhere, or
        the layer leaks so fast beside its transmissivity that a pit draws on nothing but what lies right over it.
    """
    places = _points(positions, "a suction point")
    rims = np.broadcast_to(positive(radii, "the radius of a pit"), places.shape[:1])
    grid = cut_grid(_pairs(slab.outline), slab.cell)
    system = assemble(grid, slab)
    wells = place_sources(grid, system, slab, places, rims)
    _refuse_tight(system, wells, rims)
    loads = np.zeros((system.size, len(wells) + 1), order="F")
    for n, well in enumerate(wells):
        np.add.at(loads[:, n], well.cells, well.weights)
    loads[:, -1] = system.outdoor_load
    factor = factorise(system.matrix)
    solved = factor.solve(loads)
    fault = system.diagonal() @ solved - loads.sum(axis=0)
    if np.any(np.abs(fault) > _BALANCE * np.maximum(loads.sum(axis=0), 1e-300)):
        # a nearly sealed slab: its level is known worse than its slopes, and follows from the balance of the whole
        solved += factor.solve(np.asfortranarray(loads - system.matrix @ solved))
        solved -= (system.diagonal() @ solved - loads.sum(axis=0)) / system.diagonal().sum()
    raw = Responses(solved[:, :-1], solved[:, -1])
    mean = np.stack([well.weights @ solved[well.cells] for well in wells])
    pits = Responses(mean[:, :-1] + np.diag([well.pit_term / well.transmissivity for well in wells]), mean[:, -1])
    return VacuumField(slab, places, rims, grid, system, wells, raw, pits)


def _refuse_tight(system: System, wells: tuple[Source, ...], rims: Array) -> None:
    """Refuse a pit wider than the leakage length of its layer: a point's field then says nothing of its resistance."""
    leak = (system.leak_house + system.leak_outdoors) / system.area
    for n, (well, rim) in enumerate(zip(wells, rims, strict=True)):
        here = float(well.weights @ leak[well.cells])
        if here * rim**2 > well.transmissivity:
            raise ValueError(
                f"the fill at suction point {n + 1} is too tight for a field: the slab leaks within the pit's own width"
            )


def _points(points: ArrayLike, name: str) -> Array:
    places = np.atleast_2d(np.asarray(points, dtype=np.float64))
    if places.ndim != 2 or places.shape[1:] != (2,) or len(places) == 0:
        raise ValueError(f"{name} needs two coordinates")
    if not np.all(np.isfinite(places)):
        raise ValueError(f"every coordinate of {name} must be a number")
    return places


def _pairs(points: ArrayLike) -> tuple[tuple[float, float], ...]:
    array = np.asarray(points, dtype=np.float64)
    if array.ndim != 2 or array.shape[1:] != (2,):
        raise ValueError("the outline of the slab needs points with two coordinates each")
    return tuple((float(x), float(y)) for x, y in array)


__all__ = ["Intake", "Responses", "VacuumField", "vacuum_field"]
