"""The page of running: where the fan is heard, what a year of it uses and costs, and what sealing would save."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from workbench.design.record import Address
from workbench.gui.kit.columns_page import ColumnsPage
from workbench.gui.running.sealing_panel import SealingPanel
from workbench.gui.running.sound_panel import SoundPanel
from workbench.gui.running.year_panel import YearPanel


class RunningPage(ColumnsPage):
    """Sound, year and sealing side by side."""

    def __init__(self, parent: QWidget | None = None) -> None:
        self.sound = SoundPanel()
        self.year = YearPanel()
        self.sealing = SealingPanel()
        columns = [("Sound", self.sound, 42), ("Running cost", self.year, 42), ("Sealing", self.sealing, 36)]
        super().__init__(columns, parent)

    def pick(self, address: Address) -> None:
        """Bring a listener, a crack or what the year hangs on into sight."""
        if address[:2] == ("house", "listeners"):
            self.sound.pick(address)
            self.bring_into_sight(self.sound, self.sound.form)
        elif address[:2] == ("house", "cracks"):
            self.sealing.pick(address)
            self.bring_into_sight(self.sealing, self.sealing.form)
        else:
            field = self.year.fields().get(address)
            if field is not None:
                self.bring_into_sight(self.year, field)
                field.setFocus()
