"""The shape of the tables of rules, targets, appliances, partitions and sound limits."""

from __future__ import annotations

import math
import re
import tomllib
from importlib.resources import files
from typing import Any

import pytest

from workbench.physics.sound import FAN_BANDS, OCTAVE_BANDS, a_weighted
from workbench.physics.sound_paths import through_partition

DATA = files("workbench.design").joinpath("data")
SHEETS = sorted(e.name for e in DATA.joinpath("rules").iterdir() if e.name.endswith(".toml"))
TAGS = {"published", "from memory", "common practice", "judgment", "own"}
UNITS = {"m", "m2", "m3", "m3/s", "m/s", "Pa", "rad", "s", "m2/m2", ""}


def read(*path: str) -> dict[str, Any]:
    return tomllib.loads(DATA.joinpath(*path).read_text(encoding="utf-8"))


def known_keys() -> set[str]:
    text = DATA.joinpath("rules", "empty.toml").read_text(encoding="utf-8").split("Keys:")[1]
    return set(re.findall(r"[a-z]+(?:_[a-z]+)+|slope", text.split("# Figures")[0]))


def check_origin(row: dict[str, Any]) -> None:
    for field in ("source", "edition", "place", "tag", "kind"):
        assert isinstance(row[field], str), field
        assert row[field], field
    assert row["tag"] in TAGS
    assert row["kind"] in {"requirement", "advice"}


def test_sheets_are_there() -> None:
    assert {"empty.toml", "general-practice.toml", "illinois-vapor.toml", "us-2017.toml"} <= set(SHEETS)
    assert "rule" not in read("rules", "empty.toml")


@pytest.mark.parametrize("name", SHEETS)
def test_rule_sheet(name: str) -> None:
    sheet = read("rules", name)
    assert set(sheet) <= {"title", "place", "note", "rule"}
    assert all(isinstance(sheet[field], str) for field in ("title", "place", "note"))
    keys = known_keys()
    seen = set()
    for row in sheet.get("rule", ()):
        assert set(row) - {"when"} == {
            "key", "what", "value", "unit", "comparison", "source", "edition", "place", "kind", "tag"
        }  # fmt: skip
        assert row["key"] in keys
        assert row["what"]
        check_value(row)
        check_origin(row)
        if "when" in row:
            assert set(row["when"]) == {"quantity", "comparison", "value", "unit"}
            assert row["when"]["quantity"] in {"system_flow", "slab_area", "roof_slope", "ground_is_tight"}
            check_value(row["when"])
        seen.add((row["key"], row["source"], row["edition"], str(row.get("when"))))
    assert len(seen) == len(sheet.get("rule", ())), "a rule stands twice"


def check_value(row: dict[str, Any]) -> None:
    assert row["unit"] in UNITS
    if isinstance(row["value"], bool):
        assert row["comparison"] == "is"
        assert row["unit"] == ""
    else:
        assert row["comparison"] in {"above", "at least", "at most"}
        assert math.isfinite(row["value"])
        assert row["value"] >= 0.0


def test_the_widest_sheet_covers_the_job() -> None:
    """Every subject of a check: outlet, pit, pipe, velocity, slope, supports, fan, holes, monitor."""
    held = {row["key"] for row in read("rules", "us-2017.toml")["rule"]}
    elsewhere = {"pit_depth", "suction_at_point", "suction_on_the_worst_day"}
    assert held >= known_keys() - elsewhere
    assert elsewhere <= {row["key"] for row in read("rules", "illinois-vapor.toml")["rule"]}


def test_figures_in_the_units_they_are_published_in() -> None:
    # Published: 10 ft and 12 in. (25 Pa. Code 240.308); 18 in. (RMS-MF 2018); 4 ft (CC-1000 2018); 80 and 40 cfm, 2000
    # and 1600 ft/min, 2 US gal, 1/8 in. per ft (SGM-SF 2017); 2 ft3, 6 in. and 0.25 in. w.c. (35 IAC 742.1210).
    foot, cfm, gallon = 0.3048, 4.719474e-4, 3.785412e-3
    rows = read("rules", "us-2017.toml")["rule"]

    def values(key: str) -> set[float]:
        return {round(row["value"], 4) for row in rows if row["key"] == key}

    assert values("outlet_above_ground") == {round(10.0 * foot, 4)}
    assert values("outlet_above_roof") == {round(foot, 4), round(1.5 * foot, 4)}
    assert values("outlet_above_opening") == {round(2.0 * foot, 4), round(4.0 * foot, 4)}
    assert values("velocity_condensate") == {round(2000.0 * foot / 60.0, 4)}
    assert values("velocity_rush") == {round(1600.0 * foot / 60.0, 4)}
    assert values("slope") == {round(1.0 / 96.0, 4)}
    assert min(values("pit_volume")) == pytest.approx(2.0 * gallon, rel=0.005)
    assert max(values("pit_volume")) == pytest.approx(7.5 * gallon, rel=0.02)
    flows = {row["when"]["value"] for row in rows if row["key"] == "pipe_bore"}
    assert sorted(flows) == [pytest.approx(40.0 * cfm, rel=1e-5), pytest.approx(80.0 * cfm, rel=1e-5)]
    illinois = {row["key"]: row["value"] for row in read("rules", "illinois-vapor.toml")["rule"]}
    assert illinois["pit_volume"] == pytest.approx(2.0 * foot**3, rel=1e-3)
    assert illinois["pit_depth"] == pytest.approx(0.5 * foot, rel=1e-6)
    assert illinois["suction_at_point"] == pytest.approx(0.25 * 249.089, rel=0.005)
    assert illinois["suction_on_the_worst_day"] == pytest.approx(0.003 * 249.089, rel=0.005)


def test_the_suction_of_every_source_is_asked_on_the_day_it_speaks_of() -> None:
    # Published: about 1 Pa with the system running (ANSI/AARST SGM-SF 2017); 0.003 in. w.c. in the worst case
    # (35 IAC 742.1210). Common practice: 5 Pa on the day of the work, in cold climates.
    asked = {
        name: {row["key"] for row in read("rules", name)["rule"] if row["key"].startswith("suction_on_")}
        for name in ("us-2017.toml", "illinois-vapor.toml", "general-practice.toml")
    }
    assert asked == {
        "us-2017.toml": {"suction_on_the_day"},
        "illinois-vapor.toml": {"suction_on_the_worst_day"},
        "general-practice.toml": {"suction_on_the_day"},
    }


def test_sheet_and_limits_say_one_thing() -> None:
    """A limit that stands in both tables has one value."""
    limits = read("limits.toml")
    sheet = [row for row in read("rules", "us-2017.toml")["rule"] if "when" not in row]
    for key, limit in (
        ("velocity_condensate", "velocity_condensate"),
        ("velocity_rush", "velocity_rush"),
        ("pit_volume", "pit_least"),
    ):
        if limit in limits:
            assert {row["value"] for row in sheet if row["key"] == key} == {limits[limit]["value"]}


def test_targets() -> None:
    rows = read("targets.toml")["target"]
    assert len({row["key"] for row in rows}) == len(rows) >= 5
    for row in rows:
        low, high = row["value"]
        assert 0.0 < low <= high
        assert row["where"] in {"weakest hole", "far edge", "suction point"}
        assert row["condition"]
        check_origin(row)


def test_appliances() -> None:
    table = read("appliances.toml")
    lows = []
    for row in table["appliance"]:
        low, high = row["limit"]
        assert 0.0 < low <= high
        assert row["kind"]
        assert row["text"]
        check_origin({**row, "kind": "advice"})
        lows.append(low)
    assert lows == sorted(lows), "the more open an appliance is, the less it bears"
    check_origin(table["screen"])
    # Published: Henschel 1997, 3 to 4 cm2 of leakage per m2 of floor.
    assert table["screen"]["value"] == [3.0e-4, 4.0e-4]


def test_partitions() -> None:
    table = read("partitions.toml")
    assert table["extend"]["tag"] in TAGS
    names = [row["name"] for row in table["partition"]]
    assert len(set(names)) == len(names)
    for row in table["partition"]:
        first = OCTAVE_BANDS.index(row["bands"][0])
        assert tuple(row["bands"]) == OCTAVE_BANDS[first : first + len(row["bands"])]
        assert set(FAN_BANDS) - set(row["bands"]) <= {FAN_BANDS[0], FAN_BANDS[-1]}
        assert len(row["loss"]) == len(row["bands"])
        assert all(0.0 <= loss <= 90.0 for loss in row["loss"])
        assert row["source"]
        assert row["tag"] in TAGS


def test_published_partition_lets_through_what_it_should() -> None:
    # Published losses: Springer Handbook of Acoustics, table 11.4; derived: 20.8 dBA through 8.4 m2 into 8.0 m2.
    row = next(row for row in read("partitions.toml")["partition"] if row["name"] == "drywall on wood studs")
    behind = through_partition([52.0, 50.0, 48.0, 46.0, 43.0, 39.0], row["loss"], 8.4, 8.0)
    assert a_weighted(behind, row["bands"]) == pytest.approx(20.8, abs=0.05)


def test_spectra() -> None:
    for row in read("sound_spectra.toml")["spectrum"]:
        assert tuple(row["bands"]) == FAN_BANDS
        assert len(row["level"]) == len(FAN_BANDS)
        assert row["source"]
        assert row["tag"] in TAGS


def test_rooms_of_a_fan() -> None:
    rows = read("fan_rooms.toml")["room"]
    assert {row["default_for"] for row in rows if "default_for" in row} == {"unheated", "indoors"}
    for row in rows:
        assert tuple(row["bands"]) == FAN_BANDS
        assert len(row["absorption"]) == len(FAN_BANDS)
        assert all(0.0 < a < 0.95 for a in row["absorption"])
        assert row["surface"] > 0.0
        assert row["source"]
        assert row["tag"] in TAGS


# From memory of Harris, Handbook of Acoustical Measurements and Noise Control, absorption at 125 Hz to 4 kHz.
WOOD_FLOOR = (0.15, 0.11, 0.10, 0.07, 0.06, 0.07)
BOARDS = (0.28, 0.22, 0.17, 0.09, 0.10, 0.11)
PLASTERBOARD = (0.29, 0.10, 0.05, 0.04, 0.07, 0.09)
CONCRETE = (0.01, 0.01, 0.015, 0.02, 0.02, 0.02)


@pytest.mark.parametrize(
    ("name", "mixture", "least"),
    [
        ("attic, boarded floor and roof", ((0.4, WOOD_FLOOR), (0.6, BOARDS)), 0.0),
        ("utility room, bare", ((0.2, CONCRETE), (0.8, PLASTERBOARD)), 0.07),
    ],
)
def test_a_room_absorbs_what_its_surfaces_do(name: str, mixture: tuple[Any, ...], least: float) -> None:
    row = next(row for row in read("fan_rooms.toml")["room"] if row["name"] == name)
    mean = [max(least, sum(share * of[i] for share, of in mixture)) for i in range(6)]
    assert row["absorption"] == pytest.approx([mean[0], *mean, mean[-1]], abs=0.0051)


def test_the_room_where_none_is_chosen_is_the_loudest_of_its_kind() -> None:
    rows = read("fan_rooms.toml")["room"]

    def takes_up(row: dict[str, Any]) -> float:
        return float(row["surface"] * min(row["absorption"][3:6]))

    for default, of_its_kind in (("unheated", "attic"), ("indoors", "room")):
        alike = [row for row in rows if of_its_kind in row["name"]]
        assert len(alike) > 1
        assert min(alike, key=takes_up).get("default_for") == default


def test_directivities() -> None:
    table = read("sound_directivities.toml")
    assert set(table) == {"fan", "outlet"}
    for row in table.values():
        assert row["value"] in {1.0, 2.0, 4.0, 8.0}
        assert row["source"]
        assert row["tag"] in TAGS


def test_sound_limits() -> None:
    table = read("sound_limits.toml")
    for row in table.values():
        check_origin(row)
    # Published: WHO 1999, 30 dBA indoors at night, 15 dB by an open window; WHO Europe 2009, 40 dB outside at night.
    values = {key: (row["value"], row["edition"]) for key, row in table.items()}
    assert values == {
        "bedroom_night": (30.0, "1999"),
        "outside_night": (40.0, "2009"),
        "open_window": (15.0, "1999"),
    }
