"""Pages of a paper under one another, as they will be printed."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QImage, QPalette, QPixmap
from PySide6.QtWidgets import QFrame, QLabel, QScrollArea, QVBoxLayout, QWidget

_GAP = 12


class Preview(QScrollArea):
    """A column of pages that scrolls; what is shown stays until other pages are there."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setWidgetResizable(True)
        # the breadth there is must not change with the pages that are made for it
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOn)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setAccessibleName("Preview")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.viewport().setBackgroundRole(QPalette.ColorRole.Window)
        self._sheet = QWidget()
        self._column = QVBoxLayout(self._sheet)
        self._column.setContentsMargins(_GAP, _GAP, _GAP, _GAP)
        self._column.setSpacing(_GAP)
        self._column.setAlignment(Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignTop)
        self.setWidget(self._sheet)
        self.pages: list[QLabel] = []

    def show_pages(self, title: str, pictures: Sequence[bytes]) -> None:
        """Show the pages of a paper, PNG each; the place scrolled to is kept where the paper is the same."""
        same = bool(self.pages) and self.pages[0].accessibleName() == title
        at = self.verticalScrollBar().value() if same else 0
        for label in self.pages:
            self._column.removeWidget(label)
            label.deleteLater()
        self.pages = []
        for picture in pictures:
            image = QImage.fromData(picture)
            image.setDevicePixelRatio(self.devicePixelRatioF())
            label = QLabel()
            label.setPixmap(QPixmap.fromImage(image))
            label.setFrameShape(QFrame.Shape.Box)
            label.setAccessibleName(title)
            self._column.addWidget(label)
            self.pages.append(label)
        self.verticalScrollBar().setValue(at)

    def room(self) -> int:
        """Breadth that a page may take, in device pixels."""
        return max(int((self.viewport().width() - 2 * _GAP - 4) * self.devicePixelRatioF()), 200)
