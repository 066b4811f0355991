"""What a visit comes to: each reading beside what was predicted, and the causes that fit."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QLabel, QVBoxLayout, QWidget

from workbench.design.design import Design
from workbench.design.faults import Fault
from workbench.design.wording import sentence
from workbench.files.answer_text import caution
from workbench.files.diagnosis_text import (
    AS_READ,
    NO_PROOF,
    basis_words,
    cause_lines,
    finding_words,
    more_words,
    next_words,
    unseen_words,
)
from workbench.gui.kit.fields import Field
from workbench.gui.kit.forms import column, paragraph
from workbench.gui.kit.theme import LIGHT, SHAPES, Theme, Verdict
from workbench.gui.kit.type_scale import Role, wear
from workbench.gui.visits.correction import CorrectionPanel
from workbench.gui.visits.later import Found
from workbench.gui.visits.reading_row import ReadingRow
from workbench.solving.outcome import Outcome
from workbench.solving.run.prepare import Prepared
from workbench.units import SI, System

_WAITING = "Working out what was to be expected…"
_NO_VISIT = "Here each reading is held against what was predicted for the state that it was taken in."
_NOT_UPDATED = "Not updated: working out the latest entry."
_LOUD: dict[str, Verdict] = {"unchanged": "holds", "one": "fails", "several": "fails", "none": "unsure"}


class _Panel(QWidget):
    """A panel that only shows: it proposes nothing."""

    proposed = Signal(object, str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.theme = LIGHT
        self._system: System = SI
        self._found: Found | None = None
        self.stale = False

    def show_found(self, found: Found | None, *, waiting: bool) -> None:
        """Show what a visit comes to; nothing without a visit."""
        self._found = found
        self._write(waiting)

    def _write(self, waiting: bool) -> None:
        raise NotImplementedError

    def show_design(self, design: Design) -> None:
        """Nothing is shown of a design."""

    def show_outcome(self, prepared: Prepared, outcome: Outcome) -> None:
        """Nothing is shown of an answer."""

    def show_faults(self, faults: Sequence[Fault]) -> list[Fault]:
        """Nothing is proposed, nothing refused."""
        return list(faults)

    def last_field(self) -> Field | None:
        """There is none."""
        return None

    def set_stale(self, stale: bool) -> None:
        """Grey what is the last good answer."""
        self.stale = stale
        self._dress()

    def _dress(self) -> None:
        raise NotImplementedError

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self.theme = theme
        self._dress()

    def set_system(self, system: System) -> None:
        """Show other units."""
        self._system = system
        self._write(False)

    def ink(self) -> str:
        """The colour of words that are an answer."""
        return self.theme.muted if self.stale else self.theme.text


class ComparedPanel(_Panel):
    """Each reading beside what was predicted, and the model corrected by them."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.rows: list[ReadingRow] = []
        self.basis = paragraph(_NO_VISIT)
        self.basis.setObjectName("quiet")
        self.correction = CorrectionPanel()
        self.correction.proposed.connect(self.proposed)
        self._list = QVBoxLayout()
        self._list.setContentsMargins(0, 0, 0, 0)
        self._list.setSpacing(0)
        layout = column(self)
        layout.addWidget(self.basis)
        layout.addWidget(self.correction)
        layout.addLayout(self._list)
        layout.addWidget(self.correction.moved)
        layout.addStretch(1)

    def _write(self, waiting: bool) -> None:
        found = self._found
        diagnosis = None if found is None else found.diagnosis
        if found is None:
            self.basis.setText(_WAITING if waiting else _NO_VISIT)
        elif diagnosis is None:
            self.basis.setText(sentence(found.why))
        else:
            self.basis.setText(basis_words(diagnosis))
        readings = () if diagnosis is None else diagnosis.readings
        while len(self.rows) > len(readings):
            row = self.rows.pop()
            self._list.removeWidget(row)
            row.hide()
            row.deleteLater()
        while len(self.rows) < len(readings):
            row = ReadingRow()
            row.apply_theme(self.theme)
            self.rows.append(row)
            self._list.addWidget(row)
        for row, each in zip(self.rows, readings, strict=True):
            row.show_expected(each, self._system)
        self._dress()

    def _dress(self) -> None:
        for row in self.rows:
            row.set_stale(self.stale)
            row.apply_theme(self.theme)


class CausesPanel(_Panel):
    """The finding, the shortest list of causes, what to read next, what cannot be heard, and that this is no proof."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.late = paragraph(_NOT_UPDATED)
        self.late.hide()
        self.finding = paragraph()
        wear(self.finding, Role.STRONG)
        self.causes: list[QLabel] = []
        self._list = QVBoxLayout()
        self._list.setContentsMargins(0, 0, 0, 0)
        self._list.setSpacing(6)
        self.more = paragraph()
        self.next = paragraph()
        wear(self.next, Role.STRONG)
        self.as_read = paragraph()
        wear(self.as_read, Role.STRONG)
        self.unseen_title = paragraph("What these readings cannot hear")
        wear(self.unseen_title, Role.SMALL_STRONG)
        self.unseen = paragraph()
        self.caution = paragraph()
        self.local = paragraph(caution())
        for quiet in (self.more, self.unseen, self.local):
            quiet.setObjectName("quiet")
        layout = column(self)
        layout.setSpacing(8)
        layout.addWidget(self.late)
        layout.addWidget(self.finding)
        layout.addLayout(self._list)
        for widget in (self.more, self.as_read, self.next, self.caution, self.unseen_title, self.unseen, self.local):
            layout.addWidget(widget)
        layout.addStretch(1)
        self._write(False)

    def _write(self, waiting: bool) -> None:
        diagnosis = None if self._found is None else self._found.diagnosis
        lines = [] if diagnosis is None else cause_lines(diagnosis)
        while len(self.causes) > len(lines):
            label = self.causes.pop()
            self._list.removeWidget(label)
            label.hide()
            label.deleteLater()
        while len(self.causes) < len(lines):
            label = paragraph()
            self.causes.append(label)
            self._list.addWidget(label)
        for number, (label, words) in enumerate(zip(self.causes, lines, strict=True), start=1):
            label.setText(f"{number}.  {words}" if len(lines) > 1 else sentence(words))
        if diagnosis is None:
            self.finding.setText(_WAITING if waiting else "")
        else:
            self.finding.setText(f"{SHAPES[_LOUD[diagnosis.finding]]} {finding_words(diagnosis)}")
        texts: dict[Any, str] = {
            self.finding: self.finding.text(),
            self.more: "" if diagnosis is None else more_words(diagnosis),
            self.as_read: ""
            if diagnosis is None or diagnosis.finding == "unchanged"
            else f"{SHAPES['fails']} {AS_READ}",
            self.next: "" if diagnosis is None else next_words(diagnosis),
            self.unseen: "" if diagnosis is None else unseen_words(diagnosis),
            self.caution: "" if diagnosis is None else f"{SHAPES['unsure']} {NO_PROOF}",
        }
        for widget, words in texts.items():
            widget.setText(words)
            widget.setVisible(bool(words))
        self.unseen_title.setVisible(bool(texts[self.unseen]))
        self.local.setVisible(diagnosis is not None)
        self._dress()

    def _dress(self) -> None:
        diagnosis = None if self._found is None else self._found.diagnosis
        self.late.setVisible(self.stale and diagnosis is not None)
        verdict: Verdict = "" if diagnosis is None else _LOUD[diagnosis.finding]
        loud = self.theme.muted if self.stale or not verdict else self.theme.verdict(verdict)
        for widget in (self.finding, self.as_read):
            widget.setStyleSheet(f"color: {loud}")
        for widget in (*self.causes, self.next):
            widget.setStyleSheet(f"color: {self.ink()}")
        self.late.setStyleSheet(f"color: {self.theme.verdict('unsure')}")
        self.caution.setStyleSheet(f"color: {self.theme.verdict('unsure')}")
