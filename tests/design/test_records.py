"""What a record refuses, and that it says why."""

from __future__ import annotations

from typing import Any

import pytest
from pydantic import ValidationError

from tests.jobs import ground_only, open_run, record
from workbench.design import (
    Design,
    FanPoint,
    FanRecord,
    FanTable,
    Fitting,
    GroundClass,
    Junction,
    Leg,
    Listener,
    Pipe,
    Resistance,
    Run,
    StepReading,
    StepTest,
    SuctionPoint,
)
from workbench.design.catalogue import fitting_kinds, ground_kinds, junction_kinds, pipe_kinds
from workbench.design.faults import faults_in
from workbench.design.record import Record, field_facts, value_at, with_value
from workbench.files.scenes import load_scene, scene_names

NAN, INF = float("nan"), float("inf")
PIPE = Pipe(name="any", inside_diameter=0.08)


def sentences(make: Any, *args: Any, **fields: Any) -> list[str]:
    with pytest.raises(ValidationError) as caught:
        make(*args, **fields)
    return [str(fault) for fault in faults_in(caught.value)]


def table(*pairs: tuple[float, float], power: float | None = None) -> FanTable:
    return FanTable(points=tuple(FanPoint(flow=q, pressure=p, power=power) for q, p in pairs))


@pytest.mark.parametrize(
    ("pairs", "words"),
    [
        ([], "at least two points"),
        ([(0.0, 100.0)], "at least two points"),
        ([(0.0, 100.0), (0.01, 90.0), (0.01, 80.0)], "row 3 repeats the flow of row 2"),
        ([(0.0, 100.0), (0.02, 90.0), (0.01, 80.0)], "the flow in row 3 is lower than in row 2"),
        ([(0.0, 0.0), (0.02, 0.0)], "every pressure is zero"),
    ],
)
def test_a_fan_curve_that_is_none(pairs: list[tuple[float, float]], words: str) -> None:
    (sentence,) = sentences(table, *pairs)
    assert words in sentence


def test_power_stands_in_every_row_or_in_none() -> None:
    points = (FanPoint(flow=0.0, pressure=9.0, power=3.0), FanPoint(flow=0.1, pressure=0.0))
    assert "power is missing in row 2" in sentences(FanTable, points=points)[0]
    slow = table((0.0, 5.0), (0.1, 0.0)).model_copy(update={"speed": 0.5})
    full = table((0.0, 9.0), (0.1, 0.0), power=3.0)
    assert "the power at every measured speed" in sentences(FanRecord, name="A", curves=(slow, full))[0]


@pytest.mark.parametrize(
    ("speeds", "words"),
    [((), "at least 1"), ((0.5,), "full speed"), ((1.0, 0.5), "rising speed"), ((0.5, 0.5, 1.0), "each speed once")],
)
def test_measured_speeds_rise_to_full(speeds: tuple[float, ...], words: str) -> None:
    one = table((0.0, 5.0), (0.1, 0.0))
    curves = tuple(one.model_copy(update={"speed": speed}) for speed in speeds)
    assert words in sentences(FanRecord, name="A", curves=curves)[0]


@pytest.mark.parametrize("number", [NAN, INF, -INF])
@pytest.mark.parametrize("field", ["flow", "pressure", "power"])
def test_no_point_without_numbers(field: str, number: float) -> None:
    fields = {"flow": 0.1, "pressure": 10.0, "power": 5.0} | {field: number}
    assert sentences(FanPoint, **fields)[0].startswith(f"{field}: ")


def test_negative_flow_and_pressure() -> None:
    assert sentences(FanPoint, flow=-0.1, pressure=-5.0) == [
        "flow: must be at least 0",
        "pressure: must be at least 0",
    ]


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"length": 0.0}, "length: must be greater than 0"),
        ({"length": NAN}, "length: must be a finite number"),
        ({"length": 2.0, "rise": 2.1}, "the rise cannot be greater than the length"),
        ({"length": 2.0, "rise": -2.1}, "the rise cannot be greater than the length"),
        ({"name": " "}, "name: must not be empty"),
        ({"name": "x" * 401}, "name: is longer than 400 letters"),
        ({"surroundings": "moon"}, "surroundings: must be one of"),
        ({"colour": "red"}, "colour: is not known here"),
    ],
)
def test_a_run_that_cannot_be_laid(fields: dict[str, Any], sentence: str) -> None:
    whole = {"name": "Riser", "pipe": PIPE, "length": 3.0} | fields
    assert sentence in sentences(Run, **whole)[0]


def test_a_plumb_run_may_climb_all_its_length() -> None:
    """Lengths that come from feet do not divide evenly."""
    assert Run(name="Riser", pipe=PIPE, length=3 * 0.3048, rise=0.9144000000000001).rise > 0.9144


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"kind": "swan neck"}, "no fitting called 'swan neck'"),
        ({"kind": "entered K"}, "needs its loss coefficient"),
        ({"kind": "entrance, flush", "parameter": 0.5}, "one shape only"),
        ({"kind": "elbow, mitered", "parameter": 200.0}, "between"),
        ({"kind": "45 elbow", "count": 0}, "at least 1"),
        ({"kind": "45 elbow", "count": 1.5}, "whole number"),
        ({"kind": "45 elbow", "k": NAN}, "finite"),
    ],
)
def test_a_fitting_that_is_not_known(fields: dict[str, Any], words: str) -> None:
    assert words in sentences(Fitting, **fields)[0]


@pytest.mark.parametrize("kind", fitting_kinds())
def test_every_fitting_of_the_catalogue_has_a_coefficient_and_a_source(kind: str) -> None:
    entry = fitting_kinds()[kind]
    assert Fitting(kind=kind).kind == kind
    assert 0.0 <= entry.k(0.0779) < 10.0
    low, high = entry.band
    assert 0.0 < low <= 1.0 <= high
    assert len(entry.source) > 10


def test_catalogues_give_sources_and_possible_numbers() -> None:
    for pipe in pipe_kinds().values():
        assert 0.04 < pipe.inside_diameter < 0.2
        assert pipe.source
    for ground in ground_kinds().values():
        assert ground.factor > 1.0
        assert GroundClass(kind=ground.kind).tested_volume == ground.pit_volume
    for junction in junction_kinds().values():
        assert 30.0 <= junction.angle <= 90.0


@pytest.mark.parametrize(
    ("readings", "words"),
    [
        ([], "at least 1"),
        ([(0.01, 100.0), (0.0101, 110.0)], "one flow"),
        ([(0.01, 100.0), (0.02, 50.0)], "falls as flow rises"),
        ([(0.01, 100.0), (0.0, 50.0)], "readings/2/flow: must be greater than 0"),
    ],
)
def test_a_step_test_that_cannot_be_fitted(readings: list[tuple[float, float]], words: str) -> None:
    def make() -> StepTest:
        return StepTest.model_validate({"readings": [{"flow": q, "suction": p} for q, p in readings]})

    assert words in sentences(make)[0]


def test_a_reading_must_beat_the_one_at_rest() -> None:
    assert "greater than the reading at rest" in sentences(StepReading, flow=0.01, suction=2.0, baseline=2.0)[0]


def test_ground_needs_some_resistance() -> None:
    assert "without any resistance" in sentences(Resistance, linear=0.0)[0]
    assert "no ground called 'moon dust'" in sentences(GroundClass, kind="moon dust")[0]


def test_a_bed_reaches_beyond_its_pit() -> None:
    fields = {"name": "A", "pit_volume": 1.0, "pattern": "bed under the slab", "ground": GroundClass()}
    assert "past the pit" in sentences(SuctionPoint, **fields, bed_thickness=0.05, bed_reach=1.0)[0]
    assert SuctionPoint(**(fields | {"pattern": "deep soil"}), bed_thickness=0.05, bed_reach=1.0).pit_volume == 1.0


def test_names_stand_once_in_a_design() -> None:
    design = ground_only(record([0.0, 0.1], [100.0, 0.0]), 5000.0)
    assert "the name 'In' is given twice" in sentences(with_value, design, ("discharge", 0, "name"), "In")[0]
    assert "the name 'Pit' is given twice" in sentences(with_value, design, ("discharge", 0, "name"), "Pit")[0]
    assert "two fans called 'Any'" in sentences(with_value, design, ("fans",), design.fans * 2)[0]


def test_the_chosen_fan_is_one_of_the_fans() -> None:
    design = ground_only(record([0.0, 0.1], [100.0, 0.0]), 5000.0)
    assert "'Other' is not among the fans" in sentences(with_value, design, ("fan",), "Other")[0]
    assert with_value(design, ("fan",), None).chosen_fan is None


def test_a_design_needs_a_discharge_and_a_leg_needs_a_run() -> None:
    design = ground_only(record([0.0, 0.1], [100.0, 0.0]), 5000.0)
    assert sentences(with_value, design, ("discharge",), ()) == ["discharge: needs at least 1"]
    assert sentences(with_value, design, ("intake", "runs"), ()) == ["runs: needs at least 1"]
    assert "no junction called" in sentences(Junction, kind="cross", straight=design.intake, side=design.intake)[0]


@pytest.mark.parametrize("speed", [0.0, -0.1, 1.1, NAN])
def test_speed_is_a_share_of_full(speed: float) -> None:
    design = ground_only(record([0.0, 0.1], [100.0, 0.0]), 5000.0)
    assert sentences(with_value, design, ("speed",), speed)[0].startswith("speed: ")


def test_records_are_values() -> None:
    one, two = load_scene(), load_scene()
    assert one == two
    assert hash(one) == hash(two)
    with pytest.raises(ValidationError, match="frozen"):
        one.title = "Another"  # type: ignore[misc]


@pytest.mark.parametrize("name", scene_names())
def test_addresses_lead_to_their_parts(name: str) -> None:
    design = load_scene(name)
    for parts in (design.legs(), design.runs(), design.suction_points(), design.junctions()):
        for address, part in parts:
            assert value_at(design, address) is part
    for address, run in design.runs():
        longer = with_value(design, (*address, "length"), run.length + 1.0)
        assert value_at(longer, (*address, "length")) == run.length + 1.0
        assert with_value(longer, (*address, "length"), run.length) == design


@pytest.mark.parametrize(
    "address", [("nothing",), ("discharge", 9), ("speed", "x"), ("discharge", "x"), ("title", 1, 2)]
)
def test_addresses_that_lead_nowhere(address: tuple[str | int, ...]) -> None:
    with pytest.raises(LookupError):
        value_at(load_scene(), address)


def test_a_field_tells_its_limits_to_editors() -> None:
    facts = field_facts(Run, "length")
    assert (facts.title, facts.dimension, facts.optional) == ("Length", "length", False)
    assert (facts.lower, facts.lower_open, facts.upper, facts.upper_open) == (0.0, True, 500.0, False)
    assert field_facts(FanPoint, "power").optional
    assert field_facts(Listener, "distance").help == ""
    with pytest.raises(KeyError):
        field_facts(Run, "colour")


def _records(base: type[Record]) -> list[type[Record]]:
    found = list(base.__subclasses__())
    return found + [deeper for one in found for deeper in _records(one)]


@pytest.mark.parametrize("kind", _records(Record), ids=lambda kind: kind.__name__)
def test_every_quantity_says_what_it_measures(kind: type[Record]) -> None:
    """Editors, schema and messages are made from the declaration; a bare number would have no unit in any of them."""
    for name, info in kind.model_fields.items():
        if info.annotation in (float, float | None):
            facts = field_facts(kind, name)
            assert facts.title
            assert facts.dimension is not None or (kind is Fitting and name == "parameter")


def test_leg_of_a_tree_stands_before_its_branches() -> None:
    design = load_scene("reading-room")
    assert [address for address, _ in design.legs()] == [
        ("intake",),
        ("intake", "source", "straight"),
        ("intake", "source", "side"),
    ]
    assert isinstance(design, Design)
    assert isinstance(design.intake, Leg)
    assert open_run("A").name == "A"
