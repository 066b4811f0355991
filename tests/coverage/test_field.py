"""The solver behind the synthetic floors against closed forms, before anything is judged by it."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.special import k0, k1

from tests.coverage.field import Layer, solve
from tests.coverage.mesh import area_of, triangulate

HALL = np.array([(0.0, 0.0), (11.0, 0.0), (11.0, 8.0), (0.0, 8.0)])
BENT = np.array([(0.0, 0.0), (9.0, 0.0), (9.0, 5.0), (5.0, 5.0), (5.0, 8.0), (0.0, 8.0)])
T, C = 5e-5, 1.2e-5


def layer(triangles: int, sides: int, house: float = C, outdoors: float = 0.0, **given: object) -> Layer:
    fields = {"joints": np.zeros(sides), "ground": np.zeros(sides)} | given
    ones = np.ones(triangles)
    return Layer(T * ones, house * ones, outdoors * ones, **fields)  # type: ignore[arg-type]


@pytest.mark.parametrize("rim", [0.156, 0.243])
def test_one_pit_in_a_leaky_layer_with_tight_sides(rim: float) -> None:
    # G. J. de Glee (1930): s = A K0(r / L), L = sqrt(T / C), about a well of radius r0, with A from the flow at its
    # rim, 2 pi T A (r0 / L) K1(r0 / L), and from the leak above it, C pi r0^2 A K0(r0 / L); a tight side is a mirror
    # (method of images, as J. Bear, Hydraulics of Groundwater, 1979).
    pit = np.array([[4.1, 3.3]])
    mesh = triangulate(HALL, pit, (0.156, 0.243), 0.2)
    places = np.array([(4.9, 3.3), (6.5, 4.0), (2.0, 6.5), (9.8, 6.9)])
    answer = solve(mesh, layer(len(mesh.triangles), 4), np.array([rim]), places)
    length = math.sqrt(T / C)
    strength = 1.0 / (2.0 * math.pi * T * rim / length * k1(rim / length) + C * math.pi * rim**2 * k0(rim / length))
    mirrors = [
        (sx * pit[0, 0] + 22.0 * i, sy * pit[0, 1] + 16.0 * j)
        for i in range(-2, 3)
        for j in range(-2, 3)
        for sx in (-1, 1)
        for sy in (-1, 1)
    ]

    def suction(x: float, y: float) -> float:
        return strength * sum(k0(max(math.hypot(x - a, y - b), rim) / length) for a, b in mirrors)

    # what the mirrors do to the pit itself is even over it but for their slope, of second order in the radius
    assert answer.pits[0, 0] == pytest.approx(suction(*pit[0]), rel=4e-3)
    assert answer.holes[:, 0] == pytest.approx([suction(*place) for place in places], rel=6e-3)


def test_a_side_open_to_the_outdoors_is_felt_as_the_strip_says() -> None:
    # Derived: a strip of length a with conductance G at one end, tight at the other: T s'' = C s gives
    # s = s_o G cosh((a - x) / L) / (G cosh(a / L) + (T / L) sinh(a / L)).
    pit = np.array([[10.2, 7.2]])
    mesh = triangulate(HALL, pit, (0.02,), 0.2)
    ground = np.array([0.0, 0.0, 0.0, 2e-5])
    x = np.array([0.3, 1.0, 2.5, 5.0])
    places = np.column_stack((x, np.full(4, 2.0)))
    answer = solve(mesh, layer(len(mesh.triangles), 4, ground=ground), np.array([0.02]), places)
    length = math.sqrt(T / C)
    scale = 2e-5 / (2e-5 * math.cosh(11.0 / length) + T / length * math.sinh(11.0 / length))
    assert answer.rest_holes == pytest.approx(scale * np.cosh((11.0 - x) / length), rel=6e-3)


def test_all_that_is_drawn_comes_from_somewhere_and_the_answers_are_mutual() -> None:
    pits = np.array([(2.0, 2.2), (6.5, 2.0), (3.0, 6.4)])
    mesh = triangulate(BENT, pits, (0.156, 0.243), 0.22)
    assert mesh.area.sum() == pytest.approx(area_of(BENT)) == pytest.approx(60.0)
    rng = np.random.default_rng(5)
    count = len(mesh.triangles)
    uneven = Layer(
        T * np.exp(rng.normal(0.0, 1.2, count)),
        C * np.exp(rng.normal(0.0, 1.5, count)),
        0.3 * C * np.ones(count),
        joints=np.array([1e-5, 0.0, 3e-5, 0.0, 0.0, 2e-6]),
        ground=np.full(6, 4e-6),
        cracks=((np.array([(1.0, 1.0), (1.2, 1.1), (1.4, 1.2)]), 2e-6),),
    )
    places = np.array([(0.4, 0.4), (8.5, 4.5), (4.6, 7.6)])
    answer = solve(mesh, uneven, np.full(3, 0.243), places)
    assert answer.house + answer.outside == pytest.approx(np.ones(3), rel=1e-9)
    assert answer.pits == pytest.approx(answer.pits.T, rel=1e-9)
    # reciprocity: the part of a pit's air that comes from the outdoors is what the pit feels of the outdoors at rest
    assert answer.outside == pytest.approx(answer.rest_pits, rel=1e-9)
    # no place is drawn lower than the pit that draws (maximum principle)
    assert np.all(answer.holes <= np.diag(answer.pits))
    assert np.all(answer.holes > 0.0)


def test_what_enters_by_one_crack_alone_is_house_air_and_passes_it() -> None:
    # all of the flow passes the crack, so that its mean suction is the flow over its conductance
    mesh = triangulate(HALL, np.array([[2.0, 2.0]]), (0.156,), 0.2)
    places = np.column_stack((np.linspace(6.0, 9.0, 61), np.linspace(5.0, 6.0, 61)))
    tight = layer(len(mesh.triangles), 4, house=0.0, cracks=((places, 3e-7),))
    answer = solve(mesh, tight, np.array([0.156]), places)
    assert answer.house == pytest.approx([1.0])
    assert answer.holes[:, 0].mean() == pytest.approx(1.0 / (61 * 3e-7), rel=5e-3)
