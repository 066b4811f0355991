"""How far the fan could be slowed once cracks and joints are sealed, and what the year then costs."""

from __future__ import annotations

from dataclasses import dataclass

from workbench.design.design import Design
from workbench.design.record import with_value
from workbench.solve.outcome import Outcome, SealedCrack, Year
from workbench.solve.prepare import Prepared, prepare
from workbench.solve.yearly import sealed_crack

_LEAST_LEFT = 0.05
"""No slab is sealed wholly: at least this share of its leakage stays; a judgement."""


@dataclass(frozen=True)
class Slowed:
    """The lowest speeds that hold before and after sealing, None where none does, and the year at each of them.

    `left` is the share of the slab's leakage that stays.
    """

    left: float
    before: float | None
    after: float | None
    year_before: Year | None
    year_after: Year | None


def sealed_cracks(ready: Prepared) -> tuple[SealedCrack, ...]:
    """Every crack that is listed, sealed alone."""
    air = ready.assembly.indoor
    viscosity = ready.assembly.air.viscosity
    return tuple(
        sealed_crack(ready.design, crack, air.density, viscosity, ready.hours) for crack in ready.design.house.cracks
    )


def leakage_left(ready: Prepared, outcome: Outcome) -> float:
    """Share of the slab's leakage that stays when all listed cracks are sealed: their air off the house's.

    1 without cracks or without an answer.
    """
    if outcome.year is None or outcome.year.house_air <= 0.0:
        return 1.0
    through = sum(crack.flow for crack in sealed_cracks(ready))
    return max(1.0 - through / outcome.year.house_air, _LEAST_LEFT)


def slowed(ready: Prepared, outcome: Outcome) -> Slowed:
    """The lowest speed that holds by the middle of the bands, before and after all listed cracks are sealed.

    The slab's leakage and its joints are lessened alike, by `leakage_left`; the suctions entered under the cracks are
    those of today's speed. Takes as long as a new floor: not for the drag.

    Raises
    ------
    ValueError
        Without a drawn floor, holes and cracks, from which alone it can be told.
    """
    design = ready.design
    if design.slab is None or not design.holes or not design.house.cracks:
        raise ValueError("a drawn floor, test holes and cracks are needed to tell")
    left = leakage_left(ready, outcome)
    tighter = prepare(_with_leakage(design, left), ready.hours)
    before, after = ready.lowest.plain, tighter.lowest.plain
    return Slowed(left, before, after, _year(ready, before), _year(tighter, after))


def _with_leakage(design: Design, left: float) -> Design:
    assert design.slab is not None
    fields = {"leak_left": left * design.slab.leak_left, "joints_left": left * design.slab.joints_left}
    return with_value(design, ("slab",), design.slab.model_copy(update=fields))


def _year(ready: Prepared, speed: float | None) -> Year | None:
    return None if speed is None else ready.at(speed).year
