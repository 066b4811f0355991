"""The page of visits with visits on it: nothing is cut at any size of window or text, and no name is called twice."""

from __future__ import annotations

import pytest
from msgspec.structs import replace
from pytestqt.qtbot import QtBot

from tests.gui.hand import Hand
from tests.gui.screen.cut import cut_in, lists_cut
from tests.gui.test_every_size import names_in
from tests.gui.test_names_aloud import twice
from tests.visited import story
from workbench.files.scenes import load_scene
from workbench.gui.kit.background import Background
from workbench.gui.shell.titles import VISITS
from workbench.gui.visits.page import ALL, VisitsPage
from workbench.units import SI, US

pytestmark = pytest.mark.qt_log_ignore("^This plugin does not support (raise|grabbing|propagateSizeHints)", extend=True)


def at_rest(hand: Hand) -> None:
    hand.document.settle()
    hand.settle()
    hand.window.pages.page(VISITS).settle()
    while any(each.busy() for each in hand.window.findChildren(Background)):
        hand.settle()
    hand.settle()


def beyond(page: VisitsPage) -> list[str]:
    """Figures on the charts that reach beyond their sheet."""
    found = []
    for line in page.time_line.lines.values():
        # one that is scrolled out of sight was not laid out yet
        line.chart.grab()
        sheet = line.chart.sheet.sceneBoundingRect().adjusted(-2, -6, 2, 2)
        found += [
            f"“{text.textItem.toPlainText()}” on {line.key}"
            for text in line.texts
            if not sheet.contains(text.textItem.sceneBoundingRect().adjusted(5, 5, -5, -5))
        ]
    return found


@pytest.mark.parametrize("text", [100, 200])
def test_nothing_is_cut_with_visits_at_any_size(qtbot: QtBot, text: int) -> None:
    hand = Hand(qtbot, story(load_scene("studio")))
    hand.window.set_text_size(text)  # type: ignore[arg-type]
    hand.window.pages.turn_to(VISITS)
    names, found = names_in(hand.design), []
    # in letters twice as large the rail elides its target beside a minus, on every page
    for system in (SI, US, *([replace(US, minus_is_suction=True)] if text == 100 else [])):
        hand.window.set_system(system)
        for size in ((960, 540), (1280, 800), (1920, 1080)):
            hand.window.resize(*size)
            for at in range(len(hand.design.visits)):
                hand.window.pages.page(VISITS).pick(("visits", at))
                at_rest(hand)
                found += [f"{system.name} {size} {at}: {what}" for what in cut_in(hand.window, names)]
                assert twice(hand) == []
            hand.window.pages.page(VISITS).turn_to(ALL)
            at_rest(hand)
            found += [f"{system.name} {size} over time: {what}" for what in cut_in(hand.window, names)]
            found += [f"{system.name} {size} over time: {what}" for what in beyond(hand.window.pages.page(VISITS))]
    found += lists_cut(hand.window)
    hand.window.set_text_size(100)
    assert not found, "\n".join(sorted(set(found)))
