"""The curves as numbers for a spreadsheet: every column what its title says, in the units it names."""

from __future__ import annotations

import csv
import io

import numpy as np
import pytest

from workbench.files.curve_table import curve_table
from workbench.files.scenes import load_scene
from workbench.solving import prepare
from workbench.units import SI, US, System

# exact by definition: the foot 0.3048 m, the conventional inch of water 249.08891 Pa (NIST SP 811, appendix B.8)
UNITS: dict[System, tuple[tuple[str, float], tuple[str, float]]] = {
    SI: (("L/s", 1e-3), ("Pa", 1.0)),
    US: (("cfm", 0.3048**3 / 60.0), ("in. w.c.", 249.08891)),
}


@pytest.mark.parametrize("system", [SI, US])
def test_every_column_is_what_its_title_says(system: System) -> None:
    """Else a spreadsheet takes the low edge of the band for the high one, or pascals for inches."""
    design = load_scene("studio")
    prepared = prepare(design)
    outcome = prepared.at(0.6)
    (flow_unit, litre), (unit, pascal) = UNITS[system]
    heads, *rows = csv.reader(io.StringIO(curve_table(prepared, outcome, system, separator=",")))
    columns = {
        head: np.array([float(cell) if cell else np.nan for cell in cells])
        for head, cells in zip(heads, zip(*rows, strict=True), strict=True)
    }
    flow = litre * columns[f"Airflow [{flow_unit}]"]
    at = prepared.system
    for title, values in (("System", at.pressure), ("System, low", at.low), ("System, high", at.high)):
        expected = np.interp(flow, at.flow, values)
        assert pascal * columns[f"{title} [{unit}]"] == pytest.approx(expected, rel=1e-4, abs=1e-3)
    assert np.all(columns[f"System, low [{unit}]"][1:] < columns[f"System, high [{unit}]"][1:])
    name = design.fan
    assert name is not None
    for speed in (1.0, 0.6):
        at_speed = f"{name} at {100 * speed:g} %"
        for title, told, curve in (
            (f"{at_speed}, total pressure [{unit}]", pascal, prepared.fans[name].pressure),
            (f"{at_speed}, power [W]", 1.0, prepared.fans[name].power),
        ):
            shown, own = told * columns[title], curve(flow, speed, prepared.density)
            both = np.isfinite(shown) & np.isfinite(own)
            # a last flow read back from six figures may lie a hair beyond the fan's last point
            assert np.sum(np.isfinite(shown) != np.isfinite(own)) <= 1
            assert np.sum(both) > 20
            assert shown[both] == pytest.approx(own[both], rel=1e-4, abs=1e-2)
