"""Sound, year and sealing used as a person uses them: typed, chosen, undone, in either system of units."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLineEdit
from pytestqt.qtbot import QtBot

from tests.files import invented_weather
from tests.gui.bench import Bench
from tests.gui.section_designs import one_point
from workbench.design import Design
from workbench.design.edit import replace_fan
from workbench.design.house import Crack
from workbench.design.record import with_value
from workbench.design.sound import Listener
from workbench.files.block import BlockError, Told
from workbench.files.scenes import load_scene
from workbench.gui.app import application
from workbench.gui.kit.bars import round_above
from workbench.gui.kit.theme import DARK, LIGHT, ThemeKeeper
from workbench.gui.running.fan_sound_form import levels_of, read_levels
from workbench.gui.running.listener_row import HeardRow
from workbench.gui.running.page import RunningPage
from workbench.gui.running.sealing_panel import CrackRow
from workbench.gui.shell.answers import Answer
from workbench.gui.shell.document import Document
from workbench.gui.shell.readouts import answers_of
from workbench.gui.shell.settings import Settings
from workbench.gui.window import MainWindow
from workbench.solving.report.sealing import Slowed, sealed_together
from workbench.units import SI, SYSTEMS, US, System, format_quantity

KEY = Qt.Key
BED = Listener(name="Bed", distance=3.0, insulation=30.0, limit=30.0, limit_source="WHO")
TERRACE = Listener(name="Terrace", distance=4.0, between="open air")
LEVELS = (62.0, 62.0, 60.0, 56.0, 51.0, 45.0, 41.0, 36.0)


def job(**house: Any) -> Design:
    design = one_point()
    return with_value(design, ("house",), design.house.model_copy(update={"listeners": (BED, TERRACE)} | house))


class Running(Bench):
    """The page as the window holds it."""

    def __init__(self, qtbot: QtBot, design: Design) -> None:
        self.page = RunningPage()
        qtbot.addWidget(self.page)
        super().__init__(self.page, design)
        self.page.set_system(SI)
        self.page.apply_theme(LIGHT)
        self.page.resize(1240, 620)
        with qtbot.waitActive(self.page):
            self.page.show()
            self.page.activateWindow()
        self.sound, self.year, self.sealing = self.page.sound, self.page.year, self.page.sealing

    def heard(self, at: int) -> HeardRow:
        row = self.sound.rows.rows[at]
        assert isinstance(row, HeardRow)
        return row

    def cracked(self, at: int) -> CrackRow:
        row = self.sealing.rows.rows[at]
        assert isinstance(row, CrackRow)
        return row


@pytest.fixture
def bench(qtbot: QtBot) -> Running:
    return Running(qtbot, job())


def type_into(field: Any, text: str) -> None:
    line = field.control()
    assert isinstance(line, QLineEdit)
    line.setFocus()
    line.selectAll()
    QTest.keyClicks(line, text)
    QTest.keyClick(line, KEY.Key_Return)


# --- sound ----------------------------------------------------------------------------------------------------------


def test_every_place_stands_with_level_band_and_verdict(bench: Running) -> None:
    heard = bench.document.outcome.sound
    assert bench.heard(0).level() == f"{heard[0].level:.0f} dB(A) ± 7 dB"
    assert bench.heard(0).verdict_words() == "within limit: 30 dB(A) at most, WHO"
    assert bench.heard(1).verdict_words() == "no limit set"
    assert "fan" in bench.heard(0).accessibleName()
    assert bench.heard(0).octaves().startswith("Octaves, dB: 63 ")


def test_typing_a_distance_changes_the_level_and_undo_brings_it_back(bench: Running) -> None:
    bench.sound.pick(("house", "listeners", 1))
    before = bench.document.outcome.sound[1].level
    type_into(bench.sound.form.field("distance"), "8 m")
    assert bench.design.house.listeners[1].distance == 8.0
    # Derived: twice as far in the open takes 6.02 dB
    assert bench.document.outcome.sound[1].level == pytest.approx(before - 6.02, abs=0.005)
    assert bench.said[-1] == "Change distance from the fan of Terrace"
    bench.document.undo()
    assert bench.sound.form.field("distance").value() == 4.0


def sound_tile(bench: Running, system: System = SI) -> Answer:
    answers = answers_of(bench.document.prepared, bench.document.outcome, system)
    return next(each for each in answers if each.key == "sound")


def test_what_is_hardly_audible_has_no_figure_anywhere(bench: Running) -> None:
    # A judgement: 15 dB(A). Bands below 0 dB, which no ear hears, are dashes.
    assert re.fullmatch(r"\d\d dB\(A\) ± 7 dB", bench.heard(0).level())
    assert sound_tile(bench).detail == "± 7 dB"
    type_into(bench.sound.form.field("insulation"), "48")
    heard = bench.document.outcome.sound[0]
    assert -5.0 < heard.level < 15.0
    assert bench.heard(0).level() == "below 15 dB(A), hardly audible"
    assert bench.heard(0).parts() == "fan below 15 dB(A)"
    octaves = bench.heard(0).octaves().removeprefix("Octaves, dB: ").split(", ")
    for words, level in zip(octaves, heard.spectrum, strict=True):
        assert words.split(" ")[1] == (f"{level:.0f}" if level >= 0.0 else "–")
    assert octaves[-1] == "8k –"
    assert octaves[0] != "63 –"
    for system in SYSTEMS:
        tile = sound_tile(bench, system)
        assert (tile.value, tile.detail) == ("below 15 dB(A)", "hardly audible")
    assert bench.heard(0).accessibleName().startswith("Bed: below 15 dB(A), hardly audible within limit")
    bench.page.grab()


def test_the_fans_room_is_chosen_and_its_echo_heard(bench: Running) -> None:
    room = bench.sound.room
    assert room.isVisible()
    assert room.said.text().startswith("Utility room, bare: one fifth concrete floor")
    before = bench.document.outcome.sound[0].level
    open_wool = "attic, insulation open on its floor"
    room.record.field("kind").set_value(open_wool)
    room.record.field("kind").committed.emit(open_wool)
    assert bench.design.house.fan_room.kind == open_wool
    quieter = bench.document.outcome.sound[0].level
    assert quieter < before - 3.0
    type_into(room.record.field("surface"), "60 m2")
    # Derived: half the surface is half the room constant; 3.01 dB but for what comes straight from the fan.
    assert 2.0 < bench.document.outcome.sound[0].level - quieter < 3.01
    type_into(room.record.field("absorption"), "20")
    assert bench.design.house.fan_room.absorption == pytest.approx(0.2)
    bench.document.undo()
    assert room.record.field("absorption").value() is None


def test_a_fan_outdoors_has_no_room_and_no_ear_inside_with_it(bench: Running) -> None:
    assert bench.sound.form.field("listens").isVisible()
    outside = ("intake", "runs", len(bench.design.intake.runs) - 1, "surroundings")
    bench.document.propose(lambda design: with_value(design, outside, "outdoors"), "Lead the riser outdoors")
    assert not bench.sound.room.isVisible()
    assert not bench.sound.form.field("listens").isVisible()


def test_next_door_the_fan_is_heard_in_the_open(bench: Running) -> None:
    before = bench.document.outcome.sound[0]
    assert [what for what, _ in before.parts] == ["fan"]
    bench.sound.form.field("listens").committed.emit("outdoors or next door")
    after = bench.document.outcome.sound[0]
    assert "fan at the outlet" in dict(after.parts)
    assert dict(after.parts)["fan"] < before.level - 5.0


def test_the_level_in_the_pipe_is_entered_with_the_fans_sound(bench: Running) -> None:
    def out_of_the_pipe() -> float:
        return dict(bench.document.outcome.sound[1].parts)["fan at the outlet"]

    before = out_of_the_pipe()
    type_into(bench.sound.fan.pipe.field("sound_in_pipe"), "15")
    assert out_of_the_pipe() == pytest.approx(before + 5.0)
    bench.sound.fan.switch.click()
    assert bench.sound.fan.pipe.isVisible()


def test_a_place_is_added_picked_and_removed(bench: Running) -> None:
    QTest.mouseClick(bench.sound.add_button, Qt.MouseButton.LeftButton)
    assert len(bench.design.house.listeners) == 3
    assert bench.sound.rows.at() == 2
    assert bench.sound.listener() == bench.design.house.listeners[2]
    QTest.mouseClick(bench.sound.remove_button, Qt.MouseButton.LeftButton)
    assert bench.design.house.listeners == (BED, TERRACE)
    assert bench.sound.rows.at() == 1
    for _ in range(2):
        bench.sound.remove_button.click()
    assert bench.design.house.listeners == ()
    assert bench.sound.none.isVisible()
    assert not bench.sound.form.isVisible()
    bench.document.undo()
    assert bench.sound.form.isVisible()


def test_rows_are_walked_by_keyboard(bench: Running) -> None:
    first, second = bench.sound.rows.rows
    first.setFocus()
    QTest.keyClick(first, KEY.Key_Down)
    assert second.hasFocus()
    assert bench.sound.form.field("name").value() == "Terrace"
    QTest.keyClick(second, KEY.Key_Up)
    assert bench.sound.form.field("name").value() == "Bed"


def test_only_what_bears_on_the_way_is_asked(bench: Running) -> None:
    form = bench.sound.form
    assert form.field("insulation").isVisible()
    assert not form.field("partition").isVisible()
    bench.sound.pick(("house", "listeners", 1))
    assert not form.field("insulation").isVisible()
    assert not form.field("limit_source").isVisible()


def test_a_partition_is_chosen_with_its_source(bench: Running) -> None:
    form = bench.sound.form
    between = form.field("between")
    between.set_value("partition")
    between.committed.emit("partition")
    listener = bench.design.house.listeners[0]
    assert listener.between == "partition"
    assert listener.partition == "drywall on wood studs"
    assert form.field("partition_area").isVisible()
    assert "Springer Handbook of Acoustics" in bench.sound.source.text()
    window = "open window, difference of levels"
    form.field("partition").set_value(window)
    form.field("partition").committed.emit(window)
    assert bench.design.house.listeners[0].partition == window
    # a whole difference of levels: no area, no room
    assert not form.field("partition_area").isVisible()


def test_limits_are_offered_with_whose_they_are(bench: Running) -> None:
    bench.sound.offered.committed.emit("outside_night")
    listener = bench.design.house.listeners[0]
    assert (listener.limit, listener.limit_source) == (40.0, "WHO, Night Noise Guidelines for Europe, 2009")
    bench.sound.offered.committed.emit("none")
    assert bench.design.house.listeners[0].limit is None
    bench.sound.offered.committed.emit("own")
    type_into(bench.sound.form.field("limit"), "20")
    assert bench.heard(0).verdict_words().endswith("20 dB(A) at most, own figure")
    assert bench.heard(0).verdict_words().startswith(("uncertain", "too loud"))
    assert bench.sound.offered.value() == "own"


def test_a_refused_entry_is_said_beside_its_field_and_the_answer_is_greyed(bench: Running) -> None:
    name = bench.sound.form.field("name")
    name.committed.emit("")
    assert name.fault() == "Must not be empty."
    assert bench.heard(0).stale
    type_into(name, "Bunk")
    assert name.fault() == ""
    assert not bench.heard(0).stale
    assert bench.design.house.listeners[0].name == "Bunk"


def test_octave_bands_start_from_the_one_level_and_take_pasted_cells(bench: Running) -> None:
    before = [heard.level for heard in bench.document.outcome.sound]
    bench.sound.fan.switch.click()
    fan = bench.design.chosen_fan
    assert fan is not None
    assert fan.sound_bands is not None
    # to a tenth of a decibel the same sound
    assert [heard.level for heard in bench.document.outcome.sound] == pytest.approx(before, abs=0.06)
    assert bench.sound.fan.bands.isVisible()
    QGuiApplication.clipboard().setText("62\t62\t60\t56\t51\t45\t41\t36")
    line = bench.sound.fan.bands.bands[0].control()
    line.setFocus()
    QTest.keySequence(line, "Ctrl+V")
    changed = bench.design.chosen_fan
    assert changed is not None
    assert changed.sound_bands == LEVELS
    type_into(bench.sound.fan.bands.bands[3], "58,5")
    assert bench.design.fans[bench.design.fans.index(bench.design.chosen_fan)].sound_bands[3] == 58.5  # type: ignore[index]
    bench.document.undo()
    assert bench.sound.fan.bands.bands[3].value() == 56.0
    bench.sound.fan.switch.click()
    assert bench.design.chosen_fan is not None
    assert bench.design.chosen_fan.sound_bands is None


@pytest.mark.parametrize(
    ("text", "levels"),
    [
        ("62 62 60 56 51 45 41 36", LEVELS),
        ("62\n62\n60\n56\n51\n45\n41\n36\n", LEVELS),
        ("62,0;62,0;60,0;56,0;51,0;45,0;41,0;36,0", LEVELS),
        ("63 Hz\t62\n125 Hz\t62\n250 Hz\t60\n500 Hz\t56\n1 kHz\t51\n2 kHz\t45\n4000 Hz\t41\n8 kHz\t36 dB", LEVELS),
        ("62 62 60", None),
        ("a b c d e f g h", None),
        ("", None),
    ],
)
def test_copied_levels(text: str, levels: tuple[float, ...] | None) -> None:
    if levels is None:
        with pytest.raises(BlockError):
            read_levels(text, Told())
        return
    block = read_levels(text, Told())
    assert (levels_of(block), block.guesses) == (levels, ())


def test_a_clipboard_without_levels_is_said(bench: Running) -> None:
    bench.sound.fan.switch.click()
    QGuiApplication.clipboard().setText("nothing here")
    bench.sound.fan.paste.click()
    assert bench.sound.fan.said.text().startswith("The clipboard does not contain eight levels.")


# --- year -----------------------------------------------------------------------------------------------------------


def test_the_year_says_what_matters_more(bench: Running) -> None:
    year = bench.document.outcome.year
    assert year is not None
    # 42.4 and 61.4 are 103.9: what is left over falls to the house air, which is known least
    air = round(year.cost) - round(year.fan_cost)
    assert abs(air - year.house_air_cost) < 1.0
    assert bench.year.sentence.text() == (
        f"Conditioned house air costs more than the fan: {air} of {year.cost:.0f} EUR."
    )
    assert bench.year.total.text() == f"{year.cost:.0f} EUR a year at this speed"
    rows = bench.year.table.text().splitlines()
    assert [row.split(" | ")[0] for row in rows] == ["Fan, electricity", "House air, heating", "Total"]
    low, high = year.cost_band
    assert rows[-1].endswith(f"{low:.0f} to {high:.0f} EUR")
    low, high = year.heat_band
    heat = year.heat_energy
    used = round(year.fan_energy + heat) - round(year.fan_energy)
    assert rows[1] == f"House air, heating | {used} kWh | {air} EUR | {low:.0f} to {high:.0f} kWh"
    for column in (1, 2):
        fan, heating, total = (int(row.split(" | ")[column].split()[0]) for row in rows[:3])
        assert fan + heating == total


def test_prices_and_factors_are_typed(bench: Running) -> None:
    before = bench.document.outcome.year
    assert before is not None
    type_into(bench.year.prices.field("electricity"), "0.62")
    after = bench.document.outcome.year
    assert after is not None
    assert after.fan_cost == pytest.approx(before.fan_energy * 0.62)
    type_into(bench.year.prices.field("electricity_co2"), "0.4")
    assert "CO₂ of electricity alone" in bench.year.table.text()
    type_into(bench.year.prices.field("heat_co2"), "0.2")
    assert "CO₂ | " in bench.year.table.text()
    type_into(bench.year.prices.field("currency"), "CHF")
    assert bench.year.total.text().endswith("CHF a year at this speed")


def test_a_share_outside_its_band_is_refused_and_kept(bench: Running) -> None:
    share = bench.year.share.field("house_air_share")
    type_into(share, "95")
    assert "must be between its low and high values" in share.fault()
    assert bench.design.house.house_air_share == 0.5
    assert not bench.year.total.isEnabled()
    type_into(bench.year.share.field("house_air_most"), "100")
    type_into(share, "94")
    assert share.fault() == ""
    assert bench.design.house.house_air_share == 0.94


def test_the_entered_share_hides_while_the_floor_tells(qtbot: QtBot) -> None:
    bench = Running(qtbot, load_scene("studio"))
    assert not bench.year.share.isVisible()
    bench.year.from_floor.control().click()  # type: ignore[attr-defined]
    assert bench.design.house.share_from_floor is False
    assert bench.year.share.isVisible()
    assert "which nothing measured" in bench.year.share_words.text()
    type_into(bench.year.share.field("house_air_share"), "40")
    assert "40 % of the exhaust is house air (30 % to 90 %)" in bench.year.share_words.text()
    assert "as entered" in bench.year.share_words.text()
    bench.document.undo()
    bench.document.undo()
    assert not bench.year.share.isVisible()


def test_the_words_tell_what_the_house_would_lose_anyway(bench: Running) -> None:
    def litres(flow: float) -> str:
        return format_quantity(flow, "flow", SI)

    def told() -> str:
        year = bench.document.outcome.year
        assert year is not None
        low, high = year.added_air_band
        words = bench.year.share_words.text()
        assert litres(year.house_air) in words
        assert f"{litres(year.added_air)} of it ({litres(low)} to {litres(high)}) is added" in words
        return words

    assert "The leakage of the house is not known" in told()
    before = bench.document.outcome.year
    type_into(bench.year.leaks.field("leakage_area"), "600")
    assert bench.design.house.leakage_area == pytest.approx(0.06)
    assert "in quadrature" in told()
    assert "not known" not in told()
    after = bench.document.outcome.year
    assert before is not None
    assert after is not None
    assert after.added_air < before.added_air
    type_into(bench.year.leaks.field("steady_exhaust"), "60")
    beside = bench.document.outcome.year
    assert beside is not None
    assert beside.added_air > after.added_air
    type_into(bench.year.house.field("heating_season"), "150")
    assert bench.design.house.heating_season == 150.0 * 86400.0
    told()


def test_weather_by_the_hour(bench: Running, tmp_path: Path) -> None:
    path = tmp_path / "hollow.epw"
    path.write_bytes(invented_weather.text(invented_weather.rows()).encode())
    assert bench.year.house.field("heating_degree_days").isVisible()
    assert not bench.year.months.isVisible()
    bench.year.weather.take(path)
    assert bench.year.weather.said.text().startswith("Invented Hollow, Nowhere: 8760 hours.")
    assert not bench.year.house.field("heating_degree_days").isVisible()
    assert not bench.year.house.field("heating_season").isVisible()
    assert bench.year.months.isVisible()
    assert "Jan" in bench.year.months.accessibleDescription()
    type_into(bench.year.house.field("cooling_above"), "16 °C")
    assert "House air, cooling" in bench.year.table.text()
    type_into(bench.year.house.field("cooling_above"), "10 °C")
    assert "cooling must begin at or above" in bench.year.house.field("cooling_above").fault().lower()


def test_a_bad_weather_file_is_said_where_it_is_entered(bench: Running, tmp_path: Path) -> None:
    bench.year.weather.take(tmp_path / "gone.epw")
    assert "cannot be read" in bench.year.weather.fault.text()
    assert bench.year.weather.fault.isVisible()
    assert bench.year.weather.said.text() == "The year is calculated by degree-days."
    bench.document.undo()
    assert not bench.year.weather.fault.isVisible()


def test_without_a_fan_there_is_no_year(bench: Running) -> None:
    bench.document.propose(lambda design: with_value(design, ("fan",), None), "Select no fan")
    assert bench.year.total.text() == "No operating point: nothing to calculate."
    assert bench.year.table.text() == ""
    assert bench.heard(0).level() == "no fan is selected"


@pytest.mark.parametrize(("value", "above"), [(0.0, 1.0), (1.0, 1.0), (1.1, 1.5), (87.0, 100.0), (0.011, 0.015)])
def test_scales_are_round(value: float, above: float) -> None:
    assert round_above(value) == pytest.approx(above)


# --- sealing --------------------------------------------------------------------------------------------------------


def test_cracks_are_added_typed_and_priced(bench: Running) -> None:
    assert "No cracks listed" in bench.sealing.total.text()
    bench.sealing.add_button.click()
    type_into(bench.sealing.form.field("width"), "2 mm")
    type_into(bench.sealing.form.field("length"), "3 m")
    type_into(bench.sealing.form.field("suction"), "4")
    crack = bench.design.house.cracks[0]
    assert (crack.width, crack.length, crack.suction) == (0.002, 3.0, 4.0)
    row = bench.cracked(0)
    assert row.opening() == "2.0 mm wide, 3.00 m long"
    assert "of the exhaust" in row.flow()
    assert row.saved().endswith("EUR")
    sealed = sealed_together(bench.document.prepared, bench.document.outcome)
    low, high = sealed.money_band
    assert bench.sealing.total.text().startswith(
        f"All sealed: {format_quantity(sealed.flow, 'flow', SI)} less house air drawn, {sealed.energy:.0f} kWh and "
        f"{sealed.money:.0f} ({low:.0f} to {high:.0f}) EUR a year saved"
    )
    assert low < sealed.money < high
    bench.sealing.add_button.click()
    assert [crack.name for crack in bench.design.house.cracks] == ["Wall joint", "Wall joint 2"]
    assert bench.sealing.rows.at() == 1
    bench.sealing.remove_button.click()
    bench.sealing.remove_button.click()
    assert bench.design.house.cracks == ()


def test_more_air_than_there_is_is_doubted(bench: Running) -> None:
    wide = Crack(name="Gap", width=0.01, length=10.0, suction=50.0)
    bench.document.propose(lambda design: with_value(design, ("house", "cracks"), (wide,)), "Add a crack")
    assert "more than all the house air calculated" in bench.sealing.total.text()


def test_the_caution_of_the_coins_edge_is_in_the_readers_units(bench: Running) -> None:
    assert "about 1.3 mm" in bench.sealing.caution.text()
    bench.page.set_system(US)
    assert "about 0.051 in" in bench.sealing.caution.text()


def test_without_a_floor_it_is_said_what_is_lacking(bench: Running) -> None:
    bench.sealing.add_button.click()
    assert not bench.sealing.slow_button.isEnabled()
    assert "With a floor plan" in bench.sealing.slow_words.text()


def test_how_far_the_fan_could_be_slowed_is_reckoned_beside_the_window(qtbot: QtBot) -> None:
    design = load_scene("studio")
    crack = Crack(name="Joint", width=0.0011, length=3.0, suction=6.0)
    bench = Running(qtbot, with_value(design, ("house", "cracks"), (crack,)))
    assert bench.sealing.slow_button.isEnabled()
    bench.sealing.slow_button.click()
    assert bench.sealing.slow_words.text().startswith("Calculating")
    qtbot.waitUntil(lambda: "of full speed" in bench.sealing.slow_words.text(), timeout=20000)
    assert "voids the last radon test" in bench.sealing.slow_words.text()
    assert bench.sealing.slow_words.isEnabled()
    assert bench.sealing.slow_button.isEnabled()
    bench.document.propose(lambda d: with_value(d, ("house", "cracks", 0, "width"), 0.0012), "Wider")
    assert not bench.sealing.slow_words.isEnabled()


# --- the page -------------------------------------------------------------------------------------------------------


def test_the_page_speaks_inch_pound(bench: Running) -> None:
    bench.page.set_system(US)
    assert bench.sound.form.field("distance").text() == "9.843"  # type: ignore[attr-defined]
    type_into(bench.sound.form.field("distance"), "10")
    assert bench.design.house.listeners[0].distance == pytest.approx(3.048)
    assert "cfm" in bench.year.share_words.text()
    bench.page.set_system(SI)
    assert "L/s" in bench.year.share_words.text()


def test_parts_are_brought_into_sight(bench: Running) -> None:
    bench.document.propose(lambda d: with_value(d, ("house", "cracks"), (Crack(name="A"), Crack(name="B"))), "Cracks")
    bench.page.pick(("house", "listeners", 1))
    assert bench.sound.rows.at() == 1
    bench.page.pick(("house", "cracks", 1))
    assert bench.sealing.crack() == bench.design.house.cracks[1]
    bench.page.pick(("house", "house_air_share"))
    assert bench.year.share.field("house_air_share").control().hasFocus()
    bench.page.pick(("place", "weather"))
    assert bench.year.weather.path.field("weather").control().hasFocus()


def test_it_paints_in_both_themes(bench: Running) -> None:
    pictures = []
    for theme in (LIGHT, DARK):
        bench.page.apply_theme(theme)
        pictures.append(bench.page.grab().toImage())
    assert pictures[0] != pictures[1]
    bench.page.show_faults([])


def test_a_drag_moves_the_figures_and_leaves_the_fields(bench: Running) -> None:
    field = bench.sound.form.field("distance").control()
    assert isinstance(field, QLineEdit)
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, "7")
    before = bench.heard(0).level()
    bench.document.propose(lambda design: with_value(design, ("speed",), 0.45), "Change speed", gesture="drag")
    assert bench.heard(0).level() != before
    assert field.text() == "7"
    assert field.hasFocus()


def test_notices_lead_to_the_page_where_they_are_mended(qtbot: QtBot) -> None:
    design = load_scene("studio")
    cracked = with_value(design, ("house", "cracks"), (Crack(name="Joint"),))
    window = MainWindow(Document(cracked), Settings(None), ThemeKeeper(application(), "light"))
    qtbot.addWidget(window)
    for address, title in (
        (("house", "listeners", 1), "Noise and running cost"),
        (("house", "cracks", 0), "Noise and running cost"),
        (("house", "house_air_share"), "Noise and running cost"),
        (("place", "weather"), "Noise and running cost"),
        (("rules", "rules", 0), "Condensate and code check"),
        (("entered", 0), "Condensate and code check"),
        (("house", "leakage_area"), "Condensate and code check"),
        (("house",), "Cross-section and curves"),
    ):
        window.show_part(address)
        assert window.pages.current == title
    titles = window.pages.titles
    assert (
        titles.index("Pressure field")
        < titles.index("Noise and running cost")
        < titles.index("Condensate and code check")
        < titles.index("Fans")
    )
    page = window.pages.page("Noise and running cost")
    assert page.sound.rows.at() == 1
    type_into(page.sound.form.field("distance"), "9 m")
    assert window.document.design.house.listeners[1].distance == 9.0


def test_what_sealing_allows_is_told_before_and_after(qtbot: QtBot) -> None:
    """Else the speed and the year of today are promised for the sealed floor."""
    crack = Crack(name="Joint", width=0.0011, length=3.0, suction=6.0)
    bench = Running(qtbot, with_value(load_scene("studio"), ("house", "cracks"), (crack,)))
    year = bench.document.outcome.year
    assert year is not None
    dear, cheap = (replace(year, fan_cost=cost, house_air_cost=0.0) for cost in (150.0, 90.0))
    bench.sealing._answered(Slowed(0.8, 0.72, 0.51, dear, cheap))
    told = bench.sealing.slow_words.text()
    assert "With 80 % of the slab's leakage left" in told
    assert "the target is met from 51.0 % of full speed; without sealing from 72.0 %." in told
    assert "The year at those speeds: 90 in place of 150 EUR." in told
    bench.sealing._answered(Slowed(0.8, None, 0.51, None, cheap))
    assert "without sealing no speed meets the target" in bench.sealing.slow_words.text()
    bench.sealing._answered(Slowed(0.8, 0.72, None, dear, None))
    assert "no speed of this fan meets the target" in bench.sealing.slow_words.text()


def test_hum_is_spoken_of_under_phase_cut_control_alone(bench: Running) -> None:
    assert bench.design.chosen_fan is not None
    for control in ("ec", "phase-cut"):
        fan = bench.design.chosen_fan.model_copy(update={"control": control})
        bench.document.propose(lambda design, fan=fan: replace_fan(design, fan.name, fan), "Change the control")
        assert ("hum under phase-cut" in bench.sound.said.text()) == (control == "phase-cut")
