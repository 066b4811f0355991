"""Fitting a drawn floor to readings that an invented floor gave: the truth is known, so that the fit can be judged."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.floors import PLACES, hole, job, point, read, slab, untested
from workbench.design.catalogue import fill_kinds, slab_kind
from workbench.design.slab import Slab, TestHole
from workbench.solve import prepare
from workbench.solve.floor import Floor

FLOW = 0.015
MORE = {f"H{i}": (0.7 + 1.55 * (i % 5) + 0.9 * (i // 5 % 2), 0.9 + 1.4 * (i // 5)) for i in range(20)}
FILL, LEAK = 1.8, 2.5


def truth(**fields: object) -> Slab:
    """The floor as it is: fill and slab let through other than their classes say."""
    usual = slab()
    given = {
        "permeability": FILL * fill_kinds()[usual.fill].permeability,
        "leak": LEAK * slab_kind("usual").leak,
    }
    return slab(**(given | fields))


def readings_of(floor: Slab, places: dict[str, tuple[float, float]], times: dict[str, float]) -> list[TestHole]:
    """Holes with what they read on a floor, some of it times a factor."""
    blind = [hole(name, at=at) for name, at in places.items()]
    response = prepare(job(blind, untested(), floor=floor)).assembly.floor.holes[:, 0]
    return [
        hole(name, read(float(r) * FLOW * times.get(name, 1.0), flow=FLOW, applied=4000.0), at=at)
        for (name, at), r in zip(places.items(), response, strict=True)
    ]


def fitted(places: dict[str, tuple[float, float]], **times: float) -> Floor:
    holes = readings_of(truth(), places, times)
    return prepare(job(holes, untested(), floor=slab())).assembly.floor


def factor(floor: Floor, title: str) -> tuple[float, float]:
    """Logarithm of a fitted factor, and its standard deviation."""
    found = next(factor for factor in floor.factors if factor.title == title)
    return math.log(found.value), math.log(found.spread)


@pytest.mark.parametrize("places", [dict(list(PLACES.items())[:2]), PLACES, MORE], ids=["two", "three", "twenty"])
def test_the_truth_lies_within_the_spread_of_the_fit(places: dict[str, tuple[float, float]]) -> None:
    floor = fitted(places)
    for title, known in (("Fill lets through", FILL), ("Slab leaks", LEAK)):
        value, spread = factor(floor, title)
        assert abs(value - math.log(known)) <= 2.0 * spread


@pytest.mark.parametrize("places", [PLACES, MORE], ids=["three", "twenty"])
def test_readings_without_error_are_met(places: dict[str, tuple[float, float]]) -> None:
    for fit in fitted(places).fits:
        assert abs(fit.misfit) < 1.0


def test_more_readings_leave_less_open() -> None:
    few, many = fitted(dict(list(PLACES.items())[:2])), fitted(MORE)
    for title in ("Fill lets through", "Slab leaks", "Joints let through"):
        assert factor(many, title)[1] < factor(few, title)[1]


def test_without_a_reading_the_classes_stand_as_they_are() -> None:
    floor = prepare(job([hole("A", at=(3.0, 3.0))], untested(), floor=slab())).assembly.floor
    for title, known in (("Fill lets through", fill_kinds()[slab().fill].factor), ("Slab leaks", slab_kind().factor)):
        value, spread = factor(floor, title)
        assert value == pytest.approx(0.0, abs=1e-9)
        assert spread == pytest.approx(math.log(known), rel=1e-6)
    assert floor.fits == ()


@pytest.mark.parametrize("times", [0.25, 4.0])
def test_one_bad_hole_is_pointed_out_and_bends_the_floor_little(times: float) -> None:
    floor = fitted(MORE, H7=times)
    worst = max(floor.fits, key=lambda fit: abs(fit.misfit))
    assert worst.hole == "H7"
    assert abs(worst.misfit) > 2.5
    assert (worst.misfit > 0.0) == (times > 1.0)
    others = [abs(fit.misfit) for fit in floor.fits if fit.hole != "H7"]
    assert max(others) < 2.5


def test_a_hole_that_does_not_fit_follows_its_own_reading() -> None:
    floor = fitted(MORE, H7=4.0)
    h = list(MORE).index("H7")
    assert float(floor.holes[h, 0]) * FLOW == pytest.approx(
        next(f for f in floor.fits if f.hole == "H7").read, rel=0.05
    )


def test_a_reading_of_nothing_or_above_the_room_is_taken_and_pulls_down() -> None:
    fair = readings_of(truth(), PLACES, {})
    for value in (0.0, -1.5):
        holes = [*fair[:2], hole("Far", read(value, flow=FLOW, applied=4000.0), at=PLACES["Far"])]
        floor = prepare(job(holes, untested(), floor=slab())).assembly.floor
        before = prepare(job(fair, untested(), floor=slab())).assembly.floor
        assert np.all(np.isfinite(floor.holes))
        assert floor.holes[2, 0] < before.holes[2, 0]


@pytest.mark.parametrize("left", [{"leak_left": 0.25}, {"joints_left": 0.0}], ids=["slab", "joints"])
def test_sealing_after_the_readings_raises_the_suction_at_every_hole(left: dict[str, float]) -> None:
    holes = readings_of(truth(), PLACES, {})
    before = prepare(job(holes, untested(), floor=slab())).assembly.floor
    after = prepare(job(holes, untested(), floor=slab(**left))).assembly.floor
    assert np.all(after.holes > before.holes)
    assert np.all(np.diag(after.coupling) > np.diag(before.coupling))
    # what was read was read before the sealing
    assert [fit.predicted for fit in after.fits] == pytest.approx([fit.predicted for fit in before.fits])


def test_a_measured_resistance_stays_what_was_measured() -> None:
    holes = readings_of(truth(), PLACES, {})
    floor = prepare(job(holes, point(), floor=slab())).assembly.floor
    assert floor.coupling[0, 0] == pytest.approx(6000.0)
