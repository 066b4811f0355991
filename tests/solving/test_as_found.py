"""The house as it was found stands before a design's answer: a low hole or a gauge beyond its mark's lines is said."""

from __future__ import annotations

import pytest

from tests.visited import visit, visited
from workbench.design import Design
from workbench.design.visits import Conditions, GaugeReading, HoleCheck, Visit
from workbench.files.scenes import load_scene
from workbench.solving import Notice, prepare

FOUND = {"found-below", "found-off-mark"}


def told(design: Design, speed: float | None = None) -> list[Notice]:
    """What is said of the last visit, and that it comes before all else."""
    outcome = prepare(design).at(design.speed if speed is None else speed)
    found = [notice for notice in outcome.notices if notice.code in FOUND]
    assert list(outcome.notices[: len(found)]) == found
    return found


@pytest.fixture(scope="module")
def studio() -> Design:
    return load_scene("studio")


def test_a_start_up_as_predicted_says_nothing(studio: Design) -> None:
    assert told(visited(studio, visit(studio, kind="start-up", date="2026-11-30"))) == []
    assert told(studio) == []


def test_a_hole_below_the_target_is_said_whatever_the_design_would_keep(studio: Design) -> None:
    first = visit(studio, kind="start-up", date="2026-11-30")
    low = Visit(kind="call-out", date="2027-03-02", holes=(HoleCheck(hole="Wheel", suction=0.4),))
    design = visited(studio, low, first)
    assert prepare(design).at(design.speed).verdict == "holds"
    (notice,) = told(design)
    assert (notice.code, notice.address) == ("found-below", ("visits", 0))
    assert notice.values[0] == (0.4, "hole_pressure")
    assert notice.values[1] == (design.target.suction, "hole_pressure")
    assert "Wheel" in str(notice)
    assert "2027-03-02" in str(notice)
    # at any speed: what was read was read
    assert [each.code for each in told(design, 1.0)] == ["found-below"]
    # a later visit that reads the target kept is the house as it is
    mended = Visit(kind="yearly check", date="2027-04-01", holes=(HoleCheck(hole="Wheel", suction=9.0),))
    assert told(visited(studio, low, first, mended)) == []


@pytest.mark.parametrize(("share", "said"), [(0.5, True), (0.79, True), (0.81, False), (1.19, False), (1.21, True)])
def test_a_gauge_beyond_its_marks_lines_is_said_at_the_speed_it_was_read_at(
    studio: Design, share: float, said: bool
) -> None:
    gauge = prepare(studio).at(studio.speed).gauge
    state = Conditions(speed=studio.speed)
    read = Visit(kind="call-out", date="2027-03-02", conditions=state, gauge=GaugeReading(pressure=share * gauge))
    found = told(visited(studio, read))
    assert [each.code for each in found] == (["found-off-mark"] if said else [])
    if said:
        assert found[0].values[:2] == ((share * gauge, "pressure"), (pytest.approx(gauge), "pressure"))
    assert told(visited(studio, read), 1.0) == []


def test_what_is_no_running_system_says_nothing(studio: Design) -> None:
    hole, gauge = (HoleCheck(hole="Wheel", suction=0.1),), GaugeReading(pressure=3.0)
    off = Visit(kind="call-out", date="2027-03-02", conditions=Conditions(fan="off"), holes=hole, gauge=gauge)
    test = Visit(kind="diagnostic", date="2027-03-02", holes=hole, gauge=gauge)
    assert told(visited(studio, off)) == []
    assert told(visited(studio, test)) == []
