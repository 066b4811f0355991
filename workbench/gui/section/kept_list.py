"""The kept curves as rows: number, a name to type over, what has changed since, and a way to be rid of each."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QLabel, QLineEdit, QSizePolicy, QToolButton, QVBoxLayout, QWidget

from workbench.gui.kit.tips import plain_tip

_LONGEST = 60


class KeptList(QWidget):
    """A row for each kept curve."""

    renamed = Signal(int, str)
    removed = Signal(int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._rows: list[tuple[QWidget, QLineEdit, QLabel]] = []
        self._title = QLabel("Kept curves, present minus kept", textFormat=Qt.TextFormat.PlainText)
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(4)
        self._column.addWidget(self._title)
        self.hide()

    def show_kept(self, names: Sequence[str], differences: Sequence[str]) -> None:
        """Show the names, and beside each what has changed since."""
        while len(self._rows) > len(names):
            row, _, _ = self._rows.pop()
            self._column.removeWidget(row)
            row.setParent(None)
            row.deleteLater()
        while len(self._rows) < len(names):
            self._add()
        for (_, field, words), name, difference in zip(self._rows, names, differences, strict=True):
            if field.text() != name and not field.hasFocus():
                field.setText(name)
                field.setCursorPosition(0)
            field.setToolTip(plain_tip(name))
            words.setText(difference)
        self.setVisible(bool(names))

    def _add(self) -> None:
        number = len(self._rows)
        row = QWidget()
        figure = QLabel(str(number + 1), textFormat=Qt.TextFormat.PlainText)
        field = QLineEdit(maxLength=_LONGEST)
        field.setAccessibleName(f"Name of kept curve {number + 1}")
        field.editingFinished.connect(lambda: self.renamed.emit(number, field.text().strip() or f"Kept {number + 1}"))
        words = QLabel("", textFormat=Qt.TextFormat.PlainText)
        words.setAccessibleName(f"Change since kept curve {number + 1}")
        words.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        remove = QToolButton()
        remove.setText("×")
        remove.setAutoRaise(True)
        remove.setMinimumSize(24, 24)
        remove.setAccessibleName(f"Remove kept curve {number + 1}")
        remove.setToolTip("Remove this kept curve")
        remove.clicked.connect(lambda: self.removed.emit(number))
        grid = QGridLayout(row)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(4)
        grid.setVerticalSpacing(0)
        grid.addWidget(figure, 0, 0)
        grid.addWidget(field, 0, 1)
        grid.addWidget(remove, 0, 2)
        grid.addWidget(words, 1, 1, 1, 2)
        self._column.addWidget(row)
        self._rows.append((row, field, words))
