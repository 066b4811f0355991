"""The file that a window has open: whether another program changed it, and whether another window has it open."""

from __future__ import annotations

import hashlib
import os
from datetime import datetime
from pathlib import Path
from typing import NamedTuple

from PySide6.QtCore import QLockFile

from workbench.design import Design
from workbench.design.record import Address, differing, field_facts, value_at
from workbench.files.whole import sweep
from workbench.gui.shell.lock import held_by_another, lock_at, taken, tidy


class OtherWindow(NamedTuple):
    """Another window that has the file open."""

    process: int
    computer: str


class HeldFile:
    """One file at a time: as it was when last read or written here, and a lock beside it that tells others.

    The lock names the process; one whose process is gone is taken over. Where no lock can be written, as in a folder
    that may only be read, the file is open without one.
    """

    def __init__(self) -> None:
        self._path: Path | None = None
        self._seen = ""
        self._lock: QLockFile | None = None

    @property
    def path(self) -> Path | None:
        """The file, or None."""
        return self._path

    @property
    def seen(self) -> str:
        """The file's content as this window knows it, in short (`fingerprint`); empty for a file that is not there."""
        return self._seen

    def take(self, path: Path | None, seen: str | None = None) -> None:
        """Hold a file, or none, and let go of the one before.

        `seen` is the fingerprint of what was read from it or written into it, which may no longer be what it holds now.
        """
        if path != self._path:
            self.let_go()
            self._path = path
            if path is not None:
                self._lock = lock_at(_lock_of(path))
        if self._lock is not None:
            taken(self._lock)
        self._seen = ("" if path is None else fingerprint(path)) if seen is None else seen

    def let_go(self) -> None:
        """Hold nothing."""
        if self._lock is not None and self._lock.isLocked():
            self._lock.unlock()
        self._path, self._seen, self._lock = None, "", None

    def gone(self) -> bool:
        """Whether there is no such file any more."""
        return self._path is not None and not self._path.is_file()

    def as_left(self) -> bool:
        """Whether the file holds what it held."""
        return self._path is None or fingerprint(self._path) == self._seen

    def changed(self) -> datetime | None:
        """When another program changed the file; None where it is as it was left, or gone."""
        if self._path is None:
            return None
        now = fingerprint(self._path)
        if not now or now == self._seen:
            return None
        try:
            return datetime.fromtimestamp(self._path.stat().st_mtime)
        except (OSError, OverflowError, ValueError):
            # a time that no calendar has, or none at all by now
            return datetime.now()

    def elsewhere(self) -> OtherWindow | None:
        """The other window that has the file open, or None."""
        if self._lock is None or not held_by_another(self._lock):
            return None
        process, computer, _ = self._lock.getLockInfo()
        return OtherWindow(int(process), str(computer))


def tidy_beside(path: Path) -> None:
    """Remove what a killed window left beside a project's file: its lock, and a file it was just writing."""
    tidy(_lock_of(path))
    real = Path(os.path.realpath(path))
    sweep(real.parent, real.name)


def fingerprint(path: Path) -> str:
    """The content of a file in short; empty where there is none or it cannot be read."""
    try:
        return fingerprint_of(path.read_bytes()) if path.is_file() else ""
    except OSError:
        return ""


def fingerprint_of(content: bytes) -> str:
    """A file's content in short."""
    return hashlib.sha256(content).hexdigest()


def _lock_of(path: Path) -> Path:
    real = Path(os.path.realpath(path))
    return real.with_name(f".{real.name}.lock")


_MOST_NAMED = 3


def changes_in_words(before: Design, after: Design) -> str:
    """What a file's design differs in, the first few by name."""
    found = differing(before, after)
    if not found:
        return "only how it is written, not what it says"
    named = list(dict.fromkeys(_named(before, address) for address in found))
    more = len(named) - _MOST_NAMED
    shown = ", ".join(named[:_MOST_NAMED])
    return f"{shown} and {more} more" if more > 0 else shown


def _named(design: Design, address: Address) -> str:
    titles = [step for step in range(len(address)) if isinstance(address[step], str)]
    at = titles[-1]
    record = value_at(design, address[:at])
    title = field_facts(type(record), str(address[at])).title.lower()
    for end in range(at, 0, -1):
        owner = getattr(value_at(design, address[:end]), "name", None)
        if owner:
            return f"{title} of {owner}"
    return title
