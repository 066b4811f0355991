"""Curves kept to compare with: still copies of the system's and the selected fan's, each with a name."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pyqtgraph as pg
from msgspec import Struct

from workbench.gui.kit.chart_items import ChartText, Curve, Marks
from workbench.gui.kit.plotting import Chart
from workbench.gui.kit.theme import LIGHT, Theme
from workbench.gui.kit.type_scale import Role, font_of
from workbench.gui.section.basis import Basis, PressureBasis
from workbench.physics.arrays import Array
from workbench.solving import Crossing, Outcome, Prepared
from workbench.units import MINUS, Dimension, System, format_quantity

MOST = 6
"""More kept curves than this nobody tells apart on one sheet."""
_MARK = 9


class KeptCurve(Struct, frozen=True, eq=False):
    """A copy of both curves: flow [m3/s], total pressure and velocity pressure at the outlet [Pa]."""

    name: str
    system: tuple[Array, Array, Array]
    fan: tuple[Array, Array, Array] | None
    flow: float | None
    total: float | None
    static: float | None


def kept_of(name: str, prepared: Prepared, outcome: Outcome) -> KeptCurve:
    """A copy of what is on the sheet."""
    static = PressureBasis("static", prepared)
    system = prepared.system
    fan = None
    if prepared.design.fan is not None:
        trace = prepared.trace(prepared.design.fan, outcome.speed)
        fan = (trace.flow, trace.pressure, trace.velocity_pressure)
    point = outcome.operating
    return KeptCurve(
        name=name,
        system=(system.flow, system.pressure, static.less(system.flow)),
        fan=fan,
        flow=point.flow if point else None,
        total=point.fan_pressure if point else None,
        static=static.at(point) if point else None,
    )


def difference(kept: KeptCurve, point: Crossing | None, pressure: float, basis: Basis, system: System) -> str:
    """What has changed since at the operating point: the present less what was kept, in airflow and pressure."""
    before = kept.static if basis == "static" else kept.total
    if point is None or kept.flow is None or before is None:
        return "no operating point to compare"
    parts = [_signed(point.flow, kept.flow, "flow", system), _signed(pressure, before, "pressure", system)]
    return ", ".join(filter(None, parts)) or "no change"


def _signed(now: float, before: float, dimension: Dimension, system: System) -> str:
    """The difference of two values with its sign and unit; empty where it rounds to nothing."""
    words = format_quantity(abs(now - before), dimension, system)
    if not any(c in "123456789" for c in words.partition(" ")[0]):
        return ""
    return f"{'+' if now > before else MINUS}{words}"


class KeptCurves:
    """Kept curves on a chart."""

    def __init__(self, chart: Chart) -> None:
        self._chart = chart
        self._theme: Theme = LIGHT
        self._basis: Basis = "static"
        self._kept: list[KeptCurve] = []
        self._items: list[list[pg.GraphicsObject]] = []

    def __iter__(self) -> Iterator[KeptCurve]:
        return iter(self._kept)

    def __len__(self) -> int:
        return len(self._kept)

    def add(self, kept: KeptCurve) -> None:
        """Keep one more; past `MOST` the oldest goes."""
        self._kept.append(kept)
        if len(self._kept) > MOST:
            self._kept.pop(0)
        self._draw()

    def replace(self, kept: list[KeptCurve]) -> None:
        """Keep these alone."""
        self._kept = list(kept)
        self._draw()

    def remove(self, number: int) -> None:
        """Let one go."""
        del self._kept[number]
        self._draw()

    def show_basis(self, basis: Basis) -> None:
        """Draw on another basis."""
        if basis != self._basis:
            self._basis = basis
            self._draw()

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self._theme = theme
        self._draw()

    def items(self) -> list[list[pg.GraphicsObject]]:
        """What is on the chart for each of them: its curves, then its mark and number."""
        return self._items

    def _draw(self) -> None:
        for item in (item for items in self._items for item in items):
            self._chart.take(item)
        self._items = [self._drawn(number, kept) for number, kept in enumerate(self._kept, start=1)]

    def _drawn(self, number: int, kept: KeptCurve) -> list[pg.GraphicsObject]:
        items: list[pg.GraphicsObject] = []
        static = self._basis == "static"
        for flow, total, less in (line for line in (kept.system, kept.fan) if line is not None):
            curve: Curve = self._chart.add_curve(self._theme.ghost_line(), 5, still=True)
            curve.setData(np.array(flow), np.array(total - less if static else total))
            items.append(curve)
        pressure = kept.static if static else kept.total
        if kept.flow is not None and pressure is not None:
            mark = Marks([kept.flow], [pressure], pxMode=True, antialias=True, symbol="x", size=_MARK)
            mark.setPen(pg.mkPen(self._theme.colour("ghost"), width=2))
            mark.setZValue(50)
            number_there = ChartText(str(number), anchor=(1.3, 0.9), color=self._theme.colour("muted"))
            number_there.setFont(font_of(Role.SMALL))
            number_there.setPos(kept.flow, pressure)
            number_there.setZValue(49)
            for item in (mark, number_there):
                self._chart.add(item)
            items += [mark, number_there]
        return items
