"""Readings of gauges in tables: with suction positive, or with minus for suction as gauges show it."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

from workbench.gui.kit.fields import SwitchEdit
from workbench.units import MINUS, System, as_read


def minus_switch() -> SwitchEdit:
    """The switch beside a table of readings."""
    switch = SwitchEdit("Minus is suction, as on the gauge")
    switch.set_hint("Turns the sign of readings as they are shown and typed; nothing that was entered changes.")
    return switch


def reading_title(title: str, system: System) -> str:
    """The heading of a column of readings; where minus is suction a line of it says so."""
    return f"{title}\n{MINUS} suction" if system.minus_is_suction else title


def suctions_of(row: Mapping[str, Any], keys: Collection[str], system: System) -> dict[str, Any]:
    """A row as it was read, those of its readings under `keys` as suctions."""
    return {key: as_read(value, system) if key in keys else value for key, value in row.items()}
