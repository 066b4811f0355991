"""What may wait until the hand rests: done once, a moment after the last touch."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QObject, QTimer

REST_MS = 150


class Resting(QObject):
    """Calls `answer` once when nothing was touched for `REST_MS`."""

    def __init__(self, answer: Callable[[], None], parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._answer = answer
        self._timer = QTimer(self, singleShot=True, interval=REST_MS)
        self._timer.timeout.connect(answer)

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
            self._answer()
