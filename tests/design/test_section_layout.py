"""The geometry of the section, without any window."""

from __future__ import annotations

import math
from itertools import combinations, pairwise

import pytest

from tests.gui.section_designs import PIPE, WIDE, any_tree, one_point, two_points
from workbench.design import Design, Run
from workbench.design.edit import add_suction_point
from workbench.design.record import value_at, with_value
from workbench.design.section_layout import FAN, HOUSE, Layout, PartShape, Point, along, lay_out, order_of_air

TREES = range(120)


def run_shape(layout: Layout, name: str, design: Design) -> PartShape:
    address = next(address for address, run in design.runs() if run.name == name)
    shape = layout.at(address)
    assert shape is not None
    return shape


def climb(shape: PartShape) -> float:
    return shape.points[-1][1] - max(shape.points[0][1], 0.0)


def level(shape: PartShape) -> float:
    return sum(abs(b[0] - a[0]) for a, b in pairwise(shape.points))


def crosses(p: Point, q: Point, a: Point, b: Point) -> bool:
    def turn(o: Point, u: Point, v: Point) -> float:
        return (u[0] - o[0]) * (v[1] - o[1]) - (u[1] - o[1]) * (v[0] - o[0])

    return turn(p, q, a) * turn(p, q, b) < -1e-9 and turn(a, b, p) * turn(a, b, q) < -1e-9


def off_segment(p: Point, a: Point, b: Point) -> float:
    square = (b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2
    t = ((p[0] - a[0]) * (b[0] - a[0]) + (p[1] - a[1]) * (b[1] - a[1])) / square if square else 0.0
    t = min(max(t, 0.0), 1.0)
    return math.dist(p, (a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])))


def test_everything_that_is_entered_is_drawn_once_at_its_address() -> None:
    design = two_points()
    layout = lay_out(design)
    assert {s.address for s in layout.of("pit")} == {a for a, _ in design.suction_points()}
    assert [s.address for s in layout.of("run")].count(("intake", "runs", 0)) == 1
    assert {s.address for s in layout.of("run")} == {a for a, _ in design.runs()}
    assert {s.address for s in layout.of("junction")} == {a for a, _ in design.junctions()}
    fittings = {(*a, "fittings", i) for a, run in design.runs() for i in range(len(run.fittings))}
    assert {s.address for s in layout.of("fitting")} == fittings
    assert [s.address for s in layout.of("fan", "house")] == [HOUSE, FAN]
    assert [s.address for s in layout.of("outlet")] == [("discharge", 0)]


def test_the_order_is_that_of_the_air() -> None:
    assert order_of_air(two_points()) == (
        ("intake", "source", "straight", "source"),
        ("intake", "source", "straight", "runs", 0),
        ("intake", "source", "side", "source"),
        ("intake", "source", "side", "runs", 0),
        ("intake", "source"),
        ("intake", "runs", 0),
        FAN,
        ("discharge", 0),
        HOUSE,
    )


def test_heights_follow_the_rises() -> None:
    design = one_point()
    layout = lay_out(design)
    studio = run_shape(layout, "Under the bench", design)
    assert climb(studio) == pytest.approx(1.0)
    # the discharge ends 1.0 + 6.2 + 2.2 m above the slab
    assert run_shape(layout, "Through the roof", design).points[-1][1] == pytest.approx(9.4)
    assert layout.frame.floors == (2.7,)
    assert layout.frame.ridge == pytest.approx(2 * 2.7 + 2.0)


def test_a_longer_level_share_is_drawn_longer_and_an_upright_run_upright() -> None:
    design = one_point()
    before = lay_out(design)
    longer = with_value(design, ("intake", "runs", 0, "length"), 9.0)
    after = lay_out(longer)
    share = [
        level(run_shape(x, "Under the bench", design)) / level(run_shape(x, "Riser", design)) for x in (before, after)
    ]
    assert share[1] > share[0] > 1.0
    assert level(run_shape(before, "Through the roof", design)) == 0.0


def test_pits_are_true_to_their_volume() -> None:
    """A half ball of eight times the volume is twice as wide (V = 2/3 pi r^3)."""
    design = two_points()
    big = with_value(design, ("intake", "source", "side", "source", "pit_volume"), 8 * 0.028)
    sizes = {shape.address: shape.size for shape in lay_out(big).of("pit")}
    small, large = sizes["intake", "source", "straight", "source"], sizes["intake", "source", "side", "source"]
    assert large / small == pytest.approx(2.0)


def test_bores_are_true_to_each_other() -> None:
    assert WIDE.inside_diameter == 2 * PIPE.inside_diameter
    design = with_value(one_point(), ("intake", "runs", 1, "pipe"), WIDE)
    layout = lay_out(design)
    wide, narrow = run_shape(layout, "Riser", design), run_shape(layout, "Under the bench", design)
    assert wide.size / narrow.size == pytest.approx(2.0)


def test_a_fan_between_indoors_and_a_pipe_through_the_roof_hangs_under_the_roof() -> None:
    layout = lay_out(one_point())
    (fan,) = layout.of("fan")
    x, y = fan.points[0]
    assert layout.frame.eaves < y < layout.frame.roof(x)
    (outlet,) = layout.of("outlet")
    assert outlet.points[0][1] > layout.frame.roof(outlet.points[0][0])


def test_a_fan_whose_discharge_starts_outdoors_at_the_wall_hangs_outside() -> None:
    design = one_point()
    low = design.model_copy(update={"intake": design.intake.model_copy(update={"runs": design.intake.runs[:1]})})
    layout = lay_out(low)
    (fan,) = layout.of("fan")
    assert fan.points[0][0] > layout.frame.right
    (outlet,) = layout.of("outlet")
    assert outlet.points[0][0] > layout.frame.right
    assert outlet.points[0][1] > fan.points[0][1]


def test_a_discharge_that_ends_low_indoors_leaves_through_the_wall() -> None:
    design = one_point()
    flat = Run(name="Out", pipe=PIPE, length=1.0)
    low = design.model_copy(
        update={"intake": design.intake.model_copy(update={"runs": design.intake.runs[:1]}), "discharge": (flat,)}
    )
    layout = lay_out(low)
    (outlet,) = layout.of("outlet")
    assert outlet.points[0][0] > layout.frame.right


def test_fittings_stand_on_their_run_and_bends_at_its_corners() -> None:
    design = one_point()
    layout = lay_out(design)
    for shape in layout.of("fitting"):
        line = layout.at(shape.address[:-2])
        assert line is not None
        assert min(off_segment(shape.points[0], a, b) for a, b in pairwise(line.points)) < 1e-9
    bend = layout.at(("intake", "runs", 0, "fittings", 1))
    studio = layout.at(("intake", "runs", 0))
    assert bend is not None
    assert studio is not None
    assert bend.points[0] == pytest.approx(studio.points[1])
    assert bend.words == "×2"


@pytest.mark.parametrize("seed", TREES)
def test_any_tree_is_drawn_without_crossings(seed: int) -> None:
    design = any_tree(seed)
    layout = lay_out(design)
    runs = list(layout.of("run"))
    assert len(runs) == len(list(design.runs()))
    pieces = [(shape.address, a, b) for shape in runs for a, b in pairwise(shape.points)]
    for (one, p, q), (other, a, b) in combinations(pieces, 2):
        assert not crosses(p, q, a, b), (one, other)
        if one != other and min(math.dist(p, q), math.dist(a, b)) > 1e-6:
            middles = (off_segment(along((p, q), 0.5)[0], a, b), off_segment(along((a, b), 0.5)[0], p, q))
            assert min(middles) > 1e-6, (one, other)


@pytest.mark.parametrize("seed", TREES)
def test_any_tree_stays_within_its_sheet_and_its_pits_apart(seed: int) -> None:
    layout = lay_out(any_tree(seed))
    left, bottom, right, top = layout.bounds
    for shape in layout.shapes:
        for x, y in shape.points[: 1 if shape.kind in ("fitting", "outlet") else None]:
            assert left <= x <= right
            assert bottom <= y <= top
    pits = sorted((shape.points[0][0], shape.size) for shape in layout.of("pit"))
    for (x, r), (next_x, next_r) in pairwise(pits):
        assert x + r < next_x - next_r


@pytest.mark.parametrize("seed", TREES)
def test_runs_join_end_to_end(seed: int) -> None:
    design = any_tree(seed)
    layout = lay_out(design)
    for address, run in design.runs():
        shape = layout.at(address)
        following = (*address[:-1], int(address[-1]) + 1)
        after = layout.at(following)
        assert shape is not None
        assert value_at(design, address) is run
        if after is not None:
            assert shape.points[-1] == pytest.approx(after.points[0])
    for address, _ in design.junctions():
        joint = layout.at(address)
        assert joint is not None
        for way in ("straight", "side"):
            last = len(value_at(design, (*address, way)).runs) - 1
            end = layout.at((*address, way, "runs", last))
            assert end is not None
            assert end.points[-1] == pytest.approx(joint.points[0])


def test_the_same_design_is_always_drawn_the_same() -> None:
    design = any_tree(5)
    assert lay_out(design, 1.2) == lay_out(design.model_copy(), 1.2)
    wider = lay_out(design, 2.0)
    assert wider.bounds[2] > lay_out(design, 1.2).bounds[2]


def test_six_points_added_by_hand_are_all_drawn() -> None:
    design = one_point()
    for _ in range(5):
        design = add_suction_point(design, ("intake",))
    layout = lay_out(design)
    assert len(list(layout.of("pit"))) == 6
    assert len(list(layout.of("junction"))) == 5


def test_figures_that_outgrow_the_house_do_not_outgrow_the_sheet() -> None:
    design = with_value(
        one_point(), ("discharge", 0), one_point().discharge[0].model_copy(update={"length": 90.0, "rise": 90.0})
    )
    layout = lay_out(design)
    assert layout.bounds[3] < 3.0 * layout.frame.ridge
