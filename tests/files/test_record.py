"""The record of many jobs, and work on many files: invented jobs whose readings are known to lie off by so much."""

from __future__ import annotations

import json
import math
import os
import signal
import time
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from openpyxl import load_workbook
from scipy.stats import chi2

from tests.visited import visit, visited
from workbench.commands import run
from workbench.console import Window
from workbench.design import Design
from workbench.design.ground import GroundClass
from workbench.design.record import with_value
from workbench.design.visit_edit import correct_by
from workbench.design.visits import Conditions, Visit
from workbench.files import many
from workbench.files.many import ENDED, over_files
from workbench.files.project import ProjectError, save_project
from workbench.files.scenes import load_scene
from workbench.solving.later.record import OFFERED_FROM, Compared, GroundFound, JobRecord, job_record, track_of

NO_PLAN = with_value(load_scene("studio"), ("slab",), None)
JOBS = 12
OFF = 0.06
"""How far the gauges of the jobs lie off, one standard deviation, as a logarithm."""


def job(number: int, bias: float = 0.0) -> Design:
    """An invented job with a start-up whose gauge lies off by a quantile of its own, and a yearly check like it."""
    there = Conditions(speed=NO_PLAN.speed, outdoor_temperature=NO_PLAN.place.outdoor_temperature)
    first = visit(NO_PLAN, kind="start-up", date="2026-11-30", what=("gauge", "power", "holes"), conditions=there)
    check = visit(NO_PLAN, kind="yearly check", date="2027-11-30", what=("gauge",), conditions=there)
    service = visit(NO_PLAN, "outlet blocked", kind="call-out", date="2028-01-30", what=("gauge",), conditions=there)
    assert first.gauge is not None
    off = bias + OFF * float(np.linspace(-1.5, 1.5, JOBS)[number])
    first, check = (_scaled(each, math.exp(off)) for each in (first, check))
    return with_value(visited(NO_PLAN, first, check, service), ("title",), f"Invented job {number}")


def _scaled(one: Visit, factor: float) -> Visit:
    assert one.gauge is not None
    return with_value(one, ("gauge", "pressure"), factor * one.gauge.pressure)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Twelve jobs, two of them in a folder below, and two files that are none."""
    where = tmp_path_factory.mktemp("jobs")
    (where / "older").mkdir()
    for number in range(JOBS):
        save_project(job(number, bias=0.03), (where / "older" if number < 2 else where) / f"job {number:02}.json")
    (where / "a broken one.json").write_text("{", encoding="utf-8")
    (where / "notes.txt").write_text("no project", encoding="utf-8")
    (where / "empty.json").write_text('{"format": "other"}', encoding="utf-8")
    return where


def called(*words: str) -> int:
    def nothing(*_: object) -> int:
        raise AssertionError("no window is asked for")

    return run(words, Window(nothing, nothing))  # type: ignore[arg-type]


# --- one job and many -------------------------------------------------------------------------------------------------


def test_a_job_is_held_against_its_design_and_its_start_up() -> None:
    design = job(0)
    found = job_record(design)
    gauge = {each.against: each for each in found.compared if each.what == "gauge"}
    assert gauge["design"].apart == pytest.approx(-1.5 * OFF, abs=1e-3)
    # a yearly check that reads what the start-up read is what was expected of it
    assert gauge["start-up"].apart == pytest.approx(0.0, abs=1e-3)
    assert {each.date for each in found.compared} == {"2026-11-30", "2027-11-30"}
    assert all(each.inside for each in found.compared if each.what != "gauge")


def test_a_correction_is_left_out_of_what_was_predicted() -> None:
    design = job(4)
    assert job_record(correct_by(design, 0)).compared == job_record(design).compared


def test_bias_scatter_and_share_are_those_of_the_readings() -> None:
    """Against numpy's mean and standard deviation."""
    records = [job_record(job(number, bias=0.03)) for number in range(JOBS)]
    track = track_of([*records, JobRecord((), ())])
    assert track.jobs == JOBS
    row = next(row for row in track.rows if (row.against, row.what) == ("design", "gauge"))
    off = 0.03 + OFF * np.linspace(-1.5, 1.5, JOBS)
    assert row.readings == row.jobs == JOBS
    assert row.bias == pytest.approx(off.mean(), abs=1e-3)
    assert row.scatter == pytest.approx(off.std(ddof=1), abs=1e-3)
    inside = [each.inside for record in records for each in record.compared if each.what == "gauge"][::2]
    assert row.inside == pytest.approx(np.mean(inside))
    assert 0.0 < row.inside < 1.0
    assert row.errors > 1.0
    assert row.errors_at_most == pytest.approx(row.errors * math.sqrt(JOBS / chi2.ppf(0.05, JOBS)))
    assert row.offered
    few = track_of(records[: OFFERED_FROM - 1])
    assert not any(each.offered for each in few.rows)


def test_a_quantity_stays_one_row_where_some_readings_have_no_ratio() -> None:
    """Split in two, neither part would have all the jobs behind it."""
    clear = Compared("design", "2026-11-30", "flow", "", 11.0, 10.0, (8.0, 12.0), 0.5, math.log(1.1), True)
    near = Compared("design", "2026-11-30", "flow", "", 1.0, 1.5, (-1.0, 4.0), -0.3, -0.5, False)
    records = [JobRecord((clear if number % 2 else near,), ()) for number in range(OFFERED_FROM)]
    (row,) = track_of(records).rows
    assert row.jobs == OFFERED_FROM
    assert row.offered
    assert not row.by_ratio
    assert row.bias == pytest.approx(np.mean([1.0, -0.5]))
    (alone,) = track_of([records[1]]).rows
    assert alone.by_ratio
    assert alone.bias == pytest.approx(math.log(1.1))


def test_grounds_are_told_by_job_and_class() -> None:
    """Points of one job stand in one ground and count once."""
    factors = [[1.2, 1.2], *([f] for f in np.exp(np.linspace(-0.5, 0.5, OFFERED_FROM - 1)))]
    records = [JobRecord((), tuple(GroundFound("silt", float(f)) for f in own)) for own in factors]
    (row,) = track_of(records).grounds
    logs = [math.log(own[0]) for own in factors]
    assert row.jobs == OFFERED_FROM
    assert row.factor == pytest.approx(math.exp(np.mean(logs)))
    assert row.spread == pytest.approx(np.std(logs, ddof=1))
    assert row.offered


def test_a_ground_of_which_only_the_class_was_known_is_learned_from_the_start_up() -> None:
    classed = with_value(NO_PLAN, ("intake", "source", "ground"), GroundClass(kind="sand and gravel"))
    there = Conditions(speed=classed.speed, outdoor_temperature=classed.place.outdoor_temperature)
    first = visit(classed, kind="start-up", date="2026-11-30", what=("gauge", "power", "flow"), conditions=there)
    assert first.flow is not None
    less = with_value(first, ("flow", "flow"), 0.85 * first.flow.flow)
    (even,), (tight,) = (job_record(visited(classed, each)).grounds for each in (first, less))
    assert even.kind == tight.kind == "sand and gravel"
    assert tight.factor > 1.05 * even.factor


# --- the command ------------------------------------------------------------------------------------------------------


def test_a_folder_is_told_with_its_bad_files_named(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert called("record", str(folder), "--json", "--processes", "2") == 0
    told = json.loads(capsys.readouterr().out)
    assert told["jobs"] == JOBS
    assert [each["file"] for each in told["skipped"]] == ["a broken one.json", "empty.json"]
    assert all(each["why"] for each in told["skipped"])
    gauge = next(row for row in told["quantities"] if (row["against"], row["what"]) == ("design", "gauge"))
    assert gauge["jobs"] == JOBS
    assert gauge["offered"]
    read = [each for each in told["readings"] if (each["against"], each["what"]) == ("design", "gauge")]
    assert len(read) == JOBS
    assert sum(each["inside"] for each in read) / JOBS == pytest.approx(gauge["inside"])


def test_text_and_spreadsheet_say_the_same(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert called("record", str(folder), "--processes", "1") == 0
    text = capsys.readouterr().out
    assert f"{JOBS} jobs" in text
    assert "System gauge" in text
    assert "a broken one.json" in text
    assert "offered, not taken over" in text
    assert "call-out" not in text
    sheet = tmp_path / "record.xlsx"
    assert called("record", str(folder), "--xlsx", str(sheet), "--processes", "1") == 0
    book = load_workbook(sheet)
    assert book.sheetnames == ["Quantities", "Grounds", "Readings", "Left out"]
    rows = list(book["Readings"].iter_rows(values_only=True))
    assert len(rows) - 1 == JOBS * 8
    assert [row[0] for row in book["Left out"].iter_rows(min_row=2, values_only=True)] == [
        "a broken one.json",
        "empty.json",
    ]


def test_what_is_no_folder_of_jobs_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for words, sentence in (
        ((str(tmp_path / "none"),), "no such folder"),
        ((str(tmp_path),), "no project files"),
        ((str(tmp_path), "--xlsx", "record.csv"), "ends in .xlsx"),
        ((str(tmp_path), "--processes", "0"), "not a number of processes"),
    ):
        assert called("record", *words) == 2
        assert sentence in capsys.readouterr().err


# --- many files -------------------------------------------------------------------------------------------------------


def measured(file: Path) -> int:
    """Work on a file by what is in it."""
    text = file.read_text(encoding="utf-8")
    if text == "end":
        time.sleep(0.2)
        os._exit(7)
    if text == "bad":
        raise ProjectError("there is a fault in it")
    if text == "worse":
        raise RuntimeError("of our own")
    return len(text)


@pytest.fixture
def some(tmp_path: Path) -> list[Path]:
    files = []
    for number in range(12):
        file = tmp_path / f"{number:02}.txt"
        file.write_text("x" * number, encoding="utf-8")
        files.append(file)
    return files


@pytest.mark.parametrize("processes", [1, 2])
def test_a_bad_file_stops_no_other(some: list[Path], processes: int) -> None:
    some[3].write_text("bad", encoding="utf-8")
    some[5].write_text("worse", encoding="utf-8")
    done = {each.file: each for each in over_files(measured, some, refusals=(ProjectError,), processes=processes)}
    assert list(sorted(done)) == some
    assert done[some[3]].refused == "there is a fault in it"
    assert done[some[5]].refused == "unexpected: RuntimeError"
    assert [each.result for file, each in sorted(done.items()) if not each.refused] == [0, 1, 2, 4, 6, 7, 8, 9, 10, 11]


def test_a_process_that_ends_takes_its_own_file_alone_along(some: list[Path]) -> None:
    """Nothing lost and nothing twice."""
    some[4].write_text("end", encoding="utf-8")
    done = list(over_files(measured, some, refusals=(ProjectError,), processes=2))
    assert sorted(each.file for each in done) == some
    assert [each.refused for each in done if each.refused] == [ENDED]
    assert next(each for each in done if each.refused).file == some[4]


def test_called_off_nothing_is_begun_further(some: list[Path]) -> None:
    going: Iterator[object] = over_files(measured, some, refusals=(ProjectError,), processes=2)
    next(going)
    going.close()  # type: ignore[attr-defined]
    with pytest.raises(StopIteration):
        next(going)


@pytest.mark.skipif(not hasattr(signal, "pthread_sigmask"), reason="signals cannot be held back there")
def test_a_call_to_end_waits_until_a_process_is_begun(some: list[Path], monkeypatch: pytest.MonkeyPatch) -> None:
    """Else one that is half begun would be left behind, or tell of its own end."""
    held: list[bool] = []

    class Watched(ProcessPoolExecutor):
        def submit(self, *args: Any, **more: Any) -> Any:
            held.append(signal.SIGINT in signal.pthread_sigmask(signal.SIG_BLOCK, ()))
            return super().submit(*args, **more)

    monkeypatch.setattr(many, "ProcessPoolExecutor", Watched)
    assert len(list(over_files(measured, some, refusals=(), processes=2))) == len(some)
    assert held == [True] * len(some)
    assert signal.SIGINT not in signal.pthread_sigmask(signal.SIG_BLOCK, ())
