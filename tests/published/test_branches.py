"""Branched pipes against worked examples and an independent solver."""

from __future__ import annotations

import math

import numpy as np
import pytest
from fluids.friction import Colebrook
from scipy.optimize import fsolve

from tests.jobs import network
from workbench.physics.network import Network

BORE_3, BORE_4 = 0.0779272, 0.1022604  # m, schedule 40
DENSITY, VISCOSITY, ROUGHNESS = 1.20138, 1.8205e-5, 1.5e-6

# two suction points in laminar ground of 4000 and 8000 Pa s/m3, joined to one trunk
TWO_POINTS = network(
    [4000.0, 8000.0],
    [[1.0, 0.0], [0.0, 1.0], [1.0, 1.0]],
    [BORE_3, BORE_3, BORE_4],
    [6.0, 12.0, 9.0],
    [2.0, 3.0, 2.5],
    roughness=ROUGHNESS,
    density=DENSITY,
    viscosity=VISCOSITY,
)


def _meet(speed: float) -> np.ndarray:
    def fan(flow: np.ndarray) -> np.ndarray:
        return 350.0 * speed**2 - 6e4 * flow**2

    return TWO_POINTS.meet(fan, np.array([0.02, 0.01]) * speed)


def test_two_points_on_one_fan_after_churchill() -> None:
    """Solved by two independent solvers to 1e-13 with Churchill's friction factor."""
    assert _meet(1.0) == pytest.approx([0.0261491, 0.0158191], abs=6e-8)


@pytest.mark.parametrize(
    ("speed", "flows"),
    [(1.0, (0.0261360, 0.0158174)), (0.8, (0.0199861, 0.0117877)), (0.6, (0.0139058, 0.0079408))],
)
def test_two_points_on_one_fan_after_colebrook(speed: float, flows: tuple[float, float]) -> None:
    """The same with Colebrook's factor, from which Churchill's may part by 0.1 % in flow."""
    assert _meet(speed) == pytest.approx(flows, rel=1e-3)


def test_pressures_of_two_points_on_one_fan() -> None:
    """Fan 244.395 Pa and junction 173.790 Pa with Colebrook's factor."""
    flows = _meet(1.0)
    parts = TWO_POINTS.parts(flows)
    trunk = float(parts.friction[2] + parts.fittings[2])
    required = TWO_POINTS.required(flows)
    assert required == pytest.approx([244.395] * 2, rel=1e-3)
    assert required[0] - trunk == pytest.approx(173.790, rel=1e-3)


@pytest.mark.parametrize("speed", [1.0, 0.8, 0.6, 0.4])
def test_difference_to_an_independent_solution_is_that_of_the_friction_factors(speed: float) -> None:
    """Colebrook of the fluids library and SciPy's fsolve, unknown junction pressure and all."""

    def loss(flow: float, bore: float, length: float, k: float) -> float:
        velocity = flow / (math.pi / 4 * bore**2)
        reynolds = DENSITY * velocity * bore / VISCOSITY
        return (Colebrook(reynolds, ROUGHNESS / bore) * length / bore + k) * 0.5 * DENSITY * velocity**2

    def lack(unknown: np.ndarray) -> list[float]:
        first, second, junction = (float(u) for u in unknown)
        total = first + second
        return [
            4000.0 * first + loss(first, BORE_3, 6.0, 2.0) - junction,
            8000.0 * second + loss(second, BORE_3, 12.0, 3.0) - junction,
            junction + loss(total, BORE_4, 9.0, 2.5) - (350.0 * speed**2 - 6e4 * total**2),
        ]

    *flows, _ = fsolve(lack, [0.02 * speed, 0.01 * speed, 150.0 * speed**2], xtol=1e-12)
    assert _meet(speed) == pytest.approx(flows, rel=2e-3)


def _fanning(factor: float, length: float, diameter: float) -> float:
    """Loss coefficient of a pipe with a given Fanning factor."""
    return 4.0 * factor * length / diameter


def test_inlets_to_one_fan() -> None:
    """Douglas, Gasiorek and Swaffield, Fluid Mechanics, example 14.6: 471.4 + 213.1 = 684.5 Pa.

    Four inlets of 0.15 m with 0.2 m3/s each, 10 m and K 4, meet in a main of 0.3 m, 20 m and a transition worth 20
    diameters; Fanning factor 0.008, density 1.2.
    """
    inlet, main = 4.0 + _fanning(0.008, 10.0, 0.15), _fanning(0.008, 20.0 + 20.0 * 0.3, 0.3)
    duct = network(
        [0.0] * 4,
        [*np.eye(4), np.ones(4)],
        [0.15] * 4 + [0.3],
        [1e-9] * 5,
        [inlet] * 4 + [main],
        density=1.2,
    )
    pressure, flows = duct.curve(0.8)
    assert flows == pytest.approx([0.2] * 4, rel=1e-9)
    assert float(pressure) == pytest.approx(684.5, abs=0.06)
    assert float(duct.parts(flows).fittings[0]) == pytest.approx(471.4, abs=0.06)
    assert float(duct.parts(flows).fittings[-1]) == pytest.approx(213.1, abs=0.06)


def test_three_reservoirs() -> None:
    """Douglas, example 14.4: 120, 60 and 40 m of 0.12, 0.075 and 0.06 m, Fanning factor 0.01, heads 16 and 24 m.

    Water divides instead of joining: the losses are odd in the flow, and the heads drive where a draft would.
    """
    water = 1000.0
    sizes = [(60.0, 0.075), (40.0, 0.06), (120.0, 0.12)]
    pipes: Network = network(
        [0.0, 0.0],
        [[1.0, 0.0], [0.0, 1.0], [1.0, 1.0]],
        [diameter for _, diameter in sizes],
        [1e-9] * 3,
        [_fanning(0.01, length, diameter) for length, diameter in sizes],
        density=water,
        draft=[water * 9.81 * 16.0, water * 9.81 * 24.0],
    )
    flows = pipes.meet(lambda q: 0.0 * q, np.array([0.01, 0.01]))
    assert flows == pytest.approx([0.01052, 0.01007], abs=6e-6)
    assert float(flows.sum()) == pytest.approx(0.02059, abs=6e-6)
