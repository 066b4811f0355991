"""Files of the document: new, open, save, recent, and work that a killed process left behind."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from PySide6.QtCore import QLocale, QObject, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import (
    QFileDialog,
    QFrame,
    QHBoxLayout,
    QLabel,
    QMenu,
    QMessageBox,
    QPushButton,
    QWidget,
)

from workbench.design.blank import blank_design
from workbench.design.wording import sentence
from workbench.files.project import ProjectError, load_project, save_project
from workbench.files.scenes import load_scene, scene_names
from workbench.gui.shell import faultlog
from workbench.gui.shell.document import Document
from workbench.gui.shell.recovery import Recovery, left_behind
from workbench.gui.shell.settings import Settings, folder
from workbench.physics.network import NoConvergence

_FILTER = "Sub-slab Workbench project (*.json);;All files (*)"


class Filing(QObject):
    """Opens and saves the document; says what went wrong in a bar over the page, not in a dialog."""

    def __init__(self, document: Document, settings: Settings, parent: QWidget) -> None:
        super().__init__(parent)
        self._document = document
        self._settings = settings
        self._window = parent
        self.bar = MessageBar(parent)
        self._recovery = Recovery(document, folder() / "recovery", self)
        self._offer_left_behind()

    # --- menus ----------------------------------------------------------------------------------------------------

    def fill_recent(self, menu: QMenu) -> None:
        """Keep a menu filled with the files opened last."""
        menu.aboutToShow.connect(lambda: self._list_recent(menu))
        self._list_recent(menu)

    def _list_recent(self, menu: QMenu) -> None:
        menu.clear()
        paths = self._settings.recent_files
        for path in paths:
            menu.addAction(str(path), partial(self.open, Path(path)))
        if not paths:
            menu.addAction("(no recent files)").setEnabled(False)

    def fill_scenes(self, menu: QMenu) -> None:
        """Fill a menu, when it is first opened, with the scenes that come along, all invented."""

        def fill() -> None:
            if menu.isEmpty():
                for name in scene_names():
                    menu.addAction(load_scene(name).title, partial(self.open_scene, name))

        menu.aboutToShow.connect(fill)

    # --- opening --------------------------------------------------------------------------------------------------

    def new(self) -> None:
        """Start a blank design."""
        if self.may_let_go():
            self._document.open(blank_design(self._settings.system.round_in, currency_here()), None)

    def open_scene(self, name: str) -> None:
        """Open a scene; it is saved under a name of the user's own."""
        if self.may_let_go():
            self._document.open(load_scene(name), None)

    def ask_open(self) -> None:
        """Ask which file to open."""
        if not self.may_let_go():
            return
        name, _ = QFileDialog.getOpenFileName(self._window, "Open project", self._start_folder(), _FILTER)
        if name:
            self._open(Path(name))

    def open(self, path: Path) -> None:
        """Open a file, unsaved work being asked about first."""
        if self.may_let_go():
            self._open(path)

    def _open(self, path: Path) -> None:
        try:
            self._document.open(load_project(path), path)
        except (ProjectError, ValueError, NoConvergence) as error:
            self.bar.say(f"Could not open the file. {sentence(str(error))}")
            self._settings.forget_file(path)
            return
        self.bar.hide()
        self._settings.remember_file(path)

    # --- saving ---------------------------------------------------------------------------------------------------

    def save(self) -> bool:
        """Save where it was opened from, or ask."""
        if self._document.path is None:
            return self.ask_save_as()
        return self._save(self._document.path)

    def ask_save_as(self) -> bool:
        """Ask where to save."""
        start = self._document.path or Path(self._start_folder()) / f"{_file_name(self._document.design.title)}.json"
        name, _ = QFileDialog.getSaveFileName(self._window, "Save project", str(start), _FILTER)
        if not name:
            return False
        path = Path(name)
        return self._save(path if path.suffix else path.with_suffix(".json"))

    def _save(self, path: Path) -> bool:
        try:
            save_project(self._document.design, path)
        except ProjectError as error:
            self.bar.say(f"Could not save. Your work is still open. {sentence(str(error))}")
            return False
        self.bar.hide()
        self._settings.remember_file(path)
        self._document.saved_as(path)
        return True

    def _start_folder(self) -> str:
        recent = self._settings.recent_files
        return str(Path(recent[0]).parent) if recent else str(Path.home())

    # --- letting go -----------------------------------------------------------------------------------------------

    def may_let_go(self) -> bool:
        """Whether the present design may be replaced: it is saved, or the user says so."""
        if not self._document.dirty:
            return True
        box = QMessageBox(self._window)
        box.setIcon(QMessageBox.Icon.Question)
        box.setTextFormat(Qt.TextFormat.PlainText)
        box.setText(f"“{self._document.design.title}” has unsaved changes. Save them?")
        box.setStandardButtons(
            QMessageBox.StandardButton.Save | QMessageBox.StandardButton.Discard | QMessageBox.StandardButton.Cancel
        )
        answer = box.exec()
        if answer == QMessageBox.StandardButton.Save:
            return self.save()
        return answer == QMessageBox.StandardButton.Discard

    def close(self) -> None:
        """The window closes: nothing is left to recover."""
        self._recovery.close()

    # --- left behind ----------------------------------------------------------------------------------------------

    def _offer_left_behind(self) -> None:
        found = left_behind(folder() / "recovery")
        if not found:
            self.bar.hide()
            return
        path, design = found[0]

        def bring_back() -> None:
            if not self.may_let_go():
                return
            try:
                self._document.open(design, None, unsaved=True)
            except (ValueError, NoConvergence) as error:
                self.bar.say(f"Could not recover it; the copy is kept. {sentence(str(error))}")
                return
            self._recovery.write()
            put_away()

        def put_away() -> None:
            path.unlink(missing_ok=True)
            self._offer_left_behind()

        self.bar.say(
            f"Unsaved work on “{design.title}” is from a session that ended unexpectedly.",
            (("Recover it", bring_back), ("Discard it", put_away)),
        )

    def copy_report(self) -> None:
        """Copy what the program noted about its own faults."""
        QGuiApplication.clipboard().setText(faultlog.report())
        self.bar.say("The report is on the clipboard.")


def currency_here() -> str | None:
    """The currency of the place the computer is set up for (ISO 4217); None where it tells none."""
    return QLocale().currencySymbol(QLocale.CurrencySymbolFormat.CurrencyIsoCode) or None


class MessageBar(QFrame):
    """A line over the page that says what happened, with what can be done about it; never modal."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("messageBar")
        self._text = QLabel(self, textFormat=Qt.TextFormat.PlainText)
        self._text.setWordWrap(True)
        self._row = QHBoxLayout(self)
        self._row.setContentsMargins(12, 6, 12, 6)
        self._row.addWidget(self._text, 1)
        self._buttons: list[QPushButton] = []
        self.hide()

    def say(self, text: str, actions: tuple[tuple[str, object], ...] = ()) -> None:
        """Show a sentence and the buttons that answer it; one to close is always there."""
        for button in self._buttons:
            button.setParent(None)
            button.deleteLater()
        self._text.setText(text)
        self.setAccessibleName(text)
        self._buttons = []
        for words, slot in (*actions, ("Close", self.hide)):
            button = QPushButton(words, self)
            button.clicked.connect(lambda _checked=False, slot=slot: slot())
            self._row.addWidget(button)
            self._buttons.append(button)
        self.show()

    @property
    def text(self) -> str:
        """The sentence shown."""
        return self._text.text() if self.isVisible() else ""


def _file_name(title: str) -> str:
    kept = "".join(c if c.isalnum() else "-" for c in title.lower()).strip("-")
    return "-".join(part for part in kept.split("-") if part) or "project"
