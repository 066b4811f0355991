"""What readings of the running system made of a site: possible sites that agree with them as well.

The floor's unknowns are fitted anew together with those of pipe and fan, to the readings of the floor and of the system
at once, each counted once (`fit.py`). Here stands what was found, and what it is of: another pipe tree or another fan
learns of it only what it shares.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from msgspec import Struct

from workbench.design.fan import FanRecord
from workbench.design.record import Address
from workbench.physics.arrays import Array
from workbench.physics.network import Scatter
from workbench.solving.site.fit import Fit, Varied

_SLOWEST = 0.1
"""Of the speed a fan is set to, the least that it truly turns at."""


class GroundRows(NamedTuple):
    """Unknowns of s possible grounds, shape (s, d), their unevenness (s,), and the share that was not found."""

    x: Array
    unevenness: Array
    missed: float


class Learned(Struct, frozen=True, eq=False):
    """A site fitted to its running system.

    Attributes
    ----------
    fit : Fit
        Its unknowns are those of the floor, of the pipe, of the visit, and last the fan's power and speed.
    ground : tuple of Varied
        The floor's unknowns; of another floor nothing is known.
    pipe : int
        How many unknowns the pipe has.
    tree : tuple of Address
        Where the runs and junctions stand that the pipe's factors are of.
    fan : FanRecord
    fan_spread, power_spread : float
        One standard deviation of its speed and of the logarithm of its power before any reading.
    middle : Scatter
        Factors on the losses by the best fit.
    """

    fit: Fit
    ground: tuple[Varied, ...]
    pipe: int
    tree: tuple[Address, ...]
    fan: FanRecord
    fan_spread: float
    power_spread: float
    middle: Scatter

    @property
    def best_ground(self) -> tuple[Array, float]:
        """The floor's unknowns (d,) by the best fit, and its unevenness."""
        best = self.fit.best
        return best.x[: len(self.ground)], best.unevenness

    def ground_rows(self, samples: int) -> GroundRows:
        """The floor's unknowns of possible sites."""
        draws = self.fit.draws(samples)
        return GroundRows(draws.x[:, : len(self.ground)], draws.unevenness, draws.missed)

    def pipe_rows(self, samples: int, usual: Array, tree: tuple[Address, ...]) -> Array:
        """The pipe's unknowns of possible sites (s, v); `usual` are those of which nothing was read."""
        own = self._columns(samples, len(self.ground), self.pipe)
        if tree == self.tree:
            return own
        # straight pipe is straight pipe in any tree
        return np.concatenate((own[:, :1], usual[:, 1:]), axis=1)

    def fan_rows(self, samples: int) -> Array:
        """The fan's speed as standard normal numbers, (s,)."""
        return self.fit.draws(samples).x[:, -1]

    def fan_factors(self, samples: int) -> Array:
        """Factors on the speed over that of the best fit, (s,)."""
        return np.maximum(1.0 + self.fan_spread * self.fan_rows(samples), _SLOWEST) / self.turned

    def power_rows(self, samples: int) -> Array:
        """Factors on the fan's power over that of the best fit, (s,)."""
        return np.asarray(np.exp(self.power_spread * (self.fit.draws(samples).x[:, -2] - self.fit.best.x[-2])))

    @property
    def turned(self) -> float:
        """The fan's true speed over its setting, by the best fit."""
        return max(1.0 + self.fan_spread * float(self.fit.best.x[-1]), _SLOWEST)

    @property
    def drawn(self) -> float:
        """Its power over that of its table, by the best fit."""
        return float(np.exp(self.power_spread * self.fit.best.x[-2]))

    def losses(self, tree: tuple[Address, ...]) -> Scatter:
        """Factors on the losses of a pipe tree by the best fit."""
        return self.middle if tree == self.tree else Scatter(np.atleast_1d(self.middle.friction)[:1], 1.0, 1.0)

    def _columns(self, samples: int, first: int, count: int) -> Array:
        return self.fit.draws(samples).x[:, first : first + count]
