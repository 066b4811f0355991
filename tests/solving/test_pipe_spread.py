"""Every fitting is off by its own band: against drawings of lognormal factors that know nothing of the code.

A band is the middle 90 % of a lognormal factor: 1.645 standard deviations either way (any table of the normal
distribution). Single fittings in glued PVC were measured from 53 % below to 109 % above the tables (Brodhead and Saum,
AARST 1996).
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.jobs import floor_job, ground_only, record
from workbench.design import Design, Fitting, Pipe, Run
from workbench.design.catalogue import fitting_kinds, junction_kinds
from workbench.design.design import Uncertainty
from workbench.design.record import with_value
from workbench.solving import prepare
from workbench.solving.site.assemble import assemble, site_of
from workbench.solving.site.draws import DRAG_SAMPLES
from workbench.solving.site.pipe_spread import PipeSpread, pipe_spread

MEASURED = (0.47, 2.09)
NARROW = Pipe(name="narrow", inside_diameter=0.05)
SURE_PIPE = Uncertainty(friction_low=1.0)


def fitted(*fittings: Fitting, **fields: object) -> Design:
    """Next to no ground, one run of nothing but fittings, and no step in the bore after it."""
    fan = record([0.0, 0.05], [400.0, 0.0])
    run = Run(name="In", pipe=NARROW, length=1e-3, fittings=fittings)
    design = ground_only(fan, 1.0, uncertainty=SURE_PIPE, **fields)
    design = with_value(design, ("discharge",), (run.model_copy(update={"name": "Out", "fittings": ()}),))
    return with_value(design, ("intake", "runs"), (run,))


def spread_of(design: Design) -> PipeSpread:
    return pipe_spread(assemble(site_of(design)), design.uncertainty)


def deviation(band: tuple[float, float]) -> float:
    return math.log(band[1] / band[0]) / (2.0 * 1.645)


def test_one_fitting_has_its_own_band() -> None:
    elbow = fitting_kinds()["90 elbow, long-turn"].band
    spread = spread_of(fitted(Fitting(kind="90 elbow, long-turn")))
    assert spread.fittings.deviation[0] == pytest.approx(deviation(elbow), rel=1e-12)
    z = np.zeros((2, len(spread.names)))
    z[:, 1] = [-1.645, 1.645]
    assert np.asarray(spread.scatter(z).fittings)[:, 0] == pytest.approx(elbow, rel=1e-12)
    # all of the velocity pressure is lost in the open, whoever measures
    assert spread_of(fitted(Fitting(kind="discharge, open"))).fittings.deviation[0] == 0.0


def test_what_has_no_band_of_its_own_has_the_measured_one() -> None:
    assert spread_of(fitted(Fitting(kind="entered K", k=2.0))).fittings.deviation[0] == pytest.approx(
        deviation(MEASURED)
    )
    spread = spread_of(floor_job(2))
    assert spread.junctions.deviation == pytest.approx([deviation(MEASURED)])
    assert all(kind.band == MEASURED for kind in junction_kinds().values())


def test_several_fittings_are_off_by_less_than_each() -> None:
    """Sums of drawn factors: the standard deviation of their logarithm, and where the middle lies."""
    rows = (
        Fitting(kind="90 elbow, long-turn", count=2),
        Fitting(kind="entered K", k=0.5),
        Fitting(kind="entrance, flush"),
    )
    spread = spread_of(fitted(*rows))
    rng = np.random.default_rng(8)
    whole = np.zeros(200_000)
    assembled = assemble(site_of(fitted(*rows))).fittings[0]
    bands = (fitting_kinds()["90 elbow, long-turn"].band, MEASURED, fitting_kinds()["entrance, flush"].band)
    for part, (low, high) in zip(assembled, bands, strict=True):
        middle = 0.5 * math.log(low * high)
        whole += part.k * np.exp(middle + deviation((low, high)) * rng.standard_normal(whole.size))
    logs = np.log(whole / sum(part.k for part in assembled))
    assert spread.fittings.deviation[0] == pytest.approx(logs.std(), rel=0.05)
    assert spread.fittings.middle[0] == pytest.approx(np.median(logs), abs=0.03)
    assert spread.fittings.deviation[0] < deviation(MEASURED)


def test_a_band_of_the_users_is_that_of_every_fitting_and_junction() -> None:
    own = Uncertainty(fittings_low=0.9, fittings_high=1.3)
    spread = spread_of(with_value(floor_job(2), ("uncertainty",), own))
    assert spread.junctions.deviation == pytest.approx([deviation((0.9, 1.3))])
    alone = spread_of(with_value(fitted(Fitting(kind="90 elbow, long-turn")), ("uncertainty",), own))
    assert alone.fittings.deviation[0] == pytest.approx(deviation((0.9, 1.3)))
    assert alone.fittings.middle[0] == pytest.approx(0.5 * math.log(0.9 * 1.3))


def test_the_system_curve_is_off_as_its_one_fitting_is() -> None:
    prepared = prepare(fitted(Fitting(kind="90 elbow, long-turn", count=3)))
    low, high = fitting_kinds()["90 elbow, long-turn"].band
    last = -1
    loss = float(prepared.assembly.network.parts(prepared.system.shares[last]).fittings.sum())
    # next to no ground, and what there is is off on its own account
    assert loss > 0.99 * prepared.system.pressure[last]
    assert prepared.system.high[last] - prepared.system.pressure[last] == pytest.approx((high - 1.0) * loss, rel=2e-3)
    assert prepared.system.pressure[last] - prepared.system.low[last] == pytest.approx((1.0 - low) * loss, rel=2e-3)


def test_runs_are_off_independently_so_that_two_are_off_by_less_than_one_of_both() -> None:
    """Two runs of the same loss in series: off by 1 / sqrt 2 of what one with all the loss is."""
    elbows = Fitting(kind="90 elbow, long-turn", count=2)
    both = with_value(fitted(elbows), ("discharge",), (Run(name="Out", pipe=NARROW, length=1e-3, fittings=(elbows,)),))
    one = fitted(elbows.model_copy(update={"count": 4}))
    off = [prepare(design).system for design in (both, one)]
    apart = [float(system.high[-1] - system.pressure[-1]) for system in off]
    assert off[0].pressure[-1] == pytest.approx(float(off[1].pressure[-1]), rel=0.02)
    assert apart[0] == pytest.approx(apart[1] / math.sqrt(2.0), rel=0.03)


def test_samples_vary_each_run_and_junction_by_itself() -> None:
    design = with_value(
        floor_job(2), ("intake", "runs", 0, "fittings"), (Fitting(kind="90 elbow, long-turn", count=3),)
    )
    prepared = prepare(design)
    scatter = prepared.sampled(4000).state.scatter
    junction = np.log(np.asarray(scatter.junctions))[:, 0]
    assert junction.std() == pytest.approx(deviation(MEASURED), rel=0.05)
    fittings = np.log(np.asarray(scatter.fittings))
    varied = np.flatnonzero(fittings.std(axis=0) > 0.0)
    assert varied.size >= 1
    for run in varied:
        assert abs(np.corrcoef(fittings[:, run], junction)[0, 1]) < 0.06


def test_a_junction_that_may_be_off_widens_the_band_of_the_holes() -> None:
    """With all else certain; a junction of the user's own, so costly that it throttles both points."""
    design = with_value(floor_job(2), ("intake", "source", "side_k"), 30.0)
    design = with_value(design, ("intake", "source", "straight_k"), 30.0)
    prepared = prepare(design)
    state = prepared.sampled(DRAG_SAMPLES).state
    flows = np.broadcast_to([0.02, 0.01], (DRAG_SAMPLES, 2))
    parts = state.network.parts(flows, state.scatter)
    assert np.log(parts.side[:, 0]).std() == pytest.approx(deviation(MEASURED), rel=0.15)
    assert np.array_equal(np.log(parts.side[:, 0]), np.log(parts.straight[:, 0]))


def test_straight_pipe_is_off_alike_everywhere() -> None:
    prepared = prepare(with_value(floor_job(2), ("uncertainty",), Uncertainty(friction_low=0.8, friction_high=1.2)))
    friction = np.asarray(prepared.sampled(4000).state.scatter.friction)
    assert friction.shape == (4000, 1)
    assert friction.mean() == pytest.approx(1.0, abs=1e-3)
    # 0.8 to 1.2 holds nine in ten
    assert np.mean(np.abs(friction - 1.0) <= 0.2) == pytest.approx(0.9, abs=0.02)


def test_a_step_in_the_bore_is_off_as_such_steps_are() -> None:
    wide = Pipe(name="wide", inside_diameter=0.1)
    for before, after, kind in (
        (NARROW, wide, "increaser, by diameter ratio"),
        (wide, NARROW, "reducer, by diameter ratio"),
    ):
        design = with_value(fitted(), ("intake", "runs", 0, "pipe"), before)
        spread = spread_of(with_value(design, ("discharge", 0, "pipe"), after))
        assert spread.fittings.deviation[1] == pytest.approx(deviation(fitting_kinds()[kind].band), rel=1e-12)


def test_the_system_curve_is_off_by_its_junction_too() -> None:
    """At a given flow the fan feels a leg's loss with the share of the air in that leg; squares of what is off add."""
    design = with_value(floor_job(2), ("intake", "source", "side_k"), 12.0)
    design = with_value(design, ("intake", "source", "straight_k"), 6.0)
    free, held = (
        prepare(with_value(design, ("uncertainty",), uncertainty))
        for uncertainty in (Uncertainty(), Uncertainty(fittings_low=1.0, fittings_high=1.0))
    )
    shares = free.system.shares[-1]
    parts = free.assembly.network.parts(shares)
    legs = free.assembly.network.junctions[0]
    weight = shares / shares.sum()
    loss = float(parts.straight[0] * (weight @ legs.straight) + parts.side[0] * (weight @ legs.side))
    assert float(np.abs(parts.fittings).sum()) == 0.0
    for edge, factor in (("high", MEASURED[1]), ("low", MEASURED[0])):
        systems = (free.system, held.system)
        off, without = (float(getattr(system, edge)[-1] - system.pressure[-1]) for system in systems)
        assert off**2 - without**2 == pytest.approx(((factor - 1.0) * loss) ** 2, rel=1e-6)
