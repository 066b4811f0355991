"""How time grows with what a job holds: the slope of log time over log size, by least squares.

What takes the same whatever the size (a call costs as much for one run as for two) flattens a slope, so the sizes reach
well past an ordinary job.
"""

from __future__ import annotations

import itertools
import math
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from functools import partial

import numpy as np
from msgspec.structs import replace

from tests.benchmarks.choices import case
from tests.benchmarks.measure import Result
from tests.jobs import floor_job
from workbench.design import Design
from workbench.design.edit import add_fan, add_suction_point, choose_fan, divide_run
from workbench.design.record import with_value
from workbench.design.search import Search
from workbench.design.slab import Position
from workbench.files.scenes import load_scene
from workbench.gui.app import application, open_window
from workbench.gui.shell.document import Document
from workbench.physics.slab.field import vacuum_field
from workbench.solving import Outcome, Prepared, prepare
from workbench.solving.choices.search import search
from workbench.solving.site.draws import DRAG_SAMPLES

Action = Callable[[], object]
FRAME_S = 0.0167
_TIMED_S = 0.25
"""How long an action is repeated at least; the quickest of its times counts, which a busy machine disturbs least."""
_FRAME = itertools.cycle([0.7, 0.72, 0.74, 0.76])


def _least(action: Action, rounds: int = 3) -> float:
    action()
    times: list[float] = []
    began = time.perf_counter()
    while len(times) < rounds or time.perf_counter() - began < _TIMED_S:
        start = time.perf_counter()
        action()
        times.append(time.perf_counter() - start)
        if time.perf_counter() - began > 20.0 * _TIMED_S and len(times) >= 2:
            break
    return min(times)


def _result(what: str, bar: float, sizes: Sequence[float], times: Sequence[float]) -> Result:
    slope = float(np.polyfit(np.log(sizes), np.log(times), 1)[0])
    told = ", ".join(f"{size:g}: {1e3 * seconds:.3g} ms" for size, seconds in zip(sizes, times, strict=True))
    return Result(f"growth: time against {what}, exponent", slope, bar, told)


def _cells() -> Result:
    field = prepare(load_scene("reading-room")).assembly.floor.field
    assert field is not None
    sizes, times = [], []
    for cell in (0.2, 0.14, 0.1, 0.07, 0.05):
        make = partial(vacuum_field, replace(field.slab, cell=cell), field.positions, field.radii)
        sizes.append(float(len(make().areas)))
        times.append(_least(make))
    return _result("grid cells, making the field", 1.5, sizes, times)


def with_points(count: int) -> Design:
    """A drawn floor with so many points along it, which grows with them, all on one riser."""
    design = floor_job()
    length = max(4.0 * count, 9.0)
    corners = ((0.0, 0.0), (length, 0.0), (length, 4.0), (0.0, 4.0))
    outline = tuple(Position(x=x, y=y) for x, y in corners)
    design = with_value(design, ("slab", "outline"), outline)
    for i in range(1, count):
        design = add_suction_point(design, ("intake",), Position(x=4.0 * i + 2.0, y=2.0))
    return choose_fan(design, design.fans[-1].name)


def _moved(prepared: Prepared, samples: int = DRAG_SAMPLES) -> Action:
    return lambda: prepared.at(next(_FRAME), samples)


def _three(what: str, bar: float, counts: Sequence[int], designs: Sequence[Design]) -> list[Result]:
    """A step of a drag, a new floor fitted and answered, and a search over pits, against what designs hold."""
    drags, preparing, searching = [], [], []
    for design in designs:
        start = time.perf_counter()
        prepared = prepare(design)
        prepared.at(0.7)
        preparing.append(time.perf_counter() - start)
        drags.append(_least(_moved(prepared)))
        tried = Search(fans=(design.fans[-1].name,), pits=(0.02, 0.03), leak_left=(1.0,), another_point=False)
        start = time.perf_counter()
        search(with_value(design, ("search",), tried))
        searching.append(time.perf_counter() - start)
    results = [
        _result(f"{what}, a step of a drag on a drawn floor", bar, counts, drags),
        _result(f"{what}, a new floor fitted and answered", bar, counts, preparing),
        _result(f"{what}, a search", bar, counts, searching),
    ]
    if what == "suction points":
        told = f"{1e3 * drags[-1]:.3g} ms of 16.7 ms with {counts[-1]}"
        results.append(Result("drag: a step with 12 suction points, chance included", drags[-1] / FRAME_S, 1.0, told))
    return results


def _points() -> list[Result]:
    counts = (2, 4, 8, 12)
    return _three("suction points", 2.0, counts, [with_points(count) for count in counts])


def with_holes(count: int) -> Design:
    """The studio with so many holes, each read as its own first hole was."""
    design = load_scene()
    first = design.holes[0]
    across = math.ceil(math.sqrt(count))
    holes = tuple(
        first.model_copy(
            update={
                "name": f"H{i}",
                "position": Position(x=2.2 + 3.9 * (i % across) / across, y=2.0 + 5.0 * (i // across) / across),
                "readings": first.readings[:1],
            }
        )
        for i in range(count)
    )
    return with_value(choose_fan(design, design.fans[-1].name), ("holes",), holes)


def _holes() -> list[Result]:
    counts = (2, 4, 8, 16)
    return _three("test holes", 2.0, counts, [with_holes(count) for count in counts])


def _runs() -> list[Result]:
    counts, times, preparing = (8, 16, 32, 64), [], []
    design = with_value(load_scene(), ("slab",), None)
    for count in counts:
        while len(list(design.runs())) < count:
            design = divide_run(design, ("discharge", len(design.discharge) - 1))
        start = time.perf_counter()
        prepared = prepare(design)
        prepared.at(0.7)
        preparing.append(time.perf_counter() - start)
        times.append(_least(_moved(prepared)))
    return [
        _result("runs, a step of a drag", 1.0, counts, times),
        _result("runs, an answer", 1.0, counts, preparing),
    ]


_HALL = """
import time
from workbench.design.record import with_values
from workbench.design.slab import Position
from workbench.files.scenes import load_scene
from workbench.solving import prepare

design = load_scene()
corners = ((0.0, 0.0), (60.0, 0.0), (60.0, 40.0), (0.0, 40.0))
outline = tuple(Position(x=x, y=y) for x, y in corners)
hall = {"outline": outline, "edges": (), "footings": (), "zones": (), "cell": 0.05}
design = with_values(design, ("slab",), hall)
start = time.perf_counter()
prepared = prepare(design)
prepared.at(design.speed)
field = prepared.assembly.floor.field
assert field is not None
took = time.perf_counter() - start
# of this process; what `getrusage` tells begins with the peak of the one that started it
peak = next(line for line in open("/proc/self/status") if line.startswith("VmHWM"))
print(took, int(peak.split()[1]) / 1024)
"""


def _hall() -> list[Result]:
    """A floor of 60 by 40 m, asked for on cells of 5 cm: fitted, answered and drawn, in a process of its own."""
    told = [subprocess.check_output([sys.executable, "-c", _HALL], text=True).split() for _ in range(3)]
    seconds, megabytes = (min(map(float, each)) for each in zip(*told, strict=True))
    words = f"{seconds:.2f} s, {megabytes:.0f} MB at the most"
    return [
        Result("a floor of 60 x 40 m made and drawn, against 2 s", seconds / 2.0, 1.0, words),
        Result("memory of that process, against 500 MB", megabytes / 500.0, 1.0, words),
    ]


def _samples() -> Result:
    prepared = prepare(load_scene("reading-room"))
    counts = (512, 1024, 2048, 4096)
    times = [_least(_moved(prepared, count)) for count in counts]
    return _result("samples, an answer", 1.0, counts, times)


def _repaint(document: Document, answers: Iterator[Outcome]) -> None:
    document.answered.emit(document.prepared, next(answers))
    application().processEvents()


def _fans() -> Result:
    app = application()
    counts, times = (2, 4, 8, 16, 32), []
    design = with_value(load_scene(), ("slab",), None)
    model = design.fans[0]
    for count in counts:
        while len(design.fans) < count:
            design = add_fan(design, model, choose=False)
        window = open_window(design)
        window.resize(1280, 800)
        window.show()
        window.finish()
        document = window.document
        answers = itertools.cycle([document.prepared.at(speed) for speed in (0.7, 0.72, 0.74)])

        times.append(_least(partial(_repaint, document, answers)))
        window.filing.close()
        document.leave()
        window.hide()
        window.deleteLater()
        app.processEvents()
    return _result("fans overlaid, a repaint", 1.0, counts, times)


def _candidates() -> Result:
    sizes, times = [], []
    design = case()
    for pits in (1, 2, 4, 8, 16):
        volumes = tuple(0.02 + 0.004 * i for i in range(pits))
        tried = with_value(design, ("search", "pits"), volumes)
        sizes.append(float(len(search(tried).rows)))
        times.append(_least(partial(search, tried), rounds=2))
    return _result("candidates, a search", 1.0, sizes, times)


def run() -> list[Result]:
    """Every size in turn; nothing else ought to run meanwhile."""
    return [_cells(), *_points(), *_holes(), *_runs(), *_hall(), _samples(), _fans(), _candidates()]
