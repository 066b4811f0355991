"""How long the window ever stands still while values are typed into the studio, its floor solved beside it."""

from __future__ import annotations

import time
from itertools import cycle

from PySide6.QtCore import QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from tests.benchmarks.measure import Result
from workbench.design import Design
from workbench.design.record import value_at, with_value
from workbench.files.scenes import load_scene
from workbench.gui.app import application, open_window
from workbench.gui.shell.document import Change
from workbench.gui.window import FLOOR, SITE

_EDITS = 200
_BETWEEN_MS = 120
"""A person types a value in no less."""
_BEAT_MS = 2
_MOST_MS = 50.0
_KINDS = (
    ("reading", ("holes", 0, "readings", 0, "suction")),
    ("length of a run", ("discharge", 0, "length")),
    ("fill", ("slab", "thickness")),
    ("target", ("target", "suction")),
    ("pit", ("intake", "source", "pit_volume")),
)


class _Pulse:
    """Beats as fast as the loop lets it, and notes the time between two beats."""

    def __init__(self) -> None:
        self.gaps: list[float] = []
        self._last = time.perf_counter()
        self._timer = QTimer(interval=_BEAT_MS)
        self._timer.timeout.connect(self._beat)
        self._timer.start()

    def _beat(self) -> None:
        now = time.perf_counter()
        self.gaps.append(now - self._last)
        self._last = now

    def stop(self) -> None:
        self._timer.stop()


def _changed(address: tuple[str | int, ...], factor: float) -> Change:
    def change(design: Design) -> Design:
        return with_value(design, address, value_at(design, address) * factor)

    return change


def run() -> list[Result]:
    """Half of the edits come while the floor is in sight, half while the section is; the window works as it ships."""
    app = application()
    window = open_window(load_scene())
    window.resize(1280, 800)
    window.show()
    window.finish()
    document = window.document
    gaps: dict[str, list[float]] = {}
    worst: dict[str, float] = {}
    for page in (FLOOR, SITE):
        window.pages.turn_to(page)
        window.finish()
        for _ in range(5):
            app.processEvents()
        kinds = cycle(_KINDS)
        pulse = _Pulse()
        for edit in range(_EDITS // 2):
            name, address = next(kinds)
            before = len(pulse.gaps)
            change = _changed(address, 1.03 if edit // len(_KINDS) % 2 else 1 / 1.03)
            QTimer.singleShot(0, window, lambda change=change: window.pages.proposed.emit(change, "Change a value"))
            # now and then a person looks at the answer
            QTest.qWait(_BETWEEN_MS if edit % 10 else 10 * _BETWEEN_MS)
            worst[name] = max(worst.get(name, 0.0), *pulse.gaps[before:])
        while document.working():
            app.processEvents()
        QTest.qWait(500)
        pulse.stop()
        gaps[page] = sorted(pulse.gaps)
    window.filing.close()
    document.leave()
    window.deleteLater()
    QApplication.sendPostedEvents()
    longest = 1e3 * max(each[-1] for each in gaps.values())
    pages = ", ".join(f"{page} {1e3 * each[-1]:.0f} ms" for page, each in gaps.items())
    kinds_said = ", ".join(f"{name} {1e3 * gap:.0f} ms" for name, gap in worst.items())
    over = sum(gap > _MOST_MS / 1e3 for each in gaps.values() for gap in each)
    return [
        Result(
            "longest stall of the event loop while 200 values are typed, against 50 ms",
            longest / _MOST_MS,
            1.0,
            f"{longest:.0f} ms ({pages}; {kinds_said}); {over} over {_MOST_MS:.0f} ms",
        )
    ]
