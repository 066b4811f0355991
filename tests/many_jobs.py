"""A folder of invented jobs, whose readings lie off what was predicted by so much as quantiles tell."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np

from tests.visited import visit, visited
from workbench.design import Design
from workbench.design.ground import GroundClass
from workbench.design.record import with_value
from workbench.design.visits import Conditions, Visit
from workbench.files.project import save_project
from workbench.files.scenes import load_scene

JOBS = 12
_OFF = {"gauge": 0.07, "power": 0.05, "flow": 0.06, "holes": 0.08}
"""One standard deviation of the logarithm of read over predicted."""
_BIAS = {"gauge": -0.03, "power": 0.0, "flow": 0.02, "holes": -0.04}


def invented_job(number: int) -> Design:
    """The studio without its plan on ground of which the class alone is known, with a start-up and a yearly check."""
    design = with_value(load_scene("studio"), ("slab",), None)
    design = with_value(design, ("intake", "source", "ground"), GroundClass(kind="sand and gravel"))
    there = Conditions(speed=design.speed, outdoor_temperature=design.place.outdoor_temperature)
    random = np.random.default_rng(number)
    read = ("gauge", "power", "flow", "holes")
    first = visit(design, kind="start-up", date="2026-11-30", what=read, conditions=there)
    check = visit(design, kind="yearly check", date="2027-11-30", what=("gauge", "power"), conditions=there)
    first, check = _read(first, random), _read(check, random, 0.5)
    whole = visited(design, first, check)
    return with_value(whole, ("title",), f"Invented job {number + 1}")


def _read(one: Visit, random: np.random.Generator, share: float = 1.0) -> Visit:
    def off(what: str) -> float:
        return math.exp(share * (_BIAS[what] + _OFF[what] * float(random.standard_normal())))

    for what, value in (("gauge", "pressure"), ("power", "power"), ("flow", "flow")):
        read = getattr(one, what)
        if read is not None:
            one = with_value(one, (what, value), off(what) * getattr(read, value))
    for at, hole in enumerate(one.holes):
        assert hole.suction is not None
        one = with_value(one, ("holes", at, "suction"), off("holes") * hole.suction)
    return with_value(one, ("note",), "Invented.")


def write_jobs(folder: Path, count: int = JOBS) -> list[Path]:
    """Write so many jobs, and one file that is none."""
    folder.mkdir(parents=True, exist_ok=True)
    files = [folder / f"invented job {number + 1:02}.json" for number in range(count)]
    for number, file in enumerate(files):
        save_project(invented_job(number), file)
    (folder / "a broken one.json").write_text("{", encoding="utf-8")
    return files
