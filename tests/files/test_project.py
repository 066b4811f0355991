"""Project files: what is written is read back, damage is refused in words, and nothing is lost in saving."""

from __future__ import annotations

import json
import os
import stat
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbench.design import Design
from workbench.design.catalogue import OWN, fitting_kinds, partition_kinds
from workbench.design.rules import SUBJECTS
from workbench.files import project
from workbench.files.migrations import STEPS
from workbench.files.project import (
    VERSION,
    ProjectError,
    load_project,
    project_schema,
    project_text,
    read_project,
    save_project,
)
from workbench.files.scenes import load_scene, scene_names
from workbench.solving import solve

DATA = Path(__file__).parent / "data"
TEXT = project_text(load_scene())


def changed(**fields: Any) -> str:
    """The demonstration's file with values at paths such as `design__speed` replaced."""
    whole = json.loads(TEXT)
    for path, value in fields.items():
        at, (*way, last) = whole, path.split("__")
        for step in way:
            at = at[int(step) if step.isdigit() else step]
        at[last] = value
    return json.dumps(whole)


def refused(text: str) -> ProjectError:
    with pytest.raises(ProjectError) as caught:
        read_project(text)
    assert "\n" not in str(caught.value)
    return caught.value


@pytest.mark.parametrize("name", scene_names())
def test_what_is_saved_is_read_back(name: str, tmp_path: Path) -> None:
    design = load_scene(name)
    save_project(design, tmp_path / "job.json")
    assert load_project(tmp_path / "job.json") == design


def test_text_is_for_people_and_programs_alike() -> None:
    whole = json.loads(TEXT)
    assert list(whole) == ["format", "version", "design"]
    assert whole["version"] == VERSION
    assert TEXT.endswith("}\n")
    assert max(map(len, TEXT.splitlines())) < 200
    assert "\\u" not in project_text(load_scene().model_copy(update={"title": "Töpferei №2"}))


@pytest.mark.parametrize("version", range(1, VERSION + 1))
def test_every_version_ever_written_is_still_read(version: int) -> None:
    """The files were written by the workbench of that version and stay as they are."""
    design = load_project(DATA / f"v{version}.json")
    assert len(list(design.suction_points())) == 2
    assert design.chosen_fan is not None


@pytest.mark.parametrize("name", scene_names())
def test_version_1_of_every_scene_means_what_it_meant(name: str) -> None:
    """The samples were written by version 1; its own answers, kept beside them, and those of the scene today."""
    old = load_project(DATA / f"v1-{name}.json")
    was = json.loads((DATA / "v1-answers.json").read_text(encoding="utf-8"))[name]
    now, scene = solve(old), solve(load_scene(name))
    for outcome in (now, scene):
        assert outcome.operating is not None
        assert outcome.year is not None
        found = [outcome.operating.flow, outcome.operating.fan_pressure, outcome.gauge, outcome.year.cost]
        assert found == pytest.approx([was[key] for key in ("flow", "pressure", "gauge", "cost")], rel=1e-9)
        assert [loss.drop for loss in outcome.losses] == pytest.approx(was["losses"], rel=1e-9, abs=1e-12)
        assert [at.level for at in outcome.sound] == pytest.approx(was["sound"], rel=1e-9)
    assert now.verdict == scene.verdict == was["verdict"]


def test_every_name_of_version_1_is_carried_over() -> None:
    """Each fitting, partition and rule that version 1 knew is known under the name it now has."""
    names = json.loads((DATA / "v1-names.json").read_text(encoding="utf-8"))
    step = STEPS[1]
    assert {step({"kind": kind})["kind"] for kind in names["fittings"]} <= {*fitting_kinds(), OWN}
    assert {step({"partition": kind})["partition"] for kind in names["partitions"]} <= set(partition_kinds())
    assert {step({"key": key})["key"] for key in names["subjects"]} <= set(SUBJECTS)
    for kind in names["coefficients"]:
        known = fitting_kinds()[step({"kind": kind})["kind"]]
        assert known.k(0.0779) == pytest.approx(names["coefficients"][kind], rel=1e-12), kind


def test_a_step_leaves_what_it_does_not_know() -> None:
    for odd in (None, 3, "text", [1, {"kind": None}], {"name": "own K"}, {"kind": "swan neck"}):
        assert STEPS[1](odd) == odd
    assert STEPS[1]({"name": "own K", "runs": [{"kind": "own K"}]}) == {
        "name": "own K",
        "runs": [{"kind": "entered K"}],
    }
    fans = {"fans": [{"constant_power": 0.0}, {"constant_power": 2.5}, {"constant_power": False}, 7]}
    kept = {"fans": [{"constant_power": None}, {"constant_power": 2.5}, {"constant_power": False}, 7]}
    assert STEPS[1](fans) == kept


def test_older_versions_are_carried_forward_step_by_step(monkeypatch: pytest.MonkeyPatch) -> None:
    """Had the speed once been written in per cent, and before that under another name."""

    def named(design: dict[str, Any]) -> dict[str, Any]:
        return {("speed" if key == "percent" else key): value for key, value in design.items()}

    def divided(design: dict[str, Any]) -> dict[str, Any]:
        return design | {"speed": design["speed"] / 100}

    expected = load_scene()
    monkeypatch.setattr(project, "VERSION", VERSION + 2)
    monkeypatch.setattr(project, "STEPS", {VERSION: named, VERSION + 1: divided})
    old = json.loads(TEXT)
    assert old["design"].pop("speed") == 0.72
    old["design"]["percent"] = 72.0
    assert read_project(json.dumps(old)) == expected


def test_there_is_a_way_up_from_every_version() -> None:
    assert sorted(STEPS) == list(range(1, VERSION))


def test_a_newer_file_is_refused_with_both_versions_named() -> None:
    error = refused(changed(version=VERSION + 1))
    assert f"was written by a newer version of the workbench (format {VERSION + 1}; " in str(error)


@given(st.integers(1, len(TEXT) - 3))
def test_a_file_cut_short_anywhere_is_called_that(length: int) -> None:
    assert "ends in the middle" in str(refused(TEXT[:length]))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "is empty"),
        ("  \n", "is empty"),
        ("pressure,flow\n1,2\n", "not a project file"),
        ("\0" * 400, "not a project file"),
        ("[1, 2]", "not a project of the workbench"),
        ('{"format": "another"}', "not a project of the workbench"),
        ('{"a":' * 100_000, "150 levels of brackets"),
        (TEXT.replace(": 0.72", ": 0,72"), "damaged in line"),
        (TEXT.replace(": 0.72", ": NaN"), "NaN, which is not a number"),
        (TEXT.replace(": 0.72", ": -Infinity"), "-Infinity, which is not a number"),
        (TEXT.replace('"speed": 0.72', '"speed": 0.72, "speed": 1.0'), "'speed' twice"),
        (TEXT.replace("Kiln corner", "\\ud800"), "not valid UTF-8"),
        (changed(version="1"), "does not say which version"),
        (changed(version=True), "does not say which version"),
        (changed(version=0), "does not say which version"),
    ],
    ids=lambda value: value[:24] if isinstance(value, str) else None,
)
def test_what_is_no_project_is_said_to_be_none(text: str, words: str) -> None:
    error = refused(text)
    assert words in str(error)
    assert error.faults == []


@pytest.mark.parametrize("number", ["1e999", "1" + "0" * 400, "true", '"0.72"', "[0.72]", "null"])
def test_only_a_finite_number_is_a_number(number: str) -> None:
    error = refused(TEXT.replace(": 0.72", f": {number}"))
    assert [fault.pointer for fault in error.faults] == ["/design/speed"]


def test_all_faults_come_at_once_with_their_places() -> None:
    points = [{"flow": 0.0, "pressure": 9.0}, {"flow": 0.01, "pressure": 5.0}, {"flow": 0.01, "pressure": 0.0}]
    error = refused(
        changed(
            design__speed=-1,
            design__intake__source__pit_volume=0,
            design__discharge__0__fittings__0__kind="swan neck",
            design__fans__1__curves__0__points=points,
            design__house__turrets=2,
        )
    )
    assert {fault.pointer: fault.text for fault in error.faults} == {
        "/design/speed": "must be greater than 0",
        "/design/intake/source/pit_volume": "must be greater than 0",
        "/design/discharge/0/fittings/0": "there is no fitting called 'swan neck' in the catalogue",
        "/design/fans/1/curves/0/points/2": "row 3 repeats the flow of row 2; each flow may appear only once",
        "/design/house/turrets": "is not known here",
    }
    assert str(error).startswith("the design has 5 faults, the first at ")


def test_what_stands_beside_the_design_is_checked_too() -> None:
    whole = json.loads(TEXT)
    del whole["design"]
    assert [str(f) for f in refused(json.dumps(whole | {"note": ""})).faults] == [
        "note: is not known here",
        "design: is missing",
    ]
    error = refused(json.dumps(json.loads(TEXT) | {"note": ""}))
    assert [fault.pointer for fault in error.faults] == ["/note"]


def test_files_that_cannot_be_read_are_named_with_the_reason(tmp_path: Path) -> None:
    (tmp_path / "latin.json").write_bytes("Töpfer".encode("latin-1"))
    cases = {"gone.json": "no such file", ".": "a folder", "latin.json": "UTF-8", "a\0b": "no name of a file"}
    for name, words in cases.items():
        with pytest.raises(ProjectError, match=words) as caught:
            load_project(tmp_path / name)
        assert str(caught.value).startswith(f"{tmp_path / name}: ")


def test_a_mark_of_the_byte_order_does_not_matter(tmp_path: Path) -> None:
    (tmp_path / "job.json").write_text(TEXT, encoding="utf-8-sig")
    assert load_project(tmp_path / "job.json") == load_scene()


def test_a_refused_file_is_left_as_it_was(tmp_path: Path) -> None:
    file = tmp_path / "newer.json"
    file.write_text(changed(version=9))
    before = file.read_bytes()
    with pytest.raises(ProjectError, match=r"newer\.json"):
        load_project(file)
    assert file.read_bytes() == before
    assert os.listdir(tmp_path) == ["newer.json"]


def test_a_save_that_fails_leaves_the_old_file_and_nothing_beside_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "job.json"
    save_project(load_scene(), file)

    def full(_descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(ProjectError, match="No space left"):
        save_project(load_scene("clubhouses"), file)
    assert load_project(file) == load_scene()
    assert os.listdir(tmp_path) == ["job.json"]


def test_places_where_nothing_can_be_saved_are_refused(tmp_path: Path) -> None:
    for path in (tmp_path, tmp_path / "no such folder" / "job.json"):
        with pytest.raises(ProjectError):
            save_project(load_scene(), path)
    assert os.listdir(tmp_path) == []


if os.name == "posix":  # where files have permissions and links need no privilege

    def test_permissions_and_links_outlive_a_save(tmp_path: Path) -> None:
        file, link = tmp_path / "job.json", tmp_path / "link.json"
        save_project(load_scene(), file)
        mask = os.umask(0)
        os.umask(mask)
        assert stat.S_IMODE(file.stat().st_mode) == 0o666 & ~mask
        file.chmod(0o640)
        link.symlink_to(file)
        save_project(load_scene("clubhouses"), link)
        assert link.is_symlink()
        assert stat.S_IMODE(file.stat().st_mode) == 0o640
        assert load_project(file) == load_scene("clubhouses")


def _references(node: Any) -> set[str]:
    if isinstance(node, dict):
        own = {node["$ref"]} if isinstance(node.get("$ref"), str) else set()
        return own.union(*map(_references, node.values()))
    return set().union(*map(_references, node)) if isinstance(node, list) else set()


def test_schema_describes_the_whole_file() -> None:
    """By the rules of JSON Schema 2020-12, as far as they can be checked without a validator."""
    schema = project_schema()
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert schema["required"] == ["format", "version", "design"]
    assert schema["properties"]["version"]["const"] == VERSION
    assert schema["properties"]["format"]["const"] == project.FORMAT
    assert all(ref.removeprefix("#/$defs/") in schema["$defs"] for ref in _references(schema))
    assert json.loads(json.dumps(schema)) == schema
    design = schema["$defs"]["Design"]
    assert set(design["properties"]) == set(Design.model_fields)
    assert design["additionalProperties"] is False
    assert schema["$defs"]["Run"]["properties"]["length"] == {
        "title": "Length",
        "description": "Total straight length",
        "type": "number",
        "exclusiveMinimum": 0.0,
        "maximum": 500.0,
        "dimension": "length",
    }
