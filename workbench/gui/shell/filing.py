"""Files of the document: new, open, save, recent, and work that a killed process left behind."""

from __future__ import annotations

from datetime import datetime
from functools import partial
from pathlib import Path

from PySide6.QtCore import QLocale, QObject, QTimer, Signal
from PySide6.QtGui import QAction, QGuiApplication
from PySide6.QtWidgets import QFileDialog, QMenu, QWidget

from workbench.design.wording import sentence
from workbench.files.project import ProjectError, load_project, project_text, write_whole
from workbench.files.scenes import load_scene, scene_names
from workbench.files.whole import sweep
from workbench.gui.kit.question import Reply, ask
from workbench.gui.kit.tips import in_menu
from workbench.gui.shell import faultlog
from workbench.gui.shell.document import Document
from workbench.gui.shell.held_file import HeldFile, OtherWindow, changes_in_words, fingerprint, fingerprint_of
from workbench.gui.shell.message_bar import Actions, MessageBar
from workbench.gui.shell.recovery import LeftBehind, Recovery, clear_up, left_behind, remove_copy
from workbench.gui.shell.settings import Settings, folder, why_not_written
from workbench.physics.network import NoConvergence

SAFE = "Safe mode: without stored settings, kept searches and work left by a crash. Settings are not stored either."
_LOOK_MS = 2000
"""Between two looks whether the file is still there."""
_FILTER = "Sub-slab Workbench project (*.json);;All files (*)"


class Filing(QObject):
    """Opens and saves the document; says what went wrong in a bar over the page, not in a dialog."""

    all_wanted = Signal()
    """The design is about to be saved or let go: what the hand still holds is to be taken first."""

    def __init__(self, document: Document, settings: Settings, parent: QWidget, seen: str | None = None) -> None:
        super().__init__(parent)
        self._document = document
        self._settings = settings
        self._window = parent
        self.bar = MessageBar(parent)
        self._held = HeldFile()
        self._held.take(document.path, seen)
        self._discarded: list[LeftBehind] = []
        self._undo_discard: QAction | None = None
        self._told_of_no_copy = False
        self._recovery = Recovery(document, self._held, folder() / "recovery", self)
        self._recovery.failed.connect(self._tell_of_no_copy)
        self._recovery.works_again.connect(self._forget_no_copy)
        self._timer = QTimer(self, interval=_LOOK_MS)
        self._timer.timeout.connect(self._look_for_file)
        self._timer.start()
        self._tell_of_start()
        self._recovery.note_file()
        self._tell_of_other_window()

    def _tell_of_start(self) -> None:
        """Say what this start does without."""
        if self._settings.safe:
            self.bar.stand("start", SAFE)
            return
        clear_up(folder() / "recovery")
        sweep(folder() / "searches")
        self._offer_left_behind()
        if why := why_not_written(folder()):
            self._told_of_no_copy = True
            self.bar.stand(
                "kept",
                f"Settings and copies of unsaved work cannot be kept ({why}). Save often.",
            )

    def _tell_of_no_copy(self, why: str) -> None:
        if not self._told_of_no_copy:
            self._told_of_no_copy = True
            self.bar.stand("kept", f"A copy of unsaved work cannot be kept ({why}). Save often.")

    def _forget_no_copy(self) -> None:
        self._told_of_no_copy = False
        self.bar.lift("kept")

    # --- menus ----------------------------------------------------------------------------------------------------

    def fill_recent(self, menu: QMenu) -> None:
        """Keep a menu filled with the files opened last."""
        menu.aboutToShow.connect(lambda: self._list_recent(menu))
        self._list_recent(menu)

    def _list_recent(self, menu: QMenu) -> None:
        menu.clear()
        paths = self._settings.recent_files
        for path in paths:
            menu.addAction(in_menu(str(path)), partial(self.open, Path(path)))
        if not paths:
            menu.addAction("(no recent files)").setEnabled(False)

    def fill_scenes(self, menu: QMenu) -> None:
        """Fill a menu, when it is first opened, with the scenes that come along, all invented."""

        def fill() -> None:
            if menu.isEmpty():
                for name in scene_names():
                    menu.addAction(in_menu(load_scene(name).title), partial(self.open_scene, name))

        menu.aboutToShow.connect(fill)

    # --- opening --------------------------------------------------------------------------------------------------

    def new(self) -> None:
        """Start a blank design."""
        if self.may_let_go():
            from workbench.design.blank import blank_design

            self._document.open(blank_design(self._settings.system.round_in, currency_here()), None)
            self._hold(None)

    def open_scene(self, name: str) -> None:
        """Open a scene; it is saved under a name of the user's own."""
        if self.may_let_go():
            self._document.open(load_scene(name), None)
            self._hold(None)

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
        # before it is read: what another program writes meanwhile is noticed
        seen = fingerprint(path)
        try:
            self._document.open(load_project(path), path)
        except (ProjectError, ValueError, NoConvergence) as error:
            self.bar.say(f"Could not open the file. {sentence(str(error))}")
            self._settings.forget_file(path)
            return
        self.bar.clear()
        self._hold(path, seen)
        self._settings.remember_file(path)
        self._tell_of_other_window()

    def _hold(self, path: Path | None, seen: str | None = None) -> bool:
        """Hold another file, or the same anew; whether a copy of what is unsaved is kept."""
        self._held.take(path, seen)
        self.bar.lift("gone")
        return self._recovery.write()

    def _tell_of_other_window(self) -> None:
        other, path = self._held.elsewhere(), self._document.path
        if other is not None and path is not None:
            self.bar.say(
                f"“{path.name}” is also open in another window{_where(other)}. You are asked before you save over it.",
                (("Save as…", self.ask_save_as),),
            )

    # --- saving ---------------------------------------------------------------------------------------------------

    def save(self) -> bool:
        """Save where it was opened from, or ask."""
        if self._document.path is None:
            return self.ask_save_as()
        return self._save_over(self._document.path)

    def _save_over(self, path: Path) -> bool:
        answer = self._ask_before_saving_over(path)
        if answer == "as":
            return self.ask_save_as()
        if answer == "reload":
            self._reload(path)
            return False
        return answer == "over" and self._save(path)

    def _ask_before_saving_over(self, path: Path) -> str:
        """What to do where the file is not as this window left it; "over" where it is."""
        changed, other = self._held.changed(), self._held.elsewhere()
        if changed is None and other is None:
            return "over"
        if changed is not None:
            asked = f"“{path.name}” was changed by another program {_moment(changed)}: {self._what_changed(path)}."
        else:
            assert other is not None
            asked = f"“{path.name}” is also open in another window{_where(other)}, which may save over what you save."
        replies = [
            Reply("as", "Save as…", "Your work goes into another file; this one stays as it is."),
            Reply("reload", "Reload", "The file's content takes the place of your work; Undo brings your work back."),
            Reply("over", "Save over", "Your work takes the place of what the file holds, which is then gone."),
            Reply("stay", "Go back", "Nothing is saved and nothing is changed."),
        ]
        if changed is None:
            del replies[1]
        return ask(self._window, asked, replies)

    def _what_changed(self, path: Path) -> str:
        try:
            now = load_project(path)
        except ProjectError:
            return "it can no longer be read as a project"
        before = self._document.saved_design
        return changes_in_words(before, now) if before is not None else "its content is another"

    def _reload(self, path: Path) -> None:
        seen = fingerprint(path)
        try:
            now = load_project(path)
        except ProjectError as error:
            self.bar.say(f"Could not reload the file. {sentence(str(error))}")
            return
        faults = self._document.propose(lambda _: now, f"Reload {path.name}")
        if faults:
            self.bar.say(f"Could not reload the file. {sentence(faults[0].text)}")
            return
        self._document.saved_as(path)
        self._hold(path, seen)
        self.bar.say(f"“{path.name}” was reloaded. Undo brings your work back.")

    def ask_save_as(self) -> bool:
        """Ask where to save."""
        start = self._document.path or Path(self._start_folder()) / f"{_file_name(self._document.design.title)}.json"
        name, _ = QFileDialog.getSaveFileName(self._window, "Save project", str(start), _FILTER)
        if not name:
            return False
        path = Path(name)
        path = path if path.suffix else path.with_suffix(".json")
        mine = self._document.path
        if mine is not None and path.absolute() == mine.absolute():
            return self._save_over(path)
        return self._may_replace(path) and self._save(path)

    def _may_replace(self, path: Path) -> bool:
        """Whether a file may be saved over: no other window has it open, or the person says so."""
        held = HeldFile()
        held.take(path)
        other = held.elsewhere()
        held.let_go()
        if other is None:
            return True
        asked = f"“{path.name}” is open in another window{_where(other)}. Save over it?"
        replies = (
            Reply("over", "Save over", "Your work takes its place; the other window may save over it again."),
            Reply("stay", "Go back", "Nothing is saved and nothing is changed."),
        )
        return ask(self._window, asked, replies) == "over"

    def _save(self, path: Path) -> bool:
        self.all_wanted.emit()
        text = project_text(self._document.design)
        content = fingerprint_of(text.encode("utf-8"))
        self._recovery.note_saving(path, content)
        try:
            write_whole(text, path)
        except ProjectError as error:
            self.bar.say(f"Could not save. Your work is still open. {sentence(str(error))}")
            return False
        self.bar.clear()
        self._settings.remember_file(path)
        self._document.saved_as(path)
        self._hold(path, content)
        return True

    def _look_for_file(self) -> None:
        """Notice that the file is gone: no file holds the work then; and that it is there again."""
        gone = self._held.gone()
        if gone and not self._document.file_gone:
            assert self._held.path is not None
            self._document.set_file_gone(True)
            self.bar.stand(
                "gone",
                f"“{self._held.path.name}” is no longer in its folder. Your work counts as unsaved until you save it.",
                (("Save", self.save), ("Save as…", self.ask_save_as)),
            )
        elif self._document.file_gone and not gone and self._held.as_left():
            self._document.set_file_gone(False)
            self.bar.lift("gone")

    def _start_folder(self) -> str:
        recent = self._settings.recent_files
        return str(Path(recent[0]).parent) if recent else str(Path.home())

    # --- letting go -----------------------------------------------------------------------------------------------

    def may_let_go(self) -> bool:
        """Whether the present design may be replaced: it is saved, or the user says so."""
        self.all_wanted.emit()
        self._look_for_file()
        if not self._document.dirty:
            return True
        path = self._document.path
        answer = ask(
            self._window,
            f"“{self._document.design.title}” has unsaved changes. Save them?",
            (
                Reply("save", "Save", f"They go into “{path.name}”." if path else "You are asked for a name first."),
                Reply("discard", "Do not save", "What was changed since the last save is lost."),
                Reply("stay", "Go back", "The design stays open as it is; nothing is saved."),
            ),
        )
        return self.save() if answer == "save" else answer == "discard"

    def close(self) -> None:
        """The window closes: nothing is left to recover."""
        self._timer.stop()
        self._recovery.close()
        self._held.let_go()
        for left in self._discarded:
            remove_copy(left.copy)

    # --- left behind ----------------------------------------------------------------------------------------------

    def _offer_left_behind(self) -> None:
        gone = {left.copy for left in self._discarded}
        found = [left for left in left_behind(folder() / "recovery") if left.copy not in gone]
        undo = (("Undo discard", self.undo_discard),) if self._discarded else ()
        if self._undo_discard is not None:
            self._undo_discard.setEnabled(bool(self._discarded))
        if not found:
            if undo:
                self._offer(f"“{self._discarded[-1].design.title}” is discarded when the program ends.", undo)
            else:
                self.bar.lift("offer")
            return
        left = found[0]

        def recover() -> None:
            if not self.may_let_go():
                return
            try:
                self._document.open(left.design, left.file, unsaved=True)
            except (ValueError, NoConvergence) as error:
                self.bar.say(f"Could not recover it; the copy is kept. {sentence(str(error))}")
                return
            if self._hold(left.file, left.seen):
                remove_copy(left.copy)
            self._offer_left_behind()

        def discard() -> None:
            # the copy stays on the disk until the program ends
            self._discarded.append(left)
            self._offer_left_behind()

        when = _moment(datetime.fromtimestamp(left.copy.stat().st_mtime))
        self._offer(
            f"Unsaved work on “{left.design.title}”, last changed {when}, is from a session that ended unexpectedly.",
            (("Recover", recover), ("Discard", discard), *undo),
        )

    def _offer(self, text: str, actions: Actions) -> None:
        self.bar.clear()
        self.bar.stand("offer", text, actions)

    def undo_discard(self) -> None:
        """Offer again what was discarded last."""
        if self._discarded:
            self._discarded.pop()
            self._offer_left_behind()

    def fill_undo_discard(self, action: QAction) -> None:
        """Keep a menu's entry ready for as long as there is something to bring back."""
        self._undo_discard = action
        action.setEnabled(bool(self._discarded))

    # --- faults ---------------------------------------------------------------------------------------------------

    def tell_of_fault(self, count: int, new: bool) -> None:
        """Say that something went wrong inside, and keep the work at once."""
        if new:
            self._recovery.write()
            # it is no less than what was said last
            self.bar.clear()
            self.bar.lift("fault")
        elif not self.bar.stands("fault"):
            # closed, and nothing new
            return
        times = "" if count == 1 else f" It happened {count} times."
        self.bar.stand(
            "fault",
            f"Something went wrong inside the program; your work is still here.{times}",
            (("Copy error report", self.copy_report),),
        )

    def tell_of_folder(self) -> None:
        """Say where the program keeps what is not in projects, and how to start without it."""
        self.bar.say(
            f"Settings, searches, copies of unsaved work and the fault log are kept in {folder()}. "
            "If the window fails at its start, start it with --safe: it then does without them."
        )

    def copy_report(self) -> None:
        """Copy what the program noted about its own faults."""
        QGuiApplication.clipboard().setText(faultlog.report())
        self.bar.say("The report is on the clipboard.")


def currency_here() -> str | None:
    """The currency of the place the computer is set up for (ISO 4217); None where it tells none."""
    return QLocale().currencySymbol(QLocale.CurrencySymbolFormat.CurrencyIsoCode) or None


def _moment(when: datetime) -> str:
    day = "today" if when.date() == datetime.now().date() else f"on {when:%B} {when.day}, {when:%Y}"
    return f"{day} at {when:%H:%M}"


def _where(other: OtherWindow) -> str:
    if not other.process:
        return ""
    return f" (process {other.process} on {other.computer})" if other.computer else f" (process {other.process})"


def _file_name(title: str) -> str:
    kept = "".join(c if c.isalnum() else "-" for c in title.lower()).strip("-")
    return "-".join(part for part in kept.split("-") if part) or "project"
