"""Inertia in a bed of clean stone, as what a hole feels of it.

Derived: radial Forchheimer flow under a leaky slab, shot to 1e-12. Permeability 3.1104e-7 m2 and beta 1012.7315 1/m
(Ergun 1952 from memory, for the 16.2 mm fill of Hung et al. 2018), bed 0.10 m, leakage 1e-5 m/(s Pa), pit 0.15 m,
sealed rim at 5 m.
"""

from __future__ import annotations

import pytest

from workbench.design.blank import blank_design
from workbench.design.ground import Resistance
from workbench.design.record import with_value
from workbench.design.slab import Position, Slab
from workbench.solving import prepare
from workbench.solving.site.floor import INERTIA_BOUND

# suction in the pit [Pa], flow [m3/s], suction at the rim [Pa]
STEPS = ((5.0, 3.148534e-3, 3.93837), (25.0, 1.396929e-2, 17.4306), (100.0, 4.295445e-2, 53.2477))


@pytest.mark.parametrize(("pit", "flow", "rim"), STEPS)
def test_far_holes_follow_the_flow_and_not_the_pit(pit: float, flow: float, rim: float) -> None:
    """A reading at 5 Pa scaled with the flow is right within the bound; scaled with the pit it is optimistic."""
    first_pit, first_flow, first_rim = STEPS[0]
    assert first_rim * flow / first_flow == pytest.approx(rim, rel=INERTIA_BOUND)
    assert first_rim * pit / first_pit >= rim * (1.0 - 1e-12)


@pytest.mark.parametrize(("quadratic", "spoken_of"), [(0.0, True), (4e4, False)])
def test_inertia_that_was_not_measured_is_spoken_of(quadratic: float, spoken_of: bool) -> None:
    corners = tuple(Position(x=x, y=y) for x, y in ((0.0, 0.0), (8.0, 0.0), (8.0, 6.0), (0.0, 6.0)))
    design = with_value(blank_design(), ("slab",), Slab(outline=corners, fill="gravel", cell=0.4))
    design = with_value(design, ("intake", "source", "ground"), Resistance(linear=4000.0, quadratic=quadratic))
    codes = {notice.code for notice in prepare(design).at(1.0).notices}
    assert ("stone-inertia" in codes) is spoken_of
