"""Attack the program.

``python -m tests.stress [--minutes N] [--seed S] [--only PART] [--first K] [--trial K] [--kept FOLDER] [--json]``
"""

from __future__ import annotations

import argparse
import os
import tempfile
import time
from importlib import import_module
from pathlib import Path

from tests.stress.trial import Trials, as_json, table

# Each part is a module with UNIT, COUNT (trials of a full run) and run(trials).
PARTS = ("kill", "window", "files", "limits", "markup", "designs")


def main() -> int:
    """Print a table of what was tried and what failed; 1 where anything did."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--minutes", type=float, help="for all parts together; without it a full run, hours")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", choices=PARTS, action="append", help="these parts alone")
    parser.add_argument("--trial", type=int, help="one trial by its number")
    parser.add_argument(
        "--first", type=int, default=0, help="number of the trial to begin with, of parts that count them"
    )
    parser.add_argument("--kept", type=Path, help="folder for an example of each failure")
    parser.add_argument("--json", action="store_true")
    given = parser.parse_args()
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    # as the program itself does
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    kept = given.kept or Path(tempfile.mkdtemp(prefix="stress-"))
    parts = given.only or PARTS
    end = time.monotonic() + 60 * given.minutes if given.minutes else float("inf")
    tallies = []
    for left, name in zip(range(len(parts), 0, -1), parts, strict=True):
        part = import_module(f"tests.stress.{name}")
        # what one part leaves over is shared by those after it
        seconds = (end - time.monotonic()) / left
        trials = Trials(
            name,
            part.UNIT,
            seed=given.seed,
            count=part.COUNT,
            seconds=seconds,
            kept=kept,
            only=given.trial,
            first=given.first,
        )
        with tempfile.TemporaryDirectory() as home:
            os.environ["SUBSLAB_WORKBENCH_HOME"] = home
            part.run(trials)
        tallies.append(trials.tally)
    print(as_json(tallies) if given.json else table(tallies))
    return 1 if any(each.failures for each in tallies) else 0


if __name__ == "__main__":
    raise SystemExit(main())
