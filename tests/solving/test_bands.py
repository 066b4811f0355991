"""Chance and bands against an independent Monte Carlo, and the draws of a floor against a Markov chain.

The first is written from the sources alone: Darcy and Weisbach with S. W. Churchill's factor (Chemical Engineering 84
(1977) 91), fan laws, stack after the ASHRAE Handbook, and the spreads that the program states of each quantity.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.floors import hole, read, slab, three
from tests.floors import job as floor_job
from tests.jobs import AIR, record
from workbench.design import Design, Fitting, Leg, Pipe, Place, Resistance, Run, SuctionPoint
from workbench.design.catalogue import OWN
from workbench.design.slab import Target, WorstDay
from workbench.physics.arrays import Array
from workbench.solving import prepare
from workbench.solving.site.fit import Fit, residuals_at

SHUT_OFF, FREE = 400.0, 0.1
LINEAR, QUADRATIC, BAND = 5000.0, 4e4, 0.3
BORE, ROUGHNESS, LENGTHS, COEFFICIENTS = 0.0712, 1.5e-6, (6.0, 2.0), (2.4, 1.0)
READ, FLOW, REST, ACCURACY, LEAST = 9.0, 0.02, 0.3, 0.03, 0.2
COLD, DAY, INSIDE, HEIGHT, WIND, EXHAUSTS = 262.0, 280.0, 294.15, 3.0, 4.0, 2.0
TARGET = 2.0
COUNT = 200_000


def job() -> Design:
    """One point of entered resistance, one hole that was read, two level runs, a fan with a straight curve."""
    pipe = Pipe(name="DN 75", inside_diameter=BORE, roughness=ROUGHNESS)
    intake, discharge = (
        Run(name=name, pipe=pipe, length=length, fittings=(Fitting(kind=OWN, k=k),))
        for name, length, k in zip(("In", "Out"), LENGTHS, COEFFICIENTS, strict=True)
    )
    known = Resistance(linear=LINEAR, quadratic=QUADRATIC, band=BAND, tested_volume=0.028)
    fan = record([0.0, FREE], [SHUT_OFF, 0.0], [40.0, 40.0])
    applied = LINEAR * FLOW + QUADRATIC * FLOW**2
    reading = read(READ + REST, flow=FLOW, applied=applied, at_rest=REST, accuracy=ACCURACY, resolution=LEAST)
    return Design(
        intake=Leg(source=SuctionPoint(name="Pit", pit_volume=0.028, ground=known), runs=(intake,)),
        discharge=(discharge,),
        fans=(fan,),
        fan=fan.name,
        holes=(hole("A", reading),),
        target=Target(suction=TARGET),
        place=Place(outdoor_temperature=DAY, indoor_temperature=INSIDE, wind=WIND),
        worst_day=WorstDay(exhausts=EXHAUSTS, outdoor_temperature=COLD, neutral_height=HEIGHT),
    )


def churchill(flow: Array, length: float) -> Array:
    """Friction loss by Darcy and Weisbach. [Pa]"""
    speed = flow / (math.pi / 4.0 * BORE**2)
    reynolds = np.maximum(AIR.density * speed * BORE / AIR.viscosity, 1e-9)
    a = (2.457 * np.log(1.0 / ((7.0 / reynolds) ** 0.9 + 0.27 * ROUGHNESS / BORE))) ** 16
    b = (37530.0 / reynolds) ** 16
    factor = 8.0 * ((8.0 / reynolds) ** 12 + (a + b) ** -1.5) ** (1.0 / 12.0)
    return np.asarray(factor * length / BORE * 0.5 * AIR.density * speed**2)


def stack(cold: float) -> float:
    """3461.6 h (1 / To - 1 / Ti), ASHRAE Handbook, HVAC Applications 2011, ch. 53. [Pa]"""
    return 3461.6 * HEIGHT * (1.0 / cold - 1.0 / INSIDE)


class Drawn:
    """Everything that is uncertain, drawn by the spreads that are stated; one standard deviation each."""

    def __init__(self, seed: int) -> None:
        rng = np.random.default_rng(seed)
        z = iter(rng.standard_normal((12, COUNT)))
        # a band as entered holds two standard deviations
        self.ground = np.exp(0.5 * BAND * next(z))
        # gauge, and the flow that was noted with it: 5 %
        error = math.hypot(ACCURACY, 0.05, LEAST / READ)
        self.response = READ / FLOW * np.exp(error * next(z))
        self.friction = 0.885 + 0.0575 * next(
            z
        )  # 9 to 23 % below the textbook (Brodhead and Saum, AARST 1996), or as it
        self.fittings = np.exp(0.5 * math.log(0.47 * 2.09) + 0.25 * math.log(2.09 / 0.47) * next(z))
        self.fan = 1.0 + 0.025 * next(z)
        exhausts = EXHAUSTS * np.exp(0.1 * next(z))
        part = 1.0 + 0.15 * next(z)
        wind = 0.15 * 0.5 * 1.2 * WIND**2 * np.maximum(next(z), 0.0)
        # measured houses: a quarter of the draw-down, a logit of 1.0, and 0.6 for each place
        mean = math.log(0.25 / 0.75) + next(z)
        at_hole, at_pit = (1.0 / (1.0 + np.exp(-(mean + 0.6 * next(z)))) for _ in range(2))
        down = exhausts + stack(COLD) * part + wind
        beyond = (stack(COLD) - stack(DAY)) * part + wind
        self.loss = at_hole * (exhausts + beyond)
        self.lift = down * (1.0 - at_pit)

    def flow(self, speed: float) -> Array:
        """Flow at which the fan gives what is asked on the worst day, by halving. [m3/s]"""
        turns = speed * self.fan
        low, high = np.zeros(COUNT), FREE * turns
        for _ in range(40):
            q = 0.5 * (low + high)
            given = SHUT_OFF * turns**2 - SHUT_OFF / FREE * turns * q
            dynamic = 0.5 * AIR.density * (q / (math.pi / 4.0 * BORE**2)) ** 2
            asked = self.ground * (LINEAR * q + QUADRATIC * q**2) + self.lift
            asked += self.friction * churchill(q, sum(LENGTHS)) + self.fittings * sum(COEFFICIENTS) * dynamic
            low, high = np.where(given > asked, q, low), np.where(given > asked, high, q)
        return 0.5 * (low + high)

    def remaining(self, speed: float) -> Array:
        """What the hole keeps on the worst day, when nothing but the fan pulls. [Pa]"""
        return np.asarray(self.response * self.flow(speed) + min(REST, 0.0) - self.loss)


@pytest.mark.parametrize("speed", [0.35, 0.42, 0.5, 0.6])
def test_chance_and_band_of_a_job_without_a_plan(speed: float) -> None:
    kept = Drawn(11).remaining(speed)
    holding = prepare(job()).rested(speed).holding
    assert holding is not None
    (state,) = holding.holes
    assert holding.chance == pytest.approx(float(np.mean(kept >= TARGET)), abs=0.015)
    low, high = np.quantile(kept, (0.05, 0.95))
    assert state.worst_band == pytest.approx((low, high), abs=0.03 * float(high - low))


def test_the_lowest_speed_is_where_nine_in_ten_hold() -> None:
    drawn = Drawn(12)
    sure = prepare(job()).lowest.confident
    assert sure is not None
    assert float(np.mean(drawn.remaining(sure) >= TARGET)) == pytest.approx(0.90, abs=0.015)


# --- a drawn floor: what is drawn is what the readings leave open -----------------------------------------------------


def wandered(fit: Fit, x: Array, steps: int, seed: int) -> tuple[Array, float]:
    """Many chains of N. Metropolis from rows x, shape (c, d), at the best unevenness; and how many moves were taken."""
    rng = np.random.default_rng(seed)
    best = fit.best
    root = np.linalg.cholesky(best.inverse)

    def cost(x: Array) -> Array:
        return np.asarray(
            np.sum(residuals_at(fit.model, fit.readings, x, best.unevenness) ** 2, axis=1) + np.sum(x**2, 1)
        )

    now, taken = cost(x), 0.0
    for _ in range(steps):
        trial = x + 1.2 / math.sqrt(x.shape[1]) * rng.standard_normal(x.shape) @ root.T
        after = cost(trial)
        accept = np.log(rng.uniform(size=len(x))) < 0.5 * (now - after)
        x, now = np.where(accept[:, None], trial, x), np.where(accept, after, now)
        taken += float(np.mean(accept)) / steps
    return x, taken


def test_draws_of_a_floor_are_what_a_markov_chain_finds() -> None:
    """What does not follow the posterior wanders off it: quantiles before and after agree within their noise."""
    prepared = prepare(floor_job(three(), floor=slab()))
    fit = prepared.assembly.floor._made.fit
    draws = fit.draws(4096)
    rows = draws.x[draws.unevenness == fit.best.unevenness][:1000]
    assert len(rows) > 500
    after, taken = wandered(fit, rows, 400, 5)
    assert 0.1 < taken < 0.9
    tau = np.full(len(rows), fit.best.unevenness)

    def seen(x: Array) -> Array:
        state = fit.model.state(x, tau)
        return np.concatenate(
            (np.log(state.holes[:, :, 0]), np.log(state.coupling()[:, 0]), state.rest_holes, state.rest_points), axis=1
        )

    before, later = seen(rows), seen(after)
    spread = later.std(axis=0)
    for part in (0.1, 0.5, 0.9):
        off = (np.quantile(before, part, axis=0) - np.quantile(later, part, axis=0)) / spread
        assert np.all(np.abs(off) < 0.3)
    assert before.std(axis=0) / spread == pytest.approx(np.ones(spread.size), rel=0.2)


def test_a_normal_cloud_about_the_best_fit_would_be_told_from_it() -> None:
    """That the check above can fail: such a cloud leaves the readings."""
    prepared = prepare(floor_job(three(), floor=slab()))
    fit = prepared.assembly.floor._made.fit
    rng = np.random.default_rng(3)
    x = fit.best.x + rng.standard_normal((800, fit.best.x.size)) @ np.linalg.cholesky(fit.best.inverse).T
    after, _ = wandered(fit, x, 400, 5)
    tau = np.full(len(x), fit.best.unevenness)
    before, later = (np.log(fit.model.state(rows, tau).holes[:, :, 0]) for rows in (x, after))
    assert np.any(np.abs(before.std(axis=0) / later.std(axis=0) - 1.0) > 0.2)
