"""Seeded damage: to bytes, to texts and to the structure of JSON."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from typing import Any

import numpy as np

from tests.odd_names import ODD_NAMES

Random = np.random.Generator

HOSTILE = (
    *ODD_NAMES,
    "{0:>500000000}",
    '=HYPERLINK("http://x","y")',
    "=cmd|' /C x'!A0",
    "+1+1",
    "-2+3",
    "@SUM(1)",
    "\t=1",
    "\r=1",
    "\uff1d1+1",
    "\x1b[2J\x1b]0;x\x07",
    "\x9b31m",
    "a\nMeets target",
    "a\u2028b\u0085c",
    "\u202eabc\u2066",
    '<img src="file:///etc/hosts">',
    "%s%n%x",
    "../../x",
    "\U0001f98a" * 40,
    "a" * 400,
    "a" * 401,
    "\x00",
    "#N/A",
    "'",
    '"',
    ",;\t|",
)
"""Names that somebody would obey."""

_NUMBERS = (0, 0.0, -0.0, 1, -1, 1e-300, 1e300, -1e300, 1e15, 5e-324, 2**63, 10**400, 0.5, 1e-9, 1e9, 3, 12, 1000)
_ODD: tuple[Any, ...] = (None, True, False, [], {}, [[]], "", "0", "NaN", *_NUMBERS)
_RAW = ("NaN", "Infinity", "-Infinity", "1e999", "1e400", "-", "01", "0x10", "1_0", "\u0661", "nul", "9" * 5000)


def one_of(random: Random, items: Any) -> Any:
    """One item of a sequence."""
    return items[int(random.integers(len(items)))]


def places(value: Any, at: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Places of everything in a JSON value."""
    found = [at]
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, each in inner:
        found += places(each, (*at, key))
    return found


def damaged_json(random: Random, project: Any, times: int) -> Any:
    """A JSON value with several places dropped, doubled, retyped, moved or set to what nobody expects."""
    project = copy.deepcopy(project)
    for _ in range(times):
        spots = [each for each in places(project) if each]
        if not spots:
            break
        at = one_of(random, spots)
        parent = project
        for step in at[:-1]:
            parent = parent[step]
        key, old = at[-1], parent[at[-1]]
        act = int(random.integers(9))
        if act == 0:
            del parent[key]
        elif act == 1 and isinstance(parent, list):
            parent.extend(copy.deepcopy(old) for _ in range(one_of(random, (1, 2, 70, 300))))
        elif act == 2:
            parent[key] = one_of(random, _ODD)
        elif act == 3 and isinstance(old, int | float) and not isinstance(old, bool):
            parent[key] = old * float(one_of(random, (-1.0, 0.0, 1e-6, 1e-2, 0.5, 0.9, 1.1, 2.0, 1e2, 1e6)))
        elif act == 4 and isinstance(old, str):
            parent[key] = one_of(random, HOSTILE)
        elif act == 5:
            other = project
            for step in one_of(random, spots):
                try:
                    other = other[step]
                except (LookupError, TypeError):
                    break
            parent[key] = copy.deepcopy(other)
        elif act == 6 and isinstance(parent, dict):
            parent[one_of(random, (*HOSTILE, "name", "weather"))] = old
        elif act == 7:
            for _ in range(one_of(random, (1, 5, 60, 300))):
                old = [old] if random.random() < 0.5 else {"straight": old}
            parent[key] = old
        elif isinstance(old, int | float) and not isinstance(old, bool):
            parent[key] = float(old) * float(random.normal(1.0, 0.3))
    return project


def damaged_text(random: Random, text: str) -> str:
    """A text with a word for a word, a line gone, doubled or moved, or a number no reader knows."""
    lines = text.split("\n")
    for _ in range(int(random.integers(1, 4))):
        row = int(random.integers(len(lines)))
        act = int(random.integers(7))
        if act == 0:
            del lines[row : row + int(random.integers(1, 3))]
        elif act == 1:
            lines[row:row] = lines[row : row + 1] * one_of(random, (1, 5, 3000))
        elif act == 2:
            lines[row] = lines[row][: int(random.integers(len(lines[row]) + 1))]
        elif act == 3:
            cells = lines[row].split(one_of(random, ",\t;:"))
            cells[int(random.integers(len(cells)))] = one_of(random, (*_RAW, *HOSTILE))
            lines[row] = one_of(random, ",\t;:").join(cells)
        elif act == 4:
            lines[row] += one_of(random, ("(" * 2000, "[" * 2000, ")" * 300, '"', " " * 3000, "," * 3000, "\0"))
        elif act == 5:
            lines[row] = lines[row].replace(".", ",")
        else:
            lines[row] = one_of(random, HOSTILE)
        if not lines:
            lines = [""]
    return "\n".join(lines)


def damaged_bytes(random: Random, data: bytes) -> bytes:
    """Bytes flipped, cut, doubled, in another encoding, behind a mark or with junk about them."""
    made = bytearray(data)
    act = int(random.integers(8))
    if act == 0:
        for _ in range(int(random.integers(1, 20))):
            made[int(random.integers(len(made)))] = int(random.integers(256))
    elif act == 1:
        del made[int(random.integers(len(made))) :]
    elif act == 2:
        start = int(random.integers(len(made)))
        del made[start : start + int(random.integers(1, 200))]
    elif act == 3:
        start = int(random.integers(len(made)))
        made[start:start] = random.bytes(int(random.integers(1, 200)))
    elif act == 4:
        text = data.decode("utf-8", "replace")
        made = bytearray(text.encode(one_of(random, ("utf-16", "utf-32", "latin-1", "utf-8-sig", "utf-7")), "replace"))
    elif act == 5:
        made = bytearray(random.bytes(int(random.integers(0, 400))))
    elif act == 6:
        made += made[: int(random.integers(len(made)))]
    else:
        made[:0] = one_of(
            random, (b"\xef\xbb\xbf", b"\xff\xfe", b"PK\x03\x04", b"\x1f\x8b", b"%PDF", b"\x89PNG\r\n\x1a\n")
        )
    return bytes(made)


def reduced(project: Any, fails: Callable[[Any], bool], tries: int = 300) -> Any:
    """The same failure from less: what can be left out is, as long as it still fails, a few hundred times at most."""
    for _ in range(3):
        before = tries
        for at in sorted(places(project), key=len):
            if not at or tries <= 0:
                continue
            less = copy.deepcopy(project)
            parent = less
            try:
                for step in at[:-1]:
                    parent = parent[step]
                del parent[at[-1]]
            except (LookupError, TypeError):
                continue
            tries -= 1
            if fails(less):
                project = less
        if tries <= 0 or before == tries:
            break
    return project


def toml_text(table: Any) -> str:
    """A JSON object as TOML, every table within it in one line."""
    return "\n".join(f"{json.dumps(str(key))} = {_toml(value)}" for key, value in table.items())


def _toml(value: Any) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{json.dumps(str(key))} = {_toml(each)}" for key, each in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_toml, value)) + "]"
    # TOML has no null
    return "''" if value is None else json.dumps(value)


def json_bytes(random: Random, project: Any) -> bytes:
    """A JSON value as a file, now and then with a number written as JSON has none."""
    text = json.dumps(project, ensure_ascii=bool(random.integers(2)), indent=one_of(random, (None, 1)))
    if random.random() < 0.1:
        at = text.find(": ", int(random.integers(len(text))))
        text = f"{text[: at + 2]}{one_of(random, _RAW)}{text[at + 3 :]}"
    return text.encode("utf-8", "surrogatepass")
