"""A job from its file to its answer, as the command line and a call from Python both go."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

from workbench.design.design import Design, settable_speed
from workbench.files.climate import climate_of, weather_path
from workbench.files.project import load_project
from workbench.solving.outcome import Outcome
from workbench.solving.run.prepare import Prepared
from workbench.solving.run.prepare import prepare as prepare_in


def load(path: str | os.PathLike[str]) -> Design:
    """Design from a project file, the path of its weather file made whole, so that it is found from anywhere.

    Raises
    ------
    ProjectError
        With the file's name in the sentence.
    """
    design = load_project(path)
    weather = weather_path(design, Path(path).absolute().parent)
    if weather is None:
        return design
    return design.model_copy(update={"place": design.place.model_copy(update={"weather": str(weather)})})


def prepare(design: Design) -> Prepared:
    """Make a design ready, in the weather it names; a relative path starts from the working directory.

    Raises
    ------
    WeatherError
        With a sentence, for a weather file that is missing or is no year of weather.
    ValueError
        With a sentence, when a drawn floor makes no field.
    """
    return prepare_in(design, climate_of(design))


def at_rest(ready: Prepared, speed: float) -> Outcome:
    """The answer at a speed by the full number of samples.

    Raises
    ------
    ValueError
        With a sentence, unless the speed is a number above 0 and up to 1.
    """
    return ready.rested(speed)


def solve(design: Design, speed: float | None = None) -> Outcome:
    """Answer a design at its own speed or another.

    Raises
    ------
    ValueError
        With a sentence; see `prepare` and `at_rest`.
    """
    speed = settable_speed(design.speed if speed is None else speed)
    return at_rest(prepare(design), speed)


def answer(design: Design | Prepared, outcome: Outcome) -> dict[str, Any]:
    """Answer as an object that JSON can hold, in SI; `python -m workbench schema --answer` documents its keys."""
    # its records are made when first asked for: the window does without
    from workbench.solving.report.answer import answer as told

    return told(design if isinstance(design, Prepared) else prepare(design), outcome)
