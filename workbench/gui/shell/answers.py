"""The row of answers: a few numbers, each with its band and what it means in a word."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QEvent, QRectF, QSize, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from workbench.gui.kit.theme import LIGHT, SHAPES, Theme, Verdict
from workbench.gui.kit.tips import plain_tip
from workbench.gui.kit.type_scale import Role, font_of, line_of

STALE = "not updated: input has an error"
_LEFT, _RIGHT = 10, 4
NARROWEST = 132
"""The least width of an answer, in pixels; where they do not fit side by side they stand in two rows."""


@dataclass(frozen=True, slots=True)
class Answer:
    """One number as it is read: `value` with its unit, `detail` its band, `words` what the verdict says."""

    key: str
    title: str
    value: str
    detail: str = ""
    verdict: Verdict = ""
    words: str = ""

    def spoken(self) -> str:
        """Everything but the title, for a screen reader and the tool tip."""
        return ". ".join(part for part in (self.value, self.detail, self.words or self.verdict) if part)


class _AnswerView(QWidget):
    """One answer, painted: a change repaints it and moves nothing."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._answer = Answer("", "", "")
        self._stale = False
        self._theme = LIGHT
        self._widest = 0
        self._set_fonts()

    def _set_fonts(self) -> None:
        self._small = font_of(Role.SMALL)
        self._large = font_of(Role.TILE)
        self._rows = [line_of(role) for role in (Role.SMALL, Role.TILE, Role.SMALL, Role.SMALL)]

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self._set_fonts()
            self.update()

    def width_wanted(self) -> int:
        """What the widest answer shown so far takes, so that the columns do not breathe with the figures."""
        lines = (
            (self._answer.title, self._small),
            (self._answer.value, self._large),
            (self._answer.detail, self._small),
        )
        widest = max(QFontMetricsF(font).horizontalAdvance(text) for text, font in lines)
        self._widest = max(self._widest, math.ceil(widest) + _LEFT + _RIGHT)
        return self._widest

    def forget_width(self) -> None:
        self._widest = 0

    def height_wanted(self) -> int:
        return round(sum(self._rows)) + 4

    def show_answer(self, answer: Answer, stale: bool) -> None:
        if (answer, stale) != (self._answer, self._stale):
            self._answer, self._stale = answer, stale
            self.setAccessibleName(answer.title)
            spoken = f"{answer.value}, {STALE}" if stale else answer.spoken()
            self.setAccessibleDescription(spoken)
            self.setToolTip(plain_tip(f"{answer.title}\n{spoken}"))
            self.update()

    def apply_theme(self, theme: Theme) -> None:
        self._theme = theme
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        theme, answer = self._theme, self._answer
        quiet = theme.muted
        verdict = answer.words or answer.verdict
        mark = SHAPES[answer.verdict]
        lines: list[tuple[str, QFont, str]] = [
            (answer.title, self._small, quiet),
            (answer.value, self._large, quiet if self._stale else theme.text),
            (answer.detail, self._small, quiet),
            (STALE, self._small, quiet)
            if self._stale
            else (f"{mark} {verdict}".strip(), self._small, theme.verdict(answer.verdict)),
        ]
        painter = QPainter(self)
        painter.setPen(QPen(theme.colour("rule"), 1))
        painter.drawLine(0, 4, 0, self.height() - 4)
        top = 2.0
        for (text, font, colour), height in zip(lines, self._rows, strict=True):
            painter.setFont(font)
            painter.setPen(colour)
            room = QRectF(_LEFT, top, self.width() - _LEFT - _RIGHT, height)
            shown = QFontMetricsF(font).elidedText(text, Qt.TextElideMode.ElideRight, room.width())
            painter.drawText(room, int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter), shown)
            top += height
        painter.end()


class AnswerStrip(QWidget):
    """Answers side by side, in as many rows as the window needs.

    The columns are of one width, unless that is too narrow for an answer and another has room to spare.
    """

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._views: dict[str, _AnswerView] = {}
        self._answers: list[Answer] = []
        self._stale = False
        self._theme = LIGHT
        self._edges: list[int] = []
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def set_answers(self, answers: Sequence[Answer]) -> None:
        """Show these answers, in this order; keys seen before keep their widget."""
        keys = [answer.key for answer in answers]
        if keys != list(self._views):
            old, self._views = self._views, {}
            for key in keys:
                view = old.pop(key, None) or _AnswerView(self)
                view.apply_theme(self._theme)
                view.show()
                self._views[key] = view
            for view in old.values():
                view.hide()
                view.deleteLater()
            self._arrange()
        self._answers = list(answers)
        self._refresh()

    def answers(self) -> list[Answer]:
        """What is shown."""
        return list(self._answers)

    def stale(self) -> bool:
        """Whether the answers are marked as the last good ones."""
        return self._stale

    def set_stale(self, stale: bool) -> None:
        """Grey the answers and say that they are the last good ones."""
        if stale != self._stale:
            self._stale = stale
            self._refresh()

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self._theme = theme
        for view in self._views.values():
            view.apply_theme(theme)

    def sizeHint(self) -> QSize:
        return QSize(NARROWEST * max(len(self._views), 1), self.height())

    def minimumSizeHint(self) -> QSize:
        return QSize(NARROWEST * min(len(self._views), 3), self.height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        for view in self._views.values():
            view.forget_width()
        self._arrange()

    def _refresh(self) -> None:
        for answer in self._answers:
            self._views[answer.key].show_answer(answer, self._stale)
        if self._views and self._columns() != self._edges:
            self._arrange()

    def _rows(self) -> int:
        count = len(self._views)
        return -(-count // max(1, min(count, self.width() // NARROWEST)))

    def _columns(self) -> list[int]:
        """Where the columns begin, and where the last one ends."""
        views, rows = list(self._views.values()), self._rows()
        columns = -(-len(views) // rows)
        even = self.width() / columns
        wanted = [max(view.width_wanted() for view in views[i::columns]) for i in range(columns)]
        if max(wanted) <= even or sum(wanted) > self.width():
            return [round(i * even) for i in range(columns + 1)]
        spare = (self.width() - sum(wanted)) / columns
        return [round(sum(wanted[:i]) + i * spare) for i in range(columns + 1)]

    def _arrange(self) -> None:
        if not self._views:
            return
        rows, edges = self._rows(), self._columns()
        self._edges = edges
        columns = len(edges) - 1
        height = next(iter(self._views.values())).height_wanted()
        if self.height() != rows * height:
            self.setFixedHeight(rows * height)
        for i, view in enumerate(self._views.values()):
            row, column = divmod(i, columns)
            view.setGeometry(edges[column], row * height, edges[column + 1] - edges[column], height)
