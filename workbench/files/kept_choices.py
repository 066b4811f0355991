"""What a search found, kept between sessions beside the projects, not in them.

A project file says what was entered; what follows from it can be found again, and a file that held both would change
with every search, weigh ten times as much and could contradict itself. So a search is kept in the user's data folder,
under the project's path, or where there is none under the design that was searched. A file from elsewhere comes
without it and opens as ever.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

import msgspec
from msgspec.structs import replace

from workbench.design import Design
from workbench.files.project import ProjectError, project_text, read_project
from workbench.files.whole import put
from workbench.solving.choices.search import Choices

_MOST = 40
"""Searches kept; the ones used longest ago make room."""


def key_of(path: Path | None, design: Design) -> str:
    """What a search is kept under: the place of the project's file, or the design of a project without one."""
    told = os.path.realpath(path) if path is not None else project_text(design)
    return hashlib.sha256(told.encode("utf-8", "surrogatepass")).hexdigest()[:32]


def keep(found: Choices, folder: Path, key: str) -> None:
    """Keep what was found, whole or not at all; a folder that cannot be written keeps nothing."""
    # the weather's hours are read from their own file again
    data = msgspec.msgpack.encode(replace(found, hours=None), enc_hook=_written)
    with suppress(OSError):
        folder.mkdir(parents=True, exist_ok=True)
        put(data, folder / f"{key}.choices")
        for old in _by_age(folder)[_MOST:]:
            old.unlink(missing_ok=True)


def kept(folder: Path, key: str) -> Choices | None:
    """What was kept; None where nothing was, or where it was kept by a version that found other things."""
    try:
        return msgspec.msgpack.decode((folder / f"{key}.choices").read_bytes(), type=Choices, dec_hook=_read)
    except (OSError, msgspec.MsgspecError, ProjectError):
        return None


def _written(value: Any) -> Any:
    if isinstance(value, Design):
        return project_text(value)
    raise TypeError(type(value).__name__)


def _read(kind: type, value: Any) -> Any:
    readers: dict[type, Callable[[Any], Any]] = {Design: read_project}
    return readers[kind](value)


def _by_age(folder: Path) -> list[Path]:
    return sorted(folder.glob("*.choices"), key=lambda path: path.stat().st_mtime, reverse=True)
