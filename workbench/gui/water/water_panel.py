"""Water in the pipe: how much forms where on which day, where it freezes, where it stands, and how fast the air is."""

from __future__ import annotations

import math
from calendar import month_name
from collections.abc import Sequence
from functools import partial

from msgspec import Struct
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter
from PySide6.QtWidgets import QLabel, QSizePolicy, QWidget

from workbench.design.catalogue import limits
from workbench.design.design import Design
from workbench.design.faults import Fault
from workbench.design.pipework import Run
from workbench.design.record import Address
from workbench.design.wording import sentence
from workbench.gui.kit.background import Background
from workbench.gui.kit.bars import MonthBars
from workbench.gui.kit.debounce import OnceAtRest
from workbench.gui.kit.fields import ChoiceEdit
from workbench.gui.kit.forms import GroupForm, RecordForm, add_row, column, form_grid, heading, paragraph
from workbench.gui.kit.pick_rows import PickRow, PickRows
from workbench.gui.kit.theme import Theme
from workbench.gui.kit.tips import plain_tip
from workbench.gui.kit.type_scale import Role, line_of, wear
from workbench.gui.water.water_strip import Stretch, WaterStrip
from workbench.solving.outcome import Outcome
from workbench.solving.run.prepare import Prepared
from workbench.solving.run.water import (
    LowPoint,
    RunWater,
    WaterAt,
    freezing_notice,
    low_points,
    monthly_means,
    waters_at,
)
from workbench.units import SI, System, format_quantity, to_display, unit_of

LEFT_OUT = (
    "Solid: air; dashed: the pipe's inner wall; heavy line: freezing. Fan heat is ignored; real air is slightly "
    "warmer and drier past the fan. Water runs back to the pit only where the pipe lets it."
)
_PATIENCE = 0.012
"""How long the water is waited for before the window goes on without it. [s]"""
_FIELDS = ("slope", "insulation", "surroundings")
_SURROUNDINGS = [("indoors", "Heated space"), ("unheated", "Unheated space"), ("outdoors", "Outdoors")]
_LEFT = int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
_RIGHT = int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)


class Days(Struct, frozen=True):
    """Water on the days that are looked at, by what each is called, and where it stands whatever the day."""

    names: tuple[str, ...]
    waters: tuple[WaterAt, ...]
    low: tuple[LowPoint, ...]


class WetRun(PickRow):
    """One run: water and temperatures, and what is wrong with it."""

    lines = 2.1

    def __init__(self) -> None:
        super().__init__()
        self._name = self._right = self._below = ""
        self._bad = False
        self._said: tuple[object, ...] = ()

    def show_run(self, name: str, water: RunWater | None, low: LowPoint | None) -> None:
        """Show a run; `low` says where water would stand in it."""
        right, below = "", ""
        if water is not None:
            wet = water.water > 5e-4
            right = f"{format_quantity(water.water, 'mass', self.system)} a day" if wet else "dry"
            leaving = format_quantity(water.leaving, "temperature", self.system)
            wall = format_quantity(water.coldest_wall, "temperature", self.system)
            below = f"outlet air {leaving}, coldest wall {wall}"
        troubles = []
        if water is not None and water.freezes:
            troubles.append("▲ water freezes here")
        if low is not None:
            troubles.append(f"▲ {low.reason}")
        # what is only read aloud counts as well
        said = (name, right, below, tuple(troubles))
        if said != self._said:
            self._said = said
            self._name, self._right = name, right
            self._below, self._bad = "; ".join(troubles) or below, bool(troubles)
            self.setAccessibleName(f"{name}: {right}. {below}. {' '.join(troubles)}")
            self.setToolTip(plain_tip(f"{name}\n{right}, {below}\n{'; '.join(troubles)}".strip()))
            self.update()

    def paint_row(self, painter: QPainter, room: QRectF) -> None:
        first, second = line_of(Role.STRONG), line_of(Role.SMALL)
        top = QRectF(room.left(), room.top(), room.width(), first)
        foot = QRectF(room.left(), room.bottom() - second, room.width(), second)
        painter.setFont(self.bold)
        painter.setPen(QColor(self.ink()))
        painter.drawText(top, _RIGHT, self._right)
        used = QFontMetricsF(self.bold).horizontalAdvance(self._right) + 10
        painter.setPen(QColor(self.theme.text))
        elide = Qt.TextElideMode.ElideRight
        painter.drawText(top, _LEFT, QFontMetricsF(self.bold).elidedText(self._name, elide, room.width() - used))
        painter.setFont(self.small)
        painter.setPen(QColor(self.ink("bad") if self._bad else self.theme.muted))
        painter.drawText(foot, _LEFT, QFontMetricsF(self.small).elidedText(self._below, elide, room.width()))


class WaterPanel(GroupForm):
    """Worked out beside the window when the hand rests; until then what stands is greyed."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._system: System = SI
        self._design: Design | None = None
        self._ask: tuple[Prepared, Outcome] | None = None
        self._done: tuple[Prepared, float] | None = None
        self._days: Days | None = None
        self._runs: list[tuple[Address, Run]] = []
        self._refused = ""
        self._stale = self._told_stale = False
        self.total = QLabel(textFormat=Qt.TextFormat.PlainText)
        self.freezing = paragraph()
        self.day = ChoiceEdit("Show")
        self.strip = WaterStrip()
        self.said = paragraph(LEFT_OUT)
        self.said.setObjectName("quiet")
        self.rows = PickRows(WetRun, "Runs of pipe")
        self.standing = paragraph()
        self.speed = paragraph()
        self.months_title = heading("")
        self.months = MonthBars("Condensate per day in each month", "", 2, ("air", "air"))
        self.title = heading("")
        self.form = RecordForm(Run, _FIELDS, SI, choices={"surroundings": _SURROUNDINGS})
        self._compose()
        self.add(self.form)
        self._rest = OnceAtRest(self._recompute, self)
        self._background = Background(self)
        self._background.answered.connect(self._take)
        self._background.failed.connect(self._refuse)
        self.day.committed.connect(lambda _name: self._write())
        self.rows.picked.connect(lambda _at: self._show_run())

    def _compose(self) -> None:
        layout = column(self)
        wear(self.total, Role.TILE)
        self.total.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        layout.addWidget(self.total)
        layout.addWidget(self.freezing)
        choice = QWidget()
        add_row(form_grid(choice), 0, self.day)
        self.day.set_name("Show which day")
        layout.addWidget(choice)
        for widget in (self.strip, self.said, self.rows, self.standing, self.speed, self.title, self.form):
            layout.addWidget(widget)
        layout.addWidget(self.months_title)
        layout.addWidget(self.months)
        layout.addStretch(1)

    # --- the protocol of views ------------------------------------------------------------------------------------

    def show_design(self, design: Design) -> None:
        """Show the runs of a design."""
        self._design = design
        self._runs = _with_the_air(design)
        at = max(self.rows.at(), 0)
        self.rows.set_count(len(self._runs))
        self.rows.pick(min(at, len(self._runs) - 1))
        self._show_run()

    def _show_run(self) -> None:
        at = self.rows.at()
        if not 0 <= at < len(self._runs):
            return
        address, run = self._runs[at]
        self.title.setText(run.name)
        self.form.show_record(address, run, run.name)
        self._write_strip()

    def show_outcome(self, prepared: Prepared, outcome: Outcome) -> None:
        """Grey what stands, and calculate anew when the hand rests."""
        self._ask = (prepared, outcome)
        self._background.drop()
        if self._done is not None and self._done[0] is prepared and self._done[1] == outcome.speed:
            self._rest.stop()
        else:
            self._rest.touch()
        self._grey()

    def settle(self) -> None:
        """Have what waits for the hand to rest, or is under way, now; stop until it is there."""
        if self._rest.pending() or self._background.busy():
            self._rest.stop()
            self._recompute(math.inf)

    def stale(self) -> bool:
        """Whether what stands is for another speed or design."""
        return self._stale

    def set_stale(self, stale: bool) -> None:
        """Grey what is the last good answer."""
        self._told_stale = stale
        self._grey()

    def _grey(self) -> None:
        stale = self._told_stale or self._rest.pending() or self._background.busy()
        if stale == self._stale:
            return
        self._stale = stale
        for widget in (self.total, self.freezing, self.standing, self.speed):
            widget.setEnabled(not stale)
        self.strip.set_stale(stale)
        self.rows.set_stale(stale)
        self.months.set_stale(stale)

    def _recompute(self, patience: float = _PATIENCE) -> None:
        if self._ask is None:
            return
        try:
            found = self._background.ask(partial(_days, *self._ask), patience)
        except (ValueError, ArithmeticError) as refusal:
            self._refuse(str(refusal))
        else:
            if found is None:
                self._grey()
            else:
                self._take(found.value)

    def _take(self, days: Days) -> None:
        self._show_days(days, "")

    def _refuse(self, words: str) -> None:
        self._show_days(None, sentence(words))

    def _show_days(self, days: Days | None, refused: str) -> None:
        if self._ask is None:
            return
        prepared, outcome = self._ask
        self._done = (prepared, outcome.speed)
        self._days, self._refused = days, refused
        self._grey()
        self._offer()
        self._write()

    def _offer(self) -> None:
        if self._days is None:
            return
        shown = [
            (name, f"{name}, {self._say(water.outdoor, 'temperature')} outdoors")
            for name, water in zip(self._days.names, self._days.waters, strict=True)
        ]
        self.day.set_choices(shown)

    def _low(self) -> tuple[LowPoint, ...]:
        return self._days.low if self._days is not None else ()

    def _shown(self) -> WaterAt | None:
        if self._days is None or not self._days.waters:
            return None
        names = self._days.names
        return self._days.waters[names.index(self.day.value()) if self.day.value() in names else 0]

    def _say(self, value: float, dimension: str) -> str:
        return format_quantity(value, dimension, self._system)  # type: ignore[arg-type]

    def _write(self) -> None:
        if self._ask is None:
            return
        outcome = self._ask[1]
        shown = self._shown()
        found = {run.address: run for run in shown.runs} if shown is not None else {}
        low = {point.address: point for point in self._low()}
        for row, (address, run) in zip(self.rows.rows, self._runs, strict=True):
            assert isinstance(row, WetRun)
            row.show_run(run.name, found.get(address), low.get(address))
        if shown is None:
            why = "Condensate cannot be calculated." if self._refused else ""
            self.total.setText(why or "No operating point: condensate cannot be calculated.")
            self.freezing.setText(self._refused)
        else:
            self.total.setText(f"{self._say(shown.total, 'mass')} of condensate per day")
            self.freezing.setText(self._freezing_words(shown))
        self.standing.setText(self._standing_words())
        self.speed.setText(self._speed_words(outcome))
        monthly = self._days is not None and len(self._days.waters) > 12
        self.months_title.setVisible(monthly)
        self.months.setVisible(monthly)
        if self._days is not None and monthly:
            unit = unit_of("mass", self._system).label
            self.months_title.setText(f"Condensate per day, by the month's mean temperature, {unit}")
            amounts = (to_display(water.total, "mass", self._system) for water in self._days.waters[-12:])
            self.months.show_months(tuple((amount, 0.0) for amount in amounts))
        self._write_strip()

    def _freezing_words(self, shown: WaterAt) -> str:
        notice = freezing_notice(shown)
        if notice is not None:
            return f"▲ {notice.text(self._say)} Icing risk rises as flow drops."
        frozen = [
            name for name, water in zip(self._days.names, self._days.waters, strict=True) if water.freezes
        ] if self._days else []  # fmt: skip
        if frozen:
            return f"● No freezing on the day shown; freezing in: {', '.join(frozen)}."
        return "● No freezing, even on the coldest design day."

    def _standing_words(self) -> str:
        if self._days is None:
            return ""
        if not self._low():
            return "● With the slopes entered there are no low points: condensate drains back to the pit or out."
        each = "; ".join(f"{point.name}: {point.reason}" for point in self._low())
        return f"▲ Low point: water would collect. {each[:1].upper()}{each[1:]}."

    def _speed_words(self, outcome: Outcome) -> str:
        if not outcome.runs or self._design is None:
            return ""
        fastest = max(outcome.runs, key=lambda run: run.velocity)
        last = ("discharge", len(self._design.discharge) - 1)
        out = next((run for run in outcome.runs if run.address == last), fastest)
        words = []
        for what, run, limit in (
            ("Highest velocity", fastest, limits()["velocity_condensate"]),
            ("At the outlet", out, limits()["velocity_rush"]),
        ):
            mark, stands = ("●", "under") if run.velocity <= limit.value else ("▲", "over")
            words.append(
                f"{mark} {what} {self._say(run.velocity, 'velocity')} in {run.name}, {stands} "
                f"{self._say(limit.value, 'velocity')} ({limit.source} {limit.edition}, {limit.kind}): {limit.text}."
            )
        return "\n".join(words)

    def _write_strip(self) -> None:
        shown, prepared = self._shown(), self._ask[0] if self._ask is not None else None
        if shown is None or prepared is None or not 0 <= self.rows.at() < len(self._runs):
            self.strip.show_way((), 273.15)
            return
        picked = self._runs[self.rows.at()][0]
        self.strip.show_way(_way(prepared, shown, picked), shown.outdoor)

    def set_system(self, system: System) -> None:
        """Show other units."""
        self._system = system
        super().set_system(system)
        self.rows.set_system(system)
        self.strip.set_system(system)
        self._offer()
        self._write()

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        for widget in (self.rows, self.strip, self.months):
            widget.apply_theme(theme)

    def show_faults(self, faults: Sequence[Fault]) -> list[Fault]:
        """Put each sentence beside its field, and grey the last good answers."""
        self.set_stale(bool(faults))
        return super().show_faults(faults)

    def pick(self, address: Address) -> None:
        """Bring a run into sight."""
        for at, (other, _) in enumerate(self._runs):
            if address[: len(other)] == other:
                self.rows.pick(at)
                self._show_run()


def _with_the_air(design: Design) -> list[tuple[Address, Run]]:
    """Every run with its address, those nearer a pit before those they feed."""
    inwards = sorted(design.legs(), key=lambda leg: -len(leg[0]))
    runs: list[tuple[Address, Run]] = [
        ((*address, "runs", i), run) for address, leg in inwards for i, run in enumerate(leg.runs)
    ]
    return [*runs, *((("discharge", i), run) for i, run in enumerate(design.discharge))]


def _days(prepared: Prepared, outcome: Outcome) -> Days:
    """The coldest design day, the day of the readings and, with weather, every month."""
    design = prepared.design
    names = ["Coldest design day", "Day of the readings"]
    outdoors = [design.worst_day.outdoor_temperature, design.place.outdoor_temperature]
    if prepared.hours is not None:
        names += list(month_name)[1:]
        outdoors += [float(mean) for mean in monthly_means(prepared.hours)]
    waters = waters_at(prepared, outcome, outdoors, design.place.wind)
    return Days(tuple(names) if waters else (), waters, low_points(prepared))


def _way(prepared: Prepared, shown: WaterAt, picked: Address) -> tuple[Stretch, ...]:
    """The runs from a pit to the outlet on the first way that passes the picked run."""
    runs, upstream = prepared.assembly.runs, prepared.assembly.network.upstream
    at = next((i for i, (address, _) in enumerate(runs) if address == picked), 0)
    point = int(upstream[at].argmax())
    found = {run.address: run for run in shown.runs}
    return tuple(
        Stretch(run.length, run.surroundings, found[address])
        for i, (address, run) in enumerate(runs)
        if upstream[i, point] > 0.0 and address in found
    )
