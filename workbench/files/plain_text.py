"""Text of strangers on its way out: into a line, a JSON text or a cell, where it is shown and never obeyed.

A terminal obeys escape sequences, a line break in a name begins a line of the answer, signs that turn the direction of
writing reorder it, and a spreadsheet calculates what begins like a formula.
"""

from __future__ import annotations

import json
import re
from typing import Any, Final

_UNSEEN: Final = re.compile(
    r"[\x00-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u206f\ufeff\ufff9-\ufffb\ud800-\udfff]"
)
"""Controls, breaks of lines, signs of direction, and halves of letters."""
_FORMULA: Final = re.compile(r"\s*[=+\-@\uff1d\uff0b\uff0d\uff20]")
_LONGEST: Final = 2000


def plain_line(text: str) -> str:
    """One line: what cannot be seen is written as its number, and what is far too long is cut."""
    return escaped(text if len(text) <= _LONGEST else f"{text[: _LONGEST - 1]}…")


def escaped(text: str) -> str:
    """A text in which what cannot be seen is written as its number, as JSON writes it."""
    return _UNSEEN.sub(lambda sign: f"\\u{ord(sign[0]):04x}", text)


def json_text(value: Any) -> str:
    """JSON that reads back the same; what cannot be seen is escaped.

    Raises
    ------
    ValueError
        For a number that is not finite.
    """
    text = json.dumps(value, indent=2, ensure_ascii=False, allow_nan=False)
    return "\n".join(map(escaped, text.split("\n")))


def plain_cell(text: str) -> str:
    """A cell of a text that a spreadsheet may open: what begins like a formula follows an apostrophe."""
    # a tab or a return before it is one of the signs that are written out
    formula = _FORMULA.match(text) is not None
    return f"'{plain_line(text)}" if formula else plain_line(text)
