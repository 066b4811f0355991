"""Pressure against flow with every fan laid over it, and the power beneath on the same flow axis.

Items are made when the design changes; while the speed moves only the chosen fan's two curves and the marks
of the crossings are given new data.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
import pyqtgraph as pg
from msgspec import Struct
from PySide6.QtCore import QPointF, Qt, Signal
from PySide6.QtWidgets import QSplitter, QVBoxLayout, QWidget

from workbench.gui.kit.chart_items import Band, ChartText, Curve, Marks
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.plotting import Chart
from workbench.gui.kit.theme import LIGHT, LineStyle, Theme
from workbench.gui.kit.type_scale import Role, font_of, px
from workbench.gui.section.basis import Basis, PressureBasis, meetings
from workbench.gui.section.curve_names import ROWS, CurveName, CurveNames, system_words
from workbench.gui.section.kept_curves import KeptCurves, difference, kept_of
from workbench.gui.section.operating_label import OperatingLabel
from workbench.gui.section.why_empty import WhyEmpty
from workbench.physics.arrays import Array
from workbench.solving import Crossing, Outcome, Prepared
from workbench.solving.run.fans_on_site import FanTrace
from workbench.units import SI, Dimension, System, format_entry, format_quantity

FLOW: Final[tuple[str, Dimension]] = ("Airflow", "flow")
PRESSURE: Final[dict[Basis, str]] = {"static": "Fan static pressure", "total": "Fan total pressure"}
_MARK, _RING = 11, 8
_WITHOUT_A_FAN = 800.0
"""How far up the sheet goes when no fan is laid over, Pa: more than in-line fans lift."""
_PEAK_SHARE = 1.06
_ROW_PER = 125
"""Height of the sheet that pays for a row of names, in pixels before the factor."""
_PALE = 0.4  # strength of curves that are those of an earlier design
# right of a stable crossing lies free sheet; below and right of an unstable one, where both curves rise
_BESIDE, _UNDER = (-0.25, 0.5), (-0.06, -0.25)


class _Laid(Struct):
    """A fan laid over: its trace at full speed, its two curves, and where the first crosses the system's."""

    trace: FanTrace
    pressure: Curve
    power: Curve
    rings: tuple[Array, Array]


class CurveSheet(Guarded, QWidget):
    """The two charts and what stands on them."""

    hovered = Signal(str)
    """What the curves read where the mouse is; empty when it is elsewhere."""
    chosen = Signal(str)
    """The fan whose name was clicked."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._system: System = SI
        self._theme: Theme = LIGHT
        self._prepared: Prepared | None = None
        self._outcome: Outcome | None = None
        self._laid: list[_Laid] = []
        self._hidden: set[str] = set()
        self._basis: Basis = "static"
        self.chart = Chart("Pressure against airflow", FLOW, (PRESSURE[self._basis], "pressure"))
        self.power_chart = Chart("Power against airflow", FLOW, ("Power", "power"))
        self.names = CurveNames(self)
        self.kept = KeptCurves(self.chart)
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
        self._rings = self._marks(self.chart, "o")
        self._rings.setSize(_RING)
        self._rings.setZValue(40)
        self._label = self._text(self.chart)
        self._system_name = self._text(self.chart)
        self._system_name.setAnchor((0.0, 0.0))
        self._label_place = OperatingLabel(self._label, self.chart.sheet)
        self._hovered_flow: float | None = None
        self._names = [self._text(self.chart) for _ in range(5)]
        self._splitter = QSplitter(Qt.Orientation.Vertical, self)
        upper = QWidget()
        above = QVBoxLayout(upper)
        above.setContentsMargins(0, 0, 0, 0)
        above.setSpacing(0)
        above.addWidget(self.chart, 1)
        above.addWidget(self.names)
        for chart, least in ((self.chart, 64), (self.power_chart, 90)):
            # with its axes and nothing between them a chart cannot be painted
            chart.setMinimumHeight(px(least))
        self._splitter.addWidget(upper)
        self._splitter.addWidget(self.power_chart)
        self._splitter.setStretchFactor(0, 3)
        self._splitter.setStretchFactor(1, 1)
        self._splitter.setSizes([380, 130])
        self._splitter.setChildrenCollapsible(False)
        self._empty = WhyEmpty(self.chart)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self._splitter)
        self.names.chosen.connect(self.chosen)
        self.chart.hovered.connect(self._read)
        self.power_chart.hovered.connect(self._read)
        for chart in self.charts:
            chart.unhovered.connect(self._stop_reading)
        box = self.chart.sheet
        for moved in (box.sigRangeChanged, box.sigResized):
            moved.connect(self._align_names)
        self.chart.reshaped.connect(self._place_words)
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
    def _marks(chart: Chart, symbol: str) -> Marks:
        marks = Marks(pxMode=True, antialias=True)
        marks.setSymbol(symbol)
        marks.setSize(_MARK)
        marks.setZValue(50)
        chart.add(marks)
        return marks

    @staticmethod
    def _text(chart: Chart) -> ChartText:
        text = ChartText("", anchor=(0.0, 1.0))
        # over the faint curves and under the strong ones, which its ground would cut
        text.setZValue(8)
        text.hide()
        chart.add(text)
        return text

    # --- showing --------------------------------------------------------------------------------------------------

    def show_outcome(self, prepared: Prepared, outcome: Outcome) -> None:
        """Lay the curves anew when the design changed; move the chosen fan's when only its speed did."""
        if prepared is not self._prepared:
            self._prepared = prepared
            self._arrange()
        self._outcome = outcome
        self._move()
        if self._hovered_flow is not None:
            self._read(self._hovered_flow, math.nan)

    @property
    def _on_basis(self) -> PressureBasis:
        assert self._prepared is not None
        return PressureBasis(self._basis, self._prepared)

    def _arrange(self) -> None:
        prepared = self._prepared
        assert prepared is not None
        for laid in self._laid:
            self.chart.take(laid.pressure)
            self.power_chart.take(laid.power)
        self._laid = []
        basis, system = self._on_basis, prepared.system
        asked = basis.system(system.flow, system.pressure)
        for i, record in enumerate(prepared.design.fans):
            trace = prepared.trace(record.name, 1.0)
            style = self._theme.fan_faint(i)
            pressure = self.chart.add_curve(style, 0, still=True)
            power = self.power_chart.add_curve(style, 0, still=True)
            lift = basis.trace(trace)
            pressure.setData(trace.flow, lift)
            if np.all(np.isfinite(trace.power)):
                power.setData(trace.flow, trace.power)
            self._laid.append(_Laid(trace, pressure, power, meetings(trace.flow, lift, system.flow, asked)))
        low, high = (basis.system(system.flow, edge) for edge in (system.low, system.high))
        self._band.set_data(system.flow, low, high)
        for edge, values in zip(self._edges, (low, high), strict=True):
            edge.setData(system.flow, values)
        self._system_curve.setData(system.flow, asked)
        self._hide()
        self._extend()
        self._name_system()

    def _extend(self) -> None:
        prepared = self._prepared
        assert prepared is not None
        shown = [laid for laid in self._laid if self._in_sight(laid.trace.name)] or self._laid
        widest = max((float(laid.trace.flow[-1]) for laid in shown), default=float(prepared.system.flow[-1]))
        basis, system = self._on_basis, prepared.system
        asked = basis.system(system.flow, system.pressure)
        highest = max((float(basis.trace(laid.trace).max()) for laid in shown), default=0.0)
        highest = highest or min(float(asked.max()), _WITHOUT_A_FAN) or 100.0
        powers = [float(laid.trace.power.max()) for laid in shown if np.all(np.isfinite(laid.trace.power))]
        within = asked[system.flow <= widest]
        lowest = min(0.0, float(within.min())) if len(within) else 0.0
        self.chart.widen_to(_PEAK_SHARE * widest, _PEAK_SHARE * highest, ymin=max(lowest, -0.25 * highest))
        self.power_chart.widen_to(_PEAK_SHARE * widest, _PEAK_SHARE * max(powers, default=10.0))
        self.chart.reset()
        self.power_chart.reset()

    def _move(self) -> None:
        prepared, outcome = self._prepared, self._outcome
        assert prepared is not None
        assert outcome is not None
        name, end = prepared.design.fan, None
        if name is None:
            for curve in (self._fan, self._power):
                curve.setData([], [])
        else:
            trace = prepared.trace(name, outcome.speed)
            end = float(trace.flow[-1])
            self._fan.setData(trace.flow, self._on_basis.trace(trace))
            known = bool(np.all(np.isfinite(trace.power)))
            self._power.setData(trace.flow if known else [], trace.power if known else [])
        self._name_curves(end)
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
            label.setPos(crossing.flow, self._on_basis.at(crossing))
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
        low, high = self.chart.home()[2:]
        pressure = self._on_basis.at(point)
        self._drops[0].setData([0.0, point.flow, point.flow], [pressure, pressure, 2 * low - high])
        _, _, low, high = self.power_chart.home()
        self._power_drop.setData([point.flow, point.flow], [2 * low - high, 2 * high - low])
        watts = [] if math.isnan(point.power) else [point.power]
        self._power_mark.setData([point.flow] * len(watts), watts)
        title = "operating point, stable" if several else "operating point"
        self._label.setText(f"{title}\n{self.numbers(point)}")
        self._place_label(point)
        self._label.show()
        self.chart.setAccessibleDescription(f"Operating point, {self.numbers(point)}")

    def _place_words(self) -> None:
        self._name_system()
        if self._outcome is not None and self._outcome.operating is not None:
            self._place_label(self._outcome.operating)

    def _name_system(self) -> None:
        """Name the system's curve right of its band, where it leaves the sheet."""
        flow, edge = self._edges[0].getData()
        if flow is None or not len(flow):
            return
        (_, right), (low, high) = self.chart.sheet.viewRange()
        below = edge <= low + 0.97 * (high - low)
        at = float(flow[below][-1]) if below.any() else right
        room = max(self.chart.sheet.width(), 1.0)
        self._system_name.setText(system_words(room))
        width = self._system_name.textItem.boundingRect().width() * right / room
        # at the edge of the sheet it stands left of the curve
        self._system_name.setAnchor((0.0, 0.0) if at + width < right else (1.0, 0.0))
        self._system_name.setPos(min(at, right), low + 0.97 * (high - low))
        self._system_name.show()

    def _align_names(self) -> None:
        box = self.chart.sheet
        (left, right), _ = box.viewRange()
        ends = [self.chart.mapFromScene(box.mapViewToScene(QPointF(flow, 0.0))).x() for flow in (left, right)]
        self.names.show_range((left, right), (float(ends[0]), float(ends[1])))

    def _name_curves(self, end: float | None = None) -> None:
        """Hang a name from the end of each curve in sight; the selected fan's has its speed and goes with it."""
        prepared, outcome = self._prepared, self._outcome
        assert prepared is not None
        assert outcome is not None
        chosen = prepared.design.fan
        names = []
        if chosen is not None:
            end = float(prepared.trace(chosen, outcome.speed).flow[-1]) if end is None else end
            words = f"{chosen} at {format_entry(outcome.speed, 'speed', self._system, with_unit=True)}"
            names.append(CurveName(chosen, words, end, self._theme.fan_line(), strong=True))
        for i, laid in enumerate(self._laid):
            name = laid.trace.name
            if self._in_sight(name) and not (name == chosen and outcome.speed == 1.0):
                ours = name == chosen
                words, end = "selected fan at 100 %" if ours else name, float(laid.trace.flow[-1])
                names.append(CurveName(name, words, end, self._theme.fan_faint(i), whole=ours))
        self.names.show_names(names)

    def _place_label(self, point: Crossing) -> None:
        """Put the numbers where no strong curve runs through them; where they stand while that is such a place."""
        assert self._outcome is not None
        at = self._on_basis.at
        others = [(c.flow, at(c)) for c in self._outcome.crossings if c is not point]
        curves = [self._fan.getData(), self._system_curve.getData()]
        self._label_place.place((point.flow, at(point)), curves, others, [*self._names, self._system_name])

    def numbers(self, point: Crossing) -> str:
        """Airflow and pressure of a crossing, the pressure on the basis shown."""
        flow = format_quantity(point.flow, "flow", self._system)
        pressure = format_quantity(self._on_basis.at(point), "pressure", self._system)
        return f"{flow} at {pressure} {self._basis}"

    def _set(self, marks: Marks, crossings: list[Crossing]) -> None:
        marks.setData([c.flow for c in crossings], [self._on_basis.at(c) for c in crossings])

    def _say_why(self, outcome: Outcome) -> None:
        assert self._prepared is not None
        words = outcome.notices[0].text(self._write) if outcome.notices else ""
        if self._prepared.design.fan is None:
            words += " Select one of the listed fans." if self._laid else " Add one with “Fans…” at the right."
        self._empty.say(words)

    def resizeEvent(self, event: object) -> None:
        """Keep the sentence in the middle."""
        super().resizeEvent(event)  # type: ignore[arg-type]
        self._empty.place()
        # a short sheet is for the curves
        self.names.set_rows(max(1, min(ROWS, round(self.height() / px(_ROW_PER)))))

    # --- what is seen ---------------------------------------------------------------------------------------------

    def set_basis(self, basis: Basis) -> None:
        """Draw pressures as a data sheet's static ones, or as total ones."""
        if basis == self._basis:
            return
        self._basis = basis
        self.chart.set_y(PRESSURE[basis], "pressure")
        self.kept.show_basis(basis)
        if self._prepared is not None and self._outcome is not None:
            self._arrange()
            self._move()

    @property
    def basis(self) -> Basis:
        """The basis pressures are drawn on."""
        return self._basis

    def hidden(self) -> set[str]:
        """Fans whose curves are out of sight."""
        return set(self._hidden)

    def set_hidden(self, names: set[str]) -> None:
        """Leave the curves of some fans out of sight; the sheet then shows what is left."""
        if names != self._hidden:
            self._hidden = set(names)
            self._hide()
            if self._prepared is not None and self._outcome is not None:
                self._extend()
                self._name_curves()

    def _in_sight(self, name: str) -> bool:
        return name not in self._hidden

    def _hide(self) -> None:
        chosen = self._prepared.design.fan if self._prepared is not None else None
        rings: list[tuple[Array, Array]] = []
        for laid in self._laid:
            visible = self._in_sight(laid.trace.name)
            laid.pressure.setVisible(visible)
            laid.power.setVisible(visible)
            if visible and laid.trace.name != chosen:
                rings.append(laid.rings)
        flows, pressures = (np.concatenate([[], *(ring[i] for ring in rings)]) for i in (0, 1))
        self._rings.setData(flows, pressures)

    # --- kept curves ----------------------------------------------------------------------------------------------

    def keep(self) -> None:
        """Keep a still copy of the system curve and of the selected fan's to compare with."""
        prepared, outcome = self._prepared, self._outcome
        if prepared is None or outcome is None:
            return
        fan = prepared.design.fan
        speed = format_entry(outcome.speed, "speed", self._system, with_unit=True)
        self.kept.add(kept_of(f"{fan} at {speed}" if fan is not None else "System curve", prepared, outcome))

    def differences(self) -> list[str]:
        """What has changed at the operating point since each of the kept curves, in words."""
        if self._outcome is None or self._prepared is None:
            return [""] * len(self.kept)
        point = self._outcome.operating
        pressure = self._on_basis.at(point) if point is not None else math.nan
        return [difference(kept, point, pressure, self._basis, self._system) for kept in self.kept]

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

        words = []
        if flow <= prepared.system.flow[-1]:
            asked = self._on_basis.system(np.array(flow), prepared.system.at(np.array(flow)))
            words.append(f"system {self._write(float(asked), 'pressure')}")
        if prepared.design.fan is not None:
            fan = prepared.fans[prepared.design.fan]
            lift = float(fan.pressure(flow, outcome.speed, prepared.density) - self._on_basis.less(np.array(flow)))
            draw = float(fan.power(flow, outcome.speed, prepared.density))
            if not math.isnan(lift):
                words.append(f"fan {self._write(lift, 'pressure')}")
            if not math.isnan(draw):
                words.append(self._write(draw, "power"))
        self.hovered.emit(f"At {self._write(flow, 'flow')}: {', '.join(words)}" if words else "")

    def _write(self, value: float, dimension: str) -> str:
        return format_quantity(value, dimension, self._system)  # type: ignore[arg-type]

    # --- dress ----------------------------------------------------------------------------------------------------

    def set_stale(self, stale: bool) -> None:
        """Pale the curves while they are those of an earlier design."""
        for chart in self.charts:
            chart.plot.setOpacity(_PALE if stale else 1.0)

    def set_system(self, system: System) -> None:
        """Show other units."""
        self._system = system
        for chart in self.charts:
            chart.set_system(system)
        if self._outcome is not None:
            self._name_curves()
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
            (self._rings, "muted", False),
            (self._power_mark, "power", True),
        ):
            marks.setPen(pg.mkPen(theme.colour(role), width=2))
            marks.setBrush(theme.colour(role) if filled else theme.colour("panel"))
        self._operating.setSize(_MARK + 2)
        for text in (self._label, self._system_name, *self._names):
            text.setFont(font_of(Role.SMALL))
            text.setColor(theme.colour("system" if text is self._system_name else "text"))
            text.fill = pg.mkBrush(theme.panel)
        self.kept.apply_theme(theme)
        self.names.apply_theme(theme)
        self._empty.apply_theme(theme)
