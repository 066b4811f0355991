"""Heat through a pipe's wall against handbook examples and reference libraries."""

from __future__ import annotations

import math

import numpy as np
import pytest

from workbench.physics.heat import (
    PVC_CONDUCTIVITY,
    conductivity,
    crossflow_nusselt,
    free_nusselt,
    inside_coefficient,
    inside_nusselt,
    outer_conductance,
    outside_coefficient,
    prandtl,
    shell_resistance,
)

CFM = 4.719474e-4


@pytest.mark.parametrize(
    ("celsius", "k", "pr"), [(-20.0, 0.022812, 0.71415), (0.0, 0.024360, 0.71084), (40.0, 0.027354, 0.70548)]
)
def test_conductivity_of_air(celsius: float, k: float, pr: float) -> None:
    # Derived: CoolProp (Lemmon & Jacobsen 2004) at 101 325 Pa. 1 %: the two laws differ in slope.
    assert conductivity(celsius + 273.15) == pytest.approx(k, rel=0.01)
    assert prandtl(celsius + 273.15) == pytest.approx(pr, rel=0.01)


def test_inside_a_pipe() -> None:
    # Derived: the ht library, Gnielinski with the smooth pipe's friction, Re 30 000, Pr 0.711.
    assert inside_nusselt(3e4, 0.711) == pytest.approx(70.8787, rel=1e-5)
    # From memory: Graetz's 3.66 in laminar flow.
    assert inside_nusselt(500.0, 0.711) == 3.66
    # Published (Gnielinski 2013): a straight line from there to his form at 4000.
    middle = 0.5 * (3.66 + float(inside_nusselt(4000.0, 0.711)))
    assert inside_nusselt(3150.0, 0.711) == pytest.approx(middle, rel=1e-12)


def test_in_a_cross_wind() -> None:
    # From memory of Incropera & DeWitt, example 7.4: cylinder of 12.7 mm in air of 10 m/s, Re 6071, Pr 0.70: Nu 40.6.
    assert crossflow_nusselt(6071.0, 0.70) == pytest.approx(40.6, abs=0.05)
    # Derived: the ht library.
    assert crossflow_nusselt(2e4, 0.711) == pytest.approx(79.3544, rel=1e-5)


def test_in_still_air() -> None:
    # Derived: the ht library, Grashof numbers 1e5 and 1e6, Pr 0.711.
    np.testing.assert_allclose(free_nusselt([0.711e5, 0.711e6], 0.711), [7.118781, 13.217311], rtol=1e-6)


def test_pipe_wall() -> None:
    # Derived by hand: ln(88.9 / 77.927) / (2 pi 0.19) = 0.11036 m K/W.
    assert shell_resistance(0.077927, 0.0889, PVC_CONDUCTIVITY) == pytest.approx(0.11036, abs=2e-5)
    # Derived by hand: in series with 10 W/m2K on pi 0.0889 m.
    assert outer_conductance(0.11036, 0.0889, 10.0) == pytest.approx(1.0 / (0.11036 + 0.35805), rel=1e-4)


@pytest.mark.parametrize(("celsius", "excess"), [(-10.0, 10.0), (0.0, 4.0), (20.0, -8.0)])
@pytest.mark.parametrize("emissivity", [0.3, 0.9])
def test_radiation_of_a_pipe(celsius: float, excess: float, emissivity: float) -> None:
    # Derived: a grey body among surroundings as warm as the air gives off e sigma (T^4 - To^4), which wind and buoyancy
    # do not touch. 0.1 %: the code takes four cubes of the mean temperature.
    air = 273.15 + celsius
    surface = air + excess
    exact = emissivity * 5.670374e-8 * (surface**4 - air**4) / excess
    for wind in (0.0, 4.0):
        grey, bright = (outside_coefficient(wind, 0.0889, air, 101_325.0, excess, e) for e in (emissivity, 0.0))
        assert grey - bright == pytest.approx(exact, rel=1e-3)


def test_bare_plastic_pipe_passes_what_the_trade_reckons_with() -> None:
    # Common practice: 5 W/m2K for a bare riser in still air, 8 in wind; 15 % for what "wind" may mean.
    inside = inside_coefficient(60.0 * CFM, 0.077927, 285.95, 1.22)
    wall = shell_resistance(0.077927, 0.0889, PVC_CONDUCTIVITY)
    for wind, expected in ((0.0, 5.0), (3.0, 8.0)):
        beyond = outer_conductance(wall, 0.0889, outside_coefficient(wind, 0.0889, 263.15, 101_325.0))
        whole = 1.0 / (1.0 / (math.pi * 0.077927 * inside) + 1.0 / beyond)
        assert whole / (math.pi * 0.0889) == pytest.approx(expected, rel=0.15)


def test_refusals() -> None:
    with pytest.raises(ValueError, match="Reynolds number"):
        inside_nusselt(-1.0, 0.7)
    with pytest.raises(ValueError, match="wind must lie between"):
        outside_coefficient(-1.0, 0.1, 270.0, 101_325.0)
    with pytest.raises(ValueError, match="must not be below the inside diameter"):
        shell_resistance(0.1, 0.09, 0.2)
