"""A real window for the attack to kill: ``python -m tests.stress.driven JOURNAL [FILE] [--safe]``.

It does what is asked of it, a JSON object a line on the standard input, and answers with its state. On `drive` it
edits, saves and searches by itself, and writes every state of the design into the journal with its time.
"""

from __future__ import annotations

import json
import os
import random
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import NoReturn

from PySide6.QtCore import QObject, QSocketNotifier, QTimer
from PySide6.QtWidgets import QApplication, QPushButton

from workbench.design import Design
from workbench.design.record import with_value
from workbench.files.project import project_text
from workbench.gui import app
from workbench.gui.kit.question import Question
from workbench.gui.shell.held_file import fingerprint_of
from workbench.gui.window import CHOICES, MainWindow

_LOOK_MS = 5


class Driver(QObject):
    """The hand at the window."""

    def __init__(self, journal: int) -> None:
        super().__init__()
        self._journal = journal
        self._window: MainWindow | None = None
        self._rest = b""
        self._random = random.Random()
        self._saves = 0.0
        self._number = 0
        self._reply = ""
        self._asked: list[str] = []
        self._acts = QTimer(self, singleShot=True)
        self._acts.timeout.connect(self._act)
        self._answers = QTimer(self, interval=_LOOK_MS)
        self._answers.timeout.connect(self._answer)
        self._ears = QSocketNotifier(0, QSocketNotifier.Type.Read, self)
        self._ears.activated.connect(self._hear)

    @property
    def window(self) -> MainWindow:
        """The window."""
        assert self._window is not None
        return self._window

    def begin(self) -> None:
        """Take hold of the window once it is there."""
        (self._window,) = [each for each in QApplication.topLevelWidgets() if isinstance(each, MainWindow)]
        self._answers.start()
        self._state()

    # --- what is asked for ---

    def _hear(self) -> None:
        data = os.read(0, 65536)
        if not data:
            # whoever asks is gone
            os._exit(3)
        *lines, self._rest = (self._rest + data).split(b"\n")
        for line in lines:
            asked = json.loads(line)
            getattr(self, f"do_{asked.pop('do')}")(**asked)

    def do_state(self) -> None:
        """Nothing but an answer."""
        self._state()

    def do_edit(self) -> None:
        """Change the design."""
        self._edit()
        self._state()

    def do_save(self, reply: str = "") -> None:
        """Save, and answer with this what may be asked."""
        self._reply = reply
        self.window.filing.save()
        self._state()

    def do_press(self, words: str) -> None:
        """Press a button of the bar."""
        for button in self.window.filing.bar.findChildren(QPushButton):
            if button.text() == words:
                button.click()
                break
        self._state()

    def do_search(self) -> None:
        """Begin a search."""
        self._search()
        self._state()

    def do_limit(self, size: int) -> None:
        """Let no file grow beyond a size [bytes]; below 0, let them again."""
        import resource

        _, most = resource.getrlimit(resource.RLIMIT_FSIZE)
        resource.setrlimit(resource.RLIMIT_FSIZE, (most if size < 0 else size, most))
        self._state()

    def do_close(self, reply: str = "") -> None:
        """Close the window."""
        self._reply = reply
        print(json.dumps({"closing": time.monotonic()}), flush=True)
        self.window.close()

    def do_drive(self, seed: int, saves: float, slow: float) -> None:
        """Act from now on: with a share of saves, on a disk that takes up to so long to write [s]."""
        self._random = random.Random(seed)
        self._saves = saves
        flush, chance = os.fsync, random.Random(seed)

        def slowly(handle: int) -> None:
            time.sleep(chance.uniform(0.0, slow))
            flush(handle)

        os.fsync = slowly if slow else flush
        self._note("state")
        self._state()
        self._acts.start(0)

    def _state(self) -> None:
        window, bar = self.window, self.window.filing.bar
        asked, self._asked = self._asked, []
        path = window.document.path
        print(
            json.dumps(
                {
                    "print": _print(window.document.design),
                    "unsaved": window.isWindowModified(),
                    "path": None if path is None else str(path),
                    "bar": bar.text,
                    "stands": [key for key in ("offer", "kept", "gone", "fault", "start") if bar.stands(key)],
                    "asked": asked,
                    "searching": CHOICES in window.pages._pages and window.pages.page(CHOICES).searching(),
                }
            ),
            flush=True,
        )

    # --- what it does by itself ---

    def _act(self) -> None:
        chance = self._random.random()
        if chance < self._saves:
            self._save()
        elif chance < self._saves + 0.06:
            self.window.document.undo()
            self._note("state")
        elif chance < self._saves + 0.10:
            self._search()
        else:
            self._edit()
            self._note("state")
        self._acts.start(self._random.choice((0, 10, 50, 150, 400, 900)))

    def _edit(self) -> None:
        self._number += 1
        words = f"Edit {self._number} of {os.getpid()}"
        changes: list[Callable[[Design], Design]] = [
            lambda design: with_value(design, ("note",), words),
            lambda design: with_value(
                with_value(design, ("note",), words),
                ("intake", "runs", 0, "length"),
                round(self._random.uniform(1.0, 9.0), 3),
            ),
            lambda design: with_value(
                with_value(design, ("note",), words), ("speed",), round(self._random.uniform(0.5, 1.0), 3)
            ),
        ]
        self.window.pages.proposed.emit(self._random.choice(changes), "Change note")

    def _save(self) -> None:
        self._note("saving")
        print(json.dumps({"saving": time.monotonic()}), flush=True)
        if self.window.filing.save():
            self._note("saved")

    def _search(self) -> None:
        self.window.pages.turn_to(CHOICES)
        self.window.pages.page(CHOICES).search()

    def _note(self, what: str) -> None:
        entry = {"what": what, "print": _print(self.window.document.design), "time": time.monotonic()}
        os.write(self._journal, json.dumps(entry).encode() + b"\n")

    def _answer(self) -> None:
        question = QApplication.activeModalWidget()
        if isinstance(question, Question):
            self._asked.append(question.asked)
            question.buttons[self._reply or "stay"].click()


def _print(design: Design) -> str:
    return fingerprint_of(project_text(design).encode("utf-8"))


def main(argv: list[str]) -> NoReturn:
    """Open the window as the program does, and drive it."""
    given = [each for each in argv if each != "--safe"]
    journal = os.open(given[0], os.O_WRONLY | os.O_CREAT | os.O_APPEND)
    app.application()
    driver = Driver(journal)
    QTimer.singleShot(0, driver.begin)
    app.main(Path(given[1]) if len(given) > 1 else None, safe=len(given) < len(argv))


if __name__ == "__main__":
    main(sys.argv[1:])
