"""A table of the track record: a quantity a row, all rows in sight."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QEvent, QModelIndex, QPersistentModelIndex, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QGuiApplication, QKeyEvent, QKeySequence
from PySide6.QtWidgets import QAbstractItemView, QSizePolicy, QTableView, QWidget

from workbench.files.record_text import HEAD
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.type_scale import Role, wear

Index = QModelIndex | QPersistentModelIndex
_ROLE = Qt.ItemDataRole
_NOWHERE = QModelIndex()
_PADDING = 18
TITLES = ("Quantity", *(f"{word[:1].upper()}{word[1:]}" for word in HEAD[1:]))


class _Cells(Guarded, QAbstractTableModel):
    """Written cells under their titles."""

    rows: tuple[tuple[str, ...], ...] = ()

    def show_rows(self, rows: Sequence[tuple[str, ...]]) -> None:
        self.beginResetModel()
        self.rows = tuple(rows)
        self.endResetModel()

    def rowCount(self, parent: Index = _NOWHERE) -> int:
        return 0 if parent.isValid() else len(self.rows)

    def columnCount(self, parent: Index = _NOWHERE) -> int:
        return 0 if parent.isValid() else len(TITLES)

    def data(self, index: Index, role: int = _ROLE.DisplayRole) -> Any:
        row, column = self.rows[index.row()], index.column()
        if role == _ROLE.DisplayRole:
            return row[column]
        if role == _ROLE.AccessibleTextRole:
            return f"{row[0]}, {TITLES[column]}: {row[column] or 'not known'}" if column else row[0]
        if role == _ROLE.TextAlignmentRole:
            side = Qt.AlignmentFlag.AlignRight if column else Qt.AlignmentFlag.AlignLeft
            return int(side | Qt.AlignmentFlag.AlignVCenter)
        return None

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = _ROLE.DisplayRole) -> Any:
        if orientation != Qt.Orientation.Horizontal:
            return None
        if role == _ROLE.DisplayRole:
            return TITLES[section]
        if role == _ROLE.TextAlignmentRole:
            side = Qt.AlignmentFlag.AlignRight if section else Qt.AlignmentFlag.AlignLeft
            return int(side | Qt.AlignmentFlag.AlignVCenter)
        return None


class TrackTable(Guarded, QTableView):
    """As tall as its rows; what is too broad is scrolled across."""

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.cells = _Cells(self)
        self.setModel(self.cells)
        self.setAccessibleName(name)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setFrameShape(QTableView.Shape.NoFrame)
        self.setAlternatingRowColors(True)
        self.setShowGrid(False)
        self.setWordWrap(False)
        self.setTabKeyNavigation(False)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.verticalHeader().hide()
        self.horizontalHeader().setHighlightSections(False)
        self._fit()

    def show_rows(self, rows: Sequence[tuple[str, ...]]) -> None:
        """Show written cells, in the order of `HEAD`."""
        self.cells.show_rows(rows)
        self._fit()

    def _fit(self) -> None:
        wear(self.horizontalHeader(), Role.SMALL)
        self.verticalHeader().setDefaultSectionSize(self.fontMetrics().height() + 6)
        self.set_widths(self.widths())

    def widths(self) -> list[int]:
        """Breadth that each column's words take. [px]"""
        small, plain = QFontMetricsF(self.horizontalHeader().font()), QFontMetricsF(self.font())
        found = []
        for column, title in enumerate(TITLES):
            words = max((plain.horizontalAdvance(row[column]) for row in self.cells.rows), default=0.0)
            found.append(round(max(small.horizontalAdvance(title), words)) + _PADDING)
        return found

    def set_widths(self, widths: Sequence[int]) -> None:
        """Give the columns these breadths, for one that has to line up with another."""
        for column, width in enumerate(widths):
            self.setColumnWidth(column, width)
        self.updateGeometry()

    def sizeHint(self) -> QSize:
        rows = self.verticalHeader().length()
        below = self.horizontalScrollBar().sizeHint().height()
        across = self.horizontalHeader().length()
        return QSize(across, self.horizontalHeader().sizeHint().height() + rows + below)

    def minimumSizeHint(self) -> QSize:
        return QSize(1, self.sizeHint().height())

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() in (QEvent.Type.ApplicationFontChange, QEvent.Type.FontChange, QEvent.Type.StyleChange):
            self._fit()

    def copied(self) -> str:
        """The picked rows as text for a spreadsheet, or all where none is picked."""
        picked = sorted({index.row() for index in self.selectionModel().selectedRows()})
        rows = [self.cells.rows[at] for at in picked] or list(self.cells.rows)
        return "\n".join("\t".join(row) for row in [TITLES, *rows])

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.matches(QKeySequence.StandardKey.Copy):
            QGuiApplication.clipboard().setText(self.copied())
        else:
            super().keyPressEvent(event)
