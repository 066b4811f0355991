"""No grid decides an answer: neither the one that is drawn nor the one that points and holes are solved on."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.floors import PIT, hole, job, point, read, slab
from workbench.design import Design, Resistance
from workbench.design.slab import Position, Target
from workbench.physics.slab.field import vacuum_field
from workbench.physics.slab.parts import Layer
from workbench.solving import prepare

BIG = ((0.0, 0.0), (60.0, 0.0), (60.0, 40.0), (0.0, 40.0))
AT, RADIUS = (18.0, 16.0), 0.24
AWAY = {"Near": 1.5, "Middle": 4.0, "Unread": 8.0, "Corner": None}


def places() -> dict[str, tuple[float, float]]:
    return {name: (57.0, 38.0) if d is None else (AT[0] + 0.8 * d, AT[1] + 0.6 * d) for name, d in AWAY.items()}


def hall(transmissivity: float, leak: float, cell: float = 0.1) -> tuple[Design, np.ndarray, float]:
    """A floor of 60 by 40 m with readings taken off a fine field, that field's answers, and its resistance."""
    field = vacuum_field(
        Layer(BIG, transmissivity, leak_house=0.5 * leak, leak_outdoors=0.5 * leak, cell=0.2), [AT], [RADIUS]
    )
    resistance = float(field.resistance[0, 0])
    seen = field.sample(list(places().values())).flow[:, 0]
    flow = 100.0 / resistance
    holes = [
        hole(name, *([] if name == "Unread" else [read(float(s) * flow, flow=flow, applied=100.0)]), at=at)
        for (name, at), s in zip(places().items(), seen, strict=True)
    ]
    ground = Resistance(linear=resistance, tested_volume=PIT, band=0.1)
    outline = tuple(Position(x=x, y=y) for x, y in BIG)
    drawn = slab(outline=outline, edges=(), fill="gravel", cell=cell)
    return job(holes, point(at=AT, ground=ground), floor=drawn, target=Target(suction=0.5)), seen, resistance


@pytest.mark.parametrize(("transmissivity", "leak"), [(1e-4, 1e-7), (1e-4, 1e-6), (2e-5, 1e-7)])
def test_a_hall_of_60_by_40_m_is_answered_as_its_fine_field_has_it(transmissivity: float, leak: float) -> None:
    """Its own cells are 1.6 m wide. The field of 0.2 m cells is checked against closed forms in `published`."""
    design, seen, _ = hall(transmissivity, leak)
    prepared = prepare(design)
    outcome = prepared.at(0.8)
    assert outcome.holding is not None
    flow = outcome.points[0].flow
    for state, each in zip(outcome.holding.holes, seen, strict=True):
        assert state.suction == pytest.approx(float(each) * flow, rel=0.045)
        assert state.band[0] < float(each) * flow < state.band[1]


def test_the_cells_that_are_drawn_change_no_answer_and_a_large_floor_gets_few() -> None:
    told = []
    for cell in (0.05, 0.5, 1.0):
        design, _, _ = hall(1e-4, 1e-6, cell)
        prepared = prepare(design)
        outcome = prepared.at(0.8)
        assert outcome.holding is not None
        field = prepared.assembly.floor.field
        assert field is not None
        assert len(field.areas) <= 61_000
        coarser = [notice for notice in outcome.notices if notice.code == "coarser-grid"]
        assert bool(coarser) == (cell == 0.05)
        if coarser:
            assert coarser[0].values == ((field.grid.cell, "small_length"), (0.05, "small_length"), (60_000, "count"))
        told.append((outcome.holding.chance, [state.worst_band for state in outcome.holding.holes]))
    assert told[0] == told[1] == told[2]


def test_a_closet_is_drawn_on_cells_finer_than_asked_for() -> None:
    """Else "only 15.2 cells of 1 m" leaves it without a picture."""
    outline = tuple(Position(x=x, y=y) for x, y in ((0.0, 0.0), (3.0, 0.0), (3.0, 2.0), (0.0, 2.0)))
    floor = slab(outline=outline, edges=(), cell=1.0)
    prepared = prepare(job([hole("A", read(5.0), at=(2.5, 1.5))], point(at=(0.8, 0.8)), floor=floor))
    field = prepared.assembly.floor.field
    assert field is not None
    assert field.grid.cell == pytest.approx(math.sqrt(6.0 / 400.0))
    assert "coarser-grid" not in [notice.code for notice in prepared.at(0.7).notices]
