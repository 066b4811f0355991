"""The page of choices used as a person uses it, against a real document and a search beside the window."""

from __future__ import annotations

import csv
import io
import threading
from functools import partial
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QCheckBox, QLineEdit, QPushButton, QWidget
from pytestqt.qtbot import QtBot

from tests.gui.bench import Bench
from tests.jobs import ground_only, record
from workbench.design import Design, Listener, Search
from workbench.design.record import with_value
from workbench.design.slab import HoleReading, Target, TestHole
from workbench.files.choices_table import COLUMNS
from workbench.gui.choices import page as choices_page
from workbench.gui.choices.page import ChoicesPage
from workbench.gui.kit.field import Field
from workbench.gui.kit.theme import DARK, LIGHT
from workbench.solving.choices.search import Cancelled
from workbench.units import SI, US, System, to_display

LEFT, NONE = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
CONTROL = Qt.KeyboardModifier.ControlModifier


def design(**fields: Any) -> Design:
    fans = (
        record([0.0, 0.1], [400.0, 0.0], [40.0, 40.0], name="Strong", price=300.0, least_speed=0.2, sound_dBA=50.0),
        record([0.0, 0.1], [250.0, 0.0], [20.0, 20.0], name="Weak", price=100.0, least_speed=0.2, sound_dBA=40.0),
    )
    hole = TestHole(name="A", readings=(HoleReading(point="Pit", applied=100.0, flow=0.02, suction=10.0),))
    plain = ground_only(fans[0], 4000.0, holes=(hole,), target=Target(suction=2.0))
    search = Search(pits=(0.05,), pipes=("3 in. schedule 40",))
    given = {name: getattr(plain, name) for name in Design.model_fields}
    return Design.model_validate(given | {"fans": fans, "fan": "Strong", "search": search} | fields)


class Desk(Bench):
    """The page with a document behind it, as in the window."""

    def __init__(self, qtbot: QtBot, start: Design | None = None) -> None:
        self.qtbot = qtbot
        self.page = ChoicesPage()
        qtbot.addWidget(self.page)
        self.page.apply_theme(LIGHT)
        super().__init__(self.page, start or design())
        self.told: list[str] = []
        self.page.told.connect(self.told.append)
        self.page.resize(1280, 560)
        self.page.show()

    def press(self, words: str) -> None:
        button = next(b for b in self.page.findChildren(QPushButton) if b.text().replace("&", "").startswith(words))
        assert button.isEnabled(), words
        QTest.mouseClick(button, LEFT)

    def named(self, kind: type[QWidget], name: str) -> Any:
        return next(w for w in self.page.findChildren(kind) if w.accessibleName() == name)

    def search(self) -> None:
        self.press("Search")
        self.qtbot.waitUntil(lambda: not self.page.searching(), timeout=20000)

    def cells(self, title: str) -> list[str]:
        model = self.page.view.model()
        at = next(c for c, column in enumerate(COLUMNS) if column.title == title)
        return [str(model.index(r, at).data()) for r in range(model.rowCount())]

    def click(self, row: int, keys: Qt.KeyboardModifier = NONE) -> None:
        view = self.page.view
        spot = view.visualRect(view.model().index(row, 0)).center()
        QTest.mouseClick(view.viewport(), LEFT, keys, spot)


@pytest.fixture
def desk(qtbot: QtBot) -> Desk:
    return Desk(qtbot)


def test_a_search_fills_table_plot_and_sentences(desk: Desk) -> None:
    assert desk.page.run.text() == "Sea&rch 8 options"
    desk.search()
    found = desk.page.view.choices.rows
    assert len(found) == 8
    assert desk.cells("Fan") == [row.fan for row in found]
    assert desk.cells("Life-cycle cost") == [f"{row.life_cycle:.0f}" for row in found]
    assert desk.cells("Result")[0] == "● meets target"
    assert desk.page.words.text().startswith("Lowest life-cycle cost: “")
    # the best is picked, and ringed in the plot
    assert desk.page.view.picks() == [0]
    ring = desk.page.plot._rings.points()[0].pos()
    assert (ring.x(), ring.y()) == pytest.approx((found[0].first, found[0].yearly))


def test_the_window_lives_and_the_search_can_be_called_off(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    begun, main = threading.Event(), threading.get_ident()
    worker: list[int] = []

    def endless(_design: Design, tell: Any, cancelled: Any, _hours: Any) -> None:
        worker.append(threading.get_ident())
        tell(3, 8)
        begun.set()
        while not cancelled():
            begun.wait(0.001)
        raise Cancelled

    desk.search()
    before = desk.page.view.choices.rows
    monkeypatch.setattr(choices_page, "search", endless)
    desk.press("Search")
    desk.qtbot.waitUntil(lambda: desk.page.said.text() == "3 of 8 tried")
    assert worker != [main]
    assert desk.page.searching()
    assert desk.page.bar.isVisible()
    assert not desk.page.run.isEnabled()
    desk.press("Stop")
    desk.qtbot.waitUntil(lambda: not desk.page.searching())
    assert desk.page.said.text() == "Stopped."
    assert desk.page.run.isEnabled()
    assert not desk.page.bar.isVisible()
    # what was found before stays
    assert desk.page.view.choices.rows is before


def test_closing_the_page_ends_its_search(qtbot: QtBot, monkeypatch: pytest.MonkeyPatch) -> None:
    ended = threading.Event()

    def endless(_design: Design, _tell: Any, cancelled: Any, _hours: Any) -> None:
        while not cancelled():
            ended.wait(0.001)
        ended.set()
        raise Cancelled

    monkeypatch.setattr(choices_page, "search", endless)
    page = ChoicesPage()
    page.show_design(design())
    page.search()
    page.deleteLater()
    qtbot.waitUntil(ended.is_set)


def test_rows_are_sorted_by_what_they_are_and_not_by_their_letters(desk: Desk) -> None:
    desk.search()
    at = next(c for c, column in enumerate(COLUMNS) if column.title == "Installed cost")
    for order in (Qt.SortOrder.AscendingOrder, Qt.SortOrder.DescendingOrder):
        desk.page.view.sortByColumn(at, order)
        shown = [float(text) for text in desk.cells("Installed cost")]
        assert shown == sorted(shown, reverse=order == Qt.SortOrder.DescendingOrder)


def test_what_is_not_known_stands_last_whichever_way(qtbot: QtBot) -> None:
    # at this target the weak fan holds on no pipe
    desk = Desk(qtbot, design(target=Target(suction=18.0)))
    desk.search()
    assert {row.holds for row in desk.page.view.choices.rows} == {True, False}
    at = next(c for c, column in enumerate(COLUMNS) if column.title == "Life-cycle cost")
    for order in (Qt.SortOrder.AscendingOrder, Qt.SortOrder.DescendingOrder):
        desk.page.view.sortByColumn(at, order)
        shown = desk.cells("Life-cycle cost")
        assert shown[-1] == "–"
        known = [text for text in shown if text != "–"]
        assert shown[: len(known)] == known


def test_words_and_a_tick_sift_the_rows(qtbot: QtBot) -> None:
    desk = Desk(qtbot, design(target=Target(suction=18.0)))
    desk.search()
    every = len(desk.cells("Fan"))
    sieve = desk.named(QLineEdit, "Filter rows by words")
    QTest.keyClicks(sieve, "strong 3 in.")
    assert set(desk.cells("Fan")) == {"Strong"}
    assert set(desk.cells("Pipe")) == {"3 in. schedule 40"}
    sieve.clear()
    assert len(desk.cells("Fan")) == every
    box = next(b for b in desk.page.findChildren(QCheckBox) if b.text().replace("&", "") == "Only passing")
    box.click()
    assert set(desk.cells("Result")) == {"● meets target"}
    assert 0 < len(desk.cells("Fan")) < every


def test_what_was_not_measured_has_a_mark_of_its_own(qtbot: QtBot) -> None:
    unread = TestHole(name="A", readings=design().holes[0].readings), TestHole(name="B")
    desk = Desk(qtbot, design(holes=unread))
    desk.search()
    assert {text.split(", ")[0] for text in desk.cells("Result")} == {"▢ not measured"}
    assert "Not measured: B." in desk.page.words.text()
    assert "▢" in desk.page.plot._key.text()
    assert "○" not in desk.page.plot._key.text()
    box = next(b for b in desk.page.findChildren(QCheckBox) if b.text().replace("&", "") == "Only passing")
    box.click()
    assert desk.cells("Fan") == []


def test_a_choice_opens_as_the_design_and_can_be_undone(desk: Desk) -> None:
    desk.search()
    start = desk.design
    desk.click(2)
    choice = desk.page.view.choices.rows[2]
    desk.press("Use this design")
    assert desk.said == [f"Use the option “{choice.fan}”"]
    assert desk.design.fan == choice.fan
    assert desk.design.speed == choice.speed
    assert [point.pit_volume for _, point in desk.design.suction_points()] == [choice.pit_volume]
    # one opened from what was found does not make it stale, so that the next can be looked at
    assert not desk.page.stale()
    desk.page.view.setFocus()
    desk.click(0)
    QTest.keyClick(desk.page.view, Qt.Key.Key_Return)
    assert desk.design.speed == desk.page.view.choices.rows[0].speed
    desk.document.undo()
    desk.document.undo()
    assert desk.design == start
    assert not desk.page.stale()


def test_speed_and_fan_leave_what_was_found_fresh_and_the_mark_follows(desk: Desk) -> None:
    desk.search()
    marks = []
    for speed in (0.9, 0.6):
        desk.document.propose(lambda d, speed=speed: with_value(d, ("speed",), speed), "Change speed")
        marks.append(desk.page.plot._today.points()[0].pos())
    assert not desk.page.stale()
    year = desk.document.outcome.year
    assert year is not None
    assert marks[1].y() == pytest.approx(year.cost)
    assert marks[1].y() < marks[0].y()


def test_a_changed_design_greys_what_was_found(desk: Desk) -> None:
    desk.search()
    desk.document.propose(lambda d: with_value(d, ("target", "suction"), 3.0), "Change target")
    assert desk.page.stale()
    assert desk.page.said.text() == "These results are for an earlier version of the design. Search again."
    ink = desk.page.view.model().index(0, 0).data(Qt.ItemDataRole.ForegroundRole)
    assert ink == LIGHT.colour("muted")
    before = desk.design
    desk.page.open(1)
    assert desk.design == before
    desk.search()
    assert not desk.page.stale()
    assert desk.page.said.text() == ""


def test_two_are_compared_by_what_differs(desk: Desk) -> None:
    desk.search()
    rows = desk.page.view.choices.rows
    other = next(i for i, row in enumerate(rows) if row.fan != rows[0].fan)
    desk.click(0)
    desk.click(other, CONTROL)
    assert sorted(desk.page.view.picks()) == [0, other]
    desk.press("Compare two")
    text = desk.page.words.text()
    assert f"Fan | {rows[0].fan} | {rows[other].fan}" in text
    same = [column for column in COLUMNS if column.cell(rows[0], SI) == column.cell(rows[other], SI)]
    assert same
    assert not any(line.startswith(f"{column.title} |") for column in same for line in text.splitlines())
    desk.click(1)
    assert desk.page.words.text().startswith("Lowest life-cycle cost")


def test_a_point_of_the_plot_picks_its_row_and_a_double_click_opens_it(desk: Desk) -> None:
    desk.search()
    chart, rows = desk.page.plot.chart, desk.page.view.choices.rows
    # the dearest to build; one that differs by a liter of the pit lies on the same dot
    apart = max(range(len(rows)), key=lambda i: rows[i].first)
    # the page is laid out anew round what was found
    QTest.qWait(20)
    at = chart.mapFromScene(chart.sheet.mapViewToScene(QPointF(rows[apart].first, rows[apart].yearly)))
    QTest.mouseMove(chart.viewport(), at)
    QTest.mouseClick(chart.viewport(), LEFT, NONE, at)
    (picked,) = desk.page.view.picks()
    assert (rows[picked].first, rows[picked].yearly) == pytest.approx((rows[apart].first, rows[apart].yearly), abs=0.5)
    assert picked != 0
    QTest.mouseDClick(chart.viewport(), LEFT, NONE, at)
    QTest.mouseRelease(chart.viewport(), LEFT, NONE, at)
    assert desk.design.speed == rows[picked].speed
    assert desk.design.fan == rows[picked].fan


@pytest.mark.parametrize("system", [SI, US])
def test_rows_are_copied_and_exported_as_they_stand(desk: Desk, tmp_path: Path, system: Any) -> None:
    desk.page.set_system(system)
    desk.search()
    rows = desk.page.view.choices.rows
    desk.click(1)
    desk.press("Copy")
    copied = list(csv.reader(io.StringIO(QGuiApplication.clipboard().text()), delimiter="\t"))
    assert len(copied) == 2
    assert copied[1][0] == rows[1].fan
    flow = next(i for i, title in enumerate(copied[0]) if title.startswith("Airflow"))
    assert copied[0][flow] == ("Airflow [L/s]" if system == SI else "Airflow [cfm]")
    assert float(copied[1][flow]) == pytest.approx(to_display(rows[1].flow, "flow", system), rel=1e-5)
    desk.page.save(tmp_path / "all.csv")
    table = list(csv.reader(io.StringIO((tmp_path / "all.csv").read_text(encoding="utf-8"))))
    assert [line[0] for line in table[1:]] == [row.fan for row in rows]
    desk.page.save(tmp_path / "all.xlsx")
    sheet = openpyxl.load_workbook(tmp_path / "all.xlsx").active
    assert sheet is not None
    assert [cell.value for cell in sheet[1]] == table[0]
    assert sheet.cell(2, flow + 1).value == pytest.approx(to_display(rows[0].flow, "flow", system))
    assert [p.name for p in tmp_path.iterdir() if "part" in p.name] == []
    assert desk.told == []


def test_a_file_that_cannot_be_written_is_told(desk: Desk, tmp_path: Path) -> None:
    desk.search()
    desk.page.save(tmp_path / "choices.txt")
    assert desk.told == ["choices.txt: choose a name that ends in .csv or .xlsx."]
    desk.page.save(tmp_path / "nowhere" / "choices.xlsx")
    desk.page.save(tmp_path / "nowhere" / "choices.csv")
    assert len(desk.told) == 3
    assert all(words.endswith(".") for words in desk.told)


def test_what_is_tried_is_typed_and_ticked(desk: Desk) -> None:
    form = desk.page.form
    pits = form.tried.pits.control()
    assert isinstance(pits, QLineEdit)
    pits.selectAll()
    QTest.keyClicks(pits, "40; 60 L; 2 ft3")
    QTest.keyClick(pits, Qt.Key.Key_Return)
    assert desk.design.search.pits == pytest.approx((0.04, 0.06, 2 * 0.3048**3))
    form.tried.pipes.tick("4 in. schedule 40", True)
    assert desk.design.search.pipes == ("3 in. schedule 40", "4 in. schedule 40")
    form.tried.fans.tick("Weak", False)
    assert desk.design.search.fans == ("Strong",)
    assert desk.page.run.text() == "Sea&rch 12 options"
    # no fan at all would be no search
    form.tried.fans.tick("Strong", False)
    assert desk.design.search.fans == ()
    assert form.tried.fans.value() == ("Strong", "Weak")


def test_what_cannot_be_tried_is_said_beside_its_field(desk: Desk) -> None:
    form, before = desk.page.form, desk.design
    pits = form.tried.pits.control()
    assert isinstance(pits, QLineEdit)
    for text, words in (("40; 40", "a pit is listed twice"), ("-3", "greater than 0"), ("40; wide", "is not a number")):
        pits.selectAll()
        QTest.keyClicks(pits, text)
        QTest.keyClick(pits, Qt.Key.Key_Return)
        told = form.tried.pits.fault() + " ".join(desk.told)
        assert words.casefold() in told.casefold(), text
        assert desk.design.search.pits == before.search.pits


def test_costs_lie_folded_and_say_that_they_are_examples(desk: Desk) -> None:
    form = desk.page.form
    assert not form.costs.isVisible()
    form.fold.click()
    assert form.costs.isVisible()
    field = form.fields()[("search", "costs", "pipes", 0, "pipe")]
    assert "example price" in field.control().toolTip()
    editor = field.control()
    assert isinstance(editor, QLineEdit)
    editor.selectAll()
    QTest.keyClicks(editor, "19.5")
    QTest.keyClick(editor, Qt.Key.Key_Return)
    assert desk.design.search.costs.pipes[0].pipe == 19.5


def test_without_a_hole_the_page_says_what_it_needs(qtbot: QtBot) -> None:
    desk = Desk(qtbot, design(holes=()))
    assert not desk.page.run.isEnabled()
    assert desk.page.said.text().startswith("Enter at least one test hole")


def test_holes_of_which_nothing_is_known_are_told_of(qtbot: QtBot) -> None:
    desk = Desk(qtbot, design(holes=(TestHole(name="never read"),)))
    desk.search()
    assert desk.page.said.text().startswith("Nothing is known of any test hole")
    assert desk.page.run.isEnabled()


def test_a_limit_nothing_meets_is_named(qtbot: QtBot) -> None:
    start = with_value(design(), ("house", "listeners"), (Listener(name="Bed", distance=3.0),))
    desk = Desk(qtbot, with_value(start, ("search", "sound_limit"), 2.0))
    desk.search()
    assert desk.page.words.text().startswith("No option that was tried meets all limits")
    assert set(desk.cells("Result")) == {"▲ too loud"}
    assert desk.page.view.picks() == []


def test_units_and_theme_reach_every_part(desk: Desk) -> None:
    desk.search()
    desk.page.set_system(US)
    header = desk.page.view.model().headerData(2, Qt.Orientation.Horizontal)
    assert header == "Pit\n[gal]"
    assert "gal" in desk.page.words.text()
    desk.page.apply_theme(DARK)
    limits = next(c for c, column in enumerate(COLUMNS) if column.title == "Result")
    ink = desk.page.view.model().index(0, limits).data(Qt.ItemDataRole.ForegroundRole)
    assert ink == DARK.colour("good")


def test_a_part_of_the_search_is_brought_into_sight(desk: Desk) -> None:
    desk.page.pick(("search", "costs", "years"))
    assert desk.page.form.fold.isChecked()
    desk.page.pick(("search", "pits"))
    assert desk.page.form.tried.pits.control().hasFocus() or desk.page.focusWidget() is not None


@pytest.mark.parametrize("system", [SI, US])
def test_the_volumes_of_the_pits_are_read_whole(desk: Desk, system: System) -> None:
    change = partial(with_value, address=("search", "pits"), value=(0.01, 0.028, 0.057, 0.095))
    desk.document.propose(change, "Change pits")
    desk.page.set_system(system)
    field = next(f for f in desk.page.findChildren(Field) if f.name() == "Pit volumes")
    editor = field.control()
    assert isinstance(editor, QLineEdit)
    margins = editor.textMargins()
    room = editor.width() - margins.left() - margins.right() - 16
    assert len(editor.text().split(";")) == 4
    assert editor.fontMetrics().horizontalAdvance(editor.text()) <= room
