"""A seeded random hand on the real window: clicks, keys, text good and bad, tables, files, undo, sizes, themes.

The hand sits in a process of its own (`at_window`), one for each block of acts, with every act written down before it
is done. What fails is kept as a list of acts, shortened where that is quick.
"""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

from tests.stress.trial import Trials

UNIT = "acts"
COUNT = 10_000
BLOCK = 2_500
"""Acts of one process: enough to see whether memory goes on growing after the first thousand."""
SETTLED = 1_000
"""Acts after which memory may no longer grow."""
GROWTH = 20e6
"""Bytes by which it may differ from one look to the next, for each thousand acts after those."""
MOST = 1.5e9
"""Bytes that the process may take with everything it keeps to find again."""
SHORTENED_IN, SHORTENED_OF = 90.0, 4
"""Seconds spent on a shorter example, and how many failures are given one."""
LEAST = 6.0
"""Seconds of acts in the shortest run, whatever the start of a process takes."""
HUNG = 60.0
"""Seconds without an act after which a process is given up."""


def run(trials: Trials) -> None:
    """Act until the count or the time is up."""
    memory: list[tuple[int, int]] = []
    undone = shortened = most = 0
    for number in trials.numbers():
        if number % BLOCK and trials.only is None:
            continue
        block = number // BLOCK
        seed, count = int(trials.random(block).integers(2**48)), min(BLOCK, trials.count - block * BLOCK)
        found = act_out(seed=seed, count=count, seconds=min(trials.left, 3600.0), least=LEAST)
        for seconds in found["took"]:
            trials.tally.took(seconds)
        undone += found["undone"]
        memory, most = found["memory"] or memory, max(most, found["most"])
        _judge_memory(found)
        for failure in found["failures"]:
            new = failure["signature"] not in trials.tally.failures
            example = [(kind, each) for kind, each in found["acts"][: failure["act"] + 1]]
            if new and shortened < SHORTENED_OF and trials.left > SHORTENED_IN:
                shortened += 1
                example = shorter(example, failure["signature"], SHORTENED_IN)
            trials.fail(failure["signature"], failure["detail"], lambda stem, acts=example: _keep(stem, acts))
    trials.tally.figures["steps undone and compared"] = str(undone)
    if memory:
        trials.tally.figures["memory"] = ", ".join(f"{size / 1e6:.0f} MB at {acts}" for acts, size in memory)
        trials.tally.figures["with all caches at most"] = f"{most / 1e6:.0f} MB"


def _keep(stem: Path, acts: list[tuple[str, int]]) -> None:
    stem.with_suffix(".json").write_text(json.dumps(acts), encoding="utf-8")


def act_out(
    acts: list[tuple[str, int]] | None = None,
    *,
    seconds: float,
    least: float = 0.0,
    stop_at: str = "",
    seed: int = 0,
    count: int = 0,
) -> dict[str, Any]:
    """Have acts, or so many by a seed, done in a process of its own, and give what came of it.

    Its start counts among the `seconds`, but leaves `least` for the acts; `stop_at` names a failure that is enough.
    """
    with tempfile.TemporaryDirectory() as folder:
        room = Path(folder)
        (room / "files").mkdir()
        order = {
            "acts": acts,
            "seed": seed,
            "count": count,
            "listed": str(room / "listed.json"),
            "until": time.monotonic() + seconds,
            "least": least,
            "stop_at": stop_at,
            "folder": str(room / "files"),
            "log": str(room / "acts.log"),
            "result": str(room / "result.json"),
            "fault": str(room / "fault.txt"),
        }
        (room / "order.json").write_text(json.dumps(order), encoding="utf-8")
        environment = {**os.environ, "SUBSLAB_WORKBENCH_HOME": str(room / "home"), "QT_QPA_PLATFORM": "offscreen"}
        with (room / "errors.txt").open("w", encoding="utf-8") as errors:
            child = subprocess.Popen(
                [sys.executable, "-m", "tests.stress.at_window", str(room / "order.json")],
                env=environment,
                stdout=subprocess.DEVNULL,
                stderr=errors,
            )
        return _found(room, _awaited(child, room / "acts.log"))


def _awaited(child: subprocess.Popen[bytes], log: Path) -> int:
    """The code a process ends with; one that writes nothing any more is made to say where it is, and ended."""
    written, since = 0, time.monotonic()
    while (code := child.poll()) is None:
        time.sleep(0.1)
        size = log.stat().st_size if log.exists() else 0
        if size != written:
            written, since = size, time.monotonic()
        elif time.monotonic() - since > HUNG:
            child.send_signal(signal.SIGABRT)
            return child.wait()
    return code


def _found(room: Path, code: int) -> dict[str, Any]:
    log = _read(room / "acts.log")
    if (result := _read(room / "result.json")) and code == 0:
        found: dict[str, Any] = json.loads(result)
    else:
        fault, errors = _read(room / "fault.txt"), _read(room / "errors.txt")
        here = re.findall(r'File ".*?workbench/([^"]+)", line \d+ in (\S+)', fault)
        last = int(re.findall(r"^(\d+) ", log, re.MULTILINE)[-1]) if re.search(r"^\d+ ", log, re.MULTILINE) else 0
        place = ":".join(here[0]) if here else "the window's loop"
        failure = {
            "signature": f"process ended with {code} in {place}",
            "detail": f"{fault}\n{errors[-4000:]}",
            "act": last,
        }
        found = {"took": [0.0] * last, "failures": [failure], "memory": [], "undone": 0, "most": 0}
    found["acts"] = json.loads(_read(room / "listed.json") or "[]")
    for failure in found["failures"]:
        lines = [line for line in log.splitlines() if line.split(" ", 1)[0].isdigit()]
        before = [line for line in lines if failure["act"] - 25 <= int(line.split(" ", 1)[0]) <= failure["act"]]
        failure["detail"] += "\n\nacts before it:\n" + "\n".join(before)
    if keep := os.environ.get("STRESS_ACTS_LOG"):
        Path(keep).write_text(log, encoding="utf-8", errors="backslashreplace")
    return found


def _read(path: Path) -> str:
    return path.read_text(encoding="utf-8", errors="backslashreplace") if path.exists() else ""


def _judge_memory(found: dict[str, Any]) -> None:
    """Memory that goes on growing is a failure like any other."""
    if found["most"] > MOST:
        words = f"{found['most'] / 1e6:.0f} MB"
        found["failures"].append(
            {"signature": "memory with all caches", "detail": words, "act": len(found["took"]) - 1}
        )
    settled = [(acts, size) for acts, size in found["memory"] if acts >= SETTLED and size]
    if len(settled) < 3:
        return
    (first, before), (last, after) = settled[0], settled[-1]
    if after - before > GROWTH * (1.0 + (last - first) / 1000.0):
        words = ", ".join(f"{size / 1e6:.0f} MB after {acts}" for acts, size in found["memory"])
        found["failures"].append({"signature": "memory goes on growing", "detail": words, "act": last - 1})


def shorter(acts: list[tuple[str, int]], signature: str, seconds: float) -> list[tuple[str, int]]:
    """Fewer acts that fail in the same way: the last few on a window just opened, then single ones left out."""
    end = time.monotonic() + seconds

    def fails(tried: list[tuple[str, int]]) -> bool:
        found = act_out(tried, seconds=max(end - time.monotonic(), 1.0), stop_at=signature)
        return any(each["signature"] == signature for each in found["failures"])

    best = acts
    for last in (1, 3, 10, 30, 100):
        if last < len(acts) and time.monotonic() < end and fails(acts[-last:]):
            best = acts[-last:]
            break
    size = max(len(best) // 2, 1)
    while len(best) > 1 and time.monotonic() < end:
        for start in range(0, len(best) - 1, size):
            tried = best[:start] + best[min(start + size, len(best) - 1) :]
            if time.monotonic() < end and fails(tried):
                best = tried
                break
        else:
            if size == 1:
                break
            size //= 2
    return best
