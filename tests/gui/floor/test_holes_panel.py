"""The table of test holes, typed and pasted into as a person does, with a document behind it."""

from __future__ import annotations

import math
import re
from functools import partial

import pytest
from msgspec.structs import replace
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtGui import QFontMetrics, QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit, QWidget
from pytestqt.qtbot import QtBot

from tests.floors import PLACES, hole, job, point, read, slab, three, unplaced
from tests.gui.bench import Bench
from tests.gui.screen.claims import strokes
from workbench.design import Design
from workbench.design.slab import TestHole
from workbench.files.block import read_block
from workbench.gui.floor.holes_draft import COLUMNS, KEYS, quantities
from workbench.gui.floor.holes_paint import pad_of
from workbench.gui.floor.holes_panel import HolesPanel
from workbench.gui.floor.holes_rows import READING_KEYS, VERDICT, weakest_first
from workbench.gui.kit.theme import DARK, SHAPES
from workbench.solving.outcome import Holding, HoleState
from workbench.solving.report.verdict_words import VERDICT_WORDS
from workbench.units import CFM, CUSTOM, INCH_WATER, SI, US, System, format_quantity, system_of

pytestmark = pytest.mark.qt_log_ignore("^This plugin does not support", extend=True)

KEY = Qt.Key
CONTROL = Qt.KeyboardModifier.ControlModifier


IN_WATER = system_of(CUSTOM, {"hole_pressure": "in. w.c."}, US)
MINUS_IN_WATER = replace(IN_WATER, minus_is_suction=True)

NEW = ""
"""The hole yet to be named."""


class Sheet:
    """The panel, what stands in its table, and a person's hands; cells by the name of their hole."""

    def __init__(self, qtbot: QtBot, design: Design, *, opened: bool = True) -> None:
        self.panel = HolesPanel()
        qtbot.addWidget(self.panel)
        self.bench = Bench(self.panel, design)
        self.panel.resize(500, 560)
        self.panel.show()
        qtbot.waitExposed(self.panel)
        self.panel.activateWindow()
        qtbot.waitUntil(self.panel.isActiveWindow)
        self.table = self.panel.table
        self.table.setFocus()
        if opened:
            self.panel.model.open_all(True)

    @property
    def holes(self) -> tuple[TestHole, ...]:
        return self.bench.design.holes

    def order(self) -> list[str]:
        """Names of the holes as they are laid."""
        return [line.name for line in self.panel.model.lines() if line.kind == "hole" and line.name]

    def row(self, hole: str, reading: int | None = None) -> int:
        at = next((h for h, present in enumerate(self.holes) if present.name == hole), None)
        row = self.panel.model.row_of(at, reading)
        assert reading is None or self.panel.model.lines()[row].kind == "reading", f"{hole} is shut"
        return row

    def cell(self, hole: str, key: str, reading: int = 0) -> tuple[int, int]:
        return (self.row(hole), 0) if key == "name" else (self.row(hole, reading), READING_KEYS.index(key))

    def go(self, hole: str, key: str, reading: int = 0) -> None:
        self.table.go_to(*self.cell(hole, key, reading))

    def type(self, text: str, after: Qt.Key = KEY.Key_Return) -> None:
        """Type into the current cell and leave it."""
        QTest.keyClicks(self.table, text[:1])
        editor = QApplication.focusWidget()
        assert editor is not self.table
        QTest.keyClicks(editor, text[1:])
        QTest.keyClick(editor, after)
        QApplication.sendPostedEvents()

    def enter(self, hole: str, key: str, text: str, reading: int = 0) -> None:
        self.go(hole, key, reading)
        self.type(text)

    def shows(self, hole: str, key: str, reading: int = 0) -> str:
        return str(self.panel.model.index(*self.cell(hole, key, reading)).data())

    def paste(self, text: str) -> None:
        QGuiApplication.clipboard().setText(text)
        QTest.keyClick(self.table, KEY.Key_V, CONTROL)

    def fault(self) -> str:
        return self.panel.fault.text() if self.panel.fault.isVisible() else ""

    def kept(self, hole: str) -> list[str]:
        """The row of a hole: name, latest reading, expected now, worst day, verdict."""
        return [str(self.panel.model.index(self.row(hole), column).data()) for column in range(5)]

    def at(self) -> tuple[str, str, int]:
        """Hole, key and reading of the current cell."""
        index = self.table.currentIndex()
        line = self.panel.model.lines()[index.row()]
        return line.name, line.key(index.column()), line.reading


@pytest.fixture
def sheet(qtbot: QtBot) -> Sheet:
    return Sheet(qtbot, job(three(), floor=slab()))


@pytest.fixture
def blank(qtbot: QtBot) -> Sheet:
    return Sheet(qtbot, job([]))


def test_a_hole_is_typed_from_nothing_to_an_answer(blank: Sheet) -> None:
    blank.go(NEW, "name")
    blank.type("Cellar door", KEY.Key_Tab)
    assert [h.name for h in blank.holes] == ["Cellar door"]
    assert blank.holes[0].readings == ()
    # what comes next is its first reading
    assert blank.at() == ("Cellar door", "at_rest", 0)
    blank.enter("Cellar door", "applied", "120")
    assert blank.holes[0].readings == ()
    blank.enter("Cellar door", "suction", "0,05 in. w.c.")
    (reading,) = blank.holes[0].readings
    assert (reading.point, reading.applied, reading.flow) == ("Pit", 120.0, None)
    assert reading.suction == pytest.approx(0.05 * INCH_WATER)
    blank.enter("Cellar door", "flow", "20")
    blank.enter("Cellar door", "at_rest", "-0,4")
    blank.enter("Cellar door", "exhausts", "-1.5")
    (found,) = blank.holes
    assert (found.readings[0].flow, found.readings[0].at_rest, found.exhausts) == (0.02, -0.4, -1.5)
    _, latest, now, worst, verdict = blank.kept("Cellar door")
    assert latest.startswith("12")
    assert "(" not in now
    assert " to " in now
    assert " to " in worst
    assert verdict


def test_every_step_can_be_taken_back(blank: Sheet) -> None:
    blank.enter(NEW, "name", "A")
    blank.enter("A", "applied", "120")
    blank.enter("A", "suction", "20")
    blank.bench.document.undo()
    assert blank.holes[0].readings == ()
    blank.bench.document.undo()
    assert blank.holes == ()
    assert blank.panel.model.rowCount() == 1
    blank.bench.document.redo()
    blank.bench.document.redo()
    assert blank.holes[0].readings[0].suction == 20.0


def test_values_typed_before_the_name_wait_for_it(blank: Sheet) -> None:
    blank.panel.model.open_hole(NEW)
    blank.enter(NEW, "applied", "120")
    blank.enter(NEW, "suction", "20")
    assert blank.holes == ()
    blank.enter(NEW, "name", "A")
    assert blank.holes[0].readings[0].suction == 20.0
    assert blank.order() == ["A"]


def test_the_button_opens_the_new_hole_and_types_its_name(blank: Sheet) -> None:
    blank.panel.add_hole_button.click()
    editor = QApplication.focusWidget()
    assert isinstance(editor, QLineEdit)
    QTest.keyClicks(editor, "A")
    QTest.keyClick(editor, KEY.Key_Return)
    QApplication.sendPostedEvents()
    assert [hole.name for hole in blank.holes] == ["A"]
    assert blank.at() == ("A", "at_rest", 0)


def test_the_button_pressed_while_a_name_is_typed_takes_it_and_begins_the_next(blank: Sheet) -> None:
    blank.panel.add_hole_button.click()
    editor = QApplication.focusWidget()
    assert isinstance(editor, QLineEdit)
    QTest.keyClicks(editor, "A")
    # a warning of Qt fails the test
    blank.panel.add_hole_button.click()
    QApplication.processEvents()
    editor = QApplication.focusWidget()
    assert isinstance(editor, QLineEdit)
    QTest.keyClicks(editor, "B")
    QTest.keyClick(editor, KEY.Key_Return)
    QApplication.sendPostedEvents()
    assert [hole.name for hole in blank.holes] == ["A", "B"]


def test_the_button_pressed_twice_from_another_window_types_one_name(qtbot: QtBot, blank: Sheet) -> None:
    other = QLineEdit()
    qtbot.addWidget(other)
    with qtbot.waitActive(other):
        other.show()
        other.activateWindow()
    # a warning of Qt fails the test
    blank.panel.add_hole_button.click()
    blank.panel.add_hole_button.click()
    assert len([each for each in blank.table.findChildren(QLineEdit) if each.isVisible()]) == 1


def test_a_second_reading_at_a_hole(sheet: Sheet) -> None:
    sheet.go("Middle", "suction")
    sheet.panel.add_reading_button.click()
    assert sheet.at() == ("Middle", "at_rest", 1)
    sheet.enter("Middle", "applied", "60", 1)
    sheet.enter("Middle", "suction", "11", 1)
    assert [r.suction for r in sheet.holes[1].readings] == [20.0, 11.0]
    assert sheet.kept("Middle")[1] == "11\n2 of 2"
    # three holes with their titles and four readings, and the hole yet to be named
    assert sheet.panel.model.rowCount() == 3 * 2 + 4 + 1


def test_a_known_name_in_the_blank_row_means_one_reading_more(sheet: Sheet) -> None:
    sheet.enter(NEW, "name", "Middle")
    assert sheet.at() == ("Middle", "at_rest", 1)
    sheet.enter("Middle", "applied", "60", 1)
    sheet.enter("Middle", "suction", "11", 1)
    assert [r.suction for r in sheet.holes[1].readings] == [20.0, 11.0]


def test_a_reading_is_changed_and_a_hole_renamed(sheet: Sheet) -> None:
    sheet.enter("Near", "suction", "55.5")
    assert sheet.holes[0].readings[0].suction == 55.5
    sheet.enter("Near", "name", "By the stove")
    assert sheet.holes[0].name == "By the stove"
    assert sheet.bench.document.undo_words == "Rename hole Near"
    assert sheet.kept("By the stove")[0] == "By the stove"
    # where it stood, and as open as it was
    assert sheet.order() == ["Far", "Middle", "By the stove"]
    assert sheet.panel.model.opened("By the stove")
    sheet.bench.document.undo()
    assert sheet.kept("Near")[0] == "Near"


def test_a_reading_above_the_room_is_typed_with_a_minus_and_wondered_at(sheet: Sheet) -> None:
    sheet.enter("Far", "suction", "-2")
    assert sheet.holes[2].readings[0].suction == -2.0
    sheet.panel.pick(("holes", 2))
    assert "hoses of the gauge" in sheet.panel.story.text()


def test_what_cannot_be_read_stays_with_its_sentence_and_the_design_keeps_its_value(sheet: Sheet) -> None:
    sheet.enter("Near", "suction", "sixty")
    assert sheet.holes[0].readings[0].suction == 60.0
    assert sheet.shows("Near", "suction") == "sixty"
    assert sheet.fault().startswith("Near, at hole:")
    assert "not a number" in sheet.fault()
    # what is at fault is not shut away
    sheet.panel.model.open_all(False)
    assert sheet.shows("Near", "suction") == "sixty"
    sheet.enter("Near", "suction", "61")
    assert sheet.fault() == ""
    assert sheet.holes[0].readings[0].suction == 61.0


def test_what_the_record_refuses_stays_with_its_sentence(sheet: Sheet) -> None:
    sheet.enter("Near", "applied", "-5")
    assert sheet.holes[0].readings[0].applied == 120.0
    assert "greater than 0" in sheet.fault()
    assert sheet.shows("Near", "applied") == "-5"
    sheet.enter("Near", "applied", "130")
    assert sheet.fault() == ""


def test_a_name_taken_twice_is_refused_beside_it(sheet: Sheet) -> None:
    sheet.enter("Near", "name", "Far")
    assert [h.name for h in sheet.holes] == list(PLACES)
    assert "Two test holes are called 'Far'" in sheet.fault()


def test_wrong_units_are_refused_in_words(sheet: Sheet) -> None:
    sheet.enter("Near", "flow", "5 Pa")
    assert "not a flow" in sheet.fault()
    assert sheet.holes[0].readings[0].flow == 0.02


def test_a_whole_table_is_pasted_with_titles_units_and_decimal_commas(blank: Sheet) -> None:
    blank.go(NEW, "name")
    blank.paste(
        "Hole\tSuction at the point (in. w.c.)\tFlow (cfm)\tSuction (in. w.c.)\tAt rest (Pa)\n"
        "A\t20\t90\t0,08\t0,3\n"
        "\t10\t50\t0,04\t0,3\n"
        "B\t20\t90\t-0,002\t\n"
    )
    assert blank.fault() == ""
    assert [(h.name, len(h.readings)) for h in blank.holes] == [("A", 2), ("B", 1)]
    first = blank.holes[0].readings[0]
    assert first.applied == pytest.approx(20 * INCH_WATER)
    assert first.flow == pytest.approx(90 * CFM)
    assert first.suction == pytest.approx(0.08 * INCH_WATER)
    assert first.at_rest == 0.3
    assert blank.holes[1].readings[0].suction == pytest.approx(-0.002 * INCH_WATER)
    blank.bench.document.undo()
    assert blank.holes == ()


def test_pasting_again_takes_the_place_of_what_was_read_and_leaves_the_plan(sheet: Sheet) -> None:
    sheet.go("Near", "name")
    sheet.paste("Near\t0\t100\t18\t44\nCupboard\t0\t100\t18\t9\n")
    assert [h.name for h in sheet.holes] == [*PLACES, "Cupboard"]
    assert [r.suction for r in sheet.holes[0].readings] == [44.0]
    assert sheet.holes[0].position is not None
    assert sheet.holes[3].position is None
    assert sheet.kept("Cupboard")[VERDICT]


def test_a_column_is_pasted_over_the_readings_in_sight_below(sheet: Sheet) -> None:
    sheet.panel.model.sort_by("entered")
    sheet.go("Near", "suction")
    sheet.paste("51\n22\n7,5\n")
    assert [h.readings[0].suction for h in sheet.holes] == [51.0, 22.0, 7.5]
    sheet.go("Near", "suction")
    sheet.paste("51\n22\n7\n6\n5\n")
    assert "hole names" in sheet.fault()
    assert sheet.holes[2].readings[0].suction == 7.5


def test_a_column_goes_into_no_hole_that_is_shut(sheet: Sheet) -> None:
    """What is pasted without names lands where it can be seen to land, in the order shown."""
    assert sheet.order() == ["Far", "Middle", "Near"]
    sheet.panel.model.open_hole("Middle", False)
    sheet.go("Far", "suction")
    sheet.paste("7\n22\n")
    assert "hole names" in sheet.fault()
    assert [h.readings[0].suction for h in sheet.holes] == [60.0, 20.0, 8.0]
    sheet.panel.model.open_hole("Middle")
    sheet.go("Far", "suction")
    sheet.paste("7\n22\n")
    assert [h.readings[0].suction for h in sheet.holes] == [60.0, 22.0, 7.0]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("A\t0\t120\t20\tlots", "Row 1, at hole"),
        ("", "nothing to read"),
        ("Hole\tFlow (L/s)\n", "no readings"),
        ("A\t0\t120\t20\t\n", "at the hole"),
        ("A\t0\t-120\t20\t5\n", "greater than 0"),
        ("Hole\tFlow\tFlow\nA\t1\t2\n", "Two columns"),
    ],
)
def test_a_paste_that_cannot_be_taken_says_why_and_changes_nothing(blank: Sheet, text: str, says: str) -> None:
    blank.go(NEW, "name")
    blank.paste(text)
    assert says in blank.fault()
    assert blank.holes == ()


def test_a_reading_is_removed_and_a_hole_with_all_that_was_read_there(sheet: Sheet) -> None:
    sheet.go("Middle", "suction")
    QTest.keyClick(sheet.table, KEY.Key_Delete, CONTROL)
    # the hole stays, and is not measured
    assert [(h.name, len(h.readings)) for h in sheet.holes] == [("Near", 1), ("Middle", 0), ("Far", 1)]
    assert "not measured" in sheet.kept("Middle")[VERDICT]
    sheet.bench.document.undo()
    sheet.go("Middle", "name")
    QTest.keyClick(sheet.table, KEY.Key_Delete, CONTROL)
    assert [h.name for h in sheet.holes] == ["Near", "Far"]
    sheet.bench.document.undo()
    assert [h.name for h in sheet.holes] == list(PLACES)


def test_emptying_what_a_reading_needs_takes_it_out_and_keeps_the_rest_in_sight(sheet: Sheet) -> None:
    sheet.go("Near", "suction")
    QTest.keyClick(sheet.table, KEY.Key_Delete)
    assert sheet.holes[0].readings == ()
    assert sheet.shows("Near", "applied") == "120"
    assert sheet.shows("Near", "flow") == "20"
    sheet.enter("Near", "suction", "58")
    assert sheet.holes[0].readings[0] == read(58.0)


def test_an_emptied_flow_was_not_measured(sheet: Sheet) -> None:
    sheet.go("Near", "flow")
    QTest.keyClick(sheet.table, KEY.Key_Delete)
    assert sheet.holes[0].readings[0].flow is None


def test_the_point_is_asked_only_where_there_are_two(qtbot: QtBot, sheet: Sheet) -> None:
    column = READING_KEYS.index("point")
    lines = sheet.panel.model.lines()
    assert not any(sheet.panel.model.editable(line, column) for line in lines if line.kind == "reading")
    assert sheet.shows("Near", "point") == "Reading 1"
    other = Sheet(qtbot, job(three(), point("Pit"), point("Other", (7.0, 4.0))))
    assert other.shows("Near", "point") == "Pit"
    other.enter("Near", "point", "other")
    assert other.holes[0].readings[0].point == "Other"
    assert other.kept("Near")[1] == "60\nOther"
    other.enter("Near", "point", "Nowhere")
    assert "no suction point" in other.fault()
    other.enter("Near", "point", "Pit")
    other.enter(NEW, "name", "New")
    other.enter("New", "applied", "100")
    other.enter("New", "suction", "10")
    assert "enter the suction point" in other.fault().lower()
    other.enter("New", "point", "Pit")
    assert other.holes[3].readings[0].point == "Pit"
    assert other.fault() == ""


def test_in_the_row_of_a_hole_stands_what_it_keeps_with_band_and_verdict(sheet: Sheet) -> None:
    holding = sheet.bench.document.outcome.holding
    assert holding is not None
    for present, state in zip(sheet.holes, holding.holes, strict=True):
        name, latest, now, worst, verdict = sheet.kept(state.name)
        assert name == state.name
        assert (
            latest == f"{format_quantity(present.readings[-1].suction, 'hole_pressure', SI, with_unit=False)}\n1 of 1"
        )
        assert now.startswith(format_quantity(state.suction, "hole_pressure", SI, with_unit=False))
        assert worst.startswith(format_quantity(state.worst, "hole_pressure", SI, with_unit=False))
        assert " to " in worst
        words, _, fit = verdict.partition("\n")
        assert words[2:] in ("meets target", "uncertain", "below target")
        assert re.fullmatch(r"fit error [+−0][\d.]* σ", fit)


def test_the_picked_hole_tells_its_story(sheet: Sheet) -> None:
    picked: list[object] = []
    sheet.panel.picked.connect(picked.append)
    sheet.go("Near", "suction")
    assert picked[-1] == ("holes", 0)
    assert sheet.panel.model.picked == 0
    assert "the model gives" in sheet.panel.story.text()
    assert "scaled to" in sheet.panel.story.text()
    assert "× the class value" in sheet.panel.factors.text()


def test_a_bad_reading_is_told_with_what_it_may_mean(qtbot: QtBot) -> None:
    sheet = Sheet(qtbot, job(three(middle=150.0, near=60.0), floor=slab()), opened=False)
    sheet.panel.pick(("holes", 1, "readings", 0))
    # the hole is opened for it
    assert sheet.at()[::2] == ("Middle", 0)
    assert sheet.table.currentIndex().row() == sheet.row("Middle", 0)
    story = sheet.panel.story.text()
    assert "standard errors too high" in story
    assert "fit error +" in sheet.kept("Middle")[VERDICT]


def test_without_a_plan_it_says_how_the_season_is_taken(qtbot: QtBot) -> None:
    sheet = Sheet(qtbot, job(unplaced(three())))
    assert "No floor plan" in sheet.panel.factors.text()
    assert "fit error" not in sheet.kept("Near")[VERDICT]


def test_other_units_change_titles_and_figures_but_not_the_design(sheet: Sheet) -> None:
    before = sheet.holes
    sheet.panel.set_system(US)

    def title(key: str) -> str:
        return str(sheet.panel.model.index(sheet.row("Near") + 1, READING_KEYS.index(key)).data())

    assert title("suction") == "At hole\nPa"
    assert title("applied") == "At point\nin. w.c."
    assert sheet.shows("Near", "suction") == "60"
    sheet.panel.set_system(IN_WATER)
    assert title("suction") == "At hole\nin. w.c."
    assert sheet.shows("Near", "suction") == "0.2409"
    sheet.enter("Near", "suction", "0.25")
    assert sheet.holes[0].readings[0].suction == pytest.approx(0.25 * INCH_WATER)
    sheet.bench.document.undo()
    assert sheet.holes == before


def test_opening_a_cell_and_leaving_it_changes_nothing(sheet: Sheet) -> None:
    sheet.panel.set_system(US)
    before, said = sheet.holes, len(sheet.bench.said)
    sheet.go("Near", "suction")
    sheet.table.edit(sheet.table.currentIndex())
    editor = QApplication.focusWidget()
    QTest.keyClick(editor, KEY.Key_Return)
    assert sheet.holes == before
    assert len(sheet.bench.said) == said


def test_tab_walks_the_cells_that_can_be_typed_into(sheet: Sheet) -> None:
    sheet.go("Far", "name")
    walked = []
    for _ in range(7):
        QTest.keyClick(sheet.table, KEY.Key_Tab)
        walked.append(sheet.at()[:2])
    assert walked[:6] == [("Far", key) for key in ("at_rest", "applied", "flow", "suction", "exhausts")] + [
        ("Middle", "name")
    ]


def test_enter_goes_down_a_column_past_rows_that_are_only_read(sheet: Sheet) -> None:
    sheet.enter("Far", "suction", "8.5")
    assert sheet.at() == ("Middle", "suction", 0)


def test_copied_cells_paste_back_as_they_were(sheet: Sheet) -> None:
    sheet.table.selectAll()
    QTest.keyClick(sheet.table, KEY.Key_C, CONTROL)
    text = QGuiApplication.clipboard().text()
    block = read_block(text, quantities(SI), order=KEYS)
    assert block.guesses == ()
    rows = {row["name"]: row for row in block.records()}
    assert {name: rows[name]["suction"] for name in PLACES} == {"Near": 60.0, "Middle": 20.0, "Far": 8.0}
    sheet.go("Near", "suction")
    QTest.keyClick(sheet.table, KEY.Key_C, CONTROL)
    assert QGuiApplication.clipboard().text() == "60"


def test_a_moved_speed_leaves_what_is_half_typed_alone(sheet: Sheet) -> None:
    sheet.go("Near", "suction")
    QTest.keyClicks(sheet.table, "7")
    editor = QApplication.focusWidget()
    sheet.bench.document.propose(lambda design: design.model_copy(update={"speed": 0.5}), "Change speed")
    # an answer on its way greys what stands there, and writes over nothing
    sheet.panel.set_stale(True)
    assert QApplication.focusWidget() is editor
    QTest.keyClicks(editor, "1")
    QTest.keyClick(editor, KEY.Key_Return)
    # the table takes what was typed in the next pass of the event loop
    QApplication.sendPostedEvents()
    assert sheet.holes[0].readings[0].suction == 71.0


# --- opening and sorting ----------------------------------------------------------------------------------------------


def test_at_first_the_weakest_hole_is_first_and_open_and_nothing_is_picked_on_the_plan(qtbot: QtBot) -> None:
    picked: list[object] = []
    panel = HolesPanel()
    qtbot.addWidget(panel)
    panel.picked.connect(picked.append)
    bench = Bench(panel, job(three(), floor=slab()))
    holding = bench.document.outcome.holding
    assert holding is not None
    names = [line.name for line in panel.model.lines() if line.kind == "hole"]
    worst = {state.name: state.worst for state in holding.holes}
    assert names == [*sorted(worst, key=worst.__getitem__), NEW]
    assert names[0] == holding.weakest
    assert [name for name in names if panel.model.opened(name)] == [holding.weakest]
    assert panel.model.picked == 2
    assert picked == []


def test_a_click_on_the_title_sorts_as_entered_and_back(sheet: Sheet) -> None:
    header = sheet.table.horizontalHeader()

    def click(section: int) -> None:
        at = QPoint(header.sectionViewportPosition(section) + 20, header.height() // 2)
        QTest.mouseClick(header.viewport(), Qt.MouseButton.LeftButton, pos=at)

    assert "weakest" in str(sheet.panel.model.headerData(0, Qt.Orientation.Horizontal))
    click(0)
    assert sheet.order() == list(PLACES)
    assert "entered" in str(sheet.panel.model.headerData(0, Qt.Orientation.Horizontal))
    click(0)
    assert sheet.order() == ["Far", "Middle", "Near"]
    click(0)
    click(3)
    assert sheet.order() == ["Far", "Middle", "Near"]


def test_no_row_goes_from_under_the_hand_that_types_until_it_leaves(qtbot: QtBot, sheet: Sheet) -> None:
    sheet.enter("Far", "suction", "90")
    sheet.bench.settle()
    sheet.panel._rest.flush()
    assert sheet.order() == ["Far", "Middle", "Near"]
    sheet.go("Far", "suction")
    assert sheet.panel.model.picked == 2
    sheet.panel.paste_button.setFocus()
    qtbot.waitUntil(lambda: sheet.order() == ["Middle", "Near", "Far"])
    # the hand comes back to the cell it left
    assert sheet.at() == ("Far", "suction", 0)


def test_a_key_sorts_again_and_keeps_the_cell(sheet: Sheet) -> None:
    sheet.enter("Far", "suction", "90")
    sheet.go("Far", "flow")
    QTest.keyClick(sheet.table, KEY.Key_F5)
    assert sheet.order() == ["Middle", "Near", "Far"]
    assert sheet.at() == ("Far", "flow", 0)


def test_a_hole_that_is_not_known_comes_last() -> None:
    state = partial(HoleState, address=("holes", 0), measured=True, suction=1.0, band=(0.0, 2.0), worst_band=(0.0, 1.0))
    states = (
        state(name="A", known=False, worst=math.nan),
        state(name="B", known=True, worst=2.0),
        state(name="C", known=True, worst=-1.0),
    )
    holding = Holding(states, 1.0, 0.9, "C", -2.0, None, None, (), ())
    assert weakest_first(holding, ["A", "B", "C"]) == ["C", "B", "A"]
    assert weakest_first(None, ["B", "A"]) == ["B", "A"]


def test_a_hole_is_opened_and_shut_by_mouse_and_keys(qtbot: QtBot) -> None:
    sheet = Sheet(qtbot, job(three(), floor=slab()), opened=False)
    model = sheet.panel.model
    assert not model.opened("Near")
    box = sheet.table.visualRect(model.index(sheet.row("Near"), 0))
    QTest.mouseClick(sheet.table.viewport(), Qt.MouseButton.LeftButton, pos=box.topLeft() + QPoint(12, 12))
    assert model.opened("Near")
    sheet.go("Near", "name")
    for key, opened in (
        (KEY.Key_Left, False),
        (KEY.Key_Right, True),
        (KEY.Key_Return, False),
        (KEY.Key_Space, True),
    ):
        QTest.keyClick(sheet.table, key)
        assert model.opened("Near") == opened, key
        assert sheet.at()[0] == "Near"


@pytest.mark.parametrize("width", [400, 500, 700])
def test_no_verdict_and_no_figure_of_a_hole_is_cut(qtbot: QtBot, width: int) -> None:
    """Least of all that nobody measured."""
    unread = hole("Never read", at=(2.0, 5.0))
    sheet = Sheet(qtbot, job([*three(near=0.9, middle=20.0, far=-0.83), unread], floor=slab()), opened=False)
    sheet.panel.resize(width, 560)
    QApplication.sendPostedEvents()
    told = {stroke.text for stroke in strokes(sheet.table, "drawText")}
    assert {
        f"{SHAPES[verdict]} {words}" for verdict, words in VERDICT_WORDS.items() if verdict == "not measured"
    } < told
    assert not [text for text in told if "…" in text]


@pytest.mark.parametrize("system", [SI, US, IN_WATER, MINUS_IN_WATER], ids=["si", "us", "water", "minus"])
@pytest.mark.parametrize("width", [400, 500, 700])
def test_no_title_is_cut(qtbot: QtBot, width: int, system: System) -> None:
    """Titles of holes and of readings stand whole in their columns, with two suction points as well."""
    sheet = Sheet(qtbot, job(three(), point("Pit"), point("Other", (7.0, 4.0))))
    sheet.panel.set_system(system)
    sheet.panel.resize(width, 560)
    QApplication.sendPostedEvents()
    header, model = sheet.table.horizontalHeader(), sheet.panel.model
    small, titles, pad = QFontMetrics(header.font()), sheet.row("Near") + 1, pad_of(sheet.table)
    for column in range(len(READING_KEYS)):
        room = sheet.table.columnWidth(column) - (22 if column == 0 else 2) - 2 - pad
        words = str(model.index(titles, column).data()).replace("\n", " ").split(" ")
        assert max(map(small.horizontalAdvance, words)) <= room, words
        box = small.boundingRect(
            QRect(0, 0, room, 1000), int(Qt.TextFlag.TextWordWrap), str(model.index(titles, column).data())
        )
        assert box.height() <= sheet.table.rowHeight(titles), words
    for column in range(VERDICT + 1):
        wide = range(column, len(READING_KEYS)) if column == VERDICT else [column]
        room = sum(map(sheet.table.columnWidth, wide)) - (22 if column == 0 else pad) - pad
        words = str(model.headerData(column, Qt.Orientation.Horizontal))
        box = small.boundingRect(QRect(0, 0, room, 1000), int(Qt.TextFlag.TextWordWrap), words)
        assert box.width() <= room, words
        assert box.height() <= header.height(), words


def test_how_a_reading_was_made_is_told_and_kept_for_all(sheet: Sheet) -> None:
    how = sheet.panel.how
    sheet.go("Middle", "suction")
    assert how.isVisible()
    made = how.form.field("made_with")
    made.set_value("installed system")
    made.committed.emit("installed system")
    accuracy = how.form.field("accuracy").control()
    assert isinstance(accuracy, QLineEdit)
    for editor, text in ((accuracy, "1 %"), (how.form.field("resolution").control(), "0.05")):
        assert isinstance(editor, QLineEdit)
        editor.selectAll()
        QTest.keyClicks(editor, text)
        QTest.keyClick(editor, KEY.Key_Return)

    def kept(hole: int) -> tuple[str, float, float]:
        reading = sheet.holes[hole].readings[0]
        return reading.made_with, reading.accuracy, reading.resolution

    assert kept(1) == ("installed system", 0.01, 0.05)
    assert kept(0) == ("test vacuum", 0.03, 0.2)
    before = [[(r.applied, r.suction, r.flow) for r in hole.readings] for hole in sheet.holes]
    how.alike_button.click()
    assert {kept(h) for h in range(len(sheet.holes))} == {("installed system", 0.01, 0.05)}
    assert [[(r.applied, r.suction, r.flow) for r in hole.readings] for hole in sheet.holes] == before
    assert not how.alike_button.isEnabled()
    # a number pasted over it keeps how it was read
    sheet.go("Middle", "suction")
    sheet.paste("17")
    assert sheet.holes[1].readings[0].suction == 17.0
    assert kept(1) == ("installed system", 0.01, 0.05)


def test_what_is_refused_of_how_it_was_read_stands_beside_it(sheet: Sheet) -> None:
    sheet.go("Near", "suction")
    field = sheet.panel.how.form.field("resolution")
    editor = field.control()
    assert isinstance(editor, QLineEdit)
    editor.selectAll()
    QTest.keyClicks(editor, "0")
    QTest.keyClick(editor, KEY.Key_Return)
    assert field.fault()
    assert sheet.holes[0].readings[0].resolution == 0.2


def test_everything_has_a_name_and_both_themes_are_worn(sheet: Sheet) -> None:
    sheet.panel.apply_theme(DARK)
    for widget in sheet.panel.findChildren(QWidget):
        if widget.focusPolicy() != Qt.FocusPolicy.NoFocus and not widget.objectName().startswith("qt_"):
            viewport = widget.parent() is not None and getattr(widget.parent(), "viewport", lambda: None)() is widget
            label = widget.inherits("QLabel") or widget.inherits("QHeaderView")
            # the list of a combo box hangs in a window of its own
            label = label or widget.window() is not sheet.panel.window()
            assert viewport or label or widget.accessibleName(), widget
    assert all(column.hint for column in COLUMNS)
