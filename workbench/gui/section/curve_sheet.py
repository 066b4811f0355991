"""Pressure against flow with every fan laid over it, and the power beneath on the same flow axis.

Items are made when the design changes; while the speed moves only the chosen fan's two curves and the marks
of the crossings are given new data.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import product
from typing import Final

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QFontMetricsF
from PySide6.QtWidgets import QLabel, QSplitter, QVBoxLayout, QWidget

from workbench.gui.kit.plotting import Band, Chart, Curve
from workbench.gui.kit.theme import LIGHT, LineStyle, Theme
from workbench.gui.kit.type_scale import Role, font_of, px
from workbench.solving import Crossing, Outcome, Prepared
from workbench.solving.run.fans_on_site import FanTrace
from workbench.units import Dimension, System, format_quantity

FLOW: Final[tuple[str, Dimension]] = ("Flow", "flow")
_MARK = 11
_WITHOUT_A_FAN = 800.0
"""How far up the sheet goes when no fan is laid over, Pa: more than in-line fans lift."""
_PEAK_SHARE = 1.06
_PALE = 0.4
"""Strength of curves that are those of an earlier design."""
_STAY = 0.5
"""By so much nearer must a free place be before the numbers leave theirs, so that they do not hop during a drag."""


def _far(place: tuple[float, float]) -> float:
    """How far from the crossing an anchor sets the numbers; below and right of it is the nearest."""
    across, up = place
    return abs(across - 0.5) + 0.3 * abs(up - 0.5) + 0.1 * (across > 0) + 0.1 * (up > 0)


_PLACES: Final = tuple(sorted(product((-0.06, -0.4, -0.8, 1.06, 1.4), (-0.25, 0.5, 1.25, 2.2, 3.2, -1.2)), key=_far))
"""Where the numbers may stand about the operating point, as anchors, the nearest first."""
_BESIDE = (-0.25, 0.5)
"""Right of a stable crossing, where the system rises and the fan falls, lies free sheet."""
_UNDER = (-0.06, -0.25)
"""Below and right of an unstable one: both curves rise there."""


@dataclass
class _Laid:
    """A fan laid over: its trace at full speed and its two curves."""

    trace: FanTrace
    pressure: Curve
    power: Curve


class CurveSheet(QWidget):
    """The two charts and what stands on them."""

    hovered = Signal(str)
    """What the curves read where the mouse is; empty when it is elsewhere."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._system: System = "SI"
        self._theme: Theme = LIGHT
        self._prepared: Prepared | None = None
        self._outcome: Outcome | None = None
        self._laid: list[_Laid] = []
        self._hidden: set[str] = set()
        self._held: list[tuple[Curve, FanTrace | None]] = []
        self.chart = Chart("Pressure against flow", FLOW, ("Fan total pressure", "pressure"))
        self.power_chart = Chart("Power against flow", FLOW, ("Power", "power"))
        self.power_chart.follow_x(self.chart)
        self.chart.bare_x(True)
        self._band: Band = self.chart.add_band(self._theme.band)
        self._edges = [self.chart.add_curve(LineStyle(self._theme.band_edge, 1.0), -40, still=True) for _ in range(2)]
        self._system_curve = self.chart.add_curve(self._theme.system_line(), 20, still=True)
        self._fan = self.chart.add_curve(self._theme.fan_line(), 30)
        self._power = self.power_chart.add_curve(self._theme.power_line(), 30)
        self._drops = [self.chart.add_curve(LineStyle(self._theme.muted, 1.0), 10)]
        self._power_drop = self.power_chart.add_curve(LineStyle(self._theme.muted, 1.0), 10)
        self._stable = self._marks(self.chart, "o")
        self._unstable = self._marks(self.chart, "d")
        self._operating = self._marks(self.chart, "o")
        self._power_mark = self._marks(self.power_chart, "o")
        self._label = self._text(self.chart)
        self._place = _PLACES[0]
        self._hovered_flow: float | None = None
        self._names = [self._text(self.chart) for _ in range(5)]
        self._splitter = QSplitter(Qt.Orientation.Vertical, self)
        for chart, least in ((self.chart, 64), (self.power_chart, 90)):
            # with its axes and nothing between them a chart cannot be painted
            chart.setMinimumHeight(px(least))
            self._splitter.addWidget(chart)
        self._splitter.setStretchFactor(0, 3)
        self._splitter.setStretchFactor(1, 1)
        self._splitter.setSizes([380, 130])
        self._splitter.setChildrenCollapsible(False)
        self._empty = QLabel("", self.chart, textFormat=Qt.TextFormat.PlainText)
        self._empty.setWordWrap(True)
        self._empty.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._empty.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self._splitter)
        self.chart.hovered.connect(self._read)
        self.power_chart.hovered.connect(self._read)
        for chart in self.charts:
            chart.unhovered.connect(self._stop_reading)
        box = self.chart.getViewBox()
        for moved in (box.sigRangeChanged, box.sigResized):
            moved.connect(self._range_changed)
        self.apply_theme(self._theme)

    @property
    def charts(self) -> list[Chart]:
        """Both charts, the upper first."""
        return [self.chart, self.power_chart]

    def show_power(self, on: bool) -> None:
        """Show the chart of the power, or leave its room to the pressures."""
        if self.power_chart.isVisibleTo(self) != on:
            self.power_chart.setVisible(on)
            self.chart.bare_x(on)

    @staticmethod
    def _marks(chart: Chart, symbol: str) -> pg.ScatterPlotItem:
        marks = pg.ScatterPlotItem(pxMode=True, antialias=True)
        marks.setSymbol(symbol)
        marks.setSize(_MARK)
        marks.setZValue(50)
        chart.addItem(marks, ignoreBounds=True)
        return marks

    @staticmethod
    def _text(chart: Chart) -> pg.TextItem:
        text = pg.TextItem("", anchor=(0.0, 1.0))
        # over the faint curves and under the strong ones, which its ground would cut
        text.setZValue(8)
        text.hide()
        chart.addItem(text, ignoreBounds=True)
        return text

    # --- showing --------------------------------------------------------------------------------------------------

    def show_outcome(self, prepared: Prepared, outcome: Outcome) -> None:
        """Lay the curves anew when the design changed; move the chosen fan's when only its speed did."""
        if prepared is not self._prepared:
            self._prepared = prepared
            self._lay()
        self._outcome = outcome
        self._move()
        if self._hovered_flow is not None:
            self._read(self._hovered_flow, math.nan)

    def _lay(self) -> None:
        prepared = self._prepared
        assert prepared is not None
        for laid in self._laid:
            self.chart.removeItem(laid.pressure)
            self.power_chart.removeItem(laid.power)
        self._laid = []
        highest = most_power = 0.0
        for i, record in enumerate(prepared.design.fans):
            trace = prepared.trace(record.name, 1.0)
            style = self._theme.fan_faint(i)
            pressure = self.chart.add_curve(style, 0, still=True)
            power = self.power_chart.add_curve(style, 0, still=True)
            pressure.setData(trace.flow, trace.pressure)
            if np.all(np.isfinite(trace.power)):
                power.setData(trace.flow, trace.power)
                most_power = max(most_power, float(trace.power.max()))
            self._laid.append(_Laid(trace, pressure, power))
            highest = max(highest, float(trace.pressure.max()))
        system = prepared.system
        self._band.set_data(system.flow, system.low, system.high)
        for edge, values in zip(self._edges, (system.low, system.high), strict=True):
            edge.setData(system.flow, values)
        self._system_curve.setData(system.flow, system.pressure)
        self._hide()
        self._extend(highest, most_power)

    def _extend(self, highest: float, most_power: float) -> None:
        prepared = self._prepared
        assert prepared is not None
        shown = [laid for laid in self._laid if laid.trace.name not in self._hidden] or self._laid
        widest = max((float(laid.trace.flow[-1]) for laid in shown), default=float(prepared.system.flow[-1]))
        chosen = next((laid for laid in self._laid if laid.trace.name == prepared.design.fan), None)
        if chosen is not None:
            # the chosen fan fills the sheet; a fan of quite another size does not flatten it
            widest = min(widest, 2.2 * float(chosen.trace.flow[-1]))
            highest = min(highest, 2.2 * float(chosen.trace.pressure.max()))
            if np.all(np.isfinite(chosen.trace.power)):
                most_power = min(most_power, 2.2 * float(chosen.trace.power.max()))
        lowest = min(0.0, float(prepared.system.pressure.min()))
        highest = highest or min(float(prepared.system.pressure.max()), _WITHOUT_A_FAN) or 100.0
        self.chart.widen_to(_PEAK_SHARE * widest, _PEAK_SHARE * highest, ymin=lowest)
        self.power_chart.widen_to(_PEAK_SHARE * widest, _PEAK_SHARE * (most_power or 10.0))
        self.chart.reset()
        self.power_chart.reset()

    def _move(self) -> None:
        prepared, outcome = self._prepared, self._outcome
        assert prepared is not None
        assert outcome is not None
        name = prepared.design.fan
        if name is None:
            for curve in (self._fan, self._power):
                curve.setData([], [])
        else:
            trace = prepared.trace(name, outcome.speed)
            self._fan.setData(trace.flow, trace.pressure)
            known = bool(np.all(np.isfinite(trace.power)))
            self._power.setData(trace.flow if known else [], trace.power if known else [])
        self._mark(outcome)

    def _mark(self, outcome: Outcome) -> None:
        point = outcome.operating
        others = [c for c in outcome.crossings if c is not point]
        self._set(self._stable, [c for c in others if c.stable])
        self._set(self._unstable, [c for c in others if not c.stable])
        self._set(self._operating, [point] if point else [])
        several = len(outcome.crossings) > 1
        for label, crossing in zip(self._names, [*others, *[None] * len(self._names)], strict=False):
            if crossing is None or not several:
                label.hide()
                continue
            label.setText("stable" if crossing.stable else "unstable: the fan will not stay here")
            label.setAnchor(_BESIDE if crossing.stable else _UNDER)
            label.setPos(crossing.flow, crossing.fan_pressure)
            label.show()
        if point is None:
            self._label.hide()
            self._drops[0].setData([], [])
            self._power_drop.setData([], [])
            self._power_mark.setData([], [])
            self._say_why(outcome)
            return
        self._empty.hide()
        # past the sheet, but not by more: Qt draws very long dashed lines solid
        _, _, low, high = self.chart.home()
        self._drops[0].setData([0.0, point.flow, point.flow], [point.fan_pressure, point.fan_pressure, 2 * low - high])
        _, _, low, high = self.power_chart.home()
        self._power_drop.setData([point.flow, point.flow], [2 * low - high, 2 * high - low])
        watts = [] if math.isnan(point.power) else [point.power]
        self._power_mark.setData([point.flow] * len(watts), watts)
        self._label.setText(self._numbers(point, "operating point, stable" if several else "operating point"))
        self._place_label(point)
        self._label.show()
        self.chart.setAccessibleDescription(self._numbers(point, "Operating point").replace("\n", ", "))

    def _range_changed(self) -> None:
        if self._outcome is not None and self._outcome.operating is not None:
            self._place_label(self._outcome.operating)

    def _place_label(self, point: Crossing) -> None:
        """Put the numbers where no strong curve runs through them; where they stand while that is such a place."""
        assert self._outcome is not None
        box = self.chart.getViewBox()
        (left, right), (low, high) = box.viewRange()
        across, down = box.width() / (right - left), box.height() / (high - low)
        at = np.array([(point.flow - left) * across, (high - point.fan_pressure) * down])
        size = self._label.textItem.boundingRect()
        curves = [
            ((x - left) * across, (high - y) * down)
            for x, y in (self._fan.getData(), self._system_curve.getData())
            if x is not None and len(x)
        ]
        others = [
            ((c.flow - left) * across, (high - c.fan_pressure) * down)
            for c in self._outcome.crossings
            if c is not point
        ]

        def faults(place: tuple[float, float]) -> int:
            x, y = at - np.array(place) * (size.width(), size.height())
            ends = (x, x + size.width(), y, y + size.height())
            outside = ends[0] < 0 or ends[1] > box.width() or ends[2] < 0 or ends[3] > box.height()
            hit = sum(ends[0] <= px <= ends[1] and ends[2] <= py <= ends[3] for px, py in others)
            return 10 * outside + hit + sum(_runs_through(curve, ends) for curve in curves)

        best = next((place for place in _PLACES if not faults(place)), None)
        if best is None:
            self._place = min(_PLACES, key=faults)
        elif _far(best) + _STAY < _far(self._place) or faults(self._place):
            self._place = best
        self._label.setAnchor(self._place)
        self._label.setPos(point.flow, point.fan_pressure)

    def _numbers(self, point: Crossing, title: str) -> str:
        flow = format_quantity(point.flow, "flow", self._system)
        pressure = format_quantity(point.fan_pressure, "pressure", self._system)
        return f"{title}\n{flow} at {pressure}"

    @staticmethod
    def _set(marks: pg.ScatterPlotItem, crossings: list[Crossing]) -> None:
        marks.setData([c.flow for c in crossings], [c.fan_pressure for c in crossings])

    def _say_why(self, outcome: Outcome) -> None:
        write = lambda value, dimension: format_quantity(value, dimension, self._system)  # noqa: E731
        assert self._prepared is not None
        words = outcome.notices[0].text(write) if outcome.notices else ""
        if self._prepared.design.fan is None:
            words += " Select one of the listed fans." if self._laid else " Add one with “Fans…” at the right."
        self._empty.setText(words)
        self._empty.show()
        self._empty.raise_()
        self._place_empty()
        self.chart.setAccessibleDescription(self._empty.text())

    def _place_empty(self) -> None:
        words = QFontMetricsF(self._empty.font()).horizontalAdvance(self._empty.text())
        self._empty.setFixedWidth(round(max(120.0, min(words + 24.0, 420.0, self.chart.width() - 120.0))))
        self._empty.adjustSize()
        self._empty.move((self.chart.width() - self._empty.width()) // 2 + 30, self.chart.height() // 3)

    def resizeEvent(self, event: object) -> None:
        """Keep the sentence in the middle."""
        super().resizeEvent(event)  # type: ignore[arg-type]
        self._place_empty()

    # --- what is seen ---------------------------------------------------------------------------------------------

    def set_hidden(self, names: set[str]) -> None:
        """Leave the curves of some fans out of sight."""
        if names != self._hidden:
            self._hidden = set(names)
            self._hide()

    def _hide(self) -> None:
        for laid in self._laid:
            visible = laid.trace.name not in self._hidden
            laid.pressure.setVisible(visible)
            laid.power.setVisible(visible)

    def hold(self) -> None:
        """Keep a still copy of the system curve and of the chosen fan's curve to compare with."""
        prepared, outcome = self._prepared, self._outcome
        if prepared is None or outcome is None:
            return
        self.let_go()
        for curve in (self._system_curve, self._fan):
            x, y = curve.getData()
            if x is not None and len(x):
                ghost = self.chart.add_curve(self._theme.ghost_line(), 5)
                ghost.setData(np.array(x), np.array(y))
                self._held.append((ghost, None))
        if outcome.operating is not None:
            mark = self._marks(self.chart, "x")
            mark.setData([outcome.operating.flow], [outcome.operating.fan_pressure])
            mark.setPen(pg.mkPen(self._theme.colour("ghost"), width=2))
            self._held.append((mark, None))

    def let_go(self) -> None:
        """Take the held curves away."""
        for item, _ in self._held:
            self.chart.removeItem(item)
        self._held = []

    @property
    def holds(self) -> bool:
        """Whether curves are held."""
        return bool(self._held)

    def reset_view(self) -> None:
        """Show all the curves again."""
        self.chart.reset()
        self.power_chart.reset()

    # --- reading --------------------------------------------------------------------------------------------------

    def _stop_reading(self) -> None:
        self._hovered_flow = None
        self.hovered.emit("")

    def _read(self, flow: float, _pressure: float) -> None:
        self._hovered_flow = flow
        prepared, outcome = self._prepared, self._outcome
        if prepared is None or outcome is None or flow < 0.0:
            self.hovered.emit("")
            return

        def write(value: float, dimension: str) -> str:
            return format_quantity(value, dimension, self._system)  # type: ignore[arg-type]

        words = []
        if flow <= prepared.system.flow[-1]:
            words.append(f"system {write(float(prepared.system.at(np.array(flow))), 'pressure')}")
        if prepared.design.fan is not None:
            fan = prepared.fans[prepared.design.fan]
            lift = float(fan.pressure(flow, outcome.speed, prepared.density))
            draw = float(fan.power(flow, outcome.speed, prepared.density))
            if not math.isnan(lift):
                words.append(f"fan {write(lift, 'pressure')}")
            if not math.isnan(draw):
                words.append(write(draw, "power"))
        self.hovered.emit(f"At {write(flow, 'flow')}: {', '.join(words)}" if words else "")

    # --- dress ----------------------------------------------------------------------------------------------------

    def set_stale(self, stale: bool) -> None:
        """Pale the curves while they are those of an earlier design."""
        for chart in self.charts:
            chart.getPlotItem().setOpacity(_PALE if stale else 1.0)

    def set_system(self, system: System) -> None:
        """Show other units."""
        self._system = system
        for chart in self.charts:
            chart.set_system(system)
        if self._outcome is not None:
            self._mark(self._outcome)
            self.reset_view()

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self._theme = theme
        for chart in self.charts:
            chart.apply_theme(theme)
        self._band.set_colour(theme.band)
        for edge in self._edges:
            edge.restyle(LineStyle(theme.band_edge, 1.0, (2.0, 3.0)))
        self._system_curve.restyle(theme.system_line())
        self._fan.restyle(theme.fan_line())
        self._power.restyle(theme.power_line())
        for drop in (*self._drops, self._power_drop):
            drop.restyle(LineStyle(theme.muted, 1.0, (3.0, 3.0)))
        for i, laid in enumerate(self._laid):
            for curve in (laid.pressure, laid.power):
                curve.restyle(theme.fan_faint(i))
        for marks, role, filled in (
            (self._stable, "operating", False),
            (self._unstable, "unstable", False),
            (self._operating, "operating", True),
            (self._power_mark, "power", True),
        ):
            marks.setPen(pg.mkPen(theme.colour(role), width=2))
            marks.setBrush(theme.colour(role) if filled else theme.colour("panel"))
        self._operating.setSize(_MARK + 2)
        for text in (self._label, *self._names):
            text.setFont(font_of(Role.SMALL))
            text.setColor(theme.colour("text"))
            text.fill = pg.mkBrush(theme.panel)
        for item, _ in self._held:
            if isinstance(item, Curve):
                item.restyle(theme.ghost_line())
            else:
                item.setPen(pg.mkPen(theme.colour("ghost"), width=2))
        self._empty.setStyleSheet(f"background: {theme.panel}; color: {theme.bad}; padding: 6px;")


def _runs_through(curve: tuple[np.ndarray, np.ndarray], ends: tuple[float, float, float, float]) -> bool:
    """Whether a curve over ascending x enters a box `left, right, top, bottom`; all in pixels."""
    left, right, top, bottom = ends
    at = np.interp(np.linspace(left, right, 24), *curve, left=math.nan, right=math.nan)
    low, high = np.minimum(at[1:], at[:-1]), np.maximum(at[1:], at[:-1])
    return bool(np.any((low <= bottom) & (high >= top)))
