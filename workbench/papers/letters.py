"""The program's own letters: where they are, which signs they have, and how broad a text is in them."""

from __future__ import annotations

import struct
from functools import lru_cache
from importlib.resources import files
from importlib.resources.abc import Traversable

FAMILY = "Subslab Sans"
_FILES = ("SubslabSans-Regular.ttf", "SubslabSans-Bold.ttf")
_FORMAT = 12
"""Of the map from code points to glyphs: groups of 32 bits, as the OpenType specification numbers them."""


def folder() -> Traversable:
    """The folder of the letters; it lies in the window's kit, which need not be imported for it."""
    return files("workbench").joinpath("gui", "kit", "letters")


def letter_files() -> dict[str, bytes]:
    """Names of the two weights and what is in the files."""
    return {name: folder().joinpath(name).read_bytes() for name in _FILES}


@lru_cache(maxsize=2)
def _advances(bold: bool) -> tuple[dict[int, int], int]:
    """Advance of every code point in units of the em, and the em. Tables by the OpenType specification."""
    data = folder().joinpath(_FILES[bold]).read_bytes()
    tables = {}
    for i in range(struct.unpack(">H", data[4:6])[0]):
        tag, _, offset, _ = struct.unpack(">4sIII", data[12 + 16 * i : 28 + 16 * i])
        tables[tag] = offset
    em = struct.unpack(">H", data[tables[b"head"] + 18 : tables[b"head"] + 20])[0]
    metrics = struct.unpack(">H", data[tables[b"hhea"] + 34 : tables[b"hhea"] + 36])[0]
    at = tables[b"hmtx"]
    widths = [struct.unpack(">H", data[at + 4 * g : at + 4 * g + 2])[0] for g in range(metrics)]
    glyphs = _glyphs(data, tables[b"cmap"])
    return {code: widths[min(glyph, metrics - 1)] for code, glyph in glyphs.items()}, em


def _glyphs(data: bytes, at: int) -> dict[int, int]:
    """Glyph of each code point."""
    found: dict[int, int] = {}
    for i in range(struct.unpack(">H", data[at + 2 : at + 4])[0]):
        start = at + struct.unpack(">I", data[at + 8 + 8 * i : at + 12 + 8 * i])[0]
        kind = struct.unpack(">H", data[start : start + 2])[0]
        if kind == _FORMAT:
            for g in range(struct.unpack(">I", data[start + 12 : start + 16])[0]):
                first, last, glyph = struct.unpack(">III", data[start + 16 + 12 * g : start + 28 + 12 * g])
                found |= {code: glyph + code - first for code in range(first, last + 1)}
        elif kind == 4:
            found |= _segments(data, start)
    return {code: glyph for code, glyph in found.items() if glyph}


def _segments(data: bytes, start: int) -> dict[int, int]:
    """The older map, in segments of 16 bits."""
    count = struct.unpack(">H", data[start + 6 : start + 8])[0] // 2
    read = [
        struct.unpack(f">{count}H", data[start + offset : start + offset + 2 * count])
        for offset in (14, 16 + 2 * count, 16 + 4 * count, 16 + 6 * count)
    ]
    found = {}
    for s, (end, first, delta, offset) in enumerate(zip(*read, strict=True)):
        for code in range(first, min(end, 0xFFFE) + 1):
            if offset == 0:
                found[code] = (code + delta) & 0xFFFF
                continue
            place = start + 16 + 6 * count + 2 * s + offset + 2 * (code - first)
            glyph = struct.unpack(">H", data[place : place + 2])[0]
            found[code] = (glyph + delta) & 0xFFFF if glyph else 0
    return found


def lacks(text: str) -> bool:
    """Whether a text has a sign that these letters lack."""
    return any(ord(sign) not in _advances(False)[0] for sign in text if not sign.isspace())


def spelled(text: str) -> str:
    """A text with every sign that the letters lack written as its code point: nothing is left out unseen."""
    known = _advances(False)[0]
    return "".join(s if s.isspace() or ord(s) in known else f"⟨U+{ord(s):04X}⟩" for s in text)


def breadth(text: str, size: float, bold: bool = False) -> float:
    """How broad a text is at a size, in the unit of the size; a sign that is lacking counts as an em."""
    advances, em = _advances(bold)
    return size * sum(advances.get(ord(sign), em) for sign in text) / em


def shortened(text: str, size: float, room: float, bold: bool = False) -> str:
    """A text cut to a room, with three dots where something was cut."""
    if breadth(text, size, bold) <= room:
        return text
    while text and breadth(f"{text}…", size, bold) > room:
        text = text[:-1]
    return f"{text.rstrip()}…"
