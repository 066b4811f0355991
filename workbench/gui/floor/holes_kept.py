"""Suction at each test hole at this speed, as a table: on the day and the worst day, with band and verdict."""

from __future__ import annotations

import math
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt
from PySide6.QtGui import QColor, QFontMetrics, QResizeEvent
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableView, QWidget

from workbench.gui.kit.readings import reading_title
from workbench.gui.kit.theme import LIGHT, SHAPES, Theme
from workbench.gui.kit.tips import plain_tip
from workbench.gui.kit.type_scale import Role, font_of, px, wear
from workbench.solving.outcome import Holding, HoleState, Verdict
from workbench.solving.report.verdict_words import VERDICT_WORDS
from workbench.solving.run.misfits import MISFIT
from workbench.units import SI, System, as_read, format_number, format_quantity, unit_of

Index = QModelIndex | QPersistentModelIndex
_TOP = QModelIndex()
_ROLE = Qt.ItemDataRole
_WIDEST = 112
_TITLES = ("Hole", "Day of test", "Worst day", "", "Fit error, σ")
_HINTS = (
    "The test hole.",
    "Predicted reading at this speed on the day of the test, with its 90 % band.",
    "Suction on the worst day of the year (winter stack, every exhaust on), with its 90 % band.",
    "Compared with the target suction.",
    "Standard errors the reading is above or below the fitted floor.",
)


def _lines(verdict: Verdict) -> tuple[str, ...]:
    """A verdict in the two lines of its row, its shape first."""
    head, _, last = VERDICT_WORDS[verdict].rpartition(" ")
    return (f"{SHAPES[verdict]} {head}", last) if head else (f"{SHAPES[verdict]} {last}",)


class KeptModel(QAbstractTableModel):
    """A row for each hole: what it keeps on the day and on the worst day, each with its band."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._names: list[str] = []
        self._holding: Holding | None = None
        self._errors: list[float] = []
        self._system: System = SI
        self._theme = LIGHT
        self._stale = False

    def show_holes(self, names: list[str]) -> None:
        """Holes of another design."""
        if names != self._names:
            self.beginResetModel()
            self._names, self._holding, self._errors = names, None, []
            self.endResetModel()

    def show_kept(self, holding: Holding | None, errors: list[float]) -> None:
        """What the holes keep; `errors` is the misfit of each, NaN where nothing was fitted."""
        self._holding, self._errors = holding, errors
        self._changed()

    def set_stale(self, stale: bool) -> None:
        """Grey what is the last good answer."""
        if stale != self._stale:
            self._stale = stale
            self._changed()

    def set_system(self, system: System) -> None:
        self._system = system
        self._changed()
        self.headerDataChanged.emit(Qt.Orientation.Horizontal, 0, len(_TITLES) - 1)

    def apply_theme(self, theme: Theme) -> None:
        self._theme = theme
        self._changed()

    def _changed(self) -> None:
        if self._names:
            self.dataChanged.emit(self.index(0, 0), self.index(len(self._names) - 1, len(_TITLES) - 1))

    def rowCount(self, parent: Index = _TOP) -> int:
        return 0 if parent.isValid() else len(self._names)

    def columnCount(self, parent: Index = _TOP) -> int:
        return 0 if parent.isValid() else len(_TITLES)

    def state(self, row: int) -> HoleState | None:
        """What is known of a hole at this speed."""
        if self._holding is None or row >= len(self._holding.holes):
            return None
        return self._holding.holes[row]

    def verdict(self, row: int) -> Verdict | None:
        """Whether a hole holds; None without an answer."""
        state = self.state(row)
        return None if state is None or self._holding is None else state.verdict(self._holding.target)

    def _banded(self, value: float, band: tuple[float, float]) -> str:
        edges = sorted(as_read(edge, self._system) for edge in band)
        middle, low, high = (
            format_quantity(v, "hole_pressure", self._system, with_unit=False)
            for v in (as_read(value, self._system), *edges)
        )
        return f"{middle}\n{low} to{' ' if self.lines == 2 else chr(10)}{high}"

    @property
    def lines(self) -> int:
        """Lines of a row: a band of many decimals takes two."""
        return 3 if unit_of("hole_pressure", self._system).decimals > 2 else 2

    def text(self, row: int, column_of: int) -> str:
        """What stands in a cell."""
        state = self.state(row)
        if column_of == 0:
            return self._names[row]
        if column_of == 4:
            off = self._errors[row] if row < len(self._errors) else math.nan
            return "" if math.isnan(off) else f"{'+' if off > 0 else ''}{format_number(off, 1, 2)}"
        if state is None:
            return "–" if column_of < 3 else ""
        if not state.known:
            return ("", "unknown", "unknown", "")[column_of]
        if column_of == 1:
            return self._banded(state.suction, state.band)
        if column_of == 2:
            return self._banded(state.worst, state.worst_band)
        verdict = self.verdict(row)
        return "\n".join(_lines(verdict)) if verdict else ""

    def data(self, index: Index, role: int = _ROLE.DisplayRole) -> Any:
        if not index.isValid():
            return None
        row, at = index.row(), index.column()
        if role == _ROLE.DisplayRole:
            return self.text(row, at)
        if role == _ROLE.TextAlignmentRole:
            side = Qt.AlignmentFlag.AlignRight if at in (1, 2, 4) else Qt.AlignmentFlag.AlignLeft
            return side | Qt.AlignmentFlag.AlignVCenter
        if role == _ROLE.FontRole and at == 0:
            return font_of(Role.STRONG)
        if role == _ROLE.ForegroundRole:
            return self._colour(row, at)
        if role == _ROLE.ToolTipRole:
            return plain_tip(self._names[row]) if at == 0 else _HINTS[at]
        if role == _ROLE.AccessibleTextRole:
            return f"{_TITLES[at] or 'Verdict'}, hole {self._names[row]}: {self.text(row, at) or 'nothing'}"
        return None

    def _colour(self, row: int, at: int) -> QColor | None:
        if self._stale:
            return QColor(self._theme.muted)
        state = self.state(row)
        if at == 3:
            return QColor(self._theme.verdict(self.verdict(row) or ""))
        if at == 4 and row < len(self._errors) and abs(self._errors[row]) > MISFIT:
            return QColor(self._theme.verdict("unsure"))
        return QColor(self._theme.muted) if state is None or not state.known else None

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = _ROLE.DisplayRole) -> Any:
        if orientation == Qt.Orientation.Vertical or not 0 <= section < len(_TITLES):
            return None
        if role == _ROLE.DisplayRole:
            unit = unit_of("hole_pressure", self._system).label
            title = _TITLES[section]
            return reading_title(f"{title}\n{unit}", self._system) if section in (1, 2) else title
        if role == _ROLE.ToolTipRole:
            return _HINTS[section]
        if role == _ROLE.TextAlignmentRole:
            side = Qt.AlignmentFlag.AlignRight if section in (1, 2, 4) else Qt.AlignmentFlag.AlignLeft
            return side | Qt.AlignmentFlag.AlignBottom
        return None


class KeptView(QTableView):
    """Read only: a row is picked, nothing is typed."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("Predicted suction at each test hole")
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setTabKeyNavigation(False)
        self.setShowGrid(False)
        wear(self, Role.SMALL)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        header = self.horizontalHeader()
        wear(header, Role.SMALL)
        header.setMinimumSectionSize(30)
        header.setHighlightSections(False)
        self.verticalHeader().hide()
        self.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.set_lines(2)

    def set_lines(self, lines: int) -> None:
        """Give rows the height of so many lines."""
        self.verticalHeader().setDefaultSectionSize(lines * self.fontMetrics().height() + 7)

    def set_widths(self, names: list[str]) -> None:
        """Widths that hold the names and any figures, so that figures that change move nothing."""
        header, width = self.horizontalHeader(), self.fontMetrics().horizontalAdvance
        header.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        header.setSectionResizeMode(1, QHeaderView.ResizeMode.Stretch)
        header.setSectionResizeMode(2, QHeaderView.ResizeMode.Stretch)
        bold = QFontMetrics(font_of(Role.STRONG)).horizontalAdvance
        self.setColumnWidth(0, min(max([bold(name) for name in names] + [width("Hole 12")]) + 12, px(_WIDEST)))
        self.setColumnWidth(3, max(width(line) for verdict in VERDICT_WORDS for line in _lines(verdict)) + 14)
        self.setColumnWidth(4, width("Fit error, σ") + 12)
        self._fold()

    def _fold(self) -> None:
        """Leave out how well the fit agrees where there is no room for it beside the figures."""
        figures = 2 * (self.fontMetrics().horizontalAdvance("0.000 to 0.000") + 10)
        rest = self.columnWidth(0) + self.columnWidth(3) + self.fontMetrics().horizontalAdvance("Fit error, σ") + 12
        self.setColumnHidden(4, figures + rest > self.viewport().width())

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fold()
