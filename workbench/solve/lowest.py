"""The lowest speed that holds: by the middle of the bands, and at the chance the user asks for."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from workbench.solve.chance import DRAG_SAMPLES
from workbench.solve.outcome import Holding

if TYPE_CHECKING:
    from workbench.solve.prepare import Prepared

_FINENESS = 5e-4


@dataclass(frozen=True)
class Lowest:
    """Lowest speeds that hold, None where the fan does not hold even at full speed.

    `plain` by the middle of the bands; `sure` at the user's chance.
    """

    plain: float | None
    sure: float | None


def lowest_speeds(ready: Prepared) -> Lowest:
    """Search between the fan's least speed and full speed; more speed never takes suction from a hole."""
    fan = ready.design.chosen_fan
    if fan is None or not ready.design.holes:
        return Lowest(None, None)
    kept: dict[float, Holding | None] = {}

    def holding(speed: float) -> Holding | None:
        if speed not in kept:
            kept[speed] = ready.holding(speed, DRAG_SAMPLES)
        return kept[speed]

    def plainly(speed: float) -> bool:
        found = holding(speed)
        return found is not None and found.weakest is not None and found.margin >= 0.0

    def surely(speed: float) -> bool:
        found = holding(speed)
        return found is not None and found.verdict == "holds"

    return Lowest(_least(plainly, fan.lowest_speed), _least(surely, fan.lowest_speed))


def _least(holds: Callable[[float], bool], lowest: float) -> float | None:
    if not holds(1.0):
        return None
    if holds(lowest):
        return lowest
    low, high = lowest, 1.0
    while high - low > _FINENESS:
        middle = 0.5 * (low + high)
        if holds(middle):
            high = middle
        else:
            low = middle
    return high
