"""The schema of an answer and answers themselves: every key is documented, and every documented key occurs."""

from __future__ import annotations

import json
from collections.abc import Iterator
from functools import cache
from typing import Any

import pytest

from tests.jobs import floor_job
from workbench.__main__ import main
from workbench.design import Design
from workbench.design.edit import choose_fan
from workbench.design.record import with_value
from workbench.design.rules import rule_sheets
from workbench.files.fan_library import fan_class
from workbench.files.job import answer, solve
from workbench.files.scenes import load_scene, scene_names

FROM_THE_DESIGN = {
    ("speed",),
    ("operating_points", "flow_m3s"), ("operating_points", "fan_pressure_Pa"), ("operating_points", "stable"),
    ("operating_point", "flow_m3s"), ("operating_point", "fan_pressure_Pa"), ("operating_point", "power_W"),
    ("operating_point", "velocity_ms"),
    ("suction_points", "name"), ("suction_points", "flow_m3s"), ("suction_points", "suction_Pa"),
    ("holes", "name"), ("holes", "suction_Pa"), ("holes", "worst_day_suction_Pa"), ("holes", "band_Pa"),
    ("holds", "verdict"), ("holds", "target_Pa"), ("holds", "weakest_hole"), ("holds", "margin_Pa"),
    ("holds", "chance"), ("holds", "lowest_speed"), ("holds", "lowest_speed_best_estimate"),
    ("sound", "place"), ("sound", "dBA"), ("sound", "band_dB"),
    ("year", "fan_kWh"), ("year", "house_air_kWh"), ("year", "cost"), ("year", "currency"),
    ("losses", "part"), ("losses", "pressure_Pa"),
    ("warnings", "code"), ("warnings", "text"),
}  # fmt: skip
"""Keys that other programs were promised; they are not renamed."""


def constructed() -> Iterator[Design]:
    """Designs that have what no scene has: rules, an appliance, a low point, no fan, a fan of unknown power."""
    studio = load_scene("studio")
    yield studio.model_copy(update={"rules": rule_sheets()["Illinois, vapor intrusion"]})
    level = studio.intake.runs[0].model_copy(update={"rise": 0.0, "slope": 0.0})
    spilling = with_value(studio, ("house", "appliances"), ("natural draft",))
    yield with_value(spilling, ("intake", "runs", 0), level)
    yield with_value(studio, ("holes", 0, "readings"), ())
    yield choose_fan(studio, None)
    fan = fan_class("Everyday in-line, electronic")
    points = tuple(point.model_copy(update={"power": None}) for point in fan.full.points)
    mute = fan.model_copy(update={"curves": (fan.full.model_copy(update={"points": points}),)})
    yield studio.model_copy(update={"fans": (mute,)})
    yield choose_fan(floor_job(2), "Everyday in-line, electronic")


@cache
def answers() -> list[Any]:
    designs = [*map(load_scene, scene_names()), *constructed()]
    return [json.loads(json.dumps(answer(design, solve(design)), allow_nan=False)) for design in designs]


@pytest.fixture
def schema(capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    assert main(["schema", "--answer"]) == 0
    return json.loads(capsys.readouterr().out)


Keys = tuple[str, ...]


def documented(schema: dict[str, Any]) -> dict[Keys, dict[str, Any]]:
    """Every key of the schema by the keys that lead to it, lists left out."""
    found: dict[Keys, dict[str, Any]] = {}

    def walk(node: dict[str, Any], at: Keys) -> None:
        if "$ref" in node:
            walk(schema["$defs"][node["$ref"].removeprefix("#/$defs/")], at)
        for branch in (*node.get("anyOf", ()), *node.get("allOf", ())):
            walk(branch, at)
        if isinstance(node.get("items"), dict):
            walk(node["items"], at)
        for name, below in node.get("properties", {}).items():
            found[*at, name] = below
            walk(below, (*at, name))

    walk(schema, ())
    return found


def said(value: Any, at: Keys = ()) -> Iterator[tuple[Keys, Any]]:
    """Every key of an answer with its value."""
    if isinstance(value, list):
        for entry in value:
            yield from said(entry, at)
    elif isinstance(value, dict):
        for name, below in value.items():
            yield (*at, name), below
            yield from said(below, (*at, name))


def types(node: dict[str, Any], *, within: bool = False) -> set[str]:
    """Types that a value may have, with those of the entries of a list where asked for."""
    branches = [*node.get("anyOf", [node])]
    if within:
        branches += [entry for each in branches for entry in each.get("prefixItems", [each.get("items", {})])]
    return {inner["type"] for each in branches for inner in each.get("anyOf", [each]) if "type" in inner}


def test_every_key_of_an_answer_is_documented_and_every_documented_key_occurs(schema: dict[str, Any]) -> None:
    known = documented(schema)
    seen = {keys for each in answers() for keys, _ in said(each)}
    assert sorted(seen - known.keys()) == []
    assert sorted(known.keys() - seen) == []
    assert known.keys() >= FROM_THE_DESIGN


def test_every_key_says_what_it_is_and_a_number_its_unit(schema: dict[str, Any]) -> None:
    for keys, node in documented(schema).items():
        assert len(node["description"]) > 5, keys
        if types(node, within=True) & {"number", "integer"}:
            assert node["unit"], keys
            symbol = {"m3s": "m3/s", "ms": "m/s", "dBA": "dB(A)"}
            suffix = keys[-1].rpartition("_")[2]
            if suffix in ("Pa", "W", "kWh", "kg", "K", "dB", *symbol):
                assert node["unit"] == symbol.get(suffix, suffix), keys


def test_null_stands_only_where_its_meaning_is_told(schema: dict[str, Any]) -> None:
    known = documented(schema)
    for keys, node in known.items():
        assert ("null" in types(node, within=True)) == ("null" in node["description"].lower()), keys
    told = [(keys, value) for each in answers() for keys, value in said(each) if value is None]
    assert told
    for keys, _ in told:
        assert "null" in types(known[keys]), keys


def test_a_loss_is_the_drop_of_the_part_and_its_share_of_the_fan_adds_up() -> None:
    """Two points share a riser: each branch drops more than its share of the fan's pressure, the riser just as much."""
    design = choose_fan(floor_job(2), "Everyday in-line, electronic")
    told = answer(design, solve(design))
    pressure = told["operating_point"]["fan_pressure_Pa"]
    assert sum(loss["fan_share_Pa"] for loss in told["losses"]) == pytest.approx(pressure, rel=1e-9)
    grounds = [loss for loss in told["losses"] if loss["kind"] == "ground"]
    for loss, point in zip(grounds, told["suction_points"], strict=True):
        # what the ground costs is what is left in the pit, and it counts for the air that comes this way
        assert loss["pressure_Pa"] == pytest.approx(point["suction_Pa"], rel=1e-9)
        share = point["flow_m3s"] / told["operating_point"]["flow_m3s"]
        assert loss["fan_share_Pa"] == pytest.approx(loss["pressure_Pa"] * share, rel=1e-9)
    for run in told["runs"]:
        parts = [loss for loss in told["losses"] if loss["part"].startswith(f"{run['name']}: ")]
        assert sum(loss["pressure_Pa"] for loss in parts) == pytest.approx(run["loss_Pa"], rel=1e-9)
        assert {loss["flow_m3s"] for loss in parts} == {run["flow_m3s"]}
    [draft] = [loss for loss in told["losses"] if loss["kind"] == "draft"]
    assert draft["pressure_Pa"] == draft["fan_share_Pa"] < 0.0
