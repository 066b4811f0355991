"""Visits along the time: what stands on the charts is what was read and what was predicted for that day."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace
from pytestqt.qtbot import QtBot

from tests.gui.hand import Hand
from tests.visited import story
from workbench.design import Design
from workbench.design.record import with_value
from workbench.files.scenes import load_scene
from workbench.gui.kit.theme import LIGHT
from workbench.gui.shell.titles import VISITS
from workbench.gui.visits.page import ALL, ONE, VisitsPage
from workbench.solving import prepare
from workbench.solving.later.over_time import over_time
from workbench.solving.later.ranking import diagnose
from workbench.units import SI, US

STUDIO = load_scene("studio")
STORY = story(STUDIO)
DAYS = [date.fromisoformat(v.date).toordinal() for v in STORY.visits]


def answered(hand: Hand, page: VisitsPage) -> None:
    hand.document.settle()
    hand.settle()
    page.settle()
    hand.qtbot.waitUntil(lambda: not page.time_line.background.busy(), timeout=60_000)
    hand.settle()


def at_time(qtbot: QtBot, design: Design) -> tuple[Hand, VisitsPage]:
    hand = Hand(qtbot, design)
    hand.document.settle()
    hand.window.pages.turn_to(VISITS)
    page: VisitsPage = hand.window.pages.page(VISITS)
    page.turn_to(ALL)
    answered(hand, page)
    return hand, page


def test_marks_are_the_readings_and_the_band_is_the_one_of_the_other_view(qtbot: QtBot) -> None:
    hand, page = at_time(qtbot, STORY)
    prepared = prepare(STORY)
    found = [diagnose(prepared, STORY, visit) for visit in STORY.visits]
    for key, kind in (("gauge", "gauge"), ("hole", "hole")):
        line = page.time_line.lines[key]
        read = [[e for e in each.readings if e.item.kind == kind] for each in found]
        lowest = [min(each, key=lambda e: e.read) for each in read]
        x, y = line.marks.getData()
        assert list(x) == DAYS
        assert list(y) == [each.read for each in lowest]
        assert [spot["symbol"] for spot in line.marks.data] == ["o", "o", "t1"]
        assert [e.inside for e in lowest] == [True, True, False]
        assert line.expected.getData()[1] == pytest.approx([each.expected for each in lowest])
        band = line.band.getData()[1]
        edges = [each.band[0] for each in lowest] + [each.band[1] for each in lowest][::-1]
        assert band == pytest.approx(edges)
    radon = page.time_line.lines["radon"]
    assert list(radon.marks.getData()[1]) == [70.0, 82.0, 310.0]
    assert radon.bars[2].getData()[1] == pytest.approx([310.0 * 0.85, 310.0 * 1.15])
    assert radon.band.getData()[1] is None or len(radon.band.getData()[1]) == 0
    assert hand.design == STORY


def test_figures_are_written_in_the_units_and_with_the_sign_of_the_reader(qtbot: QtBot) -> None:
    hand, page = at_time(qtbot, STORY)
    for system, words in (
        (SI, ["118 Pa", "114 Pa", "60 Pa"]),
        (replace(SI, minus_is_suction=True), ["−118 Pa", "−114 Pa", "−60 Pa"]),
        (US, ["0.474 in. w.c.", "0.458 in. w.c.", "0.241 in. w.c."]),
    ):
        hand.window.set_system(system)
        hand.settle()
        line = page.time_line.lines["gauge"]
        assert [text.textItem.toPlainText() for text in line.texts] == words
        assert line.chart.accessibleDescription() == ", ".join(
            f"{visit.date} {word}" for visit, word in zip(STORY.visits, words, strict=True)
        )
    hand.window.set_system(US)
    assert page.time_line.lines["radon"].texts[2].textItem.toPlainText() == "8.4 pCi/L"


def test_a_later_edit_greys_what_is_shown_and_the_newest_answer_stays(qtbot: QtBot) -> None:
    hand, page = at_time(qtbot, STORY)
    for gauge in (110.0, 117.0):
        hand.document.propose(lambda d, g=gauge: with_value(d, ("visits", 2, "gauge", "pressure"), g), "Change")
        hand.document.settle()
        hand.settle()
    assert page.time_line.stale
    assert not page.time_line.save_button.isEnabled()
    answered(hand, page)
    assert not page.time_line.stale
    assert page.time_line.lines["gauge"].marks.getData()[1][2] == 117.0
    assert [spot["symbol"] for spot in page.time_line.lines["gauge"].marks.data] == ["o", "o", "o"]
    # out of sight nothing is worked out
    page.turn_to(ONE)
    hand.document.propose(lambda d: with_value(d, ("visits", 2, "gauge", "pressure"), 60.0), "Change")
    hand.document.settle()
    hand.settle()
    assert not page.time_line.background.busy()
    page.turn_to(ALL)
    answered(hand, page)
    assert page.time_line.lines["gauge"].marks.getData()[1][2] == 60.0


def test_without_visits_and_with_one_it_says_so_and_stands(qtbot: QtBot) -> None:
    hand, page = at_time(qtbot, STUDIO)
    assert page.time_line.said.text().startswith("No visit yet.")
    assert not page.time_line.lines["gauge"].chart.isVisible()
    hand.document.propose(lambda d: with_value(d, ("visits",), STORY.visits[:1]), "Add")
    answered(hand, page)
    line = page.time_line.lines["gauge"]
    assert line.chart.isVisible()
    low, high = line.chart.sheet.viewRange()[0]
    assert low < DAYS[0] < high
    assert np.ptp(line.band.getData()[0]) > 0.0


def test_a_mark_leads_to_its_visit(qtbot: QtBot) -> None:
    hand, page = at_time(qtbot, STORY)
    line = page.time_line.lines["gauge"]
    line.marks.sigClicked.emit(line.marks, [line.marks.points()[1]], None)
    hand.settle()
    assert page.tabs.tabText(page.tabs.currentIndex()) == ONE
    assert page.visits.at() == 1


def test_the_picture_stands_by_itself_and_a_file_that_cannot_be_written_is_told(qtbot: QtBot, tmp_path: Path) -> None:
    hand, page = at_time(qtbot, STORY)
    line = page.time_line
    for ending in ("svg", "png", "pdf"):
        path = tmp_path / f"visits.{ending}"
        line.save(path)
        assert path.stat().st_size > 2000
    drawn = (tmp_path / "visits.svg").read_text(encoding="utf-8")
    assert "Invented demonstration" in " ".join(line.captions())
    assert LIGHT.good.lower() in drawn.lower()
    line.save(tmp_path / "nowhere" / "visits.svg")
    assert "isits.svg was not saved" in hand.bar.text
    line.save(tmp_path / "visits.doc")
    assert ".svg, .pdf or .png" in hand.bar.text


def test_it_ends_early_once_it_is_called_off() -> None:
    asked: list[int] = []

    def stopped() -> bool:
        asked.append(1)
        return len(asked) > 1

    found = over_time(prepare(STORY), STORY, stopped)
    assert [then.visit for then in found] == list(STORY.visits[:1])
