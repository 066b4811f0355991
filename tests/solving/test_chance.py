"""The chance that every hole holds: how it moves with the speed, and what it hangs on."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tests.floors import hole, job, point, read, slab, three, unplaced
from workbench.design import Place, Resistance
from workbench.design.design import Uncertainty
from workbench.design.slab import Target, WorstDay
from workbench.physics.network import Flows, Network
from workbench.solving import prepare
from workbench.solving.run.needed import chance_at
from workbench.solving.site.chance import cloud, fan_spread
from workbench.solving.site.draws import DRAG_SAMPLES, REST_SAMPLES
from workbench.solving.site.fit import Varied

SPEEDS = np.linspace(0.3, 1.0, 15)
TARGET = Target(suction=5.0)


@pytest.mark.parametrize("floor", [None, slab()], ids=["no plan", "plan"])
def test_more_speed_never_lowers_the_chance(floor: object) -> None:
    prepared = prepare(job(three(), floor=floor, target=TARGET))  # type: ignore[arg-type]
    found = [prepared.holding(float(speed), DRAG_SAMPLES) for speed in SPEEDS]
    chances = [holding.chance for holding in found if holding is not None and holding.chance is not None]
    assert len(chances) == SPEEDS.size
    assert np.all(np.diff(chances) >= 0.0)
    assert 0.0 <= chances[0] < 0.5 < chances[-1] <= 1.0


def test_what_a_hole_keeps_lies_within_its_band() -> None:
    holding = prepare(job(three(), floor=slab())).holding(0.7)
    assert holding is not None
    for state in holding.holes:
        assert state.band[0] <= state.suction <= state.band[1]
        assert state.worst_band[0] <= state.worst <= state.worst_band[1]
        assert state.worst < state.suction


def test_a_drag_says_what_the_hand_at_rest_hears() -> None:
    prepared = prepare(job(unplaced(three()), target=TARGET))
    for speed in (0.5, 0.6, 0.7):
        rough, fine = prepared.holding(speed, DRAG_SAMPLES), prepared.holding(speed, REST_SAMPLES)
        assert rough is not None
        assert fine is not None
        assert rough.chance == pytest.approx(fine.chance, abs=0.06)


def test_the_same_question_has_the_same_answer_whichever_way_the_hand_came() -> None:
    from workbench.solving.run.prepare import Prepared

    design = job(three(), floor=slab(), target=TARGET)
    straight, around = Prepared(design), Prepared(design)
    around.at(0.9)
    around.at(0.3)
    assert straight.at(0.55).holding == around.at(0.55).holding


def test_with_little_uncertain_the_chance_is_a_step() -> None:
    """What is left is the resistance as entered, never surer than two per cent."""
    sure = Uncertainty(friction_low=1.0, friction_high=1.0, fittings_low=1.0, fittings_high=1.0, fan_speed=0.0)
    many = tuple(read(20.0, accuracy=1e-3, resolution=1e-3) for _ in range(24))
    known = Resistance(linear=6000.0, tested_volume=0.028, band=0.0)
    design = job(
        [hole("A", *many)],
        point(ground=known),
        uncertainty=sure,
        target=TARGET,
        worst_day=WorstDay(exhausts=0.0, neutral_height=0.0, uncertainty=0.0),
        place=Place(wind=0.0),
    )
    prepared = prepare(design)
    plain = prepared.lowest.best_estimate
    assert plain is not None
    above, below = prepared.holding(1.1 * plain), prepared.holding(0.9 * plain)
    assert above is not None
    assert below is not None
    assert above.chance == pytest.approx(1.0, abs=1e-3)
    assert below.chance == pytest.approx(0.0, abs=1e-3)
    assert above.verdict == "holds"
    assert below.verdict == "fails"


def test_weights_share_out_the_whole_and_name_the_reading_that_matters() -> None:
    holding = prepare(job(unplaced(three()), target=TARGET)).holding(0.6)
    assert holding is not None
    assert sum(share for _, share in holding.weights) == pytest.approx(1.0)
    assert [share for _, share in holding.weights] == sorted((s for _, s in holding.weights), reverse=True)
    named = dict(holding.weights)
    assert named[Varied("hole", "Far")] > named[Varied("hole", "Near")]


def test_a_pass_within_its_band_is_not_sure() -> None:
    prepared = prepare(job(unplaced(three()), target=TARGET))
    lowest = prepared.lowest
    assert lowest.best_estimate is not None
    assert lowest.confident is not None
    between = prepared.holding(0.5 * (lowest.best_estimate + lowest.confident))
    assert between is not None
    assert between.margin > 0.0
    assert between.verdict == "unsure"
    outcome = prepared.at(0.5 * (lowest.best_estimate + lowest.confident))
    assert "chance" in [notice.code for notice in outcome.notices]


def test_a_fan_is_as_far_off_its_setting_as_its_catalogue_may_be() -> None:
    """A tolerance of 5 % either way (class of the default; AMCA 211 states such) is two standard deviations, by itself.

    Of sites that all need half speed, a fan set 5 % above it then turns fast enough in Phi(1.905) = 0.9716 of cases.
    """
    design = job(unplaced(three()), target=TARGET)
    assert design.uncertainty.fan_speed == 0.05
    prepared = prepare(design)
    assert float(prepared.sampled(REST_SAMPLES).fan.std()) == pytest.approx(0.025, rel=1e-3)
    reached = chance_at(0.525, np.full(REST_SAMPLES, 0.5), fan_spread(design))
    assert float(reached) == pytest.approx(0.9716, abs=2e-4)


def test_a_sample_whose_flows_are_not_found_stands_as_the_worst_of_the_others(monkeypatch: pytest.MonkeyPatch) -> None:
    """Else what the program could not work out would speak for the design."""
    prepared = prepare(job(three()))
    fan, flows = prepared.fans[prepared.design.fan or ""], np.array([0.02])
    samples = prepared.sampled(DRAG_SAMPLES)
    whole = cloud(samples, fan, 0.7, flows)
    assert whole is not None

    def some_lost(self: Network, *given: Any) -> Flows:
        found, settled = meet_each(self, *given)
        lost = np.arange(len(settled)) % 7 == 0
        return Flows(np.where(lost[:, None], np.nan, found), settled & ~lost)

    meet_each = Network.meet_each
    monkeypatch.setattr(Network, "meet_each", some_lost)
    seen = cloud(samples, fan, 0.7, flows)
    assert seen is not None
    lost = np.arange(DRAG_SAMPLES) % 7 == 0
    for told, all_found in ((seen.day, whole.day), (seen.worst, whole.worst)):
        assert np.array_equal(told[~lost], all_found[~lost])
        assert np.all(told[lost] == all_found[~lost].min(axis=0))
    assert np.isfinite(seen.flows).all()
