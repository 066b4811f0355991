"""The synthetic floors, systems and visits are what they say, before anything is judged by them."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.coverage.field import Answer
from tests.coverage.floors import DUG_VOLUME, KINDS, Floor, draw_floor, radius, uneven_field
from tests.coverage.score import Held, Tally
from tests.coverage.system import FAN, INDOORS, Scatter, System, discharge, intake
from tests.coverage.visit import Visit, top_suction, visited
from workbench.design import Design, Place, Resistance, SuctionPoint
from workbench.solving import solve

LINEAR, QUADRATIC = np.array([4000.0, 9000.0, 20000.0]), np.array([1e5, 4e5, 2e5])


def bare(points: int) -> Floor:
    """Points that do not feel each other, with no holes."""
    none = np.zeros((0, points))
    answer = Answer(
        np.diag(0.7 * LINEAR[:points]), none, np.zeros(points), np.zeros(0), 0.0, np.ones(points), np.zeros(points)
    )
    skin = np.stack((0.3 * LINEAR[:points],) * 2)
    inertia = np.stack((QUADRATIC[:points],) * 2)
    corners, pits = np.zeros((4, 2)), np.zeros((points, 2))
    return Floor(corners, "gravel", np.zeros(4), pits, np.zeros((0, 2)), 0, answer, answer, skin, inertia)


@pytest.mark.parametrize("points", [1, 3])
@pytest.mark.parametrize("speed", [0.5, 0.9])
def test_the_true_pipe_and_fan_are_those_of_the_records(points: int, speed: float) -> None:
    # told the true ground, the workbench must find the true flows: what is left to judge is what it infers
    told = [
        SuctionPoint(
            name=f"P{i + 1}",
            pit_volume=DUG_VOLUME,
            ground=Resistance(linear=LINEAR[i], quadratic=QUADRATIC[i], tested_volume=DUG_VOLUME),
        )
        for i in range(points)
    ]
    place = Place(indoor_temperature=INDOORS, outdoor_temperature=INDOORS)
    design = Design(place=place, intake=intake(told), discharge=discharge(), fans=(FAN,), fan=FAN.name)
    found = {point.name: point.flow for point in solve(design, speed).points}
    true = System(bare(points), Scatter()).at(speed, 0.0)
    assert [found[point.name] for point in told] == pytest.approx(true.flows, rel=1e-6)


def test_a_house_below_the_outdoors_leaves_the_fan_less() -> None:
    system = System(bare(3), Scatter())
    day, drawn = (system.at(0.5, draw_down) for draw_down in (0.0, 20.0))
    assert np.all(drawn.flows < day.flows)


def test_ground_that_follows_the_outdoors_wholly_costs_the_fan_nothing() -> None:
    # pits and outlet are then shifted alike against the room: no flow changes, every reading loses the draw-down
    floor = bare(3)
    answer = floor.dug._replace(rest_pits=np.ones(3), holes=np.full((1, 3), 500.0), rest_holes=np.ones(1))
    system = System(replace(floor, dug=answer), Scatter())
    day, drawn = (system.at(0.5, draw_down) for draw_down in (0.0, 20.0))
    assert drawn.flows == pytest.approx(day.flows, rel=1e-9)
    assert drawn.holes == pytest.approx(day.holes - 20.0)


def test_unevenness_has_the_spread_and_the_reach_that_are_stated() -> None:
    # exponential correlation over 2 m: 1, exp(-1/2), exp(-1), exp(-2) at 0, 1, 2 and 4 m
    rng = np.random.default_rng(11)
    places = np.array([(0.0, 0.0), (1.0, 0.0), (0.0, 2.0), (4.0, 0.0)])
    drawn = np.array([uneven_field(rng, places, 1.2) for _ in range(3000)])
    found = np.mean(drawn * drawn[:, :1], axis=0)
    # standard error of a covariance of 3000 pairs: at most 1.44 sqrt(2 / 3000)
    assert found == pytest.approx(1.44 * np.exp([0.0, -0.5, -1.0, -2.0]), abs=4.0 * 1.44 * math.sqrt(2.0 / 3000.0))


def test_a_visit_reads_the_truth_within_its_instruments() -> None:
    rng = np.random.default_rng(2)
    floor = draw_floor(rng, KINDS["uneven"], 1)
    flows, holes, changes = [], [], []
    for _ in range(40):
        design = visited(rng, floor, Visit(exhaust_test=True), 1.0)
        (_, point), *_ = design.suction_points()
        top = top_suction(floor, 0)
        assert point.ground.readings[-1].suction == pytest.approx(top)  # type: ignore[union-attr]
        flows.append(point.ground.readings[-1].flow / floor.flow_alone(0, top))  # type: ignore[union-attr]
        read = design.holes[0].readings[-1]
        true = float(floor.tested.holes[0, 0]) * floor.flow_alone(0, read.applied)
        holes.append((read.suction - true) / math.hypot(0.03 * true, 0.2))
        changes.append(design.holes[0].exhausts)
    # 5 Pa of draw-down, as far as the ground follows the outdoors; the error of the mean of 40 is 0.08 Pa at most
    assert np.mean(changes) == pytest.approx(-5.0 * floor.tested.rest_holes[0], abs=0.3)
    assert floor.tested.rest_holes[0] > 0.1
    assert np.mean(flows) == pytest.approx(1.0, abs=0.02)
    assert np.std(np.log(flows)) == pytest.approx(math.hypot(0.02, 0.03), rel=0.4)
    assert np.mean(holes) == pytest.approx(0.0, abs=0.6)
    assert np.std(holes) == pytest.approx(1.0, rel=0.4)
    assert [bool(hole.readings) for hole in design.holes] == [True] * 5 + [False] * 2


def test_digging_takes_from_the_rim_what_the_laws_of_flow_allow() -> None:
    # derived: inertia falls with the radius by a power of 1 (level flow in a bed) to 3 (a half ball in deep ground)
    rng = np.random.default_rng(8)
    wider = radius(0.030) / radius(0.008)
    for _ in range(5):
        floor = draw_floor(rng, KINDS["even"], 1)
        assert wider**-3 <= (floor.inertia[1] / floor.inertia[0]).item() <= wider**-1
        assert floor.skin[1].item() < floor.skin[0].item()
        assert floor.dug.pits[0, 0] < floor.tested.pits[0, 0]


def test_a_hollow_is_a_half_ball() -> None:
    assert 2.0 / 3.0 * math.pi * radius(0.008) ** 3 == pytest.approx(0.008)


def test_a_band_holds_what_lies_between_its_edges_and_no_other() -> None:
    tally = Tally()
    for low, high, true in ((1.0, 2.0, 1.5), (1.0, 2.0, 0.5), (1.0, 2.0, 2.5), (math.nan, math.nan, 1.0)):
        tally.add(Held("any", low, 1.4, high, true))
    assert tally.row() | {"width": 0.0, "middle_over_true": 0.0} == {
        "count": 4,
        "held": 0.25,
        "truth_below": 0.25,
        "truth_above": 0.25,
        "width": 0.0,
        "middle_over_true": 0.0,
    }
