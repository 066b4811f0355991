"""Flows are found for every valid tree, many at once, and are the ones that SciPy finds.

With losses odd and rising in the flow, a symmetric positive definite coupling and a fan that does not rise, flows are
the minimum of a strictly convex function (S. Boyd and L. Vandenberghe, Convex Optimization, 2004, 9.1 and 9.5): there
is one answer, wherever the search begins.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from scipy.optimize import approx_fprime, brentq, root

from tests.jobs import network
from workbench.physics.network import JunctionLegs, Network, NoConvergence, Scatter, stacked
from workbench.physics.newton import Meeting, newton
from workbench.physics.pipe import bore_area, friction_loss, friction_loss_and_slope

MOST = 0.12


def comb(n: int, bore: float = 0.1023, wyes: bool = False, **fields: object) -> Network:
    """Points joined one after the other to one main."""
    rows = [*np.eye(n), *(np.arange(n) <= k for k in range(1, n)), np.ones(n)]
    upstream = np.array(rows, dtype=float)
    size = len(upstream)
    legs = tuple(
        JunctionLegs((np.arange(n) < k) * 1.0, (np.arange(n) == k) * 1.0, 45.0, float(bore_area(bore)), 0.58)
        for k in range(1, n)
    )
    plain = network([4000.0] * n, upstream.tolist(), [bore] * size, [3.0] * size, [0.8] * size, inertial=[2e4] * n)
    return replace(plain, junctions=legs if wyes else (), **fields)


@st.composite
def grounds(draw: st.DrawFn) -> Network:
    """Points in one soil: conductances between them and to the open make an M-matrix, the coupling is its inverse."""
    n = draw(st.integers(2, 7))
    between = np.zeros((n, n))
    for i in range(n):
        for j in range(i):
            between[i, j] = between[j, i] = draw(st.sampled_from([0.0, 1e-6, 1e-5, 1e-4, 1e-3]))
    open_to = np.array([10.0 ** draw(st.floats(-6.5, -2.5)) for _ in range(n)])
    return comb(
        n,
        draw(st.sampled_from([0.0525, 0.0779, 0.1023])),
        coupling=np.linalg.inv(np.diag(open_to + between.sum(axis=1)) - between),
        inertial=np.array([draw(st.sampled_from([0.0, 1e4, 1e6, 1e8])) for _ in range(n)]),
        draft=np.array([draw(st.floats(-5.0, 10.0)) for _ in range(n)]),
    )


def falling(lift: float | np.ndarray) -> object:
    return lambda total: lift * (1.0 - np.asarray(total) * np.abs(total) / MOST**2)


@given(grounds(), st.floats(0.0, 2000.0), st.floats(-0.1, 0.3))
def test_flows_settle_on_any_ground_from_anywhere(tree: Network, lift: float, start: float) -> None:
    fan = falling(lift)
    flows = tree.meet(fan, np.full(tree.points, start))
    asked = tree.required(flows)
    scale = max(lift, float(np.abs(tree.coupling @ flows).max()), 1.0)
    assert np.abs(asked - fan(flows.sum())).max() <= 1e-9 * scale
    assert flows == pytest.approx(tree.meet(fan, tree.first_share() * 0.01), rel=1e-7, abs=1e-10)


@given(grounds(), st.floats(0.0, 0.2))
def test_a_total_is_shared_on_any_ground(tree: Network, total: float) -> None:
    pressure, flows = tree.curve(total)
    asked = tree.required(flows)
    assert float(flows.sum()) == pytest.approx(total, rel=1e-9, abs=1e-13)
    assert np.abs(asked - pressure).max() <= 1e-9 * max(float(np.abs(tree.coupling @ flows).max()), 1.0)


@given(grounds(), st.lists(st.floats(0.0, 1500.0), min_size=3, max_size=3))
@settings(max_examples=50)
def test_more_fan_never_draws_less(tree: Network, lifts: list[float]) -> None:
    lift = np.sort(np.array(lifts))
    flows = tree.meet(falling(lift), np.broadcast_to(tree.first_share() * 0.02, (3, tree.points)))
    total = flows.sum(axis=-1)
    assert np.all(np.diff(total) >= -1e-10)


@given(grounds(), st.floats(50.0, 1000.0), st.booleans())
@settings(max_examples=40)
def test_flows_are_those_that_scipy_finds(tree: Network, lift: float, wyes: bool) -> None:
    """An independent root: SciPy's MINPACK hybrid method on what the paths ask, with no slopes given."""
    if wyes:
        tree = replace(tree, junctions=comb(tree.points, wyes=True).junctions)
    fan = falling(lift)
    flows = tree.meet(fan, np.full(tree.points, 0.01))
    found = root(lambda q: tree.required(q) - fan(q.sum()), flows * 1.05 + 1e-4, method="hybr", options={"xtol": 1e-13})
    assume(np.abs(found.fun).max() < 1e-7 * lift)
    assert flows == pytest.approx(found.x, rel=1e-6, abs=1e-8)


@given(grounds(), st.lists(st.floats(-0.05, 0.1), min_size=7, max_size=7), st.booleans())
@settings(max_examples=40)
def test_slopes_are_those_of_the_losses(tree: Network, flows: list[float], wyes: bool) -> None:
    """Differences of what the paths ask, by SciPy."""
    tree = replace(tree, junctions=comb(tree.points, wyes=True).junctions if wyes else ())
    at = np.array(flows[: tree.points])
    if wyes:
        # away from the kinks, where air turns
        at = np.abs(at) + 1e-3
    _, slopes = tree.losses(tree.laid(), at)
    slope = (slopes @ tree.pattern).reshape(tree.points, tree.points) + tree.coupling
    for i in range(tree.points):
        by_difference = approx_fprime(at, lambda q, i=i: tree.required(q)[i], 1e-8)
        scale = np.abs(slope).max()
        assert slope[i] == pytest.approx(by_difference, rel=2e-3, abs=1e-4 * scale + 20.0)


def test_slope_of_friction() -> None:
    flow = np.concatenate((-np.geomspace(1e-6, 0.2, 60), [0.0], np.geomspace(1e-6, 0.2, 60)))
    nudge = 1e-6 * np.abs(flow) + 1e-10
    loss, slope = friction_loss_and_slope(flow, 0.08, 10.0, 1e-5, 1.2, 1.8e-5)
    up, down = (friction_loss(flow + by, 0.08, 10.0, 1e-5, 1.2, 1.8e-5) for by in (nudge, -nudge))
    assert np.array_equal(loss, friction_loss(flow, 0.08, 10.0, 1e-5, 1.2, 1.8e-5))
    np.testing.assert_allclose(slope, (up - down) / (2.0 * nudge), rtol=1e-7)


@pytest.mark.parametrize("wyes", [False, True])
@pytest.mark.parametrize("n", [2, 5, 12])
def test_every_wide_draw_settles(n: int, wyes: bool) -> None:
    """Couplings two standard deviations of ln 5 apart, 7,680 draws in all, each with losses and fan of its own."""
    rng = np.random.default_rng(20 + n)
    draws = 1280
    place = rng.random((n, 2)) * [12.0, 9.0]
    apart = np.linalg.norm(place[:, None] - place, axis=-1)
    wide = 2.0 * np.log(5.0)
    near, far = np.exp(wide * rng.standard_normal((draws, n))), np.exp(wide * rng.standard_normal((draws, 1, 1)))
    tree = comb(
        n,
        wyes=wyes,
        coupling=2000.0 * far * np.exp(-apart / 4.0) + 2000.0 * near[:, None, :] * np.eye(n),
        inertial=2e4 * near,
        draft=rng.uniform(-3.0, 5.0, (draws, n)),
    )
    scatter = Scatter(
        friction=np.exp(0.2 * rng.standard_normal((draws, 1))),
        fittings=np.exp(0.5 * rng.standard_normal((draws, tree.length.size))),
        junctions=np.exp(0.5 * rng.standard_normal((draws, len(tree.junctions)))),
    )
    lift = 300.0 * np.exp(0.3 * rng.standard_normal(draws))
    found = tree.meet_each(falling(lift), np.broadcast_to(tree.first_share() * 0.03, (draws, n)), scatter)
    assert found.settled.all()
    asked = tree.required(found.flows, scatter)
    fault = np.abs(asked - falling(lift)(found.flows.sum(axis=-1))[:, None]).max(axis=-1)
    ground = np.abs(np.matmul(tree.coupling, found.flows[..., None])).max(axis=(-2, -1))
    assert np.all(fault <= 1e-9 * np.maximum(lift, ground))


def test_a_draw_that_has_no_answer_leaves_the_others_theirs() -> None:
    """One fan of three says nothing beyond a flow that is passed; all others get what they get alone."""
    tree = comb(2, wyes=True)
    ends = np.array([MOST, 0.02, MOST])

    def fan(total: np.ndarray) -> np.ndarray:
        return np.where(total <= ends, 300.0 * (1.0 - (total / MOST) ** 2), np.nan)

    found = tree.meet_each(fan, np.full((3, 2), 0.005))
    assert list(found.settled) == [True, False, True]
    assert np.isnan(found.flows[1]).all()
    alone = tree.meet(falling(300.0), np.array([0.005, 0.005]))
    assert found.flows[[0, 2]] == pytest.approx(np.array([alone, alone]), rel=1e-9)
    with pytest.raises(NoConvergence):
        tree.meet(fan, np.full((3, 2), 0.005))


def test_factors_of_one_run_or_junction_touch_that_one_alone() -> None:
    tree = comb(3, wyes=True)
    flows = np.array([0.01, 0.02, 0.015])
    plain = tree.parts(flows)
    factors = np.linspace(0.5, 2.0, tree.length.size)
    scattered = tree.parts(flows, Scatter(friction=factors[::-1], fittings=factors, junctions=np.array([3.0, 0.25])))
    np.testing.assert_allclose(scattered.friction, plain.friction * factors[::-1], rtol=1e-14)
    np.testing.assert_allclose(scattered.fittings, plain.fittings * factors, rtol=1e-14)
    np.testing.assert_allclose(scattered.side, plain.side * [3.0, 0.25], rtol=1e-14)
    np.testing.assert_allclose(scattered.straight, plain.straight * [3.0, 0.25], rtol=1e-14)


def test_networks_side_by_side_and_sampled_answer_as_alone() -> None:
    rng = np.random.default_rng(4)
    trees = [comb(3, bore, wyes=True) for bore in (0.0779, 0.1023)]
    fittings = np.exp(0.3 * rng.standard_normal((4, 2, trees[0].length.size)))
    lift = np.array([200.0, 350.0])
    both = stacked(trees).meet(falling(lift), np.full((4, 2, 3), 0.01), Scatter(fittings=fittings))
    for s in range(4):
        for w in range(2):
            alone = trees[w].meet(falling(lift[w]), np.full(3, 0.02), Scatter(fittings=fittings[s, w]))
            assert both[s, w] == pytest.approx(alone, rel=1e-9)


def test_wide_open_ground_is_solved_from_the_answer_without_junctions() -> None:
    """Ground of next to nothing, in which only the junctions share the air and some of it runs backwards."""
    upstream = [[1, 0, 0, 0], [0, 1, 0, 0], [0, 0, 1, 0], [0, 0, 0, 1], [0, 0, 1, 1], [0, 1, 1, 1], [1] * 4, [1] * 4]
    tree = network(
        [0.0271, 0.0212, 0.0026, 0.0042],
        upstream,
        [0.154, 0.154, 0.1023, 0.0525, 0.1023, 0.1023, 0.1023, 0.154],
        [4.57, 3.227, 2.164, 0.288, 0.086, 4.161, 1.938, 4.585],
        [0.125, 0.212, 0.182, 0.15, 0.142, 0.071, 0.02, 0.198],
        density=1.2,
        viscosity=1.8e-5,
        draft=[-2.317, 0.904, -1.991, 6.873],
        inertial=[42.7, 78.3, 4.9, 4.5],
    )
    area, unit = float(bore_area(0.1023)), np.eye(4)
    legs = (
        JunctionLegs(unit[2], unit[3], 45.0, area, 0.2634),
        JunctionLegs(unit[1], unit[2] + unit[3], 90.0, area, 1.0),
        JunctionLegs(unit[0], unit[1] + unit[2] + unit[3], 90.0, area, 1.0),
    )
    tree = replace(tree, junctions=legs)
    pressure, flows = tree.curve(0.02866)
    assert float(flows.sum()) == pytest.approx(0.02866, rel=1e-9)
    assert tree.required(flows) == pytest.approx(float(pressure), rel=1e-9)


@pytest.mark.parametrize("over", [0.5, 1e-9])
def test_a_fan_that_says_nothing_beyond_its_points_is_met_within(over: float) -> None:
    """From far below, where the first whole step leads beyond; and at the very last point. By SciPy's brentq."""
    tree = replace(comb(1), coupling=np.array([[50.0]]), inertial=np.array([4e5]))

    def pressure(total: float) -> float:
        return 300.0 * (1.0 - total / MOST)

    def fan(total: np.ndarray) -> np.ndarray:
        return np.where((total >= 0.0) & (total <= end), 300.0 * (1.0 - total / MOST), np.nan)

    exact = brentq(lambda q: float(tree.required(np.array([q]))[0]) - pressure(q), 0.0, MOST, xtol=1e-15, rtol=1e-14)
    end = exact * (1.0 + over)
    assert float(tree.meet(fan, np.array([1e-4]))[0]) == pytest.approx(exact, rel=1e-9)


def test_a_fan_that_rises_as_the_ground_resists_throws_the_search_far_but_not_out() -> None:
    """Where the slopes all but cancel, a whole step would leave all that friction can be told for."""
    tree = comb(1)
    slope = float(tree.coupling[0, 0] + tree.losses(tree.laid(), np.zeros(1))[1][1:].sum())

    def fan(total: np.ndarray) -> np.ndarray:
        return 10.0 + slope * total - 1e6 * total * np.abs(total)

    flow = float(tree.meet(fan, np.zeros(1))[0])
    assert 0.0 < flow < 0.01
    assert float(tree.required(np.array([flow]))[0]) == pytest.approx(float(fan(np.array(flow))), rel=1e-9)


class _Square:
    """Paths of one point each that ask the square of their flow, so that the slope at rest is nothing at all."""

    batch = (3,)
    start = np.array([[0.0], [0.5], [3.0]])

    def asked(self, flows: np.ndarray, _: object) -> tuple[np.ndarray, np.ndarray]:
        return flows * np.abs(flows), 2.0 * np.abs(flows)

    def jacobian(self, slopes: np.ndarray, _: object) -> np.ndarray:
        return slopes[..., None]


def test_a_slope_of_nothing_stops_nobody() -> None:
    flows = _Square.start.copy()
    solved = newton(Meeting(_Square(), lambda total: np.ones_like(total)), flows, np.arange(3), 1e-12)
    assert solved.all()
    assert flows[:, 0] == pytest.approx([1.0] * 3, rel=1e-12)


def test_a_step_that_leads_off_the_curve_is_halved() -> None:
    flows = np.full((3, 1), 0.5)
    solved = newton(Meeting(_Square(), lambda total: np.where(total <= 1.2, 1.0, np.nan)), flows, np.arange(3), 1e-12)
    assert solved.all()
    assert flows[:, 0] == pytest.approx([1.0] * 3, rel=1e-12)
