"""The middle of the fans page: the measured points of one fan, a table for each measured speed."""

from __future__ import annotations

import html
from collections.abc import Callable, Sequence

from msgspec import Struct
from pydantic import ValidationError
from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QTabBar,
    QVBoxLayout,
    QWidget,
)

from workbench.design.doubts import doubts
from workbench.design.fan import FanRecord, FanTable
from workbench.design.faults import faults_in
from workbench.design.wording import sentence
from workbench.files.block import Block
from workbench.files.fan_table import KINDS, TITLES, USUAL_UNITS, Kind
from workbench.gui.fans.draft import (
    Draft,
    Note,
    Reading,
    Row,
    curve_at,
    rows_of,
    typed,
    with_curves,
    without_curve,
)
from workbench.gui.fans.points_table import PointsModel, PointsView
from workbench.gui.kit.fields import ChoiceEdit, QuantityEdit
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.pasted import take_pasted
from workbench.gui.kit.theme import LIGHT, SHAPES, Theme, Verdict
from workbench.units import SI, System, format_entry, unit_of

FULL = 1.0


class CurveSketch(Struct, frozen=True):
    """What the table shows at this moment, for drawing.

    `points` are flow, pressure and power of each row that can be read, with its verdict; `curve` is None while they
    make none, and `last` is then the curve the design still holds.
    """

    speed: float
    curve: FanTable | None
    last: FanTable | None
    points: tuple[tuple[float, float, float | None, Verdict], ...]


class PointsPanel(Guarded, QWidget):
    """Shows the points of a fan as a table and proposes what is typed as soon as it makes a curve."""

    proposed = Signal(object, str)
    """A function Fan -> Fan, and a few words."""
    sketched = Signal(object)
    """A `Sketch`, with every key."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._fan: FanRecord | None = None
        self._speed = FULL
        self._drafts: dict[tuple[str, float], Draft] = {}
        self._theme = LIGHT
        self._refusal = ""
        self._notes: list[tuple[Verdict | None, str]] = []
        self._chosen_units: set[Kind] = set()
        self.model = PointsModel(self)
        self.view = PointsView(self)
        self.view.setModel(self.model)
        self._speeds = QTabBar(self)
        self._speeds.setAccessibleName("Measured speeds")
        self._speeds.setExpanding(False)
        self._speeds.setDrawBase(False)
        self._units = {
            kind: ChoiceEdit(f"Unit of {TITLES[kind].lower()}", [(unit, unit) for unit in USUAL_UNITS[kind]], self)
            for kind in KINDS
        }
        self._titles = {kind: QLabel(TITLES[kind], self, textFormat=Qt.TextFormat.PlainText) for kind in KINDS}
        self._sentences = QLabel(wordWrap=True, textFormat=Qt.TextFormat.RichText)
        self._sentences.setAlignment(Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignLeft)
        self._sentences.setContentsMargins(0, 4, 4, 0)
        self._remove_speed = _button("Remove curve", "Remove the points measured at the speed shown.")
        self._back = _button("Restore last valid curve", "Discard the invalid points and show the last valid curve.")
        self._compose()
        self._connect()
        self.show_fan(None)

    # --- composition ----------------------------------------------------------------------------------------------

    def _compose(self) -> None:
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(6)
        speeds = QHBoxLayout()
        speeds.addWidget(self._speeds, 1)
        speeds.addWidget(self._remove_speed)
        column.addLayout(speeds)
        column.addLayout(self._speed_row())
        heads = QWidget(self)
        for kind, box in self._units.items():
            self._titles[kind].setParent(heads)
            self._titles[kind].setBuddy(box)
            box.setParent(heads)
            box.set_hint("Unit of the numbers below; changing it converts them.")
        self._heads = heads
        table = QVBoxLayout()
        table.setSpacing(0)
        table.addWidget(heads)
        table.addWidget(self.view, 1)
        column.addLayout(table, 1)
        column.addLayout(self._tool_row())
        scroll = QScrollArea(widgetResizable=True)
        scroll.setFrameShape(QScrollArea.Shape.NoFrame)
        scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        scroll.setAccessibleName("Notes on the points")
        scroll.setWidget(self._sentences)
        scroll.setFixedHeight(round(self.fontMetrics().height() * 6.2))
        column.addWidget(scroll)
        column.addWidget(self._back)

    def _speed_row(self) -> QHBoxLayout:
        self._new_speed = QuantityEdit("Another measured speed", "speed", upper=FULL, optional=True)
        self._new_speed.set_hint("Percent of full speed at which a further curve was measured.")
        self._add_speed = _button("Add curve", "A table for points measured at that speed.")
        label = QLabel("Curve at speed", wordWrap=True, textFormat=Qt.TextFormat.PlainText)
        label.setBuddy(self._new_speed)
        row = QHBoxLayout()
        row.setSpacing(6)
        row.addWidget(label)
        row.addWidget(self._new_speed, 1)
        row.addWidget(self._add_speed)
        return row

    def _tool_row(self) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setSpacing(6)
        for text, help_, slot in (
            ("+ row", "Insert a row above (Insert).", self.view.insert_row),
            ("− row", "Remove the selected rows (Ctrl+Delete).", self.view.remove_rows),
            ("Copy", "Copy the selected cells, or the whole table (Ctrl+C).", self._copy),
            ("Paste", "Paste from a spreadsheet at the current cell (Ctrl+V).", self._paste_clipboard),
        ):
            button = _button(text, help_)
            button.setAccessibleName(text.replace("+", "Insert").replace("−", "Remove"))
            button.clicked.connect(slot)
            row.addWidget(button, 1)
        return row

    def _connect(self) -> None:
        self.model.edited.connect(self._edited)
        self.model.units_changed.connect(self._units_changed)
        self.view.typing.connect(self._typing)
        self.view.pasted.connect(self.paste)
        self.view.selectionModel().currentRowChanged.connect(self._row_changed)
        self.view.widths_changed.connect(self._place_heads)
        self._speeds.currentChanged.connect(self._speed_chosen)
        self._new_speed.committed.connect(self._speed_typed)
        self._add_speed.clicked.connect(self._add_curve)
        self._remove_speed.clicked.connect(self._remove_curve)
        self._back.clicked.connect(self._drop_draft)
        for kind, box in self._units.items():
            box.committed.connect(lambda unit, kind=kind: self._unit_chosen(kind, unit))

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() in (QEvent.Type.StyleChange, QEvent.Type.FontChange):
            self._place_heads()

    def _place_heads(self) -> None:
        """Set the titles and units over the columns of the table."""
        left = self.view.verticalHeader().width() + self.view.frameWidth()
        across = self.view.viewport().width()
        above = self._titles["flow"].sizeHint().height()
        height = self._units["flow"].sizeHint().height()
        self._heads.setFixedHeight(above + height + 2)
        for column, kind in enumerate(KINDS):
            # as the stretched columns share it
            at = left + column * across // len(KINDS)
            width = left + (column + 1) * across // len(KINDS) - at
            self._titles[kind].setGeometry(at + 2, 0, width - 4, above)
            self._units[kind].setGeometry(at, above, width, height)

    # --- showing --------------------------------------------------------------------------------------------------

    def show_fan(self, fan: FanRecord | None) -> None:
        """Show a fan of the design; what was typed over the same points stays."""
        other = fan is None or self._fan is None or fan.name != self._fan.name
        self._fan = fan
        self.setEnabled(fan is not None)
        if fan is not None:
            self._rebase(fan)
        if other or self._speed not in self._all_speeds():
            self._speed = FULL
            self._refusal = ""
        self._show_speeds()
        self._load(keep_place=not other)

    def renamed(self, old: str, new: str) -> None:
        """Keep what is being typed when a fan takes another name."""
        self._drafts = {(new if name == old else name, speed): draft for (name, speed), draft in self._drafts.items()}
        if self._fan is not None and self._fan.name == old:
            self._fan = self._fan.model_copy(update={"name": new})

    def forget(self, present: Sequence[str]) -> None:
        """Drop what was typed for fans that are gone."""
        self._drafts = {key: draft for key, draft in self._drafts.items() if key[0] in present}

    def show_refusal(self, sentences: Sequence[str]) -> None:
        """Say why a proposal was not taken."""
        refusal = " ".join(map(sentence, sentences))
        if refusal != self._refusal:
            self._refusal = refusal
            self._judge()

    def set_system(self, system: System) -> None:
        """Columns whose unit nobody has chosen yet take that of the system."""
        for kind in KINDS:
            unit = unit_of(kind, system).label
            if kind not in self._chosen_units and unit in USUAL_UNITS[kind]:
                self.model.set_unit(kind, unit)

    def apply_theme(self, theme: Theme) -> None:
        self._theme = theme
        self.model.apply_theme(theme)
        self.view.apply_theme(theme)
        self._write_notes()

    def notes(self) -> list[str]:
        """The sentences beneath the table."""
        return [text for _, text in self._notes]

    def speeds(self) -> list[float]:
        """The measured speeds with a table, drafts among them."""
        return self._all_speeds()

    def _all_speeds(self) -> list[float]:
        if self._fan is None:
            return []
        typed_too = {speed for name, speed in self._drafts if name == self._fan.name}
        return sorted({table.speed for table in self._fan.curves} | typed_too)

    def _rebase(self, fan: FanRecord) -> None:
        for (name, speed), draft in list(self._drafts.items()):
            if name == fan.name:
                kept = draft.rebased(curve_at(fan, speed), speed)
                if kept is None:
                    del self._drafts[name, speed]
                else:
                    self._drafts[name, speed] = kept

    def _show_speeds(self) -> None:
        speeds = self._all_speeds()
        words = [format_entry(speed, "speed", SI, with_unit=True) for speed in speeds]
        if [self._speeds.tabText(i) for i in range(self._speeds.count())] != words:
            while self._speeds.count() > len(words):
                self._speeds.removeTab(self._speeds.count() - 1)
            for i, word in enumerate(words):
                if i < self._speeds.count():
                    self._speeds.setTabText(i, word)
                else:
                    self._speeds.addTab(word)
        if self._speed in speeds:
            self._speeds.setCurrentIndex(speeds.index(self._speed))
        self._remove_speed.setEnabled(self._speed != FULL)

    def _load(self, keep_place: bool) -> None:
        rows: tuple[Row, ...] = ()
        units = self.model.units()
        if self._fan is not None:
            draft = self._drafts.get((self._fan.name, self._speed))
            table = curve_at(self._fan, self._speed)
            rows = draft.rows_in(units) if draft else rows_of(table.points if table else (), units)
        current = self.view.currentIndex()
        at = (current.row(), current.column()) if keep_place and current.isValid() else (0, 0)
        if rows != self.model.rows():
            self.model.set_rows(rows)
            self.view.go_to(min(at[0], len(rows)), at[1])
        elif not keep_place:
            self.view.go_to(0, 0)
        self._judge()

    # --- judging what is typed -------------------------------------------------------------------------------------

    def _typing(self, row: int, column: int, text: str) -> None:
        """Draw what is in the editor before it is entered."""
        rows = list(self.model.rows())
        cells = list(rows[row]) if row < len(rows) else [typed(kind, "", "") for kind in KINDS]
        kind = KINDS[column]
        cells[column] = typed(kind, text, self.model.units()[kind])
        rows[row:] = [(cells[0], cells[1], cells[2]), *rows[row + 1 :]]
        self._sketch(tuple(rows), Draft(tuple(rows), dict(self.model.units()), None).reading(self._speed), {})

    def _edited(self, words: str) -> None:
        if self._fan is None:
            return
        self._refusal = ""
        key = (self._fan.name, self._speed)
        self._drafts[key] = Draft(self.model.rows(), dict(self.model.units()), curve_at(self._fan, self._speed))
        candidate = self._judge()
        if candidate is not None and candidate != self._fan:
            curves = tuple(table for table in candidate.curves if table not in self._fan.curves)
            where = "" if self._speed == FULL else f" at {format_entry(self._speed, 'speed', SI, with_unit=True)}"
            self.proposed.emit(_putting(curves), f"{words} of {self._fan.name}{where}")

    def _units_changed(self) -> None:
        for kind, box in self._units.items():
            box.set_value(self.model.units()[kind])
        key = (self._fan.name if self._fan else "", self._speed)
        if key in self._drafts:
            self._drafts[key] = Draft(self.model.rows(), dict(self.model.units()), self._drafts[key].base)
        self._judge()

    def _row_changed(self) -> None:
        self._judge()

    def _judge(self) -> FanRecord | None:
        """Say what is wrong or odd, draw it, and give the fan the rows make, if they do."""
        fan = self._fan
        notes: list[tuple[Verdict | None, str]] = []
        marks: dict[int, tuple[Verdict, str]] = {}
        candidate: FanRecord | None = None
        rows = self.model.rows()
        reading = Draft(rows, dict(self.model.units()), None).reading(self._speed)
        faults: Sequence[Note] = reading.faults
        if fan is not None and reading.curve is not None:
            candidate, faults = self._fan_with(fan, reading.curve)
        current = self.view.currentIndex().row()
        for fault in faults:
            waiting = fault.waiting and set(fault.rows) <= {current}
            notes.append(("" if waiting else "fails", fault.text))
            if not waiting:
                marks.update({row: ("fails", fault.text) for row in fault.rows if row not in marks})
        if candidate is not None:
            at = candidate.curves.index(next(t for t in candidate.curves if t.speed == self._speed))
            for doubt in doubts(candidate):
                if doubt.curve == at:
                    text = sentence(doubt.wording.with_rows(reading.rows).plain())
                    notes.append(("unsure", text))
                    if doubt.row is not None:
                        marks.setdefault(reading.rows[doubt.row], ("unsure", text))
        if self._refusal:
            notes.insert(0, ("fails", self._refusal))
        held = fan is not None and curve_at(fan, self._speed) is not None
        if faults and held:
            notes.append((None, "Until it is fixed, the last valid curve is used."))
        self._back.setVisible(bool(faults) and held)
        self._notes = notes if fan is not None else []
        self.model.set_marks(marks)
        self._write_notes()
        self._sketch(rows, reading, marks)
        return candidate

    def _fan_with(self, fan: FanRecord, curve: FanTable) -> tuple[FanRecord | None, Sequence[Note]]:
        """The fan with this curve, and with those typed at its other speeds where that is what they wait for."""
        others = [
            table
            for (name, speed), draft in self._drafts.items()
            if name == fan.name and speed != curve.speed and (table := draft.reading(speed).curve) is not None
        ]
        try:
            return with_curves(fan, [*others, curve]), ()
        except ValidationError as error:
            refused = error
        try:
            return with_curves(fan, [curve]), ()
        except ValidationError:
            return None, [Note((), sentence(fault.text)) for fault in faults_in(refused)]

    def _sketch(self, rows: Sequence[Row], reading: Reading, marks: dict[int, tuple[Verdict, str]]) -> None:
        points: list[tuple[float, float, float | None, Verdict]] = []
        for i, (flow, pressure, power) in enumerate(rows):
            if flow.value is not None and pressure.value is not None:
                points.append((flow.value, pressure.value, power.value, marks.get(i, ("", ""))[0]))
        last = curve_at(self._fan, self._speed) if self._fan is not None else None
        self.sketched.emit(CurveSketch(self._speed, reading.curve, last, tuple(points)))

    def _write_notes(self) -> None:
        theme = self._theme
        lines = []
        for verdict, text in self._notes:
            colour = theme.verdict(verdict or "")
            shape = f'<span style="color:{colour}">{SHAPES[verdict]}</span> ' if verdict else ""
            tone = theme.text if verdict == "unsure" else colour
            lines.append(f'<div style="color:{tone}; margin-bottom:3px">{shape}{html.escape(text)}</div>')
        if not lines and self._fan is not None:
            lines = [f'<div style="color:{theme.muted}">Curve OK: no suspect points.</div>']
        self._sentences.setText("".join(lines))
        plain = " ".join(text for _, text in self._notes)
        self._sentences.setAccessibleName(plain)
        self.view.setAccessibleDescription(plain)

    # --- what a person does ----------------------------------------------------------------------------------------

    def paste(self, text: str) -> None:
        """Put a block of text at the current cell, or in place of everything when everything is selected."""
        current = self.view.currentIndex()
        cells = self.view.cells()
        everything = len(cells) >= len(self.model.rows()) * len(KINDS) > len(KINDS)
        row, column = (current.row(), current.column()) if current.isValid() else (0, 0)
        if len(cells) > 1:
            row, column = min(cells)[0], min(c for _, c in cells)
        if everything:
            row = column = 0

        def take(block: Block) -> None:
            first, count = self.model.put(block, row, everything)
            self.view.go_to(first + count, column)

        def refuse(words: str) -> None:
            self._refusal = f"Nothing was pasted. {words}"
            self._judge()

        take_pasted(self, lambda told: self.model.read_block(text, column, told), take, refuse)

    def _paste_clipboard(self) -> None:
        self.paste(QGuiApplication.clipboard().text())
        self.view.setFocus()

    def _copy(self) -> None:
        cells = self.view.cells()
        if len(cells) < 2:
            cells = [(row, column) for row in range(len(self.model.rows())) for column in range(len(KINDS))]
        QGuiApplication.clipboard().setText(self.model.text_of(cells))

    def _unit_chosen(self, kind: Kind, unit: str) -> None:
        self._chosen_units.add(kind)
        self.model.set_unit(kind, unit)

    def _speed_chosen(self, at: int) -> None:
        speeds = self._all_speeds()
        if 0 <= at < len(speeds) and speeds[at] != self._speed:
            self._speed = speeds[at]
            self._refusal = ""
            self._remove_speed.setEnabled(self._speed != FULL)
            self._load(keep_place=False)

    def _speed_typed(self, speed: float | None) -> None:
        low = speed is not None and speed <= 0.0
        self._new_speed.set_fault("A measured speed is more than 0 %." if low else "")

    def _add_curve(self) -> None:
        speed = self._new_speed.value()
        if self._fan is None or self._new_speed.fault():
            return
        if speed is None:
            self._new_speed.set_fault("Type the speed first, in percent of full speed.")
            self._new_speed.setFocus()
            return
        if speed not in self._all_speeds():
            self._drafts[self._fan.name, speed] = Draft((), dict(self.model.units()), None)
        self._new_speed.set_value(None)
        self._speed = speed
        self._show_speeds()
        self._load(keep_place=False)
        self.view.setFocus()

    def _remove_curve(self) -> None:
        fan, speed = self._fan, self._speed
        if fan is None or speed == FULL:
            return
        self._drafts.pop((fan.name, speed), None)
        self._speed = FULL
        if curve_at(fan, speed) is not None:
            words = format_entry(speed, "speed", SI, with_unit=True)
            self.proposed.emit(lambda present: without_curve(present, speed), f"Remove curve at {words} of {fan.name}")
        else:
            self.show_fan(fan)

    def _drop_draft(self) -> None:
        if self._fan is not None:
            self._drafts.pop((self._fan.name, self._speed), None)
            self._refusal = ""
            self._load(keep_place=True)
            self.view.setFocus()


def _putting(curves: Sequence[FanTable]) -> Callable[[FanRecord], FanRecord]:
    return lambda fan: with_curves(fan, curves)


def _button(text: str, help_: str) -> QPushButton:
    button = QPushButton(text)
    button.setToolTip(help_)
    button.setAccessibleDescription(help_)
    button.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
    button.setAutoDefault(False)
    return button
