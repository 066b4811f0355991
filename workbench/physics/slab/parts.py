"""What lies under a slab and what bounds it, as the vacuum field takes it."""

from __future__ import annotations

from msgspec import Struct

from workbench.physics.ranges import positive

DEFAULT_CELL = 0.10
"""Side of the cells where nothing else is asked. [m]"""


def bed_transmissivity(permeability: float, thickness: float, viscosity: float) -> float:
    """T = k t / mu of a layer between slab and ground, in ds/dx = u / T along a flow per width u. [m3/(s Pa)]

    Parameters
    ----------
    permeability, thickness, viscosity : float
        [m2], [m], [Pa s]

    Raises
    ------
    ValueError
        If one of them is not above 0.

    References
    ----------
    H. Darcy (1856): -dp/dx = (mu/k) v, with v = u / t.
    """
    k, t = positive(permeability, "the permeability"), positive(thickness, "the thickness of the layer")
    return float(k * t / positive(viscosity, "the viscosity"))


class LayerZone(Struct, frozen=True):
    """Part of the slab with other fill or another slab over it.

    Attributes
    ----------
    outline : sequence of (x, y)
        A simple polygon; what reaches beyond the slab is ignored. Where zones overlap their factors multiply. [m]
    transmissivity, leak : float
        Factors on the layer's transmissivity, above 0, and on the slab's leakage, 0 or more.
    """

    outline: tuple[tuple[float, float], ...]
    transmissivity: float = 1.0
    leak: float = 1.0


class LayerWall(Struct, frozen=True):
    """A wall's foot that parts the layer.

    Attributes
    ----------
    line : sequence of (x, y)
        Its middle line. [m]
    opening : float
        Share of the layer's thickness that passes below or through it: 0 tight, 1 none there.
    width : float
        Way through it, along which only `opening` of the transmissivity is left. [m]
    """

    line: tuple[tuple[float, float], ...]
    opening: float = 0.0
    width: float = 0.4


class Layer(Struct, frozen=True):
    """A slab on its layer.

    Attributes
    ----------
    outline : sequence of (x, y)
        Simple polygon in either order; edge k joins vertex k to the next. [m]
    transmissivity : float
        As `bed_transmissivity` gives it. [m3/(s Pa)]
    leak_house, leak_outdoors : float
        Leakage per area of the slab and of the ground. [m/(s Pa)]
    edge_house, edge_outdoors : float or sequence of float
        Conductance of the joint along each edge, per length: 0 sealed, infinity open. [m2/(s Pa)]
    zones, footings
    cell : float
        Side of the cells. [m]
    """

    outline: tuple[tuple[float, float], ...]
    transmissivity: float
    leak_house: float = 0.0
    leak_outdoors: float = 0.0
    edge_house: float | tuple[float, ...] = 0.0
    edge_outdoors: float | tuple[float, ...] = 0.0
    zones: tuple[LayerZone, ...] = ()
    footings: tuple[LayerWall, ...] = ()
    cell: float = DEFAULT_CELL
