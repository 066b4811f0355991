"""A fan's curve as it is typed: pressure with its points, power beneath on the same flows, the best efficiency."""

from __future__ import annotations

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QSizePolicy, QVBoxLayout, QWidget

from workbench.design.fan import FanRecord
from workbench.gui.fans.points_panel import CurveSketch
from workbench.gui.kit.chart_items import Marks
from workbench.gui.kit.plotting import Chart
from workbench.gui.kit.theme import LIGHT, LineStyle, Theme, Verdict
from workbench.solving.site.rating import TableTrace, trace_of
from workbench.units import SI, System, format_quantity

_NOTHING = np.array([])
_SYMBOLS: dict[Verdict, str] = {"fails": "t", "unsure": "o"}
_RING = 17.0
_ROOM, _POWER_ROOM = 1.04, 1.12
_TOO_WIDE = 2.1
"""A sheet so many times wider than what is on it is cut anew; two steps of its rounding stay below."""


class FanPreview(QWidget):
    """Draws what stands in the table, whether it makes a curve yet or not."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = LIGHT
        self._system: System = SI
        self._fan: FanRecord | None = None
        self._sketch: CurveSketch | None = None
        self._trace: TableTrace | None = None
        self.chart = Chart("Fan pressure over airflow", ("Airflow", "flow"), ("Pressure", "pressure"), parent=self)
        self.power = Chart("Fan power over airflow", ("Airflow", "flow"), ("Power", "power"), parent=self)
        self.power.follow_x(self.chart)
        self.chart.bare_x(True)
        faint = self._theme.ghost_line()
        self._kept = self.chart.add_curve(faint, 1)
        self._curve = self.chart.add_curve(self._theme.fan_line(), 2)
        self._best = self.chart.add_curve(faint, 0)
        self._draw = self.power.add_curve(self._theme.power_line(), 2)
        self._points = self._scatter(self.chart, 3)
        self._rings = self._scatter(self.chart, 4)
        self._draws = self._scatter(self.power, 3)
        self._words = QLabel(wordWrap=True, textFormat=Qt.TextFormat.PlainText)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self._words)
        column.addWidget(self.chart, 3)
        column.addWidget(self.power, 2)
        for chart, least in ((self.chart, 110), (self.power, 96)):
            chart.setMinimumHeight(least)
            chart.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)

    @staticmethod
    def _scatter(chart: Chart, z: float) -> Marks:
        points = Marks(pxMode=True, antialias=True)
        points.setZValue(z)
        chart.add(points)
        return points

    def words(self) -> str:
        """The line above the chart."""
        return self._words.text()

    def trace(self) -> TableTrace | None:
        """The curve that is drawn, None while the points make none."""
        return self._trace

    def show_fan(self, fan: FanRecord | None) -> None:
        """Take the fan whose basis, density and outlet the figures rest on; a new one is shown closely."""
        fresh = fan is not None and (self._fan is None or fan.name != self._fan.name)
        self._fan = fan
        if fan is not None:
            self.chart.set_y(f"{fan.basis.capitalize()} pressure", "pressure")
        self._redraw()
        if fresh:
            self.chart.reset()
            self.power.reset()

    def show_sketch(self, sketch: CurveSketch) -> None:
        """Draw what stands in the table."""
        moved = self._sketch is None or sketch.speed != self._sketch.speed
        self._sketch = sketch
        self._redraw()
        if moved:
            self.chart.reset()
            self.power.reset()

    def set_system(self, system: System) -> None:
        self._system = system
        self.chart.set_system(system)
        self.power.set_system(system)
        self._redraw()

    def apply_theme(self, theme: Theme) -> None:
        self._theme = theme
        for chart in (self.chart, self.power):
            chart.apply_theme(theme)
        self._kept.restyle(theme.ghost_line())
        self._curve.restyle(theme.fan_line())
        self._best.restyle(LineStyle(theme.muted, 1.0, (3.0, 3.0)))
        self._draw.restyle(theme.power_line())
        self._redraw()

    def _redraw(self) -> None:
        fan, sketch = self._fan, self._sketch
        self._trace = None
        if fan is None or sketch is None:
            for item in (self._kept, self._curve, self._best, self._draw, self._points, self._rings, self._draws):
                item.setData(_NOTHING, _NOTHING)
            self._words.setText("")
            return
        kept = None
        if sketch.curve is not None:
            self._trace = trace_of(fan, sketch.curve)
        elif sketch.last is not None:
            kept = trace_of(fan, sketch.last)
        self._draw_curves(self._trace, kept)
        self._draw_points(sketch)
        self._widen(sketch)
        self._write(sketch)

    def _draw_curves(self, trace: TableTrace | None, kept: TableTrace | None) -> None:
        self._kept.setData(*((kept.flow, kept.pressure) if kept else (_NOTHING, _NOTHING)))
        self._curve.setData(*((trace.flow, trace.pressure) if trace else (_NOTHING, _NOTHING)))
        powered = trace is not None and bool(np.all(np.isfinite(trace.power)))
        if trace is not None and powered:
            best = int(np.argmax(trace.efficiency))
            flow = float(trace.flow[best])
            self._draw.setData(trace.flow, trace.power)
            self._best.setData([flow, flow], [0.0, float(trace.pressure[best])])
        else:
            self._draw.setData(_NOTHING, _NOTHING)
            self._best.setData(_NOTHING, _NOTHING)

    def _draw_points(self, sketch: CurveSketch) -> None:
        theme = self._theme
        self._points.setData(
            [p[0] for p in sketch.points],
            [p[1] for p in sketch.points],
            size=7.0,
            symbol="o",
            pen=pg.mkPen(theme.fan, width=1.5),
            brush=pg.mkBrush(theme.panel),
        )
        marked = [p for p in sketch.points if p[3] in _SYMBOLS]
        self._rings.setData(
            [p[0] for p in marked],
            [p[1] for p in marked],
            size=_RING,
            symbol=[_SYMBOLS[p[3]] for p in marked],
            pen=[pg.mkPen(theme.verdict(p[3]), width=2) for p in marked],
            brush=None,
        )
        powered = [p for p in sketch.points if p[2] is not None]
        self._draws.setData(
            [p[0] for p in powered],
            [p[2] for p in powered],
            size=6.0,
            symbol="s",
            pen=pg.mkPen(theme.power, width=1.5),
            brush=pg.mkBrush(theme.panel),
        )

    def _widen(self, sketch: CurveSketch) -> None:
        # what is refused may be anywhere; the sheet is cut to the rest
        points = [p for p in sketch.points if p[3] != "fails"]
        tables = [table for table in (sketch.curve, sketch.last) if table is not None]
        flows = [p[0] for p in points] + [p.flow for table in tables for p in table.points]
        pressures = [p[1] for p in points] + [p.pressure for table in tables for p in table.points]
        powers = [p[2] or 0.0 for p in points] + [p.power or 0.0 for table in tables for p in table.points]
        # a little more than the greatest, so that no mark lies half beyond the edge
        most = _ROOM * max(flows, default=0.0) or 0.05
        for chart, highest in (
            (self.chart, _ROOM * max(pressures, default=0.0) or 100.0),
            (self.power, _POWER_ROOM * max(powers, default=0.0) or 10.0),
        ):
            chart.widen_to(most, highest)
            if chart.home()[1] > _TOO_WIDE * most or chart.home()[3] > _TOO_WIDE * highest:
                chart.reset()

    def _write(self, sketch: CurveSketch) -> None:
        trace = self._trace
        if trace is None:
            words = "Curve incomplete; dotted: last valid curve." if sketch.last else "No curve yet."
        elif not np.all(np.isfinite(trace.power)):
            words = "Enter power to see the efficiency."
        else:
            best = int(np.argmax(trace.efficiency))
            flow = format_quantity(float(trace.flow[best]), "flow", self._system)
            words = f"Peak efficiency {100.0 * float(trace.efficiency[best]):.0f} % (total pressure) at {flow}."
        self._words.setText(words)
        self.chart.setAccessibleDescription(words)
