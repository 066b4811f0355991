"""The floor changed from above: what moves along, what is kept, and what the records refuse."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbench.design import Design
from workbench.design.edit import add_suction_point, rename_point
from workbench.design.plan_edit import (
    OUTLINE,
    add_footing,
    add_hole,
    add_point,
    add_zone,
    draw_outline,
    insert_corner,
    lay_picture,
    length,
    move_corner,
    move_line,
    place,
    remove_corner,
    remove_part,
    scaled_picture,
    set_edge,
    set_side_length,
    sides,
    stand,
    start_rectangle,
    stretched,
)
from workbench.design.record import with_value
from workbench.design.slab import Edge, HoleReading, PlanPicture, Position
from workbench.files.scenes import load_scene

POINT = ("intake", "source")


def bare() -> Design:
    """A job without a floor, its one suction point and no holes placed anywhere."""
    design = with_value(load_scene("studio"), ("slab",), None)
    return stand(with_value(design, ("holes",), ()), POINT, None)


def rectangle() -> Design:
    return start_rectangle(bare(), 8.0, 6.0)


def outline(design: Design) -> list[tuple[float, float]]:
    assert design.slab is not None
    return [(corner.x, corner.y) for corner in design.slab.outline]


def ell() -> Design:
    return draw_outline(bare(), tuple(place(*at) for at in ((0, 0), (9, 0), (9, 4), (6, 4), (6, 7), (0, 7))))


def test_a_rectangle_runs_anticlockwise_from_the_origin() -> None:
    assert outline(rectangle()) == [(0, 0), (8, 0), (8, 6), (0, 6)]
    with pytest.raises(ValueError, match="greater than 0"):
        start_rectangle(bare(), 0.0, 6.0)


def test_a_longer_side_of_a_rectangle_takes_the_opposite_one_along() -> None:
    assert outline(set_side_length(rectangle(), OUTLINE, 0, 9.5)) == [(0, 0), (9.5, 0), (9.5, 6), (0, 6)]
    assert outline(set_side_length(rectangle(), OUTLINE, 3, 5.0)) == [(0, 1), (8, 1), (8, 6), (0, 6)]


def test_square_corners_stay_square_up_to_the_next_side_that_runs_along() -> None:
    # the step of the floor moves up with the side before it, the rest stays
    assert outline(set_side_length(ell(), OUTLINE, 1, 5.0)) == [(0, 0), (9, 0), (9, 5), (6, 5), (6, 7), (0, 7)]


def test_where_no_side_runs_along_only_the_end_moves() -> None:
    triangle = (place(0, 0), place(4, 0), place(0, 3))
    assert stretched(triangle, 0, 5.0, closed=True) == (place(0, 0), place(5, 0), place(0, 3))


@given(
    st.lists(st.tuples(st.integers(1, 30), st.integers(1, 30)), min_size=2, max_size=5),
    st.integers(0, 30),
    st.floats(0.5, 40.0),
)
def test_a_side_gets_the_length_typed_and_no_corner_of_a_stair_loses_its_square(
    steps: list[tuple[int, int]], which: int, wanted: float
) -> None:
    x = y = 0.0
    corners = [place(0, 0)]
    for east, north in steps:
        x, y = x + east, y + north
        corners += [place(x, y - north), place(x, y)]
    corners.append(place(0, y))
    side = which % len(corners)
    made = stretched(tuple(corners), side, wanted, closed=True)
    a, b = sides(made, closed=True)[side]
    assert length(a, b) == pytest.approx(wanted, abs=2e-6)
    for a, b in sides(made, closed=True):
        assert min(abs(a.x - b.x), abs(a.y - b.y)) < 1e-6


def test_the_rest_of_a_footing_goes_along_with_its_side() -> None:
    line = (place(1, 1), place(3, 1), place(3, 4))
    assert stretched(line, 0, 3.0, closed=False) == (place(1, 1), place(4, 1), place(4, 4))


def test_a_new_corner_halves_its_side_and_both_halves_keep_the_edge() -> None:
    joint = Edge(kind="joint", joint_width=0.002)
    made = insert_corner(set_edge(rectangle(), 1, joint), OUTLINE, 1, place(8, 2))
    assert made.slab is not None
    assert outline(made) == [(0, 0), (8, 0), (8, 2), (8, 6), (0, 6)]
    assert [edge.kind for edge in made.slab.edges] == ["sealed", "joint", "joint", "sealed", "sealed"]
    assert made.slab.edges[1] == made.slab.edges[2] == joint
    # taking it out again brings the floor back
    assert remove_corner(made, OUTLINE, 2) == set_edge(rectangle(), 1, joint)


def test_an_outline_keeps_three_corners_and_a_footing_two_ends() -> None:
    triangle = remove_corner(rectangle(), OUTLINE, 2)
    with pytest.raises(ValueError, match="three corners"):
        remove_corner(triangle, OUTLINE, 0)
    footed = add_footing(rectangle(), (place(4, 1), place(4, 5)))
    with pytest.raises(ValueError, match="two ends"):
        remove_corner(footed, ("slab", "footings", 0, "line"), 0)


def test_an_outline_drawn_anew_keeps_the_fill_but_not_the_edges_of_other_sides() -> None:
    sandy = with_value(set_edge(rectangle(), 0, Edge(kind="open")), ("slab", "fill"), "coarse sand")
    made = draw_outline(sandy, (place(0, 0), place(5, 0), place(5, 5)))
    assert made.slab is not None
    assert (made.slab.fill, made.slab.edges) == ("coarse sand", ())


def test_an_outline_that_crosses_itself_is_refused() -> None:
    with pytest.raises(ValueError, match="crosses or touches itself"):
        move_corner(rectangle(), OUTLINE, 0, place(4, 8))


def test_a_corner_may_not_leave_a_hole_outside() -> None:
    design = add_hole(rectangle(), place(7.5, 5.5))
    with pytest.raises(ValueError, match="the hole 'A' lies outside the floor"):
        move_corner(design, OUTLINE, 2, place(5, 4))
    with pytest.raises(ValueError, match="outside the floor"):
        add_hole(rectangle(), place(9, 1))


def test_zones_and_footings_get_names_of_their_own_and_go_again() -> None:
    square = (place(1, 1), place(2, 1), place(2, 2), place(1, 2))
    design = add_zone(add_zone(rectangle(), square), tuple(place(p.x + 2, p.y) for p in square))
    assert design.slab is not None
    assert [zone.name for zone in design.slab.zones] == ["Zone", "Zone 2"]
    moved = move_line(design, ("slab", "zones", 1, "outline"), 0.5, -0.25)
    assert moved.slab is not None
    assert moved.slab.zones[1].outline[0] == place(3.5, 0.75)
    left = remove_part(design, ("slab", "zones", 0))
    assert left.slab is not None
    assert [zone.name for zone in left.slab.zones] == ["Zone 2"]


def test_a_pit_may_not_lie_on_a_footing() -> None:
    design = add_footing(rectangle(), (place(4, 0.5), place(4, 5.5)))
    with pytest.raises(ValueError, match="lies on the footing 'Footing'"):
        stand(design, POINT, place(4.05, 3))
    assert stand(design, POINT, place(2, 3)).slab == design.slab


def test_a_new_point_is_teed_into_the_leg_of_the_nearest_and_stands_where_it_was_put() -> None:
    design = stand(rectangle(), POINT, place(1, 1))
    two = add_point(design, place(6, 5))
    points = [point for _, point in two.suction_points()]
    assert [point.position for point in points] == [place(1, 1), place(6, 5)]
    assert points[1].pit_volume == points[0].pit_volume
    three = add_point(two, place(7, 4))
    (_, first), *_ = three.suction_points()
    assert first == points[0]
    with pytest.raises(ValueError, match="overlap"):
        add_point(design, place(1.05, 1))


def test_holes_take_the_next_free_letter() -> None:
    design = add_hole(add_hole(add_hole(rectangle(), place(1, 1)), place(2, 1)), None)
    assert [hole.name for hole in design.holes] == ["A", "B", "C"]
    design = remove_part(design, ("holes", 1))
    assert [hole.name for hole in add_hole(design, place(3, 1)).holes] == ["A", "C", "B"]


def test_readings_follow_the_point_they_were_drawn_on_to_its_new_name() -> None:
    design = add_hole(rectangle(), place(1, 1))
    (_, point), *_ = design.suction_points()
    reading = HoleReading(point=point.name, applied=200.0, suction=5.0)
    design = with_value(design, ("holes", 0, "readings"), (reading,))
    renamed = rename_point(design, POINT, "Under the stairs")
    assert renamed.holes[0].readings[0].point == "Under the stairs"
    assert rename_point(renamed, POINT, point.name) == design


def test_what_cannot_go_says_why() -> None:
    with pytest.raises(ValueError, match="at least one suction point"):
        remove_part(rectangle(), POINT)
    with pytest.raises(ValueError, match="one of its corners"):
        remove_part(rectangle(), ("slab", "edges", 0))
    assert remove_part(rectangle(), ("slab",)) == bare()


def test_a_point_added_elsewhere_waits_for_its_place() -> None:
    design = stand(rectangle(), POINT, place(1, 1))
    two = add_suction_point(design, ("intake",))
    assert [point.position for _, point in two.suction_points()] == [place(1, 1), None]


def test_a_picture_is_scaled_about_the_first_place_clicked() -> None:
    picture = PlanPicture(path="plan.png", corner=place(0, 0), metres_per_pixel=0.02)
    one, other = place(1, 1), place(4, 5)
    made = scaled_picture(picture, one, other, 10.0)
    # 5 m on the sheet are to be 10
    assert made.metres_per_pixel == pytest.approx(0.04)

    def pixel(of: PlanPicture, at: Position) -> tuple[float, float]:
        return (at.x - of.corner.x) / of.metres_per_pixel, (at.y - of.corner.y) / of.metres_per_pixel

    assert pixel(made, one) == pytest.approx(pixel(picture, one))
    far = place(one.x + 2 * (other.x - one.x), one.y + 2 * (other.y - one.y))
    assert pixel(made, far) == pytest.approx(pixel(picture, other))
    assert math.isclose(length(one, far), 10.0)
    with pytest.raises(ValueError, match="lie apart"):
        scaled_picture(picture, one, one, 3.0)
    laid = lay_picture(rectangle(), made)
    assert laid.slab is not None
    assert laid.slab.picture == made
    assert remove_part(laid, ("slab", "picture")) == rectangle()
    with pytest.raises(ValueError, match="no floor is drawn"):
        lay_picture(bare(), made)
