"""What must hold for any slab: balance, reciprocity, symmetry, order; and the cases that have an answer by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from tests.reference.ground import inertia
from tests.reference.slab_inertia import inertial_field
from workbench.physics.arrays import Array
from workbench.physics.slab.field import VacuumField, vacuum_field
from workbench.physics.slab.parts import Layer, LayerWall, LayerZone, bed_transmissivity

Outline = tuple[tuple[float, float], ...]

FILL = 5.5e-5
ROOM: Outline = ((0.0, 0.0), (6.0, 0.0), (6.0, 4.0), (0.0, 4.0))
BENT: Outline = ((0.0, 0.0), (9.0, 0.0), (9.0, 5.0), (5.0, 5.3), (5.0, 8.0), (0.0, 7.5))
MIXED = Layer(
    BENT,
    FILL,
    8e-7,
    2e-7,
    edge_house=(1e-6, 0.0, 2e-5, 0.0, 3e-3, 0.0),
    edge_outdoors=(0.0, 1e-5, 1e-5, math.inf, 0.0, 0.0),
    zones=(LayerZone(((0.0, 0.0), (2.5, 0.0), (2.5, 3.33), (0.0, 3.0)), 0.2, 3.0),),
    footings=(LayerWall(((3.02, 0.0), (3.4, 4.6))), LayerWall(((5.0, 5.3), (7.0, 2.0)), 0.2, 0.5)),
)
WELLS = np.array([(1.27, 2.13), (6.4, 4.2), (4.0, 6.5)])


@pytest.fixture(scope="module")
def mixed() -> VacuumField:
    return vacuum_field(MIXED, WELLS, [0.15, 0.25, 0.02])


def turned(points: Array, angle: float) -> Array:
    c, s = math.cos(angle), math.sin(angle)
    return points @ np.array([[c, s], [-s, c]])


def pairs(points: Array) -> Outline:
    return tuple((float(x), float(y)) for x, y in points)


def test_all_the_air_is_accounted_for(mixed: VacuumField) -> None:
    flows = np.array([[0.004, 0.006, 0.002], [0.0, 0.0, 0.0], [0.01, -0.002, 0.0]])
    intake = mixed.intake(flows, np.array([-3.0, -4.0, 2.0]))
    np.testing.assert_allclose(intake.house + intake.outdoors, flows.sum(axis=1), rtol=1e-9, atol=1e-14)
    assert intake.edge_house.shape == (3, 6)
    # sealed edges pass nothing, edges to one place nothing to the other
    assert np.all(intake.edge_house[:, [1, 3, 5]] == 0.0)
    assert np.all(intake.edge_outdoors[:, [0, 4, 5]] == 0.0)
    assert intake.zone.shape == (3, 1)
    assert 0.0 < intake.zone[0, 0] < intake.slab_house[0] + intake.slab_outdoors[0]


def test_points_act_on_each_other_alike(mixed: VacuumField) -> None:
    np.testing.assert_allclose(mixed.resistance, mixed.resistance.T, rtol=1e-10)
    assert np.all(np.linalg.eigvalsh(mixed.resistance) > 0.0)


def test_fields_add_up(mixed: VacuumField) -> None:
    q = np.array([0.004, 0.006, 0.002])
    apart = sum(mixed.at(q * one) for one in np.eye(3)) + mixed.at(np.zeros(3), -3.0)
    np.testing.assert_allclose(mixed.at(q, -3.0), apart, rtol=1e-12)
    alone = vacuum_field(MIXED, WELLS[1], 0.25)
    np.testing.assert_allclose(alone.raw.flow[:, 0], mixed.raw.flow[:, 1], rtol=1e-9)


def test_batches(mixed: VacuumField) -> None:
    q = np.linspace(0.0, 0.01, 24).reshape(2, 4, 3)
    outdoors = np.linspace(-4.0, 0.0, 8).reshape(2, 4)
    everywhere = mixed.at(q, outdoors)
    assert everywhere.shape == (2, 4, mixed.system.size)
    np.testing.assert_allclose(everywhere[1, 2], mixed.at(q[1, 2], outdoors[1, 2]))
    assert mixed.sample(WELLS).at(q, outdoors).shape == (2, 4, 3)
    assert mixed.intake(q, outdoors).edge_outdoors.shape == (2, 4, 6)


def test_picture(mixed: VacuumField) -> None:
    picture = mixed.image(mixed.at([0.004, 0.006, 0.002]))
    assert picture.shape == mixed.mask.shape
    np.testing.assert_array_equal(np.isfinite(picture), mixed.mask)
    row, column = np.unravel_index(np.nanargmax(mixed.image(mixed.at([0.004, 0.0, 0.0]))), picture.shape)
    assert math.hypot(0.1 * column + 0.05 - 1.27, 0.1 * row + 0.05 - 2.13) < 0.15


def test_pit_and_its_surroundings(mixed: VacuumField) -> None:
    q = np.array([0.004, 0.006, 0.002])
    np.testing.assert_allclose(mixed.sample(WELLS).at(q, -2.0), mixed.pits.at(q, -2.0), rtol=1e-12)
    rim = mixed.sample(WELLS + np.array([(0.151, 0.0), (0.0, 0.251), (0.021, 0.0)])).at(q, -2.0)
    np.testing.assert_allclose(rim, mixed.pits.at(q, -2.0), rtol=0.03)


@pytest.mark.parametrize("distance", [0.03, 0.1, 0.17, 0.4, 1.0])
@pytest.mark.parametrize("well", [(4.0, 3.0), (4.05, 3.05), (4.02, 3.07)])
def test_suction_near_a_small_pit(distance: float, well: tuple[float, float]) -> None:
    # Means around rings in a nearly level field that leaks evenly: Thiem less what the leakage within a ring takes off.
    slab = Layer(((0, 0), (8, 0), (8, 6), (0, 6)), FILL, 1e-8)
    field = vacuum_field(slab, [well], 0.02)
    angles = np.linspace(0.0, 2.0 * np.pi, 24, endpoint=False) + 0.1
    ring = np.stack((np.cos(angles), np.sin(angles)), axis=1)
    near, far = (field.sample(well + r * ring).flow[:, 0] for r in (distance, 2.0))
    expected = (math.log(2.0 / distance) / (2.0 * math.pi) - (2.0**2 - distance**2) / (4.0 * 48.0)) / FILL
    assert near.mean() - far.mean() == pytest.approx(expected, rel=2e-3)
    # at the ring the walls count; close by every direction is alike
    if distance < 0.5:
        np.testing.assert_allclose(near - near.mean(), 0.0, atol=0.015 * expected)


def test_mirrored_slab(mixed: VacuumField) -> None:
    flip = np.array([-1.0, 1.0])
    slab = replace(
        MIXED,
        outline=pairs(np.array(BENT) * flip),
        zones=tuple(replace(z, outline=pairs(np.array(z.outline) * flip)) for z in MIXED.zones),
        footings=tuple(replace(f, line=pairs(np.array(f.line) * flip)) for f in MIXED.footings),
    )
    other = vacuum_field(slab, WELLS * flip, [0.15, 0.25, 0.02])
    np.testing.assert_allclose(other.resistance, mixed.resistance, rtol=1e-9)
    q = [0.004, 0.006, 0.002]
    np.testing.assert_allclose(other.intake(q).edge_house, mixed.intake(q).edge_house, rtol=1e-8, atol=1e-16)
    np.testing.assert_allclose(other.intake(q).zone, mixed.intake(q).zone, rtol=1e-8)


def test_outline_in_either_order() -> None:
    edges = (1e-6, 2e-6, 3e-6, 4e-6)
    one = vacuum_field(Layer(ROOM, FILL, 1e-7, edge_house=edges), [(1.0, 1.0)], 0.1)
    # reversed from the same corner: edge k of the one is edge 3 - k of the other
    turned_round = (ROOM[0], *ROOM[:0:-1])
    two = vacuum_field(Layer(turned_round, FILL, 1e-7, edge_house=edges[::-1]), [(1.0, 1.0)], 0.1)
    np.testing.assert_allclose(two.resistance, one.resistance, rtol=1e-12)
    np.testing.assert_allclose(two.intake([1.0]).edge_house[::-1], one.intake([1.0]).edge_house, rtol=1e-12)


@pytest.mark.parametrize(
    ("slab", "within"),
    [
        (replace(MIXED, edge_house=1e-5, edge_outdoors=0.0, footings=()), 2e-3),
        # a slanting footing is a flight of steps on the grid
        (replace(MIXED, edge_house=1e-5, edge_outdoors=0.0), 1e-2),
        # an open edge that ends at a corner pointing inwards, off the grid's lines: past it suction is known less well
        (MIXED, 2.5e-2),
    ],
)
def test_finer_cells_change_little_and_ever_less(slab: Layer, within: float) -> None:
    holes = [(0.2, 0.3), (8.6, 0.4), (8.8, 4.8), (4.7, 7.6), (0.2, 7.3)]
    fields = [vacuum_field(replace(slab, cell=h), WELLS, 0.15) for h in (0.2, 0.1, 0.05, 0.025)]
    rows = [np.concatenate((f.sample(holes).at([0.004, 0.006, 0.002]), f.resistance.ravel())) for f in fields]
    errors = [float(np.sqrt(np.mean((row / rows[-1] - 1.0) ** 2))) for row in rows[:-1]]
    assert errors[0] > errors[1] > errors[2]
    assert errors[1] < within


def test_well_close_to_a_wall() -> None:
    # The point is moved to the nearest centre; a fine grid that need not move it far is the reference.
    for well in ((0.03, 1.62), (0.07, 0.06), (5.96, 3.97)):
        coarse, fine = (vacuum_field(Layer(ROOM, FILL, 1e-6, cell=h), [well], 0.02) for h in (0.1, 0.02))
        assert coarse.resistance[0, 0] == pytest.approx(fine.resistance[0, 0], rel=0.05)
        hole = [(3.0, 2.0), (5.0, 0.5)]
        np.testing.assert_allclose(coarse.sample(hole).flow, fine.sample(hole).flow, rtol=5e-3)


@pytest.mark.parametrize("angle", [0.0, 0.4, math.pi / 4.0])
@pytest.mark.parametrize(("opening", "width"), [(0.1, 0.4), (0.5, 1.0)])
def test_partly_open_footing_across_a_strip(angle: float, opening: float, width: float) -> None:
    # One-dimensional flow beyond the pit: the footing adds width (1/opening - 1) of way.
    strip = np.array([(0.0, 0.0), (12.0, 0.0), (12.0, 1.5), (0.0, 1.5)])
    line = np.array([(6.03, 0.0), (6.03, 1.5)])
    slab = Layer(
        pairs(turned(strip, angle)),
        FILL,
        edge_outdoors=(0.0, math.inf, 0.0, 0.0),
        footings=(LayerWall(pairs(turned(line, angle)), opening, width),),
    )
    field = vacuum_field(slab, turned(np.array([(1.0, 0.75)]), angle), 0.1)
    before, after = field.sample(turned(np.array([(4.0, 0.7), (9.0, 0.7)]), angle)).flow[:, 0]
    per_metre = 1.0 / (FILL * 1.5)
    assert after == pytest.approx(3.0 * per_metre, rel=5e-3)
    assert before - after == pytest.approx((5.0 + width * (1.0 / opening - 1.0)) * per_metre, rel=0.01)


def test_tight_footing_parts_the_slab() -> None:
    for line in (((2.0, 0.0), (2.0, 4.0)), ((2.03, 0.04), (2.9, 3.97)), ((2.0, 0.0), (2.4, 2.0), (1.7, 4.0))):
        field = vacuum_field(Layer(ROOM, FILL, 1e-6, footings=(LayerWall(line),)), [(1.0, 1.0), (5.0, 2.0)], 0.1)
        assert field.resistance[0, 1] == 0.0
        beside = field.sample([(1.0, 3.0), (4.5, 3.0)]).flow
        assert beside[0, 1] == beside[1, 0] == 0.0
        assert np.all(np.diag(beside) > 0.0)


def test_footing_wholly_open_is_no_footing() -> None:
    plain = vacuum_field(Layer(ROOM, FILL, 1e-6), [(1.0, 1.0)], 0.1)
    open_one = LayerWall(((3.0, 0.0), (3.0, 4.0)), opening=1.0)
    field = vacuum_field(Layer(ROOM, FILL, 1e-6, footings=(open_one,)), [(1.0, 1.0)], 0.1)
    np.testing.assert_array_equal(field.raw.flow, plain.raw.flow)


def test_footings_join_in_a_tee() -> None:
    tee = (LayerWall(((2.0, 0.0), (2.0, 4.0))), LayerWall(((2.03, 2.0), (5.97, 2.0))))
    points = [(1.0, 1.0), (4.0, 1.0), (4.0, 3.0)]
    field = vacuum_field(Layer(ROOM, FILL, 1e-6, footings=tee), points, 0.1)
    np.testing.assert_array_equal(field.resistance[~np.eye(3, dtype=bool)], 0.0)


@pytest.mark.parametrize("end", [3.0, 3.02, 3.05, 3.07])
def test_free_end_of_a_footing_lies_where_it_is_drawn(end: float) -> None:
    # 10 cm cells against 2.5 cm cells: a grid that rounded the end to its cells would miss by several per cent.
    points = [(2.0, 1.0), (4.0, 1.0)]
    found = []
    for h in (0.1, 0.025):
        slab = Layer(ROOM, FILL, 1e-5, cell=h, footings=(LayerWall(((3.0, 0.0), (3.0, end))),))
        found.append(vacuum_field(slab, points, 0.1).resistance[0, 1])
    assert found[0] == pytest.approx(found[1], rel=3e-3)


def test_zones_in_a_strip() -> None:
    # Series: each metre resists by its own transmissivity.
    strip: Outline = ((0.0, 0.0), (9.0, 0.0), (9.0, 1.0), (0.0, 1.0))
    zone = LayerZone(((3.0, -1.0), (3.0, 2.0), (6.0, 2.0), (6.0, -1.0)), 0.25)
    slab = Layer(strip, FILL, edge_house=(0.0, math.inf, 0.0, 0.0), zones=(zone,))
    a, b, c = vacuum_field(slab, [(1.0, 0.5)], 0.1).sample([(2.8, 0.5), (6.2, 0.5), (7.5, 0.5)]).flow[:, 0] * FILL
    assert c == pytest.approx(1.5, rel=2e-3)
    assert b - c == pytest.approx(1.3, rel=2e-3)
    assert a - b == pytest.approx(0.2 + 12.0 + 0.2, rel=2e-3)


def test_leak_of_a_zone() -> None:
    # A nearly level field: each half leaks by its area and factor.
    zone = LayerZone(((3.0, 0.0), (6.0, 0.0), (6.0, 4.0), (3.0, 4.0)), leak=3.0)
    field = vacuum_field(Layer(ROOM, FILL * 1e4, 1e-6, zones=(zone,)), [(2.0, 2.0)], 0.1)
    intake = field.intake([0.004])
    assert float(intake.zone[0]) / 0.004 == pytest.approx(0.75, rel=1e-4)


@pytest.mark.parametrize("conductance", [1e-7, 1e-5, 4e-4, 7e-4, 1e-2, math.inf])
@pytest.mark.parametrize("angle", [0.0, 0.37, math.pi / 4.0])
def test_edge_of_any_conductance(conductance: float, angle: float) -> None:
    # One-dimensional flow to a joint at the strip's end: suction there is flow over conductance.
    strip = turned(np.array([(0.0, 0.0), (6.0, 0.0), (6.0, 1.53), (0.0, 1.53)]), angle)
    slab = Layer(pairs(strip), FILL, edge_house=(0.0, conductance, 0.0, 0.0))
    field = vacuum_field(slab, turned(np.array([(1.0, 0.7)]), angle), 0.1)
    found = field.sample(turned(np.array([(4.0, 0.8)]), angle)).flow[0, 0]
    assert found == pytest.approx((2.0 / FILL + 1.0 / conductance) / 1.53, rel=5e-3)
    assert field.intake([0.01]).edge_house[1] == pytest.approx(0.01, rel=1e-9)


# a joint that resists takes part of the crowding away, which is known less well
@pytest.mark.parametrize(("conductance", "within"), [(math.inf, 0.01), (2e-3, 0.025)])
@pytest.mark.parametrize(
    ("outline", "edge"),
    [
        (((0.0, 0.0), (6.0, 0.0), (6.0, 2.0), (6.0, 4.0), (0.0, 4.0)), 2),
        (((0.0, 0.0), (9.0, 0.0), (9.0, 5.0), (5.0, 5.0), (5.0, 8.0), (0.0, 8.0)), 3),
        (((0.0, 0.0), (9.0, 0.0), (9.0, 5.0), (5.0, 5.0), (5.0, 8.0), (0.0, 8.0)), 2),
    ],
)
def test_open_edge_ends_where_it_is_drawn(outline: Outline, edge: int, conductance: float, within: float) -> None:
    # Ends along a wall and at a corner pointing inwards: 10 cm cells against 2.5 cm cells.
    joints = tuple(conductance if k == edge else 0.0 for k in range(len(outline)))
    holes = [(1.0, 3.5), (1.0, 1.0), (5.5, 0.5)]
    coarse, fine = (
        vacuum_field(Layer(outline, FILL, 1e-7, edge_house=joints, cell=h), [(3.4, 1.2)], 0.15) for h in (0.1, 0.025)
    )
    np.testing.assert_allclose(coarse.sample(holes).flow, fine.sample(holes).flow, rtol=within)
    assert coarse.resistance[0, 0] == pytest.approx(fine.resistance[0, 0], rel=within)


def test_edges_through_the_centres_of_cells() -> None:
    # Open all round and turned by 45 degrees, against the same square along a fine grid.
    diamond: Outline = ((2.0, 0.0), (0.0, 2.0), (-2.0, 0.0), (0.0, -2.0))
    half = math.sqrt(2.0)
    square: Outline = ((-half, -half), (half, -half), (half, half), (-half, half))
    holes = np.array([(0.5, 0.5), (1.0, 0.3), (0.0, -1.2)])
    one, two = (
        vacuum_field(Layer(outline, FILL, 1e-7, edge_house=math.inf, cell=h), [(0.0, 0.0)], 0.1)
        for outline, h in ((diamond, 0.1), (square, 0.025))
    )
    np.testing.assert_allclose(one.sample(holes).flow, two.sample(turned(holes, math.pi / 4.0)).flow, rtol=5e-3)
    assert one.resistance[0, 0] == pytest.approx(two.resistance[0, 0], rel=5e-3)
    assert float(one.areas.sum()) == pytest.approx(8.0, rel=5e-3)


def test_edge_to_both_sides() -> None:
    # A nearly level field with no other leakage: the joint mixes as a pair of resistors does.
    slab = Layer(ROOM, FILL * 1e4, edge_house=3e-6, edge_outdoors=1e-6)
    field = vacuum_field(slab, [(2.0, 2.0)], 0.1)
    np.testing.assert_allclose(field.at([0.0], -4.0), -1.0, rtol=1e-9)
    rest = field.intake([0.0], -4.0)
    # 4 Pa through both in series along a perimeter of 20 m
    assert float(rest.outdoors) == pytest.approx(0.75e-6 * 20.0 * 4.0, rel=1e-6)
    assert float(rest.house) == pytest.approx(-float(rest.outdoors), rel=1e-9)
    assert float(field.intake([0.01]).house) == pytest.approx(0.0075, rel=1e-6)


def test_nearly_sealed_slab_keeps_its_balance() -> None:
    field = vacuum_field(Layer(ROOM, FILL, 1e-15), [(2.0, 2.0)], 0.1)
    assert float(field.intake([0.01]).house) == pytest.approx(0.01, rel=1e-9)


def test_inertia_without_beta_is_the_linear_field(mixed: VacuumField) -> None:
    q = np.array([0.004, 0.006, 0.002])
    found = inertial_field(mixed, 0.0, q, -3.0)
    np.testing.assert_allclose(found.raw, mixed.raw.at(q, -3.0), rtol=1e-9)
    np.testing.assert_allclose(found.pits, mixed.pits.at(q, -3.0), rtol=1e-9)
    np.testing.assert_allclose(found.cells(), mixed.at(q, -3.0), rtol=1e-9)
    holes = [(0.2, 0.3), (8.6, 0.4), (6.5, 4.3)]
    np.testing.assert_allclose(found.sample(holes), mixed.sample(holes).at(q, -3.0), rtol=1e-9)


def test_inertia_on_a_slab_of_every_kind() -> None:
    q = np.array([0.02, 0.01, 0.01])
    gravel = bed_transmissivity(3.1e-7, 0.1, 1.81e-5)
    slab = replace(MIXED, transmissivity=gravel, edge_house=1e-5, edge_outdoors=0.0)
    found = []
    for h in (0.1, 0.05):
        field = vacuum_field(replace(slab, cell=h), WELLS, 0.15)
        found.append(inertial_field(field, inertia(1000.0, 0.1, 1.2), q, -3.0))
    intake = found[0].intake
    assert float(intake.house + intake.outdoors) == pytest.approx(q.sum(), rel=1e-9)
    np.testing.assert_allclose(found[0].pits, found[1].pits, rtol=5e-3)
    # never less than viscous loss alone
    assert np.all(found[1].pits > field.pits.at(q, -3.0))


def test_inertia_along_a_strip() -> None:
    # One-dimensional Forchheimer beyond the pit, flow per width 0.02 m2/s.
    strip: Outline = ((0.0, 0.0), (8.0, 0.0), (8.0, 1.0), (0.0, 1.0))
    slab = Layer(strip, 1.7e-3, edge_house=(0.0, math.inf, 0.0, 0.0))
    found = inertial_field(vacuum_field(slab, [(1.0, 0.5)], 0.1), 1.2e5, [0.02])
    a, b = found.sample([(4.0, 0.5), (7.0, 0.5)])
    assert a - b == pytest.approx(3.0 * (0.02 / 1.7e-3 + 1.2e5 * 0.02**2), rel=1e-3)


@st.composite
def slabs(draw: st.DrawFn) -> tuple[Layer, Array]:
    """Star-shaped outlines of 5 to 9 corners, about 3 m around, with any leakage, and two points within."""
    corners = draw(st.integers(5, 9))
    reach = draw(st.lists(st.floats(1.8, 4.0), min_size=corners, max_size=corners))
    angles = 2.0 * np.pi * np.arange(corners) / corners + draw(st.floats(0.0, 1.0))
    outline = np.array(reach)[:, None] * np.stack((np.cos(angles), np.sin(angles)), axis=1)
    joints = st.sampled_from([0.0, 1e-7, 1e-5, 1e-4, 1e-3, math.inf])
    slab = Layer(
        pairs(outline),
        10.0 ** draw(st.floats(-7.0, -3.0)),
        10.0 ** draw(st.floats(-8.0, -5.0)),
        10.0 ** draw(st.floats(-8.0, -5.0)),
        edge_house=tuple(draw(st.lists(joints, min_size=corners, max_size=corners))),
        cell=draw(st.floats(0.12, 0.3)),
    )
    points = np.array([(draw(st.floats(-1.0, -0.2)), draw(st.floats(-0.9, 0.9))), (draw(st.floats(0.2, 1.0)), 0.1)])
    return slab, points


@settings(max_examples=40)
@given(slabs())
def test_any_slab(case: tuple[Layer, Array]) -> None:
    slab, points = case
    field = vacuum_field(slab, points, 0.05)
    raw = field.raw.flow
    # air only ever flows towards the points: suction is positive, and greatest where it is drawn
    assert np.all(raw >= 0.0)
    for n, well in enumerate(field.wells):
        assert np.argmax(raw[:, n]) in well.cells
        assert field.resistance[n, n] >= field.resistance[1 - n, n]
    assert np.all((field.raw.rest >= 0.0) & (field.raw.rest <= 1.0))
    np.testing.assert_allclose(field.resistance, field.resistance.T, rtol=1e-8)
    intake = field.intake([0.01, 0.02], -3.0)
    assert float(intake.house + intake.outdoors) == pytest.approx(0.03, rel=1e-9)
    assert np.all(field.intake([0.01, 0.0]).edge_house >= 0.0)


@settings(max_examples=40)
@given(slabs(), st.floats(1.2, 10.0))
def test_suction_falls_with_leakage(case: tuple[Layer, Array], factor: float) -> None:
    slab, points = case
    assume(slab.leak_house * factor < 1e-4)
    tighter = vacuum_field(slab, points, 0.05)
    leakier = vacuum_field(replace(slab, leak_house=slab.leak_house * factor), points, 0.05)
    assert np.all(leakier.raw.flow <= tighter.raw.flow * (1.0 + 1e-9))
    assert np.all(np.diag(leakier.resistance) < np.diag(tighter.resistance))


CROSSED: Outline = ((0.0, 0.0), (4.0, 3.0), (4.0, 0.0), (0.0, 3.0))


@pytest.mark.parametrize(
    ("change", "complaint"),
    [
        ({"outline": CROSSED}, "crosses or touches itself"),
        ({"outline": ((0, 0), (1, 0))}, "at least 3 points"),
        ({"outline": ((0, 0), (1, 0), (1, 0), (1, 1))}, "coincide"),
        ({"outline": ((0, 0), (2, 0), (2, 2), (0, 0))}, "repeats the first"),
        ({"outline": ((0, 0), (2, 0), (1, 0), (1, 2))}, "crosses or touches itself"),
        ({"outline": ((0, 0), (2, 0), (2, math.nan))}, "must be a number"),
        ({"cell": 1.6}, "only 9.4 cells"),
        ({"cell": 1e-4}, "too many"),
        ({"cell": 0.0}, "cell size"),
        ({"transmissivity": 0.0}, "transmissivity must be above 0"),
        ({"leak_house": -1e-6}, "leakage of the slab to the house"),
        ({"edge_house": (1.0, 2.0)}, "one for each of the 4"),
        ({"edge_house": -1.0}, "conductance of an edge to the house"),
        ({"edge_house": math.inf, "edge_outdoors": math.inf}, "at once"),
        ({"leak_house": 0.0}, "air from nowhere"),
        ({"zones": (LayerZone(((7, 0), (9, 0), (9, 2))),)}, "zone 1 lies outside"),
        ({"zones": (LayerZone(CROSSED),)}, "outline of zone 1 crosses"),
        ({"zones": (LayerZone(ROOM, 0.0),)}, "transmissivity of zone 1"),
        ({"zones": (LayerZone(ROOM, 1.0, -1.0),)}, "leakage of zone 1"),
        ({"footings": (LayerWall(((0, 0),)),)}, "footing 1 needs at least 2"),
        ({"footings": (LayerWall(((3, 0), (3, 4)), 1.2),)}, "opening of footing 1"),
        ({"footings": (LayerWall(((3, 0), (3, 4)), 0.5, 0.0),)}, "width of footing 1"),
        ({"footings": (LayerWall(((2.1, 0), (2.1, 4))),)}, "pit of suction point 1 lies on footing 1"),
    ],
)
def test_senseless_slabs_are_refused(change: dict[str, object], complaint: str) -> None:
    slab = replace(Layer(ROOM, FILL, 1e-6), **change)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match=complaint):
        vacuum_field(slab, [(2.0, 2.0)], 0.1)


def test_senseless_points_are_refused(mixed: VacuumField) -> None:
    slab = Layer(ROOM, FILL, 1e-6)
    with pytest.raises(ValueError, match="suction point 2 lies outside"):
        vacuum_field(slab, [(2.0, 2.0), (7.0, 2.0)], 0.1)
    with pytest.raises(ValueError, match="points 1 and 2 overlap"):
        vacuum_field(slab, [(2.0, 2.0), (2.1, 2.0)], 0.1)
    with pytest.raises(ValueError, match="radius of a pit"):
        vacuum_field(slab, [(2.0, 2.0)], 0.0)
    with pytest.raises(ValueError, match="two coordinates"):
        vacuum_field(slab, [2.0], 0.1)
    with pytest.raises(ValueError, match="place 1 lies outside"):
        mixed.sample([(8.0, 7.0)])
    with pytest.raises(ValueError, match="each of the 3 suction points"):
        inertial_field(mixed, 0.0, [0.01])
    walled = Layer(ROOM, FILL, edge_house=(1e-6, 0, 0, 0), footings=(LayerWall(((0, 2.0), (6, 2.0))),))
    with pytest.raises(ValueError, match="from nowhere"):
        vacuum_field(walled, [(2.0, 1.0)], 0.1)
    with pytest.raises(ValueError, match="permeability"):
        bed_transmissivity(0.0, 0.1, 1.8e-5)
