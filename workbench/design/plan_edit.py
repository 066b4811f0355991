"""Changes to the floor seen from above: corners, sides, zones, footings, and where points and holes stand.

Every function takes a design and gives a new one. Geometry that does not hang together raises ValueError or
pydantic.ValidationError with the sentence of the record that refused it. A line of corners is named by its address:
the outline of the floor, of a zone, or the line of a footing.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

from workbench.design.catalogue import fill_kinds
from workbench.design.design import Design
from workbench.design.edit import add_suction_point, free_name, remove_suction_point
from workbench.design.offered import RoundIn, begun, metric
from workbench.design.record import Address, item_at, value_at, with_value
from workbench.design.slab import Edge, Footing, PlanPicture, Position, Slab, TestHole, Zone

OUTLINE: Address = ("slab", "outline")

_PARALLEL = 1e-6
_SAME_WAY = 0.02
"""Sine up to which a side counts as running along another."""

Places = tuple[Position, ...]


def place(x: float, y: float) -> Position:
    """A position with its last bits rounded off, so that what is typed twice is equal. [m]"""
    return Position(x=round(x, 6), y=round(y, 6))


def is_closed(line: Address) -> bool:
    """Whether the last corner of a line joins the first."""
    return line[-1] == "outline"


def sides(places: Sequence[Position], *, closed: bool) -> list[tuple[Position, Position]]:
    """Both ends of every side."""
    ends = list(itertools.pairwise(places))
    return [*ends, (places[-1], places[0])] if closed else ends


def length(start: Position, end: Position) -> float:
    """Length of a side. [m]"""
    return math.hypot(end.x - start.x, end.y - start.y)


# --- the floor as a whole ---------------------------------------------------------------------------------------------


def start_rectangle(design: Design, width: float, depth: float, round_in: RoundIn = metric) -> Design:
    """A rectangular floor with its south-west corner at the origin. [m]"""
    if not (width > 0.0 and depth > 0.0):
        raise ValueError("both dimensions of the floor must be greater than 0")
    outline = (place(0, 0), place(width, 0), place(width, depth), place(0, depth))
    return draw_outline(design, outline, round_in=round_in)


def draw_outline(
    design: Design, outline: Places, picture: PlanPicture | None = None, round_in: RoundIn = metric
) -> Design:
    """A floor with this outline; one that was there keeps all else but the edges of its sides."""
    slab = design.slab
    if slab is None:
        return with_value(design, ("slab",), begun(Slab, round_in, outline=outline, picture=picture))
    kept = slab.edges if len(outline) == len(slab.outline) else ()
    return _with_slab(design, slab, {"outline": outline, "edges": kept, "picture": picture or slab.picture})


def remove_floor(design: Design) -> Design:
    """Take the drawing away; points and holes keep their places for another."""
    return with_value(design, ("slab",), None)


def _slab(design: Design) -> Slab:
    if design.slab is None:
        raise ValueError("no floor is drawn yet")
    return design.slab


def _with_slab(design: Design, slab: Slab, fields: dict[str, object]) -> Design:
    present = {name: getattr(slab, name) for name in Slab.model_fields}
    return with_value(design, ("slab",), Slab.model_validate(present | fields))


# --- corners and sides ------------------------------------------------------------------------------------------------


def move_corner(design: Design, line: Address, corner: int, to: Position) -> Design:
    """Put a corner somewhere else."""
    return with_value(design, (*line, corner), to)


def insert_corner(design: Design, line: Address, side: int, at: Position) -> Design:
    """Put a corner into a side; both halves of a side of the floor keep its edge."""
    corners: Places = value_at(design, line)
    item_at(corners, side, line)
    grown = (*corners[: side + 1], at, *corners[side + 1 :])
    if line != OUTLINE:
        return with_value(design, line, grown)
    slab = _slab(design)
    edges = (*slab.edges[: side + 1], slab.edges[side], *slab.edges[side + 1 :]) if slab.edges else ()
    return _with_slab(design, slab, {"outline": grown, "edges": edges})


def remove_corner(design: Design, line: Address, corner: int) -> Design:
    """Take a corner away; of the two sides of the floor that met there, the first gives the joined one its edge.

    Raises ValueError for one of the last three corners of an outline, or the last two of a footing.
    """
    corners: Places = value_at(design, line)
    item_at(corners, corner, line)
    least = 3 if is_closed(line) else 2
    if len(corners) <= least:
        raise ValueError("an outline needs three corners" if least == 3 else "a footing needs two ends")
    left = (*corners[:corner], *corners[corner + 1 :])
    if line != OUTLINE:
        return with_value(design, line, left)
    slab = _slab(design)
    edges = (*slab.edges[:corner], *slab.edges[corner + 1 :]) if slab.edges else ()
    return _with_slab(design, slab, {"outline": left, "edges": edges})


def set_side_length(design: Design, line: Address, side: int, wanted: float) -> Design:
    """Give a side a length [m]: its end moves along it, and takes with it the sides up to the next that runs along.

    So the angles of a rectangle, or of any floor with square corners, stay square. Where no side runs along, the end
    alone moves.
    """
    corners: Places = value_at(design, line)
    item_at(corners, side, line)
    return with_value(design, line, stretched(corners, side, wanted, closed=is_closed(line)))


def stretched(corners: Places, side: int, wanted: float, *, closed: bool) -> Places:
    """The corners after a side was given another length. [m]"""
    if not wanted > 0.0:
        raise ValueError("a side must be longer than 0")
    count = len(corners)
    start, end = corners[side], corners[(side + 1) % count]
    present = length(start, end)
    way = ((end.x - start.x) / present, (end.y - start.y) / present)
    by = wanted - present
    moved = set(_carried(corners, side, way, closed=closed))
    return tuple(
        place(corner.x + by * way[0], corner.y + by * way[1]) if i in moved else corner
        for i, corner in enumerate(corners)
    )


def _carried(corners: Places, side: int, way: tuple[float, float], *, closed: bool) -> list[int]:
    count = len(corners)
    first = (side + 1) % count
    if not closed:
        # the rest of a footing goes along as it is
        return list(range(first, count))
    found = [first]
    at = first
    while (ahead := (at + 1) % count) != side:
        a, b = corners[at], corners[ahead]
        across = abs((b.x - a.x) * way[1] - (b.y - a.y) * way[0])
        if across <= _SAME_WAY * max(length(a, b), _PARALLEL):
            return found
        found.append(ahead)
        at = ahead
    return [first]


def edge_of(design: Design, side: int) -> Edge:
    """How air comes in along a side of the floor."""
    return _slab(design).edge(side)


def set_edge(design: Design, side: int, edge: Edge) -> Design:
    """Say how air comes in along a side of the floor."""
    slab = _slab(design)
    edges = [slab.edge(i) for i in range(len(slab.outline))]
    item_at(edges, side, OUTLINE)
    edges[side] = edge
    return _with_slab(design, slab, {"edges": tuple(edges)})


# --- zones and footings -----------------------------------------------------------------------------------------------


def add_zone(design: Design, outline: Places) -> Design:
    """A part of the floor with a fill of its own, the last of the zones."""
    slab = _slab(design)
    zone = Zone(name=free_name("Zone", (z.name for z in slab.zones)), outline=outline)
    return _with_slab(design, slab, {"zones": (*slab.zones, zone)})


def _floor_permeability(slab: Slab) -> float:
    return slab.permeability or fill_kinds()[slab.fill].permeability


def fill_zone(design: Design, zone: int, kind: str) -> Design:
    """Give a zone a class of fill: its permeability, as a multiple of the floor's, to start from."""
    slab = _slab(design)
    factor = fill_kinds()[kind].permeability / _floor_permeability(slab)
    # no more figures than a class has
    return with_value(design, ("slab", "zones", zone, "permeability_factor"), float(f"{factor:.3g}"))


def fill_of_zone(slab: Slab, zone: int) -> str | None:
    """The class of fill whose permeability a zone has; None where another was entered."""
    found = _floor_permeability(slab) * slab.zones[zone].permeability_factor
    kinds = fill_kinds().items()
    return next((name for name, kind in kinds if math.isclose(kind.permeability, found, rel_tol=6e-3)), None)


def add_footing(design: Design, line: Places) -> Design:
    """A wall or beam that reaches down through the fill, the last of the footings."""
    slab = _slab(design)
    footing = Footing(name=free_name("Footing", (f.name for f in slab.footings)), line=line)
    return _with_slab(design, slab, {"footings": (*slab.footings, footing)})


def move_line(design: Design, line: Address, east: float, north: float) -> Design:
    """Move all corners of a line by as much. [m]"""
    corners: Places = value_at(design, line)
    return with_value(design, line, tuple(place(c.x + east, c.y + north) for c in corners))


# --- suction points and test holes ------------------------------------------------------------------------------------


def stand(design: Design, part: Address, at: Position | None) -> Design:
    """Put a suction point or a test hole at a place, or take it off the plan."""
    return with_value(design, (*part, "position"), at)


def add_hole(design: Design, at: Position | None) -> Design:
    """A test hole under the next free letter, the last of the holes."""
    taken = {hole.name for hole in design.holes}
    letters = (chr(ord("A") + i) for i in range(26))
    name = next((letter for letter in letters if letter not in taken), free_name("Hole", taken))
    return with_value(design, ("holes",), (*design.holes, TestHole(name=name, position=at)))


def add_point(design: Design, at: Position) -> Design:
    """A suction point at a place, teed into the leg of the one that stands nearest, its ground untested."""
    known = [(address, point) for address, point in design.suction_points()]
    standing = [(length(point.position, at), address) for address, point in known if point.position is not None]
    near = min(standing)[1] if standing else known[0][0]
    return add_suction_point(design, near[:-1], at)


# --- any part ---------------------------------------------------------------------------------------------------------


def remove_part(design: Design, part: Address) -> Design:
    """Take away a corner, a zone, a footing, a test hole, a suction point, the picture, or the floor.

    Raises ValueError for what cannot go, as the only suction point or a side.
    """
    if part == ("slab",):
        return remove_floor(design)
    if part == ("slab", "picture"):
        return with_value(design, part, None)
    if part[-1] == "source":
        return remove_suction_point(design, part)
    if part[:2] == ("slab", "edges"):
        raise ValueError("a side goes when one of its corners is removed")
    if part[-2] in ("outline", "line"):
        return remove_corner(design, part[:-1], int(part[-1]))
    rows, at = value_at(design, part[:-1]), int(part[-1])
    item_at(rows, at, part[:-1])
    return with_value(design, part[:-1], (*rows[:at], *rows[at + 1 :]))


# --- the picture of a plan --------------------------------------------------------------------------------------------


def lay_picture(design: Design, picture: PlanPicture | None) -> Design:
    """Lay a picture under a drawn floor; its corner is the one in the south-west."""
    _slab(design)
    return with_value(design, ("slab", "picture"), picture)


def scaled_picture(picture: PlanPicture, one: Position, other: Position, distance: float) -> PlanPicture:
    """The picture so large that two places on it, as it lies, are `distance` [m] apart; the first stays where it is."""
    present = length(one, other)
    if present < _PARALLEL:
        raise ValueError("the two places on the picture must lie apart")
    if not distance > 0.0:
        raise ValueError("the distance must be greater than 0")
    factor = distance / present
    corner = place(one.x + (picture.corner.x - one.x) * factor, one.y + (picture.corner.y - one.y) * factor)
    return PlanPicture(path=picture.path, corner=corner, metres_per_pixel=picture.metres_per_pixel * factor)
