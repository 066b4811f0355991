"""A frame of a drag: solving beside painting, and the whole against a bare repaint of the same window."""

from __future__ import annotations

import itertools

from tests.benchmarks.measure import Result, in_turn, ms
from workbench.design.record import with_value
from workbench.files.scenes import load_scene
from workbench.gui.app import application, open_window
from workbench.solve import prepare

_ROUNDS = 120


def run() -> list[Result]:
    """Two suction points, the window at its usual size, the speed moved to and fro."""
    app = application()
    design = load_scene("reading-room")
    window = open_window(design)
    window.resize(1280, 800)
    window.show()
    for _ in range(5):
        app.processEvents()
    speeds = itertools.cycle([0.4 + 0.005 * i for i in range(100)])

    def solve() -> None:
        speed = next(speeds)
        prepare(with_value(design, ("speed",), speed)).at(speed)

    def repaint() -> None:
        window.repaint()

    def frame() -> None:
        window.rail.moved.emit(next(speeds))
        app.processEvents()

    solving, painting = in_turn(solve, repaint, _ROUNDS)
    frames, bare = in_turn(frame, repaint, _ROUNDS)
    window.filing.close()
    window.deleteLater()
    return [
        Result(
            "solving in a drag against repainting the window",
            ms(solving) / ms(painting),
            0.5,
            f"{ms(solving):.2f} ms against {ms(painting):.2f} ms, median of {_ROUNDS}",
        ),
        Result(
            "whole frame of a drag against 16.7 ms",
            ms(frames) / 16.7,
            1.0,
            f"{ms(frames):.2f} ms a frame, a bare repaint takes {ms(bare):.2f} ms, median of {_ROUNDS}",
        ),
    ]
