"""The card of a part: what it answers, what to mind, and the fields in which it is edited."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import QPoint, Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QFrame, QGridLayout, QLabel, QScrollArea, QSizePolicy, QToolButton, QVBoxLayout, QWidget

from workbench.design.catalogue import Caution, cautions_under
from workbench.design.design import Design
from workbench.design.faults import Fault
from workbench.design.record import Address, value_at
from workbench.design.section_layout import FAN
from workbench.design.wording import sentence
from workbench.gui.kit.fields import Field
from workbench.gui.kit.forms import GroupForm, quiet
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.theme import LIGHT, Theme
from workbench.gui.kit.tips import plain_tip
from workbench.gui.section.part_forms import (
    ClimateForm,
    FanForm,
    HouseForm,
    JobForm,
    JunctionForm,
    PointForm,
    plain_form,
)
from workbench.gui.section.parts import PartAnswers, part_of, part_sort, part_title, same_parts
from workbench.gui.section.run_form import RunForm
from workbench.solving.outcome import Outcome
from workbench.solving.run.prepare import Prepared
from workbench.units import SI, System

_COLUMNS = 2
_MOST_ANSWERS = 4
_ANSWER_ROWS = {"suction point": 2, "run": 2, "discharge run": 2, "fan": 2, "junction": 1}


class AnswerGrid(QWidget):
    """A part's numbers, which change while the fields stay still."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(8)
        grid.setVerticalSpacing(1)
        self._cells: list[tuple[QLabel, QLabel]] = []
        self._rows = 0
        for i in range(_MOST_ANSWERS):
            title, value = QLabel(textFormat=Qt.TextFormat.PlainText), QLabel(textFormat=Qt.TextFormat.PlainText)
            title.setObjectName("quiet")
            # a number that grows must not push the card about
            value.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
            row, column = divmod(i, _COLUMNS)
            grid.addWidget(title, row, 2 * column)
            grid.addWidget(value, row, 2 * column + 1)
            grid.setColumnStretch(2 * column + 1, 1)
            self._cells.append((title, value))

    def reserve(self, rows: int) -> None:
        """Stand as high as so many rows, filled or not: the fields beneath stay where they are looked for."""
        if rows != self._rows:
            self._rows = rows
            spacing = self._cells[0][0].sizeHint().height()
            self.setMinimumHeight(rows * spacing + max(rows - 1, 0))

    def show_answers(self, lines: Sequence[tuple[str, str]], *, stale: bool = False) -> None:
        """Write titles and values; cells without one are hidden."""
        shown = bool(lines) or self._rows > 0
        if self.isHidden() == shown:
            self.setVisible(shown)
        for i, (title, value) in enumerate(self._cells):
            there = i < len(lines)
            if there:
                if title.text() != lines[i][0]:
                    title.setText(lines[i][0])
                if value.text() != lines[i][1]:
                    value.setText(lines[i][1])
                    value.setToolTip(plain_tip(lines[i][1]))
            if title.isHidden() == there:
                title.setVisible(there)
                value.setVisible(there)
            if value.isEnabled() == stale:
                value.setEnabled(not stale)

    def text(self) -> str:
        """All that is written."""
        return "; ".join(f"{t.text()}: {v.text()}" for t, v in self._cells if not t.isHidden())


class CautionLine(Guarded, QWidget):
    """What to mind at a part: one quiet line, more when opened."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(4)
        self.line = QToolButton()
        self.line.setCheckable(True)
        self.line.setAutoRaise(True)
        self.line.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        self.line.setArrowType(Qt.ArrowType.RightArrow)
        self.line.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.line.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.line.toggled.connect(self._open)
        self.more = QLabel(wordWrap=True, textFormat=Qt.TextFormat.PlainText)
        self.more.setObjectName("caution")
        self.more.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.more.hide()
        layout.addWidget(self.line)
        layout.addWidget(self.more)
        self._found: list[Caution] = []
        self._titles = "", ""

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        """Name the cautions where they fit in the line, else how many there are."""
        for text in self._titles:
            self.line.setText(text)
            if self.line.sizeHint().width() <= self.width():
                break

    def show_for(self, sort: str, control: str = "") -> None:
        """Show the cautions of a sort of part, the fan being under a control."""
        found: list[Caution] = [caution for caution in cautions_under(control) if sort in caution.where]
        if found == self._found:
            return
        self._found = found
        self.setVisible(bool(found))
        if found:
            self._titles = "Caution: " + "; ".join(caution.title for caution in found), f"Cautions ({len(found)})"
            self._fit()
            self.line.setToolTip(plain_tip("\n".join(caution.text for caution in found)))
            self.line.setAccessibleName("Cautions: " + " ".join(caution.text for caution in found))
            self.more.setText("\n\n".join(f"{caution.text}\n{caution.more}" for caution in found))
        self.line.setChecked(False)

    def _open(self, opened: bool) -> None:
        self.more.setVisible(opened)
        self.line.setArrowType(Qt.ArrowType.DownArrow if opened else Qt.ArrowType.RightArrow)


class PartCard(QWidget):
    """Everything about one part. It scrolls inside itself; nothing in it holds state of the design."""

    proposed = Signal(object, str)
    fan_wanted = Signal()
    minus_chosen = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._system: System = SI
        self._theme = LIGHT
        self._design: Design | None = None
        self._part: Address | None = None
        self._answers: PartAnswers | None = None
        self._stale = self._proposing = False
        self._forms: dict[str, GroupForm] = {}
        self._form: GroupForm | None = None
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.setSpacing(0)
        self.answers = AnswerGrid()
        self.notice = quiet()
        self.fault = QLabel(wordWrap=True, textFormat=Qt.TextFormat.PlainText)
        self.fault.setObjectName("fault")
        self.fault.hide()
        self.cautions = CautionLine()
        self._body = QWidget()
        self._column = QVBoxLayout(self._body)
        self._column.setContentsMargins(10, 1, 10, 8)
        self._column.setSpacing(3)
        for widget in (self.answers, self.cautions):
            self._column.addWidget(widget)
        self._column.addStretch(1)
        self.pane = QScrollArea()
        self.pane.setWidgetResizable(True)
        self.pane.setFrameShape(QFrame.Shape.NoFrame)
        self.pane.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.pane.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.pane.setWidget(self._body)
        outer.addWidget(self.pane, 1)
        # below the fields: what comes and goes while a value is typed must not push the next field away
        for label in (self.fault, self.notice):
            label.setContentsMargins(10, 4, 10, 4)
            outer.addWidget(label)
        self._set_title("No part selected", "")

    # -- the protocol of views ---------------------------------------------------------------------------------

    def show_design(self, design: Design) -> None:
        """Show the part as it stands in a design; a part that is gone leaves the card to the one it stood in."""
        changed = self._design is not design
        self._design = design
        if self._answers is not None and not same_parts(self._answers.design, design):
            # at the same place may stand another part now
            self._answers = None
            self.answers.show_answers(())
        if changed:
            self.show_part(self._part)

    def show_part(self, address: Address | None) -> None:
        """Show another part, or none."""
        design = self._design
        part = part_of(design, address) if design is not None else None
        moved = part != self._part
        self._part = part
        if design is None or part is None:
            self._show_nothing()
            return
        sort = part_sort(design, part)
        self._show_form("run" if sort == "discharge run" else sort)
        assert self._form is not None
        self._form.show_part(design, part, design if part == FAN else value_at(design, part))
        self._set_title(part_title(design, part), sort)
        self.cautions.show_for(sort, design.chosen_fan.control if design.chosen_fan is not None else "")
        # without a fan there is nothing to answer; a fan that goes or comes moves no field under a hand
        if moved or design.chosen_fan is not None:
            self.answers.reserve(_ANSWER_ROWS.get(sort, 0) if design.chosen_fan is not None else 0)
        if moved:
            self._say("")
            self.pane.verticalScrollBar().setValue(0)
        self._write_answers()

    def show_outcome(self, prepared: Prepared, outcome: Outcome) -> None:
        """Write the answers of the part shown."""
        self._answers = PartAnswers(prepared, outcome, self._system)
        self._write_answers()

    def set_system(self, system: System) -> None:
        """Show quantities in other units."""
        if system == self._system:
            return
        self._system = system
        for form in self._forms.values():
            form.set_system(system)
        if self._answers is not None:
            self._answers = PartAnswers(self._answers.prepared, self._answers.outcome, system)
        self._write_answers()
        if self._design is not None:
            self.show_part(self._part)

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self._theme = theme
        self._body.setAutoFillBackground(False)
        self.setStyleSheet(f"QLabel#quiet {{ color: {theme.muted}; }} QToolButton {{ color: {theme.text}; }}")

    def set_stale(self, stale: bool) -> None:
        """Grey the answers of an earlier design."""
        if stale != self._stale:
            self._stale = stale
            self._write_answers()

    def show_faults(self, faults: Sequence[Fault]) -> list[Fault]:
        """Put sentences beside their fields; one that belongs to no field stands at the head of the card."""
        self._stale = bool(faults)
        left: list[Fault] = list(faults)
        if self._form is not None:
            left = self._form.show_faults(left)
            last = self._form.last_field()
            if self._proposing and left and last is not None:
                # what ties several fields together is said at the one just typed in
                last.set_fault(" ".join(sentence(fault.text) for fault in left))
                left = []
        self._say(" ".join(sentence(fault.text) for fault in left))
        self._write_answers()
        return left

    # -- asked by the panel and by tests -----------------------------------------------------------------------

    def part(self) -> Address | None:
        """The part shown."""
        return self._part

    def form(self) -> GroupForm | None:
        """The form of the part shown."""
        return self._form

    def field(self, address: Address) -> Field:
        """The field of a value. KeyError when the card has none."""
        if self._form is None:
            raise KeyError(address)
        return self._form.fields()[address]

    def enter(self) -> None:
        """Put the focus into the first field."""
        if self._form is not None:
            first = next((f for f in self._form.fields().values() if f.isVisibleTo(self)), None)
            if first is not None:
                first.setFocus(Qt.FocusReason.OtherFocusReason)

    # -- inside ------------------------------------------------------------------------------------------------

    def _show_nothing(self) -> None:
        if self._form is not None:
            self._form.hide()
        self._form = None
        self._set_title("No part selected", "")
        self.answers.reserve(0)
        self.answers.show_answers(())
        self.notice.hide()
        self.cautions.show_for("")

    def _show_form(self, sort: str) -> None:
        form = self._forms.get(sort)
        if form is None:
            form = self._forms[sort] = self._made(sort)
            self._column.insertWidget(self._column.count() - 1, form)
        if form is not self._form:
            if self._form is not None:
                self._form.hide()
            form.show()
            self._form = form

    def _made(self, sort: str) -> GroupForm:
        form: GroupForm
        if sort == "suction point":
            form = PointForm(self._system)
            form.minus_chosen.connect(self.minus_chosen)
        elif sort == "run":
            form = RunForm(self._system)
            form.add_wanted.connect(self._choose_fitting)
        elif sort == "junction":
            form = JunctionForm(self._system)
        elif sort == "fan":
            form = FanForm(self._system)
            form.fan_wanted.connect(self.fan_wanted)
        elif sort == "house":
            form = HouseForm(self._system)
        elif sort == "job":
            form = JobForm(self._system)
        elif sort == "site and climate":
            form = ClimateForm(self._system)
        else:
            form = plain_form(sort, self._system)
        form.proposed.connect(self._pass_on)
        return form

    def _pass_on(self, change: Callable[[Design], Design], words: str) -> None:
        self._proposing = True
        try:
            self.proposed.emit(change, words)
        finally:
            self._proposing = False

    def _choose_fitting(self) -> None:
        form = self._form
        if self._design is None or self._part is None or not isinstance(form, RunForm):
            return
        from workbench.gui.section.menu import part_menu

        menu = part_menu(self._design, self._part, self.proposed.emit, self, fittings_only=True)
        button = form.fittings.add_button
        menu.popup(button.mapToGlobal(QPoint(0, button.height())))

    def _set_title(self, title: str, sort: str) -> None:
        said = title if not sort or sort in title.lower() else f"{title}, {sort}"
        self.setAccessibleName(f"Details: {said}")

    def _say(self, sentence: str) -> None:
        self.fault.setText(sentence)
        self.fault.setVisible(bool(sentence))

    def _write_answers(self) -> None:
        answers, part = self._answers, self._part
        if answers is None or part is None:
            return
        self.answers.show_answers([(a.title, a.text) for a in answers.of(part)], stale=self._stale)
        # that no fan is selected stands over the section and in the chart already
        chosen = answers.design.chosen_fan is not None
        words = (answers.trouble() if chosen else "") or " ".join(answers.notices(part))
        if self.notice.text() != words:
            self.notice.setText(words)
        if self.notice.isHidden() == bool(words):
            self.notice.setVisible(bool(words))
        if self._form is not None:
            self._form.show_answers(answers)
