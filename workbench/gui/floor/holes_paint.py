"""How the rows of the table of test holes look, and the line that is typed in."""

from __future__ import annotations

from PySide6.QtCore import QModelIndex, QObject, QPersistentModelIndex, QPointF, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetrics, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import (
    QCompleter,
    QHeaderView,
    QLineEdit,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QWidget,
)

from workbench.gui.floor.holes_draft import COLUMNS, KEYS
from workbench.gui.floor.holes_model import HolesModel
from workbench.gui.floor.holes_rows import NAME, VERDICT, WORST, Line
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.type_scale import Role, font_of, wear

Index = QModelIndex | QPersistentModelIndex

HANDLE = 22
"""Left of a name, where its triangle stands. [px]"""
PAD = 5
"""Between a cell's edge and its words. [px]"""


def pad_of(table: QObject | None) -> int:
    """Between a cell's edge and its words, less where there is little room. [px]"""
    return PAD - 2 if getattr(table, "wrapped", False) else PAD


def in_lines(words: str, *, wrapped: bool) -> list[str]:
    """The small words of a cell; a band in two lines where one is too wide."""
    first, to, last = words.partition(" to ")
    return [f"{first} to", last] if wrapped and to else [words]


def row_height(line: Line, *, wrapped: bool, signed: bool) -> int:
    """Height of a row, `wrapped` where bands take two lines, `signed` where titles tell the sign of suction. [px]"""
    high, low = (QFontMetrics(font_of(role)).height() for role in (Role.BODY, Role.SMALL))
    if line.kind == "titles":
        return (3 if signed else 2) * low + 6
    return high + 8 if line.kind == "reading" or line.hole is None else high + (2 if wrapped else 1) * low + 8


class HoleHeader(Guarded, QHeaderView):
    """Titles without lines between them; the last two columns, which hold the verdict, share one."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(Qt.Orientation.Horizontal, parent)
        self.setMinimumSectionSize(30)
        self.setHighlightSections(False)
        self.setSectionsClickable(True)
        wear(self, Role.SMALL)

    def paintSection(self, painter: QPainter, rect: QRect, section: int) -> None:
        model = self.model()
        assert isinstance(model, HolesModel)
        theme = model.theme
        painter.save()
        painter.fillRect(rect, theme.colour("raised"))
        painter.setPen(QPen(theme.colour("edge"), 1))
        painter.drawLine(rect.bottomLeft(), rect.bottomRight())
        if section <= VERDICT:
            room = self._room(section)
            painter.setFont(self.font())
            painter.setPen(theme.colour("muted"))
            side = Qt.AlignmentFlag.AlignRight if NAME < section < VERDICT else Qt.AlignmentFlag.AlignLeft
            words = str(model.headerData(section, Qt.Orientation.Horizontal))
            flags = side | Qt.AlignmentFlag.AlignBottom
            painter.drawText(room.translated(rect.left(), 0), int(flags) | int(Qt.TextFlag.TextWordWrap), words)
        painter.restore()

    def _room(self, section: int) -> QRect:
        """Where the words of a title stand within its section."""
        width = sum(self.sectionSize(i) for i in (range(section, self.count()) if section == VERDICT else [section]))
        pad = pad_of(self.parent())
        left = HANDLE if section == NAME else pad
        return QRect(left, 2, width - left - pad, self.height() - 5)

    def wanted_height(self) -> int:
        """A height at which no title is cut. [px]"""
        metrics, model = QFontMetrics(self.font()), self.model()
        high = 0
        for section in range(VERDICT + 1):
            words = str(model.headerData(section, Qt.Orientation.Horizontal))
            room = QRect(0, 0, self._room(section).width(), 1000)
            high = max(high, metrics.boundingRect(room, int(Qt.TextFlag.TextWordWrap), words).height())
        return high + 6

    def paintEvent(self, event: QPaintEvent) -> None:
        # from right to left, so that the shared title is not painted over
        painter = QPainter(self.viewport())
        for section in reversed(range(self.count())):
            box = QRect(self.sectionViewportPosition(section), 0, self.sectionSize(section), self.viewport().height())
            self.paintSection(painter, box, section)
        painter.end()


class HoleCells(Guarded, QStyledItemDelegate):
    """A hole has a figure over its band; a reading is a line to type in."""

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        model = index.model()
        assert isinstance(model, HolesModel)
        line, theme = model.lines()[index.row()], model.theme
        painter.save()
        box = option.rect
        picked = line.hole is not None and line.hole == model.picked
        if line.kind == "hole" and picked:
            painter.fillRect(box, theme.colour("selection"))
        elif line.kind == "titles":
            painter.fillRect(box, theme.colour("raised"))
        if line.kind == "hole":
            self._hole(painter, box, model, line, index.column())
        else:
            self._reading(painter, box, model, line, index)
        if picked and index.column() == NAME:
            painter.fillRect(QRect(box.left(), box.top(), 3, box.height() + 1), theme.colour("accent"))
        last = index.row() + 1 == model.rowCount() or model.lines()[index.row() + 1].kind == "hole"
        painter.setPen(QPen(theme.colour("edge" if last else "rule"), 1))
        painter.drawLine(box.bottomLeft(), box.bottomRight())
        state = option.state
        if line.kind != "titles" and state & QStyle.StateFlag.State_Selected:
            painter.setPen(QPen(theme.colour("focus"), 2 if state & QStyle.StateFlag.State_HasFocus else 1))
            painter.drawRect(box.adjusted(1, 1, -1, -1))
        painter.restore()

    def _hole(self, painter: QPainter, box: QRect, model: HolesModel, line: Line, column: int) -> None:
        plain, bold, small = (font_of(role) for role in (Role.BODY, Role.STRONG, Role.SMALL))
        first, second = model.told(line, column)
        ink, quiet = model.colours(line, column)
        pad = pad_of(self.parent())
        left = box.left() + (HANDLE if column == NAME else pad)
        width = box.right() + 1 - pad - left
        side = Qt.AlignmentFlag.AlignLeft if column in (NAME, VERDICT) else Qt.AlignmentFlag.AlignRight
        strong = (column == NAME and line.hole is not None) or column == WORST
        font = bold if strong else plain
        metrics, low = QFontMetrics(font), QFontMetrics(small)
        under = in_lines(second, wrapped=self._wrapped()) if second else []
        top = box.top() + (box.height() - metrics.height() - len(under) * low.height()) // 2
        painter.setFont(font)
        painter.setPen(ink)
        room = QRect(left, top, width, metrics.height())
        painter.drawText(room, side, metrics.elidedText(first, Qt.TextElideMode.ElideRight, width))
        painter.setFont(small)
        painter.setPen(quiet)
        for i, words in enumerate(under):
            room = QRect(left, top + metrics.height() + i * low.height(), width, low.height())
            painter.drawText(room, side, low.elidedText(words, Qt.TextElideMode.ElideRight, width))
        if column == NAME and line.hole is not None:
            self._triangle(painter, box, model, model.opened(line.name))

    @staticmethod
    def _triangle(painter: QPainter, box: QRect, model: HolesModel, opened: bool) -> None:
        at = QPointF(box.left() + 12.5, box.center().y() + 0.5)
        corners = [(-4.0, -2.5), (4.0, -2.5), (0.0, 3.0)] if opened else [(-2.5, -4.0), (3.0, 0.0), (-2.5, 4.0)]
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(model.theme.colour("text"))
        painter.drawPolygon(QPolygonF([at + QPointF(x, y) for x, y in corners]))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)

    def _reading(self, painter: QPainter, box: QRect, model: HolesModel, line: Line, index: Index) -> None:
        titles, column = line.kind == "titles", index.column()
        theme = model.theme
        left = box.left() + (HANDLE if column == NAME else 2)
        words = str(index.data() or "")
        fault = "" if titles else model.fault_at(index)
        typed = not titles and model.editable(line, column)
        if typed:
            # a frame says that a cell is typed into
            painter.setPen(QPen(theme.colour("bad" if fault else "rule"), 1))
            painter.drawRect(QRectF(box).adjusted(left - box.left() - 1.0, 0.0, -2.0, -2.0))
        if fault:
            painter.fillRect(QRect(left - 1, box.top(), 4, box.height() - 1), theme.colour("bad"))
        painter.setFont(font_of(Role.SMALL if titles else Role.BODY))
        quiet = titles or not typed
        painter.setPen(theme.colour("bad" if fault else "muted" if quiet else "text"))
        pad = pad_of(self.parent())
        # a title has no frame to stand off from
        start = box.left() + pad if titles and column != NAME else left + 2
        room = QRect(start, box.top(), box.right() + 1 - pad - start, box.height() - 1)
        side = Qt.AlignmentFlag.AlignLeft if column == NAME else Qt.AlignmentFlag.AlignRight
        down = Qt.AlignmentFlag.AlignBottom if titles else Qt.AlignmentFlag.AlignVCenter
        if not titles:
            words = painter.fontMetrics().elidedText(words, Qt.TextElideMode.ElideRight, room.width())
        flags = int(side | down) | (int(Qt.TextFlag.TextWordWrap) if titles else 0)
        painter.drawText(room.adjusted(0, 0, 0, -2 if titles else 0), flags, words)

    def _wrapped(self) -> bool:
        return bool(getattr(self.parent(), "wrapped", False))

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        model = index.model()
        assert isinstance(model, HolesModel)
        line = model.lines()[index.row()]
        return QSize(60, row_height(line, wrapped=self._wrapped(), signed=model.system.minus_is_suction))

    def createEditor(self, parent: QWidget, option: QStyleOptionViewItem, index: Index) -> QWidget:
        editor = QLineEdit(parent)
        editor.setFrame(False)
        editor.setStyleSheet("QLineEdit, QLineEdit:focus { border: none; border-radius: 0; padding: 0 2px; }")
        model = index.model()
        assert isinstance(model, HolesModel)
        line = model.lines()[index.row()]
        column = COLUMNS[KEYS.index(line.key(index.column()))]
        if column.dimension is not None:
            editor.setAlignment(Qt.AlignmentFlag.AlignRight)
        if column.key == "point":
            names = QCompleter(model.points(), editor)
            names.setCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
            editor.setCompleter(names)
        which = f", reading {line.reading + 1}" if line.kind == "reading" else ""
        editor.setAccessibleName(f"{column.title}, {line.name or 'new hole'}{which}")
        return editor

    def setEditorData(self, editor: QWidget, index: Index) -> None:
        # what follows changes while someone types: it writes over nothing that is half typed
        if not (isinstance(editor, QLineEdit) and editor.isModified()):
            super().setEditorData(editor, index)

    def updateEditorGeometry(self, editor: QWidget, option: QStyleOptionViewItem, index: Index) -> None:
        box = option.rect
        left = HANDLE - 2 if index.column() == NAME else 1
        editor.setGeometry(box.adjusted(left, 1, -1, -1))
