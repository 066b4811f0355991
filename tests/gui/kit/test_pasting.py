"""Blocks pasted into the window's own tables: straight in where they say everything, after a look where they do not."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel, QWidget
from pytestqt.qtbot import QtBot

from tests.gui.hand import Hand
from tests.gui.section_designs import one_point
from tests.odd_names import ODD_NAMES
from workbench.design.record import value_at
from workbench.files.block import Guess, Told, read_block
from workbench.files.fan_table import USUAL_UNITS, quantities
from workbench.gui.fans.points_panel import PointsPanel
from workbench.gui.floor.holes_draft import KEYS
from workbench.gui.floor.holes_panel import HolesPanel
from workbench.gui.kit.pasted import PastePreview, sentences_of
from workbench.gui.section.ground_form import StepTable
from workbench.units import CFM, INCH_WATER

pytestmark = pytest.mark.qt_log_ignore("^This plugin does not support", extend=True)

CONTROL = Qt.KeyboardModifier.ControlModifier
FAN = quantities({kind: units[0] for kind, units in USUAL_UNITS.items()})


def paste(widget: QWidget, text: str) -> PastePreview | None:
    """Paste by the keyboard; gives the preview that then stands there, if one does."""
    QGuiApplication.clipboard().setText(text)
    widget.setFocus()
    QTest.keyClick(widget, Qt.Key.Key_V, CONTROL)
    QApplication.processEvents()
    shown = QApplication.activeModalWidget()
    assert shown is None or isinstance(shown, PastePreview)
    return shown


def press(button: Any) -> None:
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)
    QApplication.processEvents()


def choose(edit: Any, words: str) -> None:
    """Choose among a field's words by the keyboard."""
    box = edit.control()
    box.setFocus()
    box.setCurrentIndex(box.findText(words))
    box.activated.emit(box.currentIndex())


def cells(preview: PastePreview) -> list[list[str]]:
    table = preview.table
    return [[table.item(r, c).text() for c in range(table.columnCount())] for r in range(table.rowCount())]


class Sheets:
    """The window on a scene, and its three tables."""

    def __init__(self, qtbot: QtBot) -> None:
        self.hand = Hand(qtbot, one_point())
        self.window = self.hand.window

    def undone(self, before: Any) -> bool:
        """Whether one undo brings the design back, and it had changed."""
        changed = self.hand.design != before
        self.hand.document.undo()
        return changed and self.hand.design == before

    def holes(self) -> HolesPanel:
        self.window.pages.turn_to("Pressure field")
        self.hand.settle()
        panel = next(p for p in self.window.findChildren(HolesPanel) if p.isVisible())
        panel.table.go_to(0, KEYS.index("name"))
        return panel

    def points(self) -> PointsPanel:
        self.window.pages.turn_to("Fans")
        self.hand.settle()
        panel = next(p for p in self.window.findChildren(PointsPanel) if p.isVisible())
        panel.view.go_to(0, 0)
        return panel

    def steps(self) -> tuple[StepTable, Callable[[], Any]]:
        address, _ = next(iter(self.hand.design.suction_points()))
        self.window.show_part(address)
        self.hand.settle()
        table = next(t for t in self.window.findChildren(StepTable) if t.isVisible())
        return table, lambda: value_at(self.hand.design, address).ground.readings


@pytest.fixture
def sheets(qtbot: QtBot) -> Sheets:
    return Sheets(qtbot)


def test_holes_that_say_everything_go_straight_in(sheets: Sheets) -> None:
    before = sheets.hand.design
    panel = sheets.holes()
    assert paste(panel.table, "Hole\tAt point Pa\tAt hole (in. w.c.)\nNew\t1.500\t0,5\n") is None
    (reading,) = sheets.hand.design.holes[-1].readings
    assert (reading.applied, reading.suction) == pytest.approx((1500.0, 0.5 * INCH_WATER))
    assert sheets.undone(before)


def test_a_step_test_that_says_everything_goes_straight_in(sheets: Sheets) -> None:
    before = sheets.hand.design
    table, readings = sheets.steps()
    assert paste(table.row(0)[0].control(), "Flow, L/s\t[Pa]\n6\t33,5\n12\t1.082,5\n") is None
    assert [r.suction for r in readings()] == [33.5, 1082.5]
    assert sheets.undone(before)


def test_fan_points_that_say_everything_go_straight_in(sheets: Sheets) -> None:
    before = sheets.hand.design
    points = sheets.points()
    assert paste(points.view, "cfm\tin wc\n0\t1.5\n100\t0\n") is None
    fan = next(f for f in sheets.hand.design.fans if f not in before.fans)
    assert [(p.flow, p.pressure) for p in fan.full.points] == [
        pytest.approx((0.0, 1.5 * INCH_WATER)),
        pytest.approx((100 * CFM, 0.0)),
    ]
    assert sheets.undone(before)


def test_holes_in_rows_without_a_unit_are_shown_before_they_go_in(sheets: Sheets) -> None:
    before = sheets.hand.design
    panel = sheets.holes()
    preview = paste(panel.table, "Hole\tA, left\t<b>B</b>{0}\nAt point\t120\t110,5\nAt hole Pa\t20\t\u22125\n")
    assert preview is not None
    assert sheets.hand.design == before
    assert cells(preview) == [["A, left", "120", "20"], ["<b>B</b>{0}", "110,5 → 110.5", "\u22125"]]
    assert "Each row is taken for one quantity" in preview.guesses.text()
    assert "At point has no unit. Pa is taken." in preview.guesses.text()
    choose(preview.units["applied"], "in. w.c.")
    assert "At point has no unit" not in preview.guesses.text()
    press(preview.put_in)
    added = {hole.name: hole.readings[0] for hole in sheets.hand.design.holes if hole not in before.holes}
    assert list(added) == ["A, left", "<b>B</b>{0}"]
    assert added["<b>B</b>{0}"].applied == pytest.approx(110.5 * INCH_WATER)
    assert added["<b>B</b>{0}"].suction == -5.0
    assert sheets.undone(before)


def test_a_step_test_with_an_open_decimal_mark_is_read_as_the_person_says(sheets: Sheets) -> None:
    before = sheets.hand.design
    table, readings = sheets.steps()
    preview = paste(table.row(0)[0].control(), "6.125\t33.250\n12.250\t82.500\n")
    assert preview is not None
    assert "“6.125” may be 6125 or 6.125" in preview.guesses.text()
    choose(preview.mark, "Comma")
    assert cells(preview)[0] == ["6.125 → 6125", "33.250 → 33250"]
    choose(preview.mark, "Point")
    press(preview.put_in)
    assert [(r.flow, r.suction) for r in readings()] == [
        pytest.approx((0.006125, 33.25)),
        pytest.approx((0.01225, 82.5)),
    ]
    assert sheets.undone(before)


def test_fan_points_in_decimal_commas_without_columns_are_shown_and_may_be_left(sheets: Sheets) -> None:
    before = sheets.hand.design
    points = sheets.points()
    points.view.go_to(1, 1)
    preview = paste(points.view, "235,5\n140,5\n")
    assert preview is not None
    assert "“235,5” may be one number or two" in preview.guesses.text()
    assert cells(preview) == [["235,5 → 235.5"], ["140,5 → 140.5"]]
    QTest.keyClick(preview, Qt.Key.Key_Escape)
    assert sheets.hand.design == before
    preview = paste(points.view, "235,5\n140,5\n")
    assert preview is not None
    QTest.keyClick(preview, Qt.Key.Key_Return)
    assert [row[1].text for row in points.model.rows()[1:3]] == ["235.5", "140.5"]


def test_ten_thousand_rows_are_refused_in_words(sheets: Sheets) -> None:
    before = sheets.hand.design
    panel = sheets.holes()
    assert paste(panel.table, "A\t0\t120\t20\t5\n" * 10_000) is None
    assert panel.fault.text() == "The block has 10000 rows; at most 100 are read at once. Copy fewer of them."
    table, _ = sheets.steps()
    assert paste(table.row(0)[0].control(), "1\t2\n" * 10_000) is None
    assert "10000 rows" in table.fault()
    assert sheets.hand.design == before


# --- the preview alone ------------------------------------------------------------------------------------------------


def shown(qtbot: QtBot, text: str) -> PastePreview:
    def read(told: Told) -> Any:
        return read_block(text, FAN, told=told)

    preview = PastePreview(read, read(Told()))
    qtbot.addWidget(preview)
    preview.show()
    return preview


def test_what_cannot_be_read_as_said_is_refused_and_cannot_be_put_in(qtbot: QtBot) -> None:
    preview = shown(qtbot, "Flow\tPressure\n10,5\t1.500\n")
    taken: list[object] = []
    preview.agreed.connect(taken.append)
    choose(preview.mark, "Point")
    assert "“10,5” is not a number where “.” is the decimal mark." in preview.fault.text()
    assert not preview.put_in.isEnabled()
    preview.accept()
    assert taken == []
    choose(preview.mark, "Comma")
    assert preview.put_in.isEnabled()
    preview.accept()
    assert len(taken) == 1


def test_a_block_turned_back_shows_its_other_columns(qtbot: QtBot) -> None:
    preview = shown(qtbot, "Flow L/s\t1\t2\nPressure Pa\t3\t4\n")
    assert cells(preview) == [["1", "3"], ["2", "4"]]
    choose(preview.lies, "Columns")
    assert preview.fault.text()
    choose(preview.lies, "Rows")
    assert cells(preview) == [["1", "3"], ["2", "4"]]
    assert not preview.fault.text()


@pytest.mark.parametrize("odd", ODD_NAMES)
def test_what_stood_in_the_block_is_shown_as_it_stood(qtbot: QtBot, odd: str) -> None:
    preview = shown(qtbot, f"Flow L/s\t{odd}\tPressure Pa\n1\t2\t3\n")
    assert f"“{odd}”" in preview.guesses.text()
    assert all(label.textFormat() == Qt.TextFormat.PlainText for label in preview.findChildren(QLabel) if label.text())
    assert sentences_of([Guess("left out", odd)])[0].startswith(f"The column “{odd}”")


def test_quantities_that_lack_one_unit_share_a_sentence() -> None:
    guesses = [Guess("unit", "Baseline", "Pa"), Guess("unit", "Flow", "L/s"), Guess("unit", "At hole", "Pa")]
    assert sentences_of(guesses) == [
        "Baseline and At hole have no unit. Pa is taken.",
        "Flow has no unit. L/s is taken.",
    ]


def test_everything_on_the_preview_has_a_name(qtbot: QtBot) -> None:
    preview = shown(qtbot, "Flow\tPressure\n1.500\t3\n")
    for widget in preview.findChildren(QWidget):
        inner = widget.objectName().startswith("qt_") or widget.inherits("QHeaderView") or widget.inherits("QLabel")
        inner = inner or widget.window() is not preview
        if widget.focusPolicy() != Qt.FocusPolicy.NoFocus and not inner:
            assert widget.accessibleName() or getattr(widget, "text", str)(), widget
