"""The tables in `data/`, each read when it is first asked for."""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path
from typing import Any, Final

DATA: Final = Path(__file__).with_name("data")


@cache
def table(name: str) -> dict[str, Any]:
    """A table by the name of its file."""
    return tomllib.loads((DATA / f"{name}.toml").read_text(encoding="utf-8"))
