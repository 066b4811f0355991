"""Names that somebody would obey, through every text the program gives out: shown as they are, and nothing done."""

from __future__ import annotations

import contextlib
import csv
import io
import json
import re
import tempfile
import time
from pathlib import Path
from types import SimpleNamespace
from typing import Any

from tests.odd_names import named
from tests.stress.bounds import SECONDS, TooLong, bounded
from tests.stress.mutate import HOSTILE, one_of
from tests.stress.pace import slowness
from tests.stress.trial import Trials
from workbench.commands import Window
from workbench.commands import run as command
from workbench.design import Design
from workbench.files.choices_table import COLUMNS, choices_text, save_choices
from workbench.files.curve_table import curve_table
from workbench.files.job import prepare
from workbench.files.project import ProjectError, project_text, read_project, save_project
from workbench.files.scenes import load_scene, scene_names
from workbench.solving.choices.search import Choice
from workbench.units import SI, US

UNIT = "names"
COUNT = 2_000

_OBEYED = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069]")
"""What a terminal obeys, and what turns lines and letters about."""
_FORMULA = re.compile(r"\s*[=+\-@\uff1d\uff0b\uff0d\uff20]")
_LARGEST = 2_000_000


def run(trials: Trials) -> None:
    """Name every part so, and look at what the commands print and the tables hold."""
    scenes = [load_scene(name) for name in scene_names()]
    with tempfile.TemporaryDirectory() as folder:
        for number in trials.numbers():
            random = trials.random(number)
            word = "".join(one_of(random, HOSTILE)[:40] for _ in range(int(random.integers(1, 3))))
            word = word.replace("\ud800", "")
            began = time.process_time()
            try:
                with bounded():
                    _through(one_of(random, scenes), word, Path(folder), number)
            except (Exception, TooLong) as fault:
                trials.fail_by(fault, f"{_what(fault)}", lambda at, w=word: at.with_suffix(".name").write_text(repr(w)))
            took = time.process_time() - began
            trials.tally.took(took)
            if took > SECONDS and took > SECONDS * slowness():
                trials.fail("too slow", f"{took:.1f} s for {word!r}")


def _what(fault: BaseException) -> str:
    return str(fault).split(":")[0][:60] if isinstance(fault, AssertionError) else "raised"


def _through(scene: Design, word: str, folder: Path, number: int) -> None:
    try:
        design = named(scene, word)
    except ValueError:
        return  # refused as it was entered
    path = folder / "job.json"
    save_project(design, path)
    assert read_project(project_text(design)) == design, "a name changed by being saved"
    lines = len(_printed("solve", str(path)).split("\n"))
    plain = folder / "plain.json"
    if number % 20 == 0:
        # a name with a break in it must not begin a line of the answer
        longest = max(len(fan.name) for fan in design.fans)
        save_project(named(scene, "x" * min(longest, 40)), plain)
        assert abs(lines - len(_printed("solve", str(plain)).split("\n"))) < 40, "lines: a name made lines of its own"
    told = json.loads(_printed("solve", "--json", str(path)))
    names = [hole["name"] for hole in told["holes"]]
    assert names == [hole.name for hole in design.holes], "json: a name changed"
    _printed("check", str(path))
    _tables(design, folder)
    _faulty(design, word, folder)


def _printed(*argv: str) -> str:
    """What a command prints, none of which a terminal obeys."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = command(argv, Window(open=_no_window, picture=_no_window))
    assert code in (0, 1, 2), f"exit code: {code}"
    for text in (out.getvalue(), err.getvalue()):
        found = _OBEYED.search(text)
        assert found is None, f"obeyed by a terminal: {found!r}"
        assert len(text) < _LARGEST, "a text: far too long"
    assert len(err.getvalue().splitlines()) <= 1, "the one line beside the answer: several"
    return out.getvalue()


def _no_window(*_: Any) -> int:
    raise AssertionError("a window: opened")


def _tables(design: Design, folder: Path) -> None:
    """Nothing in a table is a formula."""
    from openpyxl import load_workbook

    prepared = prepare(design)
    text = curve_table(prepared, prepared.at(design.speed), US, separator=",")
    rows = [_row(fan.name) for fan in design.fans]
    for table in (text, choices_text(rows, SI, separator=","), choices_text(rows, SI, separator="\t")):
        for cells in csv.reader(io.StringIO(table), delimiter="\t" if "\t" in table.split("\n")[0] else ","):
            for cell in cells:
                number = re.fullmatch(r"-?\d+(\.\d+)?(e[-+]\d+)?", cell)
                assert number or not _FORMULA.match(cell), f"csv, a live formula: {cell!r}"
                assert not _OBEYED.search(cell), f"csv, a control: {cell!r}"
    save_choices(rows, SI, folder / "options.xlsx")
    sheet = load_workbook(folder / "options.xlsx").active
    assert sheet is not None
    for cells in sheet.iter_rows():
        for cell in cells:
            assert cell.data_type in ("s", "n"), f"xlsx, a cell of another type: {cell.data_type} {cell.value!r}"


def _row(fan: str) -> Choice:
    """A found choice of which nothing but the fan matters here."""
    given: dict[str, Any] = {field: 1.0 for field in Choice.__struct_fields__}
    of_fan = SimpleNamespace(fan=fan)
    cost = SimpleNamespace(total=1.0)
    return Choice(**(given | {"candidate": of_fan, "cost": cost, "pipe": fan, "verdict": "holds", "misses": ()}))


def _faulty(design: Design, word: str, folder: Path) -> None:
    """Faults that hold a name are told in lines that hold nothing else."""
    project = json.loads(project_text(design))
    project["design"]["fan"] = f"{word} not there"
    project["design"][word[:30] or "x"] = 1
    project["design"]["holes"] *= 2
    project["design"]["discharge"][0]["fittings"] = [{"kind": word}]
    project["design"]["place"]["weather"] = f"../{word}.epw"
    path = folder / "faulty.json"
    path.write_text(json.dumps(project), encoding="utf-8")
    told = _printed("check", str(path))
    # a line for the file and one for each fault
    assert all(line.startswith(("  /", str(path))) for line in told.strip("\n").split("\n")), "a fault: several lines"
    faults = json.loads(_printed("check", "--json", str(path)))[0]["faults"]
    assert len(faults) == len(told.strip("\n").split("\n")) - 1, "a fault: several lines"
    _printed("solve", str(path))
    with contextlib.suppress(ProjectError):
        read_project(json.dumps(project))


assert {"fan", "pipe", "limits"} <= {column.key for column in COLUMNS}
