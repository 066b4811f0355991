"""What one trial may use: a few seconds, and so much memory; beyond it is stopped and counted as a failure."""

from __future__ import annotations

import resource
import signal
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

SECONDS = 5.0
"""Of processor time, so that a busy machine is no fault of the program."""
_STOP = 4 * SECONDS
_MEMORY = 4_000_000_000


class TooLong(BaseException):
    """Raised in the trial when its time is up; no handler of the program may take it for a fault of its own."""


@contextmanager
def bounded(seconds: float = _STOP) -> Iterator[None]:
    """Every warning an error, and the time and memory bounded."""

    def stop(_signal: int, _frame: FrameType | None) -> None:
        raise TooLong(f"more than {seconds:g} s")

    before = signal.signal(signal.SIGVTALRM, stop)
    soft, hard = resource.getrlimit(resource.RLIMIT_AS)
    resource.setrlimit(resource.RLIMIT_AS, (_MEMORY if hard == resource.RLIM_INFINITY else min(hard, _MEMORY), hard))
    signal.setitimer(signal.ITIMER_VIRTUAL, seconds)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            yield
    finally:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0.0)
        signal.signal(signal.SIGVTALRM, before)
        resource.setrlimit(resource.RLIMIT_AS, (soft, hard))
