"""Rows of quantities out of what a person copied from a spreadsheet or a message."""

from __future__ import annotations

import re
from collections.abc import Sequence

from workbench.units import Dimension, System, UnitError, parse_quantity

_UNIT_IN_TITLE = re.compile(r"[(\[]([^)\]]+)[)\]]\s*$|,\s*([^,\d]+)$")


def looks_like_a_table(text: str) -> bool:
    """Whether a copied text holds more than one value."""
    lines = [line for line in text.splitlines() if line.strip()]
    return len(lines) > 1 or "\t" in text.strip()


def rows_from_text(
    text: str, columns: Sequence[tuple[str, Dimension]], system: System, *, needed: int
) -> list[tuple[float, ...]]:
    """Rows of SI values, one for each line; columns beyond `needed` may be missing and are then left out of the row.

    Cells are parted by tabs, else semicolons, else two blanks or more, else blanks. A first line of titles is read for
    its units, as in ``Flow (cfm)``. Values without a unit are in that of their title, else of `system`.

    Raises
    ------
    ValueError
        With a sentence that names the row (counted as pasted) and says what is wrong.
    """
    lines = [(n, line) for n, line in enumerate(text.splitlines(), start=1) if line.strip()]
    if not lines:
        raise ValueError("There is nothing to paste: copy the cells of the readings first.")
    units = [""] * len(columns)
    first = cells_of(lines[0][1])
    if not any(character.isdigit() for character in re.sub(_UNIT_IN_TITLE, "", " ".join(first))):
        units = [unit_of_title(cell) for cell in first[: len(columns)]]
        units += [""] * (len(columns) - len(units))
        lines = lines[1:]
    if not lines:
        raise ValueError("There are titles but no readings under them.")
    return [_row(n, cells_of(line), columns, units, system, needed) for n, line in lines]


def _row(
    number: int,
    cells: list[str],
    columns: Sequence[tuple[str, Dimension]],
    units: list[str],
    system: System,
    needed: int,
) -> tuple[float, ...]:
    values = []
    for i, (title, dimension) in enumerate(columns):
        cell = cells[i] if i < len(cells) else ""
        if not cell:
            if i < needed:
                raise ValueError(f"Row {number} lacks the {title.lower()}.")
            break
        try:
            values.append(value_of_cell(cell, units[i], dimension, system))
        except UnitError as refusal:
            raise ValueError(f"Row {number}, {title.lower()}: {refusal}") from refusal
    return tuple(values)


def value_of_cell(cell: str, unit: str, dimension: Dimension, system: System) -> float:
    """SI value of a cell under a title with a unit, or none. UnitError with a sentence when it cannot be read."""
    # a cell may carry its own unit; a title's unit is only for bare numbers
    bare = re.search(r"[^\d\s.,eE+\-−]", cell) is None
    return parse_quantity(f"{cell} {unit}" if unit and bare else cell, dimension, system)


def cells_of(line: str) -> list[str]:
    """Cells of a copied line."""
    for mark in ("\t", ";"):
        if mark in line:
            return [cell.strip() for cell in line.split(mark)]
    wide = re.split(r"\s{2,}", line.strip())
    return wide if len(wide) > 1 else line.split()


def unit_of_title(title: str) -> str:
    """The unit that stands in a title, as in ``Flow (cfm)`` or ``Flow, cfm``; empty when there is none."""
    match = _UNIT_IN_TITLE.search(title)
    return (match.group(1) or match.group(2)).strip() if match is not None else ""
