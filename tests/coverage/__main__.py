"""Count how often the bands held: ``python -m tests.coverage [--floors N] [--seed S] [--kind K] [--points P]``."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterable
from typing import Any

from tests.coverage.floors import HOLES, KINDS
from tests.coverage.score import FAST, SLOW, Case, Scored, known, plain, score, summary
from tests.coverage.visit import Visit

_STATES = (str(SLOW), str(FAST), "worst")
_HEAD = (
    f"{'floors':18} {'n':>4} {'none':>4}   {'measured':17} {'unmeasured':17}  {'high/low':11} {'flow':>4} {'share':>5}"
    f"   {'under/over':11} {'chance':>6} {'true':>5}  holds, wrong"
)
_LEGEND = f"""
Shares of nominal 90 % bands that held the truth: holes at speed {SLOW} / {FAST} / on the worst day at {FAST}.
high/low: median width of the bands at {FAST}, measured and unmeasured. flow, share: total flow and share of house air.
under/over: the truth at measured holes on the worst day below its band (unsafe) and above it.
chance, true: mean chance said that all holes keep the target, and how often they did. holds, wrong: verdicts, and how
many of them a hole belies. none: floors without an answer."""


def _line(found: dict[str, Any]) -> str:
    bands = found["bands"]

    def value(what: str, key: str = "held") -> str:
        return f"{bands[what][key]:.2f}" if what in bands else "-"

    held = ["/".join(value(f"{kind} {state}") for state in _STATES) for kind in ("measured", "unmeasured")]
    width = "/".join(value(f"{kind} {FAST}", "width") for kind in ("measured", "unmeasured"))
    sides = f"{value('measured worst', 'truth_below')}/{value('measured worst', 'truth_above')}"
    points = f"{found['points']} point{'s' if found['points'] > 1 else ''}"
    return (
        f"{points + ', ' + found['kind']:18} {found['floors']:4} {found['no_answer']:4}   {held[0]:17} {held[1]:17}"
        f"  {width:11} {value('flow'):>4} {value('house share'):>5}   {sides:11} {found['mean_chance']:6.2f}"
        f" {found['came_true']:5.2f}  {found['said_holds']}, {found['said_holds_but_fails']}"
    )


def _scored(cases: list[Case], workers: int) -> Iterable[Scored]:
    if workers == 1:
        yield from map(score, cases)
        return
    from concurrent.futures import ProcessPoolExecutor

    with ProcessPoolExecutor(workers) as pool:
        yield from pool.map(score, cases)


def main() -> int:
    """Print a row for each kind of floor."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--floors", type=int, default=100, help="of each kind")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--kind", choices=[*KINDS, "all"], default="all")
    parser.add_argument("--points", type=int, choices=[*HOLES], default=1, help="suction points on a floor")
    parser.add_argument("--exhaust-test", action="store_true", help="holes are also read with all exhausts on")
    parser.add_argument("--pipe", action="store_true", help="the true pipe and fan differ from the calculated ones")
    parser.add_argument("--season", action="store_true", help="the true stack differs from the calculated one")
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--json", action="store_true", help="the summaries and every floor")
    given = parser.parse_args()
    visit = Visit(given.exhaust_test, not given.pipe, not given.season)
    kinds = list(KINDS) if given.kind == "all" else [given.kind]
    told = []
    if not given.json:
        print(_HEAD)
    for kind in kinds:
        cases = [
            Case(given.seed, kind, given.points, index, visit, given.pipe, given.season)
            for index in range(given.floors)
        ]
        rows = list(_scored(cases, given.workers))
        found = summary(rows)
        if given.json:
            told.append(found | {"each": [plain(row) for row in rows]})
        else:
            print(_line(found), flush=True)
    print(json.dumps(known(told), indent=1, allow_nan=False) if given.json else _LEGEND)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
