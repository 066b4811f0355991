"""What was typed into the cells of test holes and taken by the design, should its answer turn out not to exist.

Nothing here knows Qt.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from workbench.design.design import Design
from workbench.design.record import Address, Gone, value_at

Row = tuple[str, int]
"""A row that is typed into: name of its hole, "" for the one yet to be named, and position of its reading."""


class Typed(Struct):
    """A cell that was typed into: its text, what that was read as, and what is wrong with it."""

    text: str
    value: Any = None
    fault: str = ""


class _Taken(Struct, frozen=True):
    value: Any
    cells: dict[str, Typed]
    key: str


class Taken:
    """Cells by the address of what they became, kept as they were typed."""

    def __init__(self) -> None:
        self._by_address: dict[Address, _Taken] = {}

    def note(self, address: Address, value: Any, cells: dict[str, Typed], key: str) -> None:
        """Keep cells that become `value` at an address: of holes or of readings the last one. `key` was typed last."""
        self._by_address[address] = _Taken(value, {of: replace(cell) for of, cell in cells.items()}, key)

    def clear(self) -> None:
        """Keep none."""
        self._by_address.clear()

    def back(
        self, places: Collection[Address], design: Design, sentence: str
    ) -> Iterator[tuple[Row, dict[str, Typed]]]:
        """Rows and cells that became what stands in a design at some places, with why it cannot stay there."""
        for place in places:
            taken = self._by_address.pop(place, None)
            if taken is None:
                continue
            try:
                stands = value_at(design, place)
            except Gone:
                continue
            listed = place[-1] in ("holes", "readings")
            if listed and stands:
                stands = stands[-1].name if place[-1] == "holes" else stands[-1]
            if stands == taken.value:
                taken.cells[taken.key].fault = sentence
                yield _row_of(place, design), taken.cells


def _row_of(place: Address, design: Design) -> Row:
    if place == ("holes",):
        return "", 0
    hole = design.holes[int(place[1])]
    if place[-1] == "readings":
        return hole.name, len(hole.readings) - 1
    return hole.name, int(place[3]) if place[2] == "readings" else 0
