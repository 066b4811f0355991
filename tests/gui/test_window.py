"""The window on the demo, worked as a person works it: one hand on the speed, everything else follows."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import QObject, Qt
from PySide6.QtGui import QAccessible, QColor
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractScrollArea, QApplication, QWidget
from pytestqt.qtbot import QtBot

from tests.gui.hand import KEY, Hand
from workbench.design import Design, FanPoint, FanRecord, FanTable
from workbench.design.edit import add_fan, choose_fan
from workbench.design.record import value_at, with_value
from workbench.files.scenes import load_scene
from workbench.gui.kit.theme import DARK, LIGHT
from workbench.gui.shell.answers import HeadView, TileView
from workbench.gui.shell.faultlog import report, start
from workbench.solving import prepare
from workbench.units import SI, format_quantity

POINT = ("intake", "source")


def test_dragging_the_speed_moves_every_answer(hand: Hand) -> None:
    before, said = hand.answers(), hand.operating_label()
    section = hand.window.site_page.site.section
    words = section.words_for(POINT)
    hand.drag(0.5)
    speed = hand.design.speed
    assert speed == pytest.approx(0.5, abs=0.001)
    # solved afresh, apart from whatever the window keeps
    answer = prepare(hand.design).at(speed)
    point = answer.operating
    assert point is not None
    assert answer.year is not None
    flow = format_quantity(point.flow, "flow", SI)
    # the chart stands on static pressure, total less that of the air's motion in the fan's outlet (ANSI/AMCA 210)
    static = point.fan_pressure - float(prepare(hand.design).velocity_pressure(hand.design.fan or "", point.flow))
    pressure = format_quantity(static, "pressure", SI)
    assert hand.operating_label() == f"Operating point, {flow} at {pressure} static" != said
    after = hand.answers()
    assert after["flow"].value == flow
    assert f"fan draws {format_quantity(point.power, 'power', SI)}" in after["money"].detail
    energy = answer.year.fan_energy + answer.year.house_air_energy
    assert format_quantity(energy, "energy_kwh", SI) in after["money"].detail
    assert after["gauge"].value == format_quantity(answer.gauge, "pressure", SI)
    assert flow in section.words_for(POINT) != words
    for key in ("verdict", "flow", "gauge", "sound", "money"):
        assert after[key].value != before[key].value, key
    assert list(after) == list(before)


def test_answers_follow_in_the_middle_of_a_drag(hand: Hand, qtbot: QtBot) -> None:
    seen: list[str] = []
    hand.document.answered.connect(lambda *_: seen.append(hand.answers()["flow"].value))
    hand.drag(0.5, steps=12)
    assert len(set(seen)) >= 8


def test_the_speed_can_be_typed(hand: Hand) -> None:
    hand.type_speed("61,5")
    assert hand.design.speed == pytest.approx(0.615)
    assert hand.window.rail.speed() == pytest.approx(0.615)
    flow = prepare(hand.design).at(0.615).operating
    assert flow is not None
    assert hand.answers()["flow"].value == format_quantity(flow.flow, "flow", SI)


def test_a_speed_out_of_reach_or_no_number_is_refused_and_nothing_moves(hand: Hand) -> None:
    before, design = hand.answers(), hand.design
    for text in ("12", "140", "fast", "", "-5"):
        hand.type_speed(text)
        assert hand.design == design, text
        assert hand.answers() == before, text
    assert not hand.document.dirty


def test_the_keyboard_is_on_the_speed_from_the_start(hand: Hand) -> None:
    track = hand.window.rail.track()
    assert hand.window.focusWidget() is track
    start_speed = hand.design.speed
    QTest.keyClick(track, KEY.Key_Left)
    hand.settle()
    assert hand.design.speed == pytest.approx(start_speed - 0.01)
    QTest.keyClick(track, KEY.Key_PageUp)
    hand.settle()
    assert hand.design.speed == pytest.approx(start_speed + 0.04)
    QTest.keyClick(track, KEY.Key_Home)
    hand.settle()
    fan = hand.design.chosen_fan
    assert fan is not None
    assert hand.design.speed == fan.least_speed
    QTest.keyClick(track, KEY.Key_End)
    hand.settle()
    assert hand.design.speed == 1.0


def test_units_change_everywhere_at_once_and_back(hand: Hand) -> None:
    metric = hand.answers()
    hand.choose("US trade")
    inches = hand.answers()
    assert inches["flow"].value.endswith("cfm")
    assert inches["gauge"].value.endswith("in. w.c.")
    assert "cfm" in hand.operating_label()
    assert "cfm" in hand.window.site_page.site.section.words_for(POINT)
    hand.choose("SI")
    assert hand.answers() == metric
    assert not hand.document.dirty


def test_units_and_theme_are_remembered(hand: Hand, qtbot: QtBot) -> None:
    hand.choose("US trade")
    hand.choose("Dark")
    hand.window.close()
    again = Hand(qtbot)
    assert again.answers()["flow"].value.endswith("cfm")
    assert again.action("US trade").isChecked()
    assert again.action("Dark").isChecked()


def test_light_and_dark_dress_the_whole_window(hand: Hand) -> None:
    for words, theme in (("Dark", DARK), ("Light", LIGHT)):
        hand.choose(words)
        picture = hand.window.grab().toImage()
        chart = hand.window.site_page.sheet.chart
        corner = chart.mapTo(hand.window, chart.rect().topRight())
        assert picture.pixelColor(corner.x() - 4, corner.y() + 3) == QColor(theme.panel)
        dark = sum(picture.pixelColor(x, y).lightnessF() < 0.5 for x in range(0, 1280, 16) for y in range(0, 800, 16))
        assert (dark > 2000) == (theme is DARK)


def test_nothing_in_reach_of_the_keyboard_is_nameless(hand: Hand, qtbot: QtBot) -> None:
    def all_named() -> None:
        assert nameless(hand.window.centralWidget()) == [], hand.window.pages.current

    for title in hand.window.pages.titles:
        hand.window.pages.turn_to(title)
        # some pages fill when the hand rests
        qtbot.waitUntil(all_named)


def test_tab_comes_to_every_control_in_sight(hand: Hand) -> None:
    wanted = set(focusable(hand.window))
    seen: set[QWidget] = set()
    for _ in range(len(wanted) + 20):
        here = hand.window.focusWidget()
        assert here is not None
        seen.add(here)
        QTest.keyClick(here, KEY.Key_Tab)
    assert {name(w) for w in wanted - seen} == set()


def test_three_crossings_are_told_apart_by_words_and_shapes(qtbot: QtBot) -> None:
    hand = Hand(qtbot, load_scene("clubhouses"))
    sheet = hand.window.site_page.sheet
    crossings = hand.document.outcome.crossings
    assert [c.stable for c in crossings] == [True, False, True]
    shown = [label.textItem.toPlainText() for label in sheet._names if label.isVisible()]
    assert sorted(shown) == ["stable", "unstable: the fan will not stay here"]
    assert sheet._label.textItem.toPlainText().startswith("operating point, stable")
    assert sheet._unstable.opts["symbol"] != sheet._stable.opts["symbol"] == sheet._operating.opts["symbol"]
    assert hand.answers()["flow"].words == "one of 3 operating points"


def test_a_fan_without_control_says_so_and_lets_nothing_move(qtbot: QtBot) -> None:
    hand = Hand(qtbot, load_scene("clubhouses"))
    design = hand.design
    assert "This fan has no speed control." in hand.window.rail.track().accessibleDescription()
    QTest.mouseClick(hand.window.rail.track(), Qt.MouseButton.LeftButton, pos=hand.spot(0.5))
    QTest.keyClick(hand.window.rail.track(), KEY.Key_Left)
    hand.settle()
    assert hand.design == design


def test_without_a_fan_the_window_says_so_and_stays_in_use(qtbot: QtBot) -> None:
    hand = Hand(qtbot, choose_fan(load_scene(), None))
    assert hand.operating_label().startswith("No fan is selected.")
    assert hand.answers()["flow"].words == "no fan is selected"
    assert {a.value for key, a in hand.answers().items() if key != "verdict"} == {"—"}
    assert hand.answers()["verdict"].value == "No operating point"
    assert hand.answers()["verdict"].verdict == ""
    assert "No fan is selected." in hand.texts(hand.window.notes)
    hand.window.site_page.key.radio(hand.design.fans[0].name).click()
    hand.settle()
    assert hand.answers()["flow"].value != "—"
    assert hand.operating_label().startswith("Operating point")


def test_from_a_blank_design_the_way_leads_to_the_library_of_fans(hand: Hand) -> None:
    hand.choose("New")
    assert any("No fan yet." in text for text in hand.texts(hand.window.site_page.key))
    hand.press("Fans…")
    assert hand.window.pages.current == "Fans"
    hand.press("Add to design")
    assert hand.design.fan
    hand.window.pages.turn_to(hand.window.pages.titles[0])
    hand.settle()
    assert hand.operating_label().startswith("Operating point")
    assert not any("No fan yet." in text for text in hand.texts(hand.window.site_page.key))


def weak_in_the_heat() -> Design:
    """Air that is cold and heavy in the pipe, on a hot day, sinks by more than this fan lifts."""
    design = load_scene()
    for name, kelvin in (("outdoor_temperature", 315.0), ("pipe_temperature", 280.0)):
        design = with_value(design, ("place", name), kelvin)
    return add_fan(design, fan("Weak", (0.0, 0.5), (0.010, 0.2)))


def measured_short() -> Design:
    return add_fan(load_scene(), fan("Short", (0.0, 200.0), (0.001, 199.0)))


def fan(name: str, *points: tuple[float, float]) -> FanRecord:
    table = FanTable(points=tuple(FanPoint(flow=q, pressure=p) for q, p in points))
    return FanRecord(name=name, curves=(table,))


@pytest.mark.parametrize(
    ("design", "sentence", "word"),
    [
        (
            weak_in_the_heat(),
            "This fan cannot overcome the resistance of pipe and soil",
            "this fan cannot drive this system",
        ),
        (measured_short(), "The system takes more flow than the last measured point", "beyond the fan’s curve"),
    ],
)
def test_a_system_that_the_fan_cannot_serve_is_said_in_words(
    qtbot: QtBot, design: Design, sentence: str, word: str
) -> None:
    hand = Hand(qtbot, design)
    assert hand.document.outcome.operating is None
    assert hand.operating_label().startswith(sentence)
    assert any(text.startswith(sentence) for text in hand.texts(hand.window.site_page.sheet))
    assert hand.answers()["flow"].words.replace("'", "’") == word
    hand.choose("US trade")
    hand.choose("Dark")
    assert hand.operating_label().startswith(sentence)
    hand.window.site_page.key.radio("Everyday in-line, electronic").click()
    hand.settle()
    assert hand.operating_label().startswith("Operating point")
    assert not any(text.startswith(sentence) for text in hand.texts())


def test_a_fault_inside_is_logged_and_told_without_a_traceback(
    hand: Hand, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    import sys

    monkeypatch.setattr(sys, "excepthook", sys.excepthook)
    start(hand.window.filing.tell_of_fault)
    handler = sys.excepthook
    design = hand.design
    try:
        raise ZeroDivisionError("a fault made for this test")
    except ZeroDivisionError as error:
        handler(type(error), error, error.__traceback__)
    assert hand.bar.text.startswith("Something went wrong inside the program; your work is still here.")
    assert "Traceback" not in " ".join(hand.texts())
    assert "a fault made for this test" in report()
    hand.choose("Copy error report")
    assert "ZeroDivisionError" in QApplication.clipboard().text()
    assert hand.design == design
    assert design.title not in QApplication.clipboard().text()


@pytest.mark.parametrize("system", ["SI", "US trade"])
@pytest.mark.parametrize("size", [(1280, 800), (960, 640)])
def test_no_answer_is_clipped(hand: Hand, size: tuple[int, int], system: str) -> None:
    hand.choose(system)
    hand.window.resize(*size)
    hand.settle()
    for view in hand.window.rail.findChildren(QWidget):
        if isinstance(view, HeadView | TileView) and view.isVisible():
            assert view.width_wanted() <= view.width(), view.accessibleName()
    assert hand.window.size().toTuple() == size


def test_the_section_keeps_its_part_when_units_and_theme_change(hand: Hand) -> None:
    site = hand.window.site_page.site
    site.choose(("intake", "runs", 1))
    hand.choose("US trade")
    hand.choose("Dark")
    assert site.section.picked_part() == ("intake", "runs", 1)
    assert value_at(hand.design, ("intake", "runs", 1)).name


def focusable(root: QWidget) -> list[QWidget]:
    """Widgets in sight that the keyboard can come to and that are not the inside of another."""
    found = []
    for widget in root.findChildren(QWidget):
        holder: QObject | None = widget.parent()
        inside = isinstance(holder, QAbstractScrollArea) and widget is holder.viewport()
        if (
            widget.focusPolicy() & Qt.FocusPolicy.TabFocus
            and not widget.objectName().startswith("qt_")
            and not inside
            and widget.isVisible()
            and widget.isEnabled()
            and widget.focusProxy() is None
        ):
            found.append(widget)
    return found


def name(widget: QWidget) -> str:
    face = QAccessible.queryAccessibleInterface(widget)
    said = face.text(QAccessible.Text.Name) if face is not None else ""
    return f"{type(widget).__name__} “{said}”"


def nameless(root: QWidget) -> list[str]:
    return [name(w) for w in focusable(root) if name(w).endswith("“”")]


def test_todays_setting_is_the_speed_of_the_file_until_another_is_saved(hand: Hand, tmp_path: Path) -> None:
    """Else the hand goes back to a speed at which the fan never ran."""

    def told() -> str:
        return hand.window.rail.track().accessibleDescription()

    assert f"Saved {100 * hand.design.speed:g} %" in told()
    before = hand.design.speed
    hand.type_speed("55")
    assert f"Saved {100 * before:g} %" in told()
    hand.document.saved_as(tmp_path / "job.json")
    assert "Saved 55 %" in told()
