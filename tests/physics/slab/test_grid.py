"""Cut cells and the lattice's kernel against exact geometry and tabulated values."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.physics.arrays import Array
from workbench.physics.polygon import contains, distance_to_segments, in_sight, signed_area
from workbench.physics.slab.grid import cut_grid
from workbench.physics.slab.wells import KERNEL_REACH, far_kernel, lattice_kernel


@st.composite
def outlines(draw: st.DrawFn) -> Array:
    corners = draw(st.integers(3, 12))
    reach = draw(st.lists(st.floats(1.0, 4.0), min_size=corners, max_size=corners))
    angles = 2.0 * np.pi * (np.arange(corners) + draw(st.floats(0.0, 1.0))) / corners
    points = np.array(reach)[:, None] * np.stack((np.cos(angles), np.sin(angles)), axis=1)
    return points[::-1] if draw(st.booleans()) else points


@settings(max_examples=40)
@given(outlines(), st.floats(0.1, 0.3))
def test_cut_cells_are_exact(outline: Array, cell: float) -> None:
    grid = cut_grid(tuple((float(x), float(y)) for x, y in outline), cell)
    assert float(grid.area.sum()) == pytest.approx(abs(signed_area(outline)), rel=1e-9)
    assert np.all((grid.area >= 0.0) & (grid.area <= cell**2 * (1.0 + 1e-9)))
    sides = np.hypot(*(np.roll(outline, -1, axis=0) - outline).T)
    found = np.bincount(grid.fragments.edge, grid.fragments.length, len(outline))
    np.testing.assert_allclose(found, sides, rtol=1e-9)
    centres = grid.centres(np.arange(grid.area.size))
    clear = distance_to_segments(centres, outline, np.roll(outline, -1, axis=0)).min(axis=1) > 1e-9
    np.testing.assert_array_equal(grid.inside.ravel()[clear], contains(outline, centres)[clear])
    # the faces of every cell and the outline's pieces within it close, as those of any body do
    after = np.roll(grid.outline, -1, axis=0)
    normal = np.stack((after[:, 1] - grid.outline[:, 1], grid.outline[:, 0] - after[:, 0]), axis=1)
    normal = (normal / np.hypot(*normal.T)[:, None])[np.argsort(grid.edge)][grid.fragments.edge]
    for axis, faces in ((0, grid.open_x), (1, grid.open_y.T)):
        area = grid.area if axis == 0 else grid.area.T
        padded = np.zeros((area.shape[0], area.shape[1] + 1))
        padded[:, 1:-1] = faces
        closed = np.diff(padded, axis=1) * cell
        closed = closed if axis == 0 else closed.T
        rim = np.bincount(grid.fragments.cell, grid.fragments.length * normal[:, axis], grid.area.size)
        # a piece no further than a millionth of a cell from a face may be given to the cell beyond it: the shallower it
        # runs to the face, the longer it may be
        np.testing.assert_allclose(closed.ravel() + rim, 0.0, atol=1e-4 * cell)


@settings(max_examples=40)
@given(outlines(), st.floats(0.3, 2.0), st.floats(-2.0, 2.0))
def test_share_of_cells_within_a_zone(zone: Array, scale: float, shift: float) -> None:
    grid = cut_grid(((-2.0, -2.0), (2.0, -2.0), (2.0, 2.0), (-2.0, 2.0)), 0.25)
    zone = scale * zone + shift
    share = grid.share_within(zone)
    fine = (np.arange(16 * 24) + 0.5) * 0.25 / 24.0 - 2.0
    dots = np.stack(np.meshgrid(fine, fine), axis=-1).reshape(-1, 2)
    counted = contains(zone, dots).reshape(16, 24, 16, 24).mean(axis=(1, 3))
    np.testing.assert_allclose(share, counted, atol=0.08)
    assert float(share.mean()) == pytest.approx(float(counted.mean()), abs=0.01)


def test_rectangle_of_whole_cells() -> None:
    grid = cut_grid(((1.0, 2.0), (13.0, 2.0), (13.0, 11.0), (1.0, 11.0)), 0.1)
    assert grid.shape == (90, 120)
    np.testing.assert_allclose(grid.area, 0.01, rtol=1e-9)
    assert np.all(grid.open_x == 1.0)
    assert np.all(grid.open_y == 1.0)
    np.testing.assert_allclose(grid.fragments.depth, 0.05, rtol=1e-9)
    np.testing.assert_array_equal(np.sort(grid.order), np.arange(90 * 120))


def test_kernel_of_the_lattice() -> None:
    # McCrea & Whipple, Proc. Roy. Soc. Edinburgh 60 (1940) 281, a quarter of their values as the Laplacian is 1 here:
    # 1, 4/pi, 4 - 8/pi, 8/pi - 1; from memory.
    kernel = lattice_kernel()
    assert kernel[0, 0] == 0.0
    for place, value in {
        (1, 0): 0.25,
        (1, 1): 1 / math.pi,
        (2, 0): 1 - 2 / math.pi,
        (2, 1): 2 / math.pi - 0.25,
    }.items():
        assert kernel[place] == pytest.approx(value, abs=1e-12)
        assert kernel[place[::-1]] == pytest.approx(value, abs=1e-12)
    around = kernel[2:, 1:-1] + kernel[:-2, 1:-1] + kernel[1:-1, 2:] + kernel[1:-1, :-2]
    np.testing.assert_allclose(around, 4.0 * kernel[1:-1, 1:-1], atol=1e-12)
    distance = np.hypot(*np.indices(kernel.shape))
    far = distance > KERNEL_REACH
    np.testing.assert_allclose(kernel[far], far_kernel(distance[far]), atol=2e-4)


def test_sight() -> None:
    wall = np.array([[1.0, -1.0]]), np.array([[1.0, 1.0]])
    seen = in_sight(np.array([0.0, 0.0]), np.array([(0.9, 0.0), (2.0, 0.0), (2.0, 3.0), (1.0, 3.0)]), *wall)
    np.testing.assert_array_equal(seen, [True, False, True, True])
