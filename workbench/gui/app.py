"""The application: one window, its settings and theme; also the picture of it without a screen."""

from __future__ import annotations

import signal
import sys
from functools import partial
from pathlib import Path
from typing import NoReturn

from PySide6.QtCore import QCoreApplication, QTimer
from PySide6.QtWidgets import QApplication

from workbench.design import Design
from workbench.files.project import load_project
from workbench.files.scenes import load_scene
from workbench.gui.kit import garbage
from workbench.gui.kit.background import end_at_once
from workbench.gui.kit.plotting import set_up_plotting
from workbench.gui.kit.theme import ThemeChoice, ThemeKeeper
from workbench.gui.kit.type_scale import load, use
from workbench.gui.shell import faultlog
from workbench.gui.shell.chosen import recall
from workbench.gui.shell.document import Document
from workbench.gui.shell.held_file import fingerprint
from workbench.gui.shell.settings import Settings
from workbench.gui.window import MainWindow
from workbench.units import SI, System

NAME = "Sub-slab Workbench"
_SETTLED_MS = 1500
"""From then on the program is started, and garbage is looked for again (see `workbench.__main__`)."""


def application() -> QApplication:
    """The running application, made if there is none yet."""
    running = QApplication.instance()
    if isinstance(running, QApplication):
        return running
    QCoreApplication.setApplicationName(NAME)
    app = QApplication(sys.argv[:1])
    app.setApplicationDisplayName("")
    load()
    set_up_plotting()
    return app


def open_window(
    design: Design,
    path: Path | None = None,
    settings: Settings | None = None,
    *,
    quick: bool = False,
    seen: str | None = None,
) -> MainWindow:
    """A window on a design; the caller shows it and keeps it.

    With `quick`, a drawn floor is worked out after the window's first picture. `seen` is the fingerprint of the file as
    it was read; without it, the file is taken to be as it is now.
    """
    app = application()
    settings = settings or Settings()
    recall()
    document = Document(design, path=path, quick=quick)
    use(percent=settings.text_size)
    themes = ThemeKeeper(app, settings.theme)
    if path is not None:
        settings.remember_file(path)
    return MainWindow(document, settings, themes, seen)


def main(path: Path | None = None, *, safe: bool = False) -> NoReturn:
    """Open the window on a project file, or on the demo, and run until it closes; the process ends with it.

    A safe start does without what earlier ones left: settings, recovered work, kept searches.

    Raises
    ------
    ProjectError
        When the file cannot be read; nothing has been shown then.
    """
    # before it is read: what another program writes meanwhile is noticed
    seen = None if path is None else fingerprint(path)
    design = load_project(path) if path is not None else load_scene()
    garbage.hold(NAME)
    app = application()
    # a terminal's Ctrl+C ends the program as any kill does; what is unsaved has its copy
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    window = open_window(design, path, Settings(safe=safe), quick=True, seen=seen)
    faultlog.start(window.filing.tell_of_fault)
    window.show()
    QTimer.singleShot(_SETTLED_MS, partial(garbage.let_go, NAME))
    end_at_once(app.exec())


def note_fault(error: Exception) -> Path:
    """Write down a fault that no window is there to tell of; where."""
    return faultlog.note(error)


def picture(
    design: Design, path: Path, *, system: System = SI, theme: ThemeChoice = "light", safe: bool = False
) -> None:
    """Write a PNG of the window on a design, without a screen if need be.

    Raises
    ------
    OSError
        When the file cannot be written.
    """
    app = application()
    document = Document(design)
    window = MainWindow(document, Settings(safe=safe), ThemeKeeper(app, theme))
    window.show_in(system)
    window.show()
    window.finish()
    # a picture answers no question, such as whether work of an earlier start is to be recovered
    window.filing.bar.hide()
    # the axes take their size at the first painting and stand right at the second
    for _ in range(3):
        app.processEvents()
    saved = window.grab().save(str(path), "PNG")
    window.deleteLater()
    if not saved:
        raise OSError(f"{path} could not be written")
