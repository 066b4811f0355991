"""Visits of a design: what is kept, what is refused and where, and files of before there were any."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from pydantic import ValidationError

from workbench.design import Design
from workbench.design.capacity import CAPACITIES
from workbench.design.edit import divide_run, remove_suction_point, rename_point
from workbench.design.record import Address, value_at, with_value
from workbench.design.visit_edit import correct_by, followed, remove_visit
from workbench.design.visits import Visit, in_order
from workbench.files.project import ProjectError, load_project, project_schema, project_text, read_project
from workbench.files.scenes import load_scene, scene_names

DATA = Path(__file__).parents[1] / "files" / "data"
WHOLE: dict[str, Any] = {
    "kind": "call-out",
    "date": "2026-11-30",
    "note": "after a storm",
    "conditions": {"fan": "running", "speed": 0.72, "exhausts": "on", "outdoor_temperature": 268.15},
    "gauge": {"pressure": 80.0, "run": "Kiln corner riser"},
    "second_gauge": {"pressure": 79.0},
    "flow": {"flow": 0.018, "method": "hot wire", "factor": 1.05},
    "power": {"power": 15.0},
    "past_fan": {"pressure": 12.0},
    "room": {"draw_down": 3.0},
    "radon": {"date": "2026-12-03", "result": "90 Bq/m³"},
}


def studio_text(*visits: dict[str, Any], **job: str) -> str:
    project = json.loads(project_text(load_scene("studio")))
    design = load_scene("studio")
    named = json.dumps(list(visits)).replace("Kiln corner riser", design.intake.runs[0].name)
    project["design"]["visits"] = json.loads(named)
    project["design"]["job"].update(job)
    return json.dumps(project)


def faults(*visits: dict[str, Any], **job: str) -> dict[str, str]:
    with pytest.raises(ProjectError) as refused:
        read_project(studio_text(*visits, **job))
    return {fault.pointer.removeprefix("/design/visits/"): fault.text for fault in refused.value.faults}


def test_a_visit_is_written_and_read_back() -> None:
    holes = [{"hole": hole.name, "suction": 4.0 - h} for h, hole in enumerate(load_scene("studio").holes)]
    whole = WHOLE | {
        "holes": holes,
        "risers": [{"point": "Kiln corner", "suction": 70.0}],
        "sound": {"place": "Apartment bed", "level": 24.0},
    }
    design = read_project(studio_text(whole))
    again = read_project(project_text(design))
    assert again == design
    visit = again.visits[0]
    assert visit.flow is not None
    assert visit.flow.true_flow(1.0) == pytest.approx(0.0189)
    assert [each.suction for each in visit.holes] == [each["suction"] for each in holes]
    assert visit.entered
    assert not Visit(date="2026-11-30").entered


@pytest.mark.parametrize("name", ["v1.json", "v2.json", *(f"v1-{scene}.json" for scene in scene_names())])
def test_a_file_of_before_has_no_visits(name: str) -> None:
    assert load_project(DATA / name).visits == ()


def test_the_schema_tells_of_visits() -> None:
    fields = project_schema()["$defs"]
    assert fields["Design"]["properties"]["visits"]["maxItems"] == CAPACITIES["visits"].most == 200
    assert set(fields["Visit"]["properties"]) == set(Visit.model_fields)
    assert fields["Visit"]["required"] == ["date"]


def test_every_fault_of_a_visit_has_its_place() -> None:
    found = faults(
        {"date": "2026-11-30", "holes": [{"hole": "Nowhere", "suction": 1.0}], "gauge": {"pressure": 9.0, "run": "?"}},
        {
            "date": "2026-11-31",
            "risers": [{"point": "Kiln corner", "suction": 1.0}, {"point": "Kiln corner", "suction": 2.0}],
            "conditions": {"fan": "off", "speed": 0.5},
            "power": {"power": 40.0},
            "second_gauge": {"pressure": 9.0},
        },
        {"date": "2026-12-01", "flow": {"flow": -1.0}, "sound": {"place": "The moon", "level": 20.0}},
    )
    assert set(found) == {
        "0/holes/0/hole",
        "0/gauge/run",
        "1/date",
        "1/risers/1/point",
        "1/conditions/speed",
        "1/power/power",
        "1/second_gauge",
        "2/flow/flow",
        "2/sound/place",
    }
    assert "no test hole called 'Nowhere'" in found["0/holes/0/hole"]
    assert "not a date" in found["1/date"]


def test_a_gauge_stands_on_the_side_of_the_fan_that_it_says() -> None:
    design = load_scene("studio")
    run = design.discharge[0].name
    wrong = faults({"date": "2026-11-30", "gauge": {"pressure": 9.0, "run": run}})
    assert wrong == {"0/gauge/side": f"the run '{run}' is not on the suction side of the fan"}
    right = {"date": "2026-11-30", "gauge": {"pressure": 9.0, "run": run, "side": "pressure"}}
    assert read_project(studio_text(right)).visits[0].gauge is not None


@pytest.mark.parametrize(
    ("second", "refused"),
    [
        ({"kind": "yearly check"}, True),
        ({"kind": "call-out"}, False),
        ({"kind": "yearly check", "order": 2}, False),
        ({"kind": "yearly check", "date": "2026-12-01"}, False),
    ],
)
def test_two_on_one_day_are_told_apart(second: dict[str, Any], refused: bool) -> None:
    first = {"date": "2026-11-30"}
    if refused:
        assert set(faults(first, first | second)) == {"1/order"}
    else:
        assert len(read_project(studio_text(first, first | second)).visits) == 2


def test_no_visit_but_the_diagnostic_one_lies_before_the_job() -> None:
    early = {"date": "2026-11-29"}
    found = faults(early, date="2026-11-30")
    assert found == {"0/date": "the visit of 2026-11-29 lies before the job's date, 2026-11-30"}
    for fine, date in ((early | {"kind": "diagnostic"}, "2026-11-30"), (early, ""), (early, "late in the year")):
        assert len(read_project(studio_text(fine, date=date)).visits) == 1


def test_too_many_are_refused() -> None:
    most = CAPACITIES["visits"].most
    whole = json.loads(studio_text())
    whole["design"]["visits"] = [{"date": f"2{i:03}-11-30"} for i in range(most + 1)]
    with pytest.raises(ProjectError) as refused:
        read_project(json.dumps(whole))
    assert [(fault.pointer, fault.limit) for fault in refused.value.faults] == [("/design/visits", "visits")]


def test_visits_are_told_by_day_and_order() -> None:
    days = [("2026-12-01", 1), ("2026-11-30", 2), ("2026-11-30", 1)]
    visits = [Visit(date=date, order=order) for date, order in days]
    assert [(v.date, v.order) for v in in_order(visits)] == sorted(days)


def test_readings_follow_their_suction_point() -> None:
    design = load_scene("reading-room")
    (address, point), (other, second) = design.suction_points()
    risers = [{"point": each.name, "suction": 50.0} for each in (point, second)]
    design = with_value(design, ("visits",), ({"date": "2026-11-30", "risers": risers},))
    renamed = rename_point(design, address, "By the stove")
    assert [r.point for r in renamed.visits[0].risers] == ["By the stove", second.name]
    assert [r.point for r in remove_suction_point(design, other).visits[0].risers] == [point.name]


# --- edits that visits follow -----------------------------------------------------------------------------------------

READ = {
    "date": "2026-11-30",
    "kind": "start-up",
    "conditions": {"speed": 0.7},
    "gauge": {"pressure": 118.0, "run": "Riser"},
    "holes": [{"hole": "Store", "suction": 8.0}, {"hole": "Wheel", "suction": 12.0}],
    "sound": {"place": "Bed", "level": 40.0},
}


def read_studio() -> Design:
    """The studio with a start-up that names a run, holes and a noise location, and that its model is corrected by."""
    design = load_scene("studio")
    run = next(run.name for address, run in design.runs() if address[0] == "intake")
    place = design.house.listeners[0].name
    names = {"gauge": READ["gauge"] | {"run": run}, "sound": READ["sound"] | {"place": place}}  # type: ignore[operator]
    return correct_by(with_value(design, ("visits",), (READ | names,)), 0)


def rename_part(design: Design, part: Address, name: str) -> Design:
    """As a form does it, the visits following."""
    if part[-1] == "source":
        return followed(design, lambda d: rename_point(d, part, name))
    return followed(design, lambda d: with_value(d, (*part, "name"), name))


@pytest.mark.parametrize("sort", ["run", "hole", "place", "point"])
def test_a_new_name_is_carried_along_in_visits(sort: str) -> None:
    design = read_studio()
    run = next(address for address, _ in design.runs() if address[0] == "intake")
    part = {"run": run, "hole": ("holes", 2), "place": ("house", "listeners", 0), "point": ("intake", "source")}[sort]
    other = rename_part(design, part, " Another ")
    visit = other.visits[0]
    assert visit.gauge is not None
    assert visit.sound is not None
    told = {"run": visit.gauge.run, "hole": visit.holes[0].hole, "place": visit.sound.place, "point": "Another"}
    assert told[sort] == "Another"
    assert value_at(other, (*part, "name")) == "Another"
    assert other.corrected_by == design.corrected_by
    # nothing else has moved, and the way back leads to where it began
    assert rename_part(other, part, value_at(design, (*part, "name"))) == design


def test_a_name_that_visits_do_not_tell_of_is_changed_alone() -> None:
    design = read_studio()
    other = rename_part(design, ("holes", 1), "Another")
    assert other.visits == design.visits
    assert other.holes[1].name == "Another"
    with pytest.raises(ValidationError, match="called 'Store'"):
        rename_part(design, ("holes", 0), "Store")


def test_a_gauge_stands_at_the_end_of_a_divided_run() -> None:
    design = read_studio()
    address, run = next((address, run) for address, run in design.runs() if address[0] == "intake")
    divided = divide_run(design, address)
    halves = value_at(divided, address[:-1])
    assert divided.visits[0].gauge is not None
    assert divided.visits[0].gauge.run == halves[int(address[-1]) + 1].name != run.name


def test_a_part_that_a_visit_tells_of_is_not_taken_away() -> None:
    design = read_studio()
    for at, kept, words in (
        (("holes",), design.holes[:2], "there is no test hole called 'Store'"),
        (("house", "listeners"), (), "there is no noise location called"),
        (("visits",), (), "which is not there"),
    ):
        with pytest.raises(ValidationError, match=words):
            with_value(design, at, kept)


def test_a_correction_stays_by_its_visit_when_that_is_dated_otherwise() -> None:
    design = read_studio()
    other = followed(design, lambda d: with_value(d, ("visits", 0, "date"), "2027-05-05"))
    assert other.visits[0].date == "2027-05-05"
    assert other.corrected_by is not None
    assert other.corrected_by.date == "2027-05-05"
    assert remove_visit(other, 0).corrected_by is None
