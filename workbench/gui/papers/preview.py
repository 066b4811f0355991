"""Pages of a paper under one another, as they will be printed."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QImage, QPalette, QPixmap, QResizeEvent
from PySide6.QtWidgets import QFrame, QLabel, QScrollArea, QVBoxLayout, QWidget

from workbench.gui.kit.guarded import Guarded

_GAP = 12
_SMOOTH = Qt.TransformationMode.SmoothTransformation


class Preview(Guarded, QScrollArea):
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
        self._images: list[QImage] = []

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        """Show no page wider than there is room, until pages of the right size are made."""
        room = self.room()
        for label, image in zip(self.pages, self._images, strict=True):
            shown = image if image.width() <= room else image.scaledToWidth(room, _SMOOTH)
            shown.setDevicePixelRatio(self.devicePixelRatioF())
            if label.pixmap().width() != shown.width():
                label.setPixmap(QPixmap.fromImage(shown))

    def show_pages(self, title: str, pictures: Sequence[bytes]) -> None:
        """Show the pages of a paper, PNG each; the place scrolled to is kept where the paper is the same."""
        same = bool(self.pages) and self.pages[0].accessibleName() == title
        at = self.verticalScrollBar().value() if same else 0
        for label in self.pages:
            self._column.removeWidget(label)
            label.deleteLater()
        self.pages, self._images = [], [QImage.fromData(picture) for picture in pictures]
        for _ in pictures:
            label = QLabel()
            label.setFrameShape(QFrame.Shape.Box)
            label.setAccessibleName(title)
            self._column.addWidget(label)
            self.pages.append(label)
        self._fit()
        self.verticalScrollBar().setValue(at)

    def room(self) -> int:
        """Breadth that a page may take, in device pixels."""
        return max(int((self.viewport().width() - 2 * _GAP - 4) * self.devicePixelRatioF()), 200)
