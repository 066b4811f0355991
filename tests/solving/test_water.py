"""Water along a whole pipe: the published riser, mass and mixing where legs meet, low points, freezing."""

from __future__ import annotations

import numpy as np
import psychrolib
import pytest

from tests.jobs import ground_only, record
from tests.reference.moisture import most_water
from workbench.design import Design, Junction, Leg, Pipe, Place, Resistance, Run, SuctionPoint
from workbench.design.record import with_value
from workbench.files.scenes import load_scene
from workbench.solving import prepare
from workbench.solving.run.water import (
    WaterAt,
    freezing_notice,
    low_points,
    monthly_means,
    water_at,
    waters_at,
)
from workbench.solving.run.yearly import Hours
from workbench.solving.site.cooling import INSULATION_CONDUCTIVITY, WALL

psychrolib.SetUnitSystem(psychrolib.SI)

CFM = 4.719474e-4
THREE_INCH = Pipe(name="3 in.", inside_diameter=0.077927)
COLD = 263.15
GROUND = Place(pipe_temperature=273.15 + 12.8, pipe_humidity=1.0, indoor_temperature=293.15)
DAY = 86400.0


def at_flow(flow: float, runs: tuple[Run, ...], place: Place = GROUND, *, pit: Run | None = None) -> Design:
    """A job that settles at a flow: the fan falls straight through it, and the ground takes what the pipe leaves."""
    fan = record([0.0, flow, 2.0 * flow], [2.0e4, 1.0e4, 0.0], [50.0, 50.0, 50.0])
    first = pit or Run(name="Up", pipe=THREE_INCH, length=0.01)
    point = SuctionPoint(name="Pit", pit_volume=0.028, ground=Resistance(linear=1.0e4 / flow, tested_volume=0.028))
    return ground_only(fan, 1.0, place=place, intake=Leg(source=point, runs=(first,)), discharge=runs)


def outdoors(length: float = 6.0, **fields: object) -> Run:
    given = {"name": "Riser", "pipe": THREE_INCH, "length": length, "rise": length, "surroundings": "outdoors"}
    return Run(**(given | fields))  # type: ignore[arg-type]


def at(design: Design, outdoor: float = COLD, wind: float = 0.0) -> WaterAt:
    prepared = prepare(design)
    found = water_at(prepared, prepared.at(1.0), outdoor, wind)
    assert found is not None
    return found


def dry_riser_leaves(u: float) -> float:
    """Celsius of dry air that leaves 6 m of 3 in. pipe in -10 C, T = To + (T1 - To) exp(-U A / (m c)).

    U on the outside of the pipe, 88.9 mm; air of 1.23 kg/m3.
    """
    heat_rate = 60.0 * CFM * 1.23 * 1006.0
    return float(-10.0 + 22.8 * np.exp(-u * np.pi * 0.0889 * 6.0 / heat_rate))


@pytest.mark.parametrize(("wind", "u", "celsius"), [(3.0, 8.0, 5.5), (0.0, 5.0, 7.9)])
def test_a_riser_outdoors(wind: float, u: float, celsius: float) -> None:
    """A 3 in. pipe, 6 m in -10 C, 60 cfm entering at 12.8 C: 5.5 C for U 8 and 7.9 C for U 5 W/(m2 K), dry.

    Derived by the exponential law. That a bare riser has U 5 in still air and 8 in wind is common practice: 15 % for
    what wind may mean. Moist air comes out warmer, since the water that condenses gives back its heat.
    """
    assert dry_riser_leaves(u) == pytest.approx(celsius, abs=0.06)
    dry = GROUND.model_copy(update={"pipe_humidity": 0.0})
    settled = prepare(at_flow(60.0 * CFM, (outdoors(),), dry))
    operating = settled.at(1.0).operating
    assert operating is not None
    assert operating.flow == pytest.approx(60.0 * CFM, rel=0.01)
    leaves = at(settled.design, wind=wind).runs[-1].leaving - 273.15
    assert dry_riser_leaves(1.15 * u) < leaves < dry_riser_leaves(u / 1.15)
    moist = at(at_flow(60.0 * CFM, (outdoors(),)), wind=wind).runs[-1]
    assert moist.leaving - 273.15 > leaves + 1.0
    assert moist.entering == pytest.approx(GROUND.pipe_temperature, abs=0.1)
    assert moist.coldest_wall < moist.leaving


def test_water_is_at_most_what_the_air_can_drop() -> None:
    # Derived by psychrolib: 60 cfm saturated at 12.8 C cooled to 0 C drops 16.17 kg a day.
    most = most_water(60.0 * CFM, 285.95, psychrolib.GetSatHumRatio(12.8, 101_325.0), 273.15, 101_325.0)
    assert most * DAY == pytest.approx(16.17, rel=5e-3)
    design = at_flow(60.0 * CFM, (outdoors(400.0, rise=20.0),))
    found = at(design, 273.15)
    operating = prepare(design).at(1.0).operating
    assert operating is not None
    assert found.runs[-1].leaving == pytest.approx(273.15, abs=0.1)
    # so long a pipe takes some of the flow
    assert found.total == pytest.approx(most * DAY * operating.flow / (60.0 * CFM), rel=0.01)


def vapour(temperature: float, humidity: float) -> float:
    return float(psychrolib.GetHumRatioFromRelHum(temperature - 273.15, humidity, 101_325.0))


def test_what_condenses_is_what_the_air_lost() -> None:
    """Over any chain of runs: water formed is dry air times the fall of its humidity ratio, with psychrolib's air."""
    design = at_flow(0.012, (outdoors(4.0, name="First"), outdoors(3.0, name="Second"), outdoors(9.0, name="Third")))
    found = at(design)
    prepared = prepare(design)
    operating = prepared.at(1.0).operating
    assert operating is not None
    first = vapour(GROUND.pipe_temperature, 1.0)
    dry = operating.flow / psychrolib.GetMoistAirVolume(12.8, first, 101_325.0)
    last = found.runs[-1].leaving
    # well into the cold the air leaves saturated
    fall = first - psychrolib.GetSatHumRatio(last - 273.15, 101_325.0)
    assert found.total == pytest.approx(dry * fall * DAY, rel=0.02)
    assert [run.entering for run in found.runs[1:]] == pytest.approx([run.leaving for run in found.runs[:-1]])


def two_legs(warm: Run, cold: Run, linear: tuple[float, float] = (1.0e6, 1.0e6)) -> Design:
    def leg(name: str, run: Run, resistance: float) -> Leg:
        ground = Resistance(linear=resistance, tested_volume=0.028)
        return Leg(source=SuctionPoint(name=name, pit_volume=0.028, ground=ground), runs=(run,))

    junction = Junction(straight=leg("A", warm, linear[0]), side=leg("B", cold, linear[1]), straight_k=0.0, side_k=0.0)
    trunk = Run(name="Trunk", pipe=THREE_INCH, length=0.05)
    fan = record([0.0, 0.01, 0.02], [1.0e4, 5.0e3, 0.0], [50.0, 50.0, 50.0])
    return ground_only(fan, 1.0, place=GROUND, intake=Leg(source=junction, runs=(trunk,)), discharge=(outdoors(0.05),))


def test_where_legs_meet_their_airs_mix_and_drop_their_mist() -> None:
    # Derived by psychrolib: two saturated streams at different temperatures mix to more than saturation.
    warm = Run(name="Warm", pipe=THREE_INCH, length=0.01)
    chilled = outdoors(60.0, name="Chilled", rise=0.0)
    found = {run.name: run for run in at(two_legs(warm, chilled)).runs}
    t1, t2 = found["Warm"].leaving, found["Chilled"].leaving
    prepared = prepare(two_legs(warm, chilled))
    a, b = (point.flow for point in prepared.at(1.0).points)
    assert found["Trunk"].entering == pytest.approx((a * t1 + b * t2) / (a + b), abs=0.02)
    mixed = (a * vapour(t1, 1.0) + b * vapour(t2, 1.0)) / (a + b)
    held = vapour(found["Trunk"].entering, 1.0)
    assert mixed > held
    dry = (a + b) / psychrolib.GetMoistAirVolume(12.8, vapour(285.95, 1.0), 101_325.0)
    assert found["Trunk"].water >= dry * (mixed - held) * DAY * 0.98


def test_a_heated_house_dries_the_pipe() -> None:
    indoors = at_flow(0.02, (Run(name="Inside", pipe=THREE_INCH, length=6.0, rise=6.0),))
    assert at(indoors).total == 0.0
    assert not at(indoors).freezes


def test_unheated_space_lies_between() -> None:
    def leaving(surroundings: str) -> float:
        return at(at_flow(0.02, (outdoors(surroundings=surroundings),))).runs[-1].leaving

    assert leaving("outdoors") < leaving("unheated") < leaving("indoors")


def test_insulation_keeps_the_wall_warm() -> None:
    bare, covered = (at(at_flow(10.0 * CFM, (outdoors(insulation=mm / 1000.0),))).runs[-1] for mm in (0.0, 30.0))
    assert bare.freezes
    assert covered.coldest_wall > bare.coldest_wall + 3.0
    assert covered.water < bare.water
    assert WALL < 0.01
    assert INSULATION_CONDUCTIVITY < 0.05


def test_less_flow_freezes_sooner() -> None:
    # Common practice: a fan turned down freezes its outlet sooner.
    assert [at(at_flow(cfm * CFM, (outdoors(),))).freezes for cfm in (80.0, 10.0)] == [False, True]


def test_freezing_is_told_with_place_and_temperature() -> None:
    frozen = at(at_flow(10.0 * CFM, (outdoors(name="Riser {outside}"),)))
    notice = freezing_notice(frozen)
    assert notice is not None
    assert notice.address == ("discharge", 0)
    told = notice.text(lambda value, _: f"{value - 273.15:.0f} C")
    assert told.startswith("At -10 C outdoors the wall of Riser {outside} falls to -")
    assert freezing_notice(at(at_flow(0.03, (outdoors(),)), 290.0)) is None


def test_many_days_at_once_are_the_same_days_one_by_one() -> None:
    prepared = prepare(load_scene("reading-room"))
    outcome = prepared.at(0.8)
    days = [255.0, 268.0, 280.0]
    together = waters_at(prepared, outcome, days, 3.0)
    assert [water.total for water in together] == pytest.approx(
        [water_at(prepared, outcome, day, 3.0).total for day in days]  # type: ignore[union-attr]
    )
    assert together[0].total > together[1].total > together[2].total


def test_without_an_operating_point_there_is_no_water() -> None:
    design = at_flow(0.02, (outdoors(),)).model_copy(update={"fan": None})
    prepared = prepare(design)
    assert waters_at(prepared, prepared.at(1.0), [COLD], 0.0) == ()
    assert water_at(prepared, prepared.at(1.0), COLD, 0.0) is None


def test_monthly_means() -> None:
    month = np.repeat(np.arange(1, 13), 730)
    hours = Hours("any", 270.0 + month.astype(float), np.zeros(8760), np.full(8760, 1e5), month)
    assert monthly_means(hours) == pytest.approx(np.arange(271.0, 283.0))


def level(slope: float, **fields: object) -> Run:
    return Run(**({"name": "Level", "pipe": THREE_INCH, "length": 4.0, "slope": slope} | fields))  # type: ignore[arg-type]


def standing(*discharge: Run, pit: Run | None = None) -> list[str]:
    prepared = prepare(at_flow(0.02, discharge, pit=pit or level(0.01, name="In", rise=0.5)))
    return [f"{low.name}: {low.reason}" for low in low_points(prepared)]


def test_water_runs_back_or_stands() -> None:
    # Common practice and ANSI/AARST SGM-SF 2017: pipe falls back to the pit and holds no trap.
    end = outdoors(1.0)
    assert standing(end, pit=level(0.01)) == []
    assert standing(end, pit=level(0.0)) == ["Level: it lies level, so water stands in it"]
    assert standing(end, pit=level(-0.01)) == ["Level: it falls away from the pit, so water stands in it"]
    assert standing(end, pit=level(-0.01, rise=1.0)) == []
    [trapped] = standing(end, pit=level(0.01, rise=-0.5))
    assert "collects at the low end" in trapped


def test_past_the_fan_water_may_also_leave_by_the_outlet() -> None:
    assert standing(level(-0.01)) == []
    assert standing(level(0.0)) == ["Level: it lies level, so water stands in it"]
    assert standing(level(-0.01), outdoors(1.0)) == ["Level: it falls away from the pit, so water stands in it"]
    assert standing(outdoors(2.0, rise=-2.0)) == []


def test_standing_water_is_told() -> None:
    design = at_flow(0.02, (outdoors(1.0),), pit=level(0.0))
    notices = [notice for notice in prepare(design).at(1.0).notices if notice.code == "standing-water"]
    assert [notice.address for notice in notices] == [("intake", "runs", 0)]
    cured = with_value(design, ("intake", "runs", 0, "slope"), 0.01)
    assert "standing-water" not in [notice.code for notice in prepare(cured).at(1.0).notices]
