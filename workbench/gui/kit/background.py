"""Long sums beside the window: it stays alive, and only the newest answer is taken.

The worker touches nothing of Qt: it leaves what it found, and the window's own thread looks for it.
"""

from __future__ import annotations

import math
import os
import sys
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from functools import partial
from typing import Any, NamedTuple, NoReturn

from PySide6.QtCore import QCoreApplication, QObject, QTimer, Signal

from workbench.gui.kit import garbage

_LOOK_MS = 10
_HOPELESS = 3.0
"""What took this many times the patience is not waited for the next time."""
_BROKEN = "something went wrong inside the program"

Work = Callable[[], Any]


def end_at_once(code: int) -> NoReturn:
    """End the process, once all is saved, whatever is still under way: nobody waits for it any more.

    Left to the interpreter, the end would wait for every work beside the window, and take the window apart for half a
    second.
    """
    for stream in (sys.stdout, sys.stderr):
        if stream is not None:
            with suppress(OSError, ValueError):
                stream.flush()
    os._exit(code)


class Found(NamedTuple):
    """What a work gave back."""

    value: Any


def _sort(work: Work) -> object:
    """What a work is known by: its function, whatever it is called with."""
    return work.func if isinstance(work, partial) else work


class _Job:
    """A pure function under way in a thread of its own."""

    def __init__(self, number: int, work: Work) -> None:
        self.number = number
        self.found: Any = None
        self.refusal: Exception | None = None
        self._work = work
        self.sort = _sort(work)
        self.seconds = math.inf
        self._thread = threading.Thread(target=self._run)
        self._thread.start()

    def _run(self) -> None:
        begun = time.monotonic()
        try:
            self.found = self._work()
        except Exception as refusal:
            self.refusal = refusal
        self.seconds = time.monotonic() - begun

    def over(self) -> bool:
        return not self._thread.is_alive()

    def wait(self, seconds: float | None = None) -> None:
        self._thread.join(seconds)


class _Desk:
    """The job under way; what a background leaves behind when it goes."""

    def __init__(self) -> None:
        self.job: _Job | None = None

    def leave(self) -> None:
        """Leave the job to end by itself: it touches nothing but what it was given."""
        app = QCoreApplication.instance()
        if self.job is None or self.job.over() or app is None:
            self._put_away()
        else:
            self._watch = QTimer(app, interval=_LOOK_MS)
            self._watch.timeout.connect(self._look)
            self._watch.start()

    def _look(self) -> None:
        if self.job is None or self.job.over():
            self._watch.deleteLater()
            self._put_away()

    def _put_away(self) -> None:
        if self.job is not None:
            self.job.wait()
            self.job = None
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
        self._took: dict[object, float] = {}
        self._desk = _Desk()
        self._timer = QTimer(self, interval=_LOOK_MS)
        self._timer.timeout.connect(self._look)
        self.destroyed.connect(partial(_Desk.leave, self._desk))

    def busy(self) -> bool:
        """Whether an answer is awaited."""
        return self._busy

    def ask(self, work: Work, patience: float = 0.0) -> Found | None:
        """Have a pure function called; its answer comes by `answered`.

        What is found within `patience` [s] is given back and not told; what the work raises within it is raised. Where
        the last of the same function took several times as long, no time is spent on waiting for it.
        """
        self._number += 1
        self._busy, self._next = True, work
        if self._desk.job is None:
            self._start()
        hopeless = self._took.get(_sort(work), 0.0) > _HOPELESS * patience
        return None if hopeless or patience <= 0.0 else self._awaited(patience)

    def _awaited(self, patience: float) -> Found | None:
        desk, until = self._desk, time.monotonic() + patience
        while desk.job is not None:
            job = desk.job
            job.wait(min(max(until - time.monotonic(), 0.0), threading.TIMEOUT_MAX))
            if not job.over():
                return None
            self._clear()
            if job.number == self._number:
                self._busy = False
                if job.refusal is not None:
                    raise job.refusal
                return Found(job.found)
        return None

    def drop(self) -> None:
        """Want no answer any more."""
        self._number += 1
        self._busy, self._next = False, None

    def _start(self) -> None:
        work, self._next = self._next, None
        if work is not None:
            garbage.hold(self._desk)
            self._desk.job = _Job(self._number, work)
            # without a window nobody hears of it later
            if QCoreApplication.instance() is not None:
                self._timer.start()

    def _clear(self) -> None:
        """Put the job away that is over, and begin the next."""
        desk = self._desk
        self._timer.stop()
        if desk.job is not None:
            self._took[desk.job.sort] = desk.job.seconds
        desk.job = None
        self._start()
        if desk.job is None:
            garbage.let_go(desk)

    def _look(self) -> None:
        job = self._desk.job
        if job is None or not job.over():
            return
        # held a while longer: the collector may take apart this very object, where nobody else holds it
        garbage.hold(self)
        try:
            self._clear()
            if job.number == self._number:
                self._tell(job)
        finally:
            garbage.let_go(self)

    def _tell(self, job: _Job) -> None:
        self._busy = False
        if job.refusal is None:
            self.answered.emit(job.found)
        elif isinstance(job.refusal, ValueError | ArithmeticError):
            self.failed.emit(str(job.refusal))
        else:
            # noted as any fault of the program is; whoever waits must hear that nothing comes
            sys.excepthook(type(job.refusal), job.refusal, job.refusal.__traceback__)
            self.failed.emit(_BROKEN)
