"""What may have changed: a table of causes, and those of them that a design can have."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any, Literal, get_args

import numpy as np
from msgspec import Struct

from workbench.design.wording import Wording, name
from workbench.physics.arrays import Array
from workbench.solving.later.items import runs_before
from workbench.solving.later.moment import Moment

Acts = Literal[
    "nothing", "stopped", "seized", "slower", "faster", "dragging", "weaker", "outlet", "wind", "leak at the fan",
    "leak low", "open past the fan", "common run", "branch", "floor open", "leakage up", "leakage down", "fill down",
    "fill up", "near pit", "house down", "house up", "gauge off", "gauge low", "gauge high", "gauge refilled",
    "gauge moved", "jumped",
]  # fmt: skip
"""What a cause does to the solved model."""

GAUGE_ONLY: tuple[Acts, ...] = ("gauge off", "gauge low", "gauge high", "gauge refilled", "gauge moved")
"""What is the matter with the gauge alone."""

NEED_A_PLAN: tuple[Acts, ...] = ("leakage up", "leakage down", "floor open")
NEED_A_CONTROL: tuple[Acts, ...] = ("slower", "faster")

SIZES = 31
_REACH = 3.0
"""Standard deviations of a size's prior that are looked at either way."""
_SPREAD = 0.3
"""One standard deviation of a size, of the step from small to large; a judgement."""


class Kind(Struct, frozen=True):
    """A row of the table."""

    key: str
    title: str
    acts: Acts
    weight: float
    sizes: tuple[float, ...] = ()
    scale: Literal["", "log", "logit"] = ""
    each: Literal["", "point", "run", "hole"] = ""
    power: float = 0.0

    def form(self, size: Array | float) -> Array:
        """A size in the form in which it is off alike either way."""
        x = np.asarray(size, dtype=np.float64)
        return np.log(x) if self.scale == "log" else np.asarray(np.log(x) - np.log1p(-x))

    def _back(self, form: Array) -> Array:
        return np.exp(form) if self.scale == "log" else np.asarray(1.0 / (1.0 + np.exp(-form)))

    @property
    def bends(self) -> Array:
        """How far each size that is tried lies off the typical one, in standard deviations, shape (w,)."""
        return np.linspace(-_REACH, _REACH, SIZES) if self.sizes else np.zeros(1)

    @property
    def tried(self) -> Array:
        """The sizes that are tried, shape (w,); of one that is all or nothing a 1."""
        if not self.sizes:
            return np.ones(1)
        small, typical, large = (float(self.form(size)) for size in self.sizes)
        return self._back(typical + self.bends * _SPREAD * (large - small))


class Cause(Struct, frozen=True):
    """One thing that may have happened to a design: a row of the table, and the part it concerns.

    `place` counts points, runs or holes in the order of the network and of the design; `share` is its part of the
    weight where one thing can have gone to one of several places.
    """

    kind: Kind
    subject: str = ""
    place: int = 0
    share: float = 1.0

    @property
    def weight(self) -> float:
        """How common it is beside the others."""
        return self.kind.weight * self.share

    @property
    def key(self) -> str:
        """Of the kind, for programs."""
        return self.kind.key

    @property
    def wording(self) -> Wording:
        """As it is told."""
        return Wording(self.kind.title, (name(self.subject),) if self.kind.each else ())


@lru_cache(maxsize=1)
def kinds() -> tuple[Kind, ...]:
    """The table, in its order; the first is that nothing changed."""
    rows = tomllib.loads(Path(__file__).with_name("causes.toml").read_text(encoding="utf-8"))["cause"]
    return tuple(_kind(row) for row in rows)


def _kind(row: dict[str, Any]) -> Kind:
    if row["acts"] not in get_args(Acts):
        raise ValueError(f"the table of causes has '{row['acts']}', which does nothing")
    return Kind(**{**row, "sizes": tuple(row.get("sizes", ()))})


def causes_of(moment: Moment, gauge_run: int | None) -> tuple[Cause, ...]:
    """All that a design can have, one for each part that it may concern; `gauge_run` is where its gauge is tapped."""
    return tuple(
        cause for kind in kinds() if _can_be(moment, kind, gauge_run) for cause in _each(moment, kind, gauge_run)
    )


def _can_be(moment: Moment, kind: Kind, gauge_run: int | None) -> bool:
    record = moment.design.chosen_fan
    controlled = record is not None and record.control != "none"
    if kind.acts in NEED_A_PLAN and not moment.assembly.floor.planned:
        return False
    if kind.acts in NEED_A_CONTROL and not controlled:
        return False
    if kind.acts == "faster" and moment.speed * (1.0 + kind.sizes[0]) > 1.0:
        return False
    if kind.acts == "dragging" and record is not None and record.control == "ec":
        return False
    if kind.acts == "branch" and len(moment.assembly.points) < 2:
        return False
    if kind.acts == "jumped" and not (moment.fan.rises and moment.running):
        return False
    if not moment.running and kind.acts in _OF_A_RUNNING_FAN:
        return False
    return gauge_run is not None or kind.acts not in GAUGE_ONLY


_OF_A_RUNNING_FAN: tuple[Acts, ...] = ("stopped", "seized", "slower", "faster", "dragging", "weaker")


def _each(moment: Moment, kind: Kind, gauge_run: int | None) -> Iterator[Cause]:
    if kind.each == "point":
        yield from (Cause(kind, point.name, i) for i, (_, point) in enumerate(moment.assembly.points))
    elif kind.each == "run":
        runs = moment.assembly.runs[: runs_before(moment.assembly) + 1]
        share = 1.0 / max(len(runs) - 1, 1)
        yield from (Cause(kind, run.name, j, share) for j, (_, run) in enumerate(runs) if j != gauge_run)
    elif kind.each == "hole":
        yield from (Cause(kind, moment.design.holes[h].name, h) for h in near_and_far(moment))
    else:
        yield Cause(kind)


def near_and_far(moment: Moment) -> tuple[int, ...]:
    """Of the holes on the plan the one nearest to a pit and the one farthest from all; none without a plan."""
    pits = [p.position for _, p in moment.assembly.points if p.position is not None]
    away = {
        h: min(math.hypot(hole.position.x - pit.x, hole.position.y - pit.y) for pit in pits)
        for h, hole in enumerate(moment.design.holes)
        if hole.position is not None and pits
    }
    if not away:
        return ()
    return tuple(dict.fromkeys((min(away, key=away.__getitem__), max(away, key=away.__getitem__))))
