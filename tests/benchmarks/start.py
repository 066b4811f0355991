"""Start of the window on the demo, answer and all, beside the start of an empty window of the same libraries."""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time

from tests.benchmarks.measure import Result

_ROUNDS = 9

_EMPTY = """
from PySide6.QtWidgets import QApplication, QMainWindow
import pyqtgraph
app = QApplication([])
window = QMainWindow()
window.setCentralWidget(pyqtgraph.PlotWidget())
window.resize(1280, 800)
window.show()
for _ in range(3):
    app.processEvents()
"""

# the program itself puts off looking for garbage until it is started
_OURS = """
import gc
gc.disable()
import workbench.__main__
from workbench.files.scenes import load_scene
from workbench.gui.app import application, open_window
app = application()
window = open_window(load_scene(), quick=True)
window.show()
for _ in range(3):
    app.processEvents()
"""


def _seconds(program: str, compiled: str) -> float:
    """Seconds of a process; both programs find bytecode, as an installed one does, in the folder `compiled`."""
    env = {**os.environ, "QT_QPA_PLATFORM": "offscreen", "PYTHONPYCACHEPREFIX": compiled}
    env.pop("PYTHONDONTWRITEBYTECODE", None)
    start = time.perf_counter()
    subprocess.run(
        [sys.executable, "-c", program + "\nimport os; os._exit(0)\n"],
        check=True,
        env=env,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    return time.perf_counter() - start


def run() -> list[Result]:
    """Whole processes in turn, from nothing to the first painted window; the ratio is taken pair by pair."""
    with tempfile.TemporaryDirectory() as compiled:
        _seconds(_EMPTY, compiled)
        _seconds(_OURS, compiled)
        pairs = [(_seconds(_OURS, compiled), _seconds(_EMPTY, compiled)) for _ in range(_ROUNDS)]
    ours, empty = (statistics.median(times) for times in zip(*pairs, strict=True))
    return [
        Result(
            "start of the window against an empty window",
            statistics.median(a / b for a, b in pairs),
            1.5,
            f"{ours:.2f} s against {empty:.2f} s, median of {_ROUNDS} pairs",
        )
    ]
