"""The track record in the real window: what stands there is the record of the very files."""

from __future__ import annotations

import threading
from collections.abc import Callable
from pathlib import Path

import pytest
from msgspec.structs import replace
from openpyxl import load_workbook
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFileDialog
from pytestqt.qtbot import QtBot

from tests.gui.hand import Hand
from tests.gui.screen.cut import cut_in
from tests.gui.test_every_size import names_in
from tests.gui.test_names_aloud import twice
from tests.many_jobs import JOBS, write_jobs
from workbench.files.record_text import AGAINST, HEAD, NOT_TAKEN, FileRecord, record_lines, record_of_file, whole_track
from workbench.gui.shell.settings import Settings
from workbench.gui.shell.titles import VISITS
from workbench.gui.visits import track_reading
from workbench.gui.visits.page import TRACK, VisitsPage
from workbench.gui.visits.track_record import TrackRecord
from workbench.gui.visits.track_table import TITLES
from workbench.solving.later.expected import EDGE
from workbench.solving.later.record import JobRecord
from workbench.units import SI, US, System

pytestmark = pytest.mark.qt_log_ignore("^This plugin does not support (raise|grabbing|propagateSizeHints)", extend=True)


@pytest.fixture(scope="module")
def jobs(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Twelve invented jobs, and a file that is none."""
    folder = tmp_path_factory.mktemp("track") / "Invented jobs"
    write_jobs(folder)
    return folder


@pytest.fixture(scope="module")
def own(jobs: Path) -> list[FileRecord]:
    """The record of the same files, worked out without a window."""
    found = []
    for file in sorted(jobs.iterdir()):
        try:
            found.append(FileRecord(file.name, record_of_file(file)))
        except ValueError as refusal:
            found.append(FileRecord(file.name, None, str(refusal).removeprefix(f"{file}: ")))
    return found


def at_track(qtbot: QtBot) -> tuple[Hand, TrackRecord]:
    hand = Hand(qtbot)
    hand.document.settle()
    hand.window.pages.turn_to(VISITS)
    page: VisitsPage = hand.window.pages.page(VISITS)
    page.turn_to(TRACK)
    hand.settle()
    return hand, page.track


def read(hand: Hand, track: TrackRecord) -> None:
    hand.qtbot.waitUntil(lambda: not track.reading(), timeout=60_000)
    hand.settle()


def cells(track: TrackRecord) -> list[list[str]]:
    """All rows in sight as they are read."""
    return [
        [str(table.model().index(row, column).data()) for column in range(len(HEAD))]
        for table in track.tables.values()
        if table.isVisible()
        for row in range(table.model().rowCount())
    ]


def lines(found: list[FileRecord], system: System) -> str:
    return "\n".join(record_lines(found, system))


def test_a_chosen_folder_is_told_as_the_command_tells_it(
    qtbot: QtBot, jobs: Path, own: list[FileRecord], monkeypatch: pytest.MonkeyPatch
) -> None:
    hand, track = at_track(qtbot)
    monkeypatch.setattr(QFileDialog, "getExistingDirectory", lambda *_: str(jobs))
    hand.press("Choose a folder of jobs…", track)
    assert track.reading()
    read(hand, track)
    assert track.said.text().startswith(f"Predicted against measured, {JOBS} jobs")
    for system in (SI, US):
        hand.window.set_system(system)
        hand.settle()
        told = [line.split() for line in lines(own, system).splitlines()]
        shown = cells(track)
        assert len(shown) == len(whole_track(own).rows) >= 6
        for row in shown:
            assert " ".join(row).split() in told
    hand.window.set_system(SI)
    rows = {(row.against, row.what): row for row in whole_track(own).rows}
    gauge = next(row for row in cells(track) if row[0] == "System gauge")
    assert gauge[1:4] == ["12", "12", f"{100.0 * rows['design', 'gauge'].inside:.0f} %"]
    # what is offered bears the jobs behind it, and nothing of it is taken over
    offered = track.offers.text().splitlines()
    assert any("System gauge" in line and "(12 jobs)" in line for line in offered)
    assert any("Ground entered as 'sand and gravel'" in line and "jobs)" in line for line in offered)
    assert track.offer_words.text() == NOT_TAKEN
    assert track.left_title.text() == "Left out: 1 file"
    assert track.left.toPlainText() == f"a broken one.json: {own[0].refused}"
    assert not hand.document.dirty
    # the folder is remembered
    assert Settings().jobs_folder == str(jobs)
    assert track.folder.text() == f"Folder: {jobs}"


def test_with_few_jobs_nothing_is_offered(qtbot: QtBot, tmp_path: Path) -> None:
    write_jobs(tmp_path / "few", 3)
    hand, track = at_track(qtbot)
    track.read(tmp_path / "few")
    read(hand, track)
    assert not track.offers.isVisible()
    assert track.offer_words.text().startswith("From 10 jobs on")
    assert track.offer_words.text().endswith("is 3.")


def test_marks_are_the_readings_and_the_band_holds_those_inside(
    qtbot: QtBot, jobs: Path, own: list[FileRecord]
) -> None:
    hand, track = at_track(qtbot)
    track.read(jobs)
    read(hand, track)
    compared = [each for one in own if one.record is not None for each in one.record.compared]
    x, _ = track.chart.marks.getData()
    assert sorted(x) == pytest.approx(sorted(each.off for each in compared))
    for spot in track.chart.marks.data:
        assert (spot["symbol"] == "o") == (abs(spot["x"]) <= EDGE)
    assert {spot["symbol"] for spot in track.chart.marks.data} == {"o", "t1"}
    low, high = track.chart.sheet.viewRange()[0]
    assert low < min(x)
    assert max(x) < high
    for title in AGAINST.values():
        assert title in track.chart.accessibleDescription()


def slowly(monkeypatch: pytest.MonkeyPatch, after: int) -> threading.Event:
    """Have the file behind so many wait until it is let go."""
    going, count = threading.Event(), [0]

    def wait(path: Path) -> JobRecord:
        count[0] += 1
        if count[0] == after + 1:
            assert going.wait(30.0)
        return record_of_file(path)

    monkeypatch.setattr(track_reading, "record_of_file", wait)
    return going


def test_stop_shows_at_once_what_was_read_and_begins_nothing_further(
    qtbot: QtBot, jobs: Path, own: list[FileRecord], monkeypatch: pytest.MonkeyPatch
) -> None:
    going = slowly(monkeypatch, 4)
    hand, track = at_track(qtbot)
    track.read(jobs)
    qtbot.waitUntil(lambda: track.said.text() == "4 of 13 files read", timeout=30_000)
    assert (track.bar.value(), track.bar.maximum()) == (4, 13)
    assert not track.again_button.isVisible()
    hand.press("Stop", track)
    assert not track.reading()
    assert track.said.text().startswith("Stopped after 4 of 13 files: this is of those alone. Predicted against")
    assert cells(track)[0][1] == "3"
    going.set()
    hand.qtbot.wait(300)
    assert len(track._kept[0].found) == 4
    assert whole_track(own[:4]).jobs == 3


def test_the_newest_folder_wins(qtbot: QtBot, jobs: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_jobs(tmp_path / "other", 2)
    going = slowly(monkeypatch, 2)
    hand, track = at_track(qtbot)
    track.read(jobs)
    qtbot.waitUntil(lambda: track.said.text() == "2 of 13 files read", timeout=30_000)
    track.read(tmp_path / "other")
    going.set()
    read(hand, track)
    assert track.said.text().startswith("Predicted against measured, 2 jobs")
    assert "other" in track.folder.text()
    assert Settings().jobs_folder == str(tmp_path / "other")


def nothing_in(folder: Path) -> Path:
    folder.mkdir()
    return folder


def a_file(folder: Path) -> Path:
    folder.write_text("no folder", encoding="utf-8")
    return folder


def bad_alone(folder: Path) -> Path:
    folder.mkdir()
    (folder / "&amp; {0}.json").write_text('{"format": "other"}', encoding="utf-8")
    return folder


@pytest.mark.parametrize(
    ("made", "words"),
    [
        (nothing_in, "There are no project files in this folder."),
        (lambda folder: folder, "There is no such folder."),
        (a_file, "There is no such folder."),
        (bad_alone, "Predicted against measured, 0 jobs"),
    ],
)
def test_a_folder_without_jobs_says_so(qtbot: QtBot, tmp_path: Path, made: Callable[[Path], Path], words: str) -> None:
    hand, track = at_track(qtbot)
    assert track.said.text().startswith("Choose a folder of jobs.")
    track.read(made(tmp_path / "folder"))
    read(hand, track)
    assert track.said.text().startswith(words)
    assert cells(track) == []
    assert not track.chart.isVisible()
    assert not track.offer_words.isVisible()
    if made is bad_alone:
        assert track.left.toPlainText().startswith("&amp; {0}.json: ")


def test_numbers_and_picture_are_exported(qtbot: QtBot, jobs: Path, tmp_path: Path) -> None:
    hand, track = at_track(qtbot)
    track.read(jobs)
    read(hand, track)
    track.save_table(tmp_path / "record")
    qtbot.waitUntil(lambda: not track.saving.busy(), timeout=30_000)
    book = load_workbook(tmp_path / "record.xlsx")
    assert book.sheetnames == ["Quantities", "Grounds", "Readings", "Left out"]
    for ending in ("svg", "png", "pdf"):
        track.save(tmp_path / f"record.{ending}")
        assert (tmp_path / f"record.{ending}").stat().st_size > 2000
    assert f"{JOBS} jobs" in " ".join(track.captions())
    track.save(tmp_path / "nowhere" / "record.svg")
    assert "ecord.svg was not saved" in hand.bar.text
    track.save_table(tmp_path / "nowhere" / "record.xlsx")
    qtbot.waitUntil(lambda: not track.saving.busy(), timeout=30_000)
    assert "record.xlsx" in hand.bar.text


@pytest.mark.parametrize("text", [100, 200])
def test_nothing_is_cut_at_any_size(qtbot: QtBot, jobs: Path, text: int) -> None:
    hand, track = at_track(qtbot)
    hand.window.set_text_size(text)  # type: ignore[arg-type]
    names = names_in(hand.design) | {str(jobs)}
    hand.window.resize(960, 540)
    for _ in range(3):
        hand.settle()
    found = [f"before: {what}" for what in cut_in(hand.window, names)]
    track.read(jobs)
    for _ in range(3):
        hand.settle()
    assert track.stop_button.isVisible()
    found += [f"meanwhile: {what}" for what in cut_in(hand.window, names)]
    read(hand, track)
    for system in (SI, US, *([replace(US, minus_is_suction=True)] if text == 100 else [])):
        hand.window.set_system(system)
        for size in ((960, 540), (1280, 800), (1920, 1080)):
            hand.window.resize(*size)
            for _ in range(3):
                hand.settle()
            found += [f"{system.name} {size}: {what}" for what in cut_in(hand.window, names)]
            assert twice(hand) == []
            assert track.side.isVisible()
            assert track.chart.height() >= track.chart.least_height()
    hand.window.set_text_size(100)
    assert not found, "\n".join(sorted(set(found)))


def test_every_cell_is_read_aloud_with_its_column(qtbot: QtBot, jobs: Path) -> None:
    hand, track = at_track(qtbot)
    track.read(jobs)
    read(hand, track)
    table = track.tables["design"]
    index = table.model().index(1, 3)
    said = str(index.data(Qt.ItemDataRole.AccessibleTextRole))
    assert said == f"{cells(track)[1][0]}, Inside 90 %: {index.data()}"
    assert table.copied().splitlines()[0].split("\t") == list(TITLES)
