"""The answers over the speed: the verdict first and largest, then a few numbers, each with its band in a word."""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct
from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPaintEvent, QPen, QPolygonF, QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QToolButton, QWidget

from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.theme import LIGHT, SHAPES, Theme, Verdict
from workbench.gui.kit.tips import plain_tip
from workbench.gui.kit.type_scale import Role, factor, font_of, line_of, px

FAULTY, AWAITED, BROKEN = (
    "not updated: input has an error",
    "not updated yet: calculating",
    "not updated: something went wrong inside the program",
)
"""Why what stands is not the answer to what is entered."""
ALWAYS = ("flow", "gauge", "money")
"""What a short window shows beside the verdict."""
_SIDE, _GAP, _BAR, _WIDEST_BAR, _MORE = 12, 8, 300, 420, 76
_LEFT = int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)


def why_stale(*, waiting: bool, faulty: bool, broken: bool = False) -> str:
    """Why the last good answer stands, or nothing where that of the design does."""
    return FAULTY if faulty else AWAITED if waiting else BROKEN if broken else ""


class Span(Struct, frozen=True):
    """A band against a mark: low end, middle and high end, and the target, as shares of a scale from 0 to 1."""

    low: float
    middle: float
    high: float
    target: float


class Answer(Struct, frozen=True):
    """One answer as it is read.

    `value` with its unit, `detail` its band, `words` what the verdict says. Of the verdict itself, `value` is its words
    with the chance, `subject` what it hangs on, `span` the band against the target, and `words` what that is drawn on;
    `brief` is what a short window writes in the place of `detail`. `parts` are amounts that make up the value, in words
    and as shares of it.
    """

    key: str
    title: str
    value: str
    detail: str = ""
    verdict: Verdict = ""
    words: str = ""
    subject: str = ""
    brief: str = ""
    span: Span | None = None
    parts: tuple[tuple[str, float], ...] = ()

    def spoken(self) -> str:
        """Everything but the title, for a screen reader and the tool tip."""
        said = f"{self.subject}, {self.detail}" if self.subject and self.detail else self.subject or self.detail
        parts = " + ".join(words for words, _ in self.parts)
        return ". ".join(part for part in (self.value, said, parts, self.words or self.verdict) if part)


def _width(text: str, role: Role) -> float:
    return QFontMetricsF(font_of(role)).horizontalAdvance(text)


class _View(Guarded, QWidget):
    """One answer, painted: a change repaints it and moves nothing."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._answer = Answer("", "", "")
        self._stale = ""
        self.compact = False
        self._theme = LIGHT
        self._widest = 0

    def width_wanted(self) -> int:
        """What the widest answer shown so far takes, so that the columns do not breathe with the figures."""
        self._widest = max(self._widest, math.ceil(self._room()) + self._margins())
        return self._widest

    def forget_width(self) -> None:
        self._widest = 0

    def _margins(self) -> int:
        return 0

    def _room(self) -> float:
        raise NotImplementedError

    def show_answer(self, answer: Answer, stale: str) -> None:
        if (answer, stale) != (self._answer, self._stale):
            self._answer, self._stale = answer, stale
            self.setAccessibleName(answer.title)
            spoken = f"{answer.value}, {stale}" if stale else answer.spoken()
            self.setAccessibleDescription(spoken)
            self.setToolTip(plain_tip(f"{answer.title}\n{spoken}"))
            self.update()

    def apply_theme(self, theme: Theme) -> None:
        self._theme = theme
        self.update()

    def _ink(self, role: str = "text") -> str:
        return self._theme.muted if self._stale else str(getattr(self._theme, role))

    def _write(self, painter: QPainter, text: str, role: Role, colour: str, box: QRectF) -> float:
        """Write a line, shortened where a name leaves no room for it; gives where it ends."""
        painter.setFont(font_of(role))
        painter.setPen(colour)
        shown = QFontMetricsF(font_of(role)).elidedText(text, Qt.TextElideMode.ElideRight, box.width() + 1)
        painter.drawText(box, _LEFT, shown)
        return box.left() + _width(shown, role)


class HeadView(_View):
    """The verdict on the design with its number, what it hangs on, and its band against the target."""

    def _headline(self) -> str:
        return f"{SHAPES[self._answer.verdict]} {self._answer.value}".strip()

    def _reason(self) -> tuple[str, str, Role, Role]:
        answer = self._answer
        strong, plain = (Role.SMALL_STRONG, Role.SMALL) if self.compact else (Role.STRONG, Role.BODY)
        rest = answer.brief or answer.detail if self.compact else answer.detail
        return answer.subject, f", {rest}" if answer.subject and rest else rest, strong, plain

    def _room(self) -> float:
        subject, rest, strong, plain = self._reason()
        lines = [_width(self._headline(), Role.VERDICT), _width(subject, strong) + _width(rest, plain)]
        if self._answer.span is not None and not self.compact:
            lines.append(0.4 * _BAR * factor() + _GAP + _width(self._answer.words, Role.SMALL))
        return max(lines)

    def height_wanted(self) -> int:
        if self.compact:
            return math.ceil(line_of(Role.VERDICT) + line_of(Role.SMALL))
        return math.ceil(line_of(Role.VERDICT) + line_of(Role.BODY) + line_of(Role.SMALL) + 4)

    def _margins(self) -> int:
        return _SIDE

    def paintEvent(self, event: QPaintEvent) -> None:
        answer, theme = self._answer, self._theme
        painter = QPainter(self)
        width, top = float(self.width() - _SIDE), 0.0
        first = line_of(Role.VERDICT)
        colour = theme.muted if self._stale else theme.verdict(answer.verdict) if answer.verdict else theme.text
        headline = self._headline()
        # a number is never cut: letters give way first
        role = next((each for each in (Role.VERDICT, Role.TILE) if _width(headline, each) <= width), Role.STRONG)
        self._write(painter, headline, role, colour, QRectF(0, top, width, first))
        top += first
        subject, rest, strong, plain = self._reason()
        if self._stale:
            subject, rest = "", self._stale
        line = line_of(plain)
        # a name gives way, a number never does
        room = max(width - _width(rest, plain), 0.25 * width)
        end = (
            self._write(painter, subject, strong, self._ink(), QRectF(0, top, min(room, width), line)) if subject else 0
        )
        self._write(painter, rest, plain, self._ink(), QRectF(end, top, width - end, line))
        top += line
        if not self.compact and answer.words and not self._stale:
            self._paint_span(painter, QRectF(0, top + 2, width, line_of(Role.SMALL)))
        painter.end()

    def _paint_span(self, painter: QPainter, box: QRectF) -> None:
        answer, theme, span = self._answer, self._theme, self._answer.span
        left = box.left()
        if span is not None:
            words = _width(answer.words, Role.SMALL) + _GAP
            bar = QRectF(1, box.center().y() - 5, min(_BAR * factor(), box.width() - words), 10)
            colour = theme.verdict(answer.verdict)

            def at(share: float) -> float:
                return bar.left() + min(max(share, 0.0), 1.0) * bar.width()

            painter.setPen(QPen(theme.colour("rule"), 1))
            painter.drawLine(QPointF(bar.left(), bar.center().y()), QPointF(bar.right(), bar.center().y()))
            painter.setPen(QPen(QColor(colour), 1))
            painter.setBrush(theme.colour("selection"))
            painter.drawRect(QRectF(at(span.low), bar.top(), max(at(span.high) - at(span.low), 1.0), bar.height()))
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.setBrush(painter.pen().color())
            x, y = at(span.middle), bar.center().y()
            painter.drawPolygon(QPolygonF([QPointF(x, y - 5), QPointF(x + 5, y), QPointF(x, y + 5), QPointF(x - 5, y)]))
            painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
            painter.setPen(QPen(theme.colour("text"), 2))
            painter.drawLine(QPointF(at(span.target), bar.top() - 3), QPointF(at(span.target), bar.bottom() + 3))
            left = bar.right() + _GAP
        self._write(
            painter, answer.words, Role.SMALL, theme.muted, QRectF(left, box.top(), box.right() - left, box.height())
        )


class TileView(_View):
    """A number with its title over it, its band under it, and what it means or what it is made of."""

    def _room(self) -> float:
        answer = self._answer
        lines = [_width(answer.title, Role.SMALL), _width(answer.value, Role.TILE)]
        if not self.compact:
            beside = lines[1] + _GAP if answer.parts else 0.0
            mark = f"{SHAPES[answer.verdict]} " if answer.verdict else ""
            lines += [beside + _width(answer.detail, Role.SMALL), _width(mark + answer.words, Role.SMALL)]
            lines.append(_width(self._joined(), Role.SMALL) + 12 if answer.parts else 0.0)
        return max(lines)

    def _joined(self) -> str:
        return " + ".join(words for words, _ in self._answer.parts)

    def _margins(self) -> int:
        return 2 * _SIDE

    def height_wanted(self) -> int:
        rows = [line_of(Role.SMALL), line_of(Role.TILE)]
        return math.ceil(sum(rows if self.compact else [*rows, rows[0], rows[0]]))

    def paintEvent(self, event: QPaintEvent) -> None:
        theme, answer = self._theme, self._answer
        painter = QPainter(self)
        painter.setPen(QPen(theme.colour("rule"), 1))
        painter.drawLine(0, 2, 0, self.height() - 4)
        left, width, small = float(_SIDE), float(self.width() - _SIDE - 4), line_of(Role.SMALL)
        self._write(painter, answer.title, Role.SMALL, theme.muted, QRectF(left, 0, width, small))
        top, tall = small, line_of(Role.TILE)
        end = self._write(painter, answer.value, Role.TILE, self._ink(), QRectF(left, top, width, tall))
        if not self.compact:
            under = QRectF(left, top + tall, width, small)
            if answer.parts:
                beside = QRectF(end + _GAP, top + 2, left + width - end - _GAP, tall - 2)
                self._write(painter, answer.detail, Role.SMALL, theme.muted, beside)
                self._paint_parts(painter, under.adjusted(0, 1, -4, 3))
            else:
                self._write(painter, answer.detail, Role.SMALL, theme.muted, under)
                words = f"{SHAPES[answer.verdict]} {answer.words}".strip() if not self._stale else ""
                colour = theme.verdict(answer.verdict)
                self._write(painter, words, Role.SMALL, colour, under.translated(0, small))
        painter.end()

    def _paint_parts(self, painter: QPainter, box: QRectF) -> None:
        """A bar of what the value is made of, with the words of each in it."""
        theme, text = self._theme, self._joined()
        box.setWidth(min(box.width(), _WIDEST_BAR * factor()))
        first = box.width() * min(max(self._answer.parts[0][1], 0.0), 1.0)
        fill = theme.muted if self._stale else theme.fan
        filled = QRectF(box.left(), box.top(), first, box.height())
        painter.fillRect(filled, QColor(fill))
        painter.setPen(QPen(QColor(fill), 1))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(box)
        painter.setFont(font_of(Role.SMALL))
        rest = QRectF(filled.right(), box.top(), box.width() - first, box.height())
        words = [part for part, _ in self._answer.parts]
        if all(_width(part, Role.SMALL) + 10 <= room.width() for part, room in zip(words, (filled, rest), strict=True)):
            spots = [(filled, "on_accent", words[0], filled), (rest, "text", words[1], rest)]
        else:
            # one line over both, each letter in the ink of what it lies on
            spots = [(filled, "on_accent", text, box), (rest, "text", text, box)]
        for clip, ink, part, room in spots:
            painter.save()
            painter.setClipRect(clip)
            painter.setPen(theme.colour(ink))
            painter.drawText(room.adjusted(6, 0, 0, 0), _LEFT, part)
            painter.restore()


class AnswerStrip(Guarded, QWidget):
    """The verdict and the numbers in one line, or in as many as a narrow window needs.

    A short window shows the verdict with its reason and what never folds; a button brings the rest.
    """

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._views: dict[str, _View] = {}
        self._answers: list[Answer] = []
        self._stale = ""
        self._compact = False
        self._theme = LIGHT
        self._placed: object = None
        self._more = QToolButton(self)
        self._more.setCheckable(True)
        self._more.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self._more.setAccessibleName("Show all answers")
        self._more.toggled.connect(lambda _on: self._arrange())
        self._more.hide()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        # a line's width until it is laid out: as high as many lines, it would have the whole window laid out twice
        self.resize(px(1256), 1)

    def set_answers(self, answers: Sequence[Answer]) -> None:
        """Show these answers, in this order, the verdict first; keys seen before keep their widget."""
        keys = [answer.key for answer in answers]
        if keys != list(self._views):
            old, self._views = self._views, {}
            for key in keys:
                view = old.pop(key, None) or (HeadView(self) if key == "verdict" else TileView(self))
                view.apply_theme(self._theme)
                view.show()
                self._views[key] = view
            for view in old.values():
                view.hide()
                view.deleteLater()
            self._placed = None
        self._answers = list(answers)
        self._refresh()

    def answers(self) -> list[Answer]:
        """What is shown."""
        return list(self._answers)

    def stale(self) -> bool:
        """Whether the answers are marked as the last good ones."""
        return bool(self._stale)

    def set_stale(self, why: str) -> None:
        """Grey the answers and say why they are the last good ones; nothing where they are the design's."""
        if why != self._stale:
            self._stale = why
            self._refresh()

    def set_compact(self, compact: bool) -> None:
        """Show only what never folds, with a button for the rest."""
        if compact != self._compact:
            self._compact = compact
            self._more.setVisible(compact)
            self._arrange()

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self._theme = theme
        for view in self._views.values():
            view.apply_theme(theme)

    def sizeHint(self) -> QSize:
        return QSize(px(900), self.height())

    def minimumSizeHint(self) -> QSize:
        return QSize(px(300), self.height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self._arrange()

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() in (QEvent.Type.FontChange, QEvent.Type.StyleChange):
            self._arrange()

    def _refresh(self) -> None:
        for answer in self._answers:
            self._views[answer.key].show_answer(answer, self._stale)
        if self._views and self._wishes() != self._placed:
            self._place()

    def _arrange(self) -> None:
        """Lay out anew, without the widths of figures shown before."""
        for view in self._views.values():
            view.forget_width()
        if self._views:
            self._place()

    def _short(self) -> bool:
        return self._compact and not self._more.isChecked()

    def _wishes(self) -> object:
        for view in self._views.values():
            view.compact = self._short()
        return self.width(), self._short(), tuple((key, view.width_wanted()) for key, view in self._views.items())

    def _place(self) -> None:
        self._placed = self._wishes()
        short = self._short()
        shown = [(k, v) for k, v in self._views.items() if not short or k == "verdict" or k in ALWAYS]
        for key, view in self._views.items():
            view.setVisible(any(key == other for other, _ in shown))
        self._more.setText("Less ▾" if self._compact and self._more.isChecked() else "More ▸")
        room = self.width() - (px(_MORE) if self._compact else 0)
        top = 0
        for row in _rows([view.width_wanted() for _, view in shown], room):
            views = [shown[i][1] for i in row]
            tall = max(view.height_wanted() for view in views)  # type: ignore[attr-defined]
            wanted = [view.width_wanted() for view in views]
            # what is left over goes to the verdict, or to all in a line without it
            spare = max(room - sum(wanted), 0)
            if row[0] == 0:
                wanted[0] += spare
            else:
                wanted = [width + spare // len(row) for width in wanted]
            left = 0
            for view, width in zip(views, wanted, strict=True):
                view.setGeometry(left, top, min(width, max(room - left, 1)), tall)
                left += width
            top += tall + 2
        height = max(top - 2, 1)
        if self.height() != height:
            self.setFixedHeight(height)
        if self._compact:
            size = self._more.sizeHint()
            self._more.setGeometry(self.width() - size.width(), 4, size.width(), size.height())


def _rows(widths: Sequence[int], room: int) -> list[list[int]]:
    """Which of some widths, in their order, stand in one line: all, or the first alone over as many as need be."""
    if sum(widths) <= room:
        return [list(range(len(widths)))]
    rows: list[list[int]] = [[0], []]
    taken = 0
    for i, width in enumerate(widths[1:], start=1):
        if rows[-1] and taken + width > room:
            rows.append([])
            taken = 0
        rows[-1].append(i)
        taken += width
    return [row for row in rows if row]
