"""The library of generic fan classes: one readable file each."""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path
from typing import NamedTuple

from pydantic import ValidationError

import workbench
from workbench.design.fan import FanPoint, FanRecord, FanTable
from workbench.design.faults import faults_in
from workbench.files.beside import read_plain

_FOLDER = "fan_library"


class LibraryError(ValueError):
    """A file of the fan library that cannot be read; the message names the file and the fault."""


class Library(NamedTuple):
    """The classes that could be read, those of least free flow first, and a sentence about each file that could not."""

    classes: tuple[FanRecord, ...]
    broken: tuple[str, ...]


def fan_from_toml(text: str) -> FanRecord:
    """Read one class.

    Raises
    ------
    ValueError
        With a sentence for a text that is no TOML or describes no fan.
    """
    table = tomllib.loads(text)
    rows = table.pop("curve", ())
    curves = tuple(
        FanTable(
            speed=row.get("speed", 1.0),
            points=tuple(
                FanPoint(flow=point[0], pressure=point[1], power=point[2] if len(point) > 2 else None)
                for point in row["points"]
            ),
        )
        for row in rows
    )
    return FanRecord(**table, curves=curves)


def library_in(folder: Path) -> Library:
    """The classes in a folder; a file that is broken takes none of the others along."""
    found: dict[str, FanRecord] = {}
    broken = []
    for path in sorted(folder.glob("*.toml")):
        try:
            fan = read_class(path)
            if fan.name in found:
                raise LibraryError(f"{path.name}: there is a class called '{fan.name}' already")
            found[fan.name] = fan
        except LibraryError as error:
            broken.append(str(error))
    return Library(tuple(sorted(found.values(), key=lambda fan: fan.full.points[-1].flow)), tuple(broken))


def read_class(path: Path) -> FanRecord:
    """Read one class from its file.

    Raises
    ------
    LibraryError
    """
    try:
        return fan_from_toml(read_plain(path, "fan_file").decode("utf-8"))
    except ValidationError as error:
        raise LibraryError(f"{path.name}: {faults_in(error)[0]}") from error
    except UnicodeDecodeError as error:
        raise LibraryError(f"{path.name}: the file is not a text in UTF-8") from error
    except KeyError as error:
        raise LibraryError(f"{path.name}: {error.args[0]} is missing") from error
    except RecursionError as error:
        raise LibraryError(f"{path.name}: the file cannot be read") from error
    except (OSError, ValueError) as error:
        raise LibraryError(f"{path.name}: {error}") from error
    except (LookupError, TypeError, AttributeError) as error:
        words = "a curve is a table with a list of points, each of two or three numbers"
        raise LibraryError(f"{path.name}: {words}") from error


@cache
def library() -> Library:
    """The library that came with the program: beside this very package, whatever lies in the working directory."""
    return library_in(Path(workbench.__file__).resolve().parent.parent / _FOLDER)


def fan_classes() -> tuple[FanRecord, ...]:
    """All classes of the library, those of least free flow first."""
    return library().classes


def fan_class(name: str) -> FanRecord:
    """A class by name. KeyError when the library has none of that name."""
    for fan in fan_classes():
        if fan.name == name:
            return fan
    raise KeyError(name)
