"""Sentences with places for values: what a person entered is a value too, and is never read as part of a sentence."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence

from msgspec import Struct

Value = tuple[float | str, str]
"""A number in SI with its dimension, a text of kind "name", a row counted from 0 of kind "row", or a whole "count"."""

Write = Callable[[float, str], str]
"""Writes a number of a dimension in the units of the reader."""

_PLACE = re.compile(r"\{(\w+)\}")


def fill(template: str, texts: Mapping[str, str]) -> str:
    """A template with a text in each of its places, once: braces in a text stay as they are. KeyError if one lacks."""
    return _PLACE.sub(lambda place: texts[place[1]], template)


def sentence(text: str) -> str:
    """Words with a capital before, and a full stop after unless a mark stands there; nothing stays nothing."""
    return f"{text[:1].upper()}{text[1:]}{'' if text.endswith(('.', '?', '!')) else '.'}" if text else ""


def counted(number: int, thing: str) -> str:
    """So many of a thing whose plural ends in s."""
    return f"{number} {thing}{'' if number == 1 else 's'}"


def name(text: str) -> Value:
    """A text that stands in a sentence as it is."""
    return (text, "name")


class Wording(Struct, frozen=True):
    """A template, with {0}, {1}... where `values` belong. Nothing that a person entered may stand in the template."""

    template: str
    values: tuple[Value, ...] = ()

    def text(self, write: Write) -> str:
        """The words, numbers written by `write(value, dimension)`, names as they are, rows counted from 1."""
        texts = {str(i): _written(value, write) for i, value in enumerate(self.values)}
        template = self.template
        for i, (what, _) in enumerate(self.values):
            if not isinstance(what, str) and texts[str(i)].endswith("."):
                # the full stop of a unit is that of the sentence too
                template = re.sub(rf"(\{{{i}\}})\.(?=\s|$)", r"\1", template)
        return fill(template, texts)

    def plain(self) -> str:
        """Words that hold names, rows and counts. TypeError where one holds a number, whose unit is the reader's."""
        return self.text(_refuse)

    def then(self, template: str, *values: Value) -> Wording:
        """These words with more after them, whose own places are counted from {0} anew."""
        start = len(self.values)
        moved = _PLACE.sub(lambda place: f"{{{start + int(place[1])}}}", template)
        return Wording(self.template + moved, self.values + values)

    def joined(self, other: Wording) -> Wording:
        """These words with others after them."""
        return self.then(other.template, *other.values)

    @property
    def rows(self) -> tuple[int, ...]:
        """The rows that are named, counted from 0."""
        return tuple(int(value) for value, kind in self.values if kind == "row")

    def with_rows(self, rows: Sequence[int]) -> Wording:
        """The same words where what was row i is now row `rows[i]`."""
        moved = ((rows[int(value)], kind) if kind == "row" else (value, kind) for value, kind in self.values)
        return Wording(self.template, tuple(moved))


def _written(value: Value, write: Write) -> str:
    what, kind = value
    if isinstance(what, str):
        return what
    if kind == "count":
        return f"{int(what):,}"
    return str(int(what) + 1) if kind == "row" else write(what, kind)


def _refuse(value: float, dimension: str) -> str:
    raise TypeError(f"{value} is a {dimension}: say in which units to write it")
