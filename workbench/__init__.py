"""Design, dial back and hand over active sub-slab depressurisation systems.

From Python: ``from workbench import load, solve``, then ``solve(load("job.json"), speed=0.62)``.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from workbench.design.design import Design
    from workbench.files.project import load_project as load
    from workbench.solve.answer import answer
    from workbench.solve.prepare import prepare, solve

__all__ = ["Design", "answer", "load", "prepare", "solve"]

# fetched when first asked for: importing the package costs nothing, which the start of the window counts on
_HOMES = {
    "Design": ("workbench.design.design", "Design"),
    "answer": ("workbench.solve.answer", "answer"),
    "load": ("workbench.files.project", "load_project"),
    "prepare": ("workbench.solve.prepare", "prepare"),
}
# `solve` is not among them: the package of that name answers when called


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module 'workbench' has no attribute '{name}'")
    module, attribute = _HOMES[name]
    return getattr(import_module(module), attribute)
