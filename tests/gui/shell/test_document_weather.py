"""A design with a weather file: what is made of it, and that a bad one is told of and done without."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.files import invented_weather
from tests.jobs import ground_only, record
from workbench.design import Design
from workbench.design.record import with_value
from workbench.files.beside import choose
from workbench.files.climate import WeatherError, climate_of
from workbench.gui.shell.document import Document
from workbench.solving import Notice

FALLING = ([0.0, 0.02, 0.04, 0.06], [300.0, 260.0, 170.0, 0.0], [60.0] * 4)


def job(weather: str = "") -> Design:
    return with_value(ground_only(record(*FALLING), 5000.0), ("place", "weather"), weather)


def write(path: Path, data: list[list[str]] | None = None) -> str:
    path.write_bytes(invented_weather.text(data if data is not None else invented_weather.rows()).encode())
    return str(path)


def notice(document: Document) -> Notice | None:
    return next((each for each in document.outcome.notices if each.code == "weather"), None)


def told(document: Document) -> str:
    found = notice(document)
    assert found is not None
    return found.text(lambda value, dimension: f"{value} {dimension}")


def test_a_weather_file_makes_the_year_hourly(tmp_path: Path) -> None:
    document = Document(job())
    assert document.outcome.year is not None
    assert not document.outcome.year.hourly
    path = write(tmp_path / "hollow.epw")
    assert document.propose(lambda d: with_value(d, ("place", "weather"), path), "Choose weather") == []
    assert document.outcome.year is not None
    assert document.outcome.year.hourly
    assert document.weather_fault == ""
    assert notice(document) is None
    document.undo()
    assert document.outcome.year is not None
    assert not document.outcome.year.hourly


def test_a_relative_path_starts_at_the_project_file(tmp_path: Path) -> None:
    write(tmp_path / "hollow.epw")
    document = Document(job())
    document.open(job("hollow.epw"), tmp_path / "job.json")
    assert document.weather_fault == ""
    assert document.outcome.year is not None
    assert document.outcome.year.hourly


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("missing", "cannot be read"),
        ("other", "not an EPW weather file"),
        ("short", "5000 of the 8760 hours"),
        ("gap", "Dry bulb"),
    ],
)
def test_a_bad_weather_file_is_told_of_and_done_without(tmp_path: Path, kind: str, words: str) -> None:
    path = tmp_path / "odd {0}.epw"
    if kind == "other":
        path.write_text("flow,pressure\n1,2\n", encoding="utf-8")
    elif kind == "short":
        write(path, invented_weather.rows()[:5000])
    elif kind == "gap":
        data = invented_weather.rows()
        for row in data[100:150]:
            row[invented_weather.DRY_BULB] = "99.9"
        write(path, data)
    choose(path)
    document = Document(job(str(path)))
    assert words.lower() in document.weather_fault.lower()
    assert document.outcome.year is not None
    assert not document.outcome.year.hourly
    assert told(document).endswith("it is ignored.")
    assert ".;" not in told(document)
    found = notice(document)
    assert found is not None
    assert found.address == ("place", "weather")
    with pytest.raises(WeatherError):
        climate_of(job(str(path)))


def test_a_file_that_was_mended_is_read_anew(tmp_path: Path) -> None:
    path = tmp_path / "hollow.epw"
    write(path, invented_weather.rows()[:10])
    choose(path)
    document = Document(job(str(path)))
    assert document.weather_fault
    write(path)
    document.propose(lambda d: with_value(d, ("title",), "Again"), "Rename")
    assert document.weather_fault == ""
    assert document.outcome.year is not None
    assert document.outcome.year.hourly
