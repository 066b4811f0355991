"""The sentence in the middle of a chart that has no operating point."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QFontMetricsF
from PySide6.QtWidgets import QLabel

from workbench.gui.kit.plotting import Chart
from workbench.gui.kit.theme import Theme


class WhyEmpty(QLabel):
    """Says why, over the chart; the mouse passes through it."""

    def __init__(self, chart: Chart) -> None:
        super().__init__("", chart, textFormat=Qt.TextFormat.PlainText)
        self._chart = chart
        self.setWordWrap(True)
        self.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)

    def say(self, words: str) -> None:
        """Show a sentence, and tell it aloud as the chart's."""
        self.setText(words)
        self.show()
        self.raise_()
        self.place()
        self._chart.setAccessibleDescription(words)

    def place(self) -> None:
        """Stand in the middle of the chart."""
        words = QFontMetricsF(self.font()).horizontalAdvance(self.text())
        self.setFixedWidth(round(max(120.0, min(words + 24.0, 420.0, self._chart.width() - 120.0))))
        self.adjustSize()
        self.move((self._chart.width() - self.width()) // 2 + 30, self._chart.height() // 3)

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self.setStyleSheet(f"background: {theme.panel}; color: {theme.bad}; padding: 6px;")
