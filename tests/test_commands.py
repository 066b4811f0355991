"""The program from the command line: answers, exit codes, and bad input refused in one line."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import workbench
from workbench import __main__ as program
from workbench.commands import Window, run
from workbench.design import Design
from workbench.design.edit import choose_fan, set_speed
from workbench.design.ground import GroundClass
from workbench.design.record import with_value
from workbench.design.slab import HoleReading, TestHole
from workbench.files.fan_library import fan_class
from workbench.files.job import at_rest
from workbench.files.project import load_project, save_project
from workbench.files.scenes import load_scene
from workbench.solving import prepare
from workbench.solving.site.draws import REST_SAMPLES
from workbench.units import US

ROOT = Path(__file__).resolve().parent.parent


class Opened:
    """Stands for the window and notes what it is asked for."""

    def __init__(self) -> None:
        self.paths: list[Path | None] = []
        self.safe: list[bool] = []
        self.pictures: list[tuple[Design, Path, str]] = []
        self.window = Window(self._open, self._picture)

    def _open(self, path: Path | None, safe: bool) -> int:
        self.safe.append(safe)
        if path is not None:
            load_project(path)
        self.paths.append(path)
        return 7

    def _picture(self, design: Design, path: Path, system: str, safe: bool) -> None:
        self.safe.append(safe)
        path.write_bytes(b"")
        self.pictures.append((design, path, system))


@pytest.fixture
def opened() -> Opened:
    return Opened()


def called(*argv: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "workbench", *argv],
        cwd=ROOT,
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=60,
        check=False,
    )


def answered(capsys: pytest.CaptureFixture[str], *argv: str) -> dict[str, Any]:
    assert program.main(["solve", "--json", *argv]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    return json.loads(out)


def refused(capsys: pytest.CaptureFixture[str], opened: Opened, *argv: str) -> str:
    assert run(argv, opened.window) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("subslab-workbench: ")
    assert err.count("\n") == 1
    return err


@pytest.fixture
def unserved(tmp_path: Path) -> str:
    """A project whose system takes more than the last point of its fan, so that nothing is known of a crossing."""
    fan = fan_class("Everyday in-line, electronic")
    full = fan.full.model_copy(update={"points": fan.full.points[:3]})
    short = fan.model_copy(update={"curves": (full,)})
    save_project(load_scene().model_copy(update={"fans": (short,)}), tmp_path / "unserved.json")
    return str(tmp_path / "unserved.json")


def test_demonstration_from_a_shell() -> None:
    done = called("solve", "--json", "--speed", "0.62")
    assert (done.returncode, done.stderr) == (0, "")
    found = json.loads(done.stdout)
    assert found["speed"] == 0.62
    assert found["operating_point"]["flow_m3s"] > 0.0


def test_a_fault_from_a_shell_is_one_line_without_a_traceback(tmp_path: Path) -> None:
    (tmp_path / "cut.json").write_text('{"format": "subslab-workb')
    done = called("solve", str(tmp_path / "cut.json"))
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.count("\n") == 1
    assert "ends in the middle" in done.stderr


def test_a_reader_that_stops_early_is_no_fault() -> None:
    script = "import sys; from workbench.__main__ import main; sys.exit(main(['schema']))"
    with subprocess.Popen(
        [sys.executable, "-c", script], cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as running:
        assert running.stdout is not None
        assert running.stderr is not None
        running.stdout.close()
        assert running.stderr.read() == b""
        assert running.wait(60) == 0


@pytest.mark.parametrize("encoding", ["ascii", "cp1252", "utf-16"])
def test_answers_are_in_utf_8_whatever_the_console_has(encoding: str) -> None:
    """As JSON must be between programs (RFC 8259, section 8.1); the minus sign U+2212 is E2 88 92."""
    done = subprocess.run(
        [sys.executable, "-m", "workbench", "solve"],
        cwd=ROOT,
        env={**os.environ, "PYTHONIOENCODING": encoding},
        capture_output=True,
        check=True,
    )
    assert b"Stack effect in the pipe" in done.stdout
    assert b"\xe2\x88\x92" in done.stdout
    assert "?" not in done.stdout.decode("utf-8")


@pytest.mark.parametrize("text", ["0.62", "62%", "62 %", "0,62"])
def test_speed_is_a_fraction_or_per_cent(capsys: pytest.CaptureFixture[str], text: str) -> None:
    assert answered(capsys, "--speed", text)["speed"] == pytest.approx(0.62, rel=1e-12)


@pytest.mark.parametrize("text", ["62", "0", "-0.5", "1.01", "101%", "0%", "fast", "", "nan", "inf", "5 0"])
def test_other_speeds_are_refused(capsys: pytest.CaptureFixture[str], opened: Opened, text: str) -> None:
    assert "--speed" in refused(capsys, opened, "solve", "--speed", text)


def test_without_a_speed_the_designs_own_holds(capsys: pytest.CaptureFixture[str]) -> None:
    assert answered(capsys)["speed"] == load_scene().speed


def test_json_holds_together(capsys: pytest.CaptureFixture[str]) -> None:
    found = answered(capsys, str(ROOT / "workbench" / "scenes" / "reading-room.json"))
    operating = found["operating_point"]
    assert sum(loss["fan_share_Pa"] for loss in found["losses"]) == pytest.approx(
        operating["fan_pressure_Pa"], rel=1e-9
    )
    assert sum(point["flow_m3s"] for point in found["suction_points"]) == pytest.approx(operating["flow_m3s"], rel=1e-9)
    assert operating["velocity_ms"] == max(run["velocity_ms"] for run in found["runs"])
    assert found["year"]["fan_kWh"] == pytest.approx(8.76 * operating["power_W"], rel=1e-12)
    assert found["operating_points"] == [
        {"flow_m3s": operating["flow_m3s"], "fan_pressure_Pa": operating["fan_pressure_Pa"], "stable": True}
    ]


def test_json_tells_what_the_cost_of_house_air_rests_on(capsys: pytest.CaptureFixture[str]) -> None:
    tested = answered(capsys)["year"]
    year = answered(capsys, str(ROOT / "workbench" / "scenes" / "reading-room.json"))["year"]
    assert (tested["share_source"], year["share_source"]) == ("exhaust test", "prior")
    low, high = year["house_air_share_band"]
    assert low <= 0.3 < year["house_air_share"] < 0.9 <= high
    # an exhaust test leaves less open than none
    assert low < tested["house_air_share_band"][0] < tested["house_air_share_band"][1] < high
    assert year["leakage_known"] is False
    few, many = year["added_air_band_m3s"]
    assert 0.0 < few < year["added_air_m3s"] < many == pytest.approx(year["house_air_m3s"])


def test_json_tells_the_warnings_in_si(capsys: pytest.CaptureFixture[str], unserved: str) -> None:
    found = answered(capsys, unserved)
    assert found["operating_point"] is None
    assert found["gauge_Pa"] is None
    assert found["year"] is None
    told = {warning["code"]: warning["text"] for warning in found["warnings"]}
    assert "0.01512 m3/s" in told["beyond-curve"]


def test_strict_tells_by_the_exit_code(capsys: pytest.CaptureFixture[str], unserved: str) -> None:
    assert program.main(["solve", unserved]) == 0
    assert program.main(["solve", unserved, "--strict"]) == 1
    assert program.main(["solve", "--strict", "--speed", "0.9"]) == 0
    assert "more flow than the last measured point" in " ".join(capsys.readouterr().out.split())


@pytest.mark.parametrize(
    "speed", [0.0, -0.5, 1.0001, float("nan"), float("inf"), -float("inf"), np.array([0.5, 2.0]), ["0.5"], "0.5", True]
)
def test_speeds_out_of_range_are_refused_in_words_from_python(speed: Any) -> None:
    with pytest.raises(ValueError, match="more than 0"):
        workbench.solve(load_scene(), speed)
    with pytest.raises(ValueError, match="more than 0"):
        set_speed(load_scene(), speed)


def test_a_speed_may_be_any_kind_of_number() -> None:
    assert workbench.solve(load_scene("clubhouses"), np.float32(0.5)).speed == 0.5
    assert workbench.solve(load_scene("clubhouses"), 1).speed == 1.0


@pytest.mark.parametrize(
    "error", [ZeroDivisionError("float division by zero"), np.linalg.LinAlgError("Singular matrix")]
)
@pytest.mark.parametrize("command", ["solve", "choices", "check"])
def test_what_has_no_answer_is_refused_in_one_line(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path, command: str, error: Exception
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise error

    save_project(load_scene(), tmp_path / "job.json")
    monkeypatch.setattr("workbench.files.job.prepare_in", broken)
    monkeypatch.setattr("workbench.solving.choices.search.search", broken)
    assert program.main([command, str(tmp_path / "job.json")]) == 2
    out, err = capsys.readouterr()
    assert str(error) in out + err
    assert "Traceback" not in err
    assert (out + err).count("\n") == (2 if command == "check" else 1)


@pytest.mark.parametrize("command", [["solve", "--json"], ["fans"], ["schema"], ["--help"]], ids="-".join)
@pytest.mark.parametrize("stdout", [">/dev/full", ">&-"])
def test_an_answer_that_cannot_be_written_is_no_answer(command: list[str], stdout: str) -> None:
    line = f'"{sys.executable}" -m workbench {" ".join(command)} {stdout}'
    done = subprocess.run(["sh", "-c", line], cwd=ROOT, capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1
    assert "cannot be written" in done.stderr


def test_a_reader_that_stops_early_does_not_turn_a_failure_into_a_pass() -> None:
    argv = [sys.executable, "-m", "workbench", "solve", "--strict", "--json", "--speed", "0.3"]
    with subprocess.Popen(argv, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as running:
        assert running.stdout is not None
        assert running.stderr is not None
        running.stdout.close()
        assert running.stderr.read().count(b"\n") == 1
        assert running.wait(60) == 1


@pytest.fixture
def tested(tmp_path: Path) -> str:
    """The demonstration with two holes that were read and one that was not."""
    holes = [
        TestHole(name=name, readings=(HoleReading(point="Kiln corner", applied=93.0, flow=0.016, suction=suction),))
        for name, suction in (("North wall", 40.0), ("Under the stairs", 30.0))
    ]
    save_project(load_scene().model_copy(update={"holes": tuple(holes)}), tmp_path / "tested.json")
    return str(tmp_path / "tested.json")


def test_holes_decide_whether_a_design_holds(capsys: pytest.CaptureFixture[str], tested: str) -> None:
    codes, verdicts = [], []
    for speed in ("1", "0.3"):
        holds = answered(capsys, tested, "--speed", speed)["holds"]
        verdicts.append(holds["verdict"])
        codes.append(program.main(["solve", tested, "--speed", speed, "--strict"]))
        out = " ".join(capsys.readouterr().out.split())
        words = {"holds": "Meets target:", "fails": "Below target:", "unsure": "Uncertain:"}[holds["verdict"]]
        # these holes were not read while the exhausts ran
        rests = "it rests on values that were not measured (how much of the draw-down reaches the holes);"
        assert f"{words} {rests} the weakest hole is {holds['weakest_hole']}, " in out
    assert verdicts[0] == "holds"
    assert codes == [0 if verdict == "holds" else 1 for verdict in verdicts]


def strict(capsys: pytest.CaptureFixture[str], tmp_path: Path, design: Design, *argv: str) -> tuple[int, str, str]:
    """Exit code of a strict answer, what is told beside it, and the verdict in its JSON."""
    save_project(design, tmp_path / "strict.json")
    code = program.main(["solve", str(tmp_path / "strict.json"), "--strict", "--json", *argv])
    out, err = capsys.readouterr()
    return code, err, json.loads(out)["holds"]["verdict"]


def test_strict_passes_only_what_holds_and_tells_the_rest_in_one_line(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    studio = load_scene()
    (hole, *others) = studio.holes
    unread = hole.model_copy(update={"readings": ()})
    asked = with_value(studio, ("target", "suction"), 90.0)
    cases = [
        (studio, "1", "holds", ""),
        (studio, "0.3", "fails", "below target: the weakest hole is "),
        (with_value(studio, ("target", "suction"), 1.0), "0.6", "unsure", "uncertain: the weakest hole is "),
        (
            with_value(studio, ("holes",), ()),
            "1",
            "not measured",
            "values that were not measured (any test hole, how much of the draw-down reaches the holes)",
        ),
        (with_value(studio, ("holes",), (unread,)), "1", "not measured", "hole Wheel"),
        (with_value(asked, ("holes",), (unread,)), "0.3", "not measured", "hole Wheel"),
        (with_value(studio, ("holes",), (unread, *others)), "1", "not measured", "hole Wheel"),
        (with_value(studio, ("holes",), (unread, *others)), "0.3", "fails", "below target: "),
        (choose_fan(studio, None), "1", "not measured", "No fan is selected"),
    ]
    for design, speed, verdict, why in cases:
        code, err, said = strict(capsys, tmp_path, design, "--speed", speed)
        assert (said, code) == (verdict, 0 if verdict == "holds" else 1), why
        assert why in err
        assert err.count("\n") == code


def test_no_chance_is_told_as_certain(capsys: pytest.CaptureFixture[str]) -> None:
    for speed, words in (("1", "> 99 %"), ("0.3", "< 1 %")):
        assert program.main(["solve", "--speed", speed, "--strict"]) == (0 if speed == "1" else 1)
        assert f"{words} likely at every hole, 90 % asked" in " ".join(capsys.readouterr().out.split())


def test_what_nobody_measured_is_named(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    bare = with_value(load_scene(), ("intake", "source", "ground"), GroundClass())
    hole = TestHole(name="Behind the kiln")
    save_project(bare.model_copy(update={"holes": (*bare.holes[:1], hole)}), tmp_path / "a.json")
    found = answered(capsys, str(tmp_path / "a.json"))
    told = [(each["kind"], each["subject"]) for each in found["holds"]["not_measured"]]
    assert told == [("hole", "Behind the kiln"), ("ground", "Kiln corner")]
    assert [hole["measured"] for hole in found["holes"]] == [True, False]
    assert found["holes"][1]["verdict"] == "not measured"
    assert program.main(["solve", str(tmp_path / "a.json")]) == 0
    out = capsys.readouterr().out
    assert "no reading, not on a plan" in out
    assert "Not measured: " in out


def test_the_lowest_speed_is_the_one_the_window_marks(capsys: pytest.CaptureFixture[str]) -> None:
    lowest = prepare(load_scene()).lowest
    holds = answered(capsys)["holds"]
    assert (holds["lowest_speed"], holds["lowest_speed_best_estimate"]) == (lowest.confident, lowest.best_estimate)
    assert lowest.confident is not None
    assert lowest.best_estimate is not None
    # the surer of two is never the lower
    assert lowest.confident > lowest.best_estimate


def test_the_chance_is_drawn_from_the_full_number_of_samples(capsys: pytest.CaptureFixture[str]) -> None:
    """Of 4,000 samples a chance moves by under half a per cent: sqrt(0.25 / 4000) = 0.8 % at the worst, one sigma."""
    prepared = prepare(load_scene())
    rested = prepared.holding(0.72, REST_SAMPLES)
    assert rested is not None
    assert answered(capsys, "--speed", "0.72")["holds"]["chance"] == rested.chance
    assert REST_SAMPLES >= 4000


def test_text_answer_reads_in_both_systems(capsys: pytest.CaptureFixture[str]) -> None:
    """1 cfm is 0.4719474 L/s, 1 in. w.c. 249.089 Pa (NIST SP 811)."""
    point = answered(capsys, "--speed", "1")["operating_point"]
    for system, flow, pressure in (
        ("SI", f"{1000 * point['flow_m3s']:.1f} L/s", f"{point['fan_pressure_Pa']:.0f} Pa"),
        ("IP", f"{1000 * point['flow_m3s'] / 0.4719474:.1f} cfm", f"{point['fan_pressure_Pa'] / 249.089:.3f} in. w.c."),
    ):
        assert program.main(["solve", "--speed", "1", "--units", system]) == 0
        out = capsys.readouterr().out
        assert flow in out
        assert pressure in out
        assert "Invented" in out
        closing = " ".join(out.split())
        assert "only a radon test after the work shows the result" in closing
        assert "can make chimneys spill" in closing
        assert closing.endswith("Local code and the license prevail.")
        assert max(map(len, out.splitlines())) <= 100


@pytest.mark.parametrize("spelled", ["us", "US", "IP"])
def test_the_american_trade_reads_pascals_at_the_holes(capsys: pytest.CaptureFixture[str], spelled: str) -> None:
    hole = answered(capsys, "--speed", "1")["holes"][0]
    assert program.main(["solve", "--speed", "1", "--units", spelled]) == 0
    out = capsys.readouterr().out
    line = next(line for line in out.splitlines() if line.strip().startswith(hole["name"]) and "worst day" in line)
    assert f"{hole['suction_Pa']:.0f} Pa" in line
    assert "in. w.c." not in line
    assert re.search(r"Gauge before the fan +[\d.]+ in\. w\.c\.", out)


def test_units_that_are_no_set_are_refused_by_name(capsys: pytest.CaptureFixture[str], opened: Opened) -> None:
    assert "'furlongs' is not a set of units; there are si and us" in refused(
        capsys, opened, "solve", "--units", "furlongs"
    )


def test_text_answer_names_every_crossing(capsys: pytest.CaptureFixture[str]) -> None:
    assert program.main(["solve", str(ROOT / "workbench" / "scenes" / "clubhouses.json")]) == 0
    out = capsys.readouterr().out
    assert out.count("  stable ") == 2
    assert out.count("  unstable ") == 1


def test_what_is_hardly_heard_is_said_in_words(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    design = with_value(load_scene(), ("house", "listeners", 0, "insulation"), 55.0)
    save_project(design, tmp_path / "quiet.json")
    assert program.main(["solve", str(tmp_path / "quiet.json")]) == 0
    lines = capsys.readouterr().out.splitlines()
    heard = lines[lines.index("Noise") + 1 :][:2]
    assert " ".join(heard[0].split()) == "Apartment bed below 15 dB(A), hardly audible"
    assert "±" in heard[1]
    assert answered(capsys, str(tmp_path / "quiet.json"))["sound"][0]["dBA"] == 0.0


def test_a_design_without_a_fan_is_answered_with_words(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    save_project(choose_fan(load_scene(), None), tmp_path / "bare.json")
    assert program.main(["solve", str(tmp_path / "bare.json")]) == 0
    assert "No fan is selected" in capsys.readouterr().out


def test_unknown_power_is_a_dash_and_null(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    fan = fan_class("Everyday in-line, electronic")
    points = tuple(point.model_copy(update={"power": None}) for point in fan.full.points)
    mute = fan.model_copy(update={"curves": (fan.full.model_copy(update={"points": points}),)})
    save_project(load_scene().model_copy(update={"fans": (mute,)}), tmp_path / "mute.json")
    found = answered(capsys, str(tmp_path / "mute.json"))
    assert found["operating_point"]["power_W"] is None
    assert found["year"]["cost"] is None
    assert found["year"]["house_air_cost"] > 0.0
    assert program.main(["solve", str(tmp_path / "mute.json")]) == 0
    assert "–" in capsys.readouterr().out


def test_check_names_all_faults_of_all_files(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    good, bad, gone = tmp_path / "good.json", tmp_path / "bad.json", tmp_path / "gone.json"
    save_project(load_scene(), good)
    whole = json.loads(good.read_text("utf-8"))
    whole["design"]["speed"] = 2
    whole["design"]["intake"]["runs"][1]["length"] = 0
    bad.write_text(json.dumps(whole), encoding="utf-8")
    assert program.main(["check", str(good)]) == 0
    assert capsys.readouterr().out == f"{good}: no faults\n"
    assert program.main(["check", str(bad), str(good)]) == 2
    capsys.readouterr()
    assert program.main(["check", str(bad), str(good), str(gone)]) == 2
    assert capsys.readouterr().out.splitlines() == [
        f"{bad}: 2 faults",
        "  /design/intake/runs/1/length: must be greater than 0",
        "  /design/speed: must be at most 1",
        f"{good}: no faults",
        f"{gone}: there is no such file",
    ]


def test_check_points_at_odd_fan_points(capsys: pytest.CaptureFixture[str]) -> None:
    assert program.main(["check", str(ROOT / "workbench" / "scenes" / "clubhouses.json")]) == 0
    assert "rises from row 5 to row 9" in capsys.readouterr().out


def test_solve_of_a_faulty_file_points_at_check(
    capsys: pytest.CaptureFixture[str], opened: Opened, tmp_path: Path
) -> None:
    file = tmp_path / "bad.json"
    save_project(load_scene(), file)
    whole = json.loads(file.read_text("utf-8"))
    whole["design"] |= {"speed": 2, "turrets": 1}
    file.write_text(json.dumps(whole), encoding="utf-8")
    assert "2 faults, the first at /design/speed: must be at most 1; 'check' lists" in refused(
        capsys, opened, "solve", str(file)
    )


def test_fans_as_a_list_and_as_json(capsys: pytest.CaptureFixture[str]) -> None:
    assert program.main(["fans"]) == 0
    out = capsys.readouterr().out
    assert "Axial, with a stall dip" in out
    assert "invented" in out
    assert program.main(["fans", "--json"]) == 0
    fans = json.loads(capsys.readouterr().out)["fans"]
    assert all(fan["invented"] for fan in fans)
    assert len({fan["name"] for fan in fans}) == len(fans)


def test_schema_is_printed(capsys: pytest.CaptureFixture[str]) -> None:
    assert program.main(["schema"]) == 0
    assert json.loads(capsys.readouterr().out)["properties"]["design"]


def test_the_window_opens_alone_or_on_a_file(opened: Opened, tmp_path: Path) -> None:
    file = tmp_path / "job.json"
    save_project(load_scene(), file)
    assert run([], opened.window) == 7
    assert run([str(file)], opened.window) == 7
    assert opened.paths == [None, file]


def test_a_file_the_window_refuses_is_one_line(capsys: pytest.CaptureFixture[str], opened: Opened) -> None:
    assert "not a project file" in refused(capsys, opened, str(ROOT / "README.md"))


def test_show_draws_the_design_at_the_wanted_speed(
    capsys: pytest.CaptureFixture[str], opened: Opened, tmp_path: Path
) -> None:
    argv = ["show", "--picture", str(tmp_path / "out.png"), "--speed", "50%", "--units", "IP"]
    assert run(argv, opened.window) == 0
    assert "at 50 % of full speed" in capsys.readouterr().out
    ((design, path, system),) = opened.pictures
    assert (design.speed, path, system) == (0.5, tmp_path / "out.png", US)
    assert design.title == load_scene().title


@pytest.mark.parametrize(
    "argv",
    [
        ("slove",),
        ("no such file.json",),
        ("a", "b"),
        ("solve", "gone.json"),
        ("solve", str(ROOT / "workbench" / "units")),
        ("solve", "--units", "cgs"),
        ("solve", "--sped", "1"),
        ("check",),
        ("show",),
        ("show", "--picture", "no such folder/out.png"),
        ("--json",),
    ],
    ids=" ".join,
)
def test_bad_command_lines_are_refused(
    capsys: pytest.CaptureFixture[str], opened: Opened, argv: tuple[str, ...]
) -> None:
    refused(capsys, opened, *argv)
    assert opened.paths == []


def test_help_speaks_of_the_job(capsys: pytest.CaptureFixture[str]) -> None:
    assert program.main(["--help"]) == 0
    assert "sub-slab fan" in capsys.readouterr().out
    assert program.main(["solve", "--help"]) == 0
    out = capsys.readouterr().out
    assert "62%" in out
    assert "every hole holds" in " ".join(out.split())


def test_a_window_that_cannot_be_loaded_is_told(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "workbench.gui.app", None)
    assert program.main([]) == 2
    assert "the window cannot be loaded" in capsys.readouterr().err


def test_from_python_the_same_answer_as_from_the_command(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    save_project(load_scene(), tmp_path / "job.json")
    design = workbench.load(tmp_path / "job.json")
    assert workbench.answer(design, workbench.solve(design, speed=0.62)) == answered(capsys, "--speed", "0.62")
    assert isinstance(design, workbench.Design)
    assert at_rest(workbench.prepare(design), 0.62) == workbench.solve(design, 0.62)
    with pytest.raises(AttributeError, match="no attribute 'slove'"):
        _ = workbench.slove


def test_importing_the_package_loads_nothing_else() -> None:
    script = (
        "import sys, workbench; print([m for m in sys.modules if m.startswith(('workbench.', 'numpy', 'pydantic'))])"
    )
    run = subprocess.run([sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"


@pytest.mark.parametrize("first", ["workbench.solving.run.prepare", "workbench.design", "workbench.commands"])
def test_solve_answers_a_call_whatever_was_imported_before(first: str) -> None:
    script = (
        f"import {first}; from workbench import load, solve; print(solve(load('tests/files/data/v1.json')).operating)"
    )
    run = subprocess.run([sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=True)
    assert run.stdout.startswith("Crossing(")


# --- choices ------------------------------------------------------------------------------------------------------


@pytest.fixture
def searchable(tmp_path: Path) -> str:
    """A project file with two fans on one hole and little to vary."""
    search = {"pits": (0.05,), "pipes": (), "leak_left": (), "another_point": False}
    design = load_scene("clubhouses")
    point = next(point for _, point in design.suction_points())
    hole = TestHole(name="Corner", readings=(HoleReading(point=point.name, applied=100.0, flow=0.02, suction=15.0),))
    fields = {name: getattr(design, name) for name in Design.model_fields}
    path = tmp_path / "searchable.json"
    save_project(Design.model_validate(fields | {"holes": (hole,), "search": search}), path)
    return str(path)


def test_choices_as_json(capsys: pytest.CaptureFixture[str], searchable: str) -> None:
    assert program.main(["choices", searchable, "--json"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    answer = json.loads(out)
    rows = answer["choices"]
    assert len(rows) == 2 * len(load_project(searchable).fans)
    holding = [row for row in rows if row["holds"]]
    assert rows[: len(holding)] == holding
    costs = [row["life_cycle_cost"] for row in holding]
    assert costs == sorted(costs)
    assert answer["best"].startswith(f"“{rows[0]['fan']}”")
    assert answer["binds"] is None
    # the best, opened and solved by itself, holds at the speed that was found
    design = with_value(load_project(searchable), ("fan",), rows[0]["fan"])
    design = with_value(design, ("intake", "source", "pit_volume"), rows[0]["pit_m3"])
    assert prepare(design).lowest.confident == pytest.approx(rows[0]["speed"])


def test_choices_as_a_table(capsys: pytest.CaptureFixture[str], searchable: str) -> None:
    assert program.main(["choices", searchable, "--units", "us", "--most", "2"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert any(line.startswith("  - Lowest life-cycle cost: ") for line in lines)
    head = next(i for i, line in enumerate(lines) if line.startswith("  Fan "))
    assert lines[head + 1].rstrip().endswith("meets target")
    assert "gal" in lines[head + 1]
    assert lines[head + 3].strip() == f"and {2 * len(load_project(searchable).fans) - 2} more"
    assert "only a radon test" in " ".join(lines)


def test_choices_without_a_hole_are_refused(capsys: pytest.CaptureFixture[str], opened: Opened, tmp_path: Path) -> None:
    path = tmp_path / "no-hole.json"
    save_project(with_value(load_scene("clubhouses"), ("holes",), ()), path)
    assert "at least one test hole" in refused(capsys, opened, "choices", str(path))
