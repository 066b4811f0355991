"""Files of strangers: damaged projects, fans, pasted tables, weather and pictures are read or refused in words."""

from __future__ import annotations

import io
import json
import tempfile
import time
import tomllib
import zipfile
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

from tests.files import invented_weather
from tests.stress.bounds import SECONDS, TooLong, bounded
from tests.stress.mutate import damaged_bytes, damaged_json, damaged_text, json_bytes, one_of, reduced, toml_text
from tests.stress.trial import Trials
from workbench.design.capacity import CAPACITIES
from workbench.files.block import BlockError, read_block
from workbench.files.climate import WeatherError, hours_in
from workbench.files.fan_library import LibraryError, read_class
from workbench.files.fan_table import USUAL_UNITS, quantities
from workbench.files.job import NO_ANSWER, at_rest, load, look_over, prepare, why_no_answer
from workbench.files.plain_text import json_text
from workbench.files.project import ProjectError, project_text
from workbench.files.scenes import load_scene, scene_names

UNIT = "files"
COUNT = 10_000

_SHARE = ("project",) * 6 + ("fan",) * 2 + ("table",) * 3 + ("weather",) * 2 + ("picture",) + ("wrong",)
_LONGEST_SENTENCE = 3000


def run(trials: Trials) -> None:
    """Damage a file, have it read, and see that it was read or refused in a sentence and left as it was."""
    sources = _Sources()
    answered = 0
    with tempfile.TemporaryDirectory() as named:
        folder = Path(named)
        for number in trials.numbers():
            random = trials.random(number)
            kind = one_of(random, _SHARE)
            try:
                data, suffix = sources.made(kind, random)
            except RecursionError:  # nested deeper than it can be written here; a file may be all the same
                data, suffix = b'{"a":' * 3000 + b"1" + b"}" * 3000, ".json"
            path = folder / f"{number}{suffix}"
            path.write_bytes(data)
            read = _READERS[kind if kind != "wrong" else one_of(random, tuple(_READERS))]
            began = time.process_time()
            try:
                with bounded():
                    answered += read(path)
            except (Exception, TooLong) as fault:
                trials.fail_by(fault, kind, lambda at, p=path, r=read, s=suffix: _keep(at, p, r, s))
            took = time.process_time() - began
            if took > SECONDS:
                trials.fail(
                    f"{kind}: over {SECONDS:g} s", f"{took:.1f} s", lambda at, d=data, s=suffix: _written(at, d, s)
                )
            if path.read_bytes() != data or len(list(folder.iterdir())) != 1:
                trials.fail(f"{kind}: a file was touched", str(sorted(folder.iterdir())))
            path.unlink()
            trials.tally.took(took)
    trials.tally.figures["answered"] = f"{answered:,}"


class _Sources:
    """Sound files to damage."""

    def __init__(self) -> None:
        self.projects = [json.loads(project_text(load_scene(name))) for name in scene_names()]
        library = Path(__file__).resolve().parents[2] / "fan_library"
        self.fans = [path.read_text(encoding="utf-8") for path in sorted(library.glob("*.toml"))]
        self.weather = invented_weather.text(invented_weather.rows())

    def made(self, kind: str, random: Any) -> tuple[bytes, str]:
        """A damaged file and its ending."""
        if kind == "project":
            times = int(one_of(random, (0, 1, 1, 1, 2, 3, 8)))
            data = json_bytes(random, damaged_json(random, one_of(random, self.projects), times))
            return (damaged_bytes(random, data) if random.random() < 0.2 else data), ".json"
        if kind == "fan":
            text = one_of(random, self.fans)
            if random.random() < 0.6:
                text = toml_text(damaged_json(random, tomllib.loads(text), int(one_of(random, (1, 1, 2, 4)))))
            else:
                text = damaged_text(random, text)
            data = text.encode("utf-8", "surrogatepass")
            return (damaged_bytes(random, data) if random.random() < 0.3 and data else data), ".toml"
        if kind == "table":
            fan = tomllib.loads(one_of(random, self.fans))
            mark = one_of(random, "\t;,| ")
            head = one_of(random, ("Flow [L/s]", "Airflow, cfm", "q", "", "Flow (m³/h)"))
            rows = [f"{head}{mark}Static pressure [Pa]{mark}Power [W]"] if head else []
            rows += [mark.join(f"{each:.4g}" for each in point) for point in fan["curve"][-1]["points"]]
            return damaged_text(random, "\n".join(rows)).encode("utf-8", "surrogatepass"), ".csv"
        if kind == "weather":
            data = self.weather.encode()
            if random.random() < 0.7:
                data = damaged_text(random, self.weather).encode("utf-8", "surrogatepass")
            return damaged_bytes(random, data) if random.random() < 0.5 and data else data, ".epw"
        if kind == "picture":
            return damaged_bytes(random, _bitmap(random)), one_of(random, (".png", ".bmp", ".svg"))
        return one_of(
            random, (_archive(), _bitmap(random), self.weather[:3000].encode(), b"", random.bytes(300))
        ), ".json"


@cache
def _archive() -> bytes:
    """A workbook that would unpack to a hundred megabytes, with a document that names others and grows by entities."""
    lol = '<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;"><!ENTITY c SYSTEM "file:///etc/hosts">]><x>&b;&c;</x>'
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as book:
        book.writestr("xl/workbook.xml", lol)
        book.writestr("xl/sheet1.xml", b"0" * 100_000_000)
    return out.getvalue()


def _bitmap(random: Any) -> bytes:
    """A bitmap whose head claims any size."""
    width, height = (int(one_of(random, (0, 1, 8, 65_535, 2**31 - 1))) for _ in range(2))
    head = b"BM" + (54).to_bytes(4, "little") + bytes(4) + (54).to_bytes(4, "little") + (40).to_bytes(4, "little")
    size = width.to_bytes(4, "little") + height.to_bytes(4, "little")
    return head + size + b"\x01\x00\x18\x00" + bytes(24) + bytes(200)


# --- readers: each answers whether something came of the file, and raises what the program must never raise -----------


def _project(path: Path) -> bool:
    try:
        design = load(path)
    except WeatherError as refusal:
        _sentence(refusal)
        return False
    except ProjectError as refusal:
        _sentence(refusal)
        try:
            _, faults = look_over(path)
        except ProjectError as again:
            _sentence(again)
            return False
        assert faults, "a file that is refused has no fault"
        for fault in faults:
            _sentence(fault.text)
        return False
    try:
        from workbench.solving.report.answer import answer

        prepared = prepare(design)
        json_text(answer(prepared, at_rest(prepared, design.speed)))
    except WeatherError as refusal:
        _sentence(refusal)
        return False
    except NO_ANSWER as refusal:
        # a fault of arithmetic is not a refusal, whatever it is called
        if isinstance(refusal, ZeroDivisionError | OverflowError | FloatingPointError):
            raise
        _sentence(why_no_answer(refusal))
        return False
    return True


def _fan(path: Path) -> bool:
    try:
        read_class(path)
    except LibraryError as refusal:
        _sentence(refusal)
        return False
    return True


def _table(path: Path) -> bool:
    try:
        text = path.read_bytes().decode("utf-8", "replace")
        block = read_block(text, quantities({kind: units[0] for kind, units in USUAL_UNITS.items()}))
        block.records()
    except BlockError as refusal:
        _sentence(refusal)
        return False
    return True


def _weather(path: Path) -> bool:
    try:
        hours_in(path)
    except WeatherError as refusal:
        _sentence(refusal)
        return False
    return True


def _picture(path: Path) -> bool:
    from workbench.design.slab import PlanPicture
    from workbench.files.beside import choose
    from workbench.gui.app import application
    from workbench.gui.plan.picture import PictureLayer

    application()
    choose(path)
    layer = PictureLayer()
    layer.show(PlanPicture(path=str(path)))
    if layer.fault:
        _sentence(layer.fault)
    return not layer.fault


_READERS: dict[str, Callable[[Path], bool]] = {
    "project": _project,
    "fan": _fan,
    "table": _table,
    "weather": _weather,
    "picture": _picture,
}


def _sentence(words: object) -> None:
    """What a person is told: some words, not the program's own insides."""
    text = str(words)
    assert text.strip(), "a refusal without words"
    assert len(text) < _LONGEST_SENTENCE + CAPACITIES["letters"].most, f"a refusal of {len(text)} letters"
    for inside in ("Traceback", "object has no attribute", "unsupported operand", "NoneType", "pydantic", "_nan"):
        assert inside not in text, f"the program's insides are told: {text[:300]}"


# --- keeping what failed ----------------------------------------------------------------------------------------------


def _written(stem: Path, data: bytes, suffix: str) -> None:
    stem.with_suffix(suffix).write_bytes(data)


def _keep(stem: Path, path: Path, read: Callable[[Path], bool], suffix: str) -> None:
    data = path.read_bytes()
    _written(stem, data, suffix)
    if read is not _project:
        return
    try:
        project = json.loads(data)
    except (ValueError, RecursionError):
        return

    def failure(value: Any) -> str:
        small = stem.with_suffix(".try.json")
        small.write_text(json.dumps(value), encoding="utf-8", errors="surrogatepass")
        try:
            with bounded(2.0):
                read(small)
        except (Exception, TooLong) as fault:
            return type(fault).__name__
        finally:
            small.unlink()
        return ""

    whole = failure(project)
    small = reduced(project, lambda value: failure(value) == whole, 150) if whole and whole != "TooLong" else project
    stem.with_suffix(".small.json").write_text(json.dumps(small, indent=1), encoding="utf-8", errors="surrogatepass")
