"""Blocks as spreadsheets, files, messages and data sheets give them, and what a person would expect to be read.

The conversions are checked against NIST SP 811, appendix B.8: 1 cfm = 4.719 474 E-04 m3/s, 1 in. of water
(conventional) = 2.490 889 E+02 Pa, 1 mm of water (conventional) = 9.806 65 Pa.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.odd_names import ODD_NAMES
from workbench.files.block import Block, BlockError, Guess, Quantity, Told, read_block
from workbench.files.fan_table import USUAL_UNITS, quantities

FAN = quantities({kind: units[0] for kind, units in USUAL_UNITS.items()})
FLOW, PRESSURE = FAN[:2]
STEPS = (
    Quantity("flow", "Flow", r"flow|\bair\b", "flow", "L/s", needed=True, rank=1),
    Quantity("suction", "Suction", r"suction|reading|at (the )?(point|hole)", "pressure", "Pa", needed=True),
    Quantity("rest", "At rest", r"\brest|baseline", "pressure", "Pa", rank=2),
)
SHEET = (
    Quantity("name", "Hole", r"(test )?holes?|name", None, rank=5),
    Quantity("applied", "At point", r"at (the )?point", "pressure", "Pa", rank=2),
    Quantity("suction", "At hole", r"suction|at (the )?hole|reading", "pressure", "Pa"),
)
LEVELS = tuple(Quantity(str(i), f"Band {i}", rf"\b{i} hz", "level_difference", "dB", needed=True) for i in range(8))
THREE = [(0.0, 250.0, 30.0), (0.02, 243.5, 38.5), (0.084, 0.0, 45.5)]


def rows(block: Block) -> list[tuple[Any, ...]]:
    return [tuple(None if cell is None else cell.value for cell in row) for row in block.rows]


def approx(found: list[tuple[Any, ...]]) -> list[Any]:
    return [pytest.approx(row) for row in found]


def plain(block: Block) -> list[tuple[str, ...]]:
    return [tuple("" if cell is None else cell.plain for cell in row) for row in block.rows]


# --- parting the cells ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        "0\t250\t30\n20\t243.5\t38.5\n84\t0\t45.5",
        "0\t250\t30\r\n20\t243,5\t38,5\r\n84\t0\t45,5\r\n",
        "0;250;30\n20;243,5;38,5\n84;0;45,5\n",
        "0,250,30\n20,243.5,38.5\n84,0,45.5\n",
        "0, 250, 30\n20, 243.5, 38.5\n84, 0, 45.5",
        "0   250   30\n20  243,5 38,5\n84    0   45,5",
        "0     250    30\n20    243.5  38.5\n84    0      45.5",
        "# measured in May\n0\t250\t30\n\n20\t243.5\t38.5\n84\t0\t45.5\n\n",
        "0\t250\t30\t\t\n20\t243.5\t38.5\t\t\n84\t0\t45.5\t\t\n\t\t\t\t\n",
        "\t0\t250\t30\n\t20\t243.5\t38.5\n\t84\t0\t45.5",
        '"0","250","30"\n"20","243.5","38.5"\n"84","0","45.5"',
        '"0","250","30"\n"20","243,5","38,5"\n"84","0","45,5"',
        '"0";"250";"30"\n"20";"243,5";"38,5"\n"84";"0";"45,5"',
        "|0|250|30|\n|20|243.5|38.5|\n|84|0|45.5|",
        "0 L/s\t250 Pa\t30 W\n20 L/s\t243.5 Pa\t38.5 W\n84 L/s\t0 Pa\t45.5 W",
    ],
    ids=[
        "tabs",
        "CRLF and decimal commas",
        "semicolons",
        "commas",
        "commas and blanks",
        "ragged blanks",
        "aligned blanks",
        "a remark and blank lines",
        "trailing empty columns and rows",
        "a leading empty column",
        "quoted",
        "quoted decimal commas between commas",
        "quoted between semicolons",
        "upright strokes",
        "units in the cells",
    ],
)
def test_however_the_cells_are_parted_nothing_is_guessed(text: str) -> None:
    block = read_block(text, FAN)
    assert rows(block) == approx(THREE)
    assert block.guesses == ()


def test_a_table_drawn_with_strokes_is_read_without_its_rules() -> None:
    block = read_block("| Flow (L/s) | Pressure [Pa] |\n|---|---:|\n| 10 | 1,5 |\n", FAN)
    assert (rows(block), block.guesses) == ([(0.01, 1.5)], ())


def test_a_saved_file_begins_with_its_byte_order_mark() -> None:
    assert rows(read_block("\ufeffFlow (L/s);Pressure (Pa)\r\n20;243,5\r\n", FAN)) == approx([(0.02, 243.5)])


# --- headings ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("header", "row", "expected"),
    [
        ("Flow (cfm)\tStatic pressure (in. w.c.)\tPower (W)", "100\t0.5\t40", (0.04719474, 124.54445, 40.0)),
        ("CFM\tin. wg\tWatts", "100\t0.5\t40", (0.04719474, 124.54445, 40.0)),
        ("Flow, cfm\tPressure, in wc\tPower, W", "100\t0.5\t40", (0.04719474, 124.54445, 40.0)),
        ("[cfm]\t[in wc]\t[W]", "100\t0.5\t40", (0.04719474, 124.54445, 40.0)),
        ("Flow cfm\tPressure (in.)\tW", "100\t0.5\t40", (0.04719474, 124.54445, 40.0)),
        ("Airflow, m3/h\tPs, mm w.c.\tPower, kW", "360\t10\t0.04", (0.1, 98.0665, 40.0)),
        ("Q [m³/s]\tΔp [kPa]", "0,05\t0,25", (0.05, 250.0)),
        ("Volumenstrom in m³/h\tDruck in Pa\tLeistung in W", "180\t120,5\t33", (0.05, 120.5, 33.0)),
        ("Flow\tPressure\tPower\nm³/h\tPa\tW", "72\t250\t30", (0.02, 250.0, 30.0)),
        ("As measured\t\t\nFlow\tPressure\tPower\n(m³/h)\t[Pa]\tW", "72\t250\t30", (0.02, 250.0, 30.0)),
        ("An invented fan, airflow test\nFlow (L/s)\tPressure (Pa)", "20\t250", (0.02, 250.0)),
        ("Air flow m3/h  Static pressure Pa  Power W", "72     250   30", (0.02, 250.0, 30.0)),
        ("No.\tFlow L/s\tPressure Pa\tSpeed rpm\tEfficiency %\tPower W", "1\t20\t250\t24\t17\t30", (0.02, 250.0, 30.0)),
        ('"Flow, cfm","Pressure, Pa"', '"100","12.5"', (0.04719474, 12.5)),
        ("L/s,Pa", "20,250", (0.02, 250.0)),
    ],
)
def test_units_are_found_in_any_usual_heading(header: str, row: str, expected: tuple[float, ...]) -> None:
    block = read_block(f"{header}\r\n{row}\r\n", FAN)
    assert rows(block) == [pytest.approx(expected, rel=2e-7)]
    assert block.guesses == ()


def test_columns_may_stand_in_another_order() -> None:
    block = read_block("Static pressure / Pa\tPower / W\tFlow / L/s\n250\t30\t20", FAN)
    assert block.keys == ("pressure", "power", "flow")
    assert block.records() == [{"pressure": 250.0, "power": 30.0, "flow": 0.02}]


@pytest.mark.parametrize(
    ("heading", "unit"),
    [
        ("At hole Pa", "Pa"),
        ("At hole (in. w.c.)", "in. w.c."),
        ("At hole [in wc]", "in wc"),
        ("Suction read at the hole, kPa", "kPa"),
        ("At hole", None),
        ("At hole (as read)", None),
        ("Reading (measured)", None),
    ],
)
def test_a_reading_keeps_the_unit_of_its_heading_and_a_lack_of_one_is_told(heading: str, unit: str | None) -> None:
    block = read_block(f"Hole\tAt point Pa\t{heading}\nA\t120\t2\n", SHEET)
    assert block.keys == ("name", "applied", "suction")
    assert block.columns[2].unit == (unit or "Pa")
    assert block.guesses == (() if unit else (Guess("unit", "At hole", "Pa"),))


def test_a_heading_merged_over_two_columns_gives_both_its_unit() -> None:
    block = read_block("Hole\tSuction (in. w.c.)\t\n\tAt point\tAt hole\nA\t2\t1\n", SHEET)
    assert block.keys == ("name", "applied", "suction")
    assert block.guesses == ()
    assert block.records()[0]["applied"] == pytest.approx(2 * 249.0889, rel=1e-6)


def test_headings_that_nobody_knows_are_taken_in_order_and_told() -> None:
    block = read_block("What\tis\tthis\n20\t250\t30", FAN)
    assert rows(block) == approx([(0.02, 250.0, 30.0)])
    assert [guess[1:] for guess in block.guesses if guess.kind == "order"] == [
        ("What", "Flow"),
        ("is", "Pressure"),
        ("this", "Power"),
    ]


def test_a_column_left_out_is_told_unless_it_is_known_to_be_beside_the_point() -> None:
    block = read_block("Flow L/s\tFoo\tPressure Pa\tNotes\n1\t2\t3\tx", FAN)
    assert block.keys == ("flow", "pressure")
    assert block.guesses == (Guess("left out", "Foo"),)


def test_a_unit_alone_may_be_that_of_two_quantities() -> None:
    assert read_block("L/s\tPa\n6\t33", STEPS).guesses == ()
    block = read_block("L/s\tPa\tPa\n6\t33\t0.4", STEPS)
    assert block.keys == ("flow", "suction", "rest")
    assert [guess.kind for guess in block.guesses] == ["order", "order"]
    assert read_block("Hole\tPa\nA\t5", SHEET).guesses == (Guess("order", "Pa", "At point"),)


def test_the_corner_above_the_names_may_be_blank() -> None:
    block = read_block("\tAt point (Pa)\tAt hole (Pa)\nA\t120\t20\nB\t120\t5\n", SHEET)
    assert [row["name"] for row in block.records()] == ["A", "B"]


def test_a_unit_in_a_cell_goes_before_that_of_its_heading() -> None:
    block = read_block("Flow [L/s]\tSuction, Pa\n6\t33\n12 m3/h\t0.5 in", STEPS)
    assert rows(block)[1][:2] == pytest.approx((12 / 3600, 0.5 * 249.0889), rel=1e-6)
    assert block.guesses == ()


def test_a_bare_number_among_those_with_a_unit_is_taken_for_one_of_them_and_told() -> None:
    block = read_block("6 cfm\t33 Pa\n12\t82 Pa", STEPS)
    assert rows(block)[1][0] == pytest.approx(12 * 4.719474e-4, rel=2e-7)
    assert block.guesses == (Guess("unit", "Flow", "cfm"),)


def test_names_stay_as_they_were_written() -> None:
    names = ["Kitchen, by the door", "Hole; left", 'Say "so"', "#1", "12", "Air duct", "Reading room", *ODD_NAMES]
    text = "\n".join(f"{name}\t120\t{i}" for i, name in enumerate(names, start=1))
    block = read_block(text, SHEET)
    assert [row["name"] for row in block.records()] == names
    assert (block.across, block.guesses) == (False, ())
    quoted = read_block('Hole,At point Pa,At hole Pa\n"Kitchen, by the door",120,4.5\nB,120,5\n', SHEET)
    assert quoted.records()[0] == {"name": "Kitchen, by the door", "applied": 120.0, "suction": 4.5}
    lines = read_block('"two\nlines"\t120\t5\n', SHEET)
    assert lines.records()[0]["name"] == "two lines"


# --- rows for columns -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        "Hole\tA\tB\nAt point Pa\t120\t110\nAt hole (in. w.c.)\t0,2\t0,1\n",
        "Hole;A;B\r\nAt point;120;110\r\nAt hole in wc;0,2;0,1\r\n",
        "Hole\t\tA\tB\nAt point\tPa\t120\t110\nAt hole\tin wc\t0.2\t0.1\n",
    ],
)
def test_quantities_in_rows_are_read_as_in_columns_and_told(text: str) -> None:
    block = read_block(text, SHEET)
    assert block.across
    assert block.guesses[0] == Guess("across")
    assert [row["name"] for row in block.records()] == ["A", "B"]
    assert [row["suction"] for row in block.records()] == pytest.approx([0.2 * 249.0889, 0.1 * 249.0889], rel=1e-6)


def test_rows_without_headings_are_taken_for_quantities_where_columns_are_too_many() -> None:
    block = read_block("6\t12\t18\t24\n33\t82\t150\t220\n", STEPS)
    assert rows(block)[0] == pytest.approx((0.006, 33.0))
    assert block.guesses == (Guess("across"),)


def test_told_so_the_same_block_is_read_the_other_way() -> None:
    text = "Flow\tSuction\nSuction\tFlow\n"
    with pytest.raises(BlockError):
        read_block(text, STEPS)
    numbers = "1\t2\n3\t4"
    assert rows(read_block(numbers, STEPS, told=Told(across=True))) == approx([(0.001, 3.0), (0.002, 4.0)])


def test_one_record_may_stand_in_a_column_without_a_question() -> None:
    down = read_block("\n".join(map(str, range(60, 68))), LEVELS)
    along = read_block(" ".join(map(str, range(60, 68))), LEVELS)
    assert rows(down) == rows(along) == [tuple(map(float, range(60, 68)))]
    assert down.guesses == along.guesses == ()


# --- the decimal mark -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "numbers"),
    [
        # one clear number settles the doubtful ones
        ("10,5\t1.500", [("10.5", "1500")]),
        ("0,5\t1,234", [("0.5", "1.234")]),
        ("0.5\t1,234", [("0.5", "1234")]),
        ("1.234,5\t7", [("1234.5", "7")]),
        ("1,234.5\t7", [("1234.5", "7")]),
        ("1.234.567\t7", [("1234567", "7")]),
        ("1,234,567\t7", [("1234567", "7")]),
        ("1,234,567.8\t7", [("1234567.8", "7")]),
        ("1 234,5\t7", [("1234.5", "7")]),
        ("1\u202f234,5\t7", [("1234.5", "7")]),
        ("1\u00a0234\t7", [("1234", "7")]),
        ("1'234.5\t7", [("1234.5", "7")]),
        ("1’234’567.5\t7", [("1234567.5", "7")]),
        ("−3,5\t-0,0", [("-3.5", "-0.0")]),
        ("–2\t+4", [("-2", "4")]),
        (".5\t5.", [("0.5", "5.")]),
        ("1e-2\t2.5E1", [("1e-2", "2.5E1")]),
        ("1 1/2\t¾", [("1.5", "0.75")]),
        ("NaN\t5\n-\t6\n7\tn/a\n#N/A\t8", [("", "5"), ("", "6"), ("7", ""), ("", "8")]),
        ("10\t\t\n20\t-\t\n", [("10",), ("20",)]),
        ("0,010\n0,021", [("0.010",), ("0.021",)]),
        ("12,5", [("12.5",)]),
        ("Flow, L/s\n12,5\n13,5", [("12.5",), ("13.5",)]),
    ],
)
def test_one_decimal_mark_is_settled_for_the_whole_block(text: str, numbers: list[tuple[str, ...]]) -> None:
    block = read_block(text, FAN)
    assert [tuple(c and float(c) for c in row) for row in plain(block)] == [
        tuple(c and float(c) for c in row) for row in numbers
    ]
    assert block.guesses == ()


@pytest.mark.parametrize(
    ("text", "taken", "first", "other"),
    [
        # nothing in the block says whether these are thousands
        ("1.234\t2.345\n3.456\t1.111", ".", 1.234, 1234.0),
        ("1,234\t200\n3,456\t100", ".", 1234.0, 1.234),
        # pasted from a spreadsheet one column of decimal commas looks like two of whole numbers
        ("12,5\n24,7", ",", 12.5, 12.0),
    ],
)
def test_an_ambiguous_decimal_mark_is_told_and_may_be_said(text: str, taken: str, first: float, other: float) -> None:
    block = read_block(text, FAN)
    assert [(guess.kind, guess.taken) for guess in block.guesses] == [("decimal", taken)]
    assert float(plain(block)[0][0]) == first
    said = read_block(text, FAN, told=Told(decimal="," if taken == "." else "."))
    assert float(plain(said)[0][0]) == other
    assert said.guesses == ()


def test_units_may_be_said() -> None:
    block = read_block("Flow\tSuction\n10\t1", STEPS, told=Told(units={"flow": "cfm", "suction": "in. w.c."}))
    assert rows(block)[0] == pytest.approx((10 * 4.719474e-4, 249.0889), rel=1e-6)
    assert block.guesses == ()


# --- refused ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "nothing to read"),
        ("  \r\n\t\t\r\n", "nothing to read"),
        ("-\t-\n–\tn/a", "holds no numbers"),
        ("1/0\t2", "“1/0” is not a number"),
        ("99999999999999999999/1\t2", "is too large"),
        ("Flow (L/s)\tPressure (Pa)\n", "headings but no readings"),
        ("1.5\t200\n3,5\t100", "mixes decimal marks: “1.5” and “3,5”"),
        ("1,234,567\n2,345,678", "may be one number or several"),
        ("20 250\n84 100", "may be one number or several"),
        ("0\t250\n20\tabout 240", "Row 2, pressure: “about 240” is not a number."),
        ("0\t250\n2O\t240", "Row 2, flow: “2O” is not a number."),
        ("Flow L/s\tPressure Pa\n\n20\t<b>x</b>{0}", "Row 3, pressure: “<b>x</b>{0}” is not a number."),
        ("1\t2\t3\t4", "has 4 columns, but only flow and pressure and power"),
        ("Flow (m3/h)\tFlow (cfm)\tPressure (Pa)\n1\t2\t3", "“Flow (m3/h)” and “Flow (cfm)”"),
        ("Flow (scfm)\tPressure (Pa)\n1\t2", "“scfm”, in the heading “Flow (scfm)”, is no unit of flow"),
        ("20 Pa\t3 L/s", "Row 1, flow: “Pa” is no unit of it."),
        ("20 %\t3", "Row 1, flow: “20 %” is not a number."),
        ("Flow m3/h Pressure Pa\n1 2 3", "do not fit the 3 columns"),
        ("12.34.56\t7", "is not a number where"),
        ("1e999\t7", "“1e999” is too large."),
        ("inf\t7", "Row 1, flow: “inf” is not a number."),
        ("1\t2\n" * 3000, "3000 rows; at most 2000"),
        ("9" * 2_000_000, "longer than 1,000,000 letters"),
        ("9" * 5000 + "\t1", "is not a number"),
    ],
)
def test_what_cannot_be_read_is_refused_in_words(text: str, said: str) -> None:
    with pytest.raises(BlockError) as refused:
        read_block(text, FAN)
    assert said in str(refused.value)
    assert str(refused.value).endswith(".")
    assert len(str(refused.value)) < 250


def test_a_row_that_lacks_what_is_needed_is_named_as_it_was_pasted() -> None:
    for text, row in (("6", 1), ("6\t33\n12\t", 2), ("Flow L/s\tSuction Pa\n\n6\t33\n12\t-", 4)):
        with pytest.raises(BlockError, match=f"Row {row} lacks the suction"):
            read_block(text, STEPS)


def test_ten_thousand_rows_are_refused_and_two_thousand_read() -> None:
    with pytest.raises(BlockError, match="The block has 10000 rows; at most 2000"):
        read_block("1\t2\t3\n" * 10_000, FAN)
    assert len(read_block("1,5\t2 in. w.c.\t3\n" * 2000, FAN).rows) == 2000
    with pytest.raises(BlockError, match="The block has 3000 columns; at most 50"):
        read_block("1\t" * 2999 + "2", FAN, most=50)


# --- any block --------------------------------------------------------------------------------------------------------

TENTHS = st.integers(-(10**8), 10**8).map(lambda n: Decimal(n) / 10)


def written(number: Decimal, mark: str, group: str) -> str:
    text = f"{abs(number):,.1f}".replace(",", "G").replace(".", mark).replace("G", group)
    return ("\N{MINUS SIGN}" if number < 0 else "") + text


@given(
    st.lists(st.tuples(TENTHS, TENTHS, TENTHS), min_size=2, max_size=6),
    st.sampled_from([(".", ","), (".", ""), (".", "'"), (",", "."), (",", ""), (",", " "), (",", "\u202f")]),
    st.sampled_from(["\t", ";", "|"]),
    st.booleans(),
    st.booleans(),
)
def test_any_table_printed_either_way_reads_back(
    table: list[tuple[Decimal, ...]], style: tuple[str, str], part: str, headed: bool, across: bool
) -> None:
    cells = [[written(number, *style) for number in row] for row in table]
    if headed or across:
        cells.insert(0, ["Flow (L/s)", "Suction Pa", "At rest, kPa"])
    if across:
        cells = [list(row) for row in zip(*cells, strict=True)]
    block = read_block("\n".join(part.join(row) for row in cells), STEPS)
    last = 1000 if headed or across else 1
    assert rows(block) == approx([(float(q) / 1000, float(p), float(r) * last) for q, p, r in table])
    assert block.across == across
    assert [guess.kind for guess in block.guesses] == (["across"] if across else [])


@given(
    st.text(alphabet="0123456789.,;\t\n -eE/PaLs(W)\"'flow|#[]{}<b>", max_size=60), st.sampled_from([FAN, STEPS, SHEET])
)
def test_any_text_is_read_or_refused_in_a_sentence(text: str, asked: tuple[Quantity, ...]) -> None:
    for told in (Told(), Told(decimal=","), Told(across=True)):
        try:
            said, found = "", read_block(text, asked, told=told).rows
        except BlockError as refusal:
            said, found = str(refusal), ()
        assert found or said.endswith(".")


@pytest.mark.parametrize("mark", ["\t", ";", ","])
def test_a_cell_of_any_length_is_read_or_refused_in_a_sentence(mark: str) -> None:
    with pytest.raises(BlockError):
        read_block(f"Flow [L/s]{mark}Pressure [Pa]\n1{mark}{'(' * 200_000}\n", FAN)
