"""Water, draft and rules as other programs read them, and a year in the weather the file names."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

import pytest

import workbench
from tests.files import invented_weather
from workbench.__main__ import main
from workbench.design import Design
from workbench.design.record import with_value
from workbench.design.rules import rule_sheets
from workbench.files.climate import WeatherError
from workbench.files.plain_text import plain_line
from workbench.files.project import save_project
from workbench.files.scenes import load_scene
from workbench.solving import prepare
from workbench.solving.report.answer import answer
from workbench.solving.report.house_draft import SPILLAGE_TEST
from workbench.solving.report.rules import check_rules


def told(design: Design, speed: float | None = None) -> dict[str, Any]:
    prepared = prepare(design)
    outcome = prepared.at(design.speed if speed is None else speed)
    return json.loads(json.dumps(answer(prepared, outcome), allow_nan=False))


def test_water_by_the_day_and_by_the_run() -> None:
    water = told(load_scene("clubhouses"))["water"]
    assert water["worst_day_kg_per_day"] > water["day_kg_per_day"] > 0.0
    assert water["worst_day_kg_per_day"] == pytest.approx(sum(run["worst_day_kg_per_day"] for run in water["runs"]))
    assert water["freezes_on_the_worst_day"] == any(run["freezes"] for run in water["runs"])
    assert water["low_points"] == []


def test_ice_is_among_the_warnings() -> None:
    answered = told(load_scene("clubhouses"))
    assert answered["water"]["freezes_on_the_worst_day"]
    [warning] = [each for each in answered["warnings"] if each["code"] == "freezing"]
    assert "freezes" in warning["text"]
    assert warning["text"].count("K") >= 2


def test_ice_of_the_worst_day_is_not_told_of_a_mild_one() -> None:
    design = load_scene("clubhouses")
    # nothing freezes while it thaws outdoors
    assert design.place.outdoor_temperature > 273.15 > design.worst_day.outdoor_temperature
    prepared = prepare(design)
    told = answer(prepared, prepared.at(design.speed))["water"]
    assert told["freezes_on_the_day"] is False
    assert told["freezes_on_the_worst_day"] is True
    assert all(run["freezes"] == (run["worst_day_coldest_wall_K"] < 273.15) for run in told["runs"])
    # every run loses heat to the cold: the wall is the colder
    assert all(run["worst_day_coldest_wall_K"] < run["worst_day_leaving_K"] for run in told["runs"])


def test_low_points_are_named() -> None:
    design = load_scene("studio")
    level = design.intake.runs[0].model_copy(update={"rise": 0.0, "slope": 0.0})
    low = told(with_value(design, ("intake", "runs", 0), level))["water"]["low_points"]
    assert low == [{"name": level.name, "reason": "it lies level, so water stands in it"}]


def test_the_draft_never_clears() -> None:
    design = with_value(load_scene("studio"), ("house", "appliances"), ("natural draft",))
    draft = told(design)["house_draft"]
    assert draft["system_Pa"] is None
    assert draft["total_Pa"] == pytest.approx(draft["exhausts_Pa"] + draft["stack_Pa"])
    assert draft["appliances"][0]["warning_index"] == pytest.approx(draft["total_Pa"] / 2.0)
    assert draft["caution"] == SPILLAGE_TEST
    known = told(with_value(design, ("house", "leakage_area"), 0.05))["house_draft"]
    assert known["system_Pa"] > 0.0


def test_rules_are_counted_and_those_broken_named() -> None:
    bare = load_scene("studio").model_copy(update={"rules": None})
    assert told(bare)["rules"] is None
    sheet = rule_sheets()["Illinois, vapor intrusion"]
    design = bare.model_copy(update={"rules": sheet})
    rules = told(design)["rules"]
    counted = [rules[name] for name in ("met", "not_met", "not_entered", "not_this_case")]
    assert sum(counted) == len(sheet.rules)
    prepared = prepare(design)
    judged = check_rules(prepared, prepared.at(design.speed))
    broken = [each.rule.what for each in judged if each.judgement == "not met"]
    assert [each["what"] for each in rules["broken"]] == broken
    assert len(broken) == rules["not_met"]


def test_a_year_has_its_bands() -> None:
    year = told(load_scene("studio"))["year"]
    assert year["heat_band_kWh"][0] < year["heat_kWh"] < year["heat_band_kWh"][1]
    assert year["house_air_m3s"] > 0.0


def test_without_an_operating_point_there_is_no_water() -> None:
    answered = told(load_scene("studio").model_copy(update={"fan": None}))
    assert answered["water"] is None
    assert answered["house_draft"]["stack_Pa"] > 0.0


def saved(tmp_path: Path, weather: str) -> Path:
    path = tmp_path / "job.json"
    save_project(with_value(load_scene("studio"), ("place", "weather"), weather), path)
    return path


def weather_beside(tmp_path: Path) -> Path:
    weather = invented_weather.text(invented_weather.rows())
    (tmp_path / "invented.epw").write_bytes(weather.encode())
    return saved(tmp_path, "invented.epw")


def test_the_command_reads_the_weather_beside_the_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["solve", str(weather_beside(tmp_path)), "--json"]) == 0
    by_the_hour = json.loads(capsys.readouterr().out)["year"]["heat_kWh"]
    assert main(["solve", str(saved(tmp_path, "")), "--json"]) == 0
    by_degree_days = json.loads(capsys.readouterr().out)["year"]["heat_kWh"]
    assert by_the_hour != pytest.approx(by_degree_days, rel=1e-3)


def test_from_python_a_job_is_solved_in_the_weather_it_names(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    path = weather_beside(tmp_path)
    assert main(["solve", str(path), "--json"]) == 0
    told_by_command = json.loads(capsys.readouterr().out)
    monkeypatch.chdir(tmp_path)
    for name in (path, path.name):
        design = workbench.load(name)
        # an edit, and another working directory, leave the weather where it was found
        design = with_value(design, ("note",), design.note)
        with monkeypatch.context() as elsewhere:
            elsewhere.chdir("/")
            outcome = workbench.solve(design)
            assert workbench.answer(design, outcome) == told_by_command
            assert workbench.prepare(design).hours is not None


@pytest.mark.parametrize("named", ["gone.epw", "~nobody-of-this-name/x.epw", "folder.epw", "pipe.epw", "a\0b.epw"])
def test_a_weather_file_that_cannot_be_used_is_refused_alike_by_command_and_python(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], named: str
) -> None:
    (tmp_path / "folder.epw").mkdir()
    os.mkfifo(tmp_path / "pipe.epw")
    path = saved(tmp_path, named)
    with pytest.raises(WeatherError, match="weather file") as refusal:
        workbench.solve(workbench.load(path))
    assert main(["solve", str(path)]) == 2
    err = capsys.readouterr().err
    assert err.startswith("subslab-workbench: ")
    assert err.count("\n") == 1
    assert err.endswith(f"{plain_line(str(refusal.value))}\n")
    assert main(["check", str(path)]) == 2
    assert f"  /design/place/weather: {plain_line(str(refusal.value))}\n" in capsys.readouterr().out


def test_the_text_tells_water_and_broken_rules(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    design = load_scene("clubhouses").model_copy(update={"rules": rule_sheets()["Illinois, vapor intrusion"]})
    path = tmp_path / "job.json"
    save_project(design, path)
    assert main(["solve", str(path)]) == 0
    said = capsys.readouterr().out
    assert "Condensate in the pipe" in said
    assert "freezes" in said
    assert "Rules: Illinois, vapor intrusion" in said


def test_each_day_has_its_own_band_and_each_chance_its_own_speed() -> None:
    """Else another program takes the test day's band for that of the worst, or a likely speed for a sure one."""
    design = load_scene("studio")
    prepared = prepare(design)
    outcome = prepared.at(design.speed)
    assert outcome.holding is not None
    told_now = told(design)
    for hole, state in zip(told_now["holes"], outcome.holding.holes, strict=True):
        assert (hole["suction_Pa"], hole["band_Pa"]) == (state.suction, list(state.band))
        assert (hole["worst_day_suction_Pa"], hole["worst_day_band_Pa"]) == (state.worst, list(state.worst_band))
        assert hole["band_Pa"] != hole["worst_day_band_Pa"]
    holds = told_now["holds"]
    assert (holds["lowest_speed_best_estimate"], holds["lowest_speed"]) == (
        prepared.lowest.best_estimate,
        prepared.lowest.confident,
    )
    assert holds["lowest_speed_best_estimate"] < holds["lowest_speed"]
