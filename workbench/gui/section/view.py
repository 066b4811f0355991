"""The section: the building cut open, drawn from the design itself, in which parts are picked and answers stand."""

from __future__ import annotations

import itertools
import math
from typing import NamedTuple

from PySide6.QtCore import QEvent, QPoint, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QContextMenuEvent,
    QFocusEvent,
    QFontMetricsF,
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPixmap,
    QResizeEvent,
)
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from workbench.design.design import Design
from workbench.design.record import Address
from workbench.design.section_layout import HOUSE, Layout, PartShape, lay_out
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.theme import LIGHT, Theme
from workbench.gui.kit.tips import plain_tip
from workbench.gui.kit.type_scale import Role, font_of
from workbench.gui.section.paint import Screen, paint_marks, paint_outline, paint_shares, paint_still, pen
from workbench.gui.section.parts import PLACE, PartAnswers, part_of, part_sort, part_title, removal, same_parts
from workbench.gui.section.words import Key, Words
from workbench.solving.outcome import Outcome
from workbench.solving.run.prepare import Prepared
from workbench.units import SI, System

_REACH = 8.0
"""How far beside a part the pointer may be. [px]"""
LEAST_HEIGHT = 220
"""Height in which the drawing can be read. [px]"""
_LEAST_ASPECT = 1.15
"""A drawing taller than this gets more sky and soil, not a stretched house."""
_HELP = "Arrow keys go from part to part with the air, Enter opens the part, + adds to it, Delete removes it."


class _Arranged(NamedTuple):
    layout: Layout
    screen: Screen
    words: Words


class SectionView(Guarded, QWidget):
    """The drawing. It shows; what a person wants changed it proposes."""

    picked = Signal(object)
    """Address of the part picked, or None."""
    proposed = Signal(object, str)
    """A change (Design to Design) and its words for the undo list."""
    opened = Signal()
    """Enter, or a double click: the person wants to edit the picked part."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._design: Design | None = None
        self._answers: PartAnswers | None = None
        self._outcome: Outcome | None = None
        self._system: System = SI
        self._theme = LIGHT
        self._picked: Address | None = None
        self._hover: Address | None = None
        self._stale = False
        self._arranged: _Arranged | None = None
        self._still: QPixmap | None = None
        self._still_answered = False
        self._said = ""
        self.still_paints = 0
        self.setMinimumSize(280, LEAST_HEIGHT)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setAccessibleName("Cross-section of the house")
        self.setAccessibleDescription(_HELP)

    def sizeHint(self) -> QSize:
        return QSize(460, 340)

    # -- what is shown -----------------------------------------------------------------------------------------

    def show_design(self, design: Design) -> None:
        """Draw a design; nothing is laid anew when only what the drawing does not show has changed."""
        before = self._design
        self._design = design
        if self._answers is not None and not same_parts(self._answers.design, design):
            # at the same place may stand another part now
            self._answers = self._outcome = None
        if before is not None and _drawn(before) == _drawn(design):
            return
        if self._picked is not None and part_of(design, self._picked) != self._picked:
            self._pick(part_of(design, self._picked))
        self._hover = None
        self._arrange()

    def show_outcome(self, prepared: Prepared, outcome: Outcome) -> None:
        """Write the answers at the parts."""
        self._outcome = outcome
        self._answers = PartAnswers(prepared, outcome, self._system)
        self._describe()
        self.update()

    def set_system(self, system: System) -> None:
        """Write numbers in another system of units."""
        if system != self._system:
            self._system = system
            if self._answers is not None:
                self._answers = PartAnswers(self._answers.prepared, self._answers.outcome, system)
            self._arrange()

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self._theme = theme
        self._still = None
        self.update()

    def set_stale(self, stale: bool) -> None:
        """Grey the answers while they are not those of what was typed."""
        if stale != self._stale:
            self._stale = stale
            self.update()

    def pick(self, address: Address | None) -> None:
        """Show a part as picked, as chosen elsewhere; emits nothing."""
        part = part_of(self._design, address) if self._design is not None else None
        if part != self._picked:
            self._picked = part
            self._describe()
            self.update()

    def picked_part(self) -> Address | None:
        """The part that is picked."""
        return self._picked

    def answers(self) -> PartAnswers | None:
        """What is written at the parts."""
        return self._answers

    def words_shown(self) -> Words | None:
        """Where the words now drawn stand."""
        arranged = self._arrangement()
        return arranged.words if arranged is not None else None

    def layout_shown(self) -> Layout | None:
        """The geometry now drawn."""
        arranged = self._arrangement()
        return arranged.layout if arranged is not None else None

    def written(self) -> dict[Key, tuple[str, ...]]:
        """The lines that stand beside each part, by what they tell and its address, as they are painted."""
        words = self.words_shown()
        return {} if words is None else {key: words.block(key, self._answers).lines for key in words.labels}

    def place_of(self, address: Address) -> QPointF:
        """Where a part stands in the widget. LookupError when it is not drawn."""
        arranged = self._arrangement()
        shape = arranged.layout.at(address) if arranged is not None else None
        if arranged is None or shape is None:
            raise LookupError(f"no part drawn at {address}")
        points = [arranged.screen(p) for p in shape.points]
        if shape.kind == "run":
            a, b = max(itertools.pairwise(points), key=lambda s: math.hypot((s[1] - s[0]).x(), (s[1] - s[0]).y()))
            return (a + b) / 2.0
        return points[0]

    def _arrange(self) -> None:
        """Have all arranged anew; when it is next looked at, for a window that is laid out changes its size at once."""
        self._arranged = self._still = None
        self._describe()
        self.update()

    def _arrangement(self) -> _Arranged | None:
        if self._arranged is None and self._design is not None and self.width() >= 40 and self.height() >= 40:
            area = QRectF(self.rect())
            layout = lay_out(self._design, max(area.width() / area.height(), _LEAST_ASPECT))
            screen = Screen(layout, area)
            names = {address: point.name for address, point in self._design.suction_points()}
            self._arranged = _Arranged(layout, screen, Words(layout, screen, names, self._system))
        return self._arranged

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._arrange()

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() in (QEvent.Type.FontChange, QEvent.Type.ApplicationFontChange):
            self._arrange()

    # -- painting ----------------------------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        arranged = self._arrangement()
        if arranged is None:
            painter.fillRect(self.rect(), self._theme.colour("panel"))
            return
        layout, screen, words = arranged
        painter.drawPixmap(0, 0, self._still_picture(layout, screen, words))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        answers = self._answers
        if answers is not None and answers.outcome.operating is not None and not self._stale:
            paint_shares(painter, layout, screen, self._theme, lambda shape: answers.share(shape.address))
            paint_marks(painter, layout, screen, self._theme)
        self._paint_picked(painter, layout, screen)
        self._paint_gauge(painter, words)
        words.paint(painter, answers, self._theme, stale=self._stale)
        if answers is not None and answers.trouble():
            self._paint_trouble(painter, answers.trouble())
        if self.hasFocus():
            painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
            painter.setPen(pen(self._theme.colour("focus"), 2.0))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(self.rect().adjusted(1, 1, -1, -1))

    def _still_picture(self, layout: Layout, screen: Screen, words: Words) -> QPixmap:
        ratio = self.devicePixelRatioF()
        answered = self._answers is not None and self._answers.outcome.operating is not None
        if self._still is None or self._still.devicePixelRatio() != ratio or answered != self._still_answered:
            self._still_answered = answered
            still = QPixmap(round(self.width() * ratio), round(self.height() * ratio))
            still.setDevicePixelRatio(ratio)
            painter = QPainter(still)
            paint_still(painter, layout, screen, self._theme, ratio)
            words.paint_veils(painter, self._answers, self._theme)
            painter.end()
            self._still = still
            self.still_paints += 1
        return self._still

    def _paint_picked(self, painter: QPainter, layout: Layout, screen: Screen) -> None:
        for address, role, width in ((self._hover, "edge", 1.4), (self._picked, "accent", 2.0)):
            shape = layout.at(address) if address is not None else None
            if shape is not None and not (address == HOUSE and role == "edge"):
                paint_outline(painter, shape, screen, self._theme.colour(role), width)

    def _paint_gauge(self, painter: QPainter, words: Words) -> None:
        painter.setPen(pen(self._theme.colour("text"), 1.2))
        painter.setBrush(self._theme.colour("panel"))
        painter.drawEllipse(words.gauge, 3.2, 3.2)
        painter.drawLine(words.gauge, words.gauge + QPointF(2.0, -2.0))

    def _paint_trouble(self, painter: QPainter, sentence: str) -> None:
        font = font_of(Role.SMALL)
        metrics = QFontMetricsF(font)
        flags = Qt.AlignmentFlag.AlignLeft | Qt.TextFlag.TextWordWrap
        room = QRectF(14.0, 12.0, self.width() - 28.0, self.height() / 2.0)
        box = metrics.boundingRect(room, int(flags), sentence).adjusted(-8.0, -5.0, 8.0, 5.0)
        painter.setPen(pen(self._theme.colour("bad"), 1.2))
        painter.setBrush(self._theme.colour("panel"))
        painter.drawRect(box)
        painter.fillRect(QRectF(box.left(), box.top(), 4.0, box.height()), self._theme.colour("bad"))
        painter.setFont(font)
        painter.setPen(self._theme.colour("text"))
        painter.drawText(room, int(flags), sentence)

    # -- picking -----------------------------------------------------------------------------------------------

    def part_at(self, place: QPointF) -> Address | None:
        """The part under a place: the nearest within reach, small parts before runs, runs before the house."""
        arranged = self._arrangement()
        if arranged is None:
            return None
        layout, screen, _ = arranged
        best: tuple[float, Address] | None = None
        for shape in layout.of("pit", "fan", "junction", "fitting", "outlet", "run"):
            off = _distance(shape, screen, place)
            if off <= _REACH and (best is None or off < best[0]):
                best = (off, shape.address[:-2] if shape.kind == "fitting" else shape.address)
        if best is not None:
            return best[1]
        frame = layout.frame
        x = (place.x() - screen((0.0, 0.0)).x()) / screen.scale
        up = (screen((0.0, 0.0)).y() - place.y()) / screen.scale
        if frame.left <= x <= frame.right and -frame.slab <= up <= frame.roof(x):
            return HOUSE
        return PLACE if up > 0.0 else None

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        hover = self.part_at(event.position())
        if hover != self._hover:
            self._hover = hover
            self.setCursor(Qt.CursorShape.PointingHandCursor if hover is not None else Qt.CursorShape.ArrowCursor)
            self.update()

    def leaveEvent(self, event: QEvent) -> None:
        super().leaveEvent(event)
        if self._hover is not None:
            self._hover = None
            self.update()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if event.button() == Qt.MouseButton.LeftButton:
            self._pick(self.part_at(event.position()))

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        if event.button() == Qt.MouseButton.LeftButton and self._picked is not None:
            self.opened.emit()

    def _pick(self, address: Address | None) -> None:
        if address != self._picked:
            self._picked = address
            self._describe()
            self.update()
            self.picked.emit(address)

    def event(self, event: QEvent) -> bool:
        if isinstance(event, QHelpEvent) and event.type() == QEvent.Type.ToolTip:
            address = self.part_at(QPointF(event.pos()))
            words = self.words_for(address) if address is not None else ""
            if words:
                QToolTip.showText(event.globalPos(), plain_tip(words), self)
            else:
                QToolTip.hideText()
                event.ignore()
            return True
        return super().event(event)

    def words_for(self, address: Address) -> str:
        """A part and its numbers, a line each: the tool tip, and what is read out."""
        if self._design is None or part_of(self._design, address) != address:
            return ""
        lines = [part_title(self._design, address)]
        sort = part_sort(self._design, address)
        if sort not in lines[0].lower():
            lines[0] += f" ({sort})"
        if self._answers is not None:
            lines += [f"{answer.title}: {answer.text}" for answer in self._answers.of(address)]
        return "\n".join(lines)

    def _describe(self) -> None:
        said = self.words_for(self._picked).replace("\n", ". ") + ". " if self._picked is not None else ""
        if self._answers is not None and self._answers.trouble():
            said = self._answers.trouble() + " " + said
        if said != self._said:
            self._said = said
            self.setAccessibleDescription(said + _HELP)

    # -- keys and menus ----------------------------------------------------------------------------------------

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        by_key = event.reason() in (Qt.FocusReason.TabFocusReason, Qt.FocusReason.BacktabFocusReason)
        layout = self.layout_shown()
        if by_key and self._picked is None and layout is not None:
            self._pick(layout.order[0])
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.update()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key = Qt.Key(event.key())
        if key in (Qt.Key.Key_Right, Qt.Key.Key_Down):
            self._walk(1)
        elif key in (Qt.Key.Key_Left, Qt.Key.Key_Up):
            self._walk(-1)
        elif key in (Qt.Key.Key_Home, Qt.Key.Key_End):
            layout = self.layout_shown()
            if layout is not None:
                self._pick(layout.order[0 if key == Qt.Key.Key_Home else -1])
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self._picked is not None:
            self.opened.emit()
        elif key == Qt.Key.Key_Delete:
            self.remove_picked()
        elif key in (Qt.Key.Key_Plus, Qt.Key.Key_Insert, Qt.Key.Key_Menu):
            self._pop_up(self._place_of_menu())
        else:
            super().keyPressEvent(event)

    def _walk(self, step: int) -> None:
        layout = self.layout_shown()
        if layout is None:
            return
        order = layout.order
        if self._picked in order:
            self._pick(order[min(max(order.index(self._picked) + step, 0), len(order) - 1)])
        else:
            self._pick(order[0 if step > 0 else -1])

    def remove_picked(self) -> None:
        """Propose to remove the picked part; where that cannot be, say why."""
        if self._design is None or self._picked is None:
            return
        action = removal(self._design, self._picked)
        if isinstance(action, str):
            QToolTip.showText(self.mapToGlobal(self._place_of_menu()), plain_tip(action), self)
        else:
            self.proposed.emit(action.change, action.undo)

    def _place_of_menu(self) -> QPoint:
        layout = self.layout_shown()
        if self._picked is not None and layout is not None and layout.at(self._picked) is not None:
            return self.place_of(self._picked).toPoint() + QPoint(8, 8)
        return self.rect().center()

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        if event.reason() == QContextMenuEvent.Reason.Mouse:
            self._pick(self.part_at(QPointF(event.pos())))
            self._pop_up(event.pos())
        else:
            self._pop_up(self._place_of_menu())

    def _pop_up(self, place: QPoint) -> None:
        if self._design is not None and self._picked is not None:
            from workbench.gui.section.menu import part_menu

            menu = part_menu(self._design, self._picked, self.proposed.emit, self, round_in=self._system.round_in)
            menu.popup(self.mapToGlobal(place))


def _drawn(design: Design) -> tuple[object, ...]:
    return design.intake, design.discharge, design.house, design.fan


def _distance(shape: PartShape, screen: Screen, place: QPointF) -> float:
    """Pixels from a place to a shape; below 0 inside it."""
    if shape.kind == "run":
        line = [screen(p) for p in shape.points]
        return min(_to_segment(place, a, b) for a, b in itertools.pairwise(line)) - screen.width(shape) / 2.0
    centre = screen(shape.points[0])
    off = math.hypot(place.x() - centre.x(), place.y() - centre.y()) - screen.scale * shape.size
    # small parts win over the run they stand on
    return off - (4.0 if shape.kind in ("fan", "junction") else 0.0)


def _to_segment(p: QPointF, a: QPointF, b: QPointF) -> float:
    d = b - a
    square = d.x() ** 2 + d.y() ** 2
    t = 0.0 if square == 0.0 else min(max(((p - a).x() * d.x() + (p - a).y() * d.y()) / square, 0.0), 1.0)
    foot = a + d * t
    return math.hypot(p.x() - foot.x(), p.y() - foot.y())
