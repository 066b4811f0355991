"""The section, used as a person uses it: pointing, keys, menus, and watching numbers move."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest
from msgspec.structs import replace
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QAccessible, QColor, QContextMenuEvent, QHelpEvent, QImage, QPainter
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit, QMenu, QToolTip, QVBoxLayout, QWidget
from pytestqt.qtbot import QtBot

from tests.gui.bench import Bench
from tests.gui.hand import Hand
from tests.gui.section_designs import any_tree, one_point, two_points
from workbench.design import Design
from workbench.design.edit import add_suction_point
from workbench.design.record import Address, value_at, with_value
from workbench.design.section_layout import FAN, HOUSE
from workbench.files.scenes import load_scene
from workbench.gui.kit.theme import DARK, LIGHT
from workbench.gui.section.labels import Label
from workbench.gui.section.paint import paint_fan
from workbench.gui.section.parts import PLACE
from workbench.gui.section.view import SectionView
from workbench.solving import prepare
from workbench.units import SI, US

# without a screen a menu can neither be raised nor hold the keyboard, and Qt says so
pytestmark = pytest.mark.qt_log_ignore("^This plugin does not support", extend=True)

KEY = Qt.Key
STRAIGHT: Address = ("intake", "source", "straight", "source")
SIDE: Address = ("intake", "source", "side", "source")
RISER: Address = ("intake", "runs", 0)

Show = Callable[[Design], tuple[SectionView, Bench]]


@pytest.fixture
def show(qtbot: QtBot) -> Show:
    kept: list[QWidget] = []

    def made(design: Design) -> tuple[SectionView, Bench]:
        sheet = QWidget()
        layout = QVBoxLayout(sheet)
        layout.setContentsMargins(0, 0, 0, 0)
        before = QLineEdit()
        section = SectionView()
        layout.addWidget(before)
        layout.addWidget(section, 1)
        qtbot.addWidget(sheet)
        kept.append(sheet)
        bench = Bench(section, design)
        sheet.resize(460, 380)
        sheet.show()
        qtbot.waitExposed(sheet)
        sheet.activateWindow()
        qtbot.waitUntil(sheet.isActiveWindow)
        before.setFocus()
        return section, bench

    return made


def click(section: SectionView, address: Address) -> None:
    QTest.mouseClick(section, Qt.MouseButton.LeftButton, pos=section.place_of(address).toPoint())


def press(section: SectionView, key: Qt.Key) -> None:
    QTest.keyClick(section, key)


def menu_of(section: SectionView) -> QMenu:
    (menu,) = [
        m for m in section.findChildren(QMenu, options=Qt.FindChildOption.FindDirectChildrenOnly) if m.isVisible()
    ]
    return menu


def choose(menu: QMenu, *words: str) -> None:
    action = next(a for a in menu.actions() if a.text() == words[0])
    if len(words) > 1:
        sub = action.menu()
        assert isinstance(sub, QMenu)
        choose(sub, *words[1:])
    else:
        action.trigger()
    menu.close()


def labels(section: SectionView) -> dict[Any, Label]:
    words = section.words_shown()
    assert words is not None
    return words.labels


def written(section: SectionView) -> str:
    words = section.words_shown()
    assert words is not None
    return " ".join(line for key in words.labels for line in words.block(key, section._answers).lines)


# --- picking ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("part", [STRAIGHT, SIDE, RISER, FAN, ("intake", "source"), ("discharge", 0)])
def test_a_click_picks_the_part_under_it(show: Show, part: Address) -> None:
    section, _ = show(two_points())
    heard: list[Any] = []
    section.picked.connect(heard.append)
    click(section, part)
    assert heard == [part]
    assert section.picked_part() == part


def test_a_click_near_a_thin_pipe_still_finds_it(show: Show) -> None:
    section, _ = show(two_points())
    place = section.place_of(RISER)
    assert section.part_at(place + QPointF(11.0, 0.0)) == RISER
    assert section.part_at(place + QPointF(40.0, 0.0)) == HOUSE


def test_house_and_air_are_picked_where_nothing_else_is(show: Show) -> None:
    section, _ = show(one_point())
    assert section.part_at(QPointF(4.0, 4.0)) == PLACE
    assert section.part_at(QPointF(section.width() / 2, section.height() - 3.0)) is None
    assert section.part_at(section.place_of(("intake", "runs", 0)) + QPointF(0.0, -40.0)) == HOUSE


def test_a_fitting_picks_its_run(show: Show) -> None:
    section, _ = show(one_point())
    arranged = section._arrangement()
    assert arranged is not None
    layout, screen, _ = arranged
    shape = layout.at(("intake", "runs", 0, "fittings", 1))
    assert shape is not None
    assert section.part_at(screen(shape.points[0])) == ("intake", "runs", 0)


def test_tab_and_arrows_walk_the_parts_with_the_air(show: Show) -> None:
    section, _ = show(two_points())
    focused = section.window().focusWidget()
    assert isinstance(focused, QLineEdit)
    QTest.keyClick(focused, KEY.Key_Tab)
    assert section.hasFocus()
    layout = section.layout_shown()
    assert layout is not None
    walked = [section.picked_part()]
    for _ in range(len(layout.order) - 1):
        press(section, KEY.Key_Right)
        walked.append(section.picked_part())
    assert tuple(walked) == layout.order
    press(section, KEY.Key_Right)
    assert section.picked_part() == HOUSE
    press(section, KEY.Key_Home)
    assert section.picked_part() == STRAIGHT
    press(section, KEY.Key_End)
    press(section, KEY.Key_Up)
    assert section.picked_part() == ("discharge", 0)


def test_enter_and_double_click_open_the_card(show: Show) -> None:
    section, _ = show(two_points())
    opened: list[int] = []
    section.opened.connect(lambda: opened.append(1))
    click(section, RISER)
    press(section, KEY.Key_Return)
    assert opened == [1]
    QTest.mouseDClick(section, Qt.MouseButton.LeftButton, pos=section.place_of(FAN).toPoint())
    assert opened == [1, 1]


def test_pick_from_elsewhere_emits_nothing_and_finds_the_part_of_a_value(show: Show) -> None:
    section, _ = show(two_points())
    heard: list[Any] = []
    section.picked.connect(heard.append)
    section.pick((*STRAIGHT, "ground", "readings", 1))
    assert section.picked_part() == STRAIGHT
    section.pick(("fans", 2))
    assert section.picked_part() == FAN
    assert heard == []


# --- adding and removing ------------------------------------------------------------------------------------------


def test_plus_adds_an_elbow_to_the_picked_run(show: Show) -> None:
    section, bench = show(one_point())
    click(section, ("intake", "runs", 1))
    press(section, KEY.Key_Plus)
    choose(menu_of(section), "Add elbow", "45 elbow")
    assert [f.kind for f in value_at(bench.design, ("intake", "runs", 1)).fittings] == [
        "90 elbow, long-turn",
        "45 elbow",
    ]
    assert bench.document.undo_words == "Add 45 elbow to Riser"


def test_the_menu_of_a_right_click_adds_a_suction_point_and_undo_takes_it_away(show: Show) -> None:
    section, bench = show(one_point())
    place = section.place_of(("intake", "runs", 0)).toPoint()
    event = QContextMenuEvent(QContextMenuEvent.Reason.Mouse, place, section.mapToGlobal(place))
    QApplication.sendEvent(section, event)
    choose(menu_of(section), "Add a suction point on this branch")
    assert len(list(bench.design.suction_points())) == 2
    layout = section.layout_shown()
    assert layout is not None
    assert len(list(layout.of("pit"))) == 2
    bench.document.undo()
    layout = section.layout_shown()
    assert layout is not None
    assert len(list(layout.of("pit"))) == 1


def test_dividing_a_run_keeps_its_length(show: Show) -> None:
    section, bench = show(one_point())
    click(section, ("intake", "runs", 1))
    press(section, KEY.Key_Plus)
    choose(menu_of(section), "Split this run")
    assert [run.length for run in bench.design.intake.runs] == [4.2, 3.2, 3.2]


def test_delete_removes_a_suction_point_and_the_pick_moves_to_what_is_left(show: Show) -> None:
    section, bench = show(two_points())
    click(section, SIDE)
    press(section, KEY.Key_Delete)
    assert [p.name for _, p in bench.design.suction_points()] == ["Kiln corner"]
    assert section.picked_part() != SIDE


def test_the_last_suction_point_stays_and_says_why(show: Show, monkeypatch: pytest.MonkeyPatch) -> None:
    section, bench = show(one_point())
    said: list[str] = []
    monkeypatch.setattr(QToolTip, "showText", lambda *given: said.append(given[1]))
    click(section, ("intake", "source"))
    press(section, KEY.Key_Delete)
    assert said == ["A system needs at least one suction point."]
    assert bench.said == []


# --- answers ------------------------------------------------------------------------------------------------------


def test_numbers_stand_at_the_parts_and_follow_the_speed(show: Show) -> None:
    section, bench = show(two_points())
    prepared = bench.document.prepared
    slow, fast = prepared.at(0.6), prepared.at(0.9)
    section.show_outcome(prepared, slow)
    at_slow = written(section)
    for state in slow.points:
        assert f"{state.flow * 1000:.3g} L/s" in at_slow
        assert f"{state.suction:.0f} Pa" in at_slow
    assert f"Gauge {slow.gauge:.0f} Pa" in at_slow
    section.show_outcome(prepared, fast)
    assert f"Gauge {fast.gauge:.0f} Pa" in written(section)


def test_a_drag_repaints_numbers_only(show: Show) -> None:
    section, bench = show(two_points())
    section.repaint()
    before = section.still_paints
    layout = section.layout_shown()
    for step in range(20):
        section.show_outcome(bench.document.prepared, bench.document.prepared.at(0.5 + 0.02 * step))
        section.repaint()
    assert section.still_paints == before
    assert section.layout_shown() is layout


def test_a_change_that_is_not_drawn_lays_nothing_anew(show: Show) -> None:
    section, bench = show(two_points())
    section.repaint()
    before, layout = section.still_paints, section.layout_shown()
    section.show_design(with_value(bench.design, ("prices", "electricity"), 0.5))
    section.show_design(with_value(bench.design, ("speed",), 0.5))
    section.repaint()
    assert section.still_paints == before
    assert section.layout_shown() is layout


def test_units_follow_the_system(show: Show) -> None:
    section, _ = show(two_points())
    section.set_system(US)
    words = written(section)
    assert "cfm" in words
    assert "in. w.c." in words
    assert "Pa" not in words


def test_no_answer_is_said_in_words(show: Show) -> None:
    section, bench = show(one_point())
    without = with_value(bench.design, ("fan",), None)
    prepared = prepare(without)
    section.show_design(without)
    section.show_outcome(prepared, prepared.at(0.7))
    assert section.accessibleDescription().startswith("No fan is selected.")
    assert "Pa" not in written(section)
    section.repaint()


def test_air_driven_into_the_ground_is_said_in_words(show: Show) -> None:
    """An answer in which one point is turned round, as draft or a stronger neighbour can do."""
    section, bench = show(two_points())
    prepared = bench.document.prepared
    outcome = prepared.at(0.7)
    first = outcome.points[0]
    turned = type(first)(first.name, first.address, -0.002, -3.0)
    section.show_outcome(prepared, replace(outcome, points=(turned, *outcome.points[1:])))
    assert "reversed 2.00 L/s" in written(section)
    assert "positive: 3.0 Pa" in section.words_for(first.address)


def test_the_tool_tip_tells_the_part_and_its_numbers(show: Show, monkeypatch: pytest.MonkeyPatch) -> None:
    section, bench = show(two_points())
    said: list[str] = []
    monkeypatch.setattr(QToolTip, "showText", lambda *given: said.append(given[1]))
    place = section.place_of(RISER).toPoint()
    QApplication.sendEvent(section, QHelpEvent(QHelpEvent.Type.ToolTip, place, section.mapToGlobal(place)))
    state = next(run for run in bench.document.outcome.runs if run.address == RISER)
    assert said[0].startswith("Riser (run)")
    assert f"Velocity: {state.velocity:.1f} m/s" in said[0]


def test_what_is_picked_is_read_out_with_its_numbers(show: Show) -> None:
    section, bench = show(two_points())
    click(section, SIDE)
    interface = QAccessible.queryAccessibleInterface(section)
    assert interface.text(QAccessible.Text.Name) == "Cross-section of the house"
    told = interface.text(QAccessible.Text.Description)
    flow = next(p.flow for p in bench.document.outcome.points if p.address == SIDE)
    assert told.startswith("Window wall (suction point)")
    assert f"Airflow: {flow * 1000:.1f} L/s" in told


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("system", [SI, US])
def test_labels_stand_on_nothing(show: Show, seed: int, system: Any) -> None:
    section, _ = show(any_tree(seed))
    section.set_system(system)
    section.repaint()
    boxes = [label.box for label in labels(section).values()]
    for i, a in enumerate(boxes):
        assert a[0] >= 0.0
        assert a[1] >= 0.0
        assert a[2] <= section.width()
        assert a[3] <= section.height()
        for b in boxes[i + 1 :]:
            assert not (a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3])


@pytest.mark.parametrize("system", [SI, US])
def test_every_suction_point_of_six_the_fan_and_the_gauge_keep_their_labels(show: Show, system: Any) -> None:
    design = one_point()
    for _ in range(5):
        design = add_suction_point(design, ("intake",))
    section, _ = show(design)
    section.set_system(system)
    assert {key[1] for key in labels(section) if key[0] == "pit"} == {a for a, _ in design.suction_points()}
    assert {("fan", FAN), ("gauge", FAN)} <= labels(section).keys()


def test_faults_grey_the_answers_and_a_theme_repaints_the_sheet(show: Show) -> None:
    section, _ = show(two_points())

    def picture() -> QImage:
        return section.grab().toImage()

    plain = picture()
    section.set_stale(True)
    assert picture() != plain
    section.set_stale(False)
    assert picture() == plain
    section.apply_theme(DARK)
    corner = picture().pixelColor(QPoint(6, 6))
    assert corner.name().upper() == DARK.panel.upper()
    section.apply_theme(LIGHT)
    assert picture() == plain


def test_the_sign_of_the_fan_has_five_blades() -> None:
    """Three in a circle would look like the sign that warns of radiation."""
    image = QImage(200, 200, QImage.Format.Format_RGB32)
    image.fill(QColor(LIGHT.panel))
    painter = QPainter(image)
    paint_fan(painter, QPointF(100.0, 100.0), 90.0, LIGHT)
    painter.end()
    blade = LIGHT.colour("fan").rgb()
    turns = [math.radians(angle) for angle in range(360)]
    on = [image.pixel(round(100 + 45 * math.cos(t)), round(100 + 45 * math.sin(t))) == blade for t in turns]
    assert sum(now and not before for before, now in zip([on[-1], *on[:-1]], on, strict=True)) == 5


def test_a_basement_is_drawn_below_grade(hand: Hand) -> None:
    """Soil stands beside the walls as high as the slab lies deep, and nowhere inside them."""
    view = hand.window.site_page.site.section

    def soil_at(side: float) -> float:
        """Height above the slab at which soil ends, just beside a wall or just inside it. [m]"""
        picture = view.grab().toImage()
        arranged = view._arrangement()
        assert arranged is not None
        layout, screen, _ = arranged
        x = round(screen((layout.frame.left + side * 0.4, 0.0)).x())
        ground = view._theme.colour("ground")
        heights = [h / 50 for h in range(1, 150) if picture.pixelColor(x, round(screen((0.0, h / 50)).y())) == ground]
        return max(heights, default=0.0)

    assert soil_at(-1.0) < 0.1
    hand.document.propose(lambda d: with_value(d, ("house", "below_grade"), 1.5), "Basement")
    hand.settle()
    assert soil_at(-1.0) == pytest.approx(1.5, abs=0.12)
    assert soil_at(1.0) < 0.1
    assert hand.document.prepared.at(0.7).operating == prepare(load_scene("studio")).at(0.7).operating
