"""What holds for moist air in any pipe."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.reference.moisture import most_water
from workbench.physics.air import humidity_ratio, moist_density
from workbench.physics.heat import inside_nusselt, outside_coefficient
from workbench.physics.water import cool_along

quick = settings(deadline=None, max_examples=25)
few = settings(deadline=None, max_examples=10)
PRESSURE = 95_000.0

flows = st.floats(0.0005, 0.1)
kelvins = st.floats(275.0, 303.0)
outdoors = st.floats(235.0, 310.0)
moisture = st.floats(0.0, 1.0)
coefficients = st.floats(1.0, 60.0)
conductances = st.floats(0.0, 8.0)
lengths = st.floats(0.3, 30.0)


@quick
@given(flows, kelvins, moisture, outdoors, coefficients, conductances, lengths)
def test_mass_and_bounds(
    flow: float, warm: float, relative: float, cold: float, inside: float, outer: float, length: float
) -> None:
    ratio = float(humidity_ratio(warm, relative, PRESSURE))
    air = cool_along(flow, warm, ratio, PRESSURE, length, 0.08, inside, outer, cold)
    dry = flow * float(moist_density(warm, PRESSURE, ratio)) / (1.0 + ratio)
    # no water is lost, and none forms beyond what the coldest temperature about could wring out
    assert air.water == pytest.approx(dry * (ratio - float(air.humidity_ratio)), rel=1e-9, abs=1e-15)
    assert air.water <= most_water(flow, warm, ratio, min(cold, warm), PRESSURE) * (1.0 + 1e-9) + 1e-15
    assert np.all(air.condensate >= 0.0)
    # the air stays between what it was and what is outside, saturated at the most
    assert min(warm, cold) - 1e-6 <= air.temperature <= max(warm, cold) + 1e-6
    assert air.humidity_ratio <= float(humidity_ratio(air.temperature, 1.0, PRESSURE)) * (1.0 + 1e-9) + 1e-15
    # heat goes with the temperature difference
    assert float(air.heat) * (warm - cold) >= -1e-6
    assert np.all(air.wall_temperature >= min(warm, cold) - 1e-6)


@few
@given(kelvins, moisture, st.lists(outdoors, min_size=1, max_size=3))
def test_hours_together_are_hours_alone(warm: float, relative: float, hours: list[float]) -> None:
    ratio = float(humidity_ratio(warm, relative, PRESSURE))
    together = cool_along(0.02, warm, ratio, PRESSURE, 6.0, 0.08, 20.0, 3.0, hours)
    assert together.condensate.shape == (len(hours), 30)
    for i, cold in enumerate(hours):
        alone = cool_along(0.02, warm, ratio, PRESSURE, 6.0, 0.08, 20.0, 3.0, cold)
        assert together.water[i] == pytest.approx(float(alone.water), rel=1e-9, abs=1e-15)
        assert together.temperature[i] == pytest.approx(float(alone.temperature), rel=1e-12)


@few
@given(kelvins, moisture, outdoors, lengths)
def test_two_runs_in_line_are_one(warm: float, relative: float, cold: float, length: float) -> None:
    ratio = float(humidity_ratio(warm, relative, PRESSURE))
    whole = cool_along(0.02, warm, ratio, PRESSURE, length, 0.08, 20.0, 3.0, cold, 60)
    first = cool_along(0.02, warm, ratio, PRESSURE, 0.5 * length, 0.08, 20.0, 3.0, cold)
    # the same mass goes on, as a smaller volume of colder air
    dry = 0.02 * float(moist_density(warm, PRESSURE, ratio)) / (1.0 + ratio)
    onward = dry * (1.0 + first.humidity_ratio) / moist_density(first.temperature, PRESSURE, first.humidity_ratio)
    second = cool_along(onward, first.temperature, first.humidity_ratio, PRESSURE, 0.5 * length, 0.08, 20.0, 3.0, cold)
    assert first.water + second.water == pytest.approx(float(whole.water), rel=1e-9, abs=1e-14)
    assert second.temperature == pytest.approx(float(whole.temperature), abs=1e-9)


@quick
@given(st.floats(0.0, 9e5), st.floats(1.0, 1.1))
def test_faster_air_takes_up_more(reynolds: float, factor: float) -> None:
    assert inside_nusselt(reynolds * factor, 0.71) >= inside_nusselt(reynolds, 0.71)


@quick
@given(st.floats(0.0, 30.0), st.floats(0.0, 10.0), outdoors)
def test_more_wind_cools_more(wind: float, more: float, cold: float) -> None:
    calm = outside_coefficient(wind, 0.0889, cold, PRESSURE)
    assert outside_coefficient(wind + more, 0.0889, cold, PRESSURE) >= calm * (1.0 - 1e-12)
    assert calm > 3.0
