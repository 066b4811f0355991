"""Where the pressure goes adds up, and a gauge reads the same by whichever way the air came."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.jobs import ground_only, record
from workbench.design import Design, Fitting, StepReading, StepTest
from workbench.design.edit import add_fitting, add_suction_point, divide_run
from workbench.design.record import value_at, with_value
from workbench.files.scenes import load_scene, scene_names
from workbench.solving import Outcome, Prepared, prepare, solve
from workbench.solving.outcome import Notice

speeds = st.floats(0.3, 1.0)


@st.composite
def branched(draw: st.DrawFn) -> Design:
    """A scene with points teed in at random, each of its own ground."""
    design = load_scene(draw(st.sampled_from(["studio", "reading-room"])))
    for _ in range(draw(st.integers(0, 3))):
        legs = [address for address, _ in design.legs()]
        design = add_suction_point(design, draw(st.sampled_from(legs)))
    for address, _ in list(design.suction_points()):
        linear = 10.0 ** draw(st.floats(3.0, 5.0))
        ground = {"basis": "resistance", "linear": linear, "quadratic": 1e5}
        design = with_value(design, (*address, "ground"), ground)
    for address, _ in list(design.junctions()):
        design = with_value(design, (*address, "kind"), draw(st.sampled_from(["wye 45", "tee 90"])))
    return design


def settled(design: Design, speed: float) -> Outcome:
    # nothing asked here hangs on the samples
    outcome = prepare(design).at(speed)
    assert outcome.operating is not None
    return outcome


@given(branched(), speeds)
@settings(max_examples=40)
def test_losses_add_up_to_the_fan_and_flows_to_its_flow(design: Design, speed: float) -> None:
    outcome = settled(design, speed)
    fan = outcome.operating
    assert fan is not None
    assert math.fsum(loss.pressure for loss in outcome.losses) == pytest.approx(fan.fan_pressure, rel=1e-9)
    assert math.fsum(point.flow for point in outcome.points) == pytest.approx(fan.flow, rel=1e-9)
    # the energy the fan gives is what is dissipated and lifted, each part with its own flow
    work = math.fsum(loss.drop * loss.flow for loss in outcome.losses)
    assert work == pytest.approx(fan.fan_pressure * fan.flow, rel=1e-9)


@given(branched(), speeds)
@settings(max_examples=40)
def test_flows_balance_at_every_junction(design: Design, speed: float) -> None:
    outcome = settled(design, speed)
    flows = {run.address: run.flow for run in outcome.runs}
    for address, junction in design.junctions():
        common = flows[(*address[:-1], "runs", 0)]
        came = [flows[(*address, word, "runs", len(getattr(junction, word).runs) - 1)] for word in ("straight", "side")]
        assert sum(came) == pytest.approx(common, rel=1e-9)


def _readings(prepared: Prepared, outcome: Outcome, run: int) -> list[float]:
    """What a gauge at the downstream end of an intake run reads, followed from each point whose air passes there.

    Losses one after the other from the pit (total pressure), velocity pressure taken on by the moving air, and the
    lighter column that has been climbed.
    """
    assembly, network = prepared.assembly, prepared.assembly.network
    flows = np.array([point.flow for point in outcome.points])
    parts = network.parts(flows)
    found = []
    for i in np.flatnonzero(network.upstream[run]):
        suction = float(parts.ground[i])
        for j in range(run + 1):
            if network.upstream[j, i] and set(np.flatnonzero(network.upstream[j])) <= set(
                np.flatnonzero(network.upstream[run])
            ):
                suction += float(parts.friction[j] + parts.fittings[j])
        for t, legs in enumerate(network.junctions):
            joined = legs.straight + legs.side
            if np.all(joined <= network.upstream[run]):
                suction += float(parts.straight[t] * legs.straight[i] + parts.side[t] * legs.side[i])
        velocity = outcome.runs[run].velocity
        height = float(assembly.height[run])
        climbed = 9.80665 * height * (assembly.indoor.density - network.density)
        found.append(suction + 0.5 * network.density * velocity**2 - climbed)
    return found


@given(branched(), speeds)
@settings(max_examples=40)
def test_a_gauge_reads_one_suction_whichever_way_the_air_came(design: Design, speed: float) -> None:
    """Where the ways climb alike; the reading before the fan is the riser's."""
    level = design
    for address, _ in design.runs():
        if address[0] == "intake":
            level = with_value(level, (*address, "rise"), 0.0)
    prepared, outcome = prepare(level), settled(level, speed)
    for j, run in enumerate(outcome.runs):
        if run.address[0] == "intake":
            readings = _readings(prepared, outcome, j)
            assert readings == pytest.approx([run.suction] * len(readings), rel=1e-8, abs=1e-7)
    assert outcome.gauge == next(
        r.suction for r in outcome.runs if r.address == ("intake", "runs", len(level.intake.runs) - 1)
    )


def test_height_follows_the_straight_way() -> None:
    """Where the record of one way climbs less than the other, which a notice tells, the straight one is believed."""
    room = load_scene("reading-room")
    low = with_value(room, ("intake", "source", "side", "runs", 0, "rise"), 0.0)
    heights = {run.name: float(h) for (_, run), h in zip(low.runs(), _heights(low), strict=True)}
    assert heights["Behind the stove wall"] == 0.0
    assert heights["Along the shelves"] == pytest.approx(2.9)
    assert heights["Trunk in the loft"] == pytest.approx(2.9 + 1.4)
    assert heights["Stack through the roof"] == pytest.approx(2.9 + 1.4 + 2.6)
    assert "heights-differ" in noticed(low)
    assert "heights-differ" not in noticed(room)


def _heights(design: Design) -> list[float]:
    assembly = prepare(design).assembly
    at = {address: height for (address, _), height in zip(assembly.runs, assembly.height, strict=True)}
    return [at[address] for address, _ in design.runs()]


def test_air_leaves_the_outlet_with_its_velocity_pressure_and_no_suction() -> None:
    """Just before an open outlet of K 1 the air is at outdoor pressure but for what it has still to lose."""
    studio = with_value(load_scene(), ("place", "outdoor_temperature"), load_scene().place.indoor_temperature)
    studio = with_value(studio, ("discharge", 0, "fittings"), (Fitting(kind="discharge, open"),))
    studio = divide_run(studio, ("discharge", 0))
    first, last = value_at(studio, ("discharge",))
    studio = with_value(
        studio, ("discharge",), (with_value(first, ("fittings",), ()), with_value(last, ("fittings",), first.fittings))
    )
    run = settled(studio, 1.0).runs[-1]
    prepared = prepare(studio)
    # the rest of the way: friction of the last run, its outlet, and the draft of what is left to climb
    velocity_pressure = 0.5 * prepared.density * run.velocity**2
    climb = 9.80665 * last.rise * (prepared.assembly.outdoor.density - prepared.density)
    laid = prepared.assembly
    humid = 9.80665 * laid.height[-2] * (laid.outdoor.density - laid.indoor.density)
    assert -run.suction == pytest.approx(run.loss - velocity_pressure - climb - humid, abs=0.05)


def test_one_more_elbow_costs_its_velocity_pressures() -> None:
    studio = load_scene()
    before, after = (
        settled(design, 0.72)
        for design in (studio, add_fitting(studio, ("intake", "runs", 1), Fitting(kind="entered K", k=0.5)))
    )
    row = next(loss for loss in after.losses if loss.part == "Riser through the cupboard: entered K")
    velocity = after.operating.flow / (math.pi / 4 * 0.077927**2) if after.operating else 0.0
    assert row.drop == pytest.approx(0.5 * 0.5 * prepare(studio).density * velocity**2, rel=1e-12)
    assert after.operating is not None
    assert before.operating is not None
    assert after.operating.flow < before.operating.flow


@pytest.mark.parametrize("name", scene_names())
def test_every_loss_and_notice_leads_to_its_part(name: str) -> None:
    design = load_scene(name)
    outcome = solve(design)
    for loss in outcome.losses:
        assert loss.address is None or value_at(design, loss.address) is not None
    for notice in outcome.notices:
        assert notice.address is None or value_at(design, notice.address) is not None


def test_a_notice_writes_its_values_where_they_belong() -> None:
    notice = Notice("code", "{1} lies above {0}.", values=((1.0, "flow"), (2.0, "flow")))
    assert notice.text(lambda value, dimension: f"{value:g} {dimension}") == "2 flow lies above 1 flow."


def noticed(design: Design, speed: float = 1.0) -> dict[str, Notice]:
    return {notice.code: notice for notice in solve(design, speed).notices}


def test_notices_about_the_ground() -> None:
    studio = load_scene()
    test = studio.intake.source.ground  # type: ignore[union-attr]
    one = with_value(studio, ("intake", "source", "ground", "readings"), test.readings[:1])  # type: ignore[union-attr]
    assert "one-reading" in noticed(one)
    small = with_value(studio, ("intake", "source", "pit_volume"), 0.005)
    assert noticed(small)["small-pit"].values[0] == (0.005, "volume")
    assert "ANSI/AARST" in noticed(small)["small-pit"].sentence
    loose = tuple(r.model_copy(update={"flow": r.flow / 4}) for r in test.readings)  # type: ignore[union-attr]
    assert "outside-test" in noticed(with_value(studio, ("intake", "source", "ground", "readings"), loose))


@pytest.mark.parametrize(("times", "told"), [(0.45, True), (0.55, False), (1.0, False), (1.45, False), (1.55, True)])
def test_a_flow_by_half_beyond_what_was_tested_is_told(times: float, told: bool) -> None:
    """By half below the least or above the greatest flow of the test, a judgement. On laminar ground of 4000 Pa s/m3 a
    fan of 400 - 4000 Q draws 50 L/s whatever flows it was tested at."""
    edge = 0.05 / times
    flows = (edge, 2.0 * edge) if times < 1.0 else (0.5 * edge, edge)
    steps = tuple(StepReading(flow=q, suction=4000.0 * q) for q in flows)
    design = ground_only(record([0.0, 0.1], [400.0, 0.0]), 4000.0)
    tested = with_value(design, ("intake", "source", "ground"), StepTest(readings=steps, tested_volume=0.028))
    notices = noticed(tested)
    assert ("outside-test" in notices) == told
    if told:
        values = [value for value, _ in notices["outside-test"].values[:3]]
        assert values == pytest.approx([0.05, *flows], rel=2e-3)


def test_notices_about_the_pipe() -> None:
    """1600 and 2000 feet a minute are 8.128 and 10.16 m/s."""
    studio = load_scene()
    narrow = with_value(studio, ("intake", "runs", 0, "pipe", "inside_diameter"), 0.055)
    rush = noticed(narrow)
    assert 8.128 < rush["rush-noise"].values[0][0] < 10.16
    assert rush["rush-noise"].address == ("intake", "runs", 0)
    fast = noticed(with_value(narrow, ("fan",), "Medium suction, electronic"))
    assert fast["fast-air"].values[0][0] > 10.16
    assert "rush-noise" not in fast


def test_notices_about_the_fan() -> None:
    studio = load_scene()
    assert noticed(studio, 0.2)["below-least-speed"].values == ((0.2, "speed"), (0.3, "speed"))
    assert "phase-cut" in noticed(with_value(studio, ("fan",), "Everyday in-line, phase-cut control"))


def test_a_weak_point_beside_a_strong_draft_is_told_to_blow() -> None:
    """Two points that climb to different heights, the fan almost still."""
    design = add_suction_point(load_scene(), ("intake",))
    branch = ("intake", "source", "side", "runs", 0)
    design = with_value(design, (*branch, "length"), 12.0)
    design = with_value(design, (*branch, "rise"), -10.0)
    design = with_value(design, ("place", "outdoor_temperature"), 253.15)
    design = with_value(design, ("place", "pipe_temperature"), 293.15)
    assert solve(design, 0.1).points[1].flow < 0.0
    found = noticed(design, 0.1)
    assert "heights-differ" in found
    assert found["reverse-flow"].address == ("intake", "source", "side", "source")
    assert "reverse-flow" not in noticed(design, 0.3)
