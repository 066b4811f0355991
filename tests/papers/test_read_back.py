"""What stands on a paper is what the answer says, in the words of the window; and it is a sound PDF."""

from __future__ import annotations

import io
import re
from collections.abc import Callable

import pytest
from msgspec.structs import replace
from pypdf import PdfReader

from tests.papers.conftest import DAY, matter_of, pages, plain, read
from workbench.design.job import Job, RadonTest
from workbench.files.answer_text import verdict_in_full
from workbench.files.scenes import load_scene, scene_names
from workbench.gui.kit.theme import SHAPES
from workbench.papers.html import html
from workbench.papers.letters import breadth
from workbench.papers.make import PAPERS
from workbench.papers.matter import MARKS, Matter
from workbench.papers.pdf import pdf
from workbench.units import SI, US, format_quantity

HOLE = "hole_pressure"


@pytest.fixture(scope="session")
def papers(studio: Matter) -> dict[str, str]:
    """The text of every paper of the studio."""
    return {name: read(pdf(make(studio), "letter", DAY)) for name, make in PAPERS.items()}


def test_every_hole_stands_with_its_own_numbers(studio: Matter, papers: dict[str, str]) -> None:
    held = studio.outcome.holding
    assert held is not None
    for hole in held.holes:
        now, worst = (format_quantity(value, HOLE, US, with_unit=False) for value in (hole.suction, hole.worst))
        bands = [
            " to ".join(format_quantity(edge, HOLE, US, with_unit=False) for edge in band)
            for band in (hole.band, hole.worst_band)
        ]
        assert f"{hole.name} {now} {bands[0]} {worst} {bands[1]}" in papers["design"]
        assert f"{hole.name} {now} {bands[0]}" in papers["card"]
        assert f"{hole.name} {now} {bands[0]} {worst}" in papers["startup"]


def test_the_numbers_of_the_answer_stand_as_they_are_written_elsewhere(studio: Matter, papers: dict[str, str]) -> None:
    outcome = studio.outcome
    assert outcome.operating is not None
    assert outcome.year is not None
    assert outcome.holding is not None

    def written(value: float, dimension: str) -> str:
        return format_quantity(value, dimension, US)  # type: ignore[arg-type]

    gauge = written(outcome.gauge, "pressure")
    for name in ("design", "card", "startup"):
        assert gauge.partition(" ")[0] in papers[name]
        assert verdict_in_full(outcome.holding) in papers[name].replace("Meets", "meets")
    assert written(outcome.operating.flow, "flow") in papers["design"]
    fan, air, total = outcome.year.cost_told
    for name in ("design", "owner"):
        assert f"{total:.0f} EUR" in papers[name]
        assert f"fan {fan:.0f} + heating {air:.0f}" in papers[name]
    assert written(outcome.sound[0].level, "heard") in papers["owner"]
    full = studio.at(1.0)
    assert full.year is not None
    assert f"{full.year.cost_told[2] - total:.0f} EUR a year" in papers["owner"]


def test_every_row_of_the_card_is_an_answer_of_its_own(studio: Matter, papers: dict[str, str]) -> None:
    for speed in (1.0, 0.8, studio.prepared.lowest.confident):
        assert speed is not None
        outcome = studio.prepared.rested(speed)
        assert outcome.operating is not None
        assert outcome.holding is not None
        states = {hole.name: hole for hole in outcome.holding.holes}
        row = [format_quantity(outcome.gauge, "pressure", US, with_unit=False)]
        row += [format_quantity(states[h.name].suction, HOLE, US, with_unit=False) for h in studio.holes]
        row.append(format_quantity(outcome.operating.power, "power", US, with_unit=False))
        row.append(format_quantity(outcome.sound[0].level, "heard", US, with_unit=False))
        assert " ".join(row) in papers["card"]


def test_losses_on_paper_add_up(studio: Matter) -> None:
    from workbench.papers.blocks import Columns, Table

    design = PAPERS["design"](studio)
    table = next(b for c in design.blocks if isinstance(c, Columns) for b in c.right if isinstance(b, Table))
    assert table.name == "Losses"
    *parts, total = [float(row[1].text.replace("\N{MINUS SIGN}", "-")) for row in table.rows]
    assert sum(parts) == pytest.approx(total, abs=1e-9)
    *shares, whole = [float(row[2].text.split("\u00a0")[0].replace("\N{MINUS SIGN}", "-")) for row in table.rows]
    assert sum(shares) == whole == 100


@pytest.mark.parametrize("name", list(PAPERS))
def test_it_is_an_archive_for_screen_readers_with_its_letters_in_it(studio: Matter, name: str) -> None:
    reader = PdfReader(io.BytesIO(pdf(PAPERS[name](studio), "letter", DAY)))
    catalog = reader.trailer["/Root"]
    assert catalog["/MarkInfo"]["/Marked"]
    assert catalog["/Lang"].startswith("en")
    declared = catalog["/Metadata"].get_object().get_data().decode()
    assert "pdfaid:part>2<" in declared
    assert "pdfaid:conformance>A<" in declared
    assert "pdfuaid:part>1<" in declared
    fonts = [font.get_object() for page in reader.pages for font in page["/Resources"]["/Font"].get_object().values()]
    assert fonts
    for font in fonts:
        descendant = font["/DescendantFonts"][0].get_object()
        described = descendant["/FontDescriptor"].get_object()
        assert "SubslabSans" in described["/FontName"]
        assert any(key.startswith("/FontFile") for key in described)


@pytest.mark.parametrize("page", ["letter", "a4"])
@pytest.mark.parametrize("name", ["visit", "card", "owner", "startup"])
def test_what_is_one_page_is_one_page(studio: Matter, studio_si: Matter, name: str, page: str) -> None:
    for m in (studio, studio_si):
        reader = PdfReader(io.BytesIO(pdf(PAPERS[name](m), page, DAY)))  # type: ignore[arg-type]
        assert len(reader.pages) == 1
        # ISO 216 and ANSI/ASME Y14.1, in points
        size = {"letter": (612.0, 792.0), "a4": (595.28, 841.89)}[page]
        assert tuple(map(float, reader.pages[0].mediabox[2:])) == pytest.approx(size, abs=0.05)


@pytest.mark.parametrize("name", [name for name in PAPERS if name != "visit"])
def test_every_page_says_that_it_is_invented_and_no_proof(studio: Matter, name: str) -> None:
    for text in pages(PAPERS[name](studio)):
        assert "Invented demonstration." in text
        assert "only a radon test after the work shows the result" in text
        assert "Local code and the license prevail" in text


def test_a_real_house_is_not_called_invented(studio: Matter) -> None:
    real = Matter(studio.prepared, studio.outcome, US, day=DAY)
    real.design = studio.design.model_copy(update={"invented": False})
    assert "Invented" not in " ".join(pages(PAPERS["card"](real)))


def test_a_blank_form_has_no_figure_of_a_house(papers: dict[str, str], studio: Matter) -> None:
    assert studio.design.title not in papers["visit"]
    assert not [hole.name for hole in studio.design.holes if hole.name in papers["visit"]]
    for asked in (
        "Pit in the test, gal",
        "Suction at the point in. w.c.",
        "Airflow cfm",
        "Every exhaust on",
        "At rest",
    ):
        assert asked in papers["visit"]


@pytest.mark.parametrize("name", list(PAPERS))
def test_the_same_design_and_day_give_the_same_bytes(studio: Matter, name: str) -> None:
    again = Matter(studio.prepared, studio.outcome, US, day=DAY)
    first, second = (pdf(PAPERS[name](m), "letter", DAY) for m in (studio, again))
    assert first == second


def test_no_paper_claims_safety_or_compliance(papers: dict[str, str]) -> None:
    for text in papers.values():
        words = text.lower()
        assert "is safe" not in words
        assert "complies with" not in words
        assert "compliant" not in words


def test_the_owner_is_told_the_limits_of_the_rule_sheet(studio: Matter) -> None:
    from workbench.design.rules import Rule, RuleSheet

    def rule(key: str, value: float, unit: str) -> Rule:
        words = {"source": "A", "edition": "1", "place": "B", "kind": "requirement", "tag": "published"}
        return Rule(key=key, what=key, value=value, unit=unit, comparison="at most", **words)  # type: ignore[arg-type]

    rules = (rule("monitor_change", 0.1, ""), rule("retest_interval", 5 * 365 * 86400.0, "s"))
    strict = Matter(studio.prepared, studio.outcome, US, day=DAY)
    strict.design = studio.design.model_copy(update={"rules": RuleSheet(title="S", place="B", rules=rules)})
    for m, share, words in ((studio, 0.2, "Every 2 years"), (strict, 0.1, "Every 5 years")):
        text = " ".join(pages(PAPERS["owner"](m)))
        edges = [(1 - share) * m.outcome.gauge, (1 + share) * m.outcome.gauge]
        assert " to ".join(format_quantity(edge, "pressure", US, with_unit=False) for edge in edges) in text
        assert f"± {100 * share:.0f} % of it" in text
        assert words in text


def test_marks_are_those_of_the_window() -> None:
    assert {key: SHAPES[key] for key in MARKS} == MARKS


@pytest.mark.parametrize("scene", scene_names())
def test_every_example_has_its_papers(scene: str) -> None:
    m = matter_of(load_scene(scene), SI)
    for make in PAPERS.values():
        assert read(pdf(make(m), "a4", DAY))
    # a part that runs over onto a page has the next one beneath it
    sheet = pages(PAPERS["design"](matter_of(load_scene(scene))))
    assert len(sheet) <= 3
    assert all(len(page) > 800 for page in sheet[:-1])


@pytest.mark.parametrize("name", list(PAPERS))
def test_the_page_for_browsers_says_the_same(studio: Matter, papers: dict[str, str], name: str) -> None:
    import re
    from html import unescape

    page = html(PAPERS[name](studio))
    text = plain(unescape(re.sub(r"<[^>]+>", " ", re.sub(r"<(style|svg).*?</\1>", " ", page, flags=re.DOTALL))))
    for number in re.findall(r"\d+\.\d+", text):
        assert number in papers[name]
    assert "http" not in re.sub(r'xmlns="[^"]*"|http-equiv', "", page)
    assert "<script" not in page


def test_words_of_a_figure_fit_their_frames_in_whatever_font_a_browser_has(studio: Matter) -> None:
    page = html(PAPERS["design"](studio))
    names = [hole.name for hole in studio.design.holes]
    assert names
    for name in names:
        of_text = r'<text [^>]*font-size="([\d.]+)"( font-weight="700")?[^>]* textLength="([\d.]+)"[^>]*>'
        (size, weight, length, words), *_ = re.findall(rf"{of_text}([^<]*{name}[^<]*)<", page)
        assert float(length) == pytest.approx(breadth(words, float(size), bool(weight)), abs=0.01)


def test_a_card_can_be_made_at_any_speed(at: Callable[[float], Matter]) -> None:
    for speed in (0.3, 0.5, 1.0):
        assert "Dial-back card" in " ".join(pages(PAPERS["card"](at(speed))))


def test_radon_tests_stand_on_the_owner_s_sheet_as_they_were_entered(studio: Matter) -> None:
    design = studio.design.model_copy(
        update={
            "job": Job(
                before=RadonTest(date="Feb 2 to 5", where="Workshop", method="Charcoal, 72 h", result="11.4 pCi/L"),
                after=RadonTest(result="2.1 pCi/L =cmd|x"),
            )
        }
    )
    told = read(pdf(PAPERS["owner"](matter_of(design)), "letter", DAY))
    assert "Before the work Feb 2 to 5 Workshop Charcoal, 72 h 11.4 pCi/L" in told
    assert "After the work 2.1 pCi/L =cmd|x" in told
    assert "Results as they were entered" in told
    none = read(pdf(PAPERS["owner"](studio), "letter", DAY))
    assert "No result was entered" in none
    assert "pCi/L" not in none


def test_without_a_likelihood_the_owner_is_told_that_it_is_uncertain(studio: Matter) -> None:
    held = studio.outcome.holding
    assert held is not None
    unsure = replace(studio.outcome, holding=replace(held, chance=None, chance_read=None))
    assert unsure.verdict == "unsure"
    told = read(pdf(PAPERS["owner"](Matter(studio.prepared, unsure, US, day=DAY)), "letter", DAY))
    assert "on the worst winter day is uncertain, and a radon test has the last word." in told
    assert "likely to keep" not in told
