"""What has to be bought and carried: pipe in whole lengths, fittings, hangers and sealant, with the user's prices."""

from __future__ import annotations

import math
from collections import Counter

from msgspec import Struct

from workbench.design.catalogue import Counted, fitting_kinds, materials, stick_of
from workbench.design.design import Design
from workbench.design.pipework import Run
from workbench.solving.choices.variants import building_cost, joint_length, with_fan
from workbench.solving.run.water import LEVEL

_SHORT = 0.05
"""A level or standing part of a run shorter than this is none. [m]"""


class Cut(Struct, frozen=True):
    """Pipe of one name: how much is laid [m], in how many whole lengths, with how many joins and what is left over.

    `stick` is the length it is sold in; `offcuts` are pieces [m] worth keeping, longest first.
    """

    pipe: str
    laid: float
    stick: Counted
    sticks: int
    joins: int
    offcuts: tuple[float, ...]


class Item(Struct, frozen=True):
    """A line of the list: what, of which size, how many, and what is paid for it, None where no price is entered.

    `length` is laid pipe or a joint [m], where the item is measured by length; `volume` that of pits [m3].
    """

    what: str
    size: str = ""
    count: int | None = None
    length: float | None = None
    volume: float | None = None
    cost: float | None = None
    note: str = ""


def pieces_of(run: Run) -> list[float]:
    """Straight pieces of a run [m]: what rises and what lies level where it bends, else one."""
    rise = abs(run.rise)
    level = run.length - rise
    bends = any(fitting_kinds()[f.kind].group == "bend" for f in run.fittings if f.kind in fitting_kinds())
    parts = [rise, level] if bends else [run.length]
    return [part for part in parts if part > _SHORT] or [run.length]


def cuts(design: Design) -> tuple[Cut, ...]:
    """Every pipe cut from whole lengths, the longest pieces first, each from the first length with enough left.

    First fit decreasing needs at most 11/9 of the fewest lengths and 2/3 of one more (Dosa, 2007).
    """
    pieces: dict[str, list[float]] = {}
    for _, run in design.runs():
        pieces.setdefault(run.pipe.name, []).extend(pieces_of(run))
    return tuple(_cut(name, lengths) for name, lengths in pieces.items())


def _cut(name: str, lengths: list[float]) -> Cut:
    stick = stick_of(name)
    joins, whole, rest = 0, 0, []
    for length in lengths:
        full = math.floor(length / stick.value + 1e-9)
        left = length - full * stick.value
        whole += full
        if left > 1e-6:
            rest.append(left)
        joins += max(full - 1 + (left > 1e-6), 0)
    bins: list[float] = []
    for piece in sorted(rest, reverse=True):
        for i, room in enumerate(bins):
            if piece <= room + 1e-9:
                bins[i] = room - piece
                break
        else:
            bins.append(stick.value - piece)
    least = materials()["offcut"].value
    offcuts = tuple(sorted((room for room in bins if room >= least), reverse=True))
    return Cut(name, sum(lengths), stick, whole + len(bins), joins, offcuts)


def supports(design: Design) -> tuple[tuple[str, int, Counted], ...]:
    """Hangers of level and of standing pipe: how many by the spacing, and whose spacing it is."""
    found = []
    for what, key, standing in (("level", "hanger_level", False), ("standing", "hanger_standing", True)):
        spacing = spacing_of(design, "support_spacing_standing" if standing else "support_spacing_level", key)
        count = 0
        for _, run in design.runs():
            rise = abs(run.rise)
            length = rise if standing else run.length - rise
            if rise <= LEVEL * run.length:
                length = 0.0 if standing else run.length
            if length > _SHORT:
                count += math.ceil(length / spacing.value - 1e-9)
        found.append((what, count, spacing))
    return tuple(found)


def spacing_of(design: Design, key: str, default: str) -> Counted:
    """The least spacing of supports that the design's rule sheet asks for, else that of the catalogue."""
    rules = [] if design.rules is None else [rule for rule in design.rules.rules if rule.key == key]
    if not rules:
        return materials()[default]
    rule = min(rules, key=lambda each: float(each.value))
    return Counted(float(rule.value), f"{rule.source} {rule.edition}, {rule.place}", rule.kind)


def sealed_length(design: Design) -> float:
    """Cracks that are listed and joints that are to be sealed. [m]"""
    joints = 0.0 if design.slab is None else joint_length(design) * (1.0 - design.slab.joints_left)
    return joints + sum(crack.length for crack in design.house.cracks)


def take_off(design: Design) -> tuple[Item, ...]:
    """The whole list; what has a price among the costs of the design has it here, and they add up to the same sum."""
    costs = design.search.costs
    items: list[Item] = []
    made = cuts(design)
    bores = {run.pipe.name: run.pipe.inside_diameter for _, run in design.runs()}
    for cut in made:
        price = costs.pipe_price(bores[cut.pipe])
        items.append(Item("Pipe", cut.pipe, cut.sticks, length=cut.laid, cost=price.pipe * cut.laid))
    items += _fittings(design)
    joined = [cut for cut in made if cut.joins]
    items += [Item("Coupling, for joins in long runs", cut.pipe, cut.joins) for cut in joined]
    items += [
        Item(f"Hanger, {what} pipe", count=count, note=f"{spacing.source}")
        for what, count, spacing in supports(design)
        if count
    ]
    items.append(_fan(design))
    pits = [point for _, point in design.suction_points()]
    volume = sum(point.pit_volume for point in pits)
    items.append(Item("Suction pit to dig", count=len(pits), volume=volume, cost=costs.digging * volume))
    items += _sealing(design)
    items += [
        Item("System gauge (U-tube) with tubing", count=1),
        Item("Cable, conduit and disconnect", note="measure on site"),
        Item("Labels: each story, gauge, breaker", count=design.house.storeys + 2, note="judgment"),
        Item("Primer and cement, firestop, anchors", note="by the makers' tables"),
    ]
    return tuple(items)


def _fittings(design: Design) -> list[Item]:
    counts: Counter[tuple[str, str, float]] = Counter()
    for _, run in design.runs():
        for fitting in run.fittings:
            counts[fitting.kind, run.pipe.name, run.pipe.inside_diameter] += fitting.count
    for _, junction in design.junctions():
        run = junction.side.runs[-1]
        counts[junction.kind, run.pipe.name, run.pipe.inside_diameter] += 1
    costs = design.search.costs
    return [
        Item(kind[:1].upper() + kind[1:], pipe, count, cost=costs.pipe_price(bore).fitting * count)
        for (kind, pipe, bore), count in sorted(counts.items(), key=lambda item: item[0][:2])
    ]


def _fan(design: Design) -> Item:
    fan = design.chosen_fan
    if fan is None:
        return Item("Fan", "not selected")
    machines = 1 if design.arrangement == "single" else 2
    return Item("Fan", fan.name, machines, cost=None if fan.price is None else machines * fan.price)


def _sealing(design: Design) -> list[Item]:
    """Sealing as priced among the costs, and the sealant for all that is listed."""
    items = []
    if design.slab is not None:
        joints = joint_length(design) * (1.0 - design.slab.joints_left)
        if joints:
            items.append(Item("Joints to seal", length=joints, cost=design.search.costs.joint * joints))
        slab = building_cost(design, 0).sealing - design.search.costs.joint * joints
        if slab > 1e-9:
            items.append(
                Item("Slab to seal", cost=slab, note=f"down to {100 * design.slab.leak_left:.0f} % of its leakage")
            )
    length = sealed_length(design)
    if length:
        bead, cartridge = materials()["bead"], materials()["cartridge"]
        count = math.ceil(length * bead.value**2 / cartridge.value - 1e-9)
        items.append(
            Item("Sealant, cartridges", "300 mL (10 oz)", count, length=length, note=f"{bead.source}; {bead.tag}")
        )
    return items


def total_cost(design: Design) -> float:
    """What the list costs as far as it is priced: the cost of building that a search tells of the design as drawn."""
    cost = building_cost(design, sum(1 for _ in design.suction_points()))
    fan = design.chosen_fan
    return (cost if fan is None else with_fan(cost, design, fan)).total
