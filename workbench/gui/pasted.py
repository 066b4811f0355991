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
    first = _cells(lines[0][1])
    if not any(character.isdigit() for character in re.sub(_UNIT_IN_TITLE, "", " ".join(first))):
        units = [_unit_of_title(cell) for cell in first[: len(columns)]]
        units += [""] * (len(columns) - len(units))
        lines = lines[1:]
    if not lines:
        raise ValueError("There are titles but no readings under them.")
    return [_row(n, _cells(line), columns, units, system, needed) for n, line in lines]


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
        # a cell may carry its own unit; a title's unit is only for bare numbers
        given = cell if not units[i] or re.search(r"[^\d\s.,eE+\-−]", cell) else f"{cell} {units[i]}"
        try:
            values.append(parse_quantity(given, dimension, system))
        except UnitError as refusal:
            raise ValueError(f"Row {number}, {title.lower()}: {refusal}") from refusal
    return tuple(values)


def _cells(line: str) -> list[str]:
    for mark in ("\t", ";"):
        if mark in line:
            return [cell.strip() for cell in line.split(mark)]
    wide = re.split(r"\s{2,}", line.strip())
    return wide if len(wide) > 1 else line.split()


def _unit_of_title(title: str) -> str:
    match = _UNIT_IN_TITLE.search(title)
    return (match.group(1) or match.group(2)).strip() if match is not None else ""
