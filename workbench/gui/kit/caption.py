"""Lines of words over a picture that stands by itself."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.theme import LIGHT
from workbench.gui.kit.type_scale import Role, font_of, line_of

INVENTED = "Invented demonstration: house, readings and fans are made up."


class Caption(Guarded, QWidget):
    """Lines of words over a picture, the first one strong."""

    def __init__(self, lines: Sequence[str], width: int) -> None:
        super().__init__()
        self._lines = list(lines)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        height = 12.0 + line_of(Role.TILE) + (len(lines) - 1) * line_of(Role.BODY)
        self.resize(width, round(height))

    def lines(self) -> list[str]:
        """What it says."""
        return list(self._lines)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the lines."""
        painter = QPainter(self)
        painter.fillRect(self.rect(), LIGHT.colour("panel"))
        top = 8.0
        for number, line in enumerate(self._lines):
            role = Role.BODY if number else Role.TILE
            painter.setFont(font_of(role))
            painter.setPen(LIGHT.colour("muted") if number else LIGHT.colour("text"))
            painter.drawText(12, round(top + painter.fontMetrics().ascent()), line)
            top += line_of(role)
        painter.end()
