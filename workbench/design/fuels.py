"""Heating fuels and the energy in them, read from the table in `data/`."""

from __future__ import annotations

from functools import cache
from typing import Literal

from msgspec import Struct

from workbench.design.tables import table


class Fuel(Struct, frozen=True):
    """A fuel: gross heating value `heat` [kWh/m3], carbon dioxide of burning it `co2` [kg/kWh], gas or liquid."""

    key: str
    name: str
    state: Literal["gas", "liquid"]
    heat: float
    printed: str
    co2: float
    co2_printed: str
    source: str
    edition: str
    place: str
    tag: str

    @property
    def credit(self) -> str:
        """The heating value as its source prints it, and the source, in one line."""
        return f"{self.printed}: {self.source}, {self.edition} ({self.tag})"


@cache
def fuel_kinds() -> dict[str, Fuel]:
    """Fuels by key."""
    return {row["key"]: Fuel(**row) for row in table("fuels")["fuel"]}
