"""Parts added and removed: the design given stays as it is, and what is undone leaves no trace."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from tests.floors import job, slab
from workbench.design import Design, Fitting, GroundClass, Junction, SuctionPoint
from workbench.design.edit import (
    add_fan,
    add_fitting,
    add_suction_point,
    choose_fan,
    divide_run,
    free_name,
    remove_fan,
    remove_fitting,
    remove_run,
    remove_suction_point,
    rename_point,
    replace_fan,
)
from workbench.design.record import value_at, with_value
from workbench.design.slab import HoleReading, Position, TestHole, Zone
from workbench.files.fan_library import fan_class
from workbench.files.scenes import load_scene, scene_names

STUDIO = load_scene()
RISER = ("intake", "runs", 1)


def test_free_names_count_up() -> None:
    assert free_name("Pit", []) == "Pit"
    assert free_name("Pit", ["Pit", "Pit 2", "Pit 4"]) == "Pit 3"
    assert free_name("Riser 2", ["Riser", "Riser 2"]) == "Riser 3"
    assert free_name("Riser 2", ["Riser"]) == "Riser 2"


def test_a_fitting_of_one_shape_is_counted_up() -> None:
    elbow = Fitting(kind="90 elbow, long-turn")
    once = add_fitting(STUDIO, RISER, elbow)
    twice = add_fitting(once, RISER, elbow)
    before = value_at(STUDIO, RISER).fittings
    assert value_at(once, RISER).fittings == (*before, elbow)
    assert value_at(twice, RISER).fittings == (*before, elbow.model_copy(update={"count": 2}))
    assert value_at(add_fitting(once, RISER, Fitting(kind="entered K", k=0.3)), RISER).fittings[-1].k == 0.3
    assert remove_fitting(once, RISER, len(before)) == STUDIO


def test_a_divided_run_is_as_long_and_climbs_as_high() -> None:
    run = value_at(STUDIO, RISER)
    halves = value_at(divide_run(STUDIO, RISER), RISER[:-1])[1:3]
    assert sum(half.length for half in halves) == pytest.approx(run.length)
    assert sum(half.rise for half in halves) == pytest.approx(run.rise)
    assert halves[0].fittings == run.fittings
    assert halves[1].fittings == ()
    assert halves[0].name != halves[1].name


def test_runs_are_removed_but_not_the_last() -> None:
    divided = divide_run(STUDIO, ("discharge", 0))
    assert value_at(remove_run(divided, ("discharge", 1)), ("discharge",)) == divided.discharge[:1]
    with pytest.raises(ValueError, match="only run"):
        remove_run(STUDIO, ("discharge", 0))


def test_a_second_point_comes_and_goes() -> None:
    two = add_suction_point(STUDIO, ("intake",))
    (_, old), (side, new) = two.suction_points()
    assert old == STUDIO.intake.source
    assert new.name == "Kiln corner 2"
    # where it stands is for the person to say: two pits cannot lie in one place
    assert new.position is None
    # its pit is like that of the first; nobody tested its ground, which starts as the class of the fill (gravel)
    assert new.ground == GroundClass(kind="clean stone, drain tile")
    same = {"name": old.name, "position": old.position, "ground": old.ground}
    assert new.model_copy(update=same) == old
    assert isinstance(two.intake.source, Junction)
    assert remove_suction_point(two, side) == STUDIO


def test_a_new_point_starts_as_the_ground_of_its_zone_and_inherits_no_test() -> None:
    # by the order of permeabilities in Nazaroff and Nero 1988 (from memory): gravel over sand over silt over clay
    corners = ((4.0, 0.0), (9.0, 0.0), (9.0, 6.0), (4.0, 6.0))
    sandy = Zone(name="Back", outline=tuple(Position(x=x, y=y) for x, y in corners), permeability_factor=1e-3)
    floor = job((), floor=slab(fill="gravel", zones=(sandy,)))
    assert isinstance(floor.intake.source, SuctionPoint)
    assert floor.intake.source.ground.basis == "resistance"

    def ground(x: float) -> GroundClass:
        *_, (_, new) = add_suction_point(floor, ("intake",), Position(x=x, y=3.0)).suction_points()
        assert isinstance(new.ground, GroundClass)
        return new.ground

    assert (ground(2.0).kind, ground(6.0).kind) == ("clean stone, drain tile", "sand and gravel")
    bare = with_value(floor, ("slab",), None)
    *_, (_, new) = add_suction_point(bare, ("intake",)).suction_points()
    assert new.ground == GroundClass()


def test_the_first_point_may_go_and_the_other_runs_straight_on() -> None:
    two = add_suction_point(STUDIO, ("intake",))
    (first, _), (_, other) = two.suction_points()
    left = remove_suction_point(two, first)
    assert left.intake.source == other
    assert [run.name for run in left.intake.runs] == ["Branch", "Riser through the cupboard"]


def drawn_on(*points: str) -> TestHole:
    return TestHole(name="Doorway", readings=tuple(HoleReading(point=p, applied=90.0, suction=5.0) for p in points))


def test_readings_go_with_their_point() -> None:
    two = add_suction_point(STUDIO, ("intake",))
    (first, old), (side, new) = two.suction_points()
    read = with_value(two, ("holes",), (drawn_on(old.name, new.name), TestHole(name="Corner")))
    for gone, kept in ((first, new), (side, old)):
        left = remove_suction_point(read, gone)
        assert [[reading.point for reading in hole.readings] for hole in left.holes] == [[kept.name], []]


def test_a_new_name_is_trimmed_in_the_readings_too() -> None:
    read = with_value(STUDIO, ("holes",), (drawn_on("Kiln corner"),))
    renamed = rename_point(read, ("intake", "source"), " Under the kiln ")
    assert renamed.holes[0].readings[0].point == "Under the kiln"
    assert rename_point(renamed, ("intake", "source"), "Kiln corner") == read


def test_the_only_point_stays() -> None:
    with pytest.raises(ValueError, match="at least one suction point"):
        remove_suction_point(STUDIO, ("intake", "source"))


def test_a_point_on_a_leg_of_one_run_divides_it() -> None:
    short = with_value(STUDIO, ("intake", "runs"), STUDIO.intake.runs[:1])
    two = add_suction_point(short, ("intake",))
    names = [run.name for _, run in two.runs()]
    assert len(set(names)) == len(names)
    assert len(list(two.suction_points())) == 2


@given(st.sampled_from(scene_names()), st.lists(st.tuples(st.sampled_from("pdfrx"), st.integers(0, 50)), max_size=8))
def test_any_row_of_edits_leaves_a_valid_design_and_the_old_one_alone(name: str, edits: list[tuple[str, int]]) -> None:
    design = load_scene(name)
    for kind, which in edits:
        before = design.model_dump()
        runs, points, legs = list(design.runs()), list(design.suction_points()), list(design.legs())
        changed = design
        if kind == "p":
            changed = add_suction_point(design, legs[which % len(legs)][0])
        elif kind == "d":
            changed = divide_run(design, runs[which % len(runs)][0])
        elif kind == "f":
            changed = add_fitting(design, runs[which % len(runs)][0], Fitting(kind="45 elbow"))
        elif kind == "r" and len(points) > 1:
            changed = remove_suction_point(design, points[which % len(points)][0])
            assert len(list(changed.suction_points())) == len(points) - 1
        elif kind == "x":
            address = runs[which % len(runs)][0]
            if len(value_at(design, address[:-1])) > 1:
                changed = remove_run(design, address)
        assert Design.model_validate(changed.model_dump()) == changed
        assert design.model_dump() == before
        design = changed


def test_fans_are_laid_over_replaced_and_taken_away() -> None:
    high = fan_class("High suction, electronic")
    more = add_fan(STUDIO, high)
    assert more.fan == high.name
    again = add_fan(more, high, choose=False)
    assert again.fans[-1].name == f"{high.name} 2"
    assert again.fan == high.name
    renamed = replace_fan(more, high.name, high.model_copy(update={"name": "Tried"}))
    assert renamed.fan == "Tried"
    assert [fan.name for fan in renamed.fans[:-1]] == [fan.name for fan in STUDIO.fans]
    assert remove_fan(renamed, "Tried").fan is None
    assert remove_fan(renamed, "Tried").fans == STUDIO.fans
    with pytest.raises(ValidationError, match="two fans"):
        replace_fan(more, high.name, high.model_copy(update={"name": STUDIO.fans[0].name}))


def test_choosing_a_fan_lifts_the_speed_to_what_it_can_be_set_to() -> None:
    assert choose_fan(STUDIO, "Small in-line, one speed").speed == 1.0
    slow = with_value(STUDIO, ("speed",), 0.1)
    assert choose_fan(slow, "Everyday in-line, electronic").speed == 0.3
    assert choose_fan(STUDIO, "Quiet low-flow, electronic").speed == STUDIO.speed
    assert choose_fan(slow, None).speed == 0.1
    with pytest.raises(ValidationError, match="not among the fans"):
        choose_fan(STUDIO, "No such fan")


def test_point_added_to_a_branch_copies_the_ground_there() -> None:
    room = load_scene("reading-room")
    three = add_suction_point(room, ("intake", "source", "side"))
    names = [point.name for _, point in three.suction_points()]
    assert names == ["Old hall", "New wing", "New wing 2"]
    assert all(isinstance(point, SuctionPoint) for _, point in three.suction_points())
