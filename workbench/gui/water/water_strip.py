"""Along the air's way from pit to outlet: temperature of air and wall, the freezing line, and the water formed."""

from __future__ import annotations

from msgspec import Struct
from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPainterPath, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.theme import LIGHT, LineStyle, Theme
from workbench.gui.kit.tips import plain_tip
from workbench.gui.kit.type_scale import Role, font_of, line_of, px
from workbench.physics.constants import ICE_POINT
from workbench.solving.run.water import RunWater
from workbench.units import SI, System, format_quantity

_LEAST_SHARE = 0.12
_STEP = 5.0
_CENTRE = int(Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignTop)


class Stretch(Struct, frozen=True):
    """A run on the way: its length [m], where it runs, and its water."""

    length: float
    surroundings: str
    water: RunWater


class WaterStrip(Guarded, QWidget):
    """A drawing as wide as it is given: temperatures above, water formed in each run below."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._way: tuple[Stretch, ...] = ()
        self._outdoor = ICE_POINT
        self._system: System = SI
        self._theme = LIGHT
        self._stale = False
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("Air and wall along the pipe, from the pit to the outlet")

    def sizeHint(self) -> QSize:
        return QSize(360, round(112 + 4.4 * line_of(Role.SMALL)))

    def show_way(self, way: tuple[Stretch, ...], outdoor: float) -> None:
        """Show the runs on one way at an outdoor temperature. [K]"""
        self._way, self._outdoor = way, outdoor
        said = "; ".join(
            f"{s.water.name}: outlet air {self._write(s.water.leaving)}, coldest wall "
            f"{self._write(s.water.coldest_wall)}, {format_quantity(s.water.water, 'mass', self._system)} a day"
            for s in way
        )
        self.setAccessibleDescription(said)
        self.setToolTip(plain_tip(said.replace("; ", "\n")))
        self.update()

    def set_stale(self, stale: bool) -> None:
        """Grey what is the last good answer."""
        if stale != self._stale:
            self._stale = stale
            self.update()

    def set_system(self, system: System) -> None:
        """Show other units."""
        self._system = system
        self.show_way(self._way, self._outdoor)

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self._theme = theme
        self.update()

    def _write(self, temperature: float) -> str:
        return format_quantity(temperature, "temperature", self._system)

    def _ends(self) -> list[tuple[float, float]]:
        """Left and right of each run: by its length, short ones given room to be seen."""
        whole = sum(s.length for s in self._way)
        shares = [max(s.length / whole, _LEAST_SHARE) for s in self._way]
        left = float(px(46))
        wide = self.width() - left - 8.0
        ends = []
        for share in shares:
            right = left + wide * share / sum(shares)
            ends.append((left, right))
            left = right
        return ends

    def _span(self) -> tuple[float, float]:
        """Lowest and highest temperature shown, in round steps. [K]"""
        every = [t for s in self._way for t in (*s.water.wall, s.water.entering, s.water.leaving)]
        every += [ICE_POINT, self._outdoor]
        low = _STEP * ((min(every) - ICE_POINT) // _STEP) + ICE_POINT
        high = _STEP * ((max(every) - ICE_POINT) // _STEP + 1) + ICE_POINT
        return low, high

    def paintEvent(self, event: QPaintEvent) -> None:
        if not self._way:
            return
        painter, theme = QPainter(self), self._theme
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setFont(font_of(Role.SMALL))
        line = line_of(Role.SMALL)
        top, foot = line + 4.0, self.height() - 3.2 * line
        low, high = self._span()

        def y(temperature: float) -> float:
            return foot - (foot - top) * (temperature - low) / (high - low)

        ends = self._ends()
        self._paint_ground(painter, ends, top, foot, y(ICE_POINT))
        right = int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        for temperature in (high, ICE_POINT, self._outdoor):
            painter.setPen(theme.colour("muted"))
            if temperature == ICE_POINT or abs(y(temperature) - y(ICE_POINT)) > line:
                text = format_quantity(temperature, "temperature", self._system, with_unit=False)
                painter.drawText(QRectF(0, y(temperature) - line / 2, ends[0][0] - 4, line), right, text)
        above = QRectF(ends[0][0] + 4, y(self._outdoor) - line, px(120), line)
        painter.drawText(above, int(Qt.AlignmentFlag.AlignLeft), "outdoors")
        painter.setPen(LineStyle(theme.muted, 1.0, (1.5, 2.5)).pen())
        painter.drawLine(QPointF(ends[0][0], y(self._outdoor)), QPointF(ends[-1][1], y(self._outdoor)))
        self._paint_lines(painter, ends, y)
        self._paint_water(painter, ends, foot, line)
        painter.end()

    def _paint_ground(
        self, painter: QPainter, ends: list[tuple[float, float]], top: float, foot: float, ice: float
    ) -> None:
        theme = self._theme
        painter.fillRect(
            QRectF(ends[0][0], ice, ends[-1][1] - ends[0][0], max(foot - ice, 0.0)), theme.colour("raised")
        )
        painter.setPen(QPen(theme.colour("rule"), 1))
        for left, right in ends:
            painter.drawLine(QPointF(left, top), QPointF(left, foot))
            painter.drawLine(QPointF(right, top), QPointF(right, foot))
        painter.setPen(QPen(theme.colour("edge"), 1.5))
        painter.drawLine(QPointF(ends[0][0], ice), QPointF(ends[-1][1], ice))
        painter.setPen(theme.colour("muted"))
        metrics = QFontMetricsF(font_of(Role.SMALL))
        for (left, right), stretch in zip(ends, self._way, strict=True):
            if metrics.horizontalAdvance(stretch.surroundings) <= right - left - 4:
                painter.drawText(QRectF(left, 0.0, right - left, metrics.height()), _CENTRE, stretch.surroundings)

    def _paint_lines(self, painter: QPainter, ends: list[tuple[float, float]], y: object) -> None:
        assert callable(y)
        theme = self._theme
        air, wall = QPainterPath(), QPainterPath()
        for i, ((left, right), stretch) in enumerate(zip(ends, self._way, strict=True)):
            water = stretch.water
            start = QPointF(left, y(water.entering))
            air.lineTo(start) if i else air.moveTo(start)
            air.lineTo(QPointF(right, y(water.leaving)))
            step = (right - left) / len(water.wall)
            for j, temperature in enumerate(water.wall):
                at = QPointF(left + (j + 0.5) * step, y(temperature))
                wall.moveTo(at) if j == 0 else wall.lineTo(at)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(LineStyle(theme.ghost if self._stale else theme.fan, 2.5).pen())
        painter.drawPath(air)
        painter.setPen(LineStyle(theme.ghost if self._stale else theme.system, 2.0, (4.0, 2.0)).pen())
        painter.drawPath(wall)

    def _paint_water(self, painter: QPainter, ends: list[tuple[float, float]], foot: float, line: float) -> None:
        theme = self._theme
        most = max(*(s.water.water for s in self._way), 1e-9)
        metrics = QFontMetricsF(font_of(Role.SMALL))
        for (left, right), stretch in zip(ends, self._way, strict=True):
            water = stretch.water
            wide = right - left - 6
            if water.water > 0.0:
                bar = QRectF(left + 3, foot + 4, wide * water.water / most, 7)
                painter.fillRect(bar, QColor(theme.ghost if self._stale else theme.air))
            mark = "❄ " if water.freezes else ""
            text = f"{mark}{format_quantity(water.water, 'mass', self._system)}" if water.water > 5e-4 else "dry"
            painter.setPen(QColor(theme.bad if water.freezes and not self._stale else theme.text))
            shown = metrics.elidedText(text, Qt.TextElideMode.ElideRight, wide + 4)
            painter.drawText(QRectF(left, foot + 13, right - left, line), _CENTRE, shown)
            painter.setPen(theme.colour("muted"))
            name = metrics.elidedText(water.name, Qt.TextElideMode.ElideRight, wide)
            painter.drawText(QRectF(left, foot + 13 + line, right - left, line), _CENTRE, name)
