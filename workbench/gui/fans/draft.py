"""The points of a fan as they are being typed: texts first, a curve as soon as they make one.

Nothing here knows Qt. A cell keeps the text a person typed beside the value read from it; changing a column's unit
rewrites the text of what could be read and leaves the rest as it is.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Final

from msgspec import Struct
from pydantic import ValidationError

from workbench.design.design import Design
from workbench.design.edit import choose_fan, replace_fan
from workbench.design.fan import FanPoint, FanRecord, FanTable
from workbench.design.faults import Fault, faults_in
from workbench.design.offered import RoundIn, begun, metric
from workbench.design.record import field_facts, with_value
from workbench.design.wording import sentence
from workbench.files.fan_table import KINDS, Kind, unit_size
from workbench.units import CFM, INCH_WATER, SI, UnitError, format_entry, parse_quantity

Units = Mapping[Kind, str]

# digits, marks and an exponent, but no letter that could begin a unit
_BARE: Final = re.compile(r"[^A-Za-zµμ%°\"'″′]*(?:\d\s*[eE][-+]?\d+\s*)?")


class Entry(Struct, frozen=True):
    """A cell: what stands in it, its value in SI when it can be read, and why not when it cannot."""

    text: str = ""
    value: float | None = None
    fault: str = ""


BLANK: Final = Entry()
Row = tuple[Entry, Entry, Entry]
BLANK_ROW: Final[Row] = (BLANK, BLANK, BLANK)


class Note(Struct, frozen=True):
    """A sentence about rows, or about the whole when there are none; `waiting` when something is only missing yet."""

    rows: tuple[int, ...]
    text: str
    waiting: bool = False


class Reading(Struct, frozen=True):
    """What the rows say: the curve if they make one, else why not. `rows` are those that could be read as points."""

    curve: FanTable | None
    rows: tuple[int, ...]
    faults: tuple[Note, ...]


def typed(kind: Kind, text: str, unit: str) -> Entry:
    """A cell in which `text` was typed; a bare number is in `unit`, any other unit of the kind may be typed with it."""
    text = text.strip()
    if not text:
        return BLANK
    try:
        if _BARE.fullmatch(text):
            value = parse_quantity(text, "ratio", SI) * unit_size(kind, unit)
            return Entry(text, float(f"{value:.15g}"))
        return Entry(text, parse_quantity(text, kind, SI))
    except UnitError as refusal:
        return Entry(text, None, str(refusal))


def written(kind: Kind, value: float | None, unit: str) -> Entry:
    """A cell that shows a value: as exactly as it was typed, or to four figures where it was converted."""
    if value is None:
        return BLANK
    shown = value / unit_size(kind, unit)
    return Entry(format_entry(shown, "ratio", SI), value)


def in_unit(kind: Kind, entry: Entry, unit: str) -> Entry:
    """The same cell under another unit; text that cannot be read stays."""
    return entry if entry.value is None else written(kind, entry.value, unit)


def rows_of(points: Iterable[FanPoint], units: Units) -> tuple[Row, ...]:
    """Rows that show points."""
    return tuple(
        (
            written("flow", point.flow, units["flow"]),
            written("pressure", point.pressure, units["pressure"]),
            written("power", point.power, units["power"]),
        )
        for point in points
    )


def is_blank(row: Row) -> bool:
    """Whether nothing stands in a row."""
    return all(not entry.text for entry in row)


def read(rows: Sequence[Row], speed: float, units: Units) -> Reading:
    """Read the rows as a curve measured at a speed. Blank rows are passed over."""
    faults: list[Note] = []
    points: list[FanPoint] = []
    places: list[int] = []
    for i, row in enumerate(rows):
        found = list(_faults_of(i, row, units)) if not is_blank(row) else []
        faults.extend(found)
        if not found and not is_blank(row):
            flow, pressure, power = (entry.value for entry in row)
            points.append(FanPoint.model_validate({"flow": flow, "pressure": pressure, "power": power}))
            places.append(i)
    curve = None
    try:
        curve = FanTable(speed=speed, points=tuple(points))
    except ValidationError as error:
        # a row that cannot be read yet may be the very one that is missing
        if len(points) > 1 or not faults:
            faults.extend(_placed(fault, places) for fault in faults_in(error))
    return Reading(None if faults else curve, tuple(places), tuple(faults))


def _faults_of(i: int, row: Row, units: Units) -> Iterable[Note]:
    for kind, entry in zip(KINDS, row, strict=True):
        if entry.fault:
            yield Note((i,), sentence(f"row {i + 1}, {kind}: {entry.fault[:1].lower()}{entry.fault[1:]}"))
        elif entry.value is None and not field_facts(FanPoint, kind).optional:
            yield Note((i,), f"Row {i + 1} has no {kind} yet.", waiting=True)
        elif entry.value is not None and (limit := _beyond(kind, entry.value, units[kind])):
            yield Note((i,), sentence(f"row {i + 1}: the {kind} must be {limit}"))


def _beyond(kind: Kind, value: float, unit: str) -> str:
    facts = field_facts(FanPoint, kind)
    if facts.lower is not None and (value <= facts.lower if facts.lower_open else value < facts.lower):
        return f"{'more than' if facts.lower_open else 'at least'} {written(kind, facts.lower, unit).text} {unit}"
    if facts.upper is not None and value > facts.upper:
        return f"at most {written(kind, facts.upper, unit).text} {unit}"
    return ""


def _placed(fault: Fault, places: Sequence[int]) -> Note:
    """A fault that counts points, counting rows of the table instead: blank rows are no points."""
    waiting = not places or fault.address[-1:] == ("power",)
    if fault.wording is None:
        return Note((), sentence(fault.text), waiting)
    words = fault.wording.with_rows(places)
    # of two rows that disagree it is the latter that is at fault, which stands first
    rows = words.rows if waiting else words.rows[:1]
    return Note(rows, sentence(words.plain()), waiting)


class Draft(Struct, frozen=True):
    """Rows in the making: their texts, the units these stand in, and the curve of the design they began from."""

    rows: tuple[Row, ...]
    units: dict[Kind, str]
    base: FanTable | None

    def reading(self, speed: float) -> Reading:
        """What the rows say."""
        return read(self.rows, speed, self.units)

    def rows_in(self, units: Units) -> tuple[Row, ...]:
        """The rows under other units."""
        rows = self.rows
        for column, kind in enumerate(KINDS):
            if self.units[kind] != units[kind]:
                rows = tuple(_with_cell(row, column, in_unit(kind, row[column], units[kind])) for row in rows)
        return rows

    def rebased(self, present: FanTable | None, speed: float) -> Draft | None:
        """The same rows over the design's present curve; None when the design has moved to something else."""
        if present == self.base:
            return self
        return Draft(self.rows, self.units, present) if present == self.reading(speed).curve else None


def _with_cell(row: Row, column: int, entry: Entry) -> Row:
    cells = list(row)
    cells[column] = entry
    return cells[0], cells[1], cells[2]


def curve_at(fan: FanRecord, speed: float) -> FanTable | None:
    """The fan's curve measured at a speed, if there is one."""
    return next((table for table in fan.curves if table.speed == speed), None)


def with_curves(fan: FanRecord, curves: Iterable[FanTable]) -> FanRecord:
    """The fan with curves added, or put in the place of those of the same speed. ValidationError if it is no fan."""
    by_speed = {table.speed: table for table in (*fan.curves, *curves)}
    return with_value(fan, ("curves",), tuple(by_speed[speed] for speed in sorted(by_speed)))


def without_curve(fan: FanRecord, speed: float) -> FanRecord:
    """The fan without its curve at a speed. ValidationError if it is no fan then."""
    return with_value(fan, ("curves",), tuple(table for table in fan.curves if table.speed != speed))


def fan_change(name: str, change: Callable[[FanRecord], FanRecord]) -> Callable[[Design], Design]:
    """A change of one fan as a change of the design. ValueError when the design has no fan of that name."""

    def apply(design: Design) -> Design:
        fan = next((fan for fan in design.fans if fan.name == name), None)
        if fan is None:
            raise ValueError(f"there is no fan called '{name}' any more")
        changed = change(fan)
        design = replace_fan(design, name, changed)
        # a speed to which the fan can no longer be set becomes the nearest it can
        moved = design.fan == changed.name and changed.lowest_speed != fan.lowest_speed
        return choose_fan(design, design.fan) if moved else design

    return apply


def starter_fan(round_in: RoundIn = metric) -> FanRecord:
    """A fan to begin from: two points that claim nothing, and no speed control until one is named."""
    most = round_in("flow", 100.0 * CFM, 0.05)
    points = (
        FanPoint(flow=0.0, pressure=round_in("pressure", 0.4 * INCH_WATER, 100.0)),
        FanPoint(flow=most, pressure=0.0),
    )
    return begun(
        FanRecord,
        round_in,
        name="New fan",
        note="Two placeholder points: replace them with the data-sheet curve.",
        invented=True,
        control="none",
        curves=(FanTable(points=points),),
    )
