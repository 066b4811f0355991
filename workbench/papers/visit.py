"""The visit sheet: a blank form, carried to the house, for all that is typed in afterwards."""

from __future__ import annotations

from collections.abc import Callable

from workbench.design.catalogue import appliance_kinds, cautions, fill_kinds
from workbench.papers.blocks import (
    Blank,
    Blanks,
    Block,
    Cell,
    Checks,
    Column,
    Columns,
    Heading,
    Maker,
    Paper,
    Table,
    note,
)
from workbench.papers.matter import hand_lines
from workbench.papers.readings import readings_sheet
from workbench.papers.sketch import Sketch
from workbench.units import Dimension, System, unit_of

_HOLES = "ABCDEFGH"
_STEPS = ("1", "2", "3")
_PHOTOS = (
    "suction hole",
    "each test hole",
    "pipe route",
    "fan place",
    "roof, outlet",
    "windows near it",
    "burners, vents",
    "electric supply",
    "gauges read",
)


def visit(system: System, maker: Maker) -> Paper:
    """The form in a set of units; nothing of a design stands on it, nor any figure or date."""

    def unit(dimension: Dimension) -> str:
        return unit_of(dimension, system).label

    sign = "Minus is suction." if system.minus_is_suction else "Suction is positive, below the room."
    footer = f"{cautions()['drilling'].text} {cautions()['suspect-materials'].text}"
    blocks: tuple[Block, ...] = (
        Blanks((Blank("Client", 1.2), Blank("Address", 1.7), Blank("Date", 0.8))),
        Blanks(
            (
                Blank("By", 1.4),
                Blank(f"Outdoor air, {unit('temperature')}"),
                Blank(f"Indoor air, {unit('temperature')}"),
                Blank("Wind"),
                Blank("Stories", 0.8),
            )
        ),
        Columns(_plan(unit("length")), _tests(unit), 0.585),
        Heading("Test holes: readings in " + unit("hole_pressure")),
        _holes(unit("length")),
        Heading("Slab, fill and footings"),
        Blanks(
            (
                Blank(f"Slab, {unit('small_length')}", 0.7),
                Blank(f"Fill depth, {unit('small_length')}", 0.9),
                Blank("Footings, drains, sump", 1.6),
            )
        ),
        Checks((*fill_kinds(), "unknown"), 4),
        Blanks(
            (
                Blank(f"Joints and cracks: width {unit('small_length')}, length {unit('length')}", 1.5),
                Blank(f"Blower door: leakage area, {unit('leak_area')}"),
            )
        ),
        Columns(
            _burners(),
            (
                Heading("Photos to take"),
                Checks(_PHOTOS, 3),
                Blanks((Blank(f"All exhausts, {unit('flow')}"), Blank(f"Fan to bed, {unit('length')}"))),
            ),
            0.42,
        ),
    )
    subtitle = f"All that is written here is asked for later. {sign}"
    sheets = (readings_sheet(system, kind="diagnostic"),)
    return Paper("visit", "Visit sheet", subtitle, "", maker, blocks, footer, size=10.0, sheets=sheets)


def _plan(length: str) -> tuple[Block, ...]:
    sketch = Sketch(285.0, 171.0)
    hand_lines(sketch, 285.0, 171.0, 5.7, 5)
    sketch.circle((264.0, 20.0), 11.0, 0.8, fill="#FFFFFF")
    sketch.text((264.0, 23.4), "N ?", 9.0, anchor="middle")
    figure = sketch.figure("Squared paper for the plan of the floor, with a circle for north")
    return (
        Heading("Plan"),
        figure,
        Blanks((Blank(f"Heavy square, {length}"), Blank(f"Floor area, {length}²"))),
        note(
            "Draw: outline, footings dashed, joints, cracks, drains, sump, riser; "
            "⊙ suction point, ◉ test holes with letters."
        ),
    )


def _tests(unit: Callable[[Dimension], str]) -> tuple[Block, ...]:
    pressure, flow, holes = unit("pressure"), unit("flow"), unit("hole_pressure")
    box = Cell(box=True)
    steps = Table(
        "Communication test",
        (
            Column("", share=0.7),
            Column("Suction at the point", pressure, share=1.2),
            Column("Airflow", flow, share=1.0),
        ),
        ((Cell("At rest"), box, Cell("–")), *((Cell(f"Suction {step}"), box, box) for step in _STEPS)),
        pencil=True,
    )
    house = Table(
        "House draw-down",
        (Column("Room against outdoors", share=1.5), Column(holes, share=1.0)),
        tuple((Cell(what), box) for what in ("All off", "Every exhaust on", "And furnace blower")),
        pencil=True,
    )
    return (
        Heading("Communication test"),
        Blanks((Blank(f"Pit in the test, {unit('volume')}", 1.2), Blank("Gauge ±"))),
        steps,
        Heading("House draw-down"),
        house,
        Blanks((Blank("Where and how"),)),
    )


def _holes(length: str) -> Table:
    box = Cell(box=True)
    columns = (
        Column("Hole", share=0.4),
        Column("Place", share=1.7),
        Column("Distance to", f"suction point, {length}", share=0.95),
        Column("At rest", "fan off", share=0.7),
        *(Column("At", f"suction {step}", share=0.75) for step in _STEPS),
        Column("Every", "exhaust on", share=0.75),
    )
    rows = tuple((Cell(hole), *([box] * (len(columns) - 1))) for hole in _HOLES)
    return Table("Test holes", columns, rows, pencil=True)


def _burners() -> tuple[Block, ...]:
    return (
        Heading("Burners in the house"),
        Checks((*appliance_kinds(), "none"), 2),
        Blanks((Blank("Spillage test now"),)),
    )
