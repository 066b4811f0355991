"""The table of test holes, typed and pasted into as a person does, with a document behind it."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit, QWidget
from pytestqt.qtbot import QtBot

from tests.floors import PLACES, job, point, read, slab, three, unplaced
from tests.gui.bench import Bench
from workbench.design import Design
from workbench.design.slab import TestHole
from workbench.files.block import read_block
from workbench.gui.floor.holes_draft import COLUMNS, KEYS, quantities
from workbench.gui.floor.holes_panel import HolesPanel
from workbench.gui.kit.theme import DARK
from workbench.units import CFM, CUSTOM, INCH_WATER, SI, US, format_quantity, system_of

pytestmark = pytest.mark.qt_log_ignore("^This plugin does not support", extend=True)

KEY = Qt.Key
CONTROL = Qt.KeyboardModifier.ControlModifier


class Sheet:
    """The panel, what stands in its table, and a person's hands."""

    def __init__(self, qtbot: QtBot, design: Design) -> None:
        self.panel = HolesPanel()
        qtbot.addWidget(self.panel)
        self.bench = Bench(self.panel, design)
        self.panel.resize(430, 560)
        self.panel.show()
        qtbot.waitExposed(self.panel)
        self.panel.activateWindow()
        qtbot.waitUntil(self.panel.isActiveWindow)
        self.table = self.panel.table
        self.table.setFocus()

    @property
    def holes(self) -> tuple[TestHole, ...]:
        return self.bench.design.holes

    def go(self, row: int, key: str) -> None:
        self.table.go_to(row, KEYS.index(key))

    def type(self, text: str, after: Qt.Key = KEY.Key_Return) -> None:
        """Type into the current cell and leave it."""
        QTest.keyClicks(self.table, text[:1])
        editor = QApplication.focusWidget()
        assert editor is not self.table
        QTest.keyClicks(editor, text[1:])
        QTest.keyClick(editor, after)
        QApplication.sendPostedEvents()

    def enter(self, row: int, key: str, text: str) -> None:
        self.go(row, key)
        self.type(text)

    def shows(self, row: int, key: str) -> str:
        return str(self.panel.model.index(row, KEYS.index(key)).data())

    def paste(self, text: str) -> None:
        QGuiApplication.clipboard().setText(text)
        QTest.keyClick(self.table, KEY.Key_V, CONTROL)

    def fault(self) -> str:
        return self.panel.fault.text() if self.panel.fault.isVisible() else ""

    def kept(self, row: int) -> list[str]:
        return [self.panel.kept_model.text(row, c) for c in range(5)]


@pytest.fixture
def sheet(qtbot: QtBot) -> Sheet:
    return Sheet(qtbot, job(three(), floor=slab()))


@pytest.fixture
def blank(qtbot: QtBot) -> Sheet:
    return Sheet(qtbot, job([]))


def test_a_hole_is_typed_from_nothing_to_an_answer(blank: Sheet) -> None:
    blank.go(0, "name")
    blank.type("Cellar door", KEY.Key_Tab)
    assert [h.name for h in blank.holes] == ["Cellar door"]
    assert blank.holes[0].readings == ()
    blank.enter(0, "applied", "120")
    assert blank.holes[0].readings == ()
    blank.enter(0, "suction", "0,05 in. w.c.")
    (reading,) = blank.holes[0].readings
    assert (reading.point, reading.applied, reading.flow) == ("Pit", 120.0, None)
    assert reading.suction == pytest.approx(0.05 * INCH_WATER)
    blank.enter(0, "flow", "20")
    blank.enter(0, "at_rest", "-0,4")
    blank.enter(0, "exhausts", "-1.5")
    (found,) = blank.holes
    assert (found.readings[0].flow, found.readings[0].at_rest, found.exhausts) == (0.02, -0.4, -1.5)
    assert "(" not in blank.kept(0)[1]
    assert " to " in blank.kept(0)[1]
    assert blank.kept(0)[3]


def test_every_step_can_be_taken_back(blank: Sheet) -> None:
    blank.enter(0, "name", "A")
    blank.enter(0, "applied", "120")
    blank.enter(0, "suction", "20")
    blank.bench.document.undo()
    assert blank.holes[0].readings == ()
    blank.bench.document.undo()
    assert blank.holes == ()
    assert blank.panel.model.rowCount() == 1
    blank.bench.document.redo()
    blank.bench.document.redo()
    assert blank.holes[0].readings[0].suction == 20.0


def test_values_typed_before_the_name_wait_for_it(blank: Sheet) -> None:
    blank.enter(0, "applied", "120")
    blank.enter(0, "suction", "20")
    assert blank.holes == ()
    blank.enter(0, "name", "A")
    assert blank.holes[0].readings[0].suction == 20.0


def test_a_second_reading_at_a_hole(sheet: Sheet) -> None:
    sheet.go(1, "suction")
    sheet.panel.add_reading_button.click()
    row = sheet.table.currentIndex().row()
    assert row == 2
    sheet.enter(row, "applied", "60")
    sheet.enter(row, "suction", "11")
    assert [r.suction for r in sheet.holes[1].readings] == [20.0, 11.0]
    assert sheet.shows(2, "name") == ""
    assert sheet.panel.model.rowCount() == 5


def test_a_known_name_in_the_blank_row_means_one_reading_more(sheet: Sheet) -> None:
    sheet.enter(3, "name", "Middle")
    sheet.enter(2, "applied", "60")
    sheet.enter(2, "suction", "11")
    assert [r.suction for r in sheet.holes[1].readings] == [20.0, 11.0]


def test_a_reading_is_changed_and_a_hole_renamed(sheet: Sheet) -> None:
    sheet.enter(0, "suction", "55.5")
    assert sheet.holes[0].readings[0].suction == 55.5
    sheet.enter(0, "name", "By the stove")
    assert sheet.holes[0].name == "By the stove"
    assert sheet.bench.document.undo_words == "Rename hole Near"
    assert sheet.shows(0, "name") == "By the stove"
    assert sheet.panel.kept_model.text(0, 0) == "By the stove"


def test_a_reading_above_the_room_is_typed_with_a_minus_and_wondered_at(sheet: Sheet) -> None:
    sheet.enter(2, "suction", "-2")
    assert sheet.holes[2].readings[0].suction == -2.0
    sheet.panel.pick(("holes", 2))
    assert "hoses of the gauge" in sheet.panel.story.text()


def test_what_cannot_be_read_stays_with_its_sentence_and_the_design_keeps_its_value(sheet: Sheet) -> None:
    sheet.enter(0, "suction", "sixty")
    assert sheet.holes[0].readings[0].suction == 60.0
    assert sheet.shows(0, "suction") == "sixty"
    assert "not a number" in sheet.fault()
    sheet.enter(0, "suction", "61")
    assert sheet.fault() == ""
    assert sheet.holes[0].readings[0].suction == 61.0


def test_what_the_record_refuses_stays_with_its_sentence(sheet: Sheet) -> None:
    sheet.enter(0, "applied", "-5")
    assert sheet.holes[0].readings[0].applied == 120.0
    assert "greater than 0" in sheet.fault()
    assert sheet.shows(0, "applied") == "-5"
    sheet.enter(0, "applied", "130")
    assert sheet.fault() == ""


def test_a_name_taken_twice_is_refused_beside_it(sheet: Sheet) -> None:
    sheet.enter(0, "name", "Far")
    assert [h.name for h in sheet.holes] == list(PLACES)
    assert "Two test holes are called 'Far'" in sheet.fault()


def test_wrong_units_are_refused_in_words(sheet: Sheet) -> None:
    sheet.enter(0, "flow", "5 Pa")
    assert "not a flow" in sheet.fault()
    assert sheet.holes[0].readings[0].flow == 0.02


def test_a_whole_table_is_pasted_with_titles_units_and_decimal_commas(blank: Sheet) -> None:
    blank.go(0, "name")
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
    sheet.go(0, "name")
    sheet.paste("Near\t0\t100\t18\t44\nCupboard\t0\t100\t18\t9\n")
    assert [h.name for h in sheet.holes] == [*PLACES, "Cupboard"]
    assert [r.suction for r in sheet.holes[0].readings] == [44.0]
    assert sheet.holes[0].position is not None
    assert sheet.holes[3].position is None
    assert sheet.kept(3)[3]


def test_a_column_is_pasted_over_the_holes_below(sheet: Sheet) -> None:
    sheet.go(0, "suction")
    sheet.paste("51\n22\n7,5\n")
    assert [h.readings[0].suction for h in sheet.holes] == [51.0, 22.0, 7.5]
    sheet.go(0, "suction")
    sheet.paste("51\n22\n7\n6\n5\n")
    assert "hole names" in sheet.fault()
    assert sheet.holes[2].readings[0].suction == 7.5


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
    blank.go(0, "name")
    blank.paste(text)
    assert says in blank.fault()
    assert blank.holes == ()


def test_rows_are_removed_and_with_its_last_reading_the_hole(sheet: Sheet) -> None:
    sheet.go(1, "suction")
    QTest.keyClick(sheet.table, KEY.Key_Delete, CONTROL)
    assert [h.name for h in sheet.holes] == ["Near", "Far"]
    sheet.bench.document.undo()
    assert [h.name for h in sheet.holes] == list(PLACES)


def test_emptying_what_a_reading_needs_takes_it_out_and_keeps_the_rest_in_sight(sheet: Sheet) -> None:
    sheet.go(0, "suction")
    QTest.keyClick(sheet.table, KEY.Key_Delete)
    assert sheet.holes[0].readings == ()
    assert sheet.shows(0, "applied") == "120"
    assert sheet.shows(0, "flow") == "20"
    sheet.enter(0, "suction", "58")
    assert sheet.holes[0].readings[0] == read(58.0)


def test_an_emptied_flow_was_not_measured(sheet: Sheet) -> None:
    sheet.go(0, "flow")
    QTest.keyClick(sheet.table, KEY.Key_Delete)
    assert sheet.holes[0].readings[0].flow is None


def test_the_point_is_asked_only_where_there_are_two(qtbot: QtBot, sheet: Sheet) -> None:
    column = KEYS.index("point")
    assert sheet.table.isColumnHidden(column)
    other = Sheet(qtbot, job(three(), point("Pit"), point("Other", (7.0, 4.0))))
    assert not other.table.isColumnHidden(column)
    other.enter(0, "point", "other")
    assert other.holes[0].readings[0].point == "Other"
    other.enter(0, "point", "Nowhere")
    assert "no suction point" in other.fault()
    other.enter(0, "point", "Pit")
    other.enter(3, "name", "New")
    other.enter(3, "applied", "100")
    other.enter(3, "suction", "10")
    assert "enter the suction point" in other.fault().lower()
    other.enter(3, "point", "Pit")
    assert other.holes[3].readings[0].point == "Pit"
    assert other.fault() == ""


def test_beside_each_hole_stands_what_it_keeps_with_band_and_verdict(sheet: Sheet) -> None:
    holding = sheet.bench.document.outcome.holding
    assert holding is not None
    for row, state in enumerate(holding.holes):
        name, day, worst, verdict, misfit = sheet.kept(row)
        assert name == state.name
        assert day.startswith(format_quantity(state.suction, "pressure", SI, with_unit=False))
        assert " to " in worst
        assert any(word in verdict.replace("\n", " ") for word in ("meets target", "uncertain", "below target"))
        assert misfit[0] in "+−0"


def test_the_picked_hole_tells_its_story(sheet: Sheet) -> None:
    picked: list[object] = []
    sheet.panel.picked.connect(picked.append)
    sheet.go(2, "suction")
    assert picked[-1] == ("holes", 2)
    assert sheet.panel.kept.currentIndex().row() == 2
    assert "the model gives" in sheet.panel.story.text()
    assert "scaled to" in sheet.panel.story.text()
    assert "× the class value" in sheet.panel.factors.text()


def test_a_bad_reading_is_told_with_what_it_may_mean(qtbot: QtBot) -> None:
    sheet = Sheet(qtbot, job(three(middle=150.0, near=60.0), floor=slab()))
    sheet.panel.pick(("holes", 1, "readings", 0))
    assert sheet.table.currentIndex().row() == 1
    story = sheet.panel.story.text()
    assert "standard errors too high" in story
    assert sheet.kept(1)[4].startswith("+")


def test_without_a_plan_it_says_how_the_season_is_taken(qtbot: QtBot) -> None:
    sheet = Sheet(qtbot, job(unplaced(three())))
    assert "No floor plan" in sheet.panel.factors.text()
    assert sheet.kept(0)[4] == ""


def test_other_units_change_titles_and_figures_but_not_the_design(sheet: Sheet) -> None:
    before = sheet.holes
    sheet.panel.set_system(US)

    def title(key: str) -> str:
        return str(sheet.panel.model.headerData(KEYS.index(key), Qt.Orientation.Horizontal))

    assert title("suction") == "At hole\nPa"
    assert title("applied") == "At point\nin. w.c."
    assert sheet.shows(0, "suction") == "60"
    sheet.panel.set_system(system_of(CUSTOM, {"hole_pressure": "in. w.c."}, US))
    assert title("suction") == "At hole\nin. w.c."
    assert sheet.shows(0, "suction") == "0.2409"
    sheet.enter(0, "suction", "0.25")
    assert sheet.holes[0].readings[0].suction == pytest.approx(0.25 * INCH_WATER)
    sheet.bench.document.undo()
    assert sheet.holes == before


def test_opening_a_cell_and_leaving_it_changes_nothing(sheet: Sheet) -> None:
    sheet.panel.set_system(US)
    before, said = sheet.holes, len(sheet.bench.said)
    sheet.go(0, "suction")
    sheet.table.edit(sheet.table.currentIndex())
    editor = QApplication.focusWidget()
    QTest.keyClick(editor, KEY.Key_Return)
    assert sheet.holes == before
    assert len(sheet.bench.said) == said


def test_tab_walks_the_cells_that_can_be_typed_into(sheet: Sheet) -> None:
    sheet.go(0, "name")
    walked = []
    for _ in range(7):
        QTest.keyClick(sheet.table, KEY.Key_Tab)
        index = sheet.table.currentIndex()
        walked.append((index.row(), KEYS[index.column()]))
    assert walked[:6] == [(0, key) for key in ("at_rest", "applied", "flow", "suction", "exhausts")] + [(1, "name")]


def test_copied_cells_paste_back_as_they_were(sheet: Sheet) -> None:
    sheet.table.selectAll()
    QTest.keyClick(sheet.table, KEY.Key_C, CONTROL)
    text = QGuiApplication.clipboard().text()
    block = read_block(text, quantities(SI), order=sheet.table.shown_columns())
    assert block.guesses == ()
    rows = [row for row in block.records() if row.get("name") in PLACES]
    assert [row["suction"] for row in rows if "suction" in row][:3] == [60.0, 20.0, 8.0]


def test_a_moved_speed_leaves_what_is_half_typed_alone(sheet: Sheet) -> None:
    sheet.go(0, "suction")
    QTest.keyClicks(sheet.table, "7")
    editor = QApplication.focusWidget()
    sheet.bench.document.propose(lambda design: design.model_copy(update={"speed": 0.5}), "Change speed")
    assert QApplication.focusWidget() is editor
    QTest.keyClicks(editor, "1")
    QTest.keyClick(editor, KEY.Key_Return)
    # the table takes what was typed in the next pass of the event loop
    QApplication.sendPostedEvents()
    assert sheet.holes[0].readings[0].suction == 71.0


def test_how_a_reading_was_made_is_told_and_kept_for_all(sheet: Sheet) -> None:
    how = sheet.panel.how
    sheet.go(1, "suction")
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
    sheet.go(1, "suction")
    sheet.paste("17")
    assert sheet.holes[1].readings[0].suction == 17.0
    assert kept(1) == ("installed system", 0.01, 0.05)


def test_what_is_refused_of_how_it_was_read_stands_beside_it(sheet: Sheet) -> None:
    sheet.go(0, "suction")
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
