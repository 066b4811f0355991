"""A line over the section that names the next thing a job lacks, with a button that goes where it is entered."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import Signal
from PySide6.QtGui import QFontMetrics, QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QFrame, QHBoxLayout, QPushButton, QWidget

from workbench.design.next_step import Lacking, NextStep
from workbench.gui.kit.elided import ElidedLabel
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.tips import plain_tip

_WORDS: Final[dict[Lacking, tuple[str, str, str]]] = {
    "fan": (
        "select a fan",
        "Choose fan",
        "Without a fan there is no operating point.",
    ),
    "communication test": (
        "communication test at {0}",
        "Enter readings",
        "Flow and vacuum read at two or three suctions; until then the soil is a class of soils, with a wide band.",
    ),
    "test holes": (
        "test holes",
        "Add test holes",
        "Whether the slab meets its target is judged at test holes, most of all in the corners.",
    ),
    "readings": (
        "a reading at {0}",
        "Enter reading",
        "A listed hole that was not read leaves the verdict at “not measured”.",
    ),
    "exhaust test": (
        "exhaust test",
        "Enter draw-down",
        "How far the house is drawn down with every exhaust on; until then the worst day has an allowance.",
    ),
}


class NextLine(Guarded, QFrame):
    """Says what comes next; hidden when nothing is missing."""

    wanted = Signal(object)
    """The address at which it is entered."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._step: NextStep | None = None
        self.words = ElidedLabel()
        self.button = QPushButton("")
        self.button.clicked.connect(lambda _=False: self._step is not None and self.wanted.emit(self._step.address))
        self._row = QHBoxLayout(self)
        self._row.setContentsMargins(8, 4, 8, 4)
        self._row.addWidget(self.words, 1)
        self._row.addWidget(self.button)
        self.hide()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._stack()

    def _stack(self) -> None:
        """Put the button under the words where they have no room beside it."""
        words = QFontMetrics(self.words.font()).horizontalAdvance(self.words.text())
        below = words + self.button.sizeHint().width() + 30 > self.width()
        way = QBoxLayout.Direction
        self._row.setDirection(way.TopToBottom if below else way.LeftToRight)

    def show_step(self, step: NextStep | None) -> None:
        """Show the next step, or nothing."""
        if step == self._step:
            return
        self._step = step
        if step is not None:
            words, action, why = _WORDS[step.lacking]
            self.words.setText("Next: " + words.replace("{0}", step.name))
            self.words.setToolTip(plain_tip(why))
            self.button.setText(action)
            self.button.setToolTip(plain_tip(why))
            self._stack()
        self.setVisible(step is not None)
