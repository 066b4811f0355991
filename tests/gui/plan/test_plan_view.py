"""The plan, drawn and changed with mouse and keys as a person does."""

from __future__ import annotations

import itertools
from collections.abc import Callable

import numpy as np
import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, QRectF, Qt
from PySide6.QtGui import QImage, QMouseEvent, QPainter
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit, QMenu, QVBoxLayout, QWidget
from pytestqt.qtbot import QtBot

from tests.gui.bench import Bench
from tests.gui.screen.claims import watching
from workbench.design import Design, GroundClass
from workbench.design.plan_edit import OUTLINE, add_footing, add_hole, place, set_edge, stand, start_rectangle
from workbench.design.record import with_value
from workbench.design.slab import Edge, HoleReading
from workbench.files.scenes import load_scene
from workbench.gui.kit.theme import DARK, LIGHT, Theme, luminance
from workbench.gui.plan.air import AirWays, colour_of, paint_air
from workbench.gui.plan.field_layer import levels, shades
from workbench.gui.plan.frame import PlanFrame
from workbench.gui.plan.menu import plan_menu
from workbench.gui.plan.steps import Drawing, read_side
from workbench.gui.plan.view import PlanView
from workbench.gui.plan.words import words_at
from workbench.solving.report.floor_map import AirPath, plan_at
from workbench.units import SI, US, UnitError

pytestmark = pytest.mark.qt_log_ignore("^This plugin does not support", extend=True)

KEY = Qt.Key
LEFT = Qt.MouseButton.LeftButton
POINT = ("intake", "source")

Show = Callable[[Design], tuple[PlanView, Bench]]


def bare() -> Design:
    design = with_value(load_scene("studio"), ("slab",), None)
    # a floor of which only the class is known is answered at once
    design = with_value(design, (*POINT, "ground"), GroundClass())
    return stand(with_value(design, ("holes",), ()), POINT, None)


def floor() -> Design:
    """A leaky gravel floor with one point in a corner and a hole in the one across."""
    design = stand(start_rectangle(bare(), 8.0, 6.0), POINT, place(1.5, 1.5))
    design = with_value(design, ("slab", "fill"), "fine gravel or crushed stone with fines")
    return add_hole(set_edge(design, 1, Edge(kind="joint", joint_width=0.001)), place(7, 5))


@pytest.fixture
def show(qtbot: QtBot) -> Show:
    kept: list[QWidget] = []

    def made(design: Design) -> tuple[PlanView, Bench]:
        sheet = QWidget()
        layout = QVBoxLayout(sheet)
        layout.setContentsMargins(0, 0, 0, 0)
        view = PlanView()
        layout.addWidget(QLineEdit())
        layout.addWidget(view, 1)
        layout.addWidget(QLineEdit())
        qtbot.addWidget(sheet)
        kept.append(sheet)
        sheet.resize(830, 560)
        sheet.show()
        bench = Bench(view, design)
        qtbot.waitExposed(sheet)
        sheet.activateWindow()
        qtbot.waitUntil(sheet.isActiveWindow)
        view.setFocus()
        return view, bench

    return made


def send(
    view: PlanView,
    kind: QEvent.Type,
    at: QPointF,
    button: Qt.MouseButton,
    held: Qt.MouseButton,
    modifiers: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier,
) -> None:
    QApplication.sendEvent(view, QMouseEvent(kind, at, view.mapToGlobal(at), button, held, modifiers))


def drag(
    view: PlanView,
    start: tuple[float, float],
    end: tuple[float, float],
    modifiers: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier,
    *,
    let_go: bool = True,
) -> None:
    """Drag from one place to another, in metres."""
    a, b = view.frame.pixels(start), view.frame.pixels(end)
    none, kind = Qt.MouseButton.NoButton, QEvent.Type
    send(view, kind.MouseMove, a, none, none)
    send(view, kind.MouseButtonPress, a, LEFT, LEFT, modifiers)
    for i in range(1, 9):
        send(view, kind.MouseMove, a + (b - a) * (i / 8.0), none, LEFT, modifiers)
    if let_go:
        send(view, kind.MouseButtonRelease, b, LEFT, none, modifiers)


def click(view: PlanView, at: tuple[float, float]) -> None:
    point = view.frame.pixels(at)
    none, kind = Qt.MouseButton.NoButton, QEvent.Type
    send(view, kind.MouseMove, point, none, none)
    send(view, kind.MouseButtonPress, point, LEFT, LEFT)
    send(view, kind.MouseButtonRelease, point, LEFT, none)


def corners(bench: Bench) -> list[tuple[float, float]]:
    assert bench.design.slab is not None
    return [(c.x, c.y) for c in bench.design.slab.outline]


def type_in(view: PlanView, text: str) -> None:
    line = view.entry.line()
    assert view.entry.is_open()
    QTest.keyClicks(line, text)
    QTest.keyClick(line, KEY.Key_Return)


# --- drawing ----------------------------------------------------------------------------------------------------------


def test_a_floor_is_drawn_corner_by_corner_and_undone_in_one_step(show: Show) -> None:
    view, bench = show(bare())
    view.gestures.take("floor")
    for at in ((0, 0), (6.03, 0.02), (5.97, 4), (0, 4.04)):
        click(view, at)
    click(view, (0, 0))
    # each corner fell on the grid of 0.1 m, or on the line of one before it
    assert corners(bench) == [(0, 0), (6, 0), (6, 4), (0, 4)]
    assert bench.said[-1] == "Draw the floor"
    # the one suction point has no place yet: that is what comes next
    assert view.gestures.tool == "place"
    click(view, (1, 1))
    assert [point.position for _, point in bench.design.suction_points()] == [place(1, 1)]
    assert view.field.plan is not None
    bench.document.undo()
    bench.document.undo()
    assert bench.design == bare()


def test_only_a_click_on_the_first_corner_closes_the_outline(show: Show) -> None:
    """A corner that stands a hand's breadth from it on the screen is one more corner."""
    view, bench = show(bare())
    view.gestures.take("floor")
    for at in ((0, 0), (6, 0), (6, 4), (0, 4)):
        click(view, at)
    pixel = 1.0 / (view.frame.pixels((1.0, 0.0)).x() - view.frame.pixels((0.0, 0.0)).x())
    click(view, (0.0, 30.0 * pixel))
    assert bench.design == bare()
    assert view.gestures.drawing is not None
    assert len(view.gestures.drawing.corners) == 5
    click(view, (6.0 * pixel, 0.0))
    assert len(corners(bench)) == 5


def test_lengths_are_typed_while_a_side_is_drawn(show: Show) -> None:
    view, bench = show(bare())
    view.gestures.take("floor")
    click(view, (0, 0))
    # the pointer gives the way, the keys the length
    send(view, QEvent.Type.MouseMove, view.frame.pixels((3, 0.01)), Qt.MouseButton.NoButton, Qt.MouseButton.NoButton)
    type_in(view, "4.2 m")
    type_in(view, "14 ft, 0°")
    type_in(view, "4,2 m; 270°")
    type_in(view, "")
    assert corners(bench) == [(0, 0), (4.2, 0), (4.2, pytest.approx(4.2672)), (0, pytest.approx(4.2672))]


def test_a_typed_side_that_cannot_be_read_says_so_and_keeps_the_text(show: Show) -> None:
    view, _ = show(bare())
    view.gestures.take("floor")
    click(view, (0, 0))
    type_in(view, "4 kg")
    assert "not a length" in view.entry.fault()
    assert view.entry.line().text() == "4 kg"
    view.entry.line().clear()
    type_in(view, "3 m, north°")
    assert "not a bearing" in view.entry.fault()
    for text in ("3 @ 90", "3 < 90", "3 m 90", "3 m, 90, 2", "3 m, 90", "3,90°", "90°"):
        view.entry.line().clear()
        type_in(view, text)
        assert view.entry.fault(), text
    assert view.gestures.drawing is not None
    assert len(view.gestures.drawing.corners) == 1


def test_a_floor_can_be_drawn_without_a_mouse(show: Show) -> None:
    view, bench = show(bare())
    view.gestures.take("floor")
    view.setFocus()
    QTest.keyClick(view, KEY.Key_Return)
    # a bearing has a field of its own, in which its sign may be left out
    for length, bearing in (("5", "90"), ("3 m", "0°"), ("5,0", "270")):
        QTest.keyClicks(view.entry.line(), length)
        QTest.keyClick(view.entry.line(), KEY.Key_Tab)
        assert view.entry.bearing().hasFocus()
        QTest.keyClicks(view.entry.bearing(), bearing)
        QTest.keyClick(view.entry.bearing(), KEY.Key_Return)
    type_in(view, "")
    assert corners(bench) == [(0, 0), (5, 0), (5, 3), (0, 3)]


@pytest.mark.parametrize(
    ("text", "bearing", "length", "turn"),
    [
        ("2.00 m, 90°", "", 2.0, 90.0),
        ("2,00 m; 90°", "", 2.0, 90.0),
        ("2,00 m, 90°", "", 2.0, 90.0),
        ("2,00; 90,5°", "", 2.0, 90.5),
        ("2,00, 90,5°", "", 2.0, 90.5),
        ("2.00;90.5°", "", 2.0, 90.5),
        ("2 m,90°", "", 2.0, 90.0),
        ("6 ft, -90 deg", "", 1.8288, -90.0),
        ("18 in., 45°", "", 0.4572, 45.0),
        ("2,5", "", 2.5, 33.0),
        ("2,5", "45", 2.5, 45.0),
        ("2.5 m", "45,5°", 2.5, 45.5),
    ],
)
def test_a_length_and_a_bearing_are_read_one_way(text: str, bearing: str, length: float, turn: float) -> None:
    """A comma between digits is a decimal one; a semicolon, or a comma before a space or after a unit, parts."""
    assert read_side(text, bearing, SI, 33.0) == (pytest.approx(length), turn)


@pytest.mark.parametrize("text", ["2,90°", "2 m, 90", "90°", "2 m; 90° 5", "0 m, 90°", "2 m, nan°", "2 m, 90°; 4"])
def test_what_might_be_read_two_ways_is_refused(text: str) -> None:
    with pytest.raises(UnitError):
        read_side(text, "", SI, 0.0)


def test_a_bearing_turns_clockwise_from_north() -> None:
    """North is up on the plan: a quarter turn to the right is east, as on a compass."""
    drawing = Drawing("floor", [(0.0, 0.0)])
    for bearing, corner in ((0.0, (0.0, 2.0)), (90.0, (2.0, 2.0)), (180.0, (2.0, 0.0)), (225.0, (0.585786, -1.414214))):
        drawing.typed(2.0, bearing)
        assert drawing.corners[-1] == pytest.approx(corner)
    assert drawing.side_to((0.585786, 1.0))[1] == pytest.approx(0.0)


def test_backspace_takes_the_last_corner_back_and_escape_the_whole_drawing(show: Show) -> None:
    view, bench = show(bare())
    view.gestures.take("floor")
    click(view, (0, 0))
    click(view, (3, 0))
    QTest.keyClick(view.entry.line(), KEY.Key_Backspace)
    assert view.gestures.drawing is not None
    assert view.gestures.drawing.corners == [(0, 0)]
    QTest.keyClick(view.entry.line(), KEY.Key_Escape)
    QTest.keyClick(view, KEY.Key_Escape)
    assert view.gestures.tool == "pick"
    assert bench.design == bare()


def test_a_crossed_outline_stays_drawn_with_its_sentence_and_can_be_mended(show: Show) -> None:
    view, bench = show(bare())
    view.gestures.take("floor")
    for at in ((0, 0), (6, 0), (0, 4), (6, 4)):
        click(view, at)
    view.setFocus()
    QTest.keyClick(view, KEY.Key_Return)
    assert "crosses or touches itself" in view.refused()
    assert view.gestures.drawing is not None
    assert bench.design.slab is None
    for _ in range(2):
        QTest.keyClick(view, KEY.Key_Backspace)
    for at in ((6, 4), (0, 4)):
        click(view, at)
    view.setFocus()
    QTest.keyClick(view, KEY.Key_Return)
    assert corners(bench) == [(0, 0), (6, 0), (6, 4), (0, 4)]


def test_zones_and_footings_are_drawn_over_the_floor(show: Show) -> None:
    view, bench = show(floor())
    view.gestures.take("zone")
    for at in ((4, 3), (6, 3), (6, 4.5), (4, 4.5), (4, 3)):
        click(view, at)
    view.gestures.take("footing")
    for at in ((3, 0.5), (3, 3.5)):
        click(view, at)
    view.setFocus()
    QTest.keyClick(view, KEY.Key_Return)
    slab = bench.design.slab
    assert slab is not None
    assert [(p.x, p.y) for p in slab.zones[0].outline] == [(4, 3), (6, 3), (6, 4.5), (4, 4.5)]
    assert [(p.x, p.y) for p in slab.footings[0].line] == [(3, 0.5), (3, 3.5)]


# --- moving -----------------------------------------------------------------------------------------------------------


def test_a_corner_is_dragged_in_one_step_and_the_design_only_hears_of_it_at_the_end(show: Show) -> None:
    view, bench = show(floor())
    drag(view, (8, 6), (8.52, 6.47), let_go=False)
    assert bench.design == floor()
    assert view.sketch.outline[2] == (8.5, 6.5)
    end = view.frame.pixels((8.52, 6.47))
    send(view, QEvent.Type.MouseButtonRelease, end, LEFT, Qt.MouseButton.NoButton)
    assert corners(bench)[2] == (8.5, 6.5)
    assert bench.said == ["Move Corner 3"]
    bench.document.undo()
    assert bench.design == floor()
    assert view.sketch.outline[2] == (8, 6)


def test_alt_frees_from_grid_and_neighbours(show: Show) -> None:
    view, bench = show(floor())
    drag(view, (7, 5), (6.53, 4.27), Qt.KeyboardModifier.AltModifier)
    position = bench.design.holes[0].position
    assert position is not None
    assert (position.x, position.y) == pytest.approx((6.53, 4.27), abs=0.01)
    drag(view, (6.53, 4.27), (6.23, 1.53))
    position = bench.design.holes[0].position
    # drawn onto the level of the suction point
    assert (position.x, position.y) == (6.2, 1.5) if position is not None else False


def test_a_drag_that_cannot_be_says_why_while_it_lasts_and_after(show: Show) -> None:
    view, bench = show(floor())
    drag(view, (7, 5), (8.4, 5), let_go=False)
    assert view.refused() == "The hole 'A' lies outside the floor."
    end = view.frame.pixels((8.4, 5))
    send(view, QEvent.Type.MouseButtonRelease, end, LEFT, Qt.MouseButton.NoButton)
    assert view.refused() == "The hole 'A' lies outside the floor."
    # the wish stays drawn, the design and its field stay as they were
    assert view.sketch.spots["holes", 0].place[0] == pytest.approx(8.4, abs=0.05)
    assert bench.design == floor()
    assert view.field.plan is not None
    drag(view, view.sketch.spots["holes", 0].place, (6, 5))
    assert view.refused() == ""
    assert bench.design.holes[0].position == place(6, 5)


def test_a_pit_dragged_onto_a_footing_is_refused(show: Show) -> None:
    view, bench = show(add_footing(floor(), (place(4, 0.5), place(4, 5))))
    drag(view, (1.5, 1.5), (4, 2.5))
    assert "lies on the footing" in view.refused()
    QTest.keyClick(view, KEY.Key_Escape)
    assert view.refused() == ""
    assert view.sketch.spots[POINT].place == (1.5, 1.5)
    assert len(bench.said) == 1


def test_dragging_the_sheet_moves_the_sheet_and_nothing_else(show: Show) -> None:
    view, bench = show(floor())
    before = view.frame.pixels((0, 0))
    drag(view, (4, 3), (5, 3))
    after = view.frame.pixels((0, 0))
    assert after.x() - before.x() == pytest.approx(view.frame.scale, abs=1.0)
    assert bench.said == []
    QTest.keyClick(view, KEY.Key_0)
    assert view.frame.pixels((0, 0)) == before


def test_a_footing_moves_as_a_whole_once_it_is_picked(show: Show) -> None:
    view, bench = show(add_footing(floor(), (place(4, 1), place(4, 5))))
    click(view, (4, 2.1))
    assert view.picked == ("slab", "footings", 0)
    drag(view, (4, 2.1), (5, 2.1))
    slab = bench.design.slab
    assert slab is not None
    assert [(p.x, p.y) for p in slab.footings[0].line] == [(5, 1), (5, 5)]


# --- lengths and sides ------------------------------------------------------------------------------------------------


def test_a_dimension_is_clicked_and_typed_over(show: Show) -> None:
    view, bench = show(floor())
    view.grab()
    dimension = next(d for d in view._written() if d.line == OUTLINE and d.side == 0)
    assert dimension.text == "8.00 m"
    QTest.mouseClick(view, LEFT, pos=dimension.middle.toPoint())
    assert view.entry.line().selectedText() == "8.00 m"
    type_in(view, "30 ft")
    assert corners(bench) == [(0, 0), (9.144, 0), (9.144, 6), (0, 6)]
    assert bench.said == ["Set length of side 1"]
    assert not view.entry.is_open()


def test_a_dimension_entered_as_it_stands_moves_nothing(show: Show) -> None:
    view, bench = show(floor())
    view.set_system(US)
    view.gestures.ask_length(OUTLINE, 0, QPoint(200, 200))
    assert view.entry.line().text() == "26.2 ft"
    QTest.keyClick(view.entry.line(), KEY.Key_Return)
    assert bench.design == floor()
    assert not view.entry.is_open()


def test_a_length_that_would_leave_a_hole_outside_is_refused_beside_what_was_typed(show: Show) -> None:
    view, bench = show(floor())
    view.gestures.ask_length(OUTLINE, 0, QPoint(200, 200))
    type_in(view, "5 m")
    assert "lies outside the floor" in view.entry.fault()
    assert view.entry.line().text() == "5 m"
    assert bench.design == floor()


def test_the_menu_of_a_side_sets_its_edge_and_puts_a_corner_in(show: Show) -> None:
    view, bench = show(floor())
    at = view.frame.pixels((4, 6))
    menu = plan_menu(view, view, view.gestures, at)
    edges = next(action.menu() for action in menu.actions() if action.text() == "Edge of this side")
    assert isinstance(edges, QMenu)
    next(action for action in edges.actions() if action.text() == "Open to the room").trigger()
    assert bench.design.slab is not None
    assert bench.design.slab.edge(2).kind == "open"
    next(action for action in menu.actions() if action.text() == "Add a corner here").trigger()
    assert (4, 6) in corners(bench)
    assert view.picked == (*OUTLINE, 3)


# --- keys -------------------------------------------------------------------------------------------------------------


def test_tab_walks_every_part_and_then_leaves(show: Show) -> None:
    view, bench = show(floor())
    seen = []
    for _ in range(20):
        QTest.keyClick(QApplication.focusWidget() or view, KEY.Key_Tab)
        if not view.hasFocus():
            break
        seen.append(view.picked)
    assert seen == view.base.parts()
    assert len(seen) == 2 + 1 + 4 + 4
    assert bench.said == []


def test_arrows_move_by_a_snap_with_shift_finer_as_one_step(show: Show, qtbot: QtBot) -> None:
    view, bench = show(floor())
    view.pick(("holes", 0))
    for _ in range(3):
        QTest.keyClick(view, KEY.Key_Left)
    QTest.keyClick(view, KEY.Key_Down, Qt.KeyboardModifier.ShiftModifier)
    assert bench.said == []
    qtbot.waitUntil(lambda: bench.said == ["Move Hole A"])
    assert bench.design.holes[0].position == place(6.7, 4.99)


def test_delete_removes_and_insert_halves_a_side(show: Show) -> None:
    view, bench = show(floor())
    view.pick(("slab", "edges", 0))
    QTest.keyClick(view, KEY.Key_Insert)
    assert corners(bench)[1] == (4, 0)
    QTest.keyClick(view, KEY.Key_Delete)
    assert len(corners(bench)) == 4
    view.pick(("holes", 0))
    QTest.keyClick(view, KEY.Key_Delete)
    assert bench.design.holes == ()
    view.pick(POINT)
    QTest.keyClick(view, KEY.Key_Delete)
    assert view.refused() == "A system needs at least one suction point."


# --- the field --------------------------------------------------------------------------------------------------------


def test_the_value_under_the_pointer_is_that_of_the_field(show: Show) -> None:
    view, bench = show(floor())
    plan = plan_at(bench.document.prepared, bench.document.outcome)
    assert plan is not None
    # the field as it leans to its holes, at the middle of a cell
    cell = int(np.argmin(np.hypot(*(plan.field.centres - (5.55, 3.35)).T)))
    at = (float(plan.field.centres[cell, 0]), float(plan.field.centres[cell, 1]))
    expected = float(plan.day[cell])
    assert view.field.value_at(at, worst=False) == pytest.approx(expected, rel=1e-3)
    heard: list[str] = []
    view.hovered.connect(heard.append)
    point = view.frame.pixels(at)
    send(view, QEvent.Type.MouseMove, point, Qt.MouseButton.NoButton, Qt.MouseButton.NoButton)
    assert "on the worst day" in heard[-1]


def test_the_picture_shows_the_shade_of_the_value(show: Show) -> None:
    view, _ = show(floor())
    picture: QImage = view.grab().toImage()
    at = (5.55, 3.35)
    value = view.field.value_at(at, worst=True)
    assert value is not None
    bounds = levels(SI)
    wanted = shades(LIGHT.name, len(bounds))[int((bounds <= value).sum())]
    point = view.frame.pixels(at).toPoint()
    assert picture.pixelColor(point).name().upper() == wanted


@pytest.mark.parametrize("theme", [LIGHT, DARK])
def test_shades_go_evenly_from_the_sheet(theme: Theme) -> None:
    name = theme.name
    light = [luminance(colour) for colour in shades(name, 20)[1:]]
    steps = [b - a for a, b in itertools.pairwise(light)]
    assert all(step < 0 for step in steps) if name == "light" else all(step > 0 for step in steps)


def test_a_target_above_part_of_the_field_is_drawn_and_hatched(show: Show) -> None:
    view, bench = show(floor())
    assert view.field.plan is not None
    middle = (view.field.plan.worst_coverage.least + float(view.field.plan.worst.max())) / 3.0
    bench.document.propose(lambda d: with_value(d, ("target", "suction"), min(middle, 90.0)), "Raise the target")
    shown = view.field._shown
    assert shown is not None
    assert not shown.line.isEmpty()
    x, y = view.field.plan.worst_coverage.place
    assert shown.failing.contains(QPointF(x, y))
    assert not shown.failing.contains(QPointF(1.5, 1.5))


def test_holes_say_what_is_left_with_its_band_and_verdict(show: Show) -> None:
    view, bench = show(floor())
    holding = bench.document.outcome.holding
    assert holding is not None
    words = words_at(view.sketch, bench.document.outcome, SI, worst=True)["holes", 0]
    assert words.first.startswith("A  ")
    assert words.verdict == holding.holes[0].verdict(holding.target)
    assert " to " in words.rest[0]
    # nobody read it
    assert (words.verdict, words.rest[1]) == ("not measured", "not measured")
    reading = HoleReading(point=bench.design.intake.source.name, applied=100.0, flow=0.02, suction=20.0)
    bench.document.propose(lambda d: with_value(d, ("holes", 0, "readings"), (reading,)), "Read it")
    read = words_at(view.sketch, bench.document.outcome, SI, worst=True)["holes", 0]
    assert read.verdict != "not measured"
    assert read.rest[1].startswith("day of test ")


def test_a_speed_moves_the_field_without_laying_the_drawing_anew(show: Show) -> None:
    view, bench = show(floor())
    view.grab()
    over = view._over
    before = view.field.value_at((6, 4), worst=True)
    bench.document.propose(lambda d: with_value(d, ("speed",), 0.5), "Change speed")
    after = view.field.value_at((6, 4), worst=True)
    assert before is not None
    assert after is not None
    assert after < before
    assert view._over is over


def test_units_and_themes_change_what_is_written(show: Show) -> None:
    view, _ = show(floor())
    view.set_system(US)
    view.apply_theme(DARK)
    assert next(d for d in view._written() if d.side == 0).text == "26.2 ft"
    assert not view.grab().isNull()
    view.show_kind("air")
    assert not view.grab().isNull()
    assert view._air is not None
    assert sum(path.flow for path in view._air.paths) == pytest.approx(view._air.total)


@pytest.mark.parametrize("house", [True, False])
def test_air_along_a_side_is_drawn_there_as_the_air_it_is(show: Show, house: bool) -> None:
    """House air solid, outdoor air dashed, at the side that is named and at no other."""
    view, _ = show(floor())
    view.show_kind("air")
    assert view._air is not None
    side = 2
    air = AirWays((AirPath("side", 1e-3, house, side),), view._air.plan)
    picture = QImage(view.size(), QImage.Format.Format_RGB32)
    with watching() as seen:
        painter = QPainter(picture)
        paint_air(painter, air, view.sketch, view.frame, LIGHT)
        painter.end()
    a, b = (view.frame.pixels(end) for end in view.sketch.sides(OUTLINE)[side])
    near = QRectF(a, b).normalized().adjusted(-50, -50, 50, 50)
    assert seen
    assert all(near.contains(stroke.box.topLeft()) for stroke in seen)
    assert {stroke.colour for stroke in seen} == {colour_of(LIGHT, house).name().upper()}


# --- the sheet --------------------------------------------------------------------------------------------------------


def test_zooming_keeps_the_place_under_the_pointer() -> None:
    frame = PlanFrame()
    frame.resize(800, 500)
    at = QPointF(200.0, 120.0)
    before = frame.metres(at)
    frame.zoom(1.7, at)
    assert frame.metres(at) == pytest.approx(before)


def test_snapping_prefers_a_neighbours_line_to_the_grid() -> None:
    frame = PlanFrame()
    frame.resize(800, 500)
    snapped = frame.snap((3.46, 2.04), [(3.43, 9.0)], 0.1)
    assert snapped.place == (3.43, 2.0)
    assert snapped.vertical == (3.43, 9.0)
    assert snapped.horizontal is None
