"""A whole set of papers as PDF, from an answer that is there, beside two seconds."""

from __future__ import annotations

import time
from datetime import date

from tests.benchmarks.measure import Result
from workbench.files.scenes import load_scene
from workbench.papers.make import PAPERS
from workbench.papers.matter import Matter
from workbench.papers.pdf import pdf
from workbench.solving import prepare
from workbench.units import US

_ROUNDS = 3
_BAR = 2.0


def run() -> list[Result]:
    """The studio's set, blocks and pages, the answers at other speeds among them; the first round loads it all."""
    design = load_scene("studio")
    prepared = prepare(design)
    outcome = prepared.rested(design.speed)
    day = date(2026, 11, 30)
    times = []
    for _ in range(_ROUNDS):
        start = time.perf_counter()
        matter = Matter(prepared, outcome, US, day=day)
        pages = [pdf(make(matter), "letter", day) for make in PAPERS.values()]
        times.append(time.perf_counter() - start)
    size = sum(map(len, pages)) / 1000
    detail = f"{times[0]:.2f} s the first time, {min(times):.2f} s after, {len(pages)} papers, {size:.0f} kB"
    return [Result("a set of papers against 2 s", max(times) / _BAR, 1.0, detail)]
