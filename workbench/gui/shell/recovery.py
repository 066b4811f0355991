"""Unsaved work that outlives a killed process: a copy in the user's data folder, seconds old at most.

Each window has three files there under one name of its own: the copy (.json), which file the work belongs to (.file),
and a lock (.lock) that tells the next start whether the process still lives.
"""

from __future__ import annotations

import contextlib
import json
import os
from pathlib import Path
from typing import NamedTuple
from uuid import uuid4

from PySide6.QtCore import QObject, QTimer, Signal

from workbench.design import Design
from workbench.files.project import ProjectError, load_project, save_project
from workbench.files.whole import put, sweep
from workbench.gui.shell.document import Document
from workbench.gui.shell.held_file import HeldFile, fingerprint, tidy_beside
from workbench.gui.shell.lock import held_by_another, lock_at, taken, tidy
from workbench.gui.shell.settings import in_words

_DELAY_MS = 1500
_AGAIN_MS = 10_000
"""After a copy that could not be written: the disk may have room again."""


class Recovery(QObject):
    """Keeps a copy of unsaved work while the program runs and removes it when the work is saved or let go."""

    failed = Signal(str)
    """Why no copy can be written, in words, once until one can again."""
    works_again = Signal()

    def __init__(self, document: Document, held: HeldFile, folder: Path, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._document = document
        self._held = held
        self._folder = folder
        # a word of its own: the number of a process comes again
        self._copy = folder / f"unsaved-{os.getpid()}-{uuid4().hex[:12]}.json"
        self._lock = lock_at(self._copy.with_suffix(".lock"))
        self._noted = ""
        self._saving: tuple[Path, str] | None = None
        self._failing = False
        self._timer = QTimer(self, singleShot=True)
        self._timer.timeout.connect(self.write)
        document.moved.connect(self._touched)
        self._closed = False

    def write(self) -> bool:
        """Write the copy now if there is unsaved work, else remove it; whether nothing is unsaved but what it holds."""
        self._timer.stop()
        try:
            # done, or refused
            self._saving = None
            if self._document.dirty:
                self._folder.mkdir(parents=True, exist_ok=True)
                taken(self._lock)
                # first, so that no copy is ever without it
                self._note_file()
                save_project(self._document.design, self._copy)
            else:
                self._copy.unlink(missing_ok=True)
                self.note_file()
        except (OSError, ValueError) as error:
            # the work goes on, and the title keeps saying that it is unsaved
            self._timer.start(_AGAIN_MS)
            if not self._failing:
                self._failing = True
                cause = error if isinstance(error, OSError) else error.__cause__
                why = in_words(cause) if isinstance(cause, OSError) else str(error)
                self.failed.emit(f"{self._folder}: {why}")
            return False
        if self._failing:
            self._failing = False
            self.works_again.emit()
        return True

    def note_file(self) -> None:
        """Note which file is open, so that the next start can clear up beside it when this process is killed."""
        with contextlib.suppress(OSError):
            if self._document.path is not None:
                self._folder.mkdir(parents=True, exist_ok=True)
                taken(self._lock)
            self._note_file()

    def note_saving(self, path: Path, content: str) -> None:
        """Note, where there is a copy, what a file will hold (its fingerprint) once it is saved.

        Killed in between, the next start sees whether it was: the copy is then no more than what the file holds.
        """
        with contextlib.suppress(OSError):
            if self._copy.exists():
                self._saving = (path, content)
                self._note_file()

    def _note_file(self) -> None:
        path, saving = self._document.path, self._saving
        note = {} if path is None else {"file": str(path.absolute()), "seen": self._held.seen}
        if saving is not None:
            note |= {"saving in": str(saving[0].absolute()), "saving": saving[1]}
        told = json.dumps(note) if note else ""
        if told == self._noted:
            return
        if told:
            put(told.encode(), _note_of(self._copy))
        else:
            _note_of(self._copy).unlink(missing_ok=True)
        self._noted = told

    def close(self) -> None:
        """Forget the copy: the work was saved, or the user let it go."""
        self._timer.stop()
        if not self._closed:
            self._closed = True
            self._document.moved.disconnect(self._touched)
        remove_copy(self._copy)
        if self._lock.isLocked():
            self._lock.unlock()

    def _touched(self) -> None:
        # after a failure too, in which case it is not the long wait that counts
        if not self._timer.isActive() or self._timer.interval() != _DELAY_MS:
            self._timer.start(_DELAY_MS)


class LeftBehind(NamedTuple):
    """A copy of unsaved work; the work, its file, if it had one, and what that held (`HeldFile.seen`)."""

    copy: Path
    design: Design
    file: Path | None
    seen: str


def _note_of(copy: Path) -> Path:
    return copy.with_suffix(".file")


def remove_copy(copy: Path) -> None:
    """Remove a copy with what stands beside it, as far as that may be done."""
    for left in (copy, _note_of(copy)):
        with contextlib.suppress(OSError):
            left.unlink(missing_ok=True)


def left_behind(folder: Path) -> list[LeftBehind]:
    """Copies whose process is gone, newest first.

    Ones that cannot be read are left where they are, and so are those whose file another program changed since.
    """
    found = []
    for copy in folder.glob("unsaved-*.json"):
        if _lives(copy):
            continue
        try:
            written, design = copy.stat().st_mtime, load_project(copy)
        except (OSError, ProjectError):
            continue
        note = _noted(copy)
        # by its content: the clock of the disk it lies on may be another
        if note.file is None or fingerprint(note.file) in ("", note.seen) or not _newer(note.file, written):
            found.append((written, LeftBehind(copy, design, note.file, note.seen)))
    return [left for _, left in sorted(found, key=lambda each: each[0], reverse=True)]


def clear_up(folder: Path) -> None:
    """Remove what killed windows left that is no work: locks and files half written, here and beside their projects."""
    sweep(folder)
    for beside in [*folder.glob("unsaved-*.file")]:
        copy = beside.with_suffix(".json")
        if _lives(copy):
            continue
        note = _noted(copy)
        for file in {each for each in (note.file, note.saving_in) if each is not None}:
            tidy_beside(file)
        saved = note.saving_in is not None and fingerprint(note.saving_in) == note.saving
        if saved or not copy.exists():
            remove_copy(copy)
    for lock in [*folder.glob("unsaved-*.lock")]:
        tidy(lock)


def _lives(copy: Path) -> bool:
    """Whether the process that a copy belongs to still runs."""
    lock = lock_at(copy.with_suffix(".lock"))
    if held_by_another(lock):
        return True
    if lock.isLocked():
        lock.unlock()
    return False


def _newer(file: Path, than: float) -> bool:
    try:
        return file.stat().st_mtime > than
    except OSError:
        return False


class _Note(NamedTuple):
    """Which file a copy belongs to and what that held, and which was just being saved and was to hold."""

    file: Path | None
    seen: str
    saving_in: Path | None
    saving: str


def _noted(copy: Path) -> _Note:
    try:
        noted = json.loads(_note_of(copy).read_bytes())
        files = [Path(noted[key]) if key in noted else None for key in ("file", "saving in")]
        return _Note(files[0], str(noted.get("seen", "")), files[1], str(noted.get("saving", "")))
    except (OSError, ValueError, TypeError, AttributeError):
        return _Note(None, "", None, "")
