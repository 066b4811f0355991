"""The table of test holes as Qt asks for it: what was read, what follows at this speed, and the readings beneath."""

from __future__ import annotations

import math
from typing import Any, Final

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, Qt
from PySide6.QtGui import QColor
from PySide6.QtWidgets import QWidget

from workbench.design.design import Design
from workbench.gui.floor.holes_draft import COLUMNS, KEYS
from workbench.gui.floor.holes_entry import HolesEntry, title_of
from workbench.gui.floor.holes_rows import (
    LATEST,
    NAME,
    NOW,
    READING_KEYS,
    VERDICT,
    WORST,
    Line,
    Order,
    weakest_first,
)
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.readings import reading_title
from workbench.gui.kit.theme import LIGHT, SHAPES, Theme
from workbench.gui.kit.tips import plain_tip
from workbench.solving.outcome import Holding, HoleState, Verdict
from workbench.solving.report.verdict_words import VERDICT_WORDS
from workbench.solving.run.misfits import MISFIT
from workbench.units import MINUS, System, as_read, format_number, format_quantity, unit_of

Index = QModelIndex | QPersistentModelIndex
_TOP = QModelIndex()
_ROLE = Qt.ItemDataRole
NO_BREAK: Final = "\N{NO-BREAK SPACE}"
_LEFT, _RIGHT = Qt.AlignmentFlag.AlignLeft, Qt.AlignmentFlag.AlignRight

ORDER_WORDS: Final[dict[Order, str]] = {"weakest": "weakest first", "entered": "as entered"}
NOT_READ: Final = "not read"
_TITLES: Final = ("Hole", "Latest reading", "Expected now", "Worst day", "Verdict", "")
_HINTS: Final = (
    "Click to sort weakest first or as entered. A hole is opened by its triangle, by Enter or by the right arrow key.",
    "The reading entered last at this hole, and which one it is.",
    "Predicted reading at this speed on the day of the test, with its 90 % band.",
    "Suction on the worst day of the year (winter stack, every exhaust on), with its 90 % band. Click: weakest first.",
    *2 * ("Worst day against target; beneath it, how many standard errors the readings are off the fitted floor.",),
)


def whole(words: str) -> str:
    """Words that stay on one line."""
    return words.replace(" ", NO_BREAK)


class HolesModel(Guarded, HolesEntry):
    """A row for each hole with what is known and expected there, and under an opened one a row for each reading."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._holding: Holding | None = None
        self._errors: dict[str, float] = {}
        self._target: float | None = None
        self._sorted: Order = "weakest"
        self._picked: int | None = None
        self._theme = LIGHT
        self._stale = False

    def show_design(self, design: Design) -> None:
        """Show the holes of a design; what is half typed stays."""
        if [hole.name for hole in design.holes] != [hole.name for hole in self._holes]:
            # a hole in the place of another, or with its name, never wears what was found of that one
            self._holding, self._errors = None, {}
        super().show_design(design)

    # --- what follows -------------------------------------------------------------------------------------------------

    def show_kept(self, holding: Holding | None, errors: list[float], target: float) -> None:
        """What the holes keep; `errors` is the misfit of each, NaN where nothing was fitted; the target. [Pa]"""
        titled, self._target = target != self._target, target
        self._holding = holding
        names = [state.name for state in holding.holes] if holding is not None else []
        self._errors = dict(zip(names, errors, strict=False))
        if titled:
            self._titles_changed()
        # readings stay as they are while the speed moves
        for row, line in enumerate(self._lines):
            if line.kind == "hole":
                self.dataChanged.emit(self.index(row, NOW), self.index(row, VERDICT))

    def set_stale(self, stale: bool) -> None:
        """Grey what is the last good answer."""
        if stale != self._stale:
            self._stale = stale
            self._all_changed()

    def set_system(self, system: System) -> None:
        """Show other units; what is half typed stays as it was typed."""
        self._system = system
        self._all_changed()
        self._titles_changed()

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self._theme = theme
        self._all_changed()

    @property
    def theme(self) -> Theme:
        """The theme now worn."""
        return self._theme

    def set_picked(self, hole: int | None) -> None:
        """Mark a hole, by its position."""
        if hole != self._picked:
            self._picked = hole
            self._all_changed()

    @property
    def picked(self) -> int | None:
        """The hole that is marked."""
        return self._picked

    def _titles_changed(self) -> None:
        self.headerDataChanged.emit(Qt.Orientation.Horizontal, 0, len(READING_KEYS) - 1)

    # --- the order ----------------------------------------------------------------------------------------------------

    @property
    def sorted_by(self) -> Order:
        """How the holes are sorted."""
        return self._sorted

    def sort_by(self, order: Order) -> None:
        """Sort the holes, and again whenever that is asked for."""
        self._sorted = order
        self.sort_again()
        self._titles_changed()

    def sort_again(self) -> None:
        """Sort the holes by the answer shown."""
        entered = [hole.name for hole in self._holes]
        self.order_by(weakest_first(self._holding, entered) if self._sorted == "weakest" else entered)

    # --- what stands in the row of a hole -----------------------------------------------------------------------------

    def state(self, name: str) -> HoleState | None:
        """What is known of a hole at this speed."""
        holes = self._holding.holes if self._holding is not None else ()
        return next((state for state in holes if state.name == name), None)

    def verdict(self, name: str) -> Verdict | None:
        """Whether a hole holds; None without an answer."""
        state = self.state(name)
        return None if state is None or self._holding is None else state.verdict(self._holding.target)

    def _pressure(self, suction: float) -> str:
        return format_quantity(as_read(suction, self._system), "hole_pressure", self._system, with_unit=False)

    def told(self, line: Line, column: int) -> tuple[str, str]:
        """What stands in a cell in the row of a hole: its first line, and the small one beneath."""
        name, state = line.name, self.state(line.name)
        if column == NAME:
            return self._text(line, "name") or "+ hole", ""
        if line.hole is None or column > VERDICT:
            return "", ""
        if column == LATEST:
            readings = self._holes[line.hole].readings
            if not readings:
                return "–", NOT_READ
            which = readings[-1].point if len(self._points) > 1 else f"{len(readings)} of {len(readings)}"
            return self._pressure(readings[-1].suction), which
        if state is None:
            return ("–" if column != VERDICT else ""), ""
        if column == VERDICT:
            verdict = state.verdict(self._holding.target) if self._holding is not None else "not measured"
            off = self._errors.get(name, math.nan)
            fit = "" if math.isnan(off) else f"fit error {'+' if off > 0 else ''}{format_number(off, 1, 2)} σ"
            return f"{SHAPES[verdict]} {VERDICT_WORDS[verdict]}", fit
        if not state.known:
            return "unknown", ""
        return self.banded(*((state.suction, state.band) if column == NOW else (state.worst, state.worst_band)))

    def banded(self, value: float, band: tuple[float, float]) -> tuple[str, str]:
        """A suction at a hole and its band, as they are written with the sign of readings. [Pa]"""
        low, high = sorted(band, key=lambda edge: as_read(edge, self._system))
        return self._pressure(value), f"{self._pressure(low)} to {self._pressure(high)}"

    def label(self, line: Line) -> str:
        """What the row of a reading is called where its suction point needs no name."""
        return f"Reading {line.reading + 1}"

    def colours(self, line: Line, column: int) -> tuple[QColor, QColor]:
        """In which both lines of such a cell are written."""
        theme = self._theme
        muted, ink = theme.colour("muted"), theme.colour("text")
        if column == NAME:
            faulty = self._fault(line, "name")
            return (theme.colour("bad") if faulty else ink if line.hole is not None else muted), muted
        if column == LATEST or self._stale:
            return (muted if self._stale and column != LATEST else ink), muted
        if column == VERDICT:
            odd = abs(self._errors.get(line.name, 0.0)) > MISFIT
            return QColor(theme.verdict(self.verdict(line.name) or "")), theme.colour("unsure") if odd else muted
        state = self.state(line.name)
        return (muted if state is None or not state.known else ink), muted

    # --- as Qt asks for it --------------------------------------------------------------------------------------------

    def rowCount(self, parent: Index = _TOP) -> int:
        return 0 if parent.isValid() else len(self._lines)

    def columnCount(self, parent: Index = _TOP) -> int:
        return 0 if parent.isValid() else len(READING_KEYS)

    def editable(self, line: Line, column: int) -> bool:
        """Whether a cell can be typed into; the suction point only where there are several, exhausts once a hole."""
        key = line.key(column)
        if key == "point":
            return len(self._points) > 1
        return bool(key) and not (key == "exhausts" and line.reading)

    def flags(self, index: Index) -> Qt.ItemFlag:
        if not index.isValid():
            return Qt.ItemFlag.NoItemFlags
        flags = Qt.ItemFlag.ItemIsEnabled
        line = self._lines[index.row()]
        if line.kind != "titles":
            flags |= Qt.ItemFlag.ItemIsSelectable
        if self.editable(line, index.column()):
            flags |= Qt.ItemFlag.ItemIsEditable
        return flags

    def fault_at(self, index: Index) -> str:
        """What is wrong with a cell."""
        line = self._lines[index.row()]
        return self._fault(line, line.key(index.column()))

    def _shown(self, line: Line, column: int) -> str:
        if line.kind == "hole":
            return "\n".join(text for text in self.told(line, column) if text)
        key = READING_KEYS[column]
        single = key == "point" and len(self._points) < 2
        if line.kind == "titles":
            return "Reading" if single else title_of(key, self._system)
        return self.label(line) if single else self._text(line, key, whole=False)

    def data(self, index: Index, role: int = _ROLE.DisplayRole) -> Any:
        if not index.isValid():
            return None
        line, column = self._lines[index.row()], index.column()
        key = line.key(column)
        if role == _ROLE.DisplayRole:
            return self._shown(line, column)
        if role == _ROLE.EditRole:
            return self._text(line, key) if key else ""
        if role == _ROLE.TextAlignmentRole:
            side = _LEFT if column == NAME or (line.kind == "hole" and column >= VERDICT) else _RIGHT
            return side | Qt.AlignmentFlag.AlignVCenter
        if role == _ROLE.ForegroundRole and line.kind == "reading":
            return self._theme.colour("bad") if self._fault(line, key) else None
        if role == _ROLE.ToolTipRole:
            return plain_tip(self._fault(line, key) or self._hint(line, column))
        if role == _ROLE.AccessibleTextRole:
            return self._spoken(line, column)
        return None

    def _hint(self, line: Line, column: int) -> str:
        if line.kind == "hole":
            return line.name if column == NAME and line.hole is not None else _HINTS[column]
        return COLUMNS[KEYS.index(READING_KEYS[column])].told(self._system)

    def _spoken(self, line: Line, column: int) -> str:
        who = line.name or "new hole"
        if line.kind == "hole":
            shut = "" if line.hole is None else ", open" if self.opened(line.name) else ", shut"
            if column == NAME:
                return f"Hole {who}{shut}. {self._fault(line, 'name')}".strip()
            title = ("", "Latest reading", "Expected now", "Worst day", "Verdict", "")[column]
            text = ", ".join(text for text in self.told(line, column) if text)
            return f"{title}, hole {who}: {text or 'nothing'}"
        key = READING_KEYS[column]
        field = COLUMNS[KEYS.index(key)]
        if line.kind == "titles":
            return field.title
        unit = "" if field.dimension is None else unit_of(field.dimension, self._system).label
        text = self._text(line, key)
        stands = f"{text} {unit}".strip() if text else "empty"
        return f"{field.title}, {who}, reading {line.reading + 1}: {stands}. {self._fault(line, key)}".strip()

    def title_words(self, column: int) -> list[str]:
        """Words of the title of a column, and of that of its readings: what is not broken apart."""
        titles = [str(self.headerData(column, Qt.Orientation.Horizontal)), title_of(READING_KEYS[column], self._system)]
        lines = [line for title in titles for line in title.split("\n")]
        # a minus is no word of its own
        return [word for line in lines for word in ([line] if line.startswith(MINUS) else line.split(" "))]

    def setData(self, index: Index, value: Any, role: int = _ROLE.EditRole) -> bool:
        if not index.isValid() or role != _ROLE.EditRole:
            return False
        line = self._lines[index.row()]
        key = line.key(index.column())
        if key and str(value) != self._text(line, key):
            self.enter(line, key, str(value))
        return True

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = _ROLE.DisplayRole) -> Any:
        if orientation == Qt.Orientation.Vertical or not 0 <= section < len(_TITLES):
            return None
        if role == _ROLE.DisplayRole:
            unit = unit_of("hole_pressure", self._system).label
            if section == NAME:
                return f"Hole, {whole(ORDER_WORDS[self._sorted] + ' ▾')}"
            if section == VERDICT and self._target is not None:
                return f"Verdict, target {whole(self._pressure(self._target) + ' ' + unit)}"
            title = _TITLES[section]
            return reading_title(f"{title}, {whole(unit)}", self._system) if LATEST <= section <= WORST else title
        if role == _ROLE.ToolTipRole:
            return _HINTS[section]
        if role == _ROLE.TextAlignmentRole:
            return (_RIGHT if LATEST <= section <= WORST else _LEFT) | Qt.AlignmentFlag.AlignBottom
        return None
