"""The shades of a vacuum field: bounds that stay while the speed moves, and colors in even steps of lightness."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from workbench.physics.arrays import Array
from workbench.units import System, from_display, unit_of

_STEPS = (1.0, 1.5, 2.0, 3.0, 5.0, 7.0)
_LEVELS: dict[str, tuple[float, ...]] = {
    "Pa": (0.0, 0.5, 0.7, *_STEPS, *(10.0 * step for step in _STEPS), 100.0, 150.0, 200.0),
    "in. w.c.": (
        0.0,
        *(0.001 * step for step in _STEPS[2:]),
        *(0.01 * step for step in _STEPS),
        0.1,
        0.15,
        0.2,
        0.3,
        0.5,
        0.7,
        1.0,
    ),
    "mm w.c.": (0.0, 0.05, 0.07, *(0.1 * step for step in _STEPS), *_STEPS, 10.0, 15.0, 20.0),
}
"""Bounds between the shades, by the unit of pressures at holes and in it. They stay while the speed moves: a shade
means one suction."""


def levels(system: System) -> Array:
    """Bounds between the shades. [Pa]"""
    return np.array(
        [from_display(bound, "hole_pressure", system) for bound in _LEVELS[unit_of("hole_pressure", system).label]]
    )


_ENDS = {
    "light": ((0.965, 0.030, 105.0), (0.640, 0.100, 238.0)),
    "dark": ((0.259, 0.015, 203.0), (0.500, 0.100, 236.0)),
}
"""Lightness, chroma and hue in Oklab of no suction and of the most, by theme: words stay readable on every shade."""
_NONE = {"light": (0.900, 0.055, 40.0), "dark": (0.330, 0.070, 40.0)}
"""The shade of air pushed up into the room: outside the series, on the warm side."""


@lru_cache(maxsize=4)
def shades(name: str, count: int) -> tuple[str, ...]:
    """Colours from below the first of `count` levels to above the last, even in lightness (Oklab, Ottosson 2020)."""
    (l0, c0, h0), (l1, c1, h1) = _ENDS[name]
    t = np.linspace(0.0, 1.0, count)
    # the hue turns early, so that weak suction is told from the paper by more than its lightness
    turned = t**0.7
    series = np.stack((l0 + (l1 - l0) * t, c0 + (c1 - c0) * turned, h0 + (h1 - h0) * turned), axis=1)
    return tuple(_hex(*row) for row in (_NONE[name], *series))


def _hex(lightness: float, chroma: float, hue: float) -> str:
    a, b = chroma * np.cos(np.radians(hue)), chroma * np.sin(np.radians(hue))
    to_lms = np.array(
        [[1.0, 0.3963377774, 0.2158037573], [1.0, -0.1055613458, -0.0638541728], [1.0, -0.0894841775, -1.2914855480]]
    )
    to_rgb = np.array(
        [
            [4.0767416621, -3.3077115913, 0.2309699292],
            [-1.2684380046, 2.6097574011, -0.3413193965],
            [-0.0041960863, -0.7034186147, 1.7076147010],
        ]
    )
    linear = np.clip(to_rgb @ (to_lms @ np.array([lightness, a, b])) ** 3, 0.0, 1.0)
    coded = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)
    return "#" + "".join(f"{round(255 * float(c)):02X}" for c in coded)
