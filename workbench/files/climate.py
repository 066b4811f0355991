"""A year of weather for a design: read once, found beside the project file or where its path says."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from workbench.design.design import Design
from workbench.files.beside import Unreadable, check_plain, reached
from workbench.files.weather import WeatherError, read_epw
from workbench.solving.run.yearly import Hours, hours_of

__all__ = ["WeatherError", "climate_of", "hours_in", "placed", "weather_path"]


def climate_of(design: Design, folder: Path | None = None) -> Hours | None:
    """The hours of the weather file a design names; None when it names none.

    Parameters
    ----------
    folder
        Where a relative path starts from: the folder of the project file, the working directory without one.

    Raises
    ------
    WeatherError
        With a sentence, for a file that is missing or is no year of weather, or lies outside that folder where nobody
        chose it (`files/beside.py`).
    """
    path = weather_path(design, folder)
    return None if path is None else hours_in(path)


def hours_in(path: Path) -> Hours:
    """The hours of a weather file, read once.

    Raises
    ------
    WeatherError
        With a sentence, for a file that is missing or is no year of weather.
    """
    try:
        facts = check_plain(path, "weather_file")
    except Unreadable as error:
        raise _refusal(path.name, error) from error
    return _read(path, facts.st_mtime_ns)


def weather_path(design: Design, folder: Path | None = None) -> Path | None:
    """Where the weather file a design names lies; None when it names none. `folder` and errors as in `climate_of`."""
    return placed(design.place.weather, folder) if design.place.weather else None


def placed(weather: str, folder: Path | None = None) -> Path:
    """Where a weather file lies that is named so in a project file; `folder` and errors as in `climate_of`."""
    try:
        return reached(weather, folder)
    except Unreadable as error:
        raise _refusal(Path(weather).name, error) from error


def _refusal(named: str, error: Unreadable) -> WeatherError:
    if error.code == "elsewhere":
        words = f"the weather file {named} lies outside the folder of the project and is not followed: choose it"
        return WeatherError(f"{words} in the window, or with --weather FILE", error.code)
    return WeatherError(f"the weather file {named} cannot be read: {error}", error.code)


@lru_cache(maxsize=4)
def _read(path: Path, _stamp: int) -> Hours:
    weather = read_epw(path)
    return hours_of(
        weather.place,
        weather.dry_bulb,
        weather.relative_humidity,
        weather.pressure,
        weather.month,
        weather.notes,
        weather.wind_speed,
    )
