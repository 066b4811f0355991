"""From a design to what follows from it: prepare once, answer at any speed."""

from __future__ import annotations

import sys
from types import ModuleType

from workbench.design.design import Design
from workbench.solve.answer import answer
from workbench.solve.outcome import Crossing, Loss, Notice, Outcome, PointState, RunState, SoundAt, Year
from workbench.solve.prepare import Prepared, prepare, solve

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
    "answer",
    "prepare",
    "solve",
]


class _Callable(ModuleType):
    """Importing any module in here binds this package to the name `workbench.solve`, so it has to answer a call."""

    def __call__(self, design: Design, speed: float | None = None) -> Outcome:
        return solve(design, speed)


sys.modules[__name__].__class__ = _Callable
