"""Water, rules and draft used as a person uses them: chosen, typed, undone, in either system of units."""

from __future__ import annotations

import threading
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLineEdit
from pytestqt.qtbot import QtBot

from tests.files import invented_weather
from tests.gui.bench import Bench
from tests.gui.section_designs import one_point, two_points
from workbench.design import Design, House, Run
from workbench.design.record import with_value
from workbench.design.rules import Entered, rule_sheets
from workbench.gui.kit.theme import DARK, LIGHT
from workbench.gui.water import water_panel
from workbench.gui.water.page import WaterPage
from workbench.gui.water.rule_rows import RuleRow
from workbench.gui.water.water_panel import WetRun
from workbench.solving.report.house_draft import SPILLAGE_TEST
from workbench.solving.run.water import water_at
from workbench.units import SI, US

KEY = Qt.Key
SHEET = "United States standards 2017-2020"


class Water(Bench):
    """The page as the window holds it."""

    def __init__(self, qtbot: QtBot, design: Design) -> None:
        self.qtbot = qtbot
        self.page = WaterPage()
        qtbot.addWidget(self.page)
        super().__init__(self.page, design)
        self.page.set_system(SI)
        self.page.apply_theme(LIGHT)
        self.page.resize(1240, 620)
        with qtbot.waitActive(self.page):
            self.page.show()
            self.page.activateWindow()
        self.water, self.rules, self.draft = self.page.water, self.page.rules, self.page.draft
        self.settle()

    def settle(self) -> None:
        """The hand rests: what waits for it is reckoned."""
        super().settle()
        self.page.settle()

    def change(self, address: tuple[str | int, ...], value: Any) -> None:
        faults = self.document.propose(lambda design: with_value(design, address, value), "Change")
        assert faults == []
        self.settle()

    def run(self, at: int) -> WetRun:
        row = self.water.rows.rows[at]
        assert isinstance(row, WetRun)
        return row

    def rule(self, what: str) -> RuleRow:
        return next(row for row in self.rules.rows if row.answer is not None and row.answer.rule.what.startswith(what))


@pytest.fixture
def bench(qtbot: QtBot) -> Water:
    return Water(qtbot, one_point())


def type_into(field: Any, text: str) -> None:
    line = field.control()
    assert isinstance(line, QLineEdit)
    line.setFocus()
    line.selectAll()
    QTest.keyClicks(line, text) if text else QTest.keyClick(line, KEY.Key_Delete)
    QTest.keyClick(line, KEY.Key_Return)


# --- water ----------------------------------------------------------------------------------------------------------


def test_the_coldest_day_is_shown_run_by_run(bench: Water) -> None:
    document = bench.document
    coldest = bench.design.worst_day.outdoor_temperature
    water = water_at(document.prepared, document.outcome, coldest, bench.design.place.wind)
    assert water is not None
    assert bench.water.total.text() == f"{water.total:.2f} kg of condensate per day"
    assert "Through the roof" in bench.run(2).accessibleName()
    assert f"{water.runs[2].water:.2f} kg a day" in bench.run(2).accessibleName()
    assert "dry" in bench.run(0).accessibleName()
    assert bench.water.freezing.text().startswith("●")
    assert "Through the roof: outlet air " in bench.water.strip.accessibleDescription()


def test_another_day_is_chosen(bench: Water) -> None:
    cold = bench.water.total.text()
    box = bench.water.day.control()
    box.setFocus()
    QTest.keyClick(box, KEY.Key_Down)
    assert bench.water.day.value() == "Day of the readings"
    assert bench.water.total.text() != cold


def test_what_stands_is_greyed_until_the_hand_rests(bench: Water) -> None:
    before = bench.water.total.text()
    bench.document.propose(lambda design: with_value(design, ("speed",), 0.5), "Change speed", gesture="drag")
    assert bench.water.stale()
    assert bench.water.total.text() == before
    assert not bench.water.total.isEnabled()
    bench.qtbot.waitUntil(lambda: not bench.water.stale(), timeout=5000)
    assert bench.water.total.text() != before
    assert bench.water.total.isEnabled()


def test_water_that_takes_long_is_worked_out_beside_the_window(bench: Water, monkeypatch: pytest.MonkeyPatch) -> None:
    gate, march = threading.Event(), water_panel.waters_at

    def slowly(*given: Any) -> Any:
        assert threading.current_thread() is not threading.main_thread()
        assert gate.wait(20.0)
        return march(*given)

    monkeypatch.setattr(water_panel, "waters_at", slowly)
    before = bench.water.total.text()
    bench.document.propose(lambda design: with_value(design, ("speed",), 0.5), "Change speed")
    bench.qtbot.waitUntil(lambda: bench.water._background.busy(), timeout=5000)
    assert not bench.water._rest.pending()
    bench.page.set_stale(False)
    assert bench.water.stale()
    assert bench.water.total.text() == before
    gate.set()
    bench.qtbot.waitUntil(lambda: not bench.water.stale(), timeout=5000)
    assert bench.water.total.text() != before


def test_what_an_earlier_design_comes_to_stays_greyed_while_the_next_is_worked_out(bench: Water) -> None:
    bench.document.propose(lambda design: with_value(design, ("speed",), 0.5), "Change speed")
    bench.page.set_stale(True)
    bench.page.settle()
    assert bench.water.stale()
    bench.page.set_stale(False)
    assert not bench.water.stale()


def test_water_that_cannot_be_reckoned_says_why(bench: Water, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: Any) -> Any:
        raise ValueError("no air that hot is known")

    monkeypatch.setattr(water_panel, "waters_at", refuse)
    bench.change(("speed",), 0.5)
    assert bench.water.total.text() == "Condensate cannot be calculated."
    assert bench.water.freezing.text() == "No air that hot is known."
    assert not bench.water.stale()


def outside(design: Design) -> Design:
    cold = design.discharge[0].model_copy(update={"length": 9.0, "rise": 9.0})
    slow = with_value(design, ("discharge",), (cold,))
    return with_value(slow, ("worst_day", "outdoor_temperature"), 243.15).model_copy(update={"speed": 0.31})


def test_ice_is_said_in_words_and_insulation_helps(qtbot: QtBot) -> None:
    bench = Water(qtbot, outside(one_point()))
    assert bench.water.freezing.text().startswith("▲ At −30.0 °C outdoors the wall of Through the roof falls to −")
    assert "water freezes here" in bench.run(2).accessibleName()
    bench.water.pick(("discharge", 0))
    type_into(bench.water.form.field("insulation"), "50 mm")
    assert bench.design.discharge[0].insulation == pytest.approx(0.05)
    assert bench.said[-1] == "Change insulation of Through the roof"
    bench.settle()
    assert "water freezes here" not in bench.run(2).accessibleName()
    bench.document.undo()
    bench.settle()
    assert "water freezes here" in bench.run(2).accessibleName()


def test_standing_water_follows_the_slope(bench: Water) -> None:
    level = Run(**(bench.design.intake.runs[0].model_dump() | {"rise": 0.0}))
    bench.change(("intake", "runs", 0), level)
    assert bench.water.standing.text().startswith("● With the slopes entered there are no low points")
    bench.water.pick(("intake", "runs", 0))
    type_into(bench.water.form.field("slope"), "0")
    bench.settle()
    assert (
        bench.water.standing.text()
        == "▲ Low point: water would collect. Under the bench: it lies level, so water stands in it."
    )
    assert "it lies level" in bench.run(0).accessibleName()


def test_velocities_stand_beside_their_limits(bench: Water) -> None:
    words = bench.water.speed.text().splitlines()
    assert words[0].startswith("● Highest velocity ")
    assert "under 10 m/s (ANSI/AARST SGM-SF 2017, advice)" in words[0]
    assert words[1].startswith("● At the outlet ")


def test_runs_stand_in_the_order_of_the_air(qtbot: QtBot) -> None:
    bench = Water(qtbot, two_points())
    names = [row.accessibleName().split(":")[0] for row in bench.water.rows.rows]
    assert names == ["Under the bench", "Branch", "Riser", "Through the roof"]
    bench.water.pick(("intake", "source", "side", "runs", 0))
    assert bench.water.strip.accessibleDescription().startswith("Branch: ")
    bench.water.pick(("intake", "source", "straight", "runs", 0))
    assert bench.water.strip.accessibleDescription().startswith("Under the bench: ")


def test_months_are_shown_with_weather(bench: Water, tmp_path: Path) -> None:
    assert not bench.water.months.isVisible()
    path = tmp_path / "hollow.epw"
    path.write_bytes(invented_weather.text(invented_weather.rows()).encode())
    bench.change(("place", "weather"), str(path))
    assert bench.water.months.isVisible()
    assert bench.water.months_title.text().endswith(", kg")
    bench.page.set_system(US)
    assert bench.water.months_title.text().endswith(", lb")
    bench.water.day.set_value("January")
    bench.water.day.committed.emit("January")
    assert "lb of condensate per day" in bench.water.total.text()


def test_without_a_fan_there_is_no_water(bench: Water) -> None:
    bench.change(("fan",), None)
    assert bench.water.total.text() == "No operating point: condensate cannot be calculated."
    assert bench.rules.answers == ()


# --- rules ----------------------------------------------------------------------------------------------------------


@pytest.fixture
def ruled(qtbot: QtBot) -> Water:
    return Water(qtbot, one_point().model_copy(update={"rules": rule_sheets()[SHEET]}))


def test_a_sheet_is_chosen_by_place_and_edition(bench: Water) -> None:
    assert bench.rules.rows == []
    bench.rules.sheet.committed.emit("Illinois, vapor intrusion")
    bench.settle()
    assert bench.design.rules == rule_sheets()["Illinois, vapor intrusion"]
    assert bench.said[-1] == "Select the rules “Illinois, vapor intrusion”"
    assert len(bench.rules.rows) == 4
    bench.document.undo()
    bench.settle()
    assert bench.design.rules is None
    assert bench.rules.rows == []


def test_a_row_says_limit_finding_and_whose_it_is(ruled: Water) -> None:
    row = ruled.rule("pit under every slab suction point")
    assert row.verdict.text() == "● met"
    assert row.words.text() == "At least 7.6 L; found 28.0 L; smallest at Kiln corner."
    assert row.source.text() == "ANSI/AARST SGM-SF, 2017 · United States · requirement · published"
    assert row.field is None
    assert "prevail" in ruled.rules.caution.text()


def test_what_is_lacking_is_typed_in_the_row(ruled: Water) -> None:
    row = ruled.rule("discharge height above the roof where")
    assert row.verdict.text() == "○ no input yet"
    type_into(row.field, "25 cm")
    assert ruled.design.entered == (Entered(key="outlet_above_roof", value=0.25),)
    assert ruled.said[-1] == "Enter discharge height above the roof"
    ruled.settle()
    row = ruled.rule("discharge height above the roof where")
    assert row.verdict.text() == "▲ not met"
    assert row.words.text() == "At least 0.30 m; found 0.25 m; as entered."
    type_into(row.field, "1 ft")
    ruled.settle()
    assert ruled.rule("discharge height above the roof where").verdict.text() == "● met"
    type_into(ruled.rule("discharge height above the roof where").field, "")
    ruled.settle()
    assert ruled.design.entered == ()
    ruled.document.undo()
    ruled.settle()
    assert ruled.design.entered[0].value == pytest.approx(0.3048)


def test_yes_and_no_are_switched(ruled: Water) -> None:
    row = ruled.rule("rain cap")
    assert row.field is not None
    row.field.committed.emit(True)
    ruled.settle()
    assert row.verdict.text() == "▲ not met"
    assert row.words.text() == "Asked: no; found yes; as entered."
    row.field.committed.emit(False)
    ruled.settle()
    assert row.verdict.text() == "● met"
    row.field.committed.emit(None)
    assert ruled.design.entered == ()


def test_angles_and_spans_are_in_degrees_and_years(ruled: Water) -> None:
    lean, tests = ruled.rule("discharge angle"), ruled.rule("radon retest interval")
    assert lean.words.text().startswith("At most 45 °;")
    assert tests.words.text().startswith("At most 730 days;")
    type_into(lean.field, "30 deg")
    type_into(tests.field, "2 years")
    ruled.settle()
    assert [row.verdict.text() for row in (lean, tests)] == ["● met", "● met"]


def test_a_case_that_is_not_known_is_asked_for(ruled: Water) -> None:
    row = ruled.rule("discharge above a flat roof")
    assert "depends on the roof pitch" in row.words.text()
    type_into(row.field, "40 %")
    ruled.settle()
    assert row.verdict.text() == "– does not apply"


def test_rows_are_filtered(ruled: Water) -> None:
    ruled.rules.shown.set_value("not entered")
    ruled.rules.shown.committed.emit("not entered")
    seen = [row for row in ruled.rules.rows if row.isVisible()]
    assert seen
    assert all(row.verdict.text() == "○ no input yet" for row in seen)
    counted = ruled.rules.counts.text()
    assert f"{len(seen)} no input yet" in counted


def test_a_rule_is_added_edited_and_removed(bench: Water) -> None:
    bench.rules.add_button.click()
    bench.settle()
    assert bench.design.rules is not None
    assert bench.design.rules.title == "Entered rules"
    assert bench.rules.form.isVisible()
    type_into(bench.rules.form.value_field(), "18 in")
    assert bench.design.rules.rules[0].value == pytest.approx(0.4572)
    bench.rules.form.subject.set_value("retest_interval")
    bench.rules.form.subject.committed.emit("retest_interval")
    rule = bench.design.rules.rules[0]
    assert (rule.key, rule.unit, rule.value) == ("retest_interval", "s", 1.0)
    type_into(bench.rules.form.value_field(), "1 year")
    assert bench.design.rules.rules[0].value == 365 * 86400.0
    bench.rules.form.subject.committed.emit("outlet_rain_cap")
    rule = bench.design.rules.rules[0]
    assert (rule.value, rule.comparison, rule.unit) == (True, "is", "")
    type_into(bench.rules.form.tail.field("source"), "Village by-law 7")
    bench.settle()
    assert bench.rules.rows[0].source.text().startswith("Village by-law 7")
    bench.rules.remove_button.click()
    bench.settle()
    assert bench.design.rules.rules == ()
    bench.document.undo()
    bench.settle()
    assert len(bench.rules.rows) == 1


def test_a_changed_sheet_says_so(ruled: Water) -> None:
    ruled.rules.pick(("rules", "rules", 1))
    ruled.rules.edit_button.click()
    type_into(ruled.rules.form.value_field(), "0.5 m")
    assert ruled.design.rules is not None
    assert ruled.design.rules.rules[1].value == 0.5
    assert ruled.rules.sheet.value() == "\0own"
    type_into(ruled.rules.form.tail.field("source"), "")
    assert "is needed" in ruled.rules.form.tail.field("source").fault()


def test_rows_are_picked_by_keyboard(ruled: Water) -> None:
    row = ruled.rules.rows[3]
    row.setFocus()
    QTest.keyClick(row, KEY.Key_Return)
    assert ruled.rules.rule() == row.answer.rule if row.answer is not None else False
    assert ruled.rules.edit_button.isEnabled()


def test_rules_speak_inch_pound(ruled: Water) -> None:
    ruled.page.set_system(US)
    row = ruled.rule("discharge height above the roof where")
    assert row.words.text().startswith("At least 1.00 ft;")
    type_into(row.field, "1.5")
    assert ruled.design.entered[0].value == pytest.approx(0.4572)


# --- draft ----------------------------------------------------------------------------------------------------------


def test_the_spillage_test_is_always_asked_for(bench: Water) -> None:
    assert bench.draft.caution.text() == SPILLAGE_TEST
    assert bench.draft.caution.isVisible()
    assert bench.draft.total.text().startswith("House depressurized by at least ")
    assert "unknown until the house leakage" in bench.draft.parts.text()
    everything = " ".join(
        label.text().lower() for label in (bench.draft.total, bench.draft.parts, bench.draft.appliances)
    )
    for word in ("no risk", "safe", "clear"):
        assert word not in everything


def test_appliances_are_named_and_warned_of(bench: Water) -> None:
    bench.draft.switches["natural draft"].control().click()  # type: ignore[attr-defined]
    assert bench.design.house.appliances == ("natural draft",)
    assert bench.said[-1] == "Add a natural draft appliance"
    assert bench.draft.appliances.text().startswith("▲ Natural draft: ")
    assert "times its limit of 2.0 Pa, may backdraft" in bench.draft.appliances.text()
    bench.draft.switches["sealed combustion"].control().click()  # type: ignore[attr-defined]
    assert "spillage test still required" in bench.draft.appliances.text()
    bench.document.undo()
    assert not bench.draft.switches["sealed combustion"].value()
    bench.draft.switches["natural draft"].control().click()  # type: ignore[attr-defined]
    assert bench.design.house.appliances == ()


def test_leakage_is_taken_from_a_blower_door(bench: Water) -> None:
    # Derived with ASTM E779's power law, exponent 0.65: A = Q (4 / 50)^0.65 sqrt(rho / 8).
    assert not bench.draft.door.take.isEnabled()
    type_into(bench.draft.door.flow, "500 L/s")
    bench.draft.door.take.click()
    density = bench.document.prepared.assembly.indoor.density
    area = bench.design.house.leakage_area
    assert area == pytest.approx(0.5 * (4.0 / 50.0) ** 0.65 * (density / 8.0) ** 0.5)
    assert bench.draft.total.text().startswith("House depressurized by ")
    assert "at least" not in bench.draft.total.text()
    type_into(bench.draft.house.field("floor_area"), "90")
    assert "for each m² of floor" in bench.draft.known.text()
    bench.page.set_system(US)
    assert "for each 100 ft² of floor" in bench.draft.known.text()
    bench.document.undo()
    bench.document.undo()
    assert bench.design.house.leakage_area is None


def test_a_drag_moves_the_systems_own_share(bench: Water) -> None:
    leaky = House(**(bench.design.house.model_dump() | {"leakage_area": 0.02, "exhaust_flow": 0.05}))
    bench.change(("house",), leaky)
    before = bench.draft.parts.text()
    bench.document.propose(lambda design: with_value(design, ("speed",), 0.4), "Change speed", gesture="drag")
    assert bench.draft.parts.text() != before


# --- the page -------------------------------------------------------------------------------------------------------


def test_parts_are_brought_into_sight(ruled: Water) -> None:
    ruled.page.pick(("discharge", 0))
    assert ruled.water.form.field("slope").isVisible()
    assert ruled.water.title.text() == "Through the roof"
    ruled.page.pick(("rules", "rules", 2))
    assert ruled.rules.rule() == ruled.design.rules.rules[2] if ruled.design.rules is not None else False
    ruled.page.pick(("house", "leakage_area"))
    assert ruled.draft.house.field("leakage_area").control().hasFocus()


def test_it_paints_in_both_themes(ruled: Water) -> None:
    pictures = []
    for theme in (LIGHT, DARK):
        ruled.page.apply_theme(theme)
        pictures.append(ruled.page.grab().toImage())
    assert pictures[0] != pictures[1]
