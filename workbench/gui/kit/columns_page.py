"""A page of panels side by side, each a titled sheet that scrolls by itself."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QPalette, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QBoxLayout, QFrame, QHBoxLayout, QLabel, QScrollArea, QSizePolicy, QVBoxLayout, QWidget

from workbench.design.design import Design
from workbench.design.faults import Fault
from workbench.gui.kit.forms import paragraph
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.theme import Theme
from workbench.gui.kit.type_scale import Role, px, wear
from workbench.solving.outcome import Outcome
from workbench.solving.run.prepare import Prepared
from workbench.units import System

_COLUMN = 270
"""Breadth of a column in which a panel can be read; in less they stand under one another. [px before the factor]"""
_STACKED = 380
"""Height of a panel that stands under another, at most: the rest of it is scrolled. [px before the factor]"""

_NO_END = 16777215


class ColumnsPage(Guarded, QWidget):
    """Panels side by side, each given its title and its share of the width; in a narrow window under one another.

    What a panel proposes is proposed; a refusal goes back to the panel it came from.
    """

    proposed = Signal(object, str)

    def __init__(self, columns: Sequence[tuple[str, Any, int]], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._panels = [panel for _, panel, _ in columns]
        self._titles: list[QLabel] = []
        self._faults: list[QLabel] = []
        self._proposer: Any = None
        self._sheets: list[tuple[QWidget, int]] = []
        self._rules: list[QFrame] = []
        self._row = row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(0)
        for i, (title, panel, share) in enumerate(columns):
            if i:
                row.addWidget(rule := _rule())
                self._rules.append(rule)
            row.addWidget(sheet := self._sheet(title, panel), share)
            self._sheets.append((sheet, share))
            panel.proposed.connect(lambda change, words, panel=panel: self._pass_on(panel, change, words))
        self._fit_titles()

    def _sheet(self, title: str, panel: QWidget) -> QWidget:
        sheet = QWidget()
        sheet.setAutoFillBackground(True)
        sheet.setBackgroundRole(QPalette.ColorRole.Base)
        label = QLabel(title, textFormat=Qt.TextFormat.PlainText)
        label.setContentsMargins(12, 8, 12, 4)
        self._titles.append(label)
        fault = paragraph()
        fault.setObjectName("fault")
        fault.setContentsMargins(12, 0, 12, 4)
        fault.hide()
        self._faults.append(fault)
        layout = panel.layout()
        assert layout is not None
        layout.setContentsMargins(12, 2, 12, 8)
        area = QScrollArea()
        area.setWidgetResizable(True)
        area.setFrameShape(QFrame.Shape.NoFrame)
        area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        area.setAccessibleName(title)
        area.setMinimumWidth(280)
        area.viewport().setBackgroundRole(QPalette.ColorRole.Base)
        panel.setAutoFillBackground(True)
        panel.setBackgroundRole(QPalette.ColorRole.Base)
        area.setWidget(panel)
        column = QVBoxLayout(sheet)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(label)
        column.addWidget(fault)
        column.addWidget(area, 1)
        sheet.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Expanding)
        return sheet

    def _fit_titles(self) -> None:
        for label in self._titles:
            wear(label, Role.STRONG)

    def _stacked(self) -> bool:
        return self._row.direction() == QBoxLayout.Direction.TopToBottom

    def least_height(self) -> int:
        """Height in which every panel can be read, 0 where they stand side by side. [px]"""
        return sum(map(self._least_of, self._panels)) if self._stacked() else 0

    @staticmethod
    def _least_of(panel: QWidget) -> int:
        return min(panel.sizeHint().height() + px(40), px(_STACKED))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._stack()

    def _stack(self) -> None:
        """Lay the panels side by side where each has room, else under one another."""
        stacked = self.width() < len(self._panels) * px(_COLUMN)
        if stacked != self._stacked():
            way = QBoxLayout.Direction
            self._row.setDirection(way.TopToBottom if stacked else way.LeftToRight)
            for rule in self._rules:
                rule.setMaximumSize(*((_NO_END, 1) if stacked else (1, _NO_END)))
        for panel, (sheet, share) in zip(self._panels, self._sheets, strict=True):
            self._row.setStretchFactor(sheet, self._least_of(panel) if stacked else share)

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._fit_titles()
        self._stack()

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self._fit_titles()
            self._stack()

    def _pass_on(self, panel: Any, change: Callable[[Design], Design], words: str) -> None:
        self._proposer = panel
        self.proposed.emit(change, words)

    def bring_into_sight(self, panel: Any, widget: QWidget) -> None:
        """Scroll the sheet of a panel, and the page where it is scrolled, until a widget in it is seen."""
        over: QWidget | None = panel
        while over is not None:
            if isinstance(over, QScrollArea):
                over.ensureWidgetVisible(widget, 0, 20)
            over = over.parentWidget()

    # --- what every page understands --------------------------------------------------------------------------------

    def show_design(self, design: Design) -> None:
        """Show a design."""
        for panel in self._panels:
            panel.show_design(design)

    def show_outcome(self, prepared: Prepared, outcome: Outcome) -> None:
        """Show what follows from it."""
        for panel in self._panels:
            panel.show_outcome(prepared, outcome)

    def show_faults(self, faults: list[Fault]) -> None:
        """Tell the panel that proposed why it was refused, or every panel that nothing is."""
        for panel, label in zip(self._panels, self._faults, strict=True):
            left = panel.show_faults(faults) if panel is self._proposer or not faults else []
            words = " ".join(f"{fault.text[:1].upper()}{fault.text[1:].rstrip('.')}." for fault in left)
            field = panel.last_field()
            if not faults and field is not None:
                field.set_fault("")
            if words and field is not None:
                # what ties several fields together is said at the one just typed in
                field.set_fault(words)
                words = ""
            label.setText(words)
            label.setVisible(bool(words))

    def set_stale(self, stale: bool) -> None:
        """Grey the answers of an earlier design."""
        for panel in self._panels:
            panel.set_stale(stale)

    def set_system(self, system: System) -> None:
        """Show other units."""
        for panel in self._panels:
            panel.set_system(system)

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self.setStyleSheet(f"QLabel#quiet {{ color: {theme.muted}; }}")
        for panel in self._panels:
            panel.apply_theme(theme)


def _rule() -> QFrame:
    line = QFrame()
    line.setMinimumSize(1, 1)
    line.setMaximumWidth(1)
    line.setAutoFillBackground(True)
    line.setBackgroundRole(QPalette.ColorRole.Mid)
    return line
