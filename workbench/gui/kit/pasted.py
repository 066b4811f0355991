"""Taking a pasted block in: at once where it says everything, else after a look at what was read."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QAbstractItemView,
    QDialog,
    QDialogButtonBox,
    QGridLayout,
    QHeaderView,
    QLabel,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from workbench.design.wording import Wording, name
from workbench.files.block import OFFERED_UNITS, Block, BlockError, Guess, ReadColumn, Told, Value
from workbench.gui.kit.fields import ChoiceEdit
from workbench.gui.kit.forms import heading, paragraph
from workbench.gui.kit.tips import plain_tip
from workbench.units import MINUS

Read = Callable[[Told], Block]
"""Reads the block again as somebody says; BlockError where it cannot be read so."""

_SHOWN_ROWS: Final = 9
_LEAST_WIDTH: Final = 560
_MOST_WIDTH: Final = 760
_ACROSS: Final = 5
_WIDEST_TEXT: Final = 220
_MARKS: Final = ((".", "Point"), (",", "Comma"))
_LIES: Final = ((False, "Columns"), (True, "Rows"))
_MARK_WORDS: Final = {".": "point", ",": "comma"}
_THOUSANDS: Final = re.compile(r"\d{1,3}[.,]\d{3}")
_SENTENCES: Final = {
    "decimal": "“{0}” may be {2}. The {1} is taken as the decimal mark.",
    "unit": "{0} has no unit. {1} is taken.",
    "order": "“{0}” is not clear as a heading. It is taken for “{1}”.",
    "left out": "The column “{0}” is left out: nothing here has that heading.",
    "across": "Each row is taken for one quantity, with its heading in front.",
}


def looks_like_a_table(text: str) -> bool:
    """Whether a copied text holds more than one value."""
    lines = [line for line in text.splitlines() if line.strip()]
    return len(lines) > 1 or "\t" in text.strip()


def take_pasted(parent: QWidget, read: Read, take: Callable[[Block], None], refuse: Callable[[str], None]) -> None:
    """Read a block and take it: at once where nothing was guessed, else when the person agrees to what is shown.

    A block that cannot be read is refused with a sentence.
    """
    try:
        block = read(Told())
    except BlockError as refusal:
        refuse(str(refusal))
        return
    if not block.guesses:
        take(block)
        return
    preview = PastePreview(read, block, parent)
    preview.agreed.connect(take)
    preview.open()


def sentences_of(guesses: Sequence[Guess]) -> list[str]:
    """Guesses in words; quantities that lack a unit alike share a sentence."""
    said: list[str] = []
    for guess in guesses:
        alike = [g.subject for g in guesses if g.kind == guess.kind == "unit" and g.taken == guess.taken]
        if len(alike) < 2:
            said.append(_sentence(guess))
        elif guess.subject == alike[0]:
            names = f"{', '.join(alike[:-1])} and {alike[-1]}"
            said.append(Wording("{0} have no unit. {1} is taken.", (name(names), name(guess.taken))).plain())
    return said


def _sentence(guess: Guess) -> str:
    subject, taken, either = guess.subject, guess.taken, ""
    if guess.kind == "decimal":
        taken = _MARK_WORDS[taken]
        thousands, fraction = re.sub("[.,]", "", subject), subject.replace(",", ".")
        either = f"{thousands} or {fraction}" if _THOUSANDS.fullmatch(subject) else "one number or two"
    elif guess.kind == "left out" and not subject:
        return "A column without a heading is left out."
    return Wording(_SENTENCES[guess.kind], (name(subject), name(taken), name(either))).plain()


class PastePreview(QDialog):
    """Shows what was read of a block, and lets decimal mark, units and direction be said otherwise."""

    agreed = Signal(object)
    """The `Block` to be taken."""

    def __init__(self, read: Read, block: Block, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle("Check what is pasted")
        self._read, self._told, self._block = read, Told(), block
        self.guesses = paragraph()
        self.mark = ChoiceEdit("Decimal mark", _MARKS, self)
        self.lies = ChoiceEdit("Quantities are in", _LIES, self)
        self.units: dict[str, ChoiceEdit] = {}
        self._labels: dict[ChoiceEdit, QLabel] = {}
        self._choices = QGridLayout()
        self._choices.setHorizontalSpacing(12)
        self._choices.setVerticalSpacing(2)
        self.table = QTableWidget(self)
        self.fault = paragraph()
        self.fault.setObjectName("fault")
        self.fault.hide()
        self.count = paragraph()
        self.count.setObjectName("unit")
        self.buttons = QDialogButtonBox(self)
        self.put_in = self.buttons.addButton("Paste", QDialogButtonBox.ButtonRole.AcceptRole)
        self.cancel = self.buttons.addButton("Cancel", QDialogButtonBox.ButtonRole.RejectRole)
        self.put_in.setDefault(True)
        self._compose()
        self._connect()
        self._show(block)

    def _compose(self) -> None:
        view = self.table
        view.setAccessibleName("What was read")
        view.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        view.setSelectionMode(QAbstractItemView.SelectionMode.NoSelection)
        view.setTabKeyNavigation(False)
        view.verticalHeader().hide()
        view.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        view.verticalHeader().setDefaultSectionSize(self.fontMetrics().height() + 8)
        view.horizontalHeader().setHighlightSections(False)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 12, 16, 14)
        layout.setSpacing(8)
        layout.addWidget(heading("The pasted block is ambiguous here. Is it read correctly?"))
        layout.addWidget(self.guesses)
        layout.addSpacing(4)
        layout.addLayout(self._choices)
        layout.addSpacing(4)
        layout.addWidget(view, 1)
        layout.addWidget(self.fault)
        layout.addWidget(self.count)
        layout.addWidget(self.buttons)

    def _connect(self) -> None:
        self.mark.committed.connect(lambda mark: self._say(decimal=mark))
        self.lies.committed.connect(lambda across: self._say(across=across))
        self.put_in.clicked.connect(self.accept)
        self.cancel.clicked.connect(self.reject)

    def accept(self) -> None:
        """Have the block taken as it is shown."""
        if self.fault.text():
            return
        super().accept()
        self.agreed.emit(self._block)

    # --- saying it otherwise --------------------------------------------------------------------------------------

    def _say(
        self, *, decimal: str | None = None, across: bool | None = None, unit: tuple[str, str] | None = None
    ) -> None:
        before = self._told
        told = Told(
            decimal or before.decimal,
            before.units if unit is None else {**before.units, unit[0]: unit[1]},
            before.across if across is None else across,
        )
        self._told = told
        try:
            block = self._read(told)
        except BlockError as refusal:
            self._refuse(str(refusal))
            return
        self._refuse("")
        self._show(block)

    def _refuse(self, words: str) -> None:
        self.fault.setText(words)
        self.fault.setVisible(bool(words))
        self.table.setEnabled(not words)
        self.count.setVisible(not words)
        self.put_in.setEnabled(not words)

    # --- showing --------------------------------------------------------------------------------------------------

    def _show(self, block: Block) -> None:
        self._block = block
        told = sentences_of(block.guesses)
        self.guesses.setText("\n".join(f"•  {words}" for words in told) or "Nothing is left to check.")
        self.mark.set_value(block.decimal)
        self.lies.set_value(block.across)
        self._show_choices(block)
        self._fill(block)
        rows = "1 row" if len(block.rows) == 1 else f"{len(block.rows)} rows"
        self.count.setText(f"{rows} will be pasted. One undo removes them.")

    def _show_choices(self, block: Block) -> None:
        shown: list[ChoiceEdit] = []
        marked = any(cell and any(c in cell.pasted for c in ".,") for row in block.rows for cell in row)
        if marked or self._told.decimal:
            shown.append(self.mark)
        if block.across or self._told.across is not None:
            shown.append(self.lies)
        for column in block.columns:
            if column.quantity.dimension is not None:
                shown.append(self._unit_choice(column))
        every = [self.mark, self.lies, *self.units.values()]
        for edit in every:
            label = self._label(edit)
            self._choices.removeWidget(edit)
            self._choices.removeWidget(label)
            edit.setVisible(edit in shown)
            label.setVisible(edit in shown)
        for i, edit in enumerate(shown):
            row, place = divmod(i, _ACROSS)
            self._choices.addWidget(self._label(edit), 2 * row, place)
            self._choices.addWidget(edit, 2 * row + 1, place)
            self._choices.setColumnStretch(place, 1)
        chain: list[QWidget] = [*(edit.control() for edit in shown), self.table, self.put_in, self.cancel]
        for before, after in pairwise(chain):
            QWidget.setTabOrder(before, after)

    def _label(self, edit: ChoiceEdit) -> QLabel:
        if edit not in self._labels:
            self._labels[edit] = QLabel(edit.name(), self, textFormat=Qt.TextFormat.PlainText)
            self._labels[edit].setBuddy(edit)
            self._labels[edit].setContentsMargins(0, 4, 0, 0)
        return self._labels[edit]

    def _unit_choice(self, column: ReadColumn) -> ChoiceEdit:
        key, dimension = column.quantity.key, column.quantity.dimension
        assert dimension is not None
        if key not in self.units:
            edit = ChoiceEdit(f"{column.quantity.title} in", (), self)
            edit.committed.connect(lambda unit, key=key: self._say(unit=(key, unit)))
            offered = OFFERED_UNITS.get(dimension, ())
            units = offered if column.unit in offered else (column.unit, *offered)
            edit.set_choices([(unit, unit) for unit in units])
            self.units[key] = edit
        self.units[key].set_value(column.unit)
        return self.units[key]

    def _fill(self, block: Block) -> None:
        view = self.table
        view.clear()
        view.setRowCount(len(block.rows))
        view.setColumnCount(len(block.columns))
        right = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        left = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
        for c, column in enumerate(block.columns):
            side = left if column.quantity.dimension is None else right
            title = QTableWidgetItem(f"{column.quantity.title}\n{column.unit}")
            title.setTextAlignment(side)
            view.setHorizontalHeaderItem(c, title)
            for r, row in enumerate(block.rows):
                item = QTableWidgetItem(_shown(row[c], column))
                item.setTextAlignment(side)
                cell = row[c]
                if cell is not None:
                    item.setToolTip(plain_tip(f"Pasted as “{cell.pasted}”"))
                view.setItem(r, c, item)
        self._size(block)

    def _size(self, block: Block) -> None:
        view, header = self.table, self.table.horizontalHeader()
        wide = 0
        for c, column in enumerate(block.columns):
            if column.quantity.dimension is None:
                wanted = min(max(view.sizeHintForColumn(c), header.sectionSizeHint(c)) + 8, _WIDEST_TEXT)
                header.setSectionResizeMode(c, QHeaderView.ResizeMode.Fixed)
                view.setColumnWidth(c, wanted)
            else:
                wanted = max(view.sizeHintForColumn(c), 90)
                header.setSectionResizeMode(c, QHeaderView.ResizeMode.Stretch)
            wide += wanted
        row, edges = view.verticalHeader().defaultSectionSize(), header.sizeHint().height() + 2 * view.frameWidth()
        least = edges + row * min(len(block.rows), _SHOWN_ROWS)
        view.setMinimumHeight(least)
        # few rows leave no empty sheet beneath them
        view.setMaximumHeight(edges + row * len(block.rows))
        width = min(max(_LEAST_WIDTH, wide + 60), _MOST_WIDTH)
        self.setMinimumWidth(width)
        layout = self.layout()
        assert layout is not None
        layout.activate()
        self.resize(width, layout.totalHeightForWidth(width))


def _shown(cell: Value | None, column: ReadColumn) -> str:
    """A cell as it was read; what stood there before an arrow where that looks otherwise."""
    if cell is None:
        return ""
    if column.quantity.dimension is None:
        return str(cell.value)
    read = cell.plain.replace("-", MINUS) + (f" {cell.unit}" if cell.unit != column.unit else "")
    bare = cell.pasted.removesuffix(cell.unit).strip().replace("-", MINUS)
    return read if bare == cell.plain.replace("-", MINUS) else f"{bare} → {read}"
