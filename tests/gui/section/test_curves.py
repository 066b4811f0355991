"""The curves in the window: choosing, hiding, holding, reading, zooming, and taking them elsewhere."""

from __future__ import annotations

import csv
import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QGuiApplication, QImage, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QCheckBox, QFileDialog, QLineEdit, QToolButton
from pytestqt.qtbot import QtBot

from tests.gui.hand import KEY, LEFT, Hand
from workbench.design import Design, FanPoint, FanRecord, FanTable
from workbench.design.blank import blank_design
from workbench.design.edit import add_fan, add_suction_point, remove_fan, replace_fan
from workbench.design.record import with_value
from workbench.files.scenes import load_scene
from workbench.gui.kit.chart_items import Band, Curve
from workbench.gui.kit.theme import DARK, LIGHT
from workbench.gui.section.curve_names import place_names
from workbench.gui.section.curve_sheet import CurveSheet
from workbench.gui.section.kept_curves import MOST
from workbench.gui.window import FLOOR
from workbench.units import SI, format_quantity

OTHER = "Quiet low-flow, electronic"


def sheet(hand: Hand) -> CurveSheet:
    return hand.window.site_page.sheet


def data(curve: Curve) -> tuple[np.ndarray, np.ndarray]:
    x, y = curve.getData()
    return np.array(x), np.array(y)


def faint(hand: Hand, name: str) -> Curve:
    return next(laid.pressure for laid in sheet(hand)._laid if laid.trace.name == name)


def view(hand: Hand) -> list[list[float]]:
    return [list(pair) for pair in sheet(hand).chart.sheet.viewRange()]


def test_the_operating_point_lies_on_both_curves(hand: Hand) -> None:
    for speed in (0.45, 0.6, 0.95):
        hand.drag(speed)
        point = hand.document.outcome.operating
        assert point is not None
        for basis in ("static", "total"):
            hand.window.site_page.set_basis(basis)
            # fan static pressure is fan total pressure less the outlet's velocity pressure (ANSI/AMCA 210, definition)
            fan = next(f for f in hand.design.fans if f.name == hand.design.fan)
            velocity = point.flow / (math.pi * fan.outlet_diameter**2 / 4.0)
            less = 0.5 * hand.document.prepared.density * velocity**2 if basis == "static" else 0.0
            for curve in (sheet(hand)._fan, sheet(hand)._system_curve):
                assert np.interp(point.flow, *data(curve)) == pytest.approx(point.fan_pressure - less, rel=2e-3)
            shown = sheet(hand)._operating.getData()
            assert (shown[0][0], shown[1][0]) == (point.flow, pytest.approx(point.fan_pressure - less, rel=1e-12))


def test_what_a_static_sheet_says_is_what_the_chart_draws(hand: Hand) -> None:
    """Points typed as static at full speed lie on the curve drawn, in air of the density they were rated in."""
    density = hand.document.prepared.density
    for laid in sheet(hand)._laid:
        fan = next(f for f in hand.design.fans if f.name == laid.trace.name)
        assert fan.basis == "static"
        x, y = data(laid.pressure)
        for point in fan.full.points[1:-1]:
            # pressures go with the density (fan laws, ANSI/AMCA 210)
            assert np.interp(point.flow, x, y) == pytest.approx(
                point.pressure * density / fan.rated_density, rel=2e-3, abs=0.5
            )


def test_every_ticked_fan_is_in_sight_whichever_is_selected(hand: Hand) -> None:
    for name in (OTHER, "Medium suction, electronic"):
        hand.document.propose(lambda d, n=name: d.model_copy(update={"fan": n}), "Select")
        hand.settle()
        (_, right), (_, top) = view(hand)
        for laid in sheet(hand)._laid:
            x, y = data(laid.pressure)
            assert x.max() <= right
            assert y.max() <= top
        named = {name.fan for name in sheet(hand).names.names()}
        assert named == {fan.name for fan in hand.design.fans}


def test_a_name_hangs_where_its_curve_ends_and_selects_its_fan(hand: Hand) -> None:
    names = sheet(hand).names
    box = sheet(hand).chart.sheet
    for name, placed in zip(names.names(), names.placed(), strict=True):
        laid = sheet(hand)._fan if name.strong else faint(hand, name.fan)
        assert name.end == pytest.approx(data(laid)[0][-1])
        across = sheet(hand).chart.mapFromScene(box.mapViewToScene(QPointF(name.end, 0.0))).x()
        assert placed.at == pytest.approx(across, abs=1.0)
    other = next(p for n, p in zip(names.names(), names.placed(), strict=True) if n.fan == OTHER)
    QTest.mouseClick(names, LEFT, pos=names._box(other).center().toPoint())
    hand.settle()
    assert hand.design.fan == OTHER


def test_rings_lie_where_the_other_curves_meet_the_system(hand: Hand) -> None:
    rings = np.array(sheet(hand)._rings.getData()).T
    prepared = hand.document.prepared
    others = [fan.name for fan in hand.design.fans if fan.name != hand.design.fan]
    met = [point for name in others for point in prepared.crossings(1.0, name)]
    for point in met:
        assert min(abs(rings[:, 0] - point.flow)) < 2e-3 * point.flow + 2e-5
    hand.window.site_page.key._see(OTHER, False)
    assert len(sheet(hand)._rings.getData()[0]) == len(rings) - len(prepared.crossings(1.0, OTHER))


def test_choosing_another_fan_in_the_key(hand: Hand) -> None:
    before = hand.answers()
    assert not hand.window.site_page.key.isVisible()
    hand.press("Fans: 5 of 5")
    assert hand.window.site_page.key.isVisible()
    radio = hand.window.site_page.key.radio(OTHER)
    QTest.mouseClick(radio, LEFT, pos=QPoint(8, radio.height() // 2))
    hand.settle()
    assert hand.design.fan == OTHER
    assert radio.isChecked()
    assert [f.name for f in hand.design.fans if hand.window.site_page.key.radio(f.name).isChecked()] == [OTHER]
    assert hand.answers()["flow"] != before["flow"]
    assert hand.action("Undo").text().replace("&", "") == f"Undo: select {OTHER}"
    hand.choose("Undo")
    hand.document.settle()
    assert hand.answers() == before
    assert not radio.isChecked()


def test_a_fan_that_cannot_run_so_slowly_is_raised_to_its_least_speed(hand: Hand) -> None:
    hand.drag(0.3)
    phase_cut = "Everyday in-line, phase-cut control"
    hand.window.site_page.key.radio(phase_cut).click()
    hand.settle()
    fan = hand.design.chosen_fan
    assert fan is not None
    assert hand.design.speed == fan.least_speed == hand.window.rail.speed()


def test_a_curve_can_be_put_out_of_sight_and_back(hand: Hand) -> None:
    box = next(
        b
        for b in hand.window.site_page.key.findChildren(QCheckBox)
        if b.accessibleName() == f"Show the curve of {OTHER}"
    )
    assert faint(hand, OTHER).isVisible()
    hand.press("Fans: 5 of 5")
    QTest.mouseClick(box, LEFT, pos=QPoint(8, box.height() // 2))
    hand.settle()
    assert not faint(hand, OTHER).isVisible()
    assert "Fans: 4 of 5" in [b.text().replace("&", "") for b in hand.window.site_page.findChildren(QToolButton)]
    hand.drag(0.5)
    hand.choose("Undo")
    assert not faint(hand, OTHER).isVisible()
    QTest.keyClick(box, KEY.Key_Space)
    hand.settle()
    assert faint(hand, OTHER).isVisible()
    assert not hand.document.dirty


def test_a_fan_laid_over_anew_is_in_sight_even_if_one_of_its_name_was_hidden(hand: Hand) -> None:
    record = next(f for f in hand.design.fans if f.name == OTHER)
    hand.window.site_page.key._see(OTHER, False)
    hand.document.propose(lambda d: remove_fan(d, OTHER), "Remove")
    hand.document.propose(lambda d: add_fan(d, record, choose=False), "Add")
    hand.settle()
    assert faint(hand, OTHER).isVisible()


def test_kept_curves_stand_still_have_names_and_say_what_changed(hand: Hand) -> None:
    kept_fan = data(sheet(hand)._fan)
    before = hand.document.outcome.operating
    page = hand.window.site_page
    hand.press("Keep for comparison")
    hand.drag(0.5)
    hand.press("Keep for comparison")
    first = [item for item in sheet(hand).kept.items()[0] if isinstance(item, Curve)]
    assert any(np.array_equal(data(g)[1], kept_fan[1]) for g in first)
    assert not np.array_equal(data(sheet(hand)._fan)[1], kept_fan[1])
    assert [kept.name for kept in sheet(hand).kept] == [f"{hand.design.fan} at 72 %", f"{hand.design.fan} at 50 %"]
    now = hand.document.outcome.operating
    assert before is not None
    assert now is not None
    flow = format_quantity(before.flow - now.flow, "flow", SI)
    one, two = sheet(hand).differences()
    assert one.startswith(f"−{flow}, −")
    assert two == "no change"
    assert one in hand.texts(page)
    field = next(f for f in page.findChildren(QLineEdit) if f.accessibleName() == "Name of kept curve 1")
    field.selectAll()
    QTest.keyClicks(field, "two {elbows} <b>")
    QTest.keyClick(field, KEY.Key_Return)
    assert next(kept.name for kept in sheet(hand).kept) == "two {elbows} <b>"
    hand.choose("Dark")
    hand.choose("SI")
    gone = sheet(hand).kept.items()[0]
    button = next(b for b in page.findChildren(QToolButton) if b.accessibleName() == "Remove kept curve 1")
    QTest.mouseClick(button, LEFT)
    assert [kept.name for kept in sheet(hand).kept] == [f"{hand.design.fan} at 50 %"]
    assert all(item.scene() is None for item in gone)
    hand.choose("Remove kept curves")
    assert len(sheet(hand).kept) == 0
    assert not hand.document.dirty or hand.undo_all() == 1


def test_no_more_curves_are_kept_than_can_be_told_apart(hand: Hand) -> None:
    for _ in range(MOST + 2):
        hand.window.site_page.keep()
    assert len(sheet(hand).kept) == MOST


def test_a_difference_is_of_the_values_not_of_their_roundings(hand: Hand) -> None:
    hand.window.site_page.keep()
    before = hand.document.outcome.operating
    hand.document.propose(lambda d: with_value(d, ("discharge", 0, "length"), d.discharge[0].length + 0.5), "Longer")
    hand.settle()
    now = hand.document.outcome.operating
    assert before is not None
    assert now is not None
    (words,) = sheet(hand).differences()
    assert float(words.split(" L/s")[0].replace("−", "-")) == pytest.approx(1000 * (now.flow - before.flow), abs=0.006)


def test_keeping_without_a_fan_keeps_the_system_alone(hand: Hand) -> None:
    hand.document.propose(lambda d: d.model_copy(update={"fan": None}), "No fan")
    hand.press("Keep for comparison")
    assert len(sheet(hand).kept.items()[0]) == 1
    assert sheet(hand).differences() == ["no operating point to compare"]


def test_an_exported_picture_is_of_the_present_state_from_whichever_page(
    hand: Hand, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    chosen = tmp_path / "mine.svg"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", staticmethod(lambda *_: (str(chosen), "")))
    hand.choose("Dark")
    hand.window.pages.turn_to(FLOOR)
    hand.type_speed("55")
    hand.choose("Export chart image")
    text = chosen.read_text(encoding="utf-8")
    point = hand.document.outcome.operating
    assert point is not None
    for words in (
        hand.design.title.replace("'", "&apos;"),
        f"{hand.design.fan} at 55 %: {sheet(hand).numbers(point)}",
        "Invented demonstration",
        OTHER,
        "System: pipe and soil, with band",
    ):
        assert words in text or words.replace("&apos;", "'") in text, words
    assert LIGHT.panel.lower() in text.lower()
    assert DARK.panel.lower() not in text.lower()


@given(
    st.lists(st.tuples(st.floats(-50, 900), st.floats(10, 260)), min_size=1, max_size=9),
    st.floats(120, 900),
)
def test_no_name_of_a_curve_lies_on_another(ends: list[tuple[float, float]], breadth: float) -> None:
    placed = place_names([end for end, _ in ends], [width for _, width in ends], breadth)
    for one in placed:
        assert one.left >= -1e-9
        assert one.left + one.breadth <= breadth + 1e-9
        for other in placed:
            if one.number < other.number and one.row == other.row:
                assert one.left + one.breadth < other.left or other.left + other.breadth < one.left


def test_the_mouse_reads_the_curves_without_moving_anything(hand: Hand) -> None:
    page = hand.window.site_page
    before = [w.geometry() for w in (page.sheet.chart, page.key, page.site)]
    hand.pass_by_mouse(0.020, 200.0)
    read = page._reading.text()
    prepared, speed = hand.document.prepared, hand.design.speed
    asked = float(prepared.system.at(np.array(0.020)))
    given = float(prepared.fans[hand.design.fan or ""].pressure(0.020, speed, prepared.density))
    less = float(prepared.velocity_pressure(hand.design.fan or "", np.array(0.020)))
    asked, given = asked - less, given - less
    assert read.startswith("At 20.0 L/s: ") or read.startswith("At 19.9 L/s: ") or read.startswith("At 20.1 L/s: ")
    assert format_quantity(asked, "pressure", SI).split()[1] in read
    numbers = [float(w) for w in read.replace(",", "").split() if w.replace(".", "").isdigit()]
    assert any(n == pytest.approx(asked, rel=0.03) for n in numbers)
    assert any(n == pytest.approx(given, rel=0.03) for n in numbers)
    assert [w.geometry() for w in (page.sheet.chart, page.key, page.site)] == before
    assert page._reading.sizeHint().width() <= page._reading.width()
    hand.type_speed("50")
    assert page._reading.text() != read


def test_the_read_out_goes_when_the_mouse_does(hand: Hand) -> None:
    hand.pass_by_mouse(0.020, 200.0)
    assert hand.window.site_page._reading.text().startswith("At ")
    chart = sheet(hand).chart
    QTest.mouseMove(chart.viewport(), QPoint(2, 2))
    hand.settle()
    assert hand.window.site_page._reading.text() == "at 72 %"


def test_zoom_pan_and_reset_by_keys_and_menu(hand: Hand) -> None:
    chart = sheet(hand).chart
    home = view(hand)
    chart.setFocus()
    for key in (KEY.Key_Plus, KEY.Key_Right, KEY.Key_Up):
        QTest.keyClick(chart, key)
        assert view(hand) != home
    near = view(hand)
    hand.drag(0.5)
    assert view(hand) == near, "a drag of the speed must not undo a zoom"
    # the strip beneath keeps the same flow axis
    assert sheet(hand).power_chart.sheet.viewRange()[0] == pytest.approx(near[0])
    hand.choose("Fit to curves")
    assert view(hand) == home
    QTest.keyClick(chart, KEY.Key_Minus)
    QTest.keyClick(chart, KEY.Key_0)
    assert view(hand) == home


def test_the_wheel_zooms_and_the_button_resets(hand: Hand) -> None:
    chart = sheet(hand).chart
    home = view(hand)
    at = QPointF(chart.viewport().rect().center())
    wheel = QWheelEvent(
        at, chart.viewport().mapToGlobal(at), QPoint(), QPoint(0, 240), Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier, Qt.ScrollPhase.NoScrollPhase, False,
    )  # fmt: skip
    QApplication.sendEvent(chart.viewport(), wheel)
    assert view(hand) != home
    hand.press("Fit to curves")
    assert view(hand) == home


def test_the_sheet_does_not_move_while_the_speed_does(hand: Hand) -> None:
    home = view(hand)
    hand.drag(0.3, 1.0)
    assert view(hand) == home


@pytest.mark.parametrize("scene", ["studio", "reading-room"])
@pytest.mark.parametrize("system", ["SI", "US trade"])
def test_no_strong_curve_runs_through_the_numbers_of_the_crossing(qtbot: QtBot, scene: str, system: str) -> None:
    hand = Hand(qtbot, load_scene(scene))
    hand.choose(system)
    chart, label = sheet(hand).chart, sheet(hand)._label
    for speed in (0.4, 0.55, 0.7, 0.85, 1.0):
        hand.drag(speed)
        box = label.mapRectToScene(label.boundingRect())
        assert chart.sheet.sceneBoundingRect().contains(box), speed
        corners = [chart.sheet.mapSceneToView(p) for p in (box.topLeft(), box.bottomRight())]
        left, right = sorted(p.x() for p in corners)
        low, high = sorted(p.y() for p in corners)
        for curve in (sheet(hand)._fan, sheet(hand)._system_curve):
            x, y = data(curve)
            across = np.linspace(max(left, x[0]), min(right, x[-1]), 500) if left < x[-1] else np.empty(0)
            up = np.interp(across, x, y)
            edge = 0.03 * (high - low)
            assert not np.any((up > low + edge) & (up < high - edge)), (speed, curve is sheet(hand)._fan)


def test_the_numbers_of_the_crossing_stay_in_sight_when_the_sheet_shrinks(hand: Hand) -> None:
    hand.bar.say("Something to say")
    hand.press(hand.window.notes._toggle.text(), hand.window.notes)
    hand.window.resize(960, 640)
    hand.settle()
    label = sheet(hand)._label
    box = label.mapRectToScene(label.boundingRect())
    assert sheet(hand).chart.sheet.sceneBoundingRect().contains(box)


def test_the_picture_and_the_numbers_go_to_the_clipboard(hand: Hand) -> None:
    hand.choose("Copy chart as image")
    picture = QGuiApplication.clipboard().image()
    assert picture.width() >= 1200
    assert len({picture.pixel(x, y) for x in range(0, picture.width(), 9) for y in range(0, picture.height(), 9)}) > 10
    hand.choose("Copy curve data")
    rows = list(csv.reader(QGuiApplication.clipboard().text().splitlines(), delimiter="\t"))
    check_table(hand, rows)


def check_table(hand: Hand, rows: list[list[str]]) -> None:
    """Read the crossing back out of the table: where system and chosen fan change order."""
    titles = rows[0]
    speed = f"{100 * hand.design.speed:g} %"
    system = titles.index("System [Pa]")
    fan = titles.index(f"{hand.design.fan} at {speed}, total pressure [Pa]")
    assert titles[0] == "Airflow [L/s]"
    pairs = [(float(r[0]), float(r[system]), float(r[fan])) for r in rows[1:] if r[system] and r[fan]]
    below = [flow for flow, asked, given in pairs if given >= asked]
    point = hand.document.outcome.operating
    assert point is not None
    step = pairs[1][0] - pairs[0][0]
    assert below[-1] == pytest.approx(point.flow * 1000, abs=step)


@pytest.mark.parametrize("ending", ["png", "svg", "pdf", ""])
def test_the_picture_is_saved(hand: Hand, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, ending: str) -> None:
    chosen = tmp_path / (f"mine.{ending}" if ending else "mine")
    monkeypatch.setattr(QFileDialog, "getSaveFileName", staticmethod(lambda *_: (str(chosen), "")))
    hand.choose("Export chart image")
    path = chosen if ending else chosen.with_suffix(".png")
    head = path.read_bytes()[:60]
    assert {"png": b"\x89PNG", "svg": b"<?xml", "pdf": b"%PDF", "": b"\x89PNG"}[ending] in head
    if path.suffix == ".png":
        assert not QImage(str(path)).isNull()
    assert hand.bar.text == ""


def test_the_numbers_are_saved(hand: Hand, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    chosen = tmp_path / "mine.csv"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", staticmethod(lambda *_: (str(chosen), "")))
    hand.choose("Export curve data")
    with chosen.open(encoding="utf-8", newline="") as file:
        check_table(hand, list(csv.reader(file)))


@pytest.mark.parametrize(
    ("name", "words"), [("mine.doc", "saved as .svg, .pdf or .png"), ("gone/mine.png", "Could not save.")]
)
def test_a_picture_that_cannot_be_saved_is_told_in_a_sentence(
    hand: Hand, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, words: str
) -> None:
    monkeypatch.setattr(QFileDialog, "getSaveFileName", staticmethod(lambda *_: (str(tmp_path / name), "")))
    hand.choose("Export chart image")
    assert words in hand.bar.text
    assert list(tmp_path.glob("mine*")) == []


def test_a_very_long_name_of_a_fan_does_not_widen_the_key(hand: Hand) -> None:
    hand.press("Fans: 5 of 5")
    key = hand.window.site_page.key
    width, chart = key.width(), sheet(hand).chart.width()
    for name in ("Long " * 36, "x" * 180):
        record = hand.design.fans[0]
        hand.document.propose(
            lambda d, r=record, n=name: replace_fan(d, r.name, r.model_copy(update={"name": n.strip()})), "Rename"
        )
        hand.settle()
        assert (key.width(), sheet(hand).chart.width()) == (width, chart)
        radio = key.radio(name.strip())
        assert key.rect().contains(radio.mapTo(key, radio.rect().center()))
        assert radio.parentWidget().height() < 120


def dots(image: QImage) -> np.ndarray:
    plain = image.convertToFormat(QImage.Format.Format_RGB32)
    return np.array(plain.constBits(), dtype=np.uint8).astype(int).reshape(plain.height(), plain.width(), 4)


def unlike(one: QImage, other: QImage) -> int:
    """How many dots of one have nothing like them in the other within three dots: dashes may begin a little apart."""
    here, there = dots(one), dots(other)
    rows, columns = np.nonzero(np.abs(here - there).max(axis=2) > 60)
    high, wide = there.shape[:2]
    shifts = [(dy, dx) for dy in range(-3, 4) for dx in range(-3, 4)]
    near = [
        np.abs(here[rows, columns] - there[(rows - dy) % high, (columns - dx) % wide]).max(axis=1) for dy, dx in shifts
    ]
    return int(np.sum(np.min(near, axis=0) > 60))


def still(hand: Hand) -> QImage:
    """The picture of the chart once it no longer moves: tools that fold ask for another layout."""
    before = QImage()
    for _ in range(20):
        QTest.qWait(20)
        hand.settle()
        now = sheet(hand).chart.grab().toImage()
        if now == before:
            break
        before = now
    return before


Act = Callable[[Hand], object]
ADD: Act = lambda hand: hand.document.propose(lambda d: add_suction_point(d, ("intake",)), "Add")  # noqa: E731
ZOOM: Act = lambda hand: QTest.keyClick(sheet(hand).chart, KEY.Key_Plus)  # noqa: E731
PAN: Act = lambda hand: QTest.keyClick(sheet(hand).chart, KEY.Key_Right)  # noqa: E731


def tight() -> Design:
    """Ground whose curve leaves the sheet at its top, so that new data change what lies out of sight as well."""
    table = FanTable(points=tuple(FanPoint(flow=q, pressure=p) for q, p in ((0.0, 260.5), (0.02, 250.0), (0.075, 0.0))))
    return add_fan(blank_design(), FanRecord(name="Any", curves=(table,)))


@pytest.mark.parametrize(
    ("design", "acts"),
    [
        (tight(), [ADD, ADD, ADD, lambda hand: hand.undo_all()]),
        (
            load_scene(),
            [
                lambda hand: hand.drag(0.5),
                ADD,
                ZOOM,
                PAN,
                lambda hand: hand.drag(0.9),
                lambda hand: hand.choose("Undo"),
                lambda hand: hand.choose("Undo"),
                lambda hand: hand.choose("Fit to curves"),
                lambda hand: hand.choose("US trade"),
                lambda hand: hand.choose("Dark"),
                lambda hand: hand.window.resize(1000, 700),
                lambda hand: hand.document.open(load_scene("reading-room"), None),
            ],
        ),
    ],
)
def test_what_is_kept_of_the_picture_is_what_would_be_painted_afresh(
    qtbot: QtBot, monkeypatch: pytest.MonkeyPatch, design: Design, acts: list[Act]
) -> None:
    def pictures() -> list[QImage]:
        hand = Hand(qtbot, design)
        hand.choose("SI")
        hand.choose("Light")
        taken = []
        for act in acts:
            act(hand)
            hand.settle()
            taken.append(still(hand))
        return taken

    kept = pictures()
    for kind in (Curve, Band):
        monkeypatch.setattr(kind, "setCacheMode", lambda *_: None)
    for number, (one, other) in enumerate(zip(kept, pictures(), strict=True)):
        # a dot at the corner of a dash; a line that was not drawn anew has hundreds
        assert unlike(one, other) <= 3, number
