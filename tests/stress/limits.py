"""Every limit of the table: what just keeps it is answered in time, what just exceeds it is refused by its name."""

from __future__ import annotations

import copy
import json
import math
import tempfile
import time
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from tests.files import invented_weather
from tests.stress.bounds import SECONDS, TooLong, bounded
from tests.stress.pace import slowness
from tests.stress.trial import Trials
from workbench.design.capacity import CAPACITIES, beyond
from workbench.files.block import BlockError, read_block
from workbench.files.climate import WeatherError, hours_in
from workbench.files.fan_library import LibraryError, read_class
from workbench.files.fan_table import USUAL_UNITS, quantities
from workbench.files.job import at_rest, load, prepare
from workbench.files.project import ProjectError, project_text
from workbench.files.scenes import load_scene
from workbench.files.visit_sheet import VisitSheetError, read_visit_sheet

UNIT = "sizes"

SLOW = {"suction_points": 10.0, "junctions": 10.0, "holes": 8.0}
"""Where the most that is taken is known to need longer [s]; DEVELOPERS.md says so."""

Build = Callable[[int, Path], Any]
"""Makes something of so many and has it read; gives what the reading refused, None where it was read."""


def _studio() -> dict[str, Any]:
    found: dict[str, Any] = json.loads(project_text(load_scene()))
    return found


def _answer(project: dict[str, Any], folder: Path) -> Any:
    path = folder / "job.json"
    path.write_text(json.dumps(project), encoding="utf-8")
    try:
        design = load(path)
    except ProjectError as refusal:
        words = [str(refusal), *(fault.text for fault in refusal.faults)]
        return [refusal.limit, *(fault.limit for fault in refusal.faults)], "; ".join(words)
    at_rest(prepare(design), design.speed)
    return None


def _in_design(change: Callable[[dict[str, Any], int], None]) -> Build:
    def made(count: int, folder: Path) -> Any:
        project = _studio()
        change(project["design"], count)
        return _answer(project, folder)

    return made


def _holes(design: dict[str, Any], count: int) -> None:
    first, columns = design["holes"][0], math.ceil(math.sqrt(count))
    design["holes"] = [
        {
            **first,
            "name": f"H{i}",
            "position": {"x": 2.2 + 3.9 * (i % columns) / columns, "y": 2.0 + 5.0 * (i // columns) / columns},
            "readings": first["readings"][:1],
        }
        for i in range(count)
    ]


def _readings(design: dict[str, Any], count: int) -> None:
    design["holes"][0]["readings"] = design["holes"][0]["readings"][:1] * count


def _all_readings(design: dict[str, Any], count: int) -> None:
    each = 20
    _holes(design, math.ceil(count / each))
    left = count
    for hole in design["holes"]:
        hole["readings"] = hole["readings"] * min(each, left)
        left -= len(hole["readings"])


def _visits(design: dict[str, Any], count: int) -> None:
    design["visits"] = [
        {"date": f"{2027 + i // 28}-03-{1 + i % 28:02}", "gauge": {"pressure": 118.0}} for i in range(count)
    ]


def _all_visited(design: dict[str, Any], count: int) -> None:
    each = 24
    _holes(design, each)
    _visits(design, math.ceil(count / each))
    left = count
    for visit in design["visits"]:
        visit["holes"] = [{"hole": f"H{i}", "suction": 5.0} for i in range(min(each, left))]
        left -= len(visit["holes"])


def _steps(design: dict[str, Any], count: int) -> None:
    design["intake"]["source"]["ground"]["readings"] = [
        {"flow": 0.002 + 0.03 * i / count, "suction": 10.0 + 180.0 * i / count, "baseline": 0.0} for i in range(count)
    ]


def _short(design: dict[str, Any], name: str) -> dict[str, Any]:
    return {**copy.deepcopy(design["discharge"][0]), "name": name, "rise": 0.0, "length": 0.2}


def _runs(design: dict[str, Any], count: int) -> None:
    design["discharge"] = [_short(design, f"R{i}") for i in range(count)]


def _all_runs(design: dict[str, Any], count: int) -> None:
    there = len(design["intake"]["runs"])
    design["intake"]["runs"] += [_short(design, f"I{i}") for i in range(count // 2 - there)]
    design["discharge"] = [_short(design, f"R{i}") for i in range(count - count // 2)]


def _points(design: dict[str, Any], count: int) -> None:
    source, tree = design["intake"]["source"], None
    for i in range(count):
        place = {"x": 1.1 + 0.9 * (i % 6), "y": 1.2 + 0.9 * (i // 6)}
        one = {**copy.deepcopy(source), "name": source["name"] if i == 0 else f"P{i}", "position": place}
        leg = {"source": one, "runs": [_short(design, f"L{i}")]}
        if tree is None:
            tree = leg
        else:
            meeting = {"part": "junction", "straight": tree, "side": leg}
            tree = {"source": meeting, "runs": [_short(design, f"T{i}")]}
    assert tree is not None
    design["intake"] = {"source": tree["source"], "runs": design["intake"]["runs"]}


def _repeated(*way: str | int) -> Callable[[dict[str, Any], int], None]:
    """So many of what stands first in a list."""

    def change(design: dict[str, Any], count: int) -> None:
        held: Any = design
        for step in way[:-1]:
            held = held[step]
        held[way[-1]] = [
            {**copy.deepcopy(_PARTS[str(way[-1])]), **({"name": f"N{i}"} if "name" in _PARTS[str(way[-1])] else {})}
            for i in range(count)
        ]

    return change


_PARTS: dict[str, dict[str, Any]] = {
    "fittings": {"kind": "45 elbow"},
    "listeners": {"name": "Bed"},
    "cracks": {"name": "Joint"},
    "rules": {"key": "riser_slope", "what": "Slope", "value": 1.0, "comparison": "at least", "source": "own"},
}


def _listeners(design: dict[str, Any], count: int) -> None:
    first = design["house"]["listeners"][0]
    design["house"]["listeners"] = [{**first, "name": f"N{i}"} for i in range(count)]


def _appliances(design: dict[str, Any], count: int) -> None:
    from workbench.design.catalogue import appliance_kinds

    names = list(appliance_kinds())
    design["house"]["appliances"] = [names[i % len(names)] for i in range(count)]


def _rules(design: dict[str, Any], count: int) -> None:
    design["rules"] = {"title": "Own", "rules": [_PARTS["rules"]] * count}


def _fans(design: dict[str, Any], count: int) -> None:
    used = next(fan for fan in design["fans"] if fan["name"] == design["fan"])
    design["fans"] = [{**used, "name": used["name"] if i == 0 else f"F{i}"} for i in range(count)]


def _curve(design: dict[str, Any], count: int) -> None:
    fan = next(fan for fan in design["fans"] if fan["name"] == design["fan"])
    points = [
        {"flow": 0.1 * i / count, "pressure": 300.0 * (1 - i / count), "power": 50.0 + i / count} for i in range(count)
    ]
    fan["curves"] = [{"speed": 1.0, "points": points}]


def _curves(design: dict[str, Any], count: int) -> None:
    fan = next(fan for fan in design["fans"] if fan["name"] == design["fan"])
    full = fan["curves"][-1]["points"]
    fan["curves"] = [
        {
            "speed": s,
            "points": [
                {"flow": p["flow"] * s, "pressure": p["pressure"] * s**2, "power": p["power"] and p["power"] * s**3}
                for p in full
            ],
        }
        for s in ((i + 1) / count for i in range(count))
    ]


def _corners(design: dict[str, Any], count: int) -> None:
    ways = [2 * math.pi * i / count for i in range(count)]
    design["slab"]["outline"] = [{"x": 5.0 + 8.0 * math.cos(a), "y": 4.0 + 8.0 * math.sin(a)} for a in ways]
    design["slab"]["edges"] = []


def _cells(design: dict[str, Any], count: int) -> None:
    cell = design["slab"]["cell"]
    columns = math.isqrt(count)
    rows = math.ceil(count / columns) if count > CAPACITIES["cells"].most else count // columns
    wide, high = columns * cell, rows * cell
    design["slab"]["outline"] = [{"x": x, "y": y} for x, y in ((0, 0), (wide, 0), (wide, high), (0, high))]
    design["slab"]["edges"] = []


def _drawn(count: int, folder: Path) -> Any:
    project = _studio()
    _cells(project["design"], count)
    path = folder / "job.json"
    path.write_text(json.dumps(project), encoding="utf-8")
    design = load(path)
    prepared = prepare(design)
    told = [str(notice) for notice in prepared.at(design.speed).notices if notice.code == "coarser-grid"]
    assert prepared.assembly.floor.field is not None
    return (["cells"], told[0]) if told else None


def _zones(design: dict[str, Any], count: int) -> None:
    square = ((0.0, 0.0), (0.4, 0.0), (0.4, 0.4), (0.0, 0.4))
    design["slab"]["zones"] = [
        {
            "name": f"Z{i}",
            "outline": [{"x": 0.2 + 0.5 * (i % 12) + x, "y": 2.5 + 0.5 * (i // 12) + y} for x, y in square],
        }
        for i in range(count)
    ]


def _footings(design: dict[str, Any], count: int) -> None:
    design["slab"]["footings"] = [
        {
            "name": f"W{i}",
            "opening": 0.1,
            "line": [{"x": x + 0.5 * (i % 10), "y": 3.0 + 0.3 * (i // 10)} for x in (0.5, 0.9)],
        }
        for i in range(count)
    ]


def _letters(design: dict[str, Any], count: int) -> None:
    design["title"] = "x" * count


def _searched(design: dict[str, Any], count: int) -> None:
    design["search"]["pits"] = [0.01 + 0.001 * i for i in range(count)]


def _project_file(count: int, folder: Path) -> Any:
    path = folder / "job.json"
    text = json.dumps(_studio())
    path.write_text(text + " " * (count - len(text)), encoding="utf-8")
    try:
        load(path)
    except ProjectError as refusal:
        return [refusal.limit], str(refusal)
    return None


def _project_depth(count: int, folder: Path) -> Any:
    path = folder / "job.json"
    path.write_text("[" * count + "]" * count, encoding="utf-8")
    try:
        load(path)
    except ProjectError as refusal:
        # brackets alone are no project, but that is for the next to say
        return ([refusal.limit], str(refusal)) if refusal.limit else None
    return None


def _weather_file(count: int, folder: Path) -> Any:
    path = folder / "year.epw"
    data = invented_weather.text(invented_weather.rows()).encode()
    path.write_bytes(data + b"\n" * (count - len(data)))
    try:
        hours_in(path)
    except WeatherError as refusal:
        return ["weather_file" if refusal.code == "too large" else ""], str(refusal)
    return None


def _workbook(path: Path, limit: str) -> Any:
    try:
        read_visit_sheet(path, load_scene("studio"))
    except VisitSheetError as refusal:
        # zeros are no visit, but that is for the next to say
        words = str(refusal)
        return ([limit], words) if f"{CAPACITIES[limit].most:,}" in words else None
    return None


def _workbook_file(count: int, folder: Path) -> Any:
    path = folder / "visit.xlsx"
    path.write_bytes(bytes(count))
    return _workbook(path, "workbook_file")


def _workbook_plain(count: int, folder: Path) -> Any:
    path = folder / "visit.xlsx"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as made:
        made.writestr("sheet.bin", bytes(count))
    return _workbook(path, "workbook_plain")


def _fan_file(count: int, folder: Path) -> Any:
    path = folder / "fan.toml"
    library = Path(__file__).resolve().parents[2] / "fan_library"
    data = sorted(library.glob("*.toml"))[0].read_bytes()
    path.write_bytes(data + b"\n" * (count - len(data)))
    try:
        read_class(path)
    except LibraryError as refusal:
        return ["fan_file"], str(refusal)
    return None


def _picture(data: bytes, folder: Path, limit: str) -> Any:
    from workbench.design.slab import PlanPicture
    from workbench.files.beside import choose
    from workbench.gui.app import application
    from workbench.gui.plan.picture import PictureLayer

    application()
    path = folder / "plan.bmp"
    path.write_bytes(data)
    choose(path)
    layer = PictureLayer()
    layer.show(PlanPicture(path=str(path)))
    return ([limit], layer.fault) if layer.fault else None


def _picture_file(count: int, folder: Path) -> Any:
    head = _bitmap(8, 8)
    return _picture(head + bytes(count - len(head)), folder, "picture_file")


def _picture_pixels(count: int, folder: Path) -> Any:
    # one bit a pixel, so that the file itself is small
    wide = 5000
    return _picture(_bitmap(wide, math.ceil(count / wide)), folder, "picture_pixels")


def _bitmap(wide: int, high: int) -> bytes:
    row = (wide + 31) // 32 * 4
    small, word = (lambda n: n.to_bytes(2, "little")), (lambda n: n.to_bytes(4, "little"))
    head = b"BM" + word(62 + row * high) + word(0) + word(62) + word(40) + word(wide) + word(high) + small(1) + small(1)
    return head + word(0) * 6 + word(0) + word(0xFFFFFF) + bytes(row * high)


def _block(text: str) -> Any:
    limit = "pasted_block" if len(text) > CAPACITIES["pasted_block"].most else "pasted_rows"
    try:
        read_block(text, quantities({kind: units[0] for kind, units in USUAL_UNITS.items()}))
    except BlockError as refusal:
        return [limit], str(refusal)
    return None


def _pasted_block(count: int, _folder: Path) -> Any:
    rows = "Flow [L/s]\tPressure [Pa]\n1\t5\n2\t4\n"
    return _block(rows + " " * (count - len(rows)))


def _pasted_rows(count: int, _folder: Path) -> Any:
    return _block("\n".join(["Flow [L/s]\tPressure [Pa]", *(f"{i}\t{count - i}" for i in range(1, count))]))


BUILDS: dict[str, Build] = {
    "project_file": _project_file,
    "project_depth": _project_depth,
    "weather_file": _weather_file,
    "picture_file": _picture_file,
    "workbook_file": _workbook_file,
    "workbook_plain": _workbook_plain,
    "picture_pixels": _picture_pixels,
    "fan_file": _fan_file,
    "pasted_block": _pasted_block,
    "pasted_rows": _pasted_rows,
    "letters": _in_design(_letters),
    "holes": _in_design(_holes),
    "readings": _in_design(_readings),
    "all_readings": _in_design(_all_readings),
    "steps": _in_design(_steps),
    "suction_points": _in_design(_points),
    "junctions": _in_design(lambda design, count: _points(design, count + 1)),
    "runs": _in_design(_runs),
    "all_runs": _in_design(_all_runs),
    "fittings": _in_design(_repeated("discharge", 0, "fittings")),
    "corners": _in_design(_corners),
    "zones": _in_design(_zones),
    "footings": _in_design(_footings),
    "cells": _drawn,
    "fans": _in_design(_fans),
    "curves": _in_design(_curves),
    "fan_points": _in_design(_curve),
    "listeners": _in_design(_listeners),
    "cracks": _in_design(_repeated("house", "cracks")),
    "appliances": _in_design(_appliances),
    "rules": _in_design(_rules),
    "searched": _in_design(_searched),
    "visits": _in_design(_visits),
    "all_visited": _in_design(_all_visited),
}
"""By the key of the limit."""

_NAMED_ELSEWHERE = {"pasted_rows", "picture_file"}
"""Limits whose sentence is of its reader's own, with its own figures."""

COUNT = 2 * len(CAPACITIES)


def run(trials: Trials) -> None:
    """Keep each limit, then exceed it by one."""
    slowest = ("", 0.0)
    with tempfile.TemporaryDirectory() as folder:
        for number, (key, over) in _numbered(trials):
            began = time.process_time()
            try:
                with bounded(60.0):
                    refused = BUILDS[key](CAPACITIES[key].most + over, Path(folder))
            except (Exception, TooLong) as fault:
                trials.fail_by(fault, f"{key}, {'over' if over else 'within'}")
                continue
            took = time.process_time() - began
            trials.tally.took(took)
            if not over:
                slowest = max(slowest, (key, took), key=lambda each: each[1])
            _judge(trials, key, over, refused, took)
            assert number < COUNT
    trials.tally.figures["slowest within"] = f"{slowest[0]} {slowest[1]:.1f} s"


def _numbered(trials: Trials) -> Iterator[tuple[int, tuple[str, int]]]:
    tried = [(key, over) for key in CAPACITIES for over in (0, 1)]
    return ((number, tried[number]) for number in trials.numbers())


def _judge(trials: Trials, key: str, over: int, refused: Any, took: float) -> None:
    most = SECONDS if over else SLOW.get(key, SECONDS)
    if took > most and took > most * slowness():
        trials.fail(f"{key}, {'over' if over else 'within'}: too slow", f"{took:.1f} s")
    if not over:
        if refused is not None:
            trials.fail(f"{key}: refused within the limit", str(refused))
        return
    if refused is None:
        trials.fail(f"{key}: taken beyond the limit", "")
        return
    limits, words = refused
    if key not in limits:
        trials.fail(f"{key}: refused for another reason", f"{limits}: {words}")
    figure = beyond(key).plain().split(" than ")[-1]
    named = f"{CAPACITIES[key].most:,}" in words or key in _NAMED_ELSEWHERE
    if not named:
        trials.fail(f"{key}: refused without naming the limit", f"{words}, not {figure}")
