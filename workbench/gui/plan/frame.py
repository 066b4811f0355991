"""Metres of the floor on pixels of the sheet: zoom, pan, and what the pointer snaps to."""

from __future__ import annotations

from collections.abc import Iterable

from msgspec import Struct
from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QPolygonF, QTransform

from workbench.design.plan_layout import round_length
from workbench.design.slab import Position
from workbench.units import FOOT, INCH, System

Place = tuple[float, float]
"""East and north. [m]"""
Bounds = tuple[float, float, float, float]
"""Least and most east, least and most north. [m]"""

_CLOSEST, _FARTHEST = 2000.0, 1.5
"""Pixels to a metre."""
_ALIGN = 7.0
"""Pixels within which a place is drawn onto the line of a neighbour."""


def snap_step(system: System) -> float:
    """The grid that places snap to: 0.1 m, or an inch. [m]"""
    return system.round_in("length", INCH, 0.1)


def fine_step(system: System) -> float:
    """The step of an arrow key held with Shift: 1 cm, or a quarter inch. [m]"""
    return system.round_in("length", INCH / 4.0, 0.01)


class Snapped(Struct, frozen=True):
    """A place after snapping, and the neighbours on whose vertical or horizontal it was drawn."""

    place: Place
    vertical: Place | None = None
    horizontal: Place | None = None


class PlanFrame:
    """Where metres lie on a widget."""

    def __init__(self) -> None:
        self.scale = 50.0
        self._east, self._north = 0.0, 0.0
        self._width, self._height = 1.0, 1.0

    def resize(self, width: float, height: float) -> None:
        """Take a new size; the place in the middle stays there."""
        self._width, self._height = max(width, 1.0), max(height, 1.0)

    def fit(self, bounds: Bounds, margins: tuple[float, float, float, float]) -> None:
        """Show bounds in full, with margins (left, top, right, bottom) in pixels kept free."""
        left, top, right, bottom = margins
        width, height = max(self._width - left - right, 40.0), max(self._height - top - bottom, 40.0)
        wide, high = max(bounds[1] - bounds[0], 0.5), max(bounds[3] - bounds[2], 0.5)
        self.scale = min(max(min(width / wide, height / high), _FARTHEST), _CLOSEST)
        self._east = (bounds[0] + bounds[1]) / 2.0 + (right - left) / 2.0 / self.scale
        self._north = (bounds[2] + bounds[3]) / 2.0 + (top - bottom) / 2.0 / self.scale

    def pan(self, by: QPointF) -> None:
        """Move the sheet by pixels."""
        self._east -= by.x() / self.scale
        self._north += by.y() / self.scale

    def zoom(self, factor: float, about: QPointF) -> None:
        """Draw nearer or farther, a place of the widget staying where it is."""
        east, north = self.metres(about)
        self.scale = min(max(self.scale * factor, _FARTHEST), _CLOSEST)
        there = self.pixels((east, north))
        self.pan(about - there)

    def pixels(self, place: Place) -> QPointF:
        """A place on the widget."""
        return QPointF(
            self._width / 2.0 + self.scale * (place[0] - self._east),
            self._height / 2.0 - self.scale * (place[1] - self._north),
        )

    def metres(self, point: QPointF) -> Place:
        """The place under a point of the widget."""
        return (
            self._east + (point.x() - self._width / 2.0) / self.scale,
            self._north - (point.y() - self._height / 2.0) / self.scale,
        )

    def line(self, places: Iterable[Place]) -> QPolygonF:
        """Places on the widget, in order."""
        return QPolygonF([self.pixels(place) for place in places])

    def rect(self, bounds: Bounds) -> QRectF:
        """Bounds on the widget."""
        return QRectF(self.pixels((bounds[0], bounds[3])), self.pixels((bounds[1], bounds[2])))

    def transform(self) -> QTransform:
        """Metres to pixels, for lines that are kept in metres."""
        origin = self.pixels((0.0, 0.0))
        return QTransform(self.scale, 0.0, 0.0, -self.scale, origin.x(), origin.y())

    def key(self) -> tuple[float, ...]:
        """Changes when anything would be drawn elsewhere."""
        return self.scale, self._east, self._north, self._width, self._height

    def snap(self, place: Place, neighbours: Iterable[Place], step: float) -> Snapped:
        """The place a pointer means: on the line of a neighbour when it is near one, else on the grid."""
        reach = _ALIGN / self.scale
        x, vertical = _aligned(place[0], [(n[0], n) for n in neighbours], reach, step)
        y, horizontal = _aligned(place[1], [(n[1], n) for n in neighbours], reach, step)
        return Snapped((x, y), vertical, horizontal)

    def grid_step(self, system: System) -> float:
        """Metres between the lines of the grid, so that they stand some 40 to 100 pixels apart."""
        return _round_up(40.0 / self.scale, system)

    def bar(self, system: System) -> float:
        """A round length of some 60 to 150 pixels. [m]"""
        return _round_up(60.0 / self.scale, system)


def _aligned(value: float, near: list[tuple[float, Place]], reach: float, step: float) -> tuple[float, Place | None]:
    best = min(near, key=lambda entry: abs(entry[0] - value), default=None)
    if best is not None and abs(best[0] - value) <= reach:
        return best[0], best[1]
    return round(round(value / step) * step, 6), None


def _round_up(least: float, system: System) -> float:
    return round_length(least, system.round_in("length", FOOT, 1.0))


def pairs(places: Iterable[Position]) -> list[Place]:
    """Positions as pairs."""
    return [(place.x, place.y) for place in places]


def around(places: Iterable[Place]) -> Bounds:
    """The bounds of some places. ValueError for none."""
    xs, ys = zip(*places, strict=True)
    return min(xs), max(xs), min(ys), max(ys)
