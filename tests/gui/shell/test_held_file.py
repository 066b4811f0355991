"""A file that is held: locks of dead windows, content that others write meanwhile, files that go and come back."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from tests.gui.hand import Hand, answering
from workbench.design.record import with_value
from workbench.files.project import load_project, save_project
from workbench.files.scenes import load_scene
from workbench.gui.shell import filing
from workbench.gui.shell.held_file import HeldFile, fingerprint

posix = pytest.mark.skipif(os.name != "posix", reason="where the system itself lets go of a lock")


@pytest.fixture
def saved(tmp_path: Path) -> Path:
    path = tmp_path / "clubhouse.json"
    save_project(load_scene("clubhouses"), path)
    return path


def lock_of(file: Path) -> Path:
    return file.with_name(f".{file.name}.lock")


def left_lock(file: Path, *, process: int, computer: str) -> None:
    """A lock as a killed window leaves it, which names this process and computer."""
    lock_of(file).write_text(f"{process}\n{Path(os.path.realpath(sys.executable)).name}\n{computer}\n\n\n")
    long_ago = time.time() - 60
    os.utime(lock_of(file), (long_ago, long_ago))


@posix
@pytest.mark.parametrize(
    ("process", "computer"), [(os.getppid(), os.uname().nodename), (4, "a-computer-that-burned-down")]
)
def test_a_dead_lock_hinders_nobody_whoever_has_its_number_now(saved: Path, process: int, computer: str) -> None:
    left_lock(saved, process=process, computer=computer)
    held = HeldFile()
    held.take(saved)
    assert held.elsewhere() is None
    held.let_go()
    assert not lock_of(saved).exists()


HOLDING = """
import sys, time
from pathlib import Path
from workbench.gui.shell.held_file import HeldFile
held = HeldFile()
held.take(Path(sys.argv[1]))
print(held.elsewhere(), flush=True)
sys.stdin.readline()
"""


@posix
def test_a_living_window_keeps_its_lock_however_old(saved: Path) -> None:
    with subprocess.Popen(
        [sys.executable, "-c", HOLDING, str(saved)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as other:
        assert other.stdout is not None
        assert other.stdout.readline() == "None\n"
        long_ago = time.time() - 3600
        os.utime(lock_of(saved), (long_ago, long_ago))
        held = HeldFile()
        held.take(saved)
        elsewhere = held.elsewhere()
        assert elsewhere is not None
        assert elsewhere.process == other.pid
        other.kill()
        other.wait()
        assert held.elsewhere() is None
    held.let_go()


def test_what_another_program_writes_while_the_file_is_read_is_noticed(
    qtbot: QtBot, saved: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The file changes after it was read and before the window has it: saving over it would lose the change."""
    hand = Hand(qtbot)
    read = filing.load_project

    def change_after(path: Path) -> object:
        found = read(path)
        save_project(with_value(found, ("title",), "Theirs"), path)
        return found

    with monkeypatch.context() as meanwhile:
        meanwhile.setattr(filing, "load_project", change_after)
        hand.window.filing.open(saved)
    hand.document.propose(lambda design: with_value(design, ("title",), "Mine"), "Change title")
    asked = answering("stay")
    hand.choose("Save")
    assert "changed by another program" in asked()[0]
    assert load_project(saved).title == "Theirs"


def test_a_file_deleted_while_open_counts_as_unsaved(qtbot: QtBot, saved: Path, own_home: Path) -> None:
    hand = Hand(qtbot, load_project(saved), saved)
    assert not hand.window.isWindowModified()
    saved.unlink()
    qtbot.waitUntil(hand.window.isWindowModified, timeout=5000)
    assert "is no longer in its folder" in hand.bar.text
    # no file holds it: a copy does
    qtbot.waitUntil(lambda: bool(list((own_home / "recovery").glob("*.json"))), timeout=5000)
    asked = answering("stay")
    assert not hand.window.close()
    assert "unsaved changes" in asked()[0]
    hand.press("Save", hand.bar)
    assert load_project(saved) == hand.design
    assert not hand.window.isWindowModified()
    assert hand.bar.text == ""


def test_closing_at_once_after_the_file_was_deleted_asks_too(qtbot: QtBot, saved: Path) -> None:
    hand = Hand(qtbot, load_project(saved), saved)
    saved.unlink()
    asked = answering("stay")
    assert not hand.window.close()
    assert len(asked()) == 1


def test_a_file_that_comes_back_as_it_was_is_saved_again_and_another_is_not(qtbot: QtBot, saved: Path) -> None:
    hand = Hand(qtbot, load_project(saved), saved)
    away, content = saved.with_name("away.json"), saved.read_bytes()
    saved.rename(away)
    qtbot.waitUntil(hand.window.isWindowModified, timeout=5000)
    save_project(load_scene(), saved)
    qtbot.wait(2 * filing._LOOK_MS + 200)
    assert hand.window.isWindowModified()
    saved.write_bytes(content)
    qtbot.waitUntil(lambda: not hand.window.isWindowModified(), timeout=5000)
    assert hand.bar.text == ""


def test_recovered_work_still_notices_what_others_wrote_before_the_copy(
    qtbot: QtBot, saved: Path, own_home: Path
) -> None:
    """Opened, changed by another program, then edited here, killed: the copy is the newest, and both count."""
    recovery = own_home / "recovery"
    recovery.mkdir(parents=True)
    opened = fingerprint(saved)
    save_project(with_value(load_scene("clubhouses"), ("title",), "Theirs"), saved)
    copy = recovery / "unsaved-1-1.json"
    save_project(with_value(load_scene("clubhouses"), ("title",), "Mine"), copy)
    copy.with_suffix(".file").write_text(json.dumps({"file": str(saved), "seen": opened}), encoding="utf-8")
    later = saved.stat().st_mtime + 10
    os.utime(copy, (later, later))
    hand = Hand(qtbot)
    hand.press("Recover", hand.bar)
    assert hand.document.path == saved
    asked = answering("stay")
    hand.choose("Save")
    assert "changed by another program" in asked()[0]
    assert load_project(saved).title == "Theirs"
