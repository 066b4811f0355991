"""Rows of the table of test holes: a hole with its figures, and beneath an opened one its readings.

Nothing here knows Qt.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from typing import Final, Literal

from msgspec import Struct

from workbench.design.slab import TestHole
from workbench.gui.floor.holes_draft import KEYS
from workbench.solving.outcome import Holding

Kind = Literal["hole", "titles", "reading"]
Order = Literal["weakest", "entered"]

READING_KEYS: Final = KEYS[1:]
"""What the columns hold in the row of a reading."""
NAME, LATEST, NOW, WORST, VERDICT = range(5)
"""Columns in the row of a hole; its verdict takes the rest of the row."""


class Line(Struct, frozen=True):
    """A row: a hole by position and name, None and "" for the one yet to be named, and the position of a reading."""

    kind: Kind
    hole: int | None
    name: str
    reading: int = 0

    def key(self, column: int) -> str:
        """What a cell of it is typed as; empty for one that is only read."""
        if self.kind == "reading":
            return READING_KEYS[column]
        return "name" if self.kind == "hole" and column == NAME else ""


def lay(
    holes: Sequence[TestHole], order: Sequence[str], opened: Collection[str], counts: Mapping[str, int]
) -> list[Line]:
    """The rows: holes in order, under each opened one its titles and `counts` rows of readings; last the new hole."""
    positions = {hole.name: h for h, hole in enumerate(holes)}
    lines = []
    for name in [*order, ""]:
        lines.append(Line("hole", positions.get(name), name))
        if name in opened:
            lines.append(Line("titles", positions.get(name), name))
            lines += [Line("reading", positions.get(name), name, r) for r in range(counts[name])]
    return lines


def weakest_first(holding: Holding | None, entered: Sequence[str]) -> list[str]:
    """Names of the holes, those with least suction on the worst day first, then those of which nothing is known."""
    known = {state.name: state.worst for state in holding.holes if state.known} if holding is not None else {}
    return sorted(entered, key=lambda name: math.inf if math.isnan(known.get(name, math.nan)) else known[name])


def carried_on(order: Sequence[str], before: Sequence[str], after: Sequence[str]) -> tuple[list[str], dict[str, str]]:
    """An order after an edit: a renamed hole keeps its row, a new one goes last; and the names that were changed."""
    renamed = {}
    if len(before) == len(after):
        renamed = {old: new for old, new in zip(before, after, strict=True) if old not in after and new not in before}
    kept = [renamed.get(name, name) for name in order]
    there = [name for name in kept if name in after]
    return there + [name for name in after if name not in there], renamed
