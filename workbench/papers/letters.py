"""The program's own letters: where they are, which signs they have, and how broad a text is in them."""

from __future__ import annotations

import re
import struct
import unicodedata
from functools import lru_cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from itertools import pairwise

FAMILY = "Subslab Sans"
_FILES = ("SubslabSans-Regular.ttf", "SubslabSans-Bold.ttf")
_MAY_BREAK = "\N{ZERO WIDTH SPACE}"
_JOINED = ("Mn", "Me", "Cf", "Sk")
"""Categories of signs that belong to the one beside them: accents, joiners, shades of skin."""
_GAPS = " \n\t"
_TURNS = re.compile("[\u202a-\u202e\u2066-\u2069]")
_RTL = r"\u061c\u200f\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufefc\U00010800-\U00010fff\U0001e800-\U0001efff"
_LEFTWARD = re.compile(f"[{_RTL}](?:[{_RTL}\\s]*[{_RTL}])?")
_FOREIGN = 0.75
_LONG, _PART = re.compile(r"\S{19,}"), 8
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
    known = _advances(False)[0]
    return any(ord(sign) not in known for sign in text if sign not in _GAPS)


def spelled(text: str) -> str:
    """A text with every sign that the letters lack written as its code point: nothing is left out unseen."""
    known = _advances(False)[0]
    return "".join(s if s in _GAPS or ord(s) in known else _code(s) for s in text)


def _code(sign: str) -> str:
    return f"⟨U+{ord(sign):04X}⟩"


def isolated(text: str) -> str:
    """A text in which words written from right to left keep to themselves: no number beside them changes its place.

    Signs that turn what follows them about are written as their code points.
    """
    plain = _TURNS.sub(lambda sign: _code(sign[0]), text)
    return _LEFTWARD.sub(lambda words: f"\N{FIRST STRONG ISOLATE}{words[0]}\N{POP DIRECTIONAL ISOLATE}", plain)


def breakable(text: str) -> str:
    """A text whose long words may be broken after every few letters, so that none runs out of its column."""
    return _LONG.sub(lambda word: _parted(word[0]), text)


def _parted(word: str) -> str:
    parts, since = [], 0
    for before, sign in pairwise(word):
        parts.append(before)
        since += 1
        if since >= _PART and not any(unicodedata.category(each) in _JOINED for each in (before, sign)):
            parts.append(_MAY_BREAK)
            since = 0
    return "".join(parts) + word[-1]


def breadth(text: str, size: float, bold: bool = False) -> float:
    """How broad a text is at a size, in the unit of the size.

    Of signs that are lacking, letters count about as they do in other fonts, the rest as they are spelled.
    """
    advances, em = _advances(bold)
    total = 0.0
    for sign in text:
        if ord(sign) in advances:
            total += advances[ord(sign)] / em
        elif unicodedata.category(sign)[0] in "LM":
            total += _FOREIGN
        else:
            total += sum(advances[ord(each)] for each in spelled(sign)) / em
    return size * total


def shortened(text: str, size: float, room: float, bold: bool = False) -> str:
    """A text cut to a room, with three dots where something was cut."""
    if breadth(text, size, bold) <= room:
        return text
    while text and breadth(f"{text}…", size, bold) > room:
        text = text[:-1]
    return f"{text.rstrip()}…"
