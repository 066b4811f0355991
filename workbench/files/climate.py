"""A year of weather for a design: read once, found beside the project file or where its path says."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from workbench.design.design import Design
from workbench.files.weather import WeatherError, read_epw
from workbench.solve.yearly import Hours, hours_of

__all__ = ["WeatherError", "climate_of"]


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
    if not design.place.weather:
        return None
    path = Path(design.place.weather).expanduser()
    path = path if path.is_absolute() or folder is None else folder / path
    try:
        stamp = path.stat().st_mtime_ns
    except OSError as error:
        raise WeatherError(f"the weather file {path.name} cannot be read: {error.strerror}") from error
    return _read(path, stamp)


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
