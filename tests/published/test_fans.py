"""Fan laws, operating points, curves and control against published examples and independent solutions."""

from __future__ import annotations

import numpy as np
import pytest
from fluids import ATMOSPHERE_1976
from msgspec.structs import replace
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

from tests.jobs import AIR, ground_only, measured, network, record
from workbench.design import Design, FanPoint, FanTable, StepReading, StepTest
from workbench.physics.air import air_at
from workbench.physics.fan import Arrangement, Control, Fan, MeasuredCurve, MonotoneCubic, Motor
from workbench.physics.pipe import bore_area
from workbench.solving import prepare, solve

CFM = 4.719474e-4  # m3/s
INCH = 0.0254  # m
GPM = 231 * INCH**3 / 60  # m3/s
FEET_WATER = 0.3048 * 1000 * 9.80665  # Pa
HORSEPOWER = 745.7  # W


def test_fan_laws_at_one_point_of_rating() -> None:
    """Crane TP-410, example 7.33: 3500 to 1700 rpm, 400 gpm, 126 ft, 17.5 hp give 194.3 gpm, 29.7 ft, 2.01 hp."""
    pump = measured(
        [0.0, 400 * GPM, 600 * GPM], [150 * FEET_WATER, 126 * FEET_WATER, 0.0], 1.2, [17.5 * HORSEPOWER] * 3
    )
    ratio = 1700 / 3500
    assert 400 * ratio == pytest.approx(194.3, abs=0.05)
    flow = 194.3 * GPM
    assert float(pump.pressure(flow, ratio, 1.2)) / FEET_WATER == pytest.approx(29.7, abs=0.05)
    assert float(pump.power(flow, ratio, 1.2)) / HORSEPOWER == pytest.approx(2.01, abs=0.01)


THIN = 0.643
"""Density at 6000 ft and 200 F over that at sea level and 70 F: the US Standard Atmosphere 1976 and the ideal gas."""


def test_thin_air_of_the_tables() -> None:
    """US Standard Atmosphere 1976 at 6000 ft, as the fluids library has it, and absolute temperatures: 0.643."""
    hot, warm = 459.67 + 200.0, 459.67 + 70.0
    assert ATMOSPHERE_1976(6000.0 * 0.3048).P / 101_325.0 * warm / hot == pytest.approx(THIN, abs=5e-4)
    ratio = air_at(hot / 1.8, 0.0, 6000.0 * 0.3048).density / air_at(warm / 1.8, 0.0, 0.0).density
    assert ratio == pytest.approx(THIN, abs=5e-4)


@pytest.mark.parametrize("control", list(Control))
def test_thin_air_takes_pressure_and_power(control: Control) -> None:
    """Fan laws in density (AMCA 201, from memory): 1.5 in. w.c. in thin air asks for 2.33 in standard air; 3.53 hp
    there become 2.27 hp.

    The torque of a fan goes with the density whatever turns it, so a motor under phase-cut control, too, draws less.
    """
    fan = measured([0.0, 1.0, 2.0], [700.0, 2.33 * 249.089, 0.0], 1.2, [3.53 * HORSEPOWER] * 3)
    fan = replace(fan, motor=Motor(control))
    assert float(fan.pressure(1.0, 1.0, THIN * 1.2)) / 249.089 == pytest.approx(1.5, abs=0.005)
    assert float(fan.power(1.0, 1.0, THIN * 1.2)) / HORSEPOWER == pytest.approx(2.27, abs=0.005)


# Cengel and Cimbala, Fluid Mechanics, example 14-1: fan and duct of a hood
HOOD_DENSITY, HOOD_NU, INCH_WATER_998 = 1.184, 1.562e-5, 998 * 9.81 * INCH
HOOD_CFM = [0.0, 250.0, 500.0, 750.0, 1000.0, 1200.0]
HOOD_IN = [0.90, 0.95, 0.90, 0.75, 0.40, 0.0]
HOOD_FAN = measured([q * CFM for q in HOOD_CFM], [p * INCH_WATER_998 for p in HOOD_IN], HOOD_DENSITY)
HOOD_DUCT = network(
    [0.0],
    [[1.0]],
    [0.230],
    [13.4],
    [1.3 + 5 * 0.21 + 1.8 + 1.05],  # the kinetic correction of the outlet stands with the fittings
    roughness=0.15e-3,
    density=HOOD_DENSITY,
    viscosity=HOOD_NU * HOOD_DENSITY,
)


def _hood(speed: float) -> tuple[float, float]:
    flows = HOOD_DUCT.meet(lambda q: HOOD_FAN.pressure(q, speed, HOOD_DENSITY), np.array([500 * CFM * speed]))
    return float(flows[0]) / CFM, float(HOOD_FAN.pressure(flows[0], speed, HOOD_DENSITY)) / INCH_WATER_998


def test_operating_point_of_a_hood() -> None:
    """The example reads about 650 cfm and 0.83 in. off its chart."""
    flow, pressure = _hood(1.0)
    assert flow == pytest.approx(650.0, rel=0.01)
    assert pressure == pytest.approx(0.83, abs=0.005)


@pytest.mark.parametrize(
    ("speed", "flow", "pressure"), [(1.0, 648.2, 0.827), (0.8, 517.5, 0.530), (0.5, 321.8, 0.2075)]
)
def test_operating_point_of_a_hood_slowed_down(speed: float, flow: float, pressure: float) -> None:
    """The same example, points joined by PCHIP and friction after Colebrook; Churchill may differ by 0.2 %."""
    assert _hood(speed) == pytest.approx((flow, pressure), rel=2e-3)


@pytest.mark.parametrize(
    ("speed", "flow"),
    [(1.0, 0.043801), (0.9, 0.038571), (0.8, 0.033369), (0.7, 0.028206), (0.6, 0.023099), (0.5, 0.018079)],
)
def test_laminar_ground_breaks_the_short_cut(speed: float, flow: float) -> None:
    """Analytic: fan 400 r^2 - 8e4 Q^2 on 3000 Q + 6e4 Q^2. At half speed 41 % of the flow is left, not 50 %."""
    q = np.linspace(0.0, (400 / 8e4) ** 0.5, 200)
    fan = record(q, np.maximum(400 - 8e4 * q**2, 0.0))
    found = solve(ground_only(fan, 3000.0, 6e4), speed).operating
    assert found is not None
    assert found.flow == pytest.approx(flow, abs=6e-7)
    assert found.fan_pressure == pytest.approx(3000 * flow + 6e4 * flow**2, rel=1e-4)


@pytest.mark.parametrize(
    ("arrangement", "flow", "pressure"),
    [("single", 0.0316228, 300.0), ("series", 0.0377964, 428.571), ("parallel", 0.0377964, 428.571)],
)
def test_two_fans_on_one_pipe(arrangement: str, flow: float, pressure: float) -> None:
    """Analytic: fan 500 - 2e5 Q^2 on 3e5 Q^2, alone, two in a row and two side by side."""
    q = np.linspace(0.0, 0.05, 200)
    fan = record(q, np.maximum(500 - 2e5 * q**2, 0.0))
    found = solve(ground_only(fan, 0.0, 3e5, arrangement=arrangement)).operating
    assert found is not None
    assert found.flow == pytest.approx(flow, rel=2e-6)
    assert found.fan_pressure == pytest.approx(pressure, rel=2e-6)


STALL = ([0.0, 0.010, 0.020, 0.030, 0.040, 0.050, 0.060], [200.0, 150.0, 95.0, 200.0, 260.0, 240.0, 0.0])


@pytest.mark.parametrize(
    ("linear", "quadratic", "expected"),
    [
        (5500.0, 0.0, [(0.018005, True), (0.024945, False), (0.045919, True)]),
        (0.0, 0.25e6, [(0.01952, True)]),
    ],
)
def test_every_crossing_is_found(linear: float, quadratic: float, expected: list[tuple[float, bool]]) -> None:
    """Roots of scipy's PCHIP less the system. Stable where the fan's slope is below the system's."""
    found = prepare(ground_only(record(*STALL), linear, quadratic)).crossings(1.0)
    assert [c.stable for c in found] == [stable for _, stable in expected]
    assert [c.flow for c in found] == pytest.approx([flow for flow, _ in expected], abs=6e-6)
    curve = PchipInterpolator(*STALL)
    for crossing in found:
        q = crossing.flow
        assert (curve.derivative()(q) < linear + 2 * quadratic * q) == crossing.stable


@pytest.mark.parametrize(
    ("flow", "pressure"),
    [(HOOD_CFM, HOOD_IN), STALL, ([0.0, 20.0, 40.0, 60.0, 80.0, 100.0], [300.0, 300.0, 295.0, 250.0, 100.0, 0.0])],
)
def test_curve_between_points_is_the_reference_interpolant(flow: list[float], pressure: list[float]) -> None:
    """SciPy's PchipInterpolator, which follows Fritsch and Butland (1984)."""
    between = np.linspace(flow[0], flow[-1], 1001)
    curve, reference = MonotoneCubic(flow, pressure), PchipInterpolator(flow, pressure)
    assert curve(between) == pytest.approx(reference(between), rel=1e-12, abs=1e-12)
    assert curve.slope(between) == pytest.approx(reference.derivative()(between), rel=1e-9, abs=1e-9)


def test_curve_never_rises_above_its_points() -> None:
    """A fifth-degree polynomial through these points reaches 307.2; a fan that was measured at 300 does not."""
    flow, pressure = np.array([0.0, 20.0, 40.0, 60.0, 80.0, 100.0]), np.array([300.0, 300.0, 295.0, 250.0, 100.0, 0.0])
    between = np.linspace(0.0, 100.0, 2001)
    assert np.polynomial.Polynomial.fit(flow, pressure, 5)(between).max() == pytest.approx(307.2, abs=0.05)
    assert MonotoneCubic(flow, pressure)(between).max() == 300.0


def test_the_choice_of_curve_matters_this_much() -> None:
    """On the hood: PCHIP 648.2, straight lines 643.1 cfm."""
    k = float(HOOD_DUCT.required(np.array([[650 * CFM]]))[0, 0]) / INCH_WATER_998 / 650**2
    at = {
        name: brentq(lambda q, curve=curve: float(curve(q)) - k * q * q, 500.0, 800.0)
        for name, curve in {
            "pchip": MonotoneCubic(HOOD_CFM, HOOD_IN),
            "lines": lambda q: np.interp(q, HOOD_CFM, HOOD_IN),
        }.items()
    }
    assert at["pchip"] == pytest.approx(648.2, rel=2e-3)
    assert at["lines"] == pytest.approx(643.1, rel=2e-3)


@pytest.mark.parametrize("exponent", [1.0, 1.8, 2.0, 3.0])
def test_phase_cut_draw_never_falls_below_the_air_gap_power(exponent: float) -> None:
    """Whatever exponent is asked for, a slowed induction motor takes at least the share that crosses its air gap.

    2 poles, 60 Hz, 3000 rpm at full speed: the torque of a fan goes with N^2 and air-gap power with the torque, so at
    0.8 of the speed 0.64 of it is left, though the shaft takes only 0.512 (Fitzgerald, Kingsley and Umans, Electric
    Machinery, slip relations; from memory).
    """
    motor = Motor(Control.PHASE_CUT, power_exponent=exponent)
    assert float(motor.draw(60.0, 0.8, 1.0)) / 60.0 >= 0.64 * (1.0 - 1e-12)
    for speed in (0.5, 0.95, 1.0):
        assert float(motor.draw(60.0, speed, 1.0)) >= 60.0 * speed**2 * (1.0 - 1e-12)


def test_electronic_motor_has_a_constant_draw_and_the_cube() -> None:
    """Common practice: the electronics' draw does not fall with speed, the rest falls with the cube."""
    motor = Motor(Control.EC, constant_power=4.0)
    assert float(motor.draw(44.0, 0.5, 1.0)) == pytest.approx(4.0 + 40.0 / 8)
    assert float(motor.draw(44.0, 1e-6, 1.0)) == pytest.approx(4.0)


def test_catalogue_tolerance_of_speed() -> None:
    """AMCA 211-22 as announced: 5 % on speed, which is 5 % on flow and 10 % on pressure along a square system.

    What a design carries that says nothing of its fan, taken off the speed it is solved at.
    """
    q = np.linspace(0.0, 0.05, 200)
    design = ground_only(record(q, np.maximum(500 - 2e5 * q**2, 0.0)), 0.0, 3e5)
    tolerance = design.uncertainty.fan_speed
    middle, slow = (solve(design, 0.9 * factor).operating for factor in (1.0, 1.0 - tolerance))
    assert middle is not None
    assert slow is not None
    assert 1.0 - slow.flow / middle.flow == pytest.approx(0.05, abs=1e-6)
    # 0.95 squared is a tenth less to the digits printed
    assert 1.0 - slow.fan_pressure / middle.fan_pressure == pytest.approx(0.10, abs=0.005)


@pytest.mark.parametrize(("arrangement", "outlets"), [("single", 1.0), ("series", 1.0), ("parallel", 2.0)])
def test_velocity_pressure_of_each_outlet(arrangement: str, outlets: float) -> None:
    """Fan static pressure is fan total pressure less the velocity pressure at the fan's outlet (ANSI/AMCA 210; from

    memory). Derived: two fans side by side have two outlets, each with half of the flow and a quarter of the velocity
    pressure; two in a row pass all of it through each. A pipe that loses just what each outlet holds then meets the
    fans where the static curve says.
    """
    area = float(bore_area(0.1))
    q = np.array([0.0, 0.03, 0.06])
    static = np.array([250.0, 200.0, 0.0])
    stages = 2.0 if arrangement == "series" else 1.0
    flow = 0.03 * outlets
    velocity_pressure = 0.5 * AIR.density * (0.03 / area) ** 2
    total = stages * (200.0 + velocity_pressure)
    fan = record(q, static, basis="static", outlet_diameter=0.1)
    found = solve(ground_only(fan, 0.0, total / flow**2, arrangement=arrangement)).operating
    assert found is not None
    assert found.flow == pytest.approx(flow, rel=1e-6)
    assert found.fan_pressure == pytest.approx(total, rel=1e-6)
    fans = Fan(
        (MeasuredCurve.through(1.0, q, static, None),),
        Motor(),
        AIR.density,
        outlet_area=area,
        arrangement=Arrangement(arrangement),
    )
    assert float(fans.pressure(flow, 1.0, AIR.density)) == pytest.approx(total, rel=1e-12)


def test_static_and_total_pressure_are_one_fan() -> None:
    """Fan static pressure is fan total pressure less the velocity pressure at the outlet (ANSI/AMCA 210, ISO 5801;

    from memory). Entered either way, the fan settles at one point, and the velocity pressure is counted once.
    """
    q = np.linspace(0.0, 0.06, 40)
    total = 300.0 - 40.0 * (q / 0.06) ** 2
    velocity_pressure = 0.5 * AIR.density * (q / (np.pi / 4 * 0.1**2)) ** 2
    by_total = record(q, total)
    by_static = record(q, total - velocity_pressure, basis="static", outlet_diameter=0.1)
    found = [solve(ground_only(fan, 6000.0)).operating for fan in (by_total, by_static)]
    assert found[0] is not None
    assert found[1] is not None
    assert found[1].flow == pytest.approx(found[0].flow, rel=1e-6)
    assert found[1].fan_pressure == pytest.approx(found[0].fan_pressure, rel=1e-6)


def test_step_test_and_straight_fan_meet_exactly() -> None:
    """Pairs on 8000 Q + 400000 Q^2 and a fan of 400 - 4000 Q meet at 0.0200 m3/s and 320 Pa."""
    fan = record([0.0, 0.1], [400.0, 0.0])
    design = ground_only(fan, 1.0)
    pairs = ((0.005, 50.0), (0.010, 120.0), (0.020, 320.0))
    test = StepTest(readings=tuple(StepReading(flow=q, suction=p) for q, p in pairs), tested_volume=0.028)
    pit = design.intake.source.model_copy(update={"ground": test})
    tested = Design(
        intake=design.intake.model_copy(update={"source": pit}), discharge=design.discharge, fans=(fan,), fan=fan.name
    )
    found = solve(tested)
    assert found.operating is not None
    assert found.operating.flow == pytest.approx(0.0200, rel=1e-9)
    assert found.operating.fan_pressure == pytest.approx(320.0, rel=1e-9)
    assert found.points[0].suction == pytest.approx(320.0, rel=1e-9)


def test_measured_speeds_are_met_and_replace_the_laws() -> None:
    """A fan measured at two speeds answers with its readings there, whatever the fan laws make of the faster curve."""
    q = np.array([0.0, 0.02, 0.04])
    slow = FanTable(
        speed=0.5, points=tuple(FanPoint(flow=a / 2, pressure=p) for a, p in zip(q, (70, 55, 5), strict=True))
    )
    full = FanTable(
        speed=1.0, points=tuple(FanPoint(flow=a, pressure=p) for a, p in zip(q, (300, 240, 0), strict=True))
    )
    fan = record(q, q + 1.0).model_copy(update={"curves": (slow, full)})
    trace = prepare(ground_only(fan, 1e5)).trace("Any", 0.5)
    assert trace.pressure[[0, -1]] == pytest.approx([70.0, 5.0])
