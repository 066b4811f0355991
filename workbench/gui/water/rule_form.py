"""The fields of one rule of the sheet, for those who add to it or know better."""

from __future__ import annotations

from typing import Any

from PySide6.QtWidgets import QWidget

from workbench.design.design import Design
from workbench.design.record import Address, with_value
from workbench.design.rules import SUBJECTS, Rule, si_unit, subject_of
from workbench.gui.kit.fields import ChoiceEdit, Field, QuantityEdit, SwitchEdit
from workbench.gui.kit.forms import GroupForm, RecordForm, add_row, column, form_grid, paragraph
from workbench.gui.water.rule_rows import write_value
from workbench.units import SI, System

_COMPARISONS = [("at least", "At least"), ("at most", "At most"), ("above", "Above"), ("is", "Is")]
_TAGS = [(tag, tag.capitalize()) for tag in ("published", "from memory", "common practice", "own")]


class RuleForm(GroupForm):
    """One rule: its subject decides in which unit its value is typed."""

    def __init__(self) -> None:
        super().__init__()
        self._system: System = SI
        self._base: Address = ()
        self._rule: Rule | None = None
        self._value: Field | None = None
        self._shown_as: str | None = ""
        self.subject = ChoiceEdit("Subject", [(key, each.text.capitalize()) for key, each in SUBJECTS.items()])
        self.head = RecordForm(Rule, ("what", "comparison"), SI, choices={"comparison": _COMPARISONS})
        self.tail = RecordForm(Rule, ("kind", "source", "edition", "place", "tag"), SI, choices={"tag": _TAGS})
        self.case = paragraph()
        self.case.setObjectName("quiet")
        layout = column(self)
        top, self._middle = QWidget(), QWidget()
        add_row(form_grid(top), 0, self.subject)
        self._grid = form_grid(self._middle)
        for widget in (top, self.head, self._middle, self.case, self.tail):
            layout.addWidget(widget)
        self.add(self.head)
        self.add(self.tail)
        self.subject.committed.connect(self._take_subject)

    def value_field(self) -> Field:
        """The field of the value."""
        assert self._value is not None
        return self._value

    def show_rule(self, base: Address, rule: Rule) -> None:
        """Show a rule that stands at an address."""
        self._base, self._rule = base, rule
        self.head.show_record(base, rule, "the rule")
        self.tail.show_record(base, rule, "the rule")
        self.subject.set_value(rule.key)
        self._fit_value(subject_of(rule.key, rule.unit).dimension)
        self.value_field().set_value(rule.value)
        self._write_case()

    def _write_case(self) -> None:
        case = self._rule.when if self._rule is not None else None
        self.case.setVisible(case is not None)
        if case is not None:
            subject = subject_of(case.quantity)
            limit = write_value(case.quantity, case.unit, case.value, self._system)
            self.case.setText(f"Only where the {subject.text} is {case.comparison} {limit}.".replace(" is is ", " is "))

    def _fit_value(self, dimension: str | None) -> None:
        if self._value is not None and dimension == self._shown_as:
            self._fields = {(*self._base, "value"): self._value, (*self._base, "key"): self.subject}
            return
        self._shown_as = dimension
        while (item := self._grid.takeAt(0)) is not None:
            gone = item.widget()
            if gone is not None:
                gone.hide()
                gone.deleteLater()
        if dimension is None:
            self._value = SwitchEdit("Required")
        else:
            self._value = QuantityEdit("Value", dimension, self._system)  # type: ignore[arg-type]
        self._value.committed.connect(self._take_value)
        add_row(self._grid, 0, self._value)
        self._fields = {(*self._base, "value"): self._value, (*self._base, "key"): self.subject}

    def set_system(self, system: System) -> None:
        """Show other units."""
        self._system = system
        super().set_system(system)
        if isinstance(self._value, QuantityEdit):
            self._value.set_system(system)
        self._write_case()

    def _take_value(self, value: Any) -> None:
        address = (*self._base, "value")
        self.propose(lambda design: with_value(design, address, value), "Change value of the rule", self._value)

    def _take_subject(self, key: str) -> None:
        rule, base = self._rule, self._base
        if rule is None:
            return
        dimension = SUBJECTS[key].dimension
        fields: dict[str, Any] = {"key": key, "unit": si_unit(dimension)}
        if dimension != subject_of(rule.key, rule.unit).dimension:
            # a value in another unit means nothing there
            fields |= {"value": True, "comparison": "is"} if dimension is None else {"value": 1.0}
            if dimension is not None and rule.comparison == "is":
                fields["comparison"] = "at least"
        changed = Rule(**(rule.model_dump() | fields))

        def change(design: Design) -> Design:
            return with_value(design, base, changed)

        self.propose(change, "Change subject of the rule", self.subject)
