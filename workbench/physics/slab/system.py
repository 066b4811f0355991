"""The linear system of the vacuum field: balances of the cells, and the flows that enter them."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from msgspec import Struct
from numpy.typing import ArrayLike

from workbench.physics.arrays import Array, Bools, Ints
from workbench.physics.polygon import simple_polygon
from workbench.physics.ranges import positive
from workbench.physics.slab.edges import hard_edges
from workbench.physics.slab.footing import cut_links
from workbench.physics.slab.grid import Grid
from workbench.physics.slab.parts import Layer

if TYPE_CHECKING:
    from scipy.sparse import csc_array
    from scipy.sparse.linalg import SuperLU


class Intake(NamedTuple):
    """Where the exhaust comes from, each with the batch shape in front [m3/s]; negative where air leaves the layer.

    `slab_house`, `slab_outdoors` (...): through the slab's area and the ground; `edge_house`, `edge_outdoors` (..., m):
    through each edge of the outline; `zone` (..., z): through the area of each zone, already part of the first two.
    """

    slab_house: Array
    slab_outdoors: Array
    edge_house: Array
    edge_outdoors: Array
    zone: Array

    @property
    def house(self) -> Array:
        """All that comes from the house."""
        return np.asarray(self.slab_house + self.edge_house.sum(axis=-1))

    @property
    def outdoors(self) -> Array:
        """All that comes from the outdoors and the soil."""
        return np.asarray(self.slab_outdoors + self.edge_outdoors.sum(axis=-1))


class Faces(NamedTuple):
    """Links between neighbouring cells.

    `lower`, `upper` (f,) own numbers of both ends; `place` (f,) grid place of the lower; `axis` (f,) 0 along x, 1 along
    y; `conductance` (f,) [m3/(s Pa)]; `opening` (f,) share of the face that is open; `transmissivity` (f,) [m3/(s Pa)].
    """

    lower: Ints
    upper: Ints
    place: Ints
    axis: Ints
    conductance: Array
    opening: Array
    transmissivity: Array


class EdgePieces(NamedTuple):
    """Ways between cells and the edge.

    `edge` (k,) as the user counts them; `cell` (k,) own number; `conductance` (k,) from the cell's centre [m3/(s Pa)];
    `house`, `outdoors` (k,) shares of what flows; `across` (k,) what passes through the joint from the one to the
    other, per suction of the outdoors [m3/(s Pa)].
    """

    edge: Ints
    cell: Ints
    conductance: Array
    house: Array
    outdoors: Array
    across: Array


class System(Struct, frozen=True, eq=False):
    """Balances of N cells, in the order of elimination.

    Attributes
    ----------
    flat : array, shape (N,)
        Their grid places, row * columns + column.
    number : array, shape (ny * nx,)
        Own number of each grid place, -1 where no cell takes part.
    matrix : csc_array, shape (N, N)
        Symmetric, positive definite. [m3/(s Pa)]
    faces, pieces
    area, transmissivity, leak_house, leak_outdoors : array, shape (N,)
        [m2], [m3/(s Pa)], and the leakages times area [m3/(s Pa)].
    outdoor_load : array, shape (N,)
        Right-hand side for unit suction of the outdoors. [m3/(s Pa)]
    zone_share : array, shape (z, N)
        Share of each cell's leakage that passes within each zone.
    edges : int
        Of the outline.
    whole_x, whole_y : array, shape (ny, nx - 1) and (ny - 1, nx)
        Links with neither outline nor footing between.
    barriers : pair of array, shape (b, 2)
        Both ends of every piece of footing. [m]
    """

    flat: Ints
    number: Ints
    matrix: csc_array
    faces: Faces
    pieces: EdgePieces
    area: Array
    transmissivity: Array
    leak_house: Array
    leak_outdoors: Array
    outdoor_load: Array
    zone_share: Array
    edges: int
    whole_x: Bools
    whole_y: Bools
    barriers: tuple[Array, Array]

    @property
    def size(self) -> int:
        """Number of cells."""
        return int(self.flat.size)

    def diagonal(self) -> Array:
        """Conductance of every cell to house and outdoors, shape (N,) [m3/(s Pa)]."""
        edge = np.bincount(self.pieces.cell, self.pieces.conductance, self.size)
        return np.asarray(self.leak_house + self.leak_outdoors + edge)

    def intake(self, suction: Array, outdoors: ArrayLike) -> Intake:
        """Air that enters at suctions of the cells, shape (..., N), and of the outdoors, shape (...)."""
        o = np.asarray(outdoors, dtype=np.float64)
        piece = self.pieces
        # flow between cell and edge; the edge takes a pressure between those of the two it joins
        through = piece.conductance * (suction[..., piece.cell] - piece.outdoors * o[..., None])
        across = piece.across * o[..., None]
        house, outside = piece.house * through + across, piece.outdoors * through - across
        leak = self.leak_house + self.leak_outdoors
        return Intake(
            np.asarray(suction @ self.leak_house),
            np.asarray(suction @ self.leak_outdoors - o * self.leak_outdoors.sum()),
            _gather(house, piece.edge, self.edges),
            _gather(outside, piece.edge, self.edges),
            suction @ (self.zone_share * leak).T - o[..., None] * (self.zone_share @ self.leak_outdoors),
        )


def _gather(values: Array, index: Ints, size: int) -> Array:
    total = np.zeros((size, *values.shape[:-1]))
    np.add.at(total, index, np.moveaxis(values, -1, 0))
    return np.asarray(np.moveaxis(total, 0, -1))


def assemble(grid: Grid, slab: Layer) -> System:
    """Set up the balances of a slab on its grid.

    Raises
    ------
    ValueError
        If a property is out of range, a zone lies outside the slab, or a part of it can draw air from nowhere.
    """
    h = grid.cell
    transmissivity, leak, shares = _layer(grid, slab)
    house, outdoors = _per_edge(slab, len(grid.edge))
    total = house + outdoors
    least = float(transmissivity[grid.area > 0.0].min())
    # such an edge all but fixes the suction along it; its place then matters more than areas and faces do
    hard = total * h > least
    area = grid.area.copy()
    open_x, open_y = grid.open_x, grid.open_y
    none = np.empty(0, dtype=np.int64)
    ways = [(none, none, np.empty(0))]
    if np.any(hard):
        area, open_x, open_y, ways = hard_edges(grid, hard, total, transmissivity)
    fragments = grid.fragments
    kept = (total[fragments.edge] > 0.0) & ~hard[fragments.edge] & (area.ravel()[fragments.cell] > 0.0)
    if np.any(kept):
        edge, cell = fragments.edge[kept], fragments.cell[kept]
        arm = 1.0 / total[edge] + fragments.depth[kept] / transmissivity.ravel()[cell]
        ways.append((edge, cell, fragments.length[kept] / arm))

    active = area > 0.0
    t_x, t_y = (
        _harmonic(transmissivity[:, :-1], transmissivity[:, 1:]),
        _harmonic(transmissivity[:-1], transmissivity[1:]),
    )
    k_x = np.where(active[:, :-1] & active[:, 1:], t_x * open_x, 0.0)
    k_y = np.where(active[:-1] & active[1:], t_y * open_y, 0.0)
    whole_x, whole_y = k_x > 0.0, k_y > 0.0
    barriers = cut_links(grid, slab.footings, (k_x, k_y), (whole_x, whole_y))

    flat = grid.order[active.ravel()[grid.order]]
    number = np.full(area.size, -1, dtype=np.int64)
    number[flat] = np.arange(flat.size)
    faces = _faces(grid, number, (k_x, k_y), (open_x, open_y), (t_x, t_y))
    edge, place, conductance = (np.concatenate(parts) for parts in zip(*ways, strict=True))
    pieces = _pieces(grid, edge, number[place], conductance, house, outdoors)
    covered = area.ravel()[flat] * leak.ravel()[flat]
    leak_house, leak_outdoors = slab.leak_house * covered, slab.leak_outdoors * covered
    load = leak_outdoors + np.bincount(pieces.cell, pieces.conductance * pieces.outdoors, flat.size)
    diagonal = leak_house + leak_outdoors + np.bincount(pieces.cell, pieces.conductance, flat.size)
    _fed(diagonal, faces)
    return System(
        flat,
        number,
        balance_matrix(diagonal, faces.lower, faces.upper, faces.conductance),
        faces,
        pieces,
        area.ravel()[flat],
        transmissivity.ravel()[flat],
        leak_house,
        leak_outdoors,
        load,
        shares[:, flat],
        len(grid.edge),
        whole_x,
        whole_y,
        barriers,
    )


def balance_matrix(diagonal: Array, lower: Ints, upper: Ints, conductance: Array) -> csc_array:
    """Matrix of the cells' balances from what they pass to the reservoirs and to each other, shape (N, N)."""
    from scipy.sparse import coo_array

    n = diagonal.size
    own = diagonal + np.bincount(lower, conductance, n) + np.bincount(upper, conductance, n)
    here = np.arange(n, dtype=np.int32)
    a, b = lower.astype(np.int32), upper.astype(np.int32)
    data = np.concatenate((own, -conductance, -conductance))
    return coo_array((data, (np.concatenate((here, a, b)), np.concatenate((here, b, a)))), shape=(n, n)).tocsc()


def factorise(matrix: csc_array) -> SuperLU:
    """Factors of a matrix whose cells already stand in the order of elimination.

    The matrix is symmetric and positive definite, so it needs no pivoting. Order, panel and relaxation are those that
    took the least time on houses' slabs, some three quarters of that with SuperLU's own.
    """
    from scipy.sparse.linalg import splu

    return splu(
        matrix,
        permc_spec="NATURAL",
        diag_pivot_thresh=0.0,
        relax=16,
        panel_size=16,
        options={"SymmetricMode": True},
    )


def _layer(grid: Grid, slab: Layer) -> tuple[Array, Array, Array]:
    """Transmissivity and leakage factor of every cell, (ny, nx), and each zone's share of its leakage, (z, ny * nx)."""
    for value, name in ((slab.leak_house, "house"), (slab.leak_outdoors, "outdoors")):
        if not 0.0 <= value < np.inf:
            raise ValueError(f"the leakage of the slab to the {name} must be 0 or more")
    transmissivity = np.full(grid.shape, float(positive(slab.transmissivity, "the transmissivity")))
    leak = np.ones(grid.shape)
    shares = np.zeros((len(slab.zones), leak.size))
    for z, zone in enumerate(slab.zones):
        outline = simple_polygon(zone.outline, f"the outline of zone {z + 1}")
        if not 0.0 < zone.transmissivity < np.inf:
            raise ValueError(f"the transmissivity of zone {z + 1} must be above 0")
        if not 0.0 <= zone.leak < np.inf:
            raise ValueError(f"the leakage of zone {z + 1} must be 0 or more")
        share = grid.share_within(outline)
        if not np.sum(share * grid.area) > 1e-6 * grid.cell**2:
            raise ValueError(f"zone {z + 1} lies outside the slab")
        factor = 1.0 + share * (zone.leak - 1.0)
        with np.errstate(invalid="ignore"):
            shares[z] = np.where(factor > 0.0, share * zone.leak / factor, share).ravel()
        transmissivity *= 1.0 + share * (zone.transmissivity - 1.0)
        leak *= factor
    return transmissivity, leak, shares


def _per_edge(slab: Layer, edges: int) -> tuple[Array, Array]:
    found = []
    for value, name in ((slab.edge_house, "house"), (slab.edge_outdoors, "outdoors")):
        one = np.asarray(value, dtype=np.float64)
        if one.ndim != 0 and one.shape != (edges,):
            raise ValueError(f"give one conductance to the {name} for all edges, or one for each of the {edges}")
        if not np.all(one >= 0.0):
            raise ValueError(f"the conductance of an edge to the {name} must be 0 or more")
        found.append(np.broadcast_to(one, (edges,)))
    if np.any(np.isinf(found[0]) & np.isinf(found[1])):
        raise ValueError("an edge cannot be open to the house and to the outdoors at once")
    return found[0], found[1]


def _harmonic(a: Array, b: Array) -> Array:
    return 2.0 * a * b / (a + b)


def _faces(
    grid: Grid,
    number: Ints,
    conductance: tuple[Array, Array],
    opening: tuple[Array, Array],
    transmissivity: tuple[Array, Array],
) -> Faces:
    nx = grid.shape[1]
    columns = []
    for axis, step in ((0, 1), (1, nx)):
        open_faces = np.flatnonzero(conductance[axis] > 0.0)
        row, column = np.divmod(open_faces, conductance[axis].shape[1])
        place = row * nx + column
        columns.append(
            (
                number[place],
                number[place + step],
                place,
                np.full(place.size, axis),
                *(part[axis].ravel()[open_faces] for part in (conductance, opening, transmissivity)),
            )
        )
    return Faces(*(np.concatenate(pair) for pair in zip(*columns, strict=True)))


def _pieces(grid: Grid, edge: Ints, cell: Ints, conductance: Array, house: Array, outdoors: Array) -> EdgePieces:
    to_house, to_outdoors = house[edge], outdoors[edge]
    with np.errstate(invalid="ignore"):
        share = np.where(
            np.isinf(to_house), 1.0, np.where(np.isinf(to_outdoors), 0.0, to_house / (to_house + to_outdoors))
        )
    # through an edge that joins both, air passes by the layer: by length, shared among its pieces as they conduct
    lengths = np.bincount(grid.fragments.edge, grid.fragments.length, len(grid.edge))
    with np.errstate(divide="ignore"):
        parallel = np.where((house > 0.0) & (outdoors > 0.0), 1.0 / (1.0 / house + 1.0 / outdoors), 0.0)
    total = np.bincount(edge, conductance, len(grid.edge))
    part = conductance / total[edge] if edge.size else conductance
    return EdgePieces(edge, cell, conductance, share, 1.0 - share, (parallel * lengths)[edge] * part)


def _fed(diagonal: Array, faces: Faces) -> None:
    """Refuse cells that no way joins to the house or the outdoors."""
    if np.all(diagonal > 0.0):
        return
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    n = diagonal.size
    graph = coo_array((np.ones(faces.lower.size), (faces.lower, faces.upper)), shape=(n, n))
    count, label = connected_components(graph, directed=False)
    if not np.all(np.bincount(label, diagonal, count) > 0.0):
        raise ValueError("a part of the slab can draw air from nowhere: give it leakage or an edge with a joint")
