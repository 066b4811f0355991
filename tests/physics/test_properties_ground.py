"""What holds for step tests and pits whatever the ground."""

from __future__ import annotations

from random import Random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import nnls

from tests.reference.ground import radial_bed
from workbench.physics.ground import (
    LEAST_READING_ERROR,
    RELATIVE_READING_ERROR,
    cylinder_radius,
    fit_step_test,
    hemisphere_radius,
    pit_scaling_hemisphere,
    pit_scaling_layer,
)

quick = settings(deadline=None, max_examples=60)
viscous = st.floats(100.0, 1e5)
inertial = st.floats(1e3, 1e7)
volume = st.floats(0.003, 0.2)

# flows in even steps, so that any two differ by more than the readings can tell apart
flows = st.lists(st.integers(1, 20), min_size=2, max_size=8, unique=True).map(
    lambda n: 0.004 * np.array(n, dtype=float)
)
noise = st.lists(st.floats(-0.25, 0.25), min_size=8, max_size=8)


@quick
@given(flows, viscous, inertial)
def test_exact_readings_give_back_their_coefficients(q: np.ndarray, a: float, b: float) -> None:
    fit = fit_step_test(q, a * q + b * q**2)
    # each part to within rounding of the whole
    scale = a + b * float(q.max())
    assert abs(fit.a - a) < 1e-9 * scale
    assert abs(fit.b - b) * q.max() < 1e-9 * scale
    assert fit.degrees_of_freedom == q.size - 2


@quick
@given(flows, viscous)
def test_laminar_ground_stays_laminar(q: np.ndarray, a: float) -> None:
    fit = fit_step_test(q, a * q)
    assert fit.a == pytest.approx(a, rel=1e-9)
    assert 0.0 <= fit.b * q.max() < 1e-9 * a


def _noisy(q: np.ndarray, a: float, b: float, errors: list[float]) -> np.ndarray:
    read = (a * q + b * q**2) * (1.0 + np.array(errors[: q.size]))
    # noise may turn neighbours round, but a fit is only asked for when the test as a whole rises
    read[np.argmax(q)] = max(read[np.argmax(q)], read[np.argmin(q)])
    return np.asarray(read)


@quick
@given(flows, viscous, inertial, noise)
def test_a_fit_is_never_negative_and_always_the_best(q: np.ndarray, a: float, b: float, errors: list[float]) -> None:
    read = _noisy(q, a, b, errors)
    fit = fit_step_test(q, read)
    assert fit.a >= 0.0
    assert fit.b >= 0.0
    np.testing.assert_allclose(fit.residuals, read - fit.suction(q), rtol=1e-9, atol=1e-9 * read.max())
    weight = 1.0 / np.maximum(RELATIVE_READING_ERROR * read, LEAST_READING_ERROR)
    _, misfit = nnls(np.stack((q / q.max(), (q / q.max()) ** 2), axis=1) * weight[:, None], read * weight)
    assert np.linalg.norm(fit.residuals * weight) == pytest.approx(misfit, rel=1e-7, abs=1e-7)


@quick
@given(flows, viscous, inertial, noise, st.floats(0.0, 0.3))
def test_the_band_holds_the_curve_and_stays_above_nothing(
    q: np.ndarray, a: float, b: float, errors: list[float], at: float
) -> None:
    fit = fit_step_test(q, _noisy(q, a, b, errors))
    low, high = fit.band(at)
    assert 0.0 <= low <= fit.suction(at) <= high
    np.testing.assert_array_equal(fit.covariance, fit.covariance.T)
    assert np.all(np.diag(fit.covariance) > 0.0)


@quick
@given(flows, viscous, inertial, noise, st.floats(-5.0, 5.0), st.randoms(use_true_random=False))
def test_baseline_and_order_do_not_matter(
    q: np.ndarray, a: float, b: float, errors: list[float], rest: float, random: Random
) -> None:
    read = _noisy(q, a, b, errors)
    order = random.sample(range(q.size), q.size)
    fit = fit_step_test(q, read)
    other = fit_step_test(q[order], read[order] + rest, rest)
    assert other.suction(q) == pytest.approx(fit.suction(q), rel=1e-8, abs=1e-8)
    np.testing.assert_allclose(other.band(q)[1], fit.band(q)[1], rtol=1e-7)


@quick
@given(flows, st.floats(1e4, 1e5), inertial, noise, st.floats(1.0, 4.0))
def test_a_fit_scales_with_its_readings(q: np.ndarray, a: float, b: float, errors: list[float], factor: float) -> None:
    # all readings here are large enough for their errors to be a share of themselves
    read = _noisy(q, a, b, errors)
    fit, other = fit_step_test(q, read), fit_step_test(q, factor * read)
    np.testing.assert_allclose(other.suction(q), factor * fit.suction(q), rtol=1e-8)
    np.testing.assert_allclose(other.band(q)[1], factor * fit.band(q)[1], rtol=1e-8)


@quick
@given(st.floats(1e-3, 0.1), st.floats(1.0, 1e4))
def test_one_pair_passes_through_its_reading(q: float, p: float) -> None:
    fit = fit_step_test(q, p)
    low, high = fit.band(q)
    assert fit.suction(q) == pytest.approx(p, rel=1e-14)
    assert (low, high) == (pytest.approx(0.5 * p), pytest.approx(1.5 * p))
    assert fit.degrees_of_freedom == 0


@quick
@given(st.floats(-0.1, 0.1))
def test_suction_turns_with_the_flow(q: float) -> None:
    fit = fit_step_test([0.01, 0.02], [120.0, 320.0])
    assert fit.suction(-q) == -fit.suction(q)


@quick
@given(volume, st.floats(0.02, 0.5))
def test_radii_hold_their_volume(v: float, depth: float) -> None:
    assert 2.0 / 3.0 * np.pi * hemisphere_radius(v) ** 3 == pytest.approx(v, rel=1e-12)
    assert np.pi * depth * cylinder_radius(v, depth) ** 2 == pytest.approx(v, rel=1e-12)


@quick
@given(volume, volume, volume)
def test_digging_twice_is_digging_once(first: float, second: float, third: float) -> None:
    for scaling in (pit_scaling_hemisphere, lambda v, v0: pit_scaling_layer(v, v0, 0.1, 5.0)):
        one, two, both = scaling(second, first), scaling(third, second), scaling(third, first)
        assert one.a * two.a == pytest.approx(both.a, rel=1e-12)
        assert one.b * two.b == pytest.approx(both.b, rel=1e-12)
        assert scaling(first, first) == (pytest.approx(1.0), pytest.approx(1.0))


@quick
@given(volume, st.floats(1.01, 20.0))
def test_a_larger_pit_eases_inertia_more_than_friction(v: float, growth: float) -> None:
    for factors in (pit_scaling_hemisphere(growth * v, v), pit_scaling_layer(growth * v, v, 0.1, 5.0)):
        assert 0.0 < factors.b < factors.a < 1.0
    deep = pit_scaling_hemisphere(growth * v, v)
    assert deep.b == pytest.approx(deep.a**3, rel=1e-12)


@quick
@given(volume, volume)
def test_the_layer_scales_as_its_bed_does(new: float, old: float) -> None:
    before, after = (
        radial_bed(3e-7, 1000.0, 0.1, float(cylinder_radius(v, 0.1)), 5.0, 1.2, 1.8e-5) for v in (old, new)
    )
    factors = pit_scaling_layer(new, old, 0.1, 5.0)
    assert after[0] / before[0] == pytest.approx(factors.a, rel=1e-12)
    assert after[1] / before[1] == pytest.approx(factors.b, rel=1e-12)
