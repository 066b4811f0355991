"""The record of a folder of jobs, read beside the window: one folder at a time, and the newest wins."""

from __future__ import annotations

import threading
from pathlib import Path

from workbench.files.job import NO_ANSWER
from workbench.files.many import over_files, project_files
from workbench.files.project import ProjectError
from workbench.files.record_text import FileRecord, record_of_file, whole_track
from workbench.solving.later.record import Track


class Reading:
    """A folder under way: what its worker has found so far, which the window may look at and call off."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.total: int | None = None
        """How many files there are, once that is known."""
        self.found: list[FileRecord] = []
        self._off = threading.Event()

    def call_off(self) -> None:
        """Begin no further file."""
        self._off.set()

    @property
    def called_off(self) -> bool:
        """Whether nobody waits for it any more."""
        return self._off.is_set()

    def track(self) -> Track:
        """All jobs that were read."""
        return whole_track(self.found)

    def run(self) -> Track:
        """Read every file, in this very process: a window that ends leaves no other behind.

        Raises
        ------
        ValueError
            With a sentence.
        """
        try:
            if not self.folder.is_dir():
                raise ValueError("there is no such folder")
            files = project_files(self.folder)
        except OSError as refusal:
            raise ValueError(f"the folder cannot be read: {refusal.strerror or refusal}") from refusal
        self.total = len(files)
        for done in over_files(record_of_file, files, refusals=(ProjectError, *NO_ANSWER), processes=1):
            if self.called_off:
                break
            self.found.append(FileRecord(str(done.file.relative_to(self.folder)), done.result, done.refused))
        return self.track()
