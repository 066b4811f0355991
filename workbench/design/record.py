"""The base of every record, and what a field says about itself.

A field carries its title, its dimension and its limits; editors, the file schema and the messages
about faults are all made from that one declaration.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, TypeVar

from msgspec import Struct
from pydantic import BaseModel, ConfigDict, Field
from pydantic.fields import FieldInfo

from workbench.design.capacity import CAPACITIES

Address = tuple[str | int, ...]
"""Where a value stands in a design: field names and positions, from the design down."""


def pointer(address: Address) -> str:
    """An address as a JSON Pointer (RFC 6901, sections 3 to 5), positions counted from 0; empty for the whole."""
    return "".join("/" + str(step).replace("~", "~0").replace("/", "~1") for step in address)


R = TypeVar("R", bound="Record")
T = TypeVar("T")


class Record(BaseModel):
    """An immutable record compared by value. Unknown fields, NaN and infinity are refused."""

    model_config = ConfigDict(
        frozen=True,
        extra="forbid",
        allow_inf_nan=False,
        validate_default=True,
        str_strip_whitespace=True,
        # built when first checked: the schema of a record is part of those above it, which would each build it again
        defer_build=True,
    )


def quantity(
    title: str,
    dimension: str,
    *,
    help: str = "",
    gt: float | None = None,
    ge: float | None = None,
    lt: float | None = None,
    le: float | None = None,
    default: Any = ...,
) -> Any:
    """Declare a number with a title, a dimension (see `workbench.units`) and limits in SI."""
    return Field(
        default,
        title=title,
        description=help or None,
        gt=gt,
        ge=ge,
        lt=lt,
        le=le,
        json_schema_extra={"dimension": dimension},
    )


def text(title: str, *, help: str = "", least: int = 0, default: Any = ...) -> Any:
    """Declare a line of text."""
    return Field(
        default, title=title, description=help or None, min_length=least, max_length=CAPACITIES["letters"].most
    )


def choice(title: str, *, help: str = "", default: Any = ...) -> Any:
    """Declare one of several words."""
    return Field(default, title=title, description=help or None)


def several(title: str, most: str, *, help: str = "", least: int = 0, default: Any = ...) -> Any:
    """Declare a sequence of records; `most` is the key of how many it may hold."""
    return Field(default, title=title, description=help or None, min_length=least, max_length=CAPACITIES[most].most)


class FieldFacts(Struct, frozen=True):
    """What a field declares about itself, for editors."""

    name: str
    title: str
    help: str
    dimension: str | None
    lower: float | None
    lower_open: bool
    upper: float | None
    upper_open: bool
    optional: bool


def field_facts(record: type[Record], name: str) -> FieldFacts:
    """Read back the declaration of a field. KeyError when there is none."""
    info: FieldInfo = record.model_fields[name]
    extra = info.json_schema_extra if isinstance(info.json_schema_extra, dict) else {}
    lower = upper = None
    lower_open = upper_open = False
    for limit in info.metadata:
        for attribute, is_open in (("ge", False), ("gt", True)):
            if getattr(limit, attribute, None) is not None:
                lower, lower_open = getattr(limit, attribute), is_open
        for attribute, is_open in (("le", False), ("lt", True)):
            if getattr(limit, attribute, None) is not None:
                upper, upper_open = getattr(limit, attribute), is_open
    dimension = extra.get("dimension")
    return FieldFacts(
        name=name,
        title=info.title or name.replace("_", " ").capitalize(),
        help=info.description or "",
        dimension=dimension if isinstance(dimension, str) else None,
        lower=lower,
        lower_open=lower_open,
        upper=upper,
        upper_open=upper_open,
        optional=type(None) in getattr(info.annotation, "__args__", ()),
    )


class Gone(LookupError):
    """Nothing stands at an address, or something else by now, as when an edit comes after its part was taken away."""

    def __init__(self, address: Sequence[str | int]) -> None:
        super().__init__(f"nothing at {'/'.join(map(str, address))}")


def value_at(root: Any, address: Sequence[str | int]) -> Any:
    """Value at an address. Gone when nothing stands there."""
    for step in address:
        root = _below(root, step, address)
    return root


def _below(node: Any, step: str | int, address: Sequence[str | int]) -> Any:
    if isinstance(step, int):
        if not (isinstance(node, Sequence) and not isinstance(node, str) and 0 <= step < len(node)):
            raise Gone(address)
        return node[step]
    if not hasattr(node, step):
        raise Gone(address)
    return getattr(node, step)


def record_at(root: Any, address: Sequence[str | int], kind: type[R]) -> R:
    """The record of a kind at an address. Gone when none of that kind stands there."""
    found = value_at(root, address)
    if not isinstance(found, kind):
        raise Gone(address)
    return found


def item_at(items: Sequence[T], position: int, address: Sequence[str | int]) -> T:
    """One of several at an address, by its position. Gone when there are not so many."""
    if not 0 <= position < len(items):
        raise Gone((*address, position))
    return items[position]


def with_value(root: R, address: Sequence[str | int], value: Any) -> R:
    """Copy of a record with one value replaced, every record on the way validated again.

    Raises
    ------
    pydantic.ValidationError
        When the new value, or a rule that ties it to its neighbours, does not hold.
    Gone
        When there is no such place.
    """
    value_at(root, address)
    return _replace(root, tuple(address), value)  # type: ignore[no-any-return]


def with_values(root: R, address: Sequence[str | int], values: Mapping[str, Any]) -> R:
    """Copy of a record with several values of the record at an address replaced at once.

    Raises
    ------
    pydantic.ValidationError
        When they do not hold together.
    Gone
        When no record stands there.
    """
    here = record_at(root, address, Record)
    fields = {name: getattr(here, name) for name in type(here).model_fields}
    return with_value(root, address, type(here).model_validate(fields | dict(values)))


def differing(before: Any, after: Any, address: Address = ()) -> list[Address]:
    """Addresses of the values in which two records differ; of a sequence that is longer or shorter, its own."""
    if before == after:
        return []
    if isinstance(before, Record) and type(before) is type(after):
        return [
            found
            for name in type(before).model_fields
            for found in differing(getattr(before, name), getattr(after, name), (*address, name))
        ]
    if isinstance(before, tuple) and isinstance(after, tuple) and len(before) == len(after):
        pairs = enumerate(zip(before, after, strict=True))
        return [found for i, (one, other) in pairs for found in differing(one, other, (*address, i))]
    return [address]


def _replace(node: Any, address: Address, value: Any) -> Any:
    if not address:
        return value
    step, rest = address[0], address[1:]
    if isinstance(step, int):
        items = list(node)
        items[step] = _replace(items[step], rest, value)
        return tuple(items)
    fields = {name: getattr(node, name) for name in type(node).model_fields}
    fields[step] = _replace(fields[step], rest, value)
    return type(node).model_validate(fields)
