"""A frame of a drag: solving beside painting, and the whole against a frame's time.

Two suction points under one drawn floor, with the chance on 500 samples; the speed moved to and fro.
"""

from __future__ import annotations

import itertools

from tests.benchmarks.measure import Result, in_turn, ms
from workbench.design.edit import set_speed
from workbench.files.scenes import load_scene
from workbench.gui.app import application, open_window
from workbench.solving import prepare

_ROUNDS = 150
_SPEEDS = [0.4 + 0.005 * i for i in range(100)]
_SPEEDS += _SPEEDS[::-1]


def run() -> list[Result]:
    """The window at its usual size.

    Repainting is the same frame with its answer already at hand: every curve, label and number takes the answer of
    another speed and the window is painted. A bare repaint, in which nothing changed, is given beside it.
    """
    app = application()
    design = load_scene("reading-room")
    window = open_window(design)
    window.resize(1280, 800)
    window.show()
    window.finish()
    for _ in range(5):
        app.processEvents()
    prepared = prepare(design)
    answers = itertools.cycle([prepared.at(speed) for speed in _SPEEDS])
    solving_speeds, frame_speeds = itertools.cycle(_SPEEDS), itertools.cycle(_SPEEDS)

    def solve() -> None:
        speed = next(solving_speeds)
        prepare(set_speed(design, speed)).at(speed)

    def repaint() -> None:
        window.document.answered.emit(prepared, next(answers))
        app.processEvents()

    def frame() -> None:
        window.rail.moved.emit(next(frame_speeds))
        app.processEvents()

    solving, painting = in_turn(solve, repaint, _ROUNDS)
    frames, bare = in_turn(frame, window.repaint, _ROUNDS)
    window.filing.close()
    window.deleteLater()
    return [
        Result(
            "solving in a drag against repainting the window with the answer at hand",
            ms(solving) / ms(painting),
            0.5,
            f"{ms(solving):.2f} ms against {ms(painting):.2f} ms, median of {_ROUNDS}",
        ),
        Result(
            "whole frame of a drag against 16.7 ms",
            ms(frames) / 16.7,
            1.0,
            f"{ms(frames):.2f} ms a frame; a bare repaint with nothing changed {ms(bare):.2f} ms; median of {_ROUNDS}",
        ),
    ]
