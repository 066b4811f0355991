"""The command that diagnoses a visit: which visit, what it prints, and bad input in one line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.visited import visit, visited
from workbench import __main__ as program
from workbench.design.visits import PowerReading, Visit
from workbench.files.diagnosis_text import NO_PROOF
from workbench.files.project import save_project
from workbench.files.scenes import load_scene
from workbench.solving.later.causes import kinds

STUDIO = load_scene("studio")
FEW = ("gauge", "power")
BEGUN = visit(STUDIO, kind="start-up", date="2026-01-20", what=("gauge", "power", "holes"))
LEAK = visit(STUDIO, "leak at the fan", size=20e-4, date="2027-01-20", what=FEW)
BLOCKED = visit(STUDIO, "outlet blocked", date="2027-02-20", what=("gauge", "power", "holes"))
SAME = visit(STUDIO, kind="yearly check", date="2027-03-20", what=("gauge",))
TWICE = LEAK.model_copy(update={"order": 2})


@pytest.fixture
def job(tmp_path: Path) -> str:
    path = tmp_path / "job.json"
    save_project(visited(STUDIO, BEGUN, SAME, LEAK, BLOCKED), path)
    return str(path)


def printed(capsys: pytest.CaptureFixture[str], *argv: str, code: int = 0) -> str:
    assert program.main(["diagnose", *argv]) == code
    out, err = capsys.readouterr()
    assert (err == "") == (code == 0)
    return out if code == 0 else err


def test_json_has_readings_and_causes_best_first(job: str, capsys: pytest.CaptureFixture[str]) -> None:
    told = json.loads(printed(capsys, job, "--json", "--visit", "2027-02-20"))
    assert told["visit"] == {"date": "2027-02-20", "kind": "call-out", "order": 1}
    assert told["start_up"]["date"] == "2026-01-20"
    gauge = told["readings"][0]
    assert {"what", "read", "expected", "band", "inside"} <= set(gauge)
    assert (gauge["what"], gauge["inside"]) == ("gauge", False)
    assert BLOCKED.gauge is not None
    assert gauge["read"] == BLOCKED.gauge.pressure < gauge["band"][0] < gauge["expected"] < gauge["band"][1]
    assert told["finding"] == "one"
    assert told["causes"][0]["cause"] == "outlet blocked"
    assert {"cause", "bend", "misfit", "likelihood", "tell_apart"} <= set(told["causes"][0])
    assert sum(cause["likelihood"] for cause in told["causes"]) == pytest.approx(1.0)
    assert told["causes"][0]["tell_apart"] == {"what": "past fan", "where": ""}
    assert told["caution"] == NO_PROOF
    assert {cause["cause"] for cause in told["causes"]} <= {kind.key for kind in kinds()}


@pytest.mark.parametrize("date", ["2027-01-20", "2027-02-20", "2027-03-20"])
@pytest.mark.parametrize("units", ["si", "us"])
def test_every_text_says_that_it_is_no_proof(
    date: str, units: str, job: str, capsys: pytest.CaptureFixture[str]
) -> None:
    text = " ".join(printed(capsys, job, "--visit", date, "--units", units).split())
    assert NO_PROOF in text
    assert "licensed practitioner" in text
    assert "only a radon test" in text
    assert ("in. w.c." in text) == (units == "us")


def test_the_text_names_what_to_read_next_and_what_it_cannot_see(job: str, capsys: pytest.CaptureFixture[str]) -> None:
    leak = " ".join(printed(capsys, job, "--visit", "2027-01-20").split())
    assert "cannot separate these causes" in leak
    assert "a leak or a slipped coupling just before the fan" in leak
    assert "Read next, to separate the first two: riser just above the slab: Kiln corner." in leak
    assert "low by 6.1 standard errors" in leak
    same = " ".join(printed(capsys, job).split())
    assert "Yearly check of 2027-03-20" in same
    assert "within what is expected" in same
    assert "these would not show in the readings" in same
    assert "cracks" in same.partition("would not show")[2]


def test_causes_that_do_not_fit_are_given_no_likelihood(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The gauge as expected, and a meter that shows nothing."""
    assert SAME.gauge is not None
    odd = SAME.model_copy(update={"power": PowerReading(power=0.0), "date": "2027-04-20"})
    save_project(visited(STUDIO, BEGUN, odd), tmp_path / "job.json")
    told = printed(capsys, str(tmp_path / "job.json"))
    listed = told.partition("the nearest are:")[2].partition("Read next")[0]
    assert "  - " in listed
    assert "%" not in listed


def test_a_visit_is_named_by_its_kind_or_order_where_a_day_has_several(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "twice.json"
    check = SAME.model_copy(update={"date": LEAK.date})
    save_project(visited(STUDIO, LEAK, TWICE, check), path)
    day = LEAK.date
    for asked in (day, f"{day} call-out", f"{day} 1"):
        line = printed(capsys, str(path), "--visit", asked, code=2)
        assert line.count("\n") == 1
        assert "visits of that day" in line
    for asked, kind, order in (
        (f"{day} yearly check", "yearly check", 1),
        (f"{day} 2", "call-out", 2),
        (f"{day} call-out 1", "call-out", 1),
    ):
        told = json.loads(printed(capsys, str(path), "--json", "--visit", asked))
        assert told["visit"] == {"date": day, "kind": kind, "order": order}
        assert told["start_up"] is None


def test_bad_input_is_refused_in_a_line(tmp_path: Path, job: str, capsys: pytest.CaptureFixture[str]) -> None:
    bare, empty = tmp_path / "bare.json", tmp_path / "empty.json"
    save_project(STUDIO, bare)
    save_project(visited(STUDIO, Visit(date="2027-01-20")), empty)
    for argv, words in (
        ((str(bare),), "there are no visits"),
        ((job, "--visit", "2030-01-01"), "there is no such visit; there are those of 2026-01-20"),
        ((str(empty),), "nothing was read on this visit"),
        ((str(tmp_path / "none.json"),), "there is no such file"),
    ):
        line = printed(capsys, *argv, code=2)
        assert line.count("\n") == 1
        assert words in line


def test_what_a_visit_would_teach_is_told_and_nothing_is_written(job: str, capsys: pytest.CaptureFixture[str]) -> None:
    before = Path(job).read_bytes()
    told = json.loads(printed(capsys, job, "--visit", "2026-01-20", "--correct", "--json"))
    assert told["visit"] == {"date": "2026-01-20", "kind": "start-up", "order": 1}
    assert {each["what"] for each in told["moved"]} >= {"ground", "pipe", "fan speed", "fan power"}
    for each in told["moved"]:
        for edges in (each["before"], each["after"]):
            assert edges["low"] <= edges["factor"] <= edges["high"]
    assert told["chi_square"] < told["gate"]
    assert [each["what"] for each in told["readings"]] == ["gauge", "power", *["hole"] * len(STUDIO.holes)]
    text = printed(capsys, job, "--visit", "2026-01-20", "--correct", "--units", "us")
    assert "Fan speed, over its setting" in text
    assert "in. w.c." in text
    assert "A prediction is not a proof" in " ".join(text.split())
    assert Path(job).read_bytes() == before


def test_readings_that_contradict_correct_nothing(job: str, capsys: pytest.CaptureFixture[str]) -> None:
    said = printed(capsys, job, "--visit", "2027-02-20", "--correct", code=2)
    assert "look for a cause first" in said
