"""Windows killed at random moments, full disks, folders that may only be read: what is lost, and what is left lying.

Every trial kills a real window that edits, saves and searches, and opens the next one, which must offer the work.
Every few trials a window without a kill meets another hindrance as well.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from tests.stress.trial import Trials
from workbench.design.record import with_value
from workbench.files.project import ProjectError, load_project, save_project
from workbench.files.scenes import load_scene
from workbench.gui.shell.held_file import fingerprint

UNIT = "kills"
COUNT = 100
MOST_LOST = 3.0
"""Work older than this outlives a kill. [s]"""
MOST_CLOSING = 1.0
"""In which a window is closed, whatever it searches. [s]"""
_HINDERED_EVERY = 8
_PATIENCE = 60.0
_COPIED = 4.0
"""Within which a copy was tried. [s]"""

Generator = np.random.Generator


class Died(Exception):
    """The window ended by itself, or does not answer."""


class Window:
    """A process with a window, and what it answers."""

    def __init__(self, home: Path, file: Path | None, *options: str) -> None:
        self.begun = time.monotonic()
        self.journal = home.with_name(f"journal-{os.urandom(4).hex()}")
        self.errors = tempfile.TemporaryFile()  # noqa: SIM115
        self.process = subprocess.Popen(
            [sys.executable, "-m", "tests.stress.driven", str(self.journal), *([str(file)] if file else []), *options],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=self.errors,
            env=os.environ | {"SUBSLAB_WORKBENCH_HOME": str(home)},
        )

    def answer(self) -> dict[str, Any]:
        """The next answer; what it tells of its saves is passed over."""
        while True:
            told = self._line()
            if "saving" not in told:
                return told

    def saving(self) -> None:
        """Wait until it begins to save; what it told of earlier saves is still in the pipe."""
        now = time.monotonic()
        while self._line().get("saving", 0.0) < now:
            pass

    def _line(self) -> dict[str, Any]:
        assert self.process.stdout is not None
        # one that never answers is ended, and its pipe with it
        patience = threading.Timer(_PATIENCE, self.process.kill)
        patience.start()
        try:
            line = self.process.stdout.readline()
        finally:
            patience.cancel()
        if not line:
            self.process.wait(_PATIENCE)
            raise Died(self.said())
        found: dict[str, Any] = json.loads(line)
        return found

    def tell(self, do: str, **how: object) -> None:
        """Ask for something without waiting."""
        assert self.process.stdin is not None
        self.process.stdin.write(json.dumps({"do": do, **how}).encode() + b"\n")
        self.process.stdin.flush()

    def ask(self, do: str, **how: object) -> dict[str, Any]:
        """Ask for something, and give the answer."""
        self.tell(do, **how)
        return self.answer()

    def kill(self) -> float:
        """Kill it; when, on the clock of the journal."""
        now = time.monotonic()
        self.process.kill()
        self.process.wait()
        return now

    def said(self) -> str:
        """What it wrote on the standard error."""
        self.errors.seek(0)
        lines = self.errors.read().decode(errors="replace").splitlines()
        return "\n".join(line for line in lines if "propagateSizeHints" not in line)

    def entries(self) -> list[dict[str, Any]]:
        """The journal, without a line that a kill broke off."""
        with suppress(FileNotFoundError):
            return [json.loads(line) for line in self.journal.read_bytes().split(b"\n")[:-1]]
        return []

    def end(self) -> None:
        """End it, whatever it is at."""
        self.process.kill()
        self.process.wait()
        for pipe in (self.process.stdin, self.process.stdout):
            assert pipe is not None
            with suppress(OSError):
                pipe.close()
        self.errors.close()
        self.journal.unlink(missing_ok=True)


class Place(NamedTuple):
    """Where a window works: its own folder for settings and copies, and a project."""

    home: Path
    file: Path


class Attack:
    """One window after another on one project; each begins where the one before was killed."""

    def __init__(self, trials: Trials, folder: Path) -> None:
        self.trials = trials
        self._folder = folder
        self.place = _place(folder)
        self.alive: Window | None = None
        self.lost: list[float] = []
        self.in_saves = self.in_starts = 0
        self.closing: list[float] = []

    def begin_anew(self) -> None:
        """Go on with another project, where what happened to the last would fail every trial after."""
        if self.alive is not None:
            self.alive.end()
            self.alive = None
        self.place = _place(Path(tempfile.mkdtemp(dir=self._folder)))

    def fail(self, signature: str, detail: object) -> None:
        """Count a failure."""
        self.trials.fail(signature, str(detail))

    def trial(self, number: int) -> None:
        """Drive the window that lives, kill it, and look at what the next one has of its work."""
        random = self.trials.random(number)
        window = self.alive or self._next(random, None)
        held = fingerprint(self.place.file)
        in_save = number % 3 == 2
        drive = {"seed": int(random.integers(2**31)), "saves": 0.4 if in_save else 0.02, "slow": 0.1 * in_save}
        window.ask("drive", **drive)
        time.sleep(float(random.choice([0.1, 1.5, 4.0, 5.5])) * float(random.uniform(0.3, 1.1)))
        if in_save:
            window.saving()
            time.sleep(float(random.uniform(0.0, 0.25)))
        killed = window.kill()
        entries, said = window.entries(), window.said()
        window.end()
        self.in_saves += bool(entries) and entries[-1]["what"] == "saving"
        if said:
            self.fail("a driven window wrote on the standard error", said)
        self._judge_file(entries, held)
        state = self._next(random, (entries, killed))
        self.alive = state

    def _next(self, random: Generator, before: tuple[list[dict[str, Any]], float] | None) -> Window:
        """The next window, which has the work of the one before."""
        if random.random() < 0.15:
            # killed in its start, it must leave all as it was
            early = Window(*self.place)
            time.sleep(float(random.uniform(0.1, 1.6)))
            early.end()
            self.in_starts += 1
        window = self.alive = Window(*self.place)
        state = window.answer()
        if "offer" in state["stands"]:
            state = window.ask("press", words="Recover")
            if not state["unsaved"]:
                self.fail("recovered work counts as saved", state)
        if state["path"] != str(self.place.file):
            self.fail("recovered work has lost its file's name", state)
        if state["stands"] or "another window" in state["bar"]:
            self.fail("a kill hinders the next start", state)
        if before is not None:
            self._judge_loss(*before, state["print"])
        for stray in strays(self.place, window.process.pid):
            self.fail(f"left lying: {stray}", "\n".join(map(str, sorted(self.place.home.rglob("*")))))
        return window

    def _judge_file(self, entries: list[dict[str, Any]], held: str) -> None:
        """The file is whole, and holds what it held or what was just being saved."""
        may_hold = {held}
        for entry in entries:
            if entry["what"] == "saved":
                may_hold = {entry["print"]}
            elif entry["what"] == "saving":
                may_hold |= {entry["print"]}
        try:
            load_project(self.place.file)
        except ProjectError as damage:
            self.fail("a file is damaged by a kill", damage)
        if fingerprint(self.place.file) not in may_hold:
            self.fail("a file holds what was never saved", f"{fingerprint(self.place.file)} of {may_hold}")

    def _judge_loss(self, entries: list[dict[str, Any]], killed: float, found: str) -> None:
        states = [entry for entry in entries if entry["what"] == "state"]
        kept = [i for i, entry in enumerate(states) if entry["print"] == found]
        if not kept:
            self.fail("recovered work is none that was ever there", f"{found} of {[e['print'] for e in states]}")
            return
        after = states[kept[-1] + 1 :]
        lost = killed - after[0]["time"] if after else 0.0
        self.lost.append(lost)
        if lost > MOST_LOST:
            self.fail("work older than 3 s is lost", f"{lost:.2f} s, {len(after)} edits")

    # --- other hindrances ---------------------------------------------------------------------------------------------

    def hindered(self, number: int) -> None:
        """One hindrance without a kill, each in its turn."""
        kinds: list[Callable[[Path], None]] = [
            self._no_home,
            self._full_disk,
            self._read_only,
            self._two_windows,
            self._changed_and_gone,
        ]
        kind = kinds[number % len(kinds)]
        with tempfile.TemporaryDirectory() as folder:
            try:
                kind(Path(folder))
            except Died as end:
                self.fail(f"{kind.__name__}: the window died", end)

    def _expect(self, held: object, what: str, detail: object) -> None:
        if not held:
            self.fail(what, detail)

    def _not_saved(self, window: Window, file: Path, before: bytes, where: str) -> None:
        state = window.ask("save")
        self._expect(state["bar"].startswith("Could not save. Your work is still open."), f"{where}: not told", state)
        self._expect(state["unsaved"], f"{where}: counts as saved", state)
        self._expect(file.read_bytes() == before, f"{where}: the old file is damaged", state)

    def _saved(self, window: Window, file: Path, where: str, reply: str = "") -> None:
        state = window.ask("save", reply=reply)
        self._expect(not state["unsaved"] and fingerprint(file) == state["print"], f"{where}: not saved", state)

    def _full_disk(self, folder: Path) -> None:
        home, file = _place(folder)
        before = file.read_bytes()
        window = Window(home, file)
        try:
            window.answer()
            window.ask("limit", size=2000)
            window.ask("edit")
            self._not_saved(window, file, before, "full disk")
            time.sleep(_COPIED)
            state = window.ask("state")
            self._expect("kept" in state["stands"], "full disk: nobody says that nothing is recovered", state)
            window.ask("limit", size=-1)
            self._saved(window, file, "disk with room again")
            self._expect(not window.said(), "full disk: written on the standard error", window.said())
        finally:
            window.end()

    def _read_only(self, folder: Path) -> None:
        home, file = _place(folder)
        before = file.read_bytes()
        window = Window(home, file)
        undo = _lock_up(file.parent)
        try:
            window.answer()
            window.ask("edit")
            self._not_saved(window, file, before, "read-only folder")
            undo()
            self._saved(window, file, "folder that may be written again")
        finally:
            undo()
            _free(file.parent)
            window.end()

    def _two_windows(self, folder: Path) -> None:
        home, file = _place(folder)
        first, second = Window(home, file), None
        try:
            first.answer()
            second = Window(home, file)
            state = second.answer()
            self._expect("also open in another window" in state["bar"], "second window: not told", state)
            second.ask("edit")
            before = file.read_bytes()
            state = second.ask("save", reply="stay")
            self._expect(state["asked"] and file.read_bytes() == before, "second window: saved unasked", state)
            first.ask("edit")
            self._saved(first, file, "first window")
            before = file.read_bytes()
            first.kill()
            state = second.ask("save", reply="stay")
            self._expect(
                state["asked"] and "changed by another" in state["asked"][0] and file.read_bytes() == before,
                "second window: saved over the first's work unasked",
                state,
            )
            self._saved(second, file, "second window", "over")
            second.ask("edit")
            state = second.ask("save")
            self._expect(not state["asked"] and not state["unsaved"], "second window: hindered by a dead one", state)
        finally:
            first.end()
            if second is not None:
                second.end()

    def _changed_and_gone(self, folder: Path) -> None:
        home, file = _place(folder)
        window = Window(home, file)
        try:
            window.answer()
            save_project(with_value(load_project(file), ("title",), "Theirs"), file)
            window.ask("edit")
            state = window.ask("save", reply="stay")
            self._expect(state["asked"] and load_project(file).title == "Theirs", "changed file: saved over", state)
            self._saved(window, file, "changed file", "over")
            file.unlink()
            time.sleep(_COPIED)
            state = window.ask("state")
            self._expect(state["unsaved"] and "gone" in state["stands"], "deleted file: counts as saved", state)
            killed = window.kill()
            after = Window(home, None)
            try:
                state = after.answer()
                self._expect("offer" in state["stands"], "deleted file: its work is not offered", (killed, state))
                state = after.ask("press", words="Recover")
                self._expect(state["path"] == str(file), "deleted file: its name is lost", state)
            finally:
                after.end()
        finally:
            window.end()

    def _no_home(self, folder: Path) -> None:
        home, file = _place(folder)
        home.write_text("")
        window = Window(home, file)
        try:
            state = window.answer()
            self._expect("kept" in state["stands"], "no folder for settings: not told", state)
            window.ask("edit")
            self._saved(window, file, "no folder for settings")
            state = window.ask("search")
            self._expect(state["searching"], "no search to be closed", state)
            time.sleep(0.3)
            begun = window.ask("close")["closing"]
            window.process.wait(_PATIENCE)
            self.closing.append(time.monotonic() - begun)
            self._expect(window.process.returncode == 0, "closing while searching: a bad end", window.said())
            self._expect(self.closing[-1] < MOST_CLOSING, "closing while searching takes long", self.closing[-1])
            self._expect(not window.said(), "no folder for settings: written on the standard error", window.said())
        finally:
            window.end()


def _place(folder: Path) -> Place:
    """A project in a folder of its own, beside one for the program's."""
    projects = folder / "projects"
    projects.mkdir()
    save_project(load_scene("clubhouses"), projects / "job.json")
    return Place(folder / "home", projects / "job.json")


def strays(place: Place, process: int) -> list[str]:
    """What lies about that no living window needs; names without what differs from time to time."""
    found = [
        each.suffix or each.name
        for each in place.file.parent.iterdir()
        if each.name not in (place.file.name, f".{place.file.name}.lock")
    ]
    for each in place.home.rglob("*"):
        inside = each.relative_to(place.home)
        own = each.name.startswith(f"unsaved-{process}-")
        kept = str(inside) in ("settings.ini", "recovery", "searches") or each.suffix == ".choices"
        if not (own or kept):
            found.append(f"{inside.parent.name}/*{each.suffix}")
    return found


def _lock_up(folder: Path) -> Callable[[], None]:
    """Make a folder one that may only be read, whoever runs this; gives what makes it as it was."""
    if os.geteuid() != 0:
        folder.chmod(0o555)
        return lambda: folder.chmod(0o755)
    # nobody is refused who may do all: a file system of its own can be one to read
    held = {each.name: each.read_bytes() for each in folder.iterdir()}
    if subprocess.run(["mount", "-t", "tmpfs", "tmpfs", str(folder)], capture_output=True, check=False).returncode:
        return lambda: None
    for name, content in held.items():
        (folder / name).write_bytes(content)
    subprocess.run(["mount", "-o", "remount,ro", str(folder)], check=False)
    return lambda: subprocess.run(["mount", "-o", "remount,rw", str(folder)], check=False) and None


def _free(folder: Path) -> None:
    if os.path.ismount(folder):
        subprocess.run(["umount", "-l", str(folder)], check=False)


def run(trials: Trials) -> None:
    """Kill, and look; every few kills something else."""
    with tempfile.TemporaryDirectory() as folder:
        attack = Attack(trials, Path(folder))
        try:
            for number in trials.numbers():
                begun = time.monotonic()
                try:
                    attack.trial(number)
                except Died as end:
                    trials.fail("a window died by itself", str(end))
                    attack.begin_anew()
                trials.tally.took(time.monotonic() - begun)
                if number % _HINDERED_EVERY == _HINDERED_EVERY - 1 or trials.only is not None:
                    attack.hindered(number // _HINDERED_EVERY)
        finally:
            if attack.alive is not None:
                attack.alive.end()
        _measure(attack)


def _measure(attack: Attack) -> None:
    figures = attack.trials.tally.figures
    if attack.lost:
        figures["lost, worst"] = f"{max(attack.lost):.1f} s"
    figures["killed in a save"] = str(attack.in_saves)
    figures["killed in a start"] = str(attack.in_starts)
    if attack.closing:
        figures["closing while searching, worst"] = f"{max(attack.closing):.2f} s"
