"""The house's own draft: what is summed, and that it warns and never clears."""

from __future__ import annotations

from typing import Any

import pytest

from tests.jobs import ground_only, record
from workbench.design import Design, House, Place
from workbench.design.record import with_value
from workbench.physics.house import leakage_area
from workbench.solving import prepare
from workbench.solving.report.answer import answer
from workbench.solving.report.house_draft import SPILLAGE_TEST, HouseDraft, house_draft

FALLING = ([0.0, 0.02, 0.04, 0.06], [300.0, 260.0, 170.0, 0.0], [60.0] * 4)


def job(exhausts: float = 2.5, outdoor: float = 263.15, height: float = 7.0, **house: Any) -> Design:
    place = Place(indoor_temperature=286.15)
    design = ground_only(record(*FALLING), 5000.0, place=place, house=House(**house))
    worst = design.worst_day.model_copy(
        update={"exhausts": exhausts, "outdoor_temperature": outdoor, "neutral_height": height}
    )
    return with_value(design, ("worst_day",), worst)


def draft(design: Design) -> HouseDraft:
    prepared = prepare(design)
    return house_draft(prepared, prepared.at(1.0))


def test_winter_stack() -> None:
    # Published form: 3461.6 h (1 / To - 1 / Ti), ASHRAE HVAC Applications 2011, ch. 53. Derived: -10 C against 13 C
    # over 7 m are 7.40 Pa, dry.
    assert draft(job()).stack == pytest.approx(7.40, abs=0.02)
    assert draft(job(outdoor=300.0)).stack == 0.0


def test_without_a_leakage_area_the_measured_exhausts_stand_and_the_system_is_not_known() -> None:
    found = draft(job())
    assert (found.exhausts, found.system, found.known) == (2.5, 0.0, False)
    assert found.total == pytest.approx(2.5 + found.stack)


def test_exhausts_from_a_blower_door() -> None:
    # Derived with the power law of ASTM E779, exponent 0.65: the flow that reads 50 Pa draws the house to 50 Pa.
    density = prepare(job()).assembly.indoor.density
    area = float(leakage_area(0.5, 50.0, density))
    tight = job(exhausts=0.0, leakage_area=area, exhaust_flow=0.5, house_air_share=0.0, house_air_least=0.0)
    assert draft(tight).exhausts == pytest.approx(50.0, rel=1e-6)
    assert draft(tight).system == pytest.approx(0.0, abs=1e-9)


def test_what_was_measured_is_never_talked_down() -> None:
    # a leaky house by its area, but 2.5 Pa were read at the slab
    found = draft(job(leakage_area=0.2, exhaust_flow=0.0))
    assert found.exhausts == 2.5
    assert found.system > 0.0
    worse = draft(job(leakage_area=0.02, exhaust_flow=0.1))
    assert worse.exhausts > 2.5


def test_an_exhaust_that_runs_all_year_runs_on_the_worst_day_too() -> None:
    steady = draft(job(exhausts=0.0, leakage_area=0.03, steady_exhaust=0.1)).exhausts
    assert steady == draft(job(exhausts=0.0, leakage_area=0.03, exhaust_flow=0.1)).exhausts > 0.0
    assert steady == draft(job(exhausts=0.0, leakage_area=0.03, exhaust_flow=0.1, steady_exhaust=0.02)).exhausts


def test_the_system_adds_what_house_air_it_draws() -> None:
    def added(**house: Any) -> float:
        return draft(job(leakage_area=0.03, exhaust_flow=0.05, **house)).system

    less = added(house_air_share=0.1, house_air_least=0.1)
    more = added(house_air_share=0.9)
    assert 0.0 < less < more
    # Derived: with n 0.65 a pressure grows as the flow to 1 / 0.65; the same flow upon a greater one adds more.
    assert draft(job(leakage_area=0.03, exhaust_flow=0.2)).system > draft(job(leakage_area=0.03)).system


def test_appliances_are_held_against_the_lower_limit_seen() -> None:
    # From memory of BPI and CAN/CGSB-51.71: 2 to 5 Pa for natural draft, 15 power-vented, 25 sealed.
    found = draft(job(appliances=("natural draft", "power vented", "sealed combustion")))
    assert [each.limit for each in found.warnings] == [2.0, 15.0, 25.0]
    assert [each.index for each in found.warnings] == pytest.approx(
        [found.total / limit for limit in (2.0, 15.0, 25.0)]
    )
    assert all("from memory" in each.source for each in found.warnings)


def test_no_figure_clears_a_house() -> None:
    """A spillage test is needed in essentially every installation (Henschel, Indoor Air 7 (1997) 206-214)."""
    calm = job(exhausts=0.0, outdoor=300.0, appliances=("sealed combustion",), leakage_area=1.0)
    assert draft(calm).warnings[0].index < 0.1
    prepared = prepare(calm)
    told = answer(prepared, prepared.at(1.0))["house_draft"]
    assert told["caution"] == SPILLAGE_TEST
    assert "spillage test" in SPILLAGE_TEST
    assert "no risk" not in str(told).lower()


def test_without_an_operating_point_the_house_still_has_its_draft() -> None:
    design = job(leakage_area=0.03).model_copy(update={"fan": None})
    found = draft(design)
    assert found.system == 0.0
    assert found.stack > 0.0


@pytest.mark.parametrize("area", [1e-9, 1e-6, 1e-4])
def test_no_house_is_drawn_down_beyond_what_a_fan_can_draw(area: float) -> None:
    """By the power law alone a leak of a pinhole made 1.4e9 Pa of an exhaust of 20 L/s."""
    found = draft(job(leakage_area=area, exhaust_flow=0.02))
    assert 2.5 <= found.exhausts <= 500.0
    assert 0.0 <= found.system <= 500.0
    assert found.known
