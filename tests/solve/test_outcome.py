"""What an outcome says of itself: a verdict, in the careful direction."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.floors import job, three, unplaced
from workbench.design.slab import Target
from workbench.solve import prepare
from workbench.solve.outcome import Holding


@pytest.fixture(scope="module")
def holding() -> Holding:
    found = prepare(job(unplaced(three()), target=Target(suction=5.0))).holding(1.0)
    assert found is not None
    assert found.verdict == "holds"
    return found


def test_a_best_estimate_that_falls_short_never_holds(holding: Holding) -> None:
    """Else a house is called safe whose own number on the same line misses the target."""
    short = replace(holding, margin=-0.1)
    assert short.chance is not None
    assert short.chance >= short.wanted_chance
    assert short.verdict == "unsure"


def test_a_likely_pass_never_fails_and_a_likely_miss_never_holds(holding: Holding) -> None:
    unlikely = 1.0 - holding.wanted_chance
    assert replace(holding, chance=0.5 * unlikely).verdict == "unsure"
    assert replace(holding, chance=0.5 * unlikely, margin=-0.1).verdict == "fails"
    assert replace(holding, chance=0.5).verdict == "unsure"
    assert replace(holding, chance=None).verdict == "unsure"
