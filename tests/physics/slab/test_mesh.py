"""The floor as a mesh of conductances, and the coarse field that it is taken from."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from workbench.physics.ground import beside_footing
from workbench.physics.slab.field import vacuum_field
from workbench.physics.slab.mesh import Seen, Shape, logarithms, mesh_of
from workbench.physics.slab.network import Plan, Shapes, network_of
from workbench.physics.slab.parts import Layer, LayerWall

OUTLINE = ((0.0, 0.0), (9.0, 0.0), (9.0, 6.0), (0.0, 6.0))
POINTS = ((2.1, 1.6), (6.7, 4.2))
HOLES = ((4.0, 3.1), (8.4, 5.3), (1.1, 4.9), (6.0, 1.2))


def plan(**fields: object) -> Plan:
    given = {
        "outline": OUTLINE, "sides": (1, 1, 2, 2), "zones": (), "leaks": (), "footings": (), "points": POINTS,
        "radii": (0.31, 0.31), "holes": HOLES,
    }  # fmt: skip
    return Plan(**(given | fields))  # type: ignore[arg-type]


def shapes(leak: float = 0.02, sides: tuple[float, ...] = (0.1, 0.02)) -> Shapes:
    return Shapes(np.zeros(0), leak, np.array(sides))


@given(
    n=st.integers(1, 5),
    k=st.integers(1, 6),
    o=st.integers(1, 4),
    seed=st.integers(0, 2**32 - 1),
    wild=st.floats(0.1, 8.0),
)
def test_any_logarithms_make_a_possible_floor(n: int, k: int, o: int, seed: int, wild: float) -> None:
    """Symmetric, positive definite, nothing negative, no hole above the strongest pit, winter never adds.

    What Berman and Plemmons (Nonnegative Matrices in the Mathematical Sciences, 1994, ch. 6) prove of M-matrices.
    """
    rng = np.random.default_rng(seed)
    shape = Shape(n, k, o)
    mesh = mesh_of(wild * rng.standard_normal((3, shape.size)), shape)
    for resistance in mesh.resistance:
        assert resistance == pytest.approx(resistance.T, rel=1e-6, abs=1e-9 * float(resistance.max()))
        assert np.all(resistance >= -1e-9 * resistance.max())
        scale = 1.0 / np.sqrt(np.diagonal(resistance))
        assert np.linalg.eigvalsh(resistance * np.outer(scale, scale))[0] > -1e-9
    for weights, rests in ((mesh.weights, mesh.rests), (mesh.means[:, None, :], mesh.means[:, None, :] * 0.0)):
        assert np.all(weights >= 0.0)
        assert weights.sum(axis=-1) + rests.sum(axis=-1) == pytest.approx(np.ones(weights.shape[:-1]))
    assert mesh.shares.sum(axis=-1) == pytest.approx(np.ones((3, n)), rel=1e-6)
    flows = rng.uniform(0.0, 1.0, n)
    pits = np.matmul(mesh.resistance, flows)
    holes = np.matmul(mesh.weights, pits[..., None])[..., 0]
    assert np.all(holes <= pits.max(axis=-1, keepdims=True) * (1.0 + 1e-9))
    felt = mesh.felt_at_holes(rng.uniform(0.0, 1.0, o))
    assert np.all((felt >= 0.0) & (felt <= 1.0 + 1e-9))
    # more of the outlets open to the outdoors is never felt less
    assert np.all(mesh.felt_at_holes(np.ones(o)) >= felt - 1e-9)


@settings(max_examples=15)
@given(st.floats(-4.0, 1.0), st.floats(-3.0, 1.0), st.floats(-3.0, 1.0))
def test_there_and_back_again(leak: float, one: float, other: float) -> None:
    seen = network_of(plan()).solve(shapes(10.0**leak, (10.0**one, 10.0**other)))
    shape = Shape(2, 4, 3)
    mesh = mesh_of(logarithms(seen), shape)
    assert mesh.resistance == pytest.approx(seen.points, rel=1e-6, abs=1e-7 * float(seen.points.max()))
    assert mesh.shares == pytest.approx(seen.point_shares, abs=1e-6)
    holes = np.matmul(mesh.weights, mesh.resistance)
    # interpolation between cells may leave a hair less than nothing, which is cut off
    assert holes == pytest.approx(seen.holes, rel=2e-3, abs=1e-4 * float(seen.holes.max()))
    assert mesh.means == pytest.approx(seen.mean_shares, abs=1e-6)


def test_what_is_seen_of_the_outlets_is_the_whole() -> None:
    """With nothing running and every outlet at one suction the whole floor takes it on: shares add up to 1."""
    for radii in ((0.05, 0.2), (0.31, 0.31), (0.6, 0.4)):
        seen = network_of(plan(radii=radii)).solve(shapes())
        for shares in (seen.point_shares, seen.hole_shares, seen.mean_shares[None]):
            assert shares.sum(axis=-1) == pytest.approx(np.ones(len(shares)), abs=1e-9)


@pytest.mark.parametrize("open_side", [1e-3, 7.7, 4e3])
def test_a_side_that_cuts_its_cells_anyhow_lets_air_in_alone(open_side: float) -> None:
    """An outline in no step with the cells: cells whose centres lie beyond an open side are no way out of it."""
    outline = ((0.0, 0.0), (39.2184, 0.0), (39.2184, 27.9745), (14.2809, 27.9745), (14.2809, 41.9287), (0.0, 41.9287))
    places = ((5.0, 6.0),)
    network = network_of(plan(outline=outline, sides=(1, 1, 2, 1, 1, 1), points=places, radii=(0.3,)))
    seen = network.solve(shapes(1e-4, (1e-3, open_side)))
    for shares in (seen.point_shares, seen.hole_shares, seen.mean_shares):
        assert np.all((shares >= -1e-9) & (shares <= 1.0 + 1e-9))
    assert np.all(seen.points > 0.0)
    assert np.all(seen.holes > 0.0)


def test_points_feel_one_another_equally_and_give_what_they_feel() -> None:
    """Reciprocity (H. A. Lorentz; for networks Rayleigh): also between a pit's flow and what comes by an outlet."""
    network = network_of(plan())
    one = network.solve(shapes())
    swapped = network_of(plan(points=POINTS[::-1])).solve(shapes())
    assert one.points[0, 1] == pytest.approx(one.points[1, 0], rel=1e-9)
    assert swapped.points[0, 1] == pytest.approx(one.points[0, 1], rel=1e-9)
    # air through an outlet for a pit's flow is what the pit feels of that outlet: both sum to the whole, so that
    # opening one takes from the other
    more = network.solve(shapes(sides=(1.0, 0.02)))
    assert np.all(more.point_shares[:, 1] > one.point_shares[:, 1])
    assert np.all(more.point_shares[:, 2] < one.point_shares[:, 2])


@pytest.mark.parametrize("transmissivity", [1e-5, 1e-4, 1e-3])
@pytest.mark.parametrize("footing", [False, True])
def test_the_coarse_field_agrees_with_the_fine_one(transmissivity: float, footing: bool) -> None:
    """The field at 0.1 m cells, a solver of its own, for usual fills: within a per cent at holes and between pits."""
    leak, edge = 1e-6, 2e-6
    footings = (LayerWall(((4.9, 0.0), (4.9, 3.4)), 0.0),) if footing else ()
    radius = 0.25
    layer = Layer(
        OUTLINE, transmissivity, leak_house=leak, edge_house=(edge,) * 4, footings=footings, cell=0.1
    )  # fmt: skip
    fine = vacuum_field(layer, POINTS, [radius, radius])
    # the last stands on the disc over which the coarse field spreads the flow
    holes = (*HOLES, (2.4, 1.5))
    network = network_of(plan(radii=(radius, radius), footings=footings, sides=(1, 1, 1, 1), holes=holes))
    coarse = network.solve(Shapes(np.zeros(0), leak / transmissivity, np.array([edge / transmissivity])))
    assert coarse.points[0, 1] / transmissivity == pytest.approx(float(fine.resistance[0, 1]), rel=0.01)
    at_holes = fine.sample(np.array(holes)).flow
    assert coarse.holes / transmissivity == pytest.approx(at_holes, rel=0.01)
    own = np.diagonal(coarse.points) + np.array([network.near_pit(i, radius) for i in range(2)])
    assert own / transmissivity == pytest.approx(np.diagonal(fine.resistance), rel=0.01)


@given(st.floats(0.02, 0.5), st.floats(0.02, 1.0), st.tuples(st.floats(0.3, 8.7), st.floats(0.3, 5.7)))
@settings(max_examples=25)
def test_no_hollow_within_its_disc_is_rescued(radius: float, part: float, place: tuple[float, float]) -> None:
    """Between the disc's mean and the rim of any hollow that fits it, and the floor, something is left to overcome."""
    across, along = place
    assume(min(across, 9.0 - across, along, 6.0 - along) >= radius)
    network = network_of(plan(points=(place,), radii=(radius,), holes=()))
    assert network.near_pit(0, part * radius) > 0.0
    # a hollow half as wide asks ln 2 / (2 pi) more of the layer around it (the two-dimensional well of Thiem)
    more = network.near_pit(0, 0.5 * part * radius) - network.near_pit(0, part * radius)
    assert more == pytest.approx(np.log(2.0) / (2.0 * np.pi), rel=1e-6)


@pytest.mark.parametrize(
    ("depth", "strip", "factor"),
    [(0.3, 0.1, 0.49), (0.6, 0.1, 0.41), (1.0, 0.1, 0.36), (2.0, 0.1, 0.31),
     (0.3, 0.3, 0.71), (0.6, 0.3, 0.56), (1.0, 0.3, 0.48), (2.0, 0.3, 0.40)],
)  # fmt: skip
def test_flow_under_a_footing_by_the_map_of_a_sheet_pile(depth: float, strip: float, factor: float) -> None:
    """Figures worked out apart from this code by the map of M. E. Harr, Groundwater and Seepage (1962), two digits."""
    assert beside_footing(1.8e-5, depth, strip, 1.8e-5) == pytest.approx(factor, abs=0.006)


def flow_by_differences(depth: float, strip: float, step: float, wide: float) -> float:
    """Laplace's equation on square cells in a box: a slit, the surface at 0 outside it, a strip at 1 inside."""
    from scipy.sparse import coo_array
    from scipy.sparse.linalg import spsolve

    n, wall, deep, drawn = round(wide / step), round(0.5 * wide / step), round(depth / step), round(strip / step)
    number = np.arange(n * n).reshape(n, n)
    across = np.ones((n, n - 1), dtype=bool)
    across[:deep, wall - 1] = False
    a = np.concatenate((number[:, :-1][across], number[:-1].ravel()))
    b = np.concatenate((number[:, 1:][across], number[1:].ravel()))
    own = np.bincount(np.concatenate((a, b)), minlength=n * n).astype(float)
    load = np.zeros(n * n)
    own[number[0, : wall + drawn]] += 2.0
    load[number[0, wall : wall + drawn]] = 2.0
    every = np.arange(n * n)
    rows, columns = np.concatenate((every, a, b)), np.concatenate((every, b, a))
    matrix = coo_array((np.concatenate((own, -np.ones(2 * a.size))), (rows, columns)), shape=(n * n, n * n))
    field = spsolve(matrix.tocsc(), load).reshape(n, n)
    return float(np.sum(2.0 * (1.0 - field[0, wall : wall + drawn])))


def test_flow_under_a_footing_against_differences_on_a_grid() -> None:
    at = {(step, wide): flow_by_differences(0.6, 0.3, step, wide) for step, wide in ((0.1, 6), (0.05, 6), (0.1, 12))}
    # both faults fall as the first power: of the box, and of the cells at the ends of slit and strip
    flow = at[0.05, 6] + (at[0.05, 6] - at[0.1, 6]) + (at[0.1, 12] - at[0.1, 6]) * 2.0
    assert beside_footing(1.8e-5, 0.6, 0.3, 1.8e-5) == pytest.approx(flow, rel=0.02)


def test_a_seen_floor_of_one_point_needs_no_pairs() -> None:
    seen = Seen(np.array([[2.0]]), np.array([[0.5]]), np.array([[0.3, 0.7]]), np.array([[0.2, 0.8]]), np.ones(2) / 2)
    mesh = mesh_of(logarithms(seen), Shape(1, 1, 2))
    assert mesh.resistance[0, 0] == pytest.approx(2.0)
    assert mesh.weights[0, 0] == pytest.approx(0.25)
    assert mesh.shares[0] == pytest.approx([0.3, 0.7])


def test_a_hole_whose_slope_is_carried_below_nothing_still_makes_a_floor() -> None:
    """Beyond the last cell's centre a steep slope ends below zero; its share there counts as none."""
    seen = Seen(
        points=np.array([[2.0]]),
        holes=np.array([[0.4]]),
        point_shares=np.array([[0.7, 0.3]]),
        hole_shares=np.array([[1.02, -0.02]]),
        mean_shares=np.array([0.6, 0.4]),
    )
    logs = logarithms(seen)
    assert np.isfinite(logs).all()
    felt = mesh_of(logs, Shape(1, 1, 2))
    assert felt.felt_at_holes(np.array([1.0, 0.0]))[0] == pytest.approx(1.0, abs=0.15)
    assert np.all(felt.rests >= 0.0)
