"""The letters of the window: one family of ours, four sizes, two weights, and one factor for all of it.

The family is shipped (`letters/`, made by `tests/letters.py`) and bears a name that no font of the machine has, so that
window, pictures and papers look the same everywhere. Its figures are of one width: a changing number stands still.
Sizes are logical pixels; the factor is what the person set for larger text.
"""

from __future__ import annotations

import math
from enum import Enum
from functools import cache
from pathlib import Path
from typing import Final, Literal, get_args

from PySide6.QtCore import QEvent, QObject
from PySide6.QtGui import QFont, QFontDatabase, QFontMetricsF
from PySide6.QtWidgets import QApplication, QWidget

from workbench.gui.kit.guarded import Guarded

FAMILY: Final = "Subslab Sans"
TextSize = Literal[100, 125, 150, 200]
TEXT_SIZES: Final[tuple[TextSize, ...]] = get_args(TextSize)
CONTROL: Final = 24
"""Height of a button, a field, a list [px]."""
_FOLDER: Final = Path(__file__).parent / "letters"
_ROLE: Final = "role of type"
_WIDTH: Final = "width before the factor"
_LEAST: Final = "least width before the factor"


class Role(Enum):
    """What a text is there for: size and line in pixels, and whether it is bold."""

    VERDICT = (22, 28, True)
    TILE = (16, 24, True)
    """Numbers of tiles, titles of charts."""
    BODY = (13, 20, False)
    STRONG = (13, 20, True)
    SMALL = (11, 16, False)
    """Labels over fields, bands, text of axes."""
    SMALL_STRONG = (11, 16, True)

    @property
    def size(self) -> float:
        """Pixels of the em, before the factor."""
        return self.value[0]

    @property
    def line(self) -> float:
        """Pixels from line to line, before the factor."""
        return self.value[1]

    @property
    def bold(self) -> bool:
        """Whether of the heavier of the two weights."""
        return self.value[2]


class _Scale:
    family: str = FAMILY
    factor: float = 1.0
    loaded: bool = False
    fonts: dict[Role, QFont] = {}  # noqa: RUF012  one scale for the program
    lines: dict[Role, float] = {}  # noqa: RUF012


def load() -> None:
    """Take the shipped letters in; needs a running application, does nothing a second time."""
    if not _Scale.loaded:
        _Scale.loaded = True
        for path in sorted(_FOLDER.glob("*.ttf")):
            QFontDatabase.addApplicationFont(str(path))


def use(*, family: str | None = None, percent: int | None = None) -> None:
    """Write in another family (a test of what a machine might do) or larger, from now on, in all that is open."""
    load()
    if family is not None:
        _Scale.family = family
    if percent is not None:
        _Scale.factor = percent / 100.0
    _Scale.fonts.clear()
    _Scale.lines.clear()
    app = QApplication.instance()
    if isinstance(app, QApplication):
        dress(app)


def dress(app: QApplication) -> None:
    """Set the body's letters for every widget that chooses none, and anew what `wear` chose."""
    load()
    if app.font() != font_of(Role.BODY):
        app.setFont(font_of(Role.BODY))
        for widget in app.allWidgets():
            name, width, least = (widget.property(key) for key in (_ROLE, _WIDTH, _LEAST))
            if isinstance(name, str):
                widget.setFont(font_of(Role[name]))
            if isinstance(width, int):
                widget.setFixedWidth(px(width))
            if isinstance(least, int):
                widget.setMinimumWidth(px(least))


def factor() -> float:
    """How much larger than drawn everything is written, 1 to 2."""
    return _Scale.factor


def px(length: float) -> int:
    """A length of the layout that holds text, in pixels after the factor."""
    return math.ceil(length * _Scale.factor)


def font_of(role: Role) -> QFont:
    """The letters of a role."""
    if role not in _Scale.fonts:
        made = QFont(_Scale.family)
        made.setPixelSize(round(role.size * _Scale.factor))
        made.setWeight(QFont.Weight.Bold if role.bold else QFont.Weight.Normal)
        # steps of whole pixels would make a line as wide as the machine likes
        made.setHintingPreference(QFont.HintingPreference.PreferVerticalHinting)
        _Scale.fonts[role] = made
    return _Scale.fonts[role]


def line_of(role: Role) -> float:
    """From line to line of a role, in pixels: as drawn, or more where the letters in use need it."""
    if role not in _Scale.lines:
        drawn = role.line * _Scale.factor
        ours = _Scale.family == FAMILY
        _Scale.lines[role] = drawn if ours else max(drawn, QFontMetricsF(font_of(role)).height())
    return _Scale.lines[role]


def wear(widget: QWidget, role: Role) -> None:
    """Write a widget in the letters of a role, and keep it so when the text is made larger."""
    if widget.property(_ROLE) is None:
        widget.installEventFilter(_dresser())
    widget.setProperty(_ROLE, role.name)
    widget.setFont(font_of(role))


class _Dresser(Guarded, QObject):
    """A style sheet takes letters of its own from a widget when it is dressed: they are given back then."""

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() in (QEvent.Type.Polish, QEvent.Type.FontChange) and isinstance(watched, QWidget):
            wanted = font_of(Role[str(watched.property(_ROLE))])
            if watched.font().pixelSize() != wanted.pixelSize() or watched.font().weight() != wanted.weight():
                watched.setFont(wanted)
        return False


@cache
def _dresser() -> _Dresser:
    return _Dresser(QApplication.instance())


def keep_width(widget: QWidget, width: int) -> None:
    """Give a widget that holds text one width, which grows with the text. [px before the factor]"""
    widget.setProperty(_WIDTH, width)
    widget.setFixedWidth(px(width))


def keep_least_width(widget: QWidget, width: int) -> None:
    """Give it a least width likewise. [px before the factor]"""
    widget.setProperty(_LEAST, width)
    widget.setMinimumWidth(px(width))
