"""A job from its file to its answer, as the command line and a call from Python both go."""

from __future__ import annotations

import json
import os
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, overload

import numpy as np
from numpy.typing import NDArray

from workbench.design.design import Design, settable_speed
from workbench.design.faults import Fault
from workbench.files.beside import Unreadable, choose, read_plain
from workbench.files.climate import WeatherError, climate_of, hours_in, placed, weather_path
from workbench.files.project import ProjectError, load_project, save_project
from workbench.physics.network import NoConvergence
from workbench.solving.later.prepared import prepare as prepare_in
from workbench.solving.outcome import Outcome
from workbench.solving.run.prepare import Prepared

if TYPE_CHECKING:
    from workbench.solving.choices.search import Choices

Job = Design | str | os.PathLike[str]
"""A design, or the path of a project file."""

NO_ANSWER = (ValueError, ArithmeticError, MemoryError)
"""What stops an answer: a floor that makes no field, flows that do not settle, a grid beyond memory."""


def load(path: str | os.PathLike[str], *, weather: str | os.PathLike[str] | None = None) -> Design:
    """Read a project file, which is left untouched.

    Parameters
    ----------
    path
        Of the file. The path of its weather file is made whole, so that it is found from anywhere.
    weather
        Path of a weather file in place of the one that the project names.

    Returns
    -------
    Design
        A frozen record; every number in it is SI (m, m3, m3/s, Pa, K).

    Raises
    ------
    ProjectError
        With the file's name in the sentence, and every fault with its place among `faults`.
    WeatherError
        With a sentence, where the project names a weather file outside its own folder and `weather` is not given.
    """
    design = load_project(path)
    if weather is not None:
        return in_weather(design, weather)
    named = weather_path(design, Path(path).absolute().parent)
    return design if named is None else in_weather(design, named)


def in_weather(design: Design, path: str | os.PathLike[str]) -> Design:
    """A design in the weather of a file that its user chose, wherever that lies."""
    choose(path)
    whole = os.path.abspath(path)
    return design.model_copy(update={"place": design.place.model_copy(update={"weather": whole})})


def save(design: Design, path: str | os.PathLike[str]) -> None:
    """Write a design as a project file, whole or not at all.

    Parameters
    ----------
    design
        Every field of it is written, so that later defaults cannot change it.
    path
        Of the file; one that is there is replaced and keeps its permissions.

    Raises
    ------
    ProjectError
        With a sentence; the file that was there, if any, is then still what it was.
    """
    save_project(design, path)


def prepare(job: Job) -> Prepared:
    """Make a design ready to be answered at any speed: `prepare(job).rested(0.62)`.

    What does not depend on speed is worked out once, some tenths of a second on a drawn floor, and kept.

    Parameters
    ----------
    job
        A design or the path of a project file. The weather it names is read with it; its path starts from the file's
        folder, in a design from the working directory, and leads nowhere outside of that unless `load` or `in_weather`
        was given it.

    Returns
    -------
    Prepared
        `rested(speed)` answers with every sample, `at(speed)` with the few that serve while a hand moves, `lowest`
        are the lowest speeds that hold (fractions of full speed), `trace(fan, speed)` is a fan's curve, shape (k,).

    Raises
    ------
    ProjectError
        With a sentence, for a file that cannot be read or has faults.
    WeatherError
        With a sentence, for a weather file that is missing or is no year of weather.
    ValueError
        With a sentence, when a drawn floor makes no field.
    """
    design = _design(job)
    return prepare_in(design, climate_of(design))


def at_rest(prepared: Prepared, speed: float) -> Outcome:
    """The answer at a speed by the full number of samples.

    Raises
    ------
    ValueError
        With a sentence, unless the speed is a number above 0 and up to 1.
    """
    return prepared.rested(speed)


@overload
def solve(job: Job, speed: float | np.floating[Any] | None = None) -> Outcome: ...
@overload
def solve(job: Job, speed: Sequence[float] | NDArray[np.floating[Any]]) -> tuple[Outcome, ...]: ...
def solve(job: Job, speed: Any = None) -> Outcome | tuple[Outcome, ...]:
    """Answer a design: where its fan settles, what every hole keeps, and what follows from it.

    Parameters
    ----------
    job
        A design or the path of a project file, solved in the weather it names; see `prepare`.
    speed : float or array of float, shape (k,), optional
        Fraction of full speed, above 0 and up to 1; the design's own without it.

    Returns
    -------
    Outcome or tuple of Outcome
        One for one speed, k in the order given for an array. SI: m3/s, Pa, m/s, W; suctions are positive numbers,
        Pa below the room. `to_frame` makes tables of it, `workbench.answer` an object for JSON.

    Raises
    ------
    ProjectError
        With a sentence, for a file that cannot be read or has faults.
    WeatherError
        With a sentence, for a weather file that is missing or is no year of weather.
    ValueError
        With a sentence, when a drawn floor makes no field, or for a speed out of its range; no speed of an array is
        then answered.

    Examples
    --------
    ::

        solve("studio.json", 0.62).operating.flow
        pandas.concat(outcome.to_frame() for outcome in solve("studio.json", [0.5, 0.75, 1.0]))
    """
    design = _design(job)
    # an array is gone through item by item: numpy would make numbers of texts and truths
    several = not isinstance(speed, str) and np.ndim(speed) == 1
    speeds = [settable_speed(each) for each in (speed if several else [design.speed if speed is None else speed])]
    prepared = prepare(design)
    outcomes = tuple(at_rest(prepared, each) for each in speeds)
    return outcomes if several else outcomes[0]


def answer(design: Job | Prepared, outcome: Outcome) -> dict[str, Any]:
    """Answer as an object that JSON can hold, in SI; `python -m workbench schema --answer` documents its keys.

    Parameters
    ----------
    design
        What was solved: a design, the path of its file, or what `prepare` made of it.
    outcome
        One answer of it.

    Raises
    ------
    ProjectError, WeatherError, ValueError
        With a sentence; see `prepare`.
    """
    # its records are made when first asked for: the window does without
    from workbench.solving.report.answer import answer as told

    return told(design if isinstance(design, Prepared) else prepare(design), outcome)


def choices(job: Job) -> Choices:
    """Search fans, pipes, pits, sealing and one more point for what is best, each at its lowest speed that holds.

    Parameters
    ----------
    job
        A design or the path of a project file; its `search` says what is tried, its `fans` are those tried.

    Returns
    -------
    Choices
        `rows`, those that hold first and the cheapest to own first among them; `best`, None where none holds;
        `binds`, the limit that stops the nearest. Speeds are fractions, flows m3/s, power W, suctions Pa, sound
        dB(A), energy kWh a year, money in the currency of the prices.

    Raises
    ------
    ProjectError, WeatherError
        With a sentence; see `prepare`.
    ValueError
        With a sentence, where there is nothing to search by, as without a test hole.
    """
    from workbench.solving.choices.search import search

    design = _design(job)
    return search(design, hours=climate_of(design))


def _design(job: Job) -> Design:
    return job if isinstance(job, Design) else load(job)


# --- looking a file over ----------------------------------------------------------------------------------------------


def look_over(
    path: str | os.PathLike[str], *, weather: str | os.PathLike[str] | None = None
) -> tuple[Design | None, list[Fault]]:
    """Every fault of a project file at once, addresses from the file down, and its design where it has none in itself.

    Beside the faults of entries and between parts: a weather file that is of no use, and what has no answer. `weather`
    is looked at in place of the one that the project names.

    Raises
    ------
    ProjectError
        For a file that cannot be read or is no project at all.
    """
    folder = Path(path).absolute().parent
    if weather is not None:
        choose(weather)
        weather = os.path.abspath(weather)
    try:
        design = load_project(path)
    except ProjectError as error:
        if not error.faults:
            raise
        return None, [*error.faults, *_weather_faults(weather or _weather_named(Path(path)), folder)]
    if weather is not None:
        design = in_weather(design, weather)
    found = _weather_faults(design.place.weather, folder)
    try:
        prepare_in(design, None if found or not design.place.weather else climate_of(design, folder)).at(design.speed)
    except NO_ANSWER as error:
        found.append(Fault(("design",), why_no_answer(error)))
    return design, found


def _weather_named(path: Path) -> str:
    """The weather file that a faulty project names, empty where it names none that could be looked for."""
    try:
        project = json.loads(read_plain(path, "project_file").decode("utf-8-sig"))
    except (Unreadable, ValueError, RecursionError):
        # it was there a moment ago, and changed since
        return ""
    place = project["design"].get("place") if isinstance(project.get("design"), dict) else None
    weather = place.get("weather") if isinstance(place, dict) else None
    return weather.strip() if isinstance(weather, str) else ""


def _weather_faults(weather: str, folder: Path) -> list[Fault]:
    if not weather:
        return []
    try:
        hours_in(placed(weather, folder))
    except WeatherError as error:
        return [Fault(("design", "place", "weather"), str(error))]
    return []


def why_no_answer(error: Exception) -> str:
    """One of `NO_ANSWER` in words."""
    if isinstance(error, MemoryError):
        return "there is not enough memory for the answer; a coarser grid of the floor needs less"
    if isinstance(error, ValueError | NoConvergence):
        return str(error)
    return f"no answer could be calculated ({error})"
