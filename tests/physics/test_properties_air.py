"""What holds for moist air and draft whatever the state."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.physics.air import (
    air_at,
    enthalpy,
    humidity_ratio,
    moist_density,
    saturation_pressure,
    standard_pressure,
    viscosity,
)
from workbench.physics.draft import stack_draft

quick = settings(deadline=None, max_examples=60)
kelvin = st.floats(243.15, 323.15)
humidity = st.floats(0.0, 1.0)
altitude = st.floats(-400.0, 5000.0)


@quick
@given(kelvin, humidity, altitude)
def test_humidity_lies_between_dry_and_saturated(t: float, rh: float, z: float) -> None:
    p = standard_pressure(z)
    ratio = humidity_ratio(t, rh, p)
    assert 0.0 <= ratio <= humidity_ratio(t, 1.0, p) < 0.2


@quick
@given(kelvin, st.floats(0.01, 1.0), altitude)
def test_moist_air_is_lighter_and_richer_than_dry(t: float, rh: float, z: float) -> None:
    moist, dry = air_at(t, rh, z), air_at(t, 0.0, z)
    assert moist.pressure == dry.pressure
    assert moist.density < dry.density
    assert enthalpy(t, moist.humidity_ratio) > enthalpy(t, 0.0)


@quick
@given(kelvin, st.floats(0.5, 20.0))
def test_warming(t: float, more: float) -> None:
    assert saturation_pressure(t + more) > saturation_pressure(t)
    assert viscosity(t + more) > viscosity(t)
    assert moist_density(t + more, 101_325.0, 0.005) < moist_density(t, 101_325.0, 0.005)


@quick
@given(altitude, st.floats(1.0, 500.0))
def test_pressure_falls_with_altitude(z: float, more: float) -> None:
    assert standard_pressure(z + more) < standard_pressure(z)


@quick
@given(kelvin, humidity, st.floats(0.5, 2.0))
def test_density_scales_with_pressure(t: float, ratio: float, factor: float) -> None:
    np.testing.assert_allclose(moist_density(t, factor * 1e5, ratio), factor * moist_density(t, 1e5, ratio), rtol=1e-14)


@quick
@given(st.lists(st.tuples(kelvin, humidity), min_size=1, max_size=8))
def test_arrays_answer_as_their_elements_do(states: list[tuple[float, float]]) -> None:
    t, rh = np.array(states).T
    column = humidity_ratio(t[:, None], rh, 90_000.0)
    assert column.shape == (len(states), len(states))
    singles = [[humidity_ratio(each, r, 90_000.0) for r in rh] for each in t]
    np.testing.assert_allclose(column, singles, rtol=1e-14)


@quick
@given(st.floats(0.0, 30.0), st.floats(0.8, 1.5), st.floats(0.8, 1.5))
def test_draft_turns_with_the_densities(height: float, inside: float, outside: float) -> None:
    draft = stack_draft(height, inside, outside)
    assert draft == -stack_draft(height, outside, inside)
    assert stack_draft(height, inside, inside) == 0.0
    assert np.sign(stack_draft(1.0 + height, inside, outside)) == np.sign(outside - inside)
