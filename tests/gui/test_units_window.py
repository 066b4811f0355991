"""Units in the window: the menu of sets, a set of one's own, fields that keep what they show, the sign of readings."""

from __future__ import annotations

import inspect
import math
import re
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from PySide6.QtCore import QLocale, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QComboBox, QLabel, QLineEdit, QWidget
from pytestqt.qtbot import QtBot

import workbench.design.design as design_module
from tests.gui.hand import Hand
from tests.gui.screen.claims import painted
from workbench.design.record import Record, field_facts, with_value
from workbench.files.scenes import load_scene
from workbench.gui.floor.side import HOLES, TARGET
from workbench.gui.kit.fields import QuantityEdit
from workbench.gui.kit.forms import field_for
from workbench.gui.plan.field_layer import levels
from workbench.gui.plan.words import pointer_words
from workbench.gui.shell.answers import HeadView
from workbench.gui.shell.filing import currency_here
from workbench.gui.shell.settings import Settings
from workbench.gui.shell.units_menu import UnitsDialog
from workbench.gui.window import FLOOR, SITE
from workbench.units import (
    CUSTOM,
    OFFERED,
    QUANTITIES,
    SI,
    SYSTEMS,
    US,
    US_GALLON,
    System,
    format_quantity,
    system_of,
    to_display,
    unit_of,
)

KEY = Qt.Key
ODD = system_of(CUSTOM, {quantity: OFFERED[quantity][-1].label for quantity in QUANTITIES}, US)
EVERY = (*SYSTEMS, ODD, replace(US, minus_is_suction=True))


def choose_units(dialog: UnitsDialog, quantity: str, label: str) -> None:
    """Take an entry of a drop-down, as a person does with the keys."""
    box = dialog.field(quantity).control()  # type: ignore[arg-type]
    assert isinstance(box, QComboBox)
    box.setFocus()
    while box.currentText() != label:
        before = box.currentIndex()
        QTest.keyClick(box, KEY.Key_Down if box.findText(label) > before else KEY.Key_Up)
        assert box.currentIndex() != before


def dialog_of(hand: Hand) -> UnitsDialog:
    found = [dialog for dialog in hand.window.findChildren(UnitsDialog) if dialog.isVisible()]
    assert len(found) == 1
    return found[0]


def floor(hand: Hand) -> Any:
    hand.window.pages.turn_to(FLOOR)
    hand.settle()
    return hand.window.pages.page(FLOOR)


# --- the sets ---------------------------------------------------------------------------------------------------------


def test_the_menu_offers_the_trade_the_si_and_a_set_of_ones_own(hand: Hand) -> None:
    for words, name in (("US trade", "US"), ("SI", "SI"), ("Custom…", CUSTOM)):
        hand.choose(words)
        assert hand.action(words).isChecked()
        assert Settings().system.name == name
    dialog_of(hand).reject()


def test_under_us_trade_a_hole_reads_in_pascals_and_the_gauge_in_inches(hand: Hand) -> None:
    page = floor(hand)
    hand.choose("US trade")
    holding = hand.document.outcome.holding
    assert holding is not None
    for hole in holding.holes:
        # the label of a hole tells the suction of the answer itself, to two figures
        assert f"{hole.name}  {_two_figures(hole.worst)} Pa" in painted(page.view)
    gauge = hand.document.outcome.gauge
    assert hand.answers()["gauge"].value == f"{gauge / 249.08891:.3f} in. w.c."
    worst = min(hole.worst for hole in holding.holes)
    assert hand.answers()["verdict"].detail.startswith(f"{_two_figures(worst)} Pa on the worst day")
    page.side.turn_to(TARGET)
    target = page.side.target.target.field("suction")
    assert target.control().findChild(QLabel, "unit").text() == "Pa"
    assert target.text() == "1"


def _two_figures(value: float) -> str:
    return f"{value:.1f}" if value < 9.95 else f"{value:.0f}"


def test_a_set_of_ones_own_has_live_effect_a_way_back_and_is_kept(hand: Hand, qtbot: QtBot) -> None:
    hand.choose("US trade")
    before = hand.answers()
    design = hand.design
    hand.choose("Custom…")
    dialog = dialog_of(hand)
    for quantity in QUANTITIES:
        box = dialog.field(quantity).control()
        assert isinstance(box, QComboBox)
        assert [box.itemText(i) for i in range(box.count())] == [unit.label for unit in OFFERED[quantity]]
        assert box.maxVisibleItems() >= box.count()
    assert hand.answers() == before
    choose_units(dialog, "flow", "m³/h")
    hand.settle()
    point = hand.document.outcome.operating
    assert point is not None
    assert hand.answers()["flow"].value == f"{3600.0 * point.flow:.1f} m³/h"
    dialog.reject()
    hand.settle()
    assert hand.answers() == before
    assert hand.action("US trade").isChecked()
    assert Settings().own_units(SI).label("flow") == "cfm"

    hand.choose("Custom…")
    dialog = dialog_of(hand)
    choose_units(dialog, "hole_pressure", "in. w.c.")
    choose_units(dialog, "volume", "L")
    dialog.accept()
    hand.settle()
    assert hand.design == design
    assert not hand.document.dirty
    hand.window.close()
    again = Hand(qtbot)
    assert again.action("Custom…").isChecked()
    assert " in. w.c. on the worst day" in again.answers()["verdict"].detail
    assert unit_of("volume", again.window._system).label == "L"
    # the set stays one's own while another is shown
    again.choose("SI")
    again.choose("Custom…")
    assert dialog_of(again).field("volume").value() == "L"
    dialog_of(again).reject()


def test_all_quantities_can_be_set_at_once(hand: Hand) -> None:
    hand.choose("Custom…")
    dialog = dialog_of(hand)
    hand.press("All as US trade", dialog)
    assert [dialog.field(quantity).value() for quantity in QUANTITIES] == list(US.labels)
    assert hand.answers()["flow"].value.endswith("cfm")
    hand.press("All as SI", dialog)
    assert hand.answers()["flow"].value.endswith("L/s")
    dialog.accept()


def test_settings_of_an_older_or_damaged_file_are_read_as_well_as_may_be() -> None:
    kept = Settings()
    kept._keep("units", "IP")
    assert Settings().system == US
    kept._keep("units", CUSTOM)
    kept._keep("unit_of_flow", "furlongs")
    kept._keep("unit_of_length", "m")
    system = Settings().system
    assert (system.name, system.label("flow"), system.label("length")) == (CUSTOM, "cfm", "m")


@pytest.mark.parametrize("unit", OFFERED["hole_pressure"])
def test_the_shades_have_bounds_in_every_unit_of_holes(unit: Any) -> None:
    system = system_of(CUSTOM, {"hole_pressure": unit.label}, US)
    bounds = levels(system)
    assert list(bounds) == sorted(set(bounds))
    # from no suction over a usual target to that of a strong fan
    assert bounds[0] == 0.0 < bounds[1] < 1.0 < 100.0 < bounds[-1]
    assert all(len(f"{to_display(float(bound), 'hole_pressure', system):g}") <= 5 for bound in bounds)


@pytest.mark.parametrize("system", EVERY)
def test_no_sentence_ends_in_two_full_stops(hand: Hand, system: System) -> None:
    hand.window.set_system(system)
    for title in hand.window.pages.titles:
        hand.window.pages.turn_to(title)
        hand.settle()
        wrong = [text for text in hand.texts() if re.search(r"[^.]\.\.(\s|$)", text)]
        assert wrong == []


# --- fields keep what they show ---------------------------------------------------------------------------------------


def records() -> Iterator[tuple[type[Record], str]]:
    """Every quantity of every record that a design is made of."""
    seen: set[type[Record]] = set()
    waiting: list[Any] = [design_module.Design]
    while waiting:
        found = waiting.pop()
        if inspect.isclass(found) and issubclass(found, Record):
            if found not in seen:
                seen.add(found)
                for name, info in found.model_fields.items():
                    waiting.append(info.annotation)
                    if field_facts(found, name).dimension is not None:
                        yield found, name
        else:
            waiting += getattr(found, "__args__", ())


FIELDS = sorted(records(), key=lambda each: (each[0].__name__, each[1]))


def test_the_fields_are_those_of_the_whole_design() -> None:
    names = {record.__name__ for record, _ in FIELDS}
    assert {"Run", "SuctionPoint", "HoleReading", "Target", "WorstDay", "Prices", "FanPoint", "Slab", "Costs"} <= names
    assert len(FIELDS) > 90


@pytest.fixture(scope="module")
def bench() -> Iterator[tuple[QWidget, QLineEdit]]:
    window = QWidget()
    elsewhere = QLineEdit(window)
    yield window, elsewhere
    window.deleteLater()


@pytest.mark.parametrize(("record", "name"), FIELDS, ids=[f"{r.__name__}.{n}" for r, n in FIELDS])
def test_a_field_shown_left_or_typed_again_keeps_its_value_to_the_last_bit(
    qtbot: QtBot, bench: tuple[QWidget, QLineEdit], record: type[Record], name: str
) -> None:
    facts = field_facts(record, name)
    low = facts.lower if facts.lower is not None else -1e3
    high = facts.upper if facts.upper is not None else 1e3
    ends = [low, high] if not (facts.lower_open or facts.upper_open) else []
    default = record.model_fields[name].default
    values = [*ends, *((default,) if isinstance(default, float) else ())]
    values += [low + (high - low) * part for part in (1.0 / 3.0, 1e-3 / math.pi, 0.037)]
    field = field_for(record, name, SI)
    assert isinstance(field, QuantityEdit)
    heard: list[Any] = []
    field.committed.connect(heard.append)
    window, elsewhere = bench
    field.setParent(window)
    window.show()
    field.show()
    editor = field.control()
    assert isinstance(editor, QLineEdit)
    for system in EVERY:
        field.set_system(system)
        for value in values:
            field.set_value(value)
            shown = field.text()
            editor.setFocus()
            elsewhere.setFocus()
            assert field.value() == value
            # the same text typed anew is the same value still
            editor.setFocus()
            editor.selectAll()
            editor.clear()
            editor.insert(shown)
            editor.textEdited.emit(shown)
            QTest.keyClick(editor, KEY.Key_Return)
            assert (field.value(), field.fault()) == (value, "")
            assert field.text() == shown
    assert heard == []
    field.setParent(None)
    field.deleteLater()


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60)
@given(figures=st.integers(1, 999_999), places=st.integers(0, 4), at=st.integers(0, len(EVERY) - 1))
def test_what_was_typed_shows_as_typed(qtbot: QtBot, figures: int, places: int, at: int) -> None:
    field = QuantityEdit("Pit volume", "volume", EVERY[at])
    typed = f"{figures / 10**places:.{places}f}"
    editor = field.control()
    assert isinstance(editor, QLineEdit)
    editor.setText(typed)
    editor.textEdited.emit(typed)
    QTest.keyClick(editor, KEY.Key_Return)
    assert float(field.text()) == float(typed)
    field.deleteLater()


def test_a_converted_value_is_rounded_and_told_exactly_beside_it(qtbot: QtBot) -> None:
    field = QuantityEdit("Pit volume", "volume", US)
    qtbot.addWidget(field)
    field.set_hint("Soil removed.")
    field.set_value(0.038)
    assert field.text() == "10.04"
    assert field.control().toolTip() == "Soil removed.\nExactly 10.03853799 gal."
    field.set_value(10.0 * US_GALLON)
    assert field.text() == "10"
    assert field.control().toolTip() == "Soil removed."


def test_several_volumes_in_a_line_keep_those_that_were_left(hand: Hand) -> None:
    from workbench.gui.choices.form import QuantitiesEdit

    field = QuantitiesEdit("Pit volumes", "volume", US)
    field.set_value((0.028, 0.057, 0.095, 0.0379))
    editor = field.control()
    assert isinstance(editor, QLineEdit)
    # what was entered in another unit all in three figures, as numbers of the search are shown
    assert editor.text() == "7.40; 15.1; 25.1; 10.0"
    field.set_value((0.028, 12.5 * US_GALLON, 0.02801))
    # as it was typed; and two that would look alike in four
    assert editor.text() == "7.397; 12.5; 7.399"
    field.set_value((0.028, 0.057))
    editor.setText("7.40; 20")
    editor.textEdited.emit(editor.text())
    QTest.keyClick(editor, KEY.Key_Return)
    assert field.value() == (0.028, pytest.approx(20 * US_GALLON, rel=1e-12))


# --- new parts --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("words", "pit", "riser", "joint"), [("US trade", "10", "20", "0.04"), ("SI", "40", "6", "1")])
def test_new_parts_begin_with_figures_that_are_round_as_shown(
    hand: Hand, words: str, pit: str, riser: str, joint: str
) -> None:
    hand.choose(words)
    hand.choose("New")
    system = hand.window._system
    design = hand.design

    def shown(value: float, dimension: Any) -> str:
        return f"{to_display(value, dimension, system):.9g}"

    point = design.suction_points()
    volume = next(iter(point))[1].pit_volume
    assert (shown(volume, "volume"), shown(design.intake.runs[0].length, "length")) == (pit, riser)
    for value, dimension in (
        (design.house.storey_height, "length"),
        (design.house.slab_thickness, "small_length"),
        (design.place.indoor_temperature, "temperature"),
        (design.worst_day.outdoor_temperature, "temperature"),
        (design.intake.runs[0].rise, "length"),
        *((pit, "volume") for pit in design.search.pits),
    ):
        assert len(shown(value, dimension).replace(".", "").lstrip("-0")) <= 3, (value, dimension)
    page = hand.window.pages
    page.turn_to("Noise and running cost")
    hand.press("Add a crack")
    assert shown(hand.design.house.cracks[-1].width, "small_length") == joint


def test_a_new_project_has_the_currency_of_the_place(hand: Hand) -> None:
    assert currency_here() is None
    for place, currency in (("en_US", "USD"), ("en_GB", "GBP"), ("de_DE", "EUR")):
        QLocale.setDefault(QLocale(place))
        try:
            hand.window.filing.new()
        finally:
            QLocale.setDefault(QLocale("C"))
        assert hand.design.prices.currency == currency
    hand.window.filing.new()
    assert hand.design.prices.currency == "EUR"


# --- prices -----------------------------------------------------------------------------------------------------------


def test_a_price_is_typed_by_the_therm_in_the_currency_of_the_project(qtbot: QtBot) -> None:
    hand = Hand(qtbot, with_value(load_scene(), ("prices", "currency"), "USD"))
    hand.window.pages.turn_to("Noise and running cost")
    hand.settle()
    field = hand.window.pages.page("Noise and running cost").year.prices.field("heat")

    def type_in(text: str) -> None:
        editor = field.control()
        editor.setFocus()
        editor.selectAll()
        QTest.keyClicks(editor, text)
        QTest.keyClick(editor, KEY.Key_Return)
        hand.settle()

    type_in("$1.10/therm")
    assert hand.design.prices.heat == pytest.approx(1.10 / 29.3071, rel=1e-5)
    assert field.text() == "0.03753"
    for text, says in (("$3.50/gal", "depends on the fuel"), ("28p/kWh", "another currency")):
        type_in(text)
        assert says in field.fault()
        assert hand.design.prices.heat == pytest.approx(1.10 / 29.3071, rel=1e-5)
    type_in("15 ct/kWh")
    assert hand.design.prices.heat == pytest.approx(0.15)


def test_a_price_is_typed_by_the_gallon_once_the_fuel_is_selected(qtbot: QtBot) -> None:
    hand = Hand(qtbot, with_value(load_scene(), ("prices", "currency"), "USD"))
    hand.window.pages.turn_to("Noise and running cost")
    hand.settle()
    prices = hand.window.pages.page("Noise and running cost").year.prices

    def type_in(text: str) -> None:
        editor = prices.field("heat").control()
        editor.setFocus()
        editor.selectAll()
        QTest.keyClicks(editor, text)
        QTest.keyClick(editor, KEY.Key_Return)
        hand.settle()

    def select(words: str) -> None:
        box = prices.field("heat_fuel").control()
        box.setCurrentIndex(box.findText(words))
        box.activated.emit(box.currentIndex())
        hand.settle()

    before = hand.design.prices.heat
    type_in("3.89/gal")
    assert "select the heating fuel first" in prices.field("heat").fault()
    assert prices.field("heat").control().text() == "3.89/gal"
    assert hand.design.prices.heat == before
    select("Heating oil")
    # 137 381 Btu in a gallon, 3412.14 Btu in a kWh, 74.14 kg for a million Btu
    assert hand.design.prices.heat_fuel == "heating oil"
    assert hand.design.prices.heat_co2 == pytest.approx(74.14 * 0.00341214, rel=1e-3)
    type_in("3.89/gal")
    assert prices.field("heat").fault() == ""
    assert hand.design.prices.heat == pytest.approx(3.89 / (137381 / 3412.14), rel=1e-4)
    type_in("1.30 per ccf")
    assert "Heating oil is not sold by the ccf" in prices.field("heat").fault()
    select("Natural gas")
    type_in("1.30 per ccf")
    assert hand.design.prices.heat == pytest.approx(1.30 / (103600 / 3412.14), rel=1e-4)
    type_in("1.30/therm")
    assert hand.design.prices.heat == pytest.approx(1.30 / 29.3071, rel=1e-5)
    # the card of the prices on the first page takes the same
    hand.window.pages.turn_to("Cross-section and curves")
    hand.window.site_page.site.pick(("prices",))
    card = hand.window.site_page.site.card
    field = card.form().fields()["prices", "heat"]
    field.control().setFocus()
    field.control().selectAll()
    QTest.keyClicks(field.control(), "1.10/ccf")
    QTest.keyClick(field.control(), KEY.Key_Return)
    hand.settle()
    assert hand.design.prices.heat == pytest.approx(1.10 / (103600 / 3412.14), rel=1e-4)


# --- the sign of readings ---------------------------------------------------------------------------------------------


def cell(panel: Any, hole: int, key: str) -> str:
    """What is edited in a cell of a hole's first reading."""
    from workbench.gui.floor.holes_rows import READING_KEYS

    panel.model.open_all(True)
    index = panel.model.index(panel.model.row_of(hole, 0), READING_KEYS.index(key))
    return str(panel.model.data(index, Qt.ItemDataRole.EditRole))


def test_what_keeps_its_sign_beside_turned_readings_says_that_it_is_suction(hand: Hand) -> None:
    page = floor(hand)
    page.side.turn_to(HOLES)
    holding = hand.document.outcome.holding
    assert holding is not None
    weakest = next(hole for hole in holding.holes if hole.name == holding.weakest)
    worst, asked = (format_quantity(value, "hole_pressure", SI) for value in (weakest.worst, holding.target))

    def seen() -> tuple[list[str], list[str], str]:
        page.view._redraw()
        rail = [text for view in hand.window.rail.findChildren(HeadView) for text in painted(view)]
        return rail, painted(page.view), pointer_words((1.0, 1.0), 2.0, 3.0, hand.window._system)

    rail, plan, pointer = seen()
    assert any(text.startswith(f", {worst} on the worst day") for text in rail)
    assert "suction" not in pointer
    page.side.holes.minus._box.click()
    hand.settle()
    rail, plan, pointer = seen()
    # the same numbers, none of them turned, and each named for what it is
    assert any(text.startswith(f", suction {worst} on the worst day") for text in rail)
    assert any(text.startswith(f"target suction {asked}") for text in rail)
    assert "suction, Pa" in plan or "Suction, worst day, Pa" in plan
    assert any(text.endswith(f"  {worst}") for text in plan)
    assert "suction 2.0 Pa on the worst day" in pointer
    assert "name suction and show it as positive" in page.side.holes.signs.text()


def test_readings_turn_their_sign_by_the_switch_on_their_table(hand: Hand, qtbot: QtBot) -> None:
    from workbench.gui.floor.holes_rows import LATEST, NOW, READING_KEYS, WORST

    page = floor(hand)
    page.side.turn_to(HOLES)
    panel = page.side.holes
    design = hand.design
    reading = design.holes[0].readings[0]
    plain = cell(panel, 0, "suction")
    assert not plain.startswith("−")
    panel.minus._box.click()
    hand.settle()
    assert hand.design == design
    assert cell(panel, 0, "suction") == f"−{plain}"
    assert cell(panel, 0, "flow") == f"{1000.0 * (reading.flow or 0.0):.6g}"
    headings = [str(panel.model.index(panel.model.row_of(0) + 1, column).data()) for column in range(len(READING_KEYS))]
    assert [("− suction" in words) for words in headings] == [
        key in ("at_rest", "applied", "suction", "exhausts") for key in READING_KEYS
    ]
    titles = [str(panel.model.headerData(column, Qt.Orientation.Horizontal)) for column in range(len(READING_KEYS))]
    assert [i for i, words in enumerate(titles) if "− suction" in words] == [LATEST, NOW, WORST]
    target = format_quantity(design.target.suction, "hole_pressure", SI).replace(" ", "\N{NO-BREAK SPACE}")
    assert f"Verdict, target −{target}" in titles
    assert "as negative" in panel.signs.text()
    # what the holes keep, turned too, the band from its lower end up
    state = panel.model.state(design.holes[0].name)
    assert state is not None
    own = panel.model.row_of(0)
    latest = str(panel.model.index(own, LATEST).data()).split("\n")
    assert (
        latest[0] == f"−{format_quantity(design.holes[0].readings[-1].suction, 'hole_pressure', SI, with_unit=False)}"
    )
    kept = str(panel.model.index(own, WORST).data()).split("\n")
    assert kept[0] == f"−{format_quantity(state.worst, 'hole_pressure', SI, with_unit=False)}"
    ends = [float(end.replace("−", "-")) for end in kept[1].split(" to ")]
    assert ends == sorted(ends)
    assert ends[0] < -state.worst < ends[1]

    line = panel.model.lines()[panel.model.row_of(0, 0)]
    panel.model.enter(line, "suction", "-12.5")
    assert hand.design.holes[0].readings[0].suction == 12.5
    panel.model.enter(line, "at_rest", "0.4")
    assert hand.design.holes[0].readings[0].at_rest == -0.4
    panel.model.enter(line, "applied", "70")
    assert hand.design.holes[0].readings[0].applied == reading.applied
    assert any("type −70" in words for _, _, words in panel.model.faults())
    # opening a cell and leaving it is no change
    before = hand.design
    index = panel.model.index(panel.model.row_of(2, 0), READING_KEYS.index("suction"))
    panel.model.setData(index, panel.model.data(index, Qt.ItemDataRole.EditRole))
    assert hand.design == before

    assert hand.action("Readings: minus is suction").isChecked()
    assert Settings().system == replace(SI, minus_is_suction=True)
    hand.choose("US trade")
    assert hand.window._system.minus_is_suction
    hand.choose("Readings: minus is suction")
    assert cell(panel, 2, "suction")[0] != "−"
    assert not panel.minus.value()


def test_a_pasted_table_is_read_with_the_sign_shown(hand: Hand) -> None:
    page = floor(hand)
    hand.choose("Readings: minus is suction")
    from workbench.gui.floor.holes_draft import KEYS

    block = page.side.holes.model.read_block(
        "Hole\tBaseline (Pa)\tAt point (Pa)\tFlow (L/s)\tAt hole (Pa)\nNew one\t0.5\t-120\t20\t-6.5\n", KEYS, _told()
    )
    page.side.holes.model.take_block(block, 0)
    new = next(hole for hole in hand.design.holes if hole.name == "New one").readings[0]
    assert (new.at_rest, new.applied, new.suction) == (-0.5, 120.0, 6.5)


def _told() -> Any:
    from workbench.files.block import Told

    return Told()


def test_the_step_test_turns_its_sign_too(hand: Hand) -> None:
    page = hand.window.pages.page(SITE)
    point = ("intake", "source")
    page.pick(point)
    hand.settle()
    table = page.site.card._forms["suction point"].ground.table
    flow, suction, rest = table.row(0)
    before = (suction.value(), rest.value())
    plain = suction.text()
    design = hand.design
    table.minus._box.click()
    hand.settle()
    assert hand.design == design
    assert (suction.value(), rest.value()) == before
    assert suction.text() == f"−{plain}"
    assert "− suction" in table._titles[1].text()
    assert "− suction" not in table._titles[0].text()
    suction.setFocus()
    editor = suction.control()
    assert isinstance(editor, QLineEdit)
    editor.selectAll()
    QTest.keyClicks(editor, "-70")
    QTest.keyClick(editor, KEY.Key_Return)
    hand.settle()
    ground: Any = hand.design.intake.source.ground  # type: ignore[union-attr]
    assert ground.readings[0].suction == 70.0
    editor.selectAll()
    QTest.keyClicks(editor, "70")
    QTest.keyClick(editor, KEY.Key_Return)
    assert "Must be at most 0 Pa" in suction.fault()
    assert flow.text()
