"""Design, dial back and hand over active sub-slab depressurisation systems.

From Python: ``from workbench import load, solve``, then ``solve(load("job.json"), speed=0.62)``.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from workbench.design.design import Design
    from workbench.files.job import answer, load, prepare, solve

__all__ = ["Design", "answer", "load", "prepare", "solve"]

# fetched when first asked for: importing the package costs nothing, which the start of the window counts on
_HOMES = {
    "Design": ("workbench.design.design", "Design"),
    "answer": ("workbench.files.job", "answer"),
    "load": ("workbench.files.job", "load"),
    "prepare": ("workbench.files.job", "prepare"),
    "solve": ("workbench.files.job", "solve"),
}


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module 'workbench' has no attribute '{name}'")
    module, attribute = _HOMES[name]
    return getattr(import_module(module), attribute)
