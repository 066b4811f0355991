"""Called from Python and from other programs: what goes in, what comes out, and every fault at once with its place."""

from __future__ import annotations

import inspect
import io
import json
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

import workbench
from tests.files.invented_weather import rows
from tests.files.invented_weather import text as weather_text
from workbench import __main__ as program
from workbench.design.record import pointer, with_value
from workbench.files.project import ProjectError, project_text
from workbench.files.scenes import load_scene, scene_names
from workbench.solving.outcome import Holding, HoleState, Notice, Outcome

Mend = Callable[[dict[str, Any]], None]


def at_pointer(document: Any, text: str) -> Any:
    """What a JSON Pointer names, worked out as RFC 6901, section 4 says: split, then ~1 before ~0."""
    for token in text.split("/")[1:]:
        token = token.replace("~1", "/").replace("~0", "~")
        document = document[int(token)] if isinstance(document, list) else document[token]
    return document


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    path = tmp_path / "studio.json"
    workbench.save(load_scene(), path)
    return path


# --- from Python --------------------------------------------------------------------------------------------------


def test_a_path_does_as_well_as_a_design(studio: Path) -> None:
    design = workbench.load(studio)
    assert design == load_scene()
    found = workbench.solve(design, 0.62)
    assert workbench.solve(studio, 0.62) == workbench.solve(str(studio), speed=0.62) == found
    assert workbench.prepare(studio).rested(0.62) == found
    assert workbench.answer(studio, found) == workbench.answer(design, found)


def test_an_array_of_speeds_gives_an_answer_each_in_its_order(studio: Path) -> None:
    alone = {speed: workbench.solve(studio, speed) for speed in (0.5, 0.9)}
    for speeds in ([0.9, 0.5], (0.9, 0.5), np.array([0.9, 0.5]), pd.Series([0.9, 0.5], index=[7, 8])):
        assert workbench.solve(studio, speeds) == (alone[0.9], alone[0.5])
    assert workbench.solve(studio, [0.5]) == (alone[0.5],)
    assert workbench.solve(studio, []) == ()
    # more air at more speed, whatever the floor: fan laws on a curve of losses that rises
    assert alone[0.9].operating.flow > alone[0.5].operating.flow


@pytest.mark.parametrize("speed", [[0.5, 0.0], [0.5, math.nan], [True], ["0.5"], np.ones((1, 2)), [[0.5]], {0.5}])
def test_what_is_no_row_of_speeds_is_refused_before_anything_is_solved(
    monkeypatch: pytest.MonkeyPatch, speed: Any
) -> None:
    monkeypatch.setattr("workbench.files.job.prepare", lambda *_: pytest.fail("solved"))
    with pytest.raises(ValueError, match="more than 0"):
        workbench.solve(load_scene(), speed)


def test_the_weather_a_file_names_is_taken_by_itself(studio: Path, tmp_path: Path) -> None:
    (tmp_path / "year.epw").write_text(weather_text(rows()), "utf-8")
    design = load_scene()
    workbench.save(with_value(design, ("place", "weather"), "year.epw"), studio)
    year = workbench.solve(studio).year
    assert year is not None
    assert year.hourly
    assert not workbench.solve(design).year.hourly
    found = workbench.choices(studio)
    assert found.hours is not None
    (tmp_path / "year.epw").unlink()
    for call in (workbench.solve, workbench.prepare, workbench.choices):
        with pytest.raises(ValueError, match=r"year\.epw cannot be read"):
            call(studio)


def test_what_is_saved_is_loaded_and_what_cannot_be_is_said(tmp_path: Path) -> None:
    with pytest.raises(ProjectError, match="no such folder"):
        workbench.save(load_scene(), tmp_path / "gone" / "a.json")
    with pytest.raises(ProjectError, match=r"a\.json: there is no such file"):
        workbench.solve(tmp_path / "a.json")


@pytest.mark.parametrize("name", ["load", "save", "solve", "prepare", "choices", "answer"])
def test_help_is_a_page_with_what_goes_in_what_comes_out_and_errors(name: str) -> None:
    page = inspect.getdoc(getattr(workbench, name))
    assert name in workbench.__all__
    assert name in dir(workbench)
    assert page is not None
    # a terminal of 24 lines shows two screens of it at most: a judgement
    assert 8 < len(page.splitlines()) <= 48
    assert "Parameters\n---" in page
    assert "Raises\n---" in page
    assert "sentence" in page


@pytest.mark.parametrize("record", [Outcome, Holding, HoleState])
def test_help_tells_every_field(record: type) -> None:
    page = inspect.getdoc(record) or ""
    told = {
        name.strip()
        for line in page.splitlines()
        if " : " in line and not line.startswith(" ")
        for name in line.split(" : ")[0].split(",")
    }
    assert told == set(record.__struct_fields__)
    assert "[Pa]" in page


def test_printed_an_answer_is_one_line_a_part(studio: Path) -> None:
    for name in scene_names():
        outcome = workbench.solve(load_scene(name), 0.62)
        holding = outcome.holding
        parts = [outcome, *([] if holding is None else [holding, *holding.holes])]
        for part in parts:
            assert len(repr(part)) < 160
            assert "\n" not in repr(part)
    found = workbench.solve(studio, 0.62)
    told = workbench.answer(studio, found)
    assert f"{told['operating_point']['flow_m3s']:.4g} m3/s" in repr(found)
    assert told["holds"]["verdict"] in repr(found)
    assert repr(told["holds"]["weakest_hole"]) in repr(found.holding)
    assert f"{told['holes'][0]['suction_Pa']:.4g} Pa" in repr(found.holding.holes[0])
    # a hole that nobody can tell anything of, and a design without an answer
    nan = math.nan
    unknown = HoleState("Loft", ("holes", 0), False, False, nan, (nan, nan), nan, (nan, nan))
    assert repr(unknown) == "<HoleState 'Loft': not known>"
    still = workbench.solve(with_value(load_scene(), ("fan",), None))
    assert repr(still) == "<Outcome at speed 0.72: no operating point; not measured; 1 notice>"


def test_a_notice_prints_its_sentence(studio: Path) -> None:
    found = workbench.solve(studio, 0.62)
    told = [warning["text"] for warning in workbench.answer(studio, found)["warnings"]]
    assert found.notices
    assert [str(notice) for notice in found.notices] == told[: len(found.notices)]
    assert str(Notice("high", "There is {0}.", values=((12.0, "pressure"),))) == "There is 12 Pa."


def test_tables_hold_what_the_answer_for_json_holds(studio: Path) -> None:
    found = workbench.solve(studio, 0.62)
    told = workbench.answer(studio, found)
    # of branches each passes a part of the air, so that drop and share differ
    branched = workbench.solve(load_scene("reading-room"), 0.62)
    for what, key in (("points", "suction_points"), ("runs", "runs"), ("losses", "losses")):
        table = branched.to_frame(what)
        assert set(table.pop("speed")) == {0.62}
        assert table.to_dict("records") == workbench.answer(load_scene("reading-room"), branched)[key]
    holes = found.to_frame("holes").to_dict("records")
    for row, hole in zip(holes, told["holes"], strict=True):
        low, high = hole.pop("band_Pa")
        worst_low, worst_high = hole.pop("worst_day_band_Pa")
        assert row == hole | {
            "speed": 0.62,
            "band_low_Pa": low,
            "band_high_Pa": high,
            "worst_day_band_low_Pa": worst_low,
            "worst_day_band_high_Pa": worst_high,
        }
    notices = found.to_frame("notices")
    assert list(notices["text"]) == list(map(str, found.notices))
    (chance,) = notices.loc[notices["code"] == "chance", "pointer"]
    weakest = at_pointer(json.loads(studio.read_text("utf-8"))["design"], chance)
    assert weakest["name"] == told["holds"]["weakest_hole"]
    (summary,) = found.to_frame().to_dict("records")
    operating, holds = told["operating_point"], told["holds"]
    assert summary == {
        "speed": 0.62,
        **{key: operating[key] for key in ("flow_m3s", "fan_pressure_Pa", "power_W", "velocity_ms")},
        "gauge_Pa": told["gauge_Pa"],
        **{key: holds[key] for key in ("verdict", "weakest_hole", "margin_Pa", "chance")},
    }


def test_tables_have_the_same_columns_whatever_is_known(studio: Path) -> None:
    full, still = workbench.solve(studio, 0.62), workbench.solve(with_value(load_scene(), ("fan",), None))
    for what in ("summary", "points", "runs", "holes", "losses", "notices"):
        one, other = full.to_frame(what), still.to_frame(what)
        assert list(one.dtypes.items()) == list(other.dtypes.items())
        assert len(pd.concat([one, other])) == len(one) + len(other)
    row = still.to_frame().iloc[0]
    assert row[["flow_m3s", "power_W", "velocity_ms", "gauge_Pa", "chance"]].isna().all()
    assert row["verdict"] == "not measured"
    with pytest.raises(ValueError, match=r"no table called 'leaks'; there are summary, points"):
        full.to_frame("leaks")


# --- faults, all at once ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("address", "text"),
    [
        ((), ""),
        (("foo",), "/foo"),
        (("foo", 0), "/foo/0"),
        (("",), "/"),
        (("a/b",), "/a~1b"),
        (("c%d",), "/c%d"),
        (("m~n",), "/m~0n"),
        (("~1",), "/~01"),
    ],
)
def test_places_are_json_pointers(address: tuple[str | int, ...], text: str) -> None:
    """Examples of RFC 6901, sections 4 and 5."""
    assert pointer(address) == text


def checked(capsys: pytest.CaptureFixture[str], path: Path, change: Mend | None = None) -> dict[str, str]:
    """Faults of the demonstration with a change in its file, by place; each place is found in the file."""
    whole = json.loads(project_text(load_scene()))
    if change is not None:
        change(whole)
        path.write_text(json.dumps(whole), "utf-8")
    code = program.main(["check", str(path), "--json"])
    (found,) = json.loads(capsys.readouterr().out)
    assert found["file"] == str(path)
    assert code == (2 if found["faults"] else 0)
    faults = {fault["pointer"]: fault["text"] for fault in found["faults"]}
    assert len(faults) == len(found["faults"])
    for place, text in faults.items():
        at_pointer(whole, place.rpartition("/")[0] if text == "is missing" else place)
    return faults


def test_faults_between_parts_do_not_wait_for_those_within(capsys: pytest.CaptureFixture[str], studio: Path) -> None:
    def change(whole: dict[str, Any]) -> None:
        design = whole["design"]
        whole["a/b"] = 1
        design["speed"] = 2
        design["fan"] = "Gone"
        design["intake"]["runs"][1]["name"] = design["intake"]["runs"][0]["name"]
        design["intake"]["runs"][0]["length"] = 0
        design["holes"][0]["position"] = {"x": 400, "y": 0}
        design["holes"][2]["position"]["x"] = "east"
        design["holes"][4]["position"]["x"] = -400
        design["holes"][1]["name"] = f" {design['holes'][2]['name']} "
        design["holes"][3]["readings"][0]["point"] = "Nowhere"
        design["place"]["weather"] = "missing.epw"

    faults = checked(capsys, studio, change)
    assert sorted(faults) == [
        "/a~1b",
        "/design/fan",
        "/design/holes/0/position",
        "/design/holes/2/name",
        "/design/holes/2/position/x",
        "/design/holes/3/readings/0/point",
        "/design/holes/4/position",
        "/design/intake/runs/0/length",
        "/design/intake/runs/1/name",
        "/design/place/weather",
        "/design/speed",
    ]
    assert "missing.epw cannot be read" in faults["/design/place/weather"]
    assert "lies outside the floor" in faults["/design/holes/0/position"]
    with pytest.raises(ProjectError, match="the design has 10 faults, the first at /a~1b: is not known here"):
        workbench.load(studio)


def test_parts_of_every_leg_are_compared(capsys: pytest.CaptureFixture[str], studio: Path) -> None:
    def change(whole: dict[str, Any]) -> None:
        design = whole["design"] = json.loads(project_text(load_scene("reading-room")))["design"]
        design["speed"] = 2
        legs = design["intake"]["source"]
        legs["side"]["source"]["name"] = legs["straight"]["source"]["name"]
        legs["straight"]["source"]["pit_volume"] = -1.0
        legs["side"]["source"]["position"] = {"x": 400.0, "y": 0.0}
        for hole in design["holes"]:
            hole["readings"] = []

    assert sorted(checked(capsys, studio, change)) == [
        "/design/intake/source/side/source/name",
        "/design/intake/source/side/source/position",
        "/design/intake/source/straight/source/pit_volume",
        "/design/speed",
    ]


def _without(*address: str | int) -> Mend:
    def change(whole: dict[str, Any]) -> None:
        at = whole["design"]
        for step in address[:-1]:
            at = at[step]
        del at[address[-1]]

    return change


def _with(value: Any, *address: str | int) -> Mend:
    def change(whole: dict[str, Any]) -> None:
        at = whole["design"]
        for step in address[:-1]:
            at = at[step]
        at[address[-1]] = value

    return change


_CROSSED = ["/design/slab"]
"""An outline whose sides cross holds no place, and has not one side for every edge either."""


@pytest.mark.parametrize(
    ("change", "places"),
    [
        # a point whose name cannot be read may be the one that the readings name
        (_without("intake", "source", "name"), ["/design/intake/source/name"]),
        (_with("chimney", "intake", "source", "part"), ["/design/intake/source"]),
        (_with(7, "intake"), ["/design/intake"]),
        # a fan whose name cannot be read may be the one chosen
        (_with("", "fans", 2, "name"), ["/design/fans/2/name"]),
        (_with({}, "fans"), ["/design/fans"]),
        # of a place without one coordinate, or a floor without its outline, nothing is known
        (_with("east", "holes", 0, "position", "x"), ["/design/holes/0/position/x"]),
        (_with(900.0, "slab", "outline", 1, "x"), ["/design/slab/outline/1/x"]),
        (_with([{"x": 0, "y": 0}, {"x": 9, "y": 9}, {"x": 9, "y": 0}, {"x": 0, "y": 9}], "slab", "outline"), _CROSSED),
        (_with([], "slab", "outline"), ["/design/slab/outline"]),
        (_with(None, "holes"), ["/design/holes"]),
        (_with(-1.0, "intake", "source", "pit_volume"), ["/design/intake/source/pit_volume"]),
        (_without("holes", 1, "name"), ["/design/holes/1/name"]),
        (_with(None, "place"), ["/design/place"]),
        (_with([{"key": "target", "value": "much"}], "entered"), ["/design/entered/0/value"]),
        (_with(5, "place", "weather"), ["/design/place/weather"]),
    ],
)
def test_a_fault_is_told_once_and_nothing_for_want_of_what_it_hides(
    capsys: pytest.CaptureFixture[str], studio: Path, change: Mend, places: list[str]
) -> None:
    assert sorted(checked(capsys, studio, change)) == places


def test_a_sound_file_whose_weather_is_missing_has_one_fault(capsys: pytest.CaptureFixture[str], studio: Path) -> None:
    assert checked(capsys, studio) == {}
    change = _with("missing.epw", "place", "weather")
    assert list(checked(capsys, studio, change)) == ["/design/place/weather"]
    assert program.main(["check", str(studio)]) == 2
    assert f"{studio}: 1 fault\n  /design/place/weather: " in capsys.readouterr().out


def test_check_tells_programs_of_a_file_that_is_no_project(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    (tmp_path / "a.json").write_text("[]", "utf-8")
    assert program.main(["check", "--json", str(tmp_path / "a.json")]) == 2
    (found,) = json.loads(capsys.readouterr().out)
    assert found["faults"] == [
        {"pointer": "", "text": f"{tmp_path / 'a.json'}: this is not a project of the workbench"}
    ]


# --- several files, and one that is piped in ----------------------------------------------------------------------


@pytest.fixture
def two(tmp_path: Path) -> tuple[str, str]:
    paths = tmp_path / "one.json", tmp_path / "two.json"
    for path, scene in zip(paths, ("studio", "clubhouses"), strict=True):
        workbench.save(load_scene(scene), path)
    return str(paths[0]), str(paths[1])


def test_several_files_make_an_array_in_their_order(capsys: pytest.CaptureFixture[str], two: tuple[str, str]) -> None:
    alone = []
    for path in two:
        assert program.main(["solve", "--json", path]) == 0
        alone.append(json.loads(capsys.readouterr().out))
    assert program.main(["solve", "--json", *two]) == 0
    assert json.loads(capsys.readouterr().out) == alone
    assert program.main(["solve", "--json", *reversed(two)]) == 0
    assert json.loads(capsys.readouterr().out) == alone[::-1]


def test_several_files_as_text_bear_their_names(capsys: pytest.CaptureFixture[str], two: tuple[str, str]) -> None:
    assert program.main(["solve", *two, "--strict", "--speed", "1"]) == 1
    out, err = capsys.readouterr()
    lines = out.splitlines()
    assert lines.index(two[0]) < lines.index(load_scene("studio").title) < lines.index(two[1])
    # the one that holds is not spoken of
    assert err.count("\n") == 1
    assert f"{two[1]}: not measured" in err


def test_of_several_files_one_that_is_faulty_stops_no_other(
    capsys: pytest.CaptureFixture[str], two: tuple[str, str], tmp_path: Path
) -> None:
    gone = str(tmp_path / "gone.json")
    assert program.main(["solve", "--json", gone, *two]) == 2
    out, err = capsys.readouterr()
    missing, *answers = json.loads(out)
    assert missing == {"file": gone, "why": "there is no such file"}
    assert [each["title"] for each in answers] == [load_scene(name).title for name in ("studio", "clubhouses")]
    assert err == f"subslab-workbench: {gone}: there is no such file\n"


def _piped(monkeypatch: pytest.MonkeyPatch, data: bytes) -> None:
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(data), encoding="ascii"))


def test_a_project_may_be_piped_in(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, two: tuple[str, str], tmp_path: Path
) -> None:
    """UTF-8 whatever the encoding of the console (RFC 8259, section 8.1), weather from where it is called."""
    (tmp_path / "year.epw").write_text(weather_text(rows()), "utf-8")
    design = with_value(with_value(load_scene(), ("title",), "Töpferei"), ("place", "weather"), "year.epw")
    monkeypatch.chdir(tmp_path)
    _piped(monkeypatch, project_text(design).encode())
    assert program.main(["solve", "--json", two[1], "-"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert [each["title"] for each in found] == [load_scene("clubhouses").title, "Töpferei"]
    assert found[1] == workbench.answer(design, workbench.solve(design))


@pytest.mark.parametrize(
    ("data", "argv", "words"),
    [
        (b"", ["-"], "what is piped in: the file is empty"),
        (b"\xff", ["-"], "what is piped in is not a text in UTF-8"),
        (b"{}", ["-", "-"], "can be read once"),
    ],
)
def test_what_is_piped_in_and_of_no_use_is_refused_in_one_line(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, data: bytes, argv: list[str], words: str
) -> None:
    _piped(monkeypatch, data)
    assert program.main(["solve", *argv]) == 2
    out, err = capsys.readouterr()
    assert (out, err.count("\n")) == ("", 1)
    assert words in err


def test_the_version_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert program.main(["--version"]) == 0
    assert capsys.readouterr().out == f"subslab-workbench {workbench.__version__}\n"
