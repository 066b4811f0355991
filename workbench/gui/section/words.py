"""What the section writes beside its parts, and where: placed once for a drawing, written anew for every answer."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

from msgspec import Struct
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter

from workbench.design.record import Address
from workbench.design.section_layout import FAN, MANY_POINTS, Layout, PartShape, along
from workbench.gui.kit.theme import Theme
from workbench.gui.kit.type_scale import Role, font_of
from workbench.gui.section.labels import Box, Label, Side, Spot, Wanted, boxes_of_line, place_labels, spread
from workbench.gui.section.paint import Screen, pen
from workbench.gui.section.parts import PartAnswers
from workbench.units import System, unit_of

Key = tuple[str, Address]

_WIDEST = {"L/s": "88.8", "cfm": "88.8", "in. w.c.": "0.888", "mm w.c.": "88.8", "kPa": "0.888", "m/s": "88.8"}
"""The widest figures beside a unit that takes fewer than four whole ones."""
_LEAST_FOR_SPEED = 3
"""Up to so many runs carry their air speed on the drawing; with more it is left to the card and the tool tip."""
_LEAST_SHARE = 0.02
"""A loss below this share of the fan's pressure is left to the card where there are many runs."""
_ASIDE = 9.0
"""How far words may stand aside from their pit without a line that leads to it. [px]"""


class LabelBlock(Struct, frozen=True):
    """Lines of words of one part; the first line may be strong."""

    lines: tuple[str, ...]
    strong: bool = False


class Words:
    """The blocks of words of one layout on one screen."""

    def __init__(self, layout: Layout, screen: Screen, names: dict[Address, str], system: System) -> None:
        self._layout, self._screen, self._names, self._system = layout, screen, names, system
        self.font = font_of(Role.SMALL)
        self.strong = font_of(Role.SMALL_STRONG)
        self._metrics, self._strong_metrics = QFontMetricsF(self.font), QFontMetricsF(self.strong)
        self._counts = {shape.address: shape.words for shape in layout.of("fitting")}
        self._widths: dict[tuple[str, bool], float] = {}
        self._runs = list(layout.of("run"))
        self._many = len(self._runs) > _LEAST_FOR_SPEED
        area = screen.area
        bounds = (area.left() + 5.0, area.top() + 5.0, area.right() - 5.0, area.bottom() - 4.0)
        pits = self._pit_labels(bounds)
        taken = [*self._taken(), *(label.box for label in pits.values())]
        self.labels = pits | place_labels(list(self._wanted()), taken, bounds)

    # -- where -------------------------------------------------------------------------------------------------

    def _sample(self, dimension: str) -> str:
        unit = unit_of(dimension, self._system)  # type: ignore[arg-type]
        return f"{_WIDEST.get(unit.label, '8888')} {unit.label}"

    def _samples(self, key: Key) -> LabelBlock:
        kind, address = key
        if kind == "pit":
            return LabelBlock((self._name(address), self._sample("flow"), self._sample("pressure")), strong=True)
        if kind == "count":
            return LabelBlock((self._counts[address],))
        if kind == "fan":
            return LabelBlock(("Fan " + self._sample("pressure"), "static; " + self._sample("flow")))
        if kind == "gauge":
            return LabelBlock(("Gauge " + self._sample("pressure"),))
        loss = f"{self._sample('pressure')} · 88 %"
        return LabelBlock((loss,) if self._many else (loss, self._sample("velocity")))

    def _name(self, address: Address) -> str:
        columns = max(sum(1 for _ in self._layout.of("pit")), 1)
        # two rows of words have twice the room
        rows = 1.0 if columns <= MANY_POINTS else 2.0
        most = max(min(130.0, rows * (self._screen.area.width() - 10.0) / columns - 10.0), 30.0)
        # the end of a name often tells it from its neighbours
        return self._strong_metrics.elidedText(self._names.get(address, ""), Qt.TextElideMode.ElideMiddle, most)

    def _pit_labels(self, bounds: Box) -> dict[Key, Label]:
        """All words of suction points in one row below the deepest pit."""
        pits = sorted(self._layout.of("pit"), key=lambda pit: pit.points[0][0])
        centres = [self._screen(pit.points[0]).x() for pit in pits]
        bottoms = [self._screen(pit.points[0]).y() + self._screen.scale * pit.size for pit in pits]
        sizes = [self._size(self._samples(("pit", pit.address))) for pit in pits]
        widths = [width for width, _ in sizes]
        # too many for one row: every other one stands a row lower
        rows = 1 if sum(widths) <= bounds[2] - bounds[0] else 2
        placed = list(centres)
        for row in range(rows):
            placed[row::rows] = spread(centres[row::rows], widths[row::rows], bounds[0], bounds[2])
        moved = any(abs(at - centre) > _ASIDE for at, centre in zip(placed, centres, strict=True))
        height = max(height for _, height in sizes)
        first = min(max(bottoms) + (12.0 if moved else 3.0), bounds[3] - rows * height)
        found: dict[Key, Label] = {}
        for i, (pit, at, centre, bottom, (width, tall)) in enumerate(
            zip(pits, placed, centres, bottoms, sizes, strict=True)
        ):
            top = first + (i % rows) * height
            aside = abs(at - centre) > _ASIDE or top > first
            leader = ((centre, bottom + 1.0), (at, top)) if aside else None
            found["pit", pit.address] = Label((at - width / 2.0, top, at + width / 2.0, top + tall), "below", leader)
        return found

    def _size(self, block: LabelBlock) -> tuple[float, float]:
        widths = [self._metrics.horizontalAdvance(line) for line in block.lines]
        if block.strong:
            widths[0] = self._strong_metrics.horizontalAdvance(block.lines[0])
        return max(widths) + 6.0, self._metrics.height() * len(block.lines) + 2.0

    def _wanted(self) -> Iterator[Wanted]:
        yield from self._at_the_fan()
        for shape in self._layout.of("fitting"):
            if shape.words:
                around: tuple[Side, ...] = ("above", "left", "below", "right")
                spot = _spot(self._screen(shape.points[0]))
                clearance = self._screen.scale * shape.size + 3.0
                yield self._block(("count", shape.address), [spot], around, clearance, far=False)
        yield from (self._of_run(run) for run in reversed(self._runs))

    def _at_the_fan(self) -> Iterator[Wanted]:
        fan = next(self._layout.of("fan"))
        radius = self._screen.scale * fan.size
        yield self._block(
            ("fan", FAN), [_spot(self._screen(fan.points[0]))], ("right", "left", "above", "below"), radius + 4.0
        )
        yield self._block(("gauge", FAN), [_spot(self.gauge)], ("left", "right", "below", "above"), 9.0)

    @property
    def gauge(self) -> QPointF:
        """Where the gauge is tapped: on the intake just before the fan."""
        fan = next(self._layout.of("fan"))
        last = [run for run in self._runs if run.address[0] == "intake"][-1]
        length = sum(
            ((b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2) ** 0.5 for a, b in zip(last.points, last.points[1:], strict=False)
        )
        back = fan.size + max(2.2 * self._layout.unit, 9.0 / self._screen.scale)
        return self._screen(along(last.points, 1.0 - min(back / max(length, 1e-9), 0.9))[0])

    def _of_run(self, run: PartShape) -> Wanted:
        anchors: list[Spot] = []
        points = [self._screen(p) for p in run.points]
        pieces = sorted(
            itertools.pairwise(points),
            key=lambda piece: -((piece[1].x() - piece[0].x()) ** 2 + (piece[1].y() - piece[0].y()) ** 2),
        )
        sides: tuple[Side, ...] = ("above", "below", "right", "left")
        for a, b in pieces[:2]:
            upright = abs(b.y() - a.y()) > abs(b.x() - a.x())
            if not anchors:
                sides = ("right", "left", "above") if upright else ("above", "below", "right")
            anchors += [_spot(a + (b - a) * t) for t in (0.5, 0.3, 0.7)]
        return self._block(("run", run.address), anchors, sides, 0.5 * self._screen.width(run) + 3.0, far=False)

    def _block(
        self, key: Key, anchors: list[Spot], sides: tuple[Side, ...], clearance: float, *, far: bool = True
    ) -> Wanted:
        width, height = self._size(self._samples(key))
        return Wanted(key, width, height, tuple(anchors), sides, clearance, far)

    def _taken(self) -> list[Box]:
        boxes: list[Box] = []
        for run in self._runs:
            boxes += boxes_of_line([_spot(self._screen(p)) for p in run.points], 0.5 * self._screen.width(run) + 1.0)
        for shape in self._layout.of("fan", "outlet", "pit", "fitting", "junction"):
            centre, radius = self._screen(shape.points[0]), self._screen.scale * shape.size
            top = 0.0 if shape.kind == "pit" else radius * (2.5 if shape.kind == "outlet" else 1.0)
            boxes.append((centre.x() - radius, centre.y() - top, centre.x() + radius, centre.y() + radius))
        frame = self._layout.frame
        roof = [(frame.left, frame.eaves), (frame.ridge_at, frame.ridge), (frame.right, frame.eaves)]
        boxes += boxes_of_line([_spot(self._screen(p)) for p in roof], 2.5)
        slab_top, slab_under = self._screen((frame.left, 0.0)), self._screen((frame.right, -frame.slab))
        boxes.append((slab_top.x(), slab_top.y() - 2.0, slab_under.x(), slab_under.y() + 1.0))
        for x in (frame.left, frame.right):
            foot, head = self._screen((x, 0.0)), self._screen((x, frame.eaves))
            boxes.append((foot.x() - 4.0, head.y(), foot.x() + 4.0, foot.y()))
        return boxes

    # -- what --------------------------------------------------------------------------------------------------

    def block(self, key: Key, answers: PartAnswers | None) -> LabelBlock:
        """The lines of a label now."""
        kind, address = key
        known = answers is not None and answers.outcome.operating is not None
        if kind == "pit":
            name = self._name(address)
            state = answers.points.get(address) if known and answers is not None else None
            if state is None or answers is None:
                return LabelBlock((name,), strong=True)
            if state.flow < 0.0:
                return LabelBlock((name, "reversed", answers.write(-state.flow, "flow")), strong=True)
            return LabelBlock(
                (name, answers.write(state.flow, "flow"), answers.write(state.suction, "pressure")), strong=True
            )
        if kind == "count":
            return LabelBlock((self._counts[address],))
        if answers is None or not known:
            return LabelBlock(())
        crossing = answers.outcome.operating
        assert crossing is not None
        if kind == "fan":
            return LabelBlock(
                (
                    f"Fan {answers.write(answers.fan_static, 'pressure')}",
                    f"static; {answers.write(crossing.flow, 'flow')}",
                )
            )
        if kind == "gauge":
            return LabelBlock((f"Gauge {answers.write(answers.outcome.gauge, 'pressure')}",))
        run = answers.runs.get(address)
        if run is None:
            return LabelBlock(())
        if run.flow < 0.0:
            return LabelBlock(("reverse flow",))
        if self._many and abs(answers.share(address)) < _LEAST_SHARE:
            return LabelBlock(())
        loss = f"{answers.write(run.loss, 'pressure')} · {answers.share_words(address)}"
        return LabelBlock((loss,) if self._many else (loss, answers.write(abs(run.velocity), "velocity")))

    def paint_veils(self, painter: QPainter, answers: PartAnswers | None, theme: Theme) -> None:
        """Draw leader lines, and a veil behind each label that keeps it legible over floors and hatching."""
        for key, label in self.labels.items():
            block = self.block(key, answers)
            if not block.lines or key[0] == "count":
                continue
            if label.leader is not None:
                painter.setPen(pen(theme.colour("edge"), 0.8))
                painter.drawLine(QPointF(*label.leader[0]), QPointF(*label.leader[1]))
            inside = "building" if self._indoors(label.box) else "panel"
            veil = theme.colour("ground" if key[0] == "pit" else inside)
            veil.setAlpha(215)
            left, top, right, bottom = label.box
            # as wide as the words now are, with room for a figure more
            width = min(max(self._width(line, block.strong) for line in block.lines) + 12.0, right - left)
            if label.side in ("above", "below"):
                left = (left + right - width) / 2.0
            elif label.side == "left":
                left = right - width
            painter.fillRect(QRectF(left, top, width, bottom - top), veil)

    def paint(self, painter: QPainter, answers: PartAnswers | None, theme: Theme, *, stale: bool) -> None:
        """Write every label."""
        quiet = theme.colour("muted")
        ink = quiet if stale else theme.colour("text")
        for key, label in self.labels.items():
            block = self.block(key, answers)
            if block.lines:
                self._write(painter, label, block, ink, quiet)

    def _indoors(self, box: Box) -> bool:
        """Whether the middle of a box lies within the house."""
        frame, origin = self._layout.frame, self._screen((0.0, 0.0))
        x = ((box[0] + box[2]) / 2.0 - origin.x()) / self._screen.scale
        return (origin.y() - (box[1] + box[3]) / 2.0) / self._screen.scale < frame.roof(x)

    def _write(self, painter: QPainter, label: Label, block: LabelBlock, ink: QColor, quiet: QColor) -> None:
        left, top, right, _ = label.box
        height, base = self._metrics.height(), top + 1.0 + self._metrics.ascent()
        for i, line in enumerate(block.lines):
            strong = block.strong and i == 0
            width = self._width(line, strong)
            if label.side in ("above", "below"):
                x = (left + right - width) / 2.0
            else:
                x = right - 3.0 - width if label.side == "left" else left + 3.0
            painter.setFont(self.strong if strong else self.font)
            painter.setPen(ink if block.strong or i == 0 else quiet)
            painter.drawText(QPointF(x, base + i * height), line)

    def _width(self, line: str, strong: bool) -> float:
        known = self._widths.get((line, strong))
        if known is None:
            # few strings come up in a drag, and each many times
            if len(self._widths) > 2000:
                self._widths.clear()
            known = (self._strong_metrics if strong else self._metrics).horizontalAdvance(line)
            self._widths[(line, strong)] = known
        return known


def _spot(point: QPointF) -> Spot:
    return point.x(), point.y()
