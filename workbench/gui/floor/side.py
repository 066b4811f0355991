"""Beside the plan of the floor: holes, target, season and chance, a tab each."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from PySide6.QtCore import QRect, QSize, Qt, Signal
from PySide6.QtWidgets import QFrame, QScrollArea, QSizePolicy, QStackedWidget, QTabBar, QVBoxLayout, QWidget

from workbench.design.design import Design
from workbench.design.faults import Fault
from workbench.design.record import Address
from workbench.gui.floor.chance_panel import ChancePanel
from workbench.gui.floor.holes_panel import HolesPanel
from workbench.gui.floor.season_panel import SeasonPanel
from workbench.gui.floor.target_panel import TargetPanel
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.theme import Theme
from workbench.solving.outcome import Outcome
from workbench.solving.run.prepare import Prepared
from workbench.units import System

HOLES, TARGET, SEASON, CHANCE = "Test holes", "Target", "Season", "Confidence"
_TIPS = {
    HOLES: "Test holes, their readings and predicted suction",
    TARGET: "Target suction, and the worst day",
    SEASON: "Passed in June: will it pass in January?",
    CHANCE: "How likely every hole meets the target, and what would help",
}


class FloorSide(Guarded, QWidget):
    """The panels beside the plan. Only the one in sight is told what follows while the speed is dragged."""

    proposed = Signal(object, str)
    picked = Signal(object)
    minus_chosen = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._answer: tuple[Prepared, Outcome] | None = None
        self._behind: set[str] = set()
        self._proposer: Any = None
        self.holes = HolesPanel()
        self.target = TargetPanel()
        self.season = SeasonPanel()
        self.chance = ChancePanel()
        self._panels: dict[str, Any] = {
            HOLES: self.holes,
            TARGET: self.target,
            SEASON: self.season,
            CHANCE: self.chance,
        }
        self.holes.minus_chosen.connect(self.minus_chosen)
        self.tabs = QTabBar(self)
        self.tabs.setAccessibleName("Panels of the floor")
        self.tabs.setExpanding(False)
        self.tabs.setDrawBase(False)
        self._stack = QStackedWidget(self)
        for title, panel in self._panels.items():
            index = self.tabs.addTab(title)
            self.tabs.setTabToolTip(index, _TIPS[title])
            area = _scrolling(panel, title)
            self._stack.addWidget(area)
            if title == HOLES:
                self.holes.moved.connect(lambda area=area: _keep_in_sight(area, self.holes.cell()))
            panel.proposed.connect(lambda change, words, panel=panel: self._pass_on(panel, change, words))
            panel.picked.connect(self.picked)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self.tabs)
        layout.addWidget(self._stack, 1)
        self.tabs.currentChanged.connect(self._turn)

    def sizeHint(self) -> QSize:
        return QSize(500, 560)

    def _turn(self, index: int) -> None:
        self._stack.setCurrentIndex(index)
        title = self.tabs.tabText(index)
        if title in self._behind and self._answer is not None:
            self._behind.discard(title)
            self._panels[title].show_outcome(*self._answer)

    def turn_to(self, title: str) -> None:
        """Bring a panel to the front: HOLES, TARGET, SEASON or CHANCE."""
        self.tabs.setCurrentIndex(list(self._panels).index(title))

    @property
    def current(self) -> str:
        """Title of the panel in sight."""
        return self.tabs.tabText(self.tabs.currentIndex())

    def _pass_on(self, panel: Any, change: Callable[[Design], Design], words: str) -> None:
        self._proposer = panel
        self.proposed.emit(change, words)

    # --- the protocol of views ------------------------------------------------------------------------------------

    def show_design(self, design: Design) -> None:
        """Show a design."""
        for panel in self._panels.values():
            panel.show_design(design)

    def show_outcome(self, prepared: Prepared, outcome: Outcome) -> None:
        """Show what follows from it on the panel in sight; the others catch up when they are turned to."""
        self._answer = (prepared, outcome)
        self._behind = set(self._panels) - {self.current}
        self._panels[self.current].show_outcome(prepared, outcome)

    def set_stale(self, stale: bool) -> None:
        """Grey the answers of an earlier design."""
        for panel in self._panels.values():
            panel.set_stale(stale)

    def set_system(self, system: System) -> None:
        """Show other units."""
        for panel in self._panels.values():
            panel.set_system(system)

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        for panel in self._panels.values():
            panel.apply_theme(theme)

    def show_faults(self, faults: Sequence[Fault]) -> None:
        """Tell the panel that proposed why it was refused, or every panel that nothing is."""
        for panel in self._panels.values():
            if panel is self._proposer or not faults:
                panel.show_faults(faults)

    def pick(self, address: Address | None) -> None:
        """Bring a hole, the target, the worst day or the weather into sight; emits nothing."""
        if not address:
            return
        titles = {"holes": HOLES, "target": TARGET, "worst_day": TARGET}
        title = titles.get(str(address[0]))
        if title is not None:
            self.turn_to(title)
        self.holes.pick(address)


def _keep_in_sight(area: QScrollArea, cell: QRect) -> None:
    """Scroll a panel so far that a part of it is seen whole."""
    middle = cell.center()
    area.ensureVisible(middle.x(), middle.y(), 0, cell.height())


def _scrolling(panel: QWidget, title: str) -> QScrollArea:
    area = QScrollArea()
    area.setWidgetResizable(True)
    area.setFrameShape(QFrame.Shape.NoFrame)
    area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    area.setAccessibleName(title)
    panel.setContentsMargins(0, 0, 0, 0)
    layout = panel.layout()
    if layout is not None:
        layout.setContentsMargins(10, 8, 10, 8)
    panel.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Preferred)
    area.setWidget(panel)
    return area
