"""What is wrong with an entry, in words, and where it stands."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from msgspec import Struct
from msgspec.structs import replace
from pydantic import ValidationError

from workbench.design.capacity import CAPACITIES, beyond, limit_of
from workbench.design.record import Address, pointer
from workbench.design.wording import Wording, fill

_WORDS = {
    "missing": "is missing",
    "extra_forbidden": "is not known here",
    "greater_than": "must be greater than {gt}",
    "greater_than_equal": "must be at least {ge}",
    "less_than": "must be less than {lt}",
    "less_than_equal": "must be at most {le}",
    "finite_number": "must be a finite number",
    "float_type": "must be a number",
    "float_parsing": "must be a number",
    "int_type": "must be a whole number",
    "int_parsing": "must be a whole number",
    "int_from_float": "must be a whole number",
    "string_type": "must be a text",
    "string_too_short": "must not be empty",
    "bool_type": "must be true or false",
    "bool_parsing": "must be true or false",
    "tuple_type": "must be a list",
    "literal_error": "must be one of {expected}",
    "model_type": "must be an object with named fields",
    "model_attributes_type": "must be an object with named fields",
    "union_tag_invalid": "has a kind that is not known here: {tag}",
    "union_tag_not_found": "does not say of which kind it is",
    "too_short": "needs at least {min_length}",
    "too_long": "holds more than {max_length}",
    "string_too_long": "is longer than {max_length} letters",
}

_EITHER = {"bool", "float"}
"""What pydantic adds to the place of a value that may be one or the other: a fault for each it is not."""

_TAGS = {"suction point", "junction", "step test", "ground class", "resistance"}


class Fault(Struct, frozen=True):
    """A sentence about the value at an address; where it speaks of rows or counts, `wording` holds them as values.

    `limit` is the key of the capacity (`design/capacity.py`) that is exceeded; empty for any other fault.
    """

    address: Address
    text: str
    wording: Wording | None = None
    limit: str = ""

    @classmethod
    def beyond(cls, address: Address, limit: str, count: int | None = None) -> Fault:
        """More than can be taken, and how many where that is known."""
        wording = beyond(limit, count)
        return cls(address, wording.plain(), wording, limit)

    @classmethod
    def of_rows(cls, address: Address, template: str, *rows: int) -> Fault:
        """A fault whose template has a place for each of some rows, counted from 0."""
        wording = Wording(template, tuple((row, "row") for row in rows))
        return cls(address, wording.plain(), wording)

    @property
    def place(self) -> str:
        """Address as a line of text, positions counted from 1."""
        return "/".join(str(step + 1) if isinstance(step, int) else step for step in self.address) or "the whole"

    @property
    def pointer(self) -> str:
        """Address as a JSON Pointer, positions counted from 0, from where the address begins."""
        return pointer(self.address)

    def __str__(self) -> str:
        return f"{self.place}: {self.text}"


class FaultsBetween(ValueError):
    """What is wrong between parts of a record, each named with its place in that record; for its validator to raise."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        super().__init__("; ".join(fault.text for fault in faults))
        self.faults = tuple(faults)


def faults_in(refusal: ValidationError, *, at: Address = ()) -> list[Fault]:
    """All faults of a failed validation, in the order of the entries.

    `at` is the address of the record that was being validated.
    """
    found: list[Fault] = []
    items = refusal.errors(include_url=False, include_input=False)
    for item in items:
        if item["type"] == "too_short" and any(_inside(other["loc"], item["loc"]) for other in items):
            # the list is only too short for want of the entry that is at fault itself
            continue
        # the tag of a discriminated union stands in pydantic's place but not in the design
        place = tuple(step for step in item["loc"] if step not in _TAGS)
        context = item.get("ctx", {})
        if limit := _limit_broken(item["type"], place, context):
            # how many there are is not known: counting ended there
            found.append(Fault.beyond((*at, *place), limit))
            continue
        if item["type"] == "value_error":
            error = context["error"]
            if isinstance(error, FaultsBetween):
                found += [replace(fault, address=(*at, *place, *fault.address)) for fault in error.faults]
                continue
            text = str(error)
        elif item["type"] in _WORDS:
            text = fill(_WORDS[item["type"]], {key: _limit(value) for key, value in context.items()})
        else:
            text = item["msg"][0].lower() + item["msg"][1:]
        if place and place[-1] in _EITHER:
            place = place[:-1]
            if found and found[-1].address == (*at, *place):
                text = f"{found.pop().text}, or {text}"
        found.append(Fault((*at, *place), text))
    return found


def _limit_broken(kind: str, place: Address, context: Mapping[str, Any]) -> str:
    if kind == "too_long":
        named = [step for step in place if isinstance(step, str)]
        return limit_of(named[-1], context["max_length"]) if named else ""
    return "letters" if kind == "string_too_long" and context["max_length"] == CAPACITIES["letters"].most else ""


def _limit(value: object) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)


def _inside(place: Address, outer: Address) -> bool:
    return len(place) > len(outer) and place[: len(outer)] == outer
