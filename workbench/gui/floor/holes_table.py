"""The table of test holes: looked over by hole, opened for its readings, typed in with the keys of a spreadsheet."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QItemSelectionModel, QModelIndex, QPersistentModelIndex, Qt, QTimer, Signal
from PySide6.QtGui import (
    QContextMenuEvent,
    QFocusEvent,
    QFontMetrics,
    QGuiApplication,
    QKeyEvent,
    QKeySequence,
    QMouseEvent,
    QResizeEvent,
)
from PySide6.QtWidgets import (
    QAbstractItemDelegate,
    QAbstractItemView,
    QApplication,
    QHeaderView,
    QMenu,
    QTableView,
    QWidget,
)

from workbench.design.wording import sentence
from workbench.files.block import Block
from workbench.gui.floor.holes_draft import KEYS
from workbench.gui.floor.holes_model import NOT_READ, ORDER_WORDS, HolesModel
from workbench.gui.floor.holes_paint import HANDLE, PAD, HoleCells, HoleHeader, in_lines, pad_of, row_height
from workbench.gui.floor.holes_rows import NAME, NOW, READING_KEYS, VERDICT, WORST, Line
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.pasted import take_pasted
from workbench.gui.kit.theme import SHAPES
from workbench.gui.kit.type_scale import Role, font_of, px
from workbench.solving.report.verdict_words import VERDICT_WORDS
from workbench.units import as_read

_SHORTEST = "Show room"
"""A name of this length is never cut."""
_MOST_BENEATH = 62
"""Room for the name of a suction point under a reading. [px before the factor]"""
_TALLEST = 460
"""Beyond this height the rows scroll. [px before the factor]"""

Index = QModelIndex | QPersistentModelIndex


class HolesView(Guarded, QTableView):
    """A table that is typed through: Tab goes along the row, Enter to the row below; F5 sorts it again."""

    refused = Signal(str)
    """Why what was pasted cannot be taken; empty when it was."""
    left = Signal()
    """The hand has gone to another part of the window."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._begun_in = 0
        self._tabbing = self._sent = self._wrapped = False
        self._before: tuple[Line | None, int] = (None, 0)
        self.setItemDelegate(HoleCells(self))
        self.setAccessibleName("Test holes and their readings")
        self.setAccessibleDescription(
            "Enter or the right arrow key opens a hole, the left one shuts it. F5 sorts again, the menu key has more."
        )
        self.setEditTriggers(
            QAbstractItemView.EditTrigger.AnyKeyPressed
            | QAbstractItemView.EditTrigger.EditKeyPressed
            | QAbstractItemView.EditTrigger.DoubleClicked
        )
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setShowGrid(False)
        header = HoleHeader(self)
        self.setHorizontalHeader(header)
        header.sectionClicked.connect(self._sort_by)
        self.verticalHeader().hide()
        self.verticalHeader().setMinimumSectionSize(1)
        self.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.setCornerButtonEnabled(False)

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange and self.model() is not None:
            self.lay_out()

    def take_model(self, model: HolesModel) -> None:
        """Show a model, and lay its rows out whenever they change."""
        self.setModel(model)
        model.modelAboutToBeReset.connect(self._remember)
        model.modelReset.connect(self._laid_anew)
        model.headerDataChanged.connect(lambda *_: self.lay_out())
        self.lay_out()

    def _model(self) -> HolesModel:
        model = self.model()
        assert isinstance(model, HolesModel)
        return model

    def _remember(self) -> None:
        self._before = self.line(), self.currentIndex().column()

    def _laid_anew(self) -> None:
        """After rows came, went or changed places the hand is in the same one, or in that of its hole."""
        self.lay_out()
        before, column = self._before
        if before is None:
            return
        rows = {(line.kind, line.name, line.reading): i for i, line in enumerate(self._model().lines())}
        own = rows.get(("hole", before.name, 0)) if before.name else None
        row = rows.get((before.kind, before.name, before.reading), own)
        if row is not None:
            self._tabbing = True
            self.go_to(row, column)
            self._tabbing = False

    # --- its measures -------------------------------------------------------------------------------------------------

    @property
    def wrapped(self) -> bool:
        """Whether a band takes two lines, for want of room."""
        return self._wrapped

    def lay_out(self) -> None:
        """Give every row its height and its verdict the rest of the row, and the table the height of all rows."""
        self.clearSpans()
        self._fit_columns()
        heights = []
        for row, line in enumerate(self._model().lines()):
            heights.append(row_height(line, wrapped=self._wrapped, signed=self._model().system.minus_is_suction))
            self.verticalHeader().resizeSection(row, heights[-1])
            if line.kind == "hole":
                self.setSpan(row, VERDICT, 1, len(READING_KEYS) - VERDICT)
        header = self.horizontalHeader()
        assert isinstance(header, HoleHeader)
        header.setFixedHeight(header.wanted_height())
        beside = header.wanted_height() + 2 * self.frameWidth()
        across = sum(self.columnWidth(column) for column in range(len(READING_KEYS)))
        if across > self.viewport().width():
            beside += self.horizontalScrollBar().sizeHint().height()
        wanted = beside + min(sum(heights), px(_TALLEST))
        if self.height() != wanted or self.minimumHeight() != wanted:
            self.setFixedHeight(wanted)

    def _fit_columns(self) -> None:
        """Room for the names, every heading and any band, so that figures that change move nothing."""
        model, header = self._model(), self.horizontalHeader()
        roles = (Role.BODY, Role.SMALL, Role.STRONG)
        plain, small, bold = (QFontMetrics(font_of(role)).horizontalAdvance for role in roles)
        handle = HANDLE + PAD + 2
        names = max(bold(line.name) for line in model.lines()) + handle
        names = max([names, *(plain(name) + handle for name in model.points())])
        fewest = max(plain(_SHORTEST), *map(small, model.title_words(NAME))) + handle
        room = self.viewport().width()
        beneath = [NOT_READ, *(model.points() if len(model.points()) > 1 else [])]
        # as long as figures come to be
        long, longer = (as_read(value, model.system) for value in (-0.83, -0.85))
        value, bands = model.banded(long, (long, longer))
        for self._wrapped in (False, True):
            beside = 2 * pad_of(self) + 1
            band = max(bold(value), *map(small, in_lines(bands, wrapped=self._wrapped)))
            least = [
                max(band if column in (NOW, WORST) else 0, figures, *map(small, model.title_words(column))) + beside
                for column, figures in enumerate(self._figures())
            ][1:]
            verdict = max(plain(f"{SHAPES[each]} {said}") for each, said in VERDICT_WORDS.items()) + beside + 2
            least[0] = max(least[0], min(max(map(small, beneath)), px(_MOST_BENEATH)) + beside)
            least[-1] = max(least[-1], verdict - sum(least[VERDICT - 1 : -1]))
            if fewest + sum(least) <= room:
                break
        name = max(min(names, room - sum(least)), fewest)
        spare = max(room - name - sum(least), 0)
        header.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.setColumnWidth(NAME, name)
        for i, width in enumerate(least):
            share = spare // len(least) + (spare % len(least) if i == len(least) - 1 else 0)
            self.setColumnWidth(i + 1, width + share)

    def _figures(self) -> list[int]:
        """Width of the longest figure read in each column. [px]"""
        model, plain = self._model(), QFontMetrics(font_of(Role.BODY)).horizontalAdvance
        rows = [row for row, line in enumerate(model.lines()) if line.kind == "reading"]
        return [
            max((plain(str(model.index(row, column).data() or "")) for row in rows), default=0)
            for column in range(len(READING_KEYS))
        ]

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if self.model() is not None and event.size().width() != event.oldSize().width():
            self.lay_out()

    # --- where the hand is --------------------------------------------------------------------------------------------

    def line(self) -> Line | None:
        """The current row."""
        current = self.currentIndex()
        return self._model().lines()[current.row()] if current.isValid() else None

    def busy(self) -> bool:
        """Whether the hand is in the table, so that no row may go elsewhere."""
        held = QApplication.focusWidget()
        return held is not None and (held is self or self.isAncestorOf(held))

    def cells(self) -> list[tuple[int, int]]:
        """Row and column of every selected cell, or of the current one."""
        chosen = [(i.row(), i.column()) for i in self.selectedIndexes()]
        current = self.currentIndex()
        return chosen or ([(current.row(), current.column())] if current.isValid() else [])

    def go_to(self, row: int, column: int) -> None:
        """Make a cell the current one, and the only one selected."""
        flag = QItemSelectionModel.SelectionFlag.ClearAndSelect
        self.selectionModel().setCurrentIndex(self.model().index(row, column), flag)

    def begin(self, row: int) -> None:
        """Go to the first cell of a row that is typed into, from the editor that is about to close too."""
        line, model = self._model().lines()[row], self._model()
        self.go_to(row, next((c for c in range(len(READING_KEYS)) if model.editable(line, c)), NAME))
        self._sent = True
        QTimer.singleShot(0, self, self._arrived)

    def _arrived(self) -> None:
        self._sent = False

    def currentChanged(self, current: Index, previous: Index) -> None:
        super().currentChanged(current, previous)
        if not self._tabbing and current.isValid():
            self._begun_in = current.column()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self._tell_left(event.reason())

    def _tell_left(self, reason: Qt.FocusReason) -> None:
        if reason not in (Qt.FocusReason.PopupFocusReason, Qt.FocusReason.ActiveWindowFocusReason):
            # an editor of its own may take the focus, and is not elsewhere
            QTimer.singleShot(0, self, self._tell_if_left)

    def _tell_if_left(self) -> None:
        if not self.busy():
            self.left.emit()

    def closeEditor(self, editor: QWidget, hint: QAbstractItemDelegate.EndEditHint) -> None:
        hints = QAbstractItemDelegate.EndEditHint
        super().closeEditor(editor, hints.NoHint)
        sent, self._sent = self._sent, False
        if hint == hints.NoHint:
            self._tell_left(Qt.FocusReason.OtherFocusReason)
        elif hint != hints.RevertModelCache and not self.busy():
            # what was entered may have laid the rows anew and taken the editor, and the focus with it, away
            self.setFocus()
        if sent:
            return
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
            if model.editable(model.lines()[row], column):
                self._tabbing = True
                self.go_to(row, column)
                self._tabbing = False
                return True
            place += step
        return False

    def _down(self, step: int) -> None:
        """Go to the next row whose cell below can be typed into."""
        model, row, column = self._model(), self.currentIndex().row() + step, self._begun_in
        while 0 <= row < model.rowCount():
            if model.editable(model.lines()[row], column):
                self.go_to(row, column)
                return
            row += step

    # --- opening and sorting ------------------------------------------------------------------------------------------

    def _sort_by(self, section: int) -> None:
        model = self._model()
        if section == NAME:
            model.sort_by("entered" if model.sorted_by == "weakest" else "weakest")
        elif section == WORST:
            model.sort_by("weakest")

    def toggle(self, line: Line) -> None:
        """Open a hole, or shut it."""
        self._open(line, not self._model().opened(line.name))

    def _open(self, line: Line, opened: bool) -> None:
        if line.hole is not None:
            self._model().open_hole(line.name, opened)

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        model, menu = self._model(), QMenu(self)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        for order, words in ORDER_WORDS.items():
            action = menu.addAction(f"Sort {words}")
            action.setCheckable(True)
            action.setChecked(model.sorted_by == order)
            action.triggered.connect(lambda _checked=False, order=order: model.sort_by(order))
        menu.addAction("Sort again\tF5").triggered.connect(model.sort_again)
        menu.addSeparator()
        menu.addAction("Open every hole").triggered.connect(lambda: model.open_all(True))
        menu.addAction("Shut every hole").triggered.connect(lambda: model.open_all(False))
        menu.popup(event.globalPos())

    def mousePressEvent(self, event: QMouseEvent) -> None:
        at = event.position().toPoint()
        index = self.indexAt(at)
        line = self._model().lines()[index.row()] if index.isValid() else None
        super().mousePressEvent(event)
        on_handle = line is not None and line.kind == "hole" and index.column() == NAME and at.x() < HANDLE
        if line is not None and on_handle and event.button() == Qt.MouseButton.LeftButton:
            self.toggle(line)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        at = event.position().toPoint()
        index = self.indexAt(at)
        line = self._model().lines()[index.row()] if index.isValid() else None
        if line is not None and line.kind == "hole" and not line.key(index.column()):
            self.toggle(line)
        elif not (index.column() == NAME and at.x() < HANDLE):
            super().mouseDoubleClickEvent(event)

    # --- pasting, removing, keys --------------------------------------------------------------------------------------

    def columns_from(self, row: int, column: int) -> list[str]:
        """Keys of what is pasted without headings, from a cell on."""
        model = self._model()
        line = model.lines()[row]
        keys = KEYS if line.kind == "hole" else READING_KEYS[column:]
        return [key for key in keys if key != "point" or len(model.points()) > 1]

    def paste(self) -> None:
        """Put the cells on the clipboard in from the current cell on."""
        current = self.currentIndex()
        row, column = (current.row(), current.column()) if current.isValid() else (self.model().rowCount() - 1, 0)
        self.refused.emit("")
        model, text = self._model(), QGuiApplication.clipboard().text()
        order = self.columns_from(row, column)

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
        line = self.line()
        of_hole = line if line is not None and line.kind == "hole" and line.hole is not None else None
        if self.state() == QAbstractItemView.State.EditingState and key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            # the line has passed it on, but the delegate takes the text and closes in a moment
            event.accept()
        elif event.matches(keys.Paste):
            self.paste()
        elif event.matches(keys.Copy):
            QGuiApplication.clipboard().setText(self._model().text_of(self.cells()))
        elif key == Qt.Key.Key_F5:
            self._model().sort_again()
        elif of_hole is not None and key in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
            self.toggle(of_hole)
        elif (
            of_hole is not None
            and key in (Qt.Key.Key_Left, Qt.Key.Key_Right)
            and self._model().opened(of_hole.name) != (key == Qt.Key.Key_Right)
        ):
            self._open(of_hole, key == Qt.Key.Key_Right)
        elif key in (Qt.Key.Key_Tab, Qt.Key.Key_Backtab) and not control:
            back = key == Qt.Key.Key_Backtab
            # out of the blank row at the end, Tab leaves the table
            at_end = not back and line == Line("hole", None, "") and not self._model().opened("")
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
