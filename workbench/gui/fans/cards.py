"""Fans as cards in a list: a line or a small curve at the left, the name and the few figures people compare by."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

from PySide6.QtCore import (
    QAbstractListModel,
    QModelIndex,
    QPersistentModelIndex,
    QPointF,
    QRect,
    QRectF,
    QSize,
    Qt,
)
from PySide6.QtGui import QColor, QFont, QFontMetrics, QPainter, QPainterPath, QPen, QPolygonF
from PySide6.QtWidgets import QListView, QStyle, QStyledItemDelegate, QStyleOptionViewItem, QWidget

from workbench.design.fan import ControlKind, FanRecord
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.theme import LIGHT, LineStyle, Theme
from workbench.gui.kit.tips import plain_tip
from workbench.gui.kit.type_scale import Role, font_of
from workbench.solving.site.rating import rating_of, trace_of
from workbench.units import SI, Dimension, System, format_entry, format_quantity, to_display, unit_of

Index = QModelIndex | QPersistentModelIndex
_TOP = QModelIndex()
_ROLE = Qt.ItemDataRole
CARD = _ROLE.UserRole + 1

CONTROL_WORDS: dict[ControlKind, str] = {
    "none": "single speed",
    "phase-cut": "phase-cut (triac)",
    "ec": "electronic (EC)",
}
_PAD = 8
_PICTURE = QSize(40, 30)
_SHARES = (0.225, 0.325, 0.225, 0.225)
"""Parts of a card's width for flow, pressure, power and sound."""
_OPEN_END = 0.02
"""Part of the highest pressure left at the last point below which that point is called free flow."""


class Card(NamedTuple):
    """What a card shows: the fan, a word for its state, the lines it is drawn with (a small curve without any)."""

    fan: FanRecord
    state: str
    lines: tuple[LineStyle, ...]
    with_note: bool


class Figure(NamedTuple):
    """A value as written, and the few words that say what it is."""

    value: str
    words: str


def figures(fan: FanRecord, system: System) -> tuple[Figure, Figure, Figure, Figure]:
    """Flow, pressure, power and sound of a fan at full speed."""
    rating = rating_of(fan)

    def write(value: float, dimension: Dimension) -> str:
        return format_quantity(value, dimension, system)

    open_end = fan.basis == "total" or rating.end_pressure <= _OPEN_END * rating.highest_pressure
    shut_off = "shut-off" if rating.first_flow == 0.0 else f"at {write(rating.first_flow, 'flow')}"
    power = Figure("–", "power")
    if rating.most_power is not None and rating.peak_efficiency is not None:
        power = Figure(write(rating.most_power, "power"), f"{100.0 * rating.peak_efficiency:.0f} % peak")
    sound = Figure("–", "sound")
    if fan.sound_dBA is not None:
        sound = Figure(write(fan.sound_dBA, "level"), f"at {_distance(fan, system)}")
    return (
        Figure(write(rating.free_flow, "flow"), "free air" if open_end else "last point"),
        Figure(write(rating.first_pressure, "pressure"), shut_off),
        power,
        sound,
    )


def _distance(fan: FanRecord, system: System) -> str:
    return f"{to_display(fan.sound_distance, 'length', system):.3g} {unit_of('length', system).label}"


def remarks(fan: FanRecord) -> str:
    """Control, basis and whether it is invented, in a line."""
    control = CONTROL_WORDS[fan.control]
    if fan.control != "none":
        control += f" from {format_entry(fan.least_speed, 'speed', SI, with_unit=True)}"
    return " · ".join(
        part
        for part in (control, "total pressures" if fan.basis == "total" else "", "made-up data" * fan.invented)
        if part
    )


class CardModel(Guarded, QAbstractListModel):
    """Cards in a list; the text of each says all that is painted, for searching and for screen readers."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._cards: list[Card] = []
        self.system: System = SI

    def set_cards(self, cards: Sequence[Card]) -> None:
        """Show other cards; where as many stay, the places keep their selection."""
        if len(cards) != len(self._cards):
            self.beginResetModel()
            self._cards = list(cards)
            self.endResetModel()
        elif list(cards) != self._cards:
            self._cards = list(cards)
            self.refresh()

    def set_system(self, system: System) -> None:
        self.system = system
        self.refresh()

    def refresh(self) -> None:
        """Paint all again."""
        if self._cards:
            self.dataChanged.emit(self.index(0), self.index(len(self._cards) - 1))

    def rowCount(self, parent: Index = _TOP) -> int:
        return 0 if parent.isValid() else len(self._cards)

    def flags(self, index: Index) -> Qt.ItemFlag:
        if not index.isValid():
            return Qt.ItemFlag.NoItemFlags
        return Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable | Qt.ItemFlag.ItemNeverHasChildren

    def data(self, index: Index, role: int = _ROLE.DisplayRole) -> Any:
        if not index.isValid() or index.row() >= len(self._cards):
            return None
        card = self._cards[index.row()]
        if role == CARD:
            return card
        if role in (_ROLE.DisplayRole, _ROLE.AccessibleTextRole):
            numbers = (f"{figure.value} {figure.words}" for figure in figures(card.fan, self.system))
            parts = (card.fan.name, card.state, *numbers, remarks(card.fan), card.fan.note)
            return ". ".join(part for part in parts if part)
        if role == _ROLE.ToolTipRole:
            return plain_tip(card.fan.note) or None
        return None


class CardPainter(Guarded, QStyledItemDelegate):
    """Paints cards."""

    def __init__(self, system_of: CardModel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._of = system_of
        self.theme: Theme = LIGHT

    def _fonts(self, base: QFont) -> tuple[QFont, QFont, QFont]:
        """Of the name, of figures, of small print."""
        return font_of(Role.STRONG), font_of(Role.BODY), font_of(Role.SMALL)

    def _layout(self, card: Card, base: QFont, width: int) -> tuple[list[int], int]:
        """Tops of name, figures, words, remarks and note from the top of a card, and its height."""
        title, figure, small = self._fonts(base)
        name = _height(card.fan.name, title, width - _PICTURE.width() - _PAD)
        state = _height(card.state, small, width) if card.state else 0
        picture = 12 + 10 * len(card.lines) if card.lines else _PICTURE.height()
        lines = [max(name + state, picture)]
        lines += [_height("0", figure, width), _height("0", small, width)]
        lines += [_height(remarks(card.fan), small, width)]
        if card.with_note:
            lines.append(_height(card.fan.note, small, width))
        tops = [_PAD]
        for i, height in enumerate(lines):
            tops.append(tops[-1] + height + (0 if i == 1 else 3))
        return tops[:-1], tops[-1] + _PAD - 3

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        view = option.widget
        width = view.viewport().width() if isinstance(view, QListView) else 280
        return QSize(width, self._layout(index.data(CARD), view.font(), width - 2 * _PAD)[1])

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        card: Card = index.data(CARD)
        theme = self.theme
        state: Any = option.state
        rect: QRect = option.rect
        base: QFont = option.widget.font()
        painter.save()
        picked = bool(state & QStyle.StateFlag.State_Selected)
        if picked:
            painter.fillRect(rect, theme.colour("selection"))
            painter.fillRect(QRect(rect.left(), rect.top(), 4, rect.height()), theme.colour("accent"))
        painter.setPen(QPen(theme.colour("rule"), 1))
        painter.drawLine(rect.bottomLeft(), rect.bottomRight())
        left, width = rect.left() + _PAD, rect.width() - 2 * _PAD
        tops = [rect.top() + top for top in self._layout(card, base, width)[0]]
        self._paint_picture(painter, QRectF(left, tops[0], _PICTURE.width(), _PICTURE.height()), card)
        title, figure, small = self._fonts(base)
        muted, told = (theme.text, theme.text) if picked else (theme.muted, theme.accent)
        beside = _PICTURE.width() + _PAD
        _write(painter, QRect(left + beside, tops[0], width - beside, 1000), card.fan.name, title, theme.text)
        if card.state:
            under = tops[0] + _height(card.fan.name, title, width - beside)
            word = font_of(Role.SMALL_STRONG)
            _write(painter, QRect(left + beside, under, width - beside, 1000), card.state, word, told)
        at = left
        for number, share in zip(figures(card.fan, self._of.system), _SHARES, strict=True):
            space = QRect(at, tops[1], round(share * width), 1000)
            _write(painter, space, number.value, figure, theme.text, wrap=False)
            _write(painter, space.translated(0, tops[2] - tops[1]), number.words, small, muted, wrap=False)
            at += space.width()
        _write(painter, QRect(left, tops[3], width, 1000), remarks(card.fan), small, muted)
        if card.with_note:
            _write(painter, QRect(left, tops[4], width, 1000), card.fan.note, small, theme.text)
        if state & QStyle.StateFlag.State_HasFocus:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
            painter.setPen(QPen(theme.colour("focus"), 2))
            painter.drawRect(rect.adjusted(1, 1, -2, -2))
        painter.restore()

    def _paint_picture(self, painter: QPainter, space: QRectF, card: Card) -> None:
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if not card.lines:
            _paint_curve(painter, space, card.fan, self.theme)
        for i, line in enumerate(card.lines):
            pen = line.pen()
            # a card is no chart: its line may grow with the screen's density
            pen.setCosmetic(False)
            painter.setPen(pen)
            y = space.top() + 8 + 10 * i
            painter.drawLine(QPointF(space.left(), y), QPointF(space.right(), y))


def _height(text: str, font: QFont, width: int) -> int:
    return QFontMetrics(font).boundingRect(QRect(0, 0, width, 10_000), int(Qt.TextFlag.TextWordWrap), text).height()


def _write(
    painter: QPainter,
    space: QRect,
    text: str,
    font: QFont,
    colour: str,
    wrap: bool = True,
) -> None:
    painter.setFont(font)
    painter.setPen(QColor(colour))
    painter.drawText(space, int(Qt.TextFlag.TextWordWrap if wrap else Qt.TextFlag.TextSingleLine), text)


def _paint_curve(painter: QPainter, space: QRectF, fan: FanRecord, theme: Theme) -> None:
    """A fan's curve at full speed, each to its own scale: its shape, not its size."""
    trace = trace_of(fan, fan.full)
    across, up = float(trace.flow[-1]), float(trace.pressure.max())
    painter.setPen(QPen(theme.colour("edge"), 1))
    axes = QPainterPath(space.topLeft())
    axes.lineTo(space.bottomLeft())
    axes.lineTo(space.bottomRight())
    painter.drawPath(axes)
    line = QPolygonF(
        [
            QPointF(space.left() + 0.96 * space.width() * q / across, space.bottom() - 0.92 * space.height() * p / up)
            for q, p in zip(trace.flow[::4].tolist(), trace.pressure[::4].tolist(), strict=True)
        ]
    )
    painter.setPen(QPen(theme.colour("fan"), 1.8))
    painter.drawPolyline(line)


class CardList(QListView):
    """A list of cards as wide as it is."""

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(name)
        self.setVerticalScrollMode(QListView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setResizeMode(QListView.ResizeMode.Adjust)
        self.setUniformItemSizes(False)
