"""What was found in sentences, or two choices side by side: only what differs between them."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QLabel,
    QScrollArea,
    QSizePolicy,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from workbench.files.choices_table import COLUMNS
from workbench.gui.kit.forms import column, heading, paragraph
from workbench.solving.choices.search import Choice
from workbench.solving.outcome import Notice
from workbench.units import SI, System, format_quantity

_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignTop


class ChoicesWords(QWidget):
    """Sentences until two choices are compared."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._system: System = SI
        self._notices: tuple[Notice, ...] = ()
        self._pair: tuple[Choice, Choice] | None = None
        self._lines: list[QLabel] = []
        said = QWidget()
        self._column = column(said)
        self._column.addStretch(1)
        compared = QWidget()
        inside = column(compared)
        inside.addWidget(heading("Differences"))
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(14)
        self._grid.setVerticalSpacing(3)
        self._grid.setColumnStretch(1, 1)
        self._grid.setColumnStretch(2, 1)
        inside.addLayout(self._grid)
        inside.addStretch(1)
        self._cells: list[list[QLabel]] = []
        self._stack = QStackedWidget()
        for page, name in ((said, "What was found"), (compared, "Two options compared")):
            area = QScrollArea()
            area.setAccessibleName(name)
            area.setAccessibleName("What was found" if page is said else "Two options compared")
            area.setWidget(page)
            area.setWidgetResizable(True)
            area.setFrameShape(QFrame.Shape.NoFrame)
            area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
            layout = page.layout()
            assert layout is not None
            layout.setContentsMargins(12, 8, 12, 8)
            self._stack.addWidget(area)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.addWidget(self._stack)

    def show_notices(self, notices: tuple[Notice, ...]) -> None:
        """Write sentences."""
        self._notices = notices
        while len(self._lines) < len(notices):
            line = paragraph()
            if self._lines:
                line.setObjectName("quiet")
            self._lines.append(line)
            self._column.insertWidget(len(self._lines) - 1, line)
        self._write()

    def compare(self, pair: tuple[Choice, Choice] | None) -> None:
        """Show two choices side by side, or the sentences again."""
        self._pair = pair
        self._write()

    def set_system(self, system: System) -> None:
        """Show other units."""
        self._system = system
        self._write()

    def text(self) -> str:
        """All that is read."""
        if self._pair is None:
            return "\n".join(line.text() for line in self._lines if not line.isHidden())
        return "\n".join(" | ".join(cell.text() for cell in row) for row in self._cells if not row[0].isHidden())

    def _write(self) -> None:
        self._stack.setCurrentIndex(0 if self._pair is None else 1)
        for i, line in enumerate(self._lines):
            there = i < len(self._notices)
            if there:
                line.setText(self._notices[i].text(self._quantity))
            line.setVisible(there)
        rows = [] if self._pair is None else self._differences(*self._pair)
        while len(self._cells) < len(rows):
            self._add_row()
        for r, cells in enumerate(self._cells):
            for c, cell in enumerate(cells):
                cell.setVisible(r < len(rows))
                cell.setText(rows[r][c] if r < len(rows) else "")

    def _add_row(self) -> None:
        cells = [QLabel(wordWrap=c > 0, textFormat=Qt.TextFormat.PlainText) for c in range(3)]
        for c, cell in enumerate(cells):
            if c == 0:
                cell.setObjectName("quiet")
                self._grid.addWidget(cell, len(self._cells), c, Qt.AlignmentFlag.AlignTop)
            else:
                cell.setAlignment(_RIGHT)
                cell.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Minimum)
                self._grid.addWidget(cell, len(self._cells), c)
        self._cells.append(cells)

    def _differences(self, one: Choice, other: Choice) -> list[tuple[str, str, str]]:
        found = []
        for each in COLUMNS:
            left, right = (each.cell(choice, self._system, with_unit=True) for choice in (one, other))
            if left != right:
                found.append((each.title, left, right))
        return found or [("", "No differences.", "")]

    def _quantity(self, value: float, dimension: str) -> str:
        return format_quantity(value, dimension, self._system)  # type: ignore[arg-type]
