"""How far the losses of a pipe tree may be off: straight pipe all alike, fittings and junctions each by its own band.

A published or measured band is taken as the middle 90 % of a lognormal factor on the loss. The pieces of a row of
fittings, of one make, are off alike; rows, runs and junctions are off independently.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from workbench.design.catalogue import junction_kinds, measured_band
from workbench.design.design import Uncertainty
from workbench.physics.arrays import Array
from workbench.physics.network import Scatter
from workbench.solving.site.assemble import Assembly
from workbench.solving.site.draws import normal
from workbench.solving.site.fit import Varied

EDGE = 1.645
"""Standard deviations within which 90 % of a normal distribution lie."""

_LEAST_FRICTION = 0.1
"""Factor on straight pipe below which no draw goes."""


class Spread(NamedTuple):
    """Logarithms of the factors on some losses: their middle, and one standard deviation."""

    middle: Array
    deviation: Array

    def at(self, z: Array) -> Array:
        """Factors at standard normal numbers z."""
        return np.asarray(np.exp(self.middle + self.deviation * z))


class PipeSpread(Struct, frozen=True, eq=False):
    """Least and most of straight pipe as factors, and the spread of each run's fittings (m,) and each junction (t,)."""

    friction: tuple[float, float]
    fittings: Spread
    junctions: Spread

    @property
    def names(self) -> tuple[Varied, ...]:
        """What each column of numbers varies: straight pipe, each run with fittings that may be off, each junction."""
        some = [Varied("fittings")] * (self._uncertain.size + self.junctions.deviation.size)
        return (Varied("straight pipe"), *some)

    @property
    def _uncertain(self) -> NDArray[np.intp]:
        return np.flatnonzero((self.fittings.deviation > 0.0) | (self.fittings.middle != 0.0))

    def scatter(self, z: Array) -> Scatter:
        """Factors on the losses for standard normal numbers (s, v), a column for each of `names`."""
        low, high = self.friction
        runs = self._uncertain
        by_run = np.zeros((len(z), self.fittings.deviation.size))
        by_run[:, runs] = z[:, 1 : 1 + runs.size]
        straight = 0.5 * (low + high) + 0.5 * (high - low) / EDGE * z[:, :1]
        return Scatter(
            friction=np.maximum(straight, _LEAST_FRICTION),
            fittings=self.fittings.at(by_run),
            junctions=self.junctions.at(z[:, 1 + runs.size :]),
        )


def pipe_spread(assembly: Assembly, uncertainty: Uncertainty) -> PipeSpread:
    """How far the losses of a pipe tree may be off.

    A band for fittings that differs from the default is the user's, and then the band of every fitting and junction.
    """
    given = uncertainty.fittings_low, uncertainty.fittings_high
    usual = Uncertainty()
    own = None if given == (usual.fittings_low, usual.fittings_high) else given
    junctions = [
        measured_band()
        if junction.straight_k is not None or junction.side_k is not None
        else junction_kinds()[junction.kind].band
        for _, junction in assembly.junctions
    ]
    return PipeSpread(
        friction=(uncertainty.friction_low, uncertainty.friction_high),
        fittings=_spread([[(part.k, own or part.band) for part in parts] for parts in assembly.fittings]),
        junctions=_spread([[(1.0, own or band)] for band in junctions]),
    )


def pipe_rows(assembly: Assembly, spread: PipeSpread, samples: int) -> Array:
    """Standard normal numbers of possible pipe trees (s, v), a column for each name of the spread."""
    usual = normal("pipe", samples, len(spread.names))
    learned = assembly.learned
    return usual if learned is None else learned.pipe_rows(samples, usual, assembly.tree)


def scatter_over(scatter: Scatter, assembly: Assembly) -> Scatter:
    """Factors on the losses over those that the network has in it already."""
    if assembly.learned is None:
        return scatter
    had = assembly.learned.losses(assembly.tree)
    return Scatter(*(np.asarray(own) / np.asarray(other) for own, other in zip(scatter, had, strict=True)))


def _spread(sums: Sequence[Sequence[tuple[float, tuple[float, float]]]]) -> Spread:
    """Spread of sums of coefficients, each with its band: to first order, weighted with what each has of the sum."""
    middle, deviation = np.zeros(len(sums)), np.zeros(len(sums))
    for j, parts in enumerate(sums):
        weight = np.array([abs(k) for k, _ in parts])
        if not weight.sum() > 0.0:
            continue
        low, high = np.log([band for _, band in parts]).T
        weight /= weight.sum()
        middle[j] = weight @ (0.5 * (low + high))
        deviation[j] = np.sqrt(np.sum((weight * 0.5 * (high - low) / EDGE) ** 2))
    return Spread(middle, deviation)
