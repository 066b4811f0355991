"""Sound levels against standards, tables and closed forms."""

from __future__ import annotations

import numpy as np
import pytest

from workbench.physics.sound import (
    OCTAVE_BANDS,
    a_weighted,
    a_weighting,
    add_levels,
    density_change_dB,
    distance_change_dB,
    free_field_dB,
    room_dB,
    speed_change_dB,
)

BANDS = (63.0, 125.0, 250.0, 500.0, 1000.0, 2000.0, 4000.0, 8000.0)


@pytest.mark.parametrize(("ratio", "change"), [(0.9, -2.29), (0.8, -4.85), (0.7, -7.75), (0.6, -11.09), (0.5, -15.05)])
def test_speed(ratio: float, change: float) -> None:
    # From memory of the fan sound laws (ASHRAE, AMCA): 50 log10 of the ratio of speeds; values derived.
    assert speed_change_dB(ratio) == pytest.approx(change, abs=0.006)


def test_density() -> None:
    # From memory of the fan sound laws: 20 log10 of the ratio of densities; value derived.
    assert density_change_dB(0.832) == pytest.approx(-1.60, abs=0.006)


def test_a_weighting() -> None:
    # Published: IEC 61672-1, table of frequency weightings.
    np.testing.assert_allclose(
        a_weighting(BANDS), [-26.2, -16.1, -8.6, -3.2, 0.0, 1.2, 1.0, -1.1], rtol=0.0, atol=1e-12
    )


def test_a_weighting_against_its_formula() -> None:
    # Derived: the standard's analytic weighting at the exact mid-band frequencies; the table is rounded to 0.1 dB.
    f2 = (1000.0 * 10.0 ** (0.3 * np.arange(-5, 5))) ** 2
    response = 12194.0**2 * f2**2 / ((f2 + 20.6**2) * np.sqrt((f2 + 107.7**2) * (f2 + 737.9**2)) * (f2 + 12194.0**2))
    np.testing.assert_allclose(a_weighting(OCTAVE_BANDS), 20.0 * np.log10(response) + 2.0, rtol=0.0, atol=0.06)


def test_spectrum() -> None:
    # Derived from that table by hand.
    levels = [60.0, 58.0, 54.0, 50.0, 46.0, 42.0, 36.0, 30.0]
    assert add_levels(levels) == pytest.approx(63.10, abs=0.006)
    assert a_weighted(levels, BANDS) == pytest.approx(52.22, abs=0.006)


@pytest.mark.parametrize(("difference", "more"), [(0.0, 3.01), (1.0, 2.54), (3.0, 1.76), (6.0, 0.97), (10.0, 0.41)])
def test_two_levels(difference: float, more: float) -> None:
    # Published: US Army TB 9-6625-2188-24, table 7, printed to two places.
    assert float(add_levels([70.0, 70.0 - difference])) - 70.0 == pytest.approx(more, abs=0.006)


def test_in_the_open() -> None:
    # Derived: Lp = Lw - 20 log r - 11 + 10 log Q; on a hemisphere of 5 m 21.96 dB are lost.
    assert free_field_dB(5.0, 2.0) == pytest.approx(-21.96, abs=0.006)
    assert distance_change_dB(5.0, 1.0) == pytest.approx(-21.96 + 11.0 - 3.01, abs=0.011)
    assert free_field_dB(5.0, 2.0) - free_field_dB(1.0, 2.0) == pytest.approx(distance_change_dB(5.0, 1.0), abs=1e-12)


def test_in_a_room() -> None:
    # Published form: ASHRAE room equation; value derived: 60 dB, Q 2, 3 m, room constant 20 m2.
    assert 60.0 + room_dB(3.0, 2.0, 20.0) == pytest.approx(53.38, abs=0.006)


def test_refusals() -> None:
    with pytest.raises(ValueError, match="ratio of speeds must be above 0"):
        speed_change_dB(0.0)
    with pytest.raises(ValueError, match="distance must be above 0"):
        distance_change_dB(-1.0, 1.0)
    with pytest.raises(ValueError, match="at least one level"):
        add_levels([])
    with pytest.raises(ValueError, match="100 Hz is not"):
        a_weighting([100.0])
    with pytest.raises(ValueError, match="one level for each band"):
        a_weighted([50.0, 40.0], BANDS)
