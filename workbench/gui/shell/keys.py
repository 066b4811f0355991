"""Every key of the window: the one table from which menus take theirs and help shows them."""

from __future__ import annotations

from typing import Final, NamedTuple

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeySequence
from PySide6.QtWidgets import QDialog, QFrame, QGridLayout, QHBoxLayout, QLabel, QScrollArea, QVBoxLayout, QWidget

from workbench.gui.kit.forms import heading

HELP: Final = "F1"
FULL_SCREEN: Final = "F11"
NEXT_PANE: Final = "F6"
PANE_BEFORE: Final = "Shift+F6"
FIT: Final = "F7"
EXPORT_IMAGE: Final = "F8"
COPY_IMAGE: Final = "Shift+F8"
EXPORT_DATA: Final = "Ctrl+F8"
COPY_DATA: Final = "Ctrl+Shift+F8"
SPEED: Final = "F9"
NEW: Final = "Ctrl+N"
OPEN: Final = "Ctrl+O"
SAVE: Final = "Ctrl+S"
SAVE_AS: Final = "Ctrl+Shift+S"
QUIT: Final = "Ctrl+Q"
UNDO: Final = "Ctrl+Z"
REDO: Final = ("Ctrl+Y", "Ctrl+Shift+Z")


def page_key(number: int) -> str:
    """What turns to a page, counted from 1."""
    return f"Alt+{number}"


class Key(NamedTuple):
    """Keys, several that do the same parted, and what they do."""

    keys: tuple[str, ...]
    does: str


TABLE: Final[tuple[tuple[str, tuple[Key, ...]], ...]] = (
    (
        "Anywhere",
        (
            Key((HELP,), "this list"),
            Key((page_key(1), "…", page_key(8)), "turn to a page"),
            Key((NEXT_PANE,), "next pane"),
            Key((PANE_BEFORE,), "previous pane"),
            Key(("Tab", "Shift+Tab"), "next control, previous control"),
            Key((SPEED,), "go to fan speed"),
            Key((FULL_SCREEN,), "full screen, and back"),
            Key((UNDO,), "undo"),
            Key(REDO, "redo"),
        ),
    ),
    (
        "Files",
        (
            Key((NEW,), "new project"),
            Key((OPEN,), "open"),
            Key((SAVE,), "save"),
            Key((SAVE_AS,), "save as"),
            Key((QUIT,), "quit"),
        ),
    ),
    (
        "Fan speed",
        (
            Key(("Left", "Right"), "1 % slower, faster"),
            Key(("PgDown", "PgUp"), "5 % slower, faster"),
            Key(("Home", "End"), "fan minimum, full speed"),
        ),
    ),
    (
        "A field",
        (
            Key(("Return",), "take what was typed"),
            Key(("Esc",), "revert it"),
            Key(("Up", "Down"), "one step more, less"),
            Key(("PgUp", "PgDown"), "ten steps more, less"),
        ),
    ),
    (
        "Cross-section",
        (
            Key(("Left", "Right"), "previous part, next part"),
            Key(("Home", "End"), "first part, last part"),
            Key(("Return",), "edit the part"),
            Key(("Ins",), "add a part here"),
            Key(("Del",), "remove the part"),
        ),
    ),
    (
        "Curves",
        (
            Key(("+", "−"), "zoom in, out"),
            Key(("Left", "Right", "Up", "Down"), "move"),
            Key((FIT,), "fit to curves"),
            Key((EXPORT_IMAGE,), "export chart image"),
            Key((COPY_IMAGE,), "copy chart as image"),
            Key((EXPORT_DATA,), "export curve data"),
            Key((COPY_DATA,), "copy curve data"),
        ),
    ),
    (
        "Floor plan",
        (
            Key(("Tab", "Shift+Tab"), "next part, previous part"),
            Key(("Left", "Right", "Up", "Down"), "move the part; Shift for fine steps"),
            Key(("Return",), "edit the part; end a drawing"),
            Key(("Ins",), "insert a corner"),
            Key(("Del",), "remove the part"),
            Key(("Backspace",), "take the last corner back"),
            Key(("0",), "fit the whole floor"),
            Key(("L",), "open, fold the legend"),
            Key(("Esc",), "leave the tool"),
        ),
    ),
    (
        "Tables",
        (
            Key(("Return", "Shift+Return"), "next row, previous row"),
            Key(("Ctrl+C", "Ctrl+V"), "copy, paste"),
            Key(("Del",), "empty the cells"),
            Key(("Ctrl+Del",), "remove the rows"),
            Key(("Ins",), "insert a row"),
        ),
    ),
    (
        "Table of test holes",
        (
            Key(("Return",), "open, shut a hole"),
            Key(("Right", "Left"), "open it, shut it"),
            Key(("F5",), "sort again"),
        ),
    ),
    (
        "List of fans",
        (
            Key(("Return", "Space"), "use the fan"),
            Key(("F2",), "rename it"),
            Key(("Ins",), "duplicate it"),
            Key(("Del",), "remove it"),
        ),
    ),
)
_COLUMNS = 2


class KeyList(QDialog):
    """The table, in columns of groups that scroll where the screen is small; nothing in it is cut."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("Keyboard shortcuts")
        inner = QWidget()
        row = QHBoxLayout(inner)
        row.setContentsMargins(16, 12, 16, 16)
        row.setSpacing(32)
        lengths = [0] * _COLUMNS
        columns = [QVBoxLayout() for _ in range(_COLUMNS)]
        for column in columns:
            column.setSpacing(8)
            row.addLayout(column, 1)
        for title, keys in TABLE:
            shortest = lengths.index(min(lengths))
            lengths[shortest] += len(keys) + 2
            columns[shortest].addWidget(_group(title, keys))
        for column in columns:
            column.addStretch(1)
        area = QScrollArea(self)
        area.setFrameShape(QFrame.Shape.NoFrame)
        area.setWidgetResizable(True)
        area.setWidget(inner)
        area.setAccessibleName("Keyboard shortcuts")
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addWidget(area)
        # across nothing may scroll: a line that has to be moved to be read is cut
        area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setMinimumWidth(inner.minimumSizeHint().width() + area.verticalScrollBar().sizeHint().width())
        wanted = inner.sizeHint().height()
        screen = (parent or self).screen().availableGeometry().height()
        self.resize(self.minimumWidth(), min(wanted, round(0.85 * screen)))


def _group(title: str, keys: tuple[Key, ...]) -> QWidget:
    group = QWidget()
    grid = QGridLayout(group)
    grid.setContentsMargins(0, 0, 0, 0)
    grid.setHorizontalSpacing(16)
    grid.setVerticalSpacing(2)
    grid.addWidget(heading(title), 0, 0, 1, 2)
    for row, key in enumerate(keys, start=1):
        for column, text in enumerate((_written(key.keys), key.does)):
            label = QLabel(text, textFormat=Qt.TextFormat.PlainText)
            grid.addWidget(label, row, column)
    grid.setColumnStretch(1, 1)
    return group


def _written(keys: tuple[str, ...]) -> str:
    native = [QKeySequence(key).toString(QKeySequence.SequenceFormat.NativeText) or key for key in keys]
    return ", ".join(native).replace(", …,", " …")
