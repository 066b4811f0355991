"""Design, dial back and hand over active sub-slab depressurisation systems.

From Python: ``from workbench import load, solve``, then ``solve(load("job.json"), speed=0.62)``.
"""

from __future__ import annotations

import sys
from importlib import import_module
from types import ModuleType
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
}


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module 'workbench' has no attribute '{name}'")
    module, attribute = _HOMES[name]
    return getattr(import_module(module), attribute)


class _Solving(ModuleType):
    """The package `workbench.solve`, which answers a call too."""

    def __call__(self, design: Design, speed: float | None = None) -> Any:
        return import_module("workbench.files.job").solve(design, speed)


class _Root(ModuleType):
    def __setattr__(self, name: str, value: Any) -> None:
        # importing any module of that package binds it to the name of the function
        if name == "solve" and isinstance(value, ModuleType):
            value.__class__ = _Solving
        super().__setattr__(name, value)


sys.modules[__name__].__class__ = _Root
