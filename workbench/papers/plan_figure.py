"""The floor from above on paper, to scale: its field on the worst day, or its dimensions."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np

from workbench.design.plan_layout import Side, across, out_of, round_length, turn_of
from workbench.design.slab import Slab, corners
from workbench.papers.blocks import Figure
from workbench.papers.letters import breadth, shortened
from workbench.papers.matter import HOLE, MARKS, NBSP, Matter
from workbench.papers.shades import levels, shades
from workbench.papers.sketch import MUTED, PAPER, Point, Sketch
from workbench.physics.arrays import Array
from workbench.units import to_display

if TYPE_CHECKING:
    from workbench.solving.report.floor_map import FloorMap

_SIDE = 21.0
"""Room round the floor for its dimensions, in points."""
_INCH = 0.0254
MOST_NAMES = 12
"""Test holes that are named on a plan; more are numbered."""
Box = tuple[float, float, float, float]


def feet_and_inches(m: Matter, metres: float) -> str:
    """A length as it is measured out: feet and inches to the half inch where feet are shown, else as it is written."""
    if m.unit("length") != "ft":
        return m.write(metres, "length")
    halves = round(metres / _INCH * 2.0)
    feet, rest = divmod(abs(halves), 24)
    minus = "\N{MINUS SIGN}" if halves < 0 else ""
    return f"{minus}{feet} ft {rest // 2}{'½' if rest % 2 else ''} in.".replace(" ", NBSP)


class _Labels:
    """Words beside marks, none upon another."""

    def __init__(self, sketch: Sketch) -> None:
        self._sketch = sketch
        self._taken: list[Box] = []

    def keep_clear(self, at: Point, radius: float) -> None:
        self._taken.append((at[0] - radius, at[1] - radius, at[0] + radius, at[1] + radius))

    def take(self, box: Box) -> None:
        """Nothing more is written there."""
        self._taken.append(box)

    def beside(self, at: Point, words: str, mark: str = "", size: float = 8.0) -> None:
        """Write words near a place where they cover nothing, on paper of their own."""
        words = shortened(words, size, 120.0, True)
        lead = 10.0 if mark else 0.0
        w, h = breadth(words, size, True) + lead + 7.0, 13.0
        offsets = [(9.0, -h / 2), (-9.0 - w, -h / 2), (-w / 2, -9.0 - h), (-w / 2, 9.0)]
        offsets += [
            (6.0, -8.0 - h),
            (6.0, 8.0),
            (-6.0 - w, -8.0 - h),
            (-6.0 - w, 8.0),
            (-w / 2, -24.0 - h),
            (-w / 2, 24.0),
        ]
        boxes = [(at[0] + dx, at[1] + dy, at[0] + dx + w, at[1] + dy + h) for dx, dy in offsets]
        box = min(map(self._within, boxes), key=self.covered)
        self._taken.append(box)
        self._sketch.rect(box[0], box[1], w, h, 0.6, fill=PAPER)
        if mark:
            self._sketch.mark((box[0] + 8.0, box[1] + h / 2), mark, 3.4)
        self._sketch.text((box[0] + 3.5 + lead, box[1] + h / 2 + 2.9), words, size, bold=True)

    def _within(self, box: Box) -> Box:
        """A box moved onto the sheet."""
        dx = max(-box[0], 0.0) or min(self._sketch.width - box[2], 0.0)
        dy = max(-box[1], 0.0) or min(self._sketch.height - box[3], 0.0)
        return box[0] + dx, box[1] + dy, box[2] + dx, box[3] + dy

    def covered(self, box: Box) -> float:
        """How much of what stands a box would cover, or how far it would leave the sheet."""
        out = max(0.0, -box[0]) + max(0.0, -box[1])
        out += max(0.0, box[2] - self._sketch.width) + max(0.0, box[3] - self._sketch.height)
        over = sum(
            max(0.0, min(box[2], b[2]) - max(box[0], b[0])) * max(0.0, min(box[3], b[3]) - max(box[1], b[1]))
            for b in self._taken
        )
        return over + 100.0 * out


def hole_numbers(m: Matter) -> dict[str, str]:
    """Numbers that stand for the names of holes where these are too many to be written; else none."""
    holes = m.design.holes
    return {} if len(holes) <= MOST_NAMES else {hole.name: str(i) for i, hole in enumerate(holes, start=1)}


def numbered(m: Matter, name: str) -> str:
    """The name of a hole in a table, with its number on the plan where it has one."""
    number = hole_numbers(m).get(name)
    return name if number is None else f"{number} {name}"


def plan_figure(m: Matter, width: float, most_height: float, *, field: bool) -> Figure | None:
    """The floor from above; None without a drawn one.

    With `field` its vacuum on the worst day and what is left at each hole, else the places to be measured out.
    """
    slab = m.design.slab
    if slab is None:
        return None
    outline = np.array(corners(slab.outline))
    (x0, y0), (x1, y1) = outline.min(axis=0), outline.max(axis=0)
    scale = min((width - 2 * _SIDE) / (x1 - x0), (most_height - 2 * _SIDE - 16.0) / (y1 - y0))
    sketch = Sketch(width, (y1 - y0) * scale + 2 * _SIDE + 16.0)

    def to(x: float, y: float) -> Point:
        return (_SIDE + (x - x0) * scale, _SIDE + (y1 - y) * scale)

    labels = _Labels(sketch)
    placed = [(p.name, p.position) for _, p in m.design.suction_points() if p.position is not None]
    holes = [(h.name, h.position) for h in m.design.holes if h.position is not None]
    for _, position in (*placed, *holes):
        labels.keep_clear(to(position.x, position.y), 7.0)
    if field:
        _field(sketch, m, slab, to, labels)
    _walls(sketch, slab, to)
    _sides(sketch, m, slab, to, labels)
    for name, position in placed:
        at = to(position.x, position.y)
        _suction_point(sketch, at)
        labels.beside(at, name)
    states = {state.name: state for state in m.holes}
    numbers = hole_numbers(m)
    for name, position in holes:
        at = to(position.x, position.y)
        sketch.circle(at, 4.4, 1.0, fill=PAPER)
        sketch.circle(at, 1.6, 0.0, fill="#1B2426")
        state, held = states.get(name), m.outcome.holding
        if field and state is not None and held is not None:
            told = m.write(state.worst, HOLE) if state.known else "no estimate"
            words = numbers[name] if numbers else f"{name} {told}"
            labels.beside(at, words, MARKS[state.verdict(held.target)])
        else:
            labels.beside(at, numbers.get(name, name))
    if not field:
        # places are measured from here
        sketch.circle(to(slab.outline[0].x, slab.outline[0].y), 6.0, 0.9, fill=PAPER)
        corner = to(slab.outline[0].x, slab.outline[0].y)
        sketch.text((corner[0], corner[1] + 2.9), "0", 8.0, bold=True, anchor="middle")
    _scale_bar(sketch, m, scale)
    what = "Vacuum field on the worst day" if field else "Plan with the places of suction points and test holes"
    said = f"{what}. Suction points: {', '.join(n for n, _ in placed) or 'none placed'}. "
    return sketch.figure(f"{said}Test holes: {', '.join(n for n, _ in holes) or 'none placed'}.")


def _suction_point(sketch: Sketch, at: Point) -> None:
    x, y = at
    sketch.circle(at, 5.4, 1.3, fill=PAPER)
    sketch.line((x - 8.5, y), (x + 8.5, y), 1.1)
    sketch.line((x, y - 8.5), (x, y + 8.5), 1.1)


def _walls(sketch: Sketch, slab: Slab, to: Callable[[float, float], Point]) -> None:
    """Sides by how air comes in: heavy where sealed, double along a joint, dashed where open; zones and footings."""
    for zone in slab.zones:
        sketch.path([to(p.x, p.y) for p in zone.outline], 0.8, MUTED, "1.5 2", closed=True)
        x, y = np.array(corners(zone.outline)).mean(axis=0)
        sketch.text(to(float(x), float(y)), shortened(zone.name, 8.0, 90.0), 8.0, anchor="middle", color=MUTED)
    for footing in slab.footings:
        sketch.path([to(p.x, p.y) for p in footing.line], 2.4, MUTED, "7 3")
    sides = _sides_of(slab)
    outside = out_of(sides)
    for i, side in enumerate(sides):
        p, q = to(*side[0]), to(*side[1])
        kind = slab.edge(i).kind
        if kind == "joint":
            dx, dy = across(side, outside)
            sketch.line(p, q, 1.0)
            sketch.line((p[0] + 3 * dx, p[1] + 3 * dy), (q[0] + 3 * dx, q[1] + 3 * dy), 1.0)
        else:
            sketch.line(p, q, 2.4, dash="6 4" if kind == "open" else "")


def _sides_of(slab: Slab) -> list[Side]:
    ring = corners(slab.outline)
    return [((ax, ay), (bx, by)) for (ax, ay), (bx, by) in pairwise([*ring, ring[0]])]


def _sides(sketch: Sketch, m: Matter, slab: Slab, to: Callable[[float, float], Point], labels: _Labels) -> None:
    """The length of every side, outside it."""
    sides = _sides_of(slab)
    outside = out_of(sides)
    for side in sides:
        p, q = to(*side[0]), to(*side[1])
        for k in range(int(math.dist(p, q) / 5.0) + 1):
            t = min(5.0 * k / max(math.dist(p, q), 1e-9), 1.0)
            labels.keep_clear((p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])), 1.5)
        words = feet_and_inches(m, math.dist(*side))
        if math.dist(p, q) < breadth(words, 8.0) + 4.0:
            continue
        dx, dy = across(side, outside)
        middle = ((p[0] + q[0]) / 2 + 10.0 * dx, (p[1] + q[1]) / 2 + 10.0 * dy)
        turn = turn_of(side)
        # the baseline is moved so that the words stand in the middle of their room
        lift = math.radians(turn + 90.0)
        at = (middle[0] + 2.9 * math.cos(lift), middle[1] + 2.9 * math.sin(lift))
        sketch.text(at, words, 8.0, anchor="middle", turn=turn)
        half, slant = breadth(words, 8.0) / 2, math.radians(turn)
        w, h = abs(half * math.cos(slant)) + 5.0, abs(half * math.sin(slant)) + 5.0
        labels.take((middle[0] - w, middle[1] - h, middle[0] + w, middle[1] + h))


def _scale_bar(sketch: Sketch, m: Matter, scale: float) -> None:
    unit = 0.3048 if m.unit("length") == "ft" else 1.0
    bar = round_length(45.0 / scale, unit)
    length, y = bar * scale, sketch.height - 8.0
    sketch.rect(_SIDE, y, length / 2, 4.0, 0.8, fill="#1B2426")
    sketch.rect(_SIDE + length / 2, y, length / 2, 4.0, 0.8, fill=PAPER)
    sketch.text((_SIDE + length + 5.0, y + 5.0), f"{bar / unit:g} {m.unit('length')}", 8.0)


# --- the field --------------------------------------------------------------------------------------------------------


def floor_map(m: Matter) -> FloorMap | None:
    """The field at the answer."""
    from workbench.solving.report.floor_map import plan_at

    return plan_at(m.prepared, m.outcome)


def _field(sketch: Sketch, m: Matter, slab: Slab, to: Callable[[float, float], Point], labels: _Labels) -> None:
    from contourpy import FillType, LineType, contour_generator

    shown = floor_map(m)
    if shown is None:
        return
    values = _carried_on(shown.field.image(shown.worst))
    h, ox, oy = shown.field.grid.cell, float(shown.field.grid.origin[0]), float(shown.field.grid.origin[1])
    rows, columns = values.shape
    x = ox + h * (np.arange(columns) + 0.5 - _RING)
    y = oy + h * (np.arange(rows) + 0.5 - _RING)
    made: Any = contour_generator(x, y, values, fill_type=FillType.OuterOffset, line_type=LineType.Separate)
    bounds = levels(m.system)
    colors = shades("light", len(bounds))
    sketch.clipped([to(p.x, p.y) for p in slab.outline])
    edges = [-np.inf, *bounds, np.inf]
    for (low, high), color in zip(pairwise(edges), colors, strict=True):
        if not ((values > low) & (values <= high)).any():
            continue
        points, offsets = made.filled(low, high)
        for ring_points, ring_offsets in zip(points, offsets, strict=True):
            rings = [
                [to(float(px), float(py)) for px, py in ring_points[a:b]] for a, b in pairwise(ring_offsets.tolist())
            ]
            sketch.area(rings, color)
    written = []
    for level in bounds:
        for line in made.lines(float(level)):
            path = [to(float(px), float(py)) for px, py in line]
            sketch.path(path, 0.45, "#6E8796")
            written.append((float(level), path))
    sketch.unclipped()
    inside = [to(p.x, p.y) for p in slab.outline]
    for level, path in written:
        _value(sketch, f"{to_display(level, HOLE, m.system):g}", path, inside, labels)


_RING = 2


def _carried_on(image: Array) -> Array:
    """Values carried on beyond the floor, so that its outline cuts them and not the cells."""
    values = np.pad(image, _RING, constant_values=np.nan)
    for _ in range(_RING + 2):
        for axis, step in ((0, 1), (0, -1), (1, 1), (1, -1)):
            beside = np.roll(values, step, axis)
            values = np.where(np.isnan(values) & ~np.isnan(beside), beside, values)
    return values


def _value(sketch: Sketch, words: str, path: list[Point], outline: list[Point], labels: _Labels) -> None:
    """The value of a line where it has room: on the floor, and off what is taken."""
    w = breadth(words, 8.0) + 4.0
    if sum(math.dist(a, b) for a, b in pairwise(path)) < 3.0 * w:
        return
    xs, ys = [p[0] for p in outline], [p[1] for p in outline]
    for k in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8):
        x, y = path[int(k * (len(path) - 1))]
        box = (x - w / 2, y - 5.0, x + w / 2, y + 5.0)
        within = min(xs) + 4 < box[0] and box[2] < max(xs) - 4 and min(ys) + 4 < box[1] and box[3] < max(ys) - 4
        if within and labels.covered(box) == 0.0:
            labels.take(box)
            sketch.text((x, y + 2.9), words, 8.0, anchor="middle")
            return
