"""The room of a page: a page that raises is greyed there with the report to copy, and the others go on."""

from __future__ import annotations

import sys
from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from workbench.gui.shell import faultlog

FAILED = (
    "This page failed inside the program, and what it still shows is out of date. Your work and the other pages go on."
)


def went_well(call: Callable[[], object]) -> bool:
    """Whether a view took what it was told; where it raised, that is noted as any fault of the program is."""
    try:
        call()
    except Exception as error:
        sys.excepthook(type(error), error, error.__traceback__)
        return False
    return True


class PageSlot(QWidget):
    """Holds a page once it is made, under a line that is in sight only where the page failed."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._page: QWidget | None = None
        self.failed = False
        self._line = QFrame(self)
        self._line.setObjectName("messageBar")
        words = QLabel(FAILED, wordWrap=True, textFormat=Qt.TextFormat.PlainText)
        self._copy = QPushButton("Copy error report")
        self._copy.clicked.connect(lambda _=False: QGuiApplication.clipboard().setText(faultlog.report()))
        row = QHBoxLayout(self._line)
        row.setContentsMargins(12, 6, 12, 6)
        row.addWidget(words, 1)
        row.addWidget(self._copy)
        self._line.setAccessibleName(FAILED)
        self._line.hide()
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(0)
        self._column.addWidget(self._line)

    def hold(self, page: QWidget) -> None:
        """Take in the page."""
        self._page = page
        self._column.addWidget(page, 1)

    def set_failed(self, failed: bool) -> None:
        """Grey the page and say that it failed, or let it be used again."""
        if failed != self.failed:
            self.failed = failed
            self._line.setVisible(failed)
            if self._page is not None:
                self._page.setEnabled(not failed)
