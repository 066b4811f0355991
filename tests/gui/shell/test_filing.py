"""Files: new, open, save and recent, and files that must not be opened."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from PySide6.QtWidgets import QFileDialog
from pytestqt.qtbot import QtBot

from tests.gui.hand import Hand, answering
from workbench.design import Design
from workbench.design.record import with_value
from workbench.files.project import load_project, project_text, save_project
from workbench.files.scenes import load_scene

SAVE, DISCARD, CANCEL = "save", "discard", "stay"


class Dialogs:
    """What the file dialogs answer; asking one that nobody told what to answer is a fault."""

    def __init__(self) -> None:
        self.answers: list[str] = []
        self.asked: list[str] = []

    def answer(self, _parent: object, title: str, *_: object) -> tuple[str, str]:
        self.asked.append(title)
        return self.answers.pop(0), ""


@pytest.fixture
def dialogs(monkeypatch: pytest.MonkeyPatch) -> Dialogs:
    made = Dialogs()
    monkeypatch.setattr(QFileDialog, "getOpenFileName", staticmethod(made.answer))
    monkeypatch.setattr(QFileDialog, "getSaveFileName", staticmethod(made.answer))
    return made


@pytest.fixture
def saved(tmp_path: Path) -> Path:
    path = tmp_path / "clubhouse.json"
    save_project(load_scene("clubhouses"), path)
    return path


def test_save_as_then_save_then_open_again(hand: Hand, dialogs: Dialogs, tmp_path: Path, qtbot: QtBot) -> None:
    hand.drag(0.5)
    dialogs.answers = [str(tmp_path / "mine")]
    hand.choose("Save as")
    path = tmp_path / "mine.json"
    assert load_project(path) == hand.design
    assert hand.window.windowTitle().startswith("mine.json")
    assert not hand.window.isWindowModified()
    hand.drag(0.7)
    assert hand.window.isWindowModified()
    hand.choose("Save")
    assert load_project(path) == hand.design
    assert not hand.window.isWindowModified()
    assert len(dialogs.asked) == 1
    dialogs.answers = [str(path)]
    hand.choose("Open…")
    assert hand.design == load_project(path)
    assert hand.document.path == path
    assert not hand.action("Undo").isEnabled()


def test_save_asks_for_a_name_first_and_giving_none_saves_nothing(hand: Hand, dialogs: Dialogs, tmp_path: Path) -> None:
    hand.drag(0.5)
    dialogs.answers = [""]
    hand.choose("Save")
    assert dialogs.asked == ["Save project"]
    assert hand.window.isWindowModified()
    assert list(tmp_path.glob("*.json")) == []


def test_undo_past_a_save_is_unsaved_again(hand: Hand, dialogs: Dialogs, tmp_path: Path) -> None:
    hand.drag(0.5)
    dialogs.answers = [str(tmp_path / "a.json")]
    hand.choose("Save")
    hand.choose("Undo")
    assert hand.window.isWindowModified()
    hand.choose("Redo")
    assert not hand.window.isWindowModified()


def test_new_starts_blank_and_in_use(hand: Hand) -> None:
    hand.choose("New")
    assert hand.design.title == "Untitled"
    assert hand.operating_label().startswith("No fan is selected.")
    assert not hand.window.isWindowModified()
    assert not hand.action("Undo").isEnabled()


@pytest.mark.parametrize(("button", "lets_go"), [(DISCARD, True), (CANCEL, False)])
def test_unsaved_work_is_asked_about(hand: Hand, button: str, lets_go: bool) -> None:
    hand.drag(0.5)
    design = hand.design
    asked = answering(button)
    hand.choose("New")
    assert len(asked()) == 1
    assert design.title in asked()[0]
    assert (hand.design.title == "Untitled") == lets_go
    if not lets_go:
        assert hand.design == design


def test_unsaved_work_can_be_saved_when_asked(hand: Hand, dialogs: Dialogs, tmp_path: Path) -> None:
    hand.drag(0.5)
    design = hand.design
    dialogs.answers = [str(tmp_path / "kept.json")]
    answering(SAVE)
    hand.choose("New")
    assert load_project(tmp_path / "kept.json") == design
    assert hand.design.title == "Untitled"


def test_saving_that_was_broken_off_keeps_the_work(hand: Hand, dialogs: Dialogs) -> None:
    hand.drag(0.5)
    design = hand.design
    dialogs.answers = [""]
    answering(SAVE)
    hand.choose("New")
    assert hand.design == design


def test_closing_with_unsaved_work_asks(hand: Hand) -> None:
    hand.drag(0.5)
    answering(CANCEL)
    assert not hand.window.close()
    assert hand.window.isVisible()
    answering(DISCARD)
    assert hand.window.close()


def test_recent_files_are_listed_and_opened_from_the_menu(hand: Hand, dialogs: Dialogs, saved: Path) -> None:
    assert not hand.action("(no recent files)").isEnabled()
    dialogs.answers = [str(saved)]
    hand.choose("Open…")
    hand.choose("New")
    hand.choose(str(saved))
    assert hand.design == load_scene("clubhouses")


def test_a_file_given_at_the_start_is_open_and_among_the_recent_ones(qtbot: QtBot, saved: Path) -> None:
    hand = Hand(qtbot, load_project(saved), saved)
    assert hand.window.windowTitle().startswith(saved.name)
    assert not hand.window.isWindowModified()
    assert hand.action(str(saved)).isEnabled()


def test_scenes_open_under_no_name(hand: Hand, dialogs: Dialogs) -> None:
    hand.choose(load_scene("reading-room").title)
    assert hand.design == load_scene("reading-room")
    assert hand.document.path is None


def damaged(text: str) -> str:
    return text.replace('"speed"', '"speed', 1)


def truncated(text: str) -> str:
    return text[: len(text) // 2]


def newer(text: str) -> str:
    return json.dumps(json.loads(text) | {"version": 99})


def impossible(text: str) -> str:
    project = json.loads(text)
    project["design"]["intake"]["runs"][0]["length"] = -3.0
    return json.dumps(project)


def other(_: str) -> str:
    return '{"answer": 42}'


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (damaged, "damaged"),
        (truncated, "ends in the middle"),
        (newer, "newer version"),
        (impossible, "fault"),
        (other, "not a project of the workbench"),
        (lambda _: "", "empty"),
    ],
)
def test_a_file_that_cannot_be_read_is_refused_in_a_sentence_and_left_untouched(
    hand: Hand, dialogs: Dialogs, tmp_path: Path, spoil: object, words: str
) -> None:
    path = tmp_path / "job.json"
    assert callable(spoil)
    path.write_text(spoil(project_text(load_scene())), encoding="utf-8")
    before, design, answers = path.read_bytes(), hand.design, hand.answers()
    dialogs.answers = [str(path)]
    hand.choose("Open…")
    assert hand.bar.text.startswith("Could not open the file. ")
    assert words in hand.bar.text
    assert hand.bar.text.count(path.name) == 1
    assert hand.bar.text.endswith(".")
    assert path.read_bytes() == before
    assert hand.design == design
    assert hand.answers() == answers
    hand.press("Close", hand.bar)
    assert hand.bar.text == ""


def test_a_file_that_is_gone_leaves_the_list(hand: Hand, dialogs: Dialogs, saved: Path) -> None:
    dialogs.answers = [str(saved)]
    hand.choose("Open…")
    hand.choose("New")
    saved.unlink()
    hand.choose(str(saved))
    assert "there is no such file" in hand.bar.text
    assert not hand.action("(no recent files)").isEnabled()


def test_a_place_that_cannot_be_written_is_told_and_the_work_kept(hand: Hand, dialogs: Dialogs, tmp_path: Path) -> None:
    hand.drag(0.5)
    design = hand.design
    dialogs.answers = [str(tmp_path / "no such folder" / "job.json")]
    hand.choose("Save as")
    assert hand.bar.text.startswith("Could not save. Your work is still open.")
    assert hand.design == design
    assert hand.window.isWindowModified()
    assert hand.document.path is None


def test_a_design_that_cannot_be_solved_is_not_opened_and_is_not_saved_over(
    hand: Hand, dialogs: Dialogs, saved: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> object:
        raise ValueError("this floor makes no field")

    design, before = hand.design, saved.read_bytes()
    dialogs.answers = [str(saved)]
    with monkeypatch.context() as broken:
        broken.setattr("workbench.gui.shell.solved.prepare", refuse)
        hand.choose("Open…")
    assert "makes no field" in hand.bar.text
    assert hand.design == design
    assert hand.document.path is None
    assert saved.read_bytes() == before


# --- the file changes, or is open twice ---------------------------------------------------------------------------


def changed_elsewhere(path: Path) -> Design:
    """Another program writes another length into the first run."""
    there = load_project(path)
    there = with_value(there, ("intake", "runs", 0, "length"), 7.5)
    save_project(there, path)
    return there


@pytest.fixture
def opened(qtbot: QtBot, saved: Path) -> Hand:
    hand = Hand(qtbot, load_project(saved), saved)
    hand.document.propose(lambda design: with_value(design, ("title",), "Mine"), "Change title")
    return hand


def test_a_file_changed_by_another_program_is_not_saved_over_unasked(opened: Hand, saved: Path) -> None:
    theirs, mine = changed_elsewhere(saved), opened.design
    asked = answering("stay")
    opened.choose("Save")
    (words,) = asked()
    run = mine.intake.runs[0].name
    assert f"length of {run}" in words
    assert "today at" in words
    assert load_project(saved) == theirs
    assert opened.design == mine
    assert opened.window.isWindowModified()


def test_save_over_takes_the_place_of_the_other_change_and_asks_no_more(opened: Hand, saved: Path) -> None:
    changed_elsewhere(saved)
    answering("over")
    opened.choose("Save")
    assert load_project(saved) == opened.design
    opened.document.propose(lambda design: with_value(design, ("title",), "Mine again"), "Change title")
    opened.choose("Save")
    assert load_project(saved).title == "Mine again"


def test_reload_shows_the_other_change_and_undo_brings_the_work_back(opened: Hand, saved: Path) -> None:
    theirs, mine = changed_elsewhere(saved), opened.design
    answering("reload")
    opened.choose("Save")
    assert opened.design == theirs
    assert not opened.window.isWindowModified()
    opened.choose("Undo")
    assert opened.design == mine
    assert opened.window.isWindowModified()
    opened.choose("Save")
    assert load_project(saved) == mine


def test_save_as_leaves_the_other_change(opened: Hand, saved: Path, dialogs: Dialogs, tmp_path: Path) -> None:
    theirs, mine = changed_elsewhere(saved), opened.design
    dialogs.answers = [str(tmp_path / "mine.json")]
    answering("as")
    opened.choose("Save")
    assert load_project(saved) == theirs
    assert load_project(tmp_path / "mine.json") == mine


def test_a_file_only_touched_is_saved_unasked(opened: Hand, saved: Path) -> None:
    saved.touch()
    opened.choose("Save")
    assert load_project(saved) == opened.design


def test_a_file_open_in_a_second_window_is_told_and_asked_about(qtbot: QtBot, opened: Hand, saved: Path) -> None:
    second = Hand(qtbot, load_project(saved), saved)
    assert "also open in another window" in second.bar.text
    assert str(os.getpid()) in second.bar.text
    second.document.propose(lambda design: with_value(design, ("title",), "Theirs"), "Change title")
    before = saved.read_bytes()
    asked = answering("stay")
    second.choose("Save")
    assert "another window" in asked()[0]
    assert saved.read_bytes() == before
    # the first window has let go of the file: the second asks no more
    opened.window.filing.close()
    second.choose("Save")
    assert load_project(saved).title == "Theirs"


def test_a_lock_of_a_process_that_is_gone_is_stale(qtbot: QtBot, saved: Path) -> None:
    code = (
        "import os, sys; from PySide6.QtCore import QLockFile; "
        f"lock = QLockFile({str(saved.with_name('.' + saved.name + '.lock'))!r}); lock.tryLock(0); os._exit(0)"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
    assert saved.with_name(f".{saved.name}.lock").exists()
    hand = Hand(qtbot, load_project(saved), saved)
    assert hand.bar.text == ""


def test_closing_takes_the_lock_away(qtbot: QtBot, saved: Path) -> None:
    hand = Hand(qtbot, load_project(saved), saved)
    assert saved.with_name(f".{saved.name}.lock").exists()
    assert hand.window.close()
    assert not saved.with_name(f".{saved.name}.lock").exists()


def test_save_as_over_a_file_of_another_window_is_asked_about(
    qtbot: QtBot, opened: Hand, saved: Path, dialogs: Dialogs
) -> None:
    second = Hand(qtbot)
    before = saved.read_bytes()
    dialogs.answers = [str(saved), str(saved)]
    asked = answering("stay")
    second.choose("Save as")
    assert "another window" in asked()[0]
    assert saved.read_bytes() == before
    assert second.document.path is None
    answering("over")
    second.choose("Save as")
    assert load_project(saved) == second.design


def test_save_as_the_same_file_notices_a_change_too(opened: Hand, saved: Path, dialogs: Dialogs) -> None:
    theirs = changed_elsewhere(saved)
    dialogs.answers = [str(saved)]
    answering("stay")
    opened.choose("Save as")
    assert load_project(saved) == theirs
