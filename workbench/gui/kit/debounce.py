"""What comes in bursts, answered once: in the next pass of the event loop, or when the hand has rested."""

from __future__ import annotations

from collections.abc import Callable
from types import MethodType
from typing import Any
from weakref import WeakMethod

from PySide6.QtCore import QObject, QTimer

REST_MS = 150


def _lightly(answer: Callable[..., None]) -> Callable[[], Callable[..., None] | None]:
    """A way to what answers that does not keep its owner alive.

    Owner and debouncer would else hold each other until the collector finds them, with a timer still running in what it
    takes apart.
    """
    return WeakMethod(answer) if isinstance(answer, MethodType) else lambda: answer


def _called(way: Callable[[], Callable[..., None] | None], *values: Any) -> None:
    answer = way()
    if answer is not None:
        answer(*values)


class OncePerPass(QObject):
    """Calls `answer` once per pass of the event loop, with the latest value given.

    A fast mouse sends several moves before a frame can be painted; answering each would queue frames behind the hand.
    """

    def __init__(self, answer: Callable[[float], None], parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._answer = _lightly(answer)
        self._latest = 0.0
        self._timer = QTimer(self, singleShot=True, interval=0)
        self._timer.timeout.connect(self._fire)

    def __call__(self, value: float) -> None:
        self._latest = value
        if not self._timer.isActive():
            self._timer.start()

    def pending(self) -> bool:
        """Whether a value waits to be answered."""
        return self._timer.isActive()

    def flush(self) -> None:
        """Answer now what waits, if anything does."""
        if self._timer.isActive():
            self._timer.stop()
            self._fire()

    def _fire(self) -> None:
        _called(self._answer, self._latest)


class OnceAtRest(QObject):
    """Calls `answer` once when nothing was touched for `REST_MS`."""

    def __init__(self, answer: Callable[[], None], parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._answer = _lightly(answer)
        self._timer = QTimer(self, singleShot=True, interval=REST_MS)
        self._timer.timeout.connect(self._fire)

    def touch(self) -> None:
        """Something moved: wait anew."""
        self._timer.start()

    def pending(self) -> bool:
        """Whether an answer is still to come."""
        return self._timer.isActive()

    def stop(self) -> None:
        """Wait no longer, and do not answer."""
        self._timer.stop()

    def flush(self) -> None:
        """Answer now what waits, if anything does."""
        if self._timer.isActive():
            self._timer.stop()
            self._fire()

    def _fire(self) -> None:
        _called(self._answer)
