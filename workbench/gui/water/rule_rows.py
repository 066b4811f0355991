"""A rule as a row: how the design stands to it and why, whose it is, and the field for what is lacking."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPalette, QPen
from PySide6.QtWidgets import QFrame, QGridLayout, QLabel, QWidget

from workbench.design.rules import Number, subject_of
from workbench.gui.kit.fields import ChoiceEdit, Field, QuantityEdit
from workbench.gui.kit.forms import paragraph
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.theme import Theme
from workbench.gui.kit.type_scale import Role, wear
from workbench.solving.report.rules import Judgement, RuleAnswer
from workbench.solving.report.verdict_words import JUDGEMENT_WORDS
from workbench.units import SI, System, format_quantity

_MARKS: dict[Judgement, str] = {
    "met": "●",
    "not met": "▲",
    "not sure": "◆",
    "not measured": "▢",
    "not entered": "○",
    "not this case": "–",
}
WORDS: dict[Judgement, str] = {each: f"{mark} {JUDGEMENT_WORDS[each]}" for each, mark in _MARKS.items()}
_YES_NO: list[tuple[Any, str]] = [(None, "No input yet"), (True, "Yes"), (False, "No")]
_BOUNDS = {"at least": "at least", "at most": "at most", "above": "above", "is": "asked:"}


def write_value(key: str, unit: str, value: Number, system: System) -> str:
    """A value of a subject in the units shown."""
    subject = subject_of(key, unit)
    if isinstance(value, bool) or subject.dimension is None:
        return "yes" if value else "no"
    return format_quantity(float(value), subject.dimension, system)  # type: ignore[arg-type]


def limit_words(answer: RuleAnswer, system: System) -> str:
    """What is asked, what is found, and why it stands so."""
    rule = answer.rule
    asked = f"{_BOUNDS[rule.comparison]} {write_value(rule.key, rule.unit, rule.value, system)}".strip()
    words = asked[:1].upper() + asked[1:]
    if rule.when is not None:
        case = rule.when
        bound = "" if case.comparison == "is" else _BOUNDS[case.comparison]
        bound = f"{bound} {write_value(case.quantity, case.unit, case.value, system)}".strip()
        words += f", where the {subject_of(case.quantity).text} is {bound}"
    if answer.found is not None:
        words += f"; found {write_value(rule.key, rule.unit, answer.found, system)}"
    return f"{words}; {answer.why}."


class RuleRow(Guarded, QFrame):
    """One rule. `entered` tells a value, or None to take it back, for the subject that settles it."""

    picked = Signal(object)
    entered = Signal(object, object)
    """Key of the subject, and its value."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.answer: RuleAnswer | None = None
        self._system: System = SI
        self._theme: Theme | None = None
        self._ask: str | None = None
        self._given: Number | None = None
        self.field: Field | None = None
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAutoFillBackground(True)
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(8, 5, 6, 5)
        self._grid.setHorizontalSpacing(8)
        self._grid.setVerticalSpacing(1)
        self._grid.setColumnMinimumWidth(0, 108)
        self._grid.setColumnStretch(1, 1)
        self.verdict = QLabel(textFormat=Qt.TextFormat.PlainText)
        self.what, self.words, self.source = paragraph(), paragraph(), paragraph()
        wear(self.what, Role.STRONG)
        self.source.setObjectName("quiet")
        top = Qt.AlignmentFlag.AlignTop
        self._grid.addWidget(self.verdict, 0, 0, top)
        self._grid.addWidget(self.what, 0, 1, top)
        self._grid.addWidget(self.words, 1, 1, 1, 2)
        self._grid.addWidget(self.source, 2, 1, 1, 2)

    def show_answer(self, answer: RuleAnswer, given: Number | None) -> None:
        """Show how a rule stands; `given` is what was entered for the subject it asks for."""
        if (answer, given) == (self.answer, self._given):
            return
        self.answer, self._given = answer, given
        self._write()

    def _write(self) -> None:
        answer = self.answer
        if answer is None:
            return
        rule = answer.rule
        self.verdict.setText(WORDS[answer.judgement])
        self.what.setText(rule.what[:1].upper() + rule.what[1:])
        self.words.setText(limit_words(answer, self._system))
        edition = rule.edition if rule.edition not in ("", "undated") else "undated"
        parts = [f"{rule.source}, {edition}", rule.place, rule.kind, rule.tag]
        self.source.setText(" · ".join(part for part in parts if part))
        self.setAccessibleName(f"{rule.what}: {WORDS[answer.judgement][2:]}. {self.words.text()} {self.source.text()}")
        self._fit_field(answer.ask)
        if self.field is not None:
            self.field.set_value(self._given)
        self._dress()

    def _fit_field(self, ask: str | None) -> None:
        if ask == self._ask:
            return
        self._ask = ask
        if self.field is not None:
            self._grid.removeWidget(self.field)
            self.field.hide()
            self.field.deleteLater()
            self.field = None
        if ask is None:
            return
        subject = subject_of(ask, self.answer.rule.unit if self.answer is not None else "")
        name = f"{subject.text[:1].upper()}{subject.text[1:]}"
        field: Field
        if subject.dimension is None:
            field = ChoiceEdit(name, _YES_NO)
        else:
            field = QuantityEdit(name, subject.dimension, self._system, optional=True)  # type: ignore[arg-type]
        field.set_hint(f"As built or planned: {subject.text}.")
        field.control().setMinimumWidth(96)
        field.setFixedWidth(136)
        field.committed.connect(lambda value, ask=ask: self.entered.emit(ask, value))
        self.field = field
        self._grid.addWidget(field, 0, 2, Qt.AlignmentFlag.AlignTop)
        self.setTabOrder(self, field)

    def set_picked(self, picked: bool) -> None:
        """Mark the row that is being edited."""
        self.setBackgroundRole(QPalette.ColorRole.AlternateBase if picked else QPalette.ColorRole.Base)

    def set_stale(self, stale: bool) -> None:
        """Grey what is the last good answer."""
        for label in (self.verdict, self.what, self.words):
            label.setEnabled(not stale)

    def set_system(self, system: System) -> None:
        """Show other units."""
        self._system = system
        if isinstance(self.field, QuantityEdit):
            self.field.set_system(system)
        self._write()

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self._theme = theme
        self._dress()

    def _dress(self) -> None:
        if self._theme is None or self.answer is None:
            return
        roles = {
            "met": "good",
            "not met": "bad",
            "not sure": "unsure",
            "not measured": "unread",
            "not entered": "unsure",
            "not this case": "muted",
        }
        colour = getattr(self._theme, roles[self.answer.judgement])
        self.verdict.setStyleSheet(f"QLabel:enabled {{ color: {colour}; }}")

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        painter = QPainter(self)
        painter.setPen(QPen(self.palette().color(QPalette.ColorRole.Mid), 1))
        painter.drawLine(0, self.height() - 1, self.width(), self.height() - 1)
        if self.hasFocus():
            painter.setPen(QPen(self.palette().color(QPalette.ColorRole.Accent), 1))
            painter.drawRect(self.rect().adjusted(0, 0, -1, -1))
        painter.end()

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.update()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        self.picked.emit(self)
        super().mousePressEvent(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
            self.picked.emit(self)
        else:
            super().keyPressEvent(event)

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            wear(self.what, Role.STRONG)
