"""Fans: measured points, the curve between them, and what a change of speed or density makes of it.

A fan is tested at one speed in air of one density. Between its points the curve is a monotone
piecewise cubic; outside them nothing is known and nothing is returned (NaN). Every speed is
answered by evaluating the measured curve at the homologous flow, never by scaling an operating
point: ground and draft do not follow the square law that such a short cut assumes.
"""

from __future__ import annotations

from enum import StrEnum
from functools import cached_property

import numpy as np
from msgspec import Struct
from numpy.typing import ArrayLike, NDArray

from workbench.physics.arrays import Array

_SLACK = 1e-12
_STEEP = 30.0
"""Slope beyond the ends of an extended curve, in shut-off pressures over its flow range."""


class MonotoneCubic:
    """Piecewise cubic through points that never overshoots them.

    Slopes are the weighted harmonic means of Fritsch and Butland, ends by the three-point rule.
    Written on numpy alone because it stands between the start of the program and its first
    picture; the tests hold it to the reference implementation to rounding.

    Parameters
    ----------
    x, y : array, shape (n,), n >= 2
        Strictly increasing abscissae and their values.

    Raises
    ------
    ValueError
        If fewer than two points are given or `x` does not strictly increase.

    References
    ----------
    F. N. Fritsch and J. Butland, "A method for constructing local monotone piecewise cubic
    interpolants", SIAM J. Sci. Stat. Comput. 5 (1984) 300-304.
    """

    def __init__(self, x: ArrayLike, y: ArrayLike) -> None:
        self.x = np.asarray(x, dtype=np.float64)
        self.y = np.asarray(y, dtype=np.float64)
        if self.x.ndim != 1 or self.x.size < 2 or self.x.shape != self.y.shape:
            raise ValueError("a curve needs at least two points")
        step = np.diff(self.x)
        if not np.all(step > 0.0):
            raise ValueError("the abscissae of a curve must rise from point to point")
        chord = np.diff(self.y) / step
        slope = _slopes(step, chord)
        self._inner = self.x[1:-1]
        self._c1 = slope[:-1]
        self._c2 = (3.0 * chord - 2.0 * slope[:-1] - slope[1:]) / step
        self._c3 = (slope[:-1] + slope[1:] - 2.0 * chord) / step**2

    def _locate(self, x: Array) -> tuple[NDArray[np.intp], Array]:
        i = np.searchsorted(self._inner, x, side="right")
        return i, x - self.x[i]

    def __call__(self, x: ArrayLike) -> Array:
        """Values at `x` (any shape); NaN outside the points."""
        at = np.asarray(x, dtype=np.float64)
        i, t = self._locate(at)
        value = self.y[i] + t * (self._c1[i] + t * (self._c2[i] + t * self._c3[i]))
        return np.where((at >= self.x[0]) & (at <= self.x[-1]), value, np.nan)

    def slope(self, x: ArrayLike) -> Array:
        """First derivative at `x` (any shape); NaN outside the points."""
        at = np.asarray(x, dtype=np.float64)
        i, t = self._locate(at)
        value = self._c1[i] + t * (2.0 * self._c2[i] + t * 3.0 * self._c3[i])
        return np.where((at >= self.x[0]) & (at <= self.x[-1]), value, np.nan)


def _slopes(step: Array, chord: Array) -> Array:
    if chord.size == 1:
        return np.repeat(chord, 2)
    before, after = chord[:-1], chord[1:]
    w1 = 2.0 * step[1:] + step[:-1]
    w2 = step[1:] + 2.0 * step[:-1]
    product = before * after
    same = product > 0.0
    # not as the mean of reciprocals, which overflow where a chord is next to level
    inner = np.where(same, (w1 + w2) * product / np.where(same, w1 * after + w2 * before, 1.0), 0.0)
    first = _end_slope(step[0], step[1], chord[0], chord[1])
    last = _end_slope(step[-1], step[-2], chord[-1], chord[-2])
    return np.concatenate(([first], inner, [last]))


def _end_slope(h0: float, h1: float, m0: float, m1: float) -> float:
    slope = ((2.0 * h0 + h1) * m0 - h0 * m1) / (h0 + h1)
    if np.sign(slope) != np.sign(m0):
        return 0.0
    if np.sign(m0) != np.sign(m1) and abs(slope) > 3.0 * abs(m0):
        return 3.0 * m0
    return float(slope)


class Control(StrEnum):
    """How the speed of the motor is changed."""

    FIXED = "none"
    PHASE_CUT = "phase-cut"
    EC = "ec"


class Arrangement(StrEnum):
    """One fan, or two alike on one pipe."""

    SINGLE = "single"
    SERIES = "series"
    PARALLEL = "parallel"


class Motor(Struct, frozen=True, eq=False):
    """What the electrical draw does when the speed falls.

    Attributes
    ----------
    control
        Kind of control.
    constant_power
        Draw of the electronics that does not fall with speed, EC only. [W]
    power_exponent
        Exponent of the draw on speed for phase-cut control, at most 2: an induction motor slowed
        by slip keeps its air-gap power at N^2 or more (Fitzgerald, Kingsley and Umans, *Electric
        Machinery*, induction-motor slip relations; from memory).
    """

    control: Control = Control.FIXED
    constant_power: float = 0.0
    power_exponent: float = 2.0

    def draw(self, full: ArrayLike, ratio: ArrayLike, density_ratio: float) -> Array:
        """Draw at `ratio` times the speed at which `full` watts were measured. [W]"""
        measured, r = np.asarray(full, dtype=np.float64), np.asarray(ratio, dtype=np.float64)
        if self.control is Control.PHASE_CUT:
            return measured * density_ratio * r ** min(self.power_exponent, 2.0)
        fixed = np.minimum(self.constant_power, measured) if self.control is Control.EC else np.zeros_like(measured)
        return fixed + (measured - fixed) * density_ratio * r**3


class MeasuredCurve(Struct, frozen=True, eq=False):
    """Points measured at one speed: flow [m3/s], pressure [Pa], power [W] or None."""

    speed: float
    pressure: MonotoneCubic
    power: MonotoneCubic | None

    @classmethod
    def through(cls, speed: float, flow: ArrayLike, pressure: ArrayLike, power: ArrayLike | None) -> MeasuredCurve:
        """Lay curves through measured points.

        Raises ValueError unless the flow rises from point to point.
        """
        return cls(speed, MonotoneCubic(flow, pressure), None if power is None else MonotoneCubic(flow, power))

    def flow_at(self, fraction: Array) -> Array:
        """Flow at a fraction of the way from the first to the last measured flow. [m3/s]"""
        first, last = self.pressure.x[0], self.pressure.x[-1]
        # rounding at the two ends must not push an end point out of its own curve
        return np.asarray(np.clip(first + fraction * (last - first), first, last))


Weighted = list[tuple[MeasuredCurve, Array | float]]
"""Measured curves, each with its weight at some speeds."""


class Fan(Struct, frozen=True, eq=False, dict=True):
    """A fan, or two alike, as a function of flow, speed and density.

    Attributes
    ----------
    curves
        Measured curves in order of rising speed (fractions of full speed); usually one, at 1.
    rated_density
        Density of the air in which the curves were measured. [kg/m3]
    outlet_area
        Fan outlet area when the pressures are fan *static* pressures, else None. Fan static
        pressure is fan total pressure less the velocity pressure at the fan's outlet (definition
        in ANSI/AMCA 210 and ISO 5801; from memory), which is added back here so that the loss at
        the end of the pipe is counted once, by the pipe. [m2]

    Notes
    -----
    Fan laws at one point of rating: Q ~ N, p ~ rho N^2, shaft power ~ rho N^3 (Crane TP-410,
    ex. 7.33 for the pump form). Between two measured speeds each curve is brought to the wanted
    speed by these laws and the two are blended, so that a measured speed is met exactly.
    """

    curves: tuple[MeasuredCurve, ...]
    motor: Motor
    rated_density: float
    outlet_area: float | None = None
    arrangement: Arrangement = Arrangement.SINGLE

    @property
    def _flow_split(self) -> float:
        return 2.0 if self.arrangement is Arrangement.PARALLEL else 1.0

    @property
    def _stages(self) -> float:
        return 2.0 if self.arrangement is Arrangement.SERIES else 1.0

    @property
    def _machines(self) -> float:
        return 1.0 if self.arrangement is Arrangement.SINGLE else 2.0

    def _weights(self, speed: Array) -> Weighted:
        """Measured curves that have a say at each speed, with weights linear in the logarithm of speed."""
        if len(self.curves) == 1:
            return [(self.curves[0], 1.0)]
        measured = np.log([c.speed for c in self.curves])
        at = np.log(np.maximum(speed, 1e-12))
        # place among the measured speeds: 1.25 is a quarter of the way from the second to the third
        place = np.interp(at, measured, np.arange(measured.size))
        hats = (np.maximum(1.0 - np.abs(place - i), 0.0) for i in range(measured.size))
        return [(curve, hat) for curve, hat in zip(self.curves, hats, strict=True) if hat.any()]

    def _end_flows(self, speed: Array, weighted: Weighted) -> tuple[Array, Array]:
        first = last = np.zeros(())
        for curve, weight in weighted:
            first = first + weight * (curve.pressure.x[0] / curve.speed)
            last = last + weight * (curve.pressure.x[-1] / curve.speed)
        return first * speed, last * speed

    def flow_range(self, speed: ArrayLike) -> tuple[Array, Array]:
        """First and last flow the measured points speak of, at a speed (fraction). [m3/s]"""
        r = np.asarray(speed, dtype=np.float64)
        first, last = self._end_flows(r, self._weights(r))
        return first * self._flow_split, last * self._flow_split

    def _fraction(self, flow: Array, speed: Array, weighted: Weighted) -> Array:
        first, last = self._end_flows(speed, weighted)
        with np.errstate(divide="ignore", invalid="ignore"):
            fraction = (flow / self._flow_split - first) / (last - first)
        return np.where((fraction >= -_SLACK) & (fraction <= 1.0 + _SLACK), fraction, np.nan)

    def pressure(self, flow: ArrayLike, speed: ArrayLike, density: float) -> Array:
        """Fan total pressure. [Pa]

        Parameters
        ----------
        flow, speed : broadcast against each other
            Flow [m3/s] and fraction of full speed.
        density : float
            Density of the air in the fan. [kg/m3]

        Returns
        -------
        array
            NaN where the measured points say nothing, and at zero speed.
        """
        q, r = np.asarray(flow, dtype=np.float64), np.asarray(speed, dtype=np.float64)
        weighted = self._weights(r)
        fraction = self._fraction(q, r, weighted)
        rise: Array | float = 0.0
        for curve, weight in weighted:
            rise = rise + curve.pressure(curve.flow_at(fraction)) * (weight * (r / curve.speed) ** 2)
        if self.outlet_area is not None:
            rise = rise + (0.5 * self.rated_density / (self._flow_split * self.outlet_area) ** 2) * (q * q)
        return np.asarray(rise * (density / self.rated_density * self._stages))

    @cached_property
    def rises(self) -> bool:
        """Whether a measured curve rises anywhere in total pressure, so that a system may meet it more than once."""
        added = 0.0 if self.outlet_area is None else 0.5 * self.rated_density / self.outlet_area**2
        curves = (curve.pressure for curve in self.curves)
        return any(bool(np.any(np.diff(curve.y + added * curve.x**2) > 0.0)) for curve in curves)

    def extended(self, flow: ArrayLike, speed: ArrayLike, density: float) -> Array:
        """Fan total pressure, falling steeply beyond the measured points: for solvers, which must not leave a curve.

        An answer found out there is to be refused, see `flow_range`.
        """
        q, r = np.asarray(flow, dtype=np.float64), np.asarray(speed, dtype=np.float64)
        first, last = self.flow_range(r)
        margin = 1e-9 * last
        inside = np.clip(q, first + margin, last - margin)
        pressure, over = self.pressure(inside, r, density), q - inside
        if not over.any():
            return pressure
        return np.asarray(pressure - over * (_STEEP * self.pressure(first + margin, r, density) / (last - first)))

    def power(self, flow: ArrayLike, speed: ArrayLike, density: float) -> Array:
        """Electrical draw of the fan or of both fans; NaN where not measured. [W]

        Between two measured speeds the readings themselves are joined, by straight lines of their logarithms over
        that of speed; the motor's law serves below the lowest, and everywhere when only one speed was measured.
        """
        q, r = np.broadcast_arrays(np.asarray(flow, dtype=np.float64), np.asarray(speed, dtype=np.float64))
        weighted = self._weights(r)
        fraction = self._fraction(q, r, weighted)
        below = r / np.clip(r, self.curves[0].speed, self.curves[-1].speed)
        log_draw: Array | float = 0.0
        for curve, weight in weighted:
            if curve.power is None:
                return np.full(q.shape, np.nan)
            draw = self.motor.draw(curve.power(curve.flow_at(fraction)), below, density / self.rated_density)
            log_draw = log_draw + weight * np.log(np.maximum(draw, 1e-9))
        return np.asarray(np.exp(log_draw) * self._machines)

    def turning(self, turned: float, drawn: float) -> Fan:
        """The same, truly turning at so many times the speed it is set to, and drawing so many times the power."""
        return _Turning(
            self.curves, self.motor, self.rated_density, self.outlet_area, self.arrangement, turned=turned, drawn=drawn
        )


class _Turning(Fan, frozen=True, eq=False, dict=True):
    """A fan whose true speed is `turned` times the one it is set to; see `Fan.turning`."""

    turned: float = 1.0
    drawn: float = 1.0

    def flow_range(self, speed: ArrayLike) -> tuple[Array, Array]:
        return Fan.flow_range(self, self.turned * np.asarray(speed, dtype=np.float64))

    def pressure(self, flow: ArrayLike, speed: ArrayLike, density: float) -> Array:
        return Fan.pressure(self, flow, self.turned * np.asarray(speed, dtype=np.float64), density)

    def power(self, flow: ArrayLike, speed: ArrayLike, density: float) -> Array:
        return self.drawn * Fan.power(self, flow, self.turned * np.asarray(speed, dtype=np.float64), density)
