"""What the gauge reads along the speeds and within its band, against answers found from the side of the ground."""

from __future__ import annotations

import math

import pytest

from workbench.design import Design
from workbench.design.edit import choose_fan
from workbench.design.record import value_at, with_value
from workbench.files.scenes import load_scene, scene_names
from workbench.solving import prepare
from workbench.solving.run.gauges import gauge_band

STUDIO = load_scene("studio")


def other_ground(design: Design, factor: float) -> Design:
    """The same pipe and fan over a pit that is harder or easier to draw on: the fan meets it at another flow."""
    for address, point in design.suction_points():
        design = with_value(design, (*address, "pit_volume"), point.pit_volume * factor)
    return design


@pytest.mark.parametrize("speed", [0.5, 0.72, 1.0])
@pytest.mark.parametrize("factor", [0.2, 4.0])
def test_the_reading_at_another_flow_is_the_one_that_another_ground_brings(factor: float, speed: float) -> None:
    """By the fan's side here; by the losses from the pit up to the gauge there."""
    prepared, other = prepare(STUDIO), prepare(other_ground(STUDIO, factor)).at(speed)
    solved = prepared.stable_crossing(speed)
    assert solved is not None
    assert other.operating is not None
    here, flow = prepared.at(speed), other.operating.flow
    assert abs(flow / here.operating.flow - 1.0) > 0.01  # type: ignore[union-attr]
    fan = prepared.fans[str(STUDIO.fan)]
    low, high = gauge_band(prepared, fan, speed, solved.flows, here.gauge, (flow, flow))
    found = high if other.gauge > here.gauge else low
    assert found == pytest.approx(other.gauge, rel=1e-6)


@pytest.mark.parametrize("name", scene_names())
def test_the_band_holds_the_reading(name: str) -> None:
    outcome = prepare(load_scene(name)).at(0.9)
    assert outcome.gauge_band is not None
    low, high = outcome.gauge_band
    assert low <= outcome.gauge <= high
    assert low < high


@pytest.mark.parametrize("name", scene_names())
def test_every_tenth_reads_as_the_answer_at_that_speed(name: str) -> None:
    design = load_scene(name)
    prepared, fan = prepare(design), design.chosen_fan
    assert fan is not None
    assert [round(10 * each.speed, 9) for each in prepared.gauges] == [
        tenth for tenth in range(1, 11) if tenth / 10 >= fan.lowest_speed
    ]
    for each in prepared.gauges:
        assert each.suction == prepared.at(each.speed, holes=False).gauge


def test_the_reading_at_the_lowest_speed_is_that_of_its_answer() -> None:
    prepared = prepare(STUDIO)
    lowest = prepared.lowest.confident
    assert lowest is not None
    assert prepared.gauge_at_lowest == (lowest, prepared.at(lowest).gauge)
    # all of the pressure that a reader compares it with rises with the speed
    readings = [each.suction for each in prepared.gauges]
    assert readings == sorted(readings)


def test_without_a_fan_or_a_crossing_there_is_no_reading() -> None:
    bare = prepare(choose_fan(STUDIO, None))
    assert bare.gauges == ()
    assert bare.at(0.7).gauge_band is None
    fans = value_at(STUDIO, ("fans", 0, "curves", 0, "points"))
    # a fan that the draft of a hot day holds down meets nothing
    weak = with_value(STUDIO, ("place", "outdoor_temperature"), 315.0)
    weak = with_value(weak, ("place", "pipe_temperature"), 280.0)
    points = tuple(point.model_copy(update={"pressure": point.pressure * 1e-3}) for point in fans)
    weak = with_value(weak, ("fans", 0, "curves", 0, "points"), points)
    weak = choose_fan(weak, weak.fans[0].name)
    assert all(math.isnan(each.suction) for each in prepare(weak).gauges)
