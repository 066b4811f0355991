"""From a design to what follows from it: prepare once, answer at any speed."""

from __future__ import annotations

from workbench.solving.later.prepared import prepare, solve
from workbench.solving.outcome import Crossing, Loss, Notice, Outcome, PointState, RunState, SoundAt, Year
from workbench.solving.run.prepare import Prepared

__all__ = [
    "Crossing",
    "Loss",
    "Notice",
    "Outcome",
    "PointState",
    "Prepared",
    "RunState",
    "SoundAt",
    "Year",
    "prepare",
    "solve",
]
