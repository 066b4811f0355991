"""The model corrected from the page of visits: one press does it, one takes it back, and a contradiction is refused."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from tests.gui.hand import LEFT, Hand
from tests.visited import visit, visited
from workbench.design import Design
from workbench.design.record import with_value
from workbench.design.visits import Conditions, Visit
from workbench.files.correction_text import moved_lines
from workbench.files.scenes import load_scene
from workbench.gui.shell.titles import VISITS
from workbench.gui.visits.correction import CorrectionPanel
from workbench.solving.later.correct import correction_of

STUDIO = load_scene("studio")


def read(factor: float) -> Visit:
    """A start-up of which gauge and watts are so many times what is expected."""
    there = Conditions(speed=STUDIO.speed, outdoor_temperature=STUDIO.place.outdoor_temperature)
    one = visit(STUDIO, kind="start-up", date="2026-11-30", what=("gauge", "power"), conditions=there)
    assert one.gauge is not None
    return with_value(one, ("gauge", "pressure"), factor * one.gauge.pressure)


@pytest.fixture
def at_visits(qtbot: QtBot) -> Callable[[Design], tuple[Hand, CorrectionPanel]]:
    def opened(design: Design) -> tuple[Hand, CorrectionPanel]:
        hand = Hand(qtbot, design)
        hand.document.settle()
        hand.window.pages.turn_to(VISITS)
        panel: CorrectionPanel = hand.window.pages.page(VISITS).compared.correction
        rested(hand, panel)
        return hand, panel

    return opened


def rested(hand: Hand, panel: CorrectionPanel) -> None:
    hand.document.settle()
    hand.settle()
    hand.qtbot.waitUntil(lambda: not panel.background.busy(), timeout=60_000)
    hand.document.settle()
    hand.settle()
    hand.qtbot.waitUntil(lambda: not panel.background.busy(), timeout=60_000)


def test_one_press_corrects_the_model_and_one_takes_it_back(
    at_visits: Callable[[Design], tuple[Hand, CorrectionPanel]],
) -> None:
    hand, panel = at_visits(visited(STUDIO, read(1.06)))
    before = hand.document.outcome
    assert panel.moved.isHidden()
    QTest.mouseClick(panel.button, LEFT)
    rested(hand, panel)
    assert hand.design.corrected_by is not None
    assert hand.document.undo_words == "Correct the model by the start-up of 2026-11-30"
    assert panel.moved.text().splitlines()[1:] == moved_lines(correction_of(hand.design, hand.design.visits[0]))
    after = hand.document.outcome
    assert before is not None
    assert after is not None
    # nearer to what was read, and surer of it
    read_at = hand.design.visits[0].gauge.pressure  # type: ignore[union-attr]
    assert abs(after.gauge - read_at) < abs(before.gauge - read_at)
    assert before.gauge_band is not None
    assert after.gauge_band is not None
    assert after.gauge_band[1] - after.gauge_band[0] < before.gauge_band[1] - before.gauge_band[0]
    QTest.mouseClick(panel.button, LEFT)
    rested(hand, panel)
    assert hand.design.corrected_by is None
    assert panel.moved.isHidden()
    assert hand.document.outcome is not None
    assert hand.document.outcome.gauge == pytest.approx(before.gauge)


def test_readings_that_contradict_the_design_correct_nothing_and_it_is_said_why(
    at_visits: Callable[[Design], tuple[Hand, CorrectionPanel]],
) -> None:
    hand, panel = at_visits(visited(STUDIO, read(0.2)))
    QTest.mouseClick(panel.button, LEFT)
    rested(hand, panel)
    assert hand.design.corrected_by is None
    assert "contradict" in panel.said.text()
    assert panel.button.isEnabled()


def test_what_reads_nothing_of_a_running_fan_is_not_offered(
    at_visits: Callable[[Design], tuple[Hand, CorrectionPanel]],
) -> None:
    off = Visit(kind="call-out", date="2027-03-02", conditions=Conditions(fan="off"))
    _, panel = at_visits(visited(STUDIO, off))
    assert panel.button.isHidden()
