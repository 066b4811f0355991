"""Random valid designs, each answered at seven speeds: as the physics has it, or refused in a sentence."""

from __future__ import annotations

import json
import math
import signal
import time
import warnings
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np

from tests.stress.pace import slowness
from tests.stress.random_designs import Unlucky, design
from tests.stress.trial import Trials
from workbench.design import Design
from workbench.files.answer_text import answer_lines, writer
from workbench.files.job import NO_ANSWER, why_no_answer
from workbench.files.project import project_text, read_project
from workbench.solving import Outcome, Prepared, prepare
from workbench.solving.report.answer import answer
from workbench.solving.site.assemble import fan_of
from workbench.units.sets import SI, US

UNIT = "designs"
COUNT = 3000
SPEEDS = (0.05, 0.3, 0.5, 0.65, 0.8, 0.9, 1.0)
LIMIT_S, COMMAND_S = 20.0, 5.0
"""Time of this process, for a design at all speeds, and for what a command does: prepare it and answer it once."""
_VAST = 1e9
"""No figure of an answer has business beyond it, in SI units."""


class Wrong(Exception):
    """What an answer contradicts, in words that tell kinds of it apart."""


class Late(BaseException):
    """A trial took too long; not an `Exception`, so that no handler of the program's swallows it."""


@contextmanager
def within(seconds: float) -> Iterator[None]:
    """Break off what takes longer, in time of this process so that a busy machine is no fault."""

    def late(*_: object) -> None:
        raise Late

    before = signal.signal(signal.SIGPROF, late)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0.0)
        signal.signal(signal.SIGPROF, before)


def numbers(value: Any) -> Iterator[float]:
    """Every number in a JSON value."""
    if isinstance(value, dict):
        value = list(value.values())
    if isinstance(value, list | tuple):
        for each in value:
            yield from numbers(each)
    elif isinstance(value, float | int) and not isinstance(value, bool):
        yield float(value)


def _say(wrong: str) -> None:
    raise Wrong(wrong)


def check(made: Design, prepared: Prepared, outcome: Outcome, below: Outcome | None) -> None:
    """Hold an answer against what must be so whatever the design; `below` is the answer at the speed before."""
    told = answer(prepared, outcome)
    text = json.dumps(told, allow_nan=False)
    if any(abs(each) > _VAST for each in numbers(json.loads(text))):
        _say("a figure beyond all measure")
    for system in (SI, US):
        "\n".join(answer_lines(prepared, outcome, system))
        for notice in outcome.notices:
            notice.text(writer(system))
    operating, holding = outcome.operating, outcome.holding
    if operating is None:
        if not outcome.notices:
            _say("no answer and no reason")
        return
    flow = sum(point.flow for point in outcome.points)
    if not math.isclose(flow, operating.flow, rel_tol=1e-6, abs_tol=1e-9):
        _say("flow is not conserved")
    lost = sum(loss.pressure for loss in outcome.losses)
    if not math.isclose(lost, operating.fan_pressure, rel_tol=1e-4, abs_tol=0.01):
        _say("losses do not add up to the fan's pressure")
    if below is not None and below.operating is not None and not _humped(made):
        if operating.flow < below.operating.flow * (1.0 - 1e-6):
            _say("more speed draws less")
        # where air goes down a pipe the fan has yet to turn it, at another pit's cost; a notice says so
        backward = any(point.flow < 0.0 for point in (*outcome.points, *below.points))
        if holding is not None and below.holding is not None and not backward:
            for now, before in zip(holding.holes, below.holding.holes, strict=True):
                if now.known and before.known and now.worst < before.worst - 1e-4 * max(1.0, abs(before.worst)):
                    _say("more speed takes suction from a hole")
            if (below.verdict, outcome.verdict) == ("holds", "fails"):
                _say("more speed makes a holding design fail")
    if outcome.verdict == "holds" and (holding is None or not all(h.measured and h.known for h in holding.holes)):
        _say("holds without readings")
    if holding is not None:
        _check_holes(prepared, outcome)


def _check_holes(prepared: Prepared, outcome: Outcome) -> None:
    holding = outcome.holding
    assert holding is not None
    if holding.chance is not None and not 0.0 <= holding.chance <= 1.0:
        _say("a chance beyond 0 to 1")
    if any(hole.measured and hole.known for hole in holding.holes) and holding.chance is None:
        _say("readings, but no chance")
    most = max((abs(point.suction) for point in outcome.points), default=0.0)
    for hole in holding.holes:
        for value, (low, high) in ((hole.suction, hole.band), (hole.worst, hole.worst_band)):
            if hole.known and not math.isnan(low) and not low <= value <= high:
                _say("a value outside its band")
            if hole.known and math.isnan(low):
                _say("a hole without a band")
        if hole.known and hole.suction > most + 200.0:
            _say("a hole keeps more than the strongest pit")
    sure = prepared.lowest.confident
    if sure is not None and prepared.rested(sure).verdict != "holds":
        _say("the lowest speed that holds does not hold")


def _humped(made: Design) -> bool:
    fan = made.chosen_fan
    if fan is None:
        return True
    if len(fan.curves) > 1:
        # measured at several speeds: what was read at one may lie below what another makes of it
        return True
    # through a narrow outlet a static curve that falls may be a total one that rises
    level = any(b.pressure >= a.pressure for a, b in pairwise(fan.full.points))
    return level or fan_of(fan, made.arrangement).rises


def attempt(made: Design) -> str:
    """Answer a design at every speed; "answered", or "refused" where it is refused in words."""
    text = project_text(made)
    if read_project(text) != made:
        _say("what is saved is not read back")
    begun = time.process_time()
    try:
        prepared = prepare(made)
        prepared.rested(SPEEDS[-1])
        took = time.process_time() - begun
        if took > COMMAND_S and took > COMMAND_S * slowness():
            _say(f"one answer took longer than {COMMAND_S:g} s")
        below = None
        for speed in SPEEDS:
            outcome = prepared.at(speed)
            check(made, prepared, outcome, below)
            below = outcome
    except NO_ANSWER as refusal:
        words = why_no_answer(refusal)
        if (isinstance(refusal, ArithmeticError | MemoryError) and not words) or "Traceback" in words:
            raise
        return f"refused: {words}"
    return "answered"


def run(trials: Trials) -> None:
    """Make designs and answer them."""
    ends: Counter[str] = Counter()
    times = []
    for number in trials.numbers():
        try:
            made = design(trials.random(number))
        except Unlucky:
            continue

        def write(stem: Path, made: Design = made) -> None:
            stem.with_suffix(".json").write_text(project_text(made), encoding="utf-8")

        start = time.process_time()
        try:
            with within(LIMIT_S), warnings.catch_warnings():
                warnings.simplefilter("error")
                end = attempt(made)
        except Late:
            trials.fail(f"longer than {LIMIT_S:g} s", f"design {number}", write)
        except Wrong as wrong:
            trials.fail(str(wrong), f"design {number}", write)
        except Exception as fault:
            trials.fail_by(fault, f"design {number}" if trials.only is not None else "a design", write)
        else:
            ends[end.partition(":")[0]] += 1
            if end.startswith("refused"):
                trials.tally.figures.setdefault(f"refused ({end[9:60]})", "0")
                key = f"refused ({end[9:60]})"
                trials.tally.figures[key] = str(int(trials.tally.figures[key]) + 1)
        times.append(time.process_time() - start)
        trials.tally.took(times[-1])
    trials.tally.figures["answered"] = str(ends["answered"])
    if times:
        trials.tally.figures["median"] = f"{float(np.median(times)):.2f} s"
