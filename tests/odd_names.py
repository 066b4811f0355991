"""Designs in which everything that a person may name is named as nobody expects."""

from __future__ import annotations

from workbench.design import Design, FanTable
from workbench.design.edit import rename_point, replace_fan
from workbench.design.record import with_value
from workbench.files.scenes import load_scene

ODD_NAMES = ("Pit {A} <b>x</b>", "{0:>5000} %s", "Show {0}")
"""Names that would be read as a place for a value, a format or a mark-up, were they ever read as anything."""

PLAIN = "Quixotry"
"""A name that is nothing but letters, and that no sentence of the program holds."""


def named(design: Design, word: str) -> Design:
    """The design with every point, run, hole, fan, listener, zone, footing and title called by a word and a number."""
    design = with_value(design, ("title",), f"{word} 1")
    for n, (address, _) in enumerate(list(design.suction_points())):
        design = rename_point(design, address, f"{word} 2{n}")
    for n, (address, _) in enumerate(list(design.runs())):
        design = with_value(design, (*address, "name"), f"{word} 3{n}")
    for n, _ in enumerate(design.holes):
        design = with_value(design, ("holes", n, "name"), f"{word} 4{n}")
    for n, fan in enumerate(design.fans):
        design = replace_fan(design, fan.name, fan.model_copy(update={"name": f"{word} 5{n}"}))
    for n, _ in enumerate(design.house.listeners):
        design = with_value(design, ("house", "listeners", n, "name"), f"{word} 6{n}")
        design = with_value(design, ("house", "listeners", n, "limit_source"), f"{word} 7{n}")
    if design.slab is not None:
        for n, _ in enumerate(design.slab.zones):
            design = with_value(design, ("slab", "zones", n, "name"), f"{word} 8{n}")
        for n, _ in enumerate(design.slab.footings):
            design = with_value(design, ("slab", "footings", n, "name"), f"{word} 9{n}")
    return with_value(design, ("prices", "currency"), f"{word} 0"[:40])


def scene(name: str) -> Design:
    """A scene in which a hole is unread, another reads more than was applied, a place is too loud and a
    fan's points end early.
    """
    design = load_scene(name)
    (address, _), *_ = design.suction_points()
    design = with_value(design, (*address, "pit_volume"), 0.004)
    (run, _), *_ = design.runs()
    design = with_value(design, (*run, "rise"), 0.0)
    design = with_value(design, (*run, "slope"), 0.0)
    design = with_value(design, ("holes", 0, "readings"), ())
    reading = design.holes[1].readings[0]
    odd = reading.model_copy(update={"suction": reading.applied + 5.0})
    design = with_value(design, ("holes", 1, "readings"), (odd, *design.holes[1].readings[1:]))
    for n, _ in enumerate(design.house.listeners):
        design = with_value(design, ("house", "listeners", n, "limit"), 5.0)
    last = len(design.fans) - 1
    points = design.fans[last].full.points[:-1]
    return with_value(design, ("fans", last, "curves"), (*design.fans[last].curves[:-1], FanTable(points=points)))
