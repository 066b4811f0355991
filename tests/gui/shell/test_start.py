"""Starts under bad conditions: no folder to keep anything in, nothing of earlier starts wanted, a search at the end."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from workbench.design.record import with_value
from workbench.files.project import load_project, project_text, save_project
from workbench.files.scenes import load_scene
from workbench.gui.shell.filing import SAFE
from workbench.gui.shell.settings import Settings
from workbench.units import US

posix = pytest.mark.skipif(os.name != "posix", reason="limits and signals as POSIX has them")

DRIVEN = """
import sys
from pathlib import Path
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication
from workbench.design.record import with_value
from workbench.gui import app
from workbench.gui.window import MainWindow

{before}
window = None

def drive():
    global window
    (window,) = [each for each in QApplication.topLevelWidgets() if isinstance(each, MainWindow)]
    print(window.filing.bar.text, flush=True)
{acts}

app.application()
QTimer.singleShot(0, drive)
sys.exit(app.main({arguments}))
"""
EDIT_AND_SAVE = """
    window.document.propose(lambda design: with_value(design, ("title",), "Edited"), "Change title")
    window.set_text_size(125)
    QTimer.singleShot(2200, finish)

def finish():
    print(window.filing.bar.text, flush=True)
    assert window.filing.save() and not window.isWindowModified()
    window.close()
"""
CLOSE = "    window.close()"


def driven(acts: str, *, arguments: str = "None", before: str = "", home: Path | None = None) -> list[str]:
    """What a whole run of the program prints: the bar at its start, and what is printed by the acts."""
    env = os.environ | ({} if home is None else {"SUBSLAB_WORKBENCH_HOME": str(home)})
    code = DRIVEN.format(acts=acts, arguments=arguments, before=before)
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=env, timeout=60, check=False)
    told = [line for line in run.stderr.splitlines() if "propagateSizeHints" not in line]
    assert (run.returncode, told) == (0, [])
    return run.stdout.splitlines()


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "job.json"
    save_project(load_scene(), path)
    return path


def a_file(home: Path) -> Path:
    home.write_text("a file where the folder should be")
    return home


def nowhere(_home: Path) -> Path:
    return Path("/proc/no such place") if os.name == "posix" else Path("Z:/no/such/place")


@pytest.mark.parametrize("spoil", [a_file, nowhere])
def test_without_a_folder_for_settings_the_window_starts_works_and_says_so_once(
    tmp_path: Path, file: Path, spoil: object
) -> None:
    assert callable(spoil)
    home = spoil(tmp_path / "home")
    at_start, later = driven(EDIT_AND_SAVE, arguments=f"Path({str(file)!r})", home=home)
    assert at_start.startswith(f"Settings and copies of unsaved work cannot be kept ({home}: ")
    assert later == at_start
    assert load_project(file).title == "Edited"
    assert sorted(each.name for each in tmp_path.iterdir()) == sorted({"job.json"} | {home.name} & {"home"})


@posix
def test_on_a_full_disk_the_window_starts_and_says_so(tmp_path: Path) -> None:
    """No file may grow: that is how a full disk is met, whoever runs the test."""
    full = "import resource; resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))"
    (at_start,) = driven(CLOSE, before=full, home=tmp_path / "home")
    assert "cannot be kept" in at_start
    assert "File too large" in at_start


@pytest.mark.parametrize("name", ["settings.ini", "faults.log", "searches"])
def test_a_folder_or_a_file_in_the_place_of_what_is_kept_does_not_stop_the_start(tmp_path: Path, name: str) -> None:
    home = tmp_path / "home"
    home.mkdir()
    (home / name).write_text("") if name == "searches" else (home / name).mkdir()
    assert driven(CLOSE, home=home) == [""]


def test_a_file_in_the_place_of_the_recovery_is_told_when_a_copy_is_to_be_kept(tmp_path: Path, file: Path) -> None:
    home = tmp_path / "home"
    home.mkdir()
    (home / "recovery").write_text("")
    at_start, later = driven(EDIT_AND_SAVE, arguments=f"Path({str(file)!r})", home=home)
    assert at_start == ""
    assert (
        f"A copy of unsaved work cannot be kept ({home / 'recovery'}: a file is in the place of this folder)" in later
    )


def test_a_safe_start_uses_and_changes_nothing_of_earlier_ones(own_home: Path, file: Path) -> None:
    settings = Settings()
    settings.system = US
    copy = own_home / "recovery" / "unsaved-1-1.json"
    copy.parent.mkdir()
    save_project(with_value(load_scene(), ("title",), "Left behind"), copy)
    stored = settings.path.read_bytes()
    show_units = "    print(window._system.name, window.pages.page('Compare options').objectName(), flush=True)\n"
    said = driven(show_units + EDIT_AND_SAVE, arguments=f"Path({str(file)!r}), safe=True")
    assert said == [SAFE, "SI ", SAFE]
    assert settings.path.read_bytes() == stored
    assert copy.exists()
    assert load_project(file).title == "Edited"
    # and the next ordinary one has them all
    at_start, units, _ = driven(show_units + EDIT_AND_SAVE, arguments=f"Path({str(file)!r})")
    assert "Left behind" in at_start
    assert units.startswith("US")


BROKEN = """
def broken(*_):
    raise KeyError("a slip")
app.MainWindow = broken
from workbench.__main__ import main
sys.exit(main([]))
"""


def test_a_fault_at_the_start_is_one_line_and_tells_of_the_safe_start(own_home: Path) -> None:
    code = DRIVEN.format(acts="    pass", arguments="None", before=BROKEN)
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert run.returncode == 2
    (line,) = run.stderr.splitlines()
    assert "the window failed at its start (KeyError)" in line
    assert "--safe" in line
    assert "in broken" in (own_home / "faults.log").read_text(encoding="utf-8")


SEARCH = """
    window.pages.turn_to("Compare options")
    page = window.pages.page("Compare options")
    page.search()
    QTimer.singleShot(300, partial(leave, page))

def leave(page):
    print(page.searching(), time.time(), flush=True)
    window.close()
"""
ENDLESS = """
import time
from functools import partial
from workbench.gui.choices import page as choices
choices.search = lambda *_: time.sleep(30)
"""


def test_closing_does_not_wait_for_a_search_that_does_not_hear(tmp_path: Path) -> None:
    _, said = driven(SEARCH, before=ENDLESS)
    searching, closed = said.split()
    assert searching == "True"
    assert time.time() - float(closed) < 1.0


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="elsewhere there is always a screen")
def test_without_a_screen_a_picture_is_drawn_and_the_window_refused(tmp_path: Path, file: Path) -> None:
    hidden = {name: value for name, value in os.environ.items() if name not in ("DISPLAY", "WAYLAND_DISPLAY")}
    del hidden["QT_QPA_PLATFORM"]
    picture = tmp_path / "picture.png"
    module = [sys.executable, "-m", "workbench"]
    shown = subprocess.run(
        [*module, "show", str(file), "--safe", "--picture", str(picture)], env=hidden, capture_output=True, text=True
    )
    assert (shown.returncode, shown.stderr) == (0, "")
    assert picture.stat().st_size > 10_000
    opened = subprocess.run([*module, str(file)], env=hidden, capture_output=True, text=True, check=False)
    assert opened.returncode == 2
    assert opened.stderr == (
        "subslab-workbench: there is no screen for the window; 'solve' answers without it, "
        "'show' draws it into a picture\n"
    )
    assert load_project(file) == load_scene()
    assert file.read_text(encoding="utf-8") == project_text(load_scene())
