"""Fitting unknowns and drawing what readings leave open, where a closed form tells what must come out."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pytest

from workbench.physics.arrays import Array
from workbench.solving.site.draws import DRAG_SAMPLES, REST_SAMPLES, column
from workbench.solving.site.fit import Varied, each_nudged, fitted
from workbench.solving.site.ground_state import TESTED, FlowReading, GroundState, Readings


@dataclass(frozen=True)
class Line:
    """One laminar point: the logarithm of its resistance is a straight line in one unknown, with an unevenness."""

    spread: float
    uneven: tuple[tuple[float, float], ...] = ((1.0, 1.0),)

    @property
    def unknowns(self) -> tuple[Varied, ...]:
        return (Varied("ground", "Pit"), Varied("own", "Pit"))

    @property
    def unevenness(self) -> tuple[tuple[float, float], ...]:
        return self.uneven

    def beside(self, x: Array, unevenness: Array, nudge: float) -> GroundState:
        return self.state(each_nudged(x, nudge), unevenness[..., None])

    def meter(self, x: Array) -> Array:
        return np.zeros(x.shape[:-1])

    def strain(self, x: Array) -> Array:
        return np.zeros((*x.shape[:-1], 0))

    def state(self, x: Array, unevenness: Array) -> GroundState:
        a = 5000.0 * np.exp(self.spread * x[..., 0] + 0.1 * np.asarray(unevenness) * x[..., 1])
        batch = x.shape[:-1]
        return GroundState(
            layer=a[..., None, None],
            near=np.zeros((*batch, 3, 1)),
            inertial=np.zeros((*batch, 3, 1)),
            holes=np.zeros((*batch, 0, 1)),
            rest_points=np.zeros((*batch, 1)),
            rest_holes=np.zeros((*batch, 0)),
            mean_rest=np.full(batch, 0.25),
        )


def reading(factor: float, error: float) -> FlowReading:
    """A flow as if the resistance were a factor of its middle."""
    return FlowReading(0, TESTED, 100.0, 100.0 / (5000.0 * factor), error, metered=False)


@pytest.mark.parametrize("errors", [(0.1,), (0.05, 0.2), (2.0,)])
def test_a_straight_model_gives_the_textbook_answer(errors: tuple[float, ...]) -> None:
    """Normal prior, normal errors: mean and variance in closed form (A. Gelman and others, Bayesian Data Analysis,
    section 2.5)."""
    spread, own = 0.8, 0.1
    readings = Readings([reading(1.5, error) for error in errors], [], [], None)
    fit = fitted(Line(spread), readings)
    prior, precision = spread**2 + own**2, sum(error**-2 for error in errors)
    mean = math.log(1.5) * precision / (precision + 1.0 / prior)
    variance = 1.0 / (precision + 1.0 / prior)
    assert math.log(float(fit.state().layer[0, 0]) / 5000.0) == pytest.approx(mean, abs=1e-4)
    drawn = np.log(fit.draws(REST_SAMPLES).state.layer[:, 0, 0] / 5000.0)
    assert float(np.mean(drawn)) == pytest.approx(mean, abs=4.0 * math.sqrt(variance / REST_SAMPLES))
    assert float(np.std(drawn)) == pytest.approx(math.sqrt(variance), rel=0.05)


def test_without_a_reading_the_prior_is_drawn() -> None:
    fit = fitted(Line(0.8), Readings([], [], [], None))
    drawn = fit.draws(REST_SAMPLES)
    assert drawn.missed == 0.0
    assert float(np.std(np.log(drawn.state.layer[:, 0, 0]))) == pytest.approx(math.hypot(0.8, 0.1), rel=0.02)


def test_unevenness_is_weighed_by_what_the_readings_say_of_it() -> None:
    """Evidence in closed form: the density of the reading under prior and error together (MacKay 1992, for a straight
    model exact)."""
    uneven = ((0.5, 1.0), (2.0, 1.0), (8.0, 1.0))
    for factor in (1.05, 3.0):
        fit = fitted(Line(0.05, uneven), Readings([reading(factor, 0.05)], [], [], None))
        densities = []
        for tau, _ in uneven:
            variance = 0.05**2 + (0.1 * tau) ** 2 + 0.05**2
            densities.append(math.exp(-0.5 * math.log(factor) ** 2 / variance) / math.sqrt(variance))
        expected = np.array(densities) / sum(densities)
        assert [best.weight for best in fit.bests] == pytest.approx(expected, abs=2e-3)
        shares = [float(np.mean(fit.draws(REST_SAMPLES).unevenness == tau)) for tau, _ in uneven]
        assert shares == pytest.approx(expected, abs=0.02)


def test_every_unknown_has_numbers_of_its_own_with_the_same_quantiles() -> None:
    """Evenly spread quantiles in every column: mean 0, spread 1, hardly any correlation."""
    numbers = np.stack([column("unknowns", i) for i in range(6)] + [column("pipe", i) for i in range(3)])
    assert numbers.mean(axis=1) == pytest.approx(np.zeros(9), abs=1e-12)
    assert numbers.std(axis=1) == pytest.approx(np.ones(9), abs=2e-3)
    assert np.max(np.abs(np.corrcoef(numbers) - np.eye(9))) < 0.06
    assert np.max(np.abs(numbers[:, :512].mean(axis=1))) < 0.15


@dataclass(frozen=True)
class Torn(Line):
    """A resistance that leaps as its unknown passes nothing, so that no floor lies near what was read."""

    def state(self, x: Array, unevenness: Array) -> GroundState:
        return super().state(x + 8.0 * np.where(x > 0.0, 1.0, -1.0), unevenness)


def test_where_no_draw_agrees_with_the_readings_a_longer_one_repeats_them() -> None:
    fit = fitted(Torn(0.8), Readings([reading(1.0, 1e-2)], [], [], None))
    few, many = fit.draws(DRAG_SAMPLES), fit.draws(REST_SAMPLES)
    assert few.missed == many.missed == 1.0
    assert np.array_equal(many.x[-DRAG_SAMPLES:], few.x)
