"""The floor from above on paper, to scale: its field on the worst day, or its dimensions."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from workbench.design.plan_layout import Side, across, out_of, round_length, turn_of
from workbench.design.plan_words import Box, Mark, PlacedTag, place_tags, place_values
from workbench.design.slab import Slab, corners
from workbench.papers.blocks import Figure
from workbench.papers.letters import breadth, shortened
from workbench.papers.matter import HOLE, MARKS, NBSP, Matter
from workbench.papers.shades import levels, shades
from workbench.papers.sketch import INK, MUTED, PAPER, Point, Sketch
from workbench.physics.arrays import Array
from workbench.solving.report.contours import Carried
from workbench.units import to_display

if TYPE_CHECKING:
    from workbench.solving.report.floor_map import FloorMap

_SIDE = 21.0
"""Room round the floor for its dimensions, in points."""
_INCH = 0.0254
MOST_NAMES = 12
"""Test holes that are named on a plan; more are numbered, and so are those whose names together are too long."""
_ROOM_FOR_NAMES = 700.0
"""Breadth of all names together for which a plan has room, in points."""
_TEXT = 8.0
"""Size of what is written, in points."""
_DROP = 2.9
"""Of the baseline below the middle of its letters, in points."""
To = Callable[[float, float], Point]


def feet_and_inches(m: Matter, metres: float) -> str:
    """A length as it is measured out: feet and inches to the half inch where feet are shown, else as it is written."""
    if m.unit("length") != "ft":
        return m.write(metres, "length")
    halves = round(metres / _INCH * 2.0)
    feet, rest = divmod(abs(halves), 24)
    minus = "\N{MINUS SIGN}" if halves < 0 else ""
    return f"{minus}{feet} ft {rest // 2}{'½' if rest % 2 else ''} in.".replace(" ", NBSP)


def hole_numbers(m: Matter) -> dict[str, str]:
    """Numbers that stand for the names of holes where these are too many or too long to be written; else none."""
    holes = m.design.holes
    long = sum(Words(hole.name, "10.0 Pa").size(0)[0] for hole in holes) > _ROOM_FOR_NAMES
    return {hole.name: str(i) for i, hole in enumerate(holes, start=1)} if len(holes) > MOST_NAMES or long else {}


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

    placed = [(p.name, to(p.position.x, p.position.y)) for _, p in m.design.suction_points() if p.position is not None]
    holes = [(h.name, to(h.position.x, h.position.y)) for h in m.design.holes if h.position is not None]
    lengths = _lengths(m, slab, to)
    zones = _zone_names(slab, to)
    words = {("point", i): Words(name) for i, (name, _) in enumerate(placed)}
    words |= {("hole", i): _at_hole(m, name, field) for i, (name, _) in enumerate(holes)}
    marks = {("point", i): Mark(at, 9.5) for i, (_, at) in enumerate(placed)}
    marks |= {("hole", i): Mark(at, 6.0) for i, (_, at) in enumerate(holes)}
    taken = [*(each.box for each in (*lengths, *zones)), *_first_corner(slab, to, field)]
    walls = [(to(*a), to(*b)) for a, b in _sides_of(slab)]
    area = (2.0, 2.0, sketch.width - 2.0, sketch.height - 14.0)
    order = [("hole", i) for i, (name, _) in enumerate(holes) if name == _weakest(m)]
    tags = place_tags(marks, lambda key, fold: words[key].size(fold), area, walls, taken, order)
    if field:
        standing = [*taken, *(mark.box for mark in marks.values()), *(tag.box for tag in tags.values())]
        _field(sketch, m, slab, to, standing)
    _walls(sketch, slab, to)
    for each in (*lengths, *zones):
        each.write(sketch)
    for _, at in placed:
        _suction_point(sketch, at)
    for _, at in holes:
        sketch.circle(at, 4.4, 1.0, fill=PAPER)
        sketch.circle(at, 1.6, 0.0, fill=INK)
    for key, tag in tags.items():
        words[key].write(sketch, tag)
    if not field:
        # places are measured from here
        corner = to(slab.outline[0].x, slab.outline[0].y)
        sketch.circle(corner, 6.0, 0.9, fill=PAPER)
        sketch.text((corner[0], corner[1] + 2.9), "0", 8.0, bold=True, anchor="middle")
    _scale_bar(sketch, m, scale)
    what = "Vacuum field on the worst day" if field else "Plan with the places of suction points and test holes"
    said = f"{what}. Suction points: {', '.join(n for n, _ in placed) or 'none placed'}. "
    return sketch.figure(f"{said}Test holes: {', '.join(n for n, _ in holes) or 'none placed'}.")


class Words(NamedTuple):
    """What is written at a mark: a name, a figure and the shape of a verdict."""

    name: str
    figure: str = ""
    mark: str = ""

    def text(self, fold: int) -> str:
        """The words as far as they are folded: in full, or the name alone (2)."""
        name = shortened(self.name, _TEXT, 90.0, True)
        return f"{name} {self.figure}".strip() if fold < 2 else name

    def _lead(self, fold: int) -> float:
        return 10.0 if self.mark and fold < 2 else 0.0

    def size(self, fold: int) -> tuple[float, float]:
        """Breadth and height of its patch; in a crowd, the closer."""
        margin, height = (7.0, 13.0) if fold < 2 else (4.0, 11.0)
        return breadth(self.text(fold), _TEXT, True) + self._lead(fold) + margin, height

    def write(self, sketch: Sketch, tag: PlacedTag) -> None:
        """Write the words on paper of their own."""
        left, top, right, bottom = tag.box
        if tag.leader is not None:
            sketch.line(*tag.leader, 0.6)
        sketch.rect(left, top, right - left, bottom - top, 0.6, fill=PAPER)
        middle, lead = (top + bottom) / 2.0, self._lead(tag.fold)
        if lead:
            sketch.mark((left + 8.0, middle), self.mark, 3.4)
        text = self.text(tag.fold)
        before = (right - left - lead - breadth(text, _TEXT, True)) / 2.0
        sketch.text((left + lead + before, middle + _DROP), text, _TEXT, bold=True)


def _at_hole(m: Matter, name: str, field: bool) -> Words:
    """At a test hole: its name or number, with what is left on the worst day where the field is drawn."""
    number = hole_numbers(m).get(name)
    state = next((state for state in m.holes if state.name == name), None)
    held = m.outcome.holding
    if not field or state is None or held is None:
        return Words(number or name)
    told = m.write(state.worst, HOLE) if state.known else "no estimate"
    return Words(number or name, "" if number else told, MARKS[state.verdict(held.target)])


def _weakest(m: Matter) -> str | None:
    return m.outcome.holding.weakest if m.outcome.holding is not None else None


def _first_corner(slab: Slab, to: To, field: bool) -> list[Box]:
    """Where the corner that places are measured from is marked."""
    x, y = to(slab.outline[0].x, slab.outline[0].y)
    return [] if field else [(x - 7.0, y - 7.0, x + 7.0, y + 7.0)]


def _suction_point(sketch: Sketch, at: Point) -> None:
    x, y = at
    sketch.circle(at, 5.4, 1.3, fill=PAPER)
    sketch.line((x - 8.5, y), (x + 8.5, y), 1.1)
    sketch.line((x, y - 8.5), (x, y + 8.5), 1.1)


def _walls(sketch: Sketch, slab: Slab, to: To) -> None:
    """Sides by how air comes in: heavy where sealed, double along a joint, dashed where open; zones and footings."""
    for zone in slab.zones:
        sketch.path([to(p.x, p.y) for p in zone.outline], 0.8, MUTED, "1.5 2", closed=True)
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


class Written(NamedTuple):
    """Words on the drawing itself: their middle, how far they are turned [°] and what they take."""

    words: str
    middle: Point
    turn: float
    box: Box
    color: str = INK

    def write(self, sketch: Sketch) -> None:
        """Write the words."""
        # the baseline is moved so that the words stand in the middle of their room
        lift = math.radians(self.turn + 90.0)
        at = (self.middle[0] + _DROP * math.cos(lift), self.middle[1] + _DROP * math.sin(lift))
        sketch.text(at, self.words, _TEXT, anchor="middle", turn=self.turn, color=self.color)


def _written(words: str, middle: Point, turn: float = 0.0, color: str = INK) -> Written:
    half, slant = breadth(words, _TEXT) / 2, math.radians(turn)
    w, h = abs(half * math.cos(slant)) + 5.0, abs(half * math.sin(slant)) + 5.0
    return Written(words, middle, turn, (middle[0] - w, middle[1] - h, middle[0] + w, middle[1] + h), color)


def _lengths(m: Matter, slab: Slab, to: To) -> list[Written]:
    """The length of every side that has room for it, outside it."""
    sides, found = _sides_of(slab), []
    outside = out_of(sides)
    for side in sides:
        p, q = to(*side[0]), to(*side[1])
        words = feet_and_inches(m, math.dist(*side))
        if math.dist(p, q) >= breadth(words, _TEXT) + 4.0:
            dx, dy = across(side, outside)
            middle = ((p[0] + q[0]) / 2 + 10.0 * dx, (p[1] + q[1]) / 2 + 10.0 * dy)
            found.append(_written(words, middle, turn_of(side)))
    return found


def _zone_names(slab: Slab, to: To) -> list[Written]:
    found = []
    for zone in slab.zones:
        x, y = np.array(corners(zone.outline)).mean(axis=0)
        found.append(_written(shortened(zone.name, _TEXT, 90.0), to(float(x), float(y)), color=MUTED))
    return found


def _scale_bar(sketch: Sketch, m: Matter, scale: float) -> None:
    unit = 0.3048 if m.unit("length") == "ft" else 1.0
    bar = round_length(45.0 / scale, unit)
    length, y = bar * scale, sketch.height - 8.0
    sketch.rect(_SIDE, y, length / 2, 4.0, 0.8, fill=INK)
    sketch.rect(_SIDE + length / 2, y, length / 2, 4.0, 0.8, fill=PAPER)
    sketch.text((_SIDE + length + 5.0, y + 5.0), f"{bar / unit:g} {m.unit('length')}", 8.0)


# --- the field --------------------------------------------------------------------------------------------------------


def floor_map(m: Matter) -> FloorMap | None:
    """The field at the answer."""
    from workbench.solving.report.floor_map import plan_at

    return plan_at(m.prepared, m.outcome)


def _field(sketch: Sketch, m: Matter, slab: Slab, to: To, taken: list[Box]) -> None:
    shown = floor_map(m)
    if shown is None:
        return
    carried = Carried(shown.field)
    values = carried.values(shown.worst)
    traced, bounds = carried.traced(values), levels(m.system)

    def drawn(line: Array) -> Array:
        return np.array([to(float(x), float(y)) for x, y in line])

    sketch.clipped([to(p.x, p.y) for p in slab.outline])
    edges = [-np.inf, *bounds, np.inf]
    for (low, high), color in zip(pairwise(edges), shades("light", len(bounds)), strict=True):
        if ((values > low) & (values <= high)).any():
            for rings in traced.areas(low, high):
                sketch.area([[to(float(x), float(y)) for x, y in ring] for ring in rings], color)
    contours = [[drawn(line) for line in traced.lines(float(level))] for level in bounds]
    for lines in contours:
        for line in lines:
            sketch.path([(float(x), float(y)) for x, y in line], 0.45, "#6E8796")
    sketch.unclipped()
    words = [f"{to_display(float(level), HOLE, m.system):g}" for level in bounds]
    x, y = shown.field.centres[int(shown.worst.argmax())]
    spine = to(float(x), float(y)), to(*shown.worst_coverage.place)
    outline = [to(p.x, p.y) for p in slab.outline]
    placed = place_values(contours, [(breadth(each, _TEXT) + 4.0, 10.0) for each in words], outline, spine, taken)
    for i, box in placed.items():
        middle = ((box[0] + box[2]) / 2.0, (box[1] + box[3]) / 2.0 + _DROP)
        sketch.text(middle, words[i], _TEXT, anchor="middle")
