"""A year of weather for a design: read once, found beside the project file or where its path says."""

from __future__ import annotations

import contextlib
import stat
from functools import lru_cache
from pathlib import Path

from workbench.design.design import Design
from workbench.files.weather import WeatherError, read_epw
from workbench.solving.run.yearly import Hours, hours_of

__all__ = ["WeatherError", "climate_of", "hours_in", "placed", "weather_path"]


def climate_of(design: Design, folder: Path | None = None) -> Hours | None:
    """The hours of the weather file a design names; None when it names none.

    Parameters
    ----------
    folder
        Where a relative path starts from: the folder of the project file.

    Raises
    ------
    WeatherError
        With a sentence, for a file that is missing or is no year of weather.
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
        facts = path.stat()
    except OSError as error:
        raise WeatherError(f"the weather file {path.name} cannot be read: {error.strerror}") from error
    except ValueError as error:  # a null character
        raise WeatherError("the path of the weather file is no name of a file") from error
    if not stat.S_ISREG(facts.st_mode):
        # a pipe would wait and a device never end
        raise WeatherError(f"the weather file {path.name} cannot be read: it is no file")
    return _read(path, facts.st_mtime_ns)


def weather_path(design: Design, folder: Path | None = None) -> Path | None:
    """Where the weather file a design names lies; None when it names none. `folder` as in `climate_of`."""
    return placed(design.place.weather, folder) if design.place.weather else None


def placed(weather: str, folder: Path | None = None) -> Path:
    """Where a weather file lies that is named so in a project file; `folder` as in `climate_of`."""
    path = Path(weather)
    # without a home of that name the path stays as written, and no file is found there
    with contextlib.suppress(RuntimeError):
        path = path.expanduser()
    return path if folder is None else folder / path


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
