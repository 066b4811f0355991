"""The strip between the charts: each curve's name hangs from the flow where the curve ends, and serves both charts."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct
from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFont, QFontMetricsF, QHelpEvent, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.theme import LIGHT, LineStyle, Theme
from workbench.gui.kit.tips import plain_tip
from workbench.gui.kit.type_scale import Role, font_of, line_of

ROWS = 3
_GAP = 10.0
_CROSSED = 40.0
_LEFT_OUT = 3000.0
_TICK = 4.0
_SYSTEM = "System: pipe and soil, with band"


def system_words(room: float) -> str:
    """What the system's curve is called on a sheet so wide. [px]"""
    width = QFontMetricsF(font_of(Role.SMALL)).horizontalAdvance(_SYSTEM)
    return _SYSTEM if width < 0.5 * room else "System"


class CurveName(Struct, frozen=True):
    """A name and where its curve ends, in SI; `strong` for the selected fan, `whole` for words that are not cut."""

    fan: str
    words: str
    end: float
    style: LineStyle
    strong: bool = False
    whole: bool = False


class PlacedName(Struct, frozen=True):
    """Where a name stands: its row, its left edge, and the breadth it has, in pixels; `at` is where its curve ends."""

    number: int
    row: int
    left: float
    breadth: float
    at: float


def place_names(
    ends: Sequence[float],
    widths: Sequence[float],
    breadth: float,
    rows: int = ROWS,
    first: Sequence[int] = (),
    whole: Sequence[int] = (),
) -> list[PlacedName]:
    """Rows and places for names centered under `ends` [px], none over another, all within `breadth`.

    A name moves aside as far as it must, or gives up letters, unless it is in `whole`; those in `first` choose before
    the others. A name for which no row has room, for a third of it or for the whole, is left out.
    """
    across = sorted(range(len(ends)), key=lambda i: ends[i])
    orders = [sorted(order, key=lambda i: i not in first) for order in (across, across[::-1])]
    least = [width if i in whole else min(width, breadth) / 3.0 for i, width in enumerate(widths)]
    tried = (_placed_in(order, ends, widths, least, breadth, rows) for order in orders)
    _, placed = min(tried, key=lambda found: found[0])
    return sorted(placed, key=lambda name: name.number)


def _placed_in(
    order: Sequence[int],
    ends: Sequence[float],
    widths: Sequence[float],
    least: Sequence[float],
    breadth: float,
    rows: int,
) -> tuple[float, list[PlacedName]]:
    """Names placed one after another, and how far from good that is."""
    taken: list[list[tuple[float, float]]] = [[] for _ in range(rows)]
    placed: list[PlacedName] = []
    total = 0.0
    for i in order:
        at = min(max(ends[i], 0.0), breadth)
        best: tuple[float, int, float, float] | None = None
        for row in range(rows):
            # its line runs down behind the names in the rows above
            crossed = sum(low < at < high for above in taken[:row] for low, high in above)
            for low, high in _free(taken[row], breadth):
                room = min(widths[i], high - low)
                if room < least[i]:
                    continue
                left = min(max(at - room / 2.0, low), high - room)
                # letters lost weigh most, then the way from the end of the curve, then the row
                away = max(abs(left + room / 2.0 - at) - room / 2.0, 0.0) * 4.0 + abs(left + room / 2.0 - at) / 2.0
                cost = 4.0 * (widths[i] - room) + away + 12.0 * row + _CROSSED * crossed
                if best is None or cost < best[0]:
                    best = (cost, row, left, room)
        if best is not None:
            cost, row, left, room = best
            total += cost
            taken[row].append((left - _GAP, left + room + _GAP))
            placed.append(PlacedName(i, row, left, room, at))
        else:
            total += _LEFT_OUT
    return total, placed


def _free(taken: Sequence[tuple[float, float]], breadth: float) -> list[tuple[float, float]]:
    free, low = [], 0.0
    for left, right in sorted(taken):
        if left > low:
            free.append((low, left))
        low = max(low, right)
    return [*free, (low, breadth)] if low < breadth else free


class CurveNames(Guarded, QWidget):
    """Names under the ends of curves. A click on one selects its fan; from the keyboard the list of fans does."""

    chosen = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme: Theme = LIGHT
        self._names: list[CurveName] = []
        self._range = (0.0, 1.0)
        self._edges = (0.0, 1.0)
        self._placed: list[PlacedName] = []
        self._rows = ROWS
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.setMouseTracking(True)
        self.setAccessibleName("Names of the curves")

    def sizeHint(self) -> QSize:
        rows = max((name.row for name in self._placed), default=0) + 1
        return QSize(200, round(_TICK + rows * line_of(Role.SMALL) + 2.0))

    def minimumSizeHint(self) -> QSize:
        return self.sizeHint()

    def names(self) -> list[CurveName]:
        """The names shown."""
        return [self._names[each.number] for each in self._placed]

    def placed(self) -> list[PlacedName]:
        """Where they stand."""
        return list(self._placed)

    def show_names(self, names: Sequence[CurveName]) -> None:
        """Show these names."""
        if list(names) != self._names:
            self._names = list(names)
            self.setAccessibleDescription("; ".join(name.words for name in names))
            self._arrange()

    def show_range(self, flows: tuple[float, float], edges: tuple[float, float]) -> None:
        """Flows [m3/s] at the edges of the plot above, and where those are across this strip, in pixels."""
        if (flows, edges) != (self._range, self._edges):
            self._range, self._edges = flows, edges
            self._arrange()

    def set_rows(self, rows: int) -> None:
        """Take so many rows at most; names for which none has room are left out, the selected fan's last."""
        if rows != self._rows:
            self._rows = rows
            self._arrange()

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self._theme = theme
        self.update()

    @staticmethod
    def _font(strong: bool = False) -> QFont:
        return font_of(Role.SMALL_STRONG if strong else Role.SMALL)

    def _arrange(self) -> None:
        (low, high), (left, right) = self._range, self._edges
        scale = (right - left) / (high - low) if high > low else 0.0
        widths = [QFontMetricsF(self._font(n.strong)).horizontalAdvance(n.words) + 2.0 for n in self._names]
        ends = [left + (name.end - low) * scale for name in self._names]
        # a curve that leaves by the edge is named there
        ends = [min(max(end, left), right) for end in ends]
        first = [i for i, name in enumerate(self._names) if name.strong]
        whole = [i for i, name in enumerate(self._names) if name.whole]
        height = self.sizeHint().height()
        self._placed = place_names(ends, widths, float(max(self.width(), 1)), self._rows, first, whole)
        if self.sizeHint().height() != height:
            self.updateGeometry()
        self.update()

    def resizeEvent(self, event: object) -> None:
        """Place the names anew."""
        super().resizeEvent(event)  # type: ignore[arg-type]
        self._arrange()

    def changeEvent(self, event: QEvent) -> None:
        """Measure the names anew in another font."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self._arrange()

    def _box(self, placed: PlacedName) -> QRectF:
        line = line_of(Role.SMALL)
        return QRectF(placed.left, _TICK + placed.row * line, placed.breadth, line)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw ticks and names."""
        painter = QPainter(self)
        self.paint_on(painter)
        painter.end()

    def paint_on(self, painter: QPainter) -> None:
        """Draw ticks and names, on paper too."""
        theme = self._theme
        (low, high), _ = self._range, self._edges
        for placed in self._placed:
            name, box = self._names[placed.number], self._box(placed)
            if low <= name.end <= high:
                painter.setPen(QPen(theme.colour("fan") if name.strong else theme.colour("edge"), 1.0))
                across = min(max(placed.at, box.left() + 2.0), box.right() - 2.0)
                painter.drawLine(QPointF(placed.at, 0.0), QPointF(placed.at, _TICK))
                painter.drawLine(QPointF(placed.at, _TICK), QPointF(across, box.top()))
        for placed in self._placed:
            name, box = self._names[placed.number], self._box(placed)
            # lines to the rows below run behind a name
            painter.fillRect(box, theme.colour("panel"))
            painter.setPen(theme.colour("fan") if name.strong else theme.colour("muted"))
            font = self._font(name.strong)
            painter.setFont(font)
            words = QFontMetricsF(font).elidedText(name.words, Qt.TextElideMode.ElideRight, box.width() + 0.5)
            painter.drawText(box, Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignVCenter, words)

    def _at(self, place: QPointF) -> CurveName | None:
        return next((self._names[p.number] for p in self._placed if self._box(p).contains(place)), None)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Show that a name can be clicked."""
        name = self._at(event.position())
        pointing = name is not None and not name.strong
        self.setCursor(Qt.CursorShape.PointingHandCursor if pointing else Qt.CursorShape.ArrowCursor)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Select the fan whose name was clicked."""
        name = self._at(event.position())
        if name is not None and not name.strong and event.button() == Qt.MouseButton.LeftButton:
            self.chosen.emit(name.fan)

    def event(self, event: QEvent) -> bool:
        """Say a name in full."""
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            name = self._at(QPointF(event.pos()))
            QToolTip.showText(event.globalPos(), plain_tip(name.words) if name else "", self)
            return True
        return super().event(event)
