"""Start of the program: the command line, and the window where it is asked for."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Sequence
from importlib import import_module
from pathlib import Path
from types import ModuleType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from workbench.design.design import Design
    from workbench.units import System

# read when numpy is first imported: the matrices are many and small, and threads that wait for each other on a busy
# machine take ten times as long; the window needs the other core
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
# no plug-in of pydantic is wanted; looking through every installed package for one costs a tenth of a blank start
os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")


def _open(path: Path | None, safe: bool) -> int:
    # loading makes much and drops nothing: looking for garbage meanwhile costs a tenth of the start
    gc.disable()
    from workbench.console import Refused

    if _no_screen():
        raise Refused("there is no screen for the window; 'solve' answers without it, 'show' draws it into a picture")
    program = _window()
    try:
        return int(program.main(path, safe=safe))
    except Exception as error:
        from workbench.files.job import NO_ANSWER, why_no_answer
        from workbench.files.project import ProjectError

        if isinstance(error, ProjectError):
            raise
        if isinstance(error, NO_ANSWER) and path is not None:
            raise Refused(f"{path}: {why_no_answer(error)}") from error
        log = program.note_fault(error)
        raise Refused(
            f"the window failed at its start ({type(error).__name__}); the details are in {log}. Start it with --safe "
            "to do without stored settings and recovered work"
        ) from error


def _picture(design: Design, path: Path, system: System, safe: bool) -> None:
    if _no_screen():
        os.environ["QT_QPA_PLATFORM"] = "offscreen"
    _window().picture(design, path, system=system, safe=safe)


def _no_screen() -> bool:
    """Whether Qt would end the process, since it finds no display and is not told to do without."""
    named = ("QT_QPA_PLATFORM", "DISPLAY", "WAYLAND_DISPLAY")
    return sys.platform.startswith("linux") and not any(os.environ.get(name) for name in named)


def _window() -> ModuleType:
    from workbench.console import Refused

    try:
        return import_module("workbench.gui.app")
    except ImportError as error:
        raise Refused(f"the window cannot be loaded ({error}); 'solve' answers without it") from error


def main(argv: Sequence[str] | None = None) -> int:
    """Carry out a command line, the program's own without `argv`, and give the exit code."""
    from workbench.commands import run
    from workbench.console import Window

    return run(sys.argv[1:] if argv is None else argv, Window(open=_open, picture=_picture))


if __name__ == "__main__":
    sys.exit(main())
