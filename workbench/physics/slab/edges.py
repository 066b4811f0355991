"""Edges of the slab that all but fix the suction along them: open ones, and joints wide for the layer behind them."""

from __future__ import annotations

import numpy as np

from workbench.physics.arrays import Array, Bools, Ints
from workbench.physics.slab.grid import Grid, Links

_LEAST_SHARE = 1e-3
_HAIR = 1e-6
_END_ANGLES = np.radians([90.0, 180.0, 270.0, 360.0])
_END_SHARES = np.array([0.0, 0.373, 1.13, 1.9])
_END_JOINT = 5.0
_END_PLACE = np.radians(135.0)


def hard_edges(
    grid: Grid, hard: Bools, total: Array, transmissivity: Array
) -> tuple[Array, Array, Array, list[tuple[Ints, Ints, Array]]]:
    """Tie cells to edges that nearly fix the suction, at the true distance of the edge along each link.

    Shortley and Weller's unequal arms in the symmetric form of F. Gibou et al., J. Comput. Phys. 176 (2002) 205: second
    order for a fixed value, where cut faces are not. Cells whose centres lie beyond such an edge drop out, and their
    area goes to the cell within.
    """
    area, nx = grid.area.copy(), grid.shape[1]
    touched = np.zeros(area.size, dtype=np.bool_)
    touched[grid.fragments.cell[hard[grid.fragments.edge]]] = True
    touched = touched.reshape(grid.shape)
    # a centre upon such an edge counts as beyond it, and the edge is drawn a hair inwards so that all links agree
    on_edge = hard[grid.fragments.edge] & (np.abs(grid.fragments.depth) < 2.0 * _HAIR * grid.cell)
    inside = grid.inside.copy()
    inside.ravel()[grid.fragments.cell[on_edge]] = False
    centred, dropped = touched & inside, touched & ~inside
    open_x = np.where(centred[:, :-1] & centred[:, 1:] & (grid.open_x > 0.0), 1.0, grid.open_x)
    open_y = np.where(centred[:-1] & centred[1:] & (grid.open_y > 0.0), 1.0, grid.open_y)
    here = np.flatnonzero(hard[grid.edge])
    a, b = grid.outline[here], np.roll(grid.outline, -1, axis=0)[here]
    along = _HAIR * grid.cell * (b - a) / np.hypot(*(b - a).T)[:, None]
    inward = np.stack((-along[:, 1], along[:, 0]), axis=1)
    a, b = a + inward - 2.0 * along, b + inward + 2.0 * along
    ways = []
    heirs = np.full(area.size, -1, dtype=np.int64)
    for links, openings, step in ((grid.links_x(a, b), open_x, (0, 1)), (grid.links_y(a, b), open_y, (1, 0))):
        cut = _on_faces(links, openings)
        openings[links.row[cut], links.column[cut]] = 0.0
        inner = (links.row + step[0] * links.forward, links.column + step[1] * links.forward)
        outer = (links.row + step[0] * ~links.forward, links.column + step[1] * ~links.forward)
        good = _on_grid(inner, grid)
        good[good] = inside[inner[0][good], inner[1][good]]
        edge = grid.edge[here[links.segment[good]]]
        cell = inner[0][good] * nx + inner[1][good]
        arm = np.maximum(np.where(links.forward, 1.0 - links.share, links.share)[good], _LEAST_SHARE)
        joint = 1.0 / (total[edge] * links.slope[good] * grid.cell)
        ways.append((edge, cell, 1.0 / (arm / transmissivity.ravel()[cell] + joint)))
        there = (outer[0][good], outer[1][good])
        real = _on_grid(there, grid)
        heirs[there[0][real] * nx + there[1][real]] = cell[real]
    ways.append(_ends(grid, hard, total, transmissivity))
    gone = np.flatnonzero(dropped.ravel())
    owned = gone[heirs[gone] >= 0]
    flat_area = area.ravel()
    np.add.at(flat_area, heirs[owned], flat_area[owned])
    flat_area[gone] = 0.0
    return flat_area.reshape(grid.shape), open_x, open_y, ways


def _on_grid(place: tuple[Ints, Ints], grid: Grid) -> Bools:
    rows, columns = grid.shape
    return (place[0] >= 0) & (place[0] < rows) & (place[1] >= 0) & (place[1] < columns)


def _on_faces(links: Links, faces: Array) -> Bools:
    rows, columns = faces.shape
    return np.asarray((links.row >= 0) & (links.row < rows) & (links.column >= 0) & (links.column < columns))


def _ends(grid: Grid, hard: Bools, total: Array, transmissivity: Array) -> tuple[Ints, Ints, Array]:
    """Ways to the last bit of such an edge where it meets one that is not.

    The flow crowds there, the more the wider the corner, and cells see too little of it: by 2 % of the suction at far
    places along a straight wall and 10 % around a corner that points inwards, with 10 cm cells. One more way from the
    cell just past the end makes up for it. Its share of the transmissivity was found on two slabs, by carrying ever
    finer grids on to none, for ends along a wall (0.373) and at a square corner that points inwards (1.13); between
    these it is interpolated, and beyond 270 degrees guessed. A joint that resists smooths the crowding out; what is
    left then follows 1 / (1 + 5 T / (G cell)). Where such a corner does not lie on the grid's lines some per cent
    remain.
    """
    m = len(grid.edge)
    along = np.roll(grid.outline, -1, axis=0) - grid.outline
    heading = np.arctan2(along[:, 1], along[:, 0])
    found: list[tuple[int, int, float]] = []
    for k in np.flatnonzero(hard[grid.edge]):
        for corner, before, after, back, turn in (
            (k, (k - 1) % m, k, heading[k], _END_PLACE),
            ((k + 1) % m, k, (k + 1) % m, heading[k] + np.pi, -_END_PLACE),
        ):
            if hard[grid.edge[before]] and hard[grid.edge[after]]:
                continue
            angle = (heading[before] + np.pi - heading[after]) % (2.0 * np.pi)
            share = float(np.interp(angle, _END_ANGLES, _END_SHARES))
            way = np.array([np.cos(back + turn), np.sin(back + turn)])
            column, row = np.floor(grid.units(grid.outline[corner]) + np.sqrt(0.5) * way).astype(np.int64)
            if share > 0.0 and 0 <= row < grid.shape[0] and 0 <= column < grid.shape[1] and grid.inside[row, column]:
                edge = int(grid.edge[k])
                joint = _END_JOINT / (total[edge] * grid.cell)
                conductance = share / (1.0 / transmissivity[row, column] + joint)
                found.append((edge, int(row * grid.shape[1] + column), float(conductance)))
    edges, cells = (np.array([one[part] for one in found], dtype=np.int64) for part in (0, 1))
    return edges, cells, np.array([one[2] for one in found], dtype=np.float64)
