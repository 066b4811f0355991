"""What a year costs, as one bar."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from workbench.gui.kit.bars import BRUSHES, Picture, round_above
from workbench.gui.kit.type_scale import Role, line_of
from workbench.rounding import written_parts
from workbench.solving.outcome import Year
from workbench.units import SI

_CENTRE = int(Qt.AlignmentFlag.AlignCenter)


class CostBar(Picture):
    """The cost of a year from left to right: the fan, then heat, then cooling; the whisker is the band of the whole."""

    parts = (("fan", "fan"), ("heat", "system"), ("cooling", "air"))

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Yearly cost by part", parent)
        self._shares: tuple[float, ...] = ()
        self._texts: tuple[str, ...] = ()
        self._band = (0.0, 0.0)
        self._most = 1.0
        self._words = ""

    def sizeHint(self) -> QSize:
        return QSize(320, round(30 + 2.2 * line_of(Role.SMALL)))

    def show_year(self, year: Year | None, heat_cost: float, cooling_cost: float) -> None:
        """Show a year."""
        shares: tuple[float, ...] = ()
        before = self._shares, self._band
        if year is not None:
            fan = 0.0 if year.fan_cost != year.fan_cost else year.fan_cost
            shares = (fan, heat_cost, cooling_cost)
            top = max(sum(shares), year.cost_band[1] if year.cost_band[1] == year.cost_band[1] else 0.0)
            if not 0.5 * self._most < top <= self._most:
                self._most = round_above(top)
            self._band = year.cost_band
            self._words = year.currency
            heat, cooling = (high - low for low, high in (year.heat_band, year.cooling_band))
            widths = [0.0, heat * (heat_cost / year.heat_energy if year.heat_energy else 0.0)]
            widths.append(cooling * (cooling_cost / year.cooling_energy if year.cooling_energy else 0.0))
            known = all(width == width for width in widths)
            self._texts = written_parts(shares, "money", SI, widths=widths if known else None)[1]
            each = (f"{name} {text} {year.currency}" for (name, _), text in zip(self.parts, self._texts, strict=True))
            self.setAccessibleDescription(", ".join(each))
        self._shares = shares
        if (self._shares, self._band) != before:
            self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        if not self._shares:
            return
        painter, theme = QPainter(self), self.theme
        painter.setFont(self.small)
        line = line_of(Role.SMALL)
        wide = self.width() - 2.0
        bar = QRectF(0.5, line + 5, wide, 22)
        painter.setPen(QPen(theme.colour("rule"), 1))
        painter.drawRect(bar)
        left = bar.left()
        for (name, role), pattern, cost, told in zip(self.parts, BRUSHES, self._shares, self._texts, strict=True):
            width = wide * cost / self._most
            if width > 0.5:
                box = QRectF(left, bar.top(), width, bar.height())
                self.fill(painter, box, role, pattern)
                text = f"{name} {told}"
                room = painter.fontMetrics().horizontalAdvance(text) + 4
                if room < width:
                    painter.setPen(theme.colour("text"))
                    painter.drawText(QRectF(left, 0, width, line), _CENTRE, text)
            left += width
        low, high = (bar.left() + wide * edge / self._most for edge in self._band)
        if low == low and high == high:
            middle = bar.center().y()
            painter.setPen(QPen(theme.colour("text"), 1.5))
            painter.drawLine(QPointF(low, middle), QPointF(high, middle))
            for x in (low, high):
                painter.drawLine(QPointF(x, middle - 5), QPointF(x, middle + 5))
        painter.setPen(theme.colour("muted"))
        foot = QRectF(0, bar.bottom() + 2, wide, line)
        painter.drawText(foot, int(Qt.AlignmentFlag.AlignLeft), "0")
        painter.drawText(foot, int(Qt.AlignmentFlag.AlignRight), f"{self._most:.0f} {self._words} a year")
        painter.end()
