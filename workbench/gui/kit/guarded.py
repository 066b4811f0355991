"""The base of all that Qt calls back to paint, to measure or to handle: nothing that one of them raises reaches Qt.

The binding cannot carry an exception through a painting. The next override that is called with one pending takes the
process down, and a painter that is left open takes down the picture it paints on.
"""

from __future__ import annotations

import functools
import sys
import traceback
from collections.abc import Callable, Mapping
from types import FunctionType
from typing import Any, Final

from PySide6.QtCore import QRectF, QSize, QTimer
from PySide6.QtGui import QPainter, QPainterPath

_AT_EVERY_FRAME: Final[Mapping[str, Callable[[], Any]]] = {
    "paint": lambda: None,
    "paintEvent": lambda: None,
    "boundingRect": QRectF,
    "shape": QPainterPath,
    "tickValues": list,
    "tickStrings": list,
    "sizeHint": QSize,
    "minimumSizeHint": QSize,
    "data": lambda: None,
}
"""What is asked for whenever something is drawn, and what is answered in the place of a failed one."""
_OF_EVENTS: Final[Mapping[str, Callable[[], Any]]] = {
    "event": bool,
    "eventFilter": bool,
    "focusNextPrevChild": bool,
}
_GUARD: Final = "_is_guarded"
_noted: set[tuple[type[BaseException], str, int | None]] = set()


def called_by_qt(name: str) -> bool:
    """Whether a method of this name is one that Qt calls, and that is guarded."""
    return name in _AT_EVERY_FRAME or name in _OF_EVENTS or name.endswith("Event")


def is_guarded(method: object) -> bool:
    """Whether a function of a class cannot raise into Qt."""
    return hasattr(method, _GUARD)


class Guarded:
    """Stands before a class of Qt or pyqtgraph: methods that Qt calls, its own and inherited ones, no longer raise.

    What one raised is told to ``sys.excepthook`` in the next pass of the event loop: no window may change while it is
    painted. What fails at every frame is told once.
    """

    def __init_subclass__(cls, **rest: Any) -> None:
        super().__init_subclass__(**rest)
        # Qt's own classes have hundreds of methods, none of which raises
        written = (base for base in cls.__mro__ if not base.__module__.startswith("PySide6."))
        for name in {name for base in written for name in vars(base) if called_by_qt(name)}:
            method = getattr(cls, name)
            if isinstance(method, FunctionType) and not is_guarded(method):
                setattr(cls, name, _guard(name, method))


def _guard(name: str, method: Callable[..., Any]) -> Callable[..., Any]:
    instead = _AT_EVERY_FRAME.get(name) or _OF_EVENTS.get(name)
    once = name in _AT_EVERY_FRAME

    @functools.wraps(method)
    def guarded(self: Any, *args: Any, **rest: Any) -> Any:
        try:
            return method(self, *args, **rest)
        except Exception as error:
            _end_painters(error, args)
            _tell(error, once=once)
            return instead() if instead is not None else None

    setattr(guarded, _GUARD, True)
    return guarded


def _end_painters(error: BaseException, given: tuple[Any, ...]) -> None:
    """End the painters that the failed call began; those it was given belong to whoever called."""
    for frame, _ in traceback.walk_tb(error.__traceback__):
        for value in frame.f_locals.values():
            if isinstance(value, QPainter) and value.isActive() and not any(value is each for each in given):
                value.end()


def _tell(error: BaseException, *, once: bool) -> None:
    last = traceback.extract_tb(error.__traceback__)[-1]
    place = (type(error), last.filename, last.lineno)
    if once and place in _noted:
        return
    _noted.add(place)
    QTimer.singleShot(0, lambda: sys.excepthook(type(error), error, error.__traceback__))
