"""The field under a slab: made beside one bare factorisation of its matrix, and a change of speed beside making it."""

from __future__ import annotations

import itertools

import numpy as np
from scipy.sparse.linalg import splu

from tests.benchmarks.measure import Result, in_turn, ms
from workbench.files.scenes import load_scene
from workbench.physics.slab.field import vacuum_field
from workbench.solving import prepare
from workbench.solving.report.floor_map import plan_at

_ROUNDS = 15


def run() -> list[Result]:
    """The floor of the reading room on cells of 10 cm, its two points drawing."""
    prepared = prepare(load_scene("reading-room"))
    field = prepared.assembly.floor.field
    assert field is not None
    matrix = field.system.matrix.tocsc()

    def make() -> None:
        vacuum_field(field.slab, field.positions, field.radii)

    def factorise() -> None:
        splu(matrix)

    flows = itertools.cycle([np.full(len(field.positions), 0.01 + 1e-4 * i) for i in range(20)])

    def change() -> None:
        field.at(next(flows))

    outcomes = itertools.cycle([prepared.at(0.5 + 0.02 * i) for i in range(20)])

    def plan() -> None:
        plan_at(prepared, next(outcomes))

    making, bare = in_turn(make, factorise, _ROUNDS)
    made, changing = in_turn(make, change, _ROUNDS)
    made_again, planning = in_turn(make, plan, _ROUNDS)
    cells = len(field.areas)
    return [
        Result(
            "slab field made against one bare splu of its matrix",
            ms(making) / ms(bare),
            1.5,
            f"{ms(making):.1f} ms against {ms(bare):.1f} ms, {cells} cells, median of {_ROUNDS}",
        ),
        Result(
            "slab field at another speed against making it",
            ms(changing) / ms(made),
            1 / 20,
            f"{ms(changing):.3f} ms against {ms(made):.1f} ms, median of {_ROUNDS}",
        ),
        Result(
            "plan with its coverage at another speed against making the field",
            ms(planning) / ms(made_again),
            1 / 20,
            f"{ms(planning):.3f} ms against {ms(made_again):.1f} ms, median of {_ROUNDS}",
        ),
    ]
