"""Water dropped by cooled air against psychrometrics and an independent integration."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import psychrolib
import pytest

from tests.reference.moisture import most_water
from workbench.physics.air import enthalpy, humidity_ratio
from workbench.physics.arrays import Array
from workbench.physics.water import cool_along

psychrolib.SetUnitSystem(psychrolib.SI)


CFM = 4.719474e-4
PRESSURE = 101_325.0
# 60 cfm of soil gas at 12.8 C in a 3 in. riser of 6 m, outdoors at -10 C; coefficients of bare plastic in some wind
RISER = {"length": 6.0, "diameter": 0.077927, "inside_coefficient": 22.0, "outer_conductance": 4.0}
WARM, COLD = 285.95, 263.15
MOIST = float(humidity_ratio(WARM, 1.0, PRESSURE))


def test_dry_air_follows_the_exponential() -> None:
    # Derived: without vapour the march has a closed solution.
    air = cool_along(60.0 * CFM, WARM, 0.0, PRESSURE, outside_temperature=COLD, **RISER)
    mass = 60.0 * CFM / psychrolib.GetDryAirVolume(12.8, PRESSURE)
    whole = 6.0 / (1.0 / (math.pi * 0.077927 * 22.0) + 1.0 / 4.0)
    expected = COLD + (WARM - COLD) * math.exp(-whole / (mass * 1006.0))
    assert air.temperature == pytest.approx(expected, abs=1e-3)
    assert air.heat == pytest.approx(mass * 1006.0 * (WARM - expected), rel=1e-3)
    assert air.water == 0.0


class Marched(NamedTuple):
    """Air along a pipe: place [m], temperature [C], humidity ratio, wall [C], water formed [kg/(s m)]."""

    place: Array
    temperature: Array
    ratio: Array
    wall: Array
    water: Array


def march(flow: float, warm: float, ratio: float, inside: float, outer: float) -> Marched:
    """The balances of a wet wall under unsaturated air, integrated by scipy to 1e-9 with psychrolib's saturation."""
    from scipy.integrate import solve_ivp
    from scipy.optimize import brentq

    dry = flow / psychrolib.GetMoistAirVolume(warm, ratio, PRESSURE)
    side = math.pi * RISER["diameter"] * inside

    def balance(t: float, w: float) -> tuple[float, float]:
        """Wall [C] and what condenses on it."""
        to_wall = side / (1006.0 + 1860.0 * w) / 0.845 ** (2.0 / 3.0)

        def vapour(wall: float) -> float:
            return float(to_wall * max(w - psychrolib.GetSatHumRatio(wall, PRESSURE), 0.0))

        def surplus(wall: float) -> float:
            latent = 2_501_000.0 + (1860.0 - 4186.0) * wall
            return float(side * (t - wall) + vapour(wall) * latent - outer * (wall - COLD + 273.15))

        wall = float(brentq(surplus, COLD - 273.15, t, xtol=1e-11))
        return wall, vapour(wall)

    def change(_x: float, state: Array) -> list[float]:
        wall, water = balance(*state)
        return [-side * (state[0] - wall) / (dry * (1006.0 + 1860.0 * state[1])), -water / dry]

    place = np.linspace(0.0, RISER["length"], 301)
    t, w = solve_ivp(change, (0.0, RISER["length"]), [warm, ratio], rtol=1e-9, atol=1e-12, t_eval=place).y
    wall, water = np.transpose([balance(*state) for state in zip(t, w, strict=True)])
    assert all(psychrolib.GetSatHumRatio(a, PRESSURE) > b for a, b in zip(t, w, strict=True))
    return Marched(place, t, w, wall, water)


def test_wet_wall_under_unsaturated_air() -> None:
    # Derived: the same balances integrated on their own; air of 20 C and 70 %, which condenses on the wall without
    # reaching saturation itself.
    warm, ratio = 20.0, psychrolib.GetHumRatioFromRelHum(20.0, 0.7, PRESSURE)
    dry = 0.03 / psychrolib.GetMoistAirVolume(warm, ratio, PRESSURE)
    end = march(0.03, warm, ratio, 22.0, 4.0)
    air = cool_along(0.03, warm + 273.15, ratio, PRESSURE, outside_temperature=COLD, **RISER)
    assert air.temperature - 273.15 == pytest.approx(end.temperature[-1], abs=2e-3)
    assert air.water == pytest.approx(dry * (ratio - end.ratio[-1]), rel=2e-3)


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
    assert 0.0 < air.water < most_water(60.0 * CFM, WARM, MOIST, COLD, PRESSURE)


def test_a_long_run_drops_all_it_can() -> None:
    # Derived: the upper bound of psychrometrics, reached when the air has cooled to outdoors.
    air = cool_along(CFM, WARM, MOIST, PRESSURE, 80.0, 0.077927, 1.2, 4.0, COLD)
    assert air.temperature == pytest.approx(COLD, abs=1e-6)
    assert air.water == pytest.approx(most_water(CFM, WARM, MOIST, COLD, PRESSURE), rel=1e-9)
    np.testing.assert_allclose(air.humidity_ratio, humidity_ratio(COLD, 1.0, PRESSURE), rtol=1e-9)


def test_less_flow_freezes_more() -> None:
    # Derived: balances of the wet wall integrated on their own, air of 12.8 C and 70 %, bare plastic in a light wind:
    # at 60 cfm nothing of the riser freezes, at 20 cfm 0.46 of it with 0.42 of the water, at 12 cfm 0.89 with 0.86.
    ratio = psychrolib.GetHumRatioFromRelHum(12.8, 0.7, PRESSURE)
    frozen, ice = [], []
    for cfm in (60.0, 20.0, 12.0):
        inside = 22.0 * (cfm / 60.0) ** 0.8
        air = cool_along(cfm * CFM, WARM, ratio, PRESSURE, 6.0, 0.077927, inside, 2.6, COLD)
        own = march(cfm * CFM, 12.8, ratio, inside, 2.6)
        cold = own.wall < 0.0
        # water forms to the very end here, so that all of the cold wall is wet
        assert own.water[-1] > 0.0
        frozen.append(float(np.mean(cold)))
        ice.append(float(np.trapezoid(own.water * cold, own.place) / np.trapezoid(own.water, own.place)))
        # half a step of the march
        assert np.mean(air.freezing) == pytest.approx(frozen[-1], abs=0.5 / 30.0 + 0.004)
        assert air.ice / air.water == pytest.approx(ice[-1], abs=0.02)
    assert frozen == pytest.approx([0.0, 0.46, 0.89], abs=0.006)
    assert ice == pytest.approx([0.0, 0.42, 0.86], abs=0.006)


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
