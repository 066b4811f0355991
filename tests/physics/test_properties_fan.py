"""What holds for a fan whatever its points: the laws, the ends of the curve, pairs, and the interpolant."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from workbench.physics.fan import Arrangement, Control, Fan, MeasuredCurve, MonotoneCubic, Motor
from workbench.physics.pipe import bore_area

Points = tuple[list[float], list[float]]

speeds = st.floats(0.02, 1.0)
densities = st.floats(0.6, 1.4)
fractions = st.floats(0.0, 1.0)


@st.composite
def curves(draw: st.DrawFn, top: float = 2000.0) -> Points:
    steps = draw(st.lists(st.floats(1e-3, 0.05), min_size=1, max_size=9))
    first = draw(st.sampled_from([0.0, 0.004]))
    flow = [first, *(first + np.cumsum(steps))]
    return [float(q) for q in flow], [round(draw(st.floats(0.0, top)), 3) for _ in flow]


def single(points: Points, density: float = 1.2, motor: Motor = Motor(), **kind: object) -> Fan:  # noqa: B008
    flow, pressure = points
    power = [20.0 + 3.0 * i for i, _ in enumerate(flow)]
    return Fan((MeasuredCurve.through(1.0, flow, pressure, power),), motor, density, **kind)  # type: ignore[arg-type]


def between(points: Points, fraction: float) -> float:
    first, last = points[0][0], points[0][-1]
    return min(first + fraction * (last - first), last)


@given(curves())
def test_interpolant_is_the_reference_and_stays_between_its_points(points: Points) -> None:
    """SciPy's PchipInterpolator; between two points the value never leaves theirs."""
    flow, pressure = points
    curve, reference = MonotoneCubic(flow, pressure), PchipInterpolator(flow, pressure)
    q = np.linspace(flow[0], flow[-1], 97)
    size = max(pressure) + 1e-9
    assert np.abs(curve(q) - reference(q)).max() <= 1e-12 * size
    steep = np.abs(reference.derivative()(q)).max()
    assert np.abs(curve.slope(q) - reference.derivative()(q)).max() <= 1e-9 * steep + 1e-9
    i = np.clip(np.searchsorted(flow, q, side="right") - 1, 0, len(flow) - 2)
    ends = np.array(pressure)[[i, i + 1]]
    assert np.all(curve(q) >= ends.min(axis=0) - 1e-12 * size)
    assert np.all(curve(q) <= ends.max(axis=0) + 1e-12 * size)


@given(curves())
def test_nothing_is_said_outside_the_points(points: Points) -> None:
    flow, pressure = points
    curve = MonotoneCubic(flow, pressure)
    outside = np.array([flow[0] - 1e-6, flow[-1] + 1e-6])
    assert np.all(np.isnan(curve(outside)))
    assert np.all(np.isnan(curve.slope(outside)))
    fan = single(points)
    assert np.all(np.isnan(fan.pressure(outside, 1.0, 1.2)))
    assert np.all(np.isnan(fan.power(outside, 1.0, 1.2)))


@pytest.mark.parametrize(
    ("flow", "pressure", "words"),
    [
        ([0.0], [100.0], "two points"),
        ([], [], "two points"),
        ([0.0, 1.0], [1.0], "two points"),
        ([0.0, 1.0, 1.0], [3.0, 2.0, 1.0], "rise"),
        ([0.0, 2.0, 1.0], [3.0, 2.0, 1.0], "rise"),
        ([0.0, float("nan")], [3.0, 2.0], "rise"),
    ],
)
def test_what_is_no_curve_is_refused(flow: list[float], pressure: list[float], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        MonotoneCubic(flow, pressure)


@given(curves(), fractions, speeds, densities)
def test_laws_hold_along_homologous_points(points: Points, at: float, speed: float, density: float) -> None:
    """Q ~ N, p ~ rho N^2, shaft power ~ rho N^3 (Crane TP-410)."""
    q = between(points, at)
    fan = single(points, motor=Motor(Control.EC, constant_power=0.0))
    full = float(fan.pressure(q, 1.0, 1.2))
    assert float(fan.pressure(speed * q, speed, density)) == pytest.approx(
        full * speed**2 * density / 1.2, rel=1e-9, abs=1e-9 * max(points[1])
    )
    assert float(fan.power(speed * q, speed, density)) == pytest.approx(
        float(fan.power(q, 1.0, 1.2)) * speed**3 * density / 1.2, rel=1e-9
    )


@given(curves(), speeds)
def test_both_ends_belong_to_the_curve_at_every_speed(points: Points, speed: float) -> None:
    fan = single(points)
    ends = np.array([float(end) for end in fan.flow_range(speed)])
    assert ends == pytest.approx([speed * points[0][0], speed * points[0][-1]], rel=1e-12)
    assert fan.pressure(ends, speed, 1.2) == pytest.approx(
        speed**2 * np.array([points[1][0], points[1][-1]]), rel=1e-9, abs=1e-9
    )


@given(curves(), speeds)
def test_pressure_fades_with_the_square_towards_standstill(points: Points, speed: float) -> None:
    fan = single(points)
    slow = 1e-3 * speed
    flow = np.linspace(*(float(end) for end in fan.flow_range(slow)), 20)
    assert np.all(fan.pressure(flow, slow, 1.2) <= 1.0001 * slow**2 * max(points[1]) + 1e-15)
    assert np.all(np.isnan(fan.pressure(np.array([0.0, 0.01]), 0.0, 1.2)))


@given(curves(), fractions, speeds)
def test_two_alike_in_a_row_or_side_by_side(points: Points, at: float, speed: float) -> None:
    q = speed * between(points, at)
    one = single(points)
    row, side = single(points, arrangement=Arrangement.SERIES), single(points, arrangement=Arrangement.PARALLEL)
    alone, draw = float(one.pressure(q, speed, 1.2)), float(one.power(q, speed, 1.2))
    assert float(row.pressure(q, speed, 1.2)) == pytest.approx(2.0 * alone, rel=1e-9, abs=1e-12)
    assert float(side.pressure(2.0 * q, speed, 1.2)) == pytest.approx(alone, rel=1e-9, abs=1e-9)
    assert float(row.power(q, speed, 1.2)) == pytest.approx(2.0 * draw, rel=1e-9)
    assert float(side.power(2.0 * q, speed, 1.2)) == pytest.approx(2.0 * draw, rel=1e-9)


@given(curves(), fractions, speeds, densities, st.floats(0.05, 0.3))
def test_static_rating_lacks_just_the_velocity_pressure(
    points: Points, at: float, speed: float, density: float, outlet: float
) -> None:
    """Fan static pressure is fan total pressure less the outlet's velocity pressure (ANSI/AMCA 210; from memory)."""
    q = speed * between(points, at)
    area = float(bore_area(outlet))
    by_static = single(points, outlet_area=area)
    scaled = float(single(points).pressure(q, speed, density))
    total = float(by_static.pressure(q, speed, density))
    left = total - 0.5 * density * (q / area) ** 2
    assert left == pytest.approx(scaled, rel=1e-9, abs=1e-9 * total + 1e-9)


@given(curves(), st.floats(0.3, 0.8), fractions, speeds)
def test_a_fan_measured_slow_and_fast_lies_between_its_two_curves(
    points: Points, measured: float, at: float, speed: float
) -> None:
    """Here the slow curve gives a tenth less flow and a fifth less pressure than the laws make of the fast one."""
    flow, pressure = points
    slow = [0.9 * measured * q for q in flow], [0.8 * measured**2 * p for p in pressure]
    fan = Fan(
        (MeasuredCurve.through(measured, *slow, None), MeasuredCurve.through(1.0, flow, pressure, None)), Motor(), 1.2
    )
    q_fast, q_slow = between(points, at), between(slow, at)
    reading = float(MonotoneCubic(*slow)(q_slow))
    assert float(fan.pressure(q_slow, measured, 1.2)) == pytest.approx(reading, rel=1e-6, abs=1e-6)
    first, last = (float(end) for end in fan.flow_range(speed))
    found = float(fan.pressure(first + at * (last - first), speed, 1.2))
    by_law = sorted([float(MonotoneCubic(*points)(q_fast)) * speed**2, reading * (speed / measured) ** 2])
    slack = 1e-6 * (max(pressure) + 1.0)
    assert by_law[0] - slack <= found <= by_law[1] + slack


@given(st.floats(1.0, 200.0), speeds, st.floats(0.0, 50.0), st.floats(0.5, 3.0))
def test_draw_rises_with_speed_and_meets_the_reading_at_full(
    full: float, speed: float, constant: float, exponent: float
) -> None:
    for control in Control:
        motor = Motor(control, constant, exponent)
        assert float(motor.draw(full, 1.0, 1.0)) == pytest.approx(full, rel=1e-12)
        assert float(motor.draw(full, 0.9 * speed, 1.0)) <= float(motor.draw(full, speed, 1.0)) <= full * (1 + 1e-12)


@pytest.mark.parametrize(("area", "rises"), [(None, False), (0.02, False), (0.002, True)])
def test_a_falling_static_curve_may_rise_through_a_narrow_outlet(area: float | None, rises: bool) -> None:
    """Whether a fan may meet a system more than once hangs on its total pressure, velocity included."""
    curve = MeasuredCurve.through(1.0, [0.0, 0.05, 0.1], [400.0, 300.0, 0.0], None)
    fan = Fan((curve,), Motor(), 1.2, outlet_area=area)
    assert fan.rises == rises
    total = fan.pressure(np.linspace(0.0, 0.1, 3), 1.0, 1.2)
    assert bool((np.diff(total) > 0.0).any()) == rises
