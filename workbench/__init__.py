"""Design, dial back and hand over active sub-slab depressurisation systems.

From Python, everything in SI and suctions positive, Pa below the room::

    from workbench import choices, load, prepare, save, solve

    outcome = solve("job.json", speed=0.62)        # or a design; an array of speeds gives one outcome each
    outcome.operating.flow, outcome.verdict        # m3/s, "holds"
    outcome.to_frame("holes")                      # a pandas table; also points, runs, losses, notices
    design = load("job.json")                      # a frozen record
    save(design.model_copy(update={"speed": 0.62}), "slower.json")
    choices(design).best                           # what holds and is cheapest to own

``help()`` of each tells shapes, units and errors.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from workbench.design.design import Design
    from workbench.files.job import answer, choices, load, prepare, save, solve

__all__ = ["Design", "answer", "choices", "load", "prepare", "save", "solve"]

__version__ = "0.1.0"

# fetched when first asked for: importing the package costs nothing, which the start of the window counts on
_HOMES = {name: "workbench.files.job" for name in __all__} | {"Design": "workbench.design.design"}


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module 'workbench' has no attribute '{name}'")
    return getattr(import_module(_HOMES[name]), name)


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
