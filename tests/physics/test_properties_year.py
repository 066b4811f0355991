"""What holds for hourly loads, degree-days and present worth in any climate."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.physics.air import enthalpy, moist_density
from workbench.physics.energy import (
    heating_degree_days,
    present_worth_factor,
    replacement_load,
    seasonal_hours,
)

quick = settings(deadline=None, max_examples=60)
kelvins = st.floats(240.0, 315.0)
ratios = st.floats(0.0, 0.03)
hours = st.lists(kelvins, min_size=1, max_size=48)


@quick
@given(st.floats(0.0, 0.2), st.floats(0.0, 1.0), kelvins, ratios, st.floats(285.0, 300.0), ratios)
def test_parts_of_a_load_are_the_enthalpy(
    flow: float, share: float, outside: float, wet: float, inside: float, dry: float
) -> None:
    load = replacement_load(flow, share, outside, wet, inside, dry, 95_000.0)
    mass = flow * share * float(moist_density(inside, 95_000.0, dry)) / (1.0 + dry)
    whole = mass * float(enthalpy(outside, wet) - enthalpy(inside, dry))
    assert load.total == pytest.approx(whole, rel=1e-9, abs=1e-6)


@quick
@given(hours, ratios, st.floats(280.0, 292.0), st.floats(0.0, 12.0), st.floats(0.1, 8.0))
def test_a_season_is_never_negative_and_grows_with_the_flow(
    outside: list[float], wet: float, balance: float, between: float, factor: float
) -> None:
    one = seasonal_hours(
        replacement_load(0.02, 0.5, outside, wet, 294.0, 0.008, 1e5), outside, balance, balance + between
    ).sums(np.ones(len(outside)))
    more = seasonal_hours(
        replacement_load(0.02 * factor, 0.5, outside, wet, 294.0, 0.008, 1e5), outside, balance, balance + between
    ).sums(np.ones(len(outside)))
    assert min(one) >= 0.0
    assert more == pytest.approx([factor * part for part in one], rel=1e-9, abs=1e-12)


@quick
@given(hours, kelvins, st.floats(0.0, 20.0))
def test_degree_days(outside: list[float], base: float, higher: float) -> None:
    below = heating_degree_days(outside, base)
    above = float(np.sum(np.maximum(np.array(outside) - base, 0.0))) / 24.0
    # what is below less what is above is the distance of the mean, and a higher base counts more
    assert below - above == pytest.approx(float(np.sum(base - np.array(outside))) / 24.0, abs=1e-9)
    assert heating_degree_days(outside, base + higher) >= below
    assert below >= 0.0


@quick
@given(st.floats(-0.05, 0.3), st.integers(0, 60))
def test_present_worth_is_the_sum_of_its_years(rate: float, years: int) -> None:
    by_year = sum((1.0 + rate) ** -year for year in range(1, years + 1))
    assert present_worth_factor(rate, years) == pytest.approx(by_year, rel=1e-6, abs=1e-9)
