"""Reading a year of weather: what it says, what is mended, what is refused."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import psychrolib
import pytest

from tests.files.invented_weather import DEW_POINT, DRY_BULB, HUMIDITY, PRESSURE, WIND, rows, temperature, text
from workbench.files.weather import Weather, WeatherError, read_epw

psychrolib.SetUnitSystem(psychrolib.SI)


@pytest.fixture(scope="module")
def year() -> list[list[str]]:
    return rows()


@pytest.fixture
def data(year: list[list[str]]) -> list[list[str]]:
    return [list(row) for row in year]


@pytest.fixture
def read(tmp_path: Path) -> Callable[[str], Weather]:
    def reader(content: str) -> Weather:
        path = tmp_path / "invented.epw"
        path.write_bytes(content.encode())
        return read_epw(path)

    return reader


def test_a_whole_year(data: list[list[str]], read: Callable[[str], Weather]) -> None:
    weather = read(text(data))
    assert weather.place == "Invented Hollow, Nowhere"
    assert (weather.latitude, weather.longitude, weather.altitude) == (52.5, -3.25, 240.0)
    assert weather.hours == 8760
    assert weather.notes == ()
    expected = [temperature(i) + 273.15 for i in range(8760)]
    np.testing.assert_allclose(weather.dry_bulb, expected, atol=0.006)
    np.testing.assert_array_equal(weather.relative_humidity, 0.75)
    np.testing.assert_array_equal(weather.pressure, 99_000.0)
    np.testing.assert_allclose(weather.wind_speed[:6], [3.0, 3.5, 4.0, 4.5, 5.0, 3.0])
    np.testing.assert_array_equal(weather.hour_of_year[[0, -1]], [0, 8759])
    assert weather.month[0] == 1
    assert weather.month[-1] == 12
    with pytest.raises(ValueError, match="read-only"):
        weather.dry_bulb[0] = 0.0


def test_humidity_ratio_agrees_with_the_reference_library(
    data: list[list[str]], read: Callable[[str], Weather]
) -> None:
    # Derived: psychrolib at two hours.
    weather = read(text(data))
    for hour in (0, 4500):
        celsius = float(weather.dry_bulb[hour]) - 273.15
        expected = psychrolib.GetHumRatioFromRelHum(celsius, 0.75, 99_000.0)
        assert weather.humidity_ratio[hour] == pytest.approx(expected, rel=1e-4)


def test_a_leap_year(read: Callable[[str], Weather]) -> None:
    weather = read(text(rows(leap=True), leap=True))
    assert weather.hours == 8784
    assert int(np.sum(weather.month == 2)) == 29 * 24


def test_means_of_months(data: list[list[str]], read: Callable[[str], Weather]) -> None:
    weather = read(text(data))
    # Derived by hand: a value that is the month itself; and the mean of the year, weighted by days.
    np.testing.assert_allclose(weather.monthly_means(weather.month), np.arange(1, 13))
    means = weather.monthly_means(weather.dry_bulb)
    assert means.shape == (12,)
    assert float(means @ [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]) / 365.0 == pytest.approx(281.15, abs=0.01)
    assert int(np.argmin(means)) == 0
    assert int(np.argmax(means)) == 6


def test_winter_design_and_degree_days(read: Callable[[str], Weather]) -> None:
    # Derived by hand: a year that falls evenly from 20 C to -20 C has its 99 % hour at -19.6 C, and stands 18 C and
    # less for 38/40 of its 365 days at 19 K below in the mean.
    even = rows(celsius=lambda index, hours: 20.0 - 40.0 * (index + 0.5) / hours)
    weather = read(text(even))
    assert weather.winter_design_temperature() - 273.15 == pytest.approx(-19.6, abs=0.01)
    assert weather.winter_design_temperature(0.5) - 273.15 == pytest.approx(0.0, abs=0.01)
    assert weather.heating_degree_days(291.15) == pytest.approx(365.0 * 38.0 / 40.0 * 19.0, rel=1e-4)
    with pytest.raises(ValueError, match="between 0 and 1"):
        weather.winter_design_temperature(99.0)


def test_short_gaps_are_filled_and_told(data: list[list[str]], read: Callable[[str], Weather]) -> None:
    for i in range(100, 106):
        data[i][DRY_BULB] = "99.9"
    data[300][WIND] = ""
    data[301][WIND] = "999."
    data[8759][PRESSURE] = data[0][PRESSURE] = "999999"
    data[8758][PRESSURE] = "98000"
    weather = read(text(data))
    # a straight line between the neighbours, and December runs on into January
    ends = float(data[99][DRY_BULB]), float(data[106][DRY_BULB])
    np.testing.assert_allclose(weather.dry_bulb[99:107] - 273.15, np.linspace(*ends, 8), atol=1e-9)
    np.testing.assert_allclose(weather.pressure[[8759, 0]], [98_000.0 + 1000.0 / 3.0, 98_000.0 + 2000.0 / 3.0])
    assert sorted(note.split(" were")[0] for note in weather.notes) == [
        "2 missing hours of station pressure",
        "2 missing hours of wind speed",
        "6 missing hours of dry bulb temperature",
    ]


def test_lines_left_out_are_gaps(data: list[list[str]], read: Callable[[str], Weather]) -> None:
    before, after = float(data[4999][DRY_BULB]), float(data[5002][DRY_BULB])
    del data[5000:5002]
    weather = read(text(data))
    assert weather.hours == 8760
    np.testing.assert_allclose(weather.dry_bulb[4999:5003] - 273.15, np.linspace(before, after, 4), atol=1e-9)
    assert len(weather.notes) == 4


def test_humidity_from_the_dew_point(data: list[list[str]], read: Callable[[str], Weather]) -> None:
    for row in data:
        row[HUMIDITY] = "999"
    data[4000][DEW_POINT], data[4000][HUMIDITY] = "99.9", "104"
    weather = read(text(data))
    # Derived: psychrolib, in summer, where both stand over water.
    dry, dew = float(data[4500][DRY_BULB]), float(data[4500][DEW_POINT])
    assert weather.relative_humidity[4500] == pytest.approx(psychrolib.GetRelHumFromTDewPoint(dry, dew), rel=1e-4)
    assert weather.relative_humidity[4000] == 1.0
    assert weather.notes == ("8759 hours of relative humidity were calculated from the dew point.",)


def test_no_pressure_at_all(data: list[list[str]], read: Callable[[str], Weather]) -> None:
    for row in data:
        row[PRESSURE] = "999999"
    weather = read(text(data, altitude="1000.0"))
    # Published: ASHRAE Handbook, Fundamentals 2017, ch. 1, table 1: 89 875 Pa at 1000 m.
    np.testing.assert_allclose(weather.pressure, 89_875.0, atol=1.0)
    assert weather.notes[0].startswith("No station pressure")


def gap(data: list[list[str]], column: int, start: int, hours: int, code: str) -> str:
    for row in data[start : start + hours]:
        row[column] = code
    return text(data)


def test_large_gaps_are_refused(data: list[list[str]], read: Callable[[str], Weather]) -> None:
    with pytest.raises(WeatherError, match="dry bulb temperature is missing in 7 hours, up to 7 in a row"):
        read(gap(data, DRY_BULB, 100, 7, "99.9"))


def test_a_gap_over_the_new_year_is_one(data: list[list[str]], read: Callable[[str], Weather]) -> None:
    gap(data, WIND, 0, 4, "999")
    with pytest.raises(WeatherError, match="wind speed is missing in 8 hours, up to 8 in a row"):
        read(gap(data, WIND, 8756, 4, "999"))


def test_many_small_gaps_are_refused(data: list[list[str]], read: Callable[[str], Weather]) -> None:
    for row in data[::40]:
        row[WIND] = "999"
    with pytest.raises(WeatherError, match="wind speed is missing in 219 hours, up to 1 in a row"):
        read(text(data))


def test_a_quantity_that_is_not_given(data: list[list[str]], read: Callable[[str], Weather]) -> None:
    with pytest.raises(WeatherError, match="gives no dry bulb temperature"):
        read(gap(data, DRY_BULB, 0, 8760, "99.9"))


def replaced(data: list[list[str]], line: int, column: int, value: str) -> str:
    data[line][column] = value
    return text(data)


@pytest.mark.parametrize(
    ("column", "value", "words"),
    [
        (DRY_BULB, "85", "Line 9: 85 is no possible dry bulb temperature"),
        (DRY_BULB, "warm", "Line 9: “warm” is no dry bulb temperature"),
        (DRY_BULB, "nan", "Line 9: “nan” is no dry bulb temperature"),
        (HUMIDITY, "-3", "Line 9: -3 is no possible relative humidity"),
        (PRESSURE, "990", "Line 9: 990 is no possible station pressure"),
        (1, "13", "Line 9: 13 is no possible month"),
        (2, "32", "Line 9: 32 is no possible day"),
        (3, "0", "Line 9: 0 is no possible hour"),
        (3, "1.5", "Line 9: 1.5 is no possible hour"),
    ],
)
def test_impossible_values_name_their_line(
    data: list[list[str]], read: Callable[[str], Weather], column: int, value: str, words: str
) -> None:
    with pytest.raises(WeatherError, match=words):
        read(replaced(data, 0, column, value))


def test_cut_short(data: list[list[str]], read: Callable[[str], Weather]) -> None:
    whole = text(data)
    with pytest.raises(WeatherError, match=r"4000 of the 8760 hours of a year; the first it lacks is 16 June, hour 17"):
        read(text(data[:4000]))
    with pytest.raises(WeatherError, match="Line 8768 is truncated: 11 columns"):
        read(text([*data[:-1], data[-1][:11]]))
    with pytest.raises(WeatherError, match="holds no hours"):
        read(text([]))
    with pytest.raises(WeatherError, match="no DATA PERIODS line"):
        read(whole[:200])
    with pytest.raises(WeatherError, match="LOCATION line is truncated"):
        read(whole[:40])


def test_hours_twice(data: list[list[str]], read: Callable[[str], Weather]) -> None:
    with pytest.raises(WeatherError, match="Line 8769: 1 January, hour 1 stands in the file twice"):
        read(text([*data, data[0]]))


def test_other_forms_of_epw(data: list[list[str]], read: Callable[[str], Weather]) -> None:
    whole = text(data)
    with pytest.raises(WeatherError, match="Line 8: only one period with one record an hour"):
        read(whole.replace("DATA PERIODS,1,1", "DATA PERIODS,1,4"))
    with pytest.raises(WeatherError, match="Line 1: 95 is no possible latitude"):
        read(whole.replace("52.50", "95"))
    with pytest.raises(WeatherError, match="Line 1: “high” is no altitude"):
        read(text(data, altitude="high"))


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "is empty"),
        (b" \r\n", "is empty"),
        (b"PK\x03\x04rest", "packed archive"),
        (b"\x89\x00\x01", "it is no text"),
        (b"time,temperature\n0,12\n", "does not begin with LOCATION"),
        (b"\xff\xfeL\xe9", "does not begin with LOCATION"),
    ],
)
def test_files_of_another_kind(tmp_path: Path, content: bytes, words: str) -> None:
    path = tmp_path / "other.epw"
    path.write_bytes(content)
    with pytest.raises(WeatherError, match=words):
        read_epw(path)


def test_nothing_there(tmp_path: Path) -> None:
    with pytest.raises(WeatherError, match=r"none\.epw cannot be read"):
        read_epw(tmp_path / "none.epw")
    with pytest.raises(WeatherError, match="cannot be read"):
        read_epw(tmp_path)


def test_accents_and_marks_of_older_files(tmp_path: Path, data: list[list[str]]) -> None:
    whole = text(data).replace("Invented Hollow", "Erfundenes Ödwünschel")
    for encoding in ("utf-8", "utf-8-sig", "latin-1"):
        path = tmp_path / f"{encoding}.epw"
        path.write_bytes(whole.encode(encoding))
        assert read_epw(path).place == "Erfundenes Ödwünschel, Nowhere"


def test_damage_is_always_told_in_words(tmp_path: Path, data: list[list[str]]) -> None:
    """Bytes changed or lost anywhere give weather or a sentence, nothing else."""
    whole = text(data).encode()
    chance = np.random.default_rng(7)
    path = tmp_path / "damaged.epw"
    sentences = []
    for _ in range(15):
        damaged = bytearray(whole)
        for position in chance.integers(0, 3000, 4):
            damaged[position] = int(chance.integers(1, 256))
        if chance.random() < 0.3:
            damaged = damaged[: int(chance.integers(0, len(damaged)))]
        path.write_bytes(damaged)
        try:
            assert math.isfinite(float(np.sum(read_epw(path).dry_bulb)))
        except WeatherError as fault:
            sentences.append(str(fault))
    assert len(sentences) > 3
    assert all(sentence.endswith(".") for sentence in sentences)
