"""One visit: what was read, beside what was predicted for that state, and what may have changed since."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from workbench.design.design import Design
from workbench.design.record import Address
from workbench.gui.kit.columns_page import ColumnsPage
from workbench.gui.kit.debounce import OnceAtRest
from workbench.gui.visits.later import Found, Later
from workbench.gui.visits.result_panels import CausesPanel, ComparedPanel
from workbench.gui.visits.visits_panel import VisitsPanel
from workbench.solving.outcome import Outcome
from workbench.solving.run.prepare import Prepared
from workbench.units import System


class OneVisit(ColumnsPage):
    """Visits, their readings against the prediction, and the causes, side by side."""

    def __init__(self, parent: QWidget | None = None) -> None:
        self.visits = VisitsPanel()
        self.compared = ComparedPanel()
        self.causes = CausesPanel()
        super().__init__(
            [
                ("Visits", self.visits, 36),
                ("Read against predicted", self.compared, 32),
                ("What may have changed", self.causes, 32),
            ],
            parent,
        )
        self._design: Design | None = None
        self._prepared: Prepared | None = None
        self._found: Found | None = None
        self._late = self._behind = False
        self.later = Later(self)
        self.later.found.connect(self._take)
        self.later.waiting.connect(self._wait)
        self._rest = OnceAtRest(self._ask, self)
        self.visits.picked.connect(self._pick)

    def show_design(self, design: Design) -> None:
        """Show the visits of a design."""
        self._design = design
        super().show_design(design)
        if self.visits.visit() is None:
            self._ask()
        self.compared.correction.show_visit(design, self.visits.visit())

    def show_outcome(self, prepared: Prepared, outcome: Outcome) -> None:
        """Hold the visit against the design as it is now, once the hand rests."""
        self._prepared = prepared
        if self._found is None:
            self._ask()
        else:
            self._rest.touch()

    def settle(self) -> None:
        """Ask now for what waits until the hand rests."""
        self._rest.flush()

    def _pick(self) -> None:
        self._found = None
        self._ask()
        self.compared.correction.show_visit(self._design, self.visits.visit())

    def _ask(self) -> None:
        visit = self.visits.visit()
        if self._design is None or self._prepared is None:
            return
        if visit is None:
            self._found = None
        self.later.ask(self._prepared, self._design, visit)
        self._show()

    def _take(self, found: Found) -> None:
        self._found = found
        self._show()

    def _wait(self, waiting: bool) -> None:
        self._late = waiting
        self._show()

    def _show(self) -> None:
        for panel in (self.compared, self.causes):
            panel.stale = self._late or self._behind
            panel.show_found(self._found, waiting=self._late)

    def set_stale(self, stale: bool) -> None:
        """Grey the answers of an earlier design."""
        self._behind = stale
        super().set_stale(stale or self._late)

    def set_system(self, system: System) -> None:
        """Show other units."""
        super().set_system(system)
        self._show()

    def pick(self, address: Address) -> None:
        """Bring a visit, and the field of what stands at an address, into sight."""
        field = self.visits.pick(address)
        if field is not None:
            self.bring_into_sight(self.visits, field)
            field.setFocus()
