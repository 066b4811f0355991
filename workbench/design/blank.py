"""The design a user starts from: one suction point, one riser, no fan, every value to be made one's own."""

from __future__ import annotations

from workbench.design.catalogue import pipe_kinds
from workbench.design.design import Design
from workbench.design.ground import GroundClass, SuctionPoint
from workbench.design.pipework import Fitting, Leg, Pipe, Run


def pipe_from_catalogue(name: str) -> Pipe:
    """Copy a pipe out of the catalogue. KeyError when there is none of that name."""
    kind = pipe_kinds()[name]
    return Pipe(name=kind.name, inside_diameter=kind.inside_diameter, roughness=kind.roughness)


def blank_design() -> Design:
    """One suction point of unknown ground under a riser of usual size."""
    pipe = pipe_from_catalogue("3 in. schedule 40")
    return Design(
        intake=Leg(
            source=SuctionPoint(name="Suction point 1", pit_volume=0.028, ground=GroundClass()),
            runs=(
                Run(
                    name="Riser",
                    pipe=pipe,
                    length=6.0,
                    rise=5.5,
                    fittings=(Fitting(kind="entrance, flush"), Fitting(kind="90 elbow, long-turn", count=2)),
                ),
            ),
        ),
        discharge=(
            Run(
                name="Discharge",
                pipe=pipe,
                length=1.5,
                rise=1.5,
                surroundings="outdoors",
                fittings=(Fitting(kind="discharge, open"),),
            ),
        ),
    )
