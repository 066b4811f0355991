"""The page of papers: one is looked at, and saved or printed, or all of them saved at once."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QResizeEvent, QShowEvent
from PySide6.QtWidgets import (
    QFileDialog,
    QFrame,
    QHBoxLayout,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from workbench.design import Design
from workbench.design.faults import Fault
from workbench.design.record import Address
from workbench.gui.kit.background import Background
from workbench.gui.kit.debounce import OnceAtRest
from workbench.gui.kit.fields import ChoiceEdit, TextEdit
from workbench.gui.kit.forms import add_row, form_grid, heading, paragraph
from workbench.gui.kit.guarded import Guarded
from workbench.gui.kit.theme import Theme
from workbench.gui.kit.type_scale import px
from workbench.gui.papers.preview import Preview
from workbench.gui.papers.printing import DOTS, command_of, file_of, painted, send
from workbench.gui.shell.settings import Settings
from workbench.solving import Outcome, Prepared
from workbench.units import SI, System

if TYPE_CHECKING:
    from PySide6.QtPrintSupport import QPrinter

    from workbench.papers.blocks import Maker
    from workbench.papers.matter import Matter
    from workbench.solving.choices.search import Choices

TITLES = (
    ("visit", "Visit sheet"),
    ("design", "Design sheet"),
    ("installer", "Installer’s sheet"),
    ("card", "Dial-back card"),
    ("owner", "Owner’s sheet"),
    ("startup", "Start-up record"),
)
USES = {
    "visit": "Blank form for the diagnostic visit: all that is entered later is asked for on it.",
    "design": "What was designed, what follows from it, and what that rests on.",
    "installer": "Places to measure out, pipe in the order of the air, and a list of materials.",
    "card": "For the attic: the gauge reading to turn the fan down to, and what to read at every test hole.",
    "owner": "In plain words, left in the house: the gauge’s mark, cost, what to leave alone, when to test.",
    "startup": "Form for the readings on the day it first runs, beside what was predicted.",
}
_SIZES = (("letter", "Letter"), ("a4", "A4"))
_FILES = "PDF (*.pdf);;Web page (*.html);;Spreadsheet (*.xlsx)"
_INCHES = {"letter": 8.5, "a4": 210.0 / 25.4}
_FORM_WIDTH = 330


class PapersPage(Guarded, QWidget):
    """Choose a paper at the left, see it at the right; nothing of the design is changed here."""

    proposed = Signal(object, str)
    told = Signal(str)

    def __init__(self, settings: Settings, found: Callable[[], Choices | None], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._settings, self._found = settings, found
        self._system: System = SI
        self._answer: tuple[Prepared, Outcome] | None = None
        self._stale = False
        self._shown: object = None
        self._printer: QPrinter | None = None
        self._drawing = Background(self)
        self._drawing.answered.connect(self._draw)
        self._drawing.failed.connect(self._tell_why_not)
        self._working = Background(self)
        self._working.answered.connect(self._done)
        self._working.failed.connect(self._not_done)
        self._rest = OnceAtRest(self._ask, self)
        self.preview = Preview(self)
        self.state = paragraph()
        right = QVBoxLayout()
        right.setContentsMargins(0, 0, 0, 0)
        right.setSpacing(0)
        self.state.setContentsMargins(12, 8, 12, 0)
        right.addWidget(self.state)
        right.addWidget(self.preview, 1)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(0)
        self._area = self._make_form()
        row.addWidget(self._area)
        row.addLayout(right, 1)
        self._write_maker()
        self._write_use()

    # --- the form ---------------------------------------------------------------------------------------------------

    def _make_form(self) -> QScrollArea:
        form = QWidget()
        column = QVBoxLayout(form)
        column.setContentsMargins(12, 8, 12, 8)
        column.setSpacing(6)
        top = QWidget()
        grid = form_grid(top)
        self.paper = ChoiceEdit("Paper", TITLES)
        self.paper.set_value("card")
        self.paper.committed.connect(self._choose)
        self.size_of_page = ChoiceEdit("Page size", _SIZES)
        self.size_of_page.set_value(self._settings.page_size)
        self.size_of_page.committed.connect(self._choose_size)
        for i, choice in enumerate((self.paper, self.size_of_page)):
            add_row(grid, i, choice)
        column.addWidget(top)
        self.use = paragraph()
        column.addWidget(self.use)
        self.save_one = self._button("Save this paper…", self.ask_save)
        self.save_all = self._button("Save all as PDF…", self.ask_save_all)
        self.print_it = self._button("Print…", self.ask_print)
        for button in (self.save_one, self.save_all, self.print_it):
            column.addWidget(button)
        column.addWidget(heading("At the head of every paper"))
        bottom = QWidget()
        grid = form_grid(bottom)
        self.name = TextEdit("Your name or firm")
        self.license = TextEdit("License number")
        for i, (field, keep) in enumerate(((self.name, "maker_name"), (self.license, "maker_license"))):
            field.committed.connect(lambda value, keep=keep: self._keep(keep, value))
            add_row(grid, i, field)
        column.addWidget(bottom)
        self.logo = paragraph()
        column.addWidget(self.logo)
        self.pick_logo = self._button("Choose a logo…", self.ask_logo)
        self.drop_logo = self._button("Remove the logo", lambda: self._keep("maker_logo", ""))
        column.addWidget(self.pick_logo)
        column.addWidget(self.drop_logo)
        column.addWidget(paragraph("Client, address, date and job number: on the card of the house."))
        column.addStretch(1)
        area = QScrollArea()
        area.setWidgetResizable(True)
        area.setFrameShape(QFrame.Shape.NoFrame)
        area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        area.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Expanding)
        area.setFixedWidth(px(_FORM_WIDTH))
        area.setWidget(form)
        return area

    def _button(self, text: str, act: Callable[[], object]) -> QPushButton:
        button = QPushButton(text)
        button.clicked.connect(lambda _checked=False: act())
        return button

    def _choose(self, _: object) -> None:
        self._write_use()
        self._touch()

    def _choose_size(self, size: str) -> None:
        self._settings.page_size = size
        self._touch()

    def _write_use(self) -> None:
        self.use.setText(USES[self.paper.value()])

    def _keep(self, what: str, value: str) -> None:
        setattr(self._settings, what, value)
        self._write_maker()
        self._touch()

    def _write_maker(self) -> None:
        self.name.set_value(self._settings.maker_name)
        self.license.set_value(self._settings.maker_license)
        logo = self._settings.maker_logo
        self.logo.setText(f"Logo: {Path(logo).name}" if logo else "No logo is chosen.")
        self.drop_logo.setEnabled(bool(logo))

    # --- the protocol of pages ------------------------------------------------------------------------------------

    def show_design(self, design: Design) -> None:
        """A paper is made from an answer alone."""

    def show_outcome(self, prepared: Prepared, outcome: Outcome) -> None:
        """Set the paper anew, once the hand has rested."""
        self._answer = (prepared, outcome)
        self._enable()
        if outcome.rested:
            self._touch()

    def show_faults(self, faults: list[Fault]) -> None:
        """Nothing is proposed here, so nothing is refused."""

    def set_stale(self, stale: bool) -> None:
        """Grey the paper of an earlier design, and save and print none of it."""
        self._stale = stale
        self._enable()

    def set_system(self, system: System) -> None:
        """Write in other units."""
        if system != self._system:
            self._system = system
            self._touch()

    def apply_theme(self, theme: Theme) -> None:
        """Paper is white in every theme."""
        self.setStyleSheet(f"QLabel#quiet {{ color: {theme.muted}; }}")

    def pick(self, address: Address) -> None:
        """No part of a design is edited here."""

    # --- making papers ----------------------------------------------------------------------------------------------

    def _touch(self) -> None:
        self._enable()
        self._rest.touch()

    def _enable(self) -> None:
        ready = self._answer is not None and self._answer[1].rested and not self._stale
        for button in (self.save_one, self.save_all, self.print_it):
            button.setEnabled(ready and not self._working.busy())
        self.preview.setEnabled(ready)

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._area.setFixedWidth(px(_FORM_WIDTH))
        self._touch()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._touch()

    def sizeHint(self) -> QSize:
        return QSize(px(2 * _FORM_WIDTH), px(400))

    def _maker(self) -> Maker:
        """Who makes the papers; a logo that is of no use any more is left out, with a word."""
        from workbench.papers.maker import BadLogo, maker_of

        settings = self._settings
        try:
            return maker_of(settings.maker_name, settings.maker_license, settings.maker_logo)
        except BadLogo as refusal:
            self.logo.setText(f"{refusal}.")
            return maker_of(settings.maker_name, settings.maker_license)

    def _matter(self) -> Matter | None:
        from workbench.papers.matter import Matter

        if self._answer is None or not self._answer[1].rested:
            return None
        found = self._found()
        return Matter(*self._answer, self._system, maker=self._maker(), day=date.today(), found=found)

    def _ask(self) -> None:
        """Have the paper in sight set, beside the window."""
        if not self.isVisible() or self._stale:
            return
        matter = self._matter()
        if matter is None:
            return
        key, size = self.paper.value(), self.size_of_page.value()
        wanted = (key, size, self.preview.room(), self._system, matter.maker, self._answer)
        if wanted == self._shown and self.preview.pages:
            return
        self._shown = wanted
        dots = self.preview.room() / _INCHES[size]
        self._say("Setting the paper…" if not self.preview.pages else "")
        self._drawing.ask(lambda: _pictures(matter, key, size, dots))

    def _draw(self, found: Any) -> None:
        title, pages = found
        self._say("")
        self.preview.show_pages(title, pages)
        self._enable()

    def _tell_why_not(self, sentence: str) -> None:
        self._say(sentence)

    def _say(self, words: str) -> None:
        self.state.setText(words)
        self.state.setVisible(bool(words))

    # --- saving and printing ----------------------------------------------------------------------------------------

    def ask_save(self) -> None:
        """Ask where to save the paper in sight, and in which form."""
        chosen, _ = QFileDialog.getSaveFileName(self, "Save paper", f"{self.paper.value()}.pdf", _FILES)
        if chosen:
            self.save(Path(chosen))

    def save(self, path: Path) -> None:
        """Save the paper in sight, in the form that the file's ending names."""
        matter = self._matter()
        if matter is not None:
            key, size = self.paper.value(), self.size_of_page.value()
            self._work(lambda: _saved(matter, key, size, path))

    def ask_save_all(self) -> None:
        """Ask for a folder to save all papers in."""
        chosen = QFileDialog.getExistingDirectory(self, "Save all papers in")
        if chosen:
            self.write_all(Path(chosen))

    def write_all(self, folder: Path) -> None:
        """Save all papers in a folder."""
        matter = self._matter()
        if matter is not None:
            size = self.size_of_page.value()
            self._work(lambda: _all_saved(matter, size, folder))

    def ask_print(self) -> None:
        """Ask for a printer, and print the paper in sight on it."""
        # no other page prints
        from PySide6.QtGui import QPageSize
        from PySide6.QtPrintSupport import QPrintDialog, QPrinter

        printer = QPrinter(QPrinter.PrinterMode.HighResolution)
        letter = self.size_of_page.value() == "letter"
        printer.setPageSize(QPageSize(QPageSize.PageSizeId.Letter if letter else QPageSize.PageSizeId.A4))
        printer.setFullPage(True)
        if QPrintDialog(printer, self).exec():
            self.print_on(printer)

    def print_on(self, printer: QPrinter) -> None:
        """Print the paper in sight."""
        matter = self._matter()
        if matter is not None:
            key, size = self.paper.value(), self.size_of_page.value()
            file, command = file_of(printer), command_of(printer, size == "letter")
            if file is not None:
                self._work(lambda: _saved(matter, key, size, file))
            elif command is not None:
                self._work(lambda: _sent(matter, key, size, command))
            else:
                self._printer = printer
                self._work(lambda: _pictures(matter, key, size, DOTS))

    def _work(self, work: Callable[[], Any]) -> None:
        self._working.ask(work)
        self._enable()

    def _done(self, found: Any) -> None:
        if isinstance(found, str):
            self.told.emit(found)
        elif self._printer is not None:
            printer, self._printer = self._printer, None
            if not painted(printer, found[1]):
                self.told.emit("The paper cannot be printed: the printer does not take it.")
        self._enable()

    def _not_done(self, sentence: str) -> None:
        self._printer = None
        self.told.emit(sentence if sentence.endswith(".") else f"{sentence}.")
        self._enable()

    def ask_logo(self) -> None:
        """Ask for the picture of a logo."""
        chosen, _ = QFileDialog.getOpenFileName(self, "Choose a logo", "", "Pictures (*.png *.svg)")
        if chosen:
            self.take_logo(Path(chosen))

    def take_logo(self, path: Path) -> None:
        """Keep a logo if it is a picture that can stand on a page; else say why not."""
        from workbench.papers.maker import BadLogo, maker_of

        try:
            maker_of(logo=path)
        except BadLogo as refusal:
            self.told.emit(f"{refusal}.")
            return
        self._keep("maker_logo", str(path))


# --- beside the window ------------------------------------------------------------------------------------------------


def _pictures(matter: Matter, key: str, size: Any, dots: float) -> tuple[str, list[bytes]]:
    from workbench.papers.make import PAPERS
    from workbench.papers.pdf import pictures

    paper = PAPERS[key](matter)
    return paper.title, pictures(paper, size, matter.day, dots)


def _sent(matter: Matter, key: str, size: Any, command: list[str]) -> str:
    from workbench.papers.make import PAPERS, written

    paper = PAPERS[key](matter)
    send(written(paper, "pdf", size, matter.day), command)
    return f"{paper.title} sent to {command[command.index('-d') + 1]}."


def _saved(matter: Matter, key: str, size: Any, path: Path) -> str:
    from workbench.papers.make import FORMS, PAPERS, PapersError, put, written

    form = next((form for form in FORMS if path.suffix.lower() == f".{form}"), None)
    if form is None:
        raise PapersError(f"{path.name}: choose a name that ends in .pdf, .html or .xlsx")
    put(written(PAPERS[key](matter), form, size, matter.day), path)
    return f"Saved {path.name}."


def _all_saved(matter: Matter, size: Any, folder: Path) -> str:
    from workbench.papers.make import write_papers

    written = write_papers(matter, folder, page=size)
    return f"Saved {', '.join(path.name for path in written)} in {folder}."
