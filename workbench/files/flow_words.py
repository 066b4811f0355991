"""How airflow in a riser is read with an instrument, in the units of the reader."""

from __future__ import annotations

from workbench.physics.flow_meters import DIAMETERS, DOWNSTREAM, LOG_LINEAR, UPSTREAM, FlowMethod, traverse_places
from workbench.units import System, format_quantity, to_display, unit_of

POINTS = 6
"""Along each diameter; the pipes of these systems are narrow."""


def how_to_read(method: FlowMethod, bore: float, system: System) -> str:
    """Where a traverse is read in a pipe of a bore [m], or what an orifice asks for."""
    straight = (
        f"straight pipe of {UPSTREAM:g} diameters ({format_quantity(UPSTREAM * bore, 'small_length', system)}) before, "
        f"{DOWNSTREAM:g} after"
    )
    if method == "orifice":
        return f"Orifice: the factor is that of its calibration or of ISO 5167; {straight}."
    assert POINTS in LOG_LINEAR
    decimals = 1 if unit_of("small_length", system).label == "mm" else 2
    places = [f"{to_display(place, 'small_length', system):.{decimals}f}" for place in traverse_places(bore, POINTS)]
    listed = f"{', '.join(places[:-1])} and {places[-1]} {unit_of('small_length', system).label}"
    return (
        f"Traverse: {POINTS} points on each of {DIAMETERS} diameters at right angles, {listed} from the wall "
        f"(log-linear rule, ISO 3966); {straight}. The mean velocity times the area of the bore is the airflow."
    )
