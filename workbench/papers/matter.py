"""What a paper is made from, and the words that several papers share."""

from __future__ import annotations

import math
from datetime import date
from functools import cached_property
from typing import TYPE_CHECKING, cast

from workbench.design.catalogue import cautions
from workbench.files.answer_text import verdict_in_full, writer
from workbench.papers.aim import Aim, aim_of
from workbench.papers.blocks import Block, Cell, Figure, Maker, Paper, Table, Verdict
from workbench.papers.letters import shortened
from workbench.papers.sketch import FAINT, Sketch
from workbench.solving.outcome import HoleState, Outcome
from workbench.solving.outcome import Verdict as VerdictKey
from workbench.solving.report.verdict_words import unmeasured_words
from workbench.solving.run.prepare import Prepared
from workbench.units import Dimension, System, format_entry, format_quantity, to_display, unit_of

if TYPE_CHECKING:
    from workbench.solving.choices.search import Choices

MARKS: dict[VerdictKey, str] = {"holds": "●", "fails": "▲", "unsure": "◆", "not measured": "▢"}
"""The shape of each verdict, so that it is told without color; the window has the same."""
NBSP = "\N{NO-BREAK SPACE}"
NOT_ENTERED = "not entered"
HOLE: Dimension = "hole_pressure"
NOT_PROOF = (
    "A prediction is not proof: only a radon test after the work shows the result. Local code and the license prevail."
)
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


class Matter:
    """An answer of a design, the units of the reader, who makes the papers and on which day."""

    def __init__(
        self,
        prepared: Prepared,
        outcome: Outcome,
        system: System,
        *,
        maker: Maker | None = None,
        day: date | None = None,
        found: Choices | None = None,
    ) -> None:
        self.prepared, self.outcome, self.system = prepared, outcome, system
        self.design = prepared.design
        self.maker = Maker() if maker is None else maker
        self.day = date.today() if day is None else day
        self.found = found
        self._write = writer(system)
        self._answers: dict[float, Outcome] = {outcome.speed: outcome}

    # --- numbers in words

    def write(self, value: float, dimension: str) -> str:
        """A value with its unit, as the window writes it; the two never part."""
        return "–" if math.isnan(value) else self._write(value, dimension).replace(" ", NBSP)

    def bare(self, value: float, dimension: Dimension) -> str:
        """The same without its unit."""
        return "–" if math.isnan(value) else format_quantity(value, dimension, self.system, with_unit=False)

    def band(self, band: tuple[float, float], dimension: Dimension, *, unit: bool = False) -> str:
        """From low to high."""
        if any(map(math.isnan, band)):
            return "no band"
        low, high = band
        last = self.write(high, dimension) if unit else self.bare(high, dimension)
        return f"{self.bare(low, dimension)} to {last}"

    def unit(self, dimension: Dimension) -> str:
        """The unit's label."""
        return unit_of(dimension, self.system).label

    def cell(self, value: float, dimension: Dimension, *, bold: bool = False, small: str = "") -> Cell:
        """A cell with a number and no unit."""
        known = math.isfinite(value)
        number = float(to_display(value, dimension, self.system)) if known else None
        return Cell(self.bare(value, dimension), bold, small, number)

    def speed(self, speed: float) -> str:
        """A speed of the fan, which is a name for a setting and stands on no control."""
        return format_entry(round(speed, 3), "speed", self.system, with_unit=True).replace(" ", NBSP)

    # --- answers

    @cached_property
    def aim(self) -> Aim:
        """What may be told of dialing back."""
        return aim_of(self.prepared, self.outcome)

    def at(self, speed: float) -> Outcome:
        """The answer at another speed, by every sample; kept."""
        if speed not in self._answers:
            self._answers[speed] = self.prepared.rested(speed)
        return self._answers[speed]

    @cached_property
    def holes(self) -> tuple[HoleState, ...]:
        """The holes, the weakest on the worst day first, those of which nothing is known last."""
        held = self.outcome.holding
        states = () if held is None else held.holes
        return tuple(sorted(states, key=lambda h: h.worst if h.known else math.inf))

    @cached_property
    def lacking(self) -> tuple[str, ...]:
        """What the verdict rests on that nobody measured, in words."""
        from workbench.solving.report.answer import unmeasured

        return tuple(unmeasured_words(each) for each in unmeasured(self.prepared, self.outcome))

    @cached_property
    def lacking_briefly(self) -> str:
        """The same with holes counted where they are many."""
        from workbench.solving.report.answer import unmeasured

        found = unmeasured(self.prepared, self.outcome)
        holes = [each for each in found if each.kind == "hole"]
        words = [unmeasured_words(each) for each in found if each.kind != "hole" or len(holes) < 3]
        return ", ".join([*([f"{len(holes)} test holes"] if len(holes) > 2 else []), *words])

    @property
    def why_none(self) -> str:
        """Why there is no operating point, empty where there is one."""
        if self.outcome.operating is not None:
            return ""
        if self.design.chosen_fan is None:
            return "No fan is selected."
        notices = self.outcome.notices
        return notices[0].text(self.write) if notices else "The fan and the system have no operating point."

    def rule(self, key: str, otherwise: float) -> float:
        """The strictest upper limit that the design's rule sheet sets a subject, in SI."""
        sheet = self.design.rules
        limits = [rule for rule in (sheet.rules if sheet is not None else ()) if rule.key == key]
        return min((float(rule.value) for rule in limits if rule.comparison == "at most"), default=otherwise)

    # --- parts of papers

    def paper(
        self,
        key: str,
        title: str,
        subtitle: str,
        blocks: list[Block],
        footer: str = NOT_PROOF,
        size: float = 10.0,
        sheets: tuple[Table, ...] = (),
    ) -> Paper:
        """A paper of this matter."""
        day = self.design.job.date.strip() or f"{_MONTHS[self.day.month - 1]}{NBSP}{self.day.day}, {self.day.year}"
        maker = self.maker
        if not maker.name and self.design.job.made_by:
            maker = Maker(self.design.job.made_by, maker.license, maker.logo, maker.logo_kind)
        made = tuple(blocks)
        return Paper(key, title, subtitle, day, maker, made, footer, self.design.invented, size, sheets=sheets)

    def fan_words(self) -> str:
        """Name of the fan, or that none is selected."""
        return self.design.fan or "no fan selected"

    def verdict(self, room: float = math.inf) -> Verdict:
        """The verdict with what it rests on, beside its band against the target; names within a `room`. [pt]"""
        holding, verdict = self.outcome.holding, self.outcome.verdict
        if self.why_none:
            return Verdict(MARKS["not measured"], "No operating point", self.why_none)
        if not self.design.holes:
            return Verdict(MARKS[verdict], "Not measured: no test hole", "No verdict rests on a pit alone.")
        if holding is None:
            return Verdict(MARKS[verdict], "Not measured: no answer for the worst day", "")
        words = verdict_in_full(holding).replace(" %", f"{NBSP}%")
        title = f"{words[:1].upper()}{words[1:]}"
        weakest = next((hole for hole in holding.holes if hole.name == holding.weakest), None)
        if weakest is None:
            return Verdict(MARKS[verdict], title, "At no test hole was anything read.")
        low_high = "" if math.isnan(weakest.worst_band[0]) else f" ({self.band(weakest.worst_band, HOLE)})"
        head = "Weakest" if weakest.measured else "Weakest by the estimate"
        name = shortened(weakest.name, 10.0, room)
        text = f"{head}: {name}, {self.write(weakest.worst, HOLE)} on the worst day{low_high}"
        if verdict == "not measured" and self.lacking:
            text += f". Not measured: {shortened(self.lacking_briefly, 10.0, 3.0 * room)}"
        return Verdict(MARKS[verdict], title, text, self._target_bar(weakest, holding.target, MARKS[verdict]))

    def _target_bar(self, hole: HoleState, target: float, mark: str) -> Figure | None:
        low, high = hole.worst_band
        if math.isnan(low):
            return None
        ends = [low, high, hole.worst, target, 0.0]
        least, most = min(ends), max(ends)
        spread = (most - least) or 1.0

        def x(value: float) -> float:
            return 22.0 + 104.0 * (value - least) / spread

        # words that would run into one another stand on two lines
        near = abs(x(target) - x(hole.worst)) < 46.0
        sketch = Sketch(150.0, 44.0 if near else 34.0)

        sketch.line((8.0, 14.0), (142.0, 14.0), 0.7)
        sketch.rect(x(low), 9.0, max(x(high) - x(low), 1.0), 10.0, 0.7, fill="#E2E4E2")
        sketch.line((x(target), 5.0), (x(target), 23.0), 2.0)
        sketch.mark((x(hole.worst), 14.0), mark, 4.6)
        sketch.text((x(target), 31.0), f"target {self.bare(target, HOLE)}", 7.5, anchor="middle")
        at = (x(hole.worst), 39.0 if near else 31.0)
        sketch.text(at, self.write(hole.worst, HOLE), 7.5, bold=True, anchor="middle")
        words = (
            f"{self.write(hole.worst, HOLE)}, band {self.band(hole.worst_band, HOLE)}, target {self.bare(target, HOLE)}"
        )
        return sketch.figure(words)

    def title_line(self) -> str:
        """The design's title."""
        return self.design.title


def cautions_for(*names: str) -> tuple[str, ...]:
    """Lines of the catalogue of cautions."""
    return tuple(cautions()[name].text for name in names)


def ended(text: str) -> str:
    """A text with a full stop, unless that of a unit stands there."""
    return text if text.endswith(".") else f"{text}."


def round_step(value: float) -> float:
    """The next of 1, 2, 5 and their tens, at or above a positive value."""
    decade = 10.0 ** math.floor(math.log10(max(value, 1e-12)))
    return next(step * decade for step in (1.0, 2.0, 5.0, 10.0) if step * decade >= value * (1 - 1e-9))


def gauge_scale(
    m: Matter,
    top: float,
    marks: list[tuple[float, str, str]],
    band: tuple[float, float] | None,
    *,
    aim: float | None,
    height: float = 178.0,
    heavy_size: float = 12.0,
) -> Figure:
    """A gauge's scale with readings marked beside it; `marks` are suctions [Pa] with their words, main one and second.

    `aim` is drawn heavy, `band` shaded. Words are moved apart where they would meet.
    """
    unit = unit_of("pressure", m.system)
    shown = top / unit.factor
    step = round_step(shown / 5.0)
    count = math.ceil(shown / step - 1e-9)
    left, wide = 34.0, 19.0
    sketch = Sketch(232.0, height + 16.0)

    def y(suction: float) -> float:
        return 6.0 + height * (1.0 - suction / unit.factor / (count * step))

    if band is not None:
        sketch.rect(left, y(band[1]), wide, y(band[0]) - y(band[1]), 0.0, fill="#DCEAF3")
    for i in range(count * 4 + 1):
        at = y(i * step / 4.0 * unit.factor)
        major = i % 4 == 0
        sketch.line((left - (7.0 if major else 4.0), at), (left, at), 1.0 if major else 0.6)
        if major:
            decimals = max(0, -math.floor(math.log10(step) + 1e-9))
            sketch.text((left - 9.0, at + 3.2), f"{i * step / 4.0:.{decimals}f}", 9.0, anchor="end")
    sketch.rect(left, 6.0, wide, height, 1.4)
    placed: list[tuple[float, float, str, str, bool]] = []
    for suction, words, second in sorted(marks, key=lambda mark: -mark[0]):
        heavy = aim is not None and math.isclose(suction, aim)
        placed.append((suction, y(suction), words, second, heavy))
    tops = _apart(
        [p[1] for p in placed],
        [(25.0 if p[3] else 15.0) + (0.5 * heavy_size - 3.0 if p[4] else 0.0) for p in placed],
        height + 10,
    )
    for (_, at, words, second, heavy), wanted in zip(placed, tops, strict=True):
        sketch.line((left, at), (left + wide, at), 2.6 if heavy else 1.0)
        bend = left + wide + 9.0
        sketch.path(((left + wide, at), (bend, wanted), (bend + 7.0, wanted)), 1.6 if heavy else 0.8)
        sketch.text((bend + 11.0, wanted + 3.8), words, heavy_size if heavy else 10.0, bold=heavy)
        if second:
            lower = wanted + 14.5 + (0.2 * (heavy_size - 12.0) if heavy else 0.0)
            sketch.text((bend + 11.0, lower), shortened(second, 8.5, sketch.width - bend - 12.0), 8.5)
    said = "; ".join(f"{words} {second}".strip() for _, words, second in marks)
    return sketch.figure(f"Scale of the system gauge in {unit.label}: {said}")


def _apart(wanted: list[float], heights: list[float], bottom: float) -> list[float]:
    """Places from above down, as near to those wanted as keeps them from meeting and above the bottom."""
    found: list[float] = []
    for at, _ in zip(wanted, heights, strict=True):
        least = found[-1] + heights[len(found) - 1] if found else 6.0
        found.append(max(at, least))
    limit = bottom
    for i in range(len(found) - 1, -1, -1):
        limit = min(limit, found[i] + heights[i]) if i == len(found) - 1 else limit
        found[i] = min(found[i], max(limit - heights[i], 6.0))
        limit = found[i]
    return found


def hand_lines(sketch: Sketch, width: float, height: float, step: float, heavy: int) -> None:
    """Squares to draw in, every so many lines a heavier one."""
    for i in range(round(width / step) + 1):
        sketch.line(
            (i * step, 0.0), (i * step, height), 0.7 if i % heavy == 0 else 0.35, FAINT if i % heavy else "#8E9A98"
        )
    for i in range(round(height / step) + 1):
        sketch.line(
            (0.0, i * step), (width, i * step), 0.7 if i % heavy == 0 else 0.35, FAINT if i % heavy else "#8E9A98"
        )
    sketch.rect(0.0, 0.0, round(width / step) * step, round(height / step) * step, 1.4)


def dimension_of(name: str) -> Dimension:
    """A dimension by its name, as catalogues have it."""
    return cast(Dimension, name)
