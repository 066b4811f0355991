"""What holds for every tree of pipes: balance, one pressure on all paths, and the right answer to every change."""

from __future__ import annotations

import math

import numpy as np
import pytest
from fluids.friction import Churchill_1977
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from scipy.optimize import brentq

from tests.jobs import network
from workbench.physics.network import JunctionLegs, Network
from workbench.physics.pipe import bore_area

BORES = (0.0525, 0.0779, 0.1023, 0.154)


@st.composite
def trees(draw: st.DrawFn, most: int = 6) -> Network:
    """Up to six points joined at random, ground over five decades, tees and wyes whose coefficients may be negative."""
    n = draw(st.integers(1, most))
    upstream: list[list[float]] = []
    bores: list[float] = []
    junctions: list[JunctionLegs] = []

    def members(of: list[int]) -> np.ndarray:
        return np.array([1.0 if i in of else 0.0 for i in range(n)])

    def run(of: list[int]) -> float:
        upstream.append(list(members(of)))
        bores.append(draw(st.sampled_from(BORES)))
        return bores[-1]

    def join(of: list[int]) -> float:
        if len(of) == 1:
            return run(of)
        cut = draw(st.integers(1, len(of) - 1))
        join(of[:cut])
        side = join(of[cut:])
        common = run(of)
        junctions.append(
            JunctionLegs(
                straight=members(of[:cut]),
                side=members(of[cut:]),
                angle=draw(st.sampled_from([45.0, 90.0])),
                area=float(bore_area(common)),
                area_ratio=min((side / common) ** 2, 1.0),
            )
        )
        return common

    join(list(range(n)))
    run(list(range(n)))
    size = len(bores)
    tree = network(
        [10.0 ** draw(st.floats(2.0, 7.0)) for _ in range(n)],
        upstream,
        bores,
        [draw(st.floats(0.1, 40.0)) for _ in range(size)],
        [draw(st.floats(0.0, 12.0)) for _ in range(size)],
        inertial=[draw(st.sampled_from([0.0, 1e4, 1e6, 1e8])) for _ in range(n)],
        draft=[draw(st.floats(-5.0, 10.0)) for _ in range(n)],
    )
    return replace(tree, junctions=tuple(junctions))


totals = st.floats(1e-3, 0.15)


@given(trees(), totals)
def test_all_air_is_accounted_for_and_all_paths_ask_one_pressure(tree: Network, most: float) -> None:
    total = np.linspace(0.0, most, 9)
    pressure, flows = tree.curve(total)
    assert np.abs(flows.sum(axis=-1) - total).max() <= 1e-9 * most
    need = tree.required(flows)
    assert np.abs(need - pressure[:, None]).max() <= 1e-9 * max(1.0, np.abs(need).max())


@given(trees(), totals)
@settings(max_examples=40)
def test_a_whole_curve_is_what_its_points_are(tree: Network, most: float) -> None:
    pressure, flows = tree.curve(np.array([[most, 0.5 * most], [0.1 * most, 0.0]]))
    for index in np.ndindex(2, 2):
        alone, share = tree.curve([[most, 0.5 * most], [0.1 * most, 0.0]][index[0]][index[1]])
        assert float(alone) == pytest.approx(pressure[index], rel=1e-8, abs=1e-8)
        assert share == pytest.approx(flows[index], rel=1e-7, abs=1e-9)


@given(trees(), st.floats(0.01, 0.12), st.floats(0.3, 0.95))
@settings(max_examples=40)
def test_fan_and_tree_meet_on_the_system_curve(tree: Network, most: float, part: float) -> None:
    """An independent root: SciPy's brentq on the curve."""
    wanted = part * most
    lift = max(float(tree.curve(wanted)[0]), 0.0) / (1.0 - part**2) + 1.0

    def fan(flow: np.ndarray) -> np.ndarray:
        return lift * (1.0 - (flow / most) ** 2)

    def surplus(flow: float) -> float:
        return float(fan(np.array(flow))) - float(tree.curve(flow)[0])

    # a draft alone may carry more than the fan's whole range
    assume(surplus(0.0) > 0.0 > surplus(most))
    total = brentq(surplus, 0.0, most, xtol=1e-15, rtol=1e-13)
    flows = tree.meet(fan, tree.curve(total * 1.03)[1])
    assert float(flows.sum()) == pytest.approx(total, rel=1e-8)
    assert tree.required(flows) == pytest.approx(float(fan(flows.sum())), rel=1e-8, abs=1e-8)


@given(trees(), totals, st.floats(0.5, 2.0))
def test_thin_air_scales_every_pressure(tree: Network, total: float, by: float) -> None:
    """At one Reynolds number all losses go with density: density, viscosity, ground and draft times c, pressure too."""
    thin = replace(
        tree,
        density=tree.density * by,
        viscosity=tree.viscosity * by,
        coupling=tree.coupling * by,
        inertial=tree.inertial * by,
        draft=tree.draft * by,
    )
    pressure, flows = tree.curve(total)
    scaled, same = thin.curve(total)
    assert same == pytest.approx(flows, rel=1e-7, abs=1e-9)
    assert float(scaled) == pytest.approx(by * float(pressure), rel=1e-8, abs=1e-8)


@given(trees())
def test_losses_vanish_with_the_flow(tree: Network) -> None:
    still = np.zeros(tree.points)
    parts = tree.parts(still)
    assert all(np.all(np.asarray(part) == 0.0) for part in parts)
    assert tree.required(still) == pytest.approx(-tree.draft, rel=1e-12)
    # laminar all through: half of a trickle costs half
    calm = replace(tree, draft=np.zeros(tree.points), inertial=np.zeros(tree.points))
    trickle = 1e-9
    assert float(calm.curve(trickle)[0]) == pytest.approx(2.0 * float(calm.curve(0.5 * trickle)[0]), rel=1e-4)


def _alone(diameter: float, length: float, k: float, flow: float, density: float, viscosity: float) -> float:
    """Loss of one run by the scalar formulas of the fluids library."""
    velocity = flow / (math.pi / 4 * diameter**2)
    factor = Churchill_1977(density * velocity * diameter / viscosity, 1.5e-6 / diameter)
    return (factor * length / diameter + k) * 0.5 * density * velocity**2


runs = st.tuples(st.sampled_from(BORES), st.floats(0.5, 30.0), st.floats(0.0, 10.0))


@given(st.floats(3.0, 5.0), st.floats(3.0, 5.0), runs, runs, runs, st.floats(50.0, 800.0))
def test_operating_point_of_two_branches_by_scalar_formulas(
    first: float,
    second: float,
    one: tuple[float, float, float],
    two: tuple[float, float, float],
    trunk: tuple[float, float, float],
    lift: float,
) -> None:
    """Nested brentq over the fluids library's scalars: branch flows at a junction's suction, then the fan."""
    rho, mu, most = 1.20138, 1.8205e-5, 0.15
    grounds, branches = (10.0**first, 10.0**second), (one, two)

    def branch(ground: float, run: tuple[float, float, float], suction: float) -> float:
        return brentq(lambda q: ground * q + _alone(*run, q, rho, mu) - suction, 1e-12, 5.0, xtol=1e-16, rtol=1e-13)

    def shares(suction: float) -> list[float]:
        return [branch(ground, run, suction) for ground, run in zip(grounds, branches, strict=True)]

    def surplus(suction: float) -> float:
        total = sum(shares(suction))
        return lift * (1.0 - (total / most) ** 2) - suction - _alone(*trunk, total, rho, mu)

    expected = shares(brentq(surplus, 1e-6, lift, xtol=1e-13, rtol=1e-13))
    tree = network(
        grounds,
        [[1.0, 0.0], [0.0, 1.0], [1.0, 1.0]],
        [run[0] for run in (one, two, trunk)],
        [run[1] for run in (one, two, trunk)],
        [run[2] for run in (one, two, trunk)],
        density=rho,
        viscosity=mu,
    )
    flows = tree.meet(lambda q: lift * (1.0 - (q / most) ** 2), np.array(expected) * [1.05, 0.97])
    assert flows == pytest.approx(expected, rel=1e-6)


@given(trees(most=4), st.floats(100.0, 900.0), st.integers(0, 30), st.floats(1.05, 3.0))
@settings(max_examples=50)
def test_more_resistance_anywhere_never_brings_more_air(tree: Network, lift: float, which: int, by: float) -> None:
    """Without losses in the junctions: as those depend on how air is shared, throttling the costlier leg may help."""
    tree = replace(tree, junctions=(), draft=np.zeros(tree.points))
    most = 0.12

    def served(pipes: Network) -> float:
        return float(pipes.meet(lambda q: lift * (1.0 - (q / most) ** 2), pipes.curve(0.5 * most)[1]).sum())

    at = which % tree.length.size
    longer, narrower, tighter = tree.length.copy(), tree.k.copy(), tree.coupling.copy()
    longer[at] *= by
    narrower[at] += by
    point = which % tree.points
    tighter[point, point] *= by
    flow = served(tree)
    for changed in (replace(tree, length=longer), replace(tree, k=narrower), replace(tree, coupling=tighter)):
        assert served(changed) <= flow * (1.0 + 1e-9)


def test_twins_share_alike() -> None:
    twins = network([5000.0] * 2, [[1, 0], [0, 1], [1, 1]], [0.0779] * 3, [5.0, 5.0, 8.0], [2.0, 2.0, 3.0])
    _, flows = twins.curve(np.array([0.0, 0.01, 0.06]))
    assert flows[:, 0] == pytest.approx(flows[:, 1], rel=1e-12)


def test_a_warmer_stack_can_draw_through_a_still_fan() -> None:
    """Two points that climb to different heights: with no air through the fan, air still goes round."""
    pair = network([800.0, 800.0], [[1, 0], [0, 1], [1, 1]], [0.1023] * 3, [5.0] * 3, [1.0] * 3, draft=[6.0, 0.0])
    pressure, flows = pair.curve(0.0)
    assert flows[0] > 1e-3
    assert flows[0] == pytest.approx(-flows[1], rel=1e-9)
    assert float(pressure) == pytest.approx(-3.0, rel=1e-6)


def test_wide_open_ground_with_uneven_draft_is_still_solved() -> None:
    """Next to no ground, so that junctions alone share the air, some of it backwards, where plain steps circle."""
    bores, wye = [0.154, 0.0525, 0.0525, 0.1023, 0.0779, 0.0779], float(bore_area(0.0779))
    tree = replace(
        network(
            [0.6, 0.8, 0.3],
            [[1, 0, 0], [0, 1, 0], [0, 0, 1], [0, 1, 1], [1, 1, 1], [1, 1, 1]],
            bores,
            [3.89, 2.04, 0.02, 0.04, 136.6, 53.3],
            [0.5, 0.0, 0.0, 0.0, 0.0, 0.0],
            inertial=[0.0, 86584.0, 0.0],
            draft=[6.2, -1.4, 6.3],
        ),
        junctions=(
            JunctionLegs(np.array([0.0, 1.0, 0.0]), np.array([0.0, 0.0, 1.0]), 60.0, float(bore_area(0.1023)), 0.2634),
            JunctionLegs(np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 1.0]), 45.0, wye, 1.0),
        ),
    )
    pressure, flows = tree.curve(np.linspace(0.0, 0.05, 41))
    assert np.abs(tree.required(flows) - pressure[:, None]).max() < 1e-8
