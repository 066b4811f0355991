"""The floor as it is drawn right now: what the design says, and what a hand is about to change in it.

A sketch holds places only. It needs not hang together: a corner may be dragged across a wall, and what is wrong is said
when it is proposed.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from msgspec import Struct, field
from PySide6.QtCore import QPointF

from workbench.design.design import Design
from workbench.design.record import Address
from workbench.design.slab import Edge
from workbench.gui.plan.frame import Place, PlanFrame, pairs
from workbench.physics.ground import hemisphere_radius

OUTLINE: Address = ("slab", "outline")
SLAB: Address = ("slab",)

_REACH = 9.0
"""How far from a corner, a side or a mark the pointer may be. [px]"""


class Spot(Struct):
    """A suction point or a test hole: its name, its place, and the radius of its pit (0 for a hole). [m]"""

    name: str
    place: Place
    radius: float = 0.0


class Sketch(Struct):
    """Lines of corners by address, spots by address, the edge of every side of the floor."""

    lines: dict[Address, list[Place]] = field(default_factory=dict)
    names: dict[Address, str] = field(default_factory=dict)
    edges: list[Edge] = field(default_factory=list)
    spots: dict[Address, Spot] = field(default_factory=dict)
    waiting: dict[Address, str] = field(default_factory=dict)

    @property
    def outline(self) -> list[Place]:
        """Corners of the floor; empty before there is one."""
        return self.lines.get(OUTLINE, [])

    def is_another(self, before: Sketch) -> bool:
        """Whether this is another floor, as when a file is opened: most of its corners were not there before."""
        return 2 * len(set(self.outline) & set(before.outline)) < len(self.outline)

    def spot_names(self) -> dict[Address, str]:
        """What each point and hole is called."""
        return {address: spot.name for address, spot in self.spots.items()}

    def sides(self, line: Address) -> list[tuple[Place, Place]]:
        """Both ends of every side of a line."""
        corners = self.lines[line]
        ends = list(zip(corners, [*corners[1:], corners[0]], strict=True))
        return ends if line[-1] == "outline" else ends[:-1]

    def parts(self) -> list[Address]:
        """Everything that can be picked, as Tab walks it: spots, the floor, its sides and corners, the rest."""
        found: list[Address] = [*self.spots]
        if self.outline:
            found.append(SLAB)
            found += [("slab", "edges", i) for i in range(len(self.outline))]
            found += [(*OUTLINE, i) for i in range(len(self.outline))]
        for line, corners in self.lines.items():
            if line != OUTLINE:
                found.append(line[:-1])
                found += [(*line, i) for i in range(len(corners))]
        return found

    def place_of(self, part: Address) -> Place | None:
        """Where a part stands: a spot, a corner, the middle of a side, of the floor, or of a zone or footing."""
        if part in self.spots:
            return self.spots[part].place
        if part[:2] == ("slab", "edges"):
            sides = self.sides(OUTLINE) if self.outline else []
            if int(part[2]) < len(sides):
                a, b = sides[int(part[2])]
                return (a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0
            return None
        if part[:-1] in self.lines:
            corners, at = self.lines[part[:-1]], int(part[-1])
            return corners[at] if at < len(corners) else None
        line = self.line_of(part)
        if line is None or not self.lines.get(line):
            return None
        corners = self.lines[line]
        if line[-1] == "line":
            a, b = corners[(len(corners) - 1) // 2], corners[(len(corners) - 1) // 2 + 1]
            return (a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0
        return sum(x for x, _ in corners) / len(corners), sum(y for _, y in corners) / len(corners)

    def line_of(self, part: Address) -> Address | None:
        """The line that belongs to the floor, a zone or a footing as a whole."""
        for end in ("outline", "line"):
            if (*part, end) in self.lines:
                return (*part, end)
        return None

    def neighbours(self, part: Address | None) -> Iterator[Place]:
        """Places that a moving part lines up with: all other corners and spots."""
        for line, corners in self.lines.items():
            for i, corner in enumerate(corners):
                if (*line, i) != part:
                    yield corner
        for address, spot in self.spots.items():
            if address != part:
                yield spot.place


def sketch_of(design: Design) -> Sketch:
    """The floor of a design. What has no place yet waits beside the plan."""
    sketch = Sketch()
    slab = design.slab
    if slab is not None:
        sketch.lines[OUTLINE] = pairs(slab.outline)
        sketch.edges = [slab.edge(i) for i in range(len(slab.outline))]
        for i, zone in enumerate(slab.zones):
            sketch.lines["slab", "zones", i, "outline"] = pairs(zone.outline)
            sketch.names["slab", "zones", i] = zone.name
        for i, footing in enumerate(slab.footings):
            sketch.lines["slab", "footings", i, "line"] = pairs(footing.line)
            sketch.names["slab", "footings", i] = footing.name
    for address, point in design.suction_points():
        radius = float(hemisphere_radius(point.pit_volume))
        if point.position is None:
            sketch.waiting[address] = point.name
        else:
            sketch.spots[address] = Spot(point.name, (point.position.x, point.position.y), radius)
    for i, hole in enumerate(design.holes):
        if hole.position is None:
            sketch.waiting["holes", i] = hole.name
        else:
            sketch.spots["holes", i] = Spot(hole.name, (hole.position.x, hole.position.y))
    return sketch


def part_under(sketch: Sketch, frame: PlanFrame, at: QPointF) -> Address | None:
    """The part under the pointer: marks before corners, corners before sides, lines before what they enclose."""
    best: tuple[float, Address] | None = None
    for address, spot in sketch.spots.items():
        off = _apart(frame.pixels(spot.place), at) - max(spot.radius * frame.scale - _REACH, 0.0)
        if off <= _REACH and (best is None or off < best[0]):
            best = (off, address)
    for line, corners in sketch.lines.items():
        for i, corner in enumerate(corners):
            off = _apart(frame.pixels(corner), at)
            if off <= _REACH and (best is None or off < best[0]):
                best = (off, (*line, i))
    if best is not None:
        return best[1]
    near = side_under(sketch, frame, at)
    if near is not None:
        line, side = near
        return ("slab", "edges", side) if line == OUTLINE else line[:-1]
    place = frame.metres(at)
    for line in reversed(list(sketch.lines)):
        if line[-1] == "outline" and inside(sketch.lines[line], place):
            return line[:-1]
    return None


def side_under(sketch: Sketch, frame: PlanFrame, at: QPointF) -> tuple[Address, int] | None:
    """The side of a line under the pointer, the nearest within reach."""
    best: tuple[float, Address, int] | None = None
    for line in sketch.lines:
        for i, (a, b) in enumerate(sketch.sides(line)):
            off = _from_segment(at, frame.pixels(a), frame.pixels(b))
            if off <= _REACH and (best is None or off < best[0]):
                best = (off, line, i)
    return None if best is None else best[1:]


def inside(corners: list[Place], place: Place) -> bool:
    """Whether a place lies within a polygon, by the parity of crossings."""
    x, y = place
    found = False
    for (ax, ay), (bx, by) in zip(corners, [*corners[1:], corners[0]], strict=True):
        if (ay <= y) != (by <= y) and x < ax + (y - ay) * (bx - ax) / (by - ay):
            found = not found
    return found


def _apart(a: QPointF, b: QPointF) -> float:
    return math.hypot(a.x() - b.x(), a.y() - b.y())


def _from_segment(p: QPointF, a: QPointF, b: QPointF) -> float:
    d = b - a
    square = d.x() ** 2 + d.y() ** 2
    t = 0.0 if square == 0.0 else min(max(((p - a).x() * d.x() + (p - a).y() * d.y()) / square, 0.0), 1.0)
    return _apart(p, a + d * t)
