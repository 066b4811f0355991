"""The table in which a fan's points are typed: its model, and a view with the keys of a spreadsheet."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from PySide6.QtCore import (
    QAbstractTableModel,
    QEvent,
    QItemSelectionModel,
    QModelIndex,
    QPersistentModelIndex,
    Qt,
    Signal,
)
from PySide6.QtGui import QColor, QGuiApplication, QKeyEvent, QKeySequence, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemDelegate,
    QAbstractItemView,
    QHeaderView,
    QLineEdit,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)

from workbench.files.block import Block, ReadColumn, Told, Value, read_block
from workbench.files.fan_table import KINDS, TITLES, USUAL_UNITS, Kind, quantities, unit_size, usual_unit
from workbench.gui.fans.draft import BLANK, BLANK_ROW, Entry, Row, in_unit, is_blank, typed
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.theme import LIGHT, SHAPES, Theme, Verdict

Index = QModelIndex | QPersistentModelIndex
_TOP = QModelIndex()
_ROLE = Qt.ItemDataRole


class PointsModel(Guarded, QAbstractTableModel):
    """Rows of flow, pressure and power as typed, with one blank row more at the end to type into."""

    edited = Signal(str)
    """A person changed something; in a few words, what."""
    units_changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._rows: list[Row] = []
        self._units: dict[Kind, str] = {kind: USUAL_UNITS[kind][0] for kind in KINDS}
        self._marks: dict[int, tuple[Verdict, str]] = {}
        self._theme = LIGHT

    # --- what stands in it ---

    def rows(self) -> tuple[Row, ...]:
        """All rows but the blank one at the end."""
        return tuple(self._rows)

    def set_rows(self, rows: Sequence[Row]) -> None:
        """Show other rows; emits no edit."""
        if list(rows) != self._rows:
            self.beginResetModel()
            self._rows = list(rows)
            self._marks = {}
            self.endResetModel()

    def units(self) -> Mapping[Kind, str]:
        """The unit of each column."""
        return self._units

    def set_unit(self, kind: Kind, unit: str) -> None:
        """Show a column in another unit; what cannot be read stays as it was typed."""
        if unit == self._units[kind]:
            return
        self._units[kind] = unit
        column = KINDS.index(kind)
        for i, row in enumerate(self._rows):
            self._put(i, column, in_unit(kind, row[column], unit))
        self.dataChanged.emit(self.index(0, column), self.index(len(self._rows), column))
        self.headerDataChanged.emit(Qt.Orientation.Horizontal, column, column)
        self.units_changed.emit()

    def set_marks(self, marks: Mapping[int, tuple[Verdict, str]]) -> None:
        """Mark rows with a verdict's shape and a sentence."""
        if marks != self._marks:
            self._marks = dict(marks)
            self._all_changed()

    def apply_theme(self, theme: Theme) -> None:
        self._theme = theme
        self._all_changed()

    def _all_changed(self) -> None:
        last = len(self._rows)
        self.dataChanged.emit(self.index(0, 0), self.index(last, 2))
        self.headerDataChanged.emit(Qt.Orientation.Vertical, 0, last)

    def _put(self, row: int, column: int, entry: Entry) -> None:
        cells = list(self._rows[row])
        cells[column] = entry
        self._rows[row] = (cells[0], cells[1], cells[2])

    def _grow(self, rows: int) -> None:
        present = len(self._rows)
        if rows > present:
            self.beginInsertRows(_TOP, present + 1, rows)
            self._rows.extend([BLANK_ROW] * (rows - present))
            self.endInsertRows()

    # --- what a person does to it ---

    def insert_row(self, at: int) -> None:
        """A blank row before another."""
        self.beginInsertRows(_TOP, at, at)
        self._rows.insert(at, BLANK_ROW)
        self.endInsertRows()
        self.edited.emit("Insert a row")

    def remove(self, rows: Iterable[int]) -> None:
        """Take rows out."""
        wanted = sorted({row for row in rows if row < len(self._rows)}, reverse=True)
        for row in wanted:
            self.beginRemoveRows(_TOP, row, row)
            del self._rows[row]
            self.endRemoveRows()
        if wanted:
            self.edited.emit("Remove points" if len(wanted) > 1 else "Remove a point")

    def clear_cells(self, cells: Iterable[tuple[int, int]]) -> bool:
        """Empty cells; says whether any held something."""
        filled = [(row, column) for row, column in cells if row < len(self._rows) and self._rows[row][column].text]
        for row, column in filled:
            self._put(row, column, BLANK)
        if filled:
            self._all_changed()
            self.edited.emit("Clear points")
        return bool(filled)

    def read_block(self, text: str, column: int, told: Told) -> Block:
        """Read a block; columns without headings are those from `column` on. BlockError with a sentence."""
        return read_block(text, quantities(self._units), order=KINDS[column:], told=told)

    def put(self, block: Block, row: int, everything: bool) -> tuple[int, int]:
        """Put a block in from a row on, or in place of all rows. One change, whatever its size.

        A block whose headings name flow and pressure is a whole table: it takes the place of all rows when it is put
        on the first. A column takes the unit that the block names.

        Returns
        -------
        tuple
            First row and number of rows it took.
        """
        everything = everything or (block.headed and {"flow", "pressure"} <= set(block.keys) and row == 0)
        first = 0 if everything else row
        for column in block.columns:
            kind = _kind(column)
            if column.named and (usual := usual_unit(kind, column.unit)):
                self.set_unit(kind, usual)
        if everything and self._rows:
            self.beginRemoveRows(_TOP, 0, len(self._rows) - 1)
            self._rows.clear()
            self.endRemoveRows()
        self._grow(first + len(block.rows))
        for c, column in enumerate(block.columns):
            at = KINDS.index(_kind(column))
            for i, cells in enumerate(block.rows):
                self._put(first + i, at, self._pasted(_kind(column), cells[c]))
        self._all_changed()
        self.edited.emit("Paste points")
        return first, len(block.rows)

    def _pasted(self, kind: Kind, cell: Value | None) -> Entry:
        here = self._units[kind]
        if cell is None:
            return BLANK
        if unit_size(kind, cell.unit) == unit_size(kind, here):
            # a number stays as it was written
            return typed(kind, cell.plain, here)
        return in_unit(kind, typed(kind, cell.plain, cell.unit), here)

    def text_of(self, cells: Sequence[tuple[int, int]]) -> str:
        """Cells for the clipboard, parted by tabs; with a header when they are all of the table."""
        rows = sorted({row for row, _ in cells if row < len(self._rows)})
        columns = sorted({column for _, column in cells})
        lines = ["\t".join(self._rows[row][c].text.replace("−", "-") for c in columns) for row in rows]
        if len(rows) == len(self._rows) > 1 and len(columns) == len(KINDS):
            lines.insert(0, "\t".join(f"{TITLES[kind]} ({self._units[kind]})" for kind in KINDS))
        return "\n".join(lines)

    # --- as Qt asks for it ---

    def rowCount(self, parent: Index = _TOP) -> int:
        return 0 if parent.isValid() else len(self._rows) + 1

    def columnCount(self, parent: Index = _TOP) -> int:
        return 0 if parent.isValid() else len(KINDS)

    def flags(self, index: Index) -> Qt.ItemFlag:
        if not index.isValid():
            return Qt.ItemFlag.NoItemFlags
        return Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable | Qt.ItemFlag.ItemIsEditable

    def _entry(self, row: int, column: int) -> Entry:
        return self._rows[row][column] if row < len(self._rows) else BLANK

    def data(self, index: Index, role: int = _ROLE.DisplayRole) -> Any:
        if not index.isValid():
            return None
        row, column = index.row(), index.column()
        entry = self._entry(row, column)
        verdict, said = self._marks.get(row, ("", ""))
        if role in (_ROLE.DisplayRole, _ROLE.EditRole):
            return entry.text
        if role == _ROLE.TextAlignmentRole:
            return Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        if role == _ROLE.ForegroundRole and entry.fault:
            return QColor(self._theme.bad)
        if role == _ROLE.BackgroundRole and verdict:
            return _tint(self._theme.panel, self._theme.verdict(verdict))
        if role == _ROLE.ToolTipRole:
            return said or None
        if role == _ROLE.AccessibleTextRole:
            kind = KINDS[column]
            stands = f"{entry.text} {self._units[kind]}" if entry.text else "empty"
            return f"{TITLES[kind]} in row {row + 1}: {stands}. {said}".strip()
        return None

    def setData(self, index: Index, value: Any, role: int = _ROLE.EditRole) -> bool:
        if not index.isValid() or role != _ROLE.EditRole:
            return False
        row, column = index.row(), index.column()
        kind = KINDS[column]
        entry = typed(kind, str(value), self._units[kind])
        if entry.text == self._entry(row, column).text:
            return True
        self._grow(row + 1)
        self._put(row, column, entry)
        self.dataChanged.emit(index, index)
        self.edited.emit("Change a point")
        return True

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = _ROLE.DisplayRole) -> Any:
        if orientation == Qt.Orientation.Horizontal:
            if role == _ROLE.DisplayRole and 0 <= section < len(KINDS):
                kind = KINDS[section]
                return f"{TITLES[kind]}, {self._units[kind]}"
            return None
        verdict, said = self._marks.get(section, ("", ""))
        if role == _ROLE.DisplayRole:
            number = str(section + 1) if section < len(self._rows) else "+"
            return f"{SHAPES[verdict]} {number}" if verdict else number
        if role == _ROLE.ForegroundRole:
            return QColor(self._theme.verdict(verdict))
        if role == _ROLE.ToolTipRole:
            return said or None
        if role == _ROLE.TextAlignmentRole:
            return Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        return None


def _kind(column: ReadColumn) -> Kind:
    return next(kind for kind in KINDS if kind == column.quantity.key)


def _tint(sheet: str, colour: str) -> QColor:
    under, over = QColor(sheet), QColor(colour)
    share = 0.14
    return QColor.fromRgbF(
        under.redF() + share * (over.redF() - under.redF()),
        under.greenF() + share * (over.greenF() - under.greenF()),
        under.blueF() + share * (over.blueF() - under.blueF()),
    )


class _PointCellEditor(QStyledItemDelegate):
    """A plain line in the cell; tells what is being typed before it is entered."""

    typing = Signal(int, int, str)

    def createEditor(self, parent: QWidget, option: QStyleOptionViewItem, index: Index) -> QWidget:
        editor = QLineEdit(parent)
        editor.setFrame(False)
        editor.setStyleSheet("QLineEdit, QLineEdit:focus { border: none; border-radius: 0; padding: 0 3px; }")
        editor.setAlignment(Qt.AlignmentFlag.AlignRight)
        editor.setAccessibleName(f"{TITLES[KINDS[index.column()]]} in row {index.row() + 1}")
        place = QPersistentModelIndex(index)
        editor.textEdited.connect(lambda text: self.typing.emit(place.row(), place.column(), text))
        return editor


class PointsView(Guarded, QTableView):
    """A table that is typed through: Tab goes along the row, Enter back to where the row was begun and one down."""

    typing = Signal(int, int, str)
    widths_changed = Signal()
    pasted = Signal(str)
    """Text from the clipboard that is to be put at the current cell."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._begun_in = 0
        self._tabbing = False
        delegate = _PointCellEditor(self)
        delegate.typing.connect(self.typing)
        self.setItemDelegate(delegate)
        self.setAccessibleName("Points of the fan's curve")
        self.setEditTriggers(
            QAbstractItemView.EditTrigger.AnyKeyPressed
            | QAbstractItemView.EditTrigger.EditKeyPressed
            | QAbstractItemView.EditTrigger.DoubleClicked
        )
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        self.horizontalHeader().hide()
        self.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.setCornerButtonEnabled(False)
        self._fit_rows()

    def apply_theme(self, theme: Theme) -> None:
        self.verticalHeader().setStyleSheet(
            f"QHeaderView {{ background: {theme.panel}; border: none; }}"
            f"QHeaderView::section {{ background: {theme.raised}; border: none; padding-right: 5px;"
            f" border-right: 1px solid {theme.rule}; border-bottom: 1px solid {theme.rule}; }}"
        )

    def _fit_rows(self) -> None:
        metrics = self.fontMetrics()
        self.verticalHeader().setDefaultSectionSize(metrics.height() + 8)
        self.verticalHeader().setFixedWidth(metrics.horizontalAdvance("▲ 888") + 10)

    def cells(self) -> list[tuple[int, int]]:
        """Row and column of every selected cell, or of the current one."""
        chosen = [(index.row(), index.column()) for index in self.selectedIndexes()]
        current = self.currentIndex()
        return chosen or ([(current.row(), current.column())] if current.isValid() else [])

    def go_to(self, row: int, column: int) -> None:
        """Make a cell the current one, and the only one selected."""
        # left to the view, a Shift or Ctrl still held down would select more
        flag = QItemSelectionModel.SelectionFlag.ClearAndSelect
        self.selectionModel().setCurrentIndex(self.model().index(row, column), flag)

    def select_rows(self, first: int, count: int) -> None:
        """Select whole rows."""
        self.clearSelection()
        flags = QItemSelectionModel.SelectionFlag.Select | QItemSelectionModel.SelectionFlag.Rows
        for row in range(first, first + count):
            self.selectionModel().select(self.model().index(row, 0), flags)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.widths_changed.emit()

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() in (QEvent.Type.FontChange, QEvent.Type.StyleChange):
            self._fit_rows()

    def currentChanged(self, current: Index, previous: Index) -> None:
        super().currentChanged(current, previous)
        if not self._tabbing and current.isValid():
            self._begun_in = current.column()

    def closeEditor(self, editor: QWidget, hint: QAbstractItemDelegate.EndEditHint) -> None:
        hints = QAbstractItemDelegate.EndEditHint
        super().closeEditor(editor, hints.NoHint)
        if hint == hints.EditNextItem:
            self._along(1)
        elif hint == hints.EditPreviousItem:
            self._along(-1)
        elif hint == hints.SubmitModelCache:
            self._down(1)

    def _along(self, step: int) -> bool:
        """Go one cell on or back; not out of the table."""
        current = self.currentIndex()
        model = self.model()
        place = current.row() * model.columnCount() + current.column() + step
        if not current.isValid() or not 0 <= place < model.rowCount() * model.columnCount():
            return False
        self._tabbing = True
        self.go_to(*divmod(place, model.columnCount()))
        self._tabbing = False
        return True

    def _down(self, step: int) -> None:
        row = self.currentIndex().row() + step
        if 0 <= row < self.model().rowCount():
            self.go_to(row, self._begun_in)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key, keys = event.key(), QKeySequence.StandardKey
        model = self.model()
        assert isinstance(model, PointsModel)
        shift = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
        control = bool(event.modifiers() & Qt.KeyboardModifier.ControlModifier)
        if self.state() == QAbstractItemView.State.EditingState and key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            # the line has passed it on, but the delegate takes the text and closes in a moment
            event.accept()
        elif event.matches(keys.Paste):
            self.pasted.emit(QGuiApplication.clipboard().text())
        elif event.matches(keys.Copy) or event.matches(keys.Cut):
            QGuiApplication.clipboard().setText(model.text_of(self.cells()))
            if event.matches(keys.Cut):
                self._delete(model)
        elif key in (Qt.Key.Key_Tab, Qt.Key.Key_Backtab) and not control:
            back = key == Qt.Key.Key_Backtab
            row = self.currentIndex().row()
            # out of the blank row at the end, Tab leaves the table
            at_end = not back and row == model.rowCount() - 1 and self.currentIndex().column() == 0
            if at_end or not self._along(-1 if back else 1):
                event.ignore()
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._down(-1 if shift else 1)
        elif key in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace):
            if control:
                self.remove_rows()
            else:
                self._delete(model)
        elif key == Qt.Key.Key_Insert:
            self.insert_row()
        else:
            super().keyPressEvent(event)

    def insert_row(self) -> None:
        """A blank row before the current one."""
        model, current = self.model(), self.currentIndex()
        assert isinstance(model, PointsModel)
        row = current.row() if current.isValid() else model.rowCount() - 1
        if row < model.rowCount() - 1:
            model.insert_row(row)
        self.go_to(row, 0)

    def remove_rows(self) -> None:
        """Take the rows of all selected cells out."""
        model = self.model()
        assert isinstance(model, PointsModel)
        rows = {row for row, _ in self.cells()}
        column = max(self.currentIndex().column(), 0)
        if rows:
            model.remove(rows)
            self.go_to(min(min(rows), model.rowCount() - 1), column)

    def _delete(self, model: PointsModel) -> None:
        cells = self.cells()
        rows = {row for row, _ in cells}
        # what is wholly selected, or empty already, goes; else it is emptied
        whole = len(cells) == len(rows) * model.columnCount()
        if whole or not model.clear_cells(cells):
            current = self.currentIndex()
            blank = [row for row in rows if row < len(model.rows()) and is_blank(model.rows()[row])]
            if whole or blank:
                model.remove(rows if whole else blank)
                self.go_to(min(min(rows), model.rowCount() - 1), max(current.column(), 0))
