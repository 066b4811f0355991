"""How a reading at a test hole was made: what drew, and how well the instrument tells."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget

from workbench.design.design import Design
from workbench.design.faults import Fault
from workbench.design.slab import HoleReading
from workbench.gui.floor.holes_draft import HOW_READ, read_alike
from workbench.gui.kit.forms import GroupForm, RecordForm, column, heading, small_button
from workbench.units import SI


class ReadingForm(GroupForm):
    """The picked reading; hidden while none is picked."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._reading: HoleReading | None = None
        self._asked = False
        self.title = heading("")
        self.form = RecordForm(HoleReading, HOW_READ, SI)
        self.alike_button = small_button("Use for every reading", "Set all readings of this job to the same")
        self.alike_button.clicked.connect(self._use_for_all)
        self.add(self.form)
        layout = column(self)
        layout.addWidget(self.title)
        layout.addWidget(self.form)
        layout.addWidget(self.alike_button, 0, Qt.AlignmentFlag.AlignLeft)
        self.hide()

    def show_reading(self, design: Design | None, hole: int | None, reading: int) -> None:
        """Show a reading of a design, by the positions of its hole and of itself, or nothing."""
        holes = design.holes if design is not None else ()
        there = hole is not None and hole < len(holes) and reading < len(holes[hole].readings)
        self.setVisible(there)
        self._reading = None
        if there and hole is not None:
            one = holes[hole]
            self._reading = one.readings[reading]
            which = f", reading {reading + 1}" if len(one.readings) > 1 else ""
            self.title.setText(f"How {one.name}{which} was read")
            self.form.show_record(("holes", hole, "readings", reading), self._reading, f"hole {one.name}{which}")
            others = {tuple(getattr(r, name) for name in HOW_READ) for h in holes for r in h.readings}
            self.alike_button.setEnabled(len(others) > 1)

    def propose(self, change: object, words: str, field: object = None) -> None:
        """Propose a change, and expect what is wrong with it."""
        self._asked = True
        super().propose(change, words, field)  # type: ignore[arg-type]

    def _pass_on(self, form: object, change: object, words: str) -> None:
        self._asked = True
        super()._pass_on(form, change, words)  # type: ignore[arg-type]

    def take_faults(self, faults: Sequence[Fault]) -> list[Fault]:
        """Show what is wrong with what was proposed here; gives back what was proposed elsewhere."""
        mine, self._asked = self._asked, False
        return self.show_faults(faults if mine or not faults else []) if mine or not faults else list(faults)

    def _use_for_all(self) -> None:
        like = self._reading
        if like is not None:
            self.propose(lambda design: read_alike(design, like), "Use one instrument for every reading")
