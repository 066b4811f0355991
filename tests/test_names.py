"""A name is shown as it was typed, whatever marks it holds. The reference is the same answer for names of letters only:
what a name says can change no other word of it (a metamorphic check; nothing published is needed).
"""

from __future__ import annotations

import json
from functools import lru_cache
from pathlib import Path

import pytest

from tests.odd_names import ODD_NAMES, PLAIN, named, scene
from workbench.commands import Window, run
from workbench.design import Design
from workbench.design.edit import choose_fan
from workbench.design.ground import GroundClass, StepReading, StepTest
from workbench.design.record import with_value
from workbench.files.project import save_project
from workbench.solving import prepare
from workbench.solving.outcome import write_si


def _no_window(*_: object) -> int:
    raise AssertionError("no window is asked for")


def answered(design: Design, folder: Path, capsys: pytest.CaptureFixture[str], *command: str) -> str:
    path = folder / "job.json"
    save_project(design, path)
    run([*command, str(path)], Window(_no_window, _no_window))  # type: ignore[arg-type]
    said = capsys.readouterr()
    assert not said.err
    return said.out.replace(str(path), "FILE")


@lru_cache(maxsize=4)
def few_choices(name: str) -> Design:
    """A scene of which little is searched."""
    design = scene(name)
    for key, value in (("pits", (0.028, 1.9)), ("pipes", ()), ("leak_left", ()), ("another_point", False)):
        design = with_value(design, ("search", key), value)
    return design


@pytest.mark.parametrize(
    ("scene_name", "command"),
    [
        *(("studio", command) for command in ("solve", "solve --json", "check", "choices", "choices --json")),
        *(("reading-room", command) for command in ("solve", "solve --json", "check")),
    ],
)
def test_a_name_changes_no_other_word(
    scene_name: str, command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    design = few_choices(scene_name)
    plain = answered(named(design, PLAIN), tmp_path, capsys, *command.split())
    assert plain.count(PLAIN) >= (1 if command == "check" else 8)
    for odd in ODD_NAMES:
        said = answered(named(design, odd), tmp_path, capsys, *command.split())
        if "--json" in command:
            assert said == plain.replace(PLAIN, json.dumps(odd, ensure_ascii=False)[1:-1])
        else:
            # tables and folded lines are as wide as their names
            assert "".join(said.split()) == "".join(plain.replace(PLAIN, odd).split())


def test_the_troubles_of_the_design_are_told_by_name(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Else the check above would hold nothing: each of these sentences carries a name."""
    told = json.loads(answered(named(scene("studio"), "Show {0}"), tmp_path, capsys, "solve", "--json"))
    words = {warning["code"]: warning["text"] for warning in told["warnings"]}
    assert words["not-measured"].startswith("Not measured: Show {0} 40. ")
    assert words["above-applied"].startswith("Show {0} 41: it reads ")
    assert words["small-pit"].startswith("Show {0} 20: a pit of 0.004 m3 ")
    assert words["too-loud"].startswith("Too loud at Show {0} 61: ")
    assert words["standing-water"].startswith("Water would stand in Show {0} 30: ")


def variants() -> dict[str, Design]:
    """Designs that between them are told everything that carries a name."""
    studio = scene("studio")
    (point, _), *_ = studio.suction_points()
    (first, _), *_ = studio.runs()
    reading = studio.holes[1].readings[0]
    wrong = reading.model_copy(update={"suction": 0.5, "at_rest": 9.0})
    far = reading.model_copy(update={"suction": 0.9 * reading.applied})
    once = StepTest(readings=(StepReading(flow=0.2, suction=4000.0),))
    return {
        "as it is": studio,
        "untested": with_value(studio, (*point, "ground"), GroundClass()),
        "tested far off": with_value(studio, (*point, "ground"), once),
        "exchanged": with_value(studio, ("holes", 1, "readings"), (wrong,)),
        "odd": with_value(studio, ("holes", 1, "readings"), (far,)),
        "narrow": with_value(choose_fan(studio, studio.fans[-1].name), (*first, "pipe", "inside_diameter"), 0.03),
        "nowhere": with_value(studio, ("holes", 0, "position"), None),
    }


def test_every_notice_with_a_name_holds_it_as_it_was_typed() -> None:
    codes = set()
    for title, design in variants().items():
        plain = prepare(named(design, PLAIN)).at(1.0).notices
        for odd in ODD_NAMES[1:3]:
            notices = prepare(named(design, odd)).at(1.0).notices
            said = [n.text(write_si) for n in notices]
            assert said == [n.text(write_si).replace(PLAIN, odd) for n in plain], title
        codes |= {notice.code for notice in plain if PLAIN in notice.text(write_si)}
    # else nothing was held of them
    assert codes >= {
        "above-applied", "chance", "fast-air", "house-air", "misfit", "no-test", "not-measured", "one-reading",
        "outside-test", "small-pit", "standing-water", "stone-inertia", "suspect-point", "too-loud", "unknown-hole",
        "wrong-sign",
    }  # fmt: skip
