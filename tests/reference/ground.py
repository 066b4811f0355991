"""Flow to a pit in closed form: through a bed of stone between tight planes, and from deep ground."""

from __future__ import annotations

import math


def ergun(diameter: float, porosity: float) -> tuple[float, float]:
    """Permeability [m2] and Forchheimer's beta [1/m] of stones of a diameter [m], S. Ergun, CEP 48 (1952) 89.

    k = d^2 e^3 / (150 (1 - e)^2), beta = 1.75 (1 - e) / (d e^3), in -dp/dx = (mu/k) v + beta rho v^2.
    """
    solid, open_cubed = 1.0 - porosity, porosity**3
    return diameter**2 * open_cubed / (150.0 * solid**2), 1.75 * solid / (diameter * open_cubed)


def inertia(beta: float, thickness: float, density: float) -> float:
    """B of ds/dx = u/T + B u|u| along a flow per width u = v t: beta rho / t^2 [Pa s2/m5]."""
    return beta * density / thickness**2


def radial_bed(
    permeability: float, beta: float, thickness: float, pit: float, outer: float, density: float, viscosity: float
) -> tuple[float, float]:
    """a [Pa s/m3] and b [Pa s2/m6] from a pit's radius out to another: Forchheimer over v = Q / (2 pi r t).

    a = mu ln(R/r0) / (2 pi k t), b = beta rho (1/r0 - 1/R) / (2 pi t)^2.
    """
    rim = 2.0 * math.pi * thickness
    linear = viscosity * math.log(outer / pit) / (rim * permeability)
    return linear, beta * density * (1.0 / pit - 1.0 / outer) / rim**2


def hemisphere_resistance(permeability: float, radius: float, viscosity: float) -> float:
    """Of deep ground under a tight slab to a hemispherical pit, mu / (2 pi k r0) [Pa s/m3].

    M. J. Hvorslev, Time lag and soil permeability, US Army Waterways Experiment Station Bulletin 36 (1951).
    """
    return viscosity / (2.0 * math.pi * permeability * radius)
