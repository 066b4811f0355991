"""Long sums beside the window: it stays alive, and only the newest answer is taken."""

from __future__ import annotations

import threading
from collections.abc import Callable
from functools import partial
from typing import Any

from PySide6.QtCore import QObject, QTimer, Signal

from workbench.gui import garbage

_WIND_UP_MS = 20

Work = Callable[[], Any]


class _Voice(QObject):
    """What a job says when it is done. Living where it was made, it is heard in the window's own thread."""

    done = Signal(int, object)
    failed = Signal(int, str)


def _run(number: int, work: Work, voice: _Voice) -> None:
    try:
        found = work()
    except (ValueError, ArithmeticError) as refusal:
        voice.failed.emit(number, str(refusal))
    else:
        voice.done.emit(number, found)


class _Worker:
    """The thread of one background, which may outlive it for a moment."""

    def __init__(self) -> None:
        self.thread: threading.Thread | None = None

    def working(self) -> bool:
        return self.thread is not None and self.thread.is_alive()

    def leave(self) -> None:
        """Wait for the job; a thread of Python's is waited for without keeping from it what it needs to end."""
        if self.thread is not None:
            self.thread.join()
        garbage.let_go(self)


class Background(QObject):
    """One worker thread. An answer to a question that was dropped or asked anew is not told."""

    answered = Signal(object)
    failed = Signal(str)
    """A sentence."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._number = 0
        self._busy = False
        self._next: Work | None = None
        self._voice = _Voice()
        self._voice.done.connect(self._done)
        self._voice.failed.connect(self._refused)
        self._worker = _Worker()
        self.destroyed.connect(partial(_Worker.leave, self._worker))

    def busy(self) -> bool:
        """Whether an answer is awaited."""
        return self._busy

    def ask(self, work: Work) -> None:
        """Have a pure function called; its answer comes by `answered`."""
        self._number += 1
        self._busy, self._next = True, work
        if not self._worker.working():
            self._start()

    def drop(self) -> None:
        """Want no answer any more."""
        self._number += 1
        self._busy, self._next = False, None

    def _start(self) -> None:
        work, self._next = self._next, None
        if work is not None:
            garbage.hold(self._worker)
            self._worker.thread = threading.Thread(target=_run, args=(self._number, work, self._voice))
            self._worker.thread.start()

    def _done(self, number: int, found: Any) -> None:
        self._wind_up()
        if number == self._number:
            self._busy = False
            self.answered.emit(found)

    def _refused(self, number: int, sentence: str) -> None:
        self._wind_up()
        if number == self._number:
            self._busy = False
            self.failed.emit(sentence)

    def _wind_up(self) -> None:
        # the message may come before its thread has wound up
        if self._worker.working():
            QTimer.singleShot(_WIND_UP_MS, self, self._wind_up)
        elif self._next is not None:
            self._start()
        else:
            garbage.let_go(self._worker)
