"""Rows in the making: what they say as texts, and when they become a curve. No window is needed."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from workbench.design import FanPoint, FanRecord, FanTable
from workbench.gui.fans.draft import (
    BLANK,
    BLANK_ROW,
    Draft,
    Row,
    curve_at,
    fan_change,
    in_unit,
    read,
    rows_of,
    starter_fan,
    typed,
    with_curves,
    without_curve,
    written,
)

UNITS = {"flow": "L/s", "pressure": "Pa", "power": "W"}


def row(flow: str, pressure: str, power: str = "") -> Row:
    return typed("flow", flow, "L/s"), typed("pressure", pressure, "Pa"), typed("power", power, "W")


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("20", "L/s", 0.02),
        ("20,5", "L/s", 0.0205),
        ("2e1", "m³/h", 20 / 3600),
        ("1 1/2", "L/s", 0.0015),
        # NIST SP 811, appendix B.8: 1 cfm = 4.719 474 E-04 m3/s
        ("100", "cfm", 0.04719474),
        ("100 cfm", "m³/h", 0.04719474),
        ("−3", "L/s", -0.003),
    ],
)
def test_text_in_a_cell(text: str, unit: str, value: float) -> None:
    entry = typed("flow", text, unit)
    assert entry.value == pytest.approx(value, rel=2e-7)
    assert entry.text == text


def test_an_exponent_is_not_taken_for_a_unit() -> None:
    # a bare number with an exponent stands in the column's unit, as any other
    assert typed("pressure", "1e1", "kPa").value == 10_000.0


@given(st.floats(1e-6, 5.0), st.sampled_from(["L/s", "m³/h", "m³/s", "cfm"]), st.sampled_from(["L/s", "m³/h", "cfm"]))
def test_units_switched_back_and_forth_keep_the_value(flow: float, one: str, other: str) -> None:
    entry = written("flow", flow, one)
    for unit in (other, one, other, one):
        entry = in_unit("flow", entry, unit)
    assert entry.value == flow
    assert entry == written("flow", flow, one)


def test_a_value_is_shown_as_it_was_typed_or_to_four_figures() -> None:
    assert written("flow", 0.0123456, "L/s").text == "12.3456"
    assert written("flow", 0.0123456, "cfm").text == "26.16"
    assert written("power", None, "W") == BLANK


def test_faults_of_several_rows_are_all_said() -> None:
    reading = read([row("0", "200"), row("x", "150"), row("10", ""), row("10", "100"), row("10", "90")], 1.0, UNITS)
    assert reading.curve is None
    assert [note.rows for note in reading.faults] == [(1,), (2,), (4,)]
    assert reading.faults[1].waiting
    assert reading.faults[2].text == "Row 5 repeats the flow of row 4; each flow may appear only once."


def test_blank_rows_do_not_count() -> None:
    reading = read([BLANK_ROW, row("0", "200"), BLANK_ROW, row("10", "0"), BLANK_ROW], 0.5, UNITS)
    assert reading.rows == (1, 3)
    assert reading.curve == FanTable(
        speed=0.5, points=(FanPoint(flow=0.0, pressure=200.0), FanPoint(flow=0.01, pressure=0.0))
    )
    again = read([BLANK_ROW, row("5", "200"), BLANK_ROW, row("5", "0")], 0.5, UNITS).faults
    assert [(note.rows, note.text, note.waiting) for note in again] == [
        ((3,), "Row 4 repeats the flow of row 2; each flow may appear only once.", False)
    ]
    bare = [BLANK_ROW, row("0", "200"), BLANK_ROW, row("5", "90"), row("9", "0", "20")]
    assert [(note.rows, note.text, note.waiting) for note in read(bare, 0.5, UNITS).faults] == [
        ((1, 3), "Power is missing in row 2, 4; give it in every row or in none.", True)
    ]


def test_a_draft_outlives_what_does_not_touch_it() -> None:
    fan = starter_fan()
    table = curve_at(fan, 1.0)
    assert table is not None
    broken = Draft((*rows_of(table.points, UNITS), row("x", "")), dict(UNITS), table)
    assert broken.rebased(table, 1.0) is broken
    other = FanTable(points=(FanPoint(flow=0.0, pressure=90.0), FanPoint(flow=0.04, pressure=0.0)))
    assert broken.rebased(other, 1.0) is None
    good = Draft(rows_of(other.points, UNITS), dict(UNITS), table)
    taken = good.rebased(other, 1.0)
    assert taken is not None
    assert taken.base == other


def test_curves_come_and_go_in_order_of_speed() -> None:
    fan = starter_fan()
    slow = FanTable(speed=0.6, points=(FanPoint(flow=0.0, pressure=30.0), FanPoint(flow=0.03, pressure=0.0)))
    both = with_curves(fan, [slow])
    assert [table.speed for table in both.curves] == [0.6, 1.0]
    assert without_curve(both, 0.6) == fan
    with pytest.raises(ValidationError, match="full speed"):
        without_curve(both, 1.0)
    powered = FanTable(points=tuple(p.model_copy(update={"power": 20.0}) for p in fan.full.points))
    with pytest.raises(ValidationError, match="every measured speed"):
        with_curves(both, [powered])


def test_the_starter_says_what_it_is() -> None:
    fan = starter_fan()
    assert fan.invented
    assert "placeholder points" in fan.note
    assert (fan.control, fan.lowest_speed) == ("none", 1.0)


def test_a_change_of_a_fan_that_is_gone_is_refused() -> None:
    def same(fan: FanRecord) -> FanRecord:
        return fan

    from workbench.design.blank import blank_design

    with pytest.raises(ValueError, match="no fan called 'Gone'"):
        fan_change("Gone", same)(blank_design())
