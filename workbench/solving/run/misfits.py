"""What readings at test holes say beside the floor they were fitted to: which lie off, and what that may mean.

The rule that applies is found from where hole, suction point and footings lie; the texts are suggestions of where to
look, common practice in diagnostics and no proof of anything.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from typing import Literal

import numpy as np
from msgspec import Struct

from workbench.design.design import Design
from workbench.design.slab import Position, TestHole, corners
from workbench.design.wording import name
from workbench.physics.polygon import in_sight
from workbench.solving.outcome import Notice, Outcome
from workbench.solving.run.fans_on_site import FansOnSite
from workbench.solving.site.floor_parts import HoleFit
from workbench.solving.site.readings import change_error, contradicted, gains

Side = Literal["low", "high"]
Where = Literal["near", "far"]

MISFIT = 2.5
"""Standard errors beyond which a reading is pointed out; about one in eighty lies there by chance."""

_NEAR = 1.0 / 3.0
"""Share of the way from a suction point to the farthest corner of the floor that counts as near; a judgement."""

_MEANINGS: dict[tuple[Side, Where], str] = {
    ("low", "near"): "Something stops the suction close to the point: a footing or thickened slab between that the "
    "plan lacks, fill that is packed or wet, or a hole that does not reach through the slab into the fill.",
    ("low", "far"): "Look for a footing between that the plan lacks, and for a leak beside the hole: an unsealed "
    "joint, a crack, a drain or sump that lets house air in.",
    ("high", "near"): "Air reaches this hole more easily than the plan shows: a seam of gravel, a pipe trench toward "
    "the point, or a gap under the slab. Or the reading is entered for the wrong hole.",
    ("high", "far"): "Something carries the suction there: a drain pipe, a trench, a gap under the slab, or a floor "
    "tighter toward this end than elsewhere. Or the reading is entered for the wrong hole.",
}


class Misfit(Struct, frozen=True):
    """A reading that lies far from what the fitted floor says. [Pa], net of what was read at rest.

    `errors` is how many standard errors it lies off; `rule` names the text: exchanged, footing, or side and where.
    """

    hole: int
    reading: int
    read: float
    predicted: float
    errors: float
    rule: str
    meaning: str


def fit_of(on_site: FansOnSite, hole: int) -> HoleFit | None:
    """The reading of a hole that lies farthest off the floor; None where no floor was fitted to it."""
    name = on_site.design.holes[hole].name
    own = [fit for fit in on_site.assembly.floor.fits if fit.hole == name]
    return max(own, key=lambda fit: abs(fit.misfit), default=None)


@lru_cache(maxsize=8)
def misfits(on_site: FansOnSite) -> tuple[Misfit, ...]:
    """Readings that lie more than `MISFIT` standard errors off, farthest first."""
    design, fits = on_site.design, on_site.assembly.floor.fits
    found = []
    places = {hole.name: h for h, hole in enumerate(design.holes)}
    for fit in fits:
        if abs(fit.misfit) > MISFIT and design.holes[places[fit.hole]].position is not None:
            hole = places[fit.hole]
            rule, meaning = _meaning(design, fit, fits, hole)
            found.append(Misfit(hole, fit.reading, fit.read, fit.predicted, fit.misfit, rule, meaning))
    return tuple(sorted(found, key=lambda misfit: -abs(misfit.errors)))


def _meaning(design: Design, fit: HoleFit, fits: tuple[HoleFit, ...], hole: int) -> tuple[str, str]:
    side: Side = "low" if fit.misfit < 0.0 else "high"
    other = _exchanged_with(fit, fits)
    if other is not None:
        return "exchanged", (
            f"This reading would fit hole {other}, and that of {other} would fit here: were the two swapped?"
        )
    at = design.holes[hole].position
    point = next(point.position for _, point in design.suction_points() if point.name == fit.point)
    if at is None or point is None or design.slab is None:
        return side, _MEANINGS[side, "far"]
    for footing in design.slab.footings:
        line = np.array(corners(footing.line))
        if not in_sight(np.array([point.x, point.y]), np.array([[at.x, at.y]]), line[:-1], line[1:])[0]:
            less = "lets through less" if side == "low" else "lets through more, or reaches less deep,"
            return "footing", f"The footing {footing.name} between hole and point {less} than is drawn."
    where: Where = "near" if _distance(at, point) < _NEAR * _reach(design, point) else "far"
    return f"{side} {where}", _MEANINGS[side, where]


def _exchanged_with(fit: HoleFit, fits: tuple[HoleFit, ...]) -> str | None:
    for other in fits:
        if other.hole == fit.hole or other.point != fit.point or abs(other.misfit) <= MISFIT:
            continue
        here, there = fit.misfit_of(other.read), other.misfit_of(fit.read)
        if abs(here) <= MISFIT and abs(there) <= MISFIT:
            return other.hole
    return None


def _distance(one: Position, other: Position) -> float:
    return float(np.hypot(one.x - other.x, one.y - other.y))


def _reach(design: Design, point: Position) -> float:
    assert design.slab is not None
    return max(_distance(corner, point) for corner in design.slab.outline)


# --- what is odd about readings themselves --------------------------------------------------------------------------


@lru_cache(maxsize=8)
def remarks(on_site: FansOnSite) -> tuple[Notice, ...]:
    """What is odd or lacking about each hole's readings, with or without a plan, in the order of the holes."""
    design = on_site.design
    found = []
    for h, hole in enumerate(design.holes):
        for r, reading in enumerate(hole.readings):
            address = ("holes", h, "readings", r)
            if reading.suction - reading.at_rest < -2.0 * reading.resolution:
                found.append(
                    Notice(
                        "wrong-sign",
                        "{2}: with suction applied it reads {0}, less than its baseline of {1}. Were the hoses of the "
                        "gauge exchanged, or did wind or a door change it meanwhile?",
                        address,
                        ((reading.suction, "hole_pressure"), (reading.at_rest, "hole_pressure"), name(hole.name)),
                    )
                )
            elif reading.suction > reading.applied:
                found.append(
                    Notice(
                        "above-applied",
                        "{2}: it reads {0}, more than the {1} applied at the point; that is not possible: "
                        "check the reading.",
                        address,
                        ((reading.suction, "hole_pressure"), (reading.applied, "pressure"), name(hole.name)),
                    )
                )
        for r in contradicted(hole):
            one = hole.readings[r]
            found.append(
                Notice(
                    "contradicted",
                    "{1}: it reads {0} where another reading in the same state reads less, by more than the gauge can "
                    "err. The lower is taken; read it again.",
                    ("holes", h, "readings", r),
                    ((one.suction, "hole_pressure"), name(hole.name)),
                )
            )
        found += _of_the_exhaust_test(h, hole, design.worst_day.tested_draw_down)
        if np.isnan(on_site.assembly.floor.holes[h]).any():
            what = "Read it, or place it on the plan." if design.slab is not None else "Read it."
            unknown = f"{{0}}: nothing is known of it. {what}"
            found.append(Notice("unknown-hole", unknown, ("holes", h), (name(hole.name),)))
    return tuple(found)


def _of_the_exhaust_test(h: int, hole: TestHole, draw_down: float | None) -> Iterator[Notice]:
    address = ("holes", h, "exhausts")
    if hole.exhausts is None:
        return
    if gains(hole):
        yield Notice(
            "gains",
            "{1}: with all exhausts on it gains {0}; a house drawn down takes suction away, so this tells "
            "nothing of the hole. A loss is entered with a minus.",
            address,
            ((hole.exhausts, "hole_pressure"), name(hole.name)),
        )
    elif draw_down is not None and -hole.exhausts - draw_down > change_error(hole):
        yield Notice(
            "lost-more",
            "{2}: it loses {0}, more than the {1} by which the house was depressurized; that is not possible: "
            "check the reading. The house counts as drawn down by as much.",
            address,
            ((-hole.exhausts, "hole_pressure"), (draw_down, "hole_pressure"), name(hole.name)),
        )


def few_readings(on_site: FansOnSite) -> Notice | None:
    """Whether the fitted factors outnumber the readings, which the classes' own spread then makes up for."""
    floor = on_site.assembly.floor
    factors, readings = len(floor.factors), len(floor.fits)
    if not factors or readings >= factors:
        return None
    if readings == 0:
        return Notice("few-readings", "No placed hole is read yet: the floor is what its classes say, with their band.")
    count = "1 reading" if readings == 1 else f"{readings} readings"
    return Notice(
        "few-readings",
        f"{count} for {factors} unknown factors: what the class of the fill says makes up for the rest, with its band.",
    )


def scalings(on_site: FansOnSite, outcome: Outcome, hole: int) -> tuple[Notice, ...]:
    """How each reading of a hole is brought to the flow the fan will draw; empty without an operating point.

    A reading holds for the state it was taken in. What counts is the flow: the share of it that will be drawn.
    """
    states = {point.name: point for point in outcome.points}
    if not states:
        return ()
    strongest = _strongest(on_site)
    found = []
    for r, reading in enumerate(on_site.design.holes[hole].readings):
        state = states[reading.point]
        flow = reading.flow if reading.flow is not None else on_site.assembly.floor.flow_of(hole, r)
        vacuum = " under a vacuum, more than this fan can hold," if reading.applied > strongest else ""
        how = "with" if reading.flow is not None else "where the ground gives"
        found.append(
            Notice(
                "scaled",
                f"Read at {{0}}{vacuum} {how} {{1}}. The fan will hold {{2}} in the pit as dug and draw {{3}}: "
                "scaled to {4} of it.",
                ("holes", hole, "readings", r),
                (
                    (reading.applied, "pressure"),
                    (flow, "flow"),
                    (state.suction, "pressure"),
                    (state.flow, "flow"),
                    (state.flow / flow, "fraction"),
                ),
            )
        )
    return tuple(found)


def _strongest(on_site: FansOnSite) -> float:
    """The most pressure the chosen fan gives at full speed. [Pa]"""
    if on_site.design.fan is None:
        return float("inf")
    return float(on_site.trace(on_site.design.fan, 1.0).pressure.max())
