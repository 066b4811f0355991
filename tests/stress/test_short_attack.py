"""A few trials of each quick part of the attack, so that it stays able to run."""

from __future__ import annotations

import sys
from importlib import import_module
from pathlib import Path

import pytest

from tests.stress.trial import Trials
from workbench.design.capacity import CAPACITIES

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="nothing bounds time and memory there")


def test_every_limit_is_kept_and_exceeded() -> None:
    limits = import_module("tests.stress.limits")
    assert set(limits.BUILDS) == set(CAPACITIES)
    assert 2 * len(CAPACITIES) == limits.COUNT


@pytest.mark.parametrize(("part", "count"), [("files", 12), ("limits", 6), ("markup", 1), ("window", 40)])
def test_a_short_attack_finds_nothing(part: str, count: int, tmp_path: Path) -> None:
    module = import_module(f"tests.stress.{part}")
    trials = Trials(part, module.UNIT, seed=1, count=count, seconds=50.0, kept=tmp_path, only=None)
    module.run(trials)
    assert trials.tally.tried > 0
    assert {name: each.detail for name, each in trials.tally.failures.items()} == {}
