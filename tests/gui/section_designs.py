"""Designs that the section's tests share: plain ones with round numbers, and trees of any shape."""

from __future__ import annotations

import random

from workbench.design import (
    Design,
    Fitting,
    House,
    Junction,
    Leg,
    Pipe,
    Resistance,
    Run,
    StepReading,
    StepTest,
    SuctionPoint,
)
from workbench.files.fan_library import fan_classes

PIPE = Pipe(name="3 in. schedule 40", inside_diameter=0.077927)
WIDE = Pipe(name="Other inside diameter", inside_diameter=0.155854)

TEST = StepTest(
    readings=(
        StepReading(flow=0.006, suction=33.0, baseline=0.4),
        StepReading(flow=0.012, suction=82.0, baseline=0.4),
        StepReading(flow=0.020, suction=171.0, baseline=0.4),
    ),
    tested_volume=0.004,
)


def point(name: str = "Kiln corner", pit_volume: float = 0.028) -> SuctionPoint:
    return SuctionPoint(name=name, pit_volume=pit_volume, ground=TEST)


def one_point() -> Design:
    """A pit, a run along the floor, a riser, a fan under the roof and a pipe through it."""
    fans = fan_classes()
    return Design(
        title="Potter's studio",
        invented=True,
        intake=Leg(
            source=point(),
            runs=(
                Run(
                    name="Under the bench",
                    pipe=PIPE,
                    length=4.2,
                    rise=1.0,
                    fittings=(Fitting(kind="entrance, flush"), Fitting(kind="90 elbow, long-turn", count=2)),
                ),
                Run(name="Riser", pipe=PIPE, length=6.4, rise=6.2, fittings=(Fitting(kind="90 elbow, long-turn"),)),
            ),
        ),
        discharge=(
            Run(
                name="Through the roof",
                pipe=PIPE,
                length=2.2,
                rise=2.2,
                surroundings="outdoors",
                fittings=(Fitting(kind="discharge, open"),),
            ),
        ),
        fans=fans,
        fan="Everyday in-line, electronic",
        speed=0.7,
        house=House(storeys=2, storey_height=2.7, roof_height=2.0),
    )


def two_points() -> Design:
    """The same with a second pit that joins before the riser."""
    design = one_point()
    studio, riser = design.intake.runs
    side = Leg(
        source=SuctionPoint(name="Window wall", pit_volume=0.028, ground=Resistance(linear=4000.0)),
        runs=(studio.model_copy(update={"name": "Branch"}),),
    )
    joined = Leg(source=Junction(straight=Leg(source=point(), runs=(studio,)), side=side), runs=(riser,))
    return design.model_copy(update={"intake": joined})


def any_tree(seed: int) -> Design:
    """A design with one to six suction points, joined at random, with short, long, level, falling and rising runs."""
    dice = random.Random(seed)
    number = 0

    def named(word: str) -> str:
        nonlocal number
        number += 1
        return f"{word} {number}"

    def run(surroundings: list[str]) -> Run:
        length = dice.choice([0.3, 0.8, 2.0, 5.0, 9.0, 25.0])
        slope = dice.choice([0.0, 0.0, 0.02, -0.02, 0.5, 1.0, -0.3])
        kinds = dice.sample(
            ["90 elbow, long-turn", "45 elbow", "flexible coupling", "entrance, flush"], dice.randint(0, 3)
        )
        return Run(
            name=named("Run"),
            pipe=dice.choice([PIPE, WIDE]),
            length=length,
            rise=slope * length,
            fittings=tuple(Fitting(kind=kind, count=dice.randint(1, 3)) for kind in kinds),
            surroundings=dice.choice(surroundings),
        )

    def leg(points: int) -> Leg:
        source: SuctionPoint | Junction
        if points == 1:
            source = point(named("Corner"), dice.choice([0.004, 0.028, 0.1, 0.4]))
        else:
            first = dice.randint(1, points - 1)
            source = Junction(straight=leg(first), side=leg(points - first))
        return Leg(source=source, runs=tuple(run(["indoors"]) for _ in range(dice.randint(1, 3))))

    intake = leg(dice.randint(1, 6))
    anywhere = ["indoors", "indoors", "unheated", "outdoors"]
    return one_point().model_copy(
        update={
            "intake": Leg(source=intake.source, runs=(*intake.runs[:-1], run(anywhere))),
            "discharge": tuple(run(anywhere) for _ in range(dice.randint(1, 2))),
            "house": House(storeys=dice.randint(1, 3), roof_height=dice.choice([0.0, 1.5, 2.5])),
        }
    )
