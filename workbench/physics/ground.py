"""The ground's resistance around a suction point: step tests, pits, beds of stone.

Everywhere p = a Q + b Q|Q|: a viscous and an inertial part.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from msgspec import Struct
from numpy.typing import ArrayLike

from workbench.physics.arrays import Array
from workbench.physics.ranges import positive, within

RELATIVE_READING_ERROR = 0.05
"""Standard error of a step-test reading against the curve: chiefly the flow, read to a few per cent. A judgement."""

LEAST_READING_ERROR = 0.5
"""Least standard error of a suction reading: wind and the drift of the baseline. A judgement. [Pa]"""

SINGLE_PAIR_ERROR = 0.25
"""Relative standard error of the resistance taken from one pair. A judgement: two of it span laminar to wholly
turbulent ground from half to one and a half times the tested flow."""

_STANDARD_ERRORS = 2.0
_SAME_FLOW = 1.02


class Coefficients(NamedTuple):
    """Resistance p = a Q + b Q|Q|, or factors on its two parts."""

    a: Array
    b: Array


class StepFit(Struct, frozen=True, eq=False):
    """A fitted step test, p = a Q + b Q|Q|.

    Attributes
    ----------
    a, b : float
        Viscous [Pa s/m3] and inertial [Pa s2/m6] coefficient, neither below 0.
    covariance : array, shape (2, 2)
        Of (a, b). A coefficient held at 0 keeps the uncertainty it has when left free; after a single pair only `a`
        has any.
    residuals : array, shape (n,)
        Net suction less the curve, in the order given. [Pa]
    degrees_of_freedom : int
        Pairs less coefficients above 0.
    """

    a: float
    b: float
    covariance: Array
    residuals: Array
    degrees_of_freedom: int

    def suction(self, flow: ArrayLike) -> Array:
        """Suction the curve gives at a flow of either sign [m3/s], shape kept [Pa]."""
        q = np.asarray(flow, dtype=np.float64)
        return np.asarray((self.a + self.b * np.abs(q)) * q)[()]

    def band(self, flow: ArrayLike) -> tuple[Array, Array]:
        """Limits of the curve at about 95 %: two standard errors either way, never below 0 [Pa].

        Parameters
        ----------
        flow : array_like
            0 or more. [m3/s]

        Raises
        ------
        ValueError
            If a flow is negative.
        """
        q = within(flow, 0.0, np.inf, "the flow", "m3/s")
        square = q * q
        variance = (
            self.covariance[0, 0] * square
            + 2.0 * self.covariance[0, 1] * square * q
            + self.covariance[1, 1] * square * square
        )
        # rounding can take a vanishing variance below 0
        half = _STANDARD_ERRORS * np.sqrt(np.maximum(variance, 0.0))
        middle = self.suction(q)
        return np.maximum(middle - half, 0.0), np.asarray(middle + half)[()]


def fit_step_test(flow: ArrayLike, suction: ArrayLike, baseline: ArrayLike = 0.0) -> StepFit:
    """Fit p = a Q + b Q|Q| with a, b >= 0 to a step test.

    Least squares, each reading weighted by its standard error: 5 % of the net suction, at least 0.5 Pa. Step tests
    span decades, and flow is read to a share of itself; equal weights would let the largest step alone decide.

    The covariance follows the stated error, widened by the scatter about the curve where that is larger, never
    narrowed: few pairs that happen to agree prove little. Two pairs are met exactly if the coefficients allow, and
    then carry the stated error. One pair gives a laminar resistance with a relative standard
    error of 0.25.

    Parameters
    ----------
    flow : array_like, shape (n,), n >= 1
        [m3/s]
    suction : array_like, shape (n,)
        Positive below the room. [Pa]
    baseline : array_like, scalar or shape (n,)
        Suction read with no flow; taken off each reading. [Pa]

    Raises
    ------
    ValueError
        If the numbers of readings differ or there are none, a flow or a net suction is not above 0, several pairs
        share one flow (within 2 %), or suction falls from the least flow to the greatest.

    References
    ----------
    Weighted least squares with the scale factor of the Particle Data Group, Review of Particle Physics, introduction.
    """
    q, net = _readings(flow, suction, baseline)
    if q.size == 1:
        a = float(net[0] / q[0])
        return StepFit(a, 0.0, np.diag([(SINGLE_PAIR_ERROR * a) ** 2, 0.0]), np.zeros(1), 0)

    error = np.maximum(RELATIVE_READING_ERROR * net, LEAST_READING_ERROR)
    # in units of the greatest flow both columns are of one size
    scale = np.array([q.max(), q.max() ** 2])
    design = np.stack((q, q * q), axis=1) / scale / error[:, None]
    target = net / error
    scaled = _non_negative(design, target)
    freedom = q.size - int(np.count_nonzero(scaled))
    chi_square = float(np.sum((target - design @ scaled) ** 2))
    widening = max(1.0, chi_square / freedom) if freedom else 1.0
    inverse = np.linalg.inv(np.linalg.qr(design, mode="r"))
    covariance = widening * (inverse @ inverse.T) / np.outer(scale, scale)
    a, b = (float(c) for c in scaled / scale)
    return StepFit(a, b, covariance, net - (a + b * q) * q, freedom)


def _readings(flow: ArrayLike, suction: ArrayLike, baseline: ArrayLike) -> tuple[Array, Array]:
    q = np.atleast_1d(np.asarray(flow, dtype=np.float64))
    read = np.atleast_1d(np.asarray(suction, dtype=np.float64))
    rest = np.asarray(baseline, dtype=np.float64)
    if q.ndim != 1 or q.size == 0:
        raise ValueError("a step test needs at least one pair of flow and suction")
    if read.shape != q.shape:
        raise ValueError("every flow needs one suction and every suction one flow")
    if rest.ndim != 0 and rest.shape != q.shape:
        raise ValueError("give one baseline for all readings, or one for each")
    net = read - rest
    if not (np.all(np.isfinite(q)) and np.all(np.isfinite(net))):
        raise ValueError("every flow, suction and baseline must be a number")
    if not np.all(q > 0.0):
        raise ValueError("every flow of a step test must be above 0")
    if not np.all(net > 0.0):
        raise ValueError("every suction must be above its baseline")
    if q.size > 1:
        if q.max() < _SAME_FLOW * q.min():
            raise ValueError("the pairs all have one flow: measure at another, or give one pair")
        if net[np.argmax(q)] < net[np.argmin(q)]:
            raise ValueError("suction falls as flow rises: look at the order of the readings and at the baseline")
    return q, net


def _non_negative(design: Array, target: Array) -> Array:
    """Least squares in two unknowns, neither below 0: the free solution, else the better of the two edges.

    The corner is never the answer here, as every entry of `design` and `target` is positive.
    """
    free = np.asarray(np.linalg.lstsq(design, target, rcond=None)[0])
    if np.all(free >= 0.0):
        return free
    edges = np.diag(design.T @ target / np.sum(design * design, axis=0))
    misfits = np.sum((target - edges @ design.T) ** 2, axis=1)
    return np.asarray(edges[np.argmin(misfits)])


def hemisphere_radius(volume: ArrayLike) -> Array:
    """Radius [m] of the hemisphere that holds a volume [m3].

    Raises
    ------
    ValueError
        If the volume is not above 0.
    """
    return np.asarray(np.cbrt(3.0 * positive(volume, "the volume of a pit") / (2.0 * math.pi)))[()]


def cylinder_radius(volume: ArrayLike, depth: ArrayLike) -> Array:
    """Radius [m] of the upright cylinder of a depth [m] that holds a volume [m3].

    Raises
    ------
    ValueError
        If volume or depth is not above 0.
    """
    v, h = positive(volume, "the volume of a pit"), positive(depth, "the depth of a pit")
    return np.asarray(np.sqrt(v / (math.pi * h)))[()]


def pit_scaling_hemisphere(volume: ArrayLike, reference_volume: ArrayLike) -> Coefficients:
    """Factors on a and b when a pit in deep ground is dug from the reference volume to another.

    Flow to a hemisphere of radius r0 passes 2 pi r^2, so v = Q / (2 pi r^2). Integrating Forchheimer's
    -dp/dr = (mu/k) v + beta rho v^2 from r0 outwards without end gives

        p = mu Q / (2 pi k r0) + beta rho Q^2 / (12 pi^2 r0^3),

    hence a goes as 1/r0 and b as 1/r0^3. This takes all of the measured loss to lie in even ground around the pit;
    loss elsewhere, in a crack or a trench, does not shrink with the pit.

    Parameters
    ----------
    volume, reference_volume : array_like
        [m3]

    Raises
    ------
    ValueError
        If a volume is not above 0.

    References
    ----------
    Derived; the viscous part as in Hvorslev (1951).
    """
    ratio = hemisphere_radius(reference_volume) / hemisphere_radius(volume)
    return Coefficients(ratio, ratio**3)


def pit_scaling_layer(
    volume: ArrayLike, reference_volume: ArrayLike, thickness: ArrayLike, outer_radius: ArrayLike
) -> Coefficients:
    """Factors on a and b when a pit through a layer between tight planes is dug to another volume.

    The pit is a cylinder as deep as the layer, so v = Q / (2 pi r t); integrating as in `pit_scaling_hemisphere`
    from r0 to R gives a ~ ln(R/r0) and b ~ 1/r0 - 1/R. This takes all of the measured loss to lie within R.

    Parameters
    ----------
    volume, reference_volume : array_like
        [m3]
    thickness : array_like
        Of the layer. [m]
    outer_radius : array_like
        Where the measured loss ends. [m]

    Raises
    ------
    ValueError
        If an input is not above 0, or a pit reaches the outer radius.
    """
    new = cylinder_radius(volume, thickness)
    old = cylinder_radius(reference_volume, thickness)
    outer = _outer(outer_radius, np.maximum(new, old))
    return Coefficients(
        np.log(outer / new) / np.log(outer / old),
        (1.0 / new - 1.0 / outer) / (1.0 / old - 1.0 / outer),
    )


def beside_footing(permeability: ArrayLike, depth: ArrayLike, strip: ArrayLike, viscosity: ArrayLike) -> Array:
    """Conductance per length of the ground from outdoors under a footing to a strip of fill beside it [m2/(s Pa)].

    The ground outside is open from the footing on; inside, a strip of a breadth draws and the slab beyond is tight.
    z -> sqrt(z^2 + d^2) maps the plane with its slit onto a half plane, so that per length (k/mu) K(1-m)/K(m) passes,
    with m = 2 d / (d + sqrt(d^2 + B^2)) - the parameter of the complete elliptic integral K.

    Parameters
    ----------
    permeability, depth, strip, viscosity : array_like
        [m2], depth d of the footing and breadth B of the strip [m], [Pa s]

    Raises
    ------
    ValueError
        If one of the first three is not above 0.

    References
    ----------
    Derived; the map is that of flow under a sheet pile, M. E. Harr, Groundwater and Seepage (1962), from memory.
    """
    from scipy.special import ellipk, ellipkm1

    k, d = positive(permeability, "the permeability"), positive(depth, "the depth of a footing")
    b = positive(strip, "the breadth of the strip")
    m = 2.0 * d / (d + np.hypot(d, b))
    return np.asarray(k / np.asarray(viscosity, dtype=np.float64) * ellipk(1.0 - m) / ellipkm1(1.0 - m))[()]


def _outer(outer_radius: ArrayLike, pit_radius: Array) -> Array:
    outer = positive(outer_radius, "the outer radius")
    if not np.all(outer > pit_radius):
        raise ValueError("the outer radius must lie beyond the pit")
    return outer
