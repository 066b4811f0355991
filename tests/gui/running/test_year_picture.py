"""The bar of a year's cost is painted again when anything that it shows has changed."""

from __future__ import annotations

from PySide6.QtGui import QPaintEvent
from pytestqt.qtbot import QtBot

from workbench.design.record import with_value
from workbench.files.scenes import load_scene
from workbench.gui.kit.theme import LIGHT
from workbench.gui.running.year_picture import CostBar
from workbench.solving import solve


class Counted(CostBar):
    """A bar that counts how often it was painted."""

    painted = 0

    def paintEvent(self, event: QPaintEvent) -> None:
        self.painted += 1
        super().paintEvent(event)


def test_a_wider_band_of_the_same_cost_is_drawn_anew(qtbot: QtBot) -> None:
    bar = Counted()
    qtbot.addWidget(bar)
    bar.apply_theme(LIGHT)
    bar.resize(320, 80)
    with qtbot.waitExposed(bar):
        bar.show()
    entered = with_value(load_scene("studio"), ("house", "share_from_floor"), False)
    narrow, wide = (solve(with_value(entered, ("house", "house_air_most"), most), 0.7).year for most in (0.6, 0.9))
    assert narrow is not None
    assert wide is not None
    assert narrow.cost == wide.cost
    bar.show_year(narrow, narrow.house_air_cost, 0.0)
    qtbot.wait(20)
    before = bar.painted
    bar.show_year(wide, wide.house_air_cost, 0.0)
    qtbot.waitUntil(lambda: bar.painted > before, timeout=1000)
    qtbot.wait(20)
    before = bar.painted
    bar.show_year(wide, wide.house_air_cost, 0.0)
    qtbot.wait(20)
    assert bar.painted == before
