"""Faults said in words at their place, and doubts about points that may be misread."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from tests.jobs import floor_job, ground_only, record
from workbench.design import Design, FanPoint, FanTable
from workbench.design.doubts import doubts
from workbench.design.faults import Fault, faults_in
from workbench.design.record import Address
from workbench.files.fan_library import fan_classes


def test_place_counts_from_one() -> None:
    assert Fault(("fans", 0, "curves", 1), "is odd").place == "fans/1/curves/2"
    assert str(Fault((), "is odd")) == "the whole: is odd"


def test_the_kind_of_a_part_is_no_step_on_the_way() -> None:
    design = ground_only(record([0.0, 0.1], [100.0, 0.0]), 5000.0).model_dump()
    design["intake"]["source"]["ground"]["linear"] = -1.0
    with pytest.raises(ValidationError) as caught:
        Design.model_validate(design)
    assert [fault.address for fault in faults_in(caught.value)] == [("intake", "source", "ground", "linear")]
    assert faults_in(caught.value, at=("copy",))[0].address[0] == "copy"


@pytest.mark.parametrize(
    ("part", "sentence"),
    [
        ({"part": "chimney"}, "has a kind that is not known here: chimney"),
        ({}, "does not say of which kind it is"),
        ([], "must be an object with named fields"),
    ],
)
def test_parts_of_no_known_kind(part: object, sentence: str) -> None:
    design = ground_only(record([0.0, 0.1], [100.0, 0.0]), 5000.0).model_dump()
    design["intake"]["source"] = part
    with pytest.raises(ValidationError) as caught:
        Design.model_validate(design)
    assert [str(fault) for fault in faults_in(caught.value)] == [f"intake/source: {sentence}"]


def test_a_list_is_not_called_short_for_want_of_its_faulty_entry() -> None:
    design = ground_only(record([0.0, 0.1], [100.0, 0.0]), 5000.0).model_dump()
    design["discharge"][0]["length"] = 0.0
    with pytest.raises(ValidationError) as caught:
        Design.model_validate(design)
    assert [str(fault) for fault in faults_in(caught.value)] == ["discharge/1/length: must be greater than 0"]


def faults_with(**fields: object) -> list[tuple[Address, str]]:
    with pytest.raises(ValidationError) as caught:
        Design.model_validate(floor_job(2).model_dump() | fields)
    return [(fault.address, fault.text) for fault in faults_in(caught.value)]


def test_a_reading_drawn_on_no_suction_point_is_a_fault_in_its_place() -> None:
    holes = [hole.model_dump() for hole in floor_job(2).holes]
    reading = holes[1]["readings"][0]
    holes[1]["readings"] = [reading, reading | {"point": "P 1"}]
    [(address, sentence)] = faults_with(holes=holes)
    assert address == ("holes", 1, "readings", 1, "point")
    assert "'P 1'" in sentence
    assert f"'{holes[1]['name']}'" in sentence


def test_faults_between_parts_are_all_named_in_their_places() -> None:
    job = floor_job(2).model_dump()
    (first, _), (second, _) = floor_job(2).suction_points()
    holes = [{"name": "A", "position": {"x": 400.0, "y": 0.0}}, {"name": "A"}]
    job["intake"]["source"]["straight"]["source"]["position"] = {"x": 400.0, "y": 0.0}
    runs = [job["discharge"][0], job["discharge"][0] | {"length": 1.0}]
    found = faults_with(intake=job["intake"], holes=holes, discharge=runs, fans=job["fans"][:1] * 2, fan="Gone")
    assert [address for address, _ in found] == [
        ("discharge", 1, "name"),
        ("holes", 1, "name"),
        ("fans", 1, "name"),
        ("fan",),
        ("holes", 0, "position"),
        (*first, "position"),
    ]
    assert all(word in text for word, (_, text) in zip(("twice", "two test", "two fans", "Gone"), found, strict=False))
    close = floor_job(2).model_dump()["intake"]
    close["source"]["side"]["source"]["position"] = close["source"]["straight"]["source"]["position"]
    [(address, sentence)] = faults_with(intake=close)
    assert address == (*second, "position")
    assert "overlap" in sentence


FLOWS = [0.0, 0.01, 0.02, 0.03, 0.04, 0.05, 0.06]


def told(flow: list[float], pressure: list[float], power: list[float] | None = None) -> list[tuple[int | None, str]]:
    return [(doubt.row, doubt.text) for doubt in doubts(record(flow, pressure, power))]


def test_a_clean_curve_raises_no_doubt() -> None:
    assert told(FLOWS, [250.0, 245.0, 230.0, 200.0, 150.0, 80.0, 0.0]) == []


def test_a_misread_point_is_named_by_its_row() -> None:
    found = told(FLOWS, [250.0, 245.0, 130.0, 200.0, 150.0, 80.0, 0.0])
    assert any(row == 2 and "row 3 is out of line" in text for row, text in found)


def test_each_rise_is_named_once_from_foot_to_top() -> None:
    found = told(FLOWS, [200.0, 150.0, 95.0, 200.0, 260.0, 240.0, 0.0])
    assert [(row, text.split(";")[0]) for row, text in found if "rises" in text] == [
        (4, "the pressure rises from row 3 to row 5")
    ]


def test_ends_that_say_nothing_are_named() -> None:
    found = told([0.01, 0.02, 0.03], [100.0, 80.0, 40.0])
    assert [row for row, _ in found] == [0, 2]
    assert "starts above zero flow" in found[0][1]
    assert "ends before free delivery" in found[1][1]


def test_more_air_power_than_current_is_named() -> None:
    """Air power is flow times pressure: 0.03 m3/s at 200 Pa are 6 W, out of 8 W."""
    found = told(FLOWS, [250.0, 245.0, 230.0, 200.0, 150.0, 80.0, 0.0], [8.0] * 7)
    assert (3, "row 4: 75 % efficiency, more than a fan of this kind can reach") in found


def test_the_library_raises_doubts_only_about_its_teaching_shapes() -> None:
    assert {fan.name for fan in fan_classes() if any("rises" in doubt.text for doubt in doubts(fan))} == {
        "Axial, with a stall dip",
        "Wide wheel, rising start, electronic",
    }
    assert not [doubt for fan in fan_classes() for doubt in doubts(fan) if "power" in doubt.text]


def test_doubts_know_their_curve() -> None:
    good = FanTable(points=(FanPoint(flow=0.0, pressure=9.0), FanPoint(flow=0.1, pressure=0.0)))
    slow = FanTable(speed=0.5, points=(FanPoint(flow=0.0, pressure=2.0), FanPoint(flow=0.05, pressure=1.0)))
    fan = record([0.0, 0.1], [9.0, 0.0]).model_copy(update={"curves": (slow, good)})
    assert [(doubt.curve, doubt.row) for doubt in doubts(fan)] == [(0, 1)]
