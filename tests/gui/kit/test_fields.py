"""The fields, used as a person uses them: typing, keys, leaving, the wheel."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QAccessible, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QFormLayout, QLabel, QLineEdit, QVBoxLayout, QWidget
from pytestqt.qtbot import QtBot

from workbench.gui.kit.field import PATIENCE_MS, PAUSE_MS
from workbench.gui.kit.fields import ChoiceEdit, CountEdit, Field, QuantityEdit, SwitchEdit, TextEdit
from workbench.units import SI, US

KEY = Qt.Key


class Sheet(QWidget):
    """A window with the field under test and another to go to."""

    def __init__(self, field: Field) -> None:
        super().__init__()
        layout = QVBoxLayout(self)
        layout.addWidget(field)
        self.elsewhere = QLineEdit()
        layout.addWidget(self.elsewhere)
        self.field = field
        self.heard: list[Any] = []
        field.committed.connect(self.heard.append)

    def line(self) -> QLineEdit:
        control = self.field.control()
        assert isinstance(control, QLineEdit)
        return control

    def type_in(self, text: str) -> None:
        self.field.setFocus()
        self.line().selectAll()
        QTest.keyClicks(self.line(), text)

    def press(self, key: Qt.Key) -> None:
        QTest.keyClick(self.field.control(), key)

    def sentence(self) -> str:
        label = self.field.findChild(QLabel, "fault")
        assert isinstance(label, QLabel)
        return label.text() if label.isVisible() else ""


def show_active(qtbot: QtBot, window: QWidget) -> None:
    with qtbot.waitActive(window):
        window.show()
        window.activateWindow()


@pytest.fixture
def sheet(qtbot: QtBot) -> Callable[[Field], Sheet]:
    def show(field: Field) -> Sheet:
        made = Sheet(field)
        qtbot.addWidget(made)
        show_active(qtbot, made)
        made.elsewhere.setFocus()
        return made

    return show


Show = Callable[[Field], Sheet]


def test_shows_a_value_without_emitting(sheet: Show) -> None:
    s = sheet(QuantityEdit("Pipe inside diameter", "small_length", US))
    s.field.set_value(0.0762)
    assert s.line().text() == "3"
    assert s.field.value() == 0.0762
    assert s.heard == []


@pytest.mark.parametrize("text", ["102,3", "102.3", "102.3 mm"])
def test_enter_commits_either_decimal_mark(sheet: Show, text: str) -> None:
    s = sheet(QuantityEdit("Pipe inside diameter", "small_length"))
    s.type_in(text)
    assert s.heard == []
    s.press(KEY.Key_Return)
    assert s.heard == [pytest.approx(0.1023)]
    assert s.line().text() == "102.3"


def test_typed_unit_of_the_other_system_is_shown_in_this_one(sheet: Show) -> None:
    s = sheet(QuantityEdit("Pipe inside diameter", "small_length"))
    s.type_in("1 1/2 in")
    s.press(KEY.Key_Return)
    assert s.heard == [0.0381]
    assert s.line().text() == "38.1"


def test_leaving_commits_once(sheet: Show) -> None:
    s = sheet(QuantityEdit("Flow", "flow"))
    s.type_in("30")
    s.elsewhere.setFocus()
    assert s.heard == [0.03]
    s.field.setFocus()
    s.elsewhere.setFocus()
    assert s.heard == [0.03]


def test_looking_at_a_rounded_value_does_not_change_it(sheet: Show) -> None:
    s = sheet(QuantityEdit("Flow", "flow", US))
    s.field.set_value(0.0333333333)
    s.field.setFocus()
    s.press(KEY.Key_Return)
    s.elsewhere.setFocus()
    assert s.heard == []
    assert s.field.value() == 0.0333333333


def test_valid_text_is_taken_after_a_rest_and_left_as_typed(sheet: Show, qtbot: QtBot) -> None:
    s = sheet(QuantityEdit("Flow", "flow"))
    s.type_in("30,0")
    with qtbot.waitSignal(s.field.committed, timeout=PAUSE_MS * 4):
        pass
    assert s.heard == [0.03]
    assert s.line().text() == "30,0"
    s.elsewhere.setFocus()
    assert s.heard == [0.03]
    assert s.line().text() == "30"


def test_bad_text_says_why_and_keeps_the_value(sheet: Show) -> None:
    s = sheet(QuantityEdit("Riser suction", "pressure"))
    s.field.set_value(125.0)
    s.type_in("80 cfm")
    s.press(KEY.Key_Return)
    assert s.sentence() == s.field.fault() == "80 cfm is a flow, not a pressure."
    assert s.field.value() == 125.0
    assert s.line().text() == "80 cfm"
    assert s.heard == []
    assert "80 cfm is a flow" in s.line().accessibleDescription()
    s.type_in("130")
    s.press(KEY.Key_Return)
    assert s.sentence() == ""
    assert s.heard == [130.0]


def test_bad_text_is_spoken_of_after_patience_alone(sheet: Show, qtbot: QtBot) -> None:
    s = sheet(QuantityEdit("Flow", "flow"))
    s.type_in("3/")
    assert s.sentence() == ""
    qtbot.waitUntil(lambda: s.sentence() == "“3/” is not a number.", timeout=3 * (PAUSE_MS + PATIENCE_MS))
    assert s.heard == []


def test_bad_text_and_its_sentence_survive_the_same_value_coming_back(sheet: Show) -> None:
    s = sheet(QuantityEdit("Flow", "flow"))
    s.field.set_value(0.03)
    s.type_in("thirty")
    s.elsewhere.setFocus()
    s.field.set_value(0.03)
    assert s.line().text() == "thirty"
    assert s.sentence()
    # nothing typed is lost either where another value comes; it waits behind the text
    s.field.set_value(0.04)
    assert s.line().text() == "thirty"
    assert s.sentence()
    s.field.setFocus()
    s.press(KEY.Key_Escape)
    assert s.line().text() == "40"
    assert s.sentence() == ""


def test_limits_are_said_in_the_units_shown(sheet: Show) -> None:
    field = QuantityEdit("Diameter", "small_length", US, lower=0.0254, upper=0.3048, why="larger is not stocked")
    s = sheet(field)
    field.set_value(0.0762)
    s.type_in("13")
    s.press(KEY.Key_Return)
    assert s.sentence() == "Must be between 1 in. and 12 in.: larger is not stocked."
    field.set_system(SI)
    # what was refused stays, in the unit it was typed in
    assert s.line().text() == "13 in."
    assert s.sentence() == "Must be between 25.4 mm and 304.8 mm: larger is not stocked."
    s.type_in("20")
    s.press(KEY.Key_Return)
    assert s.sentence() == "Must be between 25.4 mm and 304.8 mm: larger is not stocked."
    assert field.value() == 0.0762
    assert "25.4 mm" in s.line().accessibleDescription()


def test_a_limit_as_it_is_written_may_be_typed(sheet: Show) -> None:
    s = sheet(QuantityEdit("Diameter", "small_length", US, upper=0.110))
    for text in ("4.33071", "4.331"):
        s.field.set_value(0.1)
        s.heard.clear()
        s.type_in(text)
        s.press(KEY.Key_Return)
        assert s.heard == [0.110]
    s.type_in("4.34")
    s.press(KEY.Key_Return)
    assert s.sentence() == "Must be at most 4.331 in."


def test_escape_restores_what_was_there_before_typing(sheet: Show, qtbot: QtBot) -> None:
    s = sheet(QuantityEdit("Flow", "flow"))
    s.field.set_value(0.03)
    s.type_in("45")
    qtbot.waitUntil(lambda: s.heard == [0.045], timeout=PAUSE_MS * 4)
    QTest.keyClicks(s.line(), "x")
    s.press(KEY.Key_Escape)
    assert s.line().text() == "30"
    assert s.heard == [0.045, 0.03]
    assert s.sentence() == ""


@pytest.mark.parametrize(
    ("key", "dimension", "system", "start", "shown"),
    [
        (KEY.Key_Up, "flow", SI, 0.030, "31"),
        (KEY.Key_Down, "flow", SI, 0.0305, "30"),
        (KEY.Key_PageUp, "flow", SI, 0.030, "40"),
        (KEY.Key_Up, "small_length", US, 0.0762, "3.125"),
        (KEY.Key_Up, "small_length", US, 0.110, "4.375"),
        (KEY.Key_Down, "temperature", US, 278.15, "40"),
        (KEY.Key_PageDown, "speed", SI, 0.62, "52"),
        (KEY.Key_Up, "resistance", SI, 2500.0, "2.6"),
        (KEY.Key_Down, "pressure", SI, 0.0, "−1"),
    ],
)
def test_keys_step_to_round_values(
    sheet: Show, key: Qt.Key, dimension: Any, system: Any, start: float, shown: str
) -> None:
    s = sheet(QuantityEdit("Value", dimension, system))
    s.field.set_value(start)
    s.field.setFocus()
    s.press(key)
    assert s.line().text() == shown
    assert len(s.heard) == 1
    s.press(KEY.Key_Escape)
    assert s.field.value() == start


def test_steps_stop_at_the_limits(sheet: Show) -> None:
    s = sheet(QuantityEdit("Speed", "speed", lower=0.305, upper=1.0))
    s.field.set_value(0.31)
    s.field.setFocus()
    s.press(KEY.Key_PageDown)
    s.press(KEY.Key_PageDown)
    assert s.heard == [0.305]


def test_an_optional_field_may_be_emptied(sheet: Show) -> None:
    s = sheet(QuantityEdit("Carbon factor", "ratio", optional=True))
    s.field.set_value(0.4)
    s.type_in(" ")
    s.press(KEY.Key_Return)
    assert s.heard == [None]
    assert s.field.value() is None
    needed = sheet(QuantityEdit("Flow", "flow"))
    needed.type_in(" ")
    needed.press(KEY.Key_Return)
    assert needed.sentence() == "Type a number."


def test_systems_change_what_is_shown_and_nothing_else(sheet: Show) -> None:
    field = QuantityEdit("Riser suction", "pressure")
    s = sheet(field)
    field.set_value(124.544455)
    unit = field.findChild(QLabel, "unit")
    assert isinstance(unit, QLabel)
    assert (s.line().text(), unit.text()) == ("124.5", "Pa")
    field.set_system(US)
    assert (s.line().text(), unit.text()) == ("0.5", "in. w.c.")
    field.set_system(SI)
    assert field.value() == 124.544455
    assert s.heard == []


def test_a_given_fault_stays_until_taken_back(sheet: Show) -> None:
    s = sheet(QuantityEdit("Flow", "flow"))
    s.field.set_fault("Larger than the fan can move.")
    assert s.sentence() == "Larger than the fan can move."
    s.type_in("many")
    s.press(KEY.Key_Return)
    assert s.sentence() == "“many” is not a number."
    s.type_in("3")
    s.press(KEY.Key_Return)
    assert s.sentence() == "Larger than the fan can move."
    s.field.set_fault("")
    assert s.sentence() == ""


def test_screen_reader_hears_name_unit_and_limits(sheet: Show) -> None:
    field = QuantityEdit("Pipe inside diameter", "small_length", US, lower=0.0254)
    field.set_hint("The true bore, not the nominal size.")
    s = sheet(field)
    heard = QAccessible.queryAccessibleInterface(s.line())
    assert heard.text(QAccessible.Text.Name) == "Pipe inside diameter"
    described = heard.text(QAccessible.Text.Description)
    assert described == "The true bore, not the nominal size. In in. Must be at least 1 in."


def test_a_form_label_leads_to_the_editor(qtbot: QtBot) -> None:
    page = QWidget()
    qtbot.addWidget(page)
    form = QFormLayout(page)
    field = QuantityEdit("Flow", "flow")
    form.addRow("&Flow", field)
    show_active(qtbot, page)
    field.setFocus()
    assert QApplication.focusWidget() is field.control()


def roll(widget: QWidget) -> None:
    at = QPointF(widget.rect().center())
    event = QWheelEvent(
        at,
        QPointF(widget.mapToGlobal(at)),
        QPoint(0, 0),
        QPoint(0, -120),
        Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    QApplication.sendEvent(widget, event)


def test_the_wheel_leaves_unfocused_fields_alone(sheet: Show) -> None:
    number = sheet(QuantityEdit("Flow", "flow"))
    number.field.set_value(0.03)
    roll(number.line())
    choice = sheet(ChoiceEdit("Fill", [("gravel", "Clean gravel"), ("sand", "Sand"), ("clay", "Clay")]))
    roll(choice.field.control())
    assert (number.heard, choice.heard) == ([], [])
    assert choice.field.value() == "gravel"


def test_choosing_emits_the_key_not_the_words(sheet: Show) -> None:
    field = ChoiceEdit("Fill", [("gravel", "Clean gravel"), ("sand", "Sand")])
    s = sheet(field)
    field.set_value("sand")
    assert s.heard == []
    box = field.control()
    assert isinstance(box, QComboBox)
    assert box.currentText() == "Sand"
    field.setFocus()
    s.press(KEY.Key_Up)
    assert s.heard == ["gravel"]
    field.set_choices([("sand", "Sand"), ("gravel", "Gravel, washed")])
    assert (field.value(), box.currentText()) == ("gravel", "Gravel, washed")
    assert s.heard == ["gravel"]
    assert box.accessibleName() == "Fill"


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("2.5", "“2.5” is not a whole number."),
        ("two", "“two” is not a whole number."),
        ("0", "Must be between 1 and 8."),
        ("9", "Must be between 1 and 8."),
    ],
)
def test_counts_are_whole_and_within_limits(sheet: Show, text: str, sentence: str) -> None:
    s = sheet(CountEdit("Elbows", lower=1, upper=8))
    s.field.set_value(3)
    s.type_in(text)
    s.press(KEY.Key_Return)
    assert s.sentence() == sentence
    assert s.field.value() == 3
    s.type_in("4")
    s.press(KEY.Key_Return)
    s.press(KEY.Key_PageUp)
    assert s.heard == [4, 8]


def test_text_may_be_required(sheet: Show) -> None:
    s = sheet(TextEdit("Name of the hole", required=True))
    s.field.set_value("North-west corner")
    s.type_in(" ")
    s.press(KEY.Key_Return)
    assert s.sentence() == "Name of the hole is needed."
    s.type_in("By the boiler")
    s.elsewhere.setFocus()
    assert s.heard == ["By the boiler"]


def test_a_switch_says_yes_or_no(sheet: Show) -> None:
    s = sheet(SwitchEdit("Sealed at the wall"))
    s.field.set_value(True)
    assert s.heard == []
    s.field.setFocus()
    s.press(KEY.Key_Space)
    assert s.heard == [False]
    assert s.field.value() is False
