"""A floor as a small mesh of conductances between its suction points, its test holes and the ways air comes in.

The field under a slab is linear, so points, holes and outlets are joined as by a network with positive conductances
(a Schur complement of the field's own matrix). Whatever positive numbers stand in the mesh, it is a possible floor: the
coupling of the points is symmetric and positive definite, no hole lies above the strongest pit, and colder outdoors
never add suction. Uncertainty is therefore put on the logarithms of the mesh, never on the coupling itself.

A. Berman, R. J. Plemmons, Nonnegative Matrices in the Mathematical Sciences (1994), ch. 6; P. G. Doyle, J. L. Snell,
Random Walks and Electric Networks (1984), for the weights as harmonic measure.
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from workbench.physics.arrays import Array

_BESIDE = 0.02
"""Of the ways air comes in, the least that a hole in a pit's disc lies open to beside the pit, so that a hole which the
pit hardly reaches is a possible floor there too; a judgement."""

_LEAST = 1e-7
"""Least conductance and weight, relative; rounding and sampling between cells may leave a hair less than nothing."""


_LEAST_VALUE = 1e-13
"""Least of the coupling's own values over the greatest."""

_WIDEST = -27.0
"""Logarithm of the least conductance over the greatest that is told from nothing; 1e-12."""

_FARTHEST = 300.0
"""Logarithm of a conductance beyond which none is told from nothing or from a short circuit."""


class Seen(NamedTuple):
    """What points, holes and the mean of the floor see of flows and of the outlets, at unit transmissivity.

    `points` (n, n) suction at the layer's edge of pit i per flow of point j; `holes` (k, n) the same at the holes;
    `point_shares` (n, o), `hole_shares` (k, o), `mean_shares` (o,) how far each follows an outlet's suction with
    nothing running, the outlets together making 1.
    """

    points: Array
    holes: Array
    point_shares: Array
    hole_shares: Array
    mean_shares: Array


class Shape(Struct, frozen=True):
    """How many points n, holes k and outlets o a mesh has, and where its logarithms stand in one row of them."""

    n: int
    k: int
    o: int

    @property
    def pairs(self) -> slice:
        """Conductances between points, pairs (i, j) with i < j."""
        return slice(0, self.n * (self.n - 1) // 2)

    @property
    def outlets(self) -> slice:
        """Conductances from points to outlets, (n, o)."""
        start = self.pairs.stop
        return slice(start, start + self.n * self.o)

    @property
    def weights(self) -> slice:
        """Weights of points at holes, (k, n)."""
        start = self.outlets.stop
        return slice(start, start + self.k * self.n)

    @property
    def rests(self) -> slice:
        """Weights of outlets at holes with every pit held, (k, o)."""
        start = self.weights.stop
        return slice(start, start + self.k * self.o)

    @property
    def means(self) -> slice:
        """Shares of outlets in the mean of the floor, (o,)."""
        start = self.rests.stop
        return slice(start, start + self.o)

    @property
    def size(self) -> int:
        """Logarithms in all."""
        return int(self.means.stop)


@lru_cache(maxsize=32)
def _upper(n: int) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    rows, columns = np.triu_indices(n, 1)
    return rows, columns


def logarithms(seen: Seen) -> Array:
    """Logarithms of the mesh that a field amounts to, shape (size,), in the order of `Shape`."""
    # where hardly anything leaks, or two points share their place, rounding must not turn a direction over
    values, directions = np.linalg.eigh(seen.points)
    values = np.maximum(values, _LEAST_VALUE * values[-1])
    inverse = (directions / values) @ directions.T
    n = len(inverse)
    least = _LEAST * np.sqrt(np.outer(np.diagonal(inverse), np.diagonal(inverse)))
    rows, columns = _upper(n)
    pairs = np.maximum(-inverse, least)[rows, columns]
    outlets = np.maximum(inverse @ seen.point_shares, _LEAST * np.diagonal(inverse)[:, None])
    weights = np.maximum(seen.holes @ inverse, _LEAST)
    # at a hole beyond the last cell's centre the slope is carried on, below nothing where it is steep
    beside = _LEAST + _BESIDE * np.maximum(seen.hole_shares, 0.0)
    rests = np.maximum(seen.hole_shares - weights @ seen.point_shares, beside)
    means = np.maximum(seen.mean_shares, _LEAST)
    return np.asarray(np.log(np.concatenate([part.ravel() for part in (pairs, outlets, weights, rests, means)])))


class Mesh(NamedTuple):
    """A mesh at work, each with the batch shape in front.

    `resistance` (n, n): suction of the layer at pit i per flow of point j, for the conductances' own unit; `shares`
    (n, o) how far each pit follows an outlet at rest; `weights` (k, n) how far a hole follows each pit, `rests` (k, o)
    each outlet with the pits held, together 1; `means` (o,) shares of the outlets in the floor's mean.
    """

    resistance: Array
    shares: Array
    weights: Array
    rests: Array
    means: Array

    def felt_at_points(self, outdoors: Array) -> Array:
        """Part of the outdoors' suction felt in the pits at rest, (..., n), of outlets open to them by (..., o)."""
        return np.asarray(np.matmul(self.shares, outdoors[..., None])[..., 0])

    def felt_at_holes(self, outdoors: Array, own: Array | None = None) -> Array:
        """Part of the outdoors' suction felt at the holes at rest, shape (..., k).

        `own` (..., k, o) is how far each hole's own surroundings open the outlets to the outdoors, in place of
        `outdoors`.
        """
        pits = self.felt_at_points(outdoors)
        by_pits = np.matmul(self.weights, pits[..., None])[..., 0]
        if own is None:
            return np.asarray(by_pits + np.matmul(self.rests, outdoors[..., None])[..., 0])
        return np.asarray(by_pits + np.sum(self.rests * own, axis=-1))


def mesh_of(logs: Array, shape: Shape) -> Mesh:
    """The mesh of logarithms of shape (..., size): any numbers give a possible floor."""
    resistance, shares = joined(logs, shape)
    weights, rests = weights_of(logs[..., shape.weights], logs[..., shape.rests], shape)
    return Mesh(resistance, shares, weights, rests, means_of(logs, shape))


def joined(logs: Array, shape: Shape) -> tuple[Array, Array]:
    """The part of a mesh between points and outlets: `resistance` and `shares` of `Mesh`."""
    n, o = shape.n, shape.o
    batch = logs.shape[:-1]
    # to one scale, and nothing below what rounding tells from nothing beside the greatest
    joints = logs[..., : shape.outlets.stop]
    greatest = joints.max(axis=-1, keepdims=True)
    joints = np.exp(np.maximum(joints - greatest, _WIDEST))
    scale = np.exp(np.clip(-greatest, -_FARTHEST, _FARTHEST))[..., None]
    outlets = joints[..., shape.outlets].reshape(*batch, n, o)
    total = outlets.sum(axis=-1)
    if n == 1:
        resistance = 1.0 / total[..., None]
        shares = outlets / total[..., None]
    else:
        rows, columns = _upper(n)
        inverse = np.zeros((*batch, n, n))
        pairs = joints[..., shape.pairs]
        inverse[..., rows, columns] = -pairs
        inverse[..., columns, rows] = -pairs
        here = np.arange(n)
        inverse[..., here, here] = total - inverse.sum(axis=-1)
        resistance = np.linalg.inv(inverse)
        shares = np.matmul(resistance, outlets)
    return scale * resistance, shares


def means_of(logs: Array, shape: Shape) -> Array:
    """`means` of `Mesh`."""
    means = np.exp(logs[..., shape.means] - logs[..., shape.means].max(axis=-1, keepdims=True))
    return np.asarray(means / means.sum(axis=-1, keepdims=True))


def weights_of(weights: Array, rests: Array, shape: Shape) -> tuple[Array, Array]:
    """Weights at holes of points (..., k, n) and of outlets (..., k, o), of their logarithms (..., k n), (..., k o)."""
    n, k, o = shape.n, shape.k, shape.o
    batch = np.broadcast_shapes(weights.shape[:-1], rests.shape[:-1])
    whole = np.empty((*batch, k, n + o))
    whole[..., :n] = weights.reshape(*weights.shape[:-1], k, n)
    whole[..., n:] = rests.reshape(*rests.shape[:-1], k, o)
    whole = np.exp(whole - whole.max(axis=-1, keepdims=True, initial=-700.0))
    whole /= whole.sum(axis=-1, keepdims=True)
    return whole[..., :n], whole[..., n:]
