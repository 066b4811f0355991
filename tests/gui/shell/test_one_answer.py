"""One number, everywhere: what is told of the holes is the same on every page, while a hand moves and when it rests."""

from __future__ import annotations

import time

import pytest
from pytestqt.qtbot import QtBot

from tests.floors import job, slab, three
from tests.gui.hand import Hand
from workbench.design import Design
from workbench.design.record import with_value
from workbench.design.slab import Position, Target, TestHole
from workbench.files.answer_text import verdict_in_full
from workbench.files.scenes import load_scene
from workbench.gui.floor.holes_rows import VERDICT
from workbench.gui.floor.side import CHANCE, HOLES, SEASON, TARGET
from workbench.gui.kit.theme import SHAPES
from workbench.gui.plan.words import words_at
from workbench.gui.shell import document as document_module
from workbench.gui.shell.document import PATIENCE, Document
from workbench.gui.shell.solved import Solved
from workbench.gui.window import CHOICES, FLOOR, WATER
from workbench.solving import Outcome, Prepared
from workbench.solving.report.floor_map import plan_at
from workbench.solving.report.verdict_words import VERDICT_WORDS as WORDS
from workbench.solving.site.draws import DRAG_SAMPLES, REST_SAMPLES
from workbench.units import SI, format_chance, format_quantity

pytestmark = pytest.mark.qt_log_ignore("^This plugin does not support", extend=True)

SPEEDS = (0.4, 0.62, 0.69, 0.72, 0.9)


def say(value: float) -> str:
    return format_quantity(value, "pressure", SI)


def told_everywhere(hand: Hand) -> None:
    """Hold every place that speaks of the holes against the one answer of the document."""
    outcome = hand.document.outcome
    holding = outcome.holding
    assert holding is not None
    assert holding.weakest is not None
    chance = None if holding.chance is None else format_chance(holding.chance)
    rail = hand.answers()["verdict"]
    weakest = next(hole for hole in holding.holes if hole.name == holding.weakest)
    assert (rail.verdict, rail.value.lower()) == (holding.verdict, verdict_in_full(holding))
    assert rail.detail.startswith(f"{say(weakest.worst)} on the worst day")
    notice = next((n.text(lambda v, d: format_quantity(v, d, SI)) for n in outcome.notices if n.code == "chance"), "")
    assert (notice == "") == (holding.verdict in ("holds", "not measured") or chance is None)
    if notice:
        assert chance is not None
        assert notice.startswith(f"{chance} confidence")
    hand.window.pages.turn_to(FLOOR)
    page = hand.window.pages.page(FLOOR)
    # the map and what it says of its weakest place
    plan = page.view.field.plan
    if plan is not None:
        assert plan.worst_coverage.least <= weakest.worst
        assert say(plan.worst_coverage.least) in page.coverage.text()
        assert verdict_in_full(holding) in page.coverage.text() or holding.verdict == "not measured"
    side = page.side
    side.turn_to(CHANCE)
    panel = side.chance
    assert panel.verdict.text() == f"{SHAPES[holding.verdict]} {WORDS[holding.verdict].capitalize()}"
    assert panel.chance.text() == ("–" if holding.verdict == "not measured" else chance)
    assert say(abs(holding.margin)) in panel.margin.text()
    side.turn_to(SEASON)
    if outcome.rested:
        said = side.season.sentence.text()
        assert f"{SHAPES[holding.verdict]} {verdict_in_full(holding)}." in said
        assert f"At {holding.weakest}, " in said
        assert f"falls to {say(weakest.worst)} on" in said
        assert "meets the target" not in said
    side.turn_to(HOLES)
    for h, hole in enumerate(holding.holes):
        verdict, model = hole.verdict(holding.target), side.holes.model
        told = str(model.index(model.row_of(h), VERDICT).data())
        assert told.partition("\n")[0] == f"{SHAPES[verdict]} {WORDS[verdict]}"
    side.turn_to(TARGET)


@pytest.mark.parametrize("scene", ["studio", "reading-room"])
def test_every_place_tells_the_one_answer_while_moving_and_at_rest(qtbot: QtBot, scene: str) -> None:
    hand = Hand(qtbot, load_scene(scene))
    for speed in SPEEDS:
        hand.document.propose(lambda d, v=speed: with_value(d, ("speed",), v), "Change speed")
        assert hand.document.outcome.samples == DRAG_SAMPLES
        told_everywhere(hand)
        hand.document.settle()
        assert hand.document.outcome.samples == REST_SAMPLES
        told_everywhere(hand)
        rested = hand.document.prepared.rested(speed).holding
        assert rested is not None
        assert hand.document.outcome.holding == rested


def test_the_answer_at_rest_comes_by_itself_and_once(qtbot: QtBot) -> None:
    document = Document(load_scene())
    heard: list[tuple[Prepared, Outcome]] = []
    document.answered.connect(lambda prepared, outcome: heard.append((prepared, outcome)))
    assert not document.outcome.rested
    qtbot.waitUntil(lambda: document.outcome.rested, timeout=20000)
    assert [outcome.samples for _, outcome in heard] == [REST_SAMPLES]
    heard.clear()
    for speed in (0.5, 0.52, 0.54):
        document.propose(lambda d, v=speed: with_value(d, ("speed",), v), "Change speed")
    qtbot.waitUntil(lambda: document.outcome.rested, timeout=20000)
    qtbot.wait(400)
    assert [(outcome.speed, outcome.samples) for _, outcome in heard] == [
        (0.5, DRAG_SAMPLES),
        (0.52, DRAG_SAMPLES),
        (0.54, DRAG_SAMPLES),
        (0.54, REST_SAMPLES),
    ]


def test_an_answer_at_rest_of_a_design_that_is_gone_is_never_shown(
    qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    at_once = document_module.rested

    def slowly(found: Solved) -> Solved:
        time.sleep(0.3)
        return at_once(found)

    monkeypatch.setattr(document_module, "rested", slowly)
    monkeypatch.setattr(Document, "patience", PATIENCE)
    document = Document(load_scene())
    heard: list[tuple[Prepared, Outcome]] = []
    document.answered.connect(lambda prepared, outcome: heard.append((prepared, outcome)))
    qtbot.waitUntil(document.working, timeout=20000)
    document.propose(lambda d: with_value(d, ("target", "suction"), 4.0), "Change target")
    qtbot.waitUntil(lambda: document.outcome.rested and not document.waiting, timeout=20000)
    for prepared, outcome in heard:
        assert prepared.design.target.suction == 4.0
        assert outcome.holding is not None
        assert outcome.holding.target == 4.0


def test_the_mark_of_the_lowest_speed_is_one_at_which_the_rested_answer_holds(hand: Hand) -> None:
    lowest = hand.document.prepared.lowest.confident
    assert lowest is not None
    assert hand.window.rail.track().lowest == lowest  # type: ignore[attr-defined]
    hand.document.propose(lambda d: with_value(d, ("speed",), lowest), "Go there")
    hand.document.settle()
    assert hand.document.outcome.holding is not None
    assert hand.document.outcome.holding.verdict == "holds"
    told_everywhere(hand)


@pytest.mark.parametrize("scene", ["studio", "reading-room"])
def test_no_hole_that_holds_stands_where_the_map_fails(scene: str) -> None:
    design = load_scene(scene)
    for speed in SPEEDS:
        document = Document(with_value(design, ("speed",), speed))
        document.settle()
        plan = plan_at(document.prepared, document.outcome)
        holding = document.outcome.holding
        assert plan is not None
        assert holding is not None
        for hole, known in zip(design.holes, holding.holes, strict=True):
            assert hole.position is not None
            cell = ((plan.field.centres - (hole.position.x, hole.position.y)) ** 2).sum(axis=1).argmin()
            assert plan.worst[cell] == pytest.approx(known.worst, abs=1e-3)
            if known.verdict(holding.target) == "holds":
                assert plan.worst[cell] >= holding.target


# --- not measured -----------------------------------------------------------------------------------------------------


def unread(design: Design) -> Design:
    return with_value(design, ("holes",), tuple(h.model_copy(update={"readings": ()}) for h in design.holes))


def one_unread() -> Design:
    blind = TestHole(name="Blind", position=Position(x=7.0, y=1.0))
    return job((*three(), blind), floor=slab(), target=Target(suction=0.5, source="own figure"))


@pytest.mark.parametrize("design", [unread(load_scene("studio")), one_unread()], ids=["none read", "one not read"])
def test_what_nobody_read_is_called_so_on_every_page(qtbot: QtBot, design: Design) -> None:
    hand = Hand(qtbot, with_value(design, ("speed",), 1.0))
    hand.document.settle()
    holding = hand.document.outcome.holding
    assert holding is not None
    assert holding.verdict == "not measured"
    # the field says that all would hold
    assert holding.margin > 0.0
    told_everywhere(hand)
    assert hand.answers()["verdict"].value == "Not measured"
    assert hand.window.rail.track().lowest is None  # type: ignore[attr-defined]
    page = hand.window.pages.page(FLOOR)
    assert page.coverage.text().startswith("Not measured. Fitted field, by the estimate: ")
    model = page.side.holes.model
    for h, hole in enumerate(design.holes):
        if not hole.readings:
            assert str(model.index(model.row_of(h), VERDICT).data()).startswith("▢ not measured")
    page.side.turn_to(CHANCE)
    assert "▢ Not measured" in page.side.chance.verdict.text()
    assert "None is measured;" in page.side.chance.lowest.text()
    assert not page.side.chance.set_button.isEnabled()
    assert "hole " in page.side.chance.unread.text()
    page.side.turn_to(SEASON)
    assert "▢ not measured" in page.side.season.sentence.text()
    lines = words_at(page.view.sketch, hand.document.outcome, SI, worst=True)
    for h, hole in enumerate(design.holes):
        assert (lines["holes", h].verdict == "not measured") == (not hole.readings)
    hand.window.pages.turn_to(WATER)
    hand.window.pages.turn_to(CHOICES)
