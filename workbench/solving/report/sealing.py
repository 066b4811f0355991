"""What sealing cracks and joints saves, how far the fan could be slowed then, and what the year then costs."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from workbench.design.design import Design
from workbench.design.house import Crack
from workbench.design.record import with_value
from workbench.physics.crack import crack_coefficients, crack_flow
from workbench.solving.outcome import Outcome, SealedCrack, Year
from workbench.solving.run.prepare import Prepared, made_ready
from workbench.solving.run.yearly import PARTS, Part, house_air_bill

_LEAST_LEFT = 0.05
"""No slab is sealed wholly: at least this share of its leakage stays; a judgement."""


class Slowed(Struct, frozen=True):
    """The lowest speeds that hold before and after sealing, None where none does, and the year at each of them.

    `left` is the share of the slab's leakage that stays.
    """

    left: float
    before: float | None
    after: float | None
    year_before: Year | None
    year_after: Year | None


def sealed_cracks(prepared: Prepared, outcome: Outcome | None = None) -> tuple[SealedCrack, ...]:
    """Every crack that is listed, sealed alone while all other house air of an answer is still drawn off.

    Without an answer its air is taken for all the house air there is.
    """
    return tuple(_sealed(prepared, outcome, crack.name, (crack,)) for crack in prepared.design.house.cracks)


def sealed_together(prepared: Prepared, outcome: Outcome | None = None) -> SealedCrack:
    """All cracks sealed at once, which is not the sum of each sealed alone."""
    return _sealed(prepared, outcome, "All", prepared.design.house.cracks)


def _sealed(prepared: Prepared, outcome: Outcome | None, name: str, cracks: Sequence[Crack]) -> SealedCrack:
    """Air through cracks at the suctions under them, and what a year without it saves."""
    design, air, prices = prepared.design, prepared.assembly.indoor, prepared.design.prices
    bill = house_air_bill(design, air.density, prepared.hours)
    flow = sum(_through(crack, design.house.slab_thickness, prepared) for crack in cracks)
    whole = max(flow, outcome.year.house_air if outcome is not None and outcome.year is not None else 0.0)

    def saved(part: Part, heat: float, cooling: float) -> float:
        before, after = bill.bought([whole, max(whole - flow, 0.0)], part).total(heat, cooling)
        return float(before - after)

    least, money, most = (saved(part, prices.heat, prices.electricity) for part in PARTS)
    band = min(least, money, most), max(least, money, most)
    return SealedCrack(name, flow, saved("middle", 1.0, 1.0), money, band)


def _through(crack: Crack, depth: float, prepared: Prepared) -> float:
    viscosity, density = prepared.assembly.air.viscosity, prepared.assembly.indoor.density
    coefficients = crack_coefficients(crack.width, depth, crack.length, viscosity, density, crack.bends)
    return float(crack_flow(crack.suction, coefficients))


def leakage_left(prepared: Prepared, outcome: Outcome) -> float:
    """Share of the slab's leakage that stays when all listed cracks are sealed: their air off the house's.

    1 without cracks or without an answer.
    """
    if outcome.year is None or outcome.year.house_air <= 0.0:
        return 1.0
    return max(1.0 - sealed_together(prepared, outcome).flow / outcome.year.house_air, _LEAST_LEFT)


def slowed(prepared: Prepared, outcome: Outcome) -> Slowed:
    """The lowest speed that holds at the chance asked for, before and after all listed cracks are sealed.

    The slab's leakage and its joints are lessened alike, by `leakage_left`; the suctions entered under the cracks are
    those of today's speed. Takes as long as a new floor: not for the drag.

    Raises
    ------
    ValueError
        Without a drawn floor, holes and cracks, from which alone it can be told.
    """
    design = prepared.design
    if design.slab is None or not design.holes or not design.house.cracks:
        raise ValueError("a drawn floor, test holes and cracks are needed to tell")
    left = leakage_left(prepared, outcome)
    tighter = made_ready(_with_leakage(design, left), prepared.hours, prepared.learned)
    before, after = prepared.lowest.confident, tighter.lowest.confident
    return Slowed(left, before, after, _year(prepared, before), _year(tighter, after))


def _with_leakage(design: Design, left: float) -> Design:
    assert design.slab is not None
    fields = {"leak_left": left * design.slab.leak_left, "joints_left": left * design.slab.joints_left}
    return with_value(design, ("slab",), design.slab.model_copy(update=fields))


def _year(prepared: Prepared, speed: float | None) -> Year | None:
    return None if speed is None else prepared.rested(speed).year
