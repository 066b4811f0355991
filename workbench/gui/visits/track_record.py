"""The track record: what was predicted against what was measured, over all jobs of a folder."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from PySide6.QtCore import QEvent, Qt, QTimer, Signal
from PySide6.QtGui import QPalette, QResizeEvent
from PySide6.QtWidgets import (
    QBoxLayout,
    QFileDialog,
    QFrame,
    QHBoxLayout,
    QLabel,
    QPlainTextEdit,
    QProgressBar,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from workbench.design.wording import sentence
from workbench.files.plain_text import plain_line
from workbench.files.record_text import (
    AGAINST,
    NO_READINGS,
    NOT_TAKEN,
    OWN_NUMBERS,
    headline,
    left_out_words,
    offered_words,
    save_record,
    tables_of,
    too_few_words,
)
from workbench.gui.kit.background import Background
from workbench.gui.kit.elided import ElidedLabel
from workbench.gui.kit.forms import heading, paragraph, quiet
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.theme import Theme
from workbench.gui.kit.type_scale import Role, line_of, px, wear
from workbench.gui.shell.settings import Settings
from workbench.gui.visits.track_chart import KEY, TrackChart, strips_of
from workbench.gui.visits.track_reading import Reading
from workbench.gui.visits.track_table import TrackTable
from workbench.solving.later.record import Against, Track
from workbench.units import SI, System

_BEFORE = (
    "Choose a folder of jobs. Readings of their start-ups are held against what the design alone had predicted, those "
    "of yearly checks against the start-up. Nothing is changed in any file."
)
_TERMS = (
    "Bias and scatter are of read over predicted, in percent, or of their difference where a unit stands. Bands that "
    "are right hold 90 % of the readings and should be x 1 as wide; a larger figure says that they are too narrow."
)
_LOOK_MS = 100
_WIDE = 1040
"""Breadth from which the chart has room beside the tables. [px before the factor]"""
_LINES = 6
"""Of the files left out, those that are read without scrolling."""
_PICTURES = "Image (*.svg *.pdf *.png)"
_TABLES = "Spreadsheet (*.xlsx)"


def _call_off(kept: list[Reading]) -> None:
    for reading in kept:
        reading.call_off()


class TrackRecord(Guarded, QWidget):
    """Reads a folder beside the window, and shows what came of it."""

    told = Signal(str)
    """A sentence about something that could not be done."""

    def __init__(self, settings: Settings, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._settings = settings
        self._system: System = SI
        self._kept: list[Reading] = []
        """The reading under way or done, if any."""
        self.track: Track | None = None
        self._why = ""
        """Why the folder could not be read."""
        self.background = Background(self)
        self.background.answered.connect(self._take)
        self.background.failed.connect(self._refuse)
        self.saving = Background(self)
        self.saving.failed.connect(lambda words: self.told.emit(sentence(words)))
        # a window that closes does not wait for the last file
        self.destroyed.connect(partial(_call_off, self._kept))
        self._timer = QTimer(self, interval=_LOOK_MS)
        self._timer.timeout.connect(self._show_progress)
        self._make_parts()
        self._compose()
        self._write()

    def _make_parts(self) -> None:
        self.choose_button = _button("Choose a folder of &jobs…", self.ask_folder)
        self.again_button = _button("Read a&gain", self.read_again)
        self.stop_button = _button("St&op", self.stop)
        self.bar = QProgressBar()
        self.bar.setAccessibleName("Progress of the record")
        self.bar.setTextVisible(False)
        self.bar.setFixedHeight(8)
        self.folder = ElidedLabel()
        self.folder.setObjectName("quiet")
        self.said = paragraph()
        self.heads: dict[Against, QLabel] = {against: heading(title) for against, title in AGAINST.items()}
        self.tables: dict[Against, TrackTable] = {against: TrackTable(title) for against, title in AGAINST.items()}
        self.terms = quiet(_TERMS)
        self.offer_title = heading(OWN_NUMBERS)
        self.offers = paragraph()
        self.offer_words = paragraph()
        wear(self.offer_words, Role.STRONG)
        self.left_title = heading("")
        self.left = QPlainTextEdit()
        self.left.setReadOnly(True)
        self.left.setTabChangesFocus(True)
        self.left.setAccessibleName("Files left out, with the reason")
        self.table_button = _button("Export &table…", self.ask_save_table)
        self.chart = TrackChart()
        self.key = quiet(KEY)
        self.copy_button = _button("Copy &image", self.copy_picture)
        self.save_button = _button("E&xport image…", self.ask_save)

    def _compose(self) -> None:
        buttons = QHBoxLayout()
        for button in (self.choose_button, self.again_button, self.stop_button):
            buttons.addWidget(button)
        buttons.addStretch(1)
        words = QWidget()
        column = QVBoxLayout(words)
        column.setContentsMargins(12, 8, 12, 10)
        column.setSpacing(6)
        column.addLayout(buttons)
        column.addWidget(self.bar)
        column.addWidget(self.folder)
        column.addWidget(self.said)
        for against in AGAINST:
            column.addWidget(self.heads[against])
            column.addWidget(self.tables[against], 0, Qt.AlignmentFlag.AlignLeft)
        for widget in (self.terms, self.offer_title, self.offers, self.offer_words, self.left_title, self.left):
            column.addWidget(widget)
        row = QHBoxLayout()
        row.addWidget(self.table_button)
        row.addStretch(1)
        column.addLayout(row)
        self.side = QWidget()
        beside = QVBoxLayout(self.side)
        beside.setContentsMargins(0, 0, 0, 0)
        beside.setSpacing(2)
        tools = QHBoxLayout()
        tools.setContentsMargins(12, 8, 12, 2)
        tools.addWidget(self.key, 1)
        tools.addWidget(self.copy_button)
        tools.addWidget(self.save_button)
        beside.addLayout(tools)
        beside.addWidget(self.chart, 1)
        column.addWidget(self.side)
        column.addStretch(1)
        self._column = column
        area = QScrollArea()
        area.setWidgetResizable(True)
        area.setFrameShape(QFrame.Shape.NoFrame)
        area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        area.setAccessibleName("Track record")
        for each in (area.viewport(), words, self, self.side):
            each.setAutoFillBackground(True)
            each.setBackgroundRole(QPalette.ColorRole.Base)
        area.setWidget(words)
        self._row = QBoxLayout(QBoxLayout.Direction.LeftToRight, self)
        self._row.setContentsMargins(0, 0, 0, 0)
        self._row.setSpacing(0)
        self._row.addWidget(area, 3)

    # --- reading --------------------------------------------------------------------------------------------------

    def ask_folder(self) -> None:
        """Ask for the folder, and read it."""
        chosen = QFileDialog.getExistingDirectory(self, "Choose a folder of jobs", self._settings.jobs_folder)
        if chosen:
            self.read(Path(chosen))

    def read_again(self) -> None:
        """Read the folder of last time."""
        if self._settings.jobs_folder:
            self.read(Path(self._settings.jobs_folder))

    def read(self, folder: Path) -> None:
        """Read a folder beside the window; what was under way is called off."""
        _call_off(self._kept)
        self._settings.jobs_folder = str(folder)
        self._kept[:] = [Reading(folder)]
        self.track, self._why = None, ""
        self.background.ask(self._kept[0].run)
        self._timer.start()
        self._write()

    def stop(self) -> None:
        """Call it off, and show what was read by then."""
        _call_off(self._kept)
        self.background.drop()
        if self._kept:
            self.track = self._kept[0].track()
        self._write()

    def reading(self) -> bool:
        """Whether a folder is being read."""
        return self.background.busy()

    def _take(self, track: Track) -> None:
        self.track = track
        self._write()

    def _refuse(self, words: str) -> None:
        self._why = sentence(words)
        self._write()

    def _show_progress(self) -> None:
        if not self.reading() or not self._kept:
            self._timer.stop()
            return
        one = self._kept[0]
        self.bar.setRange(0, one.total or 0)
        self.bar.setValue(len(one.found))
        self.said.setText(self._state())

    # --- showing --------------------------------------------------------------------------------------------------

    def _state(self) -> str:
        """What is under way, or what the record is of."""
        if not self._kept or self._why:
            return self._why or _BEFORE
        one = self._kept[0]
        done, total = len(one.found), one.total
        if self.reading():
            return "Looking for project files…" if total is None else f"{done} of {total} files read"
        if total == 0:
            return "There are no project files in this folder."
        if one.called_off and not done:
            return "Stopped before the first file was read."
        words = "" if self.track is None else sentence(headline(self.track))
        if self.track is not None and not self.track.rows:
            words = f"{words} {NO_READINGS}"
        return f"Stopped after {done} of {total} files: this is of those alone. {words}" if one.called_off else words

    def _write(self) -> None:
        reading, one = self.reading(), self._kept[0] if self._kept else None
        self.said.setText(self._state())
        folder = str(one.folder) if one is not None else self._settings.jobs_folder
        self.folder.setText(f"Folder: {plain_line(folder)}")
        self.folder.setVisible(bool(folder))
        self.bar.setVisible(reading)
        if reading:
            self.bar.setRange(0, 0)
        self.stop_button.setVisible(reading)
        self.again_button.setVisible(not reading and bool(self._settings.jobs_folder))
        track = self.track
        tables = {} if track is None else tables_of(track, self._system)
        for against, table in self.tables.items():
            table.show_rows(tables.get(against, ()))
            table.setVisible(against in tables)
            self.heads[against].setVisible(against in tables)
        self._line_up()
        self.terms.setVisible(bool(tables))
        offered = [] if track is None else offered_words(track)
        self.offer_title.setVisible(bool(tables))
        self.offers.setText("\n".join(f"• {plain_line(words)}" for words in offered))
        self.offers.setVisible(bool(offered))
        self.offer_words.setText("" if track is None else NOT_TAKEN if offered else too_few_words(track))
        self.offer_words.setVisible(bool(tables))
        skipped = [] if one is None or reading else [each for each in one.found if each.record is None]
        self.left_title.setText(left_out_words(len(skipped)))
        self.left.setPlainText("\n".join(f"{plain_line(each.file)}: {plain_line(each.refused)}" for each in skipped))
        self.left.setFixedHeight(round(min(2 * len(skipped) + 1, _LINES) * line_of(Role.BODY)) + 12)
        self.left_title.setVisible(bool(skipped))
        self.left.setVisible(bool(skipped))
        self.table_button.setVisible(bool(tables or skipped))
        records = [] if one is None or reading else [each.record for each in one.found if each.record is not None]
        self.chart.show_strips(strips_of(records))
        self.side.setVisible(bool(self.chart.strips()))

    def _line_up(self) -> None:
        widths = [max(each) for each in zip(*(table.widths() for table in self.tables.values()), strict=True)]
        for table in self.tables.values():
            table.set_widths(widths)

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self._write()

    def set_system(self, system: System) -> None:
        """Show other units."""
        self._system = system
        self._write()

    def apply_theme(self, theme: Theme) -> None:
        """Wear another theme."""
        self.chart.apply_theme(theme)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        beside = self.width() >= px(_WIDE)
        if beside != (self._row.indexOf(self.side) >= 0):
            if beside:
                self._row.addWidget(self.side, 2)
            else:
                # over the stretch at the end
                self._column.insertWidget(self._column.count() - 1, self.side)
            self.side.setVisible(bool(self.chart.strips()))

    # --- files ----------------------------------------------------------------------------------------------------

    def captions(self) -> list[str]:
        """What stands over the picture."""
        return [] if self.track is None else ["Track record", headline(self.track), KEY]

    def copy_picture(self) -> None:
        """Put the chart on the clipboard."""
        from workbench.gui.kit import pictures

        with self.chart.picture(self.captions()) as parts:
            pictures.copy(parts)

    def ask_save(self) -> None:
        """Ask where to save the chart."""
        chosen, _ = QFileDialog.getSaveFileName(self, "Export image", "track-record.svg", _PICTURES)
        if chosen:
            self.save(Path(chosen))

    def save(self, path: Path) -> None:
        """Save the chart as an image by the ending of its name."""
        from workbench.gui.kit import pictures

        try:
            with self.chart.picture(self.captions()) as parts:
                pictures.save(parts, path)
        except (OSError, ValueError) as refusal:
            reason = refusal.strerror if isinstance(refusal, OSError) else str(refusal)
            self.told.emit(sentence(f"{path.name} was not saved: {reason}"))

    def ask_save_table(self) -> None:
        """Ask where to save every number."""
        chosen, _ = QFileDialog.getSaveFileName(self, "Export table", "track-record.xlsx", _TABLES)
        if chosen:
            self.save_table(Path(chosen))

    def save_table(self, path: Path) -> None:
        """Write the spreadsheet beside the window."""
        if path.suffix.lower() != ".xlsx":
            path = path.with_name(f"{path.name}.xlsx")
        if self._kept:
            self.saving.ask(partial(save_record, tuple(self._kept[0].found), path))


def _button(text: str, slot: object) -> QPushButton:
    button = QPushButton(text)
    button.clicked.connect(lambda _checked=False: slot())  # type: ignore[operator]
    return button
