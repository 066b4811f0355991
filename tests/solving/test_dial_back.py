"""The speed that a reading of the gauge means: found from the readings that are prepared, and how sure it is."""

from __future__ import annotations

import math

import pytest

from workbench.design.record import with_value
from workbench.files.scenes import load_scene
from workbench.solving import prepare
from workbench.solving.run.gauges import GaugeAt, gauge_at, speed_band, speed_for

SPEEDS = (0.35, 0.5, 0.613, 0.72, 0.87, 1.0)


@pytest.mark.parametrize("name", ["studio", "reading-room"])
@pytest.mark.parametrize("speed", SPEEDS)
def test_the_reading_at_a_speed_means_that_speed(name: str, speed: float) -> None:
    prepared = prepare(load_scene(name))
    read = prepared.at(speed, holes=False).gauge
    assert speed_for(prepared, prepared.gauges, read, 0.5) == pytest.approx(speed, abs=0.0011)


def test_a_reading_that_the_fan_does_not_give_means_no_speed() -> None:
    prepared = prepare(load_scene("studio"))
    least, most = prepared.gauges[0].suction, prepared.gauges[-1].suction
    assert speed_for(prepared, prepared.gauges, 0.98 * least, 0.5) is None
    assert speed_for(prepared, prepared.gauges, 1.01 * most, 0.5) is None
    assert speed_for(prepared, prepared.gauges, most, 0.5) == 1.0


def test_of_several_speeds_the_nearest_is_meant() -> None:
    """Where a fan jumps from one crossing to another the reading may fall as it speeds up."""
    prepared = prepare(load_scene("studio"))
    real = prepared.gauges
    at = {round(each.speed, 1): each.suction for each in real}
    jumping = (*(each for each in real if each.speed <= 0.75), GaugeAt(0.8, at[0.5]), *real[-2:])
    reading = gauge_at(prepared, 0.65).suction
    assert speed_for(prepared, jumping, reading, 0.6) == pytest.approx(0.65, abs=0.002)
    assert speed_for(prepared, jumping, reading, 0.9) != pytest.approx(0.65, abs=0.05)


def test_few_readings_are_solved_beyond_those_that_are_prepared(monkeypatch: pytest.MonkeyPatch) -> None:
    prepared = prepare(load_scene("studio"))
    readings, asked = prepared.gauges, []
    real = gauge_at
    monkeypatch.setattr("workbench.solving.run.gauges.gauge_at", lambda on, s: asked.append(s) or real(on, s))
    speed_for(prepared, readings, 118.0, 0.5)
    assert 0 < len(asked) <= 4


def test_the_band_follows_from_the_square_law_and_the_fans_own_tolerance() -> None:
    """Pressure goes with the square of speed (affinity laws, AMCA 201): a tenth of speed is 21 % of the reading."""
    low, high = speed_band(100.0, (100.0 * 0.9**2, 100.0 * 1.1**2), 0.7, 0.0, 0.3)
    assert low == pytest.approx(0.7 / 1.1)
    assert high == pytest.approx(0.7 / 0.9)
    # within 1.645 standard deviations lie 90 % of a normal distribution (any table)
    assert speed_band(100.0, (100.0, 100.0), 0.7, 0.02, 0.3) == pytest.approx((0.7 * (1 - 0.0329), 0.7 * (1 + 0.0329)))
    assert speed_band(100.0, (50.0, 200.0), 0.7, 0.02, 0.6)[0] == 0.6
    assert speed_band(100.0, (20.0, 200.0), 0.9, 0.02, 0.6)[1] == 1.0


def test_without_a_fan_there_is_no_reading_to_turn_to() -> None:
    prepared = prepare(with_value(load_scene("studio"), ("fan",), None))
    assert prepared.gauges == ()
    assert speed_for(prepared, prepared.gauges, 100.0, 0.5) is None
    assert math.isnan(gauge_at(prepared, 0.5).suction)
