"""Footings on the grid: the links between cells that they cut, and how far the last one is cut at a free end.

A line of cut links acts as a slit that ends sqrt(2)/4 of a cell beyond the last face it closes. For the slit to end
where the footing does, its last link keeps the share g of its conductance:

    end - centre of that link = 1/2 + sqrt(2)/4 - (1 + sqrt(2)) g / (1 + sqrt(2) g), in cells.

Found by solving the lattice about a half-infinite slit against sqrt(r) sin(angle/2), for g from 0 to 1, to 1e-4.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from workbench.physics.arrays import Array, Bools
from workbench.physics.polygon import distance_to_segments, polyline
from workbench.physics.slab.grid import Grid, Links
from workbench.physics.slab.parts import LayerWall

_ROOT = math.sqrt(2.0)
_REACH = 0.5 + 0.25 * _ROOT
_JOINED = 0.5
_BEYOND = 1.5
_JUST_PAST = 1e-9
_GAP = 1e-4
_HAIR = np.array([1.7e-6, 1.1e-6])


class _End(NamedTuple):
    """A free end: 0 or 1 when its last link lies along x or y, where that is cut [cells], and the share left of it."""

    axis: int
    point: Array
    share: float


def cut_links(
    grid: Grid,
    footings: tuple[LayerWall, ...],
    conductance: tuple[Array, Array],
    whole: tuple[Bools, Bools],
) -> tuple[Array, Array]:
    """Put the footings' resistance into the links they cross, in place.

    An end nearer than half a cell to the outline or to another footing is joined to it.

    Parameters
    ----------
    conductance, whole : pair of array, shape (ny, nx - 1) and (ny - 1, nx)
        Of the links along x and along y.

    Returns
    -------
    a, b : array, shape (b, 2)
        Both ends of every piece of footing that parts anything. [m]

    Raises
    ------
    ValueError
        If a line, an opening or a width is out of range.
    """
    lines = [_checked(footing, f"footing {f + 1}") for f, footing in enumerate(footings)]
    lines = [line for line, footing in zip(lines, footings, strict=True) if footing.opening < 1.0]
    parting = [footing for footing in footings if footing.opening < 1.0]
    for f, (line, footing) in enumerate(zip(lines, parting, strict=True)):
        others = [grid.outline, *(other for k, other in enumerate(lines) if k != f)]
        starts = np.concatenate([grid.outline, *(other[:-1] for other in others[1:])])
        stops = np.concatenate([np.roll(grid.outline, -1, axis=0), *(other[1:] for other in others[1:])])
        # a hair aside, so that no centre lies upon it and all links agree on which side each is
        drawn = line + grid.cell * _HAIR
        ends = []
        for last in (False, True):
            drawn = drawn[::-1] if not last else drawn
            drawn, end = _ended(grid, drawn, starts, stops)
            drawn = drawn[::-1] if not last else drawn
            if end is not None:
                ends.append(end)
        a, b = drawn[:-1], drawn[1:]
        for axis, links in enumerate((grid.links_x(a, b), grid.links_y(a, b))):
            _cut(grid, footing, links, conductance[axis], whole[axis], axis, ends)
    if not lines:
        return np.empty((0, 2)), np.empty((0, 2))
    return np.concatenate([line[:-1] for line in lines]), np.concatenate([line[1:] for line in lines])


def _checked(footing: LayerWall, name: str) -> Array:
    line = polyline(footing.line, name)
    if not 0.0 <= footing.opening <= 1.0:
        raise ValueError(f"the opening of {name} must lie between 0 and 1")
    if not 0.0 < footing.width < np.inf:
        raise ValueError(f"the width of {name} must be above 0")
    return line


def _ended(grid: Grid, line: Array, starts: Array, stops: Array) -> tuple[Array, _End | None]:
    """The line with its last point moved to where the grid needs it, and the end there if it is free.

    `starts` and `stops` are the pieces it may join, those of the outline first.
    """
    tip, outline = line[-1:], len(grid.outline)
    if len(line) > 2:
        starts, stops = np.concatenate((starts, line[:-2])), np.concatenate((stops, line[1:-1]))
    gaps = distance_to_segments(tip, starts, stops)[0]
    nearest = int(np.argmin(gaps))
    if gaps[nearest] < _JOINED * grid.cell:
        along = stops[nearest] - starts[nearest]
        share = np.clip(np.sum((tip[0] - starts[nearest]) * along) / np.sum(along * along), 0.0, 1.0)
        meeting = starts[nearest] + share * along
        if np.hypot(*(meeting - tip[0])) > _GAP * grid.cell:
            line = np.concatenate((line, meeting[None]))
        if nearest < outline:
            # centres of cut cells may lie beyond the outline, and their links with them
            ahead = line[-1] - line[-2]
            line = np.concatenate((line[:-1], (line[-1] + _BEYOND * grid.cell * ahead / np.hypot(*ahead))[None]))
        return line, None
    a, b = grid.units(line[-2:])
    step = b - a
    axis = int(abs(step[1]) > abs(step[0]))
    if abs(step[axis]) < 2.0:
        return line, None
    sign = 1.0 if step[axis] > 0.0 else -1.0
    # counted along the direction of travel, from a line of centres
    end = sign * (b[axis] - 0.5)
    link = math.ceil(end - _REACH)
    short = _REACH - (end - link)
    moved = a + step * ((sign * link + sign * _JUST_PAST + 0.5 - a[axis]) / step[axis])
    crossing = a + step * ((sign * link + 0.5 - a[axis]) / step[axis])
    share = min(short / (1.0 + _ROOT - _ROOT * short), 1.0)
    return np.concatenate((line[:-1], (grid.origin + grid.cell * moved)[None])), _End(1 - axis, crossing, share)


def _cut(
    grid: Grid,
    footing: LayerWall,
    links: Links,
    conductance: Array,
    whole: Bools,
    axis: int,
    ends: list[_End],
) -> None:
    rows, columns = conductance.shape
    kept = (links.row >= 0) & (links.row < rows) & (links.column >= 0) & (links.column < columns)
    at = (links.row[kept], links.column[kept])
    clear = conductance[at]
    whole[at] = False
    if footing.opening == 0.0:
        conductance[at] = 0.0
    else:
        # on a slanting line each link takes the part of it that faces its way
        added = np.zeros(conductance.shape)
        np.add.at(added, at, footing.width * (1.0 / footing.opening - 1.0) / (grid.cell * links.slope[kept]))
        conductance[at] = clear / (1.0 + added[at])
    for end in ends:
        if end.axis != axis:
            continue
        place = np.stack((links.column[kept], links.row[kept]), axis=1) + 0.5
        place[:, axis] += links.share[kept]
        last = np.flatnonzero(np.max(np.abs(place - end.point), axis=1) < 1e-3)
        here = (at[0][last], at[1][last])
        conductance[here] += end.share * (clear[last] - conductance[here])
