"""Blocks of points as spreadsheets, files and data sheets give them.

The conversions are checked against NIST SP 811, appendix B.8: 1 cfm = 4.719 474 E-04 m3/s, 1 in. of water
(conventional) = 2.490 889 E+02 Pa, 1 mm of water (conventional) = 9.806 65 Pa.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbench.files.fan_table import (
    USUAL_UNITS,
    TableError,
    place_columns,
    read_block,
    read_table,
    unit_size,
    usual_unit,
)

THREE = [(0.0, 250.0, 30.0), (0.02, 243.5, 38.5), (0.084, 0.0, 45.5)]


def approx(rows: list[tuple[float, ...]]) -> list[object]:
    return [pytest.approx(row) for row in rows]


@pytest.mark.parametrize(
    "text",
    [
        "0\t250\t30\n20\t243.5\t38.5\n84\t0\t45.5",
        "0\t250\t30\r\n20\t243,5\t38,5\r\n84\t0\t45,5\r\n",
        "0;250;30\n20;243,5;38,5\n84;0;45,5\n",
        "0,250,30\n20,243.5,38.5\n84,0,45.5\n",
        "0, 250, 30\n20, 243.5, 38.5\n84, 0, 45.5",
        "0   250   30\n20  243,5 38,5\n84    0   45,5",
        "# measured in May\n0\t250\t30\n\n20\t243.5\t38.5\n84\t0\t45.5\n\n",
        "\ufeffFlow;Pressure;Power\n0;250;30\n20;243,5;38,5\n84;0;45,5\n",
        '"0","250","30"\n"20","243.5","38.5"\n"84","0","45.5"',
        '"0";"250";"30"\n"20";"243,5";"38,5"\n"84";"0";"45,5"',
        "0 L/s\t250 Pa\t30 W\n20 L/s\t243.5 Pa\t38.5 W\n84 L/s\t0 Pa\t45.5 W",
    ],
    ids=[
        "tab",
        "crlf-comma",
        "semicolon",
        "csv",
        "csv-blank",
        "blanks",
        "comment",
        "bom",
        "quoted",
        "quoted2",
        "units",
    ],
)
def test_ways_to_part_columns_and_decimals(text: str) -> None:
    assert list(read_table(text)) == approx(THREE)


@pytest.mark.parametrize(
    ("header", "row", "expected"),
    [
        ("Flow (cfm)\tStatic pressure (in. w.c.)\tPower (W)", "100\t0.5\t40", (0.04719474, 124.54445, 40.0)),
        ("CFM\tin. wg\tWatts", "100\t0.5\t40", (0.04719474, 124.54445, 40.0)),
        ("Airflow, m3/h\tPs, mm w.c.\tPower, kW", "360\t10\t0.04", (0.1, 98.0665, 40.0)),
        ("Q [m³/s]\tΔp [kPa]", "0,05\t0,25", (0.05, 250.0, None)),
        ("Volumenstrom in m³/h\tDruck in Pa\tLeistung in W", "180\t120,5\t33", (0.05, 120.5, 33.0)),
        ("Static pressure / Pa\tPower / W\tFlow / L/s", "250\t30\t20", (0.02, 250.0, 30.0)),
        (
            "No.\tFlow L/s\tPressure Pa\tSpeed rpm\tEfficiency %\tPower W",
            "1\t20\t250\t2400\t17\t30",
            (0.02, 250.0, 30.0),
        ),
        ("Flow\tPressure\tPower\nm³/h\tPa\tW", "72\t250\t30", (0.02, 250.0, 30.0)),
        ("An invented fan, airflow test\nFlow (L/s)\tPressure (Pa)", "20\t250", (0.02, 250.0, None)),
        ("Air flow m3/h  Static pressure Pa  Power W", "72     250   30", (0.02, 250.0, 30.0)),
        ("flow,pressure", "20,250", (0.02, 250.0, None)),
        ("What\tis\tthis", "20\t250\t30", (0.02, 250.0, 30.0)),
    ],
)
def test_headers_place_and_convert(header: str, row: str, expected: tuple[float, float, float | None]) -> None:
    (found,) = read_table(f"{header}\r\n{row}\r\n")
    assert found[:2] == pytest.approx(expected[:2], rel=2e-7)
    assert found.power == (pytest.approx(expected[2]) if expected[2] is not None else None)


def test_units_said_by_the_caller_hold_where_the_header_is_silent() -> None:
    rows = read_table("Flow\tPressure (Pa)\n100\t50", {"flow": "cfm", "pressure": "kPa"})
    assert rows[0][:2] == pytest.approx((0.04719474, 50.0), rel=2e-7)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("1.234\t2.345\n3.456\t1.111", "“1.234” may mean 1234 or 1.234"),
        ("1,234\t200\n3,456\t100", "“1,234” may mean 1234 or 1.234"),
        ("1.5\t200\n3,5\t100", "mixes decimal marks: “1.5” and “3,5”"),
        ("12,5\n24,7", "“12,5” may be one number or several"),
        ("1,234,567\n2,345,678", "may be one number or several"),
        ("0\t250\n20\tabout 240", "“about 240”, in row 2 of the numbers, is not a number."),
        ("0\t250\n2O\t240", "“2O”, in row 2 of the numbers, is not a number."),
        ("1\t2\t3\t4", "has 4 columns, but a curve has flow, pressure and power"),
        ("Flow (m3/h)\tFlow (cfm)\tPressure (Pa)\n1\t2\t3", "“Flow (m3/h)” and “Flow (cfm)” are both columns of flow"),
        ("Flow (scfm)\tPressure (Pa)\n1\t2", "“scfm”, in the header “Flow (scfm)”, is no unit of flow"),
        ("Flow (L/s)\tEfficiency\n1\t2", "no column of pressure"),
        ("Flow\tPressure\n20\t\n30\t5", "Row 1 of the block has no pressure."),
        ("20\n30", "no column of pressure"),
        ("20 L/s\t3 Pa\n30 cfm\t2 Pa", "mixes units: “L/s” and “cfm”"),
        ("20 Pa\t3 L/s", "“Pa” is no unit of flow."),
        ("Flow m3/h Pressure Pa\n1 2 3", "does not fit the 3 columns"),
        ("12.34.56\t7", "mixes|is not a number"),
        ("1e999\t7", "“1e999” is too large."),
        ("only words", "holds no numbers"),
        ("  \r\n\r\n", "nothing to read"),
        ("1\t2\n" * 3000, "3000 rows"),
    ],
)
def test_what_is_unclear_is_refused_in_words(text: str, said: str) -> None:
    with pytest.raises(TableError, match=said.replace("(", r"\(").replace(")", r"\)")):
        read_table(text)


@pytest.mark.parametrize(
    ("text", "numbers"),
    [
        # one clear number settles the doubtful ones
        ("0,5\t1,234", [("0.5", "1.234")]),
        ("0.5\t1,234", [("0.5", "1234")]),
        ("0,5\t1.234", [("0.5", "1234")]),
        ("1.234,5\t7", [("1234.5", "7")]),
        ("1,234.5\t7", [("1234.5", "7")]),
        ("1.234.567\t7", [("1234567", "7")]),
        ("1 234,5\t7", [("1234.5", "7")]),
        ("1\u202f234,5\t7", [("1234.5", "7")]),
        ("1'234.5\t7", [("1234.5", "7")]),
        ("−3,5\t-0,0", [("-3.5", "-0.0")]),
        (".5\t5.", [("0.5", "5.")]),
        ("1e-2\t2.5E1", [("1e-2", "2.5E1")]),
        ("10\t\t\n20\t-\t\n", [("10",), ("20",)]),
        ("0,010\n0,021", [("0.010",), ("0.021",)]),
        ("12,5", [("12.5",)]),
        ("Flow\n12,5\n13,5", [("12.5",), ("13.5",)]),
    ],
)
def test_numbers_as_written(text: str, numbers: list[tuple[str, ...]]) -> None:
    rows = read_block(text).rows
    assert [tuple(float(cell) for cell in row) for row in rows] == [tuple(map(float, row)) for row in numbers]
    assert all(cell == "" or "," not in cell for row in rows for cell in row)


def test_columns_follow_from_the_cell_pasted_at() -> None:
    block = place_columns(read_block("250\t30\n240\t35"), first=1)
    assert [column.kind for column in block.columns] == ["pressure", "power"]
    with pytest.raises(TableError, match="only power can follow here"):
        place_columns(read_block("250\t30"), first=2)
    named = place_columns(read_block("Flow (L/s)\tPressure (Pa)\n1\t2"), first=2)
    assert [column.kind for column in named.columns] == ["flow", "pressure"]


def test_usual_units_are_known_however_spelled() -> None:
    for kind, units in USUAL_UNITS.items():
        for unit in units:
            assert usual_unit(kind, unit) == unit
    assert usual_unit("flow", "m3/h") == usual_unit("flow", "cmh") == "m³/h"
    assert usual_unit("pressure", "in wg") == "in. w.c."
    assert usual_unit("pressure", "mbar") is None
    assert unit_size("flow", "m³/h") == pytest.approx(1 / 3600, rel=1e-14)
    assert unit_size("pressure", "mm w.c.") == pytest.approx(9.80665, rel=1e-6)


@given(
    st.lists(
        st.tuples(st.decimals(0, 900, places=2), st.decimals(0, 9000, places=1), st.decimals(1, 900, places=2)),
        min_size=1,
        max_size=12,
    ),
    st.sampled_from(["\t", ";"]),
    st.sampled_from([".", ","]),
    st.sampled_from(["\n", "\r\n"]),
)
def test_what_is_written_is_read(rows: list[tuple[object, ...]], part: str, mark: str, end: str) -> None:
    text = end.join(part.join(str(value).replace(".", mark) for value in row) for row in rows)
    expected = [(float(str(q)) / 1000, float(str(p)), float(str(w))) for q, p, w in rows]
    assert list(read_table(text)) == approx(expected)


@given(st.text(alphabet="0123456789.,;\t\n -eE/PaLs(W)\"'flow", max_size=60))
def test_any_text_is_read_or_refused_in_a_sentence(text: str) -> None:
    try:
        said = ""
        rows = read_table(text)
    except TableError as refusal:
        said, rows = str(refusal), ()
    assert rows or said.endswith(".")
