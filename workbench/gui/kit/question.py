"""A question that has to be answered before anything else happens: what is asked, and what each answer does."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QGridLayout, QLabel, QPushButton, QWidget

_TEXT_WIDTH = 360
"""Pixels in which a sentence is set before it wraps."""


class Reply(NamedTuple):
    """One answer: its key, the words on its button, and what then happens."""

    key: str
    words: str
    then: str


class Question(QDialog):
    """A sentence that asks, and under it a button for each answer beside what happens then.

    The last answer changes nothing: Escape and closing the dialog give it.
    """

    def __init__(self, asked: str, replies: Sequence[Reply], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("Sub-slab Workbench")
        self.setAccessibleName(asked)
        self.asked = asked
        self.key = replies[-1].key
        self.buttons: dict[str, QPushButton] = {}
        grid = QGridLayout(self)
        grid.setContentsMargins(16, 16, 16, 16)
        grid.setHorizontalSpacing(12)
        grid.setVerticalSpacing(8)
        title = _text(asked)
        font = title.font()
        font.setBold(True)
        title.setFont(font)
        grid.addWidget(title, 0, 0, 1, 2)
        for row, reply in enumerate(replies, start=1):
            button = QPushButton(reply.words, self)
            button.setAutoDefault(False)
            button.setAccessibleDescription(reply.then)
            button.clicked.connect(lambda _checked=False, key=reply.key: self._take(key))
            grid.addWidget(button, row, 0)
            grid.addWidget(_text(reply.then), row, 1)
            self.buttons[reply.key] = button
        grid.setColumnStretch(1, 1)
        first = self.buttons[replies[0].key]
        first.setDefault(True)
        first.setFocus()

    def _take(self, key: str) -> None:
        self.key = key
        self.accept()


def ask(parent: QWidget | None, asked: str, replies: Sequence[Reply]) -> str:
    """Ask, and give the key of the answer."""
    question = Question(asked, replies, parent)
    question.exec()
    question.deleteLater()
    return question.key


def _text(words: str) -> QLabel:
    label = QLabel(words, textFormat=Qt.TextFormat.PlainText, wordWrap=True)
    label.setMinimumWidth(_TEXT_WIDTH)
    return label
