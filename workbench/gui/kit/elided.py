"""A line of words that gives up letters, not its place; all of it is in its hint."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QLabel, QSizePolicy, QWidget

from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.tips import plain_tip


class ElidedLabel(Guarded, QLabel):
    """A plain label that ends in an ellipsis where there is too little room for a user's words."""

    def __init__(self, text: str = "", parent: QWidget | None = None) -> None:
        super().__init__(text, parent)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)

    def setText(self, text: str) -> None:
        """Show other words."""
        if text == self.text():
            return
        super().setText(text)
        self.setToolTip(plain_tip(text))

    def minimumSizeHint(self) -> QSize:
        return QSize(0, super().minimumSizeHint().height())

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw as many letters as there is room for."""
        painter = QPainter(self)
        words = painter.fontMetrics().elidedText(self.text(), Qt.TextElideMode.ElideRight, self.contentsRect().width())
        painter.setPen(self.palette().color(self.foregroundRole()))
        painter.drawText(self.contentsRect(), int(self.alignment()) | int(Qt.TextFlag.TextSingleLine), words)
        painter.end()
