"""Files of strangers: what they name is not followed, what they say is not obeyed, and pipes are not opened."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.files import invented_weather
from workbench.design import Design
from workbench.design.record import with_value
from workbench.files import beside
from workbench.files.beside import Unreadable, reached, read_plain
from workbench.files.climate import WeatherError, climate_of
from workbench.files.fan_library import fan_classes, library_in
from workbench.files.job import in_weather, load, look_over, prepare
from workbench.files.plain_text import escaped, json_text, plain_cell, plain_line
from workbench.files.project import ProjectError, load_project, save_project
from workbench.files.scenes import load_scene

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(autouse=True)
def nothing_chosen(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(beside, "_chosen", set())


def job(weather: str) -> Design:
    return with_value(load_scene("clubhouses"), ("place", "weather"), weather)


def year(path: Path) -> Path:
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(invented_weather.text(invented_weather.rows()).encode())
    return path


# --- plain files ------------------------------------------------------------------------------------------------------


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with a name here")
def test_a_pipe_is_refused_before_it_is_opened(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe.json"
    os.mkfifo(pipe)
    with pytest.raises(ProjectError, match="a pipe or a device"):
        load_project(pipe)
    with pytest.raises(Unreadable) as refused:
        read_plain(pipe, "weather_file")
    assert refused.value.code == "not a file"


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="no such device here")
def test_a_device_without_end_is_refused() -> None:
    with pytest.raises(ProjectError, match="a pipe or a device"):
        load_project("/dev/zero")


def test_a_file_beyond_the_limit_is_not_read(tmp_path: Path) -> None:
    path = tmp_path / "large.json"
    with open(path, "wb") as file:
        file.truncate(200_000_000_000 if sys.platform.startswith("linux") else 5_000_000)
    with pytest.raises(ProjectError, match="larger than 4,000,000 bytes") as refused:
        load_project(path)
    assert refused.value.limit == "project_file"


# --- where a project may reach ----------------------------------------------------------------------------------------


def test_weather_within_the_folder_of_the_project_is_followed(tmp_path: Path) -> None:
    year(tmp_path / "weather" / "hollow.epw")
    save_project(job("weather/hollow.epw"), tmp_path / "job.json")
    assert prepare(tmp_path / "job.json").hours is not None


@pytest.mark.parametrize("way", ["whole", "up", "link"])
def test_weather_elsewhere_is_not_followed_until_it_is_chosen(way: str, tmp_path: Path) -> None:
    outside = year(tmp_path / "elsewhere" / "hollow.epw")
    folder = tmp_path / "job"
    folder.mkdir()
    weather = {"whole": str(outside), "up": "../elsewhere/hollow.epw", "link": "near.epw"}[way]
    if way == "link":
        (folder / weather).symlink_to(outside)
    save_project(job(weather), folder / "job.json")
    with pytest.raises(WeatherError, match=r"outside the folder of the project.*--weather") as refused:
        prepare(folder / "job.json")
    assert refused.value.code == "elsewhere"
    _, faults = look_over(folder / "job.json")
    assert [fault.pointer for fault in faults] == ["/design/place/weather"]
    assert look_over(folder / "job.json", weather=outside)[1] == []
    assert prepare(load(folder / "job.json", weather=outside)).hours is not None


def test_what_was_chosen_is_remembered(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    outside = year(tmp_path / "elsewhere" / "hollow.epw")
    kept = tmp_path / "settings" / "chosen.txt"
    beside.choose(outside, kept_in=kept)
    monkeypatch.setattr(beside, "_chosen", set())
    with pytest.raises(WeatherError):
        climate_of(job(str(outside)), tmp_path / "job")
    beside.recall(kept)
    assert climate_of(job(str(outside)), tmp_path / "job") is not None


def test_a_path_of_another_machine_is_not_even_looked_at(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[object] = []
    monkeypatch.setattr(os, "stat", lambda path, **_: asked.append(path))
    monkeypatch.setattr(os.path, "realpath", lambda path, **_: asked.append(path))
    with pytest.raises(Unreadable):
        reached("//host/share/hollow.epw", tmp_path)
    assert asked == []


def test_a_tilde_is_a_letter(tmp_path: Path) -> None:
    assert reached("~/hollow.epw", tmp_path) == tmp_path / "~/hollow.epw"
    with pytest.raises(WeatherError, match="no such file"):
        climate_of(job("~nosuchuser/x.epw"), tmp_path)


def test_a_design_in_the_weather_its_user_gives(tmp_path: Path) -> None:
    outside = year(tmp_path / "elsewhere" / "hollow.epw")
    assert prepare(in_weather(job(""), outside)).hours is not None


# --- the library of fans ----------------------------------------------------------------------------------------------


def test_a_broken_class_takes_none_of_the_others_along(tmp_path: Path) -> None:
    for path in (ROOT / "fan_library").glob("*.toml"):
        (tmp_path / path.name).write_bytes(path.read_bytes())
    (tmp_path / "a.toml").write_text("name = 'x'\n[[curve]]\nspeed = 1.0\n", encoding="utf-8")
    (tmp_path / "b.toml").write_text("[[curve]]\npoints = [1, 2]\n", encoding="utf-8")
    (tmp_path / "c.toml").write_bytes(b"\xff\xfe")
    found = library_in(tmp_path)
    assert found.classes == fan_classes()
    assert [words.split(":")[0] for words in found.broken] == ["a.toml", "b.toml", "c.toml"]
    assert found.broken[0] == "a.toml: points is missing"


def test_a_folder_of_that_name_in_the_working_directory_is_not_taken(tmp_path: Path) -> None:
    (tmp_path / "fan_library").mkdir()
    (tmp_path / "fan_library" / "other.toml").write_text("name = 'x'", encoding="utf-8")
    listed = subprocess.run(
        [sys.executable, "-m", "workbench", "fans", "--json"],
        cwd=tmp_path,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        capture_output=True,
        check=False,
        timeout=60,
    )
    assert listed.returncode == 0, listed.stderr
    assert len(json.loads(listed.stdout)["fans"]) == len(fan_classes())


# --- what names say ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("sign", ["\x1b[2J", "\x9b31m", "a\nb", "a\rb", "\u2028", "\u202e", "\u2066", "\x7f", "\ud800"])
def test_what_a_terminal_obeys_is_written_as_its_number(sign: str) -> None:
    line = plain_line(f"Pit {sign}")
    assert line.isprintable()
    assert plain_line("Größe 5 µm, 床下 🦊") == "Größe 5 µm, 床下 🦊"
    if sign != "\ud800":
        text = json_text({"name": sign})
        assert json.loads(text) == {"name": sign}
        assert escaped(text.replace("\n", "")) == text.replace("\n", "")


@pytest.mark.parametrize("name", ["=1+1", "+1", "-1", "@x", "\t=1", "\r=1", " =1", "\uff1d1"])
def test_what_begins_like_a_formula_is_a_text_in_a_table(name: str) -> None:
    assert plain_cell(name)[0] == "'"
    assert plain_cell("3 in. schedule 40") == "3 in. schedule 40"
