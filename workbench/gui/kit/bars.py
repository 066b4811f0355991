"""Pictures of bars: round scales, patterns that tell parts apart without colour, and a bar for each month."""

from __future__ import annotations

from calendar import month_abbr

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.theme import LIGHT, Theme
from workbench.gui.kit.tips import plain_tip
from workbench.gui.kit.type_scale import Role, font_of, line_of

_STEPS = (1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0, 10.0)
_CENTRE = int(Qt.AlignmentFlag.AlignCenter)
BRUSHES = (Qt.BrushStyle.SolidPattern, Qt.BrushStyle.BDiagPattern, Qt.BrushStyle.Dense5Pattern)


def round_above(value: float) -> float:
    """The next of a few round figures, so that a picture's scale stands still while its bars move."""
    if value <= 0.0:
        return 1.0
    decade = 1.0
    while decade * 10.0 <= value:
        decade *= 10.0
    while decade > value:
        decade /= 10.0
    return next(step * decade for step in _STEPS if step * decade >= value)


class Picture(Guarded, QWidget):
    """A small drawing with a fixed height, in hatches as well as colours."""

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.theme = LIGHT
        self.stale = False
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.setAccessibleName(name)

    @property
    def small(self) -> QFont:
        """What it is written in."""
        return font_of(Role.SMALL)

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self.theme = theme
        self.update()

    def set_stale(self, stale: bool) -> None:
        """Grey what is the last good answer."""
        self.stale = stale
        self.update()

    def fill(self, painter: QPainter, box: QRectF, role: str, pattern: Qt.BrushStyle) -> None:
        """Fill a box."""
        colour = QColor(self.theme.ghost if self.stale else getattr(self.theme, role))
        painter.setPen(QPen(colour, 1))
        brush = painter.brush()
        brush.setStyle(pattern)
        brush.setColor(colour)
        painter.setBrush(brush)
        painter.drawRect(box)


class MonthBars(Picture):
    """Two amounts in each month, one on the other: heat and cooling of the house air, or water."""

    def __init__(
        self,
        name: str = "Heat and cooling of house air by the month",
        unit: str = "kWh",
        decimals: int = 0,
        roles: tuple[str, str] = ("system", "air"),
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(name, parent)
        self._unit, self._decimals, self._roles = unit, decimals, roles
        self._months: tuple[tuple[float, float], ...] = ()
        self._most = 1.0

    def sizeHint(self) -> QSize:
        return QSize(320, round(70 + 2.2 * line_of(Role.SMALL)))

    def _write(self, amount: float) -> str:
        return f"{amount:.{self._decimals}f}"

    def set_unit(self, unit: str, decimals: int) -> None:
        """Tell amounts in another unit from the next on that are shown."""
        if (unit, decimals) != (self._unit, self._decimals):
            self._unit, self._decimals, self._months = unit, decimals, ()

    def show_months(self, months: tuple[tuple[float, float], ...]) -> None:
        """Show the two amounts of each month."""
        if months == self._months:
            return
        self._months = months
        top = max((heat + cooling for heat, cooling in months), default=0.0)
        if not 0.5 * self._most < top <= self._most:
            self._most = round_above(top)
        said = ", ".join(
            f"{month_abbr[m + 1]} {self._write(heat + cooling)} {self._unit}"
            for m, (heat, cooling) in enumerate(months)
        )
        self.setAccessibleDescription(said)
        self.setToolTip(plain_tip(said))
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        if not self._months:
            return
        painter, theme = QPainter(self), self.theme
        painter.setFont(self.small)
        line = line_of(Role.SMALL)
        high = self.height() - 2.2 * line
        foot = line + high
        each = self.width() / len(self._months)
        painter.setPen(QPen(theme.colour("rule"), 1))
        painter.drawLine(QPointF(0, foot), QPointF(self.width(), foot))
        for m, (heat, cooling) in enumerate(self._months):
            left, top = m * each + 3, foot
            for role, pattern, energy in zip(self._roles, BRUSHES[1:], (heat, cooling), strict=True):
                tall = high * energy / self._most
                if tall > 0.5:
                    self.fill(painter, QRectF(left, top - tall, each - 6, tall), role, pattern)
                    top -= tall
            painter.setPen(theme.colour("text"))
            painter.drawText(QRectF(m * each, top - line, each, line), _CENTRE, self._write(heat + cooling))
            painter.setPen(theme.colour("muted"))
            painter.drawText(QRectF(m * each, foot + 1, each, line), _CENTRE, month_abbr[m + 1])
        painter.end()
