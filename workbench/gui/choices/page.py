"""The page of choices: what is searched at the left, what was found as a table, a plot and sentences.

The search runs beside the window and can be called off; what it found stays, greyed once the design has changed.
"""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any, NamedTuple

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QGuiApplication, QPalette
from PySide6.QtWidgets import (
    QCheckBox,
    QFileDialog,
    QFrame,
    QHBoxLayout,
    QLineEdit,
    QProgressBar,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QSplitter,
    QVBoxLayout,
    QWidget,
)

from workbench.design import Design
from workbench.design.faults import Fault
from workbench.design.record import Address
from workbench.files.choices_table import plain_frame, save_choices
from workbench.files.project import ProjectError
from workbench.gui.choices.form import ChoicesForm
from workbench.gui.choices.plot import ChoicesPlot
from workbench.gui.choices.table import ChoicesView
from workbench.gui.choices.words import ChoicesWords
from workbench.gui.kit.background import Background
from workbench.gui.kit.forms import quiet
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.theme import Theme
from workbench.gui.kit.type_scale import px
from workbench.solving import Outcome, Prepared
from workbench.solving.choices.search import Cancelled, Choice, Choices, candidates, design_of, essence, search
from workbench.solving.choices.variants import building_cost, with_fan
from workbench.solving.choices.words import sentences
from workbench.solving.outcome import Notice
from workbench.units import SI, System

_TABLES = "Spreadsheet (*.xlsx);;Comma-separated (*.csv)"
_TOLD_EVERY = 0.05
"""Seconds between two words of progress."""
_BEFORE = (
    "A search tries every fan on every pipe, pit, sealing and number of suction points, each at its own lowest speed "
    "that meets the target on the worst day at the required confidence, and ranks them by life-cycle cost. The prices "
    "that come with the workbench are invented examples: replace them with yours under Costs."
)
_STALE = "These results are for an earlier version of the design. Search again."


class _SearchResult(NamedTuple):
    choices: Choices
    frame: Any


class _Teller(QObject):
    """What a search says while it runs; heard in the window's own thread."""

    progress = Signal(int, int)


def _call_off(flag: list[threading.Event]) -> None:
    flag[0].set()


def _searched(design: Design, hours: Any, teller: _Teller, flag: threading.Event) -> _SearchResult | None:
    """Search beside the window; None when it was called off."""
    last = 0.0

    def tell(done: int, total: int) -> None:
        nonlocal last
        now = time.monotonic()
        if now - last >= _TOLD_EVERY or done == total:
            last = now
            teller.progress.emit(done, total)

    try:
        found = search(design, tell, flag.is_set, hours)
    except Cancelled:
        return None
    return _SearchResult(found, plain_frame(found.rows))


class ChoicesPage(Guarded, QWidget):
    """Everything about choosing."""

    proposed = Signal(object, str)
    told = Signal(str)
    """A sentence about something that could not be done."""
    found = Signal(object)
    """The Choices of a search that is done, to be kept."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._system: System = SI
        self._design: Design | None = None
        self._prepared: Prepared | None = None
        self._found: Choices | None = None
        self._opened: Design | None = None
        self._flag = [threading.Event()]
        self._teller = _Teller()
        self._teller.progress.connect(self._show_progress)
        self._background = Background(self)
        self._background.answered.connect(self._take)
        self._background.failed.connect(self._refuse)
        # a window that closes does not wait for the end of a search
        self.destroyed.connect(partial(_call_off, self._flag))
        self.form = ChoicesForm()
        self.run = QPushButton("Sea&rch")
        self.run.clicked.connect(lambda: self.search())
        self.stop = QPushButton("St&op")
        self.stop.clicked.connect(lambda: self.cancel())
        self.bar = QProgressBar()
        self.bar.setAccessibleName("Progress of the search")
        self.bar.setTextVisible(False)
        self.bar.setFixedHeight(8)
        self.said = quiet()
        self.view = ChoicesView()
        self.plot = ChoicesPlot()
        self.words = ChoicesWords()
        self._filter = QLineEdit()
        self._filter.setPlaceholderText("Filter rows")
        self._filter.setAccessibleName("Filter rows by words")
        self._filter.setClearButtonEnabled(True)
        self._holding = QCheckBox("Only &passing")
        self._count = quiet()
        self._count.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self._count.setWordWrap(False)
        self._count.setContentsMargins(6, 0, 6, 0)
        self._open = self._button("&Use this design", self.open_picked)
        self._compare = self._button("Compare &two", self._compare_two)
        self._compare.setCheckable(True)
        self._copy = self._button("Cop&y", self.copy)
        self._save = self._button("E&xport…", self.ask_save)
        self._filter.textChanged.connect(lambda: self._sift())
        self._holding.toggled.connect(lambda: self._sift())
        self.form.proposed.connect(self.proposed)
        self.view.picked.connect(self._show_picks)
        self.view.opened.connect(self.open)
        self.plot.picked.connect(lambda row, beside: self.view.pick(row, beside=beside))
        self.plot.opened.connect(self.open)
        self.view.fit_columns()
        self.words.show_notices((Notice("nothing-yet", _BEFORE),))
        self._compose()
        self._show_state()

    def _fit_form(self) -> None:
        """Room for the form in letters of any size."""
        self._left.setMinimumWidth(max(336, px(240)))

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self._fit_form()

    def _button(self, text: str, slot: Callable[[], None]) -> QPushButton:
        button = QPushButton(text)
        button.clicked.connect(lambda _checked=False: slot())
        return button

    def _compose(self) -> None:
        left = _sheet()
        side = QVBoxLayout(left)
        side.setContentsMargins(0, 0, 0, 0)
        side.setSpacing(0)
        head = QVBoxLayout()
        head.setContentsMargins(12, 10, 12, 6)
        head.setSpacing(5)
        buttons = QHBoxLayout()
        buttons.addWidget(self.run, 1)
        buttons.addWidget(self.stop)
        head.addLayout(buttons)
        head.addWidget(self.bar)
        head.addWidget(self.said)
        area = QScrollArea()
        area.setWidgetResizable(True)
        area.setFrameShape(QFrame.Shape.NoFrame)
        area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.form.setAutoFillBackground(True)
        self.form.setBackgroundRole(QPalette.ColorRole.Base)
        layout = self.form.layout()
        assert layout is not None
        layout.setContentsMargins(12, 2, 12, 12)
        area.setWidget(self.form)
        side.addLayout(head)
        side.addWidget(area, 1)
        self._left = left
        self._fit_form()

        tools = QHBoxLayout()
        tools.setContentsMargins(8, 6, 8, 4)
        tools.setSpacing(6)
        tools.addWidget(self._filter, 1)
        for widget in (self._holding, self._count, self._open, self._compare, self._copy, self._save):
            tools.addWidget(widget)
        above = _sheet()
        top = QVBoxLayout(above)
        top.setContentsMargins(0, 0, 0, 0)
        top.setSpacing(0)
        top.addLayout(tools)
        top.addWidget(self.view, 1)
        words = _sheet()
        text = QVBoxLayout(words)
        text.setContentsMargins(0, 0, 0, 0)
        text.addWidget(self.words)
        below = QSplitter(Qt.Orientation.Horizontal)
        below.addWidget(self.plot)
        below.addWidget(words)
        below.setSizes([500, 440])
        right = QSplitter(Qt.Orientation.Vertical)
        right.addWidget(above)
        right.addWidget(below)
        right.setSizes([260, 250])
        whole = QSplitter(Qt.Orientation.Horizontal, self)
        whole.addWidget(left)
        whole.addWidget(right)
        whole.setSizes([336, 936])
        whole.setStretchFactor(0, 0)
        whole.setStretchFactor(1, 1)
        for splitter in (below, right, whole):
            splitter.setChildrenCollapsible(False)
        row = QHBoxLayout(self)
        row.setContentsMargins(8, 0, 8, 0)
        row.addWidget(whole)

    # --- searching ---

    def search(self) -> None:
        """Search, beside the window."""
        if self._design is None or self._background.busy():
            return
        self._flag[0] = threading.Event()
        hours = None if self._prepared is None else self._prepared.hours
        self.bar.setRange(0, 0)
        work = partial(_searched, self._design, hours, self._teller, self._flag[0])
        self._background.ask(work)
        self._show_state("Searching…")

    def cancel(self) -> None:
        """Call the search off; what was found before stays."""
        self._flag[0].set()

    def searching(self) -> bool:
        """Whether a search is under way."""
        return self._background.busy()

    def _show_progress(self, done: int, total: int) -> None:
        if self.searching():
            self.bar.setRange(0, total)
            self.bar.setValue(done)
            self.said.setText(f"{done} of {total} tried")

    def _take(self, found: _SearchResult | None) -> None:
        if found is None or self._flag[0].is_set():
            self._show_state("Stopped.")
            return
        self.found.emit(found.choices)
        self._show(found.choices, found.frame)

    def _show(self, found: Choices, frame: Any) -> None:
        self._found, self._opened = found, None
        self.view.choices.show_rows(found.rows, frame)
        self.view.fit_columns()
        self.plot.show_found(found)
        self.words.show_notices(sentences(found))
        self._sift()
        if found.best is not None:
            self.view.pick(0)
        self._show_state()

    def show_kept(self, found: Choices | None) -> None:
        """Show what was found for this project before, or that nothing was."""
        self.cancel()
        if found is not None:
            self._show(found, plain_frame(found.rows))
            return
        self._found = self._opened = None
        self.view.choices.show_rows((), plain_frame(()))
        self.plot.show_none()
        self.words.show_notices((Notice("nothing-yet", _BEFORE),))
        self._sift()
        self._show_state()

    def _refuse(self, sentence: str) -> None:
        self._show_state(f"{sentence[:1].upper()}{sentence[1:].rstrip('.')}.")

    def _show_state(self, sentence: str = "") -> None:
        busy = self.searching()
        self.bar.setVisible(busy)
        self.stop.setVisible(busy)
        count, refusal = self._to_try()
        self.run.setEnabled(not busy and not refusal)
        self.run.setText(f"Sea&rch {count} options" if count else "Sea&rch")
        stale = self.stale()
        self.said.setText(sentence or refusal or (_STALE if stale else ""))
        self.said.setVisible(bool(self.said.text()))
        self.view.choices.set_stale(stale)
        self.plot.set_stale(stale)
        picks, there = self.view.picks(), self._found is not None
        self._open.setEnabled(len(picks) == 1 and not stale)
        self._open.setToolTip(_STALE if stale else "Use the selected option as the design; undo brings this one back")
        self._compare.setEnabled(len(picks) == 2)
        self._copy.setEnabled(there)
        self._save.setEnabled(there)

    def _to_try(self) -> tuple[int, str]:
        """How many choices a search would try, or why it cannot."""
        if self._design is None:
            return 0, ""
        try:
            return len(candidates(self._design)), ""
        except ValueError as refusal:
            words = str(refusal)
            return 0, f"{words[:1].upper()}{words[1:].rstrip('.')}."

    def stale(self) -> bool:
        """Whether what is shown was found for another design than the present one, or one opened from it."""
        if self._found is None or self._design is None:
            return False
        now = essence(self._design)
        return now != essence(self._found.design) and (self._opened is None or now != essence(self._opened))

    # --- the protocol of pages ----------------------------------------------------------------------------------------

    def show_design(self, design: Design) -> None:
        """Show a design."""
        before, self._design = self._design, design
        self.form.show_design(design)
        if before is None or essence(before) != essence(design):
            self._show_state()

    def show_outcome(self, prepared: Prepared, outcome: Outcome) -> None:
        """Mark where the design stands at its speed."""
        self._prepared = prepared
        design = prepared.design
        fan, year = design.chosen_fan, outcome.year
        if fan is None or year is None:
            self.plot.show_now(math.nan, math.nan)
            return
        drawn = self._found.design if self._found is not None else design
        before = len(list(drawn.suction_points()))
        self.plot.show_now(with_fan(building_cost(design, before), design, fan).total, year.cost)

    def set_stale(self, stale: bool) -> None:
        """Choices are those of the design they were searched for, and say themselves when that is another."""

    def show_faults(self, faults: list[Fault]) -> None:
        """Show why an entry was refused."""
        left = self.form.show_faults(faults)
        if left:
            self.told.emit(f"{left[0].text[:1].upper()}{left[0].text[1:].rstrip('.')}.")

    def set_system(self, system: System) -> None:
        """Show other units."""
        self._system = system
        self.form.set_system(system)
        self.view.choices.set_system(system)
        self.plot.set_system(system)
        self.words.set_system(system)

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self.setStyleSheet(f"QLabel#quiet {{ color: {theme.muted}; }}")
        self.view.choices.apply_theme(theme)
        self.plot.apply_theme(theme)

    def pick(self, address: Address) -> None:
        """Bring a field of the search into sight."""
        field = self.form.fields().get(address)
        if field is not None:
            if address[:2] == ("search", "costs"):
                self.form.fold.setChecked(True)
            field.setFocus()

    # --- doing ---

    def _sift(self) -> None:
        shown = self.view.sift(self._filter.text(), holding=self._holding.isChecked())
        every = len(self.view.choices.rows)
        self._count.setText("" if not every else f"{shown} of {every}")

    def _show_picks(self, picks: list[int]) -> None:
        self.plot.pick(picks)
        if len(picks) != 2:
            self._compare.setChecked(False)
        self.words.compare(self._pair() if self._compare.isChecked() else None)
        self._show_state(self.said.text() if self.searching() else "")

    def _pair(self) -> tuple[Choice, Choice] | None:
        picks = self.view.picks()
        if len(picks) != 2:
            return None
        rows = self.view.choices.rows
        first, second = sorted(picks)
        return rows[first], rows[second]

    def _compare_two(self) -> None:
        self.words.compare(self._pair() if self._compare.isChecked() else None)

    def open_picked(self) -> None:
        """Propose the picked choice as the design."""
        picks = self.view.picks()
        if len(picks) == 1:
            self.open(picks[0])

    def open(self, row: int) -> None:
        """Propose a choice as the design, by its position in the ranking; its speed is that at which it just holds."""
        if self._found is None or self.stale():
            return
        choice, searched = self._found.rows[row], self._found.design
        try:
            made = design_of(choice, searched)
        except ValueError as refusal:
            self.told.emit(f"This option does not work: {refusal}.")
            return
        self._opened = made
        words = f"Use the option “{choice.fan}”"
        self.proposed.emit(lambda now: made.model_copy(update={"title": now.title, "note": now.note}), words)

    def copy(self) -> None:
        """Put the picked rows, or all in sight, on the clipboard as a table."""
        QGuiApplication.clipboard().setText(self.view.copied())

    def ask_save(self) -> None:
        """Ask where to save the rows in sight."""
        chosen, _ = QFileDialog.getSaveFileName(self, "Export options", "choices.xlsx", _TABLES)
        if chosen:
            self.save(Path(chosen))

    def save(self, path: Path) -> None:
        """Save the rows in sight, in the order in which they stand."""
        rows = self.view.choices.rows
        try:
            save_choices([rows[i] for i in self.view.shown()], self._system, path)
        except ProjectError as refusal:
            self.told.emit(f"{refusal}.")


def _sheet() -> QFrame:
    sheet = QFrame()
    sheet.setAutoFillBackground(True)
    sheet.setBackgroundRole(QPalette.ColorRole.Base)
    return sheet
