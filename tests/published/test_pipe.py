"""Pipe flow against textbook examples, handbook figures and a reference library."""

from __future__ import annotations

import math

import numpy as np
import pytest
from fluids.friction import Churchill_1977, Colebrook, one_phase_dP
from numpy.typing import ArrayLike, NDArray

from workbench.physics.pipe import bore_area, fitting_loss, friction_loss, reynolds

CFM = 4.719474e-4
INCH_WATER = 249.089
FPM = 0.00508
DENSITY, VISCOSITY = 1.20138, 1.8205e-5
SMOOTH = 1.5e-6

# Inside diameters, ASTM D1785 / D2665, schedule 40, least wall. Published; read through the fluids library's tables.
THREE, FOUR, SIX = 0.077927, 0.102260, 0.154051


def friction_factor(number: ArrayLike, relative_roughness: float) -> NDArray[np.float64]:
    """The factor that the loss carries, by Darcy and Weisbach's f rho v^2 / 2 in a bore and a length of one meter."""
    viscosity = 1.0 / np.asarray(number, dtype=np.float64)
    return 2.0 * friction_loss(bore_area(1.0), 1.0, 1.0, relative_roughness, 1.0, viscosity)


def test_laminar_pipe() -> None:
    # Derived: Hagen and Poiseuille, 1 cfm in 3 in. pipe.
    flow = 1.0 * CFM
    velocity = flow / bore_area(THREE)
    number = reynolds(velocity, THREE, DENSITY, VISCOSITY)
    assert number == pytest.approx(508.9, abs=0.06)
    assert friction_factor(number, 0.0) == pytest.approx(0.12577, abs=6e-6)
    loss = friction_loss(flow, THREE, 1.0, SMOOTH, DENSITY, VISCOSITY)
    assert loss == pytest.approx(9.4927e-3, rel=1e-5)
    assert loss == pytest.approx(128.0 * VISCOSITY * flow / (math.pi * THREE**4), rel=1e-12)


def test_friction_factor_values() -> None:
    # Derived: Churchill (1977) and Colebrook by hand.
    assert friction_factor(1e5, 1e-4) == pytest.approx(0.018463, abs=6e-7)
    # Churchill is good to about half a percent of Colebrook here.
    assert friction_factor(1e5, 1e-4) == pytest.approx(0.018514, rel=5e-3)
    assert friction_factor(4e4, 2e-5) == pytest.approx(0.022034, rel=5e-3)
    # Published: Crane TP-410, example 7.1, smooth plastic, read off a chart.
    assert friction_factor(100_600.0, 0.0) == pytest.approx(0.0179, rel=5e-3)


@pytest.mark.parametrize("roughness", [0.0, 2e-5, 1e-3, 0.05])
def test_friction_factor_is_churchills(roughness: float) -> None:
    # Derived: the fluids library's Churchill_1977; rounding only.
    numbers = np.geomspace(1.0, 1e8, 200)
    expected = [Churchill_1977(number, roughness) for number in numbers]
    np.testing.assert_allclose(friction_factor(numbers, roughness), expected, rtol=1e-12)


def test_friction_factor_against_colebrook() -> None:
    # Derived: the fluids library's exact Colebrook over the flows of mitigation pipe. Churchill's turbulent part is
    # Swamee and Jain's, which departs from Colebrook by up to 3 % at the low end.
    numbers = np.geomspace(5e3, 2e5, 60)
    expected = [Colebrook(number, 2e-5) for number in numbers]
    np.testing.assert_allclose(friction_factor(numbers, 2e-5), expected, rtol=0.03)


def test_duct_of_the_handbook() -> None:
    # Published: ASHRAE duct example, 500 L/s through 350 x 200 mm, roughness 0.09 mm, air 1.2 kg/m3.
    hydraulic = 2.0 * 0.350 * 0.200 / 0.550
    pressure = fitting_loss(0.5, math.sqrt(4.0 * 0.350 * 0.200 / math.pi), 1.0, 1.2)
    factor = friction_factor(120_727.0, 0.09e-3 / hydraulic)
    assert hydraulic == pytest.approx(0.2545, abs=1e-4)
    # 1 %: the handbook's iteration stops 0.5 % short of Colebrook's 0.01919, and Churchill lies 0.3 % above that.
    assert factor == pytest.approx(0.0191, rel=1e-2)
    assert pressure == pytest.approx(31.0, abs=0.5)
    assert float(factor * pressure) / hydraulic == pytest.approx(2.3, abs=0.05)


def test_three_inch_plastic_pipe() -> None:
    # Derived: fluids library, 60 cfm through 100 ft of 3 in. schedule 40.
    flow = 60.0 * CFM
    velocity = flow / bore_area(THREE)
    assert velocity == pytest.approx(5.937, abs=6e-4)
    assert reynolds(velocity, THREE, DENSITY, VISCOSITY) == pytest.approx(30_532.0, abs=1.0)
    loss = friction_loss(flow, THREE, 30.48, SMOOTH, DENSITY, VISCOSITY)
    # 1e-4: bore and flow are printed to five figures.
    assert loss == pytest.approx(193.42, rel=1e-4)
    # Colebrook's 194.12 Pa, 0.4 % away.
    assert loss == pytest.approx(194.12, rel=5e-3)
    assert loss / INCH_WATER == pytest.approx(0.7793, rel=5e-3)


@pytest.mark.parametrize(
    ("cfm", "bore", "inches"), [(60.0, THREE, 0.7793), (140.0, FOUR, 0.9568), (200.0, SIX, 0.2544)]
)
def test_plastic_pipe_per_hundred_feet(cfm: float, bore: float, inches: float) -> None:
    # Derived: fluids library, Colebrook. 0.6 %: Churchill lies 0.36 to 0.53 % below it here.
    loss = friction_loss(cfm * CFM, bore, 30.48, SMOOTH, DENSITY, VISCOSITY)
    assert loss / INCH_WATER == pytest.approx(inches, rel=6e-3)


@pytest.mark.parametrize(("cfm", "pascal"), [(40.0, 52.62), (60.0, 112.58), (80.0, 193.65)])
def test_run_with_fittings(cfm: float, pascal: float) -> None:
    # Derived: 9 m of 3 in. with three elbows of K 0.37, entrance 0.5, exit 1.0, Colebrook; Churchill within 0.4 %.
    flow, k = cfm * CFM, 3.0 * 0.37 + 0.5 + 1.0
    friction = friction_loss(flow, THREE, 9.0, SMOOTH, DENSITY, VISCOSITY)
    assert friction + fitting_loss(flow, THREE, k, DENSITY) == pytest.approx(pascal, rel=4e-3)


@pytest.mark.parametrize(("roughness", "inches"), [(0.0015e-3, 1.297), (0.046e-3, 1.398)])
def test_roughness_of_plastic(roughness: float, inches: float) -> None:
    # Derived: 80 cfm in 3 in. per 100 ft with the roughness of smooth pipe (from memory of Moody) and the greatest
    # that ASHRAE tabulates for plastic (published). 1 %: Churchill for Colebrook.
    loss = friction_loss(80.0 * CFM, THREE, 30.48, roughness, DENSITY, VISCOSITY)
    assert loss / INCH_WATER == pytest.approx(inches, rel=1e-2)


@pytest.mark.parametrize(("cfm", "inches"), [(35.0, 2.0), (80.0, 3.0), (140.0, 4.0), (315.0, 6.0)])
def test_flow_at_the_speed_that_rushes(cfm: float, inches: float) -> None:
    # Published: ANSI/AARST SGM-SF 2017, 1600 fpm in pipes of these nominal bores; flows rounded to 5 cfm.
    flow = 1600.0 * FPM * bore_area(inches * 0.0254)
    assert flow / CFM == pytest.approx(cfm, abs=2.5)


def test_pipe_loss_agrees_with_the_reference_library() -> None:
    # Derived: fluids.one_phase_dP by Churchill's method; rounding only. From 3 L/s (Re 2465) up: the library
    # takes the laminar 64/Re below Re 2040 whatever the method.
    flows = np.geomspace(0.003, 0.1, 30)
    expected = [
        one_phase_dP(m=DENSITY * q, rho=DENSITY, mu=VISCOSITY, D=FOUR, roughness=SMOOTH, L=7.0, Method="Churchill_1977")
        for q in flows
    ]
    np.testing.assert_allclose(friction_loss(flows, FOUR, 7.0, SMOOTH, DENSITY, VISCOSITY), expected, rtol=1e-10)
