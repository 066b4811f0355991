"""The cards and the panel that joins them to the section, used as a person uses them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QComboBox, QLabel, QLineEdit, QMenu, QToolButton, QWidget
from pytestqt.qtbot import QtBot

from tests.gui.bench import Bench
from tests.gui.section_designs import PIPE, TEST, one_point, two_points
from workbench.design import Design, GroundClass, Listener, Resistance, StepTest
from workbench.design.catalogue import cautions, fitting_kinds, ground_kinds, pipe_kinds
from workbench.design.edit import replace_fan
from workbench.design.record import Address, value_at, with_value
from workbench.design.section_layout import FAN, HOUSE
from workbench.design.slab import HoleReading, TestHole
from workbench.files.scenes import load_scene
from workbench.gui.kit.fields import Field
from workbench.gui.section.card import PartCard
from workbench.gui.section.ground_form import GroundForm
from workbench.gui.section.panel import SitePanel
from workbench.gui.section.part_forms import HouseForm, PointForm
from workbench.gui.section.parts import PLACE, PRICES, UNCERTAINTY, all_parts, part_sort
from workbench.gui.section.run_form import RunForm
from workbench.physics.ground import fit_step_test
from workbench.units import SI, US, US_GALLON, format_quantity

# without a screen a menu can neither be raised nor hold the keyboard, and Qt says so
pytestmark = pytest.mark.qt_log_ignore("^This plugin does not support", extend=True)

KEY = Qt.Key
POINT: Address = ("intake", "source")
RUN: Address = ("intake", "runs", 0)
RISER: Address = ("intake", "runs", 1)
JUNCTION: Address = ("intake", "source")

Show = Callable[..., tuple[SitePanel, Bench]]


@pytest.fixture
def show(qtbot: QtBot) -> Show:
    kept: list[QWidget] = []

    def made(design: Design | None = None, part: Address | None = None) -> tuple[SitePanel, Bench]:
        panel = SitePanel()
        qtbot.addWidget(panel)
        kept.append(panel)
        bench = Bench(panel, design or one_point())
        panel.resize(440, 560)
        panel.show()
        qtbot.waitExposed(panel)
        panel.activateWindow()
        qtbot.waitUntil(panel.isActiveWindow)
        if part is not None:
            panel.pick(part)
        return panel, bench

    return made


def line(field: Field) -> QLineEdit:
    control = field.control()
    assert isinstance(control, QLineEdit)
    return control


def enter(field: Field, text: str) -> None:
    field.setFocus()
    line(field).selectAll()
    if text:
        QTest.keyClicks(line(field), text)
    else:
        QTest.keyClick(line(field), KEY.Key_Delete)
    QTest.keyClick(line(field), KEY.Key_Return)


def choose(field: Field, words: str) -> None:
    box = field.control()
    assert isinstance(box, QComboBox)
    index = box.findText(words)
    assert index >= 0, [box.itemText(i) for i in range(box.count())]
    box.setCurrentIndex(index)
    box.activated.emit(index)


def press(button: QToolButton) -> None:
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)


def fault_of(field: Field) -> str:
    label = field.findChild(QLabel, "fault")
    assert isinstance(label, QLabel)
    return label.text() if not label.isHidden() else ""


def ground(panel: SitePanel) -> GroundForm:
    form = panel.card.form()
    assert isinstance(form, PointForm)
    return form.ground


def run_form(panel: SitePanel) -> RunForm:
    form = panel.card.form()
    assert isinstance(form, RunForm)
    return form


# --- every part has its card --------------------------------------------------------------------------------------


def test_every_part_has_a_card_with_the_values_of_the_design(show: Show) -> None:
    panel, bench = show(two_points())
    for part in all_parts(bench.design):
        panel.pick(part)
        assert panel.card.part() == part
        form = panel.card.form()
        assert form is not None
        shown = {address: field for address, field in form.fields().items() if field.isVisibleTo(panel)}
        assert shown, part
        for address, field in shown.items():
            if address[-2:] == ("ground", "basis") or "readings" in address or address[-1] in ("parameter", "kind"):
                continue
            if address[-2:] == ("pipe", "name"):
                continue
            assert field.value() == value_at(bench.design, address), address


@pytest.mark.parametrize(
    ("part", "address", "text", "value"),
    [
        (POINT, (*POINT, "pit_volume"), "40", 0.040),
        (POINT, (*POINT, "pit_volume"), "10 gal", 10 * US_GALLON),
        (RUN, (*RUN, "length"), "12 ft 6 in", 12.5 * 0.3048),
        (RUN, (*RUN, "length"), "5,25", 5.25),
        (RUN, (*RUN, "rise"), "0", 0.0),
        (RUN, (*RUN, "name"), "Along the wall", "Along the wall"),
        (HOUSE, ("house", "storeys"), "3", 3),
        (HOUSE, ("house", "storey_height"), "9 ft", 9 * 0.3048),
        (PLACE, ("place", "altitude"), "1200", 1200.0),
        (PRICES, ("prices", "electricity"), "0,41", 0.41),
        (UNCERTAINTY, ("uncertainty", "fan_speed"), "8", 0.08),
    ],
)
def test_a_typed_value_reaches_the_design(show: Show, part: Address, address: Address, text: str, value: Any) -> None:
    panel, bench = show(part=part)
    enter(panel.card.field(address), text)
    assert value_at(bench.design, address) == pytest.approx(value)
    assert len(bench.said) == 1
    bench.document.undo()
    assert bench.design == one_point()
    assert panel.card.field(address).value() == value_at(one_point(), address)


def test_words_for_the_undo_list_name_value_and_part(show: Show) -> None:
    panel, bench = show(part=RISER)
    enter(panel.card.field((*RISER, "length")), "7")
    assert bench.said == ["Change length of Riser"]


def test_readings_follow_a_suction_point_to_the_name_its_card_gives_it(show: Show) -> None:
    reading = HoleReading(point=one_point().intake.source.name, applied=200.0, suction=5.0)
    read = with_value(one_point(), ("holes",), (TestHole(name="Doorway", readings=(reading,)),))
    panel, bench = show(read, POINT)
    enter(panel.card.field((*POINT, "name")), "Under the stairs")
    assert bench.design.holes[0].readings[0].point == bench.design.intake.source.name == "Under the stairs"
    bench.document.undo()
    assert bench.design == read


def test_units_are_shown_by_system(show: Show) -> None:
    panel, _ = show(part=RUN)
    assert line(panel.card.field((*RUN, "length"))).text() == "4.2"
    panel.set_system(US)
    assert line(panel.card.field((*RUN, "length"))).text() == "13.78"
    panel.pick(POINT)
    assert line(panel.card.field((*POINT, "ground", "readings", 0, "flow"))).text() == "12.71"


# --- faults beside fields -----------------------------------------------------------------------------------------


def test_a_refused_value_is_kept_with_the_reason_beside_it(show: Show) -> None:
    panel, bench = show(part=RUN)
    rise = panel.card.field((*RUN, "rise"))
    enter(rise, "9")
    assert bench.design == one_point()
    assert line(rise).text() == "9"
    # the rule ties two fields; it is told at the head of the card or beside the field that was typed in
    assert "the rise cannot be greater than the length" in (fault_of(rise) + panel.card.fault.text()).lower()
    enter(panel.card.field((*RUN, "length")), "12")
    assert fault_of(rise) == ""
    assert panel.card.fault.text() == ""


def test_a_limit_is_refused_beside_its_field(show: Show) -> None:
    panel, bench = show(part=POINT)
    volume = panel.card.field((*POINT, "pit_volume"))
    enter(volume, "0")
    assert bench.design == one_point()
    assert "greater than 0" in fault_of(volume).lower()
    enter(volume, "30")
    assert fault_of(volume) == ""
    assert value_at(bench.design, (*POINT, "pit_volume")) == pytest.approx(0.030)


def test_a_name_given_twice_is_refused_and_the_other_card_stays_clean(show: Show) -> None:
    panel, bench = show(part=RUN)
    enter(panel.card.field((*RUN, "name")), "Riser")
    assert bench.design == one_point()
    told = panel.card.fault.text() + fault_of(panel.card.field((*RUN, "name")))
    assert "The name 'Riser' is given twice" in told
    panel.pick(RISER)
    assert panel.card.fault.text() == ""
    assert all(fault_of(field) == "" for field in run_form(panel).fields().values())


def test_answers_are_grey_while_a_fault_stands(show: Show) -> None:
    panel, _ = show(part=RUN)
    enter(panel.card.field((*RUN, "rise")), "9")
    assert panel.section._stale
    enter(panel.card.field((*RUN, "rise")), "2")
    assert not panel.section._stale


def test_a_change_elsewhere_leaves_half_typed_text_alone(show: Show) -> None:
    panel, bench = show(part=RUN)
    length = panel.card.field((*RUN, "length"))
    length.setFocus()
    line(length).selectAll()
    QTest.keyClicks(line(length), "6.")
    bench.document.propose(lambda design: with_value(design, ("speed",), 0.55), "Change speed")
    assert line(length).text() == "6."
    assert line(length).hasFocus()


# --- the suction point --------------------------------------------------------------------------------------------


def test_the_bed_is_asked_for_only_where_air_comes_through_one(show: Show) -> None:
    panel, bench = show(part=POINT)
    thickness = panel.card.field((*POINT, "bed_thickness"))
    assert thickness.isHidden()
    choose(panel.card.field((*POINT, "pattern")), "Sideways, through a gravel layer")
    assert not panel.card.field((*POINT, "bed_thickness")).isHidden()
    assert value_at(bench.design, POINT).pattern == "bed under the slab"


def test_the_fit_is_told_in_words(show: Show) -> None:
    panel, _ = show(part=POINT)
    fit = fit_step_test([r.flow for r in TEST.readings], [r.suction for r in TEST.readings], 0.4)
    worst = max(abs(r) for r in fit.residuals)
    said = ground(panel).words.text()
    assert f"Residuals up to {worst:.2g} Pa: " in said
    assert f"a = {fit.a / 1000:.3g} ± " in said


@pytest.mark.parametrize("design", [load_scene("studio"), one_point()], ids=["drawn", "not drawn"])
def test_the_ground_on_the_card_is_what_the_answer_goes_by(show: Show, design: Design) -> None:
    panel, bench = show(design, part=POINT)
    # two answers tell both terms: what is left in the pit is what the ground asks of the air it gives
    met = [bench.document.prepared.at(speed).points[0] for speed in (0.5, 1.0)]
    flow = np.array([[point.flow, point.flow**2] for point in met])
    linear, quadratic = np.linalg.solve(flow, [point.suction for point in met])
    said = ground(panel).words.text()
    whose = "Fitted floor, with" if design.slab is not None else "With"
    told = f"{format_quantity(linear, 'resistance', SI)} and {format_quantity(quadratic, 'resistance2', SI)}."
    assert f"{whose} the finished pit: {told}" in said
    assert "Fit of the test alone, suction = a·Q + b·Q²: a = " in said


def test_a_reading_is_changed_added_and_removed(show: Show) -> None:
    panel, bench = show(part=POINT)
    table = ground(panel).table
    assert table.rows() == 4
    enter(table.row(1)[1], "85")
    assert value_at(bench.design, POINT).ground.readings[1].suction == 85.0
    enter(table.row(3)[0], "26")
    assert len(value_at(bench.design, POINT).ground.readings) == 3
    enter(table.row(3)[1], "250")
    readings = value_at(bench.design, POINT).ground.readings
    assert (readings[3].flow, readings[3].suction, readings[3].baseline) == pytest.approx((0.026, 250.0, 0.0))
    assert table.rows() == 5
    assert line(table.row(4)[0]).text() == ""
    press(table.remover(0))
    assert len(value_at(bench.design, POINT).ground.readings) == 3
    assert bench.document.undo_words == "Remove reading 1"


def test_a_reading_not_above_that_at_rest_is_refused_beside_it(show: Show) -> None:
    panel, bench = show(part=POINT)
    table = ground(panel).table
    enter(table.row(0)[1], "0.1")
    assert value_at(bench.design, POINT).ground == TEST
    told = table.fault() + "".join(fault_of(field) for field in table.row(0))
    assert "suction must be greater than the reading at rest" in told


def test_readings_are_pasted_from_a_spreadsheet(show: Show) -> None:
    panel, bench = show(part=POINT)
    table = ground(panel).table
    QGuiApplication.clipboard().setText("Flow (cfm)\tSuction (in. w.c.)\n10\t0,12\n20\t0,30\n")
    field = table.row(0)[0]
    field.setFocus()
    QTest.keyClick(line(field), KEY.Key_V, Qt.KeyboardModifier.ControlModifier)
    readings = value_at(bench.design, POINT).ground.readings
    # 1 cfm = 0.3048^3/60 m3/s, 1 in. w.c. = 249.08891 Pa (NIST SP 811, appendix B.8)
    assert [r.flow for r in readings] == pytest.approx([10 * 0.3048**3 / 60, 20 * 0.3048**3 / 60])
    assert [r.suction for r in readings] == pytest.approx([0.12 * 249.08891, 0.30 * 249.08891])
    assert table.rows() == 3
    assert bench.said == ["Paste readings"]


def test_a_paste_that_cannot_be_read_changes_nothing_and_says_which_row(show: Show) -> None:
    panel, bench = show(part=POINT)
    QGuiApplication.clipboard().setText("10\t20\n11\tmuch\n")
    press(ground(panel).table.paste_button)
    assert bench.design == one_point()
    assert ground(panel).table.fault().startswith("Row 2, suction:")


def test_one_value_is_pasted_into_its_field_alone(show: Show) -> None:
    panel, bench = show(part=POINT)
    QGuiApplication.clipboard().setText("35")
    field = ground(panel).table.row(0)[1]
    field.setFocus()
    line(field).selectAll()
    QTest.keyClick(line(field), KEY.Key_V, Qt.KeyboardModifier.ControlModifier)
    QTest.keyClick(line(field), KEY.Key_Return)
    assert [r.suction for r in value_at(bench.design, POINT).ground.readings] == [35.0, 82.0, 171.0]


def test_switching_the_basis_keeps_sensible_values_and_the_test(show: Show) -> None:
    panel, bench = show(part=POINT)
    before = bench.document.prepared.assembly.grounds[0]
    choose(ground(panel).basis, "Entered resistance")
    own = value_at(bench.design, POINT).ground
    assert isinstance(own, Resistance)
    now = bench.document.prepared.assembly.grounds[0]
    assert (now.linear, now.quadratic) == pytest.approx((before.linear, before.quadratic))
    choose(ground(panel).basis, "Soil type (estimate)")
    assert isinstance(value_at(bench.design, POINT).ground, GroundClass)
    choose(ground(panel).basis, "Readings at the suction hole")
    assert value_at(bench.design, POINT).ground == TEST


def test_a_first_step_test_starts_with_a_blank_row_and_nothing_made_up(show: Show) -> None:
    design = with_value(one_point(), (*POINT, "ground"), GroundClass(kind="fine sand, silt"))
    panel, bench = show(design, POINT)
    choose(ground(panel).basis, "Readings at the suction hole")
    assert bench.design == design
    table = ground(panel).table
    assert table.rows() == 1
    enter(table.row(0)[0], "5")
    enter(table.row(0)[1], "120")
    known = value_at(bench.design, POINT).ground
    assert isinstance(known, StepTest)
    assert [(r.flow, r.suction) for r in known.readings] == [(pytest.approx(0.005), 120.0)]
    assert "One reading cannot show how good the fit is" in ground(panel).words.text()


def test_a_class_of_ground_shows_its_band_and_source(show: Show) -> None:
    design = with_value(one_point(), (*POINT, "ground"), GroundClass(kind="tight clay"))
    panel, _ = show(design, POINT)
    kind = ground_kinds()["tight clay"]
    assert kind.source in ground(panel).words.text()
    assert f"factor of {kind.factor:.1f}" in ground(panel).words.text()


# --- the run ------------------------------------------------------------------------------------------------------


def test_a_pipe_is_chosen_from_the_catalogue_or_given_a_bore(show: Show) -> None:
    panel, bench = show(part=RUN)
    choose(run_form(panel).pipe.kind, "4 in. schedule 40")
    assert (
        value_at(bench.design, (*RUN, "pipe", "inside_diameter")) == pipe_kinds()["4 in. schedule 40"].inside_diameter
    )
    enter(run_form(panel).pipe.bore, "98")
    pipe = value_at(bench.design, (*RUN, "pipe"))
    assert (pipe.name, pipe.inside_diameter) == ("Other inside diameter", pytest.approx(0.098))
    assert run_form(panel).pipe.kind.value() == "own bore"


def test_fittings_show_their_k_band_source_and_loss(show: Show) -> None:
    panel, bench = show(part=RUN)
    row = run_form(panel).fittings.rows()[1]
    known = fitting_kinds()["90 elbow, long-turn"]
    k = known.k(PIPE.inside_diameter)
    assert f"K {k:.3f}" in row.words.text()
    assert known.source in row.words.text()
    loss = next(x for x in bench.document.outcome.losses if x.address == (*RUN, "fittings", 1))
    assert row.loss.text() == f"{loss.drop:.1f} Pa"


def test_a_fitting_is_counted_given_an_own_k_and_removed(show: Show) -> None:
    panel, bench = show(part=RUN)
    row = run_form(panel).fittings.rows()[1]
    enter(row.count, "3")
    assert value_at(bench.design, RUN).fittings[1].count == 3
    enter(row.k, "0,42")
    assert value_at(bench.design, RUN).fittings[1].k == 0.42
    assert "(entered)" in row.words.text()
    enter(row.k, "")
    assert value_at(bench.design, RUN).fittings[1].k is None
    press(row.remove_button)
    assert [f.kind for f in value_at(bench.design, RUN).fittings] == ["entrance, flush"]
    assert len(run_form(panel).fittings.rows()) == 1


def test_a_fitting_with_a_shape_is_added_and_its_shape_kept_within_the_table(show: Show) -> None:
    panel, bench = show(part=RUN)
    press(run_form(panel).fittings.add_button)
    (menu,) = [m for m in panel.card.findChildren(QMenu) if m.isVisible()]
    bends = next(a.menu() for a in menu.actions() if a.text() == "Add elbow")
    assert isinstance(bends, QMenu)
    next(a for a in bends.actions() if a.text() == "elbow, mitered").trigger()
    menu.close()
    assert value_at(bench.design, RUN).fittings[2].kind == "elbow, mitered"
    row = run_form(panel).fittings.rows()[2]
    assert row.parameter is not None
    assert row.parameter.value() == 90.0
    enter(row.parameter, "45")
    assert value_at(bench.design, RUN).fittings[2].parameter == 45.0
    enter(row.parameter, "500")
    assert value_at(bench.design, RUN).fittings[2].parameter == 45.0
    assert fault_of(row.parameter) or panel.card.fault.text()


# --- junction, fan, house -----------------------------------------------------------------------------------------


def test_a_junction_takes_its_kind_and_own_coefficients(show: Show) -> None:
    panel, bench = show(two_points(), JUNCTION)
    choose(panel.card.field((*JUNCTION, "kind")), "Tee 90")
    enter(panel.card.field((*JUNCTION, "side_k")), "1,2")
    junction = value_at(bench.design, JUNCTION)
    assert (junction.kind, junction.side_k, junction.straight_k) == ("tee 90", 1.2, None)


def test_the_fan_is_chosen_and_its_curves_are_asked_for(show: Show) -> None:
    panel, bench = show(part=FAN)
    other = bench.design.fans[0].name
    choose(panel.card.field(("fan",)), other)
    assert bench.design.fan == other
    choose(panel.card.field(("arrangement",)), "Two identical, in series")
    assert bench.design.arrangement == "series"
    asked: list[int] = []
    panel.fan_wanted.connect(lambda: asked.append(1))
    (button,) = [b for b in panel.card.findChildren(QToolButton) if b.text() == "Edit curves"]
    press(button)
    assert asked == [1]


def test_places_where_the_fan_is_heard_are_added_edited_and_removed(show: Show) -> None:
    panel, bench = show(part=HOUSE)
    form = panel.card.form()
    assert isinstance(form, HouseForm)
    press(form.add_button)
    press(form.add_button)
    assert [x.name for x in bench.design.house.listeners] == ["Bed", "Place"]
    enter(form.listener(1).field("name"), "Neighbor's window")
    enter(form.listener(1).field("distance"), "8")
    assert bench.design.house.listeners[1] == Listener(name="Neighbor's window", distance=8.0)
    first, _ = form.findChildren(QToolButton, "remove listener")
    press(first)
    assert [x.name for x in bench.design.house.listeners] == ["Neighbor's window"]


# --- answers and cautions -----------------------------------------------------------------------------------------


def test_answers_of_the_part_follow_the_speed(show: Show) -> None:
    panel, bench = show(part=RISER)
    for speed in (0.6, 0.9):
        outcome = bench.document.prepared.at(speed)
        panel.show_outcome(bench.document.prepared, outcome)
        state = next(run for run in outcome.runs if run.address == RISER)
        assert f"Airflow: {state.flow * 1000:.1f} L/s" in panel.card.answers.text()
        assert f"Loss: {state.loss:.0f} Pa" in panel.card.answers.text()


@pytest.mark.parametrize(
    ("part", "word"), [(POINT, "tendons"), (FAN, "licensed"), (HOUSE, "appliance"), (("discharge", 0), "soil gas")]
)
def test_cautions_stand_in_one_line_that_opens(show: Show, part: Address, word: str) -> None:
    panel, bench = show(part=part)
    line_of = panel.card.cautions
    assert line_of.line.isVisibleTo(panel)
    assert line_of.more.isHidden()
    line_of.line.setFocus()
    QTest.keyClick(line_of.line, KEY.Key_Space)
    assert not line_of.more.isHidden()
    assert word in line_of.more.text()
    sort = part_sort(bench.design, part)
    for caution in cautions().values():
        fits = caution.control in ("", "ec")
        assert (caution.text in line_of.more.text()) == (sort in caution.where and fits)


def test_phase_cut_is_cautioned_of_on_a_phase_cut_fan_only(show: Show) -> None:
    panel, bench = show(part=FAN)
    assert bench.design.chosen_fan is not None
    for control in ("ec", "phase-cut", "none"):
        fan = bench.design.chosen_fan.model_copy(update={"control": control})
        bench.document.propose(lambda design, fan=fan: replace_fan(design, fan.name, fan), "Change the control")
        told = panel.card.cautions.line.text() + panel.card.cautions.more.text()
        assert ("hase-cut" in told) == (control == "phase-cut")


# --- the panel ----------------------------------------------------------------------------------------------------


def test_picking_in_the_section_turns_the_card(show: Show) -> None:
    panel, _ = show(two_points())
    heard: list[Any] = []
    panel.picked.connect(heard.append)
    place = panel.section.place_of(("intake", "runs", 0)).toPoint()
    QTest.mouseClick(panel.section, Qt.MouseButton.LeftButton, pos=place)
    assert panel.card.part() == ("intake", "runs", 0)
    assert panel.parts.value() == ("intake", "runs", 0)
    assert heard == [("intake", "runs", 0)]


def test_enter_in_the_section_goes_to_the_first_field_of_the_card(show: Show) -> None:
    panel, _ = show(part=RUN)
    panel.card_button.setChecked(False)
    assert panel.card.isHidden()
    panel.section.setFocus()
    QTest.keyClick(panel.section, KEY.Key_Return)
    assert line(panel.card.field((*RUN, "name"))).hasFocus()


def test_the_list_of_parts_reaches_what_is_not_drawn(show: Show) -> None:
    panel, _ = show()
    choose(panel.parts, "Site and climate")
    assert panel.card.part() == PLACE


def test_buttons_add_and_remove_at_the_picked_part(show: Show) -> None:
    panel, bench = show(two_points(), ("intake", "source", "side", "source"))
    assert panel.remove_button.isEnabled()
    press(panel.remove_button)
    assert len(list(bench.design.suction_points())) == 1
    panel.pick(("intake", "source"))
    assert not panel.remove_button.isEnabled()
    assert panel.remove_button.toolTip() == "A system needs at least one suction point."
    press(panel.add_button)
    (menu,) = [m for m in panel.findChildren(QMenu, options=Qt.FindChildOption.FindDirectChildrenOnly) if m.isVisible()]
    next(a for a in menu.actions() if a.text() == "Add a suction point on this branch").trigger()
    menu.close()
    assert len(list(bench.design.suction_points())) == 2


def test_the_section_stays_in_sight_while_the_card_is_edited(show: Show) -> None:
    for part in (POINT, RUN, HOUSE, PLACE):
        panel, _ = show(part=part)
        assert panel.width() == 440
        assert panel.height() == 560
        assert panel.section.height() >= 220
        assert panel.card.height() >= 120
        # nothing is wider than the card: it scrolls down only
        assert panel.card.pane.widget().width() <= panel.card.pane.viewport().width()


def test_a_wide_panel_puts_the_card_beside_the_section(show: Show) -> None:
    panel, _ = show()
    panel.resize(1200, 500)
    assert panel.splitter.orientation() == Qt.Orientation.Horizontal
    panel.resize(440, 560)
    assert panel.splitter.orientation() == Qt.Orientation.Vertical


def test_every_control_of_every_card_has_a_name(show: Show) -> None:
    panel, bench = show(two_points())
    for part in all_parts(bench.design):
        panel.pick(part)
        for kind in (QLineEdit, QComboBox, QToolButton):
            for widget in panel.card.findChildren(kind):
                if widget.isVisibleTo(panel) and widget.focusPolicy() != Qt.FocusPolicy.NoFocus:
                    assert widget.accessibleName(), (part, widget)


def test_a_card_without_design_or_part_is_empty(qtbot: QtBot) -> None:
    card = PartCard()
    qtbot.addWidget(card)
    card.show_part(None)
    assert card.form() is None
    assert card.accessibleName() == "Details: No part selected"


def test_a_junction_is_capitalized_in_the_list_and_not_within_a_sentence(show: Show) -> None:
    panel, _ = show(two_points())
    listed = [panel.parts.control().itemText(i) for i in range(panel.parts.control().count())]  # type: ignore[attr-defined]
    assert any(title.startswith("Wye 45 into ") for title in listed)
    panel.pick(JUNCTION)
    assert "wye 45 into " in panel.card.accessibleName()
