"""The sheet of a workbook into which the readings of a visit are typed, to be read back."""

from __future__ import annotations

from typing import Any

from workbench.design.design import Design
from workbench.files.visit_sheet import HEADINGS, SHEET, form_rows
from workbench.papers.blocks import Cell, Column, Table
from workbench.units import System


def readings_sheet(system: System, *, kind: str, design: Design | None = None) -> Table:
    """A blank form; with a design its suction points and test holes are named on it."""
    named: dict[str, Any] = {}
    if design is not None:
        named = {
            "points": [point.name for _, point in design.suction_points()],
            "holes": [hole.name for hole in design.holes] or [""],
        }
    rows = tuple(
        (Cell(what), Cell(where), Cell(known, box=not known), Cell(unit), Cell())
        for what, where, known, unit in form_rows(system, kind=kind, **named)
    )
    return Table(SHEET, tuple(Column(title) for title in HEADINGS), rows)
