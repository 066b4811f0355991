"""Many jobs from the command line with one process and with two: jobs a second, starts of all processes included."""

from __future__ import annotations

import subprocess
import sys
import tempfile
from functools import partial
from pathlib import Path

from tests.benchmarks.measure import Result, in_turn
from workbench.design.record import with_value
from workbench.files.many import available
from workbench.files.project import save_project
from workbench.files.scenes import load_scene

_JOBS = 120
_BAR = 1.4


def _solved(folder: str, processes: int) -> None:
    table = str(Path(folder) / "jobs.csv")
    words = ["solve", folder, "--table", table, "--processes", str(processes)]
    subprocess.run([sys.executable, "-m", "workbench", *words], check=True)


def run() -> list[Result]:
    """A folder of drawn floors, in turn; nothing is told where there is one core."""
    if available() < 2:
        return []
    design = load_scene("studio")
    with tempfile.TemporaryDirectory() as folder:
        for number in range(_JOBS):
            # each another, so that nothing kept of one answers the next
            pit = ("intake", "source", "pit_volume")
            save_project(with_value(design, pit, 0.02 + 0.0005 * number), Path(folder) / f"{number:03}.json")
        (one,), (two,) = in_turn(partial(_solved, folder, 1), partial(_solved, folder, 2), 1)
    told = f"{_JOBS / one:.1f} jobs a second with one, {_JOBS / two:.1f} with two, {_JOBS} jobs"
    return [Result("many jobs: two processes against one", one / two, _BAR, told, least=True)]
