"""What a paper is made of: blocks of plain text and figures, the same for every form it is written in.

A text is data wherever it goes: no form reads a mark-up, a formula or a command in it.
"""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

Role = Literal["body", "lead", "note", "bar"]
"""Running text, a larger line that leads, small print, and text with a bar at its side."""
Align = Literal["left", "right"]


class Block(Struct, frozen=True, tag=True, tag_field="kind"):
    """Base of all that stands on a paper."""


class Span(Struct, frozen=True):
    """A piece of a text."""

    text: str
    bold: bool = False


class Heading(Block, frozen=True):
    """Over what follows, and kept with it."""

    text: str


class Text(Block, frozen=True):
    """A paragraph."""

    spans: tuple[Span, ...]
    role: Role = "body"


class Figure(Block, frozen=True):
    """A drawing as SVG, `width` by `height` points, and in words what it shows."""

    svg: str
    width: float
    height: float
    alt: str


class Verdict(Block, frozen=True):
    """The framed verdict: a mark of its own shape, the words and what they rest on."""

    mark: str
    title: str
    text: str
    figure: Figure | None = None


class Big(Block, frozen=True):
    """One number larger than all else."""

    before: str
    number: str
    unit: str


class Tile(Struct, frozen=True):
    """A number with its name over it and what goes with it beneath."""

    label: str
    value: str
    note: str = ""
    fine: str = ""


class Tiles(Block, frozen=True):
    """Numbers side by side; `large` ones stand in the size of a title."""

    tiles: tuple[Tile, ...]
    large: bool = False


class Facts(Block, frozen=True):
    """Names with what was entered for each, side by side."""

    facts: tuple[tuple[str, str], ...]


class Column(Struct, frozen=True):
    """A column of a table: its title, the unit beneath, and its part of the breadth, 0 for what it needs."""

    title: str
    unit: str = ""
    align: Align = "left"
    share: float = 0.0


class Cell(Struct, frozen=True):
    """A cell as it is read; `small` stands beneath, `number` is the value in the unit shown, `box` is to be filled."""

    text: str = ""
    bold: bool = False
    small: str = ""
    number: float | None = None
    box: bool = False


class Table(Block, frozen=True):
    """Rows under columns. `name` is that of its sheet, `marked` the row that is set off, `total` a sum at the end.

    `pencil` asks for rows that can be written in by hand.
    """

    name: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    marked: int | None = None
    total: bool = False
    pencil: bool = False


class Checks(Block, frozen=True):
    """Things to tick off."""

    items: tuple[str, ...]
    columns: int = 1


class Bullets(Block, frozen=True):
    """Short statements, one a line."""

    items: tuple[str, ...]


class Blank(Struct, frozen=True):
    """A line to write on, with its name before it and its part of the breadth."""

    label: str
    share: float = 1.0


class Blanks(Block, frozen=True):
    """Lines to write on, side by side."""

    blanks: tuple[Blank, ...]


class Columns(Block, frozen=True):
    """Blocks side by side, the left ones over `share` of the breadth; `framed` draws a frame round both."""

    left: tuple[Block, ...]
    right: tuple[Block, ...]
    share: float = 0.5
    framed: bool = False


class Break(Block, frozen=True):
    """A new page begins here."""


class Maker(Struct, frozen=True):
    """Who makes the papers, as entered; `logo` is the checked picture with its kind, png or svg."""

    name: str = ""
    license: str = ""
    logo: bytes = b""
    logo_kind: str = ""


class Paper(Struct, frozen=True):
    """A whole paper. `size` is that of its body in points, `invented` that its figures are of no real house.

    `ruled` sets its parts off by a line over each heading, in a paper of many. `sheets` are tables of the workbook
    alone, into which is typed what the printed form is written on.
    """

    key: str
    title: str
    subtitle: str
    date: str
    maker: Maker
    blocks: tuple[Block, ...]
    footer: str
    invented: bool = False
    size: float = 10.0
    ruled: bool = False
    sheets: tuple[Table, ...] = ()


def spans(text: str) -> tuple[Span, ...]:
    """A text without bold pieces."""
    return (Span(text),)


def note(text: str) -> Text:
    """Small print."""
    return Text(spans(text), "note")


def body(text: str) -> Text:
    """A paragraph."""
    return Text(spans(text))
