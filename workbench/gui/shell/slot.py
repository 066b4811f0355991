"""The room of a page: a page that raises is greyed there with the report to copy, and the others go on."""

from __future__ import annotations

import sys
from collections.abc import Callable

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QGuiApplication, QResizeEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QPushButton, QScrollArea, QVBoxLayout, QWidget

from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.type_scale import px
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


class _Ground(Guarded, QWidget):
    """What a page lies on while it is scrolled: as large as the page needs at least.

    Of a page itself the area would make the height that its paragraphs would like, and scroll what has room enough.
    """

    def lay(self, page: QWidget) -> None:
        page.setParent(self)
        page.setGeometry(self.rect())
        page.show()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        for page in self.findChildren(QWidget, options=Qt.FindChildOption.FindDirectChildrenOnly):
            page.setGeometry(self.rect())


class PageSlot(Guarded, QWidget):
    """Holds a page once it is made, under a line that is in sight only where the page failed.

    Where the window has less than the page needs in letters of this size, the page is scrolled. A page that lays its
    panels under one another tells by `least_height` what they need.
    """

    def __init__(self, least: tuple[int, int] = (0, 0), parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._least = least
        self._ground: _Ground | None = None
        self._page: QWidget | None = None
        self.failed = False
        self._line: QFrame | None = None
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(0)

    def hold(self, page: QWidget) -> None:
        """Take in the page."""
        self._page = page
        area = QScrollArea()
        area.setWidgetResizable(True)
        area.setFrameShape(QFrame.Shape.NoFrame)
        area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._ground = _Ground()
        area.setWidget(self._ground)
        self._column.addWidget(area, 1)
        self._ground.lay(page)
        page.setAutoFillBackground(False)
        page.installEventFilter(self)
        self._fit()

    def _fit(self) -> None:
        """Give the page what it needs at least."""
        if self._page is None or self._ground is None:
            return
        wide, high = (px(length) for length in self._least)
        tall = getattr(self._page, "least_height", None)
        least = wide, max(high, tall() if tall is not None else 0)
        if least != (self._ground.minimumWidth(), self._ground.minimumHeight()):
            self._ground.setMinimumSize(*least)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self._fit()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() in (QEvent.Type.LayoutRequest, QEvent.Type.Resize):
            self._fit()
        return super().eventFilter(watched, event)

    def set_failed(self, failed: bool) -> None:
        """Grey the page and say that it failed, or let it be used again."""
        if failed != self.failed:
            self.failed = failed
            if self._line is None:
                self._line = self._line_of_a_failure()
            self._line.setVisible(failed)
            if self._page is not None:
                self._page.setEnabled(not failed)

    def _line_of_a_failure(self) -> QFrame:
        line = QFrame(self)
        line.setObjectName("messageBar")
        words = QLabel(FAILED, wordWrap=True, textFormat=Qt.TextFormat.PlainText)
        copy = QPushButton("Copy error report")
        copy.clicked.connect(lambda _=False: QGuiApplication.clipboard().setText(faultlog.report()))
        row = QHBoxLayout(line)
        row.setContentsMargins(12, 6, 12, 6)
        row.addWidget(words, 1)
        row.addWidget(copy)
        line.setAccessibleName(FAILED)
        self._column.insertWidget(0, line)
        return line
