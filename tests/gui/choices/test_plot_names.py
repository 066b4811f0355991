"""The plot of options names what is notable, where it can be read, and draws the frontier as the stair it is."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from PySide6.QtCore import QRectF
from pytestqt.qtbot import QtBot

from tests.gui.choices.test_choices_page import Desk, design
from workbench.design import Listener
from workbench.design.record import with_value
from workbench.gui.choices.plot import ChoicesPlot, notable


@pytest.fixture
def desk(qtbot: QtBot) -> Desk:
    made = Desk(qtbot, with_value(design(), ("house", "listeners"), (Listener(name="Bed", distance=3.0),)))
    made.search()
    made.settle()
    return made


def places(plot: ChoicesPlot) -> list[QRectF]:
    return [item.mapRectToScene(item.boundingRect()) for _, item in plot._names]


def test_the_cheapest_the_quietest_and_the_present_design_are_named_at_their_marks(desk: Desk) -> None:
    plot, found = desk.page.plot, desk.page._found
    assert found is not None
    named = dict(plot.names())
    assert named.pop("present design") == (plot._today.points()[0].pos().x(), plot._today.points()[0].pos().y())
    kept = [row for row in found.rows if row.keeps]
    told = {word: at for words, at in named.items() for word in words.split(" and ")}
    cheapest = min(kept, key=lambda row: row.life_cycle)
    assert told["cheapest to own"] == (cheapest.first, cheapest.yearly)
    assert told["quietest"] in {(row.first, row.yearly) for row in kept}
    assert {word for word, _ in notable(found)} == set(told)


@pytest.mark.parametrize("size", [(1280, 560), (960, 420)])
def test_no_name_lies_on_another_or_off_the_sheet(desk: Desk, size: tuple[int, int]) -> None:
    desk.page.resize(*size)
    desk.qtbot.wait(50)
    plot = desk.page.plot
    found = places(plot)
    assert len(found) >= 2
    for one, other in combinations(found, 2):
        assert not one.intersects(other)
    sheet = plot.chart.sheet.sceneBoundingRect()
    for place in found:
        assert sheet.adjusted(-1, -1, 1, 1).contains(place)


def test_the_frontier_is_a_stair(desk: Desk) -> None:
    x, y = desk.page.plot._front.getData()
    # every step goes along one axis: between two options there is nothing to buy
    assert np.all((np.diff(x) == 0.0) | (np.diff(y) == 0.0))


def test_axes_say_what_they_measure_and_in_which_money(desk: Desk) -> None:
    currency = desk.design.prices.currency
    titles = [desk.page.plot.chart.axis(side).title() for side in ("bottom", "left")]
    assert titles == [f"Installed cost, {currency}", f"Running cost, {currency}/yr"]


def test_no_mark_is_told_by_filling_alone(desk: Desk) -> None:
    marks = desk.page.plot._marks.points()
    assert len(marks) > 0
    assert {spot.brush().style().name for spot in marks} == {"NoBrush"}
