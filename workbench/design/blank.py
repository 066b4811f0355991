"""The design a user starts from: one suction point, one riser, no fan, every value to be made one's own."""

from __future__ import annotations

from workbench.design.catalogue import pipe_kinds
from workbench.design.design import Design
from workbench.design.ground import GroundClass, SuctionPoint
from workbench.design.house import House, Place, Prices
from workbench.design.offered import FOOT, GALLON, RoundIn, begun, metric
from workbench.design.pipework import Fitting, Leg, Pipe, Run
from workbench.design.search import Search
from workbench.design.slab import WorstDay


def pipe_from_catalogue(name: str) -> Pipe:
    """Copy a pipe out of the catalogue. KeyError when there is none of that name."""
    kind = pipe_kinds()[name]
    return Pipe(name=kind.name, inside_diameter=kind.inside_diameter, roughness=kind.roughness)


def blank_design(round_in: RoundIn = metric, currency: str | None = None) -> Design:
    """One suction point of unknown ground under a riser of usual size, its figures round as they will be shown.

    `currency` is that of the place (ISO 4217), where it is known.
    """
    pipe = pipe_from_catalogue("3 in. schedule 40")
    return Design(
        place=begun(Place, round_in),
        house=begun(House, round_in),
        worst_day=begun(WorstDay, round_in),
        search=Search(
            pits=tuple(
                round_in("volume", gallons * GALLON, liters)
                for gallons, liters in zip((7.5, 15.0, 25.0), Search().pits, strict=True)
            )
        ),
        prices=Prices() if currency is None else Prices(currency=currency),
        intake=Leg(
            source=begun(
                SuctionPoint,
                round_in,
                name="Suction point 1",
                pit_volume=round_in("volume", 10.0 * GALLON, 0.040),
                ground=GroundClass(),
            ),
            runs=(
                Run(
                    name="Riser",
                    pipe=pipe,
                    length=round_in("length", 20.0 * FOOT, 6.0),
                    rise=round_in("length", 18.0 * FOOT, 5.5),
                    fittings=(Fitting(kind="entrance, flush"), Fitting(kind="90 elbow, long-turn", count=2)),
                ),
            ),
        ),
        discharge=(
            Run(
                name="Discharge",
                pipe=pipe,
                length=round_in("length", 5.0 * FOOT, 1.5),
                rise=round_in("length", 5.0 * FOOT, 1.5),
                surroundings="outdoors",
                fittings=(Fitting(kind="discharge, open"),),
            ),
        ),
    )
