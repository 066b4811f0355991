"""What holds for pipe and fittings whatever the flow."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.physics import fittings
from workbench.physics.pipe import bore_area, fitting_loss, friction_loss, reynolds

quick = settings(deadline=None, max_examples=60)
flow = st.floats(-0.2, 0.2)
bore = st.floats(0.03, 0.2)
length = st.floats(0.0, 100.0)
roughness = st.floats(0.0, 1e-3)
density = st.floats(0.7, 1.5)
viscosity = st.floats(1.5e-5, 2.2e-5)
share = st.floats(0.0, 1.0)
angle = st.floats(30.0, 90.0)
area_ratio = st.floats(0.1, 1.0)


@quick
@given(flow, bore, length, roughness, density, viscosity, st.floats(-1.0, 20.0))
def test_losses_turn_with_the_flow(
    q: float, d: float, run: float, rough: float, rho: float, mu: float, k: float
) -> None:
    assert friction_loss(-q, d, run, rough, rho, mu) == -friction_loss(q, d, run, rough, rho, mu)
    assert fitting_loss(-q, d, k, rho) == -fitting_loss(q, d, k, rho)
    assert math.copysign(1.0, friction_loss(q, d, run, rough, rho, mu)) == math.copysign(1.0, q)


@quick
@given(bore, length, roughness, density, viscosity, st.floats(-1.0, 20.0))
def test_nothing_is_lost_at_rest(d: float, run: float, rough: float, rho: float, mu: float, k: float) -> None:
    assert friction_loss(0.0, d, run, rough, rho, mu) == 0.0
    assert fitting_loss(0.0, d, k, rho) == 0.0


@quick
@given(bore, roughness, density, viscosity, st.floats(0.0, 300.0))
def test_slow_flow_is_laminar(d: float, rough: float, rho: float, mu: float, number: float) -> None:
    q = number * math.pi * d * mu / (4.0 * rho)
    poiseuille = 128.0 * mu * 3.0 * q / (math.pi * d**4)
    assert friction_loss(q, d, 3.0, rough, rho, mu) == pytest.approx(poiseuille, rel=1e-9)


@quick
@given(bore, roughness, density, viscosity)
def test_friction_rises_through_transition(d: float, rough: float, rho: float, mu: float) -> None:
    q = np.geomspace(10.0, 1e6, 400) * math.pi * d * mu / (4.0 * rho)
    loss = friction_loss(q, d, 1.0, rough, rho, mu)
    assert np.all(np.diff(loss) > 0.0)


@quick
@given(flow, bore, length, roughness, density, viscosity, st.floats(0.5, 2.0))
def test_friction_scales_with_density_at_one_kinematic_viscosity(
    q: float, d: float, run: float, rough: float, rho: float, mu: float, factor: float
) -> None:
    scaled = friction_loss(q, d, run, rough, factor * rho, factor * mu)
    assert scaled == pytest.approx(factor * friction_loss(q, d, run, rough, rho, mu), rel=1e-11)


@quick
@given(flow, bore, st.floats(-1.0, 20.0), density, st.floats(0.5, 2.0))
def test_fittings_scale_with_density(q: float, d: float, k: float, rho: float, factor: float) -> None:
    assert fitting_loss(q, d, k, factor * rho) == pytest.approx(factor * fitting_loss(q, d, k, rho), rel=1e-12)
    assert abs(fitting_loss(q, d, k, rho)) == pytest.approx(
        abs(k) * 0.5 * rho * float(q / bore_area(d)) ** 2, rel=1e-12
    )


@quick
@given(st.floats(1e-4, 0.2), bore, st.floats(0.1, 100.0), roughness, density, viscosity)
def test_friction_is_darcy_and_weisbach(q: float, d: float, run: float, rough: float, rho: float, mu: float) -> None:
    velocity = q / bore_area(d)
    # one factor at one Reynolds number and one relative roughness, whatever the bore, the length and the gas
    viscosity = 1.0 / reynolds(velocity, d, rho, mu)
    factor = 2.0 * friction_loss(bore_area(1.0), 1.0, 1.0, rough / d, 1.0, viscosity)
    expected = factor * run / d * 0.5 * rho * velocity**2
    assert friction_loss(q, d, run, rough, rho, mu) == pytest.approx(float(expected), rel=1e-12)


def test_a_batch_of_runs_answers_as_its_elements_do() -> None:
    rng = np.random.default_rng(3)
    q = rng.uniform(-0.05, 0.05, (7, 4))
    d, run, rough = rng.uniform(0.05, 0.15, 4), rng.uniform(0.0, 9.0, 4), rng.uniform(0.0, 1e-4, 4)
    loss = friction_loss(q, d, run, rough, 1.2, 1.8e-5)
    singles = [[friction_loss(q[i, j], d[j], run[j], rough[j], 1.2, 1.8e-5) for j in range(4)] for i in range(7)]
    np.testing.assert_allclose(loss, singles, rtol=1e-12)
    np.testing.assert_allclose(
        fitting_loss(q, d, run, 1.2), [[fitting_loss(q[i, j], d[j], run[j], 1.2) for j in range(4)] for i in range(7)]
    )


def test_friction_in_full_turbulence() -> None:
    # as Colebrook and Churchill both have it up to a per cent; Reynolds number 1e8 in a bore of one meter
    factor = 2.0 * friction_loss(bore_area(1.0), 1.0, 1.0, 0.01, 1.0, 1e-8)
    assert factor == pytest.approx(0.25 / math.log10(3.7 / 0.01) ** 2, rel=1e-2)


@quick
@given(share)
def test_sudden_changes_stay_within_their_limits(beta: float) -> None:
    assert 0.0 <= fittings.sudden_expansion(beta) <= 1.0
    assert 0.0 <= fittings.sudden_contraction(beta) <= 0.5
    assert fittings.sudden_expansion(0.0) == fittings.EXIT
    assert fittings.sudden_contraction(0.0) == 0.5
    assert fittings.sudden_expansion(1.0) == fittings.sudden_contraction(1.0) == 0.0


def test_tables_fall_all_the_way() -> None:
    assert np.all(np.diff(fittings.rounded_elbow_k(np.linspace(0.5, 2.0, 301))) < 0.0)
    assert np.all(np.diff(fittings.stamped_elbow_k(np.linspace(0.075, 0.150, 301))) < 0.0)
    assert np.all(np.diff(fittings.screen_k(np.linspace(0.5, 1.0, 301))) < 0.0)
    assert np.all(np.diff(fittings.gate_k(np.linspace(0.125, 1.0, 301))) < 0.0)
    assert np.all(np.diff(fittings.mitered_elbow_k(np.linspace(0.0, 90.0, 301))) > 0.0)


@quick
@given(angle, area_ratio)
def test_converging_legs_have_no_steps(turn: float, area: float) -> None:
    shares = np.linspace(0.0, 1.0, 2001)
    for k in (fittings.converging_side_k(shares, turn, area), fittings.converging_straight_k(shares, turn, area)):
        # the steepest slope of the forms is of the order of 2 / A^2
        assert np.max(np.abs(np.diff(k))) < 1e-3 * (4.0 + 4.0 / area**2)


@quick
@given(st.floats(-50.0, 50.0), angle, area_ratio)
def test_shares_beyond_the_ends_are_held(s: float, turn: float, area: float) -> None:
    held = min(max(s, 0.0), 1.0)
    assert fittings.converging_side_k(s, turn, area) == fittings.converging_side_k(held, turn, area)
    assert fittings.converging_straight_k(s, turn, area) == fittings.converging_straight_k(held, turn, area)


@quick
@given(angle, area_ratio)
def test_all_air_from_one_leg(turn: float, area: float) -> None:
    assert fittings.converging_straight_k(0.0, turn, area) == 0.0
    # a leg without flow is sucked at: the jet of the common leg lowers its pressure
    assert fittings.converging_side_k(0.0, turn, area) < 0.0
