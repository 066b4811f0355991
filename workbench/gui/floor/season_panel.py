"""Passed in June: will it pass in January? Each hole over the outdoor temperature, and through the hours of a year."""

from __future__ import annotations

from calendar import month_abbr, month_name
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from msgspec import Struct
from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QFileDialog, QHBoxLayout, QSizePolicy, QWidget

from workbench.design.design import Design
from workbench.design.faults import Fault
from workbench.design.house import Place
from workbench.files.answer_text import verdict_in_full
from workbench.gui.kit.chart_items import ChartText, Curve, UprightLine
from workbench.gui.kit.forms import RecordForm, column, heading, paragraph, small_button
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.plotting import Chart
from workbench.gui.kit.theme import LIGHT, SHAPES, LineStyle, Theme
from workbench.gui.kit.tips import plain_tip
from workbench.gui.kit.type_scale import Role, font_of, line_of
from workbench.gui.shell.track import spread
from workbench.solving.outcome import Outcome
from workbench.solving.report.year_round import Turning, YearHeld, turning, year_held
from workbench.solving.run.prepare import Prepared
from workbench.units import SI, System, format_quantity

_MARGIN = 3.0
_TARGET = (4.0, 3.0)
_EXHAUSTS = (5.0, 3.0)
_NAME_MOST = 84.0
"""Pixels for the longest name beside its line."""
_CLOSE = 0.6
"""Share of the chart's width within which the names of two days would overlap."""
_NAME_SHARE = 0.08
"""Of the chart's height, that a name takes."""


class SeasonAnswer(Struct, frozen=True, eq=False):
    """What the season does at one speed: the curves, two days to compare, and the year by the hour if it is known.

    `warm` and `cold` are a title and an outdoor temperature [K] each; `year` is quiet and with every exhaust on.
    """

    turned: Turning
    warm: tuple[str, float]
    cold: tuple[str, float]
    year: tuple[YearHeld, YearHeld] | None


def season_answer(prepared: Prepared, speed: float) -> SeasonAnswer | None:
    """What the season does to the holes at a speed; None without holes or without an answer."""
    design, hours = prepared.design, prepared.hours
    coldest, today = design.worst_day.outdoor_temperature, design.place.outdoor_temperature
    warm, cold = ("the day of the test", today), ("the coldest day", coldest)
    ends = [coldest, today, design.place.indoor_temperature]
    if hours is not None:
        means = np.bincount(hours.month - 1, weights=hours.temperature, minlength=12) / np.bincount(
            hours.month - 1, minlength=12
        )
        hot, chill = int(np.argmax(means)), int(np.argmin(means))
        warm, cold = (month_name[hot + 1], float(means[hot])), (month_name[chill + 1], float(means[chill]))
        ends += [float(hours.temperature.min()), float(hours.temperature.max())]
    turned = turning(prepared, speed, min(ends) - _MARGIN, max(ends) + _MARGIN)
    if turned is None or not np.any(~np.isnan(turned.quiet)):
        return None
    year = None
    if hours is not None:
        target = design.target.suction
        year = (
            year_held(turned, hours.temperature, hours.month, target, exhausts=False),
            year_held(turned, hours.temperature, hours.month, target, exhausts=True),
        )
    return SeasonAnswer(turned, warm, cold, year)


def verdict_sentence(prepared: Prepared, answer: SeasonAnswer, outcome: Outcome, system: System) -> str:
    """Passed in June: will it pass in January? For the hole that is weakest in the cold, and then for all of them."""
    holding, target = outcome.holding, prepared.design.target.suction
    cold = answer.turned.at(answer.cold[1], exhausts=True)
    warm = answer.turned.at(answer.warm[1], exhausts=False)
    if answer.year is None and holding is not None:
        # the coldest day with every exhaust on is the worst day, whose figures stand everywhere
        cold = np.array([hole.worst for hole in holding.holes])
    h = int(np.nanargmin(cold))
    name, within = prepared.design.holes[h].name, "on" if answer.year is None else "in"

    def write(value: float) -> str:
        return format_quantity(value, "hole_pressure", system)

    def day(what: tuple[str, float]) -> str:
        return f"{what[0]} ({format_quantity(what[1], 'temperature', system)})"

    spare = float(cold[h]) - target
    said = (
        f"At {name}, {write(float(warm[h]))} {within} {day(answer.warm)} falls to {write(float(cold[h]))} {within} "
        f"{day(answer.cold)} with every exhaust on: on the best estimate "
        f"{write(abs(spare))} {'above' if spare >= 0.0 else 'below'} the {write(target)} target."
    )
    if holding is None:
        return said
    return f"{said} All holes on the worst day: {SHAPES[holding.verdict]} {verdict_in_full(holding)}."


class MonthStrip(Guarded, QWidget):
    """Share of the hours of each month in which every hole holds: a column a month, quiet beside exhausts."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._year: tuple[YearHeld, YearHeld] | None = None
        self._measured = True
        self._theme = LIGHT
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("Share of hours that meet the target in each month, best estimate")

    def sizeHint(self) -> QSize:
        return QSize(360, round(44 + 2.4 * line_of(Role.SMALL)))

    def show_year(self, year: tuple[YearHeld, YearHeld] | None, *, measured: bool) -> None:
        """Show a year, quiet and with exhausts; `measured` tells whether every hole was read."""
        self._year, self._measured = year, measured
        if year is not None:
            each = ", ".join(f"{month_abbr[m + 1]} {100 * year[1].months[m]:.0f} %" for m in range(12))
            self.setAccessibleDescription(f"With every exhaust on: {each}.")
            self.setToolTip(plain_tip(f"With every exhaust on all the time: {each}."))
        self.update()

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self._theme = theme
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        if self._year is None:
            return
        painter, theme = QPainter(self), self._theme
        painter.setFont(font_of(Role.SMALL))
        line = line_of(Role.SMALL)
        high = self.height() - 2.3 * line
        each = self.width() / 12
        for m in range(12):
            left = m * each
            for part, held in enumerate(self._year):
                share = float(held.months[m])
                box = QRectF(left + 3 + part * (each - 6) / 2, line + 1, (each - 6) / 2 - 1, high)
                full = share >= 0.9995
                painter.setPen(QPen(theme.colour("rule"), 1))
                painter.setBrush(Qt.BrushStyle.NoBrush)
                painter.drawRect(box)
                filled = box.adjusted(0.5, (1.0 - share) * high, 0.0, 0.0)
                colour = theme.colour("good" if full else "unsure" if share >= 0.5 else "bad")
                if not self._measured:
                    colour = theme.colour("unread")
                pattern = Qt.BrushStyle.SolidPattern if part == 0 else Qt.BrushStyle.Dense4Pattern
                brush = painter.brush()
                brush.setStyle(pattern)
                brush.setColor(colour)
                painter.fillRect(filled, brush)
            painter.setPen(theme.colour("muted"))
            below = QRectF(left, line + 3 + high, each, line)
            painter.drawText(below, int(Qt.AlignmentFlag.AlignHCenter), month_abbr[m + 1])
            worst = min(float(self._year[0].months[m]), float(self._year[1].months[m]))
            painter.setPen(theme.colour("text"))
            # a month that lacks a few hours must not read as whole
            shown = "100" if worst >= 1.0 else f"{min(np.floor(100 * worst), 99):.0f}"
            painter.drawText(QRectF(left, 0, each, line), int(Qt.AlignmentFlag.AlignHCenter), shown)
        painter.end()


class SeasonPanel(QWidget):
    """Suction over outdoor temperature, and the year by the hour when a weather file is given."""

    proposed = Signal(object, str)
    picked = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._system: System = SI
        self._theme = LIGHT
        self._ask: tuple[Prepared, Outcome] | None = None
        self.answer: SeasonAnswer | None = None
        self.sentence = paragraph()
        self.sentence.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.chart = Chart(
            "Suction at each hole over outdoor temperature",
            ("Outdoor air", "temperature"),
            ("Suction", "hole_pressure"),
        )
        self.chart.setFixedHeight(230)
        self._curves: list[tuple[Curve, Curve, ChartText]] = []
        self._target = self.chart.add_curve(LineStyle(LIGHT.text, 1.0, _TARGET), z=5.0)
        self._days = [UprightLine(angle=90, movable=False) for _ in range(2)]
        self._day_names = [ChartText(anchor=(0.5, 0.0)) for _ in range(2)]
        for line, name in zip(self._days, self._day_names, strict=True):
            self.chart.add(line)
            self.chart.add(name)
        self.key = paragraph("Solid: no exhaust running. Dashed: every exhaust on. Dotted: target.")
        self.strip = MonthStrip()
        self.strip_title = heading("Hours in which every hole meets the target, best estimate, %")
        self.hours = paragraph()
        self.weather = RecordForm(Place, ("weather",), SI)
        self.browse = small_button("Choose…", "Choose a weather file (EPW)")
        self.weather_words = paragraph()
        self._compose()
        self.weather.proposed.connect(self.proposed)
        self.browse.clicked.connect(self._browse)

    def _compose(self) -> None:
        layout = column(self)
        layout.addWidget(self.sentence)
        layout.addWidget(self.chart)
        layout.addWidget(self.key)
        layout.addWidget(self.strip_title)
        layout.addWidget(self.strip)
        layout.addWidget(self.hours)
        layout.addWidget(heading("Hourly weather"))
        row = QHBoxLayout()
        row.setSpacing(6)
        row.addWidget(self.weather, 1)
        row.addWidget(self.browse, 0, Qt.AlignmentFlag.AlignTop)
        layout.addLayout(row)
        layout.addWidget(self.weather_words)
        layout.addStretch(1)

    # --- the protocol of views ------------------------------------------------------------------------------------

    def show_design(self, design: Design) -> None:
        """Show the weather file; the rest follows with the answer."""
        self.weather.show_record(("place",), design.place, "")

    def show_outcome(self, prepared: Prepared, outcome: Outcome) -> None:
        """Reckon anew for an answer at rest; until it comes, grey what stands."""
        if outcome.rested:
            self._recompute(prepared, outcome)
        else:
            self._set_stale(True)

    def set_system(self, system: System) -> None:
        """Show other units."""
        self._system = system
        self.chart.set_system(system)
        self.weather.set_system(system)
        self._tell()

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self._theme = theme
        self.chart.apply_theme(theme)
        self.strip.apply_theme(theme)
        self._restyle()

    def set_stale(self, stale: bool) -> None:
        """Grey the answers of an earlier design; the next at rest takes their place."""
        if stale:
            self._set_stale(True)

    def show_faults(self, faults: Sequence[Fault]) -> list[Fault]:
        """Put each sentence beside its field."""
        self.weather.show_faults(faults)
        return []

    def pick(self, address: object) -> None:
        """Nothing here is picked."""

    # --- the season -----------------------------------------------------------------------------------------------

    def stale(self) -> bool:
        """Whether what stands is for another speed or design."""
        return not self.sentence.isEnabled()

    def _set_stale(self, stale: bool) -> None:
        if self.sentence.isEnabled() == stale:
            self.sentence.setEnabled(not stale)
            self.hours.setEnabled(not stale)
            self._restyle()

    def _recompute(self, prepared: Prepared, outcome: Outcome) -> None:
        self._ask = (prepared, outcome)
        self.answer = season_answer(prepared, outcome.speed)
        self._draw()
        self._set_stale(False)
        self._tell()

    def _draw(self) -> None:
        answer, prepared = self.answer, self._ask[0] if self._ask else None
        names = [hole.name for hole in prepared.design.holes] if prepared is not None and answer is not None else []
        while len(self._curves) < len(names):
            z = float(len(self._curves))
            quiet_line = self.chart.add_curve(LineStyle(LIGHT.fan), z)
            name = ChartText(anchor=(0.0, 0.5))
            self.chart.add(name)
            self._curves.append((quiet_line, self.chart.add_curve(LineStyle(LIGHT.fan), z), name))
        for i, (one, other, name) in enumerate(self._curves):
            there = answer is not None and i < len(names) and not np.isnan(answer.turned.quiet[0, i])
            for item in (one, other, name):
                item.setVisible(there)
            if there and answer is not None:
                x = answer.turned.temperature
                one.setData(x, answer.turned.quiet[:, i])
                other.setData(x, answer.turned.exhausts[:, i])
        shown = answer is not None
        fixed: tuple[Any, ...] = (self._target, *self._days, *self._day_names)
        for line in fixed:
            line.setVisible(shown)
        if answer is not None and prepared is not None:
            self._place_lines(prepared, answer)
        self._restyle()

    def _place_lines(self, prepared: Prepared, answer: SeasonAnswer) -> None:
        x, target = answer.turned.temperature, prepared.design.target.suction
        both = np.concatenate([answer.turned.quiet, answer.turned.exhausts])
        highest, foot = float(np.nanmax(both)), float(np.nanmin(both))
        self._target.setData(np.array([x[0], x[-1]]), np.array([target, target]))
        # room for the names beyond the lines
        names = QFontMetricsF(font_of(Role.SMALL))
        pixels = min(max(names.horizontalAdvance(hole.name) for hole in prepared.design.holes), _NAME_MOST) + 8
        plot = max(self.chart.sheet.width(), 2.0 * pixels)
        room = pixels / (plot - pixels) * float(x[-1] - x[0])
        self.chart.show_range(float(x[0]), float(x[-1]) + room, min(foot, 0.0), 1.25 * max(highest, target, 1e-3))
        high = self.chart.home()[3]
        self._place_names(answer.turned, high)
        close = abs(answer.warm[1] - answer.cold[1]) < _CLOSE * (x[-1] - x[0])
        heights = (high, high - (_NAME_SHARE * high if close else 0.0))
        days = zip(self._days, self._day_names, (answer.warm, answer.cold), heights, strict=True)
        for line, name, (title, at), top in days:
            line.setValue(at)
            name.setText(title.removeprefix("the ").capitalize())
            name.setPos(at, top)
            near_left = at < x[0] + 0.2 * (x[-1] - x[0])
            near_right = at > x[-1] - 0.2 * (x[-1] - x[0])
            name.setAnchor((0.0 if near_left else 1.0 if near_right else 0.5, 0.0))

    def _place_names(self, turned: Turning, top: float) -> None:
        """Names at the right end of their lines, moved apart where lines run close."""
        known = [i for i in range(turned.quiet.shape[1]) if not np.isnan(turned.quiet[-1, i])]
        known.sort(key=lambda i: float(turned.quiet[-1, i]))
        height = _NAME_SHARE * top
        lows = spread([float(turned.quiet[-1, i]) for i in known], [height] * len(known), 0.0, top, 0.0)
        for i, low in zip(known, lows, strict=True):
            self._curves[i][2].setPos(turned.temperature[-1], low + height / 2)

    def _weakest(self) -> int:
        if self.answer is None:
            return -1
        held = self.answer.turned.exhausts
        lowest = np.where(np.isnan(held), np.inf, held).min(axis=0)
        # nothing is known of a hole that nobody read
        return int(np.argmin(lowest)) if np.isfinite(lowest).any() else -1

    def _restyle(self) -> None:
        theme, stale = self._theme, not self.sentence.isEnabled()
        weakest = self._weakest()
        metrics = QFontMetricsF(font_of(Role.SMALL))
        for i, (one, other, name) in enumerate(self._curves):
            colour = theme.ghost if stale else theme.fan if i == weakest else theme.faint[i % len(theme.faint)]
            width = 2.5 if i == weakest else 1.5
            one.restyle(LineStyle(colour, width))
            other.restyle(LineStyle(colour, width, _EXHAUSTS))
            holes = self._ask[0].design.holes if self._ask else ()
            words = holes[i].name if i < len(holes) else ""
            name.setFont(font_of(Role.SMALL))
            name.setText(metrics.elidedText(words, Qt.TextElideMode.ElideRight, _NAME_MOST), color=QColor(colour))
        self._target.restyle(LineStyle(theme.ghost if stale else theme.system, 1.5, (1.5, 2.5)))
        for line, name in zip(self._days, self._day_names, strict=True):
            name.setFont(font_of(Role.SMALL))
            line.setPen(QPen(theme.colour("edge"), 0))
            name.setColor(theme.colour("muted"))

    def _tell(self) -> None:
        (prepared, outcome), answer = self._ask or (None, None), self.answer
        year = answer.year if answer is not None else None
        for widget in (self.strip_title, self.strip, self.hours):
            widget.setVisible(year is not None)
        if prepared is None or answer is None or outcome is None:
            self.sentence.setText(
                "Passed in June: will it pass in January? Enter test-hole readings and select a fan to see this."
            )
            self.chart.setAccessibleDescription("")
        else:
            self.sentence.setText(verdict_sentence(prepared, answer, outcome, self._system))
            self.chart.setAccessibleDescription(self.sentence.text())
        read = prepared is not None and all(prepared.assembly.floor.borne_out)
        self.strip.show_year(year, measured=read)
        if year is not None and prepared is not None:
            below = [
                f"{hole.name} {quiet_hours:.0f} h, {loud_hours:.0f} h with every exhaust on"
                for hole, quiet_hours, loud_hours in zip(
                    prepared.design.holes, year[0].below, year[1].below, strict=True
                )
                if loud_hours > 0.0 or quiet_hours > 0.0
            ]
            told = (
                f"Hours below the target on the best estimate: {'; '.join(below)}."
                if below
                else "No hole is below the target in any hour on the best estimate."
            )
            self.hours.setText(f"Left bar: no exhaust running; right bar, dotted: every exhaust all year. {told}")
        self._tell_weather(prepared)

    def _tell_weather(self, prepared: Prepared | None) -> None:
        if prepared is None or not prepared.design.place.weather:
            self.weather_words.setText("With a local EPW weather file the year is calculated hour by hour.")
        elif prepared.hours is None:
            self.weather_words.setText("This weather file cannot be read; it is ignored.")
        else:
            self.weather_words.setText(f"{prepared.hours.place}: {prepared.hours.temperature.size} hours.")

    def _browse(self) -> None:
        chosen, _ = QFileDialog.getOpenFileName(self, "Choose a weather file", "", "EPW weather (*.epw);;All files (*)")
        if chosen:
            self.take_weather(Path(chosen))

    def take_weather(self, path: Path) -> None:
        """Propose a weather file for the design."""
        self.weather.field("weather").set_value(str(path))
        self.weather.field("weather").committed.emit(str(path))
