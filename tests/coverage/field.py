"""The true field under a slab: linear elements on triangles, every pit one unknown of a single suction.

T lap(s) = (leakage to the house) s + (leakage to the outdoors) (s - s_o), s the suction below the room, s_o that of the
outdoors; so are the sides, by conductances per length, and cracks. Nothing here comes from the program that is tested.
Leakage is lumped at the nodes, so that no suction leaves the range of its neighbours'.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from tests.coverage.mesh import Mesh
from workbench.physics.arrays import Array


@dataclass(frozen=True, eq=False)
class Layer:
    """What lies under the slab, by triangle and by side.

    `transmissivity` (t,) [m3/(s Pa)]; `house`, `outdoors` (t,) leakages per area [m/(s Pa)]; `joints`, `ground` (m,)
    conductances of each side per length to the house and to the outdoors [m2/(s Pa)]; `cracks` a list of places (k, 2)
    along a crack, each with the conductance to the house that belongs to it [m3/(s Pa)].
    """

    transmissivity: Array
    house: Array
    outdoors: Array
    joints: Array
    ground: Array
    cracks: tuple[tuple[Array, float], ...] = ()


class Answer(NamedTuple):
    """Linear answers of a floor to flows (n,) [m3/s] and to the suction of the outdoors [Pa].

    `pits` (n, n) and `holes` (k, n) [Pa s/m3]; `rest_pits` (n,), `rest_holes` (k,) and their mean over the floor
    `rest_mean`; `house` (n,) share of each point's flow that comes from the house with the outdoors at its pressure;
    `outside` (n,) the rest, summed up on its own.
    """

    pits: Array
    holes: Array
    rest_pits: Array
    rest_holes: Array
    rest_mean: float
    house: Array
    outside: Array


def solve(mesh: Mesh, layer: Layer, rims: Array, holes: Array) -> Answer:
    """Answer with hollows of radii `rims` (n,), which must be rims of the mesh, at holes (k, 2). [m]"""
    from scipy.sparse import coo_array
    from scipy.sparse.linalg import splu

    nodes, n = len(mesh.nodes), len(rims)
    in_pit = mesh.around <= rims[:, None] * (1.0 + 1e-9)
    number = np.full(nodes, -1)
    for i, own in enumerate(in_pit):
        number[own] = i
    free = number < 0
    number[free] = n + np.arange(np.count_nonzero(free))
    size = n + int(np.count_nonzero(free))

    house, outdoors = _reservoirs(mesh, layer)
    stiff = _stiffness(mesh) * layer.transmissivity[:, None, None]
    rows = number[np.repeat(mesh.triangles, 3, axis=1)].ravel()
    columns = number[np.tile(mesh.triangles, (1, 3))].ravel()
    own_house, own_outdoors = (np.bincount(number, part, size) for part in (house, outdoors))
    diagonal = np.arange(size)
    matrix = coo_array(
        (
            np.concatenate((stiff.ravel(), own_house + own_outdoors)),
            (np.concatenate((rows, diagonal)), np.concatenate((columns, diagonal))),
        ),
        shape=(size, size),
    ).tocsc()
    loads = np.zeros((size, n + 1))
    loads[:n, :n] = np.eye(n)
    loads[:, n] = own_outdoors
    found = splu(matrix, permc_spec="MMD_AT_PLUS_A", options={"SymmetricMode": True}).solve(loads)
    corners, weights = mesh.within(holes)
    at_holes = np.einsum("kc,kcn->kn", weights, found[number[corners]])
    cover = np.bincount(number, np.bincount(mesh.triangles.ravel(), np.repeat(mesh.area / 3.0, 3), nodes), size)
    return Answer(
        found[:n, :n],
        at_holes[:, :n],
        found[:n, n],
        at_holes[:, n],
        float(cover @ found[:, n] / cover.sum()),
        own_house @ found[:, :n],
        own_outdoors @ found[:, :n],
    )


def _stiffness(mesh: Mesh) -> Array:
    """Integrals of the products of the gradients of the three hat functions, shape (t, 3, 3)."""
    corner = mesh.nodes[mesh.triangles]
    across = np.roll(corner, -1, axis=1) - np.roll(corner, 1, axis=1)
    return np.asarray(np.einsum("tid,tjd->tij", across, across) / (4.0 * mesh.area[:, None, None]))


def _reservoirs(mesh: Mesh, layer: Layer) -> tuple[Array, Array]:
    """Conductance of every node to the house and to the outdoors, shape (p,) each. [m3/(s Pa)]"""
    nodes = len(mesh.nodes)
    flat = mesh.triangles.ravel()
    house = np.bincount(flat, np.repeat(layer.house * mesh.area / 3.0, 3), nodes)
    outdoors = np.bincount(flat, np.repeat(layer.outdoors * mesh.area / 3.0, 3), nodes)
    for along, joint, ground in zip(mesh.sides, layer.joints, layer.ground, strict=True):
        halves = 0.5 * np.hypot(*np.diff(mesh.nodes[along], axis=0).T)
        lengths = np.append(halves, 0.0) + np.append(0.0, halves)
        house[along] += joint * lengths
        outdoors[along] += ground * lengths
    for places, conductance in layer.cracks:
        corners, weights = mesh.within(places)
        np.add.at(house, corners, conductance * weights)
    return house, outdoors
