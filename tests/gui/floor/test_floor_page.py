"""The floor page as a whole: beginning a floor, the card, the picture of a plan, and its place in the window."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QImage
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit
from pytestqt.qtbot import QtBot

from tests.gui.bench import Bench
from workbench.design import Design, GroundClass
from workbench.design.plan_edit import (
    OUTLINE,
    add_footing,
    add_hole,
    add_zone,
    lay_picture,
    place,
    set_edge,
    stand,
    start_rectangle,
)
from workbench.design.record import with_value
from workbench.design.slab import Edge, HoleReading, PlanPicture
from workbench.files.beside import choose
from workbench.files.scenes import load_scene
from workbench.gui.app import open_window
from workbench.gui.floor.page import FloorPage
from workbench.gui.kit.theme import DARK
from workbench.gui.shell.settings import Settings
from workbench.gui.window import FLOOR, SITE
from workbench.units import SI, US, System

pytestmark = pytest.mark.qt_log_ignore("^This plugin does not support", extend=True)

KEY = Qt.Key
LEFT = Qt.MouseButton.LeftButton
POINT = ("intake", "source")

Show = Callable[[Design], tuple[FloorPage, Bench]]


def bare() -> Design:
    design = with_value(load_scene("studio"), ("slab",), None)
    # a floor of which only the class is known is answered at once
    design = with_value(design, (*POINT, "ground"), GroundClass())
    return stand(with_value(design, ("holes",), ()), POINT, None)


def floor() -> Design:
    design = stand(start_rectangle(bare(), 8.0, 6.0), POINT, place(1.5, 1.5))
    design = with_value(design, ("slab", "fill"), "fine gravel or crushed stone with fines")
    return add_hole(set_edge(design, 1, Edge(kind="joint", joint_width=0.001)), place(7, 5))


@pytest.fixture
def show(qtbot: QtBot) -> Show:
    def made(design: Design) -> tuple[FloorPage, Bench]:
        page = FloorPage()
        qtbot.addWidget(page)
        bench = Bench(page, design)
        page.resize(1264, 560)
        page.show()
        qtbot.waitExposed(page)
        page.activateWindow()
        qtbot.waitUntil(page.isActiveWindow)
        return page, bench

    return made


def click(page: FloorPage, at: tuple[float, float]) -> None:
    QTest.mouseClick(page.view, LEFT, pos=page.view.frame.pixels(at).toPoint())


# --- beginning --------------------------------------------------------------------------------------------------------


def test_an_empty_sheet_offers_a_rectangle_and_the_first_point(show: Show) -> None:
    page, bench = show(bare())
    assert page.start.isVisible()
    assert not page.tools["hole"].isEnabled()
    field = page.start.across.control()
    assert isinstance(field, QLineEdit)
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, "10,5")
    QTest.keyClick(field, KEY.Key_Return)
    QTest.mouseClick(page.start.rectangle, LEFT)
    assert not page.start.isVisible()
    slab = bench.design.slab
    assert slab is not None
    assert [(c.x, c.y) for c in slab.outline] == [(0, 0), (10.5, 0), (10.5, 7), (0, 7)]
    assert page.coverage.text() == "Click where Kiln corner goes."
    click(page, (2, 2))
    assert page.coverage.text().startswith(
        "Not measured. Fitted field, by the estimate: 100 % of the floor meets the target on the worst"
    )
    bench.document.undo()
    assert "Place Kiln corner on the plan" in page.coverage.text()
    assert page.waiting.isVisible()
    bench.document.undo()
    assert page.start.isVisible()


def test_a_floor_may_be_drawn_corner_by_corner_from_the_empty_sheet(show: Show) -> None:
    page, bench = show(bare())
    QTest.mouseClick(page.start.corners, LEFT)
    assert not page.start.isVisible()
    for at in ((0, 0), (6, 0), (6, 4), (0, 0)):
        click(page, at)
    assert bench.design.slab is not None
    assert len(bench.design.slab.outline) == 3


def test_tools_place_points_and_holes(show: Show) -> None:
    page, bench = show(floor())
    QTest.mouseClick(page.tools["hole"], LEFT)
    click(page, (4, 4))
    # holes come several at a time
    assert page.tools["hole"].isChecked()
    click(page, (3, 5))
    QTest.keyClick(page.view, KEY.Key_Escape)
    assert page.tools["pick"].isChecked()
    QTest.mouseClick(page.tools["point"], LEFT)
    click(page, (6, 2))
    assert [hole.position for hole in bench.design.holes] == [place(7, 5), place(4, 4), place(3, 5)]
    assert [point.position for _, point in bench.design.suction_points()] == [place(1.5, 1.5), place(6, 2)]
    assert page.tools["pick"].isChecked()
    QTest.mouseClick(page.tools["hole"], LEFT)
    click(page, (8.3, 4))
    assert "lies outside the floor" in page.view.refused()
    assert page.tools["hole"].isChecked()


# --- the card ---------------------------------------------------------------------------------------------------------


def test_the_card_of_a_hole_names_and_moves_it(show: Show) -> None:
    page, bench = show(floor())
    click(page, (7, 5))
    assert page.card.isVisible()
    fields = page.card.form().fields()
    name = fields["holes", 0, "name"].control()
    name.setFocus()
    name.selectAll()
    QTest.keyClicks(name, "North-east")
    QTest.keyClick(name, KEY.Key_Return)
    assert bench.design.holes[0].name == "North-east"
    x = fields["holes", 0, "position", "x"].control()
    x.setFocus()
    x.selectAll()
    QTest.keyClicks(x, "9")
    QTest.keyClick(x, KEY.Key_Return)
    # beside the field that it was typed into
    assert "lies outside the floor" in fields["holes", 0, "position", "x"].fault()
    assert page.view._stale
    x.selectAll()
    QTest.keyClicks(x, "6.5")
    QTest.keyClick(x, KEY.Key_Return)
    assert bench.design.holes[0].position == place(6.5, 5)
    assert page.card._fault.text() == ""
    assert not page.view._stale


def test_renaming_a_point_on_the_plan_takes_its_readings_along(show: Show) -> None:
    design = floor()
    (_, point), *_ = design.suction_points()
    reading = HoleReading(point=point.name, applied=200.0, suction=5.0)
    page, bench = show(with_value(design, ("holes", 0, "readings"), (reading,)))
    page.pick(POINT)
    name = page.card.form().fields()[(*POINT, "name")].control()
    name.setFocus()
    name.selectAll()
    QTest.keyClicks(name, "Pit")
    QTest.keyClick(name, KEY.Key_Return)
    assert bench.design.holes[0].readings[0].point == "Pit"


def test_a_side_has_its_length_and_edge_on_its_card(show: Show) -> None:
    page, bench = show(floor())
    click(page, (4, 0))
    form = page.card.form()
    assert not form.across.isVisible()
    form.kind.committed.emit("joint")
    slab = bench.design.slab
    assert slab is not None
    assert slab.edge(0).kind == "joint"
    assert form.across.isVisible()
    length = form.length.control()
    length.setFocus()
    length.selectAll()
    QTest.keyClicks(length, "28 ft")
    QTest.keyClick(length, KEY.Key_Return)
    slab = bench.design.slab
    assert slab is not None
    assert slab.outline[1].x == pytest.approx(8.5344)
    assert slab.outline[2].x == pytest.approx(8.5344)


def test_the_floor_has_its_fill_with_its_source(show: Show) -> None:
    page, bench = show(floor())
    page.pick(("slab", "fill"))
    assert page.view.picked == ("slab",)
    form = page.card.form()
    assert "uncertain by a factor of 5 either way" in form.source.text()
    form.record.field("fill").committed.emit("coarse sand")
    assert bench.design.slab is not None
    assert bench.design.slab.fill == "coarse sand"
    page.set_system(US)
    page.apply_theme(DARK)
    assert not page.grab().isNull()


def test_enter_opens_the_card_and_escape_closes_it(show: Show) -> None:
    page, _ = show(floor())
    page.pick(("holes", 0))
    page.view.setFocus()
    QTest.keyClick(page.view, KEY.Key_Return)
    inside = QApplication.focusWidget()
    assert inside is not None
    assert page.card.isAncestorOf(inside)
    QTest.keyClick(page.card, KEY.Key_Escape)
    assert not page.card.isVisible()
    assert page.view.hasFocus()


@pytest.mark.parametrize("system", [SI, US])
def test_every_part_has_a_card_that_shows_it_whole(show: Show, system: System) -> None:
    design = add_footing(floor(), (place(4, 1), place(4, 5)))
    design = add_zone(design, (place(5, 1), place(7, 1), place(7, 3)))
    page, _ = show(lay_picture(design, PlanPicture(path="nowhere.png")))
    page.set_system(system)
    for part in [*page.view.base.parts(), ("slab", "picture")]:
        page.pick(part)
        assert page.card.part() == part
        assert page.card.isVisible()
        assert page.card.form().fields()
        assert page.card._title.text()
        QApplication.sendPostedEvents()
        bar = page.card._pane.verticalScrollBar()
        assert bar.maximum() <= 4 or page.card.height() >= page.view.height() - 50


def test_keys_in_the_card_do_nothing_to_the_plan(show: Show) -> None:
    page, bench = show(floor())
    page.pick(("holes", 0))
    name = page.card.form().fields()["holes", 0, "name"].control()
    name.setFocus()
    name.selectAll()
    for key in (KEY.Key_Delete, KEY.Key_Insert, KEY.Key_Left, KEY.Key_Up):
        QTest.keyClick(name, key)
    assert bench.design == floor()
    assert page.view.sketch is page.view.base


# --- the picture of a plan --------------------------------------------------------------------------------------------


def picture_file(folder: Path) -> Path:
    image = QImage(300, 200, QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.darkGray)
    path = folder / "plan.png"
    assert image.save(str(path))
    return path


def test_a_plan_is_traced_over_a_picture_scaled_by_two_places(show: Show, tmp_path: Path) -> None:
    page, bench = show(bare())
    page.lay_picture(picture_file(tmp_path))
    # at first a pixel counts as 2 cm: the picture is 6 m wide
    assert page.view.gestures.tool == "scale"
    one, other = (1.0, 1.0), (4.0, 1.0)
    click(page, one)
    click(page, other)
    line = page.view.entry.line()
    QTest.keyClicks(line, "7.5 m")
    QTest.keyClick(line, KEY.Key_Return)
    bounds = page.view.picture.bounds()
    assert bounds is not None
    assert bounds[1] - bounds[0] == pytest.approx(6.0 * 7.5 / 3.0, rel=0.02)
    assert page.view.gestures.tool == "floor"
    for at in ((1, 1), (8, 1), (8, 6), (1, 6), (1, 1)):
        click(page, at)
    assert bench.design.slab is not None
    kept = bench.design.slab.picture
    assert kept is not None
    assert kept.metres_per_pixel == pytest.approx(0.05, rel=0.02)


def test_a_picture_that_is_gone_is_said_in_words(show: Show, tmp_path: Path) -> None:
    design = with_value(floor(), ("slab", "picture"), PlanPicture(path=str(tmp_path / "gone.png")))
    choose(tmp_path / "gone.png")
    page, _ = show(design)
    assert page.coverage.text() == "The plan image gone.png was not found; the plan is shown without it."
    damaged = tmp_path / "damaged.png"
    damaged.write_bytes(b"no picture")
    page.lay_picture(damaged)
    assert page.coverage.text() == "damaged.png cannot be read as an image; the plan is shown without it."


# --- words and places -------------------------------------------------------------------------------------------------


def test_the_coverage_is_that_of_the_day_shown(show: Show) -> None:
    page, bench = show(with_value(floor(), ("speed",), 0.4))
    plan = page.view.field.plan
    assert plan is not None
    target = (plan.worst_coverage.least + plan.day_coverage.least) / 2.0
    assert bench.document.propose(lambda d: with_value(d, ("target", "suction"), target), "Change the target") == []
    assert "on the worst day" in page.coverage.text()
    assert "100 %" not in page.coverage.text()
    page.shown.committed.emit("day")
    assert page.coverage.text().startswith(
        "Not measured. Fitted field, by the estimate: 100 % of the floor meets the target on the day"
    )
    page.shown.committed.emit("air")
    assert "house air" in page.coverage.text()


def test_a_hole_picked_beside_the_plan_is_picked_on_it(show: Show) -> None:
    page, _ = show(floor())
    page.side.picked.emit(("holes", 0))
    assert page.view.picked == ("holes", 0)


def test_the_window_turns_to_the_floor_for_its_parts(qtbot: QtBot) -> None:
    design = add_footing(floor(), (place(4, 1), place(4, 5)))
    window = open_window(design, settings=Settings(None))
    qtbot.addWidget(window)
    window.show()
    assert window.pages.titles[:2] == [SITE, FLOOR]
    window.show_part(("slab", "footings", 0, "opening"))
    assert window.pages.current == FLOOR
    assert window.pages.page(FLOOR).view.picked == ("slab", "footings", 0)
    window.show_part(("holes", 0, "readings", 0))
    assert window.pages.page(FLOOR).view.picked == ("holes", 0)
    window.show_part((*OUTLINE, 1))
    assert window.pages.page(FLOOR).view.picked == (*OUTLINE, 1)
    window.show_part(("discharge", 0))
    assert window.pages.current == SITE
    page = window.pages.page(FLOOR)
    window.pages.turn_to(FLOOR)
    page.view.gestures.insert(("slab", "edges", 0), None)
    assert window.windowTitle().endswith("Workbench")
    assert window.isWindowModified()
    window._document.undo()
    assert not window.isWindowModified()
