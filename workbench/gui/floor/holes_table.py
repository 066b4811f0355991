"""The table in which test holes and their readings are typed, with the keys of a spreadsheet."""

from __future__ import annotations

from PySide6.QtCore import (
    QAbstractItemModel,
    QEvent,
    QItemSelectionModel,
    QModelIndex,
    QPersistentModelIndex,
    Qt,
    Signal,
)
from PySide6.QtGui import QFontMetrics, QGuiApplication, QKeyEvent, QKeySequence, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemDelegate,
    QAbstractItemView,
    QCompleter,
    QHeaderView,
    QLineEdit,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)

from workbench.design.wording import sentence
from workbench.files.block import Block
from workbench.gui.floor.holes_draft import COLUMNS, KEYS
from workbench.gui.floor.holes_model import HolesModel
from workbench.gui.kit.pasted import take_pasted
from workbench.gui.kit.type_scale import Role, font_of, px, wear

_WIDEST, _WIDEST_BESIDE = 128, 112
"""Most pixels for a column of names, alone and beside another."""

Index = QModelIndex | QPersistentModelIndex


class _HoleCellEditor(QStyledItemDelegate):
    """A plain line in the cell; the names of the suction points are offered where one is asked for."""

    def createEditor(self, parent: QWidget, option: QStyleOptionViewItem, index: Index) -> QWidget:
        editor = QLineEdit(parent)
        editor.setFrame(False)
        editor.setStyleSheet("QLineEdit, QLineEdit:focus { border: none; border-radius: 0; padding: 0 2px; }")
        model = index.model()
        assert isinstance(model, HolesModel)
        column = COLUMNS[index.column()]
        if column.dimension is not None:
            editor.setAlignment(Qt.AlignmentFlag.AlignRight)
        if column.key == "point":
            names = QCompleter(model.points(), editor)
            names.setCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
            editor.setCompleter(names)
        line = model.lines()[index.row()]
        editor.setAccessibleName(f"{column.title}, {line.name or 'new hole'}")
        return editor


class HolesView(QTableView):
    """A table that is typed through: Tab goes along the row, Enter to the row below."""

    refused = Signal(str)
    """Why what was pasted cannot be taken; empty when it was."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._begun_in = 0
        self._tabbing = False
        self.setItemDelegate(_HoleCellEditor(self))
        self.setAccessibleName("Test holes and their readings")
        self.setEditTriggers(
            QAbstractItemView.EditTrigger.AnyKeyPressed
            | QAbstractItemView.EditTrigger.EditKeyPressed
            | QAbstractItemView.EditTrigger.DoubleClicked
        )
        self.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.horizontalHeader().setMinimumSectionSize(30)
        self.horizontalHeader().setHighlightSections(False)
        wear(self.horizontalHeader(), Role.SMALL)
        self.verticalHeader().hide()
        self.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.verticalHeader().setDefaultSectionSize(self.fontMetrics().height() + 8)
        self.setCornerButtonEnabled(False)

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self.verticalHeader().setDefaultSectionSize(self.fontMetrics().height() + 8)

    def _model(self) -> HolesModel:
        model = self.model()
        assert isinstance(model, HolesModel)
        return model

    def shown_columns(self) -> list[str]:
        """Keys of the columns in sight."""
        return [key for i, key in enumerate(KEYS) if not self.isColumnHidden(i)]

    def set_widths(self, names: list[str], points: list[str]) -> None:
        """Room for the names, then for every figure and heading; what is left over the figures share."""
        bold = QFontMetrics(font_of(Role.STRONG)).horizontalAdvance
        plain = self.fontMetrics().horizontalAdvance
        beside = not self.isColumnHidden(KEYS.index("point"))
        most = _WIDEST_BESIDE if beside else _WIDEST
        for key, widths, widest in (
            ("name", [bold(name) for name in names], most),
            ("point", [plain(name) for name in points], _WIDEST_BESIDE),
        ):
            column = KEYS.index(key)
            self.setColumnWidth(column, min(max([*widths, plain("Suction point")]) + 12, px(widest)))

        self.fit_figures()

    def fit_figures(self) -> None:
        """Give the figures room for the longest of them and for their headings; a table too wide for it scrolls."""
        model = self.model()
        if model is None:
            return
        head, plain = QFontMetrics(self.horizontalHeader().font()), self.fontMetrics()
        wanted = {}
        for column, key in enumerate(KEYS):
            if key in ("name", "point") or self.isColumnHidden(column):
                continue
            title = str(model.headerData(column, Qt.Orientation.Horizontal) or "")
            words = [head.horizontalAdvance(line) for line in title.splitlines()]
            cells = (str(model.index(row, column).data() or "") for row in range(model.rowCount()))
            wanted[column] = max([*words, *map(plain.horizontalAdvance, cells)], default=0) + 10
        named = sum(self.columnWidth(c) for c, key in enumerate(KEYS) if key in ("name", "point"))
        spare = max(self.viewport().width() - named - sum(wanted.values()), 0) // max(len(wanted), 1)
        for column, width in wanted.items():
            if self.columnWidth(column) != width + spare:
                self.setColumnWidth(column, width + spare)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.fit_figures()

    def setModel(self, model: QAbstractItemModel | None) -> None:
        super().setModel(model)
        if model is not None:
            for changed in (model.dataChanged, model.modelReset, model.headerDataChanged, model.rowsInserted):
                changed.connect(lambda *_: self.fit_figures())

    def cells(self) -> list[tuple[int, int]]:
        """Row and column of every selected cell in sight, or of the current one."""
        chosen = [(i.row(), i.column()) for i in self.selectedIndexes() if not self.isColumnHidden(i.column())]
        current = self.currentIndex()
        return chosen or ([(current.row(), current.column())] if current.isValid() else [])

    def go_to(self, row: int, column: int) -> None:
        """Make a cell the current one, and the only one selected."""
        flag = QItemSelectionModel.SelectionFlag.ClearAndSelect
        self.selectionModel().setCurrentIndex(self.model().index(row, column), flag)

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
        """Go to the next cell, on or back, that can be typed into; not out of the table."""
        current, model = self.currentIndex(), self._model()
        columns = model.columnCount()
        place = current.row() * columns + current.column() + step
        while current.isValid() and 0 <= place < model.rowCount() * columns:
            row, column = divmod(place, columns)
            editable = model.flags(model.index(row, column)) & Qt.ItemFlag.ItemIsEditable
            if editable and not self.isColumnHidden(column):
                self._tabbing = True
                self.go_to(row, column)
                self._tabbing = False
                return True
            place += step
        return False

    def _down(self, step: int) -> None:
        row = self.currentIndex().row() + step
        if 0 <= row < self.model().rowCount():
            self.go_to(row, self._begun_in)

    def paste(self) -> None:
        """Put the cells on the clipboard in from the current cell on."""
        current = self.currentIndex()
        row, column = (current.row(), current.column()) if current.isValid() else (self.model().rowCount() - 1, 0)
        self.refused.emit("")
        model, text, shown = self._model(), QGuiApplication.clipboard().text(), self.shown_columns()
        order = [key for key in KEYS[column:] if key in shown]

        def take(block: Block) -> None:
            try:
                model.take_block(block, row)
            except ValueError as refusal:
                self.refused.emit(sentence(str(refusal)))

        take_pasted(self, lambda told: model.read_block(text, order, told), take, self.refused.emit)

    def remove_rows(self) -> None:
        """Take the rows of all selected cells out."""
        rows = sorted({row for row, _ in self.cells()})
        column = max(self.currentIndex().column(), 0)
        if rows:
            self._model().remove(rows)
            self.go_to(min(rows[0], self.model().rowCount() - 1), column)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key, keys = event.key(), QKeySequence.StandardKey
        shift = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
        control = bool(event.modifiers() & Qt.KeyboardModifier.ControlModifier)
        if self.state() == QAbstractItemView.State.EditingState and key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            # the line has passed it on, but the delegate takes the text and closes in a moment
            event.accept()
        elif event.matches(keys.Paste):
            self.paste()
        elif event.matches(keys.Copy):
            QGuiApplication.clipboard().setText(self._model().text_of(self.cells()))
        elif key in (Qt.Key.Key_Tab, Qt.Key.Key_Backtab) and not control:
            back = key == Qt.Key.Key_Backtab
            current = self.currentIndex()
            # out of the blank row at the end, Tab leaves the table
            at_end = not back and current.row() == self.model().rowCount() - 1 and current.column() == 0
            if at_end or not self._along(-1 if back else 1):
                event.ignore()
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._down(-1 if shift else 1)
        elif key in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace):
            if control:
                self.remove_rows()
            else:
                self._model().clear(self.cells())
        else:
            super().keyPressEvent(event)
