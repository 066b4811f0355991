"""The vacuum field over the drawn floor at an answer: on the day, on the worst day, and where the air comes from."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workbench.physics.slab import Field
from workbench.solve.outcome import Outcome
from workbench.solve.prepare import Prepared

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Coverage:
    """How much of the floor holds, and its weakest place.

    `share` of the area at or above the target; `place` (x, y) [m] of the least suction, `least` that suction [Pa].
    """

    share: float
    place: tuple[float, float]
    least: float


@dataclass(frozen=True, eq=False)
class Plan:
    """The field at the N cells of the floor, shape (N,) [Pa], on the day and on the worst day."""

    field: Field
    day: Array
    worst: Array
    day_coverage: Coverage
    worst_coverage: Coverage


@dataclass(frozen=True)
class AirPath:
    """A way by which air reaches the pits [m3/s]: a title, the flow, and whether it is house air."""

    title: str
    flow: float
    house: bool


def plan_at(ready: Prepared, outcome: Outcome) -> Plan | None:
    """The field at an answer; None without a drawn floor or an operating point."""
    field = ready.assembly.floor.field
    if field is None or not outcome.points:
        return None
    flows = np.array([point.flow for point in outcome.points])
    day = field.at(flows)
    drawn = flows if outcome.worst_flows is None else np.array(outcome.worst_flows)
    worst = field.at(drawn, -ready.worst_day.draw_down)
    target = ready.design.target.suction
    return Plan(field, day, worst, _coverage(field, day, target), _coverage(field, worst, target))


def _coverage(field: Field, suction: Array, target: float) -> Coverage:
    weakest = int(np.argmin(suction))
    x, y = (float(c) for c in field.centres[weakest])
    share = float(field.areas[suction >= target].sum() / field.areas.sum())
    return Coverage(share, (x, y), float(suction[weakest]))


def air_paths(ready: Prepared, outcome: Outcome) -> tuple[AirPath, ...]:
    """Where the exhaust comes from on the day, largest first; empty without a drawn floor."""
    field, slab = ready.assembly.floor.field, ready.design.slab
    if field is None or slab is None or not outcome.points:
        return ()
    intake = field.intake(np.array([point.flow for point in outcome.points]))
    found = [
        AirPath("Through the slab, from the house", float(intake.slab_house), True),
        AirPath("Through the ground, from outdoors", float(intake.slab_outdoors), False),
    ]
    for side in range(len(slab.outline)):
        if slab.edge(side).kind != "sealed":
            found.append(AirPath(f"Along side {side + 1}, from the house", float(intake.edge_house[side]), True))
    return tuple(sorted((path for path in found if path.flow > 0.0), key=lambda path: -path.flow))


def house_share(ready: Prepared, outcome: Outcome) -> float | None:
    """Share of the exhaust that is house air by the field; None without a drawn floor."""
    paths = air_paths(ready, outcome)
    total = sum(path.flow for path in paths)
    return sum(path.flow for path in paths if path.house) / total if total > 0.0 else None
