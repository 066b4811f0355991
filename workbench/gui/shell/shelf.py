"""Where the open document's searches are kept: found again when it is opened, marked when the design has moved on."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QObject, Signal

from workbench.gui.shell.document import Document
from workbench.gui.shell.settings import folder
from workbench.solving.choices.search import Choices


class Shelf(QObject):
    """Keeps what was found for the open document, under its file; another document has its own."""

    turned = Signal()
    """Another document is open: what was found for the one before is not its own."""

    def __init__(self, document: Document, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._document = document
        self._path: Path | None = document.path
        self._last: Choices | None = None
        self._opening = False
        document.opened.connect(self._open)
        document.changed.connect(self._turn)
        document.moved.connect(self._follow)

    def find(self) -> Choices | None:
        """What was last found for the document that is open, for whatever state of its design."""
        from workbench.files.kept_choices import kept

        self._last = kept(folder() / "searches", self._key())
        return self._last

    def put(self, found: Choices) -> None:
        """Keep what was found for the document that is open."""
        from workbench.files.kept_choices import keep, key_of

        self._last = found
        path = self._document.path
        keep(found, folder() / "searches", key_of(path, found.design))

    def _key(self) -> str:
        from workbench.files.kept_choices import key_of

        return key_of(self._document.path, self._document.design)

    def _open(self) -> None:
        self._opening = True

    def _turn(self) -> None:
        if self._opening:
            self._opening = False
            self._path, self._last = self._document.path, None
            self.turned.emit()

    def _follow(self) -> None:
        # saved under another name, a project takes its search along
        if self._document.path != self._path and not self._opening:
            self._path = self._document.path
            if self._last is not None:
                self.put(self._last)
