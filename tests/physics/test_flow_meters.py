"""Flow as instruments show it, against the laws they go by and the profiles of turbulent flow."""

from __future__ import annotations

import math

import pytest
from fluids import differential_pressure_meter_solver
from scipy.integrate import quad

from workbench.physics.flow_meters import LOG_LINEAR, STANDARD_DENSITY, density_factor, traverse_places


def test_standard_air_is_dry_air_at_twenty_degrees_and_one_atmosphere() -> None:
    # ideal gas, R = 287.05 J/(kg K) (ISO 2533, standard atmosphere)
    assert pytest.approx(101325.0 / (287.05 * 293.15), abs=5e-4) == STANDARD_DENSITY


def test_at_standard_density_nothing_is_corrected() -> None:
    for method in ("pitot traverse", "hot wire", "orifice"):
        assert density_factor(method, STANDARD_DENSITY) == 1.0  # type: ignore[arg-type]


@pytest.mark.parametrize("density", [0.95, 1.1, 1.29])
def test_a_pitot_tube_reads_velocity_pressure(density: float) -> None:
    # Bernoulli: the pressure read is that of the true velocity, the velocity shown is that of standard air
    true = 5.0
    shown = math.sqrt(2.0 * (0.5 * density * true**2) / STANDARD_DENSITY)
    assert density_factor("pitot traverse", density) * shown == pytest.approx(true)


@pytest.mark.parametrize("density", [0.95, 1.1, 1.29])
def test_an_orifice_goes_by_iso_5167(density: float) -> None:
    # `fluids` has ISO 5167-2; volume flow at one pressure difference, the Reynolds number's small part left in
    def volume(rho: float) -> float:
        mass = differential_pressure_meter_solver(
            D=0.0779,
            D2=0.05,
            P1=101325.0,
            P2=101225.0,
            rho=rho,
            mu=1.8e-5,
            k=1.4,
            meter_type="ISO 5167 orifice",
            taps="D",
        )
        return float(mass) / rho

    assert density_factor("orifice", density) == pytest.approx(volume(density) / volume(STANDARD_DENSITY), rel=3e-3)


@pytest.mark.parametrize("density", [0.95, 1.29])
def test_a_hot_wire_reads_the_mass_that_passes(density: float) -> None:
    # King's law has density and velocity as their product alone
    shown = 5.0
    assert density * density_factor("hot wire", density) * shown == pytest.approx(STANDARD_DENSITY * shown)


@pytest.mark.parametrize("points", sorted(LOG_LINEAR))
@pytest.mark.parametrize("exponent", [6.0, 7.0, 9.0])
def test_the_mean_over_a_traverse_is_the_mean_of_a_turbulent_profile(points: int, exponent: float) -> None:
    # power-law profile of a smooth pipe (Schlichting, Boundary-Layer Theory, chapter on pipe flow)
    def velocity(y: float) -> float:
        return (min(y, 1.0 - y) * 2.0) ** (1.0 / exponent)

    mean, _ = quad(lambda r: 2.0 * r * velocity((1.0 - r) / 2.0), 0.0, 1.0)
    read = sum(velocity(y) for y in traverse_places(1.0, points)) / points
    assert read == pytest.approx(mean, rel=0.012)


def test_places_are_symmetric_and_scale_with_the_bore() -> None:
    for points in LOG_LINEAR:
        places = traverse_places(0.1, points)
        assert list(places) == sorted(places)
        for near, far in zip(places, reversed(places), strict=True):
            assert near + far == pytest.approx(0.1, rel=1e-2)
    assert traverse_places(0.0779)[0] == pytest.approx(0.032 * 0.0779)
