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


class OtherWindow(NamedTuple):
    """Another window that has the file open."""

    process: int
    computer: str


class HeldFile:
    """One file at a time: as it was when last read or written here, and a lock beside it that tells others.

    The lock names the process; one whose process is gone is stale and taken over. Where no lock can be written, as in a
    folder that may only be read, the file is open without one.
    """

    def __init__(self) -> None:
        self._path: Path | None = None
        self._print = ""
        self._lock: QLockFile | None = None

    def take(self, path: Path | None) -> None:
        """Hold a file as it now stands, or none, and let go of the one before."""
        if path != self._path:
            self.let_go()
            self._path = path
            if path is not None:
                real = Path(os.path.realpath(path))
                self._lock = QLockFile(str(real.with_name(f".{real.name}.lock")))
                self._lock.setStaleLockTime(0)
        if self._lock is not None and not self._lock.isLocked():
            self._lock.tryLock(0)
        self._print = _fingerprint(path) if path is not None else ""

    def let_go(self) -> None:
        """Hold nothing."""
        if self._lock is not None and self._lock.isLocked():
            self._lock.unlock()
        self._path, self._print, self._lock = None, "", None

    def changed(self) -> datetime | None:
        """When another program changed the file; None where it is as it was left, or gone."""
        if self._path is None:
            return None
        now = _fingerprint(self._path)
        if not now or now == self._print:
            return None
        try:
            return datetime.fromtimestamp(self._path.stat().st_mtime)
        except OSError:
            return None

    def elsewhere(self) -> OtherWindow | None:
        """The other window that has the file open, or None."""
        if self._lock is None or self._lock.isLocked() or self._lock.tryLock(0):
            return None
        if self._lock.error() != QLockFile.LockError.LockFailedError:
            return None
        process, computer, _ = self._lock.getLockInfo()
        return OtherWindow(int(process), str(computer))


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


def _fingerprint(path: Path) -> str:
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError:
        return ""
