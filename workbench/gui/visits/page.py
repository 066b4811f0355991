"""The page of visits: one with its readings and causes, all over time, or the record of many jobs."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QStackedWidget, QTabBar, QVBoxLayout, QWidget

from workbench.design.design import Design
from workbench.design.faults import Fault
from workbench.design.record import Address
from workbench.design.visits import Visit
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.theme import Theme
from workbench.gui.shell.settings import Settings
from workbench.gui.visits.later import Later
from workbench.gui.visits.one_visit import OneVisit
from workbench.gui.visits.result_panels import CausesPanel, ComparedPanel
from workbench.gui.visits.time_line import TimeLine
from workbench.gui.visits.track_record import TrackRecord
from workbench.gui.visits.visits_panel import VisitsPanel
from workbench.solving.outcome import Outcome
from workbench.solving.run.prepare import Prepared
from workbench.units import System

ONE, ALL, TRACK = "One visit", "Over time", "Track record"
_TIPS = {
    ONE: "The readings of a visit against what was predicted, and what may have changed",
    ALL: "Gauge, weakest test hole and radon of every visit, with what was predicted behind",
    TRACK: "What was predicted against what was measured, over all jobs of a folder",
}


class VisitsPage(Guarded, QWidget):
    """Everything about visits."""

    proposed = Signal(object, str)
    told = Signal(str)
    """A sentence about something that could not be done."""

    def __init__(self, settings: Settings, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._design: Design | None = None
        self._prepared: Prepared | None = None
        self.one = OneVisit()
        self.time_line = TimeLine()
        self.track = TrackRecord(settings)
        self.tabs = QTabBar(self)
        self.tabs.setAccessibleName("Views of the visits")
        self.tabs.setExpanding(False)
        self.tabs.setDrawBase(False)
        for title, tip in _TIPS.items():
            self.tabs.setTabToolTip(self.tabs.addTab(title), tip)
        self._stack = QStackedWidget(self)
        for view in (self.one, self.time_line, self.track):
            self._stack.addWidget(view)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self.tabs)
        layout.addWidget(self._stack, 1)
        self.tabs.currentChanged.connect(self._turn)
        self.one.proposed.connect(self.proposed)
        self.time_line.told.connect(self.told)
        self.track.told.connect(self.told)
        self.time_line.picked.connect(self._pick_visit)

    @property
    def visits(self) -> VisitsPanel:
        """The list of visits, and the fields of one."""
        return self.one.visits

    @property
    def compared(self) -> ComparedPanel:
        """Readings beside what was predicted."""
        return self.one.compared

    @property
    def causes(self) -> CausesPanel:
        """What may have changed."""
        return self.one.causes

    @property
    def later(self) -> Later:
        """What works a visit out."""
        return self.one.later

    def least_height(self) -> int:
        """Height in which all can be read, 0 where it fits any. [px]"""
        tall = self.one.least_height() if self._stack.currentWidget() is self.one else 0
        return tall + self.tabs.sizeHint().height() if tall else 0

    def turn_to(self, title: str) -> None:
        """Bring a view to the front: ONE, ALL or TRACK."""
        self.tabs.setCurrentIndex(list(_TIPS).index(title))

    def _turn(self, index: int) -> None:
        self._stack.setCurrentIndex(index)
        self._show_time()
        self.updateGeometry()

    def _show_time(self) -> None:
        """Work the time line out while it is in sight, once the design is answered."""
        if self._stack.currentWidget() is not self.time_line:
            self.time_line.stop()
        elif self._prepared is not None and self._design is not None:
            self.time_line.show_design(self._prepared, self._design)

    def _pick_visit(self, visit: Visit) -> None:
        if self._design is not None:
            at = next((i for i, each in enumerate(self._design.visits) if each == visit), None)
            if at is not None:
                self.pick(("visits", at))

    def settle(self) -> None:
        """Ask now for what waits until the hand rests."""
        self.one.settle()

    # --- what every page understands --------------------------------------------------------------------------------

    def show_design(self, design: Design) -> None:
        """Show the visits of a design."""
        self._design = design
        self.one.show_design(design)

    def show_outcome(self, prepared: Prepared, outcome: Outcome) -> None:
        """Hold the visits against the design as it is now."""
        self._prepared = prepared
        self.one.show_outcome(prepared, outcome)
        if outcome.rested:
            self._show_time()

    def show_faults(self, faults: list[Fault]) -> None:
        """Tell why what was proposed was refused, or that nothing is."""
        self.one.show_faults(faults)

    def set_stale(self, stale: bool) -> None:
        """Grey the answers of an earlier design."""
        self.one.set_stale(stale)

    def set_system(self, system: System) -> None:
        """Show other units."""
        self.one.set_system(system)
        self.time_line.set_system(system)
        self.track.set_system(system)

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self.one.apply_theme(theme)
        self.time_line.apply_theme(theme)
        self.track.apply_theme(theme)

    def pick(self, address: Address) -> None:
        """Bring a visit, and the field of what stands at an address, into sight."""
        self.turn_to(ONE)
        self.one.pick(address)
