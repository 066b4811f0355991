"""What takes longer than a frame is solved beside the window: it lives on, greys what stands, and takes the newest."""

from __future__ import annotations

import gc
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QFileDialog
from pytestqt.qtbot import QtBot

from tests.gui.hand import Hand
from workbench.design import Design
from workbench.design import edit as edits
from workbench.design.record import value_at, with_value
from workbench.design.slab import TestHole
from workbench.files.curve_table import curve_table
from workbench.files.scenes import load_scene
from workbench.gui.app import open_window
from workbench.gui.floor.holes_rows import READING_KEYS
from workbench.gui.shell import solved
from workbench.gui.shell.answers import AWAITED, FAULTY, HeadView
from workbench.gui.shell.document import PATIENCE, Change, Document
from workbench.gui.window import FLOOR, SITE, MainWindow
from workbench.solving import prepare
from workbench.units import SI, US, format_quantity

pytestmark = pytest.mark.qt_log_ignore("^This plugin does not support", extend=True)

READING = ("holes", 0, "readings", 0, "suction")
PIT = ("intake", "source", "pit_volume")


class Gate:
    """Holds what is solved beside the window until it is opened."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.open = threading.Event()
        self.asked: list[Design] = []
        self.refuse = False
        here = threading.current_thread()

        def slowly(design: Design, hours: Any = None) -> Any:
            if threading.current_thread() is not here:
                self.asked.append(design)
                assert self.open.wait(20.0)
                if self.refuse:
                    raise ValueError("this floor makes no field")
            return prepare(design, hours)

        monkeypatch.setattr(Document, "patience", PATIENCE)
        monkeypatch.setattr(solved, "prepare", slowly)


@pytest.fixture
def gate(hand: Hand, monkeypatch: pytest.MonkeyPatch) -> Iterator[Gate]:
    """The window stands open and at rest; from now on everything solved beside it waits."""
    made = Gate(monkeypatch)
    yield made
    made.open.set()


def reading(factor: float) -> Change:
    return lambda design: with_value(design, READING, value_at(design, READING) * factor)


def propose(hand: Hand, change: Change, words: str = "Change reading") -> None:
    """As a page does."""
    hand.window.pages.proposed.emit(change, words)
    hand.settle()


def arrives(hand: Hand, qtbot: QtBot) -> None:
    qtbot.waitUntil(lambda: not hand.document.waiting, timeout=20000)


def test_a_typed_reading_greys_the_answer_and_the_window_lives_until_the_new_one_is_there(
    hand: Hand, gate: Gate, qtbot: QtBot
) -> None:
    hand.window.pages.turn_to(FLOOR)
    hand.settle()
    page, before = hand.window.pages.page(FLOOR), hand.answers()
    table = page.side.holes.table
    table.setFocus()
    model = page.side.holes.model
    model.open_hole(hand.design.holes[0].name)
    table.go_to(model.row_of(0, 0), READING_KEYS.index("suction"))
    QTest.keyClicks(table, "9")
    QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_Return)
    hand.settle()
    assert hand.document.waiting
    assert value_at(hand.design, READING) == pytest.approx(9.0)
    assert hand.stale()
    assert hand.answers() == before
    assert not page.side.holes.story.isEnabled()
    beats: list[float] = []
    pulse = QTimer(interval=5)
    pulse.timeout.connect(lambda: beats.append(time.perf_counter()))
    pulse.start()
    qtbot.waitUntil(lambda: len(beats) >= 20, timeout=5000)
    pulse.stop()
    assert hand.stale()
    gate.open.set()
    arrives(hand, qtbot)
    assert not hand.stale()
    assert hand.document.prepared is prepare(hand.design)
    assert hand.document.outcome.speed == hand.design.speed
    assert hand.answers() != before
    assert page.side.holes.story.isEnabled()
    qtbot.waitUntil(lambda: hand.document.outcome.rested, timeout=20000)


def test_the_verdict_says_whether_it_waits_for_the_answer_or_for_a_better_entry(
    hand: Hand, gate: Gate, qtbot: QtBot
) -> None:
    head = hand.window.rail.findChild(HeadView)
    assert head is not None
    propose(hand, reading(1.2))
    assert head.accessibleDescription().endswith(AWAITED)
    gate.open.set()
    arrives(hand, qtbot)
    assert "not updated" not in head.accessibleDescription()
    propose(hand, lambda design: with_value(design, PIT, -1.0))
    assert head.accessibleDescription().endswith(FAULTY)


def test_of_two_fast_edits_only_the_newest_is_told(hand: Hand, gate: Gate, qtbot: QtBot) -> None:
    told: list[Design] = []
    hand.document.answered.connect(lambda prepared, _outcome: told.append(prepared.design))
    propose(hand, reading(1.1))
    propose(hand, reading(1.1))
    propose(hand, reading(1.1))
    gate.open.set()
    arrives(hand, qtbot)
    assert {design.holes for design in told} == {hand.design.holes}
    # the first was under way already, the second was never begun
    assert len(gate.asked) == 2


def test_the_speed_is_answered_directly(hand: Hand, gate: Gate) -> None:
    hand.drag(0.5)
    assert not gate.asked
    assert hand.document.outcome.speed == hand.design.speed


def test_a_speed_dragged_while_a_reading_is_solved_is_that_of_the_answer(hand: Hand, gate: Gate, qtbot: QtBot) -> None:
    propose(hand, reading(1.2))
    hand.drag(0.55, 0.65)
    assert hand.document.waiting
    assert hand.stale()
    gate.open.set()
    arrives(hand, qtbot)
    assert hand.document.outcome.speed == hand.design.speed == hand.window.rail.speed()
    assert len(gate.asked) == 1


def test_undo_while_solving_brings_the_old_answer_back_at_once(hand: Hand, gate: Gate, qtbot: QtBot) -> None:
    before, answer = hand.design, hand.document.outcome.operating
    propose(hand, reading(1.3))
    assert hand.stale()
    hand.choose("Undo")
    assert not hand.document.waiting
    assert not hand.stale()
    assert hand.design == before
    assert hand.document.outcome.operating == answer
    hand.choose("Redo")
    assert hand.stale()
    gate.open.set()
    arrives(hand, qtbot)
    assert hand.document.prepared is prepare(hand.design)
    qtbot.waitUntil(lambda: hand.document.outcome.rested, timeout=20000)


def test_an_answer_of_a_design_that_is_no_longer_open_is_dropped(hand: Hand, gate: Gate, qtbot: QtBot) -> None:
    told: list[Any] = []
    propose(hand, reading(1.3))
    hand.document.open(load_scene("clubhouses"), None)
    hand.document.answered.connect(lambda prepared, _outcome: told.append(prepared.design.title))
    gate.open.set()
    qtbot.waitUntil(lambda: hand.document.outcome.rested, timeout=20000)
    assert set(told) == {load_scene("clubhouses").title}
    assert not hand.stale()


def test_an_edit_that_turns_out_to_have_no_answer_is_taken_back_and_told(hand: Hand, gate: Gate, qtbot: QtBot) -> None:
    before = hand.design
    refused: list[Any] = []
    hand.document.refused.connect(refused.append)
    propose(hand, reading(1.3))
    assert not refused
    gate.refuse = True
    gate.open.set()
    qtbot.waitUntil(lambda: bool(refused), timeout=20000)
    assert "makes no field" in refused[-1][0].text
    assert hand.design == before
    assert not hand.document.waiting
    assert hand.stale()
    assert hand.document.prepared.design.holes == before.holes
    gate.refuse = False
    propose(hand, reading(1.1))
    arrives(hand, qtbot)
    assert not hand.stale()


def holes_of(hand: Hand) -> Any:
    """The table of holes, in sight with every hole open."""
    hand.window.pages.turn_to(FLOOR)
    hand.settle()
    holes = hand.window.pages.page(FLOOR).side.holes
    holes.model.open_all(True)
    holes.table.setFocus()
    return holes


def type_into(hand: Hand, holes: Any, row: int, column: int, text: str) -> None:
    holes.table.go_to(row, column)
    QTest.keyClicks(holes.table, text[:1])
    editor = QApplication.focusWidget()
    assert editor is not holes.table
    QTest.keyClicks(editor, text[1:])
    QTest.keyClick(editor, Qt.Key.Key_Return)
    hand.settle()


def refused_late(hand: Hand, gate: Gate, qtbot: QtBot, before: Design) -> None:
    gate.refuse = True
    gate.open.set()
    qtbot.waitUntil(lambda: hand.design == before, timeout=20000)
    hand.settle()
    gate.refuse = False


def cell_of(holes: Any, hole: int | None, key: str, reading: int = 0) -> tuple[str, str]:
    """What stands in a cell, and what is said to be wrong with it."""
    column = 0 if key == "name" else READING_KEYS.index(key)
    row = holes.model.row_of(hole, None if key == "name" else reading)
    index = holes.model.index(row, column)
    return str(index.data(Qt.ItemDataRole.EditRole)), holes.model.fault_at(index)


NO_FIELD = "This floor makes no field."


def test_a_reading_typed_into_a_cell_that_has_no_answer_stays_there_marked_with_the_reason(
    hand: Hand, gate: Gate, qtbot: QtBot
) -> None:
    holes, before = holes_of(hand), hand.design
    column = READING_KEYS.index("suction")
    type_into(hand, holes, holes.model.row_of(0, 0), column, "9.25")
    assert value_at(hand.design, READING) == pytest.approx(9.25)
    refused_late(hand, gate, qtbot, before)
    assert cell_of(holes, 0, "suction") == ("9.25", NO_FIELD)
    assert NO_FIELD in holes.fault.text()
    assert before.holes[0].name in holes.fault.text()
    # another cell of the row is taken, and does not take it along
    type_into(hand, holes, holes.model.row_of(0, 0), READING_KEYS.index("at_rest"), "0.1")
    arrives(hand, qtbot)
    assert value_at(hand.design, (*READING[:-1], "at_rest")) == pytest.approx(0.1)
    assert value_at(hand.design, READING) == value_at(before, READING)
    assert cell_of(holes, 0, "suction") == ("9.25", NO_FIELD)
    # mended, it is taken
    type_into(hand, holes, holes.model.row_of(0, 0), column, "9.3")
    arrives(hand, qtbot)
    assert value_at(hand.design, READING) == pytest.approx(9.3)
    assert cell_of(holes, 0, "suction") == ("9.3", "")
    assert holes.fault.isHidden()


def test_a_reading_and_a_hole_begun_in_cells_that_have_no_answer_stay_there(
    hand: Hand, gate: Gate, qtbot: QtBot
) -> None:
    holes, before = holes_of(hand), hand.design
    name, count = before.holes[0].name, len(before.holes[0].readings)
    holes.model.open_reading(name)
    for key, text in (("at_rest", "0.2"), ("applied", "400"), ("suction", "7.75")):
        type_into(hand, holes, holes.model.row_of(0, count), READING_KEYS.index(key), text)
    assert len(hand.design.holes[0].readings) == count + 1
    refused_late(hand, gate, qtbot, before)
    assert cell_of(holes, 0, "suction", count) == ("7.75", NO_FIELD)
    assert cell_of(holes, 0, "applied", count) == ("400", "")
    gate.open.clear()
    type_into(hand, holes, holes.model.row_of(None), 0, "Larder")
    assert hand.design.holes[-1].name == "Larder"
    refused_late(hand, gate, qtbot, before)
    assert cell_of(holes, None, "name") == ("Larder", NO_FIELD)
    # another project with holes of those names knows nothing of it
    hand.document.open(before, None)
    hand.settle()
    assert holes.model.faults() == []
    assert cell_of(holes, None, "name") == ("", "")


def test_what_was_typed_and_has_no_answer_stays_in_its_field_until_it_is_mended(
    hand: Hand, gate: Gate, qtbot: QtBot
) -> None:
    hand.window.show_part(("intake", "source"))
    hand.settle()
    card = hand.window.site_page.site.card
    field, name = card.field(PIT), card.field(("intake", "source", "name"))

    def type_in(of: Any, text: str) -> None:
        QTest.mouseClick(of.control(), Qt.MouseButton.LeftButton)
        of.control().selectAll()
        QTest.keyClicks(of.control(), text)
        QTest.keyClick(of.control(), Qt.Key.Key_Return)
        hand.settle()

    before, shown = value_at(hand.design, PIT), field.text()
    type_in(field, "61")
    assert value_at(hand.design, PIT) == pytest.approx(0.061)
    gate.refuse = True
    gate.open.set()
    qtbot.waitUntil(lambda: value_at(hand.design, PIT) == before, timeout=20000)
    hand.settle()
    # the design goes back, what was typed does not: it stands there marked, with the reason
    assert field.text() == "61"
    assert field.fault() == "This floor makes no field."
    assert field.control().property("faulty") is True
    assert hand.stale()
    gate.refuse = False
    # beside it something else is entered, which does not take it along
    type_in(name, "Corner")
    arrives(hand, qtbot)
    assert value_at(hand.design, ("intake", "source", "name")) == "Corner"
    assert value_at(hand.design, PIT) == before
    assert field.text() == "61"
    assert field.fault() == "This floor makes no field."
    assert not hand.stale()
    # another part and back
    hand.window.show_part(("house",))
    hand.window.show_part(("intake", "source"))
    assert (field.text(), field.fault()) == ("61", "This floor makes no field.")
    type_in(name, "Old corner")
    arrives(hand, qtbot)
    assert value_at(hand.design, PIT) == before
    # Escape reverts it, and another value is taken as ever
    QTest.mouseClick(field.control(), Qt.MouseButton.LeftButton)
    QTest.keyClick(field.control(), Qt.Key.Key_Escape)
    assert (field.text(), field.fault()) == (shown, "")
    type_in(field, "62")
    arrives(hand, qtbot)
    assert value_at(hand.design, PIT) == pytest.approx(0.062)
    assert field.fault() == ""


def test_a_fault_of_the_program_beside_the_window_ends_the_waiting(
    hand: Hand, gate: Gate, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    noted: list[Any] = []
    monkeypatch.setattr("sys.excepthook", lambda *what: noted.append(what[1]))

    def broken(*_: Any) -> Any:
        gate.open.wait(20.0)
        raise KeyError("a slip")

    monkeypatch.setattr(solved, "prepare", broken)
    before = hand.design
    propose(hand, reading(1.3))
    gate.open.set()
    arrives(hand, qtbot)
    assert [type(each) for each in noted] == [KeyError]
    assert hand.design == before
    assert hand.document.faults


def test_what_is_copied_or_saved_while_solving_waits_for_the_answer_and_not_the_window_for_it(
    hand: Hand, gate: Gate, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    copied = QApplication.clipboard()
    hand.choose("Copy curve data")
    before = copied.text()
    assert before
    copied.setText("")
    propose(hand, reading(1.3))
    hand.window.pages.turn_to(FLOOR)
    written = tmp_path / "curves.csv"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(written), ""))
    hand.choose("Copy curve data")
    assert hand.document.waiting
    assert "Curve data will be copied" in hand.bar.text
    hand.window.site_page.ask_save_numbers()
    assert "curves.csv will be saved" in hand.bar.text
    assert not copied.text()
    assert not written.exists()
    gate.open.set()
    arrives(hand, qtbot)
    hand.settle()
    assert hand.bar.text == "curves.csv: saved."
    answer = hand.document.prepared, hand.document.outcome, SI
    assert copied.text() == curve_table(*answer, separator="\t") != before
    assert written.read_text(encoding="utf-8") == curve_table(*answer, separator=",")
    assert hand.document.prepared is prepare(hand.design)


def test_what_waits_to_be_copied_is_dropped_with_its_design(hand: Hand, gate: Gate, qtbot: QtBot) -> None:
    QApplication.clipboard().setText("mine")
    propose(hand, reading(1.3))
    hand.choose("Copy curve data")
    hand.document.open(load_scene("studio"), None)
    assert not hand.bar.text
    gate.open.set()
    arrives(hand, qtbot)
    hand.settle()
    assert QApplication.clipboard().text() == "mine"


def test_closing_while_solving_waits_for_nothing_and_leaves_no_thread(
    qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    threads = set(threading.enumerate())
    window = open_window(load_scene())
    window.show()
    gate = Gate(monkeypatch)
    window.pages.proposed.emit(reading(1.3), "Change reading")
    assert set(threading.enumerate()) - threads
    window.document.saved_as(window.document.path)  # type: ignore[arg-type]
    assert window.close()
    window.deleteLater()
    gone: list[int] = []
    window.destroyed.connect(lambda: gone.append(1))
    # the gate is shut: whoever waited for the work would wait for good
    qtbot.waitUntil(lambda: bool(gone), timeout=5000)
    assert set(threading.enumerate()) - threads
    # a worker that collects would take apart what is the window's
    assert not gc.isenabled()
    gate.open.set()
    qtbot.waitUntil(lambda: set(threading.enumerate()) <= threads, timeout=20000)
    qtbot.waitUntil(gc.isenabled, timeout=5000)


def test_a_window_opened_quickly_shows_first_and_solves_the_floor_beside(
    qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    gate = Gate(monkeypatch)
    window: MainWindow = open_window(load_scene(), quick=True)
    qtbot.addWidget(window, before_close_func=lambda w: w.document.saved_as(w.document.path))
    window.show()
    qtbot.waitUntil(lambda: bool(gate.asked), timeout=5000)
    assert not window.document.complete
    assert window.document.outcome.holding is None
    gate.open.set()
    qtbot.waitUntil(lambda: window.document.complete, timeout=20000)
    assert window.document.outcome.holding is not None


STRUCTURAL: list[tuple[str, Change]] = [
    ("Remove a hole", lambda d: with_value(d, ("holes",), d.holes[1:])),
    ("Add a hole", lambda d: with_value(d, ("holes",), (TestHole(name="New"), *d.holes))),
    ("Add a point", lambda d: edits.add_suction_point(d, ("intake",))),
    ("Take the floor away", lambda d: with_value(d, ("slab",), None)),
    ("Another job", lambda d: load_scene("clubhouses")),
]


@pytest.mark.parametrize(("words", "change"), STRUCTURAL, ids=[words for words, _ in STRUCTURAL])
def test_no_page_stumbles_over_the_answer_of_an_earlier_design(
    hand: Hand, gate: Gate, qtbot: QtBot, words: str, change: Callable[[Design], Design]
) -> None:
    pages = hand.window.pages
    for title in pages.titles:
        pages.turn_to(title)
        hand.settle()
    for title in (SITE, FLOOR):
        pages.turn_to(title)
        hand.document.settle()
        gate.open.clear()
        hand.settle()
        before = hand.design
        propose(hand, change, words)
        if not hand.document.waiting:
            gate.open.set()
            continue
        for other in (title, *pages.titles):
            pages.turn_to(other)
            hand.settle()
            page = pages.page(other)
            hand.window.set_system(US)
            page.repaint()
            hand.window.set_system(SI)
            page.repaint()
            qtbot.wait(5)
            assert not pages._slots[other].failed
        pages.turn_to(title)
        hand.choose("Undo")
        assert hand.design == before
        gate.open.set()


def test_a_hole_in_the_place_of_another_never_wears_its_verdict(hand: Hand, gate: Gate, qtbot: QtBot) -> None:
    hand.window.pages.turn_to(FLOOR)
    hand.settle()
    page = hand.window.pages.page(FLOOR)
    name, model = hand.design.holes[0].name, page.side.holes.model
    holding = hand.document.outcome.holding
    assert holding is not None
    said = format_quantity(holding.holes[0].worst, "hole_pressure", SI, with_unit=False)

    def row() -> list[str]:
        return [str(model.index(model.row_of(0), column).data()) for column in range(5)]

    assert any(said in text for text in row())

    def replaced(design: Design) -> Design:
        taken = design.holes[1].model_copy(update={"name": name})
        return with_value(design, ("holes",), (taken, *design.holes[2:]))

    propose(hand, replaced, "Put a hole in the place of another")
    assert hand.document.waiting
    assert row()[0] == name
    assert not any(said in text for text in row())
    assert page.view._outcome is None
