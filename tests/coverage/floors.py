"""Synthetic floors: a population of truths, drawn by seed.

What is drawn, natural logarithms with one standard deviation unless said otherwise:

- Floor 6 to 14 m by 5 to 10 m, a quarter of them with a corner cut out. Fill by class, medians after W. W. Nazaroff and
  A. V. Nero, Radon and Its Decay Products in Indoor Air (1988; from memory) and, for gravel, S. Ergun (1952; from
  memory); sd ln 5, gravel ln 3 (a judgement), 0.1 m thick.
- Leakage of the slab 1e-6 m/(s Pa), sd ln 5: D. A. Olson and R. L. Corsi, Atmospheric Environment 35 (2001) 4201
  (abstract) measured 1.39e-6 and 5.1e-7. Its share that leads outdoors: log-odds of 0.30, sd 1.2 (a judgement).
- Joints by the cubic law of the width entered, times 0.6 for what is clogged: sd 1.2 for the house, 0.7 for each side
  (judgements). Ground beside the footing 2.2e-7 m2/(s Pa): sd 1.6 for the house, 0.5 for each side (M. E. Harr,
  Groundwater and Seepage, 1962, for flow about a slit, in soil of 1e-11 m2; the sd a judgement).
- Uneven floors: fields with a correlation of exp(-distance / 2 m) (L. W. Gelhar, Stochastic Subsurface Hydrology, 1993;
  from memory) on ln k, ln leakage and the odds of the outdoors, and two cracks to the house.
- Around a pit: skin 0.2 / (2 pi T), sd 1.5 (form of A. F. van Everdingen, 1953; from memory; size a judgement), that
  goes as the radius to the power -m, ln m 0, sd 0.4; inertia of a bed, beta rho / (4 pi^2 t^2 r) with
  beta = 0.55 / sqrt(k) (J. C. Ward, 1964), sd 1.2, that goes as the radius to a power between -1 and -3, evenly.
- Slabs that follow the outdoors as measured ones do: a floor is kept with the likelihood of its mean share under
  log-odds of 0.25, sd 1.0. One house measured 0.18 to 0.46 by the seasons, with an open drain, which raises it
  (C. Holton, 2013 and 2015; Y. Guo, 2015); the spread is a judgement.

A floor is dropped where the vacuum reads no flow in its lowest step, the system would move less than 1 L/s, or half of
the holes would feel less than 1 Pa: nobody lays a fan over it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from tests.coverage.field import Answer, Layer, solve
from tests.coverage.mesh import Mesh, clearance, holds, triangulate
from workbench.physics.arrays import Array

TESTED_VOLUME, DUG_VOLUME = 0.008, 0.030
VISCOSITY, DENSITY = 1.80e-5, 1.21
THICKNESS, SLAB_THICKNESS = 0.1, 0.1


class Kind(NamedTuple):
    """How uneven a floor is: sd of ln k, of ln leakage and of the log-odds of the outdoors, and its cracks."""

    fill: float
    leak: float
    odds: float
    cracks: int


KINDS = {"even": Kind(0.0, 0.0, 0.0, 0), "uneven": Kind(0.6, 0.8, 0.6, 2), "very": Kind(1.2, 1.5, 0.6, 2)}
HOLES = {1: (5, 2), 3: (8, 4), 6: (10, 5), 12: (12, 6)}
"""Holes that are read and holes that are not, by the number of suction points."""

_FILLS = (
    ("gravel", 3.11e-7, math.log(3.0), 0.30),
    ("fine gravel or crushed stone with fines", 1e-8, math.log(5.0), 0.35),
    ("coarse sand", 5e-10, math.log(5.0), 0.25),
    ("medium sand", 1e-10, math.log(5.0), 0.10),
)
_CORRELATION = 2.0
_WAVES = 200
_TRIES = 200


def radius(volume: float) -> float:
    """Of the half ball that a hollow is taken for. [m]"""
    return math.cbrt(1.5 * volume / math.pi)


@dataclass(frozen=True, eq=False)
class Floor:
    """A floor and all that is true of it.

    `tested`, `dug` are its field with the hollows of the test and with the pits; `skin` [Pa s/m3] and `inertia`
    [Pa s2/m6], each (2, n), what is lost at the rims of the one and the other besides. The first `read` of the `holes`
    (k, 2) are read. `widths` (m,) are the joints' as entered, 0 where sealed. [m]
    """

    outline: Array
    fill: str
    widths: Array
    pits: Array
    holes: Array
    read: int
    tested: Answer
    dug: Answer
    skin: Array
    inertia: Array

    def flow_alone(self, point: int, suction: float) -> float:
        """Flow at a test hollow held at a suction [Pa] while the other points are plugged. [m3/s]"""
        a = float(self.tested.pits[point, point] + self.skin[0, point])
        b = float(self.inertia[0, point])
        return 2.0 * suction / (a + math.sqrt(a * a + 4.0 * b * suction))


def draw_floor(rng: np.random.Generator, kind: Kind, points: int) -> Floor:
    """A floor of the population with so many suction points.

    Raises
    ------
    RuntimeError
        If none of many draws is like a house.
    """
    outline = _outline(rng)
    read, unread = HOLES[points]
    pits = _scattered(rng, outline, points, 0.6, 2.5, np.empty((0, 2)), 0.0)
    holes = _scattered(rng, outline, read + unread, 0.3, 1.0, pits, 0.8)
    mesh_radii = (radius(TESTED_VOLUME), radius(DUG_VOLUME))
    for _ in range(_TRIES):
        fill, median, sd, _ = _FILLS[rng.choice(len(_FILLS), p=[row[3] for row in _FILLS])]
        permeability = median * math.exp(rng.normal(0.0, sd))
        leak = 1e-6 * math.exp(rng.normal(0.0, math.log(5.0)))
        flow_length = math.sqrt(permeability * THICKNESS / VISCOSITY / leak)
        mesh = triangulate(outline, pits, mesh_radii, float(np.clip(0.3 * flow_length, 0.1, 0.2)))
        widths = np.full(len(outline), rng.choice([3e-4, 5e-4, 1e-3]))
        widths[rng.random(len(outline)) < 0.25] = 0.0
        layer = _layer(rng, kind, mesh, outline, permeability, leak, widths)
        tested = solve(mesh, layer, np.full(points, mesh_radii[0]), holes)
        apart = math.log(tested.rest_mean / (1.0 - tested.rest_mean)) - math.log(0.25 / 0.75)
        if rng.random() > math.exp(-0.5 * apart**2):
            continue
        dug = solve(mesh, layer, np.full(points, mesh_radii[1]), holes)
        skin, inertia = _rims(rng, permeability, points)
        return Floor(outline, fill, widths, pits, holes, read, tested, dug, skin, inertia)
    raise RuntimeError("no floor like a house was found")


def _outline(rng: np.random.Generator) -> Array:
    wide, deep = round(rng.uniform(6.0, 14.0), 1), round(rng.uniform(5.0, 10.0), 1)
    if rng.random() >= 0.25:
        return np.array([(0.0, 0.0), (wide, 0.0), (wide, deep), (0.0, deep)])
    x, y = round(wide * rng.uniform(0.5, 0.7), 1), round(deep * rng.uniform(0.5, 0.7), 1)
    return np.array([(0.0, 0.0), (wide, 0.0), (wide, y), (x, y), (x, deep), (0.0, deep)])


def _scattered(
    rng: np.random.Generator, outline: Array, count: int, to_wall: float, apart: float, others: Array, clear: float
) -> Array:
    """Places on the floor at random, clear of its walls and of each other; closer where they would not fit."""
    found: list[Array] = []
    while len(found) < count:
        for place in rng.uniform(outline.min(axis=0), outline.max(axis=0), (200, 2)):
            if not holds(outline, place[None])[0] or clearance(outline, place[None])[0] < to_wall:
                continue
            if len(others) and np.hypot(*(others - place).T).min() < clear:
                continue
            if found and np.hypot(*(np.array(found) - place).T).min() < apart:
                continue
            found.append(np.round(place, 2))
            if len(found) == count:
                break
        apart *= 0.8
    return np.array(found)


def _layer(
    rng: np.random.Generator, kind: Kind, mesh: Mesh, outline: Array, permeability: float, leak: float, widths: Array
) -> Layer:
    middles = mesh.centroids
    fill = permeability * THICKNESS / VISCOSITY * np.exp(uneven_field(rng, middles, kind.fill))
    leaks = leak * np.exp(uneven_field(rng, middles, kind.leak))
    odds = math.log(0.3 / 0.7) + rng.normal(0.0, 1.2) + uneven_field(rng, middles, kind.odds)
    outdoors = 1.0 / (1.0 + np.exp(-odds))
    sides = len(outline)
    joints = 0.6 * _cubic(widths) * np.exp(rng.normal(0.0, 1.2) + rng.normal(0.0, 0.7, sides))
    ground = 2.2e-7 * np.exp(rng.normal(0.0, 1.6) + rng.normal(0.0, 0.5, sides))
    cracks = tuple(_crack(rng, outline) for _ in range(kind.cracks))
    return Layer(fill, leaks * (1.0 - outdoors), leaks * outdoors, joints, ground, cracks)


def _cubic(width: Array | float) -> Array:
    """Conductance of a crack per length, d^3 / (12 mu z) (plane Poiseuille flow). [m2/(s Pa)]"""
    return np.asarray(width, dtype=np.float64) ** 3 / (12.0 * VISCOSITY * SLAB_THICKNESS)


def _crack(rng: np.random.Generator, outline: Array) -> tuple[Array, float]:
    """A crack of 2 to 4 m and 0.3 to 1 mm somewhere on the floor: places along it, the conductance of each."""
    step = 0.05
    while True:
        start = rng.uniform(outline.min(axis=0), outline.max(axis=0))
        angle, length = rng.uniform(0.0, 2.0 * math.pi), rng.uniform(2.0, 4.0)
        places = start + np.arange(0.0, length, step)[:, None] * np.array([math.cos(angle), math.sin(angle)])
        if np.all(holds(outline, places)):
            return places, 0.6 * float(_cubic(rng.uniform(3e-4, 1e-3))) * step


def uneven_field(rng: np.random.Generator, places: Array, sd: float) -> Array:
    """A Gaussian field with correlation exp(-distance / 2 m), as a sum of plane waves drawn from its spectrum."""
    if sd == 0.0:
        return np.zeros(len(places))
    # in the plane the spectrum goes as (1 + L^2 w^2)^(-3/2), whose radius is drawn by inverting its distribution
    number = np.sqrt((1.0 - rng.random(_WAVES)) ** -2 - 1.0) / _CORRELATION
    angle, phase = rng.uniform(0.0, 2.0 * math.pi, (2, _WAVES))
    waves = number * np.stack((np.cos(angle), np.sin(angle)))
    # single precision, at which cosines are several times as fast
    summed = np.cos((places @ waves + phase).astype(np.float32)).sum(axis=1, dtype=np.float64)
    return np.asarray(sd * math.sqrt(2.0 / _WAVES) * summed)


def _rims(rng: np.random.Generator, permeability: float, points: int) -> tuple[Array, Array]:
    """Skin and inertia at the rims, (2, n) each: of the tested hollows and of the pits as dug."""
    wider = radius(DUG_VOLUME) / radius(TESTED_VOLUME)
    transmissivity = permeability * THICKNESS / VISCOSITY
    skin = 0.2 * np.exp(rng.normal(0.0, 1.5, points)) / (2.0 * math.pi * transmissivity)
    power = np.exp(rng.normal(0.0, 0.4, points))
    beta = 0.55 / math.sqrt(permeability)
    bed = beta * DENSITY / (4.0 * math.pi**2 * THICKNESS**2 * radius(TESTED_VOLUME))
    inertia = bed * np.exp(rng.normal(0.0, 1.2, points))
    exponent = rng.uniform(1.0, 3.0, points)
    return np.stack((skin, skin * wider**-power)), np.stack((inertia, inertia * wider**-exponent))
