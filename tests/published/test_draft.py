"""Draft of a column against the handbook's stack formula."""

from __future__ import annotations

import pytest

from workbench.physics.air import humidity_ratio, moist_density
from workbench.physics.draft import stack_draft

PRESSURE = 101_325.0


def density(kelvin: float, relative_humidity: float = 0.0) -> float:
    return float(moist_density(kelvin, PRESSURE, humidity_ratio(kelvin, relative_humidity, PRESSURE)))


def test_winter_stack_per_metre() -> None:
    # Published: ASHRAE Handbook, HVAC Applications 2011, ch. 53: 0.54 Pa/m; its form 3461.6 (1/To - 1/Ti) gives 0.536.
    draft = stack_draft(1.0, density(296.2), density(283.2))
    assert draft == pytest.approx(0.54, abs=0.005)
    assert draft == pytest.approx(3461.6 * (1.0 / 283.2 - 1.0 / 296.2), rel=1e-4)


def test_riser_on_a_cold_day() -> None:
    # Derived: 7 m of pipe at 13 C, outdoors -10 C; the dry figure by the same form, the moist one by psychrolib.
    assert stack_draft(7.0, density(286.15), density(263.15)) == pytest.approx(7.40, abs=0.006)
    assert stack_draft(7.0, density(286.15, 1.0), density(263.15, 0.7)) == pytest.approx(7.81, abs=0.006)


def test_summer_opposes() -> None:
    # Published form: ASHRAE as above, 7 m of pipe at 13 C and 30 C outdoors: 3461.6 x 7 (1/303.15 - 1/286.15) = -4.749.
    assert stack_draft(7.0, density(286.15), density(303.15)) == pytest.approx(-4.749, abs=1e-3)
