"""Words on the plan: what stands at suction points and holes, and what a shade means."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from msgspec import Struct
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPen

from workbench.design.record import Address
from workbench.gui.kit.theme import SHAPES, Theme, Verdict
from workbench.gui.kit.type_scale import Role, factor, font_of, px
from workbench.gui.plan.field_layer import failing_brush, levels, shades
from workbench.gui.plan.frame import Place, PlanFrame
from workbench.gui.plan.sketch import OUTLINE, Sketch
from workbench.solving.outcome import Outcome
from workbench.solving.report.verdict_words import VERDICT_WORDS
from workbench.units import System, format_quantity, to_display, unit_of

_BRIEF_BELOW = 260
"""Height of the sheet under which a mark bears no more than its name and its number. [px before the factor]"""
"""Kept free at the right of the sheet. [px]"""


class Lines(Struct, frozen=True):
    """Words at a mark: the first line strong, with a verdict's shape before it, the others quiet."""

    first: str
    verdict: Verdict = ""
    rest: tuple[str, ...] = ()


def legend_width() -> int:
    """Breadth of the legend at the right of the sheet. [px]"""
    return px(84)


def words_at(
    sketch: Sketch, outcome: Outcome | None, system: System, *, worst: bool, height: float = 1e9
) -> dict[Address, Lines]:
    """What is written at every mark, of an answer; less on a sheet of little height [px]."""
    points = {state.address: state for state in outcome.points} if outcome is not None else {}
    holding = outcome.holding if outcome is not None else None
    holes = {state.address: state for state in holding.holes} if holding is not None else {}

    def pressure(value: float, *, unit: bool = True) -> str:
        return format_quantity(value, "hole_pressure", system, with_unit=unit)

    found = {}
    for address, spot in sketch.spots.items():
        lines = Lines(spot.name)
        if address in points:
            state = points[address]
            flow, suction = (
                format_quantity(state.flow, "flow", system),
                format_quantity(state.suction, "pressure", system),
            )
            lines = Lines(spot.name, rest=(f"{flow}, {suction}",))
        elif address in holes and holding is not None and holes[address].known:
            hole = holes[address]
            verdict = hole.verdict(holding.target)
            value, band = (hole.worst, hole.worst_band) if worst else (hole.suction, hole.band)
            other = f"day of test {pressure(hole.suction)}" if worst else f"worst day {pressure(hole.worst)}"
            between = f"{pressure(band[0], unit=False)} to {pressure(band[1])}"
            rest = (between, other if hole.measured else VERDICT_WORDS["not measured"])
            lines = Lines(f"{spot.name}  {pressure(value)}", verdict, rest)
        elif address in holes and holding is not None:
            lines = Lines(spot.name, "not measured", (VERDICT_WORDS["not measured"],))
        found[address] = lines if height >= px(_BRIEF_BELOW) else Lines(lines.first, lines.verdict)
    return found


def verdicts_of(outcome: Outcome | None) -> tuple[Verdict, ...]:
    """What stands at the holes of an answer, each once."""
    holding = outcome.holding if outcome is not None else None
    return () if holding is None else tuple(sorted({hole.verdict(holding.target) for hole in holding.holes}))


def pointer_words(place: Place, worst: float | None, day: float | None, system: System) -> str:
    """Where the pointer is [m], and the suction there where it is known. [Pa]"""
    where = f"{format_quantity(place[0], 'length', system)} east, {format_quantity(place[1], 'length', system)} north"
    if worst is None or day is None:
        return where
    on_worst, on_day = (format_quantity(value, "hole_pressure", system) for value in (worst, day))
    return f"{where}: {on_worst} on the worst day, {on_day} on the day of the test"


class _Wall(Struct, frozen=True):
    a: QPointF
    b: QPointF

    def within(self, box: QRectF) -> float:
        """Length of the wall that a box hides. [px]"""
        low, high = 0.0, 1.0
        d = self.b - self.a
        for start, way, least, most in (
            (self.a.x(), d.x(), box.left(), box.right()),
            (self.a.y(), d.y(), box.top(), box.bottom()),
        ):
            if abs(way) < 1e-9:
                if not least <= start <= most:
                    return 0.0
                continue
            one, other = sorted(((least - start) / way, (most - start) / way))
            low, high = max(low, one), min(high, other)
        return max(high - low, 0.0) * float((d.x() ** 2 + d.y() ** 2) ** 0.5)


_LEAST_STEP = 2.5
"""Least height of a shade in the legend; with less the legend is left to the shapes. [px]"""


class Labels:
    """Where the words of the marks stand: laid out once for a view, written anew for every answer."""

    def __init__(self, sketch: Sketch, frame: PlanFrame, area: QRectF, words: dict[Address, Lines]) -> None:
        self._strong = font_of(Role.SMALL_STRONG)
        self._quiet = font_of(Role.SMALL)
        self._high, self._low = QFontMetricsF(self._strong).height(), QFontMetricsF(self._quiet).height()
        self._boxes: dict[Address, QRectF] = {}
        marks = [frame.pixels(spot.place) for spot in sketch.spots.values()]
        walls = [frame.line(side) for side in sketch.sides(OUTLINE)] if sketch.outline else []
        self._walls = [_Wall(line.at(0), line.at(1)) for line in walls]
        for address, spot in sketch.spots.items():
            at = frame.pixels(spot.place)
            width, height = self._size(words[address])
            self._boxes[address] = self._free(at, max(spot.radius * frame.scale, 7.0), width, height, area, marks)

    def _size(self, lines: Lines) -> tuple[float, float]:
        strong, quiet = QFontMetricsF(self._strong), QFontMetricsF(self._quiet)
        shape = 14.0 if lines.verdict else 0.0
        # figures may grow by one while the speed moves
        first = shape + strong.horizontalAdvance(lines.first) + (strong.horizontalAdvance("0") if lines.rest else 0.0)
        width = max([first, *(quiet.horizontalAdvance(text) + quiet.horizontalAdvance("0") for text in lines.rest)])
        return width + 10.0, self._high + self._low * len(lines.rest) + 4.0

    def _free(
        self, at: QPointF, off: float, width: float, height: float, area: QRectF, marks: Iterable[QPointF]
    ) -> QRectF:
        gap = off + 4.0
        corners = [
            QPointF(gap, -height / 2.0),
            QPointF(-gap - width, -height / 2.0),
            QPointF(-width / 2.0, -gap - height),
            QPointF(-width / 2.0, gap),
            QPointF(gap * 0.7, -gap * 0.7 - height),
            QPointF(-gap * 0.7 - width, gap * 0.7),
        ]
        boxes = [QRectF(at.x() + c.x(), at.y() + c.y(), width, height) for c in corners]

        def cost(box: QRectF) -> float:
            shared = sum(
                (box & other).width() * (box & other).height()
                for other in self._boxes.values()
                if box.intersects(other)
            )
            outside = width * height - (box & area).width() * (box & area).height()
            walled = sum(wall.within(box) for wall in self._walls)
            return 3.0 * (shared + outside) + 400.0 * sum(box.contains(mark) for mark in marks) + 12.0 * walled

        best = min(boxes, key=cost)
        # words that would be cut move in
        best.moveLeft(max(min(best.left(), area.right() - best.width()), area.left()))
        best.moveTop(max(min(best.top(), area.bottom() - best.height()), area.top()))
        return best

    def box(self, address: Address) -> QRectF | None:
        """Where the words of a mark stand."""
        return self._boxes.get(address)

    def paint(self, painter: QPainter, words: dict[Address, Lines], theme: Theme, *, stale: bool) -> None:
        """Write the words."""
        paper = theme.colour("panel")
        paper.setAlpha(228)
        muted, ink = theme.colour("muted"), theme.colour("muted" if stale else "text")
        for address, box in self._boxes.items():
            lines = words.get(address)
            if lines is None:
                continue
            painter.fillRect(box, paper)
            x, y = box.left() + 5.0, box.top() + 2.0
            painter.setFont(self._strong)
            if lines.verdict:
                painter.setPen(QColor(theme.verdict(lines.verdict)))
                painter.drawText(QRectF(x, y, 14.0, self._high), Qt.AlignmentFlag.AlignVCenter, SHAPES[lines.verdict])
                x += 14.0
            painter.setPen(ink)
            painter.drawText(QRectF(x, y, box.width(), self._high), Qt.AlignmentFlag.AlignVCenter, lines.first)
            painter.setFont(self._quiet)
            painter.setPen(muted)
            for i, text in enumerate(lines.rest):
                row = QRectF(box.left() + 5.0, y + self._high + i * self._low, box.width(), self._low)
                painter.drawText(row, Qt.AlignmentFlag.AlignVCenter, text)


def paint_legend(
    painter: QPainter,
    area: QRectF,
    theme: Theme,
    system: System,
    target: float | None,
    failing: bool,
    verdicts: Sequence[Verdict],
) -> None:
    """The shades with their suctions, the target among them, and what strokes and the shapes at the holes mean."""
    bounds = levels(system)
    colours = shades(theme.name, len(bounds))
    small = font_of(Role.SMALL)
    metrics = QFontMetricsF(small)
    painter.setFont(small)
    painter.setPen(theme.colour("muted"))
    line = metrics.height()
    top = area.top() + 2.2 * line
    words = [(verdict, VERDICT_WORDS[verdict].split(" ", 1)) for verdict in VERDICT_WORDS if verdict in verdicts]
    below = 5.4 * line + sum(0.4 + len(lines) for _, lines in words) * 0.95 * line
    high = min((area.height() - below) / len(colours), 15.0 * factor())
    if high < _LEAST_STEP:
        _paint_shapes(painter, area.left(), area.top(), words, theme, line)
        return
    painter.drawText(QRectF(area.left(), area.top(), area.width(), line), Qt.AlignmentFlag.AlignLeft, "Suction")
    painter.drawText(
        QRectF(area.left(), area.top() + line, area.width(), line),
        Qt.AlignmentFlag.AlignLeft,
        unit_of("hole_pressure", system).label,
    )
    bottom = top + high * len(colours)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
    for i, colour in enumerate(colours):
        painter.fillRect(QRectF(area.left(), bottom - (i + 1) * high, 14.0, high + 0.5), QColor(colour))
    painter.setPen(QPen(theme.colour("edge"), 1.0))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawRect(QRectF(area.left(), top, 14.0, bottom - top))
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    above = 1e9
    for i, bound in enumerate(bounds):
        y = bottom - (i + 1) * high
        shown = to_display(float(bound), "hole_pressure", system)
        round_one = shown == 0.0 or (f"{shown:.0e}"[0] in "125" and f"{shown:.1e}"[2] == "0")
        if round_one and above - y >= 0.85 * line:
            painter.setPen(theme.colour("muted"))
            painter.drawLine(QPointF(area.left() + 14, y), QPointF(area.left() + 17, y))
            painter.drawText(
                QRectF(area.left() + 20, y - line / 2, px(60), line), Qt.AlignmentFlag.AlignVCenter, f"{shown:g}"
            )
            above = y
    if target is None:
        return
    y = _level_height(target, bounds, bottom, high)
    painter.setPen(QPen(theme.colour("bad"), 2.4))
    painter.drawLine(QPointF(area.left() - 4, y), QPointF(area.left() + 18, y))
    key = bottom + 0.5 * line
    painter.setPen(QPen(theme.colour("bad"), 2.4))
    painter.drawLine(QPointF(area.left(), key + line / 2), QPointF(area.left() + 14, key + line / 2))
    painter.setPen(theme.colour("text"))
    painter.drawText(QRectF(area.left() + 20, key, px(64), line), Qt.AlignmentFlag.AlignVCenter, "target")
    if failing:
        box = QRectF(area.left(), key + 1.2 * line, 14.0, line)
        painter.fillRect(box, failing_brush(theme, painter.device().devicePixelRatioF()))
        painter.setPen(theme.colour("text"))
        painter.drawText(
            box.translated(20, 0).adjusted(0, 0, px(60), 0), Qt.AlignmentFlag.AlignVCenter, "below target,"
        )
        painter.drawText(
            box.translated(20, line * 0.95).adjusted(0, 0, px(60), 0), Qt.AlignmentFlag.AlignVCenter, "worst day"
        )
    _paint_shapes(painter, area.left(), key + (3.4 if failing else 1.4) * line, words, theme, line)


def _paint_shapes(
    painter: QPainter, left: float, foot: float, words: Sequence[tuple[Verdict, list[str]]], theme: Theme, line: float
) -> None:
    """What the shapes at the holes mean."""
    for verdict, lines in words:
        painter.setPen(QColor(theme.verdict(verdict)))
        painter.drawText(QRectF(left, foot, 18.0, line), Qt.AlignmentFlag.AlignVCenter, SHAPES[verdict])
        painter.setPen(theme.colour("text"))
        for text in lines:
            row = QRectF(left + 20, foot, px(64), line)
            painter.drawText(row, Qt.AlignmentFlag.AlignVCenter, text)
            foot += 0.95 * line
        foot += 0.4 * 0.95 * line


def _level_height(value: float, bounds: Iterable[float], bottom: float, high: float) -> float:
    """Where a suction lies on the bar, each level being as high as the next."""
    steps = list(bounds)
    below = sum(bound <= value for bound in steps)
    if below == 0:
        return bottom - 0.5 * high
    if below == len(steps):
        return bottom - (below + 0.5) * high
    low, up = steps[below - 1], steps[below]
    return bottom - (below + (value - low) / (up - low)) * high
