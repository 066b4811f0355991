"""Work beside the window: how long the window waits for it."""

from __future__ import annotations

import time
from functools import partial

from pytestqt.qtbot import QtBot

from workbench.gui.kit.background import Background, Found


def _slowly(seconds: float) -> float:
    time.sleep(seconds)
    return seconds


def _at_once() -> str:
    return "here"


def _answer(background: Background, qtbot: QtBot, seconds: float) -> None:
    with qtbot.waitSignal(background.answered):
        assert background.ask(partial(_slowly, seconds), 0.001) is None


def test_what_took_long_is_not_waited_for_again(qtbot: QtBot) -> None:
    """But for what is quick, and for the slow once it was quick."""
    background = Background()
    _answer(background, qtbot, 0.2)
    begun = time.monotonic()
    assert background.ask(partial(_slowly, 0.02), 0.05) is None
    assert time.monotonic() - begun < 0.02
    qtbot.waitUntil(lambda: not background.busy())
    assert background.ask(_at_once, 5.0) == Found("here")
    assert background.ask(partial(_slowly, 0.0), 5.0) == Found(0.0)
