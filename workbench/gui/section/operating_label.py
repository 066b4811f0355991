"""The numbers of the operating point, beside it where no strong curve runs through them."""

from __future__ import annotations

import math
from itertools import product
from typing import Final

import numpy as np
import pyqtgraph as pg

from workbench.gui.kit.chart_items import ChartText

_STAY = 0.5
"""By so much nearer must a free place be before the numbers leave theirs, so that they do not hop during a drag."""

Line = tuple[np.ndarray, np.ndarray]
Spot = tuple[float, float]


def _far(place: Spot) -> float:
    """How far from the crossing an anchor sets the numbers; below and right of it is the nearest."""
    across, up = place
    return abs(across - 0.5) + 0.3 * abs(up - 0.5) + 0.1 * (across > 0) + 0.1 * (up > 0)


_PLACES: Final = tuple(sorted(product((-0.06, -0.4, -0.8, 1.06, 1.4), (-0.25, 0.5, 1.25, 2.2, 3.2, -1.2)), key=_far))
"""Where the numbers may stand about the operating point, as anchors, the nearest first."""


class OperatingLabel:
    """Puts a text beside a point of a plot."""

    def __init__(self, text: ChartText, box: pg.ViewBox) -> None:
        self._text, self._box = text, box
        self._place = _PLACES[0]

    def place(self, at: Spot, curves: list[Line], others: list[Spot], words: list[pg.TextItem]) -> None:
        """Put the text by `at`, clear of curves over ascending x, of other points and their words, in plot values."""
        (left, right), (low, high) = self._box.viewRange()
        across, down = self._box.width() / (right - left), self._box.height() / (high - low)
        here = np.array([(at[0] - left) * across, (high - at[1]) * down])
        size = self._text.textItem.boundingRect()
        lines = [((x - left) * across, (high - y) * down) for x, y in curves if x is not None and len(x)]
        spots = [((x - left) * across, (high - y) * down) for x, y in others]

        def box_of(text: pg.TextItem) -> tuple[float, float, float, float]:
            x, y = (text.pos().x() - left) * across, (high - text.pos().y()) * down
            wide, tall = text.textItem.boundingRect().width(), text.textItem.boundingRect().height()
            x, y = x - text.anchor.x() * wide, y - text.anchor.y() * tall
            return x, x + wide, y, y + tall

        taken = [box_of(text) for text in words if text.isVisible()]

        def faults(place: Spot) -> float:
            x, y = here - np.array(place) * (size.width(), size.height())
            ends = (x, x + size.width(), y, y + size.height())
            # of places that are all cut, the one that loses least
            over_edge = (-ends[0], ends[1] - self._box.width(), -ends[2], ends[3] - self._box.height())
            outside = sum(1.0 + edge / size.width() for edge in over_edge if edge > 0.0)
            hit = sum(ends[0] <= px <= ends[1] and ends[2] <= py <= ends[3] for px, py in spots)
            over = any(a < ends[1] and ends[0] < b and c < ends[3] and ends[2] < d for a, b, c, d in taken)
            return 10 * (outside + over) + hit + sum(_runs_through(line, ends) for line in lines)

        best = next((place for place in _PLACES if not faults(place)), None)
        if best is None:
            self._place = min(_PLACES, key=faults)
        elif _far(best) + _STAY < _far(self._place) or faults(self._place):
            self._place = best
        self._text.setAnchor(self._place)
        self._text.setPos(*at)


def _runs_through(curve: Line, ends: tuple[float, float, float, float]) -> bool:
    """Whether a curve over ascending x enters a box `left, right, top, bottom`; all in pixels."""
    left, right, top, bottom = ends
    at = np.interp(np.linspace(left, right, 24), *curve, left=math.nan, right=math.nan)
    low, high = np.minimum(at[1:], at[:-1]), np.maximum(at[1:], at[:-1])
    return bool(np.any((low <= bottom) & (high >= top)))
