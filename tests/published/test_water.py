"""Water dropped by cooled air against psychrometrics and an independent integration."""

from __future__ import annotations

import math

import numpy as np
import psychrolib
import pytest

from workbench.physics.air import enthalpy, humidity_ratio
from workbench.physics.heat import leaving_temperature
from workbench.physics.water import condensate_rate, cool_along

psychrolib.SetUnitSystem(psychrolib.SI)

CFM = 4.719474e-4
DAY = 86_400.0
PRESSURE = 101_325.0
# 60 cfm of soil gas at 12.8 C in a 3 in. riser of 6 m, outdoors at -10 C; coefficients of bare plastic in some wind
RISER = {"length": 6.0, "diameter": 0.077927, "inside_coefficient": 22.0, "outer_conductance": 4.0}
WARM, COLD = 285.95, 263.15
MOIST = float(humidity_ratio(WARM, 1.0, PRESSURE))


@pytest.mark.parametrize(("cfm", "kilograms"), [(60.0, 16.17), (20.0, 5.4)])
def test_condensate_at_most(cfm: float, kilograms: float) -> None:
    # Derived by psychrolib: saturated air of 12.8 C cooled to 0 C at sea level. 0.3 %: its saturation curve there is
    # that over ice.
    a_day = condensate_rate(cfm * CFM, WARM, MOIST, 273.15, PRESSURE) * DAY
    assert a_day == pytest.approx(kilograms, rel=3e-3)


def test_dry_air_follows_the_exponential() -> None:
    # Derived: without vapour the march has a closed solution.
    air = cool_along(60.0 * CFM, WARM, 0.0, PRESSURE, outside_temperature=COLD, **RISER)
    mass = 60.0 * CFM / psychrolib.GetDryAirVolume(12.8, PRESSURE)
    whole = 6.0 / (1.0 / (math.pi * 0.077927 * 22.0) + 1.0 / 4.0)
    expected = leaving_temperature(WARM, COLD, whole, mass * 1006.0)
    assert air.temperature == pytest.approx(float(expected), abs=1e-3)
    assert air.heat == pytest.approx(mass * 1006.0 * (WARM - float(expected)), rel=1e-3)
    assert air.water == 0.0


def test_wet_wall_under_unsaturated_air() -> None:
    # Derived: the same balances integrated by scipy to 1e-9, with psychrolib's saturation and the wall by bisection;
    # air of 20 C and 70 %, which condenses on the wall without reaching saturation itself.
    from scipy.integrate import solve_ivp
    from scipy.optimize import brentq

    warm, ratio = 20.0, psychrolib.GetHumRatioFromRelHum(20.0, 0.7, PRESSURE)
    dry = 0.03 / psychrolib.GetMoistAirVolume(warm, ratio, PRESSURE)
    side = math.pi * 0.077927 * 22.0

    def change(_x: float, state: np.ndarray) -> list[float]:
        t, w = state
        heat = 1006.0 + 1860.0 * w
        to_wall = side / heat / 0.845 ** (2.0 / 3.0)

        def vapour(wall: float) -> float:
            return float(to_wall * max(w - psychrolib.GetSatHumRatio(wall, PRESSURE), 0.0))

        def surplus(wall: float) -> float:
            latent = 2_501_000.0 + (1860.0 - 4186.0) * wall
            return float(side * (t - wall) + vapour(wall) * latent - 4.0 * (wall + 10.0))

        wall = brentq(surplus, -10.0, t, xtol=1e-11)
        return [-side * (t - wall) / (dry * heat), -vapour(wall) / dry]

    end = solve_ivp(change, (0.0, 6.0), [warm, ratio], rtol=1e-9, atol=1e-12).y[:, -1]
    air = cool_along(0.03, warm + 273.15, ratio, PRESSURE, outside_temperature=COLD, **RISER)
    assert psychrolib.GetRelHumFromHumRatio(end[0], end[1], PRESSURE) < 1.0
    assert air.temperature - 273.15 == pytest.approx(end[0], abs=2e-3)
    assert air.water == pytest.approx(dry * (ratio - end[1]), rel=2e-3)


def test_heat_of_condensation_keeps_the_riser_warm() -> None:
    # Derived: heat given off equals the fall of enthalpy less what the water carries; psychrolib's enthalpies.
    air = cool_along(60.0 * CFM, WARM, MOIST, PRESSURE, outside_temperature=COLD, **RISER)
    dry = 60.0 * CFM / psychrolib.GetMoistAirVolume(12.8, MOIST, PRESSURE)
    left = psychrolib.GetMoistAirEnthalpy(float(air.temperature) - 273.15, float(air.humidity_ratio))
    fall = dry * (psychrolib.GetMoistAirEnthalpy(12.8, MOIST) - left)
    carried = float(np.sum(air.condensate * 4186.0 * (air.wall_temperature - 273.15)))
    assert air.heat == pytest.approx(fall - carried, rel=1e-4)
    # and to what the wall, at the temperatures found, passes on; 0.3 %: the march keeps the vapour's heat with the air
    assert air.heat == pytest.approx(float(np.sum(4.0 * (air.wall_temperature - COLD) * 0.2)), rel=3e-3)
    without = cool_along(60.0 * CFM, WARM, 0.0, PRESSURE, outside_temperature=COLD, **RISER)
    assert air.temperature > without.temperature + 1.0
    assert 0.0 < air.water < condensate_rate(60.0 * CFM, WARM, MOIST, COLD, PRESSURE)


def test_a_long_run_drops_all_it_can() -> None:
    # Derived: the upper bound of psychrometrics, reached when the air has cooled to outdoors.
    air = cool_along(CFM, WARM, MOIST, PRESSURE, 80.0, 0.077927, 1.2, 4.0, COLD)
    assert air.temperature == pytest.approx(COLD, abs=1e-6)
    assert air.water == pytest.approx(float(condensate_rate(CFM, WARM, MOIST, COLD, PRESSURE)), rel=1e-9)
    np.testing.assert_allclose(air.humidity_ratio, humidity_ratio(COLD, 1.0, PRESSURE), rtol=1e-9)


def test_less_flow_freezes_more() -> None:
    # Common practice: a fan turned down freezes its outlet sooner. Bare plastic in a light wind.
    frozen, ice = [], []
    for cfm in (60.0, 20.0, 8.0):
        inside = 22.0 * (cfm / 60.0) ** 0.8
        air = cool_along(cfm * CFM, WARM, MOIST, PRESSURE, 6.0, 0.077927, inside, 2.6, COLD)
        frozen.append(float(np.mean(air.freezing)))
        ice.append(float(air.ice / air.water))
    assert frozen[0] == 0.0
    assert 0.0 < frozen[1] < frozen[2] < 1.0
    assert 0.0 < ice[1] < ice[2] < 1.0


def test_summer_drops_nothing() -> None:
    # Derived: pipe air only warms.
    air = cool_along(60.0 * CFM, WARM, MOIST, PRESSURE, outside_temperature=305.0, **RISER)
    assert air.water == 0.0
    assert WARM < air.temperature < 305.0
    assert not np.any(air.freezing)
    assert air.heat == pytest.approx(
        float(60.0 * CFM / psychrolib.GetMoistAirVolume(12.8, MOIST, PRESSURE))
        * float(enthalpy(WARM, MOIST) - enthalpy(air.temperature, MOIST)),
        rel=1e-3,
    )


def test_refusals() -> None:
    with pytest.raises(ValueError, match="more vapour than it can"):
        cool_along(0.03, WARM, 1.01 * MOIST, PRESSURE, outside_temperature=COLD, **RISER)
    with pytest.raises(ValueError, match="flow must be above 0"):
        cool_along(0.0, WARM, MOIST, PRESSURE, outside_temperature=COLD, **RISER)
    with pytest.raises(ValueError, match="outside temperature must lie between"):
        cool_along(0.03, WARM, MOIST, PRESSURE, outside_temperature=-10.0, **RISER)
    with pytest.raises(ValueError, match="temperature must lie between"):
        condensate_rate(0.03, WARM, MOIST, 0.0, PRESSURE)
