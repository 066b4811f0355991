"""The visits along the time: gauge, weakest hole and radon, with what was predicted behind."""

from __future__ import annotations

import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QBrush, QColor, QPalette, QPen
from PySide6.QtWidgets import QFileDialog, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from workbench.design.design import Design
from workbench.design.visits import Visit, day_of
from workbench.design.wording import sentence
from workbench.gui.kit.background import Background
from workbench.gui.kit.caption import INVENTED, Caption
from workbench.gui.kit.chart_items import ChartText, Curve, Marks
from workbench.gui.kit.days import DayAxis, ShortAxis
from workbench.gui.kit.forms import paragraph, quiet
from workbench.gui.kit.plotting import Chart
from workbench.gui.kit.theme import LIGHT, LineStyle, Theme
from workbench.gui.kit.type_scale import Role, font_of
from workbench.solving.later.expected import Expected
from workbench.solving.later.over_time import Then, over_time
from workbench.solving.run.prepare import Prepared
from workbench.units import SI, Dimension, System, as_read, format_quantity

_CHARTS: tuple[tuple[str, str, Dimension], ...] = (
    ("gauge", "Gauge", "pressure"),
    ("hole", "Hole", "hole_pressure"),
    ("radon", "Radon", "radon"),
)
_NAMES = {"gauge": "System gauge over time", "hole": "Weakest test hole over time", "radon": "Radon over time"}
_NONE = "No visit yet. Once readings are entered, this shows them over time against what was predicted."
_WAITING = "Working out what was predicted for each visit…"
_KEY = "● inside the predicted 90 % band   ▲ outside   ◆ radon test, not predicted.   Hole: the one read lowest."
_PICTURES = "Image (*.svg *.pdf *.png)"
_SIZE = QSize(1100, 760)
_MARGIN_DAYS, _LEAST_DAYS = 0.06, 60.0
_LABELED = 12
"""More visits than these have their figures in their hints and no room for them on the chart."""
_OVER = 1.25


def _worked_out(prepared: Prepared, design: Design, flag: threading.Event) -> tuple[Design, tuple[Then, ...]] | None:
    found = over_time(prepared, design, flag.is_set)
    return None if flag.is_set() else (design, found)


class _Line:
    """One chart with its band, its line of what was expected, and its marks."""

    def __init__(self, key: str, title: str, dimension: Dimension) -> None:
        self.key, self.dimension = key, dimension
        left = ShortAxis("left", title, dimension, SI)
        self.chart = Chart(_NAMES[key], ("", "count"), (title, dimension), bottom=DayAxis(), left=left)
        self.band = self.chart.add_band(LIGHT.selection)
        self.expected = self.chart.add_curve(LineStyle(LIGHT.accent, 1.5, (5.0, 3.0)), z=1.0)
        self.marks = Marks(pxMode=True)
        self.marks.setZValue(5.0)
        self.chart.add(self.marks)
        self.bars: list[Curve] = []
        self.texts: list[ChartText] = []
        self.values: list[tuple[float, float, float, str]] = []
        """Of each mark its day, the ends of its bar, and what it is written as."""
        self.outside: set[float] = set()

    def clear(self) -> None:
        for bar in self.bars:
            self.chart.take(bar)
        for text in self.texts:
            self.chart.take(text)
        self.bars, self.texts, self.values, self.outside = [], [], [], set()


class TimeLine(QWidget):
    """Three charts over one axis of days."""

    told = Signal(str)
    """A sentence about something that could not be done."""
    picked = Signal(object)
    """The Visit whose mark was clicked."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._system: System = SI
        self._theme = LIGHT
        self._design: Design | None = None
        self._found: tuple[Then, ...] = ()
        self._asked: Design | None = None
        self._flag = threading.Event()
        self.stale = False
        self.background = Background(self)
        self.background.answered.connect(self._take)
        self.background.failed.connect(lambda words: self.told.emit(sentence(words)))
        self.lines = {key: _Line(key, title, dimension) for key, title, dimension in _CHARTS}
        first = self.lines["gauge"].chart
        for line in self.lines.values():
            if line.key != "radon":
                line.chart.bare_x(True)
            if line.chart is not first:
                line.chart.follow_x(first)
            line.marks.sigClicked.connect(self._clicked)
        self.said = paragraph(_NONE)
        self.key = quiet(_KEY)
        self.copy_button = QPushButton("Copy &image")
        self.save_button = QPushButton("E&xport image…")
        self.copy_button.clicked.connect(lambda _checked=False: self.copy_picture())
        self.save_button.clicked.connect(lambda _checked=False: self.ask_save())
        self.setAutoFillBackground(True)
        self.setBackgroundRole(QPalette.ColorRole.Base)
        head = QHBoxLayout()
        head.setContentsMargins(12, 6, 12, 2)
        head.addWidget(self.said, 1)
        head.addWidget(self.key, 1)
        head.addWidget(self.copy_button)
        head.addWidget(self.save_button)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(head)
        for line, share in zip(self.lines.values(), (10, 10, 12), strict=True):
            line.chart.setMinimumHeight(40)
            column.addWidget(line.chart, share)
        self._draw()

    # --- what is shown ------------------------------------------------------------------------------------------

    def show_design(self, prepared: Prepared, design: Design) -> None:
        """Have the visits of a design held against it; the last good answer is greyed meanwhile."""
        if self._asked is design:
            return
        self._asked = design
        self._flag.set()
        self._flag = threading.Event()
        if not design.visits:
            self.background.drop()
            self._take((design, ()))
            return
        self.set_stale(True)
        self.background.ask(partial(_worked_out, prepared, design, self._flag))

    def _take(self, found: tuple[Design, tuple[Then, ...]] | None) -> None:
        if found is not None:
            self.show_found(*found)
            self.set_stale(False)

    def show_found(self, design: Design, found: Sequence[Then]) -> None:
        """Show visits that were worked out."""
        self._design, self._found = design, tuple(found)
        self._draw()

    def stop(self) -> None:
        """Work nothing out any more."""
        self._flag.set()
        self._asked = None

    def set_stale(self, stale: bool) -> None:
        """Grey what is the last good answer."""
        if stale != self.stale:
            self.stale = stale
            self._draw()

    def set_system(self, system: System) -> None:
        """Show other units."""
        self._system = system
        for line in self.lines.values():
            line.chart.set_system(system)
        self._draw()

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self._theme = theme
        for line in self.lines.values():
            line.chart.apply_theme(theme)
        self._draw()

    # --- drawing ------------------------------------------------------------------------------------------------

    def _draw(self) -> None:
        known = [(day.toordinal(), then) for then in self._found if (day := day_of(then.visit.date)) is not None]
        self.said.setText(_WAITING if self.stale and not known else "" if known else _NONE)
        self.said.setVisible(bool(self.said.text()))
        self.key.setVisible(bool(known))
        for button in (self.copy_button, self.save_button):
            button.setVisible(bool(known))
            button.setEnabled(not self.stale)
        for line in self.lines.values():
            line.chart.setVisible(bool(known))
        if not known:
            return
        first, last = known[0][0], known[-1][0]
        margin = max(_MARGIN_DAYS * (last - first), (_LEAST_DAYS - (last - first)) / 2.0, 5.0)
        across = (first - margin, last + margin)
        labeled = len(known) <= _LABELED
        self._draw_expected(
            self.lines["gauge"], [(day, then.visit, then.gauge) for day, then in known], across, labeled
        )
        self._draw_expected(self.lines["hole"], [(day, then.visit, then.hole) for day, then in known], across, labeled)
        self._draw_radon(self.lines["radon"], known, across, labeled)

    def _ink(self, role: str) -> str:
        return self._theme.muted if self.stale else str(getattr(self._theme, role))

    def _draw_expected(
        self,
        line: _Line,
        read: Sequence[tuple[int, Visit, Expected | None]],
        across: tuple[float, float],
        labeled: bool,
    ) -> None:
        line.clear()
        line.band.set_colour(self._theme.selection)
        line.expected.restyle(LineStyle(self._ink("accent"), 1.5, (5.0, 3.0)))
        told = [(day, visit, each) for day, visit, each in read if each is not None and each.told]
        x = np.array([float(day) for day, _, _ in told])
        low, high, middle = (
            np.array([pick(each) for _, _, each in told], dtype=float)
            for pick in (lambda e: e.band[0], lambda e: e.band[1], lambda e: e.expected)
        )
        if len(told) == 1:
            # of one visit the band is as broad as its mark
            wide = 0.02 * (across[1] - across[0])
            x, low, high, middle = np.array([x[0] - wide, x[0] + wide]), *(np.repeat(v, 2) for v in (low, high, middle))
        line.band.set_data(x, low, high)
        line.expected.setData(x, middle)
        spots = []
        for day, visit, each in ((d, v, e) for d, v, e in read if e is not None):
            role, symbol = ("good", "o") if each.told and each.inside else ("bad", "t1")
            role, symbol = (role, symbol) if each.told else ("unread", "s")
            words = self._written(each, line.dimension)
            spots.append(self._spot(day, each.read, symbol, role, (visit, words)))
            line.values.append((float(day), each.read, each.read, words))
            if each.told and not each.inside:
                line.outside.add(float(day))
        line.marks.setData(spots)
        tops = [*high, *(value for _, _, value, _ in line.values)]
        self._range(line, across, tops, labeled)

    def _draw_radon(
        self, line: _Line, known: Sequence[tuple[int, Then]], across: tuple[float, float], labeled: bool
    ) -> None:
        line.clear()
        line.band.set_data(np.zeros(0), np.zeros(0), np.zeros(0))
        line.expected.setData(np.zeros(0), np.zeros(0))
        spots = []
        for day, then in known:
            level, share = then.visit.radon.level, then.visit.radon.uncertainty
            if level is None:
                continue
            words = format_quantity(level, "radon", self._system)
            low, high = (level * (1.0 - (share or 0.0)), level * (1.0 + (share or 0.0)))
            if share is not None:
                bar = line.chart.add_curve(LineStyle(self._ink("text"), 1.5), z=2.0)
                bar.setData(np.array([day, day], dtype=float), np.array([low, high]))
                line.bars.append(bar)
            spots.append(self._spot(day, level, "d", "text", (then.visit, words)))
            line.values.append((float(day), low, high, words))
        line.marks.setData(spots)
        self._range(line, across, [high for _, _, high, _ in line.values], labeled)

    def _written(self, each: Expected, dimension: Dimension) -> str:
        turned = self._system.minus_is_suction and each.item.sign > 0.0
        return format_quantity(as_read(each.read, self._system) if turned else each.read, dimension, self._system)

    def _spot(self, day: float, value: float, symbol: str, role: str, data: tuple[Visit, str]) -> dict[str, Any]:
        brush, edge = QBrush(QColor(self._ink(role))), QPen(self._theme.colour("panel"), 1)
        # else it is scaled with the mark
        edge.setCosmetic(True)
        return {"pos": (float(day), value), "symbol": symbol, "size": 12, "brush": brush, "pen": edge, "data": data}

    def _range(self, line: _Line, across: tuple[float, float], tops: Sequence[float], labeled: bool) -> None:
        top = max((float(v) for v in tops), default=1.0)
        least = min((low for _, low, _, _ in line.values), default=0.0)
        line.chart.show_range(*across, _OVER * min(least, 0.0), _OVER * max(top, 1e-3))
        half = 0.5 * sum(line.chart.home()[2:])
        for number, (day, low, high, words) in enumerate(line.values if labeled else ()):
            # where there is more room, and at either end inwards; beside a mark off its band, and beside its own bar
            above = 0.5 * (low + high) < half
            side = 0.25 if number == 0 else 0.75 if number == len(line.values) - 1 else 0.5
            anchor = (side, 1.25 if above else -0.25)
            if day in line.outside or line.key == "radon":
                # the lower it stands the more it rises, so that it stays on the sheet
                rise = 1.0 - min(max(0.25 * (low + high) / max(half, 1e-9), 0.0), 1.0)
                anchor = (-0.15 if day < 0.5 * sum(across) else 1.15, rise)
            text = ChartText(words, color=self._ink("text"), anchor=anchor)
            text.setFont(font_of(Role.SMALL_STRONG))
            text.setPos(day, high if above else low)
            text.setZValue(6.0)
            line.chart.add(text)
            line.texts.append(text)
        told = ", ".join(
            f"{then.visit.date} {words}"
            for then in self._found
            for day, _, _, words in line.values
            if (at := day_of(then.visit.date)) is not None and at.toordinal() == day
        )
        line.chart.setAccessibleDescription(told or "nothing read yet")

    def _clicked(self, _marks: object, points: Sequence[Any], *_: object) -> None:
        if len(points):
            visit, _ = points[0].data()
            self.picked.emit(visit)

    # --- pictures -----------------------------------------------------------------------------------------------

    @contextmanager
    def picture(self) -> Iterator[list[QWidget]]:
        """The parts of a picture that stands by itself: what it shows, then the charts, on a light ground."""
        copy = TimeLine()
        copy.setAttribute(Qt.WidgetAttribute.WA_DontShowOnScreen)
        copy.resize(_SIZE)
        copy.set_system(self._system)
        copy.apply_theme(LIGHT)
        if self._design is not None:
            copy.show_found(self._design, self._found)
        copy.show()
        # the axes take their size at the first painting and stand right at the second
        for _ in range(2):
            copy.grab()
        caption = Caption(self.captions(), copy.lines["gauge"].chart.viewport().width())
        yield [caption, *(line.chart for line in copy.lines.values())]
        copy.hide()
        for made in (caption, copy):
            made.deleteLater()

    def captions(self) -> list[str]:
        """What stands over the picture."""
        if self._design is None:
            return []
        words = [self._design.title, "Gauge, weakest test hole and radon of each visit; band: predicted, 90 %"]
        return [*words, INVENTED] if self._design.invented else words

    def copy_picture(self) -> None:
        """Put the charts on the clipboard."""
        from workbench.gui.kit import pictures

        with self.picture() as parts:
            pictures.copy(parts)

    def ask_save(self) -> None:
        """Ask where to save the charts."""
        chosen, _ = QFileDialog.getSaveFileName(self, "Export image", "visits.svg", _PICTURES)
        if chosen:
            self.save(Path(chosen))

    def save(self, path: Path) -> None:
        """Save the charts as an image by the ending of its name."""
        from workbench.gui.kit import pictures

        try:
            with self.picture() as parts:
                pictures.save(parts, path)
        except (OSError, ValueError) as refusal:
            reason = refusal.strerror if isinstance(refusal, OSError) else str(refusal)
            self.told.emit(sentence(f"{path.name} was not saved: {reason}"))
