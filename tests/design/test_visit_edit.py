"""Visits change with their design: added, removed, and following the parts that were read."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from pydantic import ValidationError

from tests.visited import story
from workbench.design import Design
from workbench.design.record import Gone, with_value
from workbench.design.visit_edit import (
    add_visit,
    by_date,
    followed,
    remove_visit,
    visit_name,
    with_instrument,
    with_state,
    with_suction,
)
from workbench.design.visits import SoundReading
from workbench.files.scenes import load_scene

STORY = story(load_scene("studio"))


def test_a_further_visit_of_a_kind_and_day_comes_after_the_others() -> None:
    design = add_visit(add_visit(STORY, "call-out", "2028-03-09"), "yearly check", "2028-03-09")
    assert [(v.kind, v.order) for v in design.visits[3:]] == [("call-out", 2), ("yearly check", 1)]
    assert visit_name(design.visits[3]) == "call-out of 2028-03-09 (2)"
    assert remove_visit(design, 3).visits == (*STORY.visits, design.visits[4])
    with pytest.raises(Gone):
        remove_visit(STORY, 3)


def test_visits_are_told_by_their_days_wherever_they_stand() -> None:
    turned = with_value(STORY, ("visits",), STORY.visits[::-1])
    assert by_date(turned) == (2, 1, 0)
    assert by_date(STORY) == (0, 1, 2)


def test_a_suction_is_entered_changed_and_taken_away_with_its_instrument() -> None:
    design = with_suction(STORY, 2, "holes", "Wheel", 4.0)
    assert [(h.hole, h.suction) for h in design.visits[2].holes] == [("Show room", 2.3), ("Wheel", 4.0)]
    design = with_instrument(design, 2, "holes", "accuracy", 0.1)
    assert {h.accuracy for h in design.visits[2].holes} == {0.1}
    # one instrument for all: the next hole is read with it as well
    design = with_suction(design, 2, "holes", "Store", 3.0)
    assert design.visits[2].holes[-1].accuracy == 0.1
    design = with_suction(design, 2, "holes", "Show room", 2.0)
    assert [h.hole for h in design.visits[2].holes] == ["Show room", "Wheel", "Store"]
    design = with_suction(design, 2, "holes", "Show room", None)
    assert [h.hole for h in design.visits[2].holes] == ["Wheel", "Store"]
    with pytest.raises(ValidationError):
        with_suction(STORY, 2, "holes", "Cellar", 3.0)


def test_a_fan_that_is_off_has_no_speed() -> None:
    design = with_value(STORY, ("visits", 2, "power"), None)
    assert design.visits[2].conditions.speed == 0.72
    assert with_state(design, 2, {"fan": "off"}).visits[2].conditions.speed is None


def renamed(*address: str | int) -> Callable[[Design], Design]:
    return lambda design: with_value(design, (*address, "name"), "Anew")


def test_what_was_read_follows_a_part_that_is_renamed() -> None:
    heard = with_value(STORY, ("visits", 2, "sound"), SoundReading(place="Apartment bed", level=22.0))
    run = heard.intake.runs[0].name
    tapped = with_value(heard, ("visits", 2, "gauge", "run"), run)
    for address, what in (
        (("holes", 4), lambda d: d.visits[2].holes[0].hole),
        (("house", "listeners", 0), lambda d: d.visits[2].sound.place),
        (("intake", "runs", 0), lambda d: d.visits[2].gauge.run),
    ):
        with pytest.raises(ValidationError):
            renamed(*address)(tapped)
        design = followed(tapped, renamed(*address))
        assert what(design) == "Anew"
        assert design.visits[2].power == tapped.visits[2].power


def test_what_was_read_at_a_part_that_is_gone_goes_with_it_but_a_tap_does_not() -> None:
    less = followed(STORY, lambda design: with_value(design, ("holes",), design.holes[:-1]))
    assert less.visits[2].holes == ()
    assert [h.hole for h in less.visits[0].holes] == ["Wheel", "Glaze sink", "Store", "Kiln door"]
    assert less.visits[0].gauge == STORY.visits[0].gauge
    first = STORY.intake.runs[0].name
    tapped = with_value(STORY, ("visits", 2, "gauge", "run"), first)
    with pytest.raises(ValidationError):
        followed(tapped, lambda design: with_value(design, ("intake", "runs"), design.intake.runs[1:]))


def test_an_edit_of_a_visit_itself_is_not_followed() -> None:
    with pytest.raises(Gone):
        followed(STORY, lambda design: with_suction(design, 2, "holes", "Cellar", 3.0))
