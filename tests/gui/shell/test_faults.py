"""Unexpected errors: one line, the work kept at once, a report without anything of the user, a log that stays small."""

from __future__ import annotations

import sys
import threading
import time
from pathlib import Path

import pytest
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from tests.gui.hand import Hand
from workbench.design.record import with_value
from workbench.files.project import load_project, save_project
from workbench.files.scenes import load_scene
from workbench.gui.shell import faultlog
from workbench.gui.shell.faultlog import report, start

TOLD = "Something went wrong inside the program; your work is still here."


@pytest.fixture
def watched(hand: Hand, monkeypatch: pytest.MonkeyPatch) -> Hand:
    """A window that hears of faults, as in the program itself."""
    monkeypatch.setattr(sys, "excepthook", sys.excepthook)
    start(hand.window.filing.tell_of_fault)
    return hand


def raised(message: object, kind: type[Exception] = ValueError) -> None:
    """A fault in a slot, as Qt hands it on."""
    try:
        raise kind(message)
    except kind as error:
        sys.excepthook(kind, error, error.__traceback__)


def test_a_fault_keeps_the_work_at_once(watched: Hand, own_home: Path) -> None:
    watched.document.propose(lambda design: with_value(design, ("title",), "In danger"), "Change title")
    raised("a slip")
    (copy,) = (own_home / "recovery").glob("*.json")
    assert load_project(copy).title == "In danger"
    assert watched.bar.text == TOLD


def test_a_fault_in_a_slot_of_qt_is_told(watched: Hand, qtbot: QtBot) -> None:
    def slot() -> None:
        raise ZeroDivisionError

    with qtbot.capture_exceptions():  # the plug-in takes the hook for its own
        start(watched.window.filing.tell_of_fault)
        QTimer.singleShot(0, slot)
        qtbot.waitUntil(lambda: watched.bar.text == TOLD, timeout=3000)
    watched.press("Copy error report", watched.bar)
    assert "ZeroDivisionError" in QApplication.clipboard().text()


def test_a_fault_in_a_thread_is_told_in_the_window_s_own(watched: Hand, qtbot: QtBot) -> None:
    def work() -> None:
        raise RuntimeError("a slip of the thread")

    thread = threading.Thread(target=work)
    thread.start()
    thread.join()
    qtbot.waitUntil(lambda: watched.bar.text == TOLD, timeout=3000)
    assert "a slip of the thread" in report()


def test_a_storm_is_one_line_with_a_count_and_a_small_log(watched: Hand, qtbot: QtBot, own_home: Path) -> None:
    shown: list[str] = []
    look = QTimer(interval=20)
    look.timeout.connect(lambda: shown.append(watched.bar.text))
    look.start()
    begun = time.monotonic()
    for i in range(3000):
        raised(f"frame {i}")
        if i % 100 == 0:
            qtbot.wait(1)
    took = time.monotonic() - begun
    qtbot.waitUntil(lambda: watched.bar.text == f"{TOLD} It happened 3000 times.", timeout=3000)
    assert len(set(shown)) <= took / 0.25 + 3
    assert (own_home / "faults.log").stat().st_size < 10_000
    assert "3000 times:" in report()
    # closed, the same does not come back; another fault does
    watched.press("Close", watched.bar)
    raised("frame 0")
    qtbot.wait(400)
    assert watched.bar.text == ""
    raised("another", KeyError)
    qtbot.waitUntil(lambda: watched.bar.text.startswith(TOLD), timeout=3000)


def test_the_log_stays_small_whatever_is_written_into_it(watched: Hand, own_home: Path, qtbot: QtBot) -> None:
    def deep(levels: int, kind: type[Exception]) -> None:
        if levels:
            deep(levels - 1, kind)
        else:
            raise kind("words of a message " * 1000)

    for i in range(300):
        kind = type(f"Fault{i}", (Exception,), {})
        try:
            deep(200, kind)
        except Exception as error:
            sys.excepthook(kind, error, error.__traceback__)
    logs = list(own_home.glob("faults.log*"))
    assert len(logs) == 2
    assert sum(each.stat().st_size for each in logs) < 2 * faultlog._SIZE + 50_000


def private(*backwards: str) -> list[str]:
    """What somebody entered: found nowhere in the program, and so not in these tests either."""
    return [each[::-1] for each in backwards]


def test_the_report_holds_nothing_of_the_user(watched: Hand, tmp_path: Path, own_home: Path) -> None:
    """Names, figures, paths: in the message, in one beneath it, in a script that the program ran through."""
    first, last, thing, sign, length, depth = private("eilittO", "frodsrenreW", "dehs", "京東", "52.714", "5.21")
    secret = tmp_path / f"{first} {last}"
    secret.mkdir()
    script = secret / "script.py"
    script.write_text(f"def run(act):\n    act()  # for {first}\n")
    space: dict[str, object] = {}
    exec(compile(script.read_text(), str(script), "exec"), space)

    def act() -> None:
        try:
            with_value(load_scene(), ("intake", "runs", 0, "length"), -float(length))
        except ValueError:
            raise KeyError(f"{first}’s {thing} at {length}, {secret}/{last}.json") from None

    def beneath() -> None:
        try:
            (secret / "gone.json").read_text()
        except OSError as error:
            raise RuntimeError(f"while reading the plan of {last}, {depth} m, {sign}") from error

    def entered() -> None:
        with_value(load_scene(), ("title",), [first, last])

    for each in (act, beneath, entered):
        run = space["run"]
        assert callable(run)
        try:
            run(each)
        except Exception as error:
            sys.excepthook(type(error), error, error.__traceback__)
    raised(f"'int' object has no attribute '{first}'", AttributeError)
    for text in (report(), (own_home / "faults.log").read_text(encoding="utf-8")):
        for each in (first, last, thing, sign, length, depth, str(tmp_path), str(Path.home())):
            assert each not in text
        for kept in ("KeyError", "RuntimeError: while reading the plan of", "FileNotFoundError: ENOENT", "script.py"):
            assert kept in text
        assert "ValidationError" in text
        assert "File workbench/design/record.py, line " in text
        assert "'int' object has no attribute" in text


def test_the_report_tells_what_it_ran_on(own_home: Path) -> None:
    text = report()
    for what in ("Sub-slab Workbench", "Python 3.", "PySide6", "pyqtgraph", "numpy", "No errors were logged."):
        assert what in text


def test_a_fault_is_told_and_reported_where_no_log_can_be_written(
    qtbot: QtBot, own_home: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    own_home.write_text("a file where the folder should be")
    monkeypatch.setattr(sys, "excepthook", sys.excepthook)
    file = tmp_path / "job.json"
    save_project(load_scene(), file)
    hand = Hand(qtbot, load_project(file), file)
    start(hand.window.filing.tell_of_fault)
    raised("not a number")
    assert hand.bar.text == TOLD
    assert "ValueError: not a number" in report()
    hand.settle()
    hand.press("Close", hand.bar)
    # what it said over stands again
    assert "cannot be kept" in hand.bar.text


def test_a_fault_in_telling_of_a_fault_ends_there(watched: Hand, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object) -> None:
        raise RuntimeError("the bar is broken")

    monkeypatch.setattr(watched.bar, "stand", broken)
    raised("not a number")
    assert "ValueError: not a number" in report()
