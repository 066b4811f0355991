"""Flow through round pipe: velocity, friction, fittings. Losses carry the sign of the flow."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from workbench.physics.arrays import Array

_LOG_7 = math.log(7.0)
_TURN = 37530.0
_LAMINAR_POWER = 8.0**12
_TURBULENT_POWER = _TURN**12


def bore_area(diameter: ArrayLike) -> Array:
    """Area [m2] of a round bore of given inside diameter [m]."""
    d = np.asarray(diameter, dtype=np.float64)
    return np.asarray(0.25 * math.pi * d * d)[()]


def reynolds(velocity: ArrayLike, diameter: ArrayLike, density: ArrayLike, viscosity: ArrayLike) -> Array:
    """Reynolds number, rho |v| D / mu.

    Parameters
    ----------
    velocity, diameter, density, viscosity : array_like
        [m/s], [m], [kg/m3], [Pa s]
    """
    v, d, rho, mu = _arrays(velocity, diameter, density, viscosity)
    return np.asarray(rho * np.abs(v) * d / mu)[()]


def friction_loss(
    flow: ArrayLike,
    diameter: ArrayLike,
    length: ArrayLike,
    roughness: ArrayLike,
    density: ArrayLike,
    viscosity: ArrayLike,
) -> Array:
    """Friction loss of straight pipe by Darcy and Weisbach with Churchill's factor [Pa].

    Odd in the flow; about zero flow it is the laminar 128 mu L Q / (pi D^4). The arguments broadcast.

    Parameters
    ----------
    flow : array_like
        Volume flow, either sign. [m3/s]
    diameter : array_like
        Inside. [m]
    length, roughness : array_like
        [m], [m]
    density, viscosity : array_like
        [kg/m3], [Pa s]
    """
    return friction_loss_and_slope(flow, diameter, length, roughness, density, viscosity)[0]


def friction_loss_and_slope(
    flow: ArrayLike,
    diameter: ArrayLike,
    length: ArrayLike,
    roughness: ArrayLike,
    density: ArrayLike,
    viscosity: ArrayLike,
) -> tuple[Array, Array]:
    """As `friction_loss`, with its derivative by the flow. [Pa], [Pa s/m3]"""
    q, d, run, rough, rho, mu = _arrays(flow, diameter, length, roughness, density, viscosity)
    # f Re instead of f: it stays finite at rest, and the loss is then linear in the flow's sign and size.
    product, power = _friction_product(np.abs(q) * (4.0 / math.pi * rho / (mu * d)), rough / d)
    square = d * d
    resistance = product * (2.0 / math.pi * mu * run / (square * square))
    return np.asarray(resistance * q)[()], np.asarray(resistance * (1.0 + power))[()]


def fitting_loss(flow: ArrayLike, diameter: ArrayLike, k: ArrayLike, density: ArrayLike) -> Array:
    """Loss of fittings, K rho v |v| / 2, odd in the flow [Pa].

    Parameters
    ----------
    flow : array_like
        Volume flow, either sign. [m3/s]
    diameter : array_like
        Inside diameter on whose velocity pressure `k` stands. [m]
    k : array_like
        Loss coefficient, or the sum of several; may be negative.
    density : array_like
        [kg/m3]
    """
    q, d, coefficient, rho = _arrays(flow, diameter, k, density)
    square = d * d
    return np.asarray(q * np.abs(q) * (8.0 / math.pi**2 * rho * coefficient / (square * square)))[()]


def _arrays(*values: ArrayLike) -> list[Array]:
    return [np.asarray(value, dtype=np.float64) for value in values]


def _friction_product(re: Array, relative_roughness: Array) -> tuple[Array, Array]:
    """Churchill's f times Re, for Re >= 0, and the power of Re it goes with there: d ln(f Re) / d ln(Re).

    His A and B are multiplied through by (Re/37530)^16, so that nothing overflows as Re falls. Below Re 1 the
    product is 64 to the last bit, which is where the argument is held.
    """
    re = np.maximum(re, 1.0)
    x = re * (1.0 / _TURN)
    # logarithm and exponential are much faster on arrays than a power
    smooth = np.exp(0.9 * (_LOG_7 - np.log(re)))
    rough = smooth + 0.27 * relative_roughness
    inner = np.log(rough)
    sixteenth = _sixteenth(2.457 * inner * x)
    turbulent = sixteenth + 1.0
    x4 = x * x
    x4 *= x4
    x12 = x4 * x4 * x4
    rise = _TURBULENT_POWER * x12 * x12 * x12 / (turbulent * np.sqrt(turbulent))
    whole = _LAMINAR_POWER + rise
    product = 8.0 * np.exp(np.log(whole) * (1.0 / 12.0))
    power = rise / whole * (3.0 - 2.0 * sixteenth / turbulent * (1.0 - 0.9 * smooth / (rough * inner)))
    return np.asarray(product), np.asarray(power)


def _sixteenth(x: Array) -> Array:
    x = x * x
    x = x * x
    x = x * x
    return x * x
