"""What an outcome says of itself: a verdict, in the careful direction."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from tests.floors import job, three, unplaced
from workbench.design.slab import Target
from workbench.solving import prepare
from workbench.solving.outcome import Holding, HoleState, Unmeasured


@pytest.fixture(scope="module")
def holding() -> Holding:
    found = prepare(job(unplaced(three()), target=Target(suction=5.0))).holding(1.0)
    assert found is not None
    assert found.verdict == "holds"
    return found


def short_of(holding: Holding, lacks: float = 0.1) -> Holding:
    """The same, but that the weakest hole's best estimate lacks so much. [Pa]"""
    holes = tuple(
        replace(hole, worst=holding.target - lacks) if hole.name == holding.weakest else hole for hole in holding.holes
    )
    return replace(holding, holes=holes, margin=-lacks)


def likely(holding: Holding, chance: float | None) -> Holding:
    """The same with another chance; every hole was read, so that it is the chance of those too."""
    return replace(holding, chance=chance, chance_read=chance)


def with_one_unread(holding: Holding) -> Holding:
    """The same with a hole more, that nobody read and that keeps plenty by the estimate."""
    plenty = 10.0 * holding.target
    extra = HoleState("Behind", ("holes", 3), True, False, plenty, (plenty, plenty), plenty, (plenty, plenty))
    return replace(holding, holes=(*holding.holes, extra), unmeasured=(Unmeasured("hole", "Behind"),))


def test_a_best_estimate_that_falls_short_never_holds(holding: Holding) -> None:
    """Else a house is called safe whose own number on the same line misses the target."""
    short = short_of(holding)
    assert short.chance_read is not None
    assert short.chance_read >= short.wanted_chance
    assert short.verdict == "unsure"


def test_a_likely_pass_never_fails_and_a_likely_miss_never_holds(holding: Holding) -> None:
    unlikely = 0.5 * (1.0 - holding.wanted_chance)
    assert likely(holding, unlikely).verdict == "unsure"
    assert likely(short_of(holding), unlikely).verdict == "fails"
    assert likely(holding, 0.5).verdict == "unsure"
    assert likely(holding, None).verdict == "unsure"


def test_a_hole_that_nobody_read_never_lets_a_house_hold_and_never_hides_that_it_fails(holding: Holding) -> None:
    """Both would call a house safe: by an estimate, or by leaving a hole unread."""
    assert with_one_unread(holding).verdict == "not measured"
    failing = likely(short_of(holding), 0.5 * (1.0 - holding.wanted_chance))
    assert with_one_unread(failing).verdict == "fails"
    bare = replace(holding, holes=tuple(replace(hole, measured=False) for hole in holding.holes))
    assert bare.verdict == "not measured"
