"""The library of generic fan classes: one readable file each."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files

from pydantic import ValidationError

from workbench.design.fan import FanPoint, FanRecord, FanTable
from workbench.design.faults import faults_in


class LibraryError(ValueError):
    """A file of the fan library that cannot be read; the message names the file and the fault."""


def fan_from_toml(text: str) -> FanRecord:
    """Read one class.

    Raises
    ------
    ValueError
        With a sentence for a text that is no TOML or describes no fan.
    """
    table = tomllib.loads(text)
    curves = tuple(
        FanTable(
            speed=row.get("speed", 1.0),
            points=tuple(
                FanPoint(flow=point[0], pressure=point[1], power=point[2] if len(point) > 2 else None)
                for point in row["points"]
            ),
        )
        for row in table.pop("curve", ())
    )
    return FanRecord(**table, curves=curves)


@cache
def fan_classes() -> tuple[FanRecord, ...]:
    """All classes of the library, those of least free flow first.

    Raises
    ------
    LibraryError
    """
    found = []
    for entry in files("fan_library").iterdir():
        if not entry.name.endswith(".toml"):
            continue
        try:
            found.append(fan_from_toml(entry.read_text(encoding="utf-8")))
        except ValidationError as error:
            raise LibraryError(f"{entry.name}: {faults_in(error)[0]}") from error
        except (ValueError, LookupError, TypeError) as error:
            raise LibraryError(f"{entry.name}: {error}") from error
    return tuple(sorted(found, key=lambda fan: fan.full.points[-1].flow))


def fan_class(name: str) -> FanRecord:
    """A class by name. KeyError when the library has none of that name."""
    for fan in fan_classes():
        if fan.name == name:
            return fan
    raise KeyError(name)
