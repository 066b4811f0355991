"""How much may be held: one table, and every edge that reads it."""

from __future__ import annotations

import json
import typing
from collections.abc import Iterator

import pytest

from workbench.commands import Window, run
from workbench.design import Design
from workbench.design.capacity import CAPACITIES, beyond, limit_of
from workbench.design.record import Record
from workbench.files.project import ProjectError, project_text, read_project
from workbench.files.scenes import load_scene


def records(kind: type[Record], seen: set[type[Record]]) -> Iterator[type[Record]]:
    if kind in seen:
        return
    seen.add(kind)
    yield kind
    for facts in kind.model_fields.values():
        for each in parts(facts.annotation):
            if isinstance(each, type) and issubclass(each, Record):
                yield from records(each, seen)


def parts(annotation: object) -> Iterator[object]:
    yield annotation
    for each in typing.get_args(annotation):
        yield from parts(each)


def test_every_list_of_a_design_has_a_limit_that_the_table_names() -> None:
    found = set()
    for kind in records(Design, set()):
        for name, facts in kind.model_fields.items():
            if typing.get_origin(facts.annotation) is not tuple or name == "sound_bands":
                continue
            most = next((each.max_length for each in facts.metadata if hasattr(each, "max_length")), None)
            assert most is not None, f"{kind.__name__}.{name}"
            assert limit_of(name, most), f"{kind.__name__}.{name}"
            found.add(limit_of(name, most))
    assert {"holes", "readings", "steps", "fan_points", "corners"} <= found


def test_a_field_and_its_number_name_one_limit_only() -> None:
    named = [(field, each.most) for each in CAPACITIES.values() for field in each.fields]
    assert len(set(named)) == len(named)


def test_too_many_are_refused_by_a_code_with_its_figure() -> None:
    project = json.loads(project_text(load_scene()))
    first = project["design"]["holes"][0]
    project["design"]["holes"] = [{**first, "name": f"H{i}"} for i in range(5000)]
    with pytest.raises(ProjectError) as refused:
        read_project(json.dumps(project))
    fault, together = refused.value.faults
    assert together.limit == "all_readings"
    assert (fault.pointer, fault.limit) == ("/design/holes", "holes")
    assert fault.text == "holds more than 60 test holes, which is the limit"


def test_what_several_parts_hold_together_is_counted() -> None:
    project = json.loads(project_text(load_scene()))
    intake = project["design"]["intake"]
    for i in range(12):
        source = {**json.loads(project_text(load_scene()))["design"]["intake"]["source"], "name": f"P{i}"}
        side = {"source": source, "runs": [{**intake["runs"][0], "name": f"S{i}"}]}
        meeting = {"part": "junction", "straight": {**intake, "runs": intake["runs"]}, "side": side}
        runs = [{**intake["runs"][0], "name": f"R{i}"}]
        intake = {"source": meeting, "runs": runs}
    project["design"]["intake"] = intake
    with pytest.raises(ProjectError) as refused:
        read_project(json.dumps(project))
    faults = {fault.limit: fault.text for fault in refused.value.faults}
    assert faults["suction_points"] == "holds 13 suction points; the limit is 12"
    assert "junctions" in faults


def test_the_command_shows_the_whole_table(capsys: pytest.CaptureFixture[str]) -> None:
    def none(*_: object) -> int:
        raise AssertionError

    window = Window(open=none, picture=none)  # type: ignore[arg-type]
    assert run(["limits"], window) == 0
    lines = capsys.readouterr().out.split("\n")[1:]
    shown = {line.split()[0]: line.split()[1] for line in lines if line}
    assert shown == {key: f"{each.most:,}" for key, each in CAPACITIES.items()}
    assert run(["limits", "--json"], window) == 0
    told = json.loads(capsys.readouterr().out)
    assert {key: each["most"] for key, each in told.items()} == {key: each.most for key, each in CAPACITIES.items()}


@pytest.mark.parametrize("key", list(CAPACITIES))
def test_each_is_said_with_its_figure(key: str) -> None:
    assert f"{CAPACITIES[key].most:,}" in beyond(key).plain()
    assert CAPACITIES[key].why
