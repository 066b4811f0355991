"""How far readings lay off what was predicted, in standard errors, a line for each quantity, with the 90 % band."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import NamedTuple

import numpy as np
from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QBrush, QColor, QFontMetricsF, QPen
from PySide6.QtWidgets import QWidget

from workbench.design.wording import counted
from workbench.files.diagnosis_text import ITEM_NAMES
from workbench.files.record_text import AGAINST
from workbench.gui.kit.caption import Caption
from workbench.gui.kit.chart_items import ChartText, Curve, Marks
from workbench.gui.kit.plotting import Chart, QuantityAxis
from workbench.gui.kit.theme import LIGHT, LineStyle, Theme
from workbench.gui.kit.type_scale import Role, font_of, line_of
from workbench.solving.later.expected import EDGE
from workbench.solving.later.items import ItemKind
from workbench.solving.later.record import Against, Compared, JobRecord
from workbench.units import SI, format_number

KEY = "● inside the predicted 90 % band   ▲ outside   Upright line: their mean."
_NAME = "Readings against predictions, by quantity"
_TITLE = "Standard errors that a reading lies above what was predicted"
_LEAST, _MARGIN = 3.0, 1.08
_GOLDEN = 0.618034
"""Steps of this share of a line, wrapped, lie far from the last ones, so that like readings do not cover each other."""
_SIZE = QSize(1000, 120)


class Strip(NamedTuple):
    """A line of the chart: a quantity with its readings, or a title over such lines without any."""

    title: str
    read: tuple[Compared, ...]


def strips_of(records: Sequence[JobRecord]) -> list[Strip]:
    """From the top down, in the order of the tables; readings whose errors are not known are left out."""
    groups: dict[Against, dict[ItemKind, list[Compared]]] = {against: {} for against in AGAINST}
    for record in records:
        for each in record.compared:
            if math.isfinite(each.off):
                groups[each.against].setdefault(each.what, []).append(each)
    found = []
    for against, quantities in groups.items():
        if quantities:
            found.append(Strip(AGAINST[against], ()))
            found += [Strip(ITEM_NAMES[what], tuple(quantities[what])) for what in sorted(quantities)]
    return found


class _NameAxis(QuantityAxis):
    """Upwards, with the name of a quantity beside each of its lines."""

    _names: tuple[tuple[float, str], ...] = ()

    def __init__(self) -> None:
        super().__init__("left", "", "count", SI)

    def set_names(self, names: Sequence[tuple[float, str]]) -> None:
        self._names = tuple(names)
        self._worn = None
        self._dress()

    def _dress(self) -> None:
        super()._dress()
        self.showLabel(False)
        across = QFontMetricsF(font_of(Role.SMALL)).horizontalAdvance
        self.setWidth(max((across(name) for _, name in self._names), default=0.0) + 14)

    def tickValues(self, minVal: float, maxVal: float, size: float) -> list[tuple[float, list[float]]]:
        seen = [at for at, _ in self._names if minVal <= at <= maxVal]
        return [(1.0, seen)] if size > 0.0 and seen else []

    def tickStrings(self, values: list[float], scale: float, spacing: float) -> list[str]:
        names = dict(self._names)
        return [names.get(value, "") for value in values]


class TrackChart(Chart):
    """Every reading on the line of its quantity."""

    _made = False

    def __init__(self, parent: QWidget | None = None) -> None:
        self._side = _NameAxis()
        super().__init__(_NAME, (_TITLE, "count"), ("", "count"), SI, parent, left=self._side)
        self._strips: list[Strip] = []
        self.band = self.add_band(LIGHT.selection)
        self.zero = self.add_curve(LineStyle(LIGHT.accent, 1.5, (5.0, 3.0)), z=1.0)
        self.marks = Marks(pxMode=True)
        self.marks.setZValue(5.0)
        self.add(self.marks)
        self.means: list[Curve] = []
        self.titles: list[ChartText] = []
        self._made = True
        self.show_strips(())

    def show_strips(self, strips: Sequence[Strip]) -> None:
        """Show so many lines."""
        self._strips = list(strips)
        self._draw()

    def strips(self) -> list[Strip]:
        """What is shown."""
        return list(self._strips)

    def apply_theme(self, theme: Theme) -> None:
        super().apply_theme(theme)
        if self._made:
            self._draw()

    def least_height(self) -> int:
        """Height in which lines stand apart. [px]"""
        return round((len(self._strips) * 1.5 + 4) * line_of(Role.SMALL))

    def _draw(self) -> None:
        for line in self.means:
            self.take(line)
        for text in self.titles:
            self.take(text)
        self.means, self.titles = [], []
        count = max(len(self._strips), 1)
        places = [1.0 - (i + 0.5) / count for i in range(len(self._strips))]
        offs = [each.off for strip in self._strips for each in strip.read]
        far = max(_LEAST, _MARGIN * max(map(abs, offs), default=0.0))
        self.show_range(-far, far, 0.0, 1.0)
        edges = np.array([-EDGE, EDGE])
        self.band.set_colour(self._theme.selection)
        self.band.set_data(edges, np.zeros(2), np.ones(2))
        self.zero.restyle(LineStyle(self._theme.accent, 1.5, (5.0, 3.0)))
        self.zero.setData(np.zeros(2), np.array([0.0, 1.0]))
        self._side.set_names([(at, s.title) for at, s in zip(places, self._strips, strict=True) if s.read])
        spots = []
        for at, strip in zip(places, self._strips, strict=True):
            if not strip.read:
                self._add_title(strip.title, -far, at)
                continue
            for i, each in enumerate(strip.read):
                height = at + 0.6 * ((i * _GOLDEN) % 1.0 - 0.5) / count
                role, symbol = ("good", "o") if each.inside else ("bad", "t1")
                edge = QPen(self._theme.colour("panel"), 1)
                # else it is scaled with the mark
                edge.setCosmetic(True)
                brush = QBrush(QColor(getattr(self._theme, role)))
                spots.append({"pos": (each.off, height), "symbol": symbol, "size": 9, "brush": brush, "pen": edge})
            self._add_mean(float(np.mean([each.off for each in strip.read])), at, 0.42 / count)
        self.marks.setData(spots)
        self.setAccessibleDescription("; ".join(map(_aloud, self._strips)))
        self.setMinimumHeight(self.least_height())

    def _add_mean(self, mean: float, at: float, half: float) -> None:
        line = self.add_curve(LineStyle(self._theme.text, 2.0), z=6.0)
        line.setData(np.array([mean, mean]), np.array([at - half, at + half]))
        self.means.append(line)

    def _add_title(self, title: str, left: float, at: float) -> None:
        text = ChartText(title, color=self._theme.text, anchor=(0.0, 0.5), fill=self._theme.panel)
        text.setFont(font_of(Role.SMALL_STRONG))
        text.setPos(left, at)
        text.setZValue(4.0)
        self.add(text)
        self.titles.append(text)

    @contextmanager
    def picture(self, captions: Sequence[str]) -> Iterator[list[QWidget]]:
        """The parts of a picture that stands by itself: what it shows, then the chart, on a light ground."""
        copy = TrackChart()
        copy.setAttribute(Qt.WidgetAttribute.WA_DontShowOnScreen)
        copy.show_strips(self._strips)
        copy.resize(_SIZE.expandedTo(QSize(0, round(copy.least_height() + line_of(Role.BODY)))))
        copy.show()
        # the axes take their size at the first painting and stand right at the second
        for _ in range(2):
            copy.grab()
        caption = Caption(captions, copy.viewport().width())
        yield [caption, copy]
        copy.hide()
        for made in (caption, copy):
            made.deleteLater()


def _aloud(strip: Strip) -> str:
    if not strip.read:
        return strip.title
    inside = sum(each.inside for each in strip.read)
    mean = float(np.mean([each.off for each in strip.read]))
    return (
        f"{strip.title}: {counted(len(strip.read), 'reading')}, {inside} inside, mean "
        f"{format_number(mean, 2)} standard errors"
    )
