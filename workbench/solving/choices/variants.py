"""What is tried: every fan on every pipe, pit, sealing and number of suction points, as designs that can be built."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from math import hypot
from typing import NamedTuple

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from pydantic import ValidationError

from workbench.design.blank import pipe_from_catalogue
from workbench.design.catalogue import pipe_kinds
from workbench.design.design import Design
from workbench.design.edit import add_suction_point, choose_fan, set_every_pipe
from workbench.design.fan import FanRecord
from workbench.design.faults import faults_in
from workbench.design.record import with_value
from workbench.design.slab import Position
from workbench.design.wording import Wording, name
from workbench.physics.network import NoConvergence
from workbench.solving.later.prepared import prepare
from workbench.solving.run.needed import needed
from workbench.solving.site.chance import middle
from workbench.solving.site.floor import has_plan

AS_DRAWN = "as drawn"


class Base(NamedTuple):
    """What is changed about the ground: pits and sealing, None as drawn, and whether one more point is added.

    `pit` is the volume of every pit [m3], `leak_left` what is left of the leakage of slab and joints.
    """

    pit: float | None
    leak_left: float | None
    another_point: bool


class Candidate(Struct, frozen=True):
    """One choice, as changes to the design that was searched; None leaves a thing as drawn."""

    fan: str
    pipe: str | None
    base: Base


class FirstCost(Struct, frozen=True):
    """What building costs, by kind; `unpriced` names what is in it without a price."""

    fan: float
    pipe: float
    pits: float
    sealing: float
    points: float
    unpriced: tuple[str, ...]

    @property
    def total(self) -> float:
        """All together."""
        return self.fan + self.pipe + self.pits + self.sealing + self.points


def refuse_unsearchable(design: Design) -> None:
    """Raise ValueError with a sentence where there is nothing to search by."""
    if not design.holes:
        raise ValueError("enter at least one test hole: the target applies there")
    if not fans_tried(design):
        raise ValueError("choices need at least one fan; add one, or name fans of this design in the search")


def fans_tried(design: Design) -> tuple[FanRecord, ...]:
    """The fans that are searched: those named, as far as the design has them, or all."""
    named = design.search.fans
    return tuple(fan for fan in design.fans if not named or fan.name in named)


def bases(design: Design) -> list[Base]:
    """All that is tried about the ground, as drawn first."""
    search, points = design.search, [point for _, point in design.suction_points()]
    pits: list[float | None] = [None]
    pits += [pit for pit in search.pits if any(point.pit_volume != pit for point in points)]
    seals: list[float | None] = [None]
    if _planned(design) and design.slab is not None:
        drawn = (design.slab.leak_left, design.slab.joints_left)
        seals += [left for left in search.leak_left if drawn != (left, left)]
    more = [False, True] if search.another_point and _planned(design) else [False]
    return [Base(pit, seal, another) for another in more for pit in pits for seal in seals]


def pipes_tried(design: Design) -> list[str | None]:
    """Pipes that are tried, as drawn first."""
    drawn = {run.pipe for _, run in design.runs()}
    return [None, *(name for name in design.search.pipes if drawn != {pipe_from_catalogue(name)})]


def left_out(design: Design) -> Iterator[Wording]:
    """Sentences about what the search cannot vary in this design."""
    search = design.search
    missing = [wanted for wanted in search.fans if wanted not in {fan.name for fan in design.fans}]
    if missing:
        yield Wording("Not among the fans of this design: {0}.", (name(", ".join(missing)),))
    if not _planned(design):
        wanted = [
            what
            for what, asked in (("sealing", search.leak_left), ("one more suction point", search.another_point))
            if asked
        ]
        if wanted:
            yield Wording(f"Without a drawn floor, {' and '.join(wanted)} cannot be computed and is left out.")


def _planned(design: Design) -> bool:
    return has_plan(design.slab, tuple(point for _, point in design.suction_points()))


# --- designs ----------------------------------------------------------------------------------------------------------


def with_base(design: Design, base: Base) -> Design:
    """The design with its ground changed.

    Raises
    ------
    ValueError
        With a sentence, when it cannot be built.
    """
    try:
        if base.another_point:
            design = with_another_point(design)
        if base.pit is not None:
            design = with_pits(design, {point.name: base.pit for _, point in design.suction_points()})
        if base.leak_left is not None:
            design = with_value(design, ("slab", "leak_left"), base.leak_left)
            design = with_value(design, ("slab", "joints_left"), base.leak_left)
    except ValidationError as error:
        raise ValueError("; ".join(fault.text for fault in faults_in(error))) from error
    return design


def with_another_point(design: Design) -> Design:
    """One more suction point teed into the riser, where the search says or else at the weakest hole."""
    place = design.search.another_place or _weakest_place(design)
    if place is None:
        raise ValueError("no hole stands on the plan to put one more suction point at")
    return add_suction_point(design, ("intake",), place)


def _weakest_place(design: Design) -> Position | None:
    """Place of the hole that asks for the most flow as the design is drawn."""
    prepared = prepare(design)
    state = middle(design, prepared.assembly, prepared.worst_day)
    try:
        found = needed(state, design.target.suction)
    except NoConvergence:
        found = None
    if found is None:
        return None
    kept = state.remaining(found.flows)
    for h in np.argsort(np.where(np.isnan(kept), np.inf, kept)):
        place = design.holes[int(h)].position
        if place is not None:
            return place
    return None


def with_pits(design: Design, volumes: dict[str, float]) -> Design:
    """The design with the pits of some suction points, by name, dug to other volumes [m3]."""
    for address, point in list(design.suction_points()):
        if point.name in volumes:
            design = with_value(design, (*address, "pit_volume"), volumes[point.name])
    return design


def with_pipe(design: Design, name: str | None) -> Design:
    """The design with one pipe of the catalogue in all its runs. KeyError when there is none of that name."""
    if name is None:
        return design
    return set_every_pipe(design, pipe_from_catalogue(name))


def built(design: Design, candidate: Candidate) -> Design:
    """The design as a candidate would have it, at full speed.

    Raises
    ------
    ValueError
        With a sentence, when it cannot be built.
    """
    changed = with_pipe(with_base(design, candidate.base), candidate.pipe)
    return choose_fan(with_value(changed, ("speed",), 1.0), candidate.fan)


def pipe_name(design: Design) -> str:
    """The pipe of a design in words: its name where all runs have one."""
    names = {run.pipe.name for _, run in design.runs()}
    return names.pop() if len(names) == 1 else AS_DRAWN


def next_pipe(design: Design) -> str | None:
    """The pipe searched that is the next wider than the widest of a design, or the next of the catalogue."""
    widest = max(run.pipe.inside_diameter for _, run in design.runs())
    wider = {name: kind.inside_diameter for name, kind in pipe_kinds().items() if kind.inside_diameter > 1.05 * widest}
    searched = {name: bore for name, bore in wider.items() if name in design.search.pipes}
    among = searched or wider
    return min(among, key=lambda name: among[name]) if among else None


# --- what building costs ----------------------------------------------------------------------------------------------


def joint_length(design: Design) -> float:
    """Length of the edges of the floor along which air comes in. [m]"""
    if design.slab is None:
        return 0.0
    corners = [*design.slab.outline, design.slab.outline[0]]
    return sum(
        hypot(b.x - a.x, b.y - a.y)
        for side, (a, b) in enumerate(pairwise(corners))
        if design.slab.edge(side).kind != "sealed"
    )


def _floor_area(design: Design) -> float:
    if design.slab is None:
        return 0.0
    corners = [*design.slab.outline, design.slab.outline[0]]
    return abs(0.5 * sum(a.x * b.y - b.x * a.y for a, b in pairwise(corners)))


def building_cost(design: Design, points_before: int) -> FirstCost:
    """What a design costs to build but for its fan: pipe, pits, sealing, and every point beyond those before."""
    costs = design.search.costs
    pipe = 0.0
    for _, run in design.runs():
        price = costs.pipe_price(run.pipe.inside_diameter)
        pipe += price.pipe * run.length + price.fitting * sum(fitting.count for fitting in run.fittings)
    for _, junction in design.junctions():
        pipe += costs.pipe_price(junction.side.runs[-1].pipe.inside_diameter).fitting
    points = [point for _, point in design.suction_points()]
    sealing = 0.0
    if design.slab is not None:
        sealing += costs.joint * joint_length(design) * (1.0 - design.slab.joints_left)
        sealing += costs.slab * _floor_area(design) * (1.0 - design.slab.leak_left)
    return FirstCost(
        fan=0.0,
        pipe=pipe,
        pits=costs.digging * sum(point.pit_volume for point in points),
        sealing=sealing,
        points=costs.point * max(len(points) - points_before, 0),
        unpriced=(),
    )


def with_fan(cost: FirstCost, design: Design, fan: FanRecord) -> FirstCost:
    """A cost of building with its fan, or two where two are arranged."""
    machines = 1 if design.arrangement == "single" else 2
    unpriced = () if fan.price is not None else (f"the fan “{fan.name}”",)
    return replace(cost, fan=machines * (fan.price or 0.0), unpriced=unpriced)
