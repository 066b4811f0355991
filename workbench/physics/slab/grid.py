"""A square grid laid over a polygon, with exact areas and face openings where the outline cuts its cells.

Cells are counted by row j (along y) and column i (along x). The grid starts at the least x and y of the outline, so
that a rectangle whose sides are whole numbers of cells is met without cut cells.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from msgspec import Struct

from workbench.physics.arrays import Array, Bools, Ints
from workbench.physics.polygon import signed_area, simple_polygon

FEWEST_CELLS = 16
MOST_CELLS = 400_000

_SLIVER = 1e-9
_LEAF = 64


class Crossings(NamedTuple):
    """Where segments cross the lines of one family, in cell units.

    `segment` (k,), `line` (k,) the number of the line, `along` (k,) the position along it, `rise` (k,) the sign in
    which the segment passes.
    """

    segment: Ints
    line: Ints
    along: Array
    rise: Array


class Links(NamedTuple):
    """Links between neighbouring cell centres that a segment crosses.

    `segment` (k,); `row`, `column` (k,) of the link's lower cell, -1 when the link enters the grid from outside;
    `share` (k,) where on the link, 0 at the lower cell; `slope` (k,) the cosine between the link and the segment's
    normal; `forward` (k,) whether an anticlockwise outline has its inside at the link's upper end.
    """

    segment: Ints
    row: Ints
    column: Ints
    share: Array
    slope: Array
    forward: Bools


class Fragments(NamedTuple):
    """Pieces of the outline, one cell each.

    `edge` (k,) as the user counts them; `cell` (k,) as row * columns + column; `length` (k,) [m]; `depth` (k,) how far
    the cell's centre lies inside the edge's line, negative when beyond it [m].
    """

    edge: Ints
    cell: Ints
    length: Array
    depth: Array


class Grid(Struct, frozen=True, eq=False):
    """The cut grid.

    Attributes
    ----------
    outline : array, shape (m, 2)
        Anticlockwise. [m]
    edge : array, shape (m,)
        The user's number of each of its edges.
    cell : float
        Side of a cell. [m]
    origin : array, shape (2,)
        [m]
    area : array, shape (ny, nx)
        Of each cell's part within the outline. [m2]
    open_x, open_y : array, shape (ny, nx - 1) and (ny - 1, nx)
        Share of the face between neighbours in a row and in a column that lies within the outline.
    inside : array, shape (ny, nx)
        Whether the cell's centre lies within the outline.
    fragments : Fragments
    order : array, shape (ny * nx,)
        Cells in an order that keeps factors sparse.
    """

    outline: Array
    edge: Ints
    cell: float
    origin: Array
    area: Array
    open_x: Array
    open_y: Array
    inside: Bools
    fragments: Fragments
    order: Ints

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return self.area.shape[0], self.area.shape[1]

    def centres(self, flat: Ints) -> Array:
        """Centres of cells by their number row * columns + column, shape (k, 2) [m]."""
        row, column = np.divmod(flat, self.shape[1])
        return np.asarray(self.origin + self.cell * (np.stack((column, row), axis=-1) + 0.5))

    def units(self, points: Array) -> Array:
        """Points [m] in cell units, those within rounding of a grid line set upon it."""
        return _units(points, self.origin, self.cell)

    def links_x(self, a: Array, b: Array) -> Links:
        """Links along rows crossed by segments a-b, shape (k, 2) [m]."""
        return _links(self.units(a), self.units(b), 1, self.shape)

    def links_y(self, a: Array, b: Array) -> Links:
        """Links along columns crossed by segments a-b, shape (k, 2) [m]."""
        return _links(self.units(a), self.units(b), 0, self.shape)

    def share_within(self, polygon: Array) -> Array:
        """Share of each whole cell, shape (ny, nx), that a polygon [m] in either order covers."""
        p = self.units(polygon)
        fragments = _split(p, np.roll(p, -1, axis=0))
        return np.abs(_covered(*fragments[1:], self.shape))


def cut_grid(points: tuple[tuple[float, float], ...], cell: float) -> Grid:
    """Lay a grid over a simple polygon; kept for the next call with the same input.

    Parameters
    ----------
    points
        Vertices in either order. [m]
    cell : float
        Side of the square cells. [m]

    Raises
    ------
    ValueError
        If the outline is not a simple polygon, the cell not above 0, or the cells too few or too many.
    """
    return _cut_grid(points, float(cell))


@lru_cache(maxsize=8)
def _cut_grid(points: tuple[tuple[float, float], ...], cell: float) -> Grid:
    outline = simple_polygon(points, "the outline of the slab")
    if not 0.0 < cell < math.inf:
        raise ValueError("the cell size must be above 0")
    m = len(outline)
    edge = np.arange(m)
    if signed_area(outline) < 0.0:
        outline, edge = outline[::-1], (m - 2 - edge) % m
    cells = signed_area(outline) / cell**2
    if cells < FEWEST_CELLS:
        raise ValueError(f"the slab holds only {cells:.1f} cells of {cell:g} m: choose smaller cells")
    origin = outline.min(axis=0)
    nx, ny = (math.ceil(n - _SLIVER) for n in (outline.max(axis=0) - origin) / cell)
    if nx * ny > MOST_CELLS:
        raise ValueError(f"the slab needs {nx} x {ny} cells of {cell:g} m, too many: choose larger cells")
    shape = (ny, nx)
    p = _units(outline, origin, cell)
    q = np.roll(p, -1, axis=0)
    of, start, end = _split(p, q)
    area = _covered(start, end, shape)
    area = np.where(area < _SLIVER, 0.0, area) * cell**2
    return Grid(
        outline,
        edge,
        cell,
        origin,
        area,
        _openings(p, q, 0, shape)[:, 1:],
        _openings(p, q, 1, shape)[1:],
        _centres_inside(p, q, shape),
        _fragments(p, q, of, start, end, edge, cell, shape),
        _dissection(*shape),
    )


def _units(points: Array, origin: Array, cell: float) -> Array:
    u = (points - origin) / cell
    whole = np.round(u)
    return np.where(np.abs(u - whole) < _SLIVER, whole, u)


def _crossings(p: Array, q: Array, axis: int, offset: float) -> Crossings:
    """Lines `axis coordinate = whole number + offset` crossed by segments p-q; a segment holds its lower end only."""
    low, high = np.minimum(p[:, axis], q[:, axis]) - offset, np.maximum(p[:, axis], q[:, axis]) - offset
    first = np.ceil(low).astype(np.int64)
    count = np.ceil(high).astype(np.int64) - first
    segment = np.repeat(np.arange(len(p)), count)
    line = first[segment] + np.arange(segment.size) - np.repeat(np.cumsum(count) - count, count)
    a, b = p[segment], q[segment]
    span = b[:, axis] - a[:, axis]
    t = (line + offset - a[:, axis]) / span
    along = a[:, 1 - axis] + t * (b[:, 1 - axis] - a[:, 1 - axis])
    return Crossings(segment, line, along, np.sign(span))


def _links(p: Array, q: Array, axis: int, shape: tuple[int, int]) -> Links:
    """Links across the lines of centres; axis 1 crosses rows and yields links along x."""
    hit = _crossings(p, q, axis, 0.5)
    lower = np.floor(hit.along - 0.5).astype(np.int64)
    share = hit.along - 0.5 - lower
    length = np.hypot(*(q - p).T)[hit.segment]
    slope = np.abs(q[:, axis] - p[:, axis])[hit.segment] / length
    row, column = (hit.line, lower) if axis == 1 else (lower, hit.line)
    # an anticlockwise outline falls on its left side and runs forward along its lower side
    forward = hit.rise < 0.0 if axis == 1 else hit.rise > 0.0
    lines, places = (shape[0], shape[1]) if axis == 1 else (shape[1], shape[0])
    kept = (hit.line >= 0) & (hit.line < lines) & (lower >= -1) & (lower < places)
    return Links(hit.segment[kept], row[kept], column[kept], share[kept], slope[kept], forward[kept])


def _split(p: Array, q: Array) -> tuple[Ints, Array, Array]:
    """Cut segments at every grid line: segment number and both ends of each piece, in cell units."""
    m = len(p)
    numbers, shares = [np.arange(m), np.arange(m)], [np.zeros(m), np.ones(m)]
    for axis in (0, 1):
        hit = _crossings(p, q, axis, 0.0)
        a, b = p[hit.segment, axis], q[hit.segment, axis]
        numbers.append(hit.segment)
        shares.append((hit.line - a) / (b - a))
    number, share = np.concatenate(numbers), np.concatenate(shares)
    sorting = np.lexsort((share, number))
    number, share = number[sorting], share[sorting]
    piece = np.flatnonzero((number[1:] == number[:-1]) & (share[1:] - share[:-1] > 0.0))
    of = number[piece]
    a, along = p[of], (q - p)[of]
    return of, a + share[piece, None] * along, a + share[piece + 1, None] * along


def _covered(start: Array, end: Array, shape: tuple[int, int]) -> Array:
    """Area of an anticlockwise polygon in every unit cell: each of its pieces hides or shows what lies right of it."""
    ny, nx = shape
    middle = 0.5 * (start + end)
    fall = start[:, 1] - end[:, 1]
    row = np.floor(middle[:, 1]).astype(np.int64)
    column = np.clip(np.floor(middle[:, 0]).astype(np.int64), -1, nx)
    kept = (row >= 0) & (row < ny) & (fall != 0.0)
    row, column, fall, x = row[kept], column[kept], fall[kept], middle[kept, 0]
    # two columns of margin take what lies beside the grid
    width = nx + 2
    here = np.bincount(row * width + column + 1, fall * (column + 1 - x), ny * width).reshape(ny, width)
    beyond = np.bincount(row * width + column + 1, fall, ny * width).reshape(ny, width)
    return np.asarray(here[:, 1:-1] + np.cumsum(beyond, axis=1)[:, :-2])


def _openings(p: Array, q: Array, axis: int, shape: tuple[int, int]) -> Array:
    """Share within the outline of the lower face of every cell on the given axis, shape (ny, nx)."""
    ny, nx = shape
    lines, places = (nx, ny) if axis == 0 else (ny, nx)
    hit = _crossings(p, q, axis, 0.0)
    sign = hit.rise if axis == 0 else -hit.rise
    place = np.floor(hit.along).astype(np.int64)
    kept = (hit.line >= 0) & (hit.line < lines) & (place < places)
    line, place, along, sign = hit.line[kept], place[kept], hit.along[kept], sign[kept]
    here = np.bincount(line * places + place, sign * (place + 1 - along), lines * places).reshape(lines, places)
    beyond = np.bincount(line * places + place, sign, lines * places).reshape(lines, places)
    share = here + np.cumsum(beyond, axis=1) - beyond
    share = np.clip(np.where(share < _SLIVER, 0.0, share), 0.0, 1.0)
    return np.asarray(share.T if axis == 0 else share)


def _centres_inside(p: Array, q: Array, shape: tuple[int, int]) -> Bools:
    ny, nx = shape
    hit = _crossings(p, q, 1, 0.5)
    column = np.ceil(hit.along - 0.5).astype(np.int64)
    kept = (hit.line >= 0) & (hit.line < ny) & (column < nx)
    flat = hit.line[kept] * nx + np.maximum(column[kept], 0)
    turns = np.bincount(flat, -hit.rise[kept], ny * nx).reshape(ny, nx)
    return np.asarray(np.cumsum(turns, axis=1) > 0.5)


def _fragments(
    p: Array, q: Array, of: Ints, start: Array, end: Array, edge: Ints, cell: float, shape: tuple[int, int]
) -> Fragments:
    along = (q - p) / np.hypot(*(q - p).T)[:, None]
    inward = np.stack((-along[:, 1], along[:, 0]), axis=1)[of]
    middle = 0.5 * (start + end)
    # an edge upon a grid line belongs to the cell on its inner side
    place = np.floor(middle + 1e-6 * inward).astype(np.int64)
    column, row = np.clip(place[:, 0], 0, shape[1] - 1), np.clip(place[:, 1], 0, shape[0] - 1)
    centre = np.stack((column, row), axis=1) + 0.5
    depth = np.sum((centre - middle) * inward, axis=1)
    return Fragments(edge[of], row * shape[1] + column, np.hypot(*(end - start).T) * cell, depth * cell)


@lru_cache(maxsize=8)
def _dissection(ny: int, nx: int) -> Ints:
    """Nested dissection of a rectangle: both halves first, the line that parts them last.

    A. George, SIAM J. Numer. Anal. 10 (1973) 345.
    """
    blocks: list[Ints] = []

    def part(block: Ints) -> None:
        rows, columns = block.shape
        if block.size <= _LEAF or min(rows, columns) < 3:
            blocks.append(block.ravel())
        elif columns >= rows:
            half = columns // 2
            part(block[:, :half])
            part(block[:, half + 1 :])
            blocks.append(block[:, half])
        else:
            half = rows // 2
            part(block[:half])
            part(block[half + 1 :])
            blocks.append(block[half])

    part(np.arange(ny * nx).reshape(ny, nx))
    return np.concatenate(blocks)
