"""The draft of a riser, by air that cools on its way: against a plain integration, and what must hold."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from tests.jobs import floor_job, ground_only, record
from workbench.design import Design, Pipe, Place, Run
from workbench.design.record import with_value
from workbench.physics.heat import inside_coefficient, outside_coefficient
from workbench.solving.site.assemble import assemble, site_of
from workbench.solving.site.season import season_at

PIPE = Pipe(name="DN 100", inside_diameter=0.1023)
# check case of a riser on a cold day: saturated air of 13 C in the pipe, 70 % at -10 C outdoors
COLD_DAY = {"pipe_temperature": 286.15, "pipe_humidity": 1.0, "outdoor_temperature": 263.15, "outdoor_humidity": 0.7}
STILL = 11 * 0.3048**3 / 60  # m3/s, the least of 87 systems (Brodhead and Saum, AARST 1996)


def riser(surroundings: str, height: float = 7.0, insulation: float = 0.0, **place: float) -> Design:
    fan = record([0.0, 0.05], [400.0, 0.0])
    run = Run(name="Riser", pipe=PIPE, length=height, rise=height, surroundings=surroundings, insulation=insulation)
    design = with_value(ground_only(fan, 4000.0), ("place",), Place(**(COLD_DAY | place)))
    return with_value(design, ("intake", "runs"), (run,))


def draft(design: Design) -> np.ndarray:
    return assemble(site_of(design)).network.draft


def test_a_riser_indoors_keeps_the_draft_of_its_air() -> None:
    """Derived with psychrolib for air that does not cool: 7 m at 13 C, -10 C outdoors, 7.81 Pa."""
    assert draft(riser("indoors")) == pytest.approx([7.81], abs=0.006)


@pytest.mark.parametrize("insulation", [0.0, 0.05])
@pytest.mark.parametrize("wind", [0.0, 6.0])
def test_a_riser_outdoors_by_a_plain_integration(insulation: float, wind: float) -> None:
    """Dry air: dT/dx = U (T_out - T) / (m c), by SciPy, with the gas law for the density and its own figures."""
    design = riser("outdoors", pipe_humidity=0.0, wind=wind, insulation=insulation)
    bore, wall, over_all = 0.1023, 0.1123, 0.1123 + 2.0 * insulation
    warm, cold, pressure, gas, heat = 286.15, 263.15, 101_325.0, 287.05, 1006.0
    density = pressure / (gas * warm)
    inner = 1.0 / (math.pi * bore * float(inside_coefficient(STILL, bore, warm, density)))
    outer = 1.0 / (math.pi * over_all * float(outside_coefficient(wind, over_all, cold, pressure)))
    shells = math.log(wall / bore) / (2.0 * math.pi * 0.19) + math.log(over_all / wall) / (2.0 * math.pi * 0.035)
    units = 1.0 / ((inner + shells + outer) * STILL * density * heat)
    along = solve_ivp(lambda _, t: units * (cold - t), (0.0, 7.0), [warm], rtol=1e-9, dense_output=True)
    x = np.linspace(0.0, 7.0, 2001)
    inside = pressure / (gas * along.sol(x)[0])
    outdoors = float(assemble(site_of(design)).outdoor.density)
    lift = 9.80665 * np.sum(0.5 * ((outdoors - inside)[1:] + (outdoors - inside)[:-1])) * (x[1] - x[0])
    assert draft(design) == pytest.approx([lift], rel=0.01)


def test_what_lies_around_takes_from_the_draft() -> None:
    indoors, unheated, outdoors = (float(draft(riser(place))[0]) for place in ("indoors", "unheated", "outdoors"))
    assert 0.0 < outdoors < unheated < indoors
    assert outdoors < float(draft(riser("outdoors", insulation=0.05))[0]) < indoors
    # a windy day cools more
    assert float(draft(riser("outdoors", wind=12.0))[0]) < float(draft(riser("outdoors", wind=0.0))[0])
    # a warm house adds nothing
    assert float(draft(riser("indoors", indoor_temperature=303.15))[0]) == pytest.approx(indoors, rel=1e-12)


def test_cold_air_stays_cold_on_its_further_way() -> None:
    """A stretch outdoors before a riser indoors: warmer again it may be, but that is not counted on."""
    design = riser("indoors", indoor_temperature=293.15)
    before = Run(name="Along the wall", pipe=PIPE, length=10.0, rise=0.0, surroundings="outdoors")
    led = with_value(design, ("intake", "runs"), (before, *design.intake.runs))
    assert float(draft(led)[0]) < 0.7 * float(draft(design)[0])


def test_two_points_share_the_air_that_was_measured_in_one() -> None:
    """The last run of two carries what that of one carries and cools as much: each way loses the same draft there."""
    lost = []
    for points in (1, 2):
        design = with_value(floor_job(points), ("place",), Place(**COLD_DAY))
        outside = with_value(design, ("discharge", 0, "surroundings"), "outdoors")
        lost.append(draft(design) - draft(outside))
    assert np.all(lost[0] > 0.0)
    assert lost[1] == pytest.approx([float(lost[0][0])] * 2, rel=1e-3)


@pytest.mark.parametrize("colder", [243.15, 263.15, 273.15])
def test_a_colder_day_adds_no_draft(colder: float) -> None:
    design = riser("outdoors")
    assembly = assemble(site_of(design))
    assert season_at(design, assembly, colder, 0.0).draft == pytest.approx(assembly.network.draft, rel=1e-12)
