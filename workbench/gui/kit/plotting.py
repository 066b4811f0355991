"""Charts: the one place that builds on pyqtgraph's classes.

Data stay in SI; the axes alone know the units shown. Items are made once and given new data; a range widens in steps
and never follows the data during a drag, so that the hand sees the curve move and not the sheet.
"""

from __future__ import annotations

import math
from typing import Any

import pyqtgraph as pg
from PySide6.QtCore import QEvent, QLineF, QRectF, Qt, Signal
from PySide6.QtGui import (
    QFontMetricsF,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPixmapCache,
)
from PySide6.QtWidgets import QGraphicsGridLayout, QGraphicsItem, QSizePolicy, QWidget

from workbench.gui.kit.chart_items import Band, Curve
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.theme import LIGHT, LineStyle, Theme
from workbench.gui.kit.tips import marked_up
from workbench.gui.kit.type_scale import Role, font_of, line_of
from workbench.units import MINUS, SI, Dimension, System, from_display, to_display, unit_of

ZOOM, PAN = 1.25, 0.1
STILL_CACHE_KB = 128 * 1024
"""Room for the pictures of curves that stand still; Qt's own 10 MB would not hold them on a dense screen."""


def set_up_plotting() -> None:
    """Settle what holds for every chart; called once, when the application is made."""
    pg.setConfigOptions(antialias=True, useOpenGL=False)
    QPixmapCache.setCacheLimit(STILL_CACHE_KB)


TITLE_OVER = 24.0
"""How far the title of an axis may reach beyond it, over the margin of the chart. [px]"""
_LEAST_PLOT = 4.0
"""Breadth and height between the axes with which a chart is painted. [px]"""


class QuantityAxis(Guarded, pg.AxisItem):
    """An axis over SI data whose ticks are round in the units shown."""

    _bare = False

    def __init__(self, orientation: str, title: str, dimension: Dimension, system: System) -> None:
        super().__init__(orientation)
        self._title, self._dimension, self._system = title, dimension, system
        self._theme = LIGHT
        self._worn: object = None
        self.enableAutoSIPrefix(False)
        self.setStyle(tickLength=4, maxTickLevel=1, hideOverlappingLabels=False)
        self._dress()

    def set_quantity(self, title: str, dimension: Dimension) -> None:
        """Measure something else."""
        self._title, self._dimension = title, dimension
        self._dress()

    def set_system(self, system: System) -> None:
        """Show other units."""
        self._system = system
        self._dress()

    def set_bare(self, bare: bool) -> None:
        """Leave figures and title to the chart below."""
        self._bare = bare
        self.setStyle(showValues=not bare)
        self._dress()

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self._theme = theme
        self._dress()

    def title(self) -> str:
        """The title with its unit, as it is written."""
        unit = unit_of(self._dimension, self._system).label
        return f"{self._title}, {unit}" if unit else self._title

    def _dress(self) -> None:
        theme = self._theme
        # each call lays the label out five times, and a window that opens asks for the same four times over
        wish = theme, self.title(), self._bare, font_of(Role.SMALL)
        if wish == self._worn:
            return
        self._worn = wish
        font = font_of(Role.SMALL)
        self.setTickFont(font)
        self.setPen(QPen(theme.colour("edge"), 1))
        self.setTextPen(theme.colour("muted"))
        self.setLabel(marked_up(self.title()), color=theme.text)
        self.showLabel(not self._bare)
        self.label.setFont(font)
        # a width of its own choosing would shift the plot while a curve is dragged
        if self.orientation in ("left", "right"):
            self.setWidth(QFontMetricsF(font).horizontalAdvance("0 000") + line_of(Role.SMALL) + 14)
        else:
            self.setHeight(6 if self._bare else 2 * line_of(Role.SMALL) + 12)
        # a title of another length is centred anew only here
        self.resizeEvent()
        self.picture = None
        self.update()

    def resizeEvent(self, event: Any = None) -> None:
        """Leave out a title that is longer than its axis: the chart's name tells it."""
        super().resizeEvent(event)
        room = self.size().height() if self.orientation in ("left", "right") else self.size().width()
        self.label.setVisible(not self._bare and self.label.boundingRect().width() <= room + TITLE_OVER)

    def tickValues(self, minVal: float, maxVal: float, size: float) -> list[tuple[float, list[float]]]:
        if not (size > 0.0 and minVal < maxVal):
            # nothing to be ticked, and the spacing of ticks would be divided by it
            return []
        low, high = (to_display(v, self._dimension, self._system) for v in (minVal, maxVal))
        factor = unit_of(self._dimension, self._system).factor
        return [
            (spacing * factor, [from_display(v, self._dimension, self._system) for v in values])
            for spacing, values in super().tickValues(low, high, size)[:2]
        ]

    def tickStrings(self, values: list[float], scale: float, spacing: float) -> list[str]:
        step = spacing / unit_of(self._dimension, self._system).factor
        places = max(0, math.ceil(-math.log10(step) - 1e-9)) if step > 0.0 else 0
        shown = (to_display(v, self._dimension, self._system) for v in values)
        # adding zero turns a negative zero into zero
        return [f"{round(v, places) + 0.0:.{places}f}".replace("-", MINUS) for v in shown]


class GridLines(Guarded, pg.GraphicsObject):
    """Hairlines on the axes' own ticks; pyqtgraph's grid costs more than all curves together."""

    def __init__(self, bottom: QuantityAxis, left: QuantityAxis) -> None:
        super().__init__()
        self._axes = bottom, left
        self._pen = QPen()
        self._lines: list[QLineF] = []
        self._drawn_for: object = None
        self.setZValue(-100)

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self._pen = QPen(theme.colour("grid"), 0)
        self.update()

    def boundingRect(self) -> QRectF:
        return self.viewRect()

    def viewTransformChanged(self) -> None:
        self.prepareGeometryChange()
        # pyqtgraph drops its cached view rectangle there; without it nothing would be painted
        super().viewTransformChanged()
        self.update()

    def paint(self, painter: QPainter, *_: Any) -> None:
        view = self.viewRect()
        bottom, left = self._axes
        # finding the ticks costs more than drawing them, and they stand still while curves move
        wanted = (view.getRect(), bottom.width(), left.height(), bottom.title(), left.title())
        if wanted != self._drawn_for:
            self._drawn_for = wanted
            self._lines = [
                QLineF(v, view.top(), v, view.bottom())
                for _, values in bottom.tickValues(view.left(), view.right(), bottom.width())
                for v in values
            ] + [
                QLineF(view.left(), v, view.right(), v)
                for _, values in left.tickValues(view.top(), view.bottom(), left.height())
                for v in values
            ]
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        painter.setPen(self._pen)
        painter.drawLines(self._lines)


class _Sheet(Guarded, pg.ViewBox):
    """The drawing area: left button pans, wheel zooms, a double click fits."""

    fit_asked = Signal()

    def mouseClickEvent(self, event: Any) -> None:
        if event.double() and event.button() == Qt.MouseButton.LeftButton:
            event.accept()
            self.fit_asked.emit()
        else:
            event.ignore()

    def mouseDragEvent(self, event: Any, axis: int | None = None) -> None:
        if event.button() == Qt.MouseButton.RightButton:
            event.ignore()
        else:
            super().mouseDragEvent(event, axis)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        event.ignore()


class Plot(Guarded, pg.GraphicsWidget):
    """The drawing area with its two axes, without the forms and buttons that pyqtgraph's own makes for every plot."""

    def __init__(self, sheet: pg.ViewBox, bottom: pg.AxisItem, left: pg.AxisItem) -> None:
        super().__init__()
        places = QGraphicsGridLayout(self)
        places.setSpacing(0.0)
        # room for half a tick label beyond either end, and for the focus ring
        places.setContentsMargins(8, 10, 18, 4)
        for part, row, column, depth in ((left, 0, 0, 0.5), (sheet, 0, 1, -100.0), (bottom, 1, 1, 0.5)):
            places.addItem(part, row, column)
            part.setZValue(depth)
        places.setRowStretchFactor(0, 1)
        places.setColumnStretchFactor(1, 1)
        for axis in (bottom, left):
            axis.linkToView(sheet)


class Chart(Guarded, pg.GraphicsView):
    """A plot of one quantity over another; `name` is what it is called aloud.

    Items put on it take SI data. Where the data end is told by `widen_to`; the chart shows that much until the person
    zooms or pans, and again after a double click, the key 0, or `reset`.
    """

    hovered = Signal(float, float)
    """Where the mouse is, in SI."""
    unhovered = Signal()
    home_left = Signal(bool)
    """Whether a person has zoomed or panned, so that not all the data may be in sight."""
    reshaped = Signal()
    """It is about to be painted in another size or range than before: words upon it may need another place."""

    def __init__(
        self,
        name: str,
        x: tuple[str, Dimension],
        y: tuple[str, Dimension],
        system: System = SI,
        parent: QWidget | None = None,
        *,
        bottom: QuantityAxis | None = None,
        left: QuantityAxis | None = None,
    ) -> None:
        self._bottom = bottom or QuantityAxis("bottom", *x, system)
        self._left = left or QuantityAxis("left", *y, system)
        super().__init__(parent)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.enableMouse(False)
        # its own menu, made for every chart, would never be seen
        self.sheet = _Sheet(enableMenu=False)
        self.plot = Plot(self.sheet, self._bottom, self._left)
        self.setCentralItem(self.plot)
        self._x, self._y, self._system = x[1], y[1], system
        self._theme = LIGHT
        self._extent: tuple[float, float, float, float] | None = None
        self._home = (0.0, 1.0, 0.0, 1.0)
        self._at_home = True
        self._moved = False
        self.setFrameShape(self.Shape.NoFrame)
        self.sheet.disableAutoRange()
        self.sheet.setDefaultPadding(0.0)
        self._grid = GridLines(self._bottom, self._left)
        self.add(self._grid)
        self.sheet.fit_asked.connect(self.reset)
        self.sheet.sigRangeChangedManually.connect(self._moved_by_hand)
        for moved in (self.sheet.sigRangeChanged, self.sheet.sigResized):
            moved.connect(self._note_move)
        self.scene().sigPrepareForPaint.connect(self._tell_move)
        self.setAccessibleName(name)
        self.apply_theme(self._theme)
        self._go_home()

    # --- what is on it ---

    def axis(self, side: str) -> QuantityAxis:
        """The axis at the ``bottom`` or the ``left``."""
        return {"bottom": self._bottom, "left": self._left}[side]

    def add(self, item: QGraphicsItem) -> None:
        """Put an item on it, in SI."""
        self.sheet.addItem(item, ignoreBounds=True)

    def take(self, item: QGraphicsItem) -> None:
        """Take an item off again."""
        self.sheet.removeItem(item)

    def add_curve(self, style: LineStyle, z: float = 0.0, *, still: bool = False) -> Curve:
        """A curve, to be given SI data with ``setData(x, y)`` and another look with ``restyle(style)``.

        One that stands `still` while others move keeps its picture, which a frame then need not stroke again.
        """
        curve = Curve()
        curve.setZValue(z)
        curve.restyle(style)
        if still:
            curve.setCacheMode(Curve.CacheMode.DeviceCoordinateCache)
        self.add(curve)
        return curve

    def add_band(self, colour: str, z: float = -50.0) -> Band:
        """A filled band between two curves."""
        band = Band(colour)
        band.setZValue(z)
        band.setCacheMode(Band.CacheMode.DeviceCoordinateCache)
        self.add(band)
        return band

    def set_system(self, system: System) -> None:
        """Show other units on both axes."""
        self._system = system
        for axis in (self._bottom, self._left):
            axis.set_system(system)
        self._grid.update()

    def set_y(self, title: str, dimension: Dimension) -> None:
        """Plot another quantity upwards."""
        self._y = dimension
        self._left.set_quantity(title, dimension)

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme; curves are restyled by whoever put them on."""
        self._theme = theme
        self.setBackground(theme.panel)
        self._bottom.apply_theme(theme)
        self._left.apply_theme(theme)
        self._grid.apply_theme(theme)

    def follow_x(self, other: Chart) -> None:
        """Share the x range of a chart above or below."""
        self.sheet.setXLink(other.sheet)

    def bare_x(self, bare: bool) -> None:
        """Leave the figures and the title of the x axis to a chart below that shares it."""
        self._bottom.set_bare(bare)

    # --- what of it is seen ---

    def widen_to(self, xmax: float, ymax: float, xmin: float = 0.0, ymin: float = 0.0) -> None:
        """Tell where the data end, in SI: the range grows to the next round value; only `reset` lets it shrink."""
        first = self._extent is None
        self._extent = (xmin, xmax, ymin, ymax)
        wanted = self._rounded(self._extent)
        if first:
            self._home = wanted
            self._go_home()
            return
        low_x, high_x, low_y, high_y = self._home
        grown = (min(low_x, wanted[0]), max(high_x, wanted[1]), min(low_y, wanted[2]), max(high_y, wanted[3]))
        if grown != self._home:
            self._home = grown
            if self._at_home:
                self._go_home()

    def show_range(self, xmin: float, xmax: float, ymin: float, ymax: float) -> None:
        """Show so much from now on, in SI: exactly across, as a temperature has no round zero; rounded upwards."""
        _, _, low, high = self._rounded((0.0, 0.0, ymin, ymax))
        self._extent, self._home = None, (xmin, xmax, low, high)
        if self._at_home:
            self._go_home()

    def reset(self) -> None:
        """Show all the data again, closely."""
        if self._extent is not None:
            self._home = self._rounded(self._extent)
        self._go_home()

    def home(self) -> tuple[float, float, float, float]:
        """The range shown after `reset`: least and greatest x, least and greatest y, in SI."""
        return self._home

    def _rounded(self, extent: tuple[float, float, float, float]) -> tuple[float, float, float, float]:
        xmin, xmax, ymin, ymax = extent
        return (
            -_round_up(-xmin, self._x, self._system),
            _round_up(xmax, self._x, self._system),
            -_round_up(-ymin, self._y, self._system),
            _round_up(ymax, self._y, self._system),
        )

    def _go_home(self) -> None:
        self._set_at_home(True)
        low_x, high_x, low_y, high_y = self._home
        if low_x < high_x and low_y < high_y:
            self.sheet.setRange(xRange=(low_x, high_x), yRange=(low_y, high_y), padding=0.0)

    def _note_move(self) -> None:
        self._moved = True

    def _tell_move(self) -> None:
        if self._moved:
            self._moved = False
            self.reshaped.emit()

    def _moved_by_hand(self) -> None:
        self._set_at_home(False)

    def _set_at_home(self, at_home: bool) -> None:
        if at_home != self._at_home:
            self._at_home = at_home
            self.home_left.emit(not at_home)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        box = self.sheet
        (left, right), (low, high) = box.viewRange()
        pans = {
            Qt.Key.Key_Left: (-PAN, 0.0),
            Qt.Key.Key_Right: (PAN, 0.0),
            Qt.Key.Key_Up: (0.0, PAN),
            Qt.Key.Key_Down: (0.0, -PAN),
        }
        key = Qt.Key(event.key())
        if key in (Qt.Key.Key_0, Qt.Key.Key_Home):
            self.reset()
        elif key in (Qt.Key.Key_Plus, Qt.Key.Key_Equal, Qt.Key.Key_Minus):
            factor = ZOOM if key == Qt.Key.Key_Minus else 1.0 / ZOOM
            self._moved_by_hand()
            box.scaleBy((factor, factor))
        elif key in pans:
            across, up = pans[key]
            self._moved_by_hand()
            box.translateBy(x=across * (right - left), y=up * (high - low))
        else:
            event.ignore()
            return
        event.accept()

    # --- the mouse ---

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        super().mouseMoveEvent(event)
        box = self.sheet
        at = self.mapToScene(event.position().toPoint())
        if box.sceneBoundingRect().contains(at):
            point = box.mapSceneToView(at)
            self.hovered.emit(point.x(), point.y())
        else:
            self.unhovered.emit()

    def leaveEvent(self, event: QEvent) -> None:
        super().leaveEvent(event)
        self.unhovered.emit()

    def paintEvent(self, event: QPaintEvent) -> None:
        box = self.sheet
        if min(box.width(), box.height()) < _LEAST_PLOT:
            # nothing is left between the axes, and Qt falls over curves that are scaled to nothing
            return
        super().paintEvent(event)
        if self.hasFocus():
            painter = QPainter(self.viewport())
            painter.setPen(QPen(self._theme.colour("focus"), 2))
            painter.drawRect(QRectF(self.viewport().rect()).adjusted(1, 1, -1, -1))
            painter.end()

    # --- pictures ---

    def copy_picture(self) -> None:
        """Put what is seen on the clipboard."""
        from workbench.gui.kit import pictures

        pictures.copy([self])


def _round_up(value: float, dimension: Dimension, system: System) -> float:
    """The next of 1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10 times a power of ten, in units shown; 0 for what is below 0."""
    unit = unit_of(dimension, system)
    shown = value / unit.factor
    if not math.isfinite(shown) or shown <= 0.0:
        return 0.0
    decade = 10.0 ** math.floor(math.log10(shown))
    for step in (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0):
        if shown <= step * decade * (1 + 1e-9):
            return step * decade * unit.factor
    return 10.0 * decade * unit.factor
