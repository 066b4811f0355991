"""Suctions that somebody asks to be held under a slab, read from the table in `data/`."""

from __future__ import annotations

from functools import cache

from msgspec import Struct

from workbench.design.tables import table


class TargetKind(Struct, frozen=True):
    """A figure and whose it is: `value` [Pa] is the careful end of what is said, `least` the other.

    `where` is the place it is said of, `condition` the state of house and weather.
    """

    key: str
    value: float
    least: float
    where: str
    condition: str
    kind: str
    source: str
    edition: str
    place: str
    tag: str

    @property
    def credit(self) -> str:
        """Source, edition and place in one line, as it is entered beside the figure."""
        dated = self.source if self.edition == "undated" else f"{self.source}, {self.edition}"
        return dated if self.place == "anywhere" else f"{dated} ({self.place})"


@cache
def target_kinds() -> dict[str, TargetKind]:
    """Figures by key, those for a suction point among them."""
    return {
        row["key"]: TargetKind(**(row | {"value": max(row["value"]), "least": min(row["value"])}))
        for row in table("targets")["target"]
    }


def target_kind_of(suction: float, source: str) -> TargetKind | None:
    """The row an entered target was taken from, by its figure and the source it names; None for a user's own."""
    found = (kind for kind in target_kinds().values() if kind.value == suction and kind.source in source)
    return next(found, None)
