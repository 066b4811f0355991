"""A random hand at the real window, in a process of its own: ``python -m tests.stress.at_window ORDER``.

Each act is written down before it is done, so that one which takes the process down is known. Whatever reaches a
handler of last resort is a failure: an exception, a warning of Python or Qt; so is a step that holds the window up, and
memory that goes on growing.
"""

from __future__ import annotations

import ctypes
import faulthandler
import functools
import gc
import json
import os
import re
import sys
import threading
import time
import traceback
import warnings
from collections.abc import Iterator
from pathlib import Path
from random import Random
from typing import Any

from PySide6.QtCore import QCoreApplication, QEvent, QMessageLogContext, Qt, QTimer, QtMsgType, qInstallMessageHandler
from PySide6.QtGui import QPixmapCache
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QFileDialog, QMenu

from tests.stress.acts import ACTS, act_shut
from tests.stress.pace import slowness
from workbench.design import Design
from workbench.design.record import differing, value_at
from workbench.files.scenes import load_scene
from workbench.gui.app import application, open_window
from workbench.gui.kit.question import Question
from workbench.gui.shell.document import Document

HELD_UP = 1.0
"""Seconds after which a step has held the window up."""
MEASURED_EVERY = 250
"""Acts between two looks at the memory."""
IGNORED = ("This plugin does not support", "propagateSizeHints")

Listed = list[tuple[str, int]]


def listed(seed: int, count: int) -> Listed:
    """Acts by their kind, with the seed of each."""
    rng = Random(seed)
    kinds, weights = list(ACTS), [weight for weight, _ in ACTS.values()]
    return [(kind, rng.getrandbits(48)) for kind in rng.choices(kinds, weights, k=count)]


class Sitting:
    """One person at one window, and all that goes wrong meanwhile."""

    def __init__(self, order: dict[str, Any]) -> None:
        self._order = order
        self._folder = Path(order["folder"])
        self._log = Path(order["log"]).open("w", encoding="utf-8", errors="backslashreplace")  # noqa: SIM115
        self.failures: list[dict[str, Any]] = []
        self.took: list[float] = []
        self.memory: list[tuple[int, int]] = []
        self.undone = self.most = 0
        self.rng = Random(0)
        self._act = -1
        self._inside = False
        self._step, self._begun = 0, 0.0
        self._stacks: dict[int, str] = {}
        self._opened = False
        self._hook()
        self.open_window(None)

    # --- what an act asks for -----------------------------------------------------------------------------------------

    @property
    def document(self) -> Document:
        return self.window.document

    def open_window(self, name: str | None) -> None:
        """A window on a scene, in the place of the one before."""
        before = getattr(self, "window", None)
        if before is not None:
            # the program has one window in its life: another one would be dressed along with the new
            before.deleteLater()
            before._themes.deleteLater()
            QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
        # as the program itself opens it
        self.window = open_window(load_scene(name) if name else load_scene(), quick=True)
        self.window.resize(1280, 800)
        self.window.show()
        self.window.activateWindow()
        self.first = self.document.design
        self.document.opened.connect(self._note_opened)
        self.document.changed.connect(self._note_changed)

    def undo(self) -> None:
        """Undo as the menu does."""
        self.window._undo.trigger()

    def redo(self) -> None:
        """Redo as the menu does."""
        self.window._redo.trigger()

    def _note_opened(self) -> None:
        self._opened = True

    def _note_changed(self, design: Design) -> None:
        if self._opened:
            self._opened, self.first = False, design

    def undone_by(self) -> int:
        """How many steps there are to undo."""
        return len(self.document._undo)

    def count_undone(self, steps: int) -> None:
        """Steps that were undone to the first design and compared."""
        self.undone += steps

    @staticmethod
    def difference(one: Design, other: Design) -> str:
        """Where two designs differ."""
        return "\n".join(
            f"{'/'.join(map(str, each))}: {value_at(one, each)!r} | {value_at(other, each)!r}"[:400]
            for each in differing(one, other)[:10]
        )

    def turn(self, seconds: float) -> Iterator[str]:
        """Let the window's loop run for so long."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            time.sleep(0.005)
            yield ""

    def rest(self) -> Iterator[str]:
        """Let it run until nothing is awaited any more."""
        for _ in range(4000):
            if not (self.document.waiting or self.document.working()):
                return
            time.sleep(0.005)
            yield ""

    # --- what goes wrong ----------------------------------------------------------------------------------------------

    def fail(self, signature: str, detail: str) -> None:
        """Note a failure with the act it came by."""
        self.failures.append({"signature": signature, "detail": detail, "act": self._act})

    def _hook(self) -> None:
        def raised(kind: type[BaseException], error: BaseException, trace: Any) -> None:
            self.fail(_signature(error), "".join(traceback.format_exception(kind, error, trace)))

        def unraisable(what: Any) -> None:
            if what.exc_value is not None:
                raised(what.exc_type, what.exc_value, what.exc_traceback)

        def warned(message: Any, kind: type[Warning], file: str, line: int, *_: Any) -> None:
            self.fail(f"{kind.__name__} in {Path(file).name}:{line}", f"{message}\n{''.join(traceback.format_stack())}")

        def told(kind: QtMsgType, _: QMessageLogContext, words: str) -> None:
            if kind not in (QtMsgType.QtDebugMsg, QtMsgType.QtInfoMsg) and not any(each in words for each in IGNORED):
                stack = "".join(traceback.format_stack())
                self.fail(f"Qt says: {re.sub(r'0x[0-9a-f]+|[0-9.]+', '#', words)[:120]}", f"{words}\n{stack}")

        sys.excepthook, sys.unraisablehook = raised, unraisable
        threading.excepthook = lambda what: raised(what.exc_type, what.exc_value or what.exc_type(), what.exc_traceback)
        warnings.simplefilter("always")
        warnings.showwarning = warned  # type: ignore[assignment]
        qInstallMessageHandler(told)
        self._answer_dialogs()
        application()
        self._usher = QTimer(interval=20)
        self._usher.timeout.connect(self._lead_out)
        self._usher.start()
        threading.Thread(target=self._watch, args=(threading.get_ident(),), daemon=True).start()

    def _answer_dialogs(self) -> None:
        """What stops for a person is answered at once, by the numbers of the act."""

        def to_open(*_: Any) -> tuple[str, str]:
            there = sorted(each.name for each in self._folder.glob("*"))
            name = self.rng.choice(["", "gone.json", "/dev/null", *there])
            return (str(self._folder / name) if name else ""), ""

        def to_save(_parent: Any = None, _title: str = "", start: str = "", *_: Any) -> tuple[str, str]:
            name = self.rng.choice(["", "a", "b.json", "c.json", "nowhere/d.json", Path(start).name])
            return (str(self._folder / name) if name else ""), ""

        def to_question(question: Question) -> int:
            question.buttons[self.rng.choice(list(question.buttons))].click()
            return 1

        QFileDialog.getOpenFileName, QFileDialog.getSaveFileName = to_open, to_save  # type: ignore[assignment]
        Question.exec = to_question  # type: ignore[assignment, method-assign]
        for scene in ("studio", "reading-room"):
            from workbench.files.project import save_project

            save_project(load_scene(scene), self._folder / f"{scene}.json")
        (self._folder / "junk.json").write_text("{", encoding="utf-8")

    def _watch(self, window: int) -> None:
        """Note where the window's thread is in a step that holds it up."""
        while True:
            time.sleep(0.05)
            step = self._step
            if self._begun and time.monotonic() - self._begun > HELD_UP and step not in self._stacks:
                self._stacks[step] = "".join(traceback.format_stack(sys._current_frames()[window]))

    def _lead_out(self) -> None:
        """Answer a menu that keeps a click waiting in a loop of its own, as menus of buttons do."""
        if not self._inside:
            return
        popup = QApplication.activePopupWidget()
        if isinstance(popup, QMenu):
            actions = [each for each in popup.actions() if each.isEnabled() and not each.isSeparator()]
            if actions and self.rng.random() < 0.8:
                popup.setActiveAction(self.rng.choice(actions))
                QTest.keyClick(popup, Qt.Key.Key_Return)
            popup.close()
        elif popup is not None:
            popup.close()
        elif (modal := QApplication.activeModalWidget()) is not None and self.rng.random() < 0.1:
            modal.close()

    # --- acting -------------------------------------------------------------------------------------------------------

    def act(self, number: int, kind: str, seed: int) -> None:
        """Do one act, the loop turning between its steps."""
        self._act, self.rng = number, Random(seed)
        begun, longest = time.monotonic(), 0.0
        if kind not in ("popup", "key", "click") and self.rng.random() < 0.7:
            # a menu left open would be all that is in sight
            while (popup := QApplication.activePopupWidget()) is not None:
                popup.close()
                popup.hide()
        steps = ACTS[kind][1](self.rng, self)
        words: str | None = f"[{kind}]"
        while words is not None:
            if words:
                self._log.write(f"{number} {kind} {seed}: {words!r}\n")
                self._log.flush()
            words, seconds = self._timed(lambda: next(steps, None), inside=True)
            longest = max(longest, seconds)
            _, seconds = self._timed(_turn_loop)
            longest = max(longest, seconds)
        self.took.append(longest)
        self._log.write(f"{number} done in {time.monotonic() - begun:.3f} s\n")

    def _timed(self, call: Any, *, inside: bool = False) -> tuple[Any, float]:
        waited = _starved()
        self._step += 1
        self._begun, self._inside = time.monotonic(), inside
        try:
            given = call()
        except Exception as error:
            given = None
            if "already deleted" in str(error) and not _in_program(error):
                # what the hand reached for went away under it
                self._begun = 0.0
                return None, 0.0
            # an act's own call into the window raises what a person's would have shown
            sys.excepthook(type(error), error, error.__traceback__)
        begun, self._begun, self._inside = self._begun, 0.0, False
        # what other programs took of the machine is no fault of this one
        seconds = time.monotonic() - begun - (_starved() - waited)
        stack = self._stacks.pop(self._step, "")
        if seconds > HELD_UP and seconds > HELD_UP * slowness():
            self.fail(f"held up in {_place(stack)}", f"{seconds:.2f} s\n{stack}")
        return given, seconds

    def run(self) -> None:
        """All acts of the order, or those that fit its time."""
        acts: Listed = self._order["acts"] or listed(self._order["seed"], self._order["count"])
        Path(self._order["listed"]).write_text(json.dumps(acts), encoding="utf-8")
        end = max(self._order["until"], time.monotonic() + self._order["least"])
        stop_at = self._order.get("stop_at")
        for number, (kind, seed) in enumerate(acts):
            self.act(number, kind, seed)
            if time.monotonic() > end or (stop_at and any(each["signature"] == stop_at for each in self.failures)):
                break
            if (number + 1) % MEASURED_EVERY == 0:
                self._measure(number + 1)
        self.write()

    def _measure(self, acts: int) -> None:
        """The memory, once the window is back where it began."""
        for _ in act_shut(self.rng, self):
            _turn_loop()
        window = self.window
        self.document.open(load_scene(), None)
        window._theme_actions["light"].trigger()
        window.set_text_size(100)
        window.resize(1280, 800)
        for title in [*window.pages.titles[1:], window.pages.titles[0]]:
            window.pages.turn_to(title)
            _turn_loop()
            for _ in self.rest():
                _turn_loop()
        self.most = max(self.most, _resident())
        QPixmapCache.clear()
        gc.collect()
        for each in gc.get_objects():
            # what is kept to be found again is bounded, and takes long to fill
            if isinstance(each, functools._lru_cache_wrapper):
                each.cache_clear()
        for _ in range(3):
            gc.collect()
            QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
        _trim()
        self.memory.append((acts, _resident()))
        self._log.write(
            f"memory {_resident() / 1e6:.0f} MB, at most {self.most / 1e6:.0f} MB, "
            f"{len(QApplication.allWidgets())} widgets, {len(gc.get_objects())} objects\n"
        )

    def write(self) -> None:
        """Leave what was found for whoever sent the order."""
        found = {
            "took": self.took,
            "failures": self.failures,
            "memory": self.memory,
            "undone": self.undone,
            "most": self.most,
        }
        Path(self._order["result"]).write_text(json.dumps(found), encoding="utf-8")


def _turn_loop() -> None:
    for _ in range(2):
        QApplication.processEvents()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)


def _signature(error: BaseException) -> str:
    """An exception by its type and the line of the program, or else of the tests, that raised it."""
    frames = traceback.extract_tb(error.__traceback__)
    ours = [each for each in frames if "workbench" in Path(each.filename).parts] or list(frames)
    return f"{type(error).__name__} in {Path(ours[-1].filename).name}:{ours[-1].name}" if ours else repr(error)[:80]


def _in_program(error: BaseException) -> bool:
    return any("workbench" in Path(each.filename).parts for each in traceback.extract_tb(error.__traceback__))


def _place(stack: str) -> str:
    """The innermost function of the program in a written stack."""
    found = re.findall(r'File ".*?/workbench/([^"]+)", line \d+, in (\S+)', stack)
    return ":".join(found[-1]) if found else "the window's loop"


def _starved() -> float:
    """How long the window's thread has waited for a processor that others had [s]; 0 where nobody tells."""
    try:
        return int(Path("/proc/self/schedstat").read_text(encoding="ascii").split()[1]) / 1e9
    except (OSError, ValueError, IndexError):
        return 0.0


def _resident() -> int:
    """Memory that the process holds [bytes]; 0 where nobody tells."""
    try:
        return int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1]) * os.sysconf("SC_PAGE_SIZE")
    except (OSError, ValueError, IndexError):
        return 0


def _trim() -> None:
    """Give back what the C library keeps of freed memory, where it can."""
    if sys.platform == "linux":
        ctypes.CDLL(None).malloc_trim(0)


def main() -> None:
    """Do what the order says."""
    order = json.loads(Path(sys.argv[1]).read_text(encoding="utf-8"))
    with Path(order["fault"]).open("w", encoding="utf-8") as fault:
        faulthandler.enable(fault, all_threads=True)
        Sitting(order).run()
        # what Qt takes apart at the end of a process is not the window's doing
        os._exit(0)


if __name__ == "__main__":
    main()
