"""How a part of the attack counts its trials and keeps what failed."""

from __future__ import annotations

import json
import time
import traceback
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np


@dataclass
class Failure:
    """One distinct way to fail, with the first example of it."""

    signature: str
    detail: str
    example: Path | None = None
    count: int = 1


@dataclass
class Tally:
    """What a part of the attack found."""

    part: str
    unit: str  # what is counted, in the plural: files, designs, acts
    tried: int = 0
    seconds: float = 0.0
    slowest: float = 0.0
    failures: dict[str, Failure] = field(default_factory=dict)
    figures: dict[str, str] = field(default_factory=dict)  # what else it measured, in words

    def took(self, seconds: float) -> None:
        """Count one trial that took so long [s]."""
        self.tried += 1
        self.slowest = max(self.slowest, seconds)


class Trials:
    """The trials of one part: which to make, for how long, and where a failing one is kept.

    A trial's generator follows from seed, part and number alone, so that it can be made again by itself.
    """

    def __init__(
        self,
        part: str,
        unit: str,
        *,
        seed: int,
        count: int,
        seconds: float,
        kept: Path,
        only: int | None = None,
        first: int = 0,
    ):
        self.tally = Tally(part, unit)
        self.seed = seed
        self.count = count
        self.kept = kept
        self.only = only  # one trial by its number, to look into it
        self.first = first  # where a long run goes on
        self._seconds = seconds
        self._began = time.monotonic()

    @property
    def left(self) -> float:
        """Time left [s]."""
        return self._began + self._seconds - time.monotonic()

    def numbers(self) -> Iterator[int]:
        """The numbers of the trials to make, until all are made or the time is up."""
        for number in range(self.first, self.count) if self.only is None else [self.only]:
            if self.left <= 0:
                break
            yield number
        self.tally.seconds = time.monotonic() - self._began

    def random(self, number: int) -> np.random.Generator:
        """The generator of one trial."""
        return np.random.default_rng([self.seed, sum(map(ord, self.tally.part)), number])

    def fail(self, signature: str, detail: str, write: Callable[[Path], object] | None = None) -> None:
        """Count a failure; the first of its signature is written below the folder of examples, with its detail."""
        if known := self.tally.failures.get(signature):
            known.count += 1
            return
        stem = self.kept / self.tally.part / f"{len(self.tally.failures) + 1:02d}"
        stem.parent.mkdir(parents=True, exist_ok=True)
        stem.with_suffix(".txt").write_text(f"{signature}\n\n{detail}\n", encoding="utf-8", errors="backslashreplace")
        if write is not None:
            write(stem)
        self.tally.failures[signature] = Failure(signature, detail, stem.with_suffix(".txt"))

    def fail_by(self, fault: BaseException, where: str, write: Callable[[Path], object] | None = None) -> None:
        """Count an exception, told apart by its type and the line of the program that raised it."""
        frames = [
            each for each in traceback.extract_tb(fault.__traceback__) if "workbench" in Path(each.filename).parts
        ]
        last = frames[-1] if frames else traceback.extract_tb(fault.__traceback__)[-1]
        signature = f"{where}: {type(fault).__name__} in {Path(last.filename).name}:{last.name}"
        self.fail(signature, "".join(traceback.format_exception(fault)), write)


def table(tallies: list[Tally]) -> str:
    """The result in words: a row for each part, then each distinct failure."""
    rows = [("part", "tried", "", "failed", "distinct", "slowest", "time", "")]
    for each in tallies:
        failed = sum(failure.count for failure in each.failures.values())
        figures = "; ".join(f"{name} {value}" for name, value in each.figures.items())
        rows.append(
            (
                each.part,
                f"{each.tried:,}",
                each.unit,
                str(failed),
                str(len(each.failures)),
                f"{each.slowest:.2f} s",
                f"{each.seconds:.0f} s",
                figures,
            )
        )
    widths = [max(len(row[column]) for row in rows) for column in range(7)]
    lines = [
        "  ".join(cell.ljust(width) for cell, width in zip(row, [*widths, 0], strict=True)).rstrip() for row in rows
    ]
    for each in tallies:
        for failure in each.failures.values():
            lines.append(f"FAILED {each.part}, {failure.count} x: {failure.signature}  ({failure.example})")
    return "\n".join(lines)


def as_json(tallies: list[Tally]) -> str:
    """The same for other programs."""
    return json.dumps(
        [
            {
                "part": each.part,
                "tried": each.tried,
                "unit": each.unit,
                "seconds": round(each.seconds, 1),
                "slowest": round(each.slowest, 3),
                "figures": each.figures,
                "failures": {failure.signature: failure.count for failure in each.failures.values()},
            }
            for each in tallies
        ],
        indent=1,
    )
