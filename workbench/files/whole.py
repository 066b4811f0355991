"""A file put in its place in one step: whole or not at all, its rights kept, nothing left beside it."""

from __future__ import annotations

import contextlib
import errno
import hashlib
import os
import re
import stat
import sys
import time
from pathlib import Path
from typing import BinaryIO
from uuid import uuid4

if sys.platform != "win32":
    import fcntl

_PART = re.compile(r"\.subslab-([0-9a-f]{12})-[0-9a-f]{16}\.part")
"""Name of a file that is being written: which file it is to become, and one word of its own."""
_DEAD_AFTER = 3600.0
"""Age from which a file being written is left behind, where the disk knows no locks. [s]"""


def put(data: bytes, path: str | os.PathLike[str]) -> None:
    """Put bytes in a file's place: written beside it first, flushed to the disk, then renamed over it.

    A link stays one: the file it points at is replaced. An existing file keeps its rights and, where that may be done,
    its owner. A process killed meanwhile leaves a part, which the next one to write the same file removes (`sweep`).

    Raises
    ------
    OSError
        The file that was there, if any, is then still what it was.
    """
    file = Path(os.path.realpath(path))
    before = _facts(file)
    if before is not None:
        if stat.S_ISDIR(before.st_mode):
            raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR))
        if not stat.S_ISREG(before.st_mode):
            raise OSError(errno.EINVAL, "it is a device or a pipe")
        if not os.access(file, os.W_OK):
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))
    sweep(file.parent, file.name)
    part, out = _begun(file)
    try:
        with out:
            if before is not None:
                _keep_rights(part, before)
            out.write(data)
            out.flush()
            os.fsync(out.fileno())
            if sys.platform == "win32":
                # what is open there cannot be renamed
                out.close()
            os.replace(part, file)
    except BaseException:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)
        raise
    _flush_names(file.parent)


def sweep(folder: Path, name: str | None = None) -> None:
    """Remove what killed processes left when they wrote a file of this name, or any file, in a folder.

    What a process is just writing stays, and so does what cannot be removed.
    """
    wanted = None if name is None else _digest(name)
    try:
        with os.scandir(folder) as entries:
            found = [(_PART.fullmatch(entry.name), Path(entry.path)) for entry in entries]
    except OSError:
        return
    for match, part in found:
        if match is not None and wanted in (None, match[1]):
            with contextlib.suppress(OSError):
                _remove_dead(part)


def _digest(name: str) -> str:
    # a name as long as the disk allows leaves no room for more
    return hashlib.sha256(name.encode("utf-8", "surrogateescape")).hexdigest()[:12]


def _facts(file: Path) -> os.stat_result | None:
    try:
        return file.stat()
    except FileNotFoundError:
        return None


def _begun(file: Path) -> tuple[Path, BinaryIO]:
    """A part of a file, locked for as long as it is open, so that others see that somebody is writing it."""
    while True:
        part = file.with_name(f".subslab-{_digest(file.name)}-{uuid4().hex[:16]}.part")
        out = open(part, "xb")  # noqa: SIM115
        if sys.platform == "win32":
            return part, out
        try:
            fcntl.flock(out, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            # somebody takes it for left behind, and removes it
            out.close()
            continue
        except OSError:
            # a disk without locks
            return part, out
        now = _facts(part)
        if now is not None and now.st_ino == os.fstat(out.fileno()).st_ino:
            return part, out
        out.close()


def _remove_dead(part: Path) -> None:
    if sys.platform == "win32":
        # what is open there cannot be removed
        part.unlink()
        return
    with open(part, "rb") as left:
        try:
            fcntl.flock(left, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return
        except OSError:
            if time.time() - os.fstat(left.fileno()).st_mtime < _DEAD_AFTER:
                return
        part.unlink()


def _keep_rights(part: Path, before: os.stat_result) -> None:
    now = part.stat()
    if hasattr(os, "chown") and (now.st_uid, now.st_gid) != (before.st_uid, before.st_gid):
        with contextlib.suppress(OSError):
            os.chown(part, before.st_uid, before.st_gid)
    os.chmod(part, stat.S_IMODE(before.st_mode))


def _flush_names(folder: Path) -> None:
    """Have a renaming outlive a power cut, where the system can say so."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
