"""The ground's resistance against closed forms and Ergun's bed."""

from __future__ import annotations

import numpy as np
import pytest

from tests.reference.ground import ergun, hemisphere_resistance, radial_bed
from workbench.physics.ground import (
    cylinder_radius,
    fit_step_test,
    hemisphere_radius,
    pit_scaling_hemisphere,
    pit_scaling_layer,
)

CFM = 4.719474e-4
DENSITY, VISCOSITY = 1.204, 1.81e-5


def test_step_test_with_an_exact_answer() -> None:
    # Derived: 50, 120 and 320 Pa at 5, 10 and 20 L/s lie on 8000 Q + 400 000 Q^2.
    fit = fit_step_test([0.005, 0.010, 0.020], [50.0, 120.0, 320.0])
    assert fit.a == pytest.approx(8000.0, rel=1e-10)
    assert fit.b == pytest.approx(400_000.0, rel=1e-10)
    assert fit.degrees_of_freedom == 1
    np.testing.assert_allclose(fit.residuals, 0.0, atol=1e-9)


def test_step_test_meets_the_fan() -> None:
    # Derived: that ground with the fan 400 - 4000 Q crosses at 0.0200 m3/s and 320 Pa.
    fit = fit_step_test([0.005, 0.010, 0.020], [50.0, 120.0, 320.0])
    # 400 - 4000 Q = a Q + b Q^2
    linear = fit.a + 4000.0
    flow = (-linear + np.sqrt(linear**2 + 4.0 * fit.b * 400.0)) / (2.0 * fit.b)
    assert flow == pytest.approx(0.0200, rel=1e-10)
    assert fit.suction(flow) == pytest.approx(320.0, rel=1e-10)


@pytest.mark.parametrize(
    ("cfm", "viscous", "inertial"),
    [(20.0, 2.45946, 0.86221), (50.0, 6.14864, 5.38884), (100.0, 12.29729, 21.55534)],
)
def test_radial_bed_of_stone(cfm: float, viscous: float, inertial: float) -> None:
    # Derived: Forchheimer's equation over the whole circle between tight planes 0.10 m apart, pit 0.30 m, edge 5 m,
    # stone as in the next test; printed to five places.
    a, b = radial_bed(3.1104e-7, 1012.7315, 0.10, 0.30, 5.0, DENSITY, VISCOSITY)
    flow = cfm * CFM
    assert a * flow == pytest.approx(viscous, rel=1e-5)
    assert b * flow**2 == pytest.approx(inertial, rel=1e-5)


def test_bed_of_sub_slab_stone() -> None:
    # Derived from Ergun (1952), from memory; stone of 16.2 mm, sub-slab fill: published, Hung et al. 2018.
    permeability, beta = ergun(16.2e-3, 0.40)
    assert permeability == pytest.approx(3.1104e-7, rel=1e-6)
    assert beta == pytest.approx(1012.73, abs=0.006)


def test_hemispherical_pit() -> None:
    # Derived; the form from memory of Hvorslev (1951): 250 Pa on a pit of 0.15 m in ground of 1e-10 m2.
    resistance = hemisphere_resistance(1e-10, 0.15, VISCOSITY)
    assert 250.0 / resistance == pytest.approx(1.301765e-3, rel=1e-6)


def test_larger_pit() -> None:
    # Derived: two and a half times the volume has 1.357 times the radius.
    ratio = hemisphere_radius(2.5 * 0.038) / hemisphere_radius(0.038)
    assert ratio == pytest.approx(1.357, abs=6e-4)
    factors = pit_scaling_hemisphere(2.5 * 0.038, 0.038)
    assert factors.a == pytest.approx(1.0 / 1.357, abs=6e-4)
    assert factors.b == pytest.approx(1.0 / 2.5, rel=1e-12)


def test_pit_scaling_agrees_with_the_integrated_bed() -> None:
    # Derived: trapezoidal integral of Forchheimer's gradient, a second way to the same loss; 1e-6 is its own error.
    thickness, outer, flow = 0.10, 5.0, 0.03
    permeability, beta = ergun(16.2e-3, 0.40)

    def losses(volume: float) -> tuple[float, float]:
        r = np.geomspace(float(cylinder_radius(volume, thickness)), outer, 20_001)
        v = flow / (2.0 * np.pi * r * thickness)
        viscous = np.trapezoid(VISCOSITY / permeability * v, r)
        return float(viscous), float(np.trapezoid(beta * DENSITY * v**2, r))

    old, new = losses(0.03), losses(0.08)
    factors = pit_scaling_layer(0.08, 0.03, thickness, outer)
    assert new[0] / old[0] == pytest.approx(float(factors.a), rel=1e-6)
    assert new[1] / old[1] == pytest.approx(float(factors.b), rel=1e-6)


def test_one_pair_is_taken_as_laminar_with_a_wide_band() -> None:
    # Derived: the band holds both ends, laminar and wholly turbulent ground, from half to 1.5 times the tested flow.
    fit = fit_step_test(0.010, 103.0, 3.0)
    assert (fit.a, fit.b) == (pytest.approx(10_000.0), 0.0)
    flows = np.array([0.005, 0.010, 0.015])
    low, high = fit.band(flows)
    turbulent = 100.0 * (flows / 0.010) ** 2
    assert np.all(low <= turbulent * (1.0 + 1e-12))
    assert np.all(turbulent <= high * (1.0 + 1e-12))


def test_two_pairs_carry_the_stated_error() -> None:
    # Derived: an exact fit passes on the readings' standard errors unchanged where the readings were taken.
    fit = fit_step_test([0.010, 0.020], [120.0, 320.0])
    assert fit.a == pytest.approx(8000.0)
    assert fit.b == pytest.approx(400_000.0)
    low, high = fit.band([0.010, 0.020])
    np.testing.assert_allclose(high - low, 4.0 * 0.05 * np.array([120.0, 320.0]), rtol=1e-9)


def test_curved_the_wrong_way_is_taken_as_laminar() -> None:
    # Derived: a concave test asks for b < 0; the best laminar line has the weights' closed form.
    flow, suction = np.array([0.010, 0.020, 0.030]), np.array([100.0, 170.0, 220.0])
    fit = fit_step_test(flow, suction)
    weight = 1.0 / suction**2
    assert fit.b == 0.0
    assert fit.degrees_of_freedom == 2
    assert fit.a == pytest.approx(np.sum(weight * flow * suction) / np.sum(weight * flow**2), rel=1e-12)


def test_two_pairs_that_miss_the_law_widen_the_band() -> None:
    # Derived: the misfit of the laminar line is one degree of freedom; its square scales the covariance.
    flow, suction = np.array([0.010, 0.020]), np.array([100.0, 110.0])
    fit = fit_step_test(flow, suction)
    chi_square = np.sum((fit.residuals / (0.05 * suction)) ** 2)
    design = np.stack((flow, flow**2), axis=1) / (0.05 * suction)[:, None]
    assert (fit.b, fit.degrees_of_freedom) == (0.0, 1)
    assert chi_square > 10.0
    np.testing.assert_allclose(fit.covariance, chi_square * np.linalg.inv(design.T @ design), rtol=1e-8)


def test_steeper_than_square_is_taken_as_turbulent() -> None:
    # Derived: as above with a held at 0.
    flow, suction = np.array([0.010, 0.020, 0.030]), np.array([20.0, 160.0, 540.0])
    fit = fit_step_test(flow, suction)
    weight = 1.0 / suction**2
    assert fit.a == 0.0
    assert fit.b == pytest.approx(np.sum(weight * flow**2 * suction) / np.sum(weight * flow**4), rel=1e-12)


def test_band_covers_as_often_as_it_says() -> None:
    # Derived: readings scattered by the stated error. Two standard errors of a normal cover 95.4 %; widening by the
    # scatter adds some, and 2000 trials leave a standard error of 0.5 %.
    rng = np.random.default_rng(7)
    flow = np.array([0.006, 0.012, 0.020, 0.030])
    true = 8000.0 * flow + 400_000.0 * flow**2
    at, hits, trials = 0.016, 0, 2000
    for _ in range(trials):
        low, high = fit_step_test(flow, true * (1.0 + 0.05 * rng.standard_normal(4))).band(at)
        hits += int(low <= 8000.0 * at + 400_000.0 * at**2 <= high)
    assert 0.94 <= hits / trials <= 0.99


@pytest.mark.parametrize(
    ("flow", "suction", "baseline", "complaint"),
    [
        ([], [], 0.0, "at least one pair"),
        ([0.01, 0.02], [100.0], 0.0, "every flow needs one suction"),
        ([0.01, 0.02], [100.0, 200.0], [1.0, 2.0, 3.0], "one baseline"),
        ([0.01, -0.02], [100.0, 200.0], 0.0, "flow of a step test must be above 0"),
        ([0.0], [100.0], 0.0, "flow of a step test must be above 0"),
        ([0.01, 0.02], [5.0, 200.0], 5.0, "above its baseline"),
        ([0.01, np.nan], [100.0, 200.0], 0.0, "must be a number"),
        ([0.01, 0.01], [100.0, 101.0], 0.0, "all have one flow"),
        ([0.01, 0.02], [200.0, 100.0], 0.0, "suction falls as flow rises"),
    ],
)
def test_senseless_step_tests_are_refused(
    flow: list[float], suction: list[float], baseline: float | list[float], complaint: str
) -> None:
    with pytest.raises(ValueError, match=complaint):
        fit_step_test(flow, suction, baseline)


def test_senseless_ground_is_refused() -> None:
    with pytest.raises(ValueError, match="volume of a pit"):
        hemisphere_radius(0.0)
    with pytest.raises(ValueError, match="beyond the pit"):
        pit_scaling_layer(0.08, 0.03, 0.10, 0.3)
    with pytest.raises(ValueError, match="flow must lie"):
        fit_step_test(0.01, 100.0).band(-0.01)
