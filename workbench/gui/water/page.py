"""The page of water and rules: what condenses where, the rules of the place, and the house's own draft."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from workbench.design.record import Address
from workbench.gui.kit.columns_page import ColumnsPage
from workbench.gui.water.house_draft_panel import HouseDraftPanel
from workbench.gui.water.rules_panel import RulesPanel
from workbench.gui.water.water_panel import WaterPanel


class WaterPage(ColumnsPage):
    """Water, rules and draft side by side."""

    def __init__(self, parent: QWidget | None = None) -> None:
        self.water = WaterPanel()
        self.rules = RulesPanel()
        self.draft = HouseDraftPanel()
        columns = [
            ("Condensate in the pipe", self.water, 40),
            ("Code and standard check", self.rules, 52),
            ("House depressurization", self.draft, 31),
        ]
        super().__init__(columns, parent)

    def settle(self) -> None:
        """Reckon now what waits for the hand to rest."""
        self.water.settle()

    def pick(self, address: Address) -> None:
        """Bring a rule, a run's water or what the draft hangs on into sight."""
        if address[:1] in (("rules",), ("entered",)):
            self.rules.pick(address)
        elif address[:1] == ("house",):
            field = self.draft.fields().get(address)
            if field is not None:
                self.bring_into_sight(self.draft, field)
                field.setFocus()
        else:
            self.water.pick(address)
            self.bring_into_sight(self.water, self.water.form)
