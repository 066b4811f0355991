"""Unsaved work that outlives the process: written within seconds, found at the next start."""

from __future__ import annotations

import json
import os
import signal
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
from workbench.gui.shell import recovery
from workbench.gui.shell.held_file import fingerprint
from workbench.gui.shell.recovery import left_behind

SECONDS = 4
"""Within how many seconds work must be safe."""

DOOMED = """
import sys
from workbench.design.record import with_value
from workbench.files.scenes import load_scene
from workbench.gui.app import application, open_window

app = application()
window = open_window(load_scene())
window.show()
window.document.propose(lambda d: with_value(d, ("title",), "Lost and found"), "Change title")
print("edited", flush=True)
sys.exit(app.exec())
"""


@pytest.fixture
def copies(own_home: Path) -> Path:
    return own_home / "recovery"


def kept(folder: Path) -> list[Path]:
    return sorted(folder.glob("unsaved-*.json"))


def kill_one_with_unsaved_work(folder: Path, qtbot: QtBot) -> None:
    """A real process that edits, waits until its work is safe, and is killed."""
    before = kept(folder)
    process = subprocess.Popen([sys.executable, "-c", DOOMED], stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    try:
        assert process.stdout.readline() == "edited\n"
        qtbot.waitUntil(lambda: len(kept(folder)) > len(before), timeout=1000 * SECONDS)
        # while it lives, its work is its own
        assert len(left_behind(folder)) == len(before)
    finally:
        process.send_signal(signal.SIGKILL if os.name == "posix" else signal.SIGTERM)
        process.wait()
        process.stdout.close()


def test_unsaved_work_is_on_the_disk_within_seconds(hand: Hand, copies: Path, qtbot: QtBot) -> None:
    assert kept(copies) == []
    hand.drag(0.5)
    qtbot.waitUntil(lambda: bool(kept(copies)), timeout=1000 * SECONDS)
    assert load_project(kept(copies)[0]) == hand.design


def test_work_that_is_saved_or_taken_back_leaves_no_copy(hand: Hand, copies: Path, qtbot: QtBot) -> None:
    hand.drag(0.5)
    qtbot.waitUntil(lambda: bool(kept(copies)), timeout=1000 * SECONDS)
    hand.choose("Undo")
    qtbot.waitUntil(lambda: not kept(copies), timeout=1000 * SECONDS)


def test_closing_leaves_nothing_behind(hand: Hand, copies: Path, qtbot: QtBot) -> None:
    hand.drag(0.5)
    qtbot.waitUntil(lambda: bool(kept(copies)), timeout=1000 * SECONDS)
    answering("discard")
    assert hand.window.close()
    assert list(copies.iterdir()) == []


def test_work_of_a_killed_process_is_offered_and_brought_back(qtbot: QtBot, copies: Path) -> None:
    kill_one_with_unsaved_work(copies, qtbot)
    wanted = with_value(load_scene(), ("title",), "Lost and found")
    hand = Hand(qtbot)
    assert "Lost and found" in hand.bar.text
    assert hand.design == load_scene()
    hand.press("Recover", hand.bar)
    assert hand.design == wanted
    assert hand.window.isWindowModified()
    assert hand.bar.text == ""
    # safe again at once, under this process's own name
    assert [load_project(copy) for copy in kept(copies)] == [wanted]
    assert left_behind(copies) == []


def leave(folder: Path, title: str, age: int) -> None:
    """As a process that is gone leaves it: a copy, and no lock that anyone holds."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"unsaved-{age}-1.json"
    save_project(with_value(load_scene(), ("title",), title), path)
    os.utime(path, (1_700_000_000 - age, 1_700_000_000 - age))


def test_discarded_work_can_be_brought_back_until_the_program_ends(qtbot: QtBot, copies: Path) -> None:
    leave(copies, "Old work", 1)
    hand = Hand(qtbot)
    assert not hand.action("Bring back discarded").isEnabled()
    hand.press("Discard", hand.bar)
    assert hand.design == load_scene()
    assert not hand.window.isWindowModified()
    assert len(kept(copies)) == 1
    hand.press("Close", hand.bar)
    hand.choose("Bring back discarded")
    assert "Unsaved work on “Old work”" in hand.bar.text
    hand.press("Discard", hand.bar)
    hand.press("Undo discard", hand.bar)
    hand.press("Recover", hand.bar)
    assert hand.design.title == "Old work"


def test_discarded_work_is_gone_when_the_program_has_ended(qtbot: QtBot, copies: Path) -> None:
    leave(copies, "Old work", 1)
    hand = Hand(qtbot)
    hand.press("Discard", hand.bar)
    assert hand.window.close()
    assert list(copies.iterdir()) == []


def test_a_copy_is_offered_for_its_file_unless_the_file_is_newer(qtbot: QtBot, copies: Path, tmp_path: Path) -> None:
    file = tmp_path / "job.json"
    save_project(load_scene(), file)
    leave(copies, "Unsaved", 1)
    (copy,) = kept(copies)
    note = {"file": str(file), "seen": "what it held before another program changed it"}
    copy.with_suffix(".file").write_text(json.dumps(note), encoding="utf-8")
    os.utime(file, (1_700_000_100, 1_700_000_100))
    assert left_behind(copies) == []
    hand = Hand(qtbot)
    assert hand.bar.text == ""
    assert kept(copies) == [copy]
    os.utime(file, (1_600_000_000, 1_600_000_000))
    again = Hand(qtbot)
    again.press("Recover", again.bar)
    assert again.document.path == file
    assert again.design.title == "Unsaved"
    assert again.window.isWindowModified()
    assert load_project(file) == load_scene()


def test_a_copy_says_which_file_it_belongs_to(qtbot: QtBot, copies: Path, tmp_path: Path) -> None:
    file = tmp_path / "job.json"
    save_project(load_scene(), file)
    hand = Hand(qtbot, load_project(file), file)
    hand.drag(0.5)
    qtbot.waitUntil(lambda: bool(kept(copies)), timeout=1000 * SECONDS)
    note = json.loads(kept(copies)[0].with_suffix(".file").read_text(encoding="utf-8"))
    assert note == {"file": str(file), "seen": fingerprint(file)}


def test_every_leftover_is_offered_the_newest_first(qtbot: QtBot, copies: Path) -> None:
    for age, title in enumerate(("Newest", "Older", "Oldest")):
        leave(copies, title, age)
    (copies / "unsaved-9-9.json").write_text("not a project")
    hand = Hand(qtbot)
    assert "Newest" in hand.bar.text
    hand.press("Discard", hand.bar)
    assert "Older" in hand.bar.text
    hand.press("Close", hand.bar)
    assert hand.bar.text == ""
    assert len(kept(copies)) == 4


def test_edits_made_meanwhile_are_asked_about_before_old_work_takes_their_place(qtbot: QtBot, copies: Path) -> None:
    leave(copies, "Old work", 1)
    hand = Hand(qtbot)
    hand.drag(0.5)
    design = hand.design
    asked = answering("stay")
    hand.press("Recover", hand.bar)
    assert len(asked()) == 1
    assert hand.design == design
    assert "Old work" in hand.bar.text


def test_a_steady_stream_of_edits_does_not_postpone_the_copy(
    qtbot: QtBot, copies: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Else an hour of work without a pause is lost with the process."""
    delay = 400
    monkeypatch.setattr(recovery, "_DELAY_MS", delay)
    hand = Hand(qtbot)
    edits = 0
    begun = time.monotonic()
    while time.monotonic() - begun < 4e-3 * delay and not kept(copies):
        edits += 1
        hand.document.propose(lambda design, n=edits: with_value(design, ("title",), f"Edit {n}"), "Change title")
        qtbot.wait(delay // 20)
    assert edits > 1
    assert [load_project(copy).title for copy in kept(copies)] == [f"Edit {edits}"]


def test_recovered_work_keeps_the_name_of_a_file_that_is_gone(qtbot: QtBot, copies: Path, tmp_path: Path) -> None:
    file = tmp_path / "job.json"
    leave(copies, "Unsaved", 1)
    (copy,) = kept(copies)
    copy.with_suffix(".file").write_text(json.dumps({"file": str(file), "seen": "0"}), encoding="utf-8")
    hand = Hand(qtbot)
    hand.press("Recover", hand.bar)
    assert hand.document.path == file
    hand.choose("Save")
    assert load_project(file).title == "Unsaved"


def test_recovered_work_that_cannot_be_copied_again_keeps_its_old_copy(
    qtbot: QtBot, copies: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    leave(copies, "Old work", 1)
    hand = Hand(qtbot)

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(recovery, "save_project", full)
    hand.press("Recover", hand.bar)
    assert hand.design.title == "Old work"
    assert [load_project(copy).title for copy in kept(copies)] == ["Old work"]


def test_a_copy_is_never_without_the_name_of_its_file(
    qtbot: QtBot, copies: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Killed between the two, the work would have lost its file."""
    leave(copies, "Unsaved", 1)
    note = {"file": str(tmp_path / "job.json"), "seen": "0"}
    kept(copies)[0].with_suffix(".file").write_text(json.dumps(note), encoding="utf-8")
    hand = Hand(qtbot)
    noted: list[bool] = []
    save = recovery.save_project

    def look(design: object, path: Path) -> None:
        noted.append(path.with_suffix(".file").exists())
        save(design, path)  # type: ignore[arg-type]

    monkeypatch.setattr(recovery, "save_project", look)
    hand.press("Recover", hand.bar)
    assert noted[0]


def test_a_save_takes_the_copy_away_at_once(qtbot: QtBot, copies: Path, tmp_path: Path) -> None:
    """Killed right after a save, nothing is offered that the file holds already."""
    file = tmp_path / "job.json"
    save_project(load_scene(), file)
    hand = Hand(qtbot, load_project(file), file)
    hand.drag(0.5)
    qtbot.waitUntil(lambda: bool(kept(copies)), timeout=1000 * SECONDS)
    hand.choose("Save")
    assert kept(copies) == []


def test_two_processes_of_one_number_have_copies_of_their_own(qtbot: QtBot, copies: Path) -> None:
    """The numbers of processes come again, above all in a container: what one left is not another's to remove."""
    names = {Hand(qtbot).window.filing._recovery._copy for _ in range(2)}
    assert len(names) == 2
    assert all(len(name.stem.rsplit("-", 1)[-1]) == 12 for name in names)


def test_a_copy_that_goes_while_it_is_looked_for_does_not_stop_the_start(
    copies: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    leave(copies, "Going", 1)
    lives = recovery._lives

    def go(copy: Path) -> bool:
        copy.unlink()
        return lives(copy)

    monkeypatch.setattr(recovery, "_lives", go)
    assert left_behind(copies) == []


def test_a_disk_without_room_is_told_once_and_tried_again(
    qtbot: QtBot, copies: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(recovery, "_DELAY_MS", 100)
    monkeypatch.setattr(recovery, "_AGAIN_MS", 300)
    hand = Hand(qtbot)
    save = recovery.save_project

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(recovery, "save_project", full)
    hand.drag(0.5)
    qtbot.waitUntil(lambda: f"cannot be kept ({copies}: No space left on device)" in hand.bar.text, timeout=3000)
    hand.press("Close", hand.bar)
    hand.drag(0.6)
    qtbot.wait(800)
    assert hand.bar.text == ""
    # room again: the work that nobody touches meanwhile is copied
    monkeypatch.setattr(recovery, "save_project", save)
    qtbot.waitUntil(lambda: bool(kept(copies)), timeout=3000)
    monkeypatch.setattr(recovery, "save_project", full)
    hand.drag(0.7)
    qtbot.waitUntil(lambda: "cannot be kept" in hand.bar.text, timeout=3000)


def test_a_copy_is_offered_whatever_the_clock_of_the_disk_its_file_lies_on(copies: Path, tmp_path: Path) -> None:
    file = tmp_path / "job.json"
    save_project(load_scene(), file)
    leave(copies, "Unsaved", 1)
    (copy,) = kept(copies)
    note = {"file": str(file), "seen": fingerprint(file)}
    copy.with_suffix(".file").write_text(json.dumps(note), encoding="utf-8")
    assert file.stat().st_mtime > copy.stat().st_mtime
    assert [left.copy for left in left_behind(copies)] == [copy]


SAVED_AND_KILLED = """
import os, sys
from pathlib import Path
from workbench.design.record import with_value
from workbench.files.project import load_project
from workbench.gui.app import application, open_window

app = application()
path = Path(sys.argv[1])
window = open_window(load_project(path), path)
window.document.propose(lambda design: with_value(design, ("title",), "Edited"), "Change title")
assert window.filing._recovery.write()
window.document.propose(lambda design: with_value(design, ("title",), "Saved"), "Change title")
window.document.saved_as = lambda _path: os._exit(9)
window.filing._save(Path(sys.argv[2]))
"""


@pytest.mark.parametrize("name", ["job.json", "another.json"])
def test_a_copy_that_a_save_overtook_is_neither_offered_nor_kept(copies: Path, tmp_path: Path, name: str) -> None:
    """Killed after the file was put in its place and before its copy went."""
    file = tmp_path / "job.json"
    save_project(load_scene(), file)
    run = subprocess.run([sys.executable, "-c", SAVED_AND_KILLED, str(file), str(tmp_path / name)], check=False)
    assert run.returncode == 9
    assert load_project(tmp_path / name).title == "Saved"
    assert len(kept(copies)) == 1
    recovery.clear_up(copies)
    assert left_behind(copies) == []
    assert list(copies.iterdir()) == []


KILLED_ON_A_FILE = """
import os, sys
from pathlib import Path
from workbench.files import whole
from workbench.files.project import load_project
from workbench.gui.app import application, open_window

app = application()
path = Path(sys.argv[1])
window = open_window(load_project(path), path)
os.fsync = lambda _handle: os._exit(9)
window.filing._save(path)
"""


def test_the_next_start_clears_up_beside_the_file_of_a_killed_window(
    qtbot: QtBot, copies: Path, tmp_path: Path
) -> None:
    """Whatever it opens itself: killed in the midst of a save, a window leaves a lock and a part of the file."""
    file = tmp_path / "job.json"
    save_project(load_scene(), file)
    before = file.read_bytes()
    run = subprocess.run([sys.executable, "-c", KILLED_ON_A_FILE, str(file)], check=False)
    assert run.returncode == 9
    assert len([each for each in tmp_path.iterdir() if each.name.startswith(".")]) == 2
    Hand(qtbot)
    assert [each.name for each in tmp_path.iterdir() if each.name.startswith(".")] == []
    assert list(copies.iterdir()) == []
    assert file.read_bytes() == before
