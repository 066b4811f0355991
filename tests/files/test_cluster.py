"""Work on many files on a real cluster of two workers on this machine; left out where Dask is not installed."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from functools import partial
from pathlib import Path

import pytest

from workbench.commands import run
from workbench.console import Window
from workbench.files.many import ENDED, Done, NoCluster, over_files
from workbench.files.project import ProjectError, save_project
from workbench.files.scenes import load_scene

pytest.importorskip("distributed")

ROOT = Path(__file__).resolve().parents[2]
FILES = 24
_SETTINGS = {"DASK_DISTRIBUTED__COMM__TIMEOUTS__CONNECT": "10s", "DASK_DISTRIBUTED__SCHEDULER__ALLOWED_FAILURES": "1"}


class Cluster:
    """A scheduler and workers, each a process of its own."""

    def __init__(self, where: Path) -> None:
        self.where = where
        self.processes: list[subprocess.Popen[bytes]] = []
        self.facts = where / "scheduler.json"
        self.scheduler = self.begun(
            "dask_scheduler", "--host", "127.0.0.1", "--port", "0", "--no-dashboard", "--no-show"
        )
        while not self.facts.exists():
            assert self.scheduler.poll() is None
            time.sleep(0.05)
        self.workers = [self.worker(), self.worker()]

    def begun(self, program: str, *words: str) -> subprocess.Popen[bytes]:
        self.processes.append(
            subprocess.Popen(
                [sys.executable, "-m", f"distributed.cli.{program}", "--scheduler-file", str(self.facts), *words],
                cwd=self.where,
                env={**os.environ, **_SETTINGS, "PYTHONPATH": str(ROOT), "OPENBLAS_NUM_THREADS": "1"},
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
            )
        )
        return self.processes[-1]

    def worker(self) -> subprocess.Popen[bytes]:
        return self.begun("dask_worker", "--nthreads", "1", "--no-nanny", "--no-dashboard", "--death-timeout", "60")

    @property
    def address(self) -> str:
        return str(json.loads(self.facts.read_text("utf-8"))["address"])

    def end(self) -> None:
        for process in self.processes:
            process.kill()
        for process in self.processes:
            process.wait()


@pytest.fixture
def cluster(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Cluster]:
    made = Cluster(tmp_path_factory.mktemp("cluster"))
    try:
        yield made
    finally:
        made.end()


@pytest.fixture
def some(tmp_path: Path) -> list[Path]:
    files = []
    for number in range(FILES):
        file = tmp_path / f"{number:02}.txt"
        file.write_text("x" * number, encoding="utf-8")
        files.append(file)
    return files


def measured(started: Path, file: Path) -> int:
    """Note on a list which process works on it, then take a moment."""
    with open(started, "a", encoding="utf-8") as told:
        told.write(f"{os.getpid()} {file.name}\n")
    time.sleep(0.1)
    text = file.read_text(encoding="utf-8")
    if text == "bad":
        raise ProjectError(f"{file}: there is a fault in it")
    if text == "worse":
        raise RuntimeError("of our own")
    if text == "end":
        os._exit(7)
    return len(text)


def begun(cluster: Cluster, some: list[Path]) -> Iterator[Done[int]]:
    work = partial(measured, cluster.where / "started.txt")
    return over_files(work, some, refusals=(ProjectError,), scheduler=cluster.address)


def started(cluster: Cluster) -> list[list[str]]:
    return [line.split() for line in (cluster.where / "started.txt").read_text("utf-8").splitlines()]


def test_of_two_workers_one_is_killed_in_the_middle(cluster: Cluster, some: list[Path]) -> None:
    """Nothing lost and nothing twice; both have worked."""
    some[3].write_text("bad", encoding="utf-8")
    some[5].write_text("worse", encoding="utf-8")
    done: list[Done[int]] = []
    killed = ""
    for each in begun(cluster, some):
        done.append(each)
        both = {pid for pid, _ in started(cluster)}
        if not killed and len(both) == 2 and len(done) >= 4:
            victim = next(worker for worker in cluster.workers if str(worker.pid) == started(cluster)[-1][0])
            victim.send_signal(signal.SIGKILL if sys.platform != "win32" else signal.SIGTERM)
            killed = str(victim.pid)
    assert killed
    assert len(done) == FILES
    by_file = {each.file: each for each in done}
    assert sorted(by_file) == some
    assert by_file[some[3]].refused == "there is a fault in it"
    assert by_file[some[5]].refused == "unexpected: RuntimeError"
    lengths = {some.index(file): each.result for file, each in by_file.items() if not each.refused}
    assert lengths == {number: number for number in range(FILES) if number not in (3, 5)}
    # what the lost one had begun and not told of is the only thing that is worked on once more
    assert len(started(cluster)) <= FILES + 2


def test_a_file_that_ends_its_workers_takes_no_other_along(cluster: Cluster, some: list[Path]) -> None:
    """Dask gives work out again until more workers were lost with it than are allowed, here one."""
    some[4].write_text("end", encoding="utf-8")
    for _ in range(4):
        cluster.worker()
    done = list(begun(cluster, some))
    assert sorted(each.file for each in done) == some
    assert [(each.file, each.refused) for each in done if each.refused] == [(some[4], ENDED)]


def test_called_off_nothing_is_begun_further(cluster: Cluster, some: list[Path]) -> None:
    going = begun(cluster, some)
    next(going)
    before = len(started(cluster))
    going.close()  # type: ignore[attr-defined]
    # all the rest would take two workers half of that
    time.sleep(0.1 * FILES)
    # what the workers had in hand goes on
    assert len(started(cluster)) <= before + len(cluster.workers)


def test_a_scheduler_that_goes_away_is_told(cluster: Cluster, some: list[Path]) -> None:
    going = begun(cluster, some)
    next(going)
    cluster.scheduler.kill()
    with pytest.raises(NoCluster, match="went away"):
        list(going)


@pytest.mark.parametrize("address", ["tcp://127.0.0.1:1", "nowhere://", "", "a b"])
def test_where_no_scheduler_is_that_is_told(some: list[Path], address: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("workbench.files.cluster._WAIT", 0.5)
    with pytest.raises(NoCluster, match="no Dask scheduler"):
        list(over_files(len, some, refusals=(), scheduler=address))  # type: ignore[arg-type]


def test_the_commands_work_on_it(cluster: Cluster, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """From paths that lead somewhere from here alone, the table is that of one process."""

    def nothing(*_: object) -> int:
        raise AssertionError("no window is asked for")

    def called(*words: str) -> int:
        return run(words, Window(nothing, nothing))  # type: ignore[arg-type]

    jobs = tmp_path / "jobs"
    jobs.mkdir()
    for name in "abc":
        save_project(load_scene("clubhouses"), jobs / f"{name}.json")
    (jobs / "bad.json").write_text("{", encoding="utf-8")
    here = os.path.relpath(jobs)
    told = []
    for where in (("--scheduler", cluster.address), ("--processes", "1")):
        assert called("solve", here, "--table", str(tmp_path / "jobs.csv"), *where) == 2
        told.append(((tmp_path / "jobs.csv").read_text("utf-8"), capsys.readouterr()))
    assert told[0] == told[1]
    out = os.path.relpath(tmp_path / "papers")
    words = ("papers", here, "--out", out, "--only", "card", "--format", "html")
    assert called(*words, "--scheduler", cluster.address) == 2
    assert [path.parent.name for path in sorted((tmp_path / "papers").rglob("*.html"))] == ["a", "b", "c"]
    capsys.readouterr()
    assert called("record", here, "--json", "--scheduler", cluster.address) == 0
    assert '"bad.json"' in capsys.readouterr().out
