"""What a search found as a table: for the window, for a terminal, and as a spreadsheet or comma-separated file."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct

from workbench.files.tables import SHEETS, save_table, table_text
from workbench.physics.sound import no_less_than_silence
from workbench.solving.choices.search import Choice
from workbench.solving.choices.words import LIMIT_WORDS
from workbench.solving.report.verdict_words import VERDICT_WORDS
from workbench.units import Dimension, System, format_quantity, to_display, unit_of

if TYPE_CHECKING:
    from pandas import DataFrame


class ChoiceColumn(Struct, frozen=True):
    """One thing that is told of every choice; text where it has no dimension."""

    key: str
    title: str
    dimension: Dimension | None
    value: Callable[[Choice], float | str]

    def heading(self, system: System) -> str:
        """Title with its unit."""
        label = "" if self.dimension is None else unit_of(self.dimension, system).label
        return f"{self.title} [{label}]" if label else self.title

    def cell(self, choice: Choice, system: System, *, with_unit: bool = False) -> str:
        """As it is read."""
        value = self.value(choice)
        if isinstance(value, str) or self.dimension is None:
            return str(value)
        return "–" if not math.isfinite(value) else format_quantity(value, self.dimension, system, with_unit)

    def shown(self, choice: Choice, system: System) -> float | str:
        """As a spreadsheet takes it: a number in the unit shown, not a number where it is not known."""
        value = self.value(choice)
        if isinstance(value, str) or self.dimension is None:
            return value
        return to_display(value, self.dimension, system) if math.isfinite(value) else math.nan


def _limits(choice: Choice) -> str:
    missed = [LIMIT_WORDS[limit] for limit, _ in choice.misses]
    # what fails says by its limits why
    return ", ".join(missed if choice.verdict == "fails" else [VERDICT_WORDS[choice.verdict], *missed])


COLUMNS: tuple[ChoiceColumn, ...] = (
    ChoiceColumn("fan", "Fan", None, lambda c: c.fan),
    ChoiceColumn("pipe", "Pipe", None, lambda c: c.pipe),
    ChoiceColumn("pit", "Pit", "volume", lambda c: c.pit_volume),
    ChoiceColumn("leak", "Leakage left", "fraction", lambda c: c.leak_left),
    ChoiceColumn("points", "Suction points", "count", lambda c: float(c.points)),
    ChoiceColumn("speed", "Speed", "speed", lambda c: c.speed),
    ChoiceColumn("sound", "Sound", "heard", lambda c: float(no_less_than_silence(c.sound))),
    ChoiceColumn("yearly", "Running cost/yr", "money", lambda c: c.yearly),
    ChoiceColumn("first", "Installed cost", "money", lambda c: c.first),
    ChoiceColumn("life_cycle", "Life-cycle cost", "money", lambda c: c.life_cycle),
    ChoiceColumn("limits", "Result", None, _limits),
    ChoiceColumn("flow", "Airflow", "flow", lambda c: c.flow),
    ChoiceColumn("velocity", "Velocity", "velocity", lambda c: c.velocity),
    ChoiceColumn("power", "Power", "power", lambda c: c.power),
    ChoiceColumn("fan_energy", "Fan energy/yr", "energy_kwh", lambda c: c.fan_energy),
    ChoiceColumn("air_energy", "House-air heat/yr", "energy_kwh", lambda c: c.house_air_energy),
)
"""In the order of a reader: what is chosen, what it costs, whether it holds, and then the rest."""

_NUMBER = "%.6g"
_BRIEF = ("fan", "pipe", "pit", "leak", "points", "speed", "sound", "yearly", "first", "life_cycle", "limits")


def brief_rows(rows: Sequence[Choice], system: System) -> list[tuple[str, ...]]:
    """Titles and cells for a terminal, each with its unit."""
    columns = [column for column in COLUMNS if column.key in _BRIEF]
    cells = [tuple(column.cell(row, system, with_unit=True) for column in columns) for row in rows]
    return [tuple(column.title for column in columns), *cells]


BRIEF_NUMBERS = tuple(i for i, key in enumerate(_BRIEF) if key not in ("fan", "pipe", "limits"))
"""Columns of `brief_rows` that are numbers."""


def plain_frame(rows: Sequence[Choice]) -> DataFrame:
    """A data frame with a row for every choice and a column for every key, in SI."""
    import pandas as pd

    return pd.DataFrame({column.key: [column.value(row) for row in rows] for column in COLUMNS})


def choices_frame(rows: Sequence[Choice], system: System) -> DataFrame:
    """A data frame with a row for every choice, numbers in the units shown."""
    import pandas as pd

    return pd.DataFrame(
        {column.heading(system): [column.shown(row, system) for row in rows] for column in COLUMNS},
    )


def choices_text(rows: Sequence[Choice], system: System, *, separator: str) -> str:
    """The table as text, numbers with a decimal point; what is not known stays empty."""
    return table_text(choices_frame(rows, system), separator=separator, number=_NUMBER)


def save_choices(rows: Sequence[Choice], system: System, path: Path) -> None:
    """Write a spreadsheet (.xlsx) or a comma-separated file, whole or not at all.

    Raises
    ------
    ProjectError
        With a sentence, when it cannot be written or the ending is another.
    """
    save_table(choices_frame(rows, system), path, title="Options", number=_NUMBER, endings=SHEETS)
