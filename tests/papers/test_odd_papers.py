"""Names are printed as they were typed and never run; what is missing is named."""

from __future__ import annotations

import io
from datetime import date

import pytest
from openpyxl import load_workbook
from pypdf import PdfReader

from tests.odd_names import named
from tests.papers.conftest import DAY, matter_of, pages, plain, read
from workbench.design import Design
from workbench.design.blank import blank_design
from workbench.design.record import with_value
from workbench.design.slab import Position, TestHole
from workbench.files.job import choices
from workbench.files.scenes import load_scene
from workbench.papers.blocks import Maker
from workbench.papers.html import html
from workbench.papers.letters import lacks, spelled
from workbench.papers.make import PAPERS
from workbench.papers.matter import Matter
from workbench.papers.pdf import pdf
from workbench.papers.xlsx import xlsx

CODES = (
    "#let x = panic() #x",
    "<script>alert(1)</script>",
    "=cmd|' /C calc'!A0",
    "$x$ *b* _i_ @ref \\ // `r`",
    "@SUM(1)",
)


@pytest.fixture(scope="module", params=CODES)
def coded(request: pytest.FixtureRequest) -> tuple[str, Matter]:
    return request.param, matter_of(named(load_scene("studio"), request.param))


def test_a_name_is_printed_as_it_was_typed(coded: tuple[str, Matter]) -> None:
    word, m = coded
    for name in ("design", "installer"):
        # lines may break between any two letters of a long word
        text = read(pdf(PAPERS[name](m), "letter", DAY)).replace(" ", "")
        assert f"{word} 40".replace(" ", "") in text


def test_a_name_is_no_mark_up_in_a_page(coded: tuple[str, Matter]) -> None:
    _, m = coded
    for make in PAPERS.values():
        page = html(make(m))
        assert "<script" not in page
        assert "&lt;script" in page or "script" not in coded[0] or make is PAPERS["visit"]


def test_a_name_is_no_formula_in_a_spreadsheet(coded: tuple[str, Matter]) -> None:
    word, m = coded
    cells = [
        cell
        for name in PAPERS
        for sheet in load_workbook(io.BytesIO(xlsx(PAPERS[name](m), DAY))).worksheets
        for row in sheet.iter_rows()
        for cell in row
    ]
    assert not [cell.value for cell in cells if cell.data_type == "f"]
    assert [cell.value for cell in cells if isinstance(cell.value, str) and cell.value.startswith(word)]


@pytest.mark.parametrize(
    "word", ["\u05e9\u05dc\u05d5\u05dd", "\U0001f525 fire", "W" * 190, "e\u0301" * 60, "\u6c34\u6e90"]
)
def test_any_letter_makes_a_paper(word: str) -> None:
    m = matter_of(named(load_scene("studio"), word))
    for name in ("card", "owner", "installer"):
        assert pdf(PAPERS[name](m), "letter", DAY).startswith(b"%PDF")


def test_a_sign_that_no_font_has_is_spelled() -> None:
    assert lacks("\U0001f525")
    assert not lacks("Pa \N{MINUS SIGN}½ ▲ ◆")
    assert spelled("a\U0001f525b") == "a⟨U+1F525⟩b"
    # a private code point, which no font of any machine has
    m = matter_of(named(load_scene("studio"), "\ue9f7"))
    assert "⟨U+E9F7⟩" in " ".join(pages(PAPERS["card"](m)))


def test_numbers_keep_their_places_beside_words_from_right_to_left() -> None:
    from workbench.papers.letters import isolated

    word = "\u05e9\u05dc\u05d5\u05dd \u05e2\u05d5\u05dc\u05dd"
    assert isolated(f"Weakest: {word} 44, 2.5 Pa") == f"Weakest: \u2068{word}\u2069 44, 2.5 Pa"


def test_control_signs_do_no_harm() -> None:
    studio = load_scene("studio")
    m = matter_of(with_value(studio, ("title",), "A\x07B \u202e right"))
    # what turns words about, numbers among them, is written out
    for form in (" ".join(pages(PAPERS["card"](m))), html(PAPERS["card"](m))):
        assert "⟨U+202E⟩ right" in form
    for make in PAPERS.values():
        paper = make(m)
        assert pdf(paper, "letter", DAY)
        assert html(paper)
        load_workbook(io.BytesIO(xlsx(paper, DAY)))


def test_the_options_of_a_search_stand_on_the_design_sheet() -> None:
    studio = load_scene("studio")
    drawn = {"pipes": (), "pits": (), "leak_left": (), "another_point": False}
    small = with_value(studio, ("search",), studio.search.model_copy(update=drawn))
    m = matter_of(small)
    assert "No search of other fans" in " ".join(pages(PAPERS["design"](m)))
    m.found = choices(small)
    text = " ".join(pages(PAPERS["design"](m)))
    for row in m.found.rows[:5]:
        assert row.fan in text
    rank = next(i for i, row in enumerate(m.found.rows, start=1) if row.fan == small.fan)
    assert f"{rank} As drawn: {small.fan}" in text
    assert f"The design as drawn comes number {rank} by" in text
    assert f"{m.found.rows[0].life_cycle:.0f}" in text
    assert "The design has changed" not in text
    m.found = choices(with_value(small, ("target", "suction"), 2.0))
    assert "The design has changed since this search" in " ".join(pages(PAPERS["design"](m)))


# --- what is missing --------------------------------------------------------------------------------------------------


def texts(design: Design) -> dict[str, str]:
    m = matter_of(design)
    return {name: " ".join(pages(make(m))) for name, make in PAPERS.items()}


def test_without_a_fan_every_paper_says_so() -> None:
    told = texts(with_value(load_scene("studio"), ("fan",), None))
    for name in ("design", "card", "startup"):
        assert "No operating point" in told[name]
        assert "No fan is selected" in told[name]
    assert "No reading is given" in told["owner"]
    assert "Fan not selected" in told["installer"]


def test_without_a_plan_the_sheets_say_so() -> None:
    studio = load_scene("studio")
    holes = tuple(hole.model_copy(update={"position": None}) for hole in studio.holes)
    told = texts(with_value(with_value(studio, ("holes",), holes), ("slab",), None))
    assert "No floor is drawn" in told["design"]
    assert "measure the places on site" in told["installer"]


def test_without_holes_nothing_is_called_measured() -> None:
    told = texts(with_value(load_scene("studio"), ("holes",), ()))
    for name in ("design", "card", "startup"):
        assert "Not measured: no test hole" in told[name]
    assert "No gauge reading is given to leave the fan at" in told["card"]
    assert "nothing is promised" in told["owner"]
    assert "As usual: nothing to do" not in told["owner"]


def test_a_new_file_has_papers_that_name_what_is_missing() -> None:
    told = texts(blank_design())
    assert "No fan is selected" in told["card"]
    assert "not entered" in told["design"]
    assert "No rule sheet is selected" in told["design"]
    assert "Invented" not in told["card"]


def test_many_holes_are_numbered_on_the_plan_and_all_stand_in_the_tables() -> None:
    studio = load_scene("studio")
    assert studio.slab is not None
    places = [Position(x=0.5 + 0.9 * (i % 7), y=0.5 + 0.8 * (i // 7)) for i in range(40)]
    holes = tuple(TestHole(name=f"Place {i + 1:02}", position=place) for i, place in enumerate(places))
    m = matter_of(
        with_value(studio, ("holes",), tuple(h for h in holes if h.position and studio.slab.holds(h.position)))
    )
    for name in ("design", "installer", "startup"):
        text = " ".join(pages(PAPERS[name](m)))
        for hole in m.design.holes:
            assert hole.name in text


def test_what_was_entered_stands_at_the_head() -> None:
    studio = load_scene("studio")
    job = studio.job.model_copy(update={"client": "C. Lient", "address": "1 Way", "number": "J-7", "date": "May 1"})
    m = matter_of(with_value(studio, ("job",), job))
    m.maker = Maker("Some Maker", "RN 123")
    text = pages(PAPERS["design"](m))[0]
    for told in ("C. Lient", "1 Way", "J-7", "May 1", "Some Maker", "License RN 123"):
        assert told in plain(text)
    assert "Name: not entered" in pages(PAPERS["design"](matter_of(studio)))[0]


def test_the_day_is_the_one_given(studio: Matter) -> None:
    other = Matter(studio.prepared, studio.outcome, studio.system, day=date(2027, 1, 2))
    assert "Jan 2, 2027" in pages(PAPERS["card"](other))[0]


def crowded(count: int, *, named: str = "Hole {0}", read: bool = True) -> Design:
    """The studio with so many holes, most of them read as one of its own is."""
    studio = load_scene("studio")
    assert studio.slab is not None
    places = [Position(x=0.5 + 0.75 * (i % 8), y=0.5 + 0.75 * (i // 8)) for i in range(80)]
    inside = [place for place in places if studio.slab.holds(place)][:count]
    holes = tuple(
        TestHole(
            name=named.format(i + 1),
            position=place,
            readings=studio.holes[i % len(studio.holes)].readings if read else (),
        )
        for i, place in enumerate(inside)
    )
    assert len(holes) == count
    return with_value(studio, ("holes",), holes)


LONG = "{0} beside the cellar stair behind the boiler and under the old coal chute " * 3


@pytest.mark.parametrize(
    ("count", "target", "read", "named"),
    [
        (12, 1.0, True, "Hole {0}"),
        (12, 1.0, True, LONG),
        (6, 1.0, True, LONG),
        (12, 9.0, True, LONG),
        (12, 1.0, False, LONG),
    ],
    ids=["met", "long names", "few", "failing", "not read"],
)
def test_the_card_stays_one_page_with_a_dozen_holes(count: int, target: float, read: bool, named: str) -> None:
    design = with_value(crowded(count, named=named, read=read), ("target", "suction"), target)
    design = with_value(design, ("title",), LONG.format("A house"))
    m = matter_of(design)
    for page in ("letter", "a4"):
        reader = PdfReader(io.BytesIO(pdf(PAPERS["card"](m), page, DAY)))  # type: ignore[arg-type]
        assert len(reader.pages) == 1
    text = pages(PAPERS["card"](m))[0]
    for hole in design.holes:
        assert f"{hole.name[:12]}" in text
    # what is cut on the card stands whole on the design sheet
    told = html(PAPERS["design"](m))
    for hole in design.holes:
        assert hole.name in told


def test_the_card_names_the_weakest_holes_and_how_many_more_there_are() -> None:
    m = matter_of(crowded(17))
    (text,) = pages(PAPERS["card"](m))
    readings = text.partition("Readings at")[2]
    assert [hole.name for hole in m.holes if f"{hole.name} " in readings] == [hole.name for hole in m.holes[:12]]
    assert "5 more on the design sheet" in text
