"""Readings at test holes as they are typed and pasted, and what that makes of a design.

Nothing here knows Qt. A row is a hole with one reading; a hole read three times has three rows.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

from msgspec import Struct

from workbench.design.design import Design
from workbench.design.record import value_at, with_value
from workbench.design.slab import HoleReading, TestHole
from workbench.files.block import Block, Quantity
from workbench.units import Dimension, System, format_quantity, unit_of

Values = Mapping[str, Any]
"""What a row says, by the key of its column; a blank cell is left out."""


class HoleColumn(Struct, frozen=True):
    """A column of the sheet; `words` tell its title in a pasted table, of several that fit those of highest `rank`.

    `hint_minus` is the hint where minus is suction, if that is another one.
    """

    key: str
    title: str
    dimension: Dimension | None
    words: str
    hint: str
    rank: int = 0
    hint_minus: str = ""

    @property
    def reading(self) -> bool:
        """Whether it holds what a gauge of suction shows, with its sign."""
        return self.dimension in ("pressure", "hole_pressure")

    def told(self, system: System) -> str:
        """What it holds, in a sentence."""
        return (self.hint_minus if system.minus_is_suction else "") or self.hint


_NAME = r"((test|sub-?slab) )?holes?( (name|no|nr|id))?\.?|(name|place|location|label|room)s?( of (the )?holes?)?"
_POINT = r"(drawn|drawing)( (on|at))?|(suction |drawn )?(point|pit)( drawn on)?"
COLUMNS: Final = (
    HoleColumn("name", "Hole", None, _NAME, "What the hole is called on the plan.", 5),
    HoleColumn("point", "Suction point", None, _POINT, "The suction point in use during the reading.", 5),
    HoleColumn(
        "at_rest",
        "Baseline",
        "hole_pressure",
        r"\brest|baseline|\bbefore\b|\boff\b",
        "Reading with the fan or vacuum off.",
        3,
    ),
    HoleColumn(
        "applied",
        "At point",
        "pressure",
        r"applied|at (the )?(suction )?(point|pit)",
        "Suction at the suction point.",
        2,
    ),
    HoleColumn(
        "flow",
        "Airflow",
        "flow",
        r"flow|\bair\b",
        "Airflow at the suction point during the reading; leave empty if not measured.",
        1,
    ),
    HoleColumn(
        "suction",
        "At hole",
        "hole_pressure",
        r"suction|vacuum|reading|\bread\b|at (the )?(test )?hole",
        "Reading at the test hole.",
    ),
    HoleColumn(
        "exhausts",
        "Exhausts",
        "hole_pressure",
        r"exhaust",
        "Change in reading with all exhausts on; negative if suction drops, empty if not read.",
        4,
        "Change in reading with all exhausts on; positive if suction drops, empty if not read.",
    ),
)
HOW_READ: Final = ("made_with", "accuracy", "resolution")
"""Fields of a reading that tell what drew and how well the instrument tells."""
KEYS: Final = tuple(column.key for column in COLUMNS)
READINGS: Final = tuple(column.key for column in COLUMNS if column.reading)
_BY_KEY: Final = {column.key: column for column in COLUMNS}


def quantities(system: System) -> tuple[Quantity, ...]:
    """What a pasted table of readings may hold; bare numbers are in the units shown where it names none."""
    return tuple(
        Quantity(
            c.key,
            c.title,
            c.words,
            "pressure" if c.reading else c.dimension,
            unit_of(c.dimension, system).label if c.dimension else "",
            rank=c.rank,
        )
        for c in COLUMNS
    )


def points_of(design: Design) -> list[str]:
    """Names of the suction points."""
    return [point.name for _, point in design.suction_points()]


def rows_of(block: Block) -> list[dict[str, Any]]:
    """Rows out of a table of readings; in one grouped by hole, a row without a name belongs to the hole above.

    Raises ValueError with a sentence when the first row has no name though others have.
    """
    rows: list[dict[str, Any]] = list(block.records())
    if any("name" in row for row in rows):
        name: str | None = None
        for row in rows:
            name = row.setdefault("name", name)
            if name is None:
                raise ValueError("The first row needs a hole name.")
    return rows


def reading_of(values: Values, points: Sequence[str]) -> HoleReading | None:
    """The reading a row makes; None while it lacks the suction at point or hole.

    Raises ValueError with a sentence for a point that is not there, or one that has to be named.
    """
    if values.get("applied") is None or values.get("suction") is None:
        return None
    given = {key: values[key] for key in ("at_rest", "applied", "flow", "suction") if values.get(key) is not None}
    return HoleReading(point=point_of(values.get("point"), points), **given)


def point_of(said: str | None, points: Sequence[str]) -> str:
    """The suction point meant; the only one need not be named."""
    if not said:
        if len(points) == 1:
            return points[0]
        raise ValueError(f"enter the suction point the vacuum was on: {', '.join(points)}")
    found = next((name for name in points if name.casefold() == said.casefold()), None)
    if found is None:
        raise ValueError(f"there is no suction point called “{said}”; there are: {', '.join(points)}")
    return found


# --- designs out of designs -------------------------------------------------------------------------------------------


def paste_holes(design: Design, rows: Sequence[Values]) -> Design:
    """Put a table of named holes in: a hole that is there takes the pasted readings in place of its own.

    Raises ValueError with a sentence that names the hole.
    """
    points = points_of(design)
    holes = list(design.holes)
    taken: dict[str, list[HoleReading]] = {}
    for row in rows:
        name = str(row["name"])
        if name not in taken:
            taken[name] = []
            if name not in [hole.name for hole in holes]:
                holes.append(TestHole(name=name))
        reading = _whole_reading(row, name, points)
        if reading is not None:
            taken[name].append(reading)
        if "exhausts" in row:
            at = next(i for i, hole in enumerate(holes) if hole.name == name)
            holes[at] = with_value(holes[at], ("exhausts",), row["exhausts"])
    holes = [
        with_value(hole, ("readings",), tuple(taken[hole.name])) if taken.get(hole.name) else hole for hole in holes
    ]
    return with_value(design, ("holes",), tuple(holes))


def _whole_reading(row: Values, name: str, points: Sequence[str]) -> HoleReading | None:
    try:
        reading = reading_of(row, points)
    except ValueError as refusal:
        raise ValueError(f"hole {name}: {_sentence(refusal)}") from refusal
    if reading is None and any(key in row for key in ("applied", "suction", "flow")):
        lacks = "at the point" if row.get("applied") is None else "at the hole"
        raise ValueError(f"hole {name}: a reading needs the suction {lacks}")
    return reading


def _sentence(refusal: ValueError) -> str:
    from pydantic import ValidationError

    from workbench.design.faults import faults_in

    if isinstance(refusal, ValidationError):
        return "; ".join(f"{_title(fault.address[-1])} {fault.text}" for fault in faults_in(refusal) if fault.address)
    return str(refusal)


def _title(step: str | int) -> str:
    return f"“{_BY_KEY[str(step)].title}”" if step in _BY_KEY else str(step)


def paste_cells(design: Design, places: Sequence[tuple[int | None, int]], rows: Sequence[Values]) -> Design:
    """Lay rows without names over lines of the table: hole and reading of each line, a new reading at its end.

    Raises ValueError where there are more rows than lines with a hole.
    """
    points = points_of(design)
    if len(rows) > len(places) or any(hole is None for hole, _ in places[: len(rows)]):
        raise ValueError("more rows than open readings here: paste the hole names with the readings")
    for (hole, reading), row in zip(places, rows, strict=False):
        assert hole is not None
        own: TestHole = value_at(design, ("holes", hole))
        if "exhausts" in row:
            design = with_value(design, ("holes", hole, "exhausts"), row["exhausts"])
        if reading < len(own.readings):
            present = own.readings[reading]
            shown = {key: getattr(present, key) for key in ("point", "at_rest", "applied", "flow", "suction")}
            merged = shown | {key: value for key, value in row.items() if key not in ("name", "exhausts")}
            made = _whole_reading(merged, own.name, points)
            if made is not None:
                # what the sheet does not show stays as it was
                made = present.model_copy(update={key: getattr(made, key) for key in shown})
            readings = (*own.readings[:reading], made, *own.readings[reading + 1 :])
        else:
            made = _whole_reading(row, own.name, points)
            readings = own.readings if made is None else (*own.readings, made)
        design = with_value(design, ("holes", hole, "readings"), readings)
    return design


def add_hole(design: Design, name: str, reading: HoleReading | None) -> Design:
    """One hole more, with its first reading or none. It has no place on the plan yet."""
    hole = TestHole(name=name, readings=() if reading is None else (reading,))
    return with_value(design, ("holes",), (*design.holes, hole))


def add_reading(design: Design, hole: int, reading: HoleReading) -> Design:
    """One reading more at a hole."""
    return with_value(design, ("holes", hole, "readings"), (*design.holes[hole].readings, reading))


def read_alike(design: Design, like: HoleReading) -> Design:
    """Every reading made as one was: with the same suction, by an instrument of the same accuracy."""
    same = {name: getattr(like, name) for name in HOW_READ}
    holes = tuple(
        with_value(hole, ("readings",), tuple(reading.model_copy(update=same) for reading in hole.readings))
        for hole in design.holes
    )
    return with_value(design, ("holes",), holes)


def remove_lines(design: Design, holes: Sequence[int], readings: Sequence[tuple[int, int]]) -> Design:
    """Take whole holes away, by position, and single readings, by those of hole and reading; such a hole stays."""
    gone = set(readings)
    kept = []
    for h, present in enumerate(design.holes):
        left = tuple(reading for r, reading in enumerate(present.readings) if (h, r) not in gone)
        if h not in holes:
            kept.append(present if len(left) == len(present.readings) else with_value(present, ("readings",), left))
    return with_value(design, ("holes",), tuple(kept))


def short(value: float, dimension: Dimension, system: System) -> str:
    """A value to the figures a narrow cell holds; all of it stands there while it is edited."""
    size = abs(value) / unit_of(dimension, system).factor
    digits = 4 if size >= 0.1 else 3 if size >= 0.01 else 2
    text = format_quantity(value, dimension, system, with_unit=False, digits=digits)
    return text.rstrip("0").rstrip(".") if "." in text else text
