"""Lines and areas of equal suction on a drawn floor, for every drawing of it; no painter, no unit."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Any

import numpy as np

from workbench.physics.arrays import Array
from workbench.physics.slab.field import VacuumField

RING = 2
"""Cells by which the field is carried on beyond the floor, so that its outline cuts it off and not the cells."""


class Carried:
    """Carries values at the N cells of a floor beyond it, onto a rectangle of cells; made once for a field.

    Attributes
    ----------
    x, y : array
        Centers of the columns and rows. [m]
    origin, size : pair of float
        South-west corner of the rectangle, its breadth and depth. [m]
    cell : float
        Side of a cell. [m]
    """

    def __init__(self, field: VacuumField) -> None:
        inside = np.pad(field.mask, RING)
        rows, columns = self.shape = inside.shape
        taken = np.where(inside, np.arange(inside.size).reshape(inside.shape), -1)
        for _ in range(RING + 1):
            for axis, step in ((0, 1), (0, -1), (1, 1), (1, -1)):
                beside = np.roll(taken, step, axis)
                taken = np.where((taken < 0) & (beside >= 0), beside, taken)
        # cells still farther off are never seen; any value does
        first = int(np.flatnonzero(inside.ravel())[0])
        source = np.where(taken >= 0, taken, first).ravel()
        own = np.full(inside.size, -1)
        own[np.flatnonzero(inside.ravel())] = np.flatnonzero(field.mask.ravel())
        self._cells = field.system.number[own[source]].reshape(rows, columns)
        self.cell = h = field.grid.cell
        x0, y0 = self.origin = tuple(float(c) - RING * h for c in field.grid.origin)
        self.size = (columns * h, rows * h)
        self.x = x0 + h * (np.arange(columns) + 0.5)
        self.y = y0 + h * (np.arange(rows) + 0.5)

    def values(self, cells: Array) -> Array:
        """Values (N,) of the cells on the rectangle, shape (rows, columns); single precision."""
        return np.asarray(cells[self._cells], dtype=np.float32)

    def traced(self, values: Array) -> Traced:
        """Where values on the rectangle are equal."""
        return Traced(self, values)


class Traced:
    """Lines and areas of a field; places (n, 2) east and north. [m]"""

    def __init__(self, carried: Carried, values: Array) -> None:
        # compiled contouring; loaded at the first field, since the window must open without it
        from contourpy import FillType, LineType, contour_generator

        self._made: Any = contour_generator(
            carried.x,
            carried.y,
            values,
            name="serial",
            line_type=LineType.Separate,
            fill_type=FillType.OuterOffset,
        )

    def lines(self, level: float) -> tuple[Array, ...]:
        """Lines on which the value is that of a level."""
        return tuple(self._made.lines(float(level)))

    def areas(self, low: float, high: float) -> Iterator[tuple[Array, ...]]:
        """Areas with values between two, each as its outer ring and those of its gaps."""
        points, offsets = self._made.filled(low, high)
        for rings, ends in zip(points, offsets, strict=True):
            yield tuple(rings[start:end] for start, end in pairwise(ends))
