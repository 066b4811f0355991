"""The scenes that come with the workbench, each an ordinary project file with an invented job."""

from __future__ import annotations

from pathlib import Path

from workbench.design.design import Design
from workbench.files.project import read_project

DEMO = "studio"
"""The scene that opens when no file is given."""

_SUFFIX = ".json"
_FOLDER = Path(__file__).parents[1] / "scenes"


def scene_names() -> tuple[str, ...]:
    """Names of all scenes, the one that opens first in front."""
    names = (path.stem for path in _FOLDER.glob(f"*{_SUFFIX}"))
    return tuple(sorted(names, key=lambda name: (name != DEMO, name)))


def load_scene(name: str = DEMO) -> Design:
    """A scene by name. KeyError when there is none of that name."""
    if name not in scene_names():
        raise KeyError(name)
    return read_project((_FOLDER / (name + _SUFFIX)).read_text(encoding="utf-8"))
