"""The scenes that come with the workbench, each an ordinary project file with an invented job."""

from __future__ import annotations

from importlib.resources import files

from workbench.design.design import Design
from workbench.files.project import read_project

DEMO = "studio"
"""The scene that opens when no file is given."""

_SUFFIX = ".json"


def scene_names() -> tuple[str, ...]:
    """Names of all scenes, the one that opens first in front."""
    entries = (entry.name for entry in files("workbench").joinpath("scenes").iterdir())
    names = sorted(name.removesuffix(_SUFFIX) for name in entries if name.endswith(_SUFFIX))
    return tuple(sorted(names, key=lambda name: name != DEMO))


def load_scene(name: str = DEMO) -> Design:
    """A scene by name. KeyError when there is none of that name."""
    if name not in scene_names():
        raise KeyError(name)
    return read_project(files("workbench").joinpath("scenes", name + _SUFFIX).read_text(encoding="utf-8"))
