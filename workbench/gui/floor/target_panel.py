"""How much is to be held, by whose word, how surely; and what the worst day takes."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QLineEdit, QWidget

from workbench.design.design import Design
from workbench.design.faults import Fault
from workbench.design.record import with_value
from workbench.design.slab import Target, WorstDay
from workbench.design.targets import target_kind_of, target_kinds
from workbench.design.wording import sentence
from workbench.gui.kit.fields import ChoiceEdit
from workbench.gui.kit.forms import GroupForm, RecordForm, add_row, column, form_grid, heading, paragraph
from workbench.gui.kit.theme import Theme
from workbench.solving.outcome import Outcome
from workbench.solving.report.verdict_words import VERDICT_WORDS
from workbench.solving.run.prepare import Prepared
from workbench.units import SI, System, format_quantity

_OWN = "own"
_OF_HOLES = ("weakest hole", "far edge")


class TargetPanel(GroupForm):
    """Target, chance and worst day, each in a field of its own."""

    picked = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._system: System = SI
        self._design: Design | None = None
        self._ready: Prepared | None = None
        layout = column(self)
        layout.addWidget(heading("Target suction at the test holes"))
        top = QWidget()
        grid = form_grid(top)
        self.whose = ChoiceEdit("Target from")
        self.whose.set_hint("There is no universal value: select a source, or enter your own.")
        self.whose.committed.connect(self._choose)
        add_row(grid, 0, self.whose)
        layout.addWidget(top)
        self.condition = paragraph()
        layout.addWidget(self.condition)
        self.target = RecordForm(Target, ("suction", "source", "chance"), SI)
        self.target.field("chance").set_hint(f"Below it, a pass is shown as “{VERDICT_WORDS['unsure']}”.")
        self.add(self.target)
        layout.addWidget(self.target)
        layout.addWidget(heading("The worst day of the year"))
        self.worst = RecordForm(WorstDay, ("exhausts", "outdoor_temperature", "neutral_height", "uncertainty"), SI)
        self.add(self.worst)
        layout.addWidget(self.worst)
        self.taken = paragraph()
        layout.addWidget(self.taken)
        layout.addWidget(heading("The exhaust test"))
        self.test = RecordForm(WorstDay, ("tested_draw_down", "tested_where"), SI)
        self.add(self.test)
        for form, name in ((self.worst, "exhausts"), (self.test, "tested_draw_down")):
            editor = form.field(name).control()
            assert isinstance(editor, QLineEdit)
            editor.setPlaceholderText("not measured")
        layout.addWidget(self.test)
        self.tested = paragraph()
        layout.addWidget(self.tested)
        layout.addStretch(1)
        self._offer()

    def _offer(self) -> None:
        offered = [
            (kind.key, f"{self._write(kind.value)}: {kind.credit}")
            for kind in target_kinds().values()
            if kind.where in _OF_HOLES
        ]
        self.whose.set_choices([*offered, (_OWN, "Other (enter)")])

    def _write(self, value: float) -> str:
        return format_quantity(value, "hole_pressure", self._system)

    # --- the protocol of views ------------------------------------------------------------------------------------

    def show_design(self, design: Design) -> None:
        """Show target and worst day of a design."""
        if self._design is not None and (design.target, design.worst_day) == (
            self._design.target,
            self._design.worst_day,
        ):
            self._design = design
            return
        self._design = design
        self._write_target(design)

    def _write_target(self, design: Design) -> None:
        self.target.show_record(("target",), design.target, "the target")
        self.worst.show_record(("worst_day",), design.worst_day, "the worst day")
        self.test.show_record(("worst_day",), design.worst_day, "the exhaust test")
        kind = target_kind_of(design.target.suction, design.target.source)
        self.whose.set_value(_OWN if kind is None else kind.key)
        if kind is None:
            self.condition.setText("Your own value. Applied to the weakest hole on the worst day.")
        else:
            asked = "Required" if kind.kind == "requirement" else "Advised"
            given = sentence(f"Given as {self._write(kind.least)} to {self._write(kind.value)}")
            span = f" {given}" if kind.least < kind.value else ""
            known = "" if kind.tag == "published" else f" Source: {kind.tag}."
            self.condition.setText(
                f"{asked} at the {kind.where}: {kind.condition}.{span}{known} Applied here to the worst day."
            )

    def show_outcome(self, prepared: Prepared, outcome: Outcome) -> None:
        """Say what the worst day takes."""
        if prepared is not self._ready:
            self._ready = prepared
            self._tell()

    def _tell(self) -> None:
        if self._ready is None:
            return
        season, worst = self._ready.worst_day, self._ready.design.worst_day
        if worst.exhausts is not None:
            basis = "as entered"
        elif worst.tested_draw_down is not None and season.exhausts > worst.tested_draw_down:
            basis = "as much as a hole lost in the exhaust test"
        elif worst.tested_draw_down is not None:
            basis = "as in the exhaust test"
        else:
            basis = "not measured, an allowance with a wide band"
        self.taken.setText(
            f"On the worst day the house is {self._write(season.draw_down)} below outdoors at its slab: "
            f"{self._write(season.exhausts)} by exhausts, {basis}; {self._write(season.stack)} by winter stack, "
            f"{self._write(season.beyond_the_day)} more than on the day of the test."
        )
        self.tested.setText(self._tested_words())

    def _tested_words(self) -> str:
        assert self._ready is not None
        design = self._ready.design
        how = (
            "To measure it: run every exhaust fan, range hood and dryer, close windows and doors, "
            "read the room against outdoors and each hole again, and enter the change in the table of holes."
        )
        if design.worst_day.tested_draw_down is None:
            return f"Not measured: the share of the depressurization at the holes is that of measured houses. {how}"
        unread = [hole.name for hole in design.holes if hole.exhausts is None]
        if unread:
            return f"The change was not read at {', '.join(unread)}. {how}"
        return "The change was read at every hole."

    def set_system(self, system: System) -> None:
        """Show other units."""
        self._system = system
        super().set_system(system)
        self._offer()
        if self._design is not None:
            self._write_target(self._design)
        self._tell()

    def apply_theme(self, theme: Theme) -> None:
        """Nothing here is drawn by hand."""

    def set_stale(self, stale: bool) -> None:
        """Grey the answers of an earlier design."""
        self.taken.setEnabled(not stale)

    def show_faults(self, faults: Sequence[Fault]) -> list[Fault]:
        """Put each sentence beside its field."""
        self.whose.set_fault("")
        left = super().show_faults(list(faults))
        if left:
            self.whose.set_fault(" ".join(f"{fault.text[:1].upper()}{fault.text[1:]}." for fault in left))
        return []

    # --- doing ----------------------------------------------------------------------------------------------------

    def _choose(self, key: str) -> None:
        if key == _OWN:
            self._propose_own()
            return
        kind = target_kinds()[key]
        self.propose(_to(kind.value, kind.credit), "Select the target", self.whose)

    def _propose_own(self) -> None:
        design = self._design
        if design is not None:
            self.propose(_to(design.target.suction, "own figure"), "Enter a target", self.whose)
            self.target.field("suction").setFocus()


def _to(suction: float, source: str) -> Callable[[Design], Design]:
    def change(design: Design) -> Design:
        fields = design.target.model_dump() | {"suction": suction, "source": source}
        return with_value(design, ("target",), Target(**fields))

    return change
