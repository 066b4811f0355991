"""Dial-back at the house: the gauge is typed as it is turned, and the rail goes to the speed that it means."""

from __future__ import annotations

import pytest
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLineEdit

from tests.gui.hand import Hand
from workbench.design.edit import choose_fan
from workbench.files.scenes import load_scene
from workbench.units import SI


def editor(hand: Hand) -> QLineEdit:
    found = hand.window.rail._dial.field.control()
    assert isinstance(found, QLineEdit)
    return found


def turned(hand: Hand, text: str) -> None:
    field = editor(hand)
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, text)
    QTest.keyClick(field, Qt.Key.Key_Return)
    hand.settle()


def test_typing_the_gauge_moves_the_rail_and_is_one_step_to_undo(hand: Hand) -> None:
    hand.document.settle()
    hand.settle()
    assert editor(hand).text() == "118"
    for read in ("150", "130", "120"):
        turned(hand, read)
        outcome = hand.document.prepared.at(hand.design.speed)
        assert outcome.gauge == pytest.approx(float(read), rel=0.004)
        assert hand.window.rail.speed() == hand.design.speed
        # what was typed stays as it was typed, though the speed is rounded
        assert editor(hand).text() == read
        hand.document.settle()
        hand.settle()
        assert editor(hand).text() == read
        assert hand.window.rail._dial.means.text().startswith("Means ")
    assert hand.document.undo_words == "Change speed"
    assert hand.undo_all() == 3
    assert hand.design.speed == 0.72
    assert editor(hand).text() == "118"


def test_the_gauge_follows_the_speed_wherever_it_is_moved(hand: Hand) -> None:
    hand.document.settle()
    hand.settle()
    hand.drag(0.5)
    assert float(editor(hand).text()) == pytest.approx(hand.document.outcome.gauge, rel=0.005)
    hand.window.set_system(replace(SI, minus_is_suction=True))
    hand.settle()
    assert editor(hand).text().startswith("−")
    turned(hand, "-118")
    assert hand.design.speed == pytest.approx(0.72, abs=0.002)


def test_the_lowest_reading_that_still_meets_the_target_is_marked_beside_its_speed(hand: Hand) -> None:
    hand.document.settle()
    hand.settle()
    track = hand.window.rail.track()
    lowest = next(mark for mark in track.marks() if mark.kind == "lowest")  # type: ignore[attr-defined]
    assert lowest.long.startswith("Meets target from 70.5 %: gauge 113 Pa")
    turned(hand, "112")
    assert hand.document.prepared.rested(hand.design.speed).verdict == "unsure"
    turned(hand, "114")
    assert hand.document.prepared.rested(hand.design.speed).verdict == "holds"


def test_a_reading_that_the_fan_does_not_give_is_refused_in_its_field(hand: Hand) -> None:
    hand.document.settle()
    hand.settle()
    turned(hand, "400")
    assert hand.design.speed == 0.72
    assert "Must be between" in hand.window.rail._dial.field.fault()
    assert editor(hand).text() == "400"
    turned(hand, "0.5 gallons")
    assert hand.design.speed == 0.72
    assert hand.window.rail._dial.field.fault()


def test_a_fan_that_cannot_be_slowed_is_not_set_by_its_gauge(hand: Hand) -> None:
    design = load_scene("clubhouses")
    hand.document.open(design, None)
    hand.document.settle()
    hand.settle()
    assert design.chosen_fan is not None
    assert (design.chosen_fan.control == "none") == (not editor(hand).isEnabled())
    hand.document.propose(lambda d: choose_fan(d, None), "Choose no fan")
    hand.document.settle()
    hand.settle()
    assert not editor(hand).isEnabled()
    assert editor(hand).text() == ""
