"""What goes wrong inside the program: kept in a log file, never thrown at the user."""

from __future__ import annotations

import sys
import traceback
from collections.abc import Callable
from types import TracebackType

import pyqtgraph
import PySide6

from workbench.gui.shell.settings import folder

_SIZE = 200_000
_LINES = 60


def start(tell: Callable[[], None]) -> None:
    """Write faults into the log from now on and tell the user that one occurred; the window stays open."""
    import logging
    from logging.handlers import RotatingFileHandler

    logger = logging.getLogger("workbench")
    folder().mkdir(parents=True, exist_ok=True)
    handler = RotatingFileHandler(folder() / "faults.log", maxBytes=_SIZE, backupCount=1, delay=True, encoding="utf-8")
    handler.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(message)s"))
    logger.addHandler(handler)

    def note(kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
        if issubclass(kind, KeyboardInterrupt):
            sys.__excepthook__(kind, error, trace)
            return
        logger.error("".join(traceback.format_exception(kind, error, trace)))
        tell()

    sys.excepthook = note


def report() -> str:
    """Versions and the last lines of the log, without anything of the design."""
    import platform

    log = folder() / "faults.log"
    lines = log.read_text(encoding="utf-8", errors="replace").splitlines()[-_LINES:] if log.exists() else []
    return "\n".join(
        [
            f"Sub-slab Workbench {_version()}",
            f"Python {platform.python_version()}, PySide6 {PySide6.__version__}, pyqtgraph {pyqtgraph.__version__}",
            platform.platform(),
            "",
            *(lines or ["No errors were logged."]),
        ]
    )


def _version() -> str:
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version("subslab-workbench")
    except PackageNotFoundError:
        return "from a checkout"
