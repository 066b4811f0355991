"""Airflow in a pipe as instruments show it: what the density of the air does to it, and where a traverse is read."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

FlowMethod = Literal["pitot traverse", "hot wire", "orifice"]

STANDARD_DENSITY = 1.204
"""Dry air at 20 °C and 101325 Pa, for which instruments are made. [kg/m3]"""

DIAMETERS = 2
"""Along which a round pipe is traversed, at right angles (ISO 3966)."""

LOG_LINEAR: dict[int, tuple[float, ...]] = {
    4: (0.043, 0.290, 0.710, 0.957),
    6: (0.032, 0.135, 0.321, 0.679, 0.865, 0.968),
    8: (0.021, 0.117, 0.184, 0.345, 0.655, 0.816, 0.883, 0.979),
}
"""Places along a diameter, as shares of it, whose plain mean is the mean velocity (log-linear rule for round ducts, ISO
3966; figures from memory, held against profiles of turbulent flow by the tests)."""

UPSTREAM, DOWNSTREAM = 7.5, 3.0
"""Straight pipe that a traverse asks for before and after it, in diameters (ASHRAE 111, common practice)."""


def density_factor(method: FlowMethod, density: float) -> float:
    """True flow over the one that an instrument shows which takes the air for standard air.

    A pitot tube and an orifice read a pressure, which is half the density times the velocity squared (Bernoulli; ISO
    3966, ISO 5167-1); a hot wire is cooled by the mass that passes (L. V. King, Phil. Trans. R. Soc. A 214 (1914) 373)
    and shows the velocity that standard air would have.

    Parameters
    ----------
    density
        Of the air in the pipe. [kg/m3]
    """
    ratio = STANDARD_DENSITY / density
    return ratio if method == "hot wire" else float(ratio**0.5)


def traverse_places(bore: float, points: int = 6) -> Sequence[float]:
    """Distances from the wall at which a traverse is read along each diameter of a round pipe. [m]

    Parameters
    ----------
    bore
        Inside diameter. [m]
    points
        A diameter: 4, 6 or 8; KeyError for others.
    """
    return tuple(share * bore for share in LOG_LINEAR[points])
