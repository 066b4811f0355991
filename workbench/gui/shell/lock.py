"""Locks by which windows tell each other that they live; a killed one must not be taken for a living one."""

from __future__ import annotations

import contextlib
import os
import sys
import time
from pathlib import Path

from PySide6.QtCore import QLockFile

if sys.platform != "win32":
    import fcntl

_YOUNG = 2.0
"""A lock file younger than this may be one that is just being locked. [s]"""


def lock_at(path: Path) -> QLockFile:
    """A lock file, not taken yet; it has no age at which it counts as left behind."""
    lock = QLockFile(str(path))
    lock.setStaleLockTime(0)
    return lock


def taken(lock: QLockFile) -> bool:
    """Whether the lock is this window's, taken now if it is free."""
    if lock.isLocked():
        return True
    _remove_dead(Path(lock.fileName()))
    return lock.tryLock(0)


def held_by_another(lock: QLockFile) -> bool:
    """Whether another window holds it; taken now if it is free."""
    return not taken(lock) and lock.error() == QLockFile.LockError.LockFailedError


def tidy(path: Path) -> None:
    """Remove a lock file that nobody holds."""
    lock = lock_at(path)
    if path.exists() and taken(lock):
        lock.unlock()


def _remove_dead(path: Path) -> None:
    """Remove a lock file whose process is gone, though its number is another's by now or its computer is another.

    The system lets go of a lock when a process ends; the number that the file holds does not tell as much.
    """
    if sys.platform == "win32":
        # nobody can take a file there that another has open
        return
    with contextlib.suppress(OSError):
        # not open(): a pipe in its place would never answer
        handle = os.open(path, os.O_RDONLY | os.O_NONBLOCK)
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
            if time.time() - os.fstat(handle).st_mtime > _YOUNG:
                path.unlink()
        finally:
            os.close(handle)
