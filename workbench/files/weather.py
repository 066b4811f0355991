"""A year of hourly weather from a file in the EPW format, an open text format of one line an hour."""

from __future__ import annotations

import math
from calendar import month_name, monthrange
from functools import cached_property
from pathlib import Path
from typing import Final, NamedTuple

import numpy as np
from msgspec import Struct
from numpy.typing import ArrayLike, NDArray

from workbench.files.beside import Trouble, Unreadable, read_plain
from workbench.physics import air
from workbench.physics.arrays import Array
from workbench.physics.constants import ICE_POINT
from workbench.physics.energy import heating_degree_days

LONGEST_GAP: Final = 6
"""Hours in a row that are filled from their neighbours; more are refused."""

MOST_MISSING: Final = 0.02
"""Share of a year that may be filled in one quantity."""

_HEADER_LINES = 8
_LEAP_YEAR, _COMMON_YEAR = 2000, 2001


class WeatherError(ValueError):
    """A weather file that cannot be used; the message says why in one sentence.

    `code` tells apart what was never opened; see `files/beside.py`.
    """

    def __init__(self, sentence: str, code: Trouble | None = None) -> None:
        super().__init__(sentence)
        self.code = code


class _Field(NamedTuple):
    """A column of the data lines: where it stands, the code for missing, and what is possible."""

    words: str
    column: int
    missing: float
    low: float
    high: float


# EPW data dictionary: positions, missing codes, possible values.
_DRY_BULB = _Field("dry bulb temperature", 6, 99.9, -90.0, 70.0)
_DEW_POINT = _Field("dew point", 7, 99.9, -100.0, 70.0)
_HUMIDITY = _Field("relative humidity", 8, 999.0, 0.0, 110.0)
_PRESSURE = _Field("station pressure", 9, 999_999.0, 31_000.0, 120_000.0)
_WIND = _Field("wind speed", 21, 999.0, 0.0, 100.0)
_FIELDS = (_DRY_BULB, _DEW_POINT, _HUMIDITY, _PRESSURE, _WIND)


class Weather(Struct, frozen=True, eq=False, dict=True):
    """A year of hours, from the first of January.

    Attributes
    ----------
    place : str
    latitude, longitude : float
        North and east positive. [deg]
    altitude : float
        [m]
    month : array of int, shape (hours,)
        1 to 12.
    dry_bulb : array, shape (hours,)
        [K]
    relative_humidity : array, shape (hours,)
        0 to 1.
    pressure : array, shape (hours,)
        At the station. [Pa]
    wind_speed : array, shape (hours,)
        [m/s]
    notes : tuple of str
        What was missing and how it was filled, a sentence each.
    """

    place: str
    latitude: float
    longitude: float
    altitude: float
    month: NDArray[np.int64]
    dry_bulb: Array
    relative_humidity: Array
    pressure: Array
    wind_speed: Array
    notes: tuple[str, ...] = ()

    @property
    def hours(self) -> int:
        """8760, or 8784 in a leap year."""
        return int(self.dry_bulb.size)

    @property
    def hour_of_year(self) -> NDArray[np.int64]:
        """0 for the first hour of January, counted through."""
        return np.arange(self.hours)

    @cached_property
    def humidity_ratio(self) -> Array:
        """Mass of vapour per mass of dry air, shape (hours,)."""
        return air.humidity_ratio(self.dry_bulb, self.relative_humidity, self.pressure)

    def monthly_means(self, values: ArrayLike) -> Array:
        """Mean of hourly values in each month, shape (12,)."""
        x = np.asarray(values, dtype=np.float64)
        return np.bincount(self.month - 1, weights=x, minlength=12) / np.bincount(self.month - 1, minlength=12)

    def winter_design_temperature(self, share: float = 0.99) -> float:
        """Dry bulb temperature that all but a few hours stay above [K].

        Parameters
        ----------
        share
            Of the year's hours that are warmer.

        Raises
        ------
        ValueError
            If the share is not between 0 and 1.
        """
        if not 0.0 < share < 1.0:
            raise ValueError("the share of hours must lie between 0 and 1")
        return float(np.quantile(self.dry_bulb, 1.0 - share))

    def heating_degree_days(self, base: float) -> float:
        """Heating degree-days under a balance point [K], hour by hour [K d]."""
        return float(heating_degree_days(self.dry_bulb, base))


def read_epw(path: str | Path) -> Weather:
    """Read an EPW file of one year by the hour.

    Gaps of up to `LONGEST_GAP` hours are filled from their neighbours, December running on into January; humidity also
    from the dew point, and a pressure that is nowhere given from the altitude. `Weather.notes` tells what was done.

    Raises
    ------
    WeatherError
        If the file cannot be read, is of another kind, is cut short, holds impossible values or larger gaps.
    """
    lines = _lines(Path(path))
    place, latitude, longitude, altitude = _location(lines[0])
    first = _first_data_line(lines)
    columns, month = _columns(lines, first)
    notes: list[str] = []
    temperature = _filled(columns[_DRY_BULB], _DRY_BULB, notes) + ICE_POINT
    humidity = _humidity(columns, temperature, notes)
    pressure = columns[_PRESSURE]
    if np.all(np.isnan(pressure)):
        pressure = np.full(pressure.shape, float(air.standard_pressure(altitude)))
        notes.append(
            "No station pressure is given; that of the standard atmosphere at the station's altitude is taken."
        )
    pressure = _filled(pressure, _PRESSURE, notes)
    wind = _filled(columns[_WIND], _WIND, notes)
    for values in (month, temperature, humidity, pressure, wind):
        values.flags.writeable = False
    return Weather(place, latitude, longitude, altitude, month, temperature, humidity, pressure, wind, tuple(notes))


def _lines(path: Path) -> list[str]:
    try:
        data = read_plain(path, "weather_file")
    except Unreadable as fault:
        raise WeatherError(f"{path.name} cannot be read: {fault}.", fault.code) from fault
    if data.startswith(b"PK"):
        raise WeatherError(f"{path.name} is a packed archive; unpack it and open the EPW file inside.")
    if not data.strip():
        raise WeatherError(f"{path.name} is empty.")
    if b"\0" in data:
        raise WeatherError(f"{path.name} is not an EPW weather file; it is no text.")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        # names of places in older files; Latin-1 reads any byte
        text = data.decode("latin-1")
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    if not lines[0].upper().startswith("LOCATION,"):
        raise WeatherError(f"{path.name} is not an EPW weather file; its first line does not begin with LOCATION.")
    return lines


def _location(line: str) -> tuple[str, float, float, float]:
    parts = [part.strip() for part in line.split(",")]
    if len(parts) < 10:
        raise WeatherError("Line 1: the LOCATION line is truncated.")
    place = ", ".join(part for part in parts[1:4] if part not in ("", "-"))
    latitude = _number(parts[6], "latitude", 1, -90.0, 90.0)
    longitude = _number(parts[7], "longitude", 1, -180.0, 180.0)
    return place or "unnamed place", latitude, longitude, _number(parts[9], "altitude", 1, -1000.0, 9999.9)


def _first_data_line(lines: list[str]) -> int:
    """Index of the line after the header."""
    for index, line in enumerate(lines[: 2 * _HEADER_LINES]):
        if line.upper().startswith("DATA PERIODS"):
            parts = [part.strip() for part in line.split(",")]
            if parts[1:3] != ["1", "1"]:
                raise WeatherError(
                    f"Line {index + 1}: only one period with one record an hour can be read, and this is not that."
                )
            return index + 1
    raise WeatherError("The file is truncated or not an EPW: its header has no DATA PERIODS line.")


def _columns(lines: list[str], first: int) -> tuple[dict[_Field, Array], NDArray[np.int64]]:
    """Every field by the hour of the year, NaN where missing, and the month of each hour."""
    rows: dict[tuple[int, int, int], tuple[float, ...]] = {}
    for number, line in enumerate(lines[first:], start=first + 1):
        if not line.strip():
            continue
        parts = line.split(",")
        if len(parts) <= _WIND.column:
            raise WeatherError(f"Line {number} is truncated: {len(parts)} columns, where an EPW has more than 21.")
        key = _hour(parts, number)
        if key in rows:
            raise WeatherError(f"Line {number}: {_said(key)} stands in the file twice.")
        rows[key] = tuple(_value(parts[field.column], field, number) for field in _FIELDS)
    if not rows:
        raise WeatherError("The file holds no hours.")
    calendar = _calendar(leap=any(month == 2 and day == 29 for month, day, _ in rows))
    missing = tuple(math.nan for _ in _FIELDS)
    table = np.array([rows.get(key, missing) for key in calendar], dtype=np.float64)
    absent = [key for key in calendar if key not in rows]
    if len(absent) > MOST_MISSING * len(calendar):
        raise WeatherError(
            f"The file holds {len(rows)} of the {len(calendar)} hours of a year; "
            f"the first it lacks is {_said(absent[0])}."
        )
    month = np.array([key[0] for key in calendar], dtype=np.int64)
    return {field: table[:, i] for i, field in enumerate(_FIELDS)}, month


def _calendar(*, leap: bool) -> list[tuple[int, int, int]]:
    year = _LEAP_YEAR if leap else _COMMON_YEAR
    return [
        (month, day, hour)
        for month in range(1, 13)
        for day in range(1, monthrange(year, month)[1] + 1)
        for hour in range(1, 25)
    ]


def _hour(parts: list[str], number: int) -> tuple[int, int, int]:
    month = _whole(parts[1], "month", number, 12)
    day = _whole(parts[2], "day", number, monthrange(_LEAP_YEAR, month)[1])
    return month, day, _whole(parts[3], "hour", number, 24)


def _whole(text: str, words: str, line: int, most: int) -> int:
    value = _number(text, words, line, 1.0, float(most))
    if not value.is_integer():
        raise WeatherError(f"Line {line}: {value:g} is no possible {words}.")
    return int(value)


def _said(key: tuple[int, int, int]) -> str:
    return f"{key[1]} {month_name[key[0]]}, hour {key[2]}"


def _value(text: str, field: _Field, number: int) -> float:
    written = text.strip()
    if not written:
        return math.nan
    # a code may be written with or without its decimals, 99.9 or 99.90; values beyond it mean missing too
    value = _number(written, field.words, number, -math.inf, math.inf)
    if value >= field.missing:
        return math.nan
    if not field.low <= value <= field.high:
        raise WeatherError(f"Line {number}: {written} is no possible {field.words}.")
    return value


def _number(text: str, words: str, line: int, low: float, high: float) -> float:
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise WeatherError(f"Line {line}: “{text.strip()[:30]}” is no {words}.")
    if not low <= value <= high:
        raise WeatherError(f"Line {line}: {value:g} is no possible {words}.")
    return value


def _humidity(columns: dict[_Field, Array], temperature: Array, notes: list[str]) -> Array:
    """Relative humidity as a fraction, from the dew point in hours where only that is given."""
    percent = columns[_HUMIDITY].copy()
    instead = np.isnan(percent) & ~np.isnan(columns[_DEW_POINT])
    if np.any(instead):
        held = air.saturation_pressure(temperature[instead])
        percent[instead] = 100.0 * air.saturation_pressure(columns[_DEW_POINT][instead] + ICE_POINT) / held
        notes.append(f"{int(instead.sum())} hours of relative humidity were calculated from the dew point.")
    return np.asarray(np.minimum(_filled(percent, _HUMIDITY, notes) / 100.0, 1.0))


def _filled(values: Array, field: _Field, notes: list[str]) -> Array:
    """Values with short gaps bridged by straight lines, the year taken as a ring."""
    lacking = np.isnan(values)
    count = int(lacking.sum())
    if count == 0:
        return values
    if count == values.size:
        raise WeatherError(f"The file gives no {field.words}.")
    longest = _longest_run(lacking)
    if longest > LONGEST_GAP or count > MOST_MISSING * values.size:
        raise WeatherError(
            f"The {field.words} is missing in {count} hours, up to {longest} in a row; "
            f"at most {LONGEST_GAP} in a row and {MOST_MISSING:.0%} of the year can be filled."
        )
    at = np.arange(values.size)
    notes.append(f"{count} missing hours of {field.words} were filled from their neighbours, up to {longest} in a row.")
    bridged = np.interp(at[lacking], at[~lacking], values[~lacking], period=values.size)
    result = values.copy()
    result[lacking] = bridged
    return result


def _longest_run(lacking: NDArray[np.bool_]) -> int:
    """Length of the longest run of True on a ring that is not all True."""
    start = int(np.argmin(lacking))
    turned = np.roll(lacking, -start)
    edges = np.flatnonzero(np.diff(np.concatenate(([0], turned.astype(np.int8), [0]))))
    return int(np.max(edges[1::2] - edges[::2], initial=0))
