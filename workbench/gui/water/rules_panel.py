"""The design against the rules of its place: a sheet chosen, every row with how the design stands to it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, get_args

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from workbench.design.design import Design
from workbench.design.faults import Fault
from workbench.design.record import Address, with_value
from workbench.design.rules import Entered, Number, Rule, RuleSheet, rule_sheets
from workbench.gui.kit.fields import ChoiceEdit
from workbench.gui.kit.forms import GroupForm, add_row, column, form_grid, heading, paragraph, small_button
from workbench.gui.kit.theme import LIGHT, Theme
from workbench.gui.water.rule_form import RuleForm
from workbench.gui.water.rule_rows import WORDS, RuleRow
from workbench.solving.outcome import Outcome
from workbench.solving.report.rules import Judgement, RuleAnswer, check_rules
from workbench.solving.report.verdict_words import VERDICT_WORDS
from workbench.solving.run.prepare import Prepared
from workbench.units import SI, System

LOCAL = (
    "Local code, the standard in force and the license prevail. A sheet lists numbers only, of the edition it names; "
    "read the text itself. A passing number near its limit is treated as not passing."
)
_NO_SHEET, _OWN = "", "\0own"
_ALL = "all"
_SHOWN: list[tuple[Any, str]] = [
    (_ALL, "All"),
    ("not met", "Not met"),
    ("not sure", VERDICT_WORDS["unsure"].capitalize()),
    ("not measured", "Not measured"),
    ("not entered", "Missing input"),
]


class RulesPanel(GroupForm):
    """Judged when the hand rests; until then what stands is greyed."""

    picked = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._system: System = SI
        self._theme = LIGHT
        self._design: Design | None = None
        self._stale = False
        self._at = -1
        self._proposed_entry: RuleRow | None = None
        self.answers: tuple[RuleAnswer, ...] = ()
        self.rows: list[RuleRow] = []
        self.sheet = ChoiceEdit("Rule sheet")
        self.sheet.set_hint("By place and edition; every row can be changed, and rows added.")
        self.shown = ChoiceEdit("Show", _SHOWN)
        self.note = paragraph()
        self.note.setObjectName("quiet")
        self.counts = paragraph()
        self.caution = paragraph(LOCAL)
        self.caution.setObjectName("caution")
        self.add_button = small_button("Add a rule", "Add a rule of your own to the sheet")
        self.edit_button = small_button("Edit", "Edit the selected rule")
        self.edit_button.setCheckable(True)
        self.remove_button = small_button("Remove", "Remove the selected rule from the sheet")
        self.form = RuleForm()
        self._compose()
        self.add(self.form)
        self.sheet.committed.connect(self._choose)
        self.shown.committed.connect(lambda _value: self._filter())
        self.add_button.clicked.connect(self._add)
        self.edit_button.toggled.connect(lambda _on: self._show_form())
        self.remove_button.clicked.connect(self._remove)

    def _compose(self) -> None:
        layout = column(self)
        top = QWidget()
        grid = form_grid(top)
        add_row(grid, 0, self.sheet)
        add_row(grid, 1, self.shown)
        self.shown.set_name("Show which requirements")
        layout.addWidget(top)
        layout.addWidget(self.note)
        layout.addWidget(self.counts)
        buttons = QHBoxLayout()
        for button in (self.add_button, self.edit_button, self.remove_button):
            buttons.addWidget(button)
        buttons.addStretch(1)
        layout.addLayout(buttons)
        self._form_title = heading("The selected rule")
        layout.addWidget(self._form_title)
        layout.addWidget(self.form)
        self._list = QVBoxLayout()
        self._list.setSpacing(0)
        layout.addLayout(self._list)
        layout.addWidget(self.caution)
        layout.addStretch(1)
        self._show_form()

    # --- the protocol of views ------------------------------------------------------------------------------------

    def show_design(self, design: Design) -> None:
        """Show the sheet of a design; how it stands follows when the hand rests."""
        before, self._design = self._design, design
        if before is None or before.rules != design.rules:
            self._offer(design.rules)
            rules = design.rules.rules if design.rules is not None else ()
            old = before.rules.rules if before is not None and before.rules is not None else ()
            added = before is not None and bool(rules) and rules[:-1] == old
            self._at = len(rules) - 1 if added else min(self._at, len(rules) - 1)
            if added:
                self.edit_button.setChecked(True)
        self._show_form()

    def _offer(self, sheet: RuleSheet | None) -> None:
        sheets = rule_sheets()
        choices: list[tuple[str, str]] = [(_NO_SHEET, "None")]
        choices += [(title, _named(each)) for title, each in sheets.items() if each.rules]
        own = sheet is not None and sheets.get(sheet.title) != sheet
        if own and sheet is not None:
            choices.append((_OWN, f"{sheet.title}, changed here"))
        self.sheet.set_choices(choices)
        self.sheet.set_value(_OWN if own else sheet.title if sheet is not None else _NO_SHEET)
        self.note.setText(
            sheet.note if sheet is not None else "Select the rule sheet for your location, or add your own rules."
        )

    def show_outcome(self, prepared: Prepared, outcome: Outcome) -> None:
        """Judge an answer at rest; until it comes, grey what stands."""
        self._stale = not outcome.rested
        if outcome.rested:
            self._judge(prepared, outcome)
        else:
            self._set_stale(True)

    def _judge(self, prepared: Prepared, outcome: Outcome) -> None:
        self.answers = check_rules(prepared, outcome)
        self._fit_rows()
        self._set_stale(False)
        given = {entry.key: entry.value for entry in prepared.design.entered}
        for row, answer in zip(self.rows, self.answers, strict=True):
            row.show_answer(answer, given.get(answer.ask) if answer.ask is not None else None)
        counted = {each: sum(a.judgement == each for a in self.answers) for each in get_args(Judgement)}
        words = ", ".join(f"{count} {WORDS[each][2:]}" for each, count in counted.items() if count)
        self.counts.setText(f"{words}." if words else "")
        self._filter()

    def _fit_rows(self) -> None:
        while len(self.rows) > len(self.answers):
            row = self.rows.pop()
            self._list.removeWidget(row)
            row.hide()
            row.deleteLater()
        while len(self.rows) < len(self.answers):
            row = RuleRow()
            row.set_system(self._system)
            row.apply_theme(self._theme)
            row.picked.connect(lambda row: self._pick_at(self.rows.index(row)))
            row.entered.connect(lambda key, value, row=row: self._enter(row, key, value))
            self.rows.append(row)
            self._list.addWidget(row)
        self._mark()

    def _filter(self) -> None:
        wanted = self.shown.value()
        for row, answer in zip(self.rows, self.answers, strict=True):
            row.setVisible(wanted == _ALL or answer.judgement == wanted)

    def set_stale(self, stale: bool) -> None:
        """Grey what was judged of an earlier design."""
        self._set_stale(stale or self._stale)

    def _set_stale(self, stale: bool) -> None:
        self.counts.setEnabled(not stale)
        for row in self.rows:
            row.set_stale(stale)

    def set_system(self, system: System) -> None:
        """Show other units."""
        self._system = system
        super().set_system(system)
        for row in self.rows:
            row.set_system(system)

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self._theme = theme
        for row in self.rows:
            row.apply_theme(theme)

    def show_faults(self, faults: Sequence[Fault]) -> list[Fault]:
        """Put each sentence beside its field, and grey the last good answers."""
        self.set_stale(bool(faults))
        row, self._proposed_entry = self._proposed_entry, None
        if row is not None and row.field is not None and faults:
            row.field.set_fault(" ".join(f"{fault.text[:1].upper()}{fault.text[1:]}." for fault in faults))
            return []
        for each in self.rows:
            if each.field is not None:
                each.field.set_fault("")
        return super().show_faults(faults)

    def pick(self, address: Address) -> None:
        """Bring a rule, or what was entered for one, into sight."""
        if address[:2] == ("rules", "rules") and len(address) > 2:
            self._pick_at(int(address[2]))

    # --- doing ----------------------------------------------------------------------------------------------------

    def rule(self) -> Rule | None:
        """The rule that is picked."""
        rules = self._design.rules.rules if self._design is not None and self._design.rules is not None else ()
        return rules[self._at] if 0 <= self._at < len(rules) else None

    def _pick_at(self, at: int) -> None:
        self._at = at
        self._mark()
        self._show_form()

    def _mark(self) -> None:
        for i, row in enumerate(self.rows):
            row.set_picked(i == self._at)

    def _show_form(self) -> None:
        rule = self.rule()
        self.edit_button.setEnabled(rule is not None)
        self.remove_button.setEnabled(rule is not None)
        shown = rule is not None and self.edit_button.isChecked()
        self.form.setVisible(shown)
        self._form_title.setVisible(shown)
        if shown and rule is not None:
            self.form.show_rule(("rules", "rules", self._at), rule)

    def _choose(self, title: str) -> None:
        if title == _OWN:
            return
        sheet = rule_sheets().get(title)
        words = "Select no rules" if sheet is None else f"Select the rules “{sheet.title}”"
        self.propose(lambda design: with_value(design, ("rules",), sheet), words, self.sheet)

    def _enter(self, row: RuleRow, key: str, value: Number | None) -> None:
        self._proposed_entry = row

        def change(design: Design) -> Design:
            kept = [entry for entry in design.entered if entry.key != key]
            if value is not None:
                kept.append(Entered(key=key, value=value))
            return with_value(design, ("entered",), tuple(kept))

        name = row.field.name().lower() if row.field is not None else key
        self.propose(change, f"Enter {name}", row.field)

    def _add(self) -> None:
        new = Rule(
            key="outlet_above_roof",
            what="outlet above the roof",
            value=0.3,
            unit="m",
            comparison="at least",
            source="own",
            tag="own",
        )

        def change(design: Design) -> Design:
            sheet = design.rules or RuleSheet(title="Entered rules", place=design.place.name)
            return with_value(design, ("rules",), sheet.model_copy(update={"rules": (*sheet.rules, new)}))

        self.propose(change, "Add a rule")

    def _remove(self) -> None:
        at = self._at

        def change(design: Design) -> Design:
            rules = design.rules.rules if design.rules is not None else ()
            return with_value(design, ("rules", "rules"), rules[:at] + rules[at + 1 :])

        self.propose(change, "Remove a rule")


def _named(sheet: RuleSheet) -> str:
    return sheet.title if sheet.place.lower() in sheet.title.lower() else f"{sheet.title} ({sheet.place})"
