"""Many jobs from the command line. The reference is each job answered by itself: together nothing may differ."""

from __future__ import annotations

import contextlib
import json
import math
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pandas as pd
import pytest
from openpyxl import load_workbook

from workbench.commands import run
from workbench.console import Refused, Window
from workbench.design.record import with_value
from workbench.files import tables
from workbench.files.job import prepare, solve
from workbench.files.project import save_project
from workbench.files.scenes import load_scene
from workbench.gathering import files_asked
from workbench.paperwork import own_folders

ROOT = Path(__file__).resolve().parent.parent
NO_PLAN = with_value(load_scene("studio"), ("slab",), None)
SPEEDS = (0.9, 0.5, 0.7)


def called(*words: str) -> int:
    def nothing(*_: object) -> int:
        raise AssertionError("no window is asked for")

    return run(words, Window(nothing, nothing))  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three jobs, one of them in a folder below, and two files that are none."""
    where = tmp_path_factory.mktemp("jobs")
    (where / "older").mkdir()
    for speed, name in zip(SPEEDS, ("b.json", "older/a.json", "c.json"), strict=True):
        design = with_value(with_value(NO_PLAN, ("title",), f"=Job {name}"), ("speed",), speed)
        save_project(design, where / name)
    (where / "a broken one.json").write_text("{", encoding="utf-8")
    (where / "notes.txt").write_text("no project", encoding="utf-8")
    (where / "z.json").write_text('{"format": "other"}', encoding="utf-8")
    return where


IN_ORDER = ("a broken one.json", "b.json", "c.json", "older/a.json", "z.json")
BAD = ("a broken one.json", "z.json")


@pytest.mark.parametrize("processes", ["1", "2"])
def test_a_folder_is_answered_job_by_job(folder: Path, capsys: pytest.CaptureFixture[str], processes: str) -> None:
    assert called("solve", str(folder), "--json", "--processes", processes) == 2
    out, err = capsys.readouterr()
    told = json.loads(out)
    assert [each["file"] for each in told] == [str(folder / name) for name in IN_ORDER]
    for name, each in zip(IN_ORDER, told, strict=True):
        if name in BAD:
            assert each.keys() == {"file", "why"}
            assert f"{folder / name}: {each['why']}\n" in err
            continue
        assert called("solve", str(folder / name), "--json") == 0
        assert {"file": str(folder / name), **json.loads(capsys.readouterr().out)} == each
    assert err.count("\n") == len(BAD)


def test_text_bears_the_names_of_the_files_and_strict_comes_after_what_is_left_out(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert called("solve", str(folder), "--strict", "--processes", "1") == 2
    out, err = capsys.readouterr()
    lines = out.splitlines()
    places = [lines.index(str(folder / name)) for name in IN_ORDER if name not in BAD]
    assert places == sorted(places)
    assert not any(str(folder / name) in lines for name in BAD)
    assert f"{folder / 'older/a.json'}: " in err
    good = [str(folder / name) for name in IN_ORDER if name not in BAD]
    assert called("solve", *good, "--strict", "--speed", "0.4") == 1
    capsys.readouterr()
    assert called("solve", *good, "--speed", "0.4") == 0


def test_files_are_taken_once_in_the_order_they_are_named(folder: Path) -> None:
    asked = [folder / "c.json", folder, folder / "b.json", folder / "older" / ".." / "c.json"]
    found = files_asked(asked)
    assert found[0] == folder / "c.json"
    assert found[1:] == [folder / name for name in IN_ORDER if name != "c.json"]


@pytest.mark.parametrize("ending", [".csv", ".xlsx", ".parquet"])
def test_a_table_has_a_row_for_each_file(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], ending: str
) -> None:
    if ending == ".parquet":
        pytest.importorskip("pyarrow")
    path = tmp_path / f"jobs{ending}"
    assert called("solve", str(folder), "--table", str(path), "--processes", "2") == 2
    assert capsys.readouterr().out == ""
    reading = {".csv": pd.read_csv, ".xlsx": pd.read_excel, ".parquet": pd.read_parquet}[ending]
    rows = reading(path)
    assert list(rows["file"]) == [str(folder / name) for name in IN_ORDER]
    for (_, row), name in zip(rows.iterrows(), IN_ORDER, strict=True):
        if name in BAD:
            assert row["left_out"]
            # nothing that could be taken for a verdict
            assert pd.isna(row["verdict"]) or row["verdict"] == ""
            assert math.isnan(row["chance"])
            continue
        prepared, outcome = prepare(folder / name), solve(folder / name)
        assert outcome.operating is not None
        assert outcome.holding is not None
        assert outcome.year is not None
        loudest = max(outcome.sound, key=lambda heard: heard.level)
        expected = {
            "speed": outcome.speed,
            "flow_m3s": outcome.operating.flow,
            "power_W": outcome.operating.power,
            "gauge_Pa": outcome.gauge,
            "chance": outcome.holding.chance,
            "margin_Pa": outcome.holding.margin,
            "lowest_speed": prepared.lowest.confident,
            "lowest_speed_best_estimate": prepared.lowest.best_estimate,
            "loudest_dBA": loudest.level,
            "cost": outcome.year.cost,
        }
        assert {key: row[key] for key in expected} == pytest.approx(expected, rel=1e-9)
        assert (row["verdict"], row["weakest_hole"]) == (outcome.verdict, outcome.holding.weakest)
        assert (row["loudest_at"], row["currency"]) == (loudest.place, outcome.year.currency)
        # shown, and never calculated
        assert row["title"] == ("'" if ending == ".csv" else "") + f"=Job {name}"
        assert pd.isna(row["left_out"]) or row["left_out"] == ""
    if ending == ".xlsx":
        assert all(cell.data_type == "s" for cell in load_workbook(path)["Jobs"]["B"][2:5])


def test_one_job_and_the_demonstration_go_into_a_table_as_well(folder: Path, tmp_path: Path) -> None:
    for given in ([], [str(folder / "b.json")]):
        assert called("solve", *given, "--table", str(tmp_path / "one.csv")) == 0
        (row,) = pd.read_csv(tmp_path / "one.csv", keep_default_na=False).to_dict("records")
        assert row["file"] == "".join(given)
        assert row["verdict"] == "holds"


def test_what_cannot_be_is_refused_before_the_work(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tables, "find_spec", lambda _: None)
    monkeypatch.setitem(sys.modules, "distributed", None)
    (tmp_path / "empty").mkdir()
    for words, sentence in (
        (("--table", "jobs.txt"), "ends in .csv, .xlsx or .parquet"),
        (("--table", str(tmp_path / "none" / "jobs.csv")), "there is no such folder"),
        (("--table", str(tmp_path / "jobs.parquet")), "needs pyarrow"),
        (("--scheduler", "tcp://127.0.0.1:1"), "pip install 'subslab-workbench[cluster]'"),
        (("--scheduler", "tcp://127.0.0.1:1", "--processes", "2"), "give one of them"),
        (("--speed", "5"), "--speed 5: "),
        ((str(tmp_path / "empty"),), "there are no project files in it"),
    ):
        assert called("solve", str(folder), *words) == 2
        out, err = capsys.readouterr()
        assert sentence in err
        assert (out, err.count("\n")) == ("", 1)


# --- papers -----------------------------------------------------------------------------------------------------------


def test_papers_of_a_folder_lie_as_its_jobs_do(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = ("--only", "card", "--format", "html", "--date", "2026-11-30")
    assert called("papers", str(folder), "--out", str(tmp_path / "all"), *asked, "--processes", "2") == 2
    out, err = capsys.readouterr()
    made = [Path(line) for line in out.splitlines()]
    assert [path.relative_to(tmp_path / "all").as_posix() for path in made] == [
        "b/card.html",
        "c/card.html",
        "older/a/card.html",
    ]
    assert err.count("\n") == len(BAD)
    for path, name in zip(made, ("b", "c", "older/a"), strict=True):
        assert called("papers", str(folder / f"{name}.json"), "--out", str(tmp_path / "one"), *asked) == 0
        assert path.read_bytes() == (tmp_path / "one" / "card.html").read_bytes()
    everything = [path for path in (tmp_path / "all").rglob("*") if path.is_file()]
    assert sorted(everything) == sorted(made)


def test_no_two_jobs_share_a_folder() -> None:
    files = [Path("a/x.json"), Path("a/X.JSON"), Path("b/x.json"), Path("b/y.json")]
    own = [own_folders(files)[os.path.abspath(file)].as_posix() for file in files]
    assert own == ["a/x.json", "a/X.JSON", "b/x", "b/y"]


def test_what_is_piped_in_is_refused_among_several(folder: Path, tmp_path: Path) -> None:
    assert called("papers", str(folder), "-", "--out", str(tmp_path)) == 2
    assert not os.listdir(tmp_path)


# --- progress, and calling it off -------------------------------------------------------------------------------------


def test_progress_is_told_on_a_terminal_alone(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    good = [str(folder / name) for name in IN_ORDER if name not in BAD]
    assert called("solve", *good) == 0
    assert capsys.readouterr().err == ""
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    assert called("solve", *good) == 0
    assert capsys.readouterr().err == "\r1 of 3 files\r2 of 3 files\r3 of 3 files\n"


@pytest.mark.skipif(sys.platform == "win32", reason="a group of processes is called off otherwise there")
@pytest.mark.parametrize("after", [0.6, 2.5])
def test_called_off_everything_ends_with_a_sentence(folder: Path, tmp_path: Path, after: float) -> None:
    """While processes are begun and while they work; a terminal sends the call to all of them."""
    for number in range(400):
        (tmp_path / f"{number:03}.json").write_bytes((folder / "b.json").read_bytes())
    words = [sys.executable, "-m", "workbench", "solve", str(tmp_path), "--processes", "2", "--json"]
    program = subprocess.Popen(
        words, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True
    )
    try:
        _wait_for_children(program.pid)
        time.sleep(after - 0.5)
        os.killpg(program.pid, signal.SIGINT)
        out, err = program.communicate(timeout=30)
        assert _living(program.pid) == []
    finally:
        with contextlib.suppress(ProcessLookupError):
            os.killpg(program.pid, signal.SIGKILL)
    assert (program.returncode, out) == (2, "")
    assert err.count("\n") == 1, err
    assert "called off after " in err
    assert "of 400 files" in err


def _living(group: int) -> list[int]:
    """Processes of a group that still run after a moment; told by Linux alone."""
    for _ in range(60):
        found = []
        for facts in Path("/proc").glob("[0-9]*/stat"):
            with contextlib.suppress(OSError):
                state, _parent, own = facts.read_text().rpartition(")")[2].split()[:3]
                if int(own) == group and state not in "ZX":
                    found.append(int(facts.parent.name))
        if not found:
            break
        time.sleep(0.05)
    return found


def _wait_for_children(pid: int) -> None:
    children = Path(f"/proc/{pid}/task/{pid}/children")
    for _ in range(200):
        if not children.exists() or len(children.read_text().split()) >= 2:
            return
        time.sleep(0.05)


def test_files_on_several_drives_have_no_folder_in_common(monkeypatch: pytest.MonkeyPatch) -> None:
    def apart(_: object) -> str:
        raise ValueError("Paths don't have the same drive")

    monkeypatch.setattr(os.path, "commonpath", apart)
    with pytest.raises(Refused, match="several drives"):
        own_folders([Path("a.json"), Path("b.json")])
