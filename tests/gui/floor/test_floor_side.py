"""Target, season and chance beside the floor, used as a person uses them, with a document behind them."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QComboBox, QLineEdit, QScrollArea
from pytestqt.qtbot import QtBot

from tests.files import invented_weather
from tests.floors import FAN, OUTLINE, job, slab, three, unplaced, untested
from tests.floors import hole as a_hole
from tests.gui.bench import Bench
from tests.gui.hand import Hand
from workbench.design import Design
from workbench.design.record import with_value
from workbench.design.slab import Target, WorstDay, Zone
from workbench.design.targets import target_kind_of, target_kinds
from workbench.files.scenes import load_scene
from workbench.gui.floor.chance_panel import in_words
from workbench.gui.floor.side import CHANCE, HOLES, SEASON, TARGET, FloorSide
from workbench.gui.kit.forms import RecordForm
from workbench.gui.kit.theme import DARK, SHAPES
from workbench.gui.shell.readouts import answers_of
from workbench.gui.window import FLOOR
from workbench.solving.report.helps import Help
from workbench.solving.run.lowest import Lowest
from workbench.solving.site.draws import REST_SAMPLES
from workbench.solving.site.fit import Varied
from workbench.units import CUSTOM, SI, US, format_chance, format_quantity, system_of

pytestmark = pytest.mark.qt_log_ignore("^This plugin does not support", extend=True)

KEY = Qt.Key


INCHES = system_of(CUSTOM, {"hole_pressure": "in. w.c."}, US)


class Side:
    def __init__(self, qtbot: QtBot, design: Design) -> None:
        self.side = FloorSide()
        qtbot.addWidget(self.side)
        self.bench = Bench(self.side, design)
        self.side.resize(430, 560)
        self.side.show()
        qtbot.waitExposed(self.side)

    @property
    def design(self) -> Design:
        return self.bench.design

    def turn(self, title: str) -> None:
        self.side.turn_to(title)
        self.bench.settle()

    def set_speed(self, speed: float) -> None:
        self.bench.document.propose(lambda design: with_value(design, ("speed",), speed), "Change speed")


@pytest.fixture
def side(qtbot: QtBot) -> Side:
    return Side(qtbot, job(three(), floor=slab(), target=Target(suction=5.0, source="own figure"), speed=0.6))


@pytest.fixture
def weak(qtbot: QtBot) -> Side:
    stronger = FAN.model_copy(update={"name": "Other", "arrangement": "single"})
    design = job(unplaced(three()), target=Target(suction=12.0, source="own figure"), speed=0.6)
    return Side(qtbot, design.model_copy(update={"fans": (FAN, stronger)}))


def choose(box: QComboBox, words: str) -> None:
    """Pick an entry as a hand does."""
    index = next(i for i in range(box.count()) if words in box.itemText(i))
    box.setCurrentIndex(index)
    box.activated.emit(index)


def test_tabs_turn_by_address_and_by_hand(side: Side) -> None:
    for address, title in ((("target",), TARGET), (("worst_day",), TARGET), (("holes", 1), HOLES)):
        side.side.pick(address)
        assert side.side.current == title
    assert side.side.holes.hole() == 1
    side.turn(CHANCE)
    assert side.side.chance.chance.text() != "–"


# --- target and worst day ---


def test_the_cell_of_the_hand_is_kept_in_sight(side: Side, qtbot: QtBot) -> None:
    side.side.resize(430, 240)
    table, model = side.side.holes.table, side.side.holes.model
    model.open_all(True)
    area = side.side._stack.widget(0)
    assert isinstance(area, QScrollArea)

    def seen() -> bool:
        box = table.visualRect(table.currentIndex())
        return area.viewport().rect().contains(box.translated(table.viewport().mapTo(area.viewport(), QPoint(0, 0))))

    for row in (model.rowCount() - 1, 0):
        table.go_to(row, 0)
        qtbot.waitUntil(seen)


def test_a_target_is_chosen_with_its_source_and_condition(side: Side) -> None:
    side.turn(TARGET)
    panel = side.side.target
    choose(panel.whose.control(), "SGM-SF")  # type: ignore[arg-type]
    assert side.design.target.suction == 1.0
    assert "SGM-SF" in side.design.target.source
    assert side.design.target.chance == 0.9
    assert "running" in panel.condition.text()
    side.bench.document.undo()
    assert side.design.target.suction == 5.0
    assert "own" in panel.condition.text()


def test_every_offered_target_is_for_holes_and_found_again(side: Side) -> None:
    offered = [kind for kind in target_kinds().values() if kind.where != "suction point"]
    box = side.side.target.whose.control()
    assert isinstance(box, QComboBox)
    assert box.count() == len(offered) + 1
    for kind in offered:
        assert target_kind_of(kind.value, kind.credit) == kind
    assert target_kind_of(3.3, "mine") is None
    assert target_kind_of(1.0, Target().source) == target_kinds()["running"]


def test_an_own_figure_is_typed_in_any_unit_and_nonsense_is_refused_beside_its_field(side: Side) -> None:
    field = side.side.target.target.field("suction")
    editor = field.control()
    editor.selectAll()
    QTest.keyClicks(editor, "0.03 in. w.c.")
    QTest.keyClick(editor, KEY.Key_Return)
    assert side.design.target.suction == pytest.approx(0.03 * 249.08891)
    editor.selectAll()
    QTest.keyClicks(editor, "plenty")
    QTest.keyClick(editor, KEY.Key_Return)
    assert "not a number" in field.fault()
    assert side.design.target.suction == pytest.approx(0.03 * 249.08891)


def test_the_worst_day_is_typed_and_told(side: Side) -> None:
    side.turn(TARGET)
    panel = side.side.target
    before = panel.taken.text()
    editor = panel.worst.field("exhausts").control()
    editor.selectAll()
    QTest.keyClicks(editor, "6")
    QTest.keyClick(editor, KEY.Key_Return)
    assert side.design.worst_day.exhausts == 6.0
    assert panel.taken.text() != before
    assert "6.0 Pa by exhausts" in panel.taken.text()
    side.side.set_system(INCHES)
    assert "in. w.c." in panel.taken.text()
    side.side.set_system(US)
    assert " Pa below outdoors" in panel.taken.text()


def test_the_exhaust_test_is_typed_and_what_is_empty_is_called_not_measured(side: Side) -> None:
    side.turn(TARGET)
    panel = side.side.target
    assert "not measured, an allowance with a wide band" in panel.taken.text()
    assert panel.tested.text().startswith("Not measured")

    def enter(form: RecordForm, name: str, text: str) -> None:
        editor = form.field(name).control()
        assert isinstance(editor, QLineEdit)
        editor.selectAll()
        QTest.keyClick(editor, KEY.Key_Delete)
        QTest.keyClicks(editor, text)
        QTest.keyClick(editor, KEY.Key_Return)

    for form, name in ((panel.worst, "exhausts"), (panel.test, "tested_draw_down")):
        editor = form.field(name).control()
        assert isinstance(editor, QLineEdit)
        assert (editor.text(), editor.placeholderText()) == ("", "not measured")
    enter(panel.test, "tested_draw_down", "4")
    enter(panel.test, "tested_where", "hall, doors shut, hood and dryer on")
    worst = side.design.worst_day
    assert (worst.tested_draw_down, worst.exhausts) == (4.0, None)
    assert worst.tested_where == "hall, doors shut, hood and dryer on"
    assert "4.0 Pa by exhausts, as in the exhaust test" in panel.taken.text()
    assert panel.tested.text().startswith("The change was not read at Near, Middle, Far.")
    enter(panel.worst, "exhausts", "6")
    assert "6.0 Pa by exhausts, as entered" in panel.taken.text()
    # a blank takes it back
    enter(panel.worst, "exhausts", "")
    enter(panel.test, "tested_draw_down", "")
    assert (side.design.worst_day.exhausts, side.design.worst_day.tested_draw_down) == (None, None)
    assert "not measured, an allowance" in panel.taken.text()


@pytest.mark.parametrize(
    ("tested", "lost", "told"),
    [
        (4.0, -1.0, "4.0 Pa by exhausts, as in the exhaust test"),
        (1.0, -3.0, "3.0 Pa by exhausts, as much as a hole lost in the exhaust test"),
    ],
)
def test_what_the_exhausts_rest_on_is_told(qtbot: QtBot, tested: float, lost: float, told: str) -> None:
    """No hole loses more than the house: where one was read to, that is what is reckoned with, and said."""
    holes = (three()[0].model_copy(update={"exhausts": lost}), *three()[1:])
    side = Side(qtbot, job(unplaced(holes), worst_day=WorstDay(tested_draw_down=tested)))
    side.turn(TARGET)
    assert told + ";" in side.side.target.taken.text()


def test_a_chance_beyond_its_limits_is_refused_and_the_last_stays(side: Side) -> None:
    field = side.side.target.target.field("chance")
    editor = field.control()
    editor.selectAll()
    QTest.keyClicks(editor, "100")
    QTest.keyClick(editor, KEY.Key_Return)
    assert field.fault()
    assert side.design.target.chance == 0.9


# --- season ---


def test_held_in_june_is_answered_for_january_in_one_sentence(side: Side) -> None:
    side.turn(SEASON)
    said = side.side.season.sentence.text()
    assert said.count(".") >= 1
    assert said.startswith("At Far, ")
    assert "with every exhaust on" in said
    holding = side.bench.document.outcome.holding
    assert holding is not None
    assert (f"{format_quantity(holding.margin, 'hole_pressure', SI)} above" in said) == (holding.margin >= 0.0)
    answer = side.side.season.answer
    assert answer is not None
    far = answer.turned.at(side.design.worst_day.outdoor_temperature, exhausts=True)[2]
    assert far == pytest.approx(holding.holes[2].worst, rel=0.01)


def test_the_season_greys_while_the_speed_moves_and_follows_when_it_rests(side: Side, qtbot: QtBot) -> None:
    side.turn(SEASON)
    panel = side.side.season
    before = panel.sentence.text()
    side.set_speed(0.9)
    assert panel.stale()
    assert panel.sentence.text() == before
    qtbot.waitUntil(lambda: not panel.stale(), timeout=3000)
    assert panel.sentence.text() != before


def test_a_year_of_hours_is_gone_through(side: Side, tmp_path: Path) -> None:
    path = tmp_path / "year.epw"
    path.write_text(invented_weather.text(invented_weather.rows()), newline="")
    side.turn(SEASON)
    panel = side.side.season
    assert not panel.strip.isVisible()
    panel.take_weather(path)
    side.bench.settle()
    assert side.design.place.weather == str(path)
    assert panel.strip.isVisible()
    assert panel.answer is not None
    assert panel.answer.year is not None
    # the invented year is coldest in the middle of January
    assert panel.answer.cold[0] == "January"
    assert panel.answer.warm[0] == "July"
    assert "January" in panel.sentence.text()
    assert "8760 hours" in panel.weather_words.text()
    quiet, loud = panel.answer.year
    assert loud.share <= quiet.share
    side.bench.document.undo()
    side.bench.settle()
    assert not panel.strip.isVisible()


def test_a_weather_file_that_is_none_is_told_and_done_without(side: Side, tmp_path: Path) -> None:
    path = tmp_path / "year.epw"
    path.write_text("no weather")
    side.turn(SEASON)
    side.side.season.take_weather(path)
    side.bench.settle()
    assert "cannot be read" in side.side.season.weather_words.text()
    assert side.side.season.answer is not None


def test_without_a_hole_the_season_says_what_it_lacks(qtbot: QtBot) -> None:
    side = Side(qtbot, job([]))
    side.turn(SEASON)
    assert "Enter test-hole readings" in side.side.season.sentence.text()
    side.turn(CHANCE)
    assert side.side.chance.chance.text() == "–"
    assert not side.side.chance.ask_button.isEnabled()


# --- chance ---


def test_the_chance_is_large_with_its_words_and_refined_at_rest(side: Side) -> None:
    side.turn(CHANCE)
    panel = side.side.chance
    holding = side.bench.document.prepared.holding(0.6, REST_SAMPLES)
    assert holding is not None
    assert holding.chance is not None
    assert panel.chance.text() == format_chance(holding.chance)
    assert SHAPES[holding.verdict] in panel.verdict.text()
    assert "Far" in panel.margin.text()
    rows = panel.shares.rows()
    assert 1 <= len(rows) <= 3
    assert [share for _, _, share in rows] == sorted((share for _, _, share in rows), reverse=True)


def test_more_speed_turns_the_words(weak: Side) -> None:
    weak.turn(CHANCE)
    said = []
    for speed in (0.3, 1.0):
        weak.set_speed(speed)
        weak.bench.settle()
        said.append(weak.side.chance.verdict.text())
    assert "below target" in said[0].lower()
    assert said[0] != said[1]


def test_what_it_hangs_on_is_told_in_the_words_of_the_trade() -> None:
    assert in_words(Varied("hole", "C")) == ("uneven fill near C", "another reading at C would reduce it")
    assert in_words(Varied("fittings"))[0] == "fitting losses"
    zone = Zone(name="Extension", outline=OUTLINE, permeability_factor=0.5)
    for design in (job(three(), untested(), floor=slab(zones=(zone,))), job(unplaced(three()))):
        from workbench.solving import prepare

        every = prepare(design).sampled(64).names
        assert every
        for varied in every:
            words, narrows = in_words(varied)
            assert words
            # nothing narrows the wind
            assert bool(narrows) == (varied.kind != "wind")
            assert varied.subject in words


def test_the_lowest_speeds_are_told_and_gone_to(side: Side) -> None:
    side.turn(CHANCE)
    lowest = side.bench.document.prepared.lowest
    assert lowest.confident is not None
    assert side.side.chance.set_button.isEnabled()
    side.side.chance.set_button.click()
    assert side.design.speed == pytest.approx(lowest.confident, abs=1.1e-3)
    assert side.design.speed >= lowest.confident
    side.bench.settle()
    assert side.bench.document.outcome.rested
    holding = side.bench.document.outcome.holding
    assert holding is not None
    assert holding.verdict == "holds"


def test_what_would_help_is_worked_out_beside_the_window_and_done(weak: Side, qtbot: QtBot) -> None:
    weak.turn(CHANCE)
    panel = weak.side.chance
    panel.ask_button.click()
    assert panel.busy()
    qtbot.waitUntil(lambda: not panel.busy(), timeout=20000)
    rows = [row for row in panel.help_rows if row.isVisible()]
    assert rows
    before = weak.bench.document.prepared.holding(1.0)
    words = rows[0].words.text()
    rows[0].button.click()
    assert weak.bench.document.undo_words == words
    after = weak.bench.document.prepared.holding(1.0)
    assert before is not None
    assert after is not None
    assert after.margin > before.margin
    # what was found was found for another design
    assert not any(row.isVisible() for row in panel.help_rows)


def test_helps_asked_for_a_design_that_changed_meanwhile_are_dropped(weak: Side, qtbot: QtBot) -> None:
    weak.turn(CHANCE)
    panel = weak.side.chance
    panel.ask_button.click()
    weak.bench.document.propose(lambda design: with_value(design, ("target", "suction"), 11.0), "Change target")
    assert not panel.busy()
    qtbot.wait(400)
    assert not any(row.isVisible() for row in panel.help_rows)
    assert panel.ask_button.isEnabled()


# --- over the rail ---


def test_the_weakest_hole_stands_over_the_rail_in_the_place_of_the_pit(side: Side, weak: Side) -> None:
    with_holes = answers_of(side.bench.document.prepared, side.bench.document.outcome, SI)
    bare = job([])
    from workbench.solving import prepare

    without = answers_of(prepare(bare), prepare(bare).at(0.6), SI)
    nothing = answers_of(prepare(job(three(), fan=None)), prepare(job(three(), fan=None)).at(0.6), SI)
    assert [a.key for a in with_holes] == [a.key for a in without] == [a.key for a in nothing]
    assert (with_holes[0].key, with_holes[0].subject) == ("verdict", "Weakest: Far")
    assert without[0].subject == "Suction at the pit"
    assert nothing[0].value == "No operating point"
    weak.set_speed(0.3)
    failing = answers_of(weak.bench.document.prepared, weak.bench.document.outcome, SI)[0]
    assert failing.verdict == "fails"
    assert failing.value.startswith("Below target: ")
    sure = answers_of(prepare(job(three(), floor=slab())), prepare(job(three(), floor=slab())).at(1.0), SI)[0]
    assert (sure.verdict, sure.value) == ("holds", "Meets target: > 99 % likely, 90 % asked")
    unread = job([a_hole("A")])
    lacking = answers_of(prepare(unread), prepare(unread).at(0.6), SI)[0]
    assert (lacking.verdict, lacking.value, lacking.subject) == (
        "not measured",
        "Not measured",
        "No test hole is known",
    )
    assert (without[0].verdict, without[0].value) == ("not measured", "Not measured: no test hole")


@pytest.mark.parametrize(
    ("chance", "words"), [(0.0, "< 1 %"), (0.714, "71 %"), (0.8975, "89 %"), (0.9, "90 %"), (1.0, "> 99 %")]
)
def test_no_chance_is_said_to_be_certain(chance: float, words: str) -> None:
    assert format_chance(chance) == words


def test_units_and_theme_reach_every_panel(side: Side) -> None:
    for title in (HOLES, TARGET, SEASON, CHANCE):
        side.turn(title)
        side.side.set_system(INCHES)
        side.side.apply_theme(DARK)
    side.turn(CHANCE)
    assert "in. w.c." in side.side.chance.margin.text()
    assert "in. w.c." in side.side.season.sentence.text()


def test_a_help_that_does_not_hold_is_not_said_to(side: Side) -> None:
    """Else a pit is dug for a house that still falls short, or a likely speed is taken for a sure one."""
    side.turn(CHANCE)
    panel = side.side.chance
    panel._forget_helps(side.bench.document.prepared)
    panel._show_helps(
        [
            Help("Sure", lambda design: design, 3.0, 4.5, Lowest(0.55, 0.65, 0.65)),
            Help("Estimated", lambda design: design, 2.0, 3.5, Lowest(0.6, None, 0.7)),
            Help("Likely", lambda design: design, 1.0, 2.5, Lowest(0.75, None, None)),
            Help("Short", lambda design: design, -2.0, 1.5, Lowest(None, None, None)),
        ]
    )
    assert [row.brings.text() for row in panel.help_rows if row.isVisible()] == [
        "+ 4.5 Pa; meets the target from 65.0 %.",
        "+ 3.5 Pa; by the estimate from 70.0 %, not measured.",
        "+ 2.5 Pa; on the best estimate meets the target from 75.0 %.",
        "+ 1.5 Pa; still short by 2.0 Pa.",
    ]


@pytest.mark.parametrize("unread", [1, 99])
def test_the_season_of_holes_that_nobody_read(qtbot: QtBot, unread: int) -> None:
    """A hole without a reading has no line; a warning of it is a failure here."""
    design = with_value(load_scene("studio"), ("slab",), None)
    for n in range(min(unread, len(design.holes))):
        design = with_value(design, ("holes", n, "readings"), ())
    hand = Hand(qtbot, design)
    hand.window.pages.turn_to(FLOOR)
    side = hand.window.pages.page(FLOOR).side
    side.turn_to(SEASON)
    hand.document.settle()
    hand.settle()
    assert not hand.window.pages._slots[FLOOR].failed
    assert side._panels[SEASON]._weakest() not in range(min(unread, len(design.holes)))
