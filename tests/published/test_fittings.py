"""Loss coefficients against handbook tables and a reference library."""

from __future__ import annotations

import numpy as np
import pytest
from fluids.fittings import K_branch_converging_Crane, K_run_converging_Crane, contraction_conical, diffuser_sharp

from workbench.physics import fittings

SHARES = (0.1, 0.3, 0.5, 0.7)


@pytest.mark.parametrize(("ratio", "k"), [(0.5, 0.71), (0.75, 0.33), (1.0, 0.22), (1.5, 0.15), (2.0, 0.13)])
def test_rounded_elbow(ratio: float, k: float) -> None:
    # Published: SMACNA, HVAC Systems Duct Design, table A-7.
    assert fittings.rounded_elbow_k(ratio) == pytest.approx(k)


@pytest.mark.parametrize(
    ("diameter", "angle", "k"),
    [
        (0.075, 90.0, 0.30),
        (0.100, 90.0, 0.21),
        (0.150, 90.0, 0.14),
        (0.075, 45.0, 0.18),
        (0.100, 45.0, 0.13),
        (0.150, 45.0, 0.08),
    ],
)
def test_stamped_elbow(diameter: float, angle: float, k: float) -> None:
    # Published: ASHRAE Duct Fitting Database, CD3-1 and its 45 degree sister, r/D 1.5.
    assert fittings.stamped_elbow_k(diameter, angle) == pytest.approx(k)


def test_stamped_elbow_between_the_entries() -> None:
    # From memory of ASHRAE CD3-1: 0.16 at 125 mm, rounded to two places.
    assert fittings.stamped_elbow_k(0.125) == pytest.approx(0.16, abs=0.01)


@pytest.mark.parametrize(("angle", "k"), [(90.0, 1.2), (45.0, 0.34)])
def test_mitred_elbow(angle: float, k: float) -> None:
    # Published: ASHRAE and SMACNA fitting tables.
    assert fittings.mitred_elbow_k(angle) == pytest.approx(k)


@pytest.mark.parametrize(("bore", "factor"), [(0.077927, 0.01721), (0.102260, 0.01621), (0.154051, 0.01485)])
def test_factor_of_full_turbulence(bore: float, factor: float) -> None:
    # Published: Crane TP-410, f_T for 3, 4 and 6 in.; 1 %: Crane rounds the formula's roughness.
    assert fittings.full_turbulence_factor(bore) == pytest.approx(factor, rel=0.01)
    # Published: Crane TP-410, bends of r/d 1 and 1.5 are 20 f_T and 14 f_T.
    np.testing.assert_allclose(fittings.bend_k([1.0, 1.5], bore), [20.0 * factor, 14.0 * factor], rtol=0.01)


def test_sources_differ_as_much_as_they_do() -> None:
    # Published: for one 3 in. elbow of r/D 1.5 the handbooks named above span 0.15 to 0.30.
    values = [
        float(fittings.rounded_elbow_k(1.5)),
        float(fittings.bend_k(1.5, 0.077927)),
        float(fittings.stamped_elbow_k(0.077927)),
    ]
    assert min(values) == pytest.approx(0.15)
    assert max(values) == pytest.approx(0.30, abs=0.02)


def test_entrance_and_exit() -> None:
    # From memory of Crane TP-410: 0.5 flush, 0.78 to 1.0 re-entrant, 1.0 at the exit.
    assert fittings.ENTRANCE_FLUSH == 0.5
    assert 0.78 <= fittings.ENTRANCE_REENTRANT <= 1.0
    assert fittings.EXIT == 1.0


@pytest.mark.parametrize("beta", [0.3, 0.51, 0.76, 1.0])
def test_sudden_change_of_bore(beta: float) -> None:
    # From memory of Borda and Carnot: (1 - b^2)^2; fluids.diffuser_sharp is the same formula.
    assert fittings.sudden_expansion(beta) == pytest.approx(diffuser_sharp(beta, 1.0), abs=1e-15)
    # From memory of Crane TP-410: (1 - b^2) / 2; fluids holds the same as a cone of 180 degrees.
    crane = contraction_conical(1.0, beta, angle=180.0, method="Crane")
    assert fittings.sudden_contraction(beta) == pytest.approx(crane, abs=1e-12)


@pytest.mark.parametrize(("ratio", "k"), [(0.5, 1.7), (0.6, 0.97), (0.7, 0.58), (0.8, 0.32), (0.9, 0.14)])
def test_screen(ratio: float, k: float) -> None:
    # From memory of the ASHRAE and SMACNA tables of screens.
    assert fittings.screen_k(ratio) == pytest.approx(k)


@pytest.mark.parametrize(("opening", "k"), [(0.25, 17.0), (0.5, 2.06), (0.75, 0.26), (1.0, 0.0)])
def test_gate(opening: float, k: float) -> None:
    # From memory of Weisbach (1855), as quoted by Idelchik.
    assert fittings.gate_k(opening) == pytest.approx(k)


@pytest.mark.parametrize(
    ("angle", "side", "straight"),
    [
        (45.0, (-0.506, -0.011, 0.219, 0.341), (0.176, 0.383, 0.398, 0.219)),
        (90.0, (-0.494, 0.069, 0.413, 0.721), (0.145, 0.375, 0.525, 0.595)),
    ],
)
def test_converging_tee_and_wye(angle: float, side: tuple[float, ...], straight: tuple[float, ...]) -> None:
    # Derived: Crane TP-410's forms, equal bores, on the common leg's velocity pressure; printed to three places.
    np.testing.assert_allclose(fittings.converging_side_k(SHARES, angle), side, atol=6e-4)
    np.testing.assert_allclose(fittings.converging_straight_k(SHARES, angle), straight, atol=6e-4)


def test_converging_tee_of_crane() -> None:
    # Published: Crane TP-410, example 7.35: 300 gpm straight and 100 gpm from the side, 4 in., 90 degrees.
    share = 100.0 / 400.0
    assert fittings.converging_side_k(share, 90.0) == pytest.approx(-0.0422, abs=6e-5)
    assert fittings.converging_straight_k(share, 90.0) == pytest.approx(0.325, abs=6e-4)


@pytest.mark.parametrize("angle", [30.0, 40.0, 45.0, 60.0, 90.0])
@pytest.mark.parametrize("diameter_ratio", [0.4, 0.55, 0.762, 1.0])
def test_converging_legs_agree_with_the_reference_library(angle: float, diameter_ratio: float) -> None:
    # Derived: fluids' Crane functions, another hand's rendering of them with the errata.
    for share in np.linspace(0.02, 0.98, 49):
        legs = (1.0, diameter_ratio, 1.0 - share, share, angle)
        straight = fittings.converging_straight_k(share, angle, diameter_ratio**2)
        assert straight == pytest.approx(K_run_converging_Crane(*legs), rel=1e-9, abs=1e-12)
        # where the code closes Crane's step at a share of 0.4, K moves by under 2 %
        tolerance = 0.02 if 0.388 < share <= 0.4 else 1e-9
        side = fittings.converging_side_k(share, angle, diameter_ratio**2)
        assert side == pytest.approx(K_branch_converging_Crane(*legs), rel=tolerance, abs=1e-12)


def test_refusals() -> None:
    with pytest.raises(ValueError, match="free area"):
        fittings.screen_k(0.3)
    with pytest.raises(ValueError, match="opening"):
        fittings.gate_k(0.05)
    with pytest.raises(ValueError, match="radius of an elbow"):
        fittings.rounded_elbow_k(3.0)
    with pytest.raises(ValueError, match="45 and 90"):
        fittings.stamped_elbow_k(0.1, 60.0)
    with pytest.raises(ValueError, match="diameter of a stamped elbow"):
        fittings.stamped_elbow_k(0.05)
    with pytest.raises(ValueError, match="angle of a side leg"):
        fittings.converging_side_k(0.5, 120.0)
    with pytest.raises(ValueError, match="ratio of areas"):
        fittings.converging_straight_k(0.5, 90.0, 0.0)
    with pytest.raises(ValueError, match="ratio of diameters"):
        fittings.sudden_expansion(1.2)
