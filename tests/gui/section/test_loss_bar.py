"""The bar of losses under the section, at a person's hand."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from tests.gui.hand import Hand
from tests.gui.screen.claims import painted, strokes
from tests.gui.section_designs import any_tree
from workbench.design.edit import choose_fan
from workbench.design.section_layout import FAN
from workbench.files.scenes import load_scene
from workbench.gui.section.losses import lines_of, pieces_of
from workbench.solving import prepare
from workbench.units import SI, US


@pytest.mark.parametrize("seed", range(12))
def test_percents_make_a_hundred_and_pressures_the_fans_on_any_tree(seed: int) -> None:
    design = any_tree(seed)
    prepared = prepare(design)
    for speed in (1.0, 0.6):
        outcome = prepared.at(speed, holes=False)
        if outcome.operating is None:
            continue
        pieces = pieces_of(design, outcome)
        assert sum(piece.percent for piece in pieces) == 100
        assert math.fsum(piece.pressure for piece in pieces) == pytest.approx(outcome.operating.fan_pressure, rel=1e-9)
        assert {piece.address for piece in pieces} >= {address for address, _ in design.runs()}
        for system in (SI, US):
            total, lines = lines_of(pieces, system)
            read = [float(line.rpartition(": ")[2].split(" ")[0].replace("−", "-")) for line in lines]
            assert sum(read) == pytest.approx(float(total.split(" ")[0]), abs=1e-9)


def test_a_piece_that_is_pressed_is_the_part_that_is_picked(hand: Hand) -> None:
    site = hand.window.site_page.site
    riser = ("intake", "runs", 1)
    at = site.losses.box_of(riser).center().toPoint()
    QTest.mouseClick(site.losses, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, at)
    hand.settle()
    assert site.section.picked_part() == riser
    assert site.parts.value() == riser
    # and the part that is picked is marked in the bar
    outlined = [stroke for stroke in strokes(site.losses, "drawRect") if stroke.width == 2.0]
    assert [stroke.box for stroke in outlined] == [site.losses.box_of(riser)]
    site.choose(FAN)
    assert not [stroke for stroke in strokes(site.losses, "drawRect") if stroke.width == 2.0]


def test_the_bar_follows_the_speed_while_it_is_dragged(hand: Hand) -> None:
    bar = hand.window.site_page.site.losses
    soil = ("intake", "source")
    before, told = bar.box_of(soil).width(), painted(bar)[0]
    hand.drag(0.4)
    assert painted(bar)[0] != told
    # at less flow the soil, which is nearly viscous, takes the greater share
    assert bar.box_of(soil).width() > before + 5.0


def test_the_bar_gives_way_before_the_power_chart_and_the_card(hand: Hand) -> None:
    page = hand.window.site_page
    assert page.site.losses.isVisible()
    hand.window.resize(1280, 700)
    hand.settle()
    assert not page.site.losses.isVisible()
    assert page.site.card.isVisible()
    hand.window.resize(1280, 800)
    hand.settle()
    assert page.site.losses.isVisible()


def test_without_an_operating_point_it_says_so(qtbot: QtBot) -> None:
    design = load_scene("studio")
    hand = Hand(qtbot, design)
    hand.document.propose(lambda d: choose_fan(d, None), "No fan")
    hand.settle()
    assert painted(hand.window.site_page.site.losses) == ["Losses: no operating point"]


@pytest.mark.parametrize("width", [420, 700])
def test_every_part_of_the_bar_has_its_name(qtbot: QtBot, width: int) -> None:
    """Pieces too narrow for theirs have it beneath, each clear of the others and picked as the piece is."""
    hand = Hand(qtbot, load_scene("reading-room"))
    site = hand.window.site_page.site
    bar = site.losses
    bar.resize(width, bar.sizeHint().height())
    parts = [piece.address for piece in bar.pieces() if piece.address is not None]
    texts = strokes(bar, "drawText")[1:]
    assert len(texts) == len(parts)
    beneath = [bar.words_of(part) for part in parts if bar.words_of(part) != bar.box_of(part)]
    assert beneath
    assert bar.sizeHint().height() >= max(box.bottom() for box in beneath)
    for one, other in pairwise(beneath):
        assert one.right() < other.left()
    assert all(box.left() >= 0.0 and box.right() <= width for box in beneath)
    for piece in bar.pieces():
        if piece.address is not None:
            (text,) = [each.text for each in texts if bar.words_of(piece.address).contains(each.box.center())]
            assert text.split(" ")[-1] == piece.share.removesuffix(" %").split(" ")[-1]
            assert len(text.removesuffix(piece.figure).strip()) > 3, text
            assert bar.piece_at(bar.words_of(piece.address).center()) is piece


def test_a_figure_is_never_cut_however_long_the_name(hand: Hand) -> None:
    bar = hand.window.site_page.site.losses
    for width in (500, 390, 280):
        bar.resize(width, bar.height())
        words = painted(bar)[1:]
        assert words
        assert all(text.split(" ")[-1].isdigit() for text in words), words
        assert bar.piece_at(bar.box_of(("intake", "source")).center()) is not None
    assert bar.piece_at(QPoint(2, 2).toPointF()) is None
