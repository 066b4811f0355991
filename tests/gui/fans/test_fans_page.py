"""The fans page used as a person uses it: typing, pasting, choosing, undoing; against a real document."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QAccessible, QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractScrollArea, QApplication, QLineEdit, QPushButton, QWidget
from pytestqt.qtbot import QtBot

from workbench.design import Design, FanPoint, FanRecord, FanTable, Leg, Run, SuctionPoint
from workbench.design.blank import pipe_from_catalogue
from workbench.design.edit import add_fan, choose_fan, replace_fan
from workbench.design.ground import GroundClass
from workbench.design.record import with_value
from workbench.files.fan_library import fan_classes
from workbench.gui.fans.page import FansPage
from workbench.gui.kit.theme import DARK, LIGHT
from workbench.gui.shell.document import Document
from workbench.units import SI, US

KEY = Qt.Key
CONTROL = Qt.KeyboardModifier.ControlModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier
ROWS = [(0.0, 250.0, 30.0), (0.02, 240.0, 40.0), (0.05, 150.0, 46.0), (0.08, 0.0, 45.0)]


def table(rows: list[tuple[float, float, float]], speed: float = 1.0) -> FanTable:
    return FanTable(speed=speed, points=tuple(FanPoint(flow=q, pressure=p, power=w) for q, p, w in rows))


def design() -> Design:
    pipe = pipe_from_catalogue("3 in. schedule 40")
    point = SuctionPoint(name="Kiln corner", pit_volume=0.03, ground=GroundClass())
    plain = FanRecord(name="Plain", invented=True, curves=(table(ROWS),))
    other = FanRecord(name="Other", invented=True, control="none", sound_dBA=40.0, curves=(table(ROWS[:3]),))
    return Design(
        intake=Leg(source=point, runs=(Run(name="Riser", pipe=pipe, length=6.0, rise=5.0),)),
        discharge=(Run(name="Outlet", pipe=pipe, length=1.0, rise=1.0, surroundings="outdoors"),),
        fans=(plain, other),
        fan="Plain",
        speed=0.6,
    )


class Bench:
    """The page with a document behind it, as in the window."""

    def __init__(self, qtbot: QtBot) -> None:
        self.qtbot = qtbot
        self.document = Document(design())
        self.page = FansPage()
        qtbot.addWidget(self.page)
        self.words: list[str] = []
        self.page.proposed.connect(lambda change, words: self.words.append(words))
        self.page.proposed.connect(self.document.propose)
        self.document.changed.connect(self.page.show_design)
        self.document.refused.connect(self.page.show_faults)
        self.page.show_design(self.document.design)
        self.page.resize(1240, 560)
        with qtbot.waitActive(self.page):
            self.page.show()
            self.page.activateWindow()
        self.view = self.page.points.view
        self.model = self.page.points.model

    def fan(self, name: str = "Plain") -> FanRecord:
        return next(fan for fan in self.document.design.fans if fan.name == name)

    def points(self, name: str = "Plain") -> list[tuple[float, float, float | None]]:
        return [(p.flow, p.pressure, p.power) for p in self.fan(name).full.points]

    def texts(self) -> list[list[str]]:
        return [[entry.text for entry in row] for row in self.model.rows()]

    def notes(self) -> str:
        return " ".join(self.page.points.notes())

    def glyph(self, row: int) -> str:
        return str(self.model.headerData(row, Qt.Orientation.Vertical))

    def at(self, row: int, column: int) -> None:
        self.view.setFocus()
        self.view.go_to(row, column)

    def place(self) -> tuple[int, int]:
        index = self.view.currentIndex()
        return index.row(), index.column()

    def press(self, key: Qt.Key, modifier: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
        """A key where the focus is: in the editor of a cell if one is open."""
        focus = QApplication.focusWidget()
        assert focus is not None
        before = focus
        QTest.keyClick(focus, key, modifier)
        if isinstance(before, QLineEdit) and before.parent() is self.view.viewport():
            # the delegate takes the text when the keys are done with
            self.qtbot.waitUntil(lambda: self.view.state() == self.view.State.NoState)

    def type(self, text: str) -> None:
        focus = QApplication.focusWidget()
        assert focus is not None
        for letter in text:
            focus = QApplication.focusWidget()
            QTest.keyClicks(focus, letter)

    def enter(self, row: int, column: int, text: str) -> None:
        self.at(row, column)
        self.type(text)
        self.press(KEY.Key_Tab)

    def paste(self, text: str) -> None:
        QGuiApplication.clipboard().setText(text)
        QTest.keyClick(self.view, KEY.Key_V, CONTROL)

    def button(self, text: str) -> QPushButton:
        return next(b for b in self.page.findChildren(QPushButton) if b.text() == text)


@pytest.fixture
def bench(qtbot: QtBot) -> Bench:
    return Bench(qtbot)


# --- typing ---------------------------------------------------------------------------------------------------------


def test_a_curve_typed_key_by_key_is_proposed_as_soon_as_it_is_one(bench: Bench) -> None:
    bench.button("New fan").click()
    assert bench.page.fan() == bench.fan("New fan")
    assert QApplication.focusWidget() is bench.view
    bench.press(KEY.Key_A, CONTROL)
    bench.press(KEY.Key_Delete)
    assert bench.texts() == []
    assert "at least two points" in bench.notes()
    starter = bench.fan("New fan")
    bench.at(0, 0)
    for row, cells in enumerate((("0", "255", "29"), ("42", "198,5", "44"), ("84", "0", "45.5"))):
        for column, text in enumerate(cells):
            assert bench.place() == (row, column)
            bench.type(text)
            bench.press(KEY.Key_Return if column == 2 else KEY.Key_Tab)
        if row == 0:
            assert bench.fan("New fan") == starter
    assert bench.points("New fan") == [(0.0, 255.0, 29.0), (0.042, 198.5, 44.0), (0.084, 0.0, 45.5)]
    assert bench.texts()[1] == ["42", "198,5", "44"]
    assert bench.place() == (3, 0)
    assert bench.model.rowCount() == 4
    assert bench.words[-1] == "Change a point of New fan"


def test_enter_goes_down_where_the_row_was_begun_and_tab_leaves_at_the_end(bench: Bench) -> None:
    bench.at(0, 1)
    bench.press(KEY.Key_Return)
    assert bench.place() == (1, 1)
    bench.press(KEY.Key_Tab)
    bench.press(KEY.Key_Return)
    assert bench.place() == (2, 1)
    bench.press(KEY.Key_Return, SHIFT)
    assert bench.place() == (1, 1)
    bench.press(KEY.Key_Backtab, SHIFT)
    assert bench.place() == (1, 0)
    # the Shift of going back selects nothing more
    assert bench.view.cells() == [(1, 0)]
    bench.at(4, 0)
    bench.press(KEY.Key_Tab)
    assert QApplication.focusWidget() is not bench.view
    bench.at(0, 0)
    bench.press(KEY.Key_Backtab, SHIFT)
    assert QApplication.focusWidget() is not bench.view


def test_the_chart_follows_every_key_before_anything_is_entered(bench: Bench) -> None:
    before = bench.fan()
    bench.at(1, 1)
    bench.type("1")
    trace = bench.page.preview.trace()
    assert trace is not None
    assert float(trace.pressure.min()) <= 1.0 + 1e-9
    bench.type("80")
    trace = bench.page.preview.trace()
    assert trace is not None
    assert any(abs(p - 180.0) < 2.0 for p in trace.pressure)
    assert bench.fan() == before
    bench.press(KEY.Key_Escape)
    assert bench.fan() == before
    assert bench.texts()[1][1] == "240"


def test_typed_units_are_read_where_they_are_typed(bench: Bench) -> None:
    bench.enter(1, 0, "40 cfm")
    # NIST SP 811, appendix B.8: 1 cfm = 4.719 474 E-04 m3/s
    assert bench.points()[1][0] == pytest.approx(40 * 4.719474e-4, rel=2e-7)
    assert bench.texts()[1][0] == "40 cfm"


@pytest.mark.parametrize(
    ("row", "column", "text", "said", "marked"),
    [
        (2, 0, "20", "Row 3 repeats the flow of row 2; each flow may appear only once.", 2),
        (2, 0, "10", "The flow in row 3 is lower than in row 2; it must rise from row to row.", 2),
        (1, 1, "-5", "Row 2: the pressure must be at least 0 Pa.", 1),
        (1, 1, "24o", "Row 2, pressure: “o” is not a known unit.", 1),
        (1, 1, "many", "Row 2, pressure: “many” is not a number.", 1),
        (1, 1, "1,234", "can be read two ways", 1),
        (1, 1, "80 cfm", "80 cfm is a flow, not a pressure.", 1),
        (1, 2, "0", "Row 2: the power must be more than 0 W.", 1),
        (1, 0, "6000", "Row 2: the flow must be at most 5000 L/s.", 1),
        (3, 2, " ", "Power is missing in row 4; give it in every row or in none.", 3),
    ],
)
def test_what_makes_no_curve_stays_and_says_why(
    bench: Bench, row: int, column: int, text: str, said: str, marked: int
) -> None:
    good = bench.document.design
    bench.at(row, column)
    if text.strip():
        bench.type(text)
        bench.press(KEY.Key_Return)
    else:
        bench.press(KEY.Key_Delete)
    bench.view.go_to(0, 0)
    assert said.lower() in bench.notes().lower()
    assert bench.glyph(marked).startswith("▲")
    assert bench.document.design == good
    assert bench.texts()[row][column] == text.strip()
    assert bench.words == []
    assert said.lower() in bench.view.accessibleDescription().lower()
    # elsewhere and back: nothing that was typed is lost
    bench.page.fans.list.setFocus()
    QTest.keyClick(bench.page.fans.list, KEY.Key_Down)
    assert bench.page.fan() == bench.fan("Other")
    assert "▲" not in bench.notes()
    QTest.keyClick(bench.page.fans.list, KEY.Key_Up)
    assert bench.texts()[row][column] == text.strip()
    assert said.lower() in bench.notes().lower()
    bench.button("Restore last valid curve").click()
    assert bench.texts()[1] == ["20", "240", "40"]
    assert bench.page.points.notes() == []


def test_one_point_is_no_curve(bench: Bench) -> None:
    good = bench.document.design
    bench.view.select_rows(1, 3)
    bench.view.setFocus()
    QTest.keyClick(bench.view, KEY.Key_Delete)
    assert len(bench.texts()) == 1
    assert "A curve needs at least two points." in bench.notes()
    assert bench.document.design == good


def test_a_row_not_finished_is_waited_for(bench: Bench) -> None:
    bench.enter(4, 0, "90")
    assert bench.notes().startswith("Row 5 has no pressure yet.")
    assert not bench.glyph(4).startswith("▲")
    bench.at(0, 0)
    assert bench.glyph(4).startswith("▲")


def test_blank_rows_are_no_points_and_rows_keep_their_numbers(bench: Bench) -> None:
    bench.at(1, 0)
    bench.press(KEY.Key_Insert)
    assert bench.words == []
    assert bench.notes() == ""
    bench.enter(3, 0, "20")
    assert "Row 4 repeats the flow of row 3" in bench.notes()
    assert bench.glyph(3).startswith("▲")
    bench.enter(3, 0, "30")
    assert bench.points()[2][0] == 0.03


def test_undo_returns_the_table(bench: Bench) -> None:
    bench.enter(1, 1, "230.50")
    assert bench.points()[1][1] == 230.5
    assert bench.texts()[1][1] == "230.50"
    bench.enter(2, 0, "rubbish")
    assert bench.texts()[2][0] == "rubbish"
    bench.document.undo()
    assert bench.points()[1][1] == 240.0
    assert bench.texts()[1] == ["20", "240", "40"]
    assert bench.texts()[2] == ["50", "150", "46"]
    bench.document.redo()
    assert bench.texts()[1][1] == "230.5"


def test_an_edit_elsewhere_leaves_what_is_being_typed(bench: Bench) -> None:
    bench.enter(2, 0, "rubbish")
    bench.document.propose(lambda d: d.model_copy(update={"speed": 0.8}), "Change speed")
    bench.document.propose(lambda d: choose_fan(d, "Other"), "Choose")
    assert bench.texts()[2][0] == "rubbish"
    bench.at(1, 1)
    bench.type("2")
    editor = QApplication.focusWidget()
    bench.document.propose(lambda d: d.model_copy(update={"speed": 0.9}), "Change speed")
    assert QApplication.focusWidget() is editor
    bench.type("35")
    assert isinstance(editor, QLineEdit)
    assert editor.text() == "235"


def test_another_job_with_the_same_fan_begins_clean(bench: Bench) -> None:
    bench.enter(2, 0, "rubbish")
    bench.page.show_design(design())
    assert bench.texts()[2][0] == "50"
    assert bench.page.points.notes() == []


def test_delete_clears_cells_and_removes_rows(bench: Bench) -> None:
    bench.at(1, 1)
    bench.press(KEY.Key_Delete)
    assert bench.texts()[1] == ["20", "", "40"]
    bench.view.select_rows(1, 1)
    bench.press(KEY.Key_Delete)
    assert [row[0] for row in bench.texts()] == ["0", "50", "80"]
    assert len(bench.points()) == 3
    bench.at(1, 2)
    bench.press(KEY.Key_Delete, CONTROL)
    assert [row[0] for row in bench.texts()] == ["0", "80"]
    assert len(bench.points()) == 2


# --- the clipboard --------------------------------------------------------------------------------------------------


def test_a_block_from_a_spreadsheet_is_one_change(bench: Bench) -> None:
    bench.at(0, 0)
    bench.press(KEY.Key_A, CONTROL)
    bench.paste("0\t255,0\t29\r\n42\t198,5\t44,5\r\n84\t0\t45,5\r\n")
    assert bench.points() == [(0.0, 255.0, 29.0), (0.042, 198.5, 44.5), (0.084, 0.0, 45.5)]
    assert bench.words == ["Paste points of Plain"]
    assert bench.texts()[0] == ["0", "255.0", "29"]
    bench.document.undo()
    assert bench.points() == ROWS
    assert bench.texts()[1] == ["20", "240", "40"]


def test_a_block_with_its_header_brings_its_units(bench: Bench) -> None:
    bench.at(0, 1)
    bench.paste("Flow (m³/h)\tStatic pressure (in. w.c.)\r\n0\t1\r\n72\t0.9\r\n")
    # NIST SP 811, appendix B.8: 1 in. of water (conventional) = 2.490 889 E+02 Pa
    assert [q for q, _, _ in bench.points()] == pytest.approx([0.0, 0.02])
    assert [p for _, p, _ in bench.points()] == pytest.approx([249.0889, 224.18001], rel=1e-6)
    assert dict(bench.model.units()) == {"flow": "m³/h", "pressure": "in. w.c.", "power": "W"}
    assert bench.texts() == [["0", "1", ""], ["72", "0.9", ""]]


def test_a_unit_that_cannot_be_chosen_is_converted(bench: Bench) -> None:
    bench.at(0, 0)
    bench.paste("Flow (L/s)\tPressure (mbar)\n0\t2.5\n20\t1.5\n")
    assert [p for _, p, _ in bench.points()] == pytest.approx([250.0, 150.0])
    assert bench.texts()[1] == ["20", "150", ""]


def test_a_column_is_pasted_from_the_current_cell(bench: Bench) -> None:
    bench.at(1, 1)
    bench.paste("235.5\n140.5\n")
    assert [p for _, p, _ in bench.points()] == [250.0, 235.5, 140.5, 0.0]
    assert bench.place() == (3, 1)


@pytest.mark.parametrize(
    ("block", "said"),
    [
        ("0\t250\n20\tabout 240", "Nothing was pasted. Row 2, pressure: “about 240” is not a number."),
        ("1\t2\t3\t4", "has 4 columns"),
        ("", "nothing to read"),
    ],
)
def test_a_block_that_is_not_clear_changes_nothing(bench: Bench, block: str, said: str) -> None:
    before = bench.texts()
    bench.at(0, 0)
    bench.paste(block)
    assert said in bench.notes()
    assert bench.texts() == before
    assert bench.words == []


def test_a_pasted_block_that_makes_no_curve_stays_to_be_mended(bench: Bench) -> None:
    bench.at(0, 0)
    bench.press(KEY.Key_A, CONTROL)
    bench.paste("0\t250\n20\t240\n20\t230\n")
    assert "Row 3 repeats the flow of row 2" in bench.notes()
    assert bench.points() == ROWS
    bench.enter(2, 0, "25")
    assert [q for q, _, _ in bench.points()] == [0.0, 0.02, 0.025]


def test_what_is_copied_can_be_pasted_back(bench: Bench) -> None:
    bench.at(0, 0)
    bench.press(KEY.Key_A, CONTROL)
    bench.press(KEY.Key_C, CONTROL)
    assert QGuiApplication.clipboard().text().splitlines()[:2] == [
        "Airflow (L/s)\tPressure (Pa)\tPower (W)",
        "0\t250\t30",
    ]
    bench.page.pick(("fans", 1))
    assert len(bench.points("Other")) == 3
    bench.at(0, 0)
    bench.press(KEY.Key_V, CONTROL)
    assert bench.points("Other") == ROWS


# --- units, speeds, doubts ------------------------------------------------------------------------------------------


def choose_unit(bench: Bench, kind: Any, unit: str) -> None:
    box = bench.page.points._units[kind].control()
    box.setFocus()
    while bench.page.points._units[kind].value() != unit:
        before = bench.page.points._units[kind].value()
        QTest.keyClick(box, KEY.Key_Down)
        assert bench.page.points._units[kind].value() != before


def test_units_convert_what_is_shown_and_change_nothing(bench: Bench) -> None:
    before = bench.document.design
    bench.enter(2, 1, "rubbish")
    choose_unit(bench, "flow", "m³/h")
    assert [row[0] for row in bench.texts()] == ["0", "72", "180", "288"]
    choose_unit(bench, "flow", "cfm")
    choose_unit(bench, "pressure", "in. w.c.")
    # 20 L/s and 240 Pa by NIST SP 811, appendix B.8
    assert float(bench.texts()[1][0]) == pytest.approx(0.02 / 4.719474e-4, rel=5e-4)
    assert float(bench.texts()[1][1]) == pytest.approx(240 / 249.0889, rel=5e-4)
    assert bench.texts()[2][1] == "rubbish"
    assert bench.document.design == before
    assert bench.words == []
    bench.enter(2, 1, "0.6")
    assert bench.points()[2][1] == pytest.approx(0.6 * 249.0889, rel=1e-6)
    # the cells that were only converted are what they were
    assert bench.points()[1][:2] == (0.02, 240.0)


def test_the_display_system_sets_only_units_nobody_chose(bench: Bench) -> None:
    choose_unit(bench, "flow", "m³/h")
    bench.page.set_system(US)
    assert dict(bench.model.units()) == {"flow": "m³/h", "pressure": "in. w.c.", "power": "W"}
    assert "in. w.c." in bench.page.fans.list.model().index(0, 0).data()
    bench.page.set_system(SI)
    assert bench.texts()[1] == ["72", "240", "40"]


def test_curves_at_other_speeds(bench: Bench) -> None:
    speed = bench.page.points._new_speed.control()
    assert isinstance(speed, QLineEdit)
    bench.button("Add curve").click()
    assert "Type the speed first" in bench.page.points._new_speed.fault()
    speed.setFocus()
    QTest.keyClicks(speed, "60")
    QTest.keyClick(speed, KEY.Key_Return)
    bench.button("Add curve").click()
    assert bench.page.points.speeds() == [0.6, 1.0]
    assert [t.speed for t in bench.fan().curves] == [1.0]
    bench.paste("0\t90\n50\t0\n")
    assert "Give the power at every measured speed or at none." in bench.notes()
    assert bench.fan().curves == design().fans[0].curves
    bench.page.points._speeds.setCurrentIndex(1)
    bench.page.points._speeds.setCurrentIndex(0)
    assert bench.texts() == [["0", "90", ""], ["50", "0", ""]]
    bench.enter(0, 2, "7")
    bench.enter(1, 2, "12")
    assert [t.speed for t in bench.fan().curves] == [0.6, 1.0]
    assert bench.fan().curves[0].points[1].power == 12.0
    bench.document.undo()
    assert bench.page.points.speeds() == [1.0]
    bench.document.redo()
    bench.page.points._speeds.setCurrentIndex(0)
    bench.button("Remove curve").click()
    assert [t.speed for t in bench.fan().curves] == [1.0]
    assert not bench.button("Remove curve").isEnabled()


def test_power_may_be_taken_from_two_curves_together(bench: Bench) -> None:
    two = FanRecord(name="Two", invented=True, curves=(table(ROWS[:3], 0.5), table(ROWS)))
    bench.document.propose(lambda d: add_fan(d, two), "Add")
    bench.page.pick(("fans", 2))
    powers = [(row, 2) for row in range(4)]
    bench.model.clear_cells(powers)
    assert "every measured speed" in bench.notes()
    bench.page.points._speeds.setCurrentIndex(0)
    bench.model.clear_cells(powers[:3])
    assert [t.points[0].power for t in bench.fan("Two").curves] == [None, None]
    assert "every measured speed" not in bench.notes()


def test_odd_points_are_named_and_left_alone(bench: Bench) -> None:
    axial = next(fan for fan in fan_classes() if "stall" in fan.name)
    bench.document.propose(lambda d: add_fan(d, axial), "Add")
    bench.page.pick(("fans", 2))
    assert "◆" in " ".join(bench.glyph(row) for row in range(12))
    assert "▲" not in " ".join(bench.glyph(row) for row in range(12))
    assert "pressure rises from row" in bench.notes()
    assert bench.fan(axial.name).curves == axial.curves


# --- the list and the library ---------------------------------------------------------------------------------------


def test_choosing_copying_renaming_and_removing_by_keyboard(bench: Bench) -> None:
    fans = bench.page.fans.list
    picks: list[Any] = []
    bench.page.picked.connect(picks.append)
    fans.setFocus()
    QTest.keyClick(fans, KEY.Key_Down)
    assert picks == [("fans", 1)]
    QTest.keyClick(fans, KEY.Key_Space)
    # a fan without control runs at full speed
    assert (bench.document.design.fan, bench.document.design.speed) == ("Other", 1.0)
    assert "chosen" in fans.model().index(1, 0).data()
    QTest.keyClick(fans, KEY.Key_Insert)
    assert [f.name for f in bench.document.design.fans] == ["Plain", "Other", "Other 2"]
    assert bench.document.design.fan == "Other"
    assert bench.page.fan() == bench.fan("Other 2")
    name = bench.page.facts.field("name").control()
    assert QApplication.focusWidget() is name
    bench.enter(1, 1, "rubbish")
    name.setFocus()
    assert isinstance(name, QLineEdit)
    name.selectAll()
    QTest.keyClicks(name, "Plain")
    QTest.keyClick(name, KEY.Key_Return)
    assert "There are two fans called 'Plain'." in bench.page.facts.field("name").fault()
    assert name.text() == "Plain"
    name.selectAll()
    QTest.keyClicks(name, "Attic one")
    QTest.keyClick(name, KEY.Key_Return)
    assert bench.page.fan() == bench.fan("Attic one")
    assert bench.page.facts.field("name").fault() == ""
    assert bench.texts()[1][1] == "rubbish"
    fans.setFocus()
    QTest.keyClick(fans, KEY.Key_Delete)
    assert [f.name for f in bench.document.design.fans] == ["Plain", "Other"]
    assert bench.page.fan() == bench.fan("Other")
    QTest.keyClick(fans, KEY.Key_Delete)
    QTest.keyClick(fans, KEY.Key_Delete)
    assert bench.document.design.fans == ()
    assert not bench.view.isEnabled()
    bench.document.undo()
    assert bench.page.fan() == bench.fan("Plain")


def test_a_class_is_found_by_typing_and_laid_over(bench: Bench) -> None:
    bench.page.fans.show_library()
    chooser = bench.page.fans.chooser
    shown = chooser.list.model()
    assert shown.rowCount() == len(fan_classes())
    flows = [fan_classes()[i].full.points[-1].flow for i in range(shown.rowCount())]
    assert flows == sorted(flows)
    for row in range(shown.rowCount()):
        said = str(shown.index(row, 0).data())
        assert "made-up data" in said
        assert fan_classes()[row].note in said
        assert all(unit in said for unit in ("L/s", "Pa", " W", "dB(A)"))
    chooser.filter.setFocus()
    QTest.keyClicks(chooser.filter, "clay very high")
    assert shown.rowCount() == 1
    QTest.keyClick(chooser.filter, KEY.Key_Down)
    assert QApplication.focusWidget() is chooser.list
    QTest.keyClick(chooser.list, KEY.Key_Return)
    laid = bench.document.design.fans[-1]
    assert laid in fan_classes()
    assert bench.page.fan() == laid
    assert bench.document.design.fan == "Plain"
    assert "in this design" in str(shown.index(0, 0).data())
    chooser.filter.setFocus()
    QTest.keyClicks(chooser.filter, " purple")
    assert shown.rowCount() == 0
    assert not bench.button("Add to design").isEnabled()
    QTest.keyClick(chooser.filter, KEY.Key_Escape)
    assert shown.rowCount() == len(fan_classes())


# --- facts ----------------------------------------------------------------------------------------------------------


def test_facts_are_proposed_and_faults_stand_beside_them(bench: Bench) -> None:
    facts = bench.page.facts
    diameter = facts.field("outlet_diameter").control()
    assert isinstance(diameter, QLineEdit)
    diameter.setFocus()
    diameter.selectAll()
    QTest.keyClicks(diameter, "6 in")
    QTest.keyClick(diameter, KEY.Key_Return)
    assert bench.fan().outlet_diameter == 0.1524
    assert bench.words[-1] == "Change fan outlet diameter of Plain"
    least = facts.field("least_speed").control()
    assert isinstance(least, QLineEdit)
    least.setFocus()
    least.selectAll()
    QTest.keyClicks(least, "0")
    QTest.keyClick(least, KEY.Key_Return)
    assert "greater than 0" in facts.field("least_speed").fault()
    assert least.text() == "0"
    assert bench.fan().least_speed == 0.3
    note = facts.field("note").control()
    note.setFocus()
    QTest.keyClicks(note, "Hums on Sundays")
    diameter.setFocus()
    assert bench.fan().note == "Hums on Sundays"


def test_price_and_constant_power_of_a_typed_fan_are_asked_for(bench: Bench) -> None:
    facts = bench.page.facts
    missing = with_value(with_value(bench.fan(), ("price",), None), ("constant_power",), None)
    bench.document.propose(lambda design: replace_fan(design, missing.name, missing), "Forget both")
    assert "price" in facts.asked.text()
    assert "constant power" in facts.asked.text()
    assert facts.asked.isVisible()
    bench.document.propose(lambda design: choose_fan(design, missing.name), "Choose it")
    assert "no-constant-power" in {notice.code for notice in bench.document.outcome.notices}
    for name, text in (("price", "180"), ("constant_power", "0")):
        control = facts.field(name).control()
        assert isinstance(control, QLineEdit)
        control.setFocus()
        control.selectAll()
        QTest.keyClicks(control, text)
        QTest.keyClick(control, KEY.Key_Return)
    # a typed 0 is an answer
    assert bench.fan().constant_power == 0.0
    assert not facts.asked.isVisible()
    assert "no-constant-power" not in {notice.code for notice in bench.document.outcome.notices}


def test_the_motor_decides_which_facts_apply(bench: Bench) -> None:
    cells = bench.page.facts._cells
    facts = bench.page.facts
    assert cells["constant_power"].isVisible()
    assert not facts.caution.isVisible()
    assert not cells["power_exponent"].isVisible()
    control = bench.page.facts.field("control").control()
    control.setFocus()
    QTest.keyClick(control, KEY.Key_Up)
    assert bench.fan().control == "phase-cut"
    assert cells["power_exponent"].isVisible()
    assert facts.caution.isVisible()
    QTest.keyClick(control, KEY.Key_Up)
    assert not cells["least_speed"].isVisible()
    # the chosen fan can no longer be slowed
    assert bench.document.design.speed == 1.0


def test_the_preview_tells_the_best_efficiency(bench: Bench) -> None:
    # one point by hand: 0.05 m3/s against 150 Pa static plus 1.2/2 (0.05/(pi/4 0.1^2))^2 = 24.32 Pa, for 46 W
    trace = bench.page.preview.trace()
    assert trace is not None
    by_hand = 0.05 * (150.0 + 24.317) / 46.0
    near = min(range(len(trace.flow)), key=lambda i: abs(trace.flow[i] - 0.05))
    assert trace.efficiency[near] == pytest.approx(by_hand, rel=0.01)
    best = float(max(trace.efficiency))
    assert f"{100 * best:.0f} %" in bench.page.preview.words()


# --- the whole ------------------------------------------------------------------------------------------------------


def test_models_keep_the_rules_of_models(bench: Bench, qtmodeltester: Any) -> None:
    qtmodeltester.check(bench.model)
    bench.model.set_rows(())
    qtmodeltester.check(bench.model)
    bench.page.fans.show_library()
    qtmodeltester.check(bench.page.fans.chooser.list.model())
    qtmodeltester.check(bench.page.fans.list.model())


def test_everything_that_takes_the_focus_has_a_name(bench: Bench) -> None:
    bench.page.fans.show_library()
    unnamed = []
    for widget in bench.page.findChildren(QWidget):
        parent = widget.parent()
        if (
            widget.focusPolicy() == Qt.FocusPolicy.NoFocus
            # what a combo box drops down
            or widget.window() is not bench.page
            or widget.objectName().startswith("qt_")
            or (isinstance(parent, QAbstractScrollArea) and widget is parent.viewport())
        ):
            continue
        interface = QAccessible.queryAccessibleInterface(widget)
        if interface is None or not interface.text(QAccessible.Text.Name):
            unnamed.append(f"{type(widget).__name__} in {type(parent).__name__}")
    assert unnamed == []


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=lambda t: t.name)
def test_cards_and_points_are_painted_in_either_theme(bench: Bench, theme: Any) -> None:
    bench.page.apply_theme(theme)
    bench.enter(2, 0, "20")
    bench.page.fans.show_library()
    QApplication.processEvents()
    image = bench.page.grab().toImage()
    sheet = image.pixelColor(QPoint(image.width() // 2, 4)).name()
    assert len({image.pixelColor(x, 120).name() for x in range(10, 320)}) > 3, sheet


def test_an_unchanged_design_rebuilds_nothing(bench: Bench) -> None:
    resets: list[Callable[..., None]] = []
    bench.model.modelReset.connect(lambda: resets.append(print))
    bench.page.fans.list.model().modelReset.connect(lambda: resets.append(print))
    changed = bench.document.design.model_copy(update={"speed": 0.7})
    bench.page.show_design(changed)
    assert resets == []
