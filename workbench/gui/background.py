"""Long sums beside the window: it stays alive, and only the newest answer is taken."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

from PySide6.QtCore import QObject, QRunnable, QThreadPool, QTimer, Signal

from workbench.gui import garbage

_WIND_UP_MS = 20


class _Voice(QObject):
    """What a job says when it is done. Living where it was made, it is heard in the window's own thread."""

    done = Signal(int, object)
    failed = Signal(int, str)


class _Job(QRunnable):
    def __init__(self, number: int, work: Callable[[], Any], voice: _Voice) -> None:
        super().__init__()
        self._number, self._work, self._voice = number, work, voice

    def run(self) -> None:
        try:
            found = self._work()
        except (ValueError, ArithmeticError) as refusal:
            self._voice.failed.emit(self._number, str(refusal))
        else:
            self._voice.done.emit(self._number, found)


class Background(QObject):
    """One worker thread. An answer to a question that was dropped or asked anew is not told."""

    answered = Signal(object)
    failed = Signal(str)
    """A sentence."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._number = 0
        self._busy = False
        self._voice = _Voice()
        self._voice.done.connect(self._done)
        self._voice.failed.connect(self._refused)
        # leaving waits for the job: a thread must not outlive what it works on
        self._pool = QThreadPool(self)
        self._pool.setMaxThreadCount(1)
        self._holder = object()
        self.destroyed.connect(partial(garbage.let_go, self._holder))

    def busy(self) -> bool:
        """Whether an answer is awaited."""
        return self._busy

    def ask(self, work: Callable[[], Any]) -> None:
        """Have a pure function called; its answer comes by `answered`."""
        self._pool.clear()
        self._number += 1
        self._busy = True
        garbage.hold(self._holder)
        self._pool.start(_Job(self._number, work, self._voice))

    def drop(self) -> None:
        """Want no answer any more."""
        self._pool.clear()
        self._number += 1
        self._busy = False

    def _done(self, number: int, found: Any) -> None:
        self._let_go()
        if number == self._number:
            self._busy = False
            self.answered.emit(found)

    def _let_go(self) -> None:
        # the message may come before its thread has wound up
        if self._pool.activeThreadCount():
            QTimer.singleShot(_WIND_UP_MS, self, self._let_go)
        else:
            garbage.let_go(self._holder)

    def _refused(self, number: int, sentence: str) -> None:
        self._let_go()
        if number == self._number:
            self._busy = False
            self.failed.emit(sentence)
