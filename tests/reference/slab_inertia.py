"""The vacuum field in clean gravel, where part of the loss goes as the square of the flow.

Along the flow ds/dx = u / T + B u|u| (Forchheimer, with u the flow per width). The field is then no longer a sum of the
points' own fields, and suctions measured at a weak vacuum, scaled up in proportion, promise too much far away.

Newton's iteration on the grid of the linear field: each face's loss is carried on from its last flow along its
tangent. Around each pit the radial flow is known, so the loss there is integrated exactly, and only what departs from
radial flow is left to the faces.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from workbench.physics.arrays import Array, Ints
from workbench.physics.polygon import in_sight
from workbench.physics.slab.field import CELL_REACH, SAMPLE_REACH, VacuumField
from workbench.physics.slab.stencil import stencil
from workbench.physics.slab.system import Intake, balance_matrix, factorise
from workbench.physics.slab.wells import lattice_response

_MOST_STEPS = 60
_TOLERANCE = 1e-9
_STILL = 1e-300


@dataclass(frozen=True, eq=False)
class InertialField:
    """The field at one set of flows.

    Attributes
    ----------
    field : Field
        The linear field of the same slab.
    inertia : float
        Inertial resistance of the layer. [Pa s2/m5]
    flows : array, shape (n,)
        [m3/s]
    outdoor_suction : float
        [Pa]
    raw : array, shape (N,)
        The grid's own suctions. [Pa]
    pits : array, shape (n,)
        Suction in the pits. [Pa]
    steps : int
        Newton's steps that it took.
    """

    field: VacuumField
    inertia: float
    flows: Array
    outdoor_suction: float
    raw: Array
    pits: Array
    steps: int

    @property
    def intake(self) -> Intake:
        """Where the air comes from."""
        return self.field.system.intake(self.raw, self.outdoor_suction)

    def cells(self) -> Array:
        """Suction at the centres of the N cells [Pa]."""
        return self._refined(self.raw, *self.field.singular(self.field.centres, None, CELL_REACH))

    def sample(self, points: ArrayLike) -> Array:
        """Suction at places, shape (k, 2) [m]: shape (k,) [Pa].

        Raises
        ------
        ValueError
            If a place lies outside the slab.
        """
        places = np.atleast_2d(np.asarray(points, dtype=np.float64))
        taken = stencil(self.field.grid, self.field.system, places, "place")
        own = sum(_inertial_head(self.field, self.inertia, n, q, self.field.centres) for n, q in enumerate(self.flows))
        here = sum(_inertial_head(self.field, self.inertia, n, q, places) for n, q in enumerate(self.flows))
        read = taken.apply(self.raw - own) + here
        return self._refined(read, *self.field.singular(places, taken, SAMPLE_REACH))

    def _refined(self, raw: Array, excess: Array, pit: Ints) -> Array:
        suction = raw + excess @ self.flows
        suction[pit >= 0] = self.pits[pit[pit >= 0]]
        return np.asarray(suction)


def inertial_field(field: VacuumField, inertia: float, flows: ArrayLike, outdoor_suction: float = 0.0) -> InertialField:
    """Solve for the suctions at given flows of the points, shape (n,) [m3/s], in a layer of inertia B [Pa s2/m5].

    Costs some ten times a linear field.

    Raises
    ------
    ValueError
        If the flows are not one for each point, or the inertial resistance is negative.
    ArithmeticError
        If the iteration does not settle.
    """
    q = np.asarray(flows, dtype=np.float64)
    if q.shape != (len(field.wells),) or not np.all(np.isfinite(q)):
        raise ValueError(f"give one flow for each of the {len(field.wells)} suction points")
    if not 0.0 <= inertia < np.inf:
        raise ValueError("the inertial resistance of the layer must be 0 or more")
    system, faces = field.system, field.system.faces
    law = _FaceLaw(field, inertia, q)
    load = system.outdoor_load * outdoor_suction
    for n, well in enumerate(field.wells):
        np.add.at(load, well.cells, q[n] * well.weights)
    suction = field.raw.at(q, outdoor_suction)
    flow = faces.conductance * (suction[faces.upper] - suction[faces.lower])
    diagonal = system.diagonal()
    for step in range(1, _MOST_STEPS + 1):
        loss, slope = law(flow)
        ease = 1.0 / (1.0 / faces.conductance + slope)
        known = ease * (slope * flow - loss)
        kept = np.bincount(faces.upper, known, system.size) - np.bincount(faces.lower, known, system.size)
        suction = factorise(balance_matrix(diagonal, faces.lower, faces.upper, ease)).solve(load - kept)
        new = ease * (suction[faces.upper] - suction[faces.lower]) + known
        change, flow = float(np.max(np.abs(new - flow))), new
        if change <= _TOLERANCE * max(float(np.max(np.abs(flow))), _STILL):
            return InertialField(
                field, inertia, q, float(outdoor_suction), suction, _pits(field, inertia, q, suction), step
            )
    raise ArithmeticError("the vacuum field with inertia did not settle")


def _inertial_head(field: VacuumField, inertia: float, n: int, flow: float, places: Array) -> Array:
    """Suction that radial flow to point n adds by inertia, B Q|Q| / (4 pi^2 r), level within the pit [Pa]."""
    distance = np.maximum(np.hypot(*(places - field.wells[n].position).T), field.radii[n])
    strength = _inertia(field, inertia, np.asarray(field.wells[n].transmissivity)) * flow * abs(flow) / (4.0 * np.pi**2)
    return np.asarray(strength / distance)


def _inertia(field: VacuumField, inertia: float, transmissivity: Array) -> Array:
    # beds that differ in grain: B as one over the root of the permeability (J. C. Ward, 1964)
    return np.asarray(inertia * np.sqrt(field.slab.transmissivity / transmissivity))


def _pits(field: VacuumField, inertia: float, flows: Array, suction: Array) -> Array:
    found = np.empty(len(field.wells))
    for n, well in enumerate(field.wells):
        at = well.position + np.array([[field.radii[n], 0.0]])
        rim = _inertial_head(field, inertia, n, flows[n], at)[0]
        own = _inertial_head(field, inertia, n, flows[n], field.centres[well.cells])
        found[n] = well.weights @ (suction[well.cells] - own) + rim + flows[n] * well.pit_term / well.transmissivity
    return found


class _FaceLaw:
    """Inertial loss of every face [Pa] and its slope [Pa s/m3], at given flows of the faces."""

    def __init__(self, field: VacuumField, inertia: float, flows: Array) -> None:
        faces, grid = field.system.faces, field.grid
        self.grid, self.faces = grid, faces
        self.resistance = _inertia(field, inertia, faces.transmissivity)
        row, column = np.divmod(faces.place, grid.shape[1])
        self.row, self.column = row, column
        self.along_x = faces.axis == 0
        half = np.stack((self.along_x, ~self.along_x), axis=1) * 0.5
        middles = grid.origin + grid.cell * (np.stack((column, row), axis=1) + 0.5 + half)
        size = len(faces.place)
        self.correction = np.zeros((size, 2))
        self.radial = np.zeros(size)
        self.exact = np.zeros(size)
        self.in_pit = np.zeros(size, dtype=np.bool_)
        for n, well in enumerate(field.wells):
            offset = middles - well.position
            distance = np.hypot(*offset.T)
            near = np.flatnonzero(distance < max(SAMPLE_REACH * grid.cell, field.radii[n]))
            near = near[in_sight(well.position, middles[near], *field.system.barriers)]
            head = _inertial_head(field, inertia, n, flows[n], field.centres)
            self.exact[near] += head[faces.upper[near]] - head[faces.lower[near]]
            pit = near[distance[near] <= field.radii[n]]
            self.in_pit[pit] = True
            near = near[(distance[near] > field.radii[n]) & (distance[near] < SAMPLE_REACH * grid.cell)]
            true = -flows[n] * offset[near] / (2.0 * np.pi * distance[near, None] ** 2)
            true = np.where(self.along_x[near, None], true, true[:, ::-1])
            self.correction[near] += true - flows[n] * self._gridded(near, well.nodes, well.weights)
            self.radial[near] += np.hypot(*true.T) * true[:, 0]

    def _gridded(self, face: Ints, nodes: Ints, weights: Array) -> Array:
        """Flow per width across and along faces that the lattice makes of unit flow, shape (k, 2) [1/m]."""
        low = np.stack((self.row[face], self.column[face]), axis=1)
        ahead = np.where(self.along_x[face, None], [0, 1], [1, 0])
        aside = ahead[:, ::-1]

        def kernel(at: Ints) -> Array:
            return lattice_response(nodes, weights, at)

        across = kernel(low) - kernel(low + ahead)
        beside = kernel(low - aside) - kernel(low + aside) + kernel(low + ahead - aside) - kernel(low + ahead + aside)
        return np.stack((across, 0.25 * beside), axis=1) / self.grid.cell

    def __call__(self, flow: Array) -> tuple[Array, Array]:
        h, opening = self.grid.cell, self.faces.opening
        across = flow / (opening * h)
        u, v = across + self.correction[:, 0], self._beside(across) + self.correction[:, 1]
        speed = np.maximum(np.hypot(u, v), _STILL)
        loss = self.resistance * h * (speed * u - self.radial)
        slope = self.resistance * (speed + u * u / speed) / opening
        return np.where(self.in_pit, 0.0, loss) + self.exact, np.where(self.in_pit, 0.0, slope)

    def _beside(self, across: Array) -> Array:
        """Flow per width along each face: the mean over the four faces that meet it."""
        rows, columns = self.grid.shape
        # a margin all round, without flow
        along_x, along_y = np.zeros((rows + 2, columns + 1)), np.zeros((rows + 1, columns + 2))
        x, y = self.along_x, ~self.along_x
        along_x[self.row[x] + 1, self.column[x] + 1] = across[x]
        along_y[self.row[y] + 1, self.column[y] + 1] = across[y]
        beside_x = 0.25 * (along_y[:-1, 1:-2] + along_y[1:, 1:-2] + along_y[:-1, 2:-1] + along_y[1:, 2:-1])
        beside_y = 0.25 * (along_x[1:-2, :-1] + along_x[1:-2, 1:] + along_x[2:-1, :-1] + along_x[2:-1, 1:])
        beside = np.empty(across.shape)
        beside[x] = beside_x[self.row[x], self.column[x]]
        beside[y] = beside_y[self.row[y], self.column[y]]
        return beside
