"""How much of each thing a project, a table or a file may hold: one table, which every edge reads.

A file may come from a stranger. What lies within these figures is answered in a time that a person waits for; what
lies beyond is refused by name before anything is worked out of it. They are far above what a building needs.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from msgspec import Struct

from workbench.design.wording import Wording, name


class Capacity(Struct, frozen=True):
    """The most of one thing.

    Attributes
    ----------
    what : str
        The thing, in the plural.
    most : int
        In `unit`.
    unit : str
        Empty for a count.
    why : str
        What grows with it.
    fields : tuple of str
        Names of the fields of records that it bounds, each by itself.
    """

    what: str
    most: int
    unit: str
    why: str
    fields: tuple[str, ...] = ()


CAPACITIES: Final[Mapping[str, Capacity]] = {
    "project_file": Capacity(
        "a project file", 4_000_000, "bytes", "read whole into memory; the largest project within the rest is smaller"
    ),
    "project_depth": Capacity("levels of brackets", 150, "", "readers call themselves once for each"),
    "weather_file": Capacity(
        "a weather file", 30_000_000, "bytes", "read whole into memory; a year by the hour has some 1,600,000"
    ),
    "picture_file": Capacity("a plan picture", 50_000_000, "bytes", "read whole into memory"),
    "picture_pixels": Capacity("pixels of a plan picture", 50_000_000, "", "four bytes of memory each once unpacked"),
    "workbook_file": Capacity("a workbook", 2_000_000, "bytes", "read whole into memory"),
    "workbook_plain": Capacity("a workbook once unpacked", 20_000_000, "bytes", "each part is read whole into memory"),
    "fan_file": Capacity("a file of the fan library", 1_000_000, "bytes", "read whole into memory"),
    "pasted_block": Capacity("a pasted block", 1_000_000, "letters", "looked at several times to find its columns"),
    "pasted_rows": Capacity("rows or columns of a pasted block", 2000, "", "each is read and checked as it is typed"),
    "letters": Capacity("a name or a note", 400, "letters", "written out in tables, pictures and messages", ()),
    "holes": Capacity("test holes", 60, "", "each is a column of every possible floor", ("holes",)),
    "readings": Capacity("readings at one test hole", 24, "", "each is a line of the fit", ("readings",)),
    "all_readings": Capacity("readings at all test holes", 120, "", "the fit grows with the square of them"),
    "steps": Capacity("steps of a step test", 100, "", "each is a line of the fit", ("readings",)),
    "suction_points": Capacity(
        "suction points", 12, "", "each has a field of its own, and draws on all others", ("risers",)
    ),
    "junctions": Capacity("junctions one behind another", 11, "", "each runs through all that lie before it"),
    "runs": Capacity("runs in one leg", 100, "", "each is a row of the pipe network", ("runs", "discharge")),
    "all_runs": Capacity("runs in all", 150, "", "each is a row of the pipe network"),
    "fittings": Capacity("kinds of fitting in one run", 60, "", "each has a band of its own", ("fittings",)),
    "corners": Capacity(
        "corners of an outline or a line", 200, "", "each side is held against each other", ("outline", "line", "edges")
    ),
    "zones": Capacity("zones", 12, "", "each is laid over every cell of the grid", ("zones",)),
    "footings": Capacity("footings", 60, "", "each parts the cells of the grid", ("footings",)),
    "cells": Capacity(
        "cells of the drawn field",
        60_000,
        "",
        "solved at each; a floor of more is drawn on larger ones, and it is said",
    ),
    "fans": Capacity("fans", 40, "", "each is laid over the curve of pipe and ground", ("fans",)),
    "curves": Capacity("curves of one fan", 20, "", "each is drawn and interpolated", ("curves",)),
    "fan_points": Capacity("points of a fan curve", 200, "", "each is a row of a table, drawn and edited", ("points",)),
    "listeners": Capacity("noise locations", 30, "", "the sound at each is worked out anew", ("listeners",)),
    "cracks": Capacity("cracks and joints", 200, "", "each is a row of a table", ("cracks",)),
    "appliances": Capacity("combustion appliances", 30, "", "each has a limit of its own", ("appliances",)),
    "rules": Capacity("rules of a sheet, or values entered for them", 300, "", "each is judged", ("rules", "entered")),
    "visits": Capacity("visits", 200, "", "each is a row of a table", ("visits",)),
    "all_visited": Capacity("suctions read in all visits", 4000, "", "each is a row of a table, and of the file"),
    "searched": Capacity(
        "values of one thing to try in a search", 20, "", "a search multiplies them", ("pipes", "pits", "leak_left")
    ),
}
"""By key."""


def limit_of(field: str, most: int) -> str:
    """The key of the capacity that bounds a field by a number; empty where none does."""
    return next((key for key, each in CAPACITIES.items() if field in each.fields and each.most == most), "")


def beyond(key: str, count: int | None = None) -> Wording:
    """What is said of more than a capacity, and of how much more where that is known."""
    limit = CAPACITIES[key]
    most, what = (limit.most, "count"), name(limit.what)
    if limit.unit:
        larger = "longer" if limit.unit == "letters" else "larger"
        return Wording(f"is {larger} than {{0}} {limit.unit}, the limit of {{1}}", (most, what))
    if count is None:
        return Wording("holds more than {0} {1}, which is the limit", (most, what))
    return Wording("holds {0} {2}; the limit is {1}", ((count, "count"), most, what))
