"""The shipped fan classes: well formed, invented, and each a machine that could exist."""

from __future__ import annotations

import math
import re
import tomllib
from importlib.resources import files
from typing import Any

import numpy as np
import pytest
from scipy.interpolate import Akima1DInterpolator, PchipInterpolator
from scipy.optimize import brentq
from scipy.stats import spearmanr

CFM = 4.719474e-4  # m3/s
INCH_WATER = 249.089  # Pa

REQUIRED = {
    "name",
    "note",
    "invented",
    "basis",
    "outlet_diameter",
    "rated_density",
    "control",
    "sound_dBA",
    "sound_distance",
    "price",
    "curve",
}
OF_CONTROL = {"none": set(), "phase-cut": {"least_speed", "power_exponent"}, "ec": {"least_speed", "constant_power"}}


def _library() -> dict[str, dict[str, Any]]:
    entries = sorted(files("fan_library").iterdir(), key=lambda entry: entry.name)
    return {
        e.name.removesuffix(".toml"): tomllib.loads(e.read_text("utf-8")) for e in entries if e.name.endswith(".toml")
    }


LIBRARY = _library()
CURVES = [(name, i) for name, fan in LIBRARY.items() for i in range(len(fan["curve"]))]

every_class = pytest.mark.parametrize("fan", LIBRARY.values(), ids=LIBRARY.keys())
every_curve = pytest.mark.parametrize(
    ("name", "i"), CURVES, ids=[f"{n}-{LIBRARY[n]['curve'][i]['speed']}" for n, i in CURVES]
)


def _points(fan: dict[str, Any], i: int = -1) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    flow, pressure, power = np.array(fan["curve"][i]["points"], dtype=float).T
    return flow, pressure, power


def _velocity_pressure(fan: dict[str, Any], flow: np.ndarray) -> np.ndarray:
    return 0.5 * fan["rated_density"] * (flow / (math.pi / 4 * fan["outlet_diameter"] ** 2)) ** 2


def _total(fan: dict[str, Any], i: int = -1) -> np.ndarray:
    flow, pressure, _ = _points(fan, i)
    return pressure + (_velocity_pressure(fan, flow) if fan["basis"] == "static" else 0.0)


def _static(fan: dict[str, Any], i: int = -1) -> np.ndarray:
    return _total(fan, i) - _velocity_pressure(fan, _points(fan, i)[0])


def _turns(values: np.ndarray) -> int:
    rising = np.diff(values) > 0
    return int(np.count_nonzero(rising[1:] != rising[:-1]))


def test_there_is_a_choice() -> None:
    assert len(LIBRARY) >= 10
    assert {fan["control"] for fan in LIBRARY.values()} == set(OF_CONTROL)
    assert {fan["basis"] for fan in LIBRARY.values()} == {"static", "total"}
    names = [fan["name"].casefold() for fan in LIBRARY.values()]
    assert len(set(names)) == len(names)


@every_class
def test_form(fan: dict[str, Any]) -> None:
    assert set(fan) == REQUIRED | OF_CONTROL[fan["control"]]
    assert fan["basis"] in {"static", "total"}
    assert 0.0 < fan.get("least_speed", 0.5) < 1.0
    speeds = [curve["speed"] for curve in fan["curve"]]
    assert speeds == sorted(set(speeds))
    assert speeds[-1] == 1.0


@every_class
def test_says_that_it_is_invented_and_carries_no_code(fan: dict[str, Any]) -> None:
    assert fan["invented"] is True
    assert fan["note"].startswith("Invented generic class.")
    words = re.findall(r"[\w-]+", fan["name"])
    assert not [w for w in words if re.search(r"\d", w)], "a digit in a name reads as a model code"
    assert not [w for w in words if len(w) > 1 and w.isupper()], "capitals in a name read as a series"
    assert not [w for w in words if len(w) == 1 and w.casefold() != "a"], "a lone letter reads as a series"


@every_curve
def test_points_run_from_shut_off_to_free_delivery(name: str, i: int) -> None:
    fan = LIBRARY[name]
    flow, pressure, power = _points(fan, i)
    assert 7 <= len(flow) <= 12
    assert flow[0] == 0.0
    assert np.all(np.diff(flow) > 0.0)
    assert np.all(pressure >= 0.0)
    assert np.all(power > fan.get("constant_power", 0.0))
    assert _static(fan, i)[-1] == pytest.approx(0.0, abs=0.005 * pressure.max())
    assert np.all(_static(fan, i)[:-1] > 0.0)


@every_curve
def test_curve_is_smooth(name: str, i: int) -> None:
    """Two interpolants of different make agree, so the shape lies in the points and not in the interpolant."""
    flow, pressure, power = _points(LIBRARY[name], i)
    between = np.linspace(flow[0], flow[-1], 400)
    for values in (pressure, power):
        difference = PchipInterpolator(flow, values)(between) - Akima1DInterpolator(flow, values)(between)
        assert np.abs(difference).max() < 0.02 * values.max()


def test_only_the_teaching_shapes_turn() -> None:
    turns = {name: max(_turns(_points(fan, i)[1]) for i in range(len(fan["curve"]))) for name, fan in LIBRARY.items()}
    assert {name: n for name, n in turns.items() if n} == {"wide-wheel-rising-start": 1, "axial-with-stall": 2}


@every_curve
def test_efficiency_is_that_of_a_small_fan(name: str, i: int) -> None:
    """Air power over electric power peaks between 0.10 and 0.45 (common practice for fans of 5-150 W)."""
    fan = LIBRARY[name]
    flow, _, power = _points(fan, i)
    efficiency = _total(fan, i) * flow / power
    assert 0.10 <= efficiency.max() <= 0.45
    assert 0 < int(efficiency.argmax()) < len(flow) - 1, "the best point lies inside the curve"


@every_class
def test_power_is_within_practice(fan: dict[str, Any]) -> None:
    """Mitigation fans draw about 20-150 W (common practice); only the quiet low-flow class lies below."""
    draw = _points(fan)[2].max()
    assert draw <= 150.0
    assert draw >= 20.0 or "Quiet" in fan["name"]


@every_class
def test_sound_fits_the_work(fan: dict[str, Any]) -> None:
    """Between what escapes a well-damped casing and what would leave an open duct.

    Sound power in the duct is 37 +- 4 dB + 10 log10(flow, m3/s) + 20 log10(pressure, Pa) at the best point (VDI 2081,
    from memory); half-space spreading takes 20 log10(distance) + 8 dB; the casing and A-weighting take at most 25 dB
    more (common practice).
    """
    flow, _, power = _points(fan)
    total = _total(fan)
    best = int((total * flow / power).argmax())
    in_duct = 37.0 + 10.0 * math.log10(flow[best]) + 20.0 * math.log10(total[best])
    spread = 20.0 * math.log10(fan["sound_distance"]) + 8.0
    assert in_duct - 4.0 - spread - 25.0 < fan["sound_dBA"] < in_duct + 4.0 - spread


def test_louder_classes_draw_more_power() -> None:
    """Rank correlation of sound level with electric power."""
    sound = [fan["sound_dBA"] for fan in LIBRARY.values()]
    power = [float(_points(fan)[2].max()) for fan in LIBRARY.values()]
    assert spearmanr(sound, power).statistic > 0.8


def test_slowed_curves_stray_plausibly_from_the_fan_laws() -> None:
    """Fan laws Q ~ N, p ~ N^2, shaft power ~ N^3; small wheels give a few per cent less when slow (common practice)."""
    several = [fan for fan in LIBRARY.values() if len(fan["curve"]) > 1]
    assert several
    for fan in several:
        flow, pressure, power = _points(fan)
        for i, curve in enumerate(fan["curve"][:-1]):
            r = curve["speed"]
            slow_flow, slow_pressure, slow_power = _points(fan, i)
            assert 0.90 * r**2 < slow_pressure[0] / pressure[0] < r**2
            assert 0.93 * r < slow_flow[-1] / flow[-1] < r
            fixed = fan["constant_power"]
            law = fixed + (PchipInterpolator(flow, power)(slow_flow / r) - fixed) * r**3
            assert np.all((law < slow_power) & (slow_power < 1.15 * law))


@pytest.mark.parametrize(("flow", "pressure"), [(50 * CFM, 0.5 * INCH_WATER), (75 * CFM, 1.0 * INCH_WATER)])
def test_published_duties_are_reached(flow: float, pressure: float) -> None:
    """Duty classes of ANSI/AARST CCAH 2020: at least 50 cfm at 0.5 in. w.c., and at least 75 cfm at 1.0 in. w.c."""
    reached = [
        name for name, fan in LIBRARY.items() if np.interp(flow, _points(fan)[0], _static(fan), right=-1.0) >= pressure
    ]
    assert reached


def test_a_plausible_system_crosses_the_stall_three_times() -> None:
    """Laminar ground of 4300 Pa s/m3 and 9 m of 4 in. pipe (inside 102.26 mm, f 0.02, sum of K 2.5)."""
    fan = LIBRARY["axial-with-stall"]
    flow, _, _ = _points(fan)
    total = PchipInterpolator(flow, _total(fan))
    bore = 0.10226
    pipe = 0.5 * fan["rated_density"] * (0.02 * 9.0 / bore + 2.5) / (math.pi / 4 * bore**2) ** 2

    def excess(q: float) -> float:
        return float(total(q)) - 4300.0 * q - pipe * q**2

    grid = np.linspace(0.0, flow[-1], 500)
    signs = np.sign([excess(q) for q in grid])
    crossings = [brentq(excess, grid[k], grid[k + 1]) for k in np.flatnonzero(signs[1:] != signs[:-1])]
    assert len(crossings) == 3
    falls = [excess(q + 1e-6) < excess(q - 1e-6) for q in crossings]
    assert falls == [True, False, True], "the middle crossing alone is unstable"
