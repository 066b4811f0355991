"""Floors drawn at random: each is answered, or refused in a sentence; never a traceback, a warning or a silence."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.floors import FAN, hole, job, read
from workbench.design import Design, GroundClass, Resistance, SuctionPoint
from workbench.design.catalogue import fill_kinds, ground_kinds
from workbench.design.ground import StepReading, StepTest
from workbench.design.slab import Edge, Footing, Position, Slab, Target, TestHole, Zone
from workbench.solving.run.prepare import Prepared


def outline_of(rng: np.random.Generator) -> list[tuple[float, float]]:
    wide, deep = 10.0 ** rng.uniform(0.4, 1.7, 2)
    if rng.random() < 0.5:
        return [(0.0, 0.0), (wide, 0.0), (wide, deep), (0.0, deep)]
    cut_x, cut_y = wide * rng.uniform(0.3, 0.8), deep * rng.uniform(0.3, 0.8)
    return [(0.0, 0.0), (wide, 0.0), (wide, cut_y), (cut_x, cut_y), (cut_x, deep), (0.0, deep)]


def ground_at(rng: np.random.Generator) -> object:
    volume = float(10.0 ** rng.uniform(-3.0, -1.0))
    kind = rng.integers(3)
    linear, quadratic = 10.0 ** rng.uniform(3.0, 5.5), 10.0 ** rng.uniform(3.0, 6.5)
    if kind == 0:
        return GroundClass(kind=str(rng.choice(list(ground_kinds()))))
    if kind == 1:
        return Resistance(linear=float(linear), quadratic=float(quadratic), tested_volume=volume)
    suctions = (100.0, 300.0, 900.0)
    flows = [2.0 * p / (linear + math.sqrt(linear**2 + 4.0 * quadratic * p)) for p in suctions]
    steps = tuple(
        StepReading(flow=q * float(rng.uniform(0.9, 1.1)), suction=p) for q, p in zip(flows, suctions, strict=True)
    )
    return StepTest(readings=steps, tested_volume=volume)


def any_job(rng: np.random.Generator) -> Design:
    """A job on a drawn floor: outline, fill, leaks, joints, zones, footings, points, holes and readings at random."""
    corners = outline_of(rng)
    wide, deep = max(x for x, _ in corners), max(y for _, y in corners)

    def place(margin: float = 0.08) -> Position:
        # the first corner's quarter is floor in every outline
        return Position(
            x=float(wide * rng.uniform(margin, 0.95 if len(corners) == 4 else 0.29)),
            y=float(deep * rng.uniform(margin, 0.95 if len(corners) == 4 else 0.29)),
        )

    kinds = ("sealed", "joint", "open")
    edges = tuple(
        Edge(kind=str(rng.choice(kinds, p=(0.4, 0.5, 0.1))), joint_width=float(10.0 ** rng.uniform(-4.5, -2.3)))
        for _ in corners
    )
    zones = ()
    if rng.random() < 0.4:
        low, high = rng.uniform(0.02, 0.1), rng.uniform(0.15, 0.28)
        zone = [(low, low), (high, low), (high, high), (low, high)]
        zones = (
            Zone(
                name="Patch",
                outline=tuple(Position(x=float(wide * x), y=float(deep * y)) for x, y in zone),
                permeability_factor=float(10.0 ** rng.uniform(-2.0, 1.0)),
                leak_factor=float(10.0 ** rng.uniform(-1.0, 1.0)),
            ),
        )
    footings = ()
    if rng.random() < 0.4:
        x = float(wide * rng.uniform(0.1, 0.28))
        line = (Position(x=x, y=0.0), Position(x=x, y=float(deep * rng.uniform(0.1, 0.28))))
        footings = (Footing(name="Wall", line=line, opening=float(rng.choice([0.0, 0.3, 1.0]))),)
    floor = Slab(
        outline=tuple(Position(x=float(x), y=float(y)) for x, y in corners),
        edges=edges,
        fill=str(rng.choice(list(fill_kinds()))),
        leak=None if rng.random() < 0.5 else float(10.0 ** rng.uniform(-9.0, -3.0)),
        outdoor_share=float(rng.choice([0.0, 0.3, 1.0])),
        leak_left=float(rng.choice([1.0, 0.3])),
        joints_left=float(rng.choice([1.0, 0.0])),
        zones=zones,
        footings=footings,
        cell=0.5,
    )
    points = [
        SuctionPoint(
            name="Pit" if i == 0 else f"P{i}",
            pit_volume=float(10.0 ** rng.uniform(-2.5, -0.7)),
            ground=ground_at(rng),  # type: ignore[arg-type]
            position=place(),
        )
        for i in range(int(rng.choice([1, 1, 1, 2, 3])))
    ]
    holes: list[TestHole] = []
    for h in range(int(rng.integers(1, 5))):
        readings = []
        for _ in range(int(rng.choice([0, 1, 1, 2]))):
            applied = float(10.0 ** rng.uniform(1.0, 3.0))
            readings.append(
                read(
                    float(applied * 10.0 ** rng.uniform(-3.0, -0.05) - (0.3 if rng.random() < 0.1 else 0.0)),
                    applied=applied,
                    flow=None if rng.random() < 0.5 else float(10.0 ** rng.uniform(-3.5, -1.3)),
                    point=points[int(rng.integers(len(points)))].name,
                    made_with=str(rng.choice(["test vacuum", "installed system"])),
                )
            )
        change = float(-rng.uniform(0.0, 3.0)) if rng.random() < 0.3 else None
        where = place(0.02) if rng.random() < 0.9 else None
        holes.append(hole(f"H{h}", *readings).model_copy(update={"position": where, "exhausts": change}))
    tested = 4.0 if rng.random() < 0.5 else None
    return job(
        holes,
        *points,
        floor=floor,
        target=Target(suction=float(10.0 ** rng.uniform(-1.0, 1.0))),
        worst_day={"tested_draw_down": tested},
    )


# more of them, and each at seven speeds, are tried by the attack
@pytest.mark.parametrize("seed", range(20))
def test_any_floor_is_answered_or_refused_in_a_sentence(seed: int) -> None:
    try:
        design = any_job(np.random.default_rng(seed))
        prepared = Prepared(design)
        outcome = prepared.at(0.7)
    except ValueError as error:
        refusal: ValueError | None = error
    else:
        refusal = None
    if refusal is not None:
        assert str(refusal)
        return
    holding = outcome.holding
    if holding is None:
        assert outcome.notices
        return
    assert FAN.name == design.fan
    if any(h.readings for h in design.holes):
        assert holding.chance is not None
        assert 0.0 <= holding.chance <= 1.0
    else:
        assert holding.verdict == "not measured"
    for state in holding.holes:
        assert state.worst <= state.suction + 1e-9 or not state.known
        assert not state.known or np.isfinite(state.worst_band).all()
