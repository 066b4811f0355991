"""The attack by kills finds what it is to find: one trial of each kind on the program as it is, and on broken ones."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tests.stress import kill
from tests.stress.trial import Trials

if os.name != "posix":
    pytest.skip("kills as POSIX has them", allow_module_level=True)


def tried(tmp_path: Path, count: int) -> Trials:
    trials = Trials("kill", kill.UNIT, seed=7, count=count, seconds=40.0, kept=tmp_path, only=None)
    kill.run(trials)
    return trials


def test_kills_lose_nothing(tmp_path: Path) -> None:
    trials = tried(tmp_path, 2)
    assert trials.tally.tried >= 1
    assert trials.tally.failures == {}
    assert "lost, worst" in trials.tally.figures


def test_a_loss_a_damaged_file_and_what_lies_about_are_found(tmp_path: Path) -> None:
    """Fed with a journal and a folder as a worse program would leave them."""
    trials = Trials("kill", kill.UNIT, seed=1, count=0, seconds=1.0, kept=tmp_path / "kept", only=None)
    attack = kill.Attack(trials, tmp_path)
    states = [{"what": "state", "print": mark, "time": at} for mark, at in (("a", 10.0), ("b", 11.0), ("c", 15.0))]
    attack._judge_loss(states, 13.9, "a")
    attack._judge_loss(states, 16.0, "c")
    assert attack.lost == pytest.approx([2.9, 0.0])
    assert trials.tally.failures == {}
    attack._judge_loss(states, 14.1, "a")
    attack._judge_loss(states, 14.1, "d")
    attack._judge_file([{"what": "saving", "print": "b"}], "a")
    attack.place.file.write_bytes(b"{")
    attack._judge_file([], "")
    attack.place.home.mkdir()
    (attack.place.home / "unsaved-1-1.lock").touch()
    attack.place.file.with_name(".x.part").touch()
    assert len(kill.strays(attack.place, 2)) == 2
    assert set(trials.tally.failures) == {
        "work older than 3 s is lost",
        "recovered work is none that was ever there",
        "a file holds what was never saved",
        "a file is damaged by a kill",
    }
