"""The weather file of the place: its path, a chooser, and what the file holds or why it cannot be used."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFileDialog, QHBoxLayout

from workbench.design.design import Design
from workbench.design.house import Place
from workbench.gui.kit.forms import GroupForm, RecordForm, column, paragraph, small_button
from workbench.solving.outcome import Outcome
from workbench.solving.run.prepare import Prepared
from workbench.units import SI


class WeatherRow(GroupForm):
    """One row and what is to be said of it."""

    def __init__(self) -> None:
        super().__init__()
        self.path = RecordForm(Place, ("weather",), SI)
        self.browse = small_button("Choose…", "Choose a weather file (EPW)")
        self.said = paragraph()
        self.said.setObjectName("quiet")
        self.fault = paragraph()
        self.fault.setObjectName("fault")
        self.fault.hide()
        row = QHBoxLayout()
        row.setSpacing(6)
        row.addWidget(self.path, 1)
        row.addWidget(self.browse, 0, Qt.AlignmentFlag.AlignTop)
        layout = column(self)
        layout.addLayout(row)
        layout.addWidget(self.fault)
        layout.addWidget(self.said)
        self.add(self.path)
        self.browse.clicked.connect(self._browse)

    def show_design(self, design: Design) -> None:
        """Show the path of a design."""
        self.path.show_record(("place",), design.place, "")

    def show_outcome(self, prepared: Prepared, outcome: Outcome) -> None:
        """Say what was made of the file."""
        hours = prepared.hours
        fault = next((notice for notice in outcome.notices if notice.code == "weather"), None)
        words = "" if fault is None else fault.text(lambda value, _: str(value))
        if words != self.fault.text():
            self.fault.setText(words)
            self.fault.setVisible(bool(words))
        said = "With a local EPW weather file the year is calculated hour by hour; otherwise by degree-days."
        if hours is not None:
            said = " ".join((f"{hours.place}: {hours.temperature.size} hours.", *hours.notes))
        elif fault is not None:
            said = "The year is calculated by degree-days."
        if said != self.said.text():
            self.said.setText(said)

    def _browse(self) -> None:
        chosen, _ = QFileDialog.getOpenFileName(self, "Choose a weather file", "", "EPW weather (*.epw);;All files (*)")
        if chosen:
            self.take(Path(chosen))

    def take(self, path: Path) -> None:
        """Propose a weather file."""
        field = self.path.field("weather")
        field.set_value(str(path))
        field.committed.emit(str(path))
