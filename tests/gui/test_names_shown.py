"""Names that look like a place for a value, a format or mark-up are shown on every page as they were typed."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from PySide6.QtCore import QAbstractItemModel, QAbstractListModel
from PySide6.QtGui import Qt
from PySide6.QtWidgets import QAbstractButton, QAbstractItemView, QComboBox, QLabel, QLineEdit, QWidget
from pytestqt.qtbot import QtBot

from tests.gui.hand import Hand
from tests.gui.screen.claims import painted
from tests.odd_names import ODD_NAMES, named, scene
from workbench.design import Design
from workbench.design.edit import rename_point
from workbench.design.record import with_value
from workbench.design.search import Search
from workbench.design.visits import Visit
from workbench.files.scenes import load_scene
from workbench.gui.floor.side import CHANCE, HOLES, SEASON, TARGET
from workbench.gui.kit.question import Question
from workbench.gui.window import CHOICES, FANS, FLOOR, RUNNING, SITE, VISITS, WATER

NAMED = {
    SITE: ("2", "3"),
    f"{FLOOR} {HOLES}": ("2", "4"),
    f"{FLOOR} {CHANCE}": ("4",),
    CHOICES: ("5",),
    RUNNING: ("6",),
    WATER: ("3",),
    FANS: ("5",),
    VISITS: ("2", "4", "6"),
}
"""Kinds of names, as `named` numbers them, that must be read on a page."""


def pages(hand: Hand) -> Iterator[tuple[str, QWidget]]:
    """Every page, and every panel of the floor."""
    for title in hand.window.pages.titles:
        hand.window.pages.turn_to(title)
        hand.settle()
        page = hand.window.pages.page(title)
        for panel in (HOLES, TARGET, SEASON, CHANCE) if title == FLOOR else ("",):
            if panel:
                page.side.turn_to(panel)
                hand.settle()
            yield f"{title} {panel}".strip(), page


def _in_table(model: QAbstractItemModel, role: int) -> Iterator[str]:
    for r in range(model.rowCount()):
        for c in range(1 if isinstance(model, QAbstractListModel) else model.columnCount()):
            yield str(model.index(r, c).data(role) or "")


def texts(page: QWidget) -> list[str]:
    """All that is read on a page: labels, buttons, fields, tables, and what is painted by hand."""
    found = painted(page)
    for widget in page.findChildren(QWidget):
        if isinstance(widget, QLabel | QAbstractButton | QLineEdit):
            found.append(widget.text())
        elif isinstance(widget, QComboBox):
            found += [widget.itemText(i) for i in range(widget.count())]
        elif isinstance(widget, QAbstractItemView) and widget.model() is not None:
            found += _in_table(widget.model(), Qt.ItemDataRole.DisplayRole)
    return found


def marked_up(window: QWidget, name: str) -> list[str]:
    """Labels and hints that Qt would read a name in as mark-up: it guesses, unless it is told."""
    found = []
    for widget in window.findChildren(QWidget):
        told = [widget.toolTip(), widget.statusTip()]
        if isinstance(widget, QLabel) and widget.textFormat() != Qt.TextFormat.PlainText:
            told.append(widget.text())
        if isinstance(widget, QAbstractItemView) and widget.model() is not None:
            told += _in_table(widget.model(), Qt.ItemDataRole.ToolTipRole)
        found += [
            f"{type(widget).__module__}.{type(widget).__name__}: {text}"
            for text in told
            if name in text and Qt.mightBeRichText(text)
        ]
    return found


def read_at_each(design: Design, word: str) -> Design:
    """A visit that read something at everything that bears a name."""
    point = next(point.name for _, point in design.suction_points())
    read = {
        "date": "2027-01-02",
        "note": f"{word} 10",
        "gauge": {"pressure": 60.0, "run": design.intake.runs[-1].name},
        "risers": [{"point": point, "suction": 50.0}],
        "holes": [{"hole": design.holes[-1].name, "suction": 2.0}],
        "sound": {"place": design.house.listeners[0].name, "level": 24.0},
    }
    return with_value(design, ("visits",), (Visit.model_validate(read),))


@pytest.mark.parametrize("scene_name", ["studio", "reading-room"])
@pytest.mark.parametrize("odd", ODD_NAMES)
def test_every_page_shows_names_as_typed(qtbot: QtBot, odd: str, scene_name: str) -> None:
    design = with_value(named(scene(scene_name), odd), ("search",), Search(pipes=(), pits=(), leak_left=()))
    design = read_at_each(design, odd)
    hand = Hand(qtbot, design)
    assert hand.window.windowTitle().startswith(f"{odd} 1")
    hand.window.notes._toggle.click()
    told = "\n".join(label.text() for label in hand.window.notes.findChildren(QLabel))
    assert f"Not measured: {odd} 40" in told
    unguarded: list[str] = []
    for title, page in pages(hand):
        if title == CHOICES:
            qtbot.waitUntil(lambda page=page: any(f"{odd} 5" in t for t in texts(page)), timeout=60_000)
        read = texts(page)
        for kind in NAMED.get(title, ()):
            assert any(f"{odd} {kind}" in text for text in read), f"{title}: no {odd} {kind}"
        unguarded += [f"{title}: {text}" for text in marked_up(hand.window, odd)]
    assert sorted(set(unguarded)) == [], "\n".join(sorted(set(unguarded)))


@pytest.mark.parametrize("odd", ODD_NAMES)
def test_a_point_renamed_leaves_no_old_answer(qtbot: QtBot, odd: str) -> None:
    """In a window that stands open: rail, notices and curves follow the edit."""
    hand = Hand(qtbot, load_scene("reading-room"))
    (address, _), *_ = hand.design.suction_points()
    assert hand.document.propose(lambda design: rename_point(design, address, odd), "Rename") == []
    hand.document.propose(lambda design: with_value(design, (*address, "pit_volume"), 0.004), "Change pit")
    hand.document.settle()
    hand.settle()
    assert not hand.stale()
    said = [notice.text(lambda value, dimension: f"{value:g} {dimension}") for notice in hand.document.outcome.notices]
    assert any(text.startswith(f"{odd}: a pit of 0.004 volume") for text in said)
    assert odd in hand.window.site_page.site.section.words_for(address)


def test_the_question_for_unsaved_work_shows_the_title_as_typed(qtbot: QtBot, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[Question] = []

    def discard(question: Question) -> int:
        asked.append(question)
        question.buttons["discard"].click()
        return 1

    monkeypatch.setattr(Question, "exec", discard)
    hand = Hand(qtbot)
    hand.document.propose(lambda design: with_value(design, ("title",), "<b>x</b>"), "Change the title")
    assert hand.window.filing.may_let_go()
    labels = asked[0].findChildren(QLabel)
    assert labels[0].text() == "“<b>x</b>” has unsaved changes. Save them?"
    assert {label.textFormat() for label in labels} == {Qt.TextFormat.PlainText}
