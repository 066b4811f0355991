"""Copies and files of what a page shows, which are never of the answer of an earlier design."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QObject

from workbench.gui.shell.document import Document
from workbench.gui.shell.message_bar import MessageBar


class Exports(QObject):
    """Has each done at once, or when the answer that is being worked out is there.

    The answer has to be told to the window before this hears of it.
    """

    def __init__(
        self, document: Document, bar: MessageBar, before: Callable[[], object], parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self._document = document
        self._bar = bar
        self._before = before
        self._awaiting: list[tuple[str, str, Callable[[], object]]] = []
        document.answered.connect(self._do_awaiting)
        document.opened.connect(self._drop)

    def ask(self, what: str, done: str, export: Callable[[], object]) -> None:
        """Have something done to what is shown: what it is, as a sentence begins, and what is done to it."""
        if self._document.waiting:
            self._awaiting.append((what, done, export))
            self._bar.say(f"{what} will be {done} when the new answer is there.")
        else:
            export()

    def _do_awaiting(self) -> None:
        if self._document.waiting or not self._awaiting:
            return
        awaiting, self._awaiting = self._awaiting, []
        # the page may have been out of sight when the answer came
        self._before()
        for what, done, export in awaiting:
            # one that fails says so in its place
            self._bar.say(f"{what}: {done}.")
            export()

    def _drop(self) -> None:
        if self._awaiting:
            self._awaiting.clear()
            self._bar.clear()
