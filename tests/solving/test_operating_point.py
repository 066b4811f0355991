"""Where fan and system meet, and what is said when they do not."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from fluids.friction import Churchill_1977
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

from tests.jobs import AIR, ground_only, record
from workbench.design import Design, Fitting, Leg, Pipe, Place, Run
from workbench.design.edit import choose_fan
from workbench.design.record import with_value
from workbench.files.scenes import load_scene
from workbench.solving import Outcome, prepare, solve
from workbench.solving.run import crossing
from workbench.solving.run.prepare import Prepared

FALLING = ([0.0, 0.02, 0.04, 0.06], [300.0, 260.0, 170.0, 0.0])
STALLING = ([0.0, 0.010, 0.020, 0.030, 0.040, 0.050, 0.060], [200.0, 150.0, 95.0, 200.0, 260.0, 240.0, 0.0])


def codes(outcome: Outcome) -> list[str]:
    return [notice.code for notice in outcome.notices]


def test_without_a_fan_there_is_a_system_curve_and_nothing_else() -> None:
    design = choose_fan(ground_only(record(*FALLING), 5000.0), None)
    outcome = solve(design)
    assert outcome.operating is None
    assert outcome.crossings == ()
    assert codes(outcome)[0] == "no-fan"
    bare = prepare(with_value(design, ("fans",), ()))
    assert bare.system.pressure[-1] > 0.0


def test_a_system_that_no_flow_of_the_fan_serves() -> None:
    """Heavy air falling 20 m down a pipe asks about 10 Pa before any flows; the fan lifts 5."""
    cold = Place(pipe_temperature=268.15, outdoor_temperature=303.15, indoor_temperature=298.15)
    pipe = Pipe(name="any", inside_diameter=0.08)
    design = with_value(
        ground_only(record([0.0, 0.01], [5.0, 0.0]), 5000.0, place=cold),
        ("intake", "runs"),
        (Run(name="Up", pipe=pipe, length=20.0, rise=20.0),),
    )
    outcome = solve(design)
    assert outcome.operating is None
    assert codes(outcome)[0] == "no-crossing"
    assert prepare(design).system.pressure[0] > 5.0


def test_a_crossing_beyond_the_last_point_is_not_guessed() -> None:
    fan = record([0.0, 0.01, 0.02], [300.0, 290.0, 260.0])
    outcome = solve(ground_only(fan, 1000.0))
    assert outcome.operating is None
    assert codes(outcome)[0] == "beyond-curve"
    assert outcome.notices[0].values == ((0.02, "flow"),)


def test_a_crossing_below_the_first_point_is_not_guessed() -> None:
    fan = record([0.01, 0.02, 0.03], [300.0, 250.0, 100.0])
    outcome = solve(ground_only(fan, 1e5))
    assert outcome.operating is None
    assert codes(outcome)[0] == "below-curve"
    assert outcome.notices[0].values == ((0.01, "flow"),)


def test_a_fan_that_starts_above_zero_flow_is_answered_inside_its_points() -> None:
    fan = record([0.01, 0.02, 0.03], [300.0, 250.0, 0.0])
    found = solve(ground_only(fan, 12_500.0)).operating
    assert found is not None
    assert found.flow == pytest.approx(0.02, rel=1e-9)


def test_a_crossing_at_a_measured_point_is_met_exactly() -> None:
    for flow, pressure in zip(*FALLING, strict=True):
        if 0.0 < pressure < 300.0:
            found = solve(ground_only(record(*FALLING), pressure / flow)).operating
            assert found is not None
            assert found.flow == pytest.approx(flow, rel=1e-9)


def test_two_crossings_nearly_one_are_told_apart() -> None:
    """A line just over the foot of the dip; PCHIP's roots are the reference."""
    curve = PchipInterpolator(*STALLING)
    grid = np.linspace(0.012, 0.03, 20001)
    tangent = float(np.min(curve(grid) / grid))
    for lift, expected in ((1.002, 3), (0.998, 1)):
        slope = lift * tangent
        sign = np.sign(curve(np.linspace(1e-4, 0.06, 100_001)) - slope * np.linspace(1e-4, 0.06, 100_001))
        assert np.count_nonzero(np.diff(sign)) == expected
        found = prepare(ground_only(record(*STALLING), slope)).crossings(1.0)
        assert len(found) == expected
        assert all(crossing.fan_pressure == pytest.approx(slope * crossing.flow, rel=1e-9) for crossing in found)


def test_the_first_stable_crossing_is_where_a_fan_settles_from_rest() -> None:
    design = ground_only(record(*STALLING), 5500.0)
    outcome = solve(design)
    assert [c.stable for c in outcome.crossings] == [True, False, True]
    assert outcome.operating == outcome.crossings[0]
    assert "several-crossings" in codes(outcome)


@given(st.sampled_from([FALLING, STALLING]), st.floats(2.5, 5.0), st.floats(3.0, 7.0), st.floats(0.1, 1.0))
@settings(max_examples=60)
def test_every_crossing_of_an_independent_search_is_found(
    points: tuple[list[float], list[float]], linear: float, quadratic: float, speed: float
) -> None:
    """A fine search with SciPy's interpolant and brentq; crossings closer than 1 % of the range may pass as none."""
    a, b = 10.0**linear, 10.0**quadratic
    curve = PchipInterpolator(*points)
    last = speed * points[0][-1]

    def surplus(q: np.ndarray | float) -> np.ndarray:
        return speed**2 * curve(np.minimum(q / speed, points[0][-1])) - a * q - b * q * q

    grid = np.linspace(0.0, last, 4001)
    sign = surplus(grid) >= 0.0
    expected = [
        brentq(surplus, grid[i], grid[i + 1], xtol=1e-16, rtol=1e-13) for i in np.flatnonzero(sign[1:] != sign[:-1])
    ]
    found = [c.flow for c in prepare(ground_only(record(*points), a, b)).crossings(speed)]
    apart = np.diff([0.0, *expected, last])
    if np.all(apart > 0.01 * last):
        assert found == pytest.approx(expected, rel=1e-6)


runs = st.tuples(st.floats(0.04, 0.16), st.floats(0.5, 30.0), st.integers(0, 6))


@given(runs, runs, st.floats(2.5, 5.5), st.floats(2.0, 7.0), st.floats(0.2, 1.0), st.floats(260.0, 300.0))
@settings(max_examples=60)
def test_whole_design_agrees_with_scalar_formulas(
    intake: tuple[float, float, int],
    discharge: tuple[float, float, int],
    linear: float,
    quadratic: float,
    speed: float,
    outdoors: float,
) -> None:
    """Ground, pipe, bends, a step in the bore and draft, with the fluids library's friction and SciPy's root."""
    a, b, k_bend, rise = 10.0**linear, 10.0**quadratic, 0.31, 3.0
    place = Place(outdoor_temperature=outdoors)
    names = {"In": (intake, "intake"), "Out": (discharge, "discharge")}
    laid = {
        where: Run(
            name=name,
            pipe=Pipe(name="any", inside_diameter=run[0]),
            length=run[1] + rise,
            rise=rise,
            fittings=(Fitting(kind="entered K", k=k_bend, count=run[2]),) if run[2] else (),
        )
        for name, (run, where) in names.items()
    }
    design = ground_only(record(*FALLING), a, b, place=place)
    design = design.model_copy(
        update={
            "intake": Leg(source=design.intake.source, runs=(laid["intake"],)),
            "discharge": (laid["discharge"],),
        }
    )
    air, outdoor_density = AIR, prepare(design).assembly.outdoor.density
    ratio = intake[0] / discharge[0]
    step = 0.5 * (1.0 - ratio**-2) if ratio > 1.0 else (1.0 / ratio**2 - 1.0) ** 2
    curve = PchipInterpolator(*FALLING)

    def loss(q: float, run: tuple[float, float, int], more: float) -> float:
        velocity = q / (math.pi / 4 * run[0] ** 2)
        factor = Churchill_1977(max(air.density * velocity * run[0] / air.viscosity, 1e-3), 1.5e-6 / run[0])
        friction = factor * (run[1] + rise) / run[0]
        return (friction + run[2] * k_bend + more) * 0.5 * air.density * velocity**2

    def surplus(q: float) -> float:
        draft = 9.80665 * 2 * rise * (outdoor_density - air.density)
        system = a * q + b * q * q + loss(q, intake, 0.0) + loss(q, discharge, step) - draft
        return float(speed**2 * curve(min(q / speed, 0.06))) - system

    found = prepare(design).crossings(speed)
    if surplus(0.0) > 0.0 > surplus(0.06 * speed):
        assert [c.stable for c in found] == [True]
        expected = brentq(surplus, 0.0, 0.06 * speed, xtol=1e-16, rtol=1e-13)
        if expected > 1e-5:
            assert found[0].flow == pytest.approx(expected, rel=1e-6)


def test_the_response_to_every_change_has_the_right_sign() -> None:
    studio = load_scene()

    def flow(design: Design, speed: float = 0.72) -> float:
        found = solve(design, speed).operating
        assert found is not None
        return found.flow

    base = flow(studio)
    longer = with_value(studio, ("intake", "runs", 1, "length"), 9.0)
    dug = with_value(studio, ("intake", "source", "pit_volume"), 0.09)
    wider = with_value(studio, ("intake", "runs", 1, "pipe", "inside_diameter"), 0.1023)
    bend = with_value(studio, ("discharge", 0, "fittings"), ())
    winter = with_value(studio, ("place", "outdoor_temperature"), 258.15)
    assert flow(longer) < base < flow(dug)
    assert base < flow(wider)
    assert base < flow(bend)
    assert base < flow(winter)
    assert base < flow(studio, 0.8) < flow(studio, 1.0)


def test_speed_rises_flow_rises() -> None:
    for name in ("studio", "reading-room"):
        found = [solve(load_scene(name), speed).operating for speed in np.linspace(0.05, 1.0, 39)]
        flows = [crossing.flow for crossing in found if crossing is not None]
        assert len(flows) > 30
        assert np.all(np.diff(flows) > 0.0)


def test_a_fan_slower_than_the_draft_has_no_operating_point() -> None:
    """The stack alone draws more than the last point of a fan at a thousandth of its speed."""
    outcome = solve(load_scene(), 0.001)
    assert outcome.operating is None
    assert codes(outcome)[0] == "beyond-curve"
    assert "below-least-speed" in codes(outcome)


def test_designs_that_differ_in_speed_share_their_preparation() -> None:
    studio = load_scene()
    assert prepare(studio) is prepare(with_value(studio, ("speed",), 0.5))
    assert solve(with_value(studio, ("speed",), 0.5)) == solve(studio, 0.5)


def test_flow_band_spans_the_operating_point_and_a_test_narrows_it() -> None:
    studio = load_scene()
    tested = solve(studio)
    # a flow noted at a hole's reading would be a test of the ground too
    bare = with_value(studio, ("intake", "source", "ground"), {"basis": "ground class"})
    for h, hole in enumerate(bare.holes):
        for r in range(len(hole.readings)):
            bare = with_value(bare, ("holes", h, "readings", r, "flow"), None)
    untested = solve(bare)
    widths = []
    for outcome in (tested, untested):
        assert outcome.operating is not None
        assert outcome.band is not None
        low, high = outcome.band
        assert low < outcome.operating.flow < high
        widths.append((high - low) / outcome.operating.flow)
    assert widths[0] < widths[1]
    assert "no-test" in codes(untested)


@pytest.mark.parametrize("hump", [134.0, 164.0, 175.0])
def test_crossings_that_all_but_touch_are_found(hump: float, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ground just below the line from the origin that touches a fan's hump; by SciPy's brentq on both sides of it.

    Steps along the slope lead away there, and the bracket that the scan saw has to be halved instead.
    """
    fan = record([0.0, 0.02, 0.03, 0.04, 0.06, 0.08], [300.0, 160.0, 100.0, hump, 190.0, 0.0], [30.0] * 6)
    flow = np.linspace(0.031, 0.079, 48001)
    slope = prepare(ground_only(fan, 4000.0)).fans["Any"].pressure(flow, 1.0, AIR.density) / flow
    touches = float(flow[np.argmax(slope)])
    halved = []

    def seen(*given: Any) -> Any:
        halved.append(given)
        return bisect(*given)

    bisect = crossing._bisect
    monkeypatch.setattr(crossing, "_bisect", seen)
    for under in (1e-5, 3e-6, 1e-6):
        prepared = prepare(ground_only(fan, float(slope.max()) * (1.0 - under)))

        def surplus(at: float, prepared: Prepared = prepared) -> float:
            asked = float(prepared.assembly.network.required(np.array([at]))[0])
            return float(prepared.fans["Any"].pressure(at, 1.0, AIR.density)) - asked

        exact = [brentq(surplus, *sorted((touches, end)), xtol=1e-15, rtol=1e-13) for end in (0.031, 0.079)]
        found = [each.flow for each in prepared.crossings(1.0) if each.flow > 0.031]
        # the scan sees them where one of its flows lies between
        between = np.linspace(0.0, 0.08, 481)
        if np.any((between > exact[0]) & (between < exact[1])):
            assert found == pytest.approx(exact, rel=1e-6)
    assert halved
