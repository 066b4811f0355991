"""Where each part of a design stands in a section through the house: geometry alone.

The drawing plane is in metres, x to the right and y up from the top of the slab. Heights follow the rises of the
runs; breadths are schematic: a run's level share (its length less its rise) grows with the square root, so that
one long run does not crowd out the rest. What has no size of its own, such as the fan, is measured in `unit`, a
hundredth of the drawing's height.

Branches are nested so that they do not cross: the air moves to the right, and the side leg of every junction runs
in a lane below the straight one and comes up into it.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Callable, Iterator
from functools import cached_property
from itertools import pairwise
from typing import Literal

from msgspec import Struct

from workbench.design.catalogue import fitting_kinds
from workbench.design.design import Design
from workbench.design.ground import SuctionPoint
from workbench.design.pipework import Junction, Leg, Run
from workbench.design.record import Address
from workbench.physics.ground import hemisphere_radius

Point = tuple[float, float]
Kind = Literal["house", "pit", "run", "fitting", "junction", "fan", "outlet"]

MANY_POINTS = 4
"""With more suction points than this the ground is drawn deeper, for two rows of words."""
FAN: Address = ("fan",)
HOUSE: Address = ("house",)

# in units
_GROUND_SHARE = 27.0
_DEEP_GROUND_SHARE = 37.0
_MARGIN = 5.0
_PAD = 5.0
_BASE = 5.0
_LANE = 6.5
_FAN_RADIUS = 3.6
_LEAST_RUN = 8.0
_PIT_RADIUS = 3.4
_LARGEST_PIT = 10.0
_ABOVE_ROOF = 5.0
_BESIDE_WALL = 8.0
_BORE = 2.3
# in steps across
_COLUMN = 0.6
_GAP = 0.9
_LONGEST = 3.2
_JOG = 0.7
_STEP_LIMIT = 20.0

_USUAL_PIT = 0.237
"""Radius of the pit of 28 L that the drawing's scale of pits is set by. [m]"""
_USUAL_BORE = 0.1
_GENTLE = 0.2
"""Rise over level share up to which a run is drawn as one sloping line."""
_NEAR_EAVES = 0.3


class PartShape(Struct, frozen=True):
    """One part in the drawing plane.

    `points` is the line of a run, the outline of the house or the centre of anything else; a fitting has a second
    point that shows the way of the air. `size` is a radius, or the drawn bore of a run. `words` is what is written on
    a fitting: its count where there are several.
    """

    kind: Kind
    address: Address
    points: tuple[Point, ...]
    size: float = 0.0
    words: str = ""
    group: str = ""


class Frame(Struct, frozen=True):
    """The house cut open: its walls, the heights of its floors, eaves and ridge, and where the ridge stands."""

    left: float
    right: float
    floors: tuple[float, ...]
    eaves: float
    ridge: float
    ridge_at: float
    slab: float
    grade: float
    """How far the ground outside reaches above the slab. [m]"""

    def roof(self, x: float) -> float:
        """Height of the roof over a place; minus infinity beside the house."""
        if not self.left <= x <= self.right:
            return -math.inf
        run = (self.ridge_at - self.left) if x <= self.ridge_at else (self.right - self.ridge_at)
        return self.ridge - (self.ridge - self.eaves) * abs(x - self.ridge_at) / run


class Layout(Struct, frozen=True, dict=True):
    """A section: its bounds (left, bottom, right, top), what stands in it, and its parts in the order of the air."""

    bounds: tuple[float, float, float, float]
    unit: float
    frame: Frame
    shapes: tuple[PartShape, ...]
    order: tuple[Address, ...]

    @cached_property
    def _by_address(self) -> dict[Address, PartShape]:
        # the outlet shares the address of the last run, which is the part
        return {shape.address: shape for shape in self.shapes if shape.kind != "outlet"}

    def at(self, address: Address) -> PartShape | None:
        """The shape of a part, if it is drawn."""
        return self._by_address.get(address)

    def of(self, *kinds: Kind) -> Iterator[PartShape]:
        """Shapes of some kinds, in the order they were laid."""
        return (shape for shape in self.shapes if shape.kind in kinds)


def order_of_air(design: Design) -> tuple[Address, ...]:
    """Suction points, runs and junctions as the air meets them, then the fan, the discharge and the house."""

    def leg(address: Address, record: Leg) -> Iterator[Address]:
        source = (*address, "source")
        if isinstance(record.source, Junction):
            yield from leg((*source, "straight"), record.source.straight)
            yield from leg((*source, "side"), record.source.side)
        yield source
        yield from ((*address, "runs", i) for i in range(len(record.runs)))

    discharge = (("discharge", i) for i in range(len(design.discharge)))
    return (*leg(("intake",), design.intake), FAN, *discharge, HOUSE)


def lay_out(design: Design, aspect: float = 1.3) -> Layout:
    """Lay a design out in a drawing of a given breadth over height."""
    return _Layer(design, aspect).layout()


class _Vertex(Struct):
    """A corner of a line, across in steps: inside from the left, outside from the wall."""

    across: float
    up: float
    outside: bool = False


class _Line(Struct):
    address: Address
    run: Run
    vertices: list[_Vertex]


class _Cursor(Struct):
    """Where the air has come to: across, drawn height and true height above the slab."""

    across: float
    up: float
    height: float
    outside: bool = False
    fresh: bool = False
    climbing: bool = False


class _Layer:
    def __init__(self, design: Design, aspect: float) -> None:
        self.design, self.aspect = design, aspect
        house = design.house
        self.eaves = house.storeys * house.storey_height
        self.ridge = self.eaves + house.roof_height
        runs = [*_straight_way(design.intake), *design.discharge]
        top, height = self.ridge, 0.0
        for run in runs:
            height += run.rise
            top = max(top, self._squash(height))
        points = sum(1 for _ in design.suction_points())
        self.ground_share = _GROUND_SHARE if points <= MANY_POINTS else _DEEP_GROUND_SHARE
        self.unit = top / (100.0 - self.ground_share - 2.0 * _MARGIN)
        self.lines: list[_Line] = []
        self.pits: list[tuple[Address, SuctionPoint, _Vertex]] = []
        self.joints: list[tuple[Address, _Vertex]] = []

    def _squash(self, height: float) -> float:
        """Drawn height: true up to a little above the ridge, then ever more pressed together."""
        limit = self.ridge + 3.0
        return height if height <= limit else limit + 2.0 * math.log1p((height - limit) / 2.0)

    # -- the pipe, in steps across -----------------------------------------------------------------------------

    def layout(self) -> Layout:
        unit, design = self.unit, self.design
        under_roof = design.intake.runs[-1].surroundings != "outdoors"
        ceiling = self.ridge - (_FAN_RADIUS + 2.0) * unit if under_roof else math.inf
        cursor = self._leg(("intake",), design.intake, 0.0, 0.0, max(ceiling, self._floor(design.intake)))
        self._fan_outside(cursor)
        fan = _Vertex(cursor.across, cursor.up, cursor.outside)
        for i, run in enumerate(design.discharge):
            self._arrange(("discharge", i), run, cursor, _BASE * unit, math.inf, first=i == 0)
        return self._placed(fan)

    def _floor(self, leg: Leg) -> float:
        return (_BASE + _LANE * _lanes(leg)) * self.unit

    def _leg(self, address: Address, leg: Leg, across: float, floor: float, ceiling: float) -> _Cursor:
        """Lay a leg with all that feeds it, from `across` to the right, its end between two heights."""
        floor = max(floor, self._floor(leg))
        source = (*address, "source")
        if isinstance(leg.source, SuctionPoint):
            across += _COLUMN
            cursor = _Cursor(across, -1.5 * self.unit, 0.0, fresh=True)
            self.pits.append((source, leg.source, _Vertex(across, 0.0)))
        else:
            cursor = self._junction(source, leg.source, across, floor, ceiling)
        for i, run in enumerate(leg.runs):
            self._arrange((*address, "runs", i), run, cursor, floor, ceiling, last=i == len(leg.runs) - 1)
        return cursor

    def _junction(self, source: Address, junction: Junction, across: float, floor: float, ceiling: float) -> _Cursor:
        start = len(self.lines)
        cursor = self._leg((*source, "straight"), junction.straight, across, floor, ceiling)
        straight = self.lines[-1]
        lane = cursor.up - _LANE * self.unit
        low = [
            max(a.across, b.across)
            for line in self.lines[start:]
            for a, b in pairwise(line.vertices)
            if min(a.up, b.up) < lane + 0.5 * _LANE * self.unit
        ]
        side_lines, side_pits, side_joints = len(self.lines), len(self.pits), len(self.joints)
        side = self._leg((*source, "side"), junction.side, max(low, default=across) + _GAP, 0.0, lane)
        shift = max(0.0, cursor.across - side.across)
        for vertex in (
            *(v for line in self.lines[side_lines:] for v in line.vertices),
            *(v for _, _, v in self.pits[side_pits:]),
            *(v for _, v in self.joints[side_joints:]),
        ):
            vertex.across += shift
        meeting = side.across + shift
        if meeting > cursor.across:
            straight.vertices.append(_Vertex(meeting, cursor.up))
        self.lines[-1].vertices.append(_Vertex(meeting, cursor.up))
        self.joints.append((source, _Vertex(meeting, cursor.up)))
        return _Cursor(meeting, cursor.up, cursor.height)

    def _arrange(
        self,
        address: Address,
        run: Run,
        at: _Cursor,
        floor: float,
        ceiling: float,
        *,
        first: bool = False,
        last: bool = False,
    ) -> None:
        """Lay one run from the cursor and move the cursor to its end."""
        level = max(run.length - abs(run.rise), 0.0)
        step = min(math.sqrt(level), _LONGEST) if level > 0.05 else 0.0
        least = _LEAST_RUN * self.unit if first or last else 0.5 * _LEAST_RUN * self.unit
        at.height += run.rise
        up = min(max(self._squash(at.height), floor), ceiling)
        vertices = [_Vertex(at.across, at.up, at.outside)]

        def go(across: float, height: float) -> None:
            at.across, at.up = across, height
            vertices.append(_Vertex(across, height, at.outside))

        if at.fresh:
            go(at.across, max(up, floor))
        on_trunk = address[0] == "discharge" or address[1] == "runs"
        if on_trunk and run.surroundings == "outdoors" and not at.outside and at.up < self.eaves - _NEAR_EAVES:
            at.outside = True
            go(0.0, at.up)
            step = 0.0
        if at.fresh:
            at.fresh = False
            if step:
                go(at.across + step, at.up)
        elif abs(run.rise) <= _GENTLE * level:
            # from where the line is drawn, which lanes may have lifted, so that a level run looks level
            go(at.across + max(step, _JOG), min(max(at.up + run.rise, floor), ceiling))
        elif run.rise > 0.0:
            # a climb is drawn as one, also where what came before had to be drawn higher than it is
            wanted = at.up + (least if address[0] == "discharge" else 0.5 * least)
            up = max(up, min(wanted, ceiling), at.up)
            if up - at.up < 0.25 * least or not at.climbing:
                step = max(step, _JOG)
            if step:
                go(at.across + step, at.up)
            go(at.across, up)
        else:
            step = max(step, 2.0 * _JOG)
            go(at.across + 0.5 * step, at.up)
            go(at.across, min(max(min(up, at.up - 0.5 * least), floor), at.up))
            go(at.across + 0.5 * step, at.up)
        at.climbing = run.rise >= 0.0
        self.lines.append(_Line(address, run, _without_repeats(vertices)))

    def _fan_outside(self, cursor: _Cursor) -> None:
        """A fan whose discharge starts outdoors below the eaves hangs outside the wall."""
        after = self.design.discharge[0]
        if after.surroundings == "outdoors" and not cursor.outside and cursor.up < self.eaves - _NEAR_EAVES:
            cursor.across, cursor.outside = 0.0, True
            self.lines[-1].vertices.append(_Vertex(0.0, cursor.up, True))

    # -- into metres -------------------------------------------------------------------------------------------

    def _placed(self, fan: _Vertex) -> Layout:
        unit = self.unit
        height = 100.0 * unit
        breadth = height * self.aspect
        vertices = [v for line in self.lines for v in line.vertices]
        inside = [v.across for v in vertices if not v.outside]
        outside = [v.across for v in vertices if v.outside]
        ends_inside = not self.lines[-1].vertices[-1].outside
        margin = _MARGIN * unit
        yard = 22.0 * unit if outside or (ends_inside and self._ends_low()) else 0.0
        left, right = margin + 2.0 * unit, breadth - margin - 2.0 * unit - yard
        room = right - left - 2.0 * _PAD * unit
        most = max(inside) + _COLUMN
        trunk = fan.across if not fan.outside else max(inside)
        scale = min(room / most, _STEP_LIMIT * unit)
        if not fan.outside:
            scale = min(scale, (0.74 * (right - left) - _PAD * unit) / max(trunk, 1e-9))
        start = left + _PAD * unit + max(0.0, min((room - scale * most) / 2.0, 0.6 * (right - left) - scale * trunk))
        wall = right + _BESIDE_WALL * unit
        out_scale = min(scale, (breadth - margin - wall) / max(max(outside, default=0.0), 1e-9))

        def place(v: _Vertex) -> Point:
            return (wall + out_scale * v.across if v.outside else start + scale * v.across, v.up)

        trunk_x = place(fan)[0]
        ridge_at = min(max(trunk_x, left + 0.25 * (right - left)), right - 0.25 * (right - left))
        house = self.design.house
        frame = Frame(
            left=left,
            right=right,
            floors=tuple(i * house.storey_height for i in range(1, house.storeys)),
            eaves=self.eaves,
            ridge=self.ridge,
            ridge_at=ridge_at,
            slab=min(max(house.slab_thickness, 1.2 * unit), 3.0 * unit),
            grade=min(house.below_grade, 0.9 * self.eaves),
        )
        paths = [[place(v) for v in line.vertices] for line in self.lines]
        self._let_out(paths, frame)
        shapes = tuple(self._shapes(paths, place(fan), frame, place))
        top = max(self.ridge, *(y for path in paths for _, y in path))
        bounds = (0.0, -self.ground_share * unit, breadth, top + 2.0 * _MARGIN * unit)
        return Layout(bounds, unit, frame, shapes, order_of_air(self.design))

    def _ends_low(self) -> bool:
        return self.lines[-1].vertices[-1].up < self.eaves - _NEAR_EAVES

    def _let_out(self, paths: list[list[Point]], frame: Frame) -> None:
        """Bring the end of the discharge above the roof, or through the wall where it is far below."""
        x, y = paths[-1][-1]
        least = frame.roof(x) + _ABOVE_ROOF * self.unit
        if y >= least:
            return
        if self._ends_low():
            paths[-1].append((frame.right + 0.6 * _BESIDE_WALL * self.unit, y))
            return
        for line, path in zip(self.lines, paths, strict=True):
            if line.address[0] == "discharge":
                path[1:] = [(px, least if py >= y - 1e-9 else py) for px, py in path[1:]]
                if line.address[1] != 0 and path[0][1] >= y - 1e-9:
                    path[0] = (path[0][0], least)
        if paths[-1][-1][1] == paths[-1][0][1] == y:
            paths[-1].append((x, least))

    def _shapes(
        self, paths: list[list[Point]], fan: Point, frame: Frame, place: Callable[[_Vertex], Point]
    ) -> Iterator[PartShape]:
        unit = self.unit
        outline = (
            (frame.left, 0.0),
            (frame.left, frame.eaves),
            (frame.ridge_at, frame.ridge),
            (frame.right, frame.eaves),
            (frame.right, 0.0),
        )
        yield PartShape("house", HOUSE, outline)
        centres = [(address, point, place(vertex)[0]) for address, point, vertex in self.pits]
        yield from self._pits(centres, frame)
        for line, path in zip(self.lines, paths, strict=True):
            bore = _BORE * unit * line.run.pipe.inside_diameter / _USUAL_BORE
            yield PartShape("run", line.address, tuple(path), min(max(bore, 0.9 * unit), 5.0 * unit))
        for line, path in zip(self.lines, paths, strict=True):
            yield from _fittings(line.address, line.run, path, unit)
        for address, vertex in self.joints:
            yield PartShape("junction", address, (place(vertex),), 1.5 * unit)
        yield PartShape("fan", FAN, (fan,), _FAN_RADIUS * unit)
        last = paths[-1]
        yield PartShape("outlet", self.lines[-1].address, (last[-1], _onward(last[-2], last[-1], unit)), 2.0 * unit)

    def _pits(self, centres: list[tuple[Address, SuctionPoint, float]], frame: Frame) -> Iterator[PartShape]:
        """Pits as half balls of their volume, all at one scale that lets none touch its neighbour."""
        radii = [float(hemisphere_radius(point.pit_volume)) for _, point, _ in centres]
        scale = min(_PIT_RADIUS / _USUAL_PIT, _LARGEST_PIT / max(radii)) * self.unit
        across = sorted((x, r) for (_, _, x), r in zip(centres, radii, strict=True))
        for (x, r), (next_x, next_r) in pairwise(across):
            scale = min(scale, 0.9 * (next_x - x) / (r + next_r))
        for (address, _, x), radius in zip(centres, radii, strict=True):
            yield PartShape("pit", address, ((x, -frame.slab),), radius * scale)


def _straight_way(leg: Leg) -> Iterator[Run]:
    if isinstance(leg.source, Junction):
        yield from _straight_way(leg.source.straight)
    yield from leg.runs


def _lanes(leg: Leg) -> int:
    """How many lanes of side legs run below this leg."""
    if isinstance(leg.source, Junction):
        return max(_lanes(leg.source.straight), _lanes(leg.source.side) + 1)
    return 0


def _without_repeats(vertices: list[_Vertex]) -> list[_Vertex]:
    kept = vertices[:1]
    for v in vertices[1:]:
        before = kept[-1]
        if v.outside != before.outside or abs(v.across - before.across) + abs(v.up - before.up) > 1e-9:
            kept.append(v)
    return kept


def _onward(before: Point, end: Point, by: float) -> Point:
    length = math.dist(before, end) or 1.0
    return end[0] + by * (end[0] - before[0]) / length, end[1] + by * (end[1] - before[1]) / length


def along(path: list[Point] | tuple[Point, ...], share: float) -> tuple[Point, Point]:
    """The place at a share of a line's length, and the way the line goes there (a unit vector)."""
    lengths = [0.0]
    for a, b in pairwise(path):
        lengths.append(lengths[-1] + math.dist(a, b))
    wanted = min(max(share, 0.0), 1.0) * lengths[-1]
    i = min(max(bisect_left(lengths, wanted), 1), len(path) - 1)
    a, b = path[i - 1], path[i]
    piece = math.dist(a, b) or 1.0
    t = (wanted - lengths[i - 1]) / piece
    way = ((b[0] - a[0]) / piece, (b[1] - a[1]) / piece)
    return (a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])), way


def _fittings(address: Address, run: Run, path: list[Point], unit: float) -> Iterator[PartShape]:
    """One mark for each row of fittings: bends at the corners, entrances first, outlets last, others between."""
    length = sum(math.dist(a, b) for a, b in pairwise(path)) or 1.0
    corners, walked = [], 0.0
    for a, b in pairwise(path[:-1]):
        walked += math.dist(a, b)
        corners.append(walked / length)
    groups = [_group(fitting.kind) for fitting in run.fittings]
    free = [i for i, group in enumerate(groups) if group == "in line" or (group == "bend")]
    bends = [i for i in free if groups[i] == "bend"]
    at_corner = dict(zip(bends, corners, strict=False))
    others = [i for i in free if i not in at_corner]
    for i, fitting in enumerate(run.fittings):
        if groups[i] == "entrance":
            share = min(1.5 * unit / length, 0.2)
        elif groups[i] == "outlet":
            share = 1.0 - min(1.5 * unit / length, 0.2)
        elif i in at_corner:
            share = at_corner[i]
        else:
            share = _widest(corners, others.index(i), len(others))
        place, way = along(path, share)
        words = f"×{fitting.count}" if fitting.count > 1 else ""
        ahead = (place[0] + unit * way[0], place[1] + unit * way[1])
        yield PartShape("fitting", (*address, "fittings", i), (place, ahead), 1.4 * unit, words, groups[i])


def _group(kind: str) -> str:
    known = fitting_kinds().get(kind)
    return known.group if known is not None else "in line"


def _widest(corners: list[float], position: int, count: int) -> float:
    """Places spread evenly over the longest straight piece between corners."""
    ends = [0.0, *corners, 1.0]
    a, b = max(pairwise(ends), key=lambda piece: piece[1] - piece[0])
    return a + (b - a) * (position + 1) / (count + 1)
