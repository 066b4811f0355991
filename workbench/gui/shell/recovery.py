"""Unsaved work that outlives a killed process: a copy in the user's data folder, seconds old at most."""

from __future__ import annotations

import os
from pathlib import Path
from typing import NamedTuple

from PySide6.QtCore import QLockFile, QObject, QTimer

from workbench.design import Design
from workbench.files.project import ProjectError, load_project, save_project, write_whole
from workbench.gui.shell.document import Document

_DELAY_MS = 2000


class Recovery(QObject):
    """Keeps a copy of unsaved work while the program runs and removes it when the work is saved or let go.

    A lock beside the copy tells the next start whether the process that wrote it still lives.
    """

    def __init__(self, document: Document, folder: Path, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._document = document
        self._folder = folder
        self._copy = folder / f"unsaved-{os.getpid()}-{id(self):x}.json"
        self._lock = QLockFile(str(self._copy.with_suffix(".lock")))
        self._lock.setStaleLockTime(0)
        self._timer = QTimer(self, singleShot=True, interval=_DELAY_MS)
        self._timer.timeout.connect(self.write)
        document.moved.connect(self._touched)
        self._closed = False

    def write(self) -> None:
        """Write the copy now if there is unsaved work, else remove it."""
        self._timer.stop()
        if not self._document.dirty:
            self._remove()
            return
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
            if not self._lock.isLocked():
                self._lock.tryLock(0)
            save_project(self._document.design, self._copy)
            # beside the copy, which is a project file like any other
            path = self._document.path
            write_whole(str(path.absolute()) if path is not None else "", _origin_of(self._copy))
        except (OSError, ProjectError):
            # a full or read-only disk must not stop the work; the title keeps saying that it is unsaved
            return

    def close(self) -> None:
        """Forget the copy: the work was saved, or the user let it go."""
        self._timer.stop()
        if not self._closed:
            self._closed = True
            self._document.moved.disconnect(self._touched)
        self._remove()
        if self._lock.isLocked():
            self._lock.unlock()

    def _remove(self) -> None:
        remove_copy(self._copy)

    def _touched(self) -> None:
        if not self._timer.isActive():
            self._timer.start()


class LeftBehind(NamedTuple):
    """A copy of unsaved work, the work, and the file it was opened from, if it was."""

    copy: Path
    design: Design
    file: Path | None


def _origin_of(copy: Path) -> Path:
    return copy.with_suffix(".file")


def remove_copy(copy: Path) -> None:
    """Remove a copy with what stands beside it."""
    copy.unlink(missing_ok=True)
    _origin_of(copy).unlink(missing_ok=True)


def left_behind(folder: Path) -> list[LeftBehind]:
    """Copies whose process is gone, newest first.

    Ones that cannot be read are left where they are, and so are those whose file was saved since: they are older than
    what the file holds.
    """
    found = []
    for copy in sorted(folder.glob("unsaved-*.json"), key=lambda path: path.stat().st_mtime, reverse=True):
        lock = QLockFile(str(copy.with_suffix(".lock")))
        lock.setStaleLockTime(0)
        if not lock.tryLock(0):
            continue
        lock.unlock()
        try:
            design = load_project(copy)
        except ProjectError:
            continue
        file = _file_of(copy)
        if file is None or file.stat().st_mtime <= copy.stat().st_mtime:
            found.append(LeftBehind(copy, design, file))
    return found


def _file_of(copy: Path) -> Path | None:
    try:
        named = _origin_of(copy).read_text(encoding="utf-8")
        return Path(named) if named and Path(named).is_file() else None
    except (OSError, ValueError):
        return None
