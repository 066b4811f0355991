"""A short list of hand-painted rows, of which one is picked: by mouse, arrows or Enter."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QEvent, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QVBoxLayout, QWidget

from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.theme import LIGHT, Theme
from workbench.gui.kit.type_scale import Role, font_of, line_of
from workbench.units import SI, System


class PickRow(Guarded, QWidget):
    """One row, drawn by `paint_row` beside the mark of the picked one; a change repaints it and moves nothing."""

    asked = Signal(object)
    """The row itself: it wants to be picked."""
    stepped = Signal(object, int)

    lines = 3.0

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.theme = LIGHT
        self.system: System = SI
        self.stale = self.picked = False
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self._set_fonts()

    def _set_fonts(self) -> None:
        self.plain = font_of(Role.BODY)
        self.small = font_of(Role.SMALL)
        self.bold = font_of(Role.STRONG)
        self.large = font_of(Role.TILE)
        self.setFixedHeight(round(self.lines * line_of(Role.BODY)) + 14)

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self._set_fonts()
            self.update()

    def sizeHint(self) -> QSize:
        return QSize(320, self.height())

    def mousePressEvent(self, event: QMouseEvent) -> None:
        self.asked.emit(self)
        super().mousePressEvent(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
            self.asked.emit(self)
        elif event.key() in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self.stepped.emit(self, -1 if event.key() == Qt.Key.Key_Up else 1)
        else:
            super().keyPressEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, theme = QPainter(self), self.theme
        if self.picked:
            painter.fillRect(self.rect(), theme.colour("raised"))
            painter.fillRect(QRectF(0, 0, 3, self.height()), theme.colour("accent"))
        painter.setPen(QPen(theme.colour("rule"), 1))
        painter.drawLine(0, self.height() - 1, self.width(), self.height() - 1)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self.paint_row(painter, QRectF(10, 5, self.width() - 18, self.height() - 10))
        if self.hasFocus():
            painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
            painter.setPen(QPen(theme.colour("focus"), 1))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(self.rect().adjusted(0, 0, -1, -1))
        painter.end()

    def paint_row(self, painter: QPainter, room: QRectF) -> None:
        """Draw the row."""
        raise NotImplementedError

    def ink(self, role: str = "text") -> str:
        """A colour, or the quiet one while the answer is the last good one."""
        return self.theme.muted if self.stale else str(getattr(self.theme, role))


class PickRows(QWidget):
    """Rows under one another. `picked` tells which the person picked."""

    picked = Signal(int)

    def __init__(self, make: Callable[[], PickRow], name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._make = make
        self._theme = LIGHT
        self._system: System = SI
        self._at = -1
        self.rows: list[PickRow] = []
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(0)
        self.setAccessibleName(name)

    def set_count(self, count: int) -> None:
        """Have so many rows."""
        while len(self.rows) > count:
            row = self.rows.pop()
            self._column.removeWidget(row)
            row.hide()
            row.deleteLater()
        while len(self.rows) < count:
            row = self._make()
            row.theme, row.system = self._theme, self._system
            row.asked.connect(lambda row: self._asked(self.rows.index(row)))
            row.stepped.connect(lambda row, step: self._stepped(self.rows.index(row) + step))
            self.rows.append(row)
            self._column.addWidget(row)
        self._at = min(self._at, count - 1)

    def at(self) -> int:
        """Position of the picked row, -1 for none."""
        return self._at

    def pick(self, at: int) -> None:
        """Pick a row; tells nobody."""
        self._at = at if 0 <= at < len(self.rows) else -1
        for i, row in enumerate(self.rows):
            if row.picked != (i == self._at):
                row.picked = i == self._at
                row.update()

    def _asked(self, at: int) -> None:
        if at != self._at:
            self.pick(at)
            self.picked.emit(at)

    def _stepped(self, at: int) -> None:
        if 0 <= at < len(self.rows):
            self.rows[at].setFocus(Qt.FocusReason.OtherFocusReason)
            self._asked(at)

    def set_stale(self, stale: bool) -> None:
        """Grey what is the last good answer."""
        for row in self.rows:
            if row.stale != stale:
                row.stale = stale
                row.update()

    def set_system(self, system: System) -> None:
        """Show other units."""
        self._system = system
        for row in self.rows:
            row.system = system
            row.update()

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self._theme = theme
        for row in self.rows:
            row.theme = theme
            row.update()
