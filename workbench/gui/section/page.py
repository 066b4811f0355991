"""The first page: the section at the left, the curves beside it, what can be done with the curves over them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import (
    QFileDialog,
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QSizePolicy,
    QSplitter,
    QVBoxLayout,
    QWidget,
)

from workbench.design import Design
from workbench.design.edit import choose_fan
from workbench.design.faults import Fault
from workbench.design.record import Address
from workbench.design.wording import sentence
from workbench.files.curve_table import curve_table
from workbench.files.project import write_whole
from workbench.gui.kit import pictures
from workbench.gui.kit.theme import Theme
from workbench.gui.section.curve_sheet import CurveSheet
from workbench.gui.section.fan_key import FanKey
from workbench.gui.section.panel import SitePanel
from workbench.solving import Outcome, Prepared
from workbench.units import System

_PICTURES = "PNG image (*.png);;SVG drawing (*.svg);;PDF (*.pdf)"
_HOLD = "&Keep for comparison"
_SITE_LEAST = 390
"""The card's fields take so much breadth, in pixels."""
_NUMBERS = "Comma-separated (*.csv)"


class CurvesPage(QWidget):
    """Section, curves and the key of the fans."""

    proposed = Signal(object, str)
    picked = Signal(object)
    fan_wanted = Signal()
    told = Signal(str)
    """A sentence about something that could not be done."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._system: System = "SI"
        self._prepared: Prepared | None = None
        self._outcome: Outcome | None = None
        self.site = SitePanel(self)
        self.sheet = CurveSheet(self)
        self.key = FanKey(self)
        self._hold = QPushButton(_HOLD)
        self._hold.setCheckable(True)
        self._hold.setToolTip("Keep a copy of the present curves in gray")
        self._hold.toggled.connect(self._hold_or_let_go)
        reset = self._button("F&it to curves", self.reset_view)
        copy = self._button("&Copy image", self.copy_picture)
        self._reading = QLabel("")
        self._reading.setTextFormat(Qt.TextFormat.PlainText)
        # however long a read-out is, the sheet beneath it stays where it is
        self._reading.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        tools = QHBoxLayout()
        tools.setContentsMargins(10, 6, 10, 4)
        tools.setSpacing(8)
        tools.addWidget(self._reading, 1)
        for button in (self._hold, reset, copy):
            tools.addWidget(button)
        edit = self._button("Fa&ns…", self.fan_wanted.emit)
        side = QVBoxLayout()
        side.setContentsMargins(4, 8, 10, 8)
        side.addWidget(self.key, 1)
        side.addWidget(edit)
        side_panel = QWidget()
        side_panel.setLayout(side)
        side_panel.setFixedWidth(222)
        middle = QHBoxLayout()
        middle.setContentsMargins(0, 0, 0, 0)
        middle.setSpacing(4)
        middle.addWidget(self.sheet, 1)
        middle.addWidget(side_panel)
        right = QFrame()
        right.setObjectName("sheet")
        column = QVBoxLayout(right)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(tools)
        column.addLayout(middle, 1)
        splitter = QSplitter(Qt.Orientation.Horizontal, self)
        self.site.setMinimumWidth(_SITE_LEAST)
        splitter.addWidget(self.site)
        splitter.addWidget(right)
        splitter.setStretchFactor(0, 1)
        splitter.setStretchFactor(1, 2)
        splitter.setSizes([430, 850])
        splitter.setChildrenCollapsible(False)
        row = QHBoxLayout(self)
        row.setContentsMargins(8, 0, 8, 0)
        row.addWidget(splitter)
        self.site.proposed.connect(self.proposed)
        self.site.picked.connect(self.picked)
        self.site.fan_wanted.connect(self.fan_wanted)
        self.key.chosen.connect(self._choose)
        self.key.hidden_changed.connect(self.sheet.set_hidden)
        self.sheet.hovered.connect(self._reading.setText)

    def _button(self, text: str, slot: Callable[[], object]) -> QPushButton:
        button = QPushButton(text)
        button.clicked.connect(lambda _checked=False: slot())
        return button

    # --- the protocol of pages ------------------------------------------------------------------------------------

    def show_design(self, design: Design) -> None:
        """Show a design."""
        self.site.show_design(design)
        self.key.show_design(design)

    def show_outcome(self, prepared: Prepared, outcome: Outcome) -> None:
        """Show what follows from it."""
        self._prepared, self._outcome = prepared, outcome
        self.site.show_outcome(prepared, outcome)
        self.sheet.show_outcome(prepared, outcome)

    def show_faults(self, faults: list[Fault]) -> None:
        """Show why an entry was refused."""
        self.site.show_faults(faults)

    def set_stale(self, stale: bool) -> None:
        """Grey the answers of an earlier design."""
        self.site.set_stale(stale)
        self.sheet.set_stale(stale)

    def set_system(self, system: System) -> None:
        """Show other units."""
        self._system = system
        self.site.set_system(system)
        self.sheet.set_system(system)

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self.site.apply_theme(theme)
        self.sheet.apply_theme(theme)
        self.key.apply_theme(theme)
        self._reading.setStyleSheet(f"color: {theme.muted};")

    def pick(self, address: Address) -> None:
        """Bring a part into sight."""
        self.site.pick(address)

    # --- doing ----------------------------------------------------------------------------------------------------

    def _choose(self, name: str) -> None:
        self.proposed.emit(lambda design: choose_fan(design, name), f"Select {name}")

    def _hold_or_let_go(self, on: bool) -> None:
        if on:
            self.sheet.hold()
        else:
            self.sheet.let_go()
        self._hold.setText("&Remove kept curves" if on else _HOLD)

    def reset_view(self) -> None:
        """Show all the curves again."""
        self.sheet.reset_view()

    def copy_picture(self) -> None:
        """Put the curves on the clipboard as a picture."""
        pictures.copy(self.sheet.charts)

    def copy_numbers(self) -> None:
        """Put the curves on the clipboard as a table, ready for a spreadsheet."""
        if self._prepared is not None and self._outcome is not None:
            text = curve_table(self._prepared, self._outcome, self._system, separator="\t")
            QGuiApplication.clipboard().setText(text)

    def ask_save_picture(self) -> None:
        """Ask where to save the curves as a picture."""
        self._ask("Export chart image", "curves.png", _PICTURES, lambda path: pictures.save(self.sheet.charts, path))

    def ask_save_numbers(self) -> None:
        """Ask where to save the curves as a table."""
        if self._prepared is None or self._outcome is None:
            return
        text = curve_table(self._prepared, self._outcome, self._system, separator=",")
        self._ask("Export curve data", "curves.csv", _NUMBERS, lambda path: write_whole(text, path))

    def _ask(self, title: str, name: str, kinds: str, save: Callable[[Path], object]) -> None:
        chosen, _ = QFileDialog.getSaveFileName(self, title, name, kinds)
        if not chosen:
            return
        path = Path(chosen) if Path(chosen).suffix else Path(chosen).with_suffix(Path(name).suffix)
        try:
            save(path)
        except (OSError, ValueError) as error:
            self.told.emit(f"Could not save. {sentence(str(error))}")
