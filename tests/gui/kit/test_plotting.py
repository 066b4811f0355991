"""Charts: axes in the units shown, steady ranges, keys and mouse, pictures that open again."""

from __future__ import annotations

import math
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QByteArray, QEvent, QPoint, QPointF, QRectF, Qt
from PySide6.QtGui import QAccessible, QGuiApplication, QImage, QMouseEvent, QWheelEvent
from PySide6.QtSvg import QSvgRenderer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from workbench.gui.kit import pictures
from workbench.gui.kit.chart_items import trimmed
from workbench.gui.kit.plotting import Chart, QuantityAxis, set_up_plotting
from workbench.gui.kit.theme import DARK, LIGHT
from workbench.units import SI, SYSTEMS, US, Dimension, System, to_display, unit_of

SVG = "{http://www.w3.org/2000/svg}"
NO = Qt.MouseButton.NoButton
LEFT = Qt.MouseButton.LeftButton

pytestmark = pytest.mark.usefixtures("qapp")


@pytest.fixture
def chart(qtbot: QtBot) -> Chart:
    set_up_plotting()
    made = Chart("Pressure against flow", ("Flow", "flow"), ("Suction", "pressure"))
    qtbot.addWidget(made)
    made.resize(600, 400)
    flow = np.linspace(0.0, 0.06, 200)
    made.add_curve(LIGHT.fan_line()).setData(flow, 340.0 - 120_000.0 * flow**2)
    made.add_band(LIGHT.band).set_data(flow, 4000.0 * flow, 6000.0 * flow)
    made.widen_to(0.055, 430.0)
    with qtbot.waitActive(made):
        made.show()
        made.activateWindow()
    QApplication.processEvents()
    return made


def view(chart: Chart) -> tuple[float, float, float, float]:
    (left, right), (low, high) = chart.sheet.viewRange()
    return left, right, low, high


def send(chart: Chart, kind: QEvent.Type, at: QPointF, button: Qt.MouseButton, buttons: Qt.MouseButton) -> None:
    port = chart.viewport()
    event = QMouseEvent(kind, at, port.mapToGlobal(at), button, buttons, Qt.KeyboardModifier.NoModifier)
    QApplication.sendEvent(port, event)


def spot(chart: Chart, x: float, y: float) -> QPointF:
    """Where a point of the data lies on the chart, in pixels."""
    return QPointF(chart.mapFromScene(chart.sheet.mapViewToScene(QPointF(x, y))))


def drag(chart: Chart, start: QPointF, end: QPointF) -> None:
    send(chart, QEvent.Type.MouseMove, start, NO, NO)
    send(chart, QEvent.Type.MouseButtonPress, start, LEFT, LEFT)
    for i in range(1, 11):
        send(chart, QEvent.Type.MouseMove, start + (end - start) * (i / 10), NO, LEFT)
    send(chart, QEvent.Type.MouseButtonRelease, end, LEFT, NO)


def roll(chart: Chart, at: QPointF, clicks: int) -> None:
    event = QWheelEvent(
        at, chart.viewport().mapToGlobal(at), QPoint(), QPoint(0, 120 * clicks), NO,
        Qt.KeyboardModifier.NoModifier, Qt.ScrollPhase.NoScrollPhase, False,
    )  # fmt: skip
    QApplication.sendEvent(chart.viewport(), event)


# --- axes ---


@given(
    st.sampled_from(["flow", "pressure", "power", "temperature", "small_length"]),
    st.sampled_from(SYSTEMS),
    st.floats(-300.0, 300.0),
    st.floats(0.01, 1000.0),
)
def test_ticks_are_round_in_the_units_shown(dimension: Dimension, system: System, low: float, span: float) -> None:
    axis = QuantityAxis("bottom", "Quantity", dimension, system)
    for spacing, values in axis.tickValues(low, low + span, 500):
        shown = [to_display(v, dimension, system) for v in values]
        step = spacing / unit_of(dimension, system).factor
        lead = step / 10 ** math.floor(math.log10(step) + 1e-9)
        assert any(math.isclose(lead, nice, rel_tol=1e-6) for nice in (1.0, 2.0, 5.0, 10.0))
        for v in shown:
            assert abs(v - step * round(v / step)) < 1e-6 * step + 1e-12 * abs(v)


def test_tick_figures_have_one_precision_and_a_true_minus() -> None:
    axis = QuantityAxis("left", "Suction", "pressure", US)
    inch = 249.08891
    assert axis.tickStrings([-0.5 * inch, 0.0, 0.5 * inch], 1.0, 0.5 * inch) == ["−0.5", "0.0", "0.5"]
    assert QuantityAxis("bottom", "Flow", "flow", SI).tickStrings([0.0, 0.02], 1.0, 0.02) == ["0", "20"]
    temperature = QuantityAxis("bottom", "Outside", "temperature", SI)
    assert temperature.tickStrings([263.15, 273.15], 1.0, 10.0) == ["−10", "0"]


def test_axis_titles_follow_the_system_and_the_data_stay(chart: Chart) -> None:
    before = view(chart)
    bottom, left = chart.axis("bottom"), chart.axis("left")
    assert (bottom.title(), left.title()) == ("Flow, L/s", "Suction, Pa")
    width = left.width()
    chart.set_system(US)
    QApplication.processEvents()
    assert (bottom.title(), left.title()) == ("Flow, cfm", "Suction, in. w.c.")
    assert "cfm" in bottom.label.toPlainText()
    assert view(chart) == before
    assert left.width() == width


def test_no_menu_and_no_buttons(chart: Chart) -> None:
    assert not chart.sheet.menuEnabled()


# --- ranges ---


def test_the_first_extent_is_taken_whole(chart: Chart) -> None:
    assert chart.home() == pytest.approx((0.0, 0.06, 0.0, 500.0))
    assert view(chart) == pytest.approx(chart.home())


def test_the_range_grows_in_steps_and_shrinks_only_on_reset(chart: Chart) -> None:
    seen = {chart.home()}
    for i in range(100):
        chart.widen_to(0.055, 430.0 + i * 5.0)
        seen.add(chart.home())
    assert len(seen) <= 4
    assert chart.home()[3] >= 430.0 + 99 * 5.0
    widest = chart.home()
    chart.widen_to(0.02, 90.0)
    assert chart.home() == widest == pytest.approx(view(chart))
    chart.reset()
    assert chart.home() == pytest.approx((0.0, 0.02, 0.0, 100.0)) == view(chart)


def test_a_range_holds_its_data_without_wasting_the_sheet(chart: Chart) -> None:
    for x, y in zip(np.geomspace(1e-6, 1e6, 200), np.geomspace(3e5, 2e-5, 200), strict=True):
        chart.widen_to(float(x), float(y))
        chart.reset()
        low_x, high_x, low_y, high_y = chart.home()
        assert (low_x, low_y) == (0.0, 0.0)
        assert x * (1 - 1e-8) <= high_x <= 1.51 * x
        assert y * (1 - 1e-8) <= high_y <= 1.51 * y


def test_negative_suctions_get_room_below(chart: Chart) -> None:
    chart.widen_to(0.055, 430.0, ymin=-37.0)
    assert chart.home()[2] == pytest.approx(-40.0)


def test_data_never_move_the_range(chart: Chart) -> None:
    before = view(chart)
    chart.add_curve(LIGHT.system_line()).setData(np.array([0.0, 5.0]), np.array([0.0, 9000.0]))
    QApplication.processEvents()
    assert view(chart) == before


def test_a_hand_made_view_is_left_alone(chart: Chart) -> None:
    chart.setFocus()
    QTest.keyClick(chart, Qt.Key.Key_Plus)
    zoomed = view(chart)
    chart.widen_to(0.055, 900.0)
    assert view(chart) == zoomed
    QTest.keyClick(chart, Qt.Key.Key_0)
    assert view(chart) == pytest.approx(chart.home())


# --- keys and mouse ---


def test_keys_zoom_pan_and_fit(chart: Chart) -> None:
    chart.setFocus()
    left, right, low, high = view(chart)
    QTest.keyClick(chart, Qt.Key.Key_Plus)
    assert view(chart)[1] - view(chart)[0] == pytest.approx((right - left) / 1.25)
    QTest.keyClick(chart, Qt.Key.Key_Minus)
    assert view(chart) == pytest.approx((left, right, low, high))
    QTest.keyClick(chart, Qt.Key.Key_Right)
    QTest.keyClick(chart, Qt.Key.Key_Up)
    assert view(chart)[0] == pytest.approx(left + 0.1 * (right - left))
    assert view(chart)[2] == pytest.approx(low + 0.1 * (high - low))
    QTest.keyClick(chart, Qt.Key.Key_Home)
    assert view(chart) == pytest.approx((left, right, low, high))


def test_dragging_pans_and_a_double_click_fits(chart: Chart) -> None:
    left, right, low, high = view(chart)
    drag(chart, spot(chart, 0.03, 200.0), spot(chart, 0.02, 250.0))
    assert view(chart)[0] == pytest.approx(left + 0.01, abs=0.0005)
    assert view(chart)[2] == pytest.approx(low - 50.0, abs=3.0)
    middle = spot(chart, 0.03, 200.0)
    for kind in (QEvent.Type.MouseButtonPress, QEvent.Type.MouseButtonRelease, QEvent.Type.MouseButtonDblClick):
        send(chart, kind, middle, LEFT, NO if kind == QEvent.Type.MouseButtonRelease else LEFT)
    send(chart, QEvent.Type.MouseButtonRelease, middle, LEFT, NO)
    assert view(chart) == pytest.approx((left, right, low, high))


def test_the_wheel_zooms_about_the_mouse(chart: Chart) -> None:
    at = spot(chart, 0.03, 200.0)
    left, right, *_ = view(chart)
    roll(chart, at, 3)
    assert view(chart)[1] - view(chart)[0] < 0.9 * (right - left)
    assert spot(chart, 0.03, 200.0).x() == pytest.approx(at.x(), abs=1.5)


def test_hovering_reads_out_in_si_and_leaving_says_so(chart: Chart, qtbot: QtBot) -> None:
    chart.set_system(US)
    heard: list[tuple[float, float]] = []
    chart.hovered.connect(lambda x, y: heard.append((x, y)))
    send(chart, QEvent.Type.MouseMove, spot(chart, 0.03, 200.0), NO, NO)
    assert heard == [(pytest.approx(0.03, abs=0.0002), pytest.approx(200.0, abs=2.0))]
    with qtbot.waitSignal(chart.unhovered):
        send(chart, QEvent.Type.MouseMove, QPointF(3.0, 200.0), NO, NO)
    with qtbot.waitSignal(chart.unhovered):
        QApplication.sendEvent(chart, QEvent(QEvent.Type.Leave))
    assert len(heard) == 1


def test_a_screen_reader_hears_the_name(chart: Chart) -> None:
    chart.setAccessibleDescription("Operating point 36 L/s at 170 Pa.")
    spoken = QAccessible.queryAccessibleInterface(chart)
    assert spoken.text(QAccessible.Text.Name) == "Pressure against flow"
    assert "170 Pa" in spoken.text(QAccessible.Text.Description)


def test_charts_above_each_other_share_one_flow_axis(chart: Chart, qtbot: QtBot) -> None:
    power = Chart("Power", ("Flow", "flow"), ("Power", "power"))
    qtbot.addWidget(power)
    power.resize(600, 160)
    power.follow_x(chart)
    power.show()
    QApplication.processEvents()
    chart.setFocus()
    QTest.keyClick(chart, Qt.Key.Key_Plus)
    assert view(power)[:2] == pytest.approx(view(chart)[:2])
    assert power.axis("left").width() == chart.axis("left").width()
    tall = chart.axis("bottom").height()
    chart.bare_x(True)
    QApplication.processEvents()
    assert chart.axis("bottom").height() < tall / 2
    assert not chart.axis("bottom").label.isVisible()
    chart.set_system(US)
    assert not chart.axis("bottom").label.isVisible()


# --- looks ---


def pixels(image: QImage) -> np.ndarray:
    image = image.convertToFormat(QImage.Format.Format_RGB32)
    whole = np.frombuffer(image.constBits(), np.uint32).reshape(image.height(), -1)
    return whole[:, : image.width()] & 0xFFFFFF


def colours(image: QImage) -> set[str]:
    return {f"#{colour:06X}" for colour in np.unique(pixels(image))}


def test_the_grid_is_really_drawn_and_follows_the_theme(chart: Chart) -> None:
    assert {LIGHT.panel, LIGHT.grid} <= colours(chart.grab().toImage())
    chart.apply_theme(DARK)
    QApplication.processEvents()
    dark = colours(chart.grab().toImage())
    assert {DARK.panel, DARK.grid} <= dark
    assert LIGHT.grid not in dark


def test_the_focus_is_seen(chart: Chart) -> None:
    chart.setFocus()
    assert LIGHT.focus in colours(chart.grab().toImage().copy(0, 0, 100, 3))
    chart.clearFocus()
    assert LIGHT.focus not in colours(chart.grab().toImage().copy(0, 0, 100, 3))


def share_of(image: QImage, colour: str, part: QRectF) -> float:
    """The share of a part of a picture (in fractions of its sides) that has a colour."""
    seen = pixels(image)
    height, width = seen.shape
    seen = seen[round(part.top() * height) : round(part.bottom() * height)]
    seen = seen[:, round(part.left() * width) : round(part.right() * width)]
    return float(np.mean(seen == int(colour[1:], 16)))


def test_lines_keep_their_width_in_a_dense_picture(chart: Chart, tmp_path: Path) -> None:
    chart.clearFocus()  # the ring has the fan's colour
    whole = QRectF(0, 0, 1, 1)
    on_screen = share_of(chart.viewport().grab().toImage(), LIGHT.fan, whole)
    pictures.save([chart], tmp_path / "curves.png")
    saved = QImage(str(tmp_path / "curves.png"))
    assert saved.width() >= 2400
    # anti-aliased edges dilute a thin line on the screen, so the dense picture shows rather more of the pure colour
    assert share_of(saved, LIGHT.fan, whole) > 0.9 * on_screen > 0.0


# --- pictures ---


def test_svg_opens_again_and_says_what_it_shows(chart: Chart, tmp_path: Path) -> None:
    path = tmp_path / "curves.svg"
    pictures.save([chart], path)
    root = ElementTree.parse(path).getroot()
    assert root.findtext(f"{SVG}title") == "Pressure against flow"
    assert (root.get("width"), root.get("height")) == ("600", "400")
    texts = " ".join("".join(node.itertext()) for node in root.iter(f"{SVG}text"))
    assert "Flow, L/s" in texts
    assert "500" in texts
    assert "pyqtgraph" not in path.read_text(encoding="utf-8")
    renderer = QSvgRenderer(QByteArray(path.read_bytes()))
    assert renderer.isValid()


def test_png_is_clipped_at_the_axes(chart: Chart, tmp_path: Path) -> None:
    # the fan curve runs far below zero at the right
    path = tmp_path / "curves.png"
    pictures.save([chart], path)
    image = QImage(str(path))
    assert share_of(image, LIGHT.fan, QRectF(0, 0, 1, 0.85)) > 0.0
    assert share_of(image, LIGHT.fan, QRectF(0, 0.9, 1, 0.1)) == 0.0


def test_pdf_has_the_size_of_the_chart_and_text_as_text(chart: Chart, tmp_path: Path) -> None:
    path = tmp_path / "curves.pdf"
    pictures.save([chart], path)
    data = path.read_bytes()
    assert data.startswith(b"%PDF-")
    # 600 x 400 pixels at 96 to the inch are 450 x 300 points
    assert b"/MediaBox [0 0 450" in data
    assert b"/FontFile" in data


def test_several_charts_make_one_picture(chart: Chart, qtbot: QtBot, tmp_path: Path) -> None:
    power = Chart("Power", ("Flow", "flow"), ("Power", "power"))
    qtbot.addWidget(power)
    power.resize(600, 200)
    power.add_curve(LIGHT.power_line()).setData(np.array([0.0, 0.06]), np.array([20.0, 60.0]))
    power.widen_to(0.06, 70.0)
    power.show()
    QApplication.processEvents()
    for ending in ("svg", "png", "pdf"):
        pictures.save([chart, power], tmp_path / f"both.{ending}")
    image = QImage(str(tmp_path / "both.png"))
    assert image.height() / image.width() == pytest.approx(1.0, abs=0.01)
    assert share_of(image, LIGHT.fan, QRectF(0, 0, 1, 0.6)) > 0.0
    assert share_of(image, LIGHT.power, QRectF(0, 0.7, 1, 0.3)) > 0.0
    root = ElementTree.parse(tmp_path / "both.svg").getroot()
    names = [node.get("id") for node in root.iter() if node.get("id")]
    assert len(names) == len(set(names))
    used = {node.get("clip-path") for node in root.iter() if node.get("clip-path")}
    assert {f"url(#{name})" for name in names} >= used
    assert len(used) == 2


def test_an_unknown_ending_is_refused_in_words(chart: Chart, tmp_path: Path) -> None:
    with pytest.raises(ValueError, match=r"as \.svg, \.pdf or \.png"):
        pictures.save([chart], tmp_path / "curves.tiff")
    assert not list(tmp_path.glob("curves.*"))
    with pytest.raises(OSError, match="missing"):
        pictures.save([chart], tmp_path / "missing" / "curves.png")


def test_a_copied_picture_can_be_pasted(chart: Chart) -> None:
    chart.copy_picture()
    data = QGuiApplication.clipboard().mimeData()
    assert data.hasImage()
    assert bytes(data.data("image/svg+xml").data()).startswith(b"<?xml")


@pytest.mark.parametrize("size", [(600, 40), (600, 53), (600, 61), (60, 400), (40, 30)])
def test_a_chart_with_no_room_between_its_axes_is_left_unpainted(chart: Chart, size: tuple[int, int]) -> None:
    """Qt falls over curves scaled to nothing, and the program with it."""
    for each in (size, (600, 400), size):
        chart.resize(*each)
        QApplication.processEvents()
        chart.grab()
    chart.resize(600, 400)
    QApplication.processEvents()
    image = chart.grab().toImage()
    assert any(image.pixelColor(x, y).name().upper() == LIGHT.fan for x in range(100, 500, 2) for y in range(20, 300))


# --- far beyond the sheet ---


def test_a_line_that_runs_far_beyond_the_sheet_is_drawn_as_far_as_it_matters(chart: Chart) -> None:
    """Dashes laid out over a million pixels took gigabytes."""
    curve = chart.add_curve(LIGHT.system_line())
    x = np.linspace(0.0, 0.06, 241)
    y = np.where(x < 0.03, 1e4 * x, 1e13 * (x - 0.03) + 300.0)
    curve.setData(x, y)
    path = curve.getPath()
    seen = chart.sheet.viewRect()
    assert path.controlPointRect().height() <= 3.001 * seen.height()
    band = chart.add_band(LIGHT.band)
    band.set_data(x, -y, y)
    for item in (curve, band):
        # a picture is kept of all that an item bounds
        assert item.boundingRect().height() <= 3.001 * seen.height()
    # within the sheet it is the same line
    assert [path.elementAt(i).y for i in range(100)] == pytest.approx(list(y[:100]))
    assert path.elementCount() == 122
    # dashes run on from one segment to the next
    assert sum(path.elementAt(i).isMoveTo() for i in range(path.elementCount())) == 1
    curve.setData(x, 1e4 * x)
    assert curve.getPath().elementCount() == 241


def test_a_line_far_nearer_than_drawn_is_drawn_where_it_is_seen(chart: Chart) -> None:
    curve = chart.add_curve(LIGHT.system_line())
    curve.setData(np.array([0.0, 0.05]), np.array([0.0, 500.0]))
    chart.sheet.setRange(xRange=(0.02, 0.020001), yRange=(200.0, 200.01), padding=0.0)
    path = curve.getPath()
    assert path.controlPointRect().width() < 1e-5
    assert path.elementAt(0).y == pytest.approx(1e4 * path.elementAt(0).x)
    chart.sheet.setRange(xRange=(0.02, 0.020001), yRange=(400.0, 400.01), padding=0.0)
    QApplication.processEvents()
    assert curve.getPath().isEmpty()


def test_a_line_with_gaps_and_infinities_is_drawn_where_it_is_finite() -> None:
    x = np.array([0.0, 1.0, 2.0, 3.0, 4.0])
    y = np.array([0.0, 1.0, math.nan, 1.0, math.inf])
    path = trimmed(x, y, QRectF(-1.0, -1.0, 10.0, 10.0))
    assert [(path.elementAt(i).x, path.elementAt(i).y) for i in range(path.elementCount())] == [(0.0, 0.0), (1.0, 1.0)]
