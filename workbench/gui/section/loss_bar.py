"""The fan's pressure as one bar, in which each part has the breadth of what it takes."""

from __future__ import annotations

import math
from collections.abc import Iterator

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QHelpEvent, QMouseEvent, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QToolTip, QWidget

from workbench.design.record import Address
from workbench.gui.kit.bars import Picture
from workbench.gui.kit.tips import plain_tip
from workbench.gui.kit.type_scale import Role, line_of, px
from workbench.gui.section.losses import Piece
from workbench.gui.section.paint import pen, tint
from workbench.gui.section.parts import PartAnswers
from workbench.gui.shell.track import spread

_SIDE, _STRIP, _PAD = 8.0, 6.0, 4.0
_DROP, _BETWEEN = 5.0, 10.0
"""From a narrow piece down to its name, and from name to name. [px]"""
_LEAST_NAME = 3
"""Letters of a name under which it stands beneath the bar."""
_LEFT = int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)


class LossBar(Picture):
    """Which part takes how much; the strip under the words wears the shades of the pipes."""

    picked = Signal(object)
    """Address of the part of a piece that was pressed."""
    grown = Signal(float)
    """Height of the line of names beneath the bar, 0 where none is needed. [px]"""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Where the fan’s pressure goes", parent)
        self._answers: PartAnswers | None = None
        self._part: Address | None = None
        self._hover: Piece | None = None
        self._beneath = False
        self.setMouseTracking(True)

    def sizeHint(self) -> QSize:
        return QSize(px(320), math.ceil(2.0 * line_of(Role.SMALL) + _STRIP + 8.0 + self._line_beneath()))

    def _line_beneath(self) -> float:
        return line_of(Role.SMALL) + _DROP if self._beneath else 0.0

    def show_answers(self, answers: PartAnswers | None) -> None:
        """Show where the pressure goes now; None while nothing is known of the parts."""
        parts = [piece.address for piece in self.pieces()]
        self._answers, self._hover = answers, None
        self._make_room(anew=parts != [piece.address for piece in self.pieces()])
        total, lines = self._told()
        self.setAccessibleDescription(". ".join((f"Fan total pressure {total}", *lines)) if lines else "")
        self.update()

    def show_part(self, part: Address | None) -> None:
        """Mark the piece of the part that is picked."""
        if part != self._part:
            self._part = part
            self.update()

    def pieces(self) -> tuple[Piece, ...]:
        """What is shown."""
        return self._answers.pieces if self._answers is not None else ()

    def box_of(self, address: Address) -> QRectF:
        """Where the piece of a part stands in the widget. LookupError when it is not drawn."""
        for piece, box in self._boxes():
            if piece.address == address:
                return box
        raise LookupError(f"no piece drawn for {address}")

    def _told(self) -> tuple[str, tuple[str, ...]]:
        return self._answers.lines_of_losses() if self._answers is not None else ("", ())

    def _boxes(self) -> Iterator[tuple[Piece, QRectF]]:
        """A box for each loss; what lifts the air takes no room."""
        losses = [piece for piece in self.pieces() if piece.pressure > 0.0]
        whole = math.fsum(piece.pressure for piece in losses)
        line = line_of(Role.SMALL)
        left, wide = _SIDE, self.width() - 2.0 * _SIDE
        for piece in losses:
            width = wide * piece.pressure / whole
            yield piece, QRectF(left, line + 2.0, width, line + _STRIP)
            left += width

    def _make_room(self, *, anew: bool) -> None:
        """A line for the names of narrow pieces; it stays while the parts are the same, so that no drag moves it."""
        beneath = any(not words for _, _, words in self._worded()) or (self._beneath and not anew)
        if beneath != self._beneath:
            self._beneath = beneath
            self.updateGeometry()
            self.grown.emit(self._line_beneath())

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self._make_room(anew=True)

    def _worded(self) -> list[tuple[Piece, QRectF, str]]:
        """Each piece with its box and the words in it; none where it is too narrow for its name."""
        metrics = QFontMetricsF(self.small)
        return [(piece, box, _words(piece, box.width() - 2.0 * _PAD, metrics)) for piece, box in self._boxes()]

    def _names(self) -> list[tuple[Piece, QRectF, str, QRectF]]:
        """Pieces too narrow for their names, with their boxes: the name beneath the bar and where it stands."""
        metrics = QFontMetricsF(self.small)
        narrow = [(piece, box) for piece, box, words in self._worded() if not words]
        if not narrow:
            return []
        room = (self.width() - 2.0 * _SIDE + _BETWEEN) / len(narrow) - _BETWEEN
        texts = [_beneath(piece, metrics) for piece, _ in narrow]
        widths = [metrics.horizontalAdvance(text) for text in texts]
        if sum(widths) + _BETWEEN * (len(widths) - 1) > self.width() - 2.0 * _SIDE:
            texts = [_beneath(piece, metrics, room) for piece, _ in narrow]
            widths = [metrics.horizontalAdvance(text) for text in texts]
        centres = [box.center().x() for _, box in narrow]
        lefts = spread(centres, widths, _SIDE, self.width() - _SIDE, _BETWEEN)
        top = narrow[0][1].bottom() + _DROP
        return [
            (piece, box, text, QRectF(left, top, width, line_of(Role.SMALL)))
            for (piece, box), text, left, width in zip(narrow, texts, lefts, widths, strict=True)
        ]

    def words_of(self, address: Address) -> QRectF:
        """Where the words of a part stand: in its piece, or beneath the bar. LookupError when it is not drawn."""
        return next((name for piece, _, _, name in self._names() if piece.address == address), self.box_of(address))

    def _caption(self) -> str:
        if not self.pieces():
            return "Losses: no operating point" if self._answers is not None else ""
        lifts = [f"{each.name.lower()} {each.figure}" for each in self.pieces() if each.percent < 0]
        return "; ".join([f"Losses, % of fan total pressure, {self._told()[0]}", *lifts])

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, theme = QPainter(self), self.theme
        painter.setFont(self.small)
        metrics, line = QFontMetricsF(self.small), line_of(Role.SMALL)
        painter.setPen(theme.colour("muted"))
        room = self.width() - 2.0 * _SIDE
        caption = metrics.elidedText(self._caption(), Qt.TextElideMode.ElideRight, room)
        painter.drawText(QRectF(_SIDE, 0.0, room, line), _LEFT, caption)
        chosen: QRectF | None = None
        for piece, box, words in self._worded():
            share = piece.percent / 100.0
            strip = QRectF(box.left(), box.bottom() - _STRIP, box.width(), _STRIP)
            painter.fillRect(strip, theme.colour("rule") if self.stale else tint(theme, share))
            if piece is self._hover and not self.stale:
                painter.fillRect(box.adjusted(0.0, 0.0, 0.0, -_STRIP), theme.colour("selection"))
            painter.setPen(pen(theme.colour("edge")))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(box)
            if words:
                painter.setPen(theme.colour("muted" if self.stale else "text"))
                painter.drawText(box.adjusted(_PAD, 0.0, 0.0, -_STRIP), _LEFT, words)
            if piece.address is not None and piece.address == self._part:
                chosen = box
        self._paint_names(painter)
        if chosen is not None:
            painter.setPen(pen(theme.colour("accent"), 2.0))
            painter.drawRect(chosen)
        painter.end()

    def _paint_names(self, painter: QPainter) -> None:
        theme = self.theme
        for piece, box, words, room in self._names():
            middle = box.center().x()
            painter.setPen(pen(theme.colour("edge")))
            painter.drawLine(
                QPointF(middle, box.bottom()),
                QPointF(min(max(middle, room.left()), room.right()), room.top() + 1.0),
            )
            picked = piece is self._hover or (piece.address is not None and piece.address == self._part)
            painter.setPen(theme.colour("muted" if self.stale or not picked else "text"))
            painter.drawText(room, _LEFT, words)

    # -- picking -----------------------------------------------------------------------------------------------

    def piece_at(self, place: QPointF) -> Piece | None:
        """The piece under a place, or the one whose name is."""
        named = next((piece for piece, _, _, name in self._names() if name.contains(place)), None)
        return named or next((piece for piece, box in self._boxes() if box.contains(place)), None)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        hover = self.piece_at(event.position())
        if hover is not self._hover:
            self._hover = hover
            reachable = hover is not None and hover.address is not None
            self.setCursor(Qt.CursorShape.PointingHandCursor if reachable else Qt.CursorShape.ArrowCursor)
            self.update()

    def leaveEvent(self, event: QEvent) -> None:
        super().leaveEvent(event)
        self._hover = None
        self.update()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        piece = self.piece_at(event.position()) if event.button() == Qt.MouseButton.LeftButton else None
        if piece is not None and piece.address is not None:
            self.picked.emit(piece.address)

    def event(self, event: QEvent) -> bool:
        if isinstance(event, QHelpEvent) and event.type() == QEvent.Type.ToolTip:
            total, lines = self._told()
            words = "\n".join((f"Fan total pressure {total}, used up by", *lines)) if lines else ""
            QToolTip.showText(event.globalPos(), plain_tip(words), self)
            return True
        return super().event(event)


def _words(piece: Piece, room: float, metrics: QFontMetricsF) -> str:
    """The name with its figure, as much of it as there is room for; none where too little of it could be read."""
    whole = f"{piece.name} {piece.figure}"
    if metrics.horizontalAdvance(whole) <= room:
        return whole
    left = room - metrics.horizontalAdvance(f" {piece.figure}")
    short = metrics.elidedText(piece.name, Qt.TextElideMode.ElideRight, left) if left > 0.0 else ""
    return f"{short} {piece.figure}" if len(short) > _LEAST_NAME else ""


def _beneath(piece: Piece, metrics: QFontMetricsF, room: float = math.inf) -> str:
    """The name of a narrow piece with its figure, within a room; a figure is never cut."""
    figure = piece.share.removesuffix(" %")
    left = room - metrics.horizontalAdvance(f" {figure}")
    name = piece.name if math.isinf(room) else metrics.elidedText(piece.name, Qt.TextElideMode.ElideRight, left)
    return f"{name} {figure}"
