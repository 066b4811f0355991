"""The line over the page that says what happened."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QPushButton, QWidget

Actions = tuple[tuple[str, Callable[[], object]], ...]


class MessageBar(QFrame):
    """A line over the page that says what happened, with what can be done about it; never modal.

    What was just done is said over what stands until somebody closes it or it holds no longer: an offer, a warning.
    """

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("messageBar")
        self._text = QLabel(self, textFormat=Qt.TextFormat.PlainText)
        self._text.setWordWrap(True)
        self._row = QHBoxLayout(self)
        self._row.setContentsMargins(12, 6, 12, 6)
        self._row.addWidget(self._text, 1)
        self._buttons: list[QPushButton] = []
        self._passing: tuple[str, Actions] | None = None
        self._standing: dict[str, tuple[str, Actions]] = {}
        self.hide()

    def say(self, text: str, actions: Actions = ()) -> None:
        """Show a sentence and the buttons that answer it, over what stands; one to close is always there."""
        self._passing = (text, actions)
        self._show()

    def clear(self) -> None:
        """Take away what was said last; what stands is in sight again."""
        self._passing = None
        self._show()

    def stand(self, key: str, text: str, actions: Actions = ()) -> None:
        """Have a sentence stand until it is closed or lifted; under a key that stands already it changes in place."""
        if self._standing.get(key) != (text, actions):
            self._standing[key] = (text, actions)
            self._show()

    def lift(self, key: str) -> None:
        """Take away what stands under a key."""
        if self._standing.pop(key, None) is not None:
            self._show()

    def stands(self, key: str) -> bool:
        """Whether something stands under a key, be it beneath another sentence."""
        return key in self._standing

    def _close(self) -> None:
        if self._passing is None and self._standing:
            self._standing.popitem()
        self.clear()

    def _show(self) -> None:
        shown = self._passing or next(reversed(self._standing.values()), None)
        if shown is None:
            self.hide()
            return
        text, actions = shown
        self._text.setText(text)
        self.setAccessibleName(text)
        words = [label for label, _ in actions]
        if words != [button.text() for button in self._buttons[:-1]] or not self._buttons:
            self._make_buttons([*words, "Close"])
        for button, (_, slot) in zip(self._buttons, (*actions, ("", self._close)), strict=True):
            button.clicked.disconnect()
            button.clicked.connect(lambda _checked=False, slot=slot: slot())
        self.show()

    def _make_buttons(self, words: list[str]) -> None:
        for button in self._buttons:
            button.setParent(None)
            button.deleteLater()
        self._buttons = []
        for label in words:
            button = QPushButton(label, self)
            button.clicked.connect(self._close)
            self._row.addWidget(button)
            self._buttons.append(button)

    @property
    def text(self) -> str:
        """The sentence shown."""
        return self._text.text() if self.isVisible() else ""
