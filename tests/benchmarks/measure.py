"""One measured promise, and how two things are timed in turn."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Result:
    """A ratio, the bar it must stay under (or reach, where `least`), and how it came about."""

    name: str
    ratio: float
    bar: float
    detail: str
    least: bool = False

    @property
    def holds(self) -> bool:
        """Whether the promise is kept."""
        return self.ratio >= self.bar if self.least else self.ratio <= self.bar


def in_turn(first: Callable[[], object], second: Callable[[], object], rounds: int) -> tuple[list[float], list[float]]:
    """Seconds of two actions, done one after the other so that a busy machine slows both."""
    times: tuple[list[float], list[float]] = ([], [])
    for _ in range(rounds):
        for action, kept in zip((first, second), times, strict=True):
            start = time.perf_counter()
            action()
            kept.append(time.perf_counter() - start)
    return times


def ms(times: list[float]) -> float:
    """Median in milliseconds."""
    return 1e3 * statistics.median(times)
