"""The table of choices: a model over a data frame, sorted and filtered between it and the view."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import (
    QAbstractTableModel,
    QEvent,
    QItemSelectionModel,
    QModelIndex,
    QPersistentModelIndex,
    QSortFilterProxyModel,
    Qt,
    Signal,
)
from PySide6.QtGui import QColor, QFontMetricsF, QGuiApplication, QKeyEvent, QKeySequence
from PySide6.QtWidgets import QAbstractItemView, QTableView, QWidget

from workbench.files.choices_table import COLUMNS, choices_text
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.theme import LIGHT, SHAPES, Theme
from workbench.gui.kit.tips import plain_tip
from workbench.gui.kit.type_scale import Role, wear
from workbench.solving.choices.search import Choice
from workbench.units import SI, System

if TYPE_CHECKING:
    from pandas import DataFrame

Index = QModelIndex | QPersistentModelIndex
_ROLE = Qt.ItemDataRole
_NOWHERE = QModelIndex()
_HORIZONTAL = Qt.Orientation.Horizontal
_WIDEST = 27
"""Letters of a name that are read at a glance."""
_PADDING = 18


class ChoicesModel(Guarded, QAbstractTableModel):
    """Choices as rows of a data frame, in the order they are ranked."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._frame: DataFrame | None = None
        self._rows: tuple[Choice, ...] = ()
        self._system: System = SI
        self._theme = LIGHT
        self._stale = False

    def show_rows(self, rows: tuple[Choice, ...], frame: DataFrame) -> None:
        """Show what a search found; the frame holds the same in SI."""
        self.beginResetModel()
        self._rows, self._frame = rows, frame
        self.endResetModel()

    @property
    def system(self) -> System:
        """Units shown."""
        return self._system

    @property
    def rows(self) -> tuple[Choice, ...]:
        """What is shown."""
        return self._rows

    def set_stale(self, stale: bool) -> None:
        """Grey what was found for a design that has changed since."""
        if stale != self._stale:
            self._stale = stale
            self._repaint()

    def set_system(self, system: System) -> None:
        """Show other units."""
        self._system = system
        self.headerDataChanged.emit(_HORIZONTAL, 0, len(COLUMNS) - 1)
        self._repaint()

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self._theme = theme
        self._repaint()

    def _repaint(self) -> None:
        if self._rows:
            self.dataChanged.emit(self.index(0, 0), self.index(len(self._rows) - 1, len(COLUMNS) - 1))

    def rowCount(self, parent: Index = _NOWHERE) -> int:
        return 0 if parent.isValid() or self._frame is None else len(self._frame)

    def columnCount(self, parent: Index = _NOWHERE) -> int:
        return 0 if parent.isValid() else len(COLUMNS)

    def data(self, index: Index, role: int = _ROLE.DisplayRole) -> Any:
        choice, column = self._rows[index.row()], COLUMNS[index.column()]
        if role == _ROLE.DisplayRole:
            text = column.cell(choice, self._system)
            if column.key != "limits":
                return text
            return f"{SHAPES[choice.verdict]} {text}"
        if role == _ROLE.UserRole:
            assert self._frame is not None
            return self._frame.iat[index.row(), index.column()]
        if role == _ROLE.TextAlignmentRole:
            side = Qt.AlignmentFlag.AlignLeft if column.dimension is None else Qt.AlignmentFlag.AlignRight
            return int(side | Qt.AlignmentFlag.AlignVCenter)
        if role == _ROLE.ForegroundRole:
            if self._stale:
                return self._theme.colour("muted")
            if column.key == "limits":
                return QColor(self._theme.verdict(choice.verdict))
        elif role in (_ROLE.ToolTipRole, _ROLE.AccessibleTextRole):
            told = f"{column.title}: {column.cell(choice, self._system, with_unit=True)}"
            return plain_tip(told) if role == _ROLE.ToolTipRole else told
        return None

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = _ROLE.DisplayRole) -> Any:
        if orientation == _HORIZONTAL:
            column = COLUMNS[section]
            if role == _ROLE.DisplayRole:
                return column.heading(self._system).replace(" [", "\n[")
            if role == _ROLE.ToolTipRole:
                return column.heading(self._system)
        elif role == _ROLE.DisplayRole:
            return section + 1
        return None


class _Sieve(QSortFilterProxyModel):
    """Keeps the rows that bear every word typed, and those alone that hold if asked; what is not known sorts last."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.words: list[str] = []
        self.holding = False

    def filterAcceptsRow(self, row: int, _parent: Index) -> bool:
        model = self.sourceModel()
        assert isinstance(model, ChoicesModel)
        if self.holding and not model.rows[row].holds:
            return False
        if not self.words:
            return True
        text = " ".join(str(model.index(row, c).data()) for c in range(len(COLUMNS))).casefold()
        return all(word in text for word in self.words)

    def lessThan(self, left: Index, right: Index) -> bool:
        a, b = left.data(_ROLE.UserRole), right.data(_ROLE.UserRole)
        if isinstance(a, str) or isinstance(b, str):
            return (str(a), left.row()) < (str(b), right.row())
        down = self.sortOrder() == Qt.SortOrder.DescendingOrder
        unknown = -math.inf if down else math.inf
        a, b = (unknown if math.isnan(value) else float(value) for value in (a, b))
        return a < b


class ChoicesView(Guarded, QTableView):
    """The table. `picked` tells the positions of the picked choices in their ranking, `opened` one to be opened."""

    picked = Signal(object)
    opened = Signal(int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.choices = ChoicesModel(self)
        self._sieve = _Sieve(self)
        self._sieve.setSourceModel(self.choices)
        self.setModel(self._sieve)
        self.setAccessibleName("Options")
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setFrameShape(QTableView.Shape.NoFrame)
        self.setAlternatingRowColors(True)
        self.setShowGrid(False)
        self.setWordWrap(False)
        self.setTabKeyNavigation(False)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.verticalHeader().hide()
        header = self.horizontalHeader()
        header.setHighlightSections(False)
        header.setSectionsClickable(True)
        header.setMinimumSectionSize(40)
        header.setSortIndicatorClearable(True)
        self._fit()
        self.setSortingEnabled(True)
        self.sortByColumn(-1, Qt.SortOrder.AscendingOrder)
        self.selectionModel().selectionChanged.connect(lambda *_: self.picked.emit(self.picks()))
        self.doubleClicked.connect(lambda index: self.opened.emit(self._sieve.mapToSource(index).row()))

    def _fit(self) -> None:
        wear(self.horizontalHeader(), Role.SMALL)
        self.verticalHeader().setDefaultSectionSize(self.fontMetrics().height() + 6)

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() in (QEvent.Type.ApplicationFontChange, QEvent.Type.StyleChange):
            self._fit()
            self.fit_columns()

    def fit_columns(self) -> None:
        """Give every column the width of its words, the names no more than reads well."""
        small, plain = QFontMetricsF(self.horizontalHeader().font()), QFontMetricsF(self.font())
        for c, column in enumerate(COLUMNS):
            title = max(map(small.horizontalAdvance, str(self.choices.headerData(c, _HORIZONTAL)).split("\n")))
            cells = (str(self.choices.index(r, c).data()) for r in range(self.choices.rowCount()))
            words = max(map(plain.horizontalAdvance, cells), default=0.0)
            if column.dimension is None:
                words = min(words, plain.averageCharWidth() * _WIDEST)
            self.setColumnWidth(c, round(max(title, words)) + _PADDING)

    def sift(self, text: str, *, holding: bool) -> int:
        """Show the rows that bear every word, and those alone that hold if asked; gives how many are left."""
        self._sieve.beginFilterChange()
        self._sieve.words, self._sieve.holding = text.casefold().split(), holding
        self._sieve.endFilterChange()
        return self._sieve.rowCount()

    def shown(self) -> list[int]:
        """Positions in the ranking of the rows in sight, in the order in which they stand."""
        return [self._sieve.mapToSource(self._sieve.index(r, 0)).row() for r in range(self._sieve.rowCount())]

    def picks(self) -> list[int]:
        """Positions in the ranking of the picked rows, the current one first."""
        found = [self._sieve.mapToSource(index).row() for index in self.selectionModel().selectedRows()]
        current = self._sieve.mapToSource(self.currentIndex()).row()
        return sorted(found, key=lambda row: row != current)

    def pick(self, row: int, *, beside: bool = False) -> None:
        """Pick a choice by its position in the ranking, beside those picked or instead of them."""
        index = self._sieve.mapFromSource(self.choices.index(row, 0))
        if not index.isValid():
            return
        how = QItemSelectionModel.SelectionFlag
        way = how.Select if beside else how.ClearAndSelect
        self.selectionModel().setCurrentIndex(index, way | how.Rows)
        self.scrollTo(index)

    def copied(self) -> str:
        """The picked rows as text for a spreadsheet, or all in sight where none is picked."""
        wanted = sorted(self.picks(), key=self.shown().index) or self.shown()
        return choices_text([self.choices.rows[i] for i in wanted], self.choices.system, separator="\t")

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.matches(QKeySequence.StandardKey.Copy):
            QGuiApplication.clipboard().setText(self.copied())
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.currentIndex().isValid():
            self.opened.emit(self._sieve.mapToSource(self.currentIndex()).row())
        else:
            super().keyPressEvent(event)
