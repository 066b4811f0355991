"""Measure what is promised: ``python -m tests.benchmarks [--json] [NAME ...]``."""

from __future__ import annotations

import argparse
import json
import os
import tempfile
from importlib import import_module

NAMES = ("exactness", "drag", "stall", "start", "slab", "choices", "growth", "papers", "jobs")


# as the program has it; see `workbench.__main__`
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


def main() -> int:
    """Print every promise with its ratio; 1 where one is not kept."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("names", nargs="*", choices=[*NAMES, []], help="only these")
    parser.add_argument("--json", action="store_true", help="one JSON list")
    given = parser.parse_args()
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    with tempfile.TemporaryDirectory() as home:
        os.environ["SUBSLAB_WORKBENCH_HOME"] = home
        results = [
            result for name in given.names or NAMES for result in import_module(f"tests.benchmarks.{name}").run()
        ]
    if given.json:
        rows = [{"name": r.name, "ratio": r.ratio, "bar": r.bar, "holds": r.holds, "detail": r.detail} for r in results]
        print(json.dumps(rows, indent=1))
    else:
        for r in results:
            print(f"{'holds' if r.holds else 'FAILS':6} {r.ratio:10.3g}  bar {r.bar:g}  {r.name}: {r.detail}")
    return 0 if all(r.holds for r in results) else 1


if __name__ == "__main__":
    raise SystemExit(main())
