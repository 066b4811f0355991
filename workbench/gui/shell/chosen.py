"""Which files beside the project the user chose by hand: kept among the settings, and followed from then on."""

from __future__ import annotations

from pathlib import Path

from workbench.design import Design
from workbench.files import beside
from workbench.gui.shell.settings import folder

_KEPT = "chosen-files.txt"


def recall() -> None:
    """Take up what was chosen in earlier starts."""
    beside.recall(folder() / _KEPT)


def choose(path: Path) -> None:
    """Note that the user chose this file."""
    beside.choose(path, kept_in=folder() / _KEPT)


def choose_entered(before: Design, after: Design, project: Path | None) -> None:
    """Note the files that an edit by hand names and the design before it did not.

    `project` is the folder of the project, from which a relative path starts.
    """
    for named in _named(after) - _named(before):
        if "\0" not in named:
            choose((project or Path.cwd()) / named)


def _named(design: Design) -> set[str]:
    picture = design.slab.picture if design.slab is not None else None
    return {each for each in (design.place.weather, picture.path if picture else "") if each}
