"""Files put in their place whole: whatever ends the writing, the old one or the new one is there, and nothing else."""

from __future__ import annotations

import os
import signal
import stat
import subprocess
import sys
import time
from pathlib import Path

import pytest

from workbench.files import whole
from workbench.files.choices_table import save_choices
from workbench.files.project import ProjectError, save_project
from workbench.files.scenes import load_scene
from workbench.files.whole import put, sweep
from workbench.units import SI

if os.name != "posix":
    pytest.skip("kills, links and limits as POSIX has them", allow_module_level=True)

STUCK = """
import os, sys, time
from workbench.files import whole
def stuck(_handle):
    print("writing", flush=True)
    time.sleep(60)
os.fsync = stuck
whole.put(b"new", sys.argv[1])
"""


def killed_while_writing(file: Path) -> list[Path]:
    """What a process leaves beside a file when it is killed while it writes it; first what is there while it lives."""
    with subprocess.Popen([sys.executable, "-c", STUCK, str(file)], stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == "writing\n"
        while_it_lives = parts(file.parent)
        sweep(file.parent)
        assert parts(file.parent) == while_it_lives, "a file that is being written must be left alone"
        process.send_signal(signal.SIGKILL)
    return parts(file.parent)


def parts(folder: Path) -> list[Path]:
    return sorted(folder.glob(".*"))


def test_what_a_kill_leaves_is_removed_by_the_next_save_of_the_file(tmp_path: Path) -> None:
    file, other = tmp_path / "job.json", tmp_path / "other.json"
    put(b"old", file)
    assert len(killed_while_writing(file)) == 1
    assert file.read_bytes() == b"old"
    put(b"other", other)
    assert len(parts(tmp_path)) == 1
    put(b"next", file)
    assert file.read_bytes() == b"next"
    assert parts(tmp_path) == []


def test_a_folder_is_swept_of_what_any_kill_left_and_of_nothing_else(tmp_path: Path) -> None:
    own = tmp_path / ".subslab-notes.part"
    own.write_bytes(b"somebody's")
    killed_while_writing(tmp_path / "job.json")
    sweep(tmp_path)
    assert parts(tmp_path) == [own]
    sweep(tmp_path / "no such folder")


def test_where_the_disk_knows_no_locks_only_what_is_old_is_removed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import fcntl

    def none(*_: object) -> None:
        raise OSError(37, "No locks available")

    (left,) = killed_while_writing(tmp_path / "job.json")
    monkeypatch.setattr(fcntl, "flock", none)
    put(b"new", tmp_path / "job.json")
    assert left.exists()
    hours_ago = time.time() - 2 * whole._DEAD_AFTER
    os.utime(left, (hours_ago, hours_ago))
    put(b"newer", tmp_path / "job.json")
    assert os.listdir(tmp_path) == ["job.json"]


LIMITED = """
import resource, sys
from workbench.files.project import ProjectError, save_project
from workbench.files.scenes import load_scene
resource.setrlimit(resource.RLIMIT_FSIZE, (2000, 2000))
try:
    save_project(load_scene("clubhouses"), sys.argv[1])
except ProjectError as refusal:
    print(refusal)
"""


def test_a_disk_that_fills_leaves_the_old_file_and_says_so(tmp_path: Path) -> None:
    file = tmp_path / "job.json"
    save_project(load_scene(), file)
    before = file.read_bytes()
    run = subprocess.run([sys.executable, "-c", LIMITED, str(file)], capture_output=True, text=True, check=True)
    assert run.stdout == f"{file}: the file cannot be used (File too large)\n"
    assert file.read_bytes() == before
    assert os.listdir(tmp_path) == ["job.json"]


def test_nobody_reads_what_is_written_who_may_not_read_the_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "job.json"
    put(b"old", file)
    file.chmod(0o600)
    seen: list[int] = []
    flushed = os.fsync

    def look(handle: int) -> None:
        seen.append(stat.S_IMODE(os.fstat(handle).st_mode))
        flushed(handle)

    monkeypatch.setattr(os, "fsync", look)
    put(b"new", file)
    assert seen[0] == 0o600


def test_a_pipe_or_a_device_is_no_place_for_a_file(tmp_path: Path) -> None:
    pipe = tmp_path / "job.json"
    os.mkfifo(pipe)
    with pytest.raises(ProjectError, match="device or a pipe"):
        save_project(load_scene(), pipe)
    assert stat.S_ISFIFO(pipe.stat().st_mode)


def test_a_name_as_long_as_the_disk_allows_can_be_saved(tmp_path: Path) -> None:
    file = tmp_path / ("long" * 62 + ".json")
    put(b"content", file)
    assert os.listdir(tmp_path) == [file.name]


def test_a_spreadsheet_goes_through_a_link_and_keeps_the_rights_of_its_file(tmp_path: Path) -> None:
    file, link = tmp_path / "options.xlsx", tmp_path / "link.xlsx"
    file.write_bytes(b"")
    file.chmod(0o640)
    link.symlink_to(file)
    save_choices([], SI, link)
    assert link.is_symlink()
    assert file.stat().st_size > 0
    assert stat.S_IMODE(file.stat().st_mode) == 0o640


def test_a_folder_that_is_not_there_is_called_that(tmp_path: Path) -> None:
    with pytest.raises(ProjectError, match="no such folder"):
        save_project(load_scene(), tmp_path / "gone" / "job.json")
