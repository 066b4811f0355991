"""The headline path in a process of its own, on a screen of its own, under a real mouse.

The demonstration is opened, the speed is dragged to half, and the program itself tells what it made of that: the copy
it keeps of unsaved work holds the new speed.
"""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TypeVar

import pytest
from PySide6.QtCore import QPoint
from PySide6.QtWidgets import QApplication

from workbench.files.project import load_project
from workbench.files.scenes import load_scene
from workbench.gui.app import open_window
from workbench.solving import solve

pytestmark = pytest.mark.skipif(shutil.which("Xvfb") is None, reason="there is no Xvfb on this machine")

WIDTH, HEIGHT = 1280, 800
DEADLINE_S = 60.0
Found = TypeVar("Found")


def until(look: Callable[[], Found | None], what: str) -> Found:
    """Look again until something is found, or fail when the deadline is over."""
    over, wait = threading.Event(), threading.Event()
    timer = threading.Timer(DEADLINE_S, over.set)
    timer.start()
    try:
        while not over.is_set():
            found = look()
            if found is not None:
                return found
            wait.wait(0.05)
    finally:
        timer.cancel()
    pytest.fail(f"waited in vain for {what}")


@pytest.fixture
def screen() -> Iterator[str]:
    """A virtual screen; its name for DISPLAY."""
    read, write = os.pipe()
    server = subprocess.Popen(
        ["Xvfb", "-displayfd", str(write), "-screen", "0", f"{WIDTH + 200}x{HEIGHT + 200}x24", "-nolisten", "tcp"],
        pass_fds=(write,),
        stderr=subprocess.DEVNULL,
    )
    os.close(write)
    try:
        with os.fdopen(read) as told:
            number = told.readline().strip()
        assert number, "Xvfb did not start"
        yield f":{number}"
    finally:
        server.terminate()
        server.wait()


@pytest.fixture
def program(screen: str, tmp_path: Path) -> Iterator[subprocess.Popen[bytes]]:
    """The program on that screen, with a home of its own."""
    env = {**os.environ, "DISPLAY": screen, "QT_QPA_PLATFORM": "xcb", "SUBSLAB_WORKBENCH_HOME": str(tmp_path)}
    env.pop("WAYLAND_DISPLAY", None)
    # the first start is in the units of the country
    env["LC_ALL"] = "C.UTF-8"
    running = subprocess.Popen([sys.executable, "-m", "workbench"], env=env, stderr=subprocess.PIPE)
    try:
        yield running
    finally:
        if running.poll() is None:
            running.send_signal(signal.SIGKILL)
        running.wait()
        if running.stderr:
            running.stderr.close()


class Mouse:
    """A mouse and a keyboard on a screen, by the XTEST extension."""

    def __init__(self, screen: str) -> None:
        from Xlib import display

        self._display = display.Display(screen)

    def close(self) -> None:
        """Take the hand off."""
        self._display.close()

    def window(self) -> object | None:
        """The program's window, once it is on the screen."""
        for window in self._display.screen().root.query_tree().children:
            shape = window.get_geometry()
            if shape.width >= WIDTH and shape.height >= HEIGHT and window.get_attributes().map_state == 2:
                return window
        return None

    def origin(self, window: object) -> tuple[int, int]:
        """Where the upper left corner of a window is."""
        shape = window.get_geometry()  # type: ignore[attr-defined]
        return shape.x, shape.y

    def focus(self, window: object) -> None:
        """Let the keys go to a window; there is no window manager to do it."""
        from Xlib import X

        window.set_input_focus(X.RevertToParent, X.CurrentTime)  # type: ignore[attr-defined]
        self._display.sync()

    def drag(self, start: tuple[int, int], end: tuple[int, int], steps: int = 25) -> None:
        """Press, move in small steps, let go."""
        from Xlib import X
        from Xlib.ext import xtest

        xtest.fake_input(self._display, X.MotionNotify, x=start[0], y=start[1])
        xtest.fake_input(self._display, X.ButtonPress, 1)
        for step in range(1, steps + 1):
            at = [round(a + (b - a) * step / steps) for a, b in zip(start, end, strict=True)]
            xtest.fake_input(self._display, X.MotionNotify, x=at[0], y=at[1])
            self._display.sync()
        xtest.fake_input(self._display, X.ButtonRelease, 1)
        self._display.sync()

    def keys(self, held: str, letter: str) -> None:
        """Press a letter with another key held."""
        from Xlib import XK, X
        from Xlib.ext import xtest

        codes = [self._display.keysym_to_keycode(XK.string_to_keysym(name)) for name in (held, letter)]
        for code in codes:
            xtest.fake_input(self._display, X.KeyPress, code)
        for code in reversed(codes):
            xtest.fake_input(self._display, X.KeyRelease, code)
        self._display.sync()


@pytest.fixture
def mouse(screen: str) -> Iterator[Mouse]:
    """The mouse of that screen."""
    hand = Mouse(screen)
    yield hand
    hand.close()


def handle_places(qapp: QApplication) -> Callable[[float], tuple[int, int]]:
    """Where the speed's handle stands in the window, by laying the same window out here."""
    window = open_window(load_scene(), quick=True)
    window.resize(WIDTH, HEIGHT)
    window.show()
    qapp.processEvents()
    track = window.rail.track()

    def place(speed: float) -> tuple[int, int]:
        at = track.mapTo(window, QPoint(round(track.x_of(speed)), track.height() // 2))  # type: ignore[attr-defined]
        return at.x(), at.y()

    places = {speed: place(speed) for speed in (0.5, window.rail.speed())}
    window.filing.close()
    window.close()
    window.deleteLater()
    return places.__getitem__


def test_speed_dragged_in_a_real_window(
    qapp: QApplication, mouse: Mouse, program: subprocess.Popen[bytes], tmp_path: Path
) -> None:
    before = load_scene()
    place = handle_places(qapp)

    def on_screen() -> object | None:
        assert program.poll() is None, program.stderr.read().decode() if program.stderr else ""
        return mouse.window()

    window = until(on_screen, "the window")
    mouse.focus(window)
    left, top = mouse.origin(window)
    start, end = place(before.speed), place(0.5)

    def copy() -> Path | None:
        return next((tmp_path / "recovery").glob("unsaved-*.json"), None)

    mouse.drag((left + start[0], top + start[1]), (left + end[0], top + end[1]))
    kept = load_project(until(copy, "the copy of unsaved work"))
    assert kept.speed == pytest.approx(0.5, abs=0.01)
    then, now = solve(before), solve(kept)
    assert then.operating is not None
    assert now.operating is not None
    assert now.operating.flow < 0.75 * then.operating.flow
    assert now.operating.power < 0.6 * then.operating.power
    assert now.sound[0].level < then.sound[0].level - 5.0

    # taking the drag back leaves nothing unsaved, so that the window closes without a question
    mouse.keys("Control_L", "z")
    until(lambda: True if copy() is None else None, "the copy to go")
    mouse.keys("Control_L", "q")
    assert until(program.poll, "the end of the program") == 0
    assert program.stderr is not None
    assert "Traceback" not in program.stderr.read().decode()
