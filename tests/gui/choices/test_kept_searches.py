"""What a search found is there again when its project is opened again, and says so when the design has moved on."""

from __future__ import annotations

from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from tests.gui.choices.test_choices_page import design
from tests.gui.hand import Hand
from workbench.design.record import with_value
from workbench.files import kept_choices
from workbench.files.kept_choices import keep, kept, key_of
from workbench.files.project import save_project
from workbench.gui.choices.page import ChoicesPage
from workbench.gui.window import CHOICES
from workbench.solving.choices.search import search


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = tmp_path / "job.json"
    save_project(design(), path)
    return path


def page(hand: Hand) -> ChoicesPage:
    hand.window.pages.turn_to(CHOICES)
    hand.settle()
    found: ChoicesPage = hand.window.pages.page(CHOICES)
    return found


def searched(hand: Hand) -> ChoicesPage:
    made = page(hand)
    made.search()
    hand.qtbot.waitUntil(lambda: not made.searching() and bool(made.view.choices.rows), timeout=20000)
    return made


def test_a_search_is_there_again_with_the_project(qtbot: QtBot, job: Path) -> None:
    before = searched(Hand(qtbot, design(), job)).view.choices.rows
    again = page(Hand(qtbot, design(), job))
    assert [repr(row) for row in again.view.choices.rows] == [repr(row) for row in before]
    assert not again.stale()
    assert again.said.text() == ""


def test_a_search_for_an_earlier_design_says_so(qtbot: QtBot, job: Path) -> None:
    searched(Hand(qtbot, design(), job))
    moved_on = with_value(design(), ("intake", "runs", 0, "length"), 9.0)
    again = page(Hand(qtbot, moved_on, job))
    assert again.view.choices.rows
    assert again.stale()
    assert "earlier version of the design" in again.said.text()


def test_another_project_has_no_search_of_this_one(qtbot: QtBot, job: Path, tmp_path: Path) -> None:
    hand = Hand(qtbot, design(), job)
    made = searched(hand)
    other = with_value(design(), ("intake", "runs", 0, "length"), 9.0)
    hand.document.open(other, tmp_path / "other.json")
    assert made.view.choices.rows == ()
    assert made.plot.chart.accessibleDescription() == "Nothing was searched yet."
    hand.document.open(design(), job)
    assert made.view.choices.rows


def test_a_project_saved_under_another_name_takes_its_search_along(qtbot: QtBot, job: Path, tmp_path: Path) -> None:
    hand = Hand(qtbot, design(), job)
    searched(hand)
    hand.document.saved_as(tmp_path / "copy.json")
    assert page(Hand(qtbot, design(), tmp_path / "copy.json")).view.choices.rows


def test_what_is_kept_is_what_was_found(tmp_path: Path) -> None:
    found = search(design())
    keep(found, tmp_path, "a")
    back = kept(tmp_path, "a")
    assert repr(back) == repr(found)


@pytest.mark.parametrize("damage", [b"", b"not a search", b"\x81\xa1a\x01"])
def test_what_cannot_be_read_is_as_if_nothing_was_kept(tmp_path: Path, damage: bytes) -> None:
    keep(search(design()), tmp_path, "a")
    (tmp_path / "a.choices").write_bytes(damage)
    assert kept(tmp_path, "a") is None
    assert kept(tmp_path, "b") is None


def test_only_so_many_are_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept_choices, "_MOST", 2)
    found = search(design())
    for name in "abcd":
        keep(found, tmp_path, name)
    assert len(list(tmp_path.iterdir())) == 2
    assert kept(tmp_path, "d") is not None


def test_a_key_is_that_of_the_file_or_of_the_design(tmp_path: Path) -> None:
    one, other = design(), with_value(design(), ("title",), "Other")
    assert key_of(tmp_path / "a.json", one) == key_of(tmp_path / "a.json", other)
    assert key_of(None, one) != key_of(None, other)
