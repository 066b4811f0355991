"""The field under a drawn floor read off a surface: solved for some floors, of second degree between them.

Its abscissae are the logarithms of what gives the field its shape, each over the transmissivity.
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from workbench.physics.arrays import Array
from workbench.physics.slab.mesh import logarithms
from workbench.physics.slab.network import Shapes, SlabNetwork

SOLVES = 1.5
"""Fields solved for each term of the second degree."""

LEAST_SOLVES = 48
FARTHEST = 3.0
"""Standard deviations from what was looked at, beyond which the surface goes on in a straight line."""

_MOST_LOG = 80.0
"""Logarithm that no conductance over a transmissivity reaches; a search may stray there and has to come back."""


class Properties(NamedTuple):
    """Even properties of floors, the batch shape in front.

    `transmissivity` (...), `zones` (..., z) factors on it, `leak_house` and `leak_outdoors` (...) [m/(s Pa)], `joints`
    and `earths` (..., g) conductances per length to the house and outdoors [m2/(s Pa)].
    """

    transmissivity: Array
    zones: Array
    leak_house: Array
    leak_outdoors: Array
    joints: Array
    earths: Array

    def phi(self) -> Array:
        """What gives the field its shape, (..., z + 1 + g): logarithms over the transmissivity."""
        t = self.transmissivity[..., None]
        leak = (self.leak_house + self.leak_outdoors)[..., None] / t
        return np.log(np.concatenate((self.zones, leak, (self.joints + self.earths) / t), axis=-1))

    def shapes(self) -> list[Shapes]:
        """The same, row by row, for a field to be solved."""
        return [_shapes_of(row, self.zones.shape[-1]) for row in self.phi()]

    def outdoor_shares(self) -> Array:
        """Share of each outlet that leads outdoors, shape (..., o)."""
        slab = self.leak_outdoors / (self.leak_house + self.leak_outdoors)
        return np.concatenate((slab[..., None], self.earths / (self.joints + self.earths)), axis=-1)


def _shapes_of(phi: Array, zones: int) -> Shapes:
    values = np.exp(phi)
    return Shapes(values[:zones], float(values[zones]), values[zones + 1 :])


def surface_of(network: SlabNetwork, properties: Properties) -> Surface:
    """The field solved for some of the floors, and a surface laid through what their meshes are."""
    phi = properties.phi()
    centre, scale = phi.mean(axis=0), np.maximum(phi.std(axis=0), 1e-3)
    z = (phi - centre) / scale
    features = _features(z)
    count = min(len(phi), max(LEAST_SOLVES, round(SOLVES * features.shape[1])))
    chosen = np.linspace(0, len(phi) - 1, count).round().astype(np.intp)
    zones = properties.zones.shape[-1]
    logs = np.stack([logarithms(network.solve(_shapes_of(phi[row], zones))) for row in chosen])
    design = features[chosen]
    # a hair of ridge on all but the mean keeps directions that hardly vary from being read into
    penalty = 1e-4 * len(chosen) * np.eye(design.shape[1])
    penalty[0, 0] = 0.0
    terms = np.asarray(np.linalg.solve(design.T @ design + penalty, design.T @ logs), dtype=np.float64)
    return Surface(centre, scale, terms)


class Surface(NamedTuple):
    """Logarithms of a mesh by second degree in (phi - centre) / scale: `terms` (features, size)."""

    centre: Array
    scale: Array
    terms: Array

    def at(self, phi: Array) -> Array:
        """Logarithms of the mesh, shape (..., size); beyond what was looked at they go on in a straight line."""
        z = (phi - self.centre) / self.scale
        beyond = z - np.clip(z, -FARTHEST, FARTHEST)
        square = _features(beyond)
        square[..., : 1 + z.shape[-1]] = 0.0
        return np.clip((_features(z) - square) @ self.terms, -_MOST_LOG, _MOST_LOG)


@lru_cache(maxsize=64)
def upper(d: int, above: int) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Rows and columns of a square's upper triangle."""
    rows, columns = np.triu_indices(d, above)
    return rows, columns


def _features(z: Array) -> Array:
    rows, columns = upper(z.shape[-1], 0)
    return np.concatenate((np.ones((*z.shape[:-1], 1)), z, z[..., rows] * z[..., columns]), axis=-1)
