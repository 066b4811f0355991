"""Rules of a place, as rows the user chooses, adds to and edits, and what was entered to hold them against."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import Field

from workbench.design.catalogue import rule_tables
from workbench.design.record import Record, choice, several, text

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

    key: str = text("Subject", least=1)
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
    rules: tuple[Rule, ...] = several("Rules", default=())


class Entered(Record):
    """A value the design itself does not hold, entered for the rules: a height, a distance, yes or no."""

    key: str = text("Subject", least=1)
    value: Number = Field(title="Value")


def rule_sheets() -> dict[str, RuleSheet]:
    """Sheets that come along, by title."""
    found: dict[str, RuleSheet] = {}
    for table in rule_tables():
        rules: Any = table.pop("rule", ())
        sheet = RuleSheet.model_validate({**table, "rules": rules})
        found[sheet.title] = sheet
    return found
