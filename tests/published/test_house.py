"""Pressures of a house against the handbook's forms and the trade's figures."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.physics.air import standard_pressure
from workbench.physics.house import (
    exhaust_depressurisation,
    leakage_area,
    leakage_flow,
    stack_pressure,
    warning_index,
)

CFM = 4.719474e-4
SQUARE_INCH = 6.4516e-4
SEA_LEVEL = 101_325.0
quick = settings(deadline=None, max_examples=60)


def test_stack_at_the_slab() -> None:
    # Published: ASHRAE Handbook, HVAC Applications 2011, ch. 53: 0.54 Pa/m between 283.2 and 296.2 K; its form
    # 3461.6 h (1/To - 1/Ti) gives 0.536.
    assert stack_pressure(1.0, 283.2, 296.2, SEA_LEVEL) == pytest.approx(0.54, abs=0.005)
    assert stack_pressure(1.0, 283.2, 296.2, SEA_LEVEL) == pytest.approx(0.536, abs=5e-4)
    # Derived: the same form at other heights, temperatures and at 1000 m. 1e-4: its constant is rounded.
    for height, cold, warm, altitude in ((5.0, 263.15, 294.15, 0.0), (2.5, 250.0, 293.0, 1000.0)):
        p = float(standard_pressure(altitude))
        expected = 3461.6 * (p / 101_325.0) * height * (1.0 / cold - 1.0 / warm)
        assert stack_pressure(height, cold, warm, p) == pytest.approx(expected, rel=1e-4)


def test_rule_of_thumb() -> None:
    # Common practice: about 0.04 Pa per metre and kelvin.
    assert stack_pressure(1.0, 273.15, 293.15, SEA_LEVEL) / 20.0 == pytest.approx(0.04, rel=0.1)


def test_summer_turns_the_stack() -> None:
    # Published form: ASHRAE as above, 3 m, 305 K outdoors and 295 K indoors: 3461.6 x 3 (1/305 - 1/295) = -1.1542 Pa.
    assert stack_pressure(3.0, 305.0, 295.0, SEA_LEVEL) == pytest.approx(-1.1542, rel=2e-4)
    assert stack_pressure(3.0, 295.0, 295.0, SEA_LEVEL) == 0.0


def test_leakage_area_from_a_blower_door() -> None:
    # Common practice: the flow at 50 Pa in cubic feet a minute over 18 is the leakage area at 4 Pa in square inches.
    assert leakage_area(1800.0 * CFM, 50.0, 1.2) / SQUARE_INCH == pytest.approx(100.0, rel=0.02)


def test_flow_through_an_area_at_the_reference() -> None:
    # Derived by hand from the definition: 0.05 m2 at 4 Pa passes 0.05 sqrt(8 / 1.2) = 0.12910 m3/s.
    assert leakage_flow(4.0, 0.05, 1.2) == pytest.approx(0.12910, abs=1e-5)
    # From memory of ASHRAE Fundamentals: areas at 10 and at 4 Pa differ by (10 / 4)^(n - 0.5), 1.147 at n 0.65.
    at_ten = float(leakage_flow(10.0, 0.05, 1.2)) / (20.0 / 1.2) ** 0.5
    assert at_ten / 0.05 == pytest.approx(1.147, abs=1e-3)


def test_a_hood_in_a_tight_house() -> None:
    # Derived by hand: 200 cfm through 300 cm2 of 1.2 kg/m3: 4 (0.094389 / 0.077460)^(1 / 0.65) = 5.42 Pa.
    assert exhaust_depressurisation(200.0 * CFM, 0.03, 1.2) == pytest.approx(5.42, abs=0.01)


def test_index() -> None:
    # Derived: 3 Pa beside a limit of 2 Pa; a house above outdoors warns of nothing.
    np.testing.assert_allclose(warning_index([3.0, -1.0, 0.0], 2.0), [1.5, 0.0, 0.0])


@quick
@given(st.floats(-0.5, 0.5), st.floats(0.002, 0.3), st.floats(0.9, 1.4), st.floats(0.5, 1.0))
def test_leaks_pass_what_is_drawn(flow: float, area: float, density: float, exponent: float) -> None:
    drawn = exhaust_depressurisation(flow, area, density, exponent)
    assert leakage_flow(drawn, area, density, exponent) == pytest.approx(flow, rel=1e-9, abs=1e-12)
    if flow > 1e-6:
        assert leakage_area(flow, float(drawn), density, exponent) == pytest.approx(area, rel=1e-9)
        assert exhaust_depressurisation(flow, 2.0 * area, density, exponent) < drawn


@quick
@given(st.floats(0.1, 15.0), st.floats(230.0, 310.0), st.floats(280.0, 300.0), st.floats(60_000.0, 105_000.0))
def test_stack_grows_with_height_and_turns_with_temperature(
    height: float, outside: float, inside: float, pressure: float
) -> None:
    one = stack_pressure(height, outside, inside, pressure)
    assert stack_pressure(2.0 * height, outside, inside, pressure) == pytest.approx(2.0 * float(one), rel=1e-12)
    assert stack_pressure(height, inside, outside, pressure) == pytest.approx(-float(one), rel=1e-9, abs=1e-12)


def test_refusals() -> None:
    with pytest.raises(ValueError, match="leakage area must be above 0"):
        exhaust_depressurisation(0.1, 0.0, 1.2)
    with pytest.raises(ValueError, match="exponent of the leakage"):
        leakage_flow(4.0, 0.05, 1.2, 0.4)
    with pytest.raises(ValueError, match="limit of the appliance"):
        warning_index(3.0, 0.0)
