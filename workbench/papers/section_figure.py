"""The section through the house on paper, its runs tagged with the numbers of a table beside it."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from itertools import pairwise

from workbench.design.design import Design
from workbench.design.record import Address
from workbench.design.section_layout import Layout, along, lay_out, order_of_air
from workbench.papers.blocks import Figure
from workbench.papers.sketch import INK, MUTED, PAPER, Point, Sketch

_SHARES = (0.5, 0.38, 0.62, 0.25, 0.75, 0.15, 0.85)
_TAG = 6.4


def tags_of(design: Design) -> dict[Address, str]:
    """The tag of each suction point, A, B..., and of each run, 1, 2..., as the air meets them."""
    points = {address: _letters(i) for i, (address, _) in enumerate(design.suction_points())}
    runs = {address: str(i) for i, (address, _) in enumerate(sorted_runs(design), start=1)}
    return points | runs


def sorted_runs(design: Design) -> list[tuple[Address, str]]:
    """Runs with their names, in the order of the air."""
    names = {address: run.name for address, run in design.runs()}
    return [(address, names[address]) for address in order_of_air(design) if address in names]


def _letters(i: int) -> str:
    return chr(ord("A") + i) if i < 26 else f"{_letters(i // 26 - 1)}{_letters(i % 26)}"


class _Placed:
    """Tags placed so far, and lines that they had better not stand on."""

    def __init__(self, lines: list[list[Point]]) -> None:
        self.taken: list[Point] = []
        self._lines = lines

    def room(self, at: Point) -> float:
        """How far a place is from what is drawn: more is better."""
        apart = min((math.dist(at, other) - 2.2 * _TAG for other in self.taken), default=99.0)
        off = min((_to_line(at, a, b) for line in self._lines for a, b in pairwise(line)), default=99.0)
        return min(apart, off - _TAG - 1.5)


def _to_line(at: Point, a: Point, b: Point) -> float:
    length = math.dist(a, b) ** 2
    t = 0.0 if length == 0.0 else ((at[0] - a[0]) * (b[0] - a[0]) + (at[1] - a[1]) * (b[1] - a[1])) / length
    t = min(max(t, 0.0), 1.0)
    return math.dist(at, (a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])))


def section_figure(design: Design, width: float, height: float, words: Mapping[Address, str] | None = None) -> Figure:
    """The design cut open, `width` by `height` points; heights to scale, breadths schematic.

    `words` are written beside the tags of runs and points.
    """
    layout = lay_out(design, 0.85 * width / height)
    left, bottom, right, top = layout.bounds
    # below the pits there is nothing to see
    lowest = max((shape.size - shape.points[0][1] for shape in layout.of("pit")), default=0.0)
    bottom = max(bottom, -(lowest + (3.0 * _TAG + 4.0) * (top - bottom) / height))
    scale = min(width / (right - left), height / (top - bottom))

    def to(point: Point) -> Point:
        return ((point[0] - left) * scale, (top - point[1]) * scale)

    sketch = Sketch(width, (top - bottom) * scale)
    _ground(sketch, layout, bottom, to, scale)
    lines = _house(sketch, layout, to)
    runs = {shape.address: [to(p) for p in shape.points] for shape in layout.of("run")}
    bores = {shape.address: shape.size * scale for shape in layout.of("run")}
    for address, path in runs.items():
        sketch.path(path, bores[address] + 1.6)
    for address, path in runs.items():
        sketch.path(path, max(bores[address] - 0.4, 0.8), PAPER)
    for shape in layout.of("fitting"):
        sketch.circle(to(shape.points[0]), 1.5, 0.0, fill=INK)
    for shape in layout.of("junction"):
        sketch.circle(to(shape.points[0]), 2.4, 1.0, fill=PAPER)
    fan = _fan(sketch, layout, to, scale)
    placed = _Placed([*runs.values(), *lines])
    placed.taken.append(fan)
    tags = tags_of(design)
    for shape in layout.of("pit"):
        x, y = to(shape.points[0])
        _tag(sketch, placed, (x, y + shape.size * scale + _TAG + 3.0), tags[shape.address], words, shape.address)
    for address, path in runs.items():
        _tag(sketch, placed, _beside(placed, path), tags[address], words, address)
    names = "; ".join(f"{tags[address]} {run.name}" for address, run in design.runs())
    return sketch.figure(f"Section through the house: suction pit, pipe, fan and discharge. Runs: {names}")


def _ground(sketch: Sketch, layout: Layout, bottom: float, to: Callable[[Point], Point], scale: float) -> None:
    frame, (left, _, right, _) = layout.frame, layout.bounds
    grade = max(frame.grade, 0.0)
    corners = [(left, bottom), (left, grade), (frame.left, grade), (frame.left, 0.0), (frame.right, 0.0)]
    corners += [(frame.right, grade), (right, grade), (right, bottom)]
    sketch.path([to(p) for p in corners], 0.0, fill="#ECEBE7", closed=True)
    for side in ((left, frame.left), (frame.right, right)):
        sketch.line(to((side[0], grade)), to((side[1], grade)), 0.9)
    for shape in layout.of("pit"):
        x, y = to(shape.points[0])
        r = shape.size * scale
        arc = [(x + r * math.cos(math.pi * k / 24), y + r * math.sin(math.pi * k / 24)) for k in range(25)]
        sketch.path(arc, 0.9, fill=PAPER, closed=True)
    slab = [(frame.left, 0.0), (frame.right, 0.0), (frame.right, -frame.slab), (frame.left, -frame.slab)]
    sketch.path([to(p) for p in slab], 0.7, fill="#C4C8C7", closed=True)


def _house(sketch: Sketch, layout: Layout, to: Callable[[Point], Point]) -> list[list[Point]]:
    frame = layout.frame
    walls = [[to((x, 0.0)), to((x, frame.eaves))] for x in (frame.left, frame.right)]
    over = 0.03 * (frame.right - frame.left)
    drop = over * (frame.ridge - frame.eaves) / max(frame.ridge_at - frame.left, 1e-9)
    roof = [
        (frame.left - over, frame.eaves - drop),
        (frame.ridge_at, frame.ridge),
        (frame.right + over, frame.eaves - drop),
    ]
    lines = [*walls, [to(p) for p in roof]]
    floors = [[to((frame.left, y)), to((frame.right, y))] for y in (*frame.floors, frame.eaves)]
    for line in lines:
        sketch.path(line, 1.7, "#3A4446")
    for line in floors:
        sketch.path(line, 0.9, "#3A4446")
    return [*lines, *floors]


def _fan(sketch: Sketch, layout: Layout, to: Callable[[Point], Point], scale: float) -> Point:
    at: Point = (0.0, 0.0)
    for shape in layout.of("fan"):
        at = to(shape.points[0])
        radius = max(shape.size * scale, 6.0)
        sketch.circle(at, radius, 1.3, fill=PAPER)
        for blade in range(5):
            a = math.radians(90.0 + 72.0 * blade)
            tip = (at[0] + 0.75 * radius * math.cos(a), at[1] - 0.75 * radius * math.sin(a))
            sketch.line(at, tip, 1.6)
    for shape in layout.of("outlet"):
        end, ahead = (to(p) for p in shape.points)
        for turn in (-0.5, 0.0, 0.5):
            a = math.atan2(ahead[1] - end[1], ahead[0] - end[0]) + turn
            start = (end[0] + 3.0 * math.cos(a), end[1] + 3.0 * math.sin(a))
            sketch.line(start, (end[0] + 8.0 * math.cos(a), end[1] + 8.0 * math.sin(a)), 0.8, MUTED)
    return at


def _beside(placed: _Placed, path: list[Point]) -> Point:
    """The place beside a run with the most room, its middle first."""
    best, most = path[0], -math.inf
    for share in _SHARES:
        at, way = along(path, share)
        for sign in (1.0, -1.0):
            place = (at[0] - sign * way[1] * (_TAG + 6.5), at[1] + sign * way[0] * (_TAG + 6.5))
            room = min(placed.room(place), 3.0)
            if room > most + 0.5:
                best, most = place, room
    return best


def _tag(
    sketch: Sketch, placed: _Placed, at: Point, tag: str, words: Mapping[Address, str] | None, address: Address
) -> None:
    placed.taken.append(at)
    sketch.circle(at, _TAG, 0.9, fill=PAPER)
    sketch.text((at[0], at[1] + 2.9), tag, 8.0, bold=True, anchor="middle")
    said = "" if words is None else words.get(address, "")
    if said:
        sketch.text((at[0] + _TAG + 2.5, at[1] + 2.9), said, 8.0, halo=True)
