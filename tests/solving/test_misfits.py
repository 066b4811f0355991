"""Which readings are pointed out, by which rule, and what is said of readings themselves."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
import pytest

from tests.floors import hole, job, point, read, slab, three, unplaced
from workbench.design import Resistance
from workbench.design.slab import Footing, Position, Slab, TestHole, WorstDay
from workbench.solving import prepare
from workbench.solving.run.misfits import MISFIT, few_readings, fit_of, misfits, remarks, scalings
from workbench.solving.run.prepare import Prepared
from workbench.solving.site.draws import DRAG_SAMPLES

# around the pit at (1, 1): each direction near and far
PLACES = {
    "N1": (1.2, 3.0), "N2": (3.0, 1.2), "M1": (3.2, 3.2), "M2": (1.2, 5.0), "M3": (5.0, 1.2),
    "F1": (6.5, 4.0), "F2": (8.3, 2.0), "F3": (8.3, 5.2), "F4": (5.0, 5.4),
}  # fmt: skip
FLOW, APPLIED = 0.02, 900.0
PIT = Resistance(linear=APPLIED / FLOW, tested_volume=0.028)


def fair(floor: Slab, places: Mapping[str, tuple[float, float]] = PLACES) -> dict[str, float]:
    """What the holes would read if the floor were just what its classes say."""
    blind = [hole(name, at=at) for name, at in places.items()]
    response = prepare(job(blind, point(ground=PIT), floor=floor)).assembly.floor.holes[:, 0]
    return {name: float(r) * FLOW for name, r in zip(places, response, strict=True)}


def ready_with(
    floor: Slab | None = None, places: Mapping[str, tuple[float, float]] = PLACES, **values: float
) -> Prepared:
    """A job whose readings are fair but for some, given as factors on what would be."""
    floor = floor or slab()
    return prepare(
        job(
            [
                hole(name, read(value * values.get(name, 1.0), flow=FLOW, applied=APPLIED), at=places[name])
                for name, value in fair(floor, places).items()
            ],
            point(ground=PIT),
            floor=floor,
        )
    )


def text(value: float, dimension: str) -> str:
    return f"{value:.4g} {dimension}"


@pytest.mark.parametrize(
    ("name", "times", "rule"),
    [("N1", 0.2, "low near"), ("F2", 0.2, "low far"), ("N2", 3.5, "high near"), ("F3", 4.0, "high far")],
)
def test_a_bad_reading_is_pointed_out_by_where_it_lies_and_which_way(name: str, times: float, rule: str) -> None:
    found = misfits(ready_with(**{name: times}))
    assert len(found) == 1
    assert list(PLACES)[found[0].hole] == name
    assert found[0].rule == rule
    assert abs(found[0].errors) > MISFIT
    assert (found[0].errors > 0.0) == (times > 1.0)
    assert found[0].meaning.endswith(".")


def test_fair_readings_are_not_pointed_out() -> None:
    prepared = ready_with()
    assert misfits(prepared) == ()
    fit = fit_of(prepared, 0)
    assert fit is not None
    assert abs(fit.misfit) < 1.0


def test_a_hole_nobody_read_is_as_unsure_as_the_readings_scatter_about_the_even_floor() -> None:
    """Derived: of readings that lie off by 0.3 of a logarithm either way the next lies within 1.645 times that nine
    times in ten, and few readings do not tell how uneven a floor is to better than a factor of two or three."""
    scatter, new = 0.3, (6.0, 2.8)
    signs = dict(zip(PLACES, (1, -1, -1, 1, 1, -1, 1, -1, 1), strict=True))
    even = fair(slab(), PLACES | {"New": new})
    holes = [
        hole(name, read(even[name] * math.exp(scatter * sign), flow=FLOW, applied=APPLIED), at=PLACES[name])
        for name, sign in signs.items()
    ]
    floor = prepare(job([*holes, hole("New", at=new)], point(ground=PIT), floor=slab())).assembly.floor
    low, high = np.quantile(floor.draws(DRAG_SAMPLES).holes[:, -1, 0], (0.05, 0.95))
    assert low < even["New"] / FLOW < high
    assert 0.8 * scatter < 0.5 * math.log(high / low) / 1.645 < 3.0 * scatter


def test_a_drawn_footing_between_is_named() -> None:
    wall = Footing(name="Spine wall", line=(Position(x=4.2, y=0.0), Position(x=4.2, y=6.0)), opening=0.4)
    (found,) = misfits(ready_with(slab(footings=(wall,)), F2=0.2))
    assert found.rule == "footing"
    assert "Spine wall" in found.meaning
    assert "less" in found.meaning


def test_two_exchanged_readings_name_each_other() -> None:
    values = fair(slab())
    found = misfits(ready_with(N1=values["F3"] / values["N1"], F3=values["N1"] / values["F3"]))
    assert {(list(PLACES)[m.hole], m.rule) for m in found} == {("N1", "exchanged"), ("F3", "exchanged")}
    assert "F3" in next(m.meaning for m in found if list(PLACES)[m.hole] == "N1")


def test_a_misfit_is_noticed_once_with_its_numbers() -> None:
    prepared = ready_with(F3=4.0)
    notices = [notice for notice in prepared.at(0.7).notices if notice.code == "misfit"]
    assert len(notices) == 1
    assert notices[0].address == ("holes", 7, "readings", 0)
    (misfit,) = misfits(prepared)
    assert f"{misfit.read:.4g} hole_pressure" in notices[0].text(text)


def test_without_a_plan_nothing_is_fitted_and_nothing_off() -> None:
    prepared = prepare(job(unplaced(three())))
    assert misfits(prepared) == ()
    assert fit_of(prepared, 0) is None
    assert few_readings(prepared) is None


def codes(*holes: TestHole) -> list[str]:
    return [notice.code for notice in remarks(prepare(job(holes)))]


def test_readings_that_cannot_be_are_said_to_be_odd() -> None:
    assert codes(hole("A", read(20.0))) == []
    assert codes(hole("A", read(-3.0, at_rest=0.5))) == ["wrong-sign"]
    assert codes(hole("A", read(150.0, applied=120.0))) == ["above-applied"]
    assert codes(hole("A")) == ["unknown-hole"]


@pytest.mark.parametrize(
    ("change", "tested", "told"),
    [(-1.5, 4.0, []), (0.4, 4.0, []), (1.5, 4.0, ["gains"]), (-3.0, 1.0, ["lost-more"]), (-3.0, None, [])],
)
def test_changes_in_the_exhaust_test_that_cannot_be_are_said(
    change: float, tested: float | None, told: list[str]
) -> None:
    """A house drawn down takes suction from a hole, and no more than it is drawn down by; two readings of 0.2 Pa error
    differ by up to 0.57 Pa at two standard errors."""
    worst = WorstDay(tested_draw_down=tested)
    found = remarks(prepare(job([hole("A", read(20.0), exhausts=change)], worst_day=worst)))
    assert [notice.code for notice in found] == told


def test_fewer_readings_than_factors_is_said() -> None:
    floor = slab()
    one = prepare(job([hole("A", read(20.0), at=(4.0, 3.0))], floor=floor))
    none = prepare(job([hole("A", at=(4.0, 3.0))], floor=floor))
    assert (said := few_readings(one)) is not None
    assert "1 reading for 4" in said.sentence
    assert few_readings(none) is not None
    assert few_readings(ready_with()) is None


def test_a_vacuums_reading_is_scaled_by_the_flow_the_fan_draws() -> None:
    """Never taken as if the fan gave it: the share is that of the flow."""
    prepared = prepare(job([hole("A", read(300.0, applied=5200.0, flow=0.06))], point()))
    outcome = prepared.at(0.6)
    (told,) = scalings(prepared, outcome, 0)
    share = outcome.points[0].flow / 0.06
    assert told.values[-1] == (pytest.approx(share), "fraction")
    assert "under a vacuum" in told.sentence
    assert outcome.holding is not None
    assert outcome.holding.holes[0].suction == pytest.approx(300.0 * share, rel=5e-3)
    (plain,) = scalings(prepare(job([hole("A", read(20.0))])), outcome, 0)
    assert "vacuum" not in plain.sentence


def test_a_reading_without_a_flow_is_scaled_by_that_of_the_ground() -> None:
    prepared = prepare(job([hole("A", read(20.0, flow=None, applied=90.0))]))
    outcome = prepared.at(0.6)
    (told,) = scalings(prepared, outcome, 0)
    assert told.values[1] == (pytest.approx(90.0 / 6000.0), "flow")


@pytest.mark.parametrize(("share", "rule"), [(0.31, "low near"), (0.36, "low far")])
def test_near_is_a_third_of_the_way_to_the_farthest_corner(share: float, rule: str) -> None:
    """Else a leak beside the hole is looked for where a footing close to the point stops the suction."""
    # the third is a judgement; the corner farthest from (1, 1) is (9, 6), by Pythagoras the root of 89 away
    aside = share * math.sqrt(89.0) / math.sqrt(2.0)
    places = PLACES | {"M1": (1.0 + aside, 1.0 + aside)}
    (found,) = misfits(ready_with(places=places, M1=0.2))
    assert (list(places)[found.hole], found.rule) == ("M1", rule)


def test_samples_that_no_floor_was_found_for_are_said() -> None:
    from workbench.solving.site.draws import DRAG_SAMPLES

    prepared = Prepared(job(three(), floor=slab()))
    assert "readings-disagree" not in [n.code for n in prepared.at(0.7).notices]
    floor = prepared.assembly.floor
    kept = floor.draws(DRAG_SAMPLES)
    floor._kept[DRAG_SAMPLES] = kept._replace(missed=0.04)
    try:
        (told,) = (n for n in prepared.at(0.7).notices if n.code == "readings-disagree")
    finally:
        floor._kept[DRAG_SAMPLES] = kept
    assert told.values == ((0.04, "fraction"),)
