"""What waits until the hand rests, what is worked out beside the window, and the marks on the rail that follow."""

from __future__ import annotations

import threading

import pytest
from pytestqt.qtbot import QtBot

from tests.floors import job, slab, three
from workbench.design.edit import set_speed
from workbench.design.record import with_value
from workbench.design.slab import Target
from workbench.gui.app import open_window
from workbench.gui.kit.background import Background
from workbench.gui.kit.debounce import OnceAtRest
from workbench.gui.window import MainWindow

pytestmark = pytest.mark.qt_log_ignore("^This plugin does not support", extend=True)


def test_many_touches_are_answered_once_and_late(qtbot: QtBot) -> None:
    answers: list[int] = []
    resting = OnceAtRest(lambda: answers.append(1))
    for _ in range(5):
        resting.touch()
        qtbot.wait(20)
    assert answers == []
    assert resting.pending()
    qtbot.waitUntil(lambda: answers == [1], timeout=2000)
    assert not resting.pending()
    resting.touch()
    resting.flush()
    assert answers == [1, 1]
    resting.flush()
    resting.touch()
    resting.stop()
    qtbot.wait(220)
    assert answers == [1, 1]


def test_work_beside_the_window_is_done_elsewhere_and_heard_here(qtbot: QtBot) -> None:
    background = Background()
    heard: list[tuple[object, bool]] = []
    here = threading.current_thread()
    background.answered.connect(lambda found: heard.append((found, threading.current_thread() is here)))
    background.ask(lambda: threading.current_thread() is here)
    assert background.busy()
    qtbot.waitUntil(lambda: bool(heard), timeout=5000)
    assert heard == [(False, True)]
    assert not background.busy()


def test_only_the_newest_answer_is_told_and_a_refusal_is_a_sentence(qtbot: QtBot) -> None:
    background = Background()
    heard: list[object] = []
    background.answered.connect(heard.append)
    background.failed.connect(heard.append)
    for number in range(4):
        background.ask(lambda number=number: number)
    qtbot.waitUntil(lambda: not background.busy(), timeout=5000)
    assert heard == [3]

    def refuse() -> None:
        raise ValueError("no such floor")

    background.ask(refuse)
    qtbot.waitUntil(lambda: not background.busy(), timeout=5000)
    assert heard == [3, "no such floor"]
    background.ask(lambda: 5)
    background.drop()
    qtbot.wait(100)
    assert heard == [3, "no such floor"]


@pytest.fixture
def window(qtbot: QtBot) -> MainWindow:
    window = open_window(job(three(), floor=slab(), target=Target(suction=5.0), speed=0.8))
    qtbot.addWidget(window, before_close_func=lambda w: w.document.saved_as(w.document.path))
    window.show()
    qtbot.waitUntil(lambda: window.document.complete, timeout=10000)
    return window


def test_the_rail_marks_the_lowest_speed_once_the_hand_rests(window: MainWindow, qtbot: QtBot) -> None:
    document, track = window.document, window.rail.track()
    said = track.accessibleDescription
    qtbot.waitUntil(lambda: "Meets target from" in said(), timeout=5000)
    sure = document.prepared.lowest.confident
    assert sure is not None
    # shown rounded up, so that the figure shown holds too
    assert f"{-(-round(1e6 * sure) // 1000) / 10:.1f}".removesuffix(".0") in said()
    document.propose(lambda design: set_speed(design, 0.5), "Change speed")
    assert "Meets target from" in said()
    assert "Saved 80 %" in said()
    document.propose(lambda design: with_value(design, ("target", "suction"), 60.0), "Change target")
    assert "Meets target from" not in said()
    qtbot.wait(400)
    assert "Meets target from" not in said()
    document.undo()
    qtbot.waitUntil(lambda: "Meets target from" in said(), timeout=5000)
