"""A job without a drawn floor: every point by its own test, every hole by its own readings.

What a hole lets through of the season is the same as on a drawn floor of which nothing more is known: what measured
houses say.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from workbench.physics.arrays import Array
from workbench.solving.site.fit import Varied, each_nudged
from workbench.solving.site.ground_state import GroundState

MEAN_SHARE = 0.25
"""Of the house's draw-down, the part that appears across a slab: Layton's house 0.18 to 0.46 by seasons, 0.10 to 0.33
by months, with an open drain in it (C. Holton 2013, 2015; Y. Guo 2015); the US EPA's duplex in Indianapolis 0.00 to
0.35. Widened for two houses: `MEAN_SHARE_SPREAD` is of the logit, 5 to 95 % are 0.06 to 0.63."""

MEAN_SHARE_SPREAD = 1.0

_DIGGING_SPREAD = 0.3
"""How far the pattern's own law of digging may be off, as a power of its factor; a judgement."""

_SHARE, _SHARE_SPREAD = math.log(0.2), 3.0
"""Logarithm of what a hole feels of what its point asks, before it is read; a judgement."""

_PROBED = 0.02
"""Flow at which what a hole feels is held against what its point asks. [m3/s]"""

_LEAST = 1e-3
"""Of what was found, the least that is left of a resistance."""

_OWN = 0.6
"""Logit of a hole's or point's own share of the season, about the floor's mean; a judgement."""


class Known(NamedTuple):
    """Resistance at a tested hollow, linear [Pa s/m3] and inertial [Pa s2/m6], and what is open of it.

    `root` (2, 2) is that of the covariance of a step test's pair; `spread` that of the logarithm of both together, for
    what was entered or classed.
    """

    linear: float
    inertial: float
    root: tuple[tuple[float, float], tuple[float, float]]
    spread: float


class ShareModel(Struct, frozen=True):
    """Unknowns of a job without a plan; see `fit.Model`.

    `digging` (n, 2): factors on linear and inertial resistance from the tested hollow to the pit, by the point's
    pattern; `read` are the pairs of hole and point that were read.
    """

    points: tuple[str, ...]
    holes: tuple[str, ...]
    known: tuple[Known, ...]
    digging: tuple[tuple[float, float], ...]
    read: tuple[tuple[int, int], ...]

    @property
    def unknowns(self) -> tuple[Varied, ...]:
        """As `fit.Model`."""
        own = [Varied("ground", name) for name in self.points]
        return (
            *own,
            *own,
            Varied("digging"),
            *(Varied("hole", self.holes[h]) for h, _ in self.read),
            Varied("season at holes"),
            *(Varied("season at hole", name) for name in self.holes),
            *(Varied("season at holes") for _ in self.points),
        )

    @property
    def unevenness(self) -> tuple[tuple[float, float], ...]:
        """As `fit.Model`: there is no floor to be uneven."""
        return ((1.0, 1.0),)

    def meter(self, x: Array) -> Array:
        """As `fit.Model`: the flow meter's own error stands in the step test's covariance already."""
        return np.zeros(x.shape[:-1])

    def strain(self, x: Array) -> Array:
        """As `fit.Model`: nothing here is looked at beforehand."""
        return np.zeros((*x.shape[:-1], 0))

    def with_digging(self, digging: tuple[tuple[float, float], ...]) -> ShareModel:
        """The same with other pits."""
        return replace(self, digging=digging)

    def state(self, x: Array, unevenness: Array) -> GroundState:
        """As `fit.Model`."""
        n, k, r = len(self.points), len(self.holes), len(self.read)
        ends = np.cumsum([n, n, 1, r, 1, k])
        first, second, digging, felt, season, at_holes, at_points = np.split(x, ends, axis=-1)
        a, b = self._resistances(first, second)
        factors = np.array(self.digging)
        power = 1.0 + _DIGGING_SPREAD * digging
        near = np.stack((a, a * factors[:, 0] ** power, a), axis=-2)
        asked = a + b * _PROBED
        holes = np.full((*x.shape[:-1], k, n), np.nan)
        for at, (h, i) in enumerate(self.read):
            if np.isnan(holes[..., h, :]).all():
                # a point that was not drawn on when the hole was read is not counted upon
                holes[..., h, :] = 0.0
            holes[..., h, i] = np.exp(_SHARE + _SHARE_SPREAD * felt[..., at]) * asked[..., i]
        mean = math.log(MEAN_SHARE / (1.0 - MEAN_SHARE)) + MEAN_SHARE_SPREAD * season
        return GroundState(
            layer=np.zeros((*x.shape[:-1], n, n)),
            near=near,
            inertial=np.stack((b, b * factors[:, 1] ** power, b), axis=-2),
            holes=holes,
            rest_points=1.0 / (1.0 + np.exp(-(mean + _OWN * at_points))),
            rest_holes=1.0 / (1.0 + np.exp(-(mean + _OWN * at_holes))),
            mean_rest=1.0 / (1.0 + np.exp(-mean[..., 0])),
        )

    def altered(self, x: Array, unevenness: Array, fill: Array) -> GroundState:
        """The ground of one row x (d,) since its permeability changed by factors (w,); what holes feel of a flow stays.

        Without a plan nobody knows how far a hole would follow.
        """
        found = self.state(np.broadcast_to(x, (len(fill), x.size)), unevenness)
        return found._replace(near=found.near / fill[:, None, None])

    def beside(self, x: Array, unevenness: Array, nudge: float) -> GroundState:
        """As `fit.Model`."""
        return self.state(each_nudged(x, nudge), unevenness)

    def _resistances(self, first: Array, second: Array) -> tuple[Array, Array]:
        """Linear and inertial resistance of every point at its tested hollow, shape (..., n)."""
        linear, inertial = (np.array([getattr(known, part) for known in self.known]) for part in ("linear", "inertial"))
        root = np.array([known.root for known in self.known])
        factor = np.exp(np.array([known.spread for known in self.known]) * first)
        a = (linear + root[:, 0, 0] * first) * factor
        b = (inertial + root[:, 1, 0] * first + root[:, 1, 1] * second) * factor
        least = _LEAST * (linear + inertial * _PROBED)
        return np.maximum(a, np.where(linear > 0.0, least, 0.0)), np.maximum(b, 0.0)
