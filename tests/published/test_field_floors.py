"""Measured floors: what they leak, what crosses them, how far suction reaches and whether it keeps its shape.

Few figures each, from abstracts and reports; a table of suction by distance under a real slab was not at hand. Of a
Danish basement (104 m2, sucked through its drain, 0.6 to 1.9 Pa in the farthest corners) neither drain nor suction are
told, so that nothing here can be held to it.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.floors import FAN, PLACES, hole, job, point, slab, three, untested
from tests.jobs import open_run
from tests.reference.ground import inertia
from tests.reference.slab_inertia import inertial_field
from workbench.design import Design, Junction, Leg, Pipe
from workbench.design.catalogue import fill_kinds, slab_kind
from workbench.design.slab import Edge, TestHole
from workbench.physics.fan import MonotoneCubic
from workbench.physics.house import exhaust_depressurisation, leakage_area, leakage_flow
from workbench.physics.slab.field import vacuum_field
from workbench.physics.slab.parts import Layer, bed_transmissivity
from workbench.solving import prepare

CFM = 4.719474e-4
HOUR = 3600.0
VISCOSITY, DENSITY = 1.81e-5, 1.204


def disc(area: float, edges: int = 90) -> tuple[tuple[float, float], ...]:
    radius = math.sqrt(area / math.pi)
    return tuple((radius * math.cos(a), radius * math.sin(a)) for a in np.linspace(0.0, 2.0 * math.pi, edges, False))


# D. A. Olson and R. L. Corsi, Atmospheric Environment 35 (2001) 4201, abstract; two basements in Paulsboro, New Jersey.
# Soil gas through the floor [m3/(m2 h)] and air changes [1/h], each at the house's draw-down [Pa]; which pair belongs
# to which house is not told.
SOIL_GAS = ((0.2, 0.001), (6.0, 0.011))
AIR_CHANGES = ((1.1, 0.17), (7.6, 0.75))


@pytest.mark.parametrize(("pressure", "volume"), SOIL_GAS)
def test_leakage_of_two_basement_floors(pressure: float, volume: float) -> None:
    """Both floors lie within one standard deviation of the class a floor starts as; both, and not by a decade."""
    leak = volume / HOUR / pressure
    usual = slab_kind()
    assert usual.leak / usual.factor < leak < usual.leak * usual.factor
    assert leak == pytest.approx(usual.leak, rel=0.5)


def test_class_of_a_floor_stands_in_the_middle_of_them() -> None:
    """1.39e-6 and 5.1e-7 m/(s Pa), as printed to two figures; the mean of their logarithms within a third."""
    leaks = [volume / HOUR / pressure for pressure, volume in SOIL_GAS]
    assert leaks == pytest.approx([1.39e-6, 5.1e-7], rel=0.005)
    assert math.sqrt(math.prod(leaks)) == pytest.approx(slab_kind().leak, rel=0.33)


def test_leaks_of_a_basement_by_the_default_exponent() -> None:
    """Known at 1.1 Pa, foretold at 7.6: 0.60 changes an hour where 0.75 were measured, a fifth too few.

    The other way, an exhaust of 0.75 changes an hour is feared to draw the house down by 10.8 Pa where it drew 7.6, on
    the safe side. The measured exponent is 0.77, as steep as leaks get that are narrow.
    """
    (low, few), (high, many) = AIR_CHANGES
    measured = math.log(many / few) / math.log(high / low)
    area = float(leakage_area(few, low, DENSITY))
    assert float(leakage_flow(high, area, DENSITY)) == pytest.approx(0.60, abs=0.01)
    assert high < float(exhaust_depressurisation(many, area, DENSITY)) < 1.5 * high
    # with its own exponent the power law meets both, to the digits printed
    own = float(leakage_area(few, low, DENSITY, measured))
    assert float(leakage_flow(high, own, DENSITY, 0.77)) == pytest.approx(many, rel=0.02)


# Research house in Layton, Utah: gravel under the slab, an open drain in it (C. Holton 2013 and 2015, Y. Guo 2015; data
# file of the same work). Part of a change of the house's pressure that appears across the slab, winter against summer:
# 0.30, 90 % between 0.18 and 0.46. Without the open drain rather less.
LEAST_SHARE, MOST_SHARE = 0.18, 0.46


@pytest.mark.parametrize("holes", [three(30.0, 28.0, 27.0), tuple(hole(n, at=p) for n, p in PLACES.items())])
def test_a_joint_all_round_leaves_winter_a_share(holes: tuple[TestHole, ...]) -> None:
    """On gravel with a joint of 1 mm all round. A quarter of the least that was measured is allowed for the drain."""
    floor = slab(fill="gravel", edges=tuple(Edge(kind="joint", joint_width=1e-3) for _ in range(4)))
    shares = prepare(job(holes, untested(), floor=floor)).assembly.floor.rest_holes
    assert np.all(shares > 0.25 * LEAST_SHARE)
    assert np.all(shares < 1.5 * MOST_SHARE)


# US EPA 1991, abstract: one suction point served 5,500 m2 of a hospital on stone.
HOSPITAL = 5500.0


def test_one_point_serves_a_hospital_on_stone() -> None:
    """Stone and floor as their classes start: 5 Pa at the far edge for 66 cfm and 27 Pa in the pit."""
    stone = fill_kinds()["gravel"]
    lets_through = bed_transmissivity(stone.permeability, 0.10, VISCOSITY)
    floor = Layer(disc(HOSPITAL), lets_through, slab_kind().leak, cell=0.8)
    field = vacuum_field(floor, [(0.0, 0.0)], 0.30)
    edge = (0.99 * math.sqrt(HOSPITAL / math.pi), 0.0)
    flows = np.array([0.01, 0.02, 0.03, 0.04])
    found = [inertial_field(field, inertia(stone.inertia, 0.10, DENSITY), [q]) for q in flows]
    flow = float(MonotoneCubic([f.sample([edge])[0] for f in found], flows)(5.0))
    pit = float(MonotoneCubic(flows, [f.pits[0] for f in found])(flow))
    # 87 systems in New Jersey took 11 to 167 cfm (Brodhead and Saum, AARST 1996), and fans for them give a few inches
    assert 11.0 < flow / CFM < 167.0
    assert pit < 500.0
    assert (flow / CFM, pit) == pytest.approx((66.0, 27.0), rel=0.05)


@pytest.mark.parametrize("fill", ["coarse sand", "medium sand", "fine sand"])
def test_none_serves_it_on_sand(fill: str) -> None:
    """At the upper end of its class and under the usual floor: 1 Pa at that edge would ask for ten kilopascals."""
    sand = fill_kinds()[fill]
    transmissivity = bed_transmissivity(sand.permeability * sand.factor, 0.10, VISCOSITY)
    field = vacuum_field(Layer(disc(HOSPITAL), transmissivity, slab_kind().leak, cell=0.8), [(0.0, 0.0)], 0.30)
    share = field.sample([(0.99 * math.sqrt(HOSPITAL / math.pi), 0.0)]).flow[0, 0] / field.resistance[0, 0]
    assert share < 1e-4


# St Levan school: a new slab of 87 m2 on rubble, two sumps on one fan (A. J. Cripps, thesis, University College London
# and BRE, case study 1). Suction of both sumps [Pa] when new, a year on, two years later; the field as a share of the
# sump's suction stayed almost the same.
NEW, LATER, LAST = (125.0, 56.0), (138.0, 71.0), (116.0, 61.0)
SCHOOL = 87.0


def test_shape_of_the_field_keeps_as_suction_drifts() -> None:
    """On clean stone, inertia and all, the share at the edge moves by less than 4 % from 116 to 138 Pa in the sump."""
    stone = fill_kinds()["gravel"]
    lets_through = bed_transmissivity(stone.permeability, 0.10, VISCOSITY)
    floor = Layer(disc(SCHOOL), lets_through, slab_kind().leak, cell=0.2)
    field = vacuum_field(floor, [(0.0, 0.0)], 0.15)
    flows = np.array([0.004, 0.006, 0.008, 0.012, 0.018, 0.026])
    found = [inertial_field(field, inertia(stone.inertia, 0.10, DENSITY), [q]) for q in flows]
    pits = np.array([f.pits[0] for f in found])
    edge = np.array([f.sample([(5.2, 0.0)])[0] for f in found])
    assert pits[0] < LAST[0] < LATER[0] < pits[-1]
    new, later, last = (float(MonotoneCubic(pits, edge / pits)(visit[0])) for visit in (NEW, LATER, LAST))
    assert later == pytest.approx(new, rel=0.04)
    assert last == pytest.approx(new, rel=0.04)
    # it does fall with suction: no share is quite its own
    assert later < new < last


def sumps(length: float, speed: float) -> tuple[float, float]:
    """Suction in two laminar sumps on one fan, the second behind a length of narrow pipe. [Pa]"""
    narrow = open_run("From Other", pipe=Pipe(name="narrow", inside_diameter=0.05), length=length)
    tee = Junction(
        straight=Leg(source=point(), runs=(open_run("In"),)), side=Leg(source=point("Other"), runs=(narrow,))
    )
    design = Design(
        intake=Leg(source=tee, runs=(open_run("Together"),)), discharge=(open_run("Out"),), fans=(FAN,), fan=FAN.name
    )
    first, second = prepare(design).at(speed).points
    return first.suction, second.suction


def test_two_sumps_on_one_fan_drift_apart() -> None:
    """Fitted to the first visit by the pipe of the second sump, and the fan's speed to the first sump of each visit.

    The second sump is foretold 60 and 53 Pa, where 71 and 61 were read: 15 % either way of that held one of two, 27 %
    both. The speed of a fan can't move them apart: so much drift belongs into what a later visit is foretold.
    """
    from scipy.optimize import brentq

    def visit(length: float, first: float) -> float:
        speed = brentq(lambda r: sumps(length, r)[0] - first, 0.3, 1.0, xtol=1e-6)
        return sumps(length, speed)[1]

    length = brentq(lambda m: visit(m, NEW[0]) - NEW[1], 1.0, 200.0, rtol=1e-5)
    misses = [read / visit(length, first) - 1.0 for first, read in (LATER, LAST)]
    assert misses == pytest.approx([0.184, 0.148], abs=0.005)
    assert [abs(m) <= 0.15 for m in misses] == [False, True]
    assert all(abs(m) <= 0.27 for m in misses)
