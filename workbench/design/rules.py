"""Rules of a place, as rows the user chooses, adds to and edits, and what was entered to hold them against."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Literal

from msgspec import Struct
from pydantic import BeforeValidator, Field

from workbench.design.catalogue import rule_tables
from workbench.design.record import Record, choice, several, text


class Subject(Struct, frozen=True):
    """What a rule can be about: in words, with the dimension its values are shown in, or None for yes and no."""

    text: str
    dimension: str | None


SUBJECTS: Mapping[str, Subject] = {
    "outlet_above_ground": Subject("discharge height above grade", "length"),
    "outlet_above_roof": Subject("discharge height above the roof", "length"),
    "outlet_beside_eaves": Subject("discharge of an outside-routed pipe above the eave", "length"),
    "outlet_to_opening": Subject("discharge distance from doors and windows", "length"),
    "outlet_above_opening": Subject("discharge height above the nearest opening", "length"),
    "outlet_to_neighbor": Subject("discharge distance from openings of adjacent buildings", "length"),
    "outlet_from_vertical": Subject("discharge angle from vertical", "angle"),
    "outlet_rain_cap": Subject("rain cap on the discharge", None),
    "outlet_mesh_opening": Subject("mesh opening size", "small_length"),
    "pit_volume": Subject("volume of the smallest pit", "volume"),
    "pit_depth": Subject("depth of the pit below the slab", "small_length"),
    "pit_pore_area_ratio": Subject("open pore area of the pit wall / pipe area", "ratio"),
    "pipe_bore": Subject("smallest pipe inside diameter", "small_length"),
    "velocity_condensate": Subject("highest pipe velocity", "velocity"),
    "velocity_rush": Subject("velocity at the discharge", "velocity"),
    "slope": Subject("slope of horizontal pipe back to the pit", "fraction"),
    "water_traps": Subject("low points that can trap water", "count"),
    "support_spacing_level": Subject("support spacing, horizontal pipe", "length"),
    "support_spacing_standing": Subject("support spacing, vertical pipe", "length"),
    "fan_outside_conditioned_space": Subject("fan located outside, and not under, conditioned space", None),
    "fan_runs_always": Subject("fan runs continuously", None),
    "suction_on_the_day": Subject("suction at the weakest hole on the day of the work", "hole_pressure"),
    "suction_on_the_worst_day": Subject("suction at the weakest hole on the worst day", "hole_pressure"),
    "suction_at_point": Subject("suction at the suction point", "pressure"),
    "test_holes": Subject("test holes", "count"),
    "test_holes_per_slab": Subject("test holes in every slab", "count"),
    "monitor_display": Subject("system monitor marked with the start-up reading", None),
    "monitor_alert": Subject("active alarm on loss of suction", None),
    "monitor_change": Subject("gauge change that calls for service", "fraction"),
    "retest_interval": Subject("radon retest interval", "duration"),
    "system_flow": Subject("flow of the whole system", "flow"),
    "slab_area": Subject("area of the slab", "area"),
    "roof_slope": Subject("roof pitch", "fraction"),
    "ground_is_tight": Subject("tight ground", None),
}
"""Everything the rule sheets may speak of, by key."""

_SI: Mapping[str, str] = {
    "length": "m",
    "small_length": "m",
    "volume": "m3",
    "flow": "m3/s",
    "pressure": "Pa",
    "hole_pressure": "Pa",
    "velocity": "m/s",
    "angle": "rad",
    "duration": "s",
    "area": "m2",
}


def subject_of(key: str, unit: str = "") -> Subject:
    """The subject of a key; one that is not known here is named by its key and shown by its unit."""
    known = SUBJECTS.get(key)
    if known is not None:
        return known
    dimension = next((name for name, symbol in _SI.items() if unit and symbol == unit), "ratio")
    return Subject(key.replace("_", " "), dimension)


def si_unit(dimension: str | None) -> str:
    """How a sheet writes the SI unit of a dimension; nothing for plain numbers and yes or no."""
    return _SI.get(dimension or "", "")


_RENAMED: Mapping[str, str] = {"suction_weakest": "suction_on_the_worst_day"}
"""Keys of older files; each was judged as the one that now stands for it."""


def _key(given: Any) -> Any:
    return _RENAMED.get(given, given) if isinstance(given, str) else given


Key = Annotated[str, BeforeValidator(_key)]
Comparison = Literal["at least", "at most", "above", "is"]
Number = bool | float


class When(Record):
    """The case a rule is for."""

    quantity: str = text("Quantity", least=1)
    comparison: Comparison = choice("Comparison")
    value: Number = Field(title="Value")
    unit: str = text("Unit", default="")


class Rule(Record):
    """One limit: what, value with unit, whose it is, and whether it is asked or advised."""

    key: Key = text("Subject", least=1)
    what: str = text("What", least=1)
    value: Number = Field(title="Value")
    unit: str = text("Unit", default="")
    comparison: Comparison = choice("Comparison")
    when: When | None = None
    source: str = text("Source", least=1)
    edition: str = text("Edition", default="")
    place: str = text("Place", default="")
    kind: Literal["requirement", "advice"] = choice("Kind", default="requirement")
    tag: str = text("How it is known", default="own")


class RuleSheet(Record):
    """Rules of one place and edition."""

    title: str = text("Title", least=1)
    place: str = text("Place", default="")
    note: str = text("Note", default="")
    rules: tuple[Rule, ...] = several("Rules", "rules", default=())


class Entered(Record):
    """A value the design itself does not hold, entered for the rules: a height, a distance, yes or no."""

    key: Key = text("Subject", least=1)
    value: Number = Field(title="Value")


def rule_sheets() -> dict[str, RuleSheet]:
    """Sheets that come along, by title."""
    found: dict[str, RuleSheet] = {}
    for table in rule_tables():
        rules: Any = table.pop("rule", ())
        sheet = RuleSheet.model_validate({**table, "rules": rules})
        found[sheet.title] = sheet
    return found
