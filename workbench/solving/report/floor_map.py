"""The vacuum field over the drawn floor at an answer: on the day, on the worst day, and where the air comes from."""

from __future__ import annotations

from functools import lru_cache
from typing import Literal, NamedTuple

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from workbench.physics.arrays import Array
from workbench.physics.slab.field import VacuumField
from workbench.solving.outcome import Outcome
from workbench.solving.run.prepare import Prepared
from workbench.solving.site.draws import DRAG_SAMPLES

_LEAN = 2.0
"""Distance over which what is odd about one hole is carried into its surroundings; a judgement. [m]"""


class Coverage(Struct, frozen=True, eq=False):
    """How much of the floor holds, and its weakest place.

    `share` of the area at or above the target; `place` (x, y) [m] of the least suction, `least` that suction [Pa].
    """

    share: float
    place: tuple[float, float]
    least: float


class FloorMap(Struct, frozen=True, eq=False):
    """The field at the N cells of the floor, shape (N,) [Pa], on the day and on the worst day."""

    field: VacuumField
    day: Array
    worst: Array
    day_coverage: Coverage
    worst_coverage: Coverage


class AirPath(Struct, frozen=True):
    """A way by which air reaches the pits: from where, the flow [m3/s], whether it is house air, and along which side.

    `side` is counted from 0; None where the air comes through the slab or, from outdoors, through the ground.
    """

    way: Literal["slab", "ground", "side"]
    flow: float
    house: bool
    side: int | None = None

    @property
    def title(self) -> str:
        """The way in words."""
        through = f"Along side {self.side + 1}" if self.side is not None else f"Through the {self.way}"
        return f"{through}, from {'the house' if self.house else 'outdoors'}"


def plan_at(prepared: Prepared, outcome: Outcome) -> FloorMap | None:
    """The field at an answer, leaning to the holes; None without a drawn floor or an operating point."""
    field = prepared.assembly.floor.field
    if field is None or not outcome.points:
        return None
    flows = np.array([point.flow for point in outcome.points])
    day = field.at(flows)
    drawn = flows if outcome.worst_flows is None else np.array(outcome.worst_flows)
    season = prepared.worst_day
    worst = field.at(drawn) - season.draw_down * field.cells.rest
    if outcome.holding is not None:
        day = _leaning(
            prepared, field, day, {h: hole.suction for h, hole in enumerate(outcome.holding.holes) if hole.known}
        )
        worst = _leaning(
            prepared, field, worst, {h: hole.worst for h, hole in enumerate(outcome.holding.holes) if hole.known}
        )
    target = prepared.design.target.suction
    holes = {} if outcome.holding is None else {hole.name: hole for hole in outcome.holding.holes if hole.known}
    placed = [(p, holes[h.name]) for h in prepared.design.holes if (p := h.position) is not None and h.name in holes]
    return FloorMap(
        field,
        day,
        worst,
        _coverage(field, day, target, [((p.x, p.y), hole.suction) for p, hole in placed]),
        _coverage(field, worst, target, [((p.x, p.y), hole.worst) for p, hole in placed]),
    )


def _leaning(prepared: Prepared, field: VacuumField, suction: Array, kept: dict[int, float]) -> Array:
    """A field bent to what the holes keep, so that the map never contradicts a hole it passes through.

    What a hole's own answer differs from the smooth field by is carried into its surroundings and dies out over
    `_LEAN` metres; at the pits nothing is changed.
    """
    holes = enumerate(prepared.design.holes)
    placed = {h: hole.position for h, hole in holes if h in kept and hole.position is not None}
    if not placed:
        return suction
    bend = _bend(field, tuple((p.x, p.y) for p in placed.values()))
    off = np.array([kept[h] for h in placed]) - suction[bend.nearest]
    return np.asarray(suction + bend.carried @ off)


class _Bend(NamedTuple):
    """Cells nearest to k holes (k,), and what each cell takes of what is odd about each hole, (N, k)."""

    nearest: NDArray[np.intp]
    carried: Array


@lru_cache(maxsize=8)
def _bend(field: VacuumField, holes: tuple[tuple[float, float], ...]) -> _Bend:
    """Where holes stand in a field; kept, since no speed touches it."""
    nearest = np.argmin(np.hypot(*(field.centres[:, None] - np.array(holes)).transpose(2, 0, 1)), axis=0)
    known = np.concatenate((field.centres[nearest], field.positions))
    apart = np.hypot(*(known[:, None] - known).transpose(2, 0, 1))
    # holes in one cell agree on their mean
    inverse = np.linalg.pinv(np.exp(-apart / _LEAN) + 1e-9 * np.eye(len(known)))
    away = np.hypot(*(field.centres[:, None] - known).transpose(2, 0, 1))
    return _Bend(nearest, np.asarray(np.exp(-away / _LEAN) @ inverse[:, : len(holes)]))


def _coverage(
    field: VacuumField, suction: Array, target: float, holes: list[tuple[tuple[float, float], float]]
) -> Coverage:
    weakest = int(np.argmin(suction))
    x, y = (float(c) for c in field.centres[weakest])
    share = float(field.areas[suction >= target].sum() / field.areas.sum())
    # a hole between the centres of cells may be the weakest place of all
    place, least = min([((x, y), float(suction[weakest])), *holes], key=lambda pair: pair[1])
    return Coverage(share, place, least)


def air_paths(prepared: Prepared, outcome: Outcome) -> tuple[AirPath, ...]:
    """Where the exhaust comes from on the day, largest first; empty without a drawn floor."""
    field, slab = prepared.assembly.floor.field, prepared.design.slab
    if field is None or slab is None or not outcome.points:
        return ()
    flows = np.array([point.flow for point in outcome.points])
    intake = field.intake(flows)
    share, total = prepared.assembly.floor.house_share(flows, DRAG_SAMPLES)[0], float(flows.sum())
    # the field tells how the air is shared among the ways, the fitted floor how much of it is the house's
    house = share * total / max(float(intake.house), 1e-30)
    outdoors = (1.0 - share) * total / max(float(intake.outdoors), 1e-30)
    found = [
        AirPath("slab", house * float(intake.slab_house), True),
        AirPath("ground", outdoors * float(intake.slab_outdoors), False),
    ]
    for side in range(len(slab.outline)):
        found.append(AirPath("side", house * float(intake.edge_house[side]), True, side))
        found.append(AirPath("side", outdoors * float(intake.edge_outdoors[side]), False, side))
    return tuple(sorted((path for path in found if path.flow > 0.0), key=lambda path: -path.flow))


def house_share(prepared: Prepared, outcome: Outcome) -> float | None:
    """Share of the exhaust that is house air by the floor; None without a drawn one or an answer."""
    if not prepared.assembly.floor.planned or not outcome.points:
        return None
    return prepared.assembly.floor.house_share(np.array([point.flow for point in outcome.points]), DRAG_SAMPLES)[0]
